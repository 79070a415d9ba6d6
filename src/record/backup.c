/* A copy of all of it, made in one reading, while the writer goes on. */
#include "record/record_impl.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static enum err_code copy_into(struct record *record, const char *part, struct err *err)
{
  sqlite3 *copy = NULL;
  sqlite3_backup *backup = NULL;
  enum err_code code = ERR_OK;
  int step = SQLITE_ERROR;

  if (sqlite3_open_v2(part, &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL) == SQLITE_OK)
    backup = sqlite3_backup_init(copy, "main", record->db, "main");
  if (backup)
    step =
        sqlite3_backup_step(backup, -1); /* in one go: a snapshot, whatever is written meanwhile */
  if (backup)
    sqlite3_backup_finish(backup);
  /* one plain file, without a log beside it */
  if (step == SQLITE_DONE &&
      sqlite3_exec(copy, "PRAGMA journal_mode = DELETE;", NULL, NULL, NULL) != SQLITE_OK)
    step = sqlite3_errcode(copy);
  if (step != SQLITE_DONE) {
    int failed = step == SQLITE_ERROR ? sqlite3_errcode(copy) : step;

    code = err_set(err, ERR_IO, "%.80s: the backup could not be written: %.80s", part,
                   failed == SQLITE_FULL ? "the disk is full" : sqlite3_errstr(failed));
  }
  sqlite3_close(copy);
  return code;
}

static bool to_disk(const char *path)
{
  int file = open(path, O_RDONLY | O_CLOEXEC);
  bool good = file >= 0 && fsync(file) == 0;

  if (file >= 0)
    close(file);
  return good;
}

static enum err_code refuse(const char *path, struct err *err)
{
  if (errno == EEXIST)
    return err_set(err, ERR_INPUT, "%.80s: something is there already; give another name", path);
  return err_set(err, ERR_IO, "%.80s: the backup could not be written: %.80s", path,
                 strerror(errno));
}

/* Its final name is taken only when all of it is on the disk. */
static enum err_code place(const char *part, const char *path, struct err *err)
{
  if (to_disk(part) && link(part, path) == 0)
    return ERR_OK;
  if ((errno == EPERM || errno == EOPNOTSUPP) && rename(part, path) == 0) /* a stick has no links */
    return ERR_OK;
  return refuse(path, err);
}

enum err_code record_backup(struct record *record, const char *path, struct err *err)
{
  struct stat about;
  enum err_code code;
  struct buf part;
  int file;

  if (path[0] == '\0')
    return err_set(err, ERR_INPUT, "where to? the name of the backup is empty");
  if (lstat(path, &about) == 0) {
    errno = EEXIST;
    return refuse(path, err);
  }
  buf_init(&part, strlen(path) + 40);
  buf_printf(&part, "%s.%ld.part", path, (long)getpid());
  file = open(part.text, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (file < 0) {
    code = refuse(path, err);
  } else {
    close(file);
    code = copy_into(record, part.text, err);
    if (code == ERR_OK)
      code = place(part.text, path, err);
    unlink(part.text);
  }
  buf_release(&part);
  return code;
}
