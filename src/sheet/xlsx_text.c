#include "sheet/xlsx_impl.h"

#include "base/utf8.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

bool xlsx_reference(const char **at, int *row, int *column)
{
  const char *c = *at;
  int letters = 0, number = 0;

  c += *c == '$';
  for (; (*c >= 'A' && *c <= 'Z') || (*c >= 'a' && *c <= 'z'); c++) {
    letters = letters * 26 + ((*c >= 'a' ? *c - 'a' : *c - 'A') + 1);
    if (letters > 16384)
      return false;
  }
  c += *c == '$';
  for (; *c >= '0' && *c <= '9'; c++) {
    number = number * 10 + (*c - '0');
    if (number > 1048576)
      return false;
  }
  if (letters == 0 || number == 0)
    return false;
  *row = number - 1;
  *column = letters - 1;
  *at = c;
  return true;
}

/* The code of "_x000D_", or -1. */
static int escaped(const char *at)
{
  int code = 0;

  if (at[0] != '_' || at[1] != 'x')
    return -1;
  for (int i = 2; i < 6; i++) {
    static const char digits[] = "0123456789abcdef0123456789ABCDEF";
    const char *digit = at[i] != '\0' ? strchr(digits, at[i]) : NULL;

    if (!digit)
      return -1;
    code = code * 16 + (int)((digit - digits) % 16);
  }
  return at[6] == '_' ? code : -1;
}

/* Never more bytes than the seven it stood in.  Half a character of UTF-16 says nothing. */
static char *put_code(char *out, int code)
{
  if (code == '\r')
    *out++ = '\n';
  else if (code < 0x80 && (code >= ' ' || code == '\n' || code == '\t'))
    *out++ = (char)code;
  else if (code >= 0x80 && code < 0x800) {
    *out++ = (char)(0xc0 | code >> 6);
    *out++ = (char)(0x80 | (code & 0x3f));
  } else if (code >= 0x800 && !(code >= 0xd800 && code < 0xe000)) {
    *out++ = (char)(0xe0 | code >> 12);
    *out++ = (char)(0x80 | (code >> 6 & 0x3f));
    *out++ = (char)(0x80 | (code & 0x3f));
  }
  return out;
}

void xlsx_unescape(char *text)
{
  char *out = text;

  while (*text) {
    int code = escaped(text);
    bool is_return = code == '\r' || *text == '\r';
    const char *after = text + (code >= 0 ? 7 : 1);

    if (is_return && (*after == '\n' || escaped(after) == '\n')) {
      text += after - text;
      continue;
    }
    if (code >= 0)
      out = put_code(out, code);
    else
      *out++ = *text == '\r' ? '\n' : *text;
    text += after - text;
  }
  *out = '\0';
}

const char *xlsx_keep(struct xlsx *book, struct buf *text, const char *where)
{
  if (text->full) {
    sheet_refuse(book->r, 0, 0,
                 "%s: this cell holds more text than a spreadsheet program can; the "
                 "file is damaged: open it and save it again",
                 where);
    return NULL;
  }

  char *copy = arena_strdup(book->r->arena, text->text);

  if (!copy) {
    sheet_refuse(book->r, 0, 0, "the file holds more than can be kept");
    return NULL;
  }
  xlsx_unescape(copy);
  return copy;
}

void xlsx_runs_init(struct xlsx_runs *runs)
{
  *runs = (struct xlsx_runs){0};
  buf_init(&runs->all, SHEET_MOST_TEXT);
  buf_init(&runs->kept, SHEET_MOST_TEXT);
}

void xlsx_runs_release(struct xlsx_runs *runs)
{
  buf_release(&runs->all);
  buf_release(&runs->kept);
}

void xlsx_runs_clear(struct xlsx_runs *runs)
{
  buf_clear(&runs->all);
  buf_clear(&runs->kept);
  runs->run_struck = runs->struck = runs->run_looks = runs->kept_as_cell = false;
}

void xlsx_runs_next(struct xlsx_runs *runs)
{
  runs->run_struck = runs->run_looks = false;
}

void xlsx_runs_strike(struct xlsx_runs *runs, const char **attributes)
{
  const char *value = xml_attribute(attributes, XML_SPACE_NONE, "val");

  runs->run_struck = !value || xml_is_true(value);
}

void xlsx_runs_add(struct xlsx_runs *runs, const char *bytes, int count)
{
  buf_add(&runs->all, bytes, (size_t)count);
  if (!runs->run_struck)
    buf_add(&runs->kept, bytes, (size_t)count);
  runs->kept_as_cell |= !runs->run_struck && !runs->run_looks;
  runs->struck |= runs->run_struck;
}

bool xlsx_runs_remain(const struct xlsx_runs *runs)
{
  return runs->kept.text[strspn(runs->kept.text, " \t\r\n")] != '\0';
}

struct buf *xlsx_runs_text(struct xlsx_runs *runs)
{
  return runs->struck && xlsx_runs_remain(runs) ? &runs->kept : &runs->all;
}

/* xl/sharedStrings.xml: the texts that cells name by their number. */
struct strings {
  struct xlsx *book;
  struct xlsx_runs runs;
  bool in_item, in_text;
  int phonetic, room; /* how a text is read out is no part of it */
};

enum { SI = 1, T, RPH, RUN, LOOK, STRIKE };
static const struct xml_word words[] = {
    {XML_SPACE_SHEET, "si", SI},    {XML_SPACE_SHEET, "t", T},
    {XML_SPACE_SHEET, "rPh", RPH},  {XML_SPACE_SHEET, "r", RUN},
    {XML_SPACE_SHEET, "rPr", LOOK}, {XML_SPACE_SHEET, "strike", STRIKE},
};

static bool on_start(struct xml *xml, int id, const char **attributes)
{
  struct strings *s = xml->to;

  if (id == SI) {
    xlsx_runs_clear(&s->runs);
    s->in_item = true;
  } else if (id == RUN) {
    xlsx_runs_next(&s->runs);
  } else if (id == LOOK) {
    s->runs.run_looks = true;
  } else if (id == RPH)
    s->phonetic++;
  else if (id == T)
    s->in_text = s->in_item && s->phonetic == 0;
  else if (id == STRIKE)
    xlsx_runs_strike(&s->runs, attributes);
  return true;
}

static bool add_string(struct strings *s)
{
  struct xlsx *book = s->book;

  if (book->string_count == SHEET_MOST_CELLS)
    return sheet_refuse(book->r, 0, 0,
                        "the workbook holds more than %d different texts; save the one "
                        "sheet that is needed as .csv",
                        SHEET_MOST_CELLS);
  if (book->string_count == s->room) {
    s->room = s->room > 0 ? s->room * 2 : 256;
    book->strings = realloc(book->strings, (size_t)s->room * sizeof *book->strings);
    if (!book->strings)
      err_no_memory();
  }

  const char *text = xlsx_keep(book, xlsx_runs_text(&s->runs), "the list of texts");

  bool remains = xlsx_runs_remain(&s->runs);

  book->strings[book->string_count++] = (struct xlsx_text){
      text, s->runs.struck && !remains, s->runs.struck && remains, s->runs.kept_as_cell};
  return text != NULL;
}

static bool on_end(struct xml *xml, int id)
{
  struct strings *s = xml->to;

  if (id == T)
    s->in_text = false;
  else if (id == RPH)
    s->phonetic--;
  else if (id == SI) {
    s->in_item = false;
    return add_string(s);
  }
  return true;
}

static void on_text(struct xml *xml, const char *bytes, int count)
{
  struct strings *s = xml->to;

  if (s->in_text)
    xlsx_runs_add(&s->runs, bytes, count);
}

bool xlsx_read_strings(struct xlsx *book, const char *part)
{
  struct strings strings = {.book = book};
  struct xml xml = {book->r,  part,   words,   sizeof words / sizeof words[0],
                    on_start, on_end, on_text, &strings,
                    NULL,     0,      false};

  xlsx_runs_init(&strings.runs);

  bool good = xml_read(&xml, book->pack);

  xlsx_runs_release(&strings.runs);
  return good;
}
