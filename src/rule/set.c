#include "base/utf8.h"
#include "rule/rule_impl.h"

#include <string.h>

/* The rules of a file to expressions, and their tests. */

struct setting {
  struct arena *arena;
  struct complaints *complaints;
  const struct rule_known *known;
  struct rule_slots *slots;
};

/* A byte inside a text in quotes or on one line has a column of its own; of others, the text has. */
static struct place inside(const struct rules_text *text, int byte)
{
  struct place place = text->place;

  if (text->plain && byte > 1 && (size_t)byte <= strlen(text->text) + 1)
    place.column += utf8_count(text->text, (size_t)byte - 1);
  return place;
}

static const struct rule_expression *parsed(const struct setting *s, const struct rules_rule *rule,
                                            const struct rules_text *text, const char *key)
{
  struct err err = {0};
  const struct rule_expression *out =
      rule_parse_into(text->text, s->slots, s->known, s->arena, &err);

  if (!out)
    complaints_add(s->complaints, inside(text, err.col), 0, "rule %s, %s: %s", rule->part.id, key,
                   err.text);
  return out;
}

static bool check_processes(const struct setting *s, const struct rules_rule *rule)
{
  bool all = true;

  for (int i = 0; i < rule->process_count; i++) {
    const struct rules_text *text = &rule->processes[i];

    if (s->known && s->known->fits && !s->known->fits(s->known->arg, RULE_PROCESS, text->text)) {
      all = false;
      complaints_add(s->complaints, text->place, text->width,
                     "rule %s: the suite knows no process '%.40s'; correct it, or add it to its "
                     "file",
                     rule->part.id, text->text);
    }
  }
  return all;
}

/* ---- tests ---- */

/* A fact of a test: a truth, its opposite, or what something is equal to. */
static bool take_fact(const struct rule_expression *e, struct rule_value *values)
{
  const struct rule_node *last = &e->nodes[e->count - 1];

  if (e->count == 1 && last->kind == RULE_IS) {
    values[last->slot] = (struct rule_value){.known = true, .number_si = 1};
    return true;
  }
  if (e->count == 1 && last->kind == RULE_COMPARE && last->op == RULE_EQ) {
    values[last->slot] = last->constant;
    return true;
  }
  if (e->count == 2 && last->kind == RULE_NOT && e->nodes[0].kind == RULE_IS) {
    values[e->nodes[0].slot] = (struct rule_value){.known = true};
    return true;
  }
  return false;
}

static bool take_given(const struct setting *s, const struct rules_rule *rule,
                       const struct rules_test *test, struct rule_value *values)
{
  for (int i = 0; i < test->given_count; i++) {
    const struct rule_expression *e = parsed(s, rule, &test->given[i], "given");

    if (!e)
      return false;
    if (!take_fact(e, values)) {
      complaints_add(s->complaints, test->given[i].place, test->given[i].width,
                     "rule %s: a fact is one name (staffed), not one (not staffed), or what one is "
                     "(inside = 2)",
                     rule->part.id);
      return false;
    }
  }
  return true;
}

static enum rule_truth wanted(enum rules_expect expect)
{
  return expect == RULES_YES ? RULE_YES : expect == RULES_NO ? RULE_NO : RULE_UNKNOWN;
}

/* True when all of them come out as they expect. */
static bool run_tests(const struct setting *s, const struct rule_set *set, int rule)
{
  const struct rules_rule *said = set->list[rule].said;
  bool all = true;

  for (int i = 0; i < said->test_count; i++) {
    struct rule_value values[RULE_SLOTS_MAX] = {0};
    enum rule_truth says;

    if (!take_given(s, said, &said->tests[i], values)) {
      all = false;
      continue;
    }
    says = rule_says(set, rule, values);
    if (says == wanted(said->tests[i].expect))
      continue;
    all = false;
    complaints_add(s->complaints, said->tests[i].place, 0,
                   "rule %s, test %d: it expects %s, and the rule says %s; one of the two is "
                   "wrong",
                   said->part.id, i + 1, rules_expect_word(said->tests[i].expect),
                   rule_truth_word(says));
  }
  return all;
}

/* ---- the whole ---- */

static struct rule_rule one_rule(const struct setting *s, const struct rules_rule *said)
{
  struct rule_rule out = {.said = said, .anywhere = !check_processes(s, said)};

  if (said->when.text)
    out.when = parsed(s, said, &said->when, "when");
  out.must = parsed(s, said, &said->must, "must");
  out.bad = !out.must || (said->when.text && !out.when);
  out.doubted = out.anywhere;
  return out;
}

struct rule_set *rule_read(const struct rules *rules, const struct rule_known *known,
                           struct arena *arena, struct complaints *complaints)
{
  struct setting s = {.arena = arena,
                      .complaints = complaints,
                      .known = known,
                      .slots = ARENA_NEW(arena, struct rule_slots)};
  struct rule_set *out = ARENA_NEW(arena, struct rule_set);
  struct rule_rule *list = ARENA_ARRAY(arena, struct rule_rule, (size_t)rules->count + 1);

  BUG_IF(!out || !list || !s.slots);
  out->rules = rules;
  out->count = rules->count;
  out->list = list;
  for (int i = 0; i < rules->count; i++)
    list[i] = one_rule(&s, &rules->list[i]);
  for (int i = 0; i < rules->count; i++)
    if (!list[i].bad && !run_tests(&s, out, i))
      list[i].doubted = true;
  out->slot_count = s.slots->count;
  out->slots = s.slots->list;
  return out;
}

int rule_slot_find(const struct rule_set *set, enum rule_name name, const char *argument)
{
  for (int i = 0; i < set->slot_count; i++)
    if (set->slots[i].name == name &&
        (argument ? set->slots[i].argument && strcmp(set->slots[i].argument, argument) == 0
                  : !set->slots[i].argument))
      return i;
  return -1;
}
