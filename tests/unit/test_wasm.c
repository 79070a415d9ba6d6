/* The functions of the module inside a page, called natively: the same answers as the board's. */
#include "check.h"

#include "ask/ask.h"
#include "wasm/wasm.h"

#include <stdio.h>
#include <string.h>

static struct arena arena;
static struct complaints complaints;
static struct buf merged;

/* meson runs this in the root of the source. */
static struct facility *open_suite(const char *path)
{
  static char bytes[64 << 10];
  struct facility_text text = {path, bytes, 0};
  FILE *file = fopen(path, "rb");

  if (!file)
    return NULL;
  text.size = fread(bytes, 1, sizeof bytes, file);
  fclose(file);
  complaints_init(&complaints, &arena);
  buf_clear(&merged);
  return facility_print_merged(&text, NULL, 0, &complaints, &merged)
             ? facility_read(&text, NULL, 0, &complaints)
             : NULL;
}

static int load(const char *suite, size_t size, const char *scene)
{
  char *room = wasm_room(size + strlen(scene));

  BUG_IF(!room);
  memcpy(room, suite, size);
  memcpy(room + size, scene, strlen(scene));
  return wasm_load(size, strlen(scene));
}

static int ask(const char *path, const char *search)
{
  size_t size = strlen(path);
  char *room = wasm_room(size + strlen(search));

  BUG_IF(!room);
  memcpy(room, path, size);
  memcpy(room + size, search, strlen(search));
  return wasm_ask(size, strlen(search));
}

static const char *const suites[] = {
    "examples/quillmere/suite.yaml",
    "examples/paper-only/suite.yaml",
    "tests/published/textbook_suite/suite.yaml",
};
enum { SUITES = sizeof suites / sizeof *suites };

static void same_answer(struct ask_worker *worker, const char *path, const char *search,
                        struct buf *want)
{
  CHECK_CASE("%s?%s", path, search);
  int status = ask_answer(worker, path, search, strlen(search), want);

  CHECK_INT(ask(path, search), status);
  CHECK(wasm_answer_bytes() == want->used);
  CHECK(strcmp(wasm_answer(), want->text) == 0);
}

static void the_merged_suite_answers_every_scene_as_the_written_one_does(void)
{
  static const char *const changes[] = {"", "&all=work", "&all=parked", "&sash=nobody=work"};
  struct buf want;
  char search[120];

  buf_init(&want, ASK_ANSWER_MAX_BYTES);
  for (int s = 0; s < SUITES; s++) {
    struct facility *facility = open_suite(suites[s]);

    CHECK_CASE("%s", suites[s]);
    REQUIRE(facility != NULL);
    struct scene parked = scene_parked(facility, &arena);
    struct ask_site site;
    struct ask_worker worker = {.site = &site};

    ask_site_init(&site, facility, &parked);
    REQUIRE(CHECK_INT(load(merged.text, merged.used, ""), 200));
    same_answer(&worker, "/api/plan", "", &want);
    same_answer(&worker, "/healthz", "", &want);
    same_answer(&worker, "/nowhere", "", &want);
    for (int i = -1; i < facility->scene_count; i++)
      for (size_t k = 0; k < sizeof changes / sizeof *changes; k++) {
        snprintf(search, sizeof search, "scene=%s%s", i < 0 ? "" : facility->scenes[i].name,
                 changes[k]);
        same_answer(&worker, "/api/air", search, &want);
      }
    ask_worker_release(&worker);
    ask_site_release(&site);
    facility_free(facility);
  }
  buf_release(&want);
}

static void it_starts_from_the_scene_it_is_told(void)
{
  struct facility *facility = open_suite(suites[0]);

  REQUIRE(facility != NULL);
  facility_free(facility);
  REQUIRE(CHECK_INT(load(merged.text, merged.used, "busy"), 200));
  CHECK_INT(ask("/api/plan", ""), 200);
  CHECK(strstr(wasm_answer(), "\"start\": \"busy\"") != NULL);
}

static void what_cannot_be_loaded_answers_nothing(void)
{
  struct facility *facility = open_suite(suites[0]);

  REQUIRE(facility != NULL);
  facility_free(facility);
  CHECK_INT(load(merged.text, merged.used, "no such scene"), 400);
  CHECK_INT(ask("/api/air", ""), 500);
  CHECK_INT(load(merged.text, merged.used, ""), 200);
  CHECK_INT(ask("/api/air", ""), 200);
  CHECK_INT(load(merged.text, merged.used / 2, ""), 500); /* the one before is gone */
  CHECK(strstr(wasm_answer(), "\"error\": ") != NULL);
  CHECK_INT(ask("/api/air", ""), 500);
  CHECK(wasm_room(WASM_ROOM_MOST + 1) == NULL);
  CHECK_INT(wasm_load(10, 0), 400);
}

static void a_question_longer_than_announced_is_refused(void)
{
  struct facility *facility = open_suite(suites[1]);

  REQUIRE(facility != NULL);
  facility_free(facility);
  REQUIRE(CHECK_INT(load(merged.text, merged.used, ""), 200));
  REQUIRE(wasm_room(20) != NULL);
  CHECK_INT(wasm_ask(8, 13), 400);
  CHECK_INT(wasm_ask((size_t)-1, 2), 400);
  CHECK_INT(wasm_ask(8, (size_t)-1), 400);
  REQUIRE(wasm_room(200) != NULL);
  CHECK_INT(wasm_ask(100, 100), 400); /* no address is that long */
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, (size_t)64 << 20);
  buf_init(&merged, 1 << 20);
  RUN(the_merged_suite_answers_every_scene_as_the_written_one_does);
  RUN(it_starts_from_the_scene_it_is_told);
  RUN(what_cannot_be_loaded_answers_nothing);
  RUN(a_question_longer_than_announced_is_refused);
  buf_release(&merged);
  arena_release(&arena);
  return check_end();
}
