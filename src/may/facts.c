#include "may/may_impl.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* What is known of everything that rules speak of. */

enum { DAY_MIN = 24 * 60 };

static int day_of(const struct when_civil *at)
{
  const struct when_civil midnight = {.year = at->year, .month = at->month, .day = at->day};
  int64_t first_ms = 0, second_ms;

  (void)when_of(when_utc(), &midnight, &first_ms, &second_ms);
  return (int)(first_ms / 86400000);
}

void may_set_time(struct may_state *s, int64_t t_ms)
{
  const struct when_zone *zone = s->may->place.zone;
  int64_t lasts_ms = (int64_t)(s->lasts_s * 1000);
  struct when_civil last = when_civil(zone, t_ms + (lasts_ms > 0 ? lasts_ms - 1 : 0), NULL);

  s->t_ms = t_ms;
  s->begins = when_civil(zone, t_ms, NULL);
  s->ends = when_civil(zone, t_ms + lasts_ms, NULL);
  s->day = day_of(&s->begins);
  s->last_day = day_of(&last); /* midnight is still the day before */
}

bool may_confirmed(const struct may_state *s, const char *text)
{
  for (int i = 0; i < s->request->confirm_count; i++)
    if (strcasecmp(s->request->confirm[i], text) == 0)
      return true;
  return false;
}

bool may_is_asked_of(const struct may_state *s)
{
  const char *id = s->may->place.facility->stations[s->station].part.id;

  return !s->request->station || strcmp(s->request->station, id) == 0;
}

const char may_second_seen[] = "a second person is inside";

bool may_strangers_count(const struct may_state *s)
{
  return s->stranger_count > 0 && may_confirmed(s, may_second_seen);
}

/* False: not valid, and *out says why. */
bool may_endorsed(const struct may_state *s, int person, int endorsement, struct arena *arena,
                  struct people_verdict *out)
{
  const struct people *people = s->may->place.people;

  if (person == s->person && s->renewed >> endorsement & 1) {
    *out = (struct people_verdict){.standing = PEOPLE_VALID, .why = "renewed"};
    return true;
  }
  if (people->list[person].status != PEOPLE_ACTIVE) {
    *out = (struct people_verdict){.standing = PEOPLE_NOT_VALID,
                                   .why = people->list[person].status_why};
    return false;
  }
  *out = people_endorsed(people, person, endorsement, s->day, arena);
  if (out->standing != PEOPLE_VALID || s->last_day == s->day)
    return out->standing == PEOPLE_VALID;

  struct people_verdict then = people_endorsed(people, person, endorsement, s->last_day, arena);

  if (then.standing == PEOPLE_VALID)
    return true;
  then.why = arena_printf(arena, "not until it ends: %s", then.why);
  *out = then;
  return false;
}

struct people_hours may_hours(const struct may_state *s, struct arena *arena)
{
  struct people_hours none = {.now = PEOPLE_HOURS_UNKNOWN,
                              .next_day = ROSTER_NO_DAY,
                              .why = "the suite names no people file, and so no staffed hours"};

  return s->may->roster ? people_hours(s->may->roster, &s->begins, arena) : none;
}

enum rule_truth may_staffed_throughout(const struct may_state *s, struct arena *arena)
{
  struct people_hours begin = may_hours(s, arena);
  const struct roster *r = s->may->roster;

  if (begin.now != PEOPLE_STAFFED || !r)
    return begin.now == PEOPLE_HOURS_UNKNOWN ? RULE_UNKNOWN : RULE_NO;
  if (s->lasts_s <= 0)
    return RULE_UNKNOWN; /* nobody said how long it takes */
  int start = 60 * s->begins.hour + s->begins.minute;

  return start + s->lasts_s / 60 <= r->closes_min[when_weekday(&s->begins)] &&
                 s->lasts_s / 60 < DAY_MIN
             ? RULE_YES
             : RULE_NO;
}

/* ---- slots ---- */

static struct rule_value truth(bool yes, const char *why)
{
  return (struct rule_value){.known = true, .number_si = yes ? 1 : 0, .why = why};
}

static struct rule_value number(double number_si)
{
  return (struct rule_value){.known = !isnan(number_si), .number_si = number_si};
}

static struct rule_value word(const char *text)
{
  return (struct rule_value){.known = text != NULL, .text = text};
}

static struct rule_value unknown(const char *why)
{
  return (struct rule_value){.why = why};
}

static struct rule_value used(const struct may_state *s, const struct may_uses *uses,
                              const char *name)
{
  if (may_is_used(&s->may->place, uses, name))
    return truth(true, NULL);
  return uses->whole ? truth(false, NULL) : unknown("something it uses is in no table");
}

static struct rule_value has_hazard(const struct may_state *s, const char *code)
{
  for (int i = 0; i < s->process->hazard_count; i++)
    if (strcasecmp(s->process->hazards[i], code) == 0)
      return truth(true, NULL);
  for (int i = 0; i < s->process->hazard_count; i++)
    if (!rule_is_ghs(s->process->hazards[i]))
      return unknown("one of its hazards is no code of GHS");
  return s->process->hazard_count > 0 ? truth(false, NULL)
                                      : unknown("the process names no hazards");
}

static struct rule_value document(const struct may_state *s, struct arena *arena)
{
  if (s->document_renewed)
    return truth(true, NULL);
  if (!s->process->document)
    return truth(false, "it names no document");
  return truth(roster_day(s->process->review) > s->last_day,
               arena_printf(arena, "next review %s", s->process->review));
}

static struct rule_value withdrawn(const struct may_state *s)
{
  if (!s->may->place.facility->stations[s->station].in_service)
    return truth(true, "the suite's file has it out of service");
  if (s->request->scene && s->request->scene->stations[s->station].withdrawn)
    return truth(true, "taken out of use in the scene");
  if (!may_is_asked_of(s))
    return unknown("the record and whoever looked speak of another station");
  if (s->request->withdrawn_known || s->request->withdrawn)
    return truth(s->request->withdrawn != NULL, s->request->withdrawn);
  return may_confirmed(s, "station in use") ? truth(false, "confirmed")
                                            : unknown("no record is given");
}

/* What the list says against it outweighs who looked: the list is put right first. */
static struct rule_value proof(const struct may_state *s)
{
  enum may_proofs proofs = may_is_asked_of(s) ? s->request->proofs : MAY_PROOFS_NOT_KNOWN;

  if (proofs == MAY_PROOFS_AGAINST)
    return truth(false, "one is out of date or was missed, by the suite's list");
  if (may_confirmed(s, "station proof in date"))
    return truth(true, "confirmed");
  if (proofs == MAY_PROOFS_IN_DATE)
    return truth(true, "all of the suite's list are");
  return unknown(s->may->place.facility->readiness.proof_count
                     ? "the suite lists proofs; 'inward ready' says which are in date"
                     : "no proof is kept here");
}

static const char *deck_word(const struct may_state *s)
{
  const struct processes *p = s->may->place.processes;
  const char *first = "none";

  for (int i = 0; i < s->beside_count; i++) {
    const char *word_of = processes_family_word(p->list[s->beside[i]].family);

    if (i > 0 && strcmp(first, word_of) != 0)
      return NULL;
    first = word_of;
  }
  return s->beside_known ? first : NULL;
}

static struct rule_value beside_uses(const struct may_state *s, const char *name)
{
  struct rule_value out =
      s->beside_known ? truth(false, NULL) : unknown("what else is at the station is not said");

  for (int i = 0; i < s->beside_count; i++) {
    struct rule_value one = used(s, &s->may->uses[s->beside[i]], name);

    if (one.known && one.number_si > 0.5)
      return one;
    if (!one.known)
      out = one;
  }
  return out;
}

static int counted_inside(const struct may_state *s)
{
  return 1 + s->inside_count + (may_strangers_count(s) ? s->stranger_count : 0) +
         (s->another ? 1 : 0);
}

static struct rule_value inside(const struct may_state *s)
{
  if (!s->inside_known && !s->another)
    return unknown("who is inside is not said");
  if (s->stranger_count > 0 && !may_strangers_count(s))
    return unknown("whether all of those are a second person is not known");
  return number(counted_inside(s));
}

static struct rule_value inside_with(const struct may_state *s, int endorsement,
                                     struct arena *arena)
{
  struct people_verdict v;
  int count = s->another ? 1 : 0;

  if (!s->inside_known && !s->another)
    return unknown("who is inside is not said");
  if (endorsement < 0 || !s->may->place.people)
    return unknown("the suite has no such endorsement");
  if (s->person >= 0 && may_endorsed(s, s->person, endorsement, arena, &v))
    count++;
  for (int i = 0; i < s->inside_count; i++)
    if (may_endorsed(s, s->inside[i], endorsement, arena, &v))
      count++;
  return number(count);
}

static struct rule_value person_has(const struct may_state *s, int endorsement, struct arena *arena)
{
  struct people_verdict v;

  if (s->person < 0 || endorsement < 0)
    return truth(false, "nobody knows this person");
  bool yes = may_endorsed(s, s->person, endorsement, arena, &v);

  return truth(yes, v.why);
}

static const char *weekday_word(const struct when_civil *at)
{
  static const char *const words[] = {"monday", "tuesday",  "wednesday", "thursday",
                                      "friday", "saturday", "sunday"};

  return words[when_weekday(at)];
}

static struct rule_value staffed(const struct may_state *s, struct arena *arena)
{
  struct people_hours hours = may_hours(s, arena);

  return hours.now == PEOPLE_HOURS_UNKNOWN ? unknown(hours.why)
                                           : truth(hours.now == PEOPLE_STAFFED, hours.why);
}

static struct rule_value staffed_throughout(const struct may_state *s, struct arena *arena)
{
  enum rule_truth t = may_staffed_throughout(s, arena);

  return t == RULE_UNKNOWN ? unknown("staffed hours, or how long it takes, are not said")
                           : truth(t == RULE_YES, NULL);
}

static struct rule_value of_place(const struct may_state *s, const struct rule_slot *slot)
{
  const struct facility *f = s->may->place.facility;
  const struct facility_station *station = &f->stations[s->station];

  switch ((int)slot->name) {
  case RULE_STATION_IS:
    return truth(strcmp(station->part.id, slot->argument) == 0, NULL);
  case RULE_STATION_KIND:
    return word(station->kind == FACILITY_OTHER_KIND ? "other" : facility_kind_name(station->kind));
  case RULE_STATION_ROOM:
    return word(f->rooms[station->room].part.id);
  case RULE_STATION_WITHDRAWN:
    return withdrawn(s);
  case RULE_STATION_PROOF:
    return proof(s);
  case RULE_DECK_FAMILY:
    return deck_word(s) ? word(deck_word(s)) : unknown("what is on the deck now is not said");
  case RULE_BESIDE_USES:
    return beside_uses(s, slot->argument);
  case RULE_AIR:
  default:
    return s->air && s->air->known ? word(air_level_name(s->air->after))
                                   : unknown("the shared air then is not known");
  }
}

/* By its id in the tables: "Quartz" and "fused silica" are quartz for a rule. */
static struct rule_value vessel(const struct may_state *s)
{
  const char *id =
      s->process->vessel ? meet_material_id(s->may->place.meet, s->process->vessel) : NULL;

  return id ? word(id)
            : unknown(s->process->vessel ? "no table knows its vessel"
                                         : "the process names no vessel");
}

static struct rule_value of_process(const struct may_state *s, const struct rule_slot *slot,
                                    struct arena *arena)
{
  const struct processes_process *p = s->process;
  struct rule_value out;

  switch ((int)slot->name) {
  case RULE_PROCESS_IS:
    return truth(strcmp(p->part.id, slot->argument) == 0, NULL);
  case RULE_PROCESS_USES:
    return used(s, s->uses, slot->argument);
  case RULE_PROCESS_HAZARD:
    return has_hazard(s, slot->argument);
  case RULE_PROCESS_FAMILY:
    return word(processes_family_word(p->family));
  case RULE_PROCESS_VESSEL:
    return vessel(s);
  case RULE_PROCESS_TEMPERATURE:
    return number(p->temperature_K);
  case RULE_PROCESS_BELOW_FLASH:
    out = number(s->uses->below_flash_K);
    out.why = s->uses->below_flash_why;
    return out;
  case RULE_PROCESS_LASTS:
    return s->lasts_s > 0 ? number(s->lasts_s) : unknown("how long it takes is not said");
  case RULE_PROCESS_DOCUMENT:
  default:
    return document(s, arena);
  }
}

static struct rule_value of_slot(const struct may_state *s, const struct rule_slot *slot,
                                 int endorsement, struct arena *arena)
{
  switch (slot->name) {
  case RULE_PERSON_HAS:
    return person_has(s, endorsement, arena);
  case RULE_UNATTENDED:
    return truth(s->unattended, NULL);
  case RULE_INSIDE:
    return inside(s);
  case RULE_INSIDE_WITH:
    return inside_with(s, endorsement, arena);
  case RULE_STAFFED:
    return staffed(s, arena);
  case RULE_STAFFED_THROUGHOUT:
    return staffed_throughout(s, arena);
  case RULE_HOUR:
    return number(60.0 * s->begins.hour + s->begins.minute);
  case RULE_WEEKDAY:
    return word(weekday_word(&s->begins));
  case RULE_CONFIRMED:
    return may_confirmed(s, slot->argument) ? truth(true, "confirmed") : unknown("not confirmed");
  case RULE_PROCESS_IS:
  case RULE_PROCESS_USES:
  case RULE_PROCESS_HAZARD:
  case RULE_PROCESS_FAMILY:
  case RULE_PROCESS_VESSEL:
  case RULE_PROCESS_TEMPERATURE:
  case RULE_PROCESS_BELOW_FLASH:
  case RULE_PROCESS_LASTS:
  case RULE_PROCESS_DOCUMENT:
    return of_process(s, slot, arena);
  case RULE_STATION_IS:
  case RULE_STATION_KIND:
  case RULE_STATION_ROOM:
  case RULE_STATION_WITHDRAWN:
  case RULE_STATION_PROOF:
  case RULE_DECK_FAMILY:
  case RULE_BESIDE_USES:
  case RULE_AIR:
  case RULE_NAME_COUNT:
  default:
    return of_place(s, slot);
  }
}

void may_fill(const struct may_state *s, struct rule_value *values, struct arena *arena)
{
  const struct rule_set *set = s->may->set;

  for (int i = 0; set && i < set->slot_count; i++)
    values[i] = of_slot(s, &set->slots[i], s->may->slot_endorsement[i], arena);
}
