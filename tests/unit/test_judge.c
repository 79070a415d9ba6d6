#include "judge/judge.h"

#include "check.h"
#include "judge/judge_impl.h"

#include <string.h>

/* Moments are the test's own; times are written in seconds. */

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Judge's suite\n"
    "rooms: {Etch: {}}\n"
    "mains:\n"
    "  Acid: {capacity: {value: 3000 m3/h, near limit: {enter: 80 %, leave: 75 %, dwell: 60 s},\n"
    "                    short: {enter: 100 %, leave: 95 %, dwell: 30 s}}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  A3: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n";

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources: {us: {name: people, old after: 1000 s, hand: {}}}\n"
    "points:\n"
    "  a1: {of: A1, what: opening, from: us, unit: m}\n"
    "  a2: {of: A2, what: opening, from: us, unit: m}\n"
    "  a3: {of: A3, what: opening, from: us, unit: m, old after: 20 s}\n";

enum { TURNS_MOST = 40 };

struct world {
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct watch *watch;
  struct judge *judge;
  int turn_count;
  struct turn {
    int64_t t_ms;
    enum facility_level level;
  } turns[TURNS_MOST];
  struct buf last_text, last_json;
};

static void keep_turn(void *arg, const struct judge_seen *seen)
{
  struct world *w = arg;

  if (!seen->turned || w->turn_count == TURNS_MOST)
    return;
  w->turns[w->turn_count++] = (struct turn){seen->t_ms, seen->verdict->state};
  buf_clear(&w->last_text);
  buf_clear(&w->last_json);
  judge_turn_text(seen, &w->last_text);
  judge_turn_json(seen, &w->last_json);
}

static void make(struct world *w)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};
  struct complaints complaints;
  struct err err = {0};

  *w = (struct world){0};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&complaints, &w->arena);
  buf_init(&w->last_text, 1 << 16);
  buf_init(&w->last_json, 1 << 16);
  w->facility = facility_read(&suite, NULL, 0, &complaints);
  BUG_IF(!w->facility);
  w->feeds = feeds_read(w->facility, &feeds, &complaints);
  BUG_IF(!w->feeds);
  w->watch = watch_new(w->facility, w->feeds);
  BUG_IF(judge_new(&(struct judge_settings){.facility = w->facility,
                                            .feeds = w->feeds,
                                            .zone = when_utc(),
                                            .watch = w->watch,
                                            .seen = keep_turn,
                                            .arg = w},
                   &w->judge, &err) != ERR_OK);
}

static void release(struct world *w)
{
  judge_free(w->judge);
  watch_free(w->watch);
  feeds_free(w->feeds);
  facility_free(w->facility);
  buf_release(&w->last_text);
  buf_release(&w->last_json);
  arena_release(&w->arena);
}

/* All three sashes, seen at that moment. */
static void say_all(struct world *w, int64_t t_s, double opening_m)
{
  static const char *const ids[] = {"a1", "a2", "a3"};

  for (int i = 0; i < 3; i++)
    watch_take(w->watch, &(struct feed_observation){.point = feeds_point_find(w->feeds, ids[i]),
                                                    .t_ms = t_s * 1000,
                                                    .seen_ms = t_s * 1000,
                                                    .si = opening_m,
                                                    .quality = FEED_GOOD});
}

/* As a replay does it. */
static void replay_moment(struct world *w, int64_t t_s, double opening_m)
{
  judge_until(w->judge, t_s * 1000);
  say_all(w, t_s, opening_m);
  CHECK(judge_at(w->judge, t_s * 1000, true));
}

/* ---- dwell times ---- */

static void a_level_is_entered_and_left_after_its_own_dwell(void)
{
  static const struct {
    int64_t t_s;
    enum facility_level says, holds;
  } steps[] = {
      {0, FACILITY_AMPLE, FACILITY_AMPLE},
      {10, FACILITY_SHORT, FACILITY_AMPLE},
      {39, FACILITY_SHORT, FACILITY_AMPLE},
      {40, FACILITY_SHORT, FACILITY_SHORT}, /* 30 s */
      {50, FACILITY_AMPLE, FACILITY_SHORT},
      {60, FACILITY_SHORT, FACILITY_SHORT}, /* it never left */
      {70, FACILITY_NEAR_LIMIT, FACILITY_SHORT},
      {99, FACILITY_NEAR_LIMIT, FACILITY_SHORT},
      {100, FACILITY_NEAR_LIMIT, FACILITY_NEAR_LIMIT}, /* near limit since 10 s */
      {110, FACILITY_AMPLE, FACILITY_NEAR_LIMIT},
      {169, FACILITY_AMPLE, FACILITY_NEAR_LIMIT},
      {170, FACILITY_AMPLE, FACILITY_AMPLE}, /* 60 s */
      {180, FACILITY_NOT_KNOWN, FACILITY_NOT_KNOWN},
      {190, FACILITY_SHORT, FACILITY_SHORT}, /* after what was not known, at once */
  };
  struct facility_declared rule = {.given = true,
                                   .near_limit = {.given = true, .dwell_s = 60},
                                   .shortage = {.given = true, .dwell_s = 30}};
  struct judge_dwell d = {0};

  for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
    CHECK_CASE("at %lld s", (long long)steps[i].t_s);
    CHECK_INT(judge_dwell(&d, &rule, steps[i].says, steps[i].t_s * 1000), steps[i].holds);
  }
}

static void a_dwell_that_runs_says_when_it_is_over(void)
{
  struct facility_declared rule = {.given = true,
                                   .near_limit = {.given = true, .dwell_s = 60},
                                   .shortage = {.given = true, .dwell_s = 30}};
  struct judge_dwell d = {0};

  CHECK(judge_dwell_next_ms(&d, &rule) == INT64_MAX);
  judge_dwell(&d, &rule, FACILITY_AMPLE, 0);
  CHECK(judge_dwell_next_ms(&d, &rule) == INT64_MAX);
  judge_dwell(&d, &rule, FACILITY_SHORT, 10000);
  CHECK_INT(judge_dwell_next_ms(&d, &rule), 40000);
  judge_dwell(&d, &rule, FACILITY_NEAR_LIMIT, 20000);
  CHECK_INT(judge_dwell_next_ms(&d, &rule), 70000);
}

/* As the alarms beside it have them. */
static void a_turn_tells_its_figures_as_all_of_the_record_does(void)
{
  const char *reasons[] = {"Acid: short is within the ± (1427 m3/h left, ± 553 m3/h)"};
  struct answer_live_verdict verdict = {
      .state = FACILITY_NEAR_LIMIT, .reasons = reasons, .reason_count = 1};
  struct judge_seen seen = {.verdict = &verdict};
  struct buf text;

  buf_init(&text, 1000);
  judge_turn_text(&seen, &text);
  CHECK_STR(text.text, "near limit: Acid: short is within the ± (1430 m³/h left, ± 550 m³/h)");
  buf_release(&text);
}

/* ---- moments between ---- */

static void what_grows_too_old_turns_the_state_at_its_own_moment(void)
{
  struct world w;

  make(&w);
  replay_moment(&w, 0, 0);
  judge_until(w.judge, 5000000); /* the other two hold for 1000 s */
  CHECK_INT(w.turn_count, 2);
  CHECK_INT(w.turns[0].level, FACILITY_AMPLE);
  CHECK_INT(w.turns[1].level, FACILITY_NOT_KNOWN);
  CHECK_INT(w.turns[1].t_ms, 20001); /* a3 may be 20 s old */
  CHECK(strstr(w.last_text.text, "not known, before that ample: A3: a3 (us): ") != NULL);
  CHECK(strstr(w.last_json.text, "\"schema\": \"inward.turned.1\"") != NULL);
  release(&w);
}

/*
 * By hand: three at work draw 3 x 1100 = 3300 m3/h of 3000, short at 100 %, after 30 s.  All parked they
 * draw 900, ample; short is left at 95 % after 30 s too, near limit at 75 % after 60 s.
 */
static void a_dwell_ends_at_its_own_moment_though_nothing_comes(void)
{
  static const struct turn expected[] = {{0, FACILITY_AMPLE},
                                         {30000, FACILITY_SHORT},
                                         {130000, FACILITY_NEAR_LIMIT},
                                         {160000, FACILITY_AMPLE}};
  struct world w;

  make(&w);
  replay_moment(&w, -5, 0);
  w.turns[0].t_ms = 0;
  for (int t_s = 0; t_s < 100; t_s += 18) /* fresh, and never at 30 s */
    replay_moment(&w, t_s, 0.5);
  for (int t_s = 100; t_s < 200; t_s += 17)
    replay_moment(&w, t_s, 0);
  REQUIRE(w.turn_count == 4);
  for (int i = 0; i < 4; i++) {
    CHECK_CASE("turn %d", i);
    CHECK_INT(w.turns[i].t_ms, expected[i].t_ms);
    CHECK_INT(w.turns[i].level, expected[i].level);
  }
  release(&w);
}

/*
 * Chatter, by hand: every 5 s all three go from at work to parked and back, for 300 s.  At work 3300 m3/h
 * of 3000 is short, parked 900 is ample; neither lasts 30 s, so that short is never entered and the
 * only turn is the first.  Then they stay at work from 300 s on: short 30 s later.
 */
static void chatter_turns_nothing_until_it_stays(void)
{
  struct world w;

  make(&w);
  replay_moment(&w, -5, 0);
  for (int t_s = 0; t_s < 300; t_s += 5)
    replay_moment(&w, t_s, t_s % 10 ? 0 : 0.5);
  CHECK_INT(w.turn_count, 1);
  for (int t_s = 300; t_s <= 345; t_s += 5)
    replay_moment(&w, t_s, 0.5);
  REQUIRE(w.turn_count == 2);
  CHECK_INT(w.turns[1].t_ms, 330000);
  CHECK_INT(w.turns[1].level, FACILITY_SHORT);
  release(&w);
}

/*
 * A gap, by hand: short is due at 30 s; from 10 s on a3 says nothing and is too old 20.001 s later.  Not
 * known at 30.001 s, after short at 30 s; at 50 s it is heard again and what is so holds at once.
 */
static void a_gap_is_not_known_and_what_comes_after_it_holds_at_once(void)
{
  static const struct turn expected[] = {{-5000, FACILITY_AMPLE},
                                         {30000, FACILITY_SHORT},
                                         {30001, FACILITY_NOT_KNOWN},
                                         {50000, FACILITY_SHORT}};
  struct world w;

  make(&w);
  replay_moment(&w, -5, 0);
  replay_moment(&w, 0, 0.5);
  replay_moment(&w, 10, 0.5);
  replay_moment(&w, 50, 0.5);
  REQUIRE(w.turn_count == 4);
  for (int i = 0; i < 4; i++) {
    CHECK_CASE("turn %d", i);
    CHECK_INT(w.turns[i].t_ms, expected[i].t_ms);
    CHECK_INT(w.turns[i].level, expected[i].level);
  }
  release(&w);
}

static void judged_every_second_or_only_where_something_comes_the_turns_are_the_same(void)
{
  static const double openings_m[] = {0, 0.5, 0.5, 0, 0.5, 0.5, 0.5, 0, 0, 0, 0.5, 0};
  enum { COUNT = sizeof openings_m / sizeof *openings_m };
  struct world sparse, dense;

  make(&sparse);
  make(&dense);
  for (int i = 0; i < COUNT; i++) {
    int64_t t_s = i * 25; /* a3 is too old for 5 s each time */

    replay_moment(&sparse, t_s, openings_m[i]);
    say_all(&dense, t_s, openings_m[i]);
    for (int64_t s = t_s; s < t_s + 25; s++)
      CHECK(judge_at(dense.judge, s * 1000, true));
  }
  REQUIRE(sparse.turn_count == dense.turn_count || sparse.turn_count == dense.turn_count - 1);
  CHECK(sparse.turn_count > 12);
  for (int i = 0; i < sparse.turn_count; i++) {
    CHECK_CASE("turn %d", i);
    CHECK_INT(sparse.turns[i].level, dense.turns[i].level);
    CHECK(dense.turns[i].t_ms >= sparse.turns[i].t_ms &&
          dense.turns[i].t_ms - sparse.turns[i].t_ms < 1000);
  }
  release(&sparse);
  release(&dense);
}

static void an_air_that_is_put_off_is_told(void)
{
  struct world w;

  make(&w);
  replay_moment(&w, 0, 0);
  say_all(&w, 1, 0.5);
  CHECK(!judge_at(w.judge, 1000, false));
  CHECK_INT(judge_now(w.judge).changes, 2); /* one air, one turn */
  CHECK(judge_at(w.judge, 1000, true));
  CHECK_INT(judge_now(w.judge).changes, 3);
  release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_level_is_entered_and_left_after_its_own_dwell);
  RUN(a_dwell_that_runs_says_when_it_is_over);
  RUN(a_turn_tells_its_figures_as_all_of_the_record_does);
  RUN(what_grows_too_old_turns_the_state_at_its_own_moment);
  RUN(a_dwell_ends_at_its_own_moment_though_nothing_comes);
  RUN(chatter_turns_nothing_until_it_stays);
  RUN(a_gap_is_not_known_and_what_comes_after_it_holds_at_once);
  RUN(judged_every_second_or_only_where_something_comes_the_turns_are_the_same);
  RUN(an_air_that_is_put_off_is_told);
  return check_end();
}
