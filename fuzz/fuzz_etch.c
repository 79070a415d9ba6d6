#include "etch/etch.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void look_at(const struct etch_answer *answer)
{
  struct buf out;
  struct err err = {0};

  if (answer->answered && !(answer->time_s > 0 && answer->worst_s >= answer->time_s * (1 - 1e-12)))
    abort();
  if (answer->answered && !(answer->band_low_s <= answer->time_s * (1 + 1e-12)))
    abort();
  if (!answer->answered && !(answer->listed_for_film && answer->listed_for_bath))
    abort();
  buf_init(&out, 1 << 20);
  etch_text(answer, &out);
  if (out.used == 0 || strstr(out.text, " nan"))
    abort();
  buf_clear(&out);
  etch_json(answer, &out);
  buf_clear(&out);
  if (etch_drawing(answer, &out, &err) == ERR_OK && strstr(out.text, "nan"))
    abort();
  buf_release(&out);
}

/* Read once: the tables are the same for all. */
static const struct chem *tables(void)
{
  static struct arena arena;
  static const struct chem *chem;

  if (!chem) {
    arena_init(&arena, (size_t)256 << 20);
    chem = chem_read(&arena);
  }
  return chem;
}

/* Lines of "key=value": an answer that holds together, or a refusal in words. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct etch_request request = {0};
  struct err err = {0};
  struct arena arena;
  char text[512];
  bool taken = true;

  if (size >= sizeof text)
    return 0;
  memcpy(text, data, size);
  text[size] = '\0';
  for (char *line = text; line && *line && taken;) {
    char *end = strchr(line, '\n'), *equals;

    if (end)
      *end = '\0';
    equals = strchr(line, '=');
    if (equals) {
      *equals = '\0';
      taken = etch_take(&request, line, equals + 1, &err) == ERR_OK;
    }
    line = end ? end + 1 : NULL;
  }
  arena_init(&arena, (size_t)64 << 20);
  if (taken) {
    const struct etch_answer *answer = etch_answer(tables(), &request, &arena, &err);

    taken = answer != NULL;
    if (answer)
      look_at(answer);
  }
  if (!taken && !err.text[0])
    abort();
  arena_release(&arena);
  return 0;
}
