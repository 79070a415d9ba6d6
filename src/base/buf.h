#ifndef BASE_BUF_H
#define BASE_BUF_H

#include "base/err.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

/*
 * Text that grows up to a limit given at birth.
 *
 * The bytes are always NUL-terminated.  Appending past the limit keeps what was
 * there, drops the addition and sets `full`, which the owner checks once at the
 * end: no half-written number, no unbounded memory.
 *
 *     struct buf out;
 *     buf_init(&out, 1 << 20);
 *     buf_printf(&out, "%s: %.3g Pa\n", room, drop_Pa);
 *     if (!out.full)
 *       fwrite(out.text, 1, out.used, stdout);
 *     buf_release(&out);
 *
 * Running out of memory ends the process.
 */
struct buf {
  char *text;               /* never NULL after buf_init */
  size_t used, room, limit; /* bytes, without the terminating NUL */
  bool full;
};

void buf_init(struct buf *buf, size_t limit);
void buf_release(struct buf *buf);
void buf_clear(struct buf *buf);

void buf_add(struct buf *buf, const char *bytes, size_t count);
void buf_puts(struct buf *buf, const char *text);
/* A blank line, the heading, and "  - " before each; nothing where the list is empty. */
void buf_put_list(struct buf *out, const char *heading, const char *const *list, int count);
void buf_putc(struct buf *buf, char c);
/* With < > & " as the entities that HTML and XML have for them: in a text and in an attribute. */
void buf_add_markup(struct buf *buf, const char *bytes, size_t count);
void buf_put_markup(struct buf *buf, const char *text);
void buf_printf(struct buf *buf, const char *fmt, ...) PRINTF_LIKE(2, 3);
/* A finite number in 15 to 17 digits, as few as read back to the same bits. */
void buf_number(struct buf *buf, double value);
/* Takes blanks and line ends off its end. */
void buf_trim_end(struct buf *buf);
void buf_vprintf(struct buf *buf, const char *fmt, va_list args) PRINTF_LIKE(2, 0);

#endif
