#ifndef TESTS_PUBLISHED_PROGRAM_H
#define TESTS_PUBLISHED_PROGRAM_H

#include <jansson.h>
#include <stdbool.h>

/*
 * The built program, asked from outside as a person would, its answers as JSON.
 */
void program_use(const char *path,
                 const char *folder); /* the binary; where suites are looked for */

/*
 * `inward air SUITE ARGUMENTS --json`.  The answer is kept until another is
 * asked for: rows with the same suite and arguments cost one run.  NULL, with
 * what happened printed, unless it exits with 0 or 1 and prints JSON.
 */
const json_t *program_air(const char *suite, const char *arguments);
/* The same for `inward VERB ARGUMENTS --json`, run in the folder of program_use. */
const json_t *program_verb(const char *verb, const char *arguments);
void program_end(void);

/*
 * One figure of an answer: numbers and paths with + - * / and brackets, each
 * operator between blanks.  A path is keys and dots; [X] picks the entry of a
 * list by its id, or by its number from 0:
 *     rooms[Bay].pressure_Pa
 *     (nodes[n1].pressure_Pa - nodes[n2].pressure_Pa) / 1000
 * NaN when some path leads nowhere or to no number.
 */
double figure_number(const json_t *answer, const char *expression);

/* A path alone, as text: a string, true, false, null or a number. NULL: leads nowhere. */
const char *figure_text(const json_t *answer, const char *path, char *room, size_t size);

#endif
