#ifndef TESTS_WET_WORLD_H
#define TESTS_WET_WORLD_H

#include "wet/wet.h"

#include "check.h"

#include <string.h>

/* A day at the benches of a suite of two hoods: acts in, answers out.  09:00 is minute 0. */

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Test\n"
    "files: {chemicals: chemicals.yaml}\n"
    "rooms: {Etch: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations:\n"
    "  A1: {kind: wet bench, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";

static const char chemicals_text[] =
    "inward: 1 chemicals\n"
    "baths:\n"
    "  own: {source: x, life: 2 h, parts: [{of: water, volume: 5}, {of: hf-49, volume: 1}]}\n"
    "tanks:\n"
    "  T1: {station: A1, bath: sc-1, volume: 18 L, least: 15 L, temperature: 75 degC ± 5 K, read every: 2 h,\n"
    "      life: 4 h, wafers at most: 100, drain: d, source: rule 3}\n"
    "  T2: {station: A2, bath: al-etch, volume: 3 L, drain: d, source: rule 3}\n"
    "  T3: {station: A2, bath: own, volume: 3 L, drain: d, source: rule 3}\n"
    "streams:\n"
    "  metal: {station: A2, takes: [al-etch, phosphoric acid], never: [solvents], container: 5 L,\n"
    "      material: hdpe, fill at most: 90 %, days from first: 90 d, days from full: 3 d, vented: yes,\n"
    "      vented by: note 4, source: rule 9}\n"
    "  hf: {station: A2, takes: [bhf-5, hf], never: [glass of any kind], container: 5 L, material: hdpe,\n"
    "      fill at most: 90 %, source: rule 9}\n"
    "  tight: {station: A2, takes: [h2o2], container: 5 L, material: hdpe, source: rule 9}\n"
    "stores:\n"
    "  C1: {kind: cabinet, room: Etch, counted: 2026-10-19, by: me,\n"
    "      at most: [{categories: \"1 2 3\", volume: 60 gal, source: 29 CFR 1910.106(d)(3)},\n"
    "        {categories: \"4\", volume: 120 gal, source: 29 CFR 1910.106(d)(3)}],\n"
    "      holds: [{of: acetone, volume: 20 L, count: 12}, {of: nmp, volume: 2.5 L, count: 2},\n"
    "        {of: hf-49, volume: 1 L}]}\n"
    "  C2: {kind: out of cabinet, room: Etch, counted: 2026-10-19, by: me,\n"
    "      at most: [{categories: \"1 2 3\", volume: 10 L, source: rule 4}],\n"
    "      holds: [{of: acetone, volume: 1 L, count: 3}]}\n";

enum { MOST = 40 };

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct chemicals *own;
  struct wet_place place;
  struct record_entry entries[MOST];
  int count;
};

static inline int64_t minute(double minutes)
{
  return 1700000000000 + (int64_t)(minutes * 60e3);
}

static inline void world_begin(struct world *w)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"chemicals.yaml", chemicals_text, sizeof chemicals_text - 1};

  *w = (struct world){0};
  arena_init(&w->arena, (size_t)256 << 20);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  w->own = chemicals_read(w->facility, &file, &w->complaints);
  w->place = (struct wet_place){.facility = w->facility,
                                .own = w->own,
                                .chem = chem_with(chem_read(&w->arena), w->own, &w->arena),
                                .zone = when_utc(),
                                .now_ms = minute(0)};
  w->place.meet = meet_read(w->place.chem, &w->arena);
}

static inline void world_end(struct world *w)
{
  chemicals_free(w->own);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static inline struct wet_past *past_of(struct world *w)
{
  return wet_past(w->entries, w->count, &w->arena);
}

static inline struct wet_telling ask(struct world *w, const struct wet_request *r, double at)
{
  struct wet_telling telling;
  struct err err = {0};

  w->place.now_ms = minute(at);
  if (wet_tell(&w->place, past_of(w), r, &w->arena, &telling, &err) != ERR_OK)
    telling = (struct wet_telling){.refused = arena_strdup(&w->arena, err.text)};
  return telling;
}

/* Told as the board would: what is refused is not written down. */
static inline struct wet_telling tell(struct world *w, const struct wet_request *r, double at)
{
  struct wet_telling telling = ask(w, r, at);

  if (telling.refused || telling.already || w->count == MOST)
    return telling;
  w->entries[w->count] = telling.entry;
  w->entries[w->count].t_ms = w->entries[w->count].written_ms = minute(at);
  w->entries[w->count].who = "me";
  w->entries[w->count].number = w->count + 1;
  w->count++;
  return telling;
}

#define TELL(w, at, ...) tell((w), &(struct wet_request){__VA_ARGS__}, (at))

static inline const struct wet_tank *tank(struct world *w, int index, double at)
{
  w->place.now_ms = minute(at);
  return &wet_baths(&w->place, past_of(w), &w->arena)->tanks[index];
}

static inline bool says(const struct wet_lines *lines, const char *part)
{
  for (int i = 0; i < lines->count; i++)
    if (strstr(lines->line[i], part))
      return true;
  return false;
}

static inline const struct wet_container *container(struct world *w, const char *id, double at)
{
  w->place.now_ms = minute(at);
  return wet_container_find(wet_waste(&w->place, past_of(w), &w->arena), id);
}

static inline enum meet_verdict may(struct world *w, const char *id, const char *what, double at)
{
  w->place.now_ms = minute(at);
  return wet_may(wet_waste(&w->place, past_of(w), &w->arena), id, &what, 1, &w->arena)->verdict;
}

#endif
