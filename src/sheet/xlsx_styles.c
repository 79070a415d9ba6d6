#include "sheet/xlsx_impl.h"

#include <stdlib.h>
#include <string.h>

/*
 * xl/styles.xml, as far as it changes what a cell says: its number format, and whether it is struck
 * through.  Fonts and formats also stand in places that cells do not use (dxfs), so the list an
 * entry stands in counts.
 */
enum { MOST = 65536 }; /* spreadsheet programs hold 64,000 */

enum { NUM_FMTS = 1, NUM_FMT, FONTS, FONT, STRIKE, CELL_XFS, XF };
static const struct xml_word words[] = {
    {XML_SPACE_SHEET, "numFmts", NUM_FMTS},
    {XML_SPACE_SHEET, "numFmt", NUM_FMT},
    {XML_SPACE_SHEET, "fonts", FONTS},
    {XML_SPACE_SHEET, "font", FONT},
    {XML_SPACE_SHEET, "strike", STRIKE},
    {XML_SPACE_SHEET, "cellXfs", CELL_XFS},
    {XML_SPACE_SHEET, "xf", XF},
};

struct format {
  int id;
  struct shown shown;
};

struct styles {
  struct xlsx *book;
  int list; /* the one we are in: NUM_FMTS, FONTS, CELL_XFS, or 0 */
  struct format *formats;
  bool *struck; /* of fonts */
  int format_count, font_count;
};

static bool full(struct styles *s)
{
  return sheet_refuse(s->book->r, 0, 0,
                      "the workbook has more styles than a spreadsheet program can "
                      "hold; it is damaged: save the one sheet as .csv");
}

/* Lists double when they are full, at 1, 2, 4 ... of them. */
static bool room_for_one(struct styles *s, void **list, int count, size_t size)
{
  if (count == MOST)
    return full(s);
  if ((count & (count - 1)) == 0) {
    *list = realloc(*list, (count > 0 ? (size_t)count * 2 : 1) * size);
    if (!*list)
      err_no_memory();
  }
  return true;
}

static bool add_format(struct styles *s, const char **attributes)
{
  const char *code = xml_attribute(attributes, XML_SPACE_NONE, "formatCode");
  int id = xml_int(xml_attribute(attributes, XML_SPACE_NONE, "numFmtId"), MOST, -1);

  if (id < 0 || !code)
    return true;

  void *list = s->formats;

  if (!room_for_one(s, &list, s->format_count, sizeof *s->formats))
    return false;
  s->formats = list;
  s->formats[s->format_count++] = (struct format){id, shown_code(code, &s->book->r->scratch)};
  return true;
}

static bool add_font(struct styles *s)
{
  void *list = s->struck;

  if (!room_for_one(s, &list, s->font_count, sizeof *s->struck))
    return false;
  s->struck = list;
  s->struck[s->font_count++] = false;
  return true;
}

static struct shown shown_of(const struct styles *s, int id)
{
  for (int i = 0; i < s->format_count; i++)
    if (s->formats[i].id == id)
      return s->formats[i].shown;
  return shown_builtin(id);
}

static bool add_style(struct styles *s, const char **attributes)
{
  int format = xml_int(xml_attribute(attributes, XML_SPACE_NONE, "numFmtId"), MOST, 0);
  int font = xml_int(xml_attribute(attributes, XML_SPACE_NONE, "fontId"), MOST, -1);
  void *list = s->book->styles;

  if (!room_for_one(s, &list, s->book->style_count, sizeof *s->book->styles))
    return false;
  s->book->styles = list;
  s->book->styles[s->book->style_count++] = (struct xlsx_style){
      .shown = shown_of(s, format), .struck = font >= 0 && font < s->font_count && s->struck[font]};
  return true;
}

static bool on_start(struct xml *xml, int id, const char **attributes)
{
  struct styles *s = xml->to;

  if (id == NUM_FMTS || id == FONTS || id == CELL_XFS)
    s->list = id;
  else if (id == NUM_FMT && s->list == NUM_FMTS)
    return add_format(s, attributes);
  else if (id == FONT && s->list == FONTS)
    return add_font(s);
  else if (id == XF && s->list == CELL_XFS)
    return add_style(s, attributes);
  else if (id == STRIKE && s->list == FONTS && s->font_count > 0) {
    const char *value = xml_attribute(attributes, XML_SPACE_NONE, "val");

    s->struck[s->font_count - 1] = !value || xml_is_true(value);
  }
  return true;
}

static bool on_end(struct xml *xml, int id)
{
  struct styles *s = xml->to;

  if (id == s->list)
    s->list = 0;
  return true;
}

bool xlsx_read_styles(struct xlsx *book, const char *part)
{
  struct styles styles = {.book = book};
  struct xml xml = {book->r,  part,   words, sizeof words / sizeof words[0],
                    on_start, on_end, NULL,  &styles,
                    NULL,     0,      false};
  bool good = xml_read(&xml, book->pack);

  free(styles.formats);
  free(styles.struck);
  return good;
}
