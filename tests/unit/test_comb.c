#include "net/comb.h"

#include "numeric/numeric.h"
#include "small_net.h"

#include <math.h>
#include <string.h>

/* Rooms with one header, made at random, each set by the lanes and by the general solver from nothing. */

enum { STATIONS = 7, SETS = 1 << STATIONS, NODES = 40, LINKS = 40, MEMBERS = 3, COMBS = 150 };

struct made {
  struct net_node nodes[NODES];
  struct net_link links[2][LINKS]; /* none open, all open */
  struct net_member members[2][LINKS][MEMBERS];
  struct net_fan fan;
  double flow_m3_s[4], rise_Pa[4];
  struct net_problem problem[2];
  int station[STATIONS];
  int node_count, link_count, room, last;
  /* as the general solver has them now */
  struct net_link now[LINKS];
  struct net_problem current;
  struct net *net;
  struct net_comb *comb;
  long asked;
  double third_least_kg_s; /* of the third station at work; 0: any */
};

static struct net_link *add(struct made *m, int from, int to, enum net_law law, int member_count)
{
  int l = m->link_count++;

  for (int open = 0; open < 2; open++)
    m->links[open][l] = (struct net_link){.from = from,
                                          .to = to,
                                          .law = law,
                                          .held = NET_NONE,
                                          .over = NET_NONE,
                                          .members = m->members[open][l],
                                          .member_count = member_count};
  return &m->links[0][l];
}

static void give(struct made *m, int l, int member, double parked_k, double open_k, double exponent)
{
  m->members[0][l][member] = power(parked_k, exponent);
  m->members[1][l][member] = power(open_k, exponent);
}

static int new_node(struct made *m)
{
  return m->node_count++;
}

static void add_station(struct made *m, struct numeric_random *random, int s, int header)
{
  double wanted = numeric_random_between(random, 0.2, 0.5),
         share = numeric_random_between(random, 0.2, 0.5);
  double sash = numeric_random_between(random, 5, 15) / (wanted * wanted);
  double rest = numeric_random_between(random, 50, 120) / (wanted * wanted);
  int kind = numeric_random_below(random, 3), inner = kind == 0 ? new_node(m) : header;

  if (kind == 0) { /* a sash, then a valve */
    add(m, m->room, inner, NET_RESIST, 1);
    give(m, m->link_count - 1, 0, sash / (share * share), sash, 2);
    add(m, inner, header, NET_SET_FLOW, 2);
    give(m, m->link_count - 1, 0, rest, rest, 2);
    give(m, m->link_count - 1, 1, 3, 3, 2);
  } else if (kind == 1) { /* a valve, its branch with a law that is not square */
    add(m, m->room, header, NET_SET_FLOW, 1);
    give(m, m->link_count - 1, 0, rest, rest, numeric_random_below(random, 2) ? 1.8 : 2);
  } else { /* nothing controls it */
    add(m, m->room, header, NET_RESIST, 2);
    give(m, m->link_count - 1, 0, sash / (share * share), sash, 2);
    give(m, m->link_count - 1, 1, rest, rest, 2);
  }
  m->station[s] = m->link_count - 1;
  m->links[0][m->link_count - 1].set_kg_s = wanted * share;
  m->links[1][m->link_count - 1].set_kg_s = wanted;
}

static void add_end(struct made *m, struct numeric_random *random, double flow_kg_s)
{
  double q = flow_kg_s / 1.2;
  bool table = numeric_random_below(random, 2), holds = numeric_random_below(random, 2);

  for (int i = 0; i < 4; i++) {
    m->flow_m3_s[i] = q * i / 2.0;
    m->rise_Pa[i] = 1200 - 250 * i - 60 * i * i;
  }
  m->fan = (struct net_fan){.kind = table ? NET_CURVE_TABLE_CUBIC : NET_CURVE_A_MINUS_B_Q2,
                            .point_count = 4,
                            .flow_m3_s = m->flow_m3_s,
                            .rise_Pa = m->rise_Pa,
                            .a_Pa = 1200,
                            .b_Pa_s2_m6 = 600 / (q * q),
                            .density_kg_m3 = 1.2,
                            .rise_factor = 1,
                            .speed_ratio = numeric_random_between(random, 0.4, 1),
                            .running = 1,
                            .holds = holds,
                            .held = m->last,
                            .over = NET_NONE,
                            .hold_Pa = -numeric_random_between(random, 200, 500),
                            .least_speed_ratio = 0.3,
                            .most_speed_ratio = numeric_random_between(random, 0.6, 1)};
  add(m, m->last, 0, NET_FAN, 0);
  m->links[0][m->link_count - 1].fan = m->links[1][m->link_count - 1].fan = &m->fan;
}

static void add_supply(struct made *m, struct numeric_random *random, double flow_kg_s)
{
  double most = flow_kg_s * numeric_random_between(random, 0.5, 1.2);

  if (numeric_random_below(random, 3) == 0) {
    m->nodes[m->room].inflow_kg_s = most;
    return;
  }
  int plenum = new_node(m);
  struct net_link *unit = add(m, 0, plenum, NET_HOLD, 0);

  unit->held = plenum;
  unit->hold_Pa = 150;
  unit->most_kg_s = most;
  m->links[1][m->link_count - 1] = *unit;

  struct net_link *feed = add(m, plenum, m->room, NET_HOLD, 1);
  double wide = flow_kg_s * numeric_random_between(random, 0.5, 1.5);

  feed->held = m->room;
  feed->hold_Pa = 15;
  feed->least_kg_s = numeric_random_below(random, 2) ? 0.1 * flow_kg_s : 0;
  feed->most_kg_s = INFINITY;
  give(m, m->link_count - 1, 0, 80 / (wide * wide), 80 / (wide * wide), 2);
  m->links[1][m->link_count - 1] = *feed;
  m->links[1][m->link_count - 1].members = m->members[1][m->link_count - 1];
}

/* 9 m of a round duct of 500 mm with its fittings; air at room temperature. */
static const struct net_member duct = {.kind = NET_DARCY,
                                       .length_m = 9,
                                       .diameter_m = 0.5,
                                       .area_m2 = 0.196,
                                       .roughness_m = 1e-5,
                                       .loss_ratio = 0.6,
                                       .density_kg_m3 = {1.2, 1.2},
                                       .viscosity_Pa_s = 1.8e-5};

static void make(struct made *m, struct numeric_random *random)
{
  int header = 2, members_left;
  double flow_kg_s = 0.35 * STATIONS, leak = 0.1 * flow_kg_s;
  double exponent = numeric_random_below(random, 3) == 0 ? 2 : 1 / 0.65;

  *m = (struct made){.room = 1, .node_count = 3};
  m->nodes[0] = given(0);
  for (int s = 0; s < STATIONS; s++) {
    add_station(m, random, s, header);
    if (s + 1 < STATIONS && numeric_random_below(random, 3) > 0) {
      int next = new_node(m);

      members_left = 1 + numeric_random_below(random, 2);
      add(m, header, next, NET_RESIST, members_left);
      for (int i = 0; i < members_left; i++)
        give(m, m->link_count - 1, i, 5, 5, numeric_random_below(random, 4) ? 2 : 1.9);
      if (numeric_random_below(random, 4) == 0)
        m->members[0][m->link_count - 1][0] = m->members[1][m->link_count - 1][0] = duct;
      header = next;
    }
  }
  m->last = header;
  add_end(m, random, flow_kg_s);
  add_supply(m, random, flow_kg_s);
  add(m, 0, m->room, NET_RESIST, 1); /* drawn from outside */
  give(m, m->link_count - 1, 0, 12 / pow(leak, exponent), 12 / pow(leak, exponent), exponent);
  for (int open = 0; open < 2; open++)
    m->problem[open] = (struct net_problem){m->node_count, m->link_count, m->nodes, m->links[open]};
}

/* ---- the general solver ---- */

static void open_to(struct made *m, uint32_t set)
{
  memcpy(m->now, m->links[0], sizeof m->now);
  for (int s = 0; s < STATIONS; s++)
    if (set >> s & 1)
      for (int l = m->station[s]; l >= 0; l--) { /* and the sash before its valve */
        m->now[l] = m->links[1][l];
        if (m->links[1][l].from == m->room)
          break;
      }
  m->current = (struct net_problem){m->node_count, m->link_count, m->nodes, m->now};
}

static bool third_is_below(const struct made *m, uint32_t set)
{
  return (set >> 2 & 1) && net_flow_kg_s(m->net, m->station[2]) < m->third_least_kg_s;
}

static enum net_comb_verdict ask(void *arg, uint32_t set, double *room_Pa, double *far_Pa)
{
  struct made *m = arg;
  struct net_report report;

  m->asked++;
  open_to(m, set);
  net_update(m->net, &m->current);
  net_forget(m->net);
  if (net_solve(m->net, &report) == NET_FAILED)
    return NET_COMB_MISSED;
  *room_Pa = net_pressure_Pa(m->net, m->room);
  *far_Pa = net_pressure_Pa(m->net, net_comb_far(m->comb));
  return third_is_below(m, set) ? NET_COMB_MISSED : NET_COMB_MET;
}

static bool start(struct made *m, struct err *err)
{
  m->comb = net_comb_new(&m->problem[0], &m->problem[1], STATIONS, m->station, err);
  open_to(m, 0);
  m->net = net_new(&m->current, err);
  return m->comb && m->net;
}

static void end(struct made *m)
{
  net_comb_free(m->comb);
  net_free(m->net);
}

/* ---- tests ---- */

static void resist_more(struct made *m, int link, double factor)
{
  for (int open = 0; open < 2; open++)
    for (int i = 0; i < m->links[open][link].member_count; i++)
      for (int way = 0; way < 2; way++)
        m->members[open][link][i].k[way] *= factor;
}

/* Sashes and valves all but shut, next to no leak or no supply, wide ducts, a fan that stirs. */
static void spoil(struct made *m, struct numeric_random *random)
{
  double tight = pow(10, numeric_random_between(random, 1, 5));

  for (int s = 0; s < STATIONS; s++)
    if (numeric_random_below(random, 3)) {
      struct net_link *parked = &m->links[0][m->station[s]];

      m->members[0][m->station[s]][0].k[0] *= tight;
      m->members[0][m->station[s]][0].k[1] *= tight;
      parked->set_kg_s *= numeric_random_below(random, 4) ? 0.01 : 0;
    }
  for (int l = 0; l < m->link_count; l++) {
    bool leak = m->links[0][l].from == 0 && m->links[0][l].to == m->room;

    if (!leak && (m->links[0][l].from == m->room || numeric_random_below(random, 4)))
      continue;
    resist_more(m, l, pow(10, numeric_random_between(random, leak ? -3 : -4, leak ? 3 : 1)));
    m->links[0][l].hold_Pa = m->links[1][l].hold_Pa *= numeric_random_below(random, 3) > 0;
  }
  m->fan.rise_factor = numeric_random_below(random, 3) ? 1 : 0.05;
  m->nodes[m->room].inflow_kg_s *= numeric_random_below(random, 2);
}

static bool same_bits(const double *a, const double *b)
{
  uint64_t differ = 0;

  for (int i = 0; i < SETS; i++) {
    uint64_t x, y;

    memcpy(&x, &a[i], sizeof x);
    memcpy(&y, &b[i], sizeof y);
    differ |= x ^ y;
  }
  return differ == 0;
}

static void every_path_gives_the_same_bits(void)
{
  static struct made m;
  static double room_Pa[4][SETS], far_Pa[4][SETS];
  static unsigned char verdict[4][SETS];
  struct numeric_random random;

  numeric_random_seed(&random, 6);
  CHECK(net_path_has(NET_PATH_PLAIN));
  for (int i = 0; i < COMBS; i++) {
    struct net_comb_bounds bounds = {.room_least_Pa = 5, .room_most_Pa = 30, .end_most_Pa = -150};
    struct err err = {0};

    make(&m, &random);
    if (i % 2)
      spoil(&m, &random);
    REQUIRE(start(&m, &err));
    for (int path = NET_PATH_PLAIN; path <= NET_PATH_AVX512; path++) {
      struct net_comb_job job = {(enum net_path)path, &bounds,      ask,          &m,
                                 room_Pa[path],       far_Pa[path], verdict[path]};
      struct net_comb_report report;

      if (!net_path_has(job.path))
        continue;
      net_comb_all(m.comb, &job, &report);
      CHECK_INT(report.path, path);
      CHECK(same_bits(room_Pa[path], room_Pa[NET_PATH_PLAIN]));
      CHECK(same_bits(far_Pa[path], far_Pa[NET_PATH_PLAIN]));
      CHECK(memcmp(verdict[path], verdict[NET_PATH_PLAIN], sizeof *verdict) == 0);
    }
    end(&m);
  }
}

static void a_comb_of(struct made *m, uint64_t seed)
{
  struct numeric_random random;

  numeric_random_seed(&random, seed);
  make(m, &random);
}

static void a_set_so_near_a_bound_that_digits_decide_is_asked_for(void)
{
  static struct made m;
  static double room_Pa[SETS], far_Pa[SETS];
  static unsigned char verdict[SETS];
  struct err err = {0};

  a_comb_of(&m, 8);
  REQUIRE(start(&m, &err));

  struct net_comb_bounds bounds = {
      .room_least_Pa = -INFINITY, .room_most_Pa = INFINITY, .end_most_Pa = INFINITY};
  struct net_comb_job job = {NET_PATH_BEST, &bounds, ask, &m, room_Pa, far_Pa, verdict};
  struct net_comb_report report;

  net_comb_all(m.comb, &job, &report);
  CHECK_INT(report.near, 0);
  bounds.room_least_Pa = room_Pa[5];
  net_comb_all(m.comb, &job, &report);
  CHECK(report.near > 0);
  for (int set = 0; set < SETS; set++)
    if (room_Pa[set] > bounds.room_least_Pa + 1e-5)
      CHECK_INT(verdict[set], NET_COMB_MET);
    else if (room_Pa[set] < bounds.room_least_Pa - 1e-5)
      CHECK_INT(verdict[set], NET_COMB_MISSED);
  end(&m);
}

static void a_station_below_its_bound_is_missed_in_just_those_sets(void)
{
  static struct made m;
  static double room_Pa[SETS], far_Pa[SETS];
  static unsigned char verdict[SETS];
  static struct net_comb_bound bound[LINKS];
  struct err err = {0};
  long missed = 0;

  for (int i = 0; i < 40; i++) {
    a_comb_of(&m, 100 + (uint64_t)i);
    REQUIRE(start(&m, &err));
    for (int l = 0; l < LINKS; l++)
      bound[l] = (struct net_comb_bound){{-INFINITY, -INFINITY}, {INFINITY, INFINITY}};
    m.third_least_kg_s = bound[m.station[2]].least_kg_s[1] =
        0.97 * m.links[1][m.station[2]].set_kg_s;

    struct net_comb_bounds bounds = {-INFINITY, INFINITY, INFINITY, bound};
    struct net_comb_job job = {NET_PATH_BEST, &bounds, ask, &m, room_Pa, far_Pa, verdict};
    struct net_comb_report report;

    net_comb_all(m.comb, &job, &report);
    CHECK_INT(report.near, 0);
    for (uint32_t set = 0; set < SETS; set++) {
      double p_Pa, x_Pa;

      ask(&m, set, &p_Pa, &x_Pa);

      bool below =
          (set >> 2 & 1) && net_flow_kg_s(m.net, m.station[2]) < bound[m.station[2]].least_kg_s[1];

      missed += below;
      CHECK_INT(verdict[set], below ? NET_COMB_MISSED : NET_COMB_MET);
    }
    end(&m);
  }
  CHECK(missed > 0);
}

/* Every set of the comb as the general solver has it; how many were asked for. */
static long check_every_set(struct made *m)
{
  static double room_Pa[SETS], far_Pa[SETS];
  struct net_comb_job job = {.ask = ask, .arg = m, .room_Pa = room_Pa, .far_Pa = far_Pa};
  struct net_comb_report report;
  struct err err = {0};
  long asked = 0;

  if (!CHECK(start(m, &err)))
    CHECK_STR(err.text, "");
  else {
    net_comb_all(m->comb, &job, &report);
    asked = report.failed + report.lost + report.near;
    CHECK_INT(m->asked, 1 + asked);
    CHECK_INT(report.failed, 0);
    CHECK(report.worst_kg_s <= 1e-9);
    for (uint32_t set = 0; set < SETS; set++) {
      double p_Pa = NAN, x_Pa = NAN;

      ask(m, set, &p_Pa, &x_Pa);
      CHECK_NEAR(room_Pa[set], p_Pa, 1e-9, 1e-6);
      CHECK_NEAR(far_Pa[set], x_Pa, 1e-9, 1e-6);
    }
  }
  end(m);
  return asked;
}

static void every_set_of_a_comb_is_what_the_general_solver_says(void)
{
  static struct made m;
  struct numeric_random random;
  long asked = 0;

  numeric_random_seed(&random, 5);
  for (int i = 0; i < COMBS; i++) {
    check_case("comb %d", i);
    make(&m, &random);
    asked += check_every_set(&m);
  }
  CHECK(asked < COMBS * SETS / 20);
}

static void a_tooth_at_its_knee_is_solved_in_the_lanes_too(void)
{
  static struct made m;

  for (int i = 0; i < COMBS; i++) {
    check_case("comb %d", i);
    a_comb_of(&m, 500 + (uint64_t)i);
    for (int open = 0; open < 2; open++)
      for (int s = 0; s < STATIONS; s++)
        m.members[open][m.station[s]][0] = power(i % 2 ? 1e-3 : 1, 2);
    CHECK_INT(check_every_set(&m), 0);
  }
}

static void degenerate_combs_are_solved_in_the_lanes_too(void)
{
  static struct made m;
  struct numeric_random random;
  long asked = 0;

  numeric_random_seed(&random, 9);
  for (int i = 0; i < 3 * COMBS; i++) {
    check_case("comb %d", i);
    make(&m, &random);
    spoil(&m, &random);
    asked += check_every_set(&m);
  }
  check_case("%ld sets left to the general solver", asked);
  CHECK(asked < 3 * COMBS * SETS / 20);
}

/* A valve without its flow behind laws that add up to none in closed form. */
static void make_starved(struct made *m, uint64_t seed)
{
  a_comb_of(m, seed);
  for (int s = 0; s < STATIONS; s++)
    for (int open = 0; open < 2 && m->links[0][m->station[s]].law == NET_SET_FLOW; open++) {
      m->members[open][m->station[s]][1] = power(30, 1.7);
      m->links[open][m->station[s]].member_count = 2;
      m->links[open][m->station[s]].set_kg_s *= 10;
    }
}

static void a_law_without_a_form_is_left_to_the_general_solver(void)
{
  static struct made m;
  long asked = 0;

  for (int i = 0; i < COMBS / 10; i++) {
    check_case("comb %d", i);
    make_starved(&m, 500 + (uint64_t)i);
    asked += check_every_set(&m);
  }
  CHECK(asked > 0);
}

static enum net_comb_verdict stop(void *arg, uint32_t set, double *room_Pa, double *far_Pa)
{
  return set > 0 ? NET_COMB_STOP : ask(arg, set, room_Pa, far_Pa);
}

static void who_is_asked_for_too_much_may_end_the_run(void)
{
  static struct made m;
  static double room_Pa[SETS], far_Pa[SETS];
  struct err err = {0};
  long stopped = 0;

  for (int i = 0; i < COMBS && stopped == 0; i++) {
    make_starved(&m, 500 + (uint64_t)i);
    REQUIRE(start(&m, &err));

    struct net_comb_job job = {.ask = stop, .arg = &m, .room_Pa = room_Pa, .far_Pa = far_Pa};
    struct net_comb_report report;

    net_comb_all(m.comb, &job, &report);
    stopped += report.stopped;
    CHECK(m.asked <= 2); /* none open, which every run begins with */
    end(&m);
  }
  CHECK_INT(stopped, 1);
}

static void check_refused(struct made *m, const char *why)
{
  struct err err = {0};

  CHECK(!net_comb_new(&m->problem[0], &m->problem[1], STATIONS, m->station, &err));
  CHECK_INT(err.code, ERR_INPUT);
  CHECK_STR(err.text, why);
}

static void what_is_no_comb_is_refused_and_told_why(void)
{
  static struct made m;

  a_comb_of(&m, 3);
  add(&m, m.room, new_node(&m), NET_RESIST,
      1); /* a second room behind a door, with a leak of its own */
  give(&m, m.link_count - 1, 0, 4, 4, 2);
  add(&m, m.node_count - 1, 0, NET_RESIST, 1);
  give(&m, m.link_count - 1, 0, 4, 4, 1.5);
  for (int open = 0; open < 2; open++)
    m.problem[open] = (struct net_problem){m.node_count, m.link_count, m.nodes, m.links[open]};
  check_refused(&m, "no comb: a leak in several parts");

  a_comb_of(&m, 3);
  add(&m, m.last, 0, NET_FAN, 0);
  for (int open = 0; open < 2; open++) {
    m.links[open][m.link_count - 1].fan = &m.fan;
    m.problem[open].link_count = m.link_count;
  }
  check_refused(&m, "no comb: more than one fan");

  a_comb_of(&m, 3);
  m.links[1][m.link_count - 1].members = m.members[1][0];
  check_refused(&m, "no comb: something else than the stations changes");

  a_comb_of(&m, 3);
  add(&m, 2, m.last == 2 ? m.room : m.last, NET_RESIST, 1);
  give(&m, m.link_count - 1, 0, 4, 4, 1.8);
  for (int open = 0; open < 2; open++)
    m.problem[open].link_count = m.link_count;
  check_refused(&m, "no comb: no one room whose stations all join one header");
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(every_set_of_a_comb_is_what_the_general_solver_says);
  RUN(every_path_gives_the_same_bits);
  RUN(a_set_so_near_a_bound_that_digits_decide_is_asked_for);
  RUN(a_station_below_its_bound_is_missed_in_just_those_sets);
  RUN(a_tooth_at_its_knee_is_solved_in_the_lanes_too);
  RUN(degenerate_combs_are_solved_in_the_lanes_too);
  RUN(a_law_without_a_form_is_left_to_the_general_solver);
  RUN(who_is_asked_for_too_much_may_end_the_run);
  RUN(what_is_no_comb_is_refused_and_told_why);
  return check_end();
}
