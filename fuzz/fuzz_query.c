#include "base/err.h"
#include "base/query.h"
#include "serve/guard_impl.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Properties: pairs lie inside the buffer in order and are text; a refusal points inside the
 * input and leaves no pairs; a host is known only when its name stands in the list. */
static void check_pairs(const struct query *query)
{
  const char *at = query->text;

  for (int i = 0; i < query->count; i++) {
    const struct query_pair *pair = &query->pairs[i];

    BUG_IF(pair->key < at || pair->key > query->text + QUERY_MAX_BYTES);
    BUG_IF(query_find(query, pair->key) == NULL || query_count(query, pair->key) < 1);
    for (const char *p = pair->value; *p; p++)
      BUG_IF((unsigned char)*p < 0x20 || *p == 0x7f);
    at = pair->key + strlen(pair->key);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static struct query query;
  static const char *const known[] = {"localhost", "[::1]"};
  const struct guard_names names = {known, 2};
  struct err err = {0};
  char *text = malloc(size + 1);

  if (!text)
    return 0;
  memcpy(text, data, size);
  text[size] = '\0';
  if (query_parse(text, size, &query, &err)) {
    BUG_IF(query.count != 0 || err.col < 1 || (size_t)err.col > size + 1);
  } else
    check_pairs(&query);
  if (guard_host_known(text, &names))
    BUG_IF(strncmp(text, "[::1]", 5) != 0 && (text[0] | 0x20) != 'l');
  guard_takes_gzip(text);
  free(text);
  return 0;
}
