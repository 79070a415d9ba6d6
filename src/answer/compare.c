/* What a change of the suite changes in the air: two answers, side by side by id. */
#include "answer/answer.h"

#include <math.h>
#include <string.h>

/* Smaller differences than these are not worth a person's time.  Common practice, no source. */
static const double worth_Pa = 0.1, worth_m3_s = 10.0 / 3600.0;

struct pair {
  const char *what, *id, *sub;
  double before, after;
  enum units_dimension dimension;
};

struct telling {
  struct buf *out;
  struct json *json; /* one of the two */
  int count;
};

static void tell(struct telling *t, const struct pair *p)
{
  double worth = p->dimension == UNITS_FLOW ? worth_m3_s : worth_Pa;

  if (isnan(p->before) && isnan(p->after))
    return;
  if (fabs(p->after - p->before) < worth)
    return;
  t->count++;
  if (t->json) {
    json_object(t->json, NULL);
    json_text(t->json, "what", p->what);
    json_text(t->json, "id", p->id);
    json_text(t->json, "over", p->sub);
    json_number(t->json, p->dimension == UNITS_FLOW ? "before_m3_s" : "before_Pa", p->before);
    json_number(t->json, p->dimension == UNITS_FLOW ? "after_m3_s" : "after_Pa", p->after);
    json_close(t->json);
    return;
  }
  buf_printf(t->out, "    %s %s%s%s: ", p->id, p->what, p->sub ? " over " : "",
             p->sub ? p->sub : "");
  units_print(t->out, p->before, p->dimension, UNITS_SYSTEM_SI);
  buf_puts(t->out, " -> ");
  units_print(t->out, p->after, p->dimension, UNITS_SYSTEM_SI);
  buf_putc(t->out, '\n');
}

static void compare_pools(struct telling *t, const struct answer_side *a,
                          const struct answer_side *b)
{
  for (int i = 0; i < a->answer->pool_count; i++)
    for (int j = 0; j < b->answer->pool_count; j++) {
      const struct air_pool *p = &a->answer->pools[i], *q = &b->answer->pools[j];

      if (strcmp(air_pool_id(a->facility, i), air_pool_id(b->facility, j)) != 0)
        continue;
      tell(t, &(struct pair){"demand", air_pool_id(a->facility, i), NULL, p->demand_m3_s,
                             q->demand_m3_s, UNITS_FLOW});
      tell(t, &(struct pair){"headroom", air_pool_id(a->facility, i), NULL,
                             p->has_headroom ? p->headroom_m3_s : (double)NAN,
                             q->has_headroom ? q->headroom_m3_s : (double)NAN, UNITS_FLOW});
    }
}

/* The same keep on the other side, or NaN. */
static double keep_Pa(const struct answer_side *s, const char *room, const char *over)
{
  for (int i = 0; i < s->facility->room_count; i++)
    for (int k = 0; k < s->answer->rooms[i].keep_count; k++) {
      const struct air_keep *keep = &s->answer->rooms[i].keeps[k];

      if (strcmp(s->facility->rooms[i].part.id, room) == 0 && keep->known &&
          strcmp(facility_node_id(s->facility, keep->keep->over), over) == 0)
        return keep->actual_Pa;
    }
  return (double)NAN;
}

static void compare_rooms(struct telling *t, const struct answer_side *a,
                          const struct answer_side *b)
{
  for (int i = 0; i < a->facility->room_count; i++)
    for (int k = 0; k < a->answer->rooms[i].keep_count; k++) {
      const char *room = a->facility->rooms[i].part.id;
      const char *over = facility_node_id(a->facility, a->answer->rooms[i].keeps[k].keep->over);

      tell(t, &(struct pair){"pressure", room, over, keep_Pa(a, room, over), keep_Pa(b, room, over),
                             UNITS_PRESSURE_DIFFERENCE});
    }
}

static void compare_stations(struct telling *t, const struct answer_side *a,
                             const struct answer_side *b)
{
  for (int i = 0; i < a->facility->station_count; i++) {
    int j = facility_station_find(b->facility, a->facility->stations[i].part.id);

    if (j >= 0)
      tell(t, &(struct pair){"flow", a->facility->stations[i].part.id, NULL,
                             a->answer->stations[i].flow_m3_s, b->answer->stations[j].flow_m3_s,
                             UNITS_FLOW});
  }
}

static void compare_all(struct telling *t, const struct answer_side *a, const struct answer_side *b)
{
  compare_pools(t, a, b);
  compare_rooms(t, a, b);
  compare_stations(t, a, b);
}

void answer_compare_text(const struct answer_side *before, const struct answer_side *after,
                         struct buf *out)
{
  struct telling t = {.out = out};

  buf_printf(
      out, "  scene %s: %s%s%s\n", before->scene->name, air_level_name(before->answer->state),
      before->answer->state == after->answer->state ? "" : " -> ",
      before->answer->state == after->answer->state ? "" : air_level_name(after->answer->state));
  compare_all(&t, before, after);
  if (t.count == 0)
    buf_puts(out, "    no flow by 10 m3/h and no pressure by 0.1 Pa\n");
}

void answer_compare_json(const struct answer_side *before, const struct answer_side *after,
                         struct json *json)
{
  struct telling t = {.json = json};

  json_object(json, NULL);
  json_text(json, "scene", before->scene->name);
  json_text(json, "state_before", air_level_key(before->answer->state));
  json_text(json, "state_after", air_level_key(after->answer->state));
  json_array(json, "changes");
  compare_all(&t, before, after);
  json_close(json);
  json_close(json);
}
