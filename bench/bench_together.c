#include "bench_net.h"

#include "net/comb.h"
#include "numeric/numeric.h"
#include "together/together_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/*
 * usage: bench_together SUITE [REPEATS]
 *
 * Who may work together, against the same sets solved otherwise, in one process.
 *
 * First all sets of a suite's stations: the table as `inward together` makes it, with its second pass;
 * every set solved warm and every set of a sample solved cold by the same engine.
 *
 * Then combs, one room, one header, one fan: all sets in lanes on each path that this processor has, every
 * set with its second pass; every set warm in Gray order by the general solver; and KINSOL + KLU (line
 * search, exact Jacobian, the same laws, 1e-9 kg/s) on a sample of that walk, with every node and with
 * folded chains.  Half of the valves hold a flow.  In the second row of each comb the fan is so weak that
 * most of them stand wide open; in the third the parked sashes are all but shut, so that flows and drops
 * all but vanish.  Then ten thousand days of minutes on such a comb.  Last, suites of unequal stations as
 * `together` judges them, in lanes and without.
 *
 * Processor time, for one thread.  Pressures that differ by more than 1e-6 Pa, paths that differ by a bit,
 * or a verdict that a cold solve does not share, end the run with exit 1.
 */
enum { SAMPLE = 512, RIVAL_SAMPLE = 512, COMBS = 4, REPEATS_MAX = 101 };
enum comb_kind { ORDINARY, FAN_SHORT, ALL_BUT_SHUT, COMB_KINDS };

static const double floor_s = 0.1, aim_s = 0.01; /* all 2^14 of Quillmere */
static const double days_floor_s[] = {0.3, 0.7}, days_aim_s[] = {0.1, 0.3}; /* 8 and 16 stations */
static const double comb_floor[] = {0, 0, 5e6, 8e6},
                    comb_aim[] = {0, 0, 12e6, 20e6}; /* sets a second and core, by path */
static int faults;

static double now_s(void)
{
  struct timespec t;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t); /* one thread; the machine may be shared */
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static double median(double *list, int count)
{
  qsort(list, (size_t)count, sizeof *list, ascending);
  return list[count / 2];
}

static void fault(const char *what, double value)
{
  printf("FAULT %s: %g\n", what, value);
  faults++;
}

/* ---- a suite ---- */

struct suite {
  struct arena arena;
  struct facility *facility;
  struct air *air;
  struct scene scene;
  int stations[AIR_SETS_MAX], count;
};

static void open_text(struct suite *s, const char *path, const char *text, size_t size)
{
  struct complaints complaints;
  struct err err = {0};
  struct facility_text one = {path, text, size};

  arena_init(&s->arena, (size_t)2 << 30);
  complaints_init(&complaints, &s->arena);
  s->facility = facility_read(&one, NULL, 0, &complaints);
  s->air = s->facility ? air_new(s->facility, &err) : NULL;
  if (!s->air)
    exit(3);
  s->scene = scene_parked(s->facility, &s->arena);
  for (int i = 0; i < s->facility->station_count && s->count < AIR_SETS_MAX; i++)
    if (air_may_be_raised(s->facility, &s->scene, i))
      s->stations[s->count++] = i;
}

static void open_suite(struct suite *s, const char *path)
{
  static char text[1 << 20];
  FILE *file = fopen(path, "rb");
  size_t size = file ? fread(text, 1, sizeof text, file) : 0;

  if (!file)
    exit(3);
  fclose(file);
  open_text(s, path, text, size);
}

static void close_suite(struct suite *s)
{
  air_free(s->air);
  facility_free(s->facility);
  arena_release(&s->arena);
}

static struct air_sets *sets_of(struct suite *s)
{
  struct err err = {0};
  struct air_sets *sets = air_sets_new(s->air, &s->scene, s->stations, s->count, &s->arena, &err);

  if (!sets)
    exit(3);
  return sets;
}

/* The table; its time is that of the whole, with what finds own faults. */
static double fill_by(struct suite *s, unsigned long most_states, bool one_by_one,
                      enum net_path path, unsigned char *table, struct together_work *work)
{
  long budget = 100000000;
  double since = now_s();
  struct fill one = {.sets = sets_of(s),
                     .count = s->count,
                     .budget = &budget,
                     .most_states = most_states,
                     .one_by_one = one_by_one,
                     .path = path,
                     .bit = TOGETHER_FINE,
                     .work = work,
                     .arena = &s->arena};

  one.table = table;
  *work = (struct together_work){0};
  if (!together_fill(&one) || !one.exact)
    exit(3);
  return now_s() - since;
}

static double fill(struct suite *s, unsigned long most_states, bool one_by_one,
                   unsigned char *table, struct together_work *work)
{
  return fill_by(s, most_states, one_by_one, NET_PATH_BEST, table, work);
}

static double each_warm(struct suite *s, const unsigned char *table)
{
  struct air_sets *sets = sets_of(s);
  long wrong = 0;
  double since = now_s();

  for (uint32_t i = 0; i < 1u << s->count; i++) {
    uint32_t open = i ^ i >> 1;
    struct air_set set;

    air_sets_look(sets, open, &set);
    wrong += air_set_is_fine(&set, open) != (table[open] == TOGETHER_FINE);
  }
  if (wrong > 0)
    fault("verdicts that differ from a warm solve", (double)wrong);
  return now_s() - since;
}

/* Per set. */
static double each_cold(struct suite *s, const unsigned char *table)
{
  struct air_sets *sets = sets_of(s);
  uint32_t step = (1u << s->count) / SAMPLE;
  long wrong = 0;
  double since = now_s();

  for (uint32_t i = 0; i < SAMPLE; i++) {
    uint32_t open = i * (step ? step : 1) ^ (i & 7u);
    struct air_set set;

    air_sets_cold(sets);
    air_sets_look(sets, open, &set);
    wrong += air_set_is_fine(&set, open) != (table[open] == TOGETHER_FINE);
  }
  if (wrong > 0)
    fault("verdicts that differ from a cold solve", (double)wrong);
  return (now_s() - since) / SAMPLE;
}

/* The same table by other instructions. */
static void of_path(struct suite *s, enum net_path path, const unsigned char *table, int repeats)
{
  static double took_s[REPEATS_MAX];
  size_t sets = (size_t)1 << s->count;
  unsigned char *other = calloc(sets, 1);
  struct together_work work;

  if (!other)
    exit(3);
  for (int i = 0; i < repeats && net_path_has(path); i++) {
    memset(other, 0, sets);
    took_s[i] = fill_by(s, 1ul << 24, false, path, other, &work);
    if (memcmp(table, other, sets) != 0)
      fault("paths differ", path);
  }
  if (net_path_has(path))
    printf("    by %-8s        %8.2f ms\n", net_path_name(path), 1e3 * median(took_s, repeats));
  free(other);
}

static void of_suite(const char *path, int repeats)
{
  static double all[REPEATS_MAX], one_by_one[REPEATS_MAX], boundary[REPEATS_MAX];
  struct suite s = {0};
  struct together_work work, alone, walk;

  open_suite(&s, path);

  size_t sets = (size_t)1 << s.count;
  unsigned char *table = calloc(sets, 1), *other = calloc(sets, 1);

  if (!table || !other)
    exit(3);
  for (int i = 0; i < repeats; i++) {
    memset(table, 0, sets);
    memset(other, 0, sets);
    all[i] = fill(&s, 1ul << 24, false, table, &work);
    one_by_one[i] = fill(&s, 1ul << 24, true, other, &alone);
    if (memcmp(table, other, sets) != 0)
      fault("one by one gives another table", i);
    memset(other, 0, sets);
    boundary[i] = fill(&s, 1, true, other, &walk);
    if (memcmp(table, other, sets) != 0)
      fault("the boundary gives another table", i);
  }
  double table_s = median(all, repeats), alone_s = median(one_by_one, repeats),
         walk_s = median(boundary, repeats);
  double warm_s = each_warm(&s, table), cold_s = each_cold(&s, table) * (double)sets;

  printf("%s: all 2^%d sets\n", s.facility->name, s.count);
  printf(
      "  table, each state    %8.2f ms  %ld states, %ld solved in lanes, %ld one by one, %ld checked from "
      "nothing, %ld corrected, %ld steps of the safer method\n",
      1e3 * table_s, work.states, work.side_by_side, work.solved - work.side_by_side, work.checked,
      work.corrected, work.fallbacks);
  for (int by = NET_PATH_PLAIN; by <= NET_PATH_AVX512; by++)
    of_path(&s, (enum net_path)by, table, repeats);
  printf("  one by one           %8.2f ms  %ld checked from nothing; %.1f times the table\n",
         1e3 * alone_s, alone.checked, alone_s / table_s);
  printf("  table, boundary      %8.2f ms  %ld states, %ld solved, %ld checked\n", 1e3 * walk_s,
         walk.states, walk.solved, walk.checked);
  printf("  every set warm       %8.2f ms  %.1f us each; %.1f times the table\n", 1e3 * warm_s,
         1e6 * warm_s / (double)sets, warm_s / table_s);
  printf("  every set cold       %8.2f ms  by a sample of %d, %.1f us each; %.1f times the table\n",
         1e3 * cold_s, SAMPLE, 1e6 * cold_s / (double)sets, cold_s / table_s);
  printf("  floor %.0f ms: %s; aim %.0f ms: %s\n", 1e3 * floor_s,
         table_s <= floor_s ? "met" : "MISSED", 1e3 * aim_s, table_s <= aim_s ? "met" : "missed");
  free(table);
  free(other);
  close_suite(&s);
}

/* ---- combs ---- */

struct comb {
  enum comb_kind kind;
  uint32_t at; /* the set that the net's values are of */
  struct building b;
  struct net *net;
  long iterations, fallbacks, not_solved;
  double worst_kg_s;
};

/* Station s at work or parked: a third open. */
static void set_station(struct building *b, enum comb_kind kind, int s, bool open)
{
  building_move(b, s, open ? 1 : kind == ALL_BUT_SHUT ? 0.01 : 0.33);
}

static void toggle(struct comb *c, int s, bool open)
{
  set_station(&c->b, c->kind, s, open);
  net_update_link(c->net, &c->b.problem, c->b.sash_link[s]);
  if (c->b.valve_link[s] >= 0)
    net_update_link(c->net, &c->b.problem, c->b.valve_link[s]);
}

static void solve(struct comb *c)
{
  struct net_report report;

  net_solve(c->net, &report);
  c->iterations += report.iterations;
  c->fallbacks += report.fallbacks;
  c->not_solved += report.verdict != NET_SOLVED;
  c->worst_kg_s = fmax(c->worst_kg_s, report.residual_kg_s);
}

/* Gray order: one sash moves between two sets. */
static double walk_comb(struct comb *c, uint32_t count)
{
  double since = now_s();

  for (uint32_t i = 1; i <= count; i++) {
    uint32_t open = i ^ i >> 1;
    int s = __builtin_ctz(i);

    if (s < c->b.shape.stations)
      toggle(c, s, open >> s & 1u);
    solve(c);
  }
  return (now_s() - since) / count;
}

/* Seconds a set; `room_Pa`, by set, is compared when the clock has stopped. */
static double walk_rival(struct comb *c, struct rival *r, const double *room_Pa)
{
  static double found_Pa[RIVAL_SAMPLE + 1];
  double since, took_s, worst = 0;
  int bad = 0;

  for (int s = 0; s < c->b.shape.stations; s++)
    set_station(&c->b, c->kind, s, false);
  since = now_s();
  for (uint32_t i = 1; i <= RIVAL_SAMPLE; i++) {
    uint32_t open = i ^ i >> 1;
    int s = __builtin_ctz(i);

    set_station(&c->b, c->kind, s, open >> s & 1u);
    bool solved = rival_solve(r) >= 0;

    bad += !solved;
    found_Pa[i] = solved ? rival_pressure_Pa(r, 0) : (double)NAN;
  }
  took_s = (now_s() - since) / RIVAL_SAMPLE;
  if (bad > 0)
    printf("    KINSOL gave up on %d of %d\n", bad, RIVAL_SAMPLE);
  for (uint32_t i = 1; i <= RIVAL_SAMPLE; i++)
    worst = fmax(worst, isnan(found_Pa[i]) ? 0 : fabs(found_Pa[i] - room_Pa[i ^ i >> 1]));
  if (worst > 1e-6)
    fault("room pressures differ from KINSOL's, Pa", worst);
  return took_s;
}

/* The pressures after the rival's walk, from nothing. */
static void compare(struct comb *c, const struct rival *r)
{
  double worst = 0;

  for (int s = 0; s < c->b.shape.stations; s++)
    toggle(c, s, (RIVAL_SAMPLE ^ RIVAL_SAMPLE >> 1) >> s & 1);
  net_forget(c->net);
  solve(c);
  for (int i = 0; i < c->b.full.unknowns; i++)
    worst = fmax(worst, fabs(net_pressure_Pa(c->net, i + 1) - rival_pressure_Pa(r, i)));
  if (worst > 1e-6)
    fault("pressures differ from KINSOL's, Pa", worst);
}

static void weaken(struct building *b)
{
  struct graph *graphs[] = {&b->full, &b->reduced};

  b->fans[0].a_Pa *= 0.35;
  for (int g = 0; g < 2; g++)
    for (int e = 0; e < graphs[g]->edge_count; e++)
      if (graphs[g]->edges[e].kind == EDGE_FAN)
        graphs[g]->edges[e].a_Pa *= 0.35;
}

static void open_to(struct comb *c, uint32_t set)
{
  for (int s = 0; s < c->b.shape.stations; s++)
    if ((set ^ c->at) >> s & 1u)
      toggle(c, s, set >> s & 1u);
  c->at = set;
}

/* ---- all sets in lanes ---- */

struct lanes {
  struct comb *general; /* who is asked */
  struct net_comb *comb;
  double *room_Pa, *far_Pa;
};

static enum net_comb_verdict ask(void *arg, uint32_t set, double *room_Pa, double *far_Pa)
{
  struct lanes *l = arg;

  open_to(l->general, set);
  net_forget(l->general->net);
  solve(l->general);
  *room_Pa = net_pressure_Pa(l->general->net, net_comb_room(l->comb));
  *far_Pa = net_pressure_Pa(l->general->net, net_comb_far(l->comb));
  return NET_COMB_MET;
}

static void build(struct building *b, int stations, enum comb_kind kind, bool open)
{
  const struct shape shape = {"comb", 1, stations, 2, 1, 0};

  building_make(b, &shape, BUILDING_PLAIN);
  if (kind == FAN_SHORT)
    weaken(b);
  for (int s = 0; s < stations; s++)
    set_station(b, kind, s, open);
}

/* Against the general solver from nothing. */
static void compare_lanes(struct lanes *l, long sets)
{
  double worst = 0;

  for (long i = 0; i < SAMPLE; i++) {
    uint32_t set = (uint32_t)(i * (sets / SAMPLE) + i % 7) & (uint32_t)(sets - 1);
    double room_Pa, far_Pa;

    (void)ask(l, set, &room_Pa, &far_Pa);
    worst = fmax(worst, fmax(fabs(room_Pa - l->room_Pa[set]), fabs(far_Pa - l->far_Pa[set])));
  }
  if (worst > 1e-6)
    fault("pressures of the lanes differ from the general solver's, Pa", worst);
}

/* Seconds for all sets by the best path, and the rows of all. */
static double run_lanes(struct lanes *l, long sets)
{
  double took_s = 0, first = NAN;
  size_t bytes = (size_t)sets * sizeof(double);
  double *kept = malloc(bytes);

  if (!kept)
    exit(3);
  for (int path = NET_PATH_PLAIN; path <= NET_PATH_AVX512; path++) {
    struct net_comb_job job = {(enum net_path)path, NULL, ask, l, l->room_Pa, l->far_Pa, NULL};
    struct net_comb_report report;
    double list[5];

    if (!net_path_has(job.path)) {
      printf("  %-8s not on this processor\n", net_path_name(job.path));
      continue;
    }
    for (int i = 0; i < 5; i++) {
      double since = now_s();

      net_comb_all(l->comb, &job, &report);
      list[i] = now_s() - since;
    }
    took_s = median(list, 5);
    if (isnan(first))
      memcpy(kept, l->room_Pa, bytes);
    first = kept[0];
    if (memcmp(kept, l->room_Pa, bytes) != 0)
      fault("paths differ", path);

    double rate = (double)sets / took_s;

    printf(
        "  %-8s %6.2f M sets/s and core; %.2f steps and %.2f looks a set, residual %.1e kg/s; to the "
        "general solver: %ld not converged, %ld at a law without a form",
        net_path_name(job.path), 1e-6 * rate, (double)report.steps / (double)sets,
        (double)report.looks / (double)sets, report.worst_kg_s, report.failed, report.lost);
    if (comb_floor[path] > 0)
      printf("; floor %.0f M %s, aim %.0f M %s", 1e-6 * comb_floor[path],
             rate >= comb_floor[path] ? "met" : "MISSED", 1e-6 * comb_aim[path],
             rate >= comb_aim[path] ? "met" : "missed");
    printf("\n");
    if (comb_floor[path] > 0 && rate < comb_floor[path])
      printf(
          "    why: %s\n",
          l->general->kind == ALL_BUT_SHUT
              ? "no valve holds its flow, so each station costs a root and a division a step, and "
                "the sets inside a set tell less: the slowest of a chunk takes a step more"
              : "few valves hold their flow, so each station costs a root and a division a step; "
                "where one stops holding, the sets inside a set tell less");
  }
  free(kept);
  return took_s;
}

static void begin_comb(struct comb *c, struct lanes *l, int stations, enum comb_kind kind)
{
  struct building off, on;
  struct err err = {0};
  size_t sets = (size_t)1 << stations;

  *c = (struct comb){.kind = kind};
  build(&c->b, stations, kind, false);
  build(&off, stations, kind, false);
  build(&on, stations, kind, true);
  c->net = net_new(&c->b.problem, &err);
  *l = (struct lanes){c, net_comb_new(&off.problem, &on.problem, stations, off.sash_link, &err),
                      calloc(sets, sizeof(double)), calloc(sets, sizeof(double))};
  if (!l->comb || !l->room_Pa || !l->far_Pa) {
    fprintf(stderr, "%s\n", err.text);
    exit(3);
  }
  building_release(&off);
  building_release(&on);
}

static void end_comb(struct comb *c, struct lanes *l)
{
  net_free(c->net);
  net_comb_free(l->comb);
  free(l->room_Pa);
  free(l->far_Pa);
  building_release(&c->b);
}

/* ---- days of minutes ---- */

enum { DAYS = 10000, MINUTES = 1440, MORNING = 8 * 60, EVENING = 18 * 60 };

/* A station is moved in 2 minutes of a hundred by day and in 0.4 at night: which are, by minute. */
static void draw_day(struct numeric_random *random, int stations, uint32_t *moved)
{
  const double by_day_ratio = 0.02, at_night_share = 0.2;
  const double per = 1 / log(1 - by_day_ratio);

  memset(moved, 0, MINUTES * sizeof *moved);
  for (int s = 0; s < stations; s++)
    for (int t = -1;;) {
      double gap = 1 + log(1 - numeric_random_unit(random)) * per;

      if (gap >= MINUTES - t)
        break;
      t += (int)gap;
      if ((t >= MORNING && t < EVENING) || numeric_random_unit(random) < at_night_share)
        moved[t] ^= 1u << s;
    }
}

struct days {
  long changed, low; /* minutes in which something moved; in which the room was below its least */
  uint32_t sample[RIVAL_SAMPLE];
  int sampled;
};

static void walk_days(struct days *d, int stations, const unsigned char *verdict)
{
  struct numeric_random random;
  uint32_t moved[MINUTES];

  numeric_random_seed(&random, 3);
  for (int day = 0; day < DAYS; day++) {
    uint32_t set = 0;
    int since = 0;

    draw_day(&random, stations, moved);
    for (int t = 0; t < MINUTES; t++) {
      if (!moved[t])
        continue;
      d->low += verdict[set] == NET_COMB_MISSED ? t - since : 0;
      since = t;
      set ^= moved[t];
      d->changed++;
      if (d->sampled < RIVAL_SAMPLE)
        d->sample[d->sampled++] = set;
    }
    d->low += verdict[set] == NET_COMB_MISSED ? MINUTES - since : 0;
  }
}

/* Seconds a changed minute, one after the other as the days have them. */
static double walk_days_rival(struct comb *c, struct rival *r, const struct days *d,
                              const double *room_Pa)
{
  static double found_Pa[RIVAL_SAMPLE];
  double worst = 0, since = now_s(), took_s;

  for (int i = 0; i < d->sampled; i++) {
    uint32_t moved = i > 0 ? d->sample[i] ^ d->sample[i - 1] : UINT32_MAX;

    for (int s = 0; s < c->b.shape.stations; s++)
      if (moved >> s & 1u)
        set_station(&c->b, c->kind, s, d->sample[i] >> s & 1u);
    found_Pa[i] = rival_solve(r) >= 0 ? rival_pressure_Pa(r, 0) : room_Pa[d->sample[i]];
  }
  took_s = (now_s() - since) / d->sampled;
  for (int i = 0; i < d->sampled; i++)
    worst = fmax(worst, fabs(found_Pa[i] - room_Pa[d->sample[i]]));
  if (worst > 1e-6)
    fault("room pressures of a day differ from KINSOL's, Pa", worst);
  return took_s;
}

/*
 * Each minute's stations are parked or at work, so each is one of the sets of the table, which is made in
 * lanes first, each set with its second pass; then only the minutes in which something moved are looked
 * at.  Heights in between would be sets of their own: no command draws them (the chance of an hour is
 * summed over all sets, docs/why/028), so nothing here solves them.
 */
static void of_days(int stations, double floor, double aim)
{
  struct comb c;
  struct lanes l;
  struct days d = {0};
  size_t sets = (size_t)1 << stations;
  unsigned char *verdict = calloc(sets, 1);
  struct net_comb_bounds bounds = {0, INFINITY, INFINITY, NULL};
  struct net_comb_report report;

  begin_comb(&c, &l, stations, ORDINARY);

  struct net_comb_job job = {NET_PATH_BEST, &bounds, ask, &l, l.room_Pa, l.far_Pa, verdict};

  double none_Pa = 0, all_Pa = 0, far_Pa;

  if (!verdict)
    exit(3);
  (void)ask(&l, 0, &none_Pa, &far_Pa);
  (void)ask(&l, (uint32_t)(sets - 1), &all_Pa, &far_Pa);
  bounds.room_least_Pa = 0.7 * none_Pa + 0.3 * all_Pa;

  double since = now_s();

  net_comb_all(l.comb, &job, &report);

  double table_s = now_s() - since;

  walk_days(&d, stations, verdict);

  double took_s = now_s() - since;
  struct rival *full = rival_new(&c.b.full), *same = rival_new(&c.b.reduced);
  double full_s = walk_days_rival(&c, full, &d, l.room_Pa);
  double same_s = walk_days_rival(&c, same, &d, l.room_Pa);

  printf(
      "%d days of minutes, %d stations, one core: %.3f s (%s, table %.4f s, %ld sets left to the general "
      "solver); %ld of %d minutes change, %.2f %% of all below %.1f Pa; floor %.1f s %s, aim %.1f s %s\n",
      DAYS, stations, took_s, net_path_name(report.path), table_s,
      report.failed + report.lost + report.near, d.changed, DAYS * MINUTES,
      100.0 * (double)d.low / DAYS / MINUTES, bounds.room_least_Pa, floor,
      took_s <= floor ? "met" : "MISSED", aim, took_s <= aim ? "met" : "missed");
  printf(
      "  KINSOL   full %.1f us, same unknowns %.1f us a changed minute: %.1f and %.1f s for all of them, by a "
      "sample of %d; %.0fx and %.0fx\n",
      1e6 * full_s, 1e6 * same_s, full_s * (double)d.changed, same_s * (double)d.changed, d.sampled,
      full_s * (double)d.changed / took_s, same_s * (double)d.changed / took_s);
  rival_free(full);
  rival_free(same);
  end_comb(&c, &l);
  free(verdict);
}

static void of_comb(int stations, enum comb_kind kind)
{
  static const char *const kinds[] = {"", ", fan short", ", parked all but shut"};
  struct comb c;
  struct lanes l;
  long sets = 1l << stations;

  begin_comb(&c, &l, stations, kind);
  printf("comb of %d%s\n", stations, kinds[kind]);
  double lanes_s = run_lanes(&l, sets) / (double)sets;

  compare_lanes(&l, sets);
  open_to(&c, 0);
  c.iterations = c.fallbacks = c.not_solved = 0;
  c.worst_kg_s = 0;
  solve(&c);
  c.iterations = 0;

  uint32_t walked = stations > 16 ? 1u << 16 : 1u << stations;
  double ours_s = walk_comb(&c, walked);
  struct rival *full = rival_new(&c.b.full), *same = rival_new(&c.b.reduced);
  double full_s = walk_rival(&c, full, l.room_Pa), same_s = walk_rival(&c, same, l.room_Pa);

  compare(&c, full);
  printf(
      "  general  %6.3f M sets/s and core, one after the other; its %.1f, %ld steps of the safer method, "
      "residual %.1e kg/s\n",
      1e-6 / ours_s, (double)c.iterations / walked, c.fallbacks, c.worst_kg_s);
  printf(
      "  KINSOL   full %.1f us, same unknowns %.1f us: the best lanes %.0fx and %.0fx, the general "
      "solver %.0fx and %.1fx\n",
      1e6 * full_s, 1e6 * same_s, full_s / lanes_s, same_s / lanes_s, full_s / ours_s,
      same_s / ours_s);
  if (c.not_solved > 0)
    fault("sets without a solution", (double)c.not_solved);
  rival_free(full);
  rival_free(same);
  end_comb(&c, &l);
}

/* ---- combs as suites: the sets that are judged, most of them without a solve ---- */

static void put_comb(struct buf *out, int stations, int most_m3_h)
{
  struct numeric_random random;

  numeric_random_seed(&random, 11);
  buf_printf(
      out,
      "inward: 1 suite\nname: Comb of %d\nrooms: {R: {keeps: [{over: outdoors, at least: 5 Pa}]}}\n"
      "junctions: {far: {}, header: {}}\n"
      "leaks: {L: {from: R, to: outdoors, area: 400 cm2, coefficient: 0.65}}\n"
      "ducts: {D: {from: far, to: header, drop: 40 Pa at 8000 m3/h}}\n"
      "fans: {EF: {from: header, to: outdoors, shut-off: 900 Pa, falls: 40 Pa/(m3/s)2}}\n"
      "mains: {M: {at: header, fans: [EF]}}\n"
      "supplies: {MU: {most: %d m3/h, plenum: 150 Pa, feeds: {R: {holds: {pressure: 15 Pa, over: "
      "outdoors}, least: 0 m3/h, most: 30000 m3/h}}}}\nstations:\n",
      stations, most_m3_h);
  for (int i = 0; i < stations; i++)
    buf_printf(
        out,
        "  S%d: {kind: fume hood, room: R, main: M, joins: %s, flow: {two-state: {parked: %d m3/h, "
        "work: %d m3/h}}, branch: {drop: %d Pa at 800 m3/h}}\n",
        i, i % 2 ? "far" : "header", 150 + numeric_random_below(&random, 150),
        500 + numeric_random_below(&random, 800), 40 + numeric_random_below(&random, 80));
}

/* All sets of unequal stations, in lanes, and by the boundary and its second pass. */
static void judge_comb(int stations, int most_m3_h)
{
  struct suite s = {0};
  struct together_work work, walk;
  struct buf text;

  buf_init(&text, 1 << 16);
  put_comb(&text, stations, most_m3_h);
  open_text(&s, "comb.yaml", text.text, text.used);

  size_t sets = (size_t)1 << s.count, fine = 0;
  unsigned char *table = calloc(sets, 1), *other = calloc(sets, 1);

  if (!table || !other)
    exit(3);
  double lanes_s = fill(&s, 1, false, table, &work), took_s = fill(&s, 1, true, other, &walk);

  for (size_t i = 0; i < sets; i++)
    fine += table[i] == TOGETHER_FINE;
  if (memcmp(table, other, sets) != 0)
    fault("the lanes give another table", stations);
  printf(
      "suite of %d unequal stations, supply %d m3/h: %.0f %% fine; in lanes %.2f M sets judged/s and "
      "core, %ld of them by the general solver; by the boundary %.2f M, %ld solved, %ld checked, %ld "
      "not monotone\n",
      s.count, most_m3_h, 100.0 * (double)fine / (double)sets, 1e-6 * (double)sets / lanes_s,
      work.solved - work.in_lanes, 1e-6 * (double)sets / took_s, walk.solved, walk.checked,
      walk.not_monotone);
  if (work.in_lanes == 0)
    fault("a comb that the lanes do not take", stations);
  free(table);
  free(other);
  buf_release(&text);
  close_suite(&s);
}

int main(int argc, char **argv)
{
  static const int combs[COMBS] = {10, 14, 16, 20};
  long asked = argc > 2 ? strtol(argv[2], NULL, 10) : 21;
  int repeats = asked < 1 ? 1 : asked > REPEATS_MAX ? REPEATS_MAX : (int)asked;

  if (argc < 2)
    return 2;
  of_suite(argv[1], repeats);
  for (int i = 0; i < COMBS; i++)
    for (int kind = 0; kind < COMB_KINDS; kind++)
      of_comb(combs[i], (enum comb_kind)kind);
  of_days(8, days_floor_s[0], days_aim_s[0]);
  of_days(16, days_floor_s[1], days_aim_s[1]);
  for (int most_m3_h = 9000; most_m3_h <= 15000; most_m3_h += 3000) {
    judge_comb(16, most_m3_h);
    judge_comb(18, most_m3_h);
  }
  return faults > 0;
}
