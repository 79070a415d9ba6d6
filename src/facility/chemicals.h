#ifndef FACILITY_CHEMICALS_H
#define FACILITY_CHEMICALS_H

#include "facility/facility.h"

/*
 * What a suite says of its own chemistry: its chemicals file (`files: {chemicals: ...}`), immutable
 * once read.  Procedures, bottles, baths, measured etch rates and limits of the house go before the
 * tables of data/, and whoever uses them says so.
 *
 * Names of substances, bottles and films are texts here, for this module knows none: who looks one
 * up and does not find it complains at `place`.
 *
 * The grammar is in facility/chemicals.def, part of the one schema table.
 */
struct chemicals_procedure {
  struct facility_part part;
  const char *bath;
  int station_count;
  const int *stations; /* indices */
  const char *document, *version, *by;
  const char *approved, *review;       /* 2027-02-11 */
  double most_m3, peroxide_most_ratio; /* 0: no peroxide */
  struct place place;                  /* of `bath` */
};

struct chemicals_stock {
  struct facility_part part;
  const char *of, *source;
  double assay_ratio, density_kg_m3; /* NaN: from the tables */
  struct place place;                /* of `of` */
};

enum {
  CHEMICALS_PARTS_MAX = 8
}; /* of a bath: what every answer looks at, so that none is left out */

struct chemicals_bath_part {
  const char *of;
  double volume_ratio;
  struct place place;
};

struct chemicals_bath {
  struct facility_part part;
  const char *use, *source; /* use: or NULL */
  int part_count, station_count;
  const struct chemicals_bath_part *parts;
  const int *stations;
  double temperature_K, life_s; /* NaN: not said */
};

struct chemicals_rate {
  struct facility_part part;
  const char *film, *in, *measured, *by;
  double rate_m_s, rate_pm_m_s;         /* ±; NaN: not said */
  double temperature_K, strength_ratio; /* strength: NaN: not said */
  struct place film_place, in_place;
};

struct chemicals_limit {
  struct facility_part part;
  const char *of, *issuer, *date, *source;
  int kind; /* mean, short, ceiling, idlh: as enum chem_limit_kind (chem.h) */
  double volume_ratio, mass_kg_m3; /* one of them NaN */
  struct place place;
};

struct chemicals {
  const char *file;
  char sha256[65];
  int procedure_count, stock_count, bath_count, rate_count, limit_count;
  const struct chemicals_procedure *procedures;
  const struct chemicals_stock *stocks;
  const struct chemicals_bath *baths;
  const struct chemicals_rate *rates;
  const struct chemicals_limit *limits;
  struct arena *arena;
};

/* NULL after at least one complaint.  The facility is only read.  Free before the facility. */
struct chemicals *chemicals_read(const struct facility *facility, const struct facility_text *text,
                                 struct complaints *complaints);
void chemicals_free(struct chemicals *chemicals); /* NULL: nothing */

/* docs/chemicals-file.md */
void chemicals_print_manual(struct buf *out);

#endif
