#include "lists/lists.h"

#include "check.h"
#include "past_day.h"

#include <string.h>

/* Minutes of the clock, for reading: AT(9, 40) is 09:40. */
#define AT(hour, minute) (60.0 * (hour) + (minute))

static const struct lists_section *section_of(const struct lists_page *page, const char *key)
{
  static const struct lists_section none = {.key = "none"};

  for (int i = 0; i < page->section_count; i++)
    if (strcmp(page->sections[i].key, key) == 0)
      return &page->sections[i];
  return &none;
}

static const struct lists_row *row_of(const struct lists_page *page, const char *key,
                                      const char *about)
{
  static const struct lists_row none = {.state = "no row"};
  const struct lists_section *section = section_of(page, key);

  for (int i = 0; i < section->row_count; i++)
    if (section->rows[i].about && strcmp(section->rows[i].about, about) == 0)
      return &section->rows[i];
  return &none;
}

static struct lists_page *asked(struct past_day *day, enum lists_kind kind, double minute)
{
  const struct lists_asked ask = {kind, NULL, past_day_ms(minute), past_day_ms(minute), NULL};
  struct lists_page *page = NULL;

  CHECK_INT(lists_of_record(&day->place, &ask, &day->arena, &page, &day->err), ERR_OK);
  return page;
}

/* A1 up with somebody, A2 down and blocked, A3 never heard, A4 down by its flow. */
static void say_evening(struct past_day *day)
{
  past_day_say(day, "a1", AT(18, 0), 0.45);
  past_day_say(day, "p1", AT(18, 0), 1);
  past_day_say(day, "n1", AT(18, 0), 0);
  past_day_say(day, "a2", AT(18, 0), 0.02);
  past_day_say(day, "p2", AT(18, 0), 0);
  past_day_say(day, "b2", AT(18, 0), 1);
  past_day_say(day, "f4", AT(18, 0), 300.0 / 3600);
}

static void the_last_person_out_is_told_what_is_not_down_and_what_is_not_known(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    struct lists_page *page = asked(&day, LISTS_LEAVE, AT(18, 10));

    CHECK_STR(page->act, "NOT DOWN: 1. BLOCKED: 1. GO AND LOOK: 1.");
    CHECK_STR(row_of(page, "up", "A1")->cells[2], "sash up 0.45 m, somebody there");
    CHECK_STR(row_of(page, "blocked", "A2")->state, "blocked");
    CHECK(strstr(row_of(page, "not_known", "A3")->cells[2], "a3") != NULL);
    CHECK_INT(section_of(page, "up")->row_count, 1);
    CHECK(page->needs_person);
  }
  past_day_release(&day);
}

static void a_value_that_grew_old_is_gone_and_looked_at_whatever_it_said(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    struct lists_page *page = asked(&day, LISTS_LEAVE, AT(19, 1));

    CHECK_STR(page->act, "GO AND LOOK: 4.");
    CHECK_INT(section_of(page, "not_known")->row_count, 4);
    CHECK_INT(section_of(page, "up")->row_count, 0);
    CHECK_STR(section_of(page, "up")->nothing, "Sash not down: NOT KNOWN at 4.");
    page = asked(&day, LISTS_RESPONDER, AT(19, 1));
    struct buf text;

    buf_init(&text, 1 << 20);
    lists_text(page, &text);
    CHECK(strstr(text.text, "Somebody sensed at: NOT KNOWN; 0 of 4 stations are sensed now, 3 more "
                            "have a sensor that is too old or not heard") != NULL);
    buf_release(&text);
  }
  past_day_release(&day);
}

static void an_own_alarm_stands_before_all_and_a_withdrawn_station_with_its_reason(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    past_day_say(&day, "n1", AT(18, 5), 1);
    past_day_enter(&day, RECORD_WITHDRAWN, "A2", AT(17, 0), "baffle loose");
    struct lists_page *page = asked(&day, LISTS_LEAVE, AT(18, 10));

    CHECK_STR(page->act, "OWN ALARM: 1. GO AND LOOK: 1.");
    CHECK_STR(page->sections[0].key, "own_alarm");
    CHECK_STR(row_of(page, "own_alarm", "A1")->state, "own_alarm");
    CHECK(strstr(row_of(page, "withdrawn", "A2")->cells[2], "baffle loose") != NULL);
    past_day_enter(&day, RECORD_RELEASED, "A2", AT(18, 15), "mended");
    page = asked(&day, LISTS_LEAVE, AT(18, 20));
    CHECK_INT(section_of(page, "withdrawn")->row_count, 0);
    CHECK_STR(row_of(page, "blocked", "A2")->state, "blocked");
  }
  past_day_release(&day);
}

static void without_anything_connected_every_station_is_to_be_looked_at(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    struct lists_page *page = lists_form(day.facility, NULL, LISTS_LEAVE, NULL, &day.arena);
    struct buf text;

    buf_init(&text, 1 << 20);
    CHECK_INT(section_of(page, "not_known")->row_count, 4);
    lists_text(page, &text);
    CHECK(strstr(text.text, "of no moment") != NULL);
    page = lists_form(day.facility, NULL, LISTS_RESPONDER, NULL, &day.arena);
    CHECK_STR(page->act, "VENTILATION NOT KNOWN");
    CHECK_STR(row_of(page, "stations", "A4")->cells[4], "NOT KNOWN");
    buf_release(&text);
  }
  past_day_release(&day);
}

static void a_sheet_is_void_when_a_sash_moves_and_not_when_time_passes(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    struct lists_page *first = asked(&day, LISTS_RESPONDER, AT(18, 10));
    struct lists_page *later = asked(&day, LISTS_RESPONDER, AT(18, 20));

    CHECK_STR(later->content, first->content);
    past_day_say(&day, "p1", AT(18, 25), 0); /* who stands there is told as sensed, by the minute */
    CHECK_STR(asked(&day, LISTS_RESPONDER, AT(18, 26))->content, first->content);
    past_day_say(&day, "a1", AT(18, 30), 0.02);
    struct lists_page *down = asked(&day, LISTS_RESPONDER, AT(18, 31));

    CHECK(strcmp(down->content, first->content) != 0);
    CHECK_STR(row_of(down, "others", "A1")->cells[4], "sash down");
    CHECK(strcmp(asked(&day, LISTS_RESPONDER, AT(19, 31))->content, down->content) != 0);
  }
  past_day_release(&day);
}

static void two_sources_that_disagree_are_not_known(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    past_day_say(&day, "a1", AT(18, 5), 0.90); /* its sash goes to 0.75 m */
    struct lists_page *page = asked(&day, LISTS_LEAVE, AT(18, 10));

    CHECK(strstr(row_of(page, "not_known", "A1")->cells[2], "contradict") != NULL);
    CHECK_STR(row_of(asked(&day, LISTS_RESPONDER, AT(18, 10)), "stations", "A1")->cells[4],
              "NOT KNOWN");
  }
  past_day_release(&day);
}

/* ---- restart ---- */

static void stop(struct past_day *day, double minute, const char *cause)
{
  struct buf detail;

  buf_init(&detail, 1000);
  lists_stopped_json(cause, &detail);
  struct record_entry entry = {.t_ms = past_day_ms(minute),
                               .written_ms = past_day_ms(minute),
                               .kind = RECORD_STOPPED,
                               .about = "",
                               .who = "E. Test",
                               .text = cause,
                               .detail = detail.text};

  CHECK_INT(record_append(day->place.record, &entry, &day->err), ERR_OK);
  buf_release(&detail);
}

static void release(struct past_day *day, const char *about, double minute)
{
  struct buf detail;

  buf_init(&detail, 1000);
  lists_restarted_json(&detail);
  struct record_entry entry = {.t_ms = past_day_ms(minute),
                               .written_ms = past_day_ms(minute),
                               .kind = RECORD_RELEASED,
                               .about = about,
                               .who = "E. Test",
                               .text = "flow seen",
                               .detail = detail.text};

  CHECK_INT(record_append(day->place.record, &entry, &day->err), ERR_OK);
  buf_release(&detail);
}

static void no_station_works_until_flow_was_seen_since_and_a_person_released_it(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    past_day_enter(&day, RECORD_RELEASED, "A4", AT(17, 0),
                   "of before"); /* no release of this stop */
    stop(&day, AT(18, 5), "power");
    struct lists_page *page = asked(&day, LISTS_RESTART, AT(18, 10));
    const struct lists_row *a4 = row_of(page, "stations", "A4");

    CHECK_STR(page->act, "NO WORK AT 4 OF 4 STATIONS: NOT RELEASED");
    CHECK_STR(a4->state, "no_work"); /* 18:00 was before it stopped */
    CHECK_STR(a4->cells[3], "nobody yet");
    CHECK(strncmp(a4->cells[1], "sash down, 300", 14) == 0);
    CHECK(strncmp(row_of(page, "stations", "A1")->cells[1], "sash up 0.45 m, somebody there", 30) ==
          0);
    CHECK(strstr(row_of(page, "stations", "A1")->cells[2], "not measured") != NULL);

    past_day_say(&day, "f4", AT(18, 12), 0);
    past_day_say(&day, "f4", AT(18, 20), 300.0 / 3600);
    CHECK_STR(row_of(asked(&day, LISTS_RESTART, AT(18, 15)), "stations", "A4")->state, "no_work");
    page = asked(&day, LISTS_RESTART, AT(18, 25));
    CHECK_STR(row_of(page, "stations", "A4")->state, "flow_seen");
    CHECK_STR(row_of(page, "stations", "A4")->cells[2], "300 m\u00b3/h since 18:20");
    CHECK(row_of(page, "stations", "A4")->asks);

    past_day_enter(&day, RECORD_RELEASED, "A4", AT(18, 28), "given back"); /* not of the stop */
    CHECK_STR(row_of(asked(&day, LISTS_RESTART, AT(18, 29)), "stations", "A4")->cells[3],
              "nobody yet");
    release(&day, "A4", AT(18, 30));
    page = asked(&day, LISTS_RESTART, AT(18, 31));
    CHECK_STR(page->act, "NO WORK AT 3 OF 4 STATIONS: NOT RELEASED");
    CHECK(strstr(row_of(page, "stations", "A4")->cells[3], "18:30: flow seen") != NULL);
    stop(&day, AT(20, 0), "power"); /* another: all of it begins again */
    CHECK_STR(asked(&day, LISTS_RESTART, AT(20, 1))->act,
              "NO WORK AT 4 OF 4 STATIONS: NOT RELEASED");
  }
  past_day_release(&day);
}

static bool says(const struct lists_page *page, const char *words)
{
  for (int i = 0; i < page->line_count; i++)
    if (strstr(page->lines[i].text, words))
      return true;
  return false;
}

static void tell_incident(struct past_day *day, const char *about, double minute, const char *id,
                          const char *text)
{
  char detail[100];

  snprintf(detail, sizeof detail, "{\"schema\": \"inward.incident.1\", \"incident\": \"%s\"}", id);
  struct record_entry entry = {.t_ms = past_day_ms(minute),
                               .written_ms = past_day_ms(minute),
                               .kind = RECORD_INCIDENT,
                               .about = about,
                               .who = "E. Test",
                               .text = text,
                               .detail = detail};

  CHECK_INT(record_append(day->place.record, &entry, &day->err), ERR_OK);
}

static void a_stop_and_what_was_told_stand_on_the_sheets_of_those_who_leave_and_who_come(void)
{
  static const enum lists_kind kinds[] = {LISTS_LEAVE, LISTS_RESPONDER};
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    tell_incident(&day, "A1", AT(5, 0), "spill-inside", "long ago");
    tell_incident(&day, "A2", AT(18, 2), "exposure", "acid on a hand");
    tell_incident(&day, "A3", AT(18, 3), "near-miss", "nearly");
    stop(&day, AT(18, 5), "gas");
    for (int i = 0; i < 2; i++) {
      struct lists_page *before = asked(&day, kinds[i], AT(18, 4)),
                        *page = asked(&day, kinds[i], AT(18, 10));

      CHECK(!says(before, "All work is stopped"));
      CHECK(page->needs_person && says(page, "All work is stopped since"));
      CHECK(says(page, "everybody left: gas; told by E. Test."));
      CHECK(says(page, "Next: nobody goes in before"));
      if (CHECK_INT(section_of(page, "told")->row_count, 1)) {
        CHECK_STR(row_of(page, "told", "A2")->cells[2], "acid on a hand (E. Test)");
        CHECK_STR(row_of(page, "told", "A2")->cells[1], "18:02");
      }
    }
  }
  past_day_release(&day);
}

static const char nobody_goes_in[] = "NOBODY GOES IN: SOURCE REMOVED? MEASURED? RELEASED BY WHOM?";

static void answer(struct past_day *day, double minute, const char *removed, const char *measured)
{
  struct buf detail;

  buf_init(&detail, 1000);
  lists_reentry_json(removed, measured, &detail);
  struct record_entry entry = {.t_ms = past_day_ms(minute),
                               .written_ms = past_day_ms(minute),
                               .kind = RECORD_RELEASED,
                               .about = "",
                               .who = "E. Test",
                               .text = "released to go in",
                               .detail = detail.text};

  CHECK_INT(record_append(day->place.record, &entry, &day->err), ERR_OK);
  buf_release(&detail);
}

static void a_loss_of_power_does_not_take_away_what_gas_asks(void)
{
  static const char *const stations[] = {"A1", "A2", "A3", "A4"};
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    stop(&day, AT(18, 5), "gas");
    stop(&day, AT(20, 0), "power");
    struct lists_page *page = asked(&day, LISTS_RESTART, AT(20, 5));

    CHECK_STR(page->act, nobody_goes_in);
    CHECK(strstr(page->lines[0].text, "power was lost; everybody left: gas") != NULL);
    answer(&day, AT(20, 10), "yes, bottle shut", "yes, 0 ppm at the door");
    for (int i = 0; i < 3; i++)
      release(&day, stations[i], AT(20, 20));
    stop(&day, AT(21, 0), "power"); /* one station was not released: it is still the same stop */
    CHECK_STR(asked(&day, LISTS_RESTART, AT(21, 1))->act, nobody_goes_in);
    answer(&day, AT(21, 10), "yes, bottle shut", "yes, 0 ppm at the door");
    for (int i = 0; i < 4; i++)
      release(&day, stations[i], AT(21, 20));
    CHECK_STR(asked(&day, LISTS_RESTART, AT(21, 30))->act,
              "EVERY STATION IN USE WAS RELEASED BY A PERSON");
    stop(&day, AT(22, 0), "power"); /* a closed one gives way */
    CHECK_STR(asked(&day, LISTS_RESTART, AT(22, 1))->act,
              "NO WORK AT 4 OF 4 STATIONS: NOT RELEASED");
  }
  past_day_release(&day);
}

static void a_stop_that_nobody_released_does_not_end_by_growing_old(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    stop(&day, AT(18, 5), "gas");
    CHECK_STR(asked(&day, LISTS_RESTART, AT(24 * 60, 0))->act, nobody_goes_in);
  }
  past_day_release(&day);
}

static void after_gas_three_questions_come_before_any_station(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    stop(&day, AT(18, 5), "gas");
    struct lists_page *page = asked(&day, LISTS_RESTART, AT(18, 10));

    CHECK_STR(page->act, "NOBODY GOES IN: SOURCE REMOVED? MEASURED? RELEASED BY WHOM?");
    if (CHECK_INT(section_of(page, "before_going_in")->row_count, 3))
      CHECK_STR(section_of(page, "before_going_in")->rows[0].cells[1], "not answered");
    CHECK(!row_of(page, "stations", "A4")->asks);
    CHECK(strstr(lists_release_refusal(page, lists_station_row(page, "A4")), "source removed") !=
          NULL);
    answer(&day, AT(18, 20), "no, not yet", "yes, 0 ppm");
    CHECK_STR(asked(&day, LISTS_RESTART, AT(18, 21))->act, nobody_goes_in);
    answer(&day, AT(18, 30), "yes, bottle shut", "Yes: 0 ppm at the door");
    page = asked(&day, LISTS_RESTART, AT(18, 31));
    if (CHECK_INT(section_of(page, "before_going_in")->row_count, 3))
      CHECK_STR(section_of(page, "before_going_in")->rows[1].cells[1], "Yes: 0 ppm at the door");
    CHECK_STR(page->act, "NO WORK AT 4 OF 4 STATIONS: NOT RELEASED");
    CHECK(row_of(page, "stations", "A4")->asks);
  }
  past_day_release(&day);
}

static void only_yes_and_how_is_an_answer_and_only_an_open_stop_takes_it(void)
{
  struct past_day day;

  CHECK(past_says_yes("yes, bottle shut") && past_says_yes(" YES: shut"));
  CHECK(!past_says_yes("no, not yet") && !past_says_yes("yes") && !past_says_yes("yes, "));
  CHECK(!past_says_yes("yesterday") && !past_says_yes("not yes, shut") && !past_says_yes(""));
  if (past_day_new(&day)) {
    say_evening(&day);
    struct lists_page *page = asked(&day, LISTS_RESTART, AT(18, 4));

    CHECK(strstr(lists_reentry_refusal(page), "no stop") != NULL);
    stop(&day, AT(18, 5), "power");
    page = asked(&day, LISTS_RESTART, AT(18, 10));
    CHECK(strstr(lists_reentry_refusal(page), "one by one") != NULL);
    CHECK(lists_release_refusal(page, lists_station_row(page, "A4")) == NULL);
    stop(&day, AT(18, 15), "gas");
    CHECK(lists_reentry_refusal(asked(&day, LISTS_RESTART, AT(18, 16))) == NULL);
  }
  past_day_release(&day);
}

static void a_withdrawn_station_takes_no_part_in_a_restart(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    say_evening(&day);
    past_day_enter(&day, RECORD_WITHDRAWN, "A2", AT(17, 0), "baffle loose");
    stop(&day, AT(18, 5), "power");
    const struct lists_row *a2 = row_of(asked(&day, LISTS_RESTART, AT(18, 10)), "stations", "A2");

    CHECK_STR(a2->state, "withdrawn");
    CHECK(!a2->asks);
  }
  past_day_release(&day);
}

static void the_buildings_alarm_in_the_record_begins_a_restart_by_itself(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    struct record_entry entry = {
        .t_ms = past_day_ms(AT(18, 5)),
        .written_ms = past_day_ms(AT(18, 5)),
        .kind = RECORD_EVENT,
        .about = "",
        .who = "inward",
        .text = "alarm, urgent: the building's alarm",
        .detail =
            "{\"schema\": \"inward.alarm.1\", \"when\": \"building alarm\", \"turn\": \"on\"}"};

    say_evening(&day);
    CHECK_STR(asked(&day, LISTS_RESTART, AT(18, 10))->act, "NO STOP OF ALL WORK IS KNOWN");
    CHECK_INT(record_append(day.place.record, &entry, &day.err), ERR_OK);
    CHECK_STR(asked(&day, LISTS_RESTART, AT(18, 10))->act,
              "NOBODY GOES IN: SOURCE REMOVED? MEASURED? RELEASED BY WHOM?");
  }
  past_day_release(&day);
}

/* ---- handover ---- */

static void a_handover_compares_then_with_now_and_refuses_a_part_that_is_none(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    struct lists_asked ask = {LISTS_HANDOVER, "A4", past_day_ms(AT(18, 1)), past_day_ms(AT(18, 40)),
                              NULL};
    struct lists_page *page = NULL;

    say_evening(&day);
    past_day_say(&day, "f4", AT(18, 30), 1100.0 / 3600);
    CHECK_INT(lists_of_record(&day.place, &ask, &day.arena, &page, &day.err), ERR_OK);
    const struct lists_row *f4 = row_of(page, "values", "f4");

    CHECK_STR(f4->cells[1], "300 m\u00b3/h");
    CHECK_STR(f4->cells[3], "1100 m\u00b3/h");
    CHECK(!page->needs_person);
    const struct lists_section *again = section_of(page, "reproduce");

    if (CHECK(again->rows && again->row_count == 2))
      CHECK(strstr(again->rows[1].cells[0], "A1 0.45 m, A2 parked") != NULL);
    CHECK(section_of(page, "missing")->row_count > 0);
    ask.t_ms = past_day_ms(AT(6, 0)); /* before the first value */
    CHECK_INT(lists_of_record(&day.place, &ask, &day.arena, &page, &day.err), ERR_OK);
    CHECK(page->needs_person);
    ask.part = "A99";
    CHECK_INT(lists_of_record(&day.place, &ask, &day.arena, &page, &day.err), ERR_INPUT);
    CHECK(strstr(day.err.text, "A99") != NULL);
  }
  past_day_release(&day);
}

static void what_a_person_wrote_speaks_to_no_terminal_and_to_no_browser(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    struct buf text, html;

    say_evening(&day);
    /* Nobody can enter it any more, but an older record may hold it. */
    struct record_entry old = {.t_ms = past_day_ms(AT(17, 0)),
                               .written_ms = past_day_ms(AT(17, 0)),
                               .kind = RECORD_WITHDRAWN,
                               .about = "A2",
                               .who = "M. Rao",
                               .text = "\x1b[2J<script>alert(1)</script>",
                               .detail = ""};

    CHECK_INT(record_append(day.place.record, &old, &day.err), ERR_INPUT);
    old.who = "inward"; /* who may quote a source */
    CHECK_INT(record_append(day.place.record, &old, &day.err), ERR_OK);
    struct lists_page *page = asked(&day, LISTS_LEAVE, AT(18, 10));

    buf_init(&text, 1 << 20);
    buf_init(&html, 1 << 20);
    lists_text(page, &text);
    lists_html(page, &(struct lists_html){.style = "/x.css"}, &html);
    CHECK(strchr(text.text, '\x1b') == NULL);
    CHECK(strstr(html.text, "<script>") == NULL);
    CHECK(strstr(html.text, "&lt;script&gt;") != NULL);
    buf_release(&text);
    buf_release(&html);
  }
  past_day_release(&day);
}

static void the_last_print_is_found_again_in_the_record(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    struct lists_printed printed;
    struct buf detail;
    bool found = true;

    CHECK_INT(lists_printed_last(day.place.record, &day.arena, &found, &printed, &day.err), ERR_OK);
    CHECK(!found);
    say_evening(&day);
    struct lists_page *page = asked(&day, LISTS_RESPONDER, AT(18, 10));

    page->revision = 12;
    buf_init(&detail, 1000);
    lists_printed_json(page, &detail);
    struct record_entry entry = {.t_ms = past_day_ms(AT(18, 11)),
                                 .written_ms = past_day_ms(AT(18, 11)),
                                 .kind = RECORD_PRINTED,
                                 .about = "",
                                 .who = "E. Test",
                                 .text = "printed",
                                 .detail = detail.text};

    CHECK_INT(record_append(day.place.record, &entry, &day.err), ERR_OK);
    CHECK_INT(lists_printed_last(day.place.record, &day.arena, &found, &printed, &day.err), ERR_OK);
    CHECK(found);
    CHECK_INT(printed.revision, 12);
    CHECK_STR(printed.content, page->content);
    CHECK_STR(printed.who, "E. Test");
    buf_release(&detail);
  }
  past_day_release(&day);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(the_last_person_out_is_told_what_is_not_down_and_what_is_not_known);
  RUN(a_value_that_grew_old_is_gone_and_looked_at_whatever_it_said);
  RUN(an_own_alarm_stands_before_all_and_a_withdrawn_station_with_its_reason);
  RUN(without_anything_connected_every_station_is_to_be_looked_at);
  RUN(a_sheet_is_void_when_a_sash_moves_and_not_when_time_passes);
  RUN(two_sources_that_disagree_are_not_known);
  RUN(no_station_works_until_flow_was_seen_since_and_a_person_released_it);
  RUN(after_gas_three_questions_come_before_any_station);
  RUN(a_stop_and_what_was_told_stand_on_the_sheets_of_those_who_leave_and_who_come);
  RUN(a_loss_of_power_does_not_take_away_what_gas_asks);
  RUN(a_stop_that_nobody_released_does_not_end_by_growing_old);
  RUN(only_yes_and_how_is_an_answer_and_only_an_open_stop_takes_it);
  RUN(a_withdrawn_station_takes_no_part_in_a_restart);
  RUN(the_buildings_alarm_in_the_record_begins_a_restart_by_itself);
  RUN(a_handover_compares_then_with_now_and_refuses_a_part_that_is_none);
  RUN(what_a_person_wrote_speaks_to_no_terminal_and_to_no_browser);
  RUN(the_last_print_is_found_again_in_the_record);
  return check_end();
}
