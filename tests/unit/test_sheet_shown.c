#include "sheet/shown_impl.h"

#include "check.h"

#include <math.h>

static struct arena arena;

static struct sheet_cell show(double value, const struct shown *shown, bool from_1904)
{
  struct sheet_cell cell = sheet_empty_cell;

  CHECK(shown_number(value, shown, from_1904, &arena, &cell));
  return cell;
}

/* Codes as people and programs write them; what follows from ECMA-376-1 18.8.31. */
static void a_number_reads_as_its_format_shows_it_but_unrounded(void)
{
  static const struct {
    const char *code;
    double value;
    const char *want;
  } rows[] = {
      {"General", 0.1, "0.1"},
      {"General", 1.0 / 3, "0.333333333333333"},
      {"General", 1e21, "1e+21"},
      {"0", 1560.4, "1560.4"},
      {"#,##0.00", 1560, "1560"},
      {"0%", 0.12, "12%"},
      {"0.0 %", 0.125, "12.5%"},
      {"0\" m\xc2\xb3/h\"", 620, "620 m\xc2\xb3/h"},
      {"#,##0\\ \\m\\3\\/\\h", 1560, "1560 m3/h"},
      {"General\" Pa\"", -15.5, "-15.5 Pa"},
      {"\"S\"00", 7, "S07"},
      {"00000", 42, "00042"},
      {"00000", 123456, "123456"},
      {"0,\"k\"", 1560000, "1560k"},
      {"_-* #,##0.00\\ [$\xe2\x82\xac-407]_-", 12.5, "12.5 \xe2\x82\xac"},
      {"[Red]0.0;[Blue]-0.0", -3, "-3"},
      {"0.00E+00", 1234, "1234"},
      {"# ?/?", 0.5, "0.5"},
      {"[<1]0\" low\";0\" high\"", 0.5, "0.5"},
      {"000\\-000", 123456, "123456"},
      {"@", 5, "5"},
      {"", 5, "5"},
      {"\"open", 5, "5"},
      {"[open", 5, "5"},
      {"\\", 5, "5"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("%s", rows[i].code);
    struct shown shown = shown_code(rows[i].code, &arena);
    struct sheet_cell cell = show(rows[i].value, &shown, false);

    CHECK_INT(cell.kind, SHEET_NUMBER);
    CHECK_STR(cell.text, rows[i].want);
    CHECK(cell.number == rows[i].value);
  }
}

static void a_date_is_told_by_its_format(void)
{
  static const struct {
    const char *code;
    const char *want;
  } rows[] = {
      {"yyyy-mm-dd", "2026-11-25"},
      {"d.m.yy", "2026-11-25"},
      {"[$-407]d. mmmm yyyy;@", "2026-11-25"},
      {"mmm-yy", "2026-11-25"},
      {"mmmm", "2026-11-25"},
      {"yyyy\"year\"", "2026-11-25"},
      {"dd/mm/yyyy hh:mm", "2026-11-25T21:30:15"},
      {"[$-409]m/d/yy h:mm AM/PM;@", "2026-11-25T21:30:15"},
      {"hh:mm:ss", "21:30:15"},
      {"mm:ss.0", "21:30:15"},
      {"[h]:mm:ss", "1112445:30:15"},
      {"ggge", "2026-11-25"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("%s", rows[i].code);
    struct shown shown = shown_code(rows[i].code, &arena);
    struct sheet_cell cell = show(46351 + 77415.0 / 86400, &shown, false);

    CHECK_INT(cell.kind, SHEET_DATE);
    CHECK_STR(cell.text, rows[i].want);
  }
}

/* ECMA-376-1 18.17.4.1: serial 1 is 1900-01-01 and 60 a 29 February that never was; in the 1904
 * system 0 is 1904-01-01, 1462 days later. */
static void both_date_systems_and_the_leap_year_that_was_none(void)
{
  static const struct {
    double serial;
    bool from_1904;
    enum sheet_kind kind;
    const char *want;
    double days;
  } rows[] = {
      {38406.5, false, SHEET_DATE, "2005-02-23T12:00:00", 38406.5},
      {36944.5, true, SHEET_DATE, "2005-02-23T12:00:00", 38406.5},
      {1, false, SHEET_DATE, "1900-01-01T00:00:00", 2},
      {59, false, SHEET_DATE, "1900-02-28T00:00:00", 60},
      {60, false, SHEET_FAULT, "1900-02-29", NAN},
      {61, false, SHEET_DATE, "1900-03-01T00:00:00", 61},
      {0, false, SHEET_FAULT, "1900-01-00", NAN},
      {0, true, SHEET_DATE, "1904-01-01T00:00:00", 1462},
      {2958465, false, SHEET_DATE, "9999-12-31T00:00:00", 2958465},
      {2958466, false, SHEET_FAULT, "a day outside the calendar", NAN},
      {-1, false, SHEET_FAULT, "a day outside the calendar", NAN},
      {1e300, false, SHEET_FAULT, "a day outside the calendar", NAN},
      {INFINITY, false, SHEET_FAULT, "#NUM!", NAN},
      {45000 + 86399.7 / 86400, false, SHEET_DATE, "2023-03-16T00:00:00", 45000 + 86399.7 / 86400},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("row %zu", i);
    struct shown shown = shown_builtin(22);
    struct sheet_cell cell = show(rows[i].serial, &shown, rows[i].from_1904);

    CHECK_INT(cell.kind, rows[i].kind);
    CHECK_STR(cell.text, rows[i].want);
    if (rows[i].kind == SHEET_DATE)
      CHECK_NEAR(cell.number, rows[i].days, 0, 1e-9);
  }
}

/* A year has 365 days or 366, whatever the day we ask for: counted here day by day. */
static void every_day_of_four_centuries_follows_the_one_before(void)
{
  struct shown shown = shown_builtin(14);
  long day = 61;

  for (int year = 1900; year < 2301; year++) {
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    int first = year == 1900 ? 3 : 1;

    for (int month = first; month <= 12; month++) {
      int length = month == 2 ? (leap ? 29 : 28)
                              : (month == 4 || month == 6 || month == 9 || month == 11 ? 30 : 31);
      char want[20];
      struct sheet_cell cell = show((double)day, &shown, false);

      snprintf(want, sizeof want, "%04d-%02d-01", year, month);
      CHECK_STR(cell.text, want);
      CHECK_INT(shown_day(year, month, 1), day);
      day += length;
    }
    arena_release(&arena);
    arena_init(&arena, 1 << 20);
  }
}

static void a_written_date_is_read_and_a_wrong_one_is_not(void)
{
  static const struct {
    const char *text, *want; /* NULL: none */
  } rows[] = {
      {"2026-11-25", "2026-11-25"},
      {"2024-02-29", "2024-02-29"},
      {"2026-11-25T21:30:15", "2026-11-25T21:30:15"},
      {"2026-11-25T21:30:15.000Z", "2026-11-25T21:30:15"},
      {"2026-11-25 21:30", "2026-11-25T21:30:00"},
      {"T06:15", "06:15:00"},
      {"06:15:00", "06:15:00"},
      {"2026-02-29", NULL},
      {"2026-13-01", NULL},
      {"2026-00-01", NULL},
      {"2026-01-00", NULL},
      {"0000-01-01", NULL},
      {"1899-12-29", NULL},
      {"2026-11-25x", NULL},
      {"2026-11", NULL},
      {"26-11-25", NULL},
      {"12:61", NULL},
      {"12", NULL},
      {"", NULL},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct sheet_cell cell = sheet_empty_cell;
    bool good = shown_iso(rows[i].text, &arena, &cell);

    CHECK_CASE("%s", rows[i].text);
    CHECK_INT(good, rows[i].want != NULL);
    CHECK_STR(good ? cell.text : "", rows[i].want ? rows[i].want : "");
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, 1 << 20);
  RUN(a_number_reads_as_its_format_shows_it_but_unrounded);
  RUN(a_date_is_told_by_its_format);
  RUN(both_date_systems_and_the_leap_year_that_was_none);
  RUN(every_day_of_four_centuries_follows_the_one_before);
  RUN(a_written_date_is_read_and_a_wrong_one_is_not);
  arena_release(&arena);
  return check_end();
}
