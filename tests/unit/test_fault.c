#include "fault/fault.h"

#include "base/emit.h"
#include "check.h"
#include "numeric/numeric.h"
#include "traced.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- the test itself, against published run lengths ---- */

static double normal(struct numeric_random *random)
{
  double u = 1 - numeric_random_unit(random), v = numeric_random_unit(random);

  return sqrt(-2 * log(u)) * cos(2 * acos(-1.0) * v);
}

static double measured_run_length(double shift, double limit, int runs)
{
  struct numeric_random random;
  double steps = 0;

  numeric_random_seed(&random, 7);
  for (int i = 0; i < runs; i++) {
    struct fault_cusum sum = {0};

    do {
      fault_cusum_step(&sum, shift + normal(&random), 0.5, 100, 0);
      steps++;
    } while (sum.up_ratio < limit && sum.down_ratio < limit);
  }
  return steps / runs;
}

/* Montgomery, Introduction to Statistical Quality Control, table of average run lengths of the tabular
 * cusum with k = 1/2 (values from memory). */
static const struct {
  double shift, at_4, at_5;
} montgomery[] = {{0, 168, 465},     {0.5, 26.6, 38.0}, {1, 8.38, 10.4},
                  {1.5, 4.75, 5.75}, {2, 3.34, 4.01},   {3, 2.19, 2.57}};

static void the_sum_alarms_as_often_as_the_table_says(void)
{
  for (size_t i = 0; i < sizeof montgomery / sizeof *montgomery; i++) {
    CHECK_CASE("shift %g", montgomery[i].shift);
    CHECK_NEAR(measured_run_length(montgomery[i].shift, 4, 20000), montgomery[i].at_4, 0.025, 0);
    CHECK_NEAR(measured_run_length(montgomery[i].shift, 5, 10000), montgomery[i].at_5, 0.025, 0);
  }
}

/* The same book works it for h = 5, k = 1/2: one side 938.2, both 469.1; and 10.34 at a shift of one. */
static void siegmunds_formula_gives_the_worked_figures(void)
{
  CHECK_NEAR(fault_run_length_ratio(0, 0.5, 5), 469.1, 1e-3, 0);
  CHECK_NEAR(fault_run_length_ratio(1, 0.5, 5), 10.34, 1e-3, 0);
  for (int i = 0; i < 4; i++) { /* it is made for small shifts */
    CHECK_CASE("shift %g", montgomery[i].shift);
    CHECK_NEAR(fault_run_length_ratio(montgomery[i].shift, 0.5, 4), montgomery[i].at_4, 0.05, 0);
  }
}

static void the_limit_gives_back_its_run_length(void)
{
  for (double run_length = 100; run_length < 1e8; run_length *= 10)
    CHECK_NEAR(fault_run_length_ratio(0, 0.5, fault_limit_ratio(0.5, run_length)), run_length, 1e-9,
               0);
}

static void a_sum_says_since_when(void)
{
  struct fault_cusum sum = {0};

  fault_cusum_step(&sum, -1, 0.5, 10, 100);
  fault_cusum_step(&sum, 3, 0.5, 10, 200);
  fault_cusum_step(&sum, 3, 0.5, 10, 300);
  CHECK_NEAR(sum.up_ratio, 5, 0, 1e-12);
  CHECK_INT(sum.up_since_ms, 200);
  for (int i = 0; i < 100; i++)
    fault_cusum_step(&sum, 3, 0.5, 10, 400);
  CHECK_NEAR(sum.up_ratio, 10, 0, 1e-12); /* held, so that what is mended is soon forgotten */
}

/* ---- traces of the demo suite ---- */

static struct traced_world world;

static void a_kind_stays_in_notes_until_it_has_proved_itself(void)
{
  const struct feeds_faults *s = &world.feeds->faults;

  CHECK(!fault_has_proved(s, &(struct fault_count){0, 0}));
  CHECK(!fault_has_proved(s, &(struct fault_count){2, 0}));
  CHECK(fault_has_proved(s, &(struct fault_count){3, 0}));
  CHECK(fault_has_proved(s, &(struct fault_count){3, 1}));
  CHECK(!fault_has_proved(s, &(struct fault_count){3, 2}));
}

/* Whether the valve drifts or its sensor only the supply's total tells, and that one is off by more: an
 * hour after the first alarm the right one leads in two of three traces and is named in nearly all
 * (docs/checks.md).  Three hours after, the valve leads in nine of ten. */
static bool drifts(int kind)
{
  return kind == FAULT_DRIFTING_VALVE || kind == FAULT_DRIFTING_SENSOR;
}

static struct traced_result run(int kind, const char *part, double size, uint64_t seed,
                                const char **text, struct arena *arena)
{
  enum { HOUR = 12, WHILE = 36 }; /* a drift is told from another when it has grown */
  struct traced_plan plan = {{kind, part, size}, 1, seed, 144, 168, drifts(kind) ? WHILE : HOUR};

  arena_init(arena, SIZE_MAX);
  return traced_run(&world, &plan, arena, text);
}

static void each_kind_is_found_in_a_clear_case(void)
{
  static const struct traced_fault clear[] = {{FAULT_DOOR_OPEN, "D2", 1},
                                              {FAULT_BLOCKED_SASH, "A1", 1},
                                              {FAULT_STUCK_SASH, "A3", 1},
                                              {FAULT_STUCK_SENSOR, "A5-flow", 1},
                                              {FAULT_WRONG_UNIT, "A5-flow", 3.6},
                                              {FAULT_WRONG_UNIT, "Wet-dp", -1},
                                              {FAULT_COVERED_DECK, "A1", 1},
                                              {FAULT_DRIFTING_VALVE, "A2", 0.3},
                                              {FAULT_DRIFTING_SENSOR, "A2-flow", 0.3},
                                              {FAULT_LOADED_FILTER, "A-scrubber", 3},
                                              {FAULT_WORN_FAN, "AF", 0.9},
                                              {FAULT_BACK_DRAUGHT, "SF", 1}};

  for (size_t i = 0; i < sizeof clear / sizeof *clear; i++) {
    const char *text = "";
    struct arena arena;
    struct traced_result r =
        run(clear[i].kind, clear[i].part, clear[i].size_ratio, 1003, &text, &arena);

    CHECK_CASE("%s at %s: %s", fault_kind_name((enum fault_kind)clear[i].kind), clear[i].part,
               text);
    CHECK(!r.false_alarm);
    CHECK(r.alarm);
    CHECK(clear[i].kind == FAULT_DRIFTING_SENSOR ? r.named : r.first);
    CHECK(strncmp(text, "looks like ", 11) == 0);
    CHECK(strstr(text, " because "));
    CHECK(!strstr(text, "safe"));
    arena_release(&arena);
  }
}

/* A drift begins within what is still learnt: what is learnt of it would be taken off it. */
static void a_drifting_valve_leads_in_nine_of_ten_traces(void)
{
  static const char *const valves[] = {"A1", "A2", "A3", "A6", "S1", "S4"};
  enum { TRACES = 60 };
  int first = 0, named = 0;

  for (int i = 0; i < TRACES; i++) {
    const char *text = "";
    struct arena arena;
    struct traced_result r =
        run(FAULT_DRIFTING_VALVE, valves[i % 6], 0.3, 1001 + (uint64_t)i, &text, &arena);

    first += r.first;
    named += r.named;
    arena_release(&arena);
  }
  CHECK_CASE("%d led, %d named of %d", first, named, (int)TRACES);
  CHECK(first * 10 >= TRACES * 9);
  CHECK(named * 10 >= TRACES * 9);
}

/* The supply's flow is a total: it says that a leak grew, and not which. */
static void a_leak_that_grew_is_one_of_those_that_look_alike(void)
{
  const char *text = "";
  struct arena arena;
  struct traced_result r = run(FAULT_LEAK_GREW, "L-wet", 4, 1003, &text, &arena);

  CHECK_CASE("%s", text);
  CHECK(r.first_kind);
  CHECK(r.named);
  CHECK(strstr(text, " or "));
  arena_release(&arena);
}

/* The settings name the kinds as the findings do, in the same order. */
static void each_kind_has_its_price_in_the_feeds_file(void)
{
  for (int i = 0; i < FAULT_KIND_COUNT; i++) {
    const char *name = fault_kind_name((enum fault_kind)i);
    struct complaints complaints;
    struct arena arena;
    char text[400];

    CHECK_CASE("%s", name);
    snprintf(text, sizeof text,
             "inward: 1 feeds\nsources: {us: {hand: {}}}\n"
             "points: {one: {of: A1, what: flow, from: us, unit: m3/h}}\n"
             "faults: {price: {%s: 7}%s%s%s}\n",
             name, i == FAULT_STUCK_SENSOR ? "" : ", largest: {",
             i == FAULT_STUCK_SENSOR ? "" : name, i == FAULT_STUCK_SENSOR ? "" : ": 9}");
    arena_init(&arena, SIZE_MAX);
    complaints_init(&complaints, &arena);
    struct feeds *feeds = feeds_read(
        world.facility, &(struct facility_text){"feeds.yaml", text, strlen(text)}, &complaints);

    if (CHECK(feeds != NULL)) {
      CHECK_NEAR(feeds->faults.ranking.kinds[i].price_ratio, 7, 0, 0);
      CHECK_NEAR(feeds->faults.ranking.kinds[i].most_ratio, i == FAULT_STUCK_SENSOR ? 1 : 9, 0, 0);
    }
    feeds_free(feeds);
    arena_release(&arena);
  }
}

static void a_kind_that_costs_more_than_it_explains_is_not_named(void)
{
  double *price = &world.feeds->faults.ranking.kinds[FAULT_COVERED_DECK].price_ratio,
         usual = *price;
  struct arena arena;
  const char *text = NULL;
  struct traced_result r = run(FAULT_COVERED_DECK, "A1", 1, 3, &text, &arena);

  CHECK(r.first);
  arena_release(&arena);
  *price = 1000;
  r = run(FAULT_COVERED_DECK, "A1", 1, 3, &text, &arena);
  CHECK(r.alarm && !r.named);
  arena_release(&arena);
  *price = usual;
}

static void a_healthy_day_has_no_finding(void)
{
  for (uint64_t seed = 1; seed <= 12; seed++) {
    const char *text = "";
    struct arena arena;
    struct traced_result r = run(TRACED_HEALTHY, "", 0, seed, &text, &arena);

    CHECK_CASE("seed %d: %s", (int)seed, text);
    CHECK(!r.false_alarm && !r.alarm);
    CHECK_INT(r.finding_count, 0);
    CHECK(r.peak_ratio > 0 && r.peak_ratio < 1); /* it was looked at */
    arena_release(&arena);
  }
}

static void a_sensor_that_never_moved_is_found_where_the_sash_moves(void)
{
  struct traced_plan plan = {{FAULT_STUCK_SENSOR, "A5-flow", 1}, 1, 1003, 0, 288, 12};
  const char *text = "";
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  struct traced_result r = traced_run(&world, &plan, &arena, &text);

  CHECK_CASE("%s", text);
  CHECK(r.alarm);
  CHECK(r.named);
  arena_release(&arena);
}

static void the_same_seed_gives_the_same_trace(void)
{
  const char *text[2] = {"", ""};
  struct arena arenas[2];

  for (int i = 0; i < 2; i++)
    run(FAULT_WORN_FAN, "AF", 0.8, 3, &text[i], &arenas[i]);
  CHECK_STR(text[0], text[1]);
  for (int i = 0; i < 2; i++)
    arena_release(&arenas[i]);
}

/* ---- a small suite by hand ---- */

static const char suite_text[] =
    "inward: 1 suite\n"
    "rooms: {Etch: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L1: {from: Etch, to: outdoors, area: 300 cm2}}\n"
    "fans: {EF: {from: J, to: outdoors, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\n"
    "supplies: {MA: {most: 9000 m3/h, feeds: {Etch: {follows exhaust: {offset: 400 m3/h},\n"
    "  least: 0 m3/h, most: 9000 m3/h}}}}\n"
    "stations:\n"
    "  A1: {kind: wet bench, room: Etch, main: Acid, flow: {constant: 1000 m3/h}}\n";

static const char feeds_text[] = "inward: 1 feeds\n"
                                 "sources:\n"
                                 "  bus: {old after: 900 s, mqtt: {host: h}}\n"
                                 "  plc: {old after: 900 s, mqtt: {host: h}}\n"
                                 "points:\n"
                                 "  one: {of: A1, what: flow, from: bus, at: a, unit: m3/h}\n"
                                 "  two: {of: A1, what: flow, from: plc, at: b, unit: m3/h}\n"
                                 "  total: {of: MA, what: flow, from: plc, at: c, unit: m3/h}\n";

struct small {
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct fault_model *model;
  struct watch *watch;
  struct fault_watch *faults;
  struct numeric_random random;
};

/* Plant totals and stations only: no pressure, no leak, no fan. */
static const char coarse_text[] =
    "inward: 1 suite\n"
    "rooms: {Etch: {}}\n"
    "mains: {Acid: {capacity: {value: 4000 m3/h}}}\n"
    "supplies: {MA: {most: 9000 m3/h, feeds: {Etch: {follows exhaust: {offset: 400 m3/h},\n"
    "  least: 0 m3/h, most: 9000 m3/h}}}}\n"
    "stations:\n"
    "  A1: {kind: wet bench, room: Etch, main: Acid, flow: {constant: 1000 m3/h}}\n";

static bool small_make_of(struct small *s, const char *text)
{
  struct complaints complaints;
  struct err err = {0};

  *s = (struct small){0};
  arena_init(&s->arena, SIZE_MAX);
  complaints_init(&complaints, &s->arena);
  s->facility = facility_read(&(struct facility_text){"suite.yaml", text, strlen(text)}, NULL, 0,
                              &complaints);
  if (s->facility)
    s->feeds = feeds_read(s->facility,
                          &(struct facility_text){"feeds.yaml", feeds_text, sizeof feeds_text - 1},
                          &complaints);
  if (!s->feeds)
    return false;
  s->model = fault_model_new(s->facility, s->feeds, &err);
  s->watch = watch_new(s->facility, s->feeds);
  s->faults = fault_watch_new(s->model);
  numeric_random_seed(&s->random, 5);
  return true;
}

static bool small_make(struct small *s)
{
  return small_make_of(s, suite_text);
}

static void small_release(struct small *s)
{
  fault_watch_free(s->faults);
  watch_free(s->watch);
  fault_model_free(s->model);
  feeds_free(s->feeds);
  facility_free(s->facility);
  arena_release(&s->arena);
}

static int64_t at_ms(int step)
{
  return 1000000000 + (int64_t)step * 300000;
}

static void tell(struct small *s, const char *id, int step, double m3_h)
{
  double noisy = m3_h * (1 + 0.005 * normal(&s->random)) / 3600;
  struct feed_observation o = {.point = feeds_point_find(s->feeds, id),
                               .t_ms = at_ms(step),
                               .seen_ms = at_ms(step),
                               .si = noisy};

  watch_take(s->watch, &o);
}

static void judge(struct small *s, int step)
{
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  struct watch_belief belief = watch_believe(s->watch, at_ms(step), &arena);

  fault_take(s->faults, &belief);
  arena_release(&arena);
}

static void steps(struct small *s, int from, int to, const double *m3_h)
{
  static const char *const ids[] = {"one", "two", "total"};

  for (int step = from; step < to; step++) {
    for (int i = 0; i < 3; i++)
      if (m3_h[i] > 0)
        tell(s, ids[i], step, m3_h[i]);
    judge(s, step);
  }
}

static const double well[] = {1000, 1000, 1400};

static void of_two_sensors_that_disagree_the_one_off_is_named(void)
{
  struct small s;

  REQUIRE(small_make(&s));
  steps(&s, 0, 100, well);
  CHECK(fault_level_ratio(s.faults) < 1);
  steps(&s, 100, 140, (const double[]){1000, 1200, 1400});

  struct fault_findings found = fault_find(s.faults, NULL, &s.arena);

  REQUIRE(found.count == 1 && found.list[0].guess_count > 0);
  CHECK_CASE("%s", found.list[0].text);
  CHECK_INT(found.list[0].guesses[0].kind, FAULT_DRIFTING_SENSOR);
  CHECK_STR(found.list[0].guesses[0].about[0], "two");
  CHECK(found.list[0].since_ms >= at_ms(98) && found.list[0].since_ms <= at_ms(104));
  CHECK(found.list[0].in_notes);
  small_release(&s);
}

static void where_all_readings_show_it_the_air_is_named_and_no_sensor(void)
{
  struct fault_count counts[FAULT_KIND_COUNT] = {[FAULT_DRIFTING_VALVE] = {4, 0}};
  struct small s;

  REQUIRE(small_make(&s));
  steps(&s, 0, 100, well);
  steps(&s, 100, 140, (const double[]){1200, 1200, 1600});

  struct fault_findings found = fault_find(s.faults, counts, &s.arena);

  REQUIRE(found.count == 1 && found.list[0].guess_count > 0);
  CHECK_CASE("%s", found.list[0].text);
  CHECK_INT(found.list[0].guesses[0].kind, FAULT_DRIFTING_VALVE);
  CHECK(!found.list[0].in_notes); /* confirmed often enough here */
  small_release(&s);
}

static void a_suite_of_totals_alone_can_tell_a_drift(void)
{
  const char *const *texts;
  struct small s;

  REQUIRE(small_make_of(&s, coarse_text));
  steps(&s, 0, 100, well);
  CHECK(fault_level_ratio(s.faults) < 1);
  steps(&s, 100, 140, (const double[]){1200, 1000, 1400});

  struct fault_findings found = fault_find(s.faults, NULL, &s.arena);

  REQUIRE(found.count == 1 && found.list[0].guess_count > 0);
  CHECK_CASE("%s", found.list[0].text);
  CHECK_INT(found.list[0].guesses[0].kind, FAULT_DRIFTING_SENSOR);
  CHECK_STR(found.list[0].guesses[0].about[0], "one");
  CHECK(fault_blind(s.model, &s.arena, &texts) >= 0);
  small_release(&s);
}

/* Seven times too much is no unit, and nothing drifts so far at once. */
static void what_is_like_nothing_known_says_so(void)
{
  struct small s;

  REQUIRE(small_make(&s));
  steps(&s, 0, 100, well);
  steps(&s, 100, 140, (const double[]){1000, 7000, 1400});

  struct fault_findings found = fault_find(s.faults, NULL, &s.arena);

  REQUIRE(found.count == 1);
  CHECK_CASE("%s", found.list[0].text);
  CHECK_INT(found.list[0].guess_count, 0);
  CHECK(strstr(found.list[0].text, "like nothing that is known here because two reads 7000"));
  CHECK(found.list[0].in_notes);
  small_release(&s);
}

/* Which of the kinds are put first, and how it is worded, for programs. */
static void a_finding_is_written_as_json(void)
{
  struct small s;
  struct buf out;
  struct emit json;

  REQUIRE(small_make(&s));
  steps(&s, 0, 100, well);
  steps(&s, 100, 140, (const double[]){1000, 1200, 1400});

  struct fault_findings found = fault_find(s.faults, NULL, &s.arena);

  buf_init(&out, 1 << 16);
  emit_begin_line(&json, &out);
  emit_object(&json, NULL);
  fault_json(&json, &found);
  emit_close(&json);
  emit_end(&json);
  CHECK_CASE("%s", out.text);
  CHECK(strstr(out.text, "\"kind\": \"drifting sensor\""));
  CHECK(strstr(out.text, "\"about\": [\"two\"]"));
  CHECK(strstr(out.text, "\"since\": \"1970-01-12T"));
  CHECK(strstr(out.text, "\"in_notes\": true"));
  CHECK(
      strstr(out.text, "\"text\": \"looks like a drifting sensor of two because two reads 1200 m"));
  buf_release(&out);
  small_release(&s);
}

static void what_is_mended_is_forgotten(void)
{
  struct small s;

  REQUIRE(small_make(&s));
  steps(&s, 0, 100, well);
  steps(&s, 100, 140, (const double[]){1000, 1200, 1400});
  CHECK(fault_level_ratio(s.faults) >= 1);
  steps(&s, 140, 240, well);
  CHECK(fault_level_ratio(s.faults) < 1);
  CHECK_INT(fault_find(s.faults, NULL, &s.arena).count, 0);
  fault_forget(s.faults);
  CHECK(fault_peak_ratio(s.faults) <= 0);
  small_release(&s);
}

static void what_came_once_counts_once(void)
{
  struct small s;

  REQUIRE(small_make(&s));
  steps(&s, 0, 50, well);
  steps(&s, 50, 51, (const double[]){1000, 1060, 1400});

  double before = fault_level_ratio(s.faults);

  for (int i = 0; i < 40; i++)
    judge(&s, 50);
  CHECK_NEAR(fault_level_ratio(s.faults), before, 0, 0);
  CHECK(before < 1);
  small_release(&s);
}

static void a_reading_that_stays_away_says_nothing(void)
{
  struct small s;

  REQUIRE(small_make(&s));
  steps(&s, 0, 50, well);
  steps(&s, 50, 200, (const double[]){1000, 0, 1400});
  CHECK_INT(fault_find(s.faults, NULL, &s.arena).count, 0);
  small_release(&s);
}

static void what_no_point_can_show_is_said(void)
{
  const char *const *texts;
  struct traced_world as_measured;
  struct arena arena;
  bool deck = false, sash = false;

  arena_init(&arena, SIZE_MAX);
  REQUIRE(traced_open(&as_measured, false));
  int count = fault_blind(as_measured.model, &arena, &texts);

  for (int i = 0; i < count; i++) {
    deck = deck || strstr(texts[i], "covered deck at A1");
    sash = sash || strstr(texts[i], "blocked sash at A1");
  }
  CHECK(deck);  /* its flow is held: only a face velocity shows it */
  CHECK(!sash); /* its flow is measured */
  traced_close(&as_measured);
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(the_sum_alarms_as_often_as_the_table_says);
  RUN(siegmunds_formula_gives_the_worked_figures);
  RUN(the_limit_gives_back_its_run_length);
  RUN(a_sum_says_since_when);
  RUN(of_two_sensors_that_disagree_the_one_off_is_named);
  RUN(where_all_readings_show_it_the_air_is_named_and_no_sensor);
  RUN(a_suite_of_totals_alone_can_tell_a_drift);
  RUN(what_is_like_nothing_known_says_so);
  RUN(a_finding_is_written_as_json);
  RUN(what_is_mended_is_forgotten);
  RUN(what_came_once_counts_once);
  RUN(a_reading_that_stays_away_says_nothing);
  RUN(what_no_point_can_show_is_said);
  if (!traced_open(&world, true))
    return 1;
  RUN(a_kind_stays_in_notes_until_it_has_proved_itself);
  RUN(each_kind_is_found_in_a_clear_case);
  RUN(a_drifting_valve_leads_in_nine_of_ten_traces);
  RUN(a_leak_that_grew_is_one_of_those_that_look_alike);
  RUN(each_kind_has_its_price_in_the_feeds_file);
  RUN(a_kind_that_costs_more_than_it_explains_is_not_named);
  RUN(a_healthy_day_has_no_finding);
  RUN(a_sensor_that_never_moved_is_found_where_the_sash_moves);
  RUN(the_same_seed_gives_the_same_trace);
  traced_close(&world);
  return check_end();
}
