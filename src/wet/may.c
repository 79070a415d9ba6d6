#include "wet/wet_impl.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* May this go into that container?  By its history, its stream, its cap and how full it is. */

struct asking {
  const struct wet_place *place;
  const char *kind;                      /* "stream" or "drain" */
  const struct wet_container *container; /* NULL: it does not stand */
  struct arena *arena;
  struct wet_may *out;
};

static void say(struct asking *a, enum meet_verdict verdict, const char *why)
{
  struct wet_lines before = a->out->reasons;

  if (verdict > a->out->verdict || verdict == MEET_NEVER) { /* the worst stands first */
    a->out->reasons.count = 0;
    wet_line(&a->out->reasons, why);
    for (int i = 0; i < before.count; i++)
      wet_line(&a->out->reasons, before.line[i]);
  } else
    wet_line(&a->out->reasons, why);
  if (verdict > a->out->verdict)
    a->out->verdict = verdict;
}

/* ---- names ---- */

const struct meet_thing *wet_thing(const struct wet_place *place, const char *name,
                                   struct arena *arena)
{
  const struct meet_request request = {.thing_count = 1,
                                       .place =
                                           MEET_WASTE, /* one thing alone meets nothing elsewhere */
                                       .things = {name},
                                       .at_K = (double)NAN,
                                       .facility = place->facility,
                                       .own = place->own};
  struct err err = {0};
  const struct meet_answer *answer = meet_answer(place->meet, &request, arena, &err);

  return answer && answer->thing_count > 0 ? &answer->things[0] : NULL;
}

bool wet_is_part(const struct wet_place *place, const char *bath, const char *what,
                 struct arena *arena)
{
  const struct chem_stock *stock = chem_find_stock(place->chem, what);
  const struct chem_substance *s = stock ? stock->substance : chem_find(place->chem, what);
  const struct meet_thing *thing = s ? wet_thing(place, bath, arena) : NULL;

  for (int i = 0; thing && i < thing->face_count; i++)
    if (strcmp(thing->faces[i].id, s->id) == 0)
      return true;
  return false;
}

enum meet_verdict wet_of_topping(const struct wet_place *place, const char *bath, const char *what,
                                 const char **why_out, struct arena *arena)
{
  const struct meet_request request = {.thing_count = 2,
                                       .things = {bath, what},
                                       .at_K = (double)NAN,
                                       .facility = place->facility,
                                       .own = place->own};
  struct err err = {0};

  *why_out = NULL;
  if (strcasecmp(bath, what) == 0 || wet_is_part(place, bath, what, arena))
    return MEET_NOTHING_LISTED;
  const struct meet_answer *answer = meet_answer(place->meet, &request, arena, &err);

  *why_out = "";
  if (!answer) {
    *why_out = arena_printf(arena, "it cannot be looked up: %s", err.text);
    return MEET_UNKNOWN;
  }
  if (answer->finding_count > 0)
    *why_out = answer->findings[0].sentence_count > 0
                   ? answer->findings[0].sentences[0].say
                   : meet_finding_of(answer, &answer->findings[0], arena);
  return answer->verdict;
}

/* ---- by its stream ---- */

/* The same substance or mixture, whatever its strength. */
static bool is_same_thing(const struct wet_place *place, const struct meet_thing *a,
                          const struct meet_thing *b)
{
  const struct chem_stock *of_a = chem_find_stock(place->chem, a->id);
  const struct chem_stock *of_b = chem_find_stock(place->chem, b->id);

  return strcasecmp(of_a ? of_a->substance->id : a->id, of_b ? of_b->substance->id : b->id) == 0;
}

bool wet_takes(const struct wet_place *place, const struct chemicals_stream *stream,
               const char *what, struct arena *arena)
{
  const struct meet_thing *thing = wet_thing(place, what, arena), *other;

  for (int i = 0; i < stream->take_count; i++) {
    if (strcasecmp(stream->takes[i], what) == 0)
      return true;
    other = thing && *thing->id ? wet_thing(place, stream->takes[i], arena) : NULL;
    if (other && is_same_thing(place, thing, other))
      return true;
  }
  return false;
}

static void ask_takes(struct asking *a, const struct chemicals_stream *s, const char *what)
{
  if (!wet_takes(a->place, s, what, a->arena))
    say(a, MEET_UNKNOWN,
        arena_printf(a->arena, "%s is not among what %s %s takes: ask the person in charge", what,
                     a->kind, s->part.id));
}

/* The stream's `never` is read as a station's `not here` is. */
static void ask_never(struct asking *a, const struct chemicals_stream *s,
                      const struct meet_thing *thing)
{
  const struct facility_station as_station = {
      .part = s->part, .card = {.not_here_count = s->never_count, .not_here = s->never}};
  const struct chem_substance *substances[1 + MEET_PARTS_MAX];
  int count = 0;

  for (int i = 0; i < thing->face_count; i++) {
    const struct chem_substance *found = chem_find(a->place->chem, thing->faces[i].id);

    if (found && !thing->faces[i].implied)
      substances[count++] = found;
  }
  const struct chem_not_here hit =
      chem_not_here(a->place->chem, &as_station, substances, count, a->arena);

  for (int i = 0; i < hit.hit_count; i++)
    say(a, MEET_NEVER,
        arena_printf(a->arena, "%s %s lists among what never goes in: %s (%s)", a->kind, s->part.id,
                     hit.hits[i].word, hit.hits[i].substance->name));
  /* Down a drain it is gone: a word of `never` that is not understood may be meant of this. */
  for (int i = 0; i < hit.unread_count; i++)
    say(a, strcmp(a->kind, "drain") == 0 ? MEET_UNKNOWN : MEET_NOTHING_LISTED,
        arena_printf(
            a->arena,
            "%s %s also says never: %s: no table understands that; read it, and where this may "
            "be meant ask the person in charge first",
            a->kind, s->part.id, hit.unread[i]));
}

static void ask_stream(struct asking *a, const struct chemicals_stream *s, const char *what)
{
  const struct meet_thing *thing = wet_thing(a->place, what, a->arena);

  if (thing)
    ask_never(a, s, thing);
  ask_takes(a, s, what);
}

static enum meet_verdict of_listed(const struct wet_place *place, const char *kind,
                                   const struct chemicals_stream *listed, const char *what,
                                   struct wet_lines *reasons, struct arena *arena)
{
  struct wet_may may = {.place = place};
  struct asking a = {.place = place, .kind = kind, .arena = arena, .out = &may};

  ask_stream(&a, listed, what);
  for (int i = 0; i < may.reasons.count; i++)
    wet_line(reasons, may.reasons.line[i]);
  return may.verdict;
}

enum meet_verdict wet_of_stream(const struct wet_place *place,
                                const struct chemicals_stream *stream, const char *what,
                                struct wet_lines *reasons, struct arena *arena)
{
  return of_listed(place, "stream", stream, what, reasons, arena);
}

struct chemicals_stream wet_drain_as_stream(const struct chemicals_drain *drain)
{
  return (struct chemicals_stream){.part = drain->part,
                                   .station = drain->station,
                                   .take_count = drain->take_count,
                                   .takes = drain->takes,
                                   .never_count = drain->never_count,
                                   .never = drain->never,
                                   .source = drain->source};
}

enum meet_verdict wet_of_drain(const struct wet_place *place, const struct chemicals_drain *drain,
                               const char *what, struct wet_lines *reasons, struct arena *arena)
{
  const struct chemicals_stream as = wet_drain_as_stream(drain);

  return of_listed(place, "drain", &as, what, reasons, arena);
}

/* ---- by what it held ---- */

enum meet_verdict wet_finding(const struct wet_place *place, const struct chemicals_stream *stream,
                              const struct meet_answer *answer, const struct meet_finding *found,
                              struct arena *arena)
{
  bool by_rule = false, both = found->of_count == 2 && found->cell_count > 0;

  for (int i = 0; i < found->sentence_count; i++)
    by_rule |= found->sentences[i].verdict == found->verdict;
  for (int i = 0; both && i < found->of_count; i++)
    both = wet_takes(place, stream, answer->things[found->of[i]].asked, arena);
  return found->verdict == MEET_NEVER && !by_rule && both ? MEET_BY_PROCEDURE : found->verdict;
}

static void ask_findings(struct asking *a)
{
  const struct meet_answer *answer = a->out->meets;

  for (int i = 0; i < answer->finding_count; i++) {
    const struct meet_finding *found = &answer->findings[i];
    enum meet_verdict verdict =
        wet_finding(a->place, a->container->stream, answer, found, a->arena);

    if (verdict != found->verdict)
      say(a, verdict,
          arena_printf(a->arena, "the chart has letters for %s, but stream %s lists both (%s)",
                       meet_finding_of(answer, found, a->arena), a->container->stream->part.id,
                       a->container->stream->source));
    else if (verdict > a->out->verdict)
      a->out->verdict = verdict;
  }
}

static bool gives_gas(const struct meet_answer *answer)
{
  for (int i = 0; i < answer->finding_count; i++)
    for (int k = 0; k < answer->findings[i].sentence_count; k++)
      if (strchr(answer->findings[i].sentences[k].codes, 'G'))
        return true;
  return false;
}

static void ask_tables(struct asking *a)
{
  struct meet_request request = {.at_K = (double)NAN,
                                 .place = MEET_WASTE,
                                 .facility = a->place->facility,
                                 .own = a->place->own};
  const struct wet_container *c = a->container;
  struct err err = {0};

  if (a->out->what_count + c->held_count > MEET_THINGS_MAX) {
    say(a, MEET_UNKNOWN, "it held more than can be looked up at once: nothing more goes in");
    return;
  }
  for (int i = 0; i < a->out->what_count; i++)
    request.things[request.thing_count++] = a->out->what[i];
  for (int i = 0; i < c->held_count; i++)
    request.held[request.held_count++] = c->held[i];
  request.vessel = c->stream->material;
  a->out->meets = meet_answer(a->place->meet, &request, a->arena, &err);
  if (!a->out->meets) {
    say(a, MEET_UNKNOWN, arena_printf(a->arena, "it cannot be looked up: %s", err.text));
    return;
  }
  ask_findings(a);
  if (gives_gas(a->out->meets) && !c->stream->vented)
    say(a, MEET_NEVER,
        "gas may come off this, and the file does not say that this stream's cap is vented: not "
        "into this one");
}

static void ask_room(struct asking *a)
{
  const struct wet_container *c = a->container;
  double most = c->stream->fill_ratio;

  if (c->closed)
    say(a, MEET_NEVER, "it was told full and closed");
  if (isnan(c->fill_high_ratio))
    say(a, MEET_UNKNOWN,
        "how full it is is not known: look, then tell it: --fill, or Full to there on page Baths");
  else if (!isnan(most) && c->fill_high_ratio >= most)
    say(a, c->fill_low_ratio >= most ? MEET_NEVER : MEET_UNKNOWN,
        arena_printf(a->arena, "it is, or may be, as full as it may be: at most %.0f %% (%s)",
                     most * 100, c->stream->source));
}

struct wet_may *wet_may(const struct wet_waste *waste, const char *container,
                        const char *const *what, int what_count, struct arena *arena)
{
  struct wet_may *may = ARENA_NEW(arena, struct wet_may);
  struct asking a = {.place = waste->place,
                     .kind = "stream",
                     .container = wet_container_find(waste, container),
                     .arena = arena,
                     .out = may};

  BUG_IF(!may);
  *may = (struct wet_may){
      .place = waste->place, .container = container, .what = what, .what_count = what_count};
  if (!a.container) {
    say(&a, MEET_UNKNOWN,
        "no container of that name stands here by what was told: ask whose it is");
    return may;
  }
  if (!a.container->opened || !a.container->history_known)
    say(&a, MEET_UNKNOWN,
        "what it ever held is not known: do not add anything; ask the person in charge");
  if (!a.container->stream) {
    say(&a, MEET_UNKNOWN, "its stream is not in the chemicals file: what it takes is not known");
    return may;
  }
  ask_room(&a);
  ask_tables(&a);
  for (int i = 0; i < what_count; i++)
    ask_stream(&a, a.container->stream, what[i]);
  return may;
}
