#include "facility/reader_impl.h"

#include <stdlib.h>
#include <string.h>

/* One tree to a facility, whatever form the tree came in. */

static void first_key(struct reader *reader, const struct tree *tree, const char *want)
{
  const struct tree *first = tree->first;
  struct place place = first ? first->key_place : tree->place;

  if (first && strcmp(first->key, "inward") == 0)
    return;
  reader_complain(reader, NULL, place, first ? first->key_width : 1,
                  "the first line of this file must be 'inward: %s'", want);
}

bool reader_right_kind(struct reader *reader, const struct tree *tree, const char *want)
{
  const struct tree *mark = tree_find(tree, "inward");

  first_key(reader, tree, want);
  if (!mark)
    return false;
  if (mark->kind == TREE_TEXT && strcmp(mark->text, want) == 0)
    return true;
  reader_complain(reader, NULL, mark->place, mark->width,
                  "'inward: %s' is needed here; this version reads '1 suite', with --with "
                  "'1 overlay', and '1 feeds' where a suite's 'files' names it",
                  want);
  return false;
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

struct facility *reader_finish(struct reader *reader, const struct tree *tree,
                               const struct reader_source *source)
{
  struct complaints *complaints = reader->complaints;

  reader_collect_ids(reader, tree);

  const struct record *top = reader_record(reader, STRUCT_suite, tree, "");

  if (!top->unread)
    reader_check(reader, record_inner(top, KEY_suite_sections));
  if (complaints->count > 0)
    return NULL;

  struct facility *facility = new_facility();
  struct build build = {.reader = reader, .facility = facility, .limit = source->limit};

  facility->name = build_text(&build, source->file);
  memcpy(facility->sha256, source->sha256, sizeof facility->sha256);
  reader_build(&build, record_inner(top, KEY_suite_sections));
  if (facility->arena->used <= source->limit)
    return facility;
  complaints_add(complaints, (struct place){.file = source->file}, 0,
                 "the suite needs more than %zu bytes of memory; it has %d scenes of %d "
                 "stations, have fewer",
                 source->limit, facility->scene_count, facility->station_count);
  facility_free(facility);
  return NULL;
}

void facility_free(struct facility *facility)
{
  if (!facility)
    return;

  struct arena *arena = facility->arena;

  arena_release(arena);
  free(arena);
}
