#include "may/may_impl.h"

#include <string.h>

/* The house rules that count there and then. */

static bool in_scope(const struct may_state *s, int number)
{
  const struct rule_rule *one = &s->may->set->list[number];
  const struct rules_rule *rule = one->said;
  bool here = rule->station_count == 0, this_one = rule->process_count == 0 || one->anywhere;

  for (int i = 0; i < rule->station_count; i++)
    here = here || rule->stations[i] == s->station;
  for (int i = 0; i < rule->process_count; i++)
    this_one = this_one || strcmp(rule->processes[i].text, s->process->part.id) == 0;
  return here && this_one && s->last_day >= roster_day(rule->from) &&
         (!rule->until || s->day <= roster_day(rule->until));
}

static const char only_then[] = "known only when it is done";

/* What a person does about a thing that is not known. */
static const char *way_of(const struct rule_slot *slot, struct arena *arena)
{
  switch ((int)slot->name) {
  case RULE_INSIDE:
  case RULE_INSIDE_WITH:
    return "--inside U22,...; or --alone";
  case RULE_CONFIRMED:
    return arena_printf(arena, "look, then --confirm \"%s\"", slot->argument);
  case RULE_STATION_PROOF:
    return "look at its certificate, then --confirm \"station proof in date\"";
  case RULE_STATION_WITHDRAWN:
    return "look for the sign, then --confirm \"station in use\"; or --record FILE";
  case RULE_DECK_FAMILY:
  case RULE_BESIDE_USES:
    return "look, then --beside none or --beside P3,P9";
  case RULE_AIR:
    return "look at the board, then --scene NAME";
  default:
    return NULL;
  }
}

/* What a person does about a thing that is known, and against it. */
static const char *mend_of(const struct rule_slot *slot)
{
  switch ((int)slot->name) {
  case RULE_STATION_PROOF:
    return "have the proof done that is out of date or was missed, and put its day in the suite file";
  case RULE_STATION_WITHDRAWN:
    return "whoever took it out of use releases it";
  default:
    return NULL;
  }
}

/* A truth is named without the "not" of the rule: its own value stands behind it. */
static const char *name_of(const struct rule_blame *blame, enum rule_name name)
{
  static const char negation[] = "not ";
  bool is_truth = rule_name_row(name)->type == RULE_TRUTH;
  bool is_negated = strncmp(blame->text, negation, sizeof negation - 1) == 0;

  return blame->text + (is_truth && is_negated ? sizeof negation - 1 : 0);
}

/* "inside with "hf" >= 2: it is 1; ..."; the way is out of what made the rule say so. */
static const char *why(const struct may_state *s, int rule, const struct rule_value *values,
                       const char **way_out, struct arena *arena)
{
  struct rule_blame list[RULE_BLAMES_MAX];
  const struct rule_set *set = s->may->set;
  int count = rule_because(set, rule, values, list, arena);
  bool is_no = rule_says(set, rule, values) == RULE_NO;
  struct buf out;

  buf_init(&out, 4000);
  for (int i = 0; i < count; i++) {
    const struct rule_slot *slot = &set->slots[list[i].slot];
    const struct rule_value *value = &values[list[i].slot];

    if (value->why == only_then)
      continue; /* asked when it is done */
    bool figure = value->known && rule_name_row(slot->name)->type != RULE_TRUTH;

    buf_printf(&out, "%s%s: %s", out.used > 0 ? "; " : "", name_of(&list[i], slot->name),
               figure ? "it is " : "");
    rule_print_value(slot->name, value, &out);
    if (value->why)
      buf_printf(&out, " (%s)", value->why);
    if (value->known == is_no && !*way_out)
      *way_out = value->known ? mend_of(slot) : way_of(slot, arena);
  }
  const char *text = arena_strdup(arena, out.text);

  BUG_IF(!text);
  buf_release(&out);
  return text;
}

static void one_rule(struct may_judging *j, int rule, const struct rule_value *values)
{
  const struct may_state *s = j->s;
  const struct rules_rule *said = s->may->set->list[rule].said;
  enum rule_truth says = rule_says(s->may->set, rule, values);
  struct may_reason r = {.kind = "rule", .id = said->part.id, .rank = MAY_RANK_RULE};

  if (says == RULE_YES && rule_applies(s->may->set, rule, values) == RULE_NO)
    return; /* it is not about this */
  r.verdict = says == RULE_YES ? MAY_MET : says == RULE_NO ? MAY_NO : MAY_UNCONFIRMED;
  r.source = said->source;
  r.say = said->text;
  if (!j->quiet && r.verdict != MAY_MET) {
    const struct rule_rule *of = &s->may->set->list[rule];
    const char *fault = of->bad ? " This rule cannot be read: `inward check` says where"
                        : of->doubted
                            ? " This rule fails a test of its own, or is for a process that is "
                              "none: `inward check` says which"
                            : "";
    const char *because = why(s, rule, values, &r.way, j->arena);

    r.say = arena_printf(j->arena, "%s%s%s%s%s", said->text, fault, *because ? " (" : "", because,
                         *because ? ")" : "");
  }
  may_note(j, r);
}

/* Speaks this name of what is so each time it is done anew? */
static bool is_of_the_moment(enum rule_name name)
{
  switch ((int)name) {
  case RULE_PERSON_HAS:
  case RULE_INSIDE:
  case RULE_INSIDE_WITH:
  case RULE_STAFFED:
  case RULE_STAFFED_THROUGHOUT:
  case RULE_HOUR:
  case RULE_WEEKDAY:
  case RULE_UNATTENDED:
  case RULE_CONFIRMED:
  case RULE_AIR:
  case RULE_DECK_FAMILY:
  case RULE_BESIDE_USES:
  case RULE_STATION_WITHDRAWN:
  case RULE_STATION_PROOF:
  case RULE_PROCESS_DOCUMENT:
    return true;
  default:
    return false;
  }
}

/* Is nothing unknown in it but what is known only when it is done? */
static bool is_for_later(const struct may_state *s, int rule, const struct rule_value *values,
                         struct arena *arena)
{
  const struct rule_set *set = s->may->set;
  struct rule_blame list[RULE_BLAMES_MAX];
  int count = rule_because(set, rule, values, list, arena);

  for (int i = 0; i < count; i++)
    if (!is_of_the_moment(set->slots[list[i].slot].name))
      return false;
  return count > 0;
}

void may_judge_rules_of_place(struct may_judging *j)
{
  const struct rule_set *set = j->s->may->set;
  struct rule_value values[MAY_SLOTS_MAX];
  const char *later = "";

  if (!set)
    return;
  may_fill(j->s, values, j->arena);
  for (int i = 0; i < set->slot_count; i++)
    if (is_of_the_moment(set->slots[i].name))
      values[i] = (struct rule_value){.why = only_then};
  for (int i = 0; i < set->count; i++) {
    enum rule_truth says = rule_says(set, i, values);

    if (!in_scope(j->s, i))
      continue;
    if (says == RULE_UNKNOWN && is_for_later(j->s, i, values, j->arena))
      later =
          arena_printf(j->arena, "%s%s%s", later, *later ? ", " : "", set->list[i].said->part.id);
    else
      one_rule(j, i, values);
  }
  if (*later)
    may_note(j, (struct may_reason){
                    .kind = "rule",
                    .rank = MAY_RANK_LAST,
                    .source = "rules file",
                    .say = arena_printf(j->arena, "to be met each time it is done: %s", later)});
}

void may_judge_rules(struct may_judging *j)
{
  const struct rule_set *set = j->s->may->set;
  struct rule_value values[MAY_SLOTS_MAX];

  if (!set)
    return;
  may_fill(j->s, values, j->arena);
  for (int i = 0; i < set->count; i++)
    if (in_scope(j->s, i))
      one_rule(j, i, values);
}
