/* What runs and cools, for people and as JSON. */
#include "run/run_impl.h"

#include <math.h>

static void put_moment(const struct run_list *list, int64_t t_ms, struct buf *out)
{
  when_print(out, list->zone ? list->zone : when_utc(), t_ms);
}

static void put_words(const struct run *run, struct buf *out)
{
  buf_printf(
      out,
      "      %s. Holds: %s.\n      Hazards: %s.\n      Call: %s%s%s. Told by %s, entry %lld.\n",
      run->words.what, run->words.holds, run->words.hazards, run->words.call,
      run->words.second ? "; also knows of it: " : "", run->words.second ? run->words.second : "",
      run->who, (long long)run->number);
}

static void put_clock(const struct run_list *list, const struct run *run, struct buf *out)
{
  if (run->has_clock && run->clock_from_ms == run->clock_to_ms) {
    buf_puts(out, "      Clock: it was read at or below the limit at ");
    put_moment(list, run->clock_from_ms, out);
    buf_puts(out, ".\n");
  } else if (run->has_clock) {
    buf_puts(out, "      Clock: cold between ");
    put_moment(list, run->clock_from_ms, out);
    buf_puts(out, " and ");
    put_moment(list, run->clock_to_ms, out);
    buf_puts(out, ".\n");
  }
  if (run->wait) {
    buf_puts(out, "      Wait: until ");
    put_moment(list, run->wait_ms, out);
    buf_printf(out, " (%s).\n", run->wait->source);
  }
}

static void put_last_reading(const struct run_list *list, const struct run *run,
                             enum units_system system, struct buf *out)
{
  if (!run->reading_count)
    return;
  buf_puts(out, "      Last read: ");
  units_print(out, run->readings[run->reading_count - 1].temperature_K, UNITS_TEMPERATURE, system);
  buf_puts(out, " at ");
  put_moment(list, run->readings[run->reading_count - 1].t_ms, out);
  buf_puts(out, ".\n");
}

static void put_run(const struct run_list *list, const struct run *run, enum units_system system,
                    struct buf *out)
{
  const struct facility_station *s = &list->facility->stations[run->station];
  int64_t end_ms = run->over_ms == INT64_MIN ? run->until_ms : run->cold_ms;

  buf_printf(out, "  %s %s: %s", s->part.id, s->part.name ? s->part.name : "",
             run_phase_words(run->phase));
  if (end_ms != INT64_MAX) {
    buf_puts(out,
             run->phase == RUN_OVERDUE || run->phase == RUN_MAY_BE_COLD ? ", since " : " until ");
    put_moment(list, end_ms, out);
  }
  buf_printf(out, "\n      Why: %s.\n", run->why);
  put_words(run, out);
  put_clock(list, run, out);
  put_last_reading(list, run, system, out);
}

void run_text(const struct run_list *list, enum units_system system, struct buf *out)
{
  const struct facility *f = list->facility;

  buf_printf(out, "%s%s%s%s   runs with nobody there, ", f->name ? f->name : "(no name)",
             f->label ? "   [" : "", f->label ? f->label : "", f->label ? "]" : "");
  put_moment(list, list->now_ms, out);
  buf_puts(out, "\n\n");
  if (list->count == 0 && list->stranger_count == 0)
    buf_puts(out, "  None is told. What nobody told is not known here: look at the stations.\n");
  for (int i = 0; i < list->count; i++)
    put_run(list, &list->runs[i], system, out);
  for (int i = 0; i < list->stranger_count; i++)
    buf_printf(
        out,
        "\n  %s: NOT KNOWN: the suite names no such station, and a run was told there (entry %lld): "
        "%s. Holds: %s. Hazards: %s. Call: %s\n",
        list->strangers[i].about, (long long)list->strangers[i].number,
        list->strangers[i].words.what, list->strangers[i].words.holds,
        list->strangers[i].words.hazards, list->strangers[i].words.call);
  if (list->unread)
    buf_printf(out, "\n  %d entr%s of runs cannot be read or placed; look at the stations.\n",
               list->unread, list->unread == 1 ? "y" : "ies");
  buf_puts(
      out,
      "\nAs told by people. Before you touch anything: measure, ask whoever is named, wear what the station asks "
      "for.\nThe clock: proportional cooling to turbulent free convection, readings ±");
  units_print(out, f->unattended.reading_pm_K, UNITS_TEMPERATURE_DIFFERENCE, system);
  buf_puts(out, ", cold at or below ");
  units_print(out, f->unattended.cold_K, UNITS_TEMPERATURE, system);
  buf_puts(out, "; evaporation that ends makes it slower still: read again.\n");
}

/* ---- JSON ---- */

void run_emit(struct emit *json, const struct run_list *list, const struct run *run)
{
  emit_object(json, NULL);
  emit_text(json, "station", list->facility->stations[run->station].part.id);
  emit_text(json, "phase", run_phase_key(run->phase));
  emit_text(json, "why", run->why);
  emit_int(json, "entry", run->number);
  emit_text(json, "what", run->words.what);
  emit_text(json, "holds", run->words.holds);
  emit_text(json, "hazards", run->words.hazards);
  emit_text(json, "call", run->words.call);
  emit_text(json, "second", run->words.second);
  when_emit(json, "started", run->started_ms);
  when_emit(json, "until", run->until_ms);
  when_emit(json, "over", run->over_ms);
  when_emit(json, "clock_from", run->has_clock ? run->clock_from_ms : INT64_MIN);
  when_emit(json, "clock_to", run->has_clock ? run->clock_to_ms : INT64_MIN);
  when_emit(json, "wait", run->wait ? run->wait_ms : INT64_MIN);
  when_emit(json, "cold", run->cold_ms);
  emit_number(json, "last_temperature_K",
              run->reading_count ? run->readings[run->reading_count - 1].temperature_K
                                 : (double)NAN);
  when_emit(json, "last_read",
            run->reading_count ? run->readings[run->reading_count - 1].t_ms : INT64_MIN);
  emit_close(json);
}

void run_json(const struct run_list *list, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.runs.1");
  emit_text(&json, "suite", list->facility->name);
  emit_text(&json, "label", list->facility->label);
  emit_text(&json, "suite_sha256", list->facility->sha256);
  when_emit(&json, "now", list->now_ms);
  emit_int(&json, "unread", list->unread);
  emit_array(&json, "runs");
  for (int i = 0; i < list->count; i++)
    run_emit(&json, list, &list->runs[i]);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
