/* What is poured: parts with amounts, bottles for a target, and a bath that is there already. */
#include "bath/bath_impl.h"

#include "base/constants.h"

#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

static enum err_code named_order(const char *key, const char *text, struct err *err)
{
  if (!strchr(text, ':'))
    return ERR_OK;
  return err_set(err, ERR_INPUT,
                 "%s '%.40s': which part is named first? name each: --part water=50 --part hf-49=1",
                 key, text);
}

/* What gives off gas or comes apart when warm is poured cold; a bath is warmed once it is mixed. */
static enum err_code check_warmth(struct bath_work *w, const char *key, const char *text,
                                  const struct chem_stock *stock)
{
  const struct chem_table *t = chem_table("bath_substances", w->arena);
  double most_K = bath_setting(w, "bottles-warmest", "temperature", UNITS_TEMPERATURE);

  for (int i = 0; i < t->row_count && w->answer->temperature_K > most_K; i++) {
    const char *why = chem_cell(t, i, "warm");

    if (strcmp(chem_cell(t, i, "substance"), stock->substance->id) == 0 && *why)
      return err_set(
          w->err, ERR_INPUT,
          "temperature %.4g degC with %s '%.40s': warm, %s; --temperature is that of the "
          "parts, not of the bath: no more than %.4g degC (data/bath_settings.csv)",
          w->answer->temperature_K - ZERO_CELSIUS_K, key, text, why, most_K - ZERO_CELSIUS_K);
  }
  return ERR_OK;
}

enum err_code bath_add_stock(struct bath_work *w, const char *key, const char *text)
{
  struct bath_part *p = &w->parts[w->part_count];

  if (w->part_count == BATH_PARTS_MAX)
    return err_set(w->err, ERR_INPUT, "%s '%.40s': more than %d parts", key, text, BATH_PARTS_MAX);
  if (named_order(key, text, w->err) != ERR_OK)
    return ERR_INPUT;
  *p = (struct bath_part){.volume_m3 = NAN, .why = ""};

  enum err_code code = chem_part(w->place->chem, text, &p->stock, w->err);

  if (code != ERR_OK) {
    err_prefix(w->err, "%s '%.40s': ", key, text);
    return code;
  }
  code = check_warmth(w, key, text, &p->stock);
  if (code != ERR_OK)
    return code;
  if (strcmp(p->stock.id, p->stock.substance->id) == 0 && p->stock.assay_ratio < 1)
    p->stock.name =
        bath_words(w, "%s %.4g wt%%", p->stock.substance->name, p->stock.assay_ratio * 100);
  p->density_kg_m3 = chem_stock_density_kg_m3(&p->stock, w->answer->temperature_K, &p->density_of);
  w->part_count++;
  return ERR_OK;
}

/* "5": parts by volume; "2L", "1kg": as much as that. */
static enum err_code mass_of(struct bath_work *w, struct bath_part *p, const char *key,
                             const char *text, bool *plain)
{
  struct units_quantity q;
  struct err other = {0};
  bool weighed = units_parse(text, UNITS_MASS, UNITS_NOTHING, &q, &other) == ERR_OK;

  *plain = false;
  if (weighed) {
    p->mass_kg = q.si;
  } else if (units_parse(text, UNITS_VOLUME, UNITS_NOTHING, &q, &other) == ERR_OK) {
    p->mass_kg = q.si * p->density_kg_m3;
  } else if (units_parse(text, UNITS_RATIO, UNITS_NOTHING, &q, w->err) == ERR_OK) {
    *plain = true;
    p->mass_kg = q.si * p->density_kg_m3 * 1e-3; /* a part is a litre until it is scaled */
  } else {
    err_prefix(w->err,
               "%s '%s=%.20s': wants parts by volume (5), a volume (2L) or a mass (1kg): ", key,
               p->stock.id, text);
    return ERR_INPUT;
  }
  if (!(q.si > 0))
    return err_set(w->err, ERR_INPUT, "%s '%s=%.20s': wants more than nothing", key, p->stock.id,
                   text);
  if (p->stock.solid && !weighed)
    return err_set(w->err, ERR_INPUT,
                   "%s '%s=%.20s': a solid is weighed, not measured by volume: give a mass", key,
                   p->stock.id, text);
  if (isnan(p->mass_kg))
    return err_set(w->err, ERR_INPUT,
                   "%s '%s=%.20s': its density at that temperature is not known here; give masses",
                   key, p->stock.id, text);
  return ERR_OK;
}

enum err_code bath_add_part(struct bath_work *w, const char *key, const char *text,
                            const char *amount)
{
  bool plain;
  enum err_code code = bath_add_stock(w, key, text);

  if (code == ERR_OK)
    code = mass_of(w, &w->parts[w->part_count - 1], key, amount, &plain);
  if (code != ERR_OK)
    return code;
  if (w->part_count > 1 && plain == w->fixed_amounts)
    return err_set(w->err, ERR_INPUT, "%s '%s=%.20s': parts and amounts do not mix; give all as %s",
                   key, text, amount, "parts (5) or all with units (2L)");
  w->fixed_amounts = !plain;
  return ERR_OK;
}

enum err_code bath_parts_given(struct bath_work *w)
{
  const struct bath_request *r = w->request;

  for (int i = 0; i < r->part_count; i++) {
    const char *equals = strchr(r->parts[i], '=');
    char *name;

    if (named_order("part", r->parts[i], w->err) != ERR_OK)
      return ERR_INPUT;
    if (!equals)
      return err_set(w->err, ERR_INPUT, "part '%.40s': how much of it? part %.40s=5", r->parts[i],
                     r->parts[i]);
    name = arena_strdup(w->arena, r->parts[i]);
    BUG_IF(!name);
    name[equals - r->parts[i]] = '\0';
    if (bath_add_part(w, "part", name, equals + 1) != ERR_OK)
      return ERR_INPUT;
  }
  if (w->fixed_amounts && (r->has_volume || r->has_mass))
    return err_set(w->err, ERR_INPUT,
                   "%s: the parts have their amounts already; leave it out, or give parts without "
                   "units",
                   r->has_volume ? "volume" : "mass");
  return w->fixed_amounts ? ERR_OK : bath_scale(w);
}

/* ---- bottles and water for a target ---- */

static double strongest(const struct bath_work *w, const struct chem_substance *s)
{
  double most = 0;

  for (int i = 0; i < w->part_count; i++)
    if (w->parts[i].stock.substance == s)
      most = fmax(most, w->parts[i].stock.assay_ratio);
  return most;
}

static enum err_code read_targets(struct bath_work *w, struct bath_target *targets)
{
  const struct bath_request *r = w->request;

  for (int i = 0; i < r->to_count; i++) {
    struct bath_target *t = &targets[i];
    double most = 0;

    for (int k = 0; k < w->part_count; k++)
      most = fmax(most, w->parts[k].stock.assay_ratio);
    if (bath_target_read(w, "to", r->to[i], most, t) != ERR_OK)
      return ERR_INPUT;
    most = strongest(w, t->substance);
    if (!(most > 0))
      return err_set(w->err, ERR_INPUT, "to '%.30s': none of the bottles holds %s; --from which?",
                     r->to[i], t->substance->name);
    if (t->fraction_ratio > most)
      return err_set(
          w->err, ERR_INPUT,
          "to '%.30s': stronger than the stock (%.4g wt%%): no water makes it so; take a "
          "stronger stock or a lower --to",
          r->to[i], most * 100);
  }
  return ERR_OK;
}

static double assay_of(const struct bath_part *p, const struct chem_substance *s)
{
  return p->stock.substance == s ? p->stock.assay_ratio : 0;
}

/*
 * Masses of the parts of one kilogram: they add up to it, and each target's substance to its share.
 * The same equations undo a mix: what it holds, and what it was made from, give how much of each.
 */
static const double rounded_ratio = 5e-4; /* of the mass: what "33.0 wt%" leaves open */

static enum err_code solve(struct bath_work *w, const struct bath_target *targets, int count)
{
  enum { MOST = BATH_TARGETS_MAX + 1 };
  double a[MOST * MOST] = {0}, x[MOST] = {0}, rcond;
  int n = w->part_count;

  if (n != count + 1 || n > MOST)
    return err_set(w->err, ERR_INPUT,
                   "to: %d of them and %d bottles beside water: each bottle wants one target",
                   count, n - 1);
  for (int i = 0; i < n; i++)
    a[i] = 1;
  x[0] = 1;
  for (int k = 0; k < count; k++) {
    for (int i = 0; i < n; i++)
      a[(k + 1) * n + i] = assay_of(&w->parts[i], targets[k].substance);
    x[k + 1] = targets[k].fraction_ratio;
  }
  if (!numeric_dense_solve(n, a, x, &rcond) || rcond < 1e-12)
    return err_set(w->err, ERR_INPUT, "from: these bottles do not tell the targets apart");
  for (int i = 0; i < n; i++) {
    bool rounding = strcmp(w->parts[i].stock.substance->id, "water") == 0 && x[i] > -rounded_ratio;

    if (x[i] < -1e-12 && rounding)
      bath_line(&w->answer->assumed, "the targets are rounded: no water is added");
    else if (x[i] < -1e-12)
      return err_set(
          w->err, ERR_INPUT,
          "to: no amounts of these bottles make that: %s would have to be taken out; the "
          "targets are together stronger than the stocks",
          w->parts[i].stock.name);
    w->parts[i].mass_kg = fmax(x[i], 0);
  }
  return ERR_OK;
}

/* A part of which nothing is wanted is not poured. */
static void drop_empty(struct bath_work *w)
{
  int kept = 0;

  for (int i = 0; i < w->part_count; i++)
    if (w->parts[i].mass_kg > 0)
      w->parts[kept++] = w->parts[i];
  w->part_count = kept;
}

static enum err_code add_bottles(struct bath_work *w)
{
  const struct bath_request *r = w->request;
  const struct chem_substance *s = r->of ? chem_find(w->place->chem, r->of) : NULL;

  if (r->of && !s) {
    const char *near = chem_nearest(w->place->chem, r->of);

    return err_set(w->err, ERR_INPUT, "of '%.40s': no such substance in the tables%s%s%s", r->of,
                   near ? "; did you mean '" : "; nothing can be said of it", near ? near : "",
                   near ? "'?" : "");
  }
  for (int i = 0; i < r->from_count; i++)
    if (bath_add_stock(w, "from", r->from[i]) != ERR_OK)
      return ERR_INPUT;
  if (r->from_count > 0)
    return ERR_OK;
  return err_set(w->err, ERR_INPUT,
                 "from: which bottle? its assay decides how much is poured: --from %s-49 or "
                 "--from %s@49wt%%, as the label on the bottle says",
                 s ? s->id : "hf", s ? s->id : "hf");
}

static enum err_code add_water(struct bath_work *w)
{
  for (int i = 0; i < w->part_count; i++)
    if (strcmp(w->parts[i].stock.substance->id, "water") == 0)
      return ERR_OK;
  return bath_add_stock(w, "from", "water");
}

enum err_code bath_parts_to(struct bath_work *w)
{
  struct bath_target targets[BATH_TARGETS_MAX];
  enum err_code code = add_bottles(w);

  if (code == ERR_OK)
    code = add_water(w);
  if (code == ERR_OK)
    code = read_targets(w, targets);
  if (code == ERR_OK)
    code = solve(w, targets, w->request->to_count);
  if (code != ERR_OK)
    return code;
  drop_empty(w);
  return bath_scale(w);
}

/* ---- a bath that is there already ---- */

/* "20L@8wt%" or "20kg@8wt%" of --of. */
static enum err_code add_bath(struct bath_work *w)
{
  const struct bath_request *r = w->request;
  const char *at = strchr(r->bath, '@');
  struct bath_part *p = &w->parts[0];
  struct units_quantity q;
  struct err other = {0};
  char amount[40];

  if (!r->of)
    return err_set(w->err, ERR_INPUT, "bath '%.40s': of what? --of SUBSTANCE", r->bath);
  if (!at || at - r->bath >= (long)sizeof amount)
    return err_set(w->err, ERR_INPUT, "bath '%.40s': wants how much at what: 20L@8wt%%", r->bath);
  if (bath_add_stock(w, "bath", bath_words(w, "%s@%s", r->of, at + 1)) != ERR_OK)
    return ERR_INPUT;
  memcpy(amount, r->bath, (size_t)(at - r->bath));
  amount[at - r->bath] = '\0';
  if (units_parse(amount, UNITS_MASS, UNITS_NOTHING, &q, &other) == ERR_OK) {
    p->mass_kg = q.si;
  } else if (units_parse(amount, UNITS_VOLUME, UNITS_NOTHING, &q, w->err) == ERR_OK) {
    p->mass_kg = q.si * p->density_kg_m3;
  } else {
    err_prefix(w->err, "bath '%.40s': wants how much at what, 20L@8wt%%: ", r->bath);
    return ERR_INPUT;
  }
  if (isnan(p->mass_kg))
    return err_set(w->err, ERR_INPUT,
                   "bath '%.40s': its density is not known here; give its mass: 20kg@8wt%%",
                   r->bath);
  if (!(p->mass_kg > 0))
    return err_set(w->err, ERR_INPUT, "bath '%.40s': wants more than nothing", r->bath);
  p->there = true;
  return ERR_OK;
}

/* dm = m (w - w0)/(ws - w): chem.md 1.1, from the balance of the substance. */
enum err_code bath_parts_spiked(struct bath_work *w)
{
  const struct bath_request *r = w->request;
  struct bath_target t;
  enum err_code code = add_bath(w);

  if (code != ERR_OK)
    return code;
  if (r->to_count != 1 || r->from_count > 1)
    return err_set(w->err, ERR_INPUT, "bath: wants one --to and one --from");
  if (bath_add_stock(w, "from", r->from_count == 1 ? r->from[0] : "water") != ERR_OK ||
      bath_target_read(w, "to", r->to[0], 1, &t) != ERR_OK)
    return ERR_INPUT;

  double there = assay_of(&w->parts[0], t.substance), stock = assay_of(&w->parts[1], t.substance);
  double share = (t.fraction_ratio - there) / (stock - t.fraction_ratio);

  if (w->parts[1].stock.substance != t.substance &&
      strcmp(w->parts[1].stock.substance->id, "water") != 0)
    return err_set(w->err, ERR_INPUT, "from '%.40s': holds no %s", r->from[0], t.substance->name);
  if (!(share > 0) || !isfinite(share))
    return err_set(
        w->err, ERR_INPUT,
        "to '%.30s': the bath has %.4g wt%% and what is added %.4g wt%%: no amount of it "
        "ends at %.4g wt%%; --from %s",
        r->to[0], there * 100, stock * 100, t.fraction_ratio * 100,
        t.fraction_ratio > there ? "a stronger bottle" : "water, or a weaker bottle");
  w->parts[1].mass_kg = w->parts[0].mass_kg * share;
  if (r->has_volume || r->has_mass)
    return err_set(w->err, ERR_INPUT, "%s: the bath has its amount already; leave it out",
                   r->has_volume ? "volume" : "mass");
  return ERR_OK;
}
