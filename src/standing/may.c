/* What `inward may` is told of a station beside what it asks itself. */
#include "standing/standing_impl.h"

#include "may/may.h"

#include <string.h>

/* "since 2026-11-30 09:10:00 +01:00: baffle loose"; NULL: it was not taken out of use. */
static const char *withdrawn_words(const struct standing_told *told, const struct when_zone *zone,
                                   int station, struct arena *arena)
{
  const struct record_entry *entry = told->withdrawn[station];
  struct buf since;

  if (!entry)
    return NULL;
  buf_init(&since, 100);
  when_print(&since, zone, entry->t_ms);
  const char *words = arena_printf(arena, "since %s: %s", since.text, entry->text);

  buf_release(&since);
  return words;
}

/* "nitride strip, COOLS"; NULL: nothing runs or cools there with nobody there. */
static const char *run_words(const struct standing_told *told, int station, struct arena *arena)
{
  const struct run *run = run_at(told->runs, station);

  return run ? arena_printf(arena, "%s, %s", run->words.what, run_phase_words(run->phase)) : NULL;
}

enum { STANDS_MOST = 24 }; /* the worst; more are read by nobody */

/* The rest is its own question (hours, air, family), or of now and not of the moment asked for. */
static bool is_told(const struct standing_fact *fact)
{
  static const char *const kinds[] = {"incident", "proof", "round", "tank",
                                      "waste",    "glass", "record"};

  for (size_t i = 0; fact->says != STANDING_NOTED && i < sizeof kinds / sizeof kinds[0]; i++)
    if (strcmp(fact->kind, kinds[i]) == 0)
      return true;
  return false;
}

static enum may_proofs proofs_of(const struct standing_row *row)
{
  enum may_proofs proofs = MAY_PROOFS_NOT_KNOWN;
  bool known = true;

  for (int i = 0; i < row->fact_count; i++) {
    const struct standing_fact *fact = &row->facts[i];

    if (strcmp(fact->kind, "proof") != 0)
      continue;
    if (fact->says == STANDING_AGAINST)
      return MAY_PROOFS_AGAINST;
    known = known && fact->says == STANDING_NOTED;
    proofs = MAY_PROOFS_IN_DATE;
  }
  return known ? proofs : MAY_PROOFS_NOT_KNOWN;
}

static void tell_row(const struct standing_row *row, struct arena *arena,
                     struct may_request *request)
{
  struct may_stand *list = ARENA_ARRAY(arena, struct may_stand, STANDS_MOST);

  BUG_IF(!list);
  for (int i = 0; i < row->fact_count && request->stand_count < STANDS_MOST; i++) {
    const struct standing_fact *fact = &row->facts[i];

    if (is_told(fact))
      list[request->stand_count++] =
          (struct may_stand){.against = fact->says == STANDING_AGAINST,
                             .kind = fact->kind,
                             .say = fact->text,
                             .way = fact->next ? fact->next : "Look at the station.",
                             .source = fact->source};
  }
  request->stands = list;
  request->proofs = proofs_of(row);
}

/* The start that is asked of, where it can be read and is yet to come; else now. */
static int64_t start_of(const struct may_request *request, const struct when_zone *zone)
{
  int64_t t_ms = request->now_ms;
  struct err unread = {0};

  if (request->from && when_read(request->from, zone, NULL, &t_ms, &unread) != ERR_OK)
    return request->now_ms;
  return t_ms > request->now_ms ? t_ms : request->now_ms;
}

void standing_tell_may(const struct standing_place *place, const struct standing_told *told,
                       int station, struct arena *arena, struct may_request *request)
{
  struct standing_moment *moment = ARENA_NEW(arena, struct standing_moment);
  const char *withdrawn;

  BUG_IF(!moment);
  request->record_of = told->other_suite;
  if (told->other_suite)
    return;
  withdrawn = withdrawn_words(told, place->zone, station, arena);
  request->withdrawn_known = true;
  request->withdrawn = withdrawn ? withdrawn : request->withdrawn;
  request->runs = run_words(told, station, arena);
  *moment = (struct standing_moment){.facility = place->facility,
                                     .zone = place->zone,
                                     .now_ms = start_of(request, place->zone),
                                     .told = told};

  struct standing_table *table = standing_new(moment, arena);

  standing_settle(table);
  tell_row(&table->rows[station], arena, request);
}
