/* What the lanes of sets_lanes.c do not know by heart: the scalar solver's own functions, a lane at a
 * time.  The nets serve as slates: nothing that is written on one outlives the call. */
#include "net/sets_impl.h"

#include <math.h>

enum { STEPS_FREE = 2 };

static struct net *net_of(const struct sets_block *b, int on, int lane)
{
  return b->of->net[on >= 0 && b->on[on][lane]];
}

void sets_law_of_lane(const struct sets_block *b, int e, int lane, double *drop, double *slope)
{
  law_edge(net_of(b, b->of->edges[e].on, lane), e, b->g[e * SETS_BLOCK + lane], drop, slope);
}

void sets_settle_edge(struct sets_block *b, int e)
{
  const struct sets_edge *edge = &b->of->edges[e];

  b->law_count[e] = b->none_count[e] = 0;
  for (int i = 0; i < SETS_BLOCK; i++) {
    struct net *net = net_of(b, edge->on, i);
    int at = e * SETS_BLOCK + i;
    double drop = b->x[edge->a * SETS_BLOCK + i] - b->x[edge->b * SETS_BLOCK + i] + edge->lift;

    net->seg[e] = b->seg[at];
    net->g[e] = b->g[at];
    if (isfinite(net->cap[e]) && edge_settle(net, e, drop) > 0)
      b->moved[i] = 1;
    b->seg[at] = net->seg[e];
    b->g[at] = net->g[e];
    b->at_limit[at] = net->seg[e] != SEG_LAW;
    b->flat[at] = net->seg[e] == SEG_CAP ? net->cap[e] : 0;
    b->law_count[e] += net->seg[e] == SEG_LAW;
    b->none_count[e] += net->seg[e] == SEG_NONE;
  }
}

/* The scalar control as it stands in a lane. */
static struct control *control_of(struct sets_block *b, int k, int lane)
{
  const struct net_sets *s = b->of;
  struct net *net = s->net[0];
  struct control *c = &net->controls[k];
  const int slots[] = {c->slot, c->from, c->to, c->held, c->over};

  for (size_t i = 0; i < sizeof slots / sizeof *slots; i++)
    if (slots[i] >= 0)
      net->x[slots[i]] = b->x[slots[i] * SETS_BLOCK + lane];
  c->seg = (enum control_seg)b->control_seg[k * SETS_BLOCK + lane];
  c->g = b->own_g[k * SETS_BLOCK + lane];
  return c;
}

static struct sets_want want_of(struct sets_block *b, int k, int lane)
{
  struct net *net = b->of->net[0];
  struct control *c = control_of(b, k, lane);
  struct sets_want want = {.lack_Pa = -1};
  double drop, slope;

  want.moves = control_wants(net, c, &want.seg);
  if (!want.moves || c->seg != CONTROL_HOLDS || want.seg != CONTROL_WIDE)
    return want;
  law_link(net, c->link, c->g, &drop, &slope);
  want.lack_Pa = fmax(drop - (net->x[c->from] - net->x[c->to] + c->lift), 0);
  return want;
}

/* Of terminals that one unit starves the worst off opens wide first: what is left for the others follows. */
static bool waits(const struct net_sets *s, const struct sets_want *wants, int k)
{
  for (int j = 0; j < s->control_count && wants[k].lack_Pa >= 0; j++)
    if (s->controls[j].from == s->controls[k].from && wants[j].lack_Pa > wants[k].lack_Pa)
      return true;
  return false;
}

/* After some steps nothing moves that the flows, still unsettled, may only seem to ask for. */
static bool is_quiet(const struct sets_block *b, int lane)
{
  const double quiet_kg_s = 5e-3;

  return b->step < STEPS_FREE || b->shift[lane] < quiet_kg_s;
}

static void settle_lane(struct sets_block *b, int lane, struct sets_want *wants)
{
  const struct net_sets *s = b->of;

  for (int k = 0; k < s->control_count; k++) {
    wants[k] = (struct sets_want){.lack_Pa = -1};
    if (b->look[k * SETS_BLOCK + lane])
      wants[k] = want_of(b, k, lane);
  }
  for (int k = 0; k < s->control_count; k++) {
    int at = k * SETS_BLOCK + lane;

    if (!wants[k].moves)
      continue;
    b->moved[lane] = 1;
    if (waits(s, wants, k) || !is_quiet(b, lane))
      continue;
    struct control *c = control_of(b, k, lane);

    control_move(s->net[0], c, wants[k].seg);
    b->control_seg[at] = (unsigned char)c->seg;
    b->own_g[at] = c->g;
    b->hold[at] = c->seg == CONTROL_HOLDS;
  }
}

void sets_settle_controls(struct sets_block *b)
{
  const struct net_sets *s = b->of;

  for (int lane = 0; lane < SETS_BLOCK; lane++)
    settle_lane(b, lane, b->wants);
  for (int k = 0; k < s->control_count; k++) {
    b->free_count[k] = 0;
    for (int lane = 0; lane < SETS_BLOCK; lane++)
      b->free_count[k] += b->control_seg[k * SETS_BLOCK + lane] != CONTROL_HOLDS;
  }
}

void sets_tangent_control(struct sets_block *b, int k)
{
  for (int i = 0; i < SETS_BLOCK; i++) {
    int at = k * SETS_BLOCK + i;

    b->own_c[at] = b->own_base[at] = 0;
    if (b->control_seg[at] == CONTROL_HOLDS)
      continue;
    struct control *c = control_of(b, k, i);

    control_tangent(b->of->net[0], c);
    b->own_c[at] = c->c;
    b->own_base[at] = control_on_law(c) ? c->base : control_limit(c);
  }
}

/* Does every pressure hang on a given one?  Asked again only where the segments are others. */
bool sets_lane_is_joined(struct sets_block *b, int lane)
{
  const struct net_sets *s = b->of;
  struct net *net = s->net[0];
  bool same = b->any_joined;

  for (int i = 0; i < s->capped_count && same; i++)
    same = b->joined[i] == b->seg[s->capped[i] * SETS_BLOCK + lane];
  for (int k = 0; k < s->control_count && same; k++)
    same = b->joined[s->capped_count + k] == b->control_seg[k * SETS_BLOCK + lane];
  if (same)
    return true;
  for (int i = 0; i < s->capped_count; i++)
    b->joined[i] = net->seg[s->capped[i]] = b->seg[s->capped[i] * SETS_BLOCK + lane];
  for (int k = 0; k < s->control_count; k++) {
    b->joined[s->capped_count + k] = b->control_seg[k * SETS_BLOCK + lane];
    net->controls[k].seg = (enum control_seg)b->control_seg[k * SETS_BLOCK + lane];
  }
  b->any_joined = diagnose_joined(net);
  return b->any_joined;
}
