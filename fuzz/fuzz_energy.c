/*
 * What a night's list is made of, whatever was heard: ranges are ranges, a best estimate lies inside, causes
 * add up to what was above parked, stretches stand side by side inside the night, and the sums are those of
 * the stations.
 *
 * The input: six bytes a step: station and signal, minutes since the last step of that signal (2), known and
 * the value (3).
 */
#include "energy/energy.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

enum { STATIONS = 4, STEPS_MOST = 200, STEP_BYTES = 6, NIGHT_MS = 12 * 3600 * 1000 };

static const char suite_text[] =
    "inward: 1 suite\n"
    "doubts: {flow: 5 %, most: 5 %, velocity: 5 %}\n"
    "rooms: {Etch: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L: {from: Etch, to: outdoors, area: 200 cm2}}\n"
    "fans:\n"
    "  EF: {from: J, to: outdoors, count: 2, running: 2, curve: [900 Pa at 0 m3/h, 500 Pa at 5000 m3/h]}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\n"
    "supplies: {MU: {most: 9000 m3/h, feeds: {Etch: {flow: 3000 m3/h}}}}\n"
    "stations:\n"
    "  T: {kind: fume hood, room: Etch, main: Acid, opening: {parked: 0.02 m, work: 0.45 m, most: 0.75 m},\n"
    "      flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  F: {kind: fume hood, room: Etch, main: Acid, width: 1.5 m,\n"
    "      opening: {parked: 0.03 m, work: 0.45 m, most: 0.75 m},\n"
    "      flow: {follows opening: {velocity: 0.50 m/s, least: 520 m3/h, most: 1820 m3/h}}}\n"
    "  C: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 400 m3/h}}\n"
    "  P: {kind: fume hood, room: Etch, main: Acid, width: 0.9 m,\n"
    "      opening: {parked: 0 m, work: 0.20 m, most: 0.30 m},\n"
    "      flow: {passive: {coefficient: 0.62, bypass area: 40 cm2}},\n"
    "      branch: {drop: 100 Pa at 300 m3/h}}\n";

static void must(bool so)
{
  if (!so)
    abort();
}

static const struct facility *facility(void)
{
  static struct facility *made;
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct complaints complaints;
  struct arena arena;

  if (made)
    return made;
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  made = facility_read(&suite, NULL, 0, &complaints);
  must(made != NULL);
  arena_release(&arena);
  return made;
}

/* Of a night's volumes, in m3: sums of so many terms agree to this. */
static bool is_near(double a, double b)
{
  return fabs(a - b) <= 1e-6 * (1 + fabs(a) + fabs(b));
}

static void check_range(const struct energy_range *r)
{
  must(isfinite(r->least_m3) && isfinite(r->most_m3) && r->least_m3 <= r->most_m3 + 1e-6);
  must(isnan(r->best_m3) || (r->best_m3 >= r->least_m3 - 1e-6 && r->best_m3 <= r->most_m3 + 1e-6));
}

/* No cause: what is above parked without its cause being sure.  The best estimate may give a cause that
 * is not sure, so of the untold it may hold less than that, and never more. */
static void check_untold(const struct energy_range *r)
{
  must(isfinite(r->least_m3) && isfinite(r->most_m3) && r->least_m3 >= 0 &&
       r->least_m3 <= r->most_m3 + 1e-6);
  must(isnan(r->best_m3) || r->best_m3 <= r->most_m3 + 1e-6);
}

static void check_station(const struct energy_station *s)
{
  double parts_m3 = 0, stretches_m3 = 0;
  int64_t at_ms = 0;

  if (!s->counted)
    return;
  check_range(&s->moved);
  check_range(&s->excess);
  must(is_near(s->moved.least_m3, s->parked_m3 + s->excess.least_m3) &&
       is_near(s->moved.most_m3, s->parked_m3 + s->excess.most_m3));
  for (int i = 0; i < ENERGY_PARTS; i++) {
    if (i == ENERGY_UNTOLD)
      check_untold(&s->parts[i]);
    else
      check_range(&s->parts[i]);
    must(s->part_s[i] >= 0 && s->part_s[i] <= NIGHT_MS * 1e-3 + 1e-6);
  }
  for (int i = 0; i < ENERGY_PARTS; i++)
    parts_m3 += s->parts[i].best_m3;
  must(isnan(s->excess.best_m3) || isnan(parts_m3) || is_near(parts_m3, s->excess.best_m3));
  must(s->less_s >= 0 && s->less_m3 >= -1e-9 && s->not_known_s >= 0);
  for (int i = 0; i < s->stretch_count; i++) {
    const struct energy_stretch *stretch = &s->stretches[i];

    must(stretch->from_ms == at_ms && stretch->to_ms > stretch->from_ms);
    check_range(&stretch->excess);
    stretches_m3 += stretch->excess.most_m3;
    at_ms = stretch->to_ms;
  }
  must(s->stretch_count > 0 && at_ms == NIGHT_MS && is_near(stretches_m3, s->excess.most_m3));
}

static void check_sum(const struct energy_answer *answer)
{
  double least_m3 = 0, most_m3 = 0;

  for (int i = 0; i < STATIONS; i++)
    if (answer->stations[i].counted) {
      least_m3 += answer->stations[i].excess.least_m3;
      most_m3 += answer->stations[i].excess.most_m3;
    }
  check_range(&answer->all.excess);
  must(is_near(answer->all.excess.least_m3, least_m3) &&
       is_near(answer->all.excess.most_m3, most_m3));
  must(is_near(answer->mains[0].excess.most_m3, most_m3) &&
       is_near(answer->supplies[0].excess.most_m3, most_m3));
}

/* ---- what was heard ---- */

struct heard {
  int count;
  struct energy_step steps[STEPS_MOST];
};

static double value_of(enum energy_signal signal, unsigned raw)
{
  switch (signal) {
  case ENERGY_OPENING:
    return raw / 65535.0 * 1.2 - 0.1; /* m */
  case ENERGY_FLOW:
    return raw / 65535.0 - 0.2; /* m3/s */
  case ENERGY_PRESENCE:
  case ENERGY_BLOCKED:
  case ENERGY_SIGNALS:
    break;
  }
  return raw & 1;
}

static void add(struct heard *h, enum energy_signal signal, const unsigned char *bytes)
{
  int64_t last_ms = h->count > 0 ? h->steps[h->count - 1].from_ms : -1;
  int64_t t_ms = last_ms + 1 + (int64_t)(bytes[1] * 256 + bytes[2]) * 1000;

  if (h->count == STEPS_MOST || t_ms >= NIGHT_MS)
    return;
  h->steps[h->count++] = (struct energy_step){
      t_ms, (bytes[3] & 1) != 0, value_of(signal, (unsigned)(bytes[4] * 256 + bytes[5]))};
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
  static struct heard heard[STATIONS][ENERGY_SIGNALS], fan;
  struct energy_given given[STATIONS] = {{.has_bounds = false}};
  struct energy_trace fan_trace;
  struct energy_answer answer;
  struct arena arena;
  struct err err = {0};

  memset(heard, 0, sizeof heard);
  memset(&fan, 0, sizeof fan);
  for (size_t at = 0; at + STEP_BYTES <= size; at += STEP_BYTES) {
    const unsigned char *b = data + at;

    if (b[0] & 0x80)
      add(&fan, ENERGY_BLOCKED, b);
    else
      add(&heard[b[0] & 3][b[0] >> 2 & 3], (enum energy_signal)(b[0] >> 2 & 3), b);
  }
  for (int i = 0; i < STATIONS; i++) {
    given[i].opening_resolution_m = 0.001;
    given[i].flow_resolution_m3_s = 1 / 3600.0;
    given[i].has_bounds = true;
    given[i].parked_m3_s = 0.02;
    given[i].most_m3_s = 0.2;
    for (int k = 0; k < ENERGY_SIGNALS; k++)
      given[i].signals[k] =
          (struct energy_trace){heard[i][k].count > 0, heard[i][k].count, heard[i][k].steps};
  }
  fan_trace = (struct energy_trace){fan.count > 0, fan.count, fan.steps};
  const struct energy_question question = {.facility = facility(),
                                           .to_ms = NIGHT_MS,
                                           .bridge_s = 3600,
                                           .given = given,
                                           .fans = &fan_trace};

  arena_init(&arena, 256 << 20);
  must(energy_ask(&question, &arena, &answer, &err) == ERR_OK);
  for (int i = 0; i < STATIONS; i++)
    check_station(&answer.stations[i]);
  check_sum(&answer);
  arena_release(&arena);
  return 0;
}
