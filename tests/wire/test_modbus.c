#include "peer.h"

#include <math.h>
#include <signal.h>
#include <string.h>
#include <time.h>

/* Against a server of pymodbus (BSD), and against one of this folder that answers late. */

static const char *server, *late_server;
static struct ear ear;

#define SOURCE                                                                                     \
  "inward: 1 feeds\nsources:\n  panel: {every: 0.1 s, modbus: {host: 127.0.0.1, port: %d, "

static pid_t start_peer(const char *script, int port, const char *more)
{
  char number[12];
  const char *argv[] = {"/usr/bin/python3", script, number, more, NULL};
  pid_t pid;

  snprintf(number, sizeof number, "%d", port);
  pid = peer_start(argv);
  CHECK(peer_answers(port, 20));
  return pid;
}

static void every_register_is_read_where_and_how_it_is_declared(void)
{
  static const char text[] = SOURCE
      "words: high first}}\n"
      "  other: {every: 0.1 s, modbus: {host: 127.0.0.1, words: low first, port: PORT}}\n"
      "points:\n"
      "  first: {of: A1, what: flow, from: panel, at: 40001, as: u16, unit: m3/h}\n"
      "  sent: {of: Acid, what: flow, from: panel, at: holding 1, as: u16, unit: m3/h}\n"
      "  abcd: {of: A1, what: face velocity, from: panel, at: 40003, as: f32, unit: m/s}\n"
      "  cdab: {of: A1, what: face velocity, from: other, at: 40005, as: f32, unit: m/s}\n"
      "  fault: {of: A1, what: opening, from: panel, at: 40007, as: u16, unit: mm, none: [65535]}\n"
      "  dp: {of: Etch, what: pressure, over: Gown, from: panel, at: 40008, as: s16, unit: Pa,\n"
      "      factor: 0.1}\n"
      "  none: {of: Etch, what: temperature, from: panel, at: 40009, as: s16, unit: degC,\n"
      "      none: [-32768]}\n"
      "  input: {of: Etch, what: humidity, from: panel, at: 30001, as: u16, unit: \"%RH\", factor: 0.1}\n"
      "  coil: {of: D1, what: open, from: panel, at: 00002}\n"
      "  beam: {of: A1, what: blocked, from: panel, at: 10001}\n"
      "  here: {of: A1, what: presence, from: panel, at: 10002}\n";
  char whole[4000], *at;
  int port = peer_free_port();
  pid_t peer = start_peer(server, port, NULL);

  snprintf(whole, sizeof whole, "%s", text);
  at = strstr(whole, "PORT");
  REQUIRE(at != NULL);
  snprintf(at, sizeof whole - (size_t)(at - whole), "%d%s", port, strstr(text, "PORT") + 4);
  REQUIRE(ear_open(&ear, whole, port, "."));
  CHECK(ear_hears(&ear, 0, "first", 100 / 3600.0, FEED_GOOD, 5)); /* 40001 is sent as 0 */
  CHECK(ear_hears(&ear, 0, "sent", 101 / 3600.0, FEED_GOOD, 1));
  CHECK(ear_hears(&ear, 0, "abcd", 0.5, FEED_GOOD, 1));
  CHECK(ear_hears(&ear, 0, "cdab", 0.5, FEED_GOOD, 5));
  CHECK(ear_hears(&ear, 0, "fault", NAN, FEED_MISSING, 1));
  CHECK(ear_hears(&ear, 0, "dp", -14.2, FEED_GOOD, 1));
  CHECK(ear_hears(&ear, 0, "none", NAN, FEED_MISSING, 1));
  CHECK(ear_hears(&ear, 0, "input", 0.2, FEED_GOOD, 1));
  CHECK(ear_hears(&ear, 0, "coil", 1, FEED_GOOD, 1));
  CHECK(ear_hears(&ear, 0, "beam", 0, FEED_GOOD, 1));
  CHECK(ear_hears(&ear, 0, "here", 1, FEED_GOOD, 1));
  CHECK_STR(ear_look(&ear, "panel").why, "");
  CHECK_INT(ear_look(&ear, "panel").refused, 0);
  ear_close(&ear);
  peer_stop(peer, SIGKILL);
}

static void a_wrong_address_does_not_hide_the_others(void)
{
  static const char text[] =
      SOURCE "unit: 1}}\npoints:\n"
             "  good: {of: A1, what: flow, from: panel, at: 40011, as: u16, unit: m3/h}\n"
             "  last: {of: Acid, what: flow, from: panel, at: 40020, as: u16, unit: m3/h}\n"
             "  beyond: {of: A1, what: opening, from: panel, at: 40021, as: u16, unit: mm}\n";
  int port = peer_free_port();
  pid_t peer = start_peer(server, port, NULL);

  REQUIRE(ear_open(&ear, text, port, "."));
  CHECK(ear_hears(&ear, 0, "good", 110 / 3600.0, FEED_GOOD, 5));
  CHECK(ear_hears(&ear, 0, "last", 119 / 3600.0, FEED_GOOD, 1));
  CHECK(ear_hears(&ear, 0, "beyond", NAN, FEED_UNREADABLE, 1));
  CHECK(ear_told(&ear, "panel: point beyond at 40021: Illegal data address", 2));
  CHECK(ear_look(&ear, "panel").connected);
  CHECK_INT(ear_look(&ear, "panel").reconnects, 0);
  ear_close(&ear);
  peer_stop(peer, SIGKILL);
}

static const char one_point[] =
    SOURCE "unit: 1}}\npoints:\n"
           "  first: {of: A1, what: flow, from: panel, at: 40001, as: u16, unit: m3/h}\n";

static void a_device_that_was_killed_is_found_again(void)
{
  int port = peer_free_port(), since;
  pid_t peer;

  REQUIRE(ear_open(&ear, one_point, port, "."));
  CHECK(ear_told(&ear, "not connected", 5)); /* down at the start, too */
  peer = start_peer(server, port, NULL);
  CHECK(ear_hears(&ear, 0, "first", 100 / 3600.0, FEED_GOOD, 5));
  peer_stop(peer, SIGKILL);
  CHECK(ear_connected(&ear, "panel", false, 5));
  peer = start_peer(server, port, NULL);
  since = ear_count(&ear);
  CHECK(ear_hears(&ear, since, "first", 100 / 3600.0, FEED_GOOD, 5));
  CHECK_INT(ear_look(&ear, "panel").reconnects, 1);
  ear_close(&ear);
  peer_stop(peer, SIGKILL);
}

static void a_device_that_froze_says_nothing_more(void)
{
  int port = peer_free_port(), since;
  pid_t peer = start_peer(server, port, NULL);

  REQUIRE(ear_open(&ear, one_point, port, "."));
  CHECK(ear_hears(&ear, 0, "first", 100 / 3600.0, FEED_GOOD, 5));
  peer_stop(peer, SIGSTOP); /* it still accepts connections: the system does that for it */
  CHECK(ear_connected(&ear, "panel", false, 5));
  CHECK(strstr(ear_look(&ear, "panel").why, "no answer in time") != NULL);
  since = ear_count(&ear);
  CHECK(!ear_connected(&ear, "panel", true, 1.5)); /* that it accepts is no answer */
  CHECK_INT(ear_count(&ear), since);
  peer_stop(peer, SIGCONT);
  CHECK(ear_connected(&ear, "panel", true, 10));
  CHECK(ear_hears(&ear, since, "first", 100 / 3600.0, FEED_GOOD, 5));
  ear_close(&ear);
  peer_stop(peer, SIGKILL);
}

static bool holds_its_own(int point, double si)
{
  static const int registers[] = {0, 100, 200};

  return fabs(si * 3600 - (1000 + registers[point])) < 1e-6;
}

static void a_late_answer_is_never_taken_for_another_one(void)
{
  static const char text[] =
      SOURCE "unit: 1}}\npoints:\n"
             "  a: {of: A1, what: flow, from: panel, at: holding 0, as: u16, unit: m3/h}\n"
             "  b: {of: Acid, what: flow, from: panel, at: holding 100, as: u16, unit: m3/h}\n"
             "  c: {what: other, from: panel, at: holding 200, as: u16, unit: m3/h}\n";
  int port = peer_free_port(), wrong = 0;
  pid_t peer = start_peer(late_server, port, "0.6"); /* they are waited for 0.4 s */
  double until_s;

  REQUIRE(ear_open(&ear, text, port, "."));
  until_s = wire_clock_s() + 8;
  while (ear_look(&ear, "panel").reconnects < 4 && wire_clock_s() < until_s)
    CHECK(ear_hears(&ear, 0, "a", 1000 / 3600.0, FEED_GOOD, 5));
  CHECK(ear_look(&ear, "panel").reconnects >= 4);
  CHECK(ear_count(&ear) > 10);
  for (int i = 0; i < ear_count(&ear); i++)
    wrong +=
        ear.heard[i].quality != FEED_GOOD || !holds_its_own(ear.heard[i].point, ear.heard[i].si);
  CHECK_INT(wrong, 0);
  ear_close(&ear);
  peer_stop(peer, SIGKILL);
}

static void a_network_that_swallows_everything_holds_up_nothing(void)
{
  int fd, port = peer_deaf_port(&fd);

  REQUIRE(ear_open(&ear, one_point, port, "."));
  CHECK(ear_told(&ear, "not connected", 5));
  ear_close(&ear);
}

int main(int argc, char **argv)
{
  server = argv[1];
  late_server = argv[2];
  check_begin(argc - 2, argv + 2);
  RUN(every_register_is_read_where_and_how_it_is_declared);
  RUN(a_wrong_address_does_not_hide_the_others);
  RUN(a_device_that_was_killed_is_found_again);
  RUN(a_device_that_froze_says_nothing_more);
  RUN(a_late_answer_is_never_taken_for_another_one);
  RUN(a_network_that_swallows_everything_holds_up_nothing);
  return check_end();
}
