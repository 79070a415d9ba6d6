#include "base/emit.h"

#include "check.h"

#include <libfyaml.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* libfyaml in its JSON mode, a reader that is not ours, says whether what we write is JSON and what
 * it means. */
static struct fy_document *read_back(const struct buf *out)
{
  const struct fy_parse_cfg settings = {.flags = FYPCF_JSON_FORCE | FYPCF_QUIET};
  struct fy_document *document = fy_document_build_from_string(&settings, out->text, out->used);

  CHECK_CASE("%.60s", out->text);
  CHECK(document != NULL);
  return document;
}

static void a_shape_is_written_as_it_was_told(void)
{
  struct buf out;
  struct emit json;

  buf_init(&out, 1000);
  emit_begin(&json, &out);
  emit_object(&json, NULL);
  emit_number(&json, "drop_Pa", 12.5);
  emit_array(&json, "keeps");
  emit_close(&json);
  emit_array(&json, "stations");
  emit_int(&json, NULL, -3);
  emit_bool(&json, NULL, true);
  emit_null(&json, NULL);
  emit_text(&json, NULL, NULL);
  emit_close(&json);
  emit_object(&json, "empty");
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
  CHECK_STR(out.text, "{\n  \"drop_Pa\": 12.5,\n  \"keeps\": [],\n  \"stations\": [\n    -3,\n"
                      "    true,\n    null,\n    null\n  ],\n  \"empty\": {}\n}\n");

  struct fy_document *document = read_back(&out);
  struct fy_node *stations = fy_node_by_path(fy_document_root(document), "/stations", FY_NT, 0);

  CHECK_INT(fy_node_sequence_item_count(stations), 4);
  fy_document_destroy(document);
  buf_release(&out);
}

static double number_back(double value)
{
  struct buf out;
  struct emit json;

  buf_init(&out, 100);
  emit_begin(&json, &out);
  emit_number(&json, NULL, value);
  emit_end(&json);

  struct fy_document *document = read_back(&out);
  const char *text = fy_node_get_scalar0(fy_document_root(document));
  double back = text ? strtod(text, NULL) : (double)NAN;

  fy_document_destroy(document);
  buf_release(&out);
  return back;
}

static void a_double_reads_back_to_the_same_bits(void)
{
  uint64_t bits = 1;
  int wrong = 0, tried = 0;

  for (int i = 0; i < 20000; i++) {
    double value;

    bits = bits * 6364136223846793005u + 1442695040888963407u;
    memcpy(&value, &bits, sizeof value);
    if (!isfinite(value))
      continue;
    tried++;
    wrong += number_back(value) != value;
  }
  CHECK(tried > 19000);
  CHECK_INT(wrong, 0);
}

static void numbers_are_short_where_they_can_be(void)
{
  static const struct {
    double value;
    const char *text;
  } rows[] = {
      {0.0, "0\n"},
      {-0.0, "0\n"},
      {0.1, "0.1\n"},
      {0.45, "0.45\n"},
      {1e300, "1e+300\n"},
      {1.0 / 3.0, "0.3333333333333333\n"},
      {(double)NAN, "null\n"},
      {(double)INFINITY, "null\n"},
      {(double)-INFINITY, "null\n"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct buf out;
    struct emit json;

    buf_init(&out, 100);
    emit_begin(&json, &out);
    emit_number(&json, NULL, rows[i].value);
    emit_end(&json);
    CHECK_STR(out.text, rows[i].text);
    buf_release(&out);
  }
}

static void any_text_a_person_wrote_is_json_and_means_the_same(void)
{
  static const char *const rows[][2] = {
      {"Etch bay", "Etch bay"},
      {"\"quoted\" \\ back", "\"quoted\" \\ back"},
      {"two\nlines\tand \x01", "two\nlines\tand \x01"},
      {"Gr\xc3\xbc\xc3\x9f"
       "e \xf0\x9f\x98\x80",
       "Gr\xc3\xbc\xc3\x9f"
       "e \xf0\x9f\x98\x80"},
      {"</script><!--", "</script><!--"},
      {"broken \xff\xc3", "broken \xef\xbf\xbd\xef\xbf\xbd"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct buf out;
    struct emit json;

    CHECK_CASE("row %zu", i);
    buf_init(&out, 1000);
    emit_begin(&json, &out);
    emit_object(&json, NULL);
    emit_text(&json, rows[i][0], rows[i][0]);
    emit_close(&json);
    emit_end(&json);
    CHECK(strchr(out.text, '<') == NULL); /* so that a page may carry it */

    struct fy_document *document = read_back(&out);
    struct fy_node_pair *pair = fy_node_mapping_get_by_index(fy_document_root(document), 0);

    CHECK_STR(fy_node_get_scalar0(fy_node_pair_key(pair)), rows[i][1]);
    CHECK_STR(fy_node_get_scalar0(fy_node_pair_value(pair)), rows[i][1]);
    fy_document_destroy(document);
    buf_release(&out);
  }
}

static struct buf lost;

static void leave_an_object_open(void)
{
  struct emit json;

  buf_init(&lost, 100);
  emit_begin(&json, &lost);
  emit_object(&json, NULL);
  emit_end(&json);
}

static void forget_a_key(void)
{
  struct emit json;

  buf_init(&lost, 100);
  emit_begin(&json, &lost);
  emit_object(&json, NULL);
  emit_int(&json, NULL, 1);
}

static void close_what_is_not_open(void)
{
  struct emit json;

  buf_init(&lost, 100);
  emit_begin(&json, &lost);
  emit_close(&json);
}

static void go_too_deep(void)
{
  struct emit json;

  buf_init(&lost, 10000);
  emit_begin(&json, &lost);
  for (int i = 0; i < 40; i++)
    emit_array(&json, NULL);
}

static void a_shape_that_is_no_json_is_a_bug(void)
{
  CHECK_ABORTS(leave_an_object_open);
  CHECK_ABORTS(forget_a_key);
  CHECK_ABORTS(close_what_is_not_open);
  CHECK_ABORTS(go_too_deep);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_shape_is_written_as_it_was_told);
  RUN(a_double_reads_back_to_the_same_bits);
  RUN(numbers_are_short_where_they_can_be);
  RUN(any_text_a_person_wrote_is_json_and_means_the_same);
  RUN(a_shape_that_is_no_json_is_a_bug);
  return check_end();
}
