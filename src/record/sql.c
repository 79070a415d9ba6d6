/* Statements, transactions, and what SQLite says in our words. */
#include "record/record_impl.h"

static const char *const texts[SQL_COUNT] = {

#define STATEMENT(name, sql) [SQL_##name] = (sql),
#include "record/statements.def"
#undef STATEMENT
};

_Static_assert(FEED_FUTURE == 7, "statements.def names it by its number");

enum err_code record_fail(const struct record *record, const char *doing, struct err *err)
{
  int code = sqlite3_errcode(record->db);
  const char *path = record->path;

  switch (code & 0xff) {
  case SQLITE_FULL:
    return err_set(
        err, ERR_IO,
        "%.80s: %s: the disk is full; nothing of this was kept, all before is: make room", path,
        doing);
  case SQLITE_READONLY:
    return err_set(err, ERR_IO,
                   "%.80s: %s: it may not be written; look at the permissions of the file and its "
                   "folder",
                   path, doing);
  case SQLITE_BUSY:
  case SQLITE_LOCKED:
    return err_set(err, ERR_IO, "%.80s: %s: another program holds it; try again", path, doing);
  case SQLITE_CORRUPT:
    return err_set(err, ERR_IO, "%.80s: %s: the file is damaged (%.40s); put a backup in its place",
                   path, doing, sqlite3_errmsg(record->db));
  case SQLITE_NOTADB:
    return err_set(err, ERR_INPUT, "%.80s: this is no record: something else stands in the file",
                   path);
  case SQLITE_CANTOPEN:
    return err_set(err, ERR_IO, "%.80s: it cannot be opened; look at the path and the permissions",
                   path);
  case SQLITE_NOMEM:
    err_no_memory();
  default:
    return err_set(err, ERR_IO, "%.80s: %s: %.80s (%d)", path, doing, sqlite3_errmsg(record->db),
                   sqlite3_extended_errcode(record->db));
  }
}

enum err_code record_run(struct record *record, const char *sql, const char *doing, struct err *err)
{
  if (sqlite3_exec(record->db, sql, NULL, NULL, NULL) != SQLITE_OK)
    return record_fail(record, doing, err);
  return ERR_OK;
}

sqlite3_stmt *record_sql(struct record *record, enum record_statement which, struct err *err)
{
  sqlite3_stmt **statement = &record->statements[which];

  if (*statement) {
    sqlite3_reset(*statement); /* its failure was told when it was stepped */
  } else if (sqlite3_prepare_v3(record->db, texts[which], -1, SQLITE_PREPARE_PERSISTENT, statement,
                                NULL) != SQLITE_OK) {
    (void)record_fail(record, "reading its tables", err);
    return NULL;
  }
  return *statement;
}

enum err_code record_step(struct record *record, sqlite3_stmt *statement, bool *row_out,
                          const char *doing, struct err *err)
{
  int code = sqlite3_step(statement);

  *row_out = code == SQLITE_ROW;
  if (code == SQLITE_ROW)
    return ERR_OK;
  enum err_code failed = code == SQLITE_DONE ? ERR_OK : record_fail(record, doing, err);

  sqlite3_reset(statement);
  return failed;
}

enum err_code record_done(struct record *record, sqlite3_stmt *statement, const char *doing,
                          struct err *err)
{
  bool row;

  return record_step(record, statement, &row, doing, err);
}

enum err_code record_begin(struct record *record, struct err *err)
{
  bool writes = record->mode == RECORD_WRITE;

  return record_run(record, writes ? "BEGIN IMMEDIATE" : "BEGIN", "beginning", err);
}

enum err_code record_end(struct record *record, enum err_code code, struct err *err)
{
  for (int i = 0; i < SQL_COUNT; i++) /* an open cursor would keep the transaction from ending */
    if (record->statements[i])
      sqlite3_reset(record->statements[i]);
  if (code == ERR_OK)
    code = record_run(record, "COMMIT", "writing it to the disk", err);
  if (code != ERR_OK && !sqlite3_get_autocommit(record->db))
    sqlite3_exec(record->db, "ROLLBACK", NULL, NULL, NULL);
  return code;
}

enum err_code record_writes(const struct record *record, struct err *err)
{
  if (record->mode == RECORD_WRITE)
    return ERR_OK;
  return err_set(err, ERR_IO, "%.80s: it was opened for reading only", record->path);
}
