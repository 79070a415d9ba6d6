#include "matter/matter.h"

#include "check.h"

#include <math.h>

/* US Standard Atmosphere 1976, sea level (value from memory): 1.2250 kg/m3, 1.7894e-5 Pa s. */
static void air_at_sea_level_weighs_what_the_standard_atmosphere_says(void)
{
  CHECK_NEAR(matter_air_density_kg_m3(288.15, 0, 101325), 1.2250, 1e-4, 0);
  CHECK_NEAR(matter_air_viscosity_Pa_s(288.15), 1.7894e-5, 1e-4, 0);
}

static void damp_air_is_lighter_than_dry_air(void)
{
  for (double T = 250; T < 330; T += 10)
    CHECK(matter_air_density_kg_m3(T, 1, 101325) < matter_air_density_kg_m3(T, 0, 101325));
}

static void saturation_pressure_rises_with_temperature_through_the_freezing_point(void)
{
  double before = 0;

  for (double T = 173.15; T <= 473.15; T += 0.5) {
    CHECK(matter_saturation_pressure_Pa(T) > before);
    before = matter_saturation_pressure_Pa(T);
  }
}

static void nothing_is_said_outside_the_stated_range(void)
{
  CHECK(isnan(matter_saturation_pressure_Pa(173)));
  CHECK(isnan(matter_saturation_pressure_Pa(474)));
  CHECK(isnan(matter_saturation_pressure_Pa(NAN)));
  CHECK(isnan(matter_standard_pressure_Pa(12000)));
  CHECK(isnan(matter_air_density_kg_m3(293.15, 1.01, 101325)));
  CHECK(isnan(matter_air_density_kg_m3(374, 1, 101325))); /* boiling */
  CHECK(isnan(matter_friction_factor(0, 0)));
  CHECK(isnan(matter_friction_factor(1e5, -1)));
}

/* The equation itself (ASHRAE Fundamentals 2021 ch. 21 eq. 19), put back in. */
static void the_friction_factor_satisfies_colebrook(void)
{
  static const double rough[] = {0, 1e-6, 1e-4, 1e-3, 0.01, 0.05, 0.3};

  for (int i = 0; i < 7; i++)
    for (double Re = 2301; Re < 1e9; Re *= 1.7) {
      double x = 1 / sqrt(matter_friction_factor(Re, rough[i]));

      CHECK_CASE("Re %g, e/D %g", Re, rough[i]);
      CHECK_NEAR(x, -2 * log10(rough[i] / 3.7 + 2.51 * x / Re), 1e-12, 0);
    }
}

static void slow_flow_does_not_feel_the_roughness(void)
{
  CHECK_NEAR(matter_friction_factor(2300, 0.01), 64.0 / 2300, 1e-15, 0);
  CHECK_NEAR(matter_friction_factor(100, 0), 0.64, 1e-15, 0);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(air_at_sea_level_weighs_what_the_standard_atmosphere_says);
  RUN(damp_air_is_lighter_than_dry_air);
  RUN(saturation_pressure_rises_with_temperature_through_the_freezing_point);
  RUN(nothing_is_said_outside_the_stated_range);
  RUN(the_friction_factor_satisfies_colebrook);
  RUN(slow_flow_does_not_feel_the_roughness);
  return check_end();
}
