#include "may/may.h"

#include "check.h"

#include <math.h>
#include <string.h>

/* A small house: two stations, three people, three processes, and rules of each kind. */
static const char suite_text[] =
    "inward: 1 suite\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations:\n"
    "  A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}\n"
    "  A4: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}\n"
    "  A5: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}, in service: no}\n";

static const char of_people[] =
    "inward: 1 people\n"
    "endorsements:\n"
    "  wet: {valid: 2 years, source: rule 1}\n"
    "  hf: {valid: 12 months, needs: [wet], source: rule 2}\n"
    "hours: {tuesday: 07:30-18:00, wednesday: 07:30-18:00, source: rule 3}\n"
    "people:\n"
    "  U1: {granted: {wet: 2026-01-10, hf: 2026-01-10}}\n"
    "  U2: {granted: {wet: 2026-01-10, hf: 2025-01-10}}\n"
    "  U3: {granted: {wet: 2026-01-10}, status: gone}\n"
    "  U4: {name: Ada Invented, granted: {wet: 2026-01-10, hf: 2026-01-10}}\n"
    "  U5: {name: Invented Ada, granted: {wet: 2026-01-10}}\n";

static const char processes_text[] =
    "inward: 1 processes\n"
    "permission by: the desk\n"
    "processes:\n"
    "  P1: {uses: [hcl@10wt%], stations: [A3, A4], family: acid, lasts: 1 h, endorsements: [wet],\n"
    "      temperature: 21 degC, vessel: pp, second person: outside staffed hours,\n"
    "      document: {title: Acids, version: \"1\", review: 2027-01-01}}\n"
    "  P2: {uses: [hf@5wt%], stations: [A3], family: acid, lasts: 1 h, endorsements: [wet, hf],\n"
    "      temperature: 21 degC, vessel: pp, second person: always, unattended: 30 min,\n"
    "      document: {title: HF, version: \"2\", review: 2027-01-01}}\n"
    "  P3: {uses: [hcl@10wt%], stations: [A3], family: acid, endorsements: [wet], vessel: pp}\n"
    "  P4: {uses: [piranha], stations: [A3], family: piranha, lasts: 1 h, endorsements: [wet],\n"
    "      temperature: 110 degC, vessel: glass,\n"
    "      document: {title: Strip, version: \"2\", review: 2027-01-01}}\n"
    "  P5: {uses: [hcl, h2so4, hno3, h3po4, acetic-acid, hclo4], stations: [A4], family: acid}\n"
    "  P6: {uses: [nh3, tmah, koh, naoh, h2o2, nh4f], stations: [A4], family: base}\n";

static const char rules_text[] =
    "inward: 1 rules\n"
    "rules:\n"
    "  R20: {text: HF by two., source: house rule 20, when: 'process uses \"hf\"',\n"
    "      must: 'inside with \"hf\" >= 2', valid from: 2026-01-01,\n"
    "      tests: [{given: ['not process uses \"hf\"'], expect: yes}]}\n"
    "  R30: {text: Labels., source: house rule 30, stations: [A3], must: 'confirmed \"labels\"',\n"
    "      valid from: 2026-01-01, until: 2026-12-31,\n"
    "      tests: [{given: [staffed], expect: unknown}]}\n";

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct roster *roster;
  struct processes *processes;
  struct rules *rules;
  struct may_place place;
  struct may *may;
};

static struct facility_text text_of(const char *file, const char *text)
{
  return (struct facility_text){.file = file, .bytes = text, .size = strlen(text)};
}

static bool world_read(struct world *w, const char *rules)
{
  struct facility_text suite = text_of("suite.yaml", suite_text),
                       people = text_of("people.yaml", of_people),
                       processes = text_of("processes.yaml", processes_text),
                       house = text_of("rules.yaml", rules);
  const struct chem *chem;

  *w = (struct world){0};
  arena_init(&w->arena, 512 << 20);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (!CHECK(w->facility != NULL))
    return false;
  w->roster = roster_read(w->facility, &people, &w->complaints);
  w->processes = processes_read(w->facility, &processes, &w->complaints);
  w->rules = rules_read(w->facility, &house, &w->complaints);
  CHECK_INT(w->complaints.count, 0);
  if (!CHECK(w->roster && w->processes && w->rules))
    return false;
  chem = chem_read(&w->arena);
  w->place = (struct may_place){
      .facility = w->facility,
      .chem = chem,
      .meet = meet_read(chem, &w->arena),
      .people = people_read(w->roster, NULL, roster_day("2026-12-01"), &w->arena, &w->complaints),
      .processes = w->processes,
      .rules = w->rules,
      .zone = when_utc()};
  w->may = may_new(&w->place, &w->arena);
  return true;
}

static void world_release(struct world *w)
{
  rules_free(w->rules);
  processes_free(w->processes);
  roster_free(w->roster);
  facility_free(w->facility);
  arena_release(&w->arena);
}

/* A request in the words of the command line: "who=U1 do=P1 ...", each word one key. */
static const struct may_answer *asked(struct world *w, const char *words, struct err *err)
{
  struct may_request *r = ARENA_NEW(&w->arena, struct may_request);
  char *text = arena_strdup(&w->arena, words), *save = NULL;

  for (char *word = strtok_r(text, "|", &save); word; word = strtok_r(NULL, "|", &save)) {
    char *equals = strchr(word, '=');

    *equals = '\0';
    if (may_take(r, word, equals + 1, &w->arena, err) != ERR_OK)
      return NULL;
  }
  return may_answer(w->may, r, &w->arena, err);
}

/* All that there is to confirm, confirmed; only the air is never known here. */
#define CONFIRMED "|beside=none|confirm=station in use|confirm=labels"

static const struct may_answer *answered(struct world *w, const char *words)
{
  struct err err = {0};
  const struct may_answer *a = asked(w, words, &err);

  CHECK_STR(err.text, "");
  CHECK(a != NULL);
  return a;
}

static const struct may_reason *reason(const struct may_answer *a, enum may_verdict verdict,
                                       const char *kind, const char *words)
{
  for (int i = 0; a && i < a->reason_count; i++)
    if (a->reasons[i].verdict == verdict && strcmp(a->reasons[i].kind, kind) == 0 &&
        strstr(a->reasons[i].say, words))
      return &a->reasons[i];
  return NULL;
}

static int count_of(const struct may_answer *a, enum may_verdict verdict)
{
  int count = 0;

  for (int i = 0; i < a->reason_count; i++)
    count += a->reasons[i].verdict == verdict;
  return count;
}

static void what_is_not_known_is_to_be_confirmed_and_never_yes(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a = answered(&w, "who=U1|do=P1|at=A3|from=2026-12-01 10:00" CONFIRMED);

  REQUIRE(a != NULL);
  CHECK_INT(a->verdict, MAY_UNCONFIRMED);
  CHECK_INT(count_of(a, MAY_UNCONFIRMED), 1); /* the air */
  CHECK(reason(a, MAY_UNCONFIRMED, "air", "not known") != NULL);
  a = answered(&w, "who=U1|do=P1|at=A3|from=2026-12-01 10:00");
  CHECK(reason(a, MAY_UNCONFIRMED, "rule", "Labels") != NULL);
  CHECK(reason(a, MAY_UNCONFIRMED, "chemistry", "what else is at the station") != NULL);
  CHECK(reason(a, MAY_UNCONFIRMED, "station", "no record") != NULL);
  world_release(&w);
}

static void missing_or_stale_training_is_no(void)
{
  static const struct {
    const char *who, *kind, *words;
  } cases[] = {
      {"U2", "endorsement", "expired on 2026-01-10"},
      {"U3", "person", "not here any more"},
      {"U9", "person", "nobody"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct world w;

    CHECK_CASE("%s", cases[i].who);
    REQUIRE(world_read(&w, rules_text));
    const struct may_answer *a =
        answered(&w, arena_printf(&w.arena,
                                  "who=%s|do=P2|at=A3|from=2026-12-01 10:00|inside=U1,U4" CONFIRMED,
                                  cases[i].who));

    REQUIRE(a != NULL);
    CHECK_INT(a->verdict, MAY_NO);
    CHECK(reason(a, MAY_NO, cases[i].kind, cases[i].words) != NULL);
    world_release(&w);
  }
}

static void all_reasons_come_at_once_and_the_worst_first(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a =
      answered(&w, "who=U2|do=P2|at=A4|from=2026-12-01 20:00|alone=yes|unattended=yes");

  REQUIRE(a != NULL);
  CHECK(reason(a, MAY_NO, "station", "not a station of this process") != NULL);
  CHECK(reason(a, MAY_NO, "endorsement", "hf") != NULL);
  CHECK(reason(a, MAY_NO, "second person", "nobody else") != NULL);
  CHECK(reason(a, MAY_NO, "rule", "HF by two") != NULL);
  for (int i = 1; i < a->reason_count; i++)
    CHECK(a->reasons[i - 1].verdict >= a->reasons[i].verdict);
  for (int i = 0; i < a->reason_count; i++)
    CHECK(a->reasons[i].source && *a->reasons[i].source);
  world_release(&w);
}

static void the_second_person_counts_only_as_what_she_is_endorsed_for(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  static const struct {
    const char *inside;
    enum may_verdict verdict;
  } cases[] = {
      {"U4", MAY_UNCONFIRMED},     {"U2", MAY_NO}, {"U3", MAY_NO},
      {"stranger", MAY_NO},        {"U1", MAY_NO}, /* oneself is no second person */
      {"U2, U4", MAY_UNCONFIRMED},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct buf words;

    CHECK_CASE("%s", cases[i].inside);
    buf_init(&words, 1000);
    buf_puts(&words, "who=U1|do=P2|at=A3|from=2026-12-01 10:00" CONFIRMED "|inside=");
    buf_puts(&words, cases[i].inside);
    const struct may_answer *a = answered(&w, words.text);

    CHECK(a && a->verdict == cases[i].verdict);
    buf_release(&words);
  }
  world_release(&w);
}

/* What src/standing tells of the station. */
static const struct may_answer *standing_so(struct world *w, const struct may_stand *stands,
                                            int count, enum may_proofs proofs, const char *confirm)
{
  struct may_request *r = ARENA_NEW(&w->arena, struct may_request);
  struct err err = {0};

  *r = (struct may_request){.who = "U1",
                            .process = "P1",
                            .station = "A3",
                            .from = "2026-12-01 10:00",
                            .beside_said = true,
                            .withdrawn_known = true,
                            .confirm_count = 1,
                            .confirm = {confirm},
                            .stands = stands,
                            .stand_count = count,
                            .proofs = proofs};

  const struct may_answer *a = may_answer(w->may, r, &w->arena, &err);

  CHECK_STR(err.text, "");
  return a;
}

static void what_stands_at_the_station_is_looked_at_or_a_no(void)
{
  static const struct may_stand tank = {false, "tank", "T-1: not known", "Look.", "the record"};
  static const struct may_stand late = {true, "proof", "face test OUT OF DATE", "Ask.", "rule 4"};
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a = standing_so(&w, &tank, 1, MAY_PROOFS_NOT_KNOWN, "labels");
  const struct may_reason *r = reason(a, MAY_UNCONFIRMED, "station", "T-1");

  REQUIRE(r != NULL);
  CHECK_STR(r->way, "Look. Then --confirm \"tank looked at\"");
  CHECK(a->verdict != MAY_MET);
  a = standing_so(&w, &tank, 1, MAY_PROOFS_NOT_KNOWN, "tank looked at");
  CHECK(reason(a, MAY_MET, "station", "T-1") != NULL);
  a = standing_so(&w, &late, 1, MAY_PROOFS_AGAINST, "proof looked at"); /* a look mends no date */
  CHECK(reason(a, MAY_NO, "station", "OUT OF DATE") != NULL);
  CHECK_INT(a->verdict, MAY_NO);
  world_release(&w);
}

static void nobody_is_counted_as_somebody(void)
{
  static const char *const words[] = {"none", "Nobody", "alone", "-", "0", " ", "U4,none"};
  struct world w;
  struct err err = {0};

  REQUIRE(world_read(&w, rules_text));
  for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
    struct may_request r = {0};

    CHECK_CASE("%s", words[i]);
    err = (struct err){0};
    CHECK_INT(may_take(&r, "inside", words[i], &w.arena, &err), ERR_INPUT);
  }
  struct may_request r = {0};

  CHECK_INT(may_take(&r, "beside", "", &w.arena, &err), ERR_INPUT);
  world_release(&w);
}

/* P1 wants another outside staffed hours. */
static void who_may_be_nobody_is_no_second_person_until_somebody_looked(void)
{
  static const struct {
    const char *inside, *why;
  } cases[] = {{"U40", "U40 stands in no file"},
               {"U3", "U3 is not here any more"},
               {"U40, u40", "U40 stands in no file"},
               {"U5", "U5 has the name of who asks"}};
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct buf words;

    CHECK_CASE("%s", cases[i].inside);
    buf_init(&words, 1000);
    buf_puts(&words, "who=U4|do=P1|at=A3|from=2026-12-01 20:00" CONFIRMED "|inside=");
    buf_puts(&words, cases[i].inside);
    const struct may_answer *a = answered(&w, words.text);

    REQUIRE(a != NULL);
    CHECK_INT(a->verdict, MAY_UNCONFIRMED);
    CHECK(reason(a, MAY_UNCONFIRMED, "second person", "whether there is one is not known"));
    CHECK(reason(a, MAY_UNCONFIRMED, "second person", cases[i].why) != NULL);
    buf_puts(&words, "|confirm=a second person is inside");
    a = answered(&w, words.text);
    CHECK(reason(a, MAY_MET, "second person", "and there is") != NULL);
    buf_release(&words);
  }
  world_release(&w);
}

static void staff_hours_decide_for_the_whole_time(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a =
      answered(&w, "who=U1|do=P1|at=A3|from=2026-12-01 16:59|alone=yes" CONFIRMED);

  CHECK(a && a->verdict == MAY_UNCONFIRMED); /* 1 h, closes at 18:00 */
  a = answered(&w, "who=U1|do=P1|at=A3|from=2026-12-01 17:01|alone=yes" CONFIRMED);
  REQUIRE(a != NULL);
  CHECK_INT(a->verdict, MAY_NO);
  /* either change is enough; the next staffed hour that is long enough is tomorrow's */
  REQUIRE(a->list_count == 2);
  CHECK_INT(a->lists[0].count, 1);
  CHECK_STR(a->lists[0].changes[0], "one more person inside");
  CHECK_STR(a->lists[1].changes[0], "within staffed hours, next from Wed 2026-12-02 07:30");
  world_release(&w);
}

/* U1's hf counts to 2027-01-10, the document to 2026-12-31, a rule until then and another from then. */
static void what_ends_while_it_runs_does_not_carry_it(void)
{
  struct world w;

  REQUIRE(world_read(&w, "inward: 1 rules\nrules:\n"
                         "  R1: {text: From then., source: s, must: inside >= 9, valid from: "
                         "2026-12-03, tests: [{given: [inside = 9], expect: yes}]}\n"));
  const struct may_answer *a =
      answered(&w, "who=U1|do=P2|at=A3|from=2026-12-31 20:00|for=4h|inside=U4" CONFIRMED);

  CHECK(!reason(a, MAY_NO, "document", "")); /* midnight is still that day */
  a = answered(&w, "who=U1|do=P2|at=A3|from=2026-12-31 20:00|for=5h|inside=U4" CONFIRMED);
  CHECK(reason(a, MAY_NO, "document", "is, before it ends, to be reviewed on 2027-01-01") != NULL);
  a = answered(&w, "who=U1|do=P2|at=A3|from=2027-01-10 10:00|for=2d|inside=U4" CONFIRMED);
  CHECK(reason(a, MAY_NO, "endorsement", "not until it ends: expired on 2027-01-10") != NULL);
  a = answered(&w, "who=U1|do=P2|at=A3|from=2026-12-02 23:30|for=20 min|inside=U4" CONFIRMED);
  CHECK(!reason(a, MAY_NO, "rule", "From then."));
  a = answered(&w, "who=U1|do=P2|at=A3|from=2026-12-02 23:30|for=1h|inside=U4" CONFIRMED);
  CHECK(reason(a, MAY_NO, "rule", "From then.") != NULL);
  world_release(&w);
}

static void how_long_it_takes_is_not_guessed(void)
{
  struct world w;

  REQUIRE(world_read(
      &w, "inward: 1 rules\n"
          "rules:\n"
          "  R21: {text: Hours., source: s, must: staffed throughout,\n"
          "      valid from: 2026-01-01, tests: [{given: [staffed], expect: unknown}]}\n"));
  const struct may_answer *a = answered(&w, "who=U1|do=P3|at=A3|from=2026-12-01 10:00" CONFIRMED);

  CHECK(reason(a, MAY_UNCONFIRMED, "rule", "how long it takes") != NULL);
  a = answered(&w, "who=U1|do=P3|at=A3|from=2026-12-01 10:00|for=1 h" CONFIRMED);
  CHECK(reason(a, MAY_MET, "rule", "Hours") != NULL);
  a = answered(&w, "who=U1|do=P3|at=A3|from=2026-12-01 20:00" CONFIRMED);
  CHECK(reason(a, MAY_NO, "rule", "Hours") != NULL);
  world_release(&w);
}

static void the_smallest_list_that_mends_it_is_found(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a =
      answered(&w, "who=U2|do=P2|at=A3|from=2026-12-01 10:00|alone=yes" CONFIRMED);

  REQUIRE(a != NULL);
  CHECK_INT(a->verdict, MAY_NO);
  REQUIRE(a->list_count == 1);
  REQUIRE(a->lists[0].count == 2);
  CHECK_STR(a->lists[0].changes[0], "one more person inside, who has hf");
  CHECK(strstr(a->lists[0].changes[1], "hf granted anew") != NULL);
  CHECK_INT(a->lists[0].after, MAY_UNCONFIRMED);
  world_release(&w);
}

static void rules_count_in_their_scope_and_on_their_days(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a = answered(&w, "who=U1|do=P1|at=A4|from=2026-12-01 10:00");

  CHECK(!reason(a, MAY_UNCONFIRMED, "rule", "Labels")); /* only at A3 */
  a = answered(&w, "who=U1|do=P1|at=A3|from=2026-12-31 10:00");
  CHECK(reason(a, MAY_UNCONFIRMED, "rule", "Labels") != NULL);
  a = answered(&w, "who=U1|do=P1|at=A3|from=2027-01-05 10:00");
  CHECK(!reason(a, MAY_UNCONFIRMED, "rule", "Labels"));
  CHECK(reason(a, MAY_NO, "document", "was to be reviewed on 2027-01-01") != NULL);
  world_release(&w);
}

static void what_stands_beside_is_looked_at(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a = answered(&w, "who=U1|do=P1|at=A5|from=2026-12-01 10:00|beside=P2");

  CHECK(reason(a, MAY_NO, "station", "out of service") != NULL);
  struct err err = {0};

  CHECK(!asked(&w, "who=U1|do=P1|at=A3|beside=P77", &err));
  CHECK(strstr(err.text, "no process 'P77'") != NULL);
  world_release(&w);
}

static void what_finds_no_room_is_not_taken_for_looked_at(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a =
      answered(&w, "who=U1|do=P1|at=A3|from=2026-12-01 10:00|beside=P5,P6");

  CHECK(reason(a, MAY_UNCONFIRMED, "chemistry", "more stands there than is looked at") != NULL);
  world_release(&w);
}

/* Approved on the 10th: before that day it allows nothing, and at no time what stands beside. */
static void a_procedure_allows_its_own_bath_from_its_approval_on(void)
{
  struct facility_text text = text_of(
      "chemicals.yaml", "inward: 1 chemicals\n"
                        "procedures:\n"
                        "  P-1: {bath: piranha, stations: [A3], document: Strip, version: \"2\",\n"
                        "      by: safety officer, approved: 2026-12-10, review: 2027-02-11,\n"
                        "      at most: 2 L, peroxide at most: 31 wt%}\n");
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  struct chemicals *own = chemicals_read(w.facility, &text, &w.complaints);

  REQUIRE(own != NULL);
  w.place.own = own;
  w.place.chem = chem_with(w.place.chem, own, &w.arena);
  w.may = may_new(&w.place, &w.arena);
  const struct may_answer *a =
      answered(&w, "who=U1|do=P4|at=A3|from=2026-12-09 10:00|alone=yes|beside=none");

  CHECK(reason(a, MAY_NO, "chemistry", "none in date names it") != NULL);
  a = answered(&w, "who=U1|do=P4|at=A3|from=2026-12-10 10:00|alone=yes|beside=none");
  CHECK(!reason(a, MAY_NO, "chemistry", ""));
  CHECK(reason(a, MAY_MET, "chemistry", "procedure P-1 names it here") != NULL);
  a = answered(&w, "who=U1|do=P4|at=A3|from=2026-12-10 10:00|alone=yes|beside=P6");
  CHECK(reason(a, MAY_NO, "chemistry", "") != NULL);
  chemicals_free(own);
  world_release(&w);
}

static void a_process_without_its_papers_is_no(void)
{
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  const struct may_answer *a = answered(&w, "who=U1|do=P3|at=A3|from=2026-12-01 10:00" CONFIRMED);

  CHECK(reason(a, MAY_NO, "document", "no written procedure") != NULL);
  a = answered(&w, "who=U1|do=P1|at=A3|from=2026-12-01 10:00|unattended=yes" CONFIRMED);
  CHECK(reason(a, MAY_NO, "unattended", "stays with it") != NULL);
  world_release(&w);
}

static void a_name_is_printed_only_when_asked_for(void)
{
  struct world w;
  struct buf out;

  REQUIRE(world_read(&w, rules_text));
  buf_init(&out, 1 << 16);
  const struct may_answer *a = answered(&w, "who=u4|do=P1|at=A3|from=2026-12-01 10:00");

  REQUIRE(a != NULL);
  may_text(a, &out);
  may_json(a, &out);
  CHECK(strstr(out.text, "Invented") == NULL);
  a = answered(&w, "who=u4|do=P1|at=A3|from=2026-12-01 10:00|names=yes");
  REQUIRE(a != NULL);
  CHECK_STR(a->name, "Ada Invented");
  CHECK_STR(a->who, "U4");
  buf_release(&out);
  world_release(&w);
}

static void it_never_says_that_it_permits_or_that_a_place_is_safe(void)
{
  static const char *const asks[] = {
      "who=U1|do=P1|at=A3|from=2026-12-01 10:00|alone=yes" CONFIRMED,
      "who=U2|do=P2|at=A4|from=2026-12-01 20:00",
  };

  for (size_t i = 0; i < sizeof asks / sizeof *asks; i++) {
    struct world w;
    struct buf out;

    REQUIRE(world_read(&w, rules_text));
    const struct may_answer *a = answered(&w, asks[i]);

    REQUIRE(a != NULL);
    buf_init(&out, 1 << 16);
    may_text(a, &out);
    CHECK(strstr(out.text, "Not a permit") != NULL);
    CHECK(strstr(out.text, "permitted") == NULL && strstr(out.text, "safe ") == NULL &&
          strstr(out.text, "approved") == NULL);
    buf_release(&out);
    world_release(&w);
  }
}

static void what_cannot_be_meant_is_refused(void)
{
  static const struct {
    const char *words, *said;
  } cases[] = {
      {"who=U1|do=P1", "at which station"},
      {"who=U1|at=A3", "which process"},
      {"do=P1|at=A3", "which person"},
      {"who=U1|do=P9|at=A3", "no process 'P9'"},
      {"who=U1|do=P1|at=A33", "did you mean 'A3'"},
      {"who=U1|do=P1|at=A3|from=yesterday", "from: "},
      {"who=U1|do=P1|at=A3|for=2 m", "for: "},
      {"who=U1|do=P1|at=A3|for=-1 h", "for: "},
      {"who=U1|do=P1|at=A3|alone=yes|inside=U2", "leave one"},
      {"who=U1|do=P1|at=A3|alone=perhaps", "yes or no"},
      {"who=U1|do=P1|at=A3|inside=U2,,U3", "missing"},
      {"who=U1|who=U2|do=P1|at=A3", "twice"},
      {"who=U1|whom=U2", "no key 'whom'"},
  };
  struct world w;

  REQUIRE(world_read(&w, rules_text));
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct err err = {0};

    CHECK_CASE("%s", cases[i].words);
    CHECK(asked(&w, cases[i].words, &err) == NULL);
    CHECK(strstr(err.text, cases[i].said) != NULL);
  }
  world_release(&w);
}

static void a_rule_that_cannot_be_read_is_never_met(void)
{
  struct world w;

  REQUIRE(world_read(&w,
                     "inward: 1 rules\n"
                     "rules:\n"
                     "  R1: {text: Broken., source: s, must: 'stafed or', valid from: 2026-01-01,\n"
                     "      tests: [{given: [staffed], expect: yes}]}\n"));
  const struct may_answer *a = answered(&w, "who=U1|do=P1|at=A3|from=2026-12-01 10:00");

  CHECK(reason(a, MAY_UNCONFIRMED, "rule", "cannot be read") != NULL);
  world_release(&w);
}

/* Each of them is about P1 at A3 as it was meant, and as it is written about nothing. */
static void a_rule_that_names_what_is_none_or_fails_its_test_is_never_met(void)
{
  static const char *const rules[] = {
      "when: 'process uses \"hydroclorid\"', must: inside >= 9, tests: [{given: [inside = 9], "
      "expect: yes}]",
      "when: 'station is \"A33\"', must: inside >= 9, tests: [{given: [inside = 9], expect: yes}]",
      "when: 'person has \"wett\"', must: inside >= 9, tests: [{given: [inside = 9], expect: yes}]",
      "when: 'process vessel = \"PP\"', must: inside >= 9, tests: [{given: [inside = 9], expect: "
      "yes}]",
      "when: 'process hazard \"H 314\"', must: inside >= 9, tests: [{given: [inside = 9], expect: "
      "yes}]",
      "processes: [P11], must: inside >= 9, tests: [{given: [inside = 9], expect: yes}]",
      "must: inside >= 1, tests: [{given: [inside = 1], expect: no}]"};

  for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
    struct world w;
    struct buf text;

    CHECK_CASE("%s", rules[i]);
    buf_init(&text, 2000);
    buf_printf(
        &text,
        "inward: 1 rules\nrules:\n  R1: {text: Meant., source: s, valid from: 2026-01-01, %s}\n",
        rules[i]);
    REQUIRE(world_read(&w, text.text));
    const struct may_answer *a =
        answered(&w, "who=U1|do=P1|at=A3|from=2026-12-01 10:00|alone=yes" CONFIRMED);

    CHECK(reason(a, MAY_UNCONFIRMED, "rule", "Meant. This rule") ||
          reason(a, MAY_NO, "rule", "Meant. This rule"));
    buf_release(&text);
    world_release(&w);
  }
}

static void rules_that_contradict_for_a_process_are_told(void)
{
  struct world w;
  struct complaints told;

  REQUIRE(world_read(
      &w,
      "inward: 1 rules\n"
      "rules:\n"
      "  R1: {text: One., source: s, when: 'process uses \"hf\"', must: inside >= 2,\n"
      "      valid from: 2026-01-01, tests: [{given: [inside = 2], expect: yes}]}\n"
      "  R2: {text: Two., source: s, stations: [A3], must: inside <= 1, valid from: 2026-01-01,\n"
      "      tests: [{given: [inside = 1], expect: yes}]}\n"
      "  R3: {text: Three., source: s, stations: [A4], must: inside <= 1,\n"
      "      valid from: 2026-01-01, tests: [{given: [inside = 1], expect: yes}]}\n"
      "  R4: {text: Four., source: s, must: person has \"dry\", valid from: 2026-01-01,\n"
      "      tests: [{given: [staffed], expect: unknown}]}\n"));
  complaints_init(&told, &w.arena);
  may_check(&w.place, w.roster, &w.arena, &told);
  REQUIRE(told.count == 2);
  CHECK(strstr(told.list[0].text, "rule R2 contradicts rule R1 (line 3): for P2 at A3") != NULL);
  CHECK(strstr(told.list[1].text, "no endorsement 'dry'") != NULL);
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_is_not_known_is_to_be_confirmed_and_never_yes);
  RUN(missing_or_stale_training_is_no);
  RUN(all_reasons_come_at_once_and_the_worst_first);
  RUN(the_second_person_counts_only_as_what_she_is_endorsed_for);
  RUN(what_stands_at_the_station_is_looked_at_or_a_no);
  RUN(nobody_is_counted_as_somebody);
  RUN(who_may_be_nobody_is_no_second_person_until_somebody_looked);
  RUN(staff_hours_decide_for_the_whole_time);
  RUN(what_ends_while_it_runs_does_not_carry_it);
  RUN(how_long_it_takes_is_not_guessed);
  RUN(the_smallest_list_that_mends_it_is_found);
  RUN(rules_count_in_their_scope_and_on_their_days);
  RUN(what_stands_beside_is_looked_at);
  RUN(what_finds_no_room_is_not_taken_for_looked_at);
  RUN(a_procedure_allows_its_own_bath_from_its_approval_on);
  RUN(a_process_without_its_papers_is_no);
  RUN(a_name_is_printed_only_when_asked_for);
  RUN(it_never_says_that_it_permits_or_that_a_place_is_safe);
  RUN(what_cannot_be_meant_is_refused);
  RUN(a_rule_that_cannot_be_read_is_never_met);
  RUN(a_rule_that_names_what_is_none_or_fails_its_test_is_never_met);
  RUN(rules_that_contradict_for_a_process_are_told);
  return check_end();
}
