/* What the house has ruled: about glass marks, runs with nobody there, rounds, and a start at a station. */
#include "facility/reader_impl.h"

static double si(const struct record *record, enum schema_key_id key)
{
  return record ? record_si(record, key) : build_fallback_si(key);
}

void build_glass(struct build *b, const struct record *rules)
{
  struct facility_glass_rules *out = &b->facility->glass;
  const struct value *off = rules ? record_value(rules, KEY_glass_rules_keep_off) : NULL;

  out->least_colour = si(rules, KEY_glass_rules_least_colour);
  out->least_shape_ratio = si(rules, KEY_glass_rules_least_shape);
  out->count_over_s = si(rules, KEY_glass_rules_count_over);
  out->count_at_most_s = si(rules, KEY_glass_rules_count_at_most);
  if (!off)
    return;

  struct facility_kept_off *list =
      ARENA_ARRAY(b->facility->arena, struct facility_kept_off, (size_t)off->count + 1);

  BUG_IF(!list);
  for (int i = 0; i < off->count; i++)
    list[i] = (struct facility_kept_off){
        .colour = (enum mark_colour)record_value(off->records[i], KEY_kept_off_colour)->number,
        .means = build_text(b, record_value(off->records[i], KEY_kept_off_means)->text),
        .source = build_text(b, record_value(off->records[i], KEY_kept_off_source)->text),
    };
  out->kept_off_count = off->count;
  out->kept_off = list;
}

static const int *stations_of(struct build *b, const struct value *refs)
{
  int *out = ARENA_ARRAY(b->facility->arena, int, (size_t)refs->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < refs->count; i++)
    out[i] = refs->items[i].number;
  return out;
}

void build_unattended(struct build *b, const struct record *record)
{
  struct facility_unattended *out = &b->facility->unattended;
  const struct value *waits = record ? record_value(record, KEY_unattended_waits) : NULL;

  out->cold_K = si(record, KEY_unattended_cold_below);
  out->reading_pm_K = si(record, KEY_unattended_reading);
  out->around_pm_K = si(record, KEY_unattended_around);
  out->apart_s = si(record, KEY_unattended_apart);
  if (!waits)
    return;

  struct facility_wait *list =
      ARENA_ARRAY(b->facility->arena, struct facility_wait, (size_t)waits->count + 1);

  BUG_IF(!list);
  for (int i = 0; i < waits->count; i++) {
    const struct record *r = waits->records[i];
    const struct value *stations = record_value(r, KEY_unattended_wait_stations);

    list[i] = (struct facility_wait){
        .station_count = stations->count,
        .stations = stations_of(b, stations),
        .wait_s = record_si(r, KEY_unattended_wait_wait),
        .why = build_text(b, record_value(r, KEY_unattended_wait_why)->text),
        .source = build_text(b, record_value(r, KEY_unattended_wait_source)->text),
        .own_heat = record_value(r, KEY_unattended_wait_own_heat)->number != 0,
    };
  }
  out->wait_count = waits->count;
  out->waits = list;
}

/* ---- rounds ---- */

/* Common practice, no source: a suite that names items of its own has none of these. */
static const struct {
  const char *id, *question;
  bool marks;
} usual_items[] = {
    {"label", "Does every vessel bear a label?", false},
    {"deck", "Is the deck free?", false},
    {"glass", "Is all glass here of this station's mark?", true},
    {"sash", "Is the sash as it should be?", false},
    {"waste", "Is the waste closed, and not full?", false},
    {"shower", "Are shower and eyewash free?", false},
};

static void usual_rounds(struct build *b, struct facility_round_item *list, double at_most_s)
{
  int count = sizeof usual_items / sizeof *usual_items;

  for (int i = 0; i < count; i++)
    list[i] = (struct facility_round_item){.id = usual_items[i].id,
                                           .question = usual_items[i].question,
                                           .at_most_s = at_most_s,
                                           .marks = usual_items[i].marks,
                                           .source = "common practice, no source"};
  b->facility->rounds.item_count = count;
}

void build_rounds(struct build *b, const struct record *record)
{
  const struct value *items = record ? record_value(record, KEY_rounds_items) : NULL;
  double at_most_s = si(record, KEY_rounds_at_most);
  struct facility_round_item *list =
      ARENA_ARRAY(b->facility->arena, struct facility_round_item, FACILITY_ROUND_ITEMS_MOST);

  BUG_IF(!list);
  b->facility->rounds.items = list;
  if (!items || items->count == 0) {
    usual_rounds(b, list, at_most_s);
    return;
  }
  BUG_IF(items->count > FACILITY_ROUND_ITEMS_MOST);
  for (int i = 0; i < items->count; i++) {
    const struct record *r = items->records[i];
    const struct value *stations = record_value(r, KEY_round_item_stations);

    list[i] = (struct facility_round_item){
        .id = build_text(b, record_value(r, KEY_round_item_id)->text),
        .question = build_text(b, record_value(r, KEY_round_item_question)->text),
        .station_count = stations->count,
        .stations = stations_of(b, stations),
        .at_most_s = build_or_usual(r, KEY_round_item_at_most, at_most_s),
        .expires = record_value(r, KEY_round_item_expires)->number != 0,
        .marks = record_value(r, KEY_round_item_marks)->number != 0,
        .source = build_text(b, record_value(r, KEY_round_item_source)->text),
    };
  }
  b->facility->rounds.item_count = items->count;
}

/* ---- readiness ---- */

static const char *text_of(struct build *b, const struct record *record, enum schema_key_id key)
{
  return build_text(b, record_value(record, key)->text);
}

static struct facility_proof proof_of(struct build *b, const struct record *r)
{
  const struct value *stations = record_value(r, KEY_proof_stations);
  const struct value *found = record_given(r, KEY_proof_found);

  return (struct facility_proof){
      .what = text_of(b, r, KEY_proof_what),
      .source = text_of(b, r, KEY_proof_source),
      .done = record_given(r, KEY_proof_done) ? text_of(b, r, KEY_proof_done) : NULL,
      .document = record_given(r, KEY_proof_document) ? text_of(b, r, KEY_proof_document) : NULL,
      .found = !found               ? FACILITY_PROOF_NOT_KNOWN
               : found->number == 0 ? FACILITY_PROOF_MET
                                    : FACILITY_PROOF_MISSED,
      .every_s = record_si(r, KEY_proof_every),
      .station_count = stations->count,
      .stations = stations_of(b, stations),
  };
}

void build_readiness(struct build *b, const struct record *record)
{
  struct facility_readiness *out = &b->facility->readiness;
  const struct value *proofs = record ? record_value(record, KEY_readiness_proofs) : NULL;

  *out = (struct facility_readiness){
      .tanks_s = si(record, KEY_readiness_tanks),
      .waste_s = si(record, KEY_readiness_waste),
      .incident_s = si(record, KEY_readiness_incident),
      .source = build_text(b, record ? record_value(record, KEY_readiness_source)->text
                                     : schema_key_at(KEY_readiness_source)->fallback)};
  if (!proofs)
    return;

  struct facility_proof *list =
      ARENA_ARRAY(b->facility->arena, struct facility_proof, (size_t)proofs->count + 1);

  BUG_IF(!list);
  for (int i = 0; i < proofs->count; i++)
    list[i] = proof_of(b, proofs->records[i]);
  out->proof_count = proofs->count;
  out->proofs = list;
}
