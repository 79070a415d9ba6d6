#include "feed/feed.h"

#include <jansson.h>
#include <libical/ical.h>
#include <math.h>
#include <modbus.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/*
 * usage: bench_feed [ROUNDS]
 *
 * Codecs of live sources, each beside the library it stands on doing its part alone in the same run:
 * a payload against jansson reading the same bytes, a register against libmodbus turning the same two
 * words into a number, a calendar against libical reading the text without counting anything out.
 * Medians of ROUNDS; in brackets the quartiles.  Ends with 1 when an answer is not the expected one.
 */
enum { ROUNDS = 21, ROUNDS_MOST = 1001, MESSAGES = 20000, WORDS = 500000, CALENDARS = 4 };

static const char suite_text[] =
    "inward: 1 suite\nrooms: {Etch: {}}\njunctions: {J: {}}\n"
    "leaks: {L1: {from: Etch, to: outdoors, area: 1 cm2}}\n"
    "fans: {EF: {from: J, to: outdoors, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\nstations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";
static const char feeds_text[] =
    "inward: 1 feeds\nsources:\n  bus: {mqtt: {host: h}}\n"
    "  panel: {modbus: {host: h, words: high first}}\npoints:\n"
    "  v: {of: A1, what: flow, from: bus, at: a, field: v, time field: t, unit: m3/h,\n"
    "      unit field: u, quality field: q}\n"
    "  w: {of: A1, what: face velocity, from: panel, at: 40001, as: f32, unit: m/s}\n";
static const char payload[] =
    "{\"v\":1458.0,\"u\":\"m3/h\",\"t\":\"2026-10-26T07:33:19Z\",\"q\":\"good\"}";

struct work {
  struct feeds *feeds;
  char *calendar;
  size_t calendar_size;
  long count; /* of what a round did */
  double sum;
};

static double now_s(void)
{
  struct timespec t;

  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void take(void *arg, const struct feed_observation *o)
{
  struct work *w = arg;

  w->count += o->quality == FEED_GOOD;
  w->sum += o->si;
}

/* ---- what is measured ---- */

static void our_payload(struct work *w)
{
  struct feed_sink sink = {take, w};
  struct feed_message message = {"a", payload, sizeof payload - 1, false, 1793000000000};

  for (int i = 0; i < MESSAGES; i++)
    w->count -= feed_payload(w->feeds, 0, &message, &sink, NULL) != ERR_OK;
}

static void their_payload(struct work *w)
{
  for (int i = 0; i < MESSAGES; i++) {
    json_t *json = json_loadb(payload, sizeof payload - 1, JSON_REJECT_DUPLICATES, NULL);

    w->sum += json_number_value(json_object_get(json, "v")) / 3600;
    w->count += json != NULL;
    json_decref(json);
  }
}

static void our_words(struct work *w)
{
  uint16_t words[2] = {0x3f00, 0};

  for (int i = 0; i < WORDS; i++) {
    struct feed_observation o;

    words[1] = (uint16_t)(i & 1);
    feed_registers(w->feeds, 1, words, 2, 0, &o);
    take(w, &o);
  }
}

static void their_words(struct work *w)
{
  uint16_t words[2] = {0x3f00, 0};

  for (int i = 0; i < WORDS; i++) {
    words[1] = (uint16_t)(i & 1);
    w->sum += (double)modbus_get_float_abcd(words);
    w->count++;
  }
}

static void take_booking(void *arg, const struct feed_booking *booking)
{
  ((struct work *)arg)->count += booking->end_ms > booking->start_ms;
}

static void our_calendar(struct work *w)
{
  struct feed_booking_sink sink = {take_booking, w};
  struct facility_text text = {"b.ics", w->calendar, w->calendar_size};
  struct feed_window window = {"Europe/Paris", 1793000000000, 1794296000000}; /* 15 days */

  for (int i = 0; i < CALENDARS; i++) {
    struct feed_calendar_report report;
    struct complaints complaints;
    struct arena arena;

    arena_init(&arena, (size_t)256 << 20);
    complaints_init(&complaints, &arena);
    if (!feed_calendar(&text, &window, &sink, &arena, &complaints, &report))
      w->count = -1;
    arena_release(&arena);
  }
}

static void their_calendar(struct work *w)
{
  for (int i = 0; i < CALENDARS; i++) {
    icalcomponent *calendar = icalparser_parse_string(w->calendar);

    w->count += icalcomponent_count_components(calendar, ICAL_VEVENT_COMPONENT);
    icalcomponent_free(calendar);
  }
}

/* 1,000 weekly bookings since a year ago, one exception each: 1.0 MB is a large group's file. */
static void make_calendar(struct work *w)
{
  enum { EVENTS = 1000 };
  struct buf out;

  buf_init(&out, 4 << 20);
  buf_puts(&out, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\n");
  for (int i = 0; i < EVENTS; i++)
    buf_printf(&out,
               "BEGIN:VEVENT\r\nUID:w-%d@x\r\nDTSTART;TZID=Europe/Paris:202511%02dT%02d0000\r\n"
               "DURATION:PT2H\r\nRRULE:FREQ=WEEKLY\r\n"
               "EXDATE;TZID=Europe/Paris:202512%02dT%02d0000\r\nSUMMARY:booking %d\r\n"
               "LOCATION:Etch / A%d\r\nEND:VEVENT\r\n",
               i, 1 + i % 28, 8 + i % 9, 1 + i % 28, 8 + i % 9, i, 1 + i % 7);
  buf_puts(&out, "END:VCALENDAR\r\n");
  w->calendar = out.text;
  w->calendar_size = out.used;
}

/* ---- a table of it ---- */

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

struct measured {
  double median_s, low_s, high_s;
  long count;
};

static struct measured measure(void (*run)(struct work *), struct work *w, int rounds)
{
  static double took_s[ROUNDS_MOST];

  for (int i = -1; i < rounds; i++) { /* the first warms up */
    double began_s = now_s();

    w->count = 0;
    w->sum = 0;
    run(w);
    if (i >= 0)
      took_s[i] = now_s() - began_s;
  }
  qsort(took_s, (size_t)rounds, sizeof *took_s, ascending);
  return (struct measured){took_s[rounds / 2], took_s[rounds / 4], took_s[3 * rounds / 4],
                           w->count};
}

static int row(const char *what, const struct measured *m, long want, double each)
{
  printf("%-44s %10.0f /s  [%.0f .. %.0f]\n", what, each / m->median_s, each / m->high_s,
         each / m->low_s);
  if (m->count == want)
    return 0;
  printf("    wrong: %ld, not %ld\n", m->count, want);
  return 1;
}

int main(int argc, char **argv)
{
  int rounds = argc > 1 ? (int)strtol(argv[1], NULL, 10) : ROUNDS, faults = 0;
  struct facility_text suite = {"s", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"f", feeds_text, sizeof feeds_text - 1};
  struct complaints complaints;
  struct work w = {0};
  struct arena arena;

  if (rounds < 1 || rounds > ROUNDS_MOST)
    return 2;
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&suite, NULL, 0, &complaints);

  w.feeds = facility ? feeds_read(facility, &file, &complaints) : NULL;
  if (!w.feeds)
    return 1;
  make_calendar(&w);

  struct measured ours = measure(our_payload, &w, rounds);
  struct measured theirs = measure(their_payload, &w, rounds);

  faults += row("payload: value, unit, time and quality", &ours, MESSAGES, MESSAGES);
  faults += row("  jansson alone, the same bytes", &theirs, MESSAGES, MESSAGES);
  printf("  share of jansson alone: %.2f\n", theirs.median_s / ours.median_s);
  ours = measure(our_words, &w, rounds);
  theirs = measure(their_words, &w, rounds);
  faults += row("registers: 32-bit values to observations", &ours, WORDS, WORDS);
  faults += row("  libmodbus alone: two words to a float", &theirs, WORDS, WORDS);
  ours = measure(our_calendar, &w, rounds);
  theirs = measure(their_calendar, &w, rounds);
  faults +=
      row("calendar: events, counted out over 15 days", &ours, ours.count, 1000.0 * CALENDARS);
  printf("  bookings of a calendar: %ld\n", ours.count / CALENDARS);
  faults += ours.count / CALENDARS < 2000 || ours.count / CALENDARS > 3000;
  faults += row("  libical alone: reading, nothing counted", &theirs, 1000L * CALENDARS,
                1000.0 * CALENDARS);
  printf("  share of libical alone: %.2f\n", theirs.median_s / ours.median_s);
  free(w.calendar);
  feeds_free(w.feeds);
  facility_free(facility);
  arena_release(&arena);
  return faults > 0;
}
