/* Random walks over Quillmere: what is solved next must not depend on what was solved before. */
#include "air/air_impl.h"
#include "numeric/numeric.h"

#include "asked.h"
#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static bool put(char *text, const char *from, const char *to)
{
  char *at = strstr(text, from);
  if (!at || strlen(from) != strlen(to))
    return false;
  memcpy(at, to, strlen(to));
  return true;
}

/* meson runs this in the root of the source.  `from` in the text becomes `to`, of equal length. */
static bool open_changed(struct asked *asked, const char *from, const char *to)
{
  static char text[64 << 10];
  FILE *file = fopen("examples/quillmere/suite.yaml", "rb");
  *asked = (struct asked){0};
  if (!CHECK(file != NULL))
    return false;
  size_t size = fread(text, 1, sizeof text - 1, file);
  fclose(file);
  text[size] = '\0';
  if (from && !CHECK(put(text, from, to)))
    return false;
  return CHECK(suite_from_text(asked, text));
}

static void move_sash(struct numeric_random *random, const struct facility *f, struct scene *scene)
{
  int i = numeric_random_below(random, f->station_count), how = numeric_random_below(random, 3);
  const struct facility_station *station = &f->stations[i];
  struct scene_station *state = &scene->stations[i];
  state->raised = how > 0;
  state->opening_m = how == 0   ? station->parked_m
                     : how == 1 ? station->work_m
                                : station->most_m * numeric_random_between(random, 0.3, 1);
}

/* Up to four sashes, now and then a fan or a door. */
static void take_step(struct numeric_random *random, const struct facility *f, struct scene *scene)
{
  for (int moves = 1 + numeric_random_below(random, 4); moves > 0; moves--)
    move_sash(random, f, scene);
  if (numeric_random_below(random, 6) == 0) {
    int i = numeric_random_below(random, f->fan_count);
    scene->fan_running[i] = numeric_random_below(random, f->fans[i].count + 1);
  }
  if (numeric_random_below(random, 8) == 0) {
    int i = numeric_random_below(random, f->door_count);
    scene->door_open[i] = !scene->door_open[i];
  }
}

static double furthest_Pa(const struct air *one, const struct air *other)
{
  double furthest = 0;
  for (int n = 0; n < one->problem.node_count; n++) {
    if (!CHECK(net_has_pressure(one->net, n) && net_has_pressure(other->net, n)))
      return INFINITY;
    furthest = fmax(furthest, fabs(net_pressure_Pa(one->net, n) - net_pressure_Pa(other->net, n)));
  }
  return furthest;
}

/* `count` steps; `warm` goes on from its last answer, `cold` forgets it. */
static void walk(struct asked *asked, struct scene *scene, int seed, int count)
{
  const int enough = 300; /* iterations; some tens of them are the rule */
  struct err err = {0};
  struct air *warm = air_new(asked->facility, &err), *cold = air_new(asked->facility, &err);
  struct numeric_random random;
  numeric_random_seed(&random, (uint64_t)seed);
  for (int i = 0; i < count; i++) {
    struct air_outcome by_warm, by_cold;
    struct net_report warm_report, cold_report;
    CHECK_CASE("seed %d step %d", seed, i);
    take_step(&random, asked->facility, scene);
    air_outcome_of(warm, scene, NULL, &by_warm, &warm_report);
    net_forget(cold->net);
    air_outcome_of(cold, scene, NULL, &by_cold, &cold_report);
    CHECK_INT(warm_report.verdict, NET_SOLVED);
    CHECK_INT(cold_report.verdict, NET_SOLVED);
    CHECK_INT(warm_report.fallbacks + cold_report.fallbacks, 0);
    CHECK(warm_report.iterations < enough && cold_report.iterations < enough);
    CHECK_NEAR(furthest_Pa(warm, cold), 0, 0, 1e-6);
    CHECK_INT(by_warm.miss_count, by_cold.miss_count);
  }
  air_free(warm);
  air_free(cold);
}

static void walk_changed(const char *from, const char *to)
{
  struct asked a;
  for (int seed = 1; seed <= 3; seed++) {
    struct arena arena;
    arena_init(&arena, 1 << 20);
    if (open_changed(&a, from, to)) {
      struct scene scene = scene_parked(a.facility, &arena);
      walk(&a, &scene, seed, 300);
    }
    suite_release(&a);
    arena_release(&arena);
  }
}

static void with_doors_fans_and_sashes_moving_every_scene_has_one_answer(void)
{
  walk_changed(NULL, NULL);
}

static void a_unit_that_gives_just_what_its_feeds_take_at_most_has_one_answer(void)
{
  walk_changed("most: 15600 m3/h", "most: 22900 m3/h"); /* 12000 + 1500 + 7000 + 2400 */
}

static void a_unit_of_half_the_size_has_one_answer(void)
{
  walk_changed("most: 15600 m3/h", "most:  7800 m3/h");
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(with_doors_fans_and_sashes_moving_every_scene_has_one_answer);
  RUN(a_unit_that_gives_just_what_its_feeds_take_at_most_has_one_answer);
  RUN(a_unit_of_half_the_size_has_one_answer);
  return check_end();
}
