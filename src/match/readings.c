/* What the readings have in common, wherever they come from; and those of a walk test. */
#include "match/match_impl.h"

#include <math.h>
#include <string.h>

const char *match_id(const struct facility *f, const struct match_quantity *q)
{
  int i = q->index;

  switch (q->what) {
  case MATCH_PRESSURE:
    return facility_node_id(f, i);
  case MATCH_FACE:
  case MATCH_STATION:
    return f->stations[i].part.id;
  case MATCH_FEED:
    return f->supplies[i].feeds[q->over].part.id;
  case MATCH_SUPPLY:
    return f->supplies[i].part.id;
  case MATCH_MAIN:
    return f->mains[i].part.id;
  case MATCH_EXHAUST:
    return f->exhausts[i].part.id;
  case MATCH_SPEED:
    return f->fans[i].part.id;
  }
  return "";
}

const char *match_name(const struct facility *f, const struct match_quantity *q,
                       struct arena *arena)
{
  const char *id = match_id(f, q), *out;

  if (q->what == MATCH_PRESSURE)
    out = arena_printf(arena, "%s over %s", id, facility_node_id(f, q->over));
  else if (q->what == MATCH_FACE)
    out = arena_printf(arena, "face of %s", id);
  else if (q->what == MATCH_SPEED)
    out = arena_printf(arena, "speed of %s", id);
  else
    out = arena_printf(arena, "flow of %s", id);
  return out ? out : "";
}

enum facility_gauge_of match_gauge(const struct facility *f, const struct match_quantity *q)
{
  switch (q->what) {
  case MATCH_PRESSURE:
    return q->index < f->room_count ? FACILITY_GAUGE_ROOM : FACILITY_GAUGE_DUCT;
  case MATCH_FACE:
    return FACILITY_GAUGE_FACE;
  case MATCH_SPEED:
    return FACILITY_GAUGE_SPEED;
  case MATCH_SUPPLY:
    return FACILITY_GAUGE_SUPPLY;
  case MATCH_STATION:
  case MATCH_FEED:
  case MATCH_MAIN:
  case MATCH_EXHAUST:
    break;
  }
  return FACILITY_GAUGE_FLOW;
}

/* ---- instruments ---- */

int match_instrument(struct match_readings *readings, const struct facility *f, const char *name,
                     enum facility_gauge_of gauge)
{
  const struct facility_gauge *g = &f->walk.gauges[gauge];
  struct walk_part zero = {WALK_LIMIT, f->match.lasting_ratio * g->least_si};
  struct walk_part slope = {WALK_LIMIT, f->match.lasting_ratio * g->reading_ratio};

  for (int i = 0; i < readings->instrument_count; i++)
    if (readings->instruments[i].gauge == gauge && strcmp(readings->instruments[i].name, name) == 0)
      return i;
  readings->instruments[readings->instrument_count] = (struct match_instrument){
      name, gauge, walk_combined_si(&zero, 1), walk_combined_si(&slope, 1)};
  return readings->instrument_count++;
}

double match_own_si(const struct facility *f, enum facility_gauge_of gauge, double value_si,
                    double setting_si)
{
  const struct facility_gauge *g = &f->walk.gauges[gauge];
  double lasting = f->match.lasting_ratio;
  double limit_si = fmax(g->reading_ratio * fabs(value_si), g->least_si);
  struct walk_part parts[] = {{WALK_LIMIT, sqrt(1.0 - lasting * lasting) * limit_si},
                              {WALK_LIMIT, g->swing_si},
                              {WALK_EXPANDED, g->model_si},
                              {WALK_STANDARD, setting_si}};

  return walk_combined_si(parts, sizeof parts / sizeof parts[0]);
}

double match_setting_si(const struct facility *f, const struct scene *scene,
                        const struct match_quantity *q, double value_si)
{
  struct walk_part part = {WALK_LIMIT, 0.0};
  double opening_m = 0.0;

  if (q->what != MATCH_FACE || f->stations[q->index].flow == FACILITY_FOLLOWS_OPENING ||
      !scene_station_opening_m(f, scene, q->index, &opening_m) || opening_m <= 0.0)
    return 0.0;
  part.plus_minus_si = fabs(value_si) * f->walk.opening_m / opening_m;
  return walk_combined_si(&part, 1);
}

const char *match_usual_instrument(enum facility_gauge_of gauge, const char *name)
{
  switch (gauge) {
  case FACILITY_GAUGE_ROOM:
    return "manometer";
  case FACILITY_GAUGE_FACE:
    return "anemometer";
  case FACILITY_GAUGE_FLOW:
    return "flow hood";
  case FACILITY_GAUGE_DUCT:
  case FACILITY_GAUGE_SUPPLY:
  case FACILITY_GAUGE_SPEED:
  case FACILITY_GAUGE_COUNT:
    break;
  }
  return name;
}

/* ---- a walk ---- */

static struct match_quantity of_walk(const struct walk_quantity *q)
{
  switch (q->of) {
  case FACILITY_GAUGE_FACE:
    return (struct match_quantity){MATCH_FACE, q->index, 0};
  case FACILITY_GAUGE_SUPPLY:
    return (struct match_quantity){MATCH_SUPPLY, q->index, 0};
  case FACILITY_GAUGE_SPEED:
    return (struct match_quantity){MATCH_SPEED, q->index, 0};
  case FACILITY_GAUGE_ROOM:
  case FACILITY_GAUGE_DUCT:
  case FACILITY_GAUGE_FLOW:
  case FACILITY_GAUGE_COUNT:
    break;
  }
  return (struct match_quantity){MATCH_PRESSURE, q->index, q->over};
}

/* Manometer and anemometer are carried along; what a display shows has a sensor of its own. */
static const char *carried(const struct walk_reading *r)
{
  if (r->quantity.of == FACILITY_GAUGE_ROOM)
    return "manometer";
  return r->quantity.of == FACILITY_GAUGE_FACE ? "anemometer" : r->what;
}

static bool room_for(struct match_readings *out, int readings, int scenes, struct arena *arena)
{
  out->list = ARENA_ARRAY(arena, struct match_reading, (size_t)readings + 1);
  out->instruments = ARENA_ARRAY(arena, struct match_instrument, (size_t)readings + 1);
  out->scenes = ARENA_ARRAY(arena, struct match_scene, (size_t)scenes + 1);
  return out->list && out->instruments && out->scenes;
}

struct match_readings *match_walk(const struct walk_plan *plan, const struct walk_readings *filled,
                                  const char *file, struct arena *arena)
{
  const struct facility *f = plan->facility;
  struct match_readings *out = ARENA_NEW(arena, struct match_readings);

  if (!out || !room_for(out, plan->reading_count, plan->step_count, arena))
    return NULL;
  out->source = "walk test";
  out->date = filled->date;
  out->by = filled->by;
  memcpy(out->suite_sha256, filled->suite_sha256, sizeof out->suite_sha256);
  for (int s = 0; s < plan->step_count; s++)
    out->scenes[out->scene_count++] =
        (struct match_scene){plan->steps[s].title, plan->steps[s].scene};
  for (int i = 0; i < plan->reading_count; i++) {
    const struct walk_reading *r = &plan->readings[i];
    const struct walk_entry *e = &filled->entries[i];

    if (!e->read)
      continue;
    out->list[out->count++] = (struct match_reading){
        .id = r->id,
        .name = r->what,
        .quantity = of_walk(&r->quantity),
        .gauge = r->quantity.of,
        .scene = r->step,
        .instrument = match_instrument(out, f, carried(r), r->quantity.of),
        .measured_si = e->value_si,
        .own_si = match_own_si(f, r->quantity.of, r->predicted_si, r->band.setting_si),
        .setting_si = r->band.setting_si,
        .place = {.file = file},
        .remark = e->remark,
        .printed = e->printed,
        .printed_si = e->printed_si,
        .printed_half_si = e->printed_half_si,
        .printed_middle_si = e->printed_si};
  }
  return out;
}
