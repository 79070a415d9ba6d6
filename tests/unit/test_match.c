/* Does the model match: least squares against published cases, the fit of a suite, its words. */
#include "matched.h"

#include <math.h>

static const char quillmere[] = "examples/quillmere/suite.yaml";
static const char balanced[] = "examples/quillmere/tiers/balanced.yaml";

/* ---- the linear core, against what others certified ---- */

/* NIST Statistical Reference Datasets, linear regression: Norris (lower level of difficulty). */
static const double norris[36][2] = {
    {0.1, 0.2},     {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1},    {228.1, 226.5},
    {668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
    {0.1, 0.6},     {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
    {557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
    {0.6, 0.3},     {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0},
    {10.2, 11.1},   {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5}};

/* The same: Longley (higher level of difficulty); y, then x1 to x6. */
static const double longley[16][7] = {{60323, 83.0, 234289, 2356, 1590, 107608, 1947},
                                      {61122, 88.5, 259426, 2325, 1456, 108632, 1948},
                                      {60171, 88.2, 258054, 3682, 1616, 109773, 1949},
                                      {61187, 89.5, 284599, 3351, 1650, 110929, 1950},
                                      {63221, 96.2, 328975, 2099, 3099, 112075, 1951},
                                      {63639, 98.1, 346999, 1932, 3594, 113270, 1952},
                                      {64989, 99.0, 365385, 1870, 3547, 115094, 1953},
                                      {63761, 100.0, 363112, 3578, 3350, 116219, 1954},
                                      {66019, 101.2, 397469, 2904, 3048, 117388, 1955},
                                      {67857, 104.6, 419180, 2822, 2857, 118734, 1956},
                                      {68169, 108.4, 442769, 2936, 2798, 120445, 1957},
                                      {66513, 110.8, 444546, 4681, 2637, 121950, 1958},
                                      {68655, 112.6, 482704, 3813, 2552, 123366, 1959},
                                      {69564, 114.2, 502601, 3931, 2514, 125368, 1960},
                                      {69331, 115.7, 518173, 4806, 2572, 127852, 1961},
                                      {70551, 116.9, 554894, 4007, 2827, 130081, 1962}};

static void a_straight_line_is_what_nist_certifies_for_norris(void)
{
  double a[36 * 2], b[36], x[2], covariance[4], left = 0.0;

  for (int i = 0; i < 36; i++) {
    b[i] = norris[i][0];
    a[2 * i] = 1.0;
    a[2 * i + 1] = norris[i][1];
  }
  REQUIRE(numeric_least_squares(36, 2, a, b, x, covariance));
  CHECK_NEAR(x[0], -0.262323073774029, 1e-10, 0);
  CHECK_NEAR(x[1], 1.00211681802045, 1e-13, 0);
  for (int i = 0; i < 36; i++)
    left += pow(norris[i][0] - x[0] - x[1] * norris[i][1], 2);
  CHECK_NEAR(sqrt(left / 34), 0.884796396144373, 1e-12, 0);
  CHECK_NEAR(sqrt(covariance[0] * left / 34), 0.232818234301152, 1e-11, 0);
  CHECK_NEAR(sqrt(covariance[3] * left / 34), 0.429796848199937e-3, 1e-11, 0);
}

static void columns_that_nearly_hang_together_are_told_apart_as_nist_certifies_for_longley(void)
{
  static const double certified[7] = {-3482258.63459582, 15.0618722713733,  -0.0358191792925910,
                                      -2.02022980381683, -1.03322686717359, -0.0511041056535807,
                                      1829.15146461355};
  double a[16 * 7], b[16], x[7];

  for (int i = 0; i < 16; i++) {
    b[i] = longley[i][0];
    a[7 * i] = 1.0;
    for (int k = 1; k < 7; k++)
      a[7 * i + k] = longley[i][k];
  }
  REQUIRE(numeric_least_squares(16, 7, a, b, x, NULL));
  for (int k = 0; k < 7; k++) {
    CHECK_CASE("B%d", k);
    CHECK_NEAR(x[k], certified[k], 1e-7, 0);
  }
}

static void a_column_twice_is_refused(void)
{
  double a[6] = {1, 1, 2, 2, 3, 3}, b[3] = {1, 2, 3}, x[2];

  CHECK(!numeric_least_squares(3, 2, a, b, x, NULL));
}

/* JCGM 100:2008, H.3: corrections of a thermometer against its reading, a line about 20 degrees. */
static const double thermometer[11][2] = {{21.521, -0.171}, {22.012, -0.169}, {22.512, -0.166},
                                          {23.003, -0.159}, {23.507, -0.164}, {23.999, -0.165},
                                          {24.513, -0.156}, {25.002, -0.157}, {25.503, -0.159},
                                          {26.010, -0.161}, {26.511, -0.160}};

struct line {
  int count;
  const double (*points)[2];
  double from, slip; /* slip: added to the last */
};

static bool line_slopes(void *of, const double *x, double *out, double *slope)
{
  const struct line *l = of;

  for (int i = 0; i < l->count; i++) {
    double at = l->points[i][0] - l->from;

    out[i] = x[0] + x[1] * at;
    slope[2 * i] = 1.0;
    slope[2 * i + 1] = at;
  }
  return true;
}

static bool line_predict(void *of, const double *x, double *out)
{
  double slope[2 * 40];

  return line_slopes(of, x, out, slope);
}

static const double nowhere[2] = {-(double)INFINITY, -(double)INFINITY};
static const double everywhere[2] = {(double)INFINITY, (double)INFINITY};

static struct match_solution *fit_line(struct line *line, const double *own, const double *prior,
                                       const double *low, double full, struct arena *arena)
{
  double measured[40];
  struct match_least least = {.readings = line->count,
                              .unknowns = 2,
                              .measured = measured,
                              .own = own,
                              .prior = prior,
                              .low = low,
                              .high = everywhere,
                              .full_ratio = full,
                              .iterations_most = 50,
                              .of = line,
                              .predict = line_predict,
                              .slopes = line_slopes};

  for (int i = 0; i < line->count; i++)
    measured[i] = line->points[i][1] + (i + 1 == line->count ? line->slip : 0);
  return match_least_solve(&least, arena);
}

static void a_calibration_line_is_that_of_the_gum(void)
{
  struct line line = {11, thermometer, 20.0, 0};
  double own[11], none[2] = {0, 0};
  struct arena arena;
  const struct match_solution *s;

  arena_init(&arena, 1 << 20);
  for (int i = 0; i < 11; i++)
    own[i] = 0.0035; /* its s, H.13f */
  s = fit_line(&line, own, none, nowhere, 1e9, &arena);
  REQUIRE(s && s->answered && s->converged);
  CHECK_NEAR(s->x[0], -0.1712, 0, 0.00005); /* H.15 */
  CHECK_NEAR(s->x[1], 0.00218, 0, 0.000005);
  CHECK_NEAR(sqrt(s->covariance[0]), 0.0029, 0, 0.00005);
  CHECK_NEAR(sqrt(s->covariance[3]), 0.00067, 0, 0.000005);
  CHECK_NEAR(s->covariance[1] / sqrt(s->covariance[0] * s->covariance[3]), -0.930, 0, 0.0005);
  arena_release(&arena);
}

/* Normal readings of a normal figure: precisions add (Gelman and others, Bayesian Data Analysis, 3rd ed.
 * 2013, eq. 2.11 and 2.12). */
static void what_was_known_and_what_is_read_add_up_by_their_precisions(void)
{
  static const double points[3][2] = {{0, 1.2}, {0, 0.8}, {0, 1.3}};
  struct line line = {3, points, 0.0, 0};
  double own[3] = {0.5, 0.4, 0.8}, prior[2] = {1, 1};
  double precision = 1 + 1 / 0.25 + 1 / 0.16 + 1 / 0.64;
  double mean = (1.2 / 0.25 + 0.8 / 0.16 + 1.3 / 0.64) / precision;
  struct arena arena;
  const struct match_solution *s;

  arena_init(&arena, 1 << 20);
  s = fit_line(&line, own, prior, nowhere, 1e9, &arena);
  REQUIRE(s && s->answered);
  CHECK_NEAR(s->x[0], mean, 1e-12, 0);
  CHECK_NEAR(s->covariance[0], 1 / precision, 1e-12, 0);
  CHECK_NEAR(s->x[1], 0, 0, 1e-12); /* no reading touches it */
  CHECK_NEAR(s->covariance[3], 1, 1e-12, 0);
  arena_release(&arena);
}

static void one_wild_reading_does_not_bend_the_others(void)
{
  struct line line = {11, thermometer, 20.0, -1.44}; /* a digit slipped */
  double own[11], none[2] = {0, 0};
  struct arena arena;
  const struct match_solution *plain, *robust;

  arena_init(&arena, 1 << 20);
  for (int i = 0; i < 11; i++)
    own[i] = 0.0035;
  plain = fit_line(&line, own, none, nowhere, 1e9, &arena);
  robust = fit_line(&line, own, none, nowhere, 2.0, &arena);
  REQUIRE(plain && robust && robust->converged);
  CHECK(fabs(plain->x[1] - 0.00218) > 0.1);
  CHECK(fabs(robust->x[1] - 0.00218) < 3 * 0.00067);
  CHECK(match_weight((-1.60 - robust->predicted[10]) / own[10], 2.0) < 0.01);
  arena_release(&arena);
}

static void a_fit_stops_at_its_bound(void)
{
  static const double points[2][2] = {{0, -3}, {0, -3}};
  struct line line = {2, points, 0.0, 0};
  double own[2] = {0.1, 0.1}, prior[2] = {1, 1}, low[2] = {-1, -1};
  struct arena arena;
  const struct match_solution *s;

  arena_init(&arena, 1 << 20);
  s = fit_line(&line, own, prior, low, 1e9, &arena);
  REQUIRE(s && s->answered);
  CHECK(s->at_bound[0] && !s->at_bound[1]);
  CHECK_NEAR(s->x[0], -1, 0, 0);
  arena_release(&arena);
}

/* ---- slopes of the suite ---- */

struct slopes {
  struct match_model model;
  struct match_readings *r;
  double *x, *at_si, *up_si, *down_si, *slope_si;
  int compared, differ;
};

static bool make_slopes(struct slopes *s, struct walked *w)
{
  struct err err = {0};
  size_t readings, unknowns;

  s->r = matched_walk(w);
  if (!s->r || !match_model_make(&s->model, w->facility, s->r, &w->arena, &err))
    return false;
  readings = (size_t)s->r->count;
  unknowns = (size_t)s->model.count;
  s->x = ARENA_ARRAY(&w->arena, double, unknowns);
  s->at_si = ARENA_ARRAY(&w->arena, double, readings);
  s->up_si = ARENA_ARRAY(&w->arena, double, readings);
  s->down_si = ARENA_ARRAY(&w->arena, double, readings);
  s->slope_si = ARENA_ARRAY(&w->arena, double, readings *unknowns);
  return s->x && s->at_si && s->up_si && s->down_si && s->slope_si;
}

static bool predict_cold(struct slopes *s, int unknown, double by, double *out_si)
{
  double was = s->x[unknown];
  bool answered;

  s->x[unknown] = was + by;
  air_moved_cold(s->model.moved);
  answered = match_model_predict(&s->model, s->x, out_si);
  s->x[unknown] = was;
  return answered;
}

/* Central differences of cold solves, a hundred times as wide. */
static bool compare_slope(struct slopes *s, int k)
{
  const double step = 0.1;

  if (!predict_cold(s, k, step, s->up_si) || !predict_cold(s, k, -step, s->down_si))
    return false;
  for (int i = 0; i < s->r->count; i++) {
    double wanted = (s->up_si[i] - s->down_si[i]) / (2 * step);
    double off = fabs(s->slope_si[i * s->model.count + k] - wanted);

    s->compared += fabs(wanted) > 0;
    s->differ += off > 0.02 * fabs(wanted) + 1e-3 * s->r->list[i].own_si;
  }
  return true;
}

static void slopes_are_those_of_finite_differences(void)
{
  struct walked w;
  struct slopes s = {.compared = 0};

  if (walked_open(&w, balanced, NULL, NULL, true) && CHECK(make_slopes(&s, &w))) {
    for (int k = 0; k < s.model.count; k++)
      s.x[k] = 0.1 * (k % 3 - 1);
    CHECK(match_model_slopes(&s.model, s.x, s.at_si, s.slope_si));
    for (int k = 0; k < s.model.count; k++)
      CHECK(compare_slope(&s, k));
    CHECK(s.compared > 20);
    CHECK_INT(s.differ, 0);
  }
  match_model_release(&s.model);
  walked_close(&w);
}

/* ---- a suite ---- */

static const struct match_options options = {.no_next = true};

static const struct match_figure *find(const struct match_result *r, const char *name)
{
  for (int k = 0; k < r->figure_count; k++)
    if (strcmp(r->figures[k].name, name) == 0)
      return &r->figures[k];
  return NULL;
}

static void readings_as_predicted_match_and_move_nothing(void)
{
  struct walked w;
  struct err err = {0};

  if (walked_open(&w, quillmere, "examples/quillmere/walk.yaml", NULL, false)) {
    struct match_readings *r = matched_walk(&w);
    const struct match_result *result =
        r ? match_fit(w.facility, r, &options, &w.arena, &err) : NULL;

    REQUIRE(result != NULL);
    CHECK_INT(result->verdict, MATCH_MATCHES);
    CHECK_INT(result->outside, 0);
    for (int k = 0; k < result->figure_count; k++)
      CHECK_NEAR(result->figures[k].shift_ratio, 0, 0, 1e-6);
  }
  walked_close(&w);
}

static const char head[] = "scene,of,what,over,value,unit,±\n";

static const struct match_result *asked(struct walked *w, const char *rows,
                                        struct complaints *complaints)
{
  struct err err = {0};
  const char *text = arena_printf(&w->arena, "%s%s", head, rows);
  struct match_readings *r = matched_table(w, "t.csv", text, strlen(text), complaints);

  return r ? match_fit(w->facility, r, &options, &w->arena, &err) : NULL;
}

static void a_leak_that_grew_is_found_by_the_flow_that_holds_its_room(void)
{
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    /* the gowning room's gaps let twice as much through as written, read three times */
    const struct match_result *r = asked(&w,
                                         "parked,MU/Gown,flow,,420 m3/h,,10\n"
                                         "parked,MU/Gown,flow,,425 m3/h,,10\n"
                                         "night,MU/Gown,flow,,430 m3/h,,10\n",
                                         &complaints);
    const struct match_figure *leak = r ? find(r, "leak L-gown, area") : NULL;

    REQUIRE(leak != NULL);
    CHECK_INT(r->verdict, MATCH_DIFFERS);
    CHECK(leak->beyond && leak->fitted_si > 1.3);
    CHECK_INT(leak->known, MATCH_TOGETHER);
    CHECK(leak->with_count > 0);
  }
  walked_close(&w);
}

static void two_readings_of_one_thing_that_exclude_each_other_are_named(void)
{
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const struct match_result *r =
        asked(&w, "parked,A2,flow,,1380 m3/h,,20\nparked,A2,flow,,1900 m3/h,,20\n", &complaints);

    REQUIRE(r != NULL);
    CHECK_INT(r->verdict, MATCH_CONTRADICTS);
    CHECK_INT(r->rows[0].against, 1);
    CHECK_INT(r->rows[1].against, 0);
    CHECK_INT(r->readings->list[1].place.line, 3);
  }
  walked_close(&w);
}

static void a_reading_too_rough_to_tell_anything_is_too_few_data(void)
{
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const struct match_result *r = asked(&w,
                                         "parked,A2,flow,,1400 m3/h,,900\n"
                                         "parked,A2,flow,,1390 m3/h,,900\n"
                                         "parked,A2,flow,,1410 m3/h,,900\n"
                                         "parked,A2,flow,,1380 m3/h,,900\n"
                                         "parked,A2,flow,,1370 m3/h,,900\n",
                                         &complaints);

    REQUIRE(r != NULL);
    CHECK(r->readings->count >= w.facility->match.least_count);
    CHECK_INT(r->verdict, MATCH_TOO_FEW);
    CHECK_INT(find(r, "station A2, flow, constant")->known, MATCH_NOT);
    CHECK_INT(find(r, "leak L-wet, area")->known, MATCH_NOT);
  }
  walked_close(&w);
}

static void fewer_readings_than_the_suite_asks_for_are_no_match(void)
{
  static const char flows[] = "parked,A2,flow,,1400 m3/h,,20\nparked,A4,flow,,540 m3/h,,20\n";
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const struct match_result *r = asked(&w, flows, &complaints);

    REQUIRE(r != NULL);
    CHECK_INT(r->verdict, MATCH_TOO_FEW);
    CHECK(r->known_count > 0);
    CHECK(strstr(r->next_action, "at least 3 more readings") != NULL);
    w.facility->match.least_count = 2;
    r = asked(&w, flows, &complaints);
    REQUIRE(r != NULL);
    CHECK_INT(r->verdict, MATCH_MATCHES);
  }
  walked_close(&w);
}

static void a_single_reading_far_outside_is_no_question_of_too_few(void)
{
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const struct match_result *r = asked(&w, "parked,A2,flow,,900 m3/h,,20\n", &complaints);

    REQUIRE(r != NULL);
    CHECK_INT(r->outside, 1);
    CHECK(r->verdict == MATCH_DIFFERS || r->verdict == MATCH_UNEXPLAINED);
    CHECK(strstr(r->next_action, "A2") != NULL);
  }
  walked_close(&w);
}

static void a_table_that_cannot_be_read_says_where_and_what_would_help(void)
{
  static const struct {
    const char *row, *says;
    int column;
  } faults[] = {
      {"parked,A99,flow,,1400,m3/h,\n", "has no flow in this suite", 8},
      {"parked,A2,flow,,1400,,\n", "has no unit", 17},
      {"parked,A2,colour,,1400,m3/h,\n", "cannot be read: pressure", 11},
      {"parked,Wet,pressure,,10,Pa,\n", "a room's pressure is read over something", 12},
      {"parked,Wet,pressure,Moon,10,Pa,\n", "is no room or junction", 21},
      {"nowhere,A2,flow,,1400,m3/h,\n", "", 1},
      {"parked,A2,flow,,fast,m3/h,\n", "", 17},
      {"parked,A2,flow,,\"1,400\",m3/h,\n", "may be two numbers", 17},
      {"parked,A2,flow,,10,Pa,\n", "", 17},
  };
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false))
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
      CHECK_CASE("%s", faults[i].row);
      CHECK(asked(&w, faults[i].row, &complaints) == NULL);
      REQUIRE(complaints.count > 0);
      CHECK(strstr(complaints.list[0].text, faults[i].says) != NULL);
      CHECK_INT(complaints.list[0].place.line, 2);
      CHECK_INT(complaints.list[0].place.column, faults[i].column);
    }
  walked_close(&w);
}

static void a_table_with_a_title_twice_is_not_read(void)
{
  static const char text[] = "of,what,value,value\nA2,flow,1400 m3/h,900 m3/h\n";
  struct walked w;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    struct complaints complaints;

    CHECK(matched_table(&w, "t.csv", text, strlen(text), &complaints) == NULL);
    REQUIRE(complaints.count == 1);
    CHECK(strstr(complaints.list[0].text, "a second column 'value'") != NULL);
    CHECK_INT(complaints.list[0].place.column, 15);
  }
  walked_close(&w);
}

/* ---- a sheet of predictions ---- */

/* Prints a sheet for the rows, NULL: for all that can be read; its bytes, or NULL. */
static const char *sheet_of(struct walked *w, const char *rows, struct buf *out)
{
  struct complaints complaints;
  struct match_form_job job = {.facility = w->facility, .printed_on = "2026-11-30"};
  struct sheet_book *book;
  struct err err = {0};

  complaints_init(&complaints, &w->arena);
  if (rows) {
    const char *text = arena_printf(&w->arena, "%s%s", head, rows);

    book = sheet_read("t.csv", text, strlen(text), &w->arena, &complaints);
    job.blanks = book ? match_blanks(w->facility, book, &w->arena, &complaints) : NULL;
  }
  if (rows && !CHECK(job.blanks != NULL))
    return NULL;
  return CHECK_INT(match_form(&job, &w->arena, out, &err), ERR_OK) ? out->text : NULL;
}

static struct match_readings *read_back(struct walked *w, const char *text, bool blanks)
{
  struct complaints complaints;
  struct sheet_book *book;

  complaints_init(&complaints, &w->arena);
  book = sheet_read("f.csv", text, strlen(text), &w->arena, &complaints);
  if (!CHECK(book != NULL))
    return NULL;
  return (blanks ? match_blanks : match_table)(w->facility, book, &w->arena, &complaints);
}

static void a_sheet_that_comes_back_knows_what_was_predicted(void)
{
  struct walked w;
  struct buf out;

  buf_init(&out, 1 << 20);
  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const char *sheet = sheet_of(&w, "parked,A2,flow,,,m3/h,\n", &out);
    const char *at = sheet ? strstr(sheet, "m3/h,1380,") : NULL;
    struct match_readings *r;

    REQUIRE(at != NULL);
    r = read_back(&w, sheet, false);
    REQUIRE(r != NULL);
    CHECK_INT(r->count, 0);
    at = strstr(at, ",,"); /* behind `to` */
    REQUIRE(at != NULL);
    r = read_back(&w, arena_printf(&w.arena, "%.*s,1500%s", (int)(at - sheet), sheet, at + 1),
                  false);
    REQUIRE(r != NULL && r->count == 1);
    CHECK_STR(r->suite_sha256, w.facility->sha256);
    CHECK_STR(r->printed_on, "2026-11-30");
    CHECK(r->signed_by == NULL);
    CHECK(r->list[0].printed);
    CHECK_NEAR(r->list[0].printed_si, 1380.0 / 3600.0, 0, 1e-9);
    CHECK_NEAR(r->list[0].measured_si, 1500.0 / 3600.0, 0, 1e-9);
  }
  buf_release(&out);
  walked_close(&w);
}

/* The band of a sheet and what is called outside afterwards are one and the same. */
static void a_band_is_where_a_reading_turns_outside(void)
{
  struct walked w;
  struct complaints complaints;
  struct buf out;

  buf_init(&out, 1 << 20);
  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const char *sheet = sheet_of(&w, "parked,MU/Gown,flow,,,m3/h,10\n", &out);
    const char *at = sheet ? strstr(sheet, "MU/Gown,flow,,m3/h,") : NULL;
    double predicted, from, to, half_m3_h;
    char *end;

    REQUIRE(at != NULL);
    predicted = strtod(at + strlen("MU/Gown,flow,,m3/h,"), &end);
    from = strtod(end + 1, &end);
    to = strtod(end + 1, &end);
    half_m3_h = (to - from) / 2.0;
    CHECK(half_m3_h > 10.0);
    for (int beyond = 0; beyond < 2; beyond++) {
      const struct match_result *r =
          asked(&w,
                arena_printf(&w.arena, "parked,MU/Gown,flow,,%.1f m3/h,,10\n",
                             predicted + half_m3_h + (beyond ? 3.0 : -3.0)),
                &complaints);

      REQUIRE(r != NULL);
      CHECK_INT(r->outside, beyond);
    }
  }
  buf_release(&out);
  walked_close(&w);
}

static void a_sheet_of_all_that_can_be_read_reads_back_row_for_row(void)
{
  struct walked w;
  struct buf out, again;

  buf_init(&out, 1 << 20);
  buf_init(&again, 1 << 20);
  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const char *sheet = sheet_of(&w, NULL, &out);
    struct match_readings *r = sheet ? read_back(&w, sheet, true) : NULL;
    struct match_form_job job = {.facility = w.facility, .blanks = r, .printed_on = "2026-11-30"};
    struct err err = {0};

    REQUIRE(r != NULL);
    CHECK(r->count > 25);
    CHECK_INT(match_form(&job, &w.arena, &again, &err), ERR_OK);
    CHECK_STR(again.text, sheet);
  }
  buf_release(&out);
  buf_release(&again);
  walked_close(&w);
}

static void a_share_of_what_will_be_read_stays_one_on_the_sheet(void)
{
  struct walked w;
  struct buf out;

  buf_init(&out, 1 << 20);
  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const char *sheet = sheet_of(&w, "parked,A2,flow,,,m3/h,3 %\nparked,AF,speed,,,%,2\n", &out);

    REQUIRE(sheet != NULL);
    CHECK(strstr(sheet, ",3 %,") != NULL);
    CHECK(strstr(sheet, ",2 %,") != NULL);
  }
  buf_release(&out);
  walked_close(&w);
}

struct patience {
  int asked, most; /* most: -1 for ever */
};

static bool patient(void *arg)
{
  struct patience *p = arg;

  return ++p->asked <= p->most || p->most < 0;
}

/* Wherever it is cut, in the fit or while the next reading is looked for: nothing half done comes out of it. */
static void a_match_that_may_not_go_on_ends_and_says_so(void)
{
  struct walked w;
  struct patience patience = {0, -1};
  struct match_options some = {.goes_on = patient, .arg = &patience};

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    struct match_readings *r = matched_file(&w, "examples/quillmere/balancing.csv");
    struct err err = {0};
    int all;

    REQUIRE(r != NULL);
    REQUIRE(match_fit(w.facility, r, &some, &w.arena, &err) != NULL);
    all = patience.asked;
    CHECK(all > 1000);
    for (int most = 0; most < all; most += most == 0 ? all / 2 : all / 2 - 1) {
      CHECK_CASE("%d of %d", most, all);
      err = (struct err){0};
      patience = (struct patience){0, most};
      CHECK(match_fit(w.facility, r, &some, &w.arena, &err) == NULL);
      CHECK_INT(patience.asked, most + 1);
      CHECK_INT(err.code, ERR_LIMIT);
    }
  }
  walked_close(&w);
}

/* ---- what is called known holds: a few; the thousand are in make bench ---- */

static void the_truth_lies_inside_its_interval_about_nineteen_times_in_twenty(void)
{
  struct walked w;
  struct numeric_random random;
  struct matched_count count = {0};

  numeric_random_seed(&random, 7);
  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    struct match_readings *r = matched_file(&w, "examples/quillmere/balancing.csv");

    REQUIRE(r != NULL);
    for (int i = 0; i < 40; i++)
      matched_trial(w.facility, r, &random, &count);
    CHECK_INT(count.failed, 0);
    CHECK_INT(count.unsettled, 0);
    CHECK(count.intervals > 800);
    CHECK(count.inside > 0.92 * count.intervals && count.inside < 0.98 * count.intervals);
    CHECK(count.false_alarms <= 6);
  }
  walked_close(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_straight_line_is_what_nist_certifies_for_norris);
  RUN(columns_that_nearly_hang_together_are_told_apart_as_nist_certifies_for_longley);
  RUN(a_column_twice_is_refused);
  RUN(a_calibration_line_is_that_of_the_gum);
  RUN(what_was_known_and_what_is_read_add_up_by_their_precisions);
  RUN(one_wild_reading_does_not_bend_the_others);
  RUN(a_fit_stops_at_its_bound);
  RUN(slopes_are_those_of_finite_differences);
  RUN(readings_as_predicted_match_and_move_nothing);
  RUN(a_leak_that_grew_is_found_by_the_flow_that_holds_its_room);
  RUN(two_readings_of_one_thing_that_exclude_each_other_are_named);
  RUN(a_reading_too_rough_to_tell_anything_is_too_few_data);
  RUN(fewer_readings_than_the_suite_asks_for_are_no_match);
  RUN(a_single_reading_far_outside_is_no_question_of_too_few);
  RUN(a_sheet_that_comes_back_knows_what_was_predicted);
  RUN(a_band_is_where_a_reading_turns_outside);
  RUN(a_sheet_of_all_that_can_be_read_reads_back_row_for_row);
  RUN(a_share_of_what_will_be_read_stays_one_on_the_sheet);
  RUN(a_match_that_may_not_go_on_ends_and_says_so);
  RUN(a_table_with_a_title_twice_is_not_read);
  RUN(a_table_that_cannot_be_read_says_where_and_what_would_help);
  RUN(the_truth_lies_inside_its_interval_about_nineteen_times_in_twenty);
  return check_end();
}
