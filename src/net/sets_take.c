/* From two problems to what the lanes read; and what they cannot do is refused. */
#include "net/sets_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct taking {
  struct net_sets *s;
  const struct net_problem *none, *all;
  struct err *err;
};

static bool refuse(const struct taking *t, const char *why)
{
  err_set(t->err, ERR_INPUT, "not in lanes: %s", why);
  return false;
}

/* ---- are the two problems one but for the switches? ---- */

static bool same_members(const struct net_link *a, const struct net_link *b)
{
  if (a->member_count != b->member_count)
    return false;
  for (int i = 0; i < a->member_count; i++) {
    const struct net_member *m = &a->members[i], *n = &b->members[i];

    if (m->kind != n->kind)
      return false;
    if (m->kind == NET_POWER
            ? m->k[0] != n->k[0] || m->k[1] != n->k[1] || m->m != n->m
            : m->length_m != n->length_m || m->diameter_m != n->diameter_m ||
                  m->area_m2 != n->area_m2 || m->roughness_m != n->roughness_m ||
                  m->loss_ratio != n->loss_ratio || m->density_kg_m3[0] != n->density_kg_m3[0] ||
                  m->density_kg_m3[1] != n->density_kg_m3[1] ||
                  m->viscosity_Pa_s != n->viscosity_Pa_s)
      return false;
  }
  return true;
}

static bool same_link(const struct net_link *a, const struct net_link *b)
{
  return a->law == b->law && a->lift_Pa == b->lift_Pa && a->fan == b->fan &&
         a->set_kg_s == b->set_kg_s && a->hold_Pa == b->hold_Pa && a->held == b->held &&
         a->over == b->over && a->least_kg_s == b->least_kg_s && a->most_kg_s == b->most_kg_s &&
         same_members(a, b);
}

static bool same_nodes(const struct taking *t)
{
  for (int n = 0; n < t->none->node_count; n++) {
    const struct net_node *a = &t->none->nodes[n], *b = &t->all->nodes[n];

    if (a->fixed != b->fixed || (a->fixed && a->pressure_Pa != b->pressure_Pa) ||
        a->inflow_kg_s != b->inflow_kg_s)
      return false;
  }
  return true;
}

static bool same_otherwise(const struct taking *t, int count, const int *links)
{
  if (t->none->node_count != t->all->node_count || t->none->link_count != t->all->link_count ||
      !same_nodes(t))
    return refuse(t, "the problems differ in their nodes");
  for (int l = 0; l < t->none->link_count; l++) {
    bool switched = false;

    for (int i = 0; i < count; i++)
      switched = switched || links[i] == l;
    if (!switched && !same_link(&t->none->links[l], &t->all->links[l]))
      return refuse(t, "the problems differ in a link without a switch");
  }
  return true;
}

static bool same_folding(const struct net *a, const struct net *b)
{
  if (a->edge_count != b->edge_count || a->quad_count != b->quad_count ||
      a->power_count != b->power_count || a->slots != b->slots || a->unknowns != b->unknowns ||
      a->control_count != b->control_count ||
      memcmp(a->slot, b->slot, (size_t)a->problem.node_count * sizeof *a->slot) != 0)
    return false;
  for (int e = 0; e < a->edge_count; e++)
    if (a->a[e] != b->a[e] || a->b[e] != b->b[e] || a->lift[e] != b->lift[e] ||
        a->item_first[e + 1] != b->item_first[e + 1])
      return false;
  for (int i = 0; i < a->item_first[a->edge_count]; i++)
    if (a->items[i].link != b->items[i].link || a->items[i].reversed != b->items[i].reversed)
      return false;
  return true;
}

/* ---- edges ---- */

static int entry_of(const struct net *net, int row, int column)
{
  int entry;

  if (row < 0 || column < 0 || row >= net->unknowns || column >= net->unknowns)
    return -1;
  entry = numeric_sparse_entry(net->sparse, row, column);
  BUG_IF(entry == numeric_sparse_nowhere(net->sparse));
  return entry;
}

static struct sets_term *add_term(struct sets_edge *edge, enum sets_term_kind kind, bool reversed)
{
  if (edge->term_count >= SETS_TERMS_MAX) { /* one is written over; too many are refused */
    edge->term_count = SETS_TERMS_MAX + 1;
    edge->terms[0] = (struct sets_term){.kind = kind, .reversed = reversed};
    return &edge->terms[0];
  }
  edge->terms[edge->term_count] = (struct sets_term){.kind = kind, .reversed = reversed};
  return &edge->terms[edge->term_count++];
}

static void take_resist(struct net_sets *s, struct sets_edge *edge, const struct resist *r,
                        bool reversed)
{
  const struct net_member *d = r->darcy;
  struct sets_term *term;

  if (!d && (r->m == 2 || (r->k[0] == 0 && r->k[1] == 0)))
    return;
  term = add_term(edge, d ? SETS_DARCY : SETS_POWER, reversed);
  term->m = r->m;
  for (int way = 0; way < 2; way++) {
    int own = reversed ? !way : way;

    if (d)
      term->per[way] = 1 / (2 * d->density_kg_m3[own] * d->area_m2 * d->area_m2);
    else
      term->k[way] = r->k[own];
  }
  if (!d)
    return;
  term->re_per_kg_s = d->diameter_m / (d->area_m2 * d->viscosity_Pa_s);
  term->rough = d->roughness_m / d->diameter_m / 3.7;
  term->shape = d->length_m / d->diameter_m;
  term->loss_ratio = d->loss_ratio;
  term->root = s->root_count++;
}

static void take_terms(struct net_sets *s, const struct net *net, int e, struct sets_edge *edge)
{
  for (int i = net->item_first[e]; i < net->item_first[e + 1]; i++) {
    const struct item *item = &net->items[i];

    for (int r = net->resist_first[item->link]; r < net->resist_first[item->link + 1]; r++)
      take_resist(s, edge, &net->resists[r], item->reversed);
    if (net->problem.links[item->link].law != NET_FAN || !(net->curves[item->link].inverse > 0))
      continue;
    add_term(edge, SETS_FAN, item->reversed)->curve = &net->curves[item->link];
    edge->least = fmax(edge->least, net->curves[item->link].least_slope);
  }
}

/* Below this flow some part of the edge runs through its knee. */
static double knee_of(const struct net *net, int e)
{
  double knee = 0;

  for (int i = net->item_first[e]; i < net->item_first[e + 1]; i++) {
    int link = net->items[i].link;

    for (int r = net->resist_first[link]; r < net->resist_first[link + 1]; r++)
      for (int way = 0; way < 2; way++)
        if (!net->resists[r].darcy && net->resists[r].k[way] > 0)
          knee = fmax(knee, net->resists[r].knee[way]);
  }
  return knee;
}

static void put_lane(const struct net *net, int e, const struct sets_edge *edge, int lane,
                     struct sets_lanes *out)
{
  bool power = e >= net->quad_count && e < net->quad_count + net->power_count &&
               net->m[e] != 2; /* its term has it */
  double cap = net->cap[e];

  out->k[0][lane] = power ? 0 : net->k0[e];
  out->k[1][lane] = power ? 0 : net->k1[e];
  out->knee_kg_s[lane] = knee_of(net, e);
  out->cap[lane] = isfinite(cap) ? cap : edge->way * (double)INFINITY;
  out->cap_drop[lane] =
      net->exact[e] || !isfinite(cap) ? -edge->way * (double)INFINITY : net->cap_drop[e];
}

void sets_fill_edge(const struct net_sets *s, int e, const unsigned char *mixed)
{
  const struct sets_edge *edge = &s->edges[e];

  for (int lane = 0; lane < SETS_BLOCK; lane++) {
    put_lane(s->net[0], e, edge, lane, &edge->lanes[SETS_OFF]);
    put_lane(s->net[1], e, edge, lane, &edge->lanes[SETS_ON]);
    put_lane(s->net[mixed && mixed[lane]], e, edge, lane, &edge->lanes[SETS_MIXED]);
  }
}

static bool same_terms(const struct sets_edge *a, const struct sets_edge *b)
{
  if (a->term_count != b->term_count)
    return false;
  for (int i = 0; i < a->term_count; i++) {
    const struct sets_term *t = &a->terms[i], *o = &b->terms[i];

    if (t->kind != o->kind || t->m != o->m || t->k[0] != o->k[0] || t->k[1] != o->k[1] ||
        t->re_per_kg_s != o->re_per_kg_s || t->rough != o->rough || t->shape != o->shape ||
        t->loss_ratio != o->loss_ratio || t->per[0] != o->per[0] || t->per[1] != o->per[1])
      return false;
  }
  return true;
}

/* What never leaves its limit in one state has its law from the other. */
static bool take_laws(const struct taking *t, int e, struct sets_edge *edge)
{
  struct net_sets *s = t->s;
  const struct net *none = s->net[0], *all = s->net[1];
  struct sets_edge other = {.least = LEAST_SLOPE};

  edge->least = LEAST_SLOPE;
  take_terms(s, none->exact[e] && edge->on >= 0 ? all : none, e, edge);
  if (edge->term_count > SETS_TERMS_MAX)
    return refuse(t, "a row of too many laws");
  if (edge->on >= 0 && !none->exact[e] && !all->exact[e]) {
    int roots = s->root_count;

    take_terms(s, all, e, &other);
    s->root_count = roots;
    if (!same_terms(edge, &other))
      return refuse(t, "a switch that changes more than a square law or a set flow");
  }
  return true;
}

static bool take_edge(const struct taking *t, int e)
{
  struct net_sets *s = t->s;
  const struct net *net = s->net[0];
  struct sets_edge *edge = &s->edges[e];
  double caps[2] = {net->cap[e], s->net[1]->cap[e]};

  edge->a = net->a[e];
  edge->b = net->b[e];
  edge->lift = net->lift[e];
  edge->entry[0] = entry_of(net, edge->a, edge->a);
  edge->entry[1] = entry_of(net, edge->a, edge->b);
  edge->entry[2] = entry_of(net, edge->b, edge->b);
  edge->entry[3] = net->symmetric ? -1 : entry_of(net, edge->b, edge->a);
  edge->capped = isfinite(caps[0]) || isfinite(caps[1]);
  edge->way = (isfinite(caps[0]) && caps[0] < 0) || (isfinite(caps[1]) && caps[1] < 0) ? -1 : 1;
  edge->lanes = sets_push(&s->arena, 3 * sizeof *edge->lanes);
  if (isfinite(caps[0]) && isfinite(caps[1]) && caps[0] * caps[1] < 0)
    return refuse(t, "a switch that turns a set flow round");
  if (edge->capped)
    s->capped[s->capped_count++] = e;
  return take_laws(t, e, edge);
}

/* ---- controls ---- */

static void add_move(struct sets_control *c, const struct net *net, int column)
{
  int from = entry_of(net, c->swap, column);

  if (from < 0)
    return;
  for (int i = 0; i < c->move_count; i++)
    if (c->moves[i].from == from)
      return;
  c->moves[c->move_count++] = (struct sets_move){from, entry_of(net, c->slot, column)};
}

static void take_moves(struct net_sets *s, const struct net *net, struct sets_control *c)
{
  c->moves =
      ARENA_ARRAY(&s->arena, struct sets_move, (size_t)(net->edge_count + net->control_count) + 1);
  add_move(c, net, c->swap);
  for (int e = 0; e < net->edge_count; e++)
    if (net->a[e] == c->swap || net->b[e] == c->swap)
      add_move(c, net, net->a[e] == c->swap ? net->b[e] : net->a[e]);
  for (int k = 0; k < net->control_count; k++)
    if (net->controls[k].from == c->swap || net->controls[k].to == c->swap)
      add_move(c, net, net->controls[k].slot);
}

static void take_path(const struct net *net, int link, struct sets_control *c)
{
  c->knee_kg_s = 0;
  for (int i = net->resist_first[link]; i < net->resist_first[link + 1]; i++) {
    const struct resist *r = &net->resists[i];

    c->odd_path = c->odd_path || r->darcy || r->m != 2;
    c->has_path = c->has_path || r->darcy || r->k[0] > 0;
    c->k += r->darcy ? 0 : r->k[0];
    if (!r->darcy && r->k[0] > 0)
      c->knee_kg_s = fmax(c->knee_kg_s, r->knee[0]);
  }
}

static bool take_control(const struct taking *t, int k)
{
  struct net_sets *s = t->s;
  const struct net *net = s->net[0];
  const struct control *from = &net->controls[k];
  struct sets_control *c = &s->controls[k];

  if (from->law == NET_FOLLOW)
    return refuse(t, "a flow that follows others");
  if (from->clash || from->frozen)
    return refuse(t, "holds that contradict each other");
  *c = (struct sets_control){.slot = from->slot,
                             .from = from->from,
                             .to = from->to,
                             .held = from->held,
                             .over = from->over,
                             .swap = from->swap,
                             .is_fan = from->law == NET_FAN,
                             .hold_Pa = from->hold_Pa,
                             .least = from->least,
                             .most = from->most,
                             .lift = from->lift};
  c->own = entry_of(net, c->slot, c->slot);
  c->own_from = entry_of(net, c->slot, c->from);
  c->own_to = entry_of(net, c->slot, c->to);
  c->own_held = c->swap >= 0 ? -1 : entry_of(net, c->slot, c->held);
  c->own_over = c->swap >= 0 ? -1 : entry_of(net, c->slot, c->over);
  c->swap_held = c->swap >= 0 ? entry_of(net, c->swap, c->held) : -1;
  c->swap_over = c->swap >= 0 ? entry_of(net, c->swap, c->over) : -1;
  c->from_entry = entry_of(net, c->from, c->slot);
  c->to_entry = entry_of(net, c->to, c->slot);
  if (c->swap >= 0)
    take_moves(s, net, c);
  if (!c->is_fan) {
    take_path(net, from->link, c);
    return true;
  }
  const struct net_fan *fan = net->problem.links[from->link].fan;

  c->slowest = c->fastest = net->curves[from->link];
  curve_speed(&c->slowest, fan, c->least);
  curve_speed(&c->fastest, fan, c->most);
  return true;
}

/* ---- all of it ---- */

static bool take_start(const struct taking *t)
{
  struct net_sets *s = t->s;
  struct net *net = s->net[0];
  struct net_report report;

  if (net->any_humped || s->net[1]->any_humped)
    return refuse(t, "a fan's curve with a hump");
  if (net_solve(net, &report) != NET_SOLVED)
    return refuse(t, "nothing switched has no one answer");
  for (int n = 0; n < net->problem.node_count; n++)
    if (!net->known[n])
      return refuse(t, "a pressure that nothing determines");
  s->start = ARENA_ARRAY(&s->arena, double, (size_t)(s->slots + s->edge_count) + 1);
  s->start_seg =
      ARENA_ARRAY(&s->arena, unsigned char, (size_t)(s->edge_count + s->control_count) + 1);
  memcpy(s->start, net->x, (size_t)s->slots * sizeof *s->start);
  memcpy(s->start + s->slots, net->flow, (size_t)s->edge_count * sizeof *s->start);
  memcpy(s->start_seg, net->seg, (size_t)s->edge_count);
  for (int k = 0; k < s->control_count; k++)
    s->start_seg[s->edge_count + k] = (unsigned char)net->controls[k].seg;
  return true;
}

static bool take_switches(const struct taking *t, int count, const int *links)
{
  struct net_sets *s = t->s;

  if (count > NET_SETS_SWITCHES_MAX)
    return refuse(t, "too many switches");
  s->switch_count = count;
  s->switch_edge = ARENA_ARRAY(&s->arena, int, (size_t)count + 1);
  for (int e = 0; e < s->edge_count; e++)
    s->edges[e].on = -1;
  for (int i = 0; i < count; i++) {
    int e = s->net[0]->link_edge[links[i]];

    if (e < 0 || s->edges[e].on >= 0)
      return refuse(t, e < 0 ? "a switch at a control" : "two switches in one row of links");
    s->switch_edge[i] = e;
    s->edges[e].on = i;
  }
  return true;
}

static bool take_all(const struct taking *t, int count, const int *links)
{
  struct net_sets *s = t->s;
  const struct net *net = s->net[0];

  s->unknowns = net->unknowns;
  s->slots = net->slots;
  s->edge_count = net->edge_count;
  s->control_count = net->control_count;
  s->plan = numeric_sparse_plan(net->sparse);
  s->edges = ARENA_ARRAY(&s->arena, struct sets_edge, (size_t)s->edge_count + 1);
  s->capped = ARENA_ARRAY(&s->arena, int, (size_t)s->edge_count + 1);
  s->controls = ARENA_ARRAY(&s->arena, struct sets_control, (size_t)s->control_count + 1);
  if (!take_switches(t, count, links))
    return false;
  for (int e = 0; e < s->edge_count; e++)
    if (!take_edge(t, e))
      return false;
  if (!take_start(t)) /* before the controls: it finds out which way they act */
    return false;
  for (int k = 0; k < s->control_count; k++)
    if (!take_control(t, k))
      return false;
  return true;
}

struct net_sets *net_sets_new(const struct net_problem *none, const struct net_problem *all,
                              int count, const int *links, struct err *err)
{
  struct net_sets *s = calloc(1, sizeof *s);
  struct taking t = {s, none, all, err};
  bool ok;

  BUG_IF(!s);
  arena_init(&s->arena, SIZE_MAX);
  ok = same_otherwise(&t, count, links);
  s->net[0] = ok ? net_new(none, err) : NULL;
  s->net[1] = s->net[0] ? net_new(all, err) : NULL;
  ok = ok && s->net[1];
  if (ok && !same_folding(s->net[0], s->net[1]))
    ok = refuse(&t, "the problems fold differently");
  if (ok && take_all(&t, count, links))
    return s;
  net_sets_free(s);
  return NULL;
}

void net_sets_free(struct net_sets *s)
{
  if (!s)
    return;
  net_free(s->net[0]);
  net_free(s->net[1]);
  arena_release(&s->arena);
  free(s);
}

bool net_sets_has_node(const struct net_sets *s, int node)
{
  return s->net[0]->slot[node] >= 0;
}
