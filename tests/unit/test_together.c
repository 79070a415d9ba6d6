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

  *a = (struct asked){0};
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

/* ---- one station more ---- */

struct two {
  struct asked before, after;
  struct together_add_request request;
  struct together_use uses[2][64];
  const struct together_added *added;
  struct err err;
};

static void put_hoods(struct buf *out, int count, int capacity_m3_h)
{
  buf_printf(
      out,
      "inward: 1 suite\nname: Equal (DEMO)\nrooms: {Wet: {}}\nmains: {M: {capacity: {value: %d "
      "m3/h}}}\nstations:\n",
      capacity_m3_h);
  for (int i = 0; i < count; i++)
    buf_printf(
        out,
        "  H%d: {kind: fume hood, room: Wet, main: M, flow: {two-state: {parked: 0 m3/h, work: 100 "
        "m3/h}}}\n",
        i);
}

/* Hoods of 100 m3/h at work and nothing parked, before one is added and after, all used alike. */
static bool open_two(struct two *t, int count, int capacity_m3_h, const char *use, double together)
{
  struct buf text;
  bool ok = true;

  *t = (struct two){0};
  for (int side = 0; side < 2; side++) {
    struct asked *a = side ? &t->after : &t->before;

    buf_init(&text, 1 << 14);
    put_hoods(&text, count + side, capacity_m3_h);
    ok = open_text(a, text.text) && ask(a, false, 0) && ok &&
         CHECK(together_take_use(a->facility, use, t->uses[side], &a->arena, &t->err) == ERR_OK);
    buf_release(&text);
  }
  t->request = (struct together_add_request){.before = t->before.answer,
                                             .after = t->after.answer,
                                             .before_use = t->uses[0],
                                             .after_use = t->uses[1],
                                             .together_ratio = together,
                                             .together_from = "stated"};
  return ok;
}

static bool add(struct two *t)
{
  t->added = together_add(&t->request, &t->after.arena, &t->err);
  if (!t->added)
    check_case("%s", t->err.text);
  return CHECK(t->added != NULL);
}

static void drop_two(struct two *t)
{
  drop(&t->before);
  drop(&t->after);
}

/* Binomial tables (S20 and others of docs/checks.md): no more are at work than there is air for. */
static void by_itself_it_is_the_binomial_of_the_tables(void)
{
  static const struct {
    int n, k;
    const char *use;
    double at_most;
  } rows[] = {{10, 3, "all=30%", 0.6496},
              {10, 5, "all=30%", 0.9527},
              {12, 8, "all=40%", 0.9847},
              {8, 6, "all=50%", 0.9648},
              {5, 2, "all=20%", 0.9421}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct two t;

    CHECK_CASE("%d of %d", rows[i].k, rows[i].n);
    if (open_two(&t, rows[i].n, 100 * rows[i].k, rows[i].use, 0) && add(&t))
      CHECK_NEAR(1 - t.added->hours[0].before.short_ratio, rows[i].at_most, 0, 5e-5);
    drop_two(&t);
  }
}

/* R. B. Hunter, BMS65 (1940): flush valves, 9 s in 300 s, so many that more are open in 1 of 100 at most. */
static void hunters_numbers_are_the_least_with_a_risk_of_one_in_a_hundred(void)
{
  static const struct {
    int n, design;
  } rows[] = {{5, 1}, {10, 2}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
    for (int less = 0; less < 2; less++) {
      struct two t;

      CHECK_CASE("%d valves, %d", rows[i].n, rows[i].design - less);
      if (rows[i].design - less > 0 &&
          open_two(&t, rows[i].n, 100 * (rows[i].design - less), "all=3%", 0) && add(&t))
        CHECK((t.added->hours[0].before.short_ratio <= 0.01) == (less == 0));
      if (rows[i].design - less > 0)
        drop_two(&t);
    }
}

/* Two of a beta-binomial are both at work with p^2 + r p (1 - p); of three likewise by rising factorials. */
static void a_common_cause_makes_it_the_beta_binomial(void)
{
  struct two t;

  if (open_two(&t, 2, 100, "all=30%", 0.2) && add(&t)) {
    double n = 1 / 0.2 - 1, a = 0.3 * n, none, one;

    CHECK_NEAR(t.added->hours[0].before.short_ratio, 0.09, 0, 1e-12);
    CHECK_NEAR(t.added->hours[0].before.short_together_ratio, 0.09 + 0.2 * 0.21, 0.01, 0);
    none = (n - a) * (n - a + 1) * (n - a + 2) / (n * (n + 1) * (n + 2));
    one = 3 * a * (n - a) * (n - a + 1) / (n * (n + 1) * (n + 2));
    CHECK_NEAR(t.added->hours[0].after.short_together_ratio, 1 - none - one, 0.01, 0);
    CHECK(t.added->hours[0].after.short_ratio > t.added->hours[0].before.short_ratio);
  }
  drop_two(&t);
}

/* Room for one. Of three Tuesdays at 13 two had one up: near limit then, and short half the time with one more. */
static void like_days_are_the_recorded_ones_with_the_new_one_added(void)
{
  static const struct together_moment moments[] = {{37, 0, 1}, {37, 1, 2}, {37, 2, 0}};
  struct two t;

  if (open_two(&t, 2, 100, "all=50%", 0)) {
    t.request.moments = moments;
    t.request.moment_count = 3;
    if (add(&t)) {
      const struct together_hour *h = &t.added->hours[37];

      CHECK_INT(h->like_days, 3);
      CHECK_NEAR(h->before.short_like_ratio, 0, 0, 1e-12);
      CHECK_NEAR(h->before.near_like_ratio, 2.0 / 3, 0, 1e-12);
      CHECK_NEAR(h->after.short_like_ratio, 1.0 / 3, 0, 1e-12);
      CHECK_INT(t.added->hours[36].like_days, 0);
      CHECK(isnan(t.added->hours[36].after.short_like_ratio));
    }
  }
  drop_two(&t);
}

static void what_is_said_of_use_is_understood_or_refused(void)
{
  static const char *const bad[] = {
      "",          "A",           "A=",  "A=30",          "A=-1%",          "A=130%",
      "A=30% Xyz", "A=30% Tue 9", "=3%", "A=30% Tue 9-9", "A=30% Tue 9-25", "A=30% Fri-Mon",
      "A=nan%"};
  struct together_use uses[8] = {0};
  struct asked a;
  struct err err = {0};

  if (open_text(&a, HOODS("2000 m3/h", "{constant: 300 m3/h}"))) {
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
      CHECK_CASE("'%s'", bad[i]);
      CHECK(together_take_use(a.facility, bad[i], uses, &a.arena, &err) == ERR_INPUT);
    }
    CHECK(together_take_use(a.facility, "Q=3%", uses, &a.arena, &err) == ERR_INPUT);
    CHECK(!uses[0].known);
    CHECK(together_take_use(a.facility, "A=60% Tue-Wed 13-17", uses, &a.arena, &err) == ERR_OK);
    CHECK_NEAR(uses[0].up_ratio[24 + 13], 0.6, 0, 0);
    CHECK_NEAR(uses[0].up_ratio[24 + 17], 0, 0, 0);
    CHECK_NEAR(uses[0].up_ratio[48 + 16], 0.6, 0, 0);
    CHECK(uses[0].known && !uses[1].known);
  }
  drop(&a);
}

static void what_a_trial_lacks_is_named(void)
{
  struct two t;

  if (open_two(&t, 2, 100, "H0=50%", 0)) {
    CHECK(together_add(&t.request, &t.after.arena, &t.err) == NULL);
    CHECK(strstr(t.err.text, "how much H1 is used") != NULL);
    t.request.after = t.request.before;
    t.request.after_use = t.request.before_use;
    t.err = (struct err){0};
    CHECK(together_take_use(t.before.facility, "all=5%", t.uses[0], &t.before.arena, &t.err) ==
          ERR_OK);
    CHECK(together_add(&t.request, &t.after.arena, &t.err) == NULL);
    CHECK(strstr(t.err.text, "adds no station") != NULL);
  }
  drop_two(&t);
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

static void a_main_that_nothing_is_known_of_is_not_called_fine(void)
{
  struct asked a;

  if (open_text(
          &a,
          "inward: 1 suite\nname: Blind (DEMO)\nrooms: {Wet: {}}\nmains: {Acid: {}}\nstations:\n"
          "  A: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 200 m3/h, work: "
          "600 m3/h}}}\n") &&
      ask(&a, false, 0)) {
    CHECK(!a.answer->sets.known);
    CHECK_STR(a.answer->sets.words, "Not known: treat as no.");
    CHECK(strstr(a.answer->sets.why, "main Acid has neither a network nor a capacity") != NULL);
  }
  drop(&a);
}

static void where_the_purse_ends_no_table_is_told(void)
{
  struct asked a;

  if (open_random(&a, 33, 9)) {
    struct together_request request = {
        .scene = &a.scene, .most_states_solved = 1, .solve_budget = 3};

    a.answer = together_ask(a.facility, &request, &a.arena, &a.err);
    REQUIRE(a.answer != NULL);
    CHECK(!a.answer->sets.known && !a.answer->sets.exact);
    CHECK(strstr(a.answer->sets.why, "the purse of solves ended") != NULL);
    CHECK(a.answer->sets.rule_count == 0 && a.answer->sets.breaking_count == 0);
  }
  drop(&a);
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
  RUN(by_itself_it_is_the_binomial_of_the_tables);
  RUN(hunters_numbers_are_the_least_with_a_risk_of_one_in_a_hundred);
  RUN(a_common_cause_makes_it_the_beta_binomial);
  RUN(like_days_are_the_recorded_ones_with_the_new_one_added);
  RUN(what_is_said_of_use_is_understood_or_refused);
  RUN(what_a_trial_lacks_is_named);
  RUN(more_stations_than_a_table_holds_get_bounds_and_that_is_said);
  RUN(a_main_that_nothing_is_known_of_is_not_called_fine);
  RUN(where_the_purse_ends_no_table_is_told);
  RUN(stations_that_cannot_be_meant_are_named);
  return check_end();
}
