/* A page as text and JSON. */
#include "lists/lists_impl.h"

#include <string.h>

enum { CELL_WIDE_MOST = 60 };

void lists_of(const struct lists_page *page, struct buf *out)
{
  if (page->t_ms == INT64_MIN) {
    buf_puts(out, "a form: of no moment, nothing on it was measured");
    return;
  }
  buf_puts(out, "of ");
  when_print(out, page->zone, page->t_ms);
  if (page->revision > 0)
    buf_printf(out, ", revision %ld (%s)", page->revision, page->content);
  else
    buf_printf(out, ", content %s", page->content);
}

/* ---- text ---- */

static int wide(const char *text)
{
  int shown = 0;

  for (const char *at = text ? text : ""; *at; at++)
    shown += ((unsigned char)*at & 0xc0) != 0x80; /* a letter of UTF-8 begins */
  return shown;
}

static int column_wide(const struct lists_section *section, int column)
{
  int most = wide(section->columns[column].head);

  for (int r = 0; r < section->row_count; r++) {
    int cell = wide(section->rows[r].cells[column]);

    most = cell > most && cell <= CELL_WIDE_MOST ? cell : most;
  }
  return most;
}

/* What stands in the record may hold anything: nothing speaks to the terminal. */
static void put_plain(const char *text, struct buf *out)
{
  for (const char *at = text; *at; at++)
    buf_putc(out, (unsigned char)*at < 0x20 || *at == 0x7f ? ' ' : *at);
}

static void cells_text(const struct lists_section *section, const char *const *cells,
                       struct buf *out)
{
  int pending = 0; /* blanks before the next cell that says something */

  buf_puts(out, "  ");
  for (int c = 0; c < section->column_count; c++) {
    if (!section->columns[c].key)
      continue;
    if (cells[c] && *cells[c]) {
      buf_printf(out, "%*s", pending, "");
      put_plain(cells[c], out);
      pending = 0;
    }
    int left = column_wide(section, c) - wide(cells[c]);

    pending += (left > 0 ? left : 0) + 2;
  }
  buf_putc(out, '\n');
}

static void section_text(const struct lists_section *section, struct buf *out)
{
  const char *heads[LISTS_CELLS_MOST];

  if (section->row_count == 0) {
    if (section->nothing)
      buf_printf(out, "\n%s\n", section->nothing);
    return;
  }
  buf_printf(out, "\n%s\n", section->head);
  for (int c = 0; c < section->column_count; c++)
    heads[c] = section->columns[c].head;
  cells_text(section, heads, out);
  for (int r = 0; r < section->row_count; r++)
    cells_text(section, section->rows[r].cells, out);
}

void lists_text(const struct lists_page *page, struct buf *out)
{
  const struct facility *f = page->facility;

  buf_printf(out, "%s%s%s%s   %s\n", f->name ? f->name : "(no name)", f->label ? "   [" : "",
             f->label ? f->label : "", f->label ? "]" : "", page->title);
  lists_of(page, out);
  buf_printf(out, "\n\n%s\n\n", page->act);
  for (int i = 0; i < page->line_count; i++) {
    put_plain(page->lines[i].text, out);
    buf_putc(out, '\n');
  }
  for (int i = 0; i < page->section_count; i++)
    section_text(&page->sections[i], out);
  buf_printf(out, "\n%s\n", page->foot);
}

/* ---- JSON ---- */

static void section_json(const struct lists_section *section, struct emit *json)
{
  emit_object(json, NULL);
  emit_text(json, "key", section->key);
  emit_text(json, "head", section->head);
  emit_array(json, "rows");
  for (int r = 0; r < section->row_count; r++) {
    const struct lists_row *row = &section->rows[r];

    emit_object(json, NULL);
    emit_text(json, "about", row->about);
    emit_text(json, "state", row->state);
    emit_bool(json, "needs_person", row->marked);
    emit_array(json, "said");
    for (int c = 0; c < section->column_count; c++) {
      if (!section->columns[c].key)
        continue;
      emit_object(json, NULL);
      emit_text(json, "column", section->columns[c].key);
      emit_text(json, "text", row->cells[c]);
      emit_close(json);
    }
    emit_close(json);
    emit_close(json);
  }
  emit_close(json);
  emit_close(json);
}

void lists_json(const struct lists_page *page, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.list.1");
  emit_text(&json, "list", lists_kind_name(page->kind));
  emit_text(&json, "suite", page->facility->name);
  emit_text(&json, "label", page->facility->label);
  emit_text(&json, "suite_sha256", page->facility->sha256);
  when_emit(&json, "of", page->t_ms);
  emit_text(&json, "content", page->content);
  if (page->revision > 0)
    emit_int(&json, "revision", page->revision);
  else
    emit_null(&json, "revision");
  emit_text(&json, "act", page->act);
  emit_bool(&json, "needs_person", page->needs_person);
  emit_array(&json, "lines");
  for (int i = 0; i < page->line_count; i++)
    emit_text(&json, NULL, page->lines[i].text);
  emit_close(&json);
  emit_array(&json, "sections");
  for (int i = 0; i < page->section_count; i++)
    section_json(&page->sections[i], &json);
  emit_close(&json);
  emit_text(&json, "foot", page->foot);
  emit_close(&json);
  emit_end(&json);
}
