#include "check.h"
#include "intake/intake_impl.h"

#include <math.h>

static struct arena arena;

static struct figure read_as(const char *text, enum units_dimension dimension, const char *unit)
{
  struct figure_wanted wanted = {dimension, unit, MARK_ASK, 0.01, 6.0};

  return intake_figure(text, &wanted, &arena);
}

/* What a person writes, and what a suite would say; NULL: it is refused. */
static const struct {
  const char *cell, *unit, *suite;
} lengths[] = {
    {"1.5", "m", "1.5 m"},
    {"1,50", "m", "1.50 m"},
    {" 1,5 m ", "ft", "1.5 m"},
    {",45", "m", ".45 m"},
    {"1.450", "m", "1.450 m"},
    {"1.450", "mm", "1450 mm"},
    {"1 450", "mm", "1450 mm"},
    {"1\xc2\xa0"
     "450",
     "mm", "1450 mm"},
    {"0,450", "m", "0.450 m"},
    {"17 1/2", "in", "17.5 in"},
    {"17\xc2\xbd", "in", "17.5 in"},
    {"1/2", "in", "0.5 in"},
    {"18\"", "m", "18 in"},
    {"5' 6\"", "m", "66 in"},
    {"5 ft 6 in", "m", "66 in"},
    {"5'", "m", "5 ft"},
    {"45 Zoll", "m", "45 in"},
    {"1.5 kg", "m", NULL},
    {"1,5 x 0,9", "m", NULL},
    {"1.5-1.8", "m", NULL},
    {"-1", "m", NULL},
    {"wide", "m", NULL},
};

static void a_length_is_read_as_it_was_meant_or_not_at_all(void)
{
  for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
    struct figure f = read_as(lengths[i].cell, UNITS_LENGTH, lengths[i].unit);

    CHECK_CASE("%s", lengths[i].cell);
    CHECK_INT(f.state, lengths[i].suite ? FIGURE_GIVEN : FIGURE_BAD);
    if (lengths[i].suite)
      CHECK_STR(f.text ? f.text : "", lengths[i].suite);
    CHECK((f.state == FIGURE_BAD) == (f.why != NULL));
  }
}

static const struct {
  const char *cell, *suite;
} flows[] = {
    {"520", "520 m3/h"},
    {"1.234,5", "1234.5 m3/h"},
    {"1,234.5", "1234.5 m3/h"},
    {"1'450", "1450 m3/h"},
    {"1.234.567", "1234567 m3/h"},
    {"1450,0", "1450.0 m3/h"},
    {"250 cfm", "250 cfm"},
    {"520 m\xc2\xb3/h", "520 m3/h"},
    {"520 \xc2\xb1 10 %", "520 m3/h \xc2\xb1 10 %"},
    {"520 +/- 20", "520 m3/h \xc2\xb1 20 m3/h"},
    {"520 Nm3/h", NULL},
    {"1.450", NULL},
    {"1,450", NULL},
    {"1.45.0", NULL},
    {"520/650", NULL},
    {"520; 650", NULL},
    {"<520", NULL},
    {"0x10", NULL},
    {"1e3", NULL},
};

static void a_flow_is_read_as_it_was_meant_or_not_at_all(void)
{
  for (size_t i = 0; i < sizeof flows / sizeof flows[0]; i++) {
    struct figure f = read_as(flows[i].cell, UNITS_FLOW, "m3/h");

    CHECK_CASE("%s", flows[i].cell);
    CHECK_INT(f.state, flows[i].suite ? FIGURE_GIVEN : FIGURE_BAD);
    if (flows[i].suite && f.state == FIGURE_GIVEN) {
      struct units_quantity got = {0}, want = {0};

      CHECK_INT(units_parse(f.text, UNITS_FLOW, UNITS_NOTHING, &got, NULL), ERR_OK);
      CHECK_INT(units_parse(flows[i].suite, UNITS_FLOW, UNITS_NOTHING, &want, NULL), ERR_OK);
      CHECK_NEAR(got.si, want.si, 0.0, 0.0);
      CHECK_NEAR(got.plus_minus_si, want.plus_minus_si, 1e-15, 0.0);
    }
  }
}

static void three_digits_behind_one_mark_are_asked_about(void)
{
  struct figure_wanted wanted = {UNITS_FLOW, "m3/h", MARK_ASK, 0.0, 6.0};

  CHECK(intake_figure("1.450", &wanted, &arena).needs_mark);
  wanted.mark = MARK_THOUSANDS;
  CHECK_STR(intake_figure("1.450", &wanted, &arena).text, "1450 m3/h");
  wanted.mark = MARK_DECIMAL;
  CHECK_STR(intake_figure("1.450", &wanted, &arena).text, "1.450 m3/h");
}

static void a_dash_is_nothing_and_a_question_mark_is_not_known(void)
{
  static const char *const nothing[] = {"", "-", " - ", "\xe2\x80\x93", "n/a", "N.A.", "keine"};
  static const char *const unknown[] = {"?", "TBD", "unknown", "k. A.", "inconnu"};

  for (size_t i = 0; i < sizeof nothing / sizeof nothing[0]; i++)
    CHECK_INT(read_as(nothing[i], UNITS_FLOW, "m3/h").state, FIGURE_NONE);
  for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++)
    CHECK_INT(read_as(unknown[i], UNITS_FLOW, "m3/h").state, FIGURE_NOT_KNOWN);
}

static void about_is_remembered_and_brackets_are_handed_on(void)
{
  struct figure f = read_as("ca. 520", UNITS_FLOW, "m3/h");

  CHECK(f.about);
  CHECK_STR(f.text, "520 m3/h");
  f = read_as("520 (high 650)", UNITS_FLOW, "m3/h");
  CHECK_STR(f.text, "520 m3/h");
  CHECK_STR(f.more, "high 650");
}

static void a_number_without_any_unit_waits_for_one(void)
{
  struct figure f = read_as("1,5", UNITS_LENGTH, NULL);

  CHECK(f.needs_unit);
  CHECK(isnan(f.si));
}

static void what_no_plant_has_is_looked_at_again(void)
{
  CHECK(read_as("150", UNITS_LENGTH, "m").needs_check);
  CHECK(!read_as("5.5", UNITS_LENGTH, "m").needs_check);
}

static void accents_case_and_punctuation_do_not_part_words(void)
{
  char out[80];

  intake_fold("  \xc3\x96"
              "ffnungs-H\xc3\xb6he\n(Stra\xc3\x9f"
              "e) \xc5\x93uvre ",
              out, sizeof out);
  CHECK_STR(out, "offnungs hohe strasse oeuvre");
  intake_fold("\xff\xfe", out, sizeof out);
  CHECK_STR(out, "");
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, 1 << 22);
  RUN(a_length_is_read_as_it_was_meant_or_not_at_all);
  RUN(a_flow_is_read_as_it_was_meant_or_not_at_all);
  RUN(three_digits_behind_one_mark_are_asked_about);
  RUN(a_dash_is_nothing_and_a_question_mark_is_not_known);
  RUN(about_is_remembered_and_brackets_are_handed_on);
  RUN(a_number_without_any_unit_waits_for_one);
  RUN(what_no_plant_has_is_looked_at_again);
  RUN(accents_case_and_punctuation_do_not_part_words);
  arena_release(&arena);
  return check_end();
}
