#include "walk/walk.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char suite[] =
    "inward: 1 suite\nname: Fuzz\nrooms: {Wet: {}}\n"
    "mains: {Acid: {capacity: {value: 9000 m3/h}}}\n"
    "supplies: {MU: {most: 9000 m3/h, feeds: {Wet: {follows exhaust: {offset: 600 m3/h}}}}}\n"
    "stations:\n"
    "  A1: {kind: wet bench, room: Wet, main: Acid, width: 1.8 m, opening: {work: 0.45 m}, flow: "
    "{two-state: {parked: 620 m3/h, work: 1560 m3/h}}}\n"
    "walk: {displays: [MU]}\n";

static void must(bool promise)
{
  if (!promise)
    abort();
}

static struct facility *facility;
static struct walk_plan *plan;
static struct arena plan_arena;

static void make_plan(void)
{
  struct facility_text text = {"suite.yaml", suite, sizeof suite - 1};
  struct complaints complaints;
  struct err err = {0};

  arena_init(&plan_arena, SIZE_MAX);
  complaints_init(&complaints, &plan_arena);
  facility = facility_read(&text, NULL, 0, &complaints);
  must(facility != NULL);
  struct scene scene = scene_parked(facility, &plan_arena);

  plan = walk_plan(facility, &scene, NULL, &plan_arena, &err);
  must(plan != NULL);
}

/*
 * Whatever the bytes of a filled form: readings that are finite numbers or not read, or complaints;
 * and what is compared counts every reading once.
 */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct arena arena;
  struct complaints complaints;
  struct walk_readings *readings = NULL;
  struct sheet_book *book;
  struct err err = {0};

  if (!plan)
    make_plan();
  arena_init(&arena, (size_t)1 << 30);
  complaints_init(&complaints, &arena);
  book = sheet_read("readings.csv", data, size, &arena, &complaints);
  if (book) {
    (void)walk_form_has_technician(book);
    readings = walk_read(plan, book, &arena, &complaints);
  }
  must((readings == NULL) == (complaints.count > 0));
  for (int i = 0; readings && i < plan->reading_count; i++)
    must(!readings->entries[i].read || isfinite(readings->entries[i].value_si));
  if (readings) {
    struct walk_result *result = walk_compare(plan, readings, &arena, &err);

    must(result && result->inside + result->outside + result->unread == plan->reading_count);
  }
  arena_release(&arena);
  return 0;
}
