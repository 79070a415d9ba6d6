/*
 * A source that went silent is one thing that is not known, and one thing to do, however many values it
 * carries: said once, with how many and which.  What is not known for another reason stays a line of its
 * own.
 */
#include "answer/live_impl.h"

#include <math.h>
#include <string.h>

enum { NAMED_MOST = 3 };

static bool is_silent(const struct watch_input *in)
{
  return in->age == WATCH_OLD || in->age == WATCH_NEVER;
}

/* The silent point whose words a gap's are, or -1.  Ids are unique, and src/watch begins what it says
 * of a point with its id and, in brackets, its source. */
static int point_of(const struct answer_live *live, const struct watch_gap *gap)
{
  const char *said = gap->text;

  if (*gap->about)
    said += strlen(gap->about) + 2; /* "A1: " */
  for (int i = 0; i < live->feeds->point_count; i++) {
    const struct feeds_point *p = &live->feeds->points[i];
    const char *source = live->feeds->sources[p->source].part.id;
    size_t id = strlen(p->part.id), name = strlen(source);

    if (is_silent(&live->belief->inputs[i]) && strncmp(said, p->part.id, id) == 0 &&
        strncmp(said + id, " (", 2) == 0 && strncmp(said + id + 2, source, name) == 0 &&
        strncmp(said + id + 2 + name, "): ", 3) == 0)
      return i;
  }
  return -1;
}

/* ---- what a source still says ---- */

struct spoken {
  int points, silent;
  double least_age_s; /* of those that are silent; infinite: nothing ever came */
};

static struct spoken spoken_by(const struct answer_live *live, int source)
{
  struct spoken s = {.least_age_s = INFINITY};

  for (int i = 0; i < live->feeds->point_count; i++) {
    const struct watch_input *in = &live->belief->inputs[i];

    if (live->feeds->points[i].source != source)
      continue;
    s.points++;
    s.silent += is_silent(in);
    if (in->age == WATCH_OLD)
      s.least_age_s = fmin(s.least_age_s, in->age_s);
  }
  return s;
}

static const char *next_act(enum feeds_kind kind)
{
  switch (kind) {
  case FEEDS_CSV:
    return "take its newest table (its folder, or `inward take`)";
  case FEEDS_MQTT:
    return "look whether its gateway and broker run and this machine reaches them";
  case FEEDS_MODBUS:
    return "look whether the controller is on and this machine reaches it";
  case FEEDS_BACNET:
    return "look whether the device is on and this machine reaches its network";
  case FEEDS_WEBHOOK:
    return "look whether what posts here runs";
  case FEEDS_HAND:
    return "read them where they are and enter them on the Record page";
  case FEEDS_CALENDAR:
    return "put its newest calendar into its folder";
  }
  return "look whether it runs";
}

/* How long, and whether it is the source that is silent or its values that are old when they come. */
static void put_silence(const struct answer_live *live, int source, const struct spoken *s,
                        struct buf *out)
{
  const char *id = live->feeds->sources[source].part.id;
  const struct answer_live_source *heard = live->sources ? &live->sources[source] : NULL;
  bool comes = heard && heard->heard_ms != INT64_MIN && isfinite(s->least_age_s) &&
               (double)(live->belief->now_ms - heard->heard_ms) * 1e-3 < s->least_age_s / 2;

  if (s->silent < s->points)
    buf_printf(out, "%d of the %d values of %s are old", s->silent, s->points, id);
  else if (!isfinite(s->least_age_s))
    buf_printf(out, "nothing came yet from %s", id);
  else {
    buf_printf(out, comes ? "%s sends, but what it sends is old, by " : "nothing from %s for ", id);
    when_print_span(out, s->least_age_s);
  }
  if (heard && !heard->connected && !(live->replay_ratio > 0))
    buf_printf(out, " (not connected%s%s)", heard->why ? ": " : "", heard->why ? heard->why : "");
}

struct lost {
  int source, count;
  const int *points; /* per gap: its silent point, or -1 */
};

static void put_values(const struct answer_live *live, const struct lost *lost, struct buf *out)
{
  bool all = lost->count <= NAMED_MOST;
  int said = 0;

  buf_printf(out, ": %d values%s", lost->count, all ? ": " : ", first ");
  for (int i = 0; i < live->belief->gap_count && said < (all ? NAMED_MOST : 1); i++) {
    const struct watch_gap *gap = &live->belief->gaps[i];
    int point = gap->needed ? lost->points[i] : -1;

    if (point >= 0 && live->feeds->points[point].source == lost->source)
      buf_printf(out, "%s%s", said++ ? ", " : "", live->feeds->points[point].part.id);
  }
}

static const char *words(const struct answer_live *live, const struct lost *lost,
                         struct arena *arena)
{
  struct spoken s = spoken_by(live, lost->source);
  struct buf text;

  buf_init(&text, 4000);
  put_silence(live, lost->source, &s, &text);
  put_values(live, lost, &text);
  buf_printf(&text, "; %s",
             live->replay_ratio > 0 ? "the table that is replayed says no more at this moment"
                                    : next_act(live->feeds->sources[lost->source].kind));

  const char *own = arena_strdup(arena, text.text);

  buf_release(&text);
  BUG_IF(!own);
  return own;
}

int live_lost(const struct answer_live *live, struct arena *arena, bool *of_gap, const char **out)
{
  int gaps = live->belief->gap_count, told = 0;
  int *points = ARENA_ARRAY(arena, int, (size_t)gaps + 1);

  BUG_IF(!points);
  for (int i = 0; i < gaps; i++)
    points[i] = live->belief->gaps[i].needed ? point_of(live, &live->belief->gaps[i]) : -1;
  for (int source = 0; source < live->feeds->source_count; source++) {
    struct lost lost = {.source = source, .points = points};

    for (int i = 0; i < gaps; i++)
      lost.count += points[i] >= 0 && live->feeds->points[points[i]].source == source;
    if (lost.count < 2) /* one value has its own sentence already */
      continue;
    for (int i = 0; i < gaps; i++)
      of_gap[i] = of_gap[i] || (points[i] >= 0 && live->feeds->points[points[i]].source == source);
    out[told++] = words(live, &lost, arena);
  }
  return told;
}
