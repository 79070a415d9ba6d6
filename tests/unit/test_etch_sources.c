#include "etch/etch_impl.h"

#include "etch_question.h"

#include <math.h>
#include <string.h>

/*
 * What `inward etch` says where sources differ, give a bound or a word, or do not count: by all of them, and on
 * top.  Figures are those of Williams, Gupta and Wasilik 2003 as data/etch_rates.csv has them.
 */

static void text_of(const struct etch_answer *a, char *text, size_t room)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  etch_text(a, &out);
  snprintf(text, room, "%s", out.text);
  buf_release(&out);
}

/* The first so many lines of the text. */
static bool says_on_top(const struct etch_answer *a, int lines, const char *words)
{
  char text[1 << 15];
  char *end = text;

  text_of(a, text, sizeof text);
  for (int i = 0; i < lines && end; i++)
    end = strchr(end + 1, '\n');
  if (end)
    *end = '\0';
  return strstr(text, words) != NULL;
}

static void a_mask_is_judged_by_the_slowest_source(void)
{
  /* 2.26 um by the source counted with, 2.80 um by Williams' 1100 nm/min */
  const struct etch_answer *a = ask("film=si-100|in=koh@30wt%|at=80degC|depth=400um|"
                                    "mask=oxide-thermal|mask-thickness=2.5um");

  REQUIRE(a != NULL && a->answered);
  CHECK(a->refused);
  CHECK_INT(etch_exit_status(a), 1);
  CHECK(says_on_top(a, 1, "Not as asked: the mask does not last: up to 2.8 µm"));
  a = ask("film=si-100|in=koh@30wt%|at=80degC|depth=400um|mask=oxide-thermal|mask-thickness=2.9um");
  REQUIRE(a != NULL && a->answered);
  CHECK(!a->refused);
  /* what is measured here is not set against what is printed elsewhere */
  a = ask("film=si-100|in=koh@30wt%|at=80degC|depth=400um|mask=oxide-thermal|mask-thickness=2.5um|"
          "rate=1361nm/min");
  REQUIRE(a != NULL && a->answered);
  CHECK(!a->refused);
}

static void the_layer_below_is_open_from_the_fastest_source_on(void)
{
  const struct etch_answer *a = ask("film=oxide-thermal|in=10 water + 1 hf-49|depth=500nm|over=20%|"
                                    "under=nitride-lpcvd");

  REQUIRE(a != NULL && a->answered);
  /* Williams 2003: 23 nm/min, nitride 1.1 nm/min.  As counted: 20 % of 21.7 min. */
  CHECK_NEAR(a->below.least_loss_m, 1.1e-9 * 0.2 * 500 / 23, 1e-9, 0);
  /* timed by that, cleared as fast as the fastest source has it */
  CHECK_NEAR(a->below.loss_m,
             1.1e-9 * (1.2 * 500 / 23 - 500e-9 / (a->etched.highest_m_s / nm_min * 1e-9)), 1e-9, 0);
  CHECK(a->below.loss_m > 3 * a->below.least_loss_m);
}

static void waiting_for_a_slow_film_opens_the_layer_below_longer(void)
{
  /* Seidel's form first, Williams' 1100 nm/min the slowest: (worst - clear) by that */
  const struct etch_answer *a = ask("film=si-100|in=koh@30wt%|at=80degC|depth=10um|over=100%|"
                                    "under=oxide-thermal");

  REQUIRE(a != NULL && a->answered);
  CHECK_NEAR(a->below.loss_m, 7.7e-9 * 10000 / 1100, 1e-6, 0);
}

static void without_over_etch_a_loss_below_is_not_known(void)
{
  const struct etch_answer *a = ask("film=oxide-thermal|in=bhf-5|depth=500nm|under=poly");

  REQUIRE(a != NULL && a->answered);
  CHECK(isnan(a->below.loss_m) && isnan(a->below.least_loss_m));
  CHECK(says(a->unknown, a->unknown_count, "give --over and --spread-film"));
  CHECK(says_on_top(a, 40, "below, once it is open: poly: not known: give --over"));
  CHECK(!says_on_top(a, 100, "never open"));
}

static void a_bound_is_no_time(void)
{
  /* Williams 2003: S1822 in piranha "> 92000", copper in BHF "< 5" */
  const struct etch_answer *a = ask("film=resist-s1822|in=piranha|depth=1.5um");

  REQUIRE(a != NULL && a->answered);
  CHECK_INT(a->bound, ETCH_TIME_AT_MOST);
  CHECK(isnan(a->band_low_s));
  CHECK(isnan(a->section.undercut_m));
  CHECK(says_on_top(a, 1, "Less than 1 s by a lower bound of the rate"));
  CHECK(says(a->cautions, a->caution_count, "dry and free of solvent"));
  CHECK(!says_on_top(a, 100, "About"));
  a = ask("film=cu|in=bhf-5|depth=100nm");
  REQUIRE(a != NULL && a->answered);
  CHECK_INT(a->bound, ETCH_TIME_AT_LEAST);
  CHECK(isnan(a->band_high_s) && isnan(a->longest_s));
  CHECK(says_on_top(a, 1, "At least 20 min by an upper bound of the rate"));
  CHECK(says(a->cautions, a->caution_count, "at most that fast, maybe not at all"));
}

static void a_mask_with_a_bound_has_no_end(void)
{
  const struct etch_answer *a = ask("film=al|in=al-a|depth=500nm|mask=cu|mask-thickness=10um");
  struct buf out;
  struct err err = {0};

  REQUIRE(a != NULL && a->answered); /* copper goes at more than 2900 nm/min there */
  CHECK(isnan(a->mask.loss_m));
  CHECK(a->mask.least_loss_m > 0);
  CHECK(!a->refused);
  CHECK(says(a->unknown, a->unknown_count, "whether the mask lasts"));
  a = ask("film=al|in=al-a|depth=500nm|mask=cu|mask-thickness=1um");
  REQUIRE(a != NULL);
  CHECK(a->refused); /* it takes that much at least */
  a = ask("film=cu|in=al-a|depth=1um");
  REQUIRE(a != NULL && a->answered);
  buf_init(&out, 1 << 20);
  CHECK_INT(etch_drawing(a, &out, &err), ERR_INPUT);
  CHECK_INT((long long)out.used, 0);
  buf_release(&out);
}

static void through_the_wafer_is_not_as_asked(void)
{
  const struct etch_answer *a =
      ask("film=si-100|in=koh@30wt%|at=80degC|depth=600um|thickness=525um");

  REQUIRE(a != NULL && a->answered);
  CHECK(a->refused);
  CHECK_INT(etch_exit_status(a), 1);
  CHECK(says_on_top(a, 1, "Not as asked: the wafer is 525 µm thick"));
}

static void a_rate_that_is_left_out_is_said_on_top(void)
{
  const struct etch_answer *a =
      ask("film=oxide-thermal|in=bhf-5|depth=500nm|rate=95nm/min|rate-at=90degC");

  REQUIRE(a != NULL && a->answered);
  CHECK(a->left_out != NULL);
  CHECK(says_on_top(a, 2, "But the rate given, 95 nm/min, does not count: it was measured at 90"));
  a = ask("film=oxide-thermal|in=bhf-5|depth=500nm|rate=95nm/min");
  REQUIRE(a != NULL);
  CHECK(a->left_out == NULL);
}

static void a_measured_zero_is_said_as_one(void)
{
  const struct etch_answer *a = ask("film=poly|in=dhf-10|depth=100nm");

  REQUIRE(a != NULL && !a->answered);
  CHECK(says_on_top(a, 1, "Measured as zero by Williams"));
  CHECK(says_on_top(a, 1, "no time for 100 nm of poly"));
  CHECK(!says_on_top(a, 1, "Not known"));
  CHECK_INT(etch_exit_status(a), 1);
}

static void sources_that_differ_share_the_first_line(void)
{
  const struct etch_answer *a =
      ask("film=oxide-thermal|in=10 water + 1 hf-49|depth=230nm|wafers=25|"
          "wafer=150mm");

  REQUIRE(a != NULL && a->answered);
  CHECK(says_on_top(a, 1, "min to 10 min by the sources beside each other (10 min by the first)"));
  CHECK(says_on_top(a, 1, "25 wafers of 150 mm"));
  a = ask("film=oxide-thermal|in=bhf-5|depth=500nm");
  REQUIRE(a != NULL);
  CHECK(says_on_top(a, 1, "About 5 min") || says_on_top(a, 1, "About 300 s"));
}

/* Every film in every bath: the one counted with stands first, is a number, and counts. */
static void the_source_counted_with_stands_first(void)
{
  static const char *const baths[] = {"hf-49", "dhf-10",     "bhf-5", "bhf-10",     "h3po4-85",
                                      "cr-7",  "persulfate", "al-a",  "aqua-regia", "h2o2-30"};
  static const char *const films[] = {
      "si-100", "poly", "oxide-thermal", "oxide-lto", "psg", "nitride-lpcvd", "al",
      "cu",     "cr",   "resist-s1822",  "ti",        "w"};
  int counted = 0;

  for (size_t b = 0; b < sizeof baths / sizeof *baths; b++)
    for (size_t f = 0; f < sizeof films / sizeof *films; f++) {
      char question[120];
      const struct etch_answer *a;

      snprintf(question, sizeof question, "film=%s|in=%s|depth=10nm", films[f], baths[b]);
      CHECK_CASE("%s", question);
      a = ask(question);
      REQUIRE(a != NULL);
      if (!a->etched.counted) {
        CHECK(isnan(a->etched.rate_m_s));
        continue;
      }
      counted++;
      CHECK(a->etched.counted == a->etched.rates);
      CHECK(!a->etched.counted->not_used);
      CHECK(!isnan(a->etched.counted->low_m_s));
    }
  CHECK(counted > 15);
}

/* A word that was read and a number from memory: the number is counted with, and stands first. */
static void a_word_does_not_stand_before_a_number(void)
{
  static struct etch_film film = {.id = "film"};
  static struct etch_bath bath = {.id = "bath"};
  static struct etch_row rows[2];
  const struct etch_tables tables = {.arena = &arena, .row_count = 2, .rows = rows};
  const struct etch_place place = {.bath = &bath, .parts = "", .at_K = NAN, .strength_ratio = NAN};
  struct etch_layer layer;

  rows[0] = (struct etch_row){.film = &film,
                              .bath = &bath,
                              .at_K = NAN,
                              .strength_ratio = NAN,
                              .water_parts = NAN,
                              .rate_m_s = NAN,
                              .rate_to_m_s = NAN,
                              .marks = ETCH_WORKS,
                              .series = "",
                              .of = {CHEM_SEEN, "", "read", ""}};
  rows[1] = rows[0];
  rows[1].rate_m_s = rows[1].rate_to_m_s = 1e-9;
  rows[1].marks = 0;
  rows[1].of = (struct chem_origin){CHEM_MEMORY, "", "remembered", ""};
  etch_look_up(&tables, &place, &film, NULL, &arena, &layer);
  REQUIRE(layer.counted != NULL);
  CHECK_STR(layer.counted->of.source, "remembered");
  CHECK(layer.counted == layer.rates);
}

static void the_list_is_there_for_programs_too(void)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  etch_list_json(chem, &out);
  CHECK(strstr(out.text, "\"schema\": \"inward.etch_list.1\"") != NULL);
  CHECK(strstr(out.text, "\"id\": \"koh-water\"") != NULL);
  CHECK(strstr(out.text, "\"si-110\"") != NULL); /* by a form only */
  buf_release(&out);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, (size_t)1 << 30);
  chem = chem_read(&arena);
  RUN(a_mask_is_judged_by_the_slowest_source);
  RUN(the_layer_below_is_open_from_the_fastest_source_on);
  RUN(waiting_for_a_slow_film_opens_the_layer_below_longer);
  RUN(without_over_etch_a_loss_below_is_not_known);
  RUN(a_bound_is_no_time);
  RUN(a_mask_with_a_bound_has_no_end);
  RUN(through_the_wafer_is_not_as_asked);
  RUN(a_rate_that_is_left_out_is_said_on_top);
  RUN(a_measured_zero_is_said_as_one);
  RUN(sources_that_differ_share_the_first_line);
  RUN(the_source_counted_with_stands_first);
  RUN(a_word_does_not_stand_before_a_number);
  RUN(the_list_is_there_for_programs_too);
  arena_release(&arena);
  return check_end();
}
