#include "errand/errand_impl.h"

#include <math.h>

/* Errands in words and for programs. */

void errand_words(const struct errands *e, const struct errand *errand, struct buf *out)
{
  const struct facility_station *s = &e->given.facility->stations[errand->station];
  const struct air_lower *what = &errand->what;
  bool to_mark = what->has_to_m && what->to_m > s->parked_m;

  if (to_mark)
    buf_printf(out, "Lower to the mark %.2f m: ", what->to_m);
  else
    buf_puts(out, "Lower to parked: ");
  buf_printf(out, "%s. Ask the person there; never move another's sash over work.",
             errand->because);
}

static void clock_words(const struct errands *e, int64_t t_ms, struct buf *out)
{
  struct buf text;

  buf_init(&text, 64);
  when_print(&text, e->given.zone ? e->given.zone : when_utc(), t_ms);
  buf_printf(out, "%.5s", text.text + 11); /* of "2026-10-25 02:30:00 +01:00" */
  buf_release(&text);
}

void errand_doubt(const struct errands *e, const struct errand *errand, struct buf *out)
{
  if (errand->said_ms == INT64_MIN || !errand_is_open(errand))
    return;
  buf_puts(out, "done was said at ");
  clock_words(e, errand->said_ms, out);
  if (isfinite(errand->reads_m)) {
    buf_printf(out, "; the sash still reads %.2f m (", errand->reads_m);
    when_print_span(out, errand->reads_age_s);
    buf_puts(out, " old)");
  } else
    buf_puts(out, "; what is measured still says that it is up");
}

static void one_json(const struct errands *e, const struct errand *errand, int64_t now_ms,
                     struct emit *json)
{
  const struct facility_station *s = &e->given.facility->stations[errand->station];
  bool is_open = errand_is_open(errand), said = errand->said_ms != INT64_MIN;
  struct buf text;

  buf_init(&text, 1000);
  emit_object(json, NULL);
  emit_text(json, "station", s->part.id);
  emit_text(json, "state", errand_state_key(errand->state));
  emit_text(json, "state_text", errand_state_name(errand->state));
  emit_bool(json, "open", is_open);
  when_emit(json, "asked", errand->asked_ms);
  emit_number(json, "asked_s", (double)(now_ms - errand->asked_ms) * 1e-3);
  when_emit(json, "since", errand->since_ms);
  emit_number_if(json, "to_m", errand->what.has_to_m, errand->what.to_m);
  emit_number(json, "frees_m3_s", errand->what.frees_m3_s);
  emit_number_if(json, "reads_m", isfinite(errand->reads_m), errand->reads_m);
  emit_bool(json, "measured", errand->measures);
  emit_text(json, "because", errand->because);
  if (is_open)
    errand_words(e, errand, &text);
  emit_text(json, "text", is_open ? text.text : NULL);
  buf_clear(&text);
  errand_doubt(e, errand, &text);
  emit_text(json, "doubt", text.used > 0 ? text.text : NULL);
  when_emit(json, "said", said ? errand->said_ms : INT64_MIN);
  emit_text(json, "who", errand->who[0] ? errand->who : NULL);
  emit_text(json, "why", errand->state == ERRAND_CANNOT ? errand->text : NULL);
  when_emit(json, "until", errand->until_ms);
  emit_close(json);
  buf_release(&text);
}

/* What is still asked, and what was asked so little ago that it is not asked again yet. */
static bool is_shown(const struct errands *e, int station, int64_t now_ms)
{
  const struct errand *errand = errands_at(e, station);

  return errand && e->advises && (errand_is_open(errand) || now_ms < errand->until_ms);
}

static void tally_json(const struct errands *e, struct emit *json)
{
  struct errands_tally t = errands_tally(e);

  emit_object(json, "errands_tally");
  emit_int(json, "asked", t.asked);
  emit_int(json, "moved", t.moved);
  emit_int(json, "moved_within", t.moved_within);
  emit_number(json, "within_s", e->given.feeds->lower.within_s);
  emit_number_if(json, "median_s", isfinite(t.median_s), t.median_s);
  emit_int(json, "done", t.done);
  emit_int(json, "cannot", t.cannot);
  emit_int(json, "not_needed", t.not_needed);
  emit_int(json, "not_answered", t.not_answered);
  emit_close(json);
}

void errands_json(const struct errands *e, int64_t now_ms, struct emit *json)
{
  struct answer_live_asked named;
  bool any = errands_named(e, &named);

  emit_array(json, "errands");
  for (int i = 0; i < e->given.facility->station_count; i++)
    if (is_shown(e, i, now_ms))
      one_json(e, &e->items[i], now_ms, json);
  emit_close(json);
  tally_json(e, json);
  emit_array(json, "named");
  for (int i = 0; any && i < named.count; i++) {
    const struct air_lower *what = &named.named[i];

    emit_object(json, NULL);
    emit_text(json, "station", e->given.facility->stations[what->station].part.id);
    emit_number_if(json, "to_m", what->has_to_m, what->to_m);
    emit_number(json, "frees_m3_s", what->frees_m3_s);
    emit_text(json, "state_after", air_level_key(what->state_after));
    emit_close(json);
  }
  emit_close(json);
}
