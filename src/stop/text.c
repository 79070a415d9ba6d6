/* A notice for people, and as JSON: docs/api.md. */
#include "base/emit.h"
#include "stop/stop_impl.h"

#include <math.h>

static const char *const stations_words[] = {
    [STOP_UNTOUCHED] = "as on any day", [STOP_COUNTED] = "counted",
    [STOP_PARKED] = "parked",           [STOP_WITHOUT] = "parked, and too little air",
    [STOP_OUT] = "not in service",
};

static void fan_lines(const struct stop_notice *n, enum units_system system, struct buf *out)
{
  const struct facility *f = n->facility;

  for (int i = 0; i < f->fan_count; i++) {
    const struct air_fan *fan = &n->parked->fans[i];

    if (fan->running == n->usual->fans[i].running && fan->set_met)
      continue;
    buf_printf(out, "  %s: %d of %d running, ", f->fans[i].part.id, fan->running, f->fans[i].count);
    units_print(out, fan->flow_m3_s, UNITS_FLOW, system);
    if (fan->running > 0 && isfinite(fan->speed_ratio))
      buf_printf(out, ", speed %.0f %%", fan->speed_ratio * 100.0);
    buf_puts(out, fan->set_met ? "\n" : "; cannot hold its pressure\n");
  }
}

static void pool_line(const struct stop_notice *n, const struct stop_pool *p,
                      enum units_system system, struct buf *out)
{
  const struct air_pool *now = &n->parked->pools[p->pool];

  buf_printf(out, "  %s: %s; ", air_pool_id(n->facility, p->pool), air_level_name(now->state));
  if (p->known && p->of == 0)
    buf_printf(out, "none may open (any %d of %d with all running)", p->usual, p->usual_of);
  else if (p->known)
    buf_printf(out, "any %d of %d may open (any %d of %d with all running); perhaps %d",
               p->guaranteed, p->of, p->usual, p->usual_of, p->perhaps);
  else
    buf_puts(out, "how many may open is not known");
  if (now->has_headroom) {
    buf_puts(out, "; headroom ");
    units_print(out, now->headroom_m3_s, UNITS_FLOW, system);
  }
  buf_printf(out, "%s%s\n", p->binding ? "; binding: " : "", p->binding ? p->binding : "");
}

void stop_technician_text(const struct stop_notice *n, enum units_system system, struct buf *out)
{
  buf_puts(out, "For the ventilation technician (everything parked, the units off)\n");
  for (int p = 0; p < n->pool_count; p++)
    pool_line(n, &n->pools[p], system, out);
  fan_lines(n, system, out);
  for (int i = 0; i < n->facility->station_count; i++)
    if (n->stations[i] == STOP_PARKED && n->why[i])
      buf_printf(out, "  %s opened alone: %s\n", n->facility->stations[i].part.id, n->why[i]);
}

void stop_text(const struct stop_notice *n, enum units_system system, struct buf *out)
{
  const struct facility *f = n->facility;

  buf_printf(out, "%s%s%s%s   planned stop\n\n", f->name ? f->name : "(no name)",
             f->label ? "   [" : "", f->label ? f->label : "", f->label ? "]" : "");
  buf_printf(out, "  %s off%s%s\n\n", n->what, n->when ? ": " : "", n->when ? n->when : "");
  for (int i = 0; i < n->act_count; i++)
    buf_printf(out, "  %s\n", n->acts[i]);
  buf_puts(out,
           "\n  Shared air only. Your station's own alarm decides, and a building alarm before "
           "it.\n");
  buf_put_list(out, "Ask and arrange", n->asks, n->ask_count);
  buf_put_list(out, "Missed with everything parked", n->missed, n->missed_count);
  buf_putc(out, '\n');
  stop_technician_text(n, system, out);
  buf_put_list(out, "Not known", n->unknown, n->unknown_count);
  buf_printf(out,
             "\nComputed from the suite file %.12s%s%s. It advises; staff and local rules "
             "decide.\n",
             f->sha256, n->scene ? ", scene " : "", n->scene ? n->scene : "");
}

/* ---- JSON ---- */

static void pools_json(struct emit *j, const struct stop_notice *n)
{
  emit_array(j, "pools");
  for (int p = 0; p < n->pool_count; p++) {
    const struct stop_pool *pool = &n->pools[p];
    const struct air_pool *now = &n->parked->pools[p];

    emit_object(j, NULL);
    emit_text(j, "id", air_pool_id(n->facility, p));
    emit_text(j, "kind", now->kind == AIR_POOL_MAIN ? "main" : "supply");
    emit_bool(j, "affected", pool->affected);
    emit_text(j, "state_parked", air_level_key(now->state));
    emit_number_if(j, "open_guaranteed", pool->known, pool->guaranteed);
    emit_number_if(j, "open_perhaps", pool->known, pool->perhaps);
    emit_int(j, "of", pool->of);
    emit_int(j, "usually_guaranteed", pool->usual);
    emit_int(j, "usually_of", pool->usual_of);
    emit_number_if(j, "headroom_m3_s", now->has_headroom, now->headroom_m3_s);
    emit_text(j, "binding", pool->binding);
    emit_close(j);
  }
  emit_close(j);
}

void stop_json(const struct stop_notice *n, struct buf *out)
{
  struct emit json, *j = &json;
  const struct facility *f = n->facility;

  emit_begin(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", "inward.stop.1");
  emit_text(j, "suite", f->name);
  emit_text(j, "label", f->label);
  emit_text(j, "suite_sha256", f->sha256);
  emit_text(j, "engine", INWARD_VERSION);
  emit_text(j, "scene", n->scene);
  emit_text(j, "tier", air_tier_name(n->parked->tier));
  emit_text(j, "off", n->what);
  emit_text(j, "when", n->when);
  emit_bool(j, "solved", n->solved);
  emit_bool(j, "affected", n->affected);
  emit_texts(j, "acts", n->acts, n->act_count);
  emit_texts(j, "asks", n->asks, n->ask_count);
  emit_texts(j, "missed_parked", n->missed, n->missed_count);
  emit_texts(j, "not_known", n->unknown, n->unknown_count);
  pools_json(j, n);
  emit_array(j, "stations");
  for (int i = 0; i < f->station_count; i++) {
    emit_object(j, NULL);
    emit_text(j, "id", f->stations[i].part.id);
    emit_text(j, "then", stations_words[n->stations[i]]);
    emit_text(j, "why", n->why[i]);
    emit_close(j);
  }
  emit_close(j);
  emit_close(j);
  emit_end(j);
}
