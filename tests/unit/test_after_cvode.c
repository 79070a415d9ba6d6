/*
 * A second opinion from SUNDIALS CVODE (Hindmarsh et al., ACM TOMS 31 (2005)): one room whose supply
 * holds its pressure through a lagged sensor, written down here once more by hand.
 */
#include "after_ask.h"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <math.h>

static const char suite[] =
    "inward: 1 suite\n"
    "air: {density: 1.2 kg/m3}\n"
    "after: {pressure control: 6 s, pressure sensor: 2 s, terminal stroke: 30 s, valve time: 1 s}\n"
    "rooms: {Wet: {volume: 150 m3, keeps: [{over: outdoors, at least: 10 Pa}]}}\n"
    "leaks: {L: {from: Wet, to: outdoors, area: 0.05 m2, coefficient: 0.65}}\n"
    "mains: {House: {}}\n"
    "supplies: {MU: {feeds: {Wet: {holds: {pressure: 15 Pa, over: outdoors}, most: 3600 m3/h}}}}\n"
    "stations: {S1: {kind: fume hood, room: Wet, main: House, flow: {two-state: {parked: 360 m3/h, "
    "work: 1080 m3/h}}}}\n";

struct room {
  double leak, gain, ask; /* m3/(s Pa^0.5), m3/(s Pa), m3/s */
};

static double pressure_Pa(const struct room *r, double supply, double exhaust)
{
  double q = (supply - exhaust) / r->leak;

  return q * fabs(q);
}

/* States: exhaust, supply, what the sensor shows. */
static int slope(realtype t, N_Vector y, N_Vector out, void *of)
{
  const struct room *r = of;
  const double *v = NV_DATA_S(y);
  double *d = NV_DATA_S(out), fastest = 1.0 / 30.0;

  (void)t;
  d[0] = (r->ask - v[0]) / 1.0;
  d[1] = fmin(fastest, fmax(-fastest, r->gain * (15.0 - v[2]) / 6.0));
  d[2] = (pressure_Pa(r, v[1], v[0]) - v[2]) / 2.0;
  return 0;
}

/* At 90 s the second event is a jump. */
static void start_anew(void *cvode, N_Vector y, struct room *r, double *now)
{
  if (*now < 90.0)
    CHECK(CVode(cvode, 90.0, y, now, CV_NORMAL) >= 0);
  r->ask = 0.1;
  CHECK(CVodeReInit(cvode, 90.0, y) == 0);
  CVodeSetStopTime(cvode, 1000.0);
  *now = 90.0;
}

static void a_room_under_control_goes_as_cvode_says(void)
{
  const char *events[] = {"10s sash S1 work", "90s sash S1 parked"};
  struct room r = {.leak = 0.65 * 0.05 * sqrt(2.0 / 1.2), .ask = 0.1};
  double q0 = 0.1 + r.leak * sqrt(15.0), by = fmax(0.01, 0.02 * q0), worst = 0.0, least = 15.0;
  struct asked a;
  SUNContext context;

  r.gain = by / (15.0 - pressure_Pa(&r, q0 - by, 0.1)); /* tuned by a step down of 2 % */
  REQUIRE(open_text(&a, suite, sizeof suite - 1) && ask(&a, 2, events, 180));
  REQUIRE(SUNContext_Create(NULL, &context) == 0);
  N_Vector y = N_VNew_Serial(3, context);
  SUNMatrix matrix = SUNDenseMatrix(3, 3, context);
  SUNLinearSolver solver = SUNLinSol_Dense(y, matrix, context);
  void *cvode = CVodeCreate(CV_BDF, context);
  const struct after_trace *t = &a.answer->trace;
  double now = 10.0;

  NV_Ith_S(y, 0) = 0.1;
  NV_Ith_S(y, 1) = q0;
  NV_Ith_S(y, 2) = 15.0;
  r.ask = 0.3;
  REQUIRE(CVodeInit(cvode, slope, now, y) == 0 && CVodeSStolerances(cvode, 1e-10, 1e-12) == 0);
  REQUIRE(CVodeSetUserData(cvode, &r) == 0 && CVodeSetLinearSolver(cvode, solver, matrix) == 0);
  CVodeSetMaxNumSteps(cvode, 100000);
  CVodeSetStopTime(cvode, 90.0);
  for (int row = 0; row < t->count; row++) {
    double at = t->rows[row][0];

    if (at <= 10.0)
      continue;
    if (at > 90.0 && r.ask > 0.2)
      start_anew(cvode, y, &r, &now);
    if (at > now)
      CHECK(CVode(cvode, at, y, &now, CV_NORMAL) >= 0);
    double p = pressure_Pa(&r, NV_Ith_S(y, 1), NV_Ith_S(y, 0));

    least = fmin(least, p);
    worst = fmax(worst, fabs(p - t->rows[row][t->keeps]));
  }
  CHECK_CASE("largest difference %.4f Pa, lowest %.2f Pa, %d rows", worst, least, t->count);
  CHECK_NEAR(worst, 0.0, 0, 0.02);
  CHECK(least < 0.0); /* the room did turn round, so the comparison is of something */
  CHECK_NEAR(a.answer->turns[0].keeps[0].lowest_Pa, least, 0, 0.02);
  CVodeFree(&cvode);
  SUNLinSolFree(solver);
  SUNMatDestroy(matrix);
  N_VDestroy(y);
  SUNContext_Free(&context);
  drop(&a);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_room_under_control_goes_as_cvode_says);
  return check_end();
}
