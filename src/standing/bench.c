/* Facts of a wet bench: its leak trays, heaters and deck, by what is measured. */
#include "standing/standing_impl.h"

/* What only a person reads is a condition, not a silence: nobody has looked yet. */
static bool is_silent_by_itself(const struct answer_live *live, const char *point)
{
  int at = point ? feeds_point_find(live->feeds, point) : -1;

  return at >= 0 && live->belief->inputs[at].age != WATCH_FRESH &&
         live->feeds->sources[live->feeds->points[at].source].kind != FEEDS_HAND;
}

static bool is_heater_silent(const struct answer_live *live, const struct wet_heater *heater)
{
  const struct chemicals_heater *h = heater->heater;

  return heater->need == WET_SILENT &&
         (is_silent_by_itself(live, h->heats.by) || is_silent_by_itself(live, h->level.by) ||
          is_silent_by_itself(live, h->temperature.by) || is_silent_by_itself(live, h->lid.by) ||
          is_silent_by_itself(live, h->exhaust.by));
}

static void add_call(struct standing_table *table, int station, const char *line, const char *text,
                     const char *next, const char *source)
{
  struct standing_fact fact = standing_fact_of("bench", STANDING_AGAINST);

  fact.line = line;
  fact.text = text;
  fact.next = next;
  fact.source = source;
  fact.t_ms = table->moment->now_ms;
  standing_add(table, station, &fact);
}

static void add_calls(struct standing_table *table, const struct wet_bench *b)
{
  const struct facility_station *s = &table->moment->facility->stations[b->station];

  for (int i = 0; i < b->tray_count; i++)
    if (b->trays[i].need == WET_CALL)
      add_call(
          table, b->station, standing_say(table, "LEAK TRAY %s IS WET", b->trays[i].tray->part.id),
          standing_say(table, "Leak tray %s: %s.", b->trays[i].tray->part.id, b->trays[i].says),
          b->trays[i].next, b->trays[i].tray->source);
  for (int i = 0; i < b->heater_count; i++)
    if (b->heaters[i].need == WET_CALL)
      add_call(
          table, b->station,
          standing_say(table, "HEATER %s SHOULD BE OFF", b->heaters[i].heater->part.id),
          standing_say(table, "Heater %s: %s.", b->heaters[i].heater->part.id, b->heaters[i].says),
          b->heaters[i].next, b->heaters[i].heater->source);
  if (b->deck.need == WET_CALL)
    add_call(table, b->station, "ITS DECK IS TOO WEAK", standing_say(table, "%s.", b->deck.says),
             "Start nothing there, stop what gives vapour; call the person in charge.",
             s->deck_least_source);
}

static const char *and_also(struct standing_table *table, const char *all, const char *kind,
                            const char *id)
{
  return standing_say(table, "%s%s%s %s", all, *all ? ", " : "", kind, id);
}

static bool is_unseen(enum wet_need need)
{
  return need == WET_SILENT || need == WET_UNSEEN;
}

/* All that is not seen in one fact: the page of baths says each of them. */
static void add_not_seen(struct standing_table *table, const struct answer_live *live,
                         const struct wet_bench *b)
{
  bool is_silent = false;
  const char *all = "";

  for (int i = 0; i < b->tray_count; i++)
    if (is_unseen(b->trays[i].need)) {
      is_silent |= is_silent_by_itself(live, b->trays[i].leak.point);
      all = and_also(table, all, "tray", b->trays[i].tray->part.id);
    }
  for (int i = 0; i < b->heater_count; i++)
    if (is_unseen(b->heaters[i].need)) {
      is_silent |= is_heater_silent(live, &b->heaters[i]);
      all = and_also(table, all, "heater", b->heaters[i].heater->part.id);
    }
  if (is_unseen(b->deck.need))
    all = and_also(table, all, "its", "deck flow");
  if (!*all)
    return;
  struct standing_fact fact =
      standing_fact_of("panel", is_silent ? STANDING_NOT_KNOWN : STANDING_CONDITION);

  fact.line = is_silent ? "ITS TRAYS AND HEATERS" : "READ THE BENCH'S PANEL";
  fact.text = standing_say(table, "%s: %s.",
                           is_silent ? "What should say how it stands says nothing of now"
                                     : "No point that is heard says how it stands",
                           all);
  fact.next = "Look at the bench itself: trays, heaters, deck.";
  fact.source = "the chemicals file";
  standing_add(table, b->station, &fact);
}

void standing_add_benches(struct standing_table *table)
{
  const struct answer_live *live = table->moment->live;
  const struct standing_told *told = table->moment->told;

  if (!live || !told || !told->baths || told->other_suite)
    return;
  struct wet_place place = *told->baths->place;
  struct wet_baths baths = *told->baths;

  wet_see(&place, live->feeds, live->belief, table->arena);
  baths.place = &place;
  const struct wet_benches *benches = wet_benches(&baths, table->arena);

  for (int i = 0; i < benches->count; i++) {
    if (!table->moment->facility->stations[benches->list[i].station].in_service)
      continue;
    add_calls(table, &benches->list[i]);
    add_not_seen(table, live, &benches->list[i]);
  }
}
