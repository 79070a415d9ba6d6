#include "serve/now_impl.h"

#include "air/air.h"
#include "answer/answer.h"
#include "watch/watch.h"

#include <math.h>
#include <string.h>

struct looking {
  const struct facility *facility;
  const struct feeds *feeds;
  struct arena *arena;
  struct vapour_live *out;
  struct watch_belief pressures; /* only these, which outlive the look */
  int64_t now_ms;
};

/* ---- copies: a belief is borrowed for the time of a look ---- */

static const char *text_of(struct looking *l, const char *text)
{
  const char *copy = text ? arena_strdup(l->arena, text) : NULL;

  BUG_IF(text && !copy);
  return copy;
}

static const bool *flags_of(struct looking *l, const bool *from, int count)
{
  bool *copy = ARENA_ARRAY(l->arena, bool, (size_t)count + 1);

  BUG_IF(!copy);
  if (count > 0)
    memcpy(copy, from, (size_t)count * sizeof *copy);
  return copy;
}

static struct vapour_gap gap_of(struct looking *l, const struct watch_gap *gap)
{
  return (struct vapour_gap){.about = text_of(l, gap->about),
                             .text = text_of(l, gap->text),
                             .of_main = flags_of(l, gap->of_main, l->facility->main_count),
                             .of_supply = flags_of(l, gap->of_supply, l->facility->supply_count)};
}

static const struct vapour_gap *gaps_of(struct looking *l, const struct watch_gap *gaps, int count)
{
  struct vapour_gap *list = ARENA_ARRAY(l->arena, struct vapour_gap, (size_t)count + 1);

  BUG_IF(!list);
  for (int i = 0; i < count; i++)
    list[i] = gap_of(l, &gaps[i]);
  return list;
}

static void copy_assumed(struct looking *l, const struct watch_belief *b)
{
  const char **list = ARENA_ARRAY(l->arena, const char *, (size_t)b->assumed_count + 1);

  BUG_IF(!list);
  for (int i = 0; i < b->assumed_count; i++)
    list[i] = text_of(l, b->assumed[i]);
  l->out->assumed = list;
  l->out->assumed_count = b->assumed_count;
}

static void copy_pressures(struct looking *l, const struct watch_belief *b)
{
  struct watch_pressure *list =
      ARENA_ARRAY(l->arena, struct watch_pressure, (size_t)b->pressure_count + 1);

  BUG_IF(!list);
  if (b->pressure_count > 0)
    memcpy(list, b->pressures, (size_t)b->pressure_count * sizeof *list);
  l->pressures = (struct watch_belief){.pressures = list, .pressure_count = b->pressure_count};
}

/* A text of a scene lives where the scene does. */
static void copy_scene(struct looking *l, const struct watch_belief *b)
{
  l->out->scene = scene_copy(l->facility, &b->scene, l->arena);
  for (int i = 0; i < l->facility->station_count; i++)
    l->out->scene.stations[i].needs_flow = text_of(l, b->scene.stations[i].needs_flow);
  l->out->scene.was_of_pool = NULL; /* where a rule stands is the board's to say */
}

static const char *outranks(struct looking *l, const struct watch_belief *b)
{
  if (b->building_alarm)
    return "BUILDING ALARM: follow the building first";
  return b->stop ? text_of(l, b->stop->why) : NULL;
}

static void copy_alarms(struct looking *l, const struct watch_belief *b)
{
  bool *list = ARENA_ARRAY(l->arena, bool, (size_t)l->facility->station_count + 1);

  BUG_IF(!list);
  for (int i = 0; i < l->facility->station_count; i++)
    list[i] = b->stations[i].own_alarm;
  l->out->alarm = list;
}

/* Of all that it rests on the oldest, for one old reading is enough to be wrong. */
static double oldest_s(const struct looking *l, const struct watch_belief *b)
{
  double oldest = (double)NAN;

  for (int i = 0; i < l->feeds->point_count; i++)
    if (b->inputs[i].used && !(b->inputs[i].age_s <= oldest))
      oldest = b->inputs[i].age_s;
  return oldest;
}

static void see(void *arg, const struct watch_belief *b)
{
  struct looking *l = arg;

  l->now_ms = b->now_ms;
  copy_scene(l, b);
  copy_assumed(l, b);
  copy_pressures(l, b);
  copy_alarms(l, b);
  l->out->gaps = gaps_of(l, b->gaps, b->gap_count);
  l->out->gap_count = b->gap_count;
  l->out->outranks = outranks(l, b);
  l->out->oldest_s = oldest_s(l, b);
}

/* ---- what contradicts it ---- */

/* A room measured outside its keep and computed inside is known neither way. */
static void add_contradictions(struct looking *l)
{
  struct air *air = air_new(l->facility, NULL);
  struct answer_live live = {.facility = l->facility, .feeds = l->feeds, .belief = &l->pressures};
  struct vapour_gap *list;
  int count = 0;

  if (!air || l->pressures.pressure_count == 0) {
    air_free(air);
    return;
  }
  live.air = air_ask(air, &l->out->scene, &air_settings_sure, l->arena, NULL);

  const struct watch_gap *found = answer_live_contradictions(&live, l->arena, &count);

  list = ARENA_ARRAY(l->arena, struct vapour_gap, (size_t)(l->out->gap_count + count) + 1);
  BUG_IF(!list);
  memcpy(list, l->out->gaps, (size_t)l->out->gap_count * sizeof *list);
  for (int i = 0; i < count; i++)
    list[l->out->gap_count + i] = gap_of(l, &found[i]);
  l->out->gaps = list;
  l->out->gap_count += count;
  air_free(air);
}

/* "live at 14:10:05"; of a replay the day too, for it is not this one. */
static void name_scene(struct looking *l, const struct serve_live *live)
{
  struct buf local, utc;

  buf_init(&local, 80), buf_init(&utc, 80);
  when_print(&local, live->zone, l->now_ms);
  when_print_utc(&utc, l->now_ms);
  l->out->scene.name = keeper_is_replay(live->keeper)
                           ? arena_printf(l->arena, "replayed, %.19s", local.text)
                           : arena_printf(l->arena, "live at %.8s", local.text + 11);
  l->out->at = text_of(l, utc.text);
  buf_release(&local), buf_release(&utc);
}

enum err_code now_live(const struct facility *facility, const struct serve_live *live,
                       struct arena *arena, const struct vapour_live **out, struct err *err)
{
  struct vapour_live *made = ARENA_NEW(arena, struct vapour_live);
  struct looking looking = {
      .facility = facility, .feeds = live->feeds, .arena = arena, .out = made};
  enum err_code code;

  BUG_IF(!made);
  code = keeper_look(live->keeper, see, &looking, err);
  if (code != ERR_OK)
    return code;
  add_contradictions(&looking);
  name_scene(&looking, live);
  *out = made;
  return ERR_OK;
}
