/* From the rows of the run to what each turn did. */
#include "after/after_impl.h"
#include "numeric/numeric.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double settled_within_Pa =
    0.5; /* of where the pressure goes: common practice, no source */
static const double half_ratio = 0.5;
static const double enough_ratio = 0.9; /* of what a station asks; Z9.5 lets a flow be 10 % off */

double after_cell(const struct after_trace *t, int row, int column, int index)
{
  return t->rows[row][column + index];
}

struct span {
  const struct after_trace *t;
  int first, last; /* rows */
};

static double at_s(const struct span *s, int row)
{
  return s->t->rows[row][0];
}

/* The share of a step in which a value is below a limit, on a straight line from row to row. */
static double share_below(double before, double now, double limit)
{
  if (before < limit && now < limit)
    return 1.0;
  if (now < limit)
    return (limit - now) / (before - now);
  return before < limit ? (limit - before) / (now - before) : 0.0;
}

/* How long a value is below a limit, and from when. */
struct below {
  double for_s, from_s, lowest, lowest_s;
  bool any, till_end;
};

static struct below time_below(const struct span *s, int column, double limit)
{
  struct below b = {.from_s = NAN, .lowest = NAN, .lowest_s = NAN};

  for (int r = s->first; r <= s->last; r++) {
    double now = s->t->rows[r][column], before;

    if (!isfinite(now))
      continue;
    if (isnan(b.lowest) || numeric_exceeds(b.lowest, now, 1e-9)) {
      b.lowest = now;
      b.lowest_s = at_s(s, r);
    }
    b.till_end = now < limit;
    if (r == s->first) {
      if (now < limit)
        b.from_s = at_s(s, r);
      continue;
    }
    before = s->t->rows[r - 1][column];
    if (!isfinite(before))
      continue;
    double step_s = at_s(s, r) - at_s(s, r - 1), share = share_below(before, now, limit);

    if (share > 0.0 && step_s > 0.0 && !isfinite(b.from_s))
      b.from_s = before < limit ? at_s(s, r - 1) : at_s(s, r) - share * step_s;
    b.for_s += share * step_s;
  }
  b.any = b.for_s > 0.0;
  return b;
}

static void judge_keeps(struct after_work *w, const struct span *s, struct after_turn *turn)
{
  const struct facility *f = w->f;
  int column = s->t->keeps;

  for (int i = 0; i < f->room_count; i++)
    for (int j = 0; j < f->rooms[i].keep_count; j++, column++) {
      const struct facility_keep *k = &f->rooms[i].keeps[j];
      double limit = k->has_least ? k->least_Pa - f->met_tolerance_Pa : -(double)INFINITY;
      struct below b = time_below(s, column, limit);
      double start = s->t->rows[0][column];

      if (!isfinite(b.lowest))
        continue;
      turn->keeps[turn->keep_count++] = (struct after_keep){
          .room = i,
          .keep = j,
          .least_wanted_Pa = k->has_least ? k->least_Pa : (double)NAN,
          .lowest_Pa = b.lowest,
          .lowest_at_s = b.lowest_s,
          .below = b.any,
          .reversed = start > 0.0 && b.lowest < 0.0,
          .below_from_s = b.from_s,
          .below_s = b.for_s,
          .till_end = b.any && b.till_end,
      };
    }
}

static void judge_reversal(const struct span *s, int column, bool at_door, int index,
                           double least_flow_m3_s, struct after_turn *turn)
{
  double start = s->t->rows[0][column], sign = start > 0.0 ? 1.0 : -1.0, most = 0.0;
  double for_s = 0.0, from_s = NAN;
  bool till_end = false;

  if (!(fabs(start) > least_flow_m3_s))
    return;
  for (int r = s->first + 1; r <= s->last; r++) {
    double a = sign * s->t->rows[r - 1][column], b = sign * s->t->rows[r][column];
    double step_s = at_s(s, r) - at_s(s, r - 1), share;

    if (!isfinite(a) || !isfinite(b))
      continue;
    share = share_below(a, b, 0.0);
    if (share > 0.0 && !isfinite(from_s))
      from_s = a < 0.0 ? at_s(s, r - 1) : at_s(s, r) - share * step_s;
    for_s += share * step_s;
    most = fmax(most, -fmin(a, b));
    till_end = b < 0.0;
  }
  if (most > least_flow_m3_s && for_s > 0.0)
    turn->reversals[turn->reversal_count++] =
        (struct after_reversal){at_door, index, from_s, for_s, most, till_end};
}

/* ---- stations ---- */

static bool was_moved(const struct after_work *w, const struct after_turn *turn, int station)
{
  for (int e = turn->first_event; e < turn->first_event + turn->event_count; e++)
    if ((w->orders[e].kind == AFTER_SASH && w->orders[e].index == station) ||
        w->orders[e].kind == AFTER_ALL)
      return true;
  return false;
}

/* How long before row r the value passed the edge; 0 where it did not move. */
static double since_edge_s(const struct span *s, int column, int r, double edge)
{
  double now = s->t->rows[r][column], before = r > s->first ? s->t->rows[r - 1][column] : now;

  return now != before ? (now - edge) / (now - before) * (at_s(s, r) - at_s(s, r - 1)) : 0.0;
}

/* ASHRAE 110's two times: first within 90 % of the new flow, and for good within 10 % of it. */
static void time_response(const struct span *s, struct after_station *out)
{
  int column = s->t->stations + out->station, last_off = s->first - 1;
  double to = out->steady_m3_s, from = s->t->rows[s->first][column];
  double edge = from < to ? 0.9 * to : to / 0.9;

  if (!(to > 0.0))
    return;
  for (int r = s->first; r <= s->last; r++) {
    double q = s->t->rows[r][column];

    if (!isfinite(out->to_90_s) && (from < to ? q >= edge : q <= edge))
      out->to_90_s = at_s(s, r) - at_s(s, s->first) - since_edge_s(s, column, r, edge);
    if (fabs(q - to) > 0.1 * to)
      last_off = r;
  }
  if (last_off < s->first)
    out->within_10_s = 0.0;
  else if (last_off < s->last)
    out->within_10_s = at_s(s, last_off + 1) - at_s(s, s->first) -
                       since_edge_s(s, column, last_off + 1,
                                    s->t->rows[last_off][column] < to ? 0.9 * to : 1.1 * to);
}

/* Of what a station asks. */
static double served_ratio(const struct span *s, int row, int station)
{
  double ask = after_cell(s->t, row, s->t->asks, station);

  return ask > 0.0 ? after_cell(s->t, row, s->t->stations, station) / ask : 1.0;
}

static void judge_stations(struct after_work *w, const struct span *s,
                           const struct air_answer *steady, struct after_turn *turn)
{
  const struct facility *f = w->f;

  for (int i = 0; i < f->station_count; i++) {
    bool moved = was_moved(w, turn, i), passive = f->stations[i].flow == FACILITY_PASSIVE;
    struct after_station out = {.station = i,
                                .moved = moved,
                                .steady_m3_s = steady ? steady->stations[i].flow_m3_s : (double)NAN,
                                .to_90_s = NAN,
                                .within_10_s = NAN,
                                .lowest_ratio = 1.0,
                                .lowest_at_s = NAN};

    if (!f->stations[i].in_service)
      continue;
    for (int r = s->first, before = r; r <= s->last && !passive; before = r++) {
      double ratio = served_ratio(s, r, i);

      if (numeric_exceeds(out.lowest_ratio, ratio, 1e-9)) {
        out.lowest_ratio = ratio;
        out.lowest_at_s = at_s(s, r);
      }
      out.short_s += share_below(served_ratio(s, before, i), ratio, enough_ratio) *
                     (at_s(s, r) - at_s(s, before));
    }
    if (moved)
      time_response(s, &out);
    if (moved || out.lowest_ratio < enough_ratio)
      turn->stations[turn->station_count++] = out;
  }
}

/* ---- doors ---- */

/* F = W A dp / (2 (W - d)): docs/formulas.md, door-force; the closer's own force is not in it. */
static void judge_forces(const struct after_work *w, const struct span *s, struct after_turn *turn)
{
  const struct facility_after *how = &w->f->after;
  double lever_m2 = how->leaf_width_m * how->leaf_width_m * how->leaf_height_m /
                    (2.0 * (how->leaf_width_m - how->handle_m));

  turn->force.door = -1;
  for (int i = 0; i < w->f->door_count; i++)
    for (int r = s->first; r <= s->last; r++) {
      double drop = fabs(after_cell(s->t, r, s->t->door_drops, i));

      if (after_cell(s->t, r, s->t->door_ratios, i) > 0.0 || !(drop > turn->force.most_Pa))
        continue;
      turn->force = (struct after_force){i, drop, drop * lever_m2, at_s(s, r)};
    }
}

/* ---- the pressure clock ---- */

/* A pressure that still goes somewhere when the next turn comes has not settled, however slow it is. */
static bool still_goes(const struct after_work *w, const struct span *s,
                       const struct air_answer *steady)
{
  int column = s->t->keeps;

  for (int i = 0; i < w->f->room_count; i++)
    for (int j = 0; j < w->f->rooms[i].keep_count; j++, column++) {
      const struct air_keep *k = &steady->rooms[i].keeps[j];

      if (k->known && fabs(s->t->rows[s->last][column] - k->actual_Pa) > settled_within_Pa)
        return true;
    }
  return false;
}

/* What is ordered beside the scene moves the steady answer elsewhere. */
static bool is_beside_scene(const struct after_work *w, const struct after_turn *turn)
{
  for (int e = 0; e < turn->first_event + turn->event_count; e++)
    if (w->orders[e].kind == AFTER_LOAD || w->orders[e].kind == AFTER_SETBACK ||
        w->orders[e].kind == AFTER_POWER)
      return true;
  return false;
}

/* From when a pressure stays near where it ends. */
static double settled_since_s(const struct span *s, int column)
{
  double end = s->t->rows[s->last][column], since_s = at_s(s, s->first);

  for (int r = s->first + 1; r <= s->last; r++) {
    double before = fabs(s->t->rows[r - 1][column] - end), now = fabs(s->t->rows[r][column] - end);

    if (before > settled_within_Pa)
      since_s =
          at_s(s, r) - share_below(now, before, settled_within_Pa) * (at_s(s, r) - at_s(s, r - 1));
  }
  return since_s;
}

static void time_settled(const struct after_work *w, const struct span *s,
                         const struct air_answer *steady, struct after_turn *turn)
{
  int keeps = s->t->door_flows - s->t->keeps;
  double since_s = at_s(s, s->first);

  turn->settled_s = (double)NAN;
  if (steady && !is_beside_scene(w, turn) && still_goes(w, s, steady))
    return;
  for (int k = 0; k < keeps; k++)
    since_s = fmax(since_s, settled_since_s(s, s->t->keeps + k));
  turn->settled_s = since_s - turn->at_s;
}

/* ---- all of it ---- */

static void at_least(int *worst, enum after_severity severity)
{
  *worst = (int)severity > *worst ? (int)severity : *worst;
}

static int weigh(const struct after_turn *turn)
{
  int worst = AFTER_NOTHING_MISSED;

  for (int i = 0; i < turn->reversal_count; i++)
    at_least(&worst, turn->reversals[i].at_door ? AFTER_TURNED_ROUND : AFTER_OUT_OF_STATION);
  for (int i = 0; i < turn->keep_count; i++)
    if (turn->keeps[i].below)
      at_least(&worst, turn->keeps[i].reversed ? AFTER_TURNED_ROUND : AFTER_KEEP_MISSED);
  for (int i = 0; i < turn->station_count; i++) {
    const struct after_station *s = &turn->stations[i];

    if (s->short_s > 0.0 && !(s->moved && isfinite(s->to_90_s)))
      at_least(&worst, s->lowest_ratio < half_ratio ? AFTER_STATION_LOST : AFTER_STATION_SHORT);
  }
  return worst;
}

static double longest_s(const struct after_turn *turn)
{
  double most = 0.0;

  for (int i = 0; i < turn->keep_count; i++)
    most = fmax(most, turn->keeps[i].below ? turn->keeps[i].below_s : 0.0);
  return most;
}

static bool is_worse(const struct after_turn *a, const struct after_turn *b)
{
  return a->worst != b->worst ? a->worst > b->worst
                              : numeric_exceeds(longest_s(a), longest_s(b), 1e-3);
}

static void rank(struct after_answer *a)
{
  for (int i = 0; i < a->turn_count; i++) {
    int at = i;

    for (; at > 0 && is_worse(&a->turns[i], &a->turns[a->worst_first[at - 1]]); at--)
      a->worst_first[at] = a->worst_first[at - 1];
    a->worst_first[at] = i;
    a->missed |= a->turns[i].worst > 0;
  }
  a->missed |= a->lost;
}

static struct span rows_between(const struct after_trace *t, double from_s, double until_s)
{
  struct span s = {t, 0, t->count - 1};

  while (s.first < s.last && t->rows[s.first][0] < from_s)
    s.first++;
  /* of two rows at one moment the second is behind the jump */
  while (s.first < s.last && t->rows[s.first + 1][0] <= from_s)
    s.first++;
  while (s.last > s.first && t->rows[s.last][0] > until_s)
    s.last--;
  while (s.last > s.first && t->rows[s.last - 1][0] >= until_s)
    s.last--;
  return s;
}

static void judge_particles(struct after_work *w)
{
  const struct facility *f = w->f;
  struct after_answer *a = w->out;
  const struct after_trace *t = &a->trace;

  for (int i = 0; i < f->room_count && w->has_particles; i++) {
    struct after_particles p = {.room = i, .clear_at_s = 0.0};

    if (!f->rooms[i].has_class || !f->rooms[i].has_volume)
      continue;
    p.limit_per_m3 = after_limit_per_m3(f, i);
    for (int r = 0; r < t->count; r++) {
      double now = after_cell(t, r, t->particles, i), before, step_s, below;

      p.most_per_m3 = fmax(p.most_per_m3, now);
      if (r == 0)
        continue;
      before = after_cell(t, r - 1, t->particles, i);
      step_s = t->rows[r][0] - t->rows[r - 1][0];
      below = share_below(before, now, p.limit_per_m3);
      p.above_s += (1.0 - below) * step_s;
      if (before > p.limit_per_m3)
        p.clear_at_s = t->rows[r][0] - below * step_s;
      if (now > p.limit_per_m3)
        p.clear_at_s = (double)NAN;
    }
    a->particles[a->particle_count++] = p;
  }
}

static bool make_turn(struct after_work *w, struct after_turn *turn)
{
  const struct facility *f = w->f;
  int keeps = w->out->trace.door_flows - w->out->trace.keeps;

  turn->keeps = ARENA_ARRAY(w->arena, struct after_keep, (size_t)keeps + 1);
  turn->reversals =
      ARENA_ARRAY(w->arena, struct after_reversal, (size_t)(f->door_count + f->station_count) + 1);
  turn->stations = ARENA_ARRAY(w->arena, struct after_station, (size_t)f->station_count + 1);
  return turn->keeps && turn->reversals && turn->stations;
}

/* The scenes as ordered by the end of each turn, made anew in a second pass. */
static const struct air_answer *steady_after(struct after_work *w, struct scene *goal,
                                             const struct after_turn *turn)
{
  for (int e = turn->first_event; e < turn->first_event + turn->event_count; e++) {
    const struct after_order *o = &w->orders[e];
    static const char *const verbs[] = {
        [AFTER_SASH] = "sash", [AFTER_ALL] = "all",     [AFTER_DOOR] = "door", [AFTER_OFF] = "off",
        [AFTER_ON] = "on",     [AFTER_COVER] = "cover", [AFTER_SHUT] = "shut", [AFTER_GAS] = NULL};

    if (o->change && verbs[o->kind] &&
        scene_change(w->f, goal, verbs[o->kind], o->change, NULL) != ERR_OK)
      return NULL;
  }
  return air_flows(w->steady, goal, w->arena, w->err);
}

bool after_judge(struct after_work *w)
{
  struct after_answer *a = w->out;
  struct scene goal = w->request->scene ? scene_copy(w->f, w->request->scene, w->arena)
                                        : scene_parked(w->f, w->arena);

  if (!goal.stations)
    return false;
  for (int i = 0; i < a->turn_count; i++) {
    struct after_turn *turn = &a->turns[i];
    const struct air_answer *steady;
    struct span s;

    turn->until_s = i + 1 < a->turn_count ? a->turns[i + 1].at_s : a->for_s;
    s = rows_between(&a->trace, turn->at_s, turn->until_s);
    if (!make_turn(w, turn))
      return false;
    steady = steady_after(w, &goal, turn);
    judge_keeps(w, &s, turn);
    for (int d = 0; d < w->f->door_count; d++)
      judge_reversal(&s, s.t->door_flows + d, true, d, 1e-4, turn);
    for (int k = 0; k < w->f->station_count; k++)
      judge_reversal(&s, s.t->stations + k, false, k, 1e-4, turn);
    judge_stations(w, &s, steady && steady->solved ? steady : NULL, turn);
    judge_forces(w, &s, turn);
    time_settled(w, &s, steady && steady->solved ? steady : NULL, turn);
    turn->worst = weigh(turn);
  }
  rank(a);
  judge_particles(w);
  return true;
}
