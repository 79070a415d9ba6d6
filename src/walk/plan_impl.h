#ifndef WALK_PLAN_IMPL_H
#define WALK_PLAN_IMPL_H

#include "walk/walk_impl.h"

/*
 * A plan in the making: steps.c chooses the states, choose.c what to read in
 * them, plan.c puts it together.
 */
/* How far figures are moved, in their ±: to three standard uncertainties, which is about where bands
 * end, because effects are not straight lines that far out. */
extern const double walk_reach_ratio;

enum { WALK_STEPS_MAX = 10, WALK_READINGS_MAX = 24, WALK_PAIRS_MAX = 40, WALK_NOTES_MAX = 60 };

struct walk_pair {      /* two nodes whose difference a manometer can show */
  int room, over, door; /* door: index, or -1: a gauge on the wall */
};

struct walk_planning {
  const struct facility *f;
  struct air *air;
  struct arena *arena;
  struct err *err;
  struct scene base; /* everything parked that may be */
  int pair_count, step_count, candidate_count, candidate_room;
  struct walk_pair pairs[WALK_PAIRS_MAX];
  struct walk_step steps[WALK_STEPS_MAX];
  bool last_is_end;                /* the last step parks everything again */
  struct walk_reading *candidates; /* step after step, as steps[].first and count say */
  bool *must;                      /* per candidate: taken whatever it tells */
  int before_count, left_out_count;
  const char **before, **left_out;
  int input_count, keep_count; /* figures weighed; keeps of all rooms */
  bool *base_missed;           /* [figure, both ends of its ±][keep], with everything parked */
};

void walk_note(const char **list, int *count, const char *text);

/* ---- steps.c ---- */
/* False with err set when the air of the parked suite has no solution. */
bool walk_choose_steps(struct walk_planning *p, const struct scene *scene,
                       const struct walk_options *options);
/* What to do to come from each step to the next, when it is settled which there are. */
void walk_describe_steps(struct walk_planning *p);

/* ---- doubt.c ---- */
bool walk_doubts_prepare(struct walk_planning *p); /* once p->base stands */
bool walk_doubts_allow(struct walk_planning *p, const struct scene *scene);

/* ---- candidates.c ---- */
void walk_find_pairs(struct walk_planning *p);
/* Everything that could be read in each step; the steps then say which are theirs. */
bool walk_list_candidates(struct walk_planning *p);

/* ---- choose.c ---- */
/* effect_si[input][candidate]; marks in `taken` the readings that tell most in the time there is. */
void walk_choose_readings(const struct walk_planning *p, int inputs, const double *effect_si,
                          bool *taken);

#endif
