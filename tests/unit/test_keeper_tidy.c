/* The keeper deletes what is older than is kept, and nothing because of a wrong clock. */
#include "keeper/keeper_impl.h"

#include "check.h"
#include "kept.h"

#include "past/past.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static const char feeds_text[] = "inward: 1 feeds\n"
                                 "record: {samples: 3 d, ten minutes: 5 d}\n"
                                 "reminders: {quiet from: \"00:00\", quiet to: \"00:00\"}\n"
                                 "sources: {us: {name: people, old after: 1000 s, hand: {}}}\n"
                                 "points:\n"
                                 "  a1: {of: A1, what: opening, from: us, unit: m}\n"
                                 "  a2: {of: A2, what: opening, from: us, unit: m}\n"
                                 "  a3: {of: A3, what: opening, from: us, unit: m}\n";

enum { MIN_MS = 60 * 1000, HOUR_MS = 60 * MIN_MS, DAY_MS = 24 * HOUR_MS };
static const int64_t years_ms = 3 * 365 * (int64_t)DAY_MS;

static struct record *opened(struct kept *w, enum record_mode mode)
{
  struct record *record = NULL;
  struct err err = {0};

  CHECK_INT(record_open(w->path, mode, &record, &err), ERR_OK);
  CHECK_INT(record_of(record, w->facility, &err), ERR_OK);
  CHECK_INT(record_bind(record, w->facility, w->feeds, KEPT_BEGIN_MS, &err), ERR_OK);
  return record;
}

/* A board's days, five minutes apart; the clock stands at their end. */
static void live(struct kept *w, int days)
{
  struct record *record = opened(w, RECORD_WRITE);
  struct err err = {0};

  for (int day = 0; day < days; day++) {
    struct feed_observation list[3 * 288];
    struct record_added added;

    for (int i = 0; i < 3 * 288; i++) {
      int64_t t_ms = KEPT_BEGIN_MS + (int64_t)day * DAY_MS + (int64_t)(i / 3) * 5 * MIN_MS;

      list[i] = (struct feed_observation){i % 3, t_ms, t_ms, i % 5 * 0.1, FEED_GOOD};
    }
    CHECK_INT(record_add(record, list, 3 * 288, &added, &err), ERR_OK);
    CHECK_INT(added.kept, 3 * 288);
    kept_pass(DAY_MS);
  }
  record_close(record);
}

/* Before when nothing single is kept; INT64_MIN: all is. */
static int64_t kept_from(struct kept *w)
{
  struct record *record = opened(w, RECORD_READ);
  int64_t from_ms = 0;
  struct err err = {0};

  CHECK_INT(record_kept(record, &from_ms, &err), ERR_OK);
  record_close(record);
  return from_ms;
}

static int64_t first(struct kept *w)
{
  struct record *record = opened(w, RECORD_READ);
  int64_t first_ms = 0;
  struct err err = {0};

  CHECK_INT(record_first(record, &first_ms, &err), ERR_OK);
  record_close(record);
  return first_ms;
}

static bool is_sound(struct kept *w)
{
  struct record *record = opened(w, RECORD_READ);
  struct err err = {0};
  struct buf said;
  int faults = -1, broken = -1;

  buf_init(&said, 1 << 16);
  CHECK_INT(record_check(record, &faults, &said, &err), ERR_OK);
  CHECK_INT(record_verify(record, 0, "", &broken, &said, &err), ERR_OK);
  CHECK_STR(said.text, "");
  record_close(record);
  buf_release(&said);
  return faults == 0 && broken == 0;
}

static int count_of(const char *text, const char *words)
{
  int count = 0;

  for (const char *at = text; at && (at = strstr(at, words)); at++)
    count++;
  return count;
}

/* The board's time goes on by so much, a second after the other. */
static void go_on(int seconds)
{
  for (int i = 0; i < seconds; i++) {
    kept_pass(1000);
    kept_nap();
  }
}

static bool is_told(struct kept *w, int wanted)
{
  for (int i = 0; i < 600; i++) {
    if (count_of(kept_entries(w, RECORD_EVENT), "housekeeping: ") >= wanted)
      return true;
    go_on(2);
  }
  return false;
}

/* What people are told of a stretch, as known at a moment or in all. */
static char *plotted(struct kept *w, int64_t from_ms, int64_t known_ms)
{
  static struct record_bucket list[100];
  struct past_place place = {.record = opened(w, RECORD_READ),
                             .facility = w->facility,
                             .feeds = w->feeds,
                             .zone = when_utc()};
  struct record_plot plot = {.from_ms = from_ms,
                             .to_ms = from_ms + 6 * (int64_t)HOUR_MS,
                             .most = 26,
                             .list = list,
                             .as_of = known_ms != INT64_MAX,
                             .known_ms = known_ms};
  struct err err = {0};
  struct buf out;
  char *text;

  buf_init(&out, 1 << 16);
  CHECK_INT(record_plot(place.record, &plot, &err), ERR_OK);
  past_plot_text(&place, &plot, &out);
  text = arena_strdup(&w->arena, out.text);
  buf_release(&out);
  record_close(place.record);
  return text;
}

static char *timeline(struct kept *w, int64_t from_ms)
{
  struct past_place place = {.record = opened(w, RECORD_READ),
                             .facility = w->facility,
                             .feeds = w->feeds,
                             .zone = when_utc()};
  const struct past_span span = {from_ms, from_ms + 6 * (int64_t)HOUR_MS, INT64_MAX};
  struct past_timeline found;
  struct err err = {0};
  struct buf out;
  char *text;

  buf_init(&out, 1 << 16);
  CHECK_INT(past_timeline_ask(&place, 0, &span, &w->arena, &found, &err), ERR_OK);
  past_timeline_text(&place, &found, 100, &out);
  past_timeline_json(&place, &found, &out);
  text = arena_strdup(&w->arena, out.text);
  buf_release(&out);
  record_close(place.record);
  return text;
}

static void what_is_older_than_is_kept_goes_and_is_told_once(void)
{
  struct kept w;
  const char *text;
  int64_t day_ms = KEPT_BEGIN_MS + 5 * (int64_t)DAY_MS; /* now less 3 d */

  REQUIRE(kept_make_of(&w, feeds_text));
  live(&w, 8);
  CHECK_INT(count_of(plotted(&w, KEPT_BEGIN_MS + DAY_MS, INT64_MAX), "NOT KEPT"), 0);
  REQUIRE(kept_begin(&w));
  CHECK(is_told(&w, 1));
  day_ms -= day_ms % DAY_MS;
  CHECK_INT(kept_from(&w), day_ms);
  CHECK(first(&w) < day_ms && first(&w) >= day_ms - 5 * MIN_MS); /* what held then stays */
  text = kept_entries(&w, RECORD_EVENT);
  CHECK_INT(count_of(text, "rows deleted that are older than is kept: single values and raw files "
                           "of before 1970-01-25 00:00"),
            1);
  CHECK_INT(count_of(text, "ten-minute stretches of before 1970-01-23 00:00"), 1);
  CHECK_INT(count_of(text, "hours and entries stay"), 1);
  kept_pass(2 * HOUR_MS);
  go_on(20);
  kept_end(&w);
  CHECK_INT(count_of(kept_entries(&w, RECORD_EVENT), "housekeeping"), 1);
  CHECK(is_sound(&w));

  /* hours answer still; what only single values could answer is not kept, which is not "nothing came" */
  text = plotted(&w, KEPT_BEGIN_MS + DAY_MS, INT64_MAX);
  CHECK_INT(count_of(text, "NOT KEPT ANY MORE: single values of before 1970-01-25 00:00"), 1);
  CHECK_INT(count_of(text, "NOT KNOWN"), 0);
  text = plotted(&w, KEPT_BEGIN_MS + DAY_MS, KEPT_BEGIN_MS + 3 * (int64_t)DAY_MS);
  CHECK_INT(count_of(text, "NOT KNOWN: nothing of this span is kept any more"), 1);
  text = timeline(&w, KEPT_BEGIN_MS + DAY_MS);
  CHECK(count_of(text, "not kept any more") > 0);
  CHECK_INT(count_of(text, "nothing was heard"), 0);
  CHECK_INT(count_of(text, "nothing came"), 1); /* in the head alone: it is not said */
  CHECK_INT(count_of(text, "\"kept_from\": \"1970-01-25T00:00:00Z\""), 1);
  text = timeline(&w, KEPT_BEGIN_MS + 6 * (int64_t)DAY_MS);
  CHECK_INT(count_of(text, "ept any more"), 0);
  CHECK_INT(count_of(text, "\"kept_from\": null"), 1);
  kept_release(&w);
}

static void a_clock_three_years_ahead_deletes_nothing_and_a_reminder_asks_about_it(void)
{
  struct kept w;

  REQUIRE(kept_make_of(&w, feeds_text));
  live(&w, 1);
  kept_pass(years_ms);
  REQUIRE(kept_begin(&w));
  for (int i = 0; i < 4; i++) { /* to a look after a minute, and `after: 30 min` of the reminders */
    kept_say_all(&w, 0.1);
    go_on(30);
    kept_pass(40 * MIN_MS);
  }
  CHECK(kept_comes(&w, "retention waits, what is older than is kept stays: new values on 1 of the "
                       "last 4 days; is this machine's clock right?"));
  go_on(30);
  CHECK_INT(
      count_of(kept_entries(&w, RECORD_EVENT), "Reminder, no alarm: 1 overdue. retention waits"),
      1);
  CHECK_INT(count_of(kept_entries(&w, RECORD_EVENT), "housekeeping"), 0);
  CHECK_INT(first(&w), KEPT_BEGIN_MS);
  CHECK_INT(kept_from(&w), INT64_MIN);

  kept_pass(-years_ms); /* somebody sets it right */
  kept_say_all(&w, 0.2);
  CHECK(kept_comes(&w, "\"reminders\": []"));
  kept_pass(2 * HOUR_MS);
  go_on(10);
  kept_end(&w);
  CHECK_INT(first(&w), KEPT_BEGIN_MS);
  CHECK_INT(kept_from(&w), INT64_MIN); /* what comes now is not too old */
  CHECK(is_sound(&w));
  kept_release(&w);
}

static void a_clock_that_was_ahead_and_came_back_goes_on_as_if_it_had_not(void)
{
  struct kept w;
  int64_t day_ms = KEPT_BEGIN_MS + 5 * (int64_t)DAY_MS;

  REQUIRE(kept_make_of(&w, feeds_text));
  live(&w, 8);
  kept_pass(years_ms);
  REQUIRE(kept_begin(&w));
  kept_say_all(&w, 0.1);
  go_on(30);
  kept_pass(-years_ms);
  kept_say_all(&w, 0.1);
  CHECK(is_told(&w, 1));
  kept_end(&w);
  CHECK_INT(kept_from(&w), day_ms - day_ms % DAY_MS);
  CHECK(is_sound(&w));
  kept_release(&w);
}

static void a_replay_deletes_nothing(void)
{
  static const struct feed_observation one = {0, KEPT_BEGIN_MS + 9 * (int64_t)DAY_MS,
                                              KEPT_BEGIN_MS + 9 * (int64_t)DAY_MS, 0.1, FEED_GOOD};
  struct kept w;

  REQUIRE(kept_make_of(&w, feeds_text));
  live(&w, 8);
  w.settings.replay = &one;
  w.settings.replay_count = 1;
  w.settings.replay_speed = 1;
  w.settings.replay_from_ms = one.t_ms;
  REQUIRE(kept_begin(&w));
  go_on(70);
  kept_pass(2 * HOUR_MS);
  go_on(10);
  kept_end(&w);
  CHECK_INT(first(&w), KEPT_BEGIN_MS);
  CHECK_INT(count_of(kept_entries(&w, RECORD_EVENT), "housekeeping"), 0);
  kept_release(&w);
}

/* A board of its own process, killed so long after its first minute. */
static bool killed_after(struct kept *w, int ms)
{
  int status = 0;
  pid_t child = fork();

  if (child == 0) {
    if (keeper_open(&w->settings, &w->keeper, NULL) != ERR_OK)
      _exit(1);
    for (kept_nap(), kept_pass(61 * 1000);; kept_pass(1000)) {
      kept_say(w, "a2", 0.1); /* wakes it */
      kept_nap();
    }
  }
  nanosleep(&(struct timespec){.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000L}, NULL);
  kill(child, SIGKILL);
  return CHECK(child > 0 && waitpid(child, &status, 0) == child && WIFSIGNALED(status));
}

static void a_board_that_is_killed_while_it_deletes_leaves_a_sound_record(void)
{
  struct kept w;

  REQUIRE(kept_make_of(&w, feeds_text));
  live(&w, 8);
  for (int i = 0; i < 12; i++) {
    CHECK_CASE("killed after %d ms", 20 * i);
    if (!killed_after(&w, 20 * i) || !CHECK(is_sound(&w)))
      break;
  }
  kept_pass(HOUR_MS);
  REQUIRE(kept_begin(&w));
  for (int i = 0;
       i < 600 && (kept_from(&w) <= KEPT_BEGIN_MS || kept_from(&w) > first(&w) + 5 * MIN_MS); i++)
    go_on(2);
  kept_end(&w);
  CHECK(is_sound(&w));
  CHECK(kept_from(&w) > KEPT_BEGIN_MS);
  CHECK(kept_from(&w) <= first(&w) + 5 * MIN_MS);
  kept_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_is_older_than_is_kept_goes_and_is_told_once);
  RUN(a_clock_three_years_ahead_deletes_nothing_and_a_reminder_asks_about_it);
  RUN(a_clock_that_was_ahead_and_came_back_goes_on_as_if_it_had_not);
  RUN(a_replay_deletes_nothing);
  RUN(a_board_that_is_killed_while_it_deletes_leaves_a_sound_record);
  return check_end();
}
