#include "past/past_impl.h"

#include "check.h"
#include "past_day.h"

#include <string.h>

#define AT(hour, minute) (60.0 * (hour) + (minute))

/*
 * past_day.h says what each number of open hoods comes to:
 *   08:00 all parked                                   ample
 *   08:30 A1 opens, somebody there                     ample
 *   09:00 A2 opens, nobody there                       near limit
 *   09:20 A3 opens, somebody there                     short
 *   09:40 they leave A3
 *   09:50 A3 comes down                                near limit
 *   10:00 A2 comes down                                ample
 *   10:30 A1 comes down                                ample
 * A2's beam and A4's flow are last heard at 09:45, and say something for an hour: from 10:45 on the state
 * is not known.
 */
static void say_morning(struct past_day *day)
{
  static const struct {
    const char *point;
    double minute, si;
  } said[] = {
      {"a1", AT(8, 0), 0.02},
      {"p1", AT(8, 0), 0},
      {"n1", AT(8, 0), 0},
      {"a2", AT(8, 0), 0.02},
      {"p2", AT(8, 0), 0},
      {"b2", AT(8, 0), 0},
      {"a3", AT(8, 0), 0.02},
      {"p3", AT(8, 0), 0},
      {"f4", AT(8, 0), 300 / 3600.0},
      {"a1", AT(8, 30), 0.45},
      {"p1", AT(8, 30), 1},
      {"n1", AT(8, 30), 0},
      {"a2", AT(8, 45), 0.02},
      {"p2", AT(8, 45), 0},
      {"b2", AT(8, 45), 0},
      {"a3", AT(8, 45), 0.02},
      {"p3", AT(8, 45), 0},
      {"f4", AT(8, 45), 300 / 3600.0},
      {"a2", AT(9, 0), 0.45},
      {"p2", AT(9, 0), 0},
      {"a3", AT(9, 20), 0.45},
      {"p3", AT(9, 20), 1},
      {"a1", AT(9, 25), 0.45},
      {"p1", AT(9, 25), 1},
      {"p3", AT(9, 40), 0},
      {"a1", AT(9, 45), 0.45},
      {"b2", AT(9, 45), 0},
      {"p2", AT(9, 45), 0},
      {"f4", AT(9, 45), 300 / 3600.0},
      {"a3", AT(9, 50), 0.02},
      {"a2", AT(10, 0), 0.02},
      {"a1", AT(10, 30), 0.02},
      {"p1", AT(10, 30), 0},
      {"p3", AT(10, 30), 0},
  };

  for (size_t i = 0; i < sizeof said / sizeof said[0]; i++)
    past_day_say(day, said[i].point, said[i].minute, said[i].si);
}

/*
 * 08:00 to 11:15: ample 60 min + 45 min, near limit 20 + 10, short 30, not known 30 (what was heard at
 * 09:45 is old a millisecond after 10:45).
 */
static void a_replay_counts_turns_and_minutes(void)
{
  const struct past_span span = past_day_span(AT(8, 0), AT(11, 15));
  struct past_replay replay;
  struct past_day day;
  struct buf out;

  buf_init(&out, 1 << 16);
  if (past_day_new(&day)) {
    say_morning(&day);
    CHECK_INT(past_replay_ask(&day.place, &span, &day.arena, &replay, &day.err), ERR_OK);
    CHECK_INT(past_level_changes(&replay.air), 5);
    CHECK_NEAR(past_level_s(&replay.air, FACILITY_AMPLE), 105 * 60, 0, 0.002);
    CHECK_NEAR(past_level_s(&replay.air, FACILITY_NEAR_LIMIT), 30 * 60, 0, 1e-9);
    CHECK_NEAR(past_level_s(&replay.air, FACILITY_SHORT), 30 * 60, 0, 1e-9);
    CHECK_NEAR(past_level_s(&replay.air, FACILITY_NOT_KNOWN), 30 * 60, 0, 0.002);
    CHECK_INT(replay.pool_count, 1);
    CHECK_INT(past_level_changes(&replay.pools[0]), 5);
    CHECK_INT(replay.settings_changed, 0);
    past_replay_text(&day.place, &replay, NULL, NULL, &out);
    CHECK(strstr(out.text, "1 h 45 min") != NULL);
    past_day_enter(&day, RECORD_SETTINGS, "", AT(9, 0), "the suite file changed");
    CHECK_INT(past_replay_ask(&day.place, &span, &day.arena, &replay, &day.err), ERR_OK);
    CHECK_INT(replay.settings_changed, 1);
  }
  past_day_release(&day);
  buf_release(&out);
}

static bool is_withdrawn_at_the_end(void *arg, const struct judge_seen *seen, long changes)
{
  (void)changes;
  *(bool *)arg = seen->belief->scene.stations[0].withdrawn;
  return true;
}

/* As the board has it: work may begin again, but not where somebody took the station out of use. */
static void a_release_from_a_stop_gives_back_nothing_in_a_replay(void)
{
  const struct past_span span = past_day_span(AT(8, 0), AT(10, 0));
  struct past_day day;
  bool withdrawn = false;

  if (past_day_new(&day)) {
    struct record_entry restarted = {.t_ms = past_day_ms(AT(9, 0)),
                                     .written_ms = past_day_ms(AT(9, 0)),
                                     .kind = RECORD_RELEASED,
                                     .about = "A1",
                                     .who = "M. Rao",
                                     .text = "flow seen",
                                     .detail = "{\"schema\": \"inward.restarted.1\"}"};

    say_morning(&day);
    past_day_enter(&day, RECORD_WITHDRAWN, "A1", AT(8, 30), "baffle loose");
    CHECK_INT(record_append(day.place.record, &restarted, &day.err), ERR_OK);
    CHECK_INT(past_judge_span(&day.place, &span, is_withdrawn_at_the_end, &withdrawn, &day.err),
              ERR_OK);
    CHECK(withdrawn);
    past_day_enter(&day, RECORD_RELEASED, "A1", AT(9, 30), "baffle put right");
    CHECK_INT(past_judge_span(&day.place, &span, is_withdrawn_at_the_end, &withdrawn, &day.err),
              ERR_OK);
    CHECK(!withdrawn);
  }
  past_day_release(&day);
}

/*
 * With 4500 m3/h declared, 3600 m3/h are 80 %: ample wherever it is known.  The two differ for 30 min of
 * near limit and 30 min of short; the latter is the one miss.
 */
static void two_rules_are_compared_minute_by_minute(void)
{
  const struct past_span span = past_day_span(AT(8, 0), AT(11, 15));
  struct past_replay replays[2];
  struct past_difference difference;
  struct facility *facility = NULL;
  struct feeds *feeds = NULL;
  struct past_day day;
  struct buf out;

  buf_init(&out, 1 << 16);
  if (past_day_new(&day)) {
    say_morning(&day);
    CHECK_INT(past_replay_ask(&day.place, &span, &day.arena, &replays[0], &day.err), ERR_OK);
    if (past_day_other(&day, "4500 m3/h", &facility, &feeds)) {
      struct past_place other = day.place;

      other.facility = facility;
      other.feeds = feeds;
      CHECK_INT(past_replay_ask(&other, &span, &day.arena, &replays[1], &day.err), ERR_OK);
      CHECK_INT(past_level_changes(&replays[1].air), 1);
      CHECK_INT(past_replay_compare(&replays[0], &replays[1], &day.arena, &difference, &day.err),
                ERR_OK);
      CHECK_NEAR(difference.differ_s, 60 * 60, 0, 1e-9);
      CHECK_NEAR(difference.both_s[FACILITY_NEAR_LIMIT][FACILITY_AMPLE], 30 * 60, 0, 1e-9);
      CHECK_NEAR(difference.both_s[FACILITY_SHORT][FACILITY_AMPLE], 30 * 60, 0, 1e-9);
      REQUIRE(difference.miss_count == 1);
      CHECK_INT(difference.misses[0].from_ms, past_day_ms(AT(9, 20)));
      CHECK_INT(difference.misses[0].to_ms, past_day_ms(AT(9, 50)));
      past_replay_text(&day.place, &replays[0], &replays[1], &difference, &out);
      CHECK(strstr(out.text, "differ for 1 h") && strstr(out.text, "1 time one said ample"));
    }
  }
  feeds_free(feeds);
  facility_free(facility);
  past_day_release(&day);
  buf_release(&out);
}

static void check_sashes(const struct past_day *day, const struct past_why *why, const char *wanted)
{
  struct buf got;

  buf_init(&got, 100);
  for (int i = 0; i < why->sash_count; i++) {
    buf_printf(&got, "%s ", day->facility->stations[why->sashes[i].station].part.id);
    CHECK_INT(why->sashes[i].state_after, FACILITY_NEAR_LIMIT);
  }
  CHECK_STR(got.text, wanted);
  buf_release(&got);
}

/*
 * At 09:30: short since 09:20, until 09:50.  3600 m3/h asked, 3000 m3/h declared.  Any one of the three
 * parked frees 800 m3/h: 2800 m3/h, near limit; A2 first, because nobody is there.  Until 09:40 only A2 is
 * unattended, and lowering it leaves it near its limit; from then on A2 and A3 are: 2000 m3/h, ample, so
 * that 10 min of the 30 nobody needed to lose.
 */
static void a_turn_is_explained(void)
{
  struct past_why why;
  struct past_day day;
  struct buf out;

  buf_init(&out, 1 << 16);
  if (past_day_new(&day)) {
    say_morning(&day);
    CHECK_INT(
        past_why_ask(&day.place, past_day_ms(AT(9, 30)), INT64_MAX, &day.arena, &why, &day.err),
        ERR_OK);
    CHECK(why.found && why.ended && why.advises);
    CHECK_INT(why.before, FACILITY_NEAR_LIMIT);
    CHECK_INT(why.state, FACILITY_SHORT);
    CHECK_INT(why.after, FACILITY_NEAR_LIMIT);
    CHECK_INT(why.from_ms, past_day_ms(AT(9, 20)));
    CHECK_INT(why.to_ms, past_day_ms(AT(9, 50)));
    CHECK_NEAR(why.pools[0].demand_m3_s, 1.0, 1e-9, 0);
    CHECK_NEAR(why.pools[0].limit_m3_s, 3000 / 3600.0, 1e-9, 0);
    check_sashes(&day, &why, "A2 A1 A3 ");
    CHECK_NEAR(why.spared_s, 600, 0, 1e-9);
    CHECK_NEAR(why.not_told_s, 0, 0, 1e-9);
    REQUIRE(why.move_count == 1); /* A2's, at 09:00, is too long ago */
    CHECK_STR(why.moves[0].text, "A3 was opened to 0.45 m");
    past_why_text(&day.place, &why, &out);
    CHECK(strstr(out.text, "short from 2026-10-26 09:20:00 +00:00 to 09:50 (30 min)") != NULL);
    CHECK(strstr(out.text, "too much by 600 m³/h") != NULL);
    CHECK(strstr(out.text, "1. A2 parked: nobody was there; frees 800 m³/h, then near limit") !=
          NULL);
    CHECK(strstr(out.text, "10 min of these 30 min") != NULL);
    CHECK(strstr(out.text, "afe") == NULL); /* never a word for a state */
    CHECK_INT(why.settings_changed, 0);
    past_day_enter(&day, RECORD_SETTINGS, "", AT(12, 0), "the suite file changed");
    CHECK_INT(
        past_why_ask(&day.place, past_day_ms(AT(9, 30)), INT64_MAX, &day.arena, &why, &day.err),
        ERR_OK);
    CHECK_INT(why.settings_changed, 1);
  }
  past_day_release(&day);
  buf_release(&out);
}

/* Who is never named: a blocked sash, a withdrawn station; and with an alarm on, nobody. */
static void some_are_never_named(void)
{
  static const struct {
    const char *what, *point, *withdrawn, *sashes;
    double not_told_s;
  } cases[] = {
      {"something stands under A2", "b2", NULL, "A1 A3 ", 0},
      {"A3 is out of use", NULL, "A3", "A2 A1 ", 0},
      {"A1's own alarm is on", "n1", NULL, "", 1800},
  };

  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct past_why why;
    struct past_day day;

    CHECK_CASE("%s", cases[i].what);
    if (past_day_new(&day)) {
      say_morning(&day);
      if (cases[i].point)
        past_day_say(&day, cases[i].point, AT(9, 10), 1);
      if (cases[i].withdrawn)
        past_day_enter(&day, RECORD_WITHDRAWN, cases[i].withdrawn, AT(9, 15), "baffle loose");
      CHECK_INT(
          past_why_ask(&day.place, past_day_ms(AT(9, 30)), INT64_MAX, &day.arena, &why, &day.err),
          ERR_OK);
      CHECK_INT(why.state, FACILITY_SHORT);
      check_sashes(&day, &why, cases[i].sashes);
      CHECK_NEAR(why.not_told_s, cases[i].not_told_s, 0, 1e-9);
    }
    past_day_release(&day);
  }
}

static void what_was_not_known_is_told_and_nobody_named(void)
{
  struct past_why why;
  struct past_day day;
  struct buf out;

  buf_init(&out, 1 << 16);
  if (past_day_new(&day)) {
    say_morning(&day);
    CHECK_INT(
        past_why_ask(&day.place, past_day_ms(AT(11, 0)), INT64_MAX, &day.arena, &why, &day.err),
        ERR_OK);
    CHECK_INT(why.state, FACILITY_NOT_KNOWN);
    CHECK_INT(why.before, FACILITY_AMPLE);
    CHECK_INT(why.from_ms, past_day_ms(AT(10, 45)) + 1);
    CHECK_INT(why.sash_count, 0);
    CHECK(why.gap_count >= 2);
    past_why_text(&day.place, &why, &out);
    CHECK(strstr(out.text, "What was not known") != NULL);
    CHECK(strstr(out.text, "limit is") == NULL); /* no figure of a pool that is not known */
    /* ample: when it was last otherwise */
    buf_clear(&out);
    CHECK_INT(
        past_why_ask(&day.place, past_day_ms(AT(10, 10)), INT64_MAX, &day.arena, &why, &day.err),
        ERR_OK);
    CHECK_INT(why.state, FACILITY_AMPLE);
    CHECK(why.has_last);
    CHECK_INT(why.last_from_ms, past_day_ms(AT(9, 0)));
    CHECK_INT(why.last_to_ms, past_day_ms(AT(10, 0)));
    /* as of 09:19 the turn had not come: it was near its limit */
    CHECK_INT(past_why_ask(&day.place, past_day_ms(AT(9, 30)), past_day_ms(AT(9, 19)), &day.arena,
                           &why, &day.err),
              ERR_OK);
    CHECK_INT(why.state, FACILITY_NEAR_LIMIT);
    /* a year before there is nothing */
    CHECK_INT(past_why_ask(&day.place, past_day_ms(-500000), INT64_MAX, &day.arena, &why, &day.err),
              ERR_OK);
    CHECK(!why.found && why.state == FACILITY_NOT_KNOWN);
    past_why_text(&day.place, &why, &out);
    CHECK(strstr(out.text, "there is no turn to explain") != NULL);
    past_why_json(&day.place, &why, &out);
  }
  past_day_release(&day);
  buf_release(&out);
}

/* The page says the same words; nothing that a person wrote becomes a mark of HTML. */
static void a_page_is_the_text_with_marks(void)
{
  struct past_page page = {.title = "Why did it turn?",
                           .path = "/past",
                           .field = "moment",
                           .key = "at",
                           .text =
                               "Ashlode   why\n\n  short <b>\n  Acid & more\n    of it\n\nHead\n"
                               "  - one\n\nA sentence.\n",
                           .asked = "\"><x",
                           .style = "/a/s.css",
                           .mark = "/a/m.svg"};
  struct buf out;

  buf_init(&out, 1 << 16);
  past_page_html(&page, &out);
  CHECK(strstr(out.text, "<li>short &lt;b&gt;</li>\n<li>Acid &amp; more<br>of it</li>") != NULL);
  CHECK(strstr(out.text, "<h2>Head</h2>\n<ul>\n<li>one</li>\n</ul>") != NULL);
  CHECK(strstr(out.text, "<p>A sentence.</p>") != NULL);
  CHECK(strstr(out.text, "value=\"&quot;&gt;&lt;x\"") != NULL);
  CHECK(strstr(out.text, "refresh") == NULL);

  /* Where nothing may be asked for, the columns of the text stand as they are. */
  page.path = NULL;
  buf_clear(&out);
  past_page_html(&page, &out);
  CHECK(strstr(out.text, ">  short &lt;b&gt;\n  Acid &amp; more\n    of it</pre>") != NULL);
  CHECK(strstr(out.text, "<form") == NULL);

  /* The head of every page of the board: whose it is, and the same links. */
  page.suite = "Ash & lode";
  page.label = "DEMO";
  page.links = "<nav>links</nav>";
  buf_clear(&out);
  past_page_html(&page, &out);
  CHECK(strstr(out.text,
               "<p class=\"suite\">Ash &amp; lode <span class=\"label\">DEMO</span></p>") != NULL);
  page.clock = "REPLAY";
  buf_clear(&out);
  past_page_html(&page, &out);
  CHECK(strstr(out.text, "DEMO</span> <span class=\"label\">REPLAY</span></p>") != NULL);
  CHECK(strstr(out.text, "</h1>\n<nav>links</nav></header>") != NULL);
  CHECK(strstr(out.text, "Ashlode   why") == NULL);
  buf_release(&out);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_replay_counts_turns_and_minutes);
  RUN(two_rules_are_compared_minute_by_minute);
  RUN(a_turn_is_explained);
  RUN(some_are_never_named);
  RUN(what_was_not_known_is_told_and_nobody_named);
  RUN(a_release_from_a_stop_gives_back_nothing_in_a_replay);
  RUN(a_page_is_the_text_with_marks);
  return check_end();
}
