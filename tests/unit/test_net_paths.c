#include "net/power_impl.h"

#include "net/net.h"

#include "check.h"
#include "random_net.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The same answer, bit by bit, whatever instructions the machine has. */

static struct random_net sample;

static struct net *sample_net(void)
{
  struct err err = {0};
  struct net *net = net_new(&sample.problem, &err);
  if (!CHECK(net))
    exit(check_end());
  return net;
}

static bool same_bits(double a, double b)
{
  return isnan(a) ? isnan(b) : a == b && signbit(a) == signbit(b);
}

static bool same_answer(const struct net *a, const struct net *b)
{
  for (int n = 0; n < sample.problem.node_count; n++)
    if (net_has_pressure(a, n) != net_has_pressure(b, n) ||
        !same_bits(net_pressure_Pa(a, n), net_pressure_Pa(b, n)))
      return false;
  for (int l = 0; l < sample.problem.link_count; l++)
    if (!same_bits(net_flow_kg_s(a, l), net_flow_kg_s(b, l)) ||
        net_link_segment(a, l) != net_link_segment(b, l))
      return false;
  return true;
}

static bool same_report(const struct net_report *a, const struct net_report *b)
{
  return a->verdict == b->verdict && a->iterations == b->iterations &&
         a->fallbacks == b->fallbacks && a->worst_node == b->worst_node &&
         a->ill_posed_node == b->ill_posed_node && a->crossing_count == b->crossing_count &&
         same_bits(a->residual_kg_s, b->residual_kg_s) && strcmp(a->reason, b->reason) == 0;
}

static void compare(enum random_net_kind kind, uint64_t seed, enum net_path path)
{
  struct net_report plain_report, report;
  random_net_make(&sample, seed, kind);
  struct net *plain = sample_net(), *other = sample_net();
  CHECK_CASE("kind %d seed %d by %s", (int)kind, (int)seed, net_path_name(path));
  REQUIRE(net_take_path(plain, NET_PATH_PLAIN));
  if (net_take_path(other, path)) {
    CHECK_INT(net_path_of(other), path);
    for (int solve = 0; solve < 4; solve++) { /* cold, from its own answer, a link changed */
      int l = numeric_random_below(&sample.random, sample.link_count);
      sample.links[l].set_kg_s *= solve > 1 ? 0.8 : 1;
      for (int m = 0; m < sample.links[l].member_count && solve > 1; m++)
        sample.members[sample.links[l].members - sample.members + m].k[0] *= 1.5;
      if (solve > 1) {
        net_update_link(plain, &sample.problem, l);
        net_update_link(other, &sample.problem, l);
      }
      net_solve(plain, &plain_report);
      net_solve(other, &report);
      CHECK(same_report(&plain_report, &report));
      CHECK(same_answer(plain, other));
    }
  }
  net_free(plain);
  net_free(other);
}

/* Against the C library's long double; the rounding of a logarithm of 40 counts for more than that of 10. */
static double furthest_power(double least_ten, double most_ten)
{
  struct numeric_random random;
  double most = 0;
  numeric_random_seed(&random, 7);
  for (int i = 0; i < 200000; i++) {
    double x = pow(10, numeric_random_between(&random, least_ten, most_ten));
    double n = numeric_random_between(&random, -1, 1), want = (double)powl(x, n);
    most = fmax(most, fabs(power_of(x, n) - want) / want);
  }
  return most;
}

static void a_power_is_that_of_the_library(void)
{
  CHECK_NEAR(furthest_power(-12, 6), 0, 0, 1e-14);
  CHECK_NEAR(furthest_power(-3, 3), 0, 0, 2e-15);
  CHECK(power_of(1, 0.54) == 1);
}

static void every_path_gives_the_same_answer_bit_by_bit(void)
{
  for (int path = NET_PATH_AVX2; path <= NET_PATH_AVX512; path++)
    for (uint64_t seed = 0; seed < 300; seed++)
      for (int kind = 0; kind < 3; kind++)
        compare((enum random_net_kind)kind, seed, (enum net_path)path);
}

static void a_new_net_takes_the_widest_path_there_is(void)
{
  random_net_make(&sample, 1, RANDOM_NET_PLAIN);
  struct net *net = sample_net();
  enum net_path widest = net_path_of(net);
  for (int path = NET_PATH_PLAIN; path <= NET_PATH_AVX512; path++) {
    CHECK_INT(net_path_has((enum net_path)path), path <= (int)widest);
    CHECK_INT(net_take_path(net, (enum net_path)path), path <= (int)widest);
  }
  REQUIRE(net_take_path(net, NET_PATH_BEST));
  CHECK_INT(net_path_of(net), widest);
  net_free(net);
}

static void a_path_outlives_a_change_of_what_is_folded(void)
{
  struct net_report report;
  random_net_make(&sample, 3, RANDOM_NET_PLAIN);
  struct net *net = sample_net();
  REQUIRE(net_take_path(net, NET_PATH_PLAIN));
  for (int l = 0; l < sample.problem.link_count; l++)
    sample.links[l].law = sample.links[l].law == NET_RESIST ? NET_SHUT : sample.links[l].law;
  net_update(net, &sample.problem);
  net_solve(net, &report);
  CHECK_INT(net_path_of(net), NET_PATH_PLAIN);
  net_free(net);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_power_is_that_of_the_library);
  RUN(every_path_gives_the_same_answer_bit_by_bit);
  RUN(a_new_net_takes_the_widest_path_there_is);
  RUN(a_path_outlives_a_change_of_what_is_folded);
  return check_end();
}
