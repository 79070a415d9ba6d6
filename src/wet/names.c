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

bool wet_names_fit(const struct chem *chem, const struct chemicals *own,
                   struct complaints *complaints)
{
  const struct bath_place place = {.chem = chem, .own = own};
  struct arena arena;
  bool fit = true;

  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  for (int i = 0; i < own->tank_count; i++)
    fit &= bath_fits(&place, &own->tanks[i], complaints);
  if (own->stream_count > 0) {
    const struct wet_place of = {.own = own, .chem = chem, .meet = meet_read(chem, &arena)};

    for (int i = 0; i < own->stream_count; i++)
      fit &= stream_fits(&of, &own->streams[i], &arena, complaints);
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
