#include "net/net.h"

#include "check.h"
#include "random_net.h"

#include <kinsol/kinsol.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/*
 * A second opinion from SUNDIALS KINSOL (Hindmarsh et al., ACM TOMS 31 (2005)): node pressures by
 * its Newton with line search and its own difference Jacobian, the laws inverted by bisection here.
 * Only networks of power laws, set flows and a - b q^2 fans are asked.
 */
static struct random_net sample;

struct asked {
  const struct net_problem *problem;
  int unknowns;
  int number[RANDOM_NET_NODES]; /* -1: given */
};

static double drop_at(const struct net_link *link, double g)
{
  double drop = 0;
  for (int i = 0; i < link->member_count; i++) {
    const struct net_member *m = &link->members[i];
    double k = m->k[g < 0], size = fabs(g), one = k * pow(size, m->m);
    if (one < 0.01) {
      double x = size / pow(0.01 / k, 1 / m->m);
      one = 0.01 * ((3 - m->m) / 2 * x + (m->m - 1) / 2 * x * x * x);
    }
    drop += g < 0 ? -one : one;
  }
  if (link->law == NET_FAN) {
    const struct net_fan *fan = link->fan;
    double q = g / (1.2 * fan->running), s = fan->speed_ratio;
    double top = fan->a_Pa, end = sqrt(top / fan->b_Pa_s2_m6);
    drop -= q < 0 ? s * s * top - 20 * top / end * s * q : s * s * top - fan->b_Pa_s2_m6 * q * q;
  }
  return drop;
}

static double flow_at(const struct net_link *link, double drop)
{
  double low = -1e3, high = 1e3;
  if (link->law == NET_SET_FLOW && link->member_count == 0)
    return link->set_kg_s;
  for (int i = 0; i < 200 && high - low > 1e-16 * fabs(low + high); i++) {
    double middle = (low + high) / 2;
    if (drop_at(link, middle) < drop)
      low = middle;
    else
      high = middle;
  }
  double g = (low + high) / 2;
  return link->law == NET_SET_FLOW ? fmin(fmax(g, 0), link->set_kg_s) : g;
}

static int residual(N_Vector u, N_Vector f, void *data)
{
  const struct asked *asked = data;
  const double *x = N_VGetArrayPointer(u);
  double *out = N_VGetArrayPointer(f);
  N_VConst(0, f);
  for (int n = 0; n < asked->problem->node_count; n++)
    if (asked->number[n] >= 0)
      out[asked->number[n]] = asked->problem->nodes[n].inflow_kg_s;
  for (int l = 0; l < asked->problem->link_count; l++) {
    const struct net_link *link = &asked->problem->links[l];
    int a = asked->number[link->from], b = asked->number[link->to];
    double from = a < 0 ? asked->problem->nodes[link->from].pressure_Pa : x[a];
    double to = b < 0 ? asked->problem->nodes[link->to].pressure_Pa : x[b];
    double g = flow_at(link, from - to + link->lift_Pa);
    if (a >= 0)
      out[a] -= g;
    if (b >= 0)
      out[b] += g;
  }
  return 0;
}

static bool fit(const struct random_net *r)
{
  for (int m = 0; m < r->member_count; m++)
    if (r->members[m].kind != NET_POWER)
      return false;
  for (int f = 0; f < r->fan_count; f++)
    if (r->fans[f].kind != NET_CURVE_A_MINUS_B_Q2)
      return false;
  for (int l = 0; l < r->link_count; l++)
    if (r->links[l].law == NET_SET_FLOW && r->links[l].set_kg_s < 0)
      return false;
  return r->node_count < 90;
}

/* Starts beside our answer, 5 Pa off: the question is whether the answer is the same. */
static bool ask(const struct net *net, struct asked *asked, double *p)
{
  SUNContext context;
  SUNContext_Create(NULL, &context);
  N_Vector u = N_VNew_Serial(asked->unknowns, context), one = N_VClone(u);
  SUNMatrix matrix = SUNDenseMatrix(asked->unknowns, asked->unknowns, context);
  SUNLinearSolver linear = SUNLinSol_Dense(u, matrix, context);
  void *kin = KINCreate(context);
  N_VConst(1, one);
  for (int n = 0; n < asked->problem->node_count; n++)
    if (asked->number[n] >= 0)
      N_VGetArrayPointer(u)[asked->number[n]] = net_pressure_Pa(net, n) + (n % 2 ? 5 : -5);
  KINInit(kin, residual, u);
  KINSetUserData(kin, asked);
  KINSetLinearSolver(kin, linear, matrix);
  KINSetMaxSetupCalls(kin, 1);
  KINSetFuncNormTol(kin, 1e-9);
  KINSetScaledStepTol(kin, 1e-15);
  KINSetNumMaxIters(kin, 300);
  KINSetMaxNewtonStep(kin, 1e9);
  KINSetErrFile(kin, NULL);
  bool ok = KINSol(kin, u, KIN_LINESEARCH, one, one) >= 0;
  for (int n = 0; n < asked->problem->node_count; n++)
    if (asked->number[n] >= 0)
      p[n] = N_VGetArrayPointer(u)[asked->number[n]];
  KINFree(&kin);
  SUNLinSolFree(linear);
  SUNMatDestroy(matrix);
  N_VDestroy(u);
  N_VDestroy(one);
  SUNContext_Free(&context);
  return ok;
}

static void another_solver_finds_the_same_pressures(void)
{
  int compared = 0, unanswered = 0;
  for (uint64_t seed = 0; compared < 40 && seed < 20000; seed++) {
    struct net_report report;
    struct err err = {0};
    struct asked asked = {.problem = &sample.problem};
    double p[RANDOM_NET_NODES] = {0};
    random_net_make(&sample, seed, RANDOM_NET_PLAIN);
    if (!fit(&sample))
      continue;
    struct net *net = net_new(&sample.problem, &err);
    CHECK_CASE("seed %d", (int)seed);
    CHECK_INT(net_solve(net, &report), NET_SOLVED);
    for (int n = 0; n < sample.node_count; n++)
      asked.number[n] = sample.nodes[n].fixed ? -1 : asked.unknowns++;
    if (ask(net, &asked, p)) {
      compared++;
      for (int n = 0; n < sample.node_count; n++)
        if (asked.number[n] >= 0)
          CHECK_NEAR(net_pressure_Pa(net, n), p[n], 0, 1e-6);
    } else {
      unanswered++;
    }
    net_free(net);
  }
  CHECK(compared >= 20);
  printf("compared %d, KINSOL without an answer %d\n", compared, unanswered);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(another_solver_finds_the_same_pressures);
  return check_end();
}
