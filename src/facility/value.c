#include "facility/reader_impl.h"

#include "base/spelling.h"
#include "base/utf8.h"

#include <stdlib.h>
#include <string.h>

/* A complaint about a byte inside a plain text points at that byte. */
static void complain_inside(struct reader *reader, const char *who, const struct tree *tree,
                            int byte, const char *said)
{
  struct place place = tree->place;
  int width = tree->width;

  if (tree->plain && byte > 1 && (size_t)byte <= strlen(tree->text)) {
    int characters = utf8_count(tree->text, (size_t)byte - 1);

    place.column += characters;
    width = width > characters ? width - characters : 1;
  }
  reader_complain(reader, who, place, width, "%s", said);
}

static void out_of_range(struct reader *reader, const struct schema_key *row,
                         enum units_dimension dimension, const char *who, const struct tree *tree)
{
  struct buf low, high;

  buf_init(&low, 128);
  buf_init(&high, 128);
  schema_bound(row->low, dimension, &low);
  schema_bound(row->high, dimension, &high);
  reader_complain(reader, who, tree->place, tree->width,
                  "'%s' is outside what can be; it must be %s %s and at most %s",
                  tree_shown(reader->work, tree->text), row->low_open ? "above" : "at least",
                  low.text, high.text);
  buf_release(&low);
  buf_release(&high);
}

static bool in_range(const struct schema_key *row, double si)
{
  return !row->bounded || ((row->low_open ? si > row->low : si >= row->low) && si <= row->high);
}

static void quantity(struct reader *reader, const struct schema_key *row,
                     enum units_dimension dimension, const char *who, const struct tree *tree,
                     struct value *out)
{
  struct units_quantity read;
  struct err err = {0};
  bool pair = row->at != UNITS_NOTHING;

  if (units_parse(tree->text, dimension, row->at, &read, &err) != ERR_OK) {
    out->bad = true;
    complain_inside(reader, who, tree, err.col, err.text);
    return;
  }
  if (pair && !read.has_at) {
    out->bad = true;
    reader_complain(reader, who, tree->place, tree->width,
                    "'%s' says only half; write a %s at a %s", tree_shown(reader->work, tree->text),
                    units_words(dimension), units_words(row->at));
    return;
  }
  if (!in_range(row, read.si)) {
    out->bad = true;
    out_of_range(reader, row, dimension, who, tree);
    return;
  }
  if (pair && (read.at_si < 0 || (read.at_si <= 0 && row->kind == SCHEMA_PAIR))) {
    out->bad = true;
    reader_complain(reader, who, tree->place, tree->width, "the %s after 'at' must be %s",
                    units_words(row->at), row->kind == SCHEMA_PAIR ? "above zero" : "zero or more");
    return;
  }
  out->si = read.si;
  out->at_si = read.at_si;
  out->has_plus_minus = read.has_plus_minus;
  out->plus_minus_si = read.plus_minus_si;
  out->has_at_plus_minus = read.has_at_plus_minus;
  out->at_plus_minus_si = read.at_plus_minus_si;
}

static void limit(struct reader *reader, const struct schema_key *row, const struct record *record,
                  const struct tree *tree, struct value *out)
{
  const struct tree *of = tree_find(record->tree, "of");

  if (of && of->kind == TREE_TEXT && strcmp(of->text, "face velocity") == 0)
    quantity(reader, row, UNITS_VELOCITY, record->who, tree, out);
  else if (of && of->kind == TREE_TEXT && strcmp(of->text, "flow") == 0)
    quantity(reader, row, UNITS_FLOW, record->who, tree, out);
  else
    out->bad = true; /* "of" is missing or wrong, and complained about there */
}

static void count(struct reader *reader, const struct schema_key *row, const char *who,
                  const struct tree *tree, struct value *out)
{
  int number = 0;
  bool digits = tree->text[0] != '\0' && strlen(tree->text) < 7;

  for (const char *c = tree->text; digits && *c; c++) {
    digits = *c >= '0' && *c <= '9';
    number = 10 * number + (*c - '0');
  }
  if (!digits || !in_range(row, number)) {
    out->bad = true;
    reader_complain(reader, who, tree->place, tree->width,
                    "'%s' is not a count; write a whole number from %.0f to %.0f",
                    tree_shown(reader->work, tree->text), row->low, row->high);
    return;
  }
  out->number = number;
}

static void list_words(const char *words, struct buf *out)
{
  char entry[64];

  for (int i = 0; schema_entry(words, i, "|", entry, sizeof entry); i++)
    buf_printf(out, "%s'%s'", i == 0 ? "" : ", ", entry);
}

static void word(struct reader *reader, const struct schema_key *row, const char *who,
                 const struct tree *tree, struct value *out)
{
  struct buf words;
  char entry[64];

  out->number = schema_word(row->words, tree->text);
  if (out->number >= 0)
    return;
  out->bad = true;
  buf_init(&words, 256);
  list_words(row->words, &words);
  for (int i = 0; schema_entry(row->words, i, "|", entry, sizeof entry); i++)
    if (spelling_distance(tree->text, strlen(tree->text), entry, 2) <= 2) {
      buf_printf(&words, " (did you mean '%s'?)", entry);
      break;
    }
  reader_complain(reader, who, tree->place, tree->width, "'%s' is not known here; write %s%s",
                  tree_shown(reader->work, tree->text), strchr(row->words, '|') ? "one of " : "",
                  words.text);
  buf_release(&words);
}

static void yes_no(struct reader *reader, const char *who, const struct tree *tree,
                   struct value *out)
{
  out->number = strcmp(tree->text, "yes") == 0;
  if (!out->number && strcmp(tree->text, "no") != 0) {
    out->bad = true;
    reader_complain(reader, who, tree->place, tree->width, "'%s' is not an answer; write yes or no",
                    tree_shown(reader->work, tree->text));
  }
}

static void text(struct reader *reader, const struct schema_key *row, const char *who,
                 const struct tree *tree, struct value *out)
{
  out->text = tree->text;
  for (const char *c = tree->text; *c; c++)
    if ((unsigned char)*c < 0x20 && !(row->lines && (*c == '\n' || *c == '\t'))) {
      out->bad = true;
      reader_complain(reader, who, tree->place, tree->width,
                      "a line break or control character stands in this text; keep it on one line");
      return;
    }
  if (row->longest && utf8_count(tree->text, strlen(tree->text)) > row->longest) {
    out->bad = true;
    reader_complain(
        reader, who, tree->place, tree->width, "'%s' is too long; write at most %d character%s",
        tree_shown(reader->work, tree->text), row->longest, row->longest == 1 ? "" : "s");
  }
}

static bool digits(const char *from, int count)
{
  for (int i = 0; i < count; i++)
    if (from[i] < '0' || from[i] > '9')
      return false;
  return true;
}

static bool is_date(const char *t)
{
  static const int longest[] = {31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

  if (strlen(t) != 10 || !digits(t, 4) || t[4] != '-' || !digits(t + 5, 2) || t[7] != '-' ||
      !digits(t + 8, 2))
    return false;

  int year = (int)strtol(t, NULL, 10), month = (int)strtol(t + 5, NULL, 10),
      day = (int)strtol(t + 8, NULL, 10);
  bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;

  return year > 0 && month >= 1 && month <= 12 && day >= 1 && day <= longest[month - 1] &&
         (leap || month != 2 || day < 29);
}

static void date(struct reader *reader, const char *who, const struct tree *tree, struct value *out)
{
  out->text = tree->text;
  out->bad = !is_date(tree->text);
  if (out->bad)
    reader_complain(reader, who, tree->place, tree->width,
                    "'%s' is not a date; write year, month and day: 2026-03-19",
                    tree_shown(reader->work, tree->text));
}

static void opening(struct reader *reader, const struct schema_key *row, const char *who,
                    const struct tree *tree, struct value *out)
{
  out->number = schema_word("parked|work", tree->text);
  if (out->number >= 0)
    return;
  if (tree->text[0] >= '0' && tree->text[0] <= '9') {
    quantity(reader, row, row->dimension, who, tree, out);
    return;
  }
  out->bad = true;
  reader_complain(reader, who, tree->place, tree->width,
                  "'%s' is no opening; write parked, work or a height such as 0.30 m",
                  tree_shown(reader->work, tree->text));
}

static void one_text(struct reader *reader, const struct schema_key *row, enum schema_kind kind,
                     const struct record *record, const struct tree *tree, struct value *out)
{
  const char *who = record->who;

  if (tree->faulty) {
    out->bad = true;
    return;
  }
  if (tree->text[0] == '\0') {
    out->bad = true;
    reader_complain(reader, who, tree->place, tree->width,
                    "'%s' has no value; give one or remove it",
                    tree->key ? tree_shown(reader->work, tree->key) : "this entry");
    return;
  }
  switch ((int)kind) {
  case SCHEMA_TEXT:
  case SCHEMA_TEXTS:
    text(reader, row, who, tree, out);
    break;
  case SCHEMA_DATE:
    date(reader, who, tree, out);
    break;
  case SCHEMA_YES_NO:
    yes_no(reader, who, tree, out);
    break;
  case SCHEMA_WORD:
  case SCHEMA_WORD_OR_STRUCT:
    word(reader, row, who, tree, out);
    break;
  case SCHEMA_COUNT:
    count(reader, row, who, tree, out);
    break;
  case SCHEMA_LIMIT:
    limit(reader, row, record, tree, out);
    break;
  case SCHEMA_OPENING:
    opening(reader, row, who, tree, out);
    break;
  case SCHEMA_REF:
  case SCHEMA_REFS:
    reader_resolve(reader, who, tree, tree->text, row->refs, out);
    break;
  default:
    quantity(reader, row, row->dimension, who, tree, out);
  }
}

static const char *expected(const struct schema_key *row)
{
  switch ((int)row->kind) {
  case SCHEMA_PAIRS:
  case SCHEMA_REFS:
  case SCHEMA_TEXTS:
  case SCHEMA_STRUCTS:
    return "a list: [first, second]";
  case SCHEMA_MAP:
  case SCHEMA_STRUCT:
  case SCHEMA_PARTS:
  case SCHEMA_PARTS_BY_REF:
    return "a map: {key: value}";
  default:
    return "a single value";
  }
}

static void wrong_shape(struct reader *reader, const struct schema_key *row,
                        const struct record *record, const struct tree *tree, struct value *out)
{
  static const char *const found[] = {"a single value", "a map", "a list"};

  struct buf keys;

  buf_init(&keys, 1000);
  if (row->kind == SCHEMA_STRUCT && reader->complaints->count < COMPLAINTS_MAX)
    reader_list_keys(row->nested, &keys);
  out->bad = true;
  reader_complain(reader, record->who, tree->place, tree->width,
                  "'%s' is %s here; it must be %s%s%s", row->key, found[tree->kind], expected(row),
                  keys.text[0] ? "; its keys: " : "", keys.text);
  buf_release(&keys);
}

/* Twice the same entry in one list is one too many: a fan unit would stop twice. */
static void once(struct reader *reader, const struct record *record, struct names *seen,
                 struct value *item)
{
  if (item->bad || names_add(seen, item->tree->text, 0))
    return;
  item->bad = true;
  reader_complain(reader, record->who, item->tree->place, item->tree->width,
                  "'%s' stands in this list twice; keep it once",
                  tree_shown(reader->work, item->tree->text));
}

static void list(struct reader *reader, const struct schema_key *row, const struct record *record,
                 const struct tree *tree, struct value *out)
{
  enum { LONGEST_CURVE = 200 };
  struct names seen;
  int i = 0;

  if (row->kind == SCHEMA_PAIRS && tree->count > LONGEST_CURVE) {
    out->bad = true;
    reader_complain(reader, record->who, tree->place, tree->width,
                    "%d points; a curve has at most %d", tree->count, LONGEST_CURVE);
    return;
  }
  names_init(&seen, reader->work);
  out->count = tree->count;
  out->items = ARENA_ARRAY(reader->work, struct value, (size_t)tree->count + 1);
  BUG_IF(!out->items);
  for (const struct tree *child = tree->first; child; child = child->next, i++) {
    struct value *item = &out->items[i];

    *item = (struct value){.given = true, .stated = true, .tree = child};
    if (child->kind == TREE_TEXT) {
      one_text(reader, row, row->kind, record, child, item);
      if (row->kind != SCHEMA_PAIRS)
        once(reader, record, &seen, item);
    } else {
      item->bad = true;
      reader_complain(reader, record->who, child->place, child->width,
                      "an entry of '%s' must be a single value", row->key);
    }
    out->bad |= item->bad;
  }
}

static void key_of_item(struct reader *reader, const struct schema_key *row,
                        const struct record *record, const struct tree *child, struct value *item)
{
  struct tree key = {
      .kind = TREE_TEXT, .text = child->key, .place = child->key_place, .width = child->key_width};
  struct value named = {0};

  if (row->refs) {
    reader_resolve(reader, record->who, &key, child->key, row->refs, &named);
  } else {
    struct schema_key running = {.key = row->key, .bounded = true, .low = 0, .high = 500};

    count(reader, &running, record->who, &key, &named);
  }
  item->key_number = named.number;
  item->bad |= named.bad;
}

static void map(struct reader *reader, const struct schema_key *row, const struct record *record,
                const struct tree *tree, struct value *out)
{
  int i = 0;

  out->count = tree->count;
  out->items = ARENA_ARRAY(reader->work, struct value, (size_t)tree->count + 1);
  BUG_IF(!out->items);
  for (const struct tree *child = tree->first; child; child = child->next, i++) {
    struct value *item = &out->items[i];

    *item = (struct value){.given = true, .stated = true, .tree = child};
    key_of_item(reader, row, record, child, item);
    if (child->kind == TREE_TEXT) {
      one_text(reader, row, row->item, record, child, item);
    } else {
      item->bad = true;
      reader_complain(reader, record->who, child->place, child->width,
                      "'%s' must have a single value here", tree_shown(reader->work, child->key));
    }
    out->bad |= item->bad;
  }
}

static void records(struct reader *reader, const struct schema_key *row,
                    const struct record *record, const struct tree *tree, struct value *out)
{
  bool parts = row->kind != SCHEMA_STRUCTS;
  int i = 0;

  out->count = tree->count;
  out->records = ARENA_ARRAY(reader->work, struct record *, (size_t)tree->count + 1);
  BUG_IF(!out->records);
  for (const struct tree *child = tree->first; child; child = child->next, i++) {
    const char *who =
        !parts ? reader_text(reader, "%s, %s %d", record->who, row->key, i + 1)
        : row->kind == SCHEMA_PARTS
            ? reader_text(reader, "%s %s", schema_kind_words(row->id_kind),
                          tree_shown(reader->work, child->key))
            : reader_text(reader, "%s/%s", record->who, tree_shown(reader->work, child->key));
    struct record *inner = reader_record(reader, row->nested, child, who);
    struct value named = {0};

    out->records[i] = inner;
    out->bad |= inner->bad;
    if (parts)
      inner->id = child->key;
    if (row->kind == SCHEMA_PARTS_BY_REF) {
      struct tree key = {.place = child->key_place, .width = child->key_width};

      reader_resolve(reader, record->who, &key, child->key, row->refs, &named);
      inner->key_number = named.number;
      inner->bad |= named.bad;
    }
  }
}

static void nested(struct reader *reader, const struct schema_key *row, const struct record *record,
                   const struct tree *tree, struct value *out)
{
  out->records = ARENA_ARRAY(reader->work, struct record *, 1);
  BUG_IF(!out->records);
  out->count = 1;
  out->records[0] = reader_record(
      reader, row->nested, tree,
      record->who[0] ? reader_text(reader, "%s, %s", record->who, row->key) : row->key);
  out->bad = out->records[0]->bad;
}

void reader_value(struct reader *reader, const struct schema_key *row, const struct record *record,
                  const struct tree *tree, struct value *out)
{
  static void (*const containers[])(struct reader *, const struct schema_key *,
                                    const struct record *, const struct tree *, struct value *) = {
      [SCHEMA_PAIRS] = list,
      [SCHEMA_REFS] = list,
      [SCHEMA_TEXTS] = list,
      [SCHEMA_STRUCTS] = records,
      [SCHEMA_MAP] = map,
      [SCHEMA_PARTS] = records,
      [SCHEMA_PARTS_BY_REF] = records,
      [SCHEMA_STRUCT] = nested,
      [SCHEMA_WORD_OR_STRUCT] = nested,
      [SCHEMA_ANY] = NULL,
  };
  bool container = containers[row->kind] != NULL;
  bool wants_list = containers[row->kind] == list || row->kind == SCHEMA_STRUCTS;

  *out = (struct value){.given = true, .stated = true, .tree = tree, .unit = -1};
  if (row->kind == SCHEMA_ANY)
    return;
  if (tree->kind == TREE_TEXT && (!container || row->kind == SCHEMA_WORD_OR_STRUCT))
    one_text(reader, row, row->kind, record, tree, out);
  else if (container && (wants_list ? tree->kind == TREE_LIST : reader_is_map(tree)))
    containers[row->kind](reader, row, record, tree, out);
  else
    wrong_shape(reader, row, record, tree, out);
}

/* ---- a time of day ---- */

static int digit(char c)
{
  return c >= '0' && c <= '9' ? c - '0' : -1;
}

int reader_minute_of(const char *text)
{
  size_t colon = strcspn(text, ":");
  int hour = 0;

  if (colon < 1 || colon > 2 || strlen(text) != colon + 3 || digit(text[colon + 1]) < 0 ||
      digit(text[colon + 2]) < 0)
    return -1;
  for (size_t i = 0; i < colon; i++) {
    if (digit(text[i]) < 0)
      return -1;
    hour = 10 * hour + digit(text[i]);
  }
  int minute = 10 * digit(text[colon + 1]) + digit(text[colon + 2]);

  return hour < 24 && minute < 60 ? hour * 60 + minute : -1;
}
