/* What was told at tanks and waste containers: what reads as an act writes and reads back the same; any row of
 * such entries folds to an answer; and what a person says becomes an entry that reads, or is refused. */
#include "wet/wet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

enum { LINES_MOST = 30, ROOM = 1 << 20 };

static const char suite_text[] =
    "inward: 1 suite\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations: {A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}}\n";
static const char chemicals_text[] =
    "inward: 1 chemicals\n"
    "tanks:\n"
    "  T1: {station: A3, bath: al-etch, volume: 18 L, least: 15 L, temperature: 75 degC ± 5 K,\n"
    "      read every: 2 h, life: 4 h, wafers at most: 100, drain: d, source: s}\n"
    "streams:\n"
    "  metal: {station: A3, takes: [al-etch], never: [solvents], container: 5 L, material: hdpe,\n"
    "      fill at most: 90 %, days from first: 90 d, days from full: 3 d, source: s}\n";

static void must(bool so)
{
  if (!so)
    abort();
}

static struct arena kept; /* of what is the same for every input */

static const struct wet_place *place(void)
{
  static struct wet_place made;
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"chemicals.yaml", chemicals_text, sizeof chemicals_text - 1};
  struct complaints complaints;

  if (made.facility)
    return &made;
  arena_init(&kept, (size_t)256 << 20);
  complaints_init(&complaints, &kept);
  made.facility = facility_read(&suite, NULL, 0, &complaints);
  must(made.facility != NULL);
  made.own = chemicals_read(made.facility, &file, &complaints);
  must(made.own != NULL);
  made.chem = chem_with(chem_read(&kept), made.own, &kept);
  made.meet = meet_read(made.chem, &kept);
  made.zone = when_utc();
  made.now_ms = 1700000000000;
  return &made;
}

static void check_detail(const char *line, struct arena *arena)
{
  struct wet_told told = {0}, again = {0};
  struct buf first, second;

  if (!wet_detail_read(line, arena, &told))
    return;
  buf_init(&first, ROOM);
  buf_init(&second, ROOM);
  wet_detail(&told, &first);
  must(wet_detail_read(first.text, arena, &again));
  wet_detail(&again, &second);
  must(strcmp(first.text, second.text) == 0);
  buf_release(&first);
  buf_release(&second);
}

static void check_answers(const struct wet_past *past, struct arena *arena)
{
  const struct wet_baths *baths = wet_baths(place(), past, arena);
  const struct wet_waste *waste = wet_waste(place(), past, arena);
  struct buf out;

  buf_init(&out, (size_t)16 << 20);
  wet_baths_json(baths, &out);
  wet_baths_text(baths, UNITS_SYSTEM_US, &out);
  wet_waste_json(waste, &out);
  wet_waste_text(waste, UNITS_SYSTEM_SI, &out);
  must(!out.full && !strstr(out.text, "nan"));
  for (int i = 0; i < waste->count; i++)
    must(waste->containers[i].reasons.count > 0 || waste->containers[i].state == WET_STANDS);
  buf_release(&out);
}

/* "act=made|tank=T1": as a board is asked. */
static void check_tell(char *line, const struct wet_past *past, struct arena *arena)
{
  struct wet_request request = {0};
  struct wet_telling telling;
  struct wet_told told = {0};
  struct err err = {0};

  for (char *at = line; *at;) {
    char *end = at + strcspn(at, "|"), *next = end + (*end != '\0');
    char *equals = at + strcspn(at, "=|");

    if (*equals == '=') {
      *equals = *end = '\0';
      if (wet_take(&request, at, equals + 1, &err) != ERR_OK)
        return;
    }
    at = next;
  }
  if (wet_tell(place(), past, &request, arena, &telling, &err) != ERR_OK)
    must(err.text[0] != '\0');
  else if (!telling.refused && !telling.already)
    must(wet_detail_read(telling.entry.detail, arena, &told) && telling.entry.text[0]);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
  struct record_entry entries[LINES_MOST];
  char *text = malloc(size + 1), *last = NULL;
  struct arena arena;
  int count = 0;

  must(text != NULL);
  if (size > 0)
    memcpy(text, data, size);
  text[size] = '\0';
  arena_init(&arena, (size_t)512 << 20);
  for (char *line = text; *line && count < LINES_MOST;) {
    char *end = line + strcspn(line, "\n"), *next = end + (*end != '\0');

    *end = '\0';
    check_detail(line, &arena);
    entries[count] = (struct record_entry){.number = count + 1,
                                           .t_ms = 1699999000000 + (count % 3) * 1000,
                                           .kind = count % 2 ? RECORD_BATH : RECORD_WASTE,
                                           .who = "me",
                                           .text = "x",
                                           .detail = line};
    count++;
    last = line;
    line = next;
  }
  const struct wet_past *past = wet_past(entries, count, &arena);

  must(past->count + past->unread_count == count);
  check_answers(past, &arena);
  if (last)
    check_tell(last, past, &arena);
  arena_release(&arena);
  free(text);
  return 0;
}
