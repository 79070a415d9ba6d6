#ifndef PAPERS_LABEL_IMPL_H
#define PAPERS_LABEL_IMPL_H

#include "chem/chem.h"
#include "draw/draw.h"
#include "papers/papers.h"

/* ---- pictogram.c ---- */
/* In the order of gravity in which they stand on a label. */
int papers_pictogram_count(void);
const char *papers_pictogram_name(int index);  /* "skull": as data/hazard_codes.csv names it */
const char *papers_pictogram_words(int index); /* "acutely toxic" */
void papers_pictogram(struct draw *draw, int index, struct draw_place place);

/* ---- label_hazards.c: what stands beside the name ---- */
enum { LABEL_HAZARDS_MOST = 40 };

struct hazard {
  const char *code, *words;
  int pictogram; /* -1: none */
};

struct label_hazards {
  int count;
  struct hazard list[LABEL_HAZARDS_MOST];
};

const struct chem_table *label_hazard_table(const struct papers_request *request);
/* "H272 H330" */
void label_add_codes(const struct papers_request *request, struct label_hazards *all,
                     const struct chem_table *t, const char *codes);
void label_add_substance(struct label_hazards *all, const struct chem_table *t,
                         const struct chem_substance *substance);
/* Leaves the worst of each class. */
void label_keep_worst(struct label_hazards *all, const struct chem_table *t);
const char *label_hazard_words(const struct papers_request *request,
                               const struct label_hazards *all);
/* Pictograms, as GHS 1.4.10.5.3.1 lets them stand, and a code of that text. */
void label_right(struct draw *draw, struct draw_place right, const struct label_hazards *all,
                 const char *code);

#endif
