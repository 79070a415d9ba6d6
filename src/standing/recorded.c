/* What people told, folded from the record once; and the table of a moment of it. */
#include "standing/standing_impl.h"

enum { INCIDENTS_MOST = 2000, AHEAD_MOST = 100 };

/* ---- told ---- */

static enum err_code take_tanks(struct record *record, const struct wet_place *place,
                                struct standing_told *told, struct arena *arena, struct err *err)
{
  struct wet_place *at = ARENA_NEW(arena, struct wet_place);
  struct wet_past *past;

  BUG_IF(!at);
  *at = *place;
  at->now_ms = told->t_ms;
  bool is_kept = place->own && (place->own->tank_count > 0 || place->own->stream_count > 0);
  enum err_code code = wet_recorded(record, told->t_ms, arena, &past, err);

  if (code == ERR_OK && (is_kept || past->count > 0 || past->unread_count > 0)) {
    told->baths = wet_baths(at, past, arena);
    told->waste = wet_waste(at, past, arena);
  }
  return code;
}

static enum err_code take_incidents(struct record *record, const struct facility *f,
                                    struct standing_told *told, struct arena *arena,
                                    struct err *err)
{
  const struct record_wanted wanted = {.from_ms =
                                           told->t_ms - (int64_t)(f->readiness.incident_s * 1e3),
                                       .to_ms = told->t_ms + 1,
                                       .kind = RECORD_INCIDENT,
                                       .known_ms = INT64_MAX,
                                       .most = INCIDENTS_MOST};
  struct record_entry *list;
  enum err_code code = record_entries(record, &wanted, arena, &list, &told->incident_count, err);

  told->incidents = list;
  return code;
}

/* What was told of a moment to come: it may be of now, by a clock that was wrong then or is wrong now. */
static enum err_code take_ahead(struct record *record, int64_t after_ms, struct standing_told *told,
                                struct arena *arena, struct err *err)
{
  static const enum record_kind kinds[] = {RECORD_WITHDRAWN, RECORD_RUN, RECORD_ROUND,
                                           RECORD_INCIDENT, RECORD_GLASS};
  enum { KINDS = sizeof kinds / sizeof kinds[0] };
  struct record_entry *all = ARENA_ARRAY(arena, struct record_entry, KINDS * AHEAD_MOST);

  if (!all)
    return err_set(err, ERR_LIMIT, "what was told does not fit");
  for (int k = 0; k < KINDS; k++) {
    const struct record_wanted wanted = {.from_ms = after_ms + 1,
                                         .to_ms = INT64_MAX,
                                         .kind = (int)kinds[k],
                                         .known_ms = INT64_MAX,
                                         .most = AHEAD_MOST};
    struct record_entry *list;
    int count = 0;
    enum err_code code = record_entries(record, &wanted, arena, &list, &count, err);

    if (code != ERR_OK)
      return code;
    for (int i = 0; i < count; i++)
      all[told->ahead_count++] = list[i];
  }
  told->ahead = all;
  return ERR_OK;
}

/* The one that its newest entry names; where none does, the one whose values are in it. */
static enum err_code find_other_suite(struct record *record, const struct facility *f,
                                      struct arena *arena, const char **out, struct err *err)
{
  enum err_code code = record_suite(record, arena, out, err);

  if (code != ERR_OK)
    return code;
  if (!*out)
    return record_other_suite(record, f, arena, out, err);
  if (record_is_of(*out, f))
    *out = NULL;
  return ERR_OK;
}

enum err_code standing_recorded(struct record *record, const struct standing_place *place,
                                int64_t t_ms, struct arena *arena, struct standing_told **out,
                                struct err *err)
{
  const struct facility *f = place->facility;
  struct standing_told *told = ARENA_NEW(arena, struct standing_told);
  struct run_list *runs;
  struct round_list *rounds;
  struct sighting_list *glass;

  if (!told)
    return err_set(err, ERR_LIMIT, "what was told does not fit");
  told->t_ms = t_ms;
  enum err_code code = past_withdrawals(record, f, t_ms, INT64_MAX, arena, &told->withdrawn, err);

  if (code == ERR_OK)
    code = run_recorded(record, f, place->zone, t_ms, arena, &runs, err);
  if (code == ERR_OK)
    code = round_recorded(record, f, place->zone, t_ms, arena, &rounds, err);
  if (code == ERR_OK)
    code = sighting_recorded(record, f, place->zone, t_ms, arena, &glass, err);
  if (code == ERR_OK && place->wet)
    code = take_tanks(record, place->wet, told, arena, err);
  if (code == ERR_OK)
    code = take_incidents(record, f, told, arena, err);
  if (code == ERR_OK)
    code = take_ahead(record, place->clock_ms > t_ms ? place->clock_ms : t_ms, told, arena, err);
  if (code == ERR_OK)
    code = find_other_suite(record, f, arena, &told->other_suite, err);
  if (code != ERR_OK)
    return code;
  told->runs = runs;
  told->rounds = rounds;
  told->glass = glass;
  *out = told;
  return ERR_OK;
}

/* ---- of a moment of the record ---- */

/* Points and shared air as they were believed then. */
static enum err_code see(const struct past_place *place, int64_t t_ms, struct arena *arena,
                         struct answer_live *live, struct err *err)
{
  struct watch_belief *belief = ARENA_NEW(arena, struct watch_belief);
  struct watch_stop *said = ARENA_NEW(arena, struct watch_stop);
  struct err unsolved = {0};
  struct past_stop stop;

  BUG_IF(!belief || !said);
  enum err_code code = past_believe(place, t_ms, INT64_MAX, arena, belief, err);

  if (code == ERR_OK)
    code = past_stop_find(place, t_ms, arena, &stop, err);
  if (code != ERR_OK)
    return code;
  if (stop.is_open) {
    *said = past_stop_belief(place, &stop, arena);
    belief->stop = said;
  }
  struct air *air = air_new(place->facility, NULL);

  *live = (struct answer_live){.facility = place->facility,
                               .feeds = place->feeds,
                               .belief = belief,
                               .zone = place->zone,
                               .since_ms = INT64_MIN};
  live->air = air ? air_ask(air, &belief->scene, &air_settings_sure, arena, &unsolved) : NULL;
  air_free(air);
  return ERR_OK;
}

enum err_code standing_of_record(const struct past_place *place, const struct standing_asked *asked,
                                 struct arena *arena, struct standing_table **out, struct err *err)
{
  const struct standing_place at = {place->facility, place->zone, asked->wet, asked->clock_ms};
  struct standing_moment moment = {.facility = place->facility,
                                   .zone = place->zone,
                                   .now_ms = asked->t_ms,
                                   .processes = asked->processes,
                                   .bookings = asked->bookings,
                                   .bookings_why = asked->bookings_why};
  struct standing_told *told = NULL;
  struct answer_live live;
  enum err_code code = ERR_OK;

  if (place->record)
    code = standing_recorded(place->record, &at, asked->t_ms, arena, &told, err);
  if (code == ERR_OK && place->record && place->feeds) {
    code = see(place, asked->t_ms, arena, &live, err);
    moment.live = &live;
  }
  if (code != ERR_OK)
    return code;
  moment.told = told;
  *out = standing_new(&moment, arena);
  standing_settle(*out);
  return ERR_OK;
}
