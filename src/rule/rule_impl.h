#ifndef RULE_RULE_IMPL_H
#define RULE_RULE_IMPL_H

#include "rule/rule.h"

enum { RULE_NODES_MAX = 64, RULE_DEPTH_MAX = 24, RULE_SLOTS_MAX = 256, RULE_TEXT_MAX = 1000 };

enum rule_op { RULE_EQ, RULE_NE, RULE_LT, RULE_LE, RULE_GT, RULE_GE };

enum rule_node_kind { RULE_IS, RULE_COMPARE, RULE_NOT, RULE_AND, RULE_OR };

/* Children stand before their parent; the last node is the whole. */
struct rule_node {
  enum rule_node_kind kind;
  int left, right;
  int slot; /* IS, COMPARE */
  enum rule_op op;
  struct rule_value constant;
  int from, to; /* bytes of the text */
};

struct rule_expression {
  const char *text;
  int count;
  const struct rule_node *nodes;
  const struct rule_slot *slots; /* of one that was parsed alone; NULL: of its set */
};

/* Slots as they are met. */
struct rule_slots {
  int count;
  struct rule_slot list[RULE_SLOTS_MAX];
};

struct rule_parser {
  const char *text, *at;
  struct arena *arena;
  struct rule_slots *slots;
  const struct rule_known *known; /* or NULL */
  int count, depth;
  struct rule_node nodes[RULE_NODES_MAX];
  struct err *err;
};

/* parse.c: NULL with err; err->col is the byte, counted from 1. */
const struct rule_expression *rule_parse_into(const char *text, struct rule_slots *slots,
                                              const struct rule_known *known, struct arena *arena,
                                              struct err *err);

/* read_atom.c: names, arguments and what is compared; the index of its node, -1 with err. */
int rule_atom(struct rule_parser *p);
void rule_skip_blanks(struct rule_parser *p);
int rule_fail(struct rule_parser *p, const char *at, const char *fmt, ...) PRINTF_LIKE(3, 4);
int rule_push(struct rule_parser *p, struct rule_node node);
/* The word `word` here, as a whole; it is taken. */
bool rule_take_word(struct rule_parser *p, const char *word);

/* judge.c */
enum rule_truth rule_judge(const struct rule_expression *e, const struct rule_value *values);
enum rule_truth rule_judge_node(const struct rule_node *node, const struct rule_value *values);

#endif
