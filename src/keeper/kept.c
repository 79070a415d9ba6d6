#include "keeper/keeper_impl.h"

#include "past/past.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The keeper's thread and the record.  A record that fails is told in every view, and tried again. */

static void failed(struct keeper *k, const struct err *err)
{
  snprintf(k->record_why, sizeof k->record_why, "%s", err->text);
  k->retry_ms = keeper_clock_ms(k) + KEEPER_RETRY_MS;
}

static void look_at_head(struct keeper *k)
{
  struct err err = {0};

  if (record_head(k->record, &k->head, k->head_hash, &err) != ERR_OK)
    failed(k, &err);
}

/* ---- beginning: what was known when the program stopped ---- */

static enum err_code take_latest(struct keeper *k, struct err *err)
{
  int count = k->given.feeds->point_count;
  struct feed_observation *list = calloc((size_t)count + 1, sizeof *list);
  enum err_code code;

  if (!list)
    err_no_memory();
  code = record_latest(k->record, list, count, err);
  for (int i = 0; code == ERR_OK && i < count; i++)
    if (list[i].t_ms != INT64_MIN)
      watch_take(k->watch, &list[i]);
  free(list);
  return code;
}

/* Which files this is judged by; told where they are not those of before. */
static void settings_words(const struct keeper *k, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.settings.1");
  emit_text(&json, "suite", k->given.facility->name);
  emit_text(&json, "suite_sha256", k->given.facility->sha256);
  emit_text(&json, "feeds_sha256", k->given.feeds->sha256);
  emit_text(&json, "engine", answer_engine_version());
  emit_close(&json);
  emit_end(&json);
}

static enum err_code tell_settings(struct keeper *k, struct err *err)
{
  struct record_wanted wanted = {.from_ms = INT64_MIN,
                                 .to_ms = INT64_MAX,
                                 .about = "",
                                 .kind = RECORD_SETTINGS,
                                 .known_ms = INT64_MAX,
                                 .most = 1};
  int64_t now_ms = keeper_now_ms(k);
  struct record_entry *list;
  struct buf detail, text;
  struct arena arena;
  int count = 0;

  arena_init(&arena, 1 << 20);
  buf_init(&detail, 4096);
  buf_init(&text, 4096);
  settings_words(k, &detail);
  enum err_code code = record_entries(k->record, &wanted, &arena, &list, &count, err);

  if (code == ERR_OK && (count == 0 || strcmp(list[0].detail, detail.text) != 0)) {
    buf_printf(&text, "%s: suite %.12s, feeds %.12s, engine %s",
               count > 0 ? "other settings than before" : "the first settings of this record",
               k->given.facility->sha256, k->given.feeds->sha256, answer_engine_version());
    struct record_entry entry = {.t_ms = now_ms,
                                 .written_ms = keeper_wall_ms(k),
                                 .kind = RECORD_SETTINGS,
                                 .about = "",
                                 .who = "inward",
                                 .text = text.text,
                                 .detail = detail.text};

    code = record_append(k->record, &entry, err);
  }
  buf_release(&text);
  buf_release(&detail);
  arena_release(&arena);
  return code;
}

/* What a replay writes is told apart from what was. */
static enum err_code tell_replay(struct keeper *k, struct err *err)
{
  int64_t now_ms = keeper_wall_ms(k);
  struct record_entry entry = {.t_ms = now_ms,
                               .written_ms = now_ms,
                               .kind = RECORD_NOTE,
                               .about = "",
                               .who = "inward",
                               .text = "REPLAY: what the board writes from here on until it is "
                                       "stopped is of a table that is replayed",
                               .detail = ""};

  return record_append(k->record, &entry, err);
}

/* A suite that was renamed goes on in its record, and that is told; what stands there keeps its name. */
static enum err_code take_over(struct keeper *k, struct err *err)
{
  const char *name = k->given.facility->name ? k->given.facility->name : "(no name)", *was;
  struct arena arena;

  arena_init(&arena, 1 << 20);
  enum err_code code = record_suite(k->record, &arena, &was, err);

  record_take_over(k->record, k->given.facility);
  if (code == ERR_OK && was && !record_is_of(was, k->given.facility)) {
    int64_t now_ms = keeper_wall_ms(k);
    struct record_entry entry = {.t_ms = now_ms,
                                 .written_ms = now_ms,
                                 .kind = RECORD_NOTE,
                                 .about = "",
                                 .who = "inward",
                                 .text =
                                     arena_printf(&arena,
                                                  "what is written from here on is of the suite "
                                                  "'%.200s'; before it was of '%.200s'",
                                                  name, was),
                                 .detail = ""};

    code = record_append(k->record, &entry, err);
  }
  arena_release(&arena);
  return code;
}

static enum err_code open_record(struct keeper *k, struct err *err)
{
  enum err_code code = record_open(k->given.record_path, RECORD_WRITE, &k->record, err);

  if (code == ERR_OK)
    code = take_over(k, err);
  if (code == ERR_OK)
    code = record_bind(k->record, k->given.facility, k->given.feeds, keeper_now_ms(k), err);
  if (code == ERR_OK && !k->given.replay)
    code = take_latest(k, err);
  if (code == ERR_OK)
    code = keeper_take_withdrawals(k, err);
  if (code == ERR_OK) {
    keeper_look_for_stop(k);
    keeper_look_for_runs(k);
  }
  if (code == ERR_OK && !k->given.replay)
    code = keeper_take_errands(k, err);
  if (code == ERR_OK && !k->given.replay)
    code = keeper_take_reminders(k, err);
  if (code == ERR_OK)
    code = keeper_count_answers(k, err);
  if (code == ERR_OK)
    code = tell_settings(k, err);
  if (code == ERR_OK && k->given.replay)
    code = tell_replay(k, err);
  if (code == ERR_OK) {
    k->record_why[0] = '\0';
    look_at_head(k);
    return ERR_OK;
  }
  record_close(k->record);
  k->record = NULL;
  return code;
}

/* Who is withdrawn must be known before anybody is told that there is air. */
static enum err_code read_withdrawals(struct keeper *k, struct err *err)
{
  struct err said = {0};

  if (access(k->given.record_path, F_OK) != 0) /* there never was one */
    return ERR_OK;
  enum err_code code = record_open(k->given.record_path, RECORD_READ, &k->record, &said);

  if (code == ERR_OK)
    code = keeper_take_withdrawals(k, &said);
  if (code == ERR_OK)
    code = keeper_count_answers(k, &said);
  if (code == ERR_OK)
    code = record_bind(k->record, k->given.facility, k->given.feeds, keeper_now_ms(k), &said);
  if (code == ERR_OK) {
    keeper_look_for_stop(k);
    keeper_look_for_runs(k);
  }
  record_close(k->record);
  k->record = NULL;
  return code == ERR_OK ? code
                        : err_set(err, ERR_IO,
                                  "%.300s; so it is not known which stations are withdrawn. Put a "
                                  "backup in its place, or name another record",
                                  said.text);
}

enum err_code keeper_begin_record(struct keeper *k, struct err *err)
{
  struct err said = {0};
  enum err_code code = k->given.record_path ? open_record(k, &said) : ERR_OK;

  if (code == ERR_OK && k->record && !k->given.replay)
    code = keeper_recall_alarms(k, &said);

  if (code == ERR_IO) { /* a full disk, a place that may not be written: the board goes on */
    failed(k, &said);
    record_close(k->record);
    k->record = NULL;
    return read_withdrawals(k, err);
  }
  if (code != ERR_OK && err)
    *err = said;
  return code;
}

static void write_events(struct keeper *k);

/* ---- samples ---- */

void keeper_keep(struct keeper *k, const struct feed_observation *list, int count)
{
  if (!k->given.record_path || count == 0)
    return;
  if (k->pending_count == 0)
    k->pending_since_ms = keeper_clock_ms(k);
  for (int i = 0; i < count; i++)
    if (k->pending_count < KEEPER_PENDING_MOST)
      k->pending[k->pending_count++] = list[i];
    else
      k->pending_lost++;
}

/* As many as the record takes now. */
static void write_pending(struct keeper *k)
{
  int done = 0;

  while (done < k->pending_count && !k->record_why[0]) {
    struct record_added added;
    struct err err = {0};
    int some = k->pending_count - done < KEEPER_BATCH ? k->pending_count - done : KEEPER_BATCH;

    if (record_add(k->record, k->pending + done, some, &added, &err) != ERR_OK)
      failed(k, &err);
    else
      done += some;
  }
  memmove(k->pending, k->pending + done, (size_t)(k->pending_count - done) * sizeof *k->pending);
  k->pending_count -= done;
}

/* A record that failed, or could not be opened, is tried again now and then. */
static bool try_again(struct keeper *k, int64_t clock_ms)
{
  struct err err = {0};

  if (k->record_why[0] && clock_ms < k->retry_ms)
    return false;
  if (!k->record && open_record(k, &err) != ERR_OK) {
    failed(k, &err);
    return false;
  }
  k->record_why[0] = '\0';
  return true;
}

void keeper_commit(struct keeper *k, bool all)
{
  int64_t clock_ms = keeper_clock_ms(k);
  bool due = all || k->pending_count >= KEEPER_BATCH || k->record_why[0] || k->event_count > 0 ||
             clock_ms - k->pending_since_ms >= KEEPER_COMMIT_MS || clock_ms < k->pending_since_ms;
  bool waits = k->pending_count > 0 || k->event_count > 0 || k->record_why[0];

  if (!k->given.record_path || !due || !waits || !try_again(k, clock_ms))
    return;
  write_pending(k);
  write_events(k);
  k->pending_since_ms = clock_ms;
}

/* ---- entries ---- */

enum err_code keeper_append(struct keeper *k, struct record_entry *entry, struct err *err)
{
  enum err_code code;

  if (!k->given.record_path)
    return err_set(err, ERR_INPUT, "nothing is kept here: start the board with --record FILE");
  if (!k->record)
    return err_set(err, ERR_IO, "%s", k->record_why);
  entry->written_ms = keeper_wall_ms(k);
  code = record_append(k->record, entry, err);
  if (code == ERR_OK) {
    k->head = entry->number;
    memcpy(k->head_hash, entry->hash_hex, sizeof k->head_hash);
  } else if (code != ERR_INPUT)
    failed(k, err);
  return code;
}

/* ---- events: they wait where the record cannot take them ---- */

static void drop_event(struct keeper_event *event)
{
  free(event->about);
  free(event->text);
  free(event->detail);
}

static void forget_first(struct keeper *k, int count)
{
  for (int i = 0; i < count; i++)
    drop_event(&k->events[i]);
  memmove(k->events, k->events + count, (size_t)(k->event_count - count) * sizeof *k->events);
  k->event_count -= count;
}

void keeper_drop_events(struct keeper *k)
{
  forget_first(k, k->event_count);
}

static char *copy(const char *text)
{
  char *copied = strdup(text);

  if (!copied)
    err_no_memory();
  return copied;
}

static void write_events(struct keeper *k)
{
  bool may_stop = false; /* all fans lost, the building's alarm: work stops by that, too */
  int done = 0;

  while (done < k->event_count && k->record && !k->record_why[0]) {
    const struct keeper_event *event = &k->events[done];
    struct record_entry entry = {.t_ms = event->t_ms,
                                 .written_ms = keeper_now_ms(k),
                                 .kind = RECORD_EVENT,
                                 .about = event->about,
                                 .who = "inward",
                                 .text = event->text,
                                 .detail = event->detail};
    struct err err = {0};
    enum err_code code = keeper_append(k, &entry, &err);

    if (code != ERR_OK && code != ERR_INPUT)
      break;
    may_stop = may_stop || past_may_be_of_stop(event->detail);
    k->events_lost += code == ERR_INPUT; /* too long a text: it would never be taken */
    done++;
  }
  forget_first(k, done);
  if (may_stop)
    keeper_look_for_stop(k);
}

void keeper_note_event(struct keeper *k, const struct keeper_told *told)
{
  if (k->given.told)
    k->given.told(k->given.told_arg, told);
  if (!k->given.record_path)
    return;
  if (k->event_count == KEEPER_EVENTS_MOST) {
    forget_first(k, 1);
    k->events_lost++;
  }
  k->events[k->event_count++] =
      (struct keeper_event){told->t_ms, copy(told->about), copy(told->text), copy(told->detail)};
}
