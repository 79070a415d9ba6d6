#include "small_pack.h"

#include "check.h"

#include <math.h>

#define ODS_HEAD                                                                                   \
  "<o:document-content xmlns:o='urn:oasis:names:tc:opendocument:xmlns:office:1.0' "                \
  "xmlns:t='urn:oasis:names:tc:opendocument:xmlns:table:1.0' "                                     \
  "xmlns:x='urn:oasis:names:tc:opendocument:xmlns:text:1.0' "                                      \
  "xmlns:s='urn:oasis:names:tc:opendocument:xmlns:style:1.0' "                                     \
  "xmlns:d='urn:oasis:names:tc:opendocument:xmlns:drawing:1.0' "                                   \
  "xmlns:e='urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0'>"
#define ODS(styles, rows)                                                                          \
  ODS_HEAD "<o:automatic-styles>" styles "</o:automatic-styles><o:body><o:spreadsheet>"            \
           "<t:table t:name='One' t:style-name='ta'>" rows                                         \
           "</t:table></o:spreadsheet></o:body></o:document-content>"

static struct sheet_book *read_rows(const char *content)
{
  small_count = 0;
  small_part("mimetype", "application/vnd.oasis.opendocument.spreadsheet");
  small_part("content.xml", content);
  return small_read();
}

static const struct sheet_cell *cell(const struct sheet_book *book, int row, int column)
{
  static const struct sheet_table none = {.name = ""};

  return sheet_at(book ? &book->tables[0] : &none, row, column);
}

static void every_type_of_cell_is_read(void)
{
  static const struct {
    const char *content;
    enum sheet_kind kind;
    const char *text;
    double number;
  } rows[] = {
#define CELL(attributes, inside)                                                                   \
  ODS("", "<t:table-row><t:table-cell " attributes ">" inside "</t:table-cell></t:table-row>")
      {CELL("o:value-type='float' o:value='0.1'", "<x:p>0,1</x:p>"), SHEET_NUMBER, "0.1", 0.1},
      {CELL("o:value-type='float' o:value='1560'", "<x:p>1.560,00 m3/h</x:p>"), SHEET_NUMBER,
       "1560 m3/h", 1560},
      {CELL("o:value-type='float' o:value='1560'", "<x:p>1,560.00 m3/h</x:p>"), SHEET_NUMBER,
       "1560 m3/h", 1560},
      {CELL("o:value-type='float' o:value='1560000'", "<x:p>1560 k</x:p>"), SHEET_NUMBER, "1560000",
       1560000},
      {CELL("o:value-type='float' o:value='7'", "<x:p>S07</x:p>"), SHEET_NUMBER, "S07", 7},
      {CELL("o:value-type='float' o:value='1500'", "<x:p>1.5E+03</x:p>"), SHEET_NUMBER, "1500",
       1500},
      {CELL("o:value-type='float' o:value='0.12'", "<x:p>12%</x:p>"), SHEET_NUMBER, "12%", 0.12},
      {CELL("o:value-type='percentage' o:value='0.12'", "<x:p>12,0 %</x:p>"), SHEET_NUMBER, "12%",
       0.12},
      {CELL("o:value-type='currency' o:value='5'", "<x:p>5,00 \xe2\x82\xac</x:p>"), SHEET_NUMBER,
       "5 \xe2\x82\xac", 5},
      {CELL("o:value-type='boolean' o:boolean-value='true'", "<x:p>WAHR</x:p>"), SHEET_YES_NO,
       "TRUE", 1},
      {CELL("t:formula='of:=FALSE()' o:value-type='float' o:value='0'", "<x:p>FALSE</x:p>"),
       SHEET_YES_NO, "FALSE", 0},
      {CELL("o:value-type='date' o:date-value='2026-11-25'", "<x:p>25.11.26</x:p>"), SHEET_DATE,
       "2026-11-25", 46351},
      {CELL("o:value-type='date' o:date-value='2026-11-25T12:00:00'", ""), SHEET_DATE,
       "2026-11-25T12:00:00", 46351.5},
      {CELL("o:value-type='time' o:time-value='PT06H15M00S'", ""), SHEET_DATE, "06:15:00",
       6.25 / 24},
      {CELL("o:value-type='time' o:time-value='PT36H00M00.5S'", ""), SHEET_DATE, "36:00:01",
       1.5 + 0.5 / 86400},
      {CELL("o:value-type='string'",
            "<x:p>a<x:s x:c='2'/>b  \n c<x:tab/>d</x:p><x:p>e<x:line-break/>f"
            "</x:p>"),
       SHEET_TEXT, "a  b c\td\ne\nf", NAN},
      {CELL("o:value-type='string'", "<x:p><x:span>on</x:span><x:a>e</x:a></x:p>"), SHEET_TEXT,
       "one", NAN},
      {CELL("o:value-type='string' o:string-value='kept'", ""), SHEET_TEXT, "kept", NAN},
      {CELL("o:value-type='string' e:value-type='error' t:formula='of:=1/0'", "<x:p>#DIV/0!</x:p>"),
       SHEET_FAULT, "#DIV/0!", NAN},
      {CELL("o:value-type='string' t:formula='of:=x'", "<x:p>Err:508</x:p>"), SHEET_FAULT,
       "Err:508", NAN},
      {CELL("o:value-type='string'", "<x:p>t</x:p><d:frame><x:p>not this</x:p></d:frame>"),
       SHEET_TEXT, "t", NAN},
      {CELL("", ""), SHEET_EMPTY, "", NAN},
#undef CELL
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("row %zu", i);
    struct sheet_book *book = read_rows(rows[i].content);

    CHECK_STR(small_complaint(), "none");
    CHECK_INT(cell(book, 0, 0)->kind, rows[i].kind);
    CHECK_STR(cell(book, 0, 0)->text, rows[i].text);
    if (!isnan(rows[i].number))
      CHECK_NEAR(cell(book, 0, 0)->number, rows[i].number, 1e-12, 0);
  }
}

static void runs_of_rows_and_cells_are_counted(void)
{
  struct sheet_book *book = read_rows(ODS(
      "<s:style s:name='ta'><s:table-properties t:display='false'/></s:style>",
      "<t:table-column t:number-columns-repeated='2'/><t:table-column t:visibility='collapse'/>"
      "<t:table-row t:number-rows-repeated='3' t:visibility='filter'><t:table-cell "
      "t:number-columns-repeated='2'/><t:table-cell t:number-columns-repeated='2' "
      "o:value-type='string'><o:annotation><x:p>n</x:p><x:p>m</x:p></o:annotation><x:p>a</x:p>"
      "</t:table-cell><t:table-cell t:number-columns-repeated='16380'/></t:table-row>"
      "<t:table-header-rows><t:table-row><t:table-cell t:number-columns-spanned='2' "
      "t:number-rows-spanned='2' o:value-type='string'><x:p>b</x:p></t:table-cell>"
      "<t:covered-table-cell/></t:table-row></t:table-header-rows>"
      "<t:table-row><t:covered-table-cell/><t:covered-table-cell/><t:table-cell "
      "o:value-type='string'><x:p>c</x:p></t:table-cell></t:table-row>"
      "<t:table-row t:number-rows-repeated='1048571'><t:table-cell t:number-columns-repeated='16384'/>"
      "</t:table-row>"));

  CHECK_STR(small_complaint(), "none");
  REQUIRE(book != NULL);
  CHECK(book->tables[0].hidden);
  CHECK_INT(book->tables[0].row_count, 5);
  CHECK_INT(book->tables[0].column_count, 4);
  CHECK(book->tables[0].row_hidden[2] && !book->tables[0].row_hidden[3]);
  CHECK(book->tables[0].column_hidden[2] && !book->tables[0].column_hidden[1]);
  for (int row = 0; row < 3; row++) {
    CHECK_STR(cell(book, row, 2)->text, "a");
    CHECK_STR(cell(book, row, 3)->note, "n\nm");
    CHECK_INT(cell(book, row, 0)->kind, SHEET_EMPTY);
  }
  CHECK_STR(cell(book, 4, 1)->text, "b");
  CHECK(cell(book, 4, 1)->covered && !cell(book, 3, 0)->covered);
  CHECK_STR(cell(book, 4, 2)->text, "c");
}

static void a_struck_text_is_marked(void)
{
#define STRIKE                                                                                     \
  "<s:style s:name='k'><s:text-properties s:text-line-through-style='solid'/></s:style>"           \
  "<s:style s:name='n'><s:text-properties s:text-line-through-style='none'/></s:style>"
  struct sheet_book *book = read_rows(ODS(
      STRIKE, "<t:table-row><t:table-cell t:style-name='k' o:value-type='string'><x:p>a</x:p>"
              "</t:table-cell><t:table-cell t:style-name='n' o:value-type='string'><x:p>b</x:p>"
              "</t:table-cell><t:table-cell o:value-type='string'><x:p>c<x:span x:style-name='k'>d"
              "</x:span></x:p></t:table-cell></t:table-row>"));

  CHECK_STR(cell(book, 0, 0)->text, "a");
  CHECK_STR(cell(book, 0, 2)->text, "c");
  CHECK(cell(book, 0, 0)->struck && !cell(book, 0, 1)->struck && !cell(book, 0, 2)->struck);
  CHECK(!cell(book, 0, 0)->part_struck && cell(book, 0, 2)->part_struck);
}

static void what_would_cost_too_much_is_refused(void)
{
  static const struct {
    const char *content, *says;
  } rows[] = {
      {ODS("", "<t:table-row t:number-rows-repeated='1000000'><t:table-cell o:value-type='string'>"
               "<x:p>a</x:p></t:table-cell></t:table-row>"),
       "One!A20001: there are more than 20000 rows"},
      {ODS("", "<t:table-row><t:table-cell t:number-columns-repeated='2000' o:value-type='string'>"
               "<x:p>a</x:p></t:table-cell></t:table-row>"),
       "One!OK1: there are more than 400 columns"},
      {ODS("", "<t:table-row t:number-rows-repeated='19000'><t:table-cell "
               "t:number-columns-repeated='300' o:value-type='string'><x:p>a</x:p></t:table-cell>"
               "</t:table-row>"),
       "there are more than 400000 cells"},
      {ODS("", "<t:table-row><t:table-cell o:value-type='string'><x:p><x:s x:c='131000'/>"
               "<x:s x:c='131000'/></x:p></t:table-cell></t:table-row>"),
       "One!A1: this cell holds more text"},
      {ODS("", "<t:table-row><t:table-cell o:value-type='float'/></t:table-row>"),
       "One!A1: this cell holds a number"},
      {ODS("", "<t:table-row><t:table-cell o:value-type='time' o:time-value='P1D'/></t:table-row>"),
       "One!A1: this cell holds a time"},
      {ODS_HEAD "</o:document-content>", "no sheet of cells"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("row %zu", i);
    CHECK(read_rows(rows[i].content) == NULL);
    if (!CHECK(strstr(small_complaint(), rows[i].says) != NULL))
      CHECK_STR(small_complaint(), rows[i].says);
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&small_arena, 1 << 20);
  RUN(every_type_of_cell_is_read);
  RUN(runs_of_rows_and_cells_are_counted);
  RUN(a_struck_text_is_marked);
  RUN(what_would_cost_too_much_is_refused);
  arena_release(&small_arena);
  return check_end();
}
