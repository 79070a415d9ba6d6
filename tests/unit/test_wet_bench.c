#include "wet/wet.h"

#include "check.h"

#include <math.h>
#include <string.h>

/* A wet bench: what is measured there against what the house states.  09:00 is minute 0. */

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Test\n"
    "call: person on duty\n"
    "files: {chemicals: chemicals.yaml, feeds: feeds.yaml}\n"
    "rooms: {Etch: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations:\n"
    "  B1: {kind: wet bench, room: Etch, main: Acid, flow: {constant: 900 m3/h}, deck: 30 %,\n"
    "      deck flow: {at least: 200 m3/h, source: maker}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";

static const char chemicals_text[] =
    "inward: 1 chemicals\n"
    "tanks:\n"
    "  T1: {station: B1, bath: sc-1, volume: 18 L, least: 15 L, temperature: 75 degC ± 5 K, read every: 2 h,\n"
    "      drain: d, drains into: D1, source: rule 3}\n"
    "  T2: {station: B1, bath: sc-2, volume: 18 L, drain: d, drains into: D1, source: rule 3}\n"
    "  T3: {station: B1, bath: bhf-5, volume: 4 L, drain: d, drains into: D1, source: rule 3}\n"
    "  T4: {station: A2, bath: piranha, volume: 1 L, drain: by hand, source: rule 3}\n"
    "drains:\n"
    "  D1: {station: B1, route: pH treatment, takes: [sc-1, sc-2], never: [solvents], by procedure: [sc-2],\n"
    "      hottest: 60 degC, stands: 30 min, source: rule 8}\n"
    "  D2: {station: B1, route: house drain, takes: [water, sc-1], flash at least: 60 degC, source: permit}\n"
    "  D3: {station: B1, route: solvent collection, takes: [acetone], source: rule 8}\n"
    "  D4: {station: B1, route: acid collection, takes: [sc-2, piranha], source: rule 8}\n"
    "  D5: {station: B1, route: pH treatment, takes: [sc-1, sc-2, water], hottest: 60 degC, stands: 30 min, source: rule 8}\n"
    "  D6: {station: B1, route: pH treatment, takes: [sc-1], never: [whatever strips], hottest: 60 degC, source: rule 8}\n"
    "  D7: {station: B1, route: pH treatment, takes: [sc-1], source: rule 8}\n"
    "rinses:\n"
    "  R1: {station: B1, drains into: D2, resistivity: 10 MOhm cm, dumps: 5, resistivity seen by: res,\n"
    "      dumps seen by: dumps, source: rule 5}\n"
    "trays:\n"
    "  TR1: {station: B1, under: [T1, T2], also: [acetone], seen by: wet, source: drawing}\n"
    "  TR2: {station: B1, under: [R1], looked at by: the round, tell: me, source: drawing}\n"
    "heaters:\n"
    "  H1: {tank: T1, locked out by: [low level, low exhaust, over temperature, lid open, leak], level: 12 L,\n"
    "      exhaust: 300 m3/h, over: 90 degC, heats seen by: on, level seen by: level, temperature seen by: temp,\n"
    "      lid seen by: lid, exhaust seen by: flow, source: manual}\n";

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources: {people: {old after: 10 min, hand: {}}}\n"
    "points:\n"
    "  flow: {of: B1, what: flow, from: people, unit: m3/h}\n"
    "  deck: {of: B1, what: deck flow, from: people, unit: m3/h}\n"
    "  wet: {of: B1, what: leak, from: people}\n"
    "  on: {of: B1, what: heating, from: people}\n"
    "  level: {of: B1, what: level, from: people, unit: L}\n"
    "  temp: {of: B1, what: bath temperature, from: people, unit: degC}\n"
    "  lid: {of: B1, what: lid open, from: people}\n"
    "  res: {of: B1, what: resistivity, from: people, unit: MOhm cm}\n"
    "  dumps: {of: B1, what: dumps, from: people}\n"
    "  lid2: {of: B1, what: lid open, from: people}\n";

enum { MOST = 40 };

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct chemicals *own;
  struct feeds *feeds;
  struct watch *watch;
  struct wet_place place;
  struct record_entry entries[MOST];
  int count;
};

static int64_t minute(double minutes)
{
  return 1700000000000 + (int64_t)(minutes * 60e3);
}

static void world_begin(struct world *w)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"chemicals.yaml", chemicals_text, sizeof chemicals_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};

  *w = (struct world){0};
  arena_init(&w->arena, (size_t)512 << 20);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  w->own = w->facility ? chemicals_read(w->facility, &file, &w->complaints) : NULL;
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &w->complaints) : NULL;
  for (int i = 0; i < w->complaints.count; i++)
    printf("      %s:%d: %s\n", w->complaints.list[i].place.file, w->complaints.list[i].place.line,
           w->complaints.list[i].text);
  if (!w->own || !w->feeds)
    return;
  w->watch = watch_new(w->facility, w->feeds);
  w->place = wet_place_of(w->facility, w->own, when_utc(), &w->arena);
  w->place.now_ms = minute(0);
}

static void world_end(struct world *w)
{
  watch_free(w->watch);
  feeds_free(w->feeds);
  chemicals_free(w->own);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static void hear(struct world *w, const char *point, double si, double at)
{
  struct feed_observation o = {.point = feeds_point_find(w->feeds, point),
                               .t_ms = minute(at),
                               .seen_ms = minute(at),
                               .si = si,
                               .quality = FEED_GOOD};

  watch_take(w->watch, &o);
}

static void tell(struct world *w, const char *act, const char *tank, double at)
{
  const struct wet_request request = {.act = act, .tank = tank, .anyway = "yes"};
  struct wet_telling telling;
  struct err err = {0};

  w->place.now_ms = minute(at);
  if (!CHECK(wet_tell(&w->place, wet_past(w->entries, w->count, &w->arena), &request, &w->arena,
                      &telling, &err) == ERR_OK) ||
      !CHECK(telling.refused == NULL))
    return;
  w->entries[w->count] = telling.entry;
  w->entries[w->count].t_ms = w->entries[w->count].written_ms = minute(at);
  w->entries[w->count].who = "me";
  w->entries[w->count].number = w->count + 1;
  w->count++;
}

static const struct wet_baths *baths(struct world *w, double at)
{
  struct watch_belief belief = watch_believe(w->watch, minute(at), &w->arena);

  w->place.now_ms = minute(at);
  wet_see(&w->place, w->feeds, &belief, &w->arena);
  return wet_baths(&w->place, wet_past(w->entries, w->count, &w->arena), &w->arena);
}

static const struct wet_bench *bench(struct world *w, double at)
{
  return wet_bench_of(wet_benches(baths(w, at), &w->arena), 0);
}

static const struct wet_dump *dump(struct world *w, const char *tank, const char *drain, double at)
{
  return wet_dump(baths(w, at), tank, drain, &w->arena);
}

static bool says(const struct wet_lines *lines, const char *part)
{
  for (int i = 0; i < lines->count; i++)
    if (strstr(lines->line[i], part))
      return true;
  return false;
}

/* All as it should be at that minute, SI. */
static void all_is_well(struct world *w, double at)
{
  hear(w, "flow", 900 / 3600.0, at);
  hear(w, "deck", 250 / 3600.0, at);
  hear(w, "wet", 0, at);
  hear(w, "on", 1, at);
  hear(w, "level", 0.016, at);
  hear(w, "temp", 348.15, at);
  hear(w, "lid", 0, at);
}

/* ---- the files fit ---- */

static void points_of_a_bench_are_found_and_fit(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  CHECK(wet_names_fit(w.place.chem, w.own, &w.complaints));
  CHECK(wet_points_fit(w.facility, w.feeds, w.own, &w.complaints));
  CHECK(!wet_points_fit(w.facility, NULL, w.own, &w.complaints));
  CHECK(strstr(w.complaints.list[0].text, "names no feeds file") != NULL);
  world_end(&w);
}

/* ---- decks and trays ---- */

static void what_nobody_hears_is_not_known_and_never_quiet(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  CHECK_INT(bench(&w, 1)->need, WET_SILENT);
  CHECK(says(&bench(&w, 1)->reasons, "what it draws is not known"));
  CHECK_INT(bench(&w, 1)->trays[1].need, WET_UNSEEN);
  CHECK(!wet_bench_of(wet_benches(baths(&w, 1), &w.arena), 1)); /* a hood has nothing of a bench */
  all_is_well(&w, 1);
  tell(&w, "made", "T1", 1);
  CHECK_INT(bench(&w, 2)->need, WET_UNSEEN); /* a tray that only a person looks into */
  CHECK_INT(bench(&w, 2)->heaters[0].need, WET_QUIET);
  CHECK_INT(bench(&w, 12)->need, WET_SILENT); /* older than ten minutes */
  CHECK(says(&bench(&w, 12)->reasons, "wet is too old"));
  world_end(&w);
}

static void a_deck_below_its_least_is_the_bench_s_own_fault_and_calls(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  all_is_well(&w, 1);
  hear(&w, "deck", 199 / 3600.0, 2);
  CHECK_INT(bench(&w, 3)->deck.need, WET_CALL);
  CHECK(strstr(bench(&w, 3)->reasons.line[0], "own fault, no lack of shared air") != NULL);
  hear(&w, "deck", 201 / 3600.0, 4);
  CHECK_INT(bench(&w, 5)->deck.need, WET_QUIET);
  world_end(&w);
}

static void a_wet_tray_says_what_may_meet_in_it_and_whom_to_tell(void)
{
  struct world w;
  const struct wet_tray *t;

  world_begin(&w);
  REQUIRE(w.watch);
  all_is_well(&w, 1);
  tell(&w, "made", "T1", 1);
  tell(&w, "made", "T2", 1);
  hear(&w, "wet", 1, 2);
  t = &bench(&w, 3)->trays[0];
  CHECK_INT(t->need, WET_CALL);
  CHECK_STR(t->tell, "person on duty");
  CHECK(strstr(t->next, "Tell person on duty now") != NULL);
  CHECK_INT(t->above_count, 3);
  CHECK(!t->some_not_known);
  REQUIRE(t->meets);
  CHECK_INT(t->meets->verdict, MEET_NEVER); /* peroxide and acid with acetone */
  tell(&w, "dumped", "T2", 3.5);
  tell(&w, "found", "T2", 4);
  CHECK(bench(&w, 5)->trays[0].some_not_known);
  world_end(&w);
}

/* ---- heaters ---- */

static void a_heater_that_should_be_locked_out_and_heats_is_a_contradiction(void)
{
  static const struct {
    const char *point;
    double si;
    enum chemicals_lockout of;
  } cases[] = {{"level", 0.0119, CHEMICALS_LOW_LEVEL},
               {"flow", 299 / 3600.0, CHEMICALS_LOW_EXHAUST},
               {"temp", 363.2, CHEMICALS_OVER_TEMPERATURE},
               {"lid", 1, CHEMICALS_LID_OPEN},
               {"wet", 1, CHEMICALS_LEAK}};

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct world w;

    CHECK_CASE("%s", cases[i].point);
    world_begin(&w);
    REQUIRE(w.watch);
    tell(&w, "made", "T1", 0);
    all_is_well(&w, 1);
    CHECK_INT(bench(&w, 1)->heaters[0].need, WET_QUIET);
    hear(&w, cases[i].point, cases[i].si, 2);
    CHECK_INT(bench(&w, 3)->heaters[0].need, WET_CALL);
    CHECK_STR(bench(&w, 3)->heaters[0].head, "CONTRADICTION");
    CHECK(strstr(bench(&w, 3)->heaters[0].says, chemicals_lockout_words(cases[i].of)) != NULL);
    /* nobody is sent to a bench that leaks */
    CHECK((strncmp(bench(&w, 3)->heaters[0].next, "Do not go to it", 15) == 0) ==
          (cases[i].of == CHEMICALS_LEAK));
    hear(&w, "on", 0, 4); /* cut out, as it should be */
    CHECK_INT(bench(&w, 5)->heaters[0].need, WET_QUIET);
    CHECK_STR(bench(&w, 5)->heaters[0].head, "OFF");
    CHECK_INT(bench(&w, 14.5)->heaters[0].need, WET_SILENT); /* nobody hears it any more */
    world_end(&w);
  }
}

static void a_heater_under_an_empty_tank_is_a_contradiction_too(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  tell(&w, "made", "T1", 0);
  tell(&w, "dumped", "T1", 1);
  all_is_well(&w, 2);
  CHECK_INT(bench(&w, 3)->heaters[0].need, WET_CALL);
  CHECK(strstr(bench(&w, 3)->heaters[0].says, "tank T1 is empty") != NULL);
  world_end(&w);
}

/* ---- rinsing ---- */

/* ASTM D1193-99 prints both of its four grades of water at 25 degC; the last digit is its own rounding. */
static void resistivity_is_the_inverse_of_what_the_water_conducts(void)
{
  static const struct {
    const char *resistivity;
    double conductivity_uS_cm, within_ratio;
  } grades[] = {{"18 MOhm cm", 0.056, 0.01},
                {"1.0 MOhm cm", 1.0, 1e-12},
                {"4.0 MOhm cm", 0.25, 1e-12},
                {"200 kOhm cm", 5.0, 1e-12}};

  for (size_t i = 0; i < sizeof grades / sizeof *grades; i++) {
    struct units_quantity q;

    CHECK_CASE("%s", grades[i].resistivity);
    CHECK(units_parse(grades[i].resistivity, UNITS_RESISTIVITY, UNITS_NOTHING, &q, NULL) == ERR_OK);
    CHECK_NEAR(q.si, 1 / (grades[i].conductivity_uS_cm * 1e-4), grades[i].within_ratio, 0);
  }
}

static void a_rinse_has_reached_what_is_set_only_when_all_of_it_is_measured(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  hear(&w, "res", 12e4, 1); /* 12 MOhm cm */
  CHECK(!bench(&w, 2)->rinses[0].is_known);
  hear(&w, "dumps", 4, 2);
  CHECK(bench(&w, 3)->rinses[0].is_known && !bench(&w, 3)->rinses[0].is_reached);
  hear(&w, "dumps", 5, 3);
  CHECK(bench(&w, 4)->rinses[0].is_reached);
  hear(&w, "res", 9.9e4, 5);
  CHECK(!bench(&w, 6)->rinses[0].is_reached);
  world_end(&w);
}

/* ---- down a drain ---- */

static void a_hot_bath_and_one_whose_heater_is_on_do_not_go_down(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  CHECK_INT(dump(&w, "T1", NULL, 1)->verdict, MEET_UNKNOWN); /* what stands there was not told */
  tell(&w, "made", "T1", 0);
  all_is_well(&w, 1);
  CHECK_INT(dump(&w, "T1", NULL, 2)->verdict, MEET_NEVER);
  CHECK(says(&dump(&w, "T1", NULL, 2)->reasons, "not while it is so hot"));
  CHECK(says(&dump(&w, "T1", NULL, 2)->reasons, "not while heater H1 is on"));
  hear(&w, "on", 0, 3);
  hear(&w, "temp", 313.15, 3);
  CHECK_INT(dump(&w, "T1", NULL, 4)->verdict, MEET_NOTHING_LISTED);
  CHECK_INT(dump(&w, "T1", NULL, 14)->verdict, MEET_UNKNOWN); /* the readings have grown old */
  world_end(&w);
}

static void what_went_down_before_counts_as_long_as_it_stands_there(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  tell(&w, "made", "T1", 0);
  tell(&w, "made", "T2", 0);
  tell(&w, "dumped", "T2", 1);
  hear(&w, "on", 0, 20);
  hear(&w, "temp", 313.15, 20);
  CHECK_INT(dump(&w, "T1", NULL, 21)->before_count, 1);
  CHECK_STR(dump(&w, "T1", NULL, 21)->before[0], "sc-2");
  CHECK_INT(dump(&w, "T1", NULL, 21)->verdict,
            MEET_BY_PROCEDURE); /* an acid and a base, both listed */
  hear(&w, "on", 0, 31.5);
  hear(&w, "temp", 313.15, 31.5);
  CHECK_INT(dump(&w, "T1", NULL, 32)->before_count, 0); /* 31 min ago */
  CHECK_INT(dump(&w, "T1", NULL, 32)->verdict, MEET_NOTHING_LISTED);
  tell(&w, "found", "T2", 33);
  tell(&w, "dumped", "T2", 34);
  CHECK_INT(dump(&w, "T1", NULL, 35)->verdict, MEET_UNKNOWN); /* nobody knows what that was */
  world_end(&w);
}

static void a_drain_takes_what_its_route_and_its_list_are_for(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  tell(&w, "made", "T1", 0);
  tell(&w, "made", "T2", 0);
  tell(&w, "made", "T3", 0);
  tell(&w, "made", "T4", 0);
  hear(&w, "on", 0, 1);
  hear(&w, "temp", 300, 1);
  CHECK(says(&dump(&w, "T2", NULL, 2)->reasons, "only by a written procedure (rule 8)"));
  CHECK_INT(dump(&w, "T3", NULL, 2)->verdict, MEET_NEVER); /* a fluoride, to a pH treatment */
  CHECK(says(&dump(&w, "T3", NULL, 2)->reasons, "is a fluoride"));
  CHECK_INT(dump(&w, "T1", "D2", 2)->verdict, MEET_BY_PROCEDURE); /* a base, untreated */
  CHECK_INT(dump(&w, "T1", "D3", 2)->verdict, MEET_NEVER);
  CHECK_INT(dump(&w, "T1", "D4", 2)->verdict, MEET_NEVER); /* a base, to acids */
  CHECK(says(&dump(&w, "T4", "D4", 2)->reasons, "contradict each other"));
  CHECK(says(&dump(&w, "T4", "D4", 2)->reasons, "opens at another station"));
  CHECK_INT(dump(&w, "T4", NULL, 2)->verdict, MEET_UNKNOWN); /* no drain is named */
  CHECK_INT(dump(&w, "T9", NULL, 2)->verdict, MEET_UNKNOWN);
  CHECK_INT(dump(&w, "T1", "D9", 2)->verdict, MEET_UNKNOWN);
  world_end(&w);
}

/* A thing told without the file of today: the file was changed since. */
static void tell_of(struct world *w, const char *tank, const char *rest, double at)
{
  w->entries[w->count] = (struct record_entry){
      .kind = RECORD_BATH,
      .number = w->count + 1,
      .t_ms = minute(at),
      .written_ms = minute(at),
      .about = "B1",
      .who = "me",
      .text = "told",
      .detail = arena_printf(&w->arena, "{\"schema\": \"inward.wet.1\", %s, \"tank\": \"%s\"}",
                             rest, tank)};
  w->count++;
}

static void cold_and_off(struct world *w, double at)
{
  hear(w, "on", 0, at);
  hear(w, "temp", 300, at);
}

static void what_nobody_can_say_of_a_drain_is_unknown_and_never_nothing_listed(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  tell(&w, "made", "T1", 0);
  cold_and_off(&w, 1);
  CHECK_INT(dump(&w, "T1", "D5", 2)->verdict, MEET_NOTHING_LISTED);
  CHECK_INT(dump(&w, "T1", "D6", 2)->verdict, MEET_UNKNOWN); /* a `never` not understood */
  CHECK(says(&dump(&w, "T1", "D6", 2)->reasons, "whatever strips"));
  CHECK_INT(dump(&w, "T1", "D7", 2)->verdict, MEET_BY_PROCEDURE); /* how hot is not said */
  tell_of(&w, "T8", "\"act\": \"dumped\"", 3); /* a tank that the file names no more */
  CHECK_INT(dump(&w, "T1", "D5", 4)->verdict, MEET_UNKNOWN);
  CHECK(says(&dump(&w, "T1", "D5", 4)->reasons, "T8 was emptied"));
  cold_and_off(&w, 34);
  CHECK_INT(dump(&w, "T1", "D5", 35)->verdict, MEET_NOTHING_LISTED); /* it stood 30 min */
  world_end(&w);
}

static void a_temperature_read_since_or_long_ago_is_no_cold_bath(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  tell(&w, "made", "T1", 0);
  tell(&w, "made", "T2", 0);
  cold_and_off(&w, 1);
  tell_of(&w, "T1", "\"act\": \"temperature\", \"temperature_K\": 350", 2);
  CHECK_INT(dump(&w, "T1", "D5", 3)->verdict, MEET_UNKNOWN); /* hot by hand, after the point */
  CHECK(says(&dump(&w, "T1", "D5", 3)->reasons, "somebody read 76.9"));
  cold_and_off(&w, 4);
  CHECK_INT(dump(&w, "T1", "D5", 5)->verdict, MEET_NOTHING_LISTED); /* it cooled */
  tell_of(&w, "T2", "\"act\": \"temperature\", \"temperature_K\": 300", 5);
  CHECK_INT(dump(&w, "T2", "D5", 3000)->verdict, MEET_UNKNOWN);
  CHECK(says(&dump(&w, "T2", "D5", 3000)->reasons, "does not say how long that counts"));
  world_end(&w);
}

static void what_stands_is_unknown_once_more_went_in_than_can_be_looked_up(void)
{
  static const char *const what[] = {"water",   "h2o2-30", "nh4oh-29",    "hcl-37", "sulfuric acid",
                                     "acetone", "tmah",    "nitric acid", "koh",    "hf-49"};
  struct world w;

  world_begin(&w);
  REQUIRE(w.watch);
  tell(&w, "made", "T1", 0);
  for (size_t i = 0; i < sizeof what / sizeof what[0]; i++)
    tell_of(&w, "T1",
            arena_printf(&w.arena, "\"act\": \"topped\", \"what\": \"%s\", \"volume_m3\": 0.0001",
                         what[i]),
            1);
  CHECK(baths(&w, 2)->tanks[0].is_topped_cut);
  CHECK_INT(baths(&w, 2)->tanks[0].state, WET_NOT_KNOWN);
  world_end(&w);
}

static void what_went_down_wrongly_is_written_down_and_a_person_is_called(void)
{
  struct world w;
  const struct wet_request request = {.act = "dumped", .tank = "T3"};
  struct wet_telling telling;
  struct err err = {0};

  world_begin(&w);
  REQUIRE(w.watch);
  tell(&w, "made", "T3", 0);
  w.place.now_ms = minute(1);
  CHECK(wet_tell(&w.place, wet_past(w.entries, w.count, &w.arena), &request, &w.arena, &telling,
                 &err) == ERR_OK);
  CHECK(!telling.refused);
  REQUIRE(telling.warning);
  CHECK(strstr(telling.warning, "IT SHOULD NOT HAVE GONE DOWN THERE") != NULL);
  world_end(&w);
}

static void no_word_of_a_bench_is_a_clearance(void)
{
  struct world w;
  struct buf out;

  world_begin(&w);
  REQUIRE(w.watch);
  tell(&w, "made", "T1", 0);
  all_is_well(&w, 1);
  buf_init(&out, 1 << 20);
  wet_baths_text(baths(&w, 2), UNITS_SYSTEM_SI, &out);
  wet_dump_text(dump(&w, "T1", NULL, 2), UNITS_SYSTEM_SI, &out);
  wet_baths_json(baths(&w, 2), &out);
  wet_dump_json(dump(&w, "T1", NULL, 2), &out);
  CHECK(!out.full);
  CHECK(strstr(out.text, "safe") == NULL);
  CHECK(strstr(out.text, "nothing here is a clearance") != NULL);
  CHECK(strstr(out.text, "nan") == NULL);
  CHECK(wet_bench_line(NULL, &w.arena) == NULL);
  CHECK(strncmp(wet_bench_line(bench(&w, 12), &w.arena), "NOT KNOWN: ", 11) == 0);
  buf_release(&out);
  world_end(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(points_of_a_bench_are_found_and_fit);
  RUN(what_nobody_hears_is_not_known_and_never_quiet);
  RUN(a_deck_below_its_least_is_the_bench_s_own_fault_and_calls);
  RUN(a_wet_tray_says_what_may_meet_in_it_and_whom_to_tell);
  RUN(a_heater_that_should_be_locked_out_and_heats_is_a_contradiction);
  RUN(a_heater_under_an_empty_tank_is_a_contradiction_too);
  RUN(resistivity_is_the_inverse_of_what_the_water_conducts);
  RUN(a_rinse_has_reached_what_is_set_only_when_all_of_it_is_measured);
  RUN(a_hot_bath_and_one_whose_heater_is_on_do_not_go_down);
  RUN(what_went_down_before_counts_as_long_as_it_stands_there);
  RUN(a_drain_takes_what_its_route_and_its_list_are_for);
  RUN(what_nobody_can_say_of_a_drain_is_unknown_and_never_nothing_listed);
  RUN(a_temperature_read_since_or_long_ago_is_no_cold_bath);
  RUN(what_stands_is_unknown_once_more_went_in_than_can_be_looked_up);
  RUN(what_went_down_wrongly_is_written_down_and_a_person_is_called);
  RUN(no_word_of_a_bench_is_a_clearance);
  return check_end();
}
