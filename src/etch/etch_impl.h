#ifndef ETCH_ETCH_IMPL_H
#define ETCH_ETCH_IMPL_H

#include "etch/etch.h"

#include <stdarg.h>

/* What was given, as bits of etch_request.given: unlike zero, "not said" is not a value. */
enum etch_given {
  GIVEN_DEPTH = 1u << 0,
  GIVEN_AT = 1u << 1,
  GIVEN_STRENGTH = 1u << 2,
  GIVEN_MASK_THICKNESS = 1u << 3,
  GIVEN_OPENING = 1u << 4,
  GIVEN_WAFERS = 1u << 5,
  GIVEN_WAFER = 1u << 6,
  GIVEN_SIDES = 1u << 7,
  GIVEN_VOLUME = 1u << 8,
  GIVEN_FALL = 1u << 9,
  GIVEN_LIFE = 1u << 10,
  GIVEN_BATCHES = 1u << 11,
  GIVEN_RATE = 1u << 12,
  GIVEN_RATE_AT = 1u << 13,
  GIVEN_OVER = 1u << 14,
  GIVEN_SPREAD_FILM = 1u << 15,
  GIVEN_SPREAD_RATE = 1u << 16,
  GIVEN_OPEN = 1u << 17,
  GIVEN_THICKNESS = 1u << 18
};

/* ---- tables.c: data/etch_*.csv ---- */
struct etch_row { /* of etch_rates.csv */
  const struct etch_film *film;
  const struct etch_bath *bath;
  double at_K, strength_ratio, water_parts, rate_m_s, rate_to_m_s;
  unsigned marks;
  const char *series;
  struct chem_origin of;
};

struct etch_law { /* of etch_laws.csv; NaN: not given */
  const char *name;
  const struct etch_film *film;
  const struct etch_bath *bath;
  double k, energy_J_mol, rate_m_s, water_parts;
  double at_from_K, at_to_K, strength_from, strength_to, water_from, water_to;
  struct chem_origin of;
};

struct etch_use { /* of etch_uses.csv */
  const char *kind, *agent, *gas;
  double agent_ratio, gas_ratio; /* mol a mole of film */
  struct chem_origin of;
};

struct etch_tables {
  const struct chem *chem;     /* with the suite's own bottles in front */
  const struct chemicals *own; /* NULL: none */
  struct arena *arena;
  int film_count, bath_count, row_count, law_count, use_count;
  struct etch_film *films;
  const char **film_aliases;
  struct etch_bath *baths;
  enum units_system system;            /* of temperatures in sentences */
  const struct chem_table *bath_table; /* data/baths.csv, and of each bath its row */
  int *bath_rows;
  const char *
      *bath_parts; /* to know it by; not said of a bath that wants a procedure for amounts */
  struct etch_row *rows;
  struct etch_law *laws;
  struct etch_use *uses;
  double near_K, near_strength, room_from_K, room_to_K; /* etch_settings.csv */
};
const struct etch_tables *etch_tables(const struct chem *chem, const struct chemicals *own,
                                      enum units_system system, struct arena *arena);
/* A printed rate or a form of that film in that bath. */
bool etch_is_listed(const struct etch_tables *t, const struct etch_film *film,
                    const struct etch_bath *bath);

/* ---- names.c: what a person writes ---- */
/* Alike but for capitals and hyphens. */
bool etch_same_word(const char *a, const char *b);
struct etch_place { /* the bath as asked */
  const struct etch_bath *bath;
  const char *parts;
  double water_parts, hf_mol_m3; /* of HF in water; NaN */
  double at_K, strength_ratio;   /* NaN: not said and none usual */
};
/* NULL with err: unknown, with the nearest; or a word for several, with their ids. */
const struct etch_film *etch_find_film(const struct etch_tables *t, const char *text,
                                       struct err *err);
NODISCARD enum err_code etch_find_bath(const struct etch_tables *t, const char *text,
                                       struct arena *arena, struct etch_place *out,
                                       struct err *err);

/* mol/m3 of a substance in the bath, volumes added as if nothing shrank; NaN: not known. */
double etch_agent_mol_m3(const struct etch_tables *t, const struct etch_place *place,
                         const char *agent);

/* ---- rates.c ---- */
struct etch_own_rate { /* measured here: by the suite's file, or as given with the question */
  double rate_m_s, rate_pm_m_s, at_K; /* NaN: not said */
  enum etch_how how;
  struct chem_origin of;
};
/* All that is known of a film there.  `given` comes with the question; NULL: none. */
void etch_look_up(const struct etch_tables *tables, const struct etch_place *place,
                  const struct etch_film *film, const struct etch_own_rate *given,
                  struct arena *arena, struct etch_layer *out);

/* The highest rate there may be; NaN: not known, or a source gives only a lower bound. */
double etch_most(const struct etch_layer *layer);

/* ---- own.c: the suite's chemicals file ---- */
/* The suite's measured rates of a film there, the newest of them and the newest first; how many. */
enum { ETCH_OWN_MOST = 8 };
int etch_own_rates(const struct etch_tables *t, const struct etch_place *place,
                   const struct etch_film *film, struct etch_own_rate *out);
/* A film or a bath that only the suite knows, by its own word for it; NULL: none. */
const struct etch_film *etch_own_film(const struct etch_tables *t, const char *text);
const struct etch_bath *etch_own_bath(const struct etch_tables *t, const char *text);
/* Parts of a bath of the suite, as "5 nh4f-40 + 1 hf-49"; NULL: it has no such bath. */
const char *etch_own_parts(const struct etch_tables *t, const char *text, double *at_K);

/* ---- laws.c ---- */
/* The rate by a law, in m/s; NaN, with why, where it does not hold. */
double etch_law_m_s(const struct etch_tables *t, const struct etch_law *law,
                    const struct etch_place *place, struct arena *arena, const char **why,
                    const char **how);
/* The rate at another temperature over that at the first. */
double etch_moved_ratio(double energy_J_mol, double from_K, double to_K);

/* ---- section.c, life.c ---- */
void etch_cut(const struct etch_tables *tables, const struct etch_place *place,
              const struct etch_request *r, struct etch_answer *a, struct arena *arena);
void etch_count_life(const struct etch_tables *t, const struct etch_place *place,
                     const struct etch_request *r, struct etch_answer *a);

/* ---- figures.c: as people read them, three digits; sentences ---- */
const char *etch_length(double length_m, struct arena *arena);
const char *etch_time(double time_s, struct arena *arena);
double etch_in_degrees(double angle_rad);
/* Two digits: where sources differ a third says nothing. */
const char *etch_time_rough(double time_s, struct arena *arena);
const char *etch_speed(double rate_m_s, struct arena *arena);
const char *etch_degrees(double temperature_K, enum units_system system, struct arena *arena);

struct etch_lines {
  int count, room;
  const char **list;
};
void etch_say(struct etch_lines *lines, struct arena *arena, const char *fmt, ...)
    PRINTF_LIKE(3, 4);

#endif
