#include "may/may_impl.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* A request to a situation, and that to an answer. */

const char *may_verdict_word(enum may_verdict verdict)
{
  static const char *const words[] = {"rules_met", "unconfirmed", "no"};

  return words[verdict];
}

const char *may_shown_time(const struct when_civil *at, struct arena *arena)
{
  static const char *const days[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
  const char *out = arena_printf(arena, "%s %04d-%02d-%02d %02d:%02d", days[when_weekday(at)],
                                 at->year, at->month, at->day, at->hour, at->minute);

  BUG_IF(!out);
  return out;
}

const char *may_shown_span(double span_s, struct arena *arena)
{
  int minutes = (int)lround(span_s / 60);
  const char *out = minutes < 60 ? arena_printf(arena, "%d min", minutes)
                    : minutes % 60 == 0
                        ? arena_printf(arena, "%d h", minutes / 60)
                        : arena_printf(arena, "%d h %d min", minutes / 60, minutes % 60);

  BUG_IF(!out);
  return out;
}

/* ---- what is looked up once ---- */

struct may *may_new(const struct may_place *place, struct arena *arena)
{
  struct may *may = ARENA_NEW(arena, struct may);
  int processes = place->processes ? place->processes->count : 0;
  struct may_uses *uses = ARENA_ARRAY(arena, struct may_uses, (size_t)processes + 1);

  BUG_IF(!may || !uses);
  may->place = *place;
  may->roster = place->people ? place->people->roster : NULL;
  for (int i = 0; i < processes; i++)
    may_look_up(place, &place->processes->list[i], &uses[i], arena);
  may->uses = uses;
  complaints_init(&may->ignored, arena);
  if (place->rules)
    may->set = may_read_rules(place, may->roster, arena, &may->ignored);
  for (int i = 0; may->set && i < may->set->slot_count; i++) {
    const struct rule_slot *slot = &may->set->slots[i];
    bool names = slot->name == RULE_PERSON_HAS || slot->name == RULE_INSIDE_WITH;

    may->slot_endorsement[i] =
        names && may->roster ? roster_endorsement_find(may->roster, slot->argument) : -1;
  }
  return may;
}

const struct may_place *may_place(const struct may *may)
{
  return &may->place;
}

/* ---- the situation ---- */

static enum err_code find_process(const struct may *may, const struct may_request *r,
                                  struct may_state *s, struct arena *arena, struct err *err)
{
  struct may_uses *uses;
  int at;

  if (r->asked) {
    uses = ARENA_NEW(arena, struct may_uses);
    BUG_IF(!uses);
    may_look_up(&may->place, r->asked, uses, arena);
    s->process = r->asked;
    s->uses = uses;
    return ERR_OK;
  }
  if (!may->place.processes)
    return err_set(err, ERR_INPUT,
                   "the suite names no processes file; write files: {processes: "
                   "processes.yaml}");
  if (!r->process)
    return err_set(err, ERR_USAGE, "do: which process? do=P7");
  at = processes_find(may->place.processes, r->process);
  if (at < 0)
    return err_set(err, ERR_INPUT, "do: no process '%.40s' in the processes file", r->process);
  s->process = &may->place.processes->list[at];
  s->uses = &may->uses[at];
  return ERR_OK;
}

static enum err_code find_station(const struct may *may, const struct may_request *r,
                                  struct may_state *s, struct err *err)
{
  const char *near;

  if (!r->station)
    return err_set(err, ERR_USAGE, "at: at which station? at=A3");
  s->station = facility_station_find(may->place.facility, r->station);
  if (s->station >= 0)
    return ERR_OK;
  near = facility_nearest_id(may->place.facility, r->station);
  return err_set(err, ERR_INPUT, "at: no station '%.40s' in this suite%s%s%s", r->station,
                 near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
}

static enum err_code find_time(const struct may *may, const struct may_request *r,
                               struct may_state *s, struct err *err)
{
  int64_t t_ms = r->now_ms;

  if (r->from && when_read(r->from, may->place.zone, NULL, &t_ms, err) != ERR_OK) {
    err_prefix(err, "from: ");
    return err->code;
  }
  s->lasts_s = r->lasts_s > 0 ? r->lasts_s : isnan(s->process->lasts_s) ? 0 : s->process->lasts_s;
  may_set_time(s, t_ms);
  return ERR_OK;
}

static bool is_inside(const struct may_state *s, int person)
{
  for (int i = 0; i < s->inside_count; i++)
    if (s->inside[i] == person)
      return true;
  return person == s->person;
}

/* Why an id that is said to be inside is perhaps no second person; NULL: it is one. */
static const char *doubt_of(const struct may_state *s, int person)
{
  const struct people *people = s->may->place.people;

  if (person < 0)
    return "stands in no file";
  if (people->list[person].status == PEOPLE_GONE)
    return "is not here any more, by the file";
  if (s->person >= 0 && people_same_name(people, person, s->person))
    return "has the name of who asks";
  for (int i = 0; i < s->inside_count; i++)
    if (people_same_name(people, person, s->inside[i]))
      return "has the name of another inside";
  return NULL;
}

static void add_stranger(struct may_state *s, const char *id, const char *why)
{
  for (int i = 0; i < s->stranger_count; i++)
    if (strcasecmp(s->strangers[i].id, id) == 0)
      return;
  s->strangers[s->stranger_count++] = (struct may_stranger){id, why};
}

static enum err_code find_inside(const struct may *may, const struct may_request *r,
                                 struct may_state *s, struct err *err)
{
  if (r->alone && r->inside_said)
    return err_set(err, ERR_USAGE, "alone: and others are inside? leave one of them away");
  s->inside_known = r->alone || r->inside_said;
  for (int i = 0; i < r->inside_count; i++) {
    int person = may->place.people ? people_find(may->place.people, r->inside[i]) : -1;

    if ((person >= 0 && is_inside(s, person)) || (r->who && strcasecmp(r->inside[i], r->who) == 0))
      continue; /* oneself, or said twice */
    const char *why = doubt_of(s, person);

    if (why)
      add_stranger(s, r->inside[i], why);
    else
      s->inside[s->inside_count++] = person;
  }
  return ERR_OK;
}

static enum err_code find_beside(const struct may *may, const struct may_request *r,
                                 struct may_state *s, struct err *err)
{
  s->beside_known = r->beside_said;
  for (int i = 0; i < r->beside_count; i++) {
    int at = may->place.processes ? processes_find(may->place.processes, r->beside[i]) : -1;

    if (at < 0)
      return err_set(err, ERR_INPUT, "beside: no process '%.40s' in the processes file",
                     r->beside[i]);
    s->beside[s->beside_count++] = at;
  }
  return ERR_OK;
}

enum err_code may_find_all(const struct may *may, const struct may_request *r, struct may_state *s,
                           struct arena *arena, struct err *err)
{
  enum err_code code = find_process(may, r, s, arena, err);

  if (code == ERR_OK && !r->who && !r->asked)
    return err_set(err, ERR_USAGE, "who: which person? who=U14");
  s->person = may->place.people && r->who ? people_find(may->place.people, r->who) : -1;
  s->unattended = r->unattended;
  if (code == ERR_OK)
    code = find_station(may, r, s, err);
  if (code == ERR_OK)
    code = find_time(may, r, s, err);
  if (code == ERR_OK)
    code = find_inside(may, r, s, err);
  if (code == ERR_OK)
    code = find_beside(may, r, s, err);
  return code;
}

/* ---- the answer ---- */

/* No, then to confirm, then met; within each by rank, then as found. */
void may_in_order(struct may_reason *list, int count)
{
  for (int i = 1; i < count; i++) {
    struct may_reason one = list[i];
    int k = i;

    while (k > 0 && (list[k - 1].verdict < one.verdict ||
                     (list[k - 1].verdict == one.verdict && list[k - 1].rank > one.rank))) {
      list[k] = list[k - 1];
      k--;
    }
    list[k] = one;
  }
}

const struct may_answer *may_answer(const struct may *may, const struct may_request *request,
                                    struct arena *arena, struct err *err)
{
  struct may_state s = {.may = may, .request = request, .person = -1};
  struct may_answer *out = ARENA_NEW(arena, struct may_answer);
  struct may_judging j = {.s = &s, .arena = arena};
  const struct people_person *person;

  if (may_find_all(may, request, &s, arena, err) != ERR_OK)
    return NULL;
  j.reasons = ARENA_ARRAY(arena, struct may_reason, MAY_REASONS_MAX);
  BUG_IF(!out || !j.reasons);
  s.chemistry = may_chemistry(&s, arena);
  s.air = may_air(&s, arena);
  person = s.person >= 0 ? &may->place.people->list[s.person] : NULL;
  *out = (struct may_answer){
      .may = may,
      .request = request,
      .verdict = may_judge(&j),
      .who = person ? person->id : request->who,
      .name = person && request->names ? person->name : NULL,
      .process = s.process,
      .station = &may->place.facility->stations[s.station],
      .from_ms = s.t_ms,
      .until_ms = s.t_ms + (int64_t)(s.lasts_s * 1000),
      .reason_count = j.count,
      .reasons = j.reasons,
      .permission_by = may->place.processes ? may->place.processes->permission_by
                                            : "whoever answers for the place",
  };
  may_in_order(j.reasons, j.count);
  may_find_changes(&s, out->verdict, out, arena);
  return out;
}

enum may_verdict may_quickly(const struct may *may, const struct may_quick *quick,
                             struct arena *arena)
{
  static const struct may_request nothing = {.beside_said = true, .withdrawn_known = true};
  struct may_state s = {.may = may,
                        .request = &nothing,
                        .person = quick->person,
                        .process = &may->place.processes->list[quick->process],
                        .uses = &may->uses[quick->process],
                        .station = quick->station,
                        .inside_known = true,
                        .beside_known = true};
  struct may_judging j = {.s = &s, .arena = arena, .quiet = true};

  for (int i = 0; i < quick->inside_count && i < MAY_INSIDE_MAX; i++)
    s.inside[s.inside_count++] = quick->inside[i];
  s.lasts_s = isnan(s.process->lasts_s) ? 0 : s.process->lasts_s;
  may_set_time(&s, quick->t_ms);
  return may_judge(&j);
}
