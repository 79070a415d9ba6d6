#include "wet/wet_impl.h"

#include <math.h>

/* A heater: is it one that should be locked out, by what is measured, and does it heat all the same? */

struct locking {
  const struct wet_baths *baths;
  const struct wet_heater *out;
  struct arena *arena;
};

static const char *amount(double si, enum units_dimension dimension, const struct locking *l)
{
  return wet_quantity(si, dimension, l->arena);
}

/* A quantity against its limit; `over`: it holds above. */
static struct wet_lock by_limit(const struct locking *l, const struct wet_reading *now,
                                double limit_si, bool over, enum units_dimension dimension)
{
  struct wet_lock lock = {.is_known = now->is_known, .is_silent = now->point && !now->is_known};

  if (!now->is_known) {
    lock.says = now->why;
    return lock;
  }
  lock.holds = over ? now->si > limit_si : now->si < limit_si;
  lock.says = arena_printf(l->arena, "%s by %s, cut out %s %s", amount(now->si, dimension, l),
                           now->point, over ? "above" : "below", amount(limit_si, dimension, l));
  return lock;
}

static struct wet_lock by_switch(const struct locking *l, const struct wet_reading *now,
                                 const char *yes, const char *no)
{
  struct wet_lock lock = {.is_known = now->is_known, .is_silent = now->point && !now->is_known};

  lock.holds = now->is_known && now->si != 0;
  lock.says = now->is_known ? arena_printf(l->arena, "%s by %s", lock.holds ? yes : no, now->point)
                            : now->why;
  return lock;
}

static bool is_switch(const struct wet_place *place, const struct wet_reading *now)
{
  int at = place->feeds && now->point ? feeds_point_find(place->feeds, now->point) : -1;

  return at >= 0 && place->feeds->points[at].what == FEEDS_LOW_LEVEL;
}

static struct wet_lock low_level(const struct locking *l)
{
  const struct wet_place *place = l->baths->place;
  const struct wet_tank *t = l->out->tank;
  const struct chemicals_heater *h = l->out->heater;
  double least_m3 = isnan(h->level_m3) ? t->tank->least_m3 : h->level_m3;
  struct wet_reading now = wet_reading_of(place, &h->level, l->arena);

  if (is_switch(place, &now))
    return by_switch(l, &now, "low", "not low");
  if (isnan(least_m3))
    return (struct wet_lock){.says = "below how much it is cut out is not said"};
  if (now.point)
    return by_limit(l, &now, least_m3, false, UNITS_VOLUME);
  if (!isnan(t->level_m3) && t->level) /* as told: a person read it */
    now = (struct wet_reading){.point = "what was told", .is_known = true, .si = t->level_m3};
  return by_limit(l, &now, least_m3, false, UNITS_VOLUME);
}

static struct wet_lock over_temperature(const struct locking *l)
{
  const char *says;
  double now_K = wet_temperature_K(l->baths->place, l->out->tank, &says, l->arena);
  const struct chemicals_heater *h = l->out->heater;

  return (struct wet_lock){
      .is_known = !isnan(now_K),
      .is_silent = isnan(now_K) && h->temperature.by,
      .holds = now_K > h->over_K,
      .says = arena_printf(l->arena, "%s, cut out above %s", says,
                           amount(h->over_K, UNITS_TEMPERATURE, l)),
  };
}

static bool is_above(const struct chemicals *own, const struct chemicals_tray *tray,
                     const struct wet_tank *tank)
{
  for (int i = 0; i < tray->tank_count; i++)
    if (&own->tanks[tray->tanks[i]] == tank->tank)
      return true;
  return false;
}

/* Any of the trays under it: one that is wet counts, and all must be heard for none to be. */
static struct wet_lock leak(const struct locking *l)
{
  const struct wet_place *place = l->baths->place;
  struct wet_lock out = {.is_known = true, .says = "its leak tray is dry"};

  for (int i = 0; i < place->own->tray_count; i++) {
    const struct chemicals_tray *tray = &place->own->trays[i];

    if (!is_above(place->own, tray, l->out->tank))
      continue;
    struct wet_reading now = wet_reading_of(place, &tray->seen, l->arena);

    if (now.is_known && now.si != 0)
      return (struct wet_lock){
          .is_known = true,
          .holds = true,
          .says = arena_printf(l->arena, "leak tray %s is wet by %s", tray->part.id, now.point)};
    if (!now.is_known)
      out = (struct wet_lock){
          .is_silent = now.point != NULL,
          .says = arena_printf(l->arena, "leak tray %s: %s", tray->part.id, now.why)};
  }
  return out;
}

static struct wet_lock one_lock(const struct locking *l, enum chemicals_lockout of)
{
  const struct wet_place *place = l->baths->place;
  const struct chemicals_heater *h = l->out->heater;
  struct wet_reading now;

  switch (of) {
  case CHEMICALS_LOW_LEVEL:
    return low_level(l);
  case CHEMICALS_LOW_EXHAUST:
    now = wet_reading_of(place, &h->exhaust, l->arena);
    return by_limit(l, &now, h->exhaust_m3_s, false, UNITS_FLOW);
  case CHEMICALS_OVER_TEMPERATURE:
    return over_temperature(l);
  case CHEMICALS_LID_OPEN:
    now = wet_reading_of(place, &h->lid, l->arena);
    return by_switch(l, &now, "open", "shut");
  case CHEMICALS_LEAK:
    return leak(l);
  case CHEMICALS_LOCKOUT_COUNT:
  default:
    return (struct wet_lock){0};
  }
}

/* ---- what it comes to ---- */

static const char *listed(const struct wet_heater *h, bool (*is_it)(const struct wet_lock *lock),
                          bool with_why, struct arena *arena)
{
  const char *all = "";

  for (int i = 0; i < h->lock_count; i++) {
    const struct wet_lock *lock = &h->locks[i];

    if (!is_it(lock))
      continue;
    all = arena_printf(arena, "%s%s%s", all, *all ? ", " : "", chemicals_lockout_words(lock->of));
    if (with_why)
      all = arena_printf(arena, "%s (%s)", all, lock->says);
  }
  return all;
}

static bool holds(const struct wet_lock *lock)
{
  return lock->holds;
}

static bool is_silent(const struct wet_lock *lock)
{
  return lock->is_silent;
}

static bool is_unseen(const struct wet_lock *lock)
{
  return !lock->is_known && !lock->is_silent;
}

static const char next_words[] =
    "Switch it off at the bench if you reach it without leaning over it, else leave and shut the room; do not "
    "fill a tank that ran dry while it is hot. Then tell the person in charge: a lock-out or a sensor fails.";
static const char next_wet[] =
    "Do not go to it: the tray under it is wet. Tell the person in charge that it heats, and that a lock-out or a "
    "sensor fails: its power is cut by who may cut it.";
static const char next_look[] =
    "Look at the bench whether it heats; if it does, tell the person in charge.";
static const char next_ask[] =
    "Do not go to it: the tray under it is wet. Tell the person in charge that nobody knows whether it heats.";

/* Nobody is sent to a bench that leaks. */
static bool is_wet_under(const struct wet_heater *h)
{
  for (int i = 0; i < h->lock_count; i++)
    if (h->locks[i].of == CHEMICALS_LEAK && h->locks[i].holds)
      return true;
  return false;
}

static void contradiction(struct wet_heater *h, const char *says)
{
  h->need = WET_CALL;
  h->head = "CONTRADICTION";
  h->says = says;
  h->next = is_wet_under(h) ? next_wet : next_words;
}

static void says(struct wet_heater *h, enum wet_need need, const char *head, const char *text)
{
  h->need = need;
  h->head = head;
  h->says = text;
}

/* Some condition holds: it should not heat. */
static void judge_held(const struct locking *l, struct wet_heater *h, const char *held)
{
  if (!h->heats.is_known) {
    says(h, WET_SILENT, "NOT KNOWN",
         arena_printf(l->arena, "it should be locked out by %s; whether it heats is not known: %s",
                      held, h->heats.why));
    h->next = is_wet_under(h) ? next_ask : next_look;
  } else if (h->heats.si != 0)
    contradiction(h,
                  arena_printf(l->arena, "it should be locked out by %s, and %s says that it heats",
                               held, h->heats.point));
  else
    says(h, WET_QUIET, "OFF", arena_printf(l->arena, "off, as it should be: %s", held));
}

/* None of those that are known holds. */
static void judge_free(const struct locking *l, struct wet_heater *h)
{
  const char *silent = listed(h, is_silent, false, l->arena);
  const char *unseen = listed(h, is_unseen, false, l->arena);

  if (*silent)
    says(h, WET_SILENT, "NOT KNOWN",
         arena_printf(l->arena, "what should lock it out is not known: %s", silent));
  else if (!h->heats.is_known && h->heats.point)
    says(h, WET_SILENT, "NOT KNOWN", h->heats.why);
  else if (!h->heats.is_known)
    says(h, WET_UNSEEN, "NOT SEEN", "whether it heats is not seen");
  else
    says(h, *unseen ? WET_UNSEEN : WET_QUIET, h->heats.si != 0 ? "HEATS" : "OFF",
         *unseen ? arena_printf(l->arena, "no point sees %s", unseen)
                 : "no condition that would lock it out is measured");
}

static void judge(const struct locking *l, struct wet_heater *h)
{
  const char *held = listed(h, holds, true, l->arena);

  if (*held)
    judge_held(l, h, held);
  else if (h->heats.is_known && h->heats.si != 0 && h->tank->state == WET_EMPTY)
    contradiction(h, arena_printf(l->arena,
                                  "%s says that it heats, and by what was told tank %s is empty",
                                  h->heats.point, h->tank->tank->part.id));
  else
    judge_free(l, h);
}

struct wet_heater wet_one_heater(const struct wet_baths *baths,
                                 const struct chemicals_heater *heater, struct arena *arena)
{
  struct wet_heater out = {.heater = heater, .tank = &baths->tanks[heater->tank]};
  const struct locking l = {baths, &out, arena};

  out.heats = wet_reading_of(baths->place, &heater->heats, arena);
  out.temperature = wet_reading_of(baths->place, &heater->temperature, arena);
  for (int of = 0; of < CHEMICALS_LOCKOUT_COUNT; of++)
    if (heater->locked_by[of]) {
      struct wet_lock *lock = &out.locks[out.lock_count++];

      *lock = one_lock(&l, (enum chemicals_lockout)of);
      lock->of = (enum chemicals_lockout)of;
    }
  judge(&l, &out);
  return out;
}
