#include "papers/papers.h"

#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

/* Written whole, or something is said and nothing written. */
static void whole_or_nothing(enum err_code code, const struct papers_report *report,
                             const struct buf *bytes)
{
  must((code == ERR_OK) == (bytes->used > 0));
  must((code == ERR_INPUT) == (report->unprintable.count > 0));
  for (int i = 0; i < report->note_count; i++)
    must(report->notes[i].station && report->notes[i].text);
}

static void print_all(const struct facility *f, enum draw_size paper, enum units_system units)
{
  enum { MOST = 8 };
  int stations[MOST], count = f->station_count < MOST ? f->station_count : MOST;
  struct arena arena;
  struct buf bytes;
  struct err err = {0};

  arena_init(&arena, SIZE_MAX);
  buf_init(&bytes, 64 << 20);

  struct papers_report *report = ARENA_NEW(&arena, struct papers_report);
  struct papers_request request = {.facility = f, .size = paper, .units = units, .report = report};

  report->arena = &arena;
  for (int i = 0; i < count; i++)
    stations[i] = i;
  whole_or_nothing(papers_cards(&request, stations, count, &bytes, &err), report, &bytes);
  buf_clear(&bytes);
  if (f->station_count <= MOST)
    whole_or_nothing(papers_marks(&request, &bytes, &err), report, &bytes);
  buf_release(&bytes);
  arena_release(&arena);
}

/* Whatever a suite says of its stations: its cards are printed, or the reason is told. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct facility_text text = {"suite.yaml", (const char *)data, size};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  complaints_init(&complaints, &arena);

  struct facility *f = facility_read(&text, NULL, 0, &complaints);

  if (f && f->station_count > 0)
    print_all(f, (enum draw_size)(size % 3), (enum units_system)(size % 2));
  facility_free(f);
  arena_release(&arena);
  return 0;
}
