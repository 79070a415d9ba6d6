#include "wasm/wasm.h"

#include "ask/ask.h"

#include <stdlib.h>
#include <string.h>

static struct {
  char *room;
  size_t room_bytes;
  struct arena arena; /* of the loaded suite: its start scene, and what was said about it */
  struct facility *facility;
  struct scene start;
  struct ask_site site;
  struct ask_worker worker;
  struct buf answer;
} page;

char *wasm_room(size_t bytes)
{
  free(page.room);
  page.room_bytes = 0;
  page.room = bytes <= WASM_ROOM_MOST ? malloc(bytes + 1) : NULL;
  if (page.room)
    page.room_bytes = bytes;
  return page.room;
}

static int refuse(int status, const char *why)
{
  if (!page.answer.text)
    buf_init(&page.answer, ASK_ANSWER_MAX_BYTES);
  return ask_refuse(&page.answer, status, why);
}

static void unload(void)
{
  if (page.facility) {
    ask_worker_release(&page.worker);
    ask_site_release(&page.site);
    facility_free(page.facility);
  }
  page.facility = NULL;
  arena_release(&page.arena);
}

static int refuse_suite(const struct complaints *complaints)
{
  struct buf why;

  buf_init(&why, 4096);
  complaints_print(complaints, "suite", NULL, &why);
  int status = refuse(500, why.text);

  buf_release(&why);
  unload();
  return status;
}

static int start_from(const char *scene)
{
  struct err err = {0};
  const struct scene *named = NULL;

  if (*scene && scene_named(page.facility, scene, &named, &err) != ERR_OK)
    return refuse(400, err.text);
  page.start = named ? *named : scene_parked(page.facility, &page.arena);
  return 200;
}

int wasm_load(size_t suite_bytes, size_t scene_bytes)
{
  struct complaints complaints;

  unload();
  if (!page.room || scene_bytes > 64 || suite_bytes > page.room_bytes - scene_bytes)
    return refuse(400, "what was handed in is not what was announced");
  arena_init(&page.arena, (size_t)16 << 20);
  complaints_init(&complaints, &page.arena);

  const struct facility_text text = {"suite", page.room, suite_bytes};
  struct facility *facility = facility_read_merged(&text, &complaints);

  if (!facility)
    return refuse_suite(&complaints);
  page.room[suite_bytes + scene_bytes] = '\0';
  page.facility = facility;
  int status = start_from(page.room + suite_bytes);

  if (status != 200) {
    page.facility = NULL;
    facility_free(facility);
    return status;
  }
  ask_site_init(&page.site, facility, &page.start);
  page.worker = (struct ask_worker){.site = &page.site};
  return 200;
}

int wasm_ask(size_t path_bytes, size_t search_bytes)
{
  char path[64];

  if (!page.facility)
    return refuse(500, "no suite is loaded");
  if (!page.room || search_bytes > page.room_bytes || path_bytes > page.room_bytes - search_bytes ||
      path_bytes >= sizeof path)
    return refuse(400, "what was handed in is not what was announced");
  if (!page.answer.text)
    buf_init(&page.answer, ASK_ANSWER_MAX_BYTES);
  memcpy(path, page.room, path_bytes);
  path[path_bytes] = '\0';
  return ask_answer(&page.worker, path, page.room + path_bytes, search_bytes, &page.answer);
}

const char *wasm_answer(void)
{
  return page.answer.text ? page.answer.text : "";
}

size_t wasm_answer_bytes(void)
{
  return page.answer.used;
}
