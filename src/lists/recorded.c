/* Any of the lists, of a moment of the record. */
#include "lists/lists_impl.h"

void lists_take(struct lists_moment *moment, const struct standing_told *told)
{
  moment->withdrawn = told->withdrawn;
  moment->runs = told->runs;
  moment->told = told->incidents;
  moment->told_count = told->incident_count;
  moment->baths = told->baths;
  moment->waste = told->waste;
}

/* A record of another suite knows nothing of this one: a list of "not known" would hide the mistake. */
static enum err_code check_suite(const struct past_place *place, struct arena *arena,
                                 struct err *err)
{
  int count = place->feeds->point_count;
  struct feed_observation *list = ARENA_ARRAY(arena, struct feed_observation, (size_t)count + 1);
  const char *other;

  if (!list)
    return err_set(err, ERR_LIMIT, "too many points for one list");
  enum err_code code = record_latest(place->record, list, count, err);

  for (int i = 0; code == ERR_OK && i < count; i++)
    if (list[i].t_ms != INT64_MIN)
      return ERR_OK;
  if (code == ERR_OK)
    code = record_other_suite(place->record, place->facility, arena, &other, err);
  if (code == ERR_OK && other)
    return err_set(err, ERR_INPUT,
                   "the record holds values of the suite '%.80s' and none of '%.80s': was it "
                   "renamed? Ask with the name it had",
                   other, place->facility->name ? place->facility->name : "(no name)");
  return code;
}

enum err_code lists_of_record(const struct past_place *place, const struct lists_asked *asked,
                              struct arena *arena, struct lists_page **out, struct err *err)
{
  struct lists_moment moment = {
      .facility = place->facility, .feeds = place->feeds, .zone = place->zone, .t_ms = asked->t_ms};
  struct watch_belief belief;
  struct watch_stop said;
  struct past_stop stop;
  struct standing_told *told;
  const struct standing_place at = {place->facility, place->zone, asked->wet, 0};
  enum err_code code = check_suite(place, arena, err);

  if (code != ERR_OK)
    return code;
  if (asked->kind == LISTS_RESTART)
    return lists_restart(place, asked->t_ms, arena, out, err);
  if (asked->kind == LISTS_HANDOVER)
    return lists_handover(place, asked->part, asked->t_ms, asked->now_ms, arena, out, err);
  code = past_believe(place, asked->t_ms, INT64_MAX, arena, &belief, err);

  if (code == ERR_OK)
    code = standing_recorded(place->record, &at, asked->t_ms, arena, &told, err);
  if (code == ERR_OK)
    code = past_stop_find(place, asked->t_ms, arena, &stop, err);
  if (code != ERR_OK)
    return code;
  if (stop.is_open) {
    said = past_stop_belief(place, &stop, arena);
    belief.stop = &said;
  }
  lists_take(&moment, told);
  moment.belief = &belief;
  *out = asked->kind == LISTS_LEAVE ? lists_leave(&moment, arena) : lists_responder(&moment, arena);
  return ERR_OK;
}

struct lists_page *lists_form(const struct facility *facility, const struct feeds *feeds,
                              enum lists_kind kind, const char *part, struct arena *arena)
{
  const struct lists_moment moment = {.facility = facility, .feeds = feeds, .t_ms = INT64_MIN};

  switch (kind) {
  case LISTS_LEAVE:
    return lists_leave(&moment, arena);
  case LISTS_RESPONDER:
    return lists_responder(&moment, arena);
  case LISTS_RESTART:
    return lists_restart_form(facility, arena);
  case LISTS_HANDOVER:
  case LISTS_KIND_COUNT:
    break;
  }
  return lists_handover_form(facility, part, arena);
}
