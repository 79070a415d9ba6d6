#include "check.h"
#include "facility/facility.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct facility_text load(const char *path)
{
  FILE *file = fopen(path, "rb");
  char *bytes = calloc(1, 1 << 20);
  size_t size = file && bytes ? fread(bytes, 1, (1 << 20) - 1, file) : 0;

  if (file)
    fclose(file);
  return (struct facility_text){path, bytes, size};
}

static void unload(struct facility_text *text)
{
  union {
    const char *lent;
    char *owned;
  } bytes = {.lent = text->bytes};

  free(bytes.owned);
}

static bool print(const struct facility_text *suite, const struct facility_text *overlays,
                  int count, struct buf *out)
{
  struct arena arena;
  struct complaints complaints;
  bool good;

  arena_init(&arena, 1 << 24);
  complaints_init(&complaints, &arena);
  buf_init(out, 8 << 20);
  good = facility_print_suite(suite, overlays, count, &complaints, out);
  arena_release(&arena);
  return good;
}

static int differences(const struct facility_text *a, const char *text)
{
  const struct facility_difference *list;
  struct facility_text b = {"b", text, strlen(text)};
  struct arena arena;
  int count;

  arena_init(&arena, 1 << 24);
  count = facility_diff(a, &b, &arena, &list);
  for (int i = 0; i < count; i++)
    printf("%s %s %s: %s -> %s\n", list[i].kind, list[i].id, list[i].key, list[i].before,
           list[i].after);
  arena_release(&arena);
  return count;
}

static void what_is_printed_reads_back_as_the_same_suite_and_prints_the_same(void)
{
  static const char *const files[] = {"examples/quillmere/suite.yaml",
                                      "examples/paper-only/suite.yaml"};

  for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
    struct facility_text suite = load(files[i]);
    struct buf once, twice;

    CHECK_CASE("%s", files[i]);
    CHECK(print(&suite, NULL, 0, &once));
    CHECK_INT(differences(&suite, once.text), 0);

    struct facility_text again = {"again", once.text, once.used};

    CHECK(print(&again, NULL, 0, &twice));
    CHECK_STR(twice.text, once.text);
    buf_release(&once);
    buf_release(&twice);
    unload(&suite);
  }
}

static void comments_stay_with_their_keys_and_those_of_an_overlay_come_along(void)
{
  static const char suite[] = "# head\n"
                              "inward: 1 suite\n"
                              "\n"
                              "# the rooms\n"
                              "rooms: {Wet: {}}\n"
                              "mains:\n"
                              "  Acid: {}   # to come\n"
                              "stations:\n"
                              "  A1:   # row 3\n"
                              "    kind: wet bench\n"
                              "    room: Wet\n"
                              "    main: Acid\n"
                              "    flow: {constant: 500 m3/h}   # read in March\n";
  static const char overlay[] = "inward: 1 overlay\n"
                                "change:\n"
                                "  stations:\n"
                                "    A1:\n"
                                "      # from the tape\n"
                                "      width: 1.5 m   # clear\n"
                                "      name: \"Rinse: two\"\n"
                                "add:\n"
                                "  # feeler gauge\n"
                                "  leaks:\n"
                                "    L1: {from: Wet, to: outdoors, area: 100 cm2}   # the frame\n";
  static const char want[] = "# head\n"
                             "inward: 1 suite\n"
                             "\n"
                             "# the rooms\n"
                             "rooms: {Wet: {}}\n"
                             "# feeler gauge\n"
                             "leaks:\n"
                             "  L1: {from: Wet, to: outdoors, area: 100 cm2}   # the frame\n"
                             "mains:\n"
                             "  Acid: {}   # to come\n"
                             "stations:\n"
                             "  A1:   # row 3\n"
                             "    name: \"Rinse: two\"\n"
                             "    kind: wet bench\n"
                             "    room: Wet\n"
                             "    main: Acid\n"
                             "    # from the tape\n"
                             "    width: 1.5 m   # clear\n"
                             "    flow: {constant: 500 m3/h}   # read in March\n";
  struct facility_text a = {"a", suite, sizeof suite - 1}, b = {"b", overlay, sizeof overlay - 1};
  struct buf out;

  CHECK(print(&a, &b, 1, &out));
  CHECK_STR(out.text, want);
  buf_release(&out);
}

static void texts_that_look_like_something_else_are_quoted(void)
{
  static const char suite[] = "inward: 1 suite\n"
                              "name: \"a: b # c\"\n"
                              "note: |\n"
                              "  two\n"
                              "\n"
                              "    lines\n"
                              "rooms:\n"
                              "  R:\n"
                              "    name: '- it''s'\n"
                              "    note: \"tab\\there\"\n"
                              "    keeps: [{over: outdoors, at least: 5 Pa}]\n";
  struct facility_text a = {"a", suite, sizeof suite - 1};
  struct buf out;

  CHECK(print(&a, NULL, 0, &out));
  CHECK_INT(differences(&a, out.text), 0);
  buf_release(&out);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_is_printed_reads_back_as_the_same_suite_and_prints_the_same);
  RUN(comments_stay_with_their_keys_and_those_of_an_overlay_come_along);
  RUN(texts_that_look_like_something_else_are_quoted);
  return check_end();
}
