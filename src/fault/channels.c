#include "fault/fault_impl.h"

#include <math.h>

/* Which points measure something that the model computes, and how well. */

static bool is_channel(const struct feeds_point *p)
{
  switch ((int)p->of) {
  case FEEDS_OF_STATION:
    return p->what == FEEDS_FLOW || p->what == FEEDS_FACE_VELOCITY;
  case FEEDS_OF_SUPPLY:
  case FEEDS_OF_MAIN:
  case FEEDS_OF_EXHAUST:
    return p->what == FEEDS_FLOW;
  case FEEDS_OF_ROOM:
  case FEEDS_OF_JUNCTION:
    return p->what == FEEDS_PRESSURE;
  case FEEDS_OF_FAN:
    return p->what == FEEDS_SPEED;
  default:
    return false;
  }
}

int fault_channels(const struct facility *f, const struct feeds *feeds, struct fault_channel *out)
{
  int count = 0;

  for (int i = 0; i < feeds->point_count; i++) {
    const struct feeds_point *p = &feeds->points[i];

    if (is_channel(p) && (p->of != FEEDS_OF_STATION || f->stations[p->index].in_service))
      out[count++] = (struct fault_channel){i, p, p->what != FEEDS_PRESSURE};
  }
  return count;
}

static double node_Pa(const struct air_answer *answer, int node)
{
  return answer->nodes[node].known ? answer->nodes[node].pressure_Pa : (double)NAN;
}

static double main_flow_m3_s(const struct facility *f, const struct air_answer *answer, int main)
{
  double sum = f->mains[main].fan_count > 0 ? 0 : (double)NAN;

  for (int k = 0; k < f->mains[main].fan_count; k++)
    sum += answer->fans[f->mains[main].fans[k]].flow_m3_s;
  return sum;
}

double fault_computed_si(const struct facility *f, const struct air_answer *answer,
                         const struct feeds_point *point)
{
  int i = point->index;

  switch ((int)point->of) {
  case FEEDS_OF_STATION:
    if (point->what == FEEDS_FLOW)
      return answer->stations[i].flow_m3_s;
    return answer->stations[i].has_face_velocity ? answer->stations[i].face_velocity_m_s
                                                 : (double)NAN;
  case FEEDS_OF_SUPPLY:
    return answer->supplies[i].flow_m3_s;
  case FEEDS_OF_MAIN:
    return main_flow_m3_s(f, answer, i);
  case FEEDS_OF_EXHAUST:
    return f->exhausts[i].flow_m3_s;
  case FEEDS_OF_ROOM:
    return node_Pa(answer, i) - node_Pa(answer, point->over);
  case FEEDS_OF_JUNCTION:
    return node_Pa(answer, i);
  case FEEDS_OF_FAN:
    return answer->fans[i].running > 0 ? answer->fans[i].speed_ratio : (double)NAN;
  default:
    return NAN;
  }
}

double fault_scale_si(const struct fault_channel *c, double computed_si)
{
  enum { STEPS = 10 }; /* below so many of its steps a share of a reading means nothing */

  return c->relative ? fmax(fabs(computed_si), STEPS * c->as->resolution_si) : 1.0;
}

double fault_noise_si(const struct feeds_faults *s, const struct fault_channel *c,
                      double computed_si)
{
  double step_si =
      c->as->resolution_si / sqrt(12.0); /* of a rounded reading, JCGM 100:2008 F.2.2.1 */
  double size_si = fabs(computed_si), noise_si;

  switch ((int)c->as->what) {
  case FEEDS_FLOW:
    noise_si = s->flow_ratio * size_si;
    break;
  case FEEDS_FACE_VELOCITY:
    noise_si = s->velocity_ratio * size_si;
    break;
  case FEEDS_SPEED:
    noise_si = s->speed_ratio * size_si;
    break;
  default:
    noise_si = hypot(s->pressure_ratio * size_si, s->pressure_Pa);
  }
  return hypot(noise_si, step_si);
}
