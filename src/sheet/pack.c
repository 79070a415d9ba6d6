#include "sheet/pack_impl.h"

#include "base/utf8.h"

#include <archive.h>
#include <archive_entry.h>
#include <string.h>
#include <strings.h>

/* How much larger than its zip a workbook may be, once it is large at all: text packs fifty to one,
 * and a bomb a thousand to one. */
enum { RATIO_MOST = 400, RATIO_FROM = 8 << 20 };

static bool same_name(const char *a, const char *b)
{
  return strcasecmp(a, b) == 0;
}

const char *pack_find(const struct pack *pack, const char *name)
{
  for (int i = 0; i < pack->count; i++)
    if (same_name(pack->parts[i].name, name))
      return pack->parts[i].name;
  return NULL;
}

const char *pack_find_like(const struct pack *pack, const char *begin, const char *end)
{
  size_t first = strlen(begin), last = strlen(end);

  for (int i = 0; i < pack->count; i++) {
    const char *name = pack->parts[i].name;
    size_t size = strlen(name);

    if (size >= first + last && strncasecmp(name, begin, first) == 0 &&
        same_name(name + size - last, end))
      return name;
  }
  return NULL;
}

void pack_plain(struct pack *pack, struct reading *r, struct pack_part *parts, int count)
{
  *pack = (struct pack){.r = r, .parts = parts, .count = count};
}

static struct archive *open_zip(const void *bytes, size_t size)
{
  struct archive *zip = archive_read_new();

  if (!zip)
    err_no_memory();
  /* By its directory at the end, never by what merely stands in it: the two can differ. */
  if (archive_read_support_format_zip_seekable(zip) != ARCHIVE_OK ||
      archive_read_open_memory(zip, bytes, size) != ARCHIVE_OK) {
    archive_read_free(zip);
    return NULL;
  }
  return zip;
}

/* Slashes as they should be; NULL for a name that is no text, which no part of ours is. */
static const char *name_of(struct archive_entry *entry, struct arena *scratch)
{
  const char *name = archive_entry_pathname(entry);
  char *copy = name && !utf8_fault(name) ? arena_strdup(scratch, name) : NULL;

  for (char *c = copy; c && *c; c++)
    *c = *c == '\\' ? '/' : *c;
  return copy;
}

static bool damaged(struct reading *r)
{
  return sheet_refuse(r, 0, 0,
                      "the workbook is damaged or cut short (its zip directory cannot be "
                      "read); copy it again, or open it and save it again");
}

static bool add_part(struct pack *pack, struct archive_entry *entry)
{
  const char *name = name_of(entry, &pack->r->scratch);

  if (archive_entry_is_encrypted(entry))
    return sheet_refuse(pack->r, 0, 0,
                        "the file is locked with a password; take the password off "
                        "(save it without one) and try again");
  if (!name)
    return true;
  if (pack->count == SHEET_MOST_PARTS)
    return sheet_refuse(pack->r, 0, 0,
                        "more than %d parts are packed in this file; that is no list "
                        "of stations: save the one sheet that is needed as .csv",
                        SHEET_MOST_PARTS);
  if (pack_find(pack, name))
    return sheet_refuse(pack->r, 0, 0,
                        "the part %s is packed twice; the file is damaged: open it "
                        "and save it again",
                        name);
  pack->parts[pack->count++].name = name;
  return true;
}

bool pack_open(struct pack *pack, struct reading *r, const void *bytes, size_t size)
{
  struct archive *zip = open_zip(bytes, size);
  struct archive_entry *entry;
  bool good = true;
  int status = ARCHIVE_OK;

  *pack = (struct pack){.r = r, .bytes = bytes, .size = size};
  pack->parts = ARENA_ARRAY(&r->scratch, struct pack_part, SHEET_MOST_PARTS);
  if (!zip || !pack->parts)
    return damaged(r);
  while (good &&
         ((status = archive_read_next_header(zip, &entry)) == ARCHIVE_OK || status == ARCHIVE_WARN))
    good = add_part(pack, entry);
  archive_read_free(zip);
  if (good && status != ARCHIVE_EOF)
    return damaged(r);
  return good;
}

static bool within_limits(struct pack *pack, const char *name, size_t more)
{
  pack->unpacked += more;
  if (pack->unpacked <= SHEET_MOST_UNPACKED &&
      (pack->unpacked <= RATIO_FROM || pack->unpacked / RATIO_MOST <= pack->size))
    return true;
  return sheet_refuse(pack->r, 0, 0,
                      "%s: unpacked, the file grows beyond %zu MB, which no list of "
                      "stations does; save the one sheet that is needed as .csv",
                      name, pack->unpacked / 1000000);
}

static bool feed_entry(struct pack *pack, struct archive *zip, const char *name,
                       bool (*take)(void *to, const char *, size_t), void *to)
{
  for (;;) {
    const void *piece;
    size_t size;
    la_int64_t offset;
    int status = archive_read_data_block(zip, &piece, &size, &offset);

    if (status == ARCHIVE_EOF)
      return true;
    if (status != ARCHIVE_OK)
      return sheet_refuse(pack->r, 0, 0,
                          "%s: this part of the workbook is damaged; copy the file "
                          "again, or open it and save it again",
                          name);
    if (!within_limits(pack, name, size) || !take(to, piece, size))
      return false;
  }
}

static bool feed_plain(struct pack *pack, const char *name,
                       bool (*take)(void *to, const char *, size_t), void *to)
{
  for (int i = 0; i < pack->count; i++)
    if (same_name(pack->parts[i].name, name))
      return take(to, pack->parts[i].bytes, pack->parts[i].size);
  return false;
}

bool pack_feed(struct pack *pack, const char *name, bool (*take)(void *to, const char *, size_t),
               void *to)
{
  struct archive_entry *entry;

  if (!pack->bytes)
    return feed_plain(pack, name, take, to);

  struct archive *zip = open_zip(pack->bytes, pack->size);
  bool good = false, found = false;

  while (zip && !found) {
    int status = archive_read_next_header(zip, &entry);

    if (status != ARCHIVE_OK && status != ARCHIVE_WARN)
      break;

    const char *now = name_of(entry, &pack->r->scratch);

    found = now && same_name(now, name);
    if (found)
      good = feed_entry(pack, zip, name, take, to);
  }
  archive_read_free(zip);
  return found ? good : damaged(pack->r);
}
