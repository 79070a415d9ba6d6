#include "bench_net.h"

#include "numeric/numeric.h"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_sparse.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/*
 * usage: bench_after [EVENTS] [REPEATS] [SECONDS for each building]
 *
 * A day of sashes in time against SUNDIALS CVODE (BDF) with KLU and its exact Jacobian, one process,
 * the same laws.  A sash moves in two seconds, its valve follows with a lag, each room's supply is
 * driven by its pressure.  CVODE has every node's air as a state; ours takes rooms and ducts as
 * settled (docs/physics.md, In time).  That difference of models is printed by itself; each method is
 * given the loosest tolerance at which it is within 0.1 Pa of its own answer at 1e-7 (ours) or 1e-9 (CVODE).
 */
static const struct shape shapes[] = {
    {"S", 1, 8, 2, 1, 0}, {"M", 4, 30, 3, 2, 1}, {"L", 40, 300, 4, 10, 5}};
static const double floors[] = {4, 10, 3.5};
enum { SHAPES = 3, OUTPUTS = 12, EVENTS_MAX = 500, REPEATS_MAX = 51, ENOUGH_MS = 20000 };
static const double after_event_s[OUTPUTS] = {0.5, 1, 1.5, 2, 3, 4, 6, 9, 14, 22, 40, 80};
static const double day_s = 86400, ramp_s = 2, valve_s = 1.5, control_s = 15, hold_Pa = 10;
static const double room_m3 = 150, duct_m3 = 0.3, kg_m3_Pa = 1.2 / 101325;

struct event {
  double at_s, from, to;
  int station;
};

struct day {
  struct building b;
  int event_count, states; /* valves, then supplies */
  struct event events[EVENTS_MAX];
  double *gain;    /* per room: kg/s per Pa */
  double *opening; /* per station, before the event that is going on */
  const struct event *now;
  double *start, *put;              /* states at the start; as the net has them */
  double *moved, *before, *between; /* scratch: of the Jacobian, within a step */
  int *blocks;
  int *supply_link;
  struct net *net;
  double *seen; /* outputs: per event, moment and room */
};

static double now_ms(void)
{
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static void *zeroed(size_t count, size_t size)
{
  void *p = calloc(count + 1, size);
  if (!p)
    abort();
  return p;
}

static double opening_at(const struct day *d, int s, double t)
{
  const struct event *e = d->now;
  if (!e || e->station != s)
    return d->opening[s];
  return e->from + (e->to - e->from) * fmin(1, fmax(0, (t - e->at_s) / ramp_s));
}

static double asked_kg_s(const struct day *d, int s, double t)
{
  return d->b.valve_set[s] * fmax(opening_at(d, s, t), 0.3);
}

/* ---- the made-up day ---- */

static void make_events(struct day *d, int count)
{
  struct numeric_random random;
  double *last = zeroed((size_t)d->b.shape.stations, sizeof *last);
  numeric_random_seed(&random, 11);
  for (int s = 0; s < d->b.shape.stations; s++)
    last[s] = 1;
  for (int i = 0; i < count; i++) {
    int s = numeric_random_below(&random, d->b.shape.stations);
    double to = last[s] > 0.6 ? 0.3 : 1;
    d->events[i] = (struct event){(i + 0.5) * day_s / count, last[s], to, s};
    last[s] = to;
  }
  d->event_count = count;
  free(last);
}

static void make_day(struct day *d, const struct shape *shape, int events)
{
  int rooms = shape->rooms, stations = shape->stations, found = 0;
  struct err err;
  struct net_report report;
  memset(d, 0, sizeof *d);
  building_make(&d->b, shape, BUILDING_HELD);
  for (int e = 0; e < d->b.full.edge_count; e++)
    d->b.full.edges[e].gain_kg_sPa = 0; /* all fans at full speed */
  d->states = stations + rooms;
  d->gain = zeroed((size_t)rooms, sizeof(double));
  d->opening = zeroed((size_t)stations, sizeof(double));
  d->start = zeroed((size_t)d->states, sizeof(double));
  d->put = zeroed((size_t)d->states, sizeof(double));
  d->moved = zeroed((size_t)d->states, sizeof(double));
  d->between = zeroed((size_t)d->states, sizeof(double));
  d->before = zeroed((size_t)rooms, sizeof(double));
  d->blocks = zeroed((size_t)stations + 1, sizeof(int));
  for (int s = 0; s < stations; s++)
    d->blocks[s] = 1;
  d->blocks[stations] = rooms;
  d->supply_link = zeroed((size_t)rooms, sizeof(int));
  d->seen = zeroed((size_t)events * OUTPUTS * (size_t)rooms, sizeof(double));
  for (int i = 0; i < d->b.problem.link_count; i++) {
    struct net_link *l = &d->b.links[i];
    if (l->law == NET_FAN)
      d->b.fans[l->fan - d->b.fans].holds = false;
    if (l->law != NET_HOLD && l->law != NET_FOLLOW)
      continue;
    d->supply_link[found++] = i;
    l->law = NET_HOLD;
    l->hold_Pa = hold_Pa;
    l->least_kg_s = 0;
    l->most_kg_s = (double)INFINITY;
  }
  for (int s = 0; s < stations; s++)
    d->opening[s] = 1;
  make_events(d, events);
  d->net = net_new(&d->b.problem, &err);
  if (!d->net || net_solve(d->net, &report) > NET_AT_FLOOR)
    abort();
  for (int s = 0; s < stations; s++)
    d->start[s] = d->b.valve_link[s] < 0 ? 0 : d->b.valve_set[s];
  for (int r = 0; r < rooms; r++) {
    struct net_link *l = &d->b.links[d->supply_link[r]];
    d->start[stations + r] = net_flow_kg_s(d->net, d->supply_link[r]);
    l->law = NET_SET_FLOW; /* a decree: as much as its state says */
    l->set_kg_s = d->start[stations + r];
  }
  net_free(d->net);
  d->net = net_new(&d->b.problem, &err);
  if (!d->net || net_solve(d->net, &report) > NET_AT_FLOOR)
    abort();
  for (int r = 0; r < rooms; r++) { /* the gap's slope at the held pressure */
    double flow = 0.1 * d->start[stations + r];
    d->gain[r] = fmax(1e-4, flow / (2 * hold_Pa));
  }
  memcpy(d->put, d->start, (size_t)d->states * sizeof(double));
}

static void drop_day(struct day *d)
{
  net_free(d->net);
  building_release(&d->b);
  void *all[] = {d->gain, d->opening, d->start,  d->put,     d->supply_link,
                 d->seen, d->moved,   d->before, d->between, d->blocks};
  for (size_t i = 0; i < sizeof all / sizeof *all; i++)
    free(all[i]);
}

static void see(struct day *d, int event, int output, int room, double Pa)
{
  d->seen[((size_t)event * OUTPUTS + (size_t)output) * (size_t)d->b.shape.rooms + (size_t)room] =
      Pa;
}

static double next_stop(const struct event *e, double t, double until)
{
  double ramp_end = e->at_s + ramp_s;
  return t < ramp_end && ramp_end < until ? ramp_end : until;
}

/* ---- ours ---- */

static void put_link(struct day *d, int link)
{
  net_update_link(d->net, &d->b.problem, link);
}

static void put_state(struct day *d, double t, const double *y)
{
  int stations = d->b.shape.stations;
  struct net_report report;
  for (int i = 0; i < d->states; i++) {
    int link = i < stations ? d->b.valve_link[i] : d->supply_link[i - stations];
    if (link < 0 || y[i] == d->put[i])
      continue;
    d->put[i] = y[i];
    d->b.links[link].set_kg_s = fmax(0, y[i]);
    put_link(d, link);
  }
  if (d->now) {
    int s = d->now->station;
    double o = opening_at(d, s, t), k = d->b.sash_k[s] / (o * o);
    struct net_member *member = &d->b.members[d->b.sash_member[s]];
    if (member->k[0] != k) {
      member->k[0] = member->k[1] = k;
      put_link(d, d->b.sash_link[s]);
    }
  }
  if (net_solve(d->net, &report) > NET_AT_FLOOR)
    abort();
}

static void our_slope(void *of, double t, const double *y, double *slope)
{
  struct day *d = of;
  int stations = d->b.shape.stations;
  put_state(d, t, y);
  for (int s = 0; s < stations; s++)
    slope[s] = d->b.valve_link[s] < 0 ? 0 : (asked_kg_s(d, s, t) - y[s]) / valve_s;
  for (int r = 0; r < d->b.shape.rooms; r++)
    slope[stations + r] = d->gain[r] * (hold_Pa - net_pressure_Pa(d->net, r + 1)) / control_s;
}

/* Valves answer to nobody; each supply to its own room and, through doors and gaps, to all others. */
static void our_jacobian(void *of, double t, const double *y, const double *slope, double *out)
{
  struct day *d = of;
  int stations = d->b.shape.stations, rooms = d->b.shape.rooms;
  double *moved = d->moved, *block = out + stations;
  (void)slope;
  put_state(d, t, y);
  for (int s = 0; s < stations; s++)
    out[s] = d->b.valve_link[s] < 0 ? 0 : -1 / valve_s;
  for (int r = 0; r < rooms; r++)
    d->before[r] = net_pressure_Pa(d->net, r + 1);
  memcpy(moved, y, (size_t)d->states * sizeof *moved);
  for (int c = 0; c < rooms; c++) {
    double by = 1e-4 * fmax(0.1, y[stations + c]);
    moved[stations + c] += by;
    put_state(d, t, moved);
    moved[stations + c] = y[stations + c];
    for (int r = 0; r < rooms; r++)
      block[r * rooms + c] =
          -d->gain[r] * (net_pressure_Pa(d->net, r + 1) - d->before[r]) / (by * control_s);
  }
  put_state(d, t, y);
}

static bool at_rest(struct numeric_stepper *s, const struct numeric_motion *m, int count)
{
  const double *slope = numeric_stepper_slope(s), *y = numeric_stepper_state(s);
  for (int i = 0; i < count; i++)
    if (fabs(slope[i]) * 30 > 0.1 * (m->least_error[i] + m->error_ratio * fabs(y[i])))
      return false;
  return true;
}

static void see_ours(struct day *d, int event, int output, double t, const double *y)
{
  put_state(d, t, y);
  for (int r = 0; r < d->b.shape.rooms; r++)
    see(d, event, output, r, net_pressure_Pa(d->net, r + 1));
}

/* From one event to the next; what is looked at lies between the steps. */
static void our_event(struct day *d, struct numeric_stepper *s, const struct numeric_motion *m,
                      int event)
{
  double at = d->now->at_s, t = at;
  double next = event + 1 < d->event_count ? d->events[event + 1].at_s : day_s;
  bool rests = false;
  int k = 0;
  while (t < next && !rests) {
    t = numeric_stepper_step(s, next_stop(d->now, t, next));
    for (; k < OUTPUTS && at + after_event_s[k] <= t; k++) {
      numeric_stepper_at(s, at + after_event_s[k], d->between);
      see_ours(d, event, k, at + after_event_s[k], d->between);
    }
    rests = t >= at + ramp_s && at_rest(s, m, d->states);
  }
  for (; k < OUTPUTS; k++)
    see_ours(d, event, k, t, numeric_stepper_state(s));
}

static void begin(struct day *d)
{
  for (int s = 0; s < d->b.shape.stations; s++) {
    d->opening[s] = 1;
    d->b.members[d->b.sash_member[s]].k[0] = d->b.members[d->b.sash_member[s]].k[1] =
        d->b.sash_k[s];
    put_link(d, d->b.sash_link[s]);
  }
  d->now = NULL;
}

static long run_ours(struct day *d, double tolerance, double *y)
{
  double *least = zeroed((size_t)d->states, sizeof *least);
  struct numeric_motion m = {.count = d->states,
                             .slope = our_slope,
                             .of = d,
                             .least_error = least,
                             .error_ratio = tolerance,
                             .least_step = 1e-6,
                             .most_step = day_s,
                             .jacobian = our_jacobian,
                             .block_count = d->b.shape.stations + 1,
                             .blocks = d->blocks,
                             .jacobian_lasts = 10};
  struct numeric_stepper *s;
  long steps;
  for (int i = 0; i < d->states; i++)
    least[i] = 0.02 * tolerance;
  begin(d);
  memcpy(y, d->start, (size_t)d->states * sizeof(double));
  s = numeric_stepper_new(&m);
  for (int i = 0; i < d->event_count; i++) {
    d->now = &d->events[i];
    numeric_stepper_start(s, d->now->at_s, y);
    our_event(d, s, &m, i);
    d->opening[d->now->station] = d->now->to;
    memcpy(y, numeric_stepper_state(s), (size_t)d->states * sizeof(double));
  }
  steps = numeric_stepper_steps(s).taken;
  numeric_stepper_free(s);
  free(least);
  return steps;
}

/* ---- CVODE: valves, supplies, then the pressure of every node ---- */

struct rival_day {
  struct day *d;
  int unknowns, nonzeros;
  sunindextype *starts, *rows;
  SUNContext context;
};

static int pressure_state(const struct rival_day *r, int unknown)
{
  return r->d->states + unknown;
}

static double storage(const struct day *d, int unknown)
{
  return kg_m3_Pa * (unknown < d->b.shape.rooms + d->b.shape.corridors ? room_m3 : duct_m3);
}

/* The edge's law at this moment: its sash on the way, its valve where the state says. */
static struct pressure_edge edge_now(const struct day *d, int e, double t, const double *y,
                                     int *valve)
{
  struct pressure_edge edge = d->b.full.edges[e];
  int s = edge.station;
  *valve = -1;
  if (s < 0)
    return edge;
  if (edge.kind == EDGE_VALVE) {
    edge.set_kg_s = fmax(0, y[s]);
    *valve = s;
  } else {
    double o = opening_at(d, s, t);
    edge.k = d->b.sash_k[s] / (o * o);
  }
  return edge;
}

static double drop_along(const struct pressure_edge *edge, const double *p)
{
  return (edge->from < 0 ? 0 : p[edge->from]) - (edge->to < 0 ? 0 : p[edge->to]);
}

static int rival_slope(realtype t, N_Vector yv, N_Vector out, void *of)
{
  struct rival_day *r = of;
  struct day *d = r->d;
  const double *y = N_VGetArrayPointer(yv), *p = y + d->states;
  double *f = N_VGetArrayPointer(out), *g = f + d->states, slope;
  int stations = d->b.shape.stations;
  memset(f, 0, (size_t)r->unknowns * sizeof(double));
  for (int s = 0; s < stations; s++)
    f[s] = d->b.valve_link[s] < 0 ? 0 : (asked_kg_s(d, s, t) - y[s]) / valve_s;
  for (int q = 0; q < d->b.shape.rooms; q++) {
    f[stations + q] = d->gain[q] * (hold_Pa - p[q]) / control_s;
    g[q] += y[stations + q];
  }
  for (int e = 0; e < d->b.full.edge_count; e++) {
    int valve;
    struct pressure_edge edge = edge_now(d, e, t, y, &valve);
    double flow = pressure_flow(&edge, drop_along(&edge, p), &slope);
    if (edge.from >= 0)
      g[edge.from] -= flow;
    if (edge.to >= 0)
      g[edge.to] += flow;
  }
  for (int i = 0; i < d->b.full.unknowns; i++)
    g[i] /= storage(d, i);
  return 0;
}

static int place_of(const struct rival_day *r, int row, int column)
{
  sunindextype low = r->starts[column], high = r->starts[column + 1];
  while (low < high) {
    sunindextype middle = (low + high) / 2;
    if (r->rows[middle] < row)
      low = middle + 1;
    else
      high = middle;
  }
  return (int)low;
}

static void add(const struct rival_day *r, double *values, int row, int column, double value)
{
  values[place_of(r, row, column)] += value;
}

/* What the edge moves into its end `at`: by the pressures at both, and by its valve where it has one. */
static void add_end(const struct rival_day *r, double *values, const struct pressure_edge *edge,
                    int at, double slope, int valve, double by_set)
{
  double m = storage(r->d, at), sign = at == edge->from ? -1 : 1;
  int row = pressure_state(r, at);
  if (edge->from >= 0)
    add(r, values, row, pressure_state(r, edge->from), sign * slope / m);
  if (edge->to >= 0)
    add(r, values, row, pressure_state(r, edge->to), -sign * slope / m);
  if (valve >= 0)
    add(r, values, row, valve, sign * by_set / m);
}

static void add_edges(const struct rival_day *r, double t, const double *y, double *values)
{
  const struct day *d = r->d;
  const double *p = y + d->states;
  for (int e = 0; e < d->b.full.edge_count; e++) {
    int valve;
    double slope;
    struct pressure_edge edge = edge_now(d, e, t, y, &valve);
    double flow = pressure_flow(&edge, drop_along(&edge, p), &slope);
    double by_set = valve >= 0 && flow > 0 && flow == edge.set_kg_s ? 1 : 0;
    if (edge.from >= 0)
      add_end(r, values, &edge, edge.from, slope, valve, by_set);
    if (edge.to >= 0)
      add_end(r, values, &edge, edge.to, slope, valve, by_set);
  }
}

/* NOLINTNEXTLINE(readability-function-size): the library's eight parameters */
static int rival_jacobian(realtype t, N_Vector yv, N_Vector fy, SUNMatrix j, void *of, N_Vector a,
                          N_Vector b, N_Vector c)
{
  struct rival_day *r = of;
  struct day *d = r->d;
  double *values = SUNSparseMatrix_Data(j);
  int stations = d->b.shape.stations;
  (void)fy, (void)a, (void)b, (void)c;
  memcpy(SUNSparseMatrix_IndexPointers(j), r->starts,
         ((size_t)r->unknowns + 1) * sizeof(sunindextype));
  memcpy(SUNSparseMatrix_IndexValues(j), r->rows, (size_t)r->nonzeros * sizeof(sunindextype));
  memset(values, 0, (size_t)r->nonzeros * sizeof(double));
  for (int s = 0; s < stations; s++)
    add(r, values, s, s, d->b.valve_link[s] < 0 ? 0 : -1 / valve_s);
  for (int q = 0; q < d->b.shape.rooms; q++) {
    add(r, values, stations + q, pressure_state(r, q), -d->gain[q] / control_s);
    add(r, values, pressure_state(r, q), stations + q, 1 / storage(d, q));
  }
  add_edges(r, t, N_VGetArrayPointer(yv), values);
  return 0;
}

static int by_column(const void *a, const void *b)
{
  const int *x = a, *y = b;
  return x[1] != y[1] ? x[1] - y[1] : x[0] - y[0];
}

static void make_pattern(struct rival_day *r)
{
  struct day *d = r->d;
  int stations = d->b.shape.stations, count = 0;
  int(*pairs)[2] =
      zeroed((size_t)r->unknowns + 2 * (size_t)d->b.shape.rooms + 4 * (size_t)d->b.full.edge_count,
             sizeof *pairs);
#define PAIR(row, column) (pairs[count][0] = (row), pairs[count++][1] = (column))
  for (int i = 0; i < r->unknowns; i++)
    PAIR(i, i);
  for (int q = 0; q < d->b.shape.rooms; q++) {
    PAIR(stations + q, pressure_state(r, q));
    PAIR(pressure_state(r, q), stations + q);
  }
  for (int e = 0; e < d->b.full.edge_count; e++) {
    const struct pressure_edge *edge = &d->b.full.edges[e];
    if (edge->from >= 0 && edge->to >= 0) {
      PAIR(pressure_state(r, edge->from), pressure_state(r, edge->to));
      PAIR(pressure_state(r, edge->to), pressure_state(r, edge->from));
    }
    if (edge->kind == EDGE_VALVE && edge->from >= 0)
      PAIR(pressure_state(r, edge->from), edge->station);
    if (edge->kind == EDGE_VALVE && edge->to >= 0)
      PAIR(pressure_state(r, edge->to), edge->station);
  }
#undef PAIR
  qsort(pairs, (size_t)count, sizeof *pairs, by_column);
  r->starts = zeroed((size_t)r->unknowns + 1, sizeof *r->starts);
  r->rows = zeroed((size_t)count, sizeof *r->rows);
  for (int i = 0; i < count; i++) {
    if (i > 0 && by_column(pairs[i], pairs[i - 1]) == 0)
      continue;
    r->rows[r->nonzeros++] = pairs[i][0];
    r->starts[pairs[i][1] + 1] = r->nonzeros;
  }
  free(pairs);
}

struct rival_run {
  struct rival_day *r;
  void *cv;
  N_Vector y, least;
  double now;
  long steps; /* before the method last began anew */
};

static void count_steps(struct rival_run *run)
{
  long steps = 0;
  CVodeGetNumSteps(run->cv, &steps);
  run->steps += steps;
}

static void begin_anew(struct rival_run *run, double t)
{
  count_steps(run);
  CVodeReInit(run->cv, t, run->y);
}

static bool rival_to(struct rival_run *run, double t)
{
  return CVode(run->cv, t, run->y, &run->now, CV_NORMAL) >= 0;
}

/* As far as `at`, within the ramp or to its end: a kink.  *over then tells that it is behind us. */
static bool up_the_ramp(struct rival_run *run, int event, double at, bool *over)
{
  const struct day *d = run->r->d;
  double end = d->events[event].at_s + ramp_s;
  CVodeSetStopTime(run->cv, end);
  *over = at >= end;
  if (!rival_to(run, fmin(at, end)))
    return false;
  if (!*over)
    return true;
  begin_anew(run, end);
  CVodeSetStopTime(run->cv, event + 1 < d->event_count ? d->events[event + 1].at_s : 2 * day_s);
  run->now = end;
  return true;
}

static bool rival_event(struct rival_run *run, int event)
{
  struct day *d = run->r->d;
  const struct event *e = &d->events[event];
  const double *p = N_VGetArrayPointer(run->y) + d->states;
  bool ramp_over = false;
  if (e->at_s > run->now) {
    CVodeSetStopTime(run->cv, e->at_s);
    if (!rival_to(run, e->at_s))
      return false;
  }
  if (d->now)
    d->opening[d->now->station] = d->now->to;
  d->now = e;
  begin_anew(run, e->at_s);
  for (int k = 0; k < OUTPUTS; k++) {
    double at = e->at_s + after_event_s[k];
    if (!ramp_over && !up_the_ramp(run, event, at, &ramp_over))
      return false;
    if (at > run->now && !rival_to(run, at))
      return false;
    for (int q = 0; q < d->b.shape.rooms; q++)
      see(d, event, k, q, p[q]);
  }
  return true;
}

static void rival_start(struct rival_run *run, double tolerance)
{
  struct day *d = run->r->d;
  double *v = N_VGetArrayPointer(run->y), *least = N_VGetArrayPointer(run->least);
  begin(d);
  put_state(d, 0, d->start);
  memcpy(v, d->start, (size_t)d->states * sizeof(double));
  for (int i = 0; i < run->r->unknowns; i++) {
    least[i] = i < d->states ? 0.02 * tolerance : 10 * tolerance;
    if (i >= d->states)
      v[i] = net_pressure_Pa(d->net, i - d->states + 1);
  }
}

/* The steps it took; -1 where it gave up. */
static long run_rival(struct rival_day *r, double tolerance)
{
  struct rival_run run = {.r = r,
                          .cv = CVodeCreate(CV_BDF, r->context),
                          .y = N_VNew_Serial(r->unknowns, r->context),
                          .least = N_VNew_Serial(r->unknowns, r->context)};
  SUNMatrix matrix = SUNSparseMatrix(r->unknowns, r->unknowns, r->nonzeros, CSC_MAT, r->context);
  SUNLinearSolver linear = SUNLinSol_KLU(run.y, matrix, r->context);
  bool good = true;
  rival_start(&run, tolerance);
  CVodeInit(run.cv, rival_slope, 0, run.y);
  CVodeSVtolerances(run.cv, tolerance, run.least);
  CVodeSetUserData(run.cv, r);
  CVodeSetLinearSolver(run.cv, linear, matrix);
  CVodeSetJacFn(run.cv, rival_jacobian);
  CVodeSetMaxNumSteps(run.cv,
                      50000); /* from output to output: beyond it, it goes to and fro on a kink */
  CVodeSetErrFile(run.cv, NULL);
  for (int i = 0; i < r->d->event_count && good; i++)
    good = rival_event(&run, i);
  count_steps(&run);
  CVodeFree(&run.cv);
  SUNLinSolFree(linear);
  SUNMatDestroy(matrix);
  N_VDestroy(run.y);
  N_VDestroy(run.least);
  return good ? run.steps : -1;
}

/* ---- the comparison ---- */

static double furthest(const double *a, const double *b, size_t count)
{
  double most = 0;
  for (size_t i = 0; i < count; i++)
    most = fmax(most, fabs(a[i] - b[i]));
  return most;
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

struct found {
  double tolerance, ms, error_Pa;
  long steps;
};

static long once(struct day *d, struct rival_day *r, double tolerance, double *y)
{
  return r ? run_rival(r, tolerance) : run_ours(d, tolerance, y);
}

/* The loosest tolerance within 0.1 Pa of the method's own answer; its median time. */
static struct found find(struct day *d, struct rival_day *r, const double *exact, size_t count,
                         int repeats, double *y)
{
  static const double tolerances[] = {1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 3e-6, 1e-6, 1e-7};
  struct found f = {0, 0, (double)INFINITY, -1};
  double ms[REPEATS_MAX], begun_ms;
  int done = 0;
  for (size_t i = 0; i < sizeof tolerances / sizeof *tolerances && !(f.error_Pa <= 0.1); i++) {
    f.tolerance = tolerances[i];
    f.steps = once(d, r, f.tolerance, y);
    f.error_Pa = f.steps < 0 ? (double)INFINITY : furthest(d->seen, exact, count);
  }
  begun_ms = now_ms();
  for (; done < repeats && (done == 0 || now_ms() - begun_ms < ENOUGH_MS); done++) {
    double since = now_ms();
    once(d, r, f.tolerance, y);
    ms[done] = now_ms() - since;
  }
  qsort(ms, (size_t)done, sizeof *ms, ascending);
  f.ms = ms[done / 2];
  return f;
}

static void mark_stations(struct day *d)
{
  for (int e = 0; e < d->b.full.edge_count; e++)
    d->b.full.edges[e].station = -1;
  for (int s = 0; s < d->b.shape.stations; s++) {
    d->b.full.edges[d->b.full_sash[s]].station = s;
    if (d->b.valve_link[s] >= 0)
      d->b.full.edges[d->b.full_valve[s]].station = s;
  }
}

static bool compare(int shape, int events, int repeats)
{
  static struct day d;
  struct rival_day r = {.d = &d};
  size_t count;
  double *ours, *theirs, *y;
  make_day(&d, &shapes[shape], events);
  mark_stations(&d);
  memset(d.b.full.inflow_kg_s, 0, (size_t)d.b.full.unknowns * sizeof(double));
  r.unknowns = d.states + d.b.full.unknowns;
  SUNContext_Create(NULL, &r.context);
  make_pattern(&r);
  count = (size_t)events * OUTPUTS * (size_t)shapes[shape].rooms;
  ours = zeroed(count, sizeof *ours);
  theirs = zeroed(count, sizeof *theirs);
  y = zeroed((size_t)d.states, sizeof *y);
  run_ours(&d, 1e-7, y);
  memcpy(ours, d.seen, count * sizeof *ours);
  if (run_rival(&r, 1e-9) < 0)
    printf("%-2s CVODE gives up at 1e-9: what it is measured by is not its best\n",
           shapes[shape].name);
  memcpy(theirs, d.seen, count * sizeof *theirs);
  struct found a = find(&d, NULL, ours, count, repeats, y),
               b = find(&d, &r, theirs, count, repeats, y);
  double ratio = b.ms / a.ms;
  printf(
      "%-2s %4d  %8.2f ms %7ld steps %7.0e %7.3f Pa   %9.2f ms %7ld steps %7.0e %7.3f Pa   %6.1fx %s %g   models differ by %.2f Pa\n",
      shapes[shape].name, d.b.full.unknowns, a.ms, a.steps, a.tolerance, a.error_Pa, b.ms, b.steps,
      b.tolerance, b.error_Pa, ratio, ratio >= floors[shape] ? "above" : "BELOW", floors[shape],
      furthest(ours, theirs, count));
  fflush(stdout);
  free(ours);
  free(theirs);
  free(y);
  free(r.starts);
  free(r.rows);
  SUNContext_Free(&r.context);
  drop_day(&d);
  return a.error_Pa <= 0.1 && b.error_Pa <= 0.1;
}

/* In a process of its own: a building that takes longer than `most_s` is said, and does not hold up the rest. */
static bool compare_within(int shape, int events, int repeats, unsigned most_s)
{
  int status = 0;
  pid_t child = fork();

  if (child == 0) {
    alarm(most_s);
    _exit(compare(shape, events, repeats) ? 0 : 1);
  }
  if (child < 0 || waitpid(child, &status, 0) != child)
    return false;
  if (WIFSIGNALED(status))
    printf("%-2s not finished within %u s\n", shapes[shape].name, most_s);
  fflush(stdout);
  return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

int main(int argc, char **argv)
{
  int events = argc > 1 ? (int)strtol(argv[1], NULL, 10) : 100,
      repeats = argc > 2 ? (int)strtol(argv[2], NULL, 10) : 5,
      most_s = argc > 3 ? (int)strtol(argv[3], NULL, 10) : 1800;
  bool fine = true;
  if (events < 1 || events > EVENTS_MAX || repeats < 1 || repeats > REPEATS_MAX || most_s < 1)
    return 2;
  printf("a day of %d events at 0.1 Pa: ours, CVODE + KLU, how many times faster\n", events);
  fflush(stdout);
  for (int i = 0; i < SHAPES; i++)
    fine = compare_within(i, events, repeats, (unsigned)most_s) && fine;
  return fine ? 0 : 1;
}
