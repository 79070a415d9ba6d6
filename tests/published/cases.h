#ifndef TESTS_PUBLISHED_CASES_H
#define TESTS_PUBLISHED_CASES_H

#include <stdbool.h>

/*
 * Published figures, one a row of a CSV file with these columns by name:
 *
 *   id          as it is cited, unique in its file
 *   what        a formula of the formula table; "sum NAME" adds the output over several sets of
 *               inputs parted by " | "; "change NAME" is first over second set, less one.
 *               In a file of networks: the suite; in one of verbs: the verb
 *   inputs      key=value parted by blanks; for a network the arguments of `air`, for a verb its own,
 *               as a shell reads them, files as seen from the folder of the table
 *   output      the output's key; for a network or a verb the path in the JSON answer
 *   theirs      the figure as printed, in `unit`
 *   kind        rel: tolerance is a share of theirs; abs: in `unit`
 *   tolerance   "0.01", or "-0.005..0.04" where a rounding of theirs pushes to one side
 *   provenance  published, re-implemented, derived, second-hand or memory
 *   source, note
 *
 * A file of networks calls the first columns suite, arguments and path, and kind "tolerance kind";
 * one of verbs calls the first of them verb.
 *
 * A row that does not agree stays, with the reason in its note and the tolerance it needs.
 */
struct published_case {
  const char *id, *what, *inputs, *output, *theirs, *unit, *kind, *tolerance, *provenance, *source,
      *note;
};

enum published_asks {
  PUBLISHED_FORMULAS,
  PUBLISHED_NETWORKS, /* the rows ask `inward air` */
  PUBLISHED_VERBS     /* the rows ask whatever verb they name */
};

struct published_cases {
  enum published_asks asks;
  int count;
  struct published_case *rows;
  char *bytes; /* what the rows point into */
};

/* Prints what is wrong with the file and returns false. */
bool published_read(const char *path, struct published_cases *out);
void published_release(struct published_cases *cases);

/* A row's figures, in the row's unit. */
struct published_result {
  double theirs, ours, low, high; /* allowed: low <= ours - theirs <= high */
  bool agrees;
  char trouble[256]; /* why there is no figure; empty: there is one */
};

/* Runs a formula row. */
void published_run_formula(const struct published_case *row, struct published_result *out);
/* The same for a figure measured elsewhere, in SI. */
void published_run_measured(const struct published_case *row, double ours_si,
                            struct published_result *out);
/* The row compares words: its unit is "text". */
bool published_is_text(const struct published_case *row);

#endif
