#include "alarm/alarm.h"

#include "check.h"

#include <stdio.h>
#include <string.h>

/*
 * Alarms on days made by hand; times are written in seconds.  The states and their transitions are those
 * of ANSI/ISA-18.2 and IEC 62682 (value from memory: normal, unacknowledged, acknowledged, returned to
 * normal unacknowledged, shelved, suppressed by design, out of service).
 */

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Alarm suite\n"
    "rooms: {Etch: {}, Gown: {}}\n"
    "mains:\n"
    "  Acid: {capacity: {value: 3000 m3/h, short: {enter: 100 %, leave: 95 %}}}\n"
    "  Solvent: {capacity: {value: 1500 m3/h, short: {enter: 100 %, leave: 95 %}}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  A3: {kind: fume hood, room: Etch, main: Acid, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  S1: {kind: fume hood, room: Gown, main: Solvent, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n";

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "alarms:\n"
    "  air: {when: short, priority: high, on after: 30 s, off after: 60 s, action: Lower first what the wall names}\n"
    "  empty: {when: unattended, priority: low, on after: 600 s, off after: 10 s}\n"
    "sources: {us: {name: people, old after: 1000 s, hand: {}}}\n"
    "points:\n"
    "  a1: {of: A1, what: opening, from: us, unit: m}\n"
    "  a2: {of: A2, what: opening, from: us, unit: m}\n"
    "  a3: {of: A3, what: opening, from: us, unit: m}\n"
    "  s1: {of: S1, what: opening, from: us, unit: m}\n"
    "  a1-own: {of: A1, what: alarm, from: us, old after: 100 s}\n"
    "  a2-own: {of: A2, what: alarm, from: us}\n"
    "  building: {what: alarm, from: us}\n"

    "  a1-there: {of: A1, what: presence, from: us}\n";

struct world {
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct watch *watch;
  struct judge *judge;
  struct alarms *alarms;
  struct buf log; /* "130 on Acid short; ..." */
  int told_count;
  struct alarm_told told[400]; /* as a record would keep it */
};

/* What a person did is kept by who asks for it. */
static void keep_act(struct world *w, const char *kind, const char *about, int64_t t_s,
                     const char *detail)
{
  struct alarm_told *told = &w->told[w->told_count++];

  *told = (struct alarm_told){
      .t_ms = t_s * 1000, .about = about, .who = "M. Rao", .why = "fan at test"};
  CHECK(alarm_told_read(kind, detail, &w->arena, told));
}

static void keep_turn(void *arg, const struct alarms *alarms, const struct alarm_turn *turn)
{
  struct world *w = arg;
  const struct alarm *alarm = alarms_at(alarms, turn->index);

  if (turn->kind != ALARM_TURN_ACKNOWLEDGED && turn->kind != ALARM_TURN_SHELVED) {
    struct buf detail;

    buf_init(&detail, 1 << 16);
    alarms_turn_json(alarms, turn, &detail);
    keep_act(w, "event", alarm->about, turn->t_ms / 1000, detail.text);
    buf_release(&detail);
  }
  buf_printf(&w->log, "%lld %s %s %s; ", (long long)(turn->t_ms / 1000),
             alarm_turn_name(turn->kind), alarm->about, feeds_when_name(alarm->rule->when));
}

static void see(void *arg, const struct judge_seen *seen)
{
  struct world *w = arg;

  alarms_see(w->alarms, seen);
}

static void make_with(struct world *w, const char *feeds_yaml)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_yaml, strlen(feeds_yaml)};
  struct complaints complaints;
  struct err err = {0};

  *w = (struct world){0};
  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&complaints, &w->arena);
  buf_init(&w->log, 1 << 16);
  w->facility = facility_read(&suite, NULL, 0, &complaints);
  BUG_IF(!w->facility);
  w->feeds = feeds_read(w->facility, &feeds, &complaints);
  BUG_IF(!w->feeds);
  w->watch = watch_new(w->facility, w->feeds);
  w->alarms = alarms_new(&(struct alarms_settings){w->facility, w->feeds, keep_turn, w});
  BUG_IF(judge_new(&(struct judge_settings){.facility = w->facility,
                                            .feeds = w->feeds,
                                            .zone = when_utc(),
                                            .watch = w->watch,
                                            .seen = see,
                                            .arg = w},
                   &w->judge, &err) != ERR_OK);
}

static void make(struct world *w)
{
  make_with(w, feeds_text);
}

static void release(struct world *w)
{
  alarms_free(w->alarms);
  judge_free(w->judge);
  watch_free(w->watch);
  feeds_free(w->feeds);
  facility_free(w->facility);
  buf_release(&w->log);
  arena_release(&w->arena);
}

static void put(struct world *w, int64_t t_s, const char *point, double si)
{
  watch_take(w->watch, &(struct feed_observation){.point = feeds_point_find(w->feeds, point),
                                                  .t_ms = t_s * 1000,
                                                  .seen_ms = t_s * 1000,
                                                  .si = si,
                                                  .quality = FEED_GOOD});
}

/* What stood before is judged up to that moment first: what comes is believed a little before its time. */
static void say(struct world *w, int64_t t_s, const char *point, double si)
{
  judge_until(w->judge, t_s * 1000);
  put(w, t_s, point, si);
}

static void at(struct world *w, int64_t t_s)
{
  CHECK(judge_at(w->judge, t_s * 1000, true));
}

/* All sashes of the acid main, and the rest quiet. */
static void acid(struct world *w, int64_t t_s, double opening_m)
{
  static const char *const sashes[] = {"a1", "a2", "a3"};
  static const char *const quiet[] = {"s1", "a1-own", "a2-own", "building"};

  judge_until(w->judge, t_s * 1000);
  for (int i = 0; i < 3; i++)
    put(w, t_s, sashes[i], opening_m);
  for (int i = 0; i < 4; i++)
    put(w, t_s, quiet[i], 0);
  put(w, t_s, "a1-there", 1);
  at(w, t_s);
}

static const struct alarm *find(const struct world *w, const char *about, enum feeds_when when)
{
  for (int i = 0; i < alarms_count(w->alarms); i++)
    if (strcmp(alarms_at(w->alarms, i)->about, about) == 0 &&
        alarms_at(w->alarms, i)->rule->when == when)
      return alarms_at(w->alarms, i);
  BUG_IF(true);
  return NULL;
}

static bool log_is(const struct world *w, const char *text)
{
  if (CHECK(strcmp(w->log.text, text) == 0))
    return true;
  fprintf(stderr, "log: %s\n", w->log.text);
  return false;
}

/* ---- delays ---- */

/* 3 x 1100 = 3300 m3/h of 3000: short from 100 s on, told 30 s later; over from 200 s on, 60 s later. */
static void an_alarm_comes_and_goes_after_its_own_delays(void)
{
  struct world w;

  make(&w);
  acid(&w, 0, 0);
  acid(&w, 100, 0.5);
  acid(&w, 200, 0);
  acid(&w, 300, 0);
  log_is(&w, "130 on Acid short; 260 off Acid short; ");
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_RETURNED);
  release(&w);
}

static void what_chatters_within_the_delays_is_one_alarm(void)
{
  struct world w;

  make(&w);
  for (int t_s = 0; t_s < 200; t_s += 40) { /* 20 s short, 20 s not: never for 30 s */
    acid(&w, t_s, 0.5);
    acid(&w, t_s + 20, 0);
  }
  log_is(&w, "");
  acid(&w, 200, 0.5);
  acid(&w, 240, 0.5);
  for (int t_s = 260; t_s < 500; t_s += 40) { /* on once; never over for 60 s */
    acid(&w, t_s, 0);
    acid(&w, t_s + 20, 0.5);
  }
  log_is(&w, "230 on Acid short; ");
  release(&w);
}

/* ---- the states ---- */

enum act { SO, OVER, SEEN, ASIDE, BACK };

/* Another program, begun anew, that reads what the first one told. */
static void check_recalled(const struct world *w)
{
  struct alarms *anew =
      alarms_new(&(struct alarms_settings){.facility = w->facility, .feeds = w->feeds});

  alarms_recall(anew, w->told, w->told_count);
  for (int i = 0; i < alarms_count(anew); i++) {
    const struct alarm *was = alarms_at(w->alarms, i), *is = alarms_at(anew, i);

    CHECK_INT(is->state, was->state);
    CHECK_INT(is->is_so, was->is_so);
    CHECK_INT(is->since_ms, was->since_ms);
    CHECK_STR(is->who, was->who);
    CHECK_INT(is->state == ALARM_SHELVED ? is->until_ms : 0,
              was->state == ALARM_SHELVED ? was->until_ms : 0);
  }
  alarms_free(anew);
}

static enum err_code aside(struct world *w, const char *about, const char *why, int64_t t_s,
                           int64_t from_s, int64_t until_s, struct err *err)
{
  return alarms_shelve(w->alarms,
                       &(struct alarm_told){.t_ms = t_s * 1000,
                                            .about = about,
                                            .who = "M. Rao",
                                            .why = why,
                                            .from_ms = from_s * 1000,
                                            .until_ms = until_s * 1000},
                       err);
}

static void act_on_acid(struct world *w, enum act act, int64_t t_s)
{
  struct err err = {0};
  struct buf detail;

  buf_init(&detail, 400);
  if (act == SEEN) {
    alarms_acknowledge(w->alarms, "Acid", "M. Rao", t_s * 1000);
    keep_act(w, "acknowledged", "Acid", t_s, "");
  } else if (act == ASIDE) {
    CHECK(aside(w, "Acid", "fan at test", t_s, t_s, t_s + 7200, &err) == ERR_OK);
    alarms_shelf_json(t_s * 1000, (t_s + 7200) * 1000, &detail);
    keep_act(w, "shelved", "Acid", t_s, detail.text);
  } else if (act == BACK) {
    CHECK(alarms_unshelve(w->alarms, "Acid", t_s * 1000) > 0);
    keep_act(w, "unshelved", "Acid", t_s, "");
  }
  buf_release(&detail);
}

static void every_state_is_reached_and_left_as_the_practice_says(void)
{
  static const struct {
    enum act act;
    enum alarm_state then;
  } steps[] = {
      {OVER, ALARM_NORMAL},       {SEEN, ALARM_NORMAL},       {SO, ALARM_ACTIVE},
      {SEEN, ALARM_ACKNOWLEDGED}, {SEEN, ALARM_ACKNOWLEDGED}, {OVER, ALARM_NORMAL},
      {SO, ALARM_ACTIVE},         {OVER, ALARM_RETURNED},     {SO, ALARM_ACTIVE},
      {OVER, ALARM_RETURNED},     {SEEN, ALARM_NORMAL},       {SO, ALARM_ACTIVE},
      {ASIDE, ALARM_SHELVED},     {BACK, ALARM_ACTIVE},       {ASIDE, ALARM_SHELVED},
      {OVER, ALARM_SHELVED},      {BACK, ALARM_NORMAL},       {SO, ALARM_ACTIVE},
      {ASIDE, ALARM_SHELVED},     {BACK, ALARM_ACTIVE},
  };
  struct world w;
  double opening_m = 0;

  make(&w);
  for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
    int64_t t_s = (int64_t)i * 200;

    CHECK_CASE("step %zu", i);
    if (steps[i].act == SO || steps[i].act == OVER)
      opening_m = steps[i].act == SO ? 0.5 : 0;
    acid(&w, t_s, opening_m);
    act_on_acid(&w, steps[i].act, t_s);
    acid(&w, t_s + 100, opening_m);
    CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, steps[i].then);
    check_recalled(&w);
  }
  release(&w);
}

/* Planned from 1000 to 1400 s, and kept as a record would. */
static void plan_acid(struct world *w, int64_t t_s)
{
  struct err err = {0};
  struct buf detail;

  buf_init(&detail, 400);
  CHECK(aside(w, "Acid", "filter change", t_s, 1000, 1400, &err) == ERR_OK);
  alarms_shelf_json(1000000, 1400000, &detail);
  keep_act(w, "shelved", "Acid", t_s, detail.text);
  buf_release(&detail);
}

static void a_planned_stop_is_put_aside_when_it_comes_and_told_when_it_lasts(void)
{
  struct world w;

  make(&w);
  acid(&w, 0, 0);
  plan_acid(&w, 0);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_NORMAL);
  acid(&w, 500, 0.5); /* before its time: told */
  acid(&w, 540, 0.5);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_ACTIVE);
  acid(&w, 600, 0);
  acid(&w, 700, 0);
  check_recalled(&w);
  acid(&w, 1100, 0.5);
  acid(&w, 1140, 0.5);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_SHELVED);
  CHECK_STR(find(&w, "Acid", FEEDS_WHEN_SHORT)->why, "filter change");
  check_recalled(&w);
  acid(&w, 1500, 0.5); /* it should be over */
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_ACTIVE);
  CHECK(strstr(w.log.text, "1400 unshelved Acid short; ") != NULL);
  check_recalled(&w);
  release(&w);
}

static void what_already_stands_is_put_aside_when_its_plan_begins(void)
{
  struct world w;

  make(&w);
  acid(&w, 0, 0);
  plan_acid(&w, 0);
  acid(&w, 900, 0.5);
  acid(&w, 950, 0.5);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_ACTIVE);
  acid(&w, 1050, 0.5);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_SHELVED);
  CHECK(alarms_unshelve(w.alarms, "Acid", 1060000) > 0);
  acid(&w, 1100, 0.5); /* taken back: the plan does not overrule it */
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_ACTIVE);
  release(&w);
}

static void a_plan_that_makes_no_sense_is_refused(void)
{
  struct err err = {0};
  struct world w;

  make(&w);
  acid(&w, 0, 0);
  CHECK(aside(&w, "Acid", "filter change", 0, 1000, 900, &err) == ERR_INPUT);
  CHECK(aside(&w, "Acid", "filter change", 0, 1000, 1000 + 12 * 3600 + 1, &err) == ERR_INPUT);
  CHECK(aside(&w, "", "drill", 0, 1000, 1400, &err) ==
        ERR_OK); /* `not known` of the suite may be */
  CHECK_INT(find(&w, "", FEEDS_WHEN_BUILDING)->planned_until_ms, INT64_MIN); /* its alarm may not */
  CHECK(alarms_unshelve(w.alarms, "", 10000) > 0);
  CHECK_INT(find(&w, "", FEEDS_WHEN_NOT_KNOWN)->planned_until_ms, INT64_MIN);
  release(&w);
}

static void what_is_no_alarm_in_a_record_is_left_out(void)
{
  static const char *const details[] = {
      "",
      "{",
      "[]",
      "{}",
      "{\"schema\": \"inward.turned.1\"}",
      "{\"schema\": \"inward.alarm.1\", \"when\": \"fan lost\"}",
      "{\"schema\": \"inward.alarm.1\", \"when\": \"no such\", \"priority\": \"low\", \"turn\": \"on\", "
      "\"state\": \"active\"}",
      "{\"schema\": \"inward.alarm.1\", \"when\": 3, \"priority\": \"low\", \"turn\": \"on\", \"state\": "
      "\"active\"}"};
  struct arena arena;
  struct alarm_told told = {0};

  arena_init(&arena, SIZE_MAX);
  for (size_t i = 0; i < sizeof details / sizeof *details; i++) {
    CHECK_CASE("%s", details[i]);
    CHECK(!alarm_told_read("event", details[i], &arena, &told));
    CHECK(!alarm_told_read("shelved", details[i], &arena, &told));
  }
  CHECK(!alarm_told_read("shelved", "{\"schema\": \"inward.shelved.1\", \"until\": \"soon\"}",
                         &arena, &told));
  CHECK(!alarm_told_read("note", "", &arena, &told));
  arena_release(&arena);
}

static void what_is_put_aside_comes_back_by_itself(void)
{
  struct err err = {0};
  struct world w;

  make(&w);
  acid(&w, 0, 0.5);
  acid(&w, 40, 0.5);
  CHECK(aside(&w, "Acid", "fan at test", 40, 40, 100, &err) == ERR_OK);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_SHELVED);
  acid(&w, 150, 0.5);
  CHECK(strstr(w.log.text, "100 unshelved Acid short; ") != NULL);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_ACTIVE);
  release(&w);
}

static void not_everything_may_be_put_aside(void)
{
  static const struct {
    const char *about, *why;
    int64_t until_s;
    const char *says;
  } cases[] = {
      {"Acid", "", 3600, "reason"},
      {"Acid", "tests", 0, "past"},
      {"Acid", "tests", 12 * 3600 + 1, "12 h"},
      {"Solvent", "tests", 3600, "no alarm of 'Solvent' stands"},
      {"nothing", "tests", 3600, "no alarm of 'nothing'"},
  };
  struct world w;

  make(&w);
  acid(&w, -100, 0.5);
  acid(&w, -50, 0.5);
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct err err = {0};

    CHECK_CASE("%s", cases[i].says);
    CHECK(aside(&w, cases[i].about, cases[i].why, 0, 0, cases[i].until_s, &err) == ERR_INPUT);
    CHECK(strstr(err.text, cases[i].says) != NULL);
  }
  CHECK(strstr(w.log.text, "shelved") == NULL);
  release(&w);
}

static void a_stations_own_alarm_is_never_put_aside(void)
{
  struct err err = {0};
  struct world w;

  make(&w);
  acid(&w, 0, 0);
  say(&w, 10, "a1-own", 1);
  at(&w, 10);
  CHECK(aside(&w, "A1", "it always beeps", 10, 10, 20, &err) == ERR_INPUT);
  CHECK_INT(find(&w, "A1", FEEDS_WHEN_OWN)->state, ALARM_ACTIVE);
  release(&w);
}

static void a_withdrawn_station_is_out_of_service(void)
{
  struct world w;

  make(&w);
  acid(&w, 0, 0);
  watch_withdraw(w.watch, facility_station_find(w.facility, "A1"), true);
  at(&w, 10);
  CHECK_INT(find(&w, "A1", FEEDS_WHEN_OWN)->state, ALARM_OUT_OF_SERVICE);
  CHECK_INT(find(&w, "A2", FEEDS_WHEN_OWN)->state, ALARM_NORMAL);
  release(&w);
}

/* ---- what is no longer heard ---- */

static void what_is_no_longer_heard_has_not_ended(void)
{
  struct world w;

  make(&w);
  acid(&w, 0, 0);
  say(&w, 10, "a1-own", 1);
  at(&w, 10);
  at(&w, 200); /* it may be 100 s old */
  CHECK(find(&w, "A1", FEEDS_WHEN_OWN)->is_so);
  say(&w, 210, "a1-own", 0);
  at(&w, 210);
  at(&w, 211);
  CHECK(!find(&w, "A1", FEEDS_WHEN_OWN)->is_so);
  release(&w);
}

/* ---- one cause, one message ---- */

static void one_cause_is_one_message(void)
{
  struct world w;
  struct buf story;
  int list[200], lines = 0;

  make(&w);
  acid(&w, 0, 0.5);
  say(&w, 50, "building", 1);
  at(&w, 50);
  at(&w, 100);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_SUPPRESSED);
  CHECK_INT(alarms_waiting(w.alarms, list), 1);
  buf_init(&story, 1 << 16);
  alarms_story(w.alarms, list[0], &story);
  CHECK(strncmp(story.text, "Suite: the building's alarm is on. Leave", 40) == 0);
  CHECK(strstr(story.text, "With it: Acid: short of air: asks for 3300 m") != NULL);
  for (const char *p = story.text; *p; p++)
    lines += *p == '\n';
  CHECK_INT(lines, 2);
  buf_release(&story);
  release(&w);
}

/* The building's alarm ends at once, being short 60 s later: nobody is told of it in between. */
static void what_ends_with_its_cause_is_told_to_nobody(void)
{
  struct world w;
  int list[200];

  make(&w);
  acid(&w, 0, 0.5);
  say(&w, 10, "building", 1);
  at(&w, 10);
  acid(&w, 100, 0); /* and the building's alarm is over */
  at(&w, 120);
  CHECK(find(&w, "Acid", FEEDS_WHEN_SHORT)->is_so);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_SUPPRESSED);
  acid(&w, 200, 0);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_NORMAL);
  CHECK_INT(alarms_waiting(w.alarms, list), 1); /* the building's, over */
  release(&w);
}

/* Where a suite gives a cause less priority than what it explains. */
static void a_cause_is_as_urgent_as_what_it_explains(void)
{
  static const char head[] = "inward: 1 feeds\nalarms:\n";
  struct world w;
  struct buf text;

  buf_init(&text, 1 << 16);
  buf_printf(&text, "%s  bell: {when: building alarm, priority: low}\n%s", head,
             feeds_text + sizeof head - 1);
  make_with(&w, text.text);
  acid(&w, 0, 0.5);
  say(&w, 10, "building", 1);
  at(&w, 10);
  CHECK_INT(find(&w, "", FEEDS_WHEN_BUILDING)->priority, FEEDS_LOW);
  at(&w, 50);
  CHECK_INT(find(&w, "Acid", FEEDS_WHEN_SHORT)->state, ALARM_SUPPRESSED);
  CHECK_INT(find(&w, "", FEEDS_WHEN_BUILDING)->priority, FEEDS_HIGH);
  buf_release(&text);
  release(&w);
}

static void a_message_fits_a_telephone(void)
{
  struct world w;

  make(&w);
  acid(&w, 0, 0.5);
  at(&w, 900); /* nothing was heard of A1's own alarm since */
  at(&w, 1100);
  for (int i = 0; i < alarms_count(w.alarms); i++) {
    struct buf message;

    buf_init(&message, 4096);
    alarms_message(w.alarms, i, &message);
    CHECK(message.used > 10 && message.used <= ALARM_MESSAGE_MOST);
    buf_release(&message);
  }
  release(&w);
}

static void a_person_is_told_the_worst_first(void)
{
  struct world w;
  int list[200];

  make(&w);
  acid(&w, 0, 0.5);
  acid(&w, 100, 0.5);
  say(&w, 110, "a2-own", 1);
  at(&w, 110);
  CHECK_INT(alarms_waiting(w.alarms, list), 2);
  CHECK_INT(alarms_at(w.alarms, list[0])->rule->when, FEEDS_WHEN_OWN);
  CHECK_INT(alarms_at(w.alarms, list[1])->rule->when, FEEDS_WHEN_SHORT);
  CHECK_INT(alarms_acknowledge(w.alarms, "A2", "J. Berg", 111000), 1);
  CHECK(strcmp(find(&w, "A2", FEEDS_WHEN_OWN)->who, "J. Berg") == 0);
  release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(an_alarm_comes_and_goes_after_its_own_delays);
  RUN(what_chatters_within_the_delays_is_one_alarm);
  RUN(every_state_is_reached_and_left_as_the_practice_says);
  RUN(what_is_put_aside_comes_back_by_itself);
  RUN(what_is_no_alarm_in_a_record_is_left_out);
  RUN(a_planned_stop_is_put_aside_when_it_comes_and_told_when_it_lasts);
  RUN(what_already_stands_is_put_aside_when_its_plan_begins);
  RUN(a_plan_that_makes_no_sense_is_refused);
  RUN(not_everything_may_be_put_aside);
  RUN(a_stations_own_alarm_is_never_put_aside);
  RUN(a_withdrawn_station_is_out_of_service);
  RUN(what_is_no_longer_heard_has_not_ended);
  RUN(one_cause_is_one_message);
  RUN(what_ends_with_its_cause_is_told_to_nobody);
  RUN(a_cause_is_as_urgent_as_what_it_explains);
  RUN(a_message_fits_a_telephone);
  RUN(a_person_is_told_the_worst_first);
  return check_end();
}
