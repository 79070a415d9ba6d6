#include "net/net.h"

#include "check.h"
#include "small_net.h"

#include <math.h>

/* Small networks by hand; SI throughout, mass flow = volume flow where density is 1. */

static void a_resistance_between_given_pressures_obeys_its_law(void)
{
  const struct net_member k = power(4, 2);
  struct net_node nodes[] = {given(100), given(0)};
  struct net_link links[] = {resist(0, 1, &k)};
  struct solved s = solve(nodes, 2, links, 1);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 5, 1e-10, 0);
  net_free(s.net);
}

static void two_resistances_in_series_share_the_drop(void)
{
  const struct net_member k1 = power(3, 2), k2 = power(1, 2);
  struct net_node nodes[] = {given(100), unknown(0), given(0)};
  struct net_link links[] = {resist(0, 1, &k1), resist(2, 1, &k2)};
  struct solved s = solve(nodes, 3, links, 2);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 5, 1e-10, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 1), -5, 1e-10, 0);
  CHECK_NEAR(net_pressure_Pa(s.net, 1), 25, 1e-10, 0);
  net_free(s.net);
}

static void a_leak_carries_its_power_law(void)
{
  const struct net_member k = power(1000, 1 / 0.65);
  struct net_node nodes[] = {unknown(0.02), given(0)};
  struct net_link links[] = {resist(0, 1, &k)};
  struct solved s = solve(nodes, 2, links, 1);
  CHECK_NEAR(net_pressure_Pa(s.net, 0), 1000 * pow(0.02, 1 / 0.65), 1e-9, 0);
  net_free(s.net);
}

/* Below 0.01 Pa the law bends into a straight line; at 0.01 Pa it is exact. */
static void the_knee_is_exact_at_its_edge_and_continuous(void)
{
  const struct net_member k = power(100, 2);
  struct net_node nodes[] = {given(0.01), given(0)};
  struct net_link links[] = {resist(0, 1, &k)};
  struct solved s = solve(nodes, 2, links, 1);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0.01, 1e-9, 0);
  net_free(s.net);
  nodes[0].pressure_Pa = 0;
  s = solve(nodes, 2, links, 1);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0, 0, 1e-12);
  net_free(s.net);
}

/* p = 900 - 150 q^2 against 50 Q^2 with n equal fans: Q^2 = 900 / (50 + 150 / n^2).
 * Closed form. */
static void equal_fans_in_parallel_share_the_flow(void)
{
  const double want[] = {2.12132034356, 3.20713490294, 3.67423461417};
  const struct net_member k = power(50, 2);
  for (int n = 1; n <= 3; n++) {
    struct net_fan fan = {.kind = NET_CURVE_A_MINUS_B_Q2,
                          .a_Pa = 900,
                          .b_Pa_s2_m6 = 150,
                          .density_kg_m3 = 1,
                          .rise_factor = 1,
                          .speed_ratio = 1,
                          .running = 1};
    struct net_node nodes[] = {given(0), unknown(0), given(0)};
    struct net_link links[4];
    links[0] = resist(0, 1, &k);
    for (int i = 1; i <= n; i++)
      links[i] = (struct net_link){.from = 1, .to = 2, .law = NET_FAN, .fan = &fan};
    CHECK_CASE("%d fans", n);
    struct solved s = solve(nodes, 3, links, n + 1);
    CHECK_INT(s.report.verdict, NET_SOLVED);
    CHECK_NEAR(net_flow_kg_s(s.net, 0), want[n - 1], 1e-9, 0);
    net_free(s.net);
    fan.running = n;
    s = solve(nodes, 3, links, 2);
    CHECK_NEAR(net_flow_kg_s(s.net, 0), want[n - 1], 1e-9, 0);
    net_free(s.net);
  }
}

/* Fan laws: at the same system, flow goes with speed and rise with its square. */
static void a_faster_fan_moves_in_proportion(void)
{
  const struct net_member k = power(50, 2);
  struct net_fan fan = {.kind = NET_CURVE_A_MINUS_B_Q2,
                        .a_Pa = 900,
                        .b_Pa_s2_m6 = 150,
                        .density_kg_m3 = 1,
                        .rise_factor = 1,
                        .speed_ratio = 0.7,
                        .running = 1};
  struct net_node nodes[] = {given(0), unknown(0), given(0)};
  struct net_link links[] = {resist(0, 1, &k), {.from = 1, .to = 2, .law = NET_FAN, .fan = &fan}};
  struct solved s = solve(nodes, 3, links, 2);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0.7 * 2.12132034356, 1e-9, 0);
  CHECK_NEAR(net_rise_Pa(s.net, 1), 0.49 * 225, 1e-9, 0);
  net_free(s.net);
}

static void a_set_flow_is_met_while_the_path_allows_it(void)
{
  const struct net_member own = power(25, 2), k = power(75, 2); /* together 100 */
  struct net_node nodes[] = {given(0), unknown(0), given(-100)};
  struct net_link links[] = {{.from = 0,
                              .to = 1,
                              .law = NET_SET_FLOW,
                              .set_kg_s = 0.5,
                              .member_count = 1,
                              .members = &own},
                             resist(1, 2, &k)};
  struct solved s = solve(nodes, 3, links, 2);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 1), 0.5, 1e-12, 0);
  CHECK_NEAR(net_pressure_Pa(s.net, 1), -100 + 75 * 0.25, 1e-10, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_ON_SET);
  net_free(s.net);
  links[0].set_kg_s = 2; /* wide open: 100 Pa give 1 kg/s */
  s = solve(nodes, 3, links, 2);
  CHECK_NEAR(net_flow_kg_s(s.net, 1), 1, 1e-10, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_WIDE_OPEN);
  net_free(s.net);
  nodes[2].pressure_Pa = 100; /* the wrong way round: it shuts */
  s = solve(nodes, 3, links, 2);
  CHECK_NEAR(net_flow_kg_s(s.net, 1), 0, 0, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_NO_FLOW);
  CHECK_NEAR(net_pressure_Pa(s.net, 1), 100, 1e-12, 0);
  net_free(s.net);
}

/* Without a path of its own a set flow is a decree: nothing stops it, nothing helps it. */
static void a_decreed_flow_is_met_whatever_the_pressure(void)
{
  const struct net_member k = power(100, 2);
  struct net_node nodes[] = {given(0), unknown(0), given(0)};
  struct net_link links[] = {{.from = 0, .to = 1, .law = NET_SET_FLOW, .set_kg_s = 0.5},
                             resist(1, 2, &k)};
  struct solved s = solve(nodes, 3, links, 2);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 1), 0.5, 1e-12, 0);
  CHECK_NEAR(net_pressure_Pa(s.net, 1), 25, 1e-10, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_ON_SET);
  net_free(s.net);
}

/* N1b: mine airway bridge, "Mine ventilation case calculation" (blog.aannaque.org, 2019); flows
 * are ours by an independent high-precision solution of its data. */
static void a_mine_bridge_settles_as_published(void)
{
  const struct net_member k[] = {power(0.4, 2), power(0.6, 2), power(0.1, 2), power(0.5, 2),
                                 power(0.7, 2)};
  struct net_node nodes[] = {unknown(47), unknown(0), unknown(0), given(0)};
  struct net_link links[] = {resist(0, 1, &k[0]), resist(0, 2, &k[1]), resist(1, 2, &k[2]),
                             resist(1, 3, &k[3]), resist(2, 3, &k[4])};
  const double want[] = {25.8736, 21.1264, 0.4012, 25.4724, 21.5276};
  struct solved s = solve(nodes, 4, links, 5);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  for (int i = 0; i < 5; i++)
    CHECK_NEAR(net_flow_kg_s(s.net, i), want[i], 0, 6e-5);
  CHECK_NEAR(net_pressure_Pa(s.net, 0), 592.20, 0, 0.01);
  net_free(s.net);
}

/* N2: Jeppson, Steady Flow Analysis of Pipe Networks, Utah State University Report 300 (1974),
 * chapter 5 sample; flows within 0.2 %.  Feet, inches and gallons turned to SI here. */
static void seven_pipes_with_two_sources_carry_the_published_flows(void)
{
  const double ft = 0.3048, gpm = 6.30901964e-5 * 1000, nu = 1.217e-5 * ft * ft;
  const double inches[] = {8, 12, 10, 12, 10, 6, 8},
               feet[] = {1106, 751, 1000, 500, 1200, 600, 800};
  const int ends[][2] = {{0, 1}, {2, 1}, {3, 2}, {0, 3}, {1, 4}, {5, 4}, {5, 2}};
  const double want_ft3_s[] = {1.0326, 0.65547, 1.1954, 3.4234, 1.6881, 1.6540, 2.8021};
  struct net_member pipes[7];
  struct net_link links[7];
  for (int i = 0; i < 7; i++) {
    double d = inches[i] * 0.0254;
    pipes[i] = (struct net_member){.kind = NET_DARCY,
                                   .length_m = feet[i] * ft,
                                   .diameter_m = d,
                                   .area_m2 = 3.14159265358979 / 4 * d * d,
                                   .roughness_m = 0.0102 * 0.0254,
                                   .density_kg_m3 = {1000, 1000},
                                   .viscosity_Pa_s = nu * 1000};
    links[i] = resist(ends[i][0], ends[i][1], &pipes[i]);
  }
  struct net_node nodes[] = {unknown(2000 * gpm),  unknown(0), unknown(-1500 * gpm),
                             unknown(-1000 * gpm), given(0),   unknown(2000 * gpm)};
  struct solved s = solve(nodes, 6, links, 7);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  for (int i = 0; i < 7; i++)
    CHECK_NEAR(net_flow_kg_s(s.net, i) / 1000 / (ft * ft * ft), want_ft3_s[i], 0.002, 0);
  net_free(s.net);
}

/* N5: vignette of the R package hydraulics (Maurer), section 7: data theirs; converged flows ours,
 * the printed column stops after three corrections (tolerance 0.0003). */
static void ten_pipes_in_three_loops_carry_the_published_flows(void)
{
  const double r[] = {159.7828,  535.9666, 669.9582,  669.9582,  535.9666,
                      2430.5356, 207.7883, 2430.5356, 2430.5356, 207.7883};
  const int ends[][2] = {{0, 1}, {1, 2}, {2, 3}, {4, 3}, {0, 4},
                         {3, 5}, {5, 6}, {4, 6}, {2, 7}, {5, 7}};
  const double printed[] = {.0383, .0383, .0232, .0258, .0417, .0090, .0041, .0159, .0151, .0049};
  const double exact[] = {.03823, .03823, .02315, .02565, .04177,
                          .00880, .00387, .01613, .01508, .00492};
  const double head[] = {0.2335, 1.0168, 1.3759, 0.9352, 1.5641, 1.5672, 1.5691};
  struct net_member pipes[10];
  struct net_link links[10];
  for (int i = 0; i < 10; i++) { /* metres of head times 10,000, so that the knee is far away */
    pipes[i] = power(r[i] * 10000, 2);
    links[i] = resist(ends[i][0], ends[i][1], &pipes[i]);
  }
  struct net_node nodes[] = {given(0),   unknown(0), unknown(0),     unknown(-.040),
                             unknown(0), unknown(0), unknown(-.020), unknown(-.020)};
  struct solved s = solve(nodes, 8, links, 10);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  for (int i = 0; i < 10; i++) {
    CHECK_NEAR(net_flow_kg_s(s.net, i), printed[i], 0, 3e-4);
    CHECK_NEAR(net_flow_kg_s(s.net, i), exact[i], 0, 6e-6);
  }
  for (int i = 0; i < 7; i++)
    CHECK_NEAR(-net_pressure_Pa(s.net, i + 1) / 10000, head[i], 0, 6e-5);
  net_free(s.net);
}

/* N8: bridge of the same package's documentation; inputs theirs, flows recomputed. */
static void a_bridge_with_fixed_resistances_splits_as_recomputed(void)
{
  const struct net_member k[] = {power(200, 2), power(2500, 2), power(500, 2), power(800, 2),
                                 power(300, 2)};
  enum { A, B, C, D };
  struct net_node nodes[] = {unknown(0), given(0), unknown(0.5), unknown(0)};
  struct net_link links[] = {resist(C, A, &k[0]), resist(A, D, &k[1]), resist(C, D, &k[2]),
                             resist(A, B, &k[3]), resist(D, B, &k[4])};
  const double want[] = {0.27467, 0.06418, 0.22533, 0.21049, 0.28951};
  struct solved s = solve(nodes, 4, links, 5);
  for (int i = 0; i < 5; i++)
    CHECK_NEAR(net_flow_kg_s(s.net, i), want[i], 0, 6e-6);
  net_free(s.net);
}

/* Sharp opening, Q = Cd A sqrt(2 dp / rho), Cd 0.65, rho 1.2, as a law of the mass flow. */
static struct net_member opening(double area_m2)
{
  double per = 0.65 * area_m2 * sqrt(2 * 1.2);
  return power(1 / (per * per), 2);
}

/* N20: closed form, two rooms in series. */
static void two_rooms_in_series_keep_the_closed_form_pressures(void)
{
  const struct net_member door = opening(0.012), outlet = opening(0.020);
  struct net_node nodes[] = {unknown(0.05 * 1.2), unknown(0), given(0)};
  struct net_link links[] = {resist(0, 1, &door), resist(1, 2, &outlet)};
  struct solved s = solve(nodes, 3, links, 2);
  CHECK_NEAR(net_pressure_Pa(s.net, 1), 8.87574, 2e-6, 0);
  CHECK_NEAR(net_pressure_Pa(s.net, 0), 33.53057, 2e-6, 0);
  net_free(s.net);
}

/* N22: closed form, door and partition side by side. */
static void openings_side_by_side_add_up(void)
{
  const struct net_member door = opening(0.0189), wall = opening(40 * 0.11e-3);
  struct net_node nodes[] = {unknown(0.05 * 1.2), given(0)};
  struct net_link links[] = {resist(0, 1, &door), resist(0, 1, &wall)};
  struct solved s = solve(nodes, 2, links, 2);
  CHECK_NEAR(net_pressure_Pa(s.net, 0), 6.53962, 2e-6, 0);
  net_free(s.net);
}

static struct net_member round_duct(double d, double length_m, double loss)
{
  return (struct net_member){.kind = NET_DARCY,
                             .length_m = length_m,
                             .diameter_m = d,
                             .area_m2 = 3.14159265358979 / 4 * d * d,
                             .roughness_m = 9e-5,
                             .loss_ratio = loss,
                             .density_kg_m3 = {1.204, 1.204},
                             .viscosity_Pa_s = 1.82e-5};
}

/* D85: ASHRAE Handbook Fundamentals, Duct Design, Example 9: 1440 L/s splits 860 : 580. */
static void three_hoods_share_the_published_exhaust(void)
{
  const struct net_member one = round_duct(0.200, 7.32, 1.09), two = round_duct(0.125, 2.7, 1.06),
                          four = round_duct(0.180, 3.84, 0.51);
  struct net_node nodes[] = {given(0), unknown(0), unknown(-1.440 * 1.204)};
  struct net_link links[] = {resist(0, 2, &one), resist(0, 1, &two), resist(0, 1, &two),
                             resist(1, 2, &four)};
  struct solved s = solve(nodes, 3, links, 4);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 0) / 1.204, 0.860, 0.002, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 3) / 1.204, 0.580, 0.002, 0);
  CHECK_NEAR(net_pressure_Pa(s.net, 2), -783.2, 0.002, 0);
  net_free(s.net);
}

/* D90: Cengel and Cimbala, Fluid Mechanics, Example 14-1: about 650 cfm at 0.83 inH2O.  Linear
 * interpolation of the fan table gives 643.1, the natural spline 649.0. */
static void one_hood_fan_meets_its_system_where_published(void)
{
  const double cfm = 4.719474432e-4, inch_Pa = 998 * 9.81 * 0.0254;
  double flow[] = {0, 250 * cfm, 500 * cfm, 750 * cfm, 1000 * cfm, 1200 * cfm};
  double rise[] = {0.90 * inch_Pa, 0.95 * inch_Pa, 0.90 * inch_Pa,
                   0.75 * inch_Pa, 0.40 * inch_Pa, 0};
  const struct {
    enum net_curve_kind kind;
    double cfm, tolerance;
  } cases[] = {{NET_CURVE_TABLE_LINEAR, 643.1, 0.001},
               {NET_CURVE_TABLE_SPLINE, 649.0, 0.001},
               {NET_CURVE_TABLE_CUBIC, 650, 0.015},
               {NET_CURVE_TABLE_SPLINE, 650, 0.003},
               {NET_CURVE_TABLE_LINEAR, 650, 0.015}};
  const struct net_member duct = {.kind = NET_DARCY,
                                  .length_m = 13.4,
                                  .diameter_m = 0.230,
                                  .area_m2 = 3.14159265358979 / 4 * 0.230 * 0.230,
                                  .roughness_m = 1.5e-4,
                                  .loss_ratio = 1.3 + 5 * 0.21 + 1.8 + 1.05,
                                  .density_kg_m3 = {1.184, 1.184},
                                  .viscosity_Pa_s = 1.562e-5 * 1.184};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct net_fan fan = {.kind = cases[i].kind,
                          .point_count = 6,
                          .flow_m3_s = flow,
                          .rise_Pa = rise,
                          .density_kg_m3 = 1.184,
                          .rise_factor = 1,
                          .speed_ratio = 1,
                          .running = 1};
    struct net_node nodes[] = {given(0), unknown(0), given(0)};
    struct net_link links[] = {resist(0, 1, &duct),
                               {.from = 1, .to = 2, .law = NET_FAN, .fan = &fan}};
    CHECK_CASE("rule %d", (int)cases[i].kind);
    struct solved s = solve(nodes, 3, links, 2);
    CHECK_INT(s.report.verdict, NET_SOLVED);
    CHECK_NEAR(net_flow_kg_s(s.net, 0) / 1.184 / cfm, cases[i].cfm, cases[i].tolerance, 0);
    net_free(s.net);
  }
}

static void a_shut_link_moves_no_air_and_leaves_its_far_side_unknown(void)
{
  const struct net_member k = power(10, 2);
  struct net_node nodes[] = {given(50), unknown(0), given(0), unknown(0)};
  struct net_link links[] = {
      resist(0, 1, &k), resist(1, 2, &k), {.from = 1, .to = 3, .law = NET_SHUT}};
  struct solved s = solve(nodes, 4, links, 3);
  CHECK_INT(s.report.verdict, NET_ILL_POSED);
  CHECK_INT(s.report.ill_posed_node, 3);
  CHECK(!net_has_pressure(s.net, 3));
  CHECK(net_has_pressure(s.net, 1));
  CHECK_NEAR(net_pressure_Pa(s.net, 1), 25, 1e-9, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 2), 0, 0, 0);
  net_free(s.net);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_resistance_between_given_pressures_obeys_its_law);
  RUN(two_resistances_in_series_share_the_drop);
  RUN(a_leak_carries_its_power_law);
  RUN(the_knee_is_exact_at_its_edge_and_continuous);
  RUN(equal_fans_in_parallel_share_the_flow);
  RUN(a_faster_fan_moves_in_proportion);
  RUN(a_set_flow_is_met_while_the_path_allows_it);
  RUN(a_decreed_flow_is_met_whatever_the_pressure);
  RUN(a_mine_bridge_settles_as_published);
  RUN(seven_pipes_with_two_sources_carry_the_published_flows);
  RUN(ten_pipes_in_three_loops_carry_the_published_flows);
  RUN(a_bridge_with_fixed_resistances_splits_as_recomputed);
  RUN(two_rooms_in_series_keep_the_closed_form_pressures);
  RUN(openings_side_by_side_add_up);
  RUN(three_hoods_share_the_published_exhaust);
  RUN(one_hood_fan_meets_its_system_where_published);
  RUN(a_shut_link_moves_no_air_and_leaves_its_far_side_unknown);
  return check_end();
}
