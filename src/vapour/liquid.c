/* What the liquid is, whether it may have a figure at all, and the pressure over it. */
#include "base/constants.h"
#include "facility/chemicals.h"
#include "vapour/vapour_impl.h"

#include <ctype.h>
#include <math.h>
#include <string.h>
#include <strings.h>

struct vapour_band vapour_setting(const struct vapour_work *w, const char *what,
                                  enum units_dimension dimension)
{
  const struct chem_table *t = w->settings;

  for (int i = 0; i < t->row_count; i++)
    if (strcmp(chem_cell(t, i, "what"), what) == 0)
      return (struct vapour_band){chem_cell_si(t, i, "low", dimension),
                                  chem_cell_si(t, i, "high", dimension)};
  err_bug(__FILE__, __LINE__, what);
}

void vapour_refuse(struct vapour_work *w, const char *headline)
{
  if (w->out->refused)
    return;
  w->out->refused = true;
  w->out->headline = headline;
}

/* ---- what gets no figure ---- */

static bool has_word(const char *list, const char *word)
{
  size_t size = strlen(word);

  for (const char *at = list; *at; at += strcspn(at, ";"), at += *at == ';')
    if (strcspn(at, ";") == size && strncasecmp(at, word, size) == 0)
      return true;
  return false;
}

/* Every substance of the list is in the liquid, at that strength or stronger. */
static bool has_all(const struct vapour_answer *a, const char *list, double from_ratio)
{
  int wanted = 0, found = 0;

  for (const char *at = list; *at; at += strcspn(at, ";"), at += *at == ';')
    wanted++;
  for (int i = 0; i < a->part_count; i++)
    found += has_word(list, a->parts[i].stock.substance->id) &&
             (isnan(from_ratio) || a->parts[i].stock.assay_ratio >= from_ratio);
  return wanted > 0 && found == wanted;
}

static void refuse_row(struct vapour_work *w, const struct chem_table *t, int row)
{
  struct chem_origin of = chem_cell_origin(t, row);

  vapour_refuse(w, arena_printf(w->arena,
                                "No figure: %s, for %s. Evaporation by vapour pressure says "
                                "nothing of it (%s; %s).",
                                chem_cell(t, row, "name"), chem_cell(t, row, "why"), of.source,
                                chem_basis_words(of.basis)));
}

/* What is there, whether it gets a figure or not: a station's `not here:` is asked of all of it. */
static void note_there(struct vapour_work *w, const struct chem_substance *s)
{
  for (int i = 0; i < w->there_count; i++)
    if (w->there[i] == s)
      return;
  if (s && w->there_count < VAPOUR_THERE_MAX)
    w->there[w->there_count++] = s;
}

static void note_list(struct vapour_work *w, const char *list)
{
  for (const char *at = list; *at; at += strcspn(at, ";"), at += *at == ';') {
    const char *id = arena_printf(w->arena, "%.*s", (int)strcspn(at, ";"), at);

    note_there(w, chem_find(w->request->chem, id));
  }
}

static bool refused_by_name(struct vapour_work *w, const char *name)
{
  const struct chem_table *t = chem_table("no_vapour_figure", w->arena);

  for (int i = 0; i < t->row_count; i++)
    if (has_word(chem_cell(t, i, "aliases"), name)) {
      refuse_row(w, t, i);
      note_list(w, chem_cell(t, i, "substances"));
      return true;
    }
  return false;
}

static void note_part(struct vapour_work *w, const char *of)
{
  const struct chem_stock *stock = chem_find_stock(w->request->chem, of);

  note_there(w, stock ? stock->substance : chem_find(w->request->chem, of));
}

static void note_bath(struct vapour_work *w, const char *bath)
{
  const struct chem_substance *of[VAPOUR_THERE_MAX];
  int count = chem_bath_substances(w->request->chem, bath, of, VAPOUR_THERE_MAX, w->arena);

  for (int i = 0; i < count; i++)
    note_there(w, of[i]);
}

static void refuse_bath(struct vapour_work *w, const char *name, const char *source)
{
  vapour_refuse(w, arena_printf(w->arena,
                                "Not known: %s is a bath of several parts (%s), and no table here "
                                "holds the pressure over it. A part alone gives no bound: asked by "
                                "itself it is another liquid.",
                                name, source));
}

/* A bath by the name that `inward bath` knows, or one of the suite's own, which goes first. */
static bool refused_as_bath(struct vapour_work *w, const char *name)
{
  const struct chemicals *own = w->request->own;
  const struct chem_table *t = chem_table("baths", w->arena);
  struct chem_baths found;

  for (int i = 0; own && i < own->bath_count; i++) {
    const struct chemicals_bath *bath = &own->baths[i];

    if (strcasecmp(bath->part.id, name) != 0)
      continue;
    refuse_bath(w, bath->part.name ? bath->part.name : bath->part.id, "the suite's own file");
    for (int k = 0; k < bath->part_count; k++)
      note_part(w, bath->parts[k].of);
    return true;
  }
  found = chem_baths_called(t, name);
  if (found.count == 0 || (found.by == CHEM_BATH_BY_FAMILY && chem_find(w->request->chem, name)))
    return false;
  refuse_bath(w, chem_cell(t, found.rows[0], "name"), chem_cell_origin(t, found.rows[0]).source);
  for (int i = 0; i < found.count; i++)
    note_bath(w, chem_cell(t, found.rows[i], "id"));
  return true;
}

/* Neither known nor a typing slip of what is: an answer, not a bad question. */
static bool refused_as_unknown(struct vapour_work *w, const char *name)
{
  const struct chem *chem = w->request->chem;
  const char *id = arena_printf(w->arena, "%.*s", (int)strcspn(name, "@"), name);

  for (const char *c = name; *c; c++)
    if (iscntrl((unsigned char)*c))
      return false;
  if (!*id || *id == ' ' || chem_find(chem, id) || chem_find_stock(chem, id) ||
      chem_nearest(chem, id))
    return false;
  vapour_refuse(w, arena_printf(w->arena,
                                "Not known: '%.40s' is in no table here, so nothing can be said of "
                                "it: its safety data sheet and the safety officer.",
                                name));
  return true;
}

static bool refused_by_content(struct vapour_work *w)
{
  const struct chem_table *t = chem_table("no_vapour_figure", w->arena);

  for (int i = 0; i < t->row_count; i++) {
    double from_K = chem_cell_si(t, i, "from_temperature", UNITS_TEMPERATURE);
    double from_ratio = chem_cell_si(t, i, "from_strength", UNITS_MASS_FRACTION);

    if (has_all(w->out, chem_cell(t, i, "substances"), from_ratio) &&
        (isnan(from_K) || w->out->at_K >= from_K)) {
      refuse_row(w, t, i);
      return true;
    }
  }
  return false;
}

/* ---- the parts ---- */

/* "acetone:0.7" is a name and its share; NaN without one. */
static enum err_code split_share(struct vapour_work *w, const char *text, const char **name_out,
                                 double *share_out)
{
  const char *colon = strrchr(text, ':');
  char *name = arena_strdup(w->arena, text);
  struct units_quantity quantity;
  enum units_dimension dimension;
  enum err_code code;

  BUG_IF(!name);
  *name_out = name;
  *share_out = (double)NAN;
  if (!colon)
    return ERR_OK;
  name[colon - text] = '\0';
  dimension = strchr(colon, '%') ? UNITS_SHARE : UNITS_RATIO;
  code = units_parse(colon + 1, dimension, UNITS_NOTHING, &quantity, w->err);
  if (code != ERR_OK) {
    err_prefix(w->err, "share of %.40s: ", name);
    return code;
  }
  if (!(quantity.si > 0 && quantity.si <= 1))
    return err_set(w->err, ERR_INPUT, "share of %.40s: '%.20s' is not above 0 and at most 1", name,
                   colon + 1);
  *share_out = quantity.si;
  return ERR_OK;
}

static enum err_code read_parts(struct vapour_work *w, double *shares)
{
  const struct vapour_request *r = w->request;
  double pure_from_ratio = vapour_setting(w, "pure from", UNITS_SHARE).low_si;
  const char *name;

  for (int i = 0; i < r->of_count; i++) {
    enum err_code code = split_share(w, r->of[i], &name, &shares[i]);

    if (code != ERR_OK)
      return code;
    if (refused_by_name(w, name))
      continue;
    code = chem_part(r->chem, name, &w->out->parts[w->out->part_count].stock, w->err);
    if (code != ERR_OK && (refused_as_bath(w, name) || refused_as_unknown(w, name))) {
      *w->err = (struct err){0};
      continue;
    }
    if (code != ERR_OK) {
      err_prefix(w->err, "of: ");
      return code;
    }
    struct vapour_part *part = &w->out->parts[w->out->part_count];

    for (int k = 0; k < w->out->part_count; k++)
      if (w->out->parts[k].stock.substance == part->stock.substance)
        return err_set(w->err, ERR_INPUT, "of: %s is named twice; put its shares together",
                       part->stock.substance->id);
    part->aqueous = part->stock.assay_ratio < pure_from_ratio;
    note_there(w, part->stock.substance);
    w->out->part_count++;
  }
  return ERR_OK;
}

static enum err_code check_shares(struct vapour_work *w, double *shares)
{
  const struct vapour_request *r = w->request;
  double sum = 0;

  if (r->of_count == 1) {
    if (!isnan(shares[0]) && fabs(shares[0] - 1) > 0.005)
      return err_set(w->err, ERR_INPUT, "of: one part with share %.3g; name the others, too",
                     shares[0]);
    shares[0] = 1;
    return ERR_OK;
  }
  if (r->by == VAPOUR_BY_NOTHING)
    return err_set(w->err, ERR_INPUT,
                   "by: are the shares by mass or by volume? by=mass or by=volume");
  for (int i = 0; i < r->of_count; i++) {
    if (isnan(shares[i]))
      return err_set(w->err, ERR_INPUT, "of: '%.40s' needs its share, such as acetone:0.7",
                     r->of[i]);
    sum += shares[i];
  }
  if (fabs(sum - 1) > 0.005)
    return err_set(w->err, ERR_INPUT, "of: the shares add up to %.3g, not to 1", sum);
  return ERR_OK;
}

static double molar_mass(const struct vapour_part *p)
{
  return p->stock.substance->facts[CHEM_MOLAR_MASS].si;
}

/* Shares by mass and by mole, and the mass of the whole; volumes are taken as additive. */
static bool mix(struct vapour_work *w, const double *shares)
{
  struct vapour_answer *a = w->out;
  double mass = 0, moles = 0, specific_m3_kg = 0;

  for (int i = 0; i < a->part_count; i++) {
    double density_kg_m3 = chem_stock_density_kg_m3(&a->parts[i].stock, a->at_K, NULL);
    bool by_volume = w->request->by == VAPOUR_BY_VOLUME && a->part_count > 1;

    a->parts[i].mass_ratio = shares[i] * (by_volume ? density_kg_m3 : 1);
    mass += a->parts[i].mass_ratio;
    moles += a->parts[i].mass_ratio / molar_mass(&a->parts[i]);
    specific_m3_kg += a->parts[i].mass_ratio / density_kg_m3;
  }
  for (int i = 0; i < a->part_count; i++) {
    a->parts[i].mole_ratio = a->parts[i].mass_ratio / molar_mass(&a->parts[i]) / moles;
    a->parts[i].mass_ratio /= mass;
  }
  a->mass_kg =
      w->request->volume_m3 > 0 ? w->request->volume_m3 * mass / specific_m3_kg : (double)NAN;
  return isfinite(mass);
}

/* ---- pressures ---- */

static void pure_pressure(struct vapour_work *w, struct vapour_part *p)
{
  const struct chem_substance *s = p->stock.substance;
  double pure_Pa = chem_vapour_pressure_Pa(s, w->out->at_K, &p->extrapolated);
  double off;

  if (!s->vapour || isnan(pure_Pa)) {
    vapour_refuse(w, arena_printf(w->arena,
                                  s->vapour ? "Not known: %s has no vapour pressure in the tables "
                                              "at this temperature, so there is no figure."
                                            : "Not known: %s has no vapour pressure in the tables, "
                                              "so there is no figure. Mist, dust and gas from a "
                                              "reaction are another matter.",
                                  s->name));
    return;
  }
  off = vapour_setting(w,
                       p->extrapolated                      ? "vapour pressure out of its range"
                       : s->vapour->of.basis == CHEM_MEMORY ? "vapour pressure from memory"
                                                            : "vapour pressure in its range",
                       UNITS_SHARE)
            .high_si;
  p->pressure_Pa = pure_Pa * p->mole_ratio;
  p->pressure = (struct vapour_band){p->pressure_Pa * (1 - off), p->pressure_Pa * (1 + off)};
  p->pressure_words = arena_printf(w->arena, "%s%s; %s; ± %.0f %%", s->vapour->of.source,
                                   p->extrapolated ? ", beyond its stated range" : "",
                                   chem_basis_words(s->vapour->of.basis), off * 100);
}

/* One kind of figure of data/partial_pressures.csv between its two nearest strengths. */
struct partial {
  double below_ratio, below_Pa, above_ratio, above_Pa, at_K, first_ratio;
  struct chem_origin of;
};

static bool partial_rows(struct vapour_work *w, const struct vapour_part *p, const char *kind,
                         struct partial *out)
{
  const struct chem_table *t = chem_table("partial_pressures", w->arena);
  bool any = false;

  *out = (struct partial){(double)NAN, (double)NAN, (double)NAN, (double)NAN, (double)NAN, 1, {0}};
  for (int i = 0; i < t->row_count; i++) {
    double ratio = chem_cell_si(t, i, "fraction", UNITS_MASS_FRACTION);
    double pressure_Pa = chem_cell_si(t, i, "pressure", UNITS_ABSOLUTE_PRESSURE);

    if (strcmp(chem_cell(t, i, "substance"), p->stock.substance->id) != 0 ||
        strcmp(chem_cell(t, i, "kind"), kind) != 0)
      continue;
    any = true;
    out->at_K = chem_cell_si(t, i, "at", UNITS_TEMPERATURE);
    out->of = chem_cell_origin(t, i);
    if (chem_cell(t, i, "at_first")[0])
      out->first_ratio = fmax(out->first_ratio, chem_cell_si(t, i, "at_first", UNITS_SHARE));
    if (ratio <= p->stock.assay_ratio + 1e-9 && !(ratio <= out->below_ratio))
      out->below_ratio = ratio, out->below_Pa = pressure_Pa;
    if (ratio >= p->stock.assay_ratio - 1e-9 && !(ratio >= out->above_ratio))
      out->above_ratio = ratio, out->above_Pa = pressure_Pa;
  }
  return any;
}

/* Log of the pressure runs nearly straight between neighbouring strengths. */
static double between(const struct partial *p, double ratio)
{
  double share;

  if (p->above_ratio - p->below_ratio < 1e-9)
    return p->below_Pa;
  share = (ratio - p->below_ratio) / (p->above_ratio - p->below_ratio);
  return exp(log(p->below_Pa) * (1 - share) + log(p->above_Pa) * share);
}

static void refuse_strength(struct vapour_work *w, const struct vapour_part *p, bool any)
{
  const char *name = p->stock.substance->name;

  vapour_refuse(
      w, any ? arena_printf(w->arena,
                            "Not known: %.3g wt%% of %s lies outside the strengths in the table, "
                            "and nothing is guessed beyond them.",
                            p->stock.assay_ratio * 100, name)
             : arena_printf(w->arena,
                            "Not known: no table here has the pressure of %s over its solution in "
                            "water. Of the pure liquid there may be a figure, but over water it is "
                            "no bound to rely on.",
                            name));
}

static void say_partial(struct vapour_work *w, struct vapour_part *p, const struct partial *rows)
{
  p->pressure_words =
      arena_printf(w->arena, "%s%s%s (%s; %s)", p->pressure_words ? p->pressure_words : "",
                   p->pressure_words ? "; " : "", rows->of.source, rows->of.note,
                   chem_basis_words(rows->of.basis));
}

/* Of its strength, or weaker by so little that the weakest row bounds it. */
static bool bounds_strength(const struct vapour_work *w, const struct vapour_part *p,
                            const struct partial *rows)
{
  double weaker = vapour_setting(w, "weaker than the table", UNITS_SHARE).low_si;

  return !isnan(rows->above_ratio) &&
         (!isnan(rows->below_ratio) || p->stock.assay_ratio >= weaker * rows->above_ratio);
}

/* A mean of ten minutes for a colder liquid is no lower end, and of a hotter one there is no end.
 * A fresh liquid gives off more than the mean: its upper end is that many times it. */
static bool add_mean(struct vapour_work *w, struct vapour_part *p)
{
  struct partial rows;
  double mean_Pa, colder_K;
  double fall = vapour_setting(w, "aqueous pressure with temperature", UNITS_SHARE).high_si;

  if (!partial_rows(w, p, "mean", &rows) || !bounds_strength(w, p, &rows))
    return false;
  colder_K = rows.at_K - w->out->at_K;
  if (colder_K < -0.5)
    return false;
  p->at_most = isnan(rows.below_ratio);
  mean_Pa = p->at_most ? rows.above_Pa : between(&rows, p->stock.assay_ratio);
  if (!p->at_most && colder_K <= 10)
    p->pressure.low_si = mean_Pa * exp(colder_K <= 0.5 ? 0 : -fall * colder_K);
  if (!p->at_most && fabs(colder_K) <= 0.5)
    p->pressure_Pa = mean_Pa;
  p->pressure.high_si = mean_Pa * rows.first_ratio;
  say_partial(w, p, &rows);
  return true;
}

/* Acid and water together are an upper end of the acid, above its table risen as steeply as the
 * settings say: a warmer liquid never has less. */
static void add_total(struct vapour_work *w, struct vapour_part *p)
{
  struct partial rows;
  double total_Pa;
  double rise = vapour_setting(w, "aqueous pressure with temperature", UNITS_SHARE).high_si;

  if (!partial_rows(w, p, "total", &rows) || !bounds_strength(w, p, &rows))
    return;
  total_Pa = isnan(rows.below_ratio) ? rows.above_Pa : between(&rows, p->stock.assay_ratio);
  p->pressure.high_si = total_Pa * exp(rise * fmax(w->out->at_K - rows.at_K, 0));
  say_partial(w, p, &rows);
}

/* A printed figure that this liquid, as strong and as warm, is at or above. */
static void add_least(struct vapour_work *w, struct vapour_part *p)
{
  struct partial rows;

  if (!partial_rows(w, p, "least", &rows) || isnan(rows.below_ratio) ||
      w->out->at_K < rows.at_K - 0.5)
    return;
  p->pressure.low_si = fmax(p->pressure.low_si, rows.below_Pa);
  say_partial(w, p, &rows);
}

static void aqueous_pressure(struct vapour_work *w, struct vapour_part *p)
{
  struct partial rows;
  bool any;

  p->pressure_Pa = (double)NAN;
  p->pressure = (struct vapour_band){0, (double)NAN};
  if (add_mean(w, p)) {
    add_total(w, p);
    add_least(w, p);
    return;
  }
  any = partial_rows(w, p, "mean", &rows);
  if (any && w->out->at_K > rows.at_K + 0.5)
    vapour_refuse(w, arena_printf(w->arena,
                                  "Not known: the tables of %s in water stop at %.0f °C, and a "
                                  "warmer bath gives off more: no figure.",
                                  p->stock.substance->name, rows.at_K - ZERO_CELSIUS_K));
  else
    refuse_strength(w, p, any);
}

/* Raoult's law is for liquids that are alike: water with an organic one is the worst case of it, and
 * gives off several times what the law says. */
static bool refused_with_water(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;

  for (int i = 0; i < a->part_count && a->part_count > 1; i++)
    if (strcmp(a->parts[i].stock.substance->id, "water") == 0) {
      vapour_refuse(w, "Not known: water mixed with something else gives off more of it than the "
                       "law of ideal mixtures says, and no table here says how much.");
      return true;
    }
  return false;
}

/* A solution beside another liquid: its pressures are in no table, and Raoult's law is for liquids
 * that are alike. */
static void find_pressures(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  double total_Pa = 0;

  if (refused_with_water(w))
    return;
  for (int i = 0; i < a->part_count && !a->refused; i++) {
    struct vapour_part *p = &a->parts[i];

    if (p->aqueous && a->part_count > 1)
      vapour_refuse(w, "Not known: a solution in water mixed with something else has a vapour "
                       "pressure that no table here holds.");
    else if (p->stock.solid)
      vapour_refuse(w, arena_printf(w->arena,
                                    "Not known: %s is a solid; these figures are for "
                                    "liquids.",
                                    p->stock.substance->name));
    else if (p->aqueous)
      aqueous_pressure(w, p);
    else
      pure_pressure(w, p);
    total_Pa += p->pressure.high_si;
  }
  if (!a->refused && total_Pa >= a->pressure_Pa)
    vapour_refuse(w, "No figure: at this temperature it boils, or is too near it. A boiling bath "
                     "gives off what its heater makes it.");
}

static void find_limits(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  double hotter_K = fmax(a->at_K, w->air_K);

  for (int i = 0; i < a->part_count; i++) {
    struct vapour_part *p = &a->parts[i];
    const struct chem_substance *s = p->stock.substance;
    const struct chem_figure *lower = &s->facts[CHEM_LOWER_LIMIT];
    double out_si[MATTER_OUTPUTS_MAX], diffusivity = s->facts[CHEM_DIFFUSIVITY].si;

    /* Fuller 1969: D grows with T^1.75 and falls with the pressure. */
    p->diffusivity_m2_s =
        diffusivity * pow(hotter_K / 298.15, 1.75) * ATMOSPHERE_PA / a->pressure_Pa;
    p->lower_limit_ratio = (double)NAN;
    if (isnan(lower->si) ||
        matter_formula_compute(
            "flammable-limit",
            (struct matter_given[]){{"limit", lower->si}, {"temperature", hotter_K}, {NULL, 0}},
            out_si))
      continue;
    p->lower_limit_ratio = out_si[0];
    p->lower_limit_words =
        arena_printf(w->arena, "%s; %s", lower->of.source, chem_basis_words(lower->of.basis));
  }
}

static const char *liquid_words(const struct vapour_work *w)
{
  struct buf text;
  const char *out;

  buf_init(&text, 1 << 12);
  for (int i = 0; i < w->out->part_count; i++) {
    const struct vapour_part *p = &w->out->parts[i];

    buf_printf(&text, "%s%s", i ? " with " : "", p->stock.substance->name);
    if (p->aqueous)
      buf_printf(&text, ", %.3g wt%% in water", p->stock.assay_ratio * 100);
    if (w->out->part_count > 1 && p->mass_ratio > 0)
      buf_printf(&text, " (%.0f %% by mass)", p->mass_ratio * 100);
  }
  out = arena_strdup(w->arena, text.text);
  buf_release(&text);
  return out;
}

/* As it was asked, where a part of it is none of the tables'. */
static const char *asked_words(const struct vapour_work *w)
{
  const char *text = w->request->of[0];

  for (int i = 1; i < w->request->of_count; i++)
    text = arena_printf(w->arena, "%s with %s", text, w->request->of[i]);
  return text;
}

/* A station's own words go before any figure: what is not to stand there gets none. */
static void refused_by_station(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  const struct facility_station *station;
  struct chem_not_here found;
  const char *unread;

  if (!w->facility || a->station < 0)
    return;
  station = &w->facility->stations[a->station];
  found = chem_not_here(w->request->chem, station, w->there, w->there_count, w->arena);
  unread = chem_not_here_unread_words(&found, station, w->arena);
  if (*unread)
    vapour_add(a->unknown, &a->unknown_count, unread);
  if (found.hit_count == 0)
    return;
  const char *words = chem_not_here_words(&found, station, w->arena);

  a->headline = arena_printf(w->arena, "%c%s. No figure is given for it there.%s%s",
                             toupper((unsigned char)words[0]), words + 1, a->refused ? " " : "",
                             a->refused ? a->headline : "");
  a->refused = true;
}

enum err_code vapour_read_liquid(struct vapour_work *w)
{
  double shares[VAPOUR_PARTS_MAX] = {1, (double)NAN, (double)NAN, (double)NAN};
  struct vapour_answer *a = w->out;
  enum err_code code;

  if (w->request->of_count == 0)
    return err_set(w->err, ERR_INPUT, "of: which liquid? of=acetone, or of=hf@49wt%%");
  a->parts = ARENA_ARRAY(w->arena, struct vapour_part, VAPOUR_PARTS_MAX);
  BUG_IF(!a->parts);
  a->at_K = w->request->at_K > 0 ? w->request->at_K : w->air_K;
  code = read_parts(w, shares);
  if (code != ERR_OK)
    return code;
  if (a->refused) {
    a->liquid = asked_words(w);
    refused_by_station(w);
    return ERR_OK;
  }
  refused_by_station(w);
  if (a->refused) {
    a->liquid = liquid_words(w);
    return ERR_OK;
  }
  if (refused_by_content(w)) { /* before anything else is wrong with it */
    a->liquid = liquid_words(w);
    return ERR_OK;
  }
  code = check_shares(w, shares);
  if (code != ERR_OK)
    return code;
  if (!mix(w, shares) && a->part_count > 1)
    return err_set(w->err, ERR_INPUT,
                   "by: no density of every part is in the tables; say shares by "
                   "mass");
  a->liquid = liquid_words(w);
  find_pressures(w);
  if (!a->refused)
    find_limits(w);
  return ERR_OK;
}
