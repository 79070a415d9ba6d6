#include "serve/may_impl.h"

#include "serve/now_impl.h"
#include "standing/standing.h"

#include <string.h>
#include <time.h>

static enum err_code take(const struct facility *facility, const struct query *query,
                          struct may_request *r, const char **scene, struct arena *arena,
                          struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < query->count && code == ERR_OK; i++) {
    const char *key = query->pairs[i].key, *value = query->pairs[i].value;

    if (strcmp(key, "names") == 0)
      return err_set(err, ERR_USAGE, "names: the board gives ids only");
    if (strcmp(key, "scene") == 0) {
      *scene = value;
      code = strcmp(value, "live") == 0 ? ERR_OK : scene_named(facility, value, &r->scene, err);
    } else {
      code = may_take(r, key, value, arena, err);
    }
  }
  return code;
}

/* What is not known of the air that this station shares; NULL: nothing. */
static const char *doubt(const struct vapour_live *now, const struct facility *f, int station)
{
  const struct facility_station *s = &f->stations[station];

  if (now->outranks)
    return now->outranks;
  if (now->alarm && now->alarm[station])
    return "its own alarm sounds";
  for (int i = 0; i < now->gap_count; i++) {
    const struct vapour_gap *gap = &now->gaps[i];

    if (s->main >= 0 && gap->of_main && gap->of_main[s->main])
      return gap->text;
    for (int k = 0; k < f->supply_count; k++)
      for (int t = 0; t < f->supplies[k].feed_count; t++)
        if (gap->of_supply && gap->of_supply[k] && f->supplies[k].feeds[t].room == s->room)
          return gap->text;
  }
  return NULL;
}

/* Nobody may take it for a station of which nothing was told. */
static const struct may_stand unread = {
    .kind = "record",
    .say = "The record cannot be read: what people told of the station is not known.",
    .way = "Look at the station, and have the record's file looked at.",
    .source = "the record"};

/* What people told of the station, where something is kept. */
static void look_at_told(const struct facility *f, const struct serve_live *live,
                         const struct wet_place *wet, int station, struct may_request *r,
                         struct arena *arena)
{
  const struct standing_place place = {f, live->zone, wet, 0};
  struct standing_told *told;
  struct record *record = NULL;
  struct err err = {0};

  if (!live->record_path)
    return;
  enum err_code code = record_open(live->record_path, RECORD_READ, &record, &err);

  if (code == ERR_OK)
    code = standing_recorded(record, &place, r->now_ms, arena, &told, &err);
  if (code == ERR_OK) {
    standing_tell_may(&place, told, station, arena, r);
  } else {
    r->stands = &unread;
    r->stand_count = 1;
  }
  record_close(record);
}

static enum err_code look_at_now(const struct facility *f, const struct serve_live *live,
                                 const struct wet_place *wet, struct may_request *r,
                                 struct arena *arena, struct err *err)
{
  int station = r->station ? facility_station_find(f, r->station) : -1;
  const struct vapour_live *now = NULL;
  enum err_code code;

  if (station < 0)
    return ERR_OK; /* said by may_answer */
  code = now_live(f, live, arena, &now, err);
  if (code != ERR_OK)
    return code;
  r->live = true;
  r->scene = &now->scene;
  r->air_doubt = doubt(now, f, station);
  r->withdrawn_known = true;
  r->withdrawn = now->scene.stations[station].withdrawn ? "by a person, as the board has it" : NULL;
  look_at_told(f, live, wet, station, r, arena);
  return ERR_OK;
}

enum err_code may_get(const struct may *may, const struct serve_live *live,
                      const struct wet_place *wet, const struct query *query, struct arena *arena,
                      struct buf *out, struct err *err)
{
  const struct facility *facility = may_place(may)->facility;
  struct may_request r = {.now_ms = (int64_t)time(NULL) * 1000};
  const struct may_answer *answer;
  const char *scene = NULL;
  enum err_code code = take(facility, query, &r, &scene, arena, err);

  if (code == ERR_OK && live)
    r.now_ms = keeper_now_ms(live->keeper);
  /* Now is now: a question about another time does not get the air of this one. */
  if (code == ERR_OK && live && !r.from && (!scene || strcmp(scene, "live") == 0))
    code = look_at_now(facility, live, wet, &r, arena, err);
  if (code != ERR_OK)
    return code;
  answer = may_answer(may, &r, arena, err);
  if (!answer)
    return err->code;
  may_json(answer, out);
  return ERR_OK;
}
