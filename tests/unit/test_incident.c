#include "incident/incident.h"

#include "check.h"

#include <math.h>
#include <string.h>

/* What people tell: nothing guessed, every fault named, nothing rated; what was measured kept as it was. */

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Telling\n"
    "call: Desk, 4210\n"
    "rooms: {Etch: {}, Store: {}}\n"
    "mains: {Acid: {capacity: {value: 3000 m3/h}}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}},\n"
    "       call: \"First aider, 4111\", name: HF hood}\n"
    "  A2: {kind: fume hood, room: Store, main: Acid, flow: {constant: 300 m3/h}}\n";
static const char feeds_text[] = "inward: 1 feeds\n"
                                 "sources: {us: {old after: 60 s, hand: {}}}\n"
                                 "points:\n"
                                 "  far: {of: A2, what: flow, from: us, unit: m3/h}\n"
                                 "  flow: {of: A1, what: flow, from: us, unit: m3/h}\n"
                                 "  there: {of: A1, what: presence, from: us}\n"
                                 "  alarm: {of: A1, what: alarm, from: us}\n";

enum { NOW_S = 1700000000 };
static const int64_t now_ms = (int64_t)NOW_S * 1000;

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  struct buf out;
};

static bool world_make(struct world *w)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};

  *w = (struct world){0};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&w->complaints, &w->arena);
  buf_init(&w->out, 1 << 20);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &w->complaints) : NULL;
  return CHECK(w->feeds != NULL);
}

static void world_release(struct world *w)
{
  feeds_free(w->feeds);
  facility_free(w->facility);
  buf_release(&w->out);
  arena_release(&w->arena);
}

static enum err_code tell(struct world *w, const struct typed_pair *pairs,
                          struct incident_told *told)
{
  struct incident_asked asked = {
      .facility = w->facility, .zone = when_utc(), .now_ms = now_ms, .pairs = pairs};

  while (asked.count < 12 && pairs[asked.count].key)
    asked.count++;
  buf_clear(&w->out);
  return incident_take(&asked, &w->arena, told, &w->out);
}

static void two_taps_are_enough_and_nobody_is_named(void)
{
  struct incident_told told;
  struct world w;

  if (!world_make(&w))
    return;
  CHECK(tell(&w, (struct typed_pair[]){{"incident", "odour"}, {"about", "A1"}, {0}}, &told) ==
        ERR_OK);
  CHECK(strcmp(told.text, "it smells at A1 (HF hood)") == 0);
  CHECK(strcmp(told.who, "somebody") == 0);
  CHECK(told.t_ms == now_ms && !told.what.at_said);
  world_release(&w);
}

static void what_was_told_reads_back_as_it_was_told(void)
{
  struct incident_told told;
  struct incident again;
  struct world w;

  if (!world_make(&w))
    return;
  CHECK(tell(&w,
             (struct typed_pair[]){{"incident", "exposure"},
                                   {"substance", "  hydrofluoric \"acid\" {{{{{{{{{{ "},
                                   {"strength", "10 %"},
                                   {"way", "skin"},
                                   {"at", "2023-11-14 21:00"},
                                   {"who", "J. Berg"},
                                   {0}},
             &told) == ERR_OK);
  /* now is 2023-11-14 22:13:20 UTC */
  CHECK(told.what.at_said && told.t_ms == now_ms - (73 * 60 + 20) * 1000);
  CHECK(incident_read(told.detail, &w.arena, &again));
  CHECK(again.kind == INCIDENT_EXPOSURE && again.at_said && again.adds_to == 0);
  CHECK(strcmp(again.values[0], "hydrofluoric \"acid\" {{{{{{{{{{") == 0);
  CHECK(strcmp(again.values[1], "10 %") == 0 && again.values[2] == NULL);
  CHECK(!incident_read("{\"schema\": \"inward.incident.1\", \"incident\": \"party\"}", &w.arena,
                       &again));
  CHECK(!incident_read("", &w.arena, &again));
  world_release(&w);
}

static void every_fault_is_named_at_once_and_nothing_is_taken(void)
{
  static const char *const faults[] = {
      "about: the suite has no 'A11'; did you mean A1?",
      "who: 'inward' is how the program itself signs",
      "at: 2999-01-01 10:00 has not come yet",
      "no field \"smel\" here; did you mean \"smell\"? There are: ",
      "smell: character 2, U+001B, is a control character",
      "words: character 1, U+202E, turns the order",
      "source_removed: one of yes|no|not known, not 'maybe'"};
  struct incident_told told = {.about = "untouched"};
  struct world w;

  if (!world_make(&w))
    return;
  CHECK(tell(&w,
             (struct typed_pair[]){{"incident", "odour"},
                                   {"about", "A11"},
                                   {"who", "inward"},
                                   {"at", "2999-01-01 10:00"},
                                   {"smel", "yes"},
                                   {"smell", "a\x1b[2J"},
                                   {"words", "\xe2\x80\xae"
                                             "harmless"},
                                   {"source_removed", "maybe"},
                                   {0}},
             &told) == ERR_INPUT);
  for (size_t i = 0; i < sizeof faults / sizeof *faults; i++)
    if (!CHECK(strstr(w.out.text, faults[i]) != NULL))
      fprintf(stderr, "%s\n", faults[i]);
  CHECK(strcmp(told.about, "untouched") == 0);
  world_release(&w);
}

static bool is_refused(struct world *w, const char *why, const struct typed_pair *pairs)
{
  struct incident_told told;
  bool refused = tell(w, pairs, &told) == ERR_INPUT && strstr(w->out.text, why);

  if (!refused)
    fprintf(stderr, "%s: %s\n", why, w->out.text);
  return refused;
}

static void each_kind_asks_for_what_it_needs(void)
{
  struct world w;
  char long_text[INCIDENT_FIELD_MOST_BYTES + 2];

  if (!world_make(&w))
    return;
  memset(long_text, 'x', sizeof long_text - 1);
  long_text[sizeof long_text - 1] = '\0';
  CHECK(is_refused(&w, "about: where?", (struct typed_pair[]){{"incident", "odour"}, {0}}));
  CHECK(is_refused(&w, "'Etch' is no station",
                   (struct typed_pair[]){{"incident", "spill-inside"}, {"about", "Etch"}, {0}}));
  CHECK(is_refused(&w, "words: must be said",
                   (struct typed_pair[]){{"incident", "near-miss"}, {"words", "  "}, {0}}));
  CHECK(is_refused(&w, "what happened?", (struct typed_pair[]){{"about", "A1"}, {0}}));
  CHECK(is_refused(&w, "nothing is added",
                   (struct typed_pair[]){{"incident", "odour"}, {"adds_to", "3"}, {0}}));
  CHECK(is_refused(&w, "adds_to: the number",
                   (struct typed_pair[]){{"incident", "odour"}, {"adds_to", "-3"}, {0}}));
  CHECK(
      is_refused(&w, "said twice",
                 (struct typed_pair[]){
                     {"incident", "odour"}, {"about", "A1"}, {"smell", "a"}, {"smell", "b"}, {0}}));
  CHECK(is_refused(
      &w, "501 bytes; at most 500",
      (struct typed_pair[]){{"incident", "odour"}, {"about", "A1"}, {"smell", long_text}, {0}}));
  CHECK(is_refused(
      &w, "smell: not UTF-8",
      (struct typed_pair[]){{"incident", "odour"}, {"about", "A1"}, {"smell", "\xff\xfe"}, {0}}));
  world_release(&w);
}

static void a_told_time_lies_within_what_the_suite_says(void)
{
  struct typed_pair pairs[] = {
      {"incident", "odour"}, {"about", "A1"}, {"at", "2022-10-09 22:00"}, {0}};
  struct incident_asked asked = {.zone = when_utc(), .now_ms = now_ms, .pairs = pairs, .count = 3};
  struct incident_told told;
  struct world w;

  if (!world_make(&w))
    return;
  CHECK_NEAR(w.feeds->told_back_s, 400 * 86400, 1e-12, 0);
  CHECK_NEAR(feeds_told_back_usual_s(), 400 * 86400, 1e-12, 0);
  asked.facility = w.facility;
  asked.back_most_s =
      w.feeds->told_back_s; /* now is 2023-11-14 22:13:20 UTC, 400 d after 2022-10-10 */
  CHECK(incident_take(&asked, &w.arena, &told, &w.out) == ERR_INPUT);
  CHECK(strstr(w.out.text,
               "at: 2022-10-09 22:00 is too long ago: at most 400 d back, as `record: {told") !=
        NULL);
  pairs[2].value = "2022-10-10 23:00";
  CHECK(incident_take(&asked, &w.arena, &told, &w.out) == ERR_OK);
  world_release(&w);
}

static void whom_to_call_is_said_first_and_nothing_is_rated(void)
{
  static const char *const never[] = {"safe",  "severe",  "severity", "minor",
                                      "major", "serious", "harmless"};
  struct world w;

  if (!world_make(&w))
    return;
  for (int i = 0; i < INCIDENT_KINDS; i++) {
    const struct incident_form *form = incident_form((enum incident_kind)i);

    buf_clear(&w.out);
    for (int k = 0; k < INCIDENT_FIRST_MOST && form->first[k]; k++)
      incident_put_first(form->first[k], w.facility, 0, &w.out);
    CHECK(strstr(w.out.text, "First aider, 4111; Desk, 4210") != NULL);
    CHECK(!strchr(w.out.text, '{'));
  }
  buf_clear(&w.out);
  incident_forms_json(w.facility, &w.out);
  for (size_t i = 0; i < sizeof never / sizeof *never; i++)
    CHECK(strstr(w.out.text, never[i]) == NULL);
  CHECK(strstr(w.out.text, "Desk, 4210") != NULL);
  world_release(&w);
}

/* ---- what was measured ---- */

static void say(struct world *w, struct incident_freezer *z, const char *id, int after_s, double si,
                enum feed_quality quality)
{
  struct feed_observation o = {.point = feeds_point_find(w->feeds, id),
                               .t_ms = now_ms + (int64_t)after_s * 1000,
                               .si = si,
                               .quality = quality};

  incident_freezer_take(z, &o);
}

static struct incident_freezer *begin(struct world *w)
{
  const struct incident_frozen span = {
      .number = 7, .from_ms = now_ms - 300000, .t_ms = now_ms, .to_ms = now_ms + 300000};

  return incident_freezer_new(w->facility, w->feeds, "A1", &span, &w->arena);
}

/* Values hold 60 s: flow 0.1 from 310 s before (so until 250 s before), nothing, 0.1 at -30 s, 0.3 at
 * 20 s, which holds until 80 s; then missing.  Known: 50 + 50 + 60 = 160 s. */
static void what_is_missing_is_a_gap_and_what_turned_has_its_moment(void)
{
  const struct incident_frozen *frozen;
  const struct incident_point *p;
  struct incident_freezer *z;
  struct world w;

  if (!world_make(&w))
    return;
  z = begin(&w);
  say(&w, z, "flow", -310, 0.1, FEED_GOOD);
  say(&w, z, "flow", -30, 0.1, FEED_GOOD);
  say(&w, z, "there", -10, 1, FEED_GOOD);
  say(&w, z, "flow", 20, 0.3, FEED_GOOD);
  say(&w, z, "flow", 100, (double)NAN, FEED_FAULTY);
  frozen = incident_freezer_end(z);
  CHECK(frozen->point_count == 3); /* who was there is not kept for ever */
  p = &frozen->points[0];
  CHECK(strcmp(p->id, "flow") == 0 && strcmp(frozen->points[2].id, "far") == 0);
  CHECK(fabs(p->first_si - 0.1) < 1e-12 && fabs(p->then_si - 0.1) < 1e-12 && isnan(p->last_si));
  CHECK(fabs(p->least_si - 0.1) < 1e-12 && fabs(p->greatest_si - 0.3) < 1e-12);
  CHECK(fabs(p->known_s - 160) < 1e-9);
  CHECK(p->turn_count == 1 && fabs(p->turns[0].at_s - 20) < 1e-9);
  CHECK(p->gap_count == 2 && fabs(p->gaps[0].from_s + 250) < 1e-9 &&
        fabs(p->gaps[0].to_s + 30) < 1e-9 && fabs(p->gaps[1].from_s - 80) < 1e-9 &&
        fabs(p->gaps[1].to_s - 300) < 1e-9);
  CHECK(frozen->points[1].known_s <= 0 && isnan(frozen->points[1].then_si));
  world_release(&w);
}

static void what_is_kept_reads_back_the_same(void)
{
  struct incident_frozen again;
  struct incident_freezer *z;
  struct world w;

  if (!world_make(&w))
    return;
  z = begin(&w);
  say(&w, z, "alarm", -60, 0, FEED_GOOD);
  say(&w, z, "flow", -60, 1.0 / 3, FEED_GOOD);
  say(&w, z, "alarm", 5, 1, FEED_GOOD);
  incident_frozen_json(incident_freezer_end(z), 64 << 10, &w.out);
  CHECK(incident_frozen_read(w.out.text, &w.arena, &again));
  CHECK(again.number == 7 && again.point_count == 3 && again.t_ms == now_ms);
  CHECK(!(again.points[0].then_si < 1.0 / 3) && !(again.points[0].then_si > 1.0 / 3));
  CHECK(again.points[1].turn_count == 1 && again.points[1].turns[0].si > 0.5);
  CHECK(isnan(again.points[2].first_si));
  world_release(&w);
}

static void what_does_not_fit_an_entry_is_left_out_and_counted(void)
{
  struct incident_frozen many = {.number = 7, .to_ms = 1, .point_count = 400}, again;
  struct world w;

  if (!world_make(&w))
    return;
  many.points = ARENA_ARRAY(&w.arena, struct incident_point, 400);
  for (int i = 0; i < many.point_count; i++) {
    struct incident_point *p = &many.points[i];

    *p = (struct incident_point){
        .id = arena_printf(&w.arena, "p%d", i), .of = "A1", .what = "flow", .unit = "m3/s"};
    for (p->turn_count = 0; p->turn_count < INCIDENT_TURNS_MOST; p->turn_count++)
      p->turns[p->turn_count] = (struct incident_turn){p->turn_count / 3.0, p->turn_count / 7.0};
  }
  incident_frozen_json(&many, 64 << 10, &w.out);
  CHECK(w.out.used > 0 && w.out.used <= 64 << 10 && !w.out.full);
  CHECK(incident_frozen_read(w.out.text, &w.arena, &again));
  CHECK(again.points_left_out > 0 && again.point_count + again.points_left_out == 400);
  CHECK(again.points[0].turns_more == INCIDENT_TURNS_MOST && again.points[0].turn_count == 0);
  CHECK(strcmp(again.points[0].id, "p0") == 0); /* the nearest stays */
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(two_taps_are_enough_and_nobody_is_named);
  RUN(what_was_told_reads_back_as_it_was_told);
  RUN(every_fault_is_named_at_once_and_nothing_is_taken);
  RUN(a_told_time_lies_within_what_the_suite_says);
  RUN(each_kind_asks_for_what_it_needs);
  RUN(whom_to_call_is_said_first_and_nothing_is_rated);
  RUN(what_is_missing_is_a_gap_and_what_turned_has_its_moment);
  RUN(what_is_kept_reads_back_the_same);
  RUN(what_does_not_fit_an_entry_is_left_out_and_counted);
  return check_end();
}
