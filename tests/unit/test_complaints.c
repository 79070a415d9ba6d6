#include "base/complaints.h"

#include "base/utf8.h"

#include "check.h"

#include <string.h>

static struct place at(int line, int column)
{
  return (struct place){.line = line, .column = column};
}

static void faults_are_told_in_the_order_of_the_file(void)
{
  struct arena arena;
  struct complaints list;
  struct buf out;

  arena_init(&arena, 10000);
  complaints_init(&list, &arena);
  complaints_add(&list, at(3, 1), 0, "third");
  complaints_add(&list, at(1, 5), 0, "second, and it came first");
  complaints_add(&list, at(1, 5), 0, "second, and it came after");
  complaints_add(&list, (struct place){0}, 0, "no place");
  complaints_add(&list, at(1, 2), 0, "first");
  complaints_sort(&list);
  buf_init(&out, 10000);
  complaints_print(&list, "suite.yaml", NULL, &out);
  CHECK_STR(out.text, "suite.yaml: no place\n"
                      "suite.yaml:1:2: first\n"
                      "suite.yaml:1:5: second, and it came first\n"
                      "suite.yaml:1:5: second, and it came after\n"
                      "suite.yaml:3:1: third\n");
  buf_release(&out);
  arena_release(&arena);
}

static void the_caret_stands_under_the_character(void)
{
  static const struct {
    const char *source;
    int line, column, width;
    const char *want;
  } rows[] = {
      {"a: 1\nrooms: x\n", 2, 8, 1, "  rooms: x\n         ^\n"},
      {"a: 12 furlong", 1, 4, 10, "  a: 12 furlong\n     ^^^^^^^^^^\n"},
      {"\tx: 1", 1, 2, 0, "  \tx: 1\n  \t^\n"},
      {"name: B\xc3\xbcro x", 1, 12, 1, "  name: B\xc3\xbcro x\n             ^\n"},
      {"a\r\nb\r\n", 2, 1, 1, "  b\n  ^\n"},
      {"short", 1, 9, 1, "  short\n          ^\n"},
      {"one line", 7, 1, 1, "  \n  ^\n"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct arena arena;
    struct complaints list;
    struct buf out;
    char want[200];

    CHECK_CASE("row %zu", i);
    arena_init(&arena, 10000);
    complaints_init(&list, &arena);
    complaints_add(&list, at(rows[i].line, rows[i].column), rows[i].width, "no");
    buf_init(&out, 10000);
    complaints_print(&list, "f", rows[i].source, &out);
    snprintf(want, sizeof want, "f:%d:%d: no\n%s", rows[i].line, rows[i].column, rows[i].want);
    CHECK_STR(out.text, want);
    buf_release(&out);
    arena_release(&arena);
  }
}

static void another_files_fault_shows_no_line_of_this_one(void)
{
  struct arena arena;
  struct complaints list;
  struct buf out;

  arena_init(&arena, 10000);
  complaints_init(&list, &arena);
  complaints_add(&list, (struct place){"b.yaml", 1, 1}, 1, "wrong");
  buf_init(&out, 10000);
  complaints_print(&list, "a.yaml", "text of a", &out);
  CHECK_STR(out.text, "b.yaml:1:1: wrong\n");
  buf_release(&out);
  arena_release(&arena);
}

static void a_thousand_faults_are_counted_and_fifty_told(void)
{
  struct arena arena;
  struct complaints list;
  struct buf out;

  arena_init(&arena, 100000);
  complaints_init(&list, &arena);
  for (int i = 0; i < 1000; i++)
    complaints_add(&list, at(i + 1, 1), 1, "fault %d", i);
  CHECK_INT(list.count, COMPLAINTS_MAX);
  CHECK_INT(list.dropped, 1000 - COMPLAINTS_MAX);
  buf_init(&out, 100000);
  complaints_print(&list, "f", NULL, &out);
  CHECK(strstr(out.text, "and 950 more faults") != NULL);
  buf_release(&out);
  arena_release(&arena);
}

static void a_long_complaint_or_a_full_arena_breaks_nothing(void)
{
  struct arena arena;
  struct complaints list;
  char text[2000];

  memset(text, 0, sizeof text);
  for (size_t i = 0; i + 4 < sizeof text; i += 3)
    memcpy(text + i, "\xe2\x82\xac", 4);
  arena_init(&arena, 1000);
  complaints_init(&list, &arena);
  for (int i = 0; i < 5; i++) {
    complaints_add(&list, at(1, 1), 1, "x%s", text);
    CHECK(strlen(list.list[i].text) > 10);
    CHECK(utf8_fault(list.list[i].text) == NULL);
  }
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(faults_are_told_in_the_order_of_the_file);
  RUN(the_caret_stands_under_the_character);
  RUN(another_files_fault_shows_no_line_of_this_one);
  RUN(a_thousand_faults_are_counted_and_fifty_told);
  RUN(a_long_complaint_or_a_full_arena_breaks_nothing);
  return check_end();
}
