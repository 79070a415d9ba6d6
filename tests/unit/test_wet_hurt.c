#include "wet_world.h"

#include <math.h>
#include <stdlib.h>
#include <unistd.h>

/* What would hurt somebody if a tank or a container stood as fine. */

static void a_name_that_is_used_again_is_another_container_and_is_seen(void)
{
  struct world w;
  const struct wet_container *c;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  TELL(&w, 1, .act = "added", .container = "W1", .what = "phosphoric acid", .amount = "1 L");
  TELL(&w, 2, .act = "collected", .container = "W1");
  CHECK(!container(&w, "W1", 3));
  TELL(&w, 4, .act = "opened", .container = "W1", .stream = "hf");
  c = container(&w, "W1", 5);
  if (CHECK(c)) {
    CHECK_INT(c->held_count, 0);
    CHECK_STR(c->stream_id, "hf");
    CHECK_INT(c->state, WET_STANDS);
  }
  CHECK(may(&w, "W1", "bhf-5", 6) <= MEET_BY_PROCEDURE);
  world_end(&w);
}

/* Nothing in wet_past keeps two boards from writing at once. */
static void what_two_boards_wrote_wipes_out_no_history(void)
{
  static const char *const details[] = {
      "{\"schema\": \"inward.wet.1\", \"act\": \"opened\", \"container\": \"W1\", \"stream\": \"metal\"}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"added\", \"container\": \"W1\", \"what\": \"acetone\"}",
      "{\"schema\": \"inward.wet.1\", \"act\": \"opened\", \"container\": \"W1\", \"stream\": \"metal\"}"};
  struct world w;
  const struct wet_container *c;

  world_begin(&w);
  for (int i = 0; i < 3; i++)
    w.entries[w.count++] = (struct record_entry){.kind = RECORD_WASTE,
                                                 .number = i + 1,
                                                 .t_ms = minute(i),
                                                 .who = "me",
                                                 .text = "t",
                                                 .detail = details[i]};
  c = container(&w, "W1", 4);
  if (CHECK(c)) {
    CHECK_INT(c->state, WET_NOT_KNOWN);
    CHECK(!c->history_known && isnan(c->fill_high_ratio));
    CHECK_INT(c->held_count, 1);
  }
  w.entries[1].detail =
      "{\"schema\": \"inward.wet.1\", \"act\": \"collected\", \"container\": \"W1\"}";
  w.entries[2].detail = "{\"schema\": \"inward.wet.1\", \"act\": \"added\", \"container\": \"W1\", "
                        "\"what\": \"phosphoric acid\"}";
  c = container(&w, "W1", 4);
  CHECK(c && c->state == WET_NOT_KNOWN && says(&c->reasons, "after it was told collected"));
  world_end(&w);
}

static void what_cannot_be_read_may_have_been_of_any_that_stood_then(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  TELL(&w, 0, .act = "made", .tank = "T1");
  w.entries[w.count] = w.entries[0];
  w.entries[w.count].number = 9;
  w.entries[w.count].detail = "{\"schema\": \"inward.wet.2\"}";
  w.entries[w.count++].t_ms = minute(1);
  CHECK_INT(container(&w, "W1", 2)->state, WET_NOT_KNOWN);
  CHECK_INT(may(&w, "W1", "phosphoric acid", 2), MEET_UNKNOWN);
  CHECK_INT(tank(&w, 0, 2)->state, WET_NOT_KNOWN);
  TELL(&w, 3, .act = "opened", .container = "W2", .stream = "metal");
  CHECK_INT(container(&w, "W2", 4)->state, WET_STANDS);
  world_end(&w);
}

static void hydrofluoric_acid_in_glass_is_never_shown_as_standing(void)
{
  struct world w;
  struct chemicals_stream glass[3];

  world_begin(&w);
  memcpy(glass, w.own->streams, sizeof glass);
  glass[1].material = "glass";
  w.own->streams = glass;
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "hf");
  CHECK(TELL(&w, 1, .act = "added", .container = "W1", .what = "hf-49").refused);
  TELL(&w, 1, .act = "added", .container = "W1", .what = "hf-49", .anyway = "yes");
  CHECK_INT(container(&w, "W1", 2)->state, WET_NOT_KNOWN);
  CHECK(says(&container(&w, "W1", 2)->reasons, "in such a container"));
  world_end(&w);
}

static void an_add_that_is_told_late_meets_what_went_in_since(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  TELL(&w, 10, .act = "added", .container = "W1", .what = "acetone", .anyway = "yes");
  CHECK(TELL(&w, 5, .act = "added", .container = "W1", .what = "al-etch").refused);
  CHECK(TELL(&w, 5, .act = "added", .container = "W1", .what = "al-etch", .anyway = "yes").warning);
  world_end(&w);
}

static void acetone_into_an_oxidising_bath_is_refused_and_not_shown_as_standing(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "made", .tank = "T1");
  CHECK(TELL(&w, 1, .act = "topped", .tank = "T1", .what = "acetone").refused);
  CHECK_INT(tank(&w, 0, 2)->state, WET_STANDS);
  CHECK(!TELL(&w, 2, .act = "topped", .tank = "T1", .what = "h2o2-30").refused);
  CHECK_INT(tank(&w, 0, 3)->state, WET_STANDS);
  CHECK(TELL(&w, 3, .act = "topped", .tank = "T1", .what = "acetone", .anyway = "yes").warning);
  CHECK_INT(tank(&w, 0, 4)->state, WET_NOT_KNOWN);
  world_end(&w);
}

static void a_tank_that_the_file_no_longer_names_is_not_forgotten(void)
{
  struct world w;
  const struct wet_baths *baths;
  const struct chemicals_tank *named;
  struct chemicals_tank renamed[3];

  world_begin(&w);
  TELL(&w, 0, .act = "made", .tank = "T2");
  named = w.own->tanks;
  memcpy(renamed, named, sizeof renamed);
  renamed[1].part.id = "T9";
  w.own->tanks = renamed;
  w.place.now_ms = minute(1);
  baths = wet_baths(&w.place, past_of(&w), &w.arena);
  CHECK_INT(baths->strangers.count, 1);
  CHECK(says(&baths->strangers, "al-etch poured fresh in T2"));
  CHECK_INT(baths->state, WET_NOT_KNOWN);
  w.own->tanks = named;
  TELL(&w, 2, .act = "dumped", .tank = "T2");
  w.own->tanks = renamed;
  w.place.now_ms = minute(3);
  CHECK_INT(wet_baths(&w.place, past_of(&w), &w.arena)->strangers.count, 0);
  world_end(&w);
}

static void fuller_than_it_holds_or_emptier_than_was_told_is_not_known(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  TELL(&w, 1, .act = "added", .container = "W1", .what = "phosphoric acid", .amount = "4 L");
  TELL(&w, 2, .act = "fill", .container = "W1", .amount = "a quarter");
  CHECK(says(&container(&w, "W1", 3)->reasons, "less than was told"));
  TELL(&w, 3, .act = "opened", .container = "W2", .stream = "metal");
  TELL(&w, 4, .act = "added", .container = "W2", .what = "phosphoric acid", .amount = "6 L",
       .anyway = "yes");
  TELL(&w, 5, .act = "closed", .container = "W2");
  CHECK_INT(container(&w, "W2", 6)->state, WET_NOT_KNOWN);
  world_end(&w);
}

static void a_reading_that_corrects_another_at_once_is_written_down(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  CHECK(!TELL(&w, 1, .act = "fill", .container = "W1", .amount = "half").refused);
  CHECK(!TELL(&w, 1.05, .act = "fill", .container = "W1", .amount = "full").refused);
  world_end(&w);
}

static void a_tap_that_told_something_else_is_not_taken_for_told(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal", .tap = "1");
  CHECK(TELL(&w, 1, .act = "added", .container = "W1", .what = "phosphoric acid", .tap = "1")
            .refused);
  CHECK_INT(w.count, 1);
  world_end(&w);
}

static void names_that_differ_by_large_and_small_letters_do_not_stand_together(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  CHECK(TELL(&w, 1, .act = "opened", .container = "w1", .stream = "metal").refused);
  world_end(&w);
}

static void what_was_found_in_a_tank_does_not_spoil_a_container_unasked(void)
{
  struct world w;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  TELL(&w, 1, .act = "found", .tank = "T2");
  CHECK(TELL(&w, 2, .act = "dumped", .tank = "T2", .into = "W1").refused);
  CHECK(container(&w, "W1", 3)->history_known);
  world_end(&w);
}

/* Another board's clock was ahead; its record was merged. */
static void what_is_of_a_moment_to_come_makes_what_stands_not_known(void)
{
  char path[] = "/tmp/inward-wet-XXXXXX";
  int file = mkstemp(path);
  struct world w;
  struct record *record = NULL;
  struct wet_past *past;
  struct err err = {0};

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  w.entries[1] = w.entries[0];
  w.entries[1].t_ms = w.entries[1].written_ms = minute(60);
  w.entries[1].detail = "{\"schema\": \"inward.wet.1\", \"act\": \"added\", \"container\": \"W1\", "
                        "\"what\": \"acetone\"}";
  close(file);
  unlink(path);
  REQUIRE(CHECK_INT(record_open(path, RECORD_WRITE, &record, &err), ERR_OK));
  CHECK_INT(record_append(record, &w.entries[0], &err), ERR_OK);
  CHECK_INT(record_append(record, &w.entries[1], &err), ERR_OK);
  for (int late = 0; late < 2; late++) {
    w.place.now_ms = minute(late ? 61 : 10);
    CHECK_CASE("minute %d", late ? 61 : 10);
    if (CHECK_INT(wet_recorded(record, w.place.now_ms, &w.arena, &past, &err), ERR_OK)) {
      CHECK_INT(past->unread_count, late ? 0 : 1);
      CHECK_INT(wet_waste(&w.place, past, &w.arena)->containers[0].state, WET_NOT_KNOWN);
    }
  }
  record_close(record);
  unlink(path);
  world_end(&w);
}

static void more_than_a_container_holds_is_asked_about_and_more_than_is_set_is_told(void)
{
  struct world w;
  struct wet_telling telling;

  world_begin(&w);
  TELL(&w, 0, .act = "opened", .container = "W1", .stream = "metal");
  telling =
      TELL(&w, 1, .act = "added", .container = "W1", .what = "phosphoric acid", .amount = "4 L");
  CHECK(!telling.refused && !telling.warning);
  CHECK(TELL(&w, 2, .act = "added", .container = "W1", .what = "phosphoric acid", .amount = "2 L")
            .refused);
  telling =
      TELL(&w, 2, .act = "added", .container = "W1", .what = "phosphoric acid", .amount = "0.6 L");
  CHECK(!telling.refused && telling.warning && strstr(telling.warning, "92 % full"));
  world_end(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_name_that_is_used_again_is_another_container_and_is_seen);
  RUN(what_two_boards_wrote_wipes_out_no_history);
  RUN(what_cannot_be_read_may_have_been_of_any_that_stood_then);
  RUN(hydrofluoric_acid_in_glass_is_never_shown_as_standing);
  RUN(an_add_that_is_told_late_meets_what_went_in_since);
  RUN(acetone_into_an_oxidising_bath_is_refused_and_not_shown_as_standing);
  RUN(a_tank_that_the_file_no_longer_names_is_not_forgotten);
  RUN(fuller_than_it_holds_or_emptier_than_was_told_is_not_known);
  RUN(a_reading_that_corrects_another_at_once_is_written_down);
  RUN(a_tap_that_told_something_else_is_not_taken_for_told);
  RUN(names_that_differ_by_large_and_small_letters_do_not_stand_together);
  RUN(what_was_found_in_a_tank_does_not_spoil_a_container_unasked);
  RUN(what_is_of_a_moment_to_come_makes_what_stands_not_known);
  RUN(more_than_a_container_holds_is_asked_about_and_more_than_is_set_is_told);
  return check_end();
}
