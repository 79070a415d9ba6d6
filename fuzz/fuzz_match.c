#include "match/match.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char suite[] =
    "inward: 1 suite\nname: Fuzz\nrooms: {Wet: {}}\n"
    "mains: {Acid: {capacity: {value: 9000 m3/h}}}\n"
    "supplies: {MU: {most: 9000 m3/h, feeds: {Wet: {follows exhaust: {offset: 600 m3/h}}}}}\n"
    "stations:\n"
    "  A1: {kind: wet bench, room: Wet, main: Acid, width: 1.8 m, opening: {work: 0.45 m}, flow: "
    "{two-state: {parked: 620 m3/h, work: 1560 m3/h}}}\n";

static void must(bool promise)
{
  if (!promise)
    abort();
}

static struct facility *facility;

static void make_facility(void)
{
  static struct arena arena;
  struct facility_text text = {"suite.yaml", suite, sizeof suite - 1};
  struct complaints complaints;

  arena_init(&arena, SIZE_MAX);
  complaints_init(&complaints, &arena);
  facility = facility_read(&text, NULL, 0, &complaints);
  must(facility != NULL);
}

/* A row that is kept though it is not filled in yet makes the table no other: what match_table takes is there. */
static void check_blanks(const struct sheet_book *book, const struct match_readings *full,
                         struct arena *arena)
{
  struct complaints complaints;
  struct match_readings *all;
  int filled = 0;

  complaints_init(&complaints, arena);
  all = match_blanks(facility, book, arena, &complaints);
  must(all || complaints.count > 0);
  must(full || !all); /* what cannot be read stays so */
  for (int i = 0; all && i < all->count; i++) {
    must(all->list[i].blank == !isfinite(all->list[i].measured_si));
    filled += !all->list[i].blank;
  }
  must(!all || filled == full->count);
}

/* Whatever the bytes of a table: readings that are finite, sure of something and of a known scene, or
 * complaints. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct arena arena;
  struct complaints complaints;
  struct match_readings *readings = NULL;
  struct sheet_book *book;

  if (!facility)
    make_facility();
  arena_init(&arena, (size_t)1 << 30);
  complaints_init(&complaints, &arena);
  book = sheet_read("t.csv", data, size, &arena, &complaints);
  if (book)
    readings = match_table(facility, book, &arena, &complaints);
  must(readings || complaints.count > 0);
  if (book)
    check_blanks(book, readings, &arena);
  for (int i = 0; readings && i < readings->count; i++) {
    const struct match_reading *r = &readings->list[i];

    must(isfinite(r->measured_si) && r->own_si > 0.0 && r->id && r->name);
    must(r->scene >= 0 && r->scene < readings->scene_count);
    must(r->instrument >= -1 && r->instrument < readings->instrument_count);
  }
  arena_release(&arena);
  return 0;
}
