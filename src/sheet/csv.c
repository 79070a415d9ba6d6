#include "sheet/sheet_impl.h"

#include <string.h>

/*
 * The text is taken apart in place: a field's end becomes its NUL, and what quotes and line breaks
 * shrink by is left behind.  `at` reads, and nothing writes past it.
 */
struct csv {
  struct reading *r;
  char *at, *end;
  char separator;
  int line, column; /* of `at` */
  bool fault;
};

static bool is_break(char c)
{
  return c == '\n' || c == '\r';
}

/* One character further; CRLF is one line break. */
static void step(struct csv *c)
{
  if (c->at[0] == '\r' && c->at + 1 < c->end && c->at[1] == '\n')
    c->at++;
  if (is_break(*c->at)) {
    c->line++;
    c->column = 0;
  }
  c->at++;
  if (c->at == c->end || ((unsigned char)*c->at & 0xc0) != 0x80)
    c->column++;
}

static bool ends_field(const struct csv *c)
{
  return c->at == c->end || *c->at == c->separator || is_break(*c->at);
}

static void complain(struct csv *c, int line, int column, const char *what)
{
  c->fault = true;
  sheet_refuse(c->r, line, column, "%s", what);
}

/* From the opening quote to past the closing one; the end of what was written. */
static char *take_quoted(struct csv *c, char *out)
{
  int line = c->line, column = c->column;
  bool closed = false;

  step(c);
  while (c->at < c->end && !closed) {
    bool quote = *c->at == '"', again = quote && c->at + 1 < c->end && c->at[1] == '"';
    char byte = is_break(*c->at) ? '\n' : *c->at;

    closed = quote && !again;
    if (again)
      step(c);
    step(c);
    if (!closed)
      *out++ = byte;
  }
  if (!closed)
    complain(c, line, column,
             "this quote is never closed; close it at the end of its cell, or "
             "double it if it belongs to the text");
  while (c->at < c->end && *c->at == ' ')
    step(c);
  if (!ends_field(c)) {
    complain(c, c->line, c->column,
             "text stands after a closing quote; a quote inside a quoted cell "
             "must be doubled");
    while (!ends_field(c))
      step(c);
  }
  return out;
}

/* Blanks before a quote do not make it a part of the text. */
static bool is_quoted(const char *at, const char *end)
{
  while (at < end && *at == ' ')
    at++;
  return at < end && *at == '"';
}

/* The apostrophe that sheet_write_csv puts before what a spreadsheet program would run. */
static char *without_guard(char *text)
{
  size_t marks = strspn(text, "'");

  return marks > 0 && text[marks] != '\0' && strchr("=+-@\t\r", text[marks]) ? text + 1 : text;
}

/* One field, up to what ends it, which is passed and returned: the separator, or a line break. */
static char take_field(struct csv *c, struct sheet_cell *cell)
{
  char *start = c->at, *out;

  *cell = sheet_empty_cell;
  cell->line = c->line;
  cell->column = c->column;
  if (is_quoted(c->at, c->end)) {
    while (*c->at == ' ')
      step(c);
    start = c->at;
    out = take_quoted(c, start);
  } else {
    while (!ends_field(c))
      step(c);
    out = c->at;
  }
  if (out - start > SHEET_MOST_TEXT)
    complain(c, cell->line, cell->column,
             "this cell holds more text than a spreadsheet program can");

  char stop = c->at < c->end && *c->at == c->separator ? c->separator : '\n';

  if (c->at < c->end)
    step(c);
  *out = '\0'; /* after the step: it may stand where the separator stood */
  cell->text = without_guard(start);
  cell->kind = cell->text[0] != '\0' ? SHEET_TEXT : SHEET_EMPTY;
  return stop;
}

/* A row's first cell is kept even when it is empty: it says on which line the row begins. */
static bool take_row(struct csv *c, struct grid *grid, int row)
{
  for (int column = 0;; column++) {
    struct sheet_cell cell;
    char stop = take_field(c, &cell);

    if ((cell.kind != SHEET_EMPTY || column == 0) && !grid_add(grid, c->r, "", row, column, cell))
      return false;
    if (stop == '\n')
      return true;
  }
}

/*
 * What a separator has for it, in the rows at the start: how many rows it cuts, and twice how many
 * of them into the same number of cells.  A comma between two digits speaks for nothing: it may be
 * a decimal one.
 */
enum { ROWS_LOOKED_AT = 500 };

static bool is_decimal(const char *start, const char *at, const char *end)
{
  return at > start && at + 1 < end && at[-1] >= '0' && at[-1] <= '9' && at[1] >= '0' &&
         at[1] <= '9';
}

/* Past a quoted text, or to the end. */
static const char *skip_quoted(const char *at, const char *end)
{
  for (at++; at < end; at++) {
    if (*at != '"')
      continue;
    if (at + 1 == end || at[1] != '"')
      return at + 1;
    at++;
  }
  return end;
}

/* One row; where the next begins.  Quotes are honoured after anything that may be a separator. */
static const char *count_cuts(const char *at, const char *end, char separator, int *cuts)
{
  const char *start = at;
  bool begins = true;

  *cuts = 0;
  while (at < end && !is_break(*at)) {
    if (begins && *at == '"') {
      at = skip_quoted(at, end);
      begins = false;
      continue;
    }
    if (*at == separator && !(separator == ',' && is_decimal(start, at, end)))
      ++*cuts;
    begins = (*at != '\0' && strchr("\t;|,", *at)) || (begins && *at == ' ');
    at++;
  }
  if (at < end && at[0] == '\r' && at + 1 < end && at[1] == '\n')
    at++;
  return at < end ? at + 1 : end;
}

static int score(const char *at, const char *end, char separator)
{
  int rows_with[SHEET_MOST_COLUMNS] = {0}, cut = 0, alike = 0;

  for (int row = 0; row < ROWS_LOOKED_AT && at < end; row++) {
    int cuts;

    at = count_cuts(at, end, separator, &cuts);
    cut += cuts > 0;
    if (cuts > 0 && cuts < SHEET_MOST_COLUMNS && ++rows_with[cuts] > alike)
      alike = rows_with[cuts];
  }
  return cut + 2 * alike;
}

static const struct {
  char separator;
  const char *word;
} separators[] = {{'\t', "tabs"}, {';', "semicolons"}, {'|', "bars"}, {',', "commas"}};

static char find_separator(struct reading *r, const char *text, const char *end)
{
  int best = 3, best_score = 0, second = -1, second_score = 0;

  for (int i = 0; i < 4; i++) {
    int now = score(text, end, separators[i].separator);

    if (now > best_score) {
      second = best_score > 0 ? best : -1;
      second_score = best_score;
      best = i;
      best_score = now;
    } else if (now > second_score) {
      second = i;
      second_score = now;
    }
  }
  if (second >= 0 && second_score * 5 >= best_score * 4)
    sheet_remark(r,
                 "cells were taken to end at %s; %s would do nearly as well: see that the columns "
                 "came out right",
                 separators[best].word, separators[second].word);
  return separators[best].separator;
}

/* "sep=;" as the first line, which some programs write and obey. */
static char said_separator(struct csv *c)
{
  if (c->end - c->at < 5 || memcmp(c->at, "sep=", 4) != 0)
    return '\0';
  if (c->end - c->at > 5 && !is_break(c->at[5]))
    return '\0';

  char separator = c->at[4];

  if (separator == '\0' || !strchr("\t;|,", separator))
    return '\0';
  while (c->line == 1 && c->at < c->end)
    step(c);
  return separator;
}

static bool take_rows(struct csv *c)
{
  struct sheet_table *table = ARENA_NEW(c->r->arena, struct sheet_table);
  struct grid *grid = NULL;
  bool fits = true;

  if (!table)
    return sheet_refuse(c->r, 0, 0, "the file holds more than can be kept");
  table->name = "";
  grid = grid_new();
  for (int row = 0; fits && c->at < c->end; row++)
    fits = take_row(c, grid, row);
  fits = fits && !c->fault && grid_finish(grid, c->r, table);
  grid_free(grid);
  c->r->book.tables = table;
  c->r->book.table_count = 1;
  return fits;
}

bool sheet_read_csv(struct reading *r, const unsigned char *bytes, size_t size)
{
  size_t used;
  char *text = sheet_decode(r, bytes, size, &used);

  if (!text)
    return false;
  if (memchr(text, '\0', used))
    return sheet_refuse(r, 0, 0,
                        "this is no spreadsheet and no text; save the list as .xlsx or as "
                        "\"CSV UTF-8\"");

  struct csv c = {.r = r, .at = text, .end = text + used, .line = 1, .column = 1};

  c.separator = said_separator(&c);
  if (c.separator == '\0')
    c.separator = find_separator(r, c.at, c.end);
  r->book.format = SHEET_CSV;
  r->book.separator = c.separator;
  return take_rows(&c);
}
