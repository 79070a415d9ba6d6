/* Facts of glass: pieces that lost their status here, and of which nobody wrote what was done. */
#include "standing/standing_impl.h"

static void add_case(struct standing_table *table, const struct sighting_case *c)
{
  struct standing_fact fact = standing_fact_of("glass", STANDING_CONDITION);
  struct buf piece;

  buf_init(&piece, 400);
  glass_told_text(&c->told, &piece);
  fact.line = standing_say(table, "GLASS HERE HAS NO STATUS: LEAVE IT");
  fact.text = standing_say(table, "%s, and nobody wrote what was done with %s.", piece.text,
                           c->left == 1 ? "it" : "all of them");
  fact.next = "Do not use, move or empty it: who looks after the stations decides, and writes it.";
  fact.source = standing_say(table, "entry %lld of the record", (long long)c->last.number);
  fact.who = c->last.who;
  fact.t_ms = c->last.t_ms;
  buf_release(&piece);
  standing_add(table, c->station, &fact);
}

static void add_unread(struct standing_table *table, int count)
{
  struct standing_fact fact = standing_fact_of("glass", STANDING_NOT_KNOWN);

  fact.line = "WHAT WAS TOLD OF GLASS CANNOT BE READ";
  fact.text = standing_say(table, "Entries about glass that cannot be read: %d.", count);
  fact.next = "Look for glass that does not belong here.";
  fact.source = "the record";
  for (int i = 0; i < table->moment->facility->station_count; i++)
    standing_add(table, i, &fact);
}

void standing_add_glass(struct standing_table *table)
{
  const struct sighting_list *list = table->moment->told ? table->moment->told->glass : NULL;

  if (!list)
    return;
  for (int i = 0; i < list->case_count; i++)
    if (list->cases[i].is_lost && list->cases[i].left > 0 && list->cases[i].station >= 0)
      add_case(table, &list->cases[i]);
  if (list->unread > 0)
    add_unread(table, list->unread);
}
