/* One station more, for people and as JSON. */
#include "together/together_impl.h"

#include "base/emit.h"
#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

enum { ROWS_SHOWN = 8 };

static const char *const days[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
static const char *const long_days[] = {"Mondays", "Tuesdays",  "Wednesdays", "Thursdays",
                                        "Fridays", "Saturdays", "Sundays"};

/* ---- which hours ---- */

static uint32_t hours_of_day(const struct together_added *a, int first, int day)
{
  uint32_t mask = 0;

  for (int hour = 0; hour < 24; hour++)
    mask |= a->hours[24 * day + hour].first == first ? 1u << hour : 0u;
  return mask;
}

static void put_runs(uint32_t mask, struct buf *out)
{
  for (int hour = 0; hour < 24; hour++) {
    int end = hour;

    while (end < 24 && mask >> end & 1u)
      end++;
    if (end > hour) {
      buf_printf(out, " %d-%d", hour, end);
      hour = end;
    }
  }
}

/* "Mon-Fri 8-18, Sat 9-12" */
static void put_hours(const struct together_added *a, int first, struct buf *out)
{
  bool any = false;

  for (int day = 0; day < 7; day++) {
    uint32_t mask = hours_of_day(a, first, day);
    int last = day;

    if (!mask)
      continue;
    while (last < 6 && hours_of_day(a, first, last + 1) == mask)
      last++;
    buf_printf(out, "%s%s%s%s", any ? ", " : "", days[day], last > day ? "-" : "",
               last > day ? days[last] : "");
    if (mask != (1u << 24) - 1)
      put_runs(mask, out);
    any = true;
    day = last;
  }
}

/* ---- rows ---- */

static bool is_worse(const struct together_hour *x, const struct together_hour *y)
{
  if (x->after.short_ratio != y->after.short_ratio)
    return x->after.short_ratio > y->after.short_ratio;
  return x->after.near_ratio > y->after.near_ratio;
}

static int sort_rows(const struct together_added *a, int rows[TOGETHER_HOURS])
{
  int count = 0;

  for (int hour = 0; hour < TOGETHER_HOURS; hour++) {
    int at = count;

    if (a->hours[hour].first != hour)
      continue;
    for (; at > 0 && is_worse(&a->hours[hour], &a->hours[rows[at - 1]]); at--)
      rows[at] = rows[at - 1];
    rows[at] = hour;
    count++;
  }
  return count;
}

/* Is near limit met in these hours at all? */
static bool is_ever(const struct together_hour *h)
{
  return h->after.near_ratio > 1e-9 || h->after.near_like_ratio > 1e-9;
}

static void put_change(const char *what, double before, double after, struct buf *out)
{
  buf_printf(out, "    %s ", what);
  numeric_odds(before, out);
  buf_puts(out, ", then ");
  numeric_odds(after, out);
  buf_putc(out, '\n');
}

static void put_row(const struct together_added *a, int hour, struct buf *out)
{
  const struct together_hour *h = &a->hours[hour];
  const struct together_chance *b = &h->before, *n = &h->after;

  buf_puts(out, "  ");
  put_hours(a, hour, out);
  buf_putc(out, '\n');
  put_change("short, each by itself:         ", b->short_ratio, n->short_ratio, out);
  put_change("short, they come together:     ", b->short_together_ratio, n->short_together_ratio,
             out);
  put_change("near limit or short, by itself:", b->near_ratio, n->near_ratio, out);
  put_change("near limit or short, together: ", b->near_together_ratio, n->near_together_ratio,
             out);
  if (h->like_days == 0)
    return;
  buf_puts(out, "    short ");
  numeric_odds(b->short_like_ratio, out);
  buf_puts(out, ", then ");
  numeric_odds(n->short_like_ratio, out);
  buf_printf(out, ", from %d like %s; near limit or short ", h->like_days, long_days[hour / 24]);
  numeric_odds(b->near_like_ratio, out);
  buf_puts(out, ", then ");
  numeric_odds(n->near_like_ratio, out);
  buf_putc(out, '\n');
}

static const char *use_words(const struct together_use *use, struct arena *arena)
{
  double most = use->up_ratio[0], least = use->up_ratio[0];

  for (int hour = 1; hour < TOGETHER_HOURS; hour++) {
    most = fmax(most, use->up_ratio[hour]);
    least = fmin(least, use->up_ratio[hour]);
  }
  return arena_printf(arena, "%.0f %%%s, %s", 100 * most, least < most ? " at most" : "",
                      use->from);
}

/* Those of the same words together. */
static void put_uses(const struct together_added *a, struct buf *out, struct arena *arena)
{
  const struct together_answer *after = a->request->after;
  const char *words[AIR_SETS_MAX];
  uint32_t told = 0;

  for (int i = 0; i < after->count; i++)
    words[i] = use_words(&a->request->after_use[after->stations[i]], arena);
  for (int i = 0; i < after->count; i++) {
    uint32_t same = 0;

    for (int k = i; k < after->count; k++)
      same |= strcmp(words[k], words[i]) == 0 ? 1u << k : 0u;
    if (!(told >> i & 1u))
      buf_printf(out, "%s%s: %s", told ? "; " : "", together_ids(after, same, arena), words[i]);
    told |= same;
  }
}

void together_added_text(const struct together_added *a, struct buf *out)
{
  const struct together_answer *before = a->request->before, *after = a->request->after;
  const struct facility *f = before->facility;
  struct arena arena;
  int rows[TOGETHER_HOURS], count = sort_rows(a, rows), shown = 0;

  arena_init(&arena, (size_t)16 << 20);
  buf_printf(out, "%s%s%s%s   one station more: %s   TRIAL, not live\n\n",
             f->name ? f->name : "(no name)", f->label ? "   [" : "", f->label ? f->label : "",
             f->label ? "]" : "", together_ids(after, a->added, &arena));
  buf_printf(out, "  Who may work together now:  %s\n  Then:                       %s\n",
             before->sets.words, after->sets.words);
  buf_puts(out, "  Shared air only. Your station's own alarm decides.\n\n");
  buf_puts(out, "How probable, at a moment in these hours (now, then with it)\n");
  for (int i = 0; i < count; i++)
    if (i < ROWS_SHOWN && (i == 0 || is_ever(&a->hours[rows[i]]))) {
      put_row(a, rows[i], out);
      shown++;
    }
  if (count > shown)
    buf_printf(out, "  and %d more group%s of hours, none of them worse (--json has all)\n",
               count - shown, count - shown == 1 ? "" : "s");
  buf_puts(out, "\nAssumed\n  - share of the time at work: ");
  put_uses(a, out, &arena);
  buf_printf(
      out,
      "\n  - by itself: each independent of the others, which is optimistic; together: one common "
      "cause, correlation %.0f %% (%s)\n"
      "  - from like days: quarter hours of the record as they were, the new one added by its use; "
      "few days tell little\n"
      "  - open is at the mark; short is by the best estimate%s\n",
      100 * a->request->together_ratio, a->request->together_from,
      before->sets.sure ? ", near limit counts the doubt of the figures" : "");
  buf_puts(out, "  - the suite's own margin of headroom is not in near limit here\n");
  buf_puts(
      out,
      "\nA decision about a station also asks for what no probability tells: what happens when a fan is "
      "lost (inward together), the work itself, and whoever is responsible.\n");
  arena_release(&arena);
}

/* ---- JSON ---- */

static void chance(struct emit *j, const char *key, const struct together_chance *c)
{
  emit_object(j, key);
  emit_number(j, "short_ratio", c->short_ratio);
  emit_number(j, "near_or_short_ratio", c->near_ratio);
  emit_number(j, "short_together_ratio", c->short_together_ratio);
  emit_number(j, "near_or_short_together_ratio", c->near_together_ratio);
  emit_number(j, "short_like_ratio", c->short_like_ratio);
  emit_number(j, "near_or_short_like_ratio", c->near_like_ratio);
  emit_close(j);
}

static void side(struct emit *j, const char *key, const struct together_answer *a)
{
  emit_object(j, key);
  emit_text(j, "suite_sha256", a->facility->sha256);
  emit_text(j, "words", a->sets.words);
  emit_bool(j, "exact", a->sets.exact);
  emit_int(j, "any", a->sets.any[a->sets.sure]);
  emit_int(j, "best", a->sets.best[a->sets.sure]);
  emit_close(j);
}

void together_added_json(const struct together_added *a, struct buf *out)
{
  const struct together_add_request *r = a->request;
  struct emit json, *j = &json;

  emit_begin(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", "inward.added.1");
  emit_text(j, "suite", r->before->facility->name);
  emit_text(j, "label", r->before->facility->label);
  emit_text(j, "engine", INWARD_VERSION);
  emit_bool(j, "trial", true);
  emit_array(j, "added");
  for (uint32_t left = a->added; left; left &= left - 1)
    emit_text(j, NULL,
              r->after->facility->stations[r->after->stations[__builtin_ctz(left)]].part.id);
  emit_close(j);
  side(j, "before", r->before);
  side(j, "after", r->after);
  emit_number(j, "together_ratio", r->together_ratio);
  emit_text(j, "together_from", r->together_from);
  emit_array(j, "hours");
  for (int hour = 0; hour < TOGETHER_HOURS; hour++) {
    const struct together_hour *h = &a->hours[hour];

    emit_object(j, NULL);
    emit_text(j, "day", days[hour / 24]);
    emit_int(j, "hour", hour % 24);
    emit_int(j, "like_days", h->like_days);
    chance(j, "before", &h->before);
    chance(j, "after", &h->after);
    emit_close(j);
  }
  emit_close(j);
  emit_close(j);
  emit_end(j);
}
