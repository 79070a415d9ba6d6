#include "facility/chemicals.h"
#include "facility/feeds.h"
#include "facility/processes.h"
#include "facility/reader_impl.h"
#include "facility/roster.h"
#include "facility/rules.h"

#include "check.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* What the examples of the manual stand in: each replaces its own section. */
static bool of_feeds(enum schema_struct_id id)
{
  return strncmp(schema_struct_at(id)->name, "feeds_", 6) == 0;
}

static bool of_chemicals(enum schema_struct_id id)
{
  return strncmp(schema_struct_at(id)->name, "chemicals_", 10) == 0;
}

/* The files about people: how their structs begin, what each begins with, and how it is read. */
static bool is_roster(const struct facility *f, const struct facility_text *t, struct complaints *c)
{
  struct roster *read = roster_read(f, t, c);

  roster_free(read);
  return read != NULL;
}

static bool is_processes(const struct facility *f, const struct facility_text *t,
                         struct complaints *c)
{
  struct processes *read = processes_read(f, t, c);

  processes_free(read);
  return read != NULL;
}

static bool is_rules(const struct facility *f, const struct facility_text *t, struct complaints *c)
{
  struct rules *read = rules_read(f, t, c);

  rules_free(read);
  return read != NULL;
}

static const struct {
  const char *prefix, *begin;
  int examples;
  bool (*reads)(const struct facility *f, const struct facility_text *t, struct complaints *c);
  void (*print)(struct buf *out);
} about_people[] = {
    {"roster_", "inward: 1 people\n", 6, is_roster, roster_print_manual},
    {"processes_", "inward: 1 processes\npermission by: the desk\n", 1, is_processes,
     processes_print_manual},
    {"rules_", "inward: 1 rules\n", 1, is_rules, rules_print_manual},
};
enum { ABOUT_PEOPLE = sizeof about_people / sizeof about_people[0] };

static int which_of_people(enum schema_struct_id id)
{
  for (int i = 0; i < ABOUT_PEOPLE; i++)
    if (strncmp(schema_struct_at(id)->name, about_people[i].prefix,
                strlen(about_people[i].prefix)) == 0)
      return i;
  return -1;
}

static bool of_suite(enum schema_struct_id id)
{
  return !of_feeds(id) && !of_chemicals(id) && which_of_people(id) < 0;
}

static const struct {
  const char *section, *text;
} around[] = {
    {"criteria", "criteria: {hood-face: {of: face velocity, low: 0.4 m/s, source: house rule}}\n"},
    {"rooms", "rooms: {Etch: {}, Gowning: {}}\n"},
    {"junctions", "junctions: {J1: {}, J2: {}, J3: {}, A-plenum: {}}\n"},
    {"leaks", "leaks: {L2: {from: Etch, to: Gowning, area: 1 cm2}, L9: {from: Gowning, to: "
              "outdoors, area: 1 cm2}}\n"},
    {"doors",
     "doors: {D1: {from: Etch, to: Gowning, closed: {area: 1 cm2}, open: {area: 1 m2}}}\n"},
    {"fans", "fans: {EF1: {from: A-plenum, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 "
             "Pa/(m3/s)2}}\n"},
    {"mains", "mains: {Acid: {at: A-plenum, fans: [EF1]}}\n"},
    {"exhausts", "exhausts: {X1: {from: Etch, main: Acid, flow: 400 m3/h}}\n"},
    {"stations",
     "stations:\n"
     "  S1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 9 m3/h}}\n"
     "  S2: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 9 m3/h}, opening: {work: 0.4 "
     "m}}\n"
     "  S3: {kind: wet bench, room: Etch, main: Acid, flow: {constant: 9 m3/h}, deck: 30 %}\n"},
};

static void put_around(const char *example, struct buf *out)
{
  buf_puts(out, "inward: 1 suite\n");
  for (size_t i = 0; i < sizeof around / sizeof *around; i++)
    if (strncmp(example, around[i].section, strlen(around[i].section)) != 0)
      buf_puts(out, around[i].text);
}

/* The same for the feeds file: a suite with what they name, and sections. */
static const char suite_of_feeds[] =
    "inward: 1 suite\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L: {from: Wet, to: Gown, area: 1 cm2}, M: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "fans: {AF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [AF]}}\n"
    "stations: {A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 9 m3/h}}}\n";

static const struct {
  const char *section, *text;
} around_feeds[] = {
    {"sources",
     "sources:\n"
     "  trend: {csv: {separator: tab, decimal: point, time: T, pattern: ISO, zone: UTC}}\n"
     "  panel: {modbus: {host: localhost, words: high first}}\n"
     "  building: {bacnet: {host: localhost, device: 7}}\n"},
    {"points", "points: {}\n"},
};

static void is_feeds_without_fault(const char *suite, const char *feeds)
{
  struct facility_text s = {"suite.yaml", suite, strlen(suite)};
  struct facility_text f = {"feeds.yaml", feeds, strlen(feeds)};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&s, NULL, 0, &complaints);
  struct feeds *read = facility ? feeds_read(facility, &f, &complaints) : NULL;

  CHECK(read != NULL);
  for (int i = 0; i < complaints.count; i++)
    printf("      %s:%d: %s\n", complaints.list[i].place.file, complaints.list[i].place.line,
           complaints.list[i].text);
  feeds_free(read);
  facility_free(facility);
  arena_release(&arena);
}

static void every_example_of_the_feeds_manual_is_right(void)
{
  int examples = 0;

  for (int id = 0; id < STRUCT_COUNT; id++) {
    const struct schema_struct *s = schema_struct_at((enum schema_struct_id)id);
    struct buf file;

    if (!s->example || strncmp(s->name, "feeds_", 6) != 0)
      continue;
    CHECK_CASE("%s", s->example);
    buf_init(&file, 1 << 16);
    buf_puts(&file, "inward: 1 feeds\n");
    for (size_t i = 0; i < sizeof around_feeds / sizeof *around_feeds; i++)
      if (strncmp(s->example, around_feeds[i].section, strlen(around_feeds[i].section)) != 0)
        buf_puts(&file, around_feeds[i].text);
    buf_puts(&file, s->example);
    is_feeds_without_fault(suite_of_feeds, file.text);
    buf_release(&file);
    examples++;
  }
  CHECK(examples >= 8);
}

static const char suite_of_chemicals[] =
    "inward: 1 suite\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations: {A4: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}}\n";

/* What the sections of a wet bench name of one another. */
static const struct {
  const char *section, *text;
} around_chemicals[] = {
    {"tanks", "tanks:\n"
              "  T-1: {station: A4, bath: sc-1, volume: 18 L, least: 15 L, drain: d, source: s}\n"
              "  T-2: {station: A4, bath: sc-2, volume: 18 L, drain: d, source: s}\n"},
    {"drains", "drains: {DR-2: {station: A4, route: house drain, takes: [water], source: s}}\n"},
    {"rinses", "rinses: {R-1: {station: A4, dumps: 5, source: s}}\n"},
    {"trays", "trays: {TR-9: {station: A4, under: [T-1], seen by: P, source: s}}\n"},
};

static void put_around_chemicals(const char *example, struct buf *out)
{
  buf_puts(out, "inward: 1 chemicals\n");
  for (size_t i = 0; i < sizeof around_chemicals / sizeof *around_chemicals; i++)
    if (strncmp(example, around_chemicals[i].section, strlen(around_chemicals[i].section)) != 0)
      buf_puts(out, around_chemicals[i].text);
}

static void is_chemicals_without_fault(const char *text)
{
  struct facility_text s = {"suite.yaml", suite_of_chemicals, sizeof suite_of_chemicals - 1};
  struct facility_text file = {"chemicals.yaml", text, strlen(text)};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&s, NULL, 0, &complaints);
  struct chemicals *chemicals = facility ? chemicals_read(facility, &file, &complaints) : NULL;

  CHECK(chemicals != NULL);
  for (int i = 0; i < complaints.count; i++)
    printf("      %s:%d: %s\n", complaints.list[i].place.file, complaints.list[i].place.line,
           complaints.list[i].text);
  chemicals_free(chemicals);
  facility_free(facility);
  arena_release(&arena);
}

static void every_example_of_the_chemicals_manual_is_right(void)
{
  int examples = 0;

  for (int id = 0; id < STRUCT_COUNT; id++) {
    const struct schema_struct *s = schema_struct_at((enum schema_struct_id)id);
    struct buf file;

    if (!of_chemicals((enum schema_struct_id)id) || !s->example)
      continue;
    CHECK_CASE("%s", s->example);
    buf_init(&file, 1 << 16);
    put_around_chemicals(s->example, &file);
    buf_puts(&file, s->example);
    is_chemicals_without_fault(file.text);
    buf_release(&file);
    examples++;
  }
  CHECK_INT(examples, 12);
}

static void is_about_people_without_fault(int which, const char *text)
{
  struct facility_text s = {"suite.yaml", suite_of_chemicals, sizeof suite_of_chemicals - 1};
  struct facility_text file = {"file.yaml", text, strlen(text)};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&s, NULL, 0, &complaints);

  CHECK(facility && about_people[which].reads(facility, &file, &complaints));
  for (int i = 0; i < complaints.count; i++)
    printf("      %s:%d: %s\n", complaints.list[i].place.file, complaints.list[i].place.line,
           complaints.list[i].text);
  facility_free(facility);
  arena_release(&arena);
}

static void every_example_of_the_manuals_about_people_is_right(void)
{
  int examples[ABOUT_PEOPLE] = {0};

  for (int id = 0; id < STRUCT_COUNT; id++) {
    const struct schema_struct *s = schema_struct_at((enum schema_struct_id)id);
    int which = which_of_people((enum schema_struct_id)id);
    struct buf file;

    if (which < 0 || !s->example)
      continue;
    CHECK_CASE("%s", s->example);
    buf_init(&file, 1 << 16);
    buf_puts(&file, about_people[which].begin);
    buf_puts(&file, s->example);
    is_about_people_without_fault(which, file.text);
    buf_release(&file);
    examples[which]++;
  }
  for (int i = 0; i < ABOUT_PEOPLE; i++)
    CHECK_INT(examples[i], about_people[i].examples);
}

static void the_first_example_of_the_feeds_manual_is_a_feeds_file(void)
{
  struct buf manual;

  buf_init(&manual, 1 << 20);
  feeds_print_manual(&manual);
  CHECK(!manual.full);

  char *start = strstr(manual.text, "```yaml\n");
  char *end = start ? strstr(start + 8, "```\n") : NULL;

  if (CHECK(end != NULL) && end) {
    *end = '\0';
    is_feeds_without_fault(suite_of_feeds, start + 8);
  }
  buf_release(&manual);
}

static void reads_without_fault(const char *suite, const char *overlay)
{
  struct facility_text s = {"suite.yaml", suite, strlen(suite)};
  struct facility_text o = {"overlay.yaml", overlay, overlay ? strlen(overlay) : 0};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&s, &o, overlay ? 1 : 0, &complaints);

  CHECK(facility != NULL);
  for (int i = 0; i < complaints.count; i++)
    printf("      %s:%d: %s\n", complaints.list[i].place.file, complaints.list[i].place.line,
           complaints.list[i].text);
  facility_free(facility);
  arena_release(&arena);
}

static void every_example_of_the_manual_is_right(void)
{
  int examples = 0;

  for (int id = 0; id < STRUCT_COUNT; id++) {
    const char *example = schema_struct_at((enum schema_struct_id)id)->example;
    struct buf suite;

    if (!example || !of_suite((enum schema_struct_id)id))
      continue;
    CHECK_CASE("%s", example);
    buf_init(&suite, 1 << 16);
    put_around(example, &suite);
    if (id == STRUCT_overlay) {
      reads_without_fault(suite.text, example);
    } else {
      buf_puts(&suite, example);
      reads_without_fault(suite.text, NULL);
    }
    buf_release(&suite);
    examples++;
  }
  CHECK(examples >= 18);
}

static void the_first_example_of_the_manual_is_a_suite(void)
{
  struct buf manual;

  buf_init(&manual, 1 << 20);
  facility_print_manual(&manual);
  CHECK(!manual.full);

  char *start = strstr(manual.text, "```yaml\n");
  char *end = start ? strstr(start + 8, "```\n") : NULL;

  if (CHECK(end != NULL) && end) {
    *end = '\0';
    reads_without_fault(start + 8, NULL);
  }
  buf_release(&manual);
}

static void the_manuals_name_every_key(void)
{
  struct buf suites, feeds, chemicals, people[ABOUT_PEOPLE];

  buf_init(&suites, 1 << 20);
  buf_init(&feeds, 1 << 20);
  buf_init(&chemicals, 1 << 20);
  for (int i = 0; i < ABOUT_PEOPLE; i++) {
    buf_init(&people[i], 1 << 20);
    about_people[i].print(&people[i]);
  }
  chemicals_print_manual(&chemicals);
  facility_print_manual(&suites);
  feeds_print_manual(&feeds);
  for (int row = 0; row < KEY_COUNT; row++) {
    const struct schema_key *key = schema_key_at(row);
    char cell[100];

    if (!key->key)
      continue;
    snprintf(cell, sizeof cell, "| `%s` | ", key->key);
    CHECK_CASE("%s", key->key);
    if (of_feeds(key->owner))
      CHECK(strstr(feeds.text, cell) != NULL);
    else if (of_chemicals(key->owner))
      CHECK(strstr(chemicals.text, cell) != NULL);
    else if (which_of_people(key->owner) >= 0)
      CHECK(strstr(people[which_of_people(key->owner)].text, cell) != NULL);
    else
      CHECK(strstr(suites.text, cell) != NULL);
  }
  for (int i = 0; i < ABOUT_PEOPLE; i++)
    buf_release(&people[i]);
  buf_release(&suites);
  buf_release(&feeds);
  buf_release(&chemicals);
}

/* Each default of the table must itself be a value the key accepts. */
static void every_default_can_be_read(void)
{
  for (int row = 0; row < KEY_COUNT; row++) {
    const struct schema_key *key = schema_key_at(row);
    struct units_quantity q;

    if (!key->key || !key->fallback || key->kind != SCHEMA_QUANTITY)
      continue;
    CHECK_CASE("%s: %s", key->key, key->fallback);
    CHECK(units_parse(key->fallback, key->dimension, UNITS_NOTHING, &q, NULL) == ERR_OK);
    CHECK(!key->bounded || (q.si >= key->low && q.si <= key->high));
  }
}

/* A form must be decided by a key of its own struct, and know only such keys. */
static void forms_know_only_keys_of_their_struct(void)
{
  for (int i = 0; i < FORM_COUNT; i++) {
    const struct schema_form *form = schema_form_at((enum schema_form_id)i);
    const char *const lists[] = {form->deciding, form->needs, form->allows};
    char entry[64];

    CHECK_CASE("%s of %s", form->name, schema_struct_at(form->owner)->name);
    for (int k = 0; k < 3; k++)
      for (int e = 0; schema_entry(lists[k], e, "|/", entry, sizeof entry); e++)
        CHECK(schema_find(form->owner, entry) >= 0);
    CHECK(schema_in_form(form, form->deciding));
    CHECK(schema_group_of(form->owner, form->group) != NULL);
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(every_example_of_the_manual_is_right);
  RUN(every_example_of_the_chemicals_manual_is_right);
  RUN(every_example_of_the_manuals_about_people_is_right);
  RUN(the_first_example_of_the_manual_is_a_suite);
  RUN(the_manuals_name_every_key);
  RUN(every_example_of_the_feeds_manual_is_right);
  RUN(the_first_example_of_the_feeds_manual_is_a_feeds_file);
  RUN(every_default_can_be_read);
  RUN(forms_know_only_keys_of_their_struct);
  return check_end();
}
