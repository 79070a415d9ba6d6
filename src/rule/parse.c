#include "rule/rule_impl.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/*
 * expression = both { "or" both };  both = one { "and" one }
 * one = "not" one | "(" expression ")" | atom
 */

int rule_fail(struct rule_parser *p, const char *at, const char *fmt, ...)
{
  va_list args;

  if (p->err && p->err->code == ERR_OK) {
    va_start(args, fmt);
    char *text = arena_vprintf(p->arena, fmt, args);

    va_end(args);
    err_write(p->err, ERR_INPUT, "%s", text ? text : "it cannot be read");
    p->err->col = (int)(at - p->text) + 1;
  }
  return -1;
}

int rule_push(struct rule_parser *p, struct rule_node node)
{
  if (p->count == RULE_NODES_MAX)
    return rule_fail(p, p->at, "longer than %d parts; make two rules of it", RULE_NODES_MAX);
  p->nodes[p->count] = node;
  return p->count++;
}

void rule_skip_blanks(struct rule_parser *p)
{
  while (*p->at == ' ' || *p->at == '\t' || *p->at == '\n')
    p->at++;
}

static bool is_word(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' ||
         c == '-';
}

bool rule_take_word(struct rule_parser *p, const char *word)
{
  size_t length = strlen(word);

  rule_skip_blanks(p);
  if (strncmp(p->at, word, length) != 0 || is_word(p->at[length]))
    return false;
  p->at += length;
  return true;
}

static int expression(struct rule_parser *p);

static int one(struct rule_parser *p)
{
  rule_skip_blanks(p);

  const char *from = p->at;
  int inner;

  if (p->depth >= RULE_DEPTH_MAX)
    return rule_fail(p, from, "nested more than %d deep; make two rules of it", RULE_DEPTH_MAX);
  if (*p->at == '(') {
    p->at++;
    p->depth++;
    inner = expression(p);
    p->depth--;
    if (inner < 0)
      return inner;
    rule_skip_blanks(p);
    if (*p->at != ')')
      return rule_fail(p, p->at, "a bracket opened here is not closed: ')' is missing");
    p->at++;
    return inner;
  }
  if (!rule_take_word(p, "not"))
    return rule_atom(p);
  p->depth++;
  inner = one(p);
  p->depth--;
  return inner < 0 ? inner
                   : rule_push(p, (struct rule_node){.kind = RULE_NOT,
                                                     .left = inner,
                                                     .from = (int)(from - p->text),
                                                     .to = (int)(p->at - p->text)});
}

/* One or more, joined by a word. */
static int joined(struct rule_parser *p, const char *word, enum rule_node_kind kind,
                  int (*part)(struct rule_parser *))
{
  rule_skip_blanks(p);

  const char *from = p->at;
  int left = part(p);

  while (left >= 0 && rule_take_word(p, word)) {
    int right = part(p);

    if (right < 0)
      return right;
    left = rule_push(p, (struct rule_node){.kind = kind,
                                           .left = left,
                                           .right = right,
                                           .from = (int)(from - p->text),
                                           .to = (int)(p->at - p->text)});
  }
  return left;
}

static int both(struct rule_parser *p)
{
  return joined(p, "and", RULE_AND, one);
}

static int expression(struct rule_parser *p)
{
  return joined(p, "or", RULE_OR, both);
}

const struct rule_expression *rule_parse_into(const char *text, struct rule_slots *slots,
                                              const struct rule_known *known, struct arena *arena,
                                              struct err *err)
{
  struct rule_parser p = {
      .text = text, .at = text, .arena = arena, .slots = slots, .known = known, .err = err};
  struct rule_expression *out;
  struct rule_node *nodes;

  if (strlen(text) > RULE_TEXT_MAX) {
    rule_fail(&p, text, "longer than %d characters; make two rules of it", RULE_TEXT_MAX);
    return NULL;
  }
  if (expression(&p) < 0)
    return NULL;
  rule_skip_blanks(&p);
  if (*p.at) {
    rule_fail(&p, p.at, "'%.20s' is one too many; parts are joined by and, or", p.at);
    return NULL;
  }
  out = ARENA_NEW(arena, struct rule_expression);
  nodes = ARENA_ARRAY(arena, struct rule_node, (size_t)p.count);
  BUG_IF(!out || !nodes);
  memcpy(nodes, p.nodes, (size_t)p.count * sizeof *nodes);
  *out =
      (struct rule_expression){.text = arena_strdup(arena, text), .count = p.count, .nodes = nodes};
  return out;
}

const struct rule_expression *rule_parse(const char *text, struct arena *arena, struct err *err)
{
  struct rule_slots *slots = ARENA_NEW(arena, struct rule_slots);

  BUG_IF(!slots);
  const struct rule_expression *parsed = rule_parse_into(text, slots, NULL, arena, err);
  struct rule_expression *out = parsed ? ARENA_NEW(arena, struct rule_expression) : NULL;

  if (!out)
    return NULL;
  *out = *parsed;
  out->slots = slots->list;
  return out;
}

/* ---- printed again, with every bracket ---- */

static void print_node(const struct rule_expression *e, int at, struct buf *out)
{
  const struct rule_node *n = &e->nodes[at];

  switch (n->kind) {
  case RULE_NOT:
    buf_puts(out, "not (");
    print_node(e, n->left, out);
    buf_putc(out, ')');
    break;
  case RULE_AND:
  case RULE_OR:
    buf_putc(out, '(');
    print_node(e, n->left, out);
    buf_puts(out, n->kind == RULE_AND ? ") and (" : ") or (");
    print_node(e, n->right, out);
    buf_putc(out, ')');
    break;
  case RULE_IS:
  case RULE_COMPARE:
  default:
    buf_add(out, e->text + n->from, (size_t)(n->to - n->from));
  }
}

void rule_print(const struct rule_expression *expression, struct buf *out)
{
  print_node(expression, expression->count - 1, out);
}
