/*
 * Would a state still miss nothing if a figure of the suite stood at the far end of its ±?  A walk asks
 * people to bring a state about, so it is not enough that the best estimate is fine.
 */
#include "walk/plan_impl.h"

#include <math.h>
#include <string.h>

const double walk_reach_ratio = 1.5;

static int keep_count(const struct facility *f)
{
  int count = 0;

  for (int i = 0; i < f->room_count; i++)
    count += f->rooms[i].keep_count;
  return count;
}

/* missed[keep] in that state of that variant. */
static void list_missed(const struct facility *variant, const struct scene *scene, bool *missed,
                        int keeps)
{
  struct err err = {0};
  struct air *air = air_new(variant, &err);
  struct arena arena;
  struct air_answer *answer;
  int k = 0;

  arena_init(&arena, (size_t)64 << 20);
  answer = air ? air_flows(air, scene, &arena, &err) : NULL;
  for (int i = 0; i < keeps; i++)
    missed[i] = true;
  for (int i = 0; answer && answer->solved && i < variant->room_count; i++)
    for (int j = 0; j < answer->rooms[i].keep_count; j++)
      missed[k++] = answer->rooms[i].keeps[j].known && !answer->rooms[i].keeps[j].met;
  air_free(air);
  arena_release(&arena);
}

bool walk_doubts_prepare(struct walk_planning *p)
{
  struct facility_moved *moved = facility_moved_new(p->f, p->arena);

  p->keep_count = keep_count(p->f);
  p->base_missed =
      ARENA_ARRAY(p->arena, bool, 2 * (size_t)p->input_count * (size_t)p->keep_count + 1);
  if (!p->base_missed)
    return false;
  for (int k = 0; k < 2 * p->input_count; k++) {
    facility_move(moved, k / 2, k % 2 ? -walk_reach_ratio : walk_reach_ratio);
    list_missed(facility_moved_as(moved), &p->base,
                p->base_missed + (size_t)k * (size_t)p->keep_count, p->keep_count);
    facility_move(moved, k / 2, 0.0);
  }
  return true;
}

bool walk_doubts_allow(struct walk_planning *p, const struct scene *scene)
{
  struct facility_moved *moved = facility_moved_new(p->f, p->arena);
  bool *missed = ARENA_ARRAY(p->arena, bool, (size_t)p->keep_count + 1);
  bool fine = missed != NULL;

  for (int k = 0; fine && k < 2 * p->input_count; k++) {
    const bool *before = p->base_missed + (size_t)k * (size_t)p->keep_count;

    facility_move(moved, k / 2, k % 2 ? -walk_reach_ratio : walk_reach_ratio);
    list_missed(facility_moved_as(moved), scene, missed, p->keep_count);
    facility_move(moved, k / 2, 0.0);
    for (int i = 0; i < p->keep_count; i++)
      fine &= !missed[i] || before[i]; /* what is missed with all parked is not the state's doing */
  }
  return fine;
}
