#ifndef TOGETHER_TOGETHER_IMPL_H
#define TOGETHER_TOGETHER_IMPL_H

#include "together/together.h"

/* ---- fill.c: the table of all sets of one air ---- */

struct fill {
  struct air_sets *sets;
  int count;
  long *budget;              /* solves left, of all together */
  unsigned long most_states; /* more are not solved one by one */
  bool one_by_one;           /* never in lanes, whatever the network */
  enum net_path path;
  unsigned char bit;    /* set in the table where nothing is missed */
  unsigned char *table; /* 2^count */
  bool exact;
  struct together_work *work;
  struct arena *arena;
};
NODISCARD bool together_fill(struct fill *fill); /* false: the arena is too small */

/* ---- find.c: what stands in the table ---- */
bool together_find(struct together_sets *s, const struct together_answer *a, struct air_sets *sets,
                   struct arena *arena);

/* ---- rules.c, words.c ---- */
void together_rules(struct together_sets *s, const struct together_answer *a,
                    const struct air_sets *sets);
void together_words(struct together_sets *s, const struct together_answer *a, struct arena *arena);
int together_weight_of(const struct together_rule *rule, uint32_t set);
const char *together_number(int number, struct arena *arena); /* "five" */

#endif
