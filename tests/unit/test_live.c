#include "answer/answer.h"

#include "check.h"

#include <math.h>
#include <string.h>

/* The live answer: what outranks what, and that nothing unknown is shown as good.  By the demo suite. */

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "unmeasured: parked\n"
    "sources: {bus: {old after: 60 s, mqtt: {host: h}}, us: {old after: 4 h, hand: {}}}\n"
    "points:\n"
    "  a1: {of: A1, what: opening, from: bus, at: a, unit: m}\n"
    "  a2: {of: A2, what: opening, from: us, unit: m}\n"
    "  s3: {of: S3, what: opening, from: us, unit: m}\n"
    "  s3-alarm: {of: S3, what: alarm, from: us}\n"
    "  alarm: {what: alarm, from: us}\n"
    "  wet: {of: Wet, what: pressure, over: Gown, from: us, unit: Pa}\n";

enum { NOW_MS = 1000000000 };

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  struct watch *watch;
  struct air *air;
  struct watch_belief belief;
  struct answer_live live;
  struct answer_live_verdict verdict;
  struct buf json;
};

static bool read_suite(struct world *w)
{
  static char text[1 << 18];
  FILE *file = fopen("examples/quillmere/suite.yaml", "r");
  struct facility_text suite = {"suite.yaml", text, 0};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};

  if (!CHECK(file != NULL))
    return false;
  suite.size = fread(text, 1, sizeof text, file);
  fclose(file);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (w->facility)
    w->feeds = feeds_read(w->facility, &feeds, &w->complaints);
  return CHECK(w->feeds != NULL);
}

static bool world_make(struct world *w)
{
  *w = (struct world){0};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&w->complaints, &w->arena);
  buf_init(&w->json, 1 << 22);
  if (!read_suite(w))
    return false;
  w->watch = watch_new(w->facility, w->feeds);
  w->air = air_new(w->facility, NULL);
  return CHECK(w->air != NULL);
}

static void world_release(struct world *w)
{
  air_free(w->air);
  watch_free(w->watch);
  feeds_free(w->feeds);
  facility_free(w->facility);
  buf_release(&w->json);
  arena_release(&w->arena);
}

static void say(struct world *w, const char *id, int64_t t_ms, double si)
{
  struct feed_observation o = {.point = feeds_point_find(w->feeds, id),
                               .t_ms = t_ms,
                               .seen_ms = t_ms,
                               .si = si,
                               .quality = FEED_GOOD};

  watch_take(w->watch, &o);
}

static void say_all(struct world *w, int64_t t_ms)
{
  say(w, "a1", t_ms, 0);
  say(w, "a2", t_ms, 0);
  say(w, "s3", t_ms, 0);
  say(w, "s3-alarm", t_ms, 0);
  say(w, "alarm", t_ms, 0);
  say(w, "wet", t_ms, 10);
}

static void ask(struct world *w, int64_t now_ms)
{
  w->belief = watch_believe(w->watch, now_ms, &w->arena);
  w->live = (struct answer_live){
      .facility = w->facility,
      .feeds = w->feeds,
      .belief = &w->belief,
      .air = air_ask(w->air, &w->belief.scene, &air_settings_sure, &w->arena, NULL),
      .since_ms = now_ms - 90000,
      .number = 7};
  w->verdict = answer_live_judge(&w->live, &w->arena);
  buf_clear(&w->json);
  answer_live_json(&w->live, &w->json);
}

static const char *act(struct world *w)
{
  static char text[200];
  struct buf out;

  buf_init(&out, 1024);
  answer_live_act(&w->live, &w->verdict, &out);
  snprintf(text, sizeof text, "%s", out.text);
  buf_release(&out);
  return text;
}

static bool has(const struct world *w, const char *words)
{
  return strstr(w->json.text, words) != NULL;
}

static int count(const struct world *w, const char *words)
{
  int n = 0;

  for (const char *p = w->json.text; (p = strstr(p, words)); p += strlen(words))
    n++;
  return n;
}

static void what_is_known_is_answered_as_the_same_scene_would_be(void)
{
  struct world w;
  struct buf plain, said;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS);
  ask(&w, NOW_MS + 5000);
  CHECK_INT(w.verdict.state, w.live.air->state);
  CHECK(w.verdict.advises);
  CHECK(has(&w, "\"schema\": \"inward.live.1\"") && has(&w, "\"number\": 7"));
  CHECK(has(&w, "\"since_s\": 90") && has(&w, "\"age_s\": 5"));
  CHECK(has(&w, "\"value_m\": 0"));
  CHECK(has(&w, "\"value_Pa\": 10"));
  buf_init(&plain, 256);
  buf_init(&said, 256);
  answer_act(w.facility, w.live.air, &plain);
  answer_live_act(&w.live, &w.verdict, &said);
  CHECK_STR(said.text, plain.text);
  buf_release(&plain);
  buf_release(&said);
  world_release(&w);
}

static void what_is_not_known_has_no_number_and_means_no(void)
{
  struct world w;
  struct answer_live_earlier earlier;
  struct watch_belief before;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS);
  ask(&w, NOW_MS);
  before = w.belief;
  earlier = (struct answer_live_earlier){NOW_MS, &before.scene, w.live.air};
  ask(&w, NOW_MS + 60001); /* A1 is too old now */
  CHECK_INT(w.verdict.state, FACILITY_NOT_KNOWN);
  CHECK_STR(act(&w), "NOT KNOWN: TREAT AS NO");
  CHECK(has(&w, "\"air\": null") && has(&w, "\"earlier\": null"));
  CHECK(has(&w, "A1: a1 (bus): 1 min old, more than the 1 min it may be"));
  /* the solvent main needs nothing of A1, but advice waits until all is known */
  CHECK_INT(w.verdict.pools[0], FACILITY_NOT_KNOWN);
  CHECK(w.verdict.pools[1] != FACILITY_NOT_KNOWN);
  CHECK_INT(count(&w, "\"more_guaranteed\": null"), 3);
  CHECK_INT(count(&w, "\"demand_m3_s\": null"), 2);
  CHECK_INT(count(&w, "\"may_open\": null"), w.facility->station_count);
  w.live.earlier = &earlier;
  buf_clear(&w.json);
  answer_live_json(&w.live, &w.json);
  CHECK(has(&w, "\"earlier\": {\n    \"t\": ") && has(&w, "\"age_s\": 60.001"));
  world_release(&w);
}

static void the_buildings_alarm_outranks_everything(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS);
  say(&w, "alarm", NOW_MS + 1, 1);
  ask(&w, NOW_MS + 2);
  CHECK_INT(w.verdict.state, FACILITY_NOT_KNOWN);
  CHECK_STR(act(&w), "BUILDING ALARM: FOLLOW THE BUILDING");
  CHECK(has(&w, "\"building_alarm\": true") && has(&w, "\"air\": null"));
  CHECK(has(&w, "\"lower_first\": null"));
  CHECK_INT(count(&w, "\"demand_m3_s\": null"), 3);
  CHECK_STR(w.verdict.reasons[0], "the building's alarm is on");
  world_release(&w);
}

static void a_stations_own_alarm_ends_all_advice(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS);
  say(&w, "s3-alarm", NOW_MS + 1, 1);
  ask(&w, NOW_MS + 2);
  CHECK_STR(act(&w), "OWN ALARM AT S3: FOLLOW IT");
  CHECK(w.verdict.state != FACILITY_NOT_KNOWN && !w.verdict.advises);
  CHECK(has(&w, "\"own_alarms\": [\n    \"S3\"") && has(&w, "\"lower_first\": null"));
  CHECK(has(&w, "\"air\": null"));
  CHECK_INT(count(&w, "\"more_guaranteed\": null"), 3);
  CHECK_INT(count(&w, "\"may_open\": null"), w.facility->station_count);
  world_release(&w);
}

static void a_stop_of_all_work_says_so_and_ends_all_advice(void)
{
  bool released[64] = {[1] = true}, withdrawn[64] = {[2] = true};
  const struct watch_stop stop = {.since_ms = NOW_MS,
                                  .act = "NO WORK AT 12 OF 14 STATIONS: NOT RELEASED",
                                  .why = "all work is stopped since then: power was lost",
                                  .next = "people release stations",
                                  .released = released,
                                  .withdrawn = withdrawn};
  struct world w;
  struct buf text;

  REQUIRE(world_make(&w));
  REQUIRE(w.facility->station_count <= 64);
  say_all(&w, NOW_MS);
  watch_stop(w.watch, &stop);
  released[0] = true; /* it was copied */
  ask(&w, NOW_MS + 2);
  CHECK_STR(act(&w), stop.act);
  CHECK(w.verdict.state != FACILITY_NOT_KNOWN && !w.verdict.advises);
  CHECK_STR(w.verdict.reasons[0], stop.why);
  CHECK(has(&w, "\"stopped\": {\n    \"act\": \"NO WORK AT 12"));
  CHECK(has(&w, "\"released\": [\n      \"A2\"\n    ]"));
  CHECK(has(&w, "\"lower_first\": null") && !has(&w, "\"act\": \"AIR FOR"));
  CHECK(!has(&w, "\"air\": null")); /* what runs is still told, and no word of opening */
  CHECK_INT(count(&w, "\"may_open\": null"), 2 * w.facility->station_count);
  CHECK_INT(count(&w, "\"more_guaranteed\": null"), 6);
  buf_init(&text, 1 << 20);
  answer_live_text(&w.live, UNITS_SYSTEM_SI, &text);
  CHECK(strstr(text.text, "NO WORK AT 12 OF 14 STATIONS") &&
        strstr(text.text, "  Next: people release stations\n") &&
        !strstr(text.text, "Lower first"));
  buf_release(&text);

  say(&w, "s3-alarm", NOW_MS + 3, 1);
  ask(&w, NOW_MS + 4);
  CHECK_STR(act(&w),
            "NO WORK AT 12 OF 14 STATIONS: NOT RELEASED \302\267 OWN ALARM AT S3: FOLLOW IT");
  say(&w, "alarm", NOW_MS + 5, 1);
  ask(&w, NOW_MS + 6);
  CHECK_STR(act(&w), "BUILDING ALARM: FOLLOW THE BUILDING");
  say(&w, "alarm", NOW_MS + 7, 0);
  say(&w, "s3-alarm", NOW_MS + 7, 0);
  watch_stop(w.watch, NULL);
  ask(&w, NOW_MS + 8);
  CHECK(w.verdict.advises && has(&w, "\"stopped\": null"));
  world_release(&w);
}

/* Wet is computed well above its least: a manometer far below it says that one of the two is wrong. */
static void a_pressure_outside_its_keep_and_computed_inside_is_a_contradiction(void)
{
  struct world w;
  double computed_Pa, pm_Pa;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS);
  ask(&w, NOW_MS);
  computed_Pa = w.live.air->rooms[0].keeps[0].actual_Pa;
  pm_Pa = w.live.air->rooms[0].keeps[0].actual_pm_Pa;
  REQUIRE(computed_Pa - pm_Pa > 7 && isfinite(pm_Pa));
  say(&w, "wet", NOW_MS + 1, 5.0); /* min 6.0 Pa */
  ask(&w, NOW_MS + 2);
  CHECK_INT(w.verdict.contradiction_count, 1);
  CHECK_INT(w.verdict.state, FACILITY_NOT_KNOWN);
  CHECK_INT(w.verdict.pools[0], FACILITY_NOT_KNOWN); /* Acid draws from it */
  CHECK(w.verdict.pools[1] != FACILITY_NOT_KNOWN);   /* Solvent does not */
  CHECK_INT(w.verdict.pools[2], FACILITY_NOT_KNOWN); /* MU feeds it */
  CHECK(has(&w, "Wet over Gown: wet measures 5.0 Pa, computed is"));
  say(&w, "wet", NOW_MS + 3, 5.88); /* within tolerance and resolution of the least */
  ask(&w, NOW_MS + 4);
  CHECK_INT(w.verdict.contradiction_count, 0);
  world_release(&w);
}

static void what_is_too_old_is_said_on_a_terminal_too(void)
{
  struct world w;
  struct buf out;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS);
  ask(&w, NOW_MS + 120000);
  buf_init(&out, 1 << 16);
  answer_live_text(&w.live, UNITS_SYSTEM_SI, &out);
  CHECK(strstr(out.text, "not known, for 1 min") != NULL);
  CHECK(strstr(out.text, "NOT KNOWN: TREAT AS NO") != NULL);
  CHECK(strstr(out.text, "Shared air only.") != NULL);
  CHECK(strstr(out.text, "A1: a1 (bus): 2 min old") != NULL);
  CHECK(strstr(out.text, "safe") == NULL);
  buf_release(&out);
  world_release(&w);
}

static int reasons_with(const struct world *w, const char *words)
{
  int n = 0;

  for (int i = 0; i < w->verdict.reason_count; i++)
    n += strstr(w->verdict.reasons[i], words) != NULL;
  return n;
}

static void a_lost_source_is_one_reason_with_what_to_do(void)
{
  struct answer_live_source sources[2] = {{.connected = true}, {.connected = true}};
  struct world w;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS);
  say(&w, "a1", NOW_MS + 18000000, 0); /* the other source goes on */
  ask(&w, NOW_MS + 18000000);
  CHECK_INT(reasons_with(&w, "nothing from us for 5 h: "), 1);
  CHECK_INT(reasons_with(&w, ": 2 values: a2, s3; "), 1);
  CHECK_INT(reasons_with(&w, "; read them where they are and enter them on the Record page"), 1);
  CHECK_INT(reasons_with(&w, "A2: a2 (us)"), 0);
  CHECK_INT(reasons_with(&w, "the building's alarm is not heard: "),
            1); /* it means more: its own line */
  CHECK(has(&w,
            "A2: a2 (us): 5 h old, more than the 4 h it may be")); /* not_known[] and A2 keep it */
  /* one value of it came: it is not lost, and the reason says so */
  say(&w, "wet", NOW_MS + 18000000, 10);
  ask(&w, NOW_MS + 18000000);
  CHECK_INT(reasons_with(&w, "4 of the 5 values of us are old: "), 1);
  CHECK_INT(reasons_with(&w, "nothing from us"), 0);
  /* it is heard, and what it says is old */
  sources[1].heard_ms = NOW_MS + 36000000 - 1000;
  ask(&w, NOW_MS + 36000000);
  w.live.sources = sources;
  w.verdict = answer_live_judge(&w.live, &w.arena);
  CHECK_INT(reasons_with(&w, "us sends, but what it sends is old, by 5 h"), 1);
  sources[1] = (struct answer_live_source){.heard_ms = INT64_MIN, .why = "no route"};
  w.verdict = answer_live_judge(&w.live, &w.arena);
  CHECK_INT(reasons_with(&w, "nothing from us for 5 h (not connected: no route): "), 1);
  world_release(&w);
}

static void nothing_that_ever_came_is_told_once_for_its_source(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  ask(&w, NOW_MS);
  CHECK_INT(reasons_with(&w, "nothing came yet from us: "), 1);
  CHECK_INT(reasons_with(&w, "A1: a1 (bus): nothing came yet"),
            1); /* one value: its own sentence */
  CHECK_INT(reasons_with(&w, "A2:"), 0);
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_is_known_is_answered_as_the_same_scene_would_be);
  RUN(what_is_not_known_has_no_number_and_means_no);
  RUN(the_buildings_alarm_outranks_everything);
  RUN(a_stations_own_alarm_ends_all_advice);
  RUN(a_stop_of_all_work_says_so_and_ends_all_advice);
  RUN(a_pressure_outside_its_keep_and_computed_inside_is_a_contradiction);
  RUN(what_is_too_old_is_said_on_a_terminal_too);
  RUN(a_lost_source_is_one_reason_with_what_to_do);
  RUN(nothing_that_ever_came_is_told_once_for_its_source);
  return check_end();
}
