#include "net/net.h"

#include "base/buf.h"
#include "check.h"
#include "random_net.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/*
 * usage: test_net_random            the tests, on a few thousand made-up networks
 *        test_net_random soak N [KIND [FIRST]]   only that many, of each kind, with a summary
 *        test_net_random print KIND SEED   the text of one network
 *
 * Every network must end in a verdict and none in NET_FAILED.
 */

static struct random_net sample;
static const char *const kind_names[] = {"plain", "controlled", "degenerate"};

struct tally {
  int verdicts[5], fallbacks, slow;
  long iterations;
};

static bool run_one(enum random_net_kind kind, uint64_t seed, struct tally *tally)
{
  struct err err = {0};
  struct net_report report;
  random_net_make(&sample, seed, kind);
  struct net *net = net_new(&sample.problem, &err);
  if (!net) {
    printf("%s seed %llu refused: %s\n", kind_names[kind], (unsigned long long)seed, err.text);
    return false;
  }
  enum net_verdict verdict = net_solve(net, &report);
  tally->verdicts[verdict]++;
  tally->fallbacks += report.fallbacks > 0;
  tally->iterations += report.iterations;
  tally->slow += report.iterations > 60;
  net_free(net);
  if (verdict == NET_FAILED)
    printf("%s seed %llu FAILED: %s (%d + %d iterations, residual %.3g)\n", kind_names[kind],
           (unsigned long long)seed, report.reason, report.iterations, report.fallbacks,
           report.residual_kg_s);
  return verdict != NET_FAILED;
}

static int run_many(enum random_net_kind kind, int count, int first)
{
  struct tally tally = {0};
  int failed = 0;
  for (int seed = first; seed < first + count; seed++)
    failed += !run_one(kind, (uint64_t)seed, &tally);
  printf("%-10s %6d: solved %d, at floor %d, ill-posed %d, several %d, failed %d; fallback %d, "
         "mean iterations %.1f\n",
         kind_names[kind], count, tally.verdicts[NET_SOLVED], tally.verdicts[NET_AT_FLOOR],
         tally.verdicts[NET_ILL_POSED], tally.verdicts[NET_SEVERAL_SOLUTIONS], failed,
         tally.fallbacks, (double)tally.iterations / count);
  return failed;
}

static void every_plain_network_is_solved(void)
{
  CHECK_INT(run_many(RANDOM_NET_PLAIN, 2000, 0), 0);
}

static void every_controlled_network_is_solved(void)
{
  CHECK_INT(run_many(RANDOM_NET_CONTROLLED, 2500, 0), 0);
}

static void every_degenerate_network_ends_in_a_verdict(void)
{
  CHECK_INT(run_many(RANDOM_NET_DEGENERATE, 500, 0), 0);
}

static int print_one(const char *kind, const char *seed)
{
  struct buf out;
  buf_init(&out, 1 << 20);
  for (int k = 0; k < 3; k++)
    if (strcmp(kind, kind_names[k]) == 0)
      random_net_make(&sample, strtoull(seed, NULL, 10), (enum random_net_kind)k);
  net_print(&sample.problem, &out);
  fputs(out.text, stdout);
  buf_release(&out);
  struct tally tally = {0};
  for (int k = 0; k < 3; k++)
    if (strcmp(kind, kind_names[k]) == 0)
      return !run_one((enum random_net_kind)k, strtoull(seed, NULL, 10), &tally);
  return 2;
}

int main(int argc, char **argv)
{
  setvbuf(stdout, NULL, _IOLBF, BUFSIZ);
  if (argc >= 3 && strcmp(argv[1], "soak") == 0) {
    int failed = 0, count = (int)strtol(argv[2], NULL, 10);
    int first = argc > 4 ? (int)strtol(argv[4], NULL, 10) : 0;
    for (int kind = 0; kind < 3; kind++)
      if (argc == 3 || strcmp(argv[3], kind_names[kind]) == 0)
        failed += run_many((enum random_net_kind)kind, count, first);
    return failed > 0;
  }
  if (argc == 4 && strcmp(argv[1], "print") == 0)
    return print_one(argv[2], argv[3]);
  check_begin(argc, argv);
  RUN(every_plain_network_is_solved);
  RUN(every_controlled_network_is_solved);
  RUN(every_degenerate_network_ends_in_a_verdict);
  return check_end();
}
