/* The sign at a station where something runs or cools with nobody there: read at two metres. */
#include "papers/papers_impl.h"

#include "run/run.h"

struct sign {
  const struct papers_request *request;
  struct draw *draw;
  const struct run_list *list;
  const struct run *run;
};

static void say(const struct sign *s, double size_pt, bool bold, const char *text)
{
  draw_flow(s->draw, &(struct draw_text){.text = text,
                                         .from = "a run with nobody there",
                                         .size_pt = size_pt * draw_scale_ratio(s->draw),
                                         .bold = bold});
}

static void under(const struct sign *s, const char *head, double size_pt, const char *text)
{
  draw_skip(s->draw, 3 * draw_scale_ratio(s->draw));
  say(s, 11, false, head);
  say(s, size_pt, true, text);
}

static const char *moment(const struct sign *s, int64_t t_ms)
{
  struct buf out;

  buf_init(&out, 100);
  when_print(&out, s->list->zone ? s->list->zone : when_utc(), t_ms);

  /* to the minute, local time: nobody at a station counts seconds or offsets */
  const char *words = papers_words(s->request, "%.16s", out.text);

  buf_release(&out);
  return words;
}

/* A sign hangs for hours: it says when, never that it is now. */
static void say_when(const struct sign *s)
{
  const struct run *r = s->run;

  if (r->over_ms == INT64_MIN) {
    under(s, "Somebody is back by", 20, moment(s, r->until_ms));
    say(s, 11, false, "After that, with nobody there: call.");
    return;
  }
  under(s, "Hot or reacting since it was over at", 14, moment(s, r->over_ms));
  under(s, "Leave it alone until", 20,
        r->cold_ms == INT64_MAX ? "not known: ask before you touch" : moment(s, r->cold_ms));
  say(s, 11, false,
      papers_words(s->request, "Why: %s. After that: measure before you touch.", r->why));
}

enum err_code papers_run(const struct papers_request *request, const struct run_list *list,
                         const struct run *run, struct buf *out, struct err *err)
{
  struct draw *draw = papers_open(request, "Runs with nobody there", err);
  const struct facility_station *at = &list->facility->stations[run->station];
  struct sign s = {request, draw, list, run};

  if (!draw)
    return err->code;
  draw_page(draw);
  say(&s, 30, true,
      run->over_ms == INT64_MIN ? "RUNS WITH NOBODY THERE" : "COOLS WITH NOBODY THERE");
  say(&s, 16, true,
      papers_words(request, "%s %s", at->part.id, at->part.name ? at->part.name : ""));
  say(&s, 14, true, "Do not touch, move or cover anything here.");
  under(&s, "What runs", 18, run->words.what);
  under(&s, "Holds", 16, run->words.holds);
  under(&s, "Hazards", 18, run->words.hazards);
  under(&s, "Call", 24, run->words.call);
  if (run->words.second)
    under(&s, "Also knows of it", 14, run->words.second);
  say_when(&s);
  draw_skip(draw, 3 * draw_scale_ratio(draw));
  say(&s, 10, false,
      papers_words(
          request,
          "Told by %s, entry %lld of the record. Take it down when somebody has looked and said so.",
          run->who, (long long)run->number));
  return papers_close(request, draw, out, err);
}
