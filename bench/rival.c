#include "bench_net.h"

#include <kinsol/kinsol.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_sparse.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The yardstick: SUNDIALS KINSOL, Newton with line search, exact sparse Jacobian, KLU. */
struct rival {
  const struct graph *graph;
  SUNContext context;
  void *kin;
  N_Vector u, one;
  SUNMatrix jacobian;
  SUNLinearSolver linear;
  int *entry; /* four per edge: (from,from) (from,to) (to,to) (to,from); -1 none */
  sunindextype *starts, *rows;
  int nonzeros;
};

static int residual(N_Vector u, N_Vector f, void *data)
{
  const struct graph *g = ((struct rival *)data)->graph;
  const double *p = N_VGetArrayPointer(u);
  double *out = N_VGetArrayPointer(f), slope;
  memcpy(out, g->inflow_kg_s, (size_t)g->unknowns * sizeof(double));
  for (int e = 0; e < g->edge_count; e++) {
    const struct pressure_edge *edge = &g->edges[e];
    double from = edge->from < 0 ? 0 : p[edge->from], to = edge->to < 0 ? 0 : p[edge->to];
    double flow = pressure_flow(edge, from - to, &slope);
    if (edge->from >= 0)
      out[edge->from] -= flow;
    if (edge->to >= 0)
      out[edge->to] += flow;
  }
  return 0;
}

static int jacobian(N_Vector u, N_Vector f, SUNMatrix j, void *data, N_Vector t1, N_Vector t2)
{
  struct rival *r = data;
  const struct graph *g = r->graph;
  const double *p = N_VGetArrayPointer(u);
  double *values = SUNSparseMatrix_Data(j), slope;
  (void)f, (void)t1, (void)t2;
  memcpy(SUNSparseMatrix_IndexPointers(j), r->starts,
         ((size_t)g->unknowns + 1) * sizeof(sunindextype));
  memcpy(SUNSparseMatrix_IndexValues(j), r->rows, (size_t)r->nonzeros * sizeof(sunindextype));
  memset(values, 0, (size_t)r->nonzeros * sizeof(double));
  for (int e = 0; e < g->edge_count; e++) {
    const struct pressure_edge *edge = &g->edges[e];
    double from = edge->from < 0 ? 0 : p[edge->from], to = edge->to < 0 ? 0 : p[edge->to];
    pressure_flow(edge, from - to, &slope);
    const int *entry = r->entry + 4 * e;
    if (entry[0] >= 0)
      values[entry[0]] -= slope;
    if (entry[2] >= 0)
      values[entry[2]] -= slope;
    if (entry[1] >= 0) {
      values[entry[1]] += slope;
      values[entry[3]] += slope;
    }
  }
  return 0;
}

static int find(const struct rival *r, int row, int column)
{
  for (sunindextype i = r->starts[column]; i < r->starts[column + 1]; i++)
    if (r->rows[i] == row)
      return (int)i;
  return -1;
}

static int by_column(const void *a, const void *b)
{
  const int *x = a, *y = b;
  return x[1] != y[1] ? x[1] - y[1] : x[0] - y[0];
}

/* Compressed columns of every pair that meets. */
static void make_pattern(struct rival *r)
{
  const struct graph *g = r->graph;
  int(*pairs)[2] = calloc((size_t)g->unknowns + 2 * (size_t)g->edge_count, sizeof *pairs);
  int count = 0;
  for (int i = 0; i < g->unknowns; i++, count++)
    pairs[count][0] = pairs[count][1] = i;
  for (int e = 0; e < g->edge_count; e++) {
    int from = g->edges[e].from, to = g->edges[e].to;
    if (from < 0 || to < 0)
      continue;
    pairs[count][0] = from;
    pairs[count++][1] = to;
    pairs[count][0] = to;
    pairs[count++][1] = from;
  }
  qsort(pairs, (size_t)count, sizeof *pairs, by_column);
  r->starts = calloc((size_t)g->unknowns + 1, sizeof *r->starts);
  r->rows = calloc((size_t)count + 1, sizeof *r->rows);
  for (int i = 0; i < count; i++) {
    if (i > 0 && by_column(pairs[i], pairs[i - 1]) == 0)
      continue;
    r->rows[r->nonzeros++] = pairs[i][0];
    r->starts[pairs[i][1] + 1] = r->nonzeros;
  }
  free(pairs);
  r->entry = calloc(4 * (size_t)g->edge_count, sizeof *r->entry);
  for (int e = 0; e < g->edge_count; e++) {
    int from = g->edges[e].from, to = g->edges[e].to, *entry = r->entry + 4 * e;
    entry[0] = from < 0 ? -1 : find(r, from, from);
    entry[2] = to < 0 ? -1 : find(r, to, to);
    entry[1] = from < 0 || to < 0 ? -1 : find(r, from, to);
    entry[3] = from < 0 || to < 0 ? -1 : find(r, to, from);
  }
}

struct rival *rival_new(const struct graph *graph)
{
  struct rival *r = calloc(1, sizeof *r);
  r->graph = graph;
  make_pattern(r);
  SUNContext_Create(NULL, &r->context);
  r->u = N_VNew_Serial(graph->unknowns, r->context);
  r->one = N_VClone(r->u);
  N_VConst(1, r->one);
  N_VConst(0, r->u);
  r->jacobian = SUNSparseMatrix(graph->unknowns, graph->unknowns, r->nonzeros, CSC_MAT, r->context);
  r->linear = SUNLinSol_KLU(r->u, r->jacobian, r->context);
  r->kin = KINCreate(r->context);
  KINInit(r->kin, residual, r->u);
  KINSetUserData(r->kin, r);
  KINSetLinearSolver(r->kin, r->linear, r->jacobian);
  KINSetJacFn(r->kin, jacobian);
  KINSetMaxSetupCalls(r->kin, 1);
  KINSetFuncNormTol(r->kin, 5e-10);
  KINSetScaledStepTol(r->kin, 1e-14);
  KINSetNumMaxIters(r->kin, 500);
  KINSetMaxNewtonStep(r->kin, 1e12);
  KINSetErrFile(r->kin, NULL);
  return r;
}

void rival_free(struct rival *r)
{
  KINFree(&r->kin);
  SUNLinSolFree(r->linear);
  SUNMatDestroy(r->jacobian);
  N_VDestroy(r->u);
  N_VDestroy(r->one);
  SUNContext_Free(&r->context);
  free(r->entry);
  free(r->starts);
  free(r->rows);
  free(r);
}

void rival_forget(struct rival *r)
{
  N_VConst(0, r->u);
}

int rival_solve(struct rival *r)
{
  long count = 0;
  int flag = KINSol(r->kin, r->u, KIN_LINESEARCH, r->one, r->one);
  KINGetNumNonlinSolvIters(r->kin, &count);
  return flag < 0 ? -1 : (int)count;
}

double rival_residual_kg_s(struct rival *r)
{
  N_Vector f = N_VClone(r->u);
  residual(r->u, f, r);
  double worst = N_VMaxNorm(f);
  N_VDestroy(f);
  return worst;
}

double rival_pressure_Pa(const struct rival *r, int unknown)
{
  return N_VGetArrayPointer(r->u)[unknown];
}
