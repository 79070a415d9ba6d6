/* What is read: its value in an answer, its name, its unit on paper. */
#include "walk/walk_impl.h"

#include <math.h>
#include <stdio.h>

static const struct unit_row {
  enum units_dimension dimension;
  struct {
    const char *unit, *shown;
    int decimals;
  } system[2];
} rows[FACILITY_GAUGE_COUNT] = {
    [FACILITY_GAUGE_ROOM] = {UNITS_PRESSURE_DIFFERENCE, {{"Pa", "Pa", 1}, {"inH2O", "inH2O", 3}}},
    [FACILITY_GAUGE_FACE] = {UNITS_VELOCITY, {{"m/s", "m/s", 2}, {"fpm", "fpm", 0}}},
    [FACILITY_GAUGE_DUCT] = {UNITS_PRESSURE_DIFFERENCE, {{"Pa", "Pa", 0}, {"inH2O", "inH2O", 2}}},
    [FACILITY_GAUGE_SUPPLY] = {UNITS_FLOW, {{"m3/h", "m³/h", 0}, {"cfm", "cfm", 0}}},
    [FACILITY_GAUGE_SPEED] = {UNITS_SHARE, {{"%", "%", 0}, {"%", "%", 0}}},
    [FACILITY_GAUGE_FLOW] = {UNITS_FLOW, {{"m3/h", "m³/h", 0}, {"cfm", "cfm", 0}}},
};

enum units_dimension walk_dimension(enum facility_gauge_of of)
{
  return rows[of].dimension;
}

const char *walk_unit(enum facility_gauge_of of, enum units_system system)
{
  return rows[of].system[system].unit;
}

/* One of the unit, in SI. */
static double one_si(enum facility_gauge_of of, enum units_system system)
{
  struct units_quantity one = {0};
  char text[32];

  snprintf(text, sizeof text, "1 %s", rows[of].system[system].unit);
  BUG_IF(units_parse(text, rows[of].dimension, UNITS_NOTHING, &one, NULL) != ERR_OK);
  return one.si;
}

double walk_resolution_si(enum facility_gauge_of of, enum units_system system)
{
  return one_si(of, system) * pow(10.0, -rows[of].system[system].decimals);
}

static void print(struct buf *out, const char *format, double si, enum facility_gauge_of of,
                  enum units_system system)
{
  double value = si / one_si(of, system), step = pow(10.0, -rows[of].system[system].decimals);

  if (isnan(si)) {
    buf_puts(out, "not known");
    return;
  }
  if (fabs(value) < step / 2)
    value = 0.0; /* no "-0.0" */
  if (format[0] == '+')
    buf_printf(out, "%+.*f", rows[of].system[system].decimals, value);
  else
    buf_printf(out, "%.*f", rows[of].system[system].decimals, value);
  buf_printf(out, " %s", rows[of].system[system].shown);
}

void walk_print(struct buf *out, double si, enum facility_gauge_of of, enum units_system system)
{
  print(out, "", si, of, system);
}

void walk_print_step(struct buf *out, double si, enum facility_gauge_of of,
                     enum units_system system)
{
  print(out, "+", si, of, system);
}

static double node_Pa(const struct air_answer *answer, int node)
{
  return answer->nodes[node].known ? answer->nodes[node].pressure_Pa : (double)NAN;
}

double walk_predicted_si(const struct facility *facility, const struct air_answer *answer,
                         const struct walk_quantity *quantity)
{
  int i = quantity->index;

  if (!answer->solved)
    return NAN;
  switch (quantity->of) {
  case FACILITY_GAUGE_ROOM:
  case FACILITY_GAUGE_DUCT:
    return node_Pa(answer, i) - node_Pa(answer, quantity->over);
  case FACILITY_GAUGE_FACE:
    return answer->stations[i].has_face_velocity ? answer->stations[i].face_velocity_m_s
                                                 : (double)NAN;
  case FACILITY_GAUGE_SUPPLY:
    return answer->supplies[i].flow_m3_s;
  case FACILITY_GAUGE_SPEED:
    return facility->fans[i].holds && answer->fans[i].running > 0 ? answer->fans[i].speed_ratio
                                                                  : (double)NAN;
  case FACILITY_GAUGE_FLOW: /* no walk asks for it */
  case FACILITY_GAUGE_COUNT:
    break;
  }
  return NAN;
}

const char *walk_say(struct arena *arena, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *text = arena_vprintf(arena, fmt, args);
  va_end(args);
  return text ? text : "";
}
