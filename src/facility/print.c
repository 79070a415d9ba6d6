#include "facility/reader_impl.h"

#include <string.h>

/*
 * A tree as YAML again: the sections and keys in the order of the schema, each
 * value in the style it was written in, with the comment lines above it and the
 * comment behind it, so that a merged suite reads as if written by hand.
 */
enum { MOST_COLUMN = 100, MOST_TEXTS = 16 };

struct printer {
  const struct facility_text *texts; /* the trees' sources */
  int text_count;
  struct buf *out;
  int column;
};

static const struct facility_text *text_of(const struct printer *p, const struct place *place)
{
  for (int i = 0; i < p->text_count; i++)
    if (p->texts[i].file == place->file)
      return &p->texts[i];
  return NULL;
}

static void put(struct printer *p, const char *bytes, size_t count)
{
  buf_add(p->out, bytes, count);
  for (size_t i = 0; i < count; i++)
    p->column = bytes[i] == '\n' ? 0 : p->column + (((unsigned char)bytes[i] & 0xC0) != 0x80);
}

static void put_text(struct printer *p, const char *text)
{
  put(p, text, strlen(text));
}

static void indent(struct printer *p, int by)
{
  for (int i = 0; i < by; i++)
    put(p, " ", 1);
}

/* ---- comments ---- */

static size_t line_begin(const struct facility_text *text, size_t at)
{
  while (at > 0 && text->bytes[at - 1] != '\n')
    at--;
  return at;
}

static size_t skip_blanks(const struct facility_text *text, size_t at)
{
  while (at < text->size && (text->bytes[at] == ' ' || text->bytes[at] == '\t'))
    at++;
  return at;
}

static bool is_comment_line(const struct facility_text *text, size_t begin)
{
  size_t at = skip_blanks(text, begin);

  return at < text->size && text->bytes[at] == '#';
}

static size_t line_length(const struct facility_text *text, size_t at)
{
  size_t end = at;

  while (end < text->size && text->bytes[end] != '\n' && text->bytes[end] != '\r')
    end++;
  return end - at;
}

/* The comment lines right above a key that begins its line, and a blank line before them. */
static void put_comments_above(struct printer *p, const struct tree *node, int by)
{
  const struct facility_text *text = text_of(p, &node->key_place);
  size_t here, first;

  if (!text || node->key_begin >= text->size)
    return;
  here = first = line_begin(text, node->key_begin);
  if (skip_blanks(text, here) != node->key_begin)
    return;
  while (first > 0 && is_comment_line(text, line_begin(text, first - 1)))
    first = line_begin(text, first - 1);
  if (first > 1 && p->out->used > 0 && text->bytes[first - 1] == '\n' &&
      skip_blanks(text, line_begin(text, first - 1)) == first - 1)
    put_text(p, "\n");
  for (size_t at = first; at < here;) {
    size_t begin = skip_blanks(text, at), length = line_length(text, begin);

    indent(p, by);
    put(p, text->bytes + begin, length);
    put_text(p, "\n");
    at = begin + length;
    while (at < here && text->bytes[at] != '\n')
      at++;
    at++;
  }
}

/* The comment on the line where a value, or only its key, ends. */
static void put_comment_behind(struct printer *p, const struct place *place, size_t end)
{
  const struct facility_text *text = text_of(p, place);
  size_t at = end;

  if (!text || end == 0)
    return;
  while (at < text->size && strchr(" \t,:", text->bytes[at]))
    at++;
  if (at == end || at >= text->size || text->bytes[at] != '#')
    return;
  put_text(p, "   ");
  put(p, text->bytes + at, line_length(text, at));
}

/* The comment behind a key whose value stands on a later line: it goes above them. */
static void put_comment_between(struct printer *p, const struct tree *node, int by)
{
  const struct facility_text *text = text_of(p, &node->key_place);
  size_t at = node->key_begin + strlen(node->key);

  if (!text || node->place.file != node->key_place.file || node->place.line == node->key_place.line)
    return;
  while (at < text->size && strchr(" \t:", text->bytes[at]))
    at++;
  if (at >= text->size || text->bytes[at] != '#')
    return;
  indent(p, by);
  put(p, text->bytes + at, line_length(text, at));
  put_text(p, "\n");
}

/* ---- values ---- */

/* Could YAML read something else than this text, or something more, into it? */
static bool needs_quotes(const char *text, bool in_flow)
{
  size_t length = strlen(text);

  if (length == 0 || text[length - 1] == ' ' || text[length - 1] == ':')
    return true;
  if (strchr("!&*-?|>@`\"'%#{}[],: ", text[0]) && !(text[0] == '-' && length > 1 && text[1] != ' '))
    return true;
  for (const char *c = text; *c != '\0'; c++)
    if ((unsigned char)*c < 0x20 || *c == 0x7F || (*c == ':' && c[1] == ' ') ||
        (*c == '#' && c > text && c[-1] == ' ') || (in_flow && strchr(",[]{}", *c)))
      return true;
  return false;
}

static void put_scalar(struct printer *p, const char *text, bool in_flow)
{
  if (!needs_quotes(text, in_flow)) {
    put_text(p, text);
    return;
  }
  put_text(p, "\"");
  for (const char *c = text; *c != '\0'; c++) {
    if (*c == '\n' || *c == '\t') {
      put_text(p, *c == '\n' ? "\\n" : "\\t");
      continue;
    }
    if (*c == '"' || *c == '\\')
      put_text(p, "\\");
    put(p, c, 1);
  }
  put_text(p, "\"");
}

/* A value with nothing in it prints as nothing: "J1:" and "J1: {}" both stay what they are. */
static void put_flow(struct printer *p, const struct tree *tree, int by);

static void put_flow_child(struct printer *p, const struct tree *child, int by)
{
  if (child->key) {
    put_scalar(p, child->key, true);
    put_text(p, child->empty ? ":" : ": ");
  }
  put_flow(p, child, by);
}

/* Characters it takes on one line. */
static int flow_width(const struct tree *child)
{
  struct buf out;
  struct printer dry = {.out = &out};
  int width;

  buf_init(&out, 1 << 16);
  put_flow_child(&dry, child, 0);
  width = dry.column;
  buf_release(&out);
  return width;
}

static void put_flow(struct printer *p, const struct tree *tree, int by)
{
  if (tree->kind == TREE_TEXT) {
    if (!tree->empty)
      put_scalar(p, tree->text, true);
    return;
  }
  put_text(p, tree->kind == TREE_MAP ? "{" : "[");
  for (const struct tree *child = tree->first; child; child = child->next) {
    put_flow_child(p, child, by);
    if (!child->next)
      break;
    put_text(p, ",");
    if (p->out->limit > 1 << 16 && p->column + 1 + flow_width(child->next) > MOST_COLUMN - 3) {
      put_text(p, "\n");
      indent(p, by);
    } else {
      put_text(p, " ");
    }
  }
  put_text(p, tree->kind == TREE_MAP ? "}" : "]");
}

static void put_lines(struct printer *p, const char *text, int by)
{
  put_text(p, "|\n");
  for (const char *at = text; *at != '\0';) {
    size_t length = strcspn(at, "\n");

    if (length > 0)
      indent(p, by);
    put(p, at, length);
    at += length;
    at += *at == '\n';
    put_text(p, *at != '\0' ? "\n" : "");
  }
}

/* A text that "|" gives back: one line break at its end, no blank at the start of its first line. */
static bool fits_lines(const struct tree *tree)
{
  size_t length = strlen(tree->text);

  return tree->literal && length > 1 && tree->text[length - 1] == '\n' &&
         tree->text[length - 2] != '\n' && tree->text[0] != ' ' && tree->text[0] != '\n' &&
         !strchr(tree->text, '\t') && !strstr(tree->text, " \n");
}

static void put_block(struct printer *p, enum schema_struct_id of, const struct tree *map, int by);

static bool is_block(const struct tree *tree)
{
  return tree->kind != TREE_TEXT && !tree->flow && tree->first;
}

static void put_items(struct printer *p, const struct tree *list, int by)
{
  for (const struct tree *item = list->first; item; item = item->next) {
    indent(p, by);
    put_text(p, "- ");
    put_flow(p, item, by + 4);
    put_comment_behind(p, &item->place, item->end);
    put_text(p, "\n");
  }
}

static void put_entry(struct printer *p, const struct tree *node, enum schema_struct_id of, int by)
{
  put_comments_above(p, node, by);
  if (!is_block(node) && !node->literal)
    put_comment_between(p, node, by);
  indent(p, by);
  put_scalar(p, node->key, false);
  put_text(p, ":");
  if (is_block(node)) {
    put_comment_behind(p, &node->key_place, node->key_begin + strlen(node->key));
    put_text(p, "\n");
    if (node->kind == TREE_MAP)
      put_block(p, of, node, by + 2);
    else
      put_items(p, node, by + 2);
    return;
  }
  if (node->kind == TREE_TEXT && fits_lines(node)) {
    put_text(p, " ");
    put_lines(p, node->text, by + 2);
    put_text(p, "\n");
    return;
  }
  if (!node->empty)
    put_text(p, " ");
  if (node->kind == TREE_TEXT && !node->empty)
    put_scalar(p, node->text, false);
  else
    put_flow(p, node, by + 4);
  put_comment_behind(p, &node->place,
                     node->empty ? node->key_begin + strlen(node->key) : node->end);
  put_text(p, "\n");
}

/* ---- order ---- */

/* The place of a key among a struct's, what it includes counted where it is included. */
static bool count_to(enum schema_struct_id of, const char *key, int *rank)
{
  for (int row = schema_struct_at(of)->first; schema_more(of, row); row++) {
    const struct schema_key *k = schema_key_at(row);

    if (k->kind == SCHEMA_INCLUDE) {
      if (count_to(k->nested, key, rank))
        return true;
      continue;
    }
    if (strcmp(k->key, key) == 0)
      return true;
    ++*rank;
  }
  return false;
}

static int rank_of(enum schema_struct_id of, const struct tree *node)
{
  int rank = 0;

  return count_to(of, node->key, &rank) ? rank : KEY_COUNT;
}

/* What the values of a map's keys are read as; `of` itself where the schema does not say. */
static enum schema_struct_id below(enum schema_struct_id of, const struct tree *node)
{
  int row = of == STRUCT_COUNT ? -1 : schema_find(of, node->key);

  return row >= 0 && (schema_key_at(row)->kind == SCHEMA_STRUCT ||
                      schema_key_at(row)->kind == SCHEMA_WORD_OR_STRUCT)
             ? schema_key_at(row)->nested
             : STRUCT_COUNT;
}

/* Parts by id: each value is a struct, and the ids keep their order. */
static enum schema_struct_id parts_of(enum schema_struct_id of, const struct tree *node)
{
  int row = of == STRUCT_COUNT ? -1 : schema_find(of, node->key);
  bool parts = row >= 0 && (schema_key_at(row)->kind == SCHEMA_PARTS ||
                            schema_key_at(row)->kind == SCHEMA_PARTS_BY_REF);

  return parts ? schema_key_at(row)->nested : STRUCT_COUNT;
}

static void put_parts(struct printer *p, enum schema_struct_id of, const struct tree *node, int by)
{
  put_comments_above(p, node, by);
  indent(p, by);
  put_text(p, node->key);
  put_text(p, ":");
  put_comment_behind(p, &node->key_place, node->key_begin + strlen(node->key));
  put_text(p, "\n");
  for (const struct tree *part = node->first; part; part = part->next)
    put_entry(p, part, of, by + 2);
}

static void put_block(struct printer *p, enum schema_struct_id of, const struct tree *map, int by)
{
  int done = -1;

  for (int i = 0; i < map->count; i++) { /* by rank, those of one rank in their order */
    const struct tree *next = NULL;
    int best = KEY_COUNT + 1;

    if (of == STRUCT_COUNT)
      break;
    for (const struct tree *node = map->first; node; node = node->next) {
      int rank = rank_of(of, node);

      if (rank > done && rank < best) {
        best = rank;
        next = node;
      }
    }
    if (!next)
      break;
    done = best;
    if (best == KEY_COUNT)
      break;
    if (parts_of(of, next) != STRUCT_COUNT && is_block(next))
      put_parts(p, parts_of(of, next), next, by);
    else
      put_entry(p, next, below(of, next), by);
  }
  for (const struct tree *node = map->first; node; node = node->next)
    if (of == STRUCT_COUNT || rank_of(of, node) == KEY_COUNT)
      put_entry(p, node, STRUCT_COUNT, by);
}

void tree_print_suite(const struct tree *tree, const struct facility_text *texts, int text_count,
                      struct buf *out)
{
  struct printer p = {.texts = texts, .text_count = text_count, .out = out};

  put_block(&p, STRUCT_suite, tree, 0);
}
