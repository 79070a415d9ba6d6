#ifndef ANSWER_ANSWER_H
#define ANSWER_ANSWER_H

#include "air/air.h"
#include "base/buf.h"
#include "base/emit.h"
#include "units/units.h"

/*
 * An engine's answer, turned once into text for people and JSON for programs.
 * Both the command line and the board print what comes from here, so they
 * cannot differ.  The JSON's shape is the contract of docs/api.md.
 */
void answer_air_json(const struct facility *facility, const struct scene *scene,
                     const struct air_answer *answer, struct buf *out);
void answer_air_text(const struct facility *facility, const struct scene *scene,
                     const struct air_answer *answer, enum units_system system, struct buf *out);
void answer_ledger_text(const struct facility *facility, int station,
                        const struct air_ledger *ledger, enum units_system system, struct buf *out);
void answer_ledger_json(const struct facility *facility, int station,
                        const struct air_ledger *ledger, struct buf *out);

/* What a page needs to draw the place, and the suite's scenes; `start` is where it begins. */
void answer_plan_json(const struct facility *facility, const struct scene *start, struct buf *out);

/* One side of a comparison: a suite, a scene of it, and the air of that scene. */
struct answer_side {
  const struct facility *facility;
  const struct scene *scene;
  const struct air_answer *answer;
};

/* What differs in the air between two suites in scenes of one name; flows by
 * 10 m3/h, pressures by 0.1 Pa.  Parts are matched by id. */
void answer_compare_text(const struct answer_side *before, const struct answer_side *after,
                         struct buf *out);
void answer_compare_json(const struct answer_side *before, const struct answer_side *after,
                         struct emit *json); /* one array element */

/* A figure as written, with its ± and where that comes from:
 * "MU, most: 15600 m³/h ± 15 % (assumed)". */
void answer_input(const struct facility_input *in, enum units_system system, struct buf *out);

const char *answer_engine_version(void);
const char *answer_verdict_name(enum net_verdict verdict);

/* The act, in the largest words: "AIR FOR 3 MORE", "NO MORE", "LOWER S2", "NOT KNOWN: TREAT AS NO". */
void answer_act(const struct facility *facility, const struct air_answer *answer, struct buf *out);

#endif
