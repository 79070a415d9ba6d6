#ifndef CHEM_DATA_IMPL_H
#define CHEM_DATA_IMPL_H

#include <stddef.h>

/* The tables of data/, linked in as bytes by scripts/embed_data: no file is ever read. */
struct chem_data {
  const char *name; /* "facts" for data/facts.csv */
  const unsigned char *bytes;
  size_t size;
};

extern const struct chem_data chem_data[];
extern const int chem_data_count;

#endif
