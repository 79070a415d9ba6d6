/* The same readings in many variants of one suite. */
#include "walk/walk_impl.h"

#include <math.h>

static void scene_values(struct air *air, const struct facility *facility,
                         const struct walk_step *step, const struct walk_reading *readings,
                         double *value_si)
{
  struct arena arena;
  struct air_answer *answer;
  bool solved;

  arena_init(&arena, (size_t)64 << 20);
  answer = air_flows(air, &step->scene, &arena, NULL);
  solved = answer && answer->solved;
  for (int i = step->first; i < step->first + step->count; i++)
    value_si[i] = solved ? walk_predicted_si(facility, answer, &readings[i].quantity) : (double)NAN;
  arena_release(&arena);
}

void walk_values(const struct facility *facility, const struct walk_step *steps, int step_count,
                 const struct walk_reading *readings, double *value_si)
{
  struct err err = {0};
  struct air *air = air_new(facility, &err);

  for (int s = 0; s < step_count; s++)
    if (air)
      scene_values(air, facility, &steps[s], readings, value_si);
    else
      for (int i = steps[s].first; i < steps[s].first + steps[s].count; i++)
        value_si[i] = NAN;
  air_free(air);
}
