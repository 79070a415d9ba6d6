#ifndef FAULT_FAULT_IMPL_H
#define FAULT_FAULT_IMPL_H

#include "fault/fault.h"

/* What the files of this folder share.  Read channels.c, model.c, watch.c, rank.c, words.c. */

/* ---- channels.c: points that measure something the model computes ---- */

struct fault_channel {
  int point;
  const struct feeds_point *as;
  bool relative; /* its residual is a share of the computed value */
};
int fault_channels(const struct facility *f, const struct feeds *feeds,
                   struct fault_channel *out); /* room for point_count */
/* NaN where the answer says nothing. */
double fault_computed_si(const struct facility *f, const struct air_answer *answer,
                         const struct feeds_point *point);
/* What a residual in SI is divided by. */
double fault_scale_si(const struct fault_channel *c, double computed_si);
double fault_noise_si(const struct feeds_faults *s, const struct fault_channel *c,
                      double computed_si);

/* ---- model.c ---- */

/* One kind at one part with one size, put into the model. */
struct fault_variant {
  enum fault_kind kind;
  int index;                /* of the part in its array */
  double size_ratio;        /* as its kind means it */
  int input;                /* the facility's figure that is moved, or -1: the scene is changed */
  struct air *air;          /* made when first asked */
  struct facility *changed; /* BACK_DRAUGHT: a copy with the path open */
};

/* What the model says in one scene. */
struct fault_expected {
  struct scene scene;
  int64_t used; /* for the one that goes when there is no more room */
  int refs;     /* moments that rest on it */
  bool solved;
  double *computed_si, *pm_si; /* per channel; pm: k = 2 */
  double *sash_pm_si;          /* the part of pm that an opening known to a step leaves */
  float *slope;                /* [channel][figure]: the residual if that figure is off by its ± */
  float **shift;               /* per variant and channel, as residuals; NULL: not asked yet */
  struct arena arena;
};

enum { FAULT_SCENES_MOST = 1200 };

struct fault_model {
  const struct facility *facility;
  const struct feeds *feeds;
  const struct feeds_faults *settings;
  struct arena arena;
  struct air *air;
  struct facility_moved *moved; /* the figures that move for ± and for variants */
  int channel_count, variant_count, scene_count;
  struct fault_channel *channels;
  struct fault_variant *variants;
  struct fault_expected *scenes[FAULT_SCENES_MOST];
  int64_t tick;
};
/* The believed scene as it is judged: openings in whole steps, outdoors too. */
struct scene fault_as_judged(const struct fault_model *m, const struct scene *scene,
                             struct arena *arena);
bool fault_is_same_scene(const struct fault_model *m, const struct scene *a, const struct scene *b);
struct fault_expected *fault_expect(struct fault_model *m, const struct scene *scene);
const float *fault_shift(struct fault_model *m, struct fault_expected *e, int variant);
void fault_list_variants(struct fault_model *m);
/* Changes a scene as a variant says; false: this scene shows nothing of it. */
bool fault_put(const struct fault_model *m, const struct fault_variant *v,
               const struct fault_expected *e, struct scene *scene);
struct air *fault_variant_air(struct fault_model *m, struct fault_variant *v);

/* ---- learn.c: by how much of their ± the suite's figures seem to be off, as one point has it ---- */

struct fault_figures {
  double *mean,
      *spread;  /* in ±; spread: covariance, rows up to the diagonal, one after the other */
  double *with; /* covariance with the reading asked about last */
  int touched_count;
  int *touched; /* the figures that move this point in some scene; ascending */
};
struct fault_figures fault_figures_new(int count, struct arena *arena);
void fault_figures_forget(struct fault_figures *figures, int count);
/* The lasting residual in a scene with those slopes, and its variance. */
double fault_figures_say(struct fault_figures *figures, int count, const float *slope,
                         double *variance_out);
/* A residual in the scene last asked about, with its scatter. */
void fault_figures_learn(struct fault_figures *figures, const float *slope, double residual,
                         double sigma);

/* ---- watch.c ---- */

enum {
  FAULT_BINS = 2
}; /* a station's point repeats itself parked and raised at rates of their own */

struct fault_repeats {
  int count, same; /* readings while it learnt; of them the same as the one before */
};

struct fault_track { /* of a channel */
  struct fault_figures figures;
  struct fault_repeats repeats[FAULT_BINS];
  int64_t first_ms;
  struct fault_cusum sum;
  int64_t taken_ms; /* of the newest that counted; INT64_MIN: none */
  int64_t step_ms;  /* when it counted */
  double last_si;
  int still;              /* readings in a row the same */
  double still_sum;       /* what they say against a reading that moves, log likelihood */
  int64_t still_since_ms; /* the first of them */
  double pair_sum;        /* squares of differences of neighbours, in noise units */
  int pair_count;
  double last_e;
  const struct fault_expected *last_scene;
};

struct fault_cell {  /* one channel at one moment */
  float z, u, sigma; /* u, sigma: of the residual */
  float value_si;
  bool fresh;
};
struct fault_moment {
  int64_t t_ms;
  struct fault_expected *expected;
  struct fault_cell *cells;
  short *present; /* per station: -1 not said, 0, 1 */
};

struct fault_watch {
  struct fault_model *model;
  struct arena arena;
  struct fault_track *tracks;
  double allowance_ratio, limit_ratio, still_limit_ratio;
  struct fault_expected *scene_now; /* NULL: nothing asked yet what the model says of it */
  bool has_scene;
  struct scene scene; /* as it is judged, from `scene_arena` */
  struct arena scene_arena;
  int64_t scene_since_ms, last_ms;
  int kept_first, kept_count;
  struct fault_moment kept[FAULT_KEPT];
  double peak_ratio;
};
const struct fault_moment *fault_kept(const struct fault_watch *w, int back); /* 0: the newest */
double fault_soft(double e, double u);
double fault_track_ratio(const struct fault_watch *w, int channel); /* of its limit */
int64_t fault_track_since_ms(const struct fault_watch *w, int channel);

/* ---- rank.c ---- */

struct fault_candidate {
  enum fault_kind kind;
  int index, channel; /* of the part, or -1; where only a reading is doubted, or -1 */
  int variant;        /* or -1 */
  double amplitude, score, factor;
};
struct fault_case {
  int64_t since_ms;
  int channel;     /* the point that stands out most */
  int moments;     /* how many of the newest are looked at */
  const bool *off; /* per channel: has alarmed and is not explained yet */
  double *removed; /* [moment back][channel]: what earlier findings explain, in z */
};
int fault_rank(struct fault_watch *w, const struct fault_case *c, struct arena *arena,
               struct fault_candidate **out); /* best first */
/* What it says of one cell at its amplitude, in standard deviations beyond what the model may be off. */
double fault_says(struct fault_watch *w, const struct fault_candidate *k,
                  const struct fault_moment *moment, int channel);
/* Does the candidate say that this channel moves, and how much, on average over the case? */
double fault_explains(struct fault_watch *w, const struct fault_case *c,
                      const struct fault_candidate *candidate, int channel);

/* ---- words.c ---- */
void fault_words(struct fault_watch *w, const struct fault_case *c,
                 const struct fault_candidate *list, int count, struct arena *arena,
                 struct fault_finding *out);
const char *fault_would_tell(const struct fault_model *m, const struct fault_variant *v,
                             struct arena *arena);

#endif
