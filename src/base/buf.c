#include "base/buf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_BYTES = 256 };

void buf_init(struct buf *buf, size_t limit)
{
  BUG_IF(limit == 0);
  *buf = (struct buf){.limit = limit, .room = limit < FIRST_BYTES ? limit : FIRST_BYTES};
  buf->text = malloc(buf->room + 1);
  if (!buf->text)
    err_no_memory();
  buf->text[0] = '\0';
}

void buf_release(struct buf *buf)
{
  free(buf->text);
  *buf = (struct buf){0};
}

void buf_clear(struct buf *buf)
{
  buf->used = 0;
  buf->full = false;
  buf->text[0] = '\0';
}

static bool make_room(struct buf *buf, size_t more)
{
  if (buf->full || more > buf->limit - buf->used) {
    buf->full = true;
    return false;
  }
  if (more > buf->room - buf->used) {
    size_t room = buf->room * 2 > buf->used + more ? buf->room * 2 : buf->used + more;
    char *text;

    room = room < buf->limit ? room : buf->limit;
    text = realloc(buf->text, room + 1);
    if (!text)
      err_no_memory();
    buf->text = text;
    buf->room = room;
  }
  return true;
}

void buf_add(struct buf *buf, const char *bytes, size_t count)
{
  if (!make_room(buf, count))
    return;
  memcpy(buf->text + buf->used, bytes, count);
  buf->used += count;
  buf->text[buf->used] = '\0';
}

void buf_puts(struct buf *buf, const char *text)
{
  buf_add(buf, text, strlen(text));
}

void buf_putc(struct buf *buf, char c)
{
  buf_add(buf, &c, 1);
}

void buf_add_markup(struct buf *buf, const char *bytes, size_t count)
{
  for (size_t i = 0; i < count; i++)
    switch (bytes[i]) {
    case '<':
      buf_puts(buf, "&lt;");
      break;
    case '>':
      buf_puts(buf, "&gt;");
      break;
    case '&':
      buf_puts(buf, "&amp;");
      break;
    case '"':
      buf_puts(buf, "&quot;");
      break;
    default:
      buf_putc(buf, bytes[i]);
    }
}

void buf_put_markup(struct buf *buf, const char *text)
{
  buf_add_markup(buf, text, strlen(text));
}

void buf_trim_end(struct buf *buf)
{
  while (buf->used > 0 && strchr(" \t\r\n", buf->text[buf->used - 1]))
    buf->used--;
  buf->text[buf->used] = '\0';
}

void buf_vprintf(struct buf *buf, const char *fmt, va_list args)
{
  va_list again;

  va_copy(again, args);
  int count = vsnprintf(NULL, 0, fmt, args);

  BUG_IF(count < 0);
  if (make_room(buf, (size_t)count)) {
    vsnprintf(buf->text + buf->used, (size_t)count + 1, fmt, again);
    buf->used += (size_t)count;
  }
  va_end(again);
}

void buf_printf(struct buf *buf, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  buf_vprintf(buf, fmt, args);
  va_end(args);
}

void buf_number(struct buf *buf, double value)
{
  char text[40];

  for (int digits = 15; digits <= 17; digits++) {
    snprintf(text, sizeof text, "%.*g", digits, value);
    if (strtod(text, NULL) == value)
      break;
  }
  buf_puts(buf, text);
}

void buf_put_list(struct buf *out, const char *heading, const char *const *list, int count)
{
  if (count > 0)
    buf_printf(out, "\n%s\n", heading);
  for (int i = 0; i < count; i++)
    buf_printf(out, "  - %s\n", list[i]);
}
