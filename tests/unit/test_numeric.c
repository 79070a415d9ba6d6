#include "numeric/numeric.h"

#include "check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A random network of n unknowns as a matrix: tree plus extra links, some tied to ground. */
struct sample {
  int n, pair_count;
  int pairs[400][2];
  bool last[120];
  double dense[120 * 120], b[120], want[120];
};

static void make_pattern(struct sample *s, struct numeric_random *random)
{
  s->n = 2 + numeric_random_below(random, 100);
  s->pair_count = 0;
  for (int i = 1; i < s->n; i++) {
    s->pairs[s->pair_count][0] = i;
    s->pairs[s->pair_count++][1] = numeric_random_below(random, i);
  }
  int extra = numeric_random_below(random, 40);
  for (int i = 0; i < extra; i++) {
    s->pairs[s->pair_count][0] = numeric_random_below(random, s->n);
    s->pairs[s->pair_count++][1] = numeric_random_below(random, s->n);
  }
  for (int i = 0; i < s->n; i++)
    s->last[i] = numeric_random_below(random, 20) == 0;
}

static struct numeric_sparse *make_values(struct sample *s, struct numeric_random *random,
                                          bool symmetric)
{
  struct err err = {0};
  struct numeric_pattern pattern = {.unknowns = s->n,
                                    .pair_count = s->pair_count,
                                    .pairs = (const int(*)[2])s->pairs,
                                    .last = s->last,
                                    .symmetric = symmetric,
                                    .spare = 1};
  struct numeric_sparse *sparse = numeric_sparse_new(&pattern, &err);
  double *values = numeric_sparse_values(sparse);
  memset(s->dense, 0, sizeof s->dense);
  for (int p = 0; p < s->pair_count; p++) {
    int i = s->pairs[p][0], j = s->pairs[p][1];
    if (i == j)
      continue;
    double c = pow(10, numeric_random_between(random, -4, 4)), d = symmetric ? c : 0.5 * c;
    int pi = numeric_sparse_place(sparse, i), pj = numeric_sparse_place(sparse, j);
    values[numeric_sparse_entry(sparse, pi, pi)] += c;
    values[numeric_sparse_entry(sparse, pj, pj)] += c;
    values[numeric_sparse_entry(sparse, pi, pj)] -= c;
    if (!symmetric)
      values[numeric_sparse_entry(sparse, pj, pi)] -= d;
    s->dense[pi * s->n + pi] += c;
    s->dense[pj * s->n + pj] += c;
    s->dense[pi * s->n + pj] -= c;
    s->dense[pj * s->n + pi] -= d;
  }
  for (int i = 0; i < s->n; i++) {
    values[numeric_sparse_entry(sparse, i, i)] += 0.01;
    s->dense[i * s->n + i] += 0.01;
    s->b[i] = s->want[i] = numeric_random_between(random, -1, 1);
  }
  return sparse;
}

static void compare(bool symmetric, uint64_t seed)
{
  static struct sample s;
  struct numeric_random random;
  struct numeric_pivots pivots;
  numeric_random_seed(&random, seed);
  for (int i = 0; i < 60; i++) {
    double rcond, copy[120];
    CHECK_CASE("%s sample %d", symmetric ? "symmetric" : "general", i);
    make_pattern(&s, &random);
    struct numeric_sparse *sparse = make_values(&s, &random, symmetric);
    memcpy(copy, s.b, sizeof copy);
    CHECK(numeric_dense_solve(s.n, s.dense, s.want, &rcond));
    numeric_sparse_factor(sparse, s.b, 0, &pivots);
    numeric_sparse_back(sparse, s.b);
    numeric_sparse_solve(sparse, copy);
    for (int k = 0; k < s.n; k++) {
      CHECK_NEAR(s.b[k], s.want[k], 1e-7, 1e-9);
      CHECK_NEAR(copy[k], s.b[k], 1e-9, 1e-12);
    }
    CHECK_INT(pivots.mended, 0);
    numeric_sparse_free(sparse);
  }
}

static void a_symmetric_network_solves_as_the_full_matrix_does(void)
{
  compare(true, 1);
}

static void an_unsymmetric_network_solves_as_the_full_matrix_does(void)
{
  compare(false, 2);
}

static void a_tree_is_eliminated_without_fill(void)
{
  struct err err = {0};
  int pairs[199][2];
  for (int i = 0; i < 199; i++) {
    pairs[i][0] = i + 1;
    pairs[i][1] = i / 3;
  }
  struct numeric_pattern pattern = {
      .unknowns = 200, .pair_count = 199, .pairs = (const int(*)[2])pairs, .symmetric = true};
  struct numeric_sparse *sparse = numeric_sparse_new(&pattern, &err);
  CHECK_INT((long long)numeric_sparse_fill(sparse), 199);
  numeric_sparse_free(sparse);
}

static void an_unknown_asked_to_be_last_is_last(void)
{
  struct err err = {0};
  const int pairs[][2] = {{0, 1}, {1, 2}, {2, 3}};
  const bool last[] = {false, true, false, false};
  struct numeric_pattern pattern = {
      .unknowns = 4, .pair_count = 3, .pairs = pairs, .last = last, .symmetric = false};
  struct numeric_sparse *sparse = numeric_sparse_new(&pattern, &err);
  CHECK_INT(numeric_sparse_place(sparse, 1), 3);
  numeric_sparse_free(sparse);
}

static void a_zero_pivot_is_counted_and_mended(void)
{
  struct err err = {0};
  const int pairs[][2] = {{0, 1}};
  double b[2] = {1, 1};
  struct numeric_pivots pivots;
  struct numeric_pattern pattern = {
      .unknowns = 2, .pair_count = 1, .pairs = pairs, .symmetric = true};
  struct numeric_sparse *sparse = numeric_sparse_new(&pattern, &err);
  numeric_sparse_factor(sparse, b, 1e-9, &pivots);
  CHECK_INT(pivots.mended, 2);
  CHECK_NEAR(pivots.least, 0, 0, 0);
  numeric_sparse_free(sparse);
}

static void a_full_matrix_needing_row_exchanges_is_solved(void)
{
  double a[] = {0, 2, 1, 1, 0, 0, 0, 1, 3}, b[] = {7, 1, 11}, rcond;
  CHECK(numeric_dense_solve(3, a, b, &rcond)); /* x = 1, y = 2, z = 3 */
  CHECK_NEAR(b[0], 1, 1e-14, 0);
  CHECK_NEAR(b[1], 2, 1e-14, 0);
  CHECK_NEAR(b[2], 3, 1e-14, 0);
  double singular[] = {1, 2, 2, 4}, c[] = {1, 2};
  CHECK(!numeric_dense_solve(2, singular, c, &rcond));
}

/* First outputs of splitmix64 from 0 are e220a8397b1dcdaf, 6e789e6aa1b965f4 (published test
 * vectors of the algorithm, value from memory); they are the first two words of the state. */
static void a_seed_gives_the_published_state(void)
{
  struct numeric_random random;
  numeric_random_seed(&random, 0);
  CHECK(random.state[0] == 0xe220a8397b1dcdafu);
  CHECK(random.state[1] == 0x6e789e6aa1b965f4u);
  double sum = 0;
  for (int i = 0; i < 100000; i++)
    sum += numeric_random_unit(&random);
  CHECK_NEAR(sum / 100000, 0.5, 0, 0.005);
}

/* Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.1, P(x) (values from memory);
 * 26.2.5 and the tail of table 26.2: -log10 Q(5) = 6.54265. */
static void the_normal_distribution_is_that_of_the_tables(void)
{
  static const double rows[][2] = {{0, 0.5},
                                   {0.5, 0.691462461274},
                                   {1, 0.841344746069},
                                   {1.5, 0.933192798731},
                                   {2, 0.977249868052},
                                   {3, 0.998650101968}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    CHECK_NEAR(numeric_normal_below_ratio(rows[i][0]), rows[i][1], 0, 5e-13);
    CHECK_NEAR(numeric_normal_below_ratio(-rows[i][0]), 1 - rows[i][1], 0, 5e-13);
  }
  CHECK_NEAR(-log10(numeric_normal_below_ratio(-5)), 6.54265, 0, 5e-6);
}

struct figure {
  int place;
  double size;
};

static bool is_larger(const void *one, const void *other)
{
  const struct figure *a = one, *b = other;
  return numeric_exceeds(a->size, b->size, 1e-9);
}

static void of_figures_alike_neither_is_the_greater(void)
{
  CHECK(numeric_exceeds(1.001, 1, 0));
  CHECK(!numeric_exceeds(1, 1.001, 0));
  CHECK(!numeric_exceeds(700.0000000001, 700, 0));
  CHECK(!numeric_exceeds(-700, -700.0000000001, 0));
  CHECK(numeric_exceeds(1e-15, 0, 0));
  CHECK(!numeric_exceeds(1e-15, 0, 1e-9));
  CHECK(numeric_exceeds(INFINITY, 1, 1e-9));
  CHECK(numeric_exceeds(1, -INFINITY, 1e-9));
  CHECK(!numeric_exceeds(INFINITY, INFINITY, 1e-9));
  CHECK(!numeric_exceeds(NAN, 1, 1e-9));
  CHECK(!numeric_exceeds(1, NAN, 1e-9));
}

/* Five sizes in twenty places, each off by its own last bits. */
static void figures_alike_stay_in_their_order(void)
{
  struct numeric_random random;
  struct figure list[20];
  numeric_random_seed(&random, 3);
  for (int i = 0; i < 20; i++)
    list[i] = (struct figure){i, (1 + i % 5) * numeric_random_between(&random, 1 - 1e-12, 1)};
  numeric_sort(list, 20, sizeof *list, is_larger);
  for (int i = 0; i < 20; i++)
    CHECK_INT(list[i].place, 4 - i / 4 + 5 * (i % 4));
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_symmetric_network_solves_as_the_full_matrix_does);
  RUN(an_unsymmetric_network_solves_as_the_full_matrix_does);
  RUN(a_tree_is_eliminated_without_fill);
  RUN(an_unknown_asked_to_be_last_is_last);
  RUN(a_zero_pivot_is_counted_and_mended);
  RUN(a_full_matrix_needing_row_exchanges_is_solved);
  RUN(a_seed_gives_the_published_state);
  RUN(of_figures_alike_neither_is_the_greater);
  RUN(figures_alike_stay_in_their_order);
  RUN(the_normal_distribution_is_that_of_the_tables);
  return check_end();
}
