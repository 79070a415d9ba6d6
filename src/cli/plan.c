/*
 * inward-plan FILE.mps SECONDS GAP: solves a model of zeros and ones with CBC, in a process of its own, so
 * that a solver takes nothing down with it.  For `inward day --plan`; prints lines that begin with @.
 */
#include <coin/Cbc_C_Interface.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

static double clock_s(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define IS_SANITIZED 1 /* its shadow is larger than any limit */
#endif
#endif
#ifndef IS_SANITIZED
#define IS_SANITIZED 0
#endif

/* CBC oversteps its own limit by some seconds; the system's does not. */
static void limit(double seconds_s)
{
  struct rlimit cpu = {.rlim_cur = (rlim_t)(2 * seconds_s + 20),
                       .rlim_max = (rlim_t)(2 * seconds_s + 30)};
  struct rlimit memory = {.rlim_cur = (rlim_t)4 << 30, .rlim_max = (rlim_t)4 << 30};

  setrlimit(RLIMIT_CPU, &cpu);
  if (!IS_SANITIZED)
    setrlimit(RLIMIT_AS, &memory);
}

static void say(Cbc_Model *model, double began_s)
{
  const double *solution = Cbc_getColSolution(model);
  double bound = Cbc_getBestPossibleObjValue(model), cost = Cbc_getObjValue(model);
  int proven = Cbc_isProvenOptimal(model);
  int found = solution && cost < 1e29;

  printf("@ %s %.17g %.17g %.3f\n", found ? "found" : "none", found ? cost : 0.0,
         proven && found ? fmin(cost, bound > cost ? cost : bound) : bound, clock_s() - began_s);
  for (int c = 0; found && c < Cbc_getNumCols(model); c++)
    if (solution[c] > 0.5)
      printf("@x %d\n", c);
}

int main(int argc, char **argv)
{
  double began_s = clock_s();

  if (argc != 4) {
    fputs("usage: inward-plan FILE.mps SECONDS GAP; 'inward day --plan' starts it\n", stderr);
    return 2;
  }
  limit(strtod(argv[2], NULL));
  Cbc_Model *model = Cbc_newModel();

  if (Cbc_readMps(model, argv[1]) != 0) {
    fprintf(stderr, "inward-plan: %s is no model\n", argv[1]);
    Cbc_deleteModel(model);
    return 2;
  }
  Cbc_setParameter(model, "logLevel", "0");
  Cbc_setParameter(model, "seconds", argv[2]);
  Cbc_setParameter(model, "ratioGap", argv[3]);
  Cbc_solve(model);
  say(model, began_s);
  Cbc_deleteModel(model);
  return fflush(stdout) == 0 ? 0 : 3;
}
