#include "past_day.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HOOD(id)                                                                                   \
  "  " id ": {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0.02 m, work: 0.45 m, "   \
  "most: 0.75 m},\n"                                                                               \
  "       flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"

static const char suite_head[] = "inward: 1 suite\n"
                                 "name: Ashlode\n"
                                 "rooms: {Etch: {}}\n"
                                 "mains: {Acid: {capacity: {value: ",
                  suite_tail[] =
                      ", near limit: {enter: 90 %, leave: 90 %},\n"
                      "                          short: {enter: 100 %, leave: 100 %}}}}\n"
                      "stations:\n" HOOD("A1") HOOD("A2") HOOD("A3") HOOD("A4");

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources:\n"
    "  us: {name: people, old after: 60 min, hand: {}}\n"
    "  meter: {old after: 60 min, frozen after: 90 min, hand: {}}\n"
    "points:\n"
    "  a1: {of: A1, what: opening, from: us, unit: m, resolution: 1 cm}\n"
    "  p1: {of: A1, what: presence, from: us}\n"
    "  n1: {of: A1, what: alarm, from: us}\n"
    "  a2: {of: A2, what: opening, from: us, unit: m, resolution: 1 cm}\n"
    "  p2: {of: A2, what: presence, from: us}\n"
    "  b2: {of: A2, what: blocked, from: us}\n"
    "  a3: {of: A3, what: opening, from: us, unit: m, resolution: 1 cm}\n"
    "  p3: {of: A3, what: presence, from: us}\n"
    "  v3: {of: A3, what: face velocity, from: meter, unit: m/s, resolution: 0.01 m/s}\n"
    "  f4: {of: A4, what: flow, from: us, unit: m3/h, resolution: 10 m3/h}\n";

static bool read_suite(struct past_day *day, const char *capacity, struct facility **facility_out,
                       struct feeds **feeds_out)
{
  struct facility_text suite = {"suite.yaml", NULL, 0};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};
  struct complaints complaints;

  suite.bytes = arena_printf(&day->arena, "%s%s%s", suite_head, capacity, suite_tail);
  BUG_IF(!suite.bytes);
  suite.size = strlen(suite.bytes);
  complaints_init(&complaints, &day->arena);
  *facility_out = facility_read(&suite, NULL, 0, &complaints);
  *feeds_out = *facility_out ? feeds_read(*facility_out, &feeds, &complaints) : NULL;
  if (complaints.count > 0)
    CHECK_STR(complaints.list[0].text, "");
  return CHECK(*feeds_out != NULL);
}

bool past_day_other(struct past_day *day, const char *capacity, struct facility **facility_out,
                    struct feeds **feeds_out)
{
  return read_suite(day, capacity, facility_out, feeds_out) &&
         CHECK_INT(record_bind(day->place.record, *facility_out, *feeds_out, 0, &day->err), ERR_OK);
}

static bool open_record(struct past_day *day)
{
  if (record_open(day->path, RECORD_WRITE, &day->place.record, &day->err) != ERR_OK ||
      record_bind(day->place.record, day->facility, day->feeds, 0, &day->err) != ERR_OK)
    return CHECK_STR(day->err.text, "");
  return true;
}

bool past_day_new(struct past_day *day)
{
  *day = (struct past_day){.folder = "/tmp/inward-past-XXXXXX"};
  arena_init(&day->arena, 64 << 20);
  if (!read_suite(day, "3000 m3/h", &day->facility, &day->feeds) ||
      !CHECK(mkdtemp(day->folder) != NULL))
    return false;
  snprintf(day->path, sizeof day->path, "%s/record", day->folder);
  day->place =
      (struct past_place){.facility = day->facility, .feeds = day->feeds, .zone = when_utc()};
  return open_record(day);
}

void past_day_release(struct past_day *day)
{
  char command[128];

  record_close(day->place.record);
  feeds_free(day->feeds);
  facility_free(day->facility);
  arena_release(&day->arena);
  snprintf(command, sizeof command, "rm -rf '%s'", day->folder);
  if (strncmp(day->folder, "/tmp/inward-past-", 17) == 0)
    CHECK_INT(system(command), 0);
}

int64_t past_day_ms(double minute)
{
  return PAST_DAY_T0_MS + llround(minute * PAST_DAY_MIN);
}

struct past_span past_day_span(double from_min, double to_min)
{
  return (struct past_span){past_day_ms(from_min), past_day_ms(to_min), INT64_MAX};
}

static void add(struct past_day *day, const struct feed_observation *o)
{
  struct record_added added;

  if (record_add(day->place.record, o, 1, &added, &day->err) != ERR_OK)
    CHECK_STR(day->err.text, "");
  CHECK_INT(added.kept, 1);
}

void past_day_late(struct past_day *day, const char *point, double minute, double came_min,
                   double si)
{
  add(day, &(struct feed_observation){feeds_point_find(day->feeds, point), past_day_ms(minute),
                                      past_day_ms(came_min), si, FEED_GOOD});
}

void past_day_say(struct past_day *day, const char *point, double minute, double si)
{
  past_day_late(day, point, minute, minute, si);
}

void past_day_missing(struct past_day *day, const char *point, double minute)
{
  add(day, &(struct feed_observation){feeds_point_find(day->feeds, point), past_day_ms(minute),
                                      past_day_ms(minute), (double)NAN, FEED_MISSING});
}

void past_day_enter(struct past_day *day, enum record_kind kind, const char *about, double minute,
                    const char *text)
{
  struct record_entry entry = {.t_ms = past_day_ms(minute),
                               .written_ms = past_day_ms(minute),
                               .kind = kind,
                               .about = about,
                               .who = "M. Rao",
                               .text = text,
                               .detail = ""};

  if (record_append(day->place.record, &entry, &day->err) != ERR_OK)
    CHECK_STR(day->err.text, "");
}
