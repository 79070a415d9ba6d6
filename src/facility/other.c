#include "facility/other_impl.h"

#include <math.h>
#include <sodium.h>
#include <stdint.h>
#include <stdlib.h>

/* ---- the suite's ids, as the reader knows them ---- */

static void part_symbol(struct reader *reader, const struct facility_part *part, uint64_t kind,
                        int index)
{
  reader_add_symbol(reader, (struct symbol){.id = part->id, .kind = kind, .index = index});
}

#define SYMBOLS(kind, list, count)                                                                 \
  for (int i = 0; i < facility->count; i++)                                                        \
  part_symbol(reader, &facility->list[i].part, kind, i)

static void take_suite_ids(struct reader *reader, const struct facility *facility)
{
  reader->room_count = facility->room_count;
  reader->junction_count = facility->junction_count;
  SYMBOLS(ID_ROOM, rooms, room_count);
  SYMBOLS(ID_JUNCTION, junctions, junction_count);
  SYMBOLS(ID_LEAK, leaks, leak_count);
  SYMBOLS(ID_DOOR, doors, door_count);
  SYMBOLS(ID_DUCT, ducts, duct_count);
  SYMBOLS(ID_FAN, fans, fan_count);
  SYMBOLS(ID_MAIN, mains, main_count);
  SYMBOLS(ID_SUPPLY, supplies, supply_count);
  SYMBOLS(ID_EXHAUST, exhausts, exhaust_count);
  SYMBOLS(ID_STATION, stations, station_count);
}

/* ---- the file ---- */

/* Those kept and those that were too many to keep. */
static int faults(const struct complaints *complaints)
{
  return complaints->count + complaints->dropped;
}

const struct record *other_begin(struct other *other, const struct facility *facility,
                                 const struct facility_text *text, const char *kind,
                                 enum schema_struct_id of, struct complaints *complaints)
{
  struct reader *reader = &other->reader;
  const struct record *top;
  const struct tree *tree;

  *other = (struct other){.before = faults(complaints)};
  *reader = (struct reader){.work = &other->work, .complaints = complaints};
  arena_init(&other->work, SIZE_MAX); /* bounded by TREE_MOST_NODES and TREE_MOST_BYTES */
  names_init(&reader->removed, &other->work);
  tree = tree_read(text, &other->work, complaints);
  if (!tree || !reader_right_kind(reader, tree, kind))
    return NULL;
  reader_begin_ids(reader);
  take_suite_ids(reader, facility);
  reader_collect_ids_of(reader, of, tree);
  top = reader_record(reader, of, tree, "");
  return top->unread || faults(complaints) > other->before ? NULL : top;
}

bool other_end(struct other *other)
{
  struct complaints *complaints = other->reader.complaints;

  complaints_sort(complaints);
  arena_release(&other->work);
  return faults(complaints) == other->before;
}

struct arena *other_arena(void)
{
  struct arena *arena = calloc(1, sizeof *arena);

  if (!arena)
    err_no_memory();
  arena_init(arena, SIZE_MAX);
  return arena;
}

void other_sha256(const struct facility_text *text, char out[65])
{
  unsigned char bytes[crypto_hash_sha256_BYTES];

  crypto_hash_sha256(bytes, (const unsigned char *)text->bytes, text->size);
  sodium_bin2hex(out, 65, bytes, sizeof bytes);
}

/* ---- what is built ---- */

const char *other_text_of(struct build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);

  return value ? build_text(b, value->text) : NULL;
}

double other_si_of(const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);
  double none = (double)NAN;

  return value ? value->si : none;
}

struct place other_place_of(const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);

  return value && value->tree ? value->tree->place : r->place;
}

const int *other_indices(struct build *b, const struct record *r, enum schema_key_id key,
                         int *count_out)
{
  const struct value *list = record_value(r, key);
  int *out = ARENA_ARRAY(b->facility->arena, int, (size_t)list->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < list->count; i++)
    out[i] = list->items[i].number;
  *count_out = list->count;
  return out;
}

const char *const *other_texts(struct build *b, const struct record *r, enum schema_key_id key,
                               int *count_out)
{
  const struct value *list = record_value(r, key);

  *count_out = list->count;
  return build_texts(b, list);
}

const struct place *other_places(struct build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *list = record_value(r, key);
  struct place *out = ARENA_ARRAY(b->facility->arena, struct place, (size_t)list->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < list->count; i++)
    out[i] = list->items[i].tree->place;
  return out;
}
