#include "may/may_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* Everything that is looked at beside the house rules, the gravest kinds first. */

void may_note(struct may_judging *j, struct may_reason reason)
{
  if (reason.verdict > j->worst)
    j->worst = reason.verdict;
  if (j->reasons && j->count < MAY_REASONS_MAX)
    j->reasons[j->count++] = reason;
}

static void check_person(struct may_judging *j)
{
  const struct may_state *s = j->s;
  const struct people *people = s->may->place.people;
  struct may_reason r = {.kind = "person", .rank = MAY_RANK_PERSON, .source = "people file"};

  if (!people || s->person < 0) {
    r.verdict = MAY_NO;
    r.say = people ? "nobody in the people file has this id"
                   : "the suite names no people file, so nobody is known to be trained";
    r.way = people ? "the id as the people file or its table has it" : "files: {people: ...}";
    may_note(j, r);
    return;
  }
  const struct people_person *p = &people->list[s->person];

  if (people->unread_count > 0)
    may_note(j, (struct may_reason){
                    .verdict = MAY_UNCONFIRMED,
                    .kind = "person",
                    .rank = MAY_RANK_PERSON,
                    .say = "a table of people was not read: what it says of who asks is not known",
                    .source = "people file",
                    .way = "`inward people` says which, and what would mend it"});
  if (p->status == PEOPLE_ACTIVE)
    return;
  r.verdict = MAY_NO;
  r.say =
      p->status == PEOPLE_GONE ? "is not here any more" : "it is not known whether still active";
  if (!j->quiet)
    r.say = arena_printf(j->arena, "%s: %s (%s)", r.say, p->status_why, p->where);
  may_note(j, r);
}

static const char *roster_name(const struct roster *r, int endorsement)
{
  return r->endorsements[endorsement].part.name;
}

static void check_endorsement(struct may_judging *j, const char *id)
{
  const struct may_state *s = j->s;
  int e = s->may->roster ? roster_endorsement_find(s->may->roster, id) : -1;
  struct may_reason r = {.kind = "endorsement", .id = id, .rank = MAY_RANK_ENDORSEMENT};
  struct people_verdict v;

  if (s->person < 0)
    return; /* said already */
  if (e < 0) {
    r.verdict = MAY_NO;
    r.source = "processes file";
    r.say = "the process demands an endorsement that the people file does not know";
    may_note(j, r);
    return;
  }
  r.verdict = may_endorsed(s, s->person, e, j->arena, &v) ? MAY_MET : MAY_NO;
  r.source = s->may->roster->endorsements[e].source;
  if (!j->quiet) {
    r.say = arena_printf(j->arena, "%s%s: %s", roster_name(s->may->roster, e),
                         v.standing == PEOPLE_VALID ? "" : " does not count", v.why);
    r.way = v.standing == PEOPLE_VALID ? NULL : arena_printf(j->arena, "a new grant of %s", id);
  }
  may_note(j, r);
}

/* ---- the place ---- */

static void check_listed(struct may_judging *j)
{
  const struct may_state *s = j->s;
  const struct facility *f = s->may->place.facility;
  struct may_reason r = {
      .kind = "station", .rank = MAY_RANK_STATION, .source = "processes file", .verdict = MAY_NO};

  for (int i = 0; i < s->process->station_count; i++)
    if (s->process->stations[i] == s->station)
      r.verdict = MAY_MET;
  if (s->process == s->request->asked)
    return; /* where it may be done is what is asked */
  if (!j->quiet)
    r.say = arena_printf(j->arena, "%s is %s a station of this process",
                         f->stations[s->station].part.id, r.verdict == MAY_MET ? "" : "not");
  if (!j->quiet && r.verdict == MAY_MET)
    r.say =
        arena_printf(j->arena, "%s is a station of this process", f->stations[s->station].part.id);
  may_note(j, r);
}

static void check_in_use(struct may_judging *j)
{
  const struct may_state *s = j->s;
  const struct facility_station *station = &s->may->place.facility->stations[s->station];
  bool asked = may_is_asked_of(s), known = asked && s->request->withdrawn_known;
  const char *withdrawn = asked ? s->request->withdrawn : NULL;
  struct may_reason r = {.kind = "station", .rank = MAY_RANK_STATION, .source = "suite file"};

  if (!station->in_service) {
    r.verdict = MAY_NO;
    r.say = "it is out of service";
  } else if (s->request->scene && s->request->scene->stations[s->station].withdrawn && !withdrawn) {
    r.verdict = MAY_NO;
    r.source = "scene";
    r.say = "taken out of use in the scene that is asked for";
    r.way = "whoever took it out of use releases it";
  } else if (withdrawn) {
    r.verdict = MAY_NO;
    r.source = "record";
    r.say = j->quiet ? "" : arena_printf(j->arena, "taken out of use %s", withdrawn);
    r.way = "whoever took it out of use releases it";
  } else if (!known && !(asked && may_confirmed(s, "station in use"))) {
    r.verdict = MAY_UNCONFIRMED;
    r.say = "no record is given: whether somebody took it out of use is not known";
    if (s->request->record_of && !j->quiet)
      r.say = arena_printf(j->arena,
                           "the record is of the suite '%.80s': whether somebody took this "
                           "station out of use is not known",
                           s->request->record_of);
    r.way = "look for the sign, then --confirm \"station in use\"; or --record FILE";
  } else {
    r.say = known ? "the record has it in use" : "confirmed to be in use";
    r.source = known ? "record" : "whoever confirmed it";
  }
  may_note(j, r);
}

/* Something that runs or cools there with nobody there, by the record or the scene. */
static void check_running(struct may_judging *j)
{
  static const char looked[] = "what runs there was looked at";
  const struct may_state *s = j->s;
  bool recorded = s->request->runs && may_is_asked_of(s);
  const char *what = recorded            ? s->request->runs
                     : s->request->scene ? s->request->scene->stations[s->station].needs_flow
                                         : NULL;
  bool seen = may_confirmed(s, looked);
  struct may_reason r = {.verdict = seen ? MAY_MET : MAY_UNCONFIRMED,
                         .kind = "station",
                         .rank = MAY_RANK_STATION,
                         .source = recorded ? "record" : "scene"};

  if (!what)
    return;
  if (!j->quiet) {
    r.say = arena_printf(j->arena, "something stands there already: %s", what);
    r.way = seen ? NULL : arena_printf(j->arena, "ask who runs it, then --confirm \"%s\"", looked);
  }
  may_note(j, r);
}

/* Proofs, tanks, glass and what else src/standing knows of the station. */
static void check_standing(struct may_judging *j)
{
  const struct may_request *request = j->s->request;

  for (int i = 0; may_is_asked_of(j->s) && i < request->stand_count; i++) {
    const struct may_stand *stand = &request->stands[i];
    char looked[40];

    snprintf(looked, sizeof looked, "%s looked at", stand->kind);
    bool seen = !stand->against && may_confirmed(j->s, looked);
    struct may_reason r = {.verdict = stand->against ? MAY_NO
                                      : seen         ? MAY_MET
                                                     : MAY_UNCONFIRMED,
                           .kind = "station",
                           .rank = MAY_RANK_STATION,
                           .source = stand->source,
                           .say = stand->say,
                           .way = seen ? NULL : stand->way};

    if (!j->quiet && !seen && !stand->against)
      r.way = arena_printf(j->arena, "%s Then --confirm \"%s\"", stand->way, looked);
    may_note(j, r);
  }
}

static void check_chemistry(struct may_judging *j)
{
  const struct may_chemistry *c = j->s->chemistry;

  for (int i = 0; c && i < c->count; i++) {
    struct may_reason r = c->list[i];

    r.rank = MAY_RANK_CHEMISTRY;
    may_note(j, r);
  }
}

static void check_beside(struct may_judging *j)
{
  const struct may_state *s = j->s;
  struct may_reason r = {.kind = "chemistry", .rank = MAY_RANK_CHEMISTRY, .source = "who asked"};

  if (s->beside_known) {
    r.say = s->beside_count == 0 ? "nothing else is said to be at the station" : NULL;
  } else {
    r.verdict = MAY_UNCONFIRMED;
    r.say = "what else is at the station now is not said";
    r.way = "look, then --beside none or --beside P3,P9";
  }
  if (r.say)
    may_note(j, r);
}

static void check_air(struct may_judging *j)
{
  const struct may_air *air = j->s->air;

  if (air)
    may_note(j, (struct may_reason){
                    .verdict = air->verdict,
                    .kind = "air",
                    .rank = MAY_RANK_AIR,
                    .say = air->say,
                    .source = "computed from the suite's figures",
                    .way = air->verdict == MAY_MET ? NULL
                           : air->own              ? "whoever looks after the station mends it"
                           : air->verdict == MAY_NO
                               ? "another sash comes down first: `inward air` says which"
                               : "look at the board, then --scene NAME, or ask the board itself"});
}

/* ---- how it is done ---- */

static void check_document(struct may_judging *j)
{
  const struct may_state *s = j->s;
  const struct processes_process *p = s->process;
  struct may_reason r = {.kind = "document", .rank = MAY_RANK_DOCUMENT, .source = "processes file"};

  if (!p->document && !s->document_renewed) {
    r.verdict = MAY_NO;
    r.say = "no written procedure is named";
    r.way = "a written procedure";
  } else if (!s->document_renewed && roster_day(p->review) <= s->last_day) {
    r.verdict = MAY_NO;
    r.say = j->quiet ? ""
                     : arena_printf(j->arena, "%s, version %s, %s to be reviewed on %s",
                                    p->document, p->version,
                                    roster_day(p->review) <= s->day ? "was" : "is, before it ends,",
                                    p->review);
    r.way = "its review";
  } else {
    r.say = j->quiet ? ""
                     : arena_printf(j->arena, "%s, version %s, next review %s", p->document,
                                    p->version, p->review);
  }
  may_note(j, r);
}

static void check_unattended(struct may_judging *j)
{
  const struct may_state *s = j->s;
  double most_s = s->process->unattended_s;
  struct may_reason r = {
      .kind = "unattended", .rank = MAY_RANK_UNATTENDED, .source = "processes file"};

  if (!s->unattended)
    return;
  if (isnan(most_s)) {
    r.verdict = MAY_NO;
    r.say = "somebody stays with it: the process does not allow otherwise";
    r.way = "stay with it";
  } else {
    r.say = j->quiet ? ""
                     : arena_printf(j->arena, "it may stand alone for at most %s, with its sign",
                                    may_shown_span(most_s, j->arena));
  }
  may_note(j, r);
}

/* Must another be inside?  By the process alone; house rules may ask for more. */
static enum rule_truth needs_another(const struct may_state *s, struct arena *arena)
{
  enum rule_truth staffed;

  if (s->process->second != PROCESSES_OUTSIDE_HOURS)
    return s->process->second == PROCESSES_ALWAYS ? RULE_YES : RULE_NO;
  staffed = may_staffed_throughout(s, arena);
  return (enum rule_truth)(RULE_YES - staffed);
}

static void check_second(struct may_judging *j)
{
  const struct may_state *s = j->s;
  enum rule_truth needs = needs_another(s, j->arena);
  bool there = s->another || s->inside_count > 0 || may_strangers_count(s);
  struct may_reason r = {
      .kind = "second person", .rank = MAY_RANK_SECOND, .source = "processes file"};
  const char *when = s->process->second == PROCESSES_ALWAYS ? "always" : "outside staffed hours";

  if (needs == RULE_NO)
    return;
  if (there) {
    r.say = "another is inside, and knows of it";
    r.say = j->quiet
                ? ""
                : arena_printf(j->arena, "the process wants another inside %s, and there is", when);
  } else if (s->inside_known && s->stranger_count == 0 && needs == RULE_YES) {
    r.verdict = MAY_NO;
    r.say = j->quiet ? ""
                     : arena_printf(j->arena,
                                    "nobody else is inside, and the process wants "
                                    "another %s",
                                    when);
    r.way = "a second person inside";
  } else {
    const char *lacks = !s->inside_known        ? "who is inside is not said"
                        : s->stranger_count > 0 ? "whether there is one is not known"
                                                : "how long it takes is not said";

    r.verdict = MAY_UNCONFIRMED;
    r.say = j->quiet ? ""
                     : arena_printf(j->arena, "the process wants another inside %s, and %s", when,
                                    lacks);
    r.way = !s->inside_known        ? "--inside U22,...; or --alone"
            : s->stranger_count > 0 ? "somebody whom the people file knows"
                                    : "--for 2h";
  }
  may_note(j, r);
}

/* Who is inside and in no file counts as endorsed for nothing, and as a person once somebody looked. */
static void check_strangers(struct may_judging *j)
{
  const struct may_state *s = j->s;
  bool counted = may_strangers_count(s);
  struct may_reason r = {.verdict = counted ? MAY_MET : MAY_UNCONFIRMED,
                         .kind = "second person",
                         .rank = MAY_RANK_SECOND,
                         .source = "people file"};

  if (s->stranger_count == 0)
    return;
  for (int i = 0; i < s->stranger_count && !j->quiet; i++)
    r.say = arena_printf(j->arena, "%s%s%.40s %s", i > 0 ? r.say : "", i > 0 ? "; " : "",
                         s->strangers[i].id, s->strangers[i].why);
  if (!j->quiet) {
    r.say =
        arena_printf(j->arena, "%s: endorsed for nothing, and %s", r.say,
                     counted ? "counted as inside, as was confirmed" : "perhaps no second person");
    r.way = counted ? NULL : arena_printf(j->arena, "look, then --confirm \"%s\"", may_second_seen);
  }
  may_note(j, r);
}

static void check_hours(struct may_judging *j)
{
  struct people_hours h = may_hours(j->s, j->arena);
  struct may_reason r = {.kind = "hours",
                         .rank = MAY_RANK_LAST,
                         .source = j->s->may->roster && j->s->may->roster->hours_source
                                       ? j->s->may->roster->hours_source
                                       : "people file",
                         .say = h.why};

  if (h.now == PEOPLE_HOURS_UNKNOWN) {
    r.verdict = MAY_UNCONFIRMED;
    r.way = "hours: in the people file";
  }
  may_note(j, r);
}

enum may_verdict may_judge(struct may_judging *j)
{
  j->worst = MAY_MET;
  j->count = 0;
  check_person(j);
  for (int i = 0; i < j->s->process->endorsement_count; i++)
    check_endorsement(j, j->s->process->endorsements[i]);
  check_listed(j);
  check_in_use(j);
  check_running(j);
  check_standing(j);
  check_chemistry(j);
  check_beside(j);
  check_second(j);
  check_strangers(j);
  may_judge_rules(j);
  check_unattended(j);
  check_document(j);
  check_air(j);
  check_hours(j);
  return j->worst;
}
