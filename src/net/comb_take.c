/* What the rows of a comb are: their laws, summed up along each. */
#include "net/comb_find_impl.h"

#include <math.h>

/* ---- resistances in a row ---- */

struct sum { /* forward and backward along the row */
  double k[2], least_k[2], lift_Pa;
  double m; /* of the last one; 0: no power law */
  int members;
  bool square; /* all of them */
};

/* Has it a flow in closed form?  drop = k |g|^m. */
static bool is_one_law(const struct sum *sum)
{
  return sum->square || (sum->members == 1 && sum->m > 0 && sum->k[0] > 0 && sum->k[1] > 0);
}

static void add_members(struct sum *sum, const struct net_link *link, bool reversed)
{
  for (int i = 0; i < link->member_count; i++) {
    const struct net_member *m = &link->members[i];

    if (m->kind == NET_POWER && m->k[0] == 0 && m->k[1] == 0)
      continue;
    sum->members++;
    sum->m = m->kind == NET_POWER ? m->m : 0;
    sum->square = sum->square && m->kind == NET_POWER && m->m == 2 && m->k[0] > 0 && m->k[1] > 0;
    for (int way = 0; way < 2; way++) {
      double k = m->k[way ^ (int)reversed];

      sum->k[way] += k;
      sum->least_k[way] = fmin(sum->least_k[way], k);
    }
  }
}

static struct sum sum_of(const struct comb_search *s, const struct net_problem *problem,
                         const struct comb_row *row)
{
  struct sum sum = {.least_k = {INFINITY, INFINITY}, .square = true};

  for (int i = row->first; i < row->first + row->count; i++) {
    const struct net_link *link = &problem->links[s->links[i]];

    sum.lift_Pa += s->reversed[i] ? -link->lift_Pa : link->lift_Pa;
    if (link->law == NET_RESIST || link->law == NET_SET_FLOW || link->law == NET_FAN)
      add_members(&sum, link, s->reversed[i]);
  }
  return sum;
}

static struct resist resist_of(const struct net_member *m, bool reversed)
{
  struct resist r = {
      .darcy = m->kind == NET_DARCY ? m : NULL, .k = {m->k[reversed], m->k[!reversed]}, .m = m->m};

  for (int way = 0; way < 2; way++)
    r.knee[way] = r.k[way] > 0 ? pow(KNEE_PA / r.k[way], 1 / r.m) : 0;
  return r;
}

static bool keep_member(struct comb_search *s, const struct net_member *m, bool reversed)
{
  struct net_comb *c = s->c;
  struct resist r = resist_of(m, reversed);

  if (c->law_count == COMB_LAWS_MAX || (r.darcy && c->darcy_count == COMB_DARCY_MAX))
    return comb_refuse(s, "too many resistances");
  if (r.darcy) {
    struct net_member *own = &c->darcy[c->darcy_count++];

    *own = *m;
    for (int way = 0; way < 2; way++) {
      own->k[way] = m->k[way ^ (int)reversed];
      own->density_kg_m3[way] = m->density_kg_m3[way ^ (int)reversed];
    }
    r.darcy = own;
  }
  c->laws[c->law_count++] = r;
  return true;
}

/* Those of the row that drop anything. */
static bool keep_members(struct comb_search *s, const struct net_problem *problem,
                         const struct comb_row *row, int *first, int *count)
{
  *first = s->c->law_count;
  for (int i = row->first; i < row->first + row->count; i++) {
    const struct net_link *link = &problem->links[s->links[i]];

    for (int j = 0; j < link->member_count; j++)
      if ((link->members[j].kind != NET_POWER || link->members[j].k[0] > 0 ||
           link->members[j].k[1] > 0) &&
          !keep_member(s, &link->members[j], s->reversed[i]))
        return false;
  }
  *count = s->c->law_count - *first;
  return true;
}

static double member_drop_Pa(const struct net_member *m, double flow_kg_s)
{
  struct resist r = resist_of(m, false);
  double drop_Pa, slope;

  law_resist(&r, flow_kg_s, &drop_Pa, &slope);
  return drop_Pa;
}

/* ---- teeth ---- */

static double needs_Pa(const struct comb_search *s, const struct net_problem *problem,
                       const struct comb_row *row, double flow_kg_s)
{
  double sum_Pa = 0;

  for (int i = row->first; i < row->first + row->count; i++) {
    const struct net_link *link = &problem->links[s->links[i]];

    for (int j = 0; j < link->member_count; j++)
      sum_Pa += s->reversed[i] ? -member_drop_Pa(&link->members[j], -flow_kg_s)
                               : member_drop_Pa(&link->members[j], flow_kg_s);
  }
  return sum_Pa;
}

static bool take_law(struct comb_search *s, const struct net_problem *problem,
                     const struct comb_row *row, struct comb_law *law, double *n)
{
  struct sum sum = sum_of(s, problem, row);
  double needs;

  *law =
      (struct comb_law){.cap = INFINITY, .holds_Pa = INFINITY, .knee_Pa = {-INFINITY, -INFINITY}};
  for (int i = row->first; i < row->first + row->count; i++) {
    const struct net_link *link = &problem->links[s->links[i]];

    if (link->law == NET_SHUT || (link->law == NET_SET_FLOW && link->set_kg_s == 0)) {
      law->cap = 0;
      law->holds_Pa = -INFINITY;
      return true;
    }
    if (link->law != NET_RESIST && (link->law != NET_SET_FLOW || s->reversed[i]))
      return comb_refuse(s, "a tooth that is neither a resistance nor a valve towards the header");
    if (link->law == NET_SET_FLOW)
      law->cap = fmin(law->cap, link->set_kg_s);
  }
  if (sum.members == 0 || law->cap < 0)
    return comb_refuse(s, "a tooth that decrees its flow");
  needs = isfinite(law->cap) ? needs_Pa(s, problem, row, law->cap) : (double)INFINITY;
  law->holds_Pa = needs * (1 + 1e-9);
  if (is_one_law(&sum)) {
    *n = 1 / sum.m;
    law->root[0] = pow(sum.k[0], -*n);
    law->knee_Pa[0] = fmin(needs, KNEE_PA * sum.k[0] / sum.least_k[0]);
    if (!keep_members(s, problem, row, &law->first, &law->count))
      return false;
  } else {
    law->root[0] = INFINITY;
    law->knee_Pa[0] = needs;
  }
  if (isfinite(law->cap))
    return true;
  if (!is_one_law(&sum))
    return comb_refuse(s, "a tooth without a valve whose laws are not all square");
  law->root[1] = pow(sum.k[1], -*n);
  law->knee_Pa[1] = KNEE_PA * sum.k[1] / sum.least_k[1];
  return true;
}

bool comb_take_tooth(struct comb_search *s, struct comb_row *row, int node)
{
  struct net_comb *c = s->c;
  struct comb_tooth *tooth = &c->teeth[c->tooth_count];

  if (c->tooth_count == COMB_TEETH_MAX)
    return comb_refuse(s, "too many teeth");
  comb_turn(s, row, c->room);
  *tooth = (struct comb_tooth){.node = node, .bit = -1};
  for (int i = row->first; i < row->first + row->count; i++) {
    int bit = s->bit[s->links[i]];

    if (bit >= 0 && tooth->bit >= 0 && bit != tooth->bit)
      return comb_refuse(s, "two stations on one tooth");
    tooth->bit = bit >= 0 ? bit : tooth->bit;
    c->link_tooth[s->links[i]] = c->tooth_count;
  }
  tooth->lift_Pa = sum_of(s, s->off, row).lift_Pa;
  c->tooth_count++;
  double off_n = 0.5, on_n = 0.5;

  if (!take_law(s, s->off, row, &tooth->law[0], &off_n) ||
      !take_law(s, s->on, row, &tooth->law[1], &on_n))
    return false;
  bool off_flows = tooth->law[0].root[0] > 0, on_flows = tooth->law[1].root[0] > 0;

  for (int open = 0; open < 2; open++)
    tooth->holds = tooth->holds || tooth->law[open].holds_Pa < (double)INFINITY;
  tooth->n = on_flows ? on_n : off_n;
  return (off_flows && on_flows && off_n != on_n)
             ? comb_refuse(s, "a tooth that changes its exponent")
             : true;
}

/* ---- the header ---- */

bool comb_take_run(struct comb_search *s, const struct comb_row *row, struct comb_run *run)
{
  struct sum sum = sum_of(s, s->off, row);

  for (int i = row->first; i < row->first + row->count; i++) {
    enum net_law law = s->off->links[s->links[i]].law;

    if (law != NET_RESIST && law != NET_FAN)
      return comb_refuse(s, "the header has more than resistances and a fan");
  }
  *run = (struct comb_run){.passes = true, .square = sum.square, .lift_Pa = sum.lift_Pa};
  run->k = sum.square ? sum.k[0] : 0;
  run->least_kg_s = sum.square && sum.members > 0 ? sqrt(KNEE_PA / sum.least_k[0]) : 0;
  return keep_members(s, s->off, row, &run->first, &run->count);
}

static double over_Pa(const struct comb_search *s, int over, bool *fixed)
{
  *fixed = over < 0 || s->off->nodes[over].fixed;
  return over < 0 ? 0 : s->off->nodes[over].pressure_Pa;
}

bool comb_take_curves(struct comb_search *s, const struct net_fan *fan)
{
  struct net_comb *c = s->c;
  bool fixed;

  curve_init(&c->most, fan, &c->arena);
  curve_init(&c->least, fan, &c->arena);
  if (c->most.humped)
    return comb_refuse(s, "the fan's curve has a hump");
  curve_speed(&c->most, fan, fan->holds ? fan->most_speed_ratio : fan->speed_ratio);
  if (!(c->most.inverse > 0))
    return comb_refuse(s, "the fan stands still");
  c->fan_holds = fan->holds;
  if (!fan->holds)
    return true;
  c->fan_hold_Pa = fan->hold_Pa + over_Pa(s, fan->over, &fixed);
  if (!fixed || fan->held != s->end)
    return comb_refuse(s, "the fan holds a pressure elsewhere than at the header's end");
  c->has_least = fan->least_speed_ratio > 0;
  curve_speed(&c->least, fan, fan->least_speed_ratio);
  return true;
}

/* ---- what else leads to the room ---- */

bool comb_take_leak(struct comb_search *s, const struct comb_row *row)
{
  struct sum sum = sum_of(s, s->off, row);
  struct net_comb *c = s->c;
  struct comb_leak leak = {.out_Pa = s->off->nodes[row->b].pressure_Pa - sum.lift_Pa};
  struct comb_part part = {.law.cap = INFINITY};

  if (!is_one_law(&sum))
    return comb_refuse(s, "a leak in several parts");
  if (sum.members == 0)
    return comb_refuse(s, "the room is one with another place");
  part.leak = c->leak_count;
  leak.n = 1 / sum.m;
  for (int way = 0; way < 2; way++) {
    leak.root[way] = part.law.root[way] = pow(sum.k[way], -leak.n);
    part.law.knee_Pa[way] = KNEE_PA * sum.k[way] / sum.least_k[way];
    leak.knee_Pa = fmax(leak.knee_Pa, part.law.knee_Pa[way]);
  }
  if (c->part_count == COMB_PARTS_MAX ||
      !keep_members(s, s->off, row, &part.law.first, &part.law.count))
    return comb_refuse(s, "too many leaks");
  for (int i = 0; i < c->leak_count; i++)
    if (c->leaks[i].out_Pa == leak.out_Pa && c->leaks[i].n == leak.n) {
      part.leak = i;
      for (int way = 0; way < 2; way++)
        c->leaks[i].root[way] += leak.root[way];
      c->leaks[i].knee_Pa = fmax(c->leaks[i].knee_Pa, leak.knee_Pa);
    }
  c->parts[c->part_count++] = part;
  if (part.leak < c->leak_count)
    return true;
  if (c->leak_count == COMB_LEAKS_MAX)
    return comb_refuse(s, "too many leaks");
  c->leaks[c->leak_count++] = leak;
  return true;
}

bool comb_take_decree(struct comb_search *s, const struct comb_row *row)
{
  int l = s->links[row->first];
  double set = s->off->links[l].set_kg_s;

  s->c->inflow_kg_s += s->reversed[row->first] ? set : -set;
  s->c->link_tooth[l] = COMB_DECREE;
  s->c->link_decree_kg_s[l] = set;
  return true;
}

/* A unit before the terminal holds the pressure between them. */
static bool take_unit(struct comb_search *s, const struct net_link *unit, double *from_Pa)
{
  bool fixed;

  *from_Pa = unit->hold_Pa + over_Pa(s, unit->over, &fixed);
  if (!fixed || unit->held != unit->to || unit->least_kg_s != 0 || unit->member_count != 0)
    return comb_refuse(s, "a supply unit that does more than hold its plenum");
  s->c->most_kg_s = fmin(s->c->most_kg_s, unit->most_kg_s);
  return true;
}

/* Turned so that it starts at the given pressure. */
bool comb_take_supply(struct comb_search *s, const struct comb_row *row)
{
  struct net_comb *c = s->c;
  int last = row->first + row->count - 1;
  const struct net_link *feed = &s->off->links[s->links[last]];
  double from_Pa = s->off->nodes[row->a].pressure_Pa;
  struct sum sum = {.least_k = {INFINITY, INFINITY}, .square = true};
  bool fixed;

  if (c->supply == COMB_HOLDS || row->count > 2)
    return comb_refuse(s, "more than one supply");
  for (int i = row->first; i <= last; i++)
    if (s->off->links[s->links[i]].law != NET_HOLD || s->reversed[i])
      return comb_refuse(s, "a supply that holds nothing");
  c->supply = COMB_HOLDS;
  c->hold_Pa = feed->hold_Pa + over_Pa(s, feed->over, &fixed);
  if (!fixed || feed->held != c->room)
    return comb_refuse(s, "a supply that holds another place's pressure");
  c->least_kg_s = feed->least_kg_s;
  c->most_kg_s = feed->most_kg_s;
  if (row->count == 2 && !take_unit(s, &s->off->links[s->links[row->first]], &from_Pa))
    return false;
  add_members(&sum, feed, false);
  if (!sum.square)
    return comb_refuse(s, "a terminal whose law is not square");
  if (c->least_kg_s > c->most_kg_s)
    return comb_refuse(s, "a terminal that gives more than its unit");
  c->path_from_Pa = sum.members > 0 ? from_Pa + feed->lift_Pa : (double)INFINITY;
  c->path = (struct comb_law){.root = {1}, .knee_Pa = {-INFINITY, -INFINITY}, .cap = INFINITY};
  if (sum.members == 0)
    return true;
  c->path.root[0] = 1 / sqrt(sum.k[0]);
  c->path.knee_Pa[0] = KNEE_PA * sum.k[0] / sum.least_k[0];
  return keep_members(s, s->off, &(struct comb_row){.first = last, .count = 1}, &c->path.first,
                      &c->path.count);
}
