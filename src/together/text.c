/* For people. */
#include "together/together_impl.h"

#include <string.h>

static const char *ids(const struct together_answer *a, uint32_t set, struct arena *arena)
{
  return together_ids(a, set, arena);
}

static void miss_lines(const struct together_set *set, struct buf *out)
{
  if (set->miss_count == 0)
    buf_puts(out, "something is missed at the doubtful end");
  for (int k = 0; k < set->miss_count && k < 2; k++)
    buf_printf(out, "%s%s", k ? "; " : "", set->misses[k]);
  if (set->miss_count > 2)
    buf_printf(out, "; and %d more", set->miss_count - 2);
  buf_putc(out, '\n');
}

static void how_many(const struct together_answer *a, struct buf *out)
{
  const struct together_sets *s = &a->sets;
  int column = s->sure;

  buf_printf(out, "\nHow many\n  any %d of %d, whichever they are; at best %d\n", s->any[column],
             a->count, s->best[column]);
  if (s->sure)
    buf_printf(out, "  at the best estimate, within the doubt of the figures: any %d, at best %d\n",
               s->any[0], s->best[0]);
  buf_printf(out, "  of %ld sets %ld miss nothing%s; the words allow %ld of them\n", 1l << a->count,
             s->sure ? s->sure_count : s->fine_count, s->sure ? " at the doubtful end" : "",
             s->allowed_count);
}

static void largest_lines(const struct together_answer *a, struct buf *out, struct arena *arena)
{
  const struct together_sets *s = &a->sets;
  int best = s->best[s->sure];

  if (best == a->count)
    return;
  buf_printf(out, "\nLargest: %d station%s, %ld such set%s\n", best, best == 1 ? "" : "s",
             s->best_count, s->best_count == 1 ? "" : "s");
  for (int i = 0; i < s->best_shown && i < 4; i++)
    buf_printf(out, "  %s\n", ids(a, s->largest[i].stations, arena));
}

static void tightest_lines(const struct together_answer *a, struct buf *out, struct arena *arena)
{
  const struct together_sets *s = &a->sets;

  if (s->tightest_count > 0)
    buf_puts(out, "\nTightest: these are full, though few are open\n");
  for (int i = 0; i < s->tightest_shown && i < 4; i++) {
    const struct together_set *set = &s->tightest[i];

    buf_printf(out, "  %s", ids(a, set->stations, arena));
    if (set->next >= 0)
      buf_printf(out, ": with %s, ", a->facility->stations[a->stations[set->next]].part.id);
    miss_lines(set, out);
  }
}

static void breaking_lines(const struct together_answer *a, struct buf *out, struct arena *arena)
{
  const struct together_sets *s = &a->sets;

  if (s->breaking_count > 0)
    buf_printf(out, "\nWhat breaks it, smallest first: %ld set%s from which none may be left out\n",
               s->breaking_count, s->breaking_count == 1 ? "" : "s");
  for (int i = 0; i < s->breaking_shown && i < 8; i++) {
    buf_printf(out, "  %s: ", ids(a, s->breaking[i].stations, arena));
    miss_lines(&s->breaking[i], out);
  }
}

static void sets_lines(const struct together_answer *a, struct buf *out, struct arena *arena)
{
  how_many(a, out);
  largest_lines(a, out, arena);
  tightest_lines(a, out, arena);
  breaking_lines(a, out, arena);
}

static void lost_lines(const struct together_answer *a, struct buf *out)
{
  if (a->lost_count == 0)
    return;
  buf_printf(out, "\nWhen something is lost (first: %s)\n", together_first_line);
  for (int i = 0; i < a->lost_count; i++) {
    const struct together_lost *lost = &a->lost[i];

    buf_printf(out, "  %s: %s\n", lost->what, lost->sets.words);
  }
}

static void add_work(struct together_work *sum, const struct together_work *w)
{
  sum->states += w->states;
  sum->solved += w->solved;
  sum->checked += w->checked;
  sum->corrected += w->corrected;
  sum->not_monotone += w->not_monotone;
  sum->fallbacks += w->fallbacks;
  sum->unanswered += w->unanswered;
  sum->several += w->several;
}

static void work_lines(const struct together_answer *a, struct buf *out)
{
  struct together_work w = a->sets.work;

  for (int i = 0; i < a->lost_count; i++)
    add_work(&w, &a->lost[i].sets.work);
  buf_printf(
      out,
      "\nHow it was found\n  %ld states that differ by more than the names of equal stations, "
      "%ld solved, %ld checked a second time from nothing; %ld corrected\n",
      w.states, w.solved, w.checked, w.corrected);
  buf_printf(out, "  %ld where raising one more ended a miss; %ld steps of the safer method\n",
             w.not_monotone, w.fallbacks);
  if (w.unanswered > 0)
    buf_printf(out, "  %ld without an answer: they count as missing something\n", w.unanswered);
  if (w.several > 0)
    buf_printf(out, "  %ld with several solutions\n", w.several);
}

static void own_fault_line(const struct together_answer *a, struct buf *out, struct arena *arena)
{
  if (a->sets.own_fault)
    buf_printf(
        out,
        "  %s: misses its criterion even alone: its own fault, not of the shared air; counted by "
        "what it draws\n",
        ids(a, a->sets.own_fault, arena));
}

void together_text(const struct together_answer *a, struct buf *out)
{
  const struct facility *f = a->facility;
  struct arena arena;

  arena_init(&arena, (size_t)64 << 20);
  buf_printf(out, "%s%s%s%s   who may work together%s%s%s%s\n\n", f->name ? f->name : "(no name)",
             f->label ? "   [" : "", f->label ? f->label : "", f->label ? "]" : "",
             a->scene ? "   scene: " : "", a->scene ? a->scene : "", a->base ? "   " : "",
             a->base ? a->base : "");
  buf_printf(out, "  %s\n", a->sets.words);
  buf_puts(out, "  Shared air only. Your station's own alarm decides.\n");
  if (!a->sets.known)
    buf_printf(out, "\n  %s\n", a->sets.why);
  own_fault_line(a, out, &arena);
  for (int i = 1; a->sets.nothing && i < a->sets.parked_count; i++)
    buf_printf(out, "  %s\n", a->sets.parked_misses[i]);
  if (a->sets.known && !a->sets.nothing)
    sets_lines(a, out, &arena);
  lost_lines(a, out);
  if (a->sets.known)
    work_lines(a, out);
  buf_puts(out, "\nNot known\n");
  for (int i = 0; i < a->unknown_count; i++)
    buf_printf(out, "  - %s\n", a->unknown[i]);
  buf_printf(
      out,
      "\nTier %s, suite file %.12s. It advises; staff and local rules decide. Void after any "
      "change of fan, damper, filter or balance.\n",
      air_tier_name(a->tier), f->sha256);
  arena_release(&arena);
}
