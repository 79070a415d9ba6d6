#include "chem/chem.h"

#include <math.h>
#include <string.h>

enum { WORD_MOST = 80 };

/* The text before the first '@', and what follows it; blanks at the ends dropped. */
static bool split_at(const char *text, char *name, const char **assay_out)
{
  const char *at = strchr(text, '@');
  size_t length = at ? (size_t)(at - text) : strlen(text);

  while (length > 0 && text[length - 1] == ' ')
    length--;
  if (length == 0 || length >= WORD_MOST)
    return false;
  memcpy(name, text, length);
  name[length] = '\0';
  if (at)
    for (at++; *at == ' ';)
      at++;
  *assay_out = at;
  return true;
}

/* "hf-49, hf-5": the bottles of one substance, for a refusal; and the assay of the first. */
static double stocks_of(const struct chem *chem, const struct chem_substance *s, char *out,
                        size_t room)
{
  double first_ratio = 0;
  size_t used = 0;

  out[0] = '\0';
  for (int i = 0; i < chem->stock_count && used < room; i++) {
    if (chem->stocks[i].substance != s)
      continue;
    if (used == 0)
      first_ratio = chem->stocks[i].assay_ratio;
    used += (size_t)snprintf(out + used, room - used, "%s%s", used ? ", " : "", chem->stocks[i].id);
  }
  return first_ratio;
}

static enum err_code no_such(const struct chem *chem, const char *name, struct err *err)
{
  const char *near = chem_nearest(chem, name);

  if (near)
    return err_set(err, ERR_INPUT, "no substance or bottle '%.40s'; did you mean '%s'?", name,
                   near);
  return err_set(
      err, ERR_INPUT,
      "no substance or bottle '%.40s': it is in no table here, so nothing can be said of "
      "it; look at its safety data sheet",
      name);
}

/* A bottle of its own: water, a solvent, a solid; never a gas or an acid without its strength. */
static enum err_code pure(const struct chem *chem, const struct chem_substance *s,
                          struct chem_stock *out, struct err *err)
{
  char stocks[120];
  double boiling_K = s->facts[CHEM_BOILING].si;
  double assay_ratio = stocks_of(chem, s, stocks, sizeof stocks);

  if (stocks[0])
    return err_set(err, ERR_INPUT,
                   "%s is sold at several strengths: say the assay on the bottle, %s@%gwt%% for "
                   "one, or a bottle of ours: %s",
                   s->name, s->id, assay_ratio * 100, stocks);
  if (boiling_K < 293.15)
    return err_set(err, ERR_INPUT, "%s is a gas: say the strength of its solution, %s@10wt%%",
                   s->name, s->id);
  *out = (struct chem_stock){.id = s->id,
                             .name = s->name,
                             .substance = s,
                             .assay_ratio = 1,
                             .density_kg_m3 = NAN,
                             .density_pm_kg_m3 = NAN,
                             .solid = strstr(s->facts[CHEM_DENSITY].of.note, "solid") != NULL,
                             .of = s->facts[CHEM_DENSITY].of};
  return ERR_OK;
}

static enum err_code at_assay(const struct chem_substance *s, const char *assay,
                              struct chem_stock *out, struct err *err)
{
  struct units_quantity quantity;
  enum err_code code = units_parse(assay, UNITS_MASS_FRACTION, UNITS_NOTHING, &quantity, err);

  if (code != ERR_OK) {
    err_prefix(err, "assay of %s: ", s->id);
    return code;
  }
  if (!(quantity.si > 0 && quantity.si <= 1))
    return err_set(err, ERR_INPUT, "assay of %s: '%.20s' is not above 0 and at most 100 wt%%",
                   s->id, assay);
  *out = (struct chem_stock){.id = s->id,
                             .name = s->name,
                             .substance = s,
                             .assay_ratio = quantity.si,
                             .density_kg_m3 = NAN,
                             .density_pm_kg_m3 = NAN,
                             .of = {CHEM_SUITE, "", "the assay as given", ""}};
  return ERR_OK;
}

enum err_code chem_part(const struct chem *chem, const char *text, struct chem_stock *out,
                        struct err *err)
{
  const struct chem_substance *substance;
  const struct chem_stock *stock;
  char name[WORD_MOST];
  const char *assay;

  if (!split_at(text, name, &assay))
    return err_set(err, ERR_INPUT, "'%.40s' names nothing: a substance, a bottle, or hf@49wt%%",
                   text);
  stock = chem_find_stock(chem, name);
  if (stock && assay)
    return err_set(err, ERR_INPUT, "bottle '%s' has its assay; another one is %s@%.20s", stock->id,
                   stock->substance->id, assay);
  if (stock) {
    *out = *stock;
    return ERR_OK;
  }
  substance = chem_find(chem, name);
  if (!substance)
    return no_such(chem, name, err);
  return assay ? at_assay(substance, assay, out, err) : pure(chem, substance, out, err);
}
