/*
 * From plant totals to a network: what a coarse suite answers, and whether knowing
 * more lies within what was said before.
 */
#include "air/air_impl.h"
#include "answer/answer.h"
#include "numeric/numeric.h"

#include "asked.h"
#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char coarse[] = "examples/quillmere/tiers/coarse.yaml";
static const char balanced[] = "examples/quillmere/tiers/balanced.yaml";
static const char full[] = "examples/quillmere/suite.yaml";
static const char aldermoss[] = "examples/paper-only/suite.yaml";
static const char aldermoss_coarse[] = "examples/paper-only/coarse.yaml";

/* meson runs this in the root of the source. */
static bool open_suite(struct asked *asked, const char *path)
{
  static char text[64 << 10];
  FILE *file = fopen(path, "rb");
  size_t size;

  *asked = (struct asked){0};
  if (!CHECK(file != NULL))
    return false;
  size = fread(text, 1, sizeof text - 1, file);
  fclose(file);
  text[size] = '\0';
  return CHECK(size > 0 && size < sizeof text - 1) && CHECK(suite_from_text(asked, text));
}

/* The scene prepared as suite_ask does, asked with its ±. */
static bool ask_surely(struct asked *asked, const char *scene, const char *const *changes)
{
  struct err err = {0};

  if (!CHECK(suite_ask(asked, scene, changes)))
    return false;
  asked->answer = air_ask(asked->air, &asked->scene, &air_settings_sure, &asked->arena, &err);
  return CHECK(asked->answer != NULL) && CHECK(asked->answer->sure);
}

static int pool_of(const struct asked *asked, const char *id)
{
  for (int p = 0; p < asked->answer->pool_count; p++)
    if (strcmp(air_pool_id(asked->facility, p), id) == 0)
      return p;
  CHECK_STR("no pool of that name", id);
  return 0;
}

static double normal(struct numeric_random *random)
{
  double u = 1.0 - numeric_random_unit(random), v = numeric_random_unit(random);

  return sqrt(-2.0 * log(u)) * cos(2.0 * acos(-1.0) * v);
}

/* Two hoods and a unit that could give just enough for both at the best estimate. */
static const char narrow_text[] =
    "inward: 1 suite\n"
    "%s\n"
    "rooms: {Bay: {}}\n"
    "mains: {Acid: {capacity: {value: 5000 m3/h ± 1 %%}}}\n"
    "supplies: {MU: {most: %s, feeds: {Bay: {follows exhaust: {offset: 200 m3/h ± 0 %%}}}}}\n"
    "stations:\n"
    "  S1: {kind: fume hood, room: Bay, main: Acid, flow: {two-state: {parked: 300 m3/h ± 0 %%, "
    "work: 1000 m3/h ± 0 %%}}}\n"
    "  S2: {kind: fume hood, room: Bay, main: Acid, flow: {two-state: {parked: 300 m3/h ± 0 %%, "
    "work: 1000 m3/h ± 0 %%}}}\n";

static bool ask_narrow(struct asked *asked, const char *doubts, const char *most)
{
  char text[2048];

  snprintf(text, sizeof text, narrow_text, doubts, most);
  return CHECK(suite_from_text(asked, text)) && ask_surely(asked, NULL, NULL);
}

/* ---- the coarse tier ---- */

static void a_capacity_alone_is_short_above_the_whole_of_it(void)
{
  static const char text[] =
      "inward: 1 suite\n"
      "rooms: {Bay: {}}\n"
      "mains: {Acid: {capacity: {value: 1600 m3/h}}}\n"
      "stations:\n"
      "  S1: {kind: fume hood, room: Bay, main: Acid, flow: {two-state: {parked: 300 m3/h, work: "
      "900 m3/h}}}\n"
      "  S2: {kind: fume hood, room: Bay, main: Acid, flow: {two-state: {parked: 300 m3/h, work: "
      "900 m3/h}}}\n";
  struct asked asked;

  REQUIRE(suite_from_text(&asked, text));
  REQUIRE(suite_ask(&asked, NULL, (const char *[]){"sash S1=work", NULL}));
  CHECK_INT(asked.answer->pools[0].declared.state, FACILITY_AMPLE);
  REQUIRE(suite_ask(&asked, NULL, (const char *[]){"all work", NULL}));
  CHECK_INT(asked.answer->pools[0].declared.state, FACILITY_SHORT);
  CHECK_INT(asked.answer->state, FACILITY_SHORT);
  suite_release(&asked);
}

static void a_coarse_unit_is_short_when_asked_for_more_than_its_most(void)
{
  struct asked asked;

  REQUIRE(ask_narrow(&asked, "", "1550 m3/h ± 1 %"));
  CHECK_INT(asked.answer->tier, AIR_COARSE);
  CHECK_NEAR(asked.answer->pools[1].headroom_m3_s * 3600, 750.0, 1e-3, 0);
  CHECK_NEAR(asked.answer->rooms[0].leakage_m3_s * 3600, 200.0, 1e-6, 0);
  REQUIRE(ask_surely(&asked, NULL, (const char *[]){"all work", NULL}));
  CHECK_INT(asked.answer->state, FACILITY_SHORT);
  CHECK_NEAR(asked.answer->pools[1].headroom_m3_s * 3600, -650.0, 1e-3, 0);
  suite_release(&asked);
}

/* ---- from coarse to full ---- */

static void compare_tiers(const char *earlier, const char *later, const char *scene,
                          const char *const *changes)
{
  struct asked before, after;

  if (!open_suite(&before, earlier) || !ask_surely(&before, scene, changes) ||
      !open_suite(&after, later) || !ask_surely(&after, scene, changes))
    return;
  for (int p = 0; p < before.answer->pool_count; p++) {
    const char *id = air_pool_id(before.facility, p);
    const struct air_spare *was = &before.answer->pools[p].spare;
    const struct air_spare *is = &after.answer->pools[pool_of(&after, id)].spare;

    check_case("%s to %s, %s: %s", earlier, later, scene ? scene : "parked", id);
    CHECK(was->known && is->known);
    CHECK(is->pm_m3_s < was->pm_m3_s);
    CHECK(fabs(is->flow_m3_s - was->flow_m3_s) + is->pm_m3_s <= was->pm_m3_s);
  }
  suite_release(&before);
  suite_release(&after);
}

static void knowing_more_of_quillmere_narrows_what_was_said(void)
{
  static const char *const all_work[] = {"all work", NULL};

  compare_tiers(coarse, balanced, "busy", NULL);
  compare_tiers(coarse, balanced, NULL, NULL);
  compare_tiers(coarse, balanced, NULL, all_work);
  compare_tiers(balanced, full, "busy", NULL);
  compare_tiers(balanced, full, NULL, NULL);
  compare_tiers(balanced, full, NULL, all_work);
  compare_tiers(coarse, full, "busy", NULL);
}

static void knowing_more_of_aldermoss_narrows_what_was_said(void)
{
  compare_tiers(aldermoss_coarse, aldermoss, NULL, NULL);
  compare_tiers(aldermoss_coarse, aldermoss, "class", NULL);
}

/* ---- random suites: a coarse one made from the totals of a full one ---- */

enum { STATIONS_MOST = 9 };

struct bay {
  int stations;
  double parked[STATIONS_MOST], work[STATIONS_MOST], branch_Pa[STATIONS_MOST];
  double leak_cm2, hold_Pa, most, shut_off_Pa, falls;
};

/* The full suite: one room, a main with a fan, a unit.  Flows in m3/h. */
static void write_full(const struct bay *w, struct buf *out)
{
  buf_printf(out,
             "inward: 1 suite\nair: {density: 1.2 kg/m3}\nrooms: {Bay: {}}\n"
             "leaks: {L1: {from: Bay, to: outdoors, area: %.6g cm2}}\njunctions: {J: {}}\n"
             "fans: {EF: {from: J, to: outdoors, shut-off: %.8g Pa, falls: %.8g Pa/(m3/s)2}}\n"
             "mains: {Acid: {at: J, fans: [EF]}}\n"
             "supplies: {MU: {most: %.8g m3/h, feeds: {Bay: {holds: {pressure: %.6g Pa, over: "
             "outdoors}}}}}\nstations:\n",
             w->leak_cm2, w->shut_off_Pa, w->falls, w->most, w->hold_Pa);
  for (int i = 0; i < w->stations; i++)
    buf_printf(out,
               "  S%d: {kind: wet bench, room: Bay, main: Acid, flow: {two-state: {parked: %.8g "
               "m3/h, work: %.8g m3/h}}, branch: {drop: %.6g Pa at %.8g m3/h}}\n",
               i, w->parked[i], w->work[i], w->branch_Pa[i], w->work[i]);
}

/* What a balancer writes down of it: each figure read with its own error. */
struct reading {
  double most, offset, capacity;
  double parked[STATIONS_MOST], work[STATIONS_MOST];
};

static void write_coarse(const struct bay *w, const struct reading *r, struct buf *out)
{
  buf_printf(out,
             "inward: 1 suite\nair: {density: 1.2 kg/m3}\nrooms: {Bay: {}}\n"
             "mains: {Acid: {capacity: {value: %.8g m3/h ± 10 %%}}}\n"
             "supplies: {MU: {most: %.8g m3/h ± 15 %%, feeds: {Bay: {follows exhaust: {offset: "
             "%.8g m3/h ± 50 %%}}}}}\nstations:\n",
             r->capacity, r->most, r->offset);
  for (int i = 0; i < w->stations; i++)
    buf_printf(out,
               "  S%d: {kind: wet bench, room: Bay, main: Acid, flow: {two-state: {parked: %.8g "
               "m3/h ± 10 %%, work: %.8g m3/h ± 10 %%}}}\n",
               i, r->parked[i], r->work[i]);
}

static void make_place(struct bay *w, struct numeric_random *random)
{
  double work = 0.0;

  *w = (struct bay){.stations = 3 + numeric_random_below(random, STATIONS_MOST - 2)};
  for (int i = 0; i < w->stations; i++) {
    w->work[i] = numeric_random_between(random, 700.0, 1700.0);
    w->parked[i] = w->work[i] * numeric_random_between(random, 0.25, 0.5);
    w->branch_Pa[i] = numeric_random_between(random, 60.0, 160.0);
    work += w->work[i];
  }
  w->hold_Pa = numeric_random_between(random, 8.0, 25.0);
  w->leak_cm2 = numeric_random_between(random, 150.0, 500.0);
  w->most = work * numeric_random_between(random, 0.6, 1.1);
  w->shut_off_Pa = numeric_random_between(random, 700.0, 1200.0);
  w->falls =
      (w->shut_off_Pa - 160.0) / pow(work / 3600.0, 2.0) * numeric_random_between(random, 0.5, 1.1);
}

static double misread(struct numeric_random *random, double value, double plus_minus_ratio)
{
  return value * (1.0 + 0.5 * plus_minus_ratio * fmax(-1.9, fmin(1.9, normal(random))));
}

/* The capacity of a main, as it is found by opening more and more with a unit that has enough. */
static bool find_capacity(struct bay w, double *capacity)
{
  struct asked asked;
  struct buf text;
  bool known;

  w.most *= 4.0;
  buf_init(&text, 1 << 16);
  write_full(&w, &text);
  if (!CHECK(suite_from_text(&asked, text.text)) || !ask_surely(&asked, NULL, NULL))
    return false;

  const struct air_pool *pool = &asked.answer->pools[0];

  known = pool->spare.known;
  *capacity = (pool->demand_m3_s + pool->spare.flow_m3_s) * 3600.0;
  suite_release(&asked);
  buf_release(&text);
  return known;
}

static void read_place(struct reading *r, const struct bay *w, double capacity, double offset,
                       struct numeric_random *random)
{
  r->most = misread(random, w->most, 0.15);
  r->capacity = misread(random, capacity, 0.10);
  r->offset = misread(random, offset, 0.50);
  for (int i = 0; i < w->stations; i++) {
    r->parked[i] = misread(random, w->parked[i], 0.10);
    r->work[i] = misread(random, w->work[i], 0.10);
    r->parked[i] = fmin(r->parked[i], r->work[i]);
  }
}

/* Reads a random place, asks its coarse suite, and looks whether the truth lies within. */
static void compare_place(struct numeric_random *random, int number, int *asked_out, int *missed)
{
  struct asked truth, read;
  struct bay w;
  struct reading r;
  struct buf text;
  double capacity;

  make_place(&w, random);
  buf_init(&text, 1 << 16);
  write_full(&w, &text);
  if (!find_capacity(w, &capacity) || !CHECK(suite_from_text(&truth, text.text)) ||
      !ask_surely(&truth, NULL, NULL))
    return;
  read_place(&r, &w, capacity, truth.answer->rooms[0].leakage_m3_s * 3600.0, random);
  buf_clear(&text);
  write_coarse(&w, &r, &text);
  if (!CHECK(suite_from_text(&read, text.text)) || !ask_surely(&read, NULL, NULL))
    return;
  for (int p = 0; p < 2; p++) {
    const struct air_spare *is = &truth.answer->pools[p].spare;
    const struct air_spare *said = &read.answer->pools[p].spare;

    if (!is->known || !said->known)
      continue;
    (*asked_out)++;
    if (fabs(said->flow_m3_s - is->flow_m3_s) <= said->pm_m3_s)
      continue;
    (*missed)++;
    printf("  missed: place %d, %s: said %.0f ± %.0f, is %.0f m3/h; said %s; is %s\n", number,
           air_pool_id(truth.facility, p), said->flow_m3_s * 3600, said->pm_m3_s * 3600,
           is->flow_m3_s * 3600, said->binding, is->binding);
  }
  suite_release(&truth);
  suite_release(&read);
  buf_release(&text);
}

static void a_coarse_answer_holds_the_full_one_as_often_as_it_says(void)
{
  enum { PLACES = 300 };
  struct numeric_random random;
  int asked = 0, missed = 0;

  numeric_random_seed(&random, 1995);
  for (int k = 0; k < PLACES; k++)
    compare_place(&random, k, &asked, &missed);
  printf("  %d of %d within, %.1f %%\n", asked - missed, asked, 100.0 * (asked - missed) / asked);
  CHECK(asked > PLACES);
  CHECK(missed <= 0.05 * asked);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_capacity_alone_is_short_above_the_whole_of_it);
  RUN(a_coarse_unit_is_short_when_asked_for_more_than_its_most);
  RUN(knowing_more_of_quillmere_narrows_what_was_said);
  RUN(knowing_more_of_aldermoss_narrows_what_was_said);
  RUN(a_coarse_answer_holds_the_full_one_as_often_as_it_says);
  return check_end();
}
