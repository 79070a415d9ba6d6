/* Facts of the bookings: who holds a station, as booked, and until when.  Nobody by name. */
#include "standing/standing_impl.h"

static const char *family_words(struct standing_table *table, const struct day_booking *b)
{
  return *b->family ? standing_say(table, ", %s", b->family) : "";
}

/* It is held now: whoever asks may be who booked it. */
static void add_held(struct standing_table *table, const struct day_booking *b)
{
  struct standing_fact fact = standing_fact_of("booking", STANDING_CONDITION);

  fact.line = standing_say(table, "BOOKED UNTIL %s", standing_clock(table, b->end_ms));
  fact.text = standing_say(table, "Booked from %s to %s%s.", standing_clock(table, b->start_ms),
                           standing_clock(table, b->end_ms), family_words(table, b));
  fact.next = "If it is not you who booked it, ask who did.";
  fact.source = "the bookings";
  fact.until_ms = b->end_ms;
  standing_add(table, b->station, &fact);
}

static void add_next(struct standing_table *table, const struct day_booking *b)
{
  struct standing_fact fact = standing_fact_of("booking", STANDING_NOTED);

  fact.line = standing_say(table, "BOOKED FROM %s", standing_clock(table, b->start_ms));
  fact.text = standing_say(table, "The next booking is from %s to %s%s.",
                           standing_clock(table, b->start_ms), standing_clock(table, b->end_ms),
                           family_words(table, b));
  fact.source = "the bookings";
  standing_add(table, b->station, &fact);
}

static const struct day_booking *next_of(const struct day_bookings *list, int station,
                                         int64_t now_ms)
{
  for (int i = 0; i < list->count; i++) /* by start */
    if (list->list[i].station == station && list->list[i].start_ms > now_ms)
      return &list->list[i];
  return NULL;
}

/* Where the bookings should be read and cannot be, that is known of every station. */
static void add_unread(struct standing_table *table)
{
  struct standing_fact fact = standing_fact_of("booking", STANDING_CONDITION);

  fact.line = "WHO BOOKED IT";
  fact.text = standing_say(table, "The bookings cannot be read: %s.", table->moment->bookings_why);
  fact.next = "Ask whether somebody booked it.";
  fact.source = "the bookings";
  for (int i = 0; i < table->moment->facility->station_count; i++)
    standing_add(table, i, &fact);
}

void standing_add_booked(struct standing_table *table)
{
  const struct day_bookings *list = table->moment->bookings;
  int64_t now_ms = table->moment->now_ms;

  if (table->moment->bookings_why)
    add_unread(table);
  if (!list)
    return;
  for (int i = 0; i < list->count; i++)
    if (list->list[i].start_ms <= now_ms && now_ms < list->list[i].end_ms)
      add_held(table, &list->list[i]);
  for (int i = 0; i < table->moment->facility->station_count; i++) {
    const struct day_booking *next = next_of(list, i, now_ms);

    if (next)
      add_next(table, next);
  }
}
