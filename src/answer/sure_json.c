/* How sure an answer is, for programs: docs/api.md. */
#include "answer/answer.h"

#include "answer/page_impl.h"

static const char *unit_end(enum units_dimension dimension)
{
  switch ((int)dimension) {
  case UNITS_FLOW:
    return "m3_s";
  case UNITS_VELOCITY:
    return "m_s";
  case UNITS_PRESSURE_DIFFERENCE:
  case UNITS_GAUGE_PRESSURE:
    return "Pa";
  default:
    return "ratio";
  }
}

static void input_json(struct emit *j, const struct facility_input *in)
{
  static const char *const from[] = {"stated", "doubts", "assumed"};
  struct buf words;

  buf_init(&words, 512);
  answer_input(in, UNITS_SYSTEM_SI, &words);
  emit_text(j, "input", words.text);
  buf_release(&words);
  emit_text(j, "kind", in->kind);
  emit_text(j, "part", in->part);
  emit_text(j, "key", in->key);
  emit_text(j, "unit", unit_end(in->dimension));
  emit_number(j, "value", in->value_si);
  emit_number(j, "pm", in->plus_minus_si);
  emit_number(j, "pm_at_best", in->at_best_si);
  emit_text(j, "from", from[in->from]);
  emit_text(j, "find", in->find);
}

void narrow_figure_json(struct emit *j, const struct facility *f, const struct air_narrow *narrow)
{
  emit_object(j, NULL);
  input_json(j, &f->inputs[narrow->input]);
  emit_number(j, "share_ratio", narrow->share_ratio);
  emit_number(j, "after_m3_s", narrow->after_m3_s);
  emit_close(j);
}

static void narrow_json(struct emit *j, const struct facility *f, const struct air_spare *spare)
{
  emit_array(j, "narrow");
  for (int i = 0; i < spare->narrow_count; i++)
    narrow_figure_json(j, f, &spare->narrow[i]);
  emit_close(j);
}

static void spare_json(struct emit *j, const struct air_spare *spare)
{
  if (!spare->known) {
    emit_null(j, "spare");
    return;
  }
  emit_object(j, "spare");
  emit_number(j, "flow_m3_s", spare->flow_m3_s);
  emit_number(j, "pm_m3_s", spare->pm_m3_s);
  emit_number(j, "root_sum_square_m3_s", spare->root_m3_s);
  emit_number(j, "worst_case_m3_s", spare->worst_m3_s);
  emit_number(j, "narrowed_m3_s", spare->narrowed_m3_s);
  emit_text(j, "binding", spare->binding);
  emit_close(j);
}

void sure_pool_json(struct emit *j, const struct facility *f, const struct air_answer *a, int pool)
{
  const struct air_pool *p = &a->pools[pool];

  emit_text(j, "best_state", air_level_key(p->best));
  emit_number(j, "demand_pm_m3_s", p->demand_pm_m3_s);
  emit_number_if(j, "capacity_pm_m3_s", !p->at_most, p->capacity_pm_m3_s);
  emit_number_if(j, "headroom_pm_m3_s", !p->at_most, p->headroom_pm_m3_s);
  spare_json(j, &p->spare);
  emit_bool(j, "within_short", p->within_short);
  emit_bool(j, "within_fine", p->within_fine);
  if (p->has_mark) {
    emit_object(j, "mark");
    emit_int(j, "of", p->mark_of);
    emit_int(j, "guaranteed", p->mark_guaranteed);
    emit_int(j, "perhaps", p->mark_perhaps);
    emit_close(j);
  } else {
    emit_null(j, "mark");
  }
  odds_json(j, f, &p->odds);
  narrow_json(j, f, &p->spare);
}

void sure_json(struct emit *j, const struct facility *f, const struct air_answer *a)
{
  static const struct air_spare nothing;
  bool weakest = a->weakest >= 0;

  emit_text(j, "best_state", air_level_key(a->best));
  if (a->sure) {
    emit_object(j, "sure");
    emit_text(j, "combine", f->doubts_at_worst ? "worst case" : "root sum square");
    emit_number(j, "coverage_ratio", f->doubts_at_worst ? 1.0 : 0.95);
    emit_bool(j, "counts", a->counts_doubts);
    emit_text(j, "weakest", weakest ? air_pool_id(f, a->weakest) : NULL);
    emit_close(j);
  } else {
    emit_null(j, "sure");
  }
  narrow_json(j, f, weakest ? &a->pools[a->weakest].spare : &nothing);
  emit_array(j, "cannot");
  for (int i = 0; i < a->cannot_count; i++)
    emit_text(j, NULL, a->cannot[i]);
  emit_close(j);
}
