/* The chain: each entry's hash covers the one before it.  record.h says which bytes. */
#include "record/record_impl.h"

#include <inttypes.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

static const char doing[] = "verifying entries";

static void put_number(crypto_hash_sha256_state *state, uint64_t number, int bytes)
{
  unsigned char high_first[8];

  for (int i = 0; i < bytes; i++)
    high_first[i] = (unsigned char)(number >> (8 * (bytes - 1 - i)));
  crypto_hash_sha256_update(state, high_first, (unsigned long long)bytes);
}

static void put_text(crypto_hash_sha256_state *state, const char *text)
{
  size_t size = strlen(text);

  put_number(state, size, 4);
  crypto_hash_sha256_update(state, (const unsigned char *)text, size);
}

void record_hash(const unsigned char before[HASH_BYTES], const struct record_entry *entry,
                 const char *kind, unsigned char out[HASH_BYTES])
{
  static const char without[] = "inward entry 1", with[] = "inward entry 2"; /* and a zero byte */
  const char *tag = entry->suite[0] ? with : without;
  crypto_hash_sha256_state state;

  crypto_hash_sha256_init(&state);
  crypto_hash_sha256_update(&state, (const unsigned char *)tag, sizeof without);
  crypto_hash_sha256_update(&state, before, HASH_BYTES);
  put_number(&state, (uint64_t)entry->number, 8);
  put_number(&state, (uint64_t)entry->t_ms, 8);
  put_number(&state, (uint64_t)entry->written_ms, 8);
  put_text(&state, kind);
  put_text(&state, entry->about);
  put_text(&state, entry->who);
  put_text(&state, entry->text);
  put_text(&state, entry->detail);
  if (entry->suite[0])
    put_text(&state, entry->suite);
  crypto_hash_sha256_final(&state, out);
}

/* ---- verifying ---- */

struct walk {
  struct record *record;
  struct buf *out;
  int faults;
  int64_t number; /* of the entry before */
  unsigned char hash[HASH_BYTES];
  bool told;           /* that it is not what was written: then nothing can follow it */
  int64_t head_number; /* printed elsewhere; 0: none */
  const char *head_hex;
  bool head_seen;
};

/* A row as it stands in the file, its texts good until the next. */
struct link {
  struct record_entry entry;
  const char *kind;
  unsigned char before[HASH_BYTES], hash[HASH_BYTES];
  bool whole; /* every part has its type and size */
};

static PRINTF_LIKE(2, 3) void fault(struct walk *walk, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  buf_vprintf(walk->out, fmt, args);
  va_end(args);
  buf_putc(walk->out, '\n');
  walk->faults++;
}

static bool take_hash(sqlite3_stmt *statement, int column, unsigned char out[HASH_BYTES])
{
  memset(out, 0, HASH_BYTES);
  if (sqlite3_column_bytes(statement, column) != HASH_BYTES)
    return false;
  memcpy(out, sqlite3_column_blob(statement, column), HASH_BYTES);
  return true;
}

static void read_link(sqlite3_stmt *statement, struct link *link)
{
  enum { TEXTS = 6 };
  const char *texts[TEXTS];

  link->whole = true;
  for (int i = 0; i < TEXTS; i++) {
    texts[i] = (const char *)sqlite3_column_text(statement, 3 + i);
    /* a zero byte inside would hide what comes behind it */
    link->whole &= texts[i] && strlen(texts[i]) == (size_t)sqlite3_column_bytes(statement, 3 + i);
    if (!texts[i])
      texts[i] = "";
  }
  link->kind = texts[0];
  link->entry = (struct record_entry){.number = sqlite3_column_int64(statement, 0),
                                      .t_ms = sqlite3_column_int64(statement, 1),
                                      .written_ms = sqlite3_column_int64(statement, 2),
                                      .about = texts[1],
                                      .who = texts[2],
                                      .text = texts[3],
                                      .detail = texts[4],
                                      .suite = texts[5]};
  link->whole &= take_hash(statement, 9, link->hash);
  link->whole &= take_hash(statement, 10, link->before);
}

static bool is_as_written(const struct link *link, int64_t number)
{
  struct record_entry entry = link->entry;
  unsigned char hash[HASH_BYTES];

  entry.number = number;
  record_hash(link->before, &entry, link->kind, hash);
  return link->whole && memcmp(hash, link->hash, HASH_BYTES) == 0;
}

/* The number an entry had when it was written: one more than the entry it names as the one before. */
static enum err_code number_when_written(struct record *record, const struct link *link,
                                         int64_t *out, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_NUMBER_OF, err);
  bool row;

  *out = sodium_is_zero(link->before, HASH_BYTES) ? 1 : 0;
  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_blob(statement, 1, link->before, HASH_BYTES, SQLITE_STATIC);
  enum err_code code = record_step(record, statement, &row, doing, err);

  if (code == ERR_OK && row)
    *out = sqlite3_column_int64(statement, 0) + 1;
  sqlite3_reset(statement);
  sqlite3_clear_bindings(statement);
  return code;
}

/* Not what was written under this number: moved from another, or altered. */
static enum err_code tell_changed(struct walk *walk, const struct link *link, struct err *err)
{
  int64_t number = link->entry.number, candidate = 0;
  enum err_code code = number_when_written(walk->record, link, &candidate, err);

  if (code != ERR_OK)
    return code;
  /* neighbours that changed places name each other, so the numbers near by are tried as well */
  for (int64_t n = number - 8; candidate != 0 && !is_as_written(link, candidate) && n <= number + 8;
       n++)
    candidate = n > 0 && is_as_written(link, n) ? n : candidate;
  if (candidate != 0 && candidate != number && is_as_written(link, candidate))
    fault(walk, "entry %" PRId64 ": reordered: it was written as entry %" PRId64, number,
          candidate);
  else
    fault(walk, "entry %" PRId64 ": altered: it is not what was written", number);
  return ERR_OK;
}

static void tell_gap(struct walk *walk, int64_t next)
{
  int64_t first = walk->number + 1, last = next - 1;

  if (last > first)
    fault(walk, "entries %" PRId64 " to %" PRId64 ": removed", first, last);
  else
    fault(walk, "entry %" PRId64 ": removed", first);
}

static void compare_head(struct walk *walk, const struct link *link)
{
  char hex[2 * HASH_BYTES + 1];

  if (walk->head_number == 0 || link->entry.number != walk->head_number)
    return;
  walk->head_seen = true;
  sodium_bin2hex(hex, sizeof hex, link->hash, HASH_BYTES);
  if (strncmp(hex, walk->head_hex, strlen(walk->head_hex)) != 0)
    fault(walk,
          "entry %" PRId64 ": not the one whose hash was printed: %.8s..., printed %.8s...; it, or "
          "any before it, was made anew",
          link->entry.number, hex, walk->head_hex);
}

static enum err_code take_link(struct walk *walk, const struct link *link, struct err *err)
{
  bool gap = link->entry.number != walk->number + 1;
  bool changed = !is_as_written(link, link->entry.number);
  enum err_code code = ERR_OK;

  if (gap)
    tell_gap(walk, link->entry.number);
  if (changed)
    code = tell_changed(walk, link, err);
  else if (!gap && !walk->told && memcmp(link->before, walk->hash, HASH_BYTES) != 0)
    fault(walk,
          "entry %" PRId64 ": does not follow entry %" PRId64
          ", which was altered together with its hash",
          link->entry.number, walk->number);
  compare_head(walk, link);
  walk->told = changed;
  walk->number = link->entry.number;
  memcpy(walk->hash, link->hash, HASH_BYTES);
  return code;
}

static enum err_code look_at_guards(struct walk *walk, struct err *err)
{
  sqlite3_stmt *statement = record_sql(walk->record, SQL_GUARDS, err);
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  enum err_code code = record_step(walk->record, statement, &row, doing, err);

  if (code == ERR_OK && row && sqlite3_column_int(statement, 0) != 3)
    fault(walk, "the guards that refuse changes to entries were taken out of the file");
  sqlite3_reset(statement);
  return code;
}

static enum err_code walk_chain(struct walk *walk, struct err *err)
{
  sqlite3_stmt *statement = record_sql(walk->record, SQL_CHAIN, err);
  enum err_code code = ERR_OK;
  bool row = true;

  if (!statement)
    return err_same(ERR_IO);
  while (code == ERR_OK && row) {
    struct link link;

    code = record_step(walk->record, statement, &row, doing, err);
    if (code == ERR_OK && row) {
      read_link(statement, &link);
      code = take_link(walk, &link, err);
    }
  }
  if (code == ERR_OK && walk->head_number > walk->number)
    tell_gap(walk, walk->head_number + 1);
  return code == ERR_OK ? look_at_guards(walk, err) : code;
}

enum err_code record_verify(struct record *record, int64_t head_number, const char *head_hex,
                            int *faults_out, struct buf *out, struct err *err)
{
  struct walk walk = {
      .record = record, .out = out, .head_number = head_number, .head_hex = head_hex};

  if (head_number < 0 || (head_number > 0 && (strlen(head_hex) < 8 || strlen(head_hex) > 64 ||
                                              head_hex[strspn(head_hex, "0123456789abcdef")])))
    return err_set(err, ERR_INPUT,
                   "a head is an entry's number and the first 8 to 64 digits of its hash");
  enum err_code code = record_run(record, "BEGIN", doing, err);

  if (code != ERR_OK)
    return code;
  code = record_end(record, walk_chain(&walk, err), err);
  if (code == ERR_OK)
    *faults_out = walk.faults;
  return code;
}
