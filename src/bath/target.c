/* What a bath is to hold: "5wt%", "1mol/L", "hf=8wt%". */
#include "bath/bath_impl.h"

#include <math.h>
#include <string.h>

/* "5 %" and "5vol%": refused with what they could mean. */
static enum err_code without_basis(const char *key, const char *text, struct err *err)
{
  const char *percent = strchr(text, '%');

  if (!percent)
    return ERR_OK;
  if (strstr(text, "vol"))
    return err_set(err, ERR_INPUT,
                   "%s '%.30s': per cent by volume names no strength, because volumes do not add: "
                   "give wt%%, mol/L, or the parts (--part water=9 --part ...=1)",
                   key, text);
  if (percent > text && strncmp(percent, "%(wt)", 5) != 0 && !strstr(text, "wt") &&
      !strstr(text, "mass"))
    return err_set(err, ERR_INPUT,
                   "%s '%.30s': per cent of what? by mass it is %.*swt%%; by volume give the parts "
                   "(--part)",
                   key, text, (int)strspn(text, "0123456789. "), text);
  return ERR_OK;
}

static enum err_code order_of_parts(const char *key, const char *text, struct err *err)
{
  if (!strchr(text, ':'))
    return ERR_OK;
  return err_set(
      err, ERR_INPUT,
      "%s '%.30s': which part is named first? the same figures are written in both orders; "
      "name the parts: --part water=50 --part hf-49=1",
      key, text);
}

static double molarity(const struct chem_substance *s, double w, double temperature_K)
{
  /* c = w rho/M: chem.md 1.1 */
  return w * chem_solution_density_kg_m3(s, w, temperature_K, NULL) / s->facts[CHEM_MOLAR_MASS].si;
}

/* The share at which the product has that molarity.  It rises with the share, so halving finds it. */
static enum err_code share_of(struct bath_work *w, const char *key, const char *text, double want,
                              double most, struct bath_target *t)
{
  double low = 0, high = most, at_K = w->answer->temperature_K;

  if (isnan(molarity(t->substance, most, at_K)))
    for (high = most; high > 0 && isnan(molarity(t->substance, high, at_K));)
      high -= most / 200;
  if (!(high > 0) || isnan(molarity(t->substance, high / 2, at_K)))
    return err_set(w->err, ERR_INPUT,
                   "%s '%.30s': the density of solutions of %s at that temperature is not known "
                   "here, so mol/L cannot be made; give wt%%",
                   key, text, t->substance->name);
  if (molarity(t->substance, high, at_K) < want)
    return err_set(w->err, ERR_INPUT,
                   "%s '%.30s': stronger than the stock, or than solutions of which the density is "
                   "known (%.3g mol/L); take a stronger stock or less",
                   key, text, molarity(t->substance, high, at_K) / 1e3);
  while (high - low > 1e-16 && low + (high - low) / 2 != low && low + (high - low) / 2 != high) {
    double middle = low + (high - low) / 2;

    if (molarity(t->substance, middle, at_K) < want)
      low = middle;
    else
      high = middle;
  }
  t->fraction_ratio = high;
  return ERR_OK;
}

/* "hf=8wt%" names its substance; else it is the one of --of. */
static const char *value_of(struct bath_work *w, const char *key, const char *text,
                            struct bath_target *t)
{
  const char *equals = strchr(text, '=');
  char name[60];

  if (!equals) {
    t->substance = w->request->of ? chem_find(w->place->chem, w->request->of) : NULL;
    if (!w->request->of)
      (void)err_set(w->err, ERR_INPUT, "%s '%.30s': of what? --of SUBSTANCE, or %s hf=%.20s", key,
                    text, key, text);
    return t->substance ? text : NULL;
  }
  if (equals - text >= (long)sizeof name || equals == text) {
    (void)err_set(w->err, ERR_INPUT, "%s '%.30s': which substance?", key, text);
    return NULL;
  }
  memcpy(name, text, (size_t)(equals - text));
  name[equals - text] = '\0';
  t->substance = chem_find(w->place->chem, name);
  if (!t->substance) {
    const char *near = chem_nearest(w->place->chem, name);

    (void)err_set(w->err, ERR_INPUT, "%s '%.30s': no substance '%.30s' in the tables%s%s%s", key,
                  text, name, near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
  }
  return equals + 1;
}

enum err_code bath_target_read(struct bath_work *w, const char *key, const char *text, double most,
                               struct bath_target *t)
{
  const char *value = value_of(w, key, text, t);
  struct units_quantity q;
  struct err other = {0};

  if (!value || !t->substance)
    return w->err && w->err->text[0] ? ERR_INPUT
                                     : err_set(w->err, ERR_INPUT, "of: no substance '%.40s'",
                                               w->request->of ? w->request->of : "");
  if (order_of_parts(key, value, w->err) != ERR_OK || without_basis(key, value, w->err) != ERR_OK)
    return ERR_INPUT;
  if (units_parse(value, UNITS_MOLARITY, UNITS_NOTHING, &q, &other) == ERR_OK) {
    if (!(q.si > 0))
      return err_set(w->err, ERR_INPUT, "%s '%.30s': wants more than nothing", key, text);
    return share_of(w, key, text, q.si, most, t);
  }
  enum err_code code = units_parse(value, UNITS_MASS_FRACTION, UNITS_NOTHING, &q, w->err);

  if (code != ERR_OK) {
    err_prefix(w->err, "%s '%.30s': wants wt%% or mol/L: ", key, text);
    return code;
  }
  if (!(q.si > 0 && q.si < 1))
    return err_set(w->err, ERR_INPUT, "%s '%.30s': wants more than 0 and less than 100 wt%%", key,
                   text);
  t->fraction_ratio = q.si;
  return ERR_OK;
}
