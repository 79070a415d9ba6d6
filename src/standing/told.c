/* Facts of what people told: stations taken out of use, runs with nobody there, rounds, incidents. */
#include "standing/standing_impl.h"

#include <math.h>
#include <string.h>

static const char *entry_words(struct standing_table *table, int64_t number)
{
  return standing_say(table, "entry %lld of the record", (long long)number);
}

/* ---- taken out of use ---- */

static void add_withdrawn(struct standing_table *table, int station)
{
  const struct record_entry *entry = table->moment->told->withdrawn[station];
  struct standing_fact fact = standing_fact_of("withdrawn", STANDING_AGAINST);

  if (!entry)
    return;
  fact.line = standing_say(table, "WITHDRAWN SINCE %s", standing_clock(table, entry->t_ms));
  fact.text = standing_say(table, "Taken out of use by %s: %s", entry->who, entry->text);
  fact.next = "Leave it. Who takes care of it gives it back, and says so in the record.";
  fact.source = entry_words(table, entry->number);
  fact.who = entry->who;
  fact.t_ms = entry->t_ms;
  standing_add(table, station, &fact);
}

/* ---- runs with nobody there ---- */

static const char *run_line(struct standing_table *table, const struct run *run)
{
  switch (run->phase) {
  case RUN_RUNS:
    return standing_say(table, "RUNS UNTIL %s", standing_clock(table, run->until_ms));
  case RUN_OVERDUE:
    return standing_say(table, "RUN OVERDUE SINCE %s", standing_clock(table, run->until_ms));
  case RUN_COOLS:
    return standing_say(table, "COOLS UNTIL %s", standing_clock(table, run->cold_ms));
  case RUN_MAY_BE_COLD:
  case RUN_NOT_KNOWN:
    break;
  }
  return run_phase_words(run->phase);
}

static void add_run(struct standing_table *table, const struct run *run)
{
  bool is_over = run->over_ms != INT64_MIN;
  int64_t end_ms = is_over ? run->cold_ms : run->until_ms;
  struct standing_fact fact = standing_fact_of("run", STANDING_AGAINST);

  fact.line = run_line(table, run);
  fact.text = standing_say(table, "%s with nobody there; holds %s; %s (%s).", run->words.what,
                           run->words.holds, run->words.hazards, run->why);
  fact.next = standing_say(table, "%sCall %s%s%s.",
                           run->phase == RUN_RUNS || run->phase == RUN_OVERDUE
                               ? "Touch nothing. "
                               : "Measure before you touch, then say that it is cleared. ",
                           run->words.call, run->words.second ? ", or " : "",
                           run->words.second ? run->words.second : "");
  fact.source = entry_words(table, run->number);
  fact.who = run->who;
  fact.t_ms = is_over ? run->over_ms : run->started_ms;
  fact.until_ms = end_ms == INT64_MAX ? INT64_MIN : end_ms;
  standing_add(table, run->station, &fact);
}

static void add_runs(struct standing_table *table)
{
  const struct run_list *runs = table->moment->told->runs;
  struct standing_fact fact = standing_fact_of("run", STANDING_NOT_KNOWN);

  for (int i = 0; i < runs->count; i++)
    add_run(table, &runs->runs[i]);
  if (runs->unread == 0)
    return;
  fact.line = "WHETHER SOMETHING RUNS";
  fact.text = standing_say(table,
                           "%d entr%s of runs cannot be read, or name no station of the suite: "
                           "something may run or cool here.",
                           runs->unread, runs->unread == 1 ? "y" : "ies");
  fact.next = "Look for a sign on the station.";
  fact.source = "the record";
  for (int i = 0; i < table->moment->facility->station_count; i++)
    standing_add(table, i, &fact);
}

/* ---- rounds ---- */

static void add_open(struct standing_table *table, int station, const struct round_found *found)
{
  struct standing_fact fact = standing_fact_of("round", STANDING_AGAINST);
  bool said_no = found->said == ROUND_NO;

  fact.line = standing_say(table, "%s: %s", said_no ? "OPEN FINDING" : "EXPIRED", found->item->id);
  fact.text =
      standing_say(table, "%s %s%s%s%s", found->item->question, said_no ? "No" : "Kept until ",
                   said_no ? "" : found->expires, said_no && found->words ? ": " : ".",
                   said_no && found->words ? found->words : "");
  fact.next = "Mend it, then say yes on a round.";
  fact.source = entry_words(table, found->number);
  fact.who = found->who;
  fact.t_ms = said_no ? found->since_ms : found->t_ms;
  standing_add(table, station, &fact);
}

/* The items of that state in one fact: the oldest of them is its moment. */
static void add_items(struct standing_table *table, const struct round_station *s,
                      enum round_state state, struct standing_fact *fact, const char *text,
                      const char *line)
{
  enum { NAMED_MOST = 2 }; /* more are not read from afar */
  const char *ids = "";
  int count = 0;

  for (int i = 0; i < s->count; i++) {
    const struct round_found *found = &s->found[i];

    if (found->state != state)
      continue;
    ids = standing_say(table, "%s%s%s", ids, count++ > 0 ? ", " : "", found->item->id);
    if (found->t_ms != INT64_MIN && (fact->t_ms == INT64_MIN || found->t_ms < fact->t_ms)) {
      fact->t_ms = found->t_ms;
      fact->at_most_s = found->item->at_most_s;
      fact->who = found->who;
      fact->source = entry_words(table, found->number);
    }
  }
  if (count == 0)
    return;
  fact->line = count <= NAMED_MOST ? standing_say(table, "%s: %s", line, ids)
                                   : standing_say(table, "%s: %d THINGS", line, count);
  fact->text = standing_say(table, "%s: %s.", text, ids);
  standing_add(table, s->station, fact);
}

static void add_round(struct standing_table *table, const struct round_station *s)
{
  struct standing_fact overdue = standing_fact_of("round", STANDING_NOT_KNOWN);
  struct standing_fact never = overdue, looked = standing_fact_of("round", STANDING_NOTED);

  for (int i = 0; i < s->count; i++)
    if (s->found[i].state == ROUND_OPEN)
      add_open(table, s->station, &s->found[i]);
  overdue.next = never.next = "Walk a round here: look, and say what is so.";
  overdue.source = never.source = looked.source = "the record";
  add_items(table, s, ROUND_OVERDUE, &overdue, "Looked at longer ago than the suite asks for",
            "ROUND OVERDUE");
  if (s->count == 0) {
    never.line = "NO ROUND LOOKS HERE";
    never.text = "Nothing of the suite's `rounds` is asked here.";
    never.source = "the suite file";
    standing_add(table, s->station, &never);
  } else {
    add_items(table, s, ROUND_NOT_KNOWN, &never, "Nobody told of a round that looked at",
              "NEVER LOOKED AT");
  }
  add_items(table, s, ROUND_LOOKED, &looked, "Looked at, nothing found then", "LOOKED AT");
}

static void add_rounds(struct standing_table *table)
{
  const struct round_list *rounds = table->moment->told->rounds;
  struct standing_fact fact = standing_fact_of("round", STANDING_NOT_KNOWN);

  for (int i = 0; i < rounds->count; i++)
    add_round(table, &rounds->stations[i]);
  if (rounds->unread == 0)
    return;
  fact.line = "A ROUND CANNOT BE READ";
  fact.text =
      standing_say(table, "%d entr%s of rounds cannot be read: what they found is not known.",
                   rounds->unread, rounds->unread == 1 ? "y" : "ies");
  fact.next = "Look at the station.";
  fact.source = "the record";
  for (int i = 0; i < rounds->count; i++)
    standing_add(table, i, &fact);
}

/* ---- incidents ---- */

/* About the station, its room, or all of the suite. */
static bool is_about(const struct facility *f, const char *about, int station)
{
  const struct facility_station *s = &f->stations[station];

  return !*about || strcmp(about, s->part.id) == 0 ||
         (s->room >= 0 && strcmp(about, f->rooms[s->room].part.id) == 0);
}

/* A near miss is for the staff, later. */
static bool stands_against(const struct record_entry *entry)
{
  return !strstr(entry->detail, "\"incident\": \"near-miss\"");
}

static void add_incident(struct standing_table *table, int station)
{
  const struct standing_told *told = table->moment->told;
  const struct facility *f = table->moment->facility;
  const struct record_entry *newest = NULL;
  struct standing_fact fact = standing_fact_of("incident", STANDING_AGAINST);

  for (int i = 0; i < told->incident_count; i++)
    if (is_about(f, told->incidents[i].about, station) && stands_against(&told->incidents[i]))
      newest = &told->incidents[i];
  if (!newest)
    return;
  fact.line =
      standing_say(table, "TOLD AT %s: SOMETHING HAPPENED", standing_clock(table, newest->t_ms));
  fact.text =
      standing_say(table, "%s: %s.", *newest->about ? newest->about : "The suite", newest->text);
  fact.next = "Ask who told it, and the staff, before anybody starts.";
  fact.source = entry_words(table, newest->number);
  fact.who = newest->who;
  fact.t_ms = newest->t_ms;
  fact.until_ms = newest->t_ms + (int64_t)(f->readiness.incident_s * 1e3);
  standing_add(table, station, &fact);
}

/* ---- of a moment to come ---- */

/* About it, its room, all of the suite, or what the suite does not name. */
static bool may_be_about(const struct facility *f, const char *about, int station)
{
  for (int i = 0; i < f->station_count; i++)
    if (is_about(f, about, i))
      return is_about(f, about, station);
  return true;
}

/* Neither what it told may be forgotten, nor may it be taken for told now. */
static void add_ahead(struct standing_table *table, int station)
{
  const struct standing_told *told = table->moment->told;
  const struct record_entry *first = NULL;
  struct standing_fact fact = standing_fact_of("record", STANDING_NOT_KNOWN);
  int count = 0;

  for (int i = 0; i < told->ahead_count; i++)
    if (may_be_about(table->moment->facility, told->ahead[i].about, station)) {
      first = first ? first : &told->ahead[i];
      count++;
    }
  if (!first)
    return;
  fact.line = "TOLD OF A MOMENT TO COME";
  fact.text = standing_say(
      table, "The record has %d entr%s of a moment that has not come, the first %s: %s.", count,
      count == 1 ? "y" : "ies", entry_words(table, first->number), first->text);
  fact.next = "A clock was ahead, or was set back: look at the station, and ask who told it.";
  fact.source = entry_words(table, first->number);
  fact.who = first->who;
  standing_add(table, station, &fact);
}

void standing_add_told(struct standing_table *table)
{
  const struct standing_told *told = table->moment->told;
  struct standing_fact fact = standing_fact_of("record", STANDING_NOT_KNOWN);

  if (told && !told->other_suite) {
    add_runs(table);
    add_rounds(table);
  }
  fact.line = "NOTHING IS KEPT";
  fact.text = told ? standing_say(table,
                                  "The record is of the suite %s: what people told of this one "
                                  "is not known.",
                                  told->other_suite ? told->other_suite : "")
                   : "No record is asked: rounds, runs, tanks and who took what out of use are not "
                     "known.";
  fact.next = "Ask with the record that people write to.";
  fact.source = told ? "the record" : "nothing is kept";
  for (int i = 0; i < table->moment->facility->station_count; i++)
    if (!told || told->other_suite)
      standing_add(table, i, &fact);
    else {
      add_withdrawn(table, i);
      add_incident(table, i);
      add_ahead(table, i);
    }
}
