#include "facility/chemicals_impl.h"

#include <math.h>
#include <string.h>

/* Tanks, waste streams and stores of the chemicals file. */

static double pm_or_nan(const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);
  double none = (double)NAN;

  return value && value->has_plus_minus ? value->plus_minus_si : none;
}

static int number_of(const struct record *r, enum schema_key_id key, int otherwise)
{
  const struct value *value = record_given(r, key);

  return value ? value->number : otherwise;
}

struct chemicals_tank chemicals_one_tank(struct chemicals_build *b, const struct record *r)
{
  struct chemicals_tank tank = {
      .part = build_part(&b->build, r),
      .station = number_of(r, KEY_chemicals_tank_station, 0),
      .bath = chemicals_text(b, r, KEY_chemicals_tank_bath),
      .drain = chemicals_text(b, r, KEY_chemicals_tank_drain),
      .source = chemicals_text(b, r, KEY_chemicals_tank_source),
      .volume_m3 = record_si(r, KEY_chemicals_tank_volume),
      .least_m3 = chemicals_si(r, KEY_chemicals_tank_least),
      .temperature_K = chemicals_si(r, KEY_chemicals_tank_temperature),
      .temperature_pm_K = pm_or_nan(r, KEY_chemicals_tank_temperature),
      .every_s = chemicals_si(r, KEY_chemicals_tank_every),
      .life_s = chemicals_si(r, KEY_chemicals_tank_life),
      .wafers_most = number_of(r, KEY_chemicals_tank_wafers, 0),
      .drains_into = number_of(r, KEY_chemicals_tank_drains_into, -1),
      .place = chemicals_place(r, KEY_chemicals_tank_bath),
  };
  const struct value *least = record_given(r, KEY_chemicals_tank_least);

  if (least && tank.least_m3 >= tank.volume_m3)
    reader_complain(b->reader, r->who, least->tree->place, least->tree->width,
                    "the least is as much as the tank holds, or more: it would never be right; "
                    "which figure is wrong?");
  return tank;
}

struct chemicals_stream chemicals_one_stream(struct chemicals_build *b, const struct record *r)
{
  const struct value *takes = record_value(r, KEY_chemicals_stream_takes);
  const struct value *never = record_value(r, KEY_chemicals_stream_never);
  struct chemicals_stream stream = {
      .part = build_part(&b->build, r),
      .station = number_of(r, KEY_chemicals_stream_station, 0),
      .take_count = takes->count,
      .takes = build_texts(&b->build, takes),
      .never_count = never->count,
      .never = build_texts(&b->build, never),
      .material = chemicals_text(b, r, KEY_chemicals_stream_material),
      .vented_by = chemicals_text(b, r, KEY_chemicals_stream_vented_by),
      .source = chemicals_text(b, r, KEY_chemicals_stream_source),
      .volume_m3 = record_si(r, KEY_chemicals_stream_volume),
      .fill_ratio = chemicals_si(r, KEY_chemicals_stream_fill),
      .first_s = chemicals_si(r, KEY_chemicals_stream_first),
      .full_s = chemicals_si(r, KEY_chemicals_stream_full),
      .vented = record_value(r, KEY_chemicals_stream_vented)->number != 0,
      .place = chemicals_place(r, KEY_chemicals_stream_takes),
      .material_place = chemicals_place(r, KEY_chemicals_stream_material),
  };

  if (takes->count == 0)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "a stream that takes nothing is none; name what may go in");
  if (stream.vented && !stream.vented_by)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "who says that a vented cap may be used, and how it counts as closed? "
                    "Give 'vented by'");
  return stream;
}

/* "1 2 3"; an empty list, another number or a word is a fault. */
static void categories_of(struct chemicals_build *b, const struct record *r,
                          struct chemicals_most *out)
{
  const struct value *value = record_given(r, KEY_chemicals_most_categories);
  bool any = false, fits = value != NULL;

  for (const char *at = value ? value->text : ""; *at && fits; at++) {
    int category = *at - '1';

    if (*at == ' ' || *at == ',')
      continue;
    fits = category >= 0 && category < CHEMICALS_CATEGORIES && (at[1] < '0' || at[1] > '9');
    if (fits)
      out->categories[category] = any = true;
  }
  if (value && (!fits || !any))
    reader_complain(b->reader, r->who, value->tree->place, value->tree->width,
                    "the categories of flammable liquids are 1, 2, 3 and 4; write them as "
                    "\"1 2 3\"");
}

static const struct chemicals_most *mosts_of(struct chemicals_build *b, const struct value *list)
{
  struct chemicals_most *out =
      ARENA_ARRAY(b->out->arena, struct chemicals_most, (size_t)list->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < list->count; i++) {
    const struct record *r = list->records[i];

    out[i] = (struct chemicals_most){
        .volume_m3 = record_si(r, KEY_chemicals_most_volume),
        .source = chemicals_text(b, r, KEY_chemicals_most_source),
    };
    categories_of(b, r, &out[i]);
  }
  return out;
}

static const struct chemicals_amount *amounts_of(struct chemicals_build *b,
                                                 const struct value *list)
{
  struct chemicals_amount *out =
      ARENA_ARRAY(b->out->arena, struct chemicals_amount, (size_t)list->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < list->count; i++)
    out[i] = (struct chemicals_amount){
        .of = chemicals_text(b, list->records[i], KEY_chemicals_amount_of),
        .volume_m3 = record_si(list->records[i], KEY_chemicals_amount_volume),
        .count = number_of(list->records[i], KEY_chemicals_amount_count, 1),
        .place = chemicals_place(list->records[i], KEY_chemicals_amount_of),
    };
  return out;
}

struct chemicals_store chemicals_one_store(struct chemicals_build *b, const struct record *r)
{
  const struct value *most = record_value(r, KEY_chemicals_store_most);
  const struct value *holds = record_value(r, KEY_chemicals_store_holds);

  return (struct chemicals_store){
      .part = build_part(&b->build, r),
      .is_cabinet = number_of(r, KEY_chemicals_store_kind, 0) == 0,
      .room = number_of(r, KEY_chemicals_store_room, 0),
      .most_count = most->count,
      .mosts = mosts_of(b, most),
      .amount_count = holds->count,
      .amounts = amounts_of(b, holds),
      .counted = chemicals_text(b, r, KEY_chemicals_store_counted),
      .by = chemicals_text(b, r, KEY_chemicals_store_by),
  };
}

int chemicals_tank_find(const struct chemicals *chemicals, const char *id)
{
  for (int i = 0; chemicals && id && i < chemicals->tank_count; i++)
    if (strcmp(chemicals->tanks[i].part.id, id) == 0)
      return i;
  return -1;
}

int chemicals_drain_find(const struct chemicals *chemicals, const char *id)
{
  for (int i = 0; chemicals && id && i < chemicals->drain_count; i++)
    if (strcmp(chemicals->drains[i].part.id, id) == 0)
      return i;
  return -1;
}

int chemicals_stream_find(const struct chemicals *chemicals, const char *id)
{
  for (int i = 0; chemicals && id && i < chemicals->stream_count; i++)
    if (strcmp(chemicals->streams[i].part.id, id) == 0)
      return i;
  return -1;
}
