#include "may/may_impl.h"

#include <string.h>

/* What `inward check` finds between the files: names that fit nothing, rules against each other. */

struct checking {
  const struct may_place *place;
  const struct roster *roster;
  struct arena *arena;
  struct complaints *complaints;
};

static bool is_thing(const struct may_place *place, const char *text, struct arena *arena)
{
  struct meet_request request = {
      .thing_count = 2, .things = {text, "water"}, .facility = place->facility, .own = place->own};
  struct err err = {0};
  const struct meet_answer *answer = meet_answer(place->meet, &request, arena, &err);

  return answer && answer->things[0].kind != MEET_NOT_KNOWN;
}

static bool is_vessel(const struct may_place *place, const char *text, struct arena *arena)
{
  struct meet_request request = {.thing_count = 1,
                                 .things = {"water"},
                                 .vessel = text,
                                 .facility = place->facility,
                                 .own = place->own};
  struct err err = {0};

  return meet_answer(place->meet, &request, arena, &err) != NULL;
}

static bool is_room(const struct facility *f, const char *text)
{
  for (int i = 0; i < f->room_count; i++)
    if (strcmp(f->rooms[i].part.id, text) == 0)
      return true;
  return false;
}

static bool fits(const void *arg, enum rule_argument kind, const char *text)
{
  const struct checking *c = arg;

  switch (kind) {
  case RULE_ENDORSEMENT:
    return !c->roster || roster_endorsement_find(c->roster, text) >= 0;
  case RULE_PROCESS:
    return !c->place->processes || processes_find(c->place->processes, text) >= 0;
  case RULE_STATION:
    return facility_station_find(c->place->facility, text) >= 0;
  case RULE_ROOM:
    return is_room(c->place->facility, text);
  case RULE_SUBSTANCE:
    return is_thing(c->place, text, c->arena);
  case RULE_VESSEL: /* by its id alone, which is what it is compared with */
    return is_vessel(c->place, text, c->arena) &&
           strcmp(meet_material_id(c->place->meet, text), text) == 0;
  case RULE_NONE:
  case RULE_FREE:
  case RULE_GHS:
  default:
    return true;
  }
}

static void check_process(const struct checking *c, const struct processes_process *p)
{
  for (int i = 0; i < p->use_count; i++)
    if (!is_thing(c->place, p->uses[i], c->arena))
      complaints_add(c->complaints, p->use_places[i], (int)strlen(p->uses[i]),
                     "process %s: no table knows '%.40s'; name a bath, bottle or substance as "
                     "`inward meet` does",
                     p->part.id, p->uses[i]);
  for (int i = 0; i < p->endorsement_count; i++)
    if (c->roster && roster_endorsement_find(c->roster, p->endorsements[i]) < 0)
      complaints_add(c->complaints, p->endorsement_places[i], (int)strlen(p->endorsements[i]),
                     "process %s: the people file has no endorsement '%.40s'", p->part.id,
                     p->endorsements[i]);
  if (p->vessel && !is_vessel(c->place, p->vessel, c->arena))
    complaints_add(c->complaints, p->vessel_place, (int)strlen(p->vessel),
                   "process %s: no vessel '%.40s'; name a material as `inward meet --vessel` does",
                   p->part.id, p->vessel);
}

/* ---- rules against each other ---- */

static bool counts_for(const struct rules_rule *r, int station, const char *process)
{
  bool here = r->station_count == 0, this_one = r->process_count == 0;

  for (int i = 0; i < r->station_count; i++)
    here = here || r->stations[i] == station;
  for (int i = 0; i < r->process_count; i++)
    this_one = this_one || strcmp(r->processes[i].text, process) == 0;
  return here && this_one;
}

static bool same_days(const struct rules_rule *a, const struct rules_rule *b)
{
  return (!a->until || strcmp(b->from, a->until) <= 0) &&
         (!b->until || strcmp(a->from, b->until) <= 0);
}

static bool is_of_pair(enum rule_name name)
{
  switch ((int)name) {
  case RULE_PROCESS_IS:
  case RULE_PROCESS_USES:
  case RULE_PROCESS_HAZARD:
  case RULE_PROCESS_FAMILY:
  case RULE_PROCESS_VESSEL:
  case RULE_PROCESS_TEMPERATURE:
  case RULE_PROCESS_BELOW_FLASH:
  case RULE_STATION_IS:
  case RULE_STATION_KIND:
  case RULE_STATION_ROOM:
    return true;
  default:
    return false;
  }
}

/* What is always so for that process at that station; the rest is free. */
static void fill_pair(const struct may *may, int process, int station, struct rule_value *values,
                      struct arena *arena)
{
  static const struct may_request nothing = {0};
  struct may_state s = {.may = may,
                        .request = &nothing,
                        .process = &may->place.processes->list[process],
                        .uses = &may->uses[process],
                        .person = -1,
                        .station = station};

  may_set_time(&s, 0);
  may_fill(&s, values, arena);
  for (int i = 0; i < may->set->slot_count; i++)
    if (!is_of_pair(may->set->slots[i].name))
      values[i] = (struct rule_value){0};
}

static void check_pair(const struct checking *c, const struct may *may, int process, int station,
                       bool *told)
{
  const struct processes_process *p = &may->place.processes->list[process];
  const struct rule_set *set = may->set;
  struct rule_value values[MAY_SLOTS_MAX];

  fill_pair(may, process, station, values, c->arena);
  for (int a = 0; a < set->count; a++)
    for (int b = a + 1; b < set->count; b++) {
      const struct rules_rule *one = set->list[a].said, *other = set->list[b].said;

      if (told[a * set->count + b] || !counts_for(one, station, p->part.id) ||
          !counts_for(other, station, p->part.id) || !same_days(one, other) ||
          rule_clash(set, a, b, values) != RULE_CLASH)
        continue;
      told[a * set->count + b] = true;
      complaints_add(
          c->complaints, other->must.place, other->must.width,
          "rule %s contradicts rule %s (line %d): for %s at %s nothing meets both; change "
          "one, or say in `when` or `stations` where it does not count",
          other->part.id, one->part.id, one->must.place.line, p->part.id,
          may->place.facility->stations[station].part.id);
    }
}

static void check_rules(const struct checking *c, const struct may *may)
{
  const struct rule_set *set = may->set;
  const struct rule_value none[MAY_SLOTS_MAX] = {{0}};
  bool *told = ARENA_ARRAY(c->arena, bool, (size_t)set->count *(size_t)set->count + 1);

  BUG_IF(!told);
  for (int i = 0; i < set->count; i++)
    if (rule_clash(set, i, i, none) == RULE_CLASH) {
      complaints_add(c->complaints, set->list[i].said->must.place, set->list[i].said->must.width,
                     "rule %s can never be met; what it demands excludes itself",
                     set->list[i].said->part.id);
      for (int k = 0; k < set->count; k++) /* it clashes with every other, too: once is enough */
        told[i * set->count + k] = told[k * set->count + i] = true;
    }
  for (int p = 0; may->place.processes && p < may->place.processes->count; p++)
    for (int k = 0; k < may->place.processes->list[p].station_count; k++)
      check_pair(c, may, p, may->place.processes->list[p].stations[k], told);
}

struct rule_set *may_read_rules(const struct may_place *place, const struct roster *roster,
                                struct arena *arena, struct complaints *complaints)
{
  struct checking c = {.place = place, .roster = roster, .arena = arena, .complaints = complaints};
  struct rule_known known = {.fits = fits, .arg = &c};

  return rule_read(place->rules, &known, arena, complaints);
}

void may_check(const struct may_place *place, const struct roster *roster, struct arena *arena,
               struct complaints *complaints)
{
  struct checking c = {.place = place, .roster = roster, .arena = arena, .complaints = complaints};

  for (int i = 0; place->processes && i < place->processes->count; i++)
    check_process(&c, &place->processes->list[i]);
  if (place->rules) {
    struct may *may = may_new(place, arena);

    (void)may_read_rules(place, roster, arena, complaints);
    check_rules(&c, may);
  }
  complaints_sort(complaints);
}
