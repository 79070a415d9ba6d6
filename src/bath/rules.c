/* What may not be made here, and what is to be minded with what may. */
#include "bath/bath_impl.h"

#include "base/constants.h"

#include "facility/chemicals.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* ---- piranha and its kin ---- */

static double share_of(const struct bath_work *w, const char *id)
{
  for (int i = 0; i < w->answer->holds_count; i++)
    if (strcmp(w->holds[i].substance->id, id) == 0)
      return w->holds[i].fraction_ratio;
  return 0;
}

/* The row of data/bath_kin.csv that this is, by its name or by what it holds; -1: none. */
static int kin_row(const struct bath_work *w, const struct chem_table *t)
{
  for (int i = 0; i < t->row_count; i++) {
    double first = share_of(w, chem_cell(t, i, "first"));
    double second = share_of(w, chem_cell(t, i, "second"));

    if (*w->kin && strcmp(chem_cell(t, i, "id"), w->kin) == 0)
      return i;
    if (first >= chem_cell_si(t, i, "first_from", UNITS_MASS_FRACTION) &&
        second >= chem_cell_si(t, i, "second_from", UNITS_MASS_FRACTION))
      return i;
  }
  return -1;
}

static bool names_station(const struct chemicals_procedure *p, int station)
{
  for (int i = 0; i < p->station_count; i++)
    if (p->stations[i] == station)
      return true;
  return false;
}

static int station_index(const struct bath_work *w)
{
  const struct facility *f = w->place->facility;

  return f && w->answer->station ? facility_station_find(f, w->answer->station) : -1;
}

static bool not_yet(const struct bath_work *w, const struct chemicals_procedure *p)
{
  return w->request->on && p->approved && strcmp(w->request->on, p->approved) < 0;
}

static bool review_past(const struct bath_work *w, const struct chemicals_procedure *p)
{
  return w->request->on && p->review && strcmp(p->review, w->request->on) < 0;
}

/* One that names this very bath before one of its kind; of those one in force on the day asked. */
static const struct chemicals_procedure *procedure_of(const struct bath_work *w, const char *kin)
{
  const struct chemicals_procedure *best = NULL;
  int most = -1;
  const struct chemicals *own = w->place->own;
  const char *id = w->answer->id ? w->answer->id : "";
  int station = station_index(w);

  for (int i = 0; own && station >= 0 && i < own->procedure_count; i++) {
    const struct chemicals_procedure *p = &own->procedures[i];

    if (!names_station(p, station) ||
        (strcasecmp(p->bath, kin) != 0 && strcasecmp(p->bath, id) != 0))
      continue;
    int fits = 2 * (strcasecmp(p->bath, id) == 0) + (!not_yet(w, p) && !review_past(w, p));

    if (fits > most)
      best = p;
    most = fits > most ? fits : most;
  }
  return best;
}

static double peroxide_assay(const struct bath_work *w)
{
  double most = 0;

  for (int i = 0; i < w->part_count; i++)
    if (strcmp(w->parts[i].stock.substance->id, "h2o2") == 0)
      most = fmax(most, w->parts[i].stock.assay_ratio);
  return most;
}

/* A refusal shows no amounts, in no form. */
static void refuse(struct bath_work *w)
{
  struct bath_answer *a = w->answer;

  a->state = BATH_REFUSED;
  if (!a->id) /* a title of shares would tell the amounts */
    a->title = "these parts";
  a->parts = NULL;
  a->holds = NULL;
  a->part_count = a->holds_count = 0;
  a->volume_m3 = a->mass_kg = a->sum_m3 = a->density_kg_m3 = NAN;
  a->heat = (struct bath_heat){.low_K = NAN, .high_K = NAN, .boiling_K = NAN, .peroxide_K = NAN};
  a->vessels.count = 0;
  a->shelf = a->life = "";
  a->variants.count = a->assumed.count = a->unknown.count = a->sources.count = 0;
}

void bath_refuse(struct bath_work *w, const char *why, const char *possible)
{
  refuse(w);
  bath_line(&w->answer->refused, why);
  bath_line(&w->answer->possible, possible);
}

static const char *where(const struct bath_work *w)
{
  return w->answer->station ? w->answer->station : "a station that is not named";
}

static void refuse_kin(struct bath_work *w, const struct chem_table *t, int row)
{
  const char *name = chem_cell(t, row, "name"), *why = chem_cell(t, row, "why");

  bath_refuse(w,
              bath_words(w, "no approved procedure in the suite's chemicals file names %s for %s",
                         name, where(w)),
              bath_words(w,
                         "an approved procedure that names this bath and this station, in the "
                         "suite's chemicals file: document, version, who approved it and when, the "
                         "most that may be made%s",
                         *chem_cell(t, row, "peroxide") ? ", the strongest peroxide" : ""));
  bath_line(&w->answer->refused, bath_words(w, "%s: %s", name, why));
}

/*
 * The most that the parts can fill: their volumes, or where one is not known at that temperature all
 * the mass at the least density that a part has, there or near 20 degC.  NaN: a part has none.
 */
static double volume_at_most_m3(const struct bath_work *w)
{
  static const double room_K = 293.15; /* of the printed densities of bottles */
  double least_kg_m3 = INFINITY;

  if (isfinite(w->answer->sum_m3))
    return w->answer->sum_m3;
  for (int i = 0; i < w->part_count; i++) {
    const struct bath_part *p = &w->parts[i];
    double room_kg_m3 = chem_stock_density_kg_m3(&p->stock, room_K, NULL);

    if (isnan(room_kg_m3) && isnan(p->density_kg_m3))
      return NAN;
    least_kg_m3 = fmin(least_kg_m3, fmin(room_kg_m3, p->density_kg_m3));
  }
  return w->answer->mass_kg / least_kg_m3;
}

/* A most that cannot be checked is not kept. */
static bool within_volume(struct bath_work *w, const struct chemicals_procedure *p)
{
  double volume_m3 = volume_at_most_m3(w);
  bool bound = isnan(w->answer->sum_m3);

  if (volume_m3 <= p->most_m3 * (1 + 1e-9))
    return true;
  if (isnan(volume_m3))
    bath_refuse(w,
                bath_words(w,
                           "%s allows at most %.4g L at a time, and that cannot be checked: the "
                           "density of a part is not known",
                           p->document, p->most_m3 * 1e3),
                "bottles of known density");
  else
    bath_refuse(w,
                bath_words(w, "%s allows at most %.4g L at a time; more was asked for%s",
                           p->document, p->most_m3 * 1e3,
                           bound ? ", counting all of it as light as its lightest part, for a "
                                   "density at that temperature is not known"
                                 : ""),
                "an amount within the procedure");
  return false;
}

/* Under a procedure: within its amount and its peroxide (NaN: any), and reviewed in time. */
static bool within_procedure(struct bath_work *w, double most, const struct chemicals_procedure *p)
{
  double assay = peroxide_assay(w);

  if (isfinite(most) && assay >= most) {
    bath_refuse(w,
                bath_words(w, "peroxide of %.3g wt%%: never at or above %.3g wt%%", assay * 100,
                           most * 100),
                "weaker peroxide, as the procedure names it");
    return false;
  }
  if (assay > p->peroxide_most_ratio + 1e-12) {
    bath_refuse(w,
                bath_words(w, "peroxide of %.3g wt%%: %s allows at most %.3g wt%%", assay * 100,
                           p->document, p->peroxide_most_ratio * 100),
                "peroxide within the procedure");
    return false;
  }
  if (!within_volume(w, p))
    return false;
  if (not_yet(w, p)) {
    bath_refuse(w, bath_words(w, "%s was not approved before %s", p->document, p->approved),
                "a procedure that is approved on the day");
    return false;
  }
  if (review_past(w, p)) {
    bath_refuse(w, bath_words(w, "the review of %s was due on %s", p->document, p->review),
                "the procedure, reviewed and approved again");
    return false;
  }
  return true;
}

static void say_procedure(struct bath_work *w, const struct chemicals_procedure *p)
{
  bath_line(
      &w->shown,
      bath_words(w,
                 "Amounts are shown only because %s (version %s, approved by %s, %s; review by "
                 "%s) names this bath for %s. It decides, not this page.",
                 p->document, p->version ? p->version : "not stated", p->by ? p->by : "not stated",
                 p->approved ? p->approved : "not stated", p->review ? p->review : "not stated",
                 w->answer->station));
  if (!w->request->on)
    bath_line(&w->answer->unknown, "whether the review of the procedure is past");
}

/* ---- parts that change one another ---- */

/* "1;2": one of the numbers; "koh;naoh": the id. */
static bool is_among(const char *list, const struct chem_substance *s, bool groups)
{
  for (const char *at = list; *at;) {
    size_t length = strcspn(at, ";");

    if (!groups && strlen(s->id) == length && strncmp(at, s->id, length) == 0)
      return true;
    for (int i = 0; groups && i < s->group_count; i++)
      if (strtol(at, NULL, 10) == s->groups[i])
        return true;
    at += length + (at[length] == ';');
  }
  return false;
}

static bool holds_side(const struct bath_work *w, const char *groups, const char *ids)
{
  for (int i = 0; i < w->answer->holds_count; i++)
    if (is_among(groups, w->holds[i].substance, true) ||
        is_among(ids, w->holds[i].substance, false))
      return true;
  return false;
}

/* What it then holds, how hot it gets and what stands it is nothing that this page computes. */
static void leave_out_product(struct bath_work *w)
{
  struct bath_answer *a = w->answer;

  w->reacts = true;
  if (!a->id)
    a->title = "these parts";
  a->holds = NULL;
  a->holds_count = 0;
  a->volume_m3 = a->density_kg_m3 = NAN;
  a->heat.complete = false;
  a->heat.low_K = a->heat.high_K = a->heat.peroxide_K = NAN;
  if (a->heat.boils == BATH_STAYS_BELOW)
    a->heat.boils = BATH_HEAT_NOT_KNOWN;
  if (a->heat.peroxide_boils == BATH_STAYS_BELOW)
    a->heat.peroxide_boils = BATH_HEAT_NOT_KNOWN;
  bath_line(&a->unknown,
            "what it then holds, how hot it gets and which vessel stands it: the parts "
            "react, and that is not computed here");
}

static void refuse_reaction(struct bath_work *w, const struct chem_table *t, int row)
{
  bath_refuse(
      w,
      bath_words(w, "%s: %s; no approved procedure in the suite's chemicals file names it for %s",
                 chem_cell(t, row, "name"), chem_cell(t, row, "why"), where(w)),
      bath_words(w,
                 "an approved procedure of the suite's chemicals file for this station, whose "
                 "bath is '%s' or the name of this bath",
                 chem_cell(t, row, "id")));
}

static void rule_reactions(struct bath_work *w)
{
  const struct chem_table *t = chem_table("bath_reacts", w->arena);
  bool allowed = false;

  for (int i = 0; i < t->row_count && w->answer->state == BATH_MADE; i++) {
    const struct chemicals_procedure *p;

    if (share_of(w, "water") >= chem_cell_si(t, i, "water", UNITS_MASS_FRACTION))
      continue; /* thin enough; no share: however thin */
    if (!holds_side(w, chem_cell(t, i, "first_groups"), chem_cell(t, i, "first")) ||
        !holds_side(w, chem_cell(t, i, "second_groups"), chem_cell(t, i, "second")))
      continue;
    p = procedure_of(w, chem_cell(t, i, "id"));
    if (!p)
      refuse_reaction(w, t, i);
    else if (within_procedure(w, NAN, p)) {
      say_procedure(w, p);
      bath_line(&w->answer->cautions,
                bath_words(w, "%s: %s", chem_cell(t, i, "name"), chem_cell(t, i, "why")));
      allowed = true;
    }
  }
  if (allowed && w->answer->state == BATH_MADE)
    leave_out_product(w);
}

/*
 * A procedure speaks for the bath that it names, at that bath's own ratio: another of the kind, or
 * parts that only add up to one, has no procedure.
 */
static bool is_its_bath(struct bath_work *w, const struct chemicals_procedure *p, const char *kind)
{
  int row = bath_is_own(w, p->bath) ? -1 : bath_named_row(w, p->bath);
  const char *id = row < 0 ? p->bath : chem_cell(chem_table("baths", w->arena), row, "id");

  if (!w->answer->id)
    (void)bath_becomes(w, p->bath);
  if (w->answer->id && strcasecmp(w->answer->id, id) == 0) {
    row = bath_named_row(w, kind);
    if (row >= 0)
      bath_cautions_of(w, row);
    if (!strstr(w->answer->title, kind)) /* a bath of the suite's own is called what it is too */
      w->answer->title = bath_words(w, "%s (%s)", w->answer->title, kind);
    return true;
  }
  bath_refuse(w,
              bath_words(w, "%s names '%s' for %s, and %s", p->document, p->bath, where(w),
                         w->answer->id ? "this is another of the kind"
                                       : bath_words(w,
                                                    "these parts make %s in another ratio or of "
                                                    "other bottles",
                                                    kind)),
              bath_words(w, "the bath by its name: '%s'", p->bath));
  return false;
}

/* Parts that are those of a bath of the house, which a procedure of this station names, are that bath. */
static void find_own(struct bath_work *w)
{
  const struct chemicals *own = w->place->own;
  int station = station_index(w);

  for (int i = 0; own && station >= 0 && i < own->procedure_count && !w->answer->id; i++)
    if (names_station(&own->procedures[i], station) && bath_is_own(w, own->procedures[i].bath))
      (void)bath_becomes(w, own->procedures[i].bath);
}

static void rule_kin(struct bath_work *w)
{
  const struct chem_table *t = chem_table("bath_kin", w->arena);
  int row = kin_row(w, t);

  if (row < 0)
    return;

  if (w->answer->state == BATH_MADE)
    find_own(w);

  const struct chemicals_procedure *p = procedure_of(w, chem_cell(t, row, "id"));

  if (w->answer->state == BATH_NO_RECIPE) {
    bath_line(&w->answer->refused, chem_cell(t, row, "why"));
    return;
  }
  w->mixture = chem_cell(t, row, "mixture");
  w->told_K = chem_cell_si(t, row, "reaches", UNITS_TEMPERATURE);
  w->told_from = chem_cell(t, row, "reaches_from");
  if (!p)
    refuse_kin(w, t, row);
  else if (within_procedure(w, chem_cell_si(t, row, "peroxide", UNITS_MASS_FRACTION), p) &&
           is_its_bath(w, p, chem_cell(t, row, "name")))
    say_procedure(w, p);
}

void bath_rules(struct bath_work *w)
{
  bath_not_here(w);
  if (w->answer->state == BATH_REFUSED)
    return;
  bath_station_is_for(w);
  rule_kin(w);
  if (w->answer->state == BATH_MADE)
    rule_reactions(w);
}

/* ---- order, cautions, headspace, waste ---- */

static int substance_row(const struct chem_table *t, const char *id)
{
  for (int i = 0; i < t->row_count; i++)
    if (strcmp(chem_cell(t, i, "substance"), id) == 0)
      return i;
  return -1;
}

/* Of what no row says the order is not known: it goes before peroxide and hydrofluoric acid. */
static double rank_of(const struct chem_table *t, const struct bath_part *p)
{
  int row = substance_row(t, p->stock.substance->id);

  return p->there ? 0 : row < 0 ? 75 : chem_cell_number(t, row, "rank");
}

static void sort_parts(struct bath_work *w, const struct chem_table *t)
{
  for (int i = 1; i < w->part_count; i++) {
    struct bath_part p = w->parts[i];
    int at = i;

    for (; at > 0 && rank_of(t, &w->parts[at - 1]) > rank_of(t, &p); at--)
      w->parts[at] = w->parts[at - 1];
    w->parts[at] = p;
  }
}

static bool is_base(const struct chem_substance *s)
{
  static const int caustics = 10; /* EPA-600/2-80-076 */

  for (int i = 0; i < s->group_count; i++)
    if (s->groups[i] == caustics)
      return true;
  return false;
}

/* Water, or a weaker bottle, into a bath of strong acid or base is poured the other way. */
static const char *reason_weaker(struct bath_work *w, const struct chem_table *t,
                                 const struct bath_part *bath, const struct bath_part *p)
{
  int row = substance_row(t, bath->stock.substance->id);
  double strong_ratio = row < 0 ? (double)NAN : chem_cell_si(t, row, "strong", UNITS_MASS_FRACTION);

  if (bath->stock.assay_ratio > strong_ratio)
    return bath_words(w,
                      "never into the strong %s: pour the bath, cold, slowly into this, in another "
                      "vessel",
                      is_base(bath->stock.substance) ? "base" : "acid");
  return strcmp(p->stock.substance->id, "water") == 0
             ? "slowly, stirred, into the cold bath"
             : "weaker than the bath: slowly, stirred, into "
               "the cold bath";
}

static const char *reason_for(struct bath_work *w, const struct chem_table *t,
                              const struct bath_part *p, int at)
{
  const struct bath_part *first = &w->parts[0];
  bool water = strcmp(p->stock.substance->id, "water") == 0;
  int row = substance_row(t, p->stock.substance->id);

  if (p->there)
    return "there already, cold, its strength measured and not remembered";
  if (first->there && (water || p->stock.assay_ratio < first->stock.assay_ratio))
    return reason_weaker(w, t, first, p);
  if (row < 0)
    return "the order is not known: ask";
  if (at == 0 && !water)
    return w->part_count == 1 ? "as it is bought" : "first: the others are poured into it, slowly";
  return chem_cell(t, row, "order");
}

static void add_cautions(struct bath_work *w, const struct chem_table *t)
{
  struct bath_answer *a = w->answer;

  for (int i = 0; i < a->holds_count; i++) {
    int row = substance_row(t, w->holds[i].substance->id);

    if (row >= 0 && *chem_cell(t, row, "caution"))
      bath_line(&a->cautions,
                bath_words(w, "%s: %s", w->holds[i].substance->name, chem_cell(t, row, "caution")));
    else if (row < 0)
      bath_line(&a->unknown, bath_words(w, "cautions for %s: its safety data sheet has them",
                                        w->holds[i].substance->name));
  }
}

static void find_headspace(struct bath_work *w, const struct chem_table *t)
{
  struct bath_answer *a = w->answer;
  const char *waste = "";
  double rank = -1;
  bool of_row = isfinite(a->fill_ratio); /* of data/baths.csv */

  for (int i = 0; i < a->holds_count; i++) {
    int row = substance_row(t, w->holds[i].substance->id);

    if (row < 0)
      continue;
    if (!of_row) {
      double fill = chem_cell_si(t, row, "fill", UNITS_SHARE);

      a->fill_ratio = isnan(a->fill_ratio) ? fill : fmin(a->fill_ratio, fill);
    }
    if (chem_cell_number(t, row, "rank") > rank && *chem_cell(t, row, "waste")) {
      rank = chem_cell_number(t, row, "rank");
      waste = chem_cell(t, row, "waste");
    }
  }
  if (!*a->waste)
    a->waste = waste;
}

void bath_counsel(struct bath_work *w)
{
  const struct chem_table *t = chem_table("bath_substances", w->arena);

  sort_parts(w, t);
  for (int i = 0; i < w->part_count; i++)
    w->parts[i].why = reason_for(w, t, &w->parts[i], i);
  add_cautions(w, t);
  find_headspace(w, t);
}

/* ---- what stands before all other cautions ---- */

static void add_fire(struct bath_work *w, struct bath_lines *lines)
{
  double margin_K = bath_setting(w, "flash-margin", "difference", UNITS_TEMPERATURE_DIFFERENCE);
  double at_K = w->answer->temperature_K;

  if (isfinite(w->answer->use_to_K))
    at_K = fmax(at_K, w->answer->use_to_K);
  for (int i = 0; i < w->part_count; i++) {
    const struct chem_stock *stock = &w->parts[i].stock;
    const struct chem_figure *flash = &stock->substance->facts[CHEM_FLASH];
    bool pure = w->part_count == 1 && stock->assay_ratio >= 1;

    if (!isfinite(flash->si) || flash->si > at_K + margin_K)
      continue;
    bath_line(lines, bath_words(w, "%s: %s above the liquid: flash point %.0f \u00b0C%s",
                                stock->substance->name, pure ? "Ignitable" : "May be ignitable",
                                flash->si - ZERO_CELSIUS_K,
                                pure ? "" : " alone; of the mixture not known"));
    bath_line(&w->answer->sources,
              bath_words(w, "flash point of %s: %s (%s)", stock->substance->name, flash->of.source,
                         chem_basis_words(flash->of.basis)));
  }
}

static void add_boiling(struct bath_work *w, struct bath_lines *lines)
{
  const struct bath_heat *h = &w->answer->heat;

  if (h->boils == BATH_WILL_BOIL || h->boils == BATH_MAY_BOIL)
    bath_line(lines, h->boils == BATH_WILL_BOIL
                         ? "WILL BOIL and spatter if poured at once: slowly, stirred, cooled"
                         : "May boil and spatter if poured at once: slowly, stirred, cooled");
  else if (h->peroxide_boils == BATH_WILL_BOIL || h->peroxide_boils == BATH_MAY_BOIL)
    bath_line(lines, h->peroxide_boils == BATH_WILL_BOIL
                         ? "WILL BOIL if all its peroxide breaks down"
                         : "May boil if all its peroxide breaks down");
}

void bath_foremost(struct bath_work *w)
{
  struct bath_lines *cautions = &w->answer->cautions, lines = {0};

  if (w->answer->state == BATH_MADE)
    add_boiling(w, &lines);
  add_fire(w, &lines);
  for (int i = 0; i < w->shown.count && w->answer->state == BATH_MADE; i++)
    bath_line(&lines, w->shown.line[i]);
  for (int i = 0; i < cautions->count; i++)
    bath_line(&lines, cautions->line[i]);
  *cautions = lines;
}
