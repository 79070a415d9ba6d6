/* Questions about vapour, a key and a value a line: an answer or a reason, bands that are bands, and never
 * a word that clears anything. */
#include "vapour/vapour.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static const char suite[] =
    "inward: 1 suite\nname: F\nsite: {altitude: 100 m}\n"
    "rooms: {Wet: {floor: 30 m2, height: 2.5 m}, Dry: {}}\n"
    "mains: {M: {capacity: {value: 4000 m3/h}}}\n"
    "supplies: {MU: {most: 5000 m3/h, feeds: {Wet: {follows exhaust: {offset: 300 m3/h}}}}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Wet, main: M, width: 1.2 m, opening: {parked: 0.03 m, work: 0.45 m},"
    " flow: {two-state: {parked: 400 m3/h, work: 900 m3/h}}}\n"
    "  A2: {kind: wet bench, room: Dry, main: M, flow: {constant: 500 m3/h}}\n";

static void must(bool so)
{
  if (!so)
    abort();
}

static void check_band(struct vapour_band band)
{
  must(isnan(band.low_si) == isnan(band.high_si));
  must(isnan(band.low_si) || (band.low_si >= 0 && band.low_si <= band.high_si * (1 + 1e-9)));
}

static void check_case(const struct vapour_answer *a, const struct vapour_case *c)
{
  check_band(c->rate);
  check_band(c->duct);
  check_band(c->main);
  for (int i = 0; i < a->part_count; i++) {
    check_band(c->part_rate[i]);
    check_band(c->person[i]);
    must(!(c->person[i].high_si > 1));
    for (int k = 0; k <= VAPOUR_TIMES; k++) {
      check_band(c->room[i][k]);
      must(!(c->room[i][k].high_si > 1));
    }
  }
}

static void check_answer(const struct vapour_answer *a)
{
  static const char *const never[] = {"safe ",           "safe.", "may enter",
                                      "below the limit", " nan",  "-nan"};
  struct buf out;

  must(a->headline && a->liquid && (!a->refused || (a->case_count == 0 && vapour_is_no(a))));
  for (int i = 0; i < a->case_count; i++)
    check_case(a, &a->cases[i]);
  buf_init(&out, 4 << 20);
  vapour_text(a, UNITS_SYSTEM_SI, &out);
  vapour_text(a, UNITS_SYSTEM_US, &out);
  vapour_json(a, &out);
  must(!out.full);
  for (size_t i = 0; i < sizeof never / sizeof *never; i++)
    must(!strstr(out.text, never[i]));
  buf_release(&out);
}

static void ask(char *text, const struct chem *chem, const struct facility *facility)
{
  struct vapour_request request = {.chem = chem, .facility = facility};
  const struct vapour_answer *answer;
  struct err err = {0};
  struct arena arena;

  for (char *line = text; *line;) {
    char *end = line + strcspn(line, "\n"), *next = end + (*end != '\0');
    char *at = line + strcspn(line, "=\n");

    if (*at == '=') {
      *at = *end = '\0';
      if (vapour_take(&request, line, at + 1, &err) != ERR_OK) {
        must(err.text[0] != '\0');
        return;
      }
    }
    line = next;
  }
  arena_init(&arena, (size_t)64 << 20);
  answer = vapour_answer(&request, &arena, &err);
  if (answer)
    check_answer(answer);
  else
    must(err.text[0] != '\0');
  arena_release(&arena);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
  static struct arena kept;
  static const struct chem *chem;
  static struct facility *facility;
  char *text, *again;

  if (!chem) {
    struct complaints complaints;

    arena_init(&kept, (size_t)64 << 20);
    chem = chem_read(&kept);
    complaints_init(&complaints, &kept);
    facility = facility_read(&(struct facility_text){"suite.yaml", suite, sizeof suite - 1}, NULL,
                             0, &complaints);
    must(facility != NULL);
  }
  if (size > 4096)
    return 0;
  text = malloc(size + 1);
  again = malloc(size + 1);
  must(text && again);
  memcpy(text, data, size);
  text[size] = '\0';
  memcpy(again, text, size + 1);
  ask(text, chem, facility);
  ask(again, chem, NULL);
  free(text);
  free(again);
  return 0;
}
