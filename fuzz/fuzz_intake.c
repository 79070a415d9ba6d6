#include "intake/intake.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

static bool is_good(const char *text, size_t size)
{
  struct facility_text suite = {"suite.yaml", text, size};
  struct complaints complaints;
  struct arena arena;
  bool good;

  arena_init(&arena, 64 << 20);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&suite, NULL, 0, &complaints);

  good = facility != NULL;
  facility_free(facility);
  arena_release(&arena);
  return good;
}

/* The list of the suite, read again into it, changes nothing. */
static void comes_back(const struct facility_text *suite, struct arena *arena)
{
  const struct intake_change *changes;
  struct complaints complaints;

  complaints_init(&complaints, arena);

  const struct sheet_table *table = intake_list(suite, arena, &complaints);

  must(table != NULL);

  struct sheet_book book = {
      .file = "back", .format = SHEET_XLSX, .table_count = 1, .tables = table};
  struct intake *in = intake_read(&book, NULL, arena, &complaints);

  must(in != NULL);
  must(intake_compare(in, suite, &complaints, &changes) == 0);
}

static const char *value_of(int *at, const uint8_t *data, size_t size, char out[64])
{
  size_t used = 0;

  while ((size_t)*at < size && data[*at] != '\n' && used < 60)
    out[used++] = (char)data[(*at)++];
  while ((size_t)*at < size && data[*at] != '\n')
    ++*at;
  *at += (size_t)*at < size;
  out[used] = '\0';
  return out;
}

static void answer_all(struct intake *in, const uint8_t *data, size_t size)
{
  const struct intake_question *q;
  struct err err = {0};
  int asked = 0, at = 0;
  char reply[64];

  while ((q = intake_next(in)) != NULL) {
    must(++asked <= 400 && q->ask[0] != '\0' && q->find[0] != '\0');
    if (intake_answer(in, q->key, value_of(&at, data, size, reply), &err) != ERR_OK)
      must(err.text[0] != '\0' && intake_answer(in, q->key, "don't know", &err) == ERR_OK);
  }
}

/*
 * Bytes up to the first NUL are a list as CSV; those behind it a file of answers, and replies to the
 * questions.  Whatever they are: a refusal that says something, or a suite that passes every check
 * and whose list comes back the same.
 */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  const uint8_t *end = size > 0 ? memchr(data, '\0', size) : NULL;
  size_t list_size = end ? (size_t)(end - data) : size;
  struct complaints complaints;
  struct arena arena;
  struct buf suite;

  if (size > 1 << 14)
    return 0;
  arena_init(&arena, 256 << 20);
  complaints_init(&complaints, &arena);
  buf_init(&suite, 8 << 20);

  struct sheet_book *book = sheet_read("list.csv", data, list_size, &arena, &complaints);
  struct intake *in = book ? intake_read(book, NULL, &arena, &complaints) : NULL;

  must(in || complaints.count > 0);
  if (in) {
    struct facility_text answers = {"answers", end ? (const char *)end + 1 : "",
                                    end ? size - list_size - 1 : 0};
    int before = complaints.count + complaints.dropped;
    bool taken = intake_answers(in, &answers, &complaints);

    must(taken == (complaints.count + complaints.dropped == before));
    answer_all(in, (const uint8_t *)answers.bytes, answers.size);

    const struct intake_result *result = intake_finish(in);

    for (int i = 0; i < result->remark_count; i++)
      must(result->remarks[i].text[0] != '\0');
    intake_suite(in, &suite);
    must(!suite.full);
    if (result->station_count > 0) {
      struct facility_text text = {"suite.yaml", suite.text, suite.used};

      must(is_good(suite.text, suite.used));
      comes_back(&text, &arena);
    }
  }
  buf_release(&suite);
  arena_release(&arena);
  return 0;
}
