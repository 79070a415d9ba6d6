/* When sashes were up: of each station's timeline only what tells its sash. */
#include "past/past_impl.h"

#include <math.h>

enum { USES_MOST = 1 << 18, WORK_BYTES = 256 << 20 };

struct taking {
  struct day_use *list;
  int count;
  bool full;
};

static void take(struct taking *t, const struct past_place *place, int station,
                 const struct past_signal *signal)
{
  bool opening = place->feeds->points[signal->point].what == FEEDS_OPENING;

  for (int i = 0; i < signal->count; i++) {
    const struct past_piece *p = &signal->list[i];

    if (p->known && !p->raised)
      continue;
    if (t->count == USES_MOST) {
      t->full = true;
      return;
    }
    t->list[t->count++] = (struct day_use){
        .station = station,
        .known = p->known,
        .from_ms = p->from_ms,
        .to_ms = p->to_ms,
        .opening_m = p->known && opening ? (p->low_si + p->high_si) / 2 : (double)NAN};
  }
}

/* The first signal that tells the sash: the feeds file's order is the order of trust. */
static const struct past_signal *sash_of(const struct past_timeline *timeline)
{
  for (int i = 0; i < timeline->signal_count; i++)
    if (timeline->signals[i].tells_sash)
      return &timeline->signals[i];
  return NULL;
}

enum err_code past_uses_ask(const struct past_place *place, const struct past_span *span,
                            struct arena *arena, struct day_uses *out, struct err *err)
{
  struct taking t = {.list = ARENA_ARRAY(arena, struct day_use, USES_MOST)};
  enum err_code code = ERR_OK;

  *out = (struct day_uses){.from_ms = span->from_ms, .to_ms = span->to_ms};
  if (!t.list)
    return err_set(err, ERR_LIMIT, "the record's sashes do not fit");
  for (int s = 0; code == ERR_OK && s < place->facility->station_count; s++) {
    struct past_timeline timeline;
    struct arena work;

    arena_init(&work, WORK_BYTES);
    code = past_timeline_ask(place, s, span, &work, &timeline, err);

    const struct past_signal *sash = code == ERR_OK ? sash_of(&timeline) : NULL;

    if (sash)
      take(&t, place, s, sash);
    else if (s < DAY_STATIONS_MOST)
      out->untold |= (uint64_t)1 << s;
    arena_release(&work);
  }
  if (code == ERR_OK && t.full)
    return err_set(err, ERR_LIMIT, "more movements of sashes than are looked at");
  out->list = t.list;
  out->count = t.count;
  return code;
}
