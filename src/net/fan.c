#include "net/net_impl.h"

#include <math.h>
#include <string.h>

/*
 * A fan's rise over its unit flow x = q / speed of one unit at full speed, as
 * cubic pieces c0 + c1 t + c2 t^2 + c3 t^3, t = x - at[i].  Outside the known
 * part: straight lines, (8).
 */

/* Slopes after Fritsch and Carlson, "Monotone piecewise cubic interpolation",
 * SIAM J. Numer. Anal. 17 (1980): harmonic means of the neighbouring chords. */
static void slopes_monotone(int n, const double *x, const double *y, double *slope)
{
  for (int i = 1; i < n - 1; i++) {
    double h0 = x[i] - x[i - 1], h1 = x[i + 1] - x[i];
    double d0 = (y[i] - y[i - 1]) / h0, d1 = (y[i + 1] - y[i]) / h1;
    double w0 = 2 * h1 + h0, w1 = h1 + 2 * h0;
    slope[i] = d0 * d1 > 0 ? (w0 + w1) / (w0 / d0 + w1 / d1) : 0;
  }
  double first = (y[1] - y[0]) / (x[1] - x[0]), end = (y[n - 1] - y[n - 2]) / (x[n - 1] - x[n - 2]);
  slope[0] = n == 2 ? first : 1.5 * first - 0.5 * slope[1];
  slope[n - 1] = n == 2 ? end : 1.5 * end - 0.5 * slope[n - 2];
  if (slope[0] * first <= 0)
    slope[0] = 0;
  if (slope[n - 1] * end <= 0)
    slope[n - 1] = 0;
}

/* Natural spline: second derivatives zero at both ends; tridiagonal, in place.
 * `work` holds n doubles. */
static void slopes_spline(int n, const double *x, const double *y, double *slope, double *work)
{
  double *second = slope; /* second derivatives first, slopes after */
  second[0] = work[0] = 0;
  for (int i = 1; i < n - 1; i++) {
    double h0 = x[i] - x[i - 1], h1 = x[i + 1] - x[i];
    double right = 6 * ((y[i + 1] - y[i]) / h1 - (y[i] - y[i - 1]) / h0);
    double pivot = 2 * (h0 + h1) - h0 * work[i - 1];
    work[i] = h1 / pivot;
    second[i] = (right - h0 * second[i - 1]) / pivot;
  }
  second[n - 1] = 0;
  for (int i = n - 2; i > 0; i--)
    second[i] -= work[i] * second[i + 1];
  double left = 0;
  for (int i = 0; i < n; i++) {
    double s = second[i];
    if (i < n - 1) {
      double h = x[i + 1] - x[i];
      slope[i] = (y[i + 1] - y[i]) / h - h / 6 * (2 * s + second[i + 1]);
    } else {
      double h = x[i] - x[i - 1];
      slope[i] = (y[i] - y[i - 1]) / h + h / 6 * (left + 2 * s);
    }
    left = s;
  }
}

static void pieces_fill(struct curve *curve, const struct net_fan *fan, const double *slope)
{
  const double *x = fan->flow_m3_s, *y = fan->rise_Pa;
  for (int i = 0; i < curve->piece_count; i++) {
    double h = x[i + 1] - x[i], chord = (y[i + 1] - y[i]) / h, *c = curve->c + 4 * i;
    c[0] = y[i];
    c[1] = fan->kind == NET_CURVE_TABLE_LINEAR ? chord : slope[i];
    double end = fan->kind == NET_CURVE_TABLE_LINEAR ? chord : slope[i + 1];
    c[2] = (3 * chord - 2 * c[1] - end) / h;
    c[3] = (c[1] + end - 2 * chord) / (h * h);
    curve->at[i] = x[i];
    curve->at[i + 1] = x[i + 1];
  }
}

static void inner_rise(const struct curve *curve, double x, double *rise, double *slope)
{
  if (curve->piece_count == 0) {
    *rise = curve->a - curve->b * x * x;
    *slope = -2 * curve->b * x;
    return;
  }
  int low = 0, high = curve->piece_count - 1;
  while (low < high) {
    int middle = (low + high + 1) / 2;
    if (curve->at[middle] <= x)
      low = middle;
    else
      high = middle - 1;
  }
  const double *c = curve->c + 4 * low;
  double t = x - curve->at[low];
  *rise = c[0] + t * (c[1] + t * (c[2] + t * c[3]));
  *slope = c[1] + t * (2 * c[2] + t * 3 * c[3]);
}

/* Rise of one unit at full speed, any flow. */
static void unit_rise(const struct curve *curve, double x, double *rise, double *slope)
{
  double start = curve->piece_count > 0 ? curve->at[0] : 0;
  if (x > curve->last) {
    *rise = curve->end_rise + curve->end_slope * (x - curve->last);
    *slope = curve->end_slope;
  } else if (x >= start) {
    inner_rise(curve, x, rise, slope);
  } else if (x >= 0) {
    *rise = curve->start_rise + curve->start_slope * (x - start);
    *slope = curve->start_slope;
  } else {
    *rise = curve->start_rise - curve->start_slope * start + curve->back_slope * x;
    *slope = curve->back_slope;
  }
}

static double rise_at(const struct curve *curve, double x)
{
  double rise, slope;
  unit_rise(curve, x, &rise, &slope);
  return rise;
}

/* Points where the rise may have a maximum: breakpoints and the roots of each piece's slope. */
static int candidates(const struct curve *curve, double *at)
{
  int count = 0;
  at[count++] = 0;
  for (int i = 0; i < curve->piece_count; i++) {
    const double *c = curve->c + 4 * i;
    double h = curve->at[i + 1] - curve->at[i], a = 3 * c[3], b = 2 * c[2],
           d = b * b - 4 * a * c[1];
    at[count++] = curve->at[i];
    if (!(d >= 0))
      continue;
    double q = -0.5 * (b + copysign(sqrt(d), b));
    double t0 = q != 0 ? c[1] / q : 0, t1 = a != 0 ? q / a : 0;
    double small = fmin(t0, t1), large = fmax(t0, t1);
    if (small > 0 && small < h)
      at[count++] = curve->at[i] + small;
    if (large > 0 && large < h)
      at[count++] = curve->at[i] + large;
  }
  at[count++] = curve->last;
  return count;
}

/* Where between low (higher rise) and high the falling curve passes this rise. */
static double falls_to(const struct curve *curve, double low, double high, double rise)
{
  for (int i = 0; i < 80; i++) {
    double middle = (low + high) / 2;
    if (rise_at(curve, middle) > rise)
      low = middle;
    else
      high = middle;
  }
  return (low + high) / 2;
}

/*
 * The least falling curve above this one: from the right, every new record
 * height stays until the curve to its left is higher.  (9)
 */
static void find_envelope(struct curve *curve, double *at)
{
  int count = candidates(curve, at);
  double record = rise_at(curve, curve->last);
  double best_at = curve->last;
  curve->flat_count = 0;
  curve->peak = 0;
  for (int i = count - 2; i >= 0; i--) {
    double rise = rise_at(curve, at[i]);
    if (rise > record) { /* falling from here to the last record */
      double from = falls_to(curve, at[i], at[i + 1], record);
      if (from < best_at - 1e-12 * curve->last) {
        curve->flat_from[curve->flat_count] = from;
        curve->flat_to[curve->flat_count] = best_at;
        curve->flat_rise[curve->flat_count++] = record;
      }
      record = rise;
      best_at = at[i];
    }
  }
  curve->peak = best_at;
  if (best_at > 0) {
    curve->flat_from[curve->flat_count] = 0;
    curve->flat_to[curve->flat_count] = best_at;
    curve->flat_rise[curve->flat_count++] = record;
  }
  for (int k = 0; k < curve->flat_count; k++) {
    curve->flat_least[k] = fmin(rise_at(curve, curve->flat_from[k]), curve->flat_rise[k]);
    for (int i = 0; i < count; i++)
      if (at[i] >= curve->flat_from[k] && at[i] <= curve->flat_to[k])
        curve->flat_least[k] = fmin(curve->flat_least[k], rise_at(curve, at[i]));
  }
  double span = fmax(fabs(record), 1e-6);
  curve->humped = false;
  for (int i = 0; i < curve->flat_count; i++) { /* rounding and level starts are no humps */
    double middle = (curve->flat_from[i] + curve->flat_to[i]) / 2;
    if (rise_at(curve, middle) < curve->flat_rise[i] - 1e-9 * span ||
        rise_at(curve, curve->flat_from[i]) < curve->flat_rise[i] - 1e-9 * span)
      curve->humped = true;
  }
}

static void find_ends(struct curve *curve)
{
  double start = curve->piece_count > 0 ? curve->at[0] : 0, slope;
  inner_rise(curve, start, &curve->start_rise, &slope);
  curve->start_slope = fmin(slope, 0);
  double top = fabs(curve->start_rise);
  for (int i = 0; i < curve->piece_count; i++)
    top = fmax(top, fabs(curve->c[4 * i]));
  double scale = fmax(top, 1e-3) / fmax(curve->last, 1e-9);
  curve->back_slope = -20 * scale;
  inner_rise(curve, curve->last, &curve->end_rise, &slope);
  curve->end_slope = fmin(slope, -0.1 * scale);
  curve->least_slope = 1e-4 * scale;
}

void curve_init(struct curve *curve, const struct net_fan *fan, struct arena *arena)
{
  int n = fan->kind == NET_CURVE_A_MINUS_B_Q2 ? 1 : fan->point_count;
  size_t room = 3 * (size_t)n + 4;
  if (!curve->c || curve->piece_count != n - 1) {
    curve->at = ARENA_ARRAY(arena, double, (size_t)n + 1);
    curve->c = ARENA_ARRAY(arena, double, 4 * (size_t)n);
    curve->flat_from = ARENA_ARRAY(arena, double, 5 * room);
    curve->flat_to = curve->flat_from + room;
    curve->flat_rise = curve->flat_to + room;
  }
  curve->piece_count = n - 1;
  curve->flat_count = 0;
  curve->humped = false;
  curve->a = fan->a_Pa;
  curve->b = fan->b_Pa_s2_m6;
  curve->flat_least = curve->flat_rise + room;
  double *scratch = curve->flat_rise + 2 * room;
  if (n > 1) {
    double *slope = scratch;
    double *work = curve->flat_from;
    if (fan->kind == NET_CURVE_TABLE_SPLINE)
      slopes_spline(n, fan->flow_m3_s, fan->rise_Pa, slope, work);
    else
      slopes_monotone(n, fan->flow_m3_s, fan->rise_Pa, slope);
    pieces_fill(curve, fan, slope);
    curve->last = curve->at[n - 1];
  } else { /* beyond the flow of no rise the parabola is still the law */
    curve->last = curve->b > 0 ? 1e3 * sqrt(fmax(curve->a, 1) / curve->b) : 1e6;
  }
  find_ends(curve);
  if (n == 1) {
    double natural = curve->b > 0 ? sqrt(fmax(curve->a, 1e-3) / curve->b) : 1;
    double scale = fmax(curve->a, 1e-3) / natural;
    curve->back_slope = -20 * scale;
    curve->least_slope = 1e-4 * scale;
    curve->end_slope = fmin(-2 * curve->b * curve->last, -0.1 * scale);
    return;
  }
  find_envelope(curve, scratch);
}

void curve_speed(struct curve *curve, const struct net_fan *fan, double speed_ratio)
{
  curve->rho_n = fan->density_kg_m3 * fan->running;
  curve->amplitude = fan->rise_factor * speed_ratio * speed_ratio;
  curve->inverse = speed_ratio > 0 ? 1 / (curve->rho_n * speed_ratio) : 0;
}

double curve_unit_flow(const struct curve *curve, double g)
{
  return g * curve->inverse;
}

void curve_rise(const struct curve *curve, double g, bool envelope, double *rise, double *slope)
{
  double x = g * curve->inverse;
  unit_rise(curve, x, rise, slope);
  if (envelope && curve->humped && x >= 0)
    for (int i = 0; i < curve->flat_count; i++)
      if (x >= curve->flat_from[i] && x < curve->flat_to[i]) {
        *rise = curve->flat_rise[i];
        *slope = 0;
      }
  if (envelope && curve->humped && x < 0) { /* the envelope must not step down at no flow */
    *rise = curve->flat_rise[curve->flat_count - 1] + curve->back_slope * x;
    *slope = curve->back_slope;
  }
  *rise *= curve->amplitude;
  *slope *= curve->amplitude * curve->inverse;
}

bool curve_left_of_peak(const struct curve *curve, double g)
{
  double x = g * curve->inverse, rise, slope;
  if (!curve->humped)
    return false;
  unit_rise(curve, x, &rise, &slope);
  for (int i = 0; i < curve->flat_count; i++)
    if (x >= curve->flat_from[i] && x < curve->flat_to[i] * (1 - 1e-12))
      return true;
  return x < 0;
}
