#ifndef FACILITY_PROCESSES_H
#define FACILITY_PROCESSES_H

#include "facility/facility.h"

/*
 * The processes of a suite (`files: {processes: ...}`), immutable once read.  Names of baths,
 * substances, vessels and endorsements are texts here: who looks one up and does not find it
 * complains at its place.  The grammar is in facility/processes.def.
 */
enum { PROCESSES_USES_MAX = 6, PROCESSES_ENDORSEMENTS_MAX = 16 };

enum processes_family {
  PROCESSES_ACID,
  PROCESSES_BASE,
  PROCESSES_ORGANIC,
  PROCESSES_PIRANHA,
  PROCESSES_NO_FAMILY
};
const char *processes_family_word(enum processes_family family); /* as in the file */

enum processes_second { PROCESSES_NEVER, PROCESSES_OUTSIDE_HOURS, PROCESSES_ALWAYS };
const char *processes_second_word(enum processes_second second);

struct processes_process {
  struct facility_part part;
  int use_count, station_count, endorsement_count, hazard_count;
  const char *const *uses;
  const struct place *use_places;
  const int *stations; /* indices */
  enum processes_family family;
  double temperature_K, lasts_s, unattended_s; /* NaN: not said; unattended NaN: not allowed */
  const char *vessel;                          /* or NULL */
  double across_m;                             /* of the open vessel; NaN: not said */
  struct place vessel_place;
  const char *const *endorsements;
  const struct place *endorsement_places;
  enum processes_second second;
  const char *document, *version, *review; /* all NULL: there is none */
  const char *const *hazards;
  const char *waste; /* or NULL */
  struct place place;
};

struct processes {
  const char *file;
  char sha256[65];
  const char *permission_by; /* a role */
  int count;
  const struct processes_process *list;
  struct arena *arena;
};

/* NULL after at least one complaint.  The facility is only read.  Free before the facility. */
struct processes *processes_read(const struct facility *facility, const struct facility_text *text,
                                 struct complaints *complaints);
void processes_free(struct processes *processes);                      /* NULL: nothing */
int processes_find(const struct processes *processes, const char *id); /* -1: none */

/* docs/processes-file.md */
void processes_print_manual(struct buf *out);

#endif
