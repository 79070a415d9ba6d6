#include "keeper/keeper.h"

#include "check.h"
#include "keeper/keeper_impl.h"

#include <math.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

/* The keeper, with a clock of the test's own: it stands until it is moved. */

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Keeper's suite\n"
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

static _Atomic int64_t clock_now_ms;

static int64_t read_clock(void *arg)
{
  (void)arg;
  return atomic_load(&clock_now_ms);
}

enum { BEGIN_MS = 1700000000 };

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  struct keeper_settings settings;
  struct keeper *keeper;
  char folder[64], path[96];
};

static bool world_make_of(struct world *w, const char *feeds_yaml)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_yaml, strlen(feeds_yaml)};

  *w = (struct world){.folder = "/tmp/inward-keeper-XXXXXX"};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &w->complaints) : NULL;
  if (!CHECK(w->feeds != NULL) || !CHECK(mkdtemp(w->folder) != NULL))
    return false;
  snprintf(w->path, sizeof w->path, "%s/record", w->folder);
  atomic_store(&clock_now_ms, BEGIN_MS);
  w->settings = (struct keeper_settings){.facility = w->facility,
                                         .feeds = w->feeds,
                                         .feeds_folder = ".",
                                         .record_path = w->path,
                                         .clock_ms = read_clock};
  return true;
}

static bool world_make(struct world *w)
{
  return world_make_of(w, feeds_text);
}

static bool begin(struct world *w)
{
  struct err err = {0};
  bool begun = keeper_open(&w->settings, &w->keeper, &err) == ERR_OK;

  if (!CHECK(begun))
    fprintf(stderr, "%s\n", err.text);
  return begun;
}

static void end(struct world *w)
{
  keeper_close(w->keeper);
  w->keeper = NULL;
}

static void world_release(struct world *w)
{
  static const char *const ends[] = {"", "-wal", "-shm", "-lock"};
  char path[128];

  end(w);
  for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
    snprintf(path, sizeof path, "%s%s", w->path, ends[i]);
    unlink(path);
  }
  rmdir(w->folder);
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static void say(struct world *w, const char *id, double si)
{
  int64_t now_ms = keeper_now_ms(w->keeper);
  struct feed_observation o = {.point = feeds_point_find(w->feeds, id),
                               .t_ms = now_ms,
                               .seen_ms = now_ms,
                               .si = si,
                               .quality = FEED_GOOD};

  keeper_take(w->keeper, &o, 1);
}

static void say_all(struct world *w, double si)
{
  say(w, "a1", si);
  say(w, "a2", si);
  say(w, "a3", si);
}

static void pass(int64_t ms)
{
  atomic_fetch_add(&clock_now_ms, ms);
}

static void nap(void)
{
  nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
}

/* Waits, moving the clock a little, until the newest view has these words; for as long as 20 s. */
static bool comes(struct world *w, const char *words)
{
  for (int i = 0; i < 2000; i++) {
    const struct keeper_view *view = keeper_view(w->keeper);
    bool has = view && strstr(view->json.text, words);

    if (view)
      keeper_view_release(view);
    if (has)
      return true;
    pass(1);
    nap();
  }
  return false;
}

static bool has(struct world *w, const char *words)
{
  const struct keeper_view *view = keeper_view(w->keeper);
  bool is = view && strstr(view->json.text, words);

  if (view)
    keeper_view_release(view);
  return is;
}

/* The texts of all entries of a kind, one a line. */
static char *entries(struct world *w, enum record_kind kind)
{
  struct record_wanted wanted = {.from_ms = INT64_MIN,
                                 .to_ms = INT64_MAX,
                                 .kind = (int)kind,
                                 .known_ms = INT64_MAX,
                                 .most = 1000};
  struct record *record = NULL;
  struct record_entry *list = NULL;
  struct err err = {0};
  struct buf out;
  int count = 0;
  char *text;

  buf_init(&out, 1 << 16);
  if (CHECK_INT(record_open(w->path, RECORD_READ, &record, &err), ERR_OK) &&
      CHECK_INT(record_entries(record, &wanted, &w->arena, &list, &count, &err), ERR_OK))
    for (int i = 0; i < count; i++)
      buf_printf(&out, "%s\n", list[i].text);
  record_close(record);
  text = arena_strdup(&w->arena, out.text);
  buf_release(&out);
  return text;
}

/* ---- dwell times ---- */

static void a_declared_rule_holds_its_dwell_in_the_views(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  say_all(&w, 0);
  REQUIRE(comes(&w, "\"state\": \"ample\""));
  say_all(&w, 0.5); /* 3300 m3/h of 3000 */
  REQUIRE(comes(&w, "\"sash\": \"raised\""));
  CHECK(has(&w, "\"state\": \"ample\",\n  \"since\""));
  pass(15000);
  say_all(&w, 0.5);
  pass(14000);
  say_all(&w, 0.5);
  pass(3000);
  CHECK(comes(&w, "\"state\": \"short\",\n  \"since\""));
  world_release(&w);
}

/* ---- what is lost ---- */

static void what_grows_too_old_is_not_known_within_ten_seconds(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  say_all(&w, 0);
  REQUIRE(comes(&w, "\"act\": \"AIR FOR"));
  pass(20000); /* a3 may be 20 s old */
  nap();
  CHECK(!has(&w, "\"state\": \"not_known\",\n  \"since\""));
  pass(10000);
  CHECK(comes(&w, "\"act\": \"NOT KNOWN: TREAT AS NO\""));
  CHECK(has(&w, "A3: a3 (us): "));
  CHECK(has(&w, "\"air\": null") && has(&w, "\"earlier\": {"));
  say(&w, "a3", 0);
  CHECK(comes(&w, "\"act\": \"AIR FOR"));
  end(&w);
  if (!CHECK(strstr(entries(&w, RECORD_EVENT), "not known, before that ample: A3: a3 (us): ")))
    fputs(entries(&w, RECORD_EVENT), stderr);
  CHECK(strstr(entries(&w, RECORD_EVENT), "ample, before that not known") != NULL);
  world_release(&w);
}

static void a_clock_that_is_stepped_back_stops_nothing_and_is_told(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  say_all(&w, 0);
  REQUIRE(comes(&w, "\"act\": \"AIR FOR"));
  pass(-3600000);
  CHECK(comes(&w, "\"act\": \"NOT KNOWN"));
  say_all(&w, 0);
  CHECK(comes(&w, "\"act\": \"AIR FOR"));
  end(&w);
  CHECK(strstr(entries(&w, RECORD_EVENT), "clock was stepped back by ") != NULL);
  world_release(&w);
}

/* ---- views ---- */

static void views_have_numbers_that_only_grow_and_stay_as_they_are(void)
{
  struct world w;
  const struct keeper_view *first;
  long number;
  size_t used;

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  REQUIRE(comes(&w, "\"number\""));
  first = keeper_view(w.keeper);
  number = first->number;
  used = first->json.used;
  say_all(&w, 0);
  REQUIRE(comes(&w, "\"act\": \"AIR FOR"));
  CHECK(first->number == number && first->json.used == used);
  CHECK(strstr(first->json.text, "NOT KNOWN: TREAT AS NO") != NULL); /* nothing had come */
  for (int i = 0; i < 5; i++) {
    const struct keeper_view *next = keeper_view(w.keeper);

    CHECK(next->number >= number);
    number = next->number;
    keeper_view_release(next);
    pass(6000);
    nap();
  }
  keeper_view_release(first);
  world_release(&w);
}

/* ---- the record ---- */

static long samples_kept(struct world *w)
{
  struct record *record = NULL;
  struct feed_observation latest[3];
  struct err err = {0};
  long kept = 0;

  if (CHECK_INT(record_open(w->path, RECORD_WRITE, &record, &err), ERR_OK) &&
      CHECK_INT(record_bind(record, w->facility, w->feeds, BEGIN_MS, &err), ERR_OK) &&
      CHECK_INT(record_latest(record, latest, 3, &err), ERR_OK))
    for (int i = 0; i < 3; i++)
      kept += latest[i].t_ms != INT64_MIN;
  record_close(record);
  return kept;
}

static void what_came_is_in_the_record_and_is_believed_after_a_restart(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  say_all(&w, 0);
  REQUIRE(comes(&w, "\"act\": \"AIR FOR"));
  CHECK(has(&w, "\"kept\": true"));
  end(&w);
  CHECK_INT(samples_kept(&w), 3);
  pass(5000);
  REQUIRE(begin(&w));
  CHECK(comes(&w, "\"act\": \"AIR FOR"));
  end(&w);
  CHECK(strstr(entries(&w, RECORD_SETTINGS), "the first settings of this record: suite ") != NULL);
  CHECK(strstr(entries(&w, RECORD_SETTINGS), "other settings") == NULL); /* the same as before */
  world_release(&w);
}

static void a_station_that_was_withdrawn_stays_so_until_it_is_released(void)
{
  struct world w;
  struct record_entry entry = {.kind = RECORD_WITHDRAWN,
                               .about = "A2",
                               .who = "staff",
                               .text = "its glass is cracked",
                               .detail = ""};
  struct err err = {0};

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  entry.t_ms = entry.written_ms = keeper_now_ms(w.keeper);
  CHECK_INT(keeper_enter(w.keeper, &entry, &err), ERR_OK);
  CHECK(entry.number > 0);
  CHECK(comes(&w, "\"withdrawn\": true"));
  CHECK(comes(&w, "\"is\": \"withdrawn\"") && comes(&w, "\"who\": \"staff\""));
  end(&w);
  REQUIRE(begin(&w));
  CHECK(comes(&w, "\"withdrawn\": true"));
  CHECK(comes(&w, "Withdrawn from use by staff since "));
  CHECK(comes(&w, "\"why\": \"its glass is cracked\""));
  entry.kind = RECORD_RELEASED;
  entry.text = "new glass";
  CHECK_INT(keeper_enter(w.keeper, &entry, &err), ERR_OK);
  pass(300);
  for (int i = 0; i < 500 && has(&w, "\"withdrawn\": true"); i++) {
    pass(20);
    nap();
  }
  CHECK(!has(&w, "\"withdrawn\": true"));
  world_release(&w);
}

/* A run with nobody there keeps its flow: over a restart, until it may be cold. */
static void a_station_whose_run_is_not_cold_needs_its_flow(void)
{
  struct world w;
  struct record_entry entry = {
      .kind = RECORD_RUN,
      .about = "A2",
      .who = "staff",
      .text = "runs",
      .detail =
          "{\"schema\": \"inward.run.1\", \"act\": \"started\", \"what\": \"hot strip\", \"holds\": "
          "\"acid\", \"hazards\": \"hot\", \"call\": \"4217\", \"until_ms\": 1700009000}"};
  struct err err = {0};

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  CHECK(!has(&w, "hot strip"));
  entry.t_ms = entry.written_ms = keeper_now_ms(w.keeper);
  CHECK_INT(keeper_enter(w.keeper, &entry, &err), ERR_OK);
  CHECK(comes(&w, "\"what\": \"hot strip\""));
  CHECK(comes(&w, "\"phase\": \"runs\""));
  CHECK_STR(keeper_run_needs_flow(w.keeper, 1), "hot strip");
  CHECK(keeper_run_needs_flow(w.keeper, 0) == NULL);
  end(&w);
  REQUIRE(begin(&w));
  CHECK(comes(&w, "\"what\": \"hot strip\""));
  entry.detail = "{\"schema\": \"inward.run.1\", \"act\": \"cleared\"}";
  entry.t_ms = entry.written_ms = keeper_now_ms(w.keeper);
  CHECK_INT(keeper_enter(w.keeper, &entry, &err), ERR_OK);
  for (int i = 0; i < 500 && has(&w, "hot strip"); i++) {
    pass(20);
    nap();
  }
  CHECK(!has(&w, "hot strip"));
  CHECK(keeper_run_needs_flow(w.keeper, 1) == NULL);
  world_release(&w);
}

static void an_alarm_that_was_seen_is_seen_after_a_restart(void)
{
  struct record_entry seen = {
      .kind = RECORD_ACKNOWLEDGED, .about = "Acid", .who = "M. Rao", .text = "seen", .detail = ""};
  struct err err = {0};
  struct world w;

  if (!world_make(&w) || !begin(&w))
    return;
  say_all(&w, 0.5);
  CHECK(comes(&w, "\"state\": \"short\""));
  pass(40000); /* the dwell of the rule, and the delay of the alarm */
  say_all(&w, 0.5);
  pass(40000);
  say_all(&w, 0.5);
  CHECK(comes(&w, "\"state\": \"active\""));
  seen.t_ms = keeper_now_ms(w.keeper);
  CHECK(keeper_enter(w.keeper, &seen, &err) == ERR_OK);
  CHECK(comes(&w, "\"state\": \"acknowledged\""));
  end(&w);
  pass(5000);
  if (begin(&w)) {
    say_all(&w, 0.5);
    CHECK(comes(&w, "\"state\": \"acknowledged\""));
    CHECK(has(&w, "M. Rao"));
    CHECK(!has(&w, "\"state\": \"active\""));
  }
  world_release(&w);
}

static int64_t enter(struct world *w, enum record_kind kind, const char *about, const char *detail)
{
  struct record_entry entry = {
      .kind = kind, .about = about, .who = "M. Rao", .text = "said", .detail = detail};
  struct err err = {0};

  pass(1000);
  entry.t_ms = entry.written_ms = keeper_now_ms(w->keeper);
  CHECK_INT(keeper_enter(w->keeper, &entry, &err), ERR_OK);
  return entry.number;
}

static const char power[] = "{\"schema\": \"inward.stopped.1\", \"cause\": \"power\"}",
                  restarted[] = "{\"schema\": \"inward.restarted.1\"}";

/* In a view, after a restart, and until the last station in use is released. */
static void a_stop_of_all_work_is_in_the_view_until_every_station_is_released(void)
{
  struct world w;

  if (!world_make(&w) || !begin(&w))
    return;
  say_all(&w, 0);
  CHECK(comes(&w, "\"act\": \"AIR FOR") && has(&w, "\"stopped\": null"));
  enter(&w, RECORD_WITHDRAWN, "A3", "");
  enter(&w, RECORD_STOPPED, "", power);
  say_all(&w, 0);
  CHECK(comes(&w, "\"act\": \"NO WORK AT 2 OF 3 STATIONS: NOT RELEASED\""));
  CHECK(has(&w, "power was lost; told by M. Rao\""));
  CHECK(has(&w, "\"lower_first\": null"));
  end(&w);
  if (!begin(&w))
    return;
  say_all(&w, 0);
  CHECK(comes(&w, "\"act\": \"NO WORK AT 2 OF 3 STATIONS: NOT RELEASED\""));
  enter(&w, RECORD_RELEASED, "A1", restarted);
  say_all(&w, 0);
  CHECK(comes(&w, "\"act\": \"NO WORK AT 1 OF 3 STATIONS: NOT RELEASED\""));
  enter(&w, RECORD_RELEASED, "A2", ""); /* gives back, and releases from no stop */
  enter(&w, RECORD_RELEASED, "A2", restarted);
  say_all(&w, 0);
  CHECK(comes(&w, "\"stopped\": null") && !has(&w, "NO WORK"));
  world_release(&w);
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
  struct world w;

  if (!world_make_of(&w, feeds) || !begin(&w))
    return;
  say_all(&w, 0);
  say(&w, "fire", 0);
  CHECK(comes(&w, "\"act\": \"AIR FOR"));
  say(&w, "fire", 1);
  CHECK(comes(&w, "BUILDING ALARM: FOLLOW THE BUILDING"));
  CHECK(comes(&w, "\"why\": \"all work is stopped since"));
  say(&w, "fire", 0);
  CHECK(comes(&w, "\"act\": \"NOBODY GOES IN: SOURCE REMOVED? MEASURED? RELEASED BY WHOM?\""));
  CHECK(has(&w, "the building's alarm\"") && has(&w, "\"lower_first\": null"));
  world_release(&w);
}

static void note(struct world *w, const char *text)
{
  struct record_entry entry = {
      .kind = RECORD_NOTE, .about = "A1", .who = "staff", .text = text, .detail = ""};
  struct err err = {0};

  entry.t_ms = entry.written_ms = keeper_now_ms(w->keeper);
  CHECK_INT(keeper_enter(w->keeper, &entry, &err), ERR_OK);
}

/* Every entry and roll-up of the file as it was written. */
static void verify(struct world *w)
{
  struct record *record = NULL;
  struct err err = {0};
  struct buf out;
  int faults = -1;

  buf_init(&out, 1 << 16);
  if (CHECK_INT(record_open(w->path, RECORD_WRITE, &record, &err), ERR_OK) &&
      CHECK_INT(record_bind(record, w->facility, w->feeds, BEGIN_MS, &err), ERR_OK)) {
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
  struct world w;
  int64_t first_ms;

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  say_all(&w, 0);
  REQUIRE(comes(&w, "\"act\": \"AIR FOR"));
  first_ms = keeper_now_ms(w.keeper);
  note(&w, "before");
  pass(-3600000);
  CHECK(comes(&w, "\"act\": \"NOT KNOWN"));
  note(&w, "after");
  say_all(&w, 0);
  CHECK(comes(&w, "\"act\": \"AIR FOR"));
  pass(first_ms - keeper_now_ms(w.keeper)); /* the same moment once more */
  say_all(&w, 0);
  note(&w, "again");
  end(&w);
  CHECK_STR(entries(&w, RECORD_NOTE), "after\nbefore\nagain\n"); /* in order of time */
  CHECK_INT(samples_kept(&w), 3);
  verify(&w);
  world_release(&w);
}

/* The system refuses to let the file grow, as a full disk does; later there is room again. */
static void a_record_that_cannot_be_written_is_told_and_nothing_stops(void)
{
  struct world w;
  struct rlimit limit, small;

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  say_all(&w, 0);
  REQUIRE(comes(&w, "\"act\": \"AIR FOR"));
  signal(SIGXFSZ, SIG_IGN);
  getrlimit(RLIMIT_FSIZE, &limit);
  small = limit;
  small.rlim_cur = 4096;
  CHECK_INT(setrlimit(RLIMIT_FSIZE, &small), 0);
  for (int i = 0; i < 300 && !has(&w, "\"kept\": false"); i++) {
    say_all(&w, 0.001 * (i % 2));
    pass(1100);
    nap();
  }
  CHECK(has(&w, "\"kept\": false"));
  say_all(&w, 0.5);
  CHECK(comes(&w, "\"sash\": \"raised\"")); /* the belief goes on */
  CHECK_INT(setrlimit(RLIMIT_FSIZE, &limit), 0);
  pass(6000);
  CHECK(comes(&w, "\"kept\": true"));
  end(&w);
  CHECK_INT(samples_kept(&w), 3);
  world_release(&w);
}

static void a_folder_for_a_record_is_refused(void)
{
  struct world w;
  struct err err = {0};

  REQUIRE(world_make(&w));
  w.settings.record_path = w.folder; /* a folder is no file: that is a mistake */
  CHECK(keeper_open(&w.settings, &w.keeper, &err) != ERR_OK);
  CHECK(err.text[0] != '\0');
  w.keeper = NULL;
  world_release(&w);
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
  struct world w;
  long count = 0;
  char *said;

  REQUIRE(world_make(&w));
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
  REQUIRE(begin(&w));
  CHECK_INT(keeper_now_ms(w.keeper), FROM_MS);
  for (int i = 0; i < 300 && keeper_now_ms(w.keeper) < FROM_MS + 206000; i++) {
    pass(2);
    nap();
  }
  CHECK(comes(&w, "\"replay_speed\": 1000"));
  end(&w);
  said = entries(&w, RECORD_EVENT);
  CHECK(strstr(said, "ample, before that not known") != NULL || strncmp(said, "ample", 5) == 0);
  CHECK(strstr(said, "short, before that") != NULL);
  world_release(&w);
}

/* ---- many threads ---- */

enum { WRITERS = 3, ROUNDS = 400 };

static void *write_much(void *arg)
{
  struct world *w = arg;

  for (int i = 0; i < ROUNDS; i++)
    say_all(w, 0.001 * (i % 3));
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
  struct world *w = arg;

  for (int i = 0; i < ROUNDS; i++) {
    const struct keeper_view *view = keeper_view(w->keeper);

    if (view) {
      if (view->json.used < 100)
        atomic_fetch_add(&empty, 1);
      keeper_view_release(view);
    }
    pass(7);
  }
  return NULL;
}

static void many_threads_may_give_and_look_at_once(void)
{
  struct world w;
  pthread_t threads[2 * WRITERS];

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  keeper_on_view(w.keeper, count_wakes, NULL);
  for (int i = 0; i < 2 * WRITERS; i++)
    CHECK_INT(pthread_create(&threads[i], NULL, i < WRITERS ? write_much : read_much, &w), 0);
  for (int i = 0; i < 2 * WRITERS; i++)
    pthread_join(threads[i], NULL);
  say_all(&w, 0);
  CHECK(comes(&w, "\"act\": \"AIR FOR"));
  keeper_on_view(w.keeper, NULL, NULL);
  CHECK(atomic_load(&woken) > 0);
  CHECK_INT(atomic_load(&empty), 0);
  end(&w);
  CHECK_INT(samples_kept(&w), 3);
  world_release(&w);
}

/* More than the queue holds: what is newest of each point is there in the end. */
static void of_a_flood_the_newest_of_each_point_is_kept(void)
{
  struct world w;
  static struct feed_observation flood[3 * KEEPER_QUEUE_MOST];
  int count = 3 * KEEPER_QUEUE_MOST;

  REQUIRE(world_make(&w));
  w.settings.record_path = NULL;
  REQUIRE(begin(&w));
  for (int i = 0; i < count; i++)
    flood[i] = (struct feed_observation){.point = i % 3,
                                         .t_ms = BEGIN_MS - count + i,
                                         .seen_ms = BEGIN_MS,
                                         .si = i >= count - 3 ? 0.25 : 0,
                                         .quality = FEED_GOOD};
  keeper_take(w.keeper, flood, count);
  CHECK(comes(&w, "\"value_m\": 0.25"));
  world_release(&w);
}

/* ---- errands ---- */

/* All three at work for the 30 s of the rule and the 15 s of asking, the values kept young. */
static bool comes_to_be_asked(struct world *w)
{
  say_all(w, 0.5);
  for (int i = 0; i < 8; i++) {
    nap();
    pass(7000);
    say_all(w, 0.5);
  }
  return comes(w, "\"text\": \"Lower to parked: ");
}

static enum err_code answer(struct world *w, const char *station, bool done, const char *text)
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
  struct world w;

  REQUIRE(world_make(&w));
  REQUIRE(begin(&w));
  REQUIRE(comes_to_be_asked(&w));
  CHECK(has(&w, "\"act\": \"LOWER A1\""));
  CHECK(answer(&w, "A2", true, "") == ERR_INPUT); /* nothing is asked there */
  CHECK(answer(&w, "A1", true, "") == ERR_OK);
  CHECK(comes(&w, "\"doubt\": \"done was said at "));
  end(&w);
  CHECK(strstr(entries(&w, RECORD_EVENT), "A1, asked: Lower to parked: Acid is short") != NULL);
  CHECK(strstr(entries(&w, RECORD_ANSWERED), "done") != NULL);

  REQUIRE(begin(&w));
  CHECK(comes(&w, "\"doubt\": \"done was said at "));
  CHECK(answer(&w, "A1", false, "cooling oxidiser") == ERR_OK);
  say_all(&w, 0.5);
  CHECK(comes(&w, "\"act\": \"LOWER A2\""));
  end(&w);
  CHECK(strstr(entries(&w, RECORD_ANSWERED), "cannot be lowered now: cooling oxidiser") != NULL);

  REQUIRE(begin(&w));
  say_all(&w, 0.5);
  CHECK(comes(&w, "\"act\": \"LOWER A2\"")); /* A1 still is left alone */
  CHECK(comes(&w, "\"state\": \"cannot\""));
  world_release(&w);
}

static void without_a_record_an_answer_counts_all_the_same(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  w.settings.record_path = NULL;
  REQUIRE(begin(&w));
  REQUIRE(comes_to_be_asked(&w));
  CHECK(answer(&w, "A1", false, "") == ERR_INPUT);
  CHECK(answer(&w, "A1", false, "hot bath") == ERR_OK);
  CHECK(comes(&w, "\"act\": \"LOWER A2\""));
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_declared_rule_holds_its_dwell_in_the_views);
  RUN(what_grows_too_old_is_not_known_within_ten_seconds);
  RUN(a_clock_that_is_stepped_back_stops_nothing_and_is_told);
  RUN(views_have_numbers_that_only_grow_and_stay_as_they_are);
  RUN(what_came_is_in_the_record_and_is_believed_after_a_restart);
  RUN(a_station_that_was_withdrawn_stays_so_until_it_is_released);
  RUN(a_station_whose_run_is_not_cold_needs_its_flow);
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
