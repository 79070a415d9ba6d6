#ifndef TESTS_SUPPORT_MATCHED_H
#define TESTS_SUPPORT_MATCHED_H

#include "match/match_impl.h"
#include "numeric/numeric.h"

#include "walked.h"

#include <math.h>

/*
 * Buildings drawn by chance: every figure and every instrument off by a draw from its own ±, every reading
 * scattered by its own.  The match is asked of each; how often does the truth lie inside what it says?
 */
struct matched_count {
  int trials, failed, intervals,
      inside;              /* intervals: of figures it calls known, better or told together */
  int known, known_inside; /* of those it calls known now */
  int false_alarms;        /* verdicts other than a match */
  int unsettled;
};

static inline double matched_normal(struct numeric_random *random)
{
  double u = 1.0 - numeric_random_unit(random);

  return sqrt(-2.0 * log(u)) * cos(2.0 * acos(-1.0) * numeric_random_unit(random));
}

static inline bool matched_draw(struct match_model *m, struct match_readings *r,
                                struct numeric_random *random, double *truth, double *shown_si)
{
  for (int k = 0; k < m->count; k++)
    truth[k] = fmin(fmax(matched_normal(random), m->low[k]), m->high[k]);
  if (!match_model_predict(m, truth, shown_si))
    return false;
  for (int i = 0; i < r->count; i++)
    r->list[i].measured_si = shown_si[i] + r->list[i].own_si * matched_normal(random);
  return true;
}

static inline void matched_tally(const struct match_result *result, const double *truth,
                                 struct matched_count *count)
{
  for (int k = 0; k < result->figure_count; k++) {
    const struct match_figure *f = &result->figures[k];
    double off = fabs(2.0 * f->shift_ratio - truth[k]);
    bool inside = off <= 1.959964 * f->left_ratio;

    if (f->known == MATCH_NOT || f->at_bound)
      continue;
    count->intervals++;
    count->inside += inside;
    count->known += f->known == MATCH_KNOWN;
    count->known_inside += f->known == MATCH_KNOWN && inside;
  }
  count->false_alarms += result->verdict != MATCH_MATCHES;
  count->unsettled += !result->converged;
}

/* One building; the readings keep their places and scenes, and get new values. */
static inline void matched_trial(const struct facility *f, struct match_readings *r,
                                 struct numeric_random *random, struct matched_count *count)
{
  struct match_model model;
  struct match_options options = {.no_next = true};
  struct match_result *result = NULL;
  struct err err = {0};
  struct arena arena;

  arena_init(&arena, (size_t)256 << 20);
  count->trials++;
  if (match_model_make(&model, f, r, &arena, &err)) {
    double *truth = ARENA_ARRAY(&arena, double, (size_t)model.count + 1);
    double *shown = ARENA_ARRAY(&arena, double, (size_t)r->count + 1);

    if (truth && shown && matched_draw(&model, r, random, truth, shown))
      result = match_fit(f, r, &options, &arena, &err);
    if (result)
      matched_tally(result, truth, count);
  }
  count->failed += result == NULL;
  match_model_release(&model);
  arena_release(&arena);
}

/* The readings of a whole walk, as predicted. */
static inline struct match_readings *matched_walk(struct walked *w)
{
  struct walk_readings *filled = walk_blank(w->plan, &w->arena);

  for (int i = 0; filled && i < w->plan->reading_count; i++) {
    filled->entries[i].read = true;
    filled->entries[i].value_si = w->plan->readings[i].predicted_si;
  }
  return filled ? match_walk(w->plan, filled, "walk.csv", &w->arena) : NULL;
}

/* A table of readings; faults go to `complaints`. */
static inline struct match_readings *matched_table(struct walked *w, const char *name,
                                                   const char *text, size_t size,
                                                   struct complaints *complaints)
{
  struct sheet_book *book;

  complaints_init(complaints, &w->arena);
  book = sheet_read(name, text, size, &w->arena, complaints);
  return book ? match_table(w->facility, book, &w->arena, complaints) : NULL;
}

static inline struct match_readings *matched_file(struct walked *w, const char *path)
{
  static char bytes[64 << 10];
  struct complaints complaints;
  FILE *file = fopen(path, "rb");
  size_t size = file ? fread(bytes, 1, sizeof bytes, file) : 0;

  if (file)
    fclose(file);
  return matched_table(w, path, bytes, size, &complaints);
}

#endif
