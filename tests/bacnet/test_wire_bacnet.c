#include "rig.h"

#include <math.h>
#include <signal.h>
#include <string.h>

/*
 * BACnet/IP against a device whose BACnet is not ours: see rig.h.
 * usage: test_wire_bacnet NODE DEVICE.MJS [PATTERN...]
 */

/* ---- values ---- */

static void values_are_read_in_one_question(void)
{
  struct world w;

  if (world_new(&w, "", DP31 T32) && world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    CHECK(until_reads(&w, 1, FEED_GOOD, 294.65));
    CHECK(is_connected(&w));
    tell(&w.device, "set 0 31 85 4 -3.25");
    CHECK(until_reads(&w, 0, FEED_GOOD, -3.25));
    CHECK(reported(&w.device, "readPropertyMultiple") >= 2);
    CHECK_INT(reported(&w.device, "readProperty"), 0);
  }
  world_release(&w);
}

static void every_kind_of_object_is_read(void)
{
  struct world w;

  if (world_new(
          &w, "",
          "  a: {of: A1, what: flow, from: bms, at: analog-value 2, unit: m3/h}\n"
          "  b: {of: A1, what: blocked, from: bms, at: binary-input 3}\n"
          "  d: {of: D1, what: open, from: bms, at: binary-value 4, yes: [inactive], no: [active]}\n"
          "  n: {what: people, from: bms, at: multi-state-value 5}\n"
          "  o: {what: other, from: bms, at: analog-output 6}\n") &&
      world_open(&w)) {
    struct device *d = &w.device;

    tell(d, "set 2 2 85 4 720");
    tell(d, "set 2 2 111 8 0");
    tell(d, "set 2 2 117 9 135");
    tell(d, "set 3 3 85 9 1");
    tell(d, "set 3 3 111 8 0");
    tell(d, "set 5 4 85 9 1");
    tell(d, "set 5 4 111 8 0");
    tell(d, "set 19 5 85 2 12");
    tell(d, "set 19 5 111 8 0");
    tell(d, "set 1 6 85 5 0.1");
    tell(d, "set 1 6 111 8 0");
    CHECK(until_reads(&w, 0, FEED_GOOD, 0.2));
    CHECK(until_reads(&w, 1, FEED_GOOD, 1));
    CHECK(until_reads(&w, 2, FEED_GOOD, 0));
    CHECK(until_reads(&w, 3, FEED_GOOD, 12));
    CHECK(until_reads(&w, 4, FEED_GOOD, 0.1));
    tell(d, "set 2 2 85 0 -");
    CHECK(until_reads(&w, 0, FEED_MISSING, NAN));
  }
  world_release(&w);
}

static void what_is_set_by_hand_or_out_of_service_or_faulty_is_no_measurement(void)
{
  static const struct {
    int flags;
    enum feed_quality quality;
    double si;
  } said[] = {{1, FEED_GOOD, 14.5}, /* in alarm: still measured */
              {2, FEED_FAULTY, NAN},         {4, FEED_OVERRIDDEN, 14.5},
              {8, FEED_OUT_OF_SERVICE, NAN}, {10, FEED_OUT_OF_SERVICE, NAN},
              {6, FEED_FAULTY, NAN},         {0, FEED_GOOD, 14.5}};
  struct world w;

  if (world_new(&w, "", DP31) && world_open(&w)) {
    for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
      CHECK_CASE("flags %d", said[i].flags);
      tell(&w.device, "set 0 31 111 8 %d", said[i].flags);
      two_more(&w, 0);
      CHECK(reads(&w, 0, said[i].quality, said[i].si));
    }
    CHECK_CASE("reliability: no sensor");
    tell(&w.device, "set 0 31 103 9 1");
    CHECK(until_reads(&w, 0, FEED_FAULTY, NAN));
    tell(&w.device, "set 0 31 103 9 0");
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
  }
  world_release(&w);
}

static void another_unit_than_the_file_says_is_not_taken_and_told_once(void)
{
  struct world w;

  if (world_new(&w, "", DP31 T32) && world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    tell(&w.device, "set 0 31 117 9 58"); /* inches of water */
    CHECK(until_reads(&w, 0, FEED_UNREADABLE, NAN));
    two_more(&w, 0);
    two_more(&w, 0);
    CHECK_INT(times_said(&w, "counts in inH2O (code 58), the feeds file says Pa"), 1);
    CHECK(reads(&w, 1, FEED_GOOD, 294.65)); /* the rest goes on */
    tell(&w.device, "set 0 31 117 9 5");    /* volts */
    CHECK(until_said(&w, "counts in a unit not known here (code 5)"));
    tell(&w.device, "set 0 31 117 9 95"); /* no units: it contradicts nothing */
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
  }
  world_release(&w);
}

static void an_object_that_is_not_there_is_missing_and_the_rest_goes_on(void)
{
  struct world w;

  if (world_new(&w, "",
                DP31 "  x: {of: A1, what: flow, from: bms, at: analog-input 99, unit: m3/h}\n") &&
      world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    CHECK(until_reads(&w, 1, FEED_MISSING, NAN));
    two_more(&w, 1);
    CHECK_INT(times_said(&w, "analog-input 99 (x): the device says: unknown object"), 1);
    tell(&w.device, "unset 0 31 111");
    CHECK(until_reads(&w, 0, FEED_UNREADABLE, NAN));
    CHECK_INT(times_said(&w, "says no status flags"), 1);
  }
  world_release(&w);
}

/* ---- devices that can do less ---- */

static void a_device_that_refuses_many_is_asked_one_by_one(void)
{
  static const char *const modes[] = {"reject", "error", "abort 0", "segment 0"};
  struct world w;

  for (size_t i = 0; i < sizeof modes / sizeof *modes; i++) {
    CHECK_CASE("%s", modes[i]);
    if (world_new(&w, "", DP31 T32)) {
      tell(&w.device, "mode %s", modes[i]);
      if (world_open(&w)) {
        CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
        CHECK(until_reads(&w, 1, FEED_GOOD, 294.65));
        two_more(&w, 1);
        CHECK(reported(&w.device, "readProperty") >= 8);
        tell(&w.device, "set 0 31 111 8 4");
        CHECK(until_reads(&w, 0, FEED_OVERRIDDEN, 14.5));
      }
    }
    world_release(&w);
  }
}

static void a_device_that_can_answer_few_is_asked_for_few(void)
{
  static const char *const modes[] = {"abort 3", "segment 3"};
  char points[3000] = "";
  struct world w;

  for (int i = 0; i < 20; i++) {
    size_t used = strlen(points);

    snprintf(points + used, sizeof points - used,
             "  p%d: {what: other, from: bms, at: analog-input %d, unit: Pa}\n", i, 100 + i);
  }
  for (size_t m = 0; m < sizeof modes / sizeof *modes; m++) {
    if (world_new(&w, "", points)) {
      tell(&w.device, "mode %s", modes[m]);
      for (int i = 0; i < 20; i++)
        set_analog(&w.device, 100 + i, i, 0, 53);
      if (world_open(&w))
        for (int i = 0; i < 20; i++)
          CHECK(until_reads(&w, i, FEED_GOOD, i));
      CHECK_INT(reported(&w.device, "readProperty"), 0);
    }
    world_release(&w);
  }
}

static void a_device_that_tells_who_it_is_only_by_broadcast_is_still_found(void)
{
  struct world w;

  if (world_new(&w, "", DP31)) {
    tell(&w.device, "whois off");
    if (world_open(&w))
      CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
  }
  world_release(&w);
}

static void a_device_is_looked_for_by_broadcast(void)
{
  struct world w;

  if (world_read_at(&w, "127.255.255.255", "", DP31)) {
    device_start_as(&w.device, INSTANCE, "0.0.0.0");
    set_analog(&w.device, 31, 14.5, 0, 53);
    if (world_open(&w))
      CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    CHECK_INT(times_said(&w, "cannot be listened to"), 0);
  }
  world_release(&w);
}

static void of_two_devices_with_one_number_neither_is_taken(void)
{
  struct world w;

  if (world_read_at(&w, "127.255.255.255", "", DP31)) {
    device_start_as(&w.device, INSTANCE, "0.0.0.0");
    set_analog(&w.device, 31, 14.5, 0, 53);
    tell(&w.device, "mode double");
    if (world_open(&w))
      CHECK(until_said(&w, "two devices say that they are 20417: at 127.0.0.1"));
    CHECK(!is_connected(&w));
    CHECK_INT(count_of(&w, 0), 0);
  }
  world_release(&w);
}

static void another_device_at_that_address_is_not_taken(void)
{
  struct world w;

  if (world_read(&w, "", DP31)) {
    device_start_as(&w.device, 7, "127.0.0.1");
    set_analog(&w.device, 31, 14.5, 0, 53);
    if (world_open(&w))
      CHECK(until_said(&w, "but not as device 20417: unknown object"));
    CHECK(!is_connected(&w));
    CHECK_INT(count_of(&w, 0), 0);
  }
  world_release(&w);
}

/* ---- lost and found ---- */

static void a_device_that_was_killed_is_lost_and_found_again(void)
{
  struct world w;

  if (world_new(&w, "", DP31) && world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    device_stop(&w.device, SIGKILL);
    CHECK(until_connected(&w, false));
    CHECK(until_said(&w, "does not answer any more"));

    long before = count_of(&w, 0);

    for (int i = 0; i < 50; i++)
      nap();
    CHECK_INT(count_of(&w, 0), before); /* nothing is said of what is not heard */
    device_start(&w.device);
    set_analog(&w.device, 31, 9.5, 0, 53);
    CHECK(until_reads(&w, 0, FEED_GOOD, 9.5));
    CHECK(is_connected(&w));
  }
  world_release(&w);
}

static void a_device_that_is_not_there_at_the_start_is_waited_for(void)
{
  struct world w;

  if (world_read(&w, "", DP31) && world_open(&w)) {
    CHECK(until_said(&w, "no device 20417 at 127.0.0.1"));
    device_start(&w.device);
    set_analog(&w.device, 31, 14.5, 0, 53);
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
  }
  world_release(&w);
}

static void closing_does_not_wait_for_a_device_that_is_silent(void)
{
  struct world w;

  if (world_new(&w, "", DP31) && world_open(&w)) {
    double from_s;

    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    tell(&w.device, "mode silent");
    nap();
    from_s = wire_clock_s();
    wire_close(w.wire);
    w.wire = NULL;
    CHECK(wire_clock_s() - from_s < 0.4);
  }
  world_release(&w);
}

/* ---- late, wrong, broken, hostile ---- */

static void an_answer_that_is_late_but_in_time_is_taken(void)
{
  struct world w;

  if (world_new(&w, "", DP31)) {
    tell(&w.device, "mode late 700"); /* after the first question was asked again */
    if (world_open(&w))
      CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    CHECK(is_connected(&w));
  }
  world_release(&w);
}

/* Answers after the last try belong to a question that was given up: another value, told by then,
 * must not come back. */
static void an_answer_that_is_too_late_is_not_taken(void)
{
  struct world w;

  if (world_new(&w, "", DP31) && world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    tell(&w.device, "set 0 31 85 4 99");
    tell(&w.device, "mode late 2500");
    CHECK(until_connected(&w, false));
    tell(&w.device, "mode silent");

    long before = count_of(&w, 0);

    for (int i = 0; i < 150; i++)
      nap();
    CHECK_INT(count_of(&w, 0), before);
    CHECK(reads(&w, 0, FEED_GOOD, 14.5));
  }
  world_release(&w);
}

static void an_answer_to_another_question_is_not_taken(void)
{
  struct world w;

  if (world_new(&w, "", DP31) && world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    tell(&w.device, "set 0 31 85 4 99");
    tell(&w.device, "mode wrong");
    CHECK(until_said(&w, "an answer to nothing that is asked now"));
    CHECK(until_connected(&w, false));
    CHECK(reads(&w, 0, FEED_GOOD, 14.5) ||
          reads(&w, 0, FEED_GOOD, 99)); /* 99: asked before it went wrong */
  }
  world_release(&w);
}

static void a_giant_message_is_refused_and_the_rest_goes_on(void)
{
  struct world w;

  if (world_new(&w, "", DP31) && world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    tell(&w.device, "mode giant 40000");
    CHECK(until_said(&w, "a message of 40000 bytes from 127.0.0.1"));
    tell(&w.device, "set 0 31 85 4 13");
    CHECK(until_reads(&w, 0, FEED_GOOD, 13));
    CHECK(is_connected(&w));
  }
  world_release(&w);
}

static void a_broken_answer_leaves_no_value(void)
{
  struct world w;

  if (world_new(&w, "", DP31) && world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    tell(&w.device, "mode broken");
    CHECK(until_reads(&w, 0, FEED_MISSING, NAN));
    CHECK(times_said(&w, "an answer that cannot be read") >= 1);
    tell(&w.device, "mode normal");
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
  }
  world_release(&w);
}

/* The right id, the right object, from the wrong address: 99 Pa. */
static void nobody_else_may_answer(void)
{
  struct world w;

  if (world_new(&w, "", DP31) && world_open(&w)) {
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    tell(&w.device, "mode late 100");
    for (int i = 0; i < 30; i++) {
      tell(&w.device, "stranger 810a0020010030ID0e0c0000001f1e29554e4442c600004f296f4e8204004f1f");
      nap();
    }
    tell(&w.device, "stranger 00112233");
    CHECK(until_said(&w, "which is not the device"));
    CHECK(until_said(&w, "is no BACnet/IP: byte 1"));
    two_more(&w, 0);
    pthread_mutex_lock(&w.lock);
    for (int i = 0; i < w.all_count; i++)
      CHECK_NEAR(w.all[i].si, 14.5, 0, 1e-6);
    pthread_mutex_unlock(&w.lock);
    CHECK(is_connected(&w));
  }
  world_release(&w);
}

/* ---- changes ---- */

static void changes_are_told_and_confirmed_ones_thanked_for(void)
{
  static const char *const hows[] = {"confirmed", "unconfirmed"};
  struct world w;

  if (world_new(&w, ", subscribe: yes", DP31 T32) && world_open(&w)) {
    CHECK(until_reported(&w.device, "subscriptions", 2));
    CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
    for (int i = 0; i < 2; i++) {
      CHECK_CASE("%s", hows[i]);
      CHECK_STR(tell(&w.device, "notify 0 31 %s %d 0", hows[i], 5 + i), "1 sent");
      CHECK(until_seen(&w, 0, 5 + i));
    }
    CHECK(until_reported(&w.device, "thanked", 1));
  }
  world_release(&w);
}

static void a_device_that_tells_no_changes_is_asked(void)
{
  struct world w;

  if (world_new(&w, ", subscribe: yes", DP31)) {
    tell(&w.device, "mode nocov");
    if (world_open(&w)) {
      CHECK(until_reads(&w, 0, FEED_GOOD, 14.5));
      CHECK(until_said(&w, "changes are not told (optional functionality not supported)"));
      tell(&w.device, "set 0 31 85 4 2");
      CHECK(until_reads(&w, 0, FEED_GOOD, 2));
    }
  }
  world_release(&w);
}

/* ---- logs ---- */

#define LOG7 "  l: {of: A1, what: flow, from: bms, at: trend-log 7, unit: m3/h, old after: 2 h}\n"

static double mean_age_s(struct world *w, double si)
{
  double age_s = NAN;

  pthread_mutex_lock(&w->lock);
  for (int i = 0; i < w->all_count; i++)
    if (fabs(w->all[i].si - si) < 1e-9)
      age_s = (double)(w->all[i].seen_ms - w->all[i].t_ms) / 1000;
  pthread_mutex_unlock(&w->lock);
  return age_s;
}

static void a_log_is_read_once_each_and_in_our_time(void)
{
  struct world w;

  if (world_new(&w, "", LOG7) && world_open(&w)) {
    CHECK(until_connected(&w, true));
    tell(&w.device, "log 20 7 600 360"); /* from before we came: left where it is */
    CHECK(until_reported(&w.device, "readRange-time", 2));
    tell(&w.device, "log 20 7 -2 720");
    CHECK(until_count(&w, 0, 1));
    CHECK(reads(&w, 0, FEED_GOOD, 0.2));
    CHECK_NEAR(mean_age_s(&w, 0.2), -2, 0, 3); /* its clock is an hour ahead: a zone */
    for (int i = 0; i < 60; i++)
      tell(&w.device, "log 20 7 -3 %d", 3600 + 36 * i);
    CHECK(until_count(&w, 0, 61));
    tell(&w.device, "log 20 7 -4 null");
    CHECK(until_reads(&w, 0, FEED_MISSING, NAN));
    tell(&w.device, "log 20 7 -4 36 8");
    CHECK(until_reads(&w, 0, FEED_OUT_OF_SERVICE, NAN));
    CHECK_INT(count_of(&w, 0), 63);
    CHECK(reported(&w.device, "readRange-sequence") >= 3);
    CHECK_INT(reported(&w.device, "readRange-position"), 0);
  }
  world_release(&w);
}

static void a_log_that_knows_only_positions_is_read_by_them(void)
{
  struct world w;

  if (world_new(&w, "", LOG7)) {
    tell(&w.device, "mode bypos");
    tell(&w.device, "log 20 7 600 360");
    if (world_open(&w)) {
      CHECK(until_reported(&w.device, "readRange-position", 2));
      tell(&w.device, "log 20 7 -2 720");
      CHECK(until_count(&w, 0, 1));
      tell(&w.device, "log 20 7 -3 1080");
      CHECK(until_count(&w, 0, 2));
      CHECK(reads(&w, 0, FEED_GOOD, 0.3));
    }
  }
  world_release(&w);
}

static void what_was_logged_while_nobody_listened_is_read_afterwards(void)
{
  struct world w;

  if (world_new(&w, "", LOG7) && world_open(&w)) {
    CHECK(until_reported(&w.device, "readRange-time", 1));
    tell(&w.device, "log 20 7 -2 720");
    CHECK(until_count(&w, 0, 1));
    tell(&w.device, "mode silent");
    CHECK(until_connected(&w, false));
    for (int i = 0; i < 30; i++)
      tell(&w.device, "log 20 7 -3 %d", 36 * i);
    tell(&w.device, "mode normal");
    CHECK(until_count(&w, 0, 31));
  }
  world_release(&w);
}

static void what_was_logged_while_the_clock_was_set_is_left_out(void)
{
  struct world w;

  if (world_new(&w, "", LOG7) && world_open(&w)) {
    CHECK(until_reported(&w.device, "readRange-time", 1));
    tell(&w.device, "log 20 7 -2 720");
    CHECK(until_count(&w, 0, 1));
    tell(&w.device, "mode silent");
    CHECK(until_connected(&w, false));
    tell(&w.device, "log 20 7 -3 36"); /* under the old clock */
    tell(&w.device, "zone 0");         /* October */
    tell(&w.device, "mode normal");
    CHECK(until_said(&w, "clock was set by a quarter of an hour or more"));
    tell(&w.device, "log 20 7 0 1080"); /* after the clock was set, however slow this machine is */
    CHECK(until_reads(&w, 0, FEED_GOOD, 0.3));
    CHECK_INT(count_of(&w, 0), 2);
    CHECK_NEAR(mean_age_s(&w, 0.3), 0, 0, 4);
  }
  world_release(&w);
}

/* ---- what it never does ---- */

static void whatever_happens_nothing_but_reading_is_asked(void)
{
  static const char *const modes[] = {"normal", "reject", "error", "abort 0",    "segment 0",
                                      "broken", "wrong",  "nocov", "giant 9000", "late 100"};
  struct world w;

  if (world_new(&w, ", subscribe: yes", DP31 T32 LOG7)) {
    tell(&w.device, "log 20 7 -2 720");
    if (world_open(&w))
      for (size_t i = 0; i < sizeof modes / sizeof *modes; i++) {
        long before = reported(&w.device, "requests");

        tell(&w.device, "mode %s", modes[i]);
        CHECK(until_reported(&w.device, "requests", before + 4));
      }

    long reading =
        reported(&w.device, "readProperty") + reported(&w.device, "readPropertyMultiple") +
        reported(&w.device, "readRange-time") + reported(&w.device, "readRange-sequence") +
        reported(&w.device, "readRange-position") + reported(&w.device, "subscribeCov");

    wire_close(w.wire);
    w.wire = NULL;
    CHECK(reading >= 40);
    CHECK(strstr(tell(&w.device, "report"), "other") == NULL);
  }
  world_release(&w);
}

int main(int argc, char **argv)
{
  if (argc < 3) {
    fprintf(stderr, "usage: test_wire_bacnet NODE DEVICE.MJS [PATTERN...]\n");
    return 2;
  }
  rig_node = argv[1];
  rig_script = argv[2];
  signal(SIGPIPE, SIG_IGN);
  check_begin(argc - 2, argv + 2);
  RUN(values_are_read_in_one_question);
  RUN(every_kind_of_object_is_read);
  RUN(what_is_set_by_hand_or_out_of_service_or_faulty_is_no_measurement);
  RUN(another_unit_than_the_file_says_is_not_taken_and_told_once);
  RUN(an_object_that_is_not_there_is_missing_and_the_rest_goes_on);
  RUN(a_device_that_refuses_many_is_asked_one_by_one);
  RUN(a_device_that_can_answer_few_is_asked_for_few);
  RUN(a_device_that_tells_who_it_is_only_by_broadcast_is_still_found);
  RUN(a_device_is_looked_for_by_broadcast);
  RUN(of_two_devices_with_one_number_neither_is_taken);
  RUN(another_device_at_that_address_is_not_taken);
  RUN(a_device_that_was_killed_is_lost_and_found_again);
  RUN(a_device_that_is_not_there_at_the_start_is_waited_for);
  RUN(closing_does_not_wait_for_a_device_that_is_silent);
  RUN(an_answer_that_is_late_but_in_time_is_taken);
  RUN(an_answer_that_is_too_late_is_not_taken);
  RUN(an_answer_to_another_question_is_not_taken);
  RUN(a_giant_message_is_refused_and_the_rest_goes_on);
  RUN(a_broken_answer_leaves_no_value);
  RUN(nobody_else_may_answer);
  RUN(changes_are_told_and_confirmed_ones_thanked_for);
  RUN(a_device_that_tells_no_changes_is_asked);
  RUN(a_log_is_read_once_each_and_in_our_time);
  RUN(a_log_that_knows_only_positions_is_read_by_them);
  RUN(what_was_logged_while_nobody_listened_is_read_afterwards);
  RUN(what_was_logged_while_the_clock_was_set_is_left_out);
  RUN(whatever_happens_nothing_but_reading_is_asked);
  return check_end();
}
