/* The two suites people meet first: what their papers promise, and what the answer promises. */
#include "air/air_impl.h"
#include "answer/answer.h"
#include "numeric/numeric.h"

#include "asked.h"
#include "check.h"

#include <stdio.h>

static const char quillmere[] = "examples/quillmere/suite.yaml";
static const char aldermoss[] = "examples/paper-only/suite.yaml";

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

/* ---- the scenes are what their notes say ---- */

static const struct promise {
  const char *suite, *scene, *change;
  enum facility_level state;
} promises[] = {
    {quillmere, NULL, NULL, FACILITY_AMPLE},        {quillmere, "night", NULL, FACILITY_AMPLE},
    {quillmere, "busy", NULL, FACILITY_NEAR_LIMIT}, {quillmere, "open-day", NULL, FACILITY_SHORT},
    {quillmere, NULL, "all work", FACILITY_SHORT},  {quillmere, "busy", "off AF/1", FACILITY_SHORT},
    {quillmere, "busy", "off MU", FACILITY_SHORT},  {aldermoss, NULL, NULL, FACILITY_AMPLE},
    {aldermoss, "class", NULL, FACILITY_SHORT},     {aldermoss, NULL, "all work", FACILITY_SHORT},
    {aldermoss, NULL, "off EXF/2", FACILITY_AMPLE},
};
enum { PROMISES = sizeof promises / sizeof promises[0] };

/* Asks promise i; release in every case. */
static bool ask_promise(struct asked *asked, int i)
{
  const char *const changes[] = {promises[i].change, NULL};

  check_case("%s scene %s change %s", promises[i].suite,
             promises[i].scene ? promises[i].scene : "-",
             promises[i].change ? promises[i].change : "-");
  return open_suite(asked, promises[i].suite) &&
         CHECK(suite_ask(asked, promises[i].scene, changes));
}

static void every_scene_is_in_the_state_it_was_made_for(void)
{
  for (int i = 0; i < PROMISES; i++) {
    struct asked a;

    if (ask_promise(&a, i)) {
      CHECK(a.answer->solved);
      CHECK_STR(air_level_name(a.answer->state), air_level_name(promises[i].state));
      CHECK(a.answer->reason_count > 0);
    }
    suite_release(&a);
  }
}

static void quillmere_is_known_in_full_and_aldermoss_from_its_balancing_report(void)
{
  struct asked a;

  if (open_suite(&a, quillmere) && suite_ask(&a, NULL, NULL))
    CHECK_INT(a.answer->tier, AIR_FULL);
  suite_release(&a);
  if (open_suite(&a, aldermoss) && suite_ask(&a, NULL, NULL))
    CHECK_INT(a.answer->tier, AIR_BALANCED);
  suite_release(&a);
}

/* ---- what the answer promises, asked again ---- */

static void follow_list(struct asked *a, const struct air_lower_list *list)
{
  struct scene scene = scene_copy(a->facility, &a->scene, &a->arena);
  struct err err = {0};

  for (int i = 0; i < list->count; i++) {
    const struct air_lower *lower = &list->sashes[i];
    const struct scene_station *before = &a->scene.stations[lower->station];
    struct scene_station *now = &scene.stations[lower->station];
    double ask_m3_s = scene_station_ask_m3_s(a->facility, &scene, lower->station);
    struct air_answer *after;

    CHECK(before->raised && !before->blocked && !before->needs_flow);
    now->raised = lower->has_to_m && lower->to_m > a->facility->stations[lower->station].parked_m;
    now->opening_m = lower->to_m;
    CHECK_NEAR(ask_m3_s - scene_station_ask_m3_s(a->facility, &scene, lower->station),
               lower->frees_m3_s, 1e-9, 1e-12);
    after = air_ask(a->air, &scene, &air_settings_default, &a->arena, &err);
    REQUIRE(after != NULL);
    CHECK_STR(air_level_name(after->state), air_level_name(lower->state_after));
  }
}

static void whoever_follows_a_lower_first_list_gets_the_state_it_names(void)
{
  int followed = 0;

  for (int i = 0; i < PROMISES; i++) {
    struct asked a;

    if (ask_promise(&a, i)) {
      const struct air_lower_list *ends = &a.answer->ends_short, *ample = &a.answer->reaches_ample;

      follow_list(&a, ends);
      follow_list(&a, ample);
      if (ends->found)
        CHECK(ends->sashes[ends->count - 1].state_after < FACILITY_SHORT);
      if (ample->found)
        CHECK_INT(ample->sashes[ample->count - 1].state_after, FACILITY_AMPLE);
      followed += ends->found + ample->found;
    }
    suite_release(&a);
  }
  CHECK(followed >= 6);
}

static void the_busy_and_the_open_day_lists_name_who_is_absent_first(void)
{
  struct asked a;

  if (open_suite(&a, quillmere) && CHECK(suite_ask(&a, "busy", NULL))) {
    const struct air_lower_list *list = &a.answer->reaches_ample;

    if (CHECK(list->found && list->count >= 1))
      CHECK(a.scene.stations[list->sashes[0].station].unattended);
  }
  suite_release(&a);
  if (open_suite(&a, quillmere) && CHECK(suite_ask(&a, "open-day", NULL))) {
    const struct air_lower_list *list = &a.answer->ends_short;

    if (CHECK(list->found && list->count >= 2))
      CHECK(a.scene.stations[list->sashes[0].station].unattended);
  }
  suite_release(&a);
}

/* ---- how many more ---- */

static bool in_pool(const struct asked *a, const struct air_pool *pool, int station)
{
  return air_pool_has_station(a->facility, (int)(pool - a->answer->pools), station);
}

/* Opens `count` waiting stations of the pool, drawn by lot. */
static void open_some(const struct asked *a, const struct air_pool *pool, int count,
                      struct numeric_random *lot, struct scene *scene)
{
  int waiting[64], n = 0;

  for (int i = 0; i < a->facility->station_count; i++)
    if (in_pool(a, pool, i) && air_station_waits(a->air, &a->scene, i))
      waiting[n++] = i;
  for (int i = 0; i < count && n > 0; i++) {
    int pick = numeric_random_below(lot, n);

    air_raise_to_work(a->air, scene, waiting[pick]);
    waiting[pick] = waiting[--n];
  }
}

static void open_the_guaranteed_number(struct asked *a, const struct air_pool *pool,
                                       struct numeric_random *lot)
{
  struct err err = {0};

  CHECK(pool->more_guaranteed <= pool->more_best);
  for (int turn = 0; turn < 12 && pool->state != FACILITY_SHORT; turn++) {
    struct scene scene = scene_copy(a->facility, &a->scene, &a->arena);
    struct air_answer *after;

    open_some(a, pool, pool->more_guaranteed, lot, &scene);
    after = air_ask(a->air, &scene, &(struct air_settings){.solve_budget = 1000}, &a->arena, &err);
    REQUIRE(after != NULL);
    CHECK(after->pools[pool - a->answer->pools].state != FACILITY_SHORT);
  }
}

static void any_choice_of_the_guaranteed_number_leaves_the_pool_out_of_short(void)
{
  struct numeric_random lot;

  numeric_random_seed(&lot, 14);
  for (int i = 0; i < PROMISES; i++) {
    struct asked a;

    if (ask_promise(&a, i))
      for (int p = 0; p < a.answer->pool_count; p++)
        open_the_guaranteed_number(&a, &a.answer->pools[p], &lot);
    suite_release(&a);
  }
}

static void a_main_whose_stations_may_all_open_does_not_lower_the_number_on_the_wall(void)
{
  struct asked a;
  struct buf act;

  buf_init(&act, 256);
  if (open_suite(&a, quillmere) && CHECK(suite_ask(&a, NULL, NULL))) {
    const struct air_pool *solvent = &a.answer->pools[1], *unit = &a.answer->pools[2];

    CHECK_INT(solvent->more_guaranteed, 5); /* all there are */
    CHECK_INT(unit->more_guaranteed, 7);
    answer_act(a.facility, a.answer, &act);
    CHECK_STR(act.text, "AIR FOR 7 MORE");
  }
  buf_release(&act);
  suite_release(&a);
}

static void a_cabinet_that_is_always_on_is_nobodys_next_sash(void)
{
  struct asked a;

  if (open_suite(&a, aldermoss) && CHECK(suite_ask(&a, NULL, NULL))) {
    for (int i = 0; i < a.facility->station_count; i++)
      CHECK(a.answer->stations[i].may_open.asked !=
            (a.facility->stations[i].flow == FACILITY_CONSTANT));
    CHECK_INT(a.answer->pools[0].more_best, 3); /* H2 400, B1 395, H1 or H3 500 of 1420 cfm */
  }
  suite_release(&a);
}

/* ---- what a person reads first ---- */

static void air_that_goes_round_through_the_chase_is_no_exhaust(void)
{
  struct asked a;

  if (open_suite(&a, quillmere) && CHECK(suite_ask(&a, "busy", NULL))) {
    double by_stations_m3_s = 0.0;
    int litho = facility_node_find(a.facility, "Litho");
    int chase = facility_node_find(a.facility, "Chase");

    for (int i = 0; i < a.facility->station_count; i++)
      by_stations_m3_s +=
          a.facility->stations[i].room == litho ? a.answer->stations[i].flow_m3_s : 0.0;
    CHECK_NEAR(a.answer->rooms[litho].exhaust_m3_s, by_stations_m3_s, 1e-9, 0.0);
    CHECK_NEAR(a.answer->rooms[chase].exhaust_m3_s, 260.0 / 3600.0, 1e-9, 0.0);
    CHECK(a.answer->rooms[litho].total_changes_per_h >
          3.0 * a.answer->rooms[litho].fresh_changes_per_h);
  }
  suite_release(&a);
}

static void what_is_not_as_usual_is_said_before_what_it_brings(void)
{
  static const char *const changes[] = {"off AF/1", "door D2=open", NULL};
  struct asked a;

  if (open_suite(&a, quillmere) && CHECK(suite_ask(&a, "busy", changes)) &&
      CHECK(a.answer->reason_count > 2)) {
    CHECK_STR(a.answer->reasons[0], "AF: 1 of the usual 2 running");
    CHECK_STR(a.answer->reasons[1], "door D2 stands open");
  }
  suite_release(&a);
}

static void a_door_that_stands_open_is_shut_before_any_sash_is_lowered(void)
{
  static const char *const changes[] = {"door D2=open", NULL};
  struct asked a;
  struct buf act;

  buf_init(&act, 256);
  if (open_suite(&a, quillmere) && CHECK(suite_ask(&a, "busy", changes))) {
    CHECK_INT(a.answer->state, FACILITY_SHORT);
    CHECK(!a.answer->ends_short.found && a.answer->ends_short.shut_doors);
    answer_act(a.facility, a.answer, &act);
    CHECK_STR(act.text, "SHUT DOOR D2");
  }
  buf_release(&act);
  suite_release(&a);
}

/* ---- an answer does not depend on what was asked before ---- */

static void move_by_lot(const struct facility *f, struct numeric_random *lot, struct scene *scene)
{
  int i = numeric_random_below(lot, f->station_count);
  int fan = numeric_random_below(lot, f->fan_count);
  double way = numeric_random_unit(lot);

  scene->stations[i].raised = way > 0.35;
  scene->stations[i].opening_m = way > 0.7    ? f->stations[i].most_m
                                 : way > 0.35 ? f->stations[i].work_m
                                              : f->stations[i].parked_m;
  if (numeric_random_unit(lot) < 0.15) /* lose units, never all of them */
    for (int unit = numeric_random_below(lot, f->fans[fan].count); unit > 0; unit--)
      scene_run_unit(f, scene, fan, unit, false);
}

static void compare_with_cold(struct asked *warm, struct asked *cold, const struct scene *scene)
{
  struct air_outcome w, c;
  struct net_report warm_report, cold_report;
  int outdoors = facility_node_outdoors(warm->facility);

  net_forget(cold->air->net);
  air_outcome_of(warm->air, scene, NULL, &w, &warm_report);
  air_outcome_of(cold->air, scene, NULL, &c, &cold_report);
  CHECK(warm_report.verdict != NET_FAILED);
  CHECK_INT(warm_report.verdict, cold_report.verdict);
  CHECK_INT(w.miss_count, c.miss_count);
  for (int n = 0; n < outdoors; n++)
    if (net_has_pressure(warm->air->net, n) && net_has_pressure(cold->air->net, n))
      CHECK_NEAR(net_pressure_Pa(warm->air->net, n), net_pressure_Pa(cold->air->net, n), 1e-6,
                 1e-4);
}

static void walk(const char *path, int steps)
{
  struct asked warm, cold = {0};
  struct numeric_random lot;

  numeric_random_seed(&lot, 41);
  if (open_suite(&warm, path) && open_suite(&cold, path)) {
    struct scene scene = scene_parked(warm.facility, &warm.arena);

    for (int step = 0; step < steps; step++) {
      check_case("%s, step %d", path, step);
      move_by_lot(warm.facility, &lot, &scene);
      compare_with_cold(&warm, &cold, &scene);
    }
  }
  suite_release(&warm);
  suite_release(&cold);
}

static void an_answer_does_not_depend_on_what_was_asked_before(void)
{
  walk(quillmere, 300);
  walk(aldermoss, 300);
}

/* The limits of the unit and of its terminals chase each other here. */
static void a_unit_with_air_to_spare_is_never_said_to_have_no_pressure(void)
{
  static const char *const door[] = {"sash A6=work", "sash A5=0.75m", "sash A1=0.7m",
                                     "door D2=open", NULL};
  struct asked a;

  if (open_suite(&a, quillmere) && CHECK(suite_ask(&a, NULL, door))) {
    const struct air_supply *unit = &a.answer->supplies[0];

    CHECK_INT(a.answer->report.verdict, NET_SOLVED);
    CHECK(unit->flow_m3_s < a.facility->supplies[0].most_m3_s);
    for (int i = 0; i < a.facility->supplies[0].feed_count; i++)
      CHECK(unit->feeds[i].segment != NET_NO_FLOW);
  }
  suite_release(&a);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(every_scene_is_in_the_state_it_was_made_for);
  RUN(quillmere_is_known_in_full_and_aldermoss_from_its_balancing_report);
  RUN(whoever_follows_a_lower_first_list_gets_the_state_it_names);
  RUN(the_busy_and_the_open_day_lists_name_who_is_absent_first);
  RUN(any_choice_of_the_guaranteed_number_leaves_the_pool_out_of_short);
  RUN(a_main_whose_stations_may_all_open_does_not_lower_the_number_on_the_wall);
  RUN(a_cabinet_that_is_always_on_is_nobodys_next_sash);
  RUN(air_that_goes_round_through_the_chase_is_no_exhaust);
  RUN(what_is_not_as_usual_is_said_before_what_it_brings);
  RUN(a_door_that_stands_open_is_shut_before_any_sash_is_lowered);
  RUN(a_unit_with_air_to_spare_is_never_said_to_have_no_pressure);
  RUN(an_answer_does_not_depend_on_what_was_asked_before);
  return check_end();
}
