#include "fault/fault_impl.h"
#include "numeric/numeric.h"

#include <math.h>

/* One finding after the other: the point that stands out most, what explains it, what is left then. */

enum { FINDINGS_MOST = 6 };

struct search {
  struct fault_watch *w;
  struct arena *arena;
  struct fault_case c;
  bool *off;
};

/* Moments at or after the change, of those kept. */
static int moments_since(const struct fault_watch *w, int64_t since_ms)
{
  int count = 0;

  while (count < w->kept_count && fault_kept(w, count)->t_ms >= since_ms)
    count++;
  return count;
}

static int most_off(const struct search *s)
{
  int best = -1;

  for (int j = 0; j < s->w->model->channel_count; j++)
    if (s->off[j] && (best < 0 || numeric_exceeds(fault_track_ratio(s->w, j),
                                                  fault_track_ratio(s->w, best), 0.0)))
      best = j;
  return best;
}

/* What the best explains by more than half of what it is off needs no finding of its own. */
static void take_off(struct search *s, const struct fault_candidate *best)
{
  size_t channels = (size_t)s->w->model->channel_count;

  for (int j = 0; j < s->w->model->channel_count; j++) {
    double said = fault_explains(s->w, &s->c, best, j), was = 0;
    int count = 0;

    for (int back = 0; back < s->c.moments; back++) {
      const struct fault_cell *cell = &fault_kept(s->w, back)->cells[j];

      if (!cell->fresh)
        continue;
      was += (double)cell->z - s->c.removed[(size_t)back * channels + (size_t)j];
      count++;
    }
    if (best->channel == j || (count > 0 && was * said > 0 && fabs(said) > fabs(was / count) / 2))
      s->off[j] = false;
  }
  for (int back = 0; back < s->w->kept_count; back++)
    for (int j = 0; j < s->w->model->channel_count; j++)
      if (fault_kept(s->w, back)->cells[j].fresh)
        s->c.removed[(size_t)back * channels + (size_t)j] +=
            fault_says(s->w, best, fault_kept(s->w, back), j);
}

static void one_finding(struct search *s, int channel, struct fault_finding *out)
{
  struct fault_candidate *list;
  int count;

  s->c.since_ms = fault_track_since_ms(s->w, channel);
  s->c.moments = moments_since(s->w, s->c.since_ms);
  s->c.channel = channel;
  count = fault_rank(s->w, &s->c, s->arena, &list);
  fault_words(s->w, &s->c, list, count, s->arena, out);
  out->point = s->w->model->channels[channel].as->part.id;
  if (count > 0)
    take_off(s, &list[0]);
  s->off[channel] = false;
}

struct fault_findings fault_find(struct fault_watch *w, const struct fault_count *counts,
                                 struct arena *arena)
{
  size_t channels = (size_t)w->model->channel_count;
  struct search s = {.w = w, .arena = arena, .off = ARENA_ARRAY(arena, bool, channels + 1)};
  struct fault_finding *list = ARENA_ARRAY(arena, struct fault_finding, FINDINGS_MOST);
  int count = 0, channel;

  s.c.removed = ARENA_ARRAY(arena, double, channels *FAULT_KEPT + 1);
  BUG_IF(!s.off || !list || !s.c.removed);
  s.c.off = s.off;
  for (int j = 0; j < w->model->channel_count; j++)
    s.off[j] = fault_track_ratio(w, j) >= 1;
  while (count < FINDINGS_MOST && (channel = most_off(&s)) >= 0) {
    struct fault_finding *f = &list[count++];

    one_finding(&s, channel, f);
    f->in_notes = f->guess_count == 0 || !counts ||
                  !fault_has_proved(w->model->settings, &counts[f->guesses[0].kind]);
  }
  return (struct fault_findings){count, list};
}
