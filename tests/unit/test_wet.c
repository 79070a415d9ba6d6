#include "wet_world.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- baths ---- */

static void a_tank_of_which_nothing_was_told_is_not_known(void)
{
  struct world w;

  world_begin(&w);
  REQUIRE(w.own);
  CHECK(wet_names_fit(w.place.chem, w.own, &w.complaints));
  CHECK_INT(tank(&w, 0, 0)->state, WET_NOT_KNOWN);
  CHECK(says(&tank(&w, 0, 0)->reasons, "nothing was told"));
  world_end(&w);
}

static void a_bath_is_due_when_its_life_is_over_and_not_a_minute_before(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "made", .tank = "T1");
  TELL(&w, 110, .act = "temperature", .tank = "T1", .amount = "75degC");
  TELL(&w, 220, .act = "temperature", .tank = "T1", .amount = "75degC");
  CHECK_INT(tank(&w, 0, 239.9)->state, WET_STANDS);
  CHECK(tank(&w, 0, 239)->due_ms == minute(240));
  CHECK_INT(tank(&w, 0, 240)->state, WET_DUE);
  CHECK(says(&tank(&w, 0, 240)->reasons, "its life is 4 h (rule 3)"));
  TELL(&w, 241, .act = "dumped", .tank = "T1");
  CHECK_INT(tank(&w, 0, 242)->state, WET_EMPTY);
  TELL(&w, 243, .act = "made", .tank = "T1");
  CHECK_INT(tank(&w, 0, 244)->state, WET_STANDS);
  /* and what was so before is still so */
  CHECK_INT(tank(&w, 0, 240)->state, WET_DUE);
  world_end(&w);
}

static void the_life_of_a_bath_of_the_house_holds_where_the_tank_has_none(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "made", .tank = "T3");
  TELL(&w, 0, .act = "made", .tank = "T2");
  CHECK_NEAR(tank(&w, 2, 1)->life_s, 7200, 1e-12, 0);
  CHECK_INT(tank(&w, 2, 121)->state, WET_DUE);
  CHECK(isnan(tank(&w, 1, 1)->life_s));
  CHECK(says(&tank(&w, 1, 1)->notes, "no life is set"));
  world_end(&w);
}

static void wafers_a_level_a_band_and_an_old_reading_ask_for_a_person(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "made", .tank = "T1");
  TELL(&w, 1, .act = "wafers", .tank = "T1", .amount = "99");
  CHECK_INT(tank(&w, 0, 2)->state, WET_STANDS);
  CHECK(says(&tank(&w, 0, 121)->reasons, "not read since it was poured"));
  TELL(&w, 3, .act = "wafers", .tank = "T1", .amount = "1");
  CHECK(says(&tank(&w, 0, 4)->reasons, "100 wafers, and at most 100"));
  TELL(&w, 5, .act = "temperature", .tank = "T1", .amount = "80.1 degC");
  CHECK(says(&tank(&w, 0, 6)->reasons, "too hot"));
  TELL(&w, 7, .act = "level", .tank = "T1", .amount = "14.9 L");
  CHECK(says(&tank(&w, 0, 8)->reasons, "top it up"));
  TELL(&w, 9, .act = "topped", .tank = "T1", .what = "water", .amount = "0.2 L");
  CHECK(!says(&tank(&w, 0, 10)->reasons, "top it up"));
  CHECK_NEAR(tank(&w, 0, 10)->level_m3, 0.0151, 1e-9, 0);
  CHECK(tank(&w, 0, 10)->made->t_ms == minute(0)); /* topping up gives no new life */
  TELL(&w, 11, .act = "topped", .tank = "T1", .what = "water");
  CHECK(isnan(tank(&w, 0, 12)->level_m3));
  world_end(&w);
}

static void a_bath_that_was_found_standing_is_never_known(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "found", .tank = "T1");
  CHECK_INT(tank(&w, 0, 1)->state, WET_NOT_KNOWN);
  CHECK(says(&tank(&w, 0, 1)->reasons, "since when"));
  world_end(&w);
}

static void what_contradicts_is_not_known(void)
{
  struct world w;
  struct wet_told told = {.act = WET_MADE, .tank = "T1", .bath = "sc-2"};
  struct buf detail;

  world_begin(&w);
  CHECK(TELL(&w, 0, .act = "wafers", .tank = "T1", .amount = "5").refused);
  TELL(&w, 1, .act = "made", .tank = "T1");
  CHECK(TELL(&w, 2, .act = "made", .tank = "T1").refused);
  CHECK(TELL(&w, 2, .act = "found", .tank = "T1").refused);
  TELL(&w, 3, .act = "wafers", .tank = "T1", .amount = "5");
  /* then somebody tells late that it was emptied before */
  TELL(&w, 2.5, .act = "dumped", .tank = "T1");
  CHECK_INT(tank(&w, 0, 4)->state, WET_NOT_KNOWN);
  CHECK(says(&tank(&w, 0, 4)->reasons, "stood empty"));
  /* a bath that the file no longer names */
  told.volume_m3 = told.volume_pm_m3 = told.temperature_K = told.fill_ratio = told.fill_pm_ratio =
      (double)NAN;
  buf_init(&detail, 4000);
  wet_detail(&told, &detail);
  w.entries[w.count] = (struct record_entry){.number = 9,
                                             .t_ms = minute(5),
                                             .kind = RECORD_BATH,
                                             .who = "me",
                                             .text = "x",
                                             .detail = detail.text};
  w.count++;
  CHECK_INT(tank(&w, 0, 6)->state, WET_NOT_KNOWN);
  CHECK(says(&tank(&w, 0, 6)->reasons, "now says sc-1"));
  buf_release(&detail);
  world_end(&w);
}

/* ---- what counts ---- */

static void what_is_taken_back_does_not_count_and_stays_taken_back(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "made", .tank = "T1");
  TELL(&w, 1, .act = "wafers", .tank = "T1", .amount = "25");
  CHECK_INT((int)tank(&w, 0, 2)->wafers, 25);
  CHECK(!TELL(&w, 3, .act = "taken-back", .entry = "2").refused);
  CHECK_INT((int)tank(&w, 0, 4)->wafers, 0);
  const char *why = TELL(&w, 5, .act = "taken-back", .entry = "2").refused;

  CHECK(why && strstr(why, "does not count already"));
  CHECK(TELL(&w, 5, .act = "taken-back", .entry = "3").refused);
  CHECK(TELL(&w, 5, .act = "taken-back", .entry = "77").refused);
  CHECK_INT(past_of(&w)->unread_count, 0);
  world_end(&w);
}

static void the_same_tap_counts_once_and_the_same_act_at_once_is_asked_about(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "made", .tank = "T1");
  TELL(&w, 1, .act = "wafers", .tank = "T1", .amount = "25", .tap = "a");
  CHECK(TELL(&w, 1.01, .act = "wafers", .tank = "T1", .amount = "25", .tap = "a").already == 2);
  CHECK(TELL(&w, 1.02, .act = "wafers", .tank = "T1", .amount = "25", .tap = "b").refused);
  CHECK_INT((int)tank(&w, 0, 2)->wafers, 25);
  CHECK(!TELL(&w, 1.03, .act = "wafers", .tank = "T1", .amount = "25", .tap = "b", .anyway = "yes")
             .refused);
  CHECK_INT((int)tank(&w, 0, 2)->wafers, 50);
  /* two that raced both came in: the record has both, one counts */
  w.entries[w.count] = w.entries[w.count - 1];
  w.entries[w.count].number++;
  w.count++;
  CHECK_INT((int)tank(&w, 0, 2)->wafers, 50);
  world_end(&w);
}

static void a_detail_reads_back_as_it_was_written_and_nothing_else_is_read(void)
{
  static const char *const bad[] = {
      "",
      "{}",
      "{\"schema\": \"inward.wet.2\", \"act\": \"closed\", \"container\": \"W1\"}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"drunk\", \"container\": \"W1\"}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"closed\"}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"closed\", \"container\": \"W1\", \"more\": 1}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"closed\", \"container\": \"W1\", \"wafers\": 3}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"wafers\", \"tank\": \"T1\", \"wafers\": -3}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"wafers\", \"tank\": \"T1\", \"wafers\": \"3\"}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"level\", \"tank\": \"T1\", \"volume_m3\": 1e9}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"found\", \"tank\": \"T1\", \"container\": \"W1\"}",
  };
  struct wet_told told = {.act = WET_ADDED,
                          .container = "W1",
                          .what = "al-etch \"x\"",
                          .tap = "t",
                          .volume_m3 = 0.0015,
                          .volume_pm_m3 = 0.0003,
                          .temperature_K = (double)NAN,
                          .fill_ratio = (double)NAN,
                          .fill_pm_ratio = (double)NAN};
  struct wet_told back = {0};
  struct arena arena;
  struct buf detail;

  arena_init(&arena, 1 << 20);
  buf_init(&detail, 4000);
  wet_detail(&told, &detail);
  REQUIRE(wet_detail_read(detail.text, &arena, &back));
  CHECK_INT(back.act, WET_ADDED);
  CHECK_STR(back.container, "W1");
  CHECK_STR(back.what, "al-etch \"x\"");
  CHECK_STR(back.tap, "t");
  CHECK_NEAR(back.volume_m3, 0.0015, 0, 0);
  CHECK_NEAR(back.volume_pm_m3, 0.0003, 0, 0);
  CHECK(isnan(back.fill_ratio) && !back.tank);
  for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
    CHECK_CASE("%s", bad[i]);
    CHECK(!wet_detail_read(bad[i], &arena, &back));
  }
  buf_release(&detail);
  arena_release(&arena);
}

static void how_full_is_read_as_people_say_it(void)
{
  double ratio, pm;

  CHECK(wet_read_fill("about two thirds", &ratio, &pm));
  CHECK_NEAR(ratio, 2.0 / 3, 1e-12, 0);
  CHECK(pm >= 0.1);
  CHECK(wet_read_fill("60 %", &ratio, &pm) && pm < 0.1);
  CHECK(wet_read_fill("60 % ± 2 %", &ratio, &pm));
  CHECK_NEAR(pm, 0.02, 1e-12, 0);
  CHECK(!wet_read_fill("lots", &ratio, &pm));
  CHECK(!wet_read_fill("160 %", &ratio, &pm));
  CHECK(!wet_read_fill("5 L", &ratio, &pm));
  CHECK(wet_read_volume("about 1.5 L", &ratio, &pm) && pm > 0);
  CHECK(wet_read_volume("1.5 L", &ratio, &pm) && isnan(pm));
  CHECK(!wet_read_volume("1.5", &ratio, &pm));
}

/* ---- waste ---- */

static void a_container_takes_by_all_it_ever_held(void)
{
  struct world w;

  world_begin(&w);
  CHECK_INT(may(&w, "W1", "al-etch", 0), MEET_UNKNOWN); /* it does not stand */
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  CHECK_INT(may(&w, "W1", "al-etch", 1), MEET_BY_PROCEDURE);
  CHECK_INT(may(&w, "W1", "acetone", 1), MEET_NEVER);
  CHECK_INT(may(&w, "W1", "hcl", 1), MEET_UNKNOWN); /* its stream does not list it */
  CHECK(TELL(&w, 2, .act = "added", .container = "W1", .what = "acetone", .amount = "1 L").refused);
  CHECK_INT(container(&w, "W1", 3)->item_count, 0);
  /* it is in already: written down, and a person is needed */
  CHECK(TELL(&w, 4, .act = "added", .container = "W1", .what = "acetone", .amount = "1 L",
             .anyway = "yes")
            .warning);
  CHECK_INT(container(&w, "W1", 5)->state, WET_NOT_KNOWN);
  CHECK_INT(may(&w, "W1", "al-etch", 5), MEET_NEVER);
  world_end(&w);
}

/* Acid stands in W-3: solvents begun as "w-3" would be looked at for the wrong cap. */
static void no_container_has_a_name_that_is_read_for_another(void)
{
  static const char *const alike[] = {"w-3", "W3", "w_3", "W-3-"};
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W-3", .stream = "metal");
  for (size_t i = 0; i < sizeof alike / sizeof *alike; i++) {
    CHECK_CASE("%s", alike[i]);
    CHECK(
        TELL(&w, 1 + (double)i, .act = "opened", .container = alike[i], .stream = "tight").refused);
  }
  CHECK(!TELL(&w, 9, .act = "opened", .container = "W-33", .stream = "tight").refused);
  world_end(&w);
}

static void a_tank_brings_what_it_was_topped_up_with(void)
{
  struct world w;
  const struct wet_container *c;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  TELL(&w, 0, .act = "made", .tank = "T2");
  TELL(&w, 1, .act = "topped", .tank = "T2", .what = "hno3-70", .amount = "0.1 L");
  TELL(&w, 2, .act = "dumped", .tank = "T2", .into = "W1", .amount = "3 L");
  c = container(&w, "W1", 3);
  CHECK_INT(c->held_count, 1); /* nitric acid is part of that bath */
  CHECK_STR(c->held[0], "al-etch");
  CHECK_NEAR(c->fill_high_ratio, 0.6, 1e-9, 0);
  CHECK(c->gives_gas);
  TELL(&w, 4, .act = "made", .tank = "T2");
  TELL(&w, 5, .act = "topped", .tank = "T2", .what = "acetone", .amount = "0.1 L", .anyway = "yes");
  CHECK(TELL(&w, 6, .act = "dumped", .tank = "T2", .into = "W1", .amount = "1 L").refused);
  world_end(&w);
}

/* 1 x 15 of the chart is GT for hydrofluoric acid with itself. */
static void what_a_stream_lists_both_is_by_procedure_where_only_the_chart_forbids(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "hf");
  TELL(&w, 1, .act = "added", .container = "W1", .what = "hf-49", .amount = "0.1 L");
  CHECK_INT(may(&w, "W1", "bhf-5", 2), MEET_BY_PROCEDURE);
  CHECK_INT(may(&w, "W1", "hf", 2), MEET_BY_PROCEDURE);
  CHECK_INT(container(&w, "W1", 3)->state, WET_STANDS);
  CHECK_INT(may(&w, "W1", "hno3-70", 2), MEET_NEVER);
  world_end(&w);
}

static void what_was_found_standing_takes_nothing(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "found", .container = "W1", .stream = "metal");
  TELL(&w, 1, .act = "fill", .container = "W1", .amount = "half");
  CHECK_INT(container(&w, "W1", 2)->state, WET_NOT_KNOWN);
  CHECK_INT(may(&w, "W1", "phosphoric acid", 2), MEET_UNKNOWN);
  world_end(&w);
}

static void gas_does_not_go_under_a_tight_cap(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W2", .stream = "tight");
  CHECK_INT(may(&w, "W2", "h2o2", 1), MEET_NEVER);
  TELL(&w, 1, .act = "added", .container = "W2", .what = "h2o2", .amount = "1 L", .anyway = "yes");
  CHECK(container(&w, "W2", 2)->gives_gas);
  CHECK(says(&container(&w, "W2", 2)->reasons, "vented"));
  world_end(&w);
}

static void a_container_goes_by_its_days_and_its_fill(void)
{
  enum { DAY = 24 * 60 };
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  CHECK(container(&w, "W1", 1)->due_ms == INT64_MIN); /* counted from the first that goes in */
  TELL(&w, DAY, .act = "added", .container = "W1", .what = "phosphoric acid", .amount = "1 L");
  CHECK(container(&w, "W1", DAY + 1)->due_ms == minute(91 * DAY));
  CHECK_INT(container(&w, "W1", 91 * DAY - 1)->state, WET_STANDS);
  CHECK_INT(container(&w, "W1", 91 * DAY)->state, WET_DUE);
  TELL(&w, 2 * DAY, .act = "fill", .container = "W1", .amount = "85 %");
  CHECK(says(&container(&w, "W1", 2 * DAY + 1)->reasons, "may be full")); /* 85 % ± 5 % of 90 % */
  TELL(&w, 3 * DAY, .act = "closed", .container = "W1");
  CHECK(container(&w, "W1", 3 * DAY + 1)->due_ms == minute(6 * DAY));
  CHECK_INT(may(&w, "W1", "phosphoric acid", 3 * DAY + 1), MEET_NEVER);
  TELL(&w, 4 * DAY, .act = "collected", .container = "W1");
  CHECK(!container(&w, "W1", 4 * DAY + 1));
  world_end(&w);
}

/* ---- quantities ---- */

/* 29 CFR 1910.106(a)(19)(i) to (iv), as GHS 2.6 has them. */
static void categories_of_flammable_liquids_are_those_of_the_rule(void)
{
  const double zero_K = 273.15;

  CHECK_INT(wet_flash_category(zero_K + 22.9, zero_K + 35), 1);
  CHECK_INT(wet_flash_category(zero_K + 22.9, zero_K + 35.1), 2);
  CHECK_INT(wet_flash_category(zero_K + 23, zero_K + 100), 3);
  CHECK_INT(wet_flash_category(zero_K + 60, zero_K + 100), 3);
  CHECK_INT(wet_flash_category(zero_K + 60.1, zero_K + 100), 4);
  CHECK_INT(wet_flash_category(zero_K + 93, zero_K + 100), 4);
  CHECK_INT(wet_flash_category(zero_K + 93.1, zero_K + 100), 0);
  CHECK_INT(wet_flash_category((double)NAN, zero_K + 100), -1);
}

static void a_cabinet_of_more_than_sixty_gallons_exceeds_and_what_has_no_flash_point_is_named(void)
{
  struct world w;
  struct wet_stock *stock;
  struct buf out;

  world_begin(&w);
  stock = wet_stock(&w.place, &w.arena);
  CHECK(stock->exceeds); /* 240 L of acetone against 227.1 L */
  CHECK(stock->stores[0].sums[0].exceeds);
  CHECK_NEAR(stock->stores[0].sums[0].volume_m3, 0.24, 1e-12, 0);
  CHECK_NEAR(stock->stores[0].sums[1].volume_m3, 0.005, 1e-12, 0); /* NMP is category 4 */
  CHECK(!stock->stores[1].sums[0].exceeds && !stock->stores[1].sums[0].may_exceed);
  CHECK_INT(stock->stores[0].unsure_count, 1);
  CHECK_STR(stock->stores[0].unsure[0], "hf-49");
  buf_init(&out, 1 << 20);
  wet_stock_text(stock, UNITS_SYSTEM_SI, &out);
  CHECK(strstr(out.text, "EXCEEDS") && strstr(out.text, "not a clearance"));
  CHECK(!strstr(out.text, "below") && !strstr(out.text, "safe"));
  buf_release(&out);
  world_end(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_tank_of_which_nothing_was_told_is_not_known);
  RUN(a_bath_is_due_when_its_life_is_over_and_not_a_minute_before);
  RUN(the_life_of_a_bath_of_the_house_holds_where_the_tank_has_none);
  RUN(wafers_a_level_a_band_and_an_old_reading_ask_for_a_person);
  RUN(a_bath_that_was_found_standing_is_never_known);
  RUN(what_contradicts_is_not_known);
  RUN(what_is_taken_back_does_not_count_and_stays_taken_back);
  RUN(the_same_tap_counts_once_and_the_same_act_at_once_is_asked_about);
  RUN(a_detail_reads_back_as_it_was_written_and_nothing_else_is_read);
  RUN(how_full_is_read_as_people_say_it);
  RUN(a_container_takes_by_all_it_ever_held);
  RUN(a_tank_brings_what_it_was_topped_up_with);
  RUN(what_a_stream_lists_both_is_by_procedure_where_only_the_chart_forbids);
  RUN(what_was_found_standing_takes_nothing);
  RUN(gas_does_not_go_under_a_tight_cap);
  RUN(no_container_has_a_name_that_is_read_for_another);
  RUN(a_container_goes_by_its_days_and_its_fill);
  RUN(categories_of_flammable_liquids_are_those_of_the_rule);
  RUN(a_cabinet_of_more_than_sixty_gallons_exceeds_and_what_has_no_flash_point_is_named);
  return check_end();
}
