#ifndef GLASS_GLASS_IMPL_H
#define GLASS_GLASS_IMPL_H

#include "glass/glass.h"

/* Colours and shapes against one another, computed once. */
struct glass_scale {
  double colour[MARK_COLOUR_COUNT][MARK_COLOUR_COUNT];
  enum mark_sight worst[MARK_COLOUR_COUNT][MARK_COLOUR_COUNT];
  double shape_ratio[MARK_SHAPE_COUNT][MARK_SHAPE_COUNT];
};
void glass_measure(struct glass_scale *scale);

struct glass_pair glass_compare(const struct facility_glass_rules *rules,
                                const struct glass_scale *scale, const struct facility_mark *one,
                                const struct facility_mark *other);

/* A station whose id begins with that letter; -1: none.  What the colour means otherwise; NULL: nothing. */
int glass_letter_of_station(const struct facility *f, const char *letter);
const struct facility_kept_off *glass_colour_means(const struct facility *f,
                                                   enum mark_colour colour);

/* choose.c: fills `chosen` and `changes`; false when a station was left without a mark. */
bool glass_choose(struct glass_answer *answer, const struct glass_scale *scale,
                  struct arena *arena);

/* "AT ITS STATION" */
const char *glass_verdict_words(enum glass_verdict verdict);

#endif
