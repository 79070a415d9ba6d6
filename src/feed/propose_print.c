#include "feed/propose_impl.h"

#include <string.h>

/* The proposal: YAML with what is certain, and a comment for each thing that must be asked. */

/* A text that YAML reads back: quoted as JSON is. */
static void put_text(struct buf *out, struct feed_span text)
{
  buf_putc(out, '"');
  for (size_t i = 0; i < text.size; i++) {
    unsigned char c = (unsigned char)text.at[i];

    if (c == '"' || c == '\\')
      buf_printf(out, "\\%c", c);
    else if (c < 0x20 || c == 0x7f)
      buf_printf(out, "\\u%04x", c);
    else
      buf_putc(out, (char)c);
  }
  buf_putc(out, '"');
}

/* A feeds file holds texts of one line. */
static bool can_be_named(struct feed_span name)
{
  for (size_t i = 0; i < name.size; i++)
    if ((unsigned char)name.at[i] < 0x20 || name.at[i] == 0x7f)
      return false;
  return name.size > 0 && name.size <= 1000;
}

static const char *separator_word(char separator)
{
  return separator == ';'    ? "semicolon"
         : separator == '\t' ? "tab"
         : separator == '|'  ? "bar"
                             : "comma";
}

static void put_separator(const struct guess *g, struct buf *out)
{
  if (!g->other_separator) {
    buf_printf(out, "      separator: %s\n", separator_word(g->separator));
    return;
  }
  buf_printf(out,
             "      # ask: cells end at %s or at %s? Both cut its rows evenly.\n"
             "      # separator: %s\n",
             separator_word(g->separator), separator_word(g->other_separator),
             separator_word(g->separator));
}

static void put_decimal(const struct guess *g, struct buf *out)
{
  const struct guess_marks *m = &g->marks;
  char shown[FEED_SHOWN];

  if (m->sure_comma > 0 && m->any_point == 0)
    buf_puts(out, "      decimal: comma\n");
  else if (m->sure_point > 0 && m->any_comma == 0)
    buf_puts(out, "      decimal: point\n");
  else if (m->any_comma + m->any_point == 0)
    buf_puts(out, "      # ask: which decimal mark does it write? No number in it has one.\n"
                  "      # decimal: point\n");
  else if (m->sure_comma > 0 && m->sure_point > 0)
    buf_puts(
        out,
        "      # ask: which decimal mark is right? Both are used; numbers with the other one will "
        "not be read.\n"
        "      # decimal: comma\n");
  else
    buf_printf(out,
               "      # ask: is '%s' a thousand and more, or a number with three decimals?\n"
               "      # decimal: comma\n",
               feed_shown(m->odd, shown));
}

static void put_time(const struct guess *g, const struct facility *facility, struct buf *out)
{
  bool unnamed = g->time >= 0 && (!can_be_named(g->columns[g->time].name) ||
                                  (g->date >= 0 && !can_be_named(g->columns[g->date].name)));

  if (unnamed) {
    buf_puts(
        out,
        "      # ask: can the export name its column of times? Its header is empty or has control characters.\n"
        "      # time: \"?\"\n");
  } else if (g->time < 0) {
    buf_puts(
        out,
        "      # ask: which column holds the time, and how is it written? None was recognised.\n"
        "      # time: \"?\"\n      # pattern: DD.MM.YYYY hh:mm\n");
  } else {
    buf_puts(out, "      time: ");
    put_text(out, g->columns[g->time].name);
    if (g->date >= 0) {
      buf_puts(out, "\n      date: ");
      put_text(out, g->columns[g->date].name);
    }
    buf_putc(out, '\n');
  }
  if (g->pattern_count == 1)
    buf_printf(out, "      pattern: %s\n", g->patterns[0]);
  if (g->pattern_count > 1) {
    buf_puts(out,
             "      # ask: how is the day written? All its times fit each of these; keep one.\n");
    for (int i = 0; i < g->pattern_count; i++)
      buf_printf(out, "      # pattern: %s\n", g->patterns[i]);
  }
  if (g->all_have_offset)
    buf_puts(out, "      zone: UTC # each time has its own offset\n");
  else
    buf_printf(
        out,
        "      # ask: local time of the site, with summer time? Or UTC, or winter time all year (a zone "
        "such as Etc/GMT-1)?\n"
        "      # zone: %s\n",
        facility->zone ? facility->zone : "Europe/Paris");
}

/* "1.554,5" is no word: it is a number that nobody can read. */
static bool is_word(struct feed_span text)
{
  const char *at = text.at;

  at += text.size > 1 && (*at == '-' || *at == '+');
  return *at < '0' || *at > '9';
}

/* Words where numbers stand. */
static void put_missing(const struct guess *g, struct buf *out)
{
  const char *glue =
      "      # ask: do these words mean \"no value\"? They stand among numbers.\n      # missing: [";

  for (int c = 0; c < g->column_count; c++) {
    const struct guess_column *column = &g->columns[c];

    for (int i = 0; guess_is_numbers(column) && i < column->word_count && i < GUESS_WORDS; i++) {
      bool told = false;

      for (int b = 0; b < c; b++)
        for (int k = 0;
             guess_is_numbers(&g->columns[b]) && k < g->columns[b].word_count && k < GUESS_WORDS;
             k++)
          told = told || (g->columns[b].words[k].size == column->words[i].size &&
                          memcmp(g->columns[b].words[k].at, column->words[i].at,
                                 column->words[i].size) == 0);
      if (told || !is_word(column->words[i]))
        continue;
      buf_puts(out, glue);
      put_text(out, column->words[i]);
      glue = ", ";
    }
  }
  if (glue[0] == ',')
    buf_puts(out, "]\n");
}

/* One column of numbers and one of words: perhaps a row is a value. */
static void put_shape(const struct guess *g, struct buf *out)
{
  int numbers = -1, words = -1, number_count = 0;

  for (int c = 0; c < g->column_count; c++) {
    const struct guess_column *column = &g->columns[c];

    if (c == g->time || c == g->date || column->filled == 0)
      continue;
    if (guess_is_numbers(column)) {
      number_count++;
      numbers = c;
    } else if (words < 0 && column->word_count > 1) {
      words = c;
    }
  }
  if (number_count != 1 || words < 0)
    return;
  buf_puts(out, "      # ask: is a row one value, of the point that a column names? Then:\n"
                "      # shape: long\n      # point: ");
  put_text(out, g->columns[words].name);
  buf_puts(out, "\n      # value: ");
  put_text(out, g->columns[numbers].name);
  buf_putc(out, '\n');
}

/* ---- points ---- */

static const struct {
  enum units_dimension dimension;
  const char *what;
} kinds[] = {{UNITS_FLOW, "flow"},
             {UNITS_VELOCITY, "face velocity"},
             {UNITS_PRESSURE_DIFFERENCE, "pressure"},
             {UNITS_LENGTH, "opening"},
             {UNITS_TEMPERATURE, "temperature"},
             {UNITS_RELATIVE_HUMIDITY, "humidity"}};

/* What a unit in the header leaves to choose from, or NULL where it is no unit. */
static const char *what_of_unit(const char *unit)
{
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    if (units_knows(unit, kinds[i].dimension))
      return kinds[i].what;
  return units_knows(unit, UNITS_SHARE) ? "opening | covered | speed" : NULL;
}

static bool is_part_of(const char *id, struct feed_span name)
{
  size_t length = strlen(id);
  static const char inside[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789";

  for (size_t i = 0; i + length <= name.size; i++) {
    bool begins = i == 0 || !strchr(inside, name.at[i - 1]);
    bool ends = i + length == name.size || !strchr(inside, name.at[i + length]);

    if (begins && ends && memcmp(name.at + i, id, length) == 0)
      return true;
  }
  return false;
}

#define LOOK_AMONG(list, count)                                                                    \
  for (int i = 0; i < facility->count; i++)                                                        \
    if (is_part_of(facility->list[i].part.id, name)) {                                             \
      found = facility->list[i].part.id;                                                           \
      hits++;                                                                                      \
    }

/* The one id of the suite that stands in the header as a word. */
static const char *id_in(const struct facility *facility, struct feed_span name)
{
  const char *found = NULL;
  int hits = 0;

  LOOK_AMONG(stations, station_count)
  LOOK_AMONG(rooms, room_count)
  LOOK_AMONG(doors, door_count)
  LOOK_AMONG(fans, fan_count)
  LOOK_AMONG(mains, main_count)
  LOOK_AMONG(supplies, supply_count)
  LOOK_AMONG(exhausts, exhaust_count)
  return hits == 1 ? found : NULL;
}

static void put_seen(const struct guess_column *column, struct buf *out)
{
  char shown[FEED_SHOWN];

  if (column->filled == 0) {
    buf_puts(out, "empty in this table");
    return;
  }
  if (column->numbers > 0)
    buf_printf(out, "%d numbers, %.6g to %.6g", column->numbers, column->lowest, column->highest);
  for (int i = 0; i < column->word_count && i < GUESS_WORDS; i++)
    buf_printf(out, "%s'%s'", i > 0 || column->numbers > 0 ? ", " : "",
               feed_shown(column->words[i], shown));
  if (column->word_count > GUESS_WORDS)
    buf_puts(out, " and more");
}

/* A few words, or nothing but 0 and 1: a question of yes or no. */
static bool is_words(const struct guess_column *column)
{
  return column->numbers == 0 && column->word_count > 0 && column->word_count <= GUESS_WORDS;
}

static bool is_yes_no(const struct guess_column *column)
{
  return is_words(column) || (column->word_count == 0 && column->numbers > 0 &&
                              column->lowest == 0 && column->highest == 1);
}

static void put_point(const struct guess *g, const struct facility *facility, int c,
                      struct buf *out)
{
  const struct guess_column *column = &g->columns[c];
  const char *id = id_in(facility, column->name);
  struct feed_span in_header = feed_header_unit(column->name);
  char unit[48] = "";
  const char *what = NULL;

  if (in_header.size > 0 && in_header.size < sizeof unit) {
    memcpy(unit, in_header.at, in_header.size);
    what = what_of_unit(unit);
  }
  if (!what)
    what = is_yes_no(column) ? "blocked | presence | alarm | open | running" : "?";
  buf_puts(out, "  # ask: ");
  put_seen(column, out);
  buf_printf(out, "\n  # P%d: {of: %s, what: %s, from: table, at: ", c + 1, id ? id : "?", what);
  put_text(out, column->name);
  if (unit[0] && what_of_unit(unit))
    buf_printf(out, ", unit: \"%s\"", unit);
  else if (!is_yes_no(column))
    buf_puts(out, ", unit: \"?\"");
  if (strncmp(what, "opening |", 9) == 0)
    buf_puts(out, ", full: ?");
  if (is_words(column))
    buf_puts(out, ", yes: [\"?\"], no: [\"?\"]");
  buf_puts(out, "}\n");
}

static void put_every(const struct guess *g, struct buf *out)
{
  if (g->every_s <= 0)
    return;
  /* Old after three rows: common practice, no source. */
  if (g->every_s >= 60 && (long long)g->every_s % 60 == 0)
    buf_printf(out, "    every: %lld min\n    old after: %lld min\n", (long long)g->every_s / 60,
               (long long)g->every_s / 20);
  else
    buf_printf(out, "    every: %.6g s\n    old after: %.6g s\n", g->every_s, 3 * g->every_s);
}

void guess_print(const struct guess *g, const struct facility *facility, struct buf *out)
{
  const char *name = strrchr(g->file, '/');
  char shown[FEED_SHOWN];

  name = name ? name + 1 : g->file;
  buf_puts(out, "inward: 1 feeds\n");
  buf_printf(out, "# Proposed for %s: %ld rows of %d columns below line %d, %s.\n",
             feed_shown((struct feed_span){name, strlen(name)}, shown), g->rows, g->column_count,
             g->header_line, g->encoding);
  buf_puts(
      out,
      "# What is certain is filled in. Answer each line with 'ask', take the mark off the line\n"
      "# below it, and name this file in the suite: files: {feeds: ...}.\n"
      "sources:\n  table:\n");
  put_every(g, out);
  buf_puts(out, "    # ask: how old may a value be and still say something of now?\n"
                "    # old after: 15 min\n    csv:\n");
  put_separator(g, out);
  put_decimal(g, out);
  put_time(g, facility, out);
  put_missing(g, out);
  put_shape(g, out);
  buf_puts(out, "points:\n");
  for (int c = 0; c < g->column_count; c++)
    if (c != g->time && c != g->date && can_be_named(g->columns[c].name))
      put_point(g, facility, c, out);
}
