#include "may/may_impl.h"
#include "vapour/vapour.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* A new process against everything it would stand beside at a station. */

enum { OTHERS_MAX = 4 };

static struct may_reason reason(enum may_verdict verdict, const char *kind, enum may_rank rank,
                                const char *say, const char *source)
{
  BUG_IF(!say);
  return (struct may_reason){
      .verdict = verdict, .kind = kind, .rank = (int)rank, .say = say, .source = source};
}

static bool is_there(const struct processes_process *p, int station)
{
  for (int i = 0; i < p->station_count; i++)
    if (p->stations[i] == station)
      return true;
  return false;
}

/* ---- beside each process of the station ---- */

/* What chemistry says of both together and not of the new one by itself. */
static void meet_one(struct may_judging *j, int other)
{
  struct may_state both = *j->s;
  const struct processes_process *p = &j->s->may->place.processes->list[other];
  const struct may_chemistry *c;
  enum may_verdict worst = MAY_MET;

  both.beside_count = 1;
  both.beside[0] = other;
  c = may_chemistry(&both, j->arena);
  for (int i = 0; i < c->count; i++) {
    struct may_reason r = c->list[i];
    bool alone = false;

    for (int k = 0; k < j->s->chemistry->count; k++)
      alone |= strcmp(j->s->chemistry->list[k].say, r.say) == 0;
    if (alone || r.verdict == MAY_MET)
      continue;
    worst = r.verdict > worst ? r.verdict : worst;
    r.say = arena_printf(j->arena, "beside %s (%s): %s", p->part.id, p->part.name, r.say);
    r.rank = MAY_RANK_CHEMISTRY;
    may_note(j, r);
  }
  if (worst == MAY_MET)
    may_note(j, reason(MAY_MET, "chemistry", MAY_RANK_CHEMISTRY,
                       arena_printf(j->arena,
                                    "beside %s (%s): no table forbids it, which is no clearance",
                                    p->part.id, p->part.name),
                       "chart EPA-600/2-80-076, data/rules.csv"));
}

/* Something that burns beside something hot: 20 K below the flash point is the trade's usual distance
 * (common practice, no source; the house's rules say theirs). */
static void heat_one(struct may_judging *j, int other)
{
  static const double usual_K = 20, warm_K = 5; /* above the room */
  const struct may_state *s = j->s;
  const struct facility *f = s->may->place.facility;
  double room_K = f->rooms[f->stations[s->station].room].temperature_K + warm_K;
  const struct processes_process *p = &s->may->place.processes->list[other];
  const struct may_uses *theirs = &s->may->uses[other];
  double flash_K = s->uses->flash_K, their_flash_K = theirs->flash_K;

  if (isnan(p->temperature_K) && !isnan(flash_K))
    may_note(j, reason(MAY_UNCONFIRMED, "heat", MAY_RANK_CHEMISTRY,
                       arena_printf(j->arena,
                                    "how warm %s (%s) runs here is not said, and %s can be lit",
                                    p->part.id, p->part.name, s->uses->lowest),
                       "processes file"));
  if (isnan(s->process->temperature_K) && !isnan(their_flash_K))
    may_note(j, reason(MAY_UNCONFIRMED, "heat", MAY_RANK_CHEMISTRY,
                       arena_printf(j->arena,
                                    "how warm this runs is not said, and %s, which %s (%s) uses "
                                    "here, can be lit",
                                    theirs->lowest, p->part.id, p->part.name),
                       "request"));

  if (p->temperature_K > room_K && p->temperature_K > flash_K - usual_K)
    may_note(j,
             reason(MAY_NO, "heat", MAY_RANK_CHEMISTRY,
                    arena_printf(j->arena,
                                 "%s (%s) runs at %.0f degC here; %s has its flash point at %.0f "
                                 "degC",
                                 p->part.id, p->part.name, p->temperature_K - 273.15,
                                 s->uses->lowest, flash_K - 273.15),
                    "processes file, data/facts.csv"));
  if (s->process->temperature_K > room_K && s->process->temperature_K > their_flash_K - usual_K)
    may_note(j, reason(MAY_NO, "heat", MAY_RANK_CHEMISTRY,
                       arena_printf(j->arena,
                                    "this runs at %.0f degC; %s, which %s (%s) uses here, has its "
                                    "flash point at %.0f degC",
                                    s->process->temperature_K - 273.15, theirs->lowest, p->part.id,
                                    p->part.name, their_flash_K - 273.15),
                       "processes file, data/facts.csv"));
}

static void family_one(struct may_judging *j, int other)
{
  const struct processes_process *p = &j->s->may->place.processes->list[other];

  if (p->family != j->s->process->family)
    may_note(j, reason(MAY_UNCONFIRMED, "deck", MAY_RANK_CHEMISTRY,
                       arena_printf(j->arena,
                                    "%s (%s) makes the deck %s here, this one %s: never both, and "
                                    "a clean-down between them",
                                    p->part.id, p->part.name, processes_family_word(p->family),
                                    processes_family_word(j->s->process->family)),
                       "processes file"));
}

static void beside_all(struct may_judging *j)
{
  const struct processes *all = j->s->may->place.processes;
  int beside = 0;

  for (int i = 0; all && i < all->count; i++) {
    if (!is_there(&all->list[i], j->s->station))
      continue;
    beside++;
    meet_one(j, i);
    heat_one(j, i);
    family_one(j, i);
  }
  if (beside == 0)
    may_note(j, reason(MAY_MET, "chemistry", MAY_RANK_CHEMISTRY,
                       "no other process of the file is done at this station", "processes file"));
}

/* ---- by itself ---- */

static void own_chemistry(struct may_judging *j)
{
  for (int i = 0; i < j->s->chemistry->count; i++) {
    struct may_reason r = j->s->chemistry->list[i];

    r.rank = MAY_RANK_CHEMISTRY;
    may_note(j, r);
  }
}

static void own_flash(struct may_judging *j)
{
  const struct may_uses *u = j->s->uses;

  if (isnan(u->below_flash_K))
    return;
  if (u->below_flash_K > 0)
    may_note(j, reason(MAY_MET, "heat", MAY_RANK_CHEMISTRY,
                       arena_printf(j->arena,
                                    "%.0f K below the flash point of %s; the house's rule says how "
                                    "much is enough",
                                    u->below_flash_K, u->lowest),
                       "data/facts.csv"));
  else
    may_note(j,
             reason(MAY_UNCONFIRMED, "heat", MAY_RANK_CHEMISTRY,
                    arena_printf(j->arena,
                                 "at or above the flash point of %s: a spark at the liquid finds "
                                 "a mixture that burns",
                                 u->lowest),
                    "data/facts.csv"));
}

/* The worst that is said of now, by any limit or share. */
static enum may_verdict of_vapour(const struct vapour_answer *a)
{
  enum may_verdict worst = MAY_MET;

  if (a->refused || a->case_count == 0 || !a->cases[VAPOUR_NOW].known)
    return MAY_UNCONFIRMED;
  for (int i = 0; i < a->limit_count; i++) {
    enum vapour_verdict v = a->limits[i].verdict[VAPOUR_NOW];

    if (v == VAPOUR_EXCEEDS)
      return MAY_NO;
    if (v != VAPOUR_NOT_SHOWN)
      worst = MAY_UNCONFIRMED;
  }
  return worst;
}

static void one_vapour(struct may_judging *j, const char *of)
{
  const struct may_place *place = &j->s->may->place;
  const char *station = place->facility->stations[j->s->station].part.id;
  struct vapour_request request = {
      .chem = place->chem,
      .facility = place->facility,
      .start = j->s->request->scene,
      .own = place->own,
      .of_count = 1,
      .of = {of},
      .from = VAPOUR_BEAKER,
      .at_K = isnan(j->s->process->temperature_K) ? 0 : j->s->process->temperature_K,
      .diameter_m = j->s->process->across_m,
      .station = station,
      .change_count = 1,
      .changes = {{"sash", arena_printf(j->arena, "%s=work", station)}}};
  struct err err = {0};
  const struct vapour_answer *a = vapour_answer(&request, j->arena, &err);

  if (!a)
    may_note(j, reason(MAY_UNCONFIRMED, "vapour", MAY_RANK_AIR,
                       arena_printf(j->arena, "%s: %s", of, err.text), "inward vapour"));
  else
    may_note(j, reason(of_vapour(a), "vapour", MAY_RANK_AIR,
                       arena_printf(j->arena, "%s, sash at work, imagined: %s", of, a->headline),
                       "inward vapour: published correlations, orders of magnitude"));
}

static void vapours(struct may_judging *j)
{
  if (isnan(j->s->process->across_m)) {
    struct may_reason r =
        reason(MAY_UNCONFIRMED, "vapour", MAY_RANK_AIR,
               "what evaporates is not known: how wide the vessel is open is not said", "request");

    r.way = "vessel across: 15 cm";
    may_note(j, r);
    return;
  }
  for (int i = 0; i < j->s->process->use_count; i++)
    one_vapour(j, j->s->process->uses[i]);
}

static void glass_mark(struct may_judging *j)
{
  const struct facility_station *station = &j->s->may->place.facility->stations[j->s->station];
  const struct facility_mark *m = &station->card.mark;

  if (!j->s->process->vessel)
    may_note(j, reason(MAY_UNCONFIRMED, "vessel", MAY_RANK_CHEMISTRY, "no material is named",
                       "request"));
  if (m->letter)
    may_note(j, reason(MAY_MET, "glass mark", MAY_RANK_LAST,
                       arena_printf(j->arena,
                                    "its pieces carry the mark of %s (letter %s) and stay there",
                                    station->part.id, m->letter),
                       "suite file"));
  else
    may_note(j, reason(MAY_UNCONFIRMED, "glass mark", MAY_RANK_LAST,
                       arena_printf(j->arena, "%s has no mark for its glass", station->part.id),
                       "suite file"));
}

/* ---- waste ---- */

static bool is_named(const struct may_judging *j, const char *use, const char *const *list,
                     int count)
{
  const struct chem_substance *s = chem_find(j->s->may->place.chem, use);

  for (int i = 0; i < count; i++) {
    const struct chem_substance *of = chem_find(j->s->may->place.chem, list[i]);

    if (strcasecmp(list[i], use) == 0 || (s && of == s))
      return true;
  }
  return false;
}

static bool takes_all(const struct may_judging *j, const struct chemicals_stream *stream)
{
  const struct processes_process *p = j->s->process;

  for (int i = 0; i < p->use_count; i++)
    if (!is_named(j, p->uses[i], stream->takes, stream->take_count) ||
        is_named(j, p->uses[i], stream->never, stream->never_count))
      return false;
  return true;
}

static void waste(struct may_judging *j)
{
  const struct chemicals *own = j->s->may->place.own;
  const char *takes = "";

  for (int i = 0; own && i < own->stream_count; i++)
    if (takes_all(j, &own->streams[i]))
      takes = arena_printf(j->arena, "%s%s%s (at %s)", takes, *takes ? ", " : "",
                           own->streams[i].part.name,
                           j->s->may->place.facility->stations[own->streams[i].station].part.id);
  if (*takes)
    may_note(j,
             reason(MAY_MET, "waste", MAY_RANK_LAST,
                    arena_printf(j->arena,
                                 "by name it goes into: %s. `inward waste --may` looks at what a "
                                 "container held",
                                 takes),
                    "chemicals file"));
  else
    may_note(j, reason(MAY_UNCONFIRMED, "waste", MAY_RANK_LAST,
                       arena_printf(j->arena,
                                    "no waste stream of the chemicals file takes all that it uses; "
                                    "the request says: %s",
                                    j->s->process->waste ? j->s->process->waste : "nothing"),
                       "chemicals file"));
}

static void place_itself(struct may_judging *j)
{
  const struct facility_station *station = &j->s->may->place.facility->stations[j->s->station];

  if (!station->in_service)
    may_note(j, reason(MAY_NO, "station", MAY_RANK_STATION, "it is out of service", "suite file"));
  if (!j->s->process->document)
    may_note(j, reason(MAY_UNCONFIRMED, "document", MAY_RANK_DOCUMENT,
                       "no written procedure yet: it is needed before anybody starts", "request"));
  if (!j->s->uses->whole)
    may_note(j, reason(MAY_UNCONFIRMED, "chemistry", MAY_RANK_CHEMISTRY,
                       "something it uses is in no table: its safety data sheet decides",
                       "tables of data/"));
}

static void judge(struct may_judging *j)
{
  j->worst = MAY_MET;
  j->count = 0;
  place_itself(j);
  own_chemistry(j);
  beside_all(j);
  own_flash(j);
  glass_mark(j);
  waste(j);
  may_judge_rules_of_place(j);
}

/* ---- other stations ---- */

static int count_no(const struct may_judging *j)
{
  int count = 0;

  for (int i = 0; i < j->count; i++)
    count += j->reasons[i].verdict == MAY_NO;
  return count;
}

struct other {
  int station, no;
  enum may_verdict worst;
};

static bool better(const struct other *a, const struct other *b)
{
  return a->no < b->no || (a->no == b->no && a->worst < b->worst);
}

/* The few with the least against them, the best first. */
static void keep_best(struct other *best, int *count, struct other one)
{
  int at = *count;

  while (at > 0 && better(&one, &best[at - 1]))
    at--;
  if (at == OTHERS_MAX)
    return;
  *count += *count < OTHERS_MAX;
  for (int i = *count - 1; i > at; i--)
    best[i] = best[i - 1];
  best[at] = one;
}

static struct other judged_at(const struct may_state *s, int station, struct arena *arena)
{
  struct may_state there = *s;
  struct may_judging j = {.s = &there, .arena = arena};

  there.station = station;
  there.chemistry = may_chemistry(&there, arena);
  j.reasons = ARENA_ARRAY(arena, struct may_reason, MAY_REASONS_MAX);
  BUG_IF(!j.reasons);
  judge(&j);
  return (struct other){station, count_no(&j), j.worst};
}

/* Stations of the file where less is against it.  A cabinet is no place to work at. */
static void other_stations(const struct may_state *s, int no_here, struct may_answer *out,
                           struct arena *arena)
{
  const struct facility *f = s->may->place.facility;
  struct may_list *list = ARENA_ARRAY(arena, struct may_list, OTHERS_MAX);
  struct other best[OTHERS_MAX];

  BUG_IF(!list);
  for (int i = 0; i < f->station_count; i++) {
    if (i == s->station || !f->stations[i].in_service || f->stations[i].kind == FACILITY_CABINET)
      continue;
    struct other one = judged_at(s, i, arena);

    if (one.no < no_here)
      keep_best(best, &out->other_count, one);
  }
  for (int i = 0; i < out->other_count; i++) {
    const struct facility_part *part = &f->stations[best[i].station].part;

    list[i].count = 1;
    list[i].after = best[i].worst;
    list[i].changes[0] =
        best[i].no == 0
            ? arena_printf(arena, "at %s (%s): nothing against it", part->id, part->name)
            : arena_printf(arena, "at %s (%s): %d reason%s against it", part->id, part->name,
                           best[i].no, best[i].no == 1 ? "" : "s");
  }
  out->others = list;
}

const struct may_answer *may_new_process(const struct may *may, const struct may_request *request,
                                         struct arena *arena, struct err *err)
{
  struct may_state s = {.may = may, .request = request, .person = -1};
  struct may_answer *out = ARENA_NEW(arena, struct may_answer);
  struct may_judging j = {.s = &s, .arena = arena};

  BUG_IF(!request->asked);
  if (may_find_all(may, request, &s, arena, err) != ERR_OK)
    return NULL;
  j.reasons = ARENA_ARRAY(arena, struct may_reason, MAY_REASONS_MAX);
  BUG_IF(!out || !j.reasons);
  s.beside_known = true;
  s.chemistry = may_chemistry(&s, arena);
  s.air = may_air(&s, arena);
  judge(&j);
  vapours(&j);
  if (s.request->scene)
    may_note(&j, reason(s.air->verdict, "air", MAY_RANK_AIR, s.air->say,
                        "computed from the suite's figures"));
  *out = (struct may_answer){
      .may = may,
      .request = request,
      .verdict = j.worst,
      .process = s.process,
      .station = &may->place.facility->stations[s.station],
      .from_ms = s.t_ms,
      .until_ms = s.t_ms,
      .reason_count = j.count,
      .reasons = j.reasons,
      .permission_by = may->place.processes ? may->place.processes->permission_by
                                            : "whoever answers for the place",
  };
  other_stations(&s, count_no(&j), out, arena);
  may_in_order(j.reasons, j.count);
  return out;
}
