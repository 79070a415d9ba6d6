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
    for (int solve = 0; solve < 2; solve++) { /* cold, and from its own answer */
      net_solve(plain, &plain_report);
      net_solve(other, &report);
      CHECK(same_report(&plain_report, &report));
      CHECK(same_answer(plain, other));
    }
  }
  net_free(plain);
  net_free(other);
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
  RUN(every_path_gives_the_same_answer_bit_by_bit);
  RUN(a_new_net_takes_the_widest_path_there_is);
  RUN(a_path_outlives_a_change_of_what_is_folded);
  return check_end();
}
