#include "matter/formula_impl.h"

static const char must_be_whole[] = "stations and at-most are whole numbers, at-most no larger";

static bool is_whole(double value)
{
  return fabs(value - round(value)) < 1e-9;
}

/* P(X <= at_most) of n, each with p. */
static double below(double n, double p, double at_most)
{
  double sum = 0;

  if (at_most >= n || p <= 0)
    return 1;
  if (p >= 1)
    return 0;
  for (int at = 0; at <= (int)at_most; at++) {
    double i = at;
    double log_choose = lgamma(n + 1) - lgamma(i + 1) - lgamma(n - i + 1);

    sum += exp(log_choose + i * log(p) + (n - i) * log1p(-p));
  }
  return fmin(sum, 1);
}

static const char *at_work_at_most(const double *in_si, double *out_si)
{
  if (!is_whole(in_si[0]) || !is_whole(in_si[2]) || in_si[2] > in_si[0])
    return must_be_whole;
  out_si[0] = below(in_si[0], in_si[1], in_si[2]);
  out_si[1] = 1 - out_si[0];
  return NULL;
}

static const char *design_number(const double *in_si, double *out_si)
{
  double n = in_si[0], at = 0;

  if (!is_whole(n))
    return must_be_whole;
  while (at < n && 1 - below(n, in_si[1], at) > in_si[2])
    at += 1;
  out_si[0] = at;
  out_si[1] = at / n;
  return NULL;
}

#define STATIONS_INPUT NEED("stations", RATIO, 1, 1000, "how many there are")
#define SHARE_INPUT    NEED("share", SHARE, 0, 1, "of the time that each is at work, by itself")

static const struct matter_formula rows[] = {
    {"at-work-at-most",
     "P(X <= k) = sum of C(n,i) p^i (1-p)^(n-i), i = 0..k",
     "binomial distribution; its use here: R. B. Hunter, NBS BMS65 (1940)",
     WIDE_RANGE,
     "stations=10 share=30% at-most=5",
     {STATIONS_INPUT, SHARE_INPUT, NEED("at-most", RATIO, 0, 1000, "so many at work at once")},
     {GIVE("probability", RATIO, "that no more are"), GIVE("more", RATIO, "that more are")},
     at_work_at_most},
    {"design-number",
     "the smallest k with P(X > k) <= risk",
     "R. B. Hunter, NBS BMS65 (1940), who took a risk of 1 %",
     WIDE_RANGE,
     "stations=20 share=30% risk=1%",
     {STATIONS_INPUT, SHARE_INPUT,
      ASSUME("risk", SHARE, 0.01, 1e-9, 0.5, "that more are at work at once")},
     {GIVE("number", RATIO, "of stations to have air for"),
      GIVE("of-all", RATIO, "that over all of them")},
     design_number},
};
const struct formula_group formula_use = CAUTIOUS_GROUP_OF(
    "Use at the same time",
    "independence is optimistic: courses, process days and shared chemicals bring "
    "people together; do not size a fan on it",
    rows);
