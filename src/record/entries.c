/* Entries: added one after the other, asked by time. */
#include "record/record_impl.h"

#include "base/utf8.h"

#include <sodium.h>
#include <string.h>

static const char adding[] = "appending an entry", reading[] = "reading entries";

static const char *const kind_names[RECORD_KIND_COUNT] = {[RECORD_EVENT] = "event",
                                                          [RECORD_NOTE] = "note",
                                                          [RECORD_ACKNOWLEDGED] = "acknowledged",
                                                          [RECORD_WITHDRAWN] = "withdrawn",
                                                          [RECORD_RELEASED] = "released",
                                                          [RECORD_ROUND] = "round",
                                                          [RECORD_INCIDENT] = "incident",
                                                          [RECORD_TAKEN] = "taken",
                                                          [RECORD_SETTINGS] = "settings",
                                                          [RECORD_SHELVED] = "shelved",
                                                          [RECORD_UNSHELVED] = "unshelved",
                                                          [RECORD_STOPPED] = "stopped",
                                                          [RECORD_PRINTED] = "printed",
                                                          [RECORD_ANSWERED] = "answered",
                                                          [RECORD_CONFIRMED] = "confirmed",
                                                          [RECORD_REFUTED] = "refuted",
                                                          [RECORD_BATH] = "bath",
                                                          [RECORD_WASTE] = "waste",
                                                          [RECORD_RUN] = "run",
                                                          [RECORD_GLASS] = "glass",
                                                          [RECORD_MATCH] = "match"};

const char *record_kind_name(enum record_kind kind)
{
  return kind_names[kind];
}

int record_kind_find(const char *name)
{
  for (int i = 0; i < RECORD_KIND_COUNT; i++)
    if (strcmp(kind_names[i], name) == 0)
      return i;
  return -1;
}

/* ---- in ---- */

static enum err_code check_text(const char *name, const char *text, size_t most, bool wanted,
                                struct err *err)
{
  bool is_name = most == RECORD_SHORT_MOST_BYTES;
  const char *line = is_name ? strchr(text, '\n') : NULL;

  if (strlen(text) > most)
    return err_set(err, ERR_INPUT, "an entry's %s has at most %zu bytes; this one has %zu", name,
                   most, strlen(text));
  if (utf8_fault(text))
    return err_set(err, ERR_INPUT, "an entry's %s is UTF-8 text; byte %zu of this one is not", name,
                   (size_t)(utf8_fault(text) - text) + 1);
  /* A line break in a name would forge a line of the log. */
  if (line)
    return err_set(err, ERR_INPUT,
                   "an entry's %s is one line; this one has a line break at byte %zu", name,
                   (size_t)(line - text) + 1);
  if (wanted && text[strspn(text, " \t\r\n")] == '\0')
    return err_set(err, ERR_INPUT, "an entry needs its %s; this one is empty", name);
  return ERR_OK;
}

/* Of what people tell; the program itself may have to quote what a source wrote. */
static enum err_code check_seen(const struct record_entry *entry, struct err *err)
{
  const struct {
    const char *name, *text;
  } told[] = {{"about", entry->about},
              {"who", entry->who},
              {"text", entry->text},
              {"detail", entry->detail}};
  char said[UTF8_SAID_BYTES];

  for (size_t i = 0; i < sizeof told / sizeof *told; i++)
    if (utf8_unseen(told[i].text, said) && (i < 2 || strcmp(entry->who, "inward") != 0))
      return err_set(err, ERR_INPUT, "an entry's %s is read as it is seen: %s", told[i].name, said);
  return ERR_OK;
}

enum err_code record_entry_fits(const struct record_entry *entry, struct err *err)
{
  enum err_code code = check_text("about", entry->about, RECORD_SHORT_MOST_BYTES, false, err);

  if (code == ERR_OK)
    code = check_text("who", entry->who, RECORD_SHORT_MOST_BYTES, true, err);
  if (code == ERR_OK)
    code = check_text("text", entry->text, RECORD_TEXT_MOST_BYTES, true, err);
  if (code == ERR_OK)
    code = check_text("detail", entry->detail, RECORD_TEXT_MOST_BYTES, false, err);
  return code == ERR_OK ? check_seen(entry, err) : code;
}

enum err_code record_newest_entry(struct record *record, int64_t *number_out,
                                  unsigned char hash[HASH_BYTES], struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_HEAD, err);
  bool row;

  *number_out = 0;
  memset(hash, 0, HASH_BYTES);
  if (!statement)
    return err_same(ERR_IO);
  enum err_code code = record_step(record, statement, &row, reading, err);

  if (code == ERR_OK && row) {
    *number_out = sqlite3_column_int64(statement, 0);
    if (sqlite3_column_bytes(statement, 1) == HASH_BYTES)
      memcpy(hash, sqlite3_column_blob(statement, 1), HASH_BYTES);
  }
  sqlite3_reset(statement);
  return code;
}

enum err_code record_append_open(struct record *record, struct record_entry *entry, struct err *err)
{
  unsigned char before[HASH_BYTES], hash[HASH_BYTES];
  entry->suite = record->suite ? record->suite : "";

  const char *const texts[] = {kind_names[entry->kind], entry->about, entry->who, entry->text,
                               entry->detail,           entry->suite};
  enum { TEXTS = sizeof texts / sizeof texts[0] };
  enum err_code code = record_entry_fits(entry, err);

  if (code == ERR_OK)
    code = record_newest_entry(record, &entry->number, before, err);
  if (code != ERR_OK)
    return code;
  entry->number++;
  record_hash(before, entry, kind_names[entry->kind], hash);
  sodium_bin2hex(entry->hash_hex, sizeof entry->hash_hex, hash, sizeof hash);

  sqlite3_stmt *statement = record_sql(record, SQL_APPEND, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, entry->number);
  sqlite3_bind_int64(statement, 2, entry->t_ms);
  sqlite3_bind_int64(statement, 3, entry->written_ms);
  for (int i = 0; i < TEXTS; i++)
    sqlite3_bind_text(statement, 4 + i, texts[i], -1, SQLITE_STATIC);
  sqlite3_bind_blob(statement, 10, before, sizeof before, SQLITE_STATIC);
  sqlite3_bind_blob(statement, 11, hash, sizeof hash, SQLITE_STATIC);
  code = record_done(record, statement, adding, err);
  sqlite3_clear_bindings(statement); /* what they point to is about to go */
  return code;
}

enum err_code record_append(struct record *record, struct record_entry *entry, struct err *err)
{
  struct record_entry written = *entry;
  enum err_code code = record_writes(record, err);

  BUG_IF(entry->kind < 0 || entry->kind >= RECORD_KIND_COUNT);
  if (code == ERR_OK)
    code = record_begin(record, err);
  if (code != ERR_OK)
    return code;
  code = record_end(record, record_append_open(record, &written, err), err);
  if (code == ERR_OK)
    *entry = written;
  return code;
}

/* ---- out ---- */

enum err_code record_head(struct record *record, int64_t *number_out, char hash_hex[65],
                          struct err *err)
{
  unsigned char hash[HASH_BYTES];
  enum err_code code = record_newest_entry(record, number_out, hash, err);

  if (code == ERR_OK)
    sodium_bin2hex(hash_hex, 65, hash, sizeof hash);
  return code;
}

static bool read_entry(sqlite3_stmt *statement, struct arena *arena, struct record_entry *entry)
{
  enum { TEXTS = 6 };
  const char *texts[TEXTS];

  for (int i = 0; i < TEXTS; i++) {
    texts[i] = arena_strdup(arena, (const char *)sqlite3_column_text(statement, 3 + i));
    if (!texts[i])
      return false;
  }
  int kind = record_kind_find(texts[0]);

  *entry = (struct record_entry){.number = sqlite3_column_int64(statement, 0),
                                 .t_ms = sqlite3_column_int64(statement, 1),
                                 .written_ms = sqlite3_column_int64(statement, 2),
                                 .kind = kind < 0 ? RECORD_EVENT : (enum record_kind)kind,
                                 .about = texts[1],
                                 .who = texts[2],
                                 .text = texts[3],
                                 .detail = texts[4],
                                 .suite = texts[5]};
  if (sqlite3_column_bytes(statement, 9) == HASH_BYTES)
    sodium_bin2hex(entry->hash_hex, sizeof entry->hash_hex, sqlite3_column_blob(statement, 9),
                   HASH_BYTES);
  return true;
}

static sqlite3_stmt *asked(struct record *record, const struct record_wanted *wanted,
                           struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_ENTRIES, err);

  if (!statement)
    return NULL;
  sqlite3_bind_int64(statement, 1, wanted->from_ms);
  sqlite3_bind_int64(statement, 2, wanted->to_ms);
  sqlite3_bind_text(statement, 3, wanted->about, -1, SQLITE_STATIC); /* NULL binds NULL */
  sqlite3_bind_text(statement, 4, wanted->kind < 0 ? NULL : kind_names[wanted->kind], -1,
                    SQLITE_STATIC);
  sqlite3_bind_int64(statement, 5, wanted->known_ms);
  sqlite3_bind_int(statement, 6, wanted->most);
  return statement;
}

static void reverse(struct record_entry *list, int count)
{
  for (int i = 0; i < count / 2; i++) {
    struct record_entry other = list[i];

    list[i] = list[count - 1 - i];
    list[count - 1 - i] = other;
  }
}

enum err_code record_entries(struct record *record, const struct record_wanted *wanted,
                             struct arena *arena, struct record_entry **list_out, int *count_out,
                             struct err *err)
{
  sqlite3_stmt *statement = asked(record, wanted, err);
  int count = 0, room = wanted->most < 64 ? wanted->most : 64;
  struct record_entry *list = ARENA_ARRAY(arena, struct record_entry, (size_t)room + 1);
  enum err_code code = ERR_OK;
  bool row = true;

  BUG_IF(wanted->most < 0 || wanted->kind >= RECORD_KIND_COUNT);
  if (!statement)
    return err_same(ERR_IO);
  while (list) {
    code = record_step(record, statement, &row, reading, err);
    if (code != ERR_OK || !row)
      break;
    if (count == room) {
      struct record_entry *more = ARENA_ARRAY(arena, struct record_entry, (size_t)room * 2 + 1);

      if (more)
        memcpy(more, list, (size_t)count * sizeof *more);
      list = more;
      room *= 2;
    }
    if (!list || !read_entry(statement, arena, &list[count++]))
      list = NULL;
  }
  sqlite3_reset(statement);
  sqlite3_clear_bindings(statement);
  if (code != ERR_OK)
    return code;
  if (!list)
    return err_set(err, ERR_LIMIT, "so many entries do not fit; ask for fewer, or a shorter span");
  reverse(list, count);
  *list_out = list;
  *count_out = count;
  return ERR_OK;
}
