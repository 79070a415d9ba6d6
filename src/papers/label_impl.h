#ifndef PAPERS_LABEL_IMPL_H
#define PAPERS_LABEL_IMPL_H

#include "draw/draw.h"

/* ---- pictogram.c ---- */
/* In the order of gravity in which they stand on a label. */
int papers_pictogram_count(void);
const char *papers_pictogram_name(int index);  /* "skull": as data/hazard_codes.csv names it */
const char *papers_pictogram_words(int index); /* "acutely toxic" */
void papers_pictogram(struct draw *draw, int index, struct draw_place place);

#endif
