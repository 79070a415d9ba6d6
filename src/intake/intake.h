#ifndef INTAKE_INTAKE_H
#define INTAKE_INTAKE_H

#include "base/arena.h"
#include "base/complaints.h"
#include "facility/facility.h"
#include "sheet/sheet.h"

/*
 * From a spreadsheet to a first suite.
 *
 * A station list is found among the sheets by its words, its columns are read by
 * what their headers say, and each cell is either certain, or a fault at its
 * place, or a question.  Nothing is guessed: what is not certain stays out of the
 * suite, and the remark beside it says what would fix it.  One bad cell costs its
 * own figure; a station is left out only when nothing could be written for it.
 *
 *     struct intake *in = intake_read(book, NULL, &arena, &complaints);
 *     while (in && (q = intake_next(in)))
 *       intake_answer(in, q->key, "don't know", &err);
 *     if (in)
 *       intake_suite(in, &out);
 *
 * Everything lives in the arena of intake_read, and the book must outlive it.  No
 * file, clock or terminal is touched.  One thread at a time for one intake.
 */
struct intake;

/* NULL after a complaint: no table, or more than one that could be meant.  `choice` names the
 * sheet to read ("Stations") or the cell where the header begins ("Stations!A20"); NULL: find it. */
struct intake *intake_read(const struct sheet_book *book, const char *choice, struct arena *arena,
                           struct complaints *complaints);

/* ---- at most INTAKE_QUESTIONS are asked, those that matter most for this list first ---- */
enum { INTAKE_QUESTIONS = 5 };

struct intake_question {
  const char *key;  /* as in a file of answers: "supply maximum" */
  const char *ask;  /* in a sentence */
  const char *find; /* where the figure stands */
  const char *hint; /* an answer as it may look */
  bool same; /* the one before, for the next exhaust main or column: not one more of the five */
};

/* Once, before the first question: the answers go with a suite that already says what its plant gives,
 * so nothing of the plant is asked. */
void intake_beside_suite(struct intake *in);

/* The next question, or NULL when five were asked or nothing is open.  Answering it moves on. */
const struct intake_question *intake_next(struct intake *in);

/* ERR_INPUT says what an answer may look like; nothing is changed then.  "don't know" is one. */
NODISCARD enum err_code intake_answer(struct intake *in, const char *key, const char *text,
                                      struct err *err);

/* A file of answers: "key: value" lines, '#' begins a comment.  Every fault by line; false then. */
bool intake_answers(struct intake *in, const struct facility_text *file,
                    struct complaints *complaints);

/* Answers and questions so far, in order. */
struct intake_reply {
  const char *key, *text; /* text NULL: don't know */
  bool asked;             /* one of the five */
  bool used;
};
int intake_replies(const struct intake *in, const struct intake_reply **out);

/* ---- what was read ---- */
enum intake_weight {
  INTAKE_FAULT, /* not used: mend it */
  INTAKE_NOTICE /* used as said, or not part of a suite */
};

struct intake_remark {
  enum intake_weight weight;
  int row, column;   /* 0-based; -1: the sheet */
  const char *place; /* "Stations!E7" */
  const char *text;
};

struct intake_result {
  const char *table;  /* the sheet read */
  int header_row;     /* 0-based */
  int row_count;      /* of the list, without headers and blank rows */
  int station_count;  /* written */
  int left_out_count; /* not written, each with a fault */
  int remark_count, remarks_dropped;
  const struct intake_remark *remarks; /* by place */
};

/* What sheets and columns were taken for, before any question: remarks about no single row.  The
 * counts are of the rows read so far. */
struct intake_result intake_heard(struct intake *in);

/* Interprets the cells with the answers so far; the questions end here. */
const struct intake_result *intake_finish(struct intake *in);

/* The suite as YAML with a comment for each row.  Passes `check`. */
void intake_suite(struct intake *in, struct buf *out);

/* ---- the list and an existing suite ---- */

/* One thing the list says otherwise than the suite. */
enum intake_change_kind {
  INTAKE_CHANGED, /* before and after */
  INTAKE_ADDED,   /* a station the suite does not have; key NULL */
  INTAKE_MISSING  /* one the list does not have; key NULL */
};

struct intake_change {
  enum intake_change_kind kind;
  const char *id, *key;       /* "flow, two-state, work" */
  const char *before, *after; /* as written; NULL: not there */
  const char *place;          /* of the row in the list, or NULL */
};

/*
 * What the list would change in a suite written from it, station by station.  Quantities are equal
 * when they are the same, in whatever unit; an empty cell changes nothing; what only the suite knows
 * is left alone.  Ends the questions.  -1 after a complaint.
 */
int intake_compare(struct intake *in, const struct facility_text *suite,
                   struct complaints *complaints, const struct intake_change **list_out);

/* The suite's text with these changes made; stations missing from the list go only when asked.
 * Read it before you keep it.  False after a complaint. */
NODISCARD bool intake_apply(struct intake *in, const struct facility_text *suite,
                            bool remove_missing, struct complaints *complaints, struct buf *out);

/* The station list of a suite as a table that intake_read reads back to the same stations; NULL
 * after a complaint.  Memory from `arena`. */
const struct sheet_table *intake_list(const struct facility_text *suite, struct arena *arena,
                                      struct complaints *complaints);

#endif
