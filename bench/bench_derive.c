#include "bench_net.h"

#include "net/derive.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/*
 * usage: bench_derive [SHAPES]
 *
 * All derivatives of all room pressures, by each link's drop and each set flow: by one factorisation
 * and a transposed solve per room, against finite differences by warm solves of the same net, one per
 * figure (forward; each gives every room at once).  The floor is 50 times at L, the aim 200.
 * Afterwards the two are compared; a difference beyond what a forward difference leaves ends with 1.
 */

enum { SHAPES = 3, FLOOR = 50, AIM = 200, REPEATS = 5 };

static const struct shape shapes[SHAPES] = {
    {"S", 1, 8, 2, 1, 0}, {"M", 4, 30, 3, 2, 1}, {"L", 40, 300, 4, 10, 5}};

static double now_us(void)
{
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return 1e6 * (double)t.tv_sec + 1e-3 * (double)t.tv_nsec;
}

struct race {
  struct building b;
  struct net *net;
  int rooms, links, figures; /* figures: links, and set flows among them once more */
  double *told, *solved, *before;
};

static double pressure(const struct race *r, int room)
{
  return net_has_pressure(r->net, room + 1) ? net_pressure_Pa(r->net, room + 1)
                                            : 0; /* 0: outdoors */
}

static void solve(struct race *r)
{
  struct net_report report;
  if (net_solve(r->net, &report) != NET_SOLVED) {
    printf("not solved: %s\n", report.reason);
    exit(1);
  }
}

/* The figure moved by a step, solved warm, and put back. */
static void by_solves(struct race *r, int figure, int link, bool set)
{
  double h = set ? 1e-5 : 1e-3;
  double *moved = set ? &r->b.links[link].set_kg_s : &r->b.links[link].lift_Pa, was = *moved;
  *moved = set ? was + h : was - h;
  net_update_link(r->net, &r->b.problem, link);
  solve(r);
  for (int i = 0; i < r->rooms; i++)
    r->solved[(size_t)figure * (size_t)r->rooms + (size_t)i] = (pressure(r, i) - r->before[i]) / h;
  *moved = was;
  net_update_link(r->net, &r->b.problem, link);
}

static int each_by_solves(struct race *r)
{
  int figure = 0;
  for (int l = 0; l < r->links; l++) {
    by_solves(r, figure++, l, false);
    if (r->b.links[l].law == NET_SET_FLOW)
      by_solves(r, figure++, l, true);
  }
  return figure;
}

static void at_once(struct race *r, struct net_derive *d)
{
  if (!net_derive_begin(d)) {
    printf("no derivative here\n");
    exit(1);
  }
  for (int i = 0; i < r->rooms; i++) {
    d->pressure_weight_ratio[i + 1] = 1;
    net_derive_find(d);
    d->pressure_weight_ratio[i + 1] = 0;
    int figure = 0;
    for (int l = 0; l < r->links; l++) {
      r->told[(size_t)figure++ * (size_t)r->rooms + (size_t)i] = d->per_drop_Pa[l];
      if (r->b.links[l].law == NET_SET_FLOW)
        r->told[(size_t)figure++ * (size_t)r->rooms + (size_t)i] = d->per_set_kg_s[l];
    }
  }
}

/* The largest difference, of the largest derivative of the same kind. */
static double worst(const struct race *r)
{
  double most = 0, off = 0;
  for (size_t k = 0; k < (size_t)r->figures * (size_t)r->rooms; k++) {
    most = fmax(most, fabs(r->solved[k]));
    off = fmax(off, fabs(r->told[k] - r->solved[k]));
  }
  return most > 0 ? off / most : 0;
}

static int race(const struct shape *shape, enum building_kind kind, const char *words)
{
  struct race r = {0};
  struct err err = {0};
  double since, at_once_us = INFINITY, solves_us = INFINITY;
  building_make(&r.b, shape, kind);
  r.net = net_new(&r.b.problem, &err);
  if (!r.net) {
    printf("%s\n", err.text);
    exit(1);
  }
  r.rooms = shape->rooms;
  r.links = r.b.problem.link_count;
  size_t room = 2 * (size_t)r.links * (size_t)r.rooms;
  r.told = calloc(room, sizeof(double));
  r.solved = calloc(room, sizeof(double));
  r.before = calloc((size_t)r.rooms, sizeof(double));
  if (!r.told || !r.solved || !r.before)
    exit(3);
  solve(&r);
  for (int i = 0; i < r.rooms; i++)
    r.before[i] = pressure(&r, i);
  struct net_derive *d = net_derive_new(r.net);
  for (int i = 0; i < REPEATS; i++) {
    solve(&r);
    since = now_us();
    at_once(&r, d);
    at_once_us = fmin(at_once_us, now_us() - since);
  }
  for (int i = 0; i < 2; i++) {
    since = now_us();
    r.figures = each_by_solves(&r);
    solves_us = fmin(solves_us, now_us() - since);
  }
  double off = worst(&r), ratio = solves_us / at_once_us;
  printf("%-2s %-28s %5d figures, %2d rooms: %8.1f us, by warm solves %9.1f us: %.0f times%s; "
         "off by %.1e\n",
         shape->name, words, r.figures, r.rooms, at_once_us, solves_us, ratio,
         shape != &shapes[SHAPES - 1] ? ""
         : ratio >= AIM               ? " (aim 200)"
         : ratio >= FLOOR             ? " (floor 50)"
                                      : " BELOW ITS FLOOR of 50",
         off);
  net_derive_free(d);
  net_free(r.net);
  building_release(&r.b);
  free(r.told);
  free(r.solved);
  free(r.before);
  return off > 1e-3;
}

int main(int argc, char **argv)
{
  int count = argc > 1 ? (int)strtol(argv[1], NULL, 10) : SHAPES, faults = 0;
  for (int i = 0; i < count && i < SHAPES; i++) {
    faults += race(&shapes[i], BUILDING_PLAIN, "fans at full speed");
    faults += race(&shapes[i], BUILDING_STATIC, "fans that hold");
    faults += race(&shapes[i], BUILDING_HELD, "holds and followers");
  }
  printf("%d faults\n", faults);
  return faults > 0;
}
