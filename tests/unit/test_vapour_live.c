/* What reaches duct, room and person by what a board believes of now: at Quillmere. */
#include "vapour/vapour.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static struct arena arena;
static const struct chem *chem;
static struct facility *facility;

static bool open_quillmere(void)
{
  static char text[64 << 10];
  FILE *file = fopen("examples/quillmere/suite.yaml", "rb");
  struct complaints complaints;
  size_t size;

  if (!CHECK(file != NULL))
    return false;
  size = fread(text, 1, sizeof text, file);
  fclose(file);
  complaints_init(&complaints, &arena);
  facility = facility_read(&(struct facility_text){"suite.yaml", text, size}, NULL, 0, &complaints);
  return CHECK(facility != NULL);
}

/* Of 1 L of acetone in a beaker. */
static const struct vapour_answer *ask(const struct vapour_live *live, const char *station)
{
  struct vapour_request request = {.chem = chem, .facility = facility, .live = live};
  struct err err = {0};

  if (vapour_take(&request, "of", "acetone", &err) != ERR_OK ||
      vapour_take(&request, "from", "beaker", &err) != ERR_OK ||
      vapour_take(&request, "diameter", "100mm", &err) != ERR_OK ||
      vapour_take(&request, "volume", "1L", &err) != ERR_OK ||
      vapour_take(&request, "station", station, &err) != ERR_OK)
    return NULL;
  return vapour_answer(&request, &arena, &err);
}

/* What a board believes, with one thing of which it does not know; at Quillmere, all parked. */
static const struct vapour_answer *live_with(const struct vapour_gap *gap, const char *station,
                                             bool alarm, const char *outranks)
{
  static struct vapour_live live;
  static bool alarms[64];

  memset(alarms, 0, sizeof alarms);
  alarms[facility_station_find(facility, "S3")] = alarm;
  live = (struct vapour_live){.scene = scene_parked(facility, &arena),
                              .at = "2026-10-24T12:10:05.000Z",
                              .oldest_s = 240,
                              .outranks = outranks,
                              .alarm = alarms,
                              .gap_count = gap != NULL,
                              .gaps = gap};
  live.scene.name = "live at 14:10:05";
  return ask(&live, station);
}

static bool says(const char *const *list, int count, const char *text)
{
  for (int i = 0; i < count; i++)
    if (strcmp(list[i], text) == 0)
      return true;
  return false;
}

static bool none_is_known(const struct vapour_case *c)
{
  return !c->known && c->why_not && isnan(c->station_m3_s) && isnan(c->rate.high_si) &&
         isnan(c->duct.high_si) && isnan(c->person[0].high_si);
}

/* The same air as the file's own scene of that name, and it says whose it is. */
static void a_live_scene_is_answered_as_the_same_scene_of_a_file_would_be(void)
{
  const struct vapour_answer *live = live_with(NULL, "S3", false, NULL);
  const struct vapour_answer *file = ask(NULL, "S3");
  struct buf text;

  REQUIRE(live && file);
  for (int i = 0; i < VAPOUR_WHEN_COUNT; i++) {
    CHECK(live->cases[i].known);
    CHECK_NEAR(live->cases[i].rate.high_si, file->cases[i].rate.high_si, 1e-12, 0);
  }
  CHECK(live->live != NULL && file->live == NULL);
  CHECK_STR(live->scene, "live at 14:10:05");
  CHECK(strstr(live->headline, "live at 14:10:05") != NULL);
  buf_init(&text, 1 << 20);
  vapour_json(live, &text);
  CHECK(strstr(text.text, "\"oldest_s\": 240") != NULL);
  buf_release(&text);
}

/* An old sash of its own concerns only now; of another on its main, parked too; where the fans stand,
 * what the rooms are fed with. */
static void what_is_old_or_missing_is_not_known_and_never_as_it_was_last(void)
{
  static bool mains[16], supplies[16];
  struct vapour_gap gap = {"S3", "the sash of S3 is 40 min old", mains, supplies};
  int station = facility_station_find(facility, "S3");
  const struct vapour_answer *a;

  mains[facility->stations[station].main] = supplies[0] = true;
  a = live_with(&gap, "S3", false, NULL);
  REQUIRE(a);
  CHECK(none_is_known(&a->cases[VAPOUR_NOW]));
  CHECK(a->cases[VAPOUR_PARKED].known && a->cases[VAPOUR_STOPPED].known);
  CHECK(strstr(a->headline, "the sash of S3 is 40 min old") != NULL);
  CHECK(says(a->unknown, a->unknown_count, "now: the sash of S3 is 40 min old"));
  CHECK(vapour_is_no(a));
  CHECK(!isnan(a->dry_s)); /* by the rates there are */
  CHECK(!a->purge[0].known);

  gap.about = "S5";
  a = live_with(&gap, "S3", false, NULL);
  REQUIRE(a);
  for (int i = 0; i < VAPOUR_WHEN_COUNT; i++)
    CHECK(none_is_known(&a->cases[i]));

  supplies[0] = false;
  a = live_with(&gap, "S3", false, NULL);
  REQUIRE(a);
  CHECK(none_is_known(&a->cases[VAPOUR_PARKED]) && a->cases[VAPOUR_STOPPED].known);
  a = live_with(&gap, "A6", false, NULL); /* of another main */
  REQUIRE(a);
  CHECK(a->cases[VAPOUR_NOW].known);
  mains[facility->stations[station].main] = false;
}

static void an_alarm_comes_before_every_figure(void)
{
  const struct vapour_answer *own = live_with(NULL, "S3", true, NULL);
  const struct vapour_answer *building =
      live_with(NULL, "S3", false, "BUILDING ALARM: follow the building first");

  REQUIRE(own && building);
  CHECK(isnan(own->cases[VAPOUR_NOW].person[0].high_si));
  CHECK(strstr(own->headline, "the own alarm of S3 sounds") != NULL);
  CHECK(strncmp(building->headline, "BUILDING ALARM", 14) == 0);
  CHECK(strncmp(building->cautions[0], "BUILDING ALARM", 14) == 0);
}

static void a_flow_measured_far_from_the_computed_one_leaves_neither(void)
{
  struct vapour_live live = {.scene = scene_parked(facility, &arena), .at = "", .oldest_s = 5};
  static const bool quiet[64];
  int station = facility_station_find(facility, "S3");
  const struct vapour_answer *a;

  live.alarm = quiet;
  live.scene.stations[station].has_measured = true;
  live.scene.stations[station].measured_m3_s = 530.0 / 3600; /* computed: 520 */
  a = ask(&live, "S3");
  REQUIRE(a);
  CHECK(a->cases[VAPOUR_NOW].known);
  live.scene.stations[station].measured_m3_s = 210.0 / 3600;
  a = ask(&live, "S3");
  REQUIRE(a);
  CHECK(none_is_known(&a->cases[VAPOUR_NOW]) && a->cases[VAPOUR_PARKED].known);
  CHECK(strstr(a->headline, "210 m3/h are measured through S3") != NULL);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, (size_t)512 << 20);
  chem = chem_read(&arena);
  if (open_quillmere()) {
    RUN(a_live_scene_is_answered_as_the_same_scene_of_a_file_would_be);
    RUN(what_is_old_or_missing_is_not_known_and_never_as_it_was_last);
    RUN(an_alarm_comes_before_every_figure);
    RUN(a_flow_measured_far_from_the_computed_one_leaves_neither);
    facility_free(facility);
  }
  arena_release(&arena);
  return check_end();
}
