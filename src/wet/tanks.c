#include "wet/wet_impl.h"

#include <math.h>
#include <string.h>

/* Which bath stands in which tank, and what is due next. */

struct folding {
  const struct wet_place *place;
  struct arena *arena;
  struct wet_tank *out;
  bool stands;
  const struct wet_told *emptied; /* the newest, while nothing stands; NULL */
  const struct wet_told *stray;   /* told of a tank that stood empty; NULL */
};

static void begin_bath(struct folding *f, const struct wet_told *told)
{
  struct wet_tank *t = f->out;

  if (f->stands && told->act == WET_MADE && t->made)
    wet_line(&t->notes,
             arena_printf(f->arena,
                          "That the bath before it was emptied was not told: where did it go?"));
  f->stands = true;
  f->emptied = f->stray = NULL;
  t->made = told;
  t->temperature = t->level = NULL;
  t->wafers = 0;
  t->level_m3 = (double)NAN;
  t->topped_m3 = 0;
  t->topped_count = 0;
  t->is_topped_cut = false;
}

static void top_up(struct wet_tank *t, const struct wet_told *told)
{
  bool listed = false;

  t->topped_m3 += told->volume_m3;
  t->level_m3 += told->volume_m3;
  for (int i = 0; i < t->topped_count; i++)
    listed |= strcmp(t->topped[i], told->what) == 0;
  if (!listed && t->topped_count < WET_LINES_MOST)
    t->topped[t->topped_count++] = told->what;
  else if (!listed)
    t->is_topped_cut = true;
}

/* Of what stands; anything told of an empty tank contradicts. */
static void take_act(struct folding *f, const struct wet_told *told)
{
  struct wet_tank *t = f->out;

  t->last = told;
  if (told->act == WET_MADE || told->act == WET_FOUND) {
    if (told->act == WET_MADE)
      t->notes.count = 0;
    begin_bath(f, told);
    return;
  }
  if (!f->stands) {
    f->stray = told;
    return;
  }
  switch ((int)told->act) {
  case WET_TOPPED:
    top_up(t, told);
    break;
  case WET_WAFERS:
    t->wafers += told->wafers;
    break;
  case WET_TEMPERATURE:
    t->temperature = told;
    break;
  case WET_LEVEL:
    t->level = told;
    t->level_m3 = told->volume_m3;
    break;
  default: /* emptied */
    f->stands = false;
    f->emptied = told;
    t->made = NULL;
    t->notes.count = 0;
  }
}

/* ---- its life ---- */

static void find_life(const struct wet_place *place, struct wet_tank *t)
{
  t->life_s = t->tank->life_s;
  t->life_of = t->tank->source;
  for (int i = 0; isnan(t->life_s) && i < place->own->bath_count; i++)
    if (strcmp(place->own->baths[i].part.id, t->tank->bath) == 0) {
      t->life_s = place->own->baths[i].life_s;
      t->life_of = place->own->baths[i].source;
    }
}

static void worse(struct wet_tank *t, enum wet_state state)
{
  if (state > t->state)
    t->state = state;
}

static void due(struct folding *f, const char *why)
{
  worse(f->out, WET_DUE);
  wet_line(&f->out->reasons, why);
}

static void not_known(struct folding *f, const char *why)
{
  worse(f->out, WET_NOT_KNOWN);
  wet_line(&f->out->reasons, why);
}

static void next(struct wet_tank *t, int64_t at_ms, const char *why)
{
  if (t->due_ms != INT64_MIN && t->due_ms <= at_ms)
    return;
  t->due_ms = at_ms;
  t->due_why = why;
}

static void judge_age(struct folding *f)
{
  struct wet_tank *t = f->out;
  double age_s = (double)(f->place->now_ms - t->made->t_ms) * 1e-3;
  const char *life = isnan(t->life_s) ? "" : wet_span(t->life_s, f->arena);

  if (t->made->act == WET_FOUND) {
    not_known(f, "it was found standing: since when, and by whom it was made, is not known");
    return;
  }
  if (isnan(t->life_s)) {
    wet_line(&t->notes, "no life is set for it: nothing here says when it has grown too old");
    return;
  }
  if (age_s >= t->life_s)
    due(f, arena_printf(f->arena, "change it: poured %s ago, and its life is %s (%s)",
                        wet_span(age_s, f->arena), life, t->life_of));
  next(t, t->made->t_ms + llround(t->life_s * 1e3),
       arena_printf(f->arena, "change it: a life of %s (%s)", life, t->life_of));
}

static void judge_count(struct folding *f)
{
  struct wet_tank *t = f->out;

  if (t->tank->wafers_most > 0 && t->wafers >= t->tank->wafers_most)
    due(f, arena_printf(f->arena, "change it: %lld wafers, and at most %d are set (%s)",
                        (long long)t->wafers, t->tank->wafers_most, t->tank->source));
}

static void judge_level(struct folding *f)
{
  struct wet_tank *t = f->out;

  if (!isnan(t->level_m3) && t->level_m3 < t->tank->least_m3)
    due(f, arena_printf(f->arena,
                        "top it up or change it: %s by what was told, and at least %s "
                        "is set (%s)",
                        wet_quantity(t->level_m3, UNITS_VOLUME, f->arena),
                        wet_quantity(t->tank->least_m3, UNITS_VOLUME, f->arena), t->tank->source));
  if (!isnan(t->tank->least_m3) && t->level && isnan(t->level_m3))
    wet_line(&t->notes, "how much was topped up was not told: read its level anew");
}

static void judge_band(struct folding *f)
{
  const struct chemicals_tank *tank = f->out->tank;
  const struct wet_told *read = f->out->temperature;
  double off_K = read ? read->temperature_K - tank->temperature_K : (double)NAN;

  if (isnan(tank->temperature_pm_K) || !(fabs(off_K) > tank->temperature_pm_K))
    return;
  due(f, arena_printf(f->arena, "%s by more than it may be (%s ± %.3g K, %s)",
                      off_K > 0 ? "too hot" : "too cold",
                      wet_quantity(tank->temperature_K, UNITS_TEMPERATURE, f->arena),
                      tank->temperature_pm_K, tank->source));
}

static void judge_reading(struct folding *f)
{
  struct wet_tank *t = f->out;
  const struct wet_told *read = t->temperature;
  double every_s = t->tank->every_s;
  int64_t since_ms = read ? read->t_ms : t->made->t_ms;
  double since_s = (double)(f->place->now_ms - since_ms) * 1e-3;

  judge_band(f);
  if (isnan(every_s))
    return;
  const char *every = wet_span(every_s, f->arena);

  if (since_s >= every_s)
    due(f, arena_printf(f->arena, "read its temperature: %s %s ago, and every %s is set (%s)",
                        read                        ? "read"
                        : t->made->act == WET_FOUND ? "not read since it was found"
                                                    : "not read since it was poured",
                        wet_span(since_s, f->arena), every, t->tank->source));
  next(t, since_ms + llround(every_s * 1e3),
       arena_printf(f->arena, "read its temperature: every %s (%s)", every, t->tank->source));
}

/* What is none of its parts makes another bath of it, or worse. */
static void judge_topped(struct folding *f)
{
  struct wet_tank *t = f->out;

  if (t->is_topped_cut)
    not_known(f,
              "more was put into it than can be looked up at once: what stands there is not known");
  for (int i = 0; t->made->bath && i < t->topped_count; i++) {
    const char *why;
    enum meet_verdict verdict =
        wet_of_topping(f->place, t->made->bath, t->topped[i], &why, f->arena);

    if (verdict == MEET_NEVER)
      not_known(f, arena_printf(f->arena,
                                "%s is in it and must never be: do not heat, drain or add to it; "
                                "leave and call. %s",
                                t->topped[i], why));
    else if (why)
      not_known(f, arena_printf(f->arena,
                                "%s is in it, and is none of what it is made of: what stands there "
                                "is not known. %s",
                                t->topped[i], why));
  }
}

static void judge_bath(struct folding *f)
{
  struct wet_tank *t = f->out;

  if (t->made->bath && strcmp(t->made->bath, t->tank->bath) != 0)
    not_known(f,
              arena_printf(f->arena,
                           "%s was poured, but the chemicals file now says %s: what stands there?",
                           t->made->bath, t->tank->bath));
  judge_topped(f);
  judge_age(f);
  judge_count(f);
  judge_level(f);
  judge_reading(f);
}

static void judge_empty(struct folding *f)
{
  struct wet_tank *t = f->out;

  t->state = WET_EMPTY;
  if (f->stray)
    not_known(f, arena_printf(f->arena, "%s was told at %s of a tank that stood empty: go and look",
                              wet_told_words(f->stray, f->arena),
                              wet_clock(f->place, f->stray->t_ms, f->arena)));
  else if (!f->emptied)
    not_known(f, "nothing was told of it in this record");
}

static struct wet_tank fold(const struct wet_place *place, const struct wet_past *past,
                            const struct chemicals_tank *tank, struct arena *arena)
{
  struct wet_tank out = {.tank = tank,
                         .bath = wet_bath_name(place, tank->bath, arena),
                         .state = WET_STANDS,
                         .due_ms = INT64_MIN,
                         .level_m3 = (double)NAN};
  struct folding f = {.place = place, .arena = arena, .out = &out};
  const char *unread = NULL;

  find_life(place, &out);
  for (int i = 0; i < past->count; i++) {
    const struct wet_told *told = &past->list[i];

    if (!told->void_why && told->t_ms <= place->now_ms && wet_same(told->tank, tank->part.id))
      take_act(&f, told);
  }
  if (out.last && past->unread_ms >= (f.emptied ? f.emptied : out.made ? out.made : out.last)->t_ms)
    unread = "something was told since that cannot be read, or is of a moment to come";
  if (f.stands)
    judge_bath(&f);
  else
    judge_empty(&f);
  if (unread)
    not_known(&f, unread);
  return out;
}

/* ---- tanks that the file does not name ---- */

static bool is_stranger(const struct wet_place *place, const struct wet_past *past, int at)
{
  const struct wet_told *told = &past->list[at];

  if (!told->tank || told->void_why || told->t_ms > place->now_ms ||
      chemicals_tank_find(place->own, told->tank) >= 0)
    return false;
  for (int i = at + 1; i < past->count; i++)
    if (!past->list[i].void_why && past->list[i].t_ms <= place->now_ms &&
        wet_same(past->list[i].tank, told->tank))
      return false; /* a newer one speaks for it */
  return told->act != WET_DUMPED;
}

/* Renamed or taken out of the file: what stood there does not go away with its name. */
static void find_strangers(struct wet_baths *baths, struct arena *arena)
{
  for (int i = 0; i < baths->past->count; i++) {
    const struct wet_told *told = &baths->past->list[i];

    if (!is_stranger(baths->place, baths->past, i))
      continue;
    baths->state = WET_NOT_KNOWN;
    wet_line(&baths->strangers,
             arena_printf(arena,
                          "%s (entry %lld), and the chemicals file names no tank %s: what stands "
                          "there is not known",
                          wet_told_words(told, arena), (long long)told->number, told->tank));
  }
}

struct wet_baths *wet_baths(const struct wet_place *place, const struct wet_past *past,
                            struct arena *arena)
{
  struct wet_baths *baths = ARENA_NEW(arena, struct wet_baths);
  int count = place->own ? place->own->tank_count : 0;
  struct wet_tank *tanks = ARENA_ARRAY(arena, struct wet_tank, (size_t)count + 1);

  BUG_IF(!baths || !tanks);
  *baths = (struct wet_baths){.place = place, .past = past, .count = count, .tanks = tanks};
  for (int i = 0; i < count; i++) {
    tanks[i] = fold(place, past, &place->own->tanks[i], arena);
    if (tanks[i].state > baths->state)
      baths->state = tanks[i].state;
  }
  find_strangers(baths, arena);
  return baths;
}
