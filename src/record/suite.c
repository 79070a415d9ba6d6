/* Whose record it is. */
#include "record/record_impl.h"

#include <stdlib.h>
#include <string.h>

static const char doing[] = "asking whose it is";

/* The one text that a statement gives; NULL when it gives none. */
static enum err_code ask(struct record *record, enum record_statement which, struct arena *arena,
                         const char **out, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, which, err);
  bool row;

  *out = NULL;
  if (!statement)
    return err_same(ERR_IO);
  enum err_code code = record_step(record, statement, &row, doing, err);
  const char *text = code == ERR_OK && row ? (const char *)sqlite3_column_text(statement, 0) : NULL;

  if (text && !(*out = arena_strdup(arena, text)))
    code = err_set(err, ERR_LIMIT, "the name of its suite does not fit");
  sqlite3_reset(statement);
  return code;
}

enum err_code record_suite(struct record *record, struct arena *arena, const char **name_out,
                           struct err *err)
{
  enum err_code code = ask(record, SQL_SUITE, arena, name_out, err);

  return code == ERR_OK && !*name_out ? ask(record, SQL_SUITE_SAID, arena, name_out, err) : code;
}

void record_take_over(struct record *record, const struct facility *facility)
{
  free(record->suite);
  record->suite = facility->name ? strdup(facility->name) : NULL;
  if (facility->name && !record->suite)
    err_no_memory();
}

/* The last part of a path to a suite file; NULL: it is a name that somebody gave. */
static const char *file_of(const char *name)
{
  const char *slash = strrchr(name, '/'), *dot = strrchr(name, '.');

  return dot && (strcmp(dot, ".yaml") == 0 || strcmp(dot, ".yml") == 0) ? slash ? slash + 1 : name
                                                                        : NULL;
}

bool record_is_of(const char *said, const struct facility *facility)
{
  const char *own = facility->name ? facility->name : "(no name)", *file = file_of(own);

  return strcmp(said, own) == 0 || (file && file_of(said) && strcmp(file_of(said), file) == 0);
}

enum err_code record_of(struct record *record, const struct facility *facility, struct err *err)
{
  const char *own = facility->name ? facility->name : "(no name)", *said;
  struct arena arena;

  arena_init(&arena, 1 << 20);
  enum err_code code = record_suite(record, &arena, &said, err);

  if (code == ERR_OK && said && !record_is_of(said, facility))
    code = err_set(
        err, ERR_INPUT,
        "the record is of the suite '%.60s', not of '%.60s': name its own suite file, or another "
        "record; if it was renamed, start its board once",
        said, own);
  if (code == ERR_OK)
    record_take_over(record, facility);
  arena_release(&arena);
  return code;
}
