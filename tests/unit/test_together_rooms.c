/* Who may work together in several rooms with two mains: in lanes, against every state solved one by one. */
#include "together/together.h"

#include "check.h"
#include "numeric/numeric.h"

#include <stdio.h>
#include <string.h>

enum { STATIONS = 9, SETS = 1 << STATIONS, SUITES = 40 };

struct asked {
  struct arena arena;
  struct facility *facility;
  struct scene scene;
  struct err err;
};

static void put_flow(struct buf *out, struct numeric_random *r, int form)
{
  int parked_m3_h = 150 + numeric_random_below(r, 150),
      work_m3_h = 500 + numeric_random_below(r, 800);

  if (form == 0)
    buf_printf(
        out,
        "flow: {follows opening: {velocity: 0.5 m/s, least: %d m3/h, most: %d m3/h}}, opening: "
        "{parked: 0.03 m, work: 0.45 m, most: 0.75 m}, width: 1.2 m, criterion: face",
        parked_m3_h, work_m3_h + 300);
  else if (form == 1) /* idle: the same flow, and a face that is judged when it is open */
    buf_printf(
        out,
        "flow: {constant: %d m3/h}, opening: {parked: 0.03 m, work: 0.4 m, most: 0.6 m}, width: "
        "1.2 m, criterion: face",
        work_m3_h);
  else if (form == 2)
    buf_printf(out, "flow: {passive: {coefficient: 0.62, bypass area: 40 cm2}}, width: 0.9 m, "
                    "criterion: flow, opening: {parked: 0.02 m, work: 0.2 m, most: 0.3 m}");
  else
    buf_printf(out, "flow: {two-state: {parked: %d m3/h, work: %d m3/h}}",
               form == 3 ? 0 : parked_m3_h, work_m3_h);
}

/* Of the second room on either main; some two of a kind. */
static void put_stations(struct buf *out, struct numeric_random *r, bool geometry)
{
  static const char *const joins[] = {"M, joins: far", "M, joins: header", "N, joins: pipe"};

  buf_printf(out, "stations:\n");
  for (int i = 0; i < STATIONS; i++) {
    int form = numeric_random_below(r, 6);

    buf_printf(out, "  S%d: {kind: fume hood, room: %s, main: %s, ", i, i % 2 ? "Q" : "R",
               joins[i % 3]);
    put_flow(out, r, form);
    if (geometry && form != 2)
      buf_printf(out, ", branch: {diameter: %d mm, length: 5 m, roughness: 0.01 mm, loss: 2.4}}\n",
                 200 + 25 * numeric_random_below(r, 3));
    else
      buf_printf(out, ", branch: {drop: %d Pa at 800 m3/h}}\n", 40 + numeric_random_below(r, 80));
  }
}

static void put_mains(struct buf *out, struct numeric_random *r, bool geometry)
{
  buf_printf(out, "ducts:\n");
  if (geometry)
    buf_printf(
        out,
        "  D1: {from: far, to: header, diameter: 400 mm, length: 8 m, roughness: 0.01 mm, loss: 0.5}\n"
        "  D2: {from: header, to: inlet, drop: 60 Pa at 5000 m3/h}\n"
        "  D3: {from: stack, to: outdoors, diameter: 500 mm, length: 9 m, roughness: 0.01 mm, loss: 1}\n");
  else
    buf_printf(out, "  D1: {from: far, to: header, drop: 20 Pa at 4000 m3/h}\n"
                    "  D2: {from: header, to: inlet, drop: 60 Pa at 5000 m3/h}\n"
                    "  D3: {from: stack, to: outdoors, drop: 30 Pa at 8000 m3/h, exponent: 1.9}\n");
  int shut_off_Pa = 200 + numeric_random_below(r, 400),
      most_Pa = 950 + numeric_random_below(r, 100), held_Pa = 150 + numeric_random_below(r, 250);

  buf_printf(
      out,
      "fans:\n  EF: {from: inlet, to: stack, holds: {pressure: -%d Pa, in: header, least speed: 35 %%, "
      "most speed: 100 %%}, curve: [%d Pa at 0 m3/h, 900 Pa at 2000 m3/h, 600 Pa at 4000 m3/h, "
      "100 Pa at 6000 m3/h]}\n"
      "  NF: {from: pipe, to: outdoors, shut-off: %d Pa, falls: 60 Pa/(m3/s)2}\n",
      held_Pa, most_Pa, shut_off_Pa);
  buf_printf(out, "mains: {M: {at: header, fans: [EF]}, N: {at: pipe, fans: [NF]}}\n");
}

static void put_suite(struct buf *out, uint64_t seed, const char *more)
{
  struct numeric_random random, *r = &random;

  numeric_random_seed(r, seed);
  bool geometry = numeric_random_below(r, 2);
  /* Drawn one by one: in which order arguments are, a compiler decides. */
  int over_room_Pa = 1 + numeric_random_below(r, 4),
      over_outdoors_Pa = 4 + numeric_random_below(r, 5);

  buf_printf(
      out,
      "inward: 1 suite\nname: Two halls (DEMO)\n%s"
      "criteria:\n  face: {of: face velocity, low: 0.40 m/s, high: 0.90 m/s, source: made up}\n"
      "  flow: {of: flow, low: 60 m3/h, source: made up}\n"
      "rooms:\n  R: {keeps: [{over: outdoors, at least: %d Pa, at most: 30 Pa}]}\n"
      "  Q: {keeps: [{over: R, at least: %d Pa}]}\n  C: {}\n"
      "junctions: {far: {}, header: {}, inlet: {}, stack: {}, pipe: {}}\n",
      more, over_outdoors_Pa, over_room_Pa);
  buf_printf(
      out, "leaks:\n  LR: {from: R, to: outdoors, area: 300 cm2, coefficient: 0.65}\n"
           "  LQ: {from: Q, to: outdoors, c: 0.0093 m3/(s Pan), n: 0.65}\n"
           "  LC: {from: C, to: outdoors, area: 200 cm2, coefficient: 0.65}\n"
           "  GR: {from: R, to: C, area: 300 cm2, coefficient: 0.65}\n"
           "doors: {D: {from: Q, to: R, closed: {area: 150 cm2, coefficient: 0.65}, open: {area: 2 "
           "m2, coefficient: 0.65}}}\n");
  put_mains(out, r, geometry);

  int most_to_other_m3_h = 2000 + numeric_random_below(r, 4000),
      least_to_room_m3_h = numeric_random_below(r, 2) * 800,
      most_m3_h = 3000 + numeric_random_below(r, 5000);

  buf_printf(
      out,
      "supplies:\n  MU: {most: %d m3/h, plenum: 150 Pa, feeds: {R: {holds: {pressure: 12 Pa, over: "
      "outdoors}, least: %d m3/h, most: 30000 m3/h}, Q: {holds: {pressure: 6 Pa, over: R}, least: 0 "
      "m3/h, most: %d m3/h}}}\n"
      "exhausts: {X: {from: R, main: M, to: far, flow: 150 m3/h}}\n",
      most_m3_h, least_to_room_m3_h, most_to_other_m3_h);
  put_stations(out, r, geometry);
}

static bool open_suite(struct asked *a, uint64_t seed, const char *more)
{
  struct complaints complaints;
  struct buf text;

  *a = (struct asked){0};
  arena_init(&a->arena, (size_t)1 << 30);
  complaints_init(&complaints, &a->arena);
  buf_init(&text, 1 << 16);
  put_suite(&text, seed, more);
  struct facility_text one = {"halls.yaml", text.text, text.used};

  a->facility = facility_read(&one, NULL, 0, &complaints);
  for (int i = 0; i < complaints.count; i++)
    check_case("%s", complaints.list[i].text);
  buf_release(&text);
  if (!CHECK(a->facility != NULL))
    return false;
  a->scene = scene_parked(a->facility, &a->arena);
  return true;
}

static const struct together_answer *ask(struct asked *a, bool one_by_one, enum net_path path,
                                         bool lost)
{
  struct together_request request = {
      .scene = &a->scene, .one_by_one = one_by_one, .path = path, .lost = lost};
  const struct together_answer *answer = together_ask(a->facility, &request, &a->arena, &a->err);

  if (!answer)
    check_case("%s", a->err.text);
  return CHECK(answer != NULL) ? answer : NULL;
}

static void drop(struct asked *a)
{
  facility_free(a->facility);
  arena_release(&a->arena);
}

static void check_sets(const struct together_sets *l, const struct together_sets *o)
{
  CHECK(l->exact == o->exact && l->sure == o->sure && l->nothing == o->nothing);
  CHECK_STR(l->words, o->words);
  CHECK_INT(l->fine_count, o->fine_count);
  CHECK_INT(l->sure_count, o->sure_count);
  if (!l->nothing && !o->nothing)
    CHECK(memcmp(l->table, o->table, SETS) == 0);
}

static void check_same(const struct together_answer *lanes, const struct together_answer *one)
{
  check_sets(&lanes->sets, &one->sets);
  if (CHECK_INT(lanes->lost_count, one->lost_count))
    for (int i = 0; i < one->lost_count; i++) {
      check_case("%s lost", one->lost[i].id);
      check_sets(&lanes->lost[i].sets, &one->lost[i].sets);
    }
}

static void in_lanes_every_state_is_judged_as_when_it_is_solved_alone(void)
{
  long side_by_side = 0, asked = 0, mixed = 0, given_up = 0;

  for (uint64_t seed = 1; seed <= SUITES; seed++) {
    struct asked a;

    CHECK_CASE("suite %d", (int)seed);
    if (open_suite(&a, seed, "")) {
      const struct together_answer *one = ask(&a, true, NET_PATH_BEST, true);
      const struct together_answer *lanes = ask(&a, false, NET_PATH_BEST, true);

      if (one && lanes) {
        check_same(lanes, one);
        CHECK_INT(one->sets.work.side_by_side, 0);
        CHECK_INT(lanes->sets.work.corrected, 0);
        side_by_side += lanes->sets.work.side_by_side;
        asked += lanes->sets.work.solved - lanes->sets.work.side_by_side;
        given_up += !lanes->sets.nothing && lanes->sets.work.side_by_side == 0;
        mixed += one->sets.breaking_count > 0;
      }
    }
    drop(&a);
  }
  CHECK_CASE("%ld suites with both, %ld states in lanes, %ld asked for, %ld suites one by one",
             mixed, side_by_side, asked, given_up);
  CHECK(mixed >= SUITES / 4 && side_by_side > 20 * asked); /* or this tests nothing */
  CHECK(given_up < SUITES / 4);
}

static void every_path_gives_the_same_table_and_words(void)
{
  for (uint64_t seed = 100; seed < 110; seed++) {
    struct asked a;

    CHECK_CASE("suite %d", (int)seed);
    if (open_suite(&a, seed, "")) {
      const struct together_answer *plain = ask(&a, false, NET_PATH_PLAIN, true);

      for (int path = NET_PATH_AVX2; plain && path <= NET_PATH_AVX512; path++) {
        const struct together_answer *other =
            net_path_has((enum net_path)path) ? ask(&a, false, (enum net_path)path, true) : NULL;

        if (other) {
          check_same(other, plain);
          CHECK_INT(other->sets.work.side_by_side, plain->sets.work.side_by_side);
        }
      }
    }
    drop(&a);
  }
}

static void the_doubtful_end_is_judged_in_lanes_too(void)
{
  for (uint64_t seed = 200; seed < 206; seed++) {
    struct asked a;

    CHECK_CASE("suite %d", (int)seed);
    if (open_suite(&a, seed, "doubts: {flow: 5 %, most: 3 %, leak: 15 %}\n")) {
      const struct together_answer *one = ask(&a, true, NET_PATH_BEST, false);
      const struct together_answer *lanes = ask(&a, false, NET_PATH_BEST, false);

      if (one && lanes)
        check_same(lanes, one);
    }
    drop(&a);
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(in_lanes_every_state_is_judged_as_when_it_is_solved_alone);
  RUN(every_path_gives_the_same_table_and_words);
  RUN(the_doubtful_end_is_judged_in_lanes_too);
  return check_end();
}
