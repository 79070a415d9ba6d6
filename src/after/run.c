/*
 * From moment to moment: steps in time, turns of controls and flows found within them, every step
 * kept.
 */
#include "after/after_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double usual_beyond_s = 300; /* how long the answer goes on behind the last event */
static const double found_within_s = 1e-3, mode_found_within_s = 1e-6;
static const double soon_s = 0.05;           /* what turns again so soon is not looked for again */
static const double dead_Pa = 0.02;          /* a drop smaller than this has no direction */
static const double longest_moving_s = 60;   /* a step, so that curves are drawn as they are */
static const double longest_at_rest_s = 600; /* once only what is carried moves */
static const double at_rest_ratio = 0.05, at_rest_within_s = 30;
enum { ROWS_MAX = 40000, FIRST_ROWS = 256, STANDING = 9, HASTY_MAX = 6 };

/* ---- what is kept of a step ---- */

static int keep_total(const struct facility *f)
{
  int count = 0;

  for (int i = 0; i < f->room_count; i++)
    count += f->rooms[i].keep_count;
  return count;
}

static void plan_trace(struct after_work *w)
{
  const struct facility *f = w->f;
  struct after_trace *t = &w->out->trace;
  int next = 1; /* the time itself */

#define COLUMNS(member, many)                                                                      \
  t->member = next;                                                                                \
  next += (many)
  COLUMNS(keeps, keep_total(f));
  COLUMNS(door_flows, f->door_count);
  COLUMNS(door_drops, f->door_count);
  COLUMNS(door_ratios, f->door_count);
  COLUMNS(stations, f->station_count);
  COLUMNS(asks, f->station_count);
  COLUMNS(openings, f->station_count);
  COLUMNS(particles, w->has_particles ? f->room_count : 0);
  COLUMNS(gases, w->has_gas ? f->room_count : 0);
  COLUMNS(gas_out, w->has_gas ? 1 : 0);
  COLUMNS(fans, f->fan_count);
  COLUMNS(feeds, air_feed_count(f));
#undef COLUMNS
  t->width = next;
}

static double *new_row(struct after_work *w)
{
  struct after_trace *t = &w->out->trace;

  if (t->count >= FIRST_ROWS && (t->count & (t->count - 1)) == 0) {
    double **rows = ARENA_ARRAY(w->arena, double *, (size_t)t->count * 2);

    if (!rows)
      return NULL;
    memcpy(rows, t->rows, (size_t)t->count * sizeof *rows);
    t->rows = rows;
  }
  t->rows[t->count] = ARENA_ARRAY(w->arena, double, (size_t)t->width);
  return t->rows[t->count] ? t->rows[t->count++] : NULL;
}

static double keep_Pa(const struct after_work *w, int room, int keep)
{
  return air_drive_pressure_Pa(w->air, room) -
         air_drive_pressure_Pa(w->air, w->f->rooms[room].keeps[keep].over);
}

static double door_Pa(const struct after_work *w, int door)
{
  return air_drive_pressure_Pa(w->air, w->f->doors[door].from) -
         air_drive_pressure_Pa(w->air, w->f->doors[door].to);
}

static double per_m3(const struct after_work *w, int room, double amount)
{
  return w->f->rooms[room].has_volume ? amount / w->f->rooms[room].volume_m3 : (double)NAN;
}

/* The solve that the air holds, and the state beside it. */
static bool keep_row(struct after_work *w, double t_s, const double *y)
{
  const struct facility *f = w->f;
  const struct after_trace *t = &w->out->trace;
  double *row = new_row(w);
  int k = 0;

  if (!row)
    return false;
  row[0] = t_s;
  for (int i = 0; i < f->room_count; i++)
    for (int j = 0; j < f->rooms[i].keep_count; j++, k++)
      row[t->keeps + k] = keep_Pa(w, i, j);
  for (int i = 0; i < f->door_count; i++) {
    row[t->door_flows + i] = air_drive_door_m3_s(w->air, i);
    row[t->door_drops + i] = door_Pa(w, i);
    row[t->door_ratios + i] = after_way_at(&w->door[i], t_s);
  }
  for (int i = 0; i < f->station_count; i++) {
    row[t->stations + i] = air_drive_station_m3_s(w->air, i);
    row[t->asks + i] = after_ask_m3_s(w, i);
    row[t->openings + i] = after_way_at(&w->sash[i], t_s);
  }
  for (int i = 0; i < f->room_count; i++) {
    if (w->has_particles)
      row[t->particles + i] = per_m3(w, i, y[w->at.particle + i]);
    if (w->has_gas)
      row[t->gases + i] = per_m3(w, i, y[w->at.gas + i]);
  }
  if (w->has_gas)
    row[t->gas_out] = y[w->at.gas_out];
  for (int i = 0; i < f->fan_count; i++)
    row[t->fans + i] = y[w->at.fan + i];
  for (k = 0; k < air_feed_count(f); k++)
    row[t->feeds + k] = air_drive_feed_m3_s(w->air, w->feed_supply[k], w->feed_of[k]);
  return true;
}

/* ---- turns ---- */

static int direction(double value, double dead, int before)
{
  if (!isfinite(value))
    return 0;
  return fabs(value) < dead ? before : value > 0.0 ? 1 : -1;
}

static int keep_side(const struct after_work *w, int room, int keep)
{
  const struct facility_keep *k = &w->f->rooms[room].keeps[keep];
  double actual = keep_Pa(w, room, keep);

  if (!isfinite(actual))
    return 2;
  if (k->has_least && actual < k->least_Pa - w->f->met_tolerance_Pa)
    return -1;
  return k->has_most && actual > k->most_Pa + w->f->met_tolerance_Pa;
}

/* What the state alone decides: pieces of laws, and drives that come to a stand. */
static int sign_modes(const struct after_work *w, const double *y, int *out)
{
  int n = 0;

  for (int i = w->at.feed; i < w->at.fan_sensor; i++) {
    bool is_drive = i >= w->at.unit;

    if (i < w->at.feed_sensor || is_drive)
      out[n++] = is_drive && y[i] <= after_standing_ratio ? STANDING : (int)after_mode_at(w, i, y);
  }
  return n;
}

/* Everything that can turn, as small numbers, at the solve that the air holds. */
static int sign(struct after_work *w, const double *y, const int *before, int *out)
{
  const struct facility *f = w->f;
  int n = 0;

  for (int i = 0; i < f->room_count; i++)
    for (int j = 0; j < f->rooms[i].keep_count; j++)
      out[n++] = keep_side(w, i, j);
  for (int i = 0; i < f->door_count; i++, n++)
    out[n] = direction(door_Pa(w, i), dead_Pa, before ? before[n] : 0);
  for (int i = 0; i < f->station_count; i++, n++)
    out[n] = direction(air_drive_station_m3_s(w->air, i), 1e-6, before ? before[n] : 0);
  for (int k = 0; k < air_feed_count(f); k++)
    out[n++] = air_drive_feed_limited(w->air, w->feed_supply[k], w->feed_of[k]);
  for (int i = 0; i < f->supply_count; i++)
    out[n++] = air_drive_unit_limited(w->air, i);
  w->first_mode = n;
  return n + sign_modes(w, y, out + n);
}

static int signs_most(const struct facility *f)
{
  return keep_total(f) + f->door_count + f->station_count + 2 * air_feed_count(f) +
         2 * f->supply_count + f->fan_count + 1;
}

static bool differs(const struct after_work *w, int first, double since_s)
{
  for (int i = first; i < w->signature_count; i++)
    if (w->signature[i] != w->candidate[i] &&
        (i >= w->first_mode ? w->hasty < HASTY_MAX : since_s - w->turned_s[i] > soon_s))
      return true;
  return false;
}

static void look_at(struct after_work *w, double t_s, double *y, double *slope)
{
  numeric_stepper_at(w->stepper, t_s, y);
  after_slope(w, t_s, y, slope);
  sign(w, y, w->signature, w->candidate);
}

/* Ends the step just behind the first turn within it: what needs no air first, that is for nothing. */
static void find_turn(struct after_work *w)
{
  double low_s = numeric_stepper_before(w->stepper), high_s = numeric_stepper_now(w->stepper);
  double since_s = low_s, *y = w->moved, *slope = w->answer;

  if (differs(w, w->first_mode, since_s)) {
    while (high_s - low_s > mode_found_within_s) {
      double middle_s = (low_s + high_s) / 2;

      numeric_stepper_at(w->stepper, middle_s, y);
      sign_modes(w, y, w->candidate + w->first_mode);
      *(differs(w, w->first_mode, since_s) ? &high_s : &low_s) = middle_s;
    }
    look_at(w, high_s, y, slope);
    memcpy(w->candidate + w->first_mode, w->signature + w->first_mode,
           (size_t)(w->signature_count - w->first_mode) * sizeof(int));
    low_s = differs(w, 0, since_s) ? since_s : high_s;
  }
  while (high_s - low_s > found_within_s) {
    double middle_s = (low_s + high_s) / 2;

    look_at(w, middle_s, y, slope);
    *(differs(w, 0, since_s) ? &high_s : &low_s) = middle_s;
  }
  numeric_stepper_at(w->stepper, high_s, y);
  (void)after_set_modes(w, y);
  numeric_stepper_cut(w->stepper, high_s);
  w->out->located++;
  w->hasty = high_s - since_s < found_within_s ? w->hasty + 1 : 0;
  sign(w, numeric_stepper_state(w->stepper), w->signature, w->candidate);
}

static void watch_turns(struct after_work *w)
{
  double before_s = numeric_stepper_before(w->stepper), now_s;

  sign(w, numeric_stepper_state(w->stepper), w->signature, w->candidate);
  if (memcmp(w->signature, w->candidate, (size_t)w->signature_count * sizeof(int)) == 0)
    return;
  if (differs(w, 0, before_s)) {
    find_turn(w);
  } else {
    w->out->passed_over++;
    w->hasty = 0;
    if (after_set_modes(w, numeric_stepper_state(w->stepper)))
      numeric_stepper_refresh(w->stepper);
  }
  now_s = numeric_stepper_now(w->stepper);
  for (int i = 0; i < w->signature_count; i++)
    if (w->signature[i] != w->candidate[i]) {
      w->signature[i] = w->candidate[i];
      w->turned_s[i] = now_s;
    }
}

/* ---- stepping ---- */

static bool still_moving(const struct after_work *w, double t_s)
{
  for (int i = 0; i < w->f->station_count; i++)
    if (w->sash[i].ends_s > t_s)
      return true;
  for (int i = 0; i < w->f->door_count; i++)
    if (w->door[i].ends_s > t_s)
      return true;
  return false;
}

/* Nothing that moves the air would go any further: it is left where it is until the next moment. */
static bool is_at_rest(const struct after_work *w, double t_s)
{
  const double *slope = numeric_stepper_slope(w->stepper), *y = numeric_stepper_state(w->stepper);

  if (still_moving(w, t_s))
    return false;
  for (int i = 0; i < w->at.fast; i++)
    if (fabs(slope[i]) * at_rest_within_s > at_rest_ratio * (w->least_error[i] + 1e-4 * fabs(y[i])))
      return false;
  return true;
}

static double next_way_end(const struct after_work *w, double t_s, double until_s)
{
  for (int i = 0; i < w->f->station_count; i++)
    if (w->sash[i].ends_s > t_s)
      until_s = fmin(until_s, w->sash[i].ends_s);
  for (int i = 0; i < w->f->door_count; i++)
    if (w->door[i].ends_s > t_s)
      until_s = fmin(until_s, w->door[i].ends_s);
  return until_s;
}

static enum err_code no_memory(struct after_work *w)
{
  return err_set(w->err, ERR_LIMIT,
                 "more happens than is kept of one answer: ask for less time (--for) or fewer "
                 "events");
}

/* Up to the next moment; w->y holds the state at both ends. */
static enum err_code go_on(struct after_work *w, double from_s, double until_s)
{
  double t_s = from_s;

  w->resting = false;
  numeric_stepper_limit(w->stepper, longest_moving_s);
  (void)after_set_modes(w, w->y);
  numeric_stepper_start(w->stepper, from_s, w->y);
  if (!w->signature_count)
    w->signature_count = sign(w, w->y, NULL, w->signature);
  sign(w, w->y, w->signature, w->candidate);
  memcpy(w->signature, w->candidate, (size_t)w->signature_count * sizeof(int));
  if (!keep_row(w, from_s, w->y))
    return no_memory(w);
  while (t_s < until_s) {
    double stop_s = next_way_end(w, t_s, until_s);

    (void)numeric_stepper_step(w->stepper, stop_s);
    if (!w->resting)
      watch_turns(w);
    t_s = numeric_stepper_now(w->stepper);
    if (after_clamp(w) || t_s == stop_s) { /* a jump of the laws, or a kink that is known */
      memcpy(w->y, numeric_stepper_state(w->stepper), (size_t)w->at.count * sizeof *w->y);
      (void)after_set_modes(w, w->y);
      numeric_stepper_start(w->stepper, t_s, w->y);
    }
    if (w->out->trace.count >= ROWS_MAX || !keep_row(w, t_s, numeric_stepper_state(w->stepper)))
      return no_memory(w);
    if (!w->resting && is_at_rest(w, t_s)) {
      w->resting = true;
      numeric_stepper_limit(w->stepper, longest_at_rest_s);
      numeric_stepper_refresh(w->stepper);
    }
  }
  memcpy(w->y, numeric_stepper_state(w->stepper), (size_t)w->at.count * sizeof *w->y);
  w->resting = false;
  return ERR_OK;
}

/* Particles as they are before anything happens: what leaks in for long. */
static void settle_particles(struct after_work *w)
{
  const double long_s = 6 * 3600;

  if (!w->has_particles)
    return;
  numeric_stepper_start(w->stepper, 0.0, w->y);
  w->resting = true;
  numeric_stepper_refresh(w->stepper);
  while (numeric_stepper_step(w->stepper, long_s) < long_s)
    continue;
  memcpy(w->y + w->at.particle, numeric_stepper_state(w->stepper) + w->at.particle,
         (size_t)w->f->room_count * sizeof *w->y);
  w->resting = false;
}

static int next_moment(const struct after_work *w, int done)
{
  int best = done;

  for (int i = done + 1; i < w->moment_count; i++) /* events of one time in the order given */
    if (w->moments[i].at_s < w->moments[best].at_s ||
        (w->moments[i].at_s == w->moments[best].at_s && w->moments[i].kind == AFTER_LIGHT &&
         w->moments[best].kind == AFTER_EVENT)) /* power is back before anybody asks for it */
      best = i;
  return best;
}

static enum err_code meet_moment(struct after_work *w, const struct after_moment *m)
{
  enum err_code code = ERR_OK;

  if (m->kind == AFTER_LIGHT)
    after_light(w);
  else if (m->kind == AFTER_RESTART)
    after_restart(w);
  else
    code = after_take_order(w, m->event);
  if (code != ERR_OK && w->err && w->err->code == ERR_INPUT)
    err_prefix(w->err, "event %d:%d: ", m->event + 1, w->err->col > 0 ? w->err->col : 1);
  return code;
}

static bool make_room(struct after_work *w)
{
  const struct facility *f = w->f;
  size_t signs = (size_t)signs_most(f);

  w->signature = ARENA_ARRAY(w->arena, int, signs);
  w->candidate = ARENA_ARRAY(w->arena, int, signs);
  w->turned_s = ARENA_ARRAY(w->arena, double, signs);
  w->mode = ARENA_ARRAY(w->arena, int, (size_t)w->at.count + 1);
  w->moved = ARENA_ARRAY(w->arena, double, (size_t)w->at.count + (size_t)f->room_count + 1);
  w->answer = ARENA_ARRAY(w->arena, double, (size_t)w->at.count + (size_t)f->room_count + 1);
  w->out->trace.rows = ARENA_ARRAY(w->arena, double *, FIRST_ROWS);
  if (!w->signature || !w->candidate || !w->turned_s || !w->out->trace.rows || !w->mode ||
      !w->moved || !w->answer)
    return false;
  for (size_t i = 0; i < signs; i++)
    w->turned_s[i] = -1.0;
  return true;
}

static enum err_code run_moments(struct after_work *w)
{
  double t_s = 0.0, end_s = w->out->for_s;
  enum err_code code = ERR_OK;

  for (int done = 0; code == ERR_OK; done++) {
    int next = done < w->moment_count ? next_moment(w, done) : done;
    bool last = next >= w->moment_count || w->moments[next].at_s > end_s;
    double until_s = last ? end_s : w->moments[next].at_s;

    if (until_s > t_s)
      code = go_on(w, t_s, until_s);
    t_s = until_s;
    if (code != ERR_OK || last)
      break;
    struct after_moment m = w->moments[next];

    memmove(&w->moments[done + 1], &w->moments[done], (size_t)(next - done) * sizeof *w->moments);
    w->moments[done] = m;
    code = meet_moment(w, &w->moments[done]);
  }
  return code;
}

enum err_code after_run(struct after_work *w)
{
  struct numeric_motion motion;
  enum err_code code;
  int *blocks = ARENA_ARRAY(w->arena, int, (size_t)w->f->station_count + 4);
  int last = w->out->event_count - 1;

  w->out->for_s =
      w->request->for_s > 0.0 ? w->request->for_s : w->orders[last].at_s + usual_beyond_s;
  if (!blocks || !after_plant_begin(w) || !make_room(w))
    return w->err && w->err->code ? w->err->code : no_memory(w);
  plan_trace(w);
  motion = (struct numeric_motion){.count = w->at.count,
                                   .slope = after_slope,
                                   .of = w,
                                   .least_error = w->least_error,
                                   .error_ratio = 1e-4,
                                   .least_step = 1e-4,
                                   .most_step = longest_at_rest_s,
                                   .jacobian = after_jacobian,
                                   .jacobian_lasts = 10,
                                   .block_count = after_blocks(w, blocks),
                                   .blocks = blocks};
  w->stepper = numeric_stepper_new(&motion);
  settle_particles(w);
  code = run_moments(w);
  w->out->steps = numeric_stepper_steps(w->stepper);
  w->out->steps.slopes = w->solves; /* those of turns and Jacobians among them */
  numeric_stepper_free(w->stepper);
  w->stepper = NULL;
  return code;
}
