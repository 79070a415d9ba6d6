#include "export/export.h"

#include "answer/answer.h"
#include "export/template_impl.h"

#include <string.h>

uint32_t export_crc32(const void *bytes, size_t size)
{
  const unsigned char *at = bytes;
  uint32_t crc = 0xFFFFFFFFu;

  for (size_t i = 0; i < size; i++) {
    crc ^= at[i];
    for (int bit = 0; bit < 8; bit++)
      crc = (crc >> 1) ^ (crc & 1 ? 0xEDB88320u : 0);
  }
  return ~crc;
}

/* ---- the slots ---- */

static void put_name(const struct export_wish *wish, struct buf *out)
{
  buf_put_markup(out, wish->facility->name);
}

/* What the page is about, in one line. */
static void put_about(const struct export_wish *wish, struct buf *out)
{
  if (wish->facility->label) {
    buf_puts(out, "<b class=\"label\">");
    buf_put_markup(out, wish->facility->label);
    buf_puts(out, "</b> ");
  }
  buf_puts(out, "<b>");
  buf_put_markup(out, wish->facility->name);
  buf_printf(out, "</b> <span>suite %.12s</span> <span>engine %s</span>", wish->facility->sha256,
             answer_engine_version());
  if (wish->date) {
    buf_puts(out, " <span>exported ");
    buf_put_markup(out, wish->date);
    buf_puts(out, "</span>");
  }
}

static void put_scene(const struct export_wish *wish, struct buf *out)
{
  buf_put_markup(out, wish->scene);
}

static void put_crc32(const struct export_wish *wish, struct buf *out)
{
  buf_printf(out, "%08x", (unsigned)export_crc32(wish->merged->text, wish->merged->used));
}

/* JSON of ours holds no "<", so nothing in it can end the element it stands in. */
static void put_suite(const struct export_wish *wish, struct buf *out)
{
  BUG_IF(memchr(wish->merged->text, '<', wish->merged->used));
  buf_add(out, wish->merged->text, wish->merged->used);
}

static const struct {
  const char *name;
  void (*put)(const struct export_wish *, struct buf *);
} slots[] = {
    {"about", put_about}, {"crc32", put_crc32}, {"name", put_name},
    {"scene", put_scene}, {"suite", put_suite},
};

static void fill(const struct export_wish *wish, const char *name, size_t length, struct buf *out)
{
  for (size_t i = 0; i < sizeof slots / sizeof *slots; i++)
    if (strlen(slots[i].name) == length && memcmp(slots[i].name, name, length) == 0) {
      slots[i].put(wish, out);
      return;
    }
  BUG_IF(true); /* the build made a slot that nothing fills */
}

void export_page(const struct export_wish *wish, struct buf *out)
{
  static const char open[] = "@@inward:", close[] = "@@";
  const char *at = (const char *)export_template, *end = at + export_template_bytes;

  while (at < end) {
    const char *slot = strstr(at, open); /* the bytes end in a NUL */

    if (!slot)
      break;
    const char *name = slot + sizeof open - 1, *after = strstr(name, close);

    BUG_IF(!after);
    buf_add(out, at, (size_t)(slot - at));
    fill(wish, name, (size_t)(after - name), out);
    at = after + sizeof close - 1;
  }
  buf_add(out, at, (size_t)(end - at));
}
