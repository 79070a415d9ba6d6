#include "etch/etch_impl.h"

#include <math.h>
#include <string.h>

/*
 * What each source says of a film in this bath.  A figure counts where it was printed for these
 * conditions, or can be moved to them; the others are kept with the reason why they do not count.
 */

const char *etch_how_words(enum etch_how how)
{
  static const char *const words[] = {
      [ETCH_OWN] = "the suite's own measured rate",
      [ETCH_GIVEN] = "measured here, as given with the question",
      [ETCH_ROW] = "printed",
      [ETCH_MOVED] = "printed for another temperature",
      [ETCH_LAW] = "computed",
  };

  return words[how];
}

const char *etch_known_words(enum etch_known known)
{
  static const char *const words[] = {
      [ETCH_NUMBER] = "a rate",
      [ETCH_ZERO] = "measured as zero",
      [ETCH_UNMEASURED] = "not measured",
      [ETCH_OTHERWISE] = "listed for other conditions only",
      [ETCH_NOTHING] = "nothing is listed",
  };

  return words[known];
}

enum { RATES_MOST = 64 };

struct looking {
  const struct etch_tables *tables;
  const struct etch_place *place;
  const struct etch_film *film;
  struct arena *arena;
  struct etch_rate rates[RATES_MOST];
  double away_K[RATES_MOST];
  int count;
};

static struct etch_rate *next(struct looking *look)
{
  BUG_IF(look->count == RATES_MOST);
  look->away_K[look->count] = 0;
  return &look->rates[look->count++];
}

/* ---- conditions ---- */

static const struct etch_law *energy_of(const struct looking *look)
{
  const struct etch_tables *t = look->tables;

  for (int i = 0; i < t->law_count; i++)
    if (strcmp(t->laws[i].name, "arrhenius") == 0 && t->laws[i].film == look->film &&
        t->laws[i].bath == look->place->bath)
      return &t->laws[i];
  return NULL;
}

static bool same_water(const struct etch_row *row, const struct etch_place *place)
{
  return isnan(row->water_parts) ||
         fabs(row->water_parts - place->water_parts) <= 0.01 * fmax(1, row->water_parts);
}

static bool same_strength(const struct looking *look, const struct etch_row *row)
{
  return isnan(row->strength_ratio) || fabs(row->strength_ratio - look->place->strength_ratio) <=
                                           look->tables->near_strength + 1e-9;
}

static double away(const struct looking *look, const struct etch_row *row)
{
  return isnan(row->at_K) ? 0 : fabs(row->at_K - look->place->at_K);
}

/* Another row of the same source stands nearer to the temperature asked for. */
static bool nearer_one(const struct looking *look, const struct etch_row *row)
{
  const struct etch_tables *t = look->tables;

  for (int i = 0; i < t->row_count; i++) {
    const struct etch_row *other = &t->rows[i];

    if (other != row && other->film == row->film && other->bath == row->bath &&
        strcmp(other->of.source, row->of.source) == 0 && same_strength(look, other) &&
        same_water(other, look->place) && away(look, other) < away(look, row))
      return true;
  }
  return false;
}

static bool within(double at_K, const struct etch_law *law)
{
  return at_K >= law->at_from_K - 1e-6 && at_K <= law->at_to_K + 1e-6;
}

static const char *printed_for(const struct looking *look, const struct etch_row *row)
{
  struct arena *arena = look->arena;
  const char *at = isnan(row->at_K) ? "temperature not stated"
                                    : etch_degrees(row->at_K, look->tables->system, arena);

  if (!isnan(row->strength_ratio))
    return arena_printf(arena, "%s, %g wt%%", at, row->strength_ratio * 100);
  if (row->water_parts > 0)
    return arena_printf(arena, "%s, %g parts of water to 1 of acid", at, row->water_parts);
  return at;
}

/* ---- a row ---- */

static void move(const struct looking *look, const struct etch_row *row, const struct etch_law *law,
                 struct etch_rate *out)
{
  double times = etch_moved_ratio(law->energy_J_mol, row->at_K, look->place->at_K);

  out->how = ETCH_MOVED;
  out->low_m_s *= times;
  out->high_m_s *= times;
  out->conditions = arena_printf(
      look->arena, "printed for %s; moved to %s with %.3g kJ/mol (%s: %s)", printed_for(look, row),
      etch_degrees(look->place->at_K, look->tables->system, look->arena), law->energy_J_mol * 1e-3,
      law->of.source, chem_basis_words(law->of.basis));
  if (law->of.basis == CHEM_MEMORY)
    out->of.basis = CHEM_MEMORY;
}

static void judge_temperature(const struct looking *look, const struct etch_row *row,
                              struct etch_rate *out)
{
  const struct etch_tables *t = look->tables;
  const struct etch_law *law = energy_of(look);
  double at_K = look->place->at_K, off_K = away(look, row);

  if (isnan(at_K))
    return;
  if (isnan(row->at_K)) {
    if (at_K < t->room_from_K || at_K > t->room_to_K)
      if (fabs(at_K - look->place->bath->usual_K) > t->near_K || isnan(look->place->bath->usual_K))
        out->not_used = "it states no temperature, so a room's is taken";
    return;
  }
  if (off_K <= 0.5)
    return;
  if (law && within(row->at_K, law) && within(at_K, law) && !isnan(row->rate_m_s)) {
    move(look, row, law, out);
    return;
  }
  if (off_K > t->near_K + 1e-9 && law)
    out->not_used =
        arena_printf(look->arena, "it is for %s, and the energy that would move it is for %s to %s",
                     etch_degrees(row->at_K, look->tables->system, look->arena),
                     etch_degrees(law->at_from_K, look->tables->system, look->arena),
                     etch_degrees(law->at_to_K, look->tables->system, look->arena));
  else if (off_K > t->near_K + 1e-9)
    out->not_used = arena_printf(look->arena, "it is for %s, and nothing listed moves it to %s",
                                 etch_degrees(row->at_K, look->tables->system, look->arena),
                                 etch_degrees(at_K, look->tables->system, look->arena));
}

static void take_row(struct looking *look, const struct etch_row *row)
{
  struct etch_rate *out;

  if (row->film != look->film || row->bath != look->place->bath || row->series[0])
    return;
  if (same_water(row, look->place) && same_strength(look, row) && nearer_one(look, row))
    return;
  out = next(look);
  look->away_K[look->count - 1] = away(look, row);
  *out = (struct etch_rate){.how = ETCH_ROW,
                            .low_m_s = row->rate_m_s,
                            .high_m_s = row->rate_to_m_s,
                            .marks = row->marks,
                            .printed_at_K = row->at_K,
                            .conditions = printed_for(look, row),
                            .of = row->of};
  if (!same_water(row, look->place))
    out->not_used = row->water_parts > 0
                        ? arena_printf(look->arena, "it is for %g parts of water to 1 of acid",
                                       row->water_parts)
                        : "it is for the acid undiluted";
  else if (!same_strength(look, row))
    out->not_used = arena_printf(look->arena, "it is for %g wt%%", row->strength_ratio * 100);
  else
    judge_temperature(look, row, out);
}

/* ---- a law ---- */

/* The figure that a law starts from is printed for just this: the law would only say it again. */
static bool printed_already(const struct looking *look, const struct etch_law *law)
{
  return law->water_parts > 0 && fabs(law->water_parts - look->place->water_parts) < 0.1;
}

static void take_law(struct looking *look, const struct etch_law *law)
{
  const char *why, *how;
  struct etch_rate *out;
  double rate_m_s;

  if (law->film != look->film || law->bath != look->place->bath ||
      strcmp(law->name, "arrhenius") == 0 || printed_already(look, law))
    return;
  rate_m_s = etch_law_m_s(look->tables, law, look->place, look->arena, &why, &how);
  out = next(look);
  *out = (struct etch_rate){.how = ETCH_LAW,
                            .low_m_s = rate_m_s,
                            .high_m_s = rate_m_s,
                            .printed_at_K = NAN,
                            .conditions = how,
                            .not_used = isnan(rate_m_s) ? why : NULL,
                            .of = law->of};
}

/* ---- measured here ---- */

static void take_own(struct looking *look, const struct etch_own_rate *own)
{
  const struct etch_law *law = energy_of(look);
  double at_K = look->place->at_K;
  double pm_m_s = isnan(own->rate_pm_m_s) ? 0 : fmin(own->rate_pm_m_s, own->rate_m_s);
  struct etch_rate *out = next(look);

  *out = (struct etch_rate){
      .how = own->how,
      .low_m_s = own->rate_m_s - pm_m_s,
      .high_m_s = own->rate_m_s + pm_m_s,
      .printed_at_K = own->at_K,
      .conditions = isnan(own->at_K) ? "temperature not said"
                                     : etch_degrees(own->at_K, look->tables->system, look->arena),
      .of = own->of};
  if (isnan(own->at_K) || isnan(at_K) || fabs(own->at_K - at_K) <= 0.5)
    return;
  if (law && within(own->at_K, law) && within(at_K, law)) {
    double times = etch_moved_ratio(law->energy_J_mol, own->at_K, at_K);

    out->low_m_s *= times;
    out->high_m_s *= times;
    out->conditions =
        arena_printf(look->arena, "measured at %s; moved to %s with %.3g kJ/mol (%s: %s)",
                     etch_degrees(own->at_K, look->tables->system, look->arena),
                     etch_degrees(at_K, look->tables->system, look->arena),
                     law->energy_J_mol * 1e-3, law->of.source, chem_basis_words(law->of.basis));
  } else if (fabs(own->at_K - at_K) > look->tables->near_K) {
    out->not_used =
        arena_printf(look->arena, "it was measured at %s, and nothing listed moves it to %s",
                     etch_degrees(own->at_K, look->tables->system, look->arena),
                     etch_degrees(at_K, look->tables->system, look->arena));
  }
}

/* ---- their order, and what they come to ---- */

static int rank(const struct etch_rate *rate)
{
  int rank = rate->not_used ? 100 : 0;

  if (rate->how == ETCH_OWN || rate->how == ETCH_GIVEN)
    return rank + (int)rate->how;
  return rank + (rate->of.basis == CHEM_MEMORY ? 30 : 10) + (isnan(rate->low_m_s) ? 50 : 0) +
         (int)rate->how;
}

static void sort(struct looking *look)
{
  for (int i = 1; i < look->count; i++) {
    struct etch_rate held = look->rates[i];
    double held_K = look->away_K[i];
    int j = i;

    for (; j > 0 && (rank(&look->rates[j - 1]) > rank(&held) ||
                     (rank(&look->rates[j - 1]) == rank(&held) && look->away_K[j - 1] > held_K));
         j--) {
      look->rates[j] = look->rates[j - 1];
      look->away_K[j] = look->away_K[j - 1];
    }
    look->rates[j] = held;
    look->away_K[j] = held_K;
  }
}

static void sum_up(struct etch_layer *out)
{
  bool words = false;

  out->rate_m_s = out->lowest_m_s = out->highest_m_s = NAN;
  out->loss_m = out->least_loss_m = out->selectivity_ratio = NAN;
  for (int i = 0; i < out->rate_count; i++) {
    const struct etch_rate *rate = &out->rates[i];

    if (rate->not_used)
      continue;
    if (isnan(rate->low_m_s)) {
      words = true;
      continue;
    }
    if (!out->counted) {
      out->counted = rate;
      out->rate_m_s = 0.5 * (rate->low_m_s + rate->high_m_s);
    }
    out->marks |= rate->marks & (unsigned)(ETCH_AT_LEAST | ETCH_AT_MOST);
    out->lowest_m_s = isnan(out->lowest_m_s) ? rate->low_m_s : fmin(out->lowest_m_s, rate->low_m_s);
    out->highest_m_s =
        isnan(out->highest_m_s) ? rate->high_m_s : fmax(out->highest_m_s, rate->high_m_s);
  }
  if (out->highest_m_s > 0)
    out->known = ETCH_NUMBER;
  else if (!isnan(out->highest_m_s))
    out->known = ETCH_ZERO;
  else if (words)
    out->known = ETCH_UNMEASURED;
  else
    out->known = out->rate_count > 0 ? ETCH_OTHERWISE : ETCH_NOTHING;
}

double etch_most(const struct etch_layer *layer)
{
  return layer->marks & ETCH_AT_LEAST ? (double)NAN : layer->highest_m_s;
}

void etch_look_up(const struct etch_tables *tables, const struct etch_place *place,
                  const struct etch_film *film, const struct etch_own_rate *given,
                  struct arena *arena, struct etch_layer *out)
{
  struct looking look = {.tables = tables, .place = place, .film = film, .arena = arena};
  struct etch_own_rate own[ETCH_OWN_MOST];
  int own_count = etch_own_rates(tables, place, film, own);
  struct etch_rate *rates;

  if (given)
    take_own(&look, given);
  for (int i = 0; i < own_count; i++)
    take_own(&look, &own[i]);
  for (int i = 0; i < tables->row_count; i++)
    take_row(&look, &tables->rows[i]);
  for (int i = 0; i < tables->law_count; i++)
    take_law(&look, &tables->laws[i]);
  sort(&look);
  rates = ARENA_ARRAY(arena, struct etch_rate, (size_t)(look.count > 0 ? look.count : 1));
  BUG_IF(!rates);
  memcpy(rates, look.rates, (size_t)look.count * sizeof *rates);
  *out = (struct etch_layer){.film = film, .rate_count = look.count, .rates = rates};
  sum_up(out);
}
