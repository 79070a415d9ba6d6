/* A page of the board, or a file that stands alone: the same words in the marks of HTML. */
#include "lists/lists_impl.h"

/* For a file beside which nothing lies; the board's own pages name their style sheet. */
static const char own_style[] =
    "body{font:18px/1.35 sans-serif;margin:16px;color:#1d2529;background:#fff}"
    "h1{font-size:22px;font-weight:400;margin:0}h2{font-size:18px;margin:14px 0 4px}"
    ".act{font-size:34px;font-weight:700;border:3px solid #1d2529;padding:8px 12px;margin:10px 0}"
    "table{border-collapse:collapse;width:100%}th,td{text-align:left;vertical-align:top;"
    "padding:3px 10px 3px 0;border-bottom:1px solid #9aa4a9}th{font-weight:400;font-size:15px}"
    "tr.marked td:first-child{font-weight:700;border-left:6px solid #1d2529;padding-left:6px}"
    ".pen{display:none}.of{font-weight:700}";

static void put_tagged(const char *open, const char *text, const char *close, struct buf *out)
{
  buf_puts(out, open);
  buf_put_markup(out, text ? text : "");
  buf_puts(out, close);
}

static void put_row(const struct lists_section *section, const struct lists_row *row,
                    struct buf *out)
{
  buf_puts(out, row->marked ? "<tr class=\"marked\"" : "<tr");
  if (row->about)
    put_tagged(" data-about=\"", row->about, "\"", out);
  if (row->state)
    put_tagged(" data-state=\"", row->state, "\"", out);
  buf_putc(out, '>');
  for (int c = 0; c < section->column_count; c++) {
    put_tagged(section->columns[c].key ? "<td data-head=\"" : "<td class=\"pen\" data-head=\"",
               section->columns[c].head, "\">", out);
    put_tagged("", row->cells[c], "</td>", out);
  }
  if (row->asks)
    put_tagged("<td class=\"do\"><button type=\"button\" data-release=\"", row->about,
               "\">Released</button></td>", out);
  buf_puts(out, "</tr>\n");
}

static void put_section(const struct lists_section *section, struct buf *out)
{
  if (section->row_count == 0) {
    if (section->nothing)
      put_tagged("<p class=\"nothing\">", section->nothing, "</p>\n", out);
    return;
  }
  put_tagged("<section class=\"panel\" data-key=\"", section->key, "\">", out);
  put_tagged("<h2>", section->head, "</h2>\n<table><thead><tr>", out);
  for (int c = 0; c < section->column_count; c++)
    put_tagged(section->columns[c].key ? "<th scope=\"col\">" : "<th scope=\"col\" class=\"pen\">",
               section->columns[c].head, "</th>", out);
  if (section->rows[0].asks)
    buf_puts(out, "<th scope=\"col\" class=\"do\">act</th>");
  buf_puts(out, "</tr></thead><tbody>\n");
  for (int r = 0; r < section->row_count; r++)
    put_row(section, &section->rows[r], out);
  buf_puts(out, "</tbody></table></section>\n");
}

static void put_head(const struct lists_page *page, const struct lists_html *as, struct buf *out)
{
  buf_puts(out, "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                "<meta name=\"color-scheme\" content=\"light\">\n");
  if (as->again_s > 0)
    buf_printf(out, "<meta http-equiv=\"refresh\" content=\"%d\">\n", as->again_s);
  put_tagged("<title>", page->title, " \302\267 Inward</title>\n", out);
  if (as->mark)
    put_tagged("<link rel=\"icon\" href=\"", as->mark, "\" type=\"image/svg+xml\">\n", out);
  if (as->style)
    put_tagged("<link rel=\"stylesheet\" href=\"", as->style, "\">\n", out);
  else
    buf_printf(out, "<style>%s</style>\n", own_style);
  if (as->script) {
    buf_puts(out, "<noscript><meta http-equiv=\"refresh\" content=\"10\"></noscript>\n");
    put_tagged("<script type=\"module\" src=\"", as->script,
               "\" data-follow=\"/follow.js\"></script>\n", out);
  }
}

static void put_top(const struct lists_page *page, const struct lists_html *as, struct buf *out)
{
  const struct facility *f = page->facility;

  buf_printf(out, "</head>\n<body class=\"lists %s\">\n<header class=\"head\">\n",
             lists_kind_name(page->kind));
  if (as->mark)
    put_tagged("<img class=\"mark\" alt=\"\" src=\"", as->mark, "\">\n", out);
  put_tagged("<p class=\"suite\">", f->name ? f->name : "(no name)", "", out);
  if (f->label)
    put_tagged(" <span class=\"label\">", f->label, "</span>", out);
  put_tagged("</p>\n<h1>", page->title, "", out);
  put_tagged(": ", page->question, "</h1>\n", out);
  if (as->links)
    buf_puts(out, as->links);
  buf_puts(out, "</header>\n<main>\n");
}

void lists_html(const struct lists_page *page, const struct lists_html *as, struct buf *out)
{
  struct buf of;

  put_head(page, as, out);
  put_top(page, as, out);
  if (as->script)
    buf_puts(out, "<p id=\"lost\" class=\"lost\" role=\"alert\" hidden></p>\n");
  if (as->forms)
    buf_puts(out, as->forms);
  buf_printf(out, "<div id=\"list\" data-revision=\"%ld\" data-content=\"%s\">\n", page->revision,
             page->content);
  if (as->notice)
    put_tagged("<p class=\"notice\" role=\"status\">", as->notice, "</p>\n", out);
  put_tagged(page->needs_person ? "<p class=\"act person\">" : "<p class=\"act\">", page->act,
             "</p>\n", out);
  buf_init(&of, 400);
  lists_of(page, &of);
  put_tagged("<p class=\"of\">", of.text, "", out);
  buf_puts(out, "<span class=\"printed\"> \302\267 void after a change</span></p>\n");
  buf_release(&of);
  for (int i = 0; i < page->line_count; i++)
    put_tagged("<p>", page->lines[i].text, "</p>\n", out);
  for (int i = 0; i < page->section_count; i++)
    put_section(&page->sections[i], out);
  put_tagged("<p class=\"foot\">", page->foot, "</p>\n</div>\n</main>\n</body>\n</html>\n", out);
}
