/* Raw files: once each, by the hash of their bytes. */
#include "record/record_impl.h"

#include <sodium.h>
#include <string.h>

static const char doing[] = "keeping a raw file";

static enum err_code is_known(struct record *record, const char *source, const unsigned char *hash,
                              bool *out, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_RAW_KNOWN, err);
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_text(statement, 1, source, -1, SQLITE_STATIC);
  sqlite3_bind_blob(statement, 2, hash, HASH_BYTES, SQLITE_STATIC);
  enum err_code code = record_step(record, statement, &row, doing, err);

  *out = code == ERR_OK && row && sqlite3_column_int64(statement, 0) > 0;
  sqlite3_reset(statement);
  sqlite3_clear_bindings(statement);
  return code;
}

enum err_code record_keep_raw(struct record *record, const struct record_raw *raw,
                              bool *known_already_out, struct err *err)
{
  unsigned char hash[crypto_hash_sha256_BYTES];
  enum err_code code = record_writes(record, err);
  sqlite3_stmt *statement;
  bool known = false;

  if (code != ERR_OK)
    return code;
  crypto_hash_sha256(hash, raw->bytes, raw->size);
  code = is_known(record, raw->source, hash, &known, err);
  if (code != ERR_OK || known) {
    *known_already_out = known;
    return code;
  }
  statement = record_sql(record, SQL_RAW_ADD, err);
  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_text(statement, 1, raw->source, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 2, raw->name, -1, SQLITE_STATIC);
  sqlite3_bind_int64(statement, 3, raw->seen_ms);
  sqlite3_bind_blob(statement, 4, hash, sizeof hash, SQLITE_STATIC);
  if (raw->size > 0)
    sqlite3_bind_blob64(statement, 5, raw->bytes, raw->size, SQLITE_STATIC);
  else
    sqlite3_bind_zeroblob(statement, 5, 0); /* a NULL of no bytes would be NULL */
  code = record_done(record, statement, doing, err);
  sqlite3_clear_bindings(statement);
  if (code == ERR_OK)
    *known_already_out = false;
  return code;
}

enum err_code record_raw(struct record *record, const char *sha256_hex, struct arena *arena,
                         const void **bytes_out, size_t *size_out, struct err *err)
{
  unsigned char hash[HASH_BYTES];
  size_t used = 0;
  bool row;

  *bytes_out = NULL;
  *size_out = 0;
  if (strlen(sha256_hex) != 64 ||
      sodium_hex2bin(hash, sizeof hash, sha256_hex, 64, NULL, &used, NULL) != 0 ||
      used != sizeof hash)
    return err_set(err, ERR_INPUT, "a raw file is named by the 64 digits of its SHA-256");
  sqlite3_stmt *statement = record_sql(record, SQL_RAW_BYTES, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_blob(statement, 1, hash, sizeof hash, SQLITE_STATIC);
  enum err_code code = record_step(record, statement, &row, "reading a raw file", err);

  if (code == ERR_OK && row) {
    size_t size = (size_t)sqlite3_column_bytes(statement, 0);
    char *copy = arena_push(arena, size + 1, 1);

    if (!copy) {
      code = err_set(err, ERR_LIMIT, "a raw file of %zu bytes does not fit", size);
    } else {
      if (size > 0)
        memcpy(copy, sqlite3_column_blob(statement, 0), size);
      *bytes_out = copy;
      *size_out = size;
    }
  }
  sqlite3_reset(statement);
  sqlite3_clear_bindings(statement);
  return code;
}
