#ifndef TESTS_SUPPORT_CHECK_H
#define TESTS_SUPPORT_CHECK_H

#include <stdbool.h>
#include <stddef.h>

/*
 * The whole test framework.  A test is a function; main runs each once:
 *
 *     int main(int argc, char **argv)
 *     {
 *       check_begin(argc, argv);
 *       RUN(a_refusal_says_where);
 *       return check_end();
 *     }
 *
 * A failed CHECK is printed and counted, and the test goes on; use REQUIRE
 * where going on would crash.  Arguments are shell patterns ('*limit*') naming
 * the tests to run.  A test that checks nothing, a pattern that matches nothing
 * and a program that runs nothing are failures.
 */
void check_begin(int argc, char **argv);
void check_run(const char *name, void (*test)(void));
int check_end(void); /* prints "N passed, N failed" and gives the exit status */

#define RUN(test)   check_run(#test, test)
#define CHECK(cond) check_true(__FILE__, __LINE__, #cond, (cond))
#define REQUIRE(cond)                                                                              \
  do {                                                                                             \
    if (!CHECK(cond))                                                                              \
      return;                                                                                      \
  } while (0)
#define CHECK_INT(got, want) check_int(__FILE__, __LINE__, #got, (got), (want))
#define CHECK_STR(got, want) check_str(__FILE__, __LINE__, #got, (got), (want))
/* |got - want| <= abs_tol + rel_tol*|want|; NaN never passes, equal infinities do. */
#define CHECK_NEAR(got, want, rel_tol, abs_tol)                                                    \
  check_near(__FILE__, __LINE__, #got, (got), (want), (rel_tol), (abs_tol))
/* The function ends its process with abort(), as BUG_IF does.  It runs in a child, in silence. */
#define CHECK_ABORTS(function) check_aborts(__FILE__, __LINE__, #function, (function))
/* Names the row of a table that the following checks belong to. */
#define CHECK_CASE(...) check_case(__VA_ARGS__)

void check_count(const char *file, int line, const char *what, bool ok);
/* Inline, so that an analyzer sees that a CHECK passes on what it was given. */
static inline bool check_true(const char *file, int line, const char *what, bool ok)
{
  check_count(file, line, what, ok);
  return ok;
}
bool check_int(const char *file, int line, const char *what, long long got, long long want);
bool check_str(const char *file, int line, const char *what, const char *got, const char *want);
bool check_near(const char *file, int line, const char *what, double got, double want,
                double rel_tol, double abs_tol);
bool check_aborts(const char *file, int line, const char *what, void (*function)(void));
void check_case(const char *fmt, ...) __attribute__((format(printf, 1, 2)));

#endif
