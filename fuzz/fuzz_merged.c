#include "facility/facility.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

/* A complaint points into the text, at most one character past the end of its line. */
static void place_is_inside(struct place place, const char *at, const char *end)
{
  if (place.line == 0)
    return;
  for (int line = 1; line < place.line; line++) {
    at = memchr(at, '\n', (size_t)(end - at));
    must(at != NULL);
    at++;
  }

  const char *line_end = memchr(at, '\n', (size_t)(end - at));

  must(place.column >= 1 && place.column <= (line_end ? line_end : end) - at + 1);
}

/* Whatever the bytes: a facility and nothing said, or none and what is said has a place. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  const struct facility_text text = {"merged", (const char *)data, size};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read_merged(&text, &complaints);

  must((facility == NULL) == (complaints.count > 0));
  for (int i = 0; i < complaints.count; i++) {
    must(complaints.list[i].text[0] != '\0');
    place_is_inside(complaints.list[i].place, text.bytes, text.bytes + size);
  }
  if (facility) {
    must(strlen(facility->sha256) == 64);
    for (int i = 0; i < facility_node_count(facility); i++)
      must(facility_node_find(facility, facility_node_id(facility, i)) == i);
  }
  facility_free(facility);
  arena_release(&arena);
  return 0;
}
