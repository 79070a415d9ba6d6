#include "etch/etch_impl.h"

#include "base/constants.h"

#include <math.h>
#include <stdlib.h>

/* For people: three digits, in the unit that the bench uses at that size. */

double etch_in_degrees(double angle_rad)
{
  return angle_rad * 180 / PI;
}

static double rounded(double value, int digits)
{
  double step;

  if (value == 0 || !isfinite(value))
    return value;
  step = pow(10, floor(log10(fabs(value))) - (digits - 1));
  return round(value / step) * step;
}

/* `shown`: the unit as it is read, where it is not written so. */
static const char *in_unit(double si, enum units_dimension dimension, const char *unit,
                           const char *shown, int digits, struct arena *arena)
{
  struct buf out;
  double value;

  if (isnan(si))
    return "not known";
  buf_init(&out, 64);
  units_print_in(&out, si, dimension, unit);
  value = strtod(out.text, NULL);
  buf_release(&out);
  return arena_printf(arena, "%.7g %s", rounded(value, digits), shown);
}

const char *etch_length(double length_m, struct arena *arena)
{
  if (length_m >= 9.995e-3)
    return in_unit(length_m, UNITS_LENGTH, "mm", "mm", 3, arena);
  if (length_m < 0.9995e-6)
    return in_unit(length_m, UNITS_LENGTH, "nm", "nm", 3, arena);
  return in_unit(length_m, UNITS_LENGTH, "um", "µm", 3, arena);
}

static const char *time_to(double time_s, int digits, struct arena *arena)
{
  if (time_s < 119.95)
    return in_unit(time_s, UNITS_TIME, "s", "s", digits, arena);
  if (time_s < 3 * 3600.0)
    return in_unit(time_s, UNITS_TIME, "min", "min", digits, arena);
  return in_unit(time_s, UNITS_TIME, "h", "h", digits, arena);
}

const char *etch_time(double time_s, struct arena *arena)
{
  return time_to(time_s, 3, arena);
}

const char *etch_time_rough(double time_s, struct arena *arena)
{
  return time_to(time_s, 2, arena);
}

const char *etch_speed(double rate_m_s, struct arena *arena)
{
  return in_unit(rate_m_s, UNITS_ETCH_RATE, "nm/min", "nm/min", 3, arena);
}

const char *etch_degrees(double temperature_K, enum units_system system, struct arena *arena)
{
  struct buf out;
  const char *text;

  if (isnan(temperature_K))
    return "a temperature that is not said";
  buf_init(&out, 64);
  units_print(&out, temperature_K, UNITS_TEMPERATURE, system);
  text = arena_strdup(arena, out.text);
  buf_release(&out);
  return text;
}

void etch_say(struct etch_lines *lines, struct arena *arena, const char *fmt, ...)
{
  va_list args;

  if (lines->count == lines->room) {
    int room = lines->room ? 2 * lines->room : 8;
    const char **list = ARENA_ARRAY(arena, const char *, (size_t)room);

    BUG_IF(!list);
    for (int i = 0; i < lines->count; i++)
      list[i] = lines->list[i];
    lines->list = list;
    lines->room = room;
  }
  va_start(args, fmt);
  lines->list[lines->count++] = arena_vprintf(arena, fmt, args);
  va_end(args);
}
