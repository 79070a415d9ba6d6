#include "matter/formula_impl.h"

/* F = Fc + W A dp/(2 (W - d)); in_si is width, height, knob. */
static double area_lever_m2(const double *in_si)
{
  double width_m = in_si[0], height_m = in_si[1], knob_m = in_si[2];

  return width_m * width_m * height_m / (2 * (width_m - knob_m));
}

static const char *door_force(const double *in_si, double *out_si)
{
  if (in_si[2] >= in_si[0])
    return "the handle is nearer the hinge than the door is wide: check width and knob";
  out_si[1] = area_lever_m2(in_si) * in_si[4];
  out_si[0] = in_si[3] + out_si[1];
  return NULL;
}

static const char *door_pressure_limit(const double *in_si, double *out_si)
{
  if (in_si[2] >= in_si[0])
    return "the handle is nearer the hinge than the door is wide: check width and knob";
  if (in_si[4] < in_si[3])
    return "the closer alone needs more than the force allowed";
  out_si[0] = (in_si[4] - in_si[3]) / area_lever_m2(in_si);
  return NULL;
}

static const char *door_gap_area(const double *in_si, double *out_si)
{
  double width_m = in_si[0], height_m = in_si[1];
  double leaves = formula_given(in_si[5]) ? 2 : 1; /* a gap between leaves makes it a double door */

  out_si[0] = width_m * (in_si[2] + in_si[3]) + 2 * height_m * in_si[4];
  if (leaves > 1)
    out_si[0] += height_m * in_si[5];
  return NULL;
}

static const char *doorway_flow(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] * in_si[2];
  out_si[1] = in_si[0] * in_si[1];
  return NULL;
}

#define LEAF                                                                                       \
  NEED("width", LENGTH, 0.2, 10, "of the leaf"), NEED("height", LENGTH, 0.5, 10, "of the leaf"),   \
      NEED("knob", LENGTH, 0, 5, "from the handle to the leaf's closing edge"),                    \
      NEED("closer", FORCE, 0, 1000, "force at the handle to overcome the closer")

static const struct matter_formula rows[] = {
    {"door-force",
     "F = Fc + W A dp/(2 (W - d)), A = W H",
     "NFPA 92 (form from memory; its table of pressures confirms it)",
     WIDE_RANGE,
     "width=36in height=7ft knob=3in closer=8lbf pressure=0.25inH2O",
     {LEAF, NEED("pressure", PRESSURE_DIFFERENCE, 0, 5000, "against the opening of the door")},
     {GIVE("force", FORCE, "at the handle to open the door"),
      GIVE("pressure-force", FORCE, "its part from the pressure")},
     door_force},
    {"door-pressure-limit",
     "dp = 2 (F - Fc)(W - d)/(W A), A = W H",
     "NFPA 92 (form from memory; its table of pressures confirms it)",
     WIDE_RANGE,
     "width=36in height=7ft knob=3in closer=8lbf force=30lbf",
     {LEAF, NEED("force", FORCE, 0, 2000, "most allowed at the handle")},
     {GIVE("pressure", PRESSURE_DIFFERENCE, "most across the closed door")},
     door_pressure_limit},
    {"door-gap-area",
     "A = W (bottom + top) + 2 H side + H between",
     "geometry; hospital practice is 4 mm bottom, 3 mm top and sides, 2 mm between leaves "
     "(second hand)",
     WIDE_RANGE,
     "width=0.9m height=2.1m bottom=4mm top=3mm side=3mm",
     {NEED("width", LENGTH, 0.2, 10, "of the doorway"),
      NEED("height", LENGTH, 0.5, 10, "of the doorway"),
      NEED("bottom", LENGTH, 0, 0.1, "gap below"), NEED("top", LENGTH, 0, 0.1, "gap above"),
      NEED("side", LENGTH, 0, 0.1, "gap at each side"),
      MAY("between", LENGTH, 0, 0.1, "gap between two leaves, for a double door")},
     {GIVE("area", AREA, "of the gaps of the closed door")},
     door_gap_area},
    {"open-door-flow",
     "Q = W H v",
     "continuity",
     WIDE_RANGE,
     "width=0.9m height=2.1m velocity=0.5m/s",
     {NEED("width", LENGTH, 0, 10, "of the opening"),
      NEED("height", LENGTH, 0, 10, "of the opening"),
      NEED("velocity", VELOCITY, 0, 50, "through it, one way")},
     {GIVE("flow", FLOW, "through the open door"), GIVE("area", AREA, "of the opening")},
     doorway_flow},
};

const struct formula_group formula_doors = GROUP_OF("Doors", rows);
