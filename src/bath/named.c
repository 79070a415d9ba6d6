/* The standard baths of data/baths.csv, as parts with names and assays. */
#include "bath/bath_impl.h"

#include "base/spelling.h"
#include "facility/chemicals.h"

#include <math.h>
#include <string.h>
#include <strings.h>

static const char *family_list(struct bath_work *w, const struct chem_table *t, const char *family,
                               int but)
{
  const char *list = "";

  for (int i = 0; i < t->row_count; i++)
    if (i != but && strcasecmp(chem_cell(t, i, "family"), family) == 0)
      list = bath_words(w, "%s%s%s", list, *list ? ", " : "", chem_cell(t, i, "id"));
  return list;
}

/* Only what a finger slips to: never another strength, nor another of a few letters. */
static bool is_slip(const char *text, const char *id)
{
  static const char digits[] = "0123456789.";
  const char *a = text, *b = id;

  if (strlen(text) < 5 || strncasecmp(text, id, 1) != 0)
    return false;
  for (;;) {
    a += strcspn(a, digits);
    b += strcspn(b, digits);
    if (*a != *b || !*a)
      return *a == *b;
    a++;
    b++;
  }
}

static enum err_code no_such_bath(struct bath_work *w, const struct chem_table *t, const char *text)
{
  const struct chem_baths several = chem_baths_called(t, text);
  const char *near = NULL;
  int least = strlen(text) < 9 ? 2 : 3;

  if (several.count > 0)
    return err_set(w->err, ERR_INPUT, "'%.40s' is several baths: which? %.100s", text,
                   chem_baths_words(t, &several, w->arena));
  if (strchr(text, ':'))
    return err_set(
        w->err, ERR_INPUT,
        "'%.40s': which part is named first? the same figures are written in both orders; "
        "name each: --part water=50 --part hf-49=1",
        text);
  for (int i = 0; i < t->row_count; i++) {
    const char *id = chem_cell(t, i, "id");
    int d = is_slip(text, id) ? spelling_distance(text, strlen(text), id, least) : least;

    if (d < least) {
      least = d;
      near = id;
    }
  }
  if (near)
    return err_set(w->err, ERR_INPUT, "no bath '%.40s'; did you mean '%s'?", text, near);
  return err_set(
      w->err, ERR_INPUT,
      "no bath '%.40s' in the tables; name its parts: --part water=5 --part nh3-29=1 ...", text);
}

/* Sentences stand apart by ";" without a blank after it. */
static int sentence_length(const char *at)
{
  const char *end = at;

  while (*end && !(*end == ';' && end[1] != ' '))
    end++;
  return (int)(end - at);
}

static void split_lines(struct bath_work *w, const char *list, struct bath_lines *lines)
{
  for (const char *at = list; *at;) {
    int length = sentence_length(at);

    bath_line(lines, bath_words(w, "%.*s", length, at));
    at += length + (at[length] == ';');
  }
}

static void take_row(struct bath_work *w, const struct chem_table *t, int row)
{
  struct bath_answer *a = w->answer;
  struct chem_origin of = chem_cell_origin(t, row);
  const char *others = family_list(w, t, chem_cell(t, row, "family"), row);

  a->id = chem_cell(t, row, "id");
  a->title = chem_cell(t, row, "name");
  a->use = chem_cell(t, row, "use");
  a->shelf = chem_cell(t, row, "shelf");
  a->life = chem_cell(t, row, "life");
  a->waste = chem_cell(t, row, "waste");
  a->hazards = chem_cell(t, row, "hazards");
  a->use_from_K = chem_cell_si(t, row, "from", UNITS_TEMPERATURE);
  a->use_to_K = chem_cell_si(t, row, "to", UNITS_TEMPERATURE);
  a->fill_ratio = chem_cell_si(t, row, "fill", UNITS_SHARE);
  w->kin = chem_cell(t, row, "kin");
  w->meets = chem_cell(t, row, "meets");
  w->mixture = chem_cell(t, row, "mixture");
  split_lines(w, chem_cell(t, row, "cautions"), &a->cautions);
  if (*of.note)
    bath_line(&a->variants, of.note);
  if (*others)
    bath_line(&a->variants, bath_words(w, "other recipes of the kind: %s", others));
  bath_line(&a->sources, bath_words(w, "recipe: %s (%s)", of.source, chem_basis_words(of.basis)));
}

/* Litres and kilograms of the table only say how the parts stand to each other. */
static enum err_code add_rows(struct bath_work *w)
{
  const struct chem_table *t = chem_table("bath_parts", w->arena);

  for (int i = 0; i < t->row_count; i++) {
    const char *amount = chem_cell(t, i, "amount"), *part = chem_cell(t, i, "part");
    enum err_code code = ERR_OK;

    if (strcmp(chem_cell(t, i, "bath"), w->answer->id) != 0)
      continue;
    code = *amount ? bath_add_part(w, "part", part, amount) : bath_add_stock(w, "part", part);
    if (code != ERR_OK)
      return code;
  }
  w->fixed_amounts = false;
  return ERR_OK;
}

static enum err_code to_target(struct bath_work *w, const char *target)
{
  struct bath_request r = *w->request;
  const struct bath_request *kept = w->request;
  enum err_code code;

  r.to_count = 1;
  r.to[0] = target;
  r.from_count = 1;
  r.from[0] = w->parts[0].stock.id;
  w->part_count = 0;
  w->request = &r;
  code = bath_parts_to(w);
  w->request = kept;
  return code;
}

static const struct chemicals_bath *own_bath(const struct bath_work *w, const char *name)
{
  const struct chemicals *own = w->place->own;

  for (int i = 0; own && i < own->bath_count; i++)
    if (strcasecmp(own->baths[i].part.id, name) == 0)
      return &own->baths[i];
  return NULL;
}

bool bath_is_own(const struct bath_work *w, const char *name)
{
  return own_bath(w, name) != NULL;
}

static void describe_own(struct bath_work *w, const struct chemicals_bath *bath)
{
  struct bath_answer *a = w->answer;

  a->id = bath->part.id;
  a->title = bath->part.name;
  a->use = bath->use ? bath->use : "";
  a->use_to_K = bath->temperature_K;
  if (isfinite(bath->life_s))
    a->life = bath_words(w, "%.3g h, the suite's own figure", bath->life_s / 3600);
  bath_line(&a->sources, bath_words(w, "recipe: the suite's own (%s)%s%s", w->place->own->file,
                                    bath->source ? ": " : "", bath->source ? bath->source : ""));
}

static enum err_code add_own(struct bath_work *w, const struct chemicals_bath *bath)
{
  for (int i = 0; i < bath->part_count; i++)
    if (bath_add_part(w, "part", bath->parts[i].of,
                      bath_words(w, "%.17g", bath->parts[i].volume_ratio)) != ERR_OK)
      return ERR_INPUT;
  return ERR_OK;
}

/* A bath of the suite's own goes before the tables, and says so. */
static enum err_code take_own(struct bath_work *w, const struct chemicals_bath *bath)
{
  describe_own(w, bath);
  return add_own(w, bath) == ERR_OK ? bath_scale(w) : ERR_INPUT;
}

/* ---- a procedure's bath, asked for by its parts ---- */

int bath_named_row(struct bath_work *w, const char *text)
{
  return chem_bath_row(chem_table("baths", w->arena), text);
}

static bool is_near(double a, double b, double within_ratio)
{
  return fabs(a - b) <= within_ratio * fabs(b);
}

/* The part of the recipe `recipe` that is of this substance and strength; NULL: none. */
static const struct bath_part *same_part(const struct bath_work *recipe, const struct bath_part *p,
                                         double within_ratio)
{
  for (int i = 0; i < recipe->part_count; i++)
    if (recipe->parts[i].stock.substance == p->stock.substance &&
        is_near(p->stock.assay_ratio, recipe->parts[i].stock.assay_ratio, within_ratio))
      return &recipe->parts[i];
  return NULL;
}

/* The same parts in the same shares as those of the recipe. */
static bool is_recipe(struct bath_work *w, const struct bath_work *recipe)
{
  double within_ratio = bath_setting(w, "as-named", "share", UNITS_SHARE), scale = NAN;

  if (recipe->part_count != w->part_count)
    return false;
  for (int i = 0; i < w->part_count; i++) {
    const struct bath_part *same = same_part(recipe, &w->parts[i], within_ratio);
    double here = same ? w->parts[i].mass_kg / same->mass_kg : (double)NAN;

    scale = i == 0 ? here : scale;
    if (!is_near(here, scale, within_ratio))
      return false;
  }
  return true;
}

bool bath_becomes(struct bath_work *w, const char *name)
{
  const struct chem_table *t = chem_table("baths", w->arena);
  const struct chemicals_bath *own = own_bath(w, name);
  int row = own ? -1 : bath_named_row(w, name);
  struct bath_answer answer = {.id = own       ? own->part.id
                                     : row < 0 ? name
                                               : chem_cell(t, row, "id"),
                               .temperature_K = w->answer->temperature_K};
  struct err err = {0};
  struct bath_work recipe = *w;

  if (!own && row < 0)
    return false;
  recipe.answer = &answer;
  recipe.err = &err;
  recipe.part_count = 0;
  if ((own ? add_own(&recipe, own) : add_rows(&recipe)) != ERR_OK || !is_recipe(w, &recipe))
    return false;
  if (own)
    describe_own(w, own);
  else
    take_row(w, t, row);
  return true;
}

void bath_cautions_of(struct bath_work *w, int row)
{
  const struct chem_table *t = chem_table("baths", w->arena);
  struct bath_answer *a = w->answer;

  split_lines(w, chem_cell(t, row, "cautions"), &a->cautions);
  a->fill_ratio = fmin(a->fill_ratio, chem_cell_si(t, row, "fill", UNITS_SHARE));
  if (!*a->shelf)
    a->shelf = chem_cell(t, row, "shelf");
  a->waste = chem_cell(t, row, "waste");
}

enum err_code bath_named(struct bath_work *w)
{
  const struct chem_table *t = chem_table("baths", w->arena);
  const struct chemicals_bath *own = own_bath(w, w->request->name);

  if (own)
    return take_own(w, own);

  int row = chem_bath_row(t, w->request->name);

  if (row < 0)
    return no_such_bath(w, t, w->request->name);
  take_row(w, t, row);
  if (*chem_cell(t, row, "ready")) {
    w->answer->state = BATH_NO_RECIPE;
    bath_line(&w->answer->refused, chem_cell(t, row, "ready"));
    return ERR_OK;
  }
  if (add_rows(w) != ERR_OK)
    return ERR_INPUT;
  return *chem_cell(t, row, "target") ? to_target(w, chem_cell(t, row, "target")) : bath_scale(w);
}
