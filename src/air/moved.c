/*
 * The air of a copy whose figures move: for who fits them to what was measured.
 */
#include "air/air_impl.h"

#include <math.h>

struct air_moved {
  struct arena arena;
  struct facility_moved *facility;
  struct air *air;
};

struct air_moved *air_moved_new(const struct facility *facility, struct err *err)
{
  struct arena arena;
  struct air_moved *m;

  arena_init(&arena, SIZE_MAX); /* bounded by the facility */
  m = ARENA_NEW(&arena, struct air_moved);
  BUG_IF(!m);
  m->facility = facility_moved_new(facility, &arena);
  m->air = air_new(facility_moved_as(m->facility), err);
  m->arena = arena;
  if (m->air)
    return m;
  arena_release(&arena);
  return NULL;
}

void air_moved_free(struct air_moved *moved)
{
  struct arena arena;

  if (!moved)
    return;
  air_free(moved->air);
  arena = moved->arena; /* it lives in there itself */
  arena_release(&arena);
}

const struct air *air_moved_as(const struct air_moved *moved)
{
  return moved->air;
}

const struct facility *air_moved_facility(const struct air_moved *moved)
{
  return facility_moved_as(moved->facility);
}

void air_moved_to(struct air_moved *moved, int input, double by_ratio)
{
  facility_move(moved->facility, input, by_ratio);
  air_values_forget(moved->air);
}

void air_moved_exponent(struct air_moved *moved, int leak, double n_ratio, double pivot_Pa)
{
  facility_move_exponent(moved->facility, leak, n_ratio, pivot_Pa);
  air_values_forget(moved->air);
}

bool air_moved_try(struct air_moved *moved, int input, double by_ratio)
{
  facility_move(moved->facility, input, by_ratio);
  return air_values_moved(moved->air, &moved->air->facility->inputs[input]);
}

bool air_moved_solve(struct air_moved *moved, const struct scene *scene)
{
  struct net_report report;

  air_network_set_scene(moved->air, scene);
  moved->air->failed = net_solve(moved->air->net, &report) == NET_FAILED;
  return !moved->air->failed;
}

void air_moved_cold(struct air_moved *moved)
{
  net_forget(moved->air->net);
}

double air_moved_face_m_s(const struct air_moved *moved, const struct scene *scene, int station)
{
  return moved->air->failed ? (double)NAN : air_face_velocity_m_s(moved->air, scene, station);
}

double air_moved_speed_ratio(const struct air_moved *moved, int fan)
{
  const struct facility_fan *f = &moved->air->facility->fans[fan];
  bool runs = f->holds && moved->air->last.fan_running[fan] > 0;

  return runs && !moved->air->failed ? net_speed_ratio(moved->air->net, moved->air->fan_link[fan])
                                     : (double)NAN;
}
