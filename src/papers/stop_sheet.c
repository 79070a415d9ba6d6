/* A planned stop on a door: what to do in the largest letters, the reasons below. */
#include "papers/papers_impl.h"

static void say(const struct papers_request *request, struct draw *draw, double size_pt, bool bold,
                const char *text)
{
  draw_flow(draw, &(struct draw_text){.text = papers_words(request, "%s", text),
                                      .from = "planned stop",
                                      .size_pt = size_pt * draw_scale_ratio(draw),
                                      .bold = bold});
}

static void list(const struct papers_request *request, struct draw *draw, const char *heading,
                 const char *const *lines, int count)
{
  if (count == 0)
    return;
  draw_skip(draw, 3 * draw_scale_ratio(draw));
  say(request, draw, 11, true, heading);
  for (int i = 0; i < count; i++)
    say(request, draw, 10, false, papers_words(request, "- %s", lines[i]));
}

enum err_code papers_stop(const struct papers_request *request, const struct stop_notice *notice,
                          struct buf *out, struct err *err)
{
  struct draw *draw = papers_open(request, "Planned stop", err);
  struct buf details;

  if (!draw)
    return err->code;
  draw_page(draw);
  say(request, draw, 22, true, "Planned stop");
  say(request, draw, 15, true, notice->when ? notice->when : "Time: ____________________");
  say(request, draw, 13, false, papers_words(request, "Off: %s", notice->what));
  draw_skip(draw, 5 * draw_scale_ratio(draw));
  for (int i = 0; i < notice->act_count; i++) {
    say(request, draw, i == 0 ? 18 : 14, i == 0, notice->acts[i]);
    draw_skip(draw, 2 * draw_scale_ratio(draw));
  }
  list(request, draw, "Ask and arrange", notice->asks, notice->ask_count);
  list(request, draw, "Missed with everything parked", notice->missed, notice->missed_count);
  draw_skip(draw, 3 * draw_scale_ratio(draw));
  buf_init(&details, 1 << 16);
  stop_technician_text(notice, request->units, &details);
  say(request, draw, 8.5, false, details.text);
  buf_release(&details);
  list(request, draw, "Not known", notice->unknown, notice->unknown_count);
  return papers_close(request, draw, out, err);
}
