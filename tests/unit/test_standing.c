/* How a station stands: the worst reason first, what is old or untold not known, and never a permission. */
#include "standing/standing.h"

#include "check.h"

#include <ctype.h>
#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Test\n"
    "site: {zone: UTC}\n"
    "files: {chemicals: chemicals.yaml, processes: processes.yaml}\n"
    "rooms: {Etch: {}}\n"
    "mains: {Acid: {capacity: {value: 3000 m3/h}}}\n"
    "rounds: {items: [{id: deck, question: Is the deck free?, at most: 24 h, source: rule 1},\n"
    "  {id: label, question: Labels?, at most: 24 h, source: rule 1}]}\n"
    "readiness:\n"
    "  tanks: 10 h\n"
    "  source: rule 2\n"
    "  proofs:\n"
    "    - {what: face velocity test, stations: [A1], done: 2026-03-14, found: met, every: 365 d, source: rule 3}\n"
    "    - {what: alarm check, stations: [A2], found: met, every: 90 d, source: rule 4}\n"
    "    - {what: smoke check, stations: [A3], found: missed, every: 90 d, source: rule 4}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, width: 1.5 m, opening: {parked: 0.02 m, work: 0.4 m, most: 0.7 m},\n"
    "       flow: {follows opening: {velocity: 0.5 m/s, least: 500 m3/h, most: 1500 m3/h}}}\n"
    "  A2: {kind: wet bench, room: Etch, main: Acid, flow: {constant: 200 m3/h}, deck: 30 %,\n"
    "       deck flow: {at least: 50 m3/h, source: maker}}\n"
    "  A3: {kind: fume hood, room: Etch, main: Acid, in service: no, flow: {constant: 200 m3/h}}\n";

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources: {bus: {old after: 60 s, mqtt: {host: h}}}\n"
    "points:\n"
    "  sash: {of: A1, what: opening, from: bus, at: a, unit: m, resolution: 1 cm}\n"
    "  there: {of: A1, what: presence, from: bus, at: b}\n"
    "  beam: {of: A1, what: blocked, from: bus, at: c}\n"
    "  alarm: {of: A1, what: alarm, from: bus, at: d}\n"
    "  fire: {what: alarm, from: bus, at: e}\n"
    "  wet: {of: A2, what: leak, from: bus, at: f}\n"
    "  deck: {of: A2, what: deck flow, from: bus, at: g, unit: m3/h}\n";

static const char chemicals_text[] =
    "inward: 1 chemicals\n"
    "tanks:\n"
    "  T1: {station: A2, bath: sc-1, volume: 18 L, temperature: 75 degC ± 5 K, read every: 20 h,\n"
    "    drain: d, source: rule 5}\n"
    "  T2: {station: A2, bath: acetone-bath, volume: 3 L, drain: d, source: rule 5}\n"
    "trays:\n"
    "  TR1: {station: A2, under: [T1, T2], seen by: wet, source: drawing}\n";

static const char processes_text[] =
    "inward: 1 processes\n"
    "permission by: the staff\n"
    "processes:\n"
    "  P1: {uses: [sc-1], stations: [A2], family: base, endorsements: [], lasts: 1 h}\n"
    "  P2: {uses: [acetone-bath], stations: [A2], family: organic, endorsements: [], lasts: 1 h}\n"
    "  P3: {name: strip, uses: [sc-1], stations: [A1], family: acid, endorsements: [], lasts: 1 h}\n";

enum { MOST = 30, STATIONS = 3 };
static const int64_t minute_ms = 60 * 1000, hour_ms = 3600 * 1000;
static const int64_t start_ms = 1795996800000; /* 2026-11-30 00:00 UTC */

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  struct chemicals *own;
  struct processes *processes;
  struct watch *watch;
  struct record_entry runs[MOST], rounds[MOST], baths[MOST], incidents[MOST];
  struct record_entry ahead[MOST];
  int run_count, round_count, bath_count, incident_count, ahead_count;
  const struct record_entry *withdrawn[STATIONS];
  int64_t now_ms;
  bool connected, nothing_kept;
  const struct day_bookings *bookings;
  const struct sighting_list *glass;
};

static bool begin(struct world *w)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};
  struct facility_text chemicals = {"chemicals.yaml", chemicals_text, sizeof chemicals_text - 1};
  struct facility_text processes = {"processes.yaml", processes_text, sizeof processes_text - 1};

  *w = (struct world){.now_ms = start_ms, .connected = true};
  arena_init(&w->arena, (size_t)256 << 20);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (!CHECK(w->facility != NULL))
    return false;
  w->feeds = feeds_read(w->facility, &feeds, &w->complaints);
  w->own = chemicals_read(w->facility, &chemicals, &w->complaints);
  w->processes = processes_read(w->facility, &processes, &w->complaints);
  if (!CHECK(w->feeds && w->own && w->processes)) {
    struct buf out;

    buf_init(&out, 1 << 16);
    complaints_print(&w->complaints, "", "", &out);
    printf("%s", out.text);
    buf_release(&out);
    return false;
  }
  w->watch = watch_new(w->facility, w->feeds);
  return true;
}

static void end(struct world *w)
{
  watch_free(w->watch);
  processes_free(w->processes);
  chemicals_free(w->own);
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

/* ---- what is measured ---- */

/* Each a moment after the one before it. */
static void say(struct world *w, const char *id, double si)
{
  w->now_ms++;
  watch_take(w->watch, &(struct feed_observation){.point = feeds_point_find(w->feeds, id),
                                                  .t_ms = w->now_ms,
                                                  .seen_ms = w->now_ms,
                                                  .si = si,
                                                  .quality = FEED_GOOD});
}

static void all_quiet(struct world *w)
{
  say(w, "sash", 0.02);
  say(w, "there", 0);
  say(w, "beam", 0);
  say(w, "alarm", 0);
  say(w, "fire", 0);
}

/* ---- what is told ---- */

static void enter(struct world *w, struct record_entry *list, int *count, const char *about,
                  const char *text, const char *detail)
{
  list[*count] = (struct record_entry){.number = *count + 1,
                                       .t_ms = w->now_ms,
                                       .written_ms = w->now_ms,
                                       .about = about,
                                       .who = "E. Test",
                                       .text = text,
                                       .detail = detail};
  (*count)++;
}

static void walk(struct world *w, const char *about, const char *all, const char *no)
{
  const struct typed_pair pairs[] = {
      {"about", about}, {"who", "E. Test"}, {"all", all}, {"no", no}};
  struct round_asked asked = {.facility = w->facility,
                              .zone = when_utc(),
                              .now_ms = w->now_ms,
                              .pairs = pairs,
                              .count = no ? 4 : 3};
  struct round_told told;
  struct buf faults;

  buf_init(&faults, 4096);
  if (CHECK_INT(round_take(&asked, &w->arena, &told, &faults), ERR_OK))
    enter(w, w->rounds, &w->round_count, told.about, told.text, told.detail);
  buf_release(&faults);
}

static void run(struct world *w, const char *act, const char *about, const char *what,
                const char *until)
{
  const struct typed_pair started[] = {
      {"act", act},      {"about", about},         {"who", "E. Test"}, {"what", what},
      {"holds", "acid"}, {"hazards", "it is hot"}, {"call", "4217"},   {"until", until}};
  const struct typed_pair other[] = {{"act", act}, {"about", about}, {"who", "E. Test"}};
  struct run_asked asked = {.facility = w->facility,
                            .zone = when_utc(),
                            .now_ms = w->now_ms,
                            .pairs = what ? started : other,
                            .count = what ? 8 : 3};
  struct run_told told;
  struct buf faults;

  buf_init(&faults, 4096);
  if (CHECK_INT(run_take(&asked, &w->arena, &told, &faults), ERR_OK))
    enter(w, w->runs, &w->run_count, told.about, told.text, told.detail);
  else
    printf("%s\n", faults.text);
  buf_release(&faults);
}

static void pour(struct world *w, const char *tank, const char *bath)
{
  enter(w, w->baths, &w->bath_count, "A2", "poured",
        arena_printf(
            &w->arena,
            "{\"schema\": \"inward.wet.1\", \"act\": \"made\", \"tank\": \"%s\", \"bath\": \"%s\"}",
            tank, bath));
  w->baths[w->bath_count - 1].kind = RECORD_BATH;
}

static void withdraw(struct world *w, int station, const char *why)
{
  struct record_entry *entry = ARENA_NEW(&w->arena, struct record_entry);

  *entry = (struct record_entry){.number = 90,
                                 .t_ms = w->now_ms,
                                 .kind = RECORD_WITHDRAWN,
                                 .about = w->facility->stations[station].part.id,
                                 .who = "E. Test",
                                 .text = why,
                                 .detail = ""};
  w->withdrawn[station] = entry;
}

/* ---- what they come to ---- */

static struct standing_told *told_of(struct world *w)
{
  struct standing_told *told = ARENA_NEW(&w->arena, struct standing_told);
  struct wet_place *place = ARENA_NEW(&w->arena, struct wet_place);

  *place = wet_place_of(w->facility, w->own, when_utc(), &w->arena);
  place->now_ms = w->now_ms;
  struct wet_past *past = wet_past(w->baths, w->bath_count, &w->arena);

  *told = (struct standing_told){
      .t_ms = w->now_ms,
      .withdrawn = w->withdrawn,
      .runs = run_look(w->facility, when_utc(), w->runs, w->run_count, w->now_ms, &w->arena),
      .rounds =
          round_look(w->facility, when_utc(), w->rounds, w->round_count, w->now_ms, &w->arena),
      .glass = w->glass,
      .baths = wet_baths(place, past, &w->arena),
      .waste = wet_waste(place, past, &w->arena),
      .incidents = w->incidents,
      .incident_count = w->incident_count,
      .ahead = w->ahead,
      .ahead_count = w->ahead_count};
  return told;
}

static struct standing_table *table_of(struct world *w)
{
  struct watch_belief belief = watch_believe(w->watch, w->now_ms, &w->arena);
  struct air *air = air_new(w->facility, NULL);
  struct answer_live live = {.facility = w->facility,
                             .feeds = w->feeds,
                             .belief = &belief,
                             .air =
                                 air_ask(air, &belief.scene, &air_settings_sure, &w->arena, NULL),
                             .zone = when_utc(),
                             .since_ms = INT64_MIN};
  const struct standing_moment moment = {.facility = w->facility,
                                         .zone = when_utc(),
                                         .now_ms = w->now_ms,
                                         .told = w->nothing_kept ? NULL : told_of(w),
                                         .live = w->connected ? &live : NULL,
                                         .processes = w->processes,
                                         .bookings = w->bookings};
  struct standing_table *table = standing_new(&moment, &w->arena);

  air_free(air);
  standing_settle(table);
  return table;
}

static const struct standing_row *row_of(struct world *w, int station)
{
  return &table_of(w)->rows[station];
}

static const struct standing_fact *fact_of(const struct standing_row *row, const char *kind)
{
  for (int i = 0; i < row->fact_count; i++)
    if (strcmp(row->facts[i].kind, kind) == 0)
      return &row->facts[i];
  return NULL;
}

/* A1 with all that is asked told and measured just now. */
static void make_ready(struct world *w)
{
  all_quiet(w);
  walk(w, "A1", "yes", NULL);
}

/* ---- tests ---- */

static void what_nobody_told_or_measured_is_not_known_and_treated_as_no(void)
{
  struct world w;

  if (begin(&w)) {
    w.connected = false;
    w.nothing_kept = true;
    CHECK_INT(row_of(&w, 0)->state, STANDING_TREAT_AS_NO);
    CHECK(fact_of(row_of(&w, 0), "record")->says == STANDING_NOT_KNOWN);
    CHECK(fact_of(row_of(&w, 0), "air")->says == STANDING_NOT_KNOWN);
    w.nothing_kept = false;
    CHECK(fact_of(row_of(&w, 0), "round")->says == STANDING_NOT_KNOWN);
  }
  end(&w);
}

static void the_best_that_is_said_is_under_which_conditions(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    const struct standing_row *row = row_of(&w, 0);

    CHECK_INT(row->state, STANDING_UNDER_CONDITIONS);
    CHECK_STR(row->line, "READY UNDER CONDITIONS: LOOK BEFORE YOU START");
    CHECK_INT(row->facts[0].says, STANDING_CONDITION);
    CHECK(row->is_deck_free);
  }
  end(&w);
}

static void glass_that_lost_its_status_is_left_alone_until_somebody_writes_what_was_done(void)
{
  struct world w;

  if (begin(&w)) {
    struct sighting_case seen = {
        .about = "A1",
        .station = 0,
        .told = {.mark = "violet square F", .piece = "beaker 1 L", .count = 1},
        .is_lost = true,
        .times = 1,
        .first = {w.now_ms, 14, "E. Test", NULL},
        .last = {w.now_ms, 14, "E. Test", NULL},
        .owner = -1,
        .left = 1};
    struct sighting_list list = {.facility = w.facility, .case_count = 1, .cases = &seen};

    make_ready(&w);
    w.glass = &list;
    const struct standing_fact *fact = fact_of(row_of(&w, 0), "glass");

    CHECK(fact && fact->says == STANDING_CONDITION);
    CHECK(fact && strstr(fact->text, "violet square F, beaker 1 L") &&
          strstr(fact->next, "Do not use"));
    CHECK_STR(fact->source, "entry 14 of the record");
    CHECK_STR(row_of(&w, 0)->line, "READY UNDER CONDITIONS: GLASS HERE HAS NO STATUS: LEAVE IT");
    CHECK(fact_of(row_of(&w, 1), "glass") == NULL);
    seen.left = 0;
    CHECK(fact_of(row_of(&w, 0), "glass") == NULL);
    list.unread = 1;
    CHECK_INT(row_of(&w, 0)->state, STANDING_TREAT_AS_NO);
  }
  end(&w);
}

static void a_station_out_of_service_is_not_ready_whatever_was_told(void)
{
  struct world w;

  if (begin(&w)) {
    all_quiet(&w);
    walk(&w, "A3", "yes", NULL);
    CHECK_STR(row_of(&w, 2)->line, "NOT READY: OUT OF SERVICE");
  }
  end(&w);
}

static void who_took_it_out_of_use_goes_before_what_cools_there(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    run(&w, "started", "A1", "strip", "2026-11-30 03:00");
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: RUNS UNTIL 03:00");
    withdraw(&w, 0, "baffle loose");
    const struct standing_row *row = row_of(&w, 0);

    CHECK_STR(row->line, "NOT READY: WITHDRAWN SINCE 00:00");
    CHECK_STR(row->facts[1].kind, "run");
  }
  end(&w);
}

static void a_run_stands_against_a_start_until_somebody_clears_it(void)
{
  struct world w;

  if (begin(&w)) {
    run(&w, "started", "A1", "strip", "2026-11-30 03:00");
    w.now_ms += 4 * hour_ms;
    make_ready(&w);
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: RUN OVERDUE SINCE 03:00");
    CHECK_STR(fact_of(row_of(&w, 0), "run")->next, "Touch nothing. Call 4217.");
    run(&w, "over", "A1", NULL, NULL);
    CHECK_INT(row_of(&w, 0)->state, STANDING_NOT_READY);
    run(&w, "cleared", "A1", NULL, NULL);
    CHECK_INT(row_of(&w, 0)->state, STANDING_UNDER_CONDITIONS);
  }
  end(&w);
}

static void an_open_finding_stands_against_a_start_and_an_old_round_is_not_known(void)
{
  struct world w;

  if (begin(&w)) {
    all_quiet(&w);
    walk(&w, "A1", "yes", "deck");
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: OPEN FINDING: deck");
    walk(&w, "A1", "yes", NULL);
    w.now_ms += 25 * hour_ms;
    all_quiet(&w);
    CHECK_STR(row_of(&w, 0)->line, "NOT KNOWN, TREAT AS NO: ROUND OVERDUE: deck, label");
    CHECK_INT(fact_of(row_of(&w, 0), "round")->t_ms, w.rounds[1].t_ms);
  }
  end(&w);
}

static void a_proof_counts_to_the_end_of_its_last_day(void)
{
  static const int64_t day_ms = 24 * 3600 * 1000;
  struct world w;

  if (begin(&w)) {
    /* done on 2026-03-14, 365 d: in date on 2027-03-14, and no longer on the day after */
    w.now_ms = start_ms + 105 * day_ms - minute_ms; /* 2027-03-14 23:59 */
    make_ready(&w);
    CHECK_INT(row_of(&w, 0)->state, STANDING_UNDER_CONDITIONS);
    w.now_ms = start_ms + 105 * day_ms;
    make_ready(&w);
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: face velocity test OUT OF DATE");
    CHECK_STR(fact_of(row_of(&w, 0), "proof")->source, "rule 3");
    CHECK_INT(fact_of(row_of(&w, 1), "proof")->says, STANDING_NOT_KNOWN); /* no day is told */
  }
  end(&w);
}

static void a_bath_told_of_longer_ago_than_the_suite_allows_is_not_known(void)
{
  struct world w;

  if (begin(&w)) {
    pour(&w, "T1", "sc-1");
    w.now_ms += 9 * hour_ms;
    CHECK_INT(fact_of(row_of(&w, 1), "tank")->says, STANDING_NOT_KNOWN); /* T2: nothing was told */
    const struct standing_row *row = row_of(&w, 1);
    bool stands = false;

    for (int i = 0; i < row->fact_count; i++)
      stands |= row->facts[i].says == STANDING_CONDITION && strstr(row->facts[i].line, "T1");
    CHECK(stands);
    w.now_ms += 2 * hour_ms;
    row = row_of(&w, 1);
    for (int i = 0; i < row->fact_count; i++)
      CHECK(strcmp(row->facts[i].kind, "tank") != 0 || row->facts[i].says == STANDING_NOT_KNOWN);
  }
  end(&w);
}

static void what_a_bath_asks_for_later_is_no_reason_of_now_and_has_its_own_action(void)
{
  struct world w;

  if (begin(&w)) {
    const struct standing_fact *stands = NULL, *later = NULL;
    const struct standing_row *row;

    pour(&w, "T1", "sc-1");
    row = row_of(&w, 1);
    for (int i = 0; i < row->fact_count; i++) {
      if (strstr(row->facts[i].line, "STANDS IN T1"))
        stands = &row->facts[i];
      if (strstr(row->facts[i].line, "T1 IS DUE LATER"))
        later = &row->facts[i];
    }
    REQUIRE(stands && later);
    CHECK_STR(stands->next, "Only what may stand beside it: ask `inward meet`.");
    CHECK(strstr(stands->text, "read its temperature") == NULL);
    CHECK(strstr(later->text, "read its temperature") != NULL);
    CHECK_INT(stands->says, STANDING_CONDITION);
    CHECK_INT(later->says, STANDING_NOTED);
    CHECK_STR(later->next, "Do that by then, and tell it.");
    CHECK(stands->until_ms == INT64_MIN && later->until_ms > w.now_ms);
  }
  end(&w);
}

static void two_chemistry_families_on_one_deck_contradict_each_other(void)
{
  struct world w;

  if (begin(&w)) {
    pour(&w, "T1", "sc-1");
    CHECK_STR(row_of(&w, 1)->family, "base");
    CHECK_INT(fact_of(row_of(&w, 1), "deck")->says, STANDING_CONDITION);
    pour(&w, "T2", "acetone-bath");
    const struct standing_fact *deck = fact_of(row_of(&w, 1), "deck");

    CHECK_INT(deck->says, STANDING_CONTRADICTORY);
    CHECK_STR(deck->line, "base AND organic ON ONE DECK");
    CHECK(row_of(&w, 1)->family == NULL);
  }
  end(&w);
}

static void its_own_alarm_goes_before_all_and_an_unheard_one_is_not_known(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    withdraw(&w, 0, "baffle loose");
    say(&w, "alarm", 1);
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: ITS OWN ALARM IS ON");
    w.withdrawn[0] = NULL;
    w.now_ms += 2 * minute_ms;
    say(&w, "sash", 0.02);
    say(&w, "there", 0);
    say(&w, "beam", 0);
    say(&w, "fire", 0);
    CHECK_INT(fact_of(row_of(&w, 0), "own alarm")->says, STANDING_NOT_KNOWN);
    CHECK_INT(row_of(&w, 0)->state, STANDING_TREAT_AS_NO);
    say(&w, "alarm", 0);
    say(&w, "fire", 1);
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: BUILDING ALARM");
  }
  end(&w);
}

static void a_wet_tray_and_a_weak_deck_stand_against_a_start_and_an_unheard_one_is_not_known(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    CHECK_INT(fact_of(row_of(&w, 1), "panel")->says, STANDING_NOT_KNOWN);
    say(&w, "wet", 0);
    say(&w, "deck", 60 / 3600.0);
    CHECK(!fact_of(row_of(&w, 1), "panel") && !fact_of(row_of(&w, 1), "bench"));
    say(&w, "deck", 40 / 3600.0);
    CHECK_STR(row_of(&w, 1)->line, "NOT READY: ITS DECK IS TOO WEAK");
    say(&w, "wet", 1);
    CHECK_STR(row_of(&w, 1)->line, "NOT READY: LEAK TRAY TR1 IS WET");
    CHECK(strstr(fact_of(row_of(&w, 1), "bench")->next, "Step away") != NULL);
  }
  end(&w);
}

static void an_open_sash_is_in_use_and_something_under_it_is_a_reason(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    say(&w, "sash", 0.30);
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: OPEN, NOBODY THERE");
    say(&w, "there", 1);
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: IN USE");
    say(&w, "sash", 0.02);
    CHECK_STR(row_of(&w, 0)->line, "READY UNDER CONDITIONS: SOMEBODY IS THERE");
    say(&w, "beam", 1);
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: SOMETHING UNDER ITS SASH");
    w.now_ms += 2 * minute_ms;
    CHECK_INT(row_of(&w, 0)->state, STANDING_TREAT_AS_NO); /* all of it grew too old */
  }
  end(&w);
}

static void what_was_told_to_have_happened_stands_against_a_start_for_a_shift(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    enter(&w, w.incidents, &w.incident_count, "A1", "a spill inside",
          "{\"incident\": \"near-miss\"}");
    CHECK_INT(row_of(&w, 0)->state, STANDING_UNDER_CONDITIONS);
    enter(&w, w.incidents, &w.incident_count, "Etch", "a spill outside", "");
    CHECK_STR(row_of(&w, 0)->line, "NOT READY: TOLD AT 00:00: SOMETHING HAPPENED");
    CHECK_INT(fact_of(row_of(&w, 1), "incident")->until_ms, w.incidents[1].t_ms + 12 * hour_ms);
  }
  end(&w);
}

static void what_was_told_of_a_moment_to_come_is_not_known_and_not_forgotten(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    CHECK_INT(row_of(&w, 0)->state, STANDING_UNDER_CONDITIONS);
    enter(&w, w.ahead, &w.ahead_count, "A2", "baffle loose", "");
    CHECK_INT(row_of(&w, 0)->state, STANDING_UNDER_CONDITIONS); /* of another station */
    enter(&w, w.ahead, &w.ahead_count, "A1", "glass broke", "");
    CHECK_INT(row_of(&w, 0)->state, STANDING_TREAT_AS_NO);
    CHECK_STR(fact_of(row_of(&w, 0), "record")->line, "TOLD OF A MOMENT TO COME");
    w.ahead_count = 0;
    enter(&w, w.ahead, &w.ahead_count, "Gone", "runs", ""); /* renamed since: it may be here */
    CHECK_INT(row_of(&w, 0)->state, STANDING_TREAT_AS_NO);
  }
  end(&w);
}

static void a_bath_in_a_tank_that_the_file_names_no_more_may_stand_anywhere(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    pour(&w, "T9", "sc-1");
    CHECK_INT(row_of(&w, 0)->state, STANDING_TREAT_AS_NO);
    CHECK_STR(fact_of(row_of(&w, 0), "tank")->line, "WHAT STANDS IN T9");
    enter(&w, w.baths, &w.bath_count, "A2", "emptied",
          "{\"schema\": \"inward.wet.1\", \"act\": \"dumped\", \"tank\": \"T9\"}");
    w.baths[w.bath_count - 1].kind = RECORD_BATH;
    CHECK_INT(row_of(&w, 0)->state, STANDING_UNDER_CONDITIONS);
  }
  end(&w);
}

static void a_proof_that_was_missed_stands_against_a_start_whatever_its_day(void)
{
  struct world w;

  if (begin(&w)) {
    CHECK(fact_of(row_of(&w, 2), "proof")->says == STANDING_AGAINST);
    CHECK_STR(fact_of(row_of(&w, 2), "proof")->line, "smoke check MISSED");
  }
  end(&w);
}

static void a_record_of_another_suite_tells_nothing_of_this_one(void)
{
  struct world w;

  if (begin(&w)) {
    all_quiet(&w);
    struct standing_told *told = told_of(&w);
    const struct standing_moment moment = {
        .facility = w.facility, .zone = when_utc(), .now_ms = w.now_ms, .told = told};

    told->other_suite = "Elsewhere";
    struct standing_table *table = standing_new(&moment, &w.arena);

    standing_settle(table);
    CHECK_INT(table->rows[0].state, STANDING_TREAT_AS_NO);
    CHECK(strstr(fact_of(&table->rows[0], "record")->text, "Elsewhere") != NULL);
    CHECK(!fact_of(&table->rows[0], "round"));
  }
  end(&w);
}

static void a_booking_says_until_when_a_station_is_held_and_by_nobody_by_name(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    struct day_booking list[] = {{.id = "Q1",
                                  .station = 0,
                                  .start_ms = start_ms - hour_ms,
                                  .end_ms = start_ms + 2 * hour_ms,
                                  .who = "U7",
                                  .what = "strip",
                                  .family = "acid"},
                                 {.id = "Q2",
                                  .station = 0,
                                  .start_ms = start_ms + 3 * hour_ms,
                                  .end_ms = start_ms + 4 * hour_ms,
                                  .who = "U8",
                                  .what = "",
                                  .family = ""}};
    const struct day_bookings bookings = {2, list};

    w.bookings = &bookings;
    const struct standing_row *row = row_of(&w, 0);

    CHECK_STR(row->line, "READY UNDER CONDITIONS: BOOKED UNTIL 02:00");
    CHECK_STR(row->facts[0].text, "Booked from SUN 23:00 to 02:00, acid.");
    CHECK_INT(row->facts[0].until_ms, start_ms + 2 * hour_ms);
    for (int i = 0; i < row->fact_count; i++)
      CHECK(!strstr(row->facts[i].text, "U7"));
    w.now_ms = start_ms + 2 * hour_ms;
    make_ready(&w);
    CHECK_STR(fact_of(row_of(&w, 0), "booking")->line, "BOOKED FROM 03:00");
    CHECK(!fact_of(row_of(&w, 1), "booking"));
  }
  end(&w);
}

static void what_another_module_knows_takes_its_place_by_gravity(void)
{
  struct world w;

  if (begin(&w)) {
    make_ready(&w);
    struct standing_table *table = table_of(&w);
    struct standing_fact fact = {.kind = "leak tray",
                                 .says = STANDING_AGAINST,
                                 .line = "LEAK TRAY WET",
                                 .text = "Its leak tray is wet.",
                                 .source = "point tray",
                                 .t_ms = INT64_MIN,
                                 .until_ms = INT64_MIN};

    standing_add(table, 0, &fact);
    standing_settle(table);
    CHECK_STR(table->rows[0].line, "NOT READY: LEAK TRAY WET");
    CHECK_INT(table->rows[1].state, STANDING_TREAT_AS_NO);
  }
  end(&w);
}

/* Over every state a row was brought to above: words that would grant something. */
static void no_answer_calls_a_station_safe_or_grants_a_start(void)
{
  static const char *const never[] = {"safe",      " ok",        "allowed",
                                      "may start", "cleared to", "go ahead"};
  struct world w;
  struct buf out;

  if (!begin(&w))
    return;
  buf_init(&out, 1 << 20);
  make_ready(&w);
  standing_text(table_of(&w), 0, &out);
  standing_text(table_of(&w), -1, &out);
  standing_json(table_of(&w), -1, &out);
  CHECK(out.used > 1000);
  for (char *c = out.text; *c; c++)
    *c = (char)tolower((unsigned char)*c);
  for (size_t i = 0; i < sizeof never / sizeof never[0]; i++) {
    CHECK_CASE("%s", never[i]);
    CHECK(strstr(out.text, never[i]) == NULL);
  }
  buf_release(&out);
  end(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_nobody_told_or_measured_is_not_known_and_treated_as_no);
  RUN(the_best_that_is_said_is_under_which_conditions);
  RUN(glass_that_lost_its_status_is_left_alone_until_somebody_writes_what_was_done);
  RUN(a_station_out_of_service_is_not_ready_whatever_was_told);
  RUN(who_took_it_out_of_use_goes_before_what_cools_there);
  RUN(a_run_stands_against_a_start_until_somebody_clears_it);
  RUN(an_open_finding_stands_against_a_start_and_an_old_round_is_not_known);
  RUN(a_proof_counts_to_the_end_of_its_last_day);
  RUN(a_bath_told_of_longer_ago_than_the_suite_allows_is_not_known);
  RUN(what_a_bath_asks_for_later_is_no_reason_of_now_and_has_its_own_action);
  RUN(two_chemistry_families_on_one_deck_contradict_each_other);
  RUN(its_own_alarm_goes_before_all_and_an_unheard_one_is_not_known);
  RUN(a_wet_tray_and_a_weak_deck_stand_against_a_start_and_an_unheard_one_is_not_known);
  RUN(an_open_sash_is_in_use_and_something_under_it_is_a_reason);
  RUN(what_was_told_to_have_happened_stands_against_a_start_for_a_shift);
  RUN(what_was_told_of_a_moment_to_come_is_not_known_and_not_forgotten);
  RUN(a_bath_in_a_tank_that_the_file_names_no_more_may_stand_anywhere);
  RUN(a_proof_that_was_missed_stands_against_a_start_whatever_its_day);
  RUN(a_record_of_another_suite_tells_nothing_of_this_one);
  RUN(a_booking_says_until_when_a_station_is_held_and_by_nobody_by_name);
  RUN(what_another_module_knows_takes_its_place_by_gravity);
  RUN(no_answer_calls_a_station_safe_or_grants_a_start);
  return check_end();
}
