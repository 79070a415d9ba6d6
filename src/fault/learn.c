#include "fault/fault_impl.h"

#include <math.h>
#include <string.h>

/*
 * What the model is off for good comes from the suite's figures: each may be off inside its ±, a normal
 * prior of half of it (k = 2).  A reading is linear in them, with the slopes of its scene, so that what
 * one scene taught holds in another only as far as the same figures decide there.  One recursive least
 * squares (Kalman, Journal of Basic Engineering 82, 1960) per point: points do not teach each other, so
 * that one that errs spoils none.
 */

static size_t row(int i)
{
  return (size_t)i * ((size_t)i + 1) / 2;
}

struct fault_figures fault_figures_new(int count, struct arena *arena)
{
  struct fault_figures figures = {.mean = ARENA_ARRAY(arena, double, (size_t)count + 1),
                                  .with = ARENA_ARRAY(arena, double, (size_t)count + 1),
                                  .spread = ARENA_ARRAY(arena, double, row(count) + 1),
                                  .touched = ARENA_ARRAY(arena, int, (size_t)count + 1)};

  BUG_IF(!figures.mean || !figures.with || !figures.spread || !figures.touched);
  return figures;
}

void fault_figures_forget(struct fault_figures *figures, int count)
{
  memset(figures->mean, 0, (size_t)count * sizeof *figures->mean);
  memset(figures->spread, 0, row(count) * sizeof *figures->spread);
  for (int i = 0; i < count; i++)
    figures->spread[row(i) + (size_t)i] = 0.25; /* half a ±, squared */
  figures->touched_count = 0;
}

/* Figures that move this point in any scene so far, in order: the others are as they were. */
static void touch(struct fault_figures *figures, int count, const float *slope)
{
  int at = 0, touched = 0;
  const int *were = figures->touched;
  int *now = figures->touched;
  bool grew = false;

  for (int i = 0; i < count; i++) {
    bool was = at < figures->touched_count && were[at] == i;

    at += was;
    grew = grew || (!was && slope[i] != 0);
    figures->with[i] = was || slope[i] != 0;
  }
  for (int i = 0; grew && i < count; i++)
    if (figures->with[i] > 0)
      now[touched++] = i;
  if (grew)
    figures->touched_count = touched;
}

/* The covariance of each figure with the reading. */
static void find_with(struct fault_figures *figures, const float *slope)
{
  const int *touched = figures->touched;
  double *with = figures->with;

  for (int a = 0; a < figures->touched_count; a++) {
    int i = touched[a];
    const double *spread = figures->spread + row(i);
    double own = (double)slope[i], sum = spread[i] * own;

    for (int b = 0; b < a; b++) {
      int j = touched[b];

      sum += spread[j] * (double)slope[j];
      with[j] += spread[j] * own;
    }
    with[i] = sum;
  }
}

static double dot(const struct fault_figures *figures, const double *a, const float *slope)
{
  double sum = 0;

  for (int k = 0; k < figures->touched_count; k++)
    sum += a[figures->touched[k]] * (double)slope[figures->touched[k]];
  return sum;
}

double fault_figures_say(struct fault_figures *figures, int count, const float *slope,
                         double *variance_out)
{
  touch(figures, count, slope);
  find_with(figures, slope);
  *variance_out = fmax(0, dot(figures, figures->with, slope));
  return dot(figures, figures->mean, slope);
}

void fault_figures_learn(struct fault_figures *figures, const float *slope, double residual,
                         double sigma)
{
  double all = dot(figures, figures->with, slope) + sigma * sigma;
  double news = residual - dot(figures, figures->mean, slope);

  for (int a = 0; a < figures->touched_count; a++) {
    int i = figures->touched[a];
    double *spread = figures->spread + row(i), gain = figures->with[i] / all;

    figures->mean[i] += gain * news;
    for (int b = 0; b <= a; b++)
      spread[figures->touched[b]] -= gain * figures->with[figures->touched[b]];
  }
}
