#include "facility/reader_impl.h"

static void raise(const struct facility *facility, struct scene *scene, int station, bool work)
{
  scene->stations[station].raised = work;
  scene->stations[station].opening_m =
      work ? facility->stations[station].work_m : facility->stations[station].parked_m;
}

static void openings(const struct facility *facility, struct scene *scene, const struct record *r)
{
  const struct value *openings = record_value(r, KEY_scene_openings);

  if (record_value(r, KEY_scene_all)->number == 1)
    for (int i = 0; i < facility->station_count; i++)
      if (facility->stations[i].in_service)
        raise(facility, scene, i, true);
  for (int i = 0; i < openings->count; i++) {
    const struct value *item = &openings->items[i];
    int station = item->key_number;

    if (item->number >= 0) {
      raise(facility, scene, station, item->number == 1);
      continue;
    }
    scene->stations[station].raised = item->si > facility->stations[station].parked_m;
    scene->stations[station].opening_m = item->si;
  }
}

/* The lists and maps of a scene that set one field of a station each. */
static void station_fields(struct build *b, struct scene *scene, const struct record *r)
{
  const struct value *unattended = record_value(r, KEY_scene_unattended);
  const struct value *blocked = record_value(r, KEY_scene_blocked);
  const struct value *withdrawn = record_value(r, KEY_scene_withdrawn);
  const struct value *needs = record_value(r, KEY_scene_needs_flow);
  const struct value *covered = record_value(r, KEY_scene_covered);
  const struct value *asks = record_value(r, KEY_scene_asks);
  const struct value *measured = record_value(r, KEY_scene_measured);

  for (int i = 0; i < unattended->count; i++)
    scene->stations[unattended->items[i].number].unattended = true;
  for (int i = 0; i < blocked->count; i++)
    scene->stations[blocked->items[i].number].blocked = true;
  for (int i = 0; i < withdrawn->count; i++)
    scene->stations[withdrawn->items[i].number].withdrawn = true;
  for (int i = 0; i < needs->count; i++)
    scene->stations[needs->items[i].key_number].needs_flow = build_text(b, needs->items[i].text);
  for (int i = 0; i < covered->count; i++)
    scene->stations[covered->items[i].key_number].cover_ratio = covered->items[i].si;
  for (int i = 0; i < asks->count; i++) {
    scene->stations[asks->items[i].key_number].has_ask = true;
    scene->stations[asks->items[i].key_number].ask_m3_s = asks->items[i].si;
  }
  for (int i = 0; i < measured->count; i++) {
    scene->stations[measured->items[i].key_number].has_measured = true;
    scene->stations[measured->items[i].key_number].measured_m3_s = measured->items[i].si;
  }
}

static void plant(const struct facility *facility, struct scene *scene, const struct record *r)
{
  const struct value *doors = record_value(r, KEY_scene_doors_open);
  const struct value *off = record_value(r, KEY_scene_off);
  const struct value *shut = record_value(r, KEY_scene_shut);

  for (int i = 0; i < doors->count; i++)
    scene->door_open[doors->items[i].number] = true;
  for (int i = 0; i < shut->count; i++)
    scene->duct_shut[shut->items[i].number] = true;
  for (int i = 0; i < off->count; i++) {
    const struct value *item = &off->items[i];

    if (item->kind == ID_SUPPLY)
      scene->supply_off[item->number] = true;
    else
      scene_run_unit(facility, scene, item->number, item->unit, false);
  }
}

void build_scenes(struct build *b, const struct value *from)
{
  struct facility *facility = b->facility;
  struct scene *out = ARENA_ARRAY(facility->arena, struct scene, (size_t)from->count + 1);

  BUG_IF(!out);
  facility->scenes = out;
  for (int i = 0; i < from->count && facility->arena->used <= b->limit; i++) {
    const struct record *r = from->records[i];
    const struct record *outdoors = record_inner(r, KEY_scene_outdoors);
    struct scene scene = scene_parked(facility, facility->arena);

    scene.name = build_text(b, r->id);
    scene.note = build_text(b, record_value(r, KEY_part_note)->text);
    openings(facility, &scene, r);
    station_fields(b, &scene, r);
    plant(facility, &scene, r);
    if (outdoors) {
      scene.has_outdoor_temperature = true;
      scene.outdoor_temperature_K = record_value(outdoors, KEY_scene_outdoors_temperature)->si;
    }
    out[facility->scene_count++] = scene;
  }
}
