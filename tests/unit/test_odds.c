/*
 * The ± of all that a scene shows, against the same suite solved anew with each figure moved; how
 * likely each keep and criterion is met; which figures are to blame.
 */
#include "air/air_impl.h"
#include "answer/answer.h"
#include "numeric/numeric.h"

#include "asked.h"
#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char full[] = "examples/quillmere/suite.yaml";
static const char aldermoss[] = "examples/paper-only/suite.yaml";

/* meson runs this in the root of the source. */
static bool open_suite(struct asked *asked, const char *path, const char *scene,
                       const char *const *changes)
{
  static char text[64 << 10];
  FILE *file = fopen(path, "rb");
  struct err err = {0};
  size_t size;

  *asked = (struct asked){0};
  if (!CHECK(file != NULL))
    return false;
  size = fread(text, 1, sizeof text - 1, file);
  fclose(file);
  text[size] = '\0';
  if (!CHECK(size > 0 && size < sizeof text - 1) || !CHECK(suite_from_text(asked, text)) ||
      !CHECK(suite_ask(asked, scene, changes)))
    return false;
  asked->answer = air_ask(asked->air, &asked->scene, &air_settings_sure, &asked->arena, &err);
  return CHECK(asked->answer != NULL) && CHECK(asked->answer->sure);
}

/* ---- every ± against the suite moved and solved anew ---- */

enum { SHOWN_MAX = 512 };
struct shown {
  int count;
  double value[SHOWN_MAX], pm[SHOWN_MAX];
  const char *part[SHOWN_MAX];
};

static void show(struct shown *s, const char *part, double value, double pm)
{
  if (s->count < SHOWN_MAX) {
    s->part[s->count] = part;
    s->value[s->count] = value;
    s->pm[s->count++] = pm;
  }
}

static void show_all(const struct facility *f, const struct air_answer *a, struct shown *s)
{
  s->count = 0;
  for (int i = 0; i < f->room_count; i++) {
    const struct air_room *r = &a->rooms[i];

    show(s, f->rooms[i].part.id, r->pressure_Pa, r->pressure_pm_Pa);
    show(s, f->rooms[i].part.id, r->supply_m3_s, r->supply_pm_m3_s);
    show(s, f->rooms[i].part.id, r->exhaust_m3_s, r->exhaust_pm_m3_s);
    show(s, f->rooms[i].part.id, r->leakage_m3_s, r->leakage_pm_m3_s);
    for (int k = 0; k < r->keep_count; k++)
      show(s, f->rooms[i].part.id, r->keeps[k].actual_Pa, r->keeps[k].actual_pm_Pa);
  }
  for (int i = 0; i < f->door_count; i++) {
    show(s, f->doors[i].part.id, a->doors[i].flow_m3_s, a->doors[i].flow_pm_m3_s);
    show(s, f->doors[i].part.id, a->doors[i].drop_Pa, a->doors[i].drop_pm_Pa);
  }
  for (int i = 0; i < f->fan_count; i++) {
    show(s, f->fans[i].part.id, a->fans[i].flow_m3_s, a->fans[i].flow_pm_m3_s);
    show(s, f->fans[i].part.id, a->fans[i].rise_Pa, a->fans[i].rise_pm_Pa);
    show(s, f->fans[i].part.id, a->fans[i].speed_ratio, a->fans[i].speed_pm_ratio);
  }
  for (int i = 0; i < f->supply_count; i++) {
    show(s, f->supplies[i].part.id, a->supplies[i].flow_m3_s, a->supplies[i].flow_pm_m3_s);
    for (int j = 0; j < f->supplies[i].feed_count; j++)
      show(s, f->supplies[i].feeds[j].part.id, a->supplies[i].feeds[j].flow_m3_s,
           a->supplies[i].feeds[j].flow_pm_m3_s);
  }
  for (int i = 0; i < f->station_count; i++) {
    show(s, f->stations[i].part.id, a->stations[i].flow_m3_s, a->stations[i].flow_pm_m3_s);
    show(s, f->stations[i].part.id, a->stations[i].face_velocity_m_s,
         a->stations[i].face_velocity_pm_m_s);
  }
}

static void compare_all(const char *suite, const char *scene, const char *const *changes)
{
  static struct shown told, up, down;
  static double squares[SHOWN_MAX];
  const double h = 0.01;
  struct asked asked;
  struct err err = {0};

  if (!open_suite(&asked, suite, scene, changes))
    return;

  const struct facility *f = asked.facility;
  struct facility_moved *moved = facility_moved_new(f, &asked.arena);
  struct air *air = air_new(facility_moved_as(moved), &err);

  memset(squares, 0, sizeof squares);
  show_all(f, asked.answer, &told);
  CHECK(told.count > 20 && told.count < SHOWN_MAX);
  for (int i = 0; i < f->input_count; i++) {
    struct arena arena;

    arena_init(&arena, (size_t)64 << 20);
    facility_move(moved, i, h);
    air_values_forget(air);
    show_all(f, air_flows(air, &asked.scene, &arena, &err), &up);
    facility_move(moved, i, -h);
    air_values_forget(air);
    show_all(f, air_flows(air, &asked.scene, &arena, &err), &down);
    facility_move(moved, i, 0.0);
    for (int k = 0; k < told.count; k++)
      squares[k] += pow((up.value[k] - down.value[k]) / (2 * h), 2);
    arena_release(&arena);
  }
  for (int k = 0; k < told.count; k++) {
    check_case("%s %s: %s, %g", suite, scene ? scene : "parked", told.part[k], told.value[k]);
    if (isnan(told.value[k]))
      CHECK(isnan(told.pm[k]));
    else
      CHECK_NEAR(told.pm[k], sqrt(squares[k]), 0.01, 1e-4);
  }
  air_free(air);
  suite_release(&asked);
}

static void every_doubt_is_what_solving_anew_says(void)
{
  compare_all(full, "busy", NULL);
  compare_all(full, "open-day", NULL);
  compare_all(full, "busy", (const char *[]){"off AF/1", "door D2=open", NULL});
  compare_all(aldermoss, "class", NULL);
}

/* ---- how likely, and who is to blame ---- */

static void a_keep_is_missed_as_often_as_the_normal_tail_says(void)
{
  struct asked asked;

  if (!open_suite(&asked, aldermoss, NULL, NULL))
    return;
  for (int i = 0; i < asked.facility->room_count; i++)
    for (int k = 0; k < asked.answer->rooms[i].keep_count; k++) {
      const struct air_keep *keep = &asked.answer->rooms[i].keeps[k];
      double above = (keep->keep->most_Pa + asked.facility->met_tolerance_Pa - keep->actual_Pa) /
                     (keep->actual_pm_Pa / 2);
      double z = (keep->actual_Pa - keep->keep->least_Pa + asked.facility->met_tolerance_Pa) /
                 (keep->actual_pm_Pa / 2);

      check_case("%s", asked.facility->rooms[i].part.id);
      CHECK(keep->odds.known && keep->keep->has_least && keep->keep->has_most);
      CHECK_NEAR(keep->odds.met_ratio, 1 - 0.5 * erfc(z / sqrt(2)) - 0.5 * erfc(above / sqrt(2)), 0,
                 1e-9);
      CHECK(keep->odds.met_least_ratio <= keep->odds.met_ratio);
    }
  suite_release(&asked);
}

static void causes_stand_by_size_and_are_no_more_than_all(void)
{
  struct asked asked;

  if (!open_suite(&asked, full, "busy", NULL))
    return;
  for (int i = 0; i < asked.facility->room_count; i++)
    for (int k = 0; k < asked.answer->rooms[i].keep_count; k++) {
      const struct air_odds *o = &asked.answer->rooms[i].keeps[k].odds;
      double sum = 0.0;

      check_case("%s, keep %d", asked.facility->rooms[i].part.id, k);
      CHECK(o->causes.count > 0);
      for (int c = 0; c < o->causes.count; c++) {
        sum += o->causes.list[c].share_ratio;
        CHECK(c == 0 || o->causes.list[c].share_ratio <= o->causes.list[c - 1].share_ratio * 1.001);
      }
      CHECK(sum > 0.2 && sum <= 1.0 + 1e-9);
    }
  suite_release(&asked);
}

/* The ± of one station's flow in the same suite, one figure known as well as a careful reading tells. */
static double doubt_with_better(struct asked *asked, int station, int input)
{
  const struct facility *f = asked->facility;
  struct facility better = *f;
  struct facility_input *inputs =
      ARENA_ARRAY(&asked->arena, struct facility_input, (size_t)f->input_count);
  const struct air_answer *answer;
  struct err err = {0};
  struct air *air;
  double doubt_m3_s;

  memcpy(inputs, f->inputs, (size_t)f->input_count * sizeof *inputs);
  inputs[input].plus_minus_si = inputs[input].at_best_si;
  better.inputs = inputs;
  air = air_new(&better, &err);
  answer = air_ask(air, &asked->scene, &air_settings_sure, &asked->arena, &err);
  doubt_m3_s = answer->stations[station].flow_pm_m3_s;
  air_free(air);
  return doubt_m3_s;
}

static void a_better_reading_leaves_the_doubt_that_the_suite_then_has(void)
{
  struct asked asked;
  int compared = 0;

  if (!open_suite(&asked, full, "busy", NULL))
    return;
  for (int i = 0; i < asked.facility->station_count; i++) {
    const struct air_station *s = &asked.answer->stations[i];
    double rest = s->flow_pm_m3_s * s->flow_pm_m3_s;

    check_case("%s", asked.facility->stations[i].part.id);
    CHECK(s->flow_causes.count > 0);
    for (int c = 0; c < s->flow_causes.count; c++) {
      const struct air_cause *cause = &s->flow_causes.list[c];
      const struct facility_input *in = &asked.facility->inputs[cause->input];

      rest -= cause->part_si * cause->part_si;
      if (in->at_best_si >= in->plus_minus_si)
        continue;
      CHECK_NEAR(air_cause_after_si(asked.facility, cause, s->flow_pm_m3_s),
                 doubt_with_better(&asked, i, cause->input), 1e-3, 1e-7);
      compared++;
    }
    CHECK(rest >= -1e-9 * s->flow_pm_m3_s);
  }
  CHECK(compared > 10);
  suite_release(&asked);
}

static void a_parked_station_has_no_criterion_to_meet(void)
{
  struct asked asked;

  if (!open_suite(&asked, full, "busy", NULL))
    return;

  const struct air_odds *parked =
      &asked.answer->stations[facility_station_find(asked.facility, "A1")].odds;
  const struct air_odds *open =
      &asked.answer->stations[facility_station_find(asked.facility, "A3")].odds;

  CHECK(!parked->known && parked->why);
  CHECK(open->known && open->met_ratio > 0.5);
  suite_release(&asked);
}

static void past_its_limit_a_pool_takes_its_keeps_along(void)
{
  struct asked asked;

  if (!open_suite(&asked, full, "busy", (const char *[]){"sash A8=work", NULL}))
    return;

  const struct air_keep *wet = &asked.answer->rooms[0].keeps[0];
  double fine = 1.0;

  for (int p = 0; p < asked.answer->pool_count; p++)
    fine = fmin(fine, asked.answer->pools[p].odds.met_ratio);
  CHECK(fine < 0.99);
  CHECK(wet->odds.met_ratio > 0.99); /* the terminal holds it: its own ± is a transmitter's */
  CHECK_NEAR(wet->odds.met_least_ratio, wet->odds.met_ratio + fine - 1.0, 0, 1e-9);
  suite_release(&asked);
}

static void a_pool_is_no_surer_than_a_keep_in_it(void)
{
  struct asked asked;

  if (!open_suite(&asked, aldermoss, NULL, NULL))
    return;
  for (int p = 0; p < asked.answer->pool_count; p++)
    for (int i = 0; i < asked.facility->room_count; i++)
      CHECK(asked.answer->pools[p].odds.met_ratio <=
            asked.answer->rooms[i].keeps[0].odds.met_ratio);
  suite_release(&asked);
}

/* ---- drawn at random ---- */

/* Closed forms of Clopper and Pearson (1934): none of n: 1 - 0.025^(1/n); all: its mirror.  1 of 10:
 * 0.25 % to 44.5 % (their chart and every table of binomial limits; value from memory). */
static void the_error_of_a_share_is_the_exact_binomial_one(void)
{
  const struct air_odds none = {.known = false};

  for (long n = 5; n <= 5000; n *= 10) {
    struct answer_drawn d = answer_drawn_of(0, n, &none);

    CHECK_NEAR(d.low_ratio, 0, 0, 0);
    CHECK_NEAR(d.high_ratio, 1 - pow(0.025, 1.0 / (double)n), 1e-6, 1e-9);
    d = answer_drawn_of(n, n, &none);
    CHECK_NEAR(d.low_ratio, pow(0.025, 1.0 / (double)n), 1e-6, 1e-9);
    CHECK_NEAR(d.high_ratio, 1, 0, 0);
    CHECK(!d.compared);
  }
  CHECK_NEAR(answer_drawn_of(1, 10, &none).low_ratio, 0.0025, 0, 5e-5);
  CHECK_NEAR(answer_drawn_of(1, 10, &none).high_ratio, 0.445, 0, 5e-4);
  CHECK(isnan(answer_drawn_of(0, 0, &none).missed_ratio));
}

static struct air_sampler *drawn(struct asked *asked, uint64_t seed, long draws, long piece)
{
  struct err err = {0};
  struct air_sampler *s = air_sampler_new(asked->air, &asked->scene, seed, &asked->arena, &err);

  if (!CHECK(s != NULL))
    return NULL;
  for (long done = 0; done < draws; done += piece)
    air_sampler_draw(s, piece);
  return s;
}

/* Monte Carlo (JCGM 101:2008) against the slopes, where no limit bends them. */
static void draws_agree_with_the_slopes(void)
{
  static const struct {
    const char *suite, *scene, *change;
  } rows[] = {{full, "busy", NULL},
              {full, "busy", "sash S5=work"},
              {full, "busy", "sash A8=work"},
              {full, "open-day", NULL},
              {"examples/quillmere/tiers/coarse.yaml", "busy", NULL},
              {"examples/quillmere/tiers/balanced.yaml", "busy", NULL}};
  enum { DRAWS = 1000 };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct asked asked;
    struct buf out;

    check_case("%s %s %s", rows[i].suite, rows[i].scene, rows[i].change ? rows[i].change : "");
    if (!open_suite(&asked, rows[i].suite, rows[i].scene, (const char *[]){rows[i].change, NULL}))
      return;

    struct air_sampler *s = drawn(&asked, 1, DRAWS, DRAWS);
    const struct answer_sample sample = {
        asked.facility, &asked.scene, asked.answer, air_sampler_tally(s), 1, DRAWS};

    CHECK_INT(air_sampler_tally(s)->unsolved, 0);
    buf_init(&out, 1 << 20);
    answer_sample_json(&sample, &out);
    CHECK(strstr(out.text, "\"disagreeing\": 0") != NULL);
    buf_release(&out);
    air_sampler_free(s);
    suite_release(&asked);
  }
}

/* A leak's pressure bends with its size: what the slopes call 1 in 20 is 1 in 80. */
static void where_the_law_bends_the_draws_say_so(void)
{
  struct asked asked;

  if (!open_suite(&asked, aldermoss, NULL, NULL))
    return;

  struct air_sampler *s = drawn(&asked, 1, 2000, 2000);
  const struct air_sample *t = air_sampler_tally(s);
  struct answer_drawn d =
      answer_drawn_of(t->keep_missed[1], t->draws, &asked.answer->rooms[1].keeps[0].odds);

  CHECK(d.compared && !d.agrees);
  air_sampler_free(s);
  suite_release(&asked);
}

static void the_same_seed_draws_the_same_buildings(void)
{
  struct asked asked;

  if (!open_suite(&asked, full, "busy", (const char *[]){"sash A8=work", NULL}))
    return;

  struct air_sampler *whole = drawn(&asked, 7, 300, 300), *pieces = drawn(&asked, 7, 300, 20),
                     *other = drawn(&asked, 8, 300, 300);

  CHECK(air_sampler_tally(whole)->pool_missed[0] > 0);
  for (int p = 0; p < asked.answer->pool_count; p++)
    CHECK_INT(air_sampler_tally(whole)->pool_missed[p], air_sampler_tally(pieces)->pool_missed[p]);
  CHECK(air_sampler_tally(whole)->pool_missed[0] != air_sampler_tally(other)->pool_missed[0]);
  air_sampler_free(whole);
  air_sampler_free(pieces);
  air_sampler_free(other);
  suite_release(&asked);
}

/* ---- one centimetre ---- */

static void compare_cm(struct asked *asked, const struct air_per_cm *told, int station)
{
  const struct facility *f = asked->facility;
  struct scene moved = scene_copy(f, &asked->scene, &asked->arena);
  struct err err = {0};
  const struct air_answer *after;
  int at = 0;

  moved.stations[station].opening_m += 0.001;
  after = air_ask(asked->air, &moved, &air_settings_default, &asked->arena, &err);
  for (int p = 0; p < asked->answer->pool_count; p++)
    if (!isnan(told->stations[station].headroom_m3_s[p]))
      CHECK_NEAR(told->stations[station].headroom_m3_s[p],
                 10 * (after->pools[p].headroom_m3_s - asked->answer->pools[p].headroom_m3_s), 0.02,
                 0.3 / 3600);
  for (int i = 0; i < f->room_count; i++)
    for (int k = 0; k < f->rooms[i].keep_count; k++, at++)
      CHECK_NEAR(
          told->stations[station].keeps_Pa[at],
          10 * (after->rooms[i].keeps[k].actual_Pa - asked->answer->rooms[i].keeps[k].actual_Pa),
          0.02, 1e-4);
}

/* Held rooms and free ones, a fan lost, a door open: what of it changes. */
static void a_centimetre_is_worth_what_a_millimetre_solved_anew_is(void)
{
  static const struct {
    const char *suite, *scene, *changes[2];
    bool pools, keeps; /* some of them are worth something there */
  } cases[] = {{full, "busy", {NULL}, true, false},
               {full, "open-day", {NULL}, true, true},
               {full, "busy", {"off AF/1", NULL}, true, false},
               {full, "open-day", {"door D2=open", NULL}, false, true},
               {aldermoss, "class", {NULL}, true, true}};

  for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
    struct asked asked;
    struct err err = {0};
    int compared = 0, pools = 0, keeps = 0;

    if (!open_suite(&asked, cases[c].suite, cases[c].scene, cases[c].changes))
      return;

    const struct air_per_cm *told = air_per_cm(asked.air, &asked.scene, &asked.arena, &err);

    for (int i = 0; CHECK(told != NULL) && i < asked.facility->station_count; i++)
      if (told->stations[i].known && told->stations[i].asks_m3_s > 0.0) {
        check_case("case %d, %s", (int)c, asked.facility->stations[i].part.id);
        compare_cm(&asked, told, i);
        for (int p = 0; p < told->pool_count; p++)
          pools += fabs(told->stations[i].headroom_m3_s[p]) > 1e-3;
        for (int k = 0; k < told->keep_count; k++)
          keeps += fabs(told->stations[i].keeps_Pa[k]) > 0.01;
        compared++;
      }
    CHECK(compared >= 3 && (pools > 0) == cases[c].pools && (keeps > 0) == cases[c].keeps);
    suite_release(&asked);
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(every_doubt_is_what_solving_anew_says);
  RUN(a_keep_is_missed_as_often_as_the_normal_tail_says);
  RUN(causes_stand_by_size_and_are_no_more_than_all);
  RUN(a_better_reading_leaves_the_doubt_that_the_suite_then_has);
  RUN(a_parked_station_has_no_criterion_to_meet);
  RUN(past_its_limit_a_pool_takes_its_keeps_along);
  RUN(a_pool_is_no_surer_than_a_keep_in_it);
  RUN(the_error_of_a_share_is_the_exact_binomial_one);
  RUN(draws_agree_with_the_slopes);
  RUN(where_the_law_bends_the_draws_say_so);
  RUN(the_same_seed_draws_the_same_buildings);
  RUN(a_centimetre_is_worth_what_a_millimetre_solved_anew_is);
  return check_end();
}
