#include "sheet/shown_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <xlsxwriter.h>

/* One look of a cell; each is made once a workbook. */
enum { LOOKS_MOST = 200, CODE_MOST = 80, WIDTH_LEAST = 6, WIDTH_MOST = 60 };

struct look {
  char code[CODE_MOST]; /* number format, "" for none */
  bool bold, struck, wrapped;
  lxw_format *format;
};

struct writing {
  lxw_workbook *book;
  lxw_worksheet *sheet;
  const struct sheet_table *table;
  int header_rows, look_count;
  struct look looks[LOOKS_MOST];
};

static lxw_format *format_of(struct writing *w, const struct look *want)
{
  if (want->code[0] == '\0' && !want->bold && !want->struck && !want->wrapped)
    return NULL;
  for (int i = 0; i < w->look_count; i++) {
    const struct look *l = &w->looks[i];

    if (strcmp(l->code, want->code) == 0 && l->bold == want->bold && l->struck == want->struck &&
        l->wrapped == want->wrapped)
      return l->format;
  }
  if (w->look_count == LOOKS_MOST)
    return NULL;

  struct look *made = &w->looks[w->look_count++];

  *made = *want;
  made->format = workbook_add_format(w->book);
  if (want->code[0] != '\0')
    format_set_num_format(made->format, want->code);
  if (want->bold)
    format_set_bold(made->format);
  if (want->struck)
    format_set_font_strikeout(made->format);
  if (want->wrapped)
    format_set_text_wrap(made->format);
  format_set_align(made->format, LXW_ALIGN_VERTICAL_TOP);
  return made->format;
}

/*
 * The number format that shows a number as its text has it: "620.5 m3/h" as 0.0" m3/h", "12%" as
 * 0%, "S07" as "S"00.  None for a plain number, and where the text is something else.
 */
static void code_of_text(const char *text, char *code)
{
  size_t before = strcspn(text, "-0123456789");
  const char *digits = text + before + (text[before] == '-');
  size_t whole = strspn(digits, "0123456789");
  size_t point = digits[whole] == '.' ? 1 : 0;
  size_t part = point ? strspn(digits + whole + 1, "0123456789") : 0;
  const char *after = digits + whole + point + part;
  bool padded = whole > 1 && digits[0] == '0';
  static const char zeros[] = "0000000000000000";

  code[0] = '\0';
  if (whole == 0 || whole > 15 || part > 15 || after[0] == 'e' || strpbrk(text, "\"") ||
      before + strlen(after) > 40 || (before == 0 && after[0] == '\0' && !padded))
    return;
  if (strcmp(after, "%") == 0 && before == 0)
    snprintf(code, CODE_MOST, "0%.*s%.*s%%", (int)point, ".", (int)part, zeros);
  else
    snprintf(code, CODE_MOST, "%s%.*s%s%.*s%.*s%.*s%s%s%s", before > 0 ? "\"" : "", (int)before,
             text, before > 0 ? "\"" : "", padded ? (int)whole : 1, zeros, (int)point, ".",
             (int)part, zeros, after[0] != '\0' ? "\"" : "", after, after[0] != '\0' ? "\"" : "");
}

/* Only a code that shows this very text. */
static void number_code(const struct sheet_cell *cell, char *code)
{
  struct arena arena;
  struct sheet_cell seen = sheet_empty_cell;

  code_of_text(cell->text, code);
  if (code[0] == '\0')
    return;
  arena_init(&arena, 10000);

  struct shown shown = shown_code(code, &arena);

  if (!shown_number(cell->number, &shown, false, &arena, &seen) || seen.kind != SHEET_NUMBER ||
      strcmp(seen.text, cell->text) != 0)
    code[0] = '\0';
  arena_release(&arena);
}

static void date_code(const struct sheet_cell *cell, char *code)
{
  bool has_date = strchr(cell->text, '-') != NULL, has_time = strchr(cell->text, ':') != NULL;

  snprintf(code, CODE_MOST, "%s",
           has_date && has_time ? "yyyy\\-mm\\-dd hh:mm:ss"
           : has_date           ? "yyyy\\-mm\\-dd"
           : cell->number >= 1  ? "[h]:mm:ss"
                                : "hh:mm:ss");
}

/* Back to the serial numbers of the 1900 system: see shown_number. */
static double serial_of(const struct sheet_cell *cell)
{
  return strchr(cell->text, '-') && cell->number < 61 ? cell->number - 1 : cell->number;
}

static lxw_error put_cell(struct writing *w, int row, int column)
{
  const struct sheet_cell *cell = sheet_at(w->table, row, column);
  lxw_row_t r = (lxw_row_t)row;
  lxw_col_t c = (lxw_col_t)column;
  struct look look = {.bold = row < w->header_rows, .struck = cell->struck};

  if (cell->covered)
    return LXW_NO_ERROR;
  if (cell->kind == SHEET_NUMBER)
    number_code(cell, look.code);
  if (cell->kind == SHEET_DATE)
    date_code(cell, look.code);
  look.wrapped =
      strchr(cell->text, '\n') || utf8_count(cell->text, strlen(cell->text)) > WIDTH_MOST;

  lxw_format *format = format_of(w, &look);
  lxw_error error = LXW_NO_ERROR;

  if (cell->kind == SHEET_NUMBER)
    error = worksheet_write_number(w->sheet, r, c, cell->number, format);
  else if (cell->kind == SHEET_DATE)
    error = worksheet_write_number(w->sheet, r, c, serial_of(cell), format);
  else if (cell->kind == SHEET_YES_NO)
    error = worksheet_write_boolean(w->sheet, r, c, cell->number != 0, format);
  else if (cell->kind != SHEET_EMPTY)
    error = worksheet_write_string(w->sheet, r, c, cell->text, format);
  if (error == LXW_NO_ERROR && cell->note)
    error = worksheet_write_comment(w->sheet, r, c, cell->note);
  return error;
}

/* As wide as its longest line, within reason. */
static int width_of(const struct sheet_table *table, int column)
{
  int width = WIDTH_LEAST;

  for (int row = 0; row < table->row_count; row++) {
    const struct sheet_cell *cell = sheet_at(table, row, column);

    for (const char *line = cell->text; *line && !cell->covered;) {
      size_t length = strcspn(line, "\n");
      int count = utf8_count(line, length);

      width = count > width ? count : width;
      line += length + (line[length] == '\n');
    }
  }
  return width < WIDTH_MOST ? width : WIDTH_MOST;
}

static void set_widths(struct writing *w)
{
  lxw_row_col_options hidden = {.hidden = LXW_TRUE};

  for (int c = 0; c < w->table->column_count; c++)
    worksheet_set_column_opt(w->sheet, (lxw_col_t)c, (lxw_col_t)c, width_of(w->table, c) + 2, NULL,
                             w->table->column_hidden && w->table->column_hidden[c] ? &hidden
                                                                                   : NULL);
  for (int r = 0; w->table->row_hidden && r < w->table->row_count; r++)
    if (w->table->row_hidden[r])
      worksheet_set_row_opt(w->sheet, (lxw_row_t)r, LXW_DEF_ROW_HEIGHT, NULL, &hidden);
}

static enum err_code put_table(struct writing *w, const struct sheet_table *table, struct err *err)
{
  const char *name = table->name[0] != '\0' ? table->name : NULL;

  /* The library would say it on stderr. */
  if (name && workbook_validate_sheet_name(w->book, name) != LXW_NO_ERROR)
    return err_set(err, ERR_INPUT,
                   "a sheet cannot be called \"%s\": at most 31 characters, none of "
                   "[ ] : * ? / \\, no apostrophe at its ends, and each name once",
                   table->name);
  w->table = table;
  w->sheet = workbook_add_worksheet(w->book, name);
  BUG_IF(!w->sheet);
  set_widths(w);
  for (int row = 0; row < table->row_count; row++)
    for (int column = 0; column < table->column_count; column++) {
      lxw_error error = put_cell(w, row, column);
      char place[120];

      if (error == LXW_NO_ERROR)
        continue;
      sheet_place(table, row, column, place, sizeof place);
      return err_set(err, ERR_LIMIT, "%s: %s", place, lxw_strerror(error));
    }
  if (w->header_rows > 0)
    worksheet_freeze_panes(w->sheet, (lxw_row_t)w->header_rows, 0);
  return ERR_OK;
}

/* A hidden sheet must not be the one that is shown first. */
static enum err_code hide_tables(lxw_workbook *made, const struct sheet_book *book, struct err *err)
{
  bool shown = false;

  for (int i = 0; i < book->table_count; i++) {
    lxw_worksheet *sheet = workbook_get_worksheet_by_name(made, book->tables[i].name);

    if (book->tables[i].hidden && sheet)
      worksheet_hide(sheet);
    else if (!shown) {
      shown = true;
      if (sheet && i > 0) {
        worksheet_activate(sheet);
        worksheet_set_first_sheet(sheet);
      }
    }
  }
  return shown ? ERR_OK : err_set(err, ERR_INPUT, "a workbook needs a sheet that is not hidden");
}

enum err_code sheet_write_xlsx(const struct sheet_book *book, int header_rows, const char *path,
                               struct err *err)
{
  struct writing writing = {.header_rows = header_rows};
  lxw_doc_properties properties = {.created = 946684800}; /* 2000-01-01: no clock in the file */
  enum err_code code = ERR_OK;

  BUG_IF(book->table_count < 1 || header_rows < 0);
  writing.book = workbook_new(path);
  if (!writing.book)
    err_no_memory();
  workbook_set_properties(writing.book, &properties);
  for (int i = 0; i < book->table_count && code == ERR_OK; i++)
    code = put_table(&writing, &book->tables[i], err);
  if (code == ERR_OK)
    code = hide_tables(writing.book, book, err);
  if (code != ERR_OK) {
    lxw_workbook_free(writing.book);
    return code;
  }

  lxw_error error = workbook_close(writing.book);

  return error == LXW_NO_ERROR
             ? ERR_OK
             : err_set(err, ERR_IO, "%s cannot be written: %s", path, lxw_strerror(error));
}
