#ifndef TESTS_UNIT_AFTER_ASK_H
#define TESTS_UNIT_AFTER_ASK_H

#include "after/after.h"

#include "check.h"

#include <stdio.h>

/* A suite opened for its tests, and what was last asked of it. */
struct asked {
  struct arena arena;
  struct facility *facility;
  struct after_answer *answer;
  struct err err;
};

static inline bool open_text(struct asked *a, const char *bytes, size_t size)
{
  struct facility_text text = {"suite.yaml", bytes, size};
  struct complaints complaints;

  *a = (struct asked){0};
  arena_init(&a->arena, (size_t)1 << 30);
  complaints_init(&complaints, &a->arena);
  a->facility = facility_read(&text, NULL, 0, &complaints);
  for (int i = 0; i < complaints.count; i++)
    CHECK_CASE("%s", complaints.list[i].text);
  return CHECK(a->facility != NULL);
}

/* meson runs the tests in the root of the source. */
static inline bool open_quillmere(struct asked *a)
{
  static char text[64 << 10];
  FILE *file = fopen("examples/quillmere/suite.yaml", "rb");
  size_t size;

  if (!CHECK(file != NULL))
    return false;
  size = fread(text, 1, sizeof text, file);
  fclose(file);
  return CHECK(size < sizeof text) && open_text(a, text, size);
}

static inline bool ask(struct asked *a, int count, const char *const *events, double for_s)
{
  struct after_request request = {.event_count = count, .events = events, .for_s = for_s};

  a->err = (struct err){0};
  a->answer = after_ask(a->facility, &request, &a->arena, &a->err);
  if (!a->answer)
    CHECK_CASE("%s", a->err.text);
  return a->answer != NULL;
}

static inline void drop(struct asked *a)
{
  facility_free(a->facility);
  arena_release(&a->arena);
}

#endif
