#include "net/net.h"

#include "check.h"

#include <math.h>
#include <stdlib.h>

/* Fan curves: between points, outside the table, left of the peak. */

static const double flow[] = {0, 1, 2, 3, 4, 5};
static const double humped[] = {700, 520, 640, 700, 520, 200};

struct machine {
  struct net_fan fan;
  struct net_member system;
  struct net_node nodes[3];
  struct net_link links[2];
  struct net_problem problem;
  struct net *net;
  struct net_report report;
};

/* outdoors -> system k Q^m -> plenum -> fan -> outdoors, density 1 */
static void run(struct machine *m, enum net_curve_kind kind, const double *rise, double k,
                double lift_Pa)
{
  struct err err = {0};
  m->fan = (struct net_fan){.kind = kind,
                            .point_count = 6,
                            .flow_m3_s = flow,
                            .rise_Pa = rise,
                            .density_kg_m3 = 1,
                            .rise_factor = 1,
                            .speed_ratio = 1,
                            .running = 1};
  m->system = (struct net_member){.kind = NET_POWER, .k = {k, k}, .m = 2};
  m->nodes[0] = m->nodes[2] = (struct net_node){.fixed = true};
  m->nodes[1] = (struct net_node){0};
  m->links[0] = (struct net_link){.from = 0,
                                  .to = 1,
                                  .law = NET_RESIST,
                                  .lift_Pa = lift_Pa,
                                  .member_count = 1,
                                  .members = &m->system};
  m->links[1] = (struct net_link){.from = 1, .to = 2, .law = NET_FAN, .fan = &m->fan};
  m->problem = (struct net_problem){3, 2, m->nodes, m->links};
  m->net = net_new(&m->problem, &err);
  if (!CHECK(m->net))
    exit(check_end());
  net_solve(m->net, &m->report);
}

/* Linear table, system 40 Q^2 - lift: each crossing solved by hand as a quadratic per piece. */
static void every_crossing_of_a_humped_curve_is_given(void)
{
  struct machine m;
  run(&m, NET_CURVE_TABLE_LINEAR, humped, 5, -580); /* needs 580 + 5 Q^2 */
  CHECK_INT(m.report.verdict, NET_SEVERAL_SOLUTIONS);
  CHECK_INT(m.report.crossing_count, 3);
  double first = (-180 + sqrt(180 * 180 + 4 * 5 * 120)) / 10;  /* 700 - 180 Q */
  double second = (120 - sqrt(120 * 120 - 4 * 5 * 180)) / 10;  /* 400 + 120 Q */
  double third = (-180 + sqrt(180 * 180 + 4 * 5 * 660.)) / 10; /* 1240 - 180 Q */
  const double want[] = {first, second, third};
  for (int i = 0; i < 3; i++) {
    bool found = false;
    for (int k = 0; k < m.report.crossing_count; k++)
      found = found || fabs(m.report.crossings[k].flow_kg_s - want[i]) < 1e-7;
    CHECK_CASE("crossing at %g", want[i]);
    CHECK(found);
  }
  CHECK_NEAR(net_flow_kg_s(m.net, 1), third, 1e-9, 0);
  CHECK_INT(net_link_segment(m.net, 1), NET_ON_LAW);
  net_free(m.net);
}

static void a_fan_that_only_meets_its_system_left_of_the_peak_says_so(void)
{
  struct machine m;
  run(&m, NET_CURVE_TABLE_LINEAR, humped, 2000, 0); /* 2000 Q^2 = 700 - 180 Q */
  CHECK_INT(m.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(m.net, 1), (-180 + sqrt(180 * 180 + 4 * 2000 * 700.)) / 4000, 1e-8, 0);
  CHECK_INT(net_link_segment(m.net, 1), NET_LEFT_OF_PEAK);
  net_free(m.net);
}

static void a_falling_curve_has_one_solution_and_no_scan(void)
{
  const double falling[] = {700, 680, 640, 580, 500, 400};
  struct machine m;
  for (int kind = NET_CURVE_TABLE_CUBIC; kind <= NET_CURVE_TABLE_SPLINE; kind++) {
    run(&m, (enum net_curve_kind)kind, falling, 40, 0);
    CHECK_INT(m.report.verdict, NET_SOLVED);
    CHECK_INT(m.report.crossing_count, 0);
    CHECK(m.report.iterations < 20);
    net_free(m.net);
  }
}

/* Every rule goes through the points: system 640 / 4 Q^2 meets the table at its third point. */
static void every_rule_goes_through_the_points(void)
{
  const double falling[] = {700, 680, 640, 580, 500, 400};
  struct machine m;
  for (int kind = NET_CURVE_TABLE_CUBIC; kind <= NET_CURVE_TABLE_SPLINE; kind++) {
    run(&m, (enum net_curve_kind)kind, falling, 160, 0);
    CHECK_CASE("rule %d", kind);
    CHECK_NEAR(net_flow_kg_s(m.net, 1), 2, 1e-9, 0);
    CHECK_NEAR(net_rise_Pa(m.net, 1), 640, 1e-9, 0);
    net_free(m.net);
  }
}

/* Beyond the last point, (5, 400), the last chord of -100 goes on: 900 - 100 Q = 2 Q^2. */
static void beyond_its_table_a_fan_is_flagged(void)
{
  const double falling[] = {700, 680, 640, 580, 500, 400};
  struct machine m;
  run(&m, NET_CURVE_TABLE_LINEAR, falling, 2, 0);
  CHECK_NEAR(net_flow_kg_s(m.net, 1), (-100 + sqrt(1e4 + 8 * 900.)) / 4, 1e-9, 0);
  CHECK_INT(net_link_segment(m.net, 1), NET_BEYOND_CURVE);
  net_free(m.net);
}

/* Against 800 Pa, more than it can: air flows back, up the steep branch of 20 * 700 / 5 per m3/s. */
static void a_fan_can_be_blown_backwards(void)
{
  const double falling[] = {700, 680, 640, 580, 500, 400};
  struct machine m;
  run(&m, NET_CURVE_TABLE_LINEAR, falling, 1e-3, -800);
  CHECK_NEAR(net_flow_kg_s(m.net, 1), -100.0 / 2800, 1e-4, 0);
  CHECK_INT(net_link_segment(m.net, 1), NET_BEYOND_CURVE);
  net_free(m.net);
}

/* Monotone cubic (Fritsch and Carlson): no overshoot where the data are level, where the natural
 * spline does overshoot. */
static void the_monotone_cubic_never_rises_between_falling_points(void)
{
  const double steps[] = {700, 700, 690, 300, 290, 100};
  double spline_top = 0, cubic_top = 0;
  struct machine m;
  for (int kind = NET_CURVE_TABLE_CUBIC; kind <= NET_CURVE_TABLE_SPLINE; kind++) {
    double last = INFINITY;
    for (int i = 1; i < 100;
         i++) { /* the fan at a given flow, by a set flow in place of the system */
      struct err err = {0};
      run(&m, (enum net_curve_kind)kind, steps, 1, 0);
      net_free(m.net);
      m.nodes[1].inflow_kg_s = 5.0 * i / 100;
      m.links[0].law = NET_SHUT;
      m.net = net_new(&m.problem, &err);
      net_solve(m.net, &m.report);
      double rise = net_rise_Pa(m.net, 1);
      double *top = kind == NET_CURVE_TABLE_SPLINE ? &spline_top : &cubic_top;
      *top = fmax(*top, rise);
      if (kind == NET_CURVE_TABLE_CUBIC)
        CHECK(rise <= last + 1e-9);
      last = rise;
      net_free(m.net);
    }
  }
  CHECK_NEAR(cubic_top, 700, 0, 1e-6);
  CHECK(spline_top > 701);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(every_crossing_of_a_humped_curve_is_given);
  RUN(a_fan_that_only_meets_its_system_left_of_the_peak_says_so);
  RUN(a_falling_curve_has_one_solution_and_no_scan);
  RUN(every_rule_goes_through_the_points);
  RUN(beyond_its_table_a_fan_is_flagged);
  RUN(a_fan_can_be_blown_backwards);
  RUN(the_monotone_cubic_never_rises_between_falling_points);
  return check_end();
}
