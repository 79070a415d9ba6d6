#include "errand/errand_impl.h"

#include <string.h>

/*
 * What the act names during one shortage.  The figures may name another sash at every judgement; here a
 * name holds, and what must not be named goes at once.
 */

static bool contains(const struct air_lower *list, int count, int station)
{
  for (int i = 0; i < count; i++)
    if (list[i].station == station)
      return true;
  return false;
}

static bool is_same_list(const struct errands *e, const struct air_lower_list *list)
{
  bool same = e->named_count == list->count;

  for (int i = 0; i < list->count && same; i++)
    same = contains(e->named, e->named_count, list->sashes[i].station);
  return same;
}

bool errand_is_named(const struct errands *e, int station)
{
  return contains(e->named, e->named_count, station);
}

/* Whether the station's own rule would ask for less there; a passive one follows what it is given. */
static bool frees(const struct judge_seen *seen, int station, const struct air_lower *what)
{
  const struct facility_station *s = &seen->facility->stations[station];
  const struct scene_station *now = &seen->belief->scene.stations[station];
  bool stays_up = what->has_to_m && what->to_m > s->parked_m;

  return s->flow == FACILITY_PASSIVE ||
         facility_station_rule_m3_s(s, now->raised, now->opening_m) -
                 facility_station_rule_m3_s(s, stays_up,
                                            what->has_to_m ? what->to_m : s->parked_m) >
             1e-9;
}

const char *errand_barred(const struct judge_seen *seen, int station, const struct air_lower *what)
{
  const struct scene_station *now = &seen->belief->scene.stations[station];

  if (!seen->facility->stations[station].in_service)
    return "it is out of service";
  if (now->withdrawn)
    return "it is withdrawn";
  if (seen->belief->stations[station].not_known)
    return "it is not known how far up its sash is";
  if (now->needs_flow)
    return "it needs its flow";
  if (now->blocked)
    return "something stands under its sash";
  if (!now->raised || !frees(seen, station, what))
    return "lowering it frees nothing any more";
  return NULL;
}

static void drop_barred(struct errands *e, const struct judge_seen *seen)
{
  int kept = 0;

  for (int i = 0; i < e->named_count; i++) {
    const struct air_lower *what = &e->named[i];

    if (!errand_barred(seen, what->station, what) && !errand_is_there(e, seen, what->station, what))
      e->named[kept++] = *what;
  }
  e->named_count = kept;
}

static void take_list(struct errands *e, const struct judge_seen *seen,
                      const struct air_lower_list *list)
{
  e->named_count = 0;
  e->differs = false;
  for (int i = 0; i < list->count; i++)
    if (!errand_barred(seen, list->sashes[i].station, &list->sashes[i]))
      e->named[e->named_count++] = list->sashes[i];
}

/* Lowering is not enough: that is said at once, and stays said for a while. */
static void look_at_call(struct errands *e, const struct air_lower_list *list, int64_t t_ms)
{
  if (!list->found && !list->shut_doors) {
    e->calls = true;
    e->called_ms = t_ms;
  } else if (e->calls && t_ms - e->called_ms >= errand_ms(e->given.feeds->lower.hold_s))
    e->calls = false;
}

void errand_name(struct errands *e, const struct judge_seen *seen)
{
  const struct air_lower_list *list;

  if (!e->is_short || !e->advises) {
    e->named_count = 0;
    e->differs = e->calls = false;
    return;
  }
  list = &seen->air->ends_short;
  look_at_call(e, list, seen->t_ms);
  drop_barred(e, seen);
  if (e->named_count == 0) {
    take_list(e, seen, list);
    return;
  }
  if (is_same_list(e, list)) {
    e->differs = false;
    return;
  }
  if (!e->differs) {
    e->differs = true;
    e->differs_since_ms = seen->t_ms;
  }
  if (seen->t_ms - e->differs_since_ms >= errand_ms(e->given.feeds->lower.hold_s))
    take_list(e, seen, list);
}

bool errands_named(const struct errands *e, struct answer_live_asked *out)
{
  *out = (struct answer_live_asked){e->named, e->named_count, e->calls};
  return e->is_short && e->advises && (e->named_count > 0 || e->calls);
}
