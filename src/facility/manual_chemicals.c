#include "facility/chemicals.h"
#include "facility/schema_impl.h"

/* docs/chemicals-file.md: prose that no row of the table can hold, then the table. */

static const char introduction[] =
    "# The chemicals file\n"
    "\n"
    "What a suite says of its own chemistry: approved procedures, bottles, baths, etch rates that were\n"
    "measured here, limits that count here, tanks, drains, leak trays, heaters, waste streams and stores. The suite names the file:\n"
    "`files: {chemicals: chemicals.yaml}`. This page is printed by `inward schema --chemicals` from the\n"
    "table that also checks the file; `inward check SUITE` reads the file too.\n"
    "\n"
    "```yaml\n"
    "inward: 1 chemicals\n"
    "bottles:\n"
    "  hf-40: {of: hf, assay: 40 wt%, density: 1.13 kg/L, source: label of lot 7}\n"
    "```\n"
    "\n"
    "It is written like a suite file ([how](suite-file.md#how-it-is-written)), with the same\n"
    "[units](suite-file.md#units). Ids are unique beside those of the suite. What stands here goes\n"
    "before the tables that come with Inward, and every answer that uses it says so.\n"
    "\n"
    "**Nothing here is a permission.** A procedure tells Inward which volumes it may print where; who\n"
    "signs the procedure decides whether anybody may do it.\n"
    "\n";

static const struct {
  enum schema_struct_id id;
  int level; /* of its heading */
} chapters[] = {
    {STRUCT_chemicals_file, 2},      {STRUCT_part, 2},
    {STRUCT_chemicals_procedure, 2}, {STRUCT_chemicals_stock, 2},
    {STRUCT_chemicals_bath, 2},      {STRUCT_chemicals_bath_part, 3},
    {STRUCT_chemicals_rate, 2},      {STRUCT_chemicals_limit, 2},
    {STRUCT_chemicals_tank, 2},      {STRUCT_chemicals_drain, 2},
    {STRUCT_chemicals_rinse, 2},     {STRUCT_chemicals_tray, 2},
    {STRUCT_chemicals_heater, 2},    {STRUCT_chemicals_stream, 2},
    {STRUCT_chemicals_store, 2},     {STRUCT_chemicals_amount, 3},
    {STRUCT_chemicals_most, 3},
};

void chemicals_print_manual(struct buf *out)
{
  buf_puts(out, introduction);
  for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++)
    manual_chapter(chapters[i].id, chapters[i].level, out);
}
