#include "keeper/keeper_impl.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* The keeper and the errands: told as they turn, answered by people, read back after a restart. */

/* ---- for the record ---- */

static void when_int(struct emit *json, const char *key, int64_t t_ms)
{
  if (t_ms == INT64_MIN)
    emit_null(json, key);
  else
    emit_int(json, key, t_ms);
}

/* inward.errand.1: all that a board needs to go on where another stopped. */
static void detail_json(const struct keeper *k, const struct errand *errand, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.errand.1");
  emit_text(&json, "station", k->given.facility->stations[errand->station].part.id);
  emit_text(&json, "state", errand_state_key(errand->state));
  when_int(&json, "asked_ms", errand->asked_ms);
  when_int(&json, "since_ms", errand->since_ms);
  when_int(&json, "moved_ms", errand->moved_ms);
  when_int(&json, "until_ms", errand->until_ms);
  when_int(&json, "said_ms", errand->said_ms);
  emit_number_if(&json, "to_m", errand->what.has_to_m, errand->what.to_m);
  emit_number_if(&json, "from_m", isfinite(errand->from_m), errand->from_m);
  emit_number(&json, "frees_m3_s", errand->what.frees_m3_s);
  emit_text(&json, "because", errand->because);
  emit_text(&json, "who", errand->who);
  emit_text(&json, "why", errand->text);
  emit_close(&json);
  emit_end(&json);
}

static int64_t int_of(const json_t *root, const char *key)
{
  const json_t *value = json_object_get(root, key);

  return json_is_integer(value) ? json_integer_value(value) : INT64_MIN;
}

static void text_of(const json_t *root, const char *key, char *out, size_t size)
{
  const char *text = json_string_value(json_object_get(root, key));

  snprintf(out, size, "%s", text ? text : "");
}

static bool read_detail(const struct keeper *k, const char *detail, struct errand *out)
{
  json_error_t error;
  json_t *root = json_loads(detail, JSON_REJECT_DUPLICATES, &error);
  const char *schema = json_string_value(json_object_get(root, "schema"));
  const char *station = json_string_value(json_object_get(root, "station"));
  const char *state = json_string_value(json_object_get(root, "state"));
  const json_t *to = json_object_get(root, "to_m"), *from = json_object_get(root, "from_m");
  bool read = schema && station && state && strcmp(schema, "inward.errand.1") == 0 &&
              facility_station_find(k->given.facility, station) >= 0 &&
              errand_state_find(state) >= 0 && int_of(root, "asked_ms") != INT64_MIN;

  if (read) {
    *out = (struct errand){.station = facility_station_find(k->given.facility, station),
                           .state = (enum errand_state)errand_state_find(state),
                           .asked_ms = int_of(root, "asked_ms"),
                           .since_ms = int_of(root, "since_ms"),
                           .moved_ms = int_of(root, "moved_ms"),
                           .until_ms = int_of(root, "until_ms"),
                           .said_ms = int_of(root, "said_ms"),
                           .from_m = json_is_number(from) ? json_number_value(from) : (double)NAN,
                           .reads_m = NAN,
                           .reads_age_s = NAN};
    out->what =
        (struct air_lower){.station = out->station,
                           .has_to_m = json_is_number(to),
                           .to_m = json_is_number(to) ? json_number_value(to) : 0,
                           .frees_m3_s = json_number_value(json_object_get(root, "frees_m3_s")),
                           .state_after = FACILITY_NOT_KNOWN};
    text_of(root, "because", out->because, sizeof out->because);
    text_of(root, "who", out->who, sizeof out->who);
    text_of(root, "why", out->text, sizeof out->text);
  }
  json_decref(root);
  return read;
}

/* ---- as they turn ---- */

static void span(struct buf *out, int64_t from_ms, int64_t to_ms)
{
  when_print_span(out, (double)(to_ms - from_ms) * 1e-3);
}

static void turn_words(const struct keeper *k, const struct errand *errand, int64_t t_ms,
                       struct buf *out)
{
  buf_printf(out, "%s, %s: ", k->given.facility->stations[errand->station].part.id,
             errand_state_name(errand->state));
  if (errand->state == ERRAND_ASKED)
    errand_words(k->errands, errand, out);
  else if (errand->state == ERRAND_MOVING) {
    buf_puts(out, "the sash began to come down, ");
    span(out, errand->asked_ms, t_ms);
    buf_puts(out, " after it was asked");
  } else {
    buf_printf(out, "%s, ", errand->because);
    span(out, errand->asked_ms, t_ms);
    buf_puts(out, " after it was asked");
  }
}

void keeper_errand_turned(void *arg, const struct errands *e, const struct errand *errand,
                          int64_t t_ms)
{
  struct keeper *k = arg;
  struct buf text, detail;

  (void)e; /* they are the keeper's own */
  k->values_changed = true;
  keeper_post_errand(k, errand, t_ms);
  if (k->answering) /* what a person did is an entry of its own */
    return;
  buf_init(&text, 2000);
  buf_init(&detail, 4000);
  turn_words(k, errand, t_ms, &text);
  detail_json(k, errand, &detail);
  keeper_note_event(
      k, &(struct keeper_told){.t_ms = t_ms,
                               .about = k->given.facility->stations[errand->station].part.id,
                               .text = text.text,
                               .detail = detail.text,
                               .after_replay = keeper_is_replay_over(k)});
  buf_release(&text);
  buf_release(&detail);
}

/* What needs its flow is kept out of every list: the belief says so, not the errand alone. */
static void tell_watch(struct keeper *k)
{
  for (int i = 0; i < k->given.facility->station_count; i++) {
    const char *said = errands_needs_flow(k->errands, i);

    watch_need_flow(k->watch, i, said ? said : keeper_run_needs_flow(k, i));
  }
}

void keeper_see_errands(struct keeper *k, const struct judge_seen *seen)
{
  errands_see(k->errands, seen);
  tell_watch(k);
}

void keeper_begin_errands_again(struct keeper *k)
{
  errands_begin_again(k->errands);
  tell_watch(k);
}

/* ---- answered ---- */

struct answering {
  struct record_entry *entry;
  bool done;
};

static void write_answer(struct keeper *k, struct record_entry *entry)
{
  struct err err = {0};

  if (k->given.record_path && keeper_append(k, entry, &err) != ERR_OK)
    keeper_note_event(k, &(struct keeper_told){.t_ms = entry->t_ms,
                                               .about = entry->about,
                                               .text = entry->text,
                                               .detail = entry->detail});
}

static enum err_code answer(struct keeper *k, void *arg, struct err *err)
{
  const struct answering *a = arg;
  struct record_entry *entry = a->entry;
  int station = facility_station_find(k->given.facility, entry->about);
  struct errand_answer given = {station, a->done, entry->who, a->done ? "" : entry->text,
                                entry->t_ms};
  struct buf detail, text, who;

  if (station < 0)
    return err_set(err, ERR_INPUT, "\"station\" must be the id of a station");
  k->answering = true;
  enum err_code code = errands_answer(k->errands, &given, err);

  k->answering = false;
  if (code != ERR_OK)
    return code;
  buf_init(&detail, 4000);
  buf_init(&text, RECORD_TEXT_MOST_BYTES);
  buf_init(&who, RECORD_SHORT_MOST_BYTES);
  detail_json(k, errands_at(k->errands, station), &detail);
  if (a->done)
    buf_puts(&text, "done");
  else
    buf_printf(&text, "cannot be lowered now: %s", entry->text);
  buf_printf(&who, "%s%s", entry->who[0] ? entry->who : "somebody at ",
             entry->who[0] ? "" : entry->about);
  entry->who = who.text;
  entry->text = text.text;
  entry->detail = detail.text;
  write_answer(k, entry);
  tell_watch(k);
  entry->who = entry->text = entry->detail = "";
  buf_release(&detail);
  buf_release(&text);
  buf_release(&who);
  return ERR_OK;
}

enum err_code keeper_answer(struct keeper *k, struct record_entry *entry, bool done,
                            struct err *err)
{
  struct answering answering = {entry, done};

  return keeper_do(k, answer, &answering, err);
}

/* ---- after a restart ---- */

/* The newest entry of a station that is of an errand. */
static enum err_code take_newest(struct keeper *k, int station, struct err *err)
{
  enum { LOOKED_AT = 200 };
  struct record_wanted wanted = {.from_ms = INT64_MIN,
                                 .to_ms = INT64_MAX,
                                 .about = k->given.facility->stations[station].part.id,
                                 .kind = -1,
                                 .known_ms = INT64_MAX,
                                 .most = LOOKED_AT};
  struct record_entry *list;
  struct arena arena;
  struct errand errand;
  int count = 0;

  arena_init(&arena, (size_t)LOOKED_AT * 3 * RECORD_TEXT_MOST_BYTES);
  enum err_code code = record_entries(k->record, &wanted, &arena, &list, &count, err);

  for (int i = count - 1; code == ERR_OK && i >= 0; i--)
    if ((list[i].kind == RECORD_EVENT || list[i].kind == RECORD_ANSWERED) &&
        read_detail(k, list[i].detail, &errand) && errand.station == station) {
      errands_restore(k->errands, &errand);
      break;
    }
  arena_release(&arena);
  return code;
}

enum err_code keeper_take_errands(struct keeper *k, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < k->given.facility->station_count && code == ERR_OK; i++)
    code = take_newest(k, i, err);
  if (code == ERR_OK)
    tell_watch(k);
  return code;
}
