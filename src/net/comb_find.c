/* Is this network a comb?  Its rows of links without a branch, and what each of them is. */
#include "net/comb_find_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool comb_refuse(struct comb_search *s, const char *why)
{
  err_set(s->err, ERR_INPUT, "no comb: %s", why);
  return false;
}

/* ---- rows ---- */

static bool is_active(const struct comb_search *s, int l)
{
  return s->off->links[l].law != NET_SHUT || s->on->links[l].law != NET_SHUT;
}

static bool is_key(const struct comb_search *s, int node)
{
  const struct net_node *n = &s->off->nodes[node];

  return n->fixed || n->inflow_kg_s != 0 || s->degree[node] != 2 || s->begins_header[node];
}

static bool is_square(const struct net_link *link)
{
  for (int i = 0; i < link->member_count; i++)
    if (link->members[i].kind != NET_POWER || link->members[i].m != 2)
      return false;
  return true;
}

/* A lone station at the far end and the duct after it are one row: fine while their laws are square, else
 * the header begins between them. */
static void find_far_ends(struct comb_search *s)
{
  for (int l = 0; l < s->off->link_count; l++)
    for (int k = 0; s->bit[l] >= 0 && k < s->off->link_count; k++) {
      const struct net_link *duct = &s->off->links[k];
      int end = s->off->links[l].to;

      if (s->bit[k] < 0 && duct->law == NET_RESIST && !is_square(duct) &&
          (duct->from == end || duct->to == end))
        s->begins_header[end] = true;
    }
}

static int other_end(const struct comb_search *s, int link, int node)
{
  const struct net_link *l = &s->off->links[link];

  return l->from == node ? l->to : l->from;
}

static int next_link(const struct comb_search *s, int node)
{
  for (int l = 0; l < s->off->link_count; l++)
    if (!s->used[l] && is_active(s, l) &&
        (s->off->links[l].from == node || s->off->links[l].to == node))
      return l;
  return -1;
}

static void follow_row(struct comb_search *s, int node, int link)
{
  struct comb_row *row = &s->rows[s->row_count++];

  *row = (struct comb_row){.a = node, .first = s->link_count};
  while (link >= 0) {
    s->used[link] = true;
    s->reversed[s->link_count] = s->off->links[link].from != node;
    s->links[s->link_count++] = link;
    row->count++;
    node = other_end(s, link, node);
    link = is_key(s, node) ? -1 : next_link(s, node);
  }
  row->b = node;
}

static bool find_rows(struct comb_search *s)
{
  for (int l = 0; l < s->off->link_count; l++)
    if (is_active(s, l)) {
      s->degree[s->off->links[l].from]++;
      s->degree[s->off->links[l].to]++;
    } else {
      s->c->link_tooth[l] = COMB_DECREE; /* nothing, whatever is open */
    }
  find_far_ends(s);
  for (int n = 0; n < s->off->node_count; n++)
    for (int l; s->degree[n] > 0 && is_key(s, n) && (l = next_link(s, n)) >= 0;)
      follow_row(s, n, l);
  for (int l = 0; l < s->off->link_count; l++)
    if (is_active(s, l) && !s->used[l])
      return comb_refuse(s, "a ring that nothing joins");
  return true;
}

void comb_turn(struct comb_search *s, struct comb_row *row, int from)
{
  if (row->a == from)
    return;
  for (int i = row->first, j = row->first + row->count - 1; i <= j; i++, j--) {
    int link = s->links[i];
    bool reversed = s->reversed[i];

    s->links[i] = s->links[j];
    s->reversed[i] = !s->reversed[j];
    s->links[j] = link;
    s->reversed[j] = !reversed;
  }
  row->b = row->a;
  row->a = from;
}

static bool joins(const struct comb_row *row, int a, int b)
{
  return (row->a == a && row->b == b) || (row->a == b && row->b == a);
}

/* ---- the header ---- */

static bool is_on_path(const struct comb_search *s, int node)
{
  for (int i = 0; i < s->path_count; i++)
    if (s->path[i] == node)
      return true;
  return false;
}

/* From the fan to the far end: header nodes, each with teeth to the room and one more before it. */
static bool walk_header(struct comb_search *s, int room)
{
  s->path_count = 0;
  for (int node = s->end, row = -1; node >= 0;) {
    int next = -1, next_row = -1;

    if (s->path_count == COMB_TEETH_MAX)
      return false;
    s->path[s->path_count] = node;
    s->path_row[s->path_count++] = row;
    for (int r = 0; r < s->row_count; r++) {
      int far = s->rows[r].a == node ? s->rows[r].b : s->rows[r].a;

      if ((s->rows[r].a != node && s->rows[r].b != node) || s->rows[r].taken || r == row ||
          far == room)
        continue;
      if (next >= 0 || s->off->nodes[far].fixed || is_on_path(s, far))
        return false;
      next = far;
      next_row = r;
    }
    node = next;
    row = next_row;
  }
  return true;
}

static bool take_header(struct comb_search *s)
{
  struct net_comb *c = s->c;

  c->far = s->path[s->path_count - 1];
  c->end = s->end;
  for (int i = s->path_count - 1; i >= 0; i--) {
    int node = s->path[i], before = c->tooth_count;

    for (int r = 0; r < s->row_count; r++)
      if (!s->rows[r].taken && joins(&s->rows[r], c->room, node)) {
        s->rows[r].taken = true;
        if (!comb_take_tooth(s, &s->rows[r], node))
          return false;
      }
    if (c->tooth_count == before)
      return comb_refuse(s, "a header node without a tooth");
    if (i == 0)
      break;
    struct comb_row *row = &s->rows[s->path_row[i]];
    struct comb_run *run = &c->teeth[c->tooth_count - 1].after;

    row->taken = true;
    comb_turn(s, row, node);
    if (!comb_take_run(s, row, run))
      return false;
    run->inflow_kg_s = s->off->nodes[node].inflow_kg_s;
  }
  c->end_inflow_kg_s = s->off->nodes[s->end].inflow_kg_s;
  return true;
}

/* The one row with a fan in it, from the header to a given pressure. */
static bool take_end(struct comb_search *s)
{
  const struct net_fan *fan = NULL;
  struct comb_row *end = NULL;
  bool backwards = false;

  for (int r = 0; r < s->row_count; r++)
    for (int i = s->rows[r].first; i < s->rows[r].first + s->rows[r].count; i++)
      if (s->off->links[s->links[i]].law == NET_FAN) {
        if (fan)
          return comb_refuse(s, "more than one fan");
        fan = s->off->links[s->links[i]].fan;
        end = &s->rows[r];
      }
  if (!fan || s->off->nodes[end->a].fixed == s->off->nodes[end->b].fixed)
    return comb_refuse(s, "no fan between a header and a given pressure");
  s->end = s->off->nodes[end->a].fixed ? end->b : end->a;
  comb_turn(s, end, s->end);
  for (int i = end->first; i < end->first + end->count; i++)
    backwards = backwards || (s->reversed[i] && s->off->links[s->links[i]].law == NET_FAN);
  if (backwards)
    return comb_refuse(s, "the fan blows into the header");
  end->taken = true;
  s->c->out_Pa = s->off->nodes[end->b].pressure_Pa;
  return comb_take_run(s, end, &s->c->tail) && comb_take_curves(s, fan);
}

/* ---- what else leads to the room ---- */

static bool take_rest(struct comb_search *s)
{
  for (int r = 0; r < s->row_count; r++) {
    struct comb_row *row = &s->rows[r];
    int outer = row->a == s->c->room ? row->b : row->a;
    const struct net_link *first = &s->off->links[s->links[row->first]];
    bool resists = true;

    if (row->taken)
      continue;
    for (int i = row->first; i < row->first + row->count; i++)
      resists = resists && s->off->links[s->links[i]].law == NET_RESIST;
    if (resists && s->off->nodes[row->a].fixed && s->off->nodes[row->b].fixed)
      continue; /* between given pressures: nobody feels it */
    if ((row->a != s->c->room && row->b != s->c->room) || !s->off->nodes[outer].fixed)
      return comb_refuse(s, "another room");
    row->taken = true;
    comb_turn(s, row, s->c->room);
    if (resists ? !comb_take_leak(s, row)
        : row->count == 1 && first->law == NET_SET_FLOW && first->member_count == 0
            ? !comb_take_decree(s, row)
            : (comb_turn(s, row, outer), !comb_take_supply(s, row)))
      return false;
  }
  s->c->inflow_kg_s += s->off->nodes[s->c->room].inflow_kg_s;
  return true;
}

/* ---- all of it ---- */

static bool same_members(const struct net_link *a, const struct net_link *b)
{
  return a->member_count == b->member_count &&
         (a->member_count == 0 ||
          memcmp(a->members, b->members, (size_t)a->member_count * sizeof *a->members) == 0);
}

static bool same_link(const struct net_link *a, const struct net_link *b)
{
  return a->from == b->from && a->to == b->to && a->law == b->law && a->lift_Pa == b->lift_Pa &&
         same_members(a, b) && a->set_kg_s == b->set_kg_s && a->hold_Pa == b->hold_Pa &&
         a->least_kg_s == b->least_kg_s && a->most_kg_s == b->most_kg_s;
}

static bool is_small_and_even(struct comb_search *s)
{
  const struct net_problem *off = s->off, *on = s->on;

  if (off->node_count > COMB_NODES_MAX || off->link_count > COMB_LINKS_MAX)
    return comb_refuse(s, "too large a network");
  if (off->node_count != on->node_count || off->link_count != on->link_count)
    return comb_refuse(s, "two networks of unequal size");
  for (int n = 0; n < off->node_count; n++)
    if (off->nodes[n].fixed != on->nodes[n].fixed ||
        off->nodes[n].inflow_kg_s != on->nodes[n].inflow_kg_s ||
        (off->nodes[n].fixed && off->nodes[n].pressure_Pa != on->nodes[n].pressure_Pa))
      return comb_refuse(s, "a place whose own values change");
  for (int l = 0; l < off->link_count; l++)
    if (off->links[l].from != on->links[l].from || off->links[l].to != on->links[l].to ||
        off->links[l].lift_Pa != on->links[l].lift_Pa)
      return comb_refuse(s, "a link that changes its ends");
  return true;
}

/* Only teeth with a switch may change. */
static bool only_switches_change(struct comb_search *s)
{
  const struct net_comb *c = s->c;
  int found = 0;

  for (int t = 0; t < c->tooth_count; t++)
    found += c->teeth[t].bit >= 0;
  if (found != c->switch_count)
    return comb_refuse(s, "a station that is no tooth");
  for (int l = 0; l < s->off->link_count; l++) {
    int t = c->link_tooth[l];

    if (!same_link(&s->off->links[l], &s->on->links[l]) && !(t >= 0 && c->teeth[t].bit >= 0))
      return comb_refuse(s, "something else than the stations changes");
  }
  return true;
}

static bool find(struct comb_search *s)
{
  if (!is_small_and_even(s) || !find_rows(s) || !take_end(s))
    return false;
  s->c->room = -1;
  for (int n = 0; n < s->off->node_count && s->c->room < 0; n++)
    if (!s->off->nodes[n].fixed && s->degree[n] > 0 && is_key(s, n) && n != s->end &&
        walk_header(s, n) && !is_on_path(s, n))
      s->c->room = n;
  if (s->c->room < 0)
    return comb_refuse(s, "no one room whose stations all join one header");
  return take_header(s) && take_rest(s) && only_switches_change(s);
}

static void *aligned(size_t count, size_t size)
{
  void *p = aligned_alloc(64, (count * size + 63) / 64 * 64);

  if (!p)
    err_no_memory();
  memset(p, 0, count * size);
  return p;
}

struct net_comb *net_comb_new(const struct net_problem *none_open,
                              const struct net_problem *all_open, int count, const int *links,
                              struct err *err)
{
  struct net_comb *c = aligned(1, sizeof *c);
  struct comb_search *s = aligned(1, sizeof *s);
  size_t link_count = (size_t)none_open->link_count;
  bool ok;

  *s = (struct comb_search){.off = none_open, .on = all_open, .c = c, .err = err};
  arena_init(&c->arena, (size_t)1 << 24);
  c->link_count = none_open->link_count;
  c->switch_count = count;
  c->link_tooth = ARENA_ARRAY(&c->arena, int, link_count + 1);
  c->link_decree_kg_s = ARENA_ARRAY(&c->arena, double, link_count + 1);
  BUG_IF(!c->link_tooth || !c->link_decree_kg_s || count > NET_COMB_SWITCHES_MAX);
  for (int l = 0; l < c->link_count; l++)
    c->link_tooth[l] = -1;
  memset(s->bit, -1, sizeof s->bit);
  for (int i = 0; i < count && links[i] < COMB_LINKS_MAX; i++)
    s->bit[links[i]] = i;
  ok = count >= COMB_LOW_BITS ? find(s) : comb_refuse(s, "fewer than five stations");
  free(s);
  if (!ok) {
    net_comb_free(c);
    return NULL;
  }
  c->lanes = aligned(COMB_LOW_BITS, sizeof *c->lanes);
  c->block = aligned(1, sizeof *c->block);
  c->start = aligned((size_t)1 << count, sizeof *c->start);
  return c;
}

void net_comb_free(struct net_comb *comb)
{
  if (!comb)
    return;
  arena_release(&comb->arena);
  free(comb->lanes);
  free(comb->block);
  free(comb->start);
  free(comb);
}
