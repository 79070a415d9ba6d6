#include "facility/reader_impl.h"

#include "base/spelling.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *reader_text(struct reader *reader, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *text = arena_vprintf(reader->work, fmt, args);

  va_end(args);
  BUG_IF(!text);
  return text;
}

void reader_complain(struct reader *reader, const char *who, struct place place, int width,
                     const char *fmt, ...)
{
  char text[480];
  va_list args;

  va_start(args, fmt);
  vsnprintf(text, sizeof text, fmt, args);
  va_end(args);
  if (who && *who)
    complaints_add(reader->complaints, place, width, "%s: %s", who, text);
  else
    complaints_add(reader->complaints, place, width, "%s", text);
}

void reader_assume(struct reader *reader, const char *fmt, ...)
{
  va_list args;
  struct assumption *next = ARENA_NEW(reader->work, struct assumption);

  BUG_IF(!next);
  va_start(args, fmt);
  next->text = arena_vprintf(reader->work, fmt, args);
  va_end(args);
  BUG_IF(!next->text);
  if (reader->last_assumed)
    reader->last_assumed->next = next;
  else
    reader->first_assumed = next;
  reader->last_assumed = next;
  reader->assumed_count++;
}

bool reader_is_map(const struct tree *tree)
{
  return tree->kind == TREE_MAP || (tree->kind == TREE_TEXT && tree->empty);
}

/* ---- keys that are not allowed ---- */

void reader_list_keys(enum schema_struct_id of, struct buf *out)
{
  for (int row = schema_struct_at(of)->first; schema_more(of, row); row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->kind == SCHEMA_INCLUDE)
      reader_list_keys(key->nested, out);
    else
      buf_printf(out, "%s%s", out->used ? ", " : "", key->key);
  }
}

static void nearest_key(enum schema_struct_id of, const char *text, const char **nearest, int *best)
{
  for (int row = schema_struct_at(of)->first; schema_more(of, row); row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->kind == SCHEMA_INCLUDE) {
      nearest_key(key->nested, text, nearest, best);
      continue;
    }

    int distance = spelling_distance(text, strlen(text), key->key, *best - 1);

    if (distance < *best && distance < (int)strlen(text)) {
      *best = distance;
      *nearest = key->key;
    }
  }
}

void reader_unknown_key(struct reader *reader, enum schema_struct_id of, const struct tree *child,
                        const char *who)
{
  const char *nearest = NULL;
  int best = 4;
  struct buf allowed;

  if (reader->complaints->count >= COMPLAINTS_MAX) {
    reader_complain(reader, who, child->key_place, child->key_width, "this is not a key here");
    return; /* only counted: nobody would read the advice */
  }

  buf_init(&allowed, 1000);
  reader_list_keys(of, &allowed);
  nearest_key(of, child->key, &nearest, &best);
  if (child->key[0] >= '0' && child->key[0] <= '9' && strchr(child->key, ' '))
    reader_complain(reader, who, child->key_place, child->key_width,
                    "'%s' is not a key here: the comma before it ended a value; write numbers with "
                    "a decimal point and no thousands separator",
                    tree_shown(reader->work, child->key));
  else if (nearest)
    reader_complain(reader, who, child->key_place, child->key_width,
                    "'%s' is not a key here; did you mean '%s'? Keys here: %s",
                    tree_shown(reader->work, child->key), nearest, allowed.text);
  else
    reader_complain(reader, who, child->key_place, child->key_width,
                    "'%s' is not a key here; keys here: %s", tree_shown(reader->work, child->key),
                    allowed.text);
  buf_release(&allowed);
}

/* ---- forms ---- */

static void list_deciding(enum schema_struct_id of, int group, struct buf *out)
{
  for (int i = 0; i < FORM_COUNT; i++) {
    const struct schema_form *form = schema_form_at((enum schema_form_id)i);

    if (form->owner != of || form->group != group || schema_form_hidden(form))
      continue;
    buf_puts(out, out->used ? ", or " : "");
    for (const char *c = form->needs; *c; c++)
      if (*c == '|')
        buf_puts(out, " and ");
      else if (*c == '/')
        buf_puts(out, " or ");
      else
        buf_putc(out, *c);
  }
}

static int pick(const struct record *record, int group)
{
  for (int i = 0; i < FORM_COUNT; i++) {
    const struct schema_form *form = schema_form_at((enum schema_form_id)i);

    if (form->owner == record->of && form->group == group &&
        tree_find(record->tree, form->deciding))
      return i;
  }
  return FORM_NONE;
}

/* Keys of the group that the chosen form does not know: two forms at once. */
static bool one_form(struct reader *reader, const struct record *record, int group,
                     const struct schema_form *form)
{
  for (const struct tree *child = record->tree->first; child; child = child->next) {
    if (!schema_in_group(record->of, group, child->key) || schema_in_form(form, child->key))
      continue;
    reader_complain(reader, record->who, child->key_place, child->key_width,
                    "'%s' and '%s' are two ways to say the same; keep one of them", child->key,
                    form->deciding);
    return false;
  }
  return true;
}

static bool form_is_complete(struct reader *reader, const struct record *record,
                             const struct schema_form *form)
{
  char need[100], key[64];
  bool complete = true;

  for (int i = 0; schema_entry(form->needs, i, "|", need, sizeof need); i++) {
    bool there = false;

    for (int j = 0; schema_entry(need, j, "/", key, sizeof key); j++)
      there |= tree_find(record->tree, key) != NULL;
    if (there)
      continue;
    complete = false;

    struct buf words;

    buf_init(&words, 200);
    for (const char *c = need; *c; c++)
      if (*c == '/')
        buf_puts(&words, "' or '");
      else
        buf_putc(&words, *c);

    const struct tree *deciding = tree_find(record->tree, form->deciding);

    reader_complain(reader, record->who, deciding->key_place, deciding->key_width,
                    "'%s' needs '%s' beside it; add it", form->deciding, words.text);
    buf_release(&words);
  }
  return complete;
}

static void choose_form(struct reader *reader, struct record *record, int group)
{
  const struct schema_group *rule = schema_group_of(record->of, group);

  record->form[group] = FORM_NONE;
  if (!rule)
    return;

  int form = pick(record, group);

  if (form == FORM_NONE) {
    if (!rule->required)
      return;

    struct buf words;

    buf_init(&words, 500);
    list_deciding(record->of, group, &words);
    reader_complain(reader, record->who, record->place, record->width, "the %s is missing; give %s",
                    rule->words, words.text);
    buf_release(&words);
    record->bad = true;
    return;
  }
  if (one_form(reader, record, group, schema_form_at((enum schema_form_id)form)) &&
      form_is_complete(reader, record, schema_form_at((enum schema_form_id)form)))
    record->form[group] = form;
  else
    record->bad = true;
}

/* ---- one record ---- */

/* In no group, or in the chosen form of every group it is part of. */
static bool key_counts(const struct record *record, const struct schema_key *key)
{
  for (int g = 0; g < SCHEMA_GROUPS; g++) {
    if (!schema_group_of(record->of, g) || !schema_in_group(record->of, g, key->key))
      continue;
    if (record->form[g] == FORM_NONE ||
        !schema_in_form(schema_form_at((enum schema_form_id)record->form[g]), key->key))
      return false;
  }
  return true;
}

static void take_default(struct reader *reader, struct record *record, const struct schema_key *key,
                         struct value *value)
{
  struct tree text = {
      .kind = TREE_TEXT, .text = key->fallback, .place = record->place, .width = record->width};

  reader_value(reader, key, record, &text, value);
  value->stated = false;
  value->tree = NULL;
  if (key->assumed && !value->bad)
    reader_assume(reader, "%s: %s %s (%s)", record->who, key->key, key->fallback, key->assumed);
}

static void missing(struct reader *reader, struct record *record, const struct schema_key *key)
{
  reader_complain(reader, record->who, record->place, record->width, "'%s' is missing: %s; add it",
                  key->key, key->doc);
  record->bad = true;
}

static void read_rows(struct reader *reader, struct record *record)
{
  int first = schema_struct_at(record->of)->first;

  for (int g = 0; g < SCHEMA_GROUPS; g++)
    choose_form(reader, record, g);
  for (int row = first; schema_more(record->of, row); row++) {
    const struct schema_key *key = schema_key_at(row);
    struct value *value = &record->values[row - first];

    if (key->kind == SCHEMA_INCLUDE) {
      value->given = true;
      value->count = 1;
      value->records = ARENA_ARRAY(reader->work, struct record *, 1);
      BUG_IF(!value->records);
      value->records[0] = reader_included(reader, key->nested, record);
      continue;
    }

    const struct tree *child = tree_find(record->tree, key->key);

    if (child)
      reader_value(reader, key, record, child, value);
    else if (key->required)
      missing(reader, record, key);
    else if (key->fallback && key_counts(record, key))
      take_default(reader, record, key, value);
  }
}

static struct record *new_record(struct reader *reader, enum schema_struct_id of,
                                 const struct tree *tree, const char *who)
{
  struct record *record = ARENA_NEW(reader->work, struct record);
  int first = schema_struct_at(of)->first, row = first;

  BUG_IF(!record);
  while (schema_more(of, row))
    row++;
  record->of = of;
  record->who = who;
  record->tree = tree;
  record->place = tree->key ? tree->key_place : tree->place;
  record->width = tree->key ? tree->key_width : 1;
  for (int g = 0; g < SCHEMA_GROUPS; g++)
    record->form[g] = FORM_NONE;
  record->values = ARENA_ARRAY(reader->work, struct value, (size_t)(row - first) + 1);
  BUG_IF(!record->values);
  return record;
}

struct record *reader_included(struct reader *reader, enum schema_struct_id of,
                               const struct record *outer)
{
  struct record *record = new_record(reader, of, outer->tree, outer->who);

  record->place = outer->place;
  record->width = outer->width;
  read_rows(reader, record);
  return record;
}

enum { MOST_KEYS = 100 }; /* more than any struct of the table has */

struct record *reader_record(struct reader *reader, enum schema_struct_id of,
                             const struct tree *tree, const char *who)
{
  struct record *record = new_record(reader, of, tree, who);

  if (!reader_is_map(tree) || tree->count > MOST_KEYS) {
    record->bad = record->unread = true;
    if (tree->count > MOST_KEYS)
      reader_complain(reader, who, record->place, record->width,
                      "%d keys stand here; no part has more than %d", tree->count, MOST_KEYS);
    else
      reader_complain(reader, who, tree->place, tree->width,
                      "a map of keys is needed here, such as {name: ...}");
    return record;
  }
  for (const struct tree *child = tree->first; child; child = child->next)
    if (schema_find(of, child->key) < 0)
      reader_unknown_key(reader, of, child, who);
  read_rows(reader, record);
  return record;
}

/* ---- looking into records ---- */

const struct value *record_value(const struct record *record, enum schema_key_id key)
{
  enum schema_struct_id owner = schema_key_at((int)key)->owner;
  int first = schema_struct_at(record->of)->first;

  if (owner == record->of)
    return &record->values[(int)key - first];
  for (int row = first; schema_more(record->of, row); row++) {
    const struct value *value = &record->values[row - first];

    if (schema_key_at(row)->kind == SCHEMA_INCLUDE && value->count == 1 &&
        schema_key_at(row)->nested == owner)
      return record_value(value->records[0], key);
  }
  BUG_IF(owner != record->of);
  return NULL;
}

const struct record *record_inner(const struct record *record, enum schema_key_id key)
{
  const struct value *value = record_value(record, key);

  return value->count == 1 && value->records ? value->records[0] : NULL;
}

bool record_has(const struct record *record, enum schema_key_id key)
{
  const struct value *value = record_value(record, key);

  return value->given && !value->bad;
}

double record_si(const struct record *record, enum schema_key_id key)
{
  return record_value(record, key)->si;
}

enum schema_form_id record_form(const struct record *record, int group)
{
  return (enum schema_form_id)record->form[group];
}
