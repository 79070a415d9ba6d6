/* Chance: which sets of sashes are up together, and how probable the bad ones are. */
#include "day/day_impl.h"
#include "numeric/numeric.h"

#include <math.h>
#include <stdlib.h>

void day_odds(double ratio, struct buf *out)
{
  numeric_odds(ratio, out);
}

/* ---- independent ---- */

struct summing {
  struct day_air *air;
  enum facility_level at_least;
  int count;
  int station[DAY_STATIONS_MOST];
  double ratio[DAY_STATIONS_MOST];
  uint64_t rest[DAY_STATIONS_MOST + 1]; /* all from there on */
  bool unknown;
};

static bool is_bad(struct summing *s, uint64_t set)
{
  enum facility_level level = day_air_level(s->air, set);

  s->unknown = s->unknown || level == FACILITY_NOT_KNOWN;
  return level != FACILITY_NOT_KNOWN && level >= s->at_least;
}

/* Of the sets that hold `set` and any of the stations from `at` on.  More sashes are never better: where all of them are fine, or none of them is, the sum
 * is known. */
static double sum(struct summing *s, int at, uint64_t set)
{
  if (!is_bad(s, set | s->rest[at]))
    return 0;
  if (at == s->count || is_bad(s, set))
    return 1;
  double up = s->ratio[at];

  return up * sum(s, at + 1, set | (uint64_t)1 << s->station[at]) + (1 - up) * sum(s, at + 1, set);
}

/* The likeliest first: what is nearly certain is settled once. */
static void sort(struct summing *s)
{
  for (int i = 1; i < s->count; i++)
    for (int j = i; j > 0 && s->ratio[j] > s->ratio[j - 1]; j--) {
      double ratio = s->ratio[j];
      int station = s->station[j];

      s->ratio[j] = s->ratio[j - 1];
      s->station[j] = s->station[j - 1];
      s->ratio[j - 1] = ratio;
      s->station[j - 1] = station;
    }
  s->rest[s->count] = 0;
  for (int i = s->count - 1; i >= 0; i--)
    s->rest[i] = s->rest[i + 1] | (uint64_t)1 << s->station[i];
}

/* Drawn scenes instead of all of them, always the same ones: `draws` give a standard error of 0.008 at most. */
enum { DRAWS = 4096, SEED = 20261201 };

static double drawn(struct summing *s)
{
  struct numeric_random random;
  int bad = 0;

  numeric_random_seed(&random, SEED);
  for (int draw = 0; draw < DRAWS; draw++) {
    uint64_t set = 0;

    for (int i = 0; i < s->count; i++)
      if (numeric_random_unit(&random) < s->ratio[i])
        set |= (uint64_t)1 << s->station[i];
    bad += is_bad(s, set);
  }
  return (double)bad / DRAWS;
}

double day_chance_ratio(struct day_air *air, uint64_t up, const double *up_ratio, int station_count,
                        enum facility_level at_least)
{
  struct summing s = {.air = air, .at_least = at_least};

  for (int i = 0; i < station_count; i++)
    if ((up >> i & 1) && up_ratio[i] > 0) {
      s.station[s.count] = i;
      s.ratio[s.count++] = up_ratio[i];
    }
  sort(&s);
  double ratio = s.count <= DAY_EXACT_MOST ? sum(&s, 0, 0) : drawn(&s);

  return s.unknown ? (double)NAN : ratio;
}

/* ---- together ---- */

double day_beta_quantile_ratio(double alpha_ratio, double beta_ratio, double p_ratio)
{
  return numeric_beta_quantile_ratio(alpha_ratio, beta_ratio, p_ratio);
}

/* Middles of equal shares of the quantile: what is certain or impossible stays so. */
enum { SHARES = 32 };

double day_chance_together_ratio(struct day_air *air, uint64_t up, const double *up_ratio,
                                 int station_count, double together_ratio,
                                 enum facility_level at_least)
{
  double ratio[DAY_STATIONS_MOST], total = 0;

  if (together_ratio <= 0)
    return day_chance_ratio(air, up, up_ratio, station_count, at_least);
  double n = 1 / together_ratio - 1; /* a + b of a beta-binomial with that correlation */

  for (int share = 0; share < SHARES; share++) {
    for (int i = 0; i < station_count; i++)
      if (up >> i & 1)
        ratio[i] = up_ratio[i] <= 0 || up_ratio[i] >= 1
                       ? up_ratio[i]
                       : day_beta_quantile_ratio(n * up_ratio[i], n * (1 - up_ratio[i]),
                                                 (share + 0.5) / SHARES);
    total += day_chance_ratio(air, up, ratio, station_count, at_least);
  }
  return total / SHARES;
}

/* ---- flows ---- */

static const double step_m3_s = 1e-3;

static double percentile_m3_s(const double *ratio, int count, double base_m3_s, double p)
{
  double below = 0;

  for (int i = 0; i < count; i++) {
    below += ratio[i];
    if (below >= p - 1e-12)
      return base_m3_s + i * step_m3_s;
  }
  return base_m3_s + (count - 1) * step_m3_s;
}

struct day_band day_convolve(double base_m3_s, const double *adds_m3_s, const double *up_ratio,
                             int count, struct arena *arena)
{
  int most = 1, top = 1;

  for (int i = 0; i < count; i++)
    most += (int)lround(adds_m3_s[i] / step_m3_s);

  double *ratio = ARENA_ARRAY(arena, double, (size_t)most);

  BUG_IF(!ratio);
  ratio[0] = 1;
  for (int i = 0; i < count; i++) {
    int by = (int)lround(adds_m3_s[i] / step_m3_s);

    if (by == 0 || up_ratio[i] <= 0)
      continue;
    top += by;
    for (int j = top - 1; j >= 0; j--)
      ratio[j] = ratio[j] * (1 - up_ratio[i]) + (j >= by ? ratio[j - by] * up_ratio[i] : 0);
  }
  return (struct day_band){percentile_m3_s(ratio, top, base_m3_s, 0.05),
                           percentile_m3_s(ratio, top, base_m3_s, 0.50),
                           percentile_m3_s(ratio, top, base_m3_s, 0.95)};
}
