#include "etch/etch_impl.h"

#include <math.h>
#include <string.h>

/* What the suite's chemicals file says of films, baths and rates: it goes before the tables. */

/* ---- its own words ---- */

const struct etch_film *etch_own_film(const struct etch_tables *t, const char *text)
{
  for (int i = 0; t->own && i < t->own->rate_count; i++)
    if (etch_same_word(t->own->rates[i].film, text)) {
      struct etch_film *film = ARENA_NEW(t->arena, struct etch_film);

      BUG_IF(!film);
      *film = (struct etch_film){.id = t->own->rates[i].film,
                                 .name = t->own->rates[i].film,
                                 .kind = "",
                                 .molar_kg_mol = NAN,
                                 .density_kg_m3 = NAN,
                                 .of = {CHEM_SUITE, "", "the suite's chemicals file", ""}};
      return film;
    }
  return NULL;
}

static const struct chemicals_bath *bath_named(const struct etch_tables *t, const char *text)
{
  for (int i = 0; t->own && i < t->own->bath_count; i++)
    if (strcmp(t->own->baths[i].part.id, text) == 0)
      return &t->own->baths[i];
  return NULL;
}

static bool rate_names(const struct etch_tables *t, const char *text)
{
  for (int i = 0; t->own && i < t->own->rate_count; i++)
    if (etch_same_word(t->own->rates[i].in, text))
      return true;
  return false;
}

const struct etch_bath *etch_own_bath(const struct etch_tables *t, const char *text)
{
  const struct chemicals_bath *own = bath_named(t, text);
  struct etch_bath *bath;

  if (!own && !rate_names(t, text))
    return NULL;
  bath = ARENA_NEW(t->arena, struct etch_bath);
  BUG_IF(!bath);
  *bath = (struct etch_bath){.id = arena_strdup(t->arena, text),
                             .name = own && own->part.name ? own->part.name : "a bath of the suite",
                             .caution = "",
                             .parts = "",
                             .usual_K = own ? own->temperature_K : (double)NAN,
                             .strength_of = "",
                             .of = {CHEM_SUITE, "", "the suite's chemicals file", ""}};
  return bath;
}

const char *etch_own_parts(const struct etch_tables *t, const char *text, double *at_K)
{
  const struct chemicals_bath *own = bath_named(t, text);
  const char *parts = "";

  if (!own)
    return NULL;
  for (int i = 0; i < own->part_count; i++)
    parts = arena_printf(t->arena, "%s%s%.9g %s", parts, i ? " + " : "", own->parts[i].volume_ratio,
                         own->parts[i].of);
  *at_K = own->temperature_K;
  return parts;
}

/* ---- its measured rates ---- */

static bool same_number(double a, double b, double near)
{
  return (isnan(a) && isnan(b)) || fabs(a - b) <= near;
}

/* The rate's own words for its bath mean this place. */
static bool is_place(const struct etch_tables *t, const struct chemicals_rate *rate,
                     const struct etch_place *place)
{
  struct etch_place there;
  struct err err = {0};

  if (etch_same_word(rate->in, place->bath->id))
    return isnan(rate->strength_ratio) ||
           same_number(rate->strength_ratio, place->strength_ratio, t->near_strength);
  if (etch_find_bath(t, rate->in, t->arena, &there, &err) != ERR_OK)
    return false;
  if (!isnan(rate->strength_ratio))
    there.strength_ratio = rate->strength_ratio;
  return strcmp(there.bath->id, place->bath->id) == 0 &&
         same_number(there.water_parts, place->water_parts, 0.01 * fmax(1, place->water_parts)) &&
         same_number(there.strength_ratio, place->strength_ratio, t->near_strength);
}

static bool is_film(const struct etch_tables *t, const struct chemicals_rate *rate,
                    const struct etch_film *film)
{
  struct err err = {0};
  const struct etch_film *named = etch_find_film(t, rate->film, &err);

  return named && strcmp(named->id, film->id) == 0;
}

/* In its place by day, as days are written (2026-09-14); the oldest makes room.  How many now. */
static int put_by_day(struct etch_own_rate *rates, int count, const struct etch_own_rate *rate)
{
  int at = count;

  while (at > 0 && strcmp(rates[at - 1].of.date, rate->of.date) < 0)
    at--;
  if (at == ETCH_OWN_MOST)
    return count;
  if (count < ETCH_OWN_MOST)
    count++;
  for (int i = count - 1; i > at; i--)
    rates[i] = rates[i - 1];
  rates[at] = *rate;
  return count;
}

int etch_own_rates(const struct etch_tables *t, const struct etch_place *place,
                   const struct etch_film *film, struct etch_own_rate *out)
{
  int count = 0;

  for (int i = 0; t->own && i < t->own->rate_count; i++) {
    const struct chemicals_rate *rate = &t->own->rates[i];
    struct etch_own_rate found;

    if (!is_film(t, rate, film) || !is_place(t, rate, place))
      continue;
    found = (struct etch_own_rate){.rate_m_s = rate->rate_m_s,
                                   .rate_pm_m_s = rate->rate_pm_m_s,
                                   .at_K = rate->temperature_K,
                                   .how = ETCH_OWN,
                                   .of = {CHEM_SUITE, rate->measured,
                                          arena_printf(t->arena, "%s, measured %s by %s",
                                                       rate->part.id, rate->measured, rate->by),
                                          ""}};
    count = put_by_day(out, count, &found);
  }
  return count;
}
