#include "net/naive_impl.h"

#include "base/arena.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

/*
 * The second opinion.  Everything here is written again, plainly, from the law
 * definitions in net.h and docs/physics-networks.md; it includes nothing of the
 * solver's and must stay that way.
 */

#define KNEE_PA 0.01

/* Colebrook as it stands, put into itself: x = 1/sqrt(f). */
static double colebrook_again(double x, double re, double relative)
{
  return -2 * log10(relative / 3.7 + 2.51 * x / re);
}

/* Every third step jumps to where the last two were heading (Aitken). */
static double friction_factor(double re, double relative)
{
  double laminar = 64 / re, x = 8;
  if (re <= 2300)
    return laminar;
  for (int i = 0; i < 50; i++) {
    double once = colebrook_again(x, re, relative), twice = colebrook_again(once, re, relative);
    double bend = twice - 2 * once + x;
    double next = bend == 0 ? twice : twice - (twice - once) * (twice - once) / bend;
    bool still = fabs(twice - once) <= 1e-9 * twice;
    x = next;
    if (still)
      break;
  }
  if (re >= 4000)
    return 1 / (x * x);
  double t = (re - 2300) / 1700, w = 3 * t * t - 2 * t * t * t;
  return laminar + w * (1 / (x * x) - laminar);
}

static double member_drop(const struct net_member *member, double g)
{
  int way = g < 0 ? 1 : 0;
  double size = fabs(g), drop;
  if (size == 0)
    return 0;
  if (member->kind == NET_DARCY) {
    double speed = size / (member->density_kg_m3[way] * member->area_m2);
    double re = size * member->diameter_m / (member->area_m2 * member->viscosity_Pa_s);
    double f = friction_factor(re, member->roughness_m / member->diameter_m);
    drop = (f * member->length_m / member->diameter_m + member->loss_ratio) *
           member->density_kg_m3[way] * speed * speed / 2;
  } else {
    double k = member->k[way];
    drop = k * (member->m == 2 ? size * size : pow(size, member->m));
    if (k > 0 && drop < KNEE_PA) {
      double x = size / pow(KNEE_PA / k, 1 / member->m);
      drop = KNEE_PA * ((3 - member->m) / 2 * x + (member->m - 1) / 2 * x * x * x);
    }
  }
  return way ? -drop : drop;
}

static double path_drop(const struct net_link *link, double g)
{
  double drop = 0;
  for (int i = 0; i < link->member_count; i++)
    drop += member_drop(&link->members[i], g);
  return drop;
}

static bool path_resists(const struct net_link *link)
{
  for (int i = 0; i < link->member_count; i++)
    if (link->members[i].kind == NET_DARCY || link->members[i].k[0] > 0 ||
        link->members[i].k[1] > 0)
      return true;
  return false;
}

/* Members that add up to one k |g|^m, all of them above their knees at this drop: its flow; else
 * NaN. */
static double closed_flow(const struct net_link *link, double drop)
{
  double k = 0, least = INFINITY;
  int way = drop < 0 ? 1 : 0;
  for (int i = 0; i < link->member_count; i++) {
    const struct net_member *member = &link->members[i];
    if (member->kind != NET_POWER || (member->m != 2 && link->member_count > 1))
      return (double)NAN;
    k += member->k[way];
    least = fmin(least, member->k[way]);
  }
  if (!(k > 0) || fabs(drop) * (least / k) < KNEE_PA)
    return (double)NAN;
  double m = link->members[0].m, size = fabs(drop) / k;
  double g = m == 2 ? sqrt(size) : pow(size, 1 / m);
  return way ? -g : g;
}

/* Flow that a path lets through at a drop: closed form where there is one, else
 * secants from the solver's own flow, kept in a bracket. */
static double path_flow(const struct net_link *link, double drop, double guess)
{
  double closed = closed_flow(link, drop);
  if (!isnan(closed))
    return closed;
  double low = -1e12, high = 1e12, g = guess, step = fmax(1e-7 * fabs(guess), 1e-10);
  for (int i = 0; i < 200; i++) {
    double off = drop - path_drop(link, g);
    if (off == 0)
      break;
    low = off > 0 ? g : low;
    high = off < 0 ? g : high;
    double slope = (path_drop(link, g + step) - (drop - off)) / step;
    double next = g + off / slope;
    if (!(next > low && next < high))
      next = (fmax(low, -1e6) + fmin(high, 1e6)) / 2;
    if (fabs(next - g) <= 1e-6 * fabs(g)) /* the error squares, and a chord errs by 1e-7 of it */
      return next;
    g = next;
  }
  return g;
}

enum { POINTS_MAX = 256 };

static double chord(const struct net_fan *fan, int i)
{
  return (fan->rise_Pa[i + 1] - fan->rise_Pa[i]) / (fan->flow_m3_s[i + 1] - fan->flow_m3_s[i]);
}

/* Slope of the curve at point i by Fritsch and Carlson's harmonic rule. */
static double monotone_slope(const struct net_fan *fan, int i)
{
  int n = fan->point_count;
  const double *x = fan->flow_m3_s;
  if (n == 2)
    return chord(fan, 0);
  if (i == 0 || i == n - 1) {
    double near = i == 0 ? chord(fan, 0) : chord(fan, n - 2);
    double slope = 1.5 * near - 0.5 * monotone_slope(fan, i == 0 ? 1 : n - 2);
    return slope * near > 0 ? slope : 0;
  }
  double left = chord(fan, i - 1), right = chord(fan, i), a = x[i] - x[i - 1], b = x[i + 1] - x[i];
  if (left * right <= 0)
    return 0;
  return 3 * (a + b) / ((2 * b + a) / left + (2 * a + b) / right);
}

/* Second derivatives of the natural spline, by Gauss-Seidel: slow, plain, and not the solver's way. */
static void spline_seconds(const struct net_fan *fan, double *second)
{
  int n = fan->point_count;
  const double *x = fan->flow_m3_s;
  for (int i = 0; i < n; i++)
    second[i] = 0;
  for (int sweep = 0; sweep < 200; sweep++) {
    double moved = 0;
    for (int i = 1; i < n - 1; i++) {
      double a = x[i] - x[i - 1], b = x[i + 1] - x[i];
      double right = 6 * (chord(fan, i) - chord(fan, i - 1));
      double next = (right - a * second[i - 1] - b * second[i + 1]) / (2 * (a + b));
      moved = fmax(moved, fabs(next - second[i]) / (1 + fabs(next)));
      second[i] = next;
    }
    if (moved < 1e-16)
      break;
  }
}

static double table_rise(const struct net_fan *fan, double x, int i)
{
  const double *at = fan->flow_m3_s, *rise = fan->rise_Pa;
  double h = at[i + 1] - at[i], t = (x - at[i]) / h;
  double straight = rise[i] + t * (rise[i + 1] - rise[i]);
  if (fan->kind == NET_CURVE_TABLE_LINEAR)
    return straight;
  if (fan->kind == NET_CURVE_TABLE_SPLINE) {
    double second[POINTS_MAX] = {0};
    spline_seconds(fan, second);
    double u = 1 - t;
    return straight + h * h / 6 * ((u * u * u - u) * second[i] + (t * t * t - t) * second[i + 1]);
  }
  double s0 = monotone_slope(fan, i) * h, s1 = monotone_slope(fan, i + 1) * h;
  return rise[i] * (1 + 2 * t) * (1 - t) * (1 - t) + s0 * t * (1 - t) * (1 - t) +
         rise[i + 1] * t * t * (3 - 2 * t) + s1 * t * t * (t - 1);
}

/* Rise of one unit at full speed, also outside its table. */
static double unit_rise(const struct net_fan *fan, double x)
{
  bool table = fan->kind != NET_CURVE_A_MINUS_B_Q2;
  int n = fan->point_count;
  double first = table ? fan->flow_m3_s[0] : 0,
         last = table ? fan->flow_m3_s[n - 1] : (double)INFINITY;
  if (!table && x >= 0)
    return fan->a_Pa - fan->b_Pa_s2_m6 * x * x;
  if (!table) {
    double top = fmax(fan->a_Pa, 1e-3);
    double span = fan->b_Pa_s2_m6 > 0 ? sqrt(top / fan->b_Pa_s2_m6) : 1;
    return fan->a_Pa - 20 * top / span * x;
  }
  double top = 1e-3;
  for (int i = 0; i < n; i++)
    top = fmax(top, i < n - 1 || n == 1 ? fabs(fan->rise_Pa[i]) : 0);
  double scale = top / fmax(last, 1e-9), nudge = 1e-6 * (last - first);
  if (x > last) {
    double slope = (table_rise(fan, last, n - 2) - table_rise(fan, last - nudge, n - 2)) / nudge;
    if (fan->kind == NET_CURVE_TABLE_LINEAR)
      slope = chord(fan, n - 2);
    if (fan->kind == NET_CURVE_TABLE_CUBIC)
      slope = monotone_slope(fan, n - 1);
    return fan->rise_Pa[n - 1] + fmin(slope, -0.1 * scale) * (x - last);
  }
  if (x < first) {
    double slope = (table_rise(fan, first + nudge, 0) - table_rise(fan, first, 0)) / nudge;
    if (fan->kind == NET_CURVE_TABLE_LINEAR)
      slope = chord(fan, 0);
    if (fan->kind == NET_CURVE_TABLE_CUBIC)
      slope = monotone_slope(fan, 0);
    slope = fmin(slope, 0);
    return x >= 0 ? fan->rise_Pa[0] + slope * (x - first)
                  : fan->rise_Pa[0] - slope * first - 20 * scale * x;
  }
  int i = 0;
  while (i < n - 2 && x >= fan->flow_m3_s[i + 1])
    i++;
  return table_rise(fan, x, i);
}

static double fan_rise(const struct net_fan *fan, double speed, double g)
{
  double unit = g / (fan->density_kg_m3 * fan->running * speed);
  return fan->rise_factor * speed * speed * unit_rise(fan, unit);
}

/* Flow of a fan near a given one that makes the rise fit: one secant step, as the curve may have
 * several such flows. */
static double fan_flow(const struct net_fan *fan, double speed, double drop, double near)
{
  double step = 1e-5 * fmax(fabs(near), 1e-4), off = -drop - fan_rise(fan, speed, near);
  double slope =
      (fan_rise(fan, speed, near + step) - fan_rise(fan, speed, near - step)) / (2 * step);
  if (fabs(slope) < 1e-6)
    return fabs(off) < 1e-6 ? near : near + 1;
  return near + off / slope;
}

static double pressure_of(const double *pressure_Pa, int node)
{
  return node == NET_NONE ? 0 : pressure_Pa[node];
}

enum { NEAR_PA_INVERSE = 1000000 }; /* conditions on drops are checked to a micropascal */

static bool about(double a, double b)
{
  double tolerance = 1.0 / NEAR_PA_INVERSE + 1e-9 * fmax(fabs(a), fabs(b));
  return fabs(a - b) <= tolerance;
}

static bool about_flow(double a, double b)
{
  return fabs(a - b) <= 1e-9 + 1e-9 * fabs(b);
}

/* Set flow: asked for, or all that the path lets through, or none against the drop. */
static bool limit_met(const struct net_link *link, double drop, double g, double limit)
{
  double way = limit < 0 ? -1 : 1, used = path_drop(link, g);
  if (!isfinite(drop) || (about_flow(g, limit) && !path_resists(link)))
    return true;
  if (about_flow(g, limit) && way * (drop - used) >= -1e-6 - 1e-9 * fabs(drop))
    return true;
  if (way * g > -1e-9 && way * g <= way * limit + 1e-9 &&
      (about(drop, used) || about_flow(path_flow(link, drop, g), g)))
    return true;
  return fabs(g) < 1e-12 && way * drop <= 1e-6;
}

static bool hold_met(const struct net_link *link, const double *p, double drop, double g)
{
  double got = pressure_of(p, link->held) - pressure_of(p, link->over);
  bool inside = g >= link->least_kg_s - 1e-9 && g <= link->most_kg_s + 1e-9;
  if (!isfinite(got) || !isfinite(drop))
    return true;
  bool passes = !path_resists(link) || g <= 0 || drop - path_drop(link, g) >= -1e-6 - 1e-9 * drop;
  if (inside && passes && about(got, link->hold_Pa))
    return true;
  if (passes && (about_flow(g, link->least_kg_s) || about_flow(g, link->most_kg_s)))
    return true;
  if (!path_resists(link))
    return false;
  return about(path_drop(link, g), drop) || about_flow(path_flow(link, drop, g), g) ||
         (fabs(g) < 1e-12 && drop <= 1e-6);
}

static bool follow_met(const struct net_problem *problem, const struct net_link *link,
                       const double *flow_kg_s)
{
  double sum = link->set_kg_s;
  for (int i = 0; i < link->follow_count; i++)
    sum += flow_kg_s[link->follows[i]];
  return about_flow(flow_kg_s[link - problem->links],
                    fmin(fmax(sum, link->least_kg_s), link->most_kg_s));
}

/* Some speed within the limits gives this rise; a humped curve may need a search. */
static bool some_speed_gives(const struct net_fan *fan, double g, double rise, double slack)
{
  double low = INFINITY, high = -INFINITY;
  for (int i = 0; i <= 64; i++) {
    double speed =
        fan->least_speed_ratio + (fan->most_speed_ratio - fan->least_speed_ratio) * i / 64.0;
    if (!(speed > 0))
      continue;
    low = fmin(low, fan_rise(fan, speed, g));
    high = fmax(high, fan_rise(fan, speed, g));
  }
  return rise <= high + slack && (rise >= low - slack || !(fan->least_speed_ratio > 0));
}

/* The flow of a fan that changes its speed: free while it holds its pressure. */
static double held_fan_flow(const struct net_fan *fan, const double *p, double drop, double g,
                            bool *met)
{
  double got = pressure_of(p, fan->held) - pressure_of(p, fan->over);
  double most = fan_rise(fan, fan->most_speed_ratio, g);
  double least =
      fan->least_speed_ratio > 0 ? fan_rise(fan, fan->least_speed_ratio, g) : -(double)INFINITY;
  double slack = 1e-6 + 1e-9 * fabs(drop);
  if (about(got, fan->hold_Pa) &&
      ((-drop <= most + slack && -drop >= least - slack) || some_speed_gives(fan, g, -drop, slack)))
    return g;
  if (!(fan->least_speed_ratio > 0) && fabs(g) < 1e-12)
    return g;
  double at =
      fabs(-drop - most) < fabs(-drop - least) ? fan->most_speed_ratio : fan->least_speed_ratio;
  if (!(at > 0)) {
    *met = false;
    return g;
  }
  return fan_flow(fan, at, drop, g);
}

static double link_flow(const struct net_problem *problem, int l, const double *p,
                        const double *flow_kg_s, bool *met)
{
  const struct net_link *link = &problem->links[l];
  double g = flow_kg_s[l], drop = p[link->from] - p[link->to] + link->lift_Pa;
  bool known = isfinite(drop);
  switch (link->law) {
  case NET_SHUT:
    *met = g == 0;
    return 0;
  case NET_RESIST:
    if (known && !path_resists(link))
      *met = about(drop, 0);
    return known && path_resists(link) ? path_flow(link, drop, g) : g;
  case NET_FAN:
    if (!(link->fan->speed_ratio > 0) && !link->fan->holds) {
      *met = g == 0;
      return 0;
    }
    if (known && link->fan->holds)
      return held_fan_flow(link->fan, p, drop, g, met);
    return known ? fan_flow(link->fan, link->fan->speed_ratio, drop, g) : g;
  case NET_SET_FLOW:
    *met = limit_met(link, drop, g, link->set_kg_s);
    return g;
  case NET_HOLD:
    *met = hold_met(link, p, drop, g);
    return g;
  case NET_FOLLOW:
  default:
    *met = follow_met(problem, link, flow_kg_s);
    return g;
  }
}

/* A link as short as it can be written, because memory is what the check costs. */
void naive_load(const struct net_problem *problem, int l, struct naive_link *out)
{
  const struct net_link *link = &problem->links[l];
  bool square = link->member_count == 1 && link->members[0].kind == NET_POWER &&
                link->members[0].m == 2 && link->members[0].k[0] > 0 && link->members[0].k[1] > 0;
  *out = (struct naive_link){.from = link->from, .to = link->to, .lift_Pa = link->lift_Pa};
  if (square && link->law == NET_RESIST)
    out->plain = NAIVE_SQUARE;
  if (link->law == NET_SET_FLOW && link->set_kg_s > 0 && path_resists(link)) {
    out->plain = NAIVE_VALVE;
    out->set_kg_s = link->set_kg_s;
    out->set_needs_Pa = path_drop(link, link->set_kg_s);
  }
  if (out->plain == NAIVE_SQUARE) {
    out->per_root_Pa[0] = 1 / sqrt(link->members[0].k[0]);
    out->per_root_Pa[1] = 1 / sqrt(link->members[0].k[1]);
  }
}

/* Does the drop agree with the law at this flow, as far as the pressures' own digits go?  A flow
 * made from such a drop through a near-zero resistance would be made of their rounding. */
static bool agrees(const struct net_link *link, const double *p, double drop, double g)
{
  double digits = 8 * 2.220446049250313e-16 * (fabs(p[link->from]) + fabs(p[link->to]));
  return fabs(drop - path_drop(link, g)) <= digits;
}

/* One square law, above its knee; anything else the long way. */
static double square_flow(const struct net_problem *problem, int l, const struct naive_link *link,
                          double drop, double near)
{
  double size = fabs(drop);
  if (size >= KNEE_PA) {
    double g = sqrt(size) * link->per_root_Pa[drop < 0];
    return drop < 0 ? -g : g;
  }
  return size >= 0 ? path_flow(&problem->links[l], drop, near) : near;
}

/* The work itself; `sum` holds node_count doubles, `links` what naive_load made of each link. */
double naive_work(const struct net_problem *problem, const struct naive_link *links,
                  const double *pressure_Pa, const double *flow_kg_s, double *sum,
                  int *worst_node_out, int *broken_link_out)
{
  double worst = 0;
  *worst_node_out = *broken_link_out = NET_NONE;
  for (int n = 0; n < problem->node_count; n++)
    sum[n] = problem->nodes[n].inflow_kg_s;
  for (int l = 0; l < problem->link_count; l++) {
    const struct naive_link *link = &links[l];
    double g = flow_kg_s[l];
    double drop = pressure_Pa[link->from] - pressure_Pa[link->to] + link->lift_Pa;
    bool met = true;
    if (link->plain == NAIVE_SQUARE)
      g = square_flow(problem, l, link, drop, g);
    else if (!(link->plain == NAIVE_VALVE && g == link->set_kg_s && drop >= link->set_needs_Pa))
      g = link_flow(problem, l, pressure_Pa, flow_kg_s, &met);
    if (fabs(g - flow_kg_s[l]) > 1e-11 && problem->links[l].law == NET_RESIST &&
        agrees(&problem->links[l], pressure_Pa, drop, flow_kg_s[l]))
      g = flow_kg_s[l];
    if (!met && *broken_link_out == NET_NONE)
      *broken_link_out = l;
    sum[link->from] -= g;
    sum[link->to] += g;
  }
  for (int n = 0; n < problem->node_count; n++) {
    if (fabs(sum[n]) <= worst || problem->nodes[n].fixed || !isfinite(pressure_Pa[n]))
      continue;
    worst = fabs(sum[n]);
    *worst_node_out = n;
  }
  return worst;
}

double net_naive_imbalance_kg_s(const struct net_problem *problem, const double *pressure_Pa,
                                const double *flow_kg_s, int *worst_node_out, int *broken_link_out)
{
  struct arena arena;
  arena_init(&arena, SIZE_MAX);
  double *sum = ARENA_ARRAY(&arena, double, (size_t)problem->node_count);
  struct naive_link *links = ARENA_ARRAY(&arena, struct naive_link, (size_t)problem->link_count);
  for (int l = 0; l < problem->link_count; l++)
    naive_load(problem, l, &links[l]);
  double worst =
      naive_work(problem, links, pressure_Pa, flow_kg_s, sum, worst_node_out, broken_link_out);
  arena_release(&arena);
  return worst;
}
