#include "check.h"

#include "base/buf.h"
#include "facility/facility.h"

#include "suite_text.h"

#include <string.h>

static struct arena arena;
static struct complaints complaints;

static struct facility_text text_of(const char *file, const char *bytes, size_t size)
{
  return (struct facility_text){file, bytes, size};
}

/* What was said, of a text that must be refused. */
static const char *refusal(const char *bytes, size_t size)
{
  struct facility_text text = text_of("merged", bytes, size);

  complaints_init(&complaints, &arena);
  struct facility *facility = facility_read_merged(&text, &complaints);

  facility_free(facility);
  return facility || complaints.count == 0 ? NULL : complaints.list[0].text;
}

static void print_whole_suite(struct buf *out)
{
  struct facility_text suite = text_of("shelf/suite.yaml", whole_suite, sizeof whole_suite - 1);

  complaints_init(&complaints, &arena);
  REQUIRE(facility_print_merged(&suite, NULL, 0, &complaints, out));
  CHECK(!out->full && out->used > 1000);
}

/* That every answer is the same too is for test_wasm, which asks. */
static void same_parts(const struct facility *a, const struct facility *b)
{
  CHECK_INT(a->leak_count, b->leak_count);
  CHECK_INT(a->station_count, b->station_count);
  CHECK_INT(a->scene_count, b->scene_count);
  REQUIRE(CHECK_INT(facility_node_count(a), facility_node_count(b)));
  for (int i = 0; i < facility_node_count(a); i++)
    CHECK_STR(facility_node_id(a, i), facility_node_id(b, i));
  for (int i = 0; i < a->room_count; i++) {
    CHECK_NEAR(a->rooms[i].floor_m2, b->rooms[i].floor_m2, 0, 0);
    CHECK_NEAR(a->rooms[i].temperature_K, b->rooms[i].temperature_K, 0, 0);
  }
}

static void the_merged_form_gives_an_equal_facility(void)
{
  static const char change[] = "inward: 1 overlay\nchange: {rooms: {Gowning: {floor: 21 m2}}}\n"
                               "remove: [L4]\n";
  struct facility_text suite = text_of("shelf/suite.yaml", whole_suite, sizeof whole_suite - 1);
  struct facility_text overlay = text_of("change.yaml", change, sizeof change - 1), merged;
  struct buf out;

  buf_init(&out, 1 << 20);
  complaints_init(&complaints, &arena);
  struct facility *written = facility_read(&suite, &overlay, 1, &complaints);

  REQUIRE(facility_print_merged(&suite, &overlay, 1, &complaints, &out));
  merged = text_of("merged", out.text, out.used);
  struct facility *read = facility_read_merged(&merged, &complaints);

  CHECK_INT(complaints.count, 0);
  REQUIRE(written && read);
  same_parts(written, read);
  CHECK_STR(read->sha256, written->sha256);
  CHECK_STR(read->name, written->name);
  CHECK_INT(read->assumed_count, written->assumed_count);
  for (int i = 0; i < read->assumed_count && i < written->assumed_count; i++)
    CHECK_STR(read->assumed[i], written->assumed[i]);
  facility_free(read);
  facility_free(written);
  buf_release(&out);
}

static void it_says_nothing_of_folders_and_comments(void)
{
  static const char suite_text[] = "inward: 1 suite   # from the drawer of K. Lund\nrooms:\n  R:\n"
                                   "leaks: {L: {from: R, to: outdoors, area: 1 m2}}\n";
  struct facility_text suite = text_of("/drawer/lund/s.yaml", suite_text, sizeof suite_text - 1);
  struct facility_text merged;
  struct buf out;

  buf_init(&out, 1 << 20);
  complaints_init(&complaints, &arena);
  REQUIRE(facility_print_merged(&suite, NULL, 0, &complaints, &out));
  CHECK(strstr(out.text, "und") == NULL && strstr(out.text, "drawer") == NULL);
  merged = text_of("merged", out.text, out.used);
  struct facility *read = facility_read_merged(&merged, &complaints);

  REQUIRE(read != NULL);
  CHECK_STR(read->name, "s.yaml"); /* it gives itself no name */
  CHECK_INT(read->room_count, 1);  /* "R:" without a value */
  facility_free(read);
  buf_release(&out);
}

static void a_suite_with_a_fault_is_not_printed(void)
{
  static const char bad[] = "inward: 1 overlay\n";
  struct facility_text suite = text_of("s.yaml", bad, sizeof bad - 1);
  struct buf out;

  buf_init(&out, 1 << 10);
  complaints_init(&complaints, &arena);
  CHECK(!facility_print_merged(&suite, NULL, 0, &complaints, &out));
  CHECK(complaints.count > 0 && out.used == 0);
  buf_release(&out);
}

static void every_text_that_ends_too_early_is_refused(void)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  print_whole_suite(&out);
  for (size_t size = 0; size + 2 < out.used; size += size < 200 ? 1 : 97) {
    CHECK_CASE("%zu bytes of %zu", size, out.used);
    CHECK(refusal(out.text, size) != NULL);
  }
  buf_release(&out);
}

/* HEAD and TAIL stand around what is wrong. */
#define HEAD                                                                                       \
  "{\"schema\": \"inward.merged.1\", \"suite_sha256\": "                                           \
  "\"0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef\", \"file\": \"s\", "        \
  "\"suite\": {\"inward\": \"1 suite\""
#define TAIL "}}\n"

static void what_the_writer_never_writes_is_refused(void)
{
  static const char *const wrong[] = {
      "",
      "[]",
      "\"inward\"",
      "{}",
      HEAD TAIL "x",
      HEAD TAIL HEAD TAIL,
      HEAD ", \"rooms\": {}, \"rooms\": {}" TAIL,
      HEAD ", \"rooms\": 1" TAIL,
      HEAD ", \"rooms\": true" TAIL,
      HEAD ", \"rooms\": nul" TAIL,
      HEAD ", \"rooms\": {,}" TAIL,
      HEAD ", \"rooms\": {\"R\": null,}" TAIL,
      HEAD ", \"rooms\": {\"R\" null}" TAIL,
      HEAD ", \"name\": \"\\u00e9\"" TAIL,
      HEAD ", \"name\": \"\\u0000\"" TAIL,
      HEAD ", \"name\": \"\\x41\"" TAIL,
      HEAD ", \"name\": \"\xff\"" TAIL,
      HEAD ", \"name\": \"a\nb\"" TAIL,
      HEAD ",\t\"name\": \"a\"" TAIL,
      HEAD ", \"x\": [[[[[[[[[[[[[[[]]]]]]]]]]]]]]]" TAIL,
      HEAD ", \"colour of the door\": \"green\"" TAIL, /* the schema has its say too */
      "{\"schema\": \"inward.merged.2\"}",
      "{\"schema\": \"inward.merged.1\", \"suite_sha256\": \"00\", \"file\": \"s\", \"suite\": {}}",
  };
  static const char good[] =
      HEAD ", \"rooms\": {\"R\": null}, "
           "\"leaks\": {\"L\": {\"from\": \"R\", \"to\": \"outdoors\", \"area\": \"1 m2\"}}" TAIL;

  CHECK(refusal(good, sizeof good - 1) == NULL);
  for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
    CHECK_CASE("%s", wrong[i]);
    CHECK(refusal(wrong[i], strlen(wrong[i])) != NULL);
    CHECK(complaints.count >= 1);
  }
  CHECK(refusal(HEAD "\0" TAIL, sizeof HEAD TAIL) != NULL);
}

static void what_is_too_large_is_refused_before_it_is_read(void)
{
  static char large[(8 << 20) + 1];
  const char *said = refusal(large, sizeof large);

  REQUIRE(said != NULL);
  CHECK(strstr(said, "bytes") != NULL);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, (size_t)64 << 20);
  RUN(the_merged_form_gives_an_equal_facility);
  RUN(it_says_nothing_of_folders_and_comments);
  RUN(a_suite_with_a_fault_is_not_printed);
  RUN(every_text_that_ends_too_early_is_refused);
  RUN(what_the_writer_never_writes_is_refused);
  RUN(what_is_too_large_is_refused_before_it_is_read);
  arena_release(&arena);
  return check_end();
}
