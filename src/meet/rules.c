#include "meet/meet_impl.h"

#include <string.h>

/*
 * The rules that the chart lacks, over one thing, two, or three.
 *
 * A rule that says what two substances are made into ("instead") stands in place of the chart's
 * letters and of other rules for just these two, on a deck or where no place is named; kept together
 * anywhere else they are never.  One of three slots does so for each two of the three, where all
 * three are here.  A rule that meets a mixture by its name hides those that meet only what is in it.
 */

void meet_add_sentence(const struct work *w, struct meet_finding *f, struct meet_sentence s)
{
  struct meet_sentence *list =
      ARENA_ARRAY(w->arena, struct meet_sentence, (size_t)f->sentence_count + 1);
  int at = 0;

  BUG_IF(!list);
  while (at < f->sentence_count && f->sentences[at].verdict >= s.verdict)
    at++;
  for (int i = 0; i < f->sentence_count; i++)
    list[i + (i >= at)] = f->sentences[i];
  list[at] = s;
  f->sentences = list;
  f->sentence_count++;
  if (s.verdict > f->verdict)
    f->verdict = s.verdict;
}

static struct meet_sentence sentence_of(const struct meet_rule *rule)
{
  return (struct meet_sentence){rule->id,  rule->verdict, rule->codes,
                                rule->say, rule->remedy,  rule->of};
}

static bool is_here(const struct work *w, const struct meet_rule *rule)
{
  const char *place = meet_place_word(w->request->place);

  for (int i = 0; place && i < rule->place_count; i++)
    if (strcmp(rule->places[i], place) == 0)
      return true;
  return rule->place_count == 0;
}

static bool is_of_making(const struct work *w)
{
  return w->request->place == MEET_ANYWHERE || w->request->place == MEET_DECK;
}

/* ---- one ---- */

static bool is_noted(const struct work *w, const char *rule)
{
  for (int i = 0; i < w->note_count; i++)
    if (strcmp(w->notes[i].rule, rule) == 0)
      return true;
  return false;
}

static void note(struct work *w, const struct meet_rule *rule)
{
  const struct meet_sentence s = sentence_of(rule);

  if (!is_noted(w, rule->id))
    meet_add_note(w, &s);
}

void meet_add_finding(struct work *w, const struct meet_finding *f)
{
  if (w->finding_count == w->finding_room) {
    int room = 2 * w->finding_room + 32;
    struct meet_finding *list = ARENA_ARRAY(w->arena, struct meet_finding, (size_t)room);

    BUG_IF(!list);
    for (int i = 0; i < w->finding_count; i++)
      list[i] = w->findings[i];
    w->findings = list;
    w->finding_room = room;
  }
  w->findings[w->finding_count++] = *f;
}

void meet_add_note(struct work *w, const struct meet_sentence *s)
{
  if (w->note_count == w->note_room) {
    int room = 2 * w->note_room + 16;
    struct meet_sentence *list = ARENA_ARRAY(w->arena, struct meet_sentence, (size_t)room);

    BUG_IF(!list);
    for (int i = 0; i < w->note_count; i++)
      list[i] = w->notes[i];
    w->notes = list;
    w->note_room = room;
  }
  w->notes[w->note_count++] = *s;
}

static void nobody_knows(const struct work *w, const struct meet_thing *thing,
                         struct meet_finding *f)
{
  meet_add_sentence(
      w, f,
      (struct meet_sentence){
          .rule = "not-known",
          .verdict = MEET_UNKNOWN,
          .codes = "",
          .say = arena_printf(w->arena, "No table here knows '%s': nothing can be said of it.",
                              thing->name),
          .instead = "Apart from everything else until sections 7 and 10 of its safety data sheet "
                     "and the safety officer say what it may meet.",
          .of = {CHEM_MEMORY, "", "common practice, no source", ""}});
}

static void single(struct work *w, int a)
{
  const struct meet_thing *thing = &w->things.list[a];
  struct meet_finding f = {.of_count = 1, .of = {a, -1, -1}};

  for (int i = 0; i < w->facts->rule_count; i++) {
    const struct meet_rule *rule = &w->facts->rules[i];

    if (rule->slot_count != 1 || !is_here(w, rule) ||
        meet_matches(&rule->slots[0], thing) == MATCH_NONE)
      continue;
    if (rule->is_note)
      note(w, rule);
    else if (a < w->asked_count) /* what they make together has its own rule of making */
      meet_add_sentence(w, &f, sentence_of(rule));
  }
  if (thing->kind == MEET_NOT_KNOWN)
    nobody_knows(w, thing, &f);
  if (f.sentence_count > 0)
    meet_add_finding(w, &f);
}

/* ---- two ---- */

/* How well a rule of two fits: by both names, by one and by what is in the other, or not at all. */
static int fit_of(const struct meet_rule *rule, const struct meet_thing *x,
                  const struct meet_thing *y)
{
  enum match xa = meet_matches(&rule->slots[0], x), yb = meet_matches(&rule->slots[1], y);
  enum match xb = meet_matches(&rule->slots[1], x), ya = meet_matches(&rule->slots[0], y);
  int one = xa && yb ? (int)xa + (int)yb : 0, other = xb && ya ? (int)xb + (int)ya : 0;

  return one > other ? one : other;
}

static struct meet_sentence sentence_here(const struct work *w, const struct meet_rule *rule)
{
  struct meet_sentence s = sentence_of(rule);

  if (rule->instead && rule->verdict == MEET_BY_PROCEDURE && !is_of_making(w)) {
    s.verdict = MEET_NEVER;
    s.say = arena_printf(w->arena,
                         "%s To make it is one thing; to keep the two together is "
                         "another.",
                         rule->say);
    s.instead = "";
  }
  return s;
}

struct best {
  int fit;
  enum meet_verdict verdict;
};

/* The best fit of the rules of all places, and the gravest of those that fit so well. */
static struct best best_rule(const struct work *w, const struct meet_thing *x,
                             const struct meet_thing *y)
{
  struct best best = {0, MEET_NOTHING_LISTED};

  for (int i = 0; i < w->facts->rule_count; i++) {
    const struct meet_rule *rule = &w->facts->rules[i];
    int fit =
        rule->slot_count == 2 && rule->place_count == 0 && !rule->instead ? fit_of(rule, x, y) : 0;

    if (fit > best.fit)
      best = (struct best){fit, rule->verdict};
    else if (fit > 0 && fit == best.fit && rule->verdict > best.verdict)
      best.verdict = rule->verdict;
  }
  return best;
}

/* Of what others make here only what is said of it by its name: the rest is said of them. */
static bool is_of_made(const struct meet_rule *rule, const struct meet_thing *x,
                       const struct meet_thing *made)
{
  return !rule->instead && ((meet_matches(&rule->slots[0], made) == MATCH_ITSELF &&
                             meet_matches(&rule->slots[1], x) != MATCH_NONE) ||
                            (meet_matches(&rule->slots[1], made) == MATCH_ITSELF &&
                             meet_matches(&rule->slots[0], x) != MATCH_NONE));
}

/* A rule that says what just these two are made into here. */
static bool is_making(const struct work *w, const struct meet_rule *rule,
                      const struct meet_thing *x, const struct meet_thing *y)
{
  return rule->instead && is_of_making(w) && rule->slot_count == 2 &&
         fit_of(rule, x, y) == 2 * MATCH_ITSELF;
}

static bool third(const struct work *w, const struct meet_rule *rule, const int at[3],
                  enum match least)
{
  static const int orders[6][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2},
                                   {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};

  for (int o = 0; o < 6; o++) {
    bool met = true;

    for (int k = 0; k < 3 && met; k++)
      met = meet_matches(&rule->slots[k], &w->things.list[at[orders[o][k]]]) >= least;
    if (met)
      return true;
  }
  return false;
}

/* A rule that says what these two and a third that is here too are made into. */
static bool is_of_three(const struct work *w, const struct meet_rule *rule, int a, int b)
{
  if (!rule->instead || rule->slot_count != 3 || !is_of_making(w))
    return false;
  for (int c = 0; c < w->asked_count; c++)
    if (c != a && c != b && third(w, rule, (const int[3]){a, b, c}, MATCH_ITSELF))
      return true;
  return false;
}

/* What two, or two and a third, are made into here: said first, and in place of the chart. */
static void makings(const struct work *w, int a, int b, struct meet_finding *f)
{
  for (int i = 0; i < w->facts->rule_count; i++) {
    const struct meet_rule *rule = &w->facts->rules[i];

    f->chart_waived |= is_making(w, rule, &w->things.list[a], &w->things.list[b]);
    if (!is_of_three(w, rule, a, b))
      continue;
    f->chart_waived = true;
    meet_add_sentence(w, f, sentence_of(rule));
  }
}

static void pair_rules(const struct work *w, int a, int b, struct meet_finding *f)
{
  const struct meet_thing *x = &w->things.list[a], *y = &w->things.list[b];
  const int both_by_name = 2 * MATCH_ITSELF;
  struct best best = best_rule(w, x, y);
  bool made = y->made_of[0] >= 0;

  makings(w, a, b, f);
  for (int i = 0; i < w->facts->rule_count; i++) {
    const struct meet_rule *rule = &w->facts->rules[i];

    if (rule->slot_count != 2 || !is_here(w, rule) ||
        (f->chart_waived && !rule->instead && rule->place_count == 0))
      continue;
    int fit = fit_of(rule, x, y);

    if (fit == 0 || (rule->instead && fit < both_by_name) || (made && !is_of_made(rule, x, y)))
      continue;
    if (!rule->instead && rule->place_count == 0 && fit < best.fit && rule->verdict <= best.verdict)
      continue;
    meet_add_sentence(w, f, sentence_here(w, rule));
  }
}

/* What stands instead of the chart decides alone, with what is said of the place. */
static void waive(struct meet_finding *f, const struct meet_finding *chart)
{
  f->cells = chart->cells;
  f->cell_count = chart->cell_count;
  f->chart_note = chart->chart_note;
  f->blank_count = chart->blank_count;
  if (!f->chart_waived && chart->verdict > f->verdict &&
      !(chart->verdict == MEET_UNKNOWN && chart->cell_count == 0 && f->sentence_count > 0))
    f->verdict = chart->verdict;
}

static void in_vessel(struct work *w, int a, int b, struct meet_finding *f)
{
  bool a_is = w->things.list[a].kind == MEET_MATERIAL;
  const struct meet_thing *vessel = &w->things.list[a_is ? a : b];
  const struct meet_thing *thing = &w->things.list[a_is ? b : a];
  static const enum meet_verdict verdicts[] = {MEET_NOTHING_LISTED, MEET_BY_PROCEDURE, MEET_UNKNOWN,
                                               MEET_NEVER};

  f->vessel = meet_vessel_of(w->facts, meet_find_material(w->facts, vessel->id), thing,
                             w->request->at_K, w->arena);
  if (verdicts[f->vessel->rating] > f->verdict)
    f->verdict = verdicts[f->vessel->rating];
}

static bool is_part_of(const struct meet_thing *made, int other)
{
  for (const int *i = made->made_of; *i >= 0; i++)
    if (*i == other)
      return true;
  return false;
}

static void pair(struct work *w, int a, int b)
{
  const struct meet_thing *x = &w->things.list[a], *y = &w->things.list[b];
  bool x_is = x->kind == MEET_MATERIAL, y_is = y->kind == MEET_MATERIAL;
  struct meet_finding f = {.of_count = 2, .of = {a, b, -1}}, chart = {0};
  bool made = y->made_of[0] >= 0; /* those stand last */

  if ((x_is && y_is) || x->made_of[0] >= 0 || (made && is_part_of(y, a)))
    return;
  pair_rules(w, a, b, &f);
  if (x_is || y_is) {
    in_vessel(w, a, b, &f);
  } else if (!made && x->kind != MEET_CLASS && y->kind != MEET_CLASS) {
    meet_place_pair(w, a, b, &f);
    meet_chart_pair(w, a, b, &chart);
    waive(&f, &chart);
  }
  bool silent = made || x->kind == MEET_CLASS || y->kind == MEET_CLASS;

  if (silent && f.sentence_count == 0)
    return;
  meet_add_finding(w, &f);
}

/* ---- three ---- */

static void three(struct work *w, const int at[3])
{
  struct meet_finding f = {.of_count = 3, .of = {at[0], at[1], at[2]}};

  for (int i = 0; i < w->facts->rule_count; i++) {
    const struct meet_rule *rule = &w->facts->rules[i];

    if (rule->slot_count == 3 && !rule->instead && is_here(w, rule) &&
        third(w, rule, at, MATCH_PART))
      meet_add_sentence(w, &f, sentence_of(rule));
  }
  if (f.sentence_count > 0)
    meet_add_finding(w, &f);
}

void meet_rules_all(struct work *w)
{
  int n = w->asked_count;

  for (int a = 0; a < n; a++)
    single(w, a);
  for (int a = 0; a < n; a++)
    for (int b = a + 1; b < w->things.count; b++)
      pair(w, a, b);
  for (int a = 0; a < n; a++)
    for (int b = a + 1; b < n; b++)
      for (int c = b + 1; c < n; c++)
        three(w, (const int[3]){a, b, c});
}
