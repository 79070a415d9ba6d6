/* Leave list, responder sheet, restart list, handover: one page model, one way to set it. */
#include "papers/papers_impl.h"

#include <string.h>

struct sheet {
  const struct papers_request *request;
  const struct lists_page *page;
  struct draw *draw;
  double size_pt; /* of its rows */
};

/* One page, if it can be read at all: 7 pt is the least for a table at half a metre (common practice, no
 * source). */
static const double sizes_pt[] = {10, 9, 8, 7.5, 7};

static void say(struct sheet *s, double size_ratio, bool bold, const char *text)
{
  draw_flow(s->draw, &(struct draw_text){.text = papers_words(s->request, "%s", text),
                                         .from = lists_kind_name(s->page->kind),
                                         .size_pt = s->size_pt * size_ratio,
                                         .bold = bold});
}

/* What a person wrote may hold what no font has: it stands as a question mark, and the rest is printed. */
static char *printable(struct sheet *s, const char *text)
{
  char *copy = text ? arena_strdup(s->request->report->arena, text) : NULL;

  for (char *at = copy; at && *at; at++)
    if ((unsigned char)*at < 0x20 || *at == 0x7f)
      *at = ' ';
  return copy;
}

static bool takes_pen(const struct lists_section *section)
{
  for (int c = 0; c < section->column_count; c++)
    if (!section->columns[c].key)
      return true;
  return false;
}

enum { ROW_BYTES = 700 }; /* of a cell: in half a page's width about 20 lines */

/* Ends the cell at a space and hands back what comes behind it; NULL: nothing does. */
static char *cut(char *cell)
{
  size_t at = ROW_BYTES;

  if (!cell || strlen(cell) <= ROW_BYTES)
    return NULL;
  while (at > ROW_BYTES / 2 && cell[at] != ' ')
    at--;
  if (cell[at] != ' ')
    return NULL; /* one endless word: the table says so */
  cell[at] = '\0';
  return cell + at + 1;
}

/* What a person wrote may be longer than a page is high: it goes on in rows below. */
static void put_row(struct sheet *s, const struct draw_table *table,
                    const struct lists_section *section, const struct lists_row *row)
{
  const char *nothing = s->page->t_ms == INT64_MIN ? "" : "–"; /* a form is for the pen */
  char *rest[LISTS_CELLS_MOST];
  bool goes_on = true;

  for (int c = 0; c < section->column_count; c++)
    rest[c] =
        section->columns[c].key ? printable(s, row->cells[c] ? row->cells[c] : nothing) : NULL;
  while (goes_on) {
    const char *cells[LISTS_CELLS_MOST];

    goes_on = false;
    for (int c = 0; c < section->column_count; c++) {
      cells[c] = rest[c] ? rest[c] : "";
      rest[c] = cut(rest[c]);
      goes_on = goes_on || rest[c];
    }
    draw_table_row(s->draw, table, cells,
                   papers_words(s->request, "%s, %s", lists_kind_name(s->page->kind),
                                row->about ? row->about : section->key),
                   row->marked);
  }
}

static void section(struct sheet *s, const struct lists_section *section)
{
  double scale = draw_scale_ratio(s->draw), wide_mm = draw_area(s->draw).width_mm;
  struct draw_column columns[LISTS_CELLS_MOST];
  struct draw_table table = {.columns = columns,
                             .column_count = section->column_count,
                             .size_pt = s->size_pt,
                             .head_size_pt = s->size_pt * 0.85,
                             .least_height_mm =
                                 takes_pen(section) && s->page->t_ms == INT64_MIN ? 9 * scale : 4,
                             .pad_mm = 0.7};

  draw_skip(s->draw, 1.6 * scale);
  if (section->row_count == 0) {
    if (section->nothing)
      say(s, 1, false, section->nothing);
    return;
  }
  draw_need(s->draw, 16 * scale); /* a head stays with its first row */
  say(s, 1.15, true, section->head);
  for (int c = 0; c < section->column_count; c++)
    columns[c] = (struct draw_column){section->columns[c].head,
                                      wide_mm * section->columns[c].share_ratio, DRAW_LEFT};
  draw_table_head(s->draw, &table);
  for (int r = 0; r < section->row_count; r++)
    put_row(s, &table, section, &section->rows[r]);
}

static void all_of(struct sheet *s)
{
  struct buf of;

  draw_page(s->draw);
  say(s, 1.5, false, papers_words(s->request, "%s: %s", s->page->title, s->page->question));
  say(s, 2.0, true, s->page->act);
  buf_init(&of, 400);
  lists_of(s->page, &of);
  if (s->page->t_ms != INT64_MIN)
    buf_puts(&of, "; void after a change");
  say(s, 1, true, of.text);
  buf_release(&of);
  draw_skip(s->draw, 1);
  for (int i = 0; i < s->page->line_count; i++)
    say(s, 1, false, printable(s, s->page->lines[i].text));
  for (int i = 0; i < s->page->section_count; i++)
    section(s, &s->page->sections[i]);
  draw_skip(s->draw, 2 * draw_scale_ratio(s->draw));
  say(s, 0.9, false, s->page->foot);
}

enum err_code papers_list(const struct papers_request *request, const struct lists_page *page,
                          struct buf *out, struct err *err)
{
  bool one_page = page->kind == LISTS_LEAVE || page->kind == LISTS_RESPONDER;
  size_t count = sizeof sizes_pt / sizeof sizes_pt[0];

  for (size_t i = one_page ? 0 : 1;; i++) {
    struct sheet s = {.request = request, .page = page, .size_pt = sizes_pt[i]};

    s.draw = papers_open(request, page->title, err);
    if (!s.draw)
      return err->code;
    all_of(&s);
    if (!one_page || i + 1 == count || draw_page_count(s.draw) == 1)
      return papers_close(request, s.draw, out, err);
    draw_free(s.draw);
  }
}
