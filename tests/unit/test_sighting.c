/* Glass that was seen, counted and done away with: what has no status, and for how long. */
#include "sighting/sighting.h"

#include "check.h"

#include <math.h>
#include <string.h>

#define STATION "kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}"
#define SUITE                                                                                      \
  "inward: 1 suite\n"                                                                              \
  "site: {zone: UTC}\n"                                                                            \
  "rooms:\n  R: {}\n"                                                                              \
  "mains:\n  M: {capacity: {value: 2 m3/s}}\n"                                                     \
  "stations:\n"                                                                                    \
  "  B1: {" STATION ", chemistry: acid, glass mark: {colour: white, shape: square, letter: K},\n"  \
  "       glass: [{what: carrier, material: PTFE, count: 2, drawer: 1, may visit: [B2],\n"         \
  "                on return: rinsed}, {what: beaker, material: PP, count: 4, drawer: 2}]}\n"      \
  "  B2: {" STATION ", chemistry: solvent, glass mark: {colour: black, shape: ring, letter: P}}\n" \
  "  B3: {" STATION ", chemistry: HF}\n"                                                           \
  "rounds:\n  items:\n"                                                                            \
  "    - {id: glass, question: Only own glass?, marks: yes}\n"                                     \
  "    - {id: deck, question: Free?}\n"

enum { ENTRIES = 60 };
static const int64_t hour_ms = 3600 * 1000, day_ms = 86400 * 1000;
static const int64_t start_ms = 1795996800000; /* 2026-11-30 00:00 UTC */

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

static const struct sighting_list *look(struct world *w)
{
  return sighting_look(w->facility, NULL, w->entries, w->count, w->now_ms, &w->arena);
}

static void enter(struct world *w, enum record_kind kind, const char *about, const char *detail)
{
  w->entries[w->count] = (struct record_entry){.number = w->count + 1,
                                               .t_ms = w->now_ms,
                                               .kind = kind,
                                               .about = about,
                                               .who = "E. Test",
                                               .text = "x",
                                               .detail = detail};
  w->count++;
}

/* Pairs "key", "value", ..., NULL: an entry, or a refusal. */
static enum err_code say(struct world *w, const char *const *words)
{
  struct typed_pair pairs[12];
  struct sighting_asked asked = {.facility = w->facility,
                                 .now_ms = w->now_ms,
                                 .back_most_s = 86400,
                                 .pairs = pairs,
                                 .now = look(w)};
  struct sighting_told told;

  for (; words[0]; words += 2)
    pairs[asked.count++] = (struct typed_pair){words[0], words[1]};
  buf_release(&w->faults);
  buf_init(&w->faults, 1 << 16);

  enum err_code code = sighting_take(&asked, &w->arena, &told, &w->faults);

  if (code == ERR_OK)
    enter(w, RECORD_GLASS, told.about, told.detail);
  return code;
}

#define SAY(w, ...)  say(w, (const char *const[]){__VA_ARGS__, NULL, NULL})
#define TOLD(w, ...) CHECK_INT(SAY(w, "who", "E. Test", "act", __VA_ARGS__), ERR_OK)
static void refused(struct world *w, const char *why, const char *const *words)
{
  CHECK_INT(say(w, words), ERR_INPUT);
  if (!CHECK(strstr(w->faults.text, why) != NULL))
    puts(w->faults.text);
}
#define REFUSED(w, why, ...)                                                                       \
  refused(w, why, (const char *const[]){"who", "E. Test", "act", __VA_ARGS__, NULL, NULL})

#define SEEN "seen", "about"

static void a_piece_at_another_station_stays_lost_though_it_is_carried_home(void)
{
  struct world w;

  if (begin(&w, "")) {
    TOLD(&w, SEEN, "B3", "mark", "white square K", "piece", "beaker");
    w.now_ms += hour_ms;
    TOLD(&w, SEEN, "B1", "mark", "white square K", "piece", "beaker"); /* at its own station */
    CHECK_INT(look(&w)->lost_count, 1);
    CHECK_INT(look(&w)->case_count, 1);
    CHECK_INT(look(&w)->cases[0].owner, 0);
    CHECK_INT(look(&w)->cases[0].home.number, 2);
    w.now_ms += 300 * day_ms; /* no time heals it */
    CHECK_INT(look(&w)->lost_count, 1);
    CHECK(sighting_asks_a_person(look(&w)));
    TOLD(&w, "cleaned", "entry", "1", "how", "GL-3");
    CHECK_INT(look(&w)->lost_count, 0);
    CHECK_INT(look(&w)->cases[0].done, SIGHTING_CLEANED);
    CHECK_STR(look(&w)->cases[0].how, "GL-3");
    CHECK(!sighting_asks_a_person(look(&w)));
  }
  end(&w);
}

static void what_bears_no_mark_or_nobodys_has_no_status(void)
{
  struct world w;

  if (begin(&w, "")) {
    TOLD(&w, SEEN, "B1", "mark", "unmarked");
    TOLD(&w, SEEN, "B1", "mark", "red star Z");
    CHECK_INT(look(&w)->lost_count, 2);
    CHECK_INT(look(&w)->cases[0].told.verdict, GLASS_UNMARKED);
    CHECK_INT(look(&w)->cases[1].told.verdict, GLASS_STRANGER);
    CHECK_INT(look(&w)->cases[0].owner, -1);
    TOLD(&w, "discarded", "entry", "1");
    CHECK_INT(look(&w)->lost_count, 1);
  }
  end(&w);
}

static void a_piece_that_may_visit_is_not_lost_and_another_of_that_station_is(void)
{
  struct world w;

  if (begin(&w, "")) {
    REFUSED(&w, "piece: what is it?", SEEN, "B2", "mark", "white square K");
    TOLD(&w, SEEN, "B2", "mark", "white square K", "piece", "carrier");
    CHECK_INT(look(&w)->lost_count, 0);
    CHECK_INT(look(&w)->open_count, 1);
    TOLD(&w, SEEN, "B2", "mark", "white square K", "piece", "beaker");
    CHECK_INT(look(&w)->lost_count, 1);
    TOLD(&w, SEEN, "B3", "mark", "white square K", "piece", "carrier"); /* it may not visit B3 */
    CHECK_INT(look(&w)->lost_count, 2);
  }
  end(&w);
}

static void the_same_mark_seen_again_at_the_same_place_is_the_same_case(void)
{
  struct world w;

  if (begin(&w, "")) {
    TOLD(&w, SEEN, "B3", "mark", "white square K");
    w.now_ms += day_ms;
    TOLD(&w, SEEN, "B3", "mark", "white square K", "piece", "beaker", "count", "2");
    CHECK_INT(look(&w)->case_count, 1);
    CHECK_INT(look(&w)->cases[0].times, 2);
    CHECK_INT(look(&w)->cases[0].left, 2);
    CHECK_STR(look(&w)->cases[0].told.piece, "beaker");
    TOLD(&w, SEEN, "B2", "mark", "white square K", "piece", "beaker");
    CHECK_INT(look(&w)->case_count, 2);
    TOLD(&w, "cleaned", "entry", "2", "how", "GL-3", "count", "1");
    CHECK_INT(look(&w)->cases[0].left, 1);
    TOLD(&w, "discarded", "entry", "1");
    CHECK_INT(look(&w)->cases[0].left, 0);
    REFUSED(&w, "says already what was done", "discarded", "entry", "2");
    w.now_ms += day_ms;
    TOLD(&w, SEEN, "B3", "mark", "white square K", "piece", "beaker"); /* after: another case */
    CHECK_INT(look(&w)->case_count, 3);
    CHECK_INT(look(&w)->cases[2].left, 1);
  }
  end(&w);
}

static void what_was_told_wrongly_is_taken_back_by_its_number(void)
{
  struct world w;

  if (begin(&w, "")) {
    TOLD(&w, SEEN, "B3", "mark", "white square K");
    TOLD(&w, "cleaned", "entry", "1", "how", "GL-3");
    TOLD(&w, "taken-back", "entry", "2");
    CHECK_INT(look(&w)->lost_count, 1); /* it was not cleaned after all */
    TOLD(&w, "taken-back", "entry", "1");
    CHECK_INT(look(&w)->case_count, 0);
    CHECK_INT(look(&w)->count_count, 0);
    REFUSED(&w, "taken back already", "taken-back", "entry", "1");
    REFUSED(&w, "takes another back", "taken-back", "entry", "3");
    REFUSED(&w, "tells nothing of glass", "taken-back", "entry", "77");
  }
  end(&w);
}

static void a_no_of_a_round_carries_a_sighting(void)
{
  struct world w;

  if (begin(&w, "")) {
    enter(
        &w, RECORD_ROUND, "B3",
        "{\"schema\":\"inward.round.1\",\"found\":[{\"item\":\"glass\",\"said\":\"no\"}],\"seen\":"
        "{\"mark\":\"white square K\",\"count\":1,\"verdict\":\"astray\"}}");
    enter(&w, RECORD_ROUND, "B2",
          "{\"schema\":\"inward.round.1\",\"found\":[{\"item\":\"glass\",\"said\":\"no\"}]}");
    CHECK_INT(look(&w)->lost_count, 1);
    CHECK_INT(look(&w)->unread, 0);
    TOLD(&w, "discarded", "entry", "1");
    CHECK_INT(look(&w)->lost_count, 0);
  }
  end(&w);
}

static void a_verdict_is_of_the_day_on_which_it_was_seen(void)
{
  struct world w;

  if (begin(&w, "")) { /* told astray by another suite; this one lets it visit */
    enter(
        &w, RECORD_GLASS, "B2",
        "{\"schema\":\"inward.glass_told.1\",\"act\":\"seen\",\"seen\":{\"mark\":\"white square K\","
        "\"piece\":\"carrier\",\"count\":1,\"verdict\":\"astray\"}}");
    enter(&w, RECORD_GLASS, "Gone",
          "{\"schema\":\"inward.glass_told.1\",\"act\":\"seen\",\"seen\":{\"mark\":\"unmarked\","
          "\"count\":1,\"verdict\":\"unmarked\"}}");
    CHECK_INT(look(&w)->lost_count, 2); /* a station that is gone takes nothing with it */
    CHECK_INT(look(&w)->cases[1].station, -1);
  }
  end(&w);
}

static void what_cannot_be_read_is_counted_and_asks_a_person(void)
{
  static const char *const details[] = {
      "",
      "{",
      "{\"schema\":\"inward.glass_told.2\",\"act\":\"discarded\",\"entry\":1}",
      "{\"schema\":\"inward.glass_told.1\",\"act\":\"discarded\",\"entry\":1,\"more\":2}",
      "{\"schema\":\"inward.glass_told.1\",\"act\":\"cleaned\",\"entry\":1}",
      ("{\"schema\":\"inward.glass_told.1\",\"act\":\"seen\",\"seen\":{\"mark\":\"puce\",\"count\":1,"
       "\"verdict\":\"astray\"}}")};
  struct world w;

  if (begin(&w, "")) {
    for (size_t i = 0; i < sizeof details / sizeof *details; i++)
      enter(&w, RECORD_GLASS, "B1", details[i]);
    CHECK_INT(look(&w)->unread, (int)(sizeof details / sizeof *details));
    CHECK(sighting_asks_a_person(look(&w)));
  }
  end(&w);
}

static void a_drawer_is_held_against_what_the_suite_says(void)
{
  struct world w;

  if (begin(&w, "glass: {count at most: 10 d}\n")) {
    CHECK_INT(look(&w)->drawers[1].state, SIGHTING_NOT_KNOWN);
    TOLD(&w, "counted", "about", "B1", "piece", "beaker", "count", "3");
    CHECK_INT(look(&w)->drawers[1].state, SIGHTING_MISSING);
    CHECK_INT(look(&w)->drawers[1].elsewhere, 0);
    TOLD(&w, SEEN, "B3", "mark", "white square K", "piece", "beaker");
    CHECK_INT(look(&w)->drawers[1].elsewhere, 1);
    TOLD(&w, "counted", "about", "B1", "piece", "beaker", "count", "5", "drawer", "2");
    CHECK_INT(look(&w)->drawers[1].state, SIGHTING_TOO_MANY);
    TOLD(&w, "counted", "about", "B1", "piece", "beaker", "count", "4");
    CHECK_INT(look(&w)->drawers[1].state, SIGHTING_RIGHT);
    w.now_ms += 11 * day_ms;
    CHECK_INT(look(&w)->drawers[1].state, SIGHTING_OVERDUE);
    REFUSED(&w, "there are: carrier in drawer 1, beaker in drawer 2", "counted", "about", "B1",
            "piece", "flask", "count", "1");
    REFUSED(&w, "how many", "counted", "about", "B1", "piece", "beaker");
  }
  end(&w);
}

static void sightings_are_counted_by_station_and_mark_within_the_suites_span(void)
{
  struct world w;

  if (begin(&w, "glass: {count over: 60 d}\n")) {
    TOLD(&w, SEEN, "B3", "mark", "red star Z"); /* before the span */
    w.now_ms += 20 * day_ms;
    for (int i = 0; i < 3; i++) {
      TOLD(&w, SEEN, "B3", "mark", "white square K");
      w.now_ms += 10 * day_ms;
    }
    TOLD(&w, SEEN, "B2", "mark", "unmarked");
    w.now_ms += 30 * day_ms; /* 80 d after the first, which is out of it */

    const struct sighting_list *list = look(&w);
    const double span_s = 60 * 86400.0;

    if (CHECK_INT(list->count_count, 2)) {
      CHECK_STR(list->counts[0].mark, "white square K");
      CHECK_INT(list->counts[0].sightings, 3);
      CHECK_INT(list->counts[0].cases, 1);
      CHECK_NEAR(list->counts[0].mean_per_s * span_s, 3, 0, 1e-12);
      CHECK_NEAR(list->counts[0].low_per_s * span_s, 0.618672, 0, 1e-6);
      CHECK_NEAR(list->counts[0].high_per_s * span_s, 8.767273, 0, 1e-6);
    }
  }
  end(&w);
}

/*
 * Exact limits have closed forms where the count is 0 or 1 from below: none in a span of mean m has the
 * chance exp(-m).  The others: chi-squared quantiles, half of chi2(0.025, 2n) and chi2(0.975, 2n + 2)
 * (Garwood, Biometrika 28 (1936) 437), computed with SciPy 1.10 (scipy.stats.chi2.ppf).
 */
static void the_limits_of_a_poisson_count_are_garwoods(void)
{
  static const struct {
    int count;
    double low, high;
  } rows[] = {{2, 0.2422092785, 7.2246876677},
              {3, 0.6186721229, 8.7672730697},
              {10, 4.7953886961, 18.3903560420},
              {100, 81.3639912509, 121.6267937924}};
  double low, high;

  sighting_poisson_limits(0, &low, &high);
  CHECK_NEAR(low, 0, 0, 0);
  CHECK_NEAR(high, -log(0.025), 0, 1e-9);
  sighting_poisson_limits(1, &low, &high);
  CHECK_NEAR(low, -log(0.975), 0, 1e-9);
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    sighting_poisson_limits(rows[i].count, &low, &high);
    CHECK_NEAR(low, rows[i].low, 0, 1e-6);
    CHECK_NEAR(high, rows[i].high, 0, 1e-6);
  }
}

static void what_is_told_in_vain_is_refused(void)
{
  struct world w;

  if (begin(&w, "")) {
    REFUSED(&w, "seen, cleaned", "lost");
    REFUSED(&w, "who are you", "seen", "who", "inward");
    REFUSED(&w, "no station 'B9'", SEEN, "B9", "mark", "unmarked");
    REFUSED(&w, "what stands on it", SEEN, "B1");
    REFUSED(&w, "no part of a mark", SEEN, "B1", "mark", "puce");
    REFUSED(&w, "1 to 1000", SEEN, "B1", "mark", "unmarked", "count", "0");
    TOLD(&w, SEEN, "B3", "mark", "white square K");
    REFUSED(&w, "by which procedure", "cleaned", "entry", "1");
    REFUSED(&w, "only 1", "discarded", "entry", "1", "count", "2");
    REFUSED(&w, "before it was seen last", "discarded", "entry", "1", "at", "2026-11-29 12:00");
    TOLD(&w, SEEN, "B1", "mark", "white square K"); /* at home: there is nothing to be done */
    REFUSED(&w, "tells of no piece", "discarded", "entry", "2");
  }
  end(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_piece_at_another_station_stays_lost_though_it_is_carried_home);
  RUN(what_bears_no_mark_or_nobodys_has_no_status);
  RUN(a_piece_that_may_visit_is_not_lost_and_another_of_that_station_is);
  RUN(the_same_mark_seen_again_at_the_same_place_is_the_same_case);
  RUN(what_was_told_wrongly_is_taken_back_by_its_number);
  RUN(a_no_of_a_round_carries_a_sighting);
  RUN(a_verdict_is_of_the_day_on_which_it_was_seen);
  RUN(what_cannot_be_read_is_counted_and_asks_a_person);
  RUN(a_drawer_is_held_against_what_the_suite_says);
  RUN(sightings_are_counted_by_station_and_mark_within_the_suites_span);
  RUN(the_limits_of_a_poisson_count_are_garwoods);
  RUN(what_is_told_in_vain_is_refused);
  return check_end();
}
