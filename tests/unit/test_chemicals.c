#include "chem/chem.h"
#include "facility/chemicals.h"

#include "check.h"

#include <math.h>
#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\n"
    "files: {chemicals: chemicals.yaml}\n"
    "rooms: {Etch: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct chemicals *own;
};

static void world_read(struct world *w, const char *text)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"chemicals.yaml", text, strlen(text)};

  *w = (struct world){0};
  arena_init(&w->arena, 16 << 20);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (CHECK(w->facility != NULL))
    w->own = chemicals_read(w->facility, &file, &w->complaints);
}

static void world_release(struct world *w)
{
  chemicals_free(w->own);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static void a_file_is_read_as_it_stands(void)
{
  struct world w;

  world_read(
      &w,
      "inward: 1 chemicals\n"
      "procedures:\n"
      "  P-14: {bath: piranha, stations: [A2], document: Strip, version: \"3\", by: officer,\n"
      "      approved: 2026-02-11, review: 2027-02-11, at most: 2 L, peroxide at most: 31 wt%}\n"
      "baths:\n"
      "  b: {source: x, life: 4 h, parts: [{of: water, volume: 5}, {of: hf-49, volume: 1}]}\n"
      "rates:\n"
      "  r: {film: oxide, in: boe, rate: 96 nm/min ± 4 nm/min, temperature: 21 degC,\n"
      "      measured: 2026-09-14, by: me}\n");
  REQUIRE(w.own);
  CHECK_INT(w.complaints.count, 0);
  CHECK_STR(w.facility->chemicals_file, "chemicals.yaml");
  CHECK_INT(w.own->procedure_count, 1);
  CHECK_INT(w.own->procedures[0].stations[0], 1);
  CHECK_STR(w.own->procedures[0].review, "2027-02-11");
  CHECK_NEAR(w.own->procedures[0].most_m3, 0.002, 1e-12, 0);
  CHECK_NEAR(w.own->procedures[0].peroxide_most_ratio, 0.31, 1e-12, 0);
  CHECK_NEAR(w.own->baths[0].parts[0].volume_ratio, 5, 0, 0);
  CHECK_NEAR(w.own->baths[0].life_s, 14400, 1e-12, 0);
  CHECK(isnan(w.own->baths[0].temperature_K));
  CHECK_NEAR(w.own->rates[0].rate_m_s, 96e-9 / 60, 1e-12, 0);
  CHECK_NEAR(w.own->rates[0].rate_pm_m_s, 4e-9 / 60, 1e-12, 0);
  CHECK_NEAR(w.own->rates[0].temperature_K, 294.15, 1e-9, 0);
  CHECK(isnan(w.own->rates[0].strength_ratio));
  world_release(&w);
}

static void complains(const char *text, const char *with)
{
  struct world w;
  bool told = false;

  CHECK_CASE("%s", with);
  world_read(&w, text);
  CHECK(!w.own);
  for (int i = 0; i < w.complaints.count; i++)
    told |= strstr(w.complaints.list[i].text, with) != NULL;
  CHECK(told);
  world_release(&w);
}

#define PART "      - {of: water, volume: 1}\n"

static void what_cannot_be_meant_is_refused(void)
{
  complains("inward: 1 feeds\n", "1 chemicals");
  complains(
      "inward: 1 chemicals\nprocedures:\n"
      "  P: {bath: x, stations: [A1], document: d, version: \"1\", by: b, approved: 2026-02-11,\n"
      "      review: 2026-02-11, at most: 1 L}\n",
      "reviewed before it was approved");
  complains("inward: 1 chemicals\nbaths:\n  b: {source: x, parts: []}\n", "without parts");
  complains("inward: 1 chemicals\nbaths:\n  b:\n    source: x\n    parts:\n" PART PART PART PART
                PART PART PART PART PART,
            "9 parts; at most 8");
  complains("inward: 1 chemicals\nbottles:\n  A1: {of: hf, assay: 4 wt%, source: x}\n",
            "that of a station");
}

#define TANK "tanks:\n  T1: {station: A1, bath: sc-1, volume: 18 L, drain: d, source: s"

static void tanks_streams_and_stores_are_read_as_they_stand(void)
{
  struct world w;

  world_read(
      &w,
      "inward: 1 chemicals\n" TANK
      ", least: 15 L, temperature: 75 degC ± 5 K, life: 4 h,\n      wafers at most: 100}\n"
      "streams:\n"
      "  acid: {station: A2, takes: [al-etch], never: [solvents], container: 5 L, material: hdpe,\n"
      "      fill at most: 90 %, days from first: 90 d, vented: yes, vented by: note 4, source: s}\n"
      "stores:\n"
      "  C1: {kind: out of cabinet, room: Etch, counted: 2026-10-19, by: me,\n"
      "      at most: [{categories: \"1, 3\", volume: 60 gal, source: s}],\n"
      "      holds: [{of: acetone, volume: 4 L, count: 6}]}\n");
  REQUIRE(w.own);
  CHECK_INT(chemicals_tank_find(w.own, "T1"), 0);
  CHECK_INT(chemicals_stream_find(w.own, "T1"), -1);
  CHECK_INT(w.own->tanks[0].station, 0);
  CHECK_NEAR(w.own->tanks[0].temperature_pm_K, 5, 1e-12, 0);
  CHECK_INT(w.own->tanks[0].wafers_most, 100);
  CHECK(isnan(w.own->tanks[0].every_s));
  CHECK_NEAR(w.own->streams[0].first_s, 90 * 86400.0, 1e-12, 0);
  CHECK(isnan(w.own->streams[0].full_s));
  CHECK(w.own->streams[0].vented);
  CHECK(!w.own->stores[0].is_cabinet);
  CHECK_NEAR(w.own->stores[0].mosts[0].volume_m3, 0.22712, 1e-4, 0);
  CHECK(w.own->stores[0].mosts[0].categories[0] && !w.own->stores[0].mosts[0].categories[1] &&
        w.own->stores[0].mosts[0].categories[2]);
  CHECK_INT(w.own->stores[0].amounts[0].count, 6);
  CHECK(chem_names_fit(chem_read(&w.arena), w.own, &w.complaints));
  world_release(&w);
}

static void tanks_streams_and_stores_that_cannot_be_meant_are_refused(void)
{
  complains("inward: 1 chemicals\n" TANK ", least: 18 L}\n", "as much as the tank holds");
  complains("inward: 1 chemicals\nstreams:\n  s: {station: A2, takes: [], container: 5 L,\n"
            "      material: hdpe, source: s}\n",
            "takes nothing");
  complains("inward: 1 chemicals\nstreams:\n  s: {station: A2, takes: [hf], container: 5 L,\n"
            "      material: hdpe, vented: yes, source: s}\n",
            "vented by");
  complains(
      "inward: 1 chemicals\nstores:\n  C: {kind: cabinet, room: Etch, counted: 2026-10-19, by: me,\n"
      "      at most: [{categories: \"1 5\", volume: 60 gal, source: s}]}\n",
      "1, 2, 3 and 4");
}

#define BENCH_TANK                                                                                     \
  "inward: 1 chemicals\ntanks:\n"                                                                      \
  "  T1: {station: A1, bath: sc-1, volume: 18 L, least: 15 L, drain: d, drains into: D1, source: s}\n" \
  "  T2: {station: A2, bath: sc-2, volume: 18 L, drain: d, source: s}\n"                               \
  "drains:\n  D1: {station: A1, route: pH treatment, takes: [sc-1], hottest: 60 degC, source: s}\n"

static void what_a_wet_bench_has_is_read_as_it_stands(void)
{
  struct world w;

  world_read(
      &w, BENCH_TANK
      "rinses:\n  R1: {station: A1, drains into: D1, resistivity: 10 MOhm cm, dumps: 5, source: s}\n"
      "trays:\n  TR1: {station: A1, under: [R1, T1, D1], also: [h2o2], seen by: P1, source: s}\n"
      "heaters:\n  H1: {tank: T1, locked out by: [low level, over temperature, leak], over: 90 degC,\n"
      "      heats seen by: P2, source: s}\n");
  REQUIRE(w.own);
  CHECK_INT(w.own->tanks[0].drains_into, 0);
  CHECK_INT(w.own->tanks[1].drains_into, -1);
  CHECK_INT(w.own->drains[0].route, CHEMICALS_PH_TREATMENT);
  CHECK_NEAR(w.own->drains[0].hottest_K, 333.15, 1e-12, 0);
  CHECK(isnan(w.own->drains[0].flash_least_K));
  CHECK_NEAR(w.own->rinses[0].resistivity_ohm_m, 1e5, 1e-12, 0);
  CHECK_INT(w.own->trays[0].tank_count + w.own->trays[0].rinse_count + w.own->trays[0].drain_count,
            3);
  CHECK_STR(w.own->trays[0].seen.by, "P1");
  CHECK(w.own->heaters[0].locked_by[CHEMICALS_LOW_LEVEL]);
  CHECK(!w.own->heaters[0].locked_by[CHEMICALS_LID_OPEN]);
  CHECK(!w.own->heaters[0].level.by);
  world_release(&w);
}

static void a_wet_bench_that_cannot_be_meant_is_refused(void)
{
  complains(BENCH_TANK "trays:\n  TR1: {station: A1, under: [T1], source: s}\n",
            "nobody would see it");
  complains(BENCH_TANK "trays:\n  TR1: {station: A1, under: [T2], looked at by: me, source: s}\n",
            "T2 is of station A2");
  complains(BENCH_TANK "heaters:\n  H1: {tank: T1, locked out by: [leak], source: s}\n",
            "not locked out by low level");
  complains(BENCH_TANK "heaters:\n  H1: {tank: T1, locked out by: [low level, leak], source: s}\n",
            "over no leak tray");
  complains(BENCH_TANK "heaters:\n  H1: {tank: T2, locked out by: [low level], source: s}\n",
            "below how much?");
  complains(BENCH_TANK
            "heaters:\n  H1: {tank: T1, locked out by: [low level, low exhaust], source: s}\n",
            "below which flow?");
  complains(BENCH_TANK "heaters:\n  H1: {tank: T1, locked out by: [low level, dust], source: s}\n",
            "'dust' is no condition here");
  complains(BENCH_TANK "heaters:\n  H1: {tank: T1, locked out by: [low level], source: s}\n"
                       "  H2: {tank: T1, locked out by: [low level], source: s}\n",
            "another heater is of tank T1");
  complains(BENCH_TANK "rinses:\n  R1: {station: A1, source: s}\n", "when is a wafer rinsed here?");
  complains(BENCH_TANK "rinses:\n  R1: {station: A2, drains into: D1, dumps: 3, source: s}\n",
            "drain D1 is of station A1");
  complains(
      "inward: 1 chemicals\ndrains:\n  D1: {station: A1, route: house drain, takes: [], source: s}\n",
      "takes nothing");
  complains(
      "inward: 1 chemicals\ndrains:\n  D1: {station: A1, route: river, takes: [water], source: s}\n",
      "house drain");
}

static void own_figures_go_before_ours_and_say_so(void)
{
  struct world w;
  const struct chem *chem;
  const struct chem_stock *stock;
  const struct chem_substance *hf;
  int ours;

  world_read(&w,
             "inward: 1 chemicals\n"
             "bottles:\n"
             "  hf-49: {of: hf, assay: 48 wt%, source: label}\n"
             "  acid-7: {of: Nitric acid, assay: 65 wt%, source: label}\n"
             "limits:\n"
             "  l: {of: 7664-39-3, kind: ceiling, issuer: house, volume: 1 ppm, date: 2026-01-01,\n"
             "      source: rule 7}\n");
  REQUIRE(w.own);
  chem = chem_read(&w.arena);
  ours = chem_find(chem, "hf")->limit_count;
  CHECK(chem_names_fit(chem, w.own, &w.complaints));
  CHECK(chem_with(chem, NULL, &w.arena) == chem);
  chem = chem_with(chem, w.own, &w.arena);
  stock = chem_find_stock(chem, "hf-49");
  hf = chem_find(chem, "hf");
  REQUIRE(stock && hf);
  CHECK_NEAR(stock->assay_ratio, 0.48, 1e-12, 0);
  CHECK_INT(stock->of.basis, CHEM_SUITE);
  CHECK(stock->substance == hf);
  CHECK(chem_find_stock(chem, "acid-7") != NULL);
  CHECK(chem_find_stock(chem, "hcl-37")->substance == chem_find(chem, "hcl"));
  CHECK_INT(hf->limit_count, ours + 1);
  CHECK_INT(hf->limits[0].of.basis, CHEM_SUITE);
  CHECK_STR(hf->limits[0].printed, "1 ppm");
  world_release(&w);
}

static void names_that_no_table_has_are_told_with_their_place(void)
{
  struct world w;

  world_read(&w, "inward: 1 chemicals\n"
                 "bottles:\n"
                 "  b: {of: acetonne, assay: 48 wt%, source: label}\n"
                 "baths:\n"
                 "  m: {source: x, parts: [{of: b, volume: 1}, {of: hf, volume: 1}]}\n");
  REQUIRE(w.own);
  CHECK(!chem_names_fit(chem_read(&w.arena), w.own, &w.complaints));
  CHECK_INT(w.complaints.count, 2);
  CHECK_INT(w.complaints.list[0].place.line, 3);
  CHECK(strstr(w.complaints.list[0].text, "did you mean 'acetone'"));
  CHECK_INT(w.complaints.list[1].place.line, 5);
  world_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_file_is_read_as_it_stands);
  RUN(what_cannot_be_meant_is_refused);
  RUN(tanks_streams_and_stores_are_read_as_they_stand);
  RUN(tanks_streams_and_stores_that_cannot_be_meant_are_refused);
  RUN(what_a_wet_bench_has_is_read_as_it_stands);
  RUN(a_wet_bench_that_cannot_be_meant_is_refused);
  RUN(own_figures_go_before_ours_and_say_so);
  RUN(names_that_no_table_has_are_told_with_their_place);
  return check_end();
}
