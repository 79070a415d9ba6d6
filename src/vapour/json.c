/* The answer for programs: docs/api.md. */
#include "base/emit.h"
#include "vapour/vapour_impl.h"

#include <math.h>

static const char *const verdict_keys[] = {"unknown", "not_shown", "may_exceed", "exceeds"};
static const char *const when_keys[] = {"now", "parked", "stopped"};

/* A band in the unit that its key ends in; both null when it is not known. */
static void band(struct emit *j, const char *key, struct vapour_band of)
{
  emit_object(j, key);
  emit_number(j, "low", of.low_si);
  emit_number(j, "high", of.high_si);
  emit_close(j);
}

static void parts_json(struct emit *j, const struct vapour_answer *a)
{
  emit_array(j, "parts");
  for (int i = 0; i < a->part_count && !a->refused; i++) {
    const struct vapour_part *p = &a->parts[i];

    emit_object(j, NULL);
    emit_text(j, "substance", p->stock.substance->id);
    emit_text(j, "name", p->stock.substance->name);
    emit_number(j, "assay_ratio", p->stock.assay_ratio);
    emit_number(j, "mass_ratio", p->mass_ratio);
    emit_number(j, "mole_ratio", p->mole_ratio);
    emit_number(j, "vapour_pressure_Pa", p->pressure_Pa);
    band(j, "vapour_pressure_band_Pa", p->pressure);
    emit_bool(j, "upper_end_only", p->at_most && !(p->pressure.low_si > 0));
    emit_bool(j, "extrapolated", p->extrapolated);
    emit_text(j, "vapour_pressure_from", p->pressure_words);
    emit_number(j, "saturation_ratio", p->pressure_Pa / a->pressure_Pa);
    emit_number(j, "lower_flammable_limit_ratio", p->lower_limit_ratio);
    emit_text(j, "lower_flammable_limit_from", p->lower_limit_words);
    emit_close(j);
  }
  emit_close(j);
}

static void rates_json(struct emit *j, const struct vapour_case *c)
{
  emit_array(j, "correlations");
  for (int i = 0; i < VAPOUR_RATES; i++) {
    emit_object(j, NULL);
    emit_text(j, "name", c->rates[i].name);
    emit_text(j, "source", c->rates[i].source);
    band(j, "rate_kg_s", c->rates[i].rate);
    emit_text(j, "not_used", c->rates[i].why_not);
    emit_close(j);
  }
  emit_close(j);
}

static void room_json(struct emit *j, const struct vapour_answer *a, const struct vapour_case *c)
{
  emit_array(j, "room");
  for (int i = 0; i < a->part_count && c->to_room; i++) {
    emit_object(j, NULL);
    emit_text(j, "substance", a->parts[i].stock.substance->id);
    emit_array(j, "over_time");
    for (int k = 0; k < VAPOUR_TIMES; k++) {
      emit_object(j, NULL);
      emit_number(j, "after_s", vapour_times_s[k]);
      band(j, "mean_ratio", c->room[i][k]);
      emit_close(j);
    }
    emit_close(j);
    band(j, "worst_ratio", c->room[i][VAPOUR_TIMES]);
    emit_close(j);
  }
  emit_close(j);
}

static void person_json(struct emit *j, const struct vapour_answer *a, const struct vapour_case *c)
{
  emit_array(j, "person");
  for (int i = 0; i < a->part_count; i++) {
    emit_object(j, NULL);
    emit_text(j, "substance", a->parts[i].stock.substance->id);
    band(j, "order_of_magnitude_ratio", c->person[i]);
    emit_close(j);
  }
  emit_close(j);
  emit_text(j, "person_from", c->person_words);
}

static void cases_json(struct emit *j, const struct vapour_answer *a)
{
  emit_array(j, "cases");
  for (int i = 0; i < a->case_count; i++) {
    const struct vapour_case *c = &a->cases[i];

    emit_object(j, NULL);
    emit_text(j, "when", when_keys[c->when]);
    emit_bool(j, "known", c->known);
    emit_text(j, "why_not", c->why_not);
    emit_bool(j, "all_to_room", c->to_room && c->known);
    emit_text(j, "air_trouble", a->air_words[c->when]);
    emit_number(j, "station_m3_s", c->station_m3_s);
    emit_number(j, "station_pm_m3_s", c->station_pm_m3_s);
    emit_number(j, "main_m3_s", c->main_m3_s);
    emit_number(j, "room_fresh_m3_s", c->fresh_m3_s);
    band(j, "air_speed_m_s", c->speed);
    rates_json(j, c);
    band(j, "rate_kg_s", c->rate);
    emit_number(j, "freeboard_kg_s", c->freeboard_kg_s);
    band(j, "duct_ratio", c->duct);
    band(j, "duct_of_lower_limit_ratio", c->duct_share);
    band(j, "main_ratio", c->main);
    band(j, "main_of_lower_limit_ratio", c->main_share);
    room_json(j, a, c);
    band(j, "room_of_lower_limit_ratio", c->room_share);
    person_json(j, a, c);
    emit_close(j);
  }
  emit_close(j);
}

static void verdicts(struct emit *j, const struct vapour_answer *a, const char *key,
                     const enum vapour_verdict *list)
{
  emit_object(j, key);
  for (int n = 0; n < a->case_count; n++)
    emit_text(j, when_keys[n], verdict_keys[list[n]]);
  emit_close(j);
}

static void limits_json(struct emit *j, const struct vapour_answer *a)
{
  emit_array(j, "exposure_limits");
  for (int i = 0; i < a->limit_count; i++) {
    const struct vapour_limit *l = &a->limits[i];

    emit_object(j, NULL);
    emit_text(j, "substance", a->parts[l->part].stock.substance->id);
    emit_text(j, "issuer", l->limit->issuer);
    emit_text(j, "kind", chem_limit_words(l->limit->kind));
    emit_text(j, "printed", l->limit->printed);
    emit_number(j, "limit_ratio", l->volume_ratio);
    verdicts(j, a, "verdicts", l->verdict);
    emit_number(j, "reached_s", l->reached_s);
    emit_text(j, "source", l->limit->of.source);
    emit_text(j, "date", l->limit->of.date[0] ? l->limit->of.date : NULL);
    emit_text(j, "basis", chem_basis_key(l->limit->of.basis));
    emit_close(j);
  }
  emit_close(j);
  emit_array(j, "flammable_shares");
  for (int i = 0; i < a->share_count; i++) {
    const struct vapour_share *s = &a->shares[i];

    emit_object(j, NULL);
    emit_number(j, "share_ratio", s->share_ratio);
    emit_text(j, "what", s->what);
    verdicts(j, a, "duct", s->duct);
    verdicts(j, a, "main", s->main);
    verdicts(j, a, "room", s->room);
    emit_text(j, "source", s->of.source);
    emit_text(j, "basis", chem_basis_key(s->of.basis));
    emit_close(j);
  }
  emit_close(j);
}

static void purge_json(struct emit *j, const char *key, const struct vapour_answer *a,
                       const struct vapour_purge *p)
{
  emit_object(j, key);
  emit_text(j, "substance", a->parts[p->part].stock.substance->id);
  emit_text(j, "to", p->to);
  emit_number(j, "first_ratio", p->first_ratio);
  emit_number(j, "last_ratio", p->last_ratio);
  emit_number_if(j, "time_s", p->known, p->time_s);
  emit_text(j, "why_not", p->why_not);
  emit_text(j, "not_counted", p->not_counted);
  emit_close(j);
}

/* Null: the scene is one of a file. */
static void live_json(struct emit *j, const struct vapour_live *live)
{
  if (!live) {
    emit_null(j, "live");
    return;
  }
  emit_object(j, "live");
  emit_text(j, "at", live->at);
  emit_number(j, "oldest_s", live->oldest_s);
  emit_text(j, "outranks", live->outranks);
  emit_close(j);
}

static void head_json(struct emit *j, const struct vapour_answer *a)
{
  static const char *const from[] = {NULL, "beaker", "bath", "deck-spill", "floor-spill"};
  const struct facility *f = a->request->facility;

  emit_text(j, "schema", "inward.vapour.1");
  emit_text(j, "suite", f ? f->name : NULL);
  emit_text(j, "label", f ? f->label : NULL);
  emit_text(j, "suite_sha256", f ? f->sha256 : NULL);
  emit_text(j, "engine", INWARD_VERSION);
  emit_text(j, "scene", a->scene);
  emit_bool(j, "trial", a->trial);
  live_json(j, a->live);
  emit_text(j, "station", f && a->station >= 0 ? f->stations[a->station].part.id : NULL);
  emit_text(j, "room", f && a->room >= 0 ? f->rooms[a->room].part.id : NULL);
  emit_text(j, "from", from[a->request->from]);
  emit_text(j, "liquid", a->liquid);
  emit_bool(j, "refused", a->refused);
  emit_text(j, "headline", a->headline);
  emit_bool(j, "answered_no", vapour_is_no(a));
  if (a->ignition_known)
    emit_bool(j, "ignitable_above_liquid", a->ignitable);
  else
    emit_null(j, "ignitable_above_liquid");
  emit_texts(j, "cautions", a->cautions, a->caution_count);
}

static void liquid_json(struct emit *j, const struct vapour_answer *a)
{
  emit_number(j, "temperature_K", a->at_K);
  emit_number(j, "air_pressure_Pa", a->pressure_Pa);
  band(j, "area_m2", a->area);
  emit_number(j, "mass_kg", a->mass_kg);
  emit_number(j, "not_dry_before_s", a->dry_s);
  band(j, "mixing_ratio", a->mixing);
  parts_json(j, a);
  emit_number(j, "saturation_ratio", a->saturation_ratio);
  emit_text(j, "ignition", a->ignition_words);
}

void vapour_json(const struct vapour_answer *a, struct buf *out)
{
  struct emit json, *j = &json;

  emit_begin(j, out);
  emit_object(j, NULL);
  head_json(j, a);
  if (!a->refused) {
    liquid_json(j, a);
    cases_json(j, a);
    limits_json(j, a);
    emit_object(j, "purge");
    purge_json(j, "fresh_air_as_now", a, &a->purge[0]);
    purge_json(j, "fresh_air_when_stopped", a, &a->purge[1]);
    emit_texts(j, "questions",
               (const char *const[]){"source removed?", "measured?", "released by whom?"}, 3);
    emit_close(j);
  }
  emit_texts(j, "assumed", a->assumed, a->assumed_count);
  emit_texts(j, "not_known", a->unknown, a->unknown_count);
  emit_texts(j, "ask", a->asks, a->ask_count);
  emit_text(j, "note", chem_closing);
  emit_close(j);
  emit_end(j);
}
