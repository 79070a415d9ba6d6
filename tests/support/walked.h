#ifndef TESTS_SUPPORT_WALKED_H
#define TESTS_SUPPORT_WALKED_H

#include "walk/walk_impl.h"

#include "check.h"

#include <stdio.h>
#include <string.h>

/* A suite with an overlay, and the walk that belongs to it.  meson runs these tests in the root of
 * the source. */
struct walked {
  struct arena arena;
  struct facility *facility;
  struct scene scene;
  struct walk_plan *plan;
};

static char walked_bytes[2][64 << 10];

static inline bool walked_text(const char *path, int at, struct facility_text *out)
{
  FILE *file = fopen(path, "rb");

  if (!CHECK(file != NULL))
    return false;
  out->file = path;
  out->size = fread(walked_bytes[at], 1, sizeof walked_bytes[at], file);
  out->bytes = walked_bytes[at];
  fclose(file);
  return CHECK(out->size > 0 && out->size < sizeof walked_bytes[at]);
}

static inline bool walked_plan(struct walked *w, const char *scene, bool technician)
{
  struct walk_options options = {.technician = technician};
  struct err err = {0};
  const struct scene *named = scene ? scene_find(w->facility, scene) : NULL;

  if (scene && !CHECK(named != NULL))
    return false;
  w->scene =
      named ? scene_copy(w->facility, named, &w->arena) : scene_parked(w->facility, &w->arena);
  w->plan = walk_plan(w->facility, &w->scene, &options, &w->arena, &err);
  if (!w->plan)
    check_case("%s", err.text);
  return CHECK(w->plan != NULL);
}

static inline bool walked_texts(struct walked *w, const struct facility_text *texts, int overlays)
{
  struct complaints complaints;

  *w = (struct walked){0};
  arena_init(&w->arena, (size_t)512 << 20);
  complaints_init(&complaints, &w->arena);
  w->facility = facility_read(&texts[0], &texts[1], overlays, &complaints);
  for (int i = 0; i < complaints.count; i++)
    check_case("%s", complaints.list[i].text);
  return CHECK(w->facility != NULL);
}

static inline bool walked_open(struct walked *w, const char *suite, const char *overlay,
                               const char *scene, bool technician)
{
  struct facility_text texts[2] = {{0}};

  *w = (struct walked){0};
  return walked_text(suite, 0, &texts[0]) && (!overlay || walked_text(overlay, 1, &texts[1])) &&
         walked_texts(w, texts, overlay != NULL) && walked_plan(w, scene, technician);
}

static inline void walked_close(struct walked *w)
{
  facility_free(w->facility);
  arena_release(&w->arena);
}

#endif
