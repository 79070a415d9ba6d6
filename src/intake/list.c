#include "intake/intake_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The station list of a suite: a column for each thing a list may say, where any station says it. */
struct list_column {
  const char *header;
  const char *key; /* of the suite file; several after '|', the first found */
  enum units_dimension dimension;
};

static const struct list_column columns[] = {
    {"Station", "", UNITS_NOTHING},
    {"Name", "name", UNITS_NOTHING},
    {"Type", "kind", UNITS_NOTHING},
    {"Room", "room", UNITS_NOTHING},
    {"Main", "main", UNITS_NOTHING},
    {"Status", "in service", UNITS_NOTHING},
    {"Chemistry", "chemistry", UNITS_NOTHING},
    {"Not here", "not here", UNITS_NOTHING},
    {"Glass mark", "glass mark", UNITS_NOTHING},
    {"Wear", "wear", UNITS_NOTHING},
    {"Call", "call", UNITS_NOTHING},
    {"Width", "width", UNITS_LENGTH},
    {"Sash down", "opening, parked", UNITS_LENGTH},
    {"Sash mark", "opening, work", UNITS_LENGTH},
    {"Sash max", "opening, most", UNITS_LENGTH},
    {"Parked flow", "flow, two-state, parked|flow, follows opening, least", UNITS_FLOW},
    {"Work flow", "flow, two-state, work", UNITS_FLOW},
    {"Exhaust flow", "flow, constant", UNITS_FLOW},
    {"Max flow", "flow, follows opening, most", UNITS_FLOW},
    {"Face velocity", "flow, follows opening, velocity", UNITS_VELOCITY},
    {"Remark", "note", UNITS_NOTHING},
};
enum { COLUMNS = (int)(sizeof columns / sizeof columns[0]) };

struct lister {
  struct arena *arena;
  const struct facility_leaf *leaves;
  int leaf_count, station_count;
  const char **ids;
};

static const char *leaf(const struct lister *l, const char *id, const char *key, size_t length)
{
  for (int i = 0; i < l->leaf_count; i++)
    if (l->leaves[i].id && strcmp(l->leaves[i].section, "stations") == 0 &&
        strcmp(l->leaves[i].id, id) == 0 && strncmp(l->leaves[i].key, key, length) == 0 &&
        l->leaves[i].key[length] == '\0')
      return l->leaves[i].text;
  return NULL;
}

static const char *value(const struct lister *l, const char *id, const char *keys)
{
  for (const char *key = keys; *key != '\0';) {
    size_t length = strcspn(key, "|");
    const char *text = leaf(l, id, key, length);

    if (text)
      return text;
    key += length;
    key += *key == '|';
  }
  return NULL;
}

static bool has_form(const struct lister *l, const char *id, const char *form)
{
  size_t length = strlen(form);

  for (int i = 0; i < l->leaf_count; i++)
    if (l->leaves[i].id && strcmp(l->leaves[i].section, "stations") == 0 &&
        strcmp(l->leaves[i].id, id) == 0 && strncmp(l->leaves[i].key, form, length) == 0)
      return true;
  return false;
}

/* "wet bench, two speed" */
static const char *type(const struct lister *l, const char *id)
{
  const char *kind = value(l, id, "kind");
  const char *rule = has_form(l, id, "flow, two-state")         ? "two speed"
                     : has_form(l, id, "flow, follows opening") ? "VAV"
                     : has_form(l, id, "flow, constant")        ? "constant"
                                                                : "passive";

  return kind && strcmp(kind, "other") != 0 ? arena_printf(l->arena, "%s, %s", kind, rule) : rule;
}

/* "white ring R" */
static const char *mark(const struct lister *l, const char *id)
{
  const char *colour = value(l, id, "glass mark, colour"),
             *shape = value(l, id, "glass mark, shape"),
             *letter = value(l, id, "glass mark, letter");

  if (!colour && !shape && !letter)
    return NULL;
  return arena_printf(l->arena, "%s%s%s%s%s", colour ? colour : "", colour && shape ? " " : "",
                      shape ? shape : "", letter && (colour || shape) ? " " : "",
                      letter ? letter : "");
}

static const char *wear(const struct lister *l, const char *id)
{
  const char *what = value(l, id, "wear, what"), *source = value(l, id, "wear, source");

  return what && source ? arena_printf(l->arena, "%s (%s)", what, source) : NULL;
}

static const char *text_of(const struct lister *l, const char *id, const struct list_column *c)
{
  const char *was = value(l, id, "was"), *service = value(l, id, "in service");

  if (c->key[0] == '\0')
    return was && intake_is_legal_of(l->arena, was, id) ? was : id;
  if (strcmp(c->key, "kind") == 0)
    return type(l, id);
  if (strcmp(c->key, "in service") == 0)
    return service && strcmp(service, "no") == 0 ? "out of service" : NULL;
  if (strcmp(c->key, "glass mark") == 0)
    return mark(l, id);
  if (strcmp(c->key, "wear") == 0)
    return wear(l, id);
  return value(l, id, c->key);
}

/* ---- figures: a number alone where the column's unit is its own ---- */

static const char *unit_behind(const char *quantity)
{
  const char *blank = strchr(quantity, ' ');

  return blank ? blank + 1 : "";
}

static const char *column_unit(const struct lister *l, const struct list_column *c)
{
  for (int i = 0; i < l->station_count; i++) {
    const char *text = value(l, l->ids[i], c->key);

    if (text)
      return arena_printf(l->arena, "%.*s", (int)strcspn(unit_behind(text), " "),
                          unit_behind(text));
  }
  return "";
}

static struct sheet_cell text_cell(const char *text)
{
  return (struct sheet_cell){.kind = text && text[0] != '\0' ? SHEET_TEXT : SHEET_EMPTY,
                             .text = text ? text : "",
                             .number = (double)NAN};
}

static struct sheet_cell figure_cell(const struct lister *l, const char *text, const char *unit)
{
  char *end;
  double number = text ? strtod(text, &end) : 0.0;

  if (!text || unit[0] == '\0' || strcmp(unit_behind(text), unit) != 0 || end != strchr(text, ' '))
    return text_cell(text);
  /* "1.125" might be a thousand more to who reads it back from a CSV; "1.1250" is not. */
  const char *digits = arena_printf(l->arena, "%.15g", number);
  const char *point = strchr(digits, '.');

  if (point && strlen(point) == 4)
    digits = arena_printf(l->arena, "%s0", digits);
  return (struct sheet_cell){.kind = SHEET_NUMBER, .text = digits, .number = number};
}

/* ---- the table ---- */

static bool is_used(const struct lister *l, const struct list_column *c)
{
  for (int i = 0; i < l->station_count; i++)
    if (text_of(l, l->ids[i], c))
      return true;
  return c < columns + 3;
}

static void find_stations(struct lister *l)
{
  l->ids = ARENA_ARRAY(l->arena, const char *, (size_t)l->leaf_count + 1);
  BUG_IF(!l->ids);
  for (int i = 0; i < l->leaf_count; i++) {
    const struct facility_leaf *f = &l->leaves[i];

    if (f->id && strcmp(f->section, "stations") == 0 &&
        (l->station_count == 0 || strcmp(l->ids[l->station_count - 1], f->id) != 0))
      l->ids[l->station_count++] = f->id;
  }
}

const struct sheet_table *intake_list(const struct facility_text *suite, struct arena *arena,
                                      struct complaints *complaints)
{
  struct lister l = {.arena = arena};
  struct sheet_table *table = ARENA_NEW(arena, struct sheet_table);
  int column_count = 0, used[COLUMNS];

  BUG_IF(!table);
  l.leaf_count = facility_leaves(suite, arena, complaints, &l.leaves);
  if (l.leaf_count < 0)
    return NULL;
  find_stations(&l);
  for (int c = 0; c < COLUMNS; c++)
    if (is_used(&l, &columns[c]))
      used[column_count++] = c;

  int row_count = l.station_count + 1;
  struct sheet_cell *cells =
      ARENA_ARRAY(arena, struct sheet_cell, (size_t)row_count * (size_t)column_count);
  bool *hidden = ARENA_ARRAY(arena, bool, (size_t)(row_count + column_count));

  BUG_IF(!cells || !hidden);
  for (int k = 0; k < column_count; k++) {
    const struct list_column *c = &columns[used[k]];
    const char *unit = c->dimension != UNITS_NOTHING ? column_unit(&l, c) : "";

    cells[k] =
        text_cell(unit[0] != '\0' ? arena_printf(arena, "%s (%s)", c->header, unit) : c->header);
    for (int i = 0; i < l.station_count; i++) {
      const char *text = text_of(&l, l.ids[i], c);

      cells[(i + 1) * column_count + k] =
          c->dimension != UNITS_NOTHING ? figure_cell(&l, text, unit) : text_cell(text);
    }
  }
  *table = (struct sheet_table){.name = "Stations",
                                .row_count = row_count,
                                .column_count = column_count,
                                .cells = cells,
                                .row_hidden = hidden,
                                .column_hidden = hidden + row_count};
  return table;
}
