/* The keeper's own match of each night. */
#include "keeper/keeper_impl.h"

#include "check.h"
#include "kept.h"

#include "nightly/nightly.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define STATIONS                                                                                   \
  "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: "    \
  "1100 m3/h}}}\n"                                                                                 \
  "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: "    \
  "1100 m3/h}}}\n"                                                                                 \
  "  A3: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: "    \
  "1100 m3/h}}}\n"
#define SUITE                                                                                      \
  "inward: 1 suite\n"                                                                              \
  "name: Night's suite\n"                                                                          \
  "rooms: {Etch: {}}\n"                                                                            \
  "doubts: {flow: 20 %}\n"                                                                         \
  "mains: {Acid: {capacity: {value: 3000 m3/h, near limit: {enter: 80 %, leave: 75 %}, short: "    \
  "{enter: 100 %, leave: 95 %}}}}\n"                                                               \
  "stations:\n" STATIONS

static const char matching[] =
    SUITE "match: {each night at: \"03:00\", looks back: 12 h, least: 3, settles: 0 s}\n";
static const char feeds_text[] =
    "inward: 1 feeds\n"
    "reminders: {quiet from: \"00:00\", quiet to: \"00:00\"}\n"
    "sources: {us: {name: people, old after: 1000 s, hand: {}}}\n"
    "points:\n"
    "  a1: {of: A1, what: opening, from: us, unit: m}\n"
    "  a2: {of: A2, what: opening, from: us, unit: m}\n"
    "  a3: {of: A3, what: opening, from: us, unit: m}\n"
    "  f1: {of: A1, what: flow, from: us, unit: m3/h, resolution: 1 m3/h}\n"
    "  f2: {of: A2, what: flow, from: us, unit: m3/h, resolution: 1 m3/h}\n"
    "  f3: {of: A3, what: flow, from: us, unit: m3/h, resolution: 1 m3/h}\n";

enum { MIN_MS = 60 * 1000, DAY_MS = 24 * 60 * MIN_MS, TO_NIGHT_MS = 11 * 60 * MIN_MS };

/* Two hours of parked sashes, each drawing so much of what the file says. */
static void stand_still(struct kept *w, double times)
{
  for (int i = 0; i < 24; i++) {
    double m3_s = times * (300.0 + i % 3) / 3600.0;

    kept_say(w, "a1", 0);
    kept_say(w, "a2", 0);
    kept_say(w, "a3", 0);
    kept_say(w, "f1", m3_s);
    kept_say(w, "f2", m3_s);
    kept_say(w, "f3", m3_s);
    kept_pass(5 * MIN_MS);
  }
}

static int count_of(const char *text, const char *words)
{
  int count = 0;

  for (const char *at = text; at && (at = strstr(at, words)); at++)
    count++;
  return count;
}

/* Waits until so many nights are written down; their texts. */
static char *nights(struct kept *w, int wanted)
{
  for (int i = 0; i < 2000; i++) {
    char *text = kept_entries(w, RECORD_MATCH);

    if (count_of(text, "the board's match of ") >= wanted)
      return text;
    kept_pass(1000);
    kept_nap();
  }
  return kept_entries(w, RECORD_MATCH);
}

static void a_night_is_matched_once_and_another_verdict_is_a_thing_to_look_at(void)
{
  struct kept w;
  const char *text;

  REQUIRE(kept_make_suite(&w, matching, feeds_text));
  REQUIRE(kept_begin(&w)); /* at 16:13 of a day that has no night behind it */
  stand_still(&w, 1.0);
  CHECK_INT(count_of(kept_entries(&w, RECORD_MATCH), "the board's match"), 0);
  kept_pass(TO_NIGHT_MS - 120 * MIN_MS);
  text = nights(&w, 1);
  CHECK_INT(count_of(text, "the board's match of 12 h up to 1970-01-21 03:00"), 1);
  CHECK_INT(count_of(text, "MATCHES WITHIN ITS ±: all of 3 readings"), 1);
  CHECK_INT(count_of(text, "A thing to look at"), 0);

  kept_end(&w); /* a restart makes no second one of the same night */
  REQUIRE(kept_begin(&w));
  kept_pass(DAY_MS - TO_NIGHT_MS);
  stand_still(&w, 1.5);
  CHECK_INT(count_of(kept_entries(&w, RECORD_MATCH), "the board's match"), 1);
  kept_pass(TO_NIGHT_MS - 120 * MIN_MS);
  text = nights(&w, 2);
  CHECK_INT(count_of(text, "the board's match of "), 2);
  CHECK_INT(count_of(text, "DOES NOT MATCH"), 1);
  CHECK_INT(
      count_of(text, "A thing to look at, no alarm: the one before said MATCHES WITHIN ITS ±"), 1);
  kept_pass(40 * MIN_MS);
  CHECK(kept_comes(&w, "a look at the board's own match: DOES NOT MATCH"));
  CHECK(kept_comes(&w, "\"told\": \"1970"));
  CHECK_INT(count_of(kept_entries(&w, RECORD_EVENT), "Reminder, no alarm"), 1);
  kept_release(&w);
}

static void a_suite_that_names_no_time_is_matched_by_nobody(void)
{
  struct kept w;

  REQUIRE(kept_make_suite(&w, SUITE, feeds_text));
  REQUIRE(kept_begin(&w));
  stand_still(&w, 1.0);
  kept_pass(TO_NIGHT_MS);
  kept_say_all(&w, 0);
  for (int i = 0; i < 30; i++)
    kept_nap();
  CHECK_STR(kept_entries(&w, RECORD_MATCH), "");
  kept_release(&w);
}

/* The board is stopped while it is at it, or before, or after: the next one makes up for it. */
static void a_night_that_was_broken_off_is_made_up_for_once(void)
{
  struct kept w;

  REQUIRE(kept_make_suite(&w, matching, feeds_text));
  REQUIRE(kept_begin(&w));
  stand_still(&w, 1.0);
  kept_end(&w);
  kept_pass(TO_NIGHT_MS);
  for (int i = 0; i < 8; i++) {
    REQUIRE(kept_begin(&w));
    for (int nap = 0; nap < i; nap++)
      kept_nap();
    kept_end(&w);
  }
  REQUIRE(kept_begin(&w));
  CHECK_INT(count_of(nights(&w, 1), "the board's match of "), 1);
  kept_release(&w);
}

static bool is_sound(const struct kept *w)
{
  struct record *record = NULL;
  struct err err = {0};
  struct buf said;
  int faults = -1, broken = -1;

  buf_init(&said, 1 << 16);
  CHECK_INT(record_open(w->path, RECORD_READ, &record, &err), ERR_OK);
  CHECK_INT(record_check(record, &faults, &said, &err), ERR_OK);
  CHECK_INT(record_verify(record, 0, "", &broken, &said, &err), ERR_OK);
  CHECK_STR(said.text, "");
  record_close(record);
  buf_release(&said);
  return faults == 0 && broken == 0;
}

/* A board of its own process, killed so long after its beginning. */
static bool killed_after(struct kept *w, int ms)
{
  int status = 0;
  pid_t child = fork();

  if (child == 0) {
    if (keeper_open(&w->settings, &w->keeper, NULL) != ERR_OK)
      _exit(1);
    for (;;)
      pause();
  }
  nanosleep(&(struct timespec){.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000L}, NULL);
  kill(child, SIGKILL);
  return CHECK(child > 0 && waitpid(child, &status, 0) == child && WIFSIGNALED(status));
}

static void a_board_that_is_killed_in_the_middle_leaves_a_sound_record_and_one_entry(void)
{
  struct kept w;

  REQUIRE(kept_make_suite(&w, matching, feeds_text));
  REQUIRE(kept_begin(&w));
  stand_still(&w, 1.0);
  kept_end(&w);
  kept_pass(TO_NIGHT_MS);
  for (int i = 0; i < 12; i++) {
    CHECK_CASE("killed after %d ms", 4 * i);
    if (!killed_after(&w, 4 * i) || !CHECK(is_sound(&w)))
      break;
    CHECK(count_of(kept_entries(&w, RECORD_MATCH), "the board's match of ") <= 1);
  }
  REQUIRE(kept_begin(&w));
  CHECK_INT(count_of(nights(&w, 1), "the board's match of "), 1);
  kept_end(&w);
  CHECK(is_sound(&w));
  kept_release(&w);
}

/* The belief goes on while a match takes its time, and one that takes too long says so. */
static void a_match_that_may_take_no_time_is_given_up_and_told(void)
{
  static const char hurried[] =
      SUITE "match: {each night at: \"03:00\", looks back: 12 h, least: 3, given up after: 1 s}\n";
  struct kept w;

  REQUIRE(kept_make_suite(&w, hurried, feeds_text));
  w.facility->match.within_s = 0.0; /* what no file may say */
  REQUIRE(kept_begin(&w));
  stand_still(&w, 1.0);
  kept_pass(TO_NIGHT_MS);
  CHECK_INT(count_of(nights(&w, 1), "could not be done: it took longer than it may"), 1);
  CHECK_INT(count_of(kept_entries(&w, RECORD_MATCH), "the board's match of "), 1);
  kept_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_night_is_matched_once_and_another_verdict_is_a_thing_to_look_at);
  RUN(a_suite_that_names_no_time_is_matched_by_nobody);
  RUN(a_night_that_was_broken_off_is_made_up_for_once);
  RUN(a_board_that_is_killed_in_the_middle_leaves_a_sound_record_and_one_entry);
  RUN(a_match_that_may_take_no_time_is_given_up_and_told);
  return check_end();
}
