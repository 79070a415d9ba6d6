#include "base/typed.h"

#include "base/spelling.h"
#include "base/utf8.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

void typed_fault(struct typed *t, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  buf_vprintf(t->faults, fmt, args);
  va_end(args);
  buf_putc(t->faults, '\n');
  t->fault_count++;
}

static bool is_in(const char *list, const char *key)
{
  size_t length = strlen(key);

  for (const char *at = list; *at; at += strcspn(at, "|"), at += *at == '|')
    if (strcspn(at, "|") == length && strncmp(at, key, length) == 0)
      return true;
  return false;
}

void typed_keys(struct typed *t, const char *known)
{
  for (int i = 0; i < t->count; i++)
    if (!is_in(known, t->pairs[i].key)) {
      spelling_refuse(t->faults, t->pairs[i].key, known);
      typed_fault(t, "%s", "");
    }
}

const char *typed_text(struct typed *t, const char *key, size_t most)
{
  const char *value = NULL;
  char said[UTF8_SAID_BYTES];
  int found = 0;

  for (int i = 0; i < t->count; i++)
    if (strcmp(t->pairs[i].key, key) == 0 && ++found)
      value = t->pairs[i].value;
  if (found > 1)
    typed_fault(t, "%s: said twice; say it once", key);
  if (!value)
    return NULL;
  value += strspn(value, " \t\r\n");

  char *own = arena_strdup(t->arena, value);
  size_t end = own ? strlen(own) : 0;

  for (; end > 0 && strchr(" \t\r\n", own[end - 1]); end--)
    own[end - 1] = '\0';
  if (!own || end > most)
    typed_fault(t, "%s: too long; at most %zu bytes", key, most);
  else if (utf8_fault(own))
    typed_fault(t, "%s: not UTF-8", key);
  else if (utf8_unseen(own, said))
    typed_fault(t, "%s: %s", key, said);
  else if (strchr(own, '\n'))
    typed_fault(t, "%s: one line", key);
  else
    return *own ? own : NULL;
  return NULL;
}

const char *typed_needed(struct typed *t, const char *key, size_t most, const char *ask)
{
  int before = t->fault_count;
  const char *text = typed_text(t, key, most);

  if (!text && t->fault_count == before)
    typed_fault(t, "%s: %s", key, ask);
  return text;
}

const char *typed_who(struct typed *t, const char *ask)
{
  const char *who = typed_needed(t, "who", TYPED_SHORT_MOST_BYTES, ask);

  if (who && strcmp(who, "inward") == 0)
    typed_fault(t, "who: 'inward' is how the program itself signs; who are you?");
  return who;
}

int64_t typed_at(struct typed *t, const struct when_zone *zone, int64_t now_ms, double back_most_s)
{
  const char *at = typed_text(t, "at", TYPED_SHORT_MOST_BYTES);
  int64_t t_ms = now_ms;
  struct err err = {0};

  if (!at)
    return now_ms;
  if (when_read(at, zone ? zone : when_utc(), NULL, &t_ms, &err) != ERR_OK)
    typed_fault(t, "at: %.160s", err.text);
  else if (t_ms > now_ms)
    typed_fault(t, "at: %.40s has not come yet", at);
  else if (t_ms < now_ms - llround(back_most_s * 1e3))
    typed_fault(t, "at: %.40s is too long ago to be told now; write a note", at);
  return t_ms;
}
