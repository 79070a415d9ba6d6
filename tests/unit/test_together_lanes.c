/* Who may work together in one room with one header: in lanes, against every set solved one by one. */
#include "together/together.h"

#include "check.h"
#include "numeric/numeric.h"

#include <stdio.h>
#include <string.h>

enum { STATIONS = 10, SETS = 1 << STATIONS, SUITES = 60 };

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

  switch (form) {
  case 0:
    buf_printf(
        out,
        "flow: {follows opening: {velocity: 0.5 m/s, least: %d m3/h, most: %d m3/h}}, "
        "opening: {parked: 0.03 m, work: 0.45 m, most: 0.75 m}, width: 1.2 m, criterion: face%s",
        parked_m3_h, work_m3_h + 300, numeric_random_below(r, 2) ? ", deck: 20 %" : "");
    return;
  case 1: /* idle: the same flow, and a face that is judged when it is open */
    buf_printf(out,
               "flow: {constant: %d m3/h}, opening: {parked: 0.03 m, work: 0.4 m, most: 0.6 m}, "
               "width: 1.2 m, criterion: face",
               work_m3_h);
    return;
  case 2:
    buf_printf(
        out,
        "flow: {passive: {coefficient: 0.62, bypass area: 40 cm2}}, width: 0.9 m, criterion: flow, "
        "opening: {parked: 0.02 m, work: 0.2 m, most: 0.3 m}");
    return;
  default:
    buf_printf(out, "flow: {two-state: {parked: %d m3/h, work: %d m3/h}}", parked_m3_h, work_m3_h);
  }
}

static void put_station(struct buf *out, struct numeric_random *r, int i, bool geometry)
{
  int form = numeric_random_below(r, 6);

  buf_printf(out, "  S%d: {kind: fume hood, room: R, main: M, joins: %s, ", i,
             i % 3 == 0   ? "far"
             : i % 3 == 1 ? "middle"
                          : "header");
  put_flow(out, r, form);
  if (geometry && form != 2)
    buf_printf(out, ", branch: {diameter: %d mm, length: 5 m, roughness: 0.01 mm, loss: 2.4}}\n",
               200 + 25 * numeric_random_below(r, 3));
  else
    buf_printf(out, ", branch: {drop: %d Pa at 800 m3/h}}\n", 40 + numeric_random_below(r, 80));
}

static void put_hall(struct buf *out, uint64_t seed, const char *more)
{
  struct numeric_random random, *r = &random;
  bool geometry, holds;

  numeric_random_seed(r, seed);
  geometry = numeric_random_below(r, 2);
  holds = numeric_random_below(r, 2);
  buf_printf(
      out,
      "inward: 1 suite\nname: Hall (DEMO)\n%s"
      "criteria:\n  face: {of: face velocity, low: 0.40 m/s, high: 0.90 m/s, source: made up}\n"
      "  flow: {of: flow, low: 60 m3/h, source: made up}\n"
      "rooms: {R: {keeps: [{over: outdoors, at least: %d Pa, at most: 30 Pa}]}}\n"
      "junctions: {far: {}, middle: {}, header: {}, stack: {}}\n"
      "leaks: {L: {from: R, to: outdoors, area: 400 cm2, coefficient: 0.65}}\n",
      more, 4 + numeric_random_below(r, 6));
  if (geometry)
    buf_printf(
        out,
        "ducts:\n"
        "  D1: {from: far, to: middle, diameter: 400 mm, length: 8 m, roughness: 0.01 mm, loss: 0.5}\n"
        "  D2: {from: middle, to: header, diameter: 500 mm, length: 8 m, roughness: 0.01 mm, loss: 0.5}\n"
        "  D3: {from: stack, to: outdoors, diameter: 500 mm, length: 9 m, roughness: 0.01 mm, loss: 1}\n");
  else
    buf_printf(out, "ducts:\n  D1: {from: far, to: middle, drop: 20 Pa at 4000 m3/h}\n"
                    "  D2: {from: middle, to: header, drop: 20 Pa at 8000 m3/h}\n"
                    "  D3: {from: stack, to: outdoors, drop: 30 Pa at 8000 m3/h}\n");
  if (holds)
    buf_printf(
        out,
        "fans: {EF: {from: header, to: stack, holds: {pressure: -%d Pa, in: header, least speed: 35 %%, "
        "most speed: 100 %%}, curve: [%d Pa at 0 m3/h, 900 Pa at 3000 m3/h, 700 Pa at 6000 m3/h, "
        "300 Pa at 9000 m3/h]}}\n",
        150 + numeric_random_below(r, 250), 950 + numeric_random_below(r, 100));
  else
    buf_printf(out,
               "fans: {EF: {from: header, to: stack, shut-off: %d Pa, falls: 40 Pa/(m3/s)2}}\n",
               300 + numeric_random_below(r, 500));
  buf_printf(
      out,
      "mains: {M: {at: header, fans: [EF]}}\n"
      "supplies: {MU: {most: %d m3/h, plenum: 150 Pa, feeds: {R: {holds: {pressure: 15 Pa, over: "
      "outdoors}, least: %d m3/h, most: 30000 m3/h}}}}\n"
      "exhausts: {X: {from: R, main: M, to: middle, flow: 150 m3/h}}\nstations:\n",
      5000 + numeric_random_below(r, 5000), numeric_random_below(r, 2) * 800);
  for (int i = 0; i < STATIONS; i++)
    put_station(out, r, i, geometry);
}

static bool open_text(struct asked *a, const char *bytes)
{
  struct facility_text text = {"hall.yaml", bytes, strlen(bytes)};
  struct complaints complaints;

  *a = (struct asked){0};
  arena_init(&a->arena, (size_t)1 << 30);
  complaints_init(&complaints, &a->arena);
  a->facility = facility_read(&text, NULL, 0, &complaints);
  for (int i = 0; i < complaints.count; i++)
    check_case("%s", complaints.list[i].text);
  if (!CHECK(a->facility != NULL))
    return false;
  a->scene = scene_parked(a->facility, &a->arena);
  return true;
}

static bool open_hall(struct asked *a, uint64_t seed, const char *more)
{
  struct buf text;
  bool ok;

  buf_init(&text, 1 << 16);
  put_hall(&text, seed, more);
  ok = open_text(a, text.text);
  buf_release(&text);
  return ok;
}

static const struct together_answer *ask(struct asked *a, bool one_by_one, enum net_path path)
{
  struct together_request request = {.scene = &a->scene, .one_by_one = one_by_one, .path = path};
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

static void check_same(const struct together_answer *lanes, const struct together_answer *one)
{
  const struct together_sets *l = &lanes->sets, *o = &one->sets;

  CHECK(l->exact == o->exact && l->sure == o->sure && l->nothing == o->nothing);
  CHECK_STR(l->words, o->words);
  CHECK_INT(l->fine_count, o->fine_count);
  CHECK_INT(l->sure_count, o->sure_count);
  if (!l->nothing && !o->nothing)
    CHECK(memcmp(l->table, o->table, SETS) == 0);
}

static void in_lanes_every_set_is_judged_as_when_it_is_solved_alone(void)
{
  int mixed = 0, in_lanes = 0, given_up = 0;

  for (uint64_t seed = 1; seed <= SUITES; seed++) {
    struct asked a;

    CHECK_CASE("hall %d", (int)seed);
    if (open_hall(&a, seed, "")) {
      const struct together_answer *one = ask(&a, true, NET_PATH_BEST);
      const struct together_answer *lanes = ask(&a, false, NET_PATH_BEST);

      if (one && lanes) {
        check_same(lanes, one);
        CHECK_INT(one->sets.work.in_lanes, 0);
        in_lanes += lanes->sets.work.in_lanes > SETS / 2;
        given_up += !lanes->sets.nothing && lanes->sets.work.in_lanes == 0;
        mixed += one->sets.breaking_count > 0;
      }
    }
    drop(&a);
  }
  CHECK_CASE("%d halls with both, %d in lanes, %d that leave too much open", mixed, in_lanes,
             given_up);
  CHECK(mixed >= SUITES / 4 && in_lanes >= SUITES / 4 && given_up > 0); /* or this tests nothing */
}

static void every_path_gives_the_same_table_and_words(void)
{
  for (uint64_t seed = 100; seed < 110; seed++) {
    struct asked a;

    CHECK_CASE("hall %d", (int)seed);
    if (open_hall(&a, seed, "")) {
      const struct together_answer *plain = ask(&a, false, NET_PATH_PLAIN);

      for (int path = NET_PATH_AVX2; plain && path <= NET_PATH_AVX512; path++) {
        const struct together_answer *other =
            net_path_has((enum net_path)path) ? ask(&a, false, (enum net_path)path) : NULL;

        if (other)
          check_same(other, plain);
      }
    }
    drop(&a);
  }
}

static void the_doubtful_end_is_judged_in_lanes_too(void)
{
  for (uint64_t seed = 200; seed < 206; seed++) {
    struct asked a;

    CHECK_CASE("hall %d", (int)seed);
    if (open_hall(&a, seed, "doubts: {flow: 5 %, most: 3 %, leak: 15 %}\n")) {
      const struct together_answer *one = ask(&a, true, NET_PATH_BEST);
      const struct together_answer *lanes = ask(&a, false, NET_PATH_BEST);

      if (one && lanes)
        check_same(lanes, one);
    }
    drop(&a);
  }
}

static void a_second_room_is_left_to_the_general_solver(void)
{
  struct asked a;
  struct buf text;

  buf_init(&text, 1 << 16);
  put_hall(&text, 1, "");
  buf_printf(
      &text,
      "  S99: {kind: fume hood, room: Q, main: M, joins: far, flow: {two-state: {parked: 200 m3/h, "
      "work: 600 m3/h}}, branch: {drop: 60 Pa at 700 m3/h}}\n");
  char *rooms = strstr(text.text, "rooms: {R: ");

  if (CHECK(rooms != NULL)) {
    struct buf two;

    buf_init(&two, 1 << 16);
    buf_printf(&two, "%.*srooms: {Q: {}, R: %s", (int)(rooms - text.text), text.text, rooms + 11);
    if (open_text(&a, two.text)) {
      const struct together_answer *answer = ask(&a, false, NET_PATH_BEST);

      if (answer)
        CHECK_INT(answer->sets.work.in_lanes, 0);
    }
    drop(&a);
    buf_release(&two);
  }
  buf_release(&text);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(in_lanes_every_set_is_judged_as_when_it_is_solved_alone);
  RUN(every_path_gives_the_same_table_and_words);
  RUN(the_doubtful_end_is_judged_in_lanes_too);
  RUN(a_second_room_is_left_to_the_general_solver);
  return check_end();
}
