#include "facility/facility.h"

#include "units/units.h"

#include <math.h>
#include <string.h>

/* ---- making and copying ---- */

static struct scene scene_room(const struct facility *facility, struct arena *arena)
{
  return (struct scene){
      .stations = ARENA_ARRAY(arena, struct scene_station, (size_t)facility->station_count + 1),
      .door_open = ARENA_ARRAY(arena, bool, (size_t)facility->door_count + 1),
      .fan_running = ARENA_ARRAY(arena, int, (size_t)facility->fan_count + 1),
      .fan_units = ARENA_ARRAY(arena, uint64_t, (size_t)facility->fan_count + 1),
      .supply_off = ARENA_ARRAY(arena, bool, (size_t)facility->supply_count + 1),
      .duct_shut = ARENA_ARRAY(arena, bool, (size_t)facility->duct_count + 1),
  };
}

static bool has_room(const struct scene *scene)
{
  return scene->stations && scene->door_open && scene->fan_running && scene->fan_units &&
         scene->supply_off && scene->duct_shut;
}

static uint64_t unit_bits(int count)
{
  return count >= 64 ? UINT64_MAX : ((uint64_t)1 << count) - 1;
}

void scene_run_unit(const struct facility *facility, struct scene *scene, int fan, int unit,
                    bool run)
{
  int count = facility->fans[fan].count;
  uint64_t bits = unit < 0 ? unit_bits(count) : (uint64_t)1 << unit;

  BUG_IF(unit >= count);
  if (run)
    scene->fan_units[fan] |= bits;
  else
    scene->fan_units[fan] &= ~bits;
  scene->fan_running[fan] = __builtin_popcountll(scene->fan_units[fan]);
}

struct scene scene_parked(const struct facility *facility, struct arena *arena)
{
  struct scene scene = scene_room(facility, arena);

  if (!has_room(&scene)) /* the arena's limit: the reader reports it */
    return (struct scene){0};
  scene.name = "as parked";
  for (int i = 0; i < facility->station_count; i++)
    scene.stations[i].opening_m = facility->stations[i].parked_m;
  for (int i = 0; i < facility->fan_count; i++) /* the first ones run, the rest are spare */
    for (int unit = 0; unit < facility->fans[i].running; unit++)
      scene_run_unit(facility, &scene, i, unit, true);
  for (int i = 0; i < facility->duct_count; i++)
    scene.duct_shut[i] = facility->ducts[i].shut;
  return scene;
}

void scene_assign(const struct facility *facility, struct scene *to, const struct scene *from)
{
  const struct scene room = *to;

  *to = *from;
  to->stations = room.stations;
  to->door_open = room.door_open;
  to->fan_running = room.fan_running;
  to->fan_units = room.fan_units;
  to->supply_off = room.supply_off;
  to->duct_shut = room.duct_shut;
  memcpy(to->stations, from->stations, (size_t)facility->station_count * sizeof *to->stations);
  memcpy(to->door_open, from->door_open, (size_t)facility->door_count * sizeof *to->door_open);
  memcpy(to->fan_running, from->fan_running, (size_t)facility->fan_count * sizeof *to->fan_running);
  memcpy(to->fan_units, from->fan_units, (size_t)facility->fan_count * sizeof *to->fan_units);
  memcpy(to->supply_off, from->supply_off, (size_t)facility->supply_count * sizeof *to->supply_off);
  memcpy(to->duct_shut, from->duct_shut, (size_t)facility->duct_count * sizeof *to->duct_shut);
}

struct scene scene_copy(const struct facility *facility, const struct scene *from,
                        struct arena *arena)
{
  struct scene scene = scene_room(facility, arena);

  if (!has_room(&scene))
    return (struct scene){0};
  scene_assign(facility, &scene, from);
  return scene;
}

const struct scene *scene_find(const struct facility *facility, const char *name)
{
  for (int i = 0; i < facility->scene_count; i++)
    if (strcmp(facility->scenes[i].name, name) == 0)
      return &facility->scenes[i];
  return NULL;
}

/* ---- what a station asks ---- */

bool scene_station_opening_m(const struct facility *facility, const struct scene *scene,
                             int station, double *opening_out_m)
{
  const struct facility_station *s = &facility->stations[station];

  if (!s->has_openings)
    return false;
  *opening_out_m =
      scene->stations[station].raised ? scene->stations[station].opening_m : s->parked_m;
  return true;
}

double facility_station_rule_m3_s(const struct facility_station *s, bool raised, double opening_m)
{
  switch (s->flow) {
  case FACILITY_CONSTANT:
    return s->work_m3_s;
  case FACILITY_TWO_STATE:
    return raised ? s->work_m3_s : s->parked_m3_s;
  case FACILITY_FOLLOWS_OPENING:
    return fmin(s->most_m3_s,
                fmax(s->least_m3_s, s->velocity_m_s * s->width_m * opening_m + s->bypass_m3_s));
  case FACILITY_PASSIVE:
    break;
  }
  return 0.0;
}

double scene_station_ask_m3_s(const struct facility *facility, const struct scene *scene,
                              int station)
{
  const struct facility_station *s = &facility->stations[station];
  const struct scene_station *now = &scene->stations[station];
  double opening_m = 0.0;

  if (!s->in_service)
    return 0.0;
  if (now->has_ask)
    return now->ask_m3_s;
  scene_station_opening_m(facility, scene, station, &opening_m);
  /* a blocked sash cannot come down, so a two-state valve stays at work */
  return facility_station_rule_m3_s(s, now->raised || now->blocked, opening_m);
}

/* ---- one change in words ---- */

/* Splits "S3=0.45m" into id and value; false when there is no '='. */
static bool split(const char *argument, char *id, size_t id_size, const char **value_out)
{
  const char *equals = strchr(argument, '=');
  size_t length = equals ? (size_t)(equals - argument) : 0;

  if (!equals || length >= id_size)
    return false;
  memcpy(id, argument, length);
  id[length] = '\0';
  *value_out = equals + 1;
  return true;
}

enum { ID_SIZE = 64 };

static enum err_code no_such(struct err *err, const char *kind, const char *id, const char *first)
{
  return err_set(err, ERR_INPUT, "no %s '%.40s' in this suite%s%.40s", kind, id,
                 first ? "; the first is " : "; it has none", first ? first : "");
}

enum err_code scene_named(const struct facility *facility, const char *name,
                          const struct scene **scene_out, struct err *err)
{
  const struct scene *found = scene_find(facility, name);

  if (!found)
    return no_such(err, "scene", name, facility->scene_count ? facility->scenes[0].name : NULL);
  *scene_out = found;
  return ERR_OK;
}

static enum err_code no_station(const struct facility *f, const char *id, struct err *err)
{
  return no_such(err, "station", id, f->station_count ? f->stations[0].part.id : NULL);
}

/* Reads "0.45m" against the station's own travel. */
static enum err_code opening_value(const struct facility_station *s, const char *value,
                                   double *opening_out_m, struct err *err)
{
  struct units_quantity q;
  enum err_code code;

  if (!s->has_openings)
    return err_set(err, ERR_INPUT, "%s has no opening in the file; say %s=work or %s=parked",
                   s->part.id, s->part.id, s->part.id);
  code = units_parse(value, UNITS_LENGTH, UNITS_NOTHING, &q, err);
  if (code != ERR_OK) {
    err_prefix(err, "sash %s: ", s->part.id);
    return code;
  }
  if (q.si < 0.0 || q.si > s->most_m + 1e-9)
    return err_set(err, ERR_INPUT, "sash %s: %.4g m is outside its travel, 0 m to %.4g m",
                   s->part.id, q.si, s->most_m);
  *opening_out_m = q.si;
  return ERR_OK;
}

static enum err_code move_sash(const struct facility *f, struct scene *scene, int station,
                               const char *value, struct err *err)
{
  const struct facility_station *s = &f->stations[station];
  struct scene_station *now = &scene->stations[station];
  double opening_m = 0.0;

  if (strcmp(value, "parked") == 0) {
    now->raised = false;
    now->opening_m = s->parked_m;
  } else if (strcmp(value, "work") == 0) {
    now->raised = true;
    now->opening_m = s->work_m;
  } else {
    enum err_code code = opening_value(s, value, &opening_m, err);

    if (code != ERR_OK)
      return code;
    now->raised = opening_m > s->parked_m;
    now->opening_m = opening_m;
  }
  now->has_ask = false;
  now->has_measured = false; /* a measurement belongs to the opening it was taken at */
  return ERR_OK;
}

static enum err_code change_sash(const struct facility *f, struct scene *scene,
                                 const char *argument, struct err *err)
{
  char id[ID_SIZE];
  const char *value;

  if (!split(argument, id, sizeof id, &value))
    return err_set(err, ERR_INPUT, "sash wants ID=0.45m, ID=work or ID=parked, not '%.40s'",
                   argument);
  int station = facility_station_find(f, id);

  return station < 0 ? no_station(f, id, err) : move_sash(f, scene, station, value, err);
}

static enum err_code change_all(const struct facility *f, struct scene *scene, const char *argument,
                                struct err *err)
{
  if (strcmp(argument, "work") != 0 && strcmp(argument, "parked") != 0)
    return err_set(err, ERR_INPUT, "all wants 'work' or 'parked', not '%.40s'", argument);
  for (int i = 0; i < f->station_count; i++) {
    enum err_code code = move_sash(f, scene, i, argument, err);

    if (code != ERR_OK)
      return code;
  }
  return ERR_OK;
}

static enum err_code change_door(const struct facility *f, struct scene *scene,
                                 const char *argument, struct err *err)
{
  char id[ID_SIZE];
  const char *value;

  if (!split(argument, id, sizeof id, &value) ||
      (strcmp(value, "open") != 0 && strcmp(value, "closed") != 0))
    return err_set(err, ERR_INPUT, "door wants ID=open or ID=closed, not '%.40s'", argument);
  int door = facility_door_find(f, id);

  if (door < 0)
    return no_such(err, "door", id, f->door_count ? f->doors[0].part.id : NULL);
  scene->door_open[door] = strcmp(value, "open") == 0;
  return ERR_OK;
}

/* Fans stop whole ("EF1") or a unit at a time ("EF1/2"); make-up units whole. */
static enum err_code change_running(const struct facility *f, struct scene *scene,
                                    const char *argument, bool off, struct err *err)
{
  int unit = -1;
  int fan = facility_fan_find(f, argument, &unit);
  int supply = facility_supply_find(f, argument);

  if (fan >= 0) {
    scene_run_unit(f, scene, fan, unit, !off);
    return ERR_OK;
  }
  if (supply >= 0) {
    scene->supply_off[supply] = off;
    return ERR_OK;
  }
  return no_such(err, "fan or make-up unit", argument,
                 f->fan_count ? f->fans[0].part.id
                              : (f->supply_count ? f->supplies[0].part.id : NULL));
}

static enum err_code change_off(const struct facility *f, struct scene *scene, const char *argument,
                                struct err *err)
{
  return change_running(f, scene, argument, true, err);
}

static enum err_code change_on(const struct facility *f, struct scene *scene, const char *argument,
                               struct err *err)
{
  return change_running(f, scene, argument, false, err);
}

static enum err_code change_cover(const struct facility *f, struct scene *scene,
                                  const char *argument, struct err *err)
{
  struct units_quantity q;
  char id[ID_SIZE];
  const char *value;
  enum err_code code;

  if (!split(argument, id, sizeof id, &value))
    return err_set(err, ERR_INPUT, "cover wants ID=40%%, not '%.40s'", argument);
  int station = facility_station_find(f, id);

  if (station < 0)
    return no_station(f, id, err);
  code = units_parse(value, UNITS_SHARE, UNITS_NOTHING, &q, err);
  if (code != ERR_OK)
    return code;
  if (q.si < 0.0 || q.si > 1.0)
    return err_set(err, ERR_INPUT, "cover %s: 0 %% to 100 %%, not %.4g %%", id, q.si * 100.0);
  if (f->stations[station].deck_share_ratio <= 0.0)
    return err_set(err, ERR_INPUT, "cover %s: this station has no deck in the file", id);
  scene->stations[station].cover_ratio = q.si;
  return ERR_OK;
}

static enum err_code change_shut(const struct facility *f, struct scene *scene,
                                 const char *argument, struct err *err)
{
  int duct = facility_duct_find(f, argument);

  if (duct < 0)
    return no_such(err, "duct", argument, f->duct_count ? f->ducts[0].part.id : NULL);
  scene->duct_shut[duct] = true;
  return ERR_OK;
}

static enum err_code change_was(const struct facility *f, struct scene *scene, const char *argument,
                                struct err *err)
{
  static const struct {
    const char *word;
    enum facility_level level;
  } words[] = {{"ample", FACILITY_AMPLE},
               {"near-limit", FACILITY_NEAR_LIMIT},
               {"short", FACILITY_SHORT},
               {"not-known", FACILITY_NOT_KNOWN}};

  (void)f;
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcmp(argument, words[i].word) == 0) {
      scene->was = words[i].level;
      scene->has_was = true;
      return ERR_OK;
    }
  return err_set(err, ERR_INPUT, "was wants ample, near-limit, short or not-known, not '%.40s'",
                 argument);
}

/* Stations marked as the people there would say it: "unattended S2". */
static enum err_code change_unattended(const struct facility *f, struct scene *scene,
                                       const char *argument, struct err *err)
{
  int station = facility_station_find(f, argument);

  if (station < 0)
    return no_station(f, argument, err);
  scene->stations[station].unattended = true;
  return ERR_OK;
}

static enum err_code change_blocked(const struct facility *f, struct scene *scene,
                                    const char *argument, struct err *err)
{
  int station = facility_station_find(f, argument);

  if (station < 0)
    return no_station(f, argument, err);
  scene->stations[station].blocked = true;
  return ERR_OK;
}

static const struct change {
  struct scene_change_word word;
  enum err_code (*make)(const struct facility *, struct scene *, const char *, struct err *);
} changes[] = {
    {{"sash", "S3=0.45m", "Moves a sash: ID=opening, ID=work or ID=parked."}, change_sash},
    {{"all", "work", "Moves every sash: work or parked."}, change_all},
    {{"door", "D2=open", "Opens or closes a door: ID=open or ID=closed."}, change_door},
    {{"off", "EF1", "Stops a fan group, one fan unit (EF1/2) or a make-up unit."}, change_off},
    {{"on", "EF1", "Starts a fan group, one fan unit (EF1/2) or a make-up unit."}, change_on},
    {{"cover", "B1=40%",
      "Covers a share of a deck: ID=share. Imagined only: no deck is to be covered."},
     change_cover},
    {{"shut", "A5", "Shuts a duct."}, change_shut},
    {{"was", "near-limit",
      "The level before, for a suite that declares where levels begin and end."},
     change_was},
    {{"unattended", "S2", "Nobody stands at this station."}, change_unattended},
    {{"blocked", "S2", "Something stands under this sash: it cannot come down."}, change_blocked},
};

enum { CHANGE_COUNT = sizeof changes / sizeof *changes };

static const struct change *find_change(const char *verb)
{
  for (int i = 0; i < CHANGE_COUNT; i++)
    if (strcmp(verb, changes[i].word.verb) == 0)
      return &changes[i];
  return NULL;
}

bool scene_is_change(const char *verb)
{
  return find_change(verb) != NULL;
}

const struct scene_change_word *scene_change_word(int index)
{
  return index >= 0 && index < CHANGE_COUNT ? &changes[index].word : NULL;
}

void scene_list_changes(struct buf *out)
{
  for (int i = 0; i < CHANGE_COUNT; i++)
    buf_printf(out, "%s%s",
               i == 0                  ? ""
               : i == CHANGE_COUNT - 1 ? " or "
                                       : ", ",
               changes[i].word.verb);
}

static enum err_code no_change(const char *verb, struct err *err)
{
  struct buf words;

  buf_init(&words, 160);
  scene_list_changes(&words);
  err_set(err, ERR_INPUT, "unknown change '%.40s': %s", verb, words.text);
  buf_release(&words);
  return ERR_INPUT;
}

enum err_code scene_change(const struct facility *facility, struct scene *scene, const char *verb,
                           const char *argument, struct err *err)
{
  const struct change *change = find_change(verb);

  if (!change)
    return no_change(verb, err);
  enum err_code code = change->make(facility, scene, argument, err);

  scene->is_trial = scene->is_trial || (code == ERR_OK && change->make != change_was);
  return code;
}
