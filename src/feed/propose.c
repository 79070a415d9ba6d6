#include "feed/propose_impl.h"

#include <math.h>
#include <string.h>

/* A table that nobody has described: what is certain of it. */

/* ---- separator and header ---- */

enum { LOOKED_AT = 200 };

struct cut {
  char separator;
  int cells;             /* the commonest number of cells in a row */
  int all, rows, fitted; /* looked at, not blank, and with so many cells */
  int first;             /* the first row that has so many */
};

/* How many of the rows have as many cells as this one. */
static int alike(const int *cells, int rows, int row)
{
  int count = 0;

  for (int i = 0; i < rows; i++)
    count += cells[i] == cells[row];
  return count;
}

static struct cut try_separator(const struct encoding_text *text, char separator,
                                struct arena *arena)
{
  int cells[LOOKED_AT];
  struct cut cut = {.separator = separator, .first = LOOKED_AT};
  struct feed_rows rows;

  if (!feed_rows_init(&rows, text->text, text->size, separator, arena))
    return cut;
  /* Blank rows are counted too, as rows without a cell, so that a row keeps its number. */
  for (int i = 0; i < LOOKED_AT && feed_rows_next(&rows, i < 10); i++) {
    bool blank = feed_row_is_blank(&rows);

    cells[cut.all++] = blank || rows.fault ? 0 : rows.cell_count;
    cut.rows += !blank;
  }
  for (int i = 0; i < cut.all; i++) {
    int fitted = cells[i] > 1 ? alike(cells, cut.all, i) : 0;

    if (fitted <= cut.fitted)
      continue;
    cut.cells = cells[i];
    cut.fitted = fitted;
    cut.first = i;
  }
  return cut;
}

static double share(const struct cut *cut)
{
  return cut->cells > 1 && cut->rows > 0 ? (double)cut->fitted / cut->rows : 0;
}

/* Decimal commas cut rows into equal parts as well, but never the header above them. */
static bool is_better(const struct cut *a, const struct cut *b)
{
  double step = share(a) - share(b);

  if (fabs(step) > 0.1)
    return step > 0;
  return a->first != b->first ? a->first < b->first : step > 0;
}

static struct cut find_separator(struct guess *g, const struct encoding_text *text,
                                 struct arena *arena)
{
  static const char separators[] = {';', '\t', '|', ','};
  struct cut best = {0}, second = {0};

  for (size_t i = 0; i < sizeof separators; i++) {
    struct cut now = try_separator(text, separators[i], arena);

    if (i == 0 || is_better(&now, &best)) {
      second = best;
      best = now;
    } else if (is_better(&now, &second)) {
      second = now;
    }
  }
  g->separator = best.separator;
  if (second.cells > 1 && second.first == best.first && fabs(share(&second) - share(&best)) <= 0.1)
    g->other_separator = second.separator;
  return best;
}

/* ---- columns ---- */

static bool is_plain_number(struct feed_span cell, bool comma, double *value_out)
{
  struct feed_span rest;

  return feed_read_number(cell, comma, value_out, &rest) && rest.size == 0;
}

/* "1,5" and "0,125" have a decimal comma; "1,500" may be a thousand and a half. */
static void note_mark(struct guess_marks *marks, struct feed_span cell)
{
  const char *comma = memchr(cell.at, ',', cell.size), *point = memchr(cell.at, '.', cell.size);
  const char *mark = comma ? comma : point;

  if (!mark || (comma && point))
    return;

  size_t before = (size_t)(mark - cell.at), behind = cell.size - before - 1;
  bool zero = before > 0 && mark[-1] == '0' && (before == 1 || cell.at[0] == '-');
  bool sure = behind != 3 || before == 0 || zero;

  if (comma) {
    marks->any_comma++;
    marks->sure_comma += sure;
  } else {
    marks->any_point++;
    marks->sure_point += sure;
  }
  if (!sure)
    marks->odd = cell;
}

static void note_word(struct guess_column *column, struct feed_span cell)
{
  for (int i = 0; i < column->word_count && i < GUESS_WORDS; i++)
    if (column->words[i].size == cell.size && memcmp(column->words[i].at, cell.at, cell.size) == 0)
      return;
  if (column->word_count < GUESS_WORDS)
    column->words[column->word_count] = cell;
  if (column->word_count <= GUESS_WORDS)
    column->word_count++;
}

/* Words are kept beyond their row, quoted ones too. */
static struct feed_span kept(const struct feed_rows *rows, struct feed_span cell,
                             struct arena *arena)
{
  char *copy;

  if (cell.at >= rows->row && cell.at <= rows->row_end)
    return cell;
  copy = arena_printf(arena, "%.*s", (int)cell.size, cell.at);
  return copy ? (struct feed_span){copy, cell.size} : (struct feed_span){"", 0};
}

static void note_cell(struct guess *g, const struct feed_rows *rows, int c, struct arena *arena)
{
  struct guess_column *column = &g->columns[c];
  struct feed_span cell = rows->cells[c];
  double value;

  if (cell.size == 0)
    return;
  column->filled++;
  if (!is_plain_number(cell, false, &value) && !is_plain_number(cell, true, &value)) {
    if (column->word_count <= GUESS_WORDS)
      note_word(column, kept(rows, cell, arena));
    return;
  }
  column->lowest = column->numbers == 0 || value < column->lowest ? value : column->lowest;
  column->highest = column->numbers == 0 || value > column->highest ? value : column->highest;
  column->numbers++;
  if (c != g->time && c != g->date)
    note_mark(&g->marks, kept(rows, cell, arena));
}

static void look_at_columns(struct guess *g, struct feed_rows rows, struct arena *arena)
{
  int looked = 0;

  while (feed_rows_next(&rows, false)) {
    if (feed_row_is_blank(&rows))
      continue;
    g->rows++;
    if (rows.fault || rows.cell_count < g->column_count || looked++ >= GUESS_ROWS)
      continue;
    for (int c = 0; c < g->column_count; c++)
      note_cell(g, &rows, c, arena);
  }
}

bool guess_is_numbers(const struct guess_column *column)
{
  return column->numbers * 2 > column->filled;
}

/* A title is padded with separators in some exports: names fill most of their row. */
static bool names_columns(const struct feed_rows *rows, int cells)
{
  int filled = 0;

  for (int c = 0; c < rows->cell_count; c++)
    filled += rows->cells[c].size > 0;
  return !rows->fault && rows->cell_count == cells && filled * 2 > cells;
}

static bool take_header(struct guess *g, const struct cut *cut, struct feed_rows *rows,
                        struct arena *arena)
{
  for (int i = 0; i <= cut->first || !names_columns(rows, cut->cells); i++)
    if (!feed_rows_next(rows, true))
      return false;
  g->header_line = rows->row_line;
  g->column_count = rows->cell_count;
  g->columns = ARENA_ARRAY(arena, struct guess_column, (size_t)rows->cell_count + 1);
  for (int c = 0; g->columns && c < rows->cell_count; c++)
    g->columns[c].name = kept(rows, rows->cells[c], arena);
  return g->columns != NULL;
}

static bool guess_table(struct guess *g, const struct encoding_text *text, struct arena *arena)
{
  struct cut cut = find_separator(g, text, arena);
  struct feed_rows rows;

  if (cut.cells < 2 || share(&cut) < 0.5 ||
      !feed_rows_init(&rows, text->text, text->size, g->separator, arena) ||
      !take_header(g, &cut, &rows, arena))
    return false;
  guess_time(g, rows, arena);
  look_at_columns(g, rows, arena);
  return g->rows > 0;
}

bool feed_propose(const struct facility *facility, const struct facility_text *text,
                  struct complaints *complaints, struct buf *out)
{
  struct guess g = {.file = text->file, .time = -1, .date = -1};
  struct encoding_text decoded;
  struct arena arena;
  bool good;

  arena_init(&arena, (size_t)4 * FEED_TABLE_MOST_BYTES);
  good = feed_decode(text, &arena, complaints, &decoded);
  if (good && !guess_table(&g, &decoded, &arena)) {
    complaints_add(
        complaints, (struct place){text->file, 0, 0}, 0,
        "no table was found: rows of cells between commas, semicolons, tabs or bars below a "
        "row that names them");
    good = false;
  }
  if (good) {
    g.encoding = encoding_name(decoded.encoding);
    guess_print(&g, facility, out);
  }
  arena_release(&arena);
  return good;
}
