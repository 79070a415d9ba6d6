/*
 * From the table to a few clauses that a person can keep in mind: of these stations so many at a time,
 * where some count twice or not at all.  Every clause is read off the table, so that whatever the
 * clauses allow misses nothing; how much of what is fine they leave out is counted and said.
 */
#include "numeric/numeric.h"
#include "together/together_impl.h"

#include <math.h>

int together_weight_of(const struct together_rule *rule, uint32_t set)
{
  int sum = 0;

  for (; set; set &= set - 1)
    sum += rule->weight[__builtin_ctz(set)];
  return sum;
}

struct choosing {
  struct together_sets *s;
  const struct together_answer *a;
  double extra[AIR_SETS_MAX];
};

static bool allows(const struct together_rule *rule, uint32_t set)
{
  return together_weight_of(rule, set & rule->stations) <= rule->allowed;
}

static bool all_allow(const struct together_sets *s, uint32_t set)
{
  for (int i = 0; i < s->rule_count; i++)
    if (!allows(&s->rules[i], set))
      return false;
  return true;
}

/* The most that may be counted so that no set that breaks something gets through: a set that breaks
 * holds one of the smallest that do, which counts no more than it.  -2: none breaks. */
static int most_allowed(const struct choosing *c, const struct together_rule *rule, bool alone)
{
  int least = -1;

  for (long i = 0; i < c->s->breaking_count; i++) {
    uint32_t set = c->s->minimal[i];

    if (alone ? set & ~rule->stations : !all_allow(c->s, set))
      continue;
    int weight = together_weight_of(rule, set & rule->stations);

    least = least < 0 || weight < least ? weight : least;
  }
  return least - 1;
}

/* How many sets of just these stations the rule allows; all of them are fine. */
static long covers(const struct together_rule *rule)
{
  long ways[TOGETHER_WEIGHT_MAX * AIR_SETS_MAX + 1] = {1}, sum = 0;
  int most = 0;

  for (uint32_t left = rule->stations; left; left &= left - 1) {
    int w = rule->weight[__builtin_ctz(left)];

    for (int k = most; k >= 0; k--)
      if (w > 0)
        ways[k + w] += ways[k];
      else
        ways[k] *= 2;
    most += w;
  }
  for (int k = 0; k <= rule->allowed && k <= most; k++)
    sum += ways[k];
  return sum;
}

/* Who counts how often, in units of `unit`; false where that is no other than before. */
static void weigh(const struct choosing *c, struct together_rule *rule, double unit)
{
  for (int i = 0; i < c->a->count; i++) {
    double times = c->extra[i] / unit;

    rule->weight[i] = !(c->s->counts >> i & 1u) ? 0
                      : times <= 1.0            ? 1
                                     : (int)fmin(ceil(times - 0.35), TOGETHER_WEIGHT_MAX);
  }
}

static int total(const struct together_rule *rule)
{
  return together_weight_of(rule, rule->stations);
}

/*
 * The best clause of a pool's stations: all count once, unless weights leave far fewer fine sets out.
 * A unit is one of the stations' own extra flows.
 */
static bool choose(struct choosing *c, int pool, uint32_t stations, bool alone,
                   struct together_rule *out)
{
  const double worth_ratio = 1.15; /* words with weights must allow this much more */
  struct together_rule best = {.pool = pool, .stations = stations};
  long covered;

  weigh(c, &best, INFINITY);
  best.allowed = most_allowed(c, &best, alone);
  if (best.allowed == -2) /* nothing breaks */
    return false;
  covered = covers(&best);
  for (int i = 0; i < c->a->count; i++) {
    struct together_rule rule = best;
    bool again = false;

    if (!(stations >> i & 1u) || c->extra[i] <= 1e-6)
      continue;
    for (int j = 0; j < i; j++)
      again = again || (!numeric_exceeds(c->extra[j], c->extra[i], 1e-9) &&
                        !numeric_exceeds(c->extra[i], c->extra[j], 1e-9));
    if (again)
      continue;
    weigh(c, &rule, c->extra[i]);
    rule.allowed = most_allowed(c, &rule, alone);
    if ((double)covers(&rule) > worth_ratio * (double)covered) {
      covered = covers(&rule);
      best = rule;
    }
  }
  best.of = total(&best);
  *out = best;
  return true;
}

static uint32_t stations_of(const struct together_answer *a, int pool)
{
  uint32_t set = 0;

  for (int i = 0; i < a->count; i++)
    if (pool < 0 || air_pool_has_station(a->facility, pool, a->stations[i]))
      set |= 1u << i;
  return set;
}

static void add_rule(struct choosing *c, int pool, bool alone)
{
  struct together_sets *s = c->s;
  uint32_t stations = stations_of(c->a, pool);

  if (s->rule_count == TOGETHER_RULES_MAX || !stations)
    return;
  if (choose(c, pool, stations, alone, &s->rules[s->rule_count]))
    s->rule_count++;
}

static bool others_stop_all(const struct together_sets *s, int without)
{
  for (long i = 0; i < s->breaking_count; i++) {
    bool stopped = false;

    for (int k = 0; k < s->rule_count && !stopped; k++)
      stopped = k != without && !allows(&s->rules[k], s->minimal[i]);
    if (!stopped)
      return false;
  }
  return true;
}

/* A clause that the others make needless only takes room on the wall. */
static void drop_needless(struct together_sets *s)
{
  for (int k = s->rule_count - 1; k >= 0; k--) {
    if (!others_stop_all(s, k))
      continue;
    for (int i = k; i + 1 < s->rule_count; i++)
      s->rules[i] = s->rules[i + 1];
    s->rule_count--;
  }
}

/* Mains first, each by itself; then each make-up unit, and all together, for what the mains still
 * let through. */
void together_rules(struct together_sets *s, const struct together_answer *a,
                    const struct air_sets *sets)
{
  struct choosing c = {.s = s, .a = a};
  int mains = a->facility->main_count, supplies = a->facility->supply_count;

  for (int i = 0; i < a->count; i++)
    c.extra[i] = air_sets_extra_m3_s(sets, i);
  for (int p = 0; p < mains && s->rule_count < TOGETHER_RULES_MAX - 1; p++)
    add_rule(&c, p, true);
  for (int p = mains;
       supplies > 1 && p < mains + supplies && s->rule_count < TOGETHER_RULES_MAX - 1; p++)
    add_rule(&c, p, true);
  add_rule(&c, -1, false);
  drop_needless(s);
  for (uint32_t set = 0; set < 1u << a->count; set++)
    s->allowed_count += all_allow(s, set);
}
