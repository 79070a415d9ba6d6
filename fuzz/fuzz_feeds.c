#include "base/when.h"
#include "facility/feeds.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char suite_text[] =
    "inward: 1 suite\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "doors: {D1: {from: Wet, to: Gown, closed: {area: 1 cm2}, open: {area: 1 m2}}}\n"
    "fans: {AF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [AF]}}\n"
    "supplies: {MU: {feeds: {Wet: {flow: 900 m3/h}}}}\n"
    "stations: {A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}}\n";

static void must(bool promise)
{
  if (!promise)
    abort();
}

static const struct facility *facility(void)
{
  static struct facility *made;
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct complaints complaints;
  struct arena arena;

  if (made)
    return made;
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  made = facility_read(&suite, NULL, 0, &complaints);
  must(made != NULL);
  arena_release(&arena);
  return made;
}

/* The place is a line of the text, and a character of it or the one behind its last. */
static void place_is_inside(struct place place, const char *at, size_t size)
{
  const char *end = at + size, *line_end;

  if (place.line == 0)
    return;
  for (int line = 1; line < place.line; line++) {
    at = memchr(at, '\n', (size_t)(end - at));
    must(at != NULL);
    at++;
  }
  line_end = memchr(at, '\n', (size_t)(end - at));
  must(place.column >= 1 && place.column <= (line_end ? line_end : end) - at + 1);
}

static void source_is_whole(const struct feeds_source *s)
{
  struct when_pattern pattern;

  must(s->part.id[0] != '\0' && s->old_after_s > 0 && isfinite(s->clock_ahead_s));
  if (s->kind == FEEDS_CSV) {
    must(s->table.separator != '\0' && s->table.time_column && s->table.zone);
    must(when_pattern_read(s->table.pattern, &pattern, NULL) == ERR_OK);
    must(when_zone_name_fits(s->table.zone));
    must(s->table.shape != FEEDS_LONG || (s->table.point_column && s->table.value_column));
    must(!s->table.status_column || s->table.good_count > 0);
  }
  must(s->kind != FEEDS_MODBUS || (s->host && s->port >= 1 && s->port <= 65535));
}

static void point_is_whole(const struct feeds *feeds, const struct feeds_point *p)
{
  must(p->source >= 0 && p->source < feeds->source_count && p->at && p->at[0] != '\0');
  must(isfinite(p->factor) && p->factor != 0 && isfinite(p->zero) && isfinite(p->said_factor));
  must(p->resolution_si > 0 && isfinite(p->resolution_si) && p->old_after_s > 0);
  must(p->index >= 0 && p->unit >= -1 && p->address >= 0 && p->address <= 65535);
  must((p->yes_count == 0) == (p->no_count == 0));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  char *bytes = malloc(size ? size : 1);

  must(bytes != NULL);
  if (size > 0)
    memcpy(bytes, data, size);

  struct facility_text text = {"feeds.yaml", bytes, size};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, 64 << 20);
  complaints_init(&complaints, &arena);

  struct feeds *feeds = feeds_read(facility(), &text, &complaints);

  must(feeds ? complaints.count == 0 : complaints.count > 0);
  for (int i = 0; i < complaints.count; i++) {
    must(complaints.list[i].text[0] != '\0');
    place_is_inside(complaints.list[i].place, bytes, size);
  }
  for (int i = 0; feeds && i < feeds->source_count; i++)
    source_is_whole(&feeds->sources[i]);
  for (int i = 0; feeds && i < feeds->point_count; i++)
    point_is_whole(feeds, &feeds->points[i]);
  feeds_free(feeds);
  arena_release(&arena);
  free(bytes);
  return 0;
}
