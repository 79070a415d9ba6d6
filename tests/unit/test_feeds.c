#include "facility/feeds.h"

#include "check.h"

#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\n"
    "site: {zone: Europe/Paris}\n"
    "files: {feeds: feeds.yaml}\n"
    "rooms: {Etch: {}, Gown: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "doors: {D1: {from: Etch, to: Gown, closed: {area: 1 cm2}, open: {area: 1 m2}}}\n"
    "fans: {EF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";

#define SOURCES                                                                                    \
  "inward: 1 feeds\n"                                                                              \
  "sources:\n"                                                                                     \
  "  plc: {old after: 20 s, modbus: {host: localhost, words: high first}}\n"                       \
  "  odd: {modbus: {host: localhost}}\n"                                                           \
  "  bus: {mqtt: {host: localhost}}\n"                                                             \
  "  bms: {bacnet: {host: localhost, device: 7}}\n"                                                \
  "  csv: {csv: {separator: semicolon, decimal: comma, time: T, pattern: ISO, zone: UTC}}\n"       \
  "  us: {hand: {}}\n"                                                                             \
  "points:\n"

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
};

static void world_read(struct world *w, const char *feeds_text)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_text, strlen(feeds_text)};

  *w = (struct world){0};
  arena_init(&w->arena, 1 << 20);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (CHECK(w->facility != NULL))
    w->feeds = feeds_read(w->facility, &feeds, &w->complaints);
}

static void world_release(struct world *w)
{
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static double si(const struct feeds_point *p, double said)
{
  return (said - p->zero) * p->factor;
}

static void a_suite_names_its_feeds_and_its_zone(void)
{
  struct world w;

  world_read(&w, SOURCES "  b: {of: A1, what: blocked, from: us}\n");
  CHECK_STR(w.facility->zone, "Europe/Paris");
  CHECK_STR(w.facility->feeds_file, "feeds.yaml");
  world_release(&w);
}

static void a_point_knows_its_part_its_unit_and_its_place(void)
{
  struct world w;

  world_read(
      &w, SOURCES
      "  f: {of: A1, what: flow, from: plc, at: 40001, as: u16, unit: L/s, factor: 0.1}\n"
      "  p: {of: Etch, what: pressure, over: Gown, from: plc, at: input 6, as: f32, unit: Pa}\n"
      "  t: {of: Etch, what: temperature, from: bms, at: analog-input 9, unit: degC}\n"
      "  o: {of: A1, what: opening, from: csv, at: Sash, unit: \"%\", full: 0.75 m}\n"
      "  n: {of: EF, what: running, from: bus, at: a/b, field: v}\n"
      "  u: {of: EF/2, what: running, from: us, old after: 2 h}\n"
      "  a: {what: alarm, from: us}\n");
  CHECK_INT(w.complaints.count, 0);
  if (CHECK(w.feeds != NULL)) {
    const struct feeds_point *p = w.feeds->points;

    CHECK_INT(w.feeds->point_count, 7);
    CHECK_INT(p[0].of, FEEDS_OF_STATION);
    CHECK_INT(p[0].bank, FEEDS_HOLDING);
    CHECK_INT(p[0].address, 0); /* a manual counts from 1 */
    CHECK_NEAR(si(&p[0], 4500), 0.45, 1e-12, 0);
    CHECK_NEAR(p[0].old_after_s, 20, 0, 0);
    CHECK_NEAR(p[0].resolution_si, 1 / 3600.0, 1e-12, 0);
    CHECK_INT(p[1].bank, FEEDS_INPUT);
    CHECK_INT(p[1].address, 6);
    CHECK_INT(p[1].over, facility_node_find(w.facility, "Gown"));
    CHECK_NEAR(si(&p[2], 21.5), 294.65, 1e-12, 0);
    CHECK_INT(p[2].object_type, 0);
    CHECK_INT(p[2].object_instance, 9);
    CHECK_NEAR(si(&p[3], 60), 0.45, 1e-12, 0);
    CHECK(p[4].count && !p[4].yes_no);
    CHECK(p[5].yes_no && p[5].unit == 1);
    CHECK_NEAR(p[5].old_after_s, 7200, 0, 0);
    CHECK_INT(p[6].of, FEEDS_OF_SUITE);
    CHECK_STR(p[6].at, "a");
    CHECK_INT(feeds_point_find(w.feeds, "u"), 5);
    CHECK_INT(feeds_source_find(w.feeds, "bms"), 3);
  }
  world_release(&w);
}

/* What a mapping must not leave to be guessed, and what cannot be. */
static void what_is_not_said_is_asked_for(void)
{
  static const struct {
    const char *point, *said;
  } cases[] = {
      {"{of: A1, what: flow, from: csv, at: Q}", "in which unit"},
      {"{of: A1, what: flow, from: csv, at: Q, unit: Pa}", "is no unit of a volume flow"},
      {"{of: A1, what: opening, from: csv, at: S, unit: \"%\"}", "100 % of what"},
      {"{of: Etch, what: pressure, from: csv, at: P, unit: Pa}", "over what"},
      {"{of: Etch, what: pressure, over: Etch, from: csv, at: P, unit: Pa}", "over itself"},
      {"{of: A1, what: flow, over: Gown, from: csv, at: P, unit: m3/h}", "only the pressure"},
      {"{of: D1, what: flow, from: csv, at: P, unit: m3/h}", "nothing is called 'flow' of a door"},
      {"{what: flow, from: csv, at: P, unit: m3/h}", "name it with 'of'"},
      {"{of: A1, what: alarm, from: csv}", "which column"},
      {"{of: A1, what: alarm, from: bus}", "which topic"},
      {"{of: A1, what: alarm, from: bus, at: \"a/#\"}", "one topic"},
      {"{of: A1, what: alarm, from: bms, at: valve 3}", "which object"},
      {"{of: A1, what: alarm, from: plc, at: 70001}", "which register"},
      {"{of: A1, what: alarm, from: plc, at: 40001}", "how does the register hold it"},
      {"{of: A1, what: alarm, from: plc, at: 10001, as: u16}", "is a bit"},
      {"{of: A1, what: flow, from: odd, at: 40001, as: f32, unit: m3/h}", "which one comes first"},
      {"{of: A1, what: alarm, from: us, yes: [ja]}", "give the words for both"},
      {"{of: A1, what: flow, from: us, unit: m3/h, yes: [ja], no: [nein]}", "no question"},
      {"{of: EF/3, what: running, from: us}", "fan EF has 2 units"},
      {"{of: A9, what: flow, from: us, unit: m3/h}", "A9"},
      {"{of: A1, what: flow, from: nobody, unit: m3/h}", "nobody"},
      {"{of: A1, what: flow, from: us, unit: m3/h, factor: 0}", "leaves nothing"},
      {"{of: A1, what: flow, from: us, unit: m3/h, resolution: 1 Pa}", "volume flow"},
  };
  char text[2000];

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct world w;

    CHECK_CASE("%s", cases[i].point);
    snprintf(text, sizeof text, SOURCES "  x: %s\n", cases[i].point);
    world_read(&w, text);
    CHECK(w.feeds == NULL);
    if (CHECK(w.complaints.count >= 1)) {
      CHECK(strstr(w.complaints.list[0].text, cases[i].said) != NULL);
      CHECK_INT(w.complaints.list[0].place.line, 10);
    }
    world_release(&w);
  }
}

static void a_source_says_how_much_is_kept_and_when_its_gateway_is_gone(void)
{
  struct world w;

  world_read(&w, "inward: 1 feeds\n"
                 "sources:\n"
                 "  g: {at most: 20, mqtt: {host: h, status: lab/gate, gone: [offline, lost]}}\n"
                 "  t: {mqtt: {host: h}}\n"
                 "points: {}\n");
  CHECK_INT(w.complaints.count, 0);
  if (CHECK(w.feeds != NULL)) {
    const struct feeds_source *s = w.feeds->sources;

    CHECK_INT(s[0].most_per_s, 20);
    CHECK_STR(s[0].status, "lab/gate");
    CHECK_INT(s[0].gone_count, 2);
    CHECK_STR(s[0].gone[1], "lost");
    CHECK_INT(s[1].most_per_s, 1000);
    CHECK(s[1].status == NULL && s[1].gone_count == 0);
  }
  world_release(&w);
}

static void how_faults_are_looked_for_is_set_in_the_file(void)
{
  struct world w;

  world_read(&w, SOURCES "  one: {of: A1, what: flow, from: us, unit: m3/h}\n");
  REQUIRE(w.feeds != NULL);
  CHECK_NEAR(w.feeds->faults.false_alarm_s, 300 * 86400.0, 0, 0); /* as the manual says */
  CHECK_NEAR(w.feeds->faults.pressure_Pa, 0.5, 0, 0);
  CHECK_INT(w.feeds->faults.proved_after, 3);
  world_release(&w);
  world_read(&w, SOURCES "  one: {of: A1, what: flow, from: us, unit: m3/h}\n"
                         "faults: {false alarm: 100 d, flow: 3 %, proved after: 5, alike: 2}\n");
  REQUIRE(w.feeds != NULL);
  CHECK_NEAR(w.feeds->faults.false_alarm_s, 100 * 86400.0, 0, 0);
  CHECK_NEAR(w.feeds->faults.flow_ratio, 0.03, 1e-12, 0);
  CHECK_NEAR(w.feeds->faults.alike_ratio, 2, 0, 0);
  CHECK_NEAR(w.feeds->faults.velocity_ratio, 0.05, 1e-12, 0);
  CHECK_INT(w.feeds->faults.proved_after, 5);
  world_release(&w);
  world_read(&w,
             SOURCES "  one: {of: A1, what: flow, from: us, unit: m3/h}\n"
                     "faults: {ranking: {readings: 20, drift: 10 %}, largest: {worn fan: 4}}\n");
  REQUIRE(w.feeds != NULL);
  CHECK_INT(w.feeds->faults.ranking.readings_most, 20);
  CHECK_NEAR(w.feeds->faults.ranking.drift_ratio, 0.1, 1e-12, 0);
  CHECK_NEAR(w.feeds->faults.ranking.drift_Pa, 3, 0, 0);
  world_release(&w);
  world_read(&w, SOURCES "  one: {of: A1, what: flow, from: us, unit: m3/h}\n"
                         "faults: {smallest: {worn fan: 2}}\n"); /* larger than it may be */
  CHECK(w.feeds == NULL);
  world_release(&w);
  world_read(&w, SOURCES "  one: {of: A1, what: flow, from: us, unit: m3/h}\n"
                         "faults: {flow: 0 %}\n"); /* nothing scatters by nothing */
  CHECK(w.feeds == NULL);
  world_release(&w);
}

static void a_file_that_is_not_right_is_refused_at_its_line(void)
{
  static const struct {
    const char *text, *said;
  } cases[] = {
      {"inward: 1 suite\n", "'inward: 1 feeds' is needed here"},
      {"inward: 1 feeds\nsources: {A1: {hand: {}}}\npoints: {}\n", "is that of a station"},
      {"inward: 1 feeds\nsources: {s: {}}\npoints: {}\n", "way"},
      {"inward: 1 feeds\nsources: {s: {mqtt: {host: h, secret: hunter2}}}\npoints: {}\n",
       "no secret may stand in this file"},
      {"inward: 1 feeds\nsources: {s: {calendar: {folder: ../x, zone: UTC}}}\npoints: {}\n",
       "leads out of this file's folder"},
      {"inward: 1 feeds\nsources: {s: {calendar: {folder: x, zone: \"../etc\"}}}\npoints: {}\n",
       "is no zone"},
      {"inward: 1 feeds\nsources: {s: {csv: {shape: long, separator: tab, decimal: point, time: T, "
       "pattern: ISO, zone: UTC}}}\npoints: {}\n",
       "a long table needs"},
      {"inward: 1 feeds\nsources: {s: {mqtt: {host: h, status: \"a/#\", gone: [off]}}}\npoints: {}\n",
       "'status' is one topic"},
      {"inward: 1 feeds\nsources: {s: {mqtt: {host: h, status: a}}}\npoints: {}\n",
       "belong together"},
      {"inward: 1 feeds\nsources: {s: {at most: 0, mqtt: {host: h}}}\npoints: {}\n", "1"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct world w;

    CHECK_CASE("%s", cases[i].said);
    world_read(&w, cases[i].text);
    CHECK(w.feeds == NULL);
    if (CHECK(w.complaints.count >= 1))
      CHECK(strstr(w.complaints.list[0].text, cases[i].said) != NULL);
    world_release(&w);
  }
}

static void a_key_written_twice_is_a_fault_of_the_whole_file(void)
{
  struct world w;

  world_read(&w,
             "inward: 1 feeds\nfuture: 1 s\nfuture: 2 s\nsources: {us: {hand: {}}}\npoints: {}\n");
  CHECK_INT(w.complaints.count, 1);
  CHECK(w.feeds == NULL);
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_suite_names_its_feeds_and_its_zone);
  RUN(a_point_knows_its_part_its_unit_and_its_place);
  RUN(what_is_not_said_is_asked_for);
  RUN(a_source_says_how_much_is_kept_and_when_its_gateway_is_gone);
  RUN(how_faults_are_looked_for_is_set_in_the_file);
  RUN(a_file_that_is_not_right_is_refused_at_its_line);
  RUN(a_key_written_twice_is_a_fault_of_the_whole_file);
  return check_end();
}
