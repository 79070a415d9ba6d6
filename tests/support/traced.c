#include "traced.h"

#include "numeric/numeric.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  BASES = 12,         /* scenes of a trial: so many of night and day ... */
  TRUTHS = 2 * BASES, /* ... each with the station in question down and up */
  NIGHTS = 3,
  STEP_MS = 300000,
  STEPS_A_DAY = 288,
};

static const char more_points[] =
    "  AF-speed: {of: AF, what: speed, from: trend, at: AF SPEED, unit: \"%\"}\n"
    "  SF-speed: {of: SF, what: speed, from: trend, at: SF SPEED, unit: \"%\"}\n"
    "  A-plenum-p: {of: A-plenum, what: pressure, from: trend, at: A PLENUM, unit: Pa}\n"
    "  A-inlet-p: {of: A-inlet, what: pressure, from: trend, at: A INLET, unit: Pa}\n"
    "  S-plenum-p: {of: S-plenum, what: pressure, from: trend, at: S PLENUM, unit: Pa}\n"
    "  S-inlet-p: {of: S-inlet, what: pressure, from: trend, at: S INLET, unit: Pa}\n"
    "  A1-face: {of: A1, what: face velocity, from: trend, at: A1 FACE, unit: m/s}\n"
    "  A4-face: {of: A4, what: face velocity, from: trend, at: A4 FACE, unit: m/s}\n";

/* ---- the suite ---- */

static char *read_all(const char *path, size_t room)
{
  FILE *file = fopen(path, "rb");
  char *text = calloc(1, room);

  if (!file || !text || fread(text, 1, room - 1, file) == 0) {
    printf("%s: cannot be read; run from the top folder\n", path);
    if (file)
      fclose(file);
    free(text);
    return NULL;
  }
  fclose(file);
  return text;
}

static bool read_files(struct traced_world *w, char *suite, char *feeds, bool more)
{
  struct complaints complaints;
  struct buf said;

  if (more)
    memcpy(feeds + strlen(feeds), more_points, sizeof more_points); /* read_all leaves room */
  complaints_init(&complaints, &w->arena);
  w->facility = facility_read(&(struct facility_text){"suite.yaml", suite, strlen(suite)}, NULL, 0,
                              &complaints);
  if (w->facility)
    w->feeds = feeds_read(w->facility, &(struct facility_text){"feeds.yaml", feeds, strlen(feeds)},
                          &complaints);
  buf_init(&said, 1 << 16);
  complaints_print(&complaints, "examples/quillmere", NULL, &said);
  if (!w->feeds)
    puts(said.text);
  buf_release(&said);
  return w->feeds != NULL;
}

bool traced_open(struct traced_world *w, bool more)
{
  enum { ROOM = 1 << 18 };
  struct err err = {0};
  char *suite = read_all("examples/quillmere/suite.yaml", ROOM);
  char *feeds = read_all("examples/quillmere/feeds.yaml", ROOM);

  *w = (struct traced_world){0};
  arena_init(&w->arena, SIZE_MAX);
  if (suite && feeds && read_files(w, suite, feeds, more))
    w->model = fault_model_new(w->facility, w->feeds, &err);
  free(suite);
  free(feeds);
  return w->model != NULL;
}

void traced_close(struct traced_world *w)
{
  fault_model_free(w->model);
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

/* ---- one trial ---- */

struct trial {
  struct traced_world *w;
  const struct traced_plan *plan;
  struct arena *arena;
  struct numeric_random random;
  struct air *healthy, *faulty; /* the same one where only the scene differs */
  const struct facility *as;
  int station;                 /* the one in question, or -1 */
  int point;                   /* or -1 */
  struct scene scenes[TRUTHS]; /* as the sashes truly are */
  double *truth[2][TRUTHS];    /* per point; NULL: not solved yet */
  struct watch *watch;
  struct fault_watch *faults;
  int begins; /* step */
  int scene, left;
  bool present[64];
  double stuck_si;
  double *last_si, *over, *over_before; /* per point, for the limit checks */
  int *same;
};

static double normal(struct numeric_random *random)
{
  /* Marsaglia's polar method */
  double u, v, s;

  do {
    u = numeric_random_between(random, -1, 1);
    v = numeric_random_between(random, -1, 1);
    s = u * u + v * v;
  } while (s >= 1 || s <= 0);
  return u * sqrt(-2 * log(s) / s);
}

static int input_of(const struct facility *f, enum facility_move move, int index)
{
  for (int i = 0; i < f->input_count; i++)
    if (f->inputs[i].move == move && f->inputs[i].index == index)
      return i;
  return -1;
}

static int part_of(const struct facility *f, const struct traced_fault *fault, int *input)
{
  int i = -1, unit;
  enum facility_move move = FACILITY_MOVE_LEAK;

  *input = -1;
  switch (fault->kind) {
  case FAULT_LEAK_GREW:
    for (i = 0; i < f->leak_count && strcmp(f->leaks[i].part.id, fault->part) != 0;)
      i++;
    break;
  case FAULT_LOADED_FILTER:
    i = facility_duct_find(f, fault->part);
    move = FACILITY_MOVE_DUCT_DROP;
    break;
  case FAULT_WORN_FAN:
    i = facility_fan_find(f, fault->part, &unit);
    move = FACILITY_MOVE_FAN_CURVE;
    break;
  case FAULT_DOOR_OPEN:
    i = facility_door_find(f, fault->part);
    move = FACILITY_MOVE_DOOR_CLOSED;
    break;
  case FAULT_BACK_DRAUGHT:
    return facility_fan_find(f, fault->part, &unit);
  default:
    return facility_station_find(f, fault->part);
  }
  if (fault->kind != FAULT_DOOR_OPEN || fault->size_ratio > 1)
    *input = input_of(f, move, i);
  return i;
}

/* The path through a stopped unit open; `size` times the resistance of a third of its highest rise at
 * half of its greatest flow. */
static const struct facility *open_path(struct trial *t, const struct facility *f, int fan)
{
  struct facility *copy = ARENA_NEW(t->arena, struct facility);
  struct facility_fan *fans = ARENA_ARRAY(t->arena, struct facility_fan, (size_t)f->fan_count);
  double most_m3_s = f->fans[fan].flow_m3_s[f->fans[fan].point_count - 1];

  *copy = *f;
  memcpy(fans, f->fans, (size_t)f->fan_count * sizeof *fans);
  fans[fan].open_when_stopped = true;
  fans[fan].stopped =
      (struct facility_resistance){.form = FACILITY_LUMPED,
                                   .lumped_Pa_s2_m6 = t->plan->fault.size_ratio * 4 / 3 *
                                                      fans[fan].rise_Pa[0] / most_m3_s / most_m3_s};
  copy->fans = fans;
  return copy;
}

static struct facility_moved *drawn(struct trial *t, double *by)
{
  const struct facility *f = t->w->facility;
  struct facility_moved *moved = facility_moved_new(f, t->arena);

  for (int i = 0; i < f->input_count; i++)
    facility_move(moved, i, by[i]);
  return moved;
}

static void make_truth(struct trial *t)
{
  const struct facility *f = t->w->facility;
  const struct traced_fault *fault = &t->plan->fault;
  double *by = ARENA_ARRAY(t->arena, double, (size_t)f->input_count + 1);
  struct err err = {0};
  int input, part = fault->kind < 0 ? -1 : part_of(f, fault, &input);

  for (int i = 0; i < f->input_count; i++)
    by[i] = 0.5 * normal(&t->random); /* a ± is two standard deviations */
  t->as = facility_moved_as(drawn(t, by));
  t->healthy = t->faulty = air_new(t->as, &err);
  if (part >= 0 && input >= 0) {
    const struct facility_input *in = &f->inputs[input];

    by[input] += (fault->size_ratio - 1) * in->value_si / in->plus_minus_si;
    t->faulty = air_new(facility_moved_as(drawn(t, by)), &err);
  } else if (fault->kind == FAULT_BACK_DRAUGHT)
    t->faulty = air_new(open_path(t, t->as, part), &err);
}

/* ---- scenes ---- */

static void raise_sash(const struct facility *f, struct scene *scene, int station, double share)
{
  const struct facility_station *s = &f->stations[station];

  scene->stations[station].raised = true;
  scene->stations[station].opening_m = 0.01 * round(100 * s->work_m * share);
}

/* The same for every trial, so that the healthy model solves each of them once. */
static void make_scenes(struct trial *t)
{
  const struct facility *f = t->w->facility;
  struct numeric_random fixed;

  numeric_random_seed(&fixed, 20261129);
  for (int b = 0; b < BASES; b++) {
    struct scene *down = &t->scenes[2 * b], *up = &t->scenes[2 * b + 1];
    int most = b < NIGHTS ? 2 : 6;

    *down = scene_parked(f, t->arena);
    down->has_outdoor_temperature = true;
    down->outdoor_temperature_K = 280;
    for (int n = 0; n < most; n++)
      raise_sash(f, down, numeric_random_below(&fixed, f->station_count), n % 3 == 2 ? 0.7 : 1);
    raise_sash(f, down, facility_station_find(f, "A2"), 1);
    raise_sash(f, down, facility_station_find(f, "A9"),
               1); /* no point says it: counts as at work */
    *up = scene_copy(f, down, t->arena);
    if (t->station >= 0) {
      down->stations[t->station] = (struct scene_station){0};
      down->stations[t->station].opening_m = f->stations[t->station].parked_m;
      raise_sash(f, up, t->station, 1);
    }
  }
}

static void next_scene(struct trial *t, int step)
{
  bool day = step % STEPS_A_DAY >= 72 && step % STEPS_A_DAY < 240;
  int base = day ? NIGHTS + numeric_random_below(&t->random, BASES - NIGHTS)
                 : numeric_random_below(&t->random, NIGHTS);
  bool up = day && numeric_random_unit(&t->random) < 0.5;
  const struct scene *scene;

  if (t->plan->fault.kind == FAULT_BLOCKED_SASH && step >= t->begins)
    up = up && numeric_random_unit(&t->random) < 0.5;
  t->scene = 2 * base + up;
  t->left = 6 + numeric_random_below(&t->random, 13);
  scene = &t->scenes[t->scene];
  for (int i = 0; i < t->w->facility->station_count; i++)
    t->present[i] = numeric_random_unit(&t->random) < (scene->stations[i].raised ? 0.9 : 0.05);
}

/* ---- what is truly there ---- */

static void put_at_station(const struct trial *t, struct scene *scene)
{
  const struct traced_fault *fault = &t->plan->fault;
  const struct facility_station *s = &t->as->stations[t->station];
  struct scene_station *now = &scene->stations[t->station];
  double parked_m3_s = facility_station_rule_m3_s(s, false, s->parked_m);
  double work_m3_s = facility_station_rule_m3_s(s, true, s->work_m);

  switch ((int)fault->kind) {
  case FAULT_BLOCKED_SASH: /* size: of the way from parked to work */
    if (!now->raised) {
      now->has_ask = true;
      now->ask_m3_s = parked_m3_s + fault->size_ratio * (work_m3_s - parked_m3_s);
    }
    break;
  case FAULT_STUCK_SASH: /* size: of the opening at the mark */
    if (now->raised)
      raise_sash(t->as, scene, t->station, fault->size_ratio);
    break;
  case FAULT_COVERED_DECK:
    now->cover_ratio = fault->size_ratio;
    break;
  case FAULT_DRIFTING_VALVE:
    now->ask_m3_s = scene_station_ask_m3_s(t->as, scene, t->station) * (1 + fault->size_ratio);
    now->has_ask = true;
    break;
  default:
    break; /* in a reading */
  }
}

static void put_fault(const struct trial *t, struct scene *scene)
{
  const struct traced_fault *fault = &t->plan->fault;
  int input;

  if (fault->kind == FAULT_DOOR_OPEN)
    scene->door_open[part_of(t->as, fault, &input)] = fault->size_ratio <= 1;
  else if (t->station >= 0)
    put_at_station(t, scene); /* the others are in the figures */
}

static double value_of(const struct trial *t, const struct air_answer *a, int point)
{
  const struct feeds_point *p = &t->w->feeds->points[point];

  switch ((int)p->what) {
  case FEEDS_FLOW:
    return p->of == FEEDS_OF_SUPPLY ? a->supplies[p->index].flow_m3_s
                                    : a->stations[p->index].flow_m3_s;
  case FEEDS_FACE_VELOCITY:
    return a->stations[p->index].has_face_velocity ? a->stations[p->index].face_velocity_m_s
                                                   : (double)NAN;
  case FEEDS_PRESSURE:
    return a->nodes[p->index].pressure_Pa -
           (p->of == FEEDS_OF_ROOM ? a->nodes[p->over].pressure_Pa : 0);
  case FEEDS_SPEED:
    return a->fans[p->index].speed_ratio;
  default:
    return NAN;
  }
}

static const double *truth(struct trial *t, bool fault)
{
  double **kept = &t->truth[fault][t->scene];
  struct err err = {0};

  if (!*kept) {
    struct arena arena;
    int points = t->w->feeds->point_count;

    arena_init(&arena, SIZE_MAX);
    struct scene scene = scene_copy(t->as, &t->scenes[t->scene], &arena);

    if (fault)
      put_fault(t, &scene);
    const struct air_answer *a = air_flows(fault ? t->faulty : t->healthy, &scene, &arena, &err);

    *kept = ARENA_ARRAY(t->arena, double, (size_t)points + 1);
    for (int i = 0; i < points; i++)
      (*kept)[i] = a && a->solved ? value_of(t, a, i) : (double)NAN;
    arena_release(&arena);
  }
  return *kept;
}

/* ---- what is read ---- */

static double noise_si(struct trial *t, const struct feeds_point *p, double si)
{
  double by = t->plan->noise_ratio * normal(&t->random);

  switch ((int)p->what) {
  case FEEDS_FLOW:
    return 0.01 * si * by;
  case FEEDS_FACE_VELOCITY:
    return 0.03 * si * by;
  case FEEDS_SPEED:
    return 0.005 * si * by;
  default:
    return 0.3 * by;
  }
}

/* A drift grows for six hours. */
static double grown(const struct trial *t, int step)
{
  const double hours = 6;
  int kind = t->plan->fault.kind;

  if (kind != FAULT_DRIFTING_VALVE && kind != FAULT_DRIFTING_SENSOR)
    return 1;
  return fmin(1, (step - t->begins) * (STEP_MS / 3.6e6) / hours);
}

static double sensor(struct trial *t, int point, double si)
{
  const struct traced_fault *fault = &t->plan->fault;

  if (point != t->point)
    return si;
  if (fault->kind == FAULT_STUCK_SENSOR || fault->kind == FAULT_STUCK_SASH) {
    if (isnan(t->stuck_si))
      t->stuck_si = si;
    return t->stuck_si;
  }
  return fault->kind == FAULT_WRONG_UNIT ? si * fault->size_ratio : si;
}

static double reading(struct trial *t, int point, int step)
{
  const struct feeds_point *p = &t->w->feeds->points[point];
  bool fault = t->plan->fault.kind >= 0 && step >= t->begins;
  const struct scene *scene = &t->scenes[t->scene];
  double si, base;

  switch ((int)p->what) {
  case FEEDS_OPENING:
    si = scene->stations[p->index].opening_m;
    return fault ? sensor(t, point, si) : si;
  case FEEDS_PRESENCE:
    return t->present[p->index];
  case FEEDS_RUNNING:
    return p->of == FEEDS_OF_FAN ? t->w->facility->fans[p->index].running : 1;
  case FEEDS_TEMPERATURE:
    return 280;
  case FEEDS_FLOW:
  case FEEDS_FACE_VELOCITY:
  case FEEDS_PRESSURE:
  case FEEDS_SPEED:
    break;
  default:
    return 0; /* doors closed, no alarm, nothing under a sash */
  }
  si = base = truth(t, false)[point];
  if (fault) {
    si = base + grown(t, step) * (truth(t, true)[point] - base);
    if (point == t->point && t->plan->fault.kind == FAULT_DRIFTING_SENSOR)
      si *= 1 + t->plan->fault.size_ratio * grown(t, step);
  }
  si += noise_si(t, p, si);
  double last = p->factor * (p->what == FEEDS_FACE_VELOCITY ? 0.01 : 0.1);

  si = last * round(si / last); /* as it is displayed */
  return fault ? sensor(t, point, si) : si;
}

/* ---- the yardstick ---- */

static bool is_outside_keep(const struct facility *f, const struct feeds_point *p, double si)
{
  const struct facility_room *room = &f->rooms[p->index];

  for (int k = 0; k < room->keep_count; k++)
    if (room->keeps[k].over == p->over)
      return (room->keeps[k].has_least && si < room->keeps[k].least_Pa) ||
             (room->keeps[k].has_most && si > room->keeps[k].most_Pa);
  return false;
}

/* By how much of its rule a station's flow is off; a keep that is missed counts as a whole. */
static double share_off(const struct trial *t, int point, const struct watch_belief *belief,
                        double si)
{
  const struct facility *f = t->w->facility;
  const struct feeds_point *p = &t->w->feeds->points[point];

  if (p->what == FEEDS_PRESSURE && p->of == FEEDS_OF_ROOM)
    return is_outside_keep(f, p, si) ? 1 : 0;
  if (p->what != FEEDS_FLOW || p->of != FEEDS_OF_STATION ||
      f->stations[p->index].flow == FACILITY_PASSIVE)
    return 0;
  return fabs(si / scene_station_ask_m3_s(f, &belief->scene, p->index) - 1);
}

static double limit_check(struct trial *t, const struct watch_belief *belief, bool *alarm)
{
  enum { HALF_AN_HOUR = 6 };
  const double limit = 0.2;
  double peak = 0;

  *alarm = false;
  for (int i = 0; i < t->w->feeds->point_count; i++) {
    const struct feeds_point *p = &t->w->feeds->points[i];
    bool number = p->what == FEEDS_FLOW || p->what == FEEDS_PRESSURE;
    double si = belief->inputs[i].newest.si;

    if (!number)
      continue;
    t->over_before[i] = t->over[i];
    t->over[i] = share_off(t, i, belief, si);
    t->same[i] =
        si < t->last_si[i] || si > t->last_si[i] || isnan(t->last_si[i]) ? 0 : t->same[i] + 1;
    t->last_si[i] = si;
    double both = fmin(t->over[i], t->over_before[i]); /* two readings running */

    peak = fmax(peak, both);
    *alarm = *alarm || both > limit || t->same[i] >= HALF_AN_HOUR;
  }
  return peak;
}

/* ---- the run ---- */

static void take_all(struct trial *t, int step)
{
  int64_t t_ms = (int64_t)step * STEP_MS + 1000000000;

  for (int i = 0; i < t->w->feeds->point_count; i++) {
    struct feed_observation o = {.point = i, .t_ms = t_ms, .seen_ms = t_ms};

    o.si = reading(t, i, step);
    o.quality = isfinite(o.si) ? FEED_GOOD : FEED_MISSING;
    watch_take(t->watch, &o);
  }
}

static void judge_findings(struct trial *t, struct traced_result *r, const char **text)
{
  const struct traced_fault *fault = &t->plan->fault;
  struct fault_findings found = fault_find(t->faults, NULL, t->arena);

  r->finding_count = found.count;
  for (int i = 0; i < found.count; i++)
    for (int g = 0; g < found.list[i].guess_count; g++) {
      const struct fault_guess *guess = &found.list[i].guesses[g];
      bool kind = (int)guess->kind == fault->kind;

      r->first_kind = r->first_kind || (kind && g == 0);
      for (int k = 0; kind && k < guess->about_count; k++)
        if (strcmp(guess->about[k], fault->part) == 0) {
          r->first = r->first || (g == 0 && k == 0);
          r->named = true;
        }
    }
  if (found.count > 0 && found.list[0].guess_count > 0)
    r->said = found.list[0].guesses[0].kind;
  if (text)
    *text = found.count > 0 ? found.list[0].text : "";
}

static void note_step(struct trial *t, int step, double level, double limit, bool over,
                      struct traced_result *r)
{
  double since_s = (step - t->begins) * (STEP_MS * 1e-3);

  if (step < t->begins) {
    r->healthy_peak_ratio = fmax(r->healthy_peak_ratio, level);
    r->limit_peak_healthy_ratio = fmax(r->limit_peak_healthy_ratio, limit);
    r->false_alarm = r->false_alarm || level >= 1;
    r->limit_false_alarm = r->limit_false_alarm || over;
    return;
  }
  r->peak_ratio = fmax(r->peak_ratio, level);
  r->limit_peak_ratio = fmax(r->limit_peak_ratio, limit);
  if (level >= 1 && !r->alarm) {
    r->alarm = true;
    r->delay_s = since_s;
  }
  if (over && !r->limit_alarm) {
    r->limit_alarm = true;
    r->limit_delay_s = since_s;
  }
}

static void begin(struct trial *t)
{
  const struct traced_fault *fault = &t->plan->fault;
  size_t points = (size_t)t->w->feeds->point_count + 1;
  bool of_point = fault->kind == FAULT_STUCK_SENSOR || fault->kind == FAULT_WRONG_UNIT ||
                  fault->kind == FAULT_DRIFTING_SENSOR;

  numeric_random_seed(&t->random, t->plan->seed);
  t->station =
      fault->kind < 0 || of_point ? -1 : facility_station_find(t->w->facility, fault->part);
  t->point = of_point ? feeds_point_find(t->w->feeds, fault->part) : -1;
  if (of_point && t->w->feeds->points[t->point].of == FEEDS_OF_STATION)
    t->station = t->w->feeds->points[t->point].index;
  for (int i = 0; fault->kind == FAULT_STUCK_SASH && i < t->w->feeds->point_count; i++)
    if (t->w->feeds->points[i].of == FEEDS_OF_STATION &&
        t->w->feeds->points[i].index == t->station && t->w->feeds->points[i].what == FEEDS_OPENING)
      t->point = i;
  t->stuck_si =
      fault->kind == FAULT_STUCK_SASH ? t->w->facility->stations[t->station].parked_m : (double)NAN;
  t->begins = t->plan->healthy_steps + numeric_random_below(&t->random, 24);
  if (fault->kind == FAULT_WRONG_UNIT) /* a map is wrong from the start */
    t->begins = 0;
  make_truth(t);
  make_scenes(t);
  t->watch = watch_new(t->w->facility, t->w->feeds);
  t->faults = fault_watch_new(t->w->model);
  t->over = ARENA_ARRAY(t->arena, double, points);
  t->over_before = ARENA_ARRAY(t->arena, double, points);
  t->last_si = ARENA_ARRAY(t->arena, double, points);
  t->same = ARENA_ARRAY(t->arena, int, points);
}

static void end(struct trial *t)
{
  fault_watch_free(t->faults);
  watch_free(t->watch);
  if (t->faulty != t->healthy)
    air_free(t->faulty);
  air_free(t->healthy);
}

static bool is_time_to_judge(const struct trial *t, const struct traced_result *r, int step)
{
  return t->plan->after_steps > 0 && r->alarm &&
         step >= t->begins + (int)(r->delay_s * 1000 / STEP_MS) + t->plan->after_steps;
}

struct traced_result traced_run(struct traced_world *w, const struct traced_plan *plan,
                                struct arena *arena, const char **text)
{
  struct trial t = {.w = w, .plan = plan, .arena = arena};
  struct traced_result r = {.delay_s = NAN, .limit_delay_s = NAN};
  int last = plan->healthy_steps + plan->steps;
  bool judged = false;

  begin(&t);
  for (int step = 0; step < last; step++) {
    struct arena now;
    bool over;

    if (t.left-- <= 0)
      next_scene(&t, step);
    take_all(&t, step);
    arena_init(&now, SIZE_MAX);
    struct watch_belief belief = watch_believe(t.watch, (int64_t)step * STEP_MS + 1000000000, &now);

    if (!judged)
      fault_take(t.faults, &belief);
    double limit = limit_check(&t, &belief, &over);

    arena_release(&now);
    note_step(&t, step, fault_level_ratio(t.faults), limit, over, &r);
    if (!judged && is_time_to_judge(&t, &r, step)) {
      judge_findings(&t, &r, text);
      judged = true;
    }
    if (judged && r.limit_alarm)
      break;
  }
  if (!judged)
    judge_findings(&t, &r, text);
  end(&t);
  return r;
}
