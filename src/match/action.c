/* What to do next about a match, in one or two sentences. */
#include "match/match_impl.h"

#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

/* "flow of MU/Gown, everything parked (flow hood)"; NULL: nothing would tell more. */
static const char *most_useful(const struct match_result *r, struct arena *arena)
{
  const struct match_next_reading *it = &r->next.list[0];

  if (!r->next.pool || r->next.count == 0)
    return NULL;
  return arena_printf(arena, "%s%s%s (%s)", it->what, it->scene ? ", " : "",
                      it->scene ? it->scene : "", it->how);
}

/* The reading that lies farthest out: of the fit, or else of the file. */
static int farthest(const struct match_result *r)
{
  int best = -1;
  double most = 0.0;

  for (int i = 0; i < r->readings->count; i++) {
    double out = r->outliers > 0 ? r->rows[i].after_ratio : r->rows[i].before_ratio;

    if (numeric_exceeds(fabs(out), most, 0.0)) {
      most = fabs(out);
      best = i;
    }
  }
  return best;
}

/* "2-11, flow of A7", and what its remark says. */
static const char *reading_words(const struct match_result *r, int i, struct arena *arena)
{
  const struct match_reading *it = &r->readings->list[i];

  return arena_printf(arena, "%s, %s%s%s%s", it->id, it->name, it->remark ? " (remark: \"" : "",
                      it->remark ? it->remark : "", it->remark ? "\")" : "");
}

/* "leak L-gown, area: FIND" */
static const char *look_at(const struct match_result *r, int figure, struct arena *arena)
{
  const struct match_figure *f = &r->figures[figure];
  const char *find = f->of == MATCH_OF_FIGURE ? r->facility->inputs[f->index].find : NULL;

  if (f->of == MATCH_OF_ZERO || f->of == MATCH_OF_SLOPE)
    return arena_printf(arena, "%s (have the instrument compared with another)", f->name);
  return arena_printf(arena, "%s%s%s%s", f->name, find ? " (" : "", find ? find : "",
                      find ? ")" : "");
}

static const char *of_few(const struct match_result *r, struct arena *arena)
{
  const char *useful = most_useful(r, arena);
  int lacking = r->facility->match.least_count - r->readings->count;

  if (r->readings->count == 0 && r->readings->note_count == 0 &&
      strcmp(r->readings->source, "table") == 0)
    return "No row of the table has a value: fill in its column 'value', then ask again.";
  if (lacking > 0)
    return arena_printf(arena, "Take at least %d more %s.%s%s%s", lacking,
                        lacking == 1 ? "reading" : "readings", useful ? " The most useful: " : "",
                        useful ? useful : "", useful ? "." : "");
  return useful ? arena_printf(arena, "Read what tells more: %s.", useful)
                : "Read more closely: no single reading of a walk or a flow hood would tell more.";
}

static const char *of_match(const struct match_result *r, struct arena *arena)
{
  const char *useful = most_useful(r, arena);

  if (!useful)
    return "Nothing to mend by these readings. Keep the table with the suite file.";
  return arena_printf(arena, "Nothing to mend by these readings. To know %s closer: %s.",
                      r->next.pool, useful);
}

static const char *of_contradiction(const struct match_result *r, struct arena *arena)
{
  int i = 0;

  while (i < r->readings->count && r->rows[i].against < 0)
    i++;
  if (i == r->readings->count)
    return NULL;
  return arena_printf(arena,
                      "Read it once more: %s. It and reading %s exclude each other; strike out the "
                      "wrong one.",
                      reading_words(r, i, arena), r->readings->list[r->rows[i].against].id);
}

static const char *of_difference(const struct match_result *r, struct arena *arena)
{
  int moved = match_most_moved(r), far = farthest(r);
  const char *first = "", *then = "";

  if (far >= 0 && (r->outliers > 0 || moved < 0)) {
    int others = r->outliers > 1 ? r->outliers - 1 : 0;

    first = arena_printf(arena, "Read it again first: %s", reading_words(r, far, arena));
    first = others ? arena_printf(arena, "%s; unexplained beside it: %d. ", first, others)
                   : arena_printf(arena, "%s. ", first);
  }
  if (moved >= 0)
    then = arena_printf(arena, "%s at %s, before you take over what was fitted.",
                        first && *first ? "Then look" : "Look", look_at(r, moved, arena));
  return first && then ? arena_printf(arena, "%s%s", first, then) : NULL;
}

const char *match_next_action(const struct match_result *r, struct arena *arena)
{
  switch (r->verdict) {
  case MATCH_MATCHES:
    return of_match(r, arena);
  case MATCH_DIFFERS:
  case MATCH_UNEXPLAINED:
    return of_difference(r, arena);
  case MATCH_CONTRADICTS:
    return of_contradiction(r, arena);
  case MATCH_TOO_FEW:
    break;
  }
  return of_few(r, arena);
}
