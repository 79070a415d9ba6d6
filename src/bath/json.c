/* An answer for programs: docs/api.md. */
#include "bath/bath_impl.h"

#include "base/emit.h"

#include <math.h>
#include <string.h>

static void lines(struct emit *j, const char *key, const struct bath_lines *list)
{
  emit_texts(j, key, list->line, list->count);
}

static void origin(struct emit *j, const char *key, const struct chem_origin *of, bool known)
{
  if (!known) {
    emit_null(j, key);
    return;
  }
  emit_object(j, key);
  emit_text(j, "basis", chem_basis_key(of->basis));
  emit_text(j, "source", of->source);
  emit_text(j, "note", of->note);
  emit_close(j);
}

static void part(struct emit *j, const struct bath_part *p)
{
  emit_object(j, NULL);
  emit_text(j, "id", p->stock.id);
  emit_text(j, "name", p->stock.name);
  emit_text(j, "substance", p->stock.substance->id);
  emit_number(j, "assay_ratio", p->stock.assay_ratio);
  emit_bool(j, "there_already", p->there);
  emit_bool(j, "weighed", p->stock.solid);
  emit_number(j, "mass_kg", p->mass_kg);
  emit_number(j, "volume_m3", p->volume_m3);
  emit_number(j, "density_kg_m3", p->density_kg_m3);
  origin(j, "density_from", &p->density_of, isfinite(p->density_kg_m3));
  emit_text(j, "why_here", p->why);
  emit_close(j);
}

static void holds(struct emit *j, const struct bath_holds *h)
{
  emit_object(j, NULL);
  emit_text(j, "substance", h->substance->id);
  emit_text(j, "name", h->substance->name);
  emit_number(j, "mass_kg", h->mass_kg);
  emit_number(j, "mass_ratio", h->fraction_ratio);
  emit_number(j, "molarity_mol_m3", h->molarity_mol_m3);
  emit_close(j);
}

static const char *boils_word(const struct bath_heat *h, enum bath_boils boils)
{
  static const char *const words[] = {[BATH_HEAT_NOT_KNOWN] = "not_known",
                                      [BATH_STAYS_BELOW] = "by_these_figures_below",
                                      [BATH_MAY_BOIL] = "may_boil",
                                      [BATH_WILL_BOIL] = "will_boil"};

  return h->mixes || boils != BATH_HEAT_NOT_KNOWN ? words[boils] : "nothing_mixed";
}

static void heat_of(struct emit *j, const struct bath_heat_of *h)
{
  emit_object(j, NULL);
  emit_text(j, "id", h->substance->id);
  emit_number_if(j, "low_J", h->known, h->low_J);
  emit_number_if(j, "high_J", h->known, h->high_J);
  emit_number(j, "infinite_dilution_J_mol", h->infinite_J_mol);
  origin(j, "from", &h->of, h->known);
  emit_close(j);
}

/* A temperature is never given where the bath may boil. */
static void heat(struct emit *j, const struct bath_answer *a)
{
  const struct bath_heat *h = &a->heat;
  bool below = h->boils == BATH_STAYS_BELOW;

  emit_object(j, "heat");
  emit_bool(j, "complete", h->complete);
  emit_text(j, "boils", boils_word(h, h->boils));
  emit_array(j, "of");
  for (int i = 0; i < h->of_count; i++)
    heat_of(j, &h->of[i]);
  emit_close(j);
  emit_number_if(j, "low_J", h->mixes, h->low_J);
  emit_number_if(j, "high_J", h->mixes, h->high_J);
  emit_number_if(j, "low_rise_K", below, h->low_K);
  emit_number_if(j, "high_rise_K", below, h->high_K);
  emit_number(j, "boiling_K", h->boiling_K);
  emit_number_if(j, "peroxide_J", h->peroxide_J > 0, h->peroxide_J);
  emit_number_if(j, "oxygen_m3", h->peroxide_J > 0, h->oxygen_m3);
  emit_text(j, "peroxide_boils", h->peroxide_J > 0 ? boils_word(h, h->peroxide_boils) : NULL);
  emit_number(j, "peroxide_rise_K", h->peroxide_K);
  emit_close(j);
}

static void figures(struct emit *j, const struct bath_answer *a)
{
  emit_number(j, "temperature_K", a->temperature_K);
  emit_array(j, "parts");
  for (int i = 0; i < a->part_count; i++)
    part(j, &a->parts[i]);
  emit_close(j);
  emit_array(j, "holds");
  for (int i = 0; i < a->holds_count; i++)
    holds(j, &a->holds[i]);
  emit_close(j);
  emit_number(j, "mass_kg", a->mass_kg);
  emit_number(j, "volume_m3", a->volume_m3);
  emit_number(j, "density_kg_m3", a->density_kg_m3);
  origin(j, "density_from", &a->density_of, isfinite(a->density_kg_m3));
  emit_number(j, "sum_of_volumes_m3", a->sum_m3);
  emit_number(j, "fill_at_most_ratio", a->fill_ratio);
  if (a->state == BATH_MADE)
    heat(j, a);
  else
    emit_null(j, "heat");
  emit_number(j, "use_from_K", a->use_from_K);
  emit_number(j, "use_to_K", a->use_to_K);
}

static void texts(struct emit *j, const struct bath_answer *a)
{
  emit_text(j, "use", *a->use ? a->use : NULL);
  emit_text(j, "keeping", *a->shelf ? a->shelf : NULL);
  emit_text(j, "life", *a->life ? a->life : NULL);
  emit_text(j, "waste", *a->waste ? a->waste : NULL);
  lines(j, "cautions", &a->cautions);
  lines(j, "of_the_station", &a->place);
  lines(j, "why_not", &a->refused);
  lines(j, "possible_with", &a->possible);
  lines(j, "vessels", &a->vessels);
  lines(j, "variants", &a->variants);
  lines(j, "sources", &a->sources);
  lines(j, "assumed", &a->assumed);
  lines(j, "not_known", &a->unknown);
  emit_text(j, "ask", a->asked);
}

void bath_json(const struct bath_answer *a, struct buf *out)
{
  static const char *const states[] = {
      [BATH_MADE] = "answered", [BATH_REFUSED] = "refused", [BATH_NO_RECIPE] = "not_known"};
  const struct facility *f = a->facility;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.bath.1");
  emit_text(&json, "suite", f ? f->name : NULL);
  emit_text(&json, "label", f ? f->label : NULL);
  emit_text(&json, "suite_sha256", f ? f->sha256 : NULL);
  emit_text(&json, "station", a->station);
  emit_text(&json, "bath", a->id);
  emit_text(&json, "title", a->title);
  emit_text(&json, "state", states[a->state]);
  emit_text(&json, "answer", a->first);
  figures(&json, a);
  texts(&json, a);
  emit_close(&json);
  emit_end(&json);
}
