#include "facility/facility.h"
#include "facility/schema_impl.h"

#include <string.h>

/* docs/suite-file.md: prose that no row of the table can hold, then the table. */

static const char introduction[] =
    "# The suite file\n"
    "\n"
    "One file describes one suite: its rooms, its plant and its stations. This page is printed by\n"
    "`inward schema` from the table that also checks the file, so it cannot say anything else than\n"
    "the program does. `inward check SUITE` lists every fault with its place.\n"
    "\n"
    "The smallest suite that can be computed:\n"
    "\n"
    "```yaml\n"
    "inward: 1 suite\n"
    "rooms:\n"
    "  Lab: {}\n"
    "leaks:\n"
    "  L1: {from: outdoors, to: Lab, area: 0.03 m2}\n"
    "mains:\n"
    "  Acid: {}\n"
    "stations:\n"
    "  H1: {kind: fume hood, room: Lab, main: Acid, flow: {constant: 900 m3/h}}\n"
    "```\n"
    "\n"
    "## How it is written\n"
    "\n"
    "The file is YAML, in UTF-8, one document. Every value is text: nothing changes its type behind\n"
    "your back. Blanks indent, tabs do not; `#` after a blank begins a comment; a value that\n"
    "contains `: ` or ` #`, or begins with one of `[ ] { } , & * ! | > ' \" % @`, needs \"quotes\".\n"
    "A text in 'single quotes' ends on its line. Lines end in LF or CR LF.\n"
    "Anchors, aliases, tags and lines beginning with `%` are not used. The first key is\n"
    "`inward: 1 suite`. The order of the other keys is free, and the order of parts is kept in\n"
    "every answer.\n"
    "\n"
    "**Ids** name parts: a letter, then up to 31 letters, digits, `_` or `-`. They are unique over\n"
    "the whole suite, whatever the kind. `outdoors` is the outdoor air. Derived ids are made by the\n"
    "program: `MU1/Etch` is the terminal of supply MU1 in room Etch, `MU1/plenum` its plenum,\n"
    "`EF1/2` the second of the equal units of fan EF1.\n"
    "\n"
    "**Quantities** are `value unit`, such as `450 m3/h` or `-12.5 Pa`. A bare number is a fault.\n"
    "The decimal mark is a point; there are no thousands separators. A tolerance may follow, in the\n"
    "same dimension or in percent: `15 Pa ± 2 Pa`, `450 m3/h +/- 5 %`; it says how far the figure\n"
    "may be off and widens every answer that depends on it; without it the section `doubts` decides.\n"
    "Where a table below says *quantity at quantity*, and only there, write both: `180 Pa ± 10 % at\n"
    "1450 m3/h ± 5 %`. Flows are actual volume flows at the air's own density; units of\n"
    "standard flow are refused. Coefficients and exponents are bare numbers. The units of each\n"
    "dimension are listed at the end of this page.\n"
    "\n"
    "**Yes or no** is `yes` or `no`. **A list** is `[a, b]` or lines with `- `. **A map** is\n"
    "`{key: value}` or indented lines. `{}`, or nothing at all, is a map without keys.\n"
    "\n"
    "**Defaults.** A key without a default and not marked *required* may be left out; the column\n"
    "says what then holds. Defaults worth knowing are *assumed*: each answer lists them.\n"
    "\n"
    "**Limits of a file:** 8 MB, nested 12 deep, 5,000 parts, 200,000 entries, 200 points in a\n"
    "curve, texts of 4,000 bytes.\n"
    "\n"
    "## What the numbers mean\n"
    "\n"
    "Nodes are the rooms, the junctions, `outdoors` and each supply's plenum. Links are leaks,\n"
    "doors, ducts, fans, exhausts, stations and feeds. Flow is positive from → to; a station takes\n"
    "air from its room to its junction, a feed brings it from the plenum to its room. The balance\n"
    "of every node is in kg/s; a volume flow is that of the air entering the link.\n"
    "\n"
    "Pressures are gauge: counted from the outdoor air at the same height, so `outdoors` is 0 Pa. A\n"
    "*keep* is room minus neighbour. Where a link joins nodes of different `elevation`, the weight\n"
    "of the air between them acts: (ρ_outdoors − ρ_from) · 9.80665 m/s² · (z_to − z_from), ASHRAE\n"
    "Handbook Fundamentals 2021 ch. 21. A link to `outdoors` opens at its other end's own height.\n"
    "\n"
    "A node's density is that of moist air at its temperature, its humidity and the site pressure;\n"
    "gauge pressure is too small to matter. `air: {density, viscosity}` fixes both everywhere,\n"
    "which turns the suite into a neutral network for a textbook case: junctions with `pressure`,\n"
    "`gives` or `takes`, and ducts between them.\n"
    "\n"
    "To write such a case, a page of a book becomes: every point with a known pressure a junction\n"
    "with `pressure`; every known inflow `gives`, every known outflow `takes`; every pipe, duct or\n"
    "valve a duct with the form that fits what the book gives; at least one pressure must be known\n"
    "(`outdoors` counts, if something leads there).\n"
    "\n";

static const struct chapter {
  enum schema_struct_id id;
  int level; /* of its heading */
} chapters[] = {
    {STRUCT_suite, 2},      {STRUCT_part, 2},           {STRUCT_site, 2},
    {STRUCT_air, 2},        {STRUCT_outdoors, 2},       {STRUCT_limits, 2},
    {STRUCT_doubts, 2},     {STRUCT_at_best, 3},        {STRUCT_files, 2},
    {STRUCT_criterion, 2},  {STRUCT_room, 2},           {STRUCT_keep, 3},
    {STRUCT_junction, 2},   {STRUCT_leak, 2},           {STRUCT_leak_law, 3},
    {STRUCT_door, 2},       {STRUCT_duct, 2},           {STRUCT_resistance, 3},
    {STRUCT_fan, 2},        {STRUCT_fan_hold, 3},       {STRUCT_main, 2},
    {STRUCT_capacity, 3},   {STRUCT_threshold, 3},      {STRUCT_supply, 2},
    {STRUCT_feed, 3},       {STRUCT_feed_hold, 3},      {STRUCT_feed_follow, 3},
    {STRUCT_exhaust, 2},    {STRUCT_station, 2},        {STRUCT_opening, 3},
    {STRUCT_flow_rule, 3},  {STRUCT_two_state, 3},      {STRUCT_follows, 3},
    {STRUCT_passive, 3},    {STRUCT_glass_mark, 3},     {STRUCT_glass_piece, 3},
    {STRUCT_wear, 3},       {STRUCT_document, 3},       {STRUCT_deck_flow, 3},
    {STRUCT_scene, 2},      {STRUCT_scene_outdoors, 3}, {STRUCT_glass_rules, 2},
    {STRUCT_kept_off, 3},   {STRUCT_unattended, 2},     {STRUCT_unattended_wait, 3},
    {STRUCT_rounds, 2},     {STRUCT_round_item, 3},     {STRUCT_readiness, 2},
    {STRUCT_proof, 3},      {STRUCT_walk, 2},           {STRUCT_walk_room, 3},
    {STRUCT_walk_face, 3},  {STRUCT_walk_duct, 3},      {STRUCT_walk_supply, 3},
    {STRUCT_walk_speed, 3}, {STRUCT_walk_flow, 3},      {STRUCT_match, 2},
    {STRUCT_day, 2},        {STRUCT_after, 2},          {STRUCT_responds, 3},
    {STRUCT_overlay, 2},
};

/* GitHub's anchor of a heading: small letters, blanks to hyphens. */
static void link_to(enum schema_struct_id id, struct buf *out)
{
  const char *title = schema_struct_at(id)->title;

  buf_printf(out, "[%s](#", title);
  for (const char *c = title; *c; c++)
    buf_putc(out, *c == ' ' ? '-' : *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c);
  buf_puts(out, ")");
}

static void list_of_words(const char *words, struct buf *out)
{
  char entry[64];

  for (int i = 0; schema_entry(words, i, "|", entry, sizeof entry); i++)
    buf_printf(out, "%s`%s`", i == 0 ? "" : " · ", entry);
}

static void id_of(uint64_t kinds, struct buf *out)
{
  buf_puts(out, "id of ");
  schema_kinds_words(kinds, out);
}

static void item_words(const struct schema_key *key, struct buf *out)
{
  if (key->item == SCHEMA_TEXT)
    buf_puts(out, "text");
  else if (key->item == SCHEMA_OPENING)
    buf_puts(out, "`parked` · `work` · length");
  else
    buf_puts(out, units_words(key->dimension));
}

/* What a key holds. */
static void value_words(const struct schema_key *key, struct buf *out)
{
  switch (key->kind) {
  case SCHEMA_TEXT:
    buf_puts(out, "text");
    if (key->longest)
      buf_printf(out, ", at most %d character%s", key->longest, key->longest == 1 ? "" : "s");
    break;
  case SCHEMA_TEXTS:
    buf_puts(out, "list of texts");
    break;
  case SCHEMA_DATE:
    buf_puts(out, "date, as 2026-03-19");
    break;
  case SCHEMA_YES_NO:
    buf_puts(out, "`yes` · `no`");
    break;
  case SCHEMA_WORD:
    list_of_words(key->words, out);
    break;
  case SCHEMA_COUNT:
    buf_puts(out, "whole number");
    break;
  case SCHEMA_QUANTITY:
    buf_puts(out, units_words(key->dimension));
    break;
  case SCHEMA_LIMIT:
    buf_puts(out, "velocity or volume flow");
    break;
  case SCHEMA_PAIR:
  case SCHEMA_PAIRS:
    buf_printf(out, "%s%s *at* %s", key->kind == SCHEMA_PAIRS ? "list of " : "",
               units_words(key->dimension), units_words(key->at));
    break;
  case SCHEMA_OPENING:
    item_words(key, out);
    break;
  case SCHEMA_REF:
    id_of(key->refs, out);
    break;
  case SCHEMA_REFS:
    buf_puts(out, "list: ");
    id_of(key->refs, out);
    break;
  case SCHEMA_MAP:
    buf_puts(out, "map: ");
    if (key->refs)
      id_of(key->refs, out);
    else
      buf_puts(out, "count");
    buf_puts(out, " → ");
    item_words(key, out);
    break;
  case SCHEMA_STRUCT:
    link_to(key->nested, out);
    break;
  case SCHEMA_WORD_OR_STRUCT:
    list_of_words(key->words, out);
    buf_puts(out, " · ");
    link_to(key->nested, out);
    break;
  case SCHEMA_STRUCTS:
    buf_puts(out, "list of ");
    link_to(key->nested, out);
    break;
  case SCHEMA_PARTS:
    buf_puts(out, "map: id → ");
    link_to(key->nested, out);
    break;
  case SCHEMA_PARTS_BY_REF:
    buf_puts(out, "map: ");
    id_of(key->refs, out);
    buf_puts(out, " → ");
    link_to(key->nested, out);
    break;
  case SCHEMA_INCLUDE:
  case SCHEMA_ANY:
    buf_puts(out, "see below");
    break;
  }
}

static bool has_dimension(const struct schema_key *key)
{
  return key->kind == SCHEMA_QUANTITY || key->kind == SCHEMA_PAIR || key->kind == SCHEMA_PAIRS ||
         key->kind == SCHEMA_OPENING || (key->kind == SCHEMA_MAP && key->item != SCHEMA_TEXT);
}

static void range_words(const struct schema_key *key, struct buf *out)
{
  enum units_dimension dimension = has_dimension(key) ? key->dimension : UNITS_RATIO;

  if (!key->bounded)
    return;
  buf_puts(out, key->low_open ? "above " : "");
  schema_bound(key->low, dimension, out);
  buf_puts(out, key->low_open ? ", to " : " to ");
  schema_bound(key->high, dimension, out);
}

static void default_words(const struct schema_key *key, bool chosen, struct buf *out)
{
  if (key->required)
    buf_puts(out, "**required**");
  else if (key->assumed)
    buf_printf(out, "`%s`, assumed: %s", key->fallback, key->assumed);
  else if (key->fallback)
    buf_printf(out, "`%s`", key->fallback);
  else if (key->otherwise)
    buf_puts(out, key->otherwise);
  else if (chosen)
    buf_puts(out, "see the forms");
  else
    buf_puts(out, "none");
}

static bool in_any_form(const struct schema_key *key)
{
  for (int g = 0; g < SCHEMA_GROUPS; g++)
    if (schema_group_of(key->owner, g) && schema_in_group(key->owner, g, key->key))
      return true;
  return false;
}

static void print_keys(enum schema_struct_id id, struct buf *out)
{
  for (int row = schema_struct_at(id)->first; schema_more(id, row); row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->kind == SCHEMA_INCLUDE)
      continue;
    buf_printf(out, "| `%s` | %s%s%s | ", key->key, key->doc, key->find ? ". *Found:* " : "",
               key->find ? key->find : "");
    value_words(key, out);
    buf_puts(out, " | ");
    range_words(key, out);
    buf_puts(out, " | ");
    default_words(key, in_any_form(key), out);
    buf_puts(out, " |\n");
  }
}

static void print_included(enum schema_struct_id id, struct buf *out)
{
  const char *glue = "\nAnd the keys of ";

  for (int row = schema_struct_at(id)->first; schema_more(id, row); row++) {
    if (schema_key_at(row)->kind != SCHEMA_INCLUDE || schema_key_at(row)->nested == STRUCT_sections)
      continue;
    buf_puts(out, glue);
    link_to(schema_key_at(row)->nested, out);
    glue = " and ";
  }
  if (glue[0] == ' ')
    buf_puts(out, ".\n");
}

static void print_form(const struct schema_form *form, struct buf *out)
{
  char entry[64];

  buf_puts(out, "| ");
  for (const char *c = form->needs; *c;) {
    size_t length = strcspn(c, "|/");

    buf_printf(out, "`%.*s`", (int)length, c);
    c += length;
    if (*c)
      buf_puts(out, *c++ == '|' ? " with " : " or ");
  }
  buf_puts(out, " | ");
  for (int i = 0; schema_entry(form->allows, i, "|", entry, sizeof entry); i++)
    buf_printf(out, "%s`%s`", i == 0 ? "" : ", ", entry);
  buf_printf(out, " | %s | %s |\n", form->words, form->equation ? form->equation : "");
}

static void print_forms(enum schema_struct_id id, struct buf *out)
{
  for (int g = 0; g < SCHEMA_GROUPS; g++) {
    const struct schema_group *group = schema_group_of(id, g);

    if (!group)
      continue;
    buf_printf(out,
               "\n%s one form of the %s:\n\n| keys | may add | which is | law |\n"
               "|---|---|---|---|\n",
               group->required ? "Exactly" : "At most", group->words);
    for (int i = 0; i < FORM_COUNT; i++) {
      const struct schema_form *form = schema_form_at((enum schema_form_id)i);

      if (form->owner == id && form->group == g && !schema_form_hidden(form))
        print_form(form, out);
    }
  }
}

void manual_chapter(enum schema_struct_id id, int level, struct buf *out)
{
  const struct schema_struct *s = schema_struct_at(id);

  buf_printf(out, "%s %s\n\n", level == 2 ? "##" : "###", s->title);
  if (s->doc[0])
    buf_printf(out, "%s\n\n", s->doc);
  buf_puts(out, "| key | what it is | value | range | without it |\n|---|---|---|---|---|\n");
  print_keys(id, out);
  if (id == STRUCT_suite)
    print_keys(STRUCT_sections, out);
  print_included(id, out);
  print_forms(id, out);
  if (s->example)
    buf_printf(out, "\n```yaml\n%s```\n", s->example);
  buf_puts(out, "\n");
}

static const char about_overlays[] =
    "`remove` is done first, then `change`, then `add`. A part under `change` keeps the keys that\n"
    "are not named; a named key replaces the old one whole, with all that stands under it. Only\n"
    "`feeds` of a supply go one step further: there each named feed keeps its own other keys, and\n"
    "a feed the supply does not have is added. A key that belongs to another form of a\n"
    "resistance, leak law, fan curve or feed removes the keys of the old form. The result is\n"
    "checked like any suite; a fault is shown in the file its value stands in.\n"
    "\n";

static const char about_checks[] =
    "## What else is checked\n"
    "\n"
    "- ids are unique; what a key names exists and is of the right kind\n"
    "- the two ends of a link differ; a room is not kept or held over itself\n"
    "- `parked` is below `work`, `work` not above `most`; each `least` not above its `most`, each\n"
    "  `low` not above its `high`, `leave` not above `enter`, near limit not above short\n"
    "- the flows of a fan curve ascend; no more units run than the fan has\n"
    "- a flow that follows the opening, and a passive station, have `width` and `opening`; a\n"
    "  passive station has a `branch` and a main with a network\n"
    "- every room is touched by some leak, door, duct, fan, supply, exhaust or station (looked at\n"
    "  when the ends of all of these could be read)\n"
    "- there is at least one room or junction\n"
    "- no list names an id twice; a fan belongs to one main\n"
    "- a scene opens no sash further than it goes, and covers only decks that are there\n"
    "- a deck flow that must hold at all times is of a station with a deck, and no more than it draws parked\n"
    "\n"
    "A fault is a fault: there are no warnings. What the program had to assume is listed by\n"
    "`inward check --assumed`.\n"
    "\n";

static bool dimension_is_used(enum units_dimension dimension)
{
  for (int row = 0; row < KEY_COUNT; row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->key && ((has_dimension(key) && key->dimension == dimension) || key->at == dimension))
      return dimension != UNITS_NOTHING && dimension != UNITS_RATIO;
    if (key->key && key->kind == SCHEMA_LIMIT && dimension == UNITS_VELOCITY)
      return true;
  }
  return false;
}

static void print_units(struct buf *out)
{
  buf_puts(out, "## Units\n\n| dimension | inside the program | may be written in |\n"
                "|---|---|---|\n");
  for (int d = 0; d < UNITS_DIMENSION_COUNT; d++) {
    enum units_dimension dimension = (enum units_dimension)d;

    if (!dimension_is_used(dimension))
      continue;
    buf_printf(out, "| %s | %s | ", units_words(dimension), units_si_text(dimension));
    units_list(dimension, out);
    buf_puts(out, " |\n");
  }
  buf_puts(out, "\n`m3/(s Pan)` is read m³/(s Paⁿ), n being the exponent beside it; "
                "`m3/(s m2 Pa0.5)` is m³/(s m² √Pa).\n"
                "Shares, %open and relative humidity are kept as ratios from 0 to 1.\n"
                "Inches of water may also be written `inWC`, as US balancing reports do.\n");
}

void facility_print_manual(struct buf *out)
{
  buf_puts(out, introduction);
  for (size_t i = 0; i < sizeof chapters / sizeof *chapters; i++)
    manual_chapter(chapters[i].id, chapters[i].level, out);
  buf_puts(out, about_overlays);
  buf_puts(out, about_checks);
  print_units(out);
}
