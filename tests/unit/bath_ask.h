#ifndef TESTS_UNIT_BATH_ASK_H
#define TESTS_UNIT_BATH_ASK_H

#include "bath/bath.h"
#include "facility/chemicals.h"

/* Questions about baths as texts, "of=hf", "to=5wt%"; NULL ends them. */
void bath_ask_begin(struct arena *of, const struct chem *facts);
const struct bath_answer *ask(const char *first, ...);
/* In a small suite with the stations A1 (acid), A2 (not here: HF, bases) and A3 (not here: oxidisers). */
const struct bath_answer *ask_there(const struct chemicals *own, const char *first, ...);
/* At A1, where a procedure WP-07 (at most 2 L, peroxide below 31 wt%) names this bath. */
const struct bath_answer *ask_p14(const char *bath, const char *first, const char *second,
                                  const char *third, const char *fourth);
struct chemicals_procedure procedure_for(const char *bath);
void check_no_amounts(const struct bath_answer *a);

#endif
