/* All sets of switches: block after block, and what the lanes leave open is asked for. */
#include "net/sets_impl.h"

#include <math.h>
#include <string.h>

static const double slack_kg_s = 2e-8, slack_Pa = 1e-6; /* nearer to a bound, others decide */
static const double shift_goal_kg_s = 1e-11;

/* ---- paths ---- */

static sets_solve *const solvers[] = {
    [NET_PATH_PLAIN] = sets_solve_portable,
#if defined(__x86_64__)
    [NET_PATH_AVX2] = sets_solve_avx2,
    [NET_PATH_AVX512] = sets_solve_avx512,
#else
    [NET_PATH_AVX2] = NULL,
    [NET_PATH_AVX512] = NULL,
#endif
};

void *sets_push(struct arena *arena, size_t bytes)
{
  char *p = arena_push(arena, bytes + 64, 1);

  return p ? p + (64 - (uintptr_t)p % 64) % 64 : NULL;
}

/* ---- which kinds number the lanes, which the blocks ---- */

struct walk {
  const struct net_sets_job *job;
  struct net_sets_report *report;
  struct net_sets *s;
  uint32_t low; /* kinds that number the lanes */
  int lanes;    /* in use: the others repeat the first */
  unsigned long lane_state[SETS_BLOCK];
  int high[NET_SETS_SWITCHES_MAX], high_count;
  long stride[NET_SETS_SWITCHES_MAX]; /* of a block's number, per high kind */
  int digit[NET_SETS_SWITCHES_MAX];   /* per high kind, of the present block */
  long blocks;
  size_t numbers, segs; /* per block */
  double *answers;
  unsigned char *answer_segs;
};

/* The fullest lanes: kinds whose sizes multiply to 16 or little less. */
static void choose_lanes(struct walk *w)
{
  uint32_t reached[SETS_BLOCK + 1] = {0};
  bool can[SETS_BLOCK + 1] = {[1] = true};

  for (int k = 0; k < w->job->kind_count; k++) {
    int sizes = w->job->kinds[k].size + 1;

    for (int n = SETS_BLOCK / sizes; n >= 1; n--)
      if (can[n] && !can[n * sizes]) {
        can[n * sizes] = true;
        reached[n * sizes] = reached[n] | 1u << k;
      }
  }
  w->lanes = SETS_BLOCK;
  while (!can[w->lanes])
    w->lanes--;
  w->low = reached[w->lanes];
}

static void number_lanes(struct walk *w)
{
  const struct net_sets_job *job = w->job;
  struct sets_block *b = w->s->block;

  w->blocks = 1;
  for (int i = 0; i < NET_SETS_SWITCHES_MAX; i++)
    b->pattern[i] = SETS_OFF;
  memset(b->on, 0, sizeof b->on);
  for (int lane = 0; lane < SETS_BLOCK; lane++) {
    int rest = lane < w->lanes ? lane : 0;

    w->lane_state[lane] = 0;
    for (int k = 0; k < job->kind_count; k++) {
      const struct net_sets_kind *kind = &job->kinds[k];
      int digit = rest % (kind->size + 1);

      if (!(w->low >> k & 1u))
        continue;
      rest /= kind->size + 1;
      w->lane_state[lane] += (unsigned long)digit * kind->stride;
      for (int i = 0; i < kind->size; i++) {
        b->pattern[kind->switches[i]] = SETS_MIXED;
        b->on[kind->switches[i]][lane] = i < digit;
      }
    }
  }
  for (int k = 0; k < job->kind_count; k++)
    if (!(w->low >> k & 1u)) {
      w->high[w->high_count] = k;
      w->stride[w->high_count++] = w->blocks;
      w->blocks *= job->kinds[k].size + 1;
    }
}

/* ---- memory ---- */

static bool make_block(struct walk *w)
{
  struct net_sets *s = w->s;
  struct arena *a = &s->run;
  size_t wide = SETS_BLOCK * sizeof(double), edges = (size_t)s->edge_count + 1,
         slots = (size_t)s->slots + 1, controls = (size_t)s->control_count + 1;
  struct sets_block *b = s->block = sets_push(a, sizeof *b);

  if (!b)
    return false;
  b->of = s;
  b->joined = ARENA_ARRAY(a, unsigned char, edges + controls);
  b->f = sets_push(a, slots * wide);
  b->values = sets_push(a, ((size_t)s->plan.value_count + 1) * wide);
  b->c = sets_push(a, edges * wide);
  b->flow = sets_push(a, edges * wide);
  b->flat = sets_push(a, edges * wide);
  b->at_limit = sets_push(a, edges * wide);
  b->root = sets_push(a, ((size_t)s->root_count + 1) * wide);
  b->hold = sets_push(a, controls * wide);
  b->own_c = sets_push(a, controls * wide);
  b->own_base = sets_push(a, controls * wide);
  b->own_g = sets_push(a, controls * wide);
  b->wants = ARENA_ARRAY(a, struct sets_want, controls);
  b->look = ARENA_ARRAY(a, bool, controls *SETS_BLOCK);
  b->lanes = ARENA_ARRAY(a, const struct sets_lanes *, edges);
  b->law_count = ARENA_ARRAY(a, int, edges);
  b->none_count = ARENA_ARRAY(a, int, edges);
  b->free_count = ARENA_ARRAY(a, int, controls);
  if (!b->free_count || !b->joined || !b->look || !b->wants)
    return false;
  for (size_t i = 0; i < ((size_t)s->root_count + 1) * SETS_BLOCK; i++)
    b->root[i] = 8; /* of a smooth duct in full flow */
  for (int e = 0; e < s->edge_count; e++)
    b->law_count[e] = SETS_BLOCK;
  return true;
}

static bool make_answers(struct walk *w)
{
  struct net_sets *s = w->s;

  w->numbers = (size_t)(s->slots + s->edge_count) * SETS_BLOCK;
  w->segs = (size_t)(s->edge_count + s->control_count) * SETS_BLOCK;
  w->answers = sets_push(&s->run, (size_t)w->blocks * w->numbers * sizeof *w->answers);
  w->answer_segs = ARENA_ARRAY(&s->run, unsigned char, (size_t)w->blocks * w->segs + 1);
  return w->answers && w->answer_segs;
}

/* ---- bounds ---- */

static void place_flows(const struct net *net, const struct net_sets_bound *from,
                        struct sets_bound *to)
{
  for (int i = 0; i < from->link_count; i++) {
    int l = from->links[i], e = net->link_edge[l];

    to->place[i] = e >= 0 ? e : -1 - net->controls[net->link_control[l]].slot;
    to->sign[i] = e >= 0 && net->link_reversed[l] ? -1 : 1;
  }
}

static void put_bound(const struct sets_block *b, const struct net_sets_bound *from,
                      struct sets_bound *to)
{
  for (int pattern = SETS_OFF; pattern <= SETS_MIXED; pattern++)
    for (int lane = 0; lane < SETS_BLOCK; lane++) {
      bool on = pattern == SETS_MIXED ? from->at >= 0 && b->on[from->at][lane] : pattern == SETS_ON;
      bool counts = from->at < 0 || on == from->on;

      to->lanes[pattern].least[lane] = counts ? from->least : -(double)INFINITY;
      to->lanes[pattern].most[lane] = counts ? from->most : (double)INFINITY;
    }
}

static bool make_bounds(struct walk *w)
{
  struct net_sets *s = w->s;
  const struct net *net = s->net[0];
  struct sets_block *b = s->block;
  struct sets_bound *list =
      ARENA_ARRAY(&s->run, struct sets_bound, (size_t)w->job->bound_count + 1);

  b->bound_count = w->job->bound_count;
  b->bounds = list;
  for (int i = 0; list && i < b->bound_count; i++) {
    const struct net_sets_bound *from = &w->job->bounds[i];
    struct sets_bound *to = &list[i];

    to->term_count = from->link_count;
    to->place = ARENA_ARRAY(&s->run, int, (size_t)from->link_count + 1);
    to->sign = ARENA_ARRAY(&s->run, double, (size_t)from->link_count + 1);
    to->lanes = sets_push(&s->run, 3 * sizeof *to->lanes);
    if (!to->place || !to->sign || !to->lanes)
      return false;
    to->slot[0] = from->link_count > 0 ? -1 : net->slot[from->node];
    to->slot[1] = from->link_count > 0 || from->over < 0 ? -1 : net->slot[from->over];
    to->on = from->at;
    to->control = from->but_at_least < 0 ? -1 : net->link_control[from->but_at_least];
    to->slack = from->link_count > 0 ? slack_kg_s : slack_Pa;
    to->mark = from->mark;
    place_flows(net, from, to);
    put_bound(b, from, to);
  }
  return list != NULL;
}

static void fill_edges(const struct net_sets *s)
{
  struct sets_block *b = s->block;

  for (int e = 0; e < s->edge_count; e++) {
    int on = s->edges[e].on;

    sets_fill_edge(s, e, on >= 0 && b->pattern[on] == SETS_MIXED ? b->on[on] : NULL);
    b->lanes[e] = &s->edges[e].lanes[SETS_OFF];
  }
}

/* ---- one block ---- */

static void set_switches(const struct walk *w)
{
  struct sets_block *b = w->s->block;

  for (int h = 0; h < w->high_count; h++) {
    const struct net_sets_kind *kind = &w->job->kinds[w->high[h]];

    for (int i = 0; i < kind->size; i++) {
      bool on = i < w->digit[h];

      b->pattern[kind->switches[i]] = on ? SETS_ON : SETS_OFF;
      memset(b->on[kind->switches[i]], on, SETS_BLOCK);
    }
  }
  for (int i = 0; i < w->s->switch_count; i++) {
    int e = w->s->switch_edge[i];

    b->lanes[e] = &w->s->edges[e].lanes[b->pattern[i]];
  }
}

/* Starts from the blocks without one or more of up to SETS_ORDER of its own. */
static void find_start(const struct walk *w, long block)
{
  struct sets_block *b = w->s->block;
  long less[SETS_ORDER];
  int count = 0;

  for (int h = 0; h < w->high_count && count < SETS_ORDER; h++)
    if (w->digit[h] > 0)
      less[count++] = w->stride[h];
  b->from_count = (1 << count) - 1;
  for (int choice = 1; choice < 1 << count; choice++) {
    long from = block;

    for (int i = 0; i < count; i++)
      from -= choice >> i & 1 ? less[i] : 0;
    b->from[choice - 1] = w->answers + (size_t)from * w->numbers;
    b->minus[choice - 1] = __builtin_popcount((unsigned)choice) % 2 == 0;
  }
  b->from_seg = count > 0 ? w->answer_segs + (size_t)(block - less[0]) * w->segs : NULL;
}

/* The segment to start with, as far as this lane's edge has a limit at all. */
static enum edge_seg first_seg(const struct sets_block *b, int e, int lane)
{
  const struct net_sets *s = b->of;
  int on = s->edges[e].on;
  bool is_on = on >= 0 && b->on[on][lane];
  const struct net *net = s->net[is_on];

  if (!isfinite(net->cap[e]))
    return SEG_LAW;
  if (net->exact[e] || !isfinite(s->net[!is_on]->cap[e]) || s->net[!is_on]->exact[e])
    return SEG_CAP;
  return b->from_seg ? (enum edge_seg)b->from_seg[e * SETS_BLOCK + lane]
                     : (enum edge_seg)s->start_seg[e];
}

static void start_edge(struct sets_block *b, int e)
{
  b->law_count[e] = b->none_count[e] = 0;
  for (int lane = 0; lane < SETS_BLOCK; lane++) {
    int at = e * SETS_BLOCK + lane;
    enum edge_seg seg = first_seg(b, e, lane);

    b->seg[at] = (unsigned char)seg;
    b->at_limit[at] = seg != SEG_LAW;
    b->flat[at] = seg == SEG_CAP ? b->lanes[e]->cap[lane] : 0;
    b->law_count[e] += seg == SEG_LAW;
    b->none_count[e] += seg == SEG_NONE;
  }
}

static void start_segments(struct sets_block *b)
{
  const struct net_sets *s = b->of;
  const unsigned char *from = b->from_seg ? b->from_seg + s->edge_count * SETS_BLOCK : NULL;

  for (int i = 0; i < s->capped_count; i++)
    start_edge(b, s->capped[i]);
  for (int k = 0; k < s->control_count; k++) {
    b->free_count[k] = 0;
    for (int lane = 0; lane < SETS_BLOCK; lane++) {
      int at = k * SETS_BLOCK + lane;

      b->control_seg[at] = from ? from[at] : s->start_seg[s->edge_count + k];
      b->hold[at] = b->control_seg[at] == CONTROL_HOLDS;
      b->own_c[at] = b->own_base[at] = 0;
      b->free_count[k] += b->control_seg[at] != CONTROL_HOLDS;
    }
  }
}

/* A set without an answer would spoil all that start from it. */
static void forget_lane(struct sets_block *b, int lane)
{
  const struct net_sets *s = b->of;

  for (int i = 0; i < s->slots; i++)
    b->x[i * SETS_BLOCK + lane] = s->start[i];
  for (int e = 0; e < s->edge_count; e++) {
    b->g[e * SETS_BLOCK + lane] = s->start[s->slots + e];
    b->seg[e * SETS_BLOCK + lane] = s->start_seg[e];
  }
  for (int k = 0; k < s->control_count; k++)
    b->control_seg[k * SETS_BLOCK + lane] = s->start_seg[s->edge_count + k];
}

static void tell_pressures(const struct walk *w, unsigned long state, int lane)
{
  const struct net *net = w->s->net[0];
  int nodes = net->problem.node_count;

  for (int n = 0; w->job->pressure_Pa && n < nodes; n++)
    w->job->pressure_Pa[state * (unsigned long)nodes + (unsigned long)n] =
        net->slot[n] >= 0 ? w->s->block->x[net->slot[n] * SETS_BLOCK + lane] : (double)NAN;
}

static void take_block(const struct walk *w)
{
  struct sets_block *b = w->s->block;
  unsigned long state = 0;

  for (int h = 0; h < w->high_count; h++)
    state += (unsigned long)w->digit[h] * w->job->kinds[w->high[h]].stride;
  for (int lane = 0; lane < w->lanes && !w->report->stopped; lane++) {
    unsigned long here = state + w->lane_state[lane];
    bool converged =
        b->residual[lane] <= GOAL_KG_S && b->shift[lane] <= shift_goal_kg_s && b->moved[lane] == 0;
    bool loose = converged && !sets_lane_is_joined(b, lane);

    w->job->marks[here] = b->marks[lane];
    tell_pressures(w, here, lane);
    if (converged && !loose && b->near[lane] == 0) {
      w->report->worst_kg_s = fmax(w->report->worst_kg_s, b->residual[lane]);
      continue;
    }
    w->report->failed += !converged;
    w->report->loose += converged && loose;
    w->report->near += converged && !loose;
    w->report->stopped = !w->job->ask(w->job->arg, here);
    if (!converged)
      forget_lane(b, lane);
  }
  for (int lane = w->lanes; lane < SETS_BLOCK; lane++)
    forget_lane(b, lane);
}

static void solve_block(const struct walk *w, long block, sets_solve *solve)
{
  struct sets_block *b = w->s->block;

  b->x = w->answers + (size_t)block * w->numbers;
  b->g = b->x + (size_t)w->s->slots * SETS_BLOCK;
  b->seg = w->answer_segs + (size_t)block * w->segs;
  b->control_seg = b->seg + (size_t)w->s->edge_count * SETS_BLOCK;
  set_switches(w);
  find_start(w, block);
  start_segments(b);
  solve(b);
  take_block(w);
}

bool net_sets_all(struct net_sets *s, const struct net_sets_job *job,
                  struct net_sets_report *report)
{
  enum net_path path = job->path == NET_PATH_BEST ? net_path_best() : job->path;
  struct walk w = {.job = job, .report = report, .s = s};
  bool ok;

  BUG_IF(!net_path_has(path) || !solvers[path]);
  *report = (struct net_sets_report){.path = path};
  arena_init(&s->run, (size_t)1 << 30);
  choose_lanes(&w);
  ok = make_block(&w);
  if (ok)
    number_lanes(&w);
  ok = ok && make_bounds(&w) && make_answers(&w);
  if (ok)
    fill_edges(s);
  report->states = w.blocks * w.lanes;
  for (long block = 0; ok && block < w.blocks && !report->stopped; block++) {
    long rest = block;

    for (int h = 0; h < w.high_count; h++) {
      int sizes = job->kinds[w.high[h]].size + 1;

      w.digit[h] = (int)(rest % sizes);
      rest /= sizes;
    }
    solve_block(&w, block, solvers[path]);
  }
  report->passes = ok ? s->block->passes : 0;
  arena_release(&s->run);
  return ok;
}
