#include "base/arena.h"

#include "base/err.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK_BYTES = 64 * 1024, ALIGN = _Alignof(max_align_t) };

struct arena_block {
  struct arena_block *below;
  size_t size, used;
  _Alignas(max_align_t) unsigned char bytes[];
};

void arena_init(struct arena *arena, size_t limit)
{
  *arena = (struct arena){.limit = limit};
}

void arena_release(struct arena *arena)
{
  while (arena->top) {
    struct arena_block *below = arena->top->below;

    free(arena->top);
    arena->top = below;
  }
  arena->used = 0;
}

static struct arena_block *block_new(struct arena_block *below, size_t need)
{
  size_t size = need > BLOCK_BYTES ? need : BLOCK_BYTES;
  struct arena_block *block = calloc(1, sizeof *block + size);

  if (!block)
    err_no_memory();
  block->below = below;
  block->size = size;
  return block;
}

void *arena_push(struct arena *arena, size_t count, size_t size)
{
  size_t need;

  BUG_IF(size == 0);
  if (__builtin_mul_overflow(count, size, &need) || need > SIZE_MAX - ALIGN)
    return NULL;
  need = (need + ALIGN - 1) & ~(size_t)(ALIGN - 1);
  if (need > arena->limit - arena->used)
    return NULL;
  if (!arena->top || need > arena->top->size - arena->top->used)
    arena->top = block_new(arena->top, need);

  void *p = arena->top->bytes + arena->top->used;

  arena->top->used += need;
  arena->used += need;
  return p;
}

char *arena_strdup(struct arena *arena, const char *text)
{
  size_t n = strlen(text) + 1;
  char *copy = arena_push(arena, n, 1);

  return copy ? memcpy(copy, text, n) : NULL;
}

char *arena_vprintf(struct arena *arena, const char *fmt, va_list args)
{
  va_list measured;

  va_copy(measured, args);
  int length = vsnprintf(NULL, 0, fmt, measured);

  va_end(measured);
  BUG_IF(length < 0);
  char *text = arena_push(arena, (size_t)length + 1, 1);

  if (text)
    vsnprintf(text, (size_t)length + 1, fmt, args);
  return text;
}

char *arena_printf(struct arena *arena, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  char *text = arena_vprintf(arena, fmt, args);

  va_end(args);
  return text;
}
