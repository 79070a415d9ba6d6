#include "cli/write.h"

#include "cli/read.h"

#include <errno.h>
#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static enum err_code refuse(const char *path, struct err *err)
{
  return err_set(err, ERR_IO, "%.120s: it could not be written: %.60s", path, strerror(errno));
}

/* Everything, to the disk. */
static bool write_all(FILE *file, const void *bytes, size_t size)
{
  bool good = fwrite(bytes, 1, size, file) == size && fflush(file) == 0 && fsync(fileno(file)) == 0;

  return fclose(file) == 0 && good;
}

/* Into its place; a file that appeared there meanwhile stays unless `replace`. */
static bool move_into_place(const char *from, const char *path, bool replace)
{
  if (replace)
    return rename(from, path) == 0;
  if (link(from, path) == 0) {
    unlink(from);
    return true;
  }
  return (errno == EPERM || errno == EOPNOTSUPP) &&
         rename(from, path) == 0; /* a stick knows no links */
}

/* What takes the place of a file is read and written by the same people; a new one is left as it is. */
static bool take_after(FILE *file, const char *path)
{
  struct stat about, own;

  if (lstat(path, &about) != 0)
    return true;
  if (fstat(fileno(file), &own) != 0)
    return false;
  if ((about.st_uid != own.st_uid || about.st_gid != own.st_gid) &&
      fchown(fileno(file), about.st_uid, about.st_gid) != 0)
    about.st_mode &= ~(mode_t)(S_ISUID | S_ISGID); /* it stays ours: nobody but root gives away */
  return fchmod(fileno(file), about.st_mode & 07777) == 0;
}

/* A rename asks the folder only; who took the right to write from a file means it. */
static bool is_protected(const char *path)
{
  struct stat about;

  return lstat(path, &about) == 0 && ((about.st_mode & 0222) == 0 || access(path, W_OK) != 0);
}

static enum err_code put(const char *path, const void *bytes, size_t size, bool replace,
                         struct err *err)
{
  char beside[PATH_MAX];

  if (snprintf(beside, sizeof beside, "%s.%ld.part", path, (long)getpid()) >= (int)sizeof beside)
    return err_set(err, ERR_INPUT, "%.120s...: the name is too long", path);

  if (replace && is_protected(path))
    return err_set(err, ERR_IO, "%.120s: it is protected from writing; allow that first", path);

  FILE *file = fopen(beside, "wx");

  if (!file)
    return refuse(path, err);
  if (replace && !take_after(file, path)) {
    enum err_code code = refuse(path, err);

    fclose(file);
    unlink(beside);
    return code;
  }
  if (write_all(file, bytes, size) && move_into_place(beside, path, replace))
    return ERR_OK;
  enum err_code code = refuse(path, err);

  unlink(beside);
  return code;
}

static enum err_code may_write(const char *path, bool replace, const char *tail, struct err *err)
{
  struct stat about;

  if (path[0] == '\0')
    return err_set(err, ERR_INPUT, "where to? the name of the file to write is empty");
  if (lstat(path, &about) == 0) {
    if (!S_ISREG(about.st_mode))
      return err_set(err, ERR_INPUT, "%.120s: this is not a regular file; give another name", path);
    if (!replace)
      return err_set(err, ERR_INPUT, "%.120s: it is there already%s", path, tail);
    if (cli_was_read(path))
      return err_set(err, ERR_INPUT,
                     "%.120s: what is to be written was made of this file; give another name",
                     path);
  }
  return ERR_OK;
}

enum err_code cli_may_write(const char *path, bool replace, struct err *err)
{
  return may_write(path, replace, "; give another name, or add --replace", err);
}

enum err_code cli_may_write_new(const char *path, struct err *err)
{
  return may_write(path, false, ", and is never written over; give another name", err);
}

enum err_code cli_write_file(const char *path, const void *bytes, size_t size, bool replace,
                             struct err *err)
{
  enum err_code code = cli_may_write(path, replace, err);

  return code == ERR_OK ? put(path, bytes, size, replace, err) : code;
}

enum err_code cli_save_file(const char *path, const void *bytes, size_t size, struct err *err)
{
  struct stat about;

  if (lstat(path, &about) == 0 && !S_ISREG(about.st_mode))
    return err_set(err, ERR_INPUT, "%.120s: this is not a regular file; give another name", path);
  return put(path, bytes, size, true, err);
}

enum err_code cli_change_file(const struct facility_text *was, const void *bytes, size_t size,
                              struct err *err)
{
  struct facility_text now = {0};
  struct stat about;
  enum err_code code = cli_read_file(was->file, SIZE_MAX >> 1, &now, err);
  bool same =
      code == ERR_OK && now.size == was->size && memcmp(now.bytes, was->bytes, now.size) == 0;

  cli_free_file(&now);
  if (code != ERR_OK)
    return code;
  if (!same)
    return err_set(err, ERR_INPUT,
                   "%.120s: somebody has changed it meanwhile; it stays so. Run this again",
                   was->file);
  if (lstat(was->file, &about) != 0 || !S_ISREG(about.st_mode))
    return err_set(err, ERR_INPUT,
                   "%.120s: this is a link to a file; name the file itself, for it is replaced",
                   was->file);
  return put(was->file, bytes, size, true, err);
}
