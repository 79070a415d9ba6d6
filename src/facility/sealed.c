#include "facility/reader_impl.h"

/* Rooms no air can reach: nothing in the file touches them. */
struct touched {
  bool *rooms;
  int room_count;
  bool sure; /* every end could be read; else the room may be the one meant */
};

static void touch(struct touched *touched, const struct record *r, enum schema_key_id key)
{
  const struct value *ref = record_given(r, key);

  if (!ref && record_value(r, key)->given)
    touched->sure = false;
  if (ref && ref->number >= 0 && ref->number < touched->room_count)
    touched->rooms[ref->number] = true;
}

static void touch_ends(struct touched *touched, const struct value *parts, enum schema_key_id from,
                       enum schema_key_id to)
{
  touched->sure &= !parts->given || parts->records != NULL;
  for (int i = 0; parts->records && i < parts->count; i++) {
    touch(touched, parts->records[i], from);
    touch(touched, parts->records[i], to);
    touched->sure &= !parts->records[i]->bad;
    if (from != to) { /* a link from a room to itself was meant for another */
      const struct value *a = record_given(parts->records[i], from),
                         *b = record_given(parts->records[i], to);

      touched->sure &= !a || !b || a->number != b->number;
    }
  }
}

static void touch_feeds(struct touched *touched, const struct value *supplies)
{
  touched->sure &= !supplies->given || supplies->records != NULL;
  for (int i = 0; supplies->records && i < supplies->count; i++) {
    const struct value *feeds = record_value(supplies->records[i], KEY_supply_feeds);

    touched->sure &= feeds->records != NULL;
    for (int j = 0; feeds->records && j < feeds->count; j++) {
      touched->sure &= !feeds->records[j]->bad;
      if (feeds->records[j]->key_number < touched->room_count)
        touched->rooms[feeds->records[j]->key_number] = true;
    }
  }
}

void reader_check_sealed(struct reader *reader, const struct record *sections)
{
  const struct value *rooms = record_value(sections, KEY_sections_rooms);
  struct touched touched = {.room_count = rooms->records ? rooms->count : 0, .sure = true};

  touched.rooms = ARENA_ARRAY(reader->work, bool, (size_t)touched.room_count + 1);
  BUG_IF(!touched.rooms);
  touch_ends(&touched, record_value(sections, KEY_sections_leaks), KEY_leak_from, KEY_leak_to);
  touch_ends(&touched, record_value(sections, KEY_sections_doors), KEY_door_from, KEY_door_to);
  touch_ends(&touched, record_value(sections, KEY_sections_ducts), KEY_duct_from, KEY_duct_to);
  touch_ends(&touched, record_value(sections, KEY_sections_fans), KEY_fan_from, KEY_fan_to);
  touch_ends(&touched, record_value(sections, KEY_sections_exhausts), KEY_exhaust_from,
             KEY_exhaust_to);
  touch_ends(&touched, record_value(sections, KEY_sections_stations), KEY_station_room,
             KEY_station_room);
  touch_feeds(&touched, record_value(sections, KEY_sections_supplies));
  for (int i = 0; touched.sure && i < touched.room_count; i++) {
    const struct record *room = rooms->records ? rooms->records[i] : NULL;

    const struct symbol *known = room ? reader_symbol(reader, room->id) : NULL;

    if (known && known->kind == ID_ROOM && !room->bad && !touched.rooms[i])
      reader_complain(reader, room->who, room->place, room->width,
                      "nothing touches it: no leak, door, duct, fan, supply, exhaust or station; "
                      "connect or remove it");
  }
}
