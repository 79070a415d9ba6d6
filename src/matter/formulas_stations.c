#include "matter/formula_impl.h"

static const char *face_velocity(const double *in_si, double *out_si)
{
  out_si[1] = in_si[1] * in_si[2];
  out_si[0] = (in_si[0] - in_si[3]) / out_si[1];
  return out_si[0] < 0 ? "more air by the bypass than in all" : NULL;
}

static const char *face_flow(const double *in_si, double *out_si)
{
  out_si[1] = in_si[0] * in_si[1];
  out_si[0] = out_si[1] * in_si[2] + in_si[3];
  return NULL;
}

static const char *opening_for_flow(const double *in_si, double *out_si)
{
  out_si[0] = (in_si[0] - in_si[3]) / (in_si[1] * in_si[2]);
  return out_si[0] < 0 ? "the bypass alone takes more" : NULL;
}

static const char *minimum_flow(const double *in_si, double *out_si)
{
  out_si[1] = in_si[0] * in_si[1] * in_si[2];
  out_si[2] = in_si[0] * in_si[3];
  out_si[0] = fmax(out_si[1], formula_given(out_si[2]) ? out_si[2] : 0);
  return NULL;
}

static const char *surface_rate_changes(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / in_si[1] * 3600;
  return NULL;
}

/* DallaValle: a plain opening 10 x^2 + A; a flange saves a quarter. */
static const char *capture_flow(const double *in_si, double *out_si)
{
  out_si[0] = in_si[2] * (10 * in_si[0] * in_si[0] + in_si[1]);
  out_si[1] = 0.75 * out_si[0];
  return NULL;
}

static const char *floor_rate_flow(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1];
  return NULL;
}

static const char *hood_leak_ratio(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / in_si[1];
  out_si[1] = out_si[0] / in_si[2];
  return NULL;
}

#define WIDTH_INPUT  NEED("width", LENGTH, 0.01, 20, "of the opening")
#define BYPASS_INPUT ASSUME("bypass", FLOW, 0, 0, 100, "air that does not pass the opening")

static const struct matter_formula rows[] = {
    {"face-velocity",
     "v = (Q - bypass)/(W h)",
     "continuity",
     WIDE_RANGE,
     "flow=750cfm width=60in opening=18in",
     {NEED("flow", FLOW, 0, 100, "exhausted"), WIDTH_INPUT,
      NEED("opening", LENGTH, 1e-3, 5, "free height between sill and sash"), BYPASS_INPUT},
     {GIVE("velocity", VELOCITY, "mean through the opening"), GIVE("area", AREA, "of the opening")},
     face_velocity},
    {"face-flow",
     "Q = v W h + bypass",
     "continuity",
     WIDE_RANGE,
     "width=60in opening=18in velocity=100fpm",
     {WIDTH_INPUT, NEED("opening", LENGTH, 0, 5, "free height between sill and sash"),
      NEED("velocity", VELOCITY, 0, 10, "mean through the opening"), BYPASS_INPUT},
     {GIVE("flow", FLOW, "exhausted"), GIVE("area", AREA, "of the opening")},
     face_flow},
    {"opening-for-flow",
     "h = (Q - bypass)/(v W)",
     "continuity",
     WIDE_RANGE,
     "flow=0.3m3/s width=1.5m velocity=0.5m/s",
     {NEED("flow", FLOW, 0, 100, "exhausted"), WIDTH_INPUT,
      NEED("velocity", VELOCITY, 0.01, 10, "mean through the opening"), BYPASS_INPUT},
     {GIVE("opening", LENGTH, "free height that has this velocity")},
     opening_for_flow},
    {"hood-minimum-flow",
     "Q = max(rate W D, rate_w W)",
     "NFPA 45-2004 A.8.4.7: 127 L/(s m2) = 25 cfm/ft2; ANSI/AIHA Z9.5-2003 3.3.1 (second hand): "
     "the larger of that and 50 cfm/ft",
     WIDE_RANGE,
     "width=6ft depth=2ft surface-rate=25cfm/ft2 width-rate=50cfm/ft",
     {NEED("width", LENGTH, 0.1, 20, "of the work surface"),
      NEED("depth", LENGTH, 0.1, 5, "of the work surface"),
      ASSUME("surface-rate", FLOW_PER_AREA, 0.127, 0, 10, "of the rule you follow"),
      MAY("width-rate", FLOW_PER_LENGTH, 0, 10, "of the rule you follow")},
     {GIVE("flow", FLOW, "least with the sash closed"), GIVE("by-surface", FLOW, "first rule"),
      GIVE("by-width", FLOW, "second rule")},
     minimum_flow},
    {"hood-interior-changes",
     "n = rate/height",
     "definition",
     WIDE_RANGE,
     "surface-rate=25cfm/ft2 height=4ft",
     {NEED("surface-rate", FLOW_PER_AREA, 0, 10, "flow per work surface"),
      NEED("height", LENGTH, 0.01, 10, "inside")},
     {GIVE("air-changes", AIR_CHANGES, "of the hood's interior")},
     surface_rate_changes},
    {"capture-flow",
     "Q = v (10 x^2 + A); with a flange 0.75 of it",
     "DallaValle (form from memory), as in industrial-ventilation practice",
     "no source: stated for distances up to 1.5 opening diameters",
     "distance=0.2m area=0.05m2 velocity=0.5m/s",
     {NEED("distance", LENGTH, 0, 5, "in front of the opening"),
      NEED("area", AREA, 1e-6, 10, "of the opening"),
      NEED("velocity", VELOCITY, 0, 50, "wanted at that distance")},
     {GIVE("flow", FLOW, "plain opening"), GIVE("flow-flanged", FLOW, "opening with a flange")},
     capture_flow},
    {"floor-rate-flow",
     "Q = rate A",
     "BG RCI laboratory guideline 6.2.5.1: 25 m3/(h m2), lower by risk assessment only",
     WIDE_RANGE,
     "area=100m2 rate=25m3/(h*m2)",
     {NEED("area", AREA, 0, 1e5, "of the floor"),
      ASSUME("rate", FLOW_PER_AREA, 25.0 / 3600, 0, 10, "of the rule you follow")},
     {GIVE("flow", FLOW, "of room air")},
     floor_rate_flow},
    {"hood-tracer",
     "C = F/Q; ratio = C/Cout",
     "definition",
     WIDE_RANGE,
     "source=4L/min flow=1000cfm outside=0.05ppm",
     {NEED("source", FLOW, 0, 1, "of the tracer"), NEED("flow", FLOW, 1e-6, 100, "exhausted"),
      MAY("outside", CONCENTRATION, 1e-12, 1, "measured in front of the hood")},
     {GIVE("concentration", CONCENTRATION, "in the duct when all is captured"),
      GIVE("ratio", RATIO, "duct over outside")},
     hood_leak_ratio},
};

const struct formula_group formula_stations = GROUP_OF("Stations", rows);
