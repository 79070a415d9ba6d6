/* What one centimetre of each sash is worth. */
#include "answer/answer.h"

#include "answer/page_impl.h"

#include <math.h>
#include <stdio.h>

/* ---- for programs ---- */

void per_cm_json(struct emit *j, const char *key, const struct answer_side *side,
                 const struct air_per_cm *per_cm, int station)
{
  const struct facility *f = side->facility;
  const struct air_cm *cm = &per_cm->stations[station];
  double opening_m = 0.0;
  bool has_opening = scene_station_opening_m(f, side->scene, station, &opening_m);
  int at = 0;

  emit_object(j, key);
  emit_text(j, "id", f->stations[station].part.id);
  emit_number_if(j, "opening_m", has_opening, opening_m);
  emit_text(j, "why", cm->why);
  emit_number_if(j, "asks_m3_s", cm->known, cm->asks_m3_s);
  emit_array(j, "pools");
  for (int p = 0; p < per_cm->pool_count; p++) {
    emit_object(j, NULL);
    emit_text(j, "id", air_pool_id(f, p));
    emit_number(j, "headroom_m3_s", cm->headroom_m3_s[p]);
    emit_close(j);
  }
  emit_close(j);
  emit_array(j, "keeps");
  for (int r = 0; r < f->room_count; r++)
    for (int k = 0; k < f->rooms[r].keep_count; k++) {
      emit_object(j, NULL);
      emit_text(j, "room", f->rooms[r].part.id);
      emit_text(j, "over", facility_node_id(f, f->rooms[r].keeps[k].over));
      emit_number(j, "pressure_Pa", cm->keeps_Pa[at++]);
      emit_close(j);
    }
  emit_close(j);
  emit_close(j);
}

void answer_per_cm_json(const struct facility *facility, const struct scene *scene,
                        const struct air_per_cm *per_cm, struct buf *out)
{
  struct emit j;

  emit_begin(&j, out);
  emit_object(&j, NULL);
  emit_text(&j, "schema", "inward.per_cm.1");
  emit_text(&j, "suite", facility->name);
  emit_text(&j, "label", facility->label);
  emit_text(&j, "suite_sha256", facility->sha256);
  emit_text(&j, "engine", answer_engine_version());
  answer_scene(&j, facility, scene);
  emit_array(&j, "stations");
  for (int i = 0; i < facility->station_count; i++)
    per_cm_json(&j, NULL, &(struct answer_side){facility, scene, NULL}, per_cm, i);
  emit_close(&j);
  emit_close(&j);
  emit_end(&j);
}

/* ---- for a person ---- */

/* A cubic metre an hour is the least that is said, of a pressure what a good instrument tells: a
 * hundredth of a pascal, in US units a thousandth of an inch of water. */
static const double least_m3_s = 0.5 / 3600, least_Pa = 0.01, least_us_Pa = 0.25;

static void shown(const struct page *p, const char *what, const char *over, double value,
                  enum units_dimension dimension)
{
  char text[PAGE_TEXT];

  buf_printf(p->out, "; %s%s%s %s%s", what, over ? " over " : "", over ? over : "",
             value < 0.0 ? "-" : "+",
             page_shown(p, text, sizeof text, true, fabs(value), dimension));
}

void page_per_cm(const struct page *p, const struct air_per_cm *per_cm, int station)
{
  const struct air_cm *cm = &per_cm->stations[station];
  char text[PAGE_TEXT];
  int at = 0;

  if (!cm->known) {
    buf_printf(p->out, "%s\n", cm->why);
    return;
  }
  if (cm->asks_m3_s == 0.0)
    buf_puts(p->out, "asks for nothing more: by its rule the flow stays the same");
  else
    buf_printf(p->out, "asks +%s",
               page_shown(p, text, sizeof text, true, cm->asks_m3_s, UNITS_FLOW));
  for (int q = 0; q < per_cm->pool_count; q++)
    if (fabs(cm->headroom_m3_s[q]) >= least_m3_s && cm->asks_m3_s != 0.0)
      shown(p, air_pool_id(p->f, q), NULL, cm->headroom_m3_s[q], UNITS_FLOW);
  for (int r = 0; r < p->f->room_count; r++)
    for (int k = 0; k < p->f->rooms[r].keep_count; k++, at++)
      if (fabs(cm->keeps_Pa[at]) >= (p->system == UNITS_SYSTEM_US ? least_us_Pa : least_Pa))
        shown(p, p->f->rooms[r].part.id, facility_node_id(p->f, p->f->rooms[r].keeps[k].over),
              cm->keeps_Pa[at], UNITS_PRESSURE_DIFFERENCE);
  buf_putc(p->out, '\n');
}

static void station_text(const struct page *p, const struct air_per_cm *per_cm, int i)
{
  char text[PAGE_TEXT];
  double opening_m = 0.0;

  page_cell(p->out, p->f->stations[i].part.id, 10);
  page_cell(p->out,
            scene_station_opening_m(p->f, p->scene, i, &opening_m)
                ? page_shown(p, text, sizeof text, true, opening_m, UNITS_LENGTH)
                : "-",
            10);
  page_per_cm(p, per_cm, i);
}

void answer_per_cm_text(const struct facility *facility, const struct scene *scene,
                        const struct air_per_cm *per_cm, enum units_system system, struct buf *out)
{
  const struct page p = {facility, scene, NULL, system, out};

  buf_printf(out, "%s%s%s%s   scene: %s%s\n\n", facility->name ? facility->name : "(no name)",
             facility->label ? "   [" : "", facility->label ? facility->label : "",
             facility->label ? "]" : "", scene->name,
             scene->is_trial ? ", changed   [TRIAL, not live]" : "");
  buf_puts(
      out,
      "One centimetre more of each raised sash: what the station asks, then what is left in each "
      "pool, then keeps\n(one centimetre less: the other way; no advice to move a sash over work)\n\n");
  for (int i = 0; i < facility->station_count; i++)
    station_text(&p, per_cm, i);
  buf_puts(
      out,
      "\nSlopes where the scene stands. Whole sashes: --sash. A pool that is not named has no limit "
      "that a slope can follow.\n");
}
