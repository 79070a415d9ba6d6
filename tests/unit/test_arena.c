#include "base/arena.h"

#include "check.h"

#include <stdint.h>

static void an_arena_refuses_what_its_limit_forbids(void)
{
  struct arena arena;

  arena_init(&arena, 1024);
  REQUIRE(arena_push(&arena, 1, 1000) != NULL);
  CHECK(arena_push(&arena, 1, 1000) == NULL);
  CHECK(arena_push(&arena, SIZE_MAX, 16) == NULL);
  CHECK(arena_push(&arena, 2, SIZE_MAX / 2) == NULL);
  arena_release(&arena);
  CHECK(arena_push(&arena, 1, 1000) != NULL);
  arena_release(&arena);
}

static void memory_comes_zeroed_and_aligned(void)
{
  struct arena arena;

  arena_init(&arena, 1 << 20);
  for (size_t n = 1; n < 200; n++) {
    unsigned char *p = arena_push(&arena, n, 1);

    REQUIRE(p != NULL);
    CHECK_INT((long long)((uintptr_t)p % _Alignof(max_align_t)), 0);
    for (size_t i = 0; i < n; i++)
      CHECK_INT(p[i], 0);
  }
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(an_arena_refuses_what_its_limit_forbids);
  RUN(memory_comes_zeroed_and_aligned);
  return check_end();
}
