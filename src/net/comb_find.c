/* Is this network a comb?  Its rows of links without a branch, and what each of them is. */
#include "net/comb_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NODES_MAX = 512, LINKS_MAX = 1024 }; /* larger ones are no combs that we know */

struct row { /* links between two nodes that are more than a passage */
  int a, b, first, count;
  bool taken;
};

struct search {
  const struct net_problem *off, *on;
  struct net_comb *c;
  struct err *err;
  int degree[NODES_MAX];
  bool begins_header[NODES_MAX];
  bool used[LINKS_MAX];
  int links[LINKS_MAX], link_count; /* in the order of the rows */
  bool reversed[LINKS_MAX];
  struct row rows[LINKS_MAX];
  int row_count;
  int bit[LINKS_MAX]; /* of a link: -1 none */
  int end, path_count, path[COMB_TEETH_MAX];
  int path_row[COMB_TEETH_MAX]; /* from path[i] to path[i - 1] */
};

static bool refuse(struct search *s, const char *why)
{
  err_set(s->err, ERR_INPUT, "no comb: %s", why);
  return false;
}

/* ---- rows ---- */

static bool is_active(const struct search *s, int l)
{
  return s->off->links[l].law != NET_SHUT || s->on->links[l].law != NET_SHUT;
}

static bool is_key(const struct search *s, int node)
{
  const struct net_node *n = &s->off->nodes[node];

  return n->fixed || n->inflow_kg_s != 0 || s->degree[node] != 2 || s->begins_header[node];
}

static bool is_square(const struct net_link *link)
{
  for (int i = 0; i < link->member_count; i++)
    if (link->members[i].kind != NET_POWER || link->members[i].m != 2)
      return false;
  return true;
}

/* A lone station at the far end and the duct after it are one row: fine while their laws are square, else
 * the header begins between them. */
static void find_far_ends(struct search *s)
{
  for (int l = 0; l < s->off->link_count; l++)
    for (int k = 0; s->bit[l] >= 0 && k < s->off->link_count; k++) {
      const struct net_link *duct = &s->off->links[k];
      int end = s->off->links[l].to;

      if (s->bit[k] < 0 && duct->law == NET_RESIST && !is_square(duct) &&
          (duct->from == end || duct->to == end))
        s->begins_header[end] = true;
    }
}

static int other_end(const struct search *s, int link, int node)
{
  const struct net_link *l = &s->off->links[link];

  return l->from == node ? l->to : l->from;
}

static int next_link(const struct search *s, int node)
{
  for (int l = 0; l < s->off->link_count; l++)
    if (!s->used[l] && is_active(s, l) &&
        (s->off->links[l].from == node || s->off->links[l].to == node))
      return l;
  return -1;
}

static void follow_row(struct search *s, int node, int link)
{
  struct row *row = &s->rows[s->row_count++];

  *row = (struct row){.a = node, .first = s->link_count};
  while (link >= 0) {
    s->used[link] = true;
    s->reversed[s->link_count] = s->off->links[link].from != node;
    s->links[s->link_count++] = link;
    row->count++;
    node = other_end(s, link, node);
    link = is_key(s, node) ? -1 : next_link(s, node);
  }
  row->b = node;
}

static bool find_rows(struct search *s)
{
  for (int l = 0; l < s->off->link_count; l++)
    if (is_active(s, l)) {
      s->degree[s->off->links[l].from]++;
      s->degree[s->off->links[l].to]++;
    } else {
      s->c->link_tooth[l] = COMB_DECREE; /* nothing, whatever is open */
    }
  find_far_ends(s);
  for (int n = 0; n < s->off->node_count; n++)
    for (int l; s->degree[n] > 0 && is_key(s, n) && (l = next_link(s, n)) >= 0;)
      follow_row(s, n, l);
  for (int l = 0; l < s->off->link_count; l++)
    if (is_active(s, l) && !s->used[l])
      return refuse(s, "a ring that nothing joins");
  return true;
}

/* Turns a row so that it starts at that node. */
static void turn(struct search *s, struct row *row, int from)
{
  if (row->a == from)
    return;
  for (int i = row->first, j = row->first + row->count - 1; i <= j; i++, j--) {
    int link = s->links[i];
    bool reversed = s->reversed[i];

    s->links[i] = s->links[j];
    s->reversed[i] = !s->reversed[j];
    s->links[j] = link;
    s->reversed[j] = !reversed;
  }
  row->b = row->a;
  row->a = from;
}

static bool joins(const struct row *row, int a, int b)
{
  return (row->a == a && row->b == b) || (row->a == b && row->b == a);
}

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

static struct sum sum_of(const struct search *s, const struct net_problem *problem,
                         const struct row *row)
{
  struct sum sum = {.least_k = {INFINITY, INFINITY}, .square = true};

  for (int i = row->first; i < row->first + row->count; i++) {
    const struct net_link *link = &problem->links[s->links[i]];

    sum.lift_Pa += s->reversed[i] ? -link->lift_Pa : link->lift_Pa;
    if (link->law == NET_RESIST || link->law == NET_SET_FLOW)
      add_members(&sum, link, s->reversed[i]);
  }
  return sum;
}

static struct resist resist_of(const struct net_member *m)
{
  struct resist r = {.darcy = m->kind == NET_DARCY ? m : NULL, .k = {m->k[0], m->k[1]}, .m = m->m};

  for (int way = 0; way < 2; way++)
    r.knee[way] = m->k[way] > 0 ? pow(KNEE_PA / m->k[way], 1 / m->m) : 0;
  return r;
}

static double member_drop_Pa(const struct net_member *m, double flow_kg_s)
{
  struct resist r = resist_of(m);
  double drop_Pa, slope;

  law_resist(&r, flow_kg_s, &drop_Pa, &slope);
  return drop_Pa;
}

/* ---- teeth ---- */

static double needs_Pa(const struct search *s, const struct net_problem *problem,
                       const struct row *row, double flow_kg_s)
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

static bool take_law(struct search *s, const struct net_problem *problem, const struct row *row,
                     struct comb_law *law, double *n)
{
  struct sum sum = sum_of(s, problem, row);
  double needs;

  *law = (struct comb_law){.cap = INFINITY, .back_knee_Pa = -INFINITY, .knee_Pa = -INFINITY};
  for (int i = row->first; i < row->first + row->count; i++) {
    const struct net_link *link = &problem->links[s->links[i]];

    if (link->law == NET_SHUT || (link->law == NET_SET_FLOW && link->set_kg_s == 0)) {
      law->cap = 0;
      return true;
    }
    if (link->law != NET_RESIST && (link->law != NET_SET_FLOW || s->reversed[i]))
      return refuse(s, "a tooth that is neither a resistance nor a valve towards the header");
    if (link->law == NET_SET_FLOW)
      law->cap = fmin(law->cap, link->set_kg_s);
  }
  if (sum.members == 0 || law->cap < 0)
    return refuse(s, "a tooth that decrees its flow");
  needs = isfinite(law->cap) ? needs_Pa(s, problem, row, law->cap) : (double)INFINITY;
  law->root = is_one_law(&sum) ? pow(sum.k[0], -1 / sum.m) : (double)INFINITY;
  law->knee_Pa = is_one_law(&sum) ? fmin(needs, KNEE_PA * sum.k[0] / sum.least_k[0]) : needs;
  *n = is_one_law(&sum) ? 1 / sum.m : *n;
  if (isfinite(law->cap))
    return true;
  if (!is_one_law(&sum))
    return refuse(s, "a tooth without a valve whose laws are not all square");
  law->back = pow(sum.k[1], -1 / sum.m);
  law->back_knee_Pa = KNEE_PA * sum.k[1] / sum.least_k[1];
  return true;
}

static bool take_tooth(struct search *s, struct row *row, int node)
{
  struct net_comb *c = s->c;
  struct comb_tooth *tooth = &c->teeth[c->tooth_count];

  if (c->tooth_count == COMB_TEETH_MAX)
    return refuse(s, "too many teeth");
  turn(s, row, c->room);
  *tooth = (struct comb_tooth){.node = node, .bit = -1};
  for (int i = row->first; i < row->first + row->count; i++) {
    int bit = s->bit[s->links[i]];

    if (bit >= 0 && tooth->bit >= 0 && bit != tooth->bit)
      return refuse(s, "two stations on one tooth");
    tooth->bit = bit >= 0 ? bit : tooth->bit;
    c->link_tooth[s->links[i]] = c->tooth_count;
  }
  tooth->lift_Pa = sum_of(s, s->off, row).lift_Pa;
  c->tooth_count++;
  double off_n = 0.5, on_n = 0.5;

  if (!take_law(s, s->off, row, &tooth->law[0], &off_n) ||
      !take_law(s, s->on, row, &tooth->law[1], &on_n))
    return false;
  bool off_flows = tooth->law[0].root > 0, on_flows = tooth->law[1].root > 0;

  tooth->n = on_flows ? on_n : off_n;
  return (off_flows && on_flows && off_n != on_n) ? refuse(s, "a tooth that changes its exponent")
                                                  : true;
}

/* ---- the header ---- */

static bool take_law_of_header(struct search *s, const struct net_member *m, bool reversed,
                               struct comb_run *run)
{
  struct net_comb *c = s->c;
  struct net_member *own = &c->darcy[c->law_count];

  if (c->law_count == COMB_LAWS_MAX)
    return refuse(s, "too long a header");
  *own = *m;
  for (int way = 0; reversed && way < 2; way++) {
    own->k[way] = m->k[!way];
    own->density_kg_m3[way] = m->density_kg_m3[!way];
  }
  c->laws[c->law_count++] = resist_of(own);
  run->law_count++;
  return true;
}

static bool take_laws_of_header(struct search *s, const struct row *row, struct comb_run *run)
{
  run->first_law = s->c->law_count;
  for (int i = row->first; i < row->first + row->count; i++) {
    const struct net_link *link = &s->off->links[s->links[i]];

    for (int j = 0; link->law == NET_RESIST && j < link->member_count; j++)
      if (!take_law_of_header(s, &link->members[j], s->reversed[i], run))
        return false;
  }
  return true;
}

static bool take_run(struct search *s, const struct row *row, struct comb_run *run)
{
  struct sum sum = sum_of(s, s->off, row);

  for (int i = row->first; i < row->first + row->count; i++) {
    enum net_law law = s->off->links[s->links[i]].law;

    if (law != NET_RESIST && law != NET_FAN)
      return refuse(s, "the header has more than resistances and a fan");
  }
  *run = (struct comb_run){.passes = true, .lift_Pa = sum.lift_Pa, .least_kg_s = -(double)INFINITY};
  if (!sum.square)
    return take_laws_of_header(s, row, run);
  run->k = sum.k[0];
  if (sum.members == 0)
    return true;
  if (sum.members == 1 && sum.k[0] == sum.k[1])
    run->knee_kg_s = sqrt(KNEE_PA / sum.k[0]);
  else
    run->least_kg_s = sqrt(KNEE_PA / sum.least_k[0]);
  return true;
}

static bool is_on_path(const struct search *s, int node)
{
  for (int i = 0; i < s->path_count; i++)
    if (s->path[i] == node)
      return true;
  return false;
}

/* From the fan to the far end: header nodes, each with teeth to the room and one more before it. */
static bool walk_header(struct search *s, int room)
{
  s->path_count = 0;
  for (int node = s->end, row = -1; node >= 0;) {
    int next = -1, next_row = -1;

    if (s->path_count == COMB_TEETH_MAX)
      return false;
    s->path[s->path_count] = node;
    s->path_row[s->path_count++] = row;
    for (int r = 0; r < s->row_count; r++) {
      int far = s->rows[r].a == node ? s->rows[r].b : s->rows[r].a;

      if ((s->rows[r].a != node && s->rows[r].b != node) || s->rows[r].taken || r == row ||
          far == room)
        continue;
      if (next >= 0 || s->off->nodes[far].fixed || is_on_path(s, far))
        return false;
      next = far;
      next_row = r;
    }
    node = next;
    row = next_row;
  }
  return true;
}

static bool take_header(struct search *s)
{
  struct net_comb *c = s->c;

  c->far = s->path[s->path_count - 1];
  c->end = s->end;
  for (int i = s->path_count - 1; i >= 0; i--) {
    int node = s->path[i], before = c->tooth_count;

    for (int r = 0; r < s->row_count; r++)
      if (!s->rows[r].taken && joins(&s->rows[r], c->room, node)) {
        s->rows[r].taken = true;
        if (!take_tooth(s, &s->rows[r], node))
          return false;
      }
    if (c->tooth_count == before)
      return refuse(s, "a header node without a tooth");
    if (i == 0)
      break;
    struct row *row = &s->rows[s->path_row[i]];
    struct comb_run *run = &c->teeth[c->tooth_count - 1].after;

    row->taken = true;
    turn(s, row, node);
    if (!take_run(s, row, run))
      return false;
    run->inflow_kg_s = s->off->nodes[node].inflow_kg_s;
  }
  c->end_inflow_kg_s = s->off->nodes[s->end].inflow_kg_s;
  return true;
}

static double over_Pa(const struct search *s, int over, bool *fixed)
{
  *fixed = over < 0 || s->off->nodes[over].fixed;
  return over < 0 ? 0 : s->off->nodes[over].pressure_Pa;
}

static bool take_curves(struct search *s, const struct net_fan *fan)
{
  struct net_comb *c = s->c;
  bool fixed;

  curve_init(&c->most, fan, &c->arena);
  curve_init(&c->least, fan, &c->arena);
  if (c->most.humped)
    return refuse(s, "the fan's curve has a hump");
  curve_speed(&c->most, fan, fan->holds ? fan->most_speed_ratio : fan->speed_ratio);
  if (!(c->most.inverse > 0))
    return refuse(s, "the fan stands still");
  c->fan_holds = fan->holds;
  if (!fan->holds)
    return true;
  c->fan_hold_Pa = fan->hold_Pa + over_Pa(s, fan->over, &fixed);
  if (!fixed || fan->held != s->end)
    return refuse(s, "the fan holds a pressure elsewhere than at the header's end");
  c->has_least = fan->least_speed_ratio > 0;
  curve_speed(&c->least, fan, fan->least_speed_ratio);
  return true;
}

/* The one row with a fan in it, from the header to a given pressure. */
static bool take_end(struct search *s)
{
  const struct net_fan *fan = NULL;
  struct row *end = NULL;
  bool backwards = false;

  for (int r = 0; r < s->row_count; r++)
    for (int i = s->rows[r].first; i < s->rows[r].first + s->rows[r].count; i++)
      if (s->off->links[s->links[i]].law == NET_FAN) {
        if (fan)
          return refuse(s, "more than one fan");
        fan = s->off->links[s->links[i]].fan;
        end = &s->rows[r];
      }
  if (!fan || s->off->nodes[end->a].fixed == s->off->nodes[end->b].fixed)
    return refuse(s, "no fan between a header and a given pressure");
  s->end = s->off->nodes[end->a].fixed ? end->b : end->a;
  turn(s, end, s->end);
  for (int i = end->first; i < end->first + end->count; i++)
    backwards = backwards || (s->reversed[i] && s->off->links[s->links[i]].law == NET_FAN);
  if (backwards)
    return refuse(s, "the fan blows into the header");
  end->taken = true;
  s->c->out_Pa = s->off->nodes[end->b].pressure_Pa;
  return take_run(s, end, &s->c->tail) && take_curves(s, fan);
}

/* ---- what else leads to the room ---- */

static bool take_leak(struct search *s, const struct row *row, struct sum sum)
{
  struct net_comb *c = s->c;
  struct comb_leak leak = {.out_Pa = s->off->nodes[row->b].pressure_Pa - sum.lift_Pa};

  if (!is_one_law(&sum))
    return refuse(s, "a leak in several parts");
  if (sum.members == 0)
    return refuse(s, "the room is one with another place");
  leak.n = 1 / sum.m;
  leak.forward = pow(sum.k[0], -leak.n);
  leak.backward = pow(sum.k[1], -leak.n);
  leak.knee_Pa = KNEE_PA * fmax(sum.k[0] / sum.least_k[0], sum.k[1] / sum.least_k[1]);
  for (int i = 0; i < c->leak_count; i++)
    if (c->leaks[i].out_Pa == leak.out_Pa && c->leaks[i].n == leak.n) {
      c->leaks[i].forward += leak.forward;
      c->leaks[i].backward += leak.backward;
      c->leaks[i].knee_Pa = fmax(c->leaks[i].knee_Pa, leak.knee_Pa);
      return true;
    }
  if (c->leak_count == COMB_LEAKS_MAX)
    return refuse(s, "too many leaks");
  c->leaks[c->leak_count++] = leak;
  return true;
}

static bool take_decree(struct search *s, const struct row *row)
{
  int l = s->links[row->first];
  double set = s->off->links[l].set_kg_s;

  s->c->inflow_kg_s += s->reversed[row->first] ? set : -set;
  s->c->link_tooth[l] = COMB_DECREE;
  s->c->link_decree_kg_s[l] = set;
  return true;
}

/* A unit before the terminal holds the pressure between them. */
static bool take_unit(struct search *s, const struct net_link *unit, double *from_Pa)
{
  bool fixed;

  *from_Pa = unit->hold_Pa + over_Pa(s, unit->over, &fixed);
  if (!fixed || unit->held != unit->to || unit->least_kg_s != 0 || unit->member_count != 0)
    return refuse(s, "a supply unit that does more than hold its plenum");
  s->c->most_kg_s = fmin(s->c->most_kg_s, unit->most_kg_s);
  return true;
}

/* Turned so that it starts at the given pressure. */
static bool take_supply(struct search *s, const struct row *row)
{
  struct net_comb *c = s->c;
  int last = row->first + row->count - 1;
  const struct net_link *feed = &s->off->links[s->links[last]];
  double from_Pa = s->off->nodes[row->a].pressure_Pa;
  struct sum sum = {.least_k = {INFINITY, INFINITY}, .square = true};
  bool fixed;

  if (c->supply == COMB_HOLDS || row->count > 2)
    return refuse(s, "more than one supply");
  for (int i = row->first; i <= last; i++)
    if (s->off->links[s->links[i]].law != NET_HOLD || s->reversed[i])
      return refuse(s, "a supply that holds nothing");
  c->supply = COMB_HOLDS;
  c->hold_Pa = feed->hold_Pa + over_Pa(s, feed->over, &fixed);
  if (!fixed || feed->held != c->room)
    return refuse(s, "a supply that holds another place's pressure");
  c->least_kg_s = feed->least_kg_s;
  c->most_kg_s = feed->most_kg_s;
  if (row->count == 2 && !take_unit(s, &s->off->links[s->links[row->first]], &from_Pa))
    return false;
  add_members(&sum, feed, false);
  if (!sum.square)
    return refuse(s, "a terminal whose law is not square");
  if (c->least_kg_s > c->most_kg_s)
    return refuse(s, "a terminal that gives more than its unit");
  c->path_root = sum.members > 0 ? 1 / sqrt(sum.k[0]) : 1;
  c->path_from_Pa = sum.members > 0 ? from_Pa + feed->lift_Pa : (double)INFINITY;
  c->path_knee_Pa = sum.members > 0 ? KNEE_PA * sum.k[0] / sum.least_k[0] : 0;
  return true;
}

static bool take_rest(struct search *s)
{
  for (int r = 0; r < s->row_count; r++) {
    struct row *row = &s->rows[r];
    int outer = row->a == s->c->room ? row->b : row->a;
    const struct net_link *first = &s->off->links[s->links[row->first]];
    bool resists = true;

    if (row->taken)
      continue;
    for (int i = row->first; i < row->first + row->count; i++)
      resists = resists && s->off->links[s->links[i]].law == NET_RESIST;
    if (resists && s->off->nodes[row->a].fixed && s->off->nodes[row->b].fixed)
      continue; /* between given pressures: nobody feels it */
    if ((row->a != s->c->room && row->b != s->c->room) || !s->off->nodes[outer].fixed)
      return refuse(s, "another room");
    row->taken = true;
    turn(s, row, s->c->room);
    if (resists ? !take_leak(s, row, sum_of(s, s->off, row))
        : row->count == 1 && first->law == NET_SET_FLOW && first->member_count == 0
            ? !take_decree(s, row)
            : (turn(s, row, outer), !take_supply(s, row)))
      return false;
  }
  s->c->inflow_kg_s += s->off->nodes[s->c->room].inflow_kg_s;
  return true;
}

/* ---- all of it ---- */

static bool same_members(const struct net_link *a, const struct net_link *b)
{
  return a->member_count == b->member_count &&
         (a->member_count == 0 ||
          memcmp(a->members, b->members, (size_t)a->member_count * sizeof *a->members) == 0);
}

static bool same_link(const struct net_link *a, const struct net_link *b)
{
  return a->from == b->from && a->to == b->to && a->law == b->law && a->lift_Pa == b->lift_Pa &&
         same_members(a, b) && a->set_kg_s == b->set_kg_s && a->hold_Pa == b->hold_Pa &&
         a->least_kg_s == b->least_kg_s && a->most_kg_s == b->most_kg_s;
}

static bool is_small_and_even(struct search *s)
{
  const struct net_problem *off = s->off, *on = s->on;

  if (off->node_count > NODES_MAX || off->link_count > LINKS_MAX)
    return refuse(s, "too large a network");
  if (off->node_count != on->node_count || off->link_count != on->link_count)
    return refuse(s, "two networks of unequal size");
  for (int n = 0; n < off->node_count; n++)
    if (off->nodes[n].fixed != on->nodes[n].fixed ||
        off->nodes[n].inflow_kg_s != on->nodes[n].inflow_kg_s ||
        (off->nodes[n].fixed && off->nodes[n].pressure_Pa != on->nodes[n].pressure_Pa))
      return refuse(s, "a place whose own values change");
  for (int l = 0; l < off->link_count; l++)
    if (off->links[l].from != on->links[l].from || off->links[l].to != on->links[l].to ||
        off->links[l].lift_Pa != on->links[l].lift_Pa)
      return refuse(s, "a link that changes its ends");
  return true;
}

/* Only teeth with a switch may change. */
static bool only_switches_change(struct search *s)
{
  const struct net_comb *c = s->c;
  int found = 0;

  for (int t = 0; t < c->tooth_count; t++)
    found += c->teeth[t].bit >= 0;
  if (found != c->switch_count)
    return refuse(s, "a station that is no tooth");
  for (int l = 0; l < s->off->link_count; l++) {
    int t = c->link_tooth[l];

    if (!same_link(&s->off->links[l], &s->on->links[l]) && !(t >= 0 && c->teeth[t].bit >= 0))
      return refuse(s, "something else than the stations changes");
  }
  return true;
}

static bool find(struct search *s)
{
  if (!is_small_and_even(s) || !find_rows(s) || !take_end(s))
    return false;
  s->c->room = -1;
  for (int n = 0; n < s->off->node_count && s->c->room < 0; n++)
    if (!s->off->nodes[n].fixed && s->degree[n] > 0 && is_key(s, n) && n != s->end &&
        walk_header(s, n) && !is_on_path(s, n))
      s->c->room = n;
  if (s->c->room < 0)
    return refuse(s, "no one room whose stations all join one header");
  return take_header(s) && take_rest(s) && only_switches_change(s);
}

static void *aligned(size_t count, size_t size)
{
  void *p = aligned_alloc(64, (count * size + 63) / 64 * 64);

  if (!p)
    err_no_memory();
  memset(p, 0, count * size);
  return p;
}

struct net_comb *net_comb_new(const struct net_problem *none_open,
                              const struct net_problem *all_open, int count, const int *links,
                              struct err *err)
{
  struct net_comb *c = aligned(1, sizeof *c);
  struct search *s = aligned(1, sizeof *s);
  size_t link_count = (size_t)none_open->link_count;
  bool ok;

  *s = (struct search){.off = none_open, .on = all_open, .c = c, .err = err};
  arena_init(&c->arena, (size_t)1 << 24);
  c->link_count = none_open->link_count;
  c->switch_count = count;
  c->link_tooth = ARENA_ARRAY(&c->arena, int, link_count + 1);
  c->link_decree_kg_s = ARENA_ARRAY(&c->arena, double, link_count + 1);
  BUG_IF(!c->link_tooth || !c->link_decree_kg_s || count > NET_COMB_SWITCHES_MAX);
  for (int l = 0; l < c->link_count; l++)
    c->link_tooth[l] = -1;
  memset(s->bit, -1, sizeof s->bit);
  for (int i = 0; i < count && links[i] < LINKS_MAX; i++)
    s->bit[links[i]] = i;
  ok = count >= COMB_LOW_BITS ? find(s) : refuse(s, "fewer than four stations");
  free(s);
  if (!ok) {
    net_comb_free(c);
    return NULL;
  }
  c->lanes = aligned((size_t)c->tooth_count, sizeof *c->lanes);
  c->block = aligned(1, sizeof *c->block);
  return c;
}

void net_comb_free(struct net_comb *comb)
{
  if (!comb)
    return;
  arena_release(&comb->arena);
  free(comb->lanes);
  free(comb->block);
  free(comb);
}
