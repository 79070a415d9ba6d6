#include "base/complaints.h"

#include "base/utf8.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void complaints_init(struct complaints *complaints, struct arena *arena)
{
  *complaints = (struct complaints){.arena = arena};
}

void complaints_add(struct complaints *complaints, struct place place, int width, const char *fmt,
                    ...)
{
  char text[512];
  va_list args;

  if (complaints->count == COMPLAINTS_MAX) {
    complaints->dropped++;
    return;
  }
  va_start(args, fmt);
  vsnprintf(text, sizeof text, fmt, args);
  va_end(args);
  utf8_mend_end(text);

  char *copy = arena_strdup(complaints->arena, text);

  complaints->list[complaints->count++] = (struct complaint){
      .place = place,
      .width = width,
      .text = copy ? copy : "too many faults to print",
  };
}

static int compare(const struct complaint *a, const struct complaint *b)
{
  int by_file = strcmp(a->place.file ? a->place.file : "", b->place.file ? b->place.file : "");

  if (by_file != 0)
    return by_file;
  if (a->place.line != b->place.line)
    return a->place.line < b->place.line ? -1 : 1;
  return (a->place.column > b->place.column) - (a->place.column < b->place.column);
}

void complaints_sort(struct complaints *complaints)
{
  for (int i = 1; i < complaints->count; i++) {
    struct complaint moving = complaints->list[i];
    int j = i;

    for (; j > 0 && compare(&complaints->list[j - 1], &moving) > 0; j--)
      complaints->list[j] = complaints->list[j - 1];
    complaints->list[j] = moving;
  }
}

static const char *line_start(const char *source, int line)
{
  while (--line > 0) {
    const char *end = strchr(source, '\n');

    if (!end)
      return "";
    source = end + 1;
  }
  return source;
}

static void print_caret(const struct complaint *c, const char *source, struct buf *out)
{
  const char *line = line_start(source, c->place.line);
  int length = (int)strcspn(line, "\r\n");

  if (length > 160)
    return;
  buf_printf(out, "  %.*s\n  ", length, line);
  for (int i = 1, at = 0; i < c->place.column; i++) {
    int size = at < length ? utf8_size(line + at) : 0;

    buf_putc(out, at < length && line[at] == '\t' ? '\t' : ' ');
    at += size > 0 ? size : 1;
  }
  for (int i = 0; i < (c->width > 0 ? c->width : 1); i++)
    buf_putc(out, '^');
  buf_putc(out, '\n');
}

void complaints_print(const struct complaints *complaints, const char *file, const char *source,
                      struct buf *out)
{
  for (int i = 0; i < complaints->count; i++) {
    const struct complaint *c = &complaints->list[i];
    const char *name = c->place.file ? c->place.file : file;

    if (c->place.line > 0)
      buf_printf(out, "%s:%d:%d: %s\n", name, c->place.line, c->place.column, c->text);
    else
      buf_printf(out, "%s: %s\n", name, c->text);
    if (source && c->place.line > 0 && strcmp(name, file) == 0)
      print_caret(c, source, out);
  }
  if (complaints->dropped > 0)
    buf_printf(out, "%s: and %d more faults; mend these first\n", file, complaints->dropped);
}
