#include "base/constants.h"
#include "matter/formula_impl.h"
#include "matter/moist_impl.h"

/* Heating, cooling, mixing and humidifying of moist air: AF21-1, Examples 2 to 6. */

/* Exactly one of a wet bulb and a relative humidity, at in_si[0] and in_si[1]. */
static const char *humidity_of(const double *in_si, struct moist *air)
{
  if (formula_given_count(in_si, 2) != 1)
    return "give each air one of wet bulb and relative humidity";
  air->humidity_ratio =
      formula_given(in_si[0])
          ? moist_wet_bulb_to_ratio(air->temperature_K, in_si[0], air->pressure_Pa)
          : moist_humidity_to_ratio(air->temperature_K, in_si[1], air->pressure_Pa);
  if (!(air->humidity_ratio >= 0))
    return "there is no air of that temperature and humidity";
  if (formula_given(in_si[0]) && in_si[0] > air->temperature_K)
    return "a wet bulb is never warmer than the air";
  return NULL;
}

static const char *mixed_air(const double *in_si, double *out_si)
{
  struct moist one = {.temperature_K = in_si[1]}, two = {.temperature_K = in_si[5]}, mix;
  const char *wrong = formula_site(in_si + 8, &one.pressure_Pa);

  two.pressure_Pa = one.pressure_Pa;
  if (wrong || (wrong = humidity_of(in_si + 2, &one)) || (wrong = humidity_of(in_si + 6, &two)))
    return wrong;
  double first_kg_s = in_si[0] / moist_volume_m3_kg(&one);
  double second_kg_s = in_si[4] / moist_volume_m3_kg(&two);
  double share_ratio = second_kg_s / (first_kg_s + second_kg_s);
  double enthalpy_J_kg =
      moist_enthalpy_J_kg(&one) * (1 - share_ratio) + moist_enthalpy_J_kg(&two) * share_ratio;

  mix.humidity_ratio = one.humidity_ratio * (1 - share_ratio) + two.humidity_ratio * share_ratio;
  mix.temperature_K = moist_temperature_K(enthalpy_J_kg, mix.humidity_ratio);
  mix.pressure_Pa = one.pressure_Pa;
  out_si[0] = first_kg_s;
  out_si[1] = second_kg_s;
  out_si[2] = share_ratio;
  out_si[3] = mix.temperature_K;
  out_si[4] = moist_wet_bulb_K(&mix); /* no value where the mixture is fog */
  out_si[5] = moist_relative_humidity_ratio(&mix);
  out_si[6] = mix.humidity_ratio;
  out_si[7] = enthalpy_J_kg;
  return NULL;
}

static const char *heating_coil(const double *in_si, double *out_si)
{
  struct moist before = {.temperature_K = in_si[1]}, after;
  const char *wrong = formula_site(in_si + 5, &before.pressure_Pa);

  if (!wrong)
    wrong = humidity_of(in_si + 2, &before);
  if (!wrong && in_si[4] < in_si[1])
    wrong = "the air leaves a heating coil colder than it came; use cooling-coil";
  if (wrong)
    return wrong;
  after = before;
  after.temperature_K = in_si[4];
  out_si[1] = in_si[0] / moist_volume_m3_kg(&before);
  out_si[2] = moist_enthalpy_J_kg(&before);
  out_si[3] = moist_enthalpy_J_kg(&after);
  out_si[4] = before.humidity_ratio;
  out_si[5] = moist_volume_m3_kg(&before);
  out_si[0] = out_si[1] * (out_si[3] - out_si[2]);
  return NULL;
}

/* The condensate leaves at the coil's leaving temperature unless said otherwise; its enthalpy is
 * 4.186 kJ/(kg K), as in the wet-bulb balance. */
static const char *cooling_coil(const double *in_si, double *out_si)
{
  struct moist before = {.temperature_K = in_si[1]}, after = {.temperature_K = in_si[4]};
  const char *wrong = formula_site(in_si + 7, &before.pressure_Pa);
  double drain_K = formula_given(in_si[6]) ? in_si[6] : in_si[4];

  if (!wrong)
    wrong = humidity_of(in_si + 2, &before);
  if (wrong)
    return wrong;
  after.pressure_Pa = before.pressure_Pa;
  after.humidity_ratio = moist_humidity_to_ratio(in_si[4], in_si[5], before.pressure_Pa);
  if (after.humidity_ratio > before.humidity_ratio)
    return "a coil takes water out of the air and never gives any: lower the leaving humidity";
  out_si[1] = in_si[0] / moist_volume_m3_kg(&before);
  out_si[2] = out_si[1] * (before.humidity_ratio - after.humidity_ratio);
  out_si[3] = moist_enthalpy_J_kg(&before);
  out_si[4] = moist_enthalpy_J_kg(&after);
  out_si[0] = out_si[1] * (out_si[3] - out_si[4]) - out_si[2] * 4186 * (drain_K - ZERO_CELSIUS_K);
  return NULL;
}

static const char *steam_humidifier(const double *in_si, double *out_si)
{
  struct moist before = {.temperature_K = in_si[1]}, after;
  const char *wrong = formula_site(in_si + 6, &before.pressure_Pa);

  if (!wrong)
    wrong = humidity_of(in_si + 2, &before);
  if (wrong)
    return wrong;
  after = before;
  after.humidity_ratio = moist_dew_point_to_ratio(in_si[4], before.pressure_Pa);
  double added_ratio = after.humidity_ratio - before.humidity_ratio;
  if (!(added_ratio >= 0))
    return "the air is already damper than that dew point";
  after.temperature_K = moist_temperature_K(moist_enthalpy_J_kg(&before) + added_ratio * in_si[5],
                                            after.humidity_ratio);
  out_si[0] = in_si[0] * added_ratio;
  out_si[1] = after.temperature_K;
  out_si[2] = before.humidity_ratio;
  out_si[3] = after.humidity_ratio;
  return NULL;
}

/* AF21-1 Example 6: the supply state lies on the line of slope q = dh/dW through the room. */
static const char *room_supply_air(const double *in_si, double *out_si)
{
  struct moist room = {.temperature_K = in_si[0]}, supply = {.temperature_K = in_si[6]};
  const char *wrong = formula_site(in_si + 7, &room.pressure_Pa);

  if (!wrong)
    wrong = humidity_of(in_si + 1, &room);
  if (wrong)
    return wrong;
  if (in_si[4] <= 0)
    return "with no moisture gain use sensible-heat";
  double slope_J_kg = (in_si[3] + in_si[4] * in_si[5]) / in_si[4];
  double dry_J_kg = moist_enthalpy_J_kg(&(struct moist){supply.temperature_K, 0, 1});

  supply.pressure_Pa = room.pressure_Pa;
  supply.humidity_ratio =
      (moist_enthalpy_J_kg(&room) - slope_J_kg * room.humidity_ratio - dry_J_kg) /
      (moist_vapour_enthalpy_J_kg(supply.temperature_K) - slope_J_kg);
  double dry_kg_s = in_si[4] / (room.humidity_ratio - supply.humidity_ratio);
  if (!(supply.humidity_ratio >= 0 && dry_kg_s > 0))
    return "no supply air of that temperature carries these gains away";
  out_si[0] = dry_kg_s * moist_volume_m3_kg(&supply);
  out_si[1] = dry_kg_s;
  out_si[2] = supply.humidity_ratio;
  out_si[3] = moist_wet_bulb_K(&supply);
  out_si[4] = moist_enthalpy_J_kg(&supply);
  out_si[5] = slope_J_kg;
  return NULL;
}

#define STATE_OF(suffix, words)                                                                    \
  NEED("temperature" suffix, TEMPERATURE, 173.15, 473.15, "dry bulb of " words),                   \
      MAY("wet-bulb" suffix, TEMPERATURE, 173.15, 473.15, "of " words "; or relative humidity"),   \
      MAY("relative-humidity" suffix, RELATIVE_HUMIDITY, 0, 1, "of " words "; or wet bulb")
#define AIR_RANGE "temperatures as stated for eqs 5 and 6; " WIDE_RANGE " otherwise"

static const struct matter_formula rows[] = {
    {"mixed-air",
     "m = Q/v; share = m2/(m1 + m2); W = W1 + share (W2 - W1); h = h1 + share (h2 - h1)",
     AF21_1 ", adiabatic mixing (Example 4)",
     AIR_RANGE,
     "flow-1=2m3/s temperature-1=4degC wet-bulb-1=2degC flow-2=6.25m3/s temperature-2=25degC "
     "relative-humidity-2=50%RH",
     {NEED("flow-1", FLOW, 1e-6, 1e4, "of the first stream, in its own state"),
      STATE_OF("-1", "the first stream"),
      NEED("flow-2", FLOW, 1e-6, 1e4, "of the second stream, in its own state"),
      STATE_OF("-2", "the second stream"), SITE_INPUTS},
     {GIVE("dry-mass-flow-1", MASS_FLOW, "dry air in the first stream"),
      GIVE("dry-mass-flow-2", MASS_FLOW, "dry air in the second stream"),
      GIVE("share-2", SHARE, "of the second in the mixture, by dry mass"),
      GIVE("temperature", TEMPERATURE, "of the mixture"),
      GIVE("wet-bulb", TEMPERATURE, "of the mixture"),
      GIVE("relative-humidity", RELATIVE_HUMIDITY, "of the mixture; above 100 % it is fog"),
      GIVE("humidity-ratio", HUMIDITY_RATIO, "of the mixture"),
      GIVE("enthalpy", SPECIFIC_ENERGY, "of the mixture")},
     mixed_air},
    {"heating-coil",
     "q = m (h2 - h1) at constant W; m = Q1/v1",
     AF21_1 " (Example 2)",
     AIR_RANGE,
     "flow=10m3/s temperature-in=2degC relative-humidity-in=100%RH temperature-out=40degC",
     {NEED("flow", FLOW, 1e-6, 1e4, "entering"), STATE_OF("-in", "the entering air"),
      NEED("temperature-out", TEMPERATURE, 173.15, 473.15, "leaving"), SITE_INPUTS},
     {GIVE("heat", POWER, "given to the air"), GIVE("dry-mass-flow", MASS_FLOW, "of dry air"),
      GIVE("enthalpy-in", SPECIFIC_ENERGY, "per dry air"),
      GIVE("enthalpy-out", SPECIFIC_ENERGY, "per dry air"),
      GIVE("humidity-ratio", HUMIDITY_RATIO, "unchanged"),
      GIVE("specific-volume-in", SPECIFIC_VOLUME, "per dry air")},
     heating_coil},
    {"cooling-coil",
     "q = m [(h1 - h2) - (W1 - W2) hw]; hw = 4.186 t kJ/kg",
     AF21_1 " eq. 43 (Example 3)",
     AIR_RANGE,
     "flow=5m3/s temperature-in=30degC relative-humidity-in=50%RH temperature-out=10degC",
     {NEED("flow", FLOW, 1e-6, 1e4, "entering"), STATE_OF("-in", "the entering air"),
      NEED("temperature-out", TEMPERATURE, 173.15, 473.15, "leaving"),
      ASSUME("relative-humidity-out", RELATIVE_HUMIDITY, 1, 0, 1, "leaving"),
      MAY("condensate-temperature", TEMPERATURE, ZERO_CELSIUS_K, 373.15,
          "left out: as the leaving air"),
      SITE_INPUTS},
     {GIVE("cooling", POWER, "taken from the air"), GIVE("dry-mass-flow", MASS_FLOW, "of dry air"),
      GIVE("condensate", MASS_FLOW, "water taken out"),
      GIVE("enthalpy-in", SPECIFIC_ENERGY, "per dry air"),
      GIVE("enthalpy-out", SPECIFIC_ENERGY, "per dry air")},
     cooling_coil},
    {"steam-humidifier",
     "steam = m (W2 - W1); h2 = h1 + (W2 - W1) hs",
     AF21_1 " eq. 45 (Example 5)",
     AIR_RANGE,
     "dry-mass-flow=2kg/s temperature=20degC wet-bulb=8degC dew-point-out=13degC "
     "steam-enthalpy=2691.07kJ/kg",
     {NEED("dry-mass-flow", MASS_FLOW, 1e-6, 1e4, "of dry air"), STATE_OF("", "the entering air"),
      NEED("dew-point-out", TEMPERATURE, 173.15, 373, "wanted after"),
      NEED("steam-enthalpy", SPECIFIC_ENERGY, 0, 4e6, "of the steam (or water) put in"),
      SITE_INPUTS},
     {GIVE("steam", MASS_FLOW, "water put in"), GIVE("temperature-out", TEMPERATURE, "after"),
      GIVE("humidity-ratio-in", HUMIDITY_RATIO, "before"),
      GIVE("humidity-ratio-out", HUMIDITY_RATIO, "after")},
     steam_humidifier},
    {"room-supply-air",
     "dh/dW = (qs + mw hw)/mw; supply on that line through the room's state; m = mw/(W2 - W1)",
     AF21_1 ", space heat absorption and moisture gain (Example 6)",
     AIR_RANGE,
     "temperature=25degC wet-bulb=19degC sensible-heat=9kW moisture-gain=1.5g/s "
     "moisture-enthalpy=2555.5kJ/kg supply-temperature=15degC",
     {STATE_OF("", "the room"), NEED("sensible-heat", POWER, 0, 1e7, "gained by the room"),
      NEED("moisture-gain", MASS_FLOW, 0, 100, "gained by the room"),
      NEED("moisture-enthalpy", SPECIFIC_ENERGY, 0, 4e6, "of the moisture gained"),
      NEED("supply-temperature", TEMPERATURE, 173.15, 473.15, "of the supply air"), SITE_INPUTS},
     {GIVE("flow", FLOW, "of supply air, in its own state"),
      GIVE("dry-mass-flow", MASS_FLOW, "of dry air"),
      GIVE("humidity-ratio", HUMIDITY_RATIO, "of the supply air"),
      GIVE("wet-bulb", TEMPERATURE, "of the supply air"),
      GIVE("enthalpy", SPECIFIC_ENERGY, "of the supply air"),
      GIVE("slope", SPECIFIC_ENERGY, "enthalpy gained per water gained")},
     room_supply_air},
};

const struct formula_group formula_processes = GROUP_OF("Moist-air processes", rows);
