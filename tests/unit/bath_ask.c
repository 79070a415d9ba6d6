/* Questions about baths, as the tests of two files ask them. */
#include "bath_ask.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static struct arena *arena;
static const struct chem *chem;

void bath_ask_begin(struct arena *of, const struct chem *facts)
{
  arena = of;
  chem = facts;
}

/* "of=hf", "to=5wt%": a key up to the first '='. NULL ends. */
static const struct bath_answer *ask_in(const struct bath_place *place, struct err *err,
                                        const char *const *pairs)
{
  struct bath_request request = {0};

  for (; *pairs; pairs++) {
    const char *equals = strchr(*pairs, '=');
    char key[40] = {0};

    if (!CHECK(equals && equals - *pairs < (int)sizeof key))
      return NULL;
    memcpy(key, *pairs, (size_t)(equals - *pairs));
    if (bath_take(&request, key, equals + 1, err) != ERR_OK)
      return NULL;
  }
  return bath_answer(place, &request, arena, err);
}

const struct bath_answer *ask_pairs(const char *first, const char *const *pairs)
{
  const struct bath_place place = {.chem = chem};
  struct err err = {0};
  const struct bath_answer *a;

  a = ask_in(&place, &err, pairs);
  if (!a)
    printf("%s: %s\n", first, err.text);
  return a;
}

void check_no_amounts(const struct bath_answer *a)
{
  struct buf out;

  CHECK_INT(a->state, BATH_REFUSED);
  buf_init(&out, 1 << 20);
  bath_text(a, UNITS_SYSTEM_SI, &out);
  CHECK(strstr(out.text, " mL") == NULL && strstr(out.text, " kg") == NULL);
  CHECK(strstr(out.text, "Ask:") != NULL &&
        strstr(out.text, "What would make it possible") != NULL);
  buf_clear(&out);
  bath_json(a, &out);
  CHECK(strstr(out.text, "\"parts\": []") != NULL && strstr(out.text, "\"holds\": []") != NULL);
  buf_release(&out);
}

static const char suite[] =
    "inward: 1 suite\n"
    "name: Small (DEMO)\n"
    "rooms: {Wet: {}}\n"
    "mains: {Acid: {capacity: {value: 4000 m3/h}}}\n"
    "stations:\n"
    "  A1: {kind: wet bench, room: Wet, main: Acid, chemistry: acid, flow: {two-state: {parked: 620 "
    "m3/h, work: 1560 m3/h}}}\n"
    "  A2: {kind: wet bench, room: Wet, main: Acid, flow: {two-state: {parked: 620 "
    "m3/h, work: 1560 m3/h}}, not here: [HF, bases]}\n"
    "  A3: {kind: wet bench, room: Wet, main: Acid, flow: {two-state: {parked: 620 "
    "m3/h, work: 1560 m3/h}}, not here: [oxidisers, closed bottles]}\n"
    "  A4: {kind: wet bench, room: Wet, main: Acid, flow: {two-state: {parked: 620 "
    "m3/h, work: 1560 m3/h}}, not here: [glass of any kind, metal parts]}\n";

const struct bath_answer *ask_pairs_there(const struct chemicals *own, const char *first,
                                          const char *const *pairs)
{
  const struct facility_text text = {"suite.yaml", suite, sizeof suite - 1};
  struct complaints complaints;
  struct err err = {0};
  const struct bath_answer *a;

  complaints_init(&complaints, arena);

  static struct facility *facility;

  if (!facility)
    facility = facility_read(&text, NULL, 0, &complaints);
  if (!facility) {
    printf("%s\n", complaints.list[0].text);
    return NULL;
  }

  const struct bath_place place = {.chem = chem, .facility = facility, .own = own};

  a = ask_in(&place, &err, pairs);
  if (!a)
    printf("%s: %s\n", first, err.text);
  return a;
}

struct chemicals_procedure procedure_for(const char *bath)
{
  static const int stations[] = {0};

  return (struct chemicals_procedure){.part = {.id = "P1", .name = "P1"},
                                      .bath = bath,
                                      .station_count = 1,
                                      .stations = stations,
                                      .document = "WP-07",
                                      .version = "3",
                                      .by = "R. Demo",
                                      .approved = "2026-02-11",
                                      .review = "2027-02-11",
                                      .most_m3 = 2e-3,
                                      .peroxide_most_ratio = 0.31};
}
const struct bath_answer *ask_p14(const char *bath, const char *first, const char *second,
                                  const char *third, const char *fourth)
{
  struct chemicals_procedure *procedure = ARENA_NEW(arena, struct chemicals_procedure);
  struct chemicals *own = ARENA_NEW(arena, struct chemicals);

  *procedure = procedure_for(bath);
  *own =
      (struct chemicals){.file = "chemicals.yaml", .procedure_count = 1, .procedures = procedure};
  return ASK_THERE(own, first, "station=A1", first, second, third, fourth, NULL);
}
