/* The tables, and how an older file becomes one of today. */
#include "record/record_impl.h"

#include <stdio.h>

enum { SCHEMA_VERSION = 2, APPLICATION_ID = 0x496e7764 }; /* "Inwd" */

/* Before the first table, or it has no effect. */
static const char before_tables[] = "PRAGMA page_size = 8192; PRAGMA auto_vacuum = INCREMENTAL;";

/* Version 2.  t, seen, began, ended, kept: ms UTC.  v, min ... last: whole resolutions from base. */
static const char series_table[] =
    "CREATE TABLE series(series INTEGER PRIMARY KEY, suite TEXT NOT NULL, point TEXT NOT NULL,"
    " about TEXT NOT NULL, what TEXT NOT NULL, dimension TEXT NOT NULL, step REAL NOT NULL,"
    " base REAL NOT NULL, hold INTEGER NOT NULL, began INTEGER NOT NULL, ended INTEGER NOT NULL,"
    " kept INTEGER NOT NULL DEFAULT -9223372036854775808,"
    " kept_ten INTEGER NOT NULL DEFAULT -9223372036854775808) STRICT;"
    "CREATE INDEX series_by_point ON series(suite, point);";
static const char sample_tables[] =
    "CREATE TABLE sample(series INTEGER NOT NULL, t INTEGER NOT NULL, v INTEGER,"
    " q INTEGER NOT NULL, lag INTEGER NOT NULL, PRIMARY KEY(series, t)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE latest(series INTEGER PRIMARY KEY, t INTEGER NOT NULL, v INTEGER,"
    " q INTEGER NOT NULL, lag INTEGER NOT NULL) STRICT;";
static const char rollup_tables[] =
    "CREATE TABLE r10m(series INTEGER NOT NULL, t INTEGER NOT NULL, min INTEGER NOT NULL,"
    " max INTEGER NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL,"
    " integral INTEGER NOT NULL, good INTEGER NOT NULL, count INTEGER NOT NULL,"
    " PRIMARY KEY(series, t)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE r1h(series INTEGER NOT NULL, t INTEGER NOT NULL, min INTEGER NOT NULL,"
    " max INTEGER NOT NULL, first INTEGER NOT NULL, last INTEGER NOT NULL,"
    " integral INTEGER NOT NULL, good INTEGER NOT NULL, count INTEGER NOT NULL,"
    " PRIMARY KEY(series, t)) STRICT, WITHOUT ROWID;";
static const char entry_table[] =
    "CREATE TABLE entry(number INTEGER PRIMARY KEY, t INTEGER NOT NULL, written INTEGER NOT NULL,"
    " kind TEXT NOT NULL, about TEXT NOT NULL, who TEXT NOT NULL, text TEXT NOT NULL,"
    " detail TEXT NOT NULL, before BLOB NOT NULL, hash BLOB NOT NULL,"
    " suite TEXT NOT NULL DEFAULT '') STRICT;"
    "CREATE INDEX entry_by_time ON entry(t);";
/* The first also stops REPLACE, which deletes without asking a trigger. */
static const char entry_guards[] =
    "CREATE TRIGGER entry_only_added BEFORE INSERT ON entry BEGIN"
    " SELECT RAISE(ABORT, 'entries are only added, one after the other')"
    " WHERE NEW.number <> (SELECT coalesce(max(number), 0) + 1 FROM entry); END;"
    "CREATE TRIGGER entry_never_changed BEFORE UPDATE ON entry BEGIN"
    " SELECT RAISE(ABORT, 'entries are never changed'); END;"
    "CREATE TRIGGER entry_never_deleted BEFORE DELETE ON entry BEGIN"
    " SELECT RAISE(ABORT, 'entries are never deleted'); END;";
static const char raw_table[] =
    "CREATE TABLE raw(file INTEGER PRIMARY KEY, source TEXT NOT NULL, name TEXT NOT NULL,"
    " seen INTEGER NOT NULL, sha256 BLOB NOT NULL, bytes BLOB NOT NULL,"
    " UNIQUE(source, sha256)) STRICT;"
    "CREATE INDEX raw_by_hash ON raw(sha256);";

static enum err_code run_all(struct record *record, const char *const *list, size_t count,
                             const char *doing, struct err *err)
{
  enum err_code code = ERR_OK;

  for (size_t i = 0; code == ERR_OK && i < count; i++)
    code = record_run(record, list[i], doing, err);
  return code;
}

/* Version 0, of before the first release: the same samples without the lag of their arrival and
 * without roll-ups. */
static enum err_code from_0(struct record *record, struct err *err)
{
  static const char *const steps[] = {
      "ALTER TABLE sample RENAME TO sample_0; ALTER TABLE series RENAME TO series_0;"
      "DROP INDEX IF EXISTS series_by_point; DROP TABLE IF EXISTS latest;",
      series_table,
      sample_tables,
      rollup_tables,
      raw_table,
      "INSERT INTO series(series, suite, point, about, what, dimension, step, base, hold, began,"
      " ended) SELECT series, suite, point, about, what, dimension, step, base, hold,"
      " -9223372036854775808, 9223372036854775807 FROM series_0;"
      "INSERT INTO sample SELECT series, t, v, q, 0 FROM sample_0;"
      "INSERT INTO latest SELECT series, max(t), v, q, lag FROM sample WHERE q <> 7 GROUP BY series;"
      "DROP TABLE sample_0; DROP TABLE series_0;"};
  enum err_code code =
      run_all(record, steps, sizeof steps / sizeof steps[0], "bringing it up to date", err);
  sqlite3_stmt *all = code == ERR_OK ? record_sql(record, SQL_ALL_SERIES, err) : NULL;
  bool row = all != NULL;

  if (code == ERR_OK && !all)
    return ERR_IO;
  while (code == ERR_OK && row) {
    code = record_step(record, all, &row, "bringing it up to date", err);
    if (code == ERR_OK && row) {
      const struct record_series series = {.number = sqlite3_column_int64(all, 0),
                                           .hold_ms = sqlite3_column_int64(all, 3),
                                           .began_ms = INT64_MIN,
                                           .ended_ms = INT64_MAX};

      code = record_remake(record, &series, INT64_MIN, INT64_MAX, err);
    }
  }
  return code;
}

/* Version 1: entries that do not say of which suite they are. */
static enum err_code from_1(struct record *record, struct err *err)
{
  return record_run(record, "ALTER TABLE entry ADD COLUMN suite TEXT NOT NULL DEFAULT ''",
                    "bringing it up to date", err);
}

static enum err_code (*const migrations[SCHEMA_VERSION])(struct record *, struct err *) = {from_0,
                                                                                           from_1};

/* A reader sees version 1 as it would be: the name goes before that of the table in the file. */
static enum err_code read_1(struct record *record, struct err *err)
{
  return record_run(record,
                    "PRAGMA query_only = OFF;"
                    "CREATE TEMP VIEW entry AS SELECT *, '' AS suite FROM main.entry;"
                    "PRAGMA query_only = ON;",
                    "reading it as an older Inward wrote it", err);
}

static enum err_code pragma_number(struct record *record, const char *sql, int64_t *out,
                                   struct err *err)
{
  sqlite3_stmt *statement = NULL;
  enum err_code code = ERR_OK;

  if (sqlite3_prepare_v2(record->db, sql, -1, &statement, NULL) != SQLITE_OK ||
      sqlite3_step(statement) != SQLITE_ROW)
    code = record_fail(record, "reading its first page", err);
  else
    *out = sqlite3_column_int64(statement, 0);
  sqlite3_finalize(statement);
  return code;
}

static enum err_code stamp(struct record *record, struct err *err)
{
  char sql[100];

  snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d;", APPLICATION_ID,
           SCHEMA_VERSION);
  return record_run(record, sql, "stamping it", err);
}

static enum err_code make(struct record *record, struct err *err)
{
  static const char *const tables[] = {series_table, sample_tables, rollup_tables,
                                       entry_table,  entry_guards,  raw_table};
  enum err_code code = record_run(record, before_tables, "making it", err);

  if (code == ERR_OK)
    code = record_begin(record, err);
  if (code != ERR_OK)
    return code;
  code = run_all(record, tables, sizeof tables / sizeof tables[0], "making its tables", err);
  if (code == ERR_OK)
    code = stamp(record, err);
  return record_end(record, code, err);
}

static enum err_code migrate(struct record *record, int64_t version, struct err *err)
{
  if (record->mode == RECORD_READ && version == 1)
    return read_1(record, err);
  if (record->mode == RECORD_READ)
    return err_set(
        err, ERR_INPUT,
        "%.80s: written by an older Inward (schema %d, now %d); open it once for writing "
        "(serve or take) to bring it up to date",
        record->path, (int)version, SCHEMA_VERSION);
  enum err_code code = record_begin(record, err);

  if (code != ERR_OK)
    return code;
  for (int64_t v = version; code == ERR_OK && v < SCHEMA_VERSION; v++)
    code = migrations[v](record, err);
  if (code == ERR_OK)
    code = stamp(record, err);
  return record_end(record, code, err);
}

enum err_code record_schema(struct record *record, struct err *err)
{
  int64_t version = 0, application = 0, tables = 0;
  enum err_code code = pragma_number(record, "PRAGMA application_id", &application, err);

  if (code == ERR_OK)
    code = pragma_number(record, "PRAGMA user_version", &version, err);
  if (code == ERR_OK)
    code = pragma_number(record, "SELECT count(*) FROM sqlite_schema", &tables, err);
  if (code != ERR_OK)
    return code;
  if (tables == 0 && application == 0 && version == 0) {
    if (record->mode == RECORD_WRITE)
      return make(record, err);
    return err_set(err, ERR_INPUT, "%.80s: the file is empty: nothing was recorded in it yet",
                   record->path);
  }
  if (application != APPLICATION_ID)
    return err_set(err, ERR_INPUT, "%.80s: this is no record: another program's tables stand in it",
                   record->path);
  if (version > SCHEMA_VERSION)
    return err_set(
        err, ERR_INPUT,
        "%.80s: written by a newer Inward (schema %d; this one knows up to %d): use that "
        "one",
        record->path, (int)version, SCHEMA_VERSION);
  return version < SCHEMA_VERSION ? migrate(record, version, err) : ERR_OK;
}
