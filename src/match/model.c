/* The suite's figures and its instruments as unknowns; what each reading would be. */
#include "match/match_impl.h"

#include <math.h>

static const double half_ratio = 0.5;   /* a ± is two standard uncertainties */
static const double step_ratio = 1e-3;  /* of a ±: how far a figure is moved for a slope */
static const double least_share = 0.98; /* facility_move keeps figures above zero */
static const double exponent_least = 0.5, exponent_most = 1.0; /* orifice; laminar */

/* ---- what the readings are ---- */

static double feed_m3_s(const struct match_model *m, int supply, int feed)
{
  return air_drive_feed_m3_s(air_moved_as(m->moved), supply, feed);
}

static double main_m3_s(const struct match_model *m, int main)
{
  double sum = m->f->mains[main].fan_count > 0 ? 0.0 : (double)NAN;

  for (int k = 0; k < m->f->mains[main].fan_count; k++)
    sum += air_drive_fan_m3_s(air_moved_as(m->moved), m->f->mains[main].fans[k]);
  return sum;
}

static double read_si(const struct match_model *m, const struct match_quantity *q,
                      const struct scene *scene)
{
  const struct air *air = air_moved_as(m->moved);
  double sum = 0.0;

  switch (q->what) {
  case MATCH_PRESSURE:
    return air_drive_pressure_Pa(air, q->index) - air_drive_pressure_Pa(air, q->over);
  case MATCH_FACE:
    return air_moved_face_m_s(m->moved, scene, q->index);
  case MATCH_STATION:
    return air_drive_station_m3_s(air, q->index);
  case MATCH_FEED:
    return feed_m3_s(m, q->index, q->over);
  case MATCH_SUPPLY:
    for (int j = 0; j < m->f->supplies[q->index].feed_count; j++)
      sum += feed_m3_s(m, q->index, j);
    return sum;
  case MATCH_MAIN:
    return main_m3_s(m, q->index);
  case MATCH_EXHAUST:
    return air_drive_exhaust_m3_s(air, q->index);
  case MATCH_SPEED:
    return air_moved_speed_ratio(m->moved, q->index);
  }
  return NAN;
}

static void read_scene(const struct match_model *m, int scene, double *out_si)
{
  for (int i = 0; i < m->readings->count; i++)
    if (m->readings->list[i].scene == scene)
      out_si[i] = read_si(m, &m->readings->list[i].quantity, &m->readings->scenes[scene].scene);
}

/* ---- the unknowns ---- */

static void add_unknown(struct match_model *m, enum match_of of, int index, double low)
{
  m->low[m->count] = low;
  m->high[m->count] = INFINITY;
  m->unknowns[m->count++] = (struct match_unknown){of, index};
}

static double low_of(const struct facility_input *in)
{
  bool is_signed = in->figure == FACILITY_FIGURE_OFFSET || in->figure == FACILITY_FIGURE_PRESSURE;

  return is_signed ? -(double)INFINITY
                   : -least_share * in->value_si / (half_ratio * in->plus_minus_si);
}

static void list_unknowns(struct match_model *m)
{
  const struct facility *f = m->f;
  double exponent_si = half_ratio * f->match.exponent_ratio;

  for (int i = 0; i < f->input_count; i++)
    add_unknown(m, MATCH_OF_FIGURE, i, low_of(&f->inputs[i]));
  for (int i = 0; i < f->leak_count && exponent_si > 0.0; i++)
    if (f->leaks[i].law.form == FACILITY_POWER_LAW) {
      double n = f->leaks[i].law.n;

      add_unknown(m, MATCH_OF_EXPONENT, i, (exponent_least - n) / exponent_si);
      m->high[m->count - 1] = (exponent_most - n) / exponent_si;
    }
  for (int i = 0; i < m->readings->instrument_count; i++) {
    if (m->readings->instruments[i].zero_si > 0.0)
      add_unknown(m, MATCH_OF_ZERO, i, -INFINITY);
    if (m->readings->instruments[i].slope_ratio > 0.0)
      add_unknown(m, MATCH_OF_SLOPE, i, -INFINITY);
  }
}

double match_model_exponent(const struct match_model *m, int leak, double x)
{
  return m->f->leaks[leak].law.n + half_ratio * m->f->match.exponent_ratio * x;
}

static void put(const struct match_model *m, const double *x)
{
  for (int k = 0; k < m->count; k++) {
    const struct match_unknown *u = &m->unknowns[k];

    if (u->of == MATCH_OF_FIGURE)
      air_moved_to(m->moved, u->index, half_ratio * x[k]);
    else if (u->of == MATCH_OF_EXPONENT)
      air_moved_exponent(m->moved, u->index, match_model_exponent(m, u->index, x[k]),
                         m->pivot_Pa[u->index]);
  }
}

/* What instruments make of it: first by their slope, then by their zero. */
static void show(const struct match_model *m, const double *x, double *out_si)
{
  for (int pass = 0; pass < 2; pass++)
    for (int k = 0; k < m->count; k++) {
      const struct match_unknown *u = &m->unknowns[k];

      if (u->of != (pass == 0 ? MATCH_OF_SLOPE : MATCH_OF_ZERO))
        continue;
      for (int i = 0; i < m->readings->count; i++)
        if (m->readings->list[i].instrument == u->index && pass == 0)
          out_si[i] *= 1.0 + m->readings->instruments[u->index].slope_ratio * x[k];
        else if (m->readings->list[i].instrument == u->index)
          out_si[i] += m->readings->instruments[u->index].zero_si * x[k];
    }
}

static bool all_finite(const double *list, int count)
{
  for (int i = 0; i < count; i++)
    if (!isfinite(list[i]))
      return false;
  return true;
}

bool match_model_predict(void *of, const double *x, double *out_si)
{
  const struct match_model *m = of;

  put(m, x);
  for (int s = 0; s < m->readings->scene_count; s++) {
    if (!air_moved_solve(m->moved, &m->readings->scenes[s].scene))
      return false;
    read_scene(m, s, out_si);
  }
  show(m, x, out_si);
  return all_finite(out_si, m->readings->count);
}

/* ---- slopes ---- */

static bool goes_on(struct match_model *m)
{
  m->stopped = m->stopped || (m->asked && m->asked->goes_on && !m->asked->goes_on(m->asked->arg));
  return !m->stopped;
}

struct slopes {
  struct match_model *m;
  const double *x;
  const double *base_si; /* without what instruments make of it */
  double *after_si, *slope_si;
};

static void take(const struct slopes *s, int scene, int unknown, double by)
{
  const struct match_model *m = s->m;

  read_scene(m, scene, s->after_si);
  for (int i = 0; i < m->readings->count; i++)
    if (m->readings->list[i].scene == scene)
      s->slope_si[i * m->count + unknown] = (s->after_si[i] - s->base_si[i]) / by;
}

static bool scene_slopes(const struct slopes *s, int scene)
{
  struct match_model *m = s->m;
  const struct scene *as = &m->readings->scenes[scene].scene;
  bool solved = true;

  for (int k = 0; solved && goes_on(m) && k < m->count; k++) {
    const struct match_unknown *u = &m->unknowns[k];
    double by = step_ratio / half_ratio;

    if (u->of == MATCH_OF_FIGURE) {
      if (air_moved_try(m->moved, u->index, half_ratio * (s->x[k] + by))) {
        solved = air_moved_solve(m->moved, as);
        take(s, scene, k, by);
      }
      air_moved_try(m->moved, u->index, half_ratio * s->x[k]);
    } else if (u->of == MATCH_OF_EXPONENT) {
      double to = s->x[k] + by < m->high[k] ? by : -by;

      air_moved_exponent(m->moved, u->index, match_model_exponent(m, u->index, s->x[k] + to),
                         m->pivot_Pa[u->index]);
      solved = air_moved_solve(m->moved, as);
      take(s, scene, k, to);
      air_moved_exponent(m->moved, u->index, match_model_exponent(m, u->index, s->x[k]),
                         m->pivot_Pa[u->index]);
    }
  }
  return solved && !m->stopped;
}

/* The slope of an instrument scales what the figures change, too. */
static void instrument_slopes(const struct match_model *m, const double *x, const double *base_si,
                              double *slope_si)
{
  for (int k = 0; k < m->count; k++) {
    const struct match_unknown *u = &m->unknowns[k];
    const struct match_instrument *by = &m->readings->instruments[u->index];

    for (int i = 0; i < m->readings->count; i++) {
      bool mine = m->readings->list[i].instrument == u->index;

      if (u->of == MATCH_OF_ZERO && mine)
        slope_si[i * m->count + k] = by->zero_si;
      for (int c = 0; u->of == MATCH_OF_SLOPE && mine && c < k; c++)
        if (m->unknowns[c].of == MATCH_OF_FIGURE || m->unknowns[c].of == MATCH_OF_EXPONENT)
          slope_si[i * m->count + c] *= 1.0 + by->slope_ratio * x[k];
      if (u->of == MATCH_OF_SLOPE && mine)
        slope_si[i * m->count + k] = by->slope_ratio * base_si[i];
    }
  }
}

bool match_model_slopes(void *of, const double *x, double *out_si, double *slope_si)
{
  struct match_model *m = of;
  struct slopes s = {m, x, out_si, m->scratch_si, slope_si};
  size_t count = (size_t)m->readings->count * (size_t)m->count;

  for (size_t i = 0; i < count; i++)
    slope_si[i] = 0.0;
  put(m, x);
  for (int scene = 0; scene < m->readings->scene_count; scene++) {
    if (!air_moved_solve(m->moved, &m->readings->scenes[scene].scene))
      return false;
    read_scene(m, scene, out_si);
    if (!scene_slopes(&s, scene))
      return false;
  }
  for (size_t i = 0; i < count; i++)
    slope_si[i] = isfinite(slope_si[i]) ? slope_si[i] : 0.0; /* a limit that hides the reading */
  instrument_slopes(m, x, out_si, slope_si);
  show(m, x, out_si);
  return all_finite(out_si, m->readings->count);
}

/* ---- making it ---- */

static bool find_pivots(struct match_model *m, struct err *err)
{
  for (int s = 0; s < m->readings->scene_count; s++)
    if (!air_moved_solve(m->moved, &m->readings->scenes[s].scene)) {
      err_set(err, ERR_INPUT, "the air has no answer in the scene '%.80s'",
              m->readings->scenes[s].words);
      return false;
    }
  for (int i = 0; i < m->f->leak_count; i++) {
    const struct air *air = air_moved_as(m->moved);
    double drop_Pa = fabs(air_drive_pressure_Pa(air, m->f->leaks[i].from) -
                          air_drive_pressure_Pa(air, m->f->leaks[i].to));

    m->pivot_Pa[i] = drop_Pa > 1.0 ? drop_Pa : 1.0;
  }
  return true;
}

bool match_model_make(struct match_model *m, const struct facility *f,
                      const struct match_readings *readings, struct arena *arena, struct err *err)
{
  size_t room =
      (size_t)f->input_count + (size_t)f->leak_count + 2 * (size_t)readings->instrument_count + 1;

  *m = (struct match_model){.f = f,
                            .readings = readings,
                            .unknowns = ARENA_ARRAY(arena, struct match_unknown, room),
                            .low = ARENA_ARRAY(arena, double, room),
                            .high = ARENA_ARRAY(arena, double, room),
                            .pivot_Pa = ARENA_ARRAY(arena, double, (size_t)f->leak_count + 1),
                            .scratch_si = ARENA_ARRAY(arena, double, (size_t)readings->count + 1)};
  if (!m->unknowns || !m->low || !m->high || !m->pivot_Pa || !m->scratch_si) {
    err_set(err, ERR_LIMIT, "the suite is larger than the memory set aside for it");
    return false;
  }
  m->moved = air_moved_new(f, err);
  if (!m->moved || !find_pivots(m, err))
    return false;
  list_unknowns(m);
  return true;
}

void match_model_release(struct match_model *m)
{
  air_moved_free(m->moved);
  m->moved = NULL;
}
