#include "peer.h"

#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* Against the mosquitto broker and its command-line publisher (EPL-2.0), neither of them ours. */

#define POINTS                                                                                     \
  "points:\n"                                                                                      \
  "  raw: {of: Acid, what: flow, from: bus, at: lab/raw, unit: m3/h}\n"                            \
  "  v: {of: A1, what: flow, from: bus, at: lab/a1, field: v, time field: t, unit: m3/h}\n"        \
  "  beam: {of: A1, what: blocked, from: bus, at: lab/beam}\n"

static const char feeds_text[] =
    "inward: 1 feeds\nsources:\n"
    "  bus: {old after: 60 s, mqtt: {host: 127.0.0.1, port: %d, status: lab/gate, gone: [offline]}}\n" POINTS;

static int port;
static const char *script; /* refusing_broker.py */
static const char *folder;
static struct ear ear;

static pid_t start_broker(const char *more)
{
  char file[256], text[512];
  const char *argv[] = {"mosquitto", "-c", file, NULL};
  pid_t pid;

  snprintf(file, sizeof file, "%s/broker.conf", folder);
  snprintf(text, sizeof text, "listener %d 127.0.0.1\nuser root\n%s", port,
           more ? more : "allow_anonymous true\n");
  peer_write(file, text, 0600);
  pid = peer_start(argv);
  CHECK(peer_answers(port, 10));
  return pid;
}

static void publish(const char *topic, const char *text, bool retained)
{
  char number[12];
  const char *argv[] = {
      "mosquitto_pub",        "-h", "127.0.0.1", "-p", number, "-t", topic, "-m", text, "-q", "1",
      retained ? "-r" : NULL, NULL};

  snprintf(number, sizeof number, "%d", port);
  CHECK(peer_run(argv));
}

/* An object with the time of `ago_s` before now. */
static void publish_timed(double flow_m3_h, int ago_s, bool retained)
{
  char text[100];

  snprintf(text, sizeof text, "{\"v\":%g,\"t\":%lld}", flow_m3_h, (long long)time(NULL) - ago_s);
  publish("lab/a1", text, retained);
}

static void begin(void)
{
  port = peer_free_port();
  folder = peer_folder();
}

static void a_broker_that_is_down_at_the_start_is_found_when_it_comes(void)
{
  pid_t broker;

  begin();
  REQUIRE(ear_open(&ear, feeds_text, port, folder));
  CHECK(ear_told(&ear, "not connected", 3));
  CHECK(strstr(ear_look(&ear, "bus").why, "nothing answers") != NULL);
  broker = start_broker(NULL);
  CHECK(ear_connected(&ear, "bus", true, 5));
  CHECK_STR(ear_look(&ear, "bus").why, "");
  publish_timed(1800, 1, true); /* kept by the broker, so it comes whichever is first */
  CHECK(ear_hears(&ear, 0, "v", 0.5, FEED_GOOD, 5));
  CHECK_INT(ear_look(&ear, "bus").reconnects, 0);
  ear_close(&ear);
  peer_stop(broker, SIGTERM);
}

static void a_broker_that_was_killed_is_subscribed_to_again(void)
{
  pid_t broker;
  int since;

  begin();
  broker = start_broker(NULL);
  REQUIRE(ear_open(&ear, feeds_text, port, folder));
  CHECK(ear_connected(&ear, "bus", true, 5));
  peer_stop(broker, SIGKILL);
  CHECK(ear_connected(&ear, "bus", false, 5));
  CHECK(ear_look(&ear, "bus").why[0] != '\0');
  broker = start_broker(NULL);
  CHECK(ear_connected(&ear, "bus", true, 5));
  CHECK_INT(ear_look(&ear, "bus").reconnects, 1);
  since = ear_count(&ear);
  publish_timed(3600, 0, true);
  CHECK(ear_hears(&ear, since, "v", 1, FEED_GOOD, 5));
  ear_close(&ear);
  peer_stop(broker, SIGTERM);
}

static void what_the_broker_kept_is_not_of_now(void)
{
  pid_t broker;

  begin();
  broker = start_broker(NULL);
  publish("lab/raw", "1458", true);
  publish_timed(1800, 7200, true);
  REQUIRE(ear_open(&ear, feeds_text, port, folder));
  CHECK(ear_hears(&ear, 0, "raw", NAN, FEED_UNTIMED, 5));
  CHECK(ear_hears(&ear, 0, "v", 0.5, FEED_OLD, 5));
  publish("lab/raw", "720", false); /* and one that is of now */
  CHECK(ear_hears(&ear, 0, "raw", 0.2, FEED_GOOD, 5));
  ear_close(&ear);
  peer_stop(broker, SIGTERM);
}

static void a_last_will_makes_every_value_of_its_gateway_missing(void)
{
  char number[12];
  const char *argv[] = {
      "mosquitto_sub", "-h",       "127.0.0.1",      "-p",      number, "-t", "none",
      "--will-topic",  "lab/gate", "--will-payload", "offline", NULL};
  pid_t broker, gateway;

  begin();
  broker = start_broker(NULL);
  snprintf(number, sizeof number, "%d", port);
  gateway = peer_start(argv);
  REQUIRE(ear_open(&ear, feeds_text, port, folder));
  CHECK(ear_connected(&ear, "bus", true, 5));
  publish("lab/gate", "online", false);
  publish("lab/raw", "720", false);
  CHECK(ear_hears(&ear, 0, "raw", 0.2, FEED_GOOD, 5));
  peer_stop(gateway, SIGKILL);
  CHECK(ear_hears(&ear, 0, "raw", NAN, FEED_MISSING, 5));
  CHECK(ear_hears(&ear, 0, "v", NAN, FEED_MISSING, 1));
  CHECK(ear_hears(&ear, 0, "beam", NAN, FEED_MISSING, 1));
  CHECK(ear_told(&ear, "its gateway says that it is not there", 1));
  ear_close(&ear);
  peer_stop(broker, SIGTERM);
}

static void a_hostile_message_is_counted_and_the_rest_goes_on(void)
{
  pid_t broker;

  begin();
  broker = start_broker(NULL);
  REQUIRE(ear_open(&ear, feeds_text, port, folder));
  CHECK(ear_connected(&ear, "bus", true, 5));
  publish("lab/a1", "{\"v\":[[[[[[[[[[1]]]]]]]]]]}", false);
  CHECK(ear_hears(&ear, 0, "v", NAN, FEED_UNREADABLE, 5));
  CHECK(ear_told(&ear, "bus: topic lab/a1: JSON is nested deeper", 2));
  publish("lab/raw", "720", false);
  CHECK(ear_hears(&ear, 0, "raw", 0.2, FEED_GOOD, 5));
  CHECK_INT(ear_look(&ear, "bus").refused, 1);
  CHECK(ear_look(&ear, "bus").connected);
  ear_close(&ear);
  peer_stop(broker, SIGTERM);
}

static void secrets(const char *name, const char *text, unsigned mode)
{
  char file[256];

  snprintf(file, sizeof file, "%s/%s", folder, name);
  peer_write(file, text, mode);
}

static void the_password_is_in_a_file_of_its_owner_alone(void)
{
  static const char text[] =
      "inward: 1 feeds\nsources:\n"
      "  bus: {mqtt: {host: 127.0.0.1, port: %d, user: \"env:INWARD_TEST_USER\","
      " secret: \"file:word\"}}\n" POINTS;
  char more[400], passwords[256];
  const char *argv[] = {"mosquitto_passwd", "-b", "-c", passwords, "reader", "blue fox", NULL};
  pid_t broker;

  begin();
  snprintf(passwords, sizeof passwords, "%s/passwords", folder);
  snprintf(more, sizeof more, "allow_anonymous false\npassword_file %s\n", passwords);
  CHECK(peer_run(argv));
  broker = start_broker(more);
  setenv("INWARD_TEST_USER", "reader", 1);
  secrets("word", "wrong\n", 0600);
  REQUIRE(ear_open(&ear, text, port, folder));
  CHECK(ear_told(&ear, "not connected", 5));
  CHECK(strstr(ear.said, "uthori") != NULL); /* the broker says: not authorised */
  CHECK(strstr(ear.said, "wrong") == NULL);  /* what the word is is said nowhere */
  secrets("word", "blue fox\n", 0600);       /* mended while it runs */
  CHECK(ear_connected(&ear, "bus", true, 5));
  ear_close(&ear);
  peer_stop(broker, SIGTERM);
}

static void of_a_flood_the_newest_of_each_point_is_kept(void)
{
  static const char text[] = "inward: 1 feeds\nsources:\n"
                             "  bus: {at most: 50, mqtt: {host: 127.0.0.1, port: %d}}\n" POINTS;
  char command[300];
  const char *argv[] = {"sh", "-c", command, NULL};
  pid_t broker;

  begin();
  broker = start_broker(NULL);
  REQUIRE(ear_open(&ear, text, port, folder));
  CHECK(ear_connected(&ear, "bus", true, 5));
  snprintf(command, sizeof command,
           "{ seq 1 3000; echo 7200; } | mosquitto_pub -h 127.0.0.1 -p %d -t lab/raw -l", port);
  CHECK(peer_run(argv));
  publish("lab/beam", "1", false); /* one that says little is heard through it */
  CHECK(ear_hears(&ear, 0, "beam", 1, FEED_GOOD, 5));
  CHECK(ear_hears(&ear, 0, "raw", 2, FEED_GOOD, 5));
  CHECK(ear_told(&ear, "more than 50 values a second", 2));
  CHECK(ear_look(&ear, "bus").dropped > 1000);
  CHECK_INT(ear_look(&ear, "bus").dropped + ear_count(&ear), 3002);
  ear_close(&ear);
  peer_stop(broker, SIGTERM);
}

static void who_accepts_and_says_nothing_is_no_broker(void)
{
  int fd;

  begin();
  port = peer_deaf_port(&fd);
  REQUIRE(ear_open(&ear, feeds_text, port, folder));
  CHECK(ear_told(&ear, "not connected", 8));
  CHECK(!ear_look(&ear, "bus").connected);
  ear_close(&ear); /* in two seconds, though it would wait for long */
  close(fd);
}

static void a_topic_that_may_not_be_read_is_told(void)
{
  char number[12];
  const char *argv[] = {"/usr/bin/python3", script, number, NULL};
  pid_t broker;

  begin();
  snprintf(number, sizeof number, "%d", port);
  broker = peer_start(argv);
  CHECK(peer_answers(port, 10));
  REQUIRE(ear_open(&ear, feeds_text, port, folder));
  CHECK(ear_told(&ear, "does not let us read topic lab/raw", 5));
  for (int i = 0; i < 100 && ear_look(&ear, "bus").refused < 3; i++)
    ear_told(&ear, "never told", 0.02);
  CHECK(ear_look(&ear, "bus").connected);
  CHECK_INT(ear_look(&ear, "bus").refused, 3);
  ear_close(&ear);
  peer_stop(broker, SIGTERM);
}

int main(int argc, char **argv)
{
  script = argv[1];
  check_begin(argc - 1, argv + 1);
  RUN(a_broker_that_is_down_at_the_start_is_found_when_it_comes);
  RUN(a_broker_that_was_killed_is_subscribed_to_again);
  RUN(what_the_broker_kept_is_not_of_now);
  RUN(a_last_will_makes_every_value_of_its_gateway_missing);
  RUN(a_hostile_message_is_counted_and_the_rest_goes_on);
  RUN(the_password_is_in_a_file_of_its_owner_alone);
  RUN(of_a_flood_the_newest_of_each_point_is_kept);
  RUN(who_accepts_and_says_nothing_is_no_broker);
  RUN(a_topic_that_may_not_be_read_is_told);
  return check_end();
}
