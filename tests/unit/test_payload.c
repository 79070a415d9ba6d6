#include "feed/feed.h"

#include "check.h"
#include "small_feeds.h"

#include <math.h>
#include <stdlib.h>

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "future: 30 s\n"
    "sources:\n"
    "  bus: {old after: 60 s, mqtt: {host: h}}\n"
    "  late: {old after: 60 s, clock ahead: 300 s, mqtt: {host: h}}\n"
    "points:\n"
    "  raw: {of: Acid, what: flow, from: bus, at: lab/raw, unit: m3/h, missing: [n/a]}\n"
    "  beam: {of: A1, what: blocked, from: bus, at: lab/beam}\n"
    "  v: {of: A1, what: flow, from: bus, at: lab/a1, field: v, time field: t, unit: m3/h,\n"
    "      unit field: u, quality field: q}\n"
    "  deep: {of: Etch, what: temperature, from: bus, at: lab/deep, field: air.temp, unit: degC}\n"
    "  open: {of: D1, what: open, from: bus, at: lab/deep, field: door}\n"
    "  door: {of: D1, what: open, from: late, at: badge/d1, field: state, time field: at,\n"
    "      yes: [OPEN], no: [SHUT]}\n";

enum { NOW_S = 1793000000, MOST = 16 };
static const int64_t now_ms = (int64_t)NOW_S * 1000; /* 2026-10-26T07:33:20Z */

static struct small_feeds w;
static struct feed_observation got[MOST];
static int got_count;
static struct err err;

static void take(void *arg, const struct feed_observation *o)
{
  (void)arg;
  if (got_count < MOST)
    got[got_count++] = *o;
}

static enum err_code say_bytes(const char *source, const char *topic, const void *bytes,
                               size_t size, bool retained)
{
  static const struct feed_sink sink = {take, NULL};
  struct feed_message message = {topic, bytes, size, retained, now_ms};

  got_count = 0;
  err = (struct err){0};
  return feed_payload(w.feeds, feeds_source_find(w.feeds, source), &message, &sink, &err);
}

static enum err_code say(const char *topic, const char *text, bool retained)
{
  return say_bytes(strncmp(topic, "badge", 5) == 0 ? "late" : "bus", topic, text, strlen(text),
                   retained);
}

struct row {
  const char *topic, *text;
  double si;
  enum feed_quality quality;
};

static void look(const struct row *rows, size_t count, bool retained)
{
  for (size_t i = 0; i < count; i++) {
    CHECK_CASE("%s %s%s", rows[i].topic, rows[i].text, retained ? " (retained)" : "");

    enum err_code code = say(rows[i].topic, rows[i].text, retained);

    CHECK_INT(got_count, 1);
    CHECK_INT(got[0].quality, rows[i].quality);
    if (isnan(rows[i].si))
      CHECK(isnan(got[0].si));
    else
      CHECK_NEAR(got[0].si, rows[i].si, 1e-12, 0);
    /* What cannot be read is said in words, and nothing else is. */
    CHECK_INT(code, rows[i].quality == FEED_UNREADABLE ? ERR_INPUT : ERR_OK);
    CHECK(code == ERR_OK || err.text[0] != '\0');
    CHECK_INT(got[0].seen_ms, now_ms);
  }
}
#define LOOK(rows, retained) look(rows, sizeof(rows) / sizeof((rows)[0]), retained)

static void a_bare_message_is_the_value(void)
{
  static const struct row rows[] = {
      {"lab/raw", "1458", 1458 / 3600.0, FEED_GOOD},
      {"lab/raw", " 1458.0\n", 1458 / 3600.0, FEED_GOOD},
      {"lab/raw", "500 L/s", 0.5, FEED_GOOD},
      {"lab/raw", "", NAN, FEED_MISSING},
      {"lab/raw", "n/a", NAN, FEED_MISSING},
      {"lab/raw", "null", NAN, FEED_UNREADABLE},
      {"lab/raw", "1458,5", NAN, FEED_UNREADABLE},
      {"lab/raw", "{\"v\": 1458}", NAN, FEED_UNREADABLE}, /* the map says: no field */
      {"lab/raw", "nan", NAN, FEED_UNREADABLE},
      {"lab/beam", "1", 1, FEED_GOOD},
      {"lab/beam", "OFF", 0, FEED_GOOD},
      {"lab/beam", "offline", NAN, FEED_UNREADABLE},
  };

  LOOK(rows, false);
}

static void an_object_says_value_unit_time_and_quality(void)
{
  static const struct row rows[] = {
      {"lab/a1", "{\"v\":1458.0,\"u\":\"m3/h\",\"t\":\"2026-10-26T07:33:19Z\",\"q\":\"good\"}",
       1458 / 3600.0, FEED_GOOD},
      {"lab/a1",
       "{\"v\":\"1458\",\"u\":\"m3/h\",\"t\":\"2026-10-26T08:33:19+01:00\",\"q\":\"GOOD\"}",
       1458 / 3600.0, FEED_GOOD},
      {"lab/a1", "{\"v\":405,\"u\":\"L/s\",\"t\":1793000000,\"q\":\"good\"}", 0.405, FEED_GOOD},
      {"lab/a1", "{\"v\":405,\"u\":\"L/s\",\"t\":1793000000123,\"q\":\"good\"}", 0.405, FEED_GOOD},
      {"lab/a1", "{\"v\":405,\"u\":\"Pa\",\"t\":1793000000,\"q\":\"good\"}", NAN, FEED_UNREADABLE},
      {"lab/a1", "{\"v\":1458,\"t\":1793000000,\"q\":\"sensor fault\"}", NAN, FEED_FAULTY},
      {"lab/a1", "{\"v\":1458,\"t\":1793000000}", NAN,
       FEED_FAULTY}, /* it should have said `good` */
      {"lab/a1", "{\"v\":null,\"t\":1793000000,\"q\":\"good\"}", NAN, FEED_MISSING},
      {"lab/a1", "{\"t\":1793000000,\"q\":\"good\"}", NAN, FEED_MISSING},
      {"lab/a1", "{\"v\":[1],\"t\":1793000000,\"q\":\"good\"}", NAN, FEED_UNREADABLE},
      {"lab/a1", "{\"v\":true,\"t\":1793000000,\"q\":\"good\"}", NAN, FEED_UNREADABLE},
      /* No zone: nobody knows which moment. */
      {"lab/a1", "{\"v\":1,\"t\":\"2026-10-26T07:33:19\",\"q\":\"good\"}", NAN, FEED_UNREADABLE},
      {"lab/a1", "{\"v\":1,\"t\":\"yesterday\",\"q\":\"good\"}", NAN, FEED_UNREADABLE},
      {"lab/a1", "{\"v\":1,\"t\":12345,\"q\":\"good\"}", NAN, FEED_UNREADABLE},
      {"lab/a1", "{\"v\":1,\"q\":\"good\"}", NAN, FEED_UNTIMED},
      {"lab/a1", "{\"v\":1800,\"t\":\"2026-10-26T07:00:00Z\",\"q\":\"good\"}", 0.5, FEED_OLD},
      {"lab/a1", "{\"v\":1800,\"t\":\"2026-10-26T07:35:00Z\",\"q\":\"good\"}", NAN, FEED_FUTURE},
  };

  LOOK(rows, false);
}

/* The broker keeps a message for ever and says nothing of its age. */
static void a_retained_message_is_worth_its_own_time_only(void)
{
  static const struct row rows[] = {
      {"lab/raw", "1458", NAN, FEED_UNTIMED},
      {"lab/raw", "n/a", NAN, FEED_MISSING},
      {"lab/a1", "{\"v\":1800,\"q\":\"good\"}", NAN, FEED_UNTIMED},
      {"lab/a1", "{\"v\":1800,\"t\":\"2026-10-26T07:33:00Z\",\"q\":\"good\"}", 0.5, FEED_GOOD},
      {"lab/a1", "{\"v\":1800,\"t\":\"2026-10-25T07:33:00Z\",\"q\":\"good\"}", 0.5, FEED_OLD},
  };

  LOOK(rows, true);
}

static void every_point_of_a_topic_gets_its_own_field(void)
{
  CHECK_INT(say("lab/deep", "{\"air\":{\"temp\":21.5,\"rh\":40},\"door\":false}", false), ERR_OK);
  CHECK_INT(got_count, 2);
  CHECK_INT(got[0].point, small_feeds_point(&w, "deep"));
  CHECK_NEAR(got[0].si, 294.65, 1e-12, 0);
  CHECK_INT(got[1].point, small_feeds_point(&w, "open"));
  CHECK_NEAR(got[1].si, 0, 0, 0);
  CHECK_INT(say("lab/deep", "{\"air.temp\":21.5,\"air\":3}", false), ERR_OK);
  CHECK_INT(got[0].quality, FEED_MISSING); /* a dot leads into an object */
  CHECK_INT(got[1].quality, FEED_MISSING);
}

static void a_clock_that_is_ahead_is_put_right(void)
{
  CHECK_INT(say("badge/d1", "{\"state\":\"OPEN\",\"at\":\"2026-10-26T07:38:10Z\"}", false), ERR_OK);
  CHECK_INT(got[0].quality, FEED_GOOD);
  CHECK_INT(got[0].t_ms, now_ms - 10000);
  CHECK_NEAR(got[0].si, 1, 0, 0);
  CHECK_INT(say("badge/d1", "{\"state\":\"open\",\"at\":\"2026-10-26T07:40:00Z\"}", false), ERR_OK);
  CHECK_INT(got[0].quality, FEED_FUTURE);
}

static void a_hostile_message_is_refused_for_all_its_points(void)
{
  static const struct {
    const char *text, *said;
    int col;
  } cases[] = {
      {"", "too early", 1},
      {"{\"door\":", "too early", 0},
      {"{\"door\":1,\"door\":0}", "twice", 0},
      {"{\"door\":1} x", "follows", 0},
      {"[1,2]", "no object", 1},
      {"true", "no object", 1},
      {"{\"door\":1e999}", "too large", 0},
      {"{\"door\":\"\xff\"}", "UTF-8", 0},
      {"{\"door\":\"\\u0000\"}", "NUL", 0},
      {"{\"a\":[[[[[[[[1]]]]]]]]}", "deeper than 8", 13},
      {"{door:1}", "out of place", 0},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    CHECK_CASE("%s", cases[i].text);
    CHECK_INT(say("lab/deep", cases[i].text, false), ERR_INPUT);
    CHECK(strstr(err.text, cases[i].said) != NULL);
    CHECK(strstr(err.text, "lab/deep") != NULL);
    CHECK_INT(got_count, 2);
    CHECK_INT(got[0].quality, FEED_UNREADABLE);
    CHECK_INT(got[1].quality, FEED_UNREADABLE);
    CHECK(err.col >= 1 && (size_t)err.col <= strlen(cases[i].text) + 1);
    if (cases[i].col > 0)
      CHECK_INT(err.col, cases[i].col);
  }
}

static void brackets_inside_a_text_are_no_depth(void)
{
  CHECK_INT(say("lab/deep", "{\"note\":\"[[[[[[[[[[\\\"{{{{{{{\",\"door\":1,\"air\":{\"temp\":20}}",
                false),
            ERR_OK);
  CHECK_INT(got[0].quality, FEED_GOOD);
}

static void a_message_of_any_size_and_bytes_costs_little(void)
{
  size_t size = (size_t)4 << 20;
  char *bytes = malloc(size);

  REQUIRE(bytes != NULL);
  memset(bytes, '[', size);
  CHECK_INT(say_bytes("bus", "lab/deep", bytes, size, false), ERR_INPUT);
  CHECK(strstr(err.text, "at most 65536") != NULL);
  CHECK_INT(say_bytes("bus", "lab/raw", bytes, size, false), ERR_INPUT);
  CHECK_INT(got[0].quality, FEED_UNREADABLE);
  CHECK_INT(say_bytes("bus", "lab/deep", bytes, FEED_PAYLOAD_MOST_BYTES, false), ERR_INPUT);
  CHECK(strstr(err.text, "deeper") != NULL);
  memset(bytes, '\0', 100);
  CHECK_INT(say_bytes("bus", "lab/raw", bytes, 100, false), ERR_INPUT);
  CHECK_INT(got[0].quality, FEED_UNREADABLE);
  CHECK_INT(say_bytes("bus", "lab/raw", NULL, 0, false), ERR_OK);
  CHECK_INT(got[0].quality, FEED_MISSING);
  free(bytes);
}

/* What is told to people may be shown on a screen. */
static void an_error_shows_nothing_that_steers_a_screen(void)
{
  CHECK_INT(say("lab/raw", "\x1b[2J\x07 12 \xc3\xa9", false), ERR_INPUT);
  for (const char *c = err.text; *c; c++)
    CHECK(*c >= 0x20 && *c < 0x7f);
}

static void a_topic_that_nobody_reads_is_refused(void)
{
  CHECK_INT(say("lab/other", "1", false), ERR_INPUT);
  CHECK_INT(got_count, 0);
  CHECK_INT(say_bytes("late", "lab/raw", "1", 1, false), ERR_INPUT); /* of another source */
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  if (!CHECK(small_feeds_read(&w, feeds_text)))
    return check_end();
  RUN(a_bare_message_is_the_value);
  RUN(an_object_says_value_unit_time_and_quality);
  RUN(a_retained_message_is_worth_its_own_time_only);
  RUN(every_point_of_a_topic_gets_its_own_field);
  RUN(a_clock_that_is_ahead_is_put_right);
  RUN(a_hostile_message_is_refused_for_all_its_points);
  RUN(brackets_inside_a_text_are_no_depth);
  RUN(a_message_of_any_size_and_bytes_costs_little);
  RUN(an_error_shows_nothing_that_steers_a_screen);
  RUN(a_topic_that_nobody_reads_is_refused);
  small_feeds_release(&w);
  return check_end();
}
