#include "day/day.h"

#include "asked.h"
#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/*
 * Chance over sets of sashes.  In a suite of equal stations with room for so many at work, the probability
 * of being short is a binomial tail: ordinary tables (values from memory), and the beta-binomial as it is
 * defined.  Where stations differ, every set is asked by itself.
 */
static struct asked suite;
static struct day_air *air;

/* n stations of 700 m3/h more at work than parked; air for k of them, and a half. */
static bool begin(int n, int k)
{
  char text[8000];
  int tight = 100 * (300 * n + 700 * k - 350) / (300 * n + 700 * k + 350);
  int used = snprintf(
      text, sizeof text,
      "inward: 1 suite\nname: T\nrooms: {R: {}}\n"
      "mains: {M: {capacity: {value: %d m3/h, near limit: {enter: %d %%, leave: %d %%, dwell: 1 s}, "
      "short: {enter: 100 %%, leave: 99 %%, dwell: 1 s}}}}\n"
      "stations:\n",
      300 * n + 700 * k + 350, tight, tight - 1);
  struct err err = {0};

  for (int i = 0; i < n; i++)
    used += snprintf(
        text + used, sizeof text - (size_t)used,
        "  H%d: {kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 1000 "
        "m3/h}}}\n",
        i + 1);
  if (!suite_from_text(&suite, text))
    return false;
  air = day_air_new(suite.facility, &err);
  return air != NULL;
}

static void end(void)
{
  day_air_free(air);
  suite_release(&suite);
}

static double chance_of_more(int n, int k, double p, double together)
{
  double up_ratio[DAY_STATIONS_MOST], ratio = NAN;

  if (CHECK(begin(n, k))) {
    for (int i = 0; i < n; i++)
      up_ratio[i] = p;
    ratio = day_chance_together_ratio(air, ((uint64_t)1 << n) - 1, up_ratio, n, together,
                                      FACILITY_SHORT);
  }
  end();
  return ratio;
}

static void equal_stations_are_short_by_the_binomial_tail(void)
{
  static const struct {
    int n, k;
    double p, below;
  } rows[] = {{10, 3, 0.3, 0.6496},  {10, 5, 0.3, 0.9527}, {12, 8, 0.4, 0.9847},
              {8, 6, 0.5, 0.9648},   {5, 2, 0.2, 0.9421},  {20, 8, 0.25, 0.9591},
              {20, 9, 0.25, 0.9861}, {20, 10, 0.5, 0.5881}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    CHECK_CASE("n %d, p %g, k %d", rows[i].n, rows[i].p, rows[i].k);
    CHECK_NEAR(1 - chance_of_more(rows[i].n, rows[i].k, rows[i].p, 0), rows[i].below, 0,
               rows[i].n <= DAY_EXACT_MOST ? 6e-5
                                           : 0.025); /* three standard errors of what is drawn */
  }
}

/* P(X > k) of the beta-binomial, from its definition. */
static double beta_binomial_more(int n, int k, double p, double rho)
{
  double a = p * (1 / rho - 1), b = (1 - p) * (1 / rho - 1), sum = 0;

  for (int i = k + 1; i <= n; i++)
    sum += exp(lgamma(n + 1.0) - lgamma(i + 1.0) - lgamma(n - i + 1.0) + lgamma(i + a) +
               lgamma(n - i + b) - lgamma(n + a + b) - lgamma(a) - lgamma(b) + lgamma(a + b));
  return sum;
}

static void equal_stations_together_are_short_by_the_beta_binomial_tail(void)
{
  CHECK_NEAR(chance_of_more(10, 5, 0.3, 0.2), beta_binomial_more(10, 5, 0.3, 0.2), 0.02, 0);
  CHECK_NEAR(chance_of_more(8, 6, 0.5, 0.1), beta_binomial_more(8, 6, 0.5, 0.1), 0.02, 0);
  CHECK_NEAR(chance_of_more(12, 8, 0.4, 0.3), beta_binomial_more(12, 8, 0.4, 0.3), 0.02, 0);
}

static void coming_together_makes_short_air_likelier(void)
{
  double before = chance_of_more(10, 6, 0.3, 0);

  for (int i = 1; i < 4; i++) {
    double now = chance_of_more(10, 6, 0.3, 0.1 * i);

    CHECK(now > before);
    before = now;
  }
}

static void unequal_chances_agree_with_every_set_asked_by_itself(void)
{
  static const double p[] = {0.9, 0.2, 0.5, 0.35, 0.7, 0.05};
  double sum = 0, likelier = 0;

  REQUIRE(begin(6, 3));
  for (uint64_t set = 0; set < 64; set++) {
    double weight = 1;

    for (int i = 0; i < 6; i++)
      weight *= set >> i & 1 ? p[i] : 1 - p[i];
    sum += day_air_level(air, set) == FACILITY_SHORT ? weight : 0;
    likelier += day_air_level(air, set) >= FACILITY_NEAR_LIMIT ? weight : 0;
  }
  CHECK_NEAR(day_chance_ratio(air, 63, p, 6, FACILITY_SHORT), sum, 1e-5, 1e-7);
  CHECK_NEAR(day_chance_ratio(air, 63, p, 6, FACILITY_NEAR_LIMIT), likelier, 1e-5, 1e-7);
  CHECK(likelier > sum);
  end();
}

static void what_was_inferred_is_what_a_fresh_solve_says(void)
{
  REQUIRE(begin(9, 4));
  for (uint64_t set = 0; set < 512; set++)
    (void)day_air_level(air, (set * 311) % 512);
  CHECK(day_air_solves(air) < 512);
  for (uint64_t set = 0; set < 512; set += 7) {
    struct err err = {0};
    struct day_air *fresh = day_air_new(suite.facility, &err);

    CHECK_INT(day_air_level(air, set), day_air_level(fresh, set));
    day_air_free(fresh);
  }
  end();
}

static void a_core_is_short_and_no_smaller_part_of_it_is(void)
{
  REQUIRE(begin(8, 3));
  uint64_t core = day_air_core(air, 0xFF);
  int count = 0;

  for (int i = 0; i < 8; i++)
    if (core >> i & 1) {
      count++;
      CHECK(day_air_level(air, core & ~((uint64_t)1 << i)) != FACILITY_SHORT);
    }
  CHECK_INT(day_air_level(air, core), FACILITY_SHORT);
  CHECK_INT(count, 4);
  end();
}

/* 20 stations, 0.08 parked and 0.35 at work: 11 at work in 99 of 100, 4.57 m3/s (air.md S38 by hand). */
static void a_band_of_flows_is_the_binomial_in_cubic_metres(void)
{
  double adds_m3_s[20], up_ratio[20];
  struct arena arena;

  for (int i = 0; i < 20; i++) {
    adds_m3_s[i] = 0.27;
    up_ratio[i] = 0.3;
  }
  arena_init(&arena, 16 << 20);
  struct day_band band = day_convolve(20 * 0.08, adds_m3_s, up_ratio, 20, &arena);

  /* binomial(20, 0.3): the median is 6; 5 % lies at 3, 95 % at 9 */
  CHECK_NEAR(band.p50_m3_s, 1.6 + 6 * 0.27, 0, 1e-9);
  CHECK_NEAR(band.p5_m3_s, 1.6 + 3 * 0.27, 0, 1e-9);
  CHECK_NEAR(band.p95_m3_s, 1.6 + 9 * 0.27, 0, 1e-9);
  arena_release(&arena);
}

static void odds_are_said_without_digits_that_nobody_knows(void)
{
  static const struct {
    double ratio;
    const char *words;
  } rows[] = {{0, "never in what was looked at"},
              {0.004, "under 1 in 100"},
              {0.012, "1 in 80"},
              {0.05, "1 in 20"},
              {0.33, "1 in 3"},
              {0.5, "1 in 2"},
              {0.66, "2 in 3"},
              {0.88, "9 in 10"},
              {0.97, "almost surely"},
              {0.143, "1 in 7"},
              {NAN, "not known"}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct buf text;

    buf_init(&text, 100);
    day_odds(rows[i].ratio, &text);
    CHECK_STR(text.text, rows[i].words);
    buf_release(&text);
  }
}

static void a_beta_variate_has_its_known_quantiles(void)
{
  CHECK_NEAR(day_beta_quantile_ratio(1, 1, 0.3), 0.3, 0, 1e-9);   /* uniform */
  CHECK_NEAR(day_beta_quantile_ratio(2, 1, 0.25), 0.5, 0, 1e-9);  /* x^2 */
  CHECK_NEAR(day_beta_quantile_ratio(1, 3, 0.488), 0.2, 0, 1e-9); /* 1 - (1-x)^3 */
  CHECK_NEAR(day_beta_quantile_ratio(0.5, 0.5, 1.0 / 3), 0.25, 0,
             1e-9); /* the arcsine law: sin^2(pi p / 2) */
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(equal_stations_are_short_by_the_binomial_tail);
  RUN(equal_stations_together_are_short_by_the_beta_binomial_tail);
  RUN(coming_together_makes_short_air_likelier);
  RUN(unequal_chances_agree_with_every_set_asked_by_itself);
  RUN(what_was_inferred_is_what_a_fresh_solve_says);
  RUN(a_core_is_short_and_no_smaller_part_of_it_is);
  RUN(a_band_of_flows_is_the_binomial_in_cubic_metres);
  RUN(odds_are_said_without_digits_that_nobody_knows);
  RUN(a_beta_variate_has_its_known_quantiles);
  return check_end();
}
