#include "keeper/keeper.h"

#include "check.h"
#include "past/past.h"

#include <math.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* What was measured around an incident outlives the samples: when its time is over, after a restart too. */

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Kept\n"
    "rooms: {Etch: {}}\n"
    "mains: {Acid: {capacity: {value: 3000 m3/h}}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}},\n"
    "       opening: {parked: 0.02 m, work: 0.45 m, most: 0.7 m}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n";

/* Samples are deleted after an hour. */
static const char feeds_text[] = "inward: 1 feeds\n"
                                 "record: {samples: 1 h, ten minutes: 2 h}\n"
                                 "incidents: {before: 10 min, after: 5 min}\n"
                                 "sources: {us: {old after: 1000 s, hand: {}}}\n"
                                 "points:\n"
                                 "  a1: {of: A1, what: opening, from: us, unit: m}\n"
                                 "  a1-there: {of: A1, what: presence, from: us}\n"
                                 "  a2: {of: A2, what: opening, from: us, unit: m}\n";

static _Atomic int64_t clock_now_ms;

static int64_t read_clock(void *arg)
{
  (void)arg;
  return atomic_load(&clock_now_ms);
}

static const int64_t begin_ms = 1700000000000;

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

  *w = (struct world){.folder = "/tmp/inward-incidents-XXXXXX"};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &w->complaints) : NULL;
  if (!CHECK(w->feeds != NULL) || !CHECK(mkdtemp(w->folder) != NULL))
    return false;
  snprintf(w->path, sizeof w->path, "%s/record", w->folder);
  atomic_store(&clock_now_ms, begin_ms);
  w->settings = (struct keeper_settings){.facility = w->facility,
                                         .feeds = w->feeds,
                                         .feeds_folder = ".",
                                         .record_path = w->path,
                                         .clock_ms = read_clock};
  return begin(w);
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

static void at(int after_s)
{
  atomic_store(&clock_now_ms, begin_ms + (int64_t)after_s * 1000);
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

static int64_t tell(struct world *w, enum record_kind kind, const char *about, const char *detail)
{
  int64_t now_ms = keeper_now_ms(w->keeper);
  struct record_entry entry = {.t_ms = now_ms,
                               .written_ms = now_ms,
                               .kind = kind,
                               .about = about,
                               .who = "J. Berg",
                               .text = "told",
                               .detail = detail};
  struct err err = {0};

  CHECK_INT(keeper_enter(w->keeper, &entry, &err), ERR_OK);
  return entry.number;
}

/* How many freezes the record holds. */
static int freezes(struct world *w)
{
  struct record_wanted wanted = {.from_ms = INT64_MIN,
                                 .to_ms = INT64_MAX,
                                 .kind = RECORD_EVENT,
                                 .known_ms = INT64_MAX,
                                 .most = 1000};
  struct record *record = NULL;
  struct record_entry *list = NULL;
  struct err err = {0};
  int count = 0, found = 0;

  if (CHECK_INT(record_open(w->path, RECORD_READ, &record, &err), ERR_OK))
    CHECK_INT(record_entries(record, &wanted, &w->arena, &list, &count, &err), ERR_OK);
  record_close(record);
  for (int i = 0; i < count; i++)
    found += strstr(list[i].detail, "inward.freeze.1") != NULL;
  return found;
}

static void nap(void)
{
  nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
}

/* The clock stands; the keeper's thread looks several times a second. */
static bool come(struct world *w, int count)
{
  for (int i = 0; i < 1000 && freezes(w) != count; i++)
    nap();
  return CHECK_INT(freezes(w), count);
}

static bool sheet_of(struct world *w, int64_t number, struct incident_sheet *sheet)
{
  struct past_place place = {.facility = w->facility, .feeds = w->feeds, .zone = when_utc()};
  struct err err = {0};
  bool asked = record_open(w->path, RECORD_READ, &place.record, &err) == ERR_OK &&
               record_bind(place.record, w->facility, w->feeds, read_clock(NULL), &err) == ERR_OK &&
               past_sheet_ask(&place, number, read_clock(NULL), &w->arena, sheet, &err) == ERR_OK;

  record_close(place.record);
  if (!CHECK(asked))
    fprintf(stderr, "%s\n", err.text);
  return asked;
}

static const char odour[] =
    "{\"schema\": \"inward.incident.1\", \"incident\": \"odour\", \"fields\": {}}";
static const char beaker[] =
    "{\"schema\": \"inward.incident.1\", \"incident\": \"beaker\", \"fields\": {}}";

static void what_was_measured_is_kept_when_its_time_is_over_and_outlives_the_samples(void)
{
  struct world w;
  struct incident_sheet sheet;
  struct record *record = NULL;
  struct err err = {0};
  struct record_due all = {.ten_ms = INT64_MIN};
  long deleted = 0;
  int64_t number;

  REQUIRE(world_make(&w));
  at(10);
  say(&w, "a1", 0.02);
  at(300);
  number = tell(&w, RECORD_INCIDENT, "A1", odour);
  REQUIRE(sheet_of(&w, number, &sheet));
  CHECK(sheet.waits);
  at(320);
  say(&w, "a1", 0.45);
  at(590);
  nap();
  CHECK_INT(freezes(&w), 0);
  at(601);
  REQUIRE(come(&w, 1));
  REQUIRE(sheet_of(&w, number, &sheet));
  CHECK_INT(sheet.source, INCIDENT_SAMPLES); /* they know as much */
  end(&w);

  /* A day later the samples are gone. */
  at(86400);
  REQUIRE(CHECK_INT(record_open(w.path, RECORD_WRITE, &record, &err), ERR_OK));
  CHECK_INT(record_bind(record, w.facility, w.feeds, read_clock(NULL), &err), ERR_OK);
  all.samples_ms = read_clock(NULL) - read_clock(NULL) % 3600000;
  CHECK_INT(record_tidy(record, &all, 100000, &deleted, &err), ERR_OK);
  record_close(record);
  CHECK(deleted > 0);
  REQUIRE(sheet_of(&w, number, &sheet));
  CHECK_INT(sheet.source, INCIDENT_ENTRY);
  CHECK(!sheet.waits);
  REQUIRE(sheet.frozen && sheet.frozen->point_count == 2);
  CHECK(strcmp(sheet.frozen->points[0].id, "a1") == 0);
  CHECK(fabs(sheet.frozen->points[0].then_si - 0.02) < 1e-9);
  CHECK(fabs(sheet.frozen->points[0].last_si - 0.45) < 1e-9);
  CHECK_INT(sheet.frozen->points[0].turn_count, 1);
  CHECK(fabs(sheet.frozen->points[0].turns[0].at_s - 20) < 1e-6);
  CHECK(isnan(sheet.frozen->points[1].then_si)); /* of A2 nothing was said */
  world_release(&w);
}

static void a_board_that_stood_still_keeps_it_when_it_starts_again(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  say(&w, "a1", 0.02);
  at(5);
  tell(&w, RECORD_INCIDENT, "A1", odour);
  end(&w);
  at(3000);
  CHECK_INT(freezes(&w), 0);
  REQUIRE(begin(&w));
  REQUIRE(come(&w, 1));
  end(&w);
  REQUIRE(begin(&w)); /* and not once more */
  say(&w, "a2", 0.02);
  for (int i = 0; i < 80; i++)
    nap();
  CHECK_INT(freezes(&w), 1);
  world_release(&w);
}

static void two_of_one_second_are_two(void)
{
  struct world w;
  struct incident_sheet one, other;
  int64_t first, second;

  REQUIRE(world_make(&w));
  say(&w, "a1", 0.02);
  at(2);
  first = tell(&w, RECORD_INCIDENT, "A1", odour);
  second = tell(&w, RECORD_INCIDENT, "A1", ""); /* told in words only, as by another program */
  at(400);
  REQUIRE(come(&w, 2));
  REQUIRE(sheet_of(&w, first, &one) && sheet_of(&w, second, &other));
  CHECK(first != second && one.what.kind == INCIDENT_ODOUR && other.what.kind == INCIDENT_OTHER);
  world_release(&w);
}

/* Round at 100 s; sash up from 200 s to 260 s; found at 500 s; nothing heard of the sash before 50 s. */
static void of_a_beaker_the_use_since_the_last_round_is_listed(void)
{
  struct world w;
  struct incident_sheet sheet;
  const struct incident_used *a1;
  struct buf out;
  int64_t number, round;

  REQUIRE(world_make(&w));
  at(50);
  say(&w, "a1", 0.45);
  at(60);
  say(&w, "a1", 0.02);
  say(&w, "a1-there", 0);
  at(100);
  round = tell(&w, RECORD_ROUND, "Etch", "");
  at(200);
  say(&w, "a1", 0.45);
  at(260);
  say(&w, "a1", 0.02);
  at(500);
  number = tell(&w, RECORD_INCIDENT, "A1", beaker);
  end(&w);
  REQUIRE(sheet_of(&w, number, &sheet));
  REQUIRE(CHECK_INT(sheet.used_count, 2));
  a1 = &sheet.used[0];
  CHECK(a1->measured && a1->round_number == round);
  REQUIRE(CHECK_INT(a1->use_count, 1));
  CHECK(a1->uses[0].from_ms == begin_ms + 200000 && a1->uses[0].to_ms == begin_ms + 260000);
  CHECK(strcmp(a1->uses[0].what, "sash up") == 0);
  CHECK(sheet.used[1].use_count > 0 && strstr(sheet.used[1].uses[0].what, "sash not known"));
  buf_init(&out, 1 << 20);
  incident_sheet_text(&sheet, true, &out);
  CHECK(strstr(out.text, "STAFF ONLY") && strstr(out.text, "sash up"));
  buf_clear(&out);
  incident_sheet_text(&sheet, false, &out);
  CHECK(strstr(out.text, "sash up") == NULL && strstr(out.text, "is for staff only"));
  buf_clear(&out);
  incident_sheet_json(&sheet, false, &out);
  CHECK(strstr(out.text, "\"staff_only\": null") && strstr(out.text, "sash up") == NULL);
  buf_release(&out);
  world_release(&w);
}

static void what_adds_to_it_stands_on_its_sheet_and_a_withdrawal_is_told(void)
{
  char more[160];
  struct world w;
  struct incident_sheet sheet;
  struct incident_told told = {.what = {.kind = INCIDENT_EXPOSURE}, .about = ""};
  struct err err = {0};
  int64_t number, withdrawn;

  REQUIRE(world_make(&w));
  at(1);
  withdrawn = tell(&w, RECORD_WITHDRAWN, "A1", "");
  at(2);
  number = tell(&w, RECORD_INCIDENT, "A1", odour);
  snprintf(more, sizeof more,
           "{\"schema\": \"inward.incident.1\", \"incident\": \"odour\", \"adds_to\": %d, "
           "\"fields\": {\"source_removed\": \"yes\"}}",
           (int)number);
  at(3);
  tell(&w, RECORD_INCIDENT, "A1", more);
  end(&w);
  REQUIRE(sheet_of(&w, number, &sheet));
  CHECK_INT(sheet.more_count, 1);
  CHECK(sheet.withdrawn_number == withdrawn);
  CHECK(incident_said(&sheet, "source_removed") != NULL &&
        strcmp(incident_said(&sheet, "source_removed"), "yes") == 0);
  CHECK(incident_said(&sheet, "released_by") == NULL);
  CHECK_INT(past_sheet_takes(&sheet, &told, &err), ERR_INPUT);
  told.what.kind = INCIDENT_ODOUR;
  CHECK_INT(past_sheet_takes(&sheet, &told, &err), ERR_OK);
  CHECK(strcmp(told.about, "A1") == 0);
  world_release(&w);
}

static void what_would_change_nothing_is_said(void)
{
  struct record_entry back = {.kind = RECORD_RELEASED, .about = "A1", .detail = ""};
  struct record_entry seen = {.kind = RECORD_ACKNOWLEDGED, .about = "A1", .detail = ""};
  struct world w;

  REQUIRE(world_make(&w));
  CHECK(keeper_in_vain(w.keeper, &back) != NULL);
  CHECK(keeper_in_vain(w.keeper, &seen) != NULL);
  tell(&w, RECORD_WITHDRAWN, "A1", "");
  CHECK(keeper_in_vain(w.keeper, &back) == NULL);
  tell(&w, RECORD_RELEASED, "A1", "");
  CHECK(keeper_in_vain(w.keeper, &back) != NULL);
  tell(&w, RECORD_STOPPED, "", ""); /* all work: a release from that is another one */
  CHECK(keeper_in_vain(w.keeper, &back) != NULL);
  back.detail = "{\"schema\": \"inward.restarted.1\"}";
  CHECK(keeper_in_vain(w.keeper, &back) == NULL);
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_was_measured_is_kept_when_its_time_is_over_and_outlives_the_samples);
  RUN(a_board_that_stood_still_keeps_it_when_it_starts_again);
  RUN(two_of_one_second_are_two);
  RUN(of_a_beaker_the_use_since_the_last_round_is_listed);
  RUN(what_adds_to_it_stands_on_its_sheet_and_a_withdrawal_is_told);
  RUN(what_would_change_nothing_is_said);
  return check_end();
}
