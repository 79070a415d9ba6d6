#include "sheet/sheet_impl.h"

#include <string.h>

/* Digits, signs, points and exponents alone: a spreadsheet program takes it for a number. */
static bool is_number(const char *text)
{
  return text[strspn(text, "+-0123456789.,eE")] == '\0' && strspn(text + 1, "+-") == 0 &&
         strpbrk(text, "0123456789");
}

static bool wants_guard(const char *text)
{
  size_t marks = strspn(text, "'");

  if (text[marks] == '\0' || !strchr("=+-@\t\r", text[marks]))
    return false;
  return marks > 0 || !is_number(text);
}

/* The first cell must not be taken for a line about the separator, or for another sort of file. */
static bool misleads(const char *text)
{
  return strncmp(text, "sep=", 4) == 0 || strncmp(text, "PK", 2) == 0 ||
         sheet_is_no_text((const unsigned char *)text, strlen(text));
}

/* Any separator is quoted, not ours alone, so that a reader who must guess it guesses right. */
static void put_field(struct buf *out, const char *text, bool first)
{
  bool quoted = strpbrk(text, ",;\t|\"\r\n") != NULL || text[0] == ' ' || (first && misleads(text));

  if (quoted)
    buf_putc(out, '"');
  if (wants_guard(text))
    buf_putc(out, '\'');
  for (; *text; text++) {
    if (*text == '"')
      buf_putc(out, '"');
    buf_putc(out, *text);
  }
  if (quoted)
    buf_putc(out, '"');
}

static bool has_more_than_ascii(const struct sheet_table *table)
{
  int count = table->row_count * table->column_count;

  for (int i = 0; i < count; i++)
    for (const char *c = table->cells[i].text; *c; c++)
      if ((unsigned char)*c >= 0x80)
        return true;
  return false;
}

void sheet_write_csv(const struct sheet_table *table, struct buf *out)
{
  if (has_more_than_ascii(table))
    buf_puts(out, "\xef\xbb\xbf");
  for (int row = 0; row < table->row_count; row++) {
    for (int column = 0; column < table->column_count; column++) {
      const struct sheet_cell *cell = sheet_at(table, row, column);

      if (column > 0)
        buf_putc(out, ',');
      if (!cell->covered)
        put_field(out, cell->text, row == 0 && column == 0);
    }
    buf_puts(out, "\r\n");
  }
}
