#include "base/err.h"

#include "base/utf8.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
  const char *name, *meaning;
  int exit_status;
} table[ERR_COUNT] = {

#define ERR(code, exit_status, meaning) [ERR_##code] = {#code, meaning, exit_status},
#include "base/err.def"
#undef ERR
};

const char *err_name(enum err_code code)
{
  BUG_IF(code < 0 || code >= ERR_COUNT);
  return table[code].name;
}

const char *err_meaning(enum err_code code)
{
  BUG_IF(code < 0 || code >= ERR_COUNT);
  return table[code].meaning;
}

int err_exit_status(enum err_code code)
{
  BUG_IF(code < 0 || code >= ERR_COUNT);
  return table[code].exit_status;
}

void err_write(struct err *err, enum err_code code, const char *fmt, ...)
{
  va_list args;

  BUG_IF(code == ERR_OK);
  if (!err)
    return;
  err->code = code;
  va_start(args, fmt);
  vsnprintf(err->text, sizeof err->text, fmt, args);
  va_end(args);
  utf8_mend_end(err->text);
}

void err_prefix(struct err *err, const char *fmt, ...)
{
  char head[sizeof err->text], old[sizeof err->text];
  va_list args;

  if (!err)
    return;
  va_start(args, fmt);
  vsnprintf(head, sizeof head, fmt, args);
  va_end(args);
  memcpy(old, err->text, sizeof old);
  size_t used = (size_t)snprintf(err->text, sizeof err->text, "%.*s", (int)sizeof head - 1, head);
  if (used < sizeof err->text)
    snprintf(err->text + used, sizeof err->text - used, "%.*s", (int)(sizeof old - 1), old);
  utf8_mend_end(err->text);
}

_Noreturn void err_bug(const char *file, int line, const char *what)
{
  fprintf(stderr, "%s:%d: BUG: %s\n", file, line, what);
  abort();
}

_Noreturn void err_no_memory(void)
{
  fputs("out of memory\n", stderr);
  abort();
}
