#include "wet/wet_impl.h"

#include "bath/bath.h"

#include <math.h>
#include <stdint.h>
#include <string.h>
#include <strings.h>

/* Names in the chemicals file that only the tables of baths and of what meets can check. */

static bool bath_fits(const struct bath_place *place, const struct chemicals_tank *tank,
                      struct complaints *complaints)
{
  const struct bath_request request = {
      .name = tank->bath, .has_volume = true, .volume_m3 = tank->volume_m3};
  struct arena arena; /* of one tank: what it takes is given back for the next */
  struct err err = {0};

  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  bool fits = bath_answer(place, &request, &arena, &err) != NULL;

  if (!fits)
    complaints_add(complaints, tank->place, (int)strlen(tank->bath), "tank %s: %s", tank->part.id,
                   err.text);
  arena_release(&arena);
  return fits;
}

static bool is_material(const struct meet_facts *facts, const char *material, struct arena *arena)
{
  const struct meet_part water = {"water", 1};
  int count;
  const struct meet_vessel *all = meet_vessels(facts, &water, 1, (double)NAN, &count, arena);

  for (int i = 0; i < count; i++)
    if (strcasecmp(all[i].id, material) == 0 || strcasecmp(all[i].name, material) == 0)
      return true;
  return false;
}

static bool stream_fits(const struct wet_place *place, const struct chemicals_stream *stream,
                        struct arena *arena, struct complaints *complaints)
{
  bool fits = is_material(place->meet, stream->material, arena);

  if (!fits)
    complaints_add(complaints, stream->material_place, (int)strlen(stream->material),
                   "waste stream %s: no material '%.40s' in the tables; `inward meet --help` lists "
                   "them: glass, pp, hdpe, stainless ...",
                   stream->part.id, stream->material);
  for (int i = 0; i < stream->take_count; i++) {
    const struct meet_thing *thing = wet_thing(place, stream->takes[i], arena);

    if (thing && thing->kind != MEET_NOT_KNOWN)
      continue;
    complaints_add(complaints, stream->place, 1,
                   "waste stream %s: it takes '%.40s', which no table here knows: nobody could say "
                   "what it meets; write a substance, bottle or bath",
                   stream->part.id, stream->takes[i]);
    fits = false;
  }
  return fits;
}

/* ---- drains ---- */

static bool takes_are_known(const struct wet_place *place, const struct chemicals_drain *drain,
                            struct arena *arena, struct complaints *complaints)
{
  bool fits = true;

  for (int i = 0; i < drain->take_count; i++) {
    const struct meet_thing *thing = wet_thing(place, drain->takes[i], arena);

    if (thing && thing->kind != MEET_NOT_KNOWN)
      continue;
    complaints_add(
        complaints, drain->place, 1,
        "drain %s: it takes '%.40s', which no table here knows: nobody could say what it "
        "meets; write a substance, bottle or bath",
        drain->part.id, drain->takes[i]);
    fits = false;
  }
  return fits;
}

/* The first that it takes of that deck family; NULL: none. */
static const char *one_of_family(const struct wet_place *place, const struct chemicals_drain *drain,
                                 const char *family, struct arena *arena)
{
  for (int i = 0; i < drain->take_count; i++) {
    const struct meet_thing *thing = wet_thing(place, drain->takes[i], arena);

    if (thing && wet_same(thing->deck_family, family))
      return drain->takes[i];
  }
  return NULL;
}

/* One route for both is none: what treats acids does not treat solvents, and in the pipe they meet. */
static bool drain_fits(const struct wet_place *place, const struct chemicals_drain *drain,
                       struct arena *arena, struct complaints *complaints)
{
  static const char *const others[] = {"acid", "piranha", "base"};
  const char *organic = one_of_family(place, drain, "organic", arena);
  bool fits = takes_are_known(place, drain, arena, complaints);

  for (size_t i = 0; organic && i < sizeof others / sizeof *others; i++) {
    const char *other = one_of_family(place, drain, others[i], arena);

    if (!other)
      continue;
    complaints_add(
        complaints, drain->place, 1,
        "drain %s takes %s and %s: acids and bases and solvents have no drain in common, "
        "they would meet in it; give one of them a drain or a container of its own",
        drain->part.id, other, organic);
    return false;
  }
  return fits;
}

/* ---- points of the feeds file ---- */

struct pointing {
  const struct facility *facility;
  const struct feeds *feeds;
  struct complaints *complaints;
  const char *who; /* "leak tray TR-1" */
  int station;
  bool fit;
};

static void point_fits(struct pointing *p, const struct chemicals_seen *seen, enum feeds_what what,
                       enum feeds_what or_what)
{
  const struct feeds_point *point;
  const char *why = NULL;
  struct arena arena;

  if (!seen->by)
    return;
  arena_init(&arena, SIZE_MAX); /* of one line */
  int at = p->feeds ? feeds_point_find(p->feeds, seen->by) : -1;

  point = at >= 0 ? &p->feeds->points[at] : NULL;
  if (!point)
    why = p->feeds ? "the feeds file has no such point" : "the suite names no feeds file";
  else if (point->what != what && point->what != or_what)
    why = arena_printf(&arena, "that point says '%s', and '%s' is needed here",
                       feeds_what_name(point->what), feeds_what_name(what));
  else if (point->of != FEEDS_OF_STATION || point->index != p->station)
    why = arena_printf(&arena, "that point is not of station %s",
                       p->facility->stations[p->station].part.id);
  if (why)
    complaints_add(p->complaints, seen->place, (int)strlen(seen->by), "%s: seen by '%.40s': %s",
                   p->who, seen->by, why);
  p->fit &= why == NULL;
  arena_release(&arena);
}

/* A measured level needs a figure to be low; its switch has one of its own. */
static void level_has_figure(struct pointing *p, const struct chemicals_heater *h,
                             const struct chemicals_tank *tank)
{
  int at = h->level.by && p->feeds ? feeds_point_find(p->feeds, h->level.by) : -1;

  if (at < 0 || p->feeds->points[at].what != FEEDS_LEVEL || !isnan(h->level_m3) ||
      !isnan(tank->least_m3))
    return;
  complaints_add(p->complaints, h->level.place, (int)strlen(h->level.by),
                 "%s: '%.40s' measures a level: below how much is it cut out? Give 'level', or the "
                 "tank's 'least'",
                 p->who, h->level.by);
  p->fit = false;
}

static void heater_points(struct pointing *p, const struct chemicals_heater *h,
                          const struct chemicals_tank *tank)
{
  level_has_figure(p, h, tank);
  point_fits(p, &h->heats, FEEDS_HEATING, FEEDS_HEATING);
  point_fits(p, &h->level, FEEDS_LEVEL, FEEDS_LOW_LEVEL);
  point_fits(p, &h->temperature, FEEDS_BATH_TEMPERATURE, FEEDS_BATH_TEMPERATURE);
  point_fits(p, &h->lid, FEEDS_LID_OPEN, FEEDS_LID_OPEN);
  point_fits(p, &h->exhaust, FEEDS_FLOW, FEEDS_DECK_FLOW);
}

static void point_of(struct pointing *p, const char *kind, const struct facility_part *part,
                     int station, struct arena *arena)
{
  p->who = arena_printf(arena, "%s %s", kind, part->id);
  p->station = station;
}

bool wet_points_fit(const struct facility *facility, const struct feeds *feeds,
                    const struct chemicals *own, struct complaints *complaints)
{
  struct pointing p = {.facility = facility, .feeds = feeds, .complaints = complaints, .fit = true};
  struct arena arena;

  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  for (int i = 0; i < own->rinse_count; i++) {
    point_of(&p, "rinse tank", &own->rinses[i].part, own->rinses[i].station, &arena);
    point_fits(&p, &own->rinses[i].resistivity, FEEDS_RESISTIVITY, FEEDS_RESISTIVITY);
    point_fits(&p, &own->rinses[i].dumps, FEEDS_DUMPS, FEEDS_DUMPS);
  }
  for (int i = 0; i < own->tray_count; i++) {
    point_of(&p, "leak tray", &own->trays[i].part, own->trays[i].station, &arena);
    point_fits(&p, &own->trays[i].seen, FEEDS_LEAK, FEEDS_LEAK);
  }
  for (int i = 0; i < own->heater_count; i++) {
    point_of(&p, "heater", &own->heaters[i].part, own->tanks[own->heaters[i].tank].station, &arena);
    heater_points(&p, &own->heaters[i], &own->tanks[own->heaters[i].tank]);
  }
  arena_release(&arena);
  complaints_sort(complaints);
  return p.fit;
}

bool wet_names_fit(const struct chem *chem, const struct chemicals *own,
                   struct complaints *complaints)
{
  const struct bath_place place = {.chem = chem, .own = own};
  struct arena arena;
  bool fit = true;

  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  for (int i = 0; i < own->tank_count; i++)
    fit &= bath_fits(&place, &own->tanks[i], complaints);
  if (own->stream_count + own->drain_count > 0) {
    const struct wet_place of = {.own = own, .chem = chem, .meet = meet_read(chem, &arena)};

    for (int i = 0; i < own->stream_count; i++)
      fit &= stream_fits(&of, &own->streams[i], &arena, complaints);
    for (int i = 0; i < own->drain_count; i++)
      fit &= drain_fits(&of, &own->drains[i], &arena, complaints);
  }
  complaints_sort(complaints);
  arena_release(&arena);
  return fit;
}

struct wet_place wet_place_of(const struct facility *facility, const struct chemicals *own,
                              const struct when_zone *zone, struct arena *arena)
{
  struct wet_place place = {.facility = facility,
                            .own = own,
                            .chem = chem_with(chem_read(arena), own, arena),
                            .zone = zone};

  place.meet = meet_read(place.chem, arena);
  return place;
}
