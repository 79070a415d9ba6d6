#include "keeper/keeper_impl.h"

#include <stdio.h>
#include <string.h>

/* The keeper and what goes out: alarms as they come, errands as they are asked.  Putting waits for nothing. */

static bool is_wanted(const struct feeds_message *m, enum feeds_priority priority)
{
  return priority != FEEDS_NOBODY && m->alarms != FEEDS_NOBODY && priority <= m->alarms;
}

/* What another alarm explains is told in that one's message. */
void keeper_post_alarm(struct keeper *k, const struct alarms *alarms, const struct alarm_turn *turn)
{
  const struct alarm *alarm = alarms_at(alarms, turn->index);
  struct buf text;
  char cause[120];

  if (!k->post || turn->kind != ALARM_TURN_ON || alarm->state != ALARM_ACTIVE)
    return;
  buf_init(&text, 1000);
  alarms_message(alarms, turn->index, &text);
  snprintf(cause, sizeof cause, "alarm %s %s", feeds_when_name(alarm->rule->when), alarm->about);
  for (int i = 0; i < k->given.feeds->message_count; i++)
    if (is_wanted(&k->given.feeds->messages[i], alarm->priority))
      post_put(k->post, i,
               &(struct post_item){.cause = cause,
                                   .what = "alarm",
                                   .priority = feeds_priority_name(alarm->priority),
                                   .about = alarm->about,
                                   .text = text.text,
                                   .t_ms = turn->t_ms});
  buf_release(&text);
}

void keeper_post_errand(struct keeper *k, const struct errand *errand, int64_t t_ms)
{
  const char *id = k->given.facility->stations[errand->station].part.id;
  struct buf text;
  char cause[120];

  if (!k->post || errand->state != ERRAND_ASKED || errand->asked_ms != t_ms)
    return;
  buf_init(&text, 1000);
  buf_printf(&text, "%s: ", id);
  errand_words(k->errands, errand, &text);
  snprintf(cause, sizeof cause, "errand %s", id);
  for (int i = 0; i < k->given.feeds->message_count; i++)
    if (k->given.feeds->messages[i].errands)
      post_put(k->post, i,
               &(struct post_item){.cause = cause,
                                   .what = "errand",
                                   .priority = "",
                                   .about = id,
                                   .text = text.text,
                                   .t_ms = t_ms});
  buf_release(&text);
}

/* ---- whether they go ---- */

struct outcome {
  int channel;
  bool sent;
  const char *why;
};

static enum err_code tell(struct keeper *k, void *arg, struct err *err)
{
  const struct outcome *o = arg;
  const struct facility_part *part = &k->given.feeds->messages[o->channel].part;
  struct buf text;

  (void)err;
  buf_init(&text, 600);
  if (o->sent)
    buf_printf(&text, "messages %s are sent again", part->id);
  else
    buf_printf(&text, "messages %s are not sent: %s", part->id, o->why);
  keeper_note_event(
      k, &(struct keeper_told){
             .t_ms = keeper_now_ms(k), .about = part->id, .text = text.text, .detail = ""});
  k->values_changed = true;
  buf_release(&text);
  return ERR_OK;
}

/* From a thread of the post: it waits for the keeper, never the other way round. */
static void told(void *arg, int channel, bool sent, const char *why)
{
  struct keeper *k = arg;
  struct outcome outcome = {channel, sent, why};
  struct err err = {0};
  enum err_code code = keeper_do(k, tell, &outcome, &err);

  (void)code; /* the views say it, too */
}

enum err_code keeper_open_post(struct keeper *k, struct err *err)
{
  struct post_settings settings = {.feeds = k->given.feeds,
                                   .folder = k->given.feeds_folder,
                                   .suite = k->given.facility->name,
                                   .label = k->given.facility->label,
                                   .told = told,
                                   .arg = k,
                                   .pause_s = post_pause_usual_s,
                                   .most_s = post_most_usual_s};

  if (!k->given.connect || k->given.feeds->message_count == 0)
    return ERR_OK; /* a replay tells nobody */
  return post_open(&settings, &k->post, err);
}

void keeper_add_messages(struct keeper *k, struct emit *json)
{
  emit_array(json, "messages");
  for (int i = 0; k->post && i < k->given.feeds->message_count; i++) {
    const struct feeds_message *m = &k->given.feeds->messages[i];
    struct post_health h;

    post_look(k->post, i, &h);
    emit_object(json, NULL);
    emit_text(json, "id", m->part.id);
    emit_text(json, "name", m->part.name);
    emit_text(json, "by", m->url ? "webhook" : "mail");
    emit_int(json, "sent", h.sent);
    emit_int(json, "not_sent", h.not_sent);
    emit_int(json, "held", h.held);
    emit_bool(json, "failing", h.failing);
    when_emit(json, "last_sent", h.sent_ms);
    emit_text(json, "why", h.why[0] ? h.why : NULL);
    emit_close(json);
  }
  emit_close(json);
}
