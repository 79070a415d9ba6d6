#include "net/sets.h"

#include "check.h"
#include "numeric/numeric.h"
#include "random_net.h"

#include <math.h>
#include <string.h>

/*
 * All sets of switches side by side, against each solved from nothing by the scalar solver, on made-up
 * networks: rooms that trade air, mains with and without controlled fans, supplies that hold.
 */

enum { SWITCHES = 7, STATES = 1 << SWITCHES };

static struct random_net none, all;
static int switches[SWITCHES], switch_count;

/* `all` borrows what `none` has made. */
static void copy(void)
{
  all = none;
  all.problem.nodes = all.nodes;
  all.problem.links = all.links;
  for (int l = 0; l < all.link_count; l++)
    if (none.links[l].member_count > 0)
      all.links[l].members = all.members + (none.links[l].members - none.members);
}

/* What the sashes of a suite do: a valve asks for another flow, an opening changes. */
static bool change(struct numeric_random *r, int l)
{
  struct net_link *link = &all.links[l];
  struct net_member *m = &all.members[none.links[l].members - none.members];
  double by = exp(numeric_random_between(r, -1.5, 1.5));

  if (link->law == NET_SET_FLOW && link->member_count > 0) {
    link->set_kg_s *= by;
    return true;
  }
  if (link->law != NET_RESIST || link->member_count == 0 || m->kind != NET_POWER || m->m != 2)
    return false;
  m->k[0] *= by;
  m->k[1] *= by;
  return true;
}

/* One switch for a row of links: what is refused for being a second is put back. */
static void switch_some(uint64_t seed)
{
  struct numeric_random r;

  numeric_random_seed(&r, seed + 77);
  switch_count = 0;
  for (int i = 0; i < 4 * none.link_count && switch_count < SWITCHES; i++) {
    int l = numeric_random_below(&r, none.link_count);
    struct err err = {0};

    if (all.links[l].set_kg_s != none.links[l].set_kg_s ||
        (none.links[l].member_count > 0 &&
         all.links[l].members->k[0] != none.links[l].members->k[0]) ||
        !change(&r, l))
      continue;
    switches[switch_count++] = l;
    struct net_sets *sets = net_sets_new(&none.problem, &all.problem, switch_count, switches, &err);

    if (!sets && strstr(err.text, "two switches")) {
      all.links[l].set_kg_s = none.links[l].set_kg_s;
      memcpy(&all.members[none.links[l].members - none.members], none.links[l].members,
             (size_t)none.links[l].member_count * sizeof(struct net_member));
      switch_count--;
    }
    net_sets_free(sets);
  }
}

struct asked {
  long count;
  bool open[STATES];
};

static bool ask(void *arg, unsigned long state)
{
  struct asked *a = arg;

  a->count++;
  a->open[state] = true;
  return true;
}

static struct net_sets_report run(struct net_sets *sets, enum net_path path, struct asked *asked,
                                  double *pressure_Pa) /* NOLINT(readability-non-const-parameter) */
{
  static uint64_t marks[STATES];
  struct net_sets_kind kinds[SWITCHES];
  struct net_sets_report report;

  for (int i = 0; i < switch_count; i++)
    kinds[i] = (struct net_sets_kind){.size = 1, .switches = {i}, .stride = 1ul << i};
  *asked = (struct asked){0};
  struct net_sets_job job = {.path = path,
                             .kind_count = switch_count,
                             .kinds = kinds,
                             .ask = ask,
                             .arg = asked,
                             .marks = marks,
                             .pressure_Pa = pressure_Pa};

  CHECK(net_sets_all(sets, &job, &report));
  return report;
}

static void set_to(struct random_net *mixed, uint32_t set)
{
  for (int i = 0; i < switch_count; i++)
    mixed->links[switches[i]] = (set >> i & 1 ? all : none).links[switches[i]];
}

struct tally {
  long nets, refused, states, asked, passes, segments;
  double worst_Pa, worst_kg_s;
};

static void compare(enum random_net_kind kind, uint64_t seed, struct tally *t)
{
  static double pressure_Pa[STATES * RANDOM_NET_NODES];
  static struct random_net mixed;
  struct err err = {0};
  struct asked asked;

  random_net_make(&none, seed, kind);
  copy();
  switch_some(seed);
  CHECK_CASE("kind %d seed %d", (int)kind, (int)seed);
  struct net_sets *sets = net_sets_new(&none.problem, &all.problem, switch_count, switches, &err);

  t->nets++;
  t->refused += !sets;
  if (!sets) {
    CHECK_INT(err.code, ERR_INPUT);
    return;
  }
  struct net_sets_report report = run(sets, NET_PATH_BEST, &asked, pressure_Pa);

  mixed = none;
  mixed.problem.nodes = mixed.nodes;
  mixed.problem.links = mixed.links;
  struct net *net = net_new(&mixed.problem, &err);

  for (uint32_t set = 0; set < 1u << switch_count; set++) {
    struct net_report one;

    if (asked.open[set])
      continue;
    set_to(&mixed, set);
    net_update(net, &mixed.problem);
    net_forget(net);
    if (!CHECK_INT(net_solve(net, &one), NET_SOLVED))
      continue;
    for (int n = 0; n < none.node_count; n++) {
      double p = pressure_Pa[set * (uint32_t)none.node_count + (uint32_t)n];

      CHECK(net_has_pressure(net, n));
      if (!isnan(p))
        t->worst_Pa = fmax(t->worst_Pa, fabs(p - net_pressure_Pa(net, n)));
    }
    CHECK(t->worst_Pa < 1e-6);
  }
  t->states += 1l << switch_count;
  t->asked += asked.count;
  t->passes += report.passes;
  t->worst_kg_s = fmax(t->worst_kg_s, report.worst_kg_s);
  net_free(net);
  net_sets_free(sets);
}

static void what_the_lanes_solve_is_what_the_scalar_solver_finds(void)
{
  for (int kind = 0; kind < 3; kind++) {
    struct tally t = {0};

    for (uint64_t seed = 0; seed < 200; seed++)
      compare((enum random_net_kind)kind, seed, &t);
    CHECK_CASE("kind %d: %ld of %ld nets, %ld states, %ld asked for, %ld passes", kind,
               t.nets - t.refused, t.nets, t.states, t.asked, t.passes);
    CHECK(t.worst_kg_s <= 1e-9);
    CHECK(t.refused < 3 * t.nets / 4 && 20 * t.asked < t.states); /* or this tests nothing */
  }
}

static void every_path_gives_the_same_pressures_bit_by_bit(void)
{
  static double plain_Pa[STATES * RANDOM_NET_NODES], other_Pa[STATES * RANDOM_NET_NODES];

  for (uint64_t seed = 500; seed < 560; seed++) {
    struct err err = {0};
    struct asked asked, other_asked;

    random_net_make(&none, seed, (enum random_net_kind)(seed % 3));
    copy();
    switch_some(seed);
    CHECK_CASE("seed %d", (int)seed);
    struct net_sets *sets = net_sets_new(&none.problem, &all.problem, switch_count, switches, &err);

    if (!sets)
      continue;
    struct net_sets_report plain = run(sets, NET_PATH_PLAIN, &asked, plain_Pa);

    for (int path = NET_PATH_AVX2; path <= NET_PATH_AVX512; path++) {
      if (!net_path_has((enum net_path)path))
        continue;
      struct net_sets_report other = run(sets, (enum net_path)path, &other_asked, other_Pa);

      CHECK_INT(other.path, path);
      CHECK_INT(other.passes, plain.passes);
      CHECK(memcmp(&asked, &other_asked, sizeof asked) == 0);
      CHECK(memcmp(plain_Pa, other_Pa,
                   ((size_t)none.node_count << switch_count) * sizeof *plain_Pa) == 0);
    }
    net_sets_free(sets);
  }
}

/* ---- one room, by hand ---- */

static const struct net_member crack = {.kind = NET_POWER, .k = {4000, 4000}, .m = 2},
                               sash[] = {{.kind = NET_POWER, .k = {900, 900}, .m = 2},
                                         {.kind = NET_POWER, .k = {100, 100}, .m = 2}};

/* Air is blown into a room with a crack and two openings, each wide or narrow. */
static void make_room(struct net_problem *problem, struct net_node *nodes, struct net_link *links,
                      int wide)
{
  nodes[0] = (struct net_node){.fixed = true};
  nodes[1] = (struct net_node){.inflow_kg_s = 0.3};
  links[0] = (struct net_link){
      .from = 1, .to = 0, .law = NET_RESIST, .member_count = 1, .members = &crack};
  for (int i = 1; i <= 2; i++)
    links[i] = (struct net_link){
        .from = 1, .to = 0, .law = NET_RESIST, .member_count = 1, .members = &sash[wide]};
  *problem = (struct net_problem){2, 3, nodes, links};
}

static void a_bound_that_a_set_misses_is_marked(void)
{
  static const int openings[] = {1, 2};
  struct net_node nodes[2][2];
  struct net_link links[2][3];
  struct net_problem problems[2];
  struct err err = {0};
  struct asked asked = {0};
  struct net_sets_report report;
  uint64_t marks[3];
  double pressure_Pa[3 * 2];

  make_room(&problems[0], nodes[0], links[0], 0);
  make_room(&problems[1], nodes[1], links[1], 1);
  struct net_sets *sets = net_sets_new(&problems[0], &problems[1], 2, openings, &err);

  REQUIRE(sets != NULL);
  /* Q = sum of root(p / k), so p = (0.3 / sum of 1/root(k))^2: 13.64, 2.92 and 1.13 Pa */
  const double by_hand_Pa[] = {0.09 / pow(1 / sqrt(4000) + 2 / sqrt(900), 2),
                               0.09 / pow(1 / sqrt(4000) + 1 / sqrt(900) + 1 / sqrt(100), 2),
                               0.09 / pow(1 / sqrt(4000) + 2 / sqrt(100), 2)};
  const struct net_sets_kind alike = {.size = 2, .switches = {0, 1}, .stride = 1};
  const struct net_sets_bound bounds[] = {{.node = 1,
                                           .over = 0,
                                           .least = 2,
                                           .most = 10,
                                           .at = NET_NONE,
                                           .but_at_least = NET_NONE,
                                           .mark = 5},
                                          {.link_count = 1,
                                           .links = &openings[1],
                                           .least = 0.1,
                                           .most = 1,
                                           .at = NET_NONE,
                                           .but_at_least = NET_NONE,
                                           .mark = 6},
                                          {.link_count = 1,
                                           .links = &openings[0],
                                           .least = 1,
                                           .most = 2,
                                           .at = 0,
                                           .on = true,
                                           .but_at_least = NET_NONE,
                                           .mark = 7},
                                          {.node = 1,
                                           .over = NET_NONE,
                                           .least = by_hand_Pa[1],
                                           .most = 1000,
                                           .at = 1,
                                           .on = false,
                                           .but_at_least = NET_NONE,
                                           .mark = 8}};
  const struct net_sets_job job = {.kind_count = 1,
                                   .kinds = &alike,
                                   .bound_count = 4,
                                   .bounds = bounds,
                                   .ask = ask,
                                   .arg = &asked,
                                   .marks = marks,
                                   .pressure_Pa = pressure_Pa};

  CHECK(net_sets_all(sets, &job, &report));
  for (int state = 0; state < 3; state++)
    CHECK_NEAR(pressure_Pa[2 * state + 1], by_hand_Pa[state], 1e-9, 0);
  CHECK_INT((long long)marks[0], 1 << 5);          /* too high */
  CHECK_INT((long long)marks[1], 1 << 6 | 1 << 7); /* the narrow one too little, so the wide one */
  CHECK_INT((long long)marks[2], 1 << 5 | 1 << 7); /* too low; its flow is 0.14 kg/s */
  CHECK_INT(report.near, 1); /* on the bound to the last digit: others decide */
  CHECK(asked.open[1] && asked.count == 1);
  net_sets_free(sets);
}

static void what_lanes_cannot_do_is_refused(void)
{
  static const int openings[] = {1, 1}, crack_alone[] = {0};
  struct net_node nodes[2][2];
  struct net_link links[2][3];
  struct net_problem problems[2];
  struct err err = {0};

  make_room(&problems[0], nodes[0], links[0], 0);
  make_room(&problems[1], nodes[1], links[1], 1);
  CHECK(!net_sets_new(&problems[0], &problems[1], 1, crack_alone, &err));
  CHECK_INT(err.code, ERR_INPUT);
  CHECK_STR(err.text, "not in lanes: the problems differ in a link without a switch");
  links[1][2] = links[0][2];
  CHECK(!net_sets_new(&problems[0], &problems[1], 2, openings, &err));
  CHECK_STR(err.text, "not in lanes: two switches in one row of links");
  nodes[1][1].inflow_kg_s = 0.2;
  CHECK(!net_sets_new(&problems[0], &problems[1], 1, openings, &err));
  CHECK_STR(err.text, "not in lanes: the problems differ in their nodes");
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_the_lanes_solve_is_what_the_scalar_solver_finds);
  RUN(every_path_gives_the_same_pressures_bit_by_bit);
  RUN(a_bound_that_a_set_misses_is_marked);
  RUN(what_lanes_cannot_do_is_refused);
  return check_end();
}
