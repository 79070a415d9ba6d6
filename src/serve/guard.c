#include "serve/guard_impl.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* Length of the name before an optional ":port"; 0 when the text is neither. */
static size_t name_length(const char *host)
{
  size_t name = *host == '[' ? strcspn(host, "]") + 1 : strcspn(host, ":");

  if (name > strlen(host))
    return 0;
  const char *rest = host + name;

  if (!*rest)
    return name;
  size_t digits = strspn(rest + 1, "0123456789");

  return *rest == ':' && digits <= 5 && !rest[1 + digits] ? name : 0;
}

bool guard_host_known(const char *host, const struct guard_names *names)
{
  size_t length = name_length(host);

  if (length == 0)
    return false;
  for (int i = 0; i < names->count; i++)
    if (strlen(names->names[i]) == length && strncasecmp(names->names[i], host, length) == 0)
      return true;
  return false;
}

/* A length of digits alone, at most `most`. */
static bool fits(const char *length, size_t most)
{
  enum { DIGITS = 9 };
  size_t digits = strspn(length, "0123456789");

  return digits > 0 && digits <= DIGITS && length[digits] == '\0' &&
         strtoul(length, NULL, 10) <= most;
}

static bool is_type(const char *type, const char *want)
{
  size_t size = strlen(want);

  return type && strncasecmp(type, want, size) == 0 && strchr("; \t", type[size]);
}

/* None that a form of another page can send without asking first (text/plain and its like). */
static bool is_table(const char *type)
{
  static const char *const types[] = {
      "text/csv", "application/octet-stream",
      "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
      "application/vnd.oasis.opendocument.spreadsheet"};

  for (size_t i = 0; i < sizeof types / sizeof types[0]; i++)
    if (is_type(type, types[i]))
      return true;
  return false;
}

/* A page from elsewhere cannot hide where it comes from: its browser writes Origin. */
static bool is_own(const char *origin, const struct guard_names *names)
{
  const char *host = origin ? strstr(origin, "://") : NULL;

  return !origin || (host && guard_host_known(host + 3, names));
}

int guard_check(const struct guard_head *head, const struct guard_names *names,
                const char **why_out)
{
  const struct {
    bool broken;
    int status;
    const char *why;
  } rules[] = {
      {head->host_count == 0, 400, "a request must name its host"},
      {head->host_count > 1, 400, "a request must name one host, not several"},
      {head->length_count > 1, 400, "two Content-Length headers"},
      {head->coding_count > 1, 400, "two Transfer-Encoding headers"},
      {head->length_count > 0 && head->coding_count > 0, 400,
       "Content-Length together with Transfer-Encoding"},
      {head->host && !guard_host_known(head->host, names), 400,
       "this board does not answer to that host name; start it with --host NAME to allow it"},
      {head->body_most == 0 && (head->coding_count > 0 || (head->length && !fits(head->length, 0))),
       413, "this address takes no body"},
      {head->body_most > 0 && (head->coding_count > 0 || !head->length), 411,
       "a body must say its Content-Length"},
      {head->body_most > 0 && head->length && !fits(head->length, head->body_most), 413,
       "that body is too long"},
      {head->body_most > 0 && !head->body_table && !is_type(head->type, "application/json"), 415,
       "the body must be application/json"},
      {head->body_most > 0 && head->body_table && !is_table(head->type), 415,
       "the body must be a table: text/csv, application/octet-stream, or the type of an XLSX or ODS "
       "workbook"},
      {head->body_most > 0 && !is_own(head->origin, names), 403,
       "only the board's own pages may enter something"},
  };

  for (size_t i = 0; i < sizeof rules / sizeof *rules; i++)
    if (rules[i].broken) {
      *why_out = rules[i].why;
      return rules[i].status;
    }
  return 0;
}

/* "q=0", "q=0.0" and the like turn a coding off (RFC 9110, 12.4.2). */
static bool is_refused(const char *parameters)
{
  const char *q = parameters + strspn(parameters, "; \t");

  if (strncasecmp(q, "q=", 2) != 0)
    return false;
  q += 2;
  if (*q != '0')
    return false;
  q += strspn(q, "0.");
  return *q == '\0' || strchr(", \t;", *q) != NULL;
}

bool guard_takes_gzip(const char *accept)
{
  while (accept && *accept) {
    accept += strspn(accept, ", \t");
    size_t word = strcspn(accept, ",; \t");

    if (word == 4 && strncasecmp(accept, "gzip", 4) == 0)
      return !is_refused(accept + word);
    accept += strcspn(accept, ",");
  }
  return false;
}
