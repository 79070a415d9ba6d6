#ifndef WALK_FORM_IMPL_H
#define WALK_FORM_IMPL_H

/* The form's shape, for who writes it and who reads it back. */
#define WALK_HEAD_TITLE "Inward walk test"
#define WALK_HEAD_SUITE "suite"
#define WALK_HEAD_DATE  "date"
#define WALK_HEAD_BY    "by"
#define WALK_HEAD_MARK  "decimal mark"

enum { WALK_HEAD_ROWS = 9 };

enum walk_column {
  WALK_COLUMN_READING,
  WALK_COLUMN_STEP,
  WALK_COLUMN_SET,
  WALK_COLUMN_READ,
  WALK_COLUMN_HOW,
  WALK_COLUMN_UNIT,
  WALK_COLUMN_PREDICTED,
  WALK_COLUMN_FROM,
  WALK_COLUMN_TO,
  WALK_COLUMN_MEASURED,
  WALK_COLUMN_REMARK,
  WALK_COLUMN_COUNT
};

extern const char *const walk_columns[WALK_COLUMN_COUNT];

#endif
