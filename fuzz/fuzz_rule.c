#include "rule/rule_impl.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

/* Learning what was unknown may settle an unknown answer, and never turns yes to no or no to yes. */
static void is_monotone(const struct rule_expression *e)
{
  struct rule_value values[RULE_SLOTS_MAX] = {{0}};
  enum rule_truth last = rule_judge(e, values);
  unsigned bits = (unsigned)strlen(e->text) * 2654435761u;

  for (int i = 0; i < e->count; i++) {
    const struct rule_node *n = &e->nodes[i];

    if (n->kind != RULE_IS && n->kind != RULE_COMPARE)
      continue;
    bits = bits * 1664525u + 1013904223u;
    if (!values[n->slot].known)
      values[n->slot] = (struct rule_value){.known = true,
                                            .number_si = n->constant.number_si + (bits >> 30) - 1.0,
                                            .text = n->constant.text};
    enum rule_truth now = rule_judge(e, values);

    must(last == RULE_UNKNOWN || now == last);
    last = now;
  }
  must(last != RULE_UNKNOWN); /* everything is known */
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  char *text = malloc(size + 1);
  struct arena arena;
  struct err err = {0};

  must(text != NULL);
  if (size > 0)
    memcpy(text, data, size);
  text[size] = '\0';
  arena_init(&arena, 64 << 20);

  const struct rule_expression *e = rule_parse(text, &arena, &err);

  if (!e) {
    must(err.code != ERR_OK && err.col >= 1 && (size_t)err.col <= strlen(text) + 1);
  } else {
    struct buf once, twice;

    is_monotone(e);
    buf_init(&once, 1 << 16);
    buf_init(&twice, 1 << 16);
    rule_print(e, &once);
    if (once.used <= RULE_TEXT_MAX) { /* with all brackets it may be too long, or too deep */
      const struct rule_expression *again = rule_parse(once.text, &arena, NULL);

      if (again)
        rule_print(again, &twice);
      must(!again || strcmp(once.text, twice.text) == 0);
    }
    buf_release(&once);
    buf_release(&twice);
  }
  arena_release(&arena);
  free(text);
  return 0;
}
