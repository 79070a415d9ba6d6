#ifndef TESTS_UNIT_BATH_ASK_H
#define TESTS_UNIT_BATH_ASK_H

#include "bath/bath.h"
#include "facility/chemicals.h"

/* Questions about baths: what a failure is told with, then texts, "of=hf", "to=5wt%"; NULL ends them. */
#define ASK(first, ...)            ask_pairs(first, (const char *const[]){__VA_ARGS__})
#define ASK_THERE(own, first, ...) ask_pairs_there(own, first, (const char *const[]){__VA_ARGS__})
void bath_ask_begin(struct arena *of, const struct chem *facts);
const struct bath_answer *ask_pairs(const char *first, const char *const *pairs);
/* In a small suite with the stations A1 (acid), A2 (not here: HF, bases), A3 (not here: oxidisers) and A4 (not here:
 * glass of any kind, metal parts). */
const struct bath_answer *ask_pairs_there(const struct chemicals *own, const char *first,
                                          const char *const *pairs);
/* At A1, where a procedure WP-07 (at most 2 L, peroxide below 31 wt%) names this bath. */
const struct bath_answer *ask_p14(const char *bath, const char *first, const char *second,
                                  const char *third, const char *fourth);
struct chemicals_procedure procedure_for(const char *bath);
void check_no_amounts(const struct bath_answer *a);

#endif
