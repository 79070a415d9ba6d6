/* One-sided comparisons: exceeded, perhaps exceeded, not shown to be; never kept. */
#include "vapour/vapour_impl.h"

#include "base/constants.h"

#include <math.h>

static enum vapour_verdict against(struct vapour_band band, double limit_si)
{
  if (isnan(band.high_si) || isnan(limit_si))
    return VAPOUR_UNKNOWN;
  if (band.low_si >= limit_si)
    return VAPOUR_EXCEEDS;
  return band.high_si >= limit_si ? VAPOUR_MAY_EXCEED : VAPOUR_NOT_SHOWN;
}

/* ---- exposure limits ---- */

/* Limits by mass are turned at 25 degC and 1 atm, as their issuers do; not those of mists and
 * dusts, which are no vapour's. */
static double limit_ratio(const struct chem_substance *s, const struct chem_limit *limit)
{
  double out_si[MATTER_OUTPUTS_MAX];

  if (!isnan(limit->volume_ratio))
    return limit->volume_ratio;
  if (isnan(limit->mass_kg_m3) || limit->as[0] ||
      matter_formula_compute("mass-concentration",
                             (struct matter_given[]){{"concentration", 1},
                                                     {"molar-mass", s->facts[CHEM_MOLAR_MASS].si},
                                                     {NULL, 0}},
                             out_si))
    return (double)NAN;
  return limit->mass_kg_m3 / out_si[0];
}

/* When the mean of the room, times ten near the liquid, first passes it at the fast end. */
static double reached_s(const struct vapour_work *w, int part, double limit_si)
{
  const struct vapour_case *c = &w->out->cases[VAPOUR_STOPPED];
  double near = vapour_setting(w, "near the source", UNITS_RATIO).high_si;
  double kg_s = c->part_rate[part].high_si, fresh = c->fresh_m3_s * w->out->mixing.low_si;
  double gas = vapour_gas_m3_s(w, part, kg_s);
  double target = limit_si / near;

  if (!(gas > 0) || isnan(fresh) || isnan(w->volume_m3) || target * fresh >= gas)
    return (double)NAN;
  double time_s = fresh > 0 ? -w->volume_m3 / fresh * log1p(-target * fresh / gas)
                            : target * w->volume_m3 / gas;

  return time_s <= vapour_lasts_s(w, part, kg_s) ? time_s : (double)NAN;
}

static void judge_limits(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  int count = 0;

  for (int i = 0; i < a->part_count; i++)
    count += a->parts[i].stock.substance->limit_count;
  a->limits = ARENA_ARRAY(w->arena, struct vapour_limit, (size_t)count + 1);
  BUG_IF(!a->limits);
  for (int i = 0; i < a->part_count; i++) {
    const struct chem_substance *s = a->parts[i].stock.substance;

    for (int k = 0; k < s->limit_count; k++) {
      struct vapour_limit *out = &a->limits[a->limit_count++];

      *out = (struct vapour_limit){.part = i,
                                   .limit = &s->limits[k],
                                   .volume_ratio = limit_ratio(s, &s->limits[k]),
                                   .reached_s = (double)NAN};
      for (int n = 0; n < a->case_count; n++)
        out->verdict[n] = against(a->cases[n].person[i], out->volume_ratio);
      if (a->case_count == VAPOUR_WHEN_COUNT && out->verdict[VAPOUR_STOPPED] >= VAPOUR_MAY_EXCEED)
        out->reached_s = reached_s(w, i, out->volume_ratio);
    }
  }
}

/* ---- flammable ---- */

static void judge_shares(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  const struct chem_table *t = chem_table("flammable_shares", w->arena);

  a->shares = ARENA_ARRAY(w->arena, struct vapour_share, (size_t)t->row_count + 1);
  BUG_IF(!a->shares);
  for (int i = 0; i < t->row_count; i++) {
    struct vapour_share *s = &a->shares[a->share_count++];

    s->share_ratio = chem_cell_si(t, i, "share", UNITS_SHARE);
    s->what = chem_cell(t, i, "what");
    s->of = chem_cell_origin(t, i);
    for (int n = 0; n < a->case_count; n++) {
      s->duct[n] = against(a->cases[n].duct_share, s->share_ratio);
      s->main[n] = against(a->cases[n].main_share, s->share_ratio);
      s->room[n] = against(a->cases[n].room_share, s->share_ratio);
    }
  }
}

/* A part of a mixture by itself, or of its solution: its own flash point is the least that is known. */
const struct vapour_part *vapour_flashes(const struct vapour_answer *a)
{
  const struct vapour_part *out = NULL;

  for (int i = 0; i < a->part_count; i++) {
    double flash_K = a->parts[i].stock.substance->facts[CHEM_FLASH].si;

    if (a->at_K >= flash_K && (!out || flash_K < out->stock.substance->facts[CHEM_FLASH].si))
      out = &a->parts[i];
  }
  return out;
}

static void ignitable(struct vapour_answer *a, const char *words)
{
  a->ignition_known = a->ignitable = true;
  a->ignition_words = words;
}

/* Of a single liquid by its flash point, of any by what stands right above it. */
static void judge_ignition(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  const struct chem_figure *flash = &a->parts[0].stock.substance->facts[CHEM_FLASH];
  double of_limit = 0;
  bool all_known = true;

  a->saturation_ratio = 0;
  for (int i = 0; i < a->part_count; i++) {
    double ratio = a->parts[i].pressure.high_si / a->pressure_Pa;

    a->saturation_ratio += ratio;
    all_known &= !isnan(a->parts[i].lower_limit_ratio);
    of_limit += isnan(a->parts[i].lower_limit_ratio) ? 0 : ratio / a->parts[i].lower_limit_ratio;
  }
  if (a->part_count == 1 && !a->parts[0].aqueous && a->at_K >= flash->si)
    ignitable(a,
              arena_printf(w->arena,
                           "IGNITABLE ABOVE THE LIQUID: %.0f °C is at or above its flash point, "
                           "%.0f °C closed cup (%s; %s). However thin the duct's air is, a spark "
                           "at the liquid finds a mixture that burns.",
                           a->at_K - ZERO_CELSIUS_K, flash->si - ZERO_CELSIUS_K, flash->of.source,
                           chem_basis_words(flash->of.basis)));
  else if (of_limit >= 1 && a->part_count == 1 && flash->of.note[0] && isnan(flash->si))
    ignitable(a, "PERHAPS IGNITABLE ABOVE THE LIQUID: no flash point is printed for it, yet what "
                 "stands right above it reaches its lower flammable limit; a strong spark or flame "
                 "may light it.");
  else if (vapour_flashes(a))
    ignitable(
        a, arena_printf(
               w->arena,
               "IGNITABLE ABOVE THE LIQUID: %.0f °C is at or above the flash point "
               "of %s by itself, %.0f °C closed cup (%s; %s).",
               a->at_K - ZERO_CELSIUS_K, vapour_flashes(a)->stock.substance->name,
               vapour_flashes(a)->stock.substance->facts[CHEM_FLASH].si - ZERO_CELSIUS_K,
               vapour_flashes(a)->stock.substance->facts[CHEM_FLASH].of.source,
               chem_basis_words(vapour_flashes(a)->stock.substance->facts[CHEM_FLASH].of.basis)));
  else if (of_limit >= 1)
    ignitable(a, "IGNITABLE ABOVE THE LIQUID: what stands right above it may reach its lower "
                 "flammable limit. However thin the duct's air is, a spark at the liquid finds a "
                 "mixture that burns.");
  else if (all_known) {
    a->ignition_known = true;
    a->ignition_words =
        "Not shown to be ignitable above the liquid at this temperature; warmer, as "
        "a mist or in a wipe it may be.";
  } else
    a->ignition_words =
        "Whether it burns is not said: the tables lack a flash point or a flammable "
        "limit of it.";
}

/* ---- going in again ---- */

static void lowest_limit(const struct vapour_answer *a, int part, struct vapour_purge *out)
{
  for (int i = 0; i < a->limit_count; i++) {
    const struct vapour_limit *l = &a->limits[i];

    if (l->part == part && l->volume_ratio > 0 && !(l->volume_ratio >= out->last_ratio)) {
      out->last_ratio = l->volume_ratio;
      out->to = l->limit->issuer;
    }
  }
}

/* From the upper end once the fans stood, at the slow end of the mixing range. */
static struct vapour_purge purge_of(const struct vapour_work *w, int part, double fresh_m3_s)
{
  const struct vapour_answer *a = w->out;
  struct vapour_purge out = {
      .part = part, .first_ratio = (double)NAN, .last_ratio = (double)NAN, .time_s = (double)NAN};
  double out_si[MATTER_OUTPUTS_MAX];

  out.first_ratio = a->cases[VAPOUR_STOPPED].room[part][VAPOUR_TIMES].high_si;
  lowest_limit(a, part, &out);
  if (isnan(out.first_ratio))
    out.why_not = "what is in the room is not known";
  else if (isnan(out.last_ratio))
    out.why_not = "no exposure limit of it is in the tables";
  else if (!(fresh_m3_s > 0))
    out.why_not = "no fresh air";
  else if (out.first_ratio <= out.last_ratio)
    out.why_not = "the figures do not reach the lowest limit in the tables; that clears nothing";
  else
    out.why_not =
        matter_formula_compute("purge-time",
                               (struct matter_given[]){{"volume", w->volume_m3},
                                                       {"flow", fresh_m3_s},
                                                       {"first", out.first_ratio},
                                                       {"last", out.last_ratio},
                                                       {"mixing-factor", 1 / a->mixing.low_si},
                                                       {NULL, 0}},
                               out_si);
  out.known = out.why_not == NULL;
  if (out.known)
    out.time_s = out_si[0];
  return out;
}

/* Going in by a time that leaves one of them out would be going in by no time at all. */
static const char *not_counted(const struct vapour_work *w)
{
  const struct vapour_answer *a = w->out;
  const char *text = NULL;

  for (int i = 0; i < a->part_count; i++) {
    struct vapour_purge of = {.last_ratio = (double)NAN};

    lowest_limit(a, i, &of);
    if (isnan(of.last_ratio))
      text = arena_printf(w->arena, "%s%s%s", text ? text : "", text ? ", " : "",
                          a->parts[i].stock.substance->name);
  }
  return text;
}

/* The part that takes longest. */
static void judge_purge(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;

  if (a->case_count < VAPOUR_WHEN_COUNT) {
    a->purge[0] = a->purge[1] = (struct vapour_purge){.why_not = a->cases[0].why_not,
                                                      .first_ratio = (double)NAN,
                                                      .last_ratio = (double)NAN,
                                                      .time_s = (double)NAN};
    return;
  }
  for (int k = 0; k < 2; k++) {
    for (int i = 0; i < a->part_count; i++) {
      struct vapour_purge one =
          purge_of(w, i, a->cases[k == 0 ? VAPOUR_NOW : VAPOUR_STOPPED].fresh_m3_s);

      if (i == 0 || !(one.time_s <= a->purge[k].time_s))
        a->purge[k] = one.known || i == 0 ? one : a->purge[k];
    }
    a->purge[k].not_counted = not_counted(w);
  }
}

void vapour_judge(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;

  judge_limits(w);
  judge_shares(w);
  judge_ignition(w);
  judge_purge(w);
  a->dry_s = (double)NAN;
  for (int i = 0; i < a->case_count; i++)
    if (a->mass_kg > 0 && a->cases[i].rate.high_si > 0 &&
        !(a->mass_kg / a->cases[i].rate.high_si >= a->dry_s))
      a->dry_s = a->mass_kg / a->cases[i].rate.high_si;
}

static bool exceeds_or_unknown(const struct vapour_answer *a, const struct vapour_share *s, int n)
{
  if (a->cases[n].to_room)
    return s->room[n] != VAPOUR_NOT_SHOWN;
  return s->duct[n] != VAPOUR_NOT_SHOWN || s->main[n] != VAPOUR_NOT_SHOWN;
}

bool vapour_is_no(const struct vapour_answer *a)
{
  if (a->refused || a->ignitable || !a->ignition_known)
    return true;
  if (a->case_count < VAPOUR_WHEN_COUNT)
    return false;
  for (int n = 0; n < a->case_count; n++) {
    for (int i = 0; i < a->limit_count; i++)
      if (a->limits[i].verdict[n] != VAPOUR_NOT_SHOWN)
        return true;
    for (int i = 0; i < a->share_count; i++)
      if (exceeds_or_unknown(a, &a->shares[i], n))
        return true;
  }
  return a->limit_count == 0 || a->air_words[VAPOUR_NOW] || a->air_words[VAPOUR_PARKED];
}
