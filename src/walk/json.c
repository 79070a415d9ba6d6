/* A walk and its result for programs: docs/api.md. */
#include "base/emit.h"
#include "walk/walk_impl.h"

#include <math.h>
#include <string.h>

static const struct {
  const char *word, *unit;
} kinds[FACILITY_GAUGE_COUNT] = {
    [FACILITY_GAUGE_ROOM] = {"room pressure", "Pa"},
    [FACILITY_GAUGE_FACE] = {"face velocity", "m_s"},
    [FACILITY_GAUGE_DUCT] = {"duct pressure", "Pa"},
    [FACILITY_GAUGE_SUPPLY] = {"supply flow", "m3_s"},
    [FACILITY_GAUGE_SPEED] = {"fan speed", "ratio"},
    [FACILITY_GAUGE_FLOW] = {"flow", "m3_s"},
};

static const char *const verdicts[] = {"not read", "inside", "outside"};

static void number(struct emit *j, const char *key, enum facility_gauge_of of, bool known,
                   double si)
{
  struct buf name;

  buf_init(&name, 64);
  buf_printf(&name, "%s_%s", key, kinds[of].unit);
  emit_number_if(j, name.text, known, si);
  buf_release(&name);
}

static void head(struct emit *j, const struct walk_plan *plan, const char *schema)
{
  const struct facility *f = plan->facility;

  emit_text(j, "schema", schema);
  emit_text(j, "suite", f->name);
  emit_text(j, "label", f->label);
  emit_text(j, "suite_sha256", f->sha256);
  emit_text(j, "engine", INWARD_VERSION);
  emit_text(j, "scene", plan->scene);
  emit_text(j, "tier", air_tier_name(plan->tier));
  emit_number(j, "covers_ratio", f->walk.covers_ratio);
  emit_number(j, "coverage_factor_ratio", plan->coverage_factor_ratio);
}

static void reading(struct emit *j, const struct walk_reading *r)
{
  enum facility_gauge_of of = r->quantity.of;

  emit_text(j, "id", r->id);
  emit_int(j, "step", r->step + 1);
  emit_text(j, "kind", kinds[of].word);
  emit_text(j, "what", r->what);
  emit_text(j, "how", r->how);
  number(j, "predicted", of, true, r->predicted_si);
  number(j, "from", of, true, r->predicted_si - r->band.half_si);
  number(j, "to", of, true, r->predicted_si + r->band.half_si);
  emit_object(j, "standard_uncertainty");
  number(j, "instrument", of, true, r->band.instrument_si);
  number(j, "setting", of, true, r->band.setting_si);
  number(j, "model", of, true, r->band.model_si);
  emit_close(j);
  emit_texts(j, "bears_on", r->bears, r->bears_count);
}

void walk_plan_json(const struct walk_plan *plan, struct buf *out)
{
  struct emit json, *j = &json;

  emit_begin(j, out);
  emit_object(j, NULL);
  head(j, plan, "inward.walk.1");
  emit_number(j, "time_s", plan->time_s);
  emit_texts(j, "cautions", walk_cautions, walk_caution_count);
  emit_texts(j, "before", plan->before, plan->before_count);
  emit_texts(j, "left_out", plan->left_out, plan->left_out_count);
  emit_array(j, "steps");
  for (int s = 0; s < plan->step_count; s++) {
    const struct walk_step *step = &plan->steps[s];

    emit_object(j, NULL);
    emit_int(j, "step", s + 1);
    emit_text(j, "title", step->title);
    emit_bool(j, "technician", step->technician);
    emit_number(j, "time_s", step->time_s);
    emit_texts(j, "set", step->acts, step->act_count);
    emit_array(j, "readings");
    for (int i = step->first; i < step->first + step->count; i++) {
      emit_object(j, NULL);
      reading(j, &plan->readings[i]);
      emit_close(j);
    }
    emit_close(j);
    emit_close(j);
  }
  emit_close(j);
  emit_close(j);
  emit_end(j);
}

static void row(struct emit *j, const struct walk_result *result, int i)
{
  const struct walk_reading *r = &result->plan->readings[i];
  const struct walk_entry *e = &result->readings->entries[i];
  enum facility_gauge_of of = r->quantity.of;

  emit_object(j, NULL);
  reading(j, r);
  number(j, "measured", of, e->read, e->value_si);
  number(j, "difference", of, e->read, result->rows[i].difference_si);
  emit_text(j, "verdict", verdicts[result->rows[i].verdict]);
  number(j, "printed", of, e->printed, e->printed_si);
  emit_text(j, "printed_verdict", e->printed ? verdicts[result->rows[i].printed_verdict] : NULL);
  emit_text(j, "remark", e->remark);
  emit_close(j);
}

void walk_result_json(const struct walk_result *result, struct buf *out)
{
  struct emit json, *j = &json;

  emit_begin(j, out);
  emit_object(j, NULL);
  head(j, result->plan, "inward.walk_result.1");
  emit_text(j, "form_sha256",
            result->readings->suite_sha256[0] ? result->readings->suite_sha256 : NULL);
  emit_bool(j, "other_suite", result->other_suite);
  emit_int(j, "not_asked_here", result->readings->foreign_count);
  emit_text(j, "date", result->readings->date);
  emit_text(j, "by", result->readings->by);
  emit_text(j, "sentence", result->sentence);
  emit_text(j, "next", result->next);
  emit_int(j, "inside", result->inside);
  emit_int(j, "outside", result->outside);
  emit_int(j, "not_read", result->unread);
  emit_array(j, "readings");
  for (int i = 0; i < result->plan->reading_count; i++)
    row(j, result, i);
  emit_close(j);
  emit_array(j, "may_mean");
  for (int k = 0; k < result->cause_count; k++) {
    const struct walk_cause *c = &result->causes[k];

    emit_object(j, NULL);
    emit_text(j, "figure", c->figure);
    emit_number_if(j, "written_si", c->input >= 0,
                   c->input < 0 ? 0.0 : result->plan->facility->inputs[c->input].value_si);
    emit_number_if(j, "would_be_si", c->input >= 0, c->value_si);
    emit_int(j, "brings_inside", c->explains);
    emit_number(j, "misfit_left_ratio", c->left_ratio);
    emit_text(j, "look", c->look);
    emit_close(j);
  }
  emit_close(j);
  emit_bool(j, "unexplained", result->unexplained);
  emit_close(j);
  emit_end(j);
}
