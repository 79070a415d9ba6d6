#include "keeper/keeper.h"

#include "check.h"
#include "keeper/keeper_impl.h"
#include "kept.h"

#include <math.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

/* ---- dwell times ---- */

static void a_declared_rule_holds_its_dwell_in_the_views(void)
{
  struct kept w;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  kept_say_all(&w, 0);
  REQUIRE(kept_comes(&w, "\"state\": \"ample\""));
  kept_say_all(&w, 0.5); /* 3300 m3/h of 3000 */
  REQUIRE(kept_comes(&w, "\"sash\": \"raised\""));
  CHECK(kept_has(&w, "\"state\": \"ample\",\n  \"since\""));
  kept_pass(15000);
  kept_say_all(&w, 0.5);
  kept_pass(14000);
  kept_say_all(&w, 0.5);
  kept_pass(3000);
  CHECK(kept_comes(&w, "\"state\": \"short\",\n  \"since\""));
  kept_release(&w);
}

/* ---- what is lost ---- */

static void what_grows_too_old_is_not_known_within_ten_seconds(void)
{
  struct kept w;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  kept_say_all(&w, 0);
  REQUIRE(kept_comes(&w, "\"act\": \"AIR FOR"));
  kept_pass(20000); /* a3 may be 20 s old */
  kept_nap();
  CHECK(!kept_has(&w, "\"state\": \"not_known\",\n  \"since\""));
  kept_pass(10000);
  CHECK(kept_comes(&w, "\"act\": \"NOT KNOWN: TREAT AS NO\""));
  CHECK(kept_has(&w, "A3: a3 (us): "));
  CHECK(kept_has(&w, "\"air\": null") && kept_has(&w, "\"earlier\": {"));
  kept_say(&w, "a3", 0);
  CHECK(kept_comes(&w, "\"act\": \"AIR FOR"));
  kept_end(&w);
  if (!CHECK(strstr(kept_entries(&w, RECORD_EVENT), "not known, before that ample: A3: a3 (us): ")))
    fputs(kept_entries(&w, RECORD_EVENT), stderr);
  CHECK(strstr(kept_entries(&w, RECORD_EVENT), "ample, before that not known") != NULL);
  kept_release(&w);
}

static void a_clock_that_is_stepped_back_stops_nothing_and_is_told(void)
{
  struct kept w;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  kept_say_all(&w, 0);
  REQUIRE(kept_comes(&w, "\"act\": \"AIR FOR"));
  kept_pass(-3600000);
  CHECK(kept_comes(&w, "\"act\": \"NOT KNOWN"));
  kept_say_all(&w, 0);
  CHECK(kept_comes(&w, "\"act\": \"AIR FOR"));
  kept_end(&w);
  CHECK(strstr(kept_entries(&w, RECORD_EVENT), "clock was stepped back by ") != NULL);
  kept_release(&w);
}

/* ---- views ---- */

static void views_have_numbers_that_only_grow_and_stay_as_they_are(void)
{
  struct kept w;
  const struct keeper_view *first;
  long number;
  size_t used;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  REQUIRE(kept_comes(&w, "\"number\""));
  first = keeper_view(w.keeper);
  number = first->number;
  used = first->json.used;
  kept_say_all(&w, 0);
  REQUIRE(kept_comes(&w, "\"act\": \"AIR FOR"));
  CHECK(first->number == number && first->json.used == used);
  CHECK(strstr(first->json.text, "NOT KNOWN: TREAT AS NO") != NULL); /* nothing had come */
  for (int i = 0; i < 5; i++) {
    const struct keeper_view *next = keeper_view(w.keeper);

    CHECK(next->number >= number);
    number = next->number;
    keeper_view_release(next);
    kept_pass(6000);
    kept_nap();
  }
  keeper_view_release(first);
  kept_release(&w);
}

/* ---- the record ---- */

static long samples_kept(struct kept *w)
{
  struct record *record = NULL;
  struct feed_observation latest[3];
  struct err err = {0};
  long kept = 0;

  if (CHECK_INT(record_open(w->path, RECORD_WRITE, &record, &err), ERR_OK) &&
      CHECK_INT(record_bind(record, w->facility, w->feeds, KEPT_BEGIN_MS, &err), ERR_OK) &&
      CHECK_INT(record_latest(record, latest, 3, &err), ERR_OK))
    for (int i = 0; i < 3; i++)
      kept += latest[i].t_ms != INT64_MIN;
  record_close(record);
  return kept;
}

static void what_came_is_in_the_record_and_is_believed_after_a_restart(void)
{
  struct kept w;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  kept_say_all(&w, 0);
  REQUIRE(kept_comes(&w, "\"act\": \"AIR FOR"));
  CHECK(kept_has(&w, "\"kept\": true"));
  kept_end(&w);
  CHECK_INT(samples_kept(&w), 3);
  kept_pass(5000);
  REQUIRE(kept_begin(&w));
  CHECK(kept_comes(&w, "\"act\": \"AIR FOR"));
  kept_end(&w);
  CHECK(strstr(kept_entries(&w, RECORD_SETTINGS), "the first settings of this record: suite ") !=
        NULL);
  CHECK(strstr(kept_entries(&w, RECORD_SETTINGS), "other settings") ==
        NULL); /* the same as before */
  kept_release(&w);
}

static void a_suite_that_was_renamed_goes_on_in_its_record_and_it_is_told(void)
{
  struct kept w;

  REQUIRE(kept_make(&w));
  const char *name = w.facility->name;

  w.facility->name = "Fell";
  REQUIRE(kept_begin(&w));
  kept_end(&w);
  CHECK_STR(kept_entries(&w, RECORD_NOTE), "");
  w.facility->name = "Tarn";
  REQUIRE(kept_begin(&w));
  kept_end(&w);
  CHECK(strstr(kept_entries(&w, RECORD_NOTE), "of the suite 'Tarn'; before it was of 'Fell'"));
  w.facility->name = name;
  kept_release(&w);
}

static void a_station_that_was_withdrawn_stays_so_until_it_is_released(void)
{
  struct kept w;
  struct record_entry entry = {.kind = RECORD_WITHDRAWN,
                               .about = "A2",
                               .who = "staff",
                               .text = "its glass is cracked",
                               .detail = ""};
  struct err err = {0};

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  entry.t_ms = entry.written_ms = keeper_now_ms(w.keeper);
  CHECK_INT(keeper_enter(w.keeper, &entry, &err), ERR_OK);
  CHECK(entry.number > 0);
  CHECK(kept_comes(&w, "\"withdrawn\": true"));
  CHECK(kept_comes(&w, "\"is\": \"withdrawn\"") && kept_comes(&w, "\"who\": \"staff\""));
  kept_end(&w);
  REQUIRE(kept_begin(&w));
  CHECK(kept_comes(&w, "\"withdrawn\": true"));
  CHECK(kept_comes(&w, "Withdrawn from use by staff since "));
  CHECK(kept_comes(&w, "\"why\": \"its glass is cracked\""));
  entry.kind = RECORD_RELEASED;
  entry.text = "new glass";
  CHECK_INT(keeper_enter(w.keeper, &entry, &err), ERR_OK);
  kept_pass(300);
  for (int i = 0; i < 500 && kept_has(&w, "\"withdrawn\": true"); i++) {
    kept_pass(20);
    kept_nap();
  }
  CHECK(!kept_has(&w, "\"withdrawn\": true"));
  kept_release(&w);
}

static void an_alarm_that_was_seen_is_seen_after_a_restart(void)
{
  struct record_entry seen = {
      .kind = RECORD_ACKNOWLEDGED, .about = "Acid", .who = "M. Rao", .text = "seen", .detail = ""};
  struct err err = {0};
  struct kept w;

  if (!kept_make(&w) || !kept_begin(&w))
    return;
  kept_say_all(&w, 0.5);
  CHECK(kept_comes(&w, "\"state\": \"short\""));
  kept_pass(40000); /* the dwell of the rule, and the delay of the alarm */
  kept_say_all(&w, 0.5);
  kept_pass(40000);
  kept_say_all(&w, 0.5);
  CHECK(kept_comes(&w, "\"state\": \"active\""));
  seen.t_ms = keeper_now_ms(w.keeper);
  CHECK(keeper_enter(w.keeper, &seen, &err) == ERR_OK);
  CHECK(kept_comes(&w, "\"state\": \"acknowledged\""));
  kept_end(&w);
  kept_pass(5000);
  if (kept_begin(&w)) {
    kept_say_all(&w, 0.5);
    CHECK(kept_comes(&w, "\"state\": \"acknowledged\""));
    CHECK(kept_has(&w, "M. Rao"));
    CHECK(!kept_has(&w, "\"state\": \"active\""));
  }
  kept_release(&w);
}

static int64_t enter(struct kept *w, enum record_kind kind, const char *about, const char *detail)
{
  struct record_entry entry = {
      .kind = kind, .about = about, .who = "M. Rao", .text = "said", .detail = detail};
  struct err err = {0};

  kept_pass(1000);
  entry.t_ms = entry.written_ms = keeper_now_ms(w->keeper);
  CHECK_INT(keeper_enter(w->keeper, &entry, &err), ERR_OK);
  return entry.number;
}

static const char power[] = "{\"schema\": \"inward.stopped.1\", \"cause\": \"power\"}",
                  restarted[] = "{\"schema\": \"inward.restarted.1\"}";

/* In a view, after a restart, and until the last station in use is released. */
static void a_stop_of_all_work_is_in_the_view_until_every_station_is_released(void)
{
  struct kept w;

  if (!kept_make(&w) || !kept_begin(&w))
    return;
  kept_say_all(&w, 0);
  CHECK(kept_comes(&w, "\"act\": \"AIR FOR") && kept_has(&w, "\"stopped\": null"));
  enter(&w, RECORD_WITHDRAWN, "A3", "");
  enter(&w, RECORD_STOPPED, "", power);
  kept_say_all(&w, 0);
  CHECK(kept_comes(&w, "\"act\": \"NO WORK AT 2 OF 3 STATIONS: NOT RELEASED\""));
  CHECK(kept_has(&w, "power was lost; told by M. Rao\""));
  CHECK(kept_has(&w, "\"lower_first\": null"));
  kept_end(&w);
  if (!kept_begin(&w))
    return;
  kept_say_all(&w, 0);
  CHECK(kept_comes(&w, "\"act\": \"NO WORK AT 2 OF 3 STATIONS: NOT RELEASED\""));
  enter(&w, RECORD_RELEASED, "A1", restarted);
  kept_say_all(&w, 0);
  CHECK(kept_comes(&w, "\"act\": \"NO WORK AT 1 OF 3 STATIONS: NOT RELEASED\""));
  enter(&w, RECORD_RELEASED, "A2", ""); /* gives back, and releases from no stop */
  enter(&w, RECORD_RELEASED, "A2", restarted);
  kept_say_all(&w, 0);
  CHECK(kept_comes(&w, "\"stopped\": null") && !kept_has(&w, "NO WORK"));
  kept_release(&w);
}

/* The building's alarm stops all work by being seen, and goes on after it is off: nobody told anything. */
static void a_stop_that_is_only_seen_is_one(void)
{
  static const char feeds[] = "inward: 1 feeds\n"
                              "sources: {us: {name: people, old after: 1000 s, hand: {}}}\n"
                              "points:\n"
                              "  a1: {of: A1, what: opening, from: us, unit: m}\n"
                              "  a2: {of: A2, what: opening, from: us, unit: m}\n"
                              "  a3: {of: A3, what: opening, from: us, unit: m}\n"
                              "  fire: {what: alarm, from: us}\n";
  struct kept w;

  if (!kept_make_of(&w, feeds) || !kept_begin(&w))
    return;
  kept_say_all(&w, 0);
  kept_say(&w, "fire", 0);
  CHECK(kept_comes(&w, "\"act\": \"AIR FOR"));
  kept_say(&w, "fire", 1);
  CHECK(kept_comes(&w, "BUILDING ALARM: FOLLOW THE BUILDING"));
  CHECK(kept_comes(&w, "\"why\": \"all work is stopped since"));
  kept_say(&w, "fire", 0);
  CHECK(kept_comes(&w, "\"act\": \"NOBODY GOES IN: SOURCE REMOVED? MEASURED? RELEASED BY WHOM?\""));
  CHECK(kept_has(&w, "the building's alarm\"") && kept_has(&w, "\"lower_first\": null"));
  kept_release(&w);
}

static void note(struct kept *w, const char *text)
{
  struct record_entry entry = {
      .kind = RECORD_NOTE, .about = "A1", .who = "staff", .text = text, .detail = ""};
  struct err err = {0};

  entry.t_ms = entry.written_ms = keeper_now_ms(w->keeper);
  CHECK_INT(keeper_enter(w->keeper, &entry, &err), ERR_OK);
}

/* Every entry and roll-up of the file as it was written. */
static void verify(struct kept *w)
{
  struct record *record = NULL;
  struct err err = {0};
  struct buf out;
  int faults = -1;

  buf_init(&out, 1 << 16);
  if (CHECK_INT(record_open(w->path, RECORD_WRITE, &record, &err), ERR_OK) &&
      CHECK_INT(record_bind(record, w->facility, w->feeds, KEPT_BEGIN_MS, &err), ERR_OK)) {
    CHECK_INT(record_verify(record, 0, NULL, &faults, &out, &err), ERR_OK);
    CHECK_INT(faults, 0);
    CHECK_INT(record_check(record, &faults, &out, &err), ERR_OK);
    CHECK_INT(faults, 0);
    CHECK_STR(out.text, "");
  }
  record_close(record);
  buf_release(&out);
}

/* An hour back, and on until the moment is there a second time. */
static void a_clock_that_is_stepped_back_loses_and_doubles_no_entry(void)
{
  struct kept w;
  int64_t first_ms;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  kept_say_all(&w, 0);
  REQUIRE(kept_comes(&w, "\"act\": \"AIR FOR"));
  first_ms = keeper_now_ms(w.keeper);
  note(&w, "before");
  kept_pass(-3600000);
  CHECK(kept_comes(&w, "\"act\": \"NOT KNOWN"));
  note(&w, "after");
  kept_say_all(&w, 0);
  CHECK(kept_comes(&w, "\"act\": \"AIR FOR"));
  kept_pass(first_ms - keeper_now_ms(w.keeper)); /* the same moment once more */
  kept_say_all(&w, 0);
  note(&w, "again");
  kept_end(&w);
  CHECK_STR(kept_entries(&w, RECORD_NOTE), "after\nbefore\nagain\n"); /* in order of time */
  CHECK_INT(samples_kept(&w), 3);
  verify(&w);
  kept_release(&w);
}

/* The system refuses to let the file grow, as a full disk does; later there is room again. */
static void a_record_that_cannot_be_written_is_told_and_nothing_stops(void)
{
  struct kept w;
  struct rlimit limit, small;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  kept_say_all(&w, 0);
  REQUIRE(kept_comes(&w, "\"act\": \"AIR FOR"));
  signal(SIGXFSZ, SIG_IGN);
  getrlimit(RLIMIT_FSIZE, &limit);
  small = limit;
  small.rlim_cur = 4096;
  CHECK_INT(setrlimit(RLIMIT_FSIZE, &small), 0);
  for (int i = 0; i < 300 && !kept_has(&w, "\"kept\": false"); i++) {
    kept_say_all(&w, 0.001 * (i % 2));
    kept_pass(1100);
    kept_nap();
  }
  CHECK(kept_has(&w, "\"kept\": false"));
  kept_say_all(&w, 0.5);
  CHECK(kept_comes(&w, "\"sash\": \"raised\"")); /* the belief goes on */
  CHECK_INT(setrlimit(RLIMIT_FSIZE, &limit), 0);
  kept_pass(6000);
  CHECK(kept_comes(&w, "\"kept\": true"));
  kept_end(&w);
  CHECK_INT(samples_kept(&w), 3);
  kept_release(&w);
}

static void a_folder_for_a_record_is_refused(void)
{
  struct kept w;
  struct err err = {0};

  REQUIRE(kept_make(&w));
  w.settings.record_path = w.folder; /* a folder is no file: that is a mistake */
  CHECK(keeper_open(&w.settings, &w.keeper, &err) != ERR_OK);
  CHECK(err.text[0] != '\0');
  w.keeper = NULL;
  kept_release(&w);
}

/* ---- a replay ---- */

static void a_replay_goes_by_a_clock_of_its_own_and_sees_each_state_when_it_was(void)
{
  enum { FROM_MS = 1000000000 };
  static const struct {
    int64_t t_s;
    double opening_m;
  } day[] = {{0, 0},   {100, 0.5}, {110, 0.5}, {125, 0.5}, {140, 0},
             {160, 0}, {175, 0},   {190, 0},   {205, 0}};
  struct feed_observation list[3 * sizeof day / sizeof *day];
  struct kept w;
  long count = 0;
  char *said;

  REQUIRE(kept_make(&w));
  for (size_t i = 0; i < sizeof day / sizeof *day; i++)
    for (int p = 0; p < 3; p++)
      list[count++] = (struct feed_observation){.point = p,
                                                .t_ms = FROM_MS + day[i].t_s * 1000,
                                                .seen_ms = FROM_MS + day[i].t_s * 1000,
                                                .si = day[i].opening_m,
                                                .quality = FEED_GOOD};
  w.settings.replay = list;
  w.settings.replay_count = count;
  w.settings.replay_from_ms = FROM_MS;
  w.settings.replay_speed = 1000;
  REQUIRE(kept_begin(&w));
  CHECK_INT(keeper_now_ms(w.keeper), FROM_MS);
  for (int i = 0; i < 300 && keeper_now_ms(w.keeper) < FROM_MS + 206000; i++) {
    kept_pass(2);
    kept_nap();
  }
  CHECK(kept_comes(&w, "\"replay_speed\": 1000"));
  kept_end(&w);
  said = kept_entries(&w, RECORD_EVENT);
  CHECK(strstr(said, "ample, before that not known") != NULL || strncmp(said, "ample", 5) == 0);
  CHECK(strstr(said, "short, before that") != NULL);
  kept_release(&w);
}

/* ---- many threads ---- */

enum { WRITERS = 3, ROUNDS = 400 };

static void *write_much(void *arg)
{
  struct kept *w = arg;

  for (int i = 0; i < ROUNDS; i++)
    kept_say_all(w, 0.001 * (i % 3));
  return NULL;
}

static _Atomic int woken;

static void count_wakes(void *arg)
{
  (void)arg;
  atomic_fetch_add(&woken, 1);
}

static _Atomic int empty; /* CHECK belongs to the test's own thread */

static void *read_much(void *arg)
{
  struct kept *w = arg;

  for (int i = 0; i < ROUNDS; i++) {
    const struct keeper_view *view = keeper_view(w->keeper);

    if (view) {
      if (view->json.used < 100)
        atomic_fetch_add(&empty, 1);
      keeper_view_release(view);
    }
    kept_pass(7);
  }
  return NULL;
}

static void many_threads_may_give_and_look_at_once(void)
{
  struct kept w;
  pthread_t threads[2 * WRITERS];

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  keeper_on_view(w.keeper, count_wakes, NULL);
  for (int i = 0; i < 2 * WRITERS; i++)
    CHECK_INT(pthread_create(&threads[i], NULL, i < WRITERS ? write_much : read_much, &w), 0);
  for (int i = 0; i < 2 * WRITERS; i++)
    pthread_join(threads[i], NULL);
  kept_say_all(&w, 0);
  CHECK(kept_comes(&w, "\"act\": \"AIR FOR"));
  keeper_on_view(w.keeper, NULL, NULL);
  CHECK(atomic_load(&woken) > 0);
  CHECK_INT(atomic_load(&empty), 0);
  kept_end(&w);
  CHECK_INT(samples_kept(&w), 3);
  kept_release(&w);
}

/* More than the queue holds: what is newest of each point is there in the end. */
static void of_a_flood_the_newest_of_each_point_is_kept(void)
{
  struct kept w;
  static struct feed_observation flood[3 * KEEPER_QUEUE_MOST];
  int count = 3 * KEEPER_QUEUE_MOST;

  REQUIRE(kept_make(&w));
  w.settings.record_path = NULL;
  REQUIRE(kept_begin(&w));
  for (int i = 0; i < count; i++)
    flood[i] = (struct feed_observation){.point = i % 3,
                                         .t_ms = KEPT_BEGIN_MS - count + i,
                                         .seen_ms = KEPT_BEGIN_MS,
                                         .si = i >= count - 3 ? 0.25 : 0,
                                         .quality = FEED_GOOD};
  keeper_take(w.keeper, flood, count);
  CHECK(kept_comes(&w, "\"value_m\": 0.25"));
  kept_release(&w);
}

/* ---- errands ---- */

/* All three at work for the 30 s of the rule and the 15 s of asking, the values kept young. */
static bool comes_to_be_asked(struct kept *w)
{
  kept_say_all(w, 0.5);
  for (int i = 0; i < 8; i++) {
    kept_nap();
    kept_pass(7000);
    kept_say_all(w, 0.5);
  }
  return kept_comes(w, "\"text\": \"Lower to parked: ");
}

static enum err_code answer(struct kept *w, const char *station, bool done, const char *text)
{
  struct record_entry entry = {.t_ms = keeper_now_ms(w->keeper),
                               .kind = RECORD_ANSWERED,
                               .about = station,
                               .who = "",
                               .text = text,
                               .detail = ""};
  struct err err = {0};

  return keeper_answer(w->keeper, &entry, done, &err);
}

static void what_is_asked_at_a_station_and_what_is_answered_survive_a_restart(void)
{
  struct kept w;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  REQUIRE(comes_to_be_asked(&w));
  CHECK(kept_has(&w, "\"act\": \"LOWER A1\""));
  CHECK(answer(&w, "A2", true, "") == ERR_INPUT); /* nothing is asked there */
  CHECK(answer(&w, "A1", true, "") == ERR_OK);
  CHECK(kept_comes(&w, "\"doubt\": \"done was said at "));
  kept_end(&w);
  CHECK(strstr(kept_entries(&w, RECORD_EVENT), "A1, asked: Lower to parked: Acid is short") !=
        NULL);
  CHECK(strstr(kept_entries(&w, RECORD_ANSWERED), "done") != NULL);

  REQUIRE(kept_begin(&w));
  CHECK(kept_comes(&w, "\"doubt\": \"done was said at "));
  CHECK(answer(&w, "A1", false, "cooling oxidiser") == ERR_OK);
  kept_say_all(&w, 0.5);
  CHECK(kept_comes(&w, "\"act\": \"LOWER A2\""));
  kept_end(&w);
  CHECK(strstr(kept_entries(&w, RECORD_ANSWERED), "cannot be lowered now: cooling oxidiser") !=
        NULL);

  REQUIRE(kept_begin(&w));
  kept_say_all(&w, 0.5);
  CHECK(kept_comes(&w, "\"act\": \"LOWER A2\"")); /* A1 still is left alone */
  CHECK(kept_comes(&w, "\"state\": \"cannot\""));
  kept_release(&w);
}

static void without_a_record_an_answer_counts_all_the_same(void)
{
  struct kept w;

  REQUIRE(kept_make(&w));
  w.settings.record_path = NULL;
  REQUIRE(kept_begin(&w));
  REQUIRE(comes_to_be_asked(&w));
  CHECK(answer(&w, "A1", false, "") == ERR_INPUT);
  CHECK(answer(&w, "A1", false, "hot bath") == ERR_OK);
  CHECK(kept_comes(&w, "\"act\": \"LOWER A2\""));
  kept_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_declared_rule_holds_its_dwell_in_the_views);
  RUN(what_grows_too_old_is_not_known_within_ten_seconds);
  RUN(a_clock_that_is_stepped_back_stops_nothing_and_is_told);
  RUN(views_have_numbers_that_only_grow_and_stay_as_they_are);
  RUN(what_came_is_in_the_record_and_is_believed_after_a_restart);
  RUN(a_suite_that_was_renamed_goes_on_in_its_record_and_it_is_told);
  RUN(a_station_that_was_withdrawn_stays_so_until_it_is_released);
  RUN(an_alarm_that_was_seen_is_seen_after_a_restart);
  RUN(a_stop_of_all_work_is_in_the_view_until_every_station_is_released);
  RUN(a_stop_that_is_only_seen_is_one);
  RUN(a_clock_that_is_stepped_back_loses_and_doubles_no_entry);
  RUN(a_record_that_cannot_be_written_is_told_and_nothing_stops);
  RUN(a_folder_for_a_record_is_refused);
  RUN(a_replay_goes_by_a_clock_of_its_own_and_sees_each_state_when_it_was);
  RUN(many_threads_may_give_and_look_at_once);
  RUN(of_a_flood_the_newest_of_each_point_is_kept);
  RUN(what_is_asked_at_a_station_and_what_is_answered_survive_a_restart);
  RUN(without_a_record_an_answer_counts_all_the_same);
  return check_end();
}
