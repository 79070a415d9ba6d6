#include "watch/watch_impl.h"

#include <math.h>

/*
 * A sash on its way up.  It will stand at its mark in a moment, and its fan must be counted on now: so it
 * counts as there from the first reading that rose until it has not risen for a while.
 */

static int64_t ms_of(double s)
{
  return llround(s * 1000);
}

/* The lowest that it said within the span before its value `at`, without a gap; NaN: nothing. */
static double lowest_before(const struct memory *m, int at, int64_t span_ms, int64_t gap_ms)
{
  double low = NAN;

  for (int j = at + 1; j < m->kept_count; j++) {
    const struct feed_observation *o = &m->kept[j];
    bool is_next = j == at + 1;

    if (!observation_is_measured(o) || m->kept[j - 1].t_ms - o->t_ms > gap_ms ||
        (!is_next && m->kept[at].t_ms - o->t_ms > span_ms))
      break;
    low = fmin(low, o->si); /* of NaN and a number: the number */
  }
  return low;
}

static bool rose(const struct feeds_lower *s, const struct memory *m, int at, double old_after_s)
{
  double low = lowest_before(m, at, ms_of(s->rising_s), ms_of(old_after_s));

  return isfinite(low) && m->kept[at].si > m->kept[at + 1].si && m->kept[at].si - low > s->moves_m;
}

/* What came down again since is not on its way up. */
static bool fell_since(const struct feeds_lower *s, const struct memory *m, int at, int newest)
{
  for (int i = newest; i < at; i++)
    if (m->kept[at].si - m->kept[i].si > s->moves_m)
      return true;
  return false;
}

bool memory_is_rising(const struct watch *watch, int point, int64_t now_ms)
{
  const struct feeds_lower *s = &watch->feeds->lower;
  const struct memory *m = &watch->memories[point];
  int64_t until_ms = now_ms + ms_of(watch->feeds->future_s);
  int newest = 0;

  while (newest < m->kept_count && m->kept[newest].t_ms > until_ms)
    newest++;
  for (int i = newest; i + 1 < m->kept_count; i++) {
    if (s->rising_s <= 0 || now_ms - m->kept[i].t_ms > ms_of(s->rising_s) ||
        !observation_is_measured(&m->kept[i]))
      return false;
    if (rose(s, m, i, watch->feeds->points[point].old_after_s))
      return !fell_since(s, m, i, newest);
  }
  return false;
}

int64_t memory_rise_ends_ms(const struct watch *watch, int point, int64_t now_ms)
{
  const struct memory *m = &watch->memories[point];
  int64_t rising_ms = ms_of(watch->feeds->lower.rising_s), next_ms = INT64_MAX;

  for (int i = 0; rising_ms > 0 && i + 1 < m->kept_count; i++) {
    int64_t end_ms = m->kept[i].t_ms + rising_ms + 1;

    if (end_ms <= now_ms)
      break; /* those before end sooner */
    if (m->kept[i].si > m->kept[i + 1].si)
      next_ms = end_ms;
  }
  return next_ms;
}
