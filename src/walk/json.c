/* A walk and its result for programs: docs/api.md. */
#include "base/json.h"
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
};

static const char *const verdicts[] = {"not read", "inside", "outside"};

static void texts(struct json *j, const char *key, const char *const *list, int count)
{
  json_array(j, key);
  for (int i = 0; i < count; i++)
    json_text(j, NULL, list[i]);
  json_close(j);
}

static void number(struct json *j, const char *key, enum facility_gauge_of of, bool known,
                   double si)
{
  struct buf name;

  buf_init(&name, 64);
  buf_printf(&name, "%s_%s", key, kinds[of].unit);
  json_number_if(j, name.text, known, si);
  buf_release(&name);
}

static void head(struct json *j, const struct walk_plan *plan, const char *schema)
{
  const struct facility *f = plan->facility;

  json_text(j, "schema", schema);
  json_text(j, "suite", f->name);
  json_text(j, "label", f->label);
  json_text(j, "suite_sha256", f->sha256);
  json_text(j, "engine", INWARD_VERSION);
  json_text(j, "scene", plan->scene);
  json_text(j, "tier", air_tier_name(plan->tier));
  json_number(j, "covers_ratio", f->walk.covers_ratio);
  json_number(j, "coverage_factor_ratio", plan->coverage_factor_ratio);
}

static void reading(struct json *j, const struct walk_reading *r)
{
  enum facility_gauge_of of = r->quantity.of;

  json_text(j, "id", r->id);
  json_int(j, "step", r->step + 1);
  json_text(j, "kind", kinds[of].word);
  json_text(j, "what", r->what);
  json_text(j, "how", r->how);
  number(j, "predicted", of, true, r->predicted_si);
  number(j, "from", of, true, r->predicted_si - r->band.half_si);
  number(j, "to", of, true, r->predicted_si + r->band.half_si);
  json_object(j, "standard_uncertainty");
  number(j, "instrument", of, true, r->band.instrument_si);
  number(j, "setting", of, true, r->band.setting_si);
  number(j, "model", of, true, r->band.model_si);
  json_close(j);
  texts(j, "bears_on", r->bears, r->bears_count);
}

void walk_plan_json(const struct walk_plan *plan, struct buf *out)
{
  struct json json, *j = &json;

  json_begin(j, out);
  json_object(j, NULL);
  head(j, plan, "inward.walk.1");
  json_number(j, "time_s", plan->time_s);
  texts(j, "cautions", walk_cautions, walk_caution_count);
  texts(j, "before", plan->before, plan->before_count);
  texts(j, "left_out", plan->left_out, plan->left_out_count);
  json_array(j, "steps");
  for (int s = 0; s < plan->step_count; s++) {
    const struct walk_step *step = &plan->steps[s];

    json_object(j, NULL);
    json_int(j, "step", s + 1);
    json_text(j, "title", step->title);
    json_bool(j, "technician", step->technician);
    json_number(j, "time_s", step->time_s);
    texts(j, "set", step->acts, step->act_count);
    json_array(j, "readings");
    for (int i = step->first; i < step->first + step->count; i++) {
      json_object(j, NULL);
      reading(j, &plan->readings[i]);
      json_close(j);
    }
    json_close(j);
    json_close(j);
  }
  json_close(j);
  json_close(j);
  json_end(j);
}

static void row(struct json *j, const struct walk_result *result, int i)
{
  const struct walk_reading *r = &result->plan->readings[i];
  const struct walk_entry *e = &result->readings->entries[i];
  enum facility_gauge_of of = r->quantity.of;

  json_object(j, NULL);
  reading(j, r);
  number(j, "measured", of, e->read, e->value_si);
  number(j, "difference", of, e->read, result->rows[i].difference_si);
  json_text(j, "verdict", verdicts[result->rows[i].verdict]);
  number(j, "printed", of, e->printed, e->printed_si);
  json_text(j, "printed_verdict", e->printed ? verdicts[result->rows[i].printed_verdict] : NULL);
  json_text(j, "remark", e->remark);
  json_close(j);
}

void walk_result_json(const struct walk_result *result, struct buf *out)
{
  struct json json, *j = &json;

  json_begin(j, out);
  json_object(j, NULL);
  head(j, result->plan, "inward.walk_result.1");
  json_text(j, "form_sha256",
            result->readings->suite_sha256[0] ? result->readings->suite_sha256 : NULL);
  json_bool(j, "other_suite", result->other_suite);
  json_int(j, "not_asked_here", result->readings->foreign_count);
  json_text(j, "date", result->readings->date);
  json_text(j, "by", result->readings->by);
  json_text(j, "sentence", result->sentence);
  json_text(j, "next", result->next);
  json_int(j, "inside", result->inside);
  json_int(j, "outside", result->outside);
  json_int(j, "not_read", result->unread);
  json_array(j, "readings");
  for (int i = 0; i < result->plan->reading_count; i++)
    row(j, result, i);
  json_close(j);
  json_array(j, "may_mean");
  for (int k = 0; k < result->cause_count; k++) {
    const struct walk_cause *c = &result->causes[k];

    json_object(j, NULL);
    json_text(j, "figure", c->figure);
    json_number_if(j, "written_si", c->input >= 0,
                   c->input < 0 ? 0.0 : result->plan->facility->inputs[c->input].value_si);
    json_number_if(j, "would_be_si", c->input >= 0, c->value_si);
    json_int(j, "brings_inside", c->explains);
    json_number(j, "misfit_left_ratio", c->left_ratio);
    json_text(j, "look", c->look);
    json_close(j);
  }
  json_close(j);
  json_bool(j, "unexplained", result->unexplained);
  json_close(j);
  json_end(j);
}
