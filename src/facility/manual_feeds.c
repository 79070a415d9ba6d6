#include "facility/feeds_impl.h"
#include "facility/schema_impl.h"

/* docs/feeds-file.md: prose that no row of the table can hold, then the table. */

static const char introduction[] =
    "# The feeds file\n"
    "\n"
    "What is measured where: which sources a suite has, and which part of it each of their values is\n"
    "about. The suite names the file: `files: {feeds: feeds.yaml}`. This page is printed by\n"
    "`inward schema --feeds` from the table that also checks the file; `inward check SUITE` reads the\n"
    "feeds file too and lists every fault with its place.\n"
    "\n"
    "```yaml\n"
    "inward: 1 feeds\n"
    "sources:\n"
    "  trend:\n"
    "    every: 5 min\n"
    "    old after: 15 min\n"
    "    csv: {separator: semicolon, decimal: comma, time: Time, pattern: DD.MM.YYYY hh:mm,\n"
    "        zone: Europe/Paris, missing: [No Data, \"###\"]}\n"
    "points:\n"
    "  A3-flow: {of: A3, what: flow, from: trend, at: \"A3 flow [m3/h]\", unit: m3/h}\n"
    "  A3-sash: {of: A3, what: opening, from: trend, at: \"A3 sash [%]\", unit: \"%\", full: 0.75 m}\n"
    "```\n"
    "\n"
    "It is written like a suite file ([how](suite-file.md#how-it-is-written)), with the same\n"
    "[units](suite-file.md#units). Ids of sources and points are unique beside those of the suite.\n"
    "\n"
    "A **source** says values: an e-mailed table, a broker, a controller, a person. A **point** is one\n"
    "value that one source says of one part. Inward only reads sources; nothing is ever written to one.\n"
    "\n"
    "**Nothing is guessed.** Decimal mark, order of a date, zone, unit, order of words in a register,\n"
    "and what is 100 % of a sash stand in this file or are a fault. A value that cannot be read, or\n"
    "that its source calls faulty, overridden or out of service, is kept as that and never counts as\n"
    "measured. No secret stands in this file: it names an environment variable (`env:NAME`) or a file\n"
    "that only its owner can read (`file:PATH`).\n"
    "\n";

static const struct {
  enum schema_struct_id id;
  int level; /* of its heading */
} chapters[] = {
    {STRUCT_feeds_file, 2},      {STRUCT_part, 2},
    {STRUCT_feeds_source, 2},    {STRUCT_feeds_csv, 3},
    {STRUCT_feeds_mqtt, 3},      {STRUCT_feeds_modbus, 3},
    {STRUCT_feeds_bacnet, 3},    {STRUCT_feeds_webhook, 3},
    {STRUCT_feeds_hand, 3},      {STRUCT_feeds_calendar, 3},
    {STRUCT_feeds_point, 2},     {STRUCT_feeds_alarm, 2},
    {STRUCT_feeds_keep, 2},      {STRUCT_feeds_faults, 2},
    {STRUCT_feeds_ranking, 3},   {STRUCT_feeds_price, 3},
    {STRUCT_feeds_smallest, 3},  {STRUCT_feeds_largest, 3},
    {STRUCT_feeds_lower, 2},     {STRUCT_feeds_reminders, 2},
    {STRUCT_feeds_figures, 2},   {STRUCT_feeds_night, 2},
    {STRUCT_feeds_incidents, 2}, {STRUCT_feeds_message, 2},
    {STRUCT_feeds_mail, 3},      {STRUCT_feeds_hook, 3},
};

static const char about_tables[] =
    "## How a table is read\n"
    "\n"
    "- UTF-8, UTF-16 with a mark, or Windows-1252; lines end in LF, CR LF or CR; cells may be quoted.\n"
    "- The columns stand in one of the first ten rows. A table that lacks a column of its points, has one\n"
    "  of them twice, names another unit in [brackets] behind a header than the point has, or differs\n"
    "  from `columns`, is refused whole, and its first ten lines are shown.\n"
    "- A row with more or fewer cells than the header, or a time that is not as `pattern` says, is named\n"
    "  with its line and left out; the rest is read. Empty cells behind the last column are nothing.\n"
    "- An empty cell and the words of `missing` are *missing*, never zero. Any other word, and a number\n"
    "  with blanks or marks between its digits, is *unreadable*.\n"
    "- In autumn an hour of local time comes twice. Which of the two a row is from is seen by the order\n"
    "  of the rows: where the time goes back once, the second hour begins. A row later than the file\n"
    "  came is of the first. What this does not settle is named and left out. In spring an hour is left\n"
    "  out; a row that says it is named: a source that keeps winter time all year has a `zone` such as\n"
    "  `Etc/GMT-1` (one hour east of Greenwich; the sign is turned round).\n"
    "- `clock ahead` is taken off each time. A time further ahead than `future` makes a value that does\n"
    "  not count. Values of a table are never *old* when it comes; for the present they are.\n"
    "\n"
    "`inward take SUITE TABLE --source ID --dry` says what would be read, and `inward feeds SUITE TABLE`\n"
    "proposes the mapping of a table that nobody has described yet.\n";

void feeds_print_manual(struct buf *out)
{
  buf_puts(out, introduction);
  for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++)
    manual_chapter(chapters[i].id, chapters[i].level, out);
  feeds_print_usual_alarms(out);
  buf_putc(out, '\n');
  buf_puts(out, about_tables);
}
