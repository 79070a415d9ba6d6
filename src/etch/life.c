#include "etch/etch_impl.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

/* How long a bath lasts: by what the film takes from it, by count and by time, whichever is first. */

static const struct etch_use *use_of(const struct etch_tables *t, const struct etch_film *film,
                                     const struct etch_place *place, double *agent_mol_m3)
{
  for (int i = 0; i < t->use_count; i++)
    if (strcmp(t->uses[i].kind, film->kind) == 0) {
      *agent_mol_m3 = etch_agent_mol_m3(t, place, t->uses[i].agent);
      if (*agent_mol_m3 > 0)
        return &t->uses[i];
    }
  return NULL;
}

static void shortest(int batches, const char *words, int *least, const char **first)
{
  if (batches >= 0 && (*least < 0 || batches < *least)) {
    *least = batches;
    *first = words;
  }
}

static int whole(double count)
{
  return count >= 0 && count < 1e9 ? (int)floor(count + 1e-9) : -1;
}

void etch_count_life(const struct etch_tables *t, const struct etch_place *place,
                     const struct etch_request *r, struct etch_answer *a)
{
  struct etch_life *life = &a->life;
  double agent_mol_m3 = NAN;
  const struct etch_use *use;
  int least = -1;

  *life = (struct etch_life){.area_m2 = NAN,
                             .removed_mol = NAN,
                             .agent_mol = NAN,
                             .agent_in_bath_mol = NAN,
                             .gas_mol = NAN,
                             .fall_ratio = NAN,
                             .by_fall = -1,
                             .by_count = -1,
                             .by_time = -1};
  life->asked = (r->given & GIVEN_WAFERS) != 0;
  if (r->given & GIVEN_BATCHES)
    life->by_count = r->batches;
  if ((r->given & GIVEN_LIFE) && a->answered)
    life->by_time = whole(r->life_s / a->worst_s);
  shortest(life->by_count, "the count", &least, &life->first);
  shortest(life->by_time, "the time, even with nothing between the batches", &least, &life->first);
  if (!life->asked)
    return;
  life->area_m2 = r->wafers * r->sides * PI / 4 * r->wafer_m * r->wafer_m * r->open_ratio;
  life->removed_mol = life->area_m2 * a->depth_m * a->film->density_kg_m3 / a->film->molar_kg_mol;
  use = use_of(t, a->film, place, &agent_mol_m3);
  if (!use || isnan(life->removed_mol))
    return;
  life->of = use->of;
  life->agent = use->agent;
  life->agent_mol = use->agent_ratio * life->removed_mol;
  if (use->gas[0]) {
    life->gas = use->gas;
    life->gas_mol = use->gas_ratio * life->removed_mol;
  }
  if (!(r->given & GIVEN_VOLUME))
    return;
  life->agent_in_bath_mol = agent_mol_m3 * r->volume_m3;
  life->fall_ratio = life->agent_mol / life->agent_in_bath_mol;
  if (r->given & GIVEN_FALL)
    life->by_fall = whole(r->fall_ratio / life->fall_ratio);
  shortest(life->by_fall, "what it may fall", &least, &life->first);
}
