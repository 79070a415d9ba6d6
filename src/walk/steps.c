/*
 * The states of a walk: all parked, one large station of each main, several
 * together, a door, a fan unit, all parked again.  Each is tried in the model
 * first; what would miss anything is not asked.
 */
#include "walk/plan_impl.h"

#include <math.h>
#include <stdlib.h>

enum { SEVERAL_MAX = 4 };

void walk_note(const char **list, int *count, const char *text)
{
  if (*count < WALK_NOTES_MAX)
    list[(*count)++] = text;
}

static const char *id_of(const struct walk_planning *p, int station)
{
  return p->f->stations[station].part.id;
}

/* ---- the scene everything starts from ---- */

/* Why a walk must leave this station alone; NULL: it may be asked to move it. */
static const char *untouchable(const struct walk_planning *p, const struct scene *scene, int i)
{
  const struct scene_station *s = &scene->stations[i];

  if (!p->f->stations[i].in_service)
    return "not in service";
  if (s->withdrawn)
    return "withdrawn from use";
  if (s->blocked)
    return "its sash is blocked";
  if (s->needs_flow)
    return walk_say(p->arena, "it needs its flow: %s", s->needs_flow);
  return NULL;
}

static void make_base(struct walk_planning *p, const struct scene *scene)
{
  p->base = scene_copy(p->f, scene, p->arena);
  for (int i = 0; i < p->f->station_count; i++) {
    const char *why = untouchable(p, scene, i);

    if (!why) {
      p->base.stations[i].raised = false;
      p->base.stations[i].opening_m = p->f->stations[i].parked_m;
    } else if (p->f->stations[i].in_service) {
      walk_note(p->left_out, &p->left_out_count,
                walk_say(p->arena, "%s stays as it is: %s", id_of(p, i), why));
    }
  }
  for (int i = 0; i < p->f->door_count; i++)
    p->base.door_open[i] = false;
}

/* ---- trying a state ---- */

static const struct air_answer *ask(struct walk_planning *p, const struct scene *scene)
{
  struct air_settings settings = {.advise = false,
                                  .solve_budget = air_settings_default.solve_budget};

  return air_ask(p->air, scene, &settings, p->arena, p->err);
}

static bool is_quiet(struct walk_planning *p, const struct scene *scene, int station)
{
  const struct air_answer *answer = ask(p, scene);

  return answer && answer->solved && answer->state != FACILITY_SHORT &&
         (station < 0 || !answer->stations[station].own_fault) && walk_doubts_allow(p, scene);
}

static void raise(const struct facility *f, struct scene *scene, int station)
{
  scene->stations[station].raised = true;
  scene->stations[station].opening_m = f->stations[station].work_m;
}

/* How much air a station moves when it goes to its mark. */
static double change_m3_s(const struct facility_station *s)
{
  return facility_station_rule_m3_s(s, true, s->work_m) -
         facility_station_rule_m3_s(s, false, s->parked_m);
}

/* Where a vane can read a face that the model predicts, large ones first. */
static double rank(const struct facility_station *s)
{
  return change_m3_s(s) + (s->has_width && s->has_openings ? 1e3 : 0.0);
}

struct ranked {
  int station;
  double rank_ratio;
};

static int by_rank(const void *a, const void *b)
{
  const struct ranked *x = a, *y = b;

  if (x->rank_ratio != y->rank_ratio)
    return x->rank_ratio < y->rank_ratio ? 1 : -1;
  return x->station - y->station;
}

/* The stations that may be moved, best first. */
static int rank_stations(const struct walk_planning *p, struct ranked *out)
{
  int count = 0;

  for (int i = 0; i < p->f->station_count; i++)
    if (!untouchable(p, &p->base, i) && change_m3_s(&p->f->stations[i]) > 0.0)
      out[count++] = (struct ranked){i, rank(&p->f->stations[i])};
  qsort(out, (size_t)count, sizeof *out, by_rank);
  return count;
}

/* ---- what to do, from one state to the next ---- */

/* A tape in a hand has one scale or the other: both are said. */
static double inches(double height_m)
{
  struct units_quantity one = {0};

  BUG_IF(units_parse("1 in", UNITS_LENGTH, UNITS_NOTHING, &one, NULL) != ERR_OK);
  return height_m / one.si;
}

static const char *raise_words(const struct walk_planning *p, int station)
{
  const struct facility_station *s = &p->f->stations[station];

  if (!s->has_openings)
    return walk_say(p->arena, "Open %s to its mark.", s->part.id);
  return walk_say(p->arena, "Open %s to its mark, %.0f mm (%.1f in); measure the height.",
                  s->part.id, s->work_m * 1000.0, inches(s->work_m));
}

static void describe_fans(struct walk_planning *p, struct walk_step *step,
                          const struct scene *before)
{
  const struct facility *f = p->f;

  for (int i = 0; i < f->fan_count; i++)
    if (step->scene.fan_running[i] < before->fan_running[i])
      walk_note(step->acts, &step->act_count,
                walk_say(p->arena, "The ventilation technician stops one unit of %s.",
                         f->fans[i].part.id));
    else if (step->scene.fan_running[i] > before->fan_running[i])
      walk_note(step->acts, &step->act_count,
                walk_say(p->arena, "The ventilation technician starts %s again and sees it run.",
                         f->fans[i].part.id));
}

static void describe(struct walk_planning *p, struct walk_step *step, const struct scene *before)
{
  const struct facility *f = p->f;

  for (int i = 0; i < f->station_count; i++)
    if (before->stations[i].raised && !step->scene.stations[i].raised)
      walk_note(step->acts, &step->act_count, walk_say(p->arena, "Park %s.", id_of(p, i)));
  for (int i = 0; i < f->door_count; i++)
    if (before->door_open[i] && !step->scene.door_open[i])
      walk_note(step->acts, &step->act_count,
                walk_say(p->arena, "Shut door %s.", f->doors[i].part.id));
  describe_fans(p, step, before);
  for (int i = 0; i < f->station_count; i++)
    if (!before->stations[i].raised && step->scene.stations[i].raised)
      walk_note(step->acts, &step->act_count, raise_words(p, i));
  for (int i = 0; i < f->door_count; i++)
    if (!before->door_open[i] && step->scene.door_open[i])
      walk_note(step->acts, &step->act_count,
                walk_say(p->arena,
                         "Ask the people on both sides, then have a second person hold door %s "
                         "open, only while you read: meanwhile %s is not kept over %s.",
                         f->doors[i].part.id, facility_node_id(f, f->doors[i].from),
                         facility_node_id(f, f->doors[i].to)));
}

static struct walk_step *add_step(struct walk_planning *p, const char *title,
                                  const struct scene *scene)
{
  struct walk_step *step = &p->steps[p->step_count];

  if (p->step_count == WALK_STEPS_MAX)
    return NULL;
  *step = (struct walk_step){.title = title,
                             .acts = ARENA_ARRAY(p->arena, const char *, WALK_NOTES_MAX),
                             .scene = scene_copy(p->f, scene, p->arena)};
  if (!step->acts)
    return NULL;
  p->step_count++;
  return step;
}

void walk_describe_steps(struct walk_planning *p)
{
  walk_note(p->steps[0].acts, &p->steps[0].act_count,
            "All sashes parked and all doors shut, but for what stays as it is.");
  for (int s = 1; s < p->step_count; s++)
    describe(p, &p->steps[s], &p->steps[s - 1].scene);
}

/* ---- the steps ---- */

static int add_large(struct walk_planning *p, int main, const struct ranked *ranked, int count)
{
  for (int k = 0; k < count; k++) {
    int station = ranked[k].station;
    struct scene scene;

    if (p->f->stations[station].main != main)
      continue;
    scene = scene_copy(p->f, &p->base, p->arena);
    raise(p->f, &scene, station);
    if (!is_quiet(p, &scene, station))
      continue;
    add_step(p, walk_say(p->arena, "%s alone at its mark", id_of(p, station)), &scene);
    return station;
  }
  return -1;
}

/* Whole suite: adds what still fits, one of each main in turn. */
static void add_several(struct walk_planning *p, const struct ranked *ranked, int count,
                        const int *large)
{
  struct scene scene = scene_copy(p->f, &p->base, p->arena), trial;
  int open = 0;

  for (int m = 0; m < p->f->main_count && open < SEVERAL_MAX; m++)
    if (large[m] >= 0) {
      trial = scene_copy(p->f, &scene, p->arena);
      raise(p->f, &trial, large[m]);
      if (is_quiet(p, &trial, large[m])) {
        scene = trial;
        open++;
      }
    }
  for (int k = 0; k < count && open < SEVERAL_MAX; k++) {
    if (scene.stations[ranked[k].station].raised)
      continue;
    trial = scene_copy(p->f, &scene, p->arena);
    raise(p->f, &trial, ranked[k].station);
    if (is_quiet(p, &trial, ranked[k].station)) {
      scene = trial;
      open++;
    }
  }
  if (open >= 2)
    add_step(p, walk_say(p->arena, "%d open together", open), &scene);
}

/* Everything but the pair across the door is kept, and the door's own pair does not turn round. */
static double door_tells(struct walk_planning *p, int door, const struct air_answer *shut)
{
  struct scene scene = scene_copy(p->f, &p->base, p->arena);
  const struct facility_door *d = &p->f->doors[door];
  const struct air_answer *open;
  double sum = 0.0;

  scene.door_open[door] = true;
  open = ask(p, &scene);
  if (!open || !open->solved || !open->doors[door].known)
    return 0.0;
  if (open->doors[door].drop_Pa * shut->doors[door].drop_Pa < 0.0)
    return 0.0;
  for (int i = 0; i < p->f->room_count; i++)
    for (int k = 0; k < open->rooms[i].keep_count; k++) {
      const struct air_keep *keep = &open->rooms[i].keeps[k];
      bool own = (i == d->from && keep->keep->over == d->to) ||
                 (i == d->to && keep->keep->over == d->from);

      if (!own && !(keep->known && keep->met))
        return 0.0;
    }
  for (int k = 0; k < p->pair_count; k++)
    if (p->pairs[k].door != door) {
      struct walk_quantity q = {FACILITY_GAUGE_ROOM, p->pairs[k].room, p->pairs[k].over};
      double now_Pa = walk_predicted_si(p->f, open, &q);
      double moved_Pa = now_Pa - walk_predicted_si(p->f, shut, &q);
      struct walk_band band = walk_band_of(p->f, &q, now_Pa, 0.0);

      if (isfinite(moved_Pa))
        sum += moved_Pa * moved_Pa / (walk_standard_si(&band) * walk_standard_si(&band));
    }
  return sum;
}

static void add_door(struct walk_planning *p, const struct air_answer *shut)
{
  const double enough =
      4.0; /* twice a standard uncertainty: else it is not worth the disturbance */
  double best = enough;
  int door = -1;

  for (int i = 0; i < p->f->door_count && i < WALK_PAIRS_MAX; i++) {
    double tells = door_tells(p, i, shut);

    if (tells > best) {
      best = tells;
      door = i;
    }
  }
  if (door < 0)
    return;
  struct scene scene = scene_copy(p->f, &p->base, p->arena);

  scene.door_open[door] = true;
  add_step(p, walk_say(p->arena, "door %s open", p->f->doors[door].part.id), &scene);
}

/* A unit whose loss the model does not feel with everything parked. */
static void add_fan(struct walk_planning *p, bool wanted)
{
  for (int m = 0; m < p->f->main_count; m++)
    for (int k = 0; k < p->f->mains[m].fan_count; k++) {
      int fan = p->f->mains[m].fans[k], unit = 0;
      struct scene scene = scene_copy(p->f, &p->base, p->arena);

      if (scene.fan_running[fan] < 2)
        continue;
      while (!(scene.fan_units[fan] >> unit & 1))
        unit++;
      scene_run_unit(p->f, &scene, fan, unit, false);
      if (!is_quiet(p, &scene, -1))
        continue;
      if (wanted) {
        struct walk_step *step =
            add_step(p, walk_say(p->arena, "one unit of %s off", p->f->fans[fan].part.id), &scene);

        if (step)
          step->technician = true;
      } else {
        walk_note(p->left_out, &p->left_out_count,
                  walk_say(p->arena,
                           "one unit of %s off, all parked: only with the ventilation technician "
                           "there (--technician adds it)",
                           p->f->fans[fan].part.id));
      }
      return;
    }
}

static void add_open_steps(struct walk_planning *p)
{
  struct ranked *ranked = ARENA_ARRAY(p->arena, struct ranked, (size_t)p->f->station_count + 1);
  int *large = ARENA_ARRAY(p->arena, int, (size_t)p->f->main_count + 1);
  int count;

  if (!ranked || !large)
    return;
  count = rank_stations(p, ranked);
  for (int m = 0; m < p->f->main_count; m++) {
    large[m] = p->step_count < WALK_STEPS_MAX - 4 ? add_large(p, m, ranked, count) : -1;
    if (large[m] < 0)
      walk_note(p->left_out, &p->left_out_count,
                walk_say(p->arena, "main %s: no station of it that may be opened alone",
                         p->f->mains[m].part.id));
  }
  add_several(p, ranked, count, large);
}

bool walk_choose_steps(struct walk_planning *p, const struct scene *scene,
                       const struct walk_options *options)
{
  const struct air_answer *parked;

  make_base(p, scene);
  if (!walk_doubts_prepare(p))
    return false;
  parked = ask(p, &p->base);
  if (!parked || !parked->solved) {
    err_set(p->err, ERR_NO_SOLUTION, "the air with everything parked could not be solved%s%s",
            parked ? ": " : "", parked ? parked->report.reason : "");
    return false;
  }
  walk_find_pairs(p);
  add_step(p, "everything parked", &p->base);
  if (parked->state == FACILITY_SHORT) {
    for (int i = 0; i < parked->reason_count; i++)
      walk_note(p->before, &p->before_count,
                walk_say(p->arena, "by the model, with everything parked already: %s",
                         parked->reasons[i]));
    walk_note(p->left_out, &p->left_out_count,
              "every step that opens something: see to the above first");
    return true;
  }
  add_open_steps(p);
  add_door(p, parked);
  add_fan(p, options && options->technician);
  if (p->step_count > 1) {
    add_step(p, "everything parked again", &p->base);
    p->last_is_end = true;
  }
  return true;
}
