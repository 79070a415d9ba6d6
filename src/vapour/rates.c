/* How fast it evaporates: published correlations side by side, each within its own range. */
#include "vapour/vapour_impl.h"

#include <math.h>
#include <string.h>

/* NULL, or why not: the formula's own bounds hold here as they do for `inward calc`. */
/* What a correlation is asked: one part of the liquid at one end of the band. */
struct surface {
  double molar_kg_mol, pressure_Pa, area_m2, length_m, at_K, speed_m_s, diffusivity_m2_s, air_Pa;
};

static const char *pool(const struct surface *s, double *out_kg_s)
{
  return matter_formula_compute("pool-evaporation",
                                (struct matter_given[]){{"molar-mass", s->molar_kg_mol},
                                                        {"vapour-pressure", s->pressure_Pa},
                                                        {"area", s->area_m2},
                                                        {"temperature", s->at_K},
                                                        {"speed", s->speed_m_s},
                                                        {"pressure", s->air_Pa},
                                                        {NULL, 0}},
                                out_kg_s);
}

/* The same with -ln(1 - p/P) in the place of p/P, for vapour that pushes the air aside. */
static const char *pool_near_boiling(const struct surface *s, double *out_kg_s)
{
  double ratio = s->pressure_Pa / s->air_Pa;
  const char *why = pool(s, out_kg_s);

  if (!why && ratio > 0)
    *out_kg_s *= -log1p(-ratio) / ratio;
  return why;
}

/* The models of EPA/OPPT and the two by film theory take the length along the air, too. */
static const char *along(const char *name, const struct surface *s, double *out_kg_s)
{
  struct matter_given inputs[] = {{"molar-mass", s->molar_kg_mol},
                                  {"vapour-pressure", s->pressure_Pa},
                                  {"area", s->area_m2},
                                  {"temperature", s->at_K},
                                  {"speed", s->speed_m_s},
                                  {"length", s->length_m},
                                  {"pressure", s->air_Pa},
                                  {NULL, 0}};

  return matter_formula_compute(name, inputs, out_kg_s);
}

static const char *film(const char *name, const struct surface *s, double *out_kg_s)
{
  double out_si[MATTER_OUTPUTS_MAX];
  const char *why =
      matter_formula_compute(name,
                             (struct matter_given[]){{"molar-mass", s->molar_kg_mol},
                                                     {"vapour-pressure", s->pressure_Pa},
                                                     {"area", s->area_m2},
                                                     {"temperature", s->at_K},
                                                     {"speed", s->speed_m_s},
                                                     {"length", s->length_m},
                                                     {"diffusivity", s->diffusivity_m2_s},
                                                     {NULL, 0}},
                             out_si);

  if (!why)
    *out_kg_s = out_si[0];
  return why;
}

static const char *slow_air(const struct surface *s, double *out_kg_s)
{
  return along("slow-air-evaporation", s, out_kg_s);
}
static const char *fast_air(const struct surface *s, double *out_kg_s)
{
  return along("fast-air-evaporation", s, out_kg_s);
}
static const char *turbulent(const struct surface *s, double *out_kg_s)
{
  return film("turbulent-pool-evaporation", s, out_kg_s);
}
static const char *plate(const struct surface *s, double *out_kg_s)
{
  return film("plate-evaporation", s, out_kg_s);
}

/* Where a correlation is stated for air of one speed only, that end of the band is used. */
static const struct correlation {
  const char *name, *formula;
  const char *(*run)(const struct surface *s, double *out_kg_s);
  enum { ANY_AIR, SLOW_AIR, FAST_AIR } air;
} correlations[VAPOUR_RATES] = {
    {"EPA RMP pool, eq. D-1", "pool-evaporation", pool, ANY_AIR},
    {"the same near boiling, -ln(1 - p/P)", "pool-evaporation", pool_near_boiling, ANY_AIR},
    {"EPA/OPPT penetration model", "slow-air-evaporation", slow_air, SLOW_AIR},
    {"EPA/OPPT mass transfer coefficient", "fast-air-evaporation", fast_air, FAST_AIR},
    {"Mackay and Matsugu", "turbulent-pool-evaporation", turbulent, ANY_AIR},
    {"laminar flat plate", "plate-evaporation", plate, ANY_AIR},
};

static struct surface surface_of(const struct vapour_answer *a, const struct vapour_part *p,
                                 double speed_m_s, bool high)
{
  double area_m2 = high ? a->area.high_si : a->area.low_si;

  return (struct surface){.molar_kg_mol = p->stock.substance->facts[CHEM_MOLAR_MASS].si,
                          .pressure_Pa = high ? p->pressure.high_si : p->pressure.low_si,
                          .area_m2 = area_m2,
                          .length_m = isnan(a->length_m) ? sqrt(area_m2) : a->length_m,
                          .at_K = a->at_K,
                          .speed_m_s = speed_m_s,
                          .diffusivity_m2_s = p->diffusivity_m2_s,
                          .air_Pa = a->pressure_Pa};
}

/* One correlation over all parts at one end; by part into part_kg_s. */
static const char *run_all(const struct vapour_answer *a, const struct correlation *k,
                           double speed_m_s, bool high, double *part_kg_s)
{
  for (int i = 0; i < a->part_count; i++) {
    struct surface s = surface_of(a, &a->parts[i], speed_m_s, high);
    const char *why = k->run(&s, &part_kg_s[i]);

    if (why)
      return why;
  }
  return NULL;
}

static double freeboard_kg_s(const struct vapour_work *w, int part, double area_m2, double p_Pa)
{
  const struct vapour_part *p = &w->out->parts[part];
  double out_si[MATTER_OUTPUTS_MAX];
  const char *why = matter_formula_compute(
      "freeboard-evaporation",
      (struct matter_given[]){{"molar-mass", p->stock.substance->facts[CHEM_MOLAR_MASS].si},
                              {"vapour-pressure", p_Pa},
                              {"area", area_m2},
                              {"temperature", w->out->at_K},
                              {"freeboard", w->request->freeboard_m},
                              {"diffusivity", p->diffusivity_m2_s},
                              {"pressure", w->out->pressure_Pa},
                              {NULL, 0}},
      out_si);

  return why ? (double)NAN : out_si[0];
}

static void widen(struct vapour_band *band, double low_si, double high_si)
{
  if (!(band->low_si <= low_si))
    band->low_si = low_si;
  if (!(band->high_si >= high_si))
    band->high_si = high_si;
}

/* Behind a freeboard the smaller of the two at the slow end; at the fast end air reaches in. */
static void add_rate(struct vapour_work *w, struct vapour_case *c, const struct correlation *k,
                     struct vapour_rate *rate)
{
  const struct vapour_answer *a = w->out;
  double low_kg_s[VAPOUR_PARTS_MAX], high_kg_s[VAPOUR_PARTS_MAX];
  double between_m_s = vapour_setting(w, "end of slow air", UNITS_VELOCITY).high_si;
  double slow_m_s = k->air == FAST_AIR ? fmax(c->speed.low_si, between_m_s) : c->speed.low_si;
  double fast_m_s = k->air == SLOW_AIR ? fmin(c->speed.high_si, between_m_s) : c->speed.high_si;

  if (slow_m_s > fast_m_s) {
    rate->why_not = arena_printf(w->arena,
                                 k->air == FAST_AIR
                                     ? "stated for air from %.2f m/s on, and there is none so fast"
                                     : "stated for air up to %.2f m/s, and all of it is faster",
                                 between_m_s);
    return;
  }
  rate->why_not = run_all(a, k, slow_m_s, false, low_kg_s);
  if (!rate->why_not)
    rate->why_not = run_all(a, k, fast_m_s, true, high_kg_s);
  if (rate->why_not)
    return;
  rate->rate = (struct vapour_band){0, 0};
  for (int i = 0; i < a->part_count; i++) {
    if (w->request->freeboard_m > 0) {
      double still = freeboard_kg_s(w, i, a->area.low_si, a->parts[i].pressure.low_si);

      rate->rate.low_si += low_kg_s[i];
      low_kg_s[i] = isnan(still) ? 0 : fmin(low_kg_s[i], still);
    } else
      rate->rate.low_si += low_kg_s[i];
    rate->rate.high_si += high_kg_s[i];
    widen(&c->part_rate[i], low_kg_s[i], high_kg_s[i]);
  }
}

void vapour_evaporate(struct vapour_work *w, struct vapour_case *c)
{
  const struct vapour_answer *a = w->out;

  c->rate = (struct vapour_band){(double)NAN, (double)NAN};
  c->freeboard_kg_s = (double)NAN;
  for (int i = 0; i < VAPOUR_PARTS_MAX; i++)
    c->part_rate[i] = (struct vapour_band){(double)NAN, (double)NAN};
  for (int k = 0; k < VAPOUR_RATES; k++) {
    struct vapour_rate *rate = &c->rates[k];

    *rate = (struct vapour_rate){correlations[k].name,
                                 matter_formula_find(correlations[k].formula)->source,
                                 c->known || !w->facility ? NULL : c->why_not,
                                 {(double)NAN, (double)NAN}};
    if (!rate->why_not)
      add_rate(w, c, &correlations[k], rate);
  }
  c->rate = (struct vapour_band){0, 0};
  for (int i = 0; i < a->part_count; i++) {
    c->rate.low_si += c->part_rate[i].low_si;
    c->rate.high_si += c->part_rate[i].high_si;
  }
  if (w->request->freeboard_m > 0) {
    c->freeboard_kg_s = 0;
    for (int i = 0; i < a->part_count; i++)
      c->freeboard_kg_s += freeboard_kg_s(w, i, a->area.high_si, a->parts[i].pressure.high_si);
  }
}
