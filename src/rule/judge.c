#include "rule/rule_impl.h"

#include <math.h>
#include <string.h>

/* Yes, no or unknown, after Kleene: what is not known never becomes yes by itself. */

const char *rule_truth_word(enum rule_truth truth)
{
  static const char *const words[] = {"no", "unknown", "yes"};

  return words[truth];
}

static enum rule_truth of(bool yes)
{
  return yes ? RULE_YES : RULE_NO;
}

static enum rule_truth opposite(enum rule_truth truth)
{
  return (enum rule_truth)(RULE_YES - truth);
}

/* 140 degF is 60 degC, whatever the last bit of their conversion says. */
static bool is_same(double a, double b)
{
  double size = fabs(a) > fabs(b) ? fabs(a) : fabs(b);

  return fabs(a - b) <= 1e-9 * size;
}

static enum rule_truth compared(const struct rule_node *node, const struct rule_value *value)
{
  double a = value->number_si, b = node->constant.number_si;

  if (node->constant.text) {
    bool equal = value->text && strcmp(value->text, node->constant.text) == 0;

    return of(equal == (node->op == RULE_EQ));
  }
  bool same = is_same(a, b);

  switch (node->op) {
  case RULE_LT:
    return of(a < b && !same);
  case RULE_LE:
    return of(a < b || same);
  case RULE_GT:
    return of(a > b && !same);
  case RULE_GE:
    return of(a > b || same);
  case RULE_EQ:
    return of(same);
  case RULE_NE:
  default:
    return of(!same);
  }
}

/* Of a comparison or a truth. */
enum rule_truth rule_judge_node(const struct rule_node *node, const struct rule_value *values)
{
  const struct rule_value *value = &values[node->slot];

  if (!value->known)
    return RULE_UNKNOWN;
  return node->kind == RULE_IS ? of(value->number_si > 0.5) : compared(node, value);
}

static enum rule_truth least(enum rule_truth a, enum rule_truth b)
{
  return a < b ? a : b;
}

static enum rule_truth greatest(enum rule_truth a, enum rule_truth b)
{
  return a > b ? a : b;
}

static void judge_all(const struct rule_expression *e, const struct rule_value *values,
                      enum rule_truth out[RULE_NODES_MAX])
{
  for (int i = 0; i < e->count; i++) {
    const struct rule_node *n = &e->nodes[i];

    switch (n->kind) {
    case RULE_NOT:
      out[i] = opposite(out[n->left]);
      break;
    case RULE_AND:
      out[i] = least(out[n->left], out[n->right]);
      break;
    case RULE_OR:
      out[i] = greatest(out[n->left], out[n->right]);
      break;
    case RULE_IS:
    case RULE_COMPARE:
    default:
      out[i] = rule_judge_node(n, values);
    }
  }
}

enum rule_truth rule_judge(const struct rule_expression *e, const struct rule_value *values)
{
  enum rule_truth all[RULE_NODES_MAX];

  if (!e)
    return RULE_YES;
  judge_all(e, values, all);
  return all[e->count - 1];
}

enum rule_truth rule_applies(const struct rule_set *set, int rule, const struct rule_value *values)
{
  const struct rule_rule *r = &set->list[rule];

  return r->bad ? RULE_UNKNOWN : rule_judge(r->when, values);
}

enum rule_truth rule_says(const struct rule_set *set, int rule, const struct rule_value *values)
{
  const struct rule_rule *r = &set->list[rule];
  enum rule_truth says;

  if (r->bad)
    return RULE_UNKNOWN;
  says = greatest(opposite(rule_judge(r->when, values)), rule_judge(r->must, values));
  return r->doubted ? least(says, RULE_UNKNOWN) : says;
}

/* ---- why not ---- */

struct blaming {
  const struct rule_expression *e;
  const enum rule_truth *truths;
  const struct rule_value *values;
  struct rule_blame *out;
  int count;
  struct arena *arena;
};

/* What keeps a node from yes; `negated`: from no. */
static void blame(struct blaming *b, int at, bool negated)
{
  const struct rule_node *n = &b->e->nodes[at];
  enum rule_truth truth = negated ? opposite(b->truths[at]) : b->truths[at];

  if (truth == RULE_YES || b->count == RULE_BLAMES_MAX)
    return;
  switch (n->kind) {
  case RULE_NOT:
    blame(b, n->left, !negated);
    break;
  case RULE_AND:
  case RULE_OR:
    blame(b, n->left, negated);
    blame(b, n->right, negated);
    break;
  case RULE_IS:
  case RULE_COMPARE:
  default:
    b->out[b->count++] =
        (struct rule_blame){.slot = n->slot,
                            .truth = truth,
                            .text = arena_printf(b->arena, "%s%.*s", negated ? "not " : "",
                                                 n->to - n->from, b->e->text + n->from)};
    BUG_IF(!b->out[b->count - 1].text);
  }
}

int rule_because(const struct rule_set *set, int rule, const struct rule_value *values,
                 struct rule_blame out[RULE_BLAMES_MAX], struct arena *arena)
{
  const struct rule_rule *r = &set->list[rule];
  enum rule_truth truths[RULE_NODES_MAX];
  struct blaming b = {.truths = truths, .values = values, .out = out, .arena = arena};

  if (r->bad)
    return 0;
  b.e = r->must;
  judge_all(r->must, values, truths);
  blame(&b, r->must->count - 1, false);
  if (r->when && rule_applies(set, rule, values) == RULE_UNKNOWN) {
    b.e = r->when;
    judge_all(r->when, values, truths);
    blame(&b, r->when->count - 1, true);
  }
  return b.count;
}

void rule_print_value(enum rule_name name, const struct rule_value *value, struct buf *out)
{
  const struct rule_name_row *row = rule_name_row(name);

  if (!value->known)
    buf_puts(out, "not known");
  else if (row->type == RULE_TRUTH)
    buf_puts(out, value->number_si > 0.5 ? "so" : "not so");
  else if (row->type == RULE_TEXT)
    buf_puts(out, value->text ? value->text : "none");
  else if (row->type == RULE_COUNT)
    buf_printf(out, "%.0f", value->number_si);
  else if (row->type == RULE_CLOCK)
    buf_printf(out, "%02d:%02d", (int)value->number_si / 60, (int)value->number_si % 60);
  else if (row->dimension == UNITS_TEMPERATURE)
    buf_printf(out, "%.4g degC", value->number_si - 273.15);
  else if (row->dimension == UNITS_TIME)
    buf_printf(out, "%.3g h", value->number_si / 3600);
  else
    buf_printf(out, "%.4g %s", value->number_si, units_si_text(row->dimension));
}
