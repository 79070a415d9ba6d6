#include "keeper/keeper_impl.h"

#include "past/past.h"

#include <sodium.h>
#include <string.h>

/* What others want done by the one thread that owns record and belief. */

enum err_code keeper_do(struct keeper *k,
                        enum err_code (*run)(struct keeper *k, void *arg, struct err *err),
                        void *arg, struct err *err)
{
  struct keeper_job job = {.run = run, .arg = arg, .err = err, .code = ERR_OK};

  pthread_mutex_lock(&k->lock);
  if (k->closing) {
    pthread_mutex_unlock(&k->lock);
    return err_set(err, ERR_IO, "the board is stopping");
  }
  *k->last_job = &job;
  k->last_job = &job.next;
  pthread_cond_signal(&k->turn);
  while (!job.done)
    pthread_cond_wait(&k->job_done, &k->lock);
  pthread_mutex_unlock(&k->lock);
  return job.code;
}

void keeper_run_jobs(struct keeper *k)
{
  for (;;) {
    pthread_mutex_lock(&k->lock);
    struct keeper_job *job = k->first_job;

    if (job) {
      k->first_job = job->next;
      if (!k->first_job)
        k->last_job = &k->first_job;
    }
    pthread_mutex_unlock(&k->lock);
    if (!job)
      return;
    enum err_code code = job->run(k, job->arg, job->err);

    pthread_mutex_lock(&k->lock);
    job->code = code;
    job->done = true; /* from here on it may be gone */
    pthread_cond_broadcast(&k->job_done);
    pthread_mutex_unlock(&k->lock);
  }
}

/* ---- entries ---- */

static enum err_code enter(struct keeper *k, void *arg, struct err *err)
{
  struct record_entry *entry = arg;
  int station = past_withdrawal_station(k->given.facility, entry);
  bool withdrawn = entry->kind == RECORD_WITHDRAWN;
  enum err_code code = keeper_append(k, entry, err);

  /* A station that somebody takes out of use is out of use, whether it could be written down or not. */
  if (station >= 0 && (withdrawn || code == ERR_OK))
    withdrawn ? keeper_withdraw(k, station, entry) : keeper_release_station(k, station);
  if (code == ERR_OK &&
      (withdrawn || entry->kind == RECORD_RELEASED || entry->kind == RECORD_STOPPED))
    keeper_look_for_stop(k);
  if (code == ERR_OK && entry->kind == RECORD_RUN)
    keeper_look_for_runs(k);
  if (code == ERR_OK &&
      (entry->kind == RECORD_ROUND || entry->kind == RECORD_BATH || entry->kind == RECORD_WASTE))
    keeper_look_for_reminders(k);
  if (entry->kind == RECORD_ACKNOWLEDGED)
    keeper_acknowledge(k, entry);
  else if (entry->kind == RECORD_UNSHELVED)
    keeper_take_back(k, entry);
  else if (entry->kind == RECORD_INCIDENT)
    keeper_incident_told(k);
  else if (code == ERR_OK && (entry->kind == RECORD_CONFIRMED || entry->kind == RECORD_REFUTED))
    keeper_answered(k, entry);
  return code;
}

enum err_code keeper_enter(struct keeper *k, struct record_entry *entry, struct err *err)
{
  return keeper_do(k, enter, entry, err);
}

struct vain {
  const struct record_entry *entry;
  const char *why;
};

static bool stands_alarm(const struct keeper *k, const char *about)
{
  for (int i = 0; i < alarms_count(k->alarms); i++) {
    const struct alarm *alarm = alarms_at(k->alarms, i);

    if (strcmp(alarm->about, about) == 0 && (alarm->is_so || alarm->state == ALARM_RETURNED))
      return true;
  }
  return false;
}

static enum err_code look_in_vain(struct keeper *k, void *arg, struct err *err)
{
  struct vain *vain = arg;
  const struct record_entry *entry = vain->entry;
  int station = facility_station_find(k->given.facility, entry->about);

  (void)err;
  /* One with a detail releases from a stop (lists.h), and gives back nothing. */
  if (entry->kind == RECORD_RELEASED && !*entry->detail && station >= 0 &&
      !watch_is_withdrawn(k->watch, station))
    vain->why =
        "it was not withdrawn, so nothing was given back; a stop's restart list has its own "
        "release";
  if (entry->kind == RECORD_ACKNOWLEDGED && !stands_alarm(k, entry->about))
    vain->why = "no alarm of it stands, so none was acknowledged";
  return ERR_OK;
}

const char *keeper_in_vain(struct keeper *k, const struct record_entry *entry)
{
  struct vain vain = {.entry = entry};
  struct err err = {0};

  return keeper_do(k, look_in_vain, &vain, &err) == ERR_OK ? vain.why : NULL;
}

/* ---- files ---- */

struct read_file {
  int source;
  const char *name, *report;
  const void *bytes;
  size_t size;
};

static enum err_code keep_file(struct keeper *k, void *arg, struct err *err)
{
  const struct read_file *file = arg;
  const char *source = k->given.feeds->sources[file->source].part.id;
  int64_t now_ms = keeper_now_ms(k);
  bool already = false;
  struct arena arena;

  if (!k->record)
    return ERR_OK;
  keeper_commit(k, true); /* the file's values first: what is known by its hash is in the record */
  struct record_raw raw = {source, file->name, file->bytes, file->size, now_ms};
  enum err_code code = record_keep_raw(k->record, &raw, &already, err);

  if (code != ERR_OK || already)
    return code;
  arena_init(&arena, RECORD_TEXT_MOST_BYTES + 1024);
  struct record_entry entry = {
      .t_ms = now_ms,
      .written_ms = now_ms,
      .kind = RECORD_TAKEN,
      .about = "",
      .who = "inward",
      .text = arena_printf(&arena, "%s: %s: %s", source, file->name, file->report),
      .detail = ""};

  if (entry.text)
    code = keeper_append(k, &entry, err);
  keeper_incident_told(k); /* its values may be of an old one */
  arena_release(&arena);
  return code;
}

void keeper_file(void *arg, int source, const char *name, const void *bytes, size_t size,
                 const char *report)
{
  struct read_file file = {source, name, report, bytes, size};
  struct err err = {0};
  enum err_code code = keeper_do(arg, keep_file, &file, &err);

  (void)code; /* the views say why the record fails */
}

static enum err_code is_known(struct keeper *k, void *arg, struct err *err)
{
  struct read_file *file = arg;
  unsigned char hash[crypto_hash_sha256_BYTES];
  char hex[2 * sizeof hash + 1];
  struct arena arena;
  const void *bytes = NULL;
  size_t size = 0;
  enum err_code code;

  if (!k->record)
    return ERR_OK;
  crypto_hash_sha256(hash, file->bytes, file->size);
  sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
  arena_init(&arena, (size_t)512 << 20);
  code = record_raw(k->record, hex, &arena, &bytes, &size, err);
  file->name = code == ERR_OK && bytes ? "known" : NULL;
  arena_release(&arena);
  return code;
}

bool keeper_known(void *arg, int source, const void *bytes, size_t size)
{
  struct read_file file = {.source = source, .bytes = bytes, .size = size};
  struct err err = {0};

  return keeper_do(arg, is_known, &file, &err) == ERR_OK && file.name != NULL;
}
