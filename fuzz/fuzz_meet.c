#include "base/query.h"
#include "meet/meet.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Properties, for the words of an address: an answer or a refusal with its words, never both; the
 * findings stand by falling gravity; text and JSON are whole. */
static const struct meet_facts *tables(void)
{
  static struct arena arena;
  static const struct meet_facts *facts;

  if (!facts) {
    arena_init(&arena, (size_t)256 << 20);
    facts = meet_read(chem_read(&arena), &arena);
  }
  return facts;
}

static void look(const struct meet_answer *answer)
{
  struct buf out;

  buf_init(&out, 16 << 20);
  for (int i = 0; i < answer->finding_count; i++) {
    BUG_IF(answer->findings[i].verdict > answer->verdict);
    BUG_IF(i > 0 && answer->findings[i].verdict > answer->findings[i - 1].verdict);
  }
  meet_text(answer, UNITS_SYSTEM_SI, &out);
  meet_json(answer, &out);
  BUG_IF(out.full || out.used == 0);
  buf_release(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static struct query query;
  struct meet_request request = {.at_K = NAN};
  struct err err = {0};
  struct arena arena;
  char *text = malloc(size + 1);

  if (!text)
    return 0;
  memcpy(text, data, size);
  text[size] = '\0';
  arena_init(&arena, 64 << 20);
  enum err_code code = query_parse(text, size, &query, &err);

  for (int i = 0; code == ERR_OK && i < query.count; i++)
    code = meet_take(&request, query.pairs[i].key, query.pairs[i].value, &err);
  if (code == ERR_OK) {
    const struct meet_answer *answer = meet_answer(tables(), &request, &arena, &err);

    BUG_IF((answer != NULL) == (err.code != ERR_OK));
    BUG_IF(!answer && !err.text[0]);
    if (answer)
      look(answer);
  }
  arena_release(&arena);
  free(text);
  return 0;
}
