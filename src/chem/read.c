#include "chem/chem.h"

#include <math.h>
#include <string.h>

static const char *const fact_names[] = {"molar mass",
                                         "density",
                                         "boiling point",
                                         "flash point",
                                         "lower flammable limit",
                                         "upper flammable limit",
                                         "diffusivity in air"};
static const enum units_dimension fact_dimensions[] = {
    UNITS_MOLAR_MASS,    UNITS_DENSITY,       UNITS_TEMPERATURE, UNITS_TEMPERATURE,
    UNITS_CONCENTRATION, UNITS_CONCENTRATION, UNITS_DIFFUSIVITY};
static const char *const limit_names[] = {"mean", "short", "ceiling", "idlh"};
static const char *const limit_words[] = {"eight-hour mean", "fifteen-minute mean", "ceiling",
                                          "immediately dangerous to life or health"};

const char *chem_limit_words(enum chem_limit_kind kind)
{
  return limit_words[kind];
}

static int word_index(const char *const *words, int count, const char *word)
{
  for (int i = 0; i < count; i++)
    if (strcmp(words[i], word) == 0)
      return i;
  return -1;
}

/* "a;b;c" in parts; "" has none. */
static const char *const *parts_of(const char *text, const char *separators, int *count_out,
                                   struct arena *arena)
{
  char *copy = arena_strdup(arena, text), *save = NULL;
  const char **parts = ARENA_ARRAY(arena, const char *, strlen(text) + 1);
  int count = 0;

  BUG_IF(!copy || !parts);
  for (char *part = strtok_r(copy, separators, &save); part;
       part = strtok_r(NULL, separators, &save))
    parts[count++] = part;
  *count_out = count;
  return parts;
}

static void read_groups(struct chem_substance *s, const char *text, struct arena *arena)
{
  const char *const *parts = parts_of(text, ";", &s->group_count, arena);
  int *groups = ARENA_ARRAY(arena, int, (size_t)s->group_count + 1);

  BUG_IF(!groups);
  for (int i = 0; i < s->group_count; i++)
    for (const char *c = parts[i]; *c; c++) {
      BUG_IF(*c < '0' || *c > '9');
      groups[i] = groups[i] * 10 + (*c - '0');
    }
  s->groups = groups;
}

/* Of a list in a cell: read somewhere, or from memory. */
static struct chem_origin lists_origin(const char *basis, const char *date, const char *source)
{
  struct chem_origin of = {CHEM_MEMORY, date, source, ""};

  BUG_IF(*basis && strcmp(basis, "memory") != 0 && strcmp(basis, "seen") != 0);
  if (strcmp(basis, "seen") == 0)
    of.basis = CHEM_SEEN;
  return of;
}

static struct chem_substance *read_substances(struct chem *chem, struct arena *arena)
{
  const struct chem_table *t = chem_table("substances", arena);
  struct chem_substance *all = ARENA_ARRAY(arena, struct chem_substance, (size_t)t->row_count);

  BUG_IF(!all);
  for (int i = 0; i < t->row_count; i++) {
    struct chem_substance *s = &all[i];

    s->id = chem_cell(t, i, "id");
    s->name = chem_cell(t, i, "name");
    s->formula = chem_cell(t, i, "formula");
    s->cas = chem_cell(t, i, "cas");
    s->note = chem_cell(t, i, "note");
    BUG_IF(!chem_cas_valid(s->cas));
    s->aliases = parts_of(chem_cell(t, i, "aliases"), ";", &s->alias_count, arena);
    read_groups(s, chem_cell(t, i, "groups"), arena);
    s->groups_of =
        lists_origin(chem_cell(t, i, "groups_basis"), "", "EPA-600/2-80-076, group lists");
    s->hazards = parts_of(chem_cell(t, i, "hazards"), " ", &s->hazard_count, arena);
    s->hazards_of = lists_origin(chem_cell(t, i, "hazards_basis"), chem_cell(t, i, "hazards_date"),
                                 *chem_cell(t, i, "hazards_source")
                                     ? chem_cell(t, i, "hazards_source")
                                     : "EU CLP Annex VI or the supplier's classification");
    for (int f = 0; f < CHEM_FACT_COUNT; f++)
      s->facts[f] = (struct chem_figure){NAN, NAN, {CHEM_MEMORY, "", "no figure here", ""}};
  }
  chem->substances = all;
  chem->substance_count = t->row_count;
  return all;
}

/* Rows name their substance by its id. */
static struct chem_substance *substance_of(const struct chem *chem, struct chem_substance *all,
                                           const struct chem_table *t, int row)
{
  const char *id = chem_cell(t, row, "substance");

  for (int i = 0; i < chem->substance_count; i++)
    if (strcmp(all[i].id, id) == 0)
      return &all[i];
  err_bug(t->name, row + 2, id);
}

static void read_facts(const struct chem *chem, struct chem_substance *all, struct arena *arena)
{
  const struct chem_table *t = chem_table("facts", arena);

  for (int i = 0; i < t->row_count; i++) {
    struct chem_substance *s = substance_of(chem, all, t, i);
    int fact = word_index(fact_names, CHEM_FACT_COUNT, chem_cell(t, i, "what"));

    BUG_IF(fact < 0);
    s->facts[fact].si = chem_cell_si(t, i, "value", fact_dimensions[fact]);
    s->facts[fact].at_K = chem_cell_si(t, i, "at", UNITS_TEMPERATURE);
    s->facts[fact].of = chem_cell_origin(t, i);
  }
}

/* "3 ppm" is a share of the air, "1 mg/m3" a mass in it, "" a source that gives no figure. */
static void read_limit_value(const struct chem_table *t, int row, struct chem_limit *limit)
{
  const char *text = chem_cell(t, row, "value");

  limit->volume_ratio = limit->mass_kg_m3 = NAN;
  limit->printed = text;
  if (strstr(text, "ppm"))
    limit->volume_ratio = chem_cell_si(t, row, "value", UNITS_CONCENTRATION);
  else
    limit->mass_kg_m3 = chem_cell_si(t, row, "value", UNITS_DENSITY);
}

static struct chem_limit read_limit(const struct chem_table *t, int row)
{
  struct chem_limit limit = {.issuer = chem_cell(t, row, "issuer"), .as = chem_cell(t, row, "as")};
  int kind = word_index(limit_names, CHEM_IDLH + 1, chem_cell(t, row, "kind"));

  BUG_IF(kind < 0);
  limit.kind = (enum chem_limit_kind)kind;
  limit.of = chem_cell_origin(t, row);
  read_limit_value(t, row, &limit);
  return limit;
}

static void read_limits(const struct chem *chem, struct chem_substance *all, struct arena *arena)
{
  const struct chem_table *t = chem_table("exposure_limits", arena);

  for (int s = 0; s < chem->substance_count; s++) {
    struct chem_limit *limits = ARENA_ARRAY(arena, struct chem_limit, (size_t)t->row_count);
    int n = 0;

    BUG_IF(!limits);
    for (int i = 0; i < t->row_count; i++)
      if (strcmp(chem_cell(t, i, "substance"), all[s].id) == 0)
        limits[n++] = read_limit(t, i);
    all[s].limits = limits;
    all[s].limit_count = n;
  }
  for (int i = 0; i < t->row_count; i++)
    (void)substance_of(chem, all, t, i); /* no row of a stranger */
}

static void read_solutions(const struct chem *chem, struct chem_substance *all, struct arena *arena)
{
  static const char *const columns[] = {"c0", "c1", "c2", "c3", "c4"};
  const struct chem_table *t = chem_table("solutions", arena);

  for (int i = 0; i < t->row_count; i++) {
    struct chem_solution *model = ARENA_NEW(arena, struct chem_solution);

    BUG_IF(!model);
    for (int k = 0; k < 5; k++)
      model->c[k] = chem_cell_number(t, i, columns[k]);
    model->from_K = chem_cell_si(t, i, "from", UNITS_TEMPERATURE);
    model->to_K = chem_cell_si(t, i, "to", UNITS_TEMPERATURE);
    model->most_ratio = chem_cell_si(t, i, "most", UNITS_MASS_FRACTION);
    model->of = chem_cell_origin(t, i);
    substance_of(chem, all, t, i)->solution = model;
  }
}

static void read_densities(const struct chem *chem, struct chem_substance *all, struct arena *arena)
{
  const struct chem_table *t = chem_table("solution_densities", arena);

  for (int s = 0; s < chem->substance_count; s++) {
    struct chem_density_row *rows =
        ARENA_ARRAY(arena, struct chem_density_row, (size_t)t->row_count);
    int n = 0;

    BUG_IF(!rows);
    for (int i = 0; i < t->row_count; i++) {
      if (strcmp(chem_cell(t, i, "substance"), all[s].id) != 0)
        continue;
      rows[n].fraction_ratio = chem_cell_si(t, i, "fraction", UNITS_MASS_FRACTION);
      rows[n].temperature_K = chem_cell_si(t, i, "at", UNITS_TEMPERATURE);
      rows[n].density_kg_m3 = chem_cell_si(t, i, "density", UNITS_DENSITY);
      rows[n].of = chem_cell_origin(t, i);
      BUG_IF(n > 0 && !(rows[n - 1].fraction_ratio < rows[n].fraction_ratio));
      n++;
    }
    all[s].density_rows = rows;
    all[s].density_row_count = n;
  }
}

static void read_vapours(const struct chem *chem, struct chem_substance *all, struct arena *arena)
{
  const struct chem_table *t = chem_table("vapour_pressures", arena);

  for (int i = 0; i < t->row_count; i++) {
    struct chem_vapour *row = ARENA_NEW(arena, struct chem_vapour);

    BUG_IF(!row);
    row->a = chem_cell_number(t, i, "a");
    row->b_K = chem_cell_number(t, i, "b_K");
    row->c_K = chem_cell_number(t, i, "c_K");
    row->from_K = chem_cell_number(t, i, "from_K");
    row->to_K = chem_cell_number(t, i, "to_K");
    row->of = chem_cell_origin(t, i);
    substance_of(chem, all, t, i)->vapour = row;
  }
}

static void read_stocks(struct chem *chem, struct chem_substance *all, struct arena *arena)
{
  const struct chem_table *t = chem_table("stocks", arena);
  struct chem_stock *stocks = ARENA_ARRAY(arena, struct chem_stock, (size_t)t->row_count);

  BUG_IF(!stocks);
  for (int i = 0; i < t->row_count; i++) {
    stocks[i].id = chem_cell(t, i, "id");
    stocks[i].name = chem_cell(t, i, "name");
    stocks[i].substance = substance_of(chem, all, t, i);
    stocks[i].assay_ratio = chem_cell_si(t, i, "assay", UNITS_MASS_FRACTION);
    stocks[i].density_kg_m3 = chem_cell_si(t, i, "density", UNITS_DENSITY);
    stocks[i].density_pm_kg_m3 = chem_cell_si(t, i, "density_pm", UNITS_DENSITY);
    stocks[i].solid = strcmp(chem_cell(t, i, "state"), "solid") == 0;
    stocks[i].of = chem_cell_origin(t, i);
  }
  chem->stocks = stocks;
  chem->stock_count = t->row_count;
}

static void read_others(struct chem *chem, struct arena *arena)
{
  const struct chem_table *t = chem_table("other_names", arena);
  const char **names = ARENA_ARRAY(arena, const char *, (size_t)t->row_count);

  BUG_IF(!names);
  for (int i = 0; i < t->row_count; i++)
    names[i] = chem_cell(t, i, "name");
  chem->others = names;
  chem->other_count = t->row_count;
}

const struct chem *chem_read(struct arena *arena)
{
  struct chem *chem = ARENA_NEW(arena, struct chem);
  struct chem_substance *all;

  BUG_IF(!chem);
  all = read_substances(chem, arena);
  read_facts(chem, all, arena);
  read_limits(chem, all, arena);
  read_solutions(chem, all, arena);
  read_densities(chem, all, arena);
  read_vapours(chem, all, arena);
  read_stocks(chem, all, arena);
  read_others(chem, arena);
  return chem;
}
