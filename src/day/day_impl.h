#ifndef DAY_DAY_IMPL_H
#define DAY_DAY_IMPL_H

#include "day/day.h"

/* ---- bookings.c ---- */
/* The station that a text names by id, the first as a word of its own; -1: none, -2: two of them. */
int day_station_in(const struct facility *facility, const char *text);
/* One more, or false: the list is full. */
bool day_add(struct day_bookings *list, struct arena *arena, const struct day_booking *booking);
/* Complains and says false where the station takes no bookings. */
bool day_station_fits(const struct facility *facility, int station, struct place place,
                      struct complaints *complaints);

/* ---- table.c ---- */
bool day_read_table(const struct day_read_job *job, const struct facility_text *text,
                    struct arena *arena, struct complaints *complaints, struct day_bookings *list,
                    struct day_read_report *report);

/* ---- answer.c ---- */
/* Of each station: how probable it is that its sash is up in the middle of that quarter. */
uint64_t day_up(const struct facility *facility, const struct day_habits *habits,
                const struct day_bookings *day, int64_t middle_ms, double *up_ratio);
uint64_t day_booked(const struct day_bookings *day, int64_t from_ms, int64_t to_ms);
double day_up_ratio(const struct day_habit *habit, int64_t start_ms, int64_t end_ms,
                    int64_t middle_ms);

/* ---- conflicts.c ---- */
void day_find_conflicts(struct day_answer *answer, struct arena *arena);
/* Would a booking there stand against another of the list, itself left out? */
bool day_is_free(const struct facility *facility, const struct day_bookings *day, int booking,
                 int64_t start_ms, int64_t end_ms);

/* ---- second.c ---- */
void day_find_seconds(struct day_answer *answer, struct arena *arena);

/* ---- second_text.c ---- */
void day_put_second(const struct day_answer *answer, const struct day_second *s, bool names,
                    struct buf *out);
void day_put_seconds(const struct day_answer *answer, bool names, struct buf *out);
void day_put_unbooked(const struct day_answer *answer, int station, struct buf *out);
void day_put_unbooked_all(const struct day_answer *answer, struct buf *out);

/* ---- unbooked.c ---- */
bool day_count_unbooked(const struct facility *facility, const struct day_bookings *list,
                        const struct day_uses *uses, int64_t until_ms, struct arena *arena,
                        struct day_habits *out);

/* ---- better.c ---- */
void day_find_better(struct day_answer *answer, struct arena *arena);

/* ---- like.c ---- */
void day_find_like(struct day_answer *answer);

/* ---- words.c ---- */
void day_put_clock(const struct when_zone *zone, int64_t t_ms, struct buf *out); /* "14:10" */
const char *day_weekday(const struct when_zone *zone, int64_t t_ms);             /* "Tuesday" */
void day_put_booking(const struct day_answer *answer, int booking, bool names, struct buf *out);

#endif
