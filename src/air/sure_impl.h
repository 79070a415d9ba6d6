#ifndef AIR_SURE_IMPL_H
#define AIR_SURE_IMPL_H

#include "air/air_impl.h"

/* What the files that work out the ± share.  Read sure.c first. */

struct sure {
  struct air_search *search; /* the question, on the facility as written */
  struct air_search shadow;  /* the same on the copy that moves */
  const struct air_levels *levels;
  const struct facility *f;
  struct air_answer *answer;
  int n;                  /* inputs */
  double *demand_slope;   /* per pool and input: change per ± */
  double *slope;          /* the same for what is left in the pool */
  double *scratch;        /* per input */
  struct air_miss *binds; /* per pool: what is missed first past its limit */
};

struct sums {
  double squares, sizes;
};

/* ---- slopes.c: the copy that moves, and what it changes ---- */

bool sure_solve(struct sure *s, const struct scene *scene);
/* Moves one figure by a share of its ±, and says whether a solve could tell. */
bool sure_move(struct sure *s, int input, double by_ratio);
/* Moves all of them against a slope, to the doubtful end; a NULL slope puts them back. */
void sure_move_all(struct sure *s, const double *slope, double root);

void sure_add(struct sums *sums, double slope);
double sure_combined(const struct sure *s, const struct sums *sums); /* the ± */
struct sums sure_sums_of(const struct sure *s, const double *slope);

double sure_declared_margin(const struct air *air, const struct scene *scene, int pool);
/* What the flow left at a pool's limit changes by, per ± of each figure; false: not worked out. */
bool sure_slopes_at(struct sure *s, const struct scene *scene, int pool,
                    const struct air_edge *edge, double *slope);
extern const double sure_step_ratio; /* of a ±: how far one figure is moved for a slope */

/* ---- seen.c: the ± of what the scene as it is shows ---- */
struct seen;
/* After the scene was solved with all figures as written.  NULL: no memory. */
struct seen *seen_new(struct sure *s);
void seen_moved(struct seen *seen, int input);    /* after it was solved with that one moved */
void seen_give(struct seen *seen);                /* after the last, into the answer */
void sure_odds_of_pool(struct sure *s, int pool); /* once what is left in it is known */
void sure_lessen_odds(struct sure *s);            /* after all pools */

/* ---- sure.c ---- */
double sure_left(const struct air_spare *spare); /* at the doubtful end */

/* ---- counts.c: what follows for counts, levels and lists ---- */
bool sure_is_borrowed(const struct air_pool *pool);
void sure_count_more(struct sure *s, int pool);
void sure_count_at_mark(struct sure *s);
void sure_conclude(struct sure *s, int pool);
void sure_conclude_station(struct sure *s, int station);
void sure_find_weakest(struct sure *s);
void sure_lower(struct sure *s);

#endif
