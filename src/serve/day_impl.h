#ifndef SERVE_DAY_IMPL_H
#define SERVE_DAY_IMPL_H

#include "serve/serve.h"

/* /api/day: asks whoever knows the bookings, one question at a time; the newest answer is kept a while, for
 * every screen asks the same. */
struct day_desk;
struct day_desk *day_desk_new(const struct serve_day *day); /* NULL: nobody knows them */
void day_desk_free(struct day_desk *desk);                  /* NULL is fine */
bool day_desk_knows(const char *path);
int day_desk_get(struct day_desk *desk, const char *search, struct buf *out); /* the HTTP status */

#endif
