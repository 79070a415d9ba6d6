#include "facility/reader_impl.h"

#include <sodium.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* ---- reading ---- */

static void first_key(struct reader *reader, const struct tree *tree, const char *want)
{
  const struct tree *first = tree->first;
  struct place place = first ? first->key_place : tree->place;

  if (first && strcmp(first->key, "inward") == 0)
    return;
  reader_complain(reader, NULL, place, first ? first->key_width : 1,
                  "the first line of this file must be 'inward: %s'", want);
}

/* An overlay given as a suite, or the reverse, or a future version: one clear
 * complaint instead of one for every key. */
static bool right_kind(struct reader *reader, const struct tree *tree, const char *want)
{
  const struct tree *mark = tree_find(tree, "inward");

  first_key(reader, tree, want);
  if (!mark)
    return false;
  if (mark->kind == TREE_TEXT && strcmp(mark->text, want) == 0)
    return true;
  reader_complain(reader, NULL, mark->place, mark->width,
                  "'inward: %s' is needed here; this version reads '1 suite' and, with --with, "
                  "'1 overlay'",
                  want);
  return false;
}

static struct tree *read_trees(struct reader *reader, const struct facility_text *suite,
                               const struct facility_text *overlays, int overlay_count)
{
  struct tree *tree = tree_read(suite, reader->work, reader->complaints);
  bool usable = tree && right_kind(reader, tree, "1 suite");

  for (int i = 0; i < overlay_count; i++) {
    struct tree *overlay = tree_read(&overlays[i], reader->work, reader->complaints);

    if (overlay && right_kind(reader, overlay, "1 overlay") && usable)
      reader_merge(reader, tree, overlay);
    usable &= overlay != NULL;
  }
  return usable ? tree : NULL;
}

static void hash(const struct facility_text *suite, const struct facility_text *overlays,
                 int overlay_count, char hex[65])
{
  unsigned char bytes[crypto_hash_sha256_BYTES];
  crypto_hash_sha256_state state;

  crypto_hash_sha256_init(&state);
  crypto_hash_sha256_update(&state, (const unsigned char *)suite->bytes, suite->size);
  for (int i = 0; i < overlay_count; i++)
    crypto_hash_sha256_update(&state, (const unsigned char *)overlays[i].bytes, overlays[i].size);
  crypto_hash_sha256_final(&state, bytes);
  sodium_bin2hex(hex, 65, bytes, sizeof bytes);
}

static struct facility *new_facility(void)
{
  struct arena *arena = calloc(1, sizeof *arena);

  if (!arena)
    err_no_memory();
  arena_init(arena, SIZE_MAX); /* counted, and looked at when built */

  struct facility *facility = ARENA_NEW(arena, struct facility);

  BUG_IF(!facility);
  facility->arena = arena;
  return facility;
}

struct facility *reader_read_within(const struct facility_text *suite,
                                    const struct facility_text *overlays, int overlay_count,
                                    struct complaints *complaints, size_t limit)
{
  struct arena work;
  struct reader reader = {.work = &work, .complaints = complaints};
  struct facility *facility = NULL;
  struct tree *tree;

  arena_init(&work, SIZE_MAX); /* bounded by TREE_MOST_NODES and TREE_MOST_BYTES */
  names_init(&reader.removed, &work);
  tree = read_trees(&reader, suite, overlays, overlay_count);
  if (!tree)
    goto done;
  reader_collect_ids(&reader, tree);

  const struct record *top = reader_record(&reader, STRUCT_suite, tree, "");

  if (!top->unread)
    reader_check(&reader, record_inner(top, KEY_suite_sections));
  if (complaints->count > 0)
    goto done;
  facility = new_facility();

  struct build build = {.reader = &reader, .facility = facility, .limit = limit};

  facility->name = build_text(&build, suite->file);
  hash(suite, overlays, overlay_count, facility->sha256);
  reader_build(&build, record_inner(top, KEY_suite_sections));
  if (facility->arena->used > limit) {
    complaints_add(complaints, (struct place){.file = suite->file}, 0,
                   "the suite needs more than %zu bytes of memory; it has %d scenes of %d "
                   "stations, have fewer",
                   limit, facility->scene_count, facility->station_count);
    facility_free(facility);
    facility = NULL;
  }

done:
  complaints_sort(complaints);
  arena_release(&work);
  return facility;
}

struct facility *facility_read(const struct facility_text *suite,
                               const struct facility_text *overlays, int overlay_count,
                               struct complaints *complaints)
{
  return reader_read_within(suite, overlays, overlay_count, complaints, READER_MEMORY);
}

void facility_free(struct facility *facility)
{
  if (!facility)
    return;

  struct arena *arena = facility->arena;

  arena_release(arena);
  free(arena);
}

/* ---- nodes ---- */

int facility_node_count(const struct facility *facility)
{
  return facility->room_count + facility->junction_count + 1 + facility->supply_count;
}

int facility_node_outdoors(const struct facility *facility)
{
  return facility->room_count + facility->junction_count;
}

int facility_node_plenum(const struct facility *facility, int supply)
{
  BUG_IF(supply < 0 || supply >= facility->supply_count);
  return facility_node_outdoors(facility) + 1 + supply;
}

const char *facility_node_id(const struct facility *facility, int node)
{
  int outdoors = facility_node_outdoors(facility);

  BUG_IF(node < 0 || node >= facility_node_count(facility));
  if (node < facility->room_count)
    return facility->rooms[node].part.id;
  if (node < outdoors)
    return facility->junctions[node - facility->room_count].part.id;
  return node == outdoors ? "outdoors" : facility->supplies[node - outdoors - 1].plenum_id;
}

int facility_node_find(const struct facility *facility, const char *id)
{
  for (int node = 0; node < facility_node_count(facility); node++)
    if (strcmp(facility_node_id(facility, node), id) == 0)
      return node;
  return -1;
}

const char *facility_kind_name(enum facility_station_kind kind)
{
  static const char *const names[] = {[FACILITY_FUME_HOOD] = "fume hood",
                                      [FACILITY_WET_BENCH] = "wet bench",
                                      [FACILITY_CABINET] = "ventilated cabinet"};

  return names[kind];
}

const char *facility_colour_name(enum facility_colour colour)
{
  static const char *const names[FACILITY_COLOUR_COUNT] = {
      "white",  "grey",  "black", "brown",  "red",  "orange",
      "yellow", "green", "blue",  "violet", "pink",
  };

  return colour == FACILITY_NO_COLOUR ? NULL : names[colour];
}

const char *facility_shape_name(enum facility_shape shape)
{
  static const char *const names[FACILITY_SHAPE_COUNT] = {
      "ring", "dot", "bar", "square", "cross", "triangle", "star", "diamond",
  };

  return shape == FACILITY_NO_SHAPE ? NULL : names[shape];
}

/* ---- parts by id: every part struct begins with its facility_part ---- */

static int find(const void *parts, int count, size_t size, const char *id)
{
  for (int i = 0; i < count; i++) {
    const struct facility_part *part =
        (const struct facility_part *)(const void *)((const char *)parts + (size_t)i * size);

    if (strcmp(part->id, id) == 0)
      return i;
  }
  return -1;
}

int facility_station_find(const struct facility *facility, const char *id)
{
  return find(facility->stations, facility->station_count, sizeof *facility->stations, id);
}

int facility_door_find(const struct facility *facility, const char *id)
{
  return find(facility->doors, facility->door_count, sizeof *facility->doors, id);
}

int facility_duct_find(const struct facility *facility, const char *id)
{
  return find(facility->ducts, facility->duct_count, sizeof *facility->ducts, id);
}

int facility_supply_find(const struct facility *facility, const char *id)
{
  return find(facility->supplies, facility->supply_count, sizeof *facility->supplies, id);
}

int facility_fan_find(const struct facility *facility, const char *id, int *unit_out)
{
  char base[40];
  int unit = reader_split_unit(id, base);
  int fan =
      find(facility->fans, facility->fan_count, sizeof *facility->fans, unit >= 0 ? base : id);

  if (fan < 0 || unit >= facility->fans[fan].count)
    return -1;
  if (unit_out)
    *unit_out = unit;
  return fan;
}
