/* Facts of what points measure and of the shared air: a live answer, station by station. */
#include "standing/standing_impl.h"

#include <math.h>

struct seeing {
  struct standing_table *table;
  const struct answer_live *live;
  struct answer_live_verdict verdict;
};

static struct standing_fact fact_of(const char *kind, enum standing_says says, const char *line,
                                    const char *text, const char *next)
{
  struct standing_fact fact = standing_fact_of(kind, says);

  fact.line = line;
  fact.text = text;
  fact.next = next;
  fact.source = "as measured now";
  return fact;
}

static const char *copy(struct seeing *s, const char *text)
{
  return standing_say(s->table, "%s", text);
}

static void add_here(struct seeing *s, int station, const struct standing_fact *fact)
{
  standing_add(s->table, station, fact);
}

/* ---- points ---- */

/* Of what the points of that station say of one thing the youngest; -1: there is no such point. */
static int point_of(const struct answer_live *live, int station, enum feeds_what what)
{
  int best = -1;

  for (int i = 0; i < live->feeds->point_count; i++) {
    const struct feeds_point *p = &live->feeds->points[i];

    if (p->of != FEEDS_OF_STATION || p->index != station || p->what != what)
      continue;
    if (best < 0 || live->belief->inputs[i].age_s < live->belief->inputs[best].age_s ||
        isnan(live->belief->inputs[best].age_s))
      best = i;
  }
  return best;
}

/* What tells, or would tell, how far up its sash is. */
static int sash_point_of(const struct answer_live *live, int station)
{
  int point = live->belief->stations[station].sash_point;

  if (point < 0)
    point = point_of(live, station, FEEDS_OPENING);
  return point < 0 ? point_of(live, station, FEEDS_FLOW) : point;
}

/* Its moment, its source, and how old it may be. */
static void set_point(struct seeing *s, int point, struct standing_fact *fact)
{
  const struct feeds_point *p;
  double age_s;

  if (point < 0)
    return;
  p = &s->live->feeds->points[point];
  age_s = s->live->belief->inputs[point].age_s;
  fact->source = standing_say(s->table, "point %s", p->part.id);
  fact->at_most_s = p->old_after_s;
  if (!isnan(age_s))
    fact->t_ms = s->live->belief->now_ms - (int64_t)llround(age_s * 1e3);
}

static void add_own_alarm(struct seeing *s, int station)
{
  int point = point_of(s->live, station, FEEDS_ALARM);
  struct standing_fact fact =
      fact_of("own alarm", STANDING_CONDITION, "READ ITS OWN ALARM",
              "No point tells its own alarm here.", "Read the alarm on the station itself.");

  if (s->live->belief->stations[station].own_alarm)
    fact = fact_of("own alarm", STANDING_AGAINST, "ITS OWN ALARM IS ON",
                   "Its own alarm is on: follow it.",
                   "Stop, cap, lower, step away. Staff release stations.");
  else if (point >= 0 && s->live->belief->inputs[point].age != WATCH_FRESH)
    fact = fact_of("own alarm", STANDING_NOT_KNOWN, "ITS OWN ALARM IS NOT HEARD",
                   "What tells its own alarm is too old, or never came.",
                   "Read the alarm on the station itself.");
  else if (point >= 0)
    fact =
        fact_of("own alarm", STANDING_NOTED, "OWN ALARM QUIET", "Its own alarm is not on.", NULL);
  fact.source = "the feeds file";
  set_point(s, point, &fact);
  add_here(s, station, &fact);
}

static bool has_sash(const struct facility_station *s)
{
  return s->flow != FACILITY_CONSTANT || s->has_openings;
}

static void add_sash(struct seeing *s, int station)
{
  const struct watch_station *w = &s->live->belief->stations[station];
  struct standing_fact fact = fact_of("sash", STANDING_NOT_KNOWN, "HOW ITS SASH STANDS", "",
                                      "Look, and tell what you read.");

  if (s->live->belief->scene.stations[station].blocked && !w->blocked_why) {
    fact = fact_of("sash", STANDING_AGAINST, "SOMETHING UNDER ITS SASH",
                   "Something stands under its sash: it cannot come down.",
                   "Clear it before anybody starts.");
    set_point(s, point_of(s->live, station, FEEDS_BLOCKED), &fact);
    add_here(s, station, &fact);
  } else if (w->not_known || w->blocked_why) {
    fact.text = copy(s, w->not_known && w->why ? w->why : w->blocked_why ? w->blocked_why : "");
    set_point(s, sash_point_of(s->live, station), &fact);
    add_here(s, station, &fact);
  } else if (w->assumed) {
    fact.text = "No point says how far up its sash is.";
    fact.source = "the feeds file";
    add_here(s, station, &fact);
  }
}

/* Who stands at the tablet is sensed, too: somebody beside a sash that is down is a question. */
static void add_use(struct seeing *s, int station)
{
  const struct watch_station *w = &s->live->belief->stations[station];
  const struct scene_station *now = &s->live->belief->scene.stations[station];
  bool is_known = !w->not_known && !w->assumed;
  struct standing_fact fact;

  if (is_known && now->raised && has_sash(&s->table->moment->facility->stations[station])) {
    fact = fact_of("use", STANDING_AGAINST,
                   w->has_presence && !w->present ? "OPEN, NOBODY THERE" : "IN USE",
                   !w->has_presence ? "Its sash is up; whether anybody is there is not known."
                   : w->present     ? "Its sash is up; somebody is there."
                                    : "Its sash is up; nobody is there.",
                   "Ask the person there; never move another's sash over work.");
    set_point(s, w->sash_point, &fact);
  } else if (w->has_presence) {
    fact = fact_of("use", w->present ? STANDING_CONDITION : STANDING_NOTED,
                   w->present ? "SOMEBODY IS THERE" : "NOBODY THERE",
                   w->present ? "Somebody is sensed there." : "Nobody is sensed there.",
                   w->present ? "If it is not you, ask the person there." : NULL);
    set_point(s, point_of(s->live, station, FEEDS_PRESENCE), &fact);
  } else {
    fact = fact_of("use", STANDING_CONDITION, "LOOK WHO USES IT",
                   "No point tells whether anybody is there.", "Look whether somebody uses it.");
  }
  add_here(s, station, &fact);
}

/* ---- shared air ---- */

static enum facility_level level_at(const struct seeing *s, int station)
{
  const struct facility *f = s->live->facility;
  enum facility_level worst = FACILITY_AMPLE;

  for (int i = 0; i < f->main_count + f->supply_count; i++)
    if (air_pool_has_station(f, i, station) && s->verdict.pools[i] > worst)
      worst = s->verdict.pools[i];
  return worst;
}

static const struct watch_gap *contradiction_at(const struct seeing *s, int station)
{
  const struct facility *f = s->live->facility;

  for (int k = 0; k < s->verdict.contradiction_count; k++)
    for (int i = 0; i < f->main_count + f->supply_count; i++)
      if (air_pool_has_station(f, i, station) &&
          (i < f->main_count ? s->verdict.contradictions[k].of_main[i]
                             : s->verdict.contradictions[k].of_supply[i - f->main_count]))
        return &s->verdict.contradictions[k];
  return NULL;
}

/* What of it is not known: the first gap that concerns a pool of this station. */
static const char *gap_at(struct seeing *s, int station)
{
  const struct facility *f = s->live->facility;

  for (int k = 0; k < s->live->belief->gap_count; k++) {
    const struct watch_gap *gap = &s->live->belief->gaps[k];

    for (int i = 0; gap->needed && i < f->main_count + f->supply_count; i++)
      if (air_pool_has_station(f, i, station) &&
          (i < f->main_count ? gap->of_main[i] : gap->of_supply[i - f->main_count]))
        return copy(s, gap->text);
  }
  return "The shared air could not be computed for this station.";
}

static struct standing_fact air_by_level(struct seeing *s, enum facility_level level,
                                         const char *why)
{
  switch (level) {
  case FACILITY_SHORT:
    return fact_of("air", STANDING_AGAINST, "AIR WOULD BE SHORT",
                   standing_say(s->table, "Opening it to work would miss: %s.", why),
                   "Leave it parked; see which sash is lowered first.");
  case FACILITY_NEAR_LIMIT:
    return fact_of(
        "air", STANDING_CONDITION, "AIR NEAR LIMIT",
        standing_say(s->table, "There is air for it; the next one opened could miss: %s.", why),
        "No higher than its mark.");
  case FACILITY_AMPLE:
    return fact_of("air", STANDING_NOTED, "AIR FOR IT",
                   "There is shared air to open it to its mark.", NULL);
  case FACILITY_NOT_KNOWN:
    break;
  }
  return fact_of("air", STANDING_NOT_KNOWN, "SHARED AIR", why, "Keep what is parked parked.");
}

/* Of one that is open, or always on. */
static struct standing_fact air_by_pools(struct seeing *s, enum facility_level level,
                                         const char *why)
{
  if (level == FACILITY_NEAR_LIMIT)
    return fact_of("air", STANDING_CONDITION, "AIR NEAR LIMIT",
                   standing_say(s->table, "The air it shares is near its limit: %s.", why),
                   "No higher than its mark.");
  if (level == FACILITY_AMPLE)
    return fact_of("air", STANDING_NOTED, "SHARED AIR AMPLE", "The air it shares is ample.", NULL);
  return air_by_level(s, level, why);
}

static struct standing_fact air_at(struct seeing *s, int station)
{
  const struct air_station *air = &s->live->air->stations[station];
  const struct air_may_open *may = &air->may_open;
  enum facility_level level = level_at(s, station);
  const char *why = s->verdict.reason_count > 0 ? copy(s, s->verdict.reasons[0]) : "a limit";

  if (air->own_fault)
    return fact_of("air", STANDING_AGAINST, "ITS OWN FAULT",
                   "It misses its criterion even with every other station parked.",
                   "Stop, cap, lower, step away; call who takes care of it.");
  if (level == FACILITY_SHORT)
    return fact_of("air", STANDING_AGAINST, "AIR IS SHORT", why,
                   "Leave it parked; see which sash is lowered first.");
  if (!may->asked)
    return air_by_pools(s, level, why);
  if (may->has_sure && !may->sure && may->state_after != FACILITY_SHORT)
    return fact_of("air", STANDING_NOT_KNOWN, "NOT SURE OF ITS AIR",
                   "There is air for it at the best estimate only; within the ± of the figures "
                   "something would be missed.",
                   "Leave it parked.");
  return air_by_level(s, may->state_after, may->binding ? copy(s, may->binding) : why);
}

static bool is_outranked(const struct answer_live *live)
{
  bool alarm = live->belief->building_alarm || live->belief->stop;

  for (int i = 0; i < live->facility->station_count; i++)
    alarm = alarm || live->belief->stations[i].own_alarm;
  return alarm;
}

static void add_air(struct seeing *s, int station)
{
  const struct watch_gap *gap = contradiction_at(s, station);
  bool known = level_at(s, station) != FACILITY_NOT_KNOWN && s->live->air && s->live->air->solved;
  struct standing_fact fact;

  if (gap)
    fact = fact_of("air", STANDING_CONTRADICTORY, "SHARED AIR CONTRADICTS ITSELF",
                   copy(s, gap->text), "Call the ventilation technician.");
  else if (!known)
    fact = air_by_level(s, FACILITY_NOT_KNOWN, gap_at(s, station));
  else if (is_outranked(s->live))
    fact = air_by_level(s, FACILITY_NOT_KNOWN,
                        "An alarm or a stop outranks it: no advice on shared air is given.");
  else
    fact = air_at(s, station);
  fact.source = "computed from what is measured";
  fact.t_ms = s->live->belief->now_ms;
  add_here(s, station, &fact);
}

/* ---- what outranks all ---- */

static void add_outranking(struct seeing *s, int station)
{
  const struct watch_stop *stop = s->live->belief->stop;
  struct standing_fact fact;

  if (s->live->belief->building_alarm) {
    fact = fact_of("building alarm", STANDING_AGAINST, "BUILDING ALARM",
                   "The building's alarm is on.", "Follow the building.");
    add_here(s, station, &fact);
  }
  if (stop && !stop->released[station] && !stop->withdrawn[station]) {
    fact = fact_of("stop", STANDING_AGAINST, "NO WORK: NOT RELEASED", copy(s, stop->why),
                   copy(s, stop->next));
    fact.source = "the record";
    fact.t_ms = stop->since_ms;
    add_here(s, station, &fact);
  }
}

/* Where no record says by whom. */
static void add_withdrawn(struct seeing *s, int station)
{
  const struct standing_told *told = s->table->moment->told;
  const struct answer_live_withdrawn *w = s->live->withdrawn ? &s->live->withdrawn[station] : NULL;
  struct standing_fact fact;

  if (!s->live->belief->scene.stations[station].withdrawn ||
      (told && !told->other_suite && told->withdrawn[station]))
    return;
  fact = fact_of("withdrawn", STANDING_AGAINST, "WITHDRAWN",
                 w && w->who ? standing_say(s->table, "Taken out of use by %s: %s", w->who, w->why)
                             : "Taken out of use; by whom and why is not known.",
                 "Leave it.");
  if (w && w->who)
    fact.t_ms = w->since_ms;
  add_here(s, station, &fact);
}

static void add_nothing(struct standing_table *table)
{
  struct standing_fact fact = standing_fact_of("air", STANDING_NOT_KNOWN);

  fact.line = "NOTHING IS MEASURED";
  fact.text = "Nothing that is measured is at hand: sash, own alarm and shared air are not known.";
  fact.next = "Read the station's own instruments.";
  fact.source = "nothing is connected, or no record is asked";
  for (int i = 0; i < table->moment->facility->station_count; i++)
    standing_add(table, i, &fact);
}

void standing_add_seen(struct standing_table *table)
{
  struct seeing s = {.table = table, .live = table->moment->live};

  if (!s.live) {
    add_nothing(table);
    return;
  }
  s.verdict = answer_live_judge(s.live, table->arena);
  for (int i = 0; i < table->moment->facility->station_count; i++) {
    add_outranking(&s, i);
    add_withdrawn(&s, i);
    if (!table->moment->facility->stations[i].in_service)
      continue;
    add_own_alarm(&s, i);
    if (has_sash(&table->moment->facility->stations[i]))
      add_sash(&s, i);
    add_use(&s, i);
    add_air(&s, i);
  }
}
