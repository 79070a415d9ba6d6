#ifndef FACILITY_CHEMICALS_IMPL_H
#define FACILITY_CHEMICALS_IMPL_H

#include "facility/chemicals.h"
#include "facility/other_impl.h"

/* Shared by the readers of the chemicals file: chemicals.c, chemicals_wet.c for what a day has, and
 * chemicals_bench.c for what a wet bench has. */
struct chemicals_build {
  struct build build; /* for the builders it shares with the suite */
  struct reader *reader;
  struct chemicals *out;
  const struct facility *suite; /* only read */
};

const char *chemicals_text(struct chemicals_build *b, const struct record *r,
                           enum schema_key_id key);                  /* NULL: not given */
double chemicals_si(const struct record *r, enum schema_key_id key); /* NaN: not given */
struct place chemicals_place(const struct record *r, enum schema_key_id key);

/* chemicals_wet.c */
struct chemicals_tank chemicals_one_tank(struct chemicals_build *b, const struct record *r);
struct chemicals_stream chemicals_one_stream(struct chemicals_build *b, const struct record *r);
struct chemicals_store chemicals_one_store(struct chemicals_build *b, const struct record *r);

/* chemicals_bench.c */
struct chemicals_drain chemicals_one_drain(struct chemicals_build *b, const struct record *r);
struct chemicals_rinse chemicals_one_rinse(struct chemicals_build *b, const struct record *r);
struct chemicals_tray chemicals_one_tray(struct chemicals_build *b, const struct record *r);
struct chemicals_heater chemicals_one_heater(struct chemicals_build *b, const struct record *r);
/* What one part of a bench says against another. */
void chemicals_check_benches(struct chemicals_build *b, const struct record *top);

#endif
