/*
 * What a search has asked already.  Its questions overlap: opening A then B is
 * opening B then A, and the best list found is looked at again to be told.  All
 * scenes of one search share fans, dampers and weather, so stations and doors are
 * the key.
 */
#include "air/air_impl.h"

#include <stdint.h>
#include <string.h>

enum { SLOTS = 512 }; /* a power of two; searches stop remembering when half are taken */

struct answer_kept {
  struct scene scene;
  bool answered;
  struct air_outcome outcome;
};

struct air_memory {
  int count;
  struct answer_kept *slots[SLOTS];
};

struct air_memory *air_memory_new(struct arena *arena)
{
  return ARENA_NEW(arena, struct air_memory);
}

static uint64_t mix(uint64_t h, uint64_t word)
{
  h = (h ^ word) * 0x9e3779b97f4a7c15u; /* the golden ratio's odd 64 bits */
  return h ^ (h >> 29);
}

static uint64_t bits(double x)
{
  uint64_t word;

  memcpy(&word, &x, sizeof word);
  return word;
}

static uint64_t hash(const struct facility *f, const struct scene *scene)
{
  uint64_t h = 1;

  for (int i = 0; i < f->station_count; i++) {
    const struct scene_station *s = &scene->stations[i];

    h = mix(h, (uint64_t)s->raised | (uint64_t)s->has_ask << 1 | (uint64_t)s->blocked << 2);
    h = mix(h, bits(s->opening_m));
    h = mix(h, s->has_ask ? bits(s->ask_m3_s) : 0);
  }
  for (int i = 0; i < f->door_count; i++)
    h = mix(h, scene->door_open[i]);
  return h;
}

static bool same_scene(const struct facility *f, const struct scene *a, const struct scene *b)
{
  for (int i = 0; i < f->station_count; i++)
    if (air_station_changed(&a->stations[i], &b->stations[i]) ||
        a->stations[i].has_measured != b->stations[i].has_measured)
      return false;
  return memcmp(a->door_open, b->door_open, (size_t)f->door_count * sizeof *a->door_open) == 0;
}

/* The slot of this scene, filled or empty. */
static struct answer_kept **slot_of(struct air_memory *memory, const struct facility *f,
                                    const struct scene *scene)
{
  uint64_t at = hash(f, scene);

  while (memory->slots[at % SLOTS] && !same_scene(f, &memory->slots[at % SLOTS]->scene, scene))
    at++;
  return &memory->slots[at % SLOTS];
}

static struct answer_kept *keep(struct air_search *search, const struct scene *scene, bool answered,
                                const struct air_outcome *outcome)
{
  struct answer_kept *kept = ARENA_NEW(search->arena, struct answer_kept);

  kept->scene = scene_copy(search->air->facility, scene, search->arena);
  kept->answered = answered;
  kept->outcome = *outcome;
  return kept;
}

bool air_search_recall(struct air_search *search, const struct scene *scene,
                       struct air_outcome *outcome)
{
  struct answer_kept **slot = slot_of(search->memory, search->air->facility, scene);
  bool answered;

  if (*slot) {
    *outcome = (*slot)->outcome;
    return (*slot)->answered;
  }
  answered = air_search_ask(search, scene, outcome);
  if (search->memory->count < SLOTS / 2 && !search->cut) {
    *slot = keep(search, scene, answered, outcome);
    search->memory->count++;
  }
  return answered;
}
