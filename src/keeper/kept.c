#include "keeper/keeper_impl.h"

#include <string.h>

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
  const struct feeds *feeds = k->given.feeds;
  enum err_code code = record_latest(k->record, k->batch, feeds->point_count, err);

  for (int i = 0; code == ERR_OK && i < feeds->point_count; i++)
    if (k->batch[i].t_ms != INT64_MIN)
      watch_take(k->watch, &k->batch[i]);
  return code;
}

/* Stations that are withdrawn stay so until somebody releases them. */
static enum err_code take_withdrawals(struct keeper *k, struct err *err)
{
  static const enum record_kind kinds[] = {RECORD_WITHDRAWN, RECORD_RELEASED};
  const struct facility *f = k->given.facility;
  enum err_code code = ERR_OK;

  for (int s = 0; s < f->station_count && code == ERR_OK; s++) {
    int64_t last[2] = {0, 0};

    for (int i = 0; i < 2 && code == ERR_OK; i++) {
      struct record_wanted wanted = {.from_ms = INT64_MIN,
                                     .to_ms = INT64_MAX,
                                     .about = f->stations[s].part.id,
                                     .kind = (int)kinds[i],
                                     .known_ms = INT64_MAX,
                                     .most = 1};
      struct record_entry *list;
      struct arena arena;
      int count = 0;

      arena_init(&arena, 1 << 20);
      code = record_entries(k->record, &wanted, &arena, &list, &count, err);
      last[i] = code == ERR_OK && count > 0 ? list[0].number : 0;
      arena_release(&arena);
    }
    if (last[0] > last[1])
      watch_withdraw(k->watch, s, true);
  }
  return code;
}

enum err_code keeper_begin_record(struct keeper *k, struct err *err)
{
  enum err_code code;

  if (!k->given.record_path)
    return ERR_OK;
  code = record_open(k->given.record_path, RECORD_WRITE, &k->record, err);
  if (code == ERR_OK)
    code = record_bind(k->record, k->given.facility, k->given.feeds, keeper_now_ms(k), err);
  if (code == ERR_OK && !k->given.replay)
    code = take_latest(k, err);
  if (code == ERR_OK)
    code = take_withdrawals(k, err);
  if (code == ERR_OK)
    look_at_head(k);
  return code;
}

/* ---- samples ---- */

void keeper_keep(struct keeper *k, const struct feed_observation *list, int count)
{
  if (!k->record || count == 0)
    return;
  if (k->pending_count == 0)
    k->pending_since_ms = keeper_clock_ms(k);
  for (int i = 0; i < count; i++)
    if (k->pending_count < KEEPER_PENDING_MOST)
      k->pending[k->pending_count++] = list[i];
    else
      k->pending_lost++;
}

void keeper_commit(struct keeper *k, bool all)
{
  int64_t clock_ms = keeper_clock_ms(k);
  bool due = all || k->pending_count >= KEEPER_BATCH ||
             clock_ms - k->pending_since_ms >= KEEPER_COMMIT_MS || clock_ms < k->pending_since_ms;
  int done = 0;

  if (!k->record || k->pending_count == 0 || !due || (k->record_why[0] && clock_ms < k->retry_ms))
    return;
  while (done < k->pending_count) {
    struct record_added added;
    struct err err = {0};
    int some = k->pending_count - done < KEEPER_BATCH ? k->pending_count - done : KEEPER_BATCH;

    if (record_add(k->record, k->pending + done, some, &added, &err) != ERR_OK) {
      failed(k, &err);
      break;
    }
    done += some;
    k->record_why[0] = '\0';
  }
  memmove(k->pending, k->pending + done, (size_t)(k->pending_count - done) * sizeof *k->pending);
  k->pending_count -= done;
  k->pending_since_ms = clock_ms;
}

/* ---- entries ---- */

enum err_code keeper_append(struct keeper *k, struct record_entry *entry, struct err *err)
{
  enum err_code code;

  if (!k->record)
    return err_set(err, ERR_INPUT, "nothing is kept here: start the board with --record FILE");
  code = record_append(k->record, entry, err);
  if (code == ERR_OK) {
    k->head = entry->number;
    memcpy(k->head_hash, entry->hash_hex, sizeof k->head_hash);
  } else if (code != ERR_INPUT)
    failed(k, err);
  return code;
}

void keeper_note_event(struct keeper *k, int64_t t_ms, const char *about, const char *text,
                       const char *detail)
{
  struct record_entry entry = {.t_ms = t_ms,
                               .written_ms = keeper_now_ms(k),
                               .kind = RECORD_EVENT,
                               .about = about,
                               .who = "inward",
                               .text = text,
                               .detail = detail};
  struct err err = {0};

  if (k->record && keeper_append(k, &entry, &err) != ERR_OK)
    failed(k, &err);
}
