/* How each station stands, for people. */
#include "standing/standing_impl.h"

#include <math.h>

static void put_head(const struct standing_table *table, struct buf *out)
{
  const struct facility *f = table->moment->facility;

  buf_printf(out, "%s%s%s%s   may I start here now? ", f->name ? f->name : "(no name)",
             f->label ? "   [" : "", f->label ? f->label : "", f->label ? "]" : "");
  when_print(out, table->moment->zone, table->moment->now_ms);
  buf_puts(out, "\n\n");
}

static const struct round_station *rounds_of(const struct standing_table *table, int station)
{
  const struct standing_told *told = table->moment->told;

  return told && !told->other_suite ? &told->rounds->stations[station] : NULL;
}

static void put_clear(const struct standing_table *table, int station, struct buf *out)
{
  const struct round_station *s = rounds_of(table, station);

  if (!s || s->clear.t_ms == INT64_MIN) {
    buf_puts(out, "at no moment known clear");
    return;
  }
  buf_puts(out, "known clear at ");
  when_print(out, table->moment->zone, s->clear.t_ms);
  buf_printf(out, " by %s", s->clear.who);
}

/* ---- all ---- */

static int count_against(const struct standing_row *row)
{
  int count = 0;

  for (int i = 0; i < row->fact_count; i++)
    count += row->facts[i].says <= STANDING_NOT_KNOWN;
  return count;
}

static void put_line(const struct standing_table *table, int station, struct buf *out)
{
  const struct standing_row *row = &table->rows[station];
  int more = count_against(row) - 1;

  buf_printf(out, "  %-6s %s", table->moment->facility->stations[station].part.id, row->line);
  if (more > 0)
    buf_printf(out, "   (and %d more)", more);
  if (row->family)
    buf_printf(out, "   [deck: %s]", row->family);
  buf_putc(out, '\n');
}

static void put_all(const struct standing_table *table, struct buf *out)
{
  for (int i = 0; i < table->moment->facility->station_count; i++)
    put_line(table, i, out);
}

/* ---- one ---- */

static void put_moment(const struct standing_table *table, const struct standing_fact *fact,
                       int64_t t_ms, struct buf *out)
{
  struct when_civil day;

  if (!fact->by_day) {
    when_print(out, table->moment->zone, t_ms);
    return;
  }
  day = when_civil(table->moment->zone, t_ms, NULL);
  buf_printf(out, "%04d-%02d-%02d", day.year, day.month, day.day);
}

static void put_origin(const struct standing_table *table, const struct standing_fact *fact,
                       struct buf *out)
{
  double age_s = standing_age_s(table, fact);

  buf_printf(out, "        %s", fact->source);
  if (fact->who)
    buf_printf(out, ", %s", fact->who);
  if (!isnan(age_s)) {
    buf_puts(out, ", ");
    put_moment(table, fact, fact->t_ms, out);
    if (age_s > 0) {
      buf_puts(out, ", ");
      when_print_span(out, age_s);
      buf_puts(out, " ago");
    }
  }
  if (!isnan(fact->at_most_s)) {
    buf_puts(out, ", counts for ");
    when_print_span(out, fact->at_most_s);
  }
  if (fact->until_ms != INT64_MIN) {
    buf_puts(out, ", until ");
    put_moment(table, fact, fact->until_ms - fact->by_day, out);
  }
  buf_putc(out, '\n');
}

static void put_fact(const struct standing_table *table, const struct standing_fact *fact,
                     struct buf *out)
{
  static const char signs[] = {[STANDING_AGAINST] = '!',
                               [STANDING_CONTRADICTORY] = '#',
                               [STANDING_NOT_KNOWN] = '?',
                               [STANDING_CONDITION] = '>',
                               [STANDING_NOTED] = ' '};

  buf_printf(out, "    %c %s: %s\n", signs[fact->says], fact->kind, fact->text);
  if (fact->next)
    buf_printf(out, "        -> %s\n", fact->next);
  put_origin(table, fact, out);
}

static void put_one(const struct standing_table *table, int station, struct buf *out)
{
  const struct facility_station *s = &table->moment->facility->stations[station];
  const struct standing_row *row = &table->rows[station];

  buf_printf(out, "  %s %s\n  %s\n", s->part.id, s->part.name ? s->part.name : "", row->line);
  if (row->facts[0].next)
    buf_printf(out, "  -> %s\n", row->facts[0].next);
  buf_puts(out, "\n  For: ");
  buf_puts(out, s->card.chemistry ? s->card.chemistry : "not stated in the suite file");
  buf_puts(out, "\n  Not here: ");
  for (int i = 0; i < s->card.not_here_count; i++)
    buf_printf(out, "%s%s", i > 0 ? ", " : "", s->card.not_here[i]);
  if (s->card.not_here_count == 0)
    buf_puts(out, "not stated, which is not a clearance");
  buf_puts(out, "\n  Deck: ");
  buf_puts(out, row->family         ? row->family
                : row->is_deck_free ? "found free on the last round"
                                    : "not known");
  buf_puts(out, "\n  Round: ");
  put_clear(table, station, out);
  buf_puts(out, "\n\n");
  for (int i = 0; i < row->fact_count; i++)
    put_fact(table, &row->facts[i], out);
}

void standing_text(const struct standing_table *table, int station, struct buf *out)
{
  put_head(table, out);
  if (station < 0)
    put_all(table, out);
  else
    put_one(table, station, out);
  buf_puts(out,
           "\nBy what people told and points measured, and no permission: your procedure, your "
           "training and the station's\nown alarm decide. What nobody told is not here.\n");
  if (station >= 0)
    buf_puts(out, "! against   # contradictory   ? not known   > condition\n");
}
