/* An answer's text as a page of the board: the same words, in the marks of HTML. */
#include "past/past_impl.h"

#include <string.h>

struct line {
  const char *at;
  size_t indent, length; /* without the indent and the end */
};

static struct line line_of(const char *text)
{
  size_t indent = strspn(text, " ");
  struct line line = {text + indent, indent, strcspn(text + indent, "\n")};

  if (line.length > 2 && memcmp(line.at, "- ", 2) == 0) { /* the list has marks of its own */
    line.at += 2;
    line.length -= 2;
  }
  return line;
}

static const char *next_line(const struct line *line)
{
  return line->at[line->length] ? line->at + line->length + 1 : line->at + line->length;
}

static void put_tagged(const char *open, const struct line *line, const char *close,
                       struct buf *out)
{
  buf_puts(out, open);
  buf_add_markup(out, line->at, line->length);
  buf_puts(out, close);
}

/* Lines that stand in become a list; one that stands in further goes on with the one above it. */
static const char *put_list(const char *at, struct buf *out)
{
  bool open = false;

  buf_puts(out, "<ul>");
  while (*at == ' ') {
    struct line line = line_of(at);

    if (line.indent < 4) {
      put_tagged(open ? "</li>\n<li>" : "\n<li>", &line, "", out);
      open = true;
    } else {
      put_tagged("<br>", &line, "", out);
    }
    at = next_line(&line);
  }
  buf_puts(out, open ? "</li>\n</ul>\n" : "</ul>\n");
  return at;
}

/* One block between blank lines: a heading with a list, a list, or a sentence. */
static const char *put_block(const char *at, struct buf *out)
{
  buf_puts(out, "<section class=\"panel\">\n");
  while (*at && *at != '\n') {
    struct line line = line_of(at);

    if (*at == ' ') {
      at = put_list(at, out);
      continue;
    }
    at = next_line(&line);
    put_tagged(*at == ' ' ? "<h2>" : "<p>", &line, *at == ' ' ? "</h2>\n" : "</p>\n", out);
  }
  buf_puts(out, "</section>\n");
  return at;
}

static void put_suite(const struct past_page *page, const struct line *head, struct buf *out)
{
  if (!page->suite) {
    put_tagged("<p class=\"suite\">", head, "</p>\n", out);
    return;
  }
  buf_puts(out, "<p class=\"suite\">");
  buf_put_markup(out, page->suite);
  if (page->label) {
    buf_puts(out, " <span class=\"label\">");
    buf_put_markup(out, page->label);
    buf_puts(out, "</span>");
  }
  if (page->clock)
    buf_printf(out, " <span class=\"label\">%s</span>", page->clock);
  buf_puts(out, "</p>\n");
}

static void put_head(const struct past_page *page, const struct line *head, struct buf *out)
{
  buf_puts(out, "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                "<meta name=\"color-scheme\" content=\"light\">\n");
  if (page->again_s > 0)
    buf_printf(out, "<meta http-equiv=\"refresh\" content=\"%d\">\n", page->again_s);
  buf_printf(out,
             "<title>%s \302\267 Inward</title>\n"
             "<link rel=\"icon\" href=\"%s\" type=\"image/svg+xml\">\n"
             "<link rel=\"stylesheet\" href=\"%s\">\n</head>\n<body class=\"record why\">\n"
             "<header class=\"head\">\n",
             page->title, page->mark, page->style);
  buf_printf(out, "<img class=\"mark\" alt=\"\" src=\"%s\">\n", page->mark);
  put_suite(page, head, out);
  buf_printf(out, "<h1>%s</h1>\n%s</header>\n<main>\n", page->title,
             page->links ? page->links : "");
  if (!page->path)
    return;
  buf_printf(out,
             "<form class=\"row\" action=\"%s\"><label>%s "
             "<input name=\"%s\" size=\"26\" value=\"",
             page->path, page->field, page->key);
  buf_put_markup(out, page->asked);
  buf_puts(out, "\"></label><button>Show</button></form>\n");
}

/* Columns stand apart by two blanks or more; sentences do not. */
static bool has_columns(const char *at, size_t length)
{
  bool begun = false; /* the indent of a line is over */

  for (size_t i = 0; i + 2 < length; i++) {
    begun = at[i] != '\n' && (begun || at[i] != ' ');
    if (begun && at[i] != ' ' && at[i + 1] == ' ' && at[i + 2] == ' ')
      return true;
  }
  return false;
}

/* As it stands, blank lines between the blocks: a table keeps its columns. */
static const char *put_plain(const char *at, struct buf *out)
{
  const char *end = strstr(at, "\n\n");
  size_t length = end ? (size_t)(end - at) : strlen(at);

  while (length > 0 && at[length - 1] == '\n')
    length--;
  buf_printf(out, "<pre class=\"panel%s\" tabindex=\"0\">", has_columns(at, length) ? "" : " text");
  buf_add_markup(out, at, length);
  buf_puts(out, "</pre>\n");
  return at + length;
}

void past_page_html(const struct past_page *page, struct buf *out)
{
  struct line head = line_of(page->text);
  const char *at = next_line(&head);

  put_head(page, &head, out);
  while (*at == '\n')
    at++;
  if (*at)
    at = page->path ? put_block(at, out) : put_plain(at, out);
  if (page->drawing)
    buf_puts(out, page->drawing);
  while (*at)
    at = *at == '\n' ? at + 1 : page->path ? put_block(at, out) : put_plain(at, out);
  buf_puts(out, "</main>\n</body>\n</html>\n");
}
