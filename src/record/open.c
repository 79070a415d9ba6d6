/* Opening and closing; one writer at a time. */
#include "record/record_impl.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum { BUSY_MS = 5000, BOUND_MOST_BYTES = 64 << 20 };

static char *joined(const char *a, const char *b, const char *c)
{
  size_t size = strlen(a) + strlen(b) + strlen(c) + 1;
  char *text = malloc(size);

  if (!text)
    err_no_memory();
  snprintf(text, size, "%s%s%s", a, b, c);
  return text;
}

/* ---- the writer's lock: a file beside it, for SQLite's own locks let writers take turns ---- */

/* Is the file that we locked still the one of that name?  Its last owner may have taken it away. */
static bool still_there(int lock, const char *path)
{
  struct stat ours, named;

  return fstat(lock, &ours) == 0 && stat(path, &named) == 0 && ours.st_dev == named.st_dev &&
         ours.st_ino == named.st_ino;
}

static enum err_code lock_refused(const struct record *record, int lock, struct err *err)
{
  char who[24] = "";
  ssize_t size = read(lock, who, sizeof who - 1);

  who[size > 0 ? strspn(who, "0123456789") : 0] = '\0';
  return err_set(err, ERR_IO,
                 "%.80s: %s%s writes it already (the board?); one writer at a time. Stop that one, "
                 "or write there",
                 record->path, who[0] ? "process " : "another process", who);
}

static enum err_code lock_once(struct record *record, bool *again_out, struct err *err)
{
  int lock = open(record->lock_path, O_RDWR | O_CREAT | O_CLOEXEC, 0644);

  *again_out = false;
  if (lock < 0)
    return err_set(err, ERR_IO,
                   "%.80s: its folder may not be written (%.60s); a record needs files "
                   "beside it",
                   record->path, strerror(errno));
  if (flock(lock, LOCK_EX | LOCK_NB) != 0) {
    enum err_code code = lock_refused(record, lock, err);

    close(lock);
    return code;
  }
  if (!still_there(lock, record->lock_path)) {
    close(lock);
    *again_out = true;
    return ERR_OK;
  }
  record->lock = lock;
  if (ftruncate(lock, 0) == 0) /* the number is for people; the lock holds without it */
    dprintf(lock, "%ld\n", (long)getpid());
  return ERR_OK;
}

static enum err_code take_lock(struct record *record, struct err *err)
{
  const char *file = sqlite3_db_filename(record->db, "main"); /* links resolved */
  enum err_code code;
  bool again;

  record->lock_path = joined(file, "-writer", "");
  do
    code = lock_once(record, &again, err);
  while (code == ERR_OK && again);
  return code;
}

/* ---- opening ---- */

static enum err_code connect_to(struct record *record, const char *name, int flags, struct err *err)
{
  if (sqlite3_open_v2(name, &record->db, flags | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK) {
    if (!record->db)
      err_no_memory();
    return record_fail(record, "opening it", err);
  }
  sqlite3_extended_result_codes(record->db, 1);
  sqlite3_busy_timeout(record->db, BUSY_MS);
  return record_run(record, "PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;",
                    "opening it", err);
}

static enum err_code open_writer(struct record *record, struct err *err)
{
  enum err_code code =
      connect_to(record, record->path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, err);

  if (code == ERR_OK && sqlite3_db_readonly(record->db, "main") == 1)
    return err_set(err, ERR_IO, "%.80s: it may not be written; look at its permissions",
                   record->path);
  if (code == ERR_OK)
    code = take_lock(record, err);
  if (code == ERR_OK)
    code = record_schema(record, err);
  if (code == ERR_OK)
    code = record_run(record,
                      "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                      "PRAGMA secure_delete = OFF; PRAGMA journal_size_limit = 67108864;",
                      "opening it", err);
  return code;
}

/* "file:" names need these three escaped. */
static char *immutable_name(const char *path)
{
  struct buf name;
  char *copy;

  buf_init(&name, 3 * strlen(path) + 100);
  buf_puts(&name, "file:");
  for (const char *p = path; *p; p++)
    if (strchr("%?#", *p))
      buf_printf(&name, "%%%02x", (unsigned)*p);
    else
      buf_putc(&name, *p);
  buf_puts(&name, "?immutable=1");
  copy = joined(name.text, "", "");
  buf_release(&name);
  return copy;
}

/* Does a log with something in it stand beside the file? */
static bool has_log(const char *path)
{
  char *name = joined(path, "-wal", "");
  struct stat about;
  bool has = stat(name, &about) == 0 && about.st_size > 0;

  free(name);
  return has;
}

/* Where nothing can be written beside the file, nobody writes it: it is read as it is. */
static enum err_code open_unchanging(struct record *record, struct err *err)
{
  char *name;
  enum err_code code;

  if (has_log(record->path))
    return err_set(err, ERR_IO,
                   "%.80s: what was written last stands in its -wal file, and reading that needs a "
                   "folder that may be written: copy both elsewhere",
                   record->path);
  sqlite3_close(record->db);
  record->db = NULL;
  name = immutable_name(record->path);
  code = connect_to(record, name, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, err);
  free(name);
  return code;
}

static enum err_code open_reader(struct record *record, struct err *err)
{
  struct stat about;
  enum err_code code;

  if (stat(record->path, &about) != 0)
    return err_set(
        err, errno == ENOENT || errno == ENOTDIR ? ERR_INPUT : ERR_IO, "%.80s: %s", record->path,
        errno == ENOENT || errno == ENOTDIR ? "there is no such record" : strerror(errno));
  code = connect_to(record, record->path, SQLITE_OPEN_READONLY, err);
  if (code == ERR_OK)
    code = record_run(record, "PRAGMA query_only = ON; SELECT 1 FROM sqlite_schema LIMIT 1;",
                      "opening it", NULL);
  int refused = code == ERR_OK ? SQLITE_OK : sqlite3_errcode(record->db) & 0xff;

  if (refused == SQLITE_CANTOPEN || refused == SQLITE_READONLY) /* no room for its log's index */
    code = open_unchanging(record, err);
  else if (code != ERR_OK)
    code = record_fail(record, "opening it", err);
  return code == ERR_OK ? record_schema(record, err) : code;
}

enum err_code record_open(const char *path, enum record_mode mode, struct record **record_out,
                          struct err *err)
{
  struct stat about;
  struct record *record;
  enum err_code code;

  if (path[0] == '\0')
    return err_set(err, ERR_INPUT, "which record? its name is empty");
  if (stat(path, &about) == 0 && !S_ISREG(about.st_mode))
    return err_set(err, ERR_INPUT, "%.80s: this is %s, no record", path,
                   S_ISDIR(about.st_mode) ? "a folder" : "not a regular file");
  record = calloc(1, sizeof *record);
  if (!record)
    err_no_memory();
  record->mode = mode;
  record->lock = -1;
  record->path = joined(path, "", "");
  arena_init(&record->arena, BOUND_MOST_BYTES);
  code = mode == RECORD_WRITE ? open_writer(record, err) : open_reader(record, err);
  if (code != ERR_OK) {
    record_close(record);
    return code;
  }
  *record_out = record;
  return ERR_OK;
}

void record_close(struct record *record)
{
  if (!record)
    return;
  for (int i = 0; i < SQL_COUNT; i++)
    sqlite3_finalize(record->statements[i]);
  sqlite3_close(record->db);
  if (record->lock >= 0) {
    unlink(record->lock_path); /* while we hold it, so that nobody waits on a name that is gone */
    close(record->lock);
  }
  for (int i = 0; i < record->point_count; i++)
    free(record->points[i].series);
  free(record->points);
  free(record->dirty);
  free(record->lock_path);
  free(record->suite);
  free(record->path);
  arena_release(&record->arena);
  free(record);
}
