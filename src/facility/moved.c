/* A copy of a facility whose figures may be moved within their ±. */
#include "facility/facility.h"

#include <math.h>
#include <string.h>

/* Below this share of itself no figure is moved: a flow, an area or a drop stays above zero. */
static const double least_share_ratio = 0.02;

struct facility_moved {
  const struct facility *of;
  struct facility facility;
  struct facility_leak *leaks;
  double *turn_ratio; /* per leak: of its c, for an exponent of its own */
  struct facility_door *doors;
  struct facility_duct *ducts;
  struct facility_fan *fans;
  double **rise_Pa; /* per fan */
  struct facility_exhaust *exhausts;
  struct facility_main *mains;
  struct facility_supply *supplies;
  struct facility_feed **feeds;      /* per supply */
  double **main_m3_s, **supply_m3_s; /* declared capacities */
  struct facility_station *stations;
};

static void *copy_of(struct arena *arena, const void *from, int count, size_t size)
{
  void *to = arena_push(arena, (size_t)count + 1, size);

  BUG_IF(!to);
  if (count > 0)
    memcpy(to, from, (size_t)count * size);
  return to;
}

#define COPY(arena, from, count) copy_of(arena, from, count, sizeof *(from))

static double *copy_capacity(struct arena *arena, struct facility_declared *declared)
{
  double *m3_s = COPY(arena, declared->capacity_m3_s, declared->value_count);

  declared->capacity_m3_s = m3_s;
  return m3_s;
}

static void copy_plant(struct facility_moved *m, const struct facility *f, struct arena *arena)
{
  m->fans = COPY(arena, f->fans, f->fan_count);
  m->rise_Pa = ARENA_ARRAY(arena, double *, (size_t)f->fan_count + 1);
  for (int i = 0; i < f->fan_count; i++) {
    m->rise_Pa[i] = COPY(arena, f->fans[i].rise_Pa, f->fans[i].point_count);
    m->fans[i].rise_Pa = m->rise_Pa[i];
  }
  m->mains = COPY(arena, f->mains, f->main_count);
  m->main_m3_s = ARENA_ARRAY(arena, double *, (size_t)f->main_count + 1);
  for (int i = 0; i < f->main_count; i++)
    m->main_m3_s[i] = copy_capacity(arena, &m->mains[i].declared);
  m->supplies = COPY(arena, f->supplies, f->supply_count);
  m->supply_m3_s = ARENA_ARRAY(arena, double *, (size_t)f->supply_count + 1);
  m->feeds = ARENA_ARRAY(arena, struct facility_feed *, (size_t)f->supply_count + 1);
  for (int i = 0; i < f->supply_count; i++) {
    m->supply_m3_s[i] = copy_capacity(arena, &m->supplies[i].declared);
    m->feeds[i] = COPY(arena, f->supplies[i].feeds, f->supplies[i].feed_count);
    m->supplies[i].feeds = m->feeds[i];
  }
}

struct facility_moved *facility_moved_new(const struct facility *f, struct arena *arena)
{
  struct facility_moved *m = ARENA_NEW(arena, struct facility_moved);

  BUG_IF(!m);
  m->of = f;
  m->facility = *f;
  m->leaks = COPY(arena, f->leaks, f->leak_count);
  m->turn_ratio = ARENA_ARRAY(arena, double, (size_t)f->leak_count + 1);
  BUG_IF(!m->turn_ratio);
  for (int i = 0; i < f->leak_count; i++)
    m->turn_ratio[i] = 1.0;
  m->doors = COPY(arena, f->doors, f->door_count);
  m->ducts = COPY(arena, f->ducts, f->duct_count);
  m->exhausts = COPY(arena, f->exhausts, f->exhaust_count);
  m->stations = COPY(arena, f->stations, f->station_count);
  copy_plant(m, f, arena);
  m->facility.leaks = m->leaks;
  m->facility.doors = m->doors;
  m->facility.ducts = m->ducts;
  m->facility.exhausts = m->exhausts;
  m->facility.stations = m->stations;
  m->facility.fans = m->fans;
  m->facility.mains = m->mains;
  m->facility.supplies = m->supplies;
  return m;
}

const struct facility *facility_moved_as(const struct facility_moved *moved)
{
  return &moved->facility;
}

/* ---- moving ---- */

static void scale_law(struct facility_leak_law *to, const struct facility_leak_law *from,
                      double share)
{
  to->area_m2 = from->area_m2 * share;
  to->c = from->c * share;
}

static void scale_drop(struct facility_resistance *to, const struct facility_resistance *from,
                       double share)
{
  to->drop_Pa = from->drop_Pa * share;
  to->lumped_Pa_s2_m6 = from->lumped_Pa_s2_m6 * share;
  to->loss_ratio = from->loss_ratio * share;
  to->length_m = from->length_m * share;
}

static void scale_curve(struct facility_moved *m, int fan, double share)
{
  const struct facility_fan *from = &m->of->fans[fan];

  for (int i = 0; i < from->point_count; i++)
    m->rise_Pa[fan][i] = from->rise_Pa[i] * share;
  m->fans[fan].a_Pa = from->a_Pa * share;
  m->fans[fan].b_Pa_s2_m6 = from->b_Pa_s2_m6 * share;
}

static void move_feed(struct facility_moved *m, const struct facility_input *in, double value_si)
{
  struct facility_feed *feed = &m->feeds[in->index][in->sub];

  switch ((int)in->move) {
  case FACILITY_MOVE_FEED_FLOW:
    feed->flow_m3_s = value_si;
    break;
  case FACILITY_MOVE_FEED_HOLD:
    feed->hold_Pa = value_si;
    break;
  case FACILITY_MOVE_FEED_OFFSET:
    feed->offset_m3_s = value_si;
    break;
  case FACILITY_MOVE_FEED_MOST:
    feed->most_m3_s = fmax(value_si, feed->least_m3_s);
    break;
  default:
    feed->wide_open_Pa = m->of->supplies[in->index].feeds[in->sub].wide_open_Pa * value_si;
  }
}

static void move_station(struct facility_moved *m, const struct facility_input *in, double value_si)
{
  struct facility_station *s = &m->stations[in->index];
  const struct facility_station *from = &m->of->stations[in->index];

  switch ((int)in->move) {
  case FACILITY_MOVE_STATION_CONSTANT:
    s->parked_m3_s = s->work_m3_s = value_si;
    break;
  case FACILITY_MOVE_STATION_PARKED:
    s->parked_m3_s = value_si;
    break;
  case FACILITY_MOVE_STATION_WORK:
    s->work_m3_s = value_si;
    break;
  case FACILITY_MOVE_STATION_VELOCITY:
    s->velocity_m_s = value_si;
    break;
  case FACILITY_MOVE_STATION_LEAST:
    s->least_m3_s = value_si;
    break;
  case FACILITY_MOVE_STATION_MOST:
    s->most_m3_s = value_si;
    break;
  case FACILITY_MOVE_STATION_FACE:
    s->face_coefficient_ratio = from->face_coefficient_ratio * value_si;
    break;
  case FACILITY_MOVE_BRANCH_DROP:
    scale_drop(&s->branch, &from->branch, value_si);
    break;
  default:
    s->branch.flow_m3_s = value_si;
  }
}

static void move_plant(struct facility_moved *m, const struct facility_input *in, double value_si)
{
  int i = in->index;

  switch ((int)in->move) {
  case FACILITY_MOVE_LEAK:
    scale_law(&m->leaks[i].law, &m->of->leaks[i].law, value_si);
    m->leaks[i].law.c *= m->turn_ratio[i];
    break;
  case FACILITY_MOVE_DOOR_CLOSED:
    scale_law(&m->doors[i].closed, &m->of->doors[i].closed, value_si);
    break;
  case FACILITY_MOVE_DOOR_OPEN:
    scale_law(&m->doors[i].open, &m->of->doors[i].open, value_si);
    break;
  case FACILITY_MOVE_DUCT_DROP:
    scale_drop(&m->ducts[i].resistance, &m->of->ducts[i].resistance, value_si);
    break;
  case FACILITY_MOVE_DUCT_FLOW:
    m->ducts[i].resistance.flow_m3_s = value_si;
    break;
  case FACILITY_MOVE_FAN_CURVE:
    scale_curve(m, i, value_si);
    break;
  case FACILITY_MOVE_FAN_HOLD:
    m->fans[i].hold_Pa = value_si;
    break;
  case FACILITY_MOVE_EXHAUST:
    m->exhausts[i].flow_m3_s = value_si;
    break;
  case FACILITY_MOVE_MAIN_CAPACITY:
    m->main_m3_s[i][in->sub] = value_si;
    break;
  case FACILITY_MOVE_SUPPLY_CAPACITY:
    m->supply_m3_s[i][in->sub] = value_si;
    break;
  default:
    m->supplies[i].most_m3_s = value_si;
  }
}

static bool may_change_sign(const struct facility_input *in)
{
  return in->figure == FACILITY_FIGURE_OFFSET || in->figure == FACILITY_FIGURE_PRESSURE;
}

void facility_move(struct facility_moved *moved, int input, double by_ratio)
{
  const struct facility_input *in = &moved->of->inputs[input];
  double value_si = in->value_si + by_ratio * in->plus_minus_si;

  if (!may_change_sign(in))
    value_si = fmax(value_si, least_share_ratio * in->value_si);
  if (in->move >= FACILITY_MOVE_STATION_CONSTANT)
    move_station(moved, in, value_si);
  else if (in->move >= FACILITY_MOVE_FEED_FLOW)
    move_feed(moved, in, value_si);
  else
    move_plant(moved, in, value_si);
}

void facility_move_exponent(struct facility_moved *moved, int leak, double n_ratio, double pivot_Pa)
{
  struct facility_leak_law *law = &moved->leaks[leak].law;
  double turn = pow(pivot_Pa, moved->of->leaks[leak].law.n - n_ratio);

  law->c *= turn / moved->turn_ratio[leak];
  law->n = n_ratio;
  moved->turn_ratio[leak] = turn;
}
