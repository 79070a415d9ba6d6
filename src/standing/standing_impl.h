#ifndef STANDING_STANDING_IMPL_H
#define STANDING_STANDING_IMPL_H

#include "standing/standing.h"

/* A text in the table's arena. */
const char *standing_say(struct standing_table *table, const char *fmt, ...) PRINTF_LIKE(2, 3);
/* "14:05", "SUN 01:30", and further off the date. */
const char *standing_clock(struct standing_table *table, int64_t t_ms);
const char *standing_span(struct standing_table *table, double span_s);
/* A fact of no moment, without a limit: the rest is set by name. */
struct standing_fact standing_fact_of(const char *kind, enum standing_says says);
/* The age of a fact, s; NaN: it is of no moment. */
double standing_age_s(const struct standing_table *table, const struct standing_fact *fact);
/* Speaks for a start, or tells a condition of it, and is older than it may be. */
bool standing_is_old(const struct standing_table *table, int64_t t_ms, double at_most_s);

/* Facts of each kind of source. */
void standing_add_told(
    struct standing_table *table); /* told.c: withdrawn, runs, rounds, incidents */
void standing_add_tanks(struct standing_table *table);   /* tanks.c: tanks and waste containers */
void standing_add_benches(struct standing_table *table); /* bench.c: trays, heaters, deck flow */
void standing_add_glass(struct standing_table *table);   /* glass.c: pieces without a status */
void standing_add_decks(struct standing_table *table);   /* deck.c: which family */
void standing_add_proofs(struct standing_table *table); /* proofs.c: and what the suite says else */
void standing_add_booked(struct standing_table *table); /* booked.c: the bookings */
void standing_add_seen(struct standing_table *table);   /* seen.c: points and shared air */

#endif
