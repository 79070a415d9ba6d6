#include "matter/formula_impl.h"

#include "base/constants.h"

static const double hour_s = 3600;

static const char *air_changes(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / in_si[1] * hour_s;
  out_si[1] = in_si[1] / in_si[0];
  return NULL;
}

static const char *flow_for_air_changes(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] / hour_s;
  return NULL;
}

static const char *removal_time(const double *in_si, double *out_si)
{
  out_si[0] = -log1p(-in_si[1]) / in_si[0] * hour_s * in_si[2];
  return NULL;
}

static const char *decay(const double *in_si, double *out_si)
{
  out_si[0] = exp(-in_si[0] * in_si[1] / hour_s);
  out_si[1] = 1 - out_si[0];
  return NULL;
}

static const char *recovery_rate(const double *in_si, double *out_si)
{
  out_si[0] = log(in_si[0]) / in_si[1] * hour_s;
  out_si[1] = log(100) / out_si[0] * hour_s;
  return NULL;
}

static const char *recovery_time(const double *in_si, double *out_si)
{
  out_si[0] = log(in_si[1]) / in_si[0] * hour_s;
  return NULL;
}

static const char *air_changes_for_recovery(const double *in_si, double *out_si)
{
  out_si[0] = log(in_si[1]) / in_si[0] * hour_s;
  return NULL;
}

/* With a volume, and a time or a number of changes, the rise towards the steady value too. */
static const char *constant_injection(const double *in_si, double *out_si)
{
  double changes = in_si[2];

  out_si[0] = in_si[0] / in_si[1];
  if (formula_given_count(in_si + 3, 2) == 1 || (formula_given(in_si[3]) && formula_given(changes)))
    return "give changes, or volume and time, or none of them";
  if (formula_given(in_si[3]))
    changes = in_si[1] * in_si[4] / in_si[3];
  out_si[1] = out_si[0] * -expm1(-changes);
  out_si[2] = 1 / out_si[0];
  return out_si[0] > 1 ? "more gas than air: this is no trace" : NULL;
}

static const char *flow_from_tracer(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / in_si[1];
  return NULL;
}

static const char *room_pressure_fall(const double *in_si, double *out_si)
{
  double constant = in_si[3] * in_si[1] * sqrt(2 / in_si[4]);

  out_si[0] = 2 * in_si[0] * sqrt(in_si[2]) / (in_si[5] * constant);
  return NULL;
}

static const char *room_pressure_rise(const double *in_si, double *out_si)
{
  double surplus = in_si[2], K = in_si[4] * in_si[1] * sqrt(2 / in_si[5]);
  double through = K * sqrt(in_si[3]);

  out_si[1] = surplus / K * (surplus / K);
  if (!(through < surplus))
    return "this surplus never lifts the room that far";
  out_si[0] =
      2 * in_si[0] / (in_si[6] * K * K) * (surplus * log(surplus / (surplus - through)) - through);
  return NULL;
}

static const char *room_time_constant(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] / in_si[2];
  return NULL;
}

static double class_limit(double iso_class, double size_m)
{
  return pow(10, iso_class) * pow(0.1e-6 / size_m, 2.08);
}

double matter_class_limit_per_m3(double iso_class, double size_m)
{
  double limit = class_limit(iso_class, size_m), unit = pow(10, floor(log10(limit)) - 2);

  return round(limit / unit) * unit;
}

static const char *particle_class_limit(const double *in_si, double *out_si)
{
  out_si[0] = class_limit(in_si[0], in_si[1]);
  out_si[1] = matter_class_limit_per_m3(in_si[0], in_si[1]);
  return NULL;
}

static const char *flow_for_source(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / (in_si[2] * in_si[1]);
  return NULL;
}

static const char *room_balance(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] - in_si[1] - in_si[2];
  out_si[1] = in_si[0] / in_si[3] * hour_s;
  return NULL;
}

#define VOLUME_INPUT  NEED("volume", VOLUME, 1e-3, 1e7, "of the room")
#define CHANGES_INPUT NEED("air-changes", AIR_CHANGES, 1e-3, 1e5, "effective, per hour")
#define PRESSURE_ROOM                                                                              \
  ASSUME("discharge-coefficient", RATIO, 0.65, 0.01, 1.5, "of the leak"),                          \
      ASSUME("density", DENSITY, 1.2, 0.05, 20, "of the air"),                                     \
      ASSUME("site-pressure", ABSOLUTE_PRESSURE, ATMOSPHERE_PA, 1e4, 2e5,                          \
             "isothermal; for isentropic times give it 1.4 times as large")

static const struct matter_formula rows[] = {
    {"air-changes",
     "n = Q/V",
     "definition",
     WIDE_RANGE,
     "flow=1500m3/h volume=150m3",
     {NEED("flow", FLOW, 1e-9, 1e4, "of fresh or of total air: say which"), VOLUME_INPUT},
     {GIVE("air-changes", AIR_CHANGES, "per hour"), GIVE("time", TIME, "nominal, V/Q")},
     air_changes},
    {"flow-for-air-changes",
     "Q = n V",
     "definition",
     WIDE_RANGE,
     "air-changes=10/h volume=150m3",
     {CHANGES_INPUT, VOLUME_INPUT},
     {GIVE("flow", FLOW, "needed")},
     flow_for_air_changes},
    {"removal-time",
     "t = -ln(1 - eff)/n * k",
     "MMWR 43(RR-13), 28 Oct 1994, p. 72; mixing factor k up to 10",
     "mixing 1..10 as stated there",
     "air-changes=6/h efficiency=99%",
     {CHANGES_INPUT, NEED("efficiency", SHARE, 0, 0.999999999, "share to be removed"),
      ASSUME("mixing-factor", RATIO, 1, 1, 10, "1 perfect, 10 poor")},
     {GIVE("time", TIME, "to remove it, with the source gone")},
     removal_time},
    {"decay",
     "C/C0 = exp(-n t)",
     AF21_16 " eqs 17 and 18; ASTM E741",
     WIDE_RANGE,
     "air-changes=3/h time=30min",
     {CHANGES_INPUT, NEED("time", TIME, 0, 1e8, "since the source was removed")},
     {GIVE("left", RATIO, "of the first concentration"), GIVE("removed", SHARE, "of it")},
     decay},
    {"recovery-rate",
     "n = ln(C0/C1)/t; t(100:1) = ln(100)/n",
     "ISO 14644-3 (form from memory)",
     WIDE_RANGE,
     "concentration-ratio=10 time=8min",
     {NEED("concentration-ratio", RATIO, 1.000001, 1e12, "first over last concentration"),
      NEED("time", TIME, 1e-3, 1e8, "between them")},
     {GIVE("air-changes", AIR_CHANGES, "effective"), GIVE("time-100-to-1", TIME, "recovery time")},
     recovery_rate},
    {"recovery-time",
     "t = ln(C0/C)/n",
     "ISO 14644-3 (form from memory)",
     WIDE_RANGE,
     "air-changes=20/h",
     {CHANGES_INPUT,
      ASSUME("concentration-ratio", RATIO, 100, 1, 1e12, "first over last concentration")},
     {GIVE("time", TIME, "to recover")},
     recovery_time},
    {"air-changes-for-recovery",
     "n = ln(C0/C)/t",
     "ISO 14644-3 (form from memory)",
     WIDE_RANGE,
     "time=15min",
     {NEED("time", TIME, 1e-3, 1e8, "allowed"),
      ASSUME("concentration-ratio", RATIO, 100, 1.000001, 1e12, "first over last concentration")},
     {GIVE("air-changes", AIR_CHANGES, "effective, per hour")},
     air_changes_for_recovery},
    {"constant-injection",
     "C = (F/Q)(1 - exp(-Q t/V)); steady F/Q",
     AF21_16 " eqs 20 and 21",
     WIDE_RANGE,
     "source=0.0005m3/s flow=0.2m3/s changes=3",
     {NEED("source", FLOW, 0, 1e3, "of the gas"), NEED("flow", FLOW, 1e-9, 1e4, "of fresh air"),
      MAY("changes", RATIO, 0, 1e6, "fresh-air changes since the start"),
      MAY("volume", VOLUME, 1e-3, 1e7, "of the room, with time"),
      MAY("time", TIME, 0, 1e8, "since the start, with volume")},
     {GIVE("steady", CONCENTRATION, "in the end"), GIVE("now", CONCENTRATION, "at the time"),
      GIVE("dilution", RATIO, "flow over source")},
     constant_injection},
    {"flow-from-tracer",
     "Q = F/C",
     AF21_16 " eqs 19 and 21",
     WIDE_RANGE,
     "source=4L/min concentration=141.26ppm",
     {NEED("source", FLOW, 1e-12, 1e3, "of the tracer"),
      NEED("concentration", CONCENTRATION, 1e-12, 1, "steady")},
     {GIVE("flow", FLOW, "of fresh air")},
     flow_from_tracer},
    {"room-pressure-fall",
     "t = 2 V sqrt(p)/(p0 K), K = Cd A sqrt(2/rho)",
     "derived: (V/p0) dp/dt = -K sqrt(p)",
     WIDE_RANGE,
     "volume=150m3 area=0.02m2 pressure=15Pa",
     {VOLUME_INPUT, NEED("area", AREA, 1e-6, 1e3, "of the leak"),
      NEED("pressure", PRESSURE_DIFFERENCE, 0, 1e4, "before the supply is lost"), PRESSURE_ROOM},
     {GIVE("time", TIME, "to zero pressure")},
     room_pressure_fall},
    {"room-pressure-rise",
     "t = (2 V/(p0 K^2)) [q ln(q/(q - K sqrt p)) - K sqrt p]",
     "derived: (V/p0) dp/dt = q - K sqrt(p)",
     WIDE_RANGE,
     "volume=150m3 area=0.02m2 surplus=0.1m3/s pressure=15Pa",
     {VOLUME_INPUT, NEED("area", AREA, 1e-6, 1e3, "of the leak"),
      NEED("surplus", FLOW, 1e-9, 1e4, "supply less exhaust, from zero pressure"),
      NEED("pressure", PRESSURE_DIFFERENCE, 0, 1e5, "to be reached"), PRESSURE_ROOM},
     {GIVE("time", TIME, "to that pressure"), GIVE("final", PRESSURE_DIFFERENCE, "in the end")},
     room_pressure_rise},
    {"room-time-constant",
     "T = V k/p0 with k = dp/dQ",
     "derived: (V/p0) dp/dt = -p/k",
     WIDE_RANGE,
     "volume=150m3 resistance=100Pa/(m3/s)",
     {VOLUME_INPUT,
      NEED("resistance", LINEAR_RESISTANCE, 1e-9, 1e12, "pressure over flow of the leak"),
      ASSUME("site-pressure", ABSOLUTE_PRESSURE, ATMOSPHERE_PA, 1e4, 2e5, "isothermal")},
     {GIVE("time", TIME, "constant of the room")},
     room_time_constant},
    {"particle-class-limit",
     "C = 10^N (0.1 um/D)^2.08",
     "ISO 14644-1 (equation as printed in 1999)",
     "classes 1..9; sizes 0.1..5 um",
     "class=5 size=0.5um",
     {NEED("class", RATIO, 1, 9, "ISO class N"),
      NEED("size", LENGTH, 0.1e-6, 5e-6, "particles of this size and larger")},
     {GIVE("limit", RATIO, "particles per m3, unrounded"),
      GIVE("limit-3-figures", RATIO, "particles per m3, as the standard rounds")},
     particle_class_limit},
    {"flow-for-source",
     "Q = D/(eps C)",
     "ISO 14644-16:2019 (form from memory)",
     WIDE_RANGE,
     "source=100000 limit=352000",
     {NEED("source", RATIO, 0, 1e15, "particles per second"),
      NEED("limit", RATIO, 1e-3, 1e15, "particles per m3"),
      ASSUME("effectiveness", RATIO, 1, 0.01, 10, "of the ventilation")},
     {GIVE("flow", FLOW, "of clean air")},
     flow_for_source},
    {"room-balance",
     "offset = supply - exhaust - other exhaust; n = supply/V",
     "continuity",
     WIDE_RANGE,
     "supply=2500m3/h exhaust=1800m3/h other-exhaust=500m3/h volume=150m3",
     {NEED("supply", FLOW, 0, 1e4, "into the room"),
      NEED("exhaust", FLOW, 0, 1e4, "of its stations"),
      ASSUME("other-exhaust", FLOW, 0, 0, 1e4, "of the room"),
      ASSUME("volume", VOLUME, (double)NAN, 1e-3, 1e7, "of the room")},
     {GIVE("offset", FLOW, "left to leak out; negative leaks in"),
      GIVE("air-changes", AIR_CHANGES, "by the supply, when the volume is given")},
     room_balance},
};

const struct formula_group formula_rooms = GROUP_OF("Rooms", rows);
