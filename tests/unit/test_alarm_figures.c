#include "alarm/alarm.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/*
 * Figures of alarms, by hand.  The limits are those of ANSI/ISA-18.2 (values from memory); no published
 * worked example with its single alarms was found, so floods are compared with a second, plain count
 * second by second, and the chattering index with its published limit: 0.05 per second is an alarm every
 * 20 s (Kondaveeti et al. 2013, value from memory).
 */

static const struct feeds_figures usual = {.day_count = 1,
                                           .urgent_ratio = 0.05,
                                           .high_ratio = 0.15,
                                           .flood_begins = 10,
                                           .flood_ends = 5,
                                           .window_s = 600,
                                           .chatter_count = 3,
                                           .chatter_s = 60,
                                           .stale_s = 86400,
                                           .haste_count = 5};
enum { DAY_S = 86400, MOST = 400 };

struct story {
  struct arena arena;
  int count;
  struct alarm_told list[MOST];
};

static void begin(struct story *s)
{
  s->count = 0;
  arena_init(&s->arena, SIZE_MAX);
}

static void end(struct story *s)
{
  arena_release(&s->arena);
}

static void turn(struct story *s, int64_t t_s, const char *about, enum alarm_turn_kind kind,
                 enum alarm_state state)
{
  s->list[s->count++] = (struct alarm_told){.t_ms = t_s * 1000,
                                            .about = about,
                                            .who = "inward",
                                            .why = "",
                                            .kind = kind,
                                            .when = FEEDS_WHEN_UNATTENDED,
                                            .priority = FEEDS_LOW,
                                            .state = state,
                                            .measured = ""};
}

static void on(struct story *s, int64_t t_s, const char *about)
{
  turn(s, t_s, about, ALARM_TURN_ON, ALARM_ACTIVE);
}

static void off(struct story *s, int64_t t_s, const char *about)
{
  turn(s, t_s, about, ALARM_TURN_OFF, ALARM_RETURNED);
}

static void seen(struct story *s, int64_t t_s, const char *about, const char *who)
{
  s->list[s->count++] = (struct alarm_told){.t_ms = t_s * 1000,
                                            .about = about,
                                            .who = who,
                                            .why = "seen",
                                            .kind = ALARM_TURN_ACKNOWLEDGED,
                                            .when = -1};
}

static struct alarm_figures over(struct story *s, int64_t from_s, int64_t to_s)
{
  return alarm_figures(&usual, s->list, s->count, from_s * 1000, to_s * 1000, &s->arena);
}

/* ---- how many ---- */

static void what_nobody_was_told_is_counted_apart(void)
{
  struct story s;

  begin(&s);
  on(&s, 10, "A1");
  turn(&s, 20, "A2", ALARM_TURN_ON, ALARM_SUPPRESSED);
  turn(&s, 30, "A3", ALARM_TURN_ON, ALARM_SHELVED);
  turn(&s, 40, "A4", ALARM_TURN_ON, ALARM_ACTIVE);
  s.list[s.count - 1].priority = FEEDS_NOBODY;
  turn(&s, 50, "A3", ALARM_TURN_UNSHELVED, ALARM_ACTIVE); /* now somebody is told */
  on(&s, DAY_S, "A1");                                    /* behind the end */

  struct alarm_figures f = over(&s, 0, DAY_S);

  CHECK_INT(f.told, 2);
  CHECK_INT(f.explained, 1);
  CHECK_INT(f.put_aside, 1);
  CHECK_INT(f.noted, 1);
  CHECK_INT(f.by_priority[FEEDS_LOW], 2);
  CHECK(f.per_day == 2);
  end(&s);
}

static void nothing_told_gives_no_figures_but_zeros(void)
{
  struct story s;

  begin(&s);

  struct alarm_figures f = over(&s, 0, 7);

  CHECK_INT(f.told + f.row_count + f.flood_count + f.haste_count + f.answered, 0);
  CHECK_INT(f.windows, 1);
  CHECK(isnan(f.answer_s));
  end(&s);
}

/* ---- floods ---- */

/* Twelve, 10 s apart from 0: the eleventh comes at 100 s.  The k-th leaves the ten minutes at 590 + 10 k s;
 * after the eighth, at 670 s, four are left, which is fewer than five. */
static void a_flood_begins_above_ten_and_ends_below_five(void)
{
  struct story s;

  begin(&s);
  for (int i = 0; i < 12; i++)
    on(&s, 10 * (int64_t)i, "A1");

  struct alarm_figures f = over(&s, 0, DAY_S);

  if (CHECK_INT(f.flood_count, 1)) {
    CHECK_INT(f.floods[0].from_ms, 100000);
    CHECK_INT(f.floods[0].to_ms, 670000);
    CHECK_INT(f.floods[0].told, 12);
  }
  CHECK(f.flood_s == 570);
  CHECK_INT(f.windows, 144);
  CHECK_INT(f.windows_over, 1);
  CHECK_INT(f.most, 12);
  end(&s);
}

static void ten_are_no_flood(void)
{
  struct story s;

  begin(&s);
  for (int i = 0; i < 10; i++)
    on(&s, i, "A1");
  CHECK_INT(over(&s, 0, DAY_S).flood_count, 0);
  end(&s);
}

/* The plain way: each second, how many came in the ten minutes that end with it. */
static double plain_flood_s(const struct story *s, int64_t end_s)
{
  double sum = 0;
  bool flooded = false;

  for (int64_t t_s = 0; t_s < end_s; t_s++) {
    int in = 0;

    for (int i = 0; i < s->count; i++)
      in += s->list[i].t_ms <= t_s * 1000 && s->list[i].t_ms > (t_s - 600) * 1000;
    flooded = flooded ? in >= usual.flood_ends : in > usual.flood_begins;
    sum += flooded;
  }
  return sum;
}

static void floods_are_those_of_a_plain_count(void)
{
  int flooded = 0;

  for (int seed = 1; seed <= 40; seed++) {
    struct story s;
    unsigned state = (unsigned)seed;
    int64_t t_s = 0;

    CHECK_CASE("seed %d", seed);
    begin(&s);
    for (int i = 0; i < 200; i++) {
      state = state * 1103515245U + 12345U;
      on(&s, t_s, "A1");
      t_s += (state >> 16) % ((state >> 8) % 7 == 0 ? 900 : 60);
    }
    CHECK(over(&s, 0, t_s).flood_s == plain_flood_s(&s, t_s));
    flooded += over(&s, 0, t_s).flood_count > 0;
    end(&s);
  }
  CHECK(flooded > 30);
}

/* ---- chatter ---- */

static void an_alarm_every_twenty_seconds_has_the_published_index(void)
{
  struct story s;

  begin(&s);
  for (int i = 0; i < 50; i++)
    on(&s, 20 * (int64_t)i, "A1");

  struct alarm_figures f = over(&s, 0, DAY_S);

  CHECK(fabs(f.rows[0].chatter_per_s - 0.05) < 1e-12);
  CHECK(f.rows[0].chatters);
  CHECK_INT(f.chattering, 1);
  end(&s);
}

static void an_alarm_every_half_minute_does_not_chatter_and_neither_do_two(void)
{
  struct story s;

  begin(&s);
  for (int i = 0; i < 50; i++)
    on(&s, 31 * (int64_t)i, "A1");
  on(&s, 9000, "A2");
  on(&s, 9001, "A2");
  CHECK_INT(over(&s, 0, DAY_S).chattering, 0);
  end(&s);
}

/* ---- what stands ---- */

static void what_stood_before_the_span_counts_from_when_it_came(void)
{
  struct story s;

  begin(&s);
  on(&s, -30 * 3600, "A1"); /* on for 30 + 24 h at its end: stale */
  on(&s, 0, "A2");
  off(&s, 600, "A2");
  on(&s, 1000, "A2");
  off(&s, 1300, "A2");

  struct alarm_figures f = over(&s, 0, DAY_S);

  CHECK_INT(f.stale, 1);
  if (CHECK_INT(f.row_count, 2)) {
    CHECK_STR(f.rows[0].about, "A2");
    CHECK_INT(f.rows[0].told, 2);
    CHECK(f.rows[0].stood_s == 900 && f.rows[0].longest_s == 600 && !f.rows[0].stands);
    CHECK_INT(f.rows[1].told, 0);
    CHECK(f.rows[1].stood_s == DAY_S && f.rows[1].stands && f.rows[1].stale);
  }
  end(&s);
}

/* Explained by another at first: it stands, and nobody is told; then by itself. */
static void what_stood_is_counted_in_number_as_in_time_told_or_not(void)
{
  struct story s;

  begin(&s);
  turn(&s, 0, "A1", ALARM_TURN_ON, ALARM_SUPPRESSED);
  off(&s, 1440, "A1");
  on(&s, 4000, "A1");
  off(&s, 6700, "A1");
  off(&s, 6800, "A1"); /* was off */

  struct alarm_figures f = over(&s, 0, DAY_S);

  if (CHECK_INT(f.row_count, 1)) {
    CHECK_INT(f.rows[0].told, 1);
    CHECK_INT(f.rows[0].spells, 2);
    CHECK(f.rows[0].stood_s == 1440 + 2700 && f.rows[0].longest_s == 2700);
  }
  f = over(&s, 6700, DAY_S); /* it ended as this begins */
  CHECK_INT(f.row_count, 0);
  end(&s);
}

static void the_ten_most_frequent_are_first(void)
{
  static const char *const names[] = {"A1", "A2", "A3", "A4", "A5", "A6",
                                      "A7", "A8", "A9", "B1", "B2", "B3"};
  struct story s;

  begin(&s);
  for (int i = 0; i < 12; i++)
    for (int j = 0; j <= i; j++)
      on(&s, i * 1000 + j * 30, names[i]);

  struct alarm_figures f = over(&s, 0, DAY_S);

  CHECK_STR(f.rows[0].about, "B3");
  CHECK_STR(f.rows[11].about, "A1");
  CHECK(fabs(f.top_ratio - (78 - 3) / 78.0) < 1e-12); /* 1 + ... + 12 = 78, without 1 and 2 */
  end(&s);
}

/* ---- what people did ---- */

static void an_answer_is_timed_from_the_last_telling(void)
{
  struct story s;

  begin(&s);
  on(&s, 0, "A1");
  seen(&s, 60, "A1", "M. Rao"); /* 60 s */
  off(&s, 100, "A1");
  on(&s, 200, "A1"); /* told anew before anybody saw it: no answer */
  off(&s, 300, "A1");
  on(&s, 400, "A1");
  seen(&s, 520, "A1", "J. Berg"); /* 120 s */
  on(&s, 600, "A2");

  struct alarm_figures f = over(&s, 0, DAY_S);

  CHECK_INT(f.answered, 2);
  CHECK(f.answer_s == 90);
  end(&s);
}

static void who_acknowledges_everything_at_once_is_seen(void)
{
  static const char *const names[] = {"A1", "A2", "A3", "A4", "A5", "A6"};
  struct story s;

  begin(&s);
  for (int i = 0; i < 6; i++)
    on(&s, i, names[i]);
  for (int i = 0; i < 4; i++)
    seen(&s, 100 + i, names[i], "M. Rao");
  seen(&s, 104, "A5", "J. Berg");
  CHECK_INT(over(&s, 0, DAY_S).haste_count, 0); /* four by one, one by another */
  seen(&s, 159, "A5", "M. Rao");
  seen(&s, 160, "A6", "M. Rao"); /* a minute later: another one */

  struct alarm_figures f = over(&s, 0, DAY_S);

  if (CHECK_INT(f.haste_count, 1)) {
    CHECK_INT(f.hastes[0].t_ms, 100000);
    CHECK_INT(f.hastes[0].count, 5);
  }
  end(&s);
}

int main(void)
{
  RUN(what_nobody_was_told_is_counted_apart);
  RUN(nothing_told_gives_no_figures_but_zeros);
  RUN(a_flood_begins_above_ten_and_ends_below_five);
  RUN(ten_are_no_flood);
  RUN(floods_are_those_of_a_plain_count);
  RUN(an_alarm_every_twenty_seconds_has_the_published_index);
  RUN(an_alarm_every_half_minute_does_not_chatter_and_neither_do_two);
  RUN(what_stood_before_the_span_counts_from_when_it_came);
  RUN(what_stood_is_counted_in_number_as_in_time_told_or_not);
  RUN(the_ten_most_frequent_are_first);
  RUN(an_answer_is_timed_from_the_last_telling);
  RUN(who_acknowledges_everything_at_once_is_seen);
  return check_end();
}
