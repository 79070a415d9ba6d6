/* Facts of what people told that stands in tanks and waste containers. */
#include "standing/standing_impl.h"

#include <math.h>
#include <string.h>
#include <strings.h>

static const char *first_line(const struct wet_lines *lines, const char *otherwise)
{
  return lines->count > 0 ? lines->line[0] : otherwise;
}

/* ---- tanks ---- */

/* When it was told of last, and by whom: the bath as it was poured, or what was done since. */
static void set_told(struct standing_table *table, const struct wet_told *told,
                     struct standing_fact *fact)
{
  if (!told) {
    fact->source = "the record";
    return;
  }
  fact->t_ms = told->t_ms;
  fact->who = told->who;
  fact->source = standing_say(table, "entry %lld of the record", (long long)told->number);
}

static void say_not_known(struct standing_table *table, struct standing_fact *fact,
                          const char *what, const char *why, const char *next)
{
  fact->says = STANDING_NOT_KNOWN;
  fact->line = standing_say(table, "WHAT STANDS IN %s", what);
  fact->text = standing_say(table, "%s: %s", what, why);
  fact->next = next;
}

static const char *old_words(struct standing_table *table, int64_t t_ms, double at_most_s)
{
  return standing_say(table, "told of last %s ago, longer than %s (%s).",
                      standing_span(table, (double)(table->moment->now_ms - t_ms) * 1e-3),
                      standing_span(table, at_most_s), table->moment->facility->readiness.source);
}

/* What its bath asks for later is no reason of now, and has its own moment and its own action. */
static void add_next(struct standing_table *table, const struct wet_tank *t,
                     const struct standing_fact *stands)
{
  struct standing_fact fact = *stands;

  if (t->state != WET_STANDS || !t->due_why)
    return;
  fact.says = STANDING_NOTED;
  fact.line = standing_say(table, "%s IS DUE LATER", t->tank->part.id);
  fact.text = standing_say(table, "%s, next: %s.", t->tank->part.id, t->due_why);
  fact.next = "Do that by then, and tell it.";
  fact.until_ms = t->due_ms;
  standing_add(table, t->tank->station, &fact);
}

static void add_tank(struct standing_table *table, const struct wet_tank *t)
{
  double at_most_s = table->moment->facility->readiness.tanks_s;
  struct standing_fact fact = standing_fact_of("tank", STANDING_NOTED);
  const char *id = t->tank->part.id, *why;

  set_told(table, t->last, &fact);
  fact.at_most_s = at_most_s;
  if (t->state == WET_NOT_KNOWN || !t->last) {
    say_not_known(table, &fact, id, first_line(&t->reasons, "nothing was told of it."),
                  "Look, and tell what stands there.");
  } else if (standing_is_old(table, t->last->t_ms, at_most_s)) {
    say_not_known(table, &fact, id, old_words(table, t->last->t_ms, at_most_s),
                  "Look, and tell what stands there.");
  } else if (t->state == WET_EMPTY) {
    fact.line = standing_say(table, "%s EMPTY", id);
    fact.text = standing_say(table, "%s was told empty.", id);
  } else {
    fact.says = STANDING_CONDITION;
    fact.line =
        standing_say(table, "%s STANDS IN %s%s", t->bath, id, t->state == WET_DUE ? ", DUE" : "");
    why = first_line(&t->reasons, "");
    fact.text = standing_say(table, "%s holds %s%s%s.", id, t->bath, *why ? ": " : "", why);
    fact.next = t->state == WET_DUE ? "See to the bath first."
                                    : "Only what may stand beside it: ask `inward meet`.";
    add_next(table, t, &fact);
  }
  standing_add(table, t->tank->station, &fact);
}

/* ---- waste ---- */

static void add_container(struct standing_table *table, const struct wet_container *c)
{
  double at_most_s = table->moment->facility->readiness.waste_s;
  struct standing_fact fact = standing_fact_of("waste", STANDING_NOTED);
  const char *what = standing_say(table, "waste %s", c->id), *why;

  set_told(table, c->last, &fact);
  fact.at_most_s = at_most_s;
  fact.until_ms = c->due_ms;
  if (c->state == WET_NOT_KNOWN || !c->last) {
    say_not_known(table, &fact, what, first_line(&c->reasons, "what it ever held is not known."),
                  "Do not open, move or close it: call who takes care of waste.");
  } else if (standing_is_old(table, c->last->t_ms, at_most_s)) {
    say_not_known(table, &fact, what, old_words(table, c->last->t_ms, at_most_s),
                  "Look, and tell how full it is.");
  } else {
    fact.says = c->state == WET_DUE ? STANDING_CONDITION : STANDING_NOTED;
    fact.line = standing_say(table, "WASTE %s%s", c->id, c->state == WET_DUE ? " IS DUE" : "");
    why = first_line(&c->reasons, c->due_why ? c->due_why : "");
    fact.text = standing_say(table, "Waste %s stands here%s%s.", c->id, *why ? ": " : "", why);
    fact.next = c->state == WET_DUE ? "Have it collected first." : NULL;
  }
  standing_add(table, c->stream->station, &fact);
}

/* ---- entries that cannot be placed ---- */

static void add_unread(struct standing_table *table, const struct wet_past *past)
{
  struct standing_fact fact = standing_fact_of("tank", STANDING_NOT_KNOWN);

  if (past->unread_count == 0)
    return;
  fact.line = "AN ENTRY OF BATHS OR WASTE";
  fact.text = standing_say(table,
                           "%d entr%s of baths or waste cannot be read, or are of a moment to "
                           "come: what they told is not known.",
                           past->unread_count, past->unread_count == 1 ? "y" : "ies");
  fact.next = "Look at tanks and containers.";
  fact.source = "the record";
  for (int i = 0; i < table->moment->facility->station_count; i++)
    standing_add(table, i, &fact);
}

/* ---- what the chemicals file does not name any more ---- */

/* The newest that counts of a tank, and it did not empty it. */
static bool is_last_and_stands(const struct wet_past *past, int at)
{
  const struct wet_told *told = &past->list[at];

  if (!told->tank || told->void_why || told->act == WET_DUMPED)
    return false;
  for (int i = at + 1; i < past->count; i++)
    if (!past->list[i].void_why && past->list[i].tank &&
        strcasecmp(past->list[i].tank, told->tank) == 0)
      return false;
  return true;
}

/* The file was changed, and what stood there did not go away with the name. */
static void add_everywhere(struct standing_table *table, const char *kind, const char *what,
                           const struct wet_told *told)
{
  struct standing_fact fact = standing_fact_of(kind, STANDING_NOT_KNOWN);

  set_told(table, told, &fact);
  say_not_known(table, &fact, what,
                "the chemicals file does not name it any more, and it was not told empty or gone: "
                "it may stand here.",
                "Look, and ask who changed the file.");
  for (int i = 0; i < table->moment->facility->station_count; i++)
    standing_add(table, i, &fact);
}

static void add_strangers(struct standing_table *table, const struct standing_told *told)
{
  const struct wet_past *past = told->baths->past;
  const struct chemicals *own = told->baths->place->own;

  for (int i = 0; i < past->count; i++)
    if (is_last_and_stands(past, i) && (!own || chemicals_tank_find(own, past->list[i].tank) < 0))
      add_everywhere(table, "tank", past->list[i].tank, &past->list[i]);
  for (int i = 0; i < told->waste->count; i++)
    if (!told->waste->containers[i].stream)
      add_everywhere(table, "waste", standing_say(table, "waste %s", told->waste->containers[i].id),
                     told->waste->containers[i].last);
}

void standing_add_tanks(struct standing_table *table)
{
  const struct standing_told *told = table->moment->told;

  if (!told || !told->baths || told->other_suite)
    return;
  for (int i = 0; i < told->baths->count; i++)
    add_tank(table, &told->baths->tanks[i]);
  for (int i = 0; i < told->waste->count; i++)
    if (told->waste->containers[i].stream)
      add_container(table, &told->waste->containers[i]);
  add_strangers(table, told);
  add_unread(table, told->baths->past);
}
