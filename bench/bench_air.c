#include "bench_net.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/*
 * usage: bench_air [REPEATS]
 *
 * Steady networks against KINSOL + KLU (line search, exact Jacobian), in one
 * process, the same laws and the same 1e-9 kg/s.  Our time includes the second,
 * plain evaluation of every law; KINSOL's does not.  Medians; in brackets the
 * quartiles.  A residual above 1e-9 or pressures that differ by more than 1e-6 Pa
 * end the run with exit 1; a ratio below its target is said.
 */

static const struct shape shapes[] = {
    {"S", 1, 8, 2, 1, 0},
    {"M", 4, 30, 3, 2, 1},
    {"L", 40, 300, 4, 10, 5},
};
/* floors of the ratios against the full graph, and with the same unknowns */
static const double cold_floor[] = {10, 10, 20}, warm_floor[] = {14, 20, 20};
enum { SHAPES = 3, SAME_FLOOR = 4, WARM_STATIONS = 8, REPEATS_MAX = 2001 };

static int faults;

static double now_us(void)
{
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return 1e6 * (double)t.tv_sec + 1e-3 * (double)t.tv_nsec;
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

struct timing {
  double us[REPEATS_MAX];
  int count;
  long iterations;
};

static double quantile(struct timing *t, double q)
{
  qsort(t->us, (size_t)t->count, sizeof(double), ascending);
  return t->us[(int)(q * (t->count - 1))];
}

static void note(struct timing *t, double us, int iterations)
{
  t->us[t->count++] = us;
  t->iterations += iterations;
}

static void fault(const char *what, const char *name, double value)
{
  printf("FAULT %s %s: %g\n", name, what, value);
  faults++;
}

static void our_solve(struct net *net, struct timing *t, double since, const char *name)
{
  struct net_report report;
  net_solve(net, &report);
  note(t, now_us() - since, report.iterations);
  if (report.verdict != NET_SOLVED || report.residual_kg_s > 1e-9)
    fault("our residual, kg/s", name, report.residual_kg_s);
}

static void rival_timed(struct rival *r, struct timing *t, const char *name)
{
  double since = now_us();
  int iterations = rival_solve(r);
  note(t, now_us() - since, iterations);
  if (iterations < 0 || rival_residual_kg_s(r) > 1e-9)
    fault("KINSOL residual, kg/s", name, rival_residual_kg_s(r));
}

static void agree(const struct net *net, const struct rival *full, const struct rival *reduced,
                  const struct building *b)
{
  double worst = 0;
  for (int i = 0; i < b->full.unknowns; i++)
    worst = fmax(worst, fabs(net_pressure_Pa(net, i + 1) - rival_pressure_Pa(full, i)));
  for (int i = 0; i < b->reduced.unknowns; i++)
    worst = fmax(worst, fabs(net_pressure_Pa(net, i + 1) - rival_pressure_Pa(reduced, i)));
  if (worst > 1e-6)
    fault("pressures differ, Pa", b->shape.name, worst);
}

static void print_row(const char *what, struct timing *ours, struct timing *full,
                      struct timing *reduced, double floor)
{
  double us = quantile(ours, 0.5), against_full = quantile(full, 0.5) / us;
  double against_same = quantile(reduced, 0.5) / us;
  printf(
      "%-7s %8.2f [%.2f %.2f] its %.1f | full %8.1f [%.1f %.1f] its %.1f | same %8.1f its %.1f | "
      "%5.1fx (target %g)  %5.1fx (target %d)\n",
      what, us, quantile(ours, 0.25), quantile(ours, 0.75), (double)ours->iterations / ours->count,
      quantile(full, 0.5), quantile(full, 0.25), quantile(full, 0.75),
      (double)full->iterations / full->count, quantile(reduced, 0.5),
      (double)reduced->iterations / reduced->count, against_full, floor, against_same, SAME_FLOOR);
  if (against_full < floor || against_same < SAME_FLOOR)
    printf("%-7s below its target\n", what);
}

/* The sash that moves at step i; gives its station. */
static int move(struct building *b, int i)
{
  static const double openings[] = {1, 0.5, 0.8, 0.35};
  int s = (i % WARM_STATIONS) * b->shape.stations / WARM_STATIONS;
  building_move(b, s, openings[(i / WARM_STATIONS) % 4]);
  return s;
}

static void our_move(struct building *b, struct net *net, int i, struct timing *t)
{
  int s = move(b, i);
  double since = now_us();
  net_update_link(net, &b->problem, b->sash_link[s]);
  if (b->valve_link[s] >= 0)
    net_update_link(net, &b->problem, b->valve_link[s]);
  our_solve(net, t, since, b->shape.name);
}

/* In turns of a block each, so that no solver starts with the caches of another. */
enum { BLOCK = 32 };

static void compare_cold(struct net *net, struct rival *full, struct rival *reduced, int repeats,
                         struct timing *t)
{
  for (int i = 0; i < repeats; i++) {
    net_forget(net);
    our_solve(net, &t[0], now_us(), "cold");
  }
  for (int i = 0; i < repeats; i++) {
    rival_forget(full);
    rival_timed(full, &t[1], "full");
  }
  for (int i = 0; i < repeats; i++) {
    rival_forget(reduced);
    rival_timed(reduced, &t[2], "same unknowns");
  }
}

static void compare_warm(struct building *b, struct net *net, struct rival *full,
                         struct rival *reduced, int block, struct timing *t)
{
  int first = 1 + block * BLOCK;
  for (int i = first; i < first + BLOCK; i++)
    our_move(b, net, i, &t[0]);
  for (int i = first; i < first + BLOCK; i++) {
    move(b, i);
    rival_timed(full, &t[1], "full");
  }
  for (int i = first; i < first + BLOCK; i++) {
    move(b, i);
    rival_timed(reduced, &t[2], "same unknowns");
  }
}

static void compare(int shape, int repeats)
{
  static struct timing cold[3], warm[3];
  struct building b;
  struct err err = {0};
  building_make(&b, &shapes[shape], false);
  struct net *net = net_new(&b.problem, &err);
  struct rival *full = rival_new(&b.full), *reduced = rival_new(&b.reduced);
  for (int i = 0; i < 3; i++)
    cold[i].count = warm[i].count = 0, cold[i].iterations = warm[i].iterations = 0;
  for (int block = 0; block < repeats / BLOCK; block++)
    compare_cold(net, full, reduced, BLOCK, cold);
  agree(net, full, reduced, &b);
  for (int block = 0; block < repeats / BLOCK; block++)
    compare_warm(&b, net, full, reduced, block, warm);
  agree(net, full, reduced, &b);
  printf("%s  unknowns %d, with folded chains %d; microseconds\n", b.shape.name, b.full.unknowns,
         b.reduced.unknowns);
  print_row("  cold", &cold[0], &cold[1], &cold[2], cold_floor[shape]);
  print_row("  warm", &warm[0], &warm[1], &warm[2], warm_floor[shape]);
  net_free(net);
  rival_free(full);
  rival_free(reduced);
  building_release(&b);
}

/* Rooms and mains that are held, some followed: not symmetric, no rival. */
static void controlled(int shape, int repeats)
{
  static struct timing cold, warm;
  struct building b;
  struct err err = {0};
  cold.count = warm.count = 0;
  cold.iterations = warm.iterations = 0;
  building_make(&b, &shapes[shape], true);
  struct net *net = net_new(&b.problem, &err);
  for (int i = 0; i < repeats; i++) {
    net_forget(net);
    our_solve(net, &cold, now_us(), "controlled");
  }
  for (int i = 0; i < repeats; i++) {
    our_move(&b, net, i + 1, &warm);
  }
  printf("%s  with holds and followers (LU): cold %.2f its %.1f, warm %.2f its %.1f\n",
         b.shape.name, quantile(&cold, 0.5), (double)cold.iterations / cold.count,
         quantile(&warm, 0.5), (double)warm.iterations / warm.count);
  net_free(net);
  building_release(&b);
}

int main(int argc, char **argv)
{
  long asked = argc > 1 ? strtol(argv[1], NULL, 10) : 640;
  int repeats = asked < BLOCK ? BLOCK : asked > REPEATS_MAX ? REPEATS_MAX : (int)asked;
  for (int shape = 0; shape < SHAPES; shape++)
    compare(shape, shape == 2 ? repeats / 4 + BLOCK : repeats);
  for (int shape = 0; shape < SHAPES; shape++)
    controlled(shape, repeats);
  return faults > 0;
}
