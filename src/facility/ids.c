#include "facility/reader_impl.h"

#include "base/spelling.h"

#include <string.h>

bool reader_id_fits(const char *id)
{
  size_t length = strlen(id);

  if (length < 1 || length > 32)
    return false;
  for (size_t i = 0; i < length; i++) {
    char c = id[i];
    bool letter = (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
    bool later = (c >= '0' && c <= '9') || c == '_' || c == '-';

    if (!letter && !(i > 0 && later))
      return false;
  }
  return true;
}

static void add(struct reader *reader, struct symbol symbol)
{
  if (reader->symbol_count == reader->symbol_room) {
    int room = reader->symbol_room ? 2 * reader->symbol_room : 64;
    struct symbol *bigger = ARENA_ARRAY(reader->work, struct symbol, (size_t)room);

    BUG_IF(!bigger);
    if (reader->symbol_count > 0)
      memcpy(bigger, reader->symbols, (size_t)reader->symbol_count * sizeof *bigger);
    reader->symbols = bigger;
    reader->symbol_room = room;
  }
  reader->symbols[reader->symbol_count++] = symbol;
}

static void one_id(struct reader *reader, const struct tree *child, uint64_t kind, int index)
{
  const char *what = schema_kind_words(kind);
  const char *shown = tree_shown(reader->work, child->key);

  if (!reader_id_fits(child->key)) {
    reader_complain(reader, NULL, child->key_place, child->key_width,
                    "'%s' cannot be the id of a %s; an id is a letter and up to 31 letters, "
                    "digits, '_' or '-', and a free text goes under 'name'",
                    shown, what);
    return;
  }
  if (strcmp(child->key, "outdoors") == 0) {
    reader_complain(reader, NULL, child->key_place, child->key_width,
                    "'outdoors' is the outdoor air itself; give this %s another id", what);
    return;
  }
  if (!names_add(&reader->ids, child->key, reader->symbol_count)) {
    const struct symbol *first = &reader->symbols[names_find(&reader->ids, child->key)];

    if (first->place.line == 0)
      reader_complain(reader, NULL, child->key_place, child->key_width,
                      "the id '%s' is that of a %s of the suite; ids are unique over all its files",
                      shown, schema_kind_words(first->kind));
    else
      reader_complain(reader, NULL, child->key_place, child->key_width,
                      "the id '%s' is that of a %s already (%s:%d); ids are unique over the whole "
                      "suite",
                      shown, schema_kind_words(first->kind), first->place.file, first->place.line);
    return;
  }
  add(reader, (struct symbol){child->key, kind, index, child->key_place});
}

void reader_begin_ids(struct reader *reader)
{
  static const struct symbol outdoors = {.id = "outdoors", .kind = ID_OUTDOORS};

  names_init(&reader->ids, reader->work);
  reader_add_symbol(reader, outdoors);
}

void reader_add_symbol(struct reader *reader, struct symbol symbol)
{
  names_add(&reader->ids, symbol.id, reader->symbol_count);
  add(reader, symbol);
}

void reader_collect_ids_of(struct reader *reader, enum schema_struct_id of, const struct tree *top)
{
  bool told = false;

  for (int row = schema_struct_at(of)->first; schema_more(of, row); row++) {
    const struct schema_key *key = schema_key_at(row);
    const struct tree *section = key->kind == SCHEMA_PARTS ? tree_find(top, key->key) : NULL;
    int index = 0;

    if (!section || section->kind != TREE_MAP)
      continue;
    for (const struct tree *child = section->first; child; child = child->next) {
      if (reader->symbol_count > READER_MOST_PARTS) {
        if (!told)
          reader_complain(reader, NULL, child->key_place, child->key_width,
                          "more than %d parts in one suite; split it into several",
                          READER_MOST_PARTS);
        told = true;
        break;
      }
      one_id(reader, child, key->id_kind, index++);
    }
    if (key->id_kind == ID_ROOM)
      reader->room_count = index;
    if (key->id_kind == ID_JUNCTION)
      reader->junction_count = index;
  }
}

void reader_collect_ids(struct reader *reader, const struct tree *suite)
{
  reader_begin_ids(reader);
  reader_collect_ids_of(reader, STRUCT_sections, suite);
}

int reader_node_outdoors(const struct reader *reader)
{
  return reader->room_count + reader->junction_count;
}

const struct symbol *reader_symbol(const struct reader *reader, const char *text)
{
  int at = names_find(&reader->ids, text);

  return at < 0 ? NULL : &reader->symbols[at];
}

void reader_suggest_id(struct reader *reader, uint64_t kinds, const char *text, struct buf *out)
{
  enum { LISTED = 8 };
  const struct symbol *nearest = NULL;
  int best = 3, listed = 0;

  if (reader->complaints->count >= COMPLAINTS_MAX)
    return; /* nobody will read it */
  BUG_IF(!reader->symbols);
  for (int i = 0; i < reader->symbol_count; i++) {
    const struct symbol *symbol = &reader->symbols[i];
    int distance =
        symbol->kind & kinds ? spelling_distance(text, strlen(text), symbol->id, best - 1) : best;

    if (distance < best && distance < (int)strlen(text)) {
      best = distance;
      nearest = symbol;
    }
  }
  if (nearest) {
    buf_printf(out, "; did you mean '%s'?", nearest->id);
    return;
  }
  for (int i = 0; i < reader->symbol_count && listed <= LISTED; i++)
    if (reader->symbols[i].kind & kinds) {
      buf_puts(out, listed == 0 ? "; there are: " : ", ");
      buf_puts(out, listed == LISTED ? "..." : reader->symbols[i].id);
      listed++;
    }
  if (listed == 0)
    buf_puts(out, "; the suite has none");
}

static void unresolved(struct reader *reader, const char *who, const struct tree *at,
                       const char *text, uint64_t kinds)
{
  const char *shown = tree_shown(reader->work, text);
  const struct symbol *other = reader_symbol(reader, text);
  int removed = names_find(&reader->removed, text);
  struct buf words, near;

  buf_init(&words, 512);
  buf_init(&near, 512);
  schema_kinds_words(kinds, &words);
  if (other) {
    reader_suggest_id(reader, kinds, text, &near);
    reader_complain(reader, who, at->place, at->width, "'%s' is a %s, but a %s is needed here%s",
                    shown, schema_kind_words(other->kind), words.text, near.text);
  } else if (removed >= 0) {
    const struct place *by = &reader->removed_by[removed];

    reader_complain(reader, who, at->place, at->width,
                    "'%s' was removed (%s:%d); remove or change this as well", shown, by->file,
                    by->line);
  } else {
    reader_suggest_id(reader, kinds, text, &near);
    reader_complain(reader, who, at->place, at->width, "there is no %s '%s'%s", words.text, shown,
                    near.text);
  }
  buf_release(&words);
  buf_release(&near);
}

/* "EF1/2": the base id and the unit, counted from 0; -1 when there is none. */
int reader_split_unit(const char *text, char base[40])
{
  const char *slash = strchr(text, '/');
  size_t length = slash ? (size_t)(slash - text) : 0;
  int unit = 0;

  if (!slash || length == 0 || length >= 40 || !slash[1] || strlen(slash) > 4)
    return -1;
  for (const char *c = slash + 1; *c; c++) {
    if (*c < '0' || *c > '9')
      return -1;
    unit = 10 * unit + (*c - '0');
  }
  memcpy(base, text, length);
  base[length] = '\0';
  return unit - 1;
}

void reader_resolve(struct reader *reader, const char *who, const struct tree *at, const char *text,
                    uint64_t kinds, struct value *out)
{
  char base[40];
  int unit = kinds & ID_FAN_UNIT ? reader_split_unit(text, base) : -1;
  const struct symbol *symbol = reader_symbol(reader, unit >= 0 ? base : text);

  if (symbol && unit >= 0 && symbol->kind != ID_FAN)
    symbol = NULL;
  if (!symbol || !(symbol->kind & kinds)) {
    out->bad = true;
    unresolved(reader, who, at, text, kinds & ~(uint64_t)ID_FAN_UNIT);
    return;
  }
  out->kind = symbol->kind;
  out->unit = unit;
  out->number = symbol->kind == ID_OUTDOORS   ? reader_node_outdoors(reader)
                : symbol->kind == ID_JUNCTION ? reader->room_count + symbol->index
                                              : symbol->index;
}
