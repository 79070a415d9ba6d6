#ifndef ANSWER_LIVE_IMPL_H
#define ANSWER_LIVE_IMPL_H

#include "answer/answer.h"

/* What the two faces of a live answer share. */

/* On that pool, something is not known: its figures are shown nowhere. */
bool live_pool_shows(const struct answer_live *live, const struct answer_live_verdict *verdict,
                     int pool);
/* All pools of that station show theirs, and advice is given. */
bool live_station_shows(const struct answer_live *live, const struct answer_live_verdict *verdict,
                        int station);
bool live_is_alarm(const struct answer_live *live); /* the building's, or a station's own */

/* ---- lost.c ---- */
/* One sentence for each source of which several needed values are old or never came, with what to do;
 * sets of_gap for the gaps these sentences tell.  Returns how many: at most one for each source. */
int live_lost(const struct answer_live *live, struct arena *arena, bool *of_gap, const char **out);

/* How a station stands; the text, a sentence with its reason, is appended to `text`. */
struct live_condition {
  const char *is;        /* one of the words of docs/api.md: "parked", "open and unattended" */
  double age_s;          /* of what says so, s; of a withdrawal: since it; NaN: nothing came */
  const char *who, *why; /* of a withdrawal; else NULL */
  int64_t since_ms;      /* of a withdrawal; else INT64_MIN */
};
struct live_condition live_condition(const struct answer_live *live, int station, struct buf *text);

#endif
