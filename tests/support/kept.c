#include "kept.h"

#include "check.h"

#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

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

bool kept_make_suite(struct kept *w, const char *suite_yaml, const char *feeds_yaml)
{
  struct facility_text suite = {"suite.yaml", suite_yaml, strlen(suite_yaml)};
  struct facility_text feeds = {"feeds.yaml", feeds_yaml, strlen(feeds_yaml)};

  *w = (struct kept){.folder = "/tmp/inward-keeper-XXXXXX"};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &w->complaints) : NULL;
  if (!CHECK(w->feeds != NULL) || !CHECK(mkdtemp(w->folder) != NULL))
    return false;
  snprintf(w->path, sizeof w->path, "%s/record", w->folder);
  atomic_store(&clock_now_ms, KEPT_BEGIN_MS);
  w->settings = (struct keeper_settings){.facility = w->facility,
                                         .feeds = w->feeds,
                                         .feeds_folder = ".",
                                         .record_path = w->path,
                                         .clock_ms = read_clock};
  return true;
}

bool kept_make_of(struct kept *w, const char *feeds_yaml)
{
  return kept_make_suite(w, suite_text, feeds_yaml);
}

bool kept_make(struct kept *w)
{
  return kept_make_of(w, feeds_text);
}

bool kept_begin(struct kept *w)
{
  struct err err = {0};
  bool begun = keeper_open(&w->settings, &w->keeper, &err) == ERR_OK;

  if (!CHECK(begun))
    fprintf(stderr, "%s\n", err.text);
  return begun;
}

void kept_end(struct kept *w)
{
  keeper_close(w->keeper);
  w->keeper = NULL;
}

void kept_release(struct kept *w)
{
  static const char *const ends[] = {"", "-wal", "-shm", "-lock"};
  char path[128];

  kept_end(w);
  for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
    snprintf(path, sizeof path, "%s%s", w->path, ends[i]);
    unlink(path);
  }
  rmdir(w->folder);
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

void kept_say(struct kept *w, const char *id, double si)
{
  int64_t now_ms = keeper_now_ms(w->keeper);
  struct feed_observation o = {.point = feeds_point_find(w->feeds, id),
                               .t_ms = now_ms,
                               .seen_ms = now_ms,
                               .si = si,
                               .quality = FEED_GOOD};

  keeper_take(w->keeper, &o, 1);
}

void kept_say_all(struct kept *w, double si)
{
  kept_say(w, "a1", si);
  kept_say(w, "a2", si);
  kept_say(w, "a3", si);
}

void kept_pass(int64_t ms)
{
  atomic_fetch_add(&clock_now_ms, ms);
}

void kept_nap(void)
{
  nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
}

bool kept_comes(struct kept *w, const char *words)
{
  for (int i = 0; i < 2000; i++) {
    const struct keeper_view *view = keeper_view(w->keeper);
    bool has = view && strstr(view->json.text, words);

    if (view)
      keeper_view_release(view);
    if (has)
      return true;
    kept_pass(1);
    kept_nap();
  }
  return false;
}

bool kept_has(struct kept *w, const char *words)
{
  const struct keeper_view *view = keeper_view(w->keeper);
  bool is = view && strstr(view->json.text, words);

  if (view)
    keeper_view_release(view);
  return is;
}

char *kept_entries(struct kept *w, enum record_kind kind)
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
