#include "check.h"
#include "facility/facility.h"

#include <string.h>

static const char suite[] =
    "inward: 1 suite\n"
    "rooms: {Wet: {}}   # one\n"
    "mains:\n"
    "  Acid: {}\n"
    "stations:\n"
    "  # the old bench\n"
    "  A1:   # row 3\n"
    "    name: 'It''s: one'   # as people say\n"
    "    kind: wet bench\n"
    "    room: Wet\n"
    "    main: Acid\n"
    "    flow: {two-state: {parked: 500 m3/h, work: 1000 m3/h}}   # E-01\n"
    "    not here: [solvents, \"a, b\"]\n"
    "    note: |\n"
    "      two\n"
    "      lines\n"
    "  # the new one\n"
    "  A2: {kind: wet bench, room: Wet, main: Acid, flow: {constant: 5 m3/h}}   # row 4\n"
    "\n"
    "# what we try\n"
    "scenes: {}\n";

static void edited(const struct facility_edit *edits, int count, bool is_suite, struct buf *out)
{
  struct facility_text text = {"a", suite, sizeof suite - 1};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, 1 << 22);
  complaints_init(&complaints, &arena);
  buf_init(out, 1 << 16);
  CHECK(facility_edit(&text, edits, count, &complaints, out));

  struct facility_text after = {"b", out->text, out->used};
  struct facility *facility = facility_read(&after, NULL, 0, &complaints);

  CHECK(facility || !is_suite);
  facility_free(facility);
  arena_release(&arena);
}

/* The suite with one text in it replaced. */
static void with(const char *old, const char *new, struct buf *out)
{
  const char *at = strstr(suite, old);

  buf_init(out, 1 << 16);
  buf_add(out, suite, (size_t)(at - suite));
  buf_puts(out, new);
  buf_puts(out, at + strlen(old));
}

static const struct {
  struct facility_edit edit;
  const char *old, *new;
} cases[] = {
    {{"stations", "A1", "flow, two-state, work", "1200 m3/h"}, "1000 m3/h", "1200 m3/h"},
    {{"stations", "A1", "name", "Two"}, "'It''s: one'", "Two"},
    {{"stations", "A1", "flow", "{constant: 7 m3/h}"},
     "{two-state: {parked: 500 m3/h, work: 1000 m3/h}}",
     "{constant: 7 m3/h}"},
    {{"stations", "A1", "not here", "[acids]"}, "[solvents, \"a, b\"]", "[acids]"},
    {{"stations", "A1", "note", "\"one\""}, "|\n      two\n      lines", "\"one\""},
    {{"stations", "A1", "width", "1.5 m"},
     "    main: Acid\n    flow",
     "    main: Acid\n    width: 1.5 m\n    flow"},
    {{"stations", "A1", "opening, work", "0.45 m"},
     "    main: Acid\n    flow",
     "    main: Acid\n    opening: {work: 0.45 m}\n    flow"},
    {{"stations", "A2", "width", "1.5 m"}, "main: Acid, flow", "main: Acid, width: 1.5 m, flow"},
    {{"stations", "A2", "name", "Z"}, "{kind: wet bench, room", "{name: Z, kind: wet bench, room"},
    {{"stations", "A2", "flow, constant", "6 m3/h"}, "constant: 5", "constant: 6"},
    {{"rooms", "Dry", NULL, "{}"}, "{Wet: {}}", "{Wet: {}, Dry: {}}"},
    {{"mains", "Base", NULL, "{}"}, "  Acid: {}\n", "  Acid: {}\n  Base: {}\n"},
    {{"stations", "A2", NULL, NULL},
     "  A2: {kind: wet bench, room: Wet, main: Acid, flow: {constant: 5 m3/h}}   # row 4\n",
     ""},
};

static void an_edit_changes_its_value_and_no_other_byte(void)
{
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct buf got, want;

    CHECK_CASE("%s %s", cases[i].edit.id, cases[i].edit.key ? cases[i].edit.key : "");
    edited(&cases[i].edit, 1, strcmp(cases[i].edit.id, "Dry") != 0, &got);
    with(cases[i].old, cases[i].new, &want);
    CHECK_STR(got.text, want.text);
    buf_release(&got);
    buf_release(&want);
  }
}

static void a_new_part_comes_behind_the_last_of_its_section(void)
{
  static const struct facility_edit edits[] = {
      {"stations", "A3", "kind", "fume hood"}, {"stations", "A3", "room", "Wet"},
      {"stations", "A3", "main", "Acid"},      {"stations", "A3", "flow", "{constant: 9 m3/h}"},
      {"exhausts", "X1", "from", "Wet"},       {"exhausts", "X1", "main", "Acid"},
      {"exhausts", "X1", "flow", "3 m3/h"}};
  struct buf got;

  edited(edits, 7, true, &got);
  CHECK(strstr(got.text, "# row 4\n  A3:\n    kind: fume hood\n    room: Wet\n    main: Acid\n"
                         "    flow: {constant: 9 m3/h}\n\n# what we try\n"));
  CHECK(strstr(got.text, "\nexhausts:\n  X1:\n    from: Wet\n"));
  buf_release(&got);
}

static void leaves_are_the_values_as_a_reader_sees_them(void)
{
  struct facility_text text = {"a", suite, sizeof suite - 1};
  const struct facility_leaf *list;
  struct complaints complaints;
  struct arena arena;
  int found = 0, count;

  arena_init(&arena, 1 << 22);
  complaints_init(&complaints, &arena);
  count = facility_leaves(&text, &arena, &complaints, &list);
  for (int i = 0; i < count; i++) {
    if (!list[i].id || strcmp(list[i].id, "A1") != 0)
      continue;
    if (strcmp(list[i].key, "name") == 0)
      found += strcmp(list[i].text, "It's: one") == 0;
    if (strcmp(list[i].key, "not here") == 0)
      found += strcmp(list[i].text, "solvents; a, b") == 0;
    if (strcmp(list[i].key, "flow, two-state, work") == 0)
      found += strcmp(list[i].text, "1000 m3/h") == 0 && list[i].place.line == 12;
  }
  CHECK_INT(found, 3);
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(an_edit_changes_its_value_and_no_other_byte);
  RUN(a_new_part_comes_behind_the_last_of_its_section);
  RUN(leaves_are_the_values_as_a_reader_sees_them);
  return check_end();
}
