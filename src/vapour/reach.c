/* How much of it is then in the duct, in the main, in the room and at a person. */
#include "vapour/vapour_impl.h"

#include "base/constants.h"

#include <math.h>

const double vapour_times_s[VAPOUR_TIMES] = {60, 300, 900, 3600};
static const double never_s =
    1e8; /* three years: the end of a formula that nears its end forever */

static const struct vapour_band unknown = {(double)NAN, (double)NAN};

/* As a volume of gas in the room's air, m3/s. */
double vapour_gas_m3_s(const struct vapour_work *w, int part, double kg_s)
{
  return kg_s / w->out->parts[part].stock.substance->facts[CHEM_MOLAR_MASS].si *
         GAS_CONSTANT_J_MOL_K * w->air_K / w->out->pressure_Pa;
}

static struct vapour_band gas_of(const struct vapour_work *w, const struct vapour_case *c, int part)
{
  return (struct vapour_band){vapour_gas_m3_s(w, part, c->part_rate[part].low_si),
                              vapour_gas_m3_s(w, part, c->part_rate[part].high_si)};
}

/* No air holds more than what stands right above the liquid. */
static double saturation(const struct vapour_work *w, int part)
{
  return fmin(1, w->out->parts[part].pressure.high_si / w->out->pressure_Pa);
}

/* ---- duct and main ---- */

static struct vapour_band in_flow(const struct vapour_work *w, const struct vapour_case *c,
                                  double least_m3_s, double most_m3_s)
{
  struct vapour_band sum = {0, 0};

  if (!(least_m3_s > 0))
    return unknown;
  for (int i = 0; i < w->out->part_count; i++) {
    struct vapour_band gas = gas_of(w, c, i);

    sum.low_si += fmin(gas.low_si / most_m3_s, saturation(w, i));
    sum.high_si += fmin(gas.high_si / least_m3_s, saturation(w, i));
  }
  return sum;
}

/* Le Chatelier over all parts, in the shares in which they evaporate; NaN when the limit of one is
 * not known. */
static double mixture_limit(const struct vapour_work *w, const double *gas_ratio)
{
  static const char *const shares[] = {"share-1", "share-2", "share-3", "share-4"};
  static const char *const limits[] = {"limit-1", "limit-2", "limit-3", "limit-4"};
  struct matter_given inputs[2 * VAPOUR_PARTS_MAX + 1] = {{NULL, 0}};
  double out_si[MATTER_OUTPUTS_MAX], sum = 0;
  int n = 0;

  for (int i = 0; i < w->out->part_count; i++)
    sum += gas_ratio[i];
  if (!(sum > 0))
    return (double)NAN;
  for (int i = 0; i < w->out->part_count; i++) {
    inputs[2 * n] = (struct matter_given){shares[n], gas_ratio[i] / sum};
    inputs[2 * n + 1] = (struct matter_given){limits[n], w->out->parts[i].lower_limit_ratio};
    n++;
  }
  inputs[2 * n] = (struct matter_given){NULL, 0};
  return matter_formula_compute("flammable-mixture", inputs, out_si) ? (double)NAN : out_si[0];
}

static struct vapour_band share_of_limit(const struct vapour_work *w, const struct vapour_case *c,
                                         struct vapour_band ratio)
{
  double low[VAPOUR_PARTS_MAX], high[VAPOUR_PARTS_MAX];

  for (int i = 0; i < w->out->part_count; i++) {
    low[i] = gas_of(w, c, i).low_si;
    high[i] = gas_of(w, c, i).high_si;
  }
  double high_limit = mixture_limit(w, high), low_limit = mixture_limit(w, low);

  return (struct vapour_band){ratio.low_si / (isnan(low_limit) ? high_limit : low_limit),
                              ratio.high_si / high_limit};
}

static void reach_duct(struct vapour_work *w, struct vapour_case *c)
{
  c->duct = c->main = c->duct_share = c->main_share = unknown;
  if (c->to_room)
    return;
  c->duct =
      in_flow(w, c, c->station_m3_s - c->station_pm_m3_s, c->station_m3_s + c->station_pm_m3_s);
  c->main = in_flow(w, c, c->main_m3_s, c->main_m3_s);
  c->duct_share = share_of_limit(w, c, c->duct);
  c->main_share = share_of_limit(w, c, c->main);
}

/* ---- room ---- */

/* Seconds until one part is used up at this rate; never, when nobody said how much there is. */
double vapour_lasts_s(const struct vapour_work *w, int part, double kg_s)
{
  double mass_kg = w->out->mass_kg * w->out->parts[part].mass_ratio;

  return isnan(mass_kg) || !(kg_s > 0) ? never_s : fmin(mass_kg / kg_s, never_s);
}

static double build_up(const struct vapour_work *w, double fresh_m3_s, double mixing_ratio,
                       double gas, double time_s, double first_ratio)
{
  double out_si[MATTER_OUTPUTS_MAX];
  const char *why = matter_formula_compute("vapour-build-up",
                                           (struct matter_given[]){{"volume", w->volume_m3},
                                                                   {"flow", fresh_m3_s},
                                                                   {"source", gas},
                                                                   {"time", time_s},
                                                                   {"first", first_ratio},
                                                                   {"mixing", mixing_ratio},
                                                                   {NULL, 0}},
                                           out_si);

  return why ? 1 : out_si[0]; /* more than there is room for: the saturation below bounds it */
}

/* The source stops when the liquid is used up; from then on fresh air thins what is there. */
static double room_ratio(const struct vapour_work *w, double fresh_m3_s, double mixing_ratio,
                         int part, double kg_s, double time_s)
{
  double lasts = vapour_lasts_s(w, part, kg_s), gas = vapour_gas_m3_s(w, part, kg_s);
  double there = build_up(w, fresh_m3_s, mixing_ratio, gas, fmin(time_s, lasts), 0);

  there = fmin(there, saturation(w, part));
  return time_s > lasts ? build_up(w, fresh_m3_s, mixing_ratio, 0, time_s - lasts, there) : there;
}

/* Fresh air the model gives: mixed well at the low end, badly at the high one.  Where the liquid is used
 * up on the way, neither end of the rates is the end of what is there: most is there at the rate that
 * uses it up just then, least at the slowest or, long gone, at the fastest. */
static struct vapour_band room_band(const struct vapour_work *w, const struct vapour_case *c,
                                    int part, double time_s)
{
  struct vapour_band kg_s = c->part_rate[part], mixing = w->out->mixing;
  double mass_kg = w->out->mass_kg * w->out->parts[part].mass_ratio, most_kg_s = kg_s.high_si;

  if (mass_kg > 0)
    most_kg_s = fmax(fmin(most_kg_s, mass_kg / time_s), kg_s.low_si);
  return (struct vapour_band){
      fmin(room_ratio(w, c->fresh_m3_s, mixing.high_si, part, kg_s.low_si, time_s),
           room_ratio(w, c->fresh_m3_s, mixing.high_si, part, kg_s.high_si, time_s)),
      room_ratio(w, c->fresh_m3_s, mixing.low_si, part, most_kg_s, time_s)};
}

/* The most there will ever be at one rate, when the liquid is used up or in the end: it grows with the rate. */
static struct vapour_band worst_band(const struct vapour_work *w, const struct vapour_case *c,
                                     int part)
{
  struct vapour_band kg_s = c->part_rate[part];

  return (struct vapour_band){room_ratio(w, c->fresh_m3_s, w->out->mixing.high_si, part,
                                         kg_s.low_si, vapour_lasts_s(w, part, kg_s.low_si)),
                              room_ratio(w, c->fresh_m3_s, w->out->mixing.low_si, part,
                                         kg_s.high_si, vapour_lasts_s(w, part, kg_s.high_si))};
}

static void reach_room(struct vapour_work *w, struct vapour_case *c)
{
  struct vapour_band sum = {0, 0};

  for (int i = 0; i < VAPOUR_PARTS_MAX; i++)
    for (int k = 0; k <= VAPOUR_TIMES; k++)
      c->room[i][k] = unknown;
  c->room_share = unknown;
  if (!c->known || !c->to_room || isnan(c->fresh_m3_s) || isnan(w->volume_m3))
    return;
  for (int i = 0; i < w->out->part_count; i++) {
    for (int k = 0; k < VAPOUR_TIMES; k++)
      c->room[i][k] = room_band(w, c, i, vapour_times_s[k]);
    c->room[i][VAPOUR_TIMES] = worst_band(w, c, i);
    sum.low_si += c->room[i][VAPOUR_TIMES].low_si;
    sum.high_si += c->room[i][VAPOUR_TIMES].high_si;
  }
  c->room_share = share_of_limit(w, c, sum);
}

double vapour_unthinned_ratio(const struct vapour_work *w, int part, double time_s)
{
  return room_ratio(w, 0, 1, part, w->out->cases[w->out->case_count - 1].part_rate[part].high_si,
                    time_s);
}

/* ---- person ---- */

/* What a fume hood lets out, by the tracer that a good one may let out: orders of magnitude. */
static void person_at_hood(struct vapour_work *w, struct vapour_case *c)
{
  double tracer_ratio = vapour_setting(w, "tracer at a person", UNITS_CONCENTRATION).high_si;
  double tracer_m3_s = vapour_setting(w, "tracer released", UNITS_FLOW).high_si;
  struct vapour_band spread = vapour_setting(w, "spread of what a hood lets out", UNITS_RATIO);

  for (int i = 0; i < w->out->part_count; i++) {
    struct vapour_band gas = gas_of(w, c, i);

    c->person[i] = (struct vapour_band){tracer_ratio / tracer_m3_s * gas.low_si * spread.low_si,
                                        tracer_ratio / tracer_m3_s * gas.high_si * spread.high_si};
  }
  c->person_words =
      "nothing to a hundred times what a hood that passed its tracer test may let out; "
      "one that did not pass lets out more";
}

static void person_in_room(struct vapour_work *w, struct vapour_case *c)
{
  struct vapour_band near = vapour_setting(w, "near the source", UNITS_RATIO);

  for (int i = 0; i < w->out->part_count; i++)
    c->person[i] = (struct vapour_band){
        c->room[i][VAPOUR_TIMES].low_si * near.low_si,
        fmin(c->room[i][VAPOUR_TIMES].high_si * near.high_si, saturation(w, i))};
  c->person_words = "from the mean of the room up to ten times that near the liquid";
}

static void reach_person(struct vapour_work *w, struct vapour_case *c)
{
  bool hood =
      w->out->station >= 0 && w->facility->stations[w->out->station].kind == FACILITY_FUME_HOOD;

  for (int i = 0; i < VAPOUR_PARTS_MAX; i++)
    c->person[i] = unknown;
  if (!c->known)
    c->person_words = c->why_not;
  else if (c->to_room && isnan(c->room[0][VAPOUR_TIMES].high_si))
    c->person_words = "the room's volume or its fresh air is not in the file";
  else if (c->to_room)
    person_in_room(w, c);
  else if (!hood)
    c->person_words =
        "no tracer figure is published for a station of this kind: ask for its own test";
  else if (w->out->air_words[c->when])
    c->person_words = w->out->air_words[c->when];
  else
    person_at_hood(w, c);
}

/* Figures at a person are orders of magnitude: outwards to whole powers of ten, before anything is
 * compared with them, but never above what the air over the liquid holds. */
static struct vapour_band orders(struct vapour_band band, double most_ratio)
{
  if (isnan(band.high_si) || !(band.high_si > 0))
    return band;
  return (struct vapour_band){band.low_si > 0 ? pow(10, floor(log10(band.low_si))) : 0,
                              fmin(most_ratio, pow(10, ceil(log10(band.high_si))))};
}

void vapour_reach(struct vapour_work *w)
{
  for (int i = 0; i < w->out->case_count; i++) {
    struct vapour_case *c = &w->out->cases[i];

    vapour_evaporate(w, c);
    reach_duct(w, c);
    reach_room(w, c);
    reach_person(w, c);
    for (int k = 0; k < w->out->part_count; k++)
      c->person[k] = orders(c->person[k], saturation(w, k));
  }
}
