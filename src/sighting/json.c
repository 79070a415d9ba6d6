/* What was told of glass, as JSON. */
#include "sighting/sighting_impl.h"

static void emit_moment(struct emit *json, const char *key, const struct sighting_moment *moment)
{
  if (moment->t_ms == INT64_MIN) {
    emit_null(json, key);
    return;
  }
  emit_object(json, key);
  when_emit(json, "at", moment->t_ms);
  emit_text(json, "who", moment->who);
  emit_int(json, "entry", moment->number);
  emit_text(json, "words", moment->words);
  emit_close(json);
}

static void emit_case(struct emit *json, const struct sighting_list *list,
                      const struct sighting_case *c)
{
  bool is_settled = c->settled.t_ms != INT64_MIN;

  emit_object(json, NULL);
  emit_text(json, "station", c->about);
  emit_bool(json, "in_suite", c->station >= 0);
  emit_text(json, "mark", c->told.mark);
  emit_text(json, "piece", c->told.piece);
  emit_int(json, "count", c->told.count);
  emit_text(json, "verdict", glass_verdict_key(c->told.verdict));
  emit_bool(json, "lost", c->is_lost);
  emit_text(json, "owner", c->owner < 0 ? NULL : list->facility->stations[c->owner].part.id);
  emit_int(json, "times", c->times);
  emit_moment(json, "first", &c->first);
  emit_moment(json, "last", &c->last);
  emit_moment(json, "home", &c->home);
  emit_int(json, "left", c->left);
  emit_text(json, "done", is_settled ? sighting_act_name(c->done) : NULL);
  emit_text(json, "how", c->how);
  emit_moment(json, "settled", &c->settled);
  emit_close(json);
}

static void emit_count(struct emit *json, const struct sighting_count *c)
{
  emit_object(json, NULL);
  emit_text(json, "station", c->about);
  emit_text(json, "mark", c->mark);
  emit_int(json, "sightings", c->sightings);
  emit_int(json, "cases", c->cases);
  emit_moment(json, "first", &c->first);
  emit_moment(json, "last", &c->last);
  emit_number(json, "mean_per_s", c->mean_per_s);
  emit_number(json, "low_per_s", c->low_per_s);
  emit_number(json, "high_per_s", c->high_per_s);
  emit_close(json);
}

static void emit_drawer(struct emit *json, const struct sighting_list *list,
                        const struct sighting_drawer *d)
{
  emit_object(json, NULL);
  emit_text(json, "station", list->facility->stations[d->station].part.id);
  emit_text(json, "drawer", d->piece->drawer);
  emit_text(json, "piece", d->piece->what);
  emit_text(json, "state", sighting_state_key(d->state));
  emit_int(json, "suite_count", d->piece->count);
  if (d->when.t_ms == INT64_MIN)
    emit_null(json, "counted");
  else
    emit_int(json, "counted", d->counted);
  emit_moment(json, "when", &d->when);
  emit_bool(json, "late", d->late);
  emit_int(json, "elsewhere", d->elsewhere);
  emit_close(json);
}

void sighting_json(const struct sighting_list *list, struct buf *out)
{
  const struct facility *f = list->facility;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.sightings.1");
  emit_text(&json, "suite", f->name);
  emit_text(&json, "label", f->label);
  emit_text(&json, "suite_sha256", f->sha256);
  when_emit(&json, "now", list->now_ms);
  when_emit(&json, "since", list->since_ms);
  emit_int(&json, "unread", list->unread);
  emit_int(&json, "open", list->open_count);
  emit_int(&json, "lost", list->lost_count);
  emit_array(&json, "cases");
  for (int i = 0; i < list->case_count; i++)
    emit_case(&json, list, &list->cases[i]);
  emit_close(&json);
  emit_array(&json, "counts");
  for (int i = 0; i < list->count_count; i++)
    emit_count(&json, &list->counts[i]);
  emit_close(&json);
  emit_array(&json, "drawers");
  for (int i = 0; i < list->drawer_count; i++)
    emit_drawer(&json, list, &list->drawers[i]);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
