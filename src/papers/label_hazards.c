/* Hazard codes of a label: the worst of each class, which pictograms stand, and where. */
#include "papers/label_impl.h"
#include "papers/papers_impl.h"

#include <string.h>

static int pictogram_index(const char *name)
{
  for (int i = 0; i < papers_pictogram_count(); i++)
    if (strcmp(papers_pictogram_name(i), name) == 0)
      return i;
  return -1;
}

static bool has_code(const struct label_hazards *all, const char *code)
{
  for (int i = 0; i < all->count; i++)
    if (strcmp(all->list[i].code, code) == 0)
      return true;
  return false;
}

static void add_code(struct label_hazards *all, const struct chem_table *t, const char *code)
{
  if (has_code(all, code) || all->count == LABEL_HAZARDS_MOST)
    return;
  for (int i = 0; i < t->row_count; i++)
    if (strcmp(chem_cell(t, i, "code"), code) == 0) {
      all->list[all->count++] = (struct hazard){code, chem_cell(t, i, "words"),
                                                pictogram_index(chem_cell(t, i, "pictogram"))};
      return;
    }
}

void label_add_codes(const struct papers_request *request, struct label_hazards *all,
                     const struct chem_table *t, const char *codes)
{
  while (*codes) {
    int length = (int)strcspn(codes, " ");

    add_code(all, t, papers_words(request, "%.*s", length, codes));
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
static bool worse_there(const struct label_hazards *all, const struct chem_table *t, int row,
                        const char *name, size_t length)
{
  for (int i = 0; i < all->count; i++) {
    int other = row_of(t, all->list[i].code);

    if (other >= 0 && other < row && has_class(chem_cell(t, other, "class"), name, length))
      return true;
  }
  return false;
}

/* Every class of it has a worse code: the label says the worst of each class only. */
static bool is_covered(const struct label_hazards *all, const struct chem_table *t,
                       const char *code)
{
  int row = row_of(t, code);

  for (const char *at = chem_cell(t, row, "class"); *at;) {
    size_t length = strcspn(at, ";");

    if (!worse_there(all, t, row, at, length))
      return false;
    at += length + (at[length] == ';');
  }
  return true;
}

void label_keep_worst(struct label_hazards *all, const struct chem_table *t)
{
  struct label_hazards before = *all;

  all->count = 0;
  for (int i = 0; i < before.count; i++)
    if (!is_covered(&before, t, before.list[i].code))
      all->list[all->count++] = before.list[i];
}

void label_add_substance(struct label_hazards *all, const struct chem_table *t,
                         const struct chem_substance *substance)
{
  for (int i = 0; i < substance->hazard_count; i++)
    add_code(all, t, substance->hazards[i]);
}

const struct chem_table *label_hazard_table(const struct papers_request *request)
{
  return chem_table("hazard_codes", request->report->arena);
}

const char *label_hazard_words(const struct papers_request *request,
                               const struct label_hazards *all)
{
  const char *list = "";

  for (int i = 0; i < all->count; i++)
    list = papers_words(request, "%s%s%s (%s).", list, *list ? " " : "", all->list[i].words,
                        all->list[i].code);
  return list;
}

static bool has_pictogram(const struct label_hazards *all, const char *name)
{
  for (int i = 0; i < all->count; i++)
    if (all->list[i].pictogram == pictogram_index(name))
      return true;
  return false;
}

/*
 * GHS 1.4.10.5.3.1: no exclamation mark beside the skull; none for skin or eye irritation beside the
 * corrosion; none for skin sensitisation or irritation beside a health hazard for the airways.
 */
static bool stands(const struct label_hazards *all, const struct hazard *h)
{
  static const char *const irritation[] = {"H315", "H319"};
  bool skin = strcmp(h->code, irritation[0]) == 0 || strcmp(h->code, irritation[1]) == 0;

  if (h->pictogram != pictogram_index("exclamation"))
    return true;
  if (has_pictogram(all, "skull") || (skin && has_pictogram(all, "corrosion")))
    return false;
  return !(has_code(all, "H334") && (skin || strcmp(h->code, "H317") == 0));
}

static bool shown(const struct label_hazards *all, int pictogram)
{
  for (int i = 0; i < all->count; i++)
    if (all->list[i].pictogram == pictogram && stands(all, &all->list[i]))
      return true;
  return false;
}

/* Two beside one another, the QR code below them. */
void label_right(struct draw *draw, struct draw_place right, const struct label_hazards *all,
                 const char *code)
{
  static const double gap_mm = 2, code_mm = 30;
  double side_mm = (right.width_mm - gap_mm) / 2;
  int count = 0;

  for (int i = 0; i < papers_pictogram_count(); i++)
    if (shown(all, i)) {
      int row = count / 2;

      papers_pictogram(draw, i,
                       (struct draw_place){right.x_mm + count % 2 * (side_mm + gap_mm),
                                           right.y_mm + row * (side_mm + gap_mm), side_mm,
                                           side_mm});
      count++;
    }
  draw_qr(draw, code, "label",
          (struct draw_place){right.x_mm + right.width_mm - code_mm,
                              right.y_mm + right.height_mm - code_mm, code_mm, code_mm});
}
