#ifndef TESTS_SUPPORT_SMALL_ZIP_H
#define TESTS_SUPPORT_SMALL_ZIP_H

#include <archive.h>
#include <archive_entry.h>
#include <stddef.h>
#include <string.h>

/* A zip in memory, for tests: zip_begin, zip_part or zip_blanks for each part, zip_end. */
struct small_zip {
  struct archive *archive;
  size_t used;
  char bytes[1 << 20];
};

static inline void zip_begin(struct small_zip *zip, const char *options, const char *password)
{
  zip->archive = archive_write_new();
  archive_write_set_format_zip(zip->archive);
  if (options)
    archive_write_set_options(zip->archive, options);
  if (password)
    archive_write_set_passphrase(zip->archive, password);
  archive_write_open_memory(zip->archive, zip->bytes, sizeof zip->bytes, &zip->used);
}

static inline void zip_header(struct small_zip *zip, const char *name, size_t size)
{
  struct archive_entry *entry = archive_entry_new();

  archive_entry_set_pathname(entry, name);
  archive_entry_set_size(entry, (la_int64_t)size);
  archive_entry_set_filetype(entry, AE_IFREG);
  archive_entry_set_perm(entry, 0644);
  archive_write_header(zip->archive, entry);
  archive_entry_free(entry);
}

static inline void zip_part(struct small_zip *zip, const char *name, const char *text)
{
  zip_header(zip, name, strlen(text));
  archive_write_data(zip->archive, text, strlen(text));
}

/* A part of `before`, then `piece` so many times, then `after`. */
static inline void zip_repeat(struct small_zip *zip, const char *name, const char *const parts[3],
                              size_t times)
{
  static char block[1 << 16];
  size_t piece = strlen(parts[1]), fit = sizeof block / piece;

  zip_header(zip, name, strlen(parts[0]) + piece * times + strlen(parts[2]));
  archive_write_data(zip->archive, parts[0], strlen(parts[0]));
  for (size_t i = 0; i < fit; i++)
    memcpy(block + i * piece, parts[1], piece);
  for (size_t left = times; left > 0;) {
    size_t now = left < fit ? left : fit;

    archive_write_data(zip->archive, block, now * piece);
    left -= now;
  }
  archive_write_data(zip->archive, parts[2], strlen(parts[2]));
}

static inline void zip_end(struct small_zip *zip)
{
  archive_write_close(zip->archive);
  archive_write_free(zip->archive);
}

#endif
