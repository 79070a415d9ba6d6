/* Runs with nobody there: what was told, what is so now, and when it may be cold. */
#include "run/run.h"

#include "check.h"
#include "matter/matter.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define SUITE                                                                                      \
  "inward: 1 suite\n"                                                                              \
  "air: {temperature: 20 degC}\n"                                                                  \
  "rooms:\n  R: {}\n"                                                                              \
  "mains:\n  M: {capacity: {value: 2 m3/s}}\n"                                                     \
  "stations:\n"                                                                                    \
  "  B1: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"                        \
  "  B2: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"                        \
  "  B3: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"

enum { ENTRIES = 40 };
static const int64_t hour_ms = 3600 * 1000, minute_ms = 60 * 1000;
static const int64_t start_ms = 1795996800000; /* a Tuesday */

struct world {
  struct facility *facility;
  struct arena arena;
  struct buf faults;
  struct record_entry entries[ENTRIES];
  int count;
  int64_t now_ms;
};

static bool begin(struct world *w, const char *more)
{
  struct complaints complaints;
  const char *text;

  *w = (struct world){.now_ms = start_ms};
  arena_init(&w->arena, 64 << 20);
  buf_init(&w->faults, 1 << 16);
  text = arena_printf(&w->arena, "%s%s", SUITE, more);

  struct facility_text suite = {"suite.yaml", text, strlen(text)};

  complaints_init(&complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &complaints);
  return CHECK(w->facility != NULL);
}

static void end(struct world *w)
{
  facility_free(w->facility);
  buf_release(&w->faults);
  arena_release(&w->arena);
}

static struct run_list *look(struct world *w)
{
  return run_look(w->facility, NULL, w->entries, w->count, w->now_ms, &w->arena);
}

/* Pairs "key", "value", ..., NULL: an entry, or a refusal. */
static enum err_code say(struct world *w, const char *const *words)
{
  struct typed_pair pairs[12];
  struct run_asked asked = {.facility = w->facility,
                            .now_ms = w->now_ms,
                            .back_most_s = 86400,
                            .pairs = pairs,
                            .now = look(w)};
  struct run_told told;

  for (; words[0]; words += 2)
    pairs[asked.count++] = (struct typed_pair){words[0], words[1]};
  buf_release(&w->faults);
  buf_init(&w->faults, 1 << 16);

  enum err_code code = run_take(&asked, &w->arena, &told, &w->faults);

  if (code == ERR_OK) {
    w->entries[w->count] = (struct record_entry){.number = w->count + 1,
                                                 .t_ms = told.t_ms,
                                                 .kind = RECORD_RUN,
                                                 .about = told.about,
                                                 .who = told.who,
                                                 .text = told.text,
                                                 .detail = told.detail};
    w->count++;
  }
  return code;
}

#define SAY(w, ...) say(w, (const char *const[]){__VA_ARGS__, NULL, NULL})

static void start(struct world *w, const char *station)
{
  const char *until = "2026-11-30T18:00Z";

  CHECK_INT(SAY(w, "act", "started", "about", station, "who", "M. Rao", "what", "strip", "holds",
                "phosphoric acid 85 %", "hazards", "hot", "call", "4217", "until", until),
            ERR_OK);
  CHECK_STR(w->faults.text, "");
}

static void a_run_runs_until_its_time_and_is_overdue_after_it(void)
{
  struct world w;

  if (begin(&w, "")) {
    start(&w, "B2");
    CHECK_INT(look(&w)->runs[0].phase, RUN_RUNS);
    CHECK(run_needs_flow(&look(&w)->runs[0]) != NULL);
    CHECK(!run_asks_a_person(look(&w)));
    w.now_ms = look(&w)->runs[0].until_ms + 1;
    CHECK_INT(look(&w)->runs[0].phase, RUN_OVERDUE);
    CHECK(run_asks_a_person(look(&w)));
    CHECK_INT(SAY(&w, "act", "later", "about", "B2", "who", "x", "until", "2026-11-30T20:00Z"),
              ERR_OK);
    CHECK_INT(look(&w)->runs[0].phase, RUN_RUNS);
  }
  end(&w);
}

/* Newton's law with the readings at their kind ends, free convection with them at the unkind ones: the end
 * lies between, and between them what the same readings without ± give (test of matter). */
static void two_readings_make_a_clock(void)
{
  struct world w;

  if (begin(&w, "unattended: {cold below: 40 degC, reading: 1 K, surroundings: 2 K}\n")) {
    start(&w, "B1");
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x", "temperature", "150 degC"), ERR_OK);
    CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN);
    CHECK(strstr(look(&w)->runs[0].why, "two temperatures") != NULL);
    w.now_ms += hour_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "100 degC"), ERR_OK);

    const struct run *run = &look(&w)->runs[0];
    double plain_s = matter_cooling_time_s(423.15, 373.15, 3600, 313.15, 293.15, 0),
           bent_s = matter_cooling_time_s(423.15, 373.15, 3600, 313.15, 293.15, 1.0 / 3);

    CHECK_INT(run->phase, RUN_COOLS);
    CHECK(run->has_clock);
    CHECK((double)(run->clock_from_ms - w.now_ms) * 1e-3 < plain_s);
    CHECK((double)(run->clock_to_ms - w.now_ms) * 1e-3 > bent_s);
    CHECK_INT((run->clock_to_ms - w.now_ms) % (10 * minute_ms), 0);
    w.now_ms = run->clock_to_ms;
    CHECK_INT(look(&w)->runs[0].phase, RUN_MAY_BE_COLD);
    CHECK(run_needs_flow(&look(&w)->runs[0]) == NULL);
    CHECK(run_asks_a_person(look(&w))); /* to measure */
  }
  end(&w);
}

static void a_new_reading_replaces_the_old_clock(void)
{
  struct world w;

  if (begin(&w, "")) {
    int64_t before_ms;

    start(&w, "B1");
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x", "temperature", "150 degC"), ERR_OK);
    w.now_ms += hour_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "100 degC"), ERR_OK);
    before_ms = look(&w)->runs[0].clock_to_ms;
    w.now_ms += hour_ms; /* it goes slower than thought */
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "90 degC"), ERR_OK);
    CHECK(look(&w)->runs[0].clock_to_ms > before_ms);
    w.now_ms += hour_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "35 degC"), ERR_OK);
    CHECK_INT(look(&w)->runs[0].clock_to_ms, w.now_ms); /* read below the limit */
    CHECK_INT(look(&w)->runs[0].phase, RUN_MAY_BE_COLD);
  }
  end(&w);
}

/* A reading that was taken while the heat was on tells nothing of cooling. */
static void readings_before_it_was_over_make_no_clock(void)
{
  struct world w;

  if (begin(&w, "")) {
    start(&w, "B1");
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "160 degC"), ERR_OK);
    w.now_ms += hour_ms;
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x", "temperature", "120 degC"), ERR_OK);
    CHECK(!look(&w)->runs[0].has_clock);
    CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN);
  }
  end(&w);
}

static void the_later_of_clock_and_wait_counts(void)
{
  static const struct {
    const char *wait;
    bool by_wait;
  } rows[] = {{"30 min", false}, {"48 h", true}};

  for (int i = 0; i < 2; i++) {
    struct world w;
    char more[300];

    CHECK_CASE("wait %s", rows[i].wait);
    snprintf(more, sizeof more,
             "unattended: {waits: [{stations: [B1], wait: %s, why: rule, source: rule 7}]}\n",
             rows[i].wait);
    if (begin(&w, more)) {
      start(&w, "B1");
      CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x", "temperature", "150 degC"),
                ERR_OK);
      CHECK_INT(look(&w)->runs[0].phase, RUN_COOLS);
      CHECK_INT(look(&w)->runs[0].cold_ms, look(&w)->runs[0].wait_ms); /* the wait alone */
      w.now_ms += hour_ms;
      CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "100 degC"),
                ERR_OK);

      const struct run *run = &look(&w)->runs[0];

      CHECK_INT(run->cold_ms, rows[i].by_wait ? run->wait_ms : run->clock_to_ms);
      CHECK_INT(run->cold_ms, run->wait_ms > run->clock_to_ms ? run->wait_ms : run->clock_to_ms);
    }
    end(&w);
  }
}

static void what_heats_itself_has_no_clock(void)
{
  struct world w;

  if (begin(
          &w,
          "unattended: {waits: [{stations: [B1], wait: 12 h, why: it heats itself, own heat: yes, source: r}]}\n")) {
    start(&w, "B1");
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x", "temperature", "110 degC"), ERR_OK);
    w.now_ms += hour_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "35 degC"), ERR_OK);
    CHECK(!look(&w)->runs[0].has_clock);
    CHECK_INT(look(&w)->runs[0].cold_ms, look(&w)->runs[0].over_ms + 12 * hour_ms);
  }
  end(&w);
}

/* The wait of a house is a rule; what somebody read is what is so. */
static void what_is_read_hot_after_the_wait_is_not_called_cold(void)
{
  static const char *const own_heat[] = {"", "own heat: yes, "};

  for (int i = 0; i < 2; i++) {
    struct world w;
    char more[200];

    CHECK_CASE("%s", own_heat[i]);
    snprintf(
        more, sizeof more,
        "unattended: {cold below: 40 degC, waits: [{stations: [B1], wait: 1 h, why: rule, %ssource: r}]}\n",
        own_heat[i]);
    if (begin(&w, more)) {
      start(&w, "B1");
      CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x"), ERR_OK);
      w.now_ms += 2 * hour_ms;
      CHECK_INT(look(&w)->runs[0].phase, RUN_MAY_BE_COLD);
      CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "250 degF"),
                ERR_OK);
      CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN);
      CHECK(run_needs_flow(&look(&w)->runs[0]) != NULL);
    }
    end(&w);
  }
}

static void readings_that_contradict_make_no_end(void)
{
  struct world w;

  if (begin(
          &w,
          "unattended: {cold below: 40 degC, reading: 1 K, waits: [{stations: [B1], wait: 1 h, why: rule, source: r}]}\n")) {
    start(&w, "B1");
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x", "temperature", "150 degC"), ERR_OK);
    w.now_ms += 2 * hour_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "120 degC"), ERR_OK);
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "30 degC"), ERR_OK);
    CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN); /* of one moment */
    w.now_ms += hour_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "90 degC"), ERR_OK);
    CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN); /* it rises */
    CHECK(strstr(look(&w)->runs[0].why, "warmer than before") != NULL);
  }
  end(&w);
}

static void a_run_told_late_is_not_ended_by_a_clearing_of_the_one_before(void)
{
  struct world w;

  if (begin(&w, "")) {
    start(&w, "B1");
    w.now_ms += hour_ms;
    CHECK_INT(SAY(&w, "act", "cleared", "about", "B1", "who", "x", "words", "gone"), ERR_OK);
    w.now_ms += minute_ms;
    start(&w, "B1");
    w.entries[2].t_ms -= 2 * minute_ms; /* by its `at`, before the clearing */

    struct record_entry late = w.entries[2];

    w.entries[2] = w.entries[1];
    w.entries[1] = late;
    CHECK_INT(look(&w)->count, 1);
  }
  end(&w);
}

/* 158 was on paper, and both were typed at once. */
static void two_readings_typed_at_once_make_no_clock(void)
{
  struct world w;

  if (begin(&w, "unattended: {cold below: 40 degC, reading: 1 K, surroundings: 2 K}\n")) {
    start(&w, "B1");
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x", "temperature", "158 degC"), ERR_OK);
    w.now_ms += minute_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "121 degC"), ERR_OK);
    CHECK(!look(&w)->runs[0].has_clock);
    CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN);
    w.now_ms += 30 * minute_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "100 degC"), ERR_OK);
    CHECK(look(&w)->runs[0].has_clock);
  }
  end(&w);
}

static void a_run_at_a_station_that_is_no_longer_named_is_not_forgotten(void)
{
  struct world w;

  if (begin(&w, "")) {
    start(&w, "B1");
    w.entries[0].about = "B9";
    CHECK_INT(look(&w)->count, 0);
    CHECK(run_asks_a_person(look(&w)));
    if (CHECK_INT(look(&w)->stranger_count, 1))
      CHECK_STR(look(&w)->strangers[0].words.holds, "phosphoric acid 85 %");
    w.entries[0].about = "B1";
    CHECK_INT(SAY(&w, "act", "cleared", "about", "B1", "who", "x", "words", "gone"), ERR_OK);
    w.entries[0].about = w.entries[1].about = "B9";
    CHECK_INT(look(&w)->stranger_count, 0);
  }
  end(&w);
}

static void what_asks_for_a_person_comes_first(void)
{
  struct world w;

  if (begin(&w, "")) {
    start(&w, "B1");
    start(&w, "B2");
    start(&w, "B3");
    CHECK_INT(SAY(&w, "act", "over", "about", "B2", "who", "x"), ERR_OK);
    CHECK_INT(SAY(&w, "act", "later", "about", "B1", "who", "x", "until", "2026-12-01T18:00Z"),
              ERR_OK);
    w.now_ms = look(&w)->runs[0].until_ms + 30 * hour_ms / 2;
    w.now_ms = start_ms + 20 * hour_ms;

    const struct run_list *list = look(&w);

    CHECK_INT(list->count, 3);
    CHECK_INT(list->runs[0].phase, RUN_OVERDUE); /* B3 */
    CHECK_INT(list->runs[0].station, 2);
    CHECK_INT(list->runs[1].phase, RUN_NOT_KNOWN);
    CHECK_INT(list->runs[2].phase, RUN_RUNS);
  }
  end(&w);
}

static void a_cleared_station_has_no_run_and_what_is_told_in_vain_is_refused(void)
{
  struct world w;

  if (begin(&w, "")) {
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x"), ERR_INPUT);
    CHECK(strstr(w.faults.text, "no run is told of B1") != NULL);
    start(&w, "B1");
    CHECK_INT(SAY(&w, "act", "started", "about", "B1", "who", "x", "what", "w", "holds", "h",
                  "hazards", "z", "call", "c", "until", "2026-12-01T18:00Z"),
              ERR_INPUT);
    CHECK(strstr(w.faults.text, "say first that it was cleared") != NULL);
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x"), ERR_OK);
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x"), ERR_INPUT);
    CHECK_INT(SAY(&w, "act", "cleared", "about", "B1", "who", "x", "words", "cold, emptied"),
              ERR_OK);
    CHECK_INT(look(&w)->count, 0);
    start(&w, "B1");
    CHECK_INT(look(&w)->count, 1);
  }
  end(&w);
}

static void every_fault_of_a_telling_is_named_at_once(void)
{
  struct world w;

  if (begin(&w, "")) {
    CHECK_INT(SAY(&w, "act", "started", "about", "B9", "who", "inward", "until", "yesterday",
                  "call", "a\nb", "temperature", "hot", "colour", "red"),
              ERR_INPUT);

    static const char *const said[] = {
        "no station 'B9'", "who: 'inward'", "until:",       "call: one line",
        "what: must be",   "holds: must",   "temperature:", "colour"};

    for (size_t i = 0; i < sizeof said / sizeof *said; i++)
      CHECK(strstr(w.faults.text, said[i]) != NULL);
    CHECK_INT(w.count, 0);
  }
  end(&w);
}

static void an_entry_that_cannot_be_read_is_counted(void)
{
  struct world w;

  if (begin(&w, "")) {
    start(&w, "B1");
    w.entries[w.count++] = (struct record_entry){
        .number = 2, .t_ms = start_ms, .about = "B2", .who = "x", .text = "?", .detail = "{}"};
    CHECK_INT(look(&w)->unread, 1);
    CHECK_INT(look(&w)->count, 1);
    CHECK(run_asks_a_person(look(&w)));
  }
  end(&w);
}

static void no_text_says_that_anything_is_safe(void)
{
  struct world w;

  if (begin(&w, "")) {
    start(&w, "B1");
    for (int i = 0; i < 3; i++) {
      struct buf out;

      buf_init(&out, 1 << 16);
      run_text(look(&w), UNITS_SYSTEM_SI, &out);
      CHECK(strstr(out.text, "safe") == NULL);
      CHECK(strstr(out.text, "measure") != NULL);
      buf_release(&out);
      w.now_ms += 10 * hour_ms;
    }
  }
  end(&w);
}

/* The wait is over long since; what warms, or reads colder than its room, is not cold for that. */
static void readings_that_contradict_cooling_make_nothing_cold(void)
{
  struct world w;

  if (begin(&w, "unattended:\n  waits:\n    - {stations: [B1], wait: 1 h, why: w, source: s}\n")) {
    start(&w, "B1");
    CHECK_INT(SAY(&w, "act", "over", "about", "B1", "who", "x", "temperature", "150 degC"), ERR_OK);
    w.now_ms += 2 * hour_ms;
    CHECK_INT(look(&w)->runs[0].phase, RUN_MAY_BE_COLD);
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "170 degC"), ERR_OK);
    CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN);
    CHECK(strstr(look(&w)->runs[0].why, "warmer than before") != NULL);
    CHECK(run_needs_flow(&look(&w)->runs[0]) != NULL);
    w.now_ms += minute_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "-20 degC"), ERR_OK);
    CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN);
    CHECK(strstr(look(&w)->runs[0].why, "colder than its room") != NULL);
    w.now_ms += hour_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "140 degC"), ERR_OK);
    CHECK_INT(look(&w)->runs[0].phase, RUN_NOT_KNOWN);
    w.now_ms += 10 * minute_ms;
    CHECK_INT(SAY(&w, "act", "read", "about", "B1", "who", "x", "temperature", "120 degC"), ERR_OK);
    CHECK_INT(look(&w)->runs[0].phase, RUN_COOLS);
  }
  end(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_run_runs_until_its_time_and_is_overdue_after_it);
  RUN(two_readings_make_a_clock);
  RUN(a_new_reading_replaces_the_old_clock);
  RUN(readings_before_it_was_over_make_no_clock);
  RUN(the_later_of_clock_and_wait_counts);
  RUN(what_heats_itself_has_no_clock);
  RUN(what_is_read_hot_after_the_wait_is_not_called_cold);
  RUN(readings_that_contradict_make_no_end);
  RUN(a_run_told_late_is_not_ended_by_a_clearing_of_the_one_before);
  RUN(two_readings_typed_at_once_make_no_clock);
  RUN(a_run_at_a_station_that_is_no_longer_named_is_not_forgotten);
  RUN(what_asks_for_a_person_comes_first);
  RUN(a_cleared_station_has_no_run_and_what_is_told_in_vain_is_refused);
  RUN(every_fault_of_a_telling_is_named_at_once);
  RUN(an_entry_that_cannot_be_read_is_counted);
  RUN(no_text_says_that_anything_is_safe);
  RUN(readings_that_contradict_cooling_make_nothing_cold);
  return check_end();
}
