#ifndef BASE_ERR_H
#define BASE_ERR_H

#include <stddef.h>

enum err_code {

#define ERR(code, exit_status, meaning) ERR_##code,
#include "base/err.def"
#undef ERR
  ERR_COUNT
};

/*
 * What went wrong, in the caller's storage.  Filled only on failure and never
 * cleared on success, so zero it once and hand it down the whole call chain.
 * col is the first byte not understood, 1-based; 0 where there is no such byte.
 */
struct err {
  enum err_code code;
  int col;
  char text[200];
};

#define NODISCARD              __attribute__((warn_unused_result))
#define PRINTF_LIKE(fmt, args) __attribute__((format(printf, fmt, args)))

const char *err_name(enum err_code code);
const char *err_meaning(enum err_code code);
int err_exit_status(enum err_code code);

/*
 * Record a failure and return its code, so that the last line of a failing
 * branch reads  return err_set(err, ERR_INPUT, "...").  err may be NULL.
 * A macro, so that the compiler sees which code comes back, and that nobody
 * reads what a failure left unset.
 */
#define err_set(err, code, ...) (err_write((err), (code), __VA_ARGS__), err_same(code))
void err_write(struct err *err, enum err_code code, const char *fmt, ...) PRINTF_LIKE(3, 4);
static inline enum err_code err_same(enum err_code code)
{
  return code;
}

/* Put words in front of a message on its way up: "reading plant.fac: ...". */
void err_prefix(struct err *err, const char *fmt, ...) PRINTF_LIKE(2, 3);

/*
 * A broken promise inside this program.  Checked in every build, because a
 * wrong answer costs more than the branch does.  Never for bad input.
 */
#define BUG_IF(cond) ((cond) ? err_bug(__FILE__, __LINE__, #cond) : (void)0)
_Noreturn void err_bug(const char *file, int line, const char *what);

/* Running out of memory ends the process; it is nobody's bug. */
_Noreturn void err_no_memory(void);

#endif
