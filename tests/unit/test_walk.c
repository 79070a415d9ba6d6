/* The walk test: what it asks, what it predicts, and what it makes of readings. */
#include "walked.h"

#include <math.h>

static const char quillmere[] = "examples/quillmere/suite.yaml";
static const char shown[] = "examples/quillmere/walk.yaml";
static const char aldermoss[] = "examples/paper-only/suite.yaml";

static const char coarse_suite[] =
    "inward: 1 suite\n"
    "name: Coarse (DEMO)\n"
    "rooms: {Wet: {}}\n"
    "mains: {Acid: {capacity: {value: 9000 m3/h ± 10 %}}}\n"
    "supplies:\n"
    "  MU: {most: 15600 m3/h ± 15 %, feeds: {Wet: {follows exhaust: {offset: 600 m3/h ± 50 %}}}}\n"
    "stations:\n"
    "  A1: {kind: wet bench, room: Wet, main: Acid, width: 1.8 m, opening: {parked: 0.02 m, work: 0.45 m},\n"
    "       flow: {two-state: {parked: 620 m3/h, work: 1560 m3/h}}}\n"
    "  A2: {kind: wet bench, room: Wet, main: Acid, flow: {two-state: {parked: 500 m3/h, work: 900 m3/h}}}\n";

/* ---- predictions ---- */

static void a_prediction_is_what_air_answers_for_the_same_scene(void)
{
  struct walked w;

  if (walked_open(&w, quillmere, shown, "busy", true)) {
    struct err err = {0};
    struct air *air = air_new(w.facility, &err);

    CHECK(w.plan->step_count >= 5);
    for (int s = 0; s < w.plan->step_count; s++) {
      const struct walk_step *step = &w.plan->steps[s];
      const struct air_answer *a =
          air_ask(air, &step->scene, &air_settings_default, &w.arena, &err);

      REQUIRE(a != NULL);
      for (int i = step->first; i < step->first + step->count; i++) {
        const struct walk_reading *r = &w.plan->readings[i];
        const struct walk_quantity *q = &r->quantity;

        CHECK_CASE("%s %s", r->id, r->what);
        if (q->of == FACILITY_GAUGE_ROOM || q->of == FACILITY_GAUGE_DUCT)
          CHECK_NEAR(r->predicted_si,
                     a->nodes[q->index].pressure_Pa - a->nodes[q->over].pressure_Pa, 1e-9, 1e-9);
        else if (q->of == FACILITY_GAUGE_FACE)
          CHECK_NEAR(r->predicted_si, a->stations[q->index].face_velocity_m_s, 1e-9, 0);
        else if (q->of == FACILITY_GAUGE_SUPPLY)
          CHECK_NEAR(r->predicted_si, a->supplies[q->index].flow_m3_s, 1e-9, 0);
        else
          CHECK_NEAR(r->predicted_si, a->fans[q->index].speed_ratio, 1e-9, 0);
      }
    }
    air_free(air);
  }
  walked_close(&w);
}

/* ---- what is asked of people ---- */

static void stations_that_run_are_blocked_or_withdrawn_are_never_moved(void)
{
  struct walked w;

  if (walked_open(&w, quillmere, shown, "busy", true)) {
    int left_alone = 0;

    for (int i = 0; i < w.facility->station_count; i++) {
      const struct scene_station *as_is = &w.scene.stations[i];

      if (!as_is->blocked && !as_is->withdrawn && !as_is->needs_flow)
        continue;
      left_alone++;
      for (int s = 0; s < w.plan->step_count; s++) {
        CHECK_CASE("%s step %d", w.facility->stations[i].part.id, s + 1);
        CHECK_INT(w.plan->steps[s].scene.stations[i].raised, as_is->raised);
        CHECK_NEAR(w.plan->steps[s].scene.stations[i].opening_m, as_is->opening_m, 0, 0);
      }
    }
    CHECK_INT(left_alone, 2); /* A4 needs its flow, A7 is blocked */
    CHECK(w.plan->left_out_count >= 2);
  }
  walked_close(&w);
}

/* A door that stands open does not keep its own pair; that is what the step says. */
static bool is_across_open_door(const struct walked *w, const struct scene *scene, int room,
                                int over)
{
  for (int i = 0; i < w->facility->door_count; i++)
    if (scene->door_open[i] &&
        ((w->facility->doors[i].from == room && w->facility->doors[i].to == over) ||
         (w->facility->doors[i].to == room && w->facility->doors[i].from == over)))
      return true;
  return false;
}

static void no_step_asks_for_a_state_that_misses_a_keep(void)
{
  struct walked w;

  if (walked_open(&w, quillmere, shown, NULL, true)) {
    struct err err = {0};
    struct air *air = air_new(w.facility, &err);

    for (int s = 0; s < w.plan->step_count; s++) {
      const struct scene *scene = &w.plan->steps[s].scene;
      const struct air_answer *a = air_flows(air, scene, &w.arena, &err);

      REQUIRE(a != NULL && a->solved);
      for (int i = 0; i < w.facility->room_count; i++)
        for (int k = 0; k < a->rooms[i].keep_count; k++) {
          CHECK_CASE("step %d, %s", s + 1, w.facility->rooms[i].part.id);
          CHECK(a->rooms[i].keeps[k].met ||
                is_across_open_door(&w, scene, i, a->rooms[i].keeps[k].keep->over));
        }
    }
    air_free(air);
  }
  walked_close(&w);
}

static void a_walk_ends_as_it_began_with_everything_parked(void)
{
  struct walked w;

  if (walked_open(&w, quillmere, shown, NULL, true)) {
    const struct scene *last = &w.plan->steps[w.plan->step_count - 1].scene;

    for (int i = 0; i < w.facility->station_count; i++)
      CHECK(!last->stations[i].raised);
    for (int i = 0; i < w.facility->door_count; i++)
      CHECK(!last->door_open[i]);
    for (int i = 0; i < w.facility->fan_count; i++)
      CHECK_INT(last->fan_running[i], w.facility->fans[i].running);
    CHECK(w.plan->time_s <= w.facility->walk.at_most_s);
    CHECK(w.plan->step_count <= 10);
  }
  walked_close(&w);
}

static void a_fan_is_stopped_only_when_the_technician_is_asked_for(void)
{
  for (int with = 0; with < 2; with++) {
    struct walked w;
    int steps = 0;

    if (walked_open(&w, quillmere, shown, NULL, with))
      for (int s = 0; s < w.plan->step_count; s++)
        for (int i = 0; i < w.facility->fan_count; i++)
          if (w.plan->steps[s].scene.fan_running[i] < w.facility->fans[i].running) {
            steps++;
            CHECK(w.plan->steps[s].technician);
          }
    CHECK_INT(steps, with);
    walked_close(&w);
  }
}

static void a_suite_of_flows_only_is_asked_no_pressure(void)
{
  struct facility_text text = {"coarse.yaml", coarse_suite, sizeof coarse_suite - 1};
  struct walked w;

  if (walked_texts(&w, &text, 0) && walked_plan(&w, NULL, false)) {
    CHECK_INT(w.plan->tier, AIR_COARSE);
    for (int i = 0; i < w.plan->reading_count; i++)
      CHECK_INT(w.plan->readings[i].quantity.of, FACILITY_GAUGE_FACE);
    CHECK(w.plan->reading_count >= 1);
    /* 1560 m3/h through 1.8 m by 0.45 m */
    CHECK_NEAR(w.plan->readings[0].predicted_si, 1560.0 / 3600 / (1.8 * 0.45), 1e-9, 0);
  }
  walked_close(&w);
}

/* ---- uncertainty ---- */

/* JCGM 100:2008 annex H.1, the end gauge, in nm.  Values from memory. */
static void uncertainties_add_as_in_the_end_gauge_of_the_gum(void)
{
  struct walk_part difference[] = {
      {WALK_STANDARD, 5.8}, {WALK_STANDARD, 3.9}, {WALK_STANDARD, 6.7}}; /* H.1.3.2 */
  double expansion_per_K, temperature_K;
  struct walk_part expansion = {WALK_LIMIT, 1e-6}, temperature = {WALK_LIMIT, 0.05};

  CHECK_NEAR(walk_combined_si(difference, 3), 9.7, 0, 0.05);
  expansion_per_K = walk_combined_si(&expansion, 1);
  CHECK_NEAR(expansion_per_K, 0.58e-6, 0, 0.005e-6); /* H.1.3.5 */
  temperature_K = walk_combined_si(&temperature, 1);
  CHECK_NEAR(temperature_K, 0.029, 0, 0.0005); /* H.1.3.6 */

  struct walk_part all[] = {{WALK_STANDARD, 25.0}, /* the standard, 75 nm over 3 */
                            {WALK_STANDARD, 9.7},
                            {WALK_STANDARD, 50e6 * 0.1 * expansion_per_K},    /* 2.9 nm */
                            {WALK_STANDARD, 50e6 * 11.5e-6 * temperature_K}}; /* 16.6 nm */

  CHECK_NEAR(all[2].plus_minus_si, 2.9, 0, 0.05);
  CHECK_NEAR(all[3].plus_minus_si, 16.6, 0, 0.05);
  CHECK_NEAR(walk_combined_si(all, 4), 32.0, 0, 0.5); /* u_c(l) = 32 nm, table H.1 */
}

/* JCGM 100:2008 table G.1; several readings: Sidak 1967, each covers the root. */
static void coverage_factors_are_those_of_the_normal_distribution(void)
{
  static const struct {
    double covers, k;
  } rows[] = {{0.6827, 1.0}, {0.90, 1.645}, {0.95, 1.960},
              {0.9545, 2.0}, {0.99, 2.576}, {0.9973, 3.0}};

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("%g", rows[i].covers);
    CHECK_NEAR(walk_coverage_factor_ratio(rows[i].covers, 1), rows[i].k, 0, 0.0008);
  }
  for (int n = 2; n < 30; n += 9) {
    double each = 1 - erfc(walk_coverage_factor_ratio(0.95, n) / sqrt(2.0));

    CHECK_NEAR(pow(each, n), 0.95, 1e-9, 0);
  }
}

/* ---- readings ---- */

static struct sheet_book *book_of(struct walked *w, const char *text, struct complaints *complaints)
{
  complaints_init(complaints, &w->arena);
  return sheet_read("readings.csv", text, strlen(text), &w->arena, complaints);
}

static int reading_of(const struct walk_plan *plan, enum facility_gauge_of of)
{
  for (int i = 0; i < plan->reading_count; i++)
    if (plan->readings[i].quantity.of == of)
      return i;
  return -1;
}

/* All but every third reading, and a remark that needs quotes. */
static struct walk_readings *most_read(struct walked *w)
{
  struct walk_readings *filled = walk_blank(w->plan, &w->arena);

  for (int i = 0; i < w->plan->reading_count; i++) {
    filled->entries[i].read = i % 3 != 0;
    filled->entries[i].value_si = w->plan->readings[i].predicted_si * 1.01;
  }
  filled->date = "2026-11-25";
  filled->entries[1].remark = "gauge \"M-2\", swings";
  return filled;
}

static void same_reading(const struct walk_reading *reading, const struct walk_entry *back,
                         const struct walk_entry *filled, enum units_system system)
{
  CHECK_CASE("%s %s", reading->id, system == UNITS_SYSTEM_US ? "US" : "SI");
  CHECK_INT(back->read, filled->read);
  if (back->read)
    CHECK_NEAR(back->value_si, filled->value_si, 1e-6, 1e-9);
  CHECK(back->printed);
  CHECK_NEAR(back->printed_si, reading->predicted_si, 0,
             0.51 * walk_resolution_si(reading->quantity.of, system));
}

static void what_a_form_holds_comes_back(void)
{
  static const enum units_system systems[] = {UNITS_SYSTEM_SI, UNITS_SYSTEM_US};

  for (int k = 0; k < 2; k++) {
    struct walked w;
    struct complaints complaints;
    struct buf csv;

    REQUIRE(walked_open(&w, quillmere, shown, NULL, false));
    const struct walk_readings *filled = most_read(&w), *back;

    buf_init(&csv, 1 << 20);
    walk_form(w.plan, systems[k], filled, &csv);
    back = walk_read(w.plan, book_of(&w, csv.text, &complaints), &w.arena, &complaints);
    CHECK_INT(complaints.count, 0);
    REQUIRE(back != NULL);
    CHECK_STR(back->suite_sha256, w.facility->sha256);
    CHECK_STR(back->date, "2026-11-25");
    CHECK_STR(back->entries[1].remark, "gauge \"M-2\", swings");
    for (int i = 0; i < w.plan->reading_count; i++)
      same_reading(&w.plan->readings[i], &back->entries[i], &filled->entries[i], systems[k]);
    buf_release(&csv);
    walked_close(&w);
  }
}

/* One form with a few lines typed by people. */
static struct walk_readings *typed(struct walked *w, const char *mark, const char *rows,
                                   struct complaints *complaints)
{
  struct buf csv;
  struct walk_readings *out;

  buf_init(&csv, 1 << 20);
  buf_printf(&csv, "suite;%s\ndecimal mark;%s\n\nreading;unit;measured;remark\n%s",
             w->facility->sha256, mark, rows);
  out = walk_read(w->plan, book_of(w, csv.text, complaints), &w->arena, complaints);
  buf_release(&csv);
  return out;
}

static void units_and_decimal_commas_are_taken_as_declared(void)
{
  static const struct {
    const char *mark, *row;
    bool read;
    double value_Pa;
  } rows[] = {{"comma", "1a;Pa;12,5;\n", true, 12.5},
              {"comma", "1a;Pa;12.5;\n", true, 12.5},
              {"point", "1a;Pa;12.5 Pa;\n", true, 12.5},
              {"point", "1a;Pa;0.05 inH2O;\n", true, 12.45445},
              {"point", "1a;inWC;0.05;\n", true, 12.45445},
              {"point", "1A;Pa;-3;\n", true, -3.0},
              {"point", "1a;Pa;skip;\n", false, 0},
              {"point", "1a;Pa; - ;\n", false, 0},
              {"point", "1a;Pa;;door jammed\n", false, 0}};
  struct walked w;

  if (walked_open(&w, quillmere, shown, NULL, false))
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
      struct complaints complaints;
      struct walk_readings *r = typed(&w, rows[i].mark, rows[i].row, &complaints);

      CHECK_CASE("%s %s", rows[i].mark, rows[i].row);
      REQUIRE(CHECK(r != NULL));
      CHECK_INT(r->entries[0].read, rows[i].read);
      if (rows[i].read)
        CHECK_NEAR(r->entries[0].value_si, rows[i].value_Pa, 1e-6, 0);
    }
  walked_close(&w);
}

static void each_fault_of_a_filled_form_names_its_cell(void)
{
  static const struct {
    const char *mark, *row, *says;
    int line, column;
  } rows[] = {{"point", "1a;Pa;12,5;\n", "decimal", 5, 7},
              {"comma", "1a;Pa;1.012,5;\n", "more than one mark", 5, 7},
              {"point", "1a;Pa;twelve;\n", "1a", 5, 7},
              {"point", "1a;Pa;12 m/s;\n", "1a", 5, 7},
              {"point", "9z;Pa;12;\n", "9z", 5, 1},
              {"point", "1a;Pa;12;\n1a;Pa;13;\n", "second time", 6, 1},
              {"point", ";Pa;12;\n", "no reading's number", 5, 1},
              {"star", "1a;Pa;12;\n", "point", 2, 14}};
  struct walked w;

  if (walked_open(&w, quillmere, shown, NULL, false))
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
      struct complaints complaints;

      CHECK_CASE("%s", rows[i].row);
      CHECK(typed(&w, rows[i].mark, rows[i].row, &complaints) == NULL);
      REQUIRE(CHECK_INT(complaints.count, 1));
      CHECK(strstr(complaints.list[0].text, rows[i].says) != NULL);
      CHECK_INT(complaints.list[0].place.line, rows[i].line);
      CHECK_INT(complaints.list[0].place.column, rows[i].column);
    }
  walked_close(&w);
}

/* ---- results ---- */

static struct walk_readings *all_as_predicted(struct walked *w)
{
  struct walk_readings *r = walk_blank(w->plan, &w->arena);

  for (int i = 0; i < w->plan->reading_count; i++) {
    r->entries[i].read = true;
    r->entries[i].value_si = w->plan->readings[i].predicted_si;
  }
  return r;
}

static void what_was_not_read_is_no_pass(void)
{
  struct walked w;
  struct err err = {0};

  if (walked_open(&w, quillmere, shown, NULL, false)) {
    struct walk_readings *r = all_as_predicted(&w);
    struct walk_result *all = walk_compare(w.plan, r, &w.arena, &err), *some;

    CHECK_INT(all->inside, w.plan->reading_count);
    CHECK(strstr(all->sentence, "All ") == all->sentence);
    r->entries[2].read = false;
    some = walk_compare(w.plan, r, &w.arena, &err);
    CHECK_INT(some->unread, 1);
    CHECK_INT(some->inside, w.plan->reading_count - 1);
    CHECK_INT(some->rows[2].verdict, WALK_NOT_READ);
    CHECK(strstr(some->sentence, "not read") != NULL);
    CHECK(strstr(some->next, w.plan->readings[2].id) != NULL);
  }
  walked_close(&w);
}

static void a_reading_outside_its_band_is_said_by_how_much(void)
{
  struct walked w;
  struct err err = {0};

  if (walked_open(&w, quillmere, shown, NULL, false)) {
    struct walk_readings *r = all_as_predicted(&w);
    int at = reading_of(w.plan, FACILITY_GAUGE_ROOM);
    const struct walk_reading *reading = &w.plan->readings[at];
    struct walk_result *result;

    r->entries[at].value_si = reading->predicted_si - reading->band.half_si - 3.1;
    result = walk_compare(w.plan, r, &w.arena, &err);
    CHECK_INT(result->outside, 1);
    CHECK_INT(result->rows[at].verdict, WALK_OUTSIDE);
    CHECK(strstr(result->sentence, "3.1 Pa, less than its band allows") != NULL);
    r->entries[at].value_si = reading->predicted_si - reading->band.half_si;
    result = walk_compare(w.plan, r, &w.arena, &err);
    CHECK_INT(result->outside, 0);
  }
  walked_close(&w);
}

static void readings_of_another_revision_are_said_to_be(void)
{
  struct walked w;
  struct err err = {0};

  if (walked_open(&w, quillmere, shown, NULL, false)) {
    struct walk_readings *r = all_as_predicted(&w);
    struct walk_result *result;
    struct buf text;

    r->suite_sha256[0] = r->suite_sha256[0] == '0' ? '1' : '0';
    r->entries[0].printed = true; /* the form of that day said something else */
    r->entries[0].printed_si = r->entries[0].value_si + 50;
    r->entries[0].printed_half_si = 2;
    result = walk_compare(w.plan, r, &w.arena, &err);
    CHECK(result->other_suite);
    CHECK_INT(result->rows[0].verdict, WALK_INSIDE);
    CHECK_INT(result->rows[0].printed_verdict, WALK_OUTSIDE);
    buf_init(&text, 1 << 20);
    walk_result_text(result, UNITS_SYSTEM_SI, &text);
    CHECK(strstr(text.text, "ANOTHER REVISION") != NULL);
    CHECK(strstr(text.text, "as printed: OUTSIDE") != NULL);
    buf_release(&text);
  }
  walked_close(&w);
}

static void a_sheet_without_a_form_is_refused_in_words(void)
{
  struct walked w;

  if (walked_open(&w, aldermoss, NULL, NULL, false)) {
    struct complaints complaints;
    struct sheet_book *book = book_of(&w, "a,b\n1,2\n", &complaints);

    REQUIRE(book != NULL);
    CHECK(walk_read(w.plan, book, &w.arena, &complaints) == NULL);
    CHECK(complaints.count == 1 && strstr(complaints.list[0].text, "--form") != NULL);
  }
  walked_close(&w);
}

/* ---- the suite file's own word on it ---- */

static void what_the_file_says_of_instruments_arrives_in_si(void)
{
  static const char suite[] =
      "inward: 1 suite\nrooms: {R: {}}\njunctions: {J: {}}\nleaks: {L: {from: R, to: J, area: 1 cm2}}\n"
      "walk:\n"
      "  face velocity: {reading: 4 %, least: 6 fpm, source: sheet}\n"
      "  opening: 5 mm\n  covers: 90 %\n  at most: 40 min\n  taps: [J]\n";
  struct facility_text text = {"w.yaml", suite, sizeof suite - 1};
  struct walked w;

  if (walked_texts(&w, &text, 0)) {
    const struct facility_walk *walk = &w.facility->walk;

    CHECK_NEAR(walk->gauges[FACILITY_GAUGE_FACE].reading_ratio, 0.04, 1e-12, 0);
    CHECK_NEAR(walk->gauges[FACILITY_GAUGE_FACE].least_si, 0.03048, 1e-12, 0);
    CHECK_STR(walk->gauges[FACILITY_GAUGE_FACE].source, "sheet");
    CHECK_STR(walk->gauges[FACILITY_GAUGE_ROOM].source, "common practice, no source");
    CHECK_NEAR(walk->gauges[FACILITY_GAUGE_ROOM].least_si, 0.5, 1e-12, 0);
    CHECK_NEAR(walk->opening_m, 0.005, 1e-12, 0);
    CHECK_NEAR(walk->covers_ratio, 0.9, 1e-12, 0);
    CHECK_NEAR(walk->at_most_s, 2400, 1e-12, 0);
    CHECK_NEAR(walk->per_step_s, 120, 1e-12, 0);
    CHECK(walk->tap_count == 1 && walk->taps[0] == 1);
    CHECK_INT(walk->display_count, 0);
  }
  walked_close(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_prediction_is_what_air_answers_for_the_same_scene);
  RUN(stations_that_run_are_blocked_or_withdrawn_are_never_moved);
  RUN(no_step_asks_for_a_state_that_misses_a_keep);
  RUN(a_walk_ends_as_it_began_with_everything_parked);
  RUN(a_fan_is_stopped_only_when_the_technician_is_asked_for);
  RUN(a_suite_of_flows_only_is_asked_no_pressure);
  RUN(uncertainties_add_as_in_the_end_gauge_of_the_gum);
  RUN(coverage_factors_are_those_of_the_normal_distribution);
  RUN(what_a_form_holds_comes_back);
  RUN(units_and_decimal_commas_are_taken_as_declared);
  RUN(each_fault_of_a_filled_form_names_its_cell);
  RUN(what_was_not_read_is_no_pass);
  RUN(a_reading_outside_its_band_is_said_by_how_much);
  RUN(readings_of_another_revision_are_said_to_be);
  RUN(a_sheet_without_a_form_is_refused_in_words);
  RUN(what_the_file_says_of_instruments_arrives_in_si);
  return check_end();
}
