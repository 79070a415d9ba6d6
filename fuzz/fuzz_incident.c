/* What was told, and what is kept of it: what is read is written, and reads back the same. */
#include "incident/incident.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

enum { PAIRS_MOST = 16, ROOM = 64 << 10 };

static void must(bool so)
{
  if (!so)
    abort();
}

static void check_told(char *text)
{
  static const struct facility_station station = {.part = {.id = "A3", .name = "Acid"}};
  const struct facility f = {.name = "F", .station_count = 1, .stations = &station};
  struct typed_pair pairs[PAIRS_MOST];
  struct incident_told told;
  struct incident again;
  struct buf faults;
  struct arena arena;
  int count = 0;

  for (char *line = text; *line && count < PAIRS_MOST;) {
    char *end = line + strcspn(line, "\n"), *next = end + (*end != '\0');
    char *at = line + strcspn(line, "=\n");

    if (*at == '=') {
      *at = *end = '\0';
      pairs[count++] = (struct typed_pair){line, at + 1};
    }
    line = next;
  }
  const struct incident_asked asked = {
      .facility = &f, .zone = when_utc(), .now_ms = 1700000000000, .pairs = pairs, .count = count};

  arena_init(&arena, 1 << 22);
  buf_init(&faults, ROOM);
  if (incident_take(&asked, &arena, &told, &faults) == ERR_OK) {
    must(faults.used == 0 && told.t_ms <= asked.now_ms && told.text[0]);
    must(incident_read(told.detail, &arena, &again));
    must(again.kind == told.what.kind && again.adds_to == told.what.adds_to &&
         again.at_said == told.what.at_said);
    for (int i = 0; i < incident_form(again.kind)->field_count; i++)
      must((again.values[i] == NULL) == (told.what.values[i] == NULL) &&
           (!again.values[i] || strcmp(again.values[i], told.what.values[i]) == 0));
  } else {
    must(faults.used > 0);
  }
  buf_release(&faults);
  arena_release(&arena);
}

static void check_frozen(const char *text)
{
  struct incident_frozen frozen, again;
  struct incident what;
  struct arena arena;
  struct buf out;

  arena_init(&arena, 1 << 24);
  buf_init(&out, ROOM);
  (void)incident_read(text, &arena, &what);
  if (incident_frozen_read(text, &arena, &frozen)) {
    incident_frozen_json(&frozen, ROOM, &out);
    must(incident_frozen_read(out.text, &arena, &again) && again.number == frozen.number &&
         again.point_count + again.points_left_out >= frozen.point_count);
  }
  buf_release(&out);
  arena_release(&arena);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
  char *text = malloc(size + 1);

  must(text != NULL);
  memcpy(text, data, size);
  text[size] = '\0';
  check_frozen(text);
  check_told(text);
  free(text);
  return 0;
}
