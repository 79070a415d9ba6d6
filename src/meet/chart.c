#include "meet/meet_impl.h"

#include <string.h>

/*
 * The chart: every pair of groups of two things.  Blank is not coded, and says nothing.  The water
 * that a reagent is sold in counts as group 106 where the chart says more than heat or solution: that
 * two acids both hold water is no news.
 */

const struct meet_cell *meet_chart(const struct meet_facts *facts, int group_a, int group_b)
{
  int low = group_a < group_b ? group_a : group_b, high = group_a < group_b ? group_b : group_a;

  for (int i = 0; i < facts->cell_count; i++)
    if (facts->cells[i].group_a == low && facts->cells[i].group_b == high)
      return &facts->cells[i];
  return NULL;
}

static const struct {
  const char *code, *words;
  enum meet_verdict verdict;
} letters[] = {
    {"H", "heat", MEET_BY_PROCEDURE},
    {"F", "fire", MEET_NEVER},
    {"G", "harmless gas, not flammable", MEET_BY_PROCEDURE},
    {"GT", "toxic gas", MEET_NEVER},
    {"GF", "flammable gas", MEET_NEVER},
    {"E", "explosion", MEET_NEVER},
    {"P", "violent polymerisation", MEET_NEVER},
    {"S", "toxic substances go into solution", MEET_BY_PROCEDURE},
    {"U", "may be hazardous, but unknown", MEET_UNKNOWN},
    {"X", "extremely reactive: not with any chemical or waste", MEET_NEVER},
};
enum { LETTER_COUNT = sizeof letters / sizeof *letters };

static int letter_of(const char *word)
{
  for (int i = 0; i < LETTER_COUNT; i++)
    if (strcmp(letters[i].code, word) == 0)
      return i;
  BUG_IF(true);
  return 0;
}

const char *meet_codes_words(const char *codes, struct arena *arena)
{
  int count;
  const char *const *words = meet_words(codes, " ", &count, arena);
  const char *out = "";

  for (int i = 0; i < count; i++)
    out = arena_printf(arena, "%s%s%s", out, i ? ", " : "", letters[letter_of(words[i])].words);
  return out;
}

/* The gravest of its letters; a blank that nobody saw is unknown, not blank. */
static enum meet_verdict verdict_of(const struct meet_cell *cell, struct arena *arena)
{
  int count;
  const char *const *words = meet_words(cell->codes, " ", &count, arena);
  enum meet_verdict worst =
      count == 0 && strcmp(cell->confidence, "low") == 0 ? MEET_UNKNOWN : MEET_NOTHING_LISTED;

  for (int i = 0; i < count; i++) {
    enum meet_verdict one = letters[letter_of(words[i])].verdict;

    worst = one > worst ? one : worst;
  }
  return worst;
}

static bool is_only_of_water(const struct meet_cell *cell)
{
  return strcmp(cell->codes, "H") == 0 || strcmp(cell->codes, "S") == 0 || !*cell->codes;
}

struct gather {
  const struct work *w;
  struct meet_finding *out;
  struct meet_cell *cells;
  bool coded; /* any two groups with a cell at all */
  bool unseen;
};

static void take_cell(struct gather *g, const struct meet_cell *cell)
{
  enum meet_verdict verdict = verdict_of(cell, g->w->arena);

  g->coded = true;
  if (verdict > g->out->verdict)
    g->out->verdict = verdict;
  if (!*cell->codes) {
    g->out->blank_count++;
    g->unseen |= verdict == MEET_UNKNOWN;
    return;
  }
  for (int i = 0; i < g->out->cell_count; i++) {
    const struct meet_cell *before = &g->cells[i];
    bool is_never = strcmp(cell->codes, "X") == 0 && strcmp(before->codes, "X") == 0;

    if (is_never || (before->group_a == cell->group_a && before->group_b == cell->group_b))
      return;
  }
  g->cells[g->out->cell_count++] = *cell;
}

static void take_faces(struct gather *g, const struct meet_face *a, const struct meet_face *b)
{
  if (a->implied && b->implied)
    return;
  for (int i = 0; i < a->group_count; i++)
    for (int k = 0; k < b->group_count; k++) {
      const struct meet_cell *cell = meet_chart(g->w->facts, a->groups[i], b->groups[k]);

      if (cell && !((a->implied || b->implied) && is_only_of_water(cell)))
        take_cell(g, cell);
    }
}

static size_t groups_in(const struct meet_thing *thing)
{
  size_t count = 0;

  for (int i = 0; i < thing->face_count; i++)
    count += (size_t)thing->faces[i].group_count;
  return count;
}

static bool has_group(const struct meet_thing *thing)
{
  int count = 0;

  for (int i = 0; i < thing->face_count; i++)
    count += thing->faces[i].implied ? 0 : thing->faces[i].group_count;
  return count > 0;
}

void meet_chart_pair(const struct work *w, int a, int b, struct meet_finding *out)
{
  const struct meet_thing *x = &w->things.list[a], *y = &w->things.list[b];
  struct gather g = {.w = w,
                     .out = out,
                     .cells =
                         ARENA_ARRAY(w->arena, struct meet_cell, groups_in(x) * groups_in(y) + 1)};

  BUG_IF(!g.cells);
  for (int i = 0; i < x->face_count; i++)
    for (int k = 0; k < y->face_count; k++)
      take_faces(&g, &x->faces[i], &y->faces[k]);
  out->cells = g.cells;
  if (!has_group(x) || !has_group(y)) {
    const char *name = has_group(x) ? y->name : x->name;

    out->chart_note = arena_printf(w->arena, "%s has no group in the chart", name);
    out->verdict = out->verdict > MEET_UNKNOWN ? out->verdict : MEET_UNKNOWN;
  } else if (g.unseen) {
    out->chart_note = "A cell of the chart that nobody here has seen in print";
  } else if (!g.coded) {
    out->chart_note = "The chart has no cell for a group with itself";
  } else if (out->cell_count == 0) {
    out->chart_note = "A blank in the chart is 'not coded', no more";
  }
}
