#include "sheet/xlsx_impl.h"

#include <string.h>

/*
 * Notes on cells: xl/comments1.xml, and what people answer each other in xl/threadedComments.
 * A cell with a thread also has an old-style comment that repeats it under an explanation of ours
 * no one asked for; threads are read first, so that they win.
 */
enum { COMMENT = 1, THREADED, THREADED_TEXT, T, RPH };
static const struct xml_word words[] = {
    {XML_SPACE_SHEET, "comment", COMMENT},
    {XML_SPACE_THREADED, "threadedComment", THREADED},
    {XML_SPACE_THREADED, "text", THREADED_TEXT},
    {XML_SPACE_SHEET, "t", T},
    {XML_SPACE_SHEET, "rPh", RPH},
};

struct notes {
  struct xlsx *book;
  const char *table;
  struct grid *grid;
  bool threaded;
  bool in_comment, takes_text;
  int phonetic, row, column, count;
  struct buf text;
};

/* The note this cell has already, as an entry of the grid: notes come after all cells. */
static struct sheet_cell *find(struct notes *s)
{
  for (int i = s->grid->count - 1; i >= 0; i--) {
    struct grid_cell *g = &s->grid->cells[i];

    if (g->cell.kind != SHEET_EMPTY)
      return NULL;
    if (g->row == s->row && g->column == s->column && g->cell.note)
      return &g->cell;
  }
  return NULL;
}

static bool add(struct notes *s)
{
  char place[120];
  struct sheet_cell *there = find(s);

  if (there && !s->threaded)
    return true;
  if (++s->count > SHEET_MOST_NOTES)
    return sheet_refuse(s->book->r, 0, 0,
                        "%s: there are more than %d notes; take out those that are "
                        "not needed",
                        s->table, SHEET_MOST_NOTES);
  sheet_place_in(s->table, s->row, s->column, place, sizeof place);

  const char *text = xlsx_keep(s->book, &s->text, place);

  if (!text)
    return false;
  if (text[0] == '\0')
    return true;
  if (!there)
    return grid_note(s->grid, s->book->r, s->table, s->row, s->column, text);

  const char *both = arena_printf(s->book->r->arena, "%s\n%s", there->note, text);

  there->note = both ? both : there->note;
  return true;
}

static bool on_start(struct xml *xml, int id, const char **attributes)
{
  struct notes *s = xml->to;

  if (id == (s->threaded ? THREADED : COMMENT)) {
    const char *reference = xml_attribute(attributes, XML_SPACE_NONE, "ref");

    s->in_comment = reference && xlsx_reference(&reference, &s->row, &s->column);
    buf_clear(&s->text);
  } else if (id == RPH)
    s->phonetic++;
  else if (id == (s->threaded ? THREADED_TEXT : T))
    s->takes_text = s->in_comment && s->phonetic == 0;
  return true;
}

static bool on_end(struct xml *xml, int id)
{
  struct notes *s = xml->to;

  if (id == T || id == THREADED_TEXT)
    s->takes_text = false;
  else if (id == RPH)
    s->phonetic--;
  else if (id == (s->threaded ? THREADED : COMMENT) && s->in_comment) {
    s->in_comment = false;
    return add(s);
  }
  return true;
}

static void on_text(struct xml *xml, const char *bytes, int count)
{
  struct notes *s = xml->to;

  if (s->takes_text)
    buf_add(&s->text, bytes, (size_t)count);
}

bool xlsx_read_notes(struct xlsx *book, const char *part, bool threaded, const char *name,
                     struct grid *grid)
{
  struct notes notes = {.book = book, .table = name, .grid = grid, .threaded = threaded};
  struct xml xml = {book->r,  part,   words,   sizeof words / sizeof words[0],
                    on_start, on_end, on_text, &notes,
                    NULL,     0,      false};

  buf_init(&notes.text, SHEET_MOST_TEXT);

  bool good = xml_read(&xml, book->pack);

  buf_release(&notes.text);
  return good;
}
