#include "net/net_impl.h"

#include <math.h>
#include <string.h>

#define MOST_TIED_PA 0.05 /* times the tie it is out of sight */

/*
 * The edge-state iteration: every edge remembers its own flow and the part of
 * its law it is on; each step solves one linear network made of their tangents.
 */

/* (1) with (11): what the nodes lack, and the matrix of the tangents. */
static void sum_symmetric(struct net *net)
{
  const int *restrict a = net->a, *restrict b = net->b, *restrict entry = net->entry;
  const double *restrict c = net->c, *restrict flow = net->flow;
  double *restrict f = net->f, *restrict values = numeric_sparse_values(net->sparse);
  double *restrict diagonal = numeric_sparse_diagonal(net->sparse);
  for (int e = 0; e < net->edge_count; e++) {
    double tie = c[e] + TIE_KG_SPA;
    diagonal[a[e]] += tie;
    diagonal[b[e]] += tie;
    values[entry[e]] -= tie;
    f[a[e]] -= flow[e];
    f[b[e]] += flow[e];
  }
}

static void sum_general(struct net *net)
{
  const int *restrict a = net->a, *restrict b = net->b, *restrict entry = net->entry;
  const int *restrict row = net->row;
  double *restrict f = net->f, *restrict values = numeric_sparse_values(net->sparse);
  for (int e = 0; e < net->edge_count; e++) {
    double tie = net->c[e] + TIE_KG_SPA;
    values[entry[4 * e]] += tie;
    values[entry[4 * e + 1]] -= tie;
    values[entry[4 * e + 2]] += tie;
    values[entry[4 * e + 3]] -= tie;
    f[row[a[e]]] -= net->flow[e];
    f[row[b[e]]] += net->flow[e];
  }
}

static void sum_pins(struct net *net)
{
  double *values = numeric_sparse_values(net->sparse);
  for (int i = 0; i < net->pin_count; i++) {
    int slot = net->pin[i], row = net->row[slot];
    values[numeric_sparse_entry(net->sparse, row, slot)] += 1;
    net->f[row] -= net->x[slot];
  }
}

struct worst newton_assemble(struct net *net)
{
  struct worst worst = {0, 0};
  net->factored = false;
  numeric_sparse_clear(net->sparse);
  memset(net->f, 0, ((size_t)net->slots + 1) * sizeof(double));
  for (int i = 0; i < net->inflow_count; i++)
    net->f[net->row[net->inflow_slot[i]]] += net->inflow[i];
  worst.shift = net->abreast->flows(net);
  if (net->symmetric)
    sum_symmetric(net);
  else
    sum_general(net);
  if (net->control_count > 0)
    controls_assemble(net);
  if (net->pin_count > 0)
    sum_pins(net);
  worst.balance = net->abreast->largest(net->f, net->unknowns);
  return worst;
}

/* The segment of a limited edge moves one step at most, judged by its own drop.  Gives 1 if it did. */
int edge_settle(struct net *net, int e, double drop_Pa)
{
  double cap = net->cap[e], way = cap < 0 ? -1 : 1;
  if (net->exact[e])
    return 0;
  double slack = 1e-12 * (1 + fabs(drop_Pa));
  switch ((enum edge_seg)net->seg[e]) {
  case SEG_LAW:
    if (way * net->g[e] > way * cap) {
      net->seg[e] = SEG_CAP;
      net->g[e] = cap;
      return 1;
    }
    if (way * net->g[e] < 0) {
      net->seg[e] = SEG_NONE;
      net->g[e] = 0;
      return 1;
    }
    return 0;
  case SEG_CAP:
    net->g[e] = cap;
    if (way * (drop_Pa - net->cap_drop[e]) >= -slack)
      return 0;
    net->seg[e] = SEG_LAW;
    return 1;
  case SEG_NONE:
  default:
    net->g[e] = 0;
    if (way * (drop_Pa - net->zero_drop[e]) <= slack)
      return 0;
    net->seg[e] = SEG_LAW;
    net->g[e] = law_guess(net, e, drop_Pa - net->zero_drop[e]);
    if (way * net->g[e] > way * cap || way * net->g[e] <= 0)
      net->g[e] = cap;
    return 1;
  }
}

static int settle(struct net *net, int control_moves)
{
  const double *restrict x = net->x;
  const int *restrict a = net->a, *restrict b = net->b;
  int moved = 0;
  net->unsettled = net->abreast->advance(net) + controls_unsettled(net);
  for (int i = 0; i < net->capped_count; i++) {
    int e = net->capped[i];
    moved += edge_settle(net, e, x[a[e]] - x[b[e]] + net->lift[e]);
  }
  return moved + controls_settle(net, moved > 0 && control_moves == 1 ? 0 : control_moves);
}

/* Solves the assembled system into f; dense when elimination without pivoting met a zero. */
static void solve_linear(struct net *net)
{
  double floor = net->symmetric ? 1e-11 : 1e-13;
  if (net->dense)
    memcpy(net->x_try, net->f, (size_t)net->unknowns * sizeof(double));
  numeric_sparse_factor(net->sparse, net->f, floor, &net->pivots);
  if (net->pivots.mended > 0 && net->dense) {
    double rcond;
    memcpy(net->f, net->x_try, (size_t)net->unknowns * sizeof(double));
    newton_assemble(net);
    numeric_sparse_to_dense(net->sparse, net->dense);
    memcpy(net->x_try, net->f, (size_t)net->unknowns * sizeof(double));
    if (numeric_dense_solve(net->unknowns, net->dense, net->x_try, &rcond) && rcond > 1e-15) {
      memcpy(net->f, net->x_try, (size_t)net->unknowns * sizeof(double));
      return;
    }
    numeric_sparse_factor(net->sparse, net->f, floor, &net->pivots);
  }
  net->singular = net->pivots.mended > 0;
  numeric_sparse_back(net->sparse, net->f);
}

void newton_linear(struct net *net)
{
  solve_linear(net);
  net->factored = net->pivots.mended == 0;
  net->guessed = false;
  for (int s = net->unknowns; s < net->slots; s++)
    net->f[s] = 0;
  for (int s = 0; s < net->unknowns; s++)
    net->x[s] += net->f[s];
  net->largest_step = net->abreast->largest(net->f, net->unknowns);
}

/* A flow at six tenths of the range of an edge's fan; nothing without one. */
static double fan_start(const struct net *net, int e)
{
  for (int i = net->item_first[e]; i < net->item_first[e + 1]; i++) {
    const struct curve *curve = &net->curves[net->items[i].link];
    if (net->problem.links[net->items[i].link].law != NET_FAN || !(curve->inverse > 0))
      continue;
    double unit = curve->piece_count > 0 ? 0.6 * curve->last
                  : curve->b > 0         ? 0.6 * sqrt(fmax(curve->a, 0) / curve->b)
                                         : 0.5;
    return (net->items[i].reversed ? -unit : unit) / curve->inverse;
  }
  return 0;
}

void newton_start(struct net *net)
{
  for (int s = 0; s < net->unknowns; s++)
    net->x[s] = 0;
  for (int e = 0; e < net->edge_count; e++) {
    net->seg[e] = isfinite(net->cap[e]) ? SEG_CAP : SEG_LAW;
    net->g[e] = e < net->quad_count + net->power_count ? 0 : fan_start(net, e);
  }
  controls_remote(net);
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];
    net->x[c->slot] = 0;
    c->g = 0;
    if (c->mode == FAN_FORCED)
      continue;
    c->seg = c->clash ? CONTROL_LEAST : CONTROL_HOLDS;
    control_rows(net, c, !c->clash && c->swap >= 0);
  }
  laws_secant(net);
  controls_linearise(net);
  newton_assemble(net);
  newton_linear(net);
  settle(net, net->control_count);
  net->started = true;
}

/*
 * Controls may all move at first.  If that does not come to rest, they move one
 * at a time, the first that wants to, and only once the flows have settled:
 * least-index pivoting, which cannot return to where it was when the settled
 * network responds like a P-matrix (Murty, "Note on a Bard-type scheme for
 * solving the complementarity problem", Opsearch 11 (1974)).
 */
enum { ALL_TOGETHER = 12, PATIENCE = 40 }; /* then a move though the flows do not settle */

/* A warm start may balance by what was true before: a limit that came down, a fan unit that was
 * stopped.  Gives the number of segments that must move. */
static int unrest(struct net *net)
{
  int moved = 0;
  for (int i = 0; i < net->capped_count; i++) {
    int e = net->capped[i];
    moved += edge_settle(net, e, net->x[net->a[e]] - net->x[net->b[e]] + net->lift[e]);
  }
  return moved + (net->control_count > 0 ? controls_settle(net, net->control_count) : 0);
}

/* At rest: has every limit what it wants?  One that has not moves, alone. */
static int resting_moves(struct net *net, int i)
{
  int moved = i == 0 ? unrest(net) : 0;
  if (moved > 0 || (i < ALL_TOGETHER && !net->give_up) || net->control_count == 0)
    return moved;
  moved = controls_settle(net, 1);
  if (moved > 0 && net->give_up)
    control_freeze(net);
  return moved;
}

/* How many controls may move after this step. */
static int moves_allowed(const struct net *net, int i, struct worst worst)
{
  bool quiet = (worst.shift < 1e-3 && worst.balance < 1e-3) || net->singular;
  return net->give_up ? 0 : i < ALL_TOGETHER ? net->control_count : quiet;
}

static bool forecast(const struct net *net, int i)
{
  return net->unsettled == 0 && !net->strict && net->largest_step < MOST_TIED_PA &&
         (net->control_count == 0 || i < ALL_TOGETHER);
}

bool newton_run(struct net *net, int limit)
{
  return newton_steps(net, net->control_count > 0 ? 2 * limit + 8 * net->control_count : limit);
}

bool newton_steps(struct net *net, int limit)
{
  const double balance_goal = 2e-10, shift_goal = 1e-11;
  int moved = 0;
  for (int i = 0; i < limit; i++) {
    laws_linearise(net);
    if (net->control_count > 0)
      controls_linearise(net);
    struct worst worst = newton_assemble(net);
    if (!isfinite(worst.balance))
      return false;
    bool rests = !net->guessed && worst.balance <= balance_goal && worst.shift <= shift_goal;
    if (moved == 0 && (rests || (net->give_up && i % PATIENCE == PATIENCE - 1))) {
      moved = resting_moves(net, i);
      if (moved == 0 && rests)
        return true;
      if (moved > 0)
        continue;
    }
    newton_linear(net);
    moved = settle(net, moves_allowed(net, i, worst));
    net->iterations++;
    if (moved == 0 && forecast(net, i))
      return true;
  }
  return false;
}
