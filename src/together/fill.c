/*
 * The table of all sets.
 *
 * Stations of one kind differ by name only, so a set is a *state*: how many of each kind are at work.
 * Idle stations change nothing in the network: one solve tells of all their sets.  Where the states are
 * few, each is solved, one sash away from the one before.  Where they are many, only the boundary is
 * looked for: a state that is fine is grown until nothing fits, one that breaks something is shrunk
 * until nothing may go, and what lies below or above follows, as long as raising a sash takes air from
 * the others.  That is checked, not trusted: every state of the boundary is solved again from nothing,
 * and a sample of what only followed is solved, too.  Where one of them is otherwise, all are solved.
 *
 * One room with one header and one fan is simple enough to solve all its sets in the lanes of a vector
 * unit, each with a second pass: then nothing is left out and nothing follows.  Any other network is solved
 * in lanes state by state (net/sets.h), where its states are few enough to solve them all.
 */
#include "together/together_impl.h"

#include "numeric/numeric.h"

#include <string.h>

enum { UNKNOWN, FINE, BROKEN, VERDICT = 3, SOLVED = 4, SPREAD = 8 };

struct kind {
  int size, member[AIR_SETS_MAX];
  uint32_t mask;
  unsigned long stride;
};

struct states {
  struct fill *fill;
  int kind_count;
  struct kind kinds[AIR_SETS_MAX];
  uint32_t idle;
  unsigned long count;
  unsigned char *verdict; /* per state, with SOLVED */
  uint32_t *idle_parked,
      *idle_raised; /* per state, where some are idle: which then miss something */
  bool cut;
};

/* ---- states ---- */

static void find_kinds(struct states *s, bool with_idle)
{
  const struct air_sets *sets = s->fill->sets;
  int kind_of[AIR_SETS_MAX];

  s->kind_count = 0;
  s->idle = 0;
  s->count = 1;
  for (int i = 0; i < s->fill->count; i++) {
    int first = air_sets_kind(sets, i);

    kind_of[i] = -1;
    if (with_idle && air_sets_is_idle(sets, i)) {
      s->idle |= 1u << i;
      continue;
    }
    kind_of[i] = first < i ? kind_of[first] : s->kind_count++;
    struct kind *kind = &s->kinds[kind_of[i]];

    if (first == i)
      *kind = (struct kind){0};
    kind->member[kind->size++] = i;
    kind->mask |= 1u << i;
  }
  for (int k = 0; k < s->kind_count; k++) {
    s->kinds[k].stride = s->count;
    s->count *= (unsigned long)s->kinds[k].size + 1;
  }
}

static int digit(const struct states *s, unsigned long state, int k)
{
  return (int)(state / s->kinds[k].stride % ((unsigned long)s->kinds[k].size + 1));
}

static uint32_t set_of(const struct states *s, unsigned long state)
{
  uint32_t set = 0;

  for (int k = 0; k < s->kind_count; k++)
    for (int i = digit(s, state, k); i > 0; i--)
      set |= 1u << s->kinds[k].member[i - 1];
  return set;
}

/* ---- one state ---- */

static int solve(struct states *s, unsigned long state)
{
  struct together_work *work = s->fill->work;
  struct air_set set;

  if (*s->fill->budget <= 0) {
    s->cut = true;
    return BROKEN;
  }
  --*s->fill->budget;
  air_sets_look(s->fill->sets, set_of(s, state), &set);
  work->fallbacks += set.fallbacks;
  work->unanswered += !set.answered;
  work->several += set.several;
  if (s->idle) {
    s->idle_parked[state] = set.parked;
    s->idle_raised[state] = set.raised;
  }
  return set.answered && !set.missed ? FINE : BROKEN;
}

/* Solves where it is not known yet. */
static int look(struct states *s, unsigned long state)
{
  if (!(s->verdict[state] & VERDICT)) {
    int found = solve(s, state);

    if (s->cut)
      return BROKEN;
    s->verdict[state] = (unsigned char)(found | SOLVED);
    s->fill->work->solved++;
  }
  return s->verdict[state] & VERDICT;
}

static void check(struct states *s, unsigned long state)
{
  uint32_t parked = s->idle ? s->idle_parked[state] : 0,
           raised = s->idle ? s->idle_raised[state] : 0;
  int found;

  air_sets_cold(s->fill->sets);
  found = solve(s, state);
  if (s->cut)
    return;
  s->fill->work->checked++;
  if (found != (s->verdict[state] & VERDICT) ||
      (s->idle && (parked != s->idle_parked[state] || raised != s->idle_raised[state]))) {
    if (s->verdict[state] & SOLVED)
      s->fill->work->corrected++;
    else
      s->fill->work->not_monotone++;
  }
  s->verdict[state] = (unsigned char)(found | SOLVED | (s->verdict[state] & SPREAD));
}

/* ---- every one of them ---- */

static void solve_all(struct states *s)
{
  int at[AIR_SETS_MAX] = {0}, way[AIR_SETS_MAX];
  unsigned long state = 0;

  for (int k = 0; k < AIR_SETS_MAX; k++)
    way[k] = 1;
  for (;;) { /* the next state differs by one sash: reflected order */
    int k = 0;

    look(s, state);
    if (s->cut)
      return;
    while (k < s->kind_count && (at[k] + way[k] < 0 || at[k] + way[k] > s->kinds[k].size))
      way[k] = -way[k], k++;
    if (k == s->kind_count)
      return;
    at[k] += way[k];
    state = way[k] > 0 ? state + s->kinds[k].stride : state - s->kinds[k].stride;
  }
}

/* ---- the boundary ---- */

/* A step up or down in one kind; false where there is none. */
static bool step(const struct states *s, unsigned long state, int k, int way, unsigned long *out)
{
  int now = digit(s, state, k);

  if (way > 0 ? now == s->kinds[k].size : now == 0)
    return false;
  *out = way > 0 ? state + s->kinds[k].stride : state - s->kinds[k].stride;
  return true;
}

/* What follows from a state for all below a fine one, or above a broken one. */
static void spread(struct states *s, unsigned long state,
                   int verdict) /* NOLINT(misc-no-recursion) */
{
  s->verdict[state] |= SPREAD;
  for (int k = 0; k < s->kind_count; k++) {
    unsigned long next;

    if (!step(s, state, k, verdict == FINE ? -1 : 1, &next))
      continue;
    int there = s->verdict[next] & VERDICT;

    if (there == UNKNOWN)
      s->verdict[next] |= (unsigned char)verdict;
    else if (there != verdict)
      s->fill->work->not_monotone++;
    if (there != (verdict == FINE ? BROKEN : FINE) && !(s->verdict[next] & SPREAD))
      spread(s, next, verdict);
  }
}

static void walk(struct states *s, unsigned long state)
{
  int verdict = look(s, state);

  for (int k = 0; k < s->kind_count && !s->cut; k++) {
    unsigned long next = state;

    while (!s->cut && step(s, state, k, verdict == FINE ? 1 : -1, &next) &&
           look(s, next) == verdict && !s->cut)
      state = next;
  }
  if (!s->cut)
    spread(s, state, verdict);
}

static void solve_boundary(struct states *s)
{
  for (unsigned long state = 0; state < s->count && !s->cut; state++)
    if (!(s->verdict[state] & VERDICT))
      walk(s, state);
}

/* ---- the second pass ---- */

/* Is a neighbour that should be no better than it, or no worse, otherwise? */
static bool is_boundary(const struct states *s, unsigned long state)
{
  int verdict = s->verdict[state] & VERDICT;
  unsigned long next;

  for (int k = 0; k < s->kind_count; k++)
    if (step(s, state, k, verdict == FINE ? 1 : -1, &next) &&
        (s->verdict[next] & VERDICT) == verdict)
      return false;
  return true;
}

static void count_turns(struct states *s)
{
  unsigned long next;

  for (unsigned long state = 0; state < s->count; state++)
    for (int k = 0; k < s->kind_count; k++)
      if (step(s, state, k, 1, &next) && (s->verdict[state] & VERDICT) == BROKEN &&
          (s->verdict[next] & VERDICT) == FINE)
        s->fill->work->not_monotone++;
}

static void second_pass(struct states *s, bool all_solved)
{
  enum { SAMPLE = 512 };
  struct numeric_random random;

  for (unsigned long state = 0; state < s->count && !s->cut; state++)
    if (is_boundary(s, state))
      check(s, state);
  numeric_random_seed(&random, 1);
  for (int i = 0; i < SAMPLE && !all_solved && !s->cut; i++) {
    unsigned long state = (unsigned long)numeric_random_below(&random, (int)s->count);

    if (!(s->verdict[state] & SOLVED))
      check(s, state);
  }
  if (all_solved)
    count_turns(s);
}

/* ---- the table ---- */

/* Sets in the order of their numbers: `sum[i]` is what the members from the i-th on make of the state. */
static void expand(const struct states *s)
{
  uint32_t sets = 1u << s->fill->count;
  unsigned long stride[AIR_SETS_MAX] = {0}, sum[AIR_SETS_MAX + 1] = {0};

  for (int k = 0; k < s->kind_count; k++)
    for (int i = 0; i < s->kinds[k].size; i++)
      stride[s->kinds[k].member[i]] = s->kinds[k].stride;
  for (uint32_t set = 0; set < sets; set++) {
    if (set > 0) {
      int low = __builtin_ctz(set);

      sum[low] = sum[low + 1] + stride[low];
      for (int i = 0; i < low; i++)
        sum[i] = sum[low];
    }
    unsigned long state = sum[0];
    bool fine = (s->verdict[state] & VERDICT) == FINE;

    if (fine && s->idle)
      fine = !(s->idle_parked[state] & ~set) && !(s->idle_raised[state] & set);
    if (fine)
      s->fill->table[set] |= s->fill->bit;
  }
}

/* ---- all at once ---- */

enum {
  FEW_IN_LANES = 32, /* below it a table of its own is not worth making */
  FEW_STATES = 256,
  SETS_PER_STATE = 64
}; /* a solve takes about as long as that many in lanes */

static void count_turns_of_sets(struct fill *fill, const unsigned char *fine)
{
  uint32_t sets = 1u << fill->count;

  for (int i = 0; i < fill->count; i++)
    for (uint32_t set = 0; set < sets; set++)
      if (set >> i & 1u)
        fill->work->not_monotone += fine[set] && !fine[set & ~(1u << i)];
}

/* False where the network is no comb, or so many stations are equal that their states are few. */
static bool fill_at_once(struct fill *fill, unsigned long states)
{
  struct air_sets_work work = {.path = fill->path, .budget = fill->budget};
  size_t sets = (size_t)1 << fill->count;
  struct arena arena;
  unsigned char *fine;
  bool done;

  if (fill->one_by_one || states < FEW_STATES || states * SETS_PER_STATE < sets)
    return false;
  arena_init(&arena, (size_t)1 << 26);
  fine = ARENA_ARRAY(&arena, unsigned char, sets);
  done = fine && air_sets_all(fill->sets, &work, fine);
  for (size_t set = 0; done && set < sets; set++)
    fill->table[set] |= fine[set] ? fill->bit : 0;
  if (done) {
    count_turns_of_sets(fill, fine);
    fill->work->states += (long)sets;
    fill->work->solved += (long)sets;
    fill->work->in_lanes += (long)sets - work.asked;
    fill->exact = !work.cut;
  }
  arena_release(&arena);
  return done;
}

/*
 * Where several answers would do, a set in lanes, started from its neighbours, might take another one than
 * the solver does from nothing: some states of the boundary are asked of it.  False: one is otherwise.
 */
static bool sample_agrees(struct states *s)
{
  enum { SAMPLE = 32, TRIES = 64 * SAMPLE };
  long before = s->fill->work->checked, corrected = s->fill->work->corrected;
  struct numeric_random random;

  numeric_random_seed(&random, 1);
  for (int i = 0; i < TRIES && s->fill->work->checked < before + SAMPLE && !s->cut; i++) {
    unsigned long state = (unsigned long)numeric_random_below(&random, (int)s->count);

    if (is_boundary(s, state))
      check(s, state);
  }
  return s->fill->work->corrected == corrected;
}

/* Any other network in lanes, state by state; false where that cannot be. */
static bool fill_states(struct states *s)
{
  struct fill *fill = s->fill;
  struct net_sets_kind kinds[AIR_SETS_MAX];
  struct air_states states = {.kind_count = s->kind_count,
                              .kinds = kinds,
                              .count = s->count,
                              .missed = s->verdict,
                              .parked = s->idle_parked,
                              .raised = s->idle_raised};
  struct air_sets_work work = {.path = fill->path, .budget = fill->budget};

  if (fill->one_by_one || s->count < FEW_IN_LANES)
    return false;
  for (int k = 0; k < s->kind_count; k++) {
    kinds[k] = (struct net_sets_kind){.size = s->kinds[k].size, .stride = s->kinds[k].stride};
    memcpy(kinds[k].switches, s->kinds[k].member, sizeof kinds[k].switches);
  }
  if (!air_sets_states(fill->sets, &states, &work)) {
    memset(s->verdict, 0, s->count);
    return false;
  }
  for (unsigned long state = 0; state < s->count; state++)
    s->verdict[state] = (s->verdict[state] ? BROKEN : FINE) | SOLVED;
  fill->work->solved += (long)s->count;
  fill->work->side_by_side += (long)s->count - work.asked;
  fill->work->checked += work.asked;
  fill->work->fallbacks += work.fallbacks;
  fill->work->unanswered += work.unanswered;
  fill->work->several += work.several;
  s->cut = work.cut;
  if (s->cut || sample_agrees(s))
    return true;
  memset(s->verdict, 0, s->count);
  fill->work->solved -= (long)s->count;
  fill->work->side_by_side -= (long)s->count - work.asked;
  return false;
}

bool together_fill(struct fill *fill)
{
  struct states s = {.fill = fill};
  bool solves_all;

  find_kinds(&s, true);
  if (fill_at_once(fill, s.count))
    return true;
  solves_all = s.count <= fill->most_states;
  if (!solves_all)
    find_kinds(&s, false);
  s.verdict = ARENA_ARRAY(fill->arena, unsigned char, s.count);
  s.idle_parked = s.idle ? ARENA_ARRAY(fill->arena, uint32_t, s.count) : NULL;
  s.idle_raised = s.idle ? ARENA_ARRAY(fill->arena, uint32_t, s.count) : NULL;
  if (!s.verdict || (s.idle && (!s.idle_parked || !s.idle_raised)))
    return false;
  fill->work->states += (long)s.count;
  air_sets_cold(fill->sets);
  if (solves_all && fill_states(&s)) {
    count_turns(&s);
    fill->exact = !s.cut;
    expand(&s);
    return true;
  }
  if (solves_all)
    solve_all(&s);
  else
    solve_boundary(&s);
  if (!s.cut)
    second_pass(&s, solves_all);
  if (!s.cut && !solves_all && fill->work->not_monotone > 0) { /* what followed cannot be trusted */
    for (unsigned long state = 0; state < s.count; state++)
      if (!(s.verdict[state] & SOLVED))
        s.verdict[state] = UNKNOWN;
    solve_all(&s);
  }
  fill->exact = !s.cut;
  expand(&s);
  return true;
}
