#include "facility/reader_impl.h"

#include <string.h>

/*
 * Overlays work on trees, so that the merged whole is checked by the same table
 * as any suite, and a complaint points into the file the value stands in.
 */

static struct tree *copy_empty(struct reader *reader, const struct tree *like)
{
  struct tree *copy = ARENA_NEW(reader->work, struct tree);

  BUG_IF(!copy);
  *copy = *like;
  copy->kind = TREE_MAP;
  copy->text = NULL;
  copy->first = copy->last = copy->next = NULL;
  copy->count = 0;
  return copy;
}

/* Puts `node` into `map` under its key, in the place of what stands there. */
static void put(struct tree *map, struct tree *node)
{
  struct tree *old = tree_find(map, node->key);

  if (!old) {
    tree_append(map, node);
    return;
  }

  struct tree *next = old->next;

  *old = *node;
  old->next = next;
}

/* Keys of the old form go when the new keys do not fit in it. */
static void drop_other_form(enum schema_struct_id of, int group, struct tree *old,
                            const struct tree *change)
{
  const struct schema_form *had = NULL;

  for (int i = 0; i < FORM_COUNT && !had; i++) {
    const struct schema_form *form = schema_form_at((enum schema_form_id)i);

    if (form->owner == of && form->group == group && tree_find(old, form->deciding))
      had = form;
  }
  if (!had)
    return;

  bool fits = true;

  for (const struct tree *child = change->first; child; child = child->next)
    fits &= !schema_in_group(of, group, child->key) || schema_in_form(had, child->key);
  if (fits)
    return;
  for (struct tree *child = old->first, *next; child; child = next) {
    next = child->next;
    if (schema_in_group(of, group, child->key))
      tree_remove(old, child);
  }
}

static void drop_other_forms(enum schema_struct_id of, struct tree *old, const struct tree *change)
{
  for (int g = 0; g < SCHEMA_GROUPS; g++)
    if (schema_group_of(of, g))
      drop_other_form(of, g, old, change);
  for (int row = schema_struct_at(of)->first; schema_more(of, row); row++)
    if (schema_key_at(row)->kind == SCHEMA_INCLUDE)
      drop_other_forms(schema_key_at(row)->nested, old, change);
}

static void change_map(struct reader *reader, enum schema_struct_id of, struct tree *old,
                       const struct tree *change, const char *who)
{
  if (!reader_is_map(change)) {
    reader_complain(reader, who, change->place, change->width,
                    "a map of the keys to change is needed here");
    return;
  }
  if (!reader_is_map(old))
    return; /* wrong in the suite itself, and complained about there */
  if (old->kind != TREE_MAP) {
    old->kind = TREE_MAP; /* "J1:" has no value, and now gets some */
    old->text = NULL;
  }
  drop_other_forms(of, old, change);
  for (struct tree *child = change->first, *next; child; child = next) {
    next = child->next;

    int row = schema_find(of, child->key);
    struct tree *inner = tree_find(old, child->key);

    if (row >= 0 && schema_key_at(row)->kind == SCHEMA_PARTS_BY_REF && inner &&
        inner->kind == TREE_MAP && child->kind == TREE_MAP) {
      for (struct tree *feed = child->first, *after; feed; feed = after) {
        after = feed->next;

        struct tree *there = tree_find(inner, feed->key);

        if (there)
          change_map(reader, schema_key_at(row)->nested, there, feed, who);
        else
          put(inner, feed);
      }
      continue;
    }
    put(old, child);
  }
}

/* ---- add, change, remove ---- */

static void no_such_part(struct reader *reader, const struct tree *suite, const struct tree *at,
                         const char *text, uint64_t kinds, const char *verb)
{
  struct buf near;
  struct reader lookup = *reader;

  if (reader->complaints->count >= COMPLAINTS_MAX) {
    reader_complain(reader, NULL, at->place, at->width, "there is no such part");
    return; /* only counted: looking for the nearest id would be for nobody */
  }
  names_init(&lookup.ids, reader->work);
  lookup.symbols = NULL;
  lookup.symbol_count = lookup.symbol_room = 0;

  struct complaints unheard;

  complaints_init(&unheard, reader->work);
  lookup.complaints = &unheard;
  reader_collect_ids(&lookup, suite);
  lookup.complaints = reader->complaints;
  buf_init(&near, 512);
  reader_suggest_id(&lookup, kinds, text, &near);
  reader_complain(reader, NULL, at->place, at->width, "there is no '%s' to %s%s",
                  tree_shown(reader->work, text), verb, near.text);
  buf_release(&near);
}

static struct tree *section_of(struct reader *reader, struct tree *suite,
                               const struct tree *section)
{
  struct tree *found = tree_find(suite, section->key);

  if (!found) {
    found = copy_empty(reader, section);
    tree_append(suite, found);
  } else if (found->kind != TREE_MAP && reader_is_map(found)) {
    found->kind = TREE_MAP;
  }
  return found->kind == TREE_MAP ? found : NULL;
}

static void add_parts(struct reader *reader, struct tree *suite, const struct tree *section)
{
  struct tree *into = section_of(reader, suite, section);

  if (into && into->count == 0) { /* emptied before: it reads as this file writes it */
    into->key_place = section->key_place;
    into->key_width = section->key_width;
    into->key_begin = section->key_begin;
    into->flow = section->flow;
  }
  for (struct tree *part = section->first, *next; part && into; part = next) {
    next = part->next;

    const struct tree *old = tree_find(into, part->key);

    if (old)
      reader_complain(reader, NULL, part->key_place, part->key_width,
                      "'%s' is in the suite already (%s:%d); write it under 'change'",
                      tree_shown(reader->work, part->key), old->key_place.file,
                      old->key_place.line);
    else
      tree_append(into, part);
  }
}

static void change_parts(struct reader *reader, struct tree *suite, const struct schema_key *row,
                         const struct tree *section)
{
  struct tree *into = tree_find(suite, section->key);

  for (const struct tree *part = section->first; part; part = part->next) {
    struct tree *old = into && into->kind == TREE_MAP ? tree_find(into, part->key) : NULL;
    struct tree at = {.place = part->key_place, .width = part->key_width};

    if (old)
      change_map(reader, row->nested, old, part, tree_shown(reader->work, part->key));
    else
      no_such_part(reader, suite, &at, part->key, row->id_kind, "change; write it under 'add'");
  }
}

static void merge_section(struct reader *reader, struct tree *suite, struct tree *section, bool add)
{
  int at = schema_find(STRUCT_sections, section->key);

  if (at < 0) {
    reader_unknown_key(reader, STRUCT_sections, section, add ? "add" : "change");
    return;
  }

  const struct schema_key *row = schema_key_at(at);

  if (row->kind == SCHEMA_PARTS) {
    if (section->kind != TREE_MAP || section->count > READER_MOST_PARTS)
      reader_complain(reader, NULL, section->place, section->width,
                      "'%s' must be a map of at most %d parts by id", section->key,
                      READER_MOST_PARTS);
    else if (add)
      add_parts(reader, suite, section);
    else
      change_parts(reader, suite, row, section);
    return;
  }

  struct tree *old = tree_find(suite, section->key);

  if (old && row->kind == SCHEMA_STRUCT)
    change_map(reader, row->nested, old, section, section->key);
  else
    put(suite, section);
}

static void merge_sections(struct reader *reader, struct tree *suite, struct tree *sections,
                           bool add)
{
  if (!reader_is_map(sections)) {
    reader_complain(reader, NULL, sections->place, sections->width,
                    "'%s' must be a map of sections, as in a suite", sections->key);
    return;
  }
  for (struct tree *section = sections->first, *next; section; section = next) {
    next = section->next;
    merge_section(reader, suite, section, add);
  }
}

static struct tree *find_part(struct tree *suite, const char *id, struct tree **section_out)
{
  for (struct tree *section = suite->first; section; section = section->next) {
    int row = schema_find(STRUCT_sections, section->key);
    struct tree *part =
        row >= 0 && schema_key_at(row)->kind == SCHEMA_PARTS && section->kind == TREE_MAP
            ? tree_find(section, id)
            : NULL;

    if (part) {
      *section_out = section;
      return part;
    }
  }
  return NULL;
}

/* "MU1/Etch": a feed of a supply. */
static struct tree *find_feed(struct reader *reader, struct tree *suite, const char *id,
                              struct tree **section_out)
{
  const char *slash = strchr(id, '/');
  struct tree *supplies = tree_find(suite, "supplies");

  if (!slash || !supplies || supplies->kind != TREE_MAP)
    return NULL;

  struct tree *supply = tree_find(
      supplies, reader_text(reader, "%.*s", (int)(slash - id > 40 ? 40 : slash - id), id));
  struct tree *feeds = supply && supply->kind == TREE_MAP ? tree_find(supply, "feeds") : NULL;

  *section_out = feeds;
  return feeds && feeds->kind == TREE_MAP ? tree_find(feeds, slash + 1) : NULL;
}

static void note_removed(struct reader *reader, const char *id, struct place place)
{
  struct place *bigger = ARENA_ARRAY(reader->work, struct place, (size_t)reader->removed_count + 1);

  BUG_IF(!bigger);
  if (reader->removed_count > 0)
    memcpy(bigger, reader->removed_by, (size_t)reader->removed_count * sizeof *bigger);
  bigger[reader->removed_count] = place;
  reader->removed_by = bigger;
  if (names_add(&reader->removed, id, reader->removed_count))
    reader->removed_count++;
}

static void remove_parts(struct reader *reader, struct tree *suite, const struct tree *ids)
{
  enum { MOST_REMOVED = 1000 };
  unsigned all = ~(unsigned)(ID_OUTDOORS | ID_FEED | ID_FAN_UNIT);

  if (ids->kind != TREE_LIST || ids->count > MOST_REMOVED) {
    reader_complain(reader, NULL, ids->place, ids->width,
                    "'remove' must be a list of at most %d ids: [S3, L2]", MOST_REMOVED);
    return;
  }
  for (const struct tree *id = ids->first; id; id = id->next) {
    struct tree *section = NULL;

    if (id->kind != TREE_TEXT) {
      reader_complain(reader, NULL, id->place, id->width, "an id is needed here");
      continue;
    }

    struct tree *part = find_part(suite, id->text, &section);

    if (!part)
      part = find_feed(reader, suite, id->text, &section);
    if (!part) {
      no_such_part(reader, suite, id, id->text, all, "remove");
      continue;
    }
    tree_remove(section, part);
    note_removed(reader, id->text, id->place);
  }
}

/* A suite with too many parts is refused for that; merging into it would only take long. */
static bool mergeable(const struct tree *suite)
{
  for (const struct tree *section = suite->first; section; section = section->next)
    if (section->count > READER_MOST_PARTS)
      return false;
  return suite->count <= READER_MOST_PARTS;
}

void reader_merge(struct reader *reader, struct tree *suite, struct tree *overlay)
{
  const struct record *record = reader_record(reader, STRUCT_overlay, overlay, "");
  struct tree *remove = tree_find(overlay, "remove"), *change = tree_find(overlay, "change"),
              *add = tree_find(overlay, "add");

  if (record->bad || !mergeable(suite))
    return;
  if (remove)
    remove_parts(reader, suite, remove);
  if (change)
    merge_sections(reader, suite, change, false);
  if (add)
    merge_sections(reader, suite, add, true);
}
