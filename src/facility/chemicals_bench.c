#include "facility/chemicals_impl.h"

#include <math.h>
#include <string.h>

/* Drains, rinse tanks, leak trays and heaters of the chemicals file. */

static const char *const route_words[] = {"pH treatment",       "fluoride treatment",
                                          "acid collection",    "base collection",
                                          "solvent collection", "house drain"};
static const char *const lockout_words[CHEMICALS_LOCKOUT_COUNT] = {
    "low level", "low exhaust", "over temperature", "lid open", "leak"};

const char *chemicals_route_words(enum chemicals_route route)
{
  return route_words[route];
}

const char *chemicals_lockout_words(enum chemicals_lockout lockout)
{
  return lockout_words[lockout];
}

static int number_of(const struct record *r, enum schema_key_id key, int otherwise)
{
  const struct value *value = record_given(r, key);

  return value ? value->number : otherwise;
}

static struct chemicals_seen seen_of(struct chemicals_build *b, const struct record *r,
                                     enum schema_key_id key)
{
  return (struct chemicals_seen){.by = chemicals_text(b, r, key), .place = chemicals_place(r, key)};
}

static const char *const *texts_of(struct chemicals_build *b, const struct record *r,
                                   enum schema_key_id key, int *count_out)
{
  return other_texts(&b->build, r, key, count_out);
}

struct chemicals_drain chemicals_one_drain(struct chemicals_build *b, const struct record *r)
{
  struct chemicals_drain drain = {
      .part = build_part(&b->build, r),
      .station = number_of(r, KEY_chemicals_drain_station, 0),
      .route = (enum chemicals_route)record_value(r, KEY_chemicals_drain_route)->number,
      .hottest_K = chemicals_si(r, KEY_chemicals_drain_hottest),
      .flash_least_K = chemicals_si(r, KEY_chemicals_drain_flash),
      .stands_s = chemicals_si(r, KEY_chemicals_drain_stands),
      .source = chemicals_text(b, r, KEY_chemicals_drain_source),
      .place = chemicals_place(r, KEY_chemicals_drain_takes),
  };

  drain.takes = texts_of(b, r, KEY_chemicals_drain_takes, &drain.take_count);
  drain.never = texts_of(b, r, KEY_chemicals_drain_never, &drain.never_count);
  drain.procedure = texts_of(b, r, KEY_chemicals_drain_by_procedure, &drain.procedure_count);
  if (drain.take_count == 0)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "a drain that takes nothing is none; name what may go down it");
  return drain;
}

struct chemicals_rinse chemicals_one_rinse(struct chemicals_build *b, const struct record *r)
{
  struct chemicals_rinse rinse = {
      .part = build_part(&b->build, r),
      .station = number_of(r, KEY_chemicals_rinse_station, 0),
      .drains_into = number_of(r, KEY_chemicals_rinse_drains_into, -1),
      .resistivity_ohm_m = chemicals_si(r, KEY_chemicals_rinse_resistivity),
      .dumps_least = number_of(r, KEY_chemicals_rinse_dumps, 0),
      .resistivity = seen_of(b, r, KEY_chemicals_rinse_resistivity_by),
      .dumps = seen_of(b, r, KEY_chemicals_rinse_dumps_by),
      .source = chemicals_text(b, r, KEY_chemicals_rinse_source),
  };

  if (isnan(rinse.resistivity_ohm_m) && rinse.dumps_least == 0)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "when is a wafer rinsed here? Give 'resistivity', 'dumps' or both");
  return rinse;
}

/* Those of one kind among what is above a tray. */
static const int *those_of(struct chemicals_build *b, const struct value *under, uint64_t kind,
                           int *count_out)
{
  int *list = ARENA_ARRAY(b->out->arena, int, (size_t)under->count + 1);

  BUG_IF(!list);
  *count_out = 0;
  for (int i = 0; i < under->count; i++)
    if (under->items[i].kind == kind)
      list[(*count_out)++] = under->items[i].number;
  return list;
}

struct chemicals_tray chemicals_one_tray(struct chemicals_build *b, const struct record *r)
{
  const struct value *under = record_value(r, KEY_chemicals_tray_under);
  struct chemicals_tray tray = {
      .part = build_part(&b->build, r),
      .station = number_of(r, KEY_chemicals_tray_station, 0),
      .seen = seen_of(b, r, KEY_chemicals_tray_seen),
      .looked_at = chemicals_text(b, r, KEY_chemicals_tray_looked),
      .tell = chemicals_text(b, r, KEY_chemicals_tray_tell),
      .source = chemicals_text(b, r, KEY_chemicals_tray_source),
      .also_place = chemicals_place(r, KEY_chemicals_tray_also),
  };

  tray.tanks = those_of(b, under, ID_TANK, &tray.tank_count);
  tray.rinses = those_of(b, under, ID_RINSE, &tray.rinse_count);
  tray.drains = those_of(b, under, ID_DRAIN, &tray.drain_count);
  tray.also = texts_of(b, r, KEY_chemicals_tray_also, &tray.also_count);
  if (!tray.seen.by && !tray.looked_at)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "no point sees a leak in it, and nobody is said to look: nobody would see it; "
                    "give 'seen by' or 'looked at by'");
  return tray;
}

/* ---- heaters ---- */

static void take_lockouts(struct chemicals_build *b, const struct record *r,
                          struct chemicals_heater *out)
{
  const struct value *list = record_value(r, KEY_chemicals_heater_locked);
  static const char all[] = "low level|low exhaust|over temperature|lid open|leak";

  for (int i = 0; i < list->count; i++) {
    int word = schema_word(all, list->items[i].text);

    if (word >= 0)
      out->locked_by[word] = true;
    else
      reader_complain(b->reader, r->who, list->items[i].tree->place, list->items[i].tree->width,
                      "'%s' is no condition here; there are: low level, low exhaust, over "
                      "temperature, lid open, leak",
                      tree_shown(b->reader->work, list->items[i].text));
  }
}

static void at_locked(struct chemicals_build *b, const struct record *r, const char *what)
{
  const struct value *list = record_value(r, KEY_chemicals_heater_locked);

  reader_complain(b->reader, r->who, list->tree ? list->tree->place : r->place,
                  list->tree ? list->tree->width : r->width, "%s", what);
}

static void check_heater(struct chemicals_build *b, const struct record *r,
                         const struct chemicals_heater *h)
{
  if (!h->locked_by[CHEMICALS_LOW_LEVEL] && !h->without_level)
    at_locked(
        b, r,
        "it heats a tank and is not locked out by low level: a tank that runs dry burns; name "
        "'low level', or say why none is needed with 'without low level'");
  if (h->locked_by[CHEMICALS_LOW_EXHAUST] && isnan(h->exhaust_m3_s))
    at_locked(b, r, "locked out by low exhaust: below which flow? Give 'exhaust'");
  if (h->locked_by[CHEMICALS_OVER_TEMPERATURE] && isnan(h->over_K))
    at_locked(b, r, "locked out by over temperature: above which? Give 'over'");
}

struct chemicals_heater chemicals_one_heater(struct chemicals_build *b, const struct record *r)
{
  struct chemicals_heater heater = {
      .part = build_part(&b->build, r),
      .tank = number_of(r, KEY_chemicals_heater_tank, 0),
      .level_m3 = chemicals_si(r, KEY_chemicals_heater_level),
      .exhaust_m3_s = chemicals_si(r, KEY_chemicals_heater_exhaust),
      .over_K = chemicals_si(r, KEY_chemicals_heater_over),
      .heats = seen_of(b, r, KEY_chemicals_heater_heats_by),
      .level = seen_of(b, r, KEY_chemicals_heater_level_by),
      .temperature = seen_of(b, r, KEY_chemicals_heater_temperature_by),
      .lid = seen_of(b, r, KEY_chemicals_heater_lid_by),
      .exhaust = seen_of(b, r, KEY_chemicals_heater_exhaust_by),
      .without_level = chemicals_text(b, r, KEY_chemicals_heater_without),
      .source = chemicals_text(b, r, KEY_chemicals_heater_source),
  };

  take_lockouts(b, r, &heater);
  check_heater(b, r, &heater);
  return heater;
}

/* ---- one against another ---- */

static const char *station_of(const struct chemicals_build *b, int station)
{
  return b->suite->stations[station].part.id;
}

static void check_drain_of(struct chemicals_build *b, const struct record *r,
                           enum schema_key_id key, int station, int drain)
{
  const struct value *at = record_given(r, key);
  int other = drain >= 0 ? b->out->drains[drain].station : station;

  if (other != station && at)
    reader_complain(b->reader, r->who, at->tree->place, at->tree->width,
                    "drain %s is of station %s, and this is of %s", b->out->drains[drain].part.id,
                    station_of(b, other), station_of(b, station));
}

static bool has_heater(const struct chemicals *c, int tank, int before)
{
  for (int i = 0; i < before; i++)
    if (c->heaters[i].tank == tank)
      return true;
  return false;
}

static int station_above(const struct chemicals *c, const struct value *above)
{
  return above->kind == ID_TANK    ? c->tanks[above->number].station
         : above->kind == ID_RINSE ? c->rinses[above->number].station
                                   : c->drains[above->number].station;
}

static void check_tray(struct chemicals_build *b, const struct record *r,
                       const struct chemicals_tray *tray)
{
  const struct value *under = record_value(r, KEY_chemicals_tray_under);

  for (int i = 0; i < under->count; i++) {
    int other = station_above(b->out, &under->items[i]);

    if (other != tray->station)
      reader_complain(b->reader, r->who, under->items[i].tree->place, under->items[i].tree->width,
                      "%s is of station %s, and this tray of %s", under->items[i].tree->text,
                      station_of(b, other), station_of(b, tray->station));
  }
}

static bool is_over_a_tray(const struct chemicals *c, int tank)
{
  for (int i = 0; i < c->tray_count; i++)
    for (int k = 0; k < c->trays[i].tank_count; k++)
      if (c->trays[i].tanks[k] == tank)
        return true;
  return false;
}

static void check_heater_of(struct chemicals_build *b, const struct record *r, int i)
{
  const struct chemicals_heater *h = &b->out->heaters[i];
  const struct chemicals_tank *tank = &b->out->tanks[h->tank];
  bool by_switch = h->level.by != NULL; /* it may be one: then it needs no figure */

  if (has_heater(b->out, h->tank, i))
    reader_complain(b->reader, r->who, r->place, r->width,
                    "another heater is of tank %s already; one of them says what locks it out",
                    tank->part.id);
  if (h->locked_by[CHEMICALS_LOW_LEVEL] && isnan(h->level_m3) && isnan(tank->least_m3) &&
      !by_switch)
    at_locked(b, r,
              "locked out by low level: below how much? Give 'level', the tank's 'least', or the "
              "switch that sees it");
  if (h->locked_by[CHEMICALS_LEAK] && !is_over_a_tray(b->out, h->tank))
    at_locked(b, r, "locked out by a leak, and its tank stands over no leak tray of this file");
}

void chemicals_check_benches(struct chemicals_build *b, const struct record *top)
{
  const struct chemicals *c = b->out;
  const struct value *tanks = record_value(top, KEY_chemicals_file_tanks);
  const struct value *rinses = record_value(top, KEY_chemicals_file_rinses);
  const struct value *trays = record_value(top, KEY_chemicals_file_trays);
  const struct value *heaters = record_value(top, KEY_chemicals_file_heaters);

  for (int i = 0; i < c->tank_count; i++)
    check_drain_of(b, tanks->records[i], KEY_chemicals_tank_drains_into, c->tanks[i].station,
                   c->tanks[i].drains_into);
  for (int i = 0; i < c->rinse_count; i++)
    check_drain_of(b, rinses->records[i], KEY_chemicals_rinse_drains_into, c->rinses[i].station,
                   c->rinses[i].drains_into);
  for (int i = 0; i < c->tray_count; i++)
    check_tray(b, trays->records[i], &c->trays[i]);
  for (int i = 0; i < c->heater_count; i++)
    check_heater_of(b, heaters->records[i], i);
}
