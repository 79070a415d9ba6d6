#include "small_pack.h"

#include "check.h"

#include <math.h>

static void rows(const char *text)
{
  small_begin();
  small_part("xl/worksheets/sheet1.xml", text);
}

static const struct sheet_cell *cell(const struct sheet_book *book, int row, int column)
{
  static const struct sheet_table none = {.name = ""};

  return sheet_at(book ? &book->tables[0] : &none, row, column);
}

static void refused(const char *says)
{
  struct sheet_book *book = small_read();

  CHECK(book == NULL);
  CHECK(small_list.count >= 1);
  if (!CHECK(strstr(small_complaint(), says) != NULL))
    CHECK_STR(small_complaint(), says);
}

static void every_type_of_cell_is_read(void)
{
  rows(SMALL_SHEET("<row r='1'><c r='A1'><v>0.1</v></c><c r='B1' t='s'><v>1</v></c>"
                   "<c r='C1' t='inlineStr'><is><t>in</t><r><t>line</t></r></is></c>"
                   "<c r='D1' t='b'><v>1</v></c><c r='E1' t='e'><v>#REF!</v></c>"
                   "<c r='F1' t='str'><f>A1</f><v>said</v></c><c r='G1' t='d'><v>2026-11-25</v></c>"
                   "<c r='H1'><f>B2</f></c><c r='I1'><f>B2</f><v></v></c><c r='J1' t='str'><v/></c>"
                   "</row>",
                   ""));
  small_part("xl/sharedStrings.xml",
             "<sst xmlns='" SMALL_SPACE "'><si><t>zero</t></si>"
             "<si><r><t>on</t></r><rPh><t>no</t></rPh><r><t>e</t></r></si></sst>");
  struct sheet_book *book = small_read();

  static const struct {
    enum sheet_kind kind;
    const char *text;
  } want[] = {
      {SHEET_NUMBER, "0.1"},
      {SHEET_TEXT, "one"},
      {SHEET_TEXT, "inline"},
      {SHEET_YES_NO, "TRUE"},
      {SHEET_FAULT, "#REF!"},
      {SHEET_TEXT, "said"},
      {SHEET_DATE, "2026-11-25"},
      {SHEET_FAULT, "formula without a stored result"},
      {SHEET_FAULT, "formula without a stored result"},
      {SHEET_EMPTY, ""},
  };

  REQUIRE(book != NULL);
  for (int i = 0; i < (int)(sizeof want / sizeof want[0]); i++) {
    CHECK_CASE("column %d", i);
    CHECK_INT(cell(book, 0, i)->kind, want[i].kind);
    CHECK_STR(cell(book, 0, i)->text, want[i].text);
  }
  CHECK_CASE("the rest");
  CHECK(cell(book, 0, 5)->formula && !cell(book, 0, 0)->formula);
  CHECK_NEAR(cell(book, 0, 6)->number, 46351, 0, 0);
}

static void names_of_cells_may_be_left_out(void)
{
  rows(SMALL_SHEET(
      "<row><c><v>1</v></c><c><v>2</v></c></row>"
      "<row r='4'><c r='B4'><v>3</v></c><c><v>4</v></c></row><row><c><v>5</v></c></row>",
      ""));
  struct sheet_book *book = small_read();

  CHECK_STR(cell(book, 0, 1)->text, "2");
  CHECK_STR(cell(book, 3, 1)->text, "3");
  CHECK_STR(cell(book, 3, 2)->text, "4");
  CHECK_STR(cell(book, 4, 0)->text, "5");
}

static void a_strict_workbook_with_other_prefixes_is_the_same_workbook(void)
{
  small_begin();
  small_part(
      "_rels/.rels",
      "<p:Relationships xmlns:p='http://schemas.openxmlformats.org/package/2006/relationships'>"
      "<p:Relationship Id='a' Type='http://purl.oclc.org/ooxml/officeDocument/relationships/"
      "officeDocument' Target='/XL/WORKBOOK.xml'/></p:Relationships>");
  small_part("xl/workbook.xml",
             "<q:workbook xmlns:q='http://purl.oclc.org/ooxml/spreadsheetml/main' "
             "xmlns:z='http://purl.oclc.org/ooxml/officeDocument/relationships'><q:sheets>"
             "<q:sheet name='One' sheetId='1' z:id='b'/></q:sheets></q:workbook>");
  small_part("xl/_rels/workbook.xml.rels",
             SMALL_RELATIONS(SMALL_RELATION("b", "worksheet",
                                            "../xl/./worksheets/../worksheets/"
                                            "sheet1.xml")));
  small_part("xl/worksheets/sheet1.xml",
             "<s:worksheet xmlns:s='http://purl.oclc.org/ooxml/spreadsheetml/main' "
             "xmlns:o='urn:other'><s:sheetData><s:row><o:c><o:v>9</o:v></o:c><s:c t='d'>"
             "<s:v>2026-01-02T03:04:05Z</s:v></s:c></s:row></s:sheetData></s:worksheet>");
  struct sheet_book *book = small_read();

  CHECK_STR(small_complaint(), "none");
  CHECK_STR(cell(book, 0, 0)->text, "2026-01-02T03:04:05");
}

static void escapes_and_line_breaks_become_what_they_mean(void)
{
  rows(SMALL_SHEET(
      "<row><c t='inlineStr'><is><t>a_x000D_\nb_x000d_c&#13;d&#13;&#10;e_x0041_f_x005F_x0041_"
      "_x000_x00b1_</t></is></c></row>",
      ""));
  CHECK_STR(cell(small_read(), 0, 0)->text, "a\nb\nc\nd\neAf_x0041__x000\xc2\xb1");
}

static void what_is_struck_out_beside_other_text_is_left_out(void)
{
#define STRUCK(text) "<r><rPr><strike/></rPr><t>" text "</t></r>"
#define RUNS(runs)   "<c t='inlineStr'><is>" runs "</is></c>"
  rows(SMALL_SHEET("<row>" RUNS(STRUCK("620 ") "<r><t>650</t></r>") RUNS(STRUCK("gone"))
                       RUNS("<r><rPr><strike val='0'/></rPr><t>here</t></r>") "</row>",
                   ""));
  struct sheet_book *book = small_read();

  CHECK_STR(cell(book, 0, 0)->text, "650");
  CHECK_STR(cell(book, 0, 1)->text, "gone");
  CHECK_STR(cell(book, 0, 2)->text, "here");
  CHECK(!cell(book, 0, 0)->struck && cell(book, 0, 1)->struck && !cell(book, 0, 2)->struck);
  CHECK(cell(book, 0, 0)->part_struck && !cell(book, 0, 1)->part_struck);
}

static void a_merged_block_reads_as_its_first_cell(void)
{
  rows(SMALL_SHEET(
      "<row><c><v>7</v></c><c r='C1'><v>8</v></c></row><row><c r='C2'><v>9</v></c></row>",
      "<mergeCells><mergeCell ref='A1:B2'/><mergeCell ref='C2:XFD1048576'/></mergeCells>"));
  struct sheet_book *book = small_read();

  REQUIRE(book != NULL);
  CHECK_STR(cell(book, 1, 1)->text, "7");
  CHECK(cell(book, 1, 1)->covered && cell(book, 0, 1)->covered && !cell(book, 0, 0)->covered);
  CHECK(!cell(book, 0, 2)->covered && !cell(book, 1, 2)->covered);
  CHECK_INT(book->tables[0].column_count, 3);
}

static void a_thread_of_comments_wins_over_its_stand_in(void)
{
  small_begin();
  small_part("xl/worksheets/_rels/sheet1.xml.rels",
             SMALL_RELATIONS(SMALL_RELATION("c", "comments", "../comments1.xml") SMALL_RELATION(
                 "t", "threadedComment", "../threadedComments/t1.xml")));
  small_part(
      "xl/comments1.xml",
      "<comments xmlns='" SMALL_SPACE "'><authors><author>x</author></authors><commentList>"
      "<comment ref='A1' authorId='0'><text><t>stand-in</t></text></comment>"
      "<comment ref='C3' authorId='0'><text><r><t>old </t></r><r><t>style</t></r></text></comment>"
      "</commentList></comments>");
  small_part("xl/threadedComments/t1.xml",
             "<ThreadedComments xmlns='http://schemas.microsoft.com/office/spreadsheetml/2018/"
             "threadedcomments'><threadedComment ref='A1' id='1'><text>Is it 620?</text>"
             "</threadedComment><threadedComment ref='A1' id='2' parentId='1'><text>650 now</text>"
             "</threadedComment></ThreadedComments>");
  struct sheet_book *book = small_read();

  REQUIRE(book != NULL);
  CHECK_STR(cell(book, 0, 0)->note, "Is it 620?\n650 now");
  CHECK_STR(cell(book, 0, 0)->text, "1");
  CHECK_STR(cell(book, 2, 2)->note, "old style");
  CHECK_INT(cell(book, 2, 2)->kind, SHEET_EMPTY);
}

static void a_workbook_never_computed_says_so(void)
{
  rows(SMALL_SHEET("<row><c><f>1+1</f><v>0</v></c></row>", ""));
  small_part("xl/workbook.xml",
             "<workbook xmlns='" SMALL_SPACE
             "' xmlns:r='http://schemas.openxmlformats.org/officeDocument/2006/relationships'>"
             "<sheets><sheet name='One' sheetId='1' r:id='r1'/></sheets>"
             "<calcPr fullCalcOnLoad='1'/></workbook>");
  struct sheet_book *book = small_read();

  REQUIRE(book != NULL && book->remark_count == 1);
  CHECK(strstr(book->remarks[0], "may be old") != NULL);
}

static void a_damaged_cell_is_named(void)
{
  static const struct {
    const char *sheet, *says;
  } cases[] = {
      {SMALL_SHEET("<row><c/><c t='s'><v>0</v></c></row>", ""), "One!B1: this cell names a text"},
      {SMALL_SHEET("<row><c><v>12,5</v></c></row>", ""),
       "One!A1: this cell holds a number that is"},
      {SMALL_SHEET("<row><c><v>0x10</v></c></row>", ""),
       "One!A1: this cell holds a number that is"},
      {SMALL_SHEET("<row><c><v>nan</v></c></row>", ""), "One!A1: this cell holds a number that is"},
      {SMALL_SHEET("<row><c t='d'><v>2026-02-29</v></c></row>", ""),
       "One!A1: this cell holds a date"},
      {SMALL_SHEET("<row r='2'><c r='B3'><v>1</v></c></row>", ""),
       "One!B2: a cell stands in this row"},
      {SMALL_SHEET("<row r='2'><c r='XFE2'><v>1</v></c></row>", ""), "a name that no cell has"},
      {SMALL_SHEET("<row r='2'><c r='7'><v>1</v></c></row>", ""), "a name that no cell has"},
      {SMALL_SHEET("<row r='0'/>", ""), "a number that no sheet has"},
      {SMALL_SHEET("<row r='1048577'/>", ""), "a number that no sheet has"},
      {SMALL_SHEET("<row r='1'><c r='A1'><v>1</v></c><c r='A1'><v>1</v></c></row>", ""),
       "One!A1: the file holds this cell twice"},
      {SMALL_SHEET("<row><c><v>1</v></c></row><row r='3'><c r='D3'><v>1</v></c></row>",
                   "<mergeCell ref='A1:C2'/><mergeCell ref='B2:D3'/>"),
       "One!B2: two merged blocks overlap"},
      {SMALL_SHEET("", "<mergeCell ref='C2:A1'/>"), "ends before it begins"},
      {SMALL_SHEET("<row r='20001'><c><v>1</v></c></row>", ""),
       "One!A20001: there are more than 20000 rows"},
      {SMALL_SHEET("<row><c r='OK1'><v>1</v></c></row>", ""),
       "One!OK1: there are more than 400 columns"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    CHECK_CASE("row %zu", i);
    rows(cases[i].sheet);
    refused(cases[i].says);
  }
}

static void broken_xml_names_part_line_and_column(void)
{
  static const struct {
    const char *sheet, *says;
  } cases[] = {
      {"<worksheet>\n  <row></worksheet>",
       "xl/worksheets/sheet1.xml, line 2, column 10: broken XML"},
      {"", "xl/worksheets/sheet1.xml, line 1, column 1: broken XML"},
      {"<a>\xff</a>", "xl/worksheets/sheet1.xml, line 1, column 4: broken XML"},
      {"<?xml version='1.0' encoding='x-nowhere'?><a/>", "line 1, column 31: broken XML"},
      {"<!DOCTYPE a [<!ENTITY x 'ha'><!ENTITY y '&x;&x;&x;'>]>\n<a>&y;</a>",
       "line 1, column 13: a document type is declared"},
      {"<!DOCTYPE a SYSTEM 'file:///etc/hostname'><a/>", "a document type is declared"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    CHECK_CASE("row %zu", i);
    rows(cases[i].sheet);
    refused(cases[i].says);
  }
}

static void deep_nesting_is_refused(void)
{
  static char deep[4000 * 3 + 1];

  for (size_t i = 0; i < 4000; i++)
    memcpy(deep + 3 * i, "<a>", 4);
  rows(deep);
  refused("nested deeper");
}

static void a_missing_part_is_named(void)
{
  small_begin();
  small_part("xl/_rels/workbook.xml.rels", SMALL_RELATIONS(""));
  refused("the sheet \"One\" is missing");
  small_begin();
  small_part("_rels/.rels", SMALL_RELATIONS(""));
  refused("main part is missing");
}

static void a_sheet_that_is_a_chart_is_passed_over_aloud(void)
{
  small_begin();
  small_part(
      "xl/workbook.xml",
      "<workbook xmlns='" SMALL_SPACE
      "' xmlns:r='http://schemas.openxmlformats.org/officeDocument/2006/relationships'>"
      "<sheets><sheet name='Chart' r:id='r9'/><sheet name='One' r:id='r1'/></sheets></workbook>");
  small_part("xl/_rels/workbook.xml.rels",
             SMALL_RELATIONS(SMALL_RELATION("r9", "chartsheet", "chartsheets/sheet1.xml")
                                 SMALL_RELATION("r1", "worksheet", "worksheets/sheet1.xml")));
  struct sheet_book *book = small_read();

  REQUIRE(book != NULL && book->table_count == 1 && book->remark_count == 1);
  CHECK(strstr(book->remarks[0], "\"Chart\"") != NULL);
}

/* A name of two lines would end a comment in the suite, and what follows would be keys. */
static void a_sheets_name_is_one_line(void)
{
  small_begin();
  small_part("xl/workbook.xml",
             "<workbook xmlns='" SMALL_SPACE
             "' xmlns:r='http://schemas.openxmlformats.org/officeDocument/2006/relationships'>"
             "<sheets><sheet name='S&#10;scenes: {}&#13;&#9;x' r:id='r1'/></sheets></workbook>");
  small_part("xl/_rels/workbook.xml.rels",
             SMALL_RELATIONS(SMALL_RELATION("r1", "worksheet", "worksheets/sheet1.xml")));
  struct sheet_book *book = small_read();

  REQUIRE(book != NULL && book->table_count == 1);
  CHECK_STR(book->tables[0].name, "S scenes: {}  x");
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&small_arena, 1 << 20);
  RUN(every_type_of_cell_is_read);
  RUN(names_of_cells_may_be_left_out);
  RUN(a_strict_workbook_with_other_prefixes_is_the_same_workbook);
  RUN(escapes_and_line_breaks_become_what_they_mean);
  RUN(what_is_struck_out_beside_other_text_is_left_out);
  RUN(a_merged_block_reads_as_its_first_cell);
  RUN(a_thread_of_comments_wins_over_its_stand_in);
  RUN(a_workbook_never_computed_says_so);
  RUN(a_damaged_cell_is_named);
  RUN(broken_xml_names_part_line_and_column);
  RUN(deep_nesting_is_refused);
  RUN(a_missing_part_is_named);
  RUN(a_sheet_that_is_a_chart_is_passed_over_aloud);
  arena_release(&small_arena);
  RUN(a_sheets_name_is_one_line);
  return check_end();
}
