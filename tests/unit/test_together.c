/* Who may work together: tables against every set asked of `air` from nothing, and cases by hand. */
#include "together/together.h"

#include "check.h"
#include "numeric/numeric.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct asked {
  struct arena arena;
  struct facility *facility;
  struct scene scene;
  struct together_answer *answer;
  struct err err;
};

static bool open_text(struct asked *a, const char *bytes)
{
  struct facility_text text = {"suite.yaml", bytes, strlen(bytes)};
  struct complaints complaints;

  *a = (struct asked){0};
  arena_init(&a->arena, (size_t)1 << 30);
  complaints_init(&complaints, &a->arena);
  a->facility = facility_read(&text, NULL, 0, &complaints);
  for (int i = 0; i < complaints.count; i++)
    check_case("%s", complaints.list[i].text);
  if (!CHECK(a->facility != NULL))
    return false;
  a->scene = scene_parked(a->facility, &a->arena);
  return true;
}

static bool open_quillmere(struct asked *a)
{
  static char text[64 << 10];
  FILE *file =
      fopen("examples/quillmere/suite.yaml", "rb"); /* meson runs this in the source's root */
  size_t size;

  if (!CHECK(file != NULL))
    return false;
  size = fread(text, 1, sizeof text - 1, file);
  text[size] = '\0';
  fclose(file);
  return open_text(a, text);
}

static bool ask(struct asked *a, bool lost, unsigned long most_states)
{
  struct together_request request = {
      .scene = &a->scene, .lost = lost, .most_states_solved = most_states};

  a->answer = together_ask(a->facility, &request, &a->arena, &a->err);
  if (!a->answer)
    check_case("%s", a->err.text);
  return CHECK(a->answer != NULL);
}

static void drop(struct asked *a)
{
  facility_free(a->facility);
  arena_release(&a->arena);
}

static const char *words_of(const char *suite)
{
  static char words[400];
  struct asked a;

  words[0] = '\0';
  if (open_text(&a, suite) && ask(&a, false, 0))
    snprintf(words, sizeof words, "%s", a.answer->sets.words);
  drop(&a);
  return words;
}

/* ---- by hand ---- */

#define HOODS(capacity, of_D)                                                                              \
  "inward: 1 suite\nname: Four (DEMO)\nrooms: {Wet: {}}\n"                                                 \
  "mains: {Acid: {name: acid main, capacity: {value: " capacity "}}}\n"                                    \
  "stations:\n"                                                                                            \
  "  A: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 200 m3/h, work: 600 m3/h}}}\n" \
  "  B: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 200 m3/h, work: 600 m3/h}}}\n" \
  "  C: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 200 m3/h, work: 600 m3/h}}}\n" \
  "  D: {kind: fume hood, room: Wet, main: Acid, flow: " of_D "}\n"

/* 800 m3/h parked, 400 more each: 2000 is enough for three, 1500 for one. */
static void equal_hoods_share_a_capacity_by_number(void)
{
  CHECK_STR(words_of(HOODS("2000 m3/h", "{two-state: {parked: 200 m3/h, work: 600 m3/h}}")),
            "Any three on the acid main.");
  CHECK_STR(words_of(HOODS("1500 m3/h", "{two-state: {parked: 200 m3/h, work: 600 m3/h}}")),
            "Any one on the acid main.");
  CHECK_STR(words_of(HOODS("2400 m3/h", "{two-state: {parked: 200 m3/h, work: 600 m3/h}}")),
            "All 4 may be open together, as the model has it.");
}

/* D takes 800 more, twice as much: two of the others, or D alone; with all the others it is 800 + 1200. */
static void a_hood_that_takes_twice_counts_twice(void)
{
  CHECK_STR(words_of(HOODS("1700 m3/h", "{two-state: {parked: 200 m3/h, work: 1000 m3/h}}")),
            "Any two on the acid main; D counts twice.");
}

static void a_hood_that_never_changes_does_not_count(void)
{
  struct asked a;

  CHECK_STR(
      words_of(
          "inward: 1 suite\nname: Two (DEMO)\nrooms: {Wet: {}}\n"
          "mains: {Acid: {name: acid main, capacity: {value: 1100 m3/h}}}\n"
          "stations:\n"
          "  A: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 200 m3/h, work: 600 m3/h}}}\n"
          "  B: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 200 m3/h, work: 600 m3/h}}}\n"
          "  C: {kind: fume hood, room: Wet, main: Acid, opening: {parked: 5 cm, work: 40 cm, most: 60 cm}, flow: {constant: 300 m3/h}}\n"),
      "Any one on the acid main; C does not count.");
  if (open_text(&a, HOODS("2000 m3/h", "{two-state: {parked: 200 m3/h, work: 600 m3/h}}")) &&
      ask(&a, false, 0)) { /* equal ones differ by name only: none to four of them */
    CHECK_INT(a.answer->sets.work.states, 5);
    CHECK_INT(a.answer->sets.fine_count, 15);
    CHECK_INT(a.answer->sets.breaking_count, 1);
    CHECK_INT(a.answer->sets.best_count, 4);
  }
  drop(&a);
}

static void two_mains_have_a_clause_each(void)
{
  CHECK_STR(
      words_of(
          "inward: 1 suite\nname: Two mains (DEMO)\nrooms: {Wet: {}}\n"
          "mains:\n  Acid: {name: acid main, capacity: {value: 1300 m3/h}}\n"
          "  Solvent: {name: solvent main, capacity: {value: 900 m3/h}}\n"
          "stations:\n"
          "  A: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 100 m3/h, work: 600 m3/h}}}\n"
          "  B: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 100 m3/h, work: 600 m3/h}}}\n"
          "  C: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 100 m3/h, work: 600 m3/h}}}\n"
          "  S: {kind: fume hood, room: Wet, main: Solvent, flow: {two-state: {parked: 100 m3/h, work: 600 m3/h}}}\n"
          "  T: {kind: fume hood, room: Wet, main: Solvent, flow: {two-state: {parked: 100 m3/h, work: 600 m3/h}}}\n"),
      "Any two on the acid main, any one on the solvent main.");
}

static void where_all_parked_misses_something_none_may_open(void)
{
  struct asked a;

  if (open_text(&a, HOODS("700 m3/h", "{two-state: {parked: 200 m3/h, work: 600 m3/h}}")) &&
      ask(&a, false, 0)) {
    CHECK(a.answer->sets.nothing);
    CHECK_INT(a.answer->sets.parked_count, 1);
    CHECK(strstr(a.answer->sets.words,
                 "None may be open: with everything parked something is missed "
                 "already: demand 800 m3/h of the 700 m3/h") != NULL);
  }
  drop(&a);
}

/* ---- every set, asked of `air` from nothing ---- */

/* Whatever is wrong in that set, by the definition of the air state. */
static bool is_fine_cold(struct asked *a, struct air *air, uint32_t set)
{
  static const struct air_settings plain = {.solve_budget = 100000};
  struct scene scene = scene_copy(a->facility, &a->scene, &a->arena);
  const struct air_answer *answer;

  for (int i = 0; i < a->answer->count; i++)
    if (set >> i & 1u) {
      scene.stations[a->answer->stations[i]].raised = true;
      scene.stations[a->answer->stations[i]].opening_m =
          a->facility->stations[a->answer->stations[i]].work_m;
    }
  answer = air_ask(air, &scene, &plain, &a->arena, &a->err);
  return answer && answer->solved && answer->best != FACILITY_SHORT &&
         answer->best != FACILITY_NOT_KNOWN;
}

static int differences(struct asked *a)
{
  struct air *air = air_new(a->facility, &a->err);
  int count = 0;

  for (uint32_t set = 0; set < 1u << a->answer->count; set++) {
    bool fine = a->answer->sets.table[set] & TOGETHER_FINE;

    if (fine != is_fine_cold(a, air, set)) {
      count++;
      check_case("%s: the table says %s", together_ids(a->answer, set, &a->arena),
                 fine ? "fine" : "missed");
    }
  }
  air_free(air);
  return count;
}

static void put_station(struct buf *out, struct numeric_random *r, int i, int rooms, bool network)
{
  static const char *const fronts[] = {
      "{two-state: {parked: 250 m3/h, work: 700 m3/h}}",
      "{two-state: {parked: 250 m3/h, work: 1100 m3/h}}",
      "{follows opening: {velocity: 0.5 m/s, least: 250 m3/h, most: 1200 m3/h}}",
      "{constant: 400 m3/h}", "{passive: {coefficient: 0.6, bypass area: 50 cm2}}"};
  int form = numeric_random_below(r, network ? 5 : 4);

  buf_printf(out,
             "  S%d: {kind: fume hood, room: R%d, main: M%d, width: 1.2 m, opening: {parked: 2 cm, "
             "work: 40 cm, most: 70 cm}, flow: %s, criterion: face",
             i, numeric_random_below(r, rooms), numeric_random_below(r, network ? 1 : 2),
             fronts[form]);
  if (network)
    buf_printf(out, ", branch: {drop: %d Pa at 700 m3/h}", numeric_random_below(r, 2) ? 60 : 120);
  buf_puts(out, "}\n");
}

/* A room or two on one fan, with a supply that may be short; or capacities alone. */
static void put_suite(struct buf *out, uint64_t seed, int stations)
{
  struct numeric_random random, *r = &random;
  int rooms;
  bool network;

  numeric_random_seed(r, seed);
  rooms = 1 + numeric_random_below(r, 2);
  network = numeric_random_below(r, 3) > 0;
  buf_puts(out,
           "inward: 1 suite\nname: Random (DEMO)\ncriteria: {face: {of: face velocity, low: 0.3 "
           "m/s, high: 0.8 m/s, source: invented}}\nrooms:\n");
  for (int i = 0; i < rooms; i++)
    buf_printf(out, "  R%d: {keeps: [{over: outdoors, at least: 5 Pa, at most: 60 Pa}]}\n", i);
  if (!network) {
    buf_printf(out, "mains: {M0: {capacity: {value: %d m3/h}}, M1: {capacity: {value: %d m3/h}}}\n",
               900 + numeric_random_below(r, 1500), 900 + numeric_random_below(r, 1500));
  } else {
    buf_puts(out, "junctions: {header: {}}\nleaks:\n");
    for (int i = 0; i < rooms; i++)
      buf_printf(out, "  L%d: {from: R%d, to: outdoors, area: %d cm2, coefficient: 0.65}\n", i, i,
                 200 + numeric_random_below(r, 300));
    buf_printf(
        out,
        "fans: {EF: {from: header, to: outdoors, shut-off: %d Pa, falls: %d Pa/(m3/s)2}}\n"
        "mains: {M0: {at: header, fans: [EF]}}\nsupplies:\n  MU:\n    most: %d m3/h\n    plenum: 150 Pa\n"
        "    feeds:\n",
        400 + numeric_random_below(r, 400), 100 + numeric_random_below(r, 200),
        2200 + numeric_random_below(r, 3000));
    for (int i = 0; i < rooms; i++)
      buf_printf(
          out,
          "      R%d: {holds: {pressure: 15 Pa, over: outdoors}, least: 0 m3/h, most: 6000 m3/h}\n",
          i);
  }
  buf_puts(out, "stations:\n");
  for (int i = 0; i < stations; i++)
    put_station(out, r, i, rooms, network);
}

static bool open_random(struct asked *a, uint64_t seed, int stations)
{
  struct buf text;
  bool ok;

  buf_init(&text, 1 << 16);
  put_suite(&text, seed, stations);
  ok = open_text(a, text.text);
  buf_release(&text);
  return ok;
}

static void every_set_of_random_suites_is_judged_as_when_it_is_asked_alone(void)
{
  int mixed = 0;

  for (uint64_t seed = 1; seed <= 24; seed++) {
    struct asked a;

    CHECK_CASE("suite %d", (int)seed);
    if (open_random(&a, seed, 6) && ask(&a, false, 0)) {
      if (!a.answer->sets.nothing) {
        CHECK(a.answer->sets.exact);
        CHECK_INT(differences(&a), 0);
        CHECK_INT(a.answer->sets.work.corrected, 0);
        mixed += a.answer->sets.breaking_count > 0;
      } else {
        struct air *air = air_new(a.facility, &a.err);

        CHECK(!is_fine_cold(&a, air, 0));
        air_free(air);
      }
    }
    drop(&a);
  }
  CHECK_CASE("%d suites with both", mixed);
  CHECK(mixed >= 8); /* or this would test nothing */
}

static void the_boundary_alone_gives_the_same_table(void)
{
  for (uint64_t seed = 30; seed <= 44; seed++) {
    struct asked a;

    CHECK_CASE("suite %d", (int)seed);
    if (open_random(&a, seed, 9) && ask(&a, false, 0) && !a.answer->sets.nothing) {
      const struct together_answer *all = a.answer;

      if (ask(&a, false, 1)) {
        CHECK(memcmp(all->sets.table, a.answer->sets.table, (size_t)1 << all->count) == 0);
        CHECK_STR(a.answer->sets.words, all->sets.words);
        CHECK_INT(a.answer->sets.work.not_monotone, all->sets.work.not_monotone);
      }
    }
    drop(&a);
  }
}

/* Opening X alone leaves Y too high above it; with Y open as well the difference is as before. */
static const char crossed_suite[] =
    "inward: 1 suite\nname: Crossed (DEMO)\n"
    "rooms:\n  X: {}\n  Y: {keeps: [{over: X, at most: 8 Pa}]}\n"
    "leaks:\n  LX: {from: X, to: outdoors, area: 400 cm2, coefficient: 0.65}\n"
    "  LY: {from: Y, to: outdoors, area: 400 cm2, coefficient: 0.65}\n"
    "junctions: {header: {}}\nfans: {EF: {from: header, to: outdoors, shut-off: 900 Pa, falls: 20 Pa/(m3/s)2}}\n"
    "mains: {M: {at: header, fans: [EF]}}\n"
    "supplies: {MU: {feeds: {X: {flow: 1500 m3/h}, Y: {flow: 1500 m3/h}}}}\n"
    "stations:\n"
    "  SX: {kind: fume hood, room: X, main: M, flow: {two-state: {parked: 600 m3/h, work: 1100 m3/h}}, branch: {drop: 50 Pa at 1000 m3/h}}\n"
    "  SY: {kind: fume hood, room: Y, main: M, flow: {two-state: {parked: 600 m3/h, work: 1100 m3/h}}, branch: {drop: 50 Pa at 1000 m3/h}}\n";

static void where_opening_one_more_ends_a_miss_it_is_found_and_said(void)
{
  static const unsigned long ways[] = {0, 1};

  for (int way = 0; way < 2; way++) {
    struct asked a;

    CHECK_CASE("%s", way ? "the boundary" : "every state");
    if (open_text(&a, crossed_suite) && ask(&a, false, ways[way])) {
      const unsigned char *table = a.answer->sets.table;

      REQUIRE(table != NULL);
      CHECK(table[0] & TOGETHER_FINE);
      CHECK(!(table[1] & TOGETHER_FINE));
      CHECK(table[2] & TOGETHER_FINE);
      CHECK(table[3] & TOGETHER_FINE);
      CHECK(a.answer->sets.work.not_monotone > 0);
      CHECK_INT(differences(&a), 0);
    }
    drop(&a);
  }
}

/* ---- the demo suite ---- */

static void what_the_words_allow_misses_nothing_in_quillmere(void)
{
  struct asked a;

  if (open_quillmere(&a) && ask(&a, false, 0)) {
    const struct together_sets *s = &a.answer->sets;
    long allowed = 0, wrong = 0;

    for (uint32_t set = 0; set < 1u << a.answer->count; set++) {
      bool allows = true;

      for (int i = 0; i < s->rule_count; i++) {
        int weight = 0;

        for (int k = 0; k < a.answer->count; k++)
          weight += set & s->rules[i].stations & 1u << k ? s->rules[i].weight[k] : 0;
        allows = allows && weight <= s->rules[i].allowed;
      }
      allowed += allows;
      wrong += allows && !(s->table[set] & TOGETHER_SURE);
    }
    CHECK_INT(wrong, 0);
    CHECK_INT(allowed, s->allowed_count);
    CHECK(allowed > s->sure_count / 2);
    CHECK_INT(a.answer->count, 14);
    CHECK_INT(s->work.corrected, 0);
  }
  drop(&a);
}

/* The board counts by its own search, choice by choice. */
static void the_number_is_that_of_the_board(void)
{
  struct asked a;

  if (open_quillmere(&a) && ask(&a, false, 0)) {
    struct air *air = air_new(a.facility, &a.err);
    const struct air_answer *air_answer =
        air_ask(air, &a.scene, &air_settings_sure, &a.arena, &a.err);
    int sure = 14, perhaps = 14;

    REQUIRE(air_answer != NULL);
    for (int p = 0; p < air_answer->pool_count; p++) {
      if (air_answer->pools[p].kind != AIR_POOL_SUPPLY) /* MU feeds every room with stations */
        continue;
      sure = air_answer->pools[p].more_sure;
      perhaps = air_answer->pools[p].more_perhaps;
    }
    CHECK_INT(a.answer->sets.any[1], sure);
    CHECK_INT(a.answer->sets.any[0], perhaps);
    air_free(air);
  }
  drop(&a);
}

static void a_set_has_the_pressures_of_a_cold_solve_wherever_it_starts(void)
{
  struct asked a;

  if (open_quillmere(&a) && ask(&a, false, 0)) {
    struct air *warm = air_new(a.facility, &a.err), *cold = air_new(a.facility, &a.err);
    struct air_sets *w = air_sets_new(warm, &a.scene, a.answer->stations, 14, &a.arena, &a.err);
    struct air_sets *c = air_sets_new(cold, &a.scene, a.answer->stations, 14, &a.arena, &a.err);
    double worst_Pa = 0;

    REQUIRE(w != NULL && c != NULL);
    for (uint32_t i = 0; i < 4096; i += 7) {
      uint32_t open = (i ^ i >> 1) * 4; /* also far steps */
      struct air_set one, two;

      air_sets_look(w, open, &one);
      air_sets_cold(c);
      air_sets_look(c, open, &two);
      CHECK(one.missed == two.missed && one.parked == two.parked && one.raised == two.raised);
      for (int n = 0; n < facility_node_count(a.facility); n++)
        if (isfinite(air_sets_pressure_Pa(c, n)))
          worst_Pa = fmax(worst_Pa, fabs(air_sets_pressure_Pa(w, n) - air_sets_pressure_Pa(c, n)));
    }
    CHECK(worst_Pa < 1e-6);
    air_free(warm);
    air_free(cold);
  }
  drop(&a);
}

static void every_part_is_lost_in_turn(void)
{
  struct asked a;

  if (open_quillmere(&a) && ask(&a, true, 0)) {
    const struct together_lost *one = together_find_lost(a.answer, "AF/2");
    const struct together_lost *both = together_find_lost(a.answer, "AF");

    REQUIRE(one && both && together_find_lost(a.answer, "SF") &&
            together_find_lost(a.answer, "MU"));
    CHECK(together_find_lost(a.answer, "D4") != NULL);
    CHECK(!one->sets.nothing && one->sets.any[1] < a.answer->sets.any[1]);
    CHECK(both->sets.nothing);
    CHECK(together_find_lost(a.answer, "MU")->sets.nothing);
    CHECK(together_find_lost(a.answer, "A1") == NULL);
  }
  drop(&a);
}

/* ---- what cannot be asked ---- */

static void more_stations_than_a_table_holds_get_bounds_and_that_is_said(void)
{
  struct asked a;
  struct buf text;

  buf_init(&text, 1 << 16);
  buf_puts(&text,
           "inward: 1 suite\nname: Many (DEMO)\nrooms: {Wet: {}}\nmains: {M: {capacity: {value: "
           "12000 m3/h}}}\nstations:\n");
  for (int i = 0; i < 30; i++)
    buf_printf(&text,
               "  S%d: {kind: fume hood, room: Wet, main: M, flow: {two-state: {parked: 200 m3/h, "
               "work: 600 m3/h}}}\n",
               i);
  if (open_text(&a, text.text) && ask(&a, false, 0)) {
    CHECK(!a.answer->sets.known && a.answer->all_count == 30);
    CHECK(strstr(a.answer->sets.why, "30 stations may be raised") != NULL);
    CHECK(strstr(a.answer->sets.words, "any 15 of 30") != NULL); /* 6000 + 400 k <= 12000 */
  }
  drop(&a);
  buf_release(&text);
}

static void stations_that_cannot_be_meant_are_named(void)
{
  struct asked a;
  struct together_request request;
  int list[AIR_SETS_MAX];
  struct err err = {0};

  if (open_text(&a, HOODS("2000 m3/h", "{constant: 300 m3/h}"))) {
    CHECK_INT(together_stations(a.facility, "A,B", list, &err), 2);
    CHECK_INT(together_stations(a.facility, "A,Z9", list, &err), -1);
    CHECK(strstr(err.text, "Z9") != NULL);
    CHECK_INT(together_stations(a.facility, "", list, &err), -1);
    request =
        (struct together_request){.scene = &a.scene, .station_count = 1, .stations = (int[]){3}};
    err = (struct err){0};
    CHECK(together_ask(a.facility, &request, &a.arena, &err) == NULL);
    CHECK(strstr(err.text, "D is out of service, or has nothing to raise") != NULL);
    request =
        (struct together_request){.scene = &a.scene, .station_count = 2, .stations = (int[]){1, 1}};
    err = (struct err){0};
    CHECK(together_ask(a.facility, &request, &a.arena, &err) == NULL);
    CHECK(strstr(err.text, "twice") != NULL);
  }
  drop(&a);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(equal_hoods_share_a_capacity_by_number);
  RUN(a_hood_that_takes_twice_counts_twice);
  RUN(a_hood_that_never_changes_does_not_count);
  RUN(two_mains_have_a_clause_each);
  RUN(where_all_parked_misses_something_none_may_open);
  RUN(every_set_of_random_suites_is_judged_as_when_it_is_asked_alone);
  RUN(the_boundary_alone_gives_the_same_table);
  RUN(where_opening_one_more_ends_a_miss_it_is_found_and_said);
  RUN(what_the_words_allow_misses_nothing_in_quillmere);
  RUN(the_number_is_that_of_the_board);
  RUN(a_set_has_the_pressures_of_a_cold_solve_wherever_it_starts);
  RUN(every_part_is_lost_in_turn);
  RUN(more_stations_than_a_table_holds_get_bounds_and_that_is_said);
  RUN(stations_that_cannot_be_meant_are_named);
  return check_end();
}
