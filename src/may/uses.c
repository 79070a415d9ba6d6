#include "may/may_impl.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* What a process uses, what that may not stand beside, and whether there is air for it. */

static void add_name(struct may_uses *u, const char *name)
{
  for (int i = 0; i < u->count; i++)
    if (strcasecmp(u->names[i], name) == 0)
      return;
  if (u->count < MAY_NAMES_MAX)
    u->names[u->count++] = name;
  else
    u->whole = false;
}

static void take_thing(const struct may_place *place, const struct meet_thing *thing,
                       struct may_uses *u, double *lowest_flash_K)
{
  u->whole = u->whole && thing->kind != MEET_NOT_KNOWN;
  if (thing->id && *thing->id)
    add_name(u, thing->id);
  for (int i = 0; i < thing->face_count; i++) {
    const struct chem_substance *s =
        *thing->faces[i].id ? chem_find(place->chem, thing->faces[i].id) : NULL;

    if (*thing->faces[i].id && !thing->faces[i].implied)
      add_name(u, thing->faces[i].id);
    if (s && s->facts[CHEM_FLASH].si < *lowest_flash_K) {
      *lowest_flash_K = s->facts[CHEM_FLASH].si;
      u->lowest = s->name;
    }
  }
}

void may_look_up(const struct may_place *place, const struct processes_process *process,
                 struct may_uses *out, struct arena *arena)
{
  double lowest_flash_K = (double)INFINITY;

  *out = (struct may_uses){.whole = true, .flash_K = (double)NAN, .below_flash_K = (double)NAN};
  for (int i = 0; i < process->use_count; i++) {
    struct meet_request request = {.thing_count = 2, /* one alone is no question */
                                   .things = {process->uses[i], "water"},
                                   .at_K = process->temperature_K,
                                   .facility = place->facility,
                                   .own = place->own};
    struct err err = {0};
    const struct meet_answer *answer = meet_answer(place->meet, &request, arena, &err);

    add_name(out, process->uses[i]);
    out->whole = out->whole && answer;
    if (answer)
      take_thing(place, &answer->things[0], out, &lowest_flash_K);
  }
  if (!isinf(lowest_flash_K))
    out->flash_K = lowest_flash_K;
  if (isinf(lowest_flash_K))
    out->below_flash_why = "no flash point is in the tables";
  else if (isnan(process->temperature_K))
    out->below_flash_why = "its temperature is not said";
  else
    out->below_flash_K = lowest_flash_K - process->temperature_K;
}

bool may_is_used(const struct may_place *place, const struct may_uses *uses, const char *name)
{
  const struct chem_substance *s = chem_find(place->chem, name);

  for (int i = 0; i < uses->count; i++)
    if (strcasecmp(uses->names[i], name) == 0 || (s && strcasecmp(uses->names[i], s->id) == 0))
      return true;
  return false;
}

/* ---- chemistry ---- */

/* What finds no room is not forgotten: the last of the list stands for it. */
static void add(struct may_chemistry *c, struct may_reason reason)
{
  struct may_reason *last = &c->list[MAY_CHEMISTRY_MAX - 1];

  if (c->count < MAY_CHEMISTRY_MAX) {
    c->list[c->count++] = reason;
    return;
  }
  if (reason.verdict < MAY_UNCONFIRMED)
    reason.verdict = MAY_UNCONFIRMED;
  *last = (struct may_reason){.verdict =
                                  reason.verdict > last->verdict ? reason.verdict : last->verdict,
                              .kind = "chemistry",
                              .say = "more is found than is listed here",
                              .source = "tables of data/",
                              .way = "ask in parts: `inward meet`"};
}

static bool is_for(const struct chemicals_procedure *p, int station)
{
  for (int i = 0; i < p->station_count; i++)
    if (p->stations[i] == station)
      return true;
  return false;
}

/* Is all that is found of this process alone, and the bath of that procedure among it? */
static bool is_about(const struct may_state *s, const struct meet_answer *answer,
                     const struct meet_finding *f, const char *bath)
{
  bool named = false;

  for (int i = 0; i < f->of_count; i++) {
    if (f->of[i] >= s->process->use_count)
      return false; /* it speaks of no other process's things */
    named = named || strcasecmp(answer->things[f->of[i]].id, bath) == 0 ||
            strcasecmp(s->process->uses[f->of[i]], bath) == 0;
  }
  return named;
}

/* An approved procedure of that station for what is found, from its approval to its review. */
static const struct chemicals_procedure *procedure(const struct may_state *s,
                                                   const struct meet_answer *answer,
                                                   const struct meet_finding *f)
{
  const struct chemicals *own = s->may->place.own;

  for (int i = 0; own && i < own->procedure_count; i++) {
    const struct chemicals_procedure *p = &own->procedures[i];

    if (roster_day(p->approved) <= s->day && roster_day(p->review) > s->last_day &&
        is_for(p, s->station) && is_about(s, answer, f, p->bath))
      return p;
  }
  return NULL;
}

static const char *origin(const struct chem_origin *of, const char *rule, struct arena *arena)
{
  return of->basis == CHEM_SUITE ? of->source
                                 : arena_printf(arena, "rule %s: %s (%s)", rule, of->source,
                                                chem_basis_words(of->basis));
}

static void by_procedure(const struct may_state *s, const struct meet_answer *answer,
                         const struct meet_finding *f, const char *say, const char *source,
                         struct may_chemistry *c, struct arena *arena)
{
  const struct chemicals_procedure *p = procedure(s, answer, f);

  if (p)
    add(c,
        (struct may_reason){.verdict = MAY_MET,
                            .kind = "chemistry",
                            .id = p->part.id,
                            .say = arena_printf(arena, "%s The approved procedure %s names it here",
                                                say, p->part.id),
                            .source = arena_printf(arena, "%s, version %s, by %s, review %s",
                                                   p->document, p->version, p->by, p->review)});
  else
    add(c,
        (struct may_reason){.verdict = MAY_NO,
                            .kind = "chemistry",
                            .say = arena_printf(arena,
                                                "%s Only by an approved procedure of this station, "
                                                "and none in date names it",
                                                say),
                            .source = source,
                            .way = "an approved procedure in the chemicals file"});
}

/* A vessel that is limited: the written procedure says how it is used. */
static void limited_vessel(const struct may_state *s, const char *say, const char *source,
                           struct may_chemistry *c)
{
  bool written = s->process->document && roster_day(s->process->review) > s->last_day;

  add(c, (struct may_reason){.verdict = written ? MAY_MET : MAY_UNCONFIRMED,
                             .kind = "vessel",
                             .say = say,
                             .source = source,
                             .way = written ? NULL : "the written procedure says how"});
}

static void take_finding(const struct may_state *s, const struct meet_answer *answer,
                         const struct meet_finding *f, struct may_chemistry *c, struct arena *arena)
{
  const struct meet_sentence *first = f->sentence_count > 0 ? &f->sentences[0] : NULL;
  const char *about = meet_finding_of(answer, f, arena);
  const char *say =
      first ? arena_printf(arena, "%s: %s", about, first->say)
      : f->cell_count
          ? arena_printf(arena, "%s: %s", about, meet_codes_words(f->cells[0].codes, arena))
      : f->vessel ? arena_printf(arena, "%s: %s", about, meet_rating_word(f->vessel->rating))
                  : arena_printf(arena, "%s: what they do together is in no table", about);
  const char *source = first           ? origin(&first->of, first->rule, arena)
                       : f->cell_count ? "chart EPA-600/2-80-076"
                                       : "tables of data/";

  if (f->vessel && f->of[0] >= s->process->use_count)
    return; /* its vessel is not the other process's */
  if (f->vessel && f->verdict == MEET_BY_PROCEDURE)
    limited_vessel(s, say, source, c);
  else if (f->verdict == MEET_BY_PROCEDURE)
    by_procedure(s, answer, f, say, source, c, arena);
  else if (f->verdict == MEET_NEVER)
    add(c, (struct may_reason){.verdict = MAY_NO,
                               .kind = "chemistry",
                               .say = say,
                               .source = source,
                               .way = first && *first->instead ? first->instead : NULL});
  else if (f->verdict == MEET_UNKNOWN)
    add(c, (struct may_reason){.verdict = MAY_UNCONFIRMED,
                               .kind = "chemistry",
                               .say = say,
                               .source = source,
                               .way = "the safety officer says"});
}

/* Words of `not here:` that no table understands: a person reads them. */
static void take_unread(const struct may_state *s, struct may_chemistry *c, struct arena *arena)
{
  const struct facility_station *station = &s->may->place.facility->stations[s->station];
  const struct chem_substance *substances[MAY_NAMES_MAX];
  int count = 0;

  for (int i = 0; i < s->uses->count; i++) {
    const struct chem_substance *found = chem_find(s->may->place.chem, s->uses->names[i]);

    if (found)
      substances[count++] = found;
  }
  struct chem_not_here found = chem_not_here(s->may->place.chem, station, substances, count, arena);

  for (int i = 0; i < found.unread_count; i++) {
    const char *text = arena_printf(arena, "not here: %s", found.unread[i]);
    bool confirmed = may_confirmed(s, text);

    add(c, (struct may_reason){
               .verdict = confirmed ? MAY_MET : MAY_UNCONFIRMED,
               .kind = "chemistry",
               .say = arena_printf(arena, "%s is not to have '%s': %s", station->part.id,
                                   found.unread[i],
                                   confirmed ? "confirmed that there is none"
                                             : "no table understands that; read it yourself"),
               .source = "suite file",
               .way = confirmed ? NULL : arena_printf(arena, "--confirm \"%s\"", text)});
  }
}

/* False: there is no room for it. */
static bool add_thing(struct meet_request *request, const char *name)
{
  if (request->thing_count == MEET_THINGS_MAX)
    return false;
  request->things[request->thing_count++] = name;
  return true;
}

static bool add_things_of(struct meet_request *request, const struct processes_process *other)
{
  bool whole = true;

  for (int k = 0; k < other->use_count; k++) {
    bool there = false;

    for (int t = 0; t < request->thing_count; t++)
      there |= strcasecmp(request->things[t], other->uses[k]) == 0;
    whole = (there || add_thing(request, other->uses[k])) && whole;
  }
  return whole;
}

const struct may_chemistry *may_chemistry(const struct may_state *s, struct arena *arena)
{
  struct may_chemistry *out = ARENA_NEW(arena, struct may_chemistry);
  const struct may_place *place = &s->may->place;
  struct meet_request request = {.place = MEET_DECK,
                                 .vessel = s->process->vessel,
                                 .at_K = s->process->temperature_K,
                                 .station = place->facility->stations[s->station].part.id,
                                 .facility = place->facility,
                                 .own = place->own};
  struct err err = {0};
  const struct meet_answer *answer;
  bool whole = true;

  BUG_IF(!out);
  for (int i = 0; i < s->process->use_count; i++)
    add_thing(&request, s->process->uses[i]);
  for (int i = 0; i < s->beside_count; i++)
    whole = add_things_of(&request, &place->processes->list[s->beside[i]]) && whole;
  if (!whole)
    add(out, (struct may_reason){.verdict = MAY_UNCONFIRMED,
                                 .kind = "chemistry",
                                 .say = "more stands there than is looked at together",
                                 .source = "who asked",
                                 .way = "ask in parts: `inward meet`"});
  answer = meet_answer(place->meet, &request, arena, &err);
  if (!answer) {
    add(out, (struct may_reason){.verdict = MAY_UNCONFIRMED,
                                 .kind = "chemistry",
                                 .say = arena_strdup(arena, err.text),
                                 .source = "processes file"});
    return out;
  }
  for (int i = 0; i < answer->finding_count; i++)
    take_finding(s, answer, &answer->findings[i], out, arena);
  take_unread(s, out, arena);
  if (out->count == 0)
    add(out, (struct may_reason){.verdict = MAY_MET,
                                 .kind = "chemistry",
                                 .say = "no table forbids it here, which is no clearance",
                                 .source = "chart EPA-600/2-80-076, data/rules.csv, suite file"});
  return out;
}

/* ---- air ---- */

static const struct may_air *air_says(struct arena *arena, enum may_verdict verdict, bool known,
                                      enum facility_level after, const char *say)
{
  struct may_air *out = ARENA_NEW(arena, struct may_air);

  BUG_IF(!out || !say);
  *out = (struct may_air){.verdict = verdict, .known = known, .after = after, .say = say};
  return out;
}

static const char *scene_words(const struct may_request *r, struct arena *arena)
{
  return r->live ? r->scene->name
                 : arena_printf(arena, "in scene '%s', which is imagined", r->scene->name);
}

/* The worst pool of that station, as it stands. */
static enum facility_level pools_of(const struct facility *f, const struct air_answer *a,
                                    int station)
{
  enum facility_level worst = FACILITY_AMPLE;

  for (int i = 0; i < a->pool_count; i++)
    if (air_pool_has_station(f, i, station) && a->pools[i].state > worst)
      worst = a->pools[i].state;
  return worst;
}

static const struct may_air *of_answer(const struct may_state *s, const struct air_answer *a,
                                       struct arena *arena)
{
  const struct facility *f = s->may->place.facility;
  const struct air_may_open *open = &a->stations[s->station].may_open;
  enum facility_level after = open->asked ? open->state_after : pools_of(f, a, s->station);
  const char *where = scene_words(s->request, arena);
  const char *level = air_level_name(after);

  if (!a->solved || after == FACILITY_NOT_KNOWN)
    return air_says(arena, MAY_UNCONFIRMED, false, after,
                    arena_printf(arena, "the shared air is not known %s: treat as no", where));
  if (after == FACILITY_SHORT)
    return air_says(arena, MAY_NO, true, after,
                    arena_printf(arena, "the shared air would be %s with its sash at work, %s%s%s",
                                 level, where, open->binding ? "; first missed: " : "",
                                 open->binding ? open->binding : ""));
  if (open->asked && open->has_sure && !open->sure)
    return air_says(arena, MAY_UNCONFIRMED, true, after,
                    arena_printf(arena,
                                 "the shared air would be %s with its sash at work, %s, but not at "
                                 "the doubtful end of its figures",
                                 level, where));
  return air_says(arena, MAY_MET, true, after,
                  arena_printf(arena,
                               "the shared air is %s with its sash at work, %s. Its own alarm "
                               "decides first",
                               level, where));
}

/* With its sash at work: does this station miss its own criterion?  NULL: not that is known of. */
static const struct may_air *of_itself(const struct may_state *s, struct air *air,
                                       struct arena *arena)
{
  const struct facility *f = s->may->place.facility;
  const struct air_settings settings = air_settings_default;
  const char *id = f->stations[s->station].part.id;
  struct scene scene = scene_copy(f, s->request->scene, arena);
  const struct air_answer *a = NULL;
  struct err err = {0};

  if (scene_change(f, &scene, "sash", arena_printf(arena, "%s=work", id), &err) == ERR_OK)
    a = air_ask(air, &scene, &settings, arena, &err);
  if (!a || !a->stations[s->station].has_verdict || a->stations[s->station].met)
    return NULL;
  struct may_air *out = ARENA_NEW(arena, struct may_air);

  BUG_IF(!out);
  *out = (struct may_air){
      .verdict = MAY_NO,
      .known = true,
      .own = true,
      .after = FACILITY_SHORT,
      .say = arena_printf(arena, "%s itself misses its criterion with its sash at work, %s", id,
                          scene_words(s->request, arena))};
  BUG_IF(!out->say);
  return out;
}

const struct may_air *may_air(const struct may_state *s, struct arena *arena)
{
  const struct may_request *r = s->request;
  struct air_settings settings = air_settings_default;
  struct err err = {0};
  struct air *air;
  const struct air_answer *answer;
  const struct may_air *out;

  if (r->air_doubt)
    return air_says(
        arena, MAY_UNCONFIRMED, false, FACILITY_NOT_KNOWN,
        arena_printf(arena, "the shared air is not known: %s. Treat as no", r->air_doubt));
  if (!r->scene)
    return air_says(arena, MAY_UNCONFIRMED, false, FACILITY_NOT_KNOWN,
                    "the shared air then is not known: look at the board when you start");
  air = air_new(s->may->place.facility, &err);
  if (!air)
    return air_says(arena, MAY_UNCONFIRMED, false, FACILITY_NOT_KNOWN,
                    arena_printf(arena, "the shared air is not known: %s", err.text));
  answer = air_ask(air, r->scene, &settings, arena, &err);
  out = answer ? of_answer(s, answer, arena)
               : air_says(arena, MAY_UNCONFIRMED, false, FACILITY_NOT_KNOWN,
                          arena_printf(arena, "the shared air is not known: %s", err.text));
  if (answer && out->verdict != MAY_NO) {
    const struct may_air *own = of_itself(s, air, arena);

    out = own ? own : out;
  }
  air_free(air);
  return out;
}
