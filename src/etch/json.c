#include "base/emit.h"
#include "etch/etch_impl.h"

#include <math.h>

/* docs/api.md, inward.etch.1. */

static const char *const how_keys[] = {"own", "given", "printed", "moved", "computed"};
static const char *const known_keys[] = {"rate", "measured_zero", "not_measured",
                                         "other_conditions", "nothing_listed"};
static const char *const bound_keys[] = {"about", "at_most", "at_least"};
static const char *const shape_keys[] = {"round", "sloped", "upright"};

static void marks(struct emit *j, unsigned bits)
{
  static const struct {
    unsigned bit;
    const char *words;
  } all[] = {{ETCH_SLOW, "slow or zero, not measured"},
             {ETCH_WORKS, "works, not measured"},
             {ETCH_ROUGHENS, "roughens"},
             {ETCH_PEELS, "some of it peels"},
             {ETCH_AT_LEAST, "at least"},
             {ETCH_AT_MOST, "at most"}};

  emit_array(j, "marks");
  for (size_t i = 0; i < sizeof all / sizeof *all; i++)
    if (bits & all[i].bit)
      emit_text(j, NULL, all[i].words);
  emit_close(j);
}

static void layer(struct emit *j, const char *key, const struct etch_layer *l)
{
  emit_object(j, key);
  emit_text(j, "film", l->film->id);
  emit_text(j, "name", l->film->name);
  emit_text(j, "known", known_keys[l->known]);
  emit_number(j, "rate_m_s", l->rate_m_s);
  emit_number(j, "lowest_m_s", l->lowest_m_s);
  emit_number(j, "highest_m_s", l->highest_m_s);
  emit_number(j, "loss_m", l->least_loss_m);
  emit_number(j, "loss_most_m", l->loss_m);
  emit_number(j, "selectivity", l->selectivity_ratio);
  emit_array(j, "rates");
  for (int i = 0; i < l->rate_count; i++) {
    const struct etch_rate *rate = &l->rates[i];

    emit_object(j, NULL);
    emit_text(j, "how", how_keys[rate->how]);
    emit_number(j, "low_m_s", rate->low_m_s);
    emit_number(j, "high_m_s", rate->high_m_s);
    marks(j, rate->marks);
    emit_text(j, "conditions", rate->conditions);
    emit_bool(j, "counts", !rate->not_used);
    emit_text(j, "why_not", rate->not_used);
    chem_emit_origin(j, &rate->of);
    emit_close(j);
  }
  emit_close(j);
  emit_close(j);
}

static void section(struct emit *j, const struct etch_section *s)
{
  emit_object(j, "section");
  emit_text(j, "shape", s->known ? shape_keys[s->shape] : NULL);
  emit_number(j, "wall_degrees", etch_in_degrees(s->wall_rad));
  emit_number(j, "undercut_m", s->undercut_m);
  emit_number(j, "opening_m", s->opening_m);
  emit_number(j, "floor_m", s->floor_m);
  emit_number(j, "ends_at_m", s->ends_at_m);
  emit_number(j, "ends_most_m", s->ends_most_m);
  emit_number(j, "depth_m", s->depth_m);
  emit_number(j, "opening_for_depth_m", s->opening_for_depth_m);
  emit_close(j);
}

static void life(struct emit *j, const struct etch_life *l)
{
  emit_object(j, "bath_life");
  emit_number(j, "area_m2", l->area_m2);
  emit_number(j, "removed_mol", l->removed_mol);
  emit_text(j, "agent", l->agent);
  emit_number(j, "agent_mol", l->agent_mol);
  emit_number(j, "agent_in_bath_mol", l->agent_in_bath_mol);
  emit_number(j, "fall_ratio", l->fall_ratio);
  emit_text(j, "gas", l->gas);
  emit_number(j, "gas_mol", l->gas_mol);
  emit_number_if(j, "batches_by_fall", l->by_fall >= 0, l->by_fall);
  emit_number_if(j, "batches_by_count", l->by_count >= 0, l->by_count);
  emit_number_if(j, "batches_by_time", l->by_time >= 0, l->by_time);
  emit_text(j, "first", l->first);
  emit_text(j, "source", l->agent ? l->of.source : NULL);
  emit_close(j);
}

static void times(struct emit *j, const struct etch_answer *a)
{
  emit_number(j, "time_s", a->time_s);
  emit_number(j, "time_worst_s", a->worst_s);
  emit_number(j, "clear_first_s", a->clear_s);
  emit_number(j, "time_fastest_source_s", a->band_low_s);
  emit_number(j, "time_slowest_source_s", a->band_high_s);
  emit_number(j, "time_longest_s", a->longest_s);
  emit_number(j, "clear_soonest_s", a->soonest_s);
  emit_text(j, "time_is", a->answered ? bound_keys[a->bound] : NULL);
  emit_text(j, "left_out", a->left_out);
}

static void asked(struct emit *j, const struct etch_answer *a)
{
  emit_object(j, "bath");
  emit_text(j, "id", a->bath->id);
  emit_text(j, "name", a->bath->name);
  emit_text(j, "parts", a->parts[0] ? a->parts : NULL);
  emit_number(j, "strength_kg_kg", a->strength_ratio);
  emit_number(j, "temperature_K", a->at_K);
  emit_close(j);
  emit_number(j, "depth_m", a->depth_m);
  emit_number(j, "over_ratio", a->over_ratio);
  emit_number(j, "spread_film_ratio", a->film_spread_ratio);
  emit_number(j, "spread_rate_ratio", a->rate_spread_ratio);
}

static const char *state(const struct etch_answer *a)
{
  if (!a->answered)
    return a->etched.counted ? "measured_zero" : "not_known";
  return a->refused ? "not_as_asked" : "answered";
}

void etch_json(const struct etch_answer *a, struct buf *out)
{
  struct emit json, *j = &json;

  emit_begin(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", "inward.etch.1");
  emit_text(j, "engine", INWARD_VERSION);
  emit_text(j, "suite", a->facility ? a->facility->name : NULL);
  emit_text(j, "label", a->facility ? a->facility->label : NULL);
  emit_text(j, "suite_sha256", a->facility ? a->facility->sha256 : NULL);
  emit_text(j, "chemicals_sha256", a->own ? a->own->sha256 : NULL);
  emit_text(j, "state", state(a));
  emit_texts(j, "reasons", a->reasons, a->reason_count);
  times(j, a);
  asked(j, a);
  layer(j, "etched", &a->etched);
  if (a->has_below)
    layer(j, "below", &a->below);
  else
    emit_null(j, "below");
  if (a->has_mask)
    layer(j, "mask", &a->mask);
  else
    emit_null(j, "mask");
  emit_number(j, "mask_m", a->mask_m);
  emit_array(j, "others");
  for (int i = 0; i < a->other_count; i++)
    layer(j, NULL, &a->others[i]);
  emit_close(j);
  section(j, &a->section);
  life(j, &a->life);
  emit_texts(j, "cautions", a->cautions, a->caution_count);
  emit_texts(j, "assumed", a->assumed, a->assumed_count);
  emit_texts(j, "not_known", a->unknown, a->unknown_count);
  emit_text(j, "listed_for_film", a->listed_for_film);
  emit_text(j, "listed_for_bath", a->listed_for_bath);
  emit_close(j);
  emit_end(j);
}

/* ---- what is listed ---- */

static void listed_bath(struct emit *j, const struct etch_tables *t, const struct etch_bath *bath)
{
  emit_object(j, NULL);
  emit_text(j, "id", bath->id);
  emit_text(j, "name", bath->name);
  emit_text(j, "parts", bath->parts[0] ? bath->parts : NULL);
  emit_text(j, "strength_of", bath->strength_of[0] ? bath->strength_of : NULL);
  emit_number(j, "usual_K", bath->usual_K);
  emit_text(j, "caution", bath->caution[0] ? bath->caution : NULL);
  emit_array(j, "films");
  for (int i = 0; i < t->film_count; i++)
    if (etch_is_listed(t, &t->films[i], bath))
      emit_text(j, NULL, t->films[i].id);
  emit_close(j);
  chem_emit_origin(j, &bath->of);
  emit_close(j);
}

void etch_list_json(const struct chem *chem, struct buf *out)
{
  struct arena arena;
  const struct etch_tables *t;
  struct emit json, *j = &json;

  arena_init(&arena, (size_t)16 << 20);
  t = etch_tables(chem, NULL, UNITS_SYSTEM_SI, &arena);
  emit_begin(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", "inward.etch_list.1");
  emit_text(j, "engine", INWARD_VERSION);
  emit_array(j, "films");
  for (int i = 0; i < t->film_count; i++) {
    emit_object(j, NULL);
    emit_text(j, "id", t->films[i].id);
    emit_text(j, "name", t->films[i].name);
    emit_text(j, "kind", t->films[i].kind);
    chem_emit_origin(j, &t->films[i].of);
    emit_close(j);
  }
  emit_close(j);
  emit_array(j, "baths");
  for (int i = 0; i < t->bath_count; i++)
    listed_bath(j, t, &t->baths[i]);
  emit_close(j);
  emit_close(j);
  emit_end(j);
  arena_release(&arena);
}
