#include "facility/facility.h"
#include "facility/reader_impl.h"

#include "check.h"
#include "suite_text.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* One reading and what it said. */
struct reading {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
};

static struct facility_text text_of(const char *file, const char *bytes)
{
  return (struct facility_text){file, bytes, strlen(bytes)};
}

static void read_suite(struct reading *r, const char *suite, const char *overlay)
{
  struct facility_text s = text_of("suite.yaml", suite), o;

  arena_init(&r->arena, SIZE_MAX);
  complaints_init(&r->complaints, &r->arena);
  if (overlay)
    o = text_of("overlay.yaml", overlay);
  r->facility = facility_read(&s, overlay ? &o : NULL, overlay ? 1 : 0, &r->complaints);
  for (int i = 0; i < r->complaints.count; i++)
    check_case("%s:%d:%d: %s", r->complaints.list[i].place.file, r->complaints.list[i].place.line,
               r->complaints.list[i].place.column, r->complaints.list[i].text);
}

static void drop(struct reading *r)
{
  facility_free(r->facility);
  arena_release(&r->arena);
}

static void a_whole_suite_is_read_without_a_fault(void)
{
  struct reading r;

  read_suite(&r, whole_suite, NULL);
  CHECK_INT(r.complaints.count, 0);
  REQUIRE(r.facility != NULL);

  const struct facility *f = r.facility;

  CHECK_STR(f->name, "Quillmere Microfabrication");
  CHECK_STR(f->label, "DEMO");
  CHECK_INT(f->room_count, 4);
  CHECK_INT(f->junction_count, 3);
  CHECK_INT(facility_node_count(f), 4 + 3 + 1 + 1);
  CHECK_STR(facility_node_id(f, 0), "Etch");
  CHECK_STR(facility_node_id(f, 4), "AP");
  CHECK_INT(facility_node_outdoors(f), 7);
  CHECK_STR(facility_node_id(f, facility_node_plenum(f, 0)), "MU1/plenum");
  CHECK_INT(facility_node_find(f, "outdoors"), 7);
  CHECK_INT(facility_node_find(f, "nowhere"), -1);
  drop(&r);
}

/* ---- numbers: SI values by arithmetic, not by what the program said before ---- */

static void quantities_arrive_in_si(void)
{
  struct reading r;

  read_suite(&r, whole_suite, NULL);
  REQUIRE(r.facility != NULL);

  const struct facility *f = r.facility;

  CHECK_NEAR(f->headroom_margin_m3_s, 300.0 / 3600, 1e-15, 0);
  CHECK_NEAR(f->outdoor_temperature_K, 281.15, 1e-15, 0);
  CHECK_NEAR(f->rooms[0].relative_humidity_ratio, 0.45, 1e-15, 0);
  CHECK_NEAR(f->rooms[1].volume_m3, 20 * 2.8, 1e-15, 0);
  CHECK_INT(f->rooms[0].keep_count, 1);
  CHECK_INT(f->rooms[0].keeps[0].over, 1);
  CHECK_NEAR(f->rooms[0].keeps[0].most_Pa, 25, 0, 0);
  CHECK(f->junctions[2].has_pressure);
  CHECK(!f->junctions[0].has_pressure);
  CHECK_NEAR(f->mains[0].declared.near_limit.enter_ratio, 0.9, 1e-15, 0);
  CHECK_NEAR(f->mains[0].declared.shortage.dwell_s, 30, 0, 0);
  CHECK_INT(f->mains[0].declared.value_count, 2);
  CHECK_INT(f->mains[0].declared.running_fans[1], 2);
  CHECK_NEAR(f->mains[0].declared.capacity_m3_s[1], 5200.0 / 3600, 1e-15, 0);
  CHECK_INT(f->mains[0].declared.subtract[0], 0);
  CHECK_INT(f->mains[1].at, -1);
  CHECK_NEAR(f->fans[0].hold_Pa, -250, 0, 0);
  CHECK_INT(f->fans[0].hold_node, facility_node_find(f, "AP"));
  CHECK_NEAR(f->fans[0].flow_m3_s[1], 1000.0 / 3600, 1e-15, 0);
  CHECK(f->fans[0].open_when_stopped);
  CHECK(!f->fans[1].open_when_stopped);
  CHECK(f->fans[1].curve == FACILITY_CURVE_A_MINUS_B_Q2);
  CHECK_STR(f->supplies[0].feeds[0].part.id, "MU1/Etch");
  CHECK_NEAR(f->supplies[0].feeds[2].offset_m3_s, 250.0 / 3600, 1e-15, 0);
  CHECK_INT(f->stations[0].joins, facility_node_find(f, "J1"));
  CHECK_INT(f->stations[1].joins, facility_node_find(f, "AP"));
  CHECK_INT(f->stations[3].joins, -1);
  CHECK_NEAR(f->stations[0].deck_share_ratio, 0.3, 1e-15, 0);
  CHECK_NEAR(f->stations[2].most_m, 0.4, 0, 0);
  CHECK_INT(f->stations[1].criterion, 1);
  drop(&r);
}

static void what_a_card_says_is_read_and_what_it_does_not_say_stays_unsaid(void)
{
  struct reading r;

  read_suite(&r, whole_suite, NULL);
  REQUIRE(r.facility != NULL);

  const struct facility_card *full = &r.facility->stations[0].card,
                             *empty = &r.facility->stations[1].card;

  CHECK_STR(r.facility->call, "desk, 4300");
  CHECK_STR(full->chemistry, "acid");
  REQUIRE(CHECK_INT(full->not_here_count, 2));
  CHECK_STR(full->not_here[1], "glass with HF");
  CHECK_STR(mark_colour_name(full->mark.colour), "violet");
  CHECK_STR(mark_shape_name(full->mark.shape), "diamond");
  CHECK_STR(full->mark.letter, "Ä");
  CHECK_STR(full->wear.what, "face shield");
  CHECK_STR(full->wear.source, "house rule 3");
  REQUIRE(CHECK_INT(full->document_count, 2));
  CHECK_STR(full->documents[0].reviewed, "2024-02-29");
  CHECK_STR(full->documents[0].link, "https://x.eu/4");
  CHECK(full->documents[1].version == NULL && full->documents[1].link == NULL);
  CHECK_STR(full->call, "acid desk");
  CHECK(empty->chemistry == NULL && empty->call == NULL && empty->wear.what == NULL);
  CHECK_INT(empty->not_here_count + empty->document_count, 0);
  CHECK(mark_colour_name(empty->mark.colour) == NULL);
  CHECK(mark_shape_name(empty->mark.shape) == NULL && empty->mark.letter == NULL);
  drop(&r);
}

static void the_words_of_a_mark_are_those_of_the_schema(void)
{
  const char *colours = schema_key_at(KEY_glass_mark_colour)->words,
             *shapes = schema_key_at(KEY_glass_mark_shape)->words;

  for (int i = 0; i < MARK_COLOUR_COUNT; i++)
    CHECK_INT(schema_word(colours, mark_colour_name((enum mark_colour)i)), i);
  for (int i = 0; i < MARK_SHAPE_COUNT; i++)
    CHECK_INT(schema_word(shapes, mark_shape_name((enum mark_shape)i)), i);
}

static void a_list_of_texts_can_be_changed_and_compared_as_a_whole(void)
{
  struct facility_text a = text_of("a.yaml", whole_suite);
  struct buf other;
  const struct facility_difference *list;
  struct reading r;
  struct arena arena;
  const char *at = strstr(whole_suite, "[solvents, glass with HF]");

  buf_init(&other, 1 << 16);
  buf_printf(&other, "%.*s[solvents]%s", (int)(at - whole_suite), whole_suite,
             at + strlen("[solvents, glass with HF]"));
  arena_init(&arena, SIZE_MAX);

  struct facility_text b = text_of("b.yaml", other.text);

  REQUIRE(CHECK_INT(facility_diff(&a, &b, &arena, &list), 1));
  CHECK_STR(list[0].key, "not here");
  CHECK_STR(list[0].before, "[solvents, glass with HF]");
  CHECK_STR(list[0].after, "[solvents]");
  read_suite(&r, whole_suite,
             "inward: 1 overlay\nchange:\n  call: night desk\n"
             "  stations: {S1: {not here: [piranha]}, S2: {glass mark: {colour: red}}}\n");
  REQUIRE(r.facility != NULL);
  CHECK_INT(r.facility->stations[0].card.not_here_count, 1);
  CHECK_STR(r.facility->stations[0].card.not_here[0], "piranha");
  CHECK_STR(mark_colour_name(r.facility->stations[1].card.mark.colour), "red");
  CHECK_STR(r.facility->call, "night desk");
  drop(&r);
  arena_release(&arena);
  buf_release(&other);
}

/* ASHRAE Handbook Fundamentals 2021 ch. 1 Table 1, standard atmosphere: pressure in kPa as
 * printed to three decimals. */
static void pressure_falls_with_altitude_as_the_standard_atmosphere(void)
{
  static const struct {
    const char *altitude;
    double pressure_kPa;
  } rows[] = {{"-500 m", 107.478}, {"0 m", 101.325},   {"500 m", 95.461},
              {"1000 m", 89.875},  {"2000 m", 79.495}, {"3000 m", 70.108}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    char text[200];
    struct reading r;

    snprintf(text, sizeof text, "inward: 1 suite\nsite: {altitude: %s}\njunctions: {J: {}}\n",
             rows[i].altitude);
    CHECK_CASE("%s", rows[i].altitude);
    read_suite(&r, text, NULL);
    REQUIRE(r.facility != NULL);
    CHECK_NEAR(r.facility->site_pressure_Pa / 1000, rows[i].pressure_kPa, 0, 0.001);
    drop(&r);
  }
}

static void a_measured_leak_passes_its_flow_at_its_pressure(void)
{
  struct reading r;

  read_suite(&r,
             "inward: 1 suite\nrooms: {A: {}}\nleaks: {L: {from: A, to: outdoors, flow: 180 m3/h "
             "at 10 Pa, n: 0.5}}\n",
             NULL);
  REQUIRE(r.facility != NULL);
  CHECK(r.facility->leaks[0].law.form == FACILITY_POWER_LAW);
  /* 0.05 m3/s at 10 Pa, square-root law: 0.05 / sqrt(10) at 1 Pa */
  CHECK_NEAR(r.facility->leaks[0].law.c, 0.05 / 3.1622776601683795, 1e-14, 0);
  drop(&r);
}

static void a_rectangular_duct_has_four_areas_over_its_perimeter(void)
{
  struct reading r;

  read_suite(&r,
             "inward: 1 suite\njunctions: {J: {}, K: {}}\nducts: {D: {from: J, to: K, width: 300 "
             "mm, height: 200 mm, length: 7 m}}\n",
             NULL);
  REQUIRE(r.facility != NULL);
  CHECK(r.facility->ducts[0].resistance.form == FACILITY_GEOMETRY);
  CHECK_NEAR(r.facility->ducts[0].resistance.area_m2, 0.06, 1e-14, 0);
  CHECK_NEAR(r.facility->ducts[0].resistance.hydraulic_diameter_m, 0.24, 1e-14, 0);
  CHECK_NEAR(r.facility->ducts[0].resistance.roughness_m, 0.09e-3, 1e-14, 0);
  drop(&r);
}

/* ---- scenes ---- */

static void a_scene_changes_what_it_names_and_nothing_else(void)
{
  struct reading r;

  read_suite(&r, whole_suite, NULL);
  REQUIRE(r.facility != NULL && r.facility->scene_count == 1);

  const struct scene *s = &r.facility->scenes[0];

  CHECK_STR(s->name, "busy");
  CHECK(s->stations[0].raised);
  CHECK_NEAR(s->stations[0].opening_m, 0.45, 0, 0);
  CHECK(s->stations[2].raised);
  CHECK_NEAR(s->stations[2].opening_m, 0.30, 0, 0);
  CHECK(!s->stations[1].raised);
  CHECK(!s->stations[3].raised);
  CHECK(s->stations[1].unattended && !s->stations[0].unattended);
  CHECK(s->stations[2].blocked && s->stations[3].withdrawn);
  CHECK_STR(s->stations[0].needs_flow, "hot bath");
  CHECK(s->stations[1].needs_flow == NULL);
  CHECK(s->door_open[0] && s->supply_off[0] && s->duct_shut[0]);
  CHECK(s->duct_shut[3]); /* shut in the file */
  CHECK(!s->duct_shut[1]);
  CHECK_INT(s->fan_running[0], 1);
  CHECK_INT(s->fan_running[1], 0);
  CHECK_NEAR(s->stations[0].cover_ratio, 0.4, 1e-15, 0);
  CHECK(s->stations[1].has_ask && !s->stations[0].has_ask);
  CHECK_NEAR(s->stations[0].measured_m3_s, 950.0 / 3600, 1e-15, 0);
  CHECK_NEAR(s->outdoor_temperature_K, 268.15, 1e-15, 0);
  drop(&r);
}

/* ---- overlays ---- */

static const char overlay[] =
    "inward: 1 overlay\n"
    "add:\n"
    "  stations:\n"
    "    S15: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 800 m3/h}}\n"
    "change:\n"
    "  site: {pressure: 98 kPa(a)}\n"
    "  ducts: {A1: {loss: 2, area: 0.03 m2}, A4: {width: 300 mm, height: 200 mm}}\n"
    "  supplies: {MU1: {feeds: {Etch: {least: 500 m3/h}}}}\n"
    "  leaks: {L1: {c: 0.01 m3/(s Pan), n: 0.6}}\n"
    "remove: [S2, L2, MU1/Gowning, busy]\n";

static void an_overlay_adds_changes_and_removes(void)
{
  struct reading r;

  read_suite(&r, whole_suite, overlay);
  CHECK_INT(r.complaints.count, 0);
  REQUIRE(r.facility != NULL);

  const struct facility *f = r.facility;

  CHECK_INT(f->station_count, 4);
  CHECK_INT(facility_station_find(f, "S2"), -1);
  CHECK_INT(facility_station_find(f, "S15"), 3);
  CHECK_INT(f->leak_count, 4);
  CHECK_INT(f->scene_count, 0);
  CHECK_NEAR(f->site_pressure_Pa, 98000, 0, 0); /* and not the altitude beside it */
  CHECK(f->ducts[0].resistance.form == FACILITY_LOSS);
  CHECK(f->ducts[3].resistance.form == FACILITY_GEOMETRY);
  CHECK_NEAR(f->ducts[3].resistance.area_m2, 0.06, 1e-14, 0);
  CHECK_NEAR(f->ducts[3].resistance.loss_ratio, 1.09, 0, 0); /* kept */
  CHECK_INT(f->supplies[0].feed_count, 2);
  CHECK(f->supplies[0].feeds[0].form == FACILITY_FEED_HOLDS); /* kept */
  CHECK_NEAR(f->supplies[0].feeds[0].least_m3_s, 500.0 / 3600, 1e-15, 0);
  CHECK(f->leaks[0].law.form == FACILITY_POWER_LAW);
  drop(&r);
}

/* Both sums are of coreutils' sha256sum over the same bytes. */
static void the_hash_is_of_the_bytes_read(void)
{
  static const char tiny[] = "inward: 1 suite\nrooms: {A: {}}\n"
                             "leaks: {L: {from: A, to: outdoors, area: 100 cm2}}\n";
  struct reading r;

  read_suite(&r, tiny, NULL);
  REQUIRE(r.facility != NULL);
  CHECK_STR(r.facility->sha256, "ebb9d1347373adb31b2b6a32106d8cb41d10afec9251b583ec4dd38075aaeb99");
  drop(&r);
  read_suite(&r, tiny, "inward: 1 overlay\nremove: []\n");
  REQUIRE(r.facility != NULL);
  CHECK_STR(r.facility->sha256, "173140b9d052b1a4b2b79c21a52b5d77ffeea8aca50555632216420d4a8a148a");
  drop(&r);
}

/* ---- what was assumed ---- */

static bool assumes(const struct facility *f, const char *words)
{
  for (int i = 0; i < f->assumed_count; i++)
    if (strstr(f->assumed[i], words))
      return true;
  return false;
}

static void defaults_that_matter_are_listed_and_others_are_not(void)
{
  struct reading r;

  read_suite(&r, whole_suite, NULL);
  REQUIRE(r.facility != NULL);
  CHECK(assumes(r.facility, "leak L4: n 0.65"));
  CHECK(assumes(r.facility, "leak L1: coefficient 0.65"));
  CHECK(assumes(r.facility, "duct A4: roughness 0.09 mm"));
  CHECK(assumes(r.facility, "supply MU1: plenum 120 Pa"));
  CHECK(assumes(r.facility, "station S3: its flow is exact"));
  CHECK(!assumes(r.facility, "station S1: its flow is exact"));
  CHECK(!assumes(r.facility, "station S4"));  /* on a coarse main there is no branch to give */
  CHECK(!assumes(r.facility, "altitude"));    /* stated */
  CHECK(!assumes(r.facility, "temperature")); /* stated */
  CHECK(!assumes(r.facility, "leak L3"));
  drop(&r);
  read_suite(&r, "inward: 1 suite\njunctions: {J: {}}\n", NULL);
  REQUIRE(r.facility != NULL);
  CHECK(assumes(r.facility, "site: altitude 0 m"));
  CHECK(assumes(r.facility, "air: temperature 20 degC"));
  drop(&r);
  read_suite(&r, "inward: 1 suite\nair: {density: 1000 kg/m3}\njunctions: {J: {}}\n", NULL);
  REQUIRE(r.facility != NULL);
  CHECK(!assumes(r.facility, "temperature")); /* a fixed density leaves it nothing to do */
  drop(&r);
}

/* ---- texts ---- */

static void texts_are_read_however_they_are_quoted(void)
{
  static const struct {
    const char *written, *read;
  } rows[] = {
      {"plain words", "plain words"},
      {"no", "no"},
      {"1e3", "1e3"},
      {"'it''s ''''so'", "it's ''so"},
      {"''''", "'"},
      {"'a: b # c'", "a: b # c"},
      {"\"a \\\"b\\\" \\u00e9\"", "a \"b\" \xC3\xA9"},
      {"\xC3\xA9t\xC3\xA9 # comment", "\xC3\xA9t\xC3\xA9"},
      {"'\xC3\xA9''\xC3\xA9'", "\xC3\xA9'\xC3\xA9"},
      {"two\n  lines", "two lines"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    char text[200];
    struct reading r;

    snprintf(text, sizeof text, "inward: 1 suite\nname: %s\njunctions: {J: {}}\n", rows[i].written);
    CHECK_CASE("%s", rows[i].written);
    read_suite(&r, text, NULL);
    REQUIRE(r.facility != NULL);
    CHECK_STR(r.facility->name, rows[i].read);
    drop(&r);
  }
}

/* ---- order, finding, comparing ---- */

static void the_order_of_sections_does_not_matter(void)
{
  struct reading r;

  read_suite(
      &r,
      "inward: 1 suite\nstations: {S: {main: M, kind: fume hood, room: R, flow: {constant: 1 "
      "L/s}}}\nmains: {M: {at: J}}\njunctions: {K: , J: }\nrooms: {Q: {}, R: {}}\n"
      "leaks: {L: {from: Q, to: R, area: 1 m2}}\n",
      NULL);
  CHECK_INT(r.complaints.count, 0);
  REQUIRE(r.facility != NULL);
  CHECK_INT(r.facility->stations[0].room, 1);
  CHECK_INT(r.facility->stations[0].joins, 3);
  drop(&r);
}

static void a_fan_and_its_units_are_found_by_id(void)
{
  struct reading r;
  int unit = 9;

  read_suite(&r, whole_suite, NULL);
  REQUIRE(r.facility != NULL);
  CHECK_INT(facility_fan_find(r.facility, "EF1", &unit), 0);
  CHECK_INT(unit, -1);
  CHECK_INT(facility_fan_find(r.facility, "EF1/2", &unit), 0);
  CHECK_INT(unit, 1);
  CHECK_INT(facility_fan_find(r.facility, "EF1/3", &unit), -1);
  CHECK_INT(facility_fan_find(r.facility, "EF1/0", &unit), -1);
  CHECK_INT(facility_fan_find(r.facility, "EF1/", &unit), -1);
  CHECK_INT(facility_fan_find(r.facility, "EF9", &unit), -1);
  CHECK_INT(facility_door_find(r.facility, "D1"), 0);
  CHECK_INT(facility_duct_find(r.facility, "A3"), 2);
  CHECK_INT(facility_supply_find(r.facility, "MU1"), 0);
  drop(&r);
}

static void a_suite_differs_from_itself_in_nothing(void)
{
  struct facility_text text = text_of("a.yaml", whole_suite);
  const struct facility_difference *list;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  CHECK_INT(facility_diff(&text, &text, &arena, &list), 0);
  arena_release(&arena);
}

static void a_difference_is_named_by_id_and_key(void)
{
  struct facility_text a = text_of("a.yaml", "inward: 1 suite\nname: x\njunctions: {J: {}, K: {}}\n"
                                             "ducts: {D: {from: J, to: K, loss: 2, area: 1 m2}}\n");
  struct facility_text b =
      text_of("b.yaml", "inward: 1 suite\nducts: {D: {to: K, from: J, loss: 3, area: 1 m2}}\n"
                        "junctions: {K: , J: , N: {pressure: 0 Pa}}\nname: x\n");
  const struct facility_difference *list;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  REQUIRE(CHECK_INT(facility_diff(&a, &b, &arena, &list), 2));
  CHECK_STR(list[0].kind, "junction");
  CHECK_STR(list[0].id, "N");
  CHECK(list[0].before == NULL && list[0].key == NULL);
  CHECK_STR(list[0].after, "{pressure: 0 Pa}");
  CHECK_STR(list[1].id, "D");
  CHECK_STR(list[1].key, "loss");
  CHECK_STR(list[1].before, "2");
  CHECK_STR(list[1].after, "3");
  arena_release(&arena);
}

/* ---- memory ---- */

static void too_little_memory_is_a_complaint_until_there_is_enough(void)
{
  struct facility_text text = text_of("suite.yaml", whole_suite);
  bool refused = false, accepted = false;

  for (size_t limit = 64; limit < (1 << 20) && !accepted; limit *= 2) {
    struct complaints complaints;
    struct arena arena;

    arena_init(&arena, SIZE_MAX);
    complaints_init(&complaints, &arena);

    struct facility *facility = reader_read_within(&text, NULL, 0, &complaints, limit);

    CHECK((facility == NULL) == (complaints.count == 1));
    refused |= facility == NULL;
    accepted = facility != NULL;
    facility_free(facility);
    arena_release(&arena);
  }
  CHECK(refused && accepted);
}

static void scenes_times_stations_are_bounded(void)
{
  struct buf text;
  struct reading r;

  buf_init(&text, 1 << 20);
  buf_puts(&text, "inward: 1 suite\nrooms: {R: {}}\nmains: {M: {}}\nstations:\n");
  for (int i = 0; i < 2400; i++)
    buf_printf(&text, "  S%d: {kind: fume hood, room: R, main: M, flow: {constant: 1 L/s}}\n", i);
  buf_puts(&text, "scenes:\n");
  for (int i = 0; i < 2400; i++)
    buf_printf(&text, "  x%d: {}\n", i);

  struct facility_text suite = text_of("suite.yaml", text.text);

  arena_init(&r.arena, SIZE_MAX);
  complaints_init(&r.complaints, &r.arena);
  r.facility = reader_read_within(&suite, NULL, 0, &r.complaints, 16 << 20);
  CHECK(r.facility == NULL);
  REQUIRE(CHECK_INT(r.complaints.count, 1));
  CHECK(strstr(r.complaints.list[0].text, "needs more than") != NULL);
  drop(&r);
  buf_release(&text);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_whole_suite_is_read_without_a_fault);
  RUN(quantities_arrive_in_si);
  RUN(what_a_card_says_is_read_and_what_it_does_not_say_stays_unsaid);
  RUN(the_words_of_a_mark_are_those_of_the_schema);
  RUN(a_list_of_texts_can_be_changed_and_compared_as_a_whole);
  RUN(pressure_falls_with_altitude_as_the_standard_atmosphere);
  RUN(a_measured_leak_passes_its_flow_at_its_pressure);
  RUN(a_rectangular_duct_has_four_areas_over_its_perimeter);
  RUN(a_scene_changes_what_it_names_and_nothing_else);
  RUN(an_overlay_adds_changes_and_removes);
  RUN(the_hash_is_of_the_bytes_read);
  RUN(defaults_that_matter_are_listed_and_others_are_not);
  RUN(texts_are_read_however_they_are_quoted);
  RUN(the_order_of_sections_does_not_matter);
  RUN(a_fan_and_its_units_are_found_by_id);
  RUN(a_suite_differs_from_itself_in_nothing);
  RUN(a_difference_is_named_by_id_and_key);
  RUN(too_little_memory_is_a_complaint_until_there_is_enough);
  RUN(scenes_times_stations_are_bounded);
  return check_end();
}
