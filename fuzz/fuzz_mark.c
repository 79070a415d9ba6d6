/* Any words are a mark that is one, or refused with an untouched result. */
#include "glass/glass.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct facility_mark mark = {MARK_PINK, MARK_STAR, "!"};
  char *words = malloc(size + 1);
  struct err err = {0};
  struct arena arena;

  if (!words)
    return 0;
  if (size)
    memcpy(words, data, size);
  words[size] = '\0';
  arena_init(&arena, 1 << 20);

  enum err_code code = glass_read_mark(words, &arena, &mark, &err);
  bool untouched = mark.colour == MARK_PINK && mark.shape == MARK_STAR && mark.letter &&
                   strcmp(mark.letter, "!") == 0,
       something = mark.colour != MARK_NO_COLOUR || mark.shape != MARK_NO_SHAPE || mark.letter;

  if (code == ERR_OK ? !something : !untouched || !err.text[0])
    abort();
  arena_release(&arena);
  free(words);
  return 0;
}
