#include "base/emit.h"

#include "base/utf8.h"

#include <math.h>
#include <string.h>

void emit_begin(struct emit *json, struct buf *out)
{
  *json = (struct emit){.out = out};
  json->empty[0] = true;
}

void emit_begin_line(struct emit *json, struct buf *out)
{
  emit_begin(json, out);
  json->one_line = true;
}

void emit_end(struct emit *json)
{
  BUG_IF(json->depth != 0);
  buf_putc(json->out, '\n');
}

static void quoted(struct buf *out, const char *text)
{
  buf_putc(out, '"');
  for (const char *p = text; *p;) {
    int size = utf8_size(p);

    if (*p == '"' || *p == '\\')
      buf_printf(out, "\\%c", *p);
    else if (*p == '\n')
      buf_puts(out, "\\n");
    else if (*p == '<') /* so that it may stand inside a script element */
      buf_puts(out, "\\u003c");
    else if (size == 1 && ((unsigned char)*p < 0x20 || *p == 0x7f))
      buf_printf(out, "\\u%04x", (unsigned char)*p);
    else if (size == 0) /* a broken name must not break the whole answer */
      buf_puts(out, "\\ufffd");
    else
      buf_add(out, p, (size_t)size);
    p += size > 0 ? size : 1;
  }
  buf_putc(out, '"');
}

static void new_line(struct emit *json)
{
  if (json->one_line)
    return;
  buf_putc(json->out, '\n');
  for (int i = 0; i < json->depth; i++)
    buf_puts(json->out, "  ");
}

/* Everything before a value: the comma, the line, the key. */
static void lead(struct emit *json, const char *key)
{
  if (json->depth > 0) {
    BUG_IF((json->kind[json->depth] == '{') != (key != NULL));
    buf_puts(json->out, json->empty[json->depth] ? "" : json->one_line ? ", " : ",");
    new_line(json);
  }
  json->empty[json->depth] = false;
  if (key) {
    quoted(json->out, key);
    buf_puts(json->out, ": ");
  }
}

static void open_level(struct emit *json, const char *key, char kind)
{
  lead(json, key);
  BUG_IF(json->depth + 1 >= (int)sizeof json->kind);
  json->depth++;
  json->kind[json->depth] = kind;
  json->empty[json->depth] = true;
  buf_putc(json->out, kind);
}

void emit_object(struct emit *json, const char *key)
{
  open_level(json, key, '{');
}

void emit_array(struct emit *json, const char *key)
{
  open_level(json, key, '[');
}

void emit_close(struct emit *json)
{
  BUG_IF(json->depth == 0);
  char kind = json->kind[json->depth];
  bool empty = json->empty[json->depth];

  json->depth--;
  if (!empty)
    new_line(json);
  buf_putc(json->out, kind == '{' ? '}' : ']');
}

void emit_text(struct emit *json, const char *key, const char *text)
{
  lead(json, key);
  if (text)
    quoted(json->out, text);
  else
    buf_puts(json->out, "null");
}

void emit_texts(struct emit *json, const char *key, const char *const *list, int count)
{
  emit_array(json, key);
  for (int i = 0; i < count; i++)
    emit_text(json, NULL, list[i]);
  emit_close(json);
}

void emit_number(struct emit *json, const char *key, double value)
{
  lead(json, key);
  if (isfinite(value))
    buf_number(json->out, value + 0.0); /* no "-0" */
  else
    buf_puts(json->out, "null");
}

void emit_number_if(struct emit *json, const char *key, bool known, double value)
{
  emit_number(json, key, known ? value : (double)NAN);
}

void emit_int(struct emit *json, const char *key, long long value)
{
  lead(json, key);
  buf_printf(json->out, "%lld", value);
}

void emit_bool(struct emit *json, const char *key, bool value)
{
  lead(json, key);
  buf_puts(json->out, value ? "true" : "false");
}

void emit_null(struct emit *json, const char *key)
{
  lead(json, key);
  buf_puts(json->out, "null");
}
