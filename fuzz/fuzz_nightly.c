/* Any detail of an entry is read as a night's match or as none; what is read prints, for people and programs. */
#include "nightly/nightly.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\nrooms: {R: {}}\nmains: {M: {capacity: {value: 2 m3/s}}}\n"
    "stations:\n  B1: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"
    "match: {each night at: \"03:00\"}\n";

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_one(const struct nightly_match *m)
{
  BUG_IF(!m->suite_sha256 || !m->engine);
  BUG_IF(m->verdict ? !m->words || !m->sentence : !m->why);
  BUG_IF(m->figure_count < 0 || m->left_out_count < 0);
}

/* One line of the input is the detail of one entry, the newest first. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  enum { MOST = 12 };
  const struct facility_text text = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct nightly_match list[MOST];
  struct nightly_list nights = {.list = list};
  struct complaints complaints;
  struct arena arena;
  struct buf out;
  char *own = malloc(size + 1);

  if (!own)
    return 0;
  if (size)
    memcpy(own, data, size);
  own[size] = '\0';
  arena_init(&arena, 64 << 20);
  buf_init(&out, 8 << 20);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&text, NULL, 0, &complaints);

  BUG_IF(!facility);
  for (char *at = own; *at && nights.count < MOST;) {
    char *line_end = at + strcspn(at, "\n");
    bool last = !*line_end;

    *line_end = '\0';
    if (nightly_read(at, &arena, &list[nights.count]))
      check_one(&list[nights.count++]);
    at = last ? line_end : line_end + 1;
  }

  const struct nightly_place place = {.facility = facility, .now_ms = INT64_C(1793000000000)};

  nightly_text(&place, &nights, &out);
  BUG_IF(!strstr(out.text, nights.count > 0 ? "Latest" : "None: "));
  buf_clear(&out);
  nightly_json(&place, &nights, &out);
  BUG_IF(!strstr(out.text, "inward.own_matches.1"));
  buf_release(&out);
  facility_free(facility);
  arena_release(&arena);
  free(own);
  return 0;
}
