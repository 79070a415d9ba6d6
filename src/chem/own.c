#include "chem/chem.h"

#include <math.h>
#include <string.h>

/* A suite's chemicals file over the tables that come with us. */

static void complain_of(const struct chem *chem, const char *of, const char *who,
                        struct place place, struct complaints *complaints)
{
  const char *near = chem_nearest(chem, of);

  if (near)
    complaints_add(complaints, place, (int)strlen(of),
                   "%s: no substance '%.40s' in the tables here; did you mean '%s'?", who, of,
                   near);
  else
    complaints_add(
        complaints, place, (int)strlen(of),
        "%s: no substance '%.40s' in the tables here; write its id, name or CAS number as "
        "data/substances.csv has it, or leave this out",
        who, of);
}

/* A part of a bath may be a bottle of the same file. */
static bool is_own_bottle(const struct chemicals *own, const char *of)
{
  for (int i = 0; i < own->stock_count; i++)
    if (strcmp(own->stocks[i].part.id, of) == 0)
      return true;
  return false;
}

static bool bath_fits(const struct chem *chem, const struct chemicals *own,
                      const struct chemicals_bath *bath, struct complaints *complaints)
{
  bool fits = true;

  for (int i = 0; i < bath->part_count; i++) {
    const struct chemicals_bath_part *part = &bath->parts[i];
    struct chem_stock stock;
    struct err err = {0};

    if (is_own_bottle(own, part->of) || chem_part(chem, part->of, &stock, &err) == ERR_OK)
      continue;
    complaints_add(complaints, part->place, (int)strlen(part->of), "bath %s, part %d: %s",
                   bath->part.id, i + 1, err.text);
    fits = false;
  }
  return fits;
}

static bool store_fits(const struct chem *chem, const struct chemicals *own,
                       const struct chemicals_store *store, struct complaints *complaints)
{
  bool fits = true;

  for (int i = 0; i < store->amount_count; i++) {
    const struct chemicals_amount *a = &store->amounts[i];

    if (is_own_bottle(own, a->of) || chem_find_stock(chem, a->of) || chem_find(chem, a->of))
      continue;
    complain_of(chem, a->of, store->part.id, a->place, complaints);
    fits = false;
  }
  return fits;
}

bool chem_names_fit(const struct chem *chem, const struct chemicals *own,
                    struct complaints *complaints)
{
  bool fits = true;

  for (int i = 0; i < own->stock_count; i++)
    if (!chem_find(chem, own->stocks[i].of)) {
      complain_of(chem, own->stocks[i].of, own->stocks[i].part.id, own->stocks[i].place,
                  complaints);
      fits = false;
    }
  for (int i = 0; i < own->limit_count; i++)
    if (!chem_find(chem, own->limits[i].of)) {
      complain_of(chem, own->limits[i].of, own->limits[i].part.id, own->limits[i].place,
                  complaints);
      fits = false;
    }
  for (int i = 0; i < own->bath_count; i++)
    fits &= bath_fits(chem, own, &own->baths[i], complaints);
  for (int i = 0; i < own->store_count; i++)
    fits &= store_fits(chem, own, &own->stores[i], complaints);
  complaints_sort(complaints);
  return fits;
}

static struct chem_stock own_stock(const struct chem *chem, const struct chemicals_stock *s)
{
  return (struct chem_stock){
      .id = s->part.id,
      .name = s->part.name,
      .substance = chem_find(chem, s->of),
      .assay_ratio = s->assay_ratio,
      .density_kg_m3 = s->density_kg_m3,
      .density_pm_kg_m3 = (double)NAN,
      .of = {CHEM_SUITE, "", s->source, ""},
  };
}

static bool takes_place_of(const struct chemicals *own, const struct chem_stock *ours)
{
  for (int i = 0; i < own->stock_count; i++)
    if (strcmp(own->stocks[i].part.id, ours->id) == 0)
      return true;
  return false;
}

static void put_stocks(const struct chem *chem, const struct chemicals *own, struct chem *out,
                       struct arena *arena)
{
  int count = 0;
  struct chem_stock *stocks =
      ARENA_ARRAY(arena, struct chem_stock, (size_t)(own->stock_count + chem->stock_count + 1));

  BUG_IF(!stocks);
  for (int i = 0; i < own->stock_count; i++)
    stocks[count++] = own_stock(out, &own->stocks[i]);
  for (int i = 0; i < chem->stock_count; i++) {
    if (takes_place_of(own, &chem->stocks[i]))
      continue;
    stocks[count] = chem->stocks[i];
    stocks[count++].substance = chem_find(out, chem->stocks[i].substance->id);
  }
  out->stocks = stocks;
  out->stock_count = count;
}

static struct chem_limit own_limit(const struct chemicals_limit *l, struct arena *arena)
{
  struct buf printed;
  struct chem_limit limit = {.issuer = l->issuer,
                             .kind = (enum chem_limit_kind)l->kind,
                             .volume_ratio = l->volume_ratio,
                             .mass_kg_m3 = l->mass_kg_m3,
                             .as = "",
                             .of = {CHEM_SUITE, l->date, l->source, ""}};

  buf_init(&printed, 64);
  if (isnan(l->volume_ratio))
    units_print_in(&printed, l->mass_kg_m3, UNITS_DENSITY, "mg/m3");
  else
    units_print_in(&printed, l->volume_ratio, UNITS_CONCENTRATION, "ppm");
  limit.printed = arena_strdup(arena, printed.text);
  buf_release(&printed);
  return limit;
}

/* The suite's limits of one substance, then ours. */
static void put_limits(const struct chem *chem, const struct chemicals *own,
                       struct chem_substance *substance, struct arena *arena)
{
  struct chem_limit *limits = ARENA_ARRAY(arena, struct chem_limit,
                                          (size_t)(own->limit_count + substance->limit_count + 1));
  int count = 0;

  BUG_IF(!limits);
  for (int i = 0; i < own->limit_count; i++)
    if (strcmp(chem_find(chem, own->limits[i].of)->id, substance->id) == 0)
      limits[count++] = own_limit(&own->limits[i], arena);
  for (int i = 0; i < substance->limit_count; i++)
    limits[count++] = substance->limits[i];
  substance->limits = limits;
  substance->limit_count = count;
}

const struct chem *chem_with(const struct chem *chem, const struct chemicals *own,
                             struct arena *arena)
{
  struct chem *out;
  struct chem_substance *all;

  if (!own)
    return chem;
  out = ARENA_NEW(arena, struct chem);
  all = ARENA_ARRAY(arena, struct chem_substance, (size_t)chem->substance_count);
  BUG_IF(!out || !all);
  for (int i = 0; i < chem->substance_count; i++) {
    all[i] = chem->substances[i];
    put_limits(chem, own, &all[i], arena);
  }
  out->substances = all;
  out->substance_count = chem->substance_count;
  put_stocks(chem, own, out, arena);
  return out;
}
