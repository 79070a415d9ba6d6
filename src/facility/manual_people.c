#include "facility/processes.h"
#include "facility/roster.h"
#include "facility/rules.h"
#include "facility/schema_impl.h"

/* docs/people-file.md and docs/processes-file.md: prose that no row of the table can hold, then it. */

static const char of_people[] =
    "# The people file\n"
    "\n"
    "Who may do what, as the offices that keep it write it down. The suite names the file:\n"
    "`files: {people: people.yaml}`. This page is printed by `inward schema --people` from the table\n"
    "that also checks the file; `inward check SUITE` reads the file, and `inward people SUITE` its\n"
    "tables: every row that is twice, blank, late or not understood is named with its cell.\n"
    "\n"
    "```yaml\n"
    "inward: 1 people\n"
    "endorsements:\n"
    "  wet: {name: Wet work, valid: 2 years, lapses unused: 6 months, source: house rule 20}\n"
    "people:\n"
    "  U90: {name: Nadezhda Oyelaran, granted: {wet: 2026-09-01}, last use: 2026-11-02}\n"
    "```\n"
    "\n"
    "It is written like a suite file ([how](suite-file.md#how-it-is-written)). Ids are unique beside\n"
    "those of the suite.\n"
    "\n"
    "**What is missing is never taken for granted.** A blank day is *not known*; so is a day in the\n"
    "future, one that two date styles read differently, and a status that no word explains. A person\n"
    "who stands there twice is made one only where nothing contradicts; else both rows are said and\n"
    "the stricter counts.\n"
    "\n"
    "**Keep it small.** Names, groups and days of use are personal data. The file works with ids\n"
    "alone; answers and pages show ids unless names are asked for (docs/handbook.md, \"Who may see\n"
    "what\").\n"
    "\n";

static const char of_processes[] =
    "# The processes file\n"
    "\n"
    "What is done where, as the written procedures say. The suite names the file:\n"
    "`files: {processes: processes.yaml}`. This page is printed by `inward schema --processes` from\n"
    "the table that also checks the file; `inward check SUITE` reads the file too.\n"
    "\n"
    "```yaml\n"
    "inward: 1 processes\n"
    "permission by: the wet-process desk\n"
    "processes:\n"
    "  P1: {name: Solvent clean, uses: [acetone], stations: [S1], family: organic}\n"
    "```\n"
    "\n"
    "It is written like a suite file ([how](suite-file.md#how-it-is-written)), with the same\n"
    "[units](suite-file.md#units). Ids are unique beside those of the suite. One process of this\n"
    "form, in a file of its own, is also what `inward may --request` reads.\n"
    "\n"
    "**Nothing here is a permission.** Whoever stands under `permission by` gives it.\n"
    "\n";

struct chapter {
  enum schema_struct_id id;
  int level; /* of its heading */
};

void roster_print_manual(struct buf *out)
{
  static const struct chapter chapters[] = {
      {STRUCT_roster_file, 2},        {STRUCT_part, 2},
      {STRUCT_roster_endorsement, 2}, {STRUCT_roster_hours, 2},
      {STRUCT_roster_holiday, 2},     {STRUCT_roster_table, 2},
      {STRUCT_roster_person, 2},      {STRUCT_roster_demotion, 2},
  };

  buf_puts(out, of_people);
  for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++)
    manual_chapter(chapters[i].id, chapters[i].level, out);
}

void processes_print_manual(struct buf *out)
{
  static const struct chapter chapters[] = {
      {STRUCT_processes_file, 2},
      {STRUCT_part, 2},
      {STRUCT_processes_process, 2},
      {STRUCT_processes_document, 3},
  };

  buf_puts(out, of_processes);
  for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++)
    manual_chapter(chapters[i].id, chapters[i].level, out);
}

void rules_print_manual(struct buf *out)
{
  static const struct chapter chapters[] = {
      {STRUCT_rules_file, 2},
      {STRUCT_part, 2},
      {STRUCT_rules_rule, 2},
      {STRUCT_rules_test, 3},
  };

  for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++)
    manual_chapter(chapters[i].id, chapters[i].level, out);
}
