/* The label of a bath: what it is in full words, who made it when, what to mind. */
#include "papers/label_impl.h"
#include "papers/papers_impl.h"

#include <math.h>
#include <string.h>

enum { HAZARDS_MOST = 40 };

struct hazard {
  const char *code, *words;
  int pictogram; /* -1: none */
};

struct label {
  const struct papers_request *request;
  const struct papers_label *what;
  struct draw *draw;
  struct draw_place left, right;
  double y_mm; /* in the left column */
  int hazard_count;
  struct hazard hazards[HAZARDS_MOST];
};

/* ---- hazard codes ---- */

static int pictogram_index(const char *name)
{
  for (int i = 0; i < papers_pictogram_count(); i++)
    if (strcmp(papers_pictogram_name(i), name) == 0)
      return i;
  return -1;
}

static bool has_code(const struct label *label, const char *code)
{
  for (int i = 0; i < label->hazard_count; i++)
    if (strcmp(label->hazards[i].code, code) == 0)
      return true;
  return false;
}

static void add_code(struct label *label, const struct chem_table *t, const char *code)
{
  if (has_code(label, code) || label->hazard_count == HAZARDS_MOST)
    return;
  for (int i = 0; i < t->row_count; i++)
    if (strcmp(chem_cell(t, i, "code"), code) == 0) {
      label->hazards[label->hazard_count++] = (struct hazard){
          code, chem_cell(t, i, "words"), pictogram_index(chem_cell(t, i, "pictogram"))};
      return;
    }
}

/* "H272 H330" */
static void add_listed(struct label *label, const struct chem_table *t, const char *codes)
{
  while (*codes) {
    int length = (int)strcspn(codes, " ");

    add_code(label, t, papers_words(label->request, "%.*s", length, codes));
    codes += length + (codes[length] == ' ');
  }
}

static int row_of(const struct chem_table *t, const char *code)
{
  for (int i = 0; i < t->row_count; i++)
    if (strcmp(chem_cell(t, i, "code"), code) == 0)
      return i;
  return -1;
}

/* Whether `list` ("skin;eye") has the class. */
static bool has_class(const char *list, const char *name, size_t length)
{
  for (const char *at = list; *at;) {
    size_t here = strcspn(at, ";");

    if (here == length && strncmp(at, name, length) == 0)
      return true;
    at += here + (at[here] == ';');
  }
  return false;
}

/* Whether a worse code of the label, a row above it, has this class. */
static bool worse_there(const struct label *label, const struct chem_table *t, int row,
                        const char *name, size_t length)
{
  for (int i = 0; i < label->hazard_count; i++) {
    int other = row_of(t, label->hazards[i].code);

    if (other >= 0 && other < row && has_class(chem_cell(t, other, "class"), name, length))
      return true;
  }
  return false;
}

/* Every class of it has a worse code: the label says the worst of each class only. */
static bool is_covered(const struct label *label, const struct chem_table *t, const char *code)
{
  int row = row_of(t, code);

  for (const char *at = chem_cell(t, row, "class"); *at;) {
    size_t length = strcspn(at, ";");

    if (!worse_there(label, t, row, at, length))
      return false;
    at += length + (at[length] == ';');
  }
  return true;
}

static void keep_worst(struct label *label, const struct chem_table *t)
{
  struct label all = *label;

  label->hazard_count = 0;
  for (int i = 0; i < all.hazard_count; i++)
    if (!is_covered(&all, t, all.hazards[i].code))
      label->hazards[label->hazard_count++] = all.hazards[i];
}

static void find_hazards(struct label *label)
{
  const struct chem_table *t = chem_table("hazard_codes", label->request->report->arena);
  const struct bath_answer *a = label->what->answer;

  add_listed(label, t, a->hazards);
  for (int i = 0; i < a->holds_count; i++)
    for (int k = 0; k < a->holds[i].substance->hazard_count; k++)
      add_code(label, t, a->holds[i].substance->hazards[k]);
  keep_worst(label, t);
}

static bool has_pictogram(const struct label *label, const char *name)
{
  for (int i = 0; i < label->hazard_count; i++)
    if (label->hazards[i].pictogram == pictogram_index(name))
      return true;
  return false;
}

/*
 * GHS 1.4.10.5.3.1: no exclamation mark beside the skull; none for skin or eye irritation beside the
 * corrosion; none for skin sensitisation or irritation beside a health hazard for the airways.
 */
static bool stands(const struct label *label, const struct hazard *h)
{
  static const char *const irritation[] = {"H315", "H319"};
  bool skin = strcmp(h->code, irritation[0]) == 0 || strcmp(h->code, irritation[1]) == 0;

  if (h->pictogram != pictogram_index("exclamation"))
    return true;
  if (has_pictogram(label, "skull") || (skin && has_pictogram(label, "corrosion")))
    return false;
  return !(has_code(label, "H334") && (skin || strcmp(h->code, "H317") == 0));
}

static bool shown(const struct label *label, int pictogram)
{
  for (int i = 0; i < label->hazard_count; i++)
    if (label->hazards[i].pictogram == pictogram && stands(label, &label->hazards[i]))
      return true;
  return false;
}

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
  const char *list = "";

  for (int i = 0; i < label->hazard_count; i++)
    list = papers_words(label->request, "%s%s%s (%s).", list, *list ? " " : "",
                        label->hazards[i].words, label->hazards[i].code);
  skip(label, 2.5);
  say(label, 8.5, false, list);
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

/* Two beside one another, the QR code below them. */
static void put_right(struct label *label)
{
  static const double gap_mm = 2, code_mm = 30;
  const struct draw_place right = label->right;
  double side_mm = (right.width_mm - gap_mm) / 2;
  int count = 0;

  for (int i = 0; i < papers_pictogram_count(); i++)
    if (shown(label, i)) {
      int row = count / 2;

      papers_pictogram(label->draw, i,
                       (struct draw_place){right.x_mm + count % 2 * (side_mm + gap_mm),
                                           right.y_mm + row * (side_mm + gap_mm), side_mm,
                                           side_mm});
      count++;
    }
  draw_qr(label->draw,
          papers_words(label->request, "bath: %s; made: %s", label->what->answer->title,
                       label->what->made_on ? label->what->made_on : "not written"),
          "label",
          (struct draw_place){right.x_mm + right.width_mm - code_mm,
                              right.y_mm + right.height_mm - code_mm, code_mm, code_mm});
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
