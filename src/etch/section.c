#include "base/constants.h"
#include "etch/etch_impl.h"
#include "matter/matter.h"

#include <math.h>
#include <string.h>

/* The shape that is left: round under a mask, or walls of slow (111) planes in silicon. */

/* (111) walls in a (100) wafer: the row "groove" of the formula table. */
static void sloped(const struct etch_request *r, const struct etch_layer *slow,
                   struct etch_answer *a)
{
  struct etch_section *s = &a->section;
  const struct matter_formula *groove = matter_formula_find("groove");
  double in_si[MATTER_INPUTS_MAX] = {r->opening_m}, out_si[MATTER_OUTPUTS_MAX];

  BUG_IF(!groove);
  BUG_IF(groove->compute(in_si, out_si) != NULL);
  s->shape = ETCH_SLOPED;
  s->wall_rad = out_si[0] * PI / 180; /* the row answers in degrees */
  /* what the slow plane loses, measured along the surface */
  s->undercut_m = slow->highest_m_s * a->longest_s / sin(s->wall_rad);
  s->opening_for_depth_m = a->depth_m * sqrt(2);
  if (!(r->given & GIVEN_OPENING))
    return;
  s->ends_at_m = out_si[1];
  s->ends_most_m = (r->opening_m + 2 * s->undercut_m) / sqrt(2);
  s->depth_m = fmin(a->depth_m, s->ends_most_m);
  s->floor_m =
      a->depth_m < s->ends_most_m ? r->opening_m + 2 * s->undercut_m - sqrt(2) * s->depth_m : 0;
}

void etch_cut(const struct etch_tables *tables, const struct etch_place *place,
              const struct etch_request *r, struct etch_answer *a, struct arena *arena)
{
  struct etch_section *s = &a->section;
  bool silicon = strncmp(a->film->id, "si-", 3) == 0;
  struct etch_layer slow = {.known = ETCH_NOTHING};
  const struct etch_film *plane = etch_find_film(tables, "si-111", NULL);

  *s = (struct etch_section){.wall_rad = NAN,
                             .undercut_m = NAN,
                             .opening_m = r->given & GIVEN_OPENING ? r->opening_m : (double)NAN,
                             .floor_m = NAN,
                             .ends_at_m = NAN,
                             .ends_most_m = NAN,
                             .depth_m = a->depth_m,
                             .opening_for_depth_m = NAN};
  if (silicon)
    etch_look_up(tables, place, plane, NULL, arena, &slow);
  s->known = true;
  if (slow.known == ETCH_NUMBER && strcmp(a->film->id, "si-100") == 0) {
    sloped(r, &slow, a);
  } else if (slow.known == ETCH_NUMBER && strcmp(a->film->id, "si-110") == 0) {
    s->shape = ETCH_UPRIGHT;
    s->wall_rad = PI / 2;
    s->undercut_m = slow.highest_m_s * a->longest_s;
    s->floor_m = s->opening_m;
  } else if (slow.known != ETCH_NOTHING) {
    s->known = false; /* planes differ in this bath, and how much is not known here */
  } else {
    s->shape = ETCH_ROUND;
    /* timed for the slowest place, as fast as the fastest place may be by any source */
    s->undercut_m = a->fastest_m_s * (1 + a->rate_spread_ratio) * a->worst_s;
    s->floor_m = s->opening_m;
  }
}
