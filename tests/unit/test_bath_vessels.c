/* What a bath may be made in, by what is known of the material, the bath and the station. */
#include "bath_ask.h"

#include "check.h"

#include <string.h>

static struct arena arena;

static const char *line_with(const struct bath_lines *lines, const char *words)
{
  for (int i = 0; i < lines->count; i++)
    if (strstr(lines->line[i], words))
      return lines->line[i];
  return NULL;
}

/* How hot piranha gets is printed, and so is what PTFE stands: then "not known" is no reason to refuse. */
static void piranha_in_ptfe_is_told_what_is_printed_of_both(void)
{
  const struct bath_answer *a =
      ask_p14("piranha", "name=piranha", "volume=1L", "vessel=ptfe", NULL);
  const char *line;

  REQUIRE(a != NULL);
  CHECK_INT(a->state, BATH_MADE);
  line = line_with(&a->vessels, "asked for: PTFE");
  REQUIRE(line != NULL);
  CHECK(strstr(line, "limited") != NULL);
  CHECK(strstr(line, "for a short time 300") != NULL);
  CHECK(strstr(line, "reach 120") != NULL);
  CHECK(strstr(line, "whether it goes higher is not known") != NULL);
  CHECK(strstr(line, "only where the station's procedure names it") != NULL);
}

/* Of what only is to boil, and nobody prints how hot it gets, no material is known so hot. */
static void a_bath_of_which_nothing_is_printed_is_still_refused(void)
{
  const struct bath_answer *a =
      ASK("hot", "part=h2so4-96=1L", "part=water=1L", "vessel=ptfe", NULL);

  REQUIRE(a != NULL);
  check_no_amounts(a);
  CHECK(line_with(&a->refused, "how far is not known") != NULL);
}

static void a_stations_word_against_glass_means_every_name_of_glass(void)
{
  static const char *const vessels[] = {
      "vessel=glass",  "vessel=borosilicate", "vessel=Borosilicate glass",
      "vessel=quartz", "vessel=fused silica", "vessel=aluminium"};
  const struct bath_answer *a;

  for (size_t i = 0; i < sizeof vessels / sizeof *vessels; i++) {
    CHECK_CASE("%s", vessels[i]);
    a = ASK_THERE(NULL, vessels[i], "name=sc-2", "station=A4", "volume=1L", vessels[i], NULL);
    REQUIRE(a != NULL);
    check_no_amounts(a);
    CHECK(line_with(&a->refused, "not here: the suite's file lists for A4") != NULL);
  }
  a = ASK_THERE(NULL, "pfa", "name=sc-2", "station=A4", "volume=1L", "vessel=pfa", NULL);
  REQUIRE(a != NULL);
  CHECK_INT(a->state, BATH_MADE);
  CHECK(line_with(&a->vessels, "not here, by the suite's file of A4") != NULL);
  for (int i = 0; i < a->vessels.count; i++)
    if (!strstr(a->vessels.line[i], "not here"))
      CHECK(strstr(a->vessels.line[i], "lass") == NULL);
  CHECK(line_with(&a->place, "not understood") == NULL);
}

/* Ours is three parts acid to one; the house's is four to one, and its procedure names the house's. */
static void a_procedure_for_a_bath_of_the_house_matches_its_parts_and_no_other_ratio(void)
{
  static const int stations[] = {0};
  static const struct chemicals_bath_part parts[] = {{.of = "h2so4-96", .volume_ratio = 4},
                                                     {.of = "h2o2-30", .volume_ratio = 1}};
  static const struct chemicals_bath bath = {
      .part = {.id = "strip-1", .name = "Strip of the house"},
      .part_count = 2,
      .parts = parts,
      .station_count = 1,
      .stations = stations,
      .temperature_K = 383.15,
      .life_s = 3600};
  const struct chemicals_procedure procedure = procedure_for("strip-1");
  const struct chemicals own = {.file = "chemicals.yaml",
                                .procedure_count = 1,
                                .procedures = &procedure,
                                .bath_count = 1,
                                .baths = &bath};
  const struct bath_answer *a = ASK_THERE(&own, "parts", "part=h2so4-96=4", "part=h2o2-30=1",
                                          "volume=1L", "station=A1", NULL);

  REQUIRE(a != NULL);
  CHECK_INT(a->state, BATH_MADE);
  CHECK(a->id && strcmp(a->id, "strip-1") == 0);
  CHECK(strstr(a->title, "Strip of the house") != NULL);
  a = ASK_THERE(&own, "ours", "part=h2so4-96=3", "part=h2o2-30=1", "volume=1L", "station=A1", NULL);
  REQUIRE(a != NULL);
  check_no_amounts(a);
  a = ASK_THERE(&own, "by name", "name=piranha", "volume=1L", "station=A1", NULL);
  REQUIRE(a != NULL);
  check_no_amounts(a);
  a = ASK_THERE(&own, "elsewhere", "part=h2so4-96=4", "part=h2o2-30=1", "volume=1L", "station=A2",
                NULL);
  REQUIRE(a != NULL);
  check_no_amounts(a);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, (size_t)512 << 20);
  bath_ask_begin(&arena, chem_read(&arena));
  RUN(piranha_in_ptfe_is_told_what_is_printed_of_both);
  RUN(a_bath_of_which_nothing_is_printed_is_still_refused);
  RUN(a_stations_word_against_glass_means_every_name_of_glass);
  RUN(a_procedure_for_a_bath_of_the_house_matches_its_parts_and_no_other_ratio);
  arena_release(&arena);
  return check_end();
}
