#ifndef NUMERIC_NUMERIC_H
#define NUMERIC_NUMERIC_H

#include "base/err.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * Linear systems whose pattern never changes, things that move in time, random numbers, chance, and what is alike.
 *
 * A sparse system is made once from the pairs of unknowns that meet in an
 * equation (the pattern is symmetric even where the values are not).  Making it
 * picks an elimination order of small fill and lists every update the
 * elimination will ever do, so that a new factorisation is one straight walk
 * over a table: no search, no pivoting, no allocation.
 *
 *     struct numeric_sparse *s = numeric_sparse_new(&pattern, &err);
 *     numeric_sparse_clear(s);
 *     values[numeric_sparse_entry(s, i, j)] += ...;
 *     numeric_sparse_factor(s, b, &pivots);       (also carries b forward)
 *     numeric_sparse_back(s, b);                  (b is now the solution)
 *
 * Vectors and entries are in *places*, not unknowns: place[u] is where unknown
 * u stands in the elimination.  A caller that numbers its own data by place
 * never permutes anything.
 *
 * Without pivoting the order is safe for symmetric positive definite matrices
 * and M-matrices; elsewhere look at `pivots.least` and use the dense solver.
 */
struct numeric_sparse;

struct numeric_pattern {
  int unknowns;
  int pair_count;
  const int (*pairs)[2]; /* unknowns that meet; repeats and i == j are fine */
  const bool *last;      /* NULL, or those that must be eliminated after all others */
  bool symmetric;        /* values too: L D L^T, one triangle stored */
  int spare;             /* extra diagonal slots, for sums that nobody reads */
};

struct numeric_pivots {
  double least; /* smallest |pivot| met */
  int worst;    /* its place */
  int mended;   /* pivots below `floor`, replaced by it */
};

/* NULL with ERR_LIMIT when the fill is beyond reason. */
struct numeric_sparse *numeric_sparse_new(const struct numeric_pattern *pattern, struct err *err);
void numeric_sparse_free(struct numeric_sparse *s); /* NULL is fine */

int numeric_sparse_place(const struct numeric_sparse *s, int unknown);
/* Index into the values of the entry at places (row, column); the spare entry,
 * which nobody reads, when the pattern has none there. */
int numeric_sparse_entry(const struct numeric_sparse *s, int row, int column);
int numeric_sparse_nowhere(const struct numeric_sparse *s);
double *numeric_sparse_values(struct numeric_sparse *s);
double *numeric_sparse_diagonal(struct numeric_sparse *s);  /* unknowns + spare of them */
size_t numeric_sparse_fill(const struct numeric_sparse *s); /* off-diagonal entries of L */

void numeric_sparse_clear(struct numeric_sparse *s);
void numeric_sparse_factor(struct numeric_sparse *s, double *b, double floor,
                           struct numeric_pivots *pivots);
void numeric_sparse_back(const struct numeric_sparse *s, double *b);
/* One more right-hand side with the factors at hand. */
void numeric_sparse_solve(const struct numeric_sparse *s, double *b);
/* The same with the matrix transposed: rows for columns. */
void numeric_sparse_solve_transposed(const struct numeric_sparse *s, double *b);
/* What a factorisation walks over, for who does many at once: column k has rows[start[k] .. start[k + 1]);
 * `targets` are the places, in a triangle, of all its updates in the order of sparse.c. */
struct numeric_plan {
  int n, value_count, upper,
      diagonal; /* places in the values: of U (L where symmetric), and of D */
  bool symmetric;
  const int *start, *rows, *targets;
};
struct numeric_plan numeric_sparse_plan(const struct numeric_sparse *s);
/* The assembled values, before factoring, as rows of a full matrix. */
void numeric_sparse_to_dense(const struct numeric_sparse *s, double *a);

/* Full matrix by rows, partial pivoting, overwritten; b becomes the solution.
 * False when no pivot is left; the smallest pivot ratio goes to rcond_out. */
bool numeric_dense_solve(int n, double *a, double *b, double *rcond_out);

/* The same in two: factors in place of a, one row swap per column; then as many sides as there are.
 * A pivot that is zero is left out: its unknown becomes zero. */
void numeric_dense_factor(int n, double *a, int *swaps);
void numeric_dense_back(int n, const double *a, const int *swaps, double *b);

/*
 * The x that leaves the least squares of a x - b, by Householder reflections (Businger and Golub,
 * Numerische Mathematik 7, 1965): rows >= columns, both overwritten.  covariance_out (columns x columns,
 * may be NULL) gets the inverse of a' a.  False where a column hangs on the others.
 */
bool numeric_least_squares(int rows, int columns, double *a, double *b, double *x_out,
                           double *covariance_out);

/*
 * dy/dt = slope(t, y), stiff or not, by steps that are as long as the error allows: a linearly implicit
 * method of order 3 with an error of order 2 (Rang and Angermann 2005), and a cubic between the two ends
 * of a step.
 *
 *     struct numeric_stepper *s = numeric_stepper_new(&motion);
 *     numeric_stepper_start(s, 0, y);
 *     while (numeric_stepper_step(s, end) < end)
 *       if (something turned within the step)
 *         numeric_stepper_cut(s, when);       (the step ends there; look with numeric_stepper_at)
 *     numeric_stepper_free(s);
 *
 * The Jacobian may be old, rough, or left out in part: that costs steps, never the order.  What is left
 * out must not be stiff.  It is given in square blocks of states in a row that answer to one another; most
 * states are a block of their own.  It is found anew after a start, a cut and a step that was tried again
 * with an old one.
 *
 * A step whose error is too large is tried again shorter, never shorter than least_step: then it is
 * taken as it is, and counted.  The slope may have kinks, not jumps: start anew behind a jump.  After a
 * start, a step or a cut the last slope asked for is the one at the state reached, so that what the slope
 * leaves behind belongs to it; so must the Jacobian leave it.
 * Memory is taken when it is made; it belongs to one thread.
 */
struct numeric_stepper;

struct numeric_motion {
  int count;
  void (*slope)(void *of, double t, const double *y, double *slope_out);
  void *of;
  const double
      *least_error; /* per state, > 0: allowed in a step, beside error_ratio of the state */
  double error_ratio, least_step, most_step;
  /* d slope / d y, block after block, each by rows; NULL: nothing is stiff */
  void (*jacobian)(void *of, double t, const double *y, const double *slope, double *out);
  int block_count, jacobian_lasts; /* steps for which one is good; 1: found at every step */
  const int *blocks;               /* borrowed: states of each, `count` in all */
};

struct numeric_steps {
  long taken, rejected, at_least, slopes, jacobians; /* at_least: taken with a larger error */
};

struct numeric_stepper *numeric_stepper_new(const struct numeric_motion *motion);
void numeric_stepper_free(struct numeric_stepper *s); /* NULL is fine */
void numeric_stepper_start(struct numeric_stepper *s, double t, const double *y);
double numeric_stepper_step(struct numeric_stepper *s, double until); /* the time reached */
void numeric_stepper_at(const struct numeric_stepper *s, double t, double *y_out);
void numeric_stepper_cut(struct numeric_stepper *s, double t); /* within the last step */
double numeric_stepper_now(const struct numeric_stepper *s);
double numeric_stepper_before(const struct numeric_stepper *s); /* where the last step began */
double *numeric_stepper_state(struct numeric_stepper *s);       /* as it stands now */
const double *numeric_stepper_slope(const struct numeric_stepper *s);
void numeric_stepper_limit(struct numeric_stepper *s, double most_step);
void numeric_stepper_refresh(struct numeric_stepper *s); /* the state was changed by hand */
struct numeric_steps numeric_stepper_steps(const struct numeric_stepper *s);

/* xoshiro256** seeded by splitmix64 (Blackman and Vigna, "Scrambled linear
 * pseudorandom number generators", 2021): same seed, same numbers, everywhere. */
struct numeric_random {
  uint64_t state[4];
};
void numeric_random_seed(struct numeric_random *random, uint64_t seed);
uint64_t numeric_random_bits(struct numeric_random *random);
double numeric_random_unit(struct numeric_random *random);          /* [0, 1) */
int numeric_random_below(struct numeric_random *random, int count); /* 0 .. count-1 */
double numeric_random_between(struct numeric_random *random, double low, double high);

/*
 * Whoever takes the greater of two computed figures asks here.  Figures alike (two stations of one kind; a
 * main, and the supply that feeds it) come out of a solve equal but for their last digits, which hang on
 * the order of elimination: neither exceeds the other, and the order of the file decides.  Alike is what
 * differs by less than 1e-4 of the larger, or than `nothing`, in the unit of both.
 *
 *     if (best < 0 || numeric_exceeds(flow[i], flow[best], least_flow))
 *       best = i;
 *
 * Not transitive, so not for qsort: numeric_sort puts first what comes before by `before`, and leaves alone
 * what does not; for lists of some hundred.  tests/order demands the same texts of another elimination.
 */
bool numeric_exceeds(double x, double y, double nothing);
void numeric_sort(void *list, size_t count, size_t size,
                  bool (*before)(const void *one, const void *other));

/* "1 in 3", "9 in 10", "under 1 in 100", "almost surely"; NaN: "not known". */
struct buf;
void numeric_odds(double ratio, struct buf *out);

/* What of the normal distribution lies below z of its standard deviations. */
double numeric_normal_below_ratio(double z);

/* The beta distribution: what lies below x, and the x below which so much lies. */
double numeric_beta_below_ratio(double a, double b, double x);
double numeric_beta_quantile_ratio(double a, double b, double p_ratio);

/* How probable each of the 2^n sets is, member i being in with p[i], independently of the others. */
void numeric_set_weights(int n, const double *p_ratio, double *weight_out);
/*
 * Members that follow a common cause: each one's share is beta distributed around its p with this
 * correlation, and all stand at one quantile of theirs.  Gives the shares at that quantile; the mean over
 * quantiles is p again, and equal members are beta-binomial.
 */
void numeric_share_common(int n, const double *p_ratio, double correlation_ratio, double at_ratio,
                          double *p_out_ratio);

#endif
