#include "etch/etch_impl.h"

#include <math.h>
#include <string.h>

/* The tables of data/, read anew for each question: some three hundred rows, under a millisecond. */

static const struct {
  char letter;
  unsigned mark;
} marks[] = {{'S', ETCH_SLOW},  {'W', ETCH_WORKS},    {'R', ETCH_ROUGHENS},
             {'P', ETCH_PEELS}, {'>', ETCH_AT_LEAST}, {'<', ETCH_AT_MOST}};

static unsigned read_marks(const char *text)
{
  unsigned all = 0;

  for (; *text; text++) {
    unsigned mark = 0;

    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
      if (marks[i].letter == *text)
        mark = marks[i].mark;
    BUG_IF(!mark && *text != ' ');
    all |= mark;
  }
  return all;
}

static void read_films(struct etch_tables *t, struct arena *arena)
{
  const struct chem_table *table = chem_table("etch_films", arena);

  t->film_count = table->row_count;
  t->films = ARENA_ARRAY(arena, struct etch_film, (size_t)table->row_count);
  t->film_aliases = ARENA_ARRAY(arena, const char *, (size_t)table->row_count);
  BUG_IF(!t->films || !t->film_aliases);
  for (int i = 0; i < table->row_count; i++) {
    t->film_aliases[i] = chem_cell(table, i, "aliases");
    t->films[i] =
        (struct etch_film){.id = chem_cell(table, i, "id"),
                           .name = chem_cell(table, i, "name"),
                           .kind = chem_cell(table, i, "kind"),
                           .molar_kg_mol = chem_cell_si(table, i, "molar_mass", UNITS_MOLAR_MASS),
                           .density_kg_m3 = chem_cell_si(table, i, "density", UNITS_DENSITY),
                           .of = chem_cell_origin(table, i)};
  }
}

/* "5 nh4f-40 + 1 hf-49"; "" where some amounts are not known. */
static const char *parts_of(const char *bath, const struct chem_table *parts, struct arena *arena)
{
  const char *text = "";

  for (int i = 0; i < parts->row_count; i++) {
    double volume_m3;

    if (strcmp(chem_cell(parts, i, "bath"), bath) != 0)
      continue;
    if (!*chem_cell(parts, i, "amount") && *text)
      return "";
    volume_m3 =
        *chem_cell(parts, i, "amount") ? chem_cell_si(parts, i, "amount", UNITS_VOLUME) : 1e-3;
    text = arena_printf(arena, "%s%s%.6g %s", text, *text ? " + " : "", volume_m3 * 1e3,
                        chem_cell(parts, i, "part"));
    BUG_IF(!text);
  }
  return text;
}

/* Those baths of the one table for which there are rates. */
static void read_baths(struct etch_tables *t, struct arena *arena)
{
  const struct chem_table *table = chem_table("baths", arena);
  const struct chem_table *parts = chem_table("bath_parts", arena);

  t->bath_table = table;
  t->baths = ARENA_ARRAY(arena, struct etch_bath, (size_t)table->row_count);
  t->bath_rows = ARENA_ARRAY(arena, int, (size_t)table->row_count);
  t->bath_parts = ARENA_ARRAY(arena, const char *, (size_t)table->row_count);
  BUG_IF(!t->baths || !t->bath_rows || !t->bath_parts);
  for (int i = 0; i < table->row_count; i++) {
    const char *id = chem_cell(table, i, "id");
    bool plain = *chem_cell(table, i, "strength_of") || strcmp(id, "hf-water") == 0;

    if (!*chem_cell(table, i, "rates"))
      continue;
    t->bath_rows[t->bath_count] = i;
    t->bath_parts[t->bath_count] = plain ? "" : parts_of(id, parts, arena);
    t->baths[t->bath_count] =
        (struct etch_bath){.id = id,
                           .name = chem_cell(table, i, "name"),
                           .caution = chem_cell(table, i, "when_etching"),
                           .parts = *chem_cell(table, i, "kin") ? "" : t->bath_parts[t->bath_count],
                           .usual_K = chem_cell_si(table, i, "usual_at", UNITS_TEMPERATURE),
                           .strength_of = chem_cell(table, i, "strength_of"),
                           .of = chem_cell_origin(table, i)};
    t->bath_count++;
  }
}

static const struct etch_film *film_of(const struct etch_tables *t, const char *id)
{
  for (int i = 0; i < t->film_count; i++)
    if (strcmp(t->films[i].id, id) == 0)
      return &t->films[i];
  BUG_IF(true);
  return NULL;
}

static const struct etch_bath *bath_of(const struct etch_tables *t, const char *id)
{
  for (int i = 0; i < t->bath_count; i++)
    if (strcmp(t->baths[i].id, id) == 0)
      return &t->baths[i];
  BUG_IF(true);
  return NULL;
}

static void read_rows(struct etch_tables *t, struct arena *arena)
{
  const struct chem_table *table = chem_table("etch_rates", arena);

  t->row_count = table->row_count;
  t->rows = ARENA_ARRAY(arena, struct etch_row, (size_t)table->row_count);
  BUG_IF(!t->rows);
  for (int i = 0; i < table->row_count; i++) {
    struct etch_row *row = &t->rows[i];

    *row =
        (struct etch_row){.film = film_of(t, chem_cell(table, i, "film")),
                          .bath = bath_of(t, chem_cell(table, i, "bath")),
                          .at_K = chem_cell_si(table, i, "at", UNITS_TEMPERATURE),
                          .strength_ratio = chem_cell_si(table, i, "strength", UNITS_MASS_FRACTION),
                          .water_parts = chem_cell_number(table, i, "water_parts"),
                          .rate_m_s = chem_cell_si(table, i, "rate", UNITS_ETCH_RATE),
                          .rate_to_m_s = chem_cell_si(table, i, "rate_to", UNITS_ETCH_RATE),
                          .marks = read_marks(chem_cell(table, i, "mark")),
                          .series = chem_cell(table, i, "series"),
                          .of = chem_cell_origin(table, i)};
    if (isnan(row->rate_to_m_s))
      row->rate_to_m_s = row->rate_m_s;
    BUG_IF(isnan(row->rate_m_s) && !(row->marks & (ETCH_SLOW | ETCH_WORKS)));
  }
}

static void read_laws(struct etch_tables *t, struct arena *arena)
{
  const struct chem_table *table = chem_table("etch_laws", arena);

  t->law_count = table->row_count;
  t->laws = ARENA_ARRAY(arena, struct etch_law, (size_t)table->row_count);
  BUG_IF(!t->laws);
  for (int i = 0; i < table->row_count; i++)
    t->laws[i] = (struct etch_law){
        .name = chem_cell(table, i, "law"),
        .film = film_of(t, chem_cell(table, i, "film")),
        .bath = bath_of(t, chem_cell(table, i, "bath")),
        .k = chem_cell_number(table, i, "k"),
        .energy_J_mol = chem_cell_si(table, i, "energy", UNITS_MOLAR_ENERGY),
        .rate_m_s = chem_cell_si(table, i, "rate", UNITS_ETCH_RATE),
        .water_parts = chem_cell_number(table, i, "water_parts"),
        .at_from_K = chem_cell_si(table, i, "at_from", UNITS_TEMPERATURE),
        .at_to_K = chem_cell_si(table, i, "at_to", UNITS_TEMPERATURE),
        .strength_from = chem_cell_si(table, i, "strength_from", UNITS_MASS_FRACTION),
        .strength_to = chem_cell_si(table, i, "strength_to", UNITS_MASS_FRACTION),
        .water_from = chem_cell_number(table, i, "water_from"),
        .water_to = chem_cell_number(table, i, "water_to"),
        .of = chem_cell_origin(table, i)};
}

static void read_uses(struct etch_tables *t, struct arena *arena)
{
  const struct chem_table *table = chem_table("etch_uses", arena);

  t->use_count = table->row_count;
  t->uses = ARENA_ARRAY(arena, struct etch_use, (size_t)table->row_count);
  BUG_IF(!t->uses);
  for (int i = 0; i < table->row_count; i++)
    t->uses[i] = (struct etch_use){.kind = chem_cell(table, i, "kind"),
                                   .agent = chem_cell(table, i, "agent"),
                                   .gas = chem_cell(table, i, "gas"),
                                   .agent_ratio = chem_cell_number(table, i, "agent_per_mole"),
                                   .gas_ratio = chem_cell_number(table, i, "gas_per_mole"),
                                   .of = chem_cell_origin(table, i)};
}

static double setting(const struct chem_table *table, const char *key,
                      enum units_dimension dimension)
{
  for (int i = 0; i < table->row_count; i++)
    if (strcmp(chem_cell(table, i, "key"), key) == 0)
      return chem_cell_si(table, i, "value", dimension);
  BUG_IF(true);
  return NAN;
}

const struct etch_tables *etch_tables(const struct chem *chem, const struct chemicals *own,
                                      enum units_system system, struct arena *arena)
{
  struct etch_tables *t = ARENA_NEW(arena, struct etch_tables);
  const struct chem_table *settings = chem_table("etch_settings", arena);

  BUG_IF(!t);
  t->chem = chem;
  t->own = own;
  t->system = system;
  t->arena = arena;
  read_films(t, arena);
  read_baths(t, arena);
  read_rows(t, arena);
  read_laws(t, arena);
  read_uses(t, arena);
  t->near_K = setting(settings, "near-at", UNITS_TEMPERATURE_DIFFERENCE);
  t->near_strength = setting(settings, "near-strength", UNITS_MASS_FRACTION);
  t->room_from_K = setting(settings, "room-from", UNITS_TEMPERATURE);
  t->room_to_K = setting(settings, "room-to", UNITS_TEMPERATURE);
  return t;
}

bool etch_is_listed(const struct etch_tables *t, const struct etch_film *film,
                    const struct etch_bath *bath)
{
  for (int i = 0; i < t->row_count; i++)
    if (t->rows[i].film == film && t->rows[i].bath == bath)
      return true;
  for (int i = 0; i < t->law_count; i++)
    if (t->laws[i].film == film && t->laws[i].bath == bath &&
        strcmp(t->laws[i].name, "arrhenius") != 0) /* that one only moves a rate */
      return true;
  return false;
}
