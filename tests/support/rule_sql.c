#include "rule_sql.h"

#include "rule/rule_impl.h"

#include <sqlite3.h>

static void put_text(const char *text, struct buf *out)
{
  buf_putc(out, '\'');
  for (; *text; text++)
    buf_printf(out, *text == '\'' ? "''" : "%c", *text);
  buf_putc(out, '\'');
}

static void put_compare(const struct rule_node *n, struct buf *out)
{
  static const char *const ops[] = {"=", "<>", "<", "<=", ">", ">="};

  buf_printf(out, "?%d %s ", n->slot + 1, ops[n->op]);
  if (n->constant.text)
    put_text(n->constant.text, out);
  else
    buf_printf(out, "%.17g", n->constant.number_si);
}

static void put_node(const struct rule_expression *e, int at, struct buf *out)
{
  const struct rule_node *n = &e->nodes[at];

  buf_putc(out, '(');
  switch (n->kind) {
  case RULE_NOT:
    buf_puts(out, "NOT ");
    put_node(e, n->left, out);
    break;
  case RULE_AND:
  case RULE_OR:
    put_node(e, n->left, out);
    buf_puts(out, n->kind == RULE_AND ? " AND " : " OR ");
    put_node(e, n->right, out);
    break;
  case RULE_COMPARE:
    put_compare(n, out);
    break;
  case RULE_IS:
  default:
    buf_printf(out, "?%d <> 0", n->slot + 1);
  }
  buf_putc(out, ')');
}

void rule_sql_expression(const struct rule_set *set, const struct rule_expression *e,
                         struct buf *out)
{
  (void)set;
  if (e)
    put_node(e, e->count - 1, out);
  else
    buf_puts(out, "1");
}

void rule_sql_all(const struct rule_set *set, struct buf *out)
{
  buf_puts(out, "SELECT ");
  for (int i = 0; i < set->count; i++) {
    buf_puts(out, i > 0 ? ", (NOT " : "(NOT ");
    rule_sql_expression(set, set->list[i].when, out);
    buf_puts(out, ") OR ");
    rule_sql_expression(set, set->list[i].must, out);
  }
}

void rule_sql_bind(struct sqlite3_stmt *statement, const struct rule_set *set,
                   const struct rule_value *values)
{
  for (int i = 0; i < set->slot_count; i++)
    if (!values[i].known)
      sqlite3_bind_null(statement, i + 1);
    else if (values[i].text)
      sqlite3_bind_text(statement, i + 1, values[i].text, -1, SQLITE_STATIC);
    else
      sqlite3_bind_double(statement, i + 1, values[i].number_si);
}

enum rule_truth rule_sql_column(struct sqlite3_stmt *statement, int column)
{
  if (sqlite3_column_type(statement, column) == SQLITE_NULL)
    return RULE_UNKNOWN;
  return sqlite3_column_int(statement, column) ? RULE_YES : RULE_NO;
}
