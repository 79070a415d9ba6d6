#include "units/units_impl.h"

#include <math.h>

/*
 * How people read each dimension: the row of units.def, the text on screen, and
 * the everyday step, in that unit.  A step of 0 means three digits, whatever the
 * size.  The steps are common practice for what instruments in a building can
 * tell apart, no source.
 */
struct style {
  const char *unit, *shown;
  double step;
};

static const struct style styles[UNITS_DIMENSION_COUNT][2] = {
    [UNITS_RATIO] = {{"", "", 0}, {"", "", 0}},
    [UNITS_SHARE] = {{"%", "%", 1}, {"%", "%", 1}},
    [UNITS_OPEN_SHARE] = {{"%open", "% open", 1}, {"%open", "% open", 1}},
    [UNITS_RELATIVE_HUMIDITY] = {{"%RH", "%RH", 1}, {"%RH", "%RH", 1}},
    [UNITS_LENGTH] = {{"m", "m", 0.01}, {"in", "in", 0.5}},
    [UNITS_AREA] = {{"m2", "m²", 0.01}, {"ft2", "ft²", 0.1}},
    [UNITS_VOLUME] = {{"m3", "m³", 0.1}, {"ft3", "ft³", 1}},
    [UNITS_TIME] = {{"s", "s", 1}, {"s", "s", 1}},
    [UNITS_MASS] = {{"kg", "kg", 0.01}, {"lb", "lb", 0.01}},
    [UNITS_TEMPERATURE] = {{"degC", "°C", 0.1}, {"degF", "°F", 0.1}},
    [UNITS_TEMPERATURE_DIFFERENCE] = {{"K", "K", 0.1}, {"degF(diff)", "°F", 0.1}},
    [UNITS_PRESSURE_DIFFERENCE] = {{"Pa", "Pa", 0.5}, {"inH2O", "inH2O", 0.001}},
    [UNITS_GAUGE_PRESSURE] = {{"Pa", "Pa", 0.5}, {"inH2O", "inH2O", 0.001}},
    [UNITS_ABSOLUTE_PRESSURE] = {{"hPa(a)", "hPa(a)", 1}, {"inHg(a)", "inHg(a)", 0.01}},
    [UNITS_VELOCITY] = {{"m/s", "m/s", 0.01}, {"fpm", "fpm", 1}},
    [UNITS_FLOW] = {{"m3/h", "m³/h", 10}, {"cfm", "cfm", 5}},
    [UNITS_STANDARD_FLOW] = {{"m3/h(std)", "m³/h (std)", 10}, {"scfm", "scfm", 5}},
    [UNITS_MASS_FLOW] = {{"kg/s", "kg/s", 0.001}, {"lb/min", "lb/min", 0.1}},
    [UNITS_FLOW_PER_AREA] = {{"L/(s m2)", "L/(s m²)", 0}, {"cfm/ft2", "cfm/ft²", 0}},
    [UNITS_AIR_CHANGES] = {{"1/h", "1/h", 0.1}, {"1/h", "1/h", 0.1}},
    [UNITS_FREQUENCY] = {{"Hz", "Hz", 0.1}, {"Hz", "Hz", 0.1}},
    [UNITS_ROTATION] = {{"rpm", "rpm", 1}, {"rpm", "rpm", 1}},
    [UNITS_DENSITY] = {{"kg/m3", "kg/m³", 0.001}, {"lb/ft3", "lb/ft³", 0.0001}},
    [UNITS_VISCOSITY] = {{"Pa s", "Pa s", 0}, {"lb/(ft s)", "lb/(ft s)", 0}},
    [UNITS_KINEMATIC_VISCOSITY] = {{"m2/s", "m²/s", 0}, {"ft2/s", "ft²/s", 0}},
    [UNITS_RESISTANCE] = {{"Pa/(m3/s)2", "Pa/(m³/s)²", 0}, {"inH2O/cfm2", "inH2O/cfm²", 0}},
    [UNITS_LINEAR_RESISTANCE] = {{"Pa/(m3/s)", "Pa/(m³/s)", 0}, {"inH2O/cfm", "inH2O/cfm", 0}},
    [UNITS_ORIFICE_CONSTANT] = {{"m3/(s m2 Pa0.5)", "m³/(s m² Pa^0.5)", 0},
                                {"cfm/(ft2 inH2O0.5)", "cfm/(ft² inH2O^0.5)", 0}},
    [UNITS_LEAK_COEFFICIENT] = {{"m3/(s Pan)", "m³/(s Pa^n)", 0}, {"cfm/Pan", "cfm/Pa^n", 0}},
    [UNITS_FORCE] = {{"N", "N", 0.1}, {"lbf", "lbf", 0.1}},
    [UNITS_POWER] = {{"W", "W", 0}, {"W", "W", 0}},
    [UNITS_ENERGY] = {{"kWh", "kWh", 0}, {"kWh", "kWh", 0}},
    [UNITS_SPECIFIC_ENERGY] = {{"kJ/kg", "kJ/kg", 0.1}, {"Btu/lb", "Btu/lb", 0.1}},
    [UNITS_SPECIFIC_VOLUME] = {{"m3/kg", "m³/kg", 0.001}, {"ft3/lb", "ft³/lb", 0.01}},
    [UNITS_HUMIDITY_RATIO] = {{"g/kg", "g/kg", 0.1}, {"gr/lb", "gr/lb", 1}},
    [UNITS_CONCENTRATION] = {{"ppm", "ppm", 0}, {"ppm", "ppm", 0}},
    [UNITS_HEAD] = {{"m", "m", 0.1}, {"ft", "ft", 0.1}},
    [UNITS_PRESSURE_GRADIENT] = {{"Pa/m", "Pa/m", 0}, {"inH2O/100ft", "inH2O/100 ft", 0}},
    [UNITS_MASS_FRACTION] = {{"wt%", "wt%", 0}, {"wt%", "wt%", 0}},
    [UNITS_MOLAR_MASS] = {{"g/mol", "g/mol", 0.01}, {"g/mol", "g/mol", 0.01}},
    [UNITS_MOLARITY] = {{"mol/L", "mol/L", 0}, {"mol/L", "mol/L", 0}},
    [UNITS_AMOUNT] = {{"mol", "mol", 0}, {"mol", "mol", 0}},
    [UNITS_MOLAR_ENERGY] = {{"kJ/mol", "kJ/mol", 0}, {"kJ/mol", "kJ/mol", 0}},
    [UNITS_SPECIFIC_HEAT] = {{"kJ/(kg K)", "kJ/(kg K)", 0}, {"kJ/(kg K)", "kJ/(kg K)", 0}},
    [UNITS_DIFFUSIVITY] = {{"cm2/s", "cm²/s", 0}, {"cm2/s", "cm²/s", 0}},
    [UNITS_ETCH_RATE] = {{"nm/min", "nm/min", 0}, {"nm/min", "nm/min", 0}},
    [UNITS_PARABOLIC_RATE] = {{"um2/h", "µm²/h", 0}, {"um2/h", "µm²/h", 0}},
    [UNITS_RESISTIVITY] = {{"MOhm cm", "MΩ cm", 0.1}, {"MOhm cm", "MΩ cm", 0.1}},
    [UNITS_FLOW_PER_LENGTH] = {{"L/(s m)", "L/(s m)", 0}, {"cfm/ft", "cfm/ft", 0}},
};

/* 10^(the power of ten of v), for v > 0. */
static double magnitude(double v)
{
  return pow(10.0, floor(log10(v)));
}

/* The everyday step, finer where it would leave fewer than two digits, coarser
 * where it would show more than four. */
static double step_for(double size, double everyday)
{
  double power = magnitude(size);

  if (everyday == 0.0)
    return power / 100.0;
  if (size < 20.0 * everyday)
    return fmin(everyday, power / 10.0);
  return fmax(everyday, power / 1000.0);
}

static void put_number(struct buf *out, double value, double everyday)
{
  double size = fabs(value);

  if (size == 0.0 || size < everyday * 1e-6) {
    buf_puts(out, "0");
    return;
  }
  if (size < 1e-3 || size >= 1e7) {
    buf_printf(out, "%.3g", value);
    return;
  }
  double step = step_for(size, everyday);
  int decimals = (int)fmax(0.0, -floor(log10(step) + 1e-9));

  buf_printf(out, "%.*f", decimals, round(value / step) * step);
}

void units_print(struct buf *out, double si, enum units_dimension dimension,
                 enum units_system system)
{
  BUG_IF(dimension <= UNITS_NOTHING || dimension >= UNITS_DIMENSION_COUNT);
  const struct style *style = &styles[dimension][system];

  if (isnan(si)) {
    buf_puts(out, "not known");
    return;
  }
  const struct units_unit *unit = units_find(style->unit, dimension);

  BUG_IF(!unit);
  double value = units_from_si(unit, si);

  if (isinf(value))
    buf_puts(out, value > 0.0 ? "unlimited" : "-unlimited");
  else
    put_number(out, value, style->step);
  buf_printf(out, "%s%s", style->shown[0] ? " " : "", style->shown);
}

void units_print_in(struct buf *out, double si, enum units_dimension dimension, const char *text)
{
  const struct units_unit *unit = units_find(text, dimension);

  BUG_IF(!unit);
  buf_printf(out, "%.7g%s%s", units_from_si(unit, si), text[0] ? " " : "", text);
}

void units_print_exact(struct buf *out, double si, enum units_dimension dimension)
{
  const char *unit = units_si_text(dimension);

  BUG_IF(!isfinite(si));
  buf_number(out, si);
  buf_printf(out, "%s%s", unit[0] ? " " : "", unit);
}
