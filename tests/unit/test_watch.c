#include "watch/watch.h"

#include "check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * From observations to a belief.  Properties first: the order of arrival never matters, nothing grows
 * younger by itself, and what is lost makes those pools not known that need it, and no others.
 */

static const char suite_text[] =
    "inward: 1 suite\n"
    "rooms: {Etch: {}, Litho: {}, Store: {}}\n"
    "junctions: {J: {}, K: {}}\n"
    "leaks: {L1: {from: Etch, to: outdoors, area: 1 cm2}, L2: {from: Litho, to: outdoors, area: 1 cm2},\n"
    "        L3: {from: Store, to: outdoors, area: 1 cm2}}\n"
    "doors: {D1: {from: Etch, to: Store, closed: {area: 1 cm2}, open: {area: 1 m2}},\n"
    "        D2: {from: Store, to: outdoors, closed: {area: 1 cm2}, open: {area: 1 m2}}}\n"
    "fans:\n"
    "  EF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}\n"
    "  SF: {from: K, to: outdoors, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}\n"
    "  FF: {from: Store, to: Litho, shut-off: 90 Pa, falls: 150 Pa/(m3/s)2}\n"
    "mains:\n"
    "  Acid: {at: J, fans: [EF]}\n"
    "  Solvent: {at: K, fans: [SF], capacity: {value: 4000 m3/h, demand: measured}}\n"
    "supplies:\n"
    "  MA: {most: 9000 m3/h, feeds: {Etch: {follows exhaust: {offset: 0 m3/h}, least: 0 m3/h, most: 9000 m3/h}}}\n"
    "  MS: {most: 9000 m3/h, feeds: {Litho: {follows exhaust: {offset: 0 m3/h}, least: 0 m3/h, most: 9000 m3/h}}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, width: 1.5 m, opening: {parked: 0.02 m, work: 0.4 m, most: 0.7 m},\n"
    "       flow: {follows opening: {velocity: 0.5 m/s, least: 500 m3/h, most: 1500 m3/h}}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0 m, work: 0.4 m, most: 0.7 m},\n"
    "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  A3: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 200 m3/h}}\n"
    "  S1: {kind: fume hood, room: Litho, main: Solvent, opening: {parked: 0 m, work: 0.4 m, most: 0.7 m}, deck: 30 %, width: 1 m,\n"
    "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  S2: {kind: fume hood, room: Litho, main: Solvent, opening: {parked: 0 m, work: 0.4 m, most: 0.7 m},\n"
    "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n";

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources:\n"
    "  bus: {old after: 60 s, frozen after: 1 h, mqtt: {host: h}}\n"
    "  plc: {old after: 20 s, mqtt: {host: h}}\n"
    "  us: {old after: 4 h, hand: {}}\n"
    "points:\n"
    "  a1-open: {of: A1, what: opening, from: bus, at: a, unit: m, resolution: 1 cm}\n"
    "  a1-plc: {of: A1, what: opening, from: plc, at: b, unit: m, resolution: 1 cm}\n"
    "  a1-there: {of: A1, what: presence, from: bus, at: c}\n"
    "  a1-alarm: {of: A1, what: alarm, from: bus, at: d}\n"
    "  a2-flow: {of: A2, what: flow, from: bus, at: e, unit: m3/h}\n"
    "  a2-beam: {of: A2, what: blocked, from: bus, at: f}\n"
    "  s1-open: {of: S1, what: opening, from: us, unit: m}\n"
    "  s1-cover: {of: S1, what: covered, from: bus, at: g, unit: \"%\"}\n"
    "  s1-flow: {of: S1, what: flow, from: bus, at: h, unit: m3/h}\n"
    "  s2-there: {of: S2, what: presence, from: bus, at: i}\n"
    "  d1: {of: D1, what: open, from: bus, at: j}\n"
    "  ef: {of: EF, what: running, from: bus, at: k}\n"
    "  sf: {of: SF, what: running, from: bus, at: l}\n"
    "  ff: {of: FF, what: running, from: bus, at: m}\n"
    "  ms: {of: MS, what: running, from: bus, at: n}\n"
    "  out: {of: outdoors, what: temperature, from: bus, at: o, unit: degC}\n"
    "  alarm: {what: alarm, from: bus, at: p}\n"
    "  dp: {of: Etch, what: pressure, over: Store, from: bus, at: q, unit: Pa}\n";

enum { NOW_MS = 1000000000 }; /* some moment */

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  struct watch *watch;
};

static bool world_make(struct world *w)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};
  struct buf said;

  *w = (struct world){0};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (w->facility)
    w->feeds = feeds_read(w->facility, &feeds, &w->complaints);
  if (w->feeds)
    w->watch = watch_new(w->facility, w->feeds);
  buf_init(&said, 1 << 16);
  complaints_print(&w->complaints, "suite.yaml", NULL, &said);
  if (!w->watch)
    fputs(said.text, stderr);
  buf_release(&said);
  return w->watch != NULL;
}

static void world_release(struct world *w)
{
  watch_free(w->watch);
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static void anew(struct world *w)
{
  watch_free(w->watch);
  w->watch = watch_new(w->facility, w->feeds);
}

static struct feed_observation said(const struct world *w, const char *id, int64_t t_ms, double si)
{
  struct feed_observation o = {.point = feeds_point_find(w->feeds, id),
                               .t_ms = t_ms,
                               .seen_ms = t_ms,
                               .si = si,
                               .quality = FEED_GOOD};

  CHECK(o.point >= 0);
  return o;
}

static void say(struct world *w, const char *id, int64_t t_ms, double si)
{
  struct feed_observation o = said(w, id, t_ms, si);

  watch_take(w->watch, &o);
}

static void say_bad(struct world *w, const char *id, int64_t t_ms, enum feed_quality quality)
{
  struct feed_observation o = said(w, id, t_ms, NAN);

  o.quality = quality;
  watch_take(w->watch, &o);
}

/* Every point says something ordinary. */
static void say_all(struct world *w, int64_t t_ms, const char *but)
{
  for (int i = 0; i < w->feeds->point_count; i++) {
    const struct feeds_point *p = &w->feeds->points[i];
    double si = p->what == FEEDS_TEMPERATURE             ? 281.0
                : p->what == FEEDS_RUNNING && !p->yes_no ? 2
                : p->what == FEEDS_RUNNING               ? 1
                : p->what == FEEDS_FLOW                  ? 300 / 3600.0
                : p->what == FEEDS_PRESSURE              ? 12
                                                         : 0;

    if (!but || strcmp(p->part.id, but) != 0)
      say(w, p->part.id, t_ms, si);
  }
}

static int station(const struct world *w, const char *id)
{
  return facility_station_find(w->facility, id);
}

/* ---- what is believed ---- */

static void what_is_said_is_believed(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, NULL);
  say(&w, "a1-open", NOW_MS + 100, 0.30);
  say(&w, "a1-plc", NOW_MS + 100, 0.305);
  say(&w, "a1-alarm", NOW_MS + 100, 1);
  say(&w, "a2-flow", NOW_MS + 100, 900 / 3600.0);
  say(&w, "a2-beam", NOW_MS + 100, 1);
  say(&w, "s1-cover", NOW_MS + 100, 0.4);
  say(&w, "d1", NOW_MS + 100, 1);
  say(&w, "ef", NOW_MS + 100, 1);
  say(&w, "ms", NOW_MS + 100, 0);

  struct watch_belief b = watch_believe(w.watch, NOW_MS + 10200, &w.arena); /* A1 no longer rises */
  const struct scene_station *a1 = &b.scene.stations[station(&w, "A1")];
  const struct scene_station *a2 = &b.scene.stations[station(&w, "A2")];

  CHECK(!b.any_not_known);
  CHECK(a1->raised && a1->unattended);
  CHECK_NEAR(a1->opening_m, 0.30, 0, 1e-12);
  CHECK(b.stations[station(&w, "A1")].own_alarm);
  CHECK(a2->raised && a2->blocked && a2->has_measured);
  CHECK_NEAR(a2->opening_m, 0.4, 0, 1e-12);
  CHECK_NEAR(b.scene.stations[station(&w, "S1")].cover_ratio, 0.4, 0, 1e-12);
  CHECK(b.scene.door_open[0] && !b.scene.door_open[1]);
  CHECK_INT(b.scene.fan_running[0], 1);
  CHECK(!b.scene.supply_off[0] && b.scene.supply_off[1]);
  CHECK(b.scene.has_outdoor_temperature && !b.building_alarm);
  CHECK_INT(b.pressure_count, 1);
  CHECK_NEAR(b.pressures[0].pressure_Pa, 12, 0, 1e-12);
  world_release(&w);
}

static void a_station_without_a_point_counts_as_the_file_says_and_that_is_told(void)
{
  struct world w;
  bool told = false;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, NULL);

  struct watch_belief b = watch_believe(w.watch, NOW_MS, &w.arena);

  CHECK(b.stations[station(&w, "S2")].assumed); /* nobody there says nothing of the sash */
  CHECK(b.scene.stations[station(&w, "S2")].raised);
  CHECK(!b.stations[station(&w, "A3")].assumed); /* always on: nothing to raise */
  for (int i = 0; i < b.assumed_count; i++)
    told = told || strstr(b.assumed[i], "S2: nobody is there, and no point says");
  CHECK(told);
  say(&w, "s2-there", NOW_MS + 1, 1);
  b = watch_believe(w.watch, NOW_MS + 2, &w.arena);
  CHECK(!b.stations[station(&w, "S2")].assumed);
  CHECK(b.scene.stations[station(&w, "S2")].raised);
  world_release(&w);
}

static void a_flow_gives_the_opening_by_the_stations_own_rule_backwards(void)
{
  static const char text[] =
      "inward: 1 feeds\n"
      "sources: {bus: {mqtt: {host: h}}}\n"
      "points:\n"
      "  f1: {of: A1, what: flow, from: bus, at: a, unit: m3/h, resolution: 20 m3/h}\n"
      "  f2: {of: A2, what: flow, from: bus, at: b, unit: m3/h}\n";
  static const struct {
    const char *id, *point;
    double flow_m3_h, opening_m;
    bool raised;
  } cases[] = {
      {"A1", "f1", 500, 0.02, false}, {"A1", "f1", 515, 0.02, false},
      {"A1", "f1", 810, 0.30, true}, /* 0.5 m/s x 1.5 m x 0.30 m = 0.225 m3/s */
      {"A1", "f1", 2200, 0.7, true},  {"A2", "f2", 690, 0, false},
      {"A2", "f2", 710, 0.4, true},
  };
  struct facility_text feeds = {"feeds.yaml", text, sizeof text - 1};
  struct world w;

  REQUIRE(world_make(&w));
  watch_free(w.watch);
  feeds_free(w.feeds);
  w.feeds = feeds_read(w.facility, &feeds, &w.complaints);
  w.watch = NULL;
  if (CHECK(w.feeds != NULL))
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
      const struct scene_station *now;

      CHECK_CASE("%s at %.0f m3/h", cases[i].id, cases[i].flow_m3_h);
      anew(&w);
      say(&w, "f1", NOW_MS, 500 / 3600.0);
      say(&w, "f2", NOW_MS, 300 / 3600.0);
      say(&w, cases[i].point, NOW_MS + 1, cases[i].flow_m3_h / 3600.0);
      now = &watch_believe(w.watch, NOW_MS + 1, &w.arena).scene.stations[station(&w, cases[i].id)];
      CHECK_INT(now->raised, cases[i].raised);
      CHECK_NEAR(now->opening_m, cases[i].opening_m, 0, 1e-9);
    }
  world_release(&w);
}

/* ---- what is not known, and whom it concerns ---- */

static const struct {
  const char *point, *mains, *supplies; /* who is not known without it */
} losses[] = {
    {"a1-there", "", ""},
    {"a1-alarm", "", ""},
    {"a2-flow", "Acid", "MA"},
    {"a2-beam", "Acid", "MA"},
    {"s1-open", "Solvent", "MS"},
    {"s1-cover", "Solvent", "MS"},
    {"s1-flow", "Solvent", ""}, /* its main declares by measured demand */
    {"s2-there", "Solvent", "MS"},
    {"d1", "Acid", "MA"},
    {"ef", "Acid", ""},
    {"sf", "Solvent", ""},
    {"ff", "Solvent", "MS"}, /* no main names it: those of its rooms */
    {"ms", "Solvent", "MS"},
    {"out", "", ""},
    {"alarm", "Acid Solvent", "MA MS"},
    {"dp", "", ""},
};

static void check_who(const struct world *w, const struct watch_belief *b, const char *mains,
                      const char *supplies)
{
  for (int i = 0; i < w->facility->main_count; i++)
    CHECK_INT(b->main_not_known[i], strstr(mains, w->facility->mains[i].part.id) != NULL);
  for (int i = 0; i < w->facility->supply_count; i++)
    CHECK_INT(b->supply_not_known[i], strstr(supplies, w->facility->supplies[i].part.id) != NULL);
  CHECK_INT(b->any_not_known, *mains || *supplies);
}

static bool tells(const struct watch_belief *b, const char *words)
{
  for (int i = 0; i < b->gap_count; i++)
    if (strstr(b->gaps[i].text, words))
      return true;
  return false;
}

static void what_is_lost_makes_exactly_those_pools_not_known_that_need_it(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  for (size_t i = 0; i < sizeof losses / sizeof *losses; i++) {
    int64_t old_ms =
        llround(w.feeds->points[feeds_point_find(w.feeds, losses[i].point)].old_after_s * 1000);
    struct watch_belief b;

    CHECK_CASE("%s never said", losses[i].point);
    anew(&w);
    say_all(&w, NOW_MS, losses[i].point);
    b = watch_believe(w.watch, NOW_MS, &w.arena);
    check_who(&w, &b, losses[i].mains, losses[i].supplies);
    CHECK(tells(&b, losses[i].point));

    CHECK_CASE("%s said a little longer ago than allowed", losses[i].point);
    say(&w, losses[i].point, NOW_MS - old_ms - 1, 0);
    b = watch_believe(w.watch, NOW_MS, &w.arena);
    check_who(&w, &b, losses[i].mains, losses[i].supplies);

    for (int q = FEED_MISSING; q < FEED_QUALITY_COUNT; q++) {
      if (q == FEED_OLD)
        continue;
      CHECK_CASE("%s %s", losses[i].point, feed_quality_name((enum feed_quality)q));
      say_bad(&w, losses[i].point, NOW_MS, (enum feed_quality)q);
      b = watch_believe(w.watch, NOW_MS, &w.arena);
      check_who(&w, &b, losses[i].mains, losses[i].supplies);
    }
  }
  world_release(&w);
}

static void a_value_is_used_to_the_last_moment_it_may_be_old_and_not_beyond(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, NULL);
  CHECK_INT(watch_next_ms(w.watch, NOW_MS), NOW_MS + 20001); /* the controller's */
  CHECK(!watch_believe(w.watch, NOW_MS + 60000, &w.arena).any_not_known);
  CHECK(watch_believe(w.watch, NOW_MS + 60001, &w.arena).any_not_known);
  CHECK_INT(watch_next_ms(w.watch, NOW_MS + 20001), NOW_MS + 60001);
  world_release(&w);
}

static void what_a_missing_value_follows_is_not_taken_in_its_place(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, NULL);
  say_bad(&w, "ef", NOW_MS + 1000, FEED_MISSING);

  struct watch_belief b = watch_believe(w.watch, NOW_MS + 2000, &w.arena);

  CHECK(b.main_not_known[0]);
  CHECK(tells(&b, "EF: ef (bus): missing, for 1 s"));
  world_release(&w);
}

static void what_comes_from_the_future_or_without_a_time_displaces_nothing(void)
{
  struct world w;
  struct feed_observation ahead;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, NULL);
  ahead = said(&w, "ef", NOW_MS + 3600000, NAN);
  ahead.seen_ms = NOW_MS + 10;
  ahead.quality = FEED_FUTURE;
  watch_take(w.watch, &ahead);
  say_bad(&w, "sf", NOW_MS + 10, FEED_UNTIMED);
  CHECK(!watch_believe(w.watch, NOW_MS + 20, &w.arena).any_not_known);
  CHECK_INT(watch_believe(w.watch, NOW_MS + 20, &w.arena).scene.fan_running[0], 2);

  struct watch_belief b = watch_believe(w.watch, NOW_MS + 70000, &w.arena);

  CHECK(tells(&b, "EF: ef (bus): 1 min"));
  world_release(&w);
}

static void a_clock_that_is_stepped_back_is_noticed_and_forgotten(void)
{
  struct world w;
  int64_t back_ms = NOW_MS - 3600000;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, NULL);
  CHECK(watch_believe(w.watch, back_ms, &w.arena).any_not_known);
  watch_forget_from(w.watch, back_ms);
  CHECK(watch_believe(w.watch, back_ms, &w.arena).any_not_known);
  say_all(&w, back_ms + 1, NULL);
  CHECK(!watch_believe(w.watch, back_ms + 2, &w.arena).any_not_known);
  world_release(&w);
}

static void a_number_that_does_not_move_for_too_long_is_frozen(void)
{
  struct world w;
  struct watch_belief b;

  REQUIRE(world_make(&w));
  for (int i = 0; i <= 61; i++) {
    say_all(&w, NOW_MS + i * 60000, "out"); /* yes and no may stay as they are for ever */
    say(&w, "out", NOW_MS + i * 60000, i == 1 ? 282 : 281);
  }
  b = watch_believe(w.watch, NOW_MS + 61 * 60000, &w.arena);
  CHECK(b.inputs[feeds_point_find(w.feeds, "a2-flow")].age == WATCH_FROZEN);
  CHECK(b.inputs[feeds_point_find(w.feeds, "a2-beam")].age == WATCH_FRESH);
  CHECK(b.inputs[feeds_point_find(w.feeds, "out")].age == WATCH_FRESH); /* moved within the hour */
  CHECK(b.inputs[feeds_point_find(w.feeds, "s1-open")].age == WATCH_FRESH); /* may: by hand */
  CHECK(b.main_not_known[0] && tells(&b, "has not moved for 1 h"));
  say(&w, "a2-flow", NOW_MS + 61 * 60000 + 1, 301 / 3600.0);
  b = watch_believe(w.watch, NOW_MS + 61 * 60000 + 2, &w.arena);
  CHECK(!b.main_not_known[0]);
  world_release(&w);
}

/* ---- two points for one thing ---- */

static void of_two_the_newer_is_used_and_either_is_enough(void)
{
  struct world w;
  struct watch_belief b;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, "a1-plc");
  say(&w, "a1-open", NOW_MS + 1, 0.30);
  b = watch_believe(w.watch, NOW_MS + 2, &w.arena);
  CHECK(!b.any_not_known && b.inputs[0].used && !b.inputs[1].used);
  say(&w, "a1-plc", NOW_MS + 5000, 0.31);
  b = watch_believe(w.watch, NOW_MS + 5001, &w.arena);
  CHECK_NEAR(b.scene.stations[0].opening_m, 0.31, 0, 1e-12);
  CHECK(b.inputs[1].used && !b.inputs[0].used);
  say_all(&w, NOW_MS + 30000, "a1-plc");
  say(&w, "a1-open", NOW_MS + 30000, 0.32);
  b = watch_believe(w.watch, NOW_MS + 30001, &w.arena);
  CHECK(b.inputs[0].used && b.inputs[1].age == WATCH_OLD);
  CHECK(!b.any_not_known);
  world_release(&w);
}

static void two_that_contradict_each_other_are_not_known(void)
{
  struct world w;
  struct watch_belief b;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, "a1-plc");
  say(&w, "a1-open", NOW_MS + 1000, 0.30);
  say(&w, "a1-plc", NOW_MS + 2000, 0.50);
  b = watch_believe(w.watch, NOW_MS + 3000, &w.arena);
  CHECK(!b.any_not_known); /* it may have been raised meanwhile */
  say(&w, "a1-open", NOW_MS + 4000, 0.30);
  b = watch_believe(w.watch, NOW_MS + 5000, &w.arena);
  check_who(&w, &b, "Acid", "MA");
  CHECK(tells(&b, "A1: a1-open (bus) says 0.30 m and a1-plc (plc) says 0.50 m: they contradict"));
  CHECK(b.scene.stations[0].raised && b.scene.stations[0].needs_flow);
  say(&w, "a1-plc", NOW_MS + 6000, 0.315); /* within both resolutions */
  b = watch_believe(w.watch, NOW_MS + 7000, &w.arena);
  CHECK(!b.any_not_known);
  world_release(&w);
}

static void an_opening_no_sash_can_have_is_not_known(void)
{
  static const double impossible_m[] = {0.9, -0.2};
  struct world w;

  REQUIRE(world_make(&w));
  for (int i = 0; i < 2; i++) {
    say_all(&w, NOW_MS + i, "a1-plc");
    say(&w, "a1-open", NOW_MS + 5, impossible_m[i]);

    struct watch_belief b = watch_believe(w.watch, NOW_MS + 5, &w.arena);

    check_who(&w, &b, "Acid", "MA");
    anew(&w);
  }
  world_release(&w);
}

static void a_withdrawn_station_alarms_nobody(void)
{
  struct world w;

  REQUIRE(world_make(&w));
  say_all(&w, NOW_MS, NULL);
  say(&w, "a1-alarm", NOW_MS + 1, 1);
  watch_withdraw(w.watch, 0, true);

  struct watch_belief b = watch_believe(w.watch, NOW_MS + 2, &w.arena);

  CHECK(b.scene.stations[0].withdrawn && !b.stations[0].own_alarm);
  watch_withdraw(w.watch, 0, false);
  CHECK(watch_believe(w.watch, NOW_MS + 2, &w.arena).stations[0].own_alarm);
  world_release(&w);
}

/* ---- properties, over random observations ---- */

static unsigned dice_state;

static unsigned dice(unsigned sides)
{
  dice_state = dice_state * 1664525u + 1013904223u;
  return (dice_state >> 16) % sides;
}

enum { MANY = 300 };

static void random_observations(const struct world *w, struct feed_observation *list)
{
  static const double values[] = {0, 0.3, 1, 0.31, 2};

  for (int i = 0; i < MANY; i++) {
    enum feed_quality quality = dice(4) ? FEED_GOOD : (enum feed_quality)(dice(FEED_QUALITY_COUNT));

    list[i] = (struct feed_observation){
        .point = (int)dice((unsigned)w->feeds->point_count),
        .t_ms = NOW_MS + 1000 * (int64_t)dice(90),
        .seen_ms = NOW_MS + 500 * (int64_t)dice(400),
        .si = quality == FEED_GOOD || quality == FEED_OLD ? values[dice(5)] : (double)NAN,
        .quality = quality};
  }
}

static void shuffle(struct feed_observation *list)
{
  for (int i = MANY - 1; i > 0; i--) {
    int k = (int)dice((unsigned)i + 1);
    struct feed_observation kept = list[i];

    list[i] = list[k];
    list[k] = kept;
  }
}

/* A belief in words, for comparing. */
static void print(const struct world *w, const struct watch_belief *b, struct buf *out)
{
  for (int i = 0; i < w->feeds->point_count; i++)
    buf_printf(out, "%s %s %s %g %g %lld %d\n", w->feeds->points[i].part.id,
               watch_age_name(b->inputs[i].age), feed_quality_name(b->inputs[i].newest.quality),
               b->inputs[i].age_s, b->inputs[i].newest.si, (long long)b->inputs[i].newest.seen_ms,
               b->inputs[i].used);
  for (int i = 0; i < w->facility->station_count; i++) {
    const struct scene_station *s = &b->scene.stations[i];

    buf_printf(out, "%d %g %d %d %g %d %g\n", s->raised, s->opening_m, s->unattended, s->blocked,
               s->cover_ratio, s->has_measured, s->measured_m3_s);
  }
  for (int i = 0; i < w->facility->fan_count; i++)
    buf_printf(out, "%d ", b->scene.fan_running[i]);
  buf_printf(out, "%d %d %g\n", b->scene.door_open[0], b->scene.supply_off[1],
             b->scene.outdoor_temperature_K);
  for (int i = 0; i < b->gap_count; i++)
    buf_printf(out, "%s %d\n", b->gaps[i].text, b->gaps[i].needed);
  for (int i = 0; i < b->assumed_count; i++)
    buf_printf(out, "%s\n", b->assumed[i]);
}

static void the_order_of_arrival_never_matters(void)
{
  static struct feed_observation list[MANY];
  struct world w;
  struct buf first, second;

  REQUIRE(world_make(&w));
  buf_init(&first, 1 << 20);
  buf_init(&second, 1 << 20);
  for (unsigned seed = 1; seed <= 200; seed++) {
    int64_t now_ms;

    CHECK_CASE("seed %u", seed);
    dice_state = seed;
    random_observations(&w, list);
    now_ms = NOW_MS + 1000 * (int64_t)dice(200);
    for (int round = 0; round < 2; round++) {
      struct watch_belief b;

      anew(&w);
      for (int i = 0; i < MANY; i++)
        watch_take(w.watch, &list[i]);
      b = watch_believe(w.watch, now_ms, &w.arena);
      buf_clear(round ? &second : &first);
      print(&w, &b, round ? &second : &first);
      shuffle(list);
    }
    CHECK_STR(second.text, first.text);
    arena_release(&w.arena);
    arena_init(&w.arena, SIZE_MAX);
  }
  buf_release(&first);
  buf_release(&second);
  world_release(&w);
}

static void a_belief_never_grows_younger_by_itself(void)
{
  static struct feed_observation list[MANY];
  struct world w;

  REQUIRE(world_make(&w));
  for (unsigned seed = 1; seed <= 100; seed++) {
    int64_t now_ms = NOW_MS + 200000; /* behind all of them */
    struct watch_belief before;

    CHECK_CASE("seed %u", seed);
    dice_state = seed;
    random_observations(&w, list);
    anew(&w);
    for (int i = 0; i < MANY; i++)
      watch_take(w.watch, &list[i]);
    before = watch_believe(w.watch, now_ms, &w.arena);
    for (int step = 0; step < 20; step++) {
      struct watch_belief b;

      now_ms += 1 + (int64_t)dice(20000);
      b = watch_believe(w.watch, now_ms, &w.arena);
      for (int i = 0; i < w.feeds->point_count; i++) {
        CHECK(!(b.inputs[i].age_s < before.inputs[i].age_s));
        CHECK(!(b.inputs[i].age == WATCH_FRESH && before.inputs[i].age != WATCH_FRESH));
      }
      before = b;
    }
    arena_release(&w.arena);
    arena_init(&w.arena, SIZE_MAX);
  }
  world_release(&w);
}

/* Between one moment of watch_next_ms and the next only ages change. */
static void nothing_changes_between_the_moments_foretold(void)
{
  static struct feed_observation list[MANY];
  struct world w;

  REQUIRE(world_make(&w));
  for (unsigned seed = 1; seed <= 50; seed++) {
    int64_t now_ms = NOW_MS;

    CHECK_CASE("seed %u", seed);
    dice_state = seed;
    random_observations(&w, list);
    anew(&w);
    for (int i = 0; i < MANY; i++)
      watch_take(w.watch, &list[i]);
    for (int step = 0; step < 40; step++) {
      int64_t next_ms = watch_next_ms(w.watch, now_ms);
      int64_t last_ms = next_ms == INT64_MAX ? now_ms + 100000 : next_ms - 1;
      struct watch_belief a = watch_believe(w.watch, now_ms, &w.arena);
      struct watch_belief b = watch_believe(w.watch, last_ms, &w.arena);

      CHECK_INT(b.any_not_known, a.any_not_known);
      CHECK_INT(b.gap_count, a.gap_count);
      for (int i = 0; i < w.feeds->point_count; i++)
        CHECK(b.inputs[i].age == a.inputs[i].age && b.inputs[i].used == a.inputs[i].used);
      for (int i = 0; i < w.facility->station_count; i++)
        CHECK(b.stations[i].rising == a.stations[i].rising);
      if (next_ms == INT64_MAX)
        break;
      now_ms = next_ms;
    }
    arena_release(&w.arena);
    arena_init(&w.arena, SIZE_MAX);
  }
  world_release(&w);
}

/* ---- on its way up: moves 2 cm, rising for 10 s; A1 works at 0.40 m, old after 60 s ---- */

struct reads {
  double t_s, opening_m; /* NaN: it said that it has no value */
};

static void rising_is(const char *what, const struct reads *list, double at_s, bool rising,
                      double opening_m)
{
  struct world w;

  REQUIRE(world_make(&w));
  for (int i = 0; i == 0 || list[i].t_s > 0; i++) {
    struct feed_observation o =
        said(&w, "a1-open", NOW_MS + llround(list[i].t_s * 1000), list[i].opening_m);

    o.quality = isnan(list[i].opening_m) ? FEED_MISSING : FEED_GOOD;
    watch_take(w.watch, &o);
  }

  struct watch_belief b = watch_believe(w.watch, NOW_MS + llround(at_s * 1000), &w.arena);
  int a1 = station(&w, "A1");

  CHECK_CASE("%s, at %g s", what, at_s);
  CHECK(b.stations[a1].rising == rising);
  CHECK_NEAR(b.scene.stations[a1].opening_m, opening_m, 0, 1e-12);
  CHECK(!b.stations[a1].not_known && b.stations[a1].sash_point >= 0);
  world_release(&w);
}

static void a_sash_on_its_way_up_counts_as_at_its_mark(void)
{
  static const struct reads up[] = {{0, .02}, {10, .10}, {0, 0}};

  rising_is("up by 8 cm", up, 10, true, .40);
  rising_is("up by 8 cm", up, 20, true, .40); /* not risen for 10 s, and not longer */
  rising_is("up by 8 cm", up, 20.001, false, .10);

  static const struct reads on[] = {{0, .02}, {8, .10}, {16, .18}, {24, .26}, {0, 0}};

  rising_is("and on", on, 34, true, .40);
  rising_is("and on", on, 34.001, false, .26);

  static const struct reads slow[] = {{0, .02}, {1, .03}, {2, .035}, {3, .05}, {0, 0}};

  rising_is("a centimetre a second", slow, 3, true, .40); /* 3 cm within 10 s */
  static const struct reads slower[] = {{0, .02}, {1, .03}, {2, .035}, {0, 0}};

  rising_is("1.5 cm", slower, 2, false, .035);

  static const struct reads above[] = {{0, .02}, {1, .50}, {0, 0}};

  rising_is("beyond its mark", above, 1, false, .50); /* it counts as what it is */
}

static void what_chatters_falls_or_was_not_heard_is_not_on_its_way_up(void)
{
  static const struct reads chatter[] = {{0, .20}, {1, .21},  {2, .20}, {3, .21},
                                         {4, .20}, {5, .215}, {0, 0}};

  rising_is("chatter of 1.5 cm", chatter, 5, false, .215);

  static const struct reads down[] = {{0, .02}, {2, .30}, {4, .10}, {0, 0}};

  rising_is("up and down again", down, 4, false, .10);

  static const struct reads old[] = {{0, .02}, {100, .30}, {0, 0}};

  rising_is("too old between", old, 100, false, .30);

  static const struct reads gap[] = {{0, .02}, {5, NAN}, {6, .30}, {0, 0}};

  rising_is("no value between", gap, 6, false, .30);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_is_said_is_believed);
  RUN(a_station_without_a_point_counts_as_the_file_says_and_that_is_told);
  RUN(a_flow_gives_the_opening_by_the_stations_own_rule_backwards);
  RUN(what_is_lost_makes_exactly_those_pools_not_known_that_need_it);
  RUN(a_value_is_used_to_the_last_moment_it_may_be_old_and_not_beyond);
  RUN(what_a_missing_value_follows_is_not_taken_in_its_place);
  RUN(what_comes_from_the_future_or_without_a_time_displaces_nothing);
  RUN(a_clock_that_is_stepped_back_is_noticed_and_forgotten);
  RUN(a_number_that_does_not_move_for_too_long_is_frozen);
  RUN(of_two_the_newer_is_used_and_either_is_enough);
  RUN(two_that_contradict_each_other_are_not_known);
  RUN(an_opening_no_sash_can_have_is_not_known);
  RUN(a_withdrawn_station_alarms_nobody);
  RUN(the_order_of_arrival_never_matters);
  RUN(a_belief_never_grows_younger_by_itself);
  RUN(nothing_changes_between_the_moments_foretold);
  RUN(a_sash_on_its_way_up_counts_as_at_its_mark);
  RUN(what_chatters_falls_or_was_not_heard_is_not_on_its_way_up);
  return check_end();
}
