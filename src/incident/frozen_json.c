/* What is kept of an incident's quarter hours, as the JSON of an entry, and back. */
#include "incident/incident_impl.h"

#include <math.h>
#include <string.h>

static void stretches_json(const struct incident_point *p, struct emit *json)
{
  emit_array(json, "gaps_s");
  for (int i = 0; i < p->gap_count; i++) {
    emit_array(json, NULL);
    emit_number(json, NULL, p->gaps[i].from_s);
    emit_number(json, NULL, p->gaps[i].to_s);
    emit_close(json);
  }
  emit_close(json);
  if (p->gaps_more > 0)
    emit_int(json, "gaps_left_out", p->gaps_more);
}

static void turns_json(const struct incident_point *p, int most, struct emit *json)
{
  int shown = p->turn_count < most ? p->turn_count : most;
  int more = p->turns_more + p->turn_count - shown;

  emit_array(json, "turns_s_si");
  for (int i = 0; i < shown; i++) {
    emit_array(json, NULL);
    emit_number(json, NULL, p->turns[i].at_s);
    emit_number(json, NULL, p->turns[i].si);
    emit_close(json);
  }
  emit_close(json);
  if (more > 0)
    emit_int(json, "turns_left_out", more);
}

void incident_figures_json(const struct incident_point *p, struct emit *json)
{
  emit_text(json, "point", p->id);
  emit_text(json, "of", p->of);
  emit_text(json, "what", p->what);
  if (p->over)
    emit_text(json, "over", p->over);
  emit_text(json, "unit", p->unit);
  emit_number(json, "first_si", p->first_si);
  emit_number(json, "then_si", p->then_si);
  emit_number(json, "last_si", p->last_si);
  emit_number(json, "least_si", p->least_si);
  emit_number(json, "greatest_si", p->greatest_si);
  emit_number(json, "known_s", p->known_s);
}

static void point_json(const struct incident_point *p, int most, struct emit *json)
{
  emit_object(json, NULL);
  incident_figures_json(p, json);
  stretches_json(p, json);
  turns_json(p, most, json);
  emit_close(json);
}

static void frozen_json(const struct incident_frozen *z, int points, int turns, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.freeze.1");
  emit_int(&json, "incident", z->number);
  emit_int(&json, "from_ms", z->from_ms);
  emit_int(&json, "then_ms", z->t_ms);
  emit_int(&json, "to_ms", z->to_ms);
  emit_int(&json, "points_left_out", z->points_left_out + z->point_count - points);
  emit_array(&json, "points");
  for (int i = 0; i < points; i++)
    point_json(&z->points[i], turns, &json);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

void incident_frozen_json(const struct incident_frozen *frozen, size_t most, struct buf *out)
{
  static const int turns[] = {INCIDENT_TURNS_MOST, 8, 2, 0};
  struct buf tried;

  for (size_t i = 0; i < sizeof turns / sizeof *turns; i++) {
    int points = frozen->point_count;

    do { /* only the last, without turns, gives up points: a quarter of them at a time */
      buf_init(&tried, most);
      frozen_json(frozen, points, turns[i], &tried);
      if (!tried.full) {
        buf_add(out, tried.text, tried.used);
        buf_release(&tried);
        return;
      }
      buf_release(&tried);
      points -= (points + 3) / 4;
    } while (turns[i] == 0 && points > 0);
  }
  frozen_json(frozen, 0, 0, out);
}

/* ---- and back ---- */

static double number_of(const json_t *object, const char *key)
{
  const json_t *value = json_object_get(object, key);

  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

static bool text_of(const json_t *object, const char *key, struct arena *arena, const char **out)
{
  const char *text = json_string_value(json_object_get(object, key));

  *out = text ? arena_strdup(arena, text) : NULL;
  return *out != NULL;
}

static bool pair_of(const json_t *pair, double *a, double *b)
{
  *a = json_number_value(json_array_get(pair, 0));
  *b = json_number_value(json_array_get(pair, 1));
  return json_array_size(pair) == 2 && json_is_number(json_array_get(pair, 0)) &&
         json_is_number(json_array_get(pair, 1));
}

static int left_out(const json_t *object, const char *key)
{
  json_int_t value = json_integer_value(json_object_get(object, key));

  return value > 0 && value < 1000000000 ? (int)value : 0;
}

static bool read_lists(const json_t *object, struct incident_point *p)
{
  const json_t *gaps = json_object_get(object, "gaps_s");
  const json_t *turns = json_object_get(object, "turns_s_si");

  if (json_array_size(gaps) > INCIDENT_GAPS_MOST || json_array_size(turns) > INCIDENT_TURNS_MOST)
    return false;
  for (; p->gap_count < (int)json_array_size(gaps); p->gap_count++)
    if (!pair_of(json_array_get(gaps, (size_t)p->gap_count), &p->gaps[p->gap_count].from_s,
                 &p->gaps[p->gap_count].to_s))
      return false;
  for (; p->turn_count < (int)json_array_size(turns); p->turn_count++)
    if (!pair_of(json_array_get(turns, (size_t)p->turn_count), &p->turns[p->turn_count].at_s,
                 &p->turns[p->turn_count].si))
      return false;
  p->gaps_more = left_out(object, "gaps_left_out");
  p->turns_more = left_out(object, "turns_left_out");
  return true;
}

static bool read_point(const json_t *object, struct arena *arena, struct incident_point *p)
{
  const char *over;

  *p = (struct incident_point){.first_si = number_of(object, "first_si"),
                               .then_si = number_of(object, "then_si"),
                               .last_si = number_of(object, "last_si"),
                               .least_si = number_of(object, "least_si"),
                               .greatest_si = number_of(object, "greatest_si"),
                               .known_s = number_of(object, "known_s")};
  p->over = text_of(object, "over", arena, &over) ? over : NULL;
  return text_of(object, "point", arena, &p->id) && text_of(object, "of", arena, &p->of) &&
         text_of(object, "what", arena, &p->what) && text_of(object, "unit", arena, &p->unit) &&
         p->known_s >= 0 && read_lists(object, p);
}

bool incident_frozen_read(const char *detail, struct arena *arena, struct incident_frozen *out)
{
  json_t *root = incident_json(detail, "inward.freeze.1");
  const json_t *points = json_object_get(root, "points");
  struct incident_frozen z = {.number = json_integer_value(json_object_get(root, "incident")),
                              .from_ms = json_integer_value(json_object_get(root, "from_ms")),
                              .t_ms = json_integer_value(json_object_get(root, "then_ms")),
                              .to_ms = json_integer_value(json_object_get(root, "to_ms")),
                              .points_left_out = left_out(root, "points_left_out")};
  size_t count = json_array_size(points);
  bool read = z.number > 0 && z.from_ms <= z.t_ms && z.t_ms <= z.to_ms;

  z.points = read ? ARENA_ARRAY(arena, struct incident_point, count + 1) : NULL;
  read = z.points != NULL;
  for (; read && z.point_count < (int)count; z.point_count++)
    read =
        read_point(json_array_get(points, (size_t)z.point_count), arena, &z.points[z.point_count]);
  json_decref(root);
  if (read)
    *out = z;
  return read;
}
