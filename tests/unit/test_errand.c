#include "errand/errand.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/*
 * Errands on days made by hand; times are written in seconds.  Three stations draw 1100 m3/h at work and
 * 300 m3/h parked from a main that has 3000 m3/h: all three at work ask 3300, two of them 2500.
 */

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Errand suite\n"
    "rooms: {Etch: {}}\n"
    "mains:\n"
    "  Acid: {name: Acid main, capacity: {value: 3000 m3/h, short: {enter: 100 %, leave: 95 %}}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0.05 m, work: 0.40 m, most: 0.70 m},\n"
    "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0.05 m, work: 0.40 m, most: 0.70 m},\n"
    "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  A3: {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0.05 m, work: 0.40 m, most: 0.70 m},\n"
    "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n";

#define LOWER                                                                                      \
  "lower first: {ask after: 15 s, hold: 60 s, at most: 2, within: 300 s, again after: 600 s,\n"    \
  "    cannot for: 1800 s, moves: 2 cm, reached: 1 cm, rising for: 10 s}\n"
#define POINTS                                                                                     \
  "sources: {us: {name: people, old after: 5000 s, hand: {}}}\n"                                   \
  "points:\n"                                                                                      \
  "  a1: {of: A1, what: opening, from: us, unit: m}\n"                                             \
  "  a2: {of: A2, what: opening, from: us, unit: m}\n"                                             \
  "  a1-beam: {of: A1, what: blocked, from: us}\n"                                                 \
  "  a2-there: {of: A2, what: presence, from: us}\n"                                               \
  "  a2-own: {of: A2, what: alarm, from: us}\n"                                                    \
  "  building: {what: alarm, from: us}\n"

static const char feeds_text[] =
    "inward: 1 feeds\n" LOWER POINTS "  a3: {of: A3, what: opening, from: us, unit: m}\n";
static const char feeds_one[] = "inward: 1 feeds\nlower first: {at most: 1}\n" POINTS
                                "  a3: {of: A3, what: opening, from: us, unit: m}\n";
/* A3 has no sensor: it counts as at work. */
static const char feeds_blind[] = "inward: 1 feeds\n" LOWER POINTS;

struct world {
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct watch *watch;
  struct judge *judge;
  struct errands *errands;
  struct buf log, act, json; /* log: "15 asked A1; ..." */
};

static void keep_turn(void *arg, const struct errands *e, const struct errand *errand, int64_t t_ms)
{
  struct world *w = arg;

  (void)e;
  buf_printf(&w->log, "%lld %s A%d; ", (long long)(t_ms / 1000), errand_state_key(errand->state),
             errand->station + 1);
}

static void see(void *arg, const struct judge_seen *seen)
{
  struct world *w = arg;
  struct answer_live_asked asked;
  struct answer_live live = {.facility = w->facility,
                             .feeds = w->feeds,
                             .belief = seen->belief,
                             .air = seen->air,
                             .since_ms = INT64_MIN};

  errands_see(w->errands, seen);
  for (int i = 0; i < w->facility->station_count; i++)
    watch_need_flow(w->watch, i, errands_needs_flow(w->errands, i));
  live.asked = errands_named(w->errands, &asked) ? &asked : NULL;
  buf_clear(&w->act);
  answer_live_act(&live, seen->verdict, &w->act);
}

static int64_t next_ms(void *arg)
{
  const struct world *w = arg;

  return errands_next_ms(w->errands);
}

static bool make(struct world *w, const char *suite_yaml, const char *feeds_yaml)
{
  struct facility_text suite = {"suite.yaml", suite_yaml, strlen(suite_yaml)};
  struct facility_text feeds = {"feeds.yaml", feeds_yaml, strlen(feeds_yaml)};
  struct complaints complaints;
  struct buf said;
  struct err err = {0};

  *w = (struct world){0};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&complaints, &w->arena);
  buf_init(&w->log, 1 << 16);
  buf_init(&w->act, 1000);
  buf_init(&w->json, 1 << 16);
  buf_init(&said, 1 << 16);
  w->facility = facility_read(&suite, NULL, 0, &complaints);
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &complaints) : NULL;
  complaints_print(&complaints, "suite.yaml", NULL, &said);
  if (!w->feeds)
    fputs(said.text, stderr);
  buf_release(&said);
  BUG_IF(!w->feeds);
  w->watch = watch_new(w->facility, w->feeds);
  w->errands =
      errands_new(&(struct errands_settings){w->facility, w->feeds, when_utc(), keep_turn, w});
  return CHECK(judge_new(&(struct judge_settings){.facility = w->facility,
                                                  .feeds = w->feeds,
                                                  .zone = when_utc(),
                                                  .watch = w->watch,
                                                  .seen = see,
                                                  .next_ms = next_ms,
                                                  .arg = w},
                         &w->judge, &err) == ERR_OK);
}

static void release(struct world *w)
{
  errands_free(w->errands);
  judge_free(w->judge);
  watch_free(w->watch);
  feeds_free(w->feeds);
  facility_free(w->facility);
  buf_release(&w->log);
  buf_release(&w->act);
  buf_release(&w->json);
  arena_release(&w->arena);
}

static void put(struct world *w, int64_t t_s, const char *point, double si)
{
  int index = feeds_point_find(w->feeds, point);

  if (index >= 0)
    watch_take(w->watch, &(struct feed_observation){.point = index,
                                                    .t_ms = t_s * 1000,
                                                    .seen_ms = t_s * 1000,
                                                    .si = si,
                                                    .quality = FEED_GOOD});
}

/* Twice: what an errand tells the watch is seen at the next. */
static void at(struct world *w, int64_t t_s)
{
  judge_until(w->judge, t_s * 1000);
  CHECK(judge_at(w->judge, t_s * 1000, true));
  CHECK(judge_at(w->judge, t_s * 1000, true));
}

static void say(struct world *w, int64_t t_s, const char *point, double si)
{
  judge_until(w->judge, t_s * 1000);
  put(w, t_s, point, si);
  at(w, t_s);
}

/* All three at their mark, nothing else; not judged yet. */
static bool made_busy(struct world *w, const char *feeds_yaml)
{
  static const char *const quiet[] = {"a1-beam", "a2-own", "building"};
  bool made = make(w, suite_text, feeds_yaml);

  for (int i = 0; made && i < 3; i++)
    put(w, 0, quiet[i], 0);
  put(w, 0, "a2-there", 1);
  put(w, 0, "a1", 0.40);
  put(w, 0, "a2", 0.40);
  put(w, 0, "a3", 0.40);
  return made;
}

static bool busy(struct world *w, const char *feeds_yaml)
{
  bool made = made_busy(w, feeds_yaml);

  if (made)
    at(w, 0);
  return made;
}

static bool log_is(const struct world *w, const char *log)
{
  return CHECK_STR(w->log.text, log);
}

static bool act_is(const struct world *w, const char *act)
{
  return CHECK_STR(w->act.text, act);
}

static enum err_code answer(struct world *w, int64_t t_s, int station, bool done, const char *why)
{
  struct err err = {0};

  return errands_answer(w->errands, &(struct errand_answer){station, done, "", why, t_s * 1000},
                        &err);
}

static const char *json(struct world *w, int64_t t_s)
{
  struct emit out;

  buf_clear(&w->json);
  emit_begin(&out, &w->json);
  emit_object(&out, NULL);
  errands_json(w->errands, t_s * 1000, &out);
  emit_close(&out);
  emit_end(&out);
  return w->json.text;
}

static void a_shortage_that_lasts_asks_one_station_and_a_sash_that_came_down_is_done(void)
{
  struct world w;

  if (busy(&w, feeds_text)) {
    act_is(&w, "LOWER A1");
    at(&w, 30);
    say(&w, 40, "a1", 0.30);
    say(&w, 45, "a1", 0.05);
    log_is(&w, "15 asked A1; 40 moving A1; 45 done A1; ");
    struct errands_tally t = errands_tally(w.errands);

    CHECK(t.asked == 1 && t.moved == 1 && t.moved_within == 1 && t.done == 1);
    CHECK_NEAR(t.median_s, 25.0, 0, 1e-9);
  }
  release(&w);
}

static void a_shortage_of_ten_seconds_asks_nobody(void)
{
  struct world w;

  if (busy(&w, feeds_text)) {
    say(&w, 10, "a2", 0.05);
    at(&w, 100);
    log_is(&w, "");
    CHECK(!strstr(json(&w, 100), "\"station\""));
  }
  release(&w);
}

static void done_that_was_said_is_told_beside_what_the_sash_reads_and_not_believed(void)
{
  struct world w;
  struct buf doubt;

  buf_init(&doubt, 400);
  if (busy(&w, feeds_text)) {
    at(&w, 60);
    CHECK(answer(&w, 65, 0, true, "") == ERR_OK);
    at(&w, 120);
    errand_doubt(w.errands, errands_at(w.errands, 0), &doubt);
    CHECK_STR(doubt.text, "done was said at 00:01; the sash still reads 0.40 m (2 min old)");
    CHECK(errands_at(w.errands, 0)->state == ERRAND_ASKED);
    CHECK(errands_tally(w.errands).done == 0);
    say(&w, 130, "a1", 0.055); /* within 1 cm of where it was asked to be */
    CHECK(errands_at(w.errands, 0)->state == ERRAND_DONE);
  }
  buf_release(&doubt);
  release(&w);
}

static void done_is_believed_where_nothing_measures_the_sash(void)
{
  struct world w;

  if (busy(&w, feeds_blind)) { /* A1 is blocked and A2 cannot: only A3 is left to ask */
    say(&w, 5, "a1-beam", 1);
    at(&w, 30);
    CHECK(strstr(w.log.text, "15 asked A2; ") != NULL);
    CHECK(answer(&w, 31, 1, false, "hot bath") == ERR_OK);
    at(&w, 40);
    CHECK(errands_at(w.errands, 2) && errands_at(w.errands, 2)->state == ERRAND_ASKED);
    CHECK(answer(&w, 50, 2, true, "") == ERR_OK);
    CHECK(errands_at(w.errands, 2)->state == ERRAND_DONE);
    CHECK(strstr(errands_at(w.errands, 2)->because, "nothing measures") != NULL);
  }
  release(&w);
}

static void who_cannot_is_left_alone_for_a_while_and_the_next_is_asked(void)
{
  struct world w;

  if (busy(&w, feeds_text)) {
    at(&w, 20);
    CHECK(answer(&w, 20, 0, false, "") == ERR_INPUT); /* no reason */
    CHECK(answer(&w, 20, 0, false, "cooling oxidiser") == ERR_OK);
    at(&w, 21);
    at(&w, 22);
    log_is(&w, "15 asked A1; 20 cannot A1; 21 asked A2; ");
    act_is(&w, "LOWER A2");
    CHECK(strstr(errands_needs_flow(w.errands, 0), "cooling oxidiser, said at 00:00") != NULL);
    at(&w, 1819);
    CHECK(errands_needs_flow(w.errands, 0) != NULL);
    at(&w, 1820);
    CHECK(errands_needs_flow(w.errands, 0) == NULL);
  }
  release(&w);
}

static void a_stations_own_alarm_ends_all_asking_at_once(void)
{
  struct world w;

  if (busy(&w, feeds_text)) {
    at(&w, 20);
    CHECK(strstr(json(&w, 20), "\"A1\"") != NULL);
    say(&w, 30, "a2-own", 1);
    log_is(&w, "15 asked A1; 30 not_needed A1; ");
    CHECK(strstr(errands_at(w.errands, 0)->because, "an alarm outranks it") != NULL);
    CHECK(!strstr(json(&w, 30), "\"A1\""));
    act_is(&w, "OWN ALARM AT A2: FOLLOW IT");
    CHECK(answer(&w, 31, 0, true, "") == ERR_INPUT); /* nothing is asked there */
    say(&w, 40, "a2-own", 0);
    at(&w, 54);
    log_is(&w, "15 asked A1; 30 not_needed A1; ");
    at(&w, 55); /* short, and told so, for 15 s again */
    log_is(&w, "15 asked A1; 30 not_needed A1; 55 asked A1; ");
  }
  release(&w);
}

static void the_buildings_alarm_and_a_sash_not_known_end_it_too(void)
{
  struct world w;

  if (busy(&w, feeds_text)) {
    at(&w, 20);
    say(&w, 30, "building", 1);
    act_is(&w, "BUILDING ALARM: FOLLOW THE BUILDING");
    log_is(&w, "15 asked A1; 30 not_needed A1; ");
    say(&w, 40, "building", 0);
    at(&w, 60);
    at(&w, 6000); /* every value is too old */
    act_is(&w, "NOT KNOWN: TREAT AS NO");
    CHECK(!strstr(json(&w, 6000), "\"A1\""));
  }
  release(&w);
}

static void what_stands_under_a_sash_takes_it_off_at_once(void)
{
  struct world w;

  if (busy(&w, feeds_text)) {
    at(&w, 20);
    say(&w, 25, "a1-beam", 1);
    act_is(&w, "LOWER A2");
    log_is(&w, "15 asked A1; 25 not_needed A1; 25 asked A2; ");
    CHECK(strstr(errands_at(w.errands, 0)->because, "something stands under its sash") != NULL);
  }
  release(&w);
}

static void nobody_answers_in_time_and_is_asked_again_only_later(void)
{
  struct world w;

  if (busy(&w, feeds_text)) {
    at(&w, 914);
    log_is(&w, "15 asked A1; 315 not_answered A1; ");
    at(&w, 915);
    log_is(&w, "15 asked A1; 315 not_answered A1; 915 asked A1; ");
  }
  release(&w);
}

/* Somebody at A2 walks to and fro: unattended sashes come first, so the figures name A2, A1, A2 ... */
static void the_act_does_not_flip_within_one_shortage(void)
{
  struct world w;

  if (busy(&w, feeds_text)) {
    at(&w, 20);
    for (int t_s = 30; t_s < 300; t_s += 20) {
      say(&w, t_s, "a2-there", (t_s / 20) % 2);
      act_is(&w, "LOWER A1");
    }
    CHECK(errands_tally(w.errands).asked == 1);
    at(&w, 349);
    act_is(&w, "LOWER A1");
    at(&w, 350); /* the figures have named A2 since 290, for 60 s */
    act_is(&w, "LOWER A2");
  }
  release(&w);
}

static void
that_lowering_is_not_enough_is_said_at_once_beside_what_still_helps_and_stays_for_a_while(void)
{
  static const char suite[] =
      "inward: 1 suite\n"
      "name: Errand suite\n"
      "rooms: {Etch: {}}\n"
      "mains:\n"
      "  Acid: {name: Acid main, capacity: {value: 2000 m3/h, short: {enter: 100 %, leave: 95 %}}}\n"
      "stations:\n"
      "  A1: {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0.05 m, work: 0.40 m, most: 0.70 m},\n"
      "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
      "  A2: {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0.05 m, work: 0.40 m, most: 0.70 m},\n"
      "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
      "  A3: {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0.05 m, work: 0.40 m, most: 0.70 m},\n"
      "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n";
  struct world w;

  if (make(&w, suite, feeds_text)) { /* A1 and A2 at work: 2500 of 2000; one down: 1700 */
    put(&w, 0, "a1-beam", 0);
    put(&w, 0, "a2-there", 1);
    put(&w, 0, "a2-own", 0);
    put(&w, 0, "building", 0);
    put(&w, 0, "a1", 0.40);
    put(&w, 0, "a2", 0.40);
    put(&w, 0, "a3", 0.05);
    at(&w, 0);
    at(&w, 20);
    act_is(&w, "LOWER A1");
    watch_need_flow(w.watch, 1, "a test"); /* until the errands say otherwise: for one judgement */
    CHECK(judge_at(w.judge, 21000, true));
    act_is(&w, "LOWER A1");
    say(&w, 22, "a3", 0.40); /* 3300: two must come down, A1 is asked */
    at(&w, 40);
    act_is(&w, "LOWER A1");
    say(&w, 50, "a1-beam",
        1); /* and now it may not be: A2 and A3 are left, 1700 when both come down */
    act_is(&w, "LOWER A2 AND A3");
    CHECK(answer(&w, 51, 1, false, "hot bath") == ERR_OK);
    at(&w, 52);
    act_is(&w, "LOWER A3 · CALL THE VENTILATION TECHNICIAN");
    say(&w, 60, "a1-beam", 0);
    act_is(&w, "LOWER A3 · CALL THE VENTILATION TECHNICIAN"); /* no flipping back at once */
    at(&w, 120);
    act_is(&w, "LOWER A1 AND A3");
  }
  release(&w);
}

static void no_more_are_asked_at_once_than_the_file_says(void)
{
  struct world w;

  if (busy(&w, feeds_one)) {
    at(&w, 20);
    CHECK(errands_tally(w.errands).asked == 1);
    CHECK(answer(&w, 21, 0, false, "hot bath") == ERR_OK);
    at(&w, 22);
    CHECK(errands_tally(w.errands).asked == 2); /* one of them is over */
  }
  release(&w);
}

static void what_was_asked_before_a_restart_is_still_asked_and_who_could_not_is_left_alone(void)
{
  struct world w;

  if (made_busy(&w, feeds_text)) {
    errands_restore(w.errands, &(struct errand){.station = 0,
                                                .state = ERRAND_CANNOT,
                                                .asked_ms = -100000,
                                                .since_ms = -60000,
                                                .moved_ms = INT64_MIN,
                                                .said_ms = INT64_MIN,
                                                .until_ms = 1740000,
                                                .who = "M. Rao",
                                                .text = "cooling oxidiser"});
    errands_restore(w.errands,
                    &(struct errand){.station = 1,
                                     .state = ERRAND_ASKED,
                                     .asked_ms = -10000,
                                     .since_ms = -10000,
                                     .moved_ms = INT64_MIN,
                                     .said_ms = INT64_MIN,
                                     .until_ms = INT64_MIN,
                                     .what = {.station = 1, .has_to_m = true, .to_m = 0.05},
                                     .from_m = NAN});
    at(&w, 0);
    CHECK(errand_is_open(errands_at(w.errands, 1)));
    at(&w, 1);
    CHECK(strstr(errands_needs_flow(w.errands, 0), "cooling oxidiser, M. Rao, said at 23:59") !=
          NULL);
    act_is(&w, "LOWER A2");
    CHECK(errand_is_open(errands_at(w.errands, 1)));
    at(&w, 289);
    CHECK(errand_is_open(errands_at(w.errands, 1)));
    at(&w, 290); /* 300 s after it was asked */
    CHECK(errands_at(w.errands, 1)->state == ERRAND_NOT_ANSWERED);
  }
  release(&w);
}

static void the_words_say_what_why_and_whose_hands(void)
{
  struct world w;
  struct buf words;

  buf_init(&words, 400);
  if (busy(&w, feeds_text)) {
    at(&w, 30);
    errand_words(w.errands, errands_at(w.errands, 0), &words);
    CHECK_STR(
        words.text,
        "Lower to parked: Acid main is short. Ask the person there; never move another's sash "
        "over work.");
    struct errand above = *errands_at(w.errands, 0);

    above.what.to_m = 0.40;
    buf_clear(&words);
    errand_words(w.errands, &above, &words);
    CHECK_STR(words.text,
              "Lower to the mark 0.40 m: Acid main is short. Ask the person there; never move "
              "another's sash over work.");
  }
  buf_release(&words);
  release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_shortage_that_lasts_asks_one_station_and_a_sash_that_came_down_is_done);
  RUN(a_shortage_of_ten_seconds_asks_nobody);
  RUN(done_that_was_said_is_told_beside_what_the_sash_reads_and_not_believed);
  RUN(done_is_believed_where_nothing_measures_the_sash);
  RUN(who_cannot_is_left_alone_for_a_while_and_the_next_is_asked);
  RUN(a_stations_own_alarm_ends_all_asking_at_once);
  RUN(the_buildings_alarm_and_a_sash_not_known_end_it_too);
  RUN(what_stands_under_a_sash_takes_it_off_at_once);
  RUN(nobody_answers_in_time_and_is_asked_again_only_later);
  RUN(the_act_does_not_flip_within_one_shortage);
  RUN(that_lowering_is_not_enough_is_said_at_once_beside_what_still_helps_and_stays_for_a_while);
  RUN(no_more_are_asked_at_once_than_the_file_says);
  RUN(what_was_asked_before_a_restart_is_still_asked_and_who_could_not_is_left_alone);
  RUN(the_words_say_what_why_and_whose_hands);
  return check_end();
}
