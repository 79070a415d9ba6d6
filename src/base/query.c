#include "base/query.h"

#include "base/utf8.h"

#include <stdbool.h>
#include <string.h>

static int hex_digit(char c)
{
  if (c >= '0' && c <= '9')
    return c - '0';
  if (c >= 'a' && c <= 'f')
    return c - 'a' + 10;
  if (c >= 'A' && c <= 'F')
    return c - 'A' + 10;
  return -1;
}

/* One decoded byte from bytes[*at]; -1 when a percent sign is not followed by two hex digits. */
static int decode(const char *bytes, size_t size, size_t *at)
{
  char c = bytes[(*at)++];

  if (c == '+')
    return ' ';
  if (c != '%')
    return (unsigned char)c;
  if (size - *at < 2)
    return -1;
  int high = hex_digit(bytes[*at]), low = hex_digit(bytes[*at + 1]);

  if (high < 0 || low < 0)
    return -1;
  *at += 2;
  return high * 16 + low;
}

static enum err_code refuse(struct err *err, size_t at, enum err_code code, const char *what)
{
  err_set(err, code, "the address, character %zu after the question mark: %s", at + 1, what);
  if (err)
    err->col = (int)(at + 1);
  return code;
}

/* Where the reading stands: the next byte to read and the next to write. */
struct reader {
  const char *bytes;
  size_t size, at, used;
  struct query *out;
};

/* One pair, up to its "&" or the end; value_out is NULL when it has no "=". */
static enum err_code read_pair(struct reader *r, const char **value_out, struct err *err)
{
  *value_out = NULL;
  while (r->at < r->size && r->bytes[r->at] != '&') {
    size_t here = r->at;
    bool divides = r->bytes[here] == '=' && !*value_out;
    int c = decode(r->bytes, r->size, &r->at);

    if (c < 0)
      return refuse(err, here, ERR_INPUT, "% is not followed by two hexadecimal digits");
    if (c < 0x20 || c == 0x7f)
      return refuse(err, here, ERR_INPUT, "a control character");
    r->out->text[r->used++] = divides ? '\0' : (char)c;
    if (divides)
      *value_out = r->out->text + r->used;
  }
  /* Each pair costs at most the bytes it came from: its "&", or the spare one at the end. */
  r->out->text[r->used++] = '\0';
  r->at += r->at < r->size;
  return ERR_OK;
}

static enum err_code parse(struct reader *r, struct err *err)
{
  struct query *out = r->out;

  while (r->at < r->size) {
    const char *key = out->text + r->used, *value;
    size_t began = r->at;
    enum err_code code = read_pair(r, &value, err);

    if (code)
      return code;
    if (!*key && !value)
      continue;
    if (utf8_fault(key) || (value && utf8_fault(value)))
      return refuse(err, began, ERR_INPUT, "not UTF-8");
    if (out->count == QUERY_MAX_PAIRS)
      return refuse(err, began, ERR_LIMIT, "more than 200 parameters");
    out->pairs[out->count++] = (struct query_pair){key, value ? value : ""};
  }
  return ERR_OK;
}

enum err_code query_parse(const char *bytes, size_t size, struct query *out, struct err *err)
{
  out->count = 0;
  if (size > QUERY_MAX_BYTES)
    return refuse(err, QUERY_MAX_BYTES, ERR_LIMIT, "more than 8192 characters");
  struct reader reader = {.bytes = bytes, .size = size, .out = out};
  enum err_code code = parse(&reader, err);

  if (code)
    out->count = 0;
  return code;
}

int query_count(const struct query *query, const char *key)
{
  int count = 0;

  for (int i = 0; i < query->count; i++)
    count += strcmp(query->pairs[i].key, key) == 0;
  return count;
}

const char *query_find(const struct query *query, const char *key)
{
  for (int i = 0; i < query->count; i++)
    if (strcmp(query->pairs[i].key, key) == 0)
      return query->pairs[i].value;
  return NULL;
}
