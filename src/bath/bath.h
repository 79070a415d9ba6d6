#ifndef BATH_BATH_H
#define BATH_BATH_H

#include "base/arena.h"
#include "base/buf.h"
#include "chem/chem.h"
#include "facility/facility.h"
#include "units/units.h"

#include <stdbool.h>

/*
 * How a bath is made: volumes and masses, what it then holds, in which order, how hot it gets.
 * answer = f(tables, facility, request); docs/chemistry.md has the equations and their sources.
 *
 *     struct bath_request request = {0};
 *     bath_take(&request, "of", "hf", &err);
 *     bath_take(&request, "to", "5wt%", &err);
 *     bath_take(&request, "from", "hf-49", &err);
 *     bath_take(&request, "volume", "2L", &err);
 *     const struct bath_answer *a = bath_answer(&place, &request, &arena, &err);
 *     bath_text(a, UNITS_SYSTEM_SI, &out);
 *
 * Masses are balanced exactly: water is what is left of the mass, never of the volume.  Piranha and
 * its kin, by name or by what the parts add up to, get no volumes unless an approved procedure of
 * that station names them; nor do parts that must never meet.  What cannot be computed is said to be
 * not known, and heat that is not known is to be treated as hot.
 *
 * An answer borrows from tables, facility, request and arena.
 */
enum { BATH_PARTS_MAX = 8, BATH_TARGETS_MAX = 4, BATH_LINES_MAX = 40 };

struct chemicals; /* a suite's own chemicals file */

struct bath_place {
  const struct chem *chem;
  const struct facility *facility; /* NULL: no suite was named */
  const struct chemicals *own;     /* NULL: it has none */
};

/* The texts are borrowed. */
struct bath_request {
  const char *name;             /* "sc-1", */
  const char *of, *bath;        /* "hf"; "20L@8wt%": there already */
  const char *station, *vessel; /* "A3"; a material */
  const char *on;               /* 2026-11-29: a procedure whose review is past is none; NULL */
  int from_count, part_count, to_count;
  const char *from[BATH_PARTS_MAX];  /* "hf-49" */
  const char *parts[BATH_PARTS_MAX]; /* "water=5", "hf-49=100mL" */
  const char *to[BATH_TARGETS_MAX];  /* "5wt%", "1mol/L", "hf=8wt%" */
  bool has_volume, has_mass, has_temperature;
  double volume_m3, mass_kg, temperature_K;
};

/* ERR_USAGE for a key there is none of, ERR_INPUT for a value that cannot be meant. */
NODISCARD enum err_code bath_take(struct bath_request *r, const char *key, const char *value,
                                  struct err *err);

enum bath_state { BATH_MADE, BATH_REFUSED, BATH_NO_RECIPE };

struct bath_part {
  struct chem_stock stock;
  bool there;                               /* the bath that is being spiked: nothing to pour */
  double mass_kg, volume_m3, density_kg_m3; /* volume NaN: not known */
  struct chem_origin density_of;
  const char *why; /* it stands at its place in the order */
};

struct bath_holds {
  const struct chem_substance *substance;
  double mass_kg, fraction_ratio;
  double molarity_mol_m3; /* NaN: not known; by the sum of volumes where the density is not known */
};

enum bath_boils { BATH_HEAT_NOT_KNOWN, BATH_STAYS_BELOW, BATH_MAY_BOIL, BATH_WILL_BOIL };

/* Of one substance, from each part's strength to the bath's. */
struct bath_heat_of {
  const struct chem_substance *substance;
  bool known;
  double low_J, high_J;
  double infinite_J_mol; /* heat of solution at infinite dilution, below 0: given off; NaN */
  struct chem_origin of; /* when known */
};

struct bath_heat {
  int of_count;
  struct bath_heat_of of[BATH_PARTS_MAX];
  bool mixes;           /* something is mixed that could give heat */
  bool complete;        /* false: a share of the heat is not known */
  double low_J, high_J; /* of what is known */
  double low_K, high_K; /* adiabatic rise; NaN: not known */
  double boiling_K;     /* the lowest that any part of the answer gives */
  enum bath_boils boils;
  double peroxide_J, oxygen_m3; /* if all the peroxide breaks down; 0: there is none */
  enum bath_boils peroxide_boils;
  double peroxide_K; /* rise with it, NaN where it boils or is not known */
};

struct bath_lines {
  int count;
  const char *line[BATH_LINES_MAX];
};

struct bath_answer {
  enum bath_state state;
  const struct facility *facility;
  const char *station;                            /* its id, or NULL */
  const char *id;                                 /* of a named bath, or NULL */
  const char *title, *first;                      /* its name; the answer in one line */
  const char *use, *shelf, *life, *waste, *asked; /* asked: whom to ask; others "" when not known */
  const char *hazards;  /* codes of the whole beside those of its substances, blanks between; "" */
  double temperature_K; /* of the parts */
  double use_from_K, use_to_K; /* NaN: not said */
  int part_count, holds_count;
  const struct bath_part *parts;  /* in order of addition */
  const struct bath_holds *holds; /* water last */
  double mass_kg;
  double volume_m3, density_kg_m3; /* NaN: not known */
  struct chem_origin density_of;
  double sum_m3;     /* of the volumes of the parts; NaN: one is not known */
  double fill_ratio; /* of the vessel, at most */
  struct bath_heat heat;
  struct bath_lines place; /* what the suite's file says of the station; no matter of a label */
  struct bath_lines cautions, refused, possible, vessels, variants, sources, assumed, unknown;
};

/* NULL with err: ERR_INPUT for what cannot be meant, with the key it was given for. */
const struct bath_answer *bath_answer(const struct bath_place *place,
                                      const struct bath_request *request, struct arena *arena,
                                      struct err *err);

void bath_text(const struct bath_answer *a, enum units_system system, struct buf *out);
void bath_json(const struct bath_answer *a, struct buf *out);
/* Every bath, bottle and substance that can be named, the suite's own first. */
void bath_names_text(const struct bath_place *place, struct arena *arena, struct buf *out);
void bath_names_json(const struct bath_place *place, struct arena *arena, struct buf *out);
/* "1.83 L", "174 mL"; "not known". */
void bath_print_volume(struct buf *out, double volume_m3);
void bath_print_mass(struct buf *out, double mass_kg);

/* ---- the figures alone, for tests of published ones ---- */

/* Heat given off by `amount_mol` of a solute going from one number of moles of water to another. */
struct bath_band {
  bool known;
  double low, high;
};
struct bath_band bath_dilution_heat_J(const char *substance, double amount_mol, double from_water,
                                      double to_water, struct arena *arena);
/* J/mol of a row of data/solution_heats.csv; NaN: there is none.  at: mol water, or mol/kg; INFINITY */
double bath_heat_row_J_mol(const char *substance, const char *kind, double at, struct arena *arena);
/* J/(kg K) of an aqueous solution of one substance; NaN: not known. */
double bath_heat_capacity_J_kg_K(const char *substance, double fraction_ratio, struct arena *arena);

#endif
