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

/* A place for one bath.  NaN or 0: not set, so not watched. */
struct chemicals_tank {
  struct facility_part part;
  int station; /* index */
  const char *bath, *drain, *source;
  double volume_m3, least_m3;
  double temperature_K, temperature_pm_K; /* pm NaN: no band was given */
  double every_s, life_s;
  int wafers_most;
  int drains_into;    /* index into drains; -1: not said */
  struct place place; /* of `bath` */
};

/* ---- what a wet bench has that a hood has not ---- */

/* The point of the feeds file that sees something; its text is NULL where none is named. */
struct chemicals_seen {
  const char *by;
  struct place place;
};

enum chemicals_route {
  CHEMICALS_PH_TREATMENT,
  CHEMICALS_FLUORIDE_TREATMENT,
  CHEMICALS_ACID_COLLECTION,
  CHEMICALS_BASE_COLLECTION,
  CHEMICALS_SOLVENT_COLLECTION,
  CHEMICALS_HOUSE_DRAIN
};
const char *chemicals_route_words(enum chemicals_route route); /* "pH treatment" */

struct chemicals_drain {
  struct facility_part part;
  int station; /* index */
  enum chemicals_route route;
  int take_count, never_count, procedure_count;
  const char *const *takes, *const *never, *const *procedure;
  double hottest_K, flash_least_K, stands_s; /* NaN: not set */
  const char *source;
  struct place place; /* of `takes` */
};

struct chemicals_rinse {
  struct facility_part part;
  int station;     /* index */
  int drains_into; /* index into drains; -1 */
  double resistivity_ohm_m;
  int dumps_least; /* NaN and 0: not watched */
  struct chemicals_seen resistivity, dumps;
  const char *source;
};

/* A leak tray, and what is above it: indices of this file. */
struct chemicals_tray {
  struct facility_part part;
  int station; /* index */
  int tank_count, rinse_count, drain_count, also_count;
  const int *tanks, *rinses, *drains;
  const char *const *also;
  struct chemicals_seen seen;
  const char *looked_at, *tell, *source; /* looked_at, tell: or NULL */
  struct place also_place;
};

enum chemicals_lockout {
  CHEMICALS_LOW_LEVEL,
  CHEMICALS_LOW_EXHAUST,
  CHEMICALS_OVER_TEMPERATURE,
  CHEMICALS_LID_OPEN,
  CHEMICALS_LEAK,
  CHEMICALS_LOCKOUT_COUNT
};
const char *chemicals_lockout_words(enum chemicals_lockout lockout); /* "low level" */

struct chemicals_heater {
  struct facility_part part;
  int tank; /* index */
  bool locked_by[CHEMICALS_LOCKOUT_COUNT];
  double level_m3, exhaust_m3_s, over_K; /* NaN: not set */
  struct chemicals_seen heats, level, temperature, lid, exhaust;
  const char *without_level, *source; /* without_level: or NULL */
};

struct chemicals_stream {
  struct facility_part part;
  int station; /* index */
  int take_count, never_count;
  const char *const *takes, *const *never;
  const char *material, *vented_by, *source;     /* vented_by: or NULL */
  double volume_m3, fill_ratio, first_s, full_s; /* NaN: not set */
  bool vented;
  struct place place; /* of `takes` */
  struct place material_place;
};

struct chemicals_amount {
  const char *of;
  double volume_m3; /* of one */
  int count;
  struct place place;
};

enum { CHEMICALS_CATEGORIES = 4 }; /* of flammable liquids */

struct chemicals_most {
  bool categories[CHEMICALS_CATEGORIES]; /* [0]: category 1 */
  double volume_m3;
  const char *source;
};

struct chemicals_store {
  struct facility_part part;
  bool is_cabinet; /* else: all that stands in the room outside of one */
  int room;        /* index */
  int most_count, amount_count;
  const struct chemicals_most *mosts;
  const struct chemicals_amount *amounts;
  const char *counted, *by; /* 2026-10-26 */
};

struct chemicals {
  const char *file;
  char sha256[65];
  int procedure_count, stock_count, bath_count, rate_count, limit_count;
  int tank_count, stream_count, store_count;
  int drain_count, rinse_count, tray_count, heater_count;
  const struct chemicals_procedure *procedures;
  const struct chemicals_stock *stocks;
  const struct chemicals_bath *baths;
  const struct chemicals_rate *rates;
  const struct chemicals_limit *limits;
  const struct chemicals_tank *tanks;
  const struct chemicals_stream *streams;
  const struct chemicals_store *stores;
  const struct chemicals_drain *drains;
  const struct chemicals_rinse *rinses;
  const struct chemicals_tray *trays;
  const struct chemicals_heater *heaters;
  struct arena *arena;
};

/* NULL after at least one complaint.  The facility is only read.  Free before the facility. */
struct chemicals *chemicals_read(const struct facility *facility, const struct facility_text *text,
                                 struct complaints *complaints);
void chemicals_free(struct chemicals *chemicals); /* NULL: nothing */

/* Index by id, or -1.  `chemicals` NULL: there is none. */
int chemicals_tank_find(const struct chemicals *chemicals, const char *id);
int chemicals_stream_find(const struct chemicals *chemicals, const char *id);
int chemicals_drain_find(const struct chemicals *chemicals, const char *id);

/* docs/chemicals-file.md */
void chemicals_print_manual(struct buf *out);

#endif
