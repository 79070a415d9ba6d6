/* What reaches duct, room and person: the demo suite by hand, balances, refusals, bad questions. */
#include "vapour/vapour.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static struct arena arena;
static const struct chem *chem;
static struct facility *facility;

static bool open_quillmere(void)
{
  static char text[64 << 10];
  FILE *file = fopen("examples/quillmere/suite.yaml", "rb");
  struct complaints complaints;
  size_t size;

  if (!CHECK(file != NULL))
    return false;
  size = fread(text, 1, sizeof text, file);
  fclose(file);
  complaints_init(&complaints, &arena);
  facility = facility_read(&(struct facility_text){"suite.yaml", text, size}, NULL, 0, &complaints);
  return CHECK(facility != NULL);
}

/* "of=acetone from=beaker": one question as a person types it; with_suite: at Quillmere. */
static const struct vapour_answer *ask(const char *words, bool with_suite, struct err *err)
{
  struct vapour_request request = {.chem = chem, .facility = with_suite ? facility : NULL};
  char *copy = arena_strdup(&arena, words), *save = NULL;

  *err = (struct err){0};
  for (char *word = strtok_r(copy, " ", &save); word; word = strtok_r(NULL, " ", &save)) {
    char *equals = strchr(word, '=');

    *equals = '\0';
    if (vapour_take(&request, word, equals + 1, err) != ERR_OK)
      return NULL;
  }
  return vapour_answer(&request, &arena, err);
}

static const struct vapour_answer *at_quillmere(const char *words)
{
  struct err err;
  const struct vapour_answer *a = ask(words, true, &err);

  CHECK_CASE("%s: %s", words, err.text);
  CHECK(a != NULL);
  return a;
}

static const struct vapour_answer *alone(const char *words)
{
  struct err err;
  const struct vapour_answer *a = ask(words, false, &err);

  CHECK_CASE("%s: %s", words, err.text);
  CHECK(a != NULL);
  return a;
}

#define BEAKER "of=acetone from=beaker diameter=100mm station=S3 scene=busy at=20degC"

/* docs/chemistry.md, "By hand": the same arithmetic done apart from this program. */
static void the_example_of_the_manual_comes_out_as_it_does_by_hand(void)
{
  const struct vapour_answer *a = at_quillmere(BEAKER);

  REQUIRE(a);
  CHECK_NEAR(a->parts[0].pressure_Pa, 24712, 1e-3, 0);
  CHECK_NEAR(a->cases[VAPOUR_NOW].station_m3_s, 0.3375, 1e-9, 0);
  CHECK_NEAR(a->cases[VAPOUR_NOW].speed.low_si, 0.125, 1e-9, 0);
  CHECK_NEAR(a->cases[VAPOUR_NOW].speed.high_si, 0.75, 1e-9, 0);
  CHECK_NEAR(a->cases[VAPOUR_NOW].rate.low_si, 3.729e-6, 1e-3, 0);
  CHECK_NEAR(a->cases[VAPOUR_NOW].rate.high_si, 4.520e-5, 1e-3, 0);
  CHECK_NEAR(a->cases[VAPOUR_NOW].duct.low_si, 4.305e-6, 1e-3, 0);
  CHECK_NEAR(a->cases[VAPOUR_NOW].duct.high_si, 6.378e-5, 1e-3, 0);
  CHECK_NEAR(a->cases[VAPOUR_STOPPED].room[0][2].high_si, 8.927e-5, 1e-3, 0);
  CHECK_NEAR(a->cases[VAPOUR_STOPPED].room[0][VAPOUR_TIMES].high_si, 1.8305e-3, 1e-3, 0);
  CHECK_NEAR(a->purge[0].time_s, 2854, 1e-3, 0);
  for (int i = 0; i < a->limit_count; i++)
    if (strcmp(a->limits[i].limit->issuer, "NIOSH REL") == 0)
      CHECK_NEAR(a->limits[i].reached_s, 247.5, 1e-3, 0);
  CHECK(a->ignitable);
  CHECK(vapour_is_no(a));
}

/* The flows are those of `inward air` in the same scene. */
static void the_air_is_that_of_the_station_and_its_main(void)
{
  const struct vapour_answer *a = at_quillmere(BEAKER);
  const struct vapour_answer *work = at_quillmere(BEAKER " sash=S3=0.30m");

  REQUIRE(a && work);
  CHECK_NEAR(a->cases[VAPOUR_NOW].main_m3_s * 3600, 4499, 1e-3, 0);
  CHECK_NEAR(a->cases[VAPOUR_PARKED].station_m3_s * 3600, 520, 1e-9, 0);
  CHECK(a->cases[VAPOUR_PARKED].main_m3_s < a->cases[VAPOUR_NOW].main_m3_s);
  CHECK_NEAR(a->cases[VAPOUR_STOPPED].station_m3_s, 0, 0, 1e-3);
  CHECK(a->cases[VAPOUR_STOPPED].fresh_m3_s < a->cases[VAPOUR_NOW].fresh_m3_s);
  CHECK_NEAR(work->cases[VAPOUR_NOW].station_m3_s, 0.5 * 1.5 * 0.30, 1e-9, 0);
  CHECK(work->trial && !a->trial);
}

/* Euler in small steps of V dC/dt = G - Q C, which shares nothing with the closed form. */
static void simulate(const struct vapour_answer *a, double kg_s, double mixed_m3_s,
                     double *ratios_out)
{
  double molar_kg_mol = a->parts[0].stock.substance->facts[CHEM_MOLAR_MASS].si;
  double there_m3 = 0, left_kg = a->mass_kg, step_s = 0.05, volume_m3 = 70 * 2.7;
  int next = 0;

  for (long i = 0; next < VAPOUR_TIMES; i++) {
    double now_kg = fmin(kg_s * step_s, left_kg);

    if ((double)i * step_s >= vapour_times_s[next] - step_s / 2)
      ratios_out[next++] = there_m3 / volume_m3;
    left_kg -= now_kg;
    there_m3 += now_kg / molar_kg_mol * 8.31446261815324 * 294.15 / a->pressure_Pa -
                step_s * mixed_m3_s * there_m3 / volume_m3;
  }
}

/* Every rate of the band stays within what is printed, and both ends are reached by some. */
static void the_room_fills_and_empties_as_its_balance_says(void)
{
  enum { RATES = 60 };
  const struct vapour_answer *a =
      at_quillmere("of=acetone from=floor-spill volume=20mL area=0.1m2 room=Litho mixing=0.5");
  double ratios[RATES + 1][VAPOUR_TIMES];
  const struct vapour_case *c;

  REQUIRE(a);
  c = &a->cases[VAPOUR_NOW];
  for (int i = 0; i <= RATES; i++)
    simulate(a, c->rate.low_si * pow(c->rate.high_si / c->rate.low_si, (double)i / RATES),
             0.5 * c->fresh_m3_s, ratios[i]);
  CHECK(a->mass_kg / c->rate.high_si < 900); /* used up on the way, so both halves are tried */
  for (int k = 0; k < VAPOUR_TIMES; k++) {
    double least = INFINITY, most = 0;

    CHECK_CASE("after %g s", vapour_times_s[k]);
    for (int i = 0; i <= RATES; i++) {
      least = fmin(least, ratios[i][k]);
      most = fmax(most, ratios[i][k]);
    }
    CHECK_NEAR(c->room[0][k].low_si, least, 5e-3, 1e-12);
    CHECK_NEAR(c->room[0][k].high_si, most, 3e-2, 1e-12); /* the grid of rates is coarse */
    CHECK(c->room[0][k].high_si >= most * (1 - 1e-3));
  }
}

static void no_room_holds_more_than_was_spilt(void)
{
  const struct vapour_answer *a =
      at_quillmere("of=ethanol from=floor-spill volume=50mL area=0.5m2 room=Films");
  double most_kg;

  REQUIRE(a);
  for (int k = 0; k < a->case_count; k++) {
    most_kg = a->cases[k].room[0][VAPOUR_TIMES].high_si * 45 * 2.7 * a->pressure_Pa /
              (8.31446261815324 * 294.15) * 0.046069;
    CHECK(most_kg > 0 && most_kg <= a->mass_kg * 1.001);
  }
  CHECK(a->dry_s > 0 && isfinite(a->dry_s));
}

static void more_surface_air_or_heat_never_gives_less(void)
{
  static const char *const pairs[][2] = {
      {"of=toluene from=bath area=0.01m2", "of=toluene from=bath area=0.02m2"},
      {"of=toluene from=bath area=0.01m2 speed=0.1m/s",
       "of=toluene from=bath area=0.01m2 speed=0.4m/s"},
      {"of=toluene from=bath area=0.01m2 at=15degC", "of=toluene from=bath area=0.01m2 at=30degC"},
      {"of=hcl@34wt% from=bath area=0.01m2 at=25degC",
       "of=hcl@36wt% from=bath area=0.01m2 at=25degC"},
  };

  for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
    const struct vapour_answer *less = alone(pairs[i][0]), *more = alone(pairs[i][1]);

    REQUIRE(less && more);
    CHECK_CASE("%s", pairs[i][1]);
    CHECK(more->cases[0].rate.low_si > less->cases[0].rate.low_si);
    CHECK(more->cases[0].rate.high_si > less->cases[0].rate.high_si);
  }
}

/* Its lower end goes down to diffusion through still air; its upper end stays. */
static void a_freeboard_lowers_the_lower_end_only(void)
{
  const struct vapour_answer *without = alone("of=acetone from=beaker diameter=100mm");
  const struct vapour_answer *with = alone("of=acetone from=beaker diameter=100mm freeboard=50mm");

  REQUIRE(without && with);
  CHECK(with->cases[0].rate.low_si < without->cases[0].rate.low_si);
  CHECK_NEAR(with->cases[0].rate.high_si, without->cases[0].rate.high_si, 1e-12, 0);
}

/* ---- liquids ---- */

static void a_table_of_partial_pressures_gives_its_rows_and_the_log_between(void)
{
  const struct vapour_answer *row = alone("of=nh3@24wt% from=bath area=0.01m2 at=25degC");
  const struct vapour_answer *between = alone("of=nh3@22wt% from=bath area=0.01m2 at=25degC");
  const struct vapour_answer *weaker = alone("of=hf@49wt% from=bath area=0.01m2 at=25degC");
  const struct vapour_answer *colder = alone("of=nh3@24wt% from=bath area=0.01m2 at=20degC");

  REQUIRE(row && between && weaker && colder);
  CHECK_NEAR(row->parts[0].pressure_Pa / 133.322, 184, 1e-4, 0);
  CHECK_NEAR(between->parts[0].pressure_Pa / 133.322, sqrt(125.0 * 184.0), 1e-4, 0);
  CHECK(weaker->parts[0].at_most && isnan(weaker->parts[0].pressure_Pa));
  /* the mean of ten minutes, 16 mmHg, times what a fresh liquid gives off more; 14 mmHg printed */
  CHECK_NEAR(weaker->parts[0].pressure.high_si / 133.322, 16 * 1.5, 1e-4, 0);
  CHECK_NEAR(weaker->parts[0].pressure.low_si / 133.322, 14, 1e-4, 0);
  CHECK(isnan(colder->parts[0].pressure_Pa)); /* a bound, no figure */
  CHECK_NEAR(colder->parts[0].pressure.high_si / 133.322, 184 * 2.1, 1e-4, 0);
  CHECK(colder->parts[0].pressure.low_si > 0);
}

static void a_mixture_follows_raoult(void)
{
  const struct vapour_answer *mixed =
      alone("of=acetone:0.7 of=isopropanol:0.3 by=mass from=beaker diameter=10cm at=25degC");
  const struct vapour_answer *pure = alone("of=acetone from=beaker diameter=10cm at=25degC");
  double acetone = 0.7 / 58.080, alcohol = 0.3 / 60.096;

  REQUIRE(mixed && pure);
  CHECK_NEAR(mixed->parts[0].mole_ratio, acetone / (acetone + alcohol), 1e-9, 0);
  CHECK_NEAR(mixed->parts[0].pressure_Pa / pure->parts[0].pressure_Pa,
             acetone / (acetone + alcohol), 1e-9, 0);
  CHECK_NEAR(mixed->parts[0].mole_ratio + mixed->parts[1].mole_ratio, 1, 1e-12, 0);
}

static void what_boils_bubbles_fumes_or_reacts_gets_no_figure(void)
{
  static const char *const liquids[] = {"of=piranha from=bath",
                                        "of=SPM from=bath",
                                        "of=sc-1 from=bath",
                                        "of=SC-2 from=bath",
                                        "of=hna from=bath",
                                        "of=h2so4@96wt% of=h2o2@30wt% from=bath",
                                        "of=nh3@29wt% of=h2o2@30wt% from=bath",
                                        "of=hcl@37wt% of=hno3@69wt% from=bath",
                                        "of=hno3@90wt% from=bath area=0.01m2",
                                        "of=h3po4@85wt% at=160degC from=bath area=0.01m2",
                                        "of=acetone at=57degC from=beaker diameter=10cm",
                                        "of=water at=100degC from=beaker diameter=10cm",
                                        "of=hf@5wt% from=bath area=0.01m2",
                                        "of=hcl@36wt% at=40degC from=bath area=0.01m2",
                                        "of=isopropanol@70wt% from=bath area=0.01m2",
                                        "of=h2so4@96wt% from=bath area=0.01m2",
                                        "of=citric-acid from=beaker diameter=10cm"};

  for (size_t i = 0; i < sizeof liquids / sizeof *liquids; i++) {
    const struct vapour_answer *a = alone(liquids[i]);
    struct buf out;

    REQUIRE(a);
    CHECK_CASE("%s", liquids[i]);
    CHECK(a->refused && vapour_is_no(a) && a->case_count == 0 && a->ask_count > 0);
    buf_init(&out, 1 << 20);
    vapour_text(a, UNITS_SYSTEM_SI, &out);
    CHECK(!strstr(out.text, "g/h") && !strstr(out.text, "ppm"));
    CHECK(strstr(out.text, "No figure:") || strstr(out.text, "Not known:"));
    buf_release(&out);
  }
}

/* Every alias of every row, so that no row is there for nothing. */
static void every_name_of_the_refused_table_is_refused(void)
{
  const struct chem_table *t = chem_table("no_vapour_figure", &arena);

  for (int i = 0; i < t->row_count; i++) {
    char *list = arena_strdup(&arena, chem_cell(t, i, "aliases")), *save = NULL;

    CHECK(chem_cell_origin(t, i).source[0] != '\0');
    for (char *name = strtok_r(list, ";", &save); name; name = strtok_r(NULL, ";", &save)) {
      struct vapour_request request = {.chem = chem};
      struct err err = {0};
      const struct vapour_answer *a;

      CHECK_CASE("%s", name);
      CHECK_INT(vapour_take(&request, "of", name, &err), ERR_OK);
      CHECK_INT(vapour_take(&request, "from", "bath", &err), ERR_OK);
      a = vapour_answer(&request, &arena, &err);
      CHECK(a && a->refused);
    }
  }
}

/* ---- what may never be said ---- */

static void no_answer_ever_clears_anything(void)
{
  static const char *const questions[] = {
      BEAKER,
      "of=anisole from=beaker diameter=1cm station=S3 at=15degC",
      "of=water from=beaker diameter=10cm station=S3",
      "of=hf@49wt% from=bath area=0.06m2 station=A3",
      "of=dmso from=beaker diameter=1cm station=S4",
      "of=acetone from=floor-spill volume=1mL room=Films"};
  static const char *const never[] = {
      "safe ",           "safe.",     "safe:",    "OK", "no danger", "harmless", "within the limit",
      "below the limit", "may enter", "may go in"};

  for (size_t i = 0; i < sizeof questions / sizeof *questions; i++) {
    const struct vapour_answer *a = at_quillmere(questions[i]);
    struct buf out;

    REQUIRE(a);
    buf_init(&out, 1 << 20);
    vapour_text(a, UNITS_SYSTEM_SI, &out);
    vapour_json(a, &out);
    CHECK(!out.full);
    for (size_t k = 0; k < sizeof never / sizeof *never; k++) {
      CHECK_CASE("%s: \"%s\"", questions[i], never[k]);
      CHECK(!strstr(out.text, never[k]));
    }
    CHECK(strstr(out.text, "source removed?") && strstr(out.text, "measured?") &&
          strstr(out.text, "released by whom?"));
    CHECK(strstr(out.text, "not an instruction"));
    buf_release(&out);
  }
}

/* ---- what the review of this verb found: each of these failed before ---- */

static bool says(const struct vapour_answer *a, const char *words)
{
  struct buf out;
  bool found;

  buf_init(&out, 1 << 20);
  vapour_text(a, UNITS_SYSTEM_SI, &out);
  found = strstr(out.text, words) != NULL;
  buf_release(&out);
  return found;
}

/* The solver leaves 1.6e-12 m3/s in a pipe whose fan stands: no hood works by that. */
static void what_a_hood_without_air_carries_off_is_not_known(void)
{
  const struct vapour_answer *a =
      at_quillmere("of=acetone from=beaker diameter=100mm station=S3 off=SF");

  REQUIRE(a);
  for (int n = VAPOUR_NOW; n <= VAPOUR_PARKED; n++) {
    CHECK(a->cases[n].still && a->cases[n].to_room && a->air_words[n]);
    CHECK(isnan(a->cases[n].duct.high_si));
    CHECK(!strstr(a->cases[n].person_words, "tracer"));
  }
  CHECK(strstr(a->headline, "what it carries off is not known") != NULL);
  CHECK(!strstr(a->headline, "shown to be exceeded"));
  CHECK(vapour_is_no(a));
}

static void what_a_station_is_not_to_have_is_refused_in_its_words(void)
{
  static const char *const questions[][2] = {
      {"of=acetone from=beaker diameter=100mm station=A1", "organics"},
      {"of=hf-49 from=bath area=0.06m2 station=S1", "acids"},
      {"of=piranha from=bath area=0.06m2 station=S1", "acids"},
      {"of=bhf-5 from=bath area=0.06m2 station=A2", "HF"},
      {"of=isopropanol from=beaker diameter=10cm station=A3", "solvents"}};

  for (size_t i = 0; i < sizeof questions / sizeof *questions; i++) {
    const struct vapour_answer *a = at_quillmere(questions[i][0]);

    REQUIRE(a);
    CHECK_CASE("%s", questions[i][0]);
    CHECK(a->refused && vapour_is_no(a) && a->case_count == 0);
    CHECK(strncmp(a->headline, "Not here:", 9) == 0);
    CHECK(strstr(a->headline, questions[i][1]) != NULL);
  }
}

static void water_with_an_organic_gets_no_figure_and_its_flash_point(void)
{
  const struct vapour_answer *mixed =
      alone("of=water:0.5 of=acetone:0.5 by=mass from=beaker diameter=10cm");
  const struct vapour_answer *warm =
      alone("of=dmso:0.999 of=acetone:0.001 by=mass from=beaker diameter=10cm");

  REQUIRE(mixed && warm);
  CHECK(mixed->refused);
  CHECK(says(mixed, "Acetone burns: its own flash point"));
  CHECK(warm->ignitable && strstr(warm->ignition_words, "flash point of Acetone") != NULL);
}

static void what_burns_is_in_the_first_line(void)
{
  const struct vapour_answer *spill =
      at_quillmere("of=acetone from=deck-spill volume=1L station=S3");
  const struct vapour_answer *beaker = alone("of=acetone from=beaker diameter=10cm");

  REQUIRE(spill && beaker);
  CHECK(strncmp(spill->headline, "IGNITABLE", 9) == 0);
  CHECK(strstr(spill->headline, "in the station's duct it may exceed 10 %") != NULL);
  CHECK(strncmp(beaker->headline, "IGNITABLE", 9) == 0);
  CHECK(vapour_is_no(beaker));
}

static void of_short_air_nobody_at_a_station_is_spoken_for(void)
{
  const struct vapour_answer *a =
      at_quillmere("of=acetone from=beaker diameter=100mm station=S3 all=work");

  REQUIRE(a);
  CHECK(a->air_words[VAPOUR_NOW] != NULL);
  CHECK(strstr(a->headline, "SHORT") != NULL);
  CHECK(isnan(a->cases[VAPOUR_NOW].person[0].high_si));
  for (int i = 0; i < a->limit_count; i++)
    CHECK_INT(a->limits[i].verdict[VAPOUR_NOW], VAPOUR_UNKNOWN);
}

static void a_spill_that_is_dangerous_at_once_says_leave_first(void)
{
  const struct vapour_answer *a = at_quillmere("of=hf-49 from=deck-spill volume=2L station=A3");
  const struct vapour_answer *bath = at_quillmere("of=hf-49 from=bath area=0.06m2 station=A3");
  bool exceeds = false;

  REQUIRE(a && bath && a->caution_count > 1);
  CHECK(strncmp(a->cautions[0], "LEAVE AND CALL", 14) == 0);
  CHECK(strstr(a->headline, "immediately dangerous") != NULL);
  CHECK(strstr(bath->headline, "may exceed NIOSH 30 ppm") != NULL); /* beside what it exceeds */
  CHECK(says(a, "HYDROFLUORIC ACID ON SKIN") && says(bath, "HYDROFLUORIC ACID ON SKIN"));
  CHECK(!says(a, "stop, cap, lower, step away") && !says(bath, "LEAVE AND CALL"));
  for (int i = 0; i < a->limit_count; i++)
    exceeds |= a->limits[i].verdict[VAPOUR_STOPPED] == VAPOUR_EXCEEDS;
  CHECK(exceeds); /* by the pressure that is printed for it, as its lower end */
}

static void no_person_gets_more_than_the_air_over_the_liquid_holds(void)
{
  static const char *const questions[] = {"of=acetone from=floor-spill volume=1L room=Litho",
                                          "of=isopropanol from=floor-spill volume=1L room=Films",
                                          "of=dmso from=floor-spill volume=10L room=Films",
                                          "of=acetone from=deck-spill volume=50L station=S3"};

  for (size_t i = 0; i < sizeof questions / sizeof *questions; i++) {
    const struct vapour_answer *a = at_quillmere(questions[i]);

    REQUIRE(a);
    CHECK_CASE("%s", questions[i]);
    for (int n = 0; n < a->case_count; n++)
      CHECK(!(a->cases[n].person[0].high_si > a->saturation_ratio * (1 + 1e-12)));
  }
}

/* Every bath that can be made is known here, and a word in no table is an answer, not a mistake. */
static void every_bath_is_known_and_the_unknown_is_an_answer(void)
{
  const struct chem_table *t = chem_table("baths", &arena);
  const struct vapour_answer *unknown = alone("of=zzzzqqqq from=bath area=0.01m2");

  for (int i = 0; i < t->row_count; i++) {
    char words[120];
    const struct vapour_answer *a;

    snprintf(words, sizeof words, "of=%s from=bath area=0.01m2", chem_cell(t, i, "id"));
    a = alone(words);
    CHECK_CASE("%s", words);
    CHECK(a && a->refused && vapour_is_no(a));
  }
  REQUIRE(unknown);
  CHECK(unknown->refused && says(unknown, "Not known: 'zzzzqqqq'"));
}

/* t = k V/Q ln(C1/C2): a hundred times the mixing, a hundred times the time (for the same C1). */
static void a_room_that_mixes_badly_takes_longer(void)
{
  const struct vapour_answer *tenth = at_quillmere(BEAKER " mixing=0.1");
  const struct vapour_answer *hundredth = at_quillmere(BEAKER " mixing=0.01");
  const struct vapour_purge *a, *b;

  REQUIRE(tenth && hundredth);
  a = &tenth->purge[0], b = &hundredth->purge[0];
  REQUIRE(a->known && b->known);
  CHECK(b->time_s >= 9.9 * a->time_s);
  CHECK_NEAR(b->time_s / log(b->first_ratio / b->last_ratio),
             10 * a->time_s / log(a->first_ratio / a->last_ratio), 1e-9, 0);
}

/* -ln(1 - r)/r of (V3), r = p/P, is what is meant: near boiling it is used, and it is more. */
static void near_boiling_has_its_form(void)
{
  const struct vapour_answer *a = alone("of=acetone from=beaker diameter=10cm at=50degC");
  const struct vapour_rate *plain, *near;
  double ratio;

  REQUIRE(a && !a->refused);
  plain = &a->cases[0].rates[0], near = &a->cases[0].rates[1];
  ratio = a->parts[0].pressure.high_si / a->pressure_Pa;
  CHECK(plain->why_not == NULL && near->why_not == NULL && ratio > 0.8);
  CHECK_NEAR(near->rate.high_si / plain->rate.high_si, -log(1 - ratio) / ratio, 1e-9, 0);
}

static void a_warmer_solution_never_has_less_over_it(void)
{
  static const char *const liquids[] = {"hcl@36wt%", "hcl@37wt%", "hcl@30wt%", "nh3@29wt%",
                                        "hf@49wt%",  "hf@70wt%",  "hno3@80wt%"};

  for (size_t i = 0; i < sizeof liquids / sizeof *liquids; i++) {
    struct vapour_band before = {0, 0};

    for (int half = 20; half <= 50; half++) {
      char words[120];
      const struct vapour_answer *a;

      snprintf(words, sizeof words, "of=%s from=bath area=0.01m2 at=%gdegC", liquids[i],
               half / 2.0);
      a = alone(words);
      REQUIRE(a && !a->refused);
      CHECK_CASE("%s", words);
      CHECK(a->parts[0].pressure.low_si >= before.low_si);
      CHECK(a->parts[0].pressure.high_si >= before.high_si);
      CHECK(a->parts[0].pressure.low_si <= a->parts[0].pressure.high_si);
      before = a->parts[0].pressure;
    }
  }
}

/* Going in by the time of the other part alone would leave this one out. */
static void a_purge_says_what_it_does_not_count(void)
{
  const struct vapour_answer *a = at_quillmere("of=acetone:0.9 of=anisole:0.1 by=mass from=beaker "
                                               "diameter=10cm station=S3");
  struct buf out;

  REQUIRE(a && a->part_count == 2);
  CHECK(a->purge[0].not_counted && strstr(a->purge[0].not_counted, "Anisole"));
  CHECK(says(a, "not counted in these"));
  buf_init(&out, 1 << 20);
  vapour_json(a, &out);
  CHECK(strstr(out.text, "\"not_counted\"") && strstr(out.text, "\"to\""));
  buf_release(&out);
}

/* A row that is from memory is no better known for being within its range. */
static void a_pressure_is_as_wide_as_its_basis(void)
{
  const struct vapour_answer *seen = alone("of=acetone from=beaker diameter=10cm at=20degC");
  const struct vapour_answer *memory = alone("of=pgmea from=beaker diameter=10cm at=25degC");

  REQUIRE(seen && memory);
  CHECK_NEAR(seen->parts[0].pressure.high_si / seen->parts[0].pressure_Pa, 1.10, 1e-9, 0);
  CHECK_NEAR(memory->parts[0].pressure.high_si / memory->parts[0].pressure_Pa, 1.40, 1e-9, 0);
}

static void us_units_say_what_stays_metric(void)
{
  const struct vapour_answer *a = at_quillmere(BEAKER);
  struct buf out;

  REQUIRE(a);
  buf_init(&out, 1 << 20);
  vapour_text(a, UNITS_SYSTEM_US, &out);
  CHECK(strstr(out.text, "68.0 °F") && strstr(out.text, "stay metric"));
  buf_release(&out);
}

/* A bench has no tracer figure, so nothing is said of the person at it. */
static void what_is_not_known_is_said_to_be(void)
{
  const struct vapour_answer *bench =
      at_quillmere("of=hcl-37 from=bath area=0.05m2 station=A2 scene=busy");
  const struct vapour_answer *without = alone("of=isopropanol from=bath area=0.05m2");

  REQUIRE(bench && without);
  CHECK(isnan(bench->cases[VAPOUR_NOW].person[0].high_si));
  for (int i = 0; i < bench->limit_count; i++)
    CHECK_INT(bench->limits[i].verdict[VAPOUR_NOW], VAPOUR_UNKNOWN);
  CHECK(vapour_is_no(bench));
  CHECK(!without->cases[0].known && without->case_count == 1);
}

/* ---- bad questions ---- */

static void a_bad_question_is_refused_with_its_key(void)
{
  static const struct {
    const char *words, *says;
  } rows[] = {
      {"of=acetnoe from=beaker diameter=10cm station=S3", "did you mean 'acetone'"},
      {"of=hf from=bath area=0.01m2 station=A3", "sold at several strengths"},
      {"of=acetone from=beaker diameter=10cm station=S33", "did you mean 'S3'"},
      {"of=acetone from=beaker diameter=10cm", "station:"},
      {"of=acetone from=beaker station=S3", "diameter:"},
      {"of=acetone from=deck-spill station=S3", "volume:"},
      {"of=acetone diameter=10cm station=S3", "from:"},
      {"from=beaker diameter=10cm station=S3", "of:"},
      {"of=acetone from=beaker diameter=10cm area=0.01m2 station=S3", "not both"},
      {"of=acetone from=beaker diameter=10 station=S3", "a unit is required"},
      {"of=acetone from=beaker diameter=10km station=S3", "not within"},
      {"of=acetone from=beaker at=22 station=S3", "a unit is required"},
      {"of=acetone from=beaker diameter=10cm station=S3 mixing=2", "not within"},
      {"of=acetone from=beaker diameter=10cm station=S3 mixing=1..0.3", "runs downwards"},
      {"of=acetone from=beaker diameter=10cm station=S3 room=Wet", "stands in Litho"},
      {"of=acetone from=beaker diameter=10cm station=S3 scene=nowhere", "nowhere"},
      {"of=acetone from=beaker diameter=10cm station=S3 wind=1m/s", "no 'wind'"},
      {"of=acetone:0.7 of=isopropanol:0.3 from=beaker diameter=10cm station=S3",
       "by mass or by volume"},
      {"of=acetone:0.7 of=isopropanol:0.2 by=mass from=beaker diameter=10cm station=S3",
       "add up to 0.9"},
      {"of=acetone of=isopropanol:0.3 by=mass from=beaker diameter=10cm station=S3",
       "needs its share"},
      {"of=acetone:0.5 of=acetone:0.5 by=mass from=beaker diameter=10cm station=S3", "named twice"},
      {"of=acetone from=cup station=S3", "beaker, bath"},
      {"of=acetone from=bath from=beaker station=S3", "from: said twice"},
      {"of=acetone from=bath station=S3 station=S1", "station: said twice"},
      {"of=acetone from=bath area=1m2 area=2m2 station=S3", "area: said twice"},
      {"of=acetone from=bath by=mass by=volume station=S3", "by: said twice"},
      {"of=acetone from=bath mixing=0.1 mixing=1 station=S3", "mixing: said twice"},
      {"of=acetone from=bath at=20degC at=30degC station=S3", "at: said twice"},
      {"of=acetone from=floor-spill volume=1L freeboard=3cm room=Litho", "no rim"},
      {"of=acetone from=deck-spill volume=1L room=Litho", "needs its station"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct err err;

    CHECK_CASE("%s: %s", rows[i].words, err.text);
    CHECK(ask(rows[i].words, true, &err) == NULL);
    CHECK_CASE("%s: %s", rows[i].words, err.text);
    CHECK(err_exit_status(err.code) == 2);
    CHECK(strstr(err.text, rows[i].says) != NULL);
  }
}

static void every_setting_and_share_has_its_source(void)
{
  static const char *const tables[] = {"vapour_settings", "flammable_shares", "partial_pressures",
                                       "no_vapour_figure"};

  for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
    const struct chem_table *t = chem_table(tables[i], &arena);

    for (int row = 0; row < t->row_count; row++) {
      CHECK_CASE("data/%s.csv:%d", tables[i], row + 2);
      CHECK(chem_cell_origin(t, row).source[0] != '\0');
    }
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, (size_t)512 << 20);
  chem = chem_read(&arena);
  if (open_quillmere()) {
    RUN(the_example_of_the_manual_comes_out_as_it_does_by_hand);
    RUN(the_air_is_that_of_the_station_and_its_main);
    RUN(the_room_fills_and_empties_as_its_balance_says);
    RUN(no_room_holds_more_than_was_spilt);
    RUN(more_surface_air_or_heat_never_gives_less);
    RUN(a_freeboard_lowers_the_lower_end_only);
    RUN(a_table_of_partial_pressures_gives_its_rows_and_the_log_between);
    RUN(a_mixture_follows_raoult);
    RUN(what_boils_bubbles_fumes_or_reacts_gets_no_figure);
    RUN(every_name_of_the_refused_table_is_refused);
    RUN(no_answer_ever_clears_anything);
    RUN(what_is_not_known_is_said_to_be);
    RUN(what_a_hood_without_air_carries_off_is_not_known);
    RUN(what_a_station_is_not_to_have_is_refused_in_its_words);
    RUN(water_with_an_organic_gets_no_figure_and_its_flash_point);
    RUN(what_burns_is_in_the_first_line);
    RUN(of_short_air_nobody_at_a_station_is_spoken_for);
    RUN(a_spill_that_is_dangerous_at_once_says_leave_first);
    RUN(no_person_gets_more_than_the_air_over_the_liquid_holds);
    RUN(every_bath_is_known_and_the_unknown_is_an_answer);
    RUN(a_room_that_mixes_badly_takes_longer);
    RUN(near_boiling_has_its_form);
    RUN(a_warmer_solution_never_has_less_over_it);
    RUN(a_purge_says_what_it_does_not_count);
    RUN(a_pressure_is_as_wide_as_its_basis);
    RUN(us_units_say_what_stays_metric);
    RUN(a_bad_question_is_refused_with_its_key);
    RUN(every_setting_and_share_has_its_source);
    facility_free(facility);
  }
  arena_release(&arena);
  return check_end();
}
