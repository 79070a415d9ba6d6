#include "facility/processes.h"

#include "facility/other_impl.h"

#include <stdlib.h>
#include <string.h>

/* The processes file to processes. */

const char *processes_family_word(enum processes_family family)
{
  static const char *const words[] = {"acid", "base", "organic", "piranha", "none"};

  return words[family];
}

const char *processes_second_word(enum processes_second second)
{
  static const char *const words[] = {"no", "outside staffed hours", "always"};

  return words[second];
}

static void build_document(struct build *b, const struct record *r, struct processes_process *out)
{
  if (!r)
    return;
  out->document = other_text_of(b, r, KEY_processes_document_title);
  out->version = other_text_of(b, r, KEY_processes_document_version);
  out->review = other_text_of(b, r, KEY_processes_document_review);
}

static void at_most(struct build *b, const struct record *r, enum schema_key_id key, int most)
{
  const struct value *list = record_value(r, key);

  if (list->count > most)
    reader_complain(b->reader, r->who, list->tree->place, list->tree->width,
                    "%d entries; at most %d", list->count, most);
}

static struct processes_process one_process(struct build *b, const struct record *r)
{
  struct processes_process out = {
      .part = build_part(b, r),
      .use_places = other_places(b, r, KEY_processes_process_uses),
      .family = (enum processes_family)record_value(r, KEY_processes_process_family)->number,
      .temperature_K = other_si_of(r, KEY_processes_process_temperature),
      .lasts_s = other_si_of(r, KEY_processes_process_lasts),
      .across_m = other_si_of(r, KEY_processes_process_across),
      .unattended_s = other_si_of(r, KEY_processes_process_unattended),
      .vessel = other_text_of(b, r, KEY_processes_process_vessel),
      .vessel_place = other_place_of(r, KEY_processes_process_vessel),
      .endorsement_places = other_places(b, r, KEY_processes_process_endorsements),
      .second = (enum processes_second)record_value(r, KEY_processes_process_second)->number,
      .waste = other_text_of(b, r, KEY_processes_process_waste),
      .place = r->place,
  };

  out.uses = other_texts(b, r, KEY_processes_process_uses, &out.use_count);
  out.stations = other_indices(b, r, KEY_processes_process_stations, &out.station_count);
  out.endorsements = other_texts(b, r, KEY_processes_process_endorsements, &out.endorsement_count);
  out.hazards = other_texts(b, r, KEY_processes_process_hazards, &out.hazard_count);
  build_document(b, record_inner(r, KEY_processes_process_document), &out);
  at_most(b, r, KEY_processes_process_uses, PROCESSES_USES_MAX);
  at_most(b, r, KEY_processes_process_endorsements, PROCESSES_ENDORSEMENTS_MAX);
  if (out.unattended_s > out.lasts_s)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "it may stand alone for longer than it lasts; which figure is wrong?");
  return out;
}

static struct processes *build_processes(struct reader *reader, const struct record *top,
                                         const struct facility_text *text)
{
  struct arena *arena = other_arena();
  struct processes *out = ARENA_NEW(arena, struct processes);
  const struct value *all = record_value(top, KEY_processes_file_processes);
  struct processes_process *list =
      ARENA_ARRAY(arena, struct processes_process, (size_t)all->count + 1);

  BUG_IF(!out || !list);

  struct facility holder = {.arena = arena}; /* what the builders take memory from */
  struct build build = {.reader = reader, .facility = &holder};

  for (int i = 0; i < all->count; i++)
    list[i] = one_process(&build, all->records[i]);
  *out = (struct processes){
      .arena = arena,
      .file = arena_strdup(arena, text->file),
      .permission_by = other_text_of(&build, top, KEY_processes_file_given_by),
      .count = all->count,
      .list = list,
  };
  other_sha256(text, out->sha256);
  return out;
}

struct processes *processes_read(const struct facility *facility, const struct facility_text *text,
                                 struct complaints *complaints)
{
  struct other other;
  const struct record *top =
      other_begin(&other, facility, text, "1 processes", STRUCT_processes_file, complaints);
  struct processes *out = top ? build_processes(&other.reader, top, text) : NULL;

  if (!other_end(&other)) {
    processes_free(out);
    out = NULL;
  }
  return out;
}

void processes_free(struct processes *processes)
{
  if (!processes)
    return;

  struct arena *arena = processes->arena;

  arena_release(arena);
  free(arena);
}

int processes_find(const struct processes *processes, const char *id)
{
  for (int i = 0; i < processes->count; i++)
    if (strcmp(processes->list[i].part.id, id) == 0)
      return i;
  return -1;
}
