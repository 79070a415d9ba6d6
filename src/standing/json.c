/* How each station stands, for programs. */
#include "standing/standing_impl.h"

#include <math.h>

static void emit_fact(struct emit *json, const struct standing_table *table,
                      const struct standing_fact *fact)
{
  double age_s = standing_age_s(table, fact);

  emit_object(json, NULL);
  emit_text(json, "kind", fact->kind);
  emit_text(json, "says", standing_says_key(fact->says));
  emit_text(json, "line", fact->line);
  emit_text(json, "text", fact->text);
  emit_text(json, "next", fact->next);
  emit_text(json, "source", fact->source);
  emit_text(json, "who", fact->who);
  when_emit(json, "at", fact->t_ms);
  emit_number_if(json, "age_s", !isnan(age_s), age_s);
  emit_number_if(json, "at_most_s", !isnan(fact->at_most_s), fact->at_most_s);
  when_emit(json, "until", fact->until_ms);
  if (fact->by_day)
    emit_bool(json, "by_day", true);
  emit_close(json);
}

static void emit_clear(struct emit *json, const struct standing_table *table, int station)
{
  const struct standing_told *told = table->moment->told;
  const struct round_moment *clear =
      told && !told->other_suite ? &told->rounds->stations[station].clear : NULL;

  if (!clear || clear->t_ms == INT64_MIN) {
    emit_null(json, "known_clear");
    return;
  }
  emit_object(json, "known_clear");
  when_emit(json, "at", clear->t_ms);
  emit_text(json, "who", clear->who);
  emit_int(json, "entry", clear->number);
  emit_close(json);
}

static void emit_row(struct emit *json, const struct standing_table *table, int station)
{
  const struct facility_station *s = &table->moment->facility->stations[station];
  const struct standing_row *row = &table->rows[station];

  emit_object(json, NULL);
  emit_text(json, "station", s->part.id);
  emit_text(json, "name", s->part.name);
  emit_text(json, "state", standing_state_key(row->state));
  emit_text(json, "line", row->line);
  emit_text(json, "reason", row->facts[0].text);
  emit_text(json, "next", row->facts[0].next);
  emit_text(json, "deck_family", row->family);
  emit_bool(json, "deck_free", row->is_deck_free);
  emit_clear(json, table, station);
  emit_array(json, "facts");
  for (int i = 0; i < row->fact_count; i++)
    emit_fact(json, table, &row->facts[i]);
  emit_close(json);
  emit_close(json);
}

void standing_json(const struct standing_table *table, int station, struct buf *out)
{
  const struct facility *f = table->moment->facility;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.ready.1");
  emit_text(&json, "suite", f->name);
  emit_text(&json, "label", f->label);
  emit_text(&json, "suite_sha256", f->sha256);
  when_emit(&json, "now", table->moment->now_ms);
  emit_text(&json, "zone", when_zone_name(table->moment->zone));
  emit_text(&json, "caution",
            "By what people told and points measured, and no permission: your procedure, your "
            "training and the station's own alarm decide. What nobody told is not here.");
  emit_array(&json, "stations");
  for (int i = 0; i < f->station_count; i++)
    if (station < 0 || station == i)
      emit_row(&json, table, i);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
