/* What the parts do to one another, and what vessel stands the bath: src/meet, in its own words. */
#include "bath/bath_impl.h"

#include "base/constants.h"

#include "meet/meet.h"

#include <math.h>
#include <string.h>

static const char *thing_of(struct bath_work *w, const struct bath_part *p)
{
  const char *id = p->stock.substance->id;

  return p->stock.assay_ratio < 1 ? bath_words(w, "%s@%.6gwt%%", id, p->stock.assay_ratio * 100)
                                  : id;
}

/* ---- may they meet ---- */

/* Two that a published recipe brings together, thinned by the rest and in its order. */
static bool in_recipe(struct bath_work *w, const struct meet_answer *met,
                      const struct meet_finding *f)
{
  const char *a = met->things[f->of[0]].faces[0].id, *b;

  if (f->of_count != 2 || !*w->meets)
    return false;
  b = met->things[f->of[1]].faces[0].id;
  return strcmp(w->meets, bath_words(w, "%s+%s", a, b)) == 0 ||
         strcmp(w->meets, bath_words(w, "%s+%s", b, a)) == 0;
}

static bool is_never(struct bath_work *w, const struct meet_answer *met,
                     const struct meet_finding *f)
{
  return f->verdict == MEET_NEVER && !in_recipe(w, met, f);
}

static void say_never(struct bath_work *w, const struct meet_answer *met,
                      const struct meet_finding *f, struct bath_lines *lines)
{
  const char *who = meet_finding_of(met, f, w->arena);

  for (int k = 0; k < f->sentence_count; k++)
    if (f->sentences[k].verdict == MEET_NEVER)
      bath_line(lines, bath_words(w, "%s: %s", who, f->sentences[k].say));
  for (int k = 0; k < f->cell_count; k++)
    bath_line(lines, bath_words(w, "%s: the chart of EPA-600/2-80-076 has %s", who,
                                meet_codes_words(f->cells[k].codes, w->arena)));
}

static bool refuse_never(struct bath_work *w, const struct meet_answer *met)
{
  bool any = false;

  for (int i = 0; i < met->finding_count; i++) {
    const struct meet_finding *f = &met->findings[i];

    if (!is_never(w, met, f))
      continue;
    if (!any && f->of_count == 1) /* one alone: the suite does not want it there */
      bath_refuse(w, bath_words(w, "%s: not here", meet_finding_of(met, f, w->arena)),
                  "a station that it may come to: its card says");
    else if (!any)
      bath_refuse(w, bath_words(w, "%s: never together", meet_finding_of(met, f, w->arena)),
                  "nothing that this page knows: ask before any of it is opened");
    any = true;
    say_never(w, met, f, &w->answer->refused);
  }
  return any;
}

/* In their own recipe they meet all the same: what they do outside it is a caution. */
static void say_recipe(struct bath_work *w, const struct meet_answer *met)
{
  for (int i = 0; i < met->finding_count; i++)
    if (met->findings[i].verdict == MEET_NEVER && in_recipe(w, met, &met->findings[i])) {
      bath_line(&w->answer->cautions,
                bath_words(w, "%s: only in this recipe and this order; outside it:",
                           meet_finding_of(met, &met->findings[i], w->arena)));
      say_never(w, met, &met->findings[i], &w->answer->cautions);
    }
}

static void say_met(struct bath_work *w, const struct meet_answer *met)
{
  struct bath_answer *a = w->answer;

  for (int i = 0; i < met->finding_count; i++)
    for (int k = 0; k < met->findings[i].sentence_count; k++) {
      const struct meet_sentence *s = &met->findings[i].sentences[k];

      if (s->verdict == MEET_BY_PROCEDURE)
        bath_line(&a->cautions, bath_words(w, "%s", s->say));
      if (s->verdict == MEET_UNKNOWN)
        bath_line(
            &a->unknown,
            bath_words(w, "%s: %s", meet_finding_of(met, &met->findings[i], w->arena), s->say));
    }
  if (met->verdict == MEET_NOTHING_LISTED && w->part_count > 1)
    bath_line(&a->unknown,
              "what these parts do together: nothing is listed, which is no clearance");
}

/* A substance meets itself in another strength: that is dilution, and its heat is told. */
static bool is_repeated(const struct bath_work *w, int part)
{
  for (int i = 0; i < part; i++)
    if (w->parts[i].stock.substance == w->parts[part].stock.substance)
      return true;
  return false;
}

static void meet_parts(struct bath_work *w, const struct meet_facts *facts)
{
  struct meet_request request = {.at_K = NAN,
                                 .station = w->answer->station,
                                 .facility = w->place->facility,
                                 .own = w->place->own};
  int least = request.station ? 1 : 2;
  struct err err = {0};
  const struct meet_answer *met;

  for (int i = 0; i < w->part_count; i++)
    if (!is_repeated(w, i) &&
        meet_take(&request, "thing", thing_of(w, &w->parts[i]), &err) != ERR_OK)
      break;
  met = request.thing_count >= least && !err.text[0] ? meet_answer(facts, &request, w->arena, &err)
                                                     : NULL;
  if (err.text[0])
    bath_line(&w->answer->unknown, bath_words(w, "what these parts do together: %s", err.text));
  if (!met)
    return;
  if (refuse_never(w, met))
    return;
  say_recipe(w, met);
  say_met(w, met);
}

/* ---- the vessel ---- */

/* Hotter than boiling, and nobody says how far: no figure of a material reaches so high. */
static bool passes_boiling(const struct bath_answer *a)
{
  return a->heat.boils == BATH_WILL_BOIL || (a->heat.boils == BATH_MAY_BOIL && a->heat.complete);
}

/* Something is mixed of which the heat is not known whole: its upper end is no ground to refuse. */
static bool heat_unknown(const struct bath_answer *a)
{
  return a->heat.mixes && !passes_boiling(a) && (!a->heat.complete || isnan(a->heat.high_K));
}

/* The hottest that is said of it: in use, mixed at once, or as its source prints it. */
static double hottest_K(const struct bath_work *w)
{
  const struct bath_answer *a = w->answer;
  double K = a->temperature_K;

  if (passes_boiling(a) && isnan(w->told_K))
    return INFINITY;
  if (passes_boiling(a))
    K = fmax(fmax(K, w->told_K), isfinite(a->heat.boiling_K) ? a->heat.boiling_K : 0);
  else if (!heat_unknown(a) && isfinite(a->heat.high_K))
    K += fmax(a->heat.high_K, 0);
  return isfinite(a->use_to_K) ? fmax(K, a->use_to_K) : K;
}

/* "go above 100 °C, how far is not known"; "reach 64 °C". */
static const char *hottest_words(struct bath_work *w)
{
  double K = hottest_K(w);

  if (!isfinite(K))
    return bath_words(w, "go above %.0f \u00b0C, how far is not known",
                      w->answer->heat.boiling_K - ZERO_CELSIUS_K);
  return passes_boiling(w->answer)
             ? bath_words(w, "reach %.0f \u00b0C (%s); whether it goes higher is not known",
                          K - ZERO_CELSIUS_K, w->told_from)
             : bath_words(w, "reach %.0f \u00b0C", K - ZERO_CELSIUS_K);
}

/* A material that stands the liquid, but of which nothing is listed as hot as that. */
static bool too_hot(const struct meet_vessel *v, double K)
{
  return v->rating != MEET_REFUSED && isfinite(v->most_K) && v->most_K < K - 0.01;
}

/* The station's own word against this material; NULL: none that is understood. */
static const char *not_here(struct bath_work *w, const struct meet_vessel *v)
{
  const struct facility *f = w->place->facility;
  int station = f && w->answer->station ? facility_station_find(f, w->answer->station) : -1;

  return station < 0 ? NULL : chem_not_here_material(&f->stations[station], v->id, w->arena);
}

static void list_rated(struct bath_work *w, const struct meet_vessel *vessels, int count,
                       enum meet_rating rating, const char *heading)
{
  double K = hottest_K(w);
  const char *list = "";

  for (int i = 0; i < count; i++)
    if (vessels[i].rating == rating && !too_hot(&vessels[i], K) && !not_here(w, &vessels[i]))
      list = rating == MEET_LISTED || !*vessels[i].why
                 ? bath_words(w, "%s%s%s", list, *list ? "; " : "", vessels[i].name)
                 : bath_words(w, "%s%s%s (%s)", list, *list ? "; " : "", vessels[i].name,
                              vessels[i].why);
  if (*list)
    bath_line(&w->answer->vessels, bath_words(w, "%s: %s", heading, list));
}

static void list_too_hot(struct bath_work *w, const struct meet_vessel *vessels, int count)
{
  double K = hottest_K(w);
  const char *list = "";

  for (int i = 0; i < count; i++)
    if (too_hot(&vessels[i], K) && !not_here(w, &vessels[i]))
      list = bath_words(w, "%s%s%s above %.0f \u00b0C", list, *list ? "; " : "", vessels[i].name,
                        vessels[i].most_K - ZERO_CELSIUS_K);
  if (*list)
    bath_line(&w->answer->vessels, bath_words(w, "it may %s; not known so hot, ask the maker: %s",
                                              hottest_words(w), list));
  else if (passes_boiling(w->answer))
    bath_line(&w->answer->vessels, bath_words(w, "it may %s", hottest_words(w)));
  if (heat_unknown(w->answer))
    bath_line(&w->answer->unknown,
              "which vessel stands the heat of mixing: how hot it gets is not known");
}

/* What a material with a highest temperature cannot be compared with, or can and is not sure. */
static const char *how_hot(struct bath_work *w, const struct meet_vessel *v)
{
  const char *shortly = isfinite(v->short_K) ? bath_words(w, ", for a short time %.0f \u00b0C",
                                                          v->short_K - ZERO_CELSIUS_K)
                                             : "";

  if (passes_boiling(w->answer) && isfinite(v->most_K))
    return bath_words(w, "; the material's own table ends at %.0f \u00b0C%s; this bath may %s",
                      v->most_K - ZERO_CELSIUS_K, shortly, hottest_words(w));
  if (!heat_unknown(w->answer))
    return "";
  return isfinite(v->most_K)
             ? bath_words(w,
                          "; not known above %.0f \u00b0C, and how hot this bath gets is not known",
                          v->most_K - ZERO_CELSIUS_K)
             : "; how hot this bath gets is not known";
}

static void list_not_here(struct bath_work *w, const struct meet_vessel *vessels, int count)
{
  const char *list = "";

  for (int i = 0; i < count; i++)
    if (not_here(w, &vessels[i]))
      list = bath_words(w, "%s%s%s (%s)", list, *list ? "; " : "", vessels[i].name,
                        not_here(w, &vessels[i]));
  if (*list)
    bath_line(&w->answer->vessels,
              bath_words(w, "not here, by the suite's file of %s: %s", w->answer->station, list));
}

static void judge_vessel(struct bath_work *w, const struct meet_vessel *v)
{
  const char *word = not_here(w, v);

  if (word)
    bath_refuse(w,
                bath_words(w, "not here: the suite's file lists for %s: %s (vessel of %s)",
                           w->answer->station, word, v->name),
                "a vessel that the station's list does not name: ask without --vessel for the "
                "list");
  else if (v->rating == MEET_REFUSED)
    bath_refuse(w, bath_words(w, "vessel of %s: %s", v->name, v->why),
                "a vessel of a material that stands it: ask without --vessel for the list");
  else if (too_hot(v, hottest_K(w)))
    bath_refuse(w,
                bath_words(w, "vessel of %s: not known above %.0f \u00b0C, and this bath may %s",
                           v->name, v->most_K - ZERO_CELSIUS_K, hottest_words(w)),
                "a vessel that its maker's chart lists so hot: ask without --vessel for the list");
  else
    bath_line(&w->answer->vessels,
              bath_words(w, "asked for: %s, %s%s%s%s", v->name, meet_rating_word(v->rating),
                         *v->why ? ": " : "", v->why, how_hot(w, v)));
}

static enum err_code asked_vessel(struct bath_work *w, const struct meet_facts *facts,
                                  const struct meet_vessel *vessels, int count)
{
  const char *wanted = w->request->vessel, *id = wanted ? meet_material_id(facts, wanted) : NULL;
  const char *ids = "";

  if (!wanted)
    return ERR_OK;
  for (int i = 0; i < count; i++) {
    ids = bath_words(w, "%s%s%s", ids, *ids ? ", " : "", vessels[i].id);
    if (!id || strcmp(vessels[i].id, id) != 0)
      continue;
    judge_vessel(w, &vessels[i]);
    return ERR_OK;
  }
  return err_set(w->err, ERR_INPUT, "vessel '%.30s': not a material of the table; known: %.140s",
                 wanted, ids);
}

static enum err_code look_at_vessels(struct bath_work *w, const struct meet_facts *facts)
{
  struct meet_part parts[BATH_PARTS_MAX + 1];
  const struct bath_answer *a = w->answer;
  int count, parts_count = 0;

  for (; parts_count < a->holds_count && parts_count < MEET_PARTS_MAX; parts_count++)
    parts[parts_count] = (struct meet_part){w->holds[parts_count].substance->id,
                                            w->holds[parts_count].fraction_ratio};
  if (*w->mixture) { /* its own row speaks for the whole */
    parts_count = 1;
    parts[0] = (struct meet_part){w->mixture, NAN};
  }

  const struct meet_vessel *vessels =
      meet_vessels(facts, parts, parts_count, NAN, &count, w->arena);
  enum err_code code = asked_vessel(w, facts, vessels, count);

  if (code != ERR_OK || w->answer->state != BATH_MADE)
    return code;
  list_not_here(w, vessels, count);
  list_rated(w, vessels, count, MEET_REFUSED, "never in");
  list_too_hot(w, vessels, count);
  list_rated(w, vessels, count, MEET_LIMITED, "limited in");
  list_rated(w, vessels, count, MEET_NOT_LISTED, "nothing listed for");
  list_rated(w, vessels, count, MEET_LISTED,
             "listed (no clearance: the maker's chart decides) for");
  return ERR_OK;
}

enum err_code bath_together(struct bath_work *w)
{
  const struct meet_facts *facts;

  if (w->answer->state != BATH_MADE)
    return ERR_OK;
  facts = meet_read(w->place->chem, w->arena);
  meet_parts(w, facts);
  return w->answer->state == BATH_MADE && !w->reacts ? look_at_vessels(w, facts) : ERR_OK;
}
