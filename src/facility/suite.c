#include "facility/reader_impl.h"

#include <sodium.h>
#include <stdint.h>
#include <string.h>

/*
 * A suite as people write it: YAML, with overlays, under the hash of all their
 * bytes.  With yaml.c the only part that needs libraries of others.
 */

static struct tree *read_trees(struct reader *reader, const struct facility_text *suite,
                               const struct facility_text *overlays, int overlay_count)
{
  struct tree *tree = tree_read(suite, reader->work, reader->complaints);
  bool usable = tree && reader_right_kind(reader, tree, "1 suite");

  for (int i = 0; i < overlay_count; i++) {
    struct tree *overlay = tree_read(&overlays[i], reader->work, reader->complaints);

    if (overlay && reader_right_kind(reader, overlay, "1 overlay") && usable)
      reader_merge(reader, tree, overlay);
    usable &= overlay != NULL;
  }
  return usable ? tree : NULL;
}

static void hash(const struct facility_text *suite, const struct facility_text *overlays,
                 int overlay_count, char hex[65])
{
  unsigned char bytes[crypto_hash_sha256_BYTES];
  crypto_hash_sha256_state state;

  crypto_hash_sha256_init(&state);
  crypto_hash_sha256_update(&state, (const unsigned char *)suite->bytes, suite->size);
  for (int i = 0; i < overlay_count; i++)
    crypto_hash_sha256_update(&state, (const unsigned char *)overlays[i].bytes, overlays[i].size);
  crypto_hash_sha256_final(&state, bytes);
  sodium_bin2hex(hex, 65, bytes, sizeof bytes);
}

struct facility *reader_read_within(const struct facility_text *suite,
                                    const struct facility_text *overlays, int overlay_count,
                                    struct complaints *complaints, size_t limit)
{
  struct arena work;
  struct reader reader = {.work = &work, .complaints = complaints};
  struct reader_source source = {.file = suite->file, .limit = limit};
  struct facility *facility = NULL;

  arena_init(&work, SIZE_MAX); /* bounded by TREE_MOST_NODES and TREE_MOST_BYTES */
  names_init(&reader.removed, &work);

  const struct tree *tree = read_trees(&reader, suite, overlays, overlay_count);

  if (tree) {
    hash(suite, overlays, overlay_count, source.sha256);
    facility = reader_finish(&reader, tree, &source);
  }
  complaints_sort(complaints);
  arena_release(&work);
  return facility;
}

struct facility *facility_read(const struct facility_text *suite,
                               const struct facility_text *overlays, int overlay_count,
                               struct complaints *complaints)
{
  return reader_read_within(suite, overlays, overlay_count, complaints, READER_MEMORY);
}

bool facility_print_merged(const struct facility_text *suite, const struct facility_text *overlays,
                           int overlay_count, struct complaints *complaints, struct buf *out)
{
  struct arena work;
  struct reader reader = {.work = &work, .complaints = complaints};
  struct reader_source source = {.file = suite->file};

  arena_init(&work, SIZE_MAX);
  names_init(&reader.removed, &work);

  const struct tree *tree = read_trees(&reader, suite, overlays, overlay_count);
  bool good = tree && complaints->count == 0;

  if (good) {
    hash(suite, overlays, overlay_count, source.sha256);
    tree_print_merged(tree, &source, out);
  }
  complaints_sort(complaints);
  arena_release(&work);
  return good;
}

bool facility_print_suite(const struct facility_text *suite, const struct facility_text *overlays,
                          int overlay_count, struct complaints *complaints, struct buf *out)
{
  enum { MOST_OVERLAYS = 16 };
  struct facility_text texts[1 + MOST_OVERLAYS];
  struct arena work;
  struct reader reader = {.work = &work, .complaints = complaints};
  int before = complaints->count;

  BUG_IF(overlay_count > MOST_OVERLAYS);
  arena_init(&work, SIZE_MAX);
  names_init(&reader.removed, &work);
  texts[0] = *suite;
  for (int i = 0; i < overlay_count; i++)
    texts[i + 1] = overlays[i];

  const struct tree *tree = read_trees(&reader, suite, overlays, overlay_count);
  bool good = tree && complaints->count == before;

  if (good)
    tree_print_suite(tree, texts, 1 + overlay_count, out);
  complaints_sort(complaints);
  arena_release(&work);
  return good && !out->full;
}
