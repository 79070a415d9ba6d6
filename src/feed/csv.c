#include "feed/feed_impl.h"

#include "base/utf8.h"

#include <string.h>

/*
 * Rows of a delimited text (RFC 4180, any separator), where they stand: a cell is a span of the text,
 * copied only where its quotes must be taken apart.
 */

bool feed_rows_init(struct feed_rows *rows, const char *text, size_t size, char separator,
                    struct arena *arena)
{
  *rows = (struct feed_rows){.at = text, .end = text + size, .line = 1, .separator = separator};
  /* CR alone ends a line only where nothing else does. */
  rows->line_break = size > 0 && !memchr(text, '\n', size) ? '\r' : '\n';
  rows->cells = ARENA_ARRAY(arena, struct feed_span, FEED_TABLE_MOST_COLUMNS + 1);
  rows->scratch = arena_push(arena, FEED_SCRATCH_BYTES, 1);
  return rows->cells && rows->scratch;
}

static const char *line_end(const struct feed_rows *rows, const char *from)
{
  const char *end = memchr(from, rows->line_break, (size_t)(rows->end - from));

  return end ? end : rows->end;
}

static bool odd_quotes(const char *from, const char *end)
{
  bool odd = false;

  while (from < end && (from = memchr(from, '"', (size_t)(end - from)))) {
    odd = !odd;
    from++;
  }
  return odd;
}

/* A quoted cell from its opening quote to what ends it; its text without quotes.  NULL when it is
 * not closed, or goes on behind its quote. */
static const char *take_quoted(struct feed_rows *rows, const char *at, const char *end,
                               struct feed_span *cell)
{
  char *out = rows->scratch + rows->scratch_used;
  size_t used = 0, room = FEED_SCRATCH_BYTES - rows->scratch_used;

  for (at++; at < end; at++) {
    if (*at == '"' && (at + 1 == end || at[1] != '"'))
      break;
    at += *at == '"';
    if (used == room)
      return NULL;
    out[used++] = *at == '\n' || *at == '\r' ? ' ' : *at;
  }
  if (at == end)
    return NULL;
  *cell = (struct feed_span){out, used};
  rows->scratch_used += used;
  for (at++; at < end && (*at == ' ' || *at == '\r'); at++)
    continue;
  return at == end || *at == rows->separator ? at : NULL;
}

static const char *past_blanks(const char *at, const char *end)
{
  while (at < end && *at == ' ')
    at++;
  return at;
}

/* One cell from `at` to what ends it; NULL when its quotes are wrong. */
static const char *take_cell(struct feed_rows *rows, const char *at, const char *end, bool quotes,
                             struct feed_span *cell)
{
  const char *text = quotes ? past_blanks(at, end) : at;

  if (quotes && text < end && *text == '"')
    return take_quoted(rows, text, end, cell);

  const char *stop = memchr(at, rows->separator, (size_t)(end - at));

  stop = stop ? stop : end;
  *cell = feed_trim(at, (size_t)(stop - at));
  return stop;
}

static void split(struct feed_rows *rows, const char *at, const char *end)
{
  bool quotes = memchr(at, '"', (size_t)(end - at)) != NULL;

  rows->cell_count = 0;
  rows->scratch_used = 0;
  rows->fault = NULL;
  for (;;) {
    if (rows->cell_count == FEED_TABLE_MOST_COLUMNS) {
      rows->fault = "this row has more cells than can be read";
      return;
    }
    at = take_cell(rows, at, end, quotes, &rows->cells[rows->cell_count]);
    if (!at) {
      rows->fault = "a quote in this row is not closed, or text stands behind it";
      return;
    }
    rows->cell_count++;
    if (at == end)
      return;
    at++;
  }
}

bool feed_rows_next(struct feed_rows *rows, bool breaks_in_quotes)
{
  const char *end;
  int lines = 1;

  if (rows->at >= rows->end)
    return false;
  end = line_end(rows, rows->at);
  while (breaks_in_quotes && end < rows->end && lines < 20 && odd_quotes(rows->at, end)) {
    end = line_end(rows, end + 1);
    lines++;
  }
  rows->row = rows->at;
  rows->row_line = rows->line;
  rows->line += lines;
  rows->at = end < rows->end ? end + 1 : rows->end;
  if (end > rows->row && end[-1] == '\r')
    end--;
  rows->row_end = end;
  split(rows, rows->row, end);
  return true;
}

void feed_rows_again(struct feed_rows *rows, const char *row, int line)
{
  const char *end = line_end(rows, row);

  rows->row = row;
  rows->row_line = line;
  if (end > row && end[-1] == '\r')
    end--;
  rows->row_end = end;
  split(rows, row, end);
}

bool feed_row_is_blank(const struct feed_rows *rows)
{
  for (int i = 0; i < rows->cell_count; i++)
    if (rows->cells[i].size > 0)
      return false;
  return !rows->fault;
}

int feed_cell_column(const struct feed_rows *rows, int cell)
{
  const char *at = rows->cells[cell].at;

  if (at < rows->row || at > rows->row_end)
    return 1;
  return utf8_count(rows->row, (size_t)(at - rows->row)) + 1;
}

const char *feed_shown(struct feed_span text, char room[FEED_SHOWN])
{
  size_t most = FEED_SHOWN - 4, kept = text.size > most ? most : text.size;

  while (kept < text.size && kept > 0 && ((unsigned char)text.at[kept] & 0xc0) == 0x80)
    kept--;
  if (kept > 0)
    memcpy(room, text.at, kept);
  for (size_t i = 0; i < kept; i++)
    if ((unsigned char)room[i] < 0x20 || room[i] == 0x7f)
      room[i] = ' ';
  memcpy(room + kept, kept < text.size ? "..." : "", kept < text.size ? 4 : 1);
  return room;
}

/* ---- the text of a file ---- */

static const char *no_text(const char *bytes, size_t size)
{
  if (size == 0)
    return "there is nothing in it";
  if (size >= 4 && memcmp(bytes, "PK\3\4", 4) == 0)
    return "this is a packed file or a workbook (.xlsx); export the table as CSV";
  if (size >= 5 && memcmp(bytes, "%PDF-", 5) == 0)
    return "this is a PDF, which holds no cells; ask for the export as CSV";
  return NULL;
}

static const char *fault_words(enum encoding_fault fault)
{
  switch (fault) {
  case ENCODING_NO_ROOM:
    return "the file holds more than can be kept";
  case ENCODING_HALF:
    return "half a character stands in this line; the file is damaged: ask for it again";
  case ENCODING_CUT:
    return "the file ends in the middle of a character; it is cut short: ask for it again";
  case ENCODING_FALSE:
    return "this line is not UTF-8, though the file says it is; export it again";
  case ENCODING_UNKNOWN:
    return "a character in this line is of no known encoding; export it as UTF-8";
  case ENCODING_NO_FAULT:
  default:
    return NULL;
  }
}

bool feed_decode(const struct facility_text *text, struct arena *arena,
                 struct complaints *complaints, struct encoding_text *out)
{
  const char *what = no_text(text->bytes, text->size);
  int line = 0;

  if (!what && text->size > FEED_TABLE_MOST_BYTES)
    what = "this is larger than any table that is read; export a shorter span";
  if (!what)
    what = fault_words(encoding_read(text->bytes, text->size, arena, out, &line));
  if (!what && out->size == 0)
    what = "there is nothing in it";
  if (!what && memchr(out->text, '\0', out->size))
    what = "this is no text, so no table; export it as CSV";
  if (what)
    complaints_add(complaints, (struct place){text->file, line, line > 0 ? 1 : 0}, 0, "%s", what);
  return !what;
}
