#include "wet/wet_impl.h"

#include "bath/bath.h"

#include <string.h>

/* Names in the chemicals file that only the tables of baths can check. */
bool wet_names_fit(const struct chem *chem, const struct chemicals *own,
                   struct complaints *complaints)
{
  const struct bath_place place = {.chem = chem, .own = own};
  struct arena arena;
  bool fit = true;

  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  for (int i = 0; i < own->tank_count; i++) {
    const struct chemicals_tank *tank = &own->tanks[i];
    const struct bath_request request = {
        .name = tank->bath, .has_volume = true, .volume_m3 = tank->volume_m3};
    struct err err = {0};

    if (bath_answer(&place, &request, &arena, &err))
      continue;
    complaints_add(complaints, tank->place, (int)strlen(tank->bath), "tank %s: %s", tank->part.id,
                   err.text);
    fit = false;
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
