#include "keeper/keeper_impl.h"

#include <stdlib.h>
#include <string.h>

enum { VIEW_MOST_BYTES = 8 << 20 };

/* ---- sources ---- */

static void tell_source(struct keeper *k, int i, int64_t now_ms)
{
  const struct facility_part *part = &k->given.feeds->sources[i].part;
  struct buf text;

  buf_init(&text, 600);
  buf_printf(&text, "%s is %s%s%s", part->name, k->sources[i].connected ? "connected" : "lost",
             k->sources[i].why ? ": " : "", k->sources[i].why ? k->sources[i].why : "");
  keeper_note_event(
      k, &(struct keeper_told){.t_ms = now_ms, .about = part->id, .text = text.text, .detail = ""});
  buf_release(&text);
}

/* What it says and nobody can take: the views tell of now, an entry for later. */
static void tell_trouble(struct keeper *k, int i, const struct wire_health *health, int64_t now_ms)
{
  const struct feeds_source *source = &k->given.feeds->sources[i];
  struct keeper_trouble *t = &k->troubles[i];
  long refused = health->refused - t->refused, dropped = health->dropped - t->dropped;
  int64_t since_ms = keeper_clock_ms(k) - t->told_ms;
  struct buf text;

  if ((refused <= 0 && dropped <= 0) || (t->told && since_ms >= 0 && since_ms < KEEPER_TROUBLE_MS))
    return;
  buf_init(&text, 600);
  buf_printf(&text, "%s: ", source->part.name);
  if (refused > 0)
    buf_printf(&text, "%ld not taken%s%s", refused, health->why[0] ? ", the last: " : "",
               health->why);
  if (dropped > 0)
    buf_printf(&text, "%s%ld values left out: it says more than %d a second ('at most')",
               refused > 0 ? "; " : "", dropped, source->most_per_s);
  keeper_note_event(k,
                    &(struct keeper_told){
                        .t_ms = now_ms, .about = source->part.id, .text = text.text, .detail = ""});
  buf_release(&text);
  *t = (struct keeper_trouble){health->refused, health->dropped, true, keeper_clock_ms(k)};
}

void keeper_look_at_sources(struct keeper *k, int64_t now_ms)
{
  const struct wire *wire = atomic_load(&k->wire);

  if (k->given.connect && !wire)
    return; /* not begun: that is no loss */
  for (int i = 0; i < k->given.feeds->source_count; i++) {
    struct answer_live_source *s = &k->sources[i];
    enum feeds_kind kind = k->given.feeds->sources[i].kind;
    struct wire_health health = {.connected = true, .heard_ms = INT64_MIN};

    if (wire && kind != FEEDS_HAND && kind != FEEDS_WEBHOOK)
      wire_look(wire, i, &health);
    s->connected = health.connected;
    s->heard_ms = health.heard_ms > k->source_heard_ms[i] ? health.heard_ms : k->source_heard_ms[i];
    memcpy(k->source_why[i], health.why, sizeof k->source_why[i]);
    s->why = k->source_why[i][0] ? k->source_why[i] : NULL;
    if (k->source_seen && s->connected != k->source_was[i])
      tell_source(k, i, now_ms);
    k->source_was[i] = s->connected;
    tell_trouble(k, i, &health, now_ms);
  }
  k->source_seen = true;
}

/* ---- views ---- */

static void publish(struct keeper *k, struct keeper_shown *shown)
{
  pthread_mutex_lock(&k->lock);
  struct keeper_shown *old = k->newest;

  k->newest = shown;
  pthread_mutex_unlock(&k->lock);
  if (old)
    keeper_view_release(&old->view);
  pthread_mutex_lock(&k->waking);
  if (k->wake)
    k->wake(k->wake_arg);
  pthread_mutex_unlock(&k->waking);
}

static struct answer_live_record record_words(const struct keeper *k, char *text, size_t size)
{
  const char *why = k->given.record_path ? k->record_why : "no --record FILE was given";

  snprintf(text, size, "%s%s", why,
           k->pending_lost + k->events_lost > 0 ? "; some of what came meanwhile is lost" : "");
  return (struct answer_live_record){.kept = k->record && !k->record_why[0],
                                     .why = text[0] ? text : NULL,
                                     .head = k->head,
                                     .head_hash = k->head > 0 ? k->head_hash : NULL};
}

/* What others add to a view, each in its own file. */
static void add_others(void *arg, struct emit *json)
{
  struct keeper_shown_alarms *shown = arg;

  keeper_add_alarms(shown, json);
  errands_json(shown->keeper->errands, shown->now_ms, json);
  keeper_add_messages(shown->keeper, json);
  keeper_faults_json(shown->keeper->faults, json);
  keeper_add_runs(shown->keeper, json);
  reminders_json(shown->keeper->reminders, shown->now_ms, json);
}

void keeper_show(struct keeper *k, int64_t now_ms)
{
  struct keeper_shown *shown = calloc(1, sizeof *shown);
  struct judge_now judged = judge_now(k->judge);
  struct keeper_shown_alarms shown_alarms = {k->alarms, k, now_ms};
  struct answer_live_asked asked;
  struct arena arena;
  char words[300];

  if (!shown)
    err_no_memory();
  arena_init(&arena, SIZE_MAX);
  struct watch_belief belief = watch_believe(k->watch, now_ms, &arena);
  struct answer_live live = {.facility = k->given.facility,
                             .feeds = k->given.feeds,
                             .belief = &belief,
                             .air = judged.air,
                             .held = judged.held,
                             .sources = k->sources,
                             .zone = k->given.zone,
                             .earlier = judged.known.air ? &judged.known : NULL,
                             .withdrawn = k->withdrawn,
                             .record = record_words(k, words, sizeof words),
                             .number = ++k->views,
                             .since_ms = judged.since_ms,
                             .replay_ratio = k->given.replay ? k->given.replay_speed : 0,
                             .asked = errands_named(k->errands, &asked) ? &asked : NULL,
                             .add = add_others,
                             .add_arg = &shown_alarms};

  *shown = (struct keeper_shown){
      .view = {.number = live.number,
               .now_ms = now_ms,
               .is_known = judged.has_state && judged.state != FACILITY_NOT_KNOWN},
      .keeper = k,
      .holders = 1};
  buf_init(&shown->view.json, VIEW_MOST_BYTES);
  answer_live_json(&live, &shown->view.json);
  buf_init(&shown->view.text, VIEW_MOST_BYTES);
  if (k->given.texts) {
    answer_live_text(&live, UNITS_SYSTEM_SI, &shown->view.text);
    keeper_faults_text(k, &shown->view.text);
  }
  BUG_IF(shown->view.json.full || shown->view.text.full);
  arena_release(&arena);
  k->viewed_ms = keeper_clock_ms(k);
  k->solved_changed = k->values_changed = false;
  publish(k, shown);
}

const struct keeper_view *keeper_view(struct keeper *k)
{
  pthread_mutex_lock(&k->lock);
  struct keeper_shown *shown = k->newest;

  if (shown)
    shown->holders++;
  pthread_mutex_unlock(&k->lock);
  return shown ? &shown->view : NULL;
}

void keeper_view_release(const struct keeper_view *view)
{
  union {
    const struct keeper_view *lent;
    struct keeper_shown *own;
  } it = {.lent = view};
  struct keeper *k = it.own->keeper;

  pthread_mutex_lock(&k->lock);
  bool last = --it.own->holders == 0;

  pthread_mutex_unlock(&k->lock);
  if (!last)
    return;
  buf_release(&it.own->view.json);
  buf_release(&it.own->view.text);
  free(it.own);
}

void keeper_on_view(struct keeper *k, void (*wake)(void *arg), void *arg)
{
  pthread_mutex_lock(&k->waking);
  k->wake = wake;
  k->wake_arg = arg;
  pthread_mutex_unlock(&k->waking);
}
