#include "fault/fault_impl.h"

#include <math.h>
#include <string.h>

/* Each kind of fault at each part, put into the model.  Sizes are what a fault is tried with; it may be
 * found somewhat larger or smaller. */

const char *fault_kind_name(enum fault_kind kind)
{
  static const char *const names[] = {
      [FAULT_DOOR_OPEN] = "door left open",      [FAULT_BLOCKED_SASH] = "blocked sash",
      [FAULT_STUCK_SASH] = "stuck sash reading", [FAULT_STUCK_SENSOR] = "stuck sensor",
      [FAULT_WRONG_UNIT] = "wrong unit or sign", [FAULT_COVERED_DECK] = "covered deck",
      [FAULT_DRIFTING_VALVE] = "drifting valve", [FAULT_DRIFTING_SENSOR] = "drifting sensor",
      [FAULT_LOADED_FILTER] = "loaded filter",   [FAULT_WORN_FAN] = "worn fan",
      [FAULT_LEAK_GREW] = "leak that grew",      [FAULT_BACK_DRAUGHT] = "back-draught",
  };

  return names[kind];
}

int fault_kind_find(const char *name)
{
  for (int i = 0; i < FAULT_KIND_COUNT; i++)
    if (strcmp(fault_kind_name((enum fault_kind)i), name) == 0)
      return i;
  return -1;
}

static void add(struct fault_model *m, enum fault_kind kind, int index, double size_ratio,
                int input)
{
  m->variants[m->variant_count++] =
      (struct fault_variant){kind, index, size_ratio, input, NULL, NULL};
}

static bool has_opening_point(const struct feeds *feeds, int station)
{
  for (int i = 0; i < feeds->point_count; i++)
    if (feeds->points[i].of == FEEDS_OF_STATION && feeds->points[i].index == station &&
        feeds->points[i].what == FEEDS_OPENING)
      return true;
  return false;
}

static void list_station(struct fault_model *m, int i)
{
  const struct facility_station *s = &m->facility->stations[i];
  bool moves = s->flow == FACILITY_TWO_STATE || s->flow == FACILITY_FOLLOWS_OPENING;

  if (!s->in_service)
    return;
  if (moves)
    add(m, FAULT_BLOCKED_SASH, i, 1, -1);
  if (moves && has_opening_point(m->feeds, i)) {
    add(m, FAULT_STUCK_SASH, i, 1, -1);
    add(m, FAULT_STUCK_SASH, i, -1, -1);
  }
  if (s->deck_share_ratio > 0) {
    add(m, FAULT_COVERED_DECK, i, 0.5, -1);
    add(m, FAULT_COVERED_DECK, i, 1, -1);
  }
  if (s->flow != FACILITY_PASSIVE) {
    add(m, FAULT_DRIFTING_VALVE, i, 0.15, -1);
    add(m, FAULT_DRIFTING_VALVE, i, -0.15, -1);
  }
}

static bool is_fitting(const struct facility *f, int duct)
{
  enum facility_resistance_form form = f->ducts[duct].resistance.form;

  return form == FACILITY_LOSS || form == FACILITY_DROP_AT_FLOW || form == FACILITY_LUMPED;
}

static void list_figure(struct fault_model *m, int input)
{
  const struct facility_input *in = &m->facility->inputs[input];

  switch ((int)in->move) {
  case FACILITY_MOVE_LEAK:
    add(m, FAULT_LEAK_GREW, in->index, 2, input);
    add(m, FAULT_LEAK_GREW, in->index, 4, input);
    break;
  case FACILITY_MOVE_DOOR_CLOSED:
    add(m, FAULT_DOOR_OPEN, in->index, 8, input); /* ajar */
    break;
  case FACILITY_MOVE_DUCT_DROP:
    if (is_fitting(m->facility, in->index)) {
      add(m, FAULT_LOADED_FILTER, in->index, 1.7, input);
      add(m, FAULT_LOADED_FILTER, in->index, 3, input);
    }
    break;
  case FACILITY_MOVE_FAN_CURVE:
    add(m, FAULT_WORN_FAN, in->index, 0.9, input);
    add(m, FAULT_WORN_FAN, in->index, 0.8, input);
    break;
  default:
    break;
  }
}

void fault_list_variants(struct fault_model *m)
{
  const struct facility *f = m->facility;
  size_t most = 8 * (size_t)f->station_count + 2 * (size_t)f->input_count + (size_t)f->door_count +
                2 * (size_t)f->fan_count + 1;

  m->variants = ARENA_ARRAY(&m->arena, struct fault_variant, most);
  BUG_IF(!m->variants);
  for (int i = 0; i < f->door_count; i++)
    add(m, FAULT_DOOR_OPEN, i, 1, -1);
  for (int i = 0; i < f->station_count; i++)
    list_station(m, i);
  for (int i = 0; i < f->input_count; i++)
    list_figure(m, i);
  for (int i = 0; i < f->fan_count; i++)
    if (f->fans[i].count > 1 && f->fans[i].holds && !f->fans[i].open_when_stopped) {
      add(m, FAULT_BACK_DRAUGHT, i, 4, -1); /* times the resistance of open_path */
      add(m, FAULT_BACK_DRAUGHT, i, 1, -1);
    }
}

/* ---- putting one in ---- */

static void ask(struct scene *scene, int station, double ask_m3_s)
{
  scene->stations[station].has_ask = true;
  scene->stations[station].ask_m3_s = ask_m3_s;
}

static bool put_sash(const struct facility_station *s, int i, double size_ratio,
                     struct scene *scene)
{
  bool raised = scene->stations[i].raised;
  bool up = size_ratio > 0;

  if (raised == up) /* it reads what it would do */
    return false;
  ask(scene, i, facility_station_rule_m3_s(s, up, up ? s->work_m : s->parked_m));
  return true;
}

static double station_flow_m3_s(const struct fault_model *m, const struct scene *scene, int station)
{
  return scene_station_ask_m3_s(m->facility, scene, station);
}

bool fault_put(const struct fault_model *m, const struct fault_variant *v,
               const struct fault_expected *e, struct scene *scene)
{
  const struct facility *f = m->facility;
  int i = v->index;

  switch ((int)v->kind) {
  case FAULT_DOOR_OPEN:
    if (scene->door_open[i])
      return false;
    scene->door_open[i] = v->input < 0;
    return true;
  case FAULT_BLOCKED_SASH:
  case FAULT_STUCK_SASH:
    return put_sash(&f->stations[i], i, v->size_ratio, scene);
  case FAULT_COVERED_DECK:
    scene->stations[i].cover_ratio = fmax(scene->stations[i].cover_ratio, v->size_ratio);
    return true;
  case FAULT_DRIFTING_VALVE:
    ask(scene, i, station_flow_m3_s(m, &e->scene, i) * (1 + v->size_ratio));
    return true;
  case FAULT_BACK_DRAUGHT:
    return scene->fan_running[i] > 0 && scene->fan_running[i] < f->fans[i].count;
  default:
    return true; /* in the figures, not in the scene */
  }
}

/* A copy whose fan leaves the path through a stopped unit open: at half of the flow a unit reaches it
 * takes a third of its highest rise. */
static const struct facility *open_path(struct fault_model *m, struct fault_variant *v)
{
  const struct facility *f = m->facility;
  struct facility *copy = ARENA_NEW(&m->arena, struct facility);
  struct facility_fan *fans = ARENA_ARRAY(&m->arena, struct facility_fan, (size_t)f->fan_count);
  const struct facility_fan *fan = &f->fans[v->index];
  bool table = fan->curve == FACILITY_CURVE_TABLE;
  double most_m3_s, rise_Pa = table ? fan->rise_Pa[0] : fan->a_Pa;

  BUG_IF(!copy || !fans);
  most_m3_s = table ? fan->flow_m3_s[fan->point_count - 1] : sqrt(fan->a_Pa / fan->b_Pa_s2_m6);
  *copy = *f;
  for (int i = 0; i < f->fan_count; i++)
    fans[i] = f->fans[i];
  fans[v->index].open_when_stopped = true;
  fans[v->index].stopped = (struct facility_resistance){
      .form = FACILITY_LUMPED,
      .lumped_Pa_s2_m6 = v->size_ratio * rise_Pa / 3 / (most_m3_s * most_m3_s / 4)};
  copy->fans = fans;
  v->changed = copy;
  return copy;
}

struct air *fault_variant_air(struct fault_model *m, struct fault_variant *v)
{
  struct err err = {0};

  if (v->input < 0 && v->kind != FAULT_BACK_DRAUGHT)
    return m->air;
  if (v->air)
    return v->air;
  if (v->kind == FAULT_BACK_DRAUGHT) {
    v->air = air_new(open_path(m, v), &err);
    return v->air;
  }

  const struct facility_input *in = &m->facility->inputs[v->input];
  struct facility_moved *moved = facility_moved_new(m->facility, &m->arena);

  facility_move(moved, v->input, (v->size_ratio - 1) * in->value_si / in->plus_minus_si);
  v->air = air_new(facility_moved_as(moved), &err);
  return v->air;
}
