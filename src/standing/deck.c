/* Which chemistry family is on a deck, by what people told: baths, runs, and rounds that found it free. */
#include "standing/standing_impl.h"

#include <string.h>
#include <strings.h>

/* What is told of one deck. */
struct claims {
  const char *family, *other; /* the first, and one that differs; NULL */
  const char *unplaced;       /* of no family that any process says; NULL */
  const char *what;           /* "sc-1 in T1" */
  struct standing_fact of;    /* source, who and when of the first */
};

static bool is_at(const struct processes_process *p, int station)
{
  for (int i = 0; i < p->station_count; i++)
    if (p->stations[i] == station)
      return true;
  return false;
}

static bool uses(const struct processes_process *p, const char *bath)
{
  for (int i = 0; i < p->use_count; i++)
    if (strcasecmp(p->uses[i], bath) == 0)
      return true;
  return false;
}

static bool is_called(const struct processes_process *p, const char *what)
{
  return strcasecmp(p->part.id, what) == 0 || (p->part.name && strcasecmp(p->part.name, what) == 0);
}

/* By the processes of that station, where they agree; NULL: not known. */
static const char *family_of(const struct standing_table *table, int station, const char *what,
                             bool (*fits)(const struct processes_process *p, const char *what))
{
  const struct processes *list = table->moment->processes;
  const char *family = NULL;

  for (int i = 0; list && i < list->count; i++) {
    const struct processes_process *p = &list->list[i];

    if (!is_at(p, station) || !fits(p, what))
      continue;
    if (p->family == PROCESSES_NO_FAMILY ||
        (family && strcmp(family, processes_family_word(p->family)) != 0))
      return NULL;
    family = processes_family_word(p->family);
  }
  return family;
}

static void claim(struct claims *c, const char *family, const char *what,
                  const struct standing_fact *of)
{
  if (!family) {
    c->unplaced = c->unplaced ? c->unplaced : what;
  } else if (!c->family) {
    c->family = family;
    c->what = what;
    c->of = *of;
    return;
  } else if (strcmp(c->family, family) != 0) {
    c->other = family;
  }
  if (!c->of.source)
    c->of = *of;
}

static void claim_tanks(struct standing_table *table, int station, struct claims *c)
{
  const struct wet_baths *baths = table->moment->told->baths;

  for (int i = 0; baths && i < baths->count; i++) {
    const struct wet_tank *t = &baths->tanks[i];
    struct standing_fact of = standing_fact_of("deck", STANDING_CONDITION);

    if (t->tank->station != station || !t->made)
      continue;
    of.t_ms = t->made->t_ms;
    of.who = t->made->who;
    of.source = standing_say(table, "entry %lld of the record", (long long)t->made->number);
    claim(c, family_of(table, station, t->tank->bath, uses),
          standing_say(table, "%s in %s", t->bath, t->tank->part.id), &of);
  }
}

static void claim_run(struct standing_table *table, int station, struct claims *c)
{
  const struct run *run = run_at(table->moment->told->runs, station);
  struct standing_fact of = standing_fact_of("deck", STANDING_CONDITION);

  if (!run)
    return;
  of.t_ms = run->started_ms;
  of.who = run->who;
  of.source = standing_say(table, "entry %lld of the record", (long long)run->number);
  claim(c, family_of(table, station, run->words.what, is_called), run->words.what, &of);
}

/* ---- free ---- */

static const struct round_found *found_free(const struct round_station *s, bool *asked)
{
  *asked = false;
  for (int i = 0; i < s->count; i++)
    if (strcmp(s->found[i].item->id, "deck") == 0) {
      *asked = true;
      return s->found[i].state == ROUND_LOOKED ? &s->found[i] : NULL;
    }
  return NULL;
}

/* Where a round is asked for the deck, and none says so, the round's own fact tells that. */
static void add_free(struct standing_table *table, int station)
{
  bool asked;
  const struct round_found *found =
      found_free(&table->moment->told->rounds->stations[station], &asked);
  struct standing_fact fact = standing_fact_of("deck", found ? STANDING_NOTED : STANDING_NOT_KNOWN);

  if (!found && asked)
    return;
  fact.line = found ? "DECK WAS FREE" : "WHAT STANDS ON ITS DECK";
  fact.text = found ? standing_say(table, "Its deck was found free at %s, and at no other moment.",
                                   standing_clock(table, found->t_ms))
                    : "No round is asked whether its deck is free, and nothing was told of it.";
  fact.source = found ? standing_say(table, "entry %lld of the record", (long long)found->number)
                      : "the suite file";
  if (found) {
    fact.who = found->who;
    fact.t_ms = found->t_ms;
    fact.at_most_s = found->item->at_most_s;
    table->rows[station].is_deck_free = true;
  } else {
    fact.next = "Look at the deck.";
  }
  standing_add(table, station, &fact);
}

static void add_family(struct standing_table *table, int station, const struct claims *c)
{
  struct standing_fact fact = c->of;

  if (c->other) {
    fact.says = STANDING_CONTRADICTORY;
    fact.line = standing_say(table, "%s AND %s ON ONE DECK", c->family, c->other);
    fact.text =
        standing_say(table, "What was told is of two chemistry families at once: %s and %s.",
                     c->family, c->other);
    fact.next = "Start nothing. Ask who told it, and look what stands there.";
  } else if (c->unplaced) {
    fact.says = STANDING_NOT_KNOWN;
    fact.line = "THE DECK'S CHEMISTRY FAMILY";
    fact.text = standing_say(table, "%s: no process of this station says of which family it is.",
                             c->unplaced);
    fact.next = "Ask who made it, before anything of another family comes beside it.";
  } else {
    fact.line = standing_say(table, "DECK: %s ONLY", c->family);
    fact.text =
        standing_say(table, "On its deck: %s (%s). Nothing of another family before a clean-down.",
                     c->family, c->what);
    fact.next = "Another family waits for the clean-down.";
    table->rows[station].family = c->family;
  }
  standing_add(table, station, &fact);
}

void standing_add_decks(struct standing_table *table)
{
  const struct standing_told *told = table->moment->told;

  if (!told || told->other_suite)
    return;
  for (int i = 0; i < table->moment->facility->station_count; i++) {
    struct claims c = {0};

    claim_tanks(table, i, &c);
    claim_run(table, i, &c);
    if (c.family || c.unplaced)
      add_family(table, i, &c);
    else
      add_free(table, i);
  }
}
