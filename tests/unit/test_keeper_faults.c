#include "keeper/keeper.h"

#include "check.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* What looks like a fault, in the views and the record of a keeper; a clock of the test's own. */

/* A1 draws 1000 m3/h whatever happens; a reading 3.6 times as large is m3/h taken as L/s. */
static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Keeper's suite\n"
    "rooms: {Etch: {}}\n"
    "mains: {Acid: {capacity: {value: 4000 m3/h}}}\n"
    "supplies: {MA: {most: 9000 m3/h, feeds: {Etch: {follows exhaust: {offset: 400 m3/h},\n"
    "  least: 0 m3/h, most: 9000 m3/h}}}}\n"
    "stations:\n"
    "  A1: {kind: wet bench, room: Etch, main: Acid, flow: {constant: 1000 m3/h}}\n";

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources: {us: {old after: 900 s, hand: {}}, them: {old after: 900 s, hand: {}}}\n"
    "faults: {learn: 0 s, proved after: 3, proved: 70 %}\n"
    "points:\n"
    "  a1: {of: A1, what: flow, from: us, unit: m3/h}\n"
    "  total: {of: MA, what: flow, from: us, unit: m3/h}\n";

static _Atomic int64_t clock_now_ms;

static int64_t read_clock(void *arg)
{
  (void)arg;
  return atomic_load(&clock_now_ms);
}

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  struct keeper_settings settings;
  struct keeper *keeper;
  char folder[64], path[96];
};

static bool begin(struct world *w)
{
  struct err err = {0};
  bool begun = keeper_open(&w->settings, &w->keeper, &err) == ERR_OK;

  if (!CHECK(begun))
    fprintf(stderr, "%s\n", err.text);
  return begun;
}

static bool world_make(struct world *w)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};

  *w = (struct world){.folder = "/tmp/inward-faults-XXXXXX"};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &w->complaints) : NULL;
  if (!CHECK(w->feeds != NULL) || !CHECK(mkdtemp(w->folder) != NULL))
    return false;
  snprintf(w->path, sizeof w->path, "%s/record", w->folder);
  atomic_store(&clock_now_ms, 1700000000000);
  w->settings = (struct keeper_settings){.facility = w->facility,
                                         .feeds = w->feeds,
                                         .feeds_folder = ".",
                                         .record_path = w->path,
                                         .clock_ms = read_clock};
  return begin(w);
}

static void world_release(struct world *w)
{
  static const char *const ends[] = {"", "-wal", "-shm", "-lock"};
  char path[128];

  keeper_close(w->keeper);
  for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
    snprintf(path, sizeof path, "%s%s", w->path, ends[i]);
    unlink(path);
  }
  rmdir(w->folder);
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static void say(struct world *w, const char *id, double flow_m3_h)
{
  int64_t now_ms = keeper_now_ms(w->keeper);
  struct feed_observation o = {.point = feeds_point_find(w->feeds, id),
                               .t_ms = now_ms,
                               .seen_ms = now_ms,
                               .si = flow_m3_h / 3600,
                               .quality = FEED_GOOD};

  keeper_take(w->keeper, &o, 1);
}

static void nap(void)
{
  nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
}

static bool has(struct world *w, const char *words)
{
  const struct keeper_view *view = keeper_view(w->keeper);
  bool is = view && strstr(view->json.text, words);

  if (view)
    keeper_view_release(view);
  return is;
}

static bool comes(struct world *w, const char *words)
{
  for (int i = 0; i < 2000; i++) {
    if (has(w, words))
      return true;
    atomic_fetch_add(&clock_now_ms, 1);
    nap();
  }
  return false;
}

/* A reading of every minute, for so many minutes. */
static void read_for(struct world *w, int minutes, double a1_m3_h)
{
  for (int i = 0; i < minutes; i++) {
    atomic_fetch_add(&clock_now_ms, 61000);
    say(w, "a1", a1_m3_h + (i % 3));
    say(w, "total", 1400 + (i % 2));
    for (int wait = 0; wait < 20; wait++)
      nap();
  }
}

static int answer(struct world *w, enum record_kind kind, const char *since)
{
  char detail[200];
  struct err err = {0};
  struct record_entry entry = {.t_ms = keeper_now_ms(w->keeper),
                               .kind = kind,
                               .about = "A1",
                               .who = "M. Rao",
                               .text = "the display on the spot said so",
                               .detail = detail};

  snprintf(detail, sizeof detail,
           "{\"kind\": \"wrong unit or sign\", \"part\": \"a1\", \"since\": \"%s\"}", since);
  return (int)keeper_enter(w->keeper, &entry, &err);
}

/* Waits until all that was said before is in a view. */
static bool settles(struct world *w, const char *words)
{
  atomic_fetch_add(&clock_now_ms, 2000);
  return comes(w, words);
}

/* Does the record of a closed keeper have an event that begins so, with that in its detail? */
static bool is_kept(struct world *w, const char *text, const char *detail)
{
  struct record_wanted wanted = {.from_ms = INT64_MIN,
                                 .to_ms = INT64_MAX,
                                 .about = "A1",
                                 .kind = RECORD_EVENT,
                                 .known_ms = INT64_MAX,
                                 .most = 100};
  struct record *record;
  struct record_entry *list = NULL;
  struct err err = {0};
  int count = 0;
  bool kept = false;

  if (!CHECK(record_open(w->path, RECORD_READ, &record, &err) == ERR_OK))
    return false;
  CHECK(record_entries(record, &wanted, &w->arena, &list, &count, &err) == ERR_OK);
  for (int i = 0; i < count; i++)
    kept = kept || (strncmp(list[i].text, text, strlen(text)) == 0 &&
                    strstr(list[i].detail, detail) != NULL);
  record_close(record);
  return kept;
}

static void what_looks_like_a_fault_is_in_the_views_and_in_the_record(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  read_for(&w, 2, 1000);
  CHECK(settles(&w, "\"looks_like\": [],"));
  read_for(&w, 3, 3600);
  CHECK(settles(&w, "\"kind\": \"wrong unit or sign\""));
  CHECK(has(&w, "\"in_notes\": true"));
  CHECK(has(&w, "\"text\": \"looks like a wrong unit or sign of point a1 in the feeds file because "
                "a1 reads "));
  CHECK(has(&w, "\"blind\": ["));
  keeper_close(w.keeper);
  w.keeper = NULL;
  CHECK(is_kept(&w, "looks like a wrong unit", "\"turn\": \"came\""));
  world_release(&w);
}

/* Three of three confirmed is enough here; an answer to a finding takes the place of the one before. */
static void a_kind_that_people_confirmed_leaves_the_notes_and_stays_out_after_a_restart(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  read_for(&w, 3, 3600);
  REQUIRE(settles(&w, "\"in_notes\": true"));
  CHECK_INT(answer(&w, RECORD_CONFIRMED, "2026-10-01T10:00:00Z"), ERR_OK);
  CHECK_INT(answer(&w, RECORD_CONFIRMED, "2026-10-02T10:00:00Z"), ERR_OK);
  CHECK_INT(answer(&w, RECORD_CONFIRMED, "2026-10-02T10:00:00Z"), ERR_OK); /* the same again */
  CHECK(settles(&w, "\"in_notes\": true"));
  CHECK(!has(&w, "\"in_notes\": false"));
  CHECK_INT(answer(&w, RECORD_REFUTED, "2026-10-03T10:00:00Z"), ERR_OK);
  CHECK_INT(answer(&w, RECORD_CONFIRMED, "2026-10-03T10:00:00Z"), ERR_OK); /* looked again */
  CHECK(settles(&w, "\"in_notes\": false"));
  keeper_close(w.keeper);
  w.keeper = NULL;
  REQUIRE(begin(&w));
  read_for(&w, 3, 3600);
  CHECK(settles(&w, "\"in_notes\": false"));
  CHECK_INT(answer(&w, RECORD_REFUTED, "2026-10-01T10:00:00Z"), ERR_OK); /* two of three: 67 % */
  CHECK(settles(&w, "\"in_notes\": true"));
  world_release(&w);
}

/* What was learnt and summed by another clock says nothing of now. */
static void a_clock_that_is_stepped_back_takes_the_findings_with_it(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  read_for(&w, 3, 3600);
  REQUIRE(settles(&w, "\"kind\": \"wrong unit or sign\""));
  atomic_fetch_sub(&clock_now_ms, 7200000);
  CHECK(comes(&w, "\"looks_like\": [],"));
  keeper_close(w.keeper);
  w.keeper = NULL;
  CHECK(is_kept(&w, "what looked like a wrong unit", "\"turn\": \"gone\""));
  world_release(&w);
}

static void without_a_record_the_findings_go_on_and_an_answer_is_refused(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  keeper_close(w.keeper);
  w.keeper = NULL;
  w.settings.record_path = NULL;
  REQUIRE(begin(&w));
  read_for(&w, 3, 3600);
  CHECK(settles(&w, "\"kind\": \"wrong unit or sign\""));
  CHECK(has(&w, "\"kept\": false"));
  CHECK_INT(answer(&w, RECORD_CONFIRMED, "2026-10-01T10:00:00Z"), ERR_INPUT);
  CHECK(settles(&w, "\"in_notes\": true"));
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_looks_like_a_fault_is_in_the_views_and_in_the_record);
  RUN(a_kind_that_people_confirmed_leaves_the_notes_and_stays_out_after_a_restart);
  RUN(a_clock_that_is_stepped_back_takes_the_findings_with_it);
  RUN(without_a_record_the_findings_go_on_and_an_answer_is_refused);
  return check_end();
}
