#include "matter/formula_impl.h"

#include "base/constants.h"

/* Textbooks differ on whether the total counts the open damper, so both are given. */
static const char *damper_authority(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / (in_si[0] + in_si[1]);
  out_si[1] = in_si[1] > 0 ? in_si[0] / in_si[1] : (double)NAN;
  return NULL;
}

static const char *damper_installed_flow(const double *in_si, double *out_si)
{
  double authority = in_si[0], inherent = in_si[1];

  out_si[0] = inherent > 0 ? 1 / sqrt(1 - authority + authority / (inherent * inherent)) : 0;
  return NULL;
}

/* ln C is a straight line in the blade angle through two known points. */
static const char *damper_loss(const double *in_si, double *out_si)
{
  if (in_si[2] == in_si[0])
    return "two different angles are needed";
  out_si[0] = in_si[1] * pow(in_si[3] / in_si[1], (in_si[4] - in_si[0]) / (in_si[2] - in_si[0]));
  out_si[1] = sqrt(in_si[1] / out_si[0]);
  return NULL;
}

static const char *hood_entry(const double *in_si, double *out_si)
{
  if (formula_given_count(in_si, 2) != 1)
    return "give one of loss-factor and entry-coefficient";
  out_si[0] = formula_given(in_si[0]) ? in_si[0] : 1 / (in_si[1] * in_si[1]) - 1;
  out_si[1] = 1 / sqrt(1 + out_si[0]);
  return NULL;
}

static const char *hood_suction(const double *in_si, double *out_si)
{
  struct section duct;
  const char *wrong = formula_section(in_si, &duct);

  if (wrong)
    return wrong;
  out_si[0] = in_si[6] / 2 * duct.velocity_m_s * duct.velocity_m_s;
  out_si[1] = (1 + in_si[5]) * out_si[0];
  out_si[2] = in_si[5] * out_si[0];
  return NULL;
}

static const char *hood_flow(const double *in_si, double *out_si)
{
  bool round = formula_given(in_si[1]);
  double area_m2 = round ? 0.25 * PI * in_si[1] * in_si[1] : in_si[2];
  double entry = formula_given(in_si[3]) ? in_si[3] : 1 / sqrt(1 + in_si[4]);

  if (formula_given_count(in_si + 1, 2) != 1)
    return "give one of diameter and area";
  if (formula_given_count(in_si + 3, 2) != 1)
    return "give one of entry-coefficient and loss-factor";
  out_si[1] = entry * sqrt(2 * in_si[0] / in_si[5]);
  out_si[0] = out_si[1] * area_m2;
  return NULL;
}

#define AIR_DENSITY ASSUME("density", DENSITY, 1.204, 0.05, 20, "of the air")

static const struct matter_formula rows[] = {
    {"damper-authority",
     "N = dp_open/(dp_open + dp_rest)",
     "common practice; Lizardos & Elovitz 2000 (ASHRAE Journal) count the rest only",
     WIDE_RANGE,
     "open-drop=20Pa other-drop=80Pa",
     {NEED("open-drop", PRESSURE_DIFFERENCE, 0, 1e6, "of the fully open damper"),
      NEED("other-drop", PRESSURE_DIFFERENCE, 1e-6, 1e6, "of the rest it controls")},
     {GIVE("authority", RATIO, "the total counts the damper"),
      GIVE("authority-of-rest", RATIO, "the total leaves the damper out")},
     damper_authority},
    {"damper-installed-flow",
     "q = 1/sqrt(1 - N + N/k^2)",
     "closed form for square-law losses at constant pressure",
     WIDE_RANGE,
     "authority=0.2 inherent=50%",
     {NEED("authority", RATIO, 0, 1, "N, the total counts the damper"),
      NEED("inherent", SHARE, 0, 1, "flow at constant damper drop, of the fully open")},
     {GIVE("flow-share", SHARE, "of the flow when fully open")},
     damper_installed_flow},
    {"damper-loss",
     "ln C is linear in the blade angle",
     "BSERT 7(4), 1986, doi 10.1177/014362448600700402 (abstract)",
     WIDE_RANGE,
     "angle-1=0 loss-coefficient-1=0.2 angle-2=60 loss-coefficient-2=108 angle=30",
     {NEED("angle-1", RATIO, 0, 90, "degrees from open"),
      NEED("loss-coefficient-1", RATIO, 1e-3, 1e6, "C at the first angle"),
      NEED("angle-2", RATIO, 0, 90, "degrees from open"),
      NEED("loss-coefficient-2", RATIO, 1e-3, 1e6, "C at the second angle"),
      NEED("angle", RATIO, 0, 90, "degrees from open")},
     {GIVE("loss-coefficient", RATIO, "C at the angle"),
      GIVE("inherent", SHARE, "flow at constant drop, of that at the first angle")},
     damper_loss},
    {"hood-entry",
     "Ce = 1/sqrt(1 + F)",
     "industrial-ventilation practice",
     WIDE_RANGE,
     "loss-factor=0.25",
     {MAY("loss-factor", RATIO, 0, 100, "F, entry loss in velocity pressures"),
      MAY("entry-coefficient", RATIO, 0.05, 1, "Ce")},
     {GIVE("loss-factor", RATIO, "F"), GIVE("entry-coefficient", RATIO, "Ce")},
     hood_entry},
    {"hood-suction",
     "SPh = (1 + F) pv",
     "industrial-ventilation practice; " AF21_21 " Example 9",
     WIDE_RANGE,
     "flow=860L/s diameter=200mm loss-factor=0.25",
     {SECTION_INPUTS, NEED("loss-factor", RATIO, 0, 100, "F, entry loss in velocity pressures"),
      AIR_DENSITY},
     {GIVE("velocity-pressure", PRESSURE_DIFFERENCE, "in the duct"),
      GIVE("suction", PRESSURE_DIFFERENCE, "static pressure below the room's"),
      GIVE("entry-loss", PRESSURE_DIFFERENCE, "total pressure lost")},
     hood_suction},
    {"hood-flow",
     "Q = Ce A sqrt(2 SPh/rho)",
     "industrial-ventilation practice",
     WIDE_RANGE,
     "suction=563.8Pa diameter=200mm loss-factor=0.25",
     {NEED("suction", PRESSURE_DIFFERENCE, 0, 1e5, "static pressure below the room's, in the duct"),
      MAY("diameter", LENGTH, 1e-3, 10, "of the duct; or area"),
      MAY("area", AREA, 1e-6, 100, "of the duct; or diameter"),
      MAY("entry-coefficient", RATIO, 0.05, 1, "Ce; or loss-factor"),
      MAY("loss-factor", RATIO, 0, 100, "F; or entry-coefficient"), AIR_DENSITY},
     {GIVE("flow", FLOW, "into the hood"), GIVE("velocity", VELOCITY, "in the duct")},
     hood_flow},
};

const struct formula_group formula_dampers = GROUP_OF("Dampers and hood entries", rows);
