#include "wire/folder_impl.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/*
 * A folder in which files are put: tables and calendars.  Looked at every few seconds; a file is read
 * when it has not changed for a while, so that half a copy is not taken for a whole file.  Only regular files,
 * and no link: who may put a file there may not make us read another.  Files are left where they
 * are; what was read is known by the hash of its bytes, under whatever name it comes again.
 */
enum { MOST_FILES = 10000, MOST_HASHES = 100000 };

struct folder {
  struct folder_file *files; /* by name */
  int count;
  unsigned char (*hashes)[crypto_hash_sha256_BYTES];
  int hash_count;
  bool too_many;
  struct folder_calendars calendars;
};

static void free_files(struct folder_file *files, int count)
{
  for (int i = 0; i < count; i++)
    free(files[i].name);
  free(files);
}

static void free_folder(void *own)
{
  struct folder *folder = own;

  free_files(folder->files, folder->count);
  free(folder->hashes);
  free(folder);
}

/* ---- names ---- */

static bool ends_in(const char *name, const char *end)
{
  size_t n = strlen(name), e = strlen(end);

  return n >= e && strcmp(name + n - e, end) == 0;
}

/* Hidden files and what programs call a copy under way. */
static bool is_passed_over(const char *name)
{
  return name[0] == '.' || ends_in(name, "~") || ends_in(name, ".part") || ends_in(name, ".tmp") ||
         ends_in(name, ".filepart") || ends_in(name, ".crdownload");
}

static int by_name(const void *a, const void *b)
{
  const struct folder_file *left = a, *right = b;

  return strcmp(left->name, right->name);
}

/* The files there are now, by name; subfolders are nobody's business. */
static struct folder_file *list_names(struct wire_line *line, DIR *dir, int *count_out)
{
  struct folder_file *list = calloc(MOST_FILES, sizeof *list);
  struct folder *folder = line->own;
  bool too_many = false;
  const struct dirent *entry;
  int count = 0;

  if (!list)
    err_no_memory();
  while ((entry = readdir(dir))) { /* NOLINT(concurrency-mt-unsafe): a stream of its own */
    if (is_passed_over(entry->d_name))
      continue;
    if (count == MOST_FILES) {
      too_many = true;
      break;
    }
    list[count].name = strdup(entry->d_name);
    if (!list[count++].name)
      err_no_memory();
  }
  if (too_many && !folder->too_many)
    wire_refuse(line, "more than %d files in its folder; move away what was read", MOST_FILES);
  folder->too_many = too_many;
  qsort(list, (size_t)count, sizeof *list, by_name);
  *count_out = count;
  return list;
}

/* ---- what is known of a file ---- */

static bool same_file(const struct stat *a, const struct stat *b)
{
  return a->st_dev == b->st_dev && a->st_ino == b->st_ino && a->st_size == b->st_size &&
         a->st_mtim.tv_sec == b->st_mtim.tv_sec && a->st_mtim.tv_nsec == b->st_mtim.tv_nsec &&
         a->st_ctim.tv_sec == b->st_ctim.tv_sec && a->st_ctim.tv_nsec == b->st_ctim.tv_nsec;
}

static const struct folder_file *known_file(const struct folder *folder,
                                            const struct folder_file *like)
{
  return folder->count == 0
             ? NULL
             : bsearch(like, folder->files, (size_t)folder->count, sizeof *like, by_name);
}

static void note_change(struct folder_file *file, const struct folder_file *before)
{
  if (before && before->about.st_nlink > 0 && same_file(&before->about, &file->about)) {
    file->since_s = before->since_s;
    file->done = before->done;
  } else {
    file->since_s = wire_clock_s();
  }
}

/* ---- reading one ---- */

bool folder_is_known(struct wire_line *line, const char *bytes, size_t size)
{
  struct folder *folder = line->own;
  unsigned char hash[crypto_hash_sha256_BYTES];

  crypto_hash_sha256(hash, (const unsigned char *)bytes, size);
  for (int i = 0; i < folder->hash_count; i++)
    if (memcmp(folder->hashes[i], hash, sizeof hash) == 0)
      return true;
  if (!folder->hashes)
    folder->hashes = calloc(MOST_HASHES, sizeof *folder->hashes);
  if (!folder->hashes)
    err_no_memory();
  if (folder->hash_count == MOST_HASHES)
    folder->hash_count =
        0; /* begin anew: to read one twice is harmless, the record keeps the first */
  memcpy(folder->hashes[folder->hash_count++], hash, sizeof hash);
  return line->callbacks->known &&
         line->callbacks->known(line->callbacks->arg, line->index, bytes, size);
}

static bool read_bytes(int file, char *bytes, size_t size)
{
  size_t have = 0;

  while (have < size) {
    ssize_t got = read(file, bytes + have, size - have);

    if (got <= 0)
      return false;
    have += (size_t)got;
  }
  return true;
}

char *folder_read(int folder, const struct folder_file *file)
{
  int in = openat(folder, file->name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
  size_t size = (size_t)file->about.st_size;
  struct stat before, after;
  char *bytes = NULL;

  if (in < 0)
    return NULL;
  errno = 0;
  if (fstat(in, &before) == 0 && S_ISREG(before.st_mode) && same_file(&before, &file->about)) {
    bytes = malloc(size + 1);
    if (!bytes)
      err_no_memory();
    if (!read_bytes(in, bytes, size) || fstat(in, &after) != 0 || !same_file(&before, &after)) {
      free(bytes);
      bytes = NULL;
    } else {
      bytes[size] = '\0';
    }
  }
  int failed = errno;

  close(in);
  errno = failed;
  return bytes;
}

/* A file whose last line has no end may be half of one: it must have lain longer. */
static bool is_whole(const struct wire_line *line, const struct folder_file *file,
                     const char *bytes)
{
  size_t size = (size_t)file->about.st_size;

  return (size > 0 && bytes[size - 1] == '\n') ||
         wire_clock_s() - file->since_s >= line->pace->unended_s;
}

static void refuse_file(struct wire_line *line, struct folder_file *file, const char *why)
{
  wire_refuse(line, "%s: %s", file->name, why);
  file->done = true;
}

static void take_file(struct wire_line *line, int folder, struct folder_file *file)
{
  char *bytes = folder_read(folder, file);

  if (!bytes) {
    if (errno && errno != ENOENT)
      refuse_file(line, file, strerror(errno));
    return; /* else it just changed: the next look sees what it is then */
  }
  if (is_whole(line, file, bytes)) {
    file->done = true;
    if (!folder_is_known(line, bytes, (size_t)file->about.st_size))
      folder_take_table(line, file->name, bytes, (size_t)file->about.st_size);
  }
  free(bytes);
}

static void look_at(struct wire_line *line, int folder, struct folder_file *file)
{
  size_t most =
      line->source->kind == FEEDS_CALENDAR ? FEED_CALENDAR_MOST_BYTES : FEED_TABLE_MOST_BYTES;

  if (file->done || file->gone || S_ISDIR(file->about.st_mode))
    return;
  if (!S_ISREG(file->about.st_mode)) {
    refuse_file(line, file,
                S_ISLNK(file->about.st_mode)
                    ? "a link; those are not followed, put the file itself there"
                    : "no regular file");
  } else if (wire_clock_s() - file->since_s >= line->pace->settle_s) {
    if ((size_t)file->about.st_size > most)
      refuse_file(line, file, "it is larger than what is read");
    else if (file->about.st_size == 0)
      file->done = wire_clock_s() - file->since_s >= line->pace->unended_s;
    else if (line->source->kind != FEEDS_CALENDAR)
      take_file(line, folder, file);
  }
}

/* ---- a look ---- */

/* Stats every file, finds again what is known of it. */
static void look_into(struct wire_line *line, DIR *dir)
{
  struct folder *folder = line->own;
  struct folder_file *now;
  int count, at = dirfd(dir);

  now = list_names(line, dir, &count);
  for (int i = 0; i < count; i++) {
    now[i].gone = fstatat(at, now[i].name, &now[i].about, AT_SYMLINK_NOFOLLOW) != 0;
    note_change(&now[i], known_file(folder, &now[i]));
  }
  free_files(folder->files, folder->count);
  folder->files = now;
  folder->count = count;
  for (int i = 0; i < count && !wire_stopping(line); i++)
    look_at(line, at, &now[i]);
  if (line->source->kind == FEEDS_CALENDAR && !wire_stopping(line))
    folder_take_calendars(line, at, now, count, &folder->calendars);
}

void wire_run_folder(struct wire_line *line)
{
  char path[4096];

  if (!line->own) {
    line->own = calloc(1, sizeof(struct folder));
    line->forget = free_folder;
  }
  if (!line->own)
    err_no_memory();
  snprintf(path, sizeof path, "%s/%s", line->folder, line->source->table.folder);
  do {
    DIR *dir = opendir(path);

    if (!dir) {
      wire_down(line, "folder %s: %s", line->source->table.folder, strerror(errno));
      return;
    }
    if (line->up_s < 0)
      wire_up(line);
    look_into(line, dir);
    closedir(dir);
  } while (wire_wait(line, line->pace->look_s));
}
