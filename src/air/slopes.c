/*
 * A copy of the suite moved by a little of one figure, and what that changes.
 */
#include "air/sure_impl.h"

#include <math.h>

/* A figure is moved by this share of its ±: far above what a solve leaves, far
 * below where a law bends. */
const double sure_step_ratio = 1e-4;
/* The slope is taken this share of the demand beyond the limit, where it is missed. */
static const double aside_ratio = 5e-4;

/* ---- one solve of the copy ---- */

bool sure_solve(struct sure *s, const struct scene *scene)
{
  struct air *air = s->shadow.air;
  struct net_report report;

  if (s->shadow.solves_left <= 0) {
    s->shadow.cut = true;
    return false;
  }
  s->shadow.solves_left--;
  air_network_set_scene(air, scene);
  air->failed = net_solve(air->net, &report) == NET_FAILED;
  return !air->failed;
}

/* Moves one figure and says whether a solve could tell. */
bool sure_move(struct sure *s, int input, double by_ratio)
{
  facility_move(s->search->air->moved, input, by_ratio);
  return air_values_moved(s->shadow.air, &s->f->inputs[input]);
}

/* Moves all of them against a slope, to the doubtful end; 0 puts them back. */
void sure_move_all(struct sure *s, const double *slope, double root)
{
  for (int i = 0; i < s->n; i++) {
    double by_ratio = 0.0;

    if (slope && slope[i] != 0.0 && root > 0.0)
      by_ratio = s->f->doubts_at_worst ? -copysign(1.0, slope[i]) : -slope[i] / root;
    facility_move(s->search->air->moved, i, by_ratio);
  }
  air_values_forget(s->shadow.air);
}

/* ---- putting ± together ---- */

void sure_add(struct sums *sums, double slope)
{
  sums->squares += slope * slope;
  sums->sizes += fabs(slope);
}

double sure_combined(const struct sure *s, const struct sums *sums)
{
  return s->f->doubts_at_worst ? sums->sizes : sqrt(sums->squares);
}

struct sums sure_sums_of(const struct sure *s, const double *slope)
{
  struct sums sums = {0.0, 0.0};

  for (int i = 0; i < s->n; i++)
    sure_add(&sums, slope[i]);
  return sums;
}

/* ---- the distance from a limit ---- */

static double followed_m3_s(const struct air *air, const struct air_miss *m)
{
  int link = air->feed_link[m->index][m->sub];
  const struct net_link *l = &air->links[link];
  double asked_kg_s = l->set_kg_s;

  for (int i = 0; i < l->follow_count; i++)
    asked_kg_s += net_flow_kg_s(air->net, l->follows[i]);
  return asked_kg_s / air->density_kg_m3[facility_node_plenum(air->facility, m->index)];
}

static double feed_margin(const struct air *air, const struct air_miss *m)
{
  const struct facility_feed *feed = &air->facility->supplies[m->index].feeds[m->sub];
  double flow_m3_s = air_link_flow_m3_s(air, air->feed_link[m->index][m->sub]);

  if (feed->form == FACILITY_FEED_HOLDS)
    return net_pressure_Pa(air->net, feed->room) - net_pressure_Pa(air->net, feed->over) -
           feed->hold_Pa;
  return flow_m3_s - (feed->form == FACILITY_FEED_FLOW ? feed->flow_m3_s : followed_m3_s(air, m));
}

static double unit_margin(const struct air *air, int supply)
{
  double given = 0.0;

  for (int j = 0; j < air->facility->supplies[supply].feed_count; j++)
    given += air_link_flow_m3_s(air, air->feed_link[supply][j]);
  return air->facility->supplies[supply].most_m3_s - given;
}

static double station_margin(const struct air *air, const struct scene *scene,
                             const struct air_miss *m)
{
  const struct facility_station *s = &air->facility->stations[m->index];
  bool by_criterion = s->criterion >= 0 && air_station_works(air, scene, m->index);
  bool below = m->actual < m->wanted;
  double value = m->sub ? air_link_flow_m3_s(air, air->station_link[m->index])
                        : air_face_velocity_m_s(air, scene, m->index);
  double limit = scene_station_ask_m3_s(air->facility, scene, m->index);

  if (by_criterion && below)
    limit = air->facility->criteria[s->criterion].low;
  else if (by_criterion)
    limit = air->facility->criteria[s->criterion].high;
  return below ? value - limit : limit - value;
}

double sure_declared_margin(const struct air *air, const struct scene *scene, int pool)
{
  struct air_declared d = air_pool_declared(air, scene, pool, NULL);

  return d.capacity_m3_s * air_pool_short_ratio(air->facility, pool) - d.demand_m3_s;
}

/* How far the copy, as last solved, is from missing this: negative when missed.  In the
 * unit of the miss. */
static double margin(const struct air *air, const struct scene *scene, const struct air_miss *m)
{
  const struct facility *f = air->facility;
  double over;

  switch (m->kind) {
  case AIR_MISS_KEEP:
    over = net_pressure_Pa(air->net, m->index) -
           net_pressure_Pa(air->net, f->rooms[m->index].keeps[m->sub].over);
    return m->actual < m->wanted ? over - m->wanted : m->wanted - over;
  case AIR_MISS_FEED:
    return feed_margin(air, m);
  case AIR_MISS_UNIT:
    return unit_margin(air, m->index);
  case AIR_MISS_FAN:
    over = net_pressure_Pa(air->net, f->fans[m->index].hold_node) -
           net_pressure_Pa(air->net, f->fans[m->index].hold_over);
    return m->actual > m->wanted ? f->fans[m->index].hold_Pa - over
                                 : over - f->fans[m->index].hold_Pa;
  case AIR_MISS_STATION:
    return station_margin(air, scene, m);
  case AIR_MISS_DECLARED:
    return sure_declared_margin(air, scene, m->index);
  case AIR_MISS_UNKNOWN:
    break;
  }
  return NAN;
}

/* ---- what is left in a pool, per ± of each figure ---- */

struct
    at_edge { /* a little beyond the limit: the extra flow there and the distance from the limit */
  const struct scene *scene;
  int pool;
  const struct air_edge *edge;
  double share, extra_m3_s, margin;
  double extra_per_share_m3_s, margin_per_share;
};

static bool look(struct sure *s, const struct at_edge *at, double share, double *extra_m3_s,
                 double *margin_out)
{
  *extra_m3_s = air_edge_scene(&s->shadow, at->scene, at->pool, at->edge->way, share);
  if (!sure_solve(s, &s->shadow.trial))
    return false;
  *margin_out = margin(s->shadow.air, &s->shadow.trial, &at->edge->miss);
  return isfinite(*margin_out);
}

static bool stand_at_edge(struct sure *s, struct at_edge *at)
{
  bool down = at->edge->way == AIR_WAY_DOWN;
  double all = fabs(air_edge_scene(&s->shadow, at->scene, at->pool, at->edge->way, 1.0));
  double demand = air_pool_demand_m3_s(s->shadow.air, at->scene, at->pool);
  double aside = all > 0.0 ? aside_ratio * fmax(demand, all) / all : aside_ratio;
  double extra[2], margins[2], half;

  if (down)
    aside = fmin(aside, 0.5 * at->edge->share);
  at->share = at->edge->share + (down ? -aside : aside);
  half = 0.1 * aside;
  if (half <= 0.0 || !look(s, at, at->share - half, &extra[0], &margins[0]) ||
      !look(s, at, at->share + half, &extra[1], &margins[1]) ||
      !look(s, at, at->share, &at->extra_m3_s, &at->margin))
    return false;
  at->extra_per_share_m3_s = (extra[1] - extra[0]) / (2.0 * half);
  at->margin_per_share = (margins[1] - margins[0]) / (2.0 * half);
  return down ? at->margin_per_share > 0.0 : at->margin_per_share < 0.0;
}

/* Does the station of that figure ask for something else than in the last solve? */
static bool asks_otherwise(struct sure *s, const struct at_edge *at, int input)
{
  const struct facility_input *in = &s->f->inputs[input];
  struct air_search *shadow = &s->shadow;

  if (in->move < FACILITY_MOVE_STATION_CONSTANT)
    return false;
  air_edge_scene(shadow, at->scene, at->pool, at->edge->way, at->share);
  return air_station_changed(&shadow->air->last.stations[in->index],
                             &shadow->trial.stations[in->index]);
}

/* The change of what is left, per ± of one figure; false where a solve failed. */
static bool slope_of(struct sure *s, const struct at_edge *at, int input, double *slope_out)
{
  bool is_declared = at->edge->miss.kind == AIR_MISS_DECLARED;
  enum facility_move what = s->f->inputs[input].move;
  bool is_limit =
      at->edge->miss.kind == AIR_MISS_UNIT && what == FACILITY_MOVE_SUPPLY_MOST; /* no law moves */
  bool moved = sure_move(s, input, sure_step_ratio), solved = true;
  double extra = at->extra_m3_s, now = at->margin;

  if (moved || is_limit || asks_otherwise(s, at, input))
    solved = look(s, at, at->share, &extra, &now);
  else if (is_declared)
    now = margin(s->shadow.air, &s->shadow.trial, &at->edge->miss);
  *slope_out = ((extra - at->extra_m3_s) -
                at->extra_per_share_m3_s * (now - at->margin) / at->margin_per_share) /
               sure_step_ratio;
  sure_move(s, input, 0.0);
  return solved;
}

bool sure_slopes_at(struct sure *s, const struct scene *scene, int pool,
                    const struct air_edge *edge, double *slope)
{
  struct at_edge at = {.scene = scene, .pool = pool, .edge = edge};

  if (!stand_at_edge(s, &at))
    return false;
  for (int i = 0; i < s->n; i++)
    if (!slope_of(s, &at, i, &slope[i]))
      return false;
  return true;
}
