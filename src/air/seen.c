/*
 * What the scene as it is shows: every pressure and flow of the answer with its ±, and how likely
 * each keep and criterion is met.
 *
 * One figure after another is moved (sure.c); after each solve all that is shown is looked at again.
 * That costs no solve of its own.
 */
#include "air/sure_impl.h"
#include "numeric/numeric.h"

#include <math.h>

enum sight_kind {
  SIGHT_PRESSURE, /* of node a */
  SIGHT_OVER,     /* of node a over node b */
  SIGHT_FLOW,     /* of link a */
  SIGHT_GIVEN,    /* by supply a */
  SIGHT_ROOM,     /* room a's air by what carries it, b: enum air_room_part */
  SIGHT_FACE,     /* velocity at station a */
  SIGHT_RISE,     /* of fan a */
  SIGHT_SPEED     /* the same */
};

struct sight {
  enum sight_kind kind;
  int a, b;
  double before;
  double *pm_out;
  struct sums sums;
  struct air_odds *odds;         /* or NULL: nothing is judged by it */
  double low, high;              /* NaN: no such limit */
  struct air_causes *causes_out; /* or NULL: told with the odds only */
  struct air_causes causes;
};

struct seen {
  struct sure *s;
  int count;
  struct sight *sights;
  double *room_m3_s; /* per room and part, as last solved */
  struct fan_law {
    bool moves; /* its speed is found by what it holds */
    double rise_Pa, flow_kg_s, rise_per_kg_s, rise_per_speed_Pa;
  } * fans;
};

/* ---- looking ---- */

static void sum_rooms(struct seen *seen)
{
  const struct air *air = seen->s->shadow.air;
  int rooms = air->facility->room_count;

  for (int i = 0; i < rooms * AIR_ROOM_PARTS; i++)
    seen->room_m3_s[i] = 0.0;
  for (int i = 0; i < air->problem.link_count; i++) {
    const struct net_link *l = &air->links[i];
    enum air_room_part part = air_room_part_of(air, i);
    double flow_m3_s =
        part == AIR_ROOM_SUPPLY ? -air_link_flow_m3_s(air, i) : air_link_flow_m3_s(air, i);

    if (l->from < rooms)
      seen->room_m3_s[l->from * AIR_ROOM_PARTS + (int)part] += flow_m3_s;
    if (l->to < rooms)
      seen->room_m3_s[l->to * AIR_ROOM_PARTS + (int)part] -= flow_m3_s;
  }
}

static double given_m3_s(const struct air *air, int supply)
{
  double given = 0.0;

  for (int j = 0; j < air->facility->supplies[supply].feed_count; j++)
    given += air_link_flow_m3_s(air, air->feed_link[supply][j]);
  return given;
}

/* A speed's own search would cost more than the solve: its slope follows from rise and flow. */
static double look(const struct seen *seen, const struct sight *t)
{
  const struct air *air = seen->s->shadow.air;

  switch (t->kind) {
  case SIGHT_PRESSURE:
    return net_pressure_Pa(air->net, t->a);
  case SIGHT_OVER:
    return net_pressure_Pa(air->net, t->a) - net_pressure_Pa(air->net, t->b);
  case SIGHT_FLOW:
    return air_link_flow_m3_s(air, t->a);
  case SIGHT_GIVEN:
    return given_m3_s(air, t->a);
  case SIGHT_ROOM:
    return seen->room_m3_s[t->a * AIR_ROOM_PARTS + t->b];
  case SIGHT_FACE:
    return air_face_velocity_m_s(air, seen->s->search->scene, t->a);
  case SIGHT_RISE:
  case SIGHT_SPEED:
    return net_rise_Pa(air->net, air->fan_link[t->a]);
  }
  return NAN;
}

/* rise(q, v) of a curve scaled by 1 + x: d rise = x rise + rise_q dq + rise_v dv. */
static double speed_slope(const struct seen *seen, const struct sight *t, int input)
{
  const struct facility_input *in = &seen->s->f->inputs[input];
  const struct air *air = seen->s->shadow.air;
  const struct fan_law *fan = &seen->fans[t->a];
  int link = air->fan_link[t->a];
  double scaled = in->move == FACILITY_MOVE_FAN_CURVE && in->index == t->a
                      ? in->plus_minus_si * fan->rise_Pa
                      : 0.0;
  double rise = (net_rise_Pa(air->net, link) - fan->rise_Pa) / sure_step_ratio;
  double flow = (net_flow_kg_s(air->net, link) - fan->flow_kg_s) / sure_step_ratio;

  return (rise - scaled - fan->rise_per_kg_s * flow) / fan->rise_per_speed_Pa;
}

/* ---- what there is to see ---- */

static struct sight *add(struct seen *seen, enum sight_kind kind, int a, int b, double *pm_out)
{
  struct sight *t = &seen->sights[seen->count++];

  *t = (struct sight){.kind = kind, .a = a, .b = b, .low = NAN, .high = NAN};
  t->pm_out = pm_out;
  return t;
}

static void judge(struct sight *t, struct air_odds *odds, double low, double high)
{
  t->odds = odds;
  t->low = low;
  t->high = high;
}

static void add_rooms(struct seen *seen)
{
  const struct facility *f = seen->s->f;

  for (int i = 0; i < f->room_count; i++) {
    struct air_room *r = &seen->s->answer->rooms[i];

    if (r->known)
      add(seen, SIGHT_PRESSURE, i, 0, &r->pressure_pm_Pa);
    add(seen, SIGHT_ROOM, i, AIR_ROOM_SUPPLY, &r->supply_pm_m3_s);
    add(seen, SIGHT_ROOM, i, AIR_ROOM_EXHAUST, &r->exhaust_pm_m3_s);
    if (isfinite(r->leakage_m3_s) && !seen->s->search->air->unmodelled[i])
      add(seen, SIGHT_ROOM, i, AIR_ROOM_LEAK, &r->leakage_pm_m3_s);
    for (int k = 0; k < r->keep_count; k++) {
      const struct facility_keep *keep = r->keeps[k].keep;

      if (r->keeps[k].known)
        judge(add(seen, SIGHT_OVER, i, keep->over, &r->keeps[k].actual_pm_Pa), &r->keeps[k].odds,
              keep->has_least ? keep->least_Pa - f->met_tolerance_Pa : (double)NAN,
              keep->has_most ? keep->most_Pa + f->met_tolerance_Pa : (double)NAN);
      else
        r->keeps[k].odds.why = "the pressure is not known";
    }
  }
}

static void add_station(struct seen *seen, int i)
{
  const struct facility_station *s = &seen->s->f->stations[i];
  struct air_station *out = &seen->s->answer->stations[i];
  const struct air *air = seen->s->search->air;
  struct sight *flow = add(seen, SIGHT_FLOW, air->station_link[i], 0, &out->flow_pm_m3_s);
  struct sight *face =
      out->has_face_velocity ? add(seen, SIGHT_FACE, i, 0, &out->face_velocity_pm_m_s) : NULL;

  flow->causes_out = &out->flow_causes;
  if (s->criterion < 0)
    return;

  const struct facility_criterion *c = &seen->s->f->criteria[s->criterion];
  struct sight *judged = c->of == FACILITY_OF_FLOW ? flow : face;

  if (out->has_verdict && judged && air_station_works(air, seen->s->search->scene, i))
    judge(judged, &out->odds, c->has_low ? c->low : (double)NAN,
          c->has_high ? c->high : (double)NAN);
  else
    out->odds.why = "nobody works at it now: there is nothing to judge";
}

static void add_fan(struct seen *seen, int i)
{
  struct air_fan *out = &seen->s->answer->fans[i];
  const struct air *air = seen->s->shadow.air;
  struct fan_law *law = &seen->fans[i];
  int link = air->fan_link[i];

  add(seen, SIGHT_FLOW, link, 0, &out->flow_pm_m3_s);
  if (out->running == 0)
    return;
  add(seen, SIGHT_RISE, i, 0, &out->rise_pm_Pa);
  law->rise_Pa = net_rise_Pa(air->net, link);
  law->flow_kg_s = net_flow_kg_s(air->net, link);
  law->moves = net_fan_slopes(air->net, link, &law->rise_per_kg_s, &law->rise_per_speed_Pa);
  if (law->moves)
    add(seen, SIGHT_SPEED, i, 0, &out->speed_pm_ratio);
  else
    out->speed_pm_ratio = 0.0; /* as written */
}

static void add_plant(struct seen *seen)
{
  const struct facility *f = seen->s->f;
  const struct air *air = seen->s->shadow.air;

  for (int i = 0; i < f->door_count; i++)
    if (seen->s->answer->doors[i].known) {
      add(seen, SIGHT_FLOW, air->door_link[i], 0, &seen->s->answer->doors[i].flow_pm_m3_s);
      add(seen, SIGHT_OVER, f->doors[i].from, f->doors[i].to,
          &seen->s->answer->doors[i].drop_pm_Pa);
    }
  for (int i = 0; i < f->fan_count; i++)
    add_fan(seen, i);
  for (int i = 0; i < f->supply_count; i++) {
    struct air_supply *out = &seen->s->answer->supplies[i];

    add(seen, SIGHT_GIVEN, i, 0, &out->flow_pm_m3_s);
    for (int j = 0; j < f->supplies[i].feed_count; j++)
      add(seen, SIGHT_FLOW, air->feed_link[i][j], 0, &out->feeds[j].flow_pm_m3_s);
  }
}

static size_t most_sights(const struct facility *f)
{
  size_t count = 1 + 4 * (size_t)f->room_count + 2 * (size_t)f->station_count +
                 2 * (size_t)f->door_count + 3 * (size_t)f->fan_count + (size_t)f->supply_count +
                 (size_t)air_feed_count(f);

  for (int i = 0; i < f->room_count; i++)
    count += (size_t)f->rooms[i].keep_count;
  return count;
}

struct seen *seen_new(struct sure *s)
{
  struct arena *arena = s->search->arena;
  struct seen *seen = ARENA_NEW(arena, struct seen);

  if (!seen)
    return NULL;
  seen->s = s;
  seen->sights = ARENA_ARRAY(arena, struct sight, most_sights(s->f));
  seen->room_m3_s = ARENA_ARRAY(arena, double, (size_t)s->f->room_count *AIR_ROOM_PARTS + 1);
  seen->fans = ARENA_ARRAY(arena, struct fan_law, (size_t)s->f->fan_count + 1);
  if (!seen->sights || !seen->room_m3_s || !seen->fans)
    return NULL;
  add_rooms(seen);
  add_plant(seen);
  for (int i = 0; i < s->f->station_count; i++)
    add_station(seen, i);
  sum_rooms(seen);
  for (int i = 0; i < seen->count; i++)
    seen->sights[i].before = look(seen, &seen->sights[i]);
  return seen;
}

/* ---- one figure after another ---- */

/* Pa, m3/s, m/s or a ratio: what a solve leaves.  No change is told from it. */
static const double least_change = 1e-9;

static void blame(struct air_causes *causes, int input, double slope)
{
  int at = causes->count;

  while (at > 0 && numeric_exceeds(fabs(slope), fabs(causes->list[at - 1].part_si), least_change))
    at--;
  if (slope == 0.0 || at == AIR_CAUSES_MAX)
    return;
  if (causes->count < AIR_CAUSES_MAX)
    causes->count++;
  for (int k = causes->count - 1; k > at; k--)
    causes->list[k] = causes->list[k - 1];
  causes->list[at] = (struct air_cause){.input = input, .raises = slope > 0.0, .part_si = slope};
}

void seen_moved(struct seen *seen, int input)
{
  sum_rooms(seen);
  for (int i = 0; i < seen->count; i++) {
    struct sight *t = &seen->sights[i];
    double slope = t->kind == SIGHT_SPEED ? speed_slope(seen, t, input)
                                          : (look(seen, t) - t->before) / sure_step_ratio;

    if (fabs(slope) * sure_step_ratio < least_change)
      continue;
    sure_add(&t->sums, slope);
    if (t->odds || t->causes_out)
      blame(&t->causes, input, slope);
  }
}

/* ---- how likely ---- */

/* Of a value within its limits: normal, its ± being two of its standard deviations. */
static double within_ratio(double value, double low, double high, double root)
{
  const double sigma = 0.5 * root;
  double below = 0.0, up_to = 1.0;

  if (sigma <= 0.0)
    return !(value < low) && !(value > high) ? 1.0 : 0.0;
  if (!isnan(low))
    below = numeric_normal_below_ratio((low - value) / sigma);
  if (!isnan(high))
    up_to = numeric_normal_below_ratio((high - value) / sigma);
  return fmax(0.0, up_to - below);
}

/* A part in less than this of the square of a ± is not to blame. */
static const double least_blame_ratio = 1e-3;

static struct air_causes with_shares(struct air_causes causes, double squares)
{
  int kept = 0;

  for (int k = 0; k < causes.count; k++) {
    causes.list[k].share_ratio = causes.list[k].part_si * causes.list[k].part_si / squares;
    kept += causes.list[k].share_ratio >= least_blame_ratio;
  }
  causes.count = kept;
  return causes;
}

double air_cause_after_si(const struct facility *facility, const struct air_cause *cause,
                          double plus_minus_si)
{
  const struct facility_input *in = &facility->inputs[cause->input];
  double left = fmin(1.0, in->at_best_si / in->plus_minus_si), part = fabs(cause->part_si);

  if (facility->doubts_at_worst)
    return plus_minus_si - part * (1.0 - left);
  return sqrt(fmax(0.0, plus_minus_si * plus_minus_si - part * part * (1.0 - left * left)));
}

void seen_give(struct seen *seen)
{
  const double rounding_ratio = 1e-6; /* as a flow counts as reached, outcome.c */

  for (int i = 0; i < seen->count; i++) {
    struct sight *t = &seen->sights[i];
    double slack = t->kind == SIGHT_OVER ? 0.0 : rounding_ratio;

    *t->pm_out = sure_combined(seen->s, &t->sums);
    t->causes = with_shares(t->causes, t->sums.squares);
    if (t->causes_out)
      *t->causes_out = t->causes;
    if (!t->odds)
      continue;
    t->odds->causes = t->causes;
    t->odds->known = true;
    t->odds->met_ratio = t->odds->met_least_ratio = within_ratio(
        t->before, t->low * (1.0 - slack), t->high * (1.0 + slack), sqrt(t->sums.squares));
  }
}

/* ---- of a pool that nothing is missed, and what that means for keeps and stations ---- */

void sure_odds_of_pool(struct sure *s, int pool)
{
  struct air_pool *out = &s->answer->pools[pool];
  const double *slope = &s->slope[pool * s->n];
  struct air_causes causes = {.count = 0};

  if (!out->spare.known) {
    out->odds.why = s->shadow.cut ? "the purse of solves ended first"
                                  : "no limit lies within reach of its stations";
    return;
  }
  for (int i = 0; i < s->n; i++)
    blame(&causes, i, slope[i]);
  out->odds.known = true;
  out->odds.met_ratio = out->odds.met_least_ratio =
      within_ratio(out->spare.flow_m3_s, 0.0, NAN, out->spare.root_m3_s);
  out->odds.causes = with_shares(causes, out->spare.root_m3_s * out->spare.root_m3_s);
}

/* Past that limit, does what a keep or a station's criterion asks begin to move on its own? */
static bool takes_along(enum air_miss_kind binds, enum air_miss_kind what)
{
  return what == AIR_MISS_STATION ? binds == AIR_MISS_FAN || binds == AIR_MISS_STATION
                                  : binds != AIR_MISS_DECLARED;
}

/* Slopes end where a pool meets its limit: past it what it held may be missed, however small the
 * slopes before it.  Where it is past it already, they are those past it. */
static void lessen(const struct sure *s, struct air_odds *odds, const struct air_miss *miss)
{
  for (int p = 0; odds->known && p < s->answer->pool_count; p++) {
    const struct air_pool *pool = &s->answer->pools[p];

    if (pool->odds.known && pool->spare.flow_m3_s > 0.0 &&
        takes_along(s->binds[p].kind, miss->kind) && air_pool_has_miss(s->f, p, miss))
      odds->met_least_ratio =
          fmin(odds->met_least_ratio, fmax(0.0, odds->met_ratio + pool->odds.met_ratio - 1.0));
  }
}

static bool takes_part(const struct sure *s, int pool, const struct air_miss *miss)
{
  for (int q = 0; q < s->answer->pool_count; q++)
    if ((q == pool || air_pools_share(s->f, pool, q)) && air_pool_has_miss(s->f, q, miss))
      return true;
  return false;
}

static void no_better_than(struct air_odds *odds, const struct air_odds *other)
{
  if (!odds->known || !other->known || other->met_ratio >= odds->met_ratio)
    return;
  *odds = *other;
  odds->met_least_ratio = odds->met_ratio;
}

/* Pools that share a station share what is missed.  Each looked for its limit another way: the
 * nearest one that any of them found counts for all it concerns. */
static void share_limits(struct sure *s)
{
  struct air_odds shared[AIR_POOLS_MAX];
  int count = s->answer->pool_count;

  for (int p = 0; p < count; p++) {
    shared[p] = s->answer->pools[p].odds;
    for (int q = 0; q < count; q++)
      if (takes_part(s, p, &s->binds[q]))
        no_better_than(&shared[p], &s->answer->pools[q].odds);
  }
  for (int p = 0; p < count; p++)
    s->answer->pools[p].odds = shared[p];
}

/* A pool in which nothing is missed misses no keep. */
static void count_keeps_in(struct sure *s, int pool)
{
  for (int i = 0; i < s->f->room_count; i++)
    if (takes_part(s, pool, &(struct air_miss){AIR_MISS_KEEP, i, 0, 0, 0}))
      for (int k = 0; k < s->answer->rooms[i].keep_count; k++)
        no_better_than(&s->answer->pools[pool].odds, &s->answer->rooms[i].keeps[k].odds);
}

void sure_lessen_odds(struct sure *s)
{
  share_limits(s);
  for (int i = 0; i < s->f->room_count; i++)
    for (int k = 0; k < s->answer->rooms[i].keep_count; k++)
      lessen(s, &s->answer->rooms[i].keeps[k].odds, &(struct air_miss){AIR_MISS_KEEP, i, k, 0, 0});
  for (int i = 0; i < s->f->station_count; i++)
    lessen(s, &s->answer->stations[i].odds, &(struct air_miss){AIR_MISS_STATION, i, 0, 0, 0});
  for (int p = 0; p < s->answer->pool_count; p++)
    count_keeps_in(s, p);
}
