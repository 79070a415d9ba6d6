/*
 * A block of 32 sets of a comb, solved in the lanes of a vector unit.
 *
 * This file is compiled once for each instruction set (src/net/meson.build).  The width of a vector is
 * all that differs: what becomes of a set hangs on its own lane alone, by the same operations on the same
 * numbers in the same order, so the same bits come out.
 */
#include "net/comb_impl.h"
#include "net/vec_impl.h"

#include <float.h>

#ifndef COMB_NAME
#define COMB_NAME comb_solve_plain
#endif

enum {
  ABREAST = 4, /* vectors at a time: while one waits for its roots the others go on */
  CHUNK = ABREAST * COMB_LANES,
  STEPS_MOST = 60,
  PATIENCE = 8, /* steps; then the bracket has to shrink by half */
  KNEE_STEPS_MOST = 60
};

static const double stiff_kg_s_Pa = 0.05; /* what a held pressure that is missed counts for */
static const double most_step_Pa = 200;   /* far from the answer the tangents mislead */
static const double least_Pa = 1e-18;     /* no slope is divided by zero */
static const double goal_Pa = 1e-7, least_goal_kg_s = 2e-13;
static const double beyond_Pa = 1e6;

struct two { /* values and slopes */
  vec v, s;
};

/* ---- laws ---- */

/* At a drop > 0. */
static inline struct two root_law(vec root, vec cap, double n, vec size)
{
  vec r = power_of(n, size), q = root * r;
  vec s = n == 0.5 ? root * (0.5 / r) : n * q / size;

  return (struct two){least_of(q, cap), less(q, cap, s, all(0))};
}

/* Members of a law in its two states, by lane. */
struct in_row {
  const struct resist *shut, *open;
  int shut_count, open_count;
  mask is_open, back;
};

static vec of_way(const struct in_row *row, const double shut[2], const double open[2])
{
  return pick(row->is_open, pick(row->back, all(open[1]), all(open[0])),
              pick(row->back, all(shut[1]), all(shut[0])));
}

/* What all of them drop at a flow >= 0.  One that is no square is alone, and below its knee. */
static struct two row_drop(const struct in_row *row, vec q)
{
  static const struct resist nothing = {.m = 2};
  struct two sum = {all(0), all(0)};

  for (int i = 0; i < row->shut_count || i < row->open_count; i++) {
    const struct resist *shut = i < row->shut_count ? &row->shut[i] : &nothing;
    const struct resist *open = i < row->open_count ? &row->open[i] : &nothing;
    vec k = of_way(row, shut->k, open->k), knee = of_way(row, shut->knee, open->knee);
    vec m = pick(row->is_open, all(open->m), all(shut->m)), b = 0.5 * m - 0.5, a = 1.5 - 0.5 * m;
    vec x = q / knee, xx = x * x;

    sum.v += less(q, knee, KNEE_PA * x * (a + b * xx), k * q * q);
    sum.s += less(q, knee, KNEE_PA / knee * (a + 3 * b * xx), 2 * k * q);
  }
  return sum;
}

/* At its knees a drop is more than without them, and bends upwards over the flow: Newton from above. */
static void settle_knees(const struct in_row *row, vec size, mask open, struct two *flow)
{
  vec q = flow->v, s = flow->s;

  for (int i = 0; i < KNEE_STEPS_MOST && any(open); i++) {
    struct two drop = row_drop(row, q);
    vec step = (drop.v - size) / drop.s;

    q = pick(open, q - step, q);
    s = pick(open, 1 / drop.s, s);
    open &= below(1e-15 * q, size_of(step));
  }
  *flow = (struct two){q, s};
}

/* Flow, either way, through any law at any drop. */
static __attribute__((noinline)) struct two careful(const struct net_comb *c,
                                                    const struct comb_law law[2], mask is_open,
                                                    double n, vec d, mask *lost)
{
  struct in_row row = {.shut = &c->laws[law[0].first],
                       .open = &c->laws[law[1].first],
                       .shut_count = law[0].count,
                       .open_count = law[1].count,
                       .is_open = is_open,
                       .back = below(d, all(0))};
  vec size = most_of(size_of(d), all(least_Pa));
  vec cap = pick(is_open, all(law[1].cap), all(law[0].cap));
  struct two flow = root_law(of_way(&row, law[0].root, law[1].root), all(INFINITY), n, size);
  mask knee = below(size, of_way(&row, law[0].knee_Pa, law[1].knee_Pa));
  mask known = (is_open & (law[1].count > 0 ? not(none()) : none())) |
               (not(is_open) & (law[0].count > 0 ? not(none()) : none()));

  *lost |= knee & not(known);
  if (any(knee & known))
    settle_knees(&row, size, knee & known, &flow);
  return (struct two){signed_as(least_of(flow.v, cap), d), less(flow.v, cap, flow.s, all(0))};
}

static struct two part_flow(const struct net_comb *c, const struct comb_law *law, double n, vec d)
{
  const struct comb_law same[2] = {*law, *law};
  mask lost = none();

  return careful(c, same, none(), n, d, &lost);
}

static struct two leak_flow(const struct net_comb *c, int l, vec p)
{
  const struct comb_leak *leak = &c->leaks[l];
  vec d = p - leak->out_Pa, size = most_of(size_of(d), all(least_Pa));
  struct two flow = root_law(less(d, all(0), all(leak->root[1]), all(leak->root[0])), all(INFINITY),
                             leak->n, size);
  mask knee = below(size, all(leak->knee_Pa));

  flow.v = signed_as(flow.v, d);
  if (__builtin_expect(any(knee), 0)) {
    struct two sum = {all(0), all(0)};

    for (int i = 0; i < c->part_count; i++)
      if (c->parts[i].leak == l) {
        struct two part = part_flow(c, &c->parts[i].law, leak->n, d);

        sum.v += part.v;
        sum.s += part.s;
      }
    flow = (struct two){pick(knee, sum.v, flow.v), pick(knee, sum.s, flow.s)};
  }
  return flow;
}

/* One lane after another, where the members' sum is not k g^2. */
static __attribute__((noinline)) struct two members_drop(const struct net_comb *c,
                                                         const struct comb_run *run, vec q,
                                                         struct two otherwise)
{
  struct two out = otherwise;

  for (int i = 0; i < COMB_LANES; i++) {
    double sum = 0, sum_slope = 0;

    if (run->square && q[i] >= run->least_kg_s)
      continue;
    for (int l = run->first; l < run->first + run->count; l++) {
      double drop, slope;

      law_resist(&c->laws[l], q[i], &drop, &slope);
      sum += drop;
      sum_slope += slope;
    }
    out.v[i] = sum;
    out.s[i] = sum_slope;
  }
  return out;
}

static inline struct two run_drop(const struct net_comb *c, const struct comb_run *run, vec q)
{
  vec kq = run->k * q;
  struct two drop = {kq * q, kq + kq};

  if (run->count == 0)
    return (struct two){all(0), all(0)};
  if (__builtin_expect(!run->square || any(below(q, all(run->least_kg_s))), 0))
    return members_drop(c, run, q, drop);
  return drop;
}

static struct two rise_of(const struct curve *curve, vec q)
{
  vec x = q * curve->inverse;
  struct two out = {curve->amplitude * (curve->a - curve->b * x * x),
                    curve->amplitude * curve->inverse * (-2 * curve->b * x)};

  if (curve->piece_count > 0 || any(below(x, all(0))))
    for (int i = 0; i < COMB_LANES; i++) {
      double rise, slope;

      if (curve->piece_count == 0 && x[i] >= 0)
        continue;
      curve_rise(curve, q[i], false, &rise, &slope);
      out.v[i] = rise;
      out.s[i] = slope;
    }
  return out;
}

/* ---- a march: from the far end to the fan ---- */

struct marched {
  vec y, q, y_s, q_s; /* room over header, and flow there; slopes over the far end's y */
  mask lost;
};

static mask opens(const struct net_comb *c, const struct comb_block *b, int t, int u)
{
  int bit = c->teeth[t].bit;
  vec open = all(0);

  if (!b->lanes[t])
    return none();
  for (int i = 0; i < COMB_LANES; i++)
    open[i] = -((u * COMB_LANES + i) >> bit & 1);
  return below(open, all(0));
}

/* The law at rare drops. */
static struct two careful_tooth(const struct net_comb *c, const struct comb_block *b, int t, int u,
                                vec d, mask *lost)
{
  const struct comb_tooth *tooth = &c->teeth[t];
  const struct comb_law same[2] = {*b->law[t], *b->law[t]};

  return careful(c, b->lanes[t] ? tooth->law : same, opens(c, b, t, u), tooth->n, d, lost);
}

/* Do all of them hold their cap?  That takes no root. */
static inline bool all_hold(const struct comb_law *law, const struct comb_lanes *lanes, int u,
                            const vec *d)
{
  mask below_it = none();

  for (int i = 0; i < ABREAST; i++)
    below_it |= below(d[i], lanes ? load(lanes->holds_Pa, u + i) : all(law->holds_Pa));
  return !any(below_it);
}

static inline void pass_tooth(const struct net_comb *c, const struct comb_block *b, int t, int u,
                              struct marched *m)
{
  const struct comb_tooth *tooth = &c->teeth[t];
  const struct comb_law *law = b->law[t];
  const struct comb_lanes *lanes = b->lanes[t];
  vec d[ABREAST];

  for (int i = 0; i < ABREAST; i++)
    d[i] = m[i].y + tooth->lift_Pa;
  if (tooth->holds && all_hold(law, lanes, u, d)) {
    for (int i = 0; i < ABREAST; i++)
      m[i].q += lanes ? load(lanes->cap, u + i) : all(law->cap);
    return;
  }
  for (int i = 0; i < ABREAST; i++) {
    vec knee = lanes ? load(lanes->knee_Pa, u + i) : all(law->knee_Pa[0]);
    struct two flow = root_law(lanes ? load(lanes->root, u + i) : all(law->root[0]),
                               lanes ? load(lanes->cap, u + i) : all(law->cap), tooth->n, d[i]);

    if (__builtin_expect(any(below(d[i], knee)), 0))
      flow = careful_tooth(c, b, t, u + i, d[i], &m[i].lost);
    m[i].q += flow.v;
    m[i].q_s += flow.s * m[i].y_s;
  }
}

static inline void pass_run(const struct net_comb *c, const struct comb_run *run, struct marched *m)
{
  m->q += run->inflow_kg_s;

  struct two drop = run_drop(c, run, m->q);

  m->y += drop.v - run->lift_Pa;
  m->y_s += drop.s * m->q_s;
}

static void march(const struct net_comb *c, const struct comb_block *b, int u, const vec *y,
                  struct marched *m)
{
  for (int i = 0; i < ABREAST; i++)
    m[i] = (struct marched){.y = y[i], .y_s = all(1), .lost = none()};
  for (int t = 0; t < c->tooth_count; t++) {
    pass_tooth(c, b, t, u, m);
    if (c->teeth[t].after.passes)
      for (int i = 0; i < ABREAST; i++)
        pass_run(c, &c->teeth[t].after, &m[i]);
  }
}

/* ---- the two balances ---- */

/* The room's pressure at which a fan at one speed takes this flow, from that far over the header. */
static inline struct two room_by(const struct net_comb *c, const struct curve *curve,
                                 const struct marched *m, vec q)
{
  struct two rise = rise_of(curve, q), drop = run_drop(c, &c->tail, q);

  return (struct two){m->y + (c->out_Pa - c->tail.lift_Pa) - rise.v + drop.v,
                      m->y_s + (drop.s - rise.s) * m->q_s};
}

/* By the fan: each of its states has one; of those that it may take it is the middle. */
static inline struct two room_of(const struct net_comb *c, const struct marched *m)
{
  vec q = m->q + c->end_inflow_kg_s;
  struct two room = room_by(c, &c->most, m, q);

  if (!c->fan_holds)
    return room;

  vec held = m->y + c->fan_hold_Pa;

  room.s = less(room.v, held, m->y_s, room.s);
  room.v = most_of(held, room.v);
  if (!c->has_least)
    return room;

  struct two least = room_by(c, &c->least, m, q);

  room.s = less(least.v, room.v, least.s, room.s);
  room.v = least_of(least.v, room.v);
  return room;
}

struct lack {
  vec v, s;
  vec leak_s, leak_Pa, n; /* of the leak that gives most of the slope: its part, its drop */
};

/* What the room lacks, kg/s.  A supply that holds gives what is needed, between its limits. */
static inline struct lack lack_of(const struct net_comb *c, struct two p, vec q, vec q_s)
{
  struct two need = {q - c->inflow_kg_s, q_s};
  struct lack out = {.leak_s = all(0), .leak_Pa = all(1), .n = all(1)};

  for (int i = 0; i < c->leak_count; i++) {
    struct two leak = leak_flow(c, i, p.v);
    vec leak_s = leak.s * p.s;
    mask most = below(out.leak_s, leak_s);

    need.v += leak.v;
    need.s += leak_s;
    out.leak_Pa = pick(most, p.v - c->leaks[i].out_Pa, out.leak_Pa);
    out.n = pick(most, all(c->leaks[i].n), out.n);
    out.leak_s = most_of(leak_s, out.leak_s);
  }
  out.v = -need.v;
  out.s = -need.s;
  if (c->supply == COMB_DECREED)
    return out;

  vec above = c->path_from_Pa - p.v;
  struct two path =
      root_law(all(c->path.root[0]), all(INFINITY), 0.5, most_of(above, all(least_Pa)));

  if (__builtin_expect(any(below(above, all(c->path.knee_Pa[0]))), 0))
    path = part_flow(c, &c->path, 0.5, above);

  vec most = all(c->most_kg_s), cap = least_of(path.v, most);
  vec cap_s = less(path.v, most, -path.s * p.s, all(0));
  vec off = stiff_kg_s_Pa * (c->hold_Pa - p.v), wanted = need.v + off, least = all(c->least_kg_s);

  mask low = below(wanted, least), high = below(cap, most_of(least, wanted));

  out.v = pick(high, cap - need.v, pick(low, least - need.v, off));
  out.s = pick(high, cap_s - need.s, pick(low, -need.s, -stiff_kg_s_Pa * p.s));
  out.leak_s = pick(high | low, out.leak_s, all(0));
  return out;
}

/* ---- the sets of a chunk ---- */

/*
 * The unknown is y, the room's pressure over the far end's: what the room lacks falls with it, all the
 * way, so every evaluation narrows a bracket.
 */
struct chunk {
  vec y[ABREAST], low[ABREAST], high[ABREAST], width[ABREAST], steps[ABREAST];
  vec slope[ABREAST], goal[ABREAST], before[ABREAST], lack[ABREAST]; /* of the last step or look */
  mask stepping[ABREAST], looking[ABREAST], open[ABREAST], lost[ABREAST];
  mask missed[ABREAST], near[ABREAST];
  vec worst;
};

/* Newton's step d over the root of y, in which the flows of most laws are straight. */
static inline vec over_root(vec y, vec d)
{
  vec size = size_of(y), t = d / y, next = y + less(all(1), size, d * (1 + 0.25 * t), d);

  return pick(below(all(1), size) & below(t, all(-2)), -next, next);
}

/* The same over the flow of a leak, where its bend at no drop is what matters: its power by a series, or
 * where the step is long as it stands. */
static inline vec over_leak(vec y, vec d, const struct lack *lack, vec p_s)
{
  vec e = lack->n * d * p_s / lack->leak_Pa, m = 1 / lack->n,
      size = most_of(size_of(1 + e), all(least_Pa));
  vec change = e * m * (1 + e * (m - 1) * (0.5 + e * (m - 2) * (1.0 / 6)));
  mask far = below(all(0.03), size_of(e));

  if (any(far))
    change = pick(far, signed_as(exp_of(m * log_of(size)), 1 + e) - 1, change);
  return y + lack->leak_Pa * change / p_s;
}

/* Newton's method; halved where it leads nowhere. */
static inline void move(struct chunk *k, int i, const struct lack *lack, vec p_s)
{
  mask moves = k->stepping[i], rise = below(all(0), lack->v);
  mask leaks = below(-0.5 * lack->s, lack->leak_s) & below(all(KNEE_PA), size_of(lack->leak_Pa));
  vec y = k->y[i], d = -lack->v / lack->s, size = size_of(y), most = most_step_Pa + 2 * size;
  vec next = pick(leaks, over_leak(y, d, lack, p_s), over_root(y, d));

  next = least_of(most_of(next, y - most), y + most); /* also what is no number */
  k->low[i] = pick(moves & rise, y, k->low[i]);
  k->high[i] = pick(moves & not(rise), y, k->high[i]);

  vec width = k->high[i] - k->low[i], half = 0.5 * (k->low[i] + k->high[i]);
  mask lags = below(all(PATIENCE), k->steps[i]) & below(0.5 * k->width[i], width);
  mask out = below(next, k->low[i]) | below(k->high[i], next);

  next = pick((lags | out) & below(width, all(beyond_Pa)), half, next);

  vec by = size_of(next - y), ratio = by / most_of(size, all(1));

  ratio = pick(below(-0.1 * lack->s, lack->leak_s),
               most_of(ratio, by * p_s / most_of(size_of(lack->leak_Pa), all(KNEE_PA))), ratio);

  mask ends = below(ratio * ratio * size_of(lack->v), all(GOAL_KG_S));
  vec goal_kg_s = most_of(goal_Pa * size_of(lack->s) / most_of(p_s, all(1)), all(least_goal_kg_s));

  k->steps[i] = pick(moves, k->steps[i] + 1, k->steps[i]);
  k->width[i] = pick(moves, width, k->width[i]);
  k->before[i] = pick(moves, y, k->before[i]);
  k->y[i] = pick(moves, next, y);
  k->slope[i] = pick(moves, lack->s, k->slope[i]);
  k->lack[i] = pick(moves, lack->v, k->lack[i]);
  k->goal[i] = pick(moves, least_of(all(GOAL_KG_S), goal_kg_s), k->goal[i]);
  k->stepping[i] &= not(ends) & below(k->steps[i], all(STEPS_MOST));
  k->looking[i] |= moves & ends & below(k->steps[i], all(STEPS_MOST));
}

static void step(const struct net_comb *c, struct comb_block *b, int u, struct chunk *k)
{
  struct marched m[ABREAST];

  march(c, b, u, k->y, m);
  for (int i = 0; i < ABREAST; i++) {
    struct two p = room_of(c, &m[i]);

    b->steps += count_of(k->stepping[i]);
    struct lack lack = lack_of(c, p, m[i].q, m[i].q_s);
    move(k, i, &lack, p.s);
    k->lost[i] |= k->stepping[i] & m[i].lost & below(all(PATIENCE), k->steps[i]);
    k->stepping[i] &= not(k->lost[i]);
  }
}

/* ---- the second pass: the laws as they stand, and what may not be missed ---- */

struct seen {
  vec y, q, left;
  mask lost;
};

static inline void look_at_bounds(const struct comb_block *b, int t, int u, vec q, struct seen *s)
{
  const struct comb_law *law = b->law[t];
  const struct comb_lanes *lanes = b->lanes[t];
  vec least = lanes ? load(lanes->least_kg_s, u) : all(law->least_kg_s);
  vec most = lanes ? load(lanes->most_kg_s, u) : all(law->most_kg_s);

  s->left = least_of(least_of(q - least, most - q), s->left);
}

static inline void look_at_tooth(const struct net_comb *c, const struct comb_block *b, int t, int u,
                                 struct seen *s)
{
  const struct comb_tooth *tooth = &c->teeth[t];
  const struct comb_law *law = b->law[t];
  const struct comb_lanes *lanes = b->lanes[t];
  vec d[ABREAST];

  for (int i = 0; i < ABREAST; i++)
    d[i] = s[i].y + tooth->lift_Pa;

  bool hold = tooth->holds && all_hold(law, lanes, u, d);

  for (int i = 0; i < ABREAST; i++) {
    vec q = lanes ? load(lanes->cap, u + i) : all(law->cap);

    if (!hold) {
      vec knee = lanes ? load(lanes->knee_Pa, u + i) : all(law->knee_Pa[0]);

      q = least_of(
          (lanes ? load(lanes->root, u + i) : all(law->root[0])) * power_of(tooth->n, d[i]), q);
      if (__builtin_expect(any(below(d[i], knee)), 0))
        q = careful_tooth(c, b, t, u + i, d[i], &s[i].lost).v;
    }
    s[i].q += q;
    if (tooth->bound)
      look_at_bounds(b, t, u + i, q, &s[i]);
  }
}

/* A residual left is taken off along a parabola through the last; where it is not as good as hoped, one
 * step more. */
static inline void judge(struct chunk *k, int i, vec lack, mask good)
{
  vec y = k->y[i], slope = 2 * (lack - k->lack[i]) / (y - k->before[i]) - k->slope[i];
  mask better = below(size_of(lack), 0.1 * size_of(k->lack[i])) & below(slope, 0.5 * k->slope[i]);
  mask again = k->looking[i] & not(good);

  k->y[i] = pick(again & better, y - lack / slope, y);
  k->before[i] = pick(again, y, k->before[i]);
  k->slope[i] = pick(again, slope, k->slope[i]);
  k->lack[i] = pick(again, lack, k->lack[i]);
  k->stepping[i] |= again & not(better);
  k->looking[i] &= not(good) & better;
}

/* What a set with its answer misses. */
static inline void judge_bounds(const struct net_comb *c, struct chunk *k, int i, vec p, vec end,
                                vec left_kg_s, mask good)
{
  vec left_Pa = least_of(least_of(p - c->room_least_Pa, c->room_most_Pa - p), c->end_most_Pa - end);
  mask missed = below(left_Pa, all(-slack_Pa)) | below(left_kg_s, all(-slack_kg_s));
  mask near = below(left_Pa, all(slack_Pa)) | below(left_kg_s, all(slack_kg_s));

  k->missed[i] |= good & missed;
  k->near[i] |= good & near & not(missed);
}

static void look(const struct net_comb *c, struct comb_block *b, int u, struct chunk *k)
{
  struct seen s[ABREAST];

  for (int i = 0; i < ABREAST; i++)
    s[i] = (struct seen){k->y[i], all(0), all(INFINITY), none()};
  for (int t = 0; t < c->tooth_count; t++) {
    const struct comb_run *run = &c->teeth[t].after;

    look_at_tooth(c, b, t, u, s);
    if (run->passes)
      for (int i = 0; i < ABREAST; i++) {
        s[i].q += run->inflow_kg_s;
        s[i].y += run_drop(c, run, s[i].q).v - run->lift_Pa;
      }
  }
  for (int i = 0; i < ABREAST; i++) {
    const struct marched end = {.y = s[i].y, .q = s[i].q, .y_s = all(0), .q_s = all(0)};
    struct two p = {room_of(c, &end).v, all(0)};
    vec lack = lack_of(c, p, s[i].q, all(0)).v;

    mask good = k->looking[i] & below(size_of(lack), k->goal[i]);

    b->looks += count_of(k->looking[i]);
    put(b->room_Pa, u + i, p.v);
    put(b->far_Pa, u + i, p.v - k->y[i]);
    k->worst = most_of(pick(good, size_of(lack), all(0)), k->worst);
    k->lost[i] = (k->looking[i] & s[i].lost) | (not(k->looking[i]) & k->lost[i]);
    k->open[i] &= not(good);
    judge_bounds(c, k, i, p.v, p.v - s[i].y, s[i].left, good);
    judge(k, i, lack, good);
  }
}

/* ---- a block ---- */

static vec start_of(vec y)
{
  return 1 / root_of(most_of(y, all(1)));
}

static vec y_of(vec start)
{
  return 1 / (start * start);
}

/* Inclusion and exclusion: what the sets without some of these sashes lack of the full sum. */
static vec begin(const struct comb_block *b, const double *of, int u)
{
  vec sum = all(0);

  for (int i = 0; i < b->from_count; i++) {
    vec one = load(of + b->from[i], u);

    sum = b->minus[i] ? sum - one : sum + one;
  }
  return y_of(less(all(1e-2), sum, sum, all(1e-2))); /* also what is no number */
}

static bool any_of(const mask *m)
{
  mask some = none();

  for (int i = 0; i < ABREAST; i++)
    some |= m[i];
  return any(some);
}

static uint32_t by_set(const mask *m, int u)
{
  uint32_t sets = 0;

  for (int i = 0; i < ABREAST; i++)
    sets |= bits_of(m[i]) << (u + i) * COMB_LANES;
  return sets;
}

static void solve_chunk(const struct net_comb *c, struct comb_block *b, int u)
{
  struct chunk k;

  k.worst = all(0);
  for (int i = 0; i < ABREAST; i++) {
    k.y[i] = begin(b, c->start, u + i);
    k.low[i] = all(-2 * beyond_Pa);
    k.high[i] = all(2 * beyond_Pa);
    k.width[i] = all(INFINITY);
    k.steps[i] = k.slope[i] = k.goal[i] = k.lack[i] = k.before[i] = all(0);
    k.stepping[i] = k.open[i] = not(none());
    k.looking[i] = k.lost[i] = k.missed[i] = k.near[i] = none();
  }
  while (any_of(k.stepping) || any_of(k.looking))
    if (any_of(k.stepping))
      step(c, b, u, &k);
    else
      look(c, b, u, &k);
  for (int i = 0; i < ABREAST; i++)
    store(c->start + b->base, u + i, start_of(k.y[i]));
  for (int i = 0; i < COMB_LANES; i++)
    b->worst_kg_s = b->worst_kg_s < k.worst[i] ? k.worst[i] : b->worst_kg_s;
  b->failed |= by_set(k.open, u);
  b->lost |= by_set(k.lost, u);
  b->missed |= by_set(k.missed, u);
  b->near |= by_set(k.near, u);
}

void COMB_NAME(const struct net_comb *c, struct comb_block *b)
{
  b->failed = b->lost = b->missed = b->near = 0;
  for (int u = 0; u * COMB_LANES < COMB_BLOCK; u += ABREAST)
    solve_chunk(c, b, u);
}
