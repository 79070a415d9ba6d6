/* The label of a bath: what it is in full words, who made it when, what to mind. */
#include "papers/label_impl.h"
#include "papers/papers_impl.h"

#include <math.h>
#include <string.h>

struct label {
  const struct papers_request *request;
  const struct papers_label *what;
  struct draw *draw;
  struct draw_place left, right;
  double y_mm; /* in the left column */
  struct label_hazards hazards;
};

/* ---- the page ---- */

static void say(struct label *label, double size_pt, bool bold, const char *text)
{
  struct draw_place place = {label->left.x_mm, label->y_mm, label->left.width_mm, 0};

  label->y_mm += draw_text(
      label->draw,
      &(struct draw_text){.text = text, .from = "label", .size_pt = size_pt, .bold = bold}, place);
}

static void skip(struct label *label, double height_mm)
{
  label->y_mm += height_mm;
}

static void put_contents(struct label *label)
{
  const struct bath_answer *a = label->what->answer;

  say(label, 21, true, a->title);
  skip(label, 1.5);
  for (int i = 0; i < a->holds_count; i++)
    say(label, 12, false,
        papers_words(label->request, "%s  %.3g wt%%   (CAS %s)", a->holds[i].substance->name,
                     a->holds[i].fraction_ratio * 100, a->holds[i].substance->cas));
}

static void put_blanks(struct label *label)
{
  const struct papers_label *w = label->what;

  skip(label, 3);
  say(label, 12, true,
      papers_words(label->request, "Made on %s   by %s",
                   w->made_on ? w->made_on : "________________",
                   w->made_by ? w->made_by : "____________________"));
  skip(label, 1);
  say(label, 12, false, "Opened ________________   Discard by ________________");
}

static void put_hazards(struct label *label)
{
  skip(label, 2.5);
  say(label, 8.5, false, label_hazard_words(label->request, &label->hazards));
}

static void find_hazards(struct label *label)
{
  const struct bath_answer *a = label->what->answer;
  const struct chem_table *t = label_hazard_table(label->request);

  label_add_codes(label->request, &label->hazards, t, a->hazards);
  for (int i = 0; i < a->holds_count; i++)
    label_add_substance(&label->hazards, t, a->holds[i].substance);
  label_keep_worst(&label->hazards, t);
}

static void put_cautions(struct label *label)
{
  const struct bath_answer *a = label->what->answer;

  skip(label, 2);
  for (int i = 0; i < a->cautions.count; i++)
    say(label, 8.5, true, a->cautions.line[i]);
  skip(label, 1.5);
  say(label, 8.5, false,
      papers_words(label->request, "Waste: %s (local rules decide). Ask: %s.",
                   *a->waste ? a->waste : "ask", a->asked));
}

static void put_right(struct label *label)
{
  label_right(label->draw, label->right, &label->hazards,
              papers_words(label->request, "bath: %s; made: %s", label->what->answer->title,
                           label->what->made_on ? label->what->made_on : "not written"));
}

static struct draw *open_label(const struct papers_request *request,
                               const struct papers_label *what, struct err *err)
{
  const struct facility *f = request->facility;
  struct draw_setup setup = {
      .size = request->size,
      .landscape = true,
      .title = papers_words(request, "Label, %s", what->answer->title),
      .head = f ? f->name : "Inward",
      .label = f ? f->label : NULL,
      .foot =
          "Pictograms and statements are those our tables hold for its substances (from memory, to be "
          "checked): the mixture's own come from its safety data sheet.\n"
          "A sanity check from tables, not an instruction: your procedure and the safety officer "
          "decide.",
      .revision = f ? papers_words(request, "Inward \u00b7 suite %.16s", f->sha256) : "Inward",
      .date = request->date,
  };

  complaints_init(&request->report->unprintable, request->report->arena);
  return draw_new(&setup, &request->report->unprintable, err);
}

enum err_code papers_label(const struct papers_request *request, const struct papers_label *what,
                           struct buf *out, struct err *err)
{
  static const double right_mm = 62, gap_mm = 5;
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
  find_hazards(&label);
  put_contents(&label);
  put_blanks(&label);
  put_hazards(&label);
  put_cautions(&label);
  put_right(&label);
  if (label.y_mm > label.left.y_mm + label.left.height_mm)
    draw_complain(label.draw, "label", "its text does not fit on one page; take a larger --size");
  return papers_close(request, label.draw, out, err);
}
