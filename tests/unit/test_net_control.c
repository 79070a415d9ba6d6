#include "net/net.h"

#include "check.h"
#include "small_net.h"

#include <math.h>

/* Links that regulate: what they hold is exact, and their limits are results. */

enum { OUTDOORS, ROOM, HEADER, OTHER };

/* A room fed by a hold, leaking outdoors through k = 100: 25 Pa need 0.5 kg/s. */
static void a_supply_holds_its_room_exactly(void)
{
  const struct net_member k = power(100, 2);
  struct net_node nodes[] = {given(0), unknown(0)};
  struct net_link links[] = {{.from = OUTDOORS,
                              .to = ROOM,
                              .law = NET_HOLD,
                              .held = ROOM,
                              .over = NET_NONE,
                              .hold_Pa = 25,
                              .most_kg_s = 10},
                             resist(ROOM, OUTDOORS, &k)};
  struct solved s = solve(nodes, 2, links, 2);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM), 25, 1e-12, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0.5, 1e-10, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_ON_SET);
  net_free(s.net);
  links[0].most_kg_s = 0.2;
  s = solve(nodes, 2, links, 2);
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM), 4, 1e-9, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_AT_MOST);
  net_free(s.net);
  links[0].least_kg_s = 0.6;
  links[0].most_kg_s = 10;
  s = solve(nodes, 2, links, 2);
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM), 36, 1e-9, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_AT_LEAST);
  net_free(s.net);
}

static void a_supply_whose_path_is_too_tight_stands_wide_open(void)
{
  const struct net_member leak = power(100, 2), path = power(300, 2);
  struct net_node nodes[] = {given(0), unknown(0)};
  struct net_link links[] = {{.from = OUTDOORS,
                              .to = ROOM,
                              .law = NET_HOLD,
                              .held = ROOM,
                              .over = NET_NONE,
                              .hold_Pa = 25,
                              .most_kg_s = 10,
                              .lift_Pa = 36,
                              .member_count = 1,
                              .members = &path},
                             resist(ROOM, OUTDOORS, &leak)};
  struct solved s = solve(nodes, 2, links, 2); /* 36 Pa over 100 + 300: 0.3 kg/s */
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0.3, 1e-9, 0);
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM), 9, 1e-9, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_WIDE_OPEN);
  net_free(s.net);
  links[0].lift_Pa = -5;
  s = solve(nodes, 2, links, 2);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0, 0, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_NO_FLOW);
  net_free(s.net);
}

/* An exhaust that holds its room below the other: flow and hold act against each other in sign. */
static void an_exhaust_holds_one_room_under_another(void)
{
  const struct net_member k = power(50, 2), out = power(10, 2);
  struct net_node nodes[] = {given(0), unknown(0.5), unknown(0), unknown(0.3)};
  struct net_link links[] = {{.from = ROOM,
                              .to = HEADER,
                              .law = NET_HOLD,
                              .held = ROOM,
                              .over = OTHER,
                              .hold_Pa = -12,
                              .most_kg_s = 10},
                             resist(OTHER, ROOM, &k),
                             resist(HEADER, OUTDOORS, &out),
                             resist(OTHER, OUTDOORS, &k)};
  struct solved s = solve(nodes, 4, links, 4);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM) - net_pressure_Pa(s.net, OTHER), -12, 1e-10, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 1), sqrt(12.0 / 50), 1e-9, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0.5 + sqrt(12.0 / 50), 1e-9, 0);
  net_free(s.net);
}

/* The held node is no end of the link: outdoors -> room, watching the room beyond a door. */
static void a_remote_pressure_can_be_held(void)
{
  const struct net_member door = power(100, 2), leak = power(400, 2);
  struct net_node nodes[] = {given(0), unknown(0), unknown(0)};
  struct net_link links[] = {{.from = OUTDOORS,
                              .to = ROOM,
                              .law = NET_HOLD,
                              .held = 2,
                              .over = NET_NONE,
                              .hold_Pa = 16,
                              .most_kg_s = 10},
                             resist(ROOM, 2, &door),
                             resist(2, OUTDOORS, &leak)};
  struct solved s = solve(nodes, 3, links, 3);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_pressure_Pa(s.net, 2), 16, 1e-10, 0);
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM), 20, 1e-9, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0.2, 1e-9, 0);
  net_free(s.net);
  links[0].most_kg_s = 0.1;
  s = solve(nodes, 3, links, 3);
  CHECK_INT(net_link_segment(s.net, 0), NET_AT_MOST);
  CHECK_NEAR(net_pressure_Pa(s.net, 2), 4, 1e-8, 0);
  links[0].most_kg_s = 1; /* from its limit back to the hold, in the same net */
  struct net_problem problem = {3, 3, nodes, links};
  net_update(s.net, &problem);
  CHECK_INT(net_solve(s.net, &s.report), NET_SOLVED);
  CHECK_NEAR(net_pressure_Pa(s.net, 2), 16, 1e-9, 0);
  net_free(s.net);
}

static void a_supply_follows_its_exhausts_with_an_offset(void)
{
  const struct net_member k = power(100, 2), leak = power(1000, 1.5);
  const int follows[] = {1, 2};
  struct net_node nodes[] = {given(0), unknown(0), given(-100)};
  struct net_link links[] = {{.from = OUTDOORS,
                              .to = ROOM,
                              .law = NET_FOLLOW,
                              .set_kg_s = -0.04,
                              .most_kg_s = 5,
                              .follow_count = 2,
                              .follows = follows},
                             resist(ROOM, 2, &k),
                             {.from = ROOM, .to = 2, .law = NET_SET_FLOW, .set_kg_s = 0.5},
                             resist(ROOM, OUTDOORS, &leak)};
  struct solved s = solve(nodes, 3, links, 4);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 3), -0.04, 0, 1e-10);
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM), -1000 * pow(0.04, 1.5), 1e-8, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), net_flow_kg_s(s.net, 1) + 0.5 - 0.04, 1e-9, 0);
  net_free(s.net);
  links[0].most_kg_s = 1;
  s = solve(nodes, 3, links, 4);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 1, 0, 0);
  CHECK_INT(net_link_segment(s.net, 0), NET_AT_MOST);
  net_free(s.net);
}

/* Fan p = 900 s^2 - 150 q^2 through 50 Q^2 from outdoors; suction plenum held at -112.5 Pa needs
 * Q = 1.5, rise 112.5 = 900 s^2 - 337.5, s^2 = 0.5.  Closed form. */
static void a_fan_holds_its_plenum_by_its_speed(void)
{
  const struct net_member k = power(50, 2);
  struct net_fan fan = {.kind = NET_CURVE_A_MINUS_B_Q2,
                        .a_Pa = 900,
                        .b_Pa_s2_m6 = 150,
                        .density_kg_m3 = 1,
                        .rise_factor = 1,
                        .speed_ratio = 1,
                        .running = 1,
                        .holds = true,
                        .held = 1,
                        .over = NET_NONE,
                        .hold_Pa = -112.5,
                        .least_speed_ratio = 0.3,
                        .most_speed_ratio = 1};
  struct net_node nodes[] = {given(0), unknown(0), given(0)};
  struct net_link links[] = {resist(0, 1, &k), {.from = 1, .to = 2, .law = NET_FAN, .fan = &fan}};
  struct solved s = solve(nodes, 3, links, 2);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 1), 1.5, 1e-9, 0);
  CHECK_NEAR(net_speed_ratio(s.net, 1), sqrt(0.5), 1e-9, 0);
  CHECK_INT(net_link_segment(s.net, 1), NET_ON_SET);
  net_free(s.net);
  fan.hold_Pa = -500; /* more than it can: 4.5 kg2/s2 at full speed, 225 Pa */
  s = solve(nodes, 3, links, 2);
  CHECK_NEAR(net_pressure_Pa(s.net, 1), -225, 1e-9, 0);
  CHECK_INT(net_link_segment(s.net, 1), NET_AT_MOST);
  CHECK_NEAR(net_speed_ratio(s.net, 1), 1, 0, 0);
  net_free(s.net);
  fan.hold_Pa = -1; /* less than its least speed gives: 0.09 * 225 */
  s = solve(nodes, 3, links, 2);
  CHECK_NEAR(net_pressure_Pa(s.net, 1), -0.09 * 225, 1e-9, 0);
  CHECK_INT(net_link_segment(s.net, 1), NET_AT_LEAST);
  net_free(s.net);
}

static void two_links_that_hold_one_pressure_are_named(void)
{
  const struct net_member k = power(100, 2);
  struct net_node nodes[] = {given(0), unknown(0)};
  struct net_link links[] = {{.from = OUTDOORS,
                              .to = ROOM,
                              .law = NET_HOLD,
                              .held = ROOM,
                              .over = NET_NONE,
                              .hold_Pa = 25,
                              .most_kg_s = 10},
                             resist(ROOM, OUTDOORS, &k),
                             {.from = OUTDOORS,
                              .to = ROOM,
                              .law = NET_HOLD,
                              .held = ROOM,
                              .over = NET_NONE,
                              .hold_Pa = 20,
                              .most_kg_s = 10}};
  struct solved s = solve(nodes, 2, links, 3);
  CHECK_INT(s.report.verdict, NET_ILL_POSED);
  CHECK_STR(s.report.reason, "link 2 holds a pressure that others already give");
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM), 25, 1e-9, 0);
  CHECK_NEAR(net_flow_kg_s(s.net, 2), 0, 0, 0);
  net_free(s.net);
}

static void a_sealed_room_with_an_offset_has_no_pressure(void)
{
  const int follows[] = {1};
  struct net_node nodes[] = {given(0), unknown(0), given(-100)};
  struct net_link links[] = {{.from = OUTDOORS,
                              .to = ROOM,
                              .law = NET_FOLLOW,
                              .set_kg_s = -0.04,
                              .most_kg_s = 5,
                              .follow_count = 1,
                              .follows = follows},
                             {.from = ROOM, .to = 2, .law = NET_SET_FLOW, .set_kg_s = 0.5}};
  struct solved s = solve(nodes, 3, links, 2);
  CHECK_INT(s.report.verdict, NET_ILL_POSED);
  CHECK_INT(s.report.ill_posed_node, ROOM);
  CHECK(!net_has_pressure(s.net, ROOM));
  net_free(s.net);
}

static void changed_limits_are_taken_up_by_the_same_net(void)
{
  const struct net_member k = power(100, 2);
  struct net_node nodes[] = {given(0), unknown(0)};
  struct net_link links[] = {{.from = OUTDOORS,
                              .to = ROOM,
                              .law = NET_HOLD,
                              .held = ROOM,
                              .over = NET_NONE,
                              .hold_Pa = 25,
                              .most_kg_s = 10},
                             resist(ROOM, OUTDOORS, &k)};
  struct net_problem problem = {2, 2, nodes, links};
  struct solved s = solve(nodes, 2, links, 2);
  links[0].hold_Pa = 36;
  net_update(s.net, &problem);
  CHECK_INT(net_solve(s.net, &s.report), NET_SOLVED);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0.6, 1e-9, 0);
  links[1].law = NET_SHUT;
  links[0].law = NET_SET_FLOW;
  links[0].set_kg_s = 0;
  net_update(s.net, &problem);
  CHECK_INT(net_solve(s.net, &s.report), NET_ILL_POSED);
  links[1].law = NET_RESIST;
  links[0].set_kg_s = 0.1;
  net_update(s.net, &problem);
  CHECK_INT(net_solve(s.net, &s.report), NET_SOLVED);
  CHECK_NEAR(net_pressure_Pa(s.net, ROOM), 1, 1e-8, 0);
  net_free(s.net);
}

static void what_cannot_be_meant_is_refused_with_words(void)
{
  const struct net_member negative = power(-1, 2), steep = power(1, 4);
  const int in_a_ring[] = {0};
  struct net_node nodes[] = {given(0), unknown(0)};
  const struct {
    struct net_link link;
    const char *words;
  } cases[] = {{resist(0, 0, &steep), "link 0: its ends must be two different nodes"},
               {resist(0, 7, &steep), "link 0: its ends must be two different nodes"},
               {resist(0, 1, &negative), "link 0: a resistance must be a number, zero or more"},
               {resist(0, 1, &steep), "link 0: the exponent of a resistance must be within 1 to 3"},
               {{.from = 0, .to = 1, .law = NET_FAN}, "link 0: a fan needs its curve"},
               {{.from = 0, .to = 1, .law = NET_SET_FLOW, .set_kg_s = (double)NAN},
                "link 0: a set flow must be a number"},
               {{.from = 0, .to = 1, .law = NET_HOLD, .held = 1, .over = 1},
                "link 0: a hold needs a node, another to measure against, and a pressure"},
               {{.from = 0,
                 .to = 1,
                 .law = NET_HOLD,
                 .held = 1,
                 .over = NET_NONE,
                 .least_kg_s = 2,
                 .most_kg_s = 1},
                "link 0: least must be a number not above most"},
               {{.from = 0, .to = 1, .law = NET_FOLLOW, .follow_count = 1, .follows = in_a_ring},
                "link 0: it follows itself"}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct err err = {0};
    struct net_problem problem = {2, 1, nodes, &cases[i].link};
    CHECK_CASE("case %d", (int)i);
    CHECK(!net_new(&problem, &err));
    CHECK_INT(err.code, ERR_INPUT);
    CHECK_STR(err.text, cases[i].words);
  }
}

/* A unit that holds 160 Pa in its plenum, two feeds with paths of 90 Pa at their most of 1 and 2
 * kg/s, rooms that want more than either: closed form, 1 and 4 Pa through leaks of k = 1. */
static void a_unit_whose_most_is_the_sum_of_its_feeds_still_holds(void)
{
  enum { PLENUM = 1, SMALL, LARGE, NODES, UNIT = 0 };
  const struct net_member leak = power(1, 2), path[] = {power(90, 2), power(22.5, 2)};
  struct net_node nodes[NODES] = {given(0)};
  struct net_link links[5] = {{.to = PLENUM,
                               .law = NET_HOLD,
                               .held = PLENUM,
                               .over = NET_NONE,
                               .hold_Pa = 160,
                               .most_kg_s = 3}};
  for (int i = 0; i < 2; i++) {
    links[1 + i] = (struct net_link){.from = PLENUM,
                                     .to = SMALL + i,
                                     .law = NET_HOLD,
                                     .held = SMALL + i,
                                     .over = NET_NONE,
                                     .hold_Pa = 20,
                                     .most_kg_s = 1 + i,
                                     .member_count = 1,
                                     .members = &path[i]};
    links[3 + i] = resist(SMALL + i, OUTDOORS, &leak);
  }
  const double offs[] = {0, 1e-15, -1e-15, 0.5};
  for (size_t i = 0; i < sizeof offs / sizeof *offs; i++) {
    CHECK_CASE("most is the sum and %g", offs[i]);
    links[UNIT].most_kg_s = 3 + offs[i];
    struct solved s = solve(nodes, NODES, links, 5);
    CHECK_INT(s.report.verdict, NET_SOLVED);
    CHECK_INT(net_link_segment(s.net, UNIT), NET_ON_SET);
    CHECK_NEAR(net_pressure_Pa(s.net, PLENUM), 160, 1e-12, 0);
    CHECK_NEAR(net_pressure_Pa(s.net, SMALL), 1, 1e-9, 0);
    CHECK_NEAR(net_pressure_Pa(s.net, LARGE), 4, 1e-9, 0);
    net_free(s.net);
  }
}

/* A header behind a fan that stands, two valves into it from rooms at 5 and 3 Pa. */
static void a_main_whose_fan_stands_takes_the_pressure_at_which_a_valve_would_open(void)
{
  const struct net_member k = power(10, 2);
  struct net_node nodes[] = {given(0), given(5), unknown(0), given(3)};
  struct net_link links[] = {resist(ROOM, HEADER, &k),
                             resist(OTHER, HEADER, &k),
                             {.from = HEADER, .to = OUTDOORS, .law = NET_SHUT}};
  links[0].law = links[1].law = NET_SET_FLOW;
  links[0].set_kg_s = links[1].set_kg_s = 0.5;
  struct solved s = solve(nodes, 4, links, 3);
  CHECK_INT(s.report.verdict, NET_SOLVED);
  CHECK_NEAR(net_pressure_Pa(s.net, HEADER), 5, 0, 1e-9);
  CHECK_NEAR(net_flow_kg_s(s.net, 0), 0, 0, 1e-9);
  net_free(s.net);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_supply_holds_its_room_exactly);
  RUN(a_supply_whose_path_is_too_tight_stands_wide_open);
  RUN(an_exhaust_holds_one_room_under_another);
  RUN(a_remote_pressure_can_be_held);
  RUN(a_supply_follows_its_exhausts_with_an_offset);
  RUN(a_fan_holds_its_plenum_by_its_speed);
  RUN(two_links_that_hold_one_pressure_are_named);
  RUN(a_sealed_room_with_an_offset_has_no_pressure);
  RUN(a_unit_whose_most_is_the_sum_of_its_feeds_still_holds);
  RUN(a_main_whose_fan_stands_takes_the_pressure_at_which_a_valve_would_open);
  RUN(changed_limits_are_taken_up_by_the_same_net);
  RUN(what_cannot_be_meant_is_refused_with_words);
  return check_end();
}
