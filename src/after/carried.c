/*
 * What goes with the air: particles, which filters hold back, and a gas, which only fresh air takes
 * away.  Rooms with a volume mix perfectly; a node without one passes on what comes in.
 */
#include "after/after_impl.h"

#include "matter/matter.h"

#include <limits.h>
#include <math.h>
#include <string.h>

static const double hundredth = 0.01;
static const double longest_s = 86400; /* a clock that takes longer than a day is called never */
enum { SWEEPS_MAX = 200, CLOCK_ROOMS_MAX = 64 };
static const double usual_size_m =
    0.5e-6; /* of particles, where no room says: ISO 14644-1 gives limits
                                              for it in classes 3 to 9 */

static double size_m(const struct facility *f)
{
  for (int i = 0; i < f->room_count; i++)
    if (f->rooms[i].has_class)
      return f->rooms[i].class_size_m;
  return usual_size_m;
}

double after_outside_per_m3(const struct facility *f)
{
  return matter_class_limit_per_m3(f->after.outside_class, size_m(f));
}

double after_limit_per_m3(const struct facility *f, int room)
{
  return matter_class_limit_per_m3(f->rooms[room].class_number, f->rooms[room].class_size_m);
}

static bool stores(const struct facility *f, int node)
{
  return node < f->room_count && f->rooms[node].has_volume;
}

/* Outdoors, and what the file keeps as it is: corridors, nodes that no law reaches. */
static bool is_outside(const struct after_work *w, int node)
{
  const struct facility *f = w->f;
  int junction = node - f->room_count;

  if (node == facility_node_outdoors(f))
    return true;
  return (junction >= 0 && junction < f->junction_count && f->junctions[junction].has_pressure) ||
         (!air_drive_modelled(w->air, node) && !stores(f, node));
}

static double passes_ratio(const struct after_work *w, const struct air_drive_link *l,
                           bool filtered)
{
  const struct facility *f = w->f;

  if (!filtered)
    return 1.0;
  if (l->is_feed)
    return 1.0 - f->after.supply_filter_ratio;
  if (l->fan >= 0 && l->to < f->room_count && l->from < f->room_count)
    return 1.0 - f->after.fan_filter_ratio;
  return 1.0;
}

/* Sums what flows into each node, per second, with what is carried now. */
static void sum_inflow(struct after_work *w, bool filtered)
{
  int nodes = facility_node_count(w->f);

  memset(w->in_kg_s, 0, (size_t)nodes * sizeof *w->in_kg_s);
  memset(w->in_amount, 0, (size_t)nodes * sizeof *w->in_amount);
  for (int i = 0; i < air_drive_link_count(w->air); i++) {
    struct air_drive_link l = air_drive_link_at(w->air, i);
    int from = l.mass_kg_s >= 0.0 ? l.from : l.to, to = l.mass_kg_s >= 0.0 ? l.to : l.from;
    double g = fabs(l.mass_kg_s);

    if (g == 0.0)
      continue;
    w->in_kg_s[to] += g;
    w->in_amount[to] += g * w->carried[from] * passes_ratio(w, &l, filtered);
  }
}

/* Amount per kilogram in every node. */
static void spread(struct after_work *w, const double *amount, double outside_per_m3, bool filtered)
{
  const struct facility *f = w->f;
  int nodes = facility_node_count(f);

  for (int i = 0; i < nodes; i++) {
    double rho = air_drive_density_kg_m3(w->air, i);

    w->carried[i] = stores(f, i)       ? amount[i] / (rho * f->rooms[i].volume_m3)
                    : is_outside(w, i) ? outside_per_m3 / rho
                                       : 0.0;
  }
  for (int sweep = 0; sweep < SWEEPS_MAX; sweep++) {
    double change = 0.0, most = 0.0;

    sum_inflow(w, filtered);
    for (int i = 0; i < nodes; i++) {
      double c = w->in_kg_s[i] > 0.0 ? w->in_amount[i] / w->in_kg_s[i] : 0.0;

      if (stores(f, i) || is_outside(w, i))
        continue;
      change = fmax(change, fabs(c - w->carried[i]));
      most = fmax(most, fabs(c));
      w->carried[i] = c;
    }
    if (change <= 1e-15 * most)
      break;
  }
}

void after_carry(struct after_work *w, const double *amount, double outside_per_m3, bool filtered,
                 double *slope, double *out_slope)
{
  const struct facility *f = w->f;

  memset(slope, 0, (size_t)f->room_count * sizeof *slope);
  if (out_slope)
    *out_slope = 0.0;
  spread(w, amount, outside_per_m3, filtered);
  for (int i = 0; i < air_drive_link_count(w->air); i++) {
    struct air_drive_link l = air_drive_link_at(w->air, i);
    int from = l.mass_kg_s >= 0.0 ? l.from : l.to, to = l.mass_kg_s >= 0.0 ? l.to : l.from;
    double flux = fabs(l.mass_kg_s) * w->carried[from];

    if (flux == 0.0)
      continue;
    if (stores(f, from))
      slope[from] -= flux;
    flux *= passes_ratio(w, &l, filtered);
    if (stores(f, to))
      slope[to] += flux;
    else if (out_slope && is_outside(w, to))
      *out_slope += flux;
  }
}

/* ---- the clocks ---- */

struct clock {
  struct after_work *w;
  bool filtered;
};

static void clock_slope(void *of, double t_s, const double *y, double *slope)
{
  const struct clock *c = of;

  (void)t_s;
  after_carry(c->w, y, 0.0, c->filtered, slope, NULL);
}

static void clock_jacobian(void *of, double t_s, const double *y, const double *slope, double *out)
{
  const struct clock *c = of;

  (void)t_s;
  (void)y;
  (void)slope;
  after_carry_jacobian(c->w, c->filtered, false, out);
}

/* When a room that was full of it has a hundredth left; NaN: not within a day. */
static double time_to_hundredth(struct after_work *w, int room, bool filtered)
{
  const struct facility *f = w->f;
  struct clock of = {w, filtered};
  struct numeric_motion motion = {.count = f->room_count,
                                  .slope = clock_slope,
                                  .of = &of,
                                  .least_error = w->least_error, /* set below */
                                  .error_ratio = 1e-7,
                                  .least_step = 1e-3,
                                  .most_step = 600,
                                  .jacobian = clock_jacobian,
                                  .jacobian_lasts = INT_MAX, /* the air stands */
                                  .block_count = 1,
                                  .blocks = &f->room_count};
  double *y = ARENA_ARRAY(w->arena, double, (size_t)f->room_count + 1),
         *least = ARENA_ARRAY(w->arena, double, (size_t)f->room_count + 1);
  double full = f->rooms[room].volume_m3, found = (double)NAN;
  struct numeric_stepper *s;

  if (!y || !least)
    return found;
  for (int i = 0; i < f->room_count; i++)
    least[i] = 1e-6 * full;
  motion.least_error = least;
  y[room] = full;
  s = numeric_stepper_new(&motion);
  numeric_stepper_start(s, 0.0, y);
  while (numeric_stepper_step(s, longest_s) < longest_s)
    if (numeric_stepper_state(s)[room] <= hundredth * full)
      break;
  if (numeric_stepper_state(s)[room] <= hundredth * full) {
    double low = numeric_stepper_before(s), high = numeric_stepper_now(s);

    while (high - low > 0.01) {
      double middle = (low + high) / 2;

      numeric_stepper_at(s, middle, y);
      *(y[room] <= hundredth * full ? &high : &low) = middle;
    }
    found = high;
  }
  numeric_stepper_free(s);
  return found;
}

static bool is_asked(const struct facility *f, int room)
{
  if (f->rooms[room].keep_count > 0 || f->rooms[room].has_class)
    return true;
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].room == room)
      return true;
  return false;
}

void after_clocks(struct after_work *w)
{
  const struct facility *f = w->f;
  struct after_answer *a = w->out;

  for (int i = 0; i < f->room_count && a->clock_count < CLOCK_ROOMS_MAX; i++) {
    struct after_clock *c = &a->clocks[a->clock_count];

    if (!is_asked(f, i))
      continue;
    *c = (struct after_clock){.room = i,
                              .has_volume = f->rooms[i].has_volume,
                              .particles_s = NAN,
                              .gas_s = NAN,
                              .gas_least_s = NAN,
                              .gas_most_s = NAN,
                              .fresh_changes_per_h = NAN};
    a->clock_count++;
    if (!c->has_volume || a->lost)
      continue;
    c->particles_s = time_to_hundredth(w, i, true);
    c->gas_s = time_to_hundredth(w, i, false);
    c->gas_least_s = c->gas_s * f->after.mixing_least_ratio;
    c->gas_most_s = c->gas_s * f->after.mixing_most_ratio;
    c->fresh_changes_per_h = log(1.0 / hundredth) / c->gas_s * 3600.0;
  }
}
