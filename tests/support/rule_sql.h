#ifndef TESTS_SUPPORT_RULE_SQL_H
#define TESTS_SUPPORT_RULE_SQL_H

#include "base/buf.h"
#include "rule/rule.h"

/*
 * House rules as SQL: NULL is unknown there, and its AND, OR and NOT are Kleene's, as ours are.
 * Slot i of the set is parameter ?i+1.  An oracle for tests and the rival of a benchmark.
 */
void rule_sql_expression(const struct rule_set *set, const struct rule_expression *e,
                         struct buf *out); /* NULL: 1 */
/* "SELECT (NOT when) OR must, ...": a column for each rule. */
void rule_sql_all(const struct rule_set *set, struct buf *out);

struct sqlite3_stmt;
void rule_sql_bind(struct sqlite3_stmt *statement, const struct rule_set *set,
                   const struct rule_value *values);
enum rule_truth rule_sql_column(struct sqlite3_stmt *statement, int column);

#endif
