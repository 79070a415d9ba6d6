#ifndef TESTS_SUPPORT_SMALL_PACK_H
#define TESTS_SUPPORT_SMALL_PACK_H

#include "sheet/pack_impl.h"

#include <stdio.h>
#include <string.h>

/*
 * The parts of a small workbook for tests: what a cell, a style or a comment is, is said in XML, and
 * the rest is there already.  One workbook at a time.
 *
 *     small_part("xl/worksheets/sheet1.xml", SMALL_SHEET("<row><c><v>1</v></c></row>", ""));
 *     book = small_read();
 */
#define SMALL_SPACE "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
#define SMALL_SHEET(rows, rest)                                                                    \
  "<worksheet xmlns='" SMALL_SPACE "'><sheetData>" rows "</sheetData>" rest "</worksheet>"
#define SMALL_RELATIONS(list)                                                                      \
  "<Relationships xmlns='http://schemas.openxmlformats.org/package/2006/relationships'>" list      \
  "</Relationships>"
#define SMALL_RELATION(id, kind, target)                                                           \
  "<Relationship Id='" id                                                                          \
  "' Type='http://schemas.openxmlformats.org/officeDocument/2006/relationships/" kind              \
  "' Target='" target "'/>"

enum { SMALL_MOST = 20 };
static struct pack_part small_parts[SMALL_MOST];
static int small_count;
static struct arena small_arena;
static struct complaints small_list;

static inline void small_part(const char *name, const char *text)
{
  int i = 0;

  while (i < small_count && strcmp(small_parts[i].name, name) != 0)
    i++;
  small_parts[i] = (struct pack_part){name, text, strlen(text)};
  small_count += i == small_count;
}

static inline void small_begin(void)
{
  small_count = 0;
  small_part("[Content_Types].xml",
             "<Types xmlns='http://schemas.openxmlformats.org/package/2006/content-types'>"
             "<Override PartName='/xl/workbook.xml' ContentType='application/"
             "vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml'/></Types>");
  small_part("_rels/.rels",
             SMALL_RELATIONS(SMALL_RELATION("rId1", "officeDocument", "xl/workbook.xml")));
  small_part("xl/_rels/workbook.xml.rels",
             SMALL_RELATIONS(SMALL_RELATION("r1", "worksheet", "worksheets/sheet1.xml")
                                 SMALL_RELATION("r2", "styles", "styles.xml")
                                     SMALL_RELATION("r3", "sharedStrings", "sharedStrings.xml")));
  small_part("xl/workbook.xml",
             "<workbook xmlns='" SMALL_SPACE
             "' xmlns:r='http://schemas.openxmlformats.org/officeDocument/2006/relationships'>"
             "<sheets><sheet name='One' sheetId='1' r:id='r1'/></sheets></workbook>");
  small_part("xl/worksheets/sheet1.xml", SMALL_SHEET("<row><c><v>1</v></c></row>", ""));
}

static inline struct sheet_book *small_read(void)
{
  struct reading r;
  struct pack pack;

  arena_release(&small_arena);
  arena_init(&small_arena, 64 << 20);
  complaints_init(&small_list, &small_arena);
  sheet_reading_init(&r, "small.xlsx", &small_arena, &small_list);
  pack_plain(&pack, &r, small_parts, small_count);
  return sheet_reading_end(&r, sheet_read_pack(&r, &pack));
}

/* The first complaint, or "none". */
static inline const char *small_complaint(void)
{
  return small_list.count > 0 ? small_list.list[0].text : "none";
}

#endif
