#include "numeric/numeric_impl.h"

#include <stdlib.h>
#include <string.h>

/*
 * The graph of a duct system is nearly a tree, so the elimination graph stays
 * small and may be kept explicitly: a list of neighbours per unknown, and
 * unknowns in buckets by degree.
 */
struct graph {
  int n;
  int **near, *degree, *room;
  int *mark, stamp;
  int *head, *tail, *next, *previous; /* buckets by degree; -1 ends a list */
  const bool *last;
};

void *numeric_alloc(size_t count, size_t size)
{
  void *p = calloc(count > 0 ? count : 1, size);
  if (!p)
    err_no_memory();
  return p;
}

static void add_near(struct graph *g, int u, int v)
{
  if (g->degree[u] == g->room[u]) {
    g->room[u] = 2 * g->room[u] + 4;
    g->near[u] = realloc(g->near[u], (size_t)g->room[u] * sizeof(int));
    if (!g->near[u])
      err_no_memory();
  }
  g->near[u][g->degree[u]++] = v;
}

static void drop_near(struct graph *g, int u, int v)
{
  for (int i = 0; i < g->degree[u]; i++)
    if (g->near[u][i] == v) {
      g->near[u][i] = g->near[u][--g->degree[u]];
      return;
    }
}

/* Those that must come last sit in buckets after all the others. */
static int bucket_of(const struct graph *g, int u)
{
  return g->degree[u] + (g->last && g->last[u] ? g->n : 0);
}

/*
 * At the end: of equals that is eliminated which has waited longest.  So the next is far from the last,
 * seldom hangs on it, and the processor need not wait for the one to begin the other; taken from the
 * front a manifold is rolled up from its end, each step waiting for the division of the one before.
 */
static void enter_bucket(struct graph *g, int u)
{
  int b = bucket_of(g, u);
  g->next[u] = -1;
  g->previous[u] = g->tail[b];
  if (g->tail[b] >= 0)
    g->next[g->tail[b]] = u;
  else
    g->head[b] = u;
  g->tail[b] = u;
}

static void leave_bucket(struct graph *g, int u)
{
  int b = bucket_of(g, u);
  if (g->previous[u] >= 0)
    g->next[g->previous[u]] = g->next[u];
  else
    g->head[b] = g->next[u];
  if (g->next[u] >= 0)
    g->previous[g->next[u]] = g->previous[u];
  else
    g->tail[b] = g->previous[u];
}

static void graph_init(struct graph *g, const struct numeric_pattern *pattern)
{
  size_t n = (size_t)pattern->unknowns;
  *g = (struct graph){.n = pattern->unknowns, .last = pattern->last};
  g->near = numeric_alloc(n, sizeof *g->near);
  g->degree = numeric_alloc(n, sizeof(int));
  g->room = numeric_alloc(n, sizeof(int));
  g->mark = numeric_alloc(n, sizeof(int));
  g->next = numeric_alloc(n, sizeof(int));
  g->previous = numeric_alloc(n, sizeof(int));
  g->head = numeric_alloc(2 * n + 1, sizeof(int));
  g->tail = numeric_alloc(2 * n + 1, sizeof(int));
  for (int p = 0; p < pattern->pair_count; p++) {
    int u = pattern->pairs[p][0], v = pattern->pairs[p][1];
    BUG_IF(u < 0 || v < 0 || u >= g->n || v >= g->n);
    if (u == v)
      continue;
    add_near(g, u, v);
    add_near(g, v, u);
  }
  for (int u = 0; u < g->n; u++) { /* repeats out */
    int kept = 0, count = g->degree[u], *near = g->near[u];
    g->stamp++;
    BUG_IF(count > 0 && !near);
    for (int i = 0; i < count; i++)
      if (g->mark[near[i]] != g->stamp) {
        g->mark[near[i]] = g->stamp;
        near[kept++] = near[i];
      }
    g->degree[u] = kept;
  }
  for (size_t b = 0; b <= 2 * n; b++)
    g->head[b] = g->tail[b] = -1;
  for (int u = 0; u < g->n; u++)
    enter_bucket(g, u);
}

static void graph_release(struct graph *g)
{
  for (int u = 0; u < g->n; u++)
    free(g->near[u]);
  free(g->near);
  free(g->degree);
  free(g->room);
  free(g->mark);
  free(g->next);
  free(g->previous);
  free(g->head);
  free(g->tail);
}

/* Everything u meets now meets one another. */
static void eliminate(struct graph *g, int u)
{
  const int *clique = g->near[u];
  int count = g->degree[u];
  leave_bucket(g, u);
  for (int i = 0; i < count; i++) {
    int v = clique[i];
    leave_bucket(g, v);
    drop_near(g, v, u);
    g->stamp++;
    g->mark[v] = g->stamp;
    for (int k = 0; k < g->degree[v]; k++)
      g->mark[g->near[v][k]] = g->stamp;
    for (int k = 0; k < count; k++)
      if (g->mark[clique[k]] != g->stamp)
        add_near(g, v, clique[k]);
    enter_bucket(g, v);
  }
}

bool order_find(const struct numeric_pattern *pattern, size_t fill_limit, struct order *order)
{
  struct graph g;
  size_t n = (size_t)pattern->unknowns, used = 0, room = 4 * n + 16;
  bool ok = true;
  graph_init(&g, pattern);
  order->sequence = numeric_alloc(n, sizeof(int));
  order->start = numeric_alloc(n + 1, sizeof(int));
  order->below = numeric_alloc(room, sizeof(int));
  int low = 0;
  for (size_t k = 0; k < n; k++) {
    while (g.head[low] < 0)
      low++;
    int u = g.head[low];
    size_t count = (size_t)g.degree[u];
    if (used + count > fill_limit) {
      ok = false;
      break;
    }
    if (used + count > room) {
      room = 2 * room + count;
      order->below = realloc(order->below, room * sizeof(int));
      if (!order->below)
        err_no_memory();
    }
    eliminate(&g, u);
    order->sequence[k] = u;
    if (count > 0)
      memcpy(order->below + used, g.near[u], count * sizeof(int));
    used += count;
    order->start[k + 1] = (int)used;
    low = low > (int)count ? low - (int)count - 1 : 0; /* a neighbour may have lost one or more */
  }
  graph_release(&g);
  if (!ok)
    order_release(order);
  return ok;
}

void order_release(struct order *order)
{
  free(order->sequence);
  free(order->start);
  free(order->below);
  *order = (struct order){0};
}
