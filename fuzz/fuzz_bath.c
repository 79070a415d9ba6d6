#include "base/query.h"
#include "bath/bath.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Properties, for the words of an address: an answer or a refusal with its words, never both; masses are
 * kept; what is refused shows no amounts; text and JSON are whole. */
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

static void look(const struct bath_answer *a)
{
  struct buf out;
  double parts_kg = 0, holds_kg = 0;

  for (int i = 0; i < a->part_count; i++) {
    BUG_IF(!(a->parts[i].mass_kg > 0));
    parts_kg += a->parts[i].mass_kg;
  }
  for (int i = 0; i < a->holds_count; i++)
    holds_kg += a->holds[i].mass_kg;
  BUG_IF(a->state == BATH_MADE && !(fabs(holds_kg - parts_kg) <= 1e-12 * parts_kg));
  BUG_IF(a->state != BATH_MADE && (a->part_count > 0 || a->holds_count > 0));
  buf_init(&out, 16 << 20);
  bath_text(a, UNITS_SYSTEM_US, &out);
  bath_json(a, &out);
  BUG_IF(out.full || out.used == 0);
  buf_release(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static struct query query;
  const struct bath_place place = {.chem = tables()};
  struct bath_request request = {0};
  struct err err = {0};
  struct arena arena;
  char *text = malloc(size + 1);

  if (!text)
    return 0;
  memcpy(text, data, size);
  text[size] = '\0';
  arena_init(&arena, 256 << 20);
  enum err_code code = query_parse(text, size, &query, &err);

  for (int i = 0; code == ERR_OK && i < query.count; i++)
    code = bath_take(&request, query.pairs[i].key, query.pairs[i].value, &err);
  if (code == ERR_OK) {
    const struct bath_answer *answer = bath_answer(&place, &request, &arena, &err);

    BUG_IF((answer != NULL) == (err.code != ERR_OK));
    BUG_IF(!answer && !err.text[0]);
    if (answer)
      look(answer);
  }
  arena_release(&arena);
  free(text);
  return 0;
}
