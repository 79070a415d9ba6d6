/* The label of a waste container: what it ever held in full words, since when, what to mind. */
#include "papers/label_impl.h"
#include "papers/papers_impl.h"

#include <string.h>

struct label {
  const struct papers_request *request;
  const struct papers_waste *what;
  struct draw *draw;
  struct draw_place left, right;
  double y_mm; /* in the left column */
  struct label_hazards hazards;
};

static void say(struct label *label, double size_pt, bool bold, const char *text)
{
  struct draw_place place = {label->left.x_mm, label->y_mm, label->left.width_mm, 0};

  label->y_mm += draw_text(
      label->draw,
      &(struct draw_text){.text = text, .from = "label", .size_pt = size_pt, .bold = bold}, place);
}

static const char *day(const struct label *label, int64_t t_ms)
{
  struct when_civil at = when_civil(label->what->place->zone, t_ms, NULL);

  return papers_words(label->request, "%04d-%02d-%02d", at.year, at.month, at.day);
}

/* ---- what it held ---- */

static void put_one(struct label *label, const struct chem_table *t, const char *what)
{
  struct wet_content c = wet_content(label->what->place, what, label->request->report->arena);
  const char *list = "";

  for (int i = 0; i < c.substance_count; i++) {
    list = papers_words(label->request, "%s%s%s", list, i > 0 ? ", " : "", c.substances[i]->name);
    label_add_substance(&label->hazards, t, c.substances[i]);
  }
  label_add_codes(label->request, &label->hazards, t, c.hazards);
  if (c.substance_count == 0)
    say(label, 12, true,
        papers_words(label->request, "%s: not in the tables: write its full name ____________",
                     c.name));
  else if (c.substance_count == 1 && strcmp(c.name, c.substances[0]->name) == 0)
    say(label, 12, false, c.name);
  else
    say(label, 12, false, papers_words(label->request, "%s: %s", c.name, list));
}

static void put_contents(struct label *label)
{
  const struct wet_container *c = label->what->container;
  const struct chem_table *t = label_hazard_table(label->request);

  say(label, 15, true, "HAZARDOUS WASTE");
  say(label, 21, true,
      papers_words(label->request, "%s  %s", c->id,
                   c->stream ? c->stream->part.name : "stream not known"));
  label->y_mm += 1.5;
  if (!c->opened || !c->history_known)
    say(label, 13, true,
        "WHAT IT EVER HELD IS NOT KNOWN: do not open, move or add to it. Ask the person in charge.");
  for (int i = 0; i < c->held_count; i++)
    put_one(label, t, c->held[i]);
  if (c->held_count == 0 && c->opened)
    say(label, 12, false, "Nothing told in it yet: print anew when something went in.");
  label_keep_worst(&label->hazards, t);
}

static void put_days(struct label *label)
{
  const struct wet_container *c = label->what->container;

  label->y_mm += 2.5;
  say(label, 12, true,
      papers_words(label->request, "Begun %s   First in %s",
                   c->opened ? day(label, c->opened->t_ms) : "not known",
                   c->first_ms == INT64_MIN ? "__________" : day(label, c->first_ms)));
  say(label, 12, true,
      papers_words(label->request, "Full %s",
                   c->closed ? day(label, c->closed->t_ms) : "________________"));
  if (c->due_ms != INT64_MIN)
    say(label, 12, false,
        papers_words(label->request, "Goes by %s: %s", day(label, c->due_ms), c->due_why));
}

static void put_cautions(struct label *label)
{
  const struct wet_container *c = label->what->container;

  label->y_mm += 2;
  if (c->gives_gas)
    say(label, 12, true,
        c->stream && c->stream->vented
            ? papers_words(label->request, "VENTED CAP ONLY (%s): gas may come off it.",
                           c->stream->vented_by)
            : "GAS MAY COME OFF IT, and its cap is not told vented: ask the safety officer now.");
  else if (c->history_known && c->stream && c->state != WET_NOT_KNOWN)
    say(label, 8.5, true, "Keep it shut but while it is filled.");
  else
    say(label, 12, true,
        "Whether gas comes off it is NOT KNOWN: do not shut it tight, ask the safety officer.");
  for (int i = 0; c->history_known && i < c->reasons.count; i++)
    say(label, 8.5, true, c->reasons.line[i]);
  label->y_mm += 1.5;
  say(label, 8.5, false, label_hazard_words(label->request, &label->hazards));
  if (c->stream)
    say(label, 8.5, false,
        papers_words(label->request, "At %s. Ask: %s.",
                     label->what->place->facility->stations[c->stream->station].part.id,
                     label->what->place->facility->call ? label->what->place->facility->call
                                                        : "______________"));
}

static struct draw *open_label(const struct papers_request *request,
                               const struct papers_waste *what, struct err *err)
{
  const struct facility *f = what->place->facility;
  struct draw_setup setup = {
      .size = request->size,
      .landscape = true,
      .title = papers_words(request, "Waste label, %s", what->container->id),
      .head = f->name,
      .label = f->label,
      .foot =
          "By what people told of it. Pictograms and statements are those our tables hold for its substances "
          "(from memory, to be checked): the mixture's own are for the safety officer to say.\n"
          "The words that your law wants on it decide; 40 CFR 262.15(a)(5) wants \"Hazardous Waste\" and its "
          "hazards.",
      .revision = papers_words(request, "Inward \u00b7 suite %.16s", f->sha256),
      .date = request->date,
  };

  complaints_init(&request->report->unprintable, request->report->arena);
  return draw_new(&setup, &request->report->unprintable, err);
}

enum err_code papers_waste(const struct papers_request *request, const struct papers_waste *what,
                           struct buf *out, struct err *err)
{
  static const double right_mm = 62, gap_mm = 5;
  const struct wet_container *c = what->container;
  struct label label = {.request = request, .what = what};

  label.draw = open_label(request, what, err);
  if (!label.draw)
    return err->code;
  draw_page(label.draw);
  label.left = label.right = draw_area(label.draw);
  label.left.width_mm -= right_mm + gap_mm;
  label.right.x_mm += label.left.width_mm + gap_mm;
  label.right.width_mm = right_mm;
  label.y_mm = label.left.y_mm;
  put_contents(&label);
  put_days(&label);
  put_cautions(&label);
  label_right(label.draw, label.right, &label.hazards,
              papers_words(request, "waste: %s; begun: %s; entry: %lld", c->id,
                           c->opened ? day(&label, c->opened->t_ms) : "not known",
                           (long long)(c->last ? c->last->number : 0)));
  if (label.y_mm > label.left.y_mm + label.left.height_mm)
    draw_complain(label.draw, "label", "its text does not fit on one page; take a larger --size");
  return papers_close(request, label.draw, out, err);
}
