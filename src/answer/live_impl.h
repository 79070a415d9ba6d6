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

#endif
