#ifndef PAPERS_PAPERS_IMPL_H
#define PAPERS_PAPERS_IMPL_H

#include "papers/papers.h"

/* ---- papers.c: words ---- */
/* Text in the report's arena; it lives as long as the report. */
const char *papers_words(const struct papers_request *request, const char *fmt, ...)
    PRINTF_LIKE(2, 3);
void papers_note(const struct papers_request *request, int station, bool fault, const char *fmt,
                 ...) PRINTF_LIKE(4, 5);
/* "station A1, glass mark": whose words a text is. */
const char *papers_from(const struct papers_request *request, int station, const char *key);
/* Whom to ask about a station: "person on duty, 4321". */
const char *papers_whom(const struct papers_request *request, int station);
/* A height that must not be exceeded: rounded down, in the reader's units first. */
const char *papers_height(const struct papers_request *request, double height_m);

/* ---- marks.c: what marks say to each other ---- */
enum papers_likeness {
  PAPERS_APART,      /* differ in shape or letter */
  PAPERS_SAME,       /* all three are the same, or both lack the same */
  PAPERS_UNCERTAIN,  /* agree in all that both state */
  PAPERS_COLOUR_ONLY /* differ in colour, and in nothing else that both state */
};

bool papers_mark_given(const struct facility_mark *mark); /* any of the three */
enum papers_likeness papers_marks_compare(const struct facility_mark *a,
                                          const struct facility_mark *b);
/* Another station with such a mark, from `first` on, in file order; -1: none. */
int papers_marks_find(const struct facility *facility, int station, enum papers_likeness likeness,
                      int first);
const char *papers_mark_words(const struct papers_request *request,
                              const struct facility_mark *mark); /* "white ring R" */
/* "shape and letter"; NULL when nothing is missing. */
const char *papers_mark_missing(const struct papers_request *request,
                                const struct facility_mark *mark);
struct draw_mark papers_mark_drawn(const struct facility_mark *mark, const char *from);

/* ---- sash.c: a station's front, to scale ---- */
struct papers_sash {
  const struct papers_request *request;
  const struct facility_station *station;
  double size_pt;        /* of its words */
  double most_height_mm; /* it takes what a round scale needs of it */
};

double papers_sash_height_mm(const struct papers_sash *sash);
const char *papers_sash_scale(const struct papers_sash *sash); /* "heights 1 : 15" */
/* Into a place of that height, the sill at its lower edge. */
void papers_draw_sash(struct draw *draw, const struct papers_sash *sash, struct draw_place place);

#endif
