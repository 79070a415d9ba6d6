#include "rule/rule_impl.h"

#include "check.h"

#include <string.h>

static struct arena arena;

/* The last slot values: by what stands in the expression, first named first. */
static enum rule_truth judged(const char *text, const struct rule_value *values)
{
  struct err err = {0};
  const struct rule_expression *e = rule_parse(text, &arena, &err);

  if (!CHECK(e != NULL)) {
    CHECK_STR(err.text, "");
    return RULE_UNKNOWN;
  }
  return rule_judge(e, values);
}

static const struct rule_value so = {.known = true, .number_si = 1}, not_so = {.known = true},
                               open = {.known = false};

/* The strong tables of S. C. Kleene, Introduction to Metamathematics (1952), section 64. */
static void three_values_join_as_kleene_has_them(void)
{
  static const struct rule_value *const values[] = {&not_so, &open, &so};
  static const int and[3][3] = {{0, 0, 0}, {0, 1, 1}, {0, 1, 2}};
  static const int or [3][3] = {{0, 1, 2}, {1, 1, 2}, {2, 2, 2}};
  static const int not [3] = {2, 1, 0};

  for (int a = 0; a < 3; a++) {
    CHECK_INT(judged("not staffed", values[a]), not [a]);
    for (int b = 0; b < 3; b++) {
      const struct rule_value both[] = {*values[a], *values[b]};

      CHECK_CASE("%d %d", a, b);
      CHECK_INT(judged("staffed and unattended", both), and[a][b]);
      CHECK_INT(judged("staffed or unattended", both), or [a][b]);
      CHECK_INT(judged("not (staffed and unattended)", both), not [and[a][b]]);
    }
  }
}

static void and_binds_closer_than_or_and_not_closest(void)
{
  static const struct {
    const char *text, *means;
  } cases[] = {
      {"staffed or unattended and station withdrawn",
       "(staffed) or ((unattended) and (station withdrawn))"},
      {"not staffed and unattended", "(not (staffed)) and (unattended)"},
      {"not (staffed or unattended)", "not ((staffed) or (unattended))"},
      {"( ( staffed ) )", "staffed"},
      {"inside>=2 or inside with \"hf\"  =  1", "(inside>=2) or (inside with \"hf\"  =  1)"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct err err = {0};
    const struct rule_expression *e = rule_parse(cases[i].text, &arena, &err);
    struct buf out;

    CHECK_CASE("%s", cases[i].text);
    REQUIRE(e != NULL);
    buf_init(&out, 1000);
    rule_print(e, &out);
    CHECK_STR(out.text, cases[i].means);
    buf_release(&out);
  }
}

static void figures_compare_with_their_unit(void)
{
  struct rule_value warm = {.known = true, .number_si = 333.15};
  struct rule_value ten = {.known = true, .number_si = 600};
  struct rule_value bench = {.known = true, .text = "wet bench"};

  CHECK_INT(judged("process temperature < 60.5 degC", &warm), RULE_YES);
  CHECK_INT(judged("process temperature < 140 degF", &warm), RULE_NO); /* 60 degC */
  CHECK_INT(judged("hour >= 10:00", &ten), RULE_YES);
  CHECK_INT(judged("hour < 10:00", &ten), RULE_NO);
  CHECK_INT(judged("station kind = \"wet bench\"", &bench), RULE_YES);
  CHECK_INT(judged("station kind != \"wet bench\"", &bench), RULE_NO);
  CHECK_INT(judged("process lasts <= 2 h", &open), RULE_UNKNOWN);
}

static void a_fault_says_at_which_byte(void)
{
  static const struct {
    const char *text;
    int col;
    const char *words;
  } cases[] = {
      {"persn has \"hf\"", 1, "did you mean 'person has'"},
      {"staffed and", 12, "something is missing"},
      {"staffed and person has hf", 24, "in \"quotes\""},
      {"(staffed", 9, "not closed"},
      {"staffed)", 8, "one too many"},
      {"inside", 7, "no answer by itself"},
      {"inside >= two", 11, "whole number"},
      {"inside >= 2.5", 11, "whole number"},
      {"staffed >= 2", 12, "so or not"},
      {"hour > 25:00", 8, "no time of day"},
      {"process temperature > 60", 25, ""},
      {"process temperature > 60 m", 26, ""},
      {"process family = \"acids\"", 19, "never so"},
      {"process family < \"acid\"", 18, "not more or less"},
      {"person has \"\"", 12, "between these quotes"},
      {"person has \"hf", 12, "not closed"},
      {"staffed unattended", 9, "joined by"},
      {"not", 4, "something is missing"},
      {"xyzzy", 1, "is no name"},
      {"", 1, "something is missing"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct err err = {0};

    CHECK_CASE("%s", cases[i].text);
    CHECK(rule_parse(cases[i].text, &arena, &err) == NULL);
    CHECK_INT(err.col, cases[i].col);
    CHECK(strstr(err.text, cases[i].words) != NULL);
  }
}

static void what_is_too_long_or_too_deep_is_refused(void)
{
  struct buf text;
  struct err err = {0};

  buf_init(&text, 1 << 16);
  for (int i = 0; i < 30; i++)
    buf_puts(&text, "(");
  buf_puts(&text, "staffed");
  for (int i = 0; i < 30; i++)
    buf_puts(&text, ")");
  CHECK(rule_parse(text.text, &arena, &err) == NULL);
  CHECK(strstr(err.text, "deep") != NULL);
  buf_clear(&text);
  for (int i = 0; i < 40; i++)
    buf_puts(&text, "staffed and ");
  buf_puts(&text, "staffed");
  err = (struct err){0};
  CHECK(rule_parse(text.text, &arena, &err) == NULL);
  CHECK(strstr(err.text, "parts") != NULL);
  buf_release(&text);
}

/* ---- whole files ---- */

struct world {
  struct complaints complaints;
  struct facility *facility;
  struct rules *rules;
  struct rule_set *set;
};

static bool hf_only(const void *arg, enum rule_argument kind, const char *text)
{
  (void)arg;
  return kind != RULE_ENDORSEMENT || strcmp(text, "hf") == 0;
}

static void world_read(struct world *w, const char *rules)
{
  static const char suite_text[] =
      "inward: 1 suite\n"
      "rooms: {Wet: {}, Gown: {}}\n"
      "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
      "mains: {Acid: {}}\n"
      "stations: {A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}}\n";
  static const struct rule_known known = {.fits = hf_only};
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  const char *file = arena_printf(&arena, "inward: 1 rules\nrules:\n%s", rules);
  struct facility_text text = {"rules.yaml", file, strlen(file)};

  *w = (struct world){0};
  complaints_init(&w->complaints, &arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (CHECK(w->facility != NULL))
    w->rules = rules_read(w->facility, &text, &w->complaints);
  if (w->rules)
    w->set = rule_read(w->rules, &known, &arena, &w->complaints);
}

static void world_release(struct world *w)
{
  rules_free(w->rules);
  facility_free(w->facility);
}

#define HEAD(id, rest)                                                                             \
  "  " id ": {text: t, source: s, valid from: 2026-01-01, tests: [{given: [staffed], expect: "     \
  "unknown}], " rest "}\n"

static bool said(const struct world *w, const char *words)
{
  for (int i = 0; i < w->complaints.count; i++)
    if (strstr(w->complaints.list[i].text, words))
      return true;
  return false;
}

static void a_file_runs_its_tests(void)
{
  struct world w;

  world_read(&w, "  R1:\n"
                 "    text: t\n"
                 "    source: s\n"
                 "    valid from: 2026-01-01\n"
                 "    when: process uses \"hf\"\n"
                 "    must: inside with \"hf\" >= 2\n"
                 "    tests:\n"
                 "      - {given: ['process uses \"hf\"', 'inside with \"hf\" = 1'], expect: no}\n"
                 "      - {given: ['process uses \"hf\"', 'inside with \"hf\" = 2'], expect: yes}\n"
                 "      - {given: ['not process uses \"hf\"'], expect: yes}\n"
                 "      - {given: ['process uses \"hf\"'], expect: unknown}\n");
  CHECK_INT(w.complaints.count, 0);
  REQUIRE(w.set != NULL);
  CHECK_INT(w.set->slot_count, 2);
  world_release(&w);
}

static void a_test_that_fails_is_said_where_it_stands(void)
{
  struct world w;

  world_read(&w, "  R1:\n"
                 "    text: t\n"
                 "    source: s\n"
                 "    valid from: 2026-01-01\n"
                 "    must: staffed\n"
                 "    tests:\n"
                 "      - {given: [not staffed], expect: yes}\n"
                 "      - {given: [staffed or unattended], expect: yes}\n");
  CHECK(said(&w, "R1, test 1: it expects yes, and the rule says no"));
  CHECK(said(&w, "a fact is one name"));
  CHECK_INT(w.complaints.list[0].place.line, 9);
  world_release(&w);
}

static void a_fault_inside_an_expression_has_its_column(void)
{
  struct world w;

  world_read(&w, "  R1:\n"
                 "    text: t\n"
                 "    source: s\n"
                 "    valid from: 2026-01-01\n"
                 "    must: staffed and person has \"gh\"\n"
                 "    tests: [{given: [staffed], expect: yes}]\n");
  REQUIRE(w.set != NULL);
  CHECK(w.set->list[0].bad);
  CHECK_INT(w.complaints.count, 1);
  CHECK_INT(w.complaints.list[0].place.line, 7);
  CHECK_INT(w.complaints.list[0].place.column, 35);
  CHECK(said(&w, "the suite knows no endorsement 'gh'"));
  const struct rule_value none[RULE_SLOTS_MAX] = {{0}};

  CHECK_INT(rule_says(w.set, 0, none), RULE_UNKNOWN); /* never yes */
  world_release(&w);
}

static void rules_that_contradict_are_found(void)
{
  static const struct {
    const char *a, *b;
    enum rule_clash clash;
  } cases[] = {
      {"must: inside >= 2", "must: inside < 2", RULE_CLASH},
      {"must: inside >= 2", "must: inside <= 2", RULE_NO_CLASH},
      {"when: process uses \"hf\", must: inside >= 2",
       "when: not process uses \"hf\", must: inside = 1", RULE_NO_CLASH},
      {"when: process uses \"hf\", must: inside with \"hf\" >= 2",
       "when: not staffed, must: inside = 1", RULE_CLASH}, /* more people with it than people */
      {"must: station is \"A3\"", "must: station is \"A4\"", RULE_CLASH},
      {"must: hour >= 08:00", "must: hour < 08:00", RULE_CLASH},
      {"must: hour >= 08:00", "must: hour < 08:01", RULE_NO_CLASH},
      {"must: process temperature <= 60 degC", "must: process temperature > 140 degF", RULE_CLASH},
      {"must: weekday = \"monday\"", "must: weekday != \"monday\"", RULE_CLASH},
      {"must: weekday != \"sunday\"", "must: weekday != \"monday\"", RULE_NO_CLASH},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    const struct rule_value none[RULE_SLOTS_MAX] = {{0}};
    struct world w;

    CHECK_CASE("%s | %s", cases[i].a, cases[i].b);
    const char *head = "{text: t, source: s, valid from: 2026-01-01, tests: [{given: ['confirmed "
                       "\"x\"'], expect: unknown}]";

    world_read(&w, arena_printf(&arena, "  R1: %s, %s}\n  R2: %s, %s}\n", head, cases[i].a, head,
                                cases[i].b));
    CHECK_INT(w.complaints.count, 0);
    REQUIRE(w.set != NULL);
    CHECK_INT(rule_clash(w.set, 0, 1, none), cases[i].clash);
    CHECK_INT(rule_clash(w.set, 1, 0, none), cases[i].clash);
    CHECK_INT(rule_clash(w.set, 0, 0, none), RULE_NO_CLASH);
    world_release(&w);
  }
}

static void a_rule_that_can_never_be_met_is_found(void)
{
  const struct rule_value none[RULE_SLOTS_MAX] = {{0}};
  struct world w;

  world_read(&w, HEAD("R1", "must: inside >= 2 and inside < 2"));
  REQUIRE(w.set != NULL);
  CHECK_INT(rule_clash(w.set, 0, 0, none), RULE_CLASH);
  world_release(&w);
}

static void what_keeps_a_rule_from_yes_is_named(void)
{
  struct rule_blame out[RULE_BLAMES_MAX];
  struct world w;

  world_read(&w, HEAD("R1", "must: inside >= 2 and (unattended or not staffed)"));
  REQUIRE(w.set != NULL);
  struct rule_value values[RULE_SLOTS_MAX] = {{0}};

  values[rule_slot_find(w.set, RULE_INSIDE, NULL)] =
      (struct rule_value){.known = true, .number_si = 3};
  values[rule_slot_find(w.set, RULE_STAFFED, NULL)] = so;
  REQUIRE(rule_because(w.set, 0, values, out, &arena) == 2);
  CHECK_STR(out[0].text, "unattended");
  CHECK_INT(out[0].truth, RULE_UNKNOWN);
  CHECK_STR(out[1].text, "not staffed");
  CHECK_INT(out[1].truth, RULE_NO);
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, 64 << 20);
  RUN(three_values_join_as_kleene_has_them);
  RUN(and_binds_closer_than_or_and_not_closest);
  RUN(figures_compare_with_their_unit);
  RUN(a_fault_says_at_which_byte);
  RUN(what_is_too_long_or_too_deep_is_refused);
  RUN(a_file_runs_its_tests);
  RUN(a_test_that_fails_is_said_where_it_stands);
  RUN(a_fault_inside_an_expression_has_its_column);
  RUN(rules_that_contradict_are_found);
  RUN(a_rule_that_can_never_be_met_is_found);
  RUN(what_keeps_a_rule_from_yes_is_named);
  arena_release(&arena);
  return check_end();
}
