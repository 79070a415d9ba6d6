/* The table: facts by station, the worst first, and the line that they come to. */
#include "standing/standing_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Among facts that say the same, the order of who must act first. */
static const char *const kinds[] = {
    "building alarm", "own alarm", "bench", "stop",   "service", "withdrawn", "incident", "run",
    "sash",           "use",       "air",   "proof",  "round",   "booking",   "deck",     "tank",
    "glass",          "waste",     "panel", "record", "look"};

static int rank_of(const char *kind)
{
  int count = sizeof kinds / sizeof kinds[0];

  for (int i = 0; i < count; i++)
    if (strcmp(kinds[i], kind) == 0)
      return i;
  return count - 1; /* one that another module coined */
}

const char *standing_says_key(enum standing_says says)
{
  static const char *const keys[] = {[STANDING_AGAINST] = "against",
                                     [STANDING_CONTRADICTORY] = "contradictory",
                                     [STANDING_NOT_KNOWN] = "not_known",
                                     [STANDING_CONDITION] = "condition",
                                     [STANDING_NOTED] = "noted"};

  return keys[says];
}

const char *standing_state_key(enum standing_state state)
{
  static const char *const keys[] = {[STANDING_NOT_READY] = "not_ready",
                                     [STANDING_TREAT_AS_NO] = "not_known",
                                     [STANDING_UNDER_CONDITIONS] = "under_conditions"};

  return keys[state];
}

const char *standing_state_words(enum standing_state state)
{
  static const char *const words[] = {[STANDING_NOT_READY] = "NOT READY",
                                      [STANDING_TREAT_AS_NO] = "NOT KNOWN, TREAT AS NO",
                                      [STANDING_UNDER_CONDITIONS] = "READY UNDER CONDITIONS"};

  return words[state];
}

/* ---- words ---- */

const char *standing_say(struct standing_table *table, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *text = arena_vprintf(table->arena, fmt, args);

  va_end(args);
  BUG_IF(!text);
  return text;
}

/* Of the days around today the weekday is enough, and is read from afar. */
const char *standing_clock(struct standing_table *table, int64_t t_ms)
{
  static const char *const days[] = {"MON", "TUE", "WED", "THU", "FRI", "SAT", "SUN"};
  static const int64_t near_ms = 6LL * 24 * 3600 * 1000;
  const struct when_zone *zone = table->moment->zone;
  int64_t now_ms = table->moment->now_ms;
  struct when_civil at = when_civil(zone, t_ms, NULL), now = when_civil(zone, now_ms, NULL);

  if (at.year == now.year && at.month == now.month && at.day == now.day)
    return standing_say(table, "%02d:%02d", at.hour, at.minute);
  if (t_ms > now_ms - near_ms && t_ms < now_ms + near_ms)
    return standing_say(table, "%s %02d:%02d", days[when_weekday(&at)], at.hour, at.minute);
  return standing_say(table, "%04d-%02d-%02d %02d:%02d", at.year, at.month, at.day, at.hour,
                      at.minute);
}

const char *standing_span(struct standing_table *table, double span_s)
{
  struct buf text;

  buf_init(&text, 100);
  when_print_span(&text, span_s);
  const char *words = standing_say(table, "%s", text.text);

  buf_release(&text);
  return words;
}

/* ---- facts ---- */

struct standing_fact standing_fact_of(const char *kind, enum standing_says says)
{
  return (struct standing_fact){.kind = kind,
                                .says = says,
                                .t_ms = INT64_MIN,
                                .at_most_s = (double)NAN,
                                .until_ms = INT64_MIN};
}

double standing_age_s(const struct standing_table *table, const struct standing_fact *fact)
{
  return fact->t_ms == INT64_MIN ? (double)NAN
                                 : (double)(table->moment->now_ms - fact->t_ms) * 1e-3;
}

bool standing_is_old(const struct standing_table *table, int64_t t_ms, double at_most_s)
{
  return (double)(table->moment->now_ms - t_ms) * 1e-3 > at_most_s;
}

void standing_add(struct standing_table *table, int station, const struct standing_fact *fact)
{
  struct standing_row *row = &table->rows[station];

  BUG_IF(!fact->kind || !fact->line || !fact->text || !fact->source);
  if (row->fact_count == row->fact_room) {
    int room = row->fact_room * 2 + 16;
    struct standing_fact *more = ARENA_ARRAY(table->arena, struct standing_fact, (size_t)room);

    BUG_IF(!more);
    if (row->fact_count > 0)
      memcpy(more, row->facts, (size_t)row->fact_count * sizeof *more);
    row->facts = more;
    row->fact_room = room;
  }
  row->facts[row->fact_count++] = *fact;
}

struct standing_table *standing_new(const struct standing_moment *moment, struct arena *arena)
{
  struct standing_table *table = ARENA_NEW(arena, struct standing_table);
  struct standing_moment *own = ARENA_NEW(arena, struct standing_moment);
  struct standing_row *rows =
      ARENA_ARRAY(arena, struct standing_row, (size_t)moment->facility->station_count + 1);

  BUG_IF(!table || !own || !rows);
  *own = *moment;
  if (!own->zone)
    own->zone = when_utc();
  *table = (struct standing_table){own, arena, rows};
  standing_add_proofs(table);
  standing_add_told(table);
  standing_add_tanks(table);
  standing_add_benches(table);
  standing_add_decks(table);
  standing_add_glass(table);
  standing_add_booked(table);
  standing_add_seen(table);
  own->live = NULL; /* both borrowed for the time of this call */
  own->bookings = NULL;
  return table;
}

/* ---- what they come to ---- */

/* By gravity, then by who must act first, then as they were added. */
static void sort(struct standing_row *row)
{
  for (int i = 1; i < row->fact_count; i++) {
    struct standing_fact fact = row->facts[i];
    int at = i;

    for (; at > 0; at--) {
      const struct standing_fact *before = &row->facts[at - 1];

      if (before->says < fact.says ||
          (before->says == fact.says && rank_of(before->kind) <= rank_of(fact.kind)))
        break;
      row->facts[at] = *before;
    }
    row->facts[at] = fact;
  }
}

static enum standing_state state_of(enum standing_says worst)
{
  switch (worst) {
  case STANDING_AGAINST:
    return STANDING_NOT_READY;
  case STANDING_CONTRADICTORY:
  case STANDING_NOT_KNOWN:
    return STANDING_TREAT_AS_NO;
  case STANDING_CONDITION:
  case STANDING_NOTED:
  case STANDING_SAYS_COUNT:
    break;
  }
  return STANDING_UNDER_CONDITIONS;
}

/* No answer is without this one. */
static void add_look(struct standing_table *table, int station)
{
  struct standing_row *row = &table->rows[station];
  struct standing_fact fact = standing_fact_of("look", STANDING_CONDITION);

  for (int i = 0; i < row->fact_count; i++)
    if (strcmp(row->facts[i].kind, fact.kind) == 0)
      return;
  fact.line = "LOOK BEFORE YOU START";
  fact.text =
      "Look at deck, labels, sash and the station's own alarm before you start: what nobody "
      "told or measured is not here.";
  fact.next = "Your procedure and your training decide the rest.";
  fact.source = "stands beside every answer";
  standing_add(table, station, &fact);
}

void standing_settle(struct standing_table *table)
{
  for (int i = 0; i < table->moment->facility->station_count; i++) {
    struct standing_row *row = &table->rows[i];

    add_look(table, i);
    sort(row);
    row->state = state_of(row->facts[0].says);
    row->line = standing_say(table, "%s: %s", standing_state_words(row->state), row->facts[0].line);
  }
}

bool standing_asks_a_person(const struct standing_table *table, int station)
{
  for (int i = 0; i < table->moment->facility->station_count; i++)
    if ((station < 0 || station == i) && table->rows[i].state != STANDING_UNDER_CONDITIONS)
      return true;
  return false;
}
