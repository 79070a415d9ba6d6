#include "judge/judge_impl.h"

#include <math.h>
#include <string.h>

/* Solved anew only when the scene differs: most of what comes changes nothing. */

static bool is_same_number(double a, double b)
{
  return !(a < b) && !(a > b);
}

static bool is_same_text(const char *a, const char *b)
{
  return a == b || (a && b && strcmp(a, b) == 0);
}

static bool is_same_station(const struct scene_station *a, const struct scene_station *b)
{
  return a->raised == b->raised && is_same_number(a->opening_m, b->opening_m) &&
         a->unattended == b->unattended && a->blocked == b->blocked &&
         a->withdrawn == b->withdrawn && is_same_text(a->needs_flow, b->needs_flow) &&
         is_same_number(a->cover_ratio, b->cover_ratio) && a->has_ask == b->has_ask &&
         is_same_number(a->ask_m3_s, b->ask_m3_s);
}

/* A measured flow moves all the time; only a rule by measured demand looks at it. */
static bool is_same_flow(const struct scene_station *a, const struct scene_station *b)
{
  return a->has_measured == b->has_measured && is_same_number(a->measured_m3_s, b->measured_m3_s);
}

static bool measures_demand(const struct facility *f)
{
  bool any = false;

  for (int i = 0; i < f->main_count; i++)
    any = any || (f->mains[i].declared.given && f->mains[i].declared.demand_measured);
  for (int i = 0; i < f->supply_count; i++)
    any = any || (f->supplies[i].declared.given && f->supplies[i].declared.demand_measured);
  return any;
}

/*
 * The outdoor temperature is another at every sample, and each would be solved anew: eight in nine
 * solves of an ordinary day.  It is followed in steps that its sensor cannot tell apart (common practice,
 * no source); half a kelvin is a sixth of a percent of the density.
 */
static const double outdoor_step_K = 0.5;

static bool is_same_outdoors(double a_K, double b_K)
{
  return fabs(a_K - b_K) < outdoor_step_K || is_same_number(a_K, b_K);
}

bool judge_is_same_scene(const struct facility *f, const struct scene *a, const struct scene *b)
{
  bool same = a->has_outdoor_temperature == b->has_outdoor_temperature &&
              is_same_outdoors(a->outdoor_temperature_K, b->outdoor_temperature_K) &&
              (a->was_of_pool != NULL) == (b->was_of_pool != NULL);
  bool by_flow = measures_demand(f);

  for (int i = 0; a->was_of_pool && i < f->main_count + f->supply_count && same; i++)
    same = a->was_of_pool[i] == b->was_of_pool[i];
  for (int i = 0; i < f->station_count && same; i++)
    same = is_same_station(&a->stations[i], &b->stations[i]) &&
           (!by_flow || is_same_flow(&a->stations[i], &b->stations[i]));
  for (int i = 0; i < f->door_count && same; i++)
    same = a->door_open[i] == b->door_open[i];
  for (int i = 0; i < f->fan_count && same; i++)
    same = a->fan_running[i] == b->fan_running[i] && a->fan_units[i] == b->fan_units[i];
  for (int i = 0; i < f->supply_count && same; i++)
    same = a->supply_off[i] == b->supply_off[i];
  for (int i = 0; i < f->duct_count && same; i++)
    same = a->duct_shut[i] == b->duct_shut[i];
  return same;
}
