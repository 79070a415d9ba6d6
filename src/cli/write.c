#include "cli/write.h"

#include <errno.h>
#include <limits.h>
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

enum err_code cli_write_file(const char *path, const void *bytes, size_t size, bool replace,
                             struct err *err)
{
  char beside[PATH_MAX];
  struct stat about;

  if (snprintf(beside, sizeof beside, "%s.%ld.part", path, (long)getpid()) >= (int)sizeof beside)
    return err_set(err, ERR_INPUT, "%.120s...: the name is too long", path);
  if (lstat(path, &about) == 0) {
    if (!S_ISREG(about.st_mode))
      return err_set(err, ERR_INPUT, "%.120s: this is not a regular file; give another name", path);
    if (!replace)
      return err_set(err, ERR_INPUT,
                     "%.120s: it is there already; give another name, or add --replace", path);
  }

  FILE *file = fopen(beside, "wx");

  if (!file)
    return refuse(path, err);
  if (write_all(file, bytes, size) && move_into_place(beside, path, replace))
    return ERR_OK;
  enum err_code code = refuse(path, err);

  unlink(beside);
  return code;
}
