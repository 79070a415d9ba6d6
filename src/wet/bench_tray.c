#include "wet/wet_impl.h"

#include <math.h>
#include <string.h>

/* A leak tray: wet or dry, what stands above it and what may meet in it.  And the rinse tanks. */

struct gathering {
  const struct wet_baths *baths;
  struct arena *arena;
  struct meet_request request;
  const char **above;
  int above_count;
  bool some_not_known;
};

static void add_thing(struct gathering *g, const char *what)
{
  struct meet_request *r = &g->request;

  for (int i = 0; i < r->thing_count; i++)
    if (strcmp(r->things[i], what) == 0)
      return;
  if (r->thing_count == MEET_THINGS_MAX)
    g->some_not_known = true; /* more than can be looked up at once */
  else
    r->things[r->thing_count++] = what;
}

static void add_tank(struct gathering *g, const struct wet_tank *t)
{
  const char *what[1 + WET_LINES_MOST];
  int count = wet_holds(g->baths->place, t, what, g->arena);

  if (t->state == WET_EMPTY) {
    g->above[g->above_count++] =
        arena_printf(g->arena, "%s: empty, by what was told", t->tank->part.id);
    return;
  }
  if (count == 0) {
    g->some_not_known = true;
    g->above[g->above_count++] =
        arena_printf(g->arena, "%s: what stands there is not known", t->tank->part.id);
    return;
  }
  g->above[g->above_count++] =
      arena_printf(g->arena, "%s: %s, poured %s", t->tank->part.id, t->bath,
                   wet_clock(g->baths->place, t->made->t_ms, g->arena));
  for (int i = 0; i < count; i++)
    add_thing(g, what[i]);
}

static void add_all(struct gathering *g, const struct chemicals_tray *tray)
{
  const struct chemicals *own = g->baths->place->own;

  for (int i = 0; i < tray->tank_count; i++)
    add_tank(g, &g->baths->tanks[tray->tanks[i]]);
  for (int i = 0; i < tray->rinse_count; i++) {
    g->above[g->above_count++] = arena_printf(g->arena, "%s: rinse water, with what was rinsed",
                                              own->rinses[tray->rinses[i]].part.id);
    add_thing(g, "water");
  }
  for (int i = 0; i < tray->drain_count; i++) {
    const struct chemicals_drain *drain = &own->drains[tray->drains[i]];

    g->above[g->above_count++] =
        arena_printf(g->arena, "%s: whatever goes down that drain", drain->part.id);
    for (int k = 0; k < drain->take_count; k++)
      add_thing(g, drain->takes[k]);
  }
  for (int i = 0; i < tray->also_count; i++) {
    g->above[g->above_count++] = tray->also[i];
    add_thing(g, tray->also[i]);
  }
}

/* What may meet in it, whether it is wet or dry: the worst stands first. */
static const struct meet_answer *meeting(struct gathering *g)
{
  struct err err = {0};

  if (g->request.thing_count < 2)
    return NULL;
  return meet_answer(g->baths->place->meet, &g->request, g->arena, &err);
}

static const char *whom(const struct wet_place *place, const struct chemicals_tray *tray)
{
  const char *station = place->facility->stations[tray->station].card.call;

  return tray->tell              ? tray->tell
         : station               ? station
         : place->facility->call ? place->facility->call
                                 : "the person in charge";
}

static void judge(struct wet_tray *t, struct arena *arena)
{
  const struct chemicals_tray *tray = t->tray;
  const char *meets = !t->meets ? ""
                                : arena_printf(arena, "; what stands above it, together: %s",
                                               meet_verdict_words(t->meets->verdict));

  if (t->leak.is_known && t->leak.si != 0) {
    t->need = WET_CALL;
    t->says = arena_printf(arena, "wet, by %s%s", t->leak.point, meets);
    t->next = arena_printf(
        arena,
        "Step away and keep others away; touch nothing in it and wipe nothing up. Tell %s now: "
        "what is in the tray, and where it comes from, is for them to find",
        t->tell);
  } else if (t->leak.is_known)
    t->says = arena_printf(arena, "dry, by %s", t->leak.point);
  else if (t->leak.point) {
    t->need = WET_SILENT;
    t->says = arena_printf(arena, "whether it is dry is not known: %s", t->leak.why);
    t->next = arena_printf(arena, "Look into it; if it is wet, step away and tell %s", t->tell);
  } else {
    t->need = WET_UNSEEN;
    t->says = arena_printf(arena, "no point sees it; looked at by %s", tray->looked_at);
  }
}

struct wet_tray wet_one_tray(const struct wet_baths *baths, const struct chemicals_tray *tray,
                             struct arena *arena)
{
  const struct wet_place *place = baths->place;
  int most = tray->tank_count + tray->rinse_count + tray->drain_count + tray->also_count;
  struct gathering g = {.baths = baths,
                        .arena = arena,
                        .request = {.place = MEET_ANYWHERE, /* as if poured together */
                                    .at_K = (double)NAN,
                                    .facility = place->facility,
                                    .own = place->own},
                        .above = ARENA_ARRAY(arena, const char *, (size_t)most + 1)};
  struct wet_tray out = {.tray = tray, .tell = whom(place, tray)};

  BUG_IF(!g.above);
  add_all(&g, tray);
  out.leak = wet_reading_of(place, &tray->seen, arena);
  out.above = g.above;
  out.above_count = g.above_count;
  out.some_not_known = g.some_not_known;
  out.meets = meeting(&g);
  judge(&out, arena);
  return out;
}

/* ---- rinse tanks ---- */

/* One figure of a rinse: reached, not yet, or not known. */
static void figure(struct wet_rinse *r, const struct wet_reading *now, double least_si,
                   const char *shown, const char *least, struct arena *arena)
{
  const char *says = now->is_known ? arena_printf(arena, "%s, at least %s", shown, least)
                                   : arena_printf(arena, "at least %s: %s", least, now->why);

  r->is_known &= now->is_known;
  r->is_reached &= now->is_known && now->si >= least_si;
  r->says = *r->says ? arena_printf(arena, "%s; %s", r->says, says) : says;
}

struct wet_rinse wet_one_rinse(const struct wet_place *place, const struct chemicals_rinse *rinse,
                               struct arena *arena)
{
  struct wet_rinse out = {.rinse = rinse, .is_known = true, .is_reached = true, .says = ""};

  out.resistivity = wet_reading_of(place, &rinse->resistivity, arena);
  out.dumps = wet_reading_of(place, &rinse->dumps, arena);
  if (!isnan(rinse->resistivity_ohm_m))
    figure(&out, &out.resistivity, rinse->resistivity_ohm_m,
           wet_quantity(out.resistivity.si, UNITS_RESISTIVITY, arena),
           wet_quantity(rinse->resistivity_ohm_m, UNITS_RESISTIVITY, arena), arena);
  if (rinse->dumps_least > 0)
    figure(&out, &out.dumps, rinse->dumps_least, arena_printf(arena, "%.0f dumps", out.dumps.si),
           arena_printf(arena, "%d dumps", rinse->dumps_least), arena);
  return out;
}
