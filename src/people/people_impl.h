#ifndef PEOPLE_PEOPLE_IMPL_H
#define PEOPLE_PEOPLE_IMPL_H

#include "people/people.h"
#include "sheet/sheet.h"

/* A row as it was read, before persons who stand there twice are made one. */
struct people_row {
  struct people_person person;
  struct people_day *granted;
  /* where it stands, for a remark */
  const struct sheet_book *book; /* NULL: in the people file itself */
  int table, row, id_column;
  struct place place;      /* book NULL */
  struct people_row *next; /* the same person's next row */
};

struct people_rows {
  int count, room;
  struct people_row *list;
};

struct people_index {
  int count; /* a power of two */
  int *slots;
};

struct people_build {
  const struct roster *roster;
  struct arena *arena;
  struct complaints *complaints;
  int today_day;
  int unread_count; /* tables */
  struct people_rows rows;
};

/* ---- table.c ---- */
void people_take_table(struct people_build *b, int table, const struct people_table *text);
struct people_row *people_new_row(struct people_build *b);
void people_remark(struct people_build *b, const struct people_row *row, const char *fmt, ...)
    PRINTF_LIKE(3, 4);
const char *people_where(struct people_build *b, const struct people_row *row);

/* ---- merge.c ---- */
/* One person from rows of one id, chained by `next`. */
struct people_person people_merged(struct people_build *b, struct people_row *first);
/* Are these the names of one person?  LIKE: one is the other shortened.  HALF: each has a word that
 * the other has not, as one who married, or a sister. */
enum people_names { PEOPLE_SAME_NAME, PEOPLE_LIKE_NAME, PEOPLE_HALF_NAME, PEOPLE_OTHER_NAME };
enum people_names people_names(const char *a, const char *b);

#endif
