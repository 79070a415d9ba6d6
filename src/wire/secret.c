#include "wire/wire_impl.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Words that must not be known: from the environment, or from a file that is its owner's alone. */

void wire_forget_secret(char word[WIRE_SECRET_MOST])
{
  sodium_memzero(word, WIRE_SECRET_MOST);
}

static enum err_code take_word(const char *where, const char *word, size_t size, char *out,
                               struct err *err)
{
  while (size > 0 && (word[size - 1] == '\n' || word[size - 1] == '\r'))
    size--;
  if (size == 0)
    return err_set(err, ERR_INPUT, "%.100s is empty", where);
  if (size >= WIRE_SECRET_MOST)
    return err_set(err, ERR_INPUT, "%.100s holds more than %d bytes", where, WIRE_SECRET_MOST - 1);
  if (memchr(word, '\0', size) || memchr(word, '\n', size))
    return err_set(err, ERR_INPUT, "%.100s holds more than one line", where);
  memcpy(out, word, size);
  out[size] = '\0';
  return ERR_OK;
}

static enum err_code from_environment(const char *where, char *out, struct err *err)
{
  const char *word = getenv(where + 4);

  if (!word)
    return err_set(err, ERR_INPUT, "%.100s: the environment has no such variable", where);
  return take_word(where, word, strlen(word), out, err);
}

/* The mode itself is looked at: bits do not stop root, whom a service may run as. */
static enum err_code check_owner_only(const char *where, int file, struct err *err)
{
  struct stat st;

  if (fstat(file, &st) != 0)
    return err_set(err, ERR_INPUT, "%.100s: %s", where, strerror(errno));
  if (!S_ISREG(st.st_mode))
    return err_set(err, ERR_INPUT, "%.100s is no regular file", where);
  if (st.st_mode & (S_IRWXG | S_IRWXO))
    return err_set(err, ERR_INPUT,
                   "%.100s is open to others (mode %03o); 'chmod 600' makes it its owner's alone",
                   where, (unsigned)(st.st_mode & 0777));
  if (st.st_uid != geteuid() && st.st_uid != 0)
    return err_set(err, ERR_INPUT, "%.100s belongs to another user", where);
  return ERR_OK;
}

static enum err_code read_word(const char *where, int file, char *out, struct err *err)
{
  char bytes[WIRE_SECRET_MOST + 2];
  ssize_t size = read(file, bytes, sizeof bytes);
  enum err_code code;

  if (size < 0)
    code = err_set(err, ERR_INPUT, "%.100s: %s", where, strerror(errno));
  else
    code = take_word(where, bytes, (size_t)size, out, err);
  sodium_memzero(bytes, sizeof bytes);
  return code;
}

static enum err_code from_file(const char *where, const char *folder, char *out, struct err *err)
{
  const char *name = where + 5;
  char path[4096];
  int length = name[0] == '/' ? snprintf(path, sizeof path, "%s", name)
                              : snprintf(path, sizeof path, "%s/%s", folder, name);

  if (length < 0 || (size_t)length >= sizeof path)
    return err_set(err, ERR_INPUT, "%.100s: the name is too long", where);

  int file = open(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);

  if (file < 0)
    return err_set(err, ERR_INPUT, "%.100s: %s", where,
                   errno == ELOOP ? "it is a link, and those are not followed" : strerror(errno));

  enum err_code code = check_owner_only(where, file, err);

  if (!code)
    code = read_word(where, file, out, err);
  close(file);
  return code;
}

enum err_code wire_secret(const char *where, const char *folder, char out[WIRE_SECRET_MOST],
                          struct err *err)
{
  out[0] = '\0';
  if (strncmp(where, "env:", 4) == 0)
    return from_environment(where, out, err);
  if (strncmp(where, "file:", 5) == 0)
    return from_file(where, folder, out, err);
  return err_set(err, ERR_INPUT, "a secret is named as env:NAME or file:PATH");
}
