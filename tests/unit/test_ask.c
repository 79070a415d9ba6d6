#include "check.h"

#include "ask/api_impl.h"
#include "ask/ask_impl.h"

#include <string.h>

/* What is answered to a question: a small place, asked in the words of a URL. */
static const char suite[] =
    "inward: 1 suite\n"
    "name: Two hoods\n"
    "rooms: {Wet: {volume: 100 m3}}\n"
    "leaks: {L1: {from: Wet, to: outdoors, flow: 200 m3/h at 10 Pa}}\n"
    "doors: {D1: {from: Wet, to: outdoors, closed: {area: 0.01 m2}, open: {area: 2 m2}}}\n"
    "mains: {House: {}}\n"
    "stations:\n"
    "  S1: {kind: fume hood, room: Wet, main: House, opening: {parked: 3 cm, work: 45 cm, most: 80 "
    "cm},\n"
    "       flow: {two-state: {parked: 300 m3/h, work: 1000 m3/h}}}\n"
    "  S2: {kind: fume hood, room: Wet, main: House, opening: {parked: 3 cm, work: 45 cm, most: 80 "
    "cm},\n"
    "       flow: {two-state: {parked: 300 m3/h, work: 1000 m3/h}}}\n"
    "scenes: {busy: {openings: {S1: work}}}\n";

static struct arena arena;
static struct facility *facility;
static struct ask_site site;

static void load(void)
{
  struct complaints complaints;
  const struct facility_text text = {"suite.yaml", suite, sizeof suite - 1};

  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  facility = facility_read(&text, NULL, 0, &complaints);
  for (int i = 0; i < complaints.count; i++)
    CHECK_STR(complaints.list[i].text, "");
  if (facility)
    ask_site_init(&site, facility, &facility->scenes[0]);
}

static enum err_code scene_of(const char *search, struct scene *scene, struct err *err)
{
  static struct query query;

  if (query_parse(search, strlen(search), &query, err) ||
      ask_keys(ASK_SCENE | ASK_STATION, &query, err))
    return err->code;
  return ask_scene(&site, &query, &arena, scene, err);
}

static void a_scene_is_named_then_changed_in_the_order_written(void)
{
  struct scene scene = {0};
  struct err err = {0};

  REQUIRE(scene_of("sash=S1=20cm&door=D1=open", &scene, &err) == ERR_OK);
  BUG_IF(!scene.stations || !scene.door_open);
  CHECK(scene.stations[0].raised && scene.door_open[0]); /* S1 is at work in the start scene */
  CHECK_NEAR(scene.stations[0].opening_m, 0.20, 1e-12, 0);
  REQUIRE(scene_of("sash=S2=work&scene=&sash=S2=parked", &scene, &err) == ERR_OK);
  CHECK(!scene.stations[0].raised && !scene.stations[1].raised);
  REQUIRE(scene_of("scene=busy&all=parked&sash=S2=work", &scene, &err) == ERR_OK);
  CHECK(!scene.stations[0].raised && scene.stations[1].raised);
  CHECK(facility->scenes[0].stations[0].raised); /* the file's own scene is never touched */
}

static void a_question_that_cannot_be_meant_is_refused(void)
{
  static const char *const wrong[] = {
      "scene=none",
      "scene=busy&scene=busy",
      "station=S1&station=S2",
      "sash=S9=work",
      "sash=S1=9km",
      "sash",
      "fan=EF1",
      "door=D1",
      "door=D1=ajar",
      "off=S1",
      "__proto__=1",
  };

  for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
    struct scene scene = {0};
    struct err err = {0};

    CHECK_CASE("?%s", wrong[i]);
    CHECK(scene_of(wrong[i], &scene, &err) != ERR_OK);
    CHECK(err.text[0] != '\0');
    CHECK(scene.stations == NULL);
  }
}

static int ask(const char *path, const char *search, struct buf *out)
{
  struct ask_worker worker = {.site = &site};
  int status = ask_answer(&worker, path, search, strlen(search), out);

  ask_worker_release(&worker);
  return status;
}

static void answers_are_json_and_refusals_too(void)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  CHECK_INT(ask("/api/plan", "", &out), 200);
  CHECK(strstr(out.text, "\"start\": \"busy\"") != NULL);
  CHECK_INT(ask("/api/air", "scene=busy", &out), 200);
  CHECK(strstr(out.text, "\"act\": ") != NULL);
  CHECK_INT(ask("/api/air", "scene=%ff", &out), 400);
  CHECK(strstr(out.text, "{\n  \"error\": ") == out.text);
  CHECK_INT(ask("/api/why", "", &out), 400);
  CHECK_INT(ask("/api/why", "station=S1&sure=maybe", &out), 400);
  CHECK_INT(ask("/nowhere", "", &out), 404);
  buf_release(&out);
}

static void an_answer_without_room_is_a_refusal_not_half_an_answer(void)
{
  struct buf out;

  buf_init(&out, 200);
  CHECK_INT(ask("/api/air", "scene=busy", &out), 500);
  CHECK(strstr(out.text, "\"status\": 500") != NULL);
  buf_release(&out);
}

/* Every `"key":` of an answer; a scene's stations stand under their own ids. */
static void every_key_is_listed(const char *json)
{
  char key[48];

  for (const char *at = json; (at = strstr(at, "\": ")) != NULL; at++) {
    const char *from = at;

    while (from > json && from[-1] != '"')
      from--;
    snprintf(key, sizeof key, "%.*s", (int)(at - from), from);
    CHECK_CASE("key %s: a row of src/ask/api.def describes it", key);
    CHECK(api_has_key(key) || facility_station_find(facility, key) >= 0);
  }
}

static void an_answer_has_no_key_that_the_api_file_does_not_describe(void)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  CHECK_INT(ask("/api/air", "scene=nowhere", &out), 400);
  every_key_is_listed(out.text);
  CHECK_INT(ask("/api/air", "scene=busy&unattended=S1&door=D1=open&was=ample", &out), 200);
  every_key_is_listed(out.text);
  CHECK_INT(ask("/api/plan", "", &out), 200);
  every_key_is_listed(out.text);
  CHECK(!api_has_key("no_such_key"));
  buf_release(&out);
}

static void an_address_takes_only_what_its_row_says(void)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  CHECK_INT(ask("/api/air", "station=S1", &out), 400);
  CHECK_INT(ask("/api/plan", "scene=busy", &out), 400);
  CHECK(strstr(out.text, "takes none") != NULL);
  CHECK_INT(ask("/healthz", "x=1", &out), 400);
  CHECK_INT(ask("/healthz", "", &out), 200);
  buf_release(&out);
}

static void the_api_file_lists_every_address_and_every_change(void)
{
  const struct scene_change_word *change;
  const struct ask_route *route;
  char want[80];
  struct buf out;

  buf_init(&out, 1 << 20);
  CHECK_INT(ask("/api/openapi.json", "", &out), 200);
  for (int i = 0; (route = ask_route_at(i)) != NULL; i++) {
    snprintf(want, sizeof want, "\"%s\": {", route->path);
    CHECK_CASE("%s", route->path);
    CHECK(strstr(out.text, want) != NULL);
  }
  for (int i = 0; api_live_at(i) != NULL; i++) {
    snprintf(want, sizeof want, "\"%s\": {", api_live_at(i)->path);
    CHECK_CASE("%s", api_live_at(i)->path);
    CHECK(strstr(out.text, want) != NULL);
  }
  for (int i = 0; (change = scene_change_word(i)) != NULL; i++) {
    snprintf(want, sizeof want, "\"name\": \"%s\"", change->verb);
    CHECK_CASE("%s", change->verb);
    CHECK(scene_is_change(change->verb) && strstr(out.text, want) != NULL);
  }
  buf_release(&out);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  load();
  if (!facility)
    return 1;
  RUN(a_scene_is_named_then_changed_in_the_order_written);
  RUN(a_question_that_cannot_be_meant_is_refused);
  RUN(answers_are_json_and_refusals_too);
  RUN(an_answer_without_room_is_a_refusal_not_half_an_answer);
  RUN(an_answer_has_no_key_that_the_api_file_does_not_describe);
  RUN(an_address_takes_only_what_its_row_says);
  RUN(the_api_file_lists_every_address_and_every_change);
  ask_site_release(&site);
  facility_free(facility);
  arena_release(&arena);
  return check_end();
}
