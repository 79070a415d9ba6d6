/* Entries, printed. */
#include "past/past_impl.h"

#include <inttypes.h>
#include <string.h>

enum { LATE_MS = 60 * 1000 }; /* written down so much later: said */

/* A text of several lines, each a little to the right. */
static void indented(struct buf *out, const char *text)
{
  while (*text) {
    size_t length = strcspn(text, "\n");

    buf_puts(out, "      ");
    for (size_t i = 0; i < length; i++) /* no entry speaks to the terminal */
      buf_putc(out, (unsigned char)text[i] < 0x20 || text[i] == 0x7f ? '?' : text[i]);
    buf_putc(out, '\n');
    text += length + (text[length] == '\n');
  }
}

static void entry_text(const struct record_entry *entry, const struct when_zone *zone,
                       struct buf *out)
{
  buf_printf(out, "%5" PRId64 "  ", entry->number);
  when_print(out, zone, entry->t_ms);
  buf_printf(out, "  %s%s%s, by %s\n", record_kind_name(entry->kind), entry->about[0] ? "  " : "",
             entry->about, entry->who);
  indented(out, entry->text);
  if (entry->written_ms - entry->t_ms >= LATE_MS) {
    buf_puts(out, "      (written down ");
    when_print(out, zone, entry->written_ms);
    buf_puts(out, ")\n");
  }
}

void past_entries_text(const struct past_entries *entries, const struct when_zone *zone,
                       struct buf *out)
{
  for (int i = 0; i < entries->count; i++)
    entry_text(&entries->list[i], zone, out);
  if (entries->count == 0)
    buf_puts(out, "no such entries\n");
  buf_printf(out, "head: entry %" PRId64 ", %s\n", entries->head_number, entries->head_hex);
}

void past_entries_json(const struct past_entries *entries, const struct when_zone *zone,
                       struct buf *out)
{
  struct emit json;
  struct buf local;

  buf_init(&local, 64);
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.entries.1");
  emit_text(&json, "suite", entries->suite);
  emit_text(&json, "zone", when_zone_name(zone));
  emit_object(&json, "head");
  emit_int(&json, "number", entries->head_number);
  emit_text(&json, "sha256", entries->head_hex);
  emit_close(&json);
  emit_array(&json, "entries");
  for (int i = 0; i < entries->count; i++) {
    const struct record_entry *entry = &entries->list[i];

    emit_object(&json, NULL);
    emit_int(&json, "number", entry->number);
    when_emit(&json, "time", entry->t_ms);
    buf_clear(&local);
    when_print(&local, zone, entry->t_ms);
    emit_text(&json, "time_local", local.text);
    when_emit(&json, "written", entry->written_ms);
    emit_text(&json, "kind", record_kind_name(entry->kind));
    emit_text(&json, "suite", entry->suite[0] ? entry->suite : NULL);
    emit_text(&json, "about", entry->about[0] ? entry->about : NULL);
    emit_text(&json, "who", entry->who);
    emit_text(&json, "text", entry->text);
    emit_text(&json, "detail", entry->detail[0] ? entry->detail : NULL);
    emit_text(&json, "sha256", entry->hash_hex);
    emit_close(&json);
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
  buf_release(&local);
}
