#ifndef BASE_ARENA_H
#define BASE_ARENA_H

#include "base/err.h"

#include <stdarg.h>
#include <stddef.h>

/*
 * Memory that all dies at once.  One arena is one lifetime: a loaded facility,
 * one simulation run, one HTTP request.  Nothing in an arena is freed alone.
 *
 * Running out of memory ends the process.  Running past `limit` does not:
 * arena_push then returns NULL and the caller reports ERR_LIMIT, because a
 * limit is reached by what someone sent us, and that is never our crash.
 */
struct arena {
  struct arena_block *top;
  size_t used, limit; /* bytes */
};

void arena_init(struct arena *arena, size_t limit);
void arena_release(struct arena *arena);

/* Zeroed, aligned for any type.  NULL only when `limit` would be passed. */
void *arena_push(struct arena *arena, size_t count, size_t size);
char *arena_strdup(struct arena *arena, const char *text);
/* As long as it comes out, cut nowhere. */
char *arena_printf(struct arena *arena, const char *fmt, ...) PRINTF_LIKE(2, 3);
char *arena_vprintf(struct arena *arena, const char *fmt, va_list args) PRINTF_LIKE(2, 0);

#define ARENA_NEW(arena, type)          ((type *)arena_push((arena), 1, sizeof(type)))
#define ARENA_ARRAY(arena, type, count) ((type *)arena_push((arena), (count), sizeof(type)))

#endif
