#include "wet/wet_impl.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* May this bath be let down that drain now?  By what stands in it, how hot, its heater, the drain's route
 * and list, and what went down before. */

struct asking {
  const struct wet_baths *baths;
  struct wet_dump *out;
  struct arena *arena;
  const char **what, **before;
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

/* ---- what it is ---- */

struct families {
  bool acid, base, organic, piranha, fluoride;
};

static void add_family(struct families *f, const struct meet_thing *thing)
{
  f->acid |= wet_same(thing->deck_family, "acid");
  f->base |= wet_same(thing->deck_family, "base");
  f->organic |= wet_same(thing->deck_family, "organic");
  f->piranha |= wet_same(thing->deck_family, "piranha");
  f->fluoride |= wet_same(thing->shelf, "fluoride");
}

/* A named mixture has one deck family; what it holds of fluorides shows in its parts. */
static struct families families_of(const struct asking *a, const char *what)
{
  const struct meet_thing *thing = wet_thing(a->baths->place, what, a->arena);
  struct families out = {0};

  if (!thing)
    return out;
  add_family(&out, thing);
  bool has_family = thing->deck_family != NULL;

  for (int i = 0; i < thing->face_count; i++) {
    const struct meet_thing *part = thing->faces[i].implied || !*thing->faces[i].id
                                        ? NULL
                                        : wet_thing(a->baths->place, thing->faces[i].id, a->arena);

    if (part && !has_family)
      add_family(&out, part);
    else if (part)
      out.fluoride |= wet_same(part->shelf, "fluoride");
  }
  return out;
}

/*
 * What a route cannot treat: common practice, no source.  A drain without treatment takes what a written
 * procedure or a permit says, and nothing else that is an acid, a base, an organic or a fluoride.
 */
static const struct {
  bool acid, base, organic, fluoride; /* it is for them */
} routes[] = {
    [CHEMICALS_PH_TREATMENT] = {true, true, false, false},
    [CHEMICALS_FLUORIDE_TREATMENT] = {true, true, false, true},
    [CHEMICALS_ACID_COLLECTION] = {true, false, false, false},
    [CHEMICALS_BASE_COLLECTION] = {false, true, false, false},
    [CHEMICALS_SOLVENT_COLLECTION] = {false, false, true, false},
    [CHEMICALS_HOUSE_DRAIN] = {false, false, false, false},
};

static void ask_route(struct asking *a, const char *what)
{
  const struct chemicals_drain *d = a->out->drain;
  const struct families f = families_of(a, what);
  bool is_house = d->route == CHEMICALS_HOUSE_DRAIN;
  const struct {
    bool is_so, fits;
    const char *words;
  } kinds[] = {{f.fluoride, routes[d->route].fluoride, "a fluoride"},
               {f.organic, routes[d->route].organic, "an organic"},
               {f.acid || f.piranha, routes[d->route].acid, "an acid"},
               {f.base, routes[d->route].base, "a base"}};

  for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
    if (kinds[i].is_so && !kinds[i].fits) {
      say(a, is_house ? MEET_BY_PROCEDURE : MEET_NEVER,
          is_house
              ? arena_printf(a->arena,
                             "%s is %s, and no treatment stands between %s and the house's drain: "
                             "only what a permit and a written procedure say",
                             what, kinds[i].words, d->part.id)
              : arena_printf(a->arena, "%s is %s, and %s leads to %s, which is not for that", what,
                             kinds[i].words, d->part.id, chemicals_route_words(d->route)));
      return;
    }
  if (f.piranha)
    say(a, MEET_BY_PROCEDURE,
        arena_printf(
            a->arena,
            "%s: published instructions contradict each other on letting it down a drain; only by "
            "the written procedure of this place, cold and no longer bubbling",
            what));
}

static void ask_procedure(struct asking *a, const char *what)
{
  const struct chemicals_drain *d = a->out->drain;

  for (int i = 0; i < d->procedure_count; i++)
    if (strcasecmp(d->procedure[i], what) == 0)
      say(a, MEET_BY_PROCEDURE,
          arena_printf(a->arena, "%s lists %s: only by a written procedure (%s)", d->part.id, what,
                       d->source));
}

static void ask_flash(struct asking *a, const char *what)
{
  const struct chemicals_drain *d = a->out->drain;
  const struct wet_content content = wet_content(a->baths->place, what, a->arena);

  for (int i = 0; !isnan(d->flash_least_K) && i < content.substance_count; i++) {
    double flash_K = content.substances[i]->facts[CHEM_FLASH].si;

    if (flash_K < d->flash_least_K)
      say(a, MEET_NEVER,
          arena_printf(
              a->arena, "%s: flash point %s as a pure substance; %s takes nothing below %s (%s)",
              content.substances[i]->name, wet_quantity(flash_K, UNITS_TEMPERATURE, a->arena),
              d->part.id, wet_quantity(d->flash_least_K, UNITS_TEMPERATURE, a->arena), d->source));
  }
}

static void ask_one(struct asking *a, const char *what)
{
  struct wet_lines listed = {0};
  enum meet_verdict verdict = wet_of_drain(a->baths->place, a->out->drain, what, &listed, a->arena);

  for (int i = 0; i < listed.count; i++)
    say(a, verdict, listed.line[i]);
  ask_route(a, what);
  ask_procedure(a, what);
  ask_flash(a, what);
}

/* ---- how it stands now ---- */

/* A person who read it after the point did knows better, or one of both is wrong. */
static void ask_read_since(struct asking *a)
{
  const struct wet_place *place = a->baths->place;
  const struct chemicals_heater *heater = wet_heater_of(place, a->out->tank);
  const struct wet_told *told = a->out->tank->temperature;
  struct wet_reading point;

  if (!heater || !told || !(told->temperature_K > a->out->drain->hottest_K))
    return;
  point = wet_reading_of(place, &heater->temperature, a->arena);
  if (point.is_known && point.si <= a->out->drain->hottest_K &&
      (double)(place->now_ms - told->t_ms) * 1e-3 < point.age_s)
    say(a, MEET_UNKNOWN,
        arena_printf(a->arena, "%s says %s, and somebody read %s since: measure again", point.point,
                     wet_quantity(point.si, UNITS_TEMPERATURE, a->arena),
                     wet_quantity(told->temperature_K, UNITS_TEMPERATURE, a->arena)));
}

/* Of a tank that is heated, or used hot: a drain without a limit is none that takes it at any heat. */
static void ask_without_limit(struct asking *a)
{
  const struct wet_tank *t = a->out->tank;

  if (wet_heater_of(a->baths->place, t) || !isnan(t->tank->temperature_K))
    say(a, MEET_BY_PROCEDURE,
        arena_printf(a->arena,
                     "the file does not say how hot %s may be in %s: cold only, or as a "
                     "written procedure says",
                     t->tank->part.id, a->out->drain->part.id));
}

static void ask_temperature(struct asking *a)
{
  const struct chemicals_drain *d = a->out->drain;
  const char *says, *most;
  double now_K = wet_temperature_K(a->baths->place, a->out->tank, &says, a->arena);

  if (isnan(d->hottest_K)) {
    ask_without_limit(a);
    return;
  }
  ask_read_since(a);
  most = wet_quantity(d->hottest_K, UNITS_TEMPERATURE, a->arena);
  if (isnan(now_K))
    say(a, MEET_UNKNOWN,
        arena_printf(a->arena, "%s, and %s takes nothing above %s (%s): measure first", says,
                     d->part.id, most, d->source));
  else if (now_K > d->hottest_K)
    say(a, MEET_NEVER,
        arena_printf(a->arena,
                     "not while it is so hot: %s, and %s takes nothing above %s (%s); let it cool",
                     says, d->part.id, most, d->source));
}

static void ask_heater(struct asking *a)
{
  const struct chemicals_heater *heater = wet_heater_of(a->baths->place, a->out->tank);
  struct wet_reading heats;

  if (!heater)
    return;
  heats = wet_reading_of(a->baths->place, &heater->heats, a->arena);
  if (heats.is_known && heats.si != 0)
    say(a, MEET_NEVER,
        arena_printf(a->arena,
                     "not while heater %s is on (%s): a heater that runs dry burns; off first",
                     heater->part.id, heats.point));
  else if (!heats.is_known)
    say(a, MEET_UNKNOWN,
        arena_printf(a->arena,
                     "whether heater %s is off is not known (%s): look at the heater first; here "
                     "only a point that tells `heating` makes it known",
                     heater->part.id, heats.why));
}

/* ---- what went down before ---- */

/* The act that began the bath which stood there when it was emptied; -1: not known. */
static int begun_before(const struct wet_past *past, int at)
{
  for (int i = at - 1; i >= 0; i--) {
    const struct wet_told *told = &past->list[i];

    if (told->void_why || !wet_same(told->tank, past->list[at].tank))
      continue;
    if (told->act == WET_MADE)
      return i;
    if (told->act == WET_FOUND || told->act == WET_DUMPED)
      return -1;
  }
  return -1;
}

/* It was emptied, into no container, so late that it still counts. */
static bool still_counts(const struct asking *a, const struct wet_told *told)
{
  double ago_s = (double)(a->baths->place->now_ms - told->t_ms) * 1e-3;

  return told->act == WET_DUMPED && !told->into && !told->void_why && ago_s >= 0 &&
         !(ago_s > a->out->drain->stands_s);
}

static bool went_down(const struct asking *a, const struct wet_told *told)
{
  const struct chemicals *own = a->baths->place->own;
  int tank = still_counts(a, told) ? chemicals_tank_find(own, told->tank) : -1;

  return tank >= 0 && own->tanks[tank].drains_into >= 0 &&
         &own->drains[own->tanks[tank].drains_into] == a->out->drain;
}

/* Of a tank that the file does not name any more: into which drain, nobody can say. */
static void ask_stranger(struct asking *a, const struct wet_told *told)
{
  if (still_counts(a, told) && chemicals_tank_find(a->baths->place->own, told->tank) < 0)
    say(a, MEET_UNKNOWN,
        arena_printf(a->arena,
                     "%s was emptied %s, and the chemicals file names it no more: it may have gone "
                     "down this drain",
                     told->tank, wet_clock(a->baths->place, told->t_ms, a->arena)));
}

static void add_thing(struct asking *a, const char *what)
{
  for (int i = 0; i < a->out->before_count; i++)
    if (strcmp(a->before[i], what) == 0)
      return;
  for (int i = 0; i < a->out->what_count; i++)
    if (strcmp(a->what[i], what) == 0)
      return; /* the same again */
  if (a->out->before_count == MEET_THINGS_MAX)
    say(a, MEET_UNKNOWN, "more went down before than can be looked up at once");
  else
    a->before[a->out->before_count++] = what;
}

/* With all it was topped up with. */
static void add_before(struct asking *a, int at)
{
  const struct wet_past *past = a->baths->past;
  const struct wet_told *emptied = &past->list[at];
  int from = begun_before(past, at);

  if (from < 0 || !past->list[from].bath) {
    say(a, MEET_UNKNOWN,
        arena_printf(a->arena, "%s was emptied into this drain %s, and what it held is not known",
                     emptied->tank, wet_clock(a->baths->place, emptied->t_ms, a->arena)));
    return;
  }
  add_thing(a, past->list[from].bath);
  for (int i = from + 1; i < at; i++)
    if (!past->list[i].void_why && past->list[i].act == WET_TOPPED &&
        wet_same(past->list[i].tank, emptied->tank) &&
        !wet_is_part(a->baths->place, past->list[from].bath, past->list[i].what, a->arena))
      add_thing(a, past->list[i].what);
}

static void find_before(struct asking *a)
{
  const struct wet_past *past = a->baths->past;

  for (int i = 0; i < past->count; i++)
    if (went_down(a, &past->list[i]))
      add_before(a, i);
    else
      ask_stranger(a, &past->list[i]);
  if (past->is_cut || past->unread_count > 0)
    say(a, MEET_UNKNOWN,
        "not all that was told could be read: what went down this drain before is not known");
}

/* What went down before has met by itself already. */
static bool is_of_this(const struct asking *a, const struct meet_finding *found)
{
  for (int i = 0; i < found->of_count; i++)
    if (found->of[i] < a->out->what_count)
      return true;
  return false;
}

static void ask_before(struct asking *a)
{
  const struct chemicals_stream as = wet_drain_as_stream(a->out->drain);
  struct meet_request request = {.at_K = (double)NAN,
                                 .place = MEET_ANYWHERE, /* poured together, in one pipe */
                                 .facility = a->baths->place->facility,
                                 .own = a->baths->place->own};
  struct err err = {0};

  if (a->out->what_count + a->out->before_count > MEET_THINGS_MAX) {
    say(a, MEET_UNKNOWN, "more went down before than can be looked up at once");
    return;
  }
  for (int i = 0; i < a->out->what_count; i++)
    request.things[request.thing_count++] = a->what[i];
  for (int i = 0; i < a->out->before_count; i++)
    request.things[request.thing_count++] = a->before[i];
  a->out->meets = meet_answer(a->baths->place->meet, &request, a->arena, &err);
  if (!a->out->meets) {
    say(a, MEET_UNKNOWN, arena_printf(a->arena, "it cannot be looked up: %s", err.text));
    return;
  }
  for (int i = 0; i < a->out->meets->finding_count; i++) {
    const struct meet_finding *found = &a->out->meets->findings[i];
    enum meet_verdict verdict = wet_finding(a->baths->place, &as, a->out->meets, found, a->arena);

    if (verdict > MEET_NOTHING_LISTED && is_of_this(a, found))
      say(a, verdict,
          arena_printf(a->arena, "%s: %s", meet_finding_of(a->out->meets, found, a->arena),
                       verdict != found->verdict
                           ? arena_printf(a->arena, "the chart has letters, but %s lists both",
                                          a->out->drain->part.id)
                       : found->sentence_count > 0 ? found->sentences[0].say
                                                   : meet_verdict_words(found->verdict)));
  }
}

/* ---- the question ---- */

static const struct wet_tank *tank_named(const struct wet_baths *baths, const char *id)
{
  for (int i = 0; i < baths->count; i++)
    if (wet_same(baths->tanks[i].tank->part.id, id))
      return &baths->tanks[i];
  return NULL;
}

static const struct chemicals_drain *drain_named(const struct asking *a, const char *id)
{
  const struct chemicals *own = a->baths->place->own;
  int at = id ? chemicals_drain_find(own, id) : a->out->tank->tank->drains_into;

  return at >= 0 ? &own->drains[at] : NULL;
}

/* False: there is nothing more to ask. */
static bool find_both(struct asking *a, const char *drain)
{
  struct wet_dump *out = a->out;

  out->tank = tank_named(a->baths, out->tank_id);
  if (!out->tank) {
    say(a, MEET_UNKNOWN, "the chemicals file names no such tank: what stands there is not known");
    return false;
  }
  out->drain = drain_named(a, drain);
  if (!out->drain) {
    say(a, MEET_UNKNOWN,
        drain ? "the chemicals file names no such drain: where it leads is not known"
              : arena_printf(a->arena, "the file names no drain for this tank, only the words: %s",
                             out->tank->tank->drain));
    return false;
  }
  out->drain_id = out->drain->part.id;
  if (out->drain->station != out->tank->tank->station)
    say(a, MEET_UNKNOWN,
        arena_printf(a->arena, "%s opens at another station: %s", out->drain_id,
                     a->baths->place->facility->stations[out->drain->station].part.id));
  return true;
}

static void find_what(struct asking *a)
{
  const struct wet_tank *t = a->out->tank;

  a->out->what_count = wet_holds(a->baths->place, t, a->what, a->arena);
  if (a->out->what_count > 0) {
    if (t->state == WET_NOT_KNOWN)
      say(a, MEET_UNKNOWN, t->reasons.count > 0 ? t->reasons.line[0] : "its state is not known");
    return;
  }
  say(a, MEET_UNKNOWN,
      t->state == WET_EMPTY ? "by what was told it stands empty: what would run out is not known"
                            : "what stands in it is not known: let nothing down");
}

struct wet_dump *wet_dump(const struct wet_baths *baths, const char *tank, const char *drain,
                          struct arena *arena)
{
  struct wet_dump *out = ARENA_NEW(arena, struct wet_dump);
  struct asking a = {baths, out, arena, ARENA_ARRAY(arena, const char *, 1 + WET_LINES_MOST),
                     ARENA_ARRAY(arena, const char *, MEET_THINGS_MAX)};

  BUG_IF(!out || !a.what || !a.before);
  *out = (struct wet_dump){.place = baths->place,
                           .tank_id = tank,
                           .drain_id = drain,
                           .what = a.what,
                           .before = a.before};
  if (!find_both(&a, drain))
    return out;
  find_what(&a);
  ask_temperature(&a);
  ask_heater(&a);
  for (int i = 0; i < out->what_count; i++)
    ask_one(&a, a.what[i]);
  find_before(&a);
  if (out->what_count > 0 && out->what_count + out->before_count > 1)
    ask_before(&a); /* one thing alone meets nothing */
  return out;
}
