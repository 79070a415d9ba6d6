#include "base/spelling.h"
#include "rule/rule_impl.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* Names, their arguments, and what they are compared with. */

static const struct rule_name_row rows[RULE_NAME_COUNT] = {
#define NAME(id, words_, type_, argument_, dimension_, possible_, meaning_)                        \
  [RULE_##id] = {.words = words_,                                                                  \
                 .type = RULE_##type_,                                                             \
                 .argument = RULE_##argument_,                                                     \
                 .dimension = UNITS_##dimension_,                                                  \
                 .possible = possible_,                                                            \
                 .meaning = meaning_},
#include "rule/names.def"
#undef NAME
};

const struct rule_name_row *rule_name_row(enum rule_name name)
{
  return &rows[name];
}

/* ---- names ---- */

/* The longest name that begins here; -1: none. */
static int longest_name(struct rule_parser *p)
{
  size_t best = 0;
  int found = -1;

  for (int i = 0; i < RULE_NAME_COUNT; i++) {
    const char *from = p->at;

    if (strlen(rows[i].words) > best && rule_take_word(p, rows[i].words)) {
      best = strlen(rows[i].words);
      found = i;
    }
    p->at = from;
  }
  p->at += best;
  return found;
}

/* Up to three words from here, for "did you mean". */
static const char *some_words(const struct rule_parser *p, int words)
{
  size_t length = 0;

  for (int i = 0; i < words; i++) {
    length += strspn(p->at + length, " ");
    length += strcspn(p->at + length, " ()\"<>=!");
  }
  return arena_printf(p->arena, "%.*s", (int)(length < 40 ? length : 40), p->at);
}

static int no_name(struct rule_parser *p)
{
  enum { FAR = 3 };
  const char *nearest = NULL;
  int best = FAR;

  if (!*p->at)
    return rule_fail(p, p->at, "something is missing here: a name such as person has \"hf\"");
  for (int words = 1; words <= 4; words++)
    for (int i = 0; i < RULE_NAME_COUNT; i++) {
      const char *text = some_words(p, words);
      int far = spelling_distance(text, strlen(text), rows[i].words, best - 1);

      if (far < best && far < (int)strlen(text)) {
        best = far;
        nearest = rows[i].words;
      }
    }
  if (nearest)
    return rule_fail(p, p->at, "'%.40s' is no name here; did you mean '%s'?", some_words(p, 2),
                     nearest);
  return rule_fail(p, p->at, "'%.40s' is no name here; docs/rules-file.md lists them",
                   some_words(p, 1));
}

/* ---- texts in quotes ---- */

/* NULL with err. */
static const char *quoted(struct rule_parser *p, const char *what)
{
  rule_skip_blanks(p);

  const char *from = p->at, *end;

  if (*from != '"') {
    rule_fail(p, from, "%s wants a text in \"quotes\" behind it", what);
    return NULL;
  }
  end = strchr(from + 1, '"');
  if (!end || end == from + 1) {
    rule_fail(p, from, end ? "nothing stands between these quotes" : "this quote is not closed");
    return NULL;
  }
  p->at = end + 1;

  const char *text = arena_printf(p->arena, "%.*s", (int)(end - from - 1), from + 1);

  BUG_IF(!text);
  return text;
}

static bool is_possible(const char *possible, const char *text)
{
  size_t length = strlen(text);

  for (const char *at = possible; at; at = strchr(at, '|')) {
    at += *at == '|';
    if (strncmp(at, text, length) == 0 && (at[length] == '|' || at[length] == '\0'))
      return true;
  }
  return false;
}

static const char *argument_words(enum rule_argument kind)
{
  static const char *const words[] = {"nothing", "text", "endorsement", "process",
                                      "station", "room", "substance",   "vessel material",
                                      "hazard"};

  return words[kind];
}

bool rule_is_ghs(const char *text)
{
  const char *at = text + (strncasecmp(text, "EU", 2) == 0 ? 2 : 0);

  return (*at == 'H' || *at == 'h') && strspn(at + 1, "0123456789") == 3 &&
         strspn(at + 4, "ABDFabdfiI") == strlen(at + 4);
}

static bool fits(struct rule_parser *p, const struct rule_name_row *row, const char *text,
                 const char *at)
{
  if (row->possible && !is_possible(row->possible, text)) {
    rule_fail(p, at, "'%.40s' is never so; '%s' is one of %s", text, row->words, row->possible);
    return false;
  }
  if (row->argument == RULE_GHS && !rule_is_ghs(text)) {
    rule_fail(p, at, "'%.40s' is no code of a hazard; GHS writes H300, H360FD or EUH014", text);
    return false;
  }
  if (!p->known || !p->known->fits || row->argument == RULE_NONE || row->argument == RULE_FREE ||
      row->argument == RULE_GHS || p->known->fits(p->known->arg, row->argument, text))
    return true;
  rule_fail(p, at, "the suite knows no %s '%.40s'; correct it, or add it to its file",
            argument_words(row->argument), text);
  return false;
}

/* ---- slots ---- */

static bool same(const char *a, const char *b)
{
  return a == b || (a && b && strcmp(a, b) == 0);
}

static int slot_of(struct rule_parser *p, enum rule_name name, const char *argument)
{
  struct rule_slots *slots = p->slots;

  for (int i = 0; i < slots->count; i++)
    if (slots->list[i].name == name && same(slots->list[i].argument, argument))
      return i;
  if (slots->count == RULE_SLOTS_MAX)
    return rule_fail(p, p->at, "the rules speak of more than %d things", RULE_SLOTS_MAX);
  slots->list[slots->count] = (struct rule_slot){.name = name, .argument = argument};
  return slots->count++;
}

/* ---- what is compared ---- */

static bool take_op(struct rule_parser *p, enum rule_op *out)
{
  static const struct {
    const char *text;
    enum rule_op op;
  } ops[] = {{"<=", RULE_LE}, {">=", RULE_GE}, {"!=", RULE_NE},
             {"<", RULE_LT},  {">", RULE_GT},  {"=", RULE_EQ}};

  rule_skip_blanks(p);
  for (size_t i = 0; i < sizeof ops / sizeof *ops; i++)
    if (strncmp(p->at, ops[i].text, strlen(ops[i].text)) == 0) {
      p->at += strlen(ops[i].text);
      *out = ops[i].op;
      return true;
    }
  return false;
}

static bool take_count(struct rule_parser *p, struct rule_value *out)
{
  char *end;
  long number = strtol(p->at, &end, 10);

  if (*p->at < '0' || *p->at > '9' || end - p->at > 4 || *end == '.' || *end == ':') {
    rule_fail(p, p->at, "a whole number must stand here");
    return false;
  }
  p->at = end;
  *out = (struct rule_value){.known = true, .number_si = (double)number};
  return true;
}

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

static bool take_clock(struct rule_parser *p, struct rule_value *out)
{
  const char *t = p->at;

  if (!is_digit(t[0]) || !is_digit(t[1]) || t[2] != ':' || !is_digit(t[3]) || !is_digit(t[4]) ||
      is_digit(t[5])) {
    rule_fail(p, t, "a time of day must stand here, such as 18:00");
    return false;
  }
  int hour = 10 * (t[0] - '0') + t[1] - '0', minute = 10 * (t[3] - '0') + t[4] - '0';

  if (hour > 24 || minute > 59 || 60 * hour + minute > 24 * 60) {
    rule_fail(p, t, "'%.5s' is no time of day", t);
    return false;
  }
  p->at += 5;
  *out = (struct rule_value){.known = true, .number_si = 60.0 * hour + minute};
  return true;
}

/* A figure and its unit, up to a bracket, a word that joins, or the end. */
static bool take_quantity(struct rule_parser *p, enum units_dimension dimension,
                          struct rule_value *out)
{
  size_t length = strspn(p->at, "+-.0123456789");
  struct units_quantity q;
  struct err err = {0};

  if (length == 0) {
    rule_fail(p, p->at, "a figure with its unit must stand here, a %s", units_words(dimension));
    return false;
  }
  length += strspn(p->at + length, " ");
  length += strcspn(p->at + length, " )(");

  const char *text = arena_printf(p->arena, "%.*s", (int)length, p->at);

  if (units_parse(text, dimension, UNITS_NOTHING, &q, &err) != ERR_OK) {
    rule_fail(p, p->at + (err.col > 0 ? err.col - 1 : 0), "%s", err.text);
    return false;
  }
  p->at += length;
  *out = (struct rule_value){.known = true, .number_si = q.si};
  return true;
}

static bool take_constant(struct rule_parser *p, const struct rule_name_row *row, enum rule_op op,
                          struct rule_value *out)
{
  rule_skip_blanks(p);

  const char *at = p->at;

  switch (row->type) {
  case RULE_TEXT:
    if (op != RULE_EQ && op != RULE_NE) {
      rule_fail(p, at, "'%s' is a word: it is = or != another, not more or less", row->words);
      return false;
    }
    out->text = quoted(p, "the comparison");
    out->known = true;
    return out->text && fits(p, row, out->text, at + 1);
  case RULE_COUNT:
    return take_count(p, out);
  case RULE_CLOCK:
    return take_clock(p, out);
  case RULE_QUANTITY:
    return take_quantity(p, row->dimension, out);
  case RULE_TRUTH:
  default:
    rule_fail(p, at, "'%s' is so or not; nothing is compared with it", row->words);
    return false;
  }
}

/* Does a text belong right behind the name (not behind a comparison)? */
static bool wants_argument(const struct rule_name_row *row)
{
  return row->argument != RULE_NONE && row->type != RULE_TEXT;
}

int rule_atom(struct rule_parser *p)
{
  rule_skip_blanks(p);

  struct rule_node node = {.kind = RULE_IS, .from = (int)(p->at - p->text)};
  const char *argument = NULL;
  int name = longest_name(p);

  if (name < 0)
    return no_name(p);
  const struct rule_name_row *row = &rows[name];

  if (wants_argument(row)) {
    argument = quoted(p, row->words);
    if (!argument || !fits(p, row, argument, p->at - strlen(argument) - 1))
      return -1;
  }
  node.slot = slot_of(p, (enum rule_name)name, argument);
  if (node.slot < 0)
    return -1;

  const char *before = p->at;

  if (take_op(p, &node.op)) {
    node.kind = RULE_COMPARE;
    if (!take_constant(p, row, node.op, &node.constant))
      return -1;
  } else if (row->type != RULE_TRUTH) {
    return rule_fail(p, p->at, "'%s' is no answer by itself; compare it with something",
                     row->words);
  } else {
    p->at = before;
  }
  node.to = (int)(p->at - p->text);
  return rule_push(p, node);
}
