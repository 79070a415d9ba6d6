/* A match for programs: docs/api.md. */
#include "match/match_impl.h"

#include "base/emit.h"

#include <math.h>

static const char *const units[FACILITY_GAUGE_COUNT] = {
    [FACILITY_GAUGE_ROOM] = "Pa",     [FACILITY_GAUGE_FACE] = "m_s",
    [FACILITY_GAUGE_DUCT] = "Pa",     [FACILITY_GAUGE_SUPPLY] = "m3_s",
    [FACILITY_GAUGE_SPEED] = "ratio", [FACILITY_GAUGE_FLOW] = "m3_s",
};
static const char *const kinds[FACILITY_GAUGE_COUNT] = {
    [FACILITY_GAUGE_ROOM] = "room pressure", [FACILITY_GAUGE_FACE] = "face velocity",
    [FACILITY_GAUGE_DUCT] = "duct pressure", [FACILITY_GAUGE_SUPPLY] = "supply flow",
    [FACILITY_GAUGE_SPEED] = "fan speed",    [FACILITY_GAUGE_FLOW] = "flow",
};
static const char *const known[] = {
    [MATCH_KNOWN] = "known",
    [MATCH_BETTER] = "better",
    [MATCH_TOGETHER] = "together",
    [MATCH_NOT] = "not_told",
};
static const char *const ofs[] = {
    [MATCH_OF_FIGURE] = "figure",
    [MATCH_OF_EXPONENT] = "exponent",
    [MATCH_OF_ZERO] = "instrument zero",
    [MATCH_OF_SLOPE] = "instrument slope",
};

const char *match_known_key(enum match_known of)
{
  return known[of];
}

const char *match_of_key(enum match_of of)
{
  return ofs[of];
}

static void number(struct emit *j, const char *key, enum facility_gauge_of of, bool is, double si)
{
  struct buf name;

  buf_init(&name, 64);
  buf_printf(&name, "%s_%s", key, units[of]);
  emit_number_if(j, name.text, is, si);
  buf_release(&name);
}

static void row(struct emit *j, const struct match_result *r, int i)
{
  const struct match_reading *it = &r->readings->list[i];
  const struct match_row *row = &r->rows[i];

  emit_object(j, NULL);
  emit_text(j, "id", it->id);
  emit_text(j, "what", it->name);
  emit_text(j, "kind", kinds[it->gauge]);
  emit_text(j, "scene", r->readings->scenes[it->scene].words);
  emit_text(j, "instrument",
            it->instrument < 0 ? NULL : r->readings->instruments[it->instrument].name);
  number(j, "measured", it->gauge, true, it->measured_si);
  number(j, "predicted", it->gauge, true, row->written_si);
  number(j, "plus_minus", it->gauge, true, row->written_pm_si);
  number(j, "fitted", it->gauge, true, row->fitted_si);
  number(j, "own_uncertainty", it->gauge, true, it->own_si);
  emit_number(j, "before_ratio", row->before_ratio);
  emit_number(j, "after_ratio", row->after_ratio);
  emit_number(j, "weight_ratio", row->weight_ratio);
  emit_bool(j, "outside", row->outside);
  emit_bool(j, "not_explained", row->outlier);
  emit_text(j, "excludes", row->against < 0 ? NULL : r->readings->list[row->against].id);
  number(j, "printed", it->gauge, it->printed, it->printed_si);
  number(j, "printed_plus_minus", it->gauge, it->printed, it->printed_half_si);
  if (it->printed)
    emit_bool(j, "printed_met", match_is_foretold(it));
  else
    emit_null(j, "printed_met");
  emit_text(j, "remark", it->remark);
  if (it->place.line > 0)
    emit_int(j, "line", it->place.line);
  else
    emit_null(j, "line");
  emit_close(j);
}

static void figure(struct emit *j, const struct match_result *r, int k)
{
  const struct match_figure *f = &r->figures[k];
  const char *with[MATCH_WITH_MAX];

  for (int w = 0; w < f->with_count; w++)
    with[w] = r->figures[f->with[w]].name;
  emit_object(j, NULL);
  emit_text(j, "figure", f->name);
  emit_text(j, "of", ofs[f->of]);
  emit_text(j, "unit", units_si_text(f->dimension));
  emit_text(j, "known", known[f->known]);
  emit_number(j, "written_si", f->written_si);
  emit_number(j, "written_plus_minus_si", f->was_pm_si);
  emit_number(j, "fitted_si", f->fitted_si);
  emit_number_if(j, "plus_minus_si", !f->at_bound, f->pm_si);
  emit_number(j, "shift_ratio", f->shift_ratio);
  emit_number_if(j, "left_ratio", !f->at_bound, f->left_ratio);
  emit_bool(j, "at_bound", f->at_bound);
  emit_bool(j, "beyond", f->beyond);
  emit_texts(j, "together_with", with, f->known == MATCH_TOGETHER ? f->with_count : 0);
  emit_close(j);
}

static void next(struct emit *j, const struct match_next *n)
{
  emit_object(j, "next");
  emit_text(j, "pool", n->pool);
  emit_number_if(j, "plus_minus_by_file_m3_s", n->pool != NULL, n->written_m3_s);
  emit_number_if(j, "plus_minus_now_m3_s", n->pool != NULL, n->now_m3_s);
  emit_array(j, "readings");
  for (int i = 0; i < n->count; i++) {
    emit_object(j, NULL);
    emit_text(j, "what", n->list[i].what);
    emit_text(j, "scene", n->list[i].scene);
    emit_text(j, "how", n->list[i].how);
    emit_number(j, "plus_minus_then_m3_s", n->list[i].after_m3_s);
    emit_close(j);
  }
  emit_close(j);
  emit_close(j);
}

void match_json(const struct match_result *r, struct buf *out)
{
  struct emit json, *j = &json;
  const struct facility *f = r->facility;

  emit_begin(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", "inward.match.1");
  emit_text(j, "suite", f->name);
  emit_text(j, "label", f->label);
  emit_text(j, "suite_sha256", f->sha256);
  emit_text(j, "form_sha256", r->readings->suite_sha256[0] ? r->readings->suite_sha256 : NULL);
  emit_bool(j, "other_suite", r->other_suite);
  emit_text(j, "predicted_on", r->readings->printed_on);
  emit_text(j, "signed_by", r->readings->signed_by);
  emit_text(j, "engine", INWARD_VERSION);
  emit_text(j, "source", r->readings->source);
  emit_text(j, "date", r->readings->date);
  emit_text(j, "by", r->readings->by);
  emit_text(j, "verdict", match_verdict_key(r->verdict));
  emit_text(j, "sentence", r->sentence);
  emit_text(j, "next_action", r->next_action);
  emit_bool(j, "settled", r->converged);
  emit_int(j, "steps", r->iterations);
  emit_number(j, "misfit_ratio", r->misfit_ratio);
  emit_number(j, "misfit_most_ratio", r->misfit_most_ratio);
  emit_number(j, "coverage_factor_ratio", r->coverage_factor_ratio);
  emit_texts(j, "left_out", r->readings->notes, r->readings->note_count);
  emit_array(j, "readings");
  for (int i = 0; i < r->readings->count; i++)
    row(j, r, i);
  emit_close(j);
  emit_array(j, "figures");
  for (int k = 0; k < r->figure_count; k++)
    figure(j, r, k);
  emit_close(j);
  next(j, &r->next);
  emit_close(j);
  emit_end(j);
}
