/* The answer of `inward may` as a letter: the answer and its reasons on one page, lines for who decides. */
#include "papers/papers_impl.h"

#include <string.h>

struct letter {
  const struct papers_request *request;
  const struct may_answer *answer;
  const char *asked_on;
  struct draw *draw;
  double size_pt;
  int reasons_most; /* of each kind, where the page would not hold all */
};

enum { REASONS_MOST = 32 };

/* 7 pt is the least that is read at half a metre (common practice, no source). */
static const double sizes_pt[] = {10, 9, 8, 7.5, 7};

static void say(const struct letter *l, double size_ratio, bool bold, const char *text)
{
  draw_flow(l->draw, &(struct draw_text){.text = papers_words(l->request, "%s", text),
                                         .from = "letter",
                                         .size_pt = l->size_pt * size_ratio,
                                         .bold = bold});
}

static void skip(const struct letter *l, double height_mm)
{
  draw_skip(l->draw, height_mm * draw_scale_ratio(l->draw));
}

static void put_answer(const struct letter *l)
{
  const struct may_answer *a = l->answer;
  bool new = a->request->asked != NULL;
  const char *verdict =
      a->verdict == MAY_NO            ? new ? "Not here, as it is asked" : "Not as it is asked"
      : a->verdict == MAY_UNCONFIRMED ? "Not decided: some things are to be confirmed"
                                      : "The rules that are written are met";

  say(l, 0.9, true, "NOT A PERMIT");
  say(l, 2, true, verdict);
  say(l, 1.2, false,
      papers_words(l->request, "%s%s%s%s%s (%s) at %s (%s)%s%s", a->who ? a->who : "",
                   a->name ? ", " : "", a->name ? a->name : "", a->who ? ": " : "",
                   a->process->part.id, a->process->part.name, a->station->part.id,
                   a->station->part.name, l->asked_on ? ", " : "", l->asked_on ? l->asked_on : ""));
  say(l, 1, false,
      papers_words(l->request, "Permission is given by %s.%s", a->permission_by,
                   a->process->document
                       ? papers_words(l->request, " Document: %s, version %s, next review %s.",
                                      a->process->document, a->process->version, a->process->review)
                       : " No written procedure is named."));
}

static int count_of(const struct may_answer *a, enum may_verdict verdict)
{
  int count = 0;

  for (int i = 0; i < a->reason_count; i++)
    count += a->reasons[i].verdict == verdict;
  return count;
}

static void put_reasons(const struct letter *l, enum may_verdict verdict, const char *heading)
{
  const struct may_answer *a = l->answer;
  int count = count_of(a, verdict), shown = 0;

  if (count == 0)
    return;
  skip(l, 2.5);
  say(l, 1.15, true, heading);
  for (int i = 0; i < a->reason_count && shown < l->reasons_most; i++) {
    const struct may_reason *r = &a->reasons[i];

    if (r->verdict != verdict)
      continue;
    say(l, 1, false,
        papers_words(l->request, "- %s%s%s: %s [%s]", r->kind, r->id ? " " : "", r->id ? r->id : "",
                     r->say, r->source));
    shown++;
  }
  if (shown < count)
    say(l, 1, false,
        papers_words(l->request, "- and %d more: `inward may` lists all of them", count - shown));
}

static const char *joined(const struct letter *l, const struct may_list *list)
{
  const char *text = "";

  for (int i = 0; i < list->count; i++)
    text = papers_words(l->request, "%s%s%s", text, i > 0 ? " and " : "", list->changes[i]);
  return text;
}

static void put_lists(const struct letter *l, const struct may_list *list, int count,
                      const char *heading)
{
  static const char *const after[] = {"then the rules are met", "then to be confirmed",
                                      "then still not"};

  if (count == 0)
    return;
  skip(l, 2.5);
  say(l, 1.15, true, heading);
  for (int i = 0; i < count; i++)
    say(l, 1, false,
        papers_words(l->request, "- %s: %s", joined(l, &list[i]), after[list[i].after]));
}

/* What is met in a line: whoever wants the words has them from the program. */
static void put_met(const struct letter *l)
{
  const struct may_answer *a = l->answer;
  const char *text = "";

  for (int i = 0; i < a->reason_count; i++) {
    const struct may_reason *r = &a->reasons[i];

    if (r->verdict == MAY_MET)
      text = papers_words(l->request, "%s%s%s%s%s", text, *text ? ", " : "", r->kind,
                          r->id ? " " : "", r->id ? r->id : "");
  }
  if (!*text)
    return;
  skip(l, 2.5);
  say(l, 1.15, true, "Met, as far as was confirmed");
  say(l, 1, false, text);
}

static void put_lines(const struct letter *l)
{
  skip(l, 4);
  say(l, 1.15, true, "Who decides");
  skip(l, 3);
  say(l, 1, false, "Allowed / refused / allowed with conditions: ______________________________");
  skip(l, 4);
  say(l, 1, false, "Name, role: ______________________________   Day: ______________");
  skip(l, 2);
  say(l, 0.85, false,
      "This letter lists rules, tables and figures that are written down, and what they say of the "
      "question. It clears nothing: what is not listed is not thereby harmless. Local rules and the "
      "safety officer decide; a station's own alarm decides first.");
}

static void all_of(const struct letter *l)
{
  const struct may_answer *a = l->answer;
  bool new = a->request->asked != NULL;

  draw_page(l->draw);
  put_answer(l);
  put_reasons(l, MAY_NO, "Against it");
  put_reasons(l, MAY_UNCONFIRMED, "To be confirmed before anybody starts");
  put_lists(l, a->lists, a->list_count, "What would change the answer, the fewest changes");
  put_lists(l, a->others, a->other_count,
            new ? "Other stations" : "Another station, hour or company");
  put_met(l);
  put_lines(l);
}

enum err_code papers_letter(const struct papers_request *request, const struct may_answer *answer,
                            const char *asked_on, struct buf *out, struct err *err)
{
  size_t count = sizeof sizes_pt / sizeof sizes_pt[0];
  struct letter l = {.request = request, .answer = answer, .asked_on = asked_on};

  for (l.reasons_most = REASONS_MOST;; l.reasons_most -= 4)
    for (size_t i = 0; i < count; i++) {
      l.size_pt = sizes_pt[i];
      l.draw = papers_open(request, "Rules and reasons", err);
      if (!l.draw)
        return err->code;
      all_of(&l);
      if (draw_page_count(l.draw) == 1 || (i + 1 == count && l.reasons_most <= 4))
        return papers_close(request, l.draw, out, err);
      draw_free(l.draw);
    }
}
