#include "chem/chem.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char suite_text[] =
    "inward: 1 suite\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations: {A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}}\n";

static void must(bool promise)
{
  if (!promise)
    abort();
}

static struct arena kept; /* of what is the same for every input */

static const struct facility *facility(void)
{
  static struct facility *made;
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct complaints complaints;

  if (made)
    return made;
  arena_init(&kept, 64 << 20);
  complaints_init(&complaints, &kept);
  made = facility_read(&suite, NULL, 0, &complaints);
  must(made != NULL);
  return made;
}

static const struct chem *tables(void)
{
  static const struct chem *made;

  if (!made)
    made = chem_read(&kept);
  return made;
}

static void is_whole(const struct chemicals *own)
{
  for (int i = 0; i < own->procedure_count; i++) {
    const struct chemicals_procedure *p = &own->procedures[i];

    must(p->bath[0] && p->document[0] && p->most_m3 > 0 && p->peroxide_most_ratio >= 0);
    must(strcmp(p->approved, p->review) < 0);
    for (int k = 0; k < p->station_count; k++)
      must(p->stations[k] == 0);
  }
  for (int i = 0; i < own->bath_count; i++)
    must(own->baths[i].part_count > 0);
  for (int i = 0; i < own->tank_count; i++)
    must(own->tanks[i].station == 0 && own->tanks[i].bath[0] && own->tanks[i].volume_m3 > 0 &&
         !(own->tanks[i].least_m3 >= own->tanks[i].volume_m3));
  for (int i = 0; i < own->stream_count; i++)
    must(own->streams[i].take_count > 0 && (!own->streams[i].vented || own->streams[i].vented_by));
  for (int i = 0; i < own->store_count; i++)
    for (int k = 0; k < own->stores[i].amount_count; k++)
      must(own->stores[i].amounts[k].count > 0 && own->stores[i].amounts[k].volume_m3 > 0);
  for (int i = 0; i < own->limit_count; i++)
    must(isnan(own->limits[i].volume_ratio) != isnan(own->limits[i].mass_kg_m3));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  const struct facility *suite = facility();
  const struct chem *chem = tables();
  char *bytes = malloc(size ? size : 1);
  struct facility_text text = {"chemicals.yaml", bytes, size};
  struct complaints complaints;
  struct arena arena;
  struct chemicals *own;

  must(bytes != NULL);
  if (size > 0)
    memcpy(bytes, data, size);
  arena_init(&arena, 64 << 20);
  complaints_init(&complaints, &arena);
  own = chemicals_read(suite, &text, &complaints);
  must(own ? complaints.count == 0 : complaints.count > 0);
  if (own) {
    is_whole(own);
    if (chem_names_fit(chem, own, &complaints)) {
      const struct chem *both = chem_with(chem, own, &arena);

      must(both->stock_count >= chem->stock_count && complaints.count == 0);
    } else {
      must(complaints.count > 0);
    }
  }
  chemicals_free(own);
  arena_release(&arena);
  free(bytes);
  return 0;
}
