#ifndef CHEM_CHEM_H
#define CHEM_CHEM_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/complaints.h"
#include "facility/chemicals.h"
#include "facility/facility.h"
#include "units/units.h"

#include <stdbool.h>

/*
 * What is known of substances and bottles: the tables of data/, read, checked and looked up.
 *
 * Facts only, no advice.  Every figure says where it is from and how sure that is; what a table
 * does not hold is NaN and is never filled in.  The tables are linked in as bytes: this module
 * knows no file.  A suite's own figures come from its chemicals file (chem_with) and are marked as such.
 *
 *     const struct chem *chem = chem_read(&arena);
 *     const struct chem_substance *s = chem_find(chem, "nitric acid");    // id, name, alias or CAS
 *     double rho = chem_solution_density_kg_m3(s, 0.696, 293.15, &of);    // of: where it is from
 *
 * All memory is the arena's; a `struct chem` is never written after chem_read and may be shared.
 */

/* How sure a figure is. */
enum chem_basis {
  CHEM_SEEN,     /* read in the work named */
  CHEM_COPY,     /* read in another's copy of it */
  CHEM_MEMORY,   /* value from memory: look it up before it decides anything */
  CHEM_COMPUTED, /* computed from other figures, as the source says */
  CHEM_SUITE     /* the suite's own file */
};
const char *chem_basis_words(enum chem_basis basis); /* "value from memory" */
const char *chem_basis_key(enum chem_basis basis);   /* "memory": for programs */

/* What every answer of chemistry ends with. */
extern const char chem_closing[];

struct chem_origin {
  enum chem_basis basis;
  const char *date;   /* of the source as it was read; "" when not known */
  const char *source; /* work, edition, page; never NULL */
  const char *note;   /* "" when there is none */
};
/* Its keys in an object that is open: basis, date, source, note. */
struct emit;
void chem_emit_origin(struct emit *json, const struct chem_origin *of);

/* One figure of one substance.  si is NaN where the source prints words ("none") instead. */
struct chem_figure {
  double si, at_K; /* at_K: the temperature it is for, NaN where there is none */
  struct chem_origin of;
};

enum chem_fact {
  CHEM_MOLAR_MASS,  /* kg/mol */
  CHEM_DENSITY,     /* kg/m3 of the pure substance, solid or liquid as the note says */
  CHEM_BOILING,     /* K */
  CHEM_FLASH,       /* K, closed cup */
  CHEM_LOWER_LIMIT, /* flammable, m3/m3 in air */
  CHEM_UPPER_LIMIT,
  CHEM_DIFFUSIVITY, /* in air, m2/s */
  CHEM_FACT_COUNT
};

enum chem_limit_kind {
  CHEM_MEAN,    /* eight-hour mean */
  CHEM_SHORT,   /* fifteen-minute mean */
  CHEM_CEILING, /* never to be passed */
  CHEM_IDLH     /* immediately dangerous to life or health */
};
const char *chem_limit_words(enum chem_limit_kind kind);

/* An exposure limit: by volume or by mass of air, never both. */
struct chem_limit {
  const char *issuer; /* "OSHA PEL" */
  enum chem_limit_kind kind;
  double volume_ratio, mass_kg_m3; /* one of them NaN */
  const char *as;                  /* "F": counted as that element; "" */
  const char *printed;             /* "3 ppm" */
  struct chem_origin of;
};

/* Density of an aqueous solution: Laliberté and Cooper 2004 with the coefficients of 2009. */
struct chem_solution {
  double c[5];
  double from_K, to_K, most_ratio; /* the range they were fitted in */
  struct chem_origin of;
};
struct chem_density_row {
  double fraction_ratio, temperature_K, density_kg_m3;
  struct chem_origin of;
};

/* log10(p/Pa) = a - b/(T + c). */
struct chem_vapour {
  double a, b_K, c_K, from_K, to_K;
  struct chem_origin of;
};

struct chem_substance {
  const char *id, *name, *formula, *cas, *note;
  int alias_count, group_count, hazard_count, limit_count, density_row_count;
  const char *const *aliases;
  const int *groups; /* EPA-600/2-80-076 */
  struct chem_origin groups_of;
  const char *const *hazards; /* GHS codes, "H314" */
  struct chem_origin hazards_of;
  struct chem_figure facts[CHEM_FACT_COUNT];
  const struct chem_limit *limits;
  const struct chem_solution *solution;        /* NULL: no model of its solutions */
  const struct chem_density_row *density_rows; /* by rising fraction */
  const struct chem_vapour *vapour;            /* NULL: no row */
};

/* What stands in a bottle: a substance at an assay, in water unless it is pure. */
struct chem_stock {
  const char *id, *name; /* "hf-49", "Hydrofluoric acid 49 %" */
  const struct chem_substance *substance;
  double assay_ratio;                     /* by mass */
  double density_kg_m3, density_pm_kg_m3; /* at 20 degC as printed; NaN: by the model */
  bool solid;
  struct chem_origin of;
};

struct chem {
  int substance_count, stock_count, other_count;
  const struct chem_substance *substances;
  const struct chem_stock *stocks;
  const char *const
      *others; /* names of substances that no table has: never a slip for one that it has */
};

/* Cannot fail: the tables are ours and tests read them. */
const struct chem *chem_read(struct arena *arena);

/*
 * The same with a suite's own bottles and limits in front of ours, marked CHEM_SUITE.  A bottle of the
 * suite with the id of one of ours takes its place.  `own` NULL: `chem` itself.  Its names must fit.
 */
const struct chem *chem_with(const struct chem *chem, const struct chemicals *own,
                             struct arena *arena);
/* Whether every substance that a chemicals file names is known here; complains of each that is not. */
bool chem_names_fit(const struct chem *chem, const struct chemicals *own,
                    struct complaints *complaints);

/* By id, name, alias or CAS number, capital or not; NULL: none. */
const struct chem_substance *chem_find(const struct chem *chem, const char *text);
const struct chem_stock *chem_find_stock(const struct chem *chem, const char *text);
/* For "did you mean": the one id whose names a slip of the hand made into this; NULL: none, or several. */
const char *chem_nearest(const struct chem *chem, const char *text);
/*
 * How many slips of the hand (base/spelling) make `text` of a chemical's name; 0: it is another name.
 * One chemical must never be offered for another: a name of four letters or fewer has no slips, one of
 * five to eight at most one, a longer one two; the first letter and every digit (a strength) stay; and
 * a name with an ending is another one (silicone is not silicon).
 */
int chem_slip(const char *text, const char *name);

/*
 * What a person names as a part: the id of a stock ("hf-49"), a substance at an assay
 * ("HF@48wt%", "hcl @ 37 wt%"), or a pure liquid or solid ("acetone").  An aqueous reagent without
 * an assay is refused: HF, TMAH and the like are sold at several.  ERR_INPUT says what would fix it.
 */
NODISCARD enum err_code chem_part(const struct chem *chem, const char *text, struct chem_stock *out,
                                  struct err *err);

bool chem_cas_valid(const char *text); /* form and check digit of a CAS number */

/*
 * kg/m3 of an aqueous solution: the model inside its fitted range, else the table between its rows
 * (at the temperature of its rows only, within 5 K), else NaN.  `of` (may be NULL) says which.
 */
double chem_solution_density_kg_m3(const struct chem_substance *substance, double fraction_ratio,
                                   double temperature_K, struct chem_origin *of);
double chem_water_density_kg_m3(double temperature_K); /* 0..100 degC, else NaN */
/* Of a stock: as printed near 20 degC, else by the model, else of the pure substance. */
double chem_stock_density_kg_m3(const struct chem_stock *stock, double temperature_K,
                                struct chem_origin *of);
/* Pa of the pure liquid.  Outside the row's range by up to 25 K `extrapolated` is set; else NaN. */
double chem_vapour_pressure_Pa(const struct chem_substance *substance, double temperature_K,
                               bool *extrapolated);

/* ---- what is not to come to a station ---- */

/* One word of a station's `not here:` that names a substance. */
struct chem_not_here_hit {
  const char *word; /* as the file has it */
  const struct chem_substance *substance;
  struct chem_origin of; /* what the word was taken to mean, and by whose knowledge */
};

struct chem_not_here {
  int hit_count, unread_count;
  const struct chem_not_here_hit *hits;
  const char *const *unread; /* entries that nothing here understands: a person has to read them */
};

/*
 * Whether the `not here:` of a station names one of these substances, which are to be there together.
 * By data/not_here_words.csv, else by a substance's own names.  No hit is no leave: words may mean
 * more than the table, and an empty list says nothing.
 */
struct chem_not_here chem_not_here(const struct chem *chem, const struct facility_station *station,
                                   const struct chem_substance *const *substances, int count,
                                   struct arena *arena);
/* Whether all words of an entry name materials of vessels. */
bool chem_not_here_of_vessels(const char *entry, struct arena *arena);
/* The entry of `not here:` that names a vessel's material (an id of data/vessels.csv); NULL: none does. */
const char *chem_not_here_material(const struct facility_station *station, const char *material,
                                   struct arena *arena);
/* "not here: the suite's file lists for A1: organics (Acetone)"; "" where there is no hit. */
const char *chem_not_here_words(const struct chem_not_here *found,
                                const struct facility_station *station, struct arena *arena);
/* "the suite's file also says of A1: not here: closed bottles: not understood: read it yourself"; "" */
const char *chem_not_here_unread_words(const struct chem_not_here *found,
                                       const struct facility_station *station, struct arena *arena);

/* ---- baths ---- */

enum { CHEM_BATHS_MAX = 12 };
enum chem_bath_by { CHEM_BATH_BY_NAME, CHEM_BATH_BY_ALIAS, CHEM_BATH_BY_FAMILY };

/* Rows of chem_table("baths") that a name means: one, or several that it does not tell apart. */
struct chem_baths {
  int count;
  enum chem_bath_by by; /* by its id or name before an alias, by an alias before a family */
  int rows[CHEM_BATHS_MAX];
};
struct chem_table;
/* Capitals, hyphens and underscores aside.  A suite's own baths go before: ask there first. */
struct chem_baths chem_baths_called(const struct chem_table *baths, const char *text);
struct chem_baths chem_baths_of(const struct chem_table *baths, const char *family);
/* The one row of that name or alias; -1: none, or several. */
int chem_bath_row(const struct chem_table *baths, const char *text);
/* "bhf-5, bhf-10" */
const char *chem_baths_words(const struct chem_table *baths, const struct chem_baths *found,
                             struct arena *arena);
/* What a bath is of, as far as its row names it: an amount or none.  How many there are. */
int chem_bath_substances(const struct chem *chem, const char *bath,
                         const struct chem_substance **out, int most, struct arena *arena);

/* ---- the tables, for modules that read one of their own ---- */

/* One CSV of data/ (RFC 4180, one line a row), its columns found by name.  A table that does not read
 * is a bug of ours. */
enum { CHEM_ORIGIN_COLUMNS = 4 };
struct chem_table {
  const char *name; /* "facts" */
  int row_count;    /* without the header */
  int column_count;
  const char *const *cells;        /* the header first, row by row */
  int origin[CHEM_ORIGIN_COLUMNS]; /* basis, date, source, note; -1: it has none */
};
const struct chem_table *chem_table(const char *name, struct arena *arena);
const char *chem_cell(const struct chem_table *table, int row, const char *column);
double chem_cell_number(const struct chem_table *table, int row, const char *column); /* "": NaN */
double chem_cell_si(const struct chem_table *table, int row, const char *column,
                    enum units_dimension dimension); /* "": NaN */
struct chem_origin chem_cell_origin(const struct chem_table *table, int row);

#endif
