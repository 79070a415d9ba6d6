/* What is said of stations and their use: understood as shares between 0 and 1, or refused with words. */
#include "together/together.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char suite[] =
    "inward: 1 suite\nname: F\nrooms: {R: {}}\nmains: {M: {capacity: {value: 900 m3/h}}}\nstations:\n"
    "  A1: {kind: fume hood, room: R, main: M, flow: {two-state: {parked: 100 m3/h, work: 500 m3/h}}}\n"
    "  B-2: {kind: fume hood, room: R, main: M, flow: {two-state: {parked: 100 m3/h, work: 500 m3/h}}}\n";

static struct facility *read_suite(void)
{
  static struct arena arena; /* as long as the process */
  struct complaints complaints;
  const struct facility_text text = {"f.yaml", suite, sizeof suite - 1};

  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  return facility_read(&text, NULL, 0, &complaints);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static const struct facility *facility;
  struct together_use uses[2] = {0};
  struct arena arena;
  struct err err = {0};
  int stations[AIR_SETS_MAX], count;
  char *text = malloc(size + 1);

  if (!facility)
    facility = read_suite();
  if (!text || !facility)
    abort();
  memcpy(text, data, size);
  text[size] = '\0';
  arena_init(&arena, 1 << 20);
  count = together_stations(facility, text, stations, &err);
  if (count == 0 || count > AIR_SETS_MAX || (count < 0 && !err.text[0]))
    abort();
  for (int i = 0; i < count; i++)
    if (stations[i] < 0 || stations[i] > 1)
      abort();
  err = (struct err){0};
  if (together_take_use(facility, text, uses, &arena, &err) == ERR_OK) {
    for (int i = 0; i < 2; i++)
      for (int hour = 0; hour < TOGETHER_HOURS; hour++)
        if (!(uses[i].up_ratio[hour] >= 0 && uses[i].up_ratio[hour] <= 1))
          abort();
  } else if (!err.text[0] || uses[0].known || uses[1].known) {
    abort();
  }
  arena_release(&arena);
  free(text);
  return 0;
}
