#include "base/arena.h"

#include "check.h"

#include <stdint.h>
#include <string.h>

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

static void two_things_never_share_a_byte(void)
{
  enum { COUNT = 3000 };
  static unsigned char *things[COUNT];
  struct arena arena;
  int wrong = 0;

  arena_init(&arena, 8 << 20);
  for (size_t i = 0; i < COUNT; i++) {
    size_t size = i % 97 == 0 ? 100000 : 1 + i % 61; /* some larger than a block */

    things[i] = arena_push(&arena, size, 1);
    REQUIRE(things[i] != NULL);
    memset(things[i], (int)(i % 251), size);
  }
  for (size_t i = 0; i < COUNT; i++) {
    size_t size = i % 97 == 0 ? 100000 : 1 + i % 61;

    for (size_t k = 0; k < size; k++)
      wrong += things[i][k] != i % 251;
  }
  CHECK_INT(wrong, 0);
  arena_release(&arena);
}

static void a_text_is_copied_or_refused_whole(void)
{
  struct arena arena;
  const char *text = "Etch bay";
  char *copy;

  arena_init(&arena, 8);
  CHECK(arena_strdup(&arena, text) == NULL);
  arena.limit = 32;
  copy = arena_strdup(&arena, text);
  CHECK_STR(copy, text);
  CHECK(copy != text);
  arena_release(&arena);
}

static void a_printed_text_is_as_long_as_it_comes_out(void)
{
  struct arena arena;

  arena_init(&arena, 4096);
  CHECK_STR(arena_printf(&arena, "%s over %s", "Etch", "Gown"), "Etch over Gown");
  CHECK_INT((int)strlen(arena_printf(&arena, "%*d", 1500, 7)), 1500);
  CHECK(arena_printf(&arena, "%*d", 5000, 7) == NULL);
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(an_arena_refuses_what_its_limit_forbids);
  RUN(memory_comes_zeroed_and_aligned);
  RUN(two_things_never_share_a_byte);
  RUN(a_text_is_copied_or_refused_whole);
  RUN(a_printed_text_is_as_long_as_it_comes_out);
  return check_end();
}
