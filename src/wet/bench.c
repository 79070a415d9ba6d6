#include "wet/wet_impl.h"

#include <math.h>
#include <string.h>

/* What is measured at a wet bench, and what it comes to. */

const char *wet_need_key(enum wet_need need)
{
  static const char *const keys[] = {"quiet", "unseen", "not_known", "call"};

  return keys[need];
}

/* ---- what a point says ---- */

void wet_see(struct wet_place *place, const struct feeds *feeds, const struct watch_belief *belief,
             struct arena *arena)
{
  size_t points = (size_t)feeds->point_count, stations = (size_t)place->facility->station_count;
  struct watch_input *inputs = ARENA_ARRAY(arena, struct watch_input, points + 1);
  struct watch_station *list = ARENA_ARRAY(arena, struct watch_station, stations + 1);

  BUG_IF(!inputs || !list);
  memcpy(inputs, belief->inputs, points * sizeof *inputs);
  memcpy(list, belief->stations, stations * sizeof *list);
  place->feeds = feeds;
  place->inputs = inputs;
  place->stations = list;
}

static const char *silence(const struct watch_input *input, const char *point, struct arena *arena)
{
  switch (input->age) {
  case WATCH_OLD:
    return arena_printf(arena, "%s is too old: %s", point, wet_span(input->age_s, arena));
  case WATCH_NEVER:
    return arena_printf(arena, "%s has said nothing yet", point);
  case WATCH_FROZEN:
    return arena_printf(arena, "%s has not moved for too long", point);
  case WATCH_BAD:
  case WATCH_FRESH:
  default:
    return arena_printf(arena, "%s is %s", point, feed_quality_name(input->newest.quality));
  }
}

static struct wet_reading reading_at(const struct wet_place *place, int at, struct arena *arena)
{
  const struct watch_input *input = &place->inputs[at];
  struct wet_reading out = {.point = place->feeds->points[at].part.id,
                            .is_known = input->age == WATCH_FRESH,
                            .si = input->newest.si,
                            .age_s = input->age_s};

  if (!out.is_known) {
    out.si = (double)NAN;
    out.why = silence(input, out.point, arena);
  }
  return out;
}

struct wet_reading wet_reading_of(const struct wet_place *place, const struct chemicals_seen *seen,
                                  struct arena *arena)
{
  struct wet_reading none = {.point = seen->by, .si = (double)NAN, .age_s = (double)NAN};
  int at =
      place->feeds && place->inputs && seen->by ? feeds_point_find(place->feeds, seen->by) : -1;

  if (at >= 0)
    return reading_at(place, at, arena);
  none.why = !seen->by ? "no point sees it"
                       : arena_printf(arena, "nothing is measured here: %s is not heard", seen->by);
  return none;
}

/* ---- a tank ---- */

const struct chemicals_heater *wet_heater_of(const struct wet_place *place,
                                             const struct wet_tank *tank)
{
  const struct chemicals *own = place->own;

  for (int i = 0; own && i < own->heater_count; i++)
    if (&own->tanks[own->heaters[i].tank] == tank->tank)
      return &own->heaters[i];
  return NULL;
}

double wet_temperature_K(const struct wet_place *place, const struct wet_tank *tank,
                         const char **says_out, struct arena *arena)
{
  const struct chemicals_heater *heater = wet_heater_of(place, tank);
  const struct chemicals_seen unseen = {0};
  struct wet_reading now = wet_reading_of(place, heater ? &heater->temperature : &unseen, arena);
  const struct wet_told *told = tank->temperature;
  double age_s = told ? (double)(place->now_ms - told->t_ms) * 1e-3 : 0;

  if (now.is_known) {
    *says_out =
        arena_printf(arena, "%s by %s", wet_quantity(now.si, UNITS_TEMPERATURE, arena), now.point);
    return now.si;
  }
  if (told && age_s <= tank->tank->every_s) { /* not set: nobody says how long it counts */
    *says_out = arena_printf(arena, "%s, read %s ago",
                             wet_quantity(told->temperature_K, UNITS_TEMPERATURE, arena),
                             wet_span(age_s, arena));
    return told->temperature_K;
  }
  *says_out = told        ? arena_printf(arena, "its temperature is not known: read %s ago%s",
                                         wet_span(age_s, arena),
                                  isnan(tank->tank->every_s)
                                             ? ", and the file does not say how long that counts"
                                             : "")
              : now.point ? arena_printf(arena, "its temperature is not known: %s", now.why)
                          : "its temperature is not known";
  return (double)NAN;
}

int wet_holds(const struct wet_place *place, const struct wet_tank *tank,
              const char *what[1 + WET_LINES_MOST], struct arena *arena)
{
  int count = 0;

  if (!tank->made || !tank->made->bath || tank->made->act != WET_MADE)
    return 0;
  what[count++] = tank->made->bath;
  for (int i = 0; i < tank->topped_count; i++)
    if (!wet_is_part(place, tank->made->bath, tank->topped[i], arena))
      what[count++] = tank->topped[i];
  return count;
}

/* ---- its deck ---- */

static struct wet_deck deck_of(const struct wet_place *place, int station, struct arena *arena)
{
  const struct facility_station *s = &place->facility->stations[station];
  struct wet_deck out = {.least_m3_s = s->deck_least_m3_s, .flow_m3_s = (double)NAN};
  const char *least = isnan(out.least_m3_s) ? "" : wet_quantity(out.least_m3_s, UNITS_FLOW, arena);
  bool has_point = false;

  for (int i = 0; place->feeds && i < place->feeds->point_count; i++)
    has_point |=
        place->feeds->points[i].what == FEEDS_DECK_FLOW && place->feeds->points[i].index == station;
  if (place->stations && place->stations[station].has_deck_flow)
    out.flow_m3_s = place->stations[station].deck_flow_m3_s;
  if (isnan(out.least_m3_s))
    return out;
  if (isnan(out.flow_m3_s)) {
    out.need = has_point ? WET_SILENT : WET_UNSEEN;
    out.says = arena_printf(
        arena, "its deck must draw %s at all times (%s), and %s", least, s->deck_least_source,
        has_point ? "what it draws is not known" : "no point sees what it draws");
  } else if (out.flow_m3_s < out.least_m3_s) {
    out.need = WET_CALL;
    out.says = arena_printf(
        arena,
        "its deck draws %s, and must draw %s at all times (%s): the bench's own fault, "
        "no lack of shared air. Start nothing there, stop what gives vapour",
        wet_quantity(out.flow_m3_s, UNITS_FLOW, arena), least, s->deck_least_source);
  } else
    out.says =
        arena_printf(arena, "its deck draws %s, at all times at least %s (%s)",
                     wet_quantity(out.flow_m3_s, UNITS_FLOW, arena), least, s->deck_least_source);
  return out;
}

/* What stands there, and how hot: for who has to leave it or to come. */
static void standing(const struct wet_baths *baths, struct wet_bench *bench, struct arena *arena)
{
  const struct wet_place *place = baths->place;
  const char *says;

  for (int i = 0; i < baths->count; i++) {
    const struct wet_tank *t = &baths->tanks[i];

    if (t->tank->station != bench->station || t->state == WET_EMPTY)
      continue;
    if (!t->made) {
      wet_line(&bench->standing,
               arena_printf(arena, "%s: what stands there is not known", t->tank->part.id));
      continue;
    }
    double now_K = wet_temperature_K(place, t, &says, arena);

    wet_line(&bench->standing,
             arena_printf(
                 arena, "%s: %s, %s%s", t->tank->part.id, t->bath, says,
                 isnan(now_K) && !isnan(t->tank->temperature_K)
                     ? arena_printf(arena, "; it is used at %s",
                                    wet_quantity(t->tank->temperature_K, UNITS_TEMPERATURE, arena))
                     : ""));
  }
}

/* ---- a bench ---- */

static void need(struct wet_bench *bench, enum wet_need how, const char *why)
{
  struct wet_lines before = bench->reasons;

  if (how == WET_QUIET || !why)
    return;
  if (how > bench->need) { /* the worst stands first */
    bench->need = how;
    bench->reasons.count = 0;
    wet_line(&bench->reasons, why);
    for (int i = 0; i < before.count; i++)
      wet_line(&bench->reasons, before.line[i]);
  } else
    wet_line(&bench->reasons, why);
}

static void take_heaters(const struct wet_baths *baths, struct wet_bench *bench,
                         struct arena *arena)
{
  const struct chemicals *own = baths->place->own;
  struct wet_heater *list = ARENA_ARRAY(arena, struct wet_heater, (size_t)own->heater_count + 1);

  BUG_IF(!list);
  for (int i = 0; i < own->heater_count; i++)
    if (own->tanks[own->heaters[i].tank].station == bench->station) {
      struct wet_heater *h = &list[bench->heater_count++];

      *h = wet_one_heater(baths, &own->heaters[i], arena);
      need(bench, h->need,
           arena_printf(arena, "heater %s of %s: %s", h->heater->part.id, h->tank->tank->part.id,
                        h->says));
    }
  bench->heaters = list;
}

static void take_trays(const struct wet_baths *baths, struct wet_bench *bench, struct arena *arena)
{
  const struct chemicals *own = baths->place->own;
  struct wet_tray *list = ARENA_ARRAY(arena, struct wet_tray, (size_t)own->tray_count + 1);

  BUG_IF(!list);
  for (int i = 0; i < own->tray_count; i++)
    if (own->trays[i].station == bench->station) {
      struct wet_tray *t = &list[bench->tray_count++];

      *t = wet_one_tray(baths, &own->trays[i], arena);
      need(bench, t->need, arena_printf(arena, "leak tray %s: %s", t->tray->part.id, t->says));
    }
  bench->trays = list;
}

static void take_water(const struct wet_baths *baths, struct wet_bench *bench, struct arena *arena)
{
  const struct chemicals *own = baths->place->own;
  struct wet_rinse *rinses = ARENA_ARRAY(arena, struct wet_rinse, (size_t)own->rinse_count + 1);
  const struct chemicals_drain **drains =
      ARENA_ARRAY(arena, const struct chemicals_drain *, (size_t)own->drain_count + 1);

  BUG_IF(!rinses || !drains);
  for (int i = 0; i < own->rinse_count; i++)
    if (own->rinses[i].station == bench->station)
      rinses[bench->rinse_count++] = wet_one_rinse(baths->place, &own->rinses[i], arena);
  for (int i = 0; i < own->drain_count; i++)
    if (own->drains[i].station == bench->station)
      drains[bench->drain_count++] = &own->drains[i];
  bench->rinses = rinses;
  bench->drains = drains;
}

static struct wet_bench bench_at(const struct wet_baths *baths, int station, struct arena *arena)
{
  struct wet_bench bench = {.station = station};

  if (baths->place->own) {
    take_trays(baths, &bench, arena); /* a leak first: nobody goes near */
    take_heaters(baths, &bench, arena);
    take_water(baths, &bench, arena);
  }
  bench.deck = deck_of(baths->place, station, arena);
  need(&bench, bench.deck.need, bench.deck.says);
  standing(baths, &bench, arena);
  return bench;
}

static bool has_anything(const struct wet_bench *b)
{
  return !isnan(b->deck.least_m3_s) ||
         b->heater_count + b->tray_count + b->rinse_count + b->drain_count > 0;
}

struct wet_benches *wet_benches(const struct wet_baths *baths, struct arena *arena)
{
  int stations = baths->place->facility->station_count;
  struct wet_benches *out = ARENA_NEW(arena, struct wet_benches);
  struct wet_bench *list = ARENA_ARRAY(arena, struct wet_bench, (size_t)stations + 1);

  BUG_IF(!out || !list);
  *out = (struct wet_benches){.baths = baths, .list = list};
  for (int i = 0; i < stations; i++) {
    list[out->count] = bench_at(baths, i, arena);
    if (!has_anything(&list[out->count]))
      continue;
    if (list[out->count].need > out->need)
      out->need = list[out->count].need;
    out->count++;
  }
  return out;
}

const struct wet_bench *wet_bench_of(const struct wet_benches *benches, int station)
{
  for (int i = 0; i < benches->count; i++)
    if (benches->list[i].station == station)
      return &benches->list[i];
  return NULL;
}

const char *wet_bench_line(const struct wet_bench *bench, struct arena *arena)
{
  static const char *const heads[] = {"", "NOT SEEN", "NOT KNOWN", "CALL"};

  if (!bench || bench->reasons.count == 0)
    return NULL;
  return arena_printf(arena, "%s: %s", heads[bench->need], bench->reasons.line[0]);
}
