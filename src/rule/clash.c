#include "rule/rule_impl.h"

#include <string.h>

/*
 * Do two rules contradict each other?  Every slot that is not known runs over the cases that the
 * comparisons of the two tell apart: each constant, and what lies below, between and above them.
 */
enum { CASES_MAX = 2 * RULE_NODES_MAX, FREE_MAX = 24, LOOKED_AT_MAX = 500000 };

struct free_slot {
  int slot, case_count, at;
  struct rule_value cases[CASES_MAX];
};

struct search {
  const struct rule_set *set;
  const struct rule_rule *a, *b;
  struct rule_value values[RULE_SLOTS_MAX];
  int free_count;
  struct free_slot free[FREE_MAX];
  bool too_large;
};

static struct free_slot *free_slot_of(struct search *s, int slot)
{
  for (int i = 0; i < s->free_count; i++)
    if (s->free[i].slot == slot)
      return &s->free[i];
  if (s->free_count == FREE_MAX) {
    s->too_large = true;
    return NULL;
  }
  s->free[s->free_count] = (struct free_slot){.slot = slot};
  return &s->free[s->free_count++];
}

static void add_case(struct free_slot *f, struct rule_value value)
{
  for (int i = 0; i < f->case_count; i++)
    if (value.text ? f->cases[i].text && strcmp(f->cases[i].text, value.text) == 0
                   : !f->cases[i].text && f->cases[i].number_si <= value.number_si &&
                         f->cases[i].number_si >= value.number_si)
      return;
  if (f->case_count < CASES_MAX)
    f->cases[f->case_count++] = value;
}

static void add_number(struct free_slot *f, double number_si)
{
  add_case(f, (struct rule_value){.known = true, .number_si = number_si});
}

/* The words that a text can be, or those compared with and one that is none of them. */
static void add_texts(struct free_slot *f, const struct rule_name_row *row, const char *text)
{
  add_case(f, (struct rule_value){.known = true, .text = text});
  if (!row->possible)
    add_case(f, (struct rule_value){.known = true, .text = ""});
  for (const char *at = row->possible; at; at = strchr(at + 1, '|')) {
    size_t length = strcspn(at + (*at == '|'), "|");

    if (strlen(text) == length && strncmp(at + (*at == '|'), text, length) == 0)
      continue;
    add_case(f, (struct rule_value){.known = true, .text = ""}); /* any of the others */
  }
}

static void add_cases(struct free_slot *f, const struct rule_name_row *row,
                      const struct rule_node *node)
{
  double c = node->constant.number_si;

  switch (row->type) {
  case RULE_TEXT:
    add_texts(f, row, node->constant.text);
    break;
  case RULE_COUNT:
    for (int by = -1; by <= 1; by++)
      if (c + by >= 0)
        add_number(f, c + by);
    break;
  case RULE_QUANTITY:
  case RULE_CLOCK: {
    double by = row->type == RULE_CLOCK ? 1 : 1e-3;

    add_number(f, c - by);
    add_number(f, c);
    add_number(f, c + by);
    break;
  }
  case RULE_TRUTH:
  default:
    add_number(f, 0);
    add_number(f, 1);
  }
}

static void look_at(struct search *s, const struct rule_expression *e)
{
  for (int i = 0; e && i < e->count; i++) {
    const struct rule_node *n = &e->nodes[i];

    if ((n->kind != RULE_IS && n->kind != RULE_COMPARE) || s->values[n->slot].known)
      continue;
    struct free_slot *f = free_slot_of(s, n->slot);

    if (f)
      add_cases(f, rule_name_row(s->set->slots[n->slot].name), n);
  }
}

static bool is_a(const struct rule_slot *slot, enum rule_name name)
{
  return slot->name == name;
}

/* What can never be: two stations at once, more people with something than people. */
static bool can_be(const struct search *s)
{
  int processes = 0, stations = 0;
  double inside = -1, most = 0;

  for (int i = 0; i < s->set->slot_count; i++) {
    const struct rule_slot *slot = &s->set->slots[i];
    const struct rule_value *v = &s->values[i];

    if (!v->known)
      continue;
    processes += is_a(slot, RULE_PROCESS_IS) && v->number_si > 0.5;
    stations += is_a(slot, RULE_STATION_IS) && v->number_si > 0.5;
    if (is_a(slot, RULE_INSIDE))
      inside = v->number_si;
    if (is_a(slot, RULE_INSIDE_WITH) && v->number_si > most)
      most = v->number_si;
  }
  return processes <= 1 && stations <= 1 && (inside < 0 || (inside >= 1 && most <= inside));
}

static bool next_case(struct search *s)
{
  for (int i = 0; i < s->free_count; i++) {
    struct free_slot *f = &s->free[i];

    f->at = f->at + 1 < f->case_count ? f->at + 1 : 0;
    s->values[f->slot] = f->cases[f->at];
    if (f->at != 0)
      return true;
  }
  return false;
}

static bool small_enough(const struct search *s)
{
  double cases = 1;

  for (int i = 0; i < s->free_count; i++)
    cases *= s->free[i].case_count;
  return !s->too_large && cases <= LOOKED_AT_MAX;
}

enum rule_clash rule_clash(const struct rule_set *set, int a, int b,
                           const struct rule_value *values)
{
  struct search s = {.set = set, .a = &set->list[a], .b = &set->list[b]};
  bool both_apply = false;

  if (s.a->bad || s.b->bad)
    return RULE_NO_CLASH;
  memcpy(s.values, values, (size_t)set->slot_count * sizeof *values);
  look_at(&s, s.a->when);
  look_at(&s, s.a->must);
  look_at(&s, s.b->when);
  look_at(&s, s.b->must);
  if (!small_enough(&s))
    return RULE_TOO_LARGE;
  for (int i = 0; i < s.free_count; i++)
    s.values[s.free[i].slot] = s.free[i].cases[0];
  do {
    if (!can_be(&s) || rule_judge(s.a->when, s.values) != RULE_YES ||
        rule_judge(s.b->when, s.values) != RULE_YES)
      continue;
    both_apply = true;
    if (rule_judge(s.a->must, s.values) == RULE_YES && rule_judge(s.b->must, s.values) == RULE_YES)
      return RULE_NO_CLASH;
  } while (next_case(&s));
  return both_apply ? RULE_CLASH : RULE_NO_CLASH;
}
