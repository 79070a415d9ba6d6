/* Facts of the suite file: proofs that must be in date, and stations that are out of service. */
#include "standing/standing_impl.h"

#include <math.h>

static const int64_t hour_ms = 3600LL * 1000;

/* When the day of a proof begins; false: not told, or still to come. */
static bool is_done(const struct standing_table *table, const struct facility_proof *p,
                    int64_t *done_out_ms)
{
  struct err err = {0};

  return p->done && when_read_bound(p->done, table->moment->zone, done_out_ms, &err) == ERR_OK &&
         *done_out_ms <= table->moment->now_ms;
}

/* Where the local day begins that lies behind the last one: a day may have 23 hours, or 25. */
static int64_t end_of(struct standing_table *table, const struct facility_proof *p, int64_t done_ms)
{
  int64_t next_ms = done_ms + (int64_t)(p->every_s * 1e3) + 25 * hour_ms, begins_ms = next_ms;
  struct when_civil day = when_civil(table->moment->zone, next_ms, NULL);
  struct err err = {0};

  if (when_read_bound(standing_say(table, "%04d-%02d-%02d", day.year, day.month, day.day),
                      table->moment->zone, &begins_ms, &err) != ERR_OK)
    return next_ms;
  return begins_ms;
}

static void judge(struct standing_table *table, const struct facility_proof *p,
                  struct standing_fact *fact)
{
  bool done = is_done(table, p, &fact->t_ms);

  fact->next = "Ask who takes care of the station.";
  if (!done && p->found == FACILITY_PROOF_MISSED) { /* whenever that was */
    fact->says = STANDING_AGAINST;
    fact->t_ms = INT64_MIN;
    fact->line = standing_say(table, "%s MISSED", p->what);
    fact->text =
        standing_say(table, "%s: its criterion was missed, on no day that is known.", p->what);
    return;
  }
  if (!done) {
    fact->says = STANDING_NOT_KNOWN;
    fact->t_ms = INT64_MIN;
    fact->line = standing_say(table, "%s: NO DATE", p->what);
    fact->text = standing_say(table, "%s: the suite file tells no day on which it was done%s.",
                              p->what, p->done ? ", but one to come" : "");
    return;
  }
  fact->until_ms = end_of(table, p, fact->t_ms);
  if (p->found == FACILITY_PROOF_MISSED) {
    fact->says = STANDING_AGAINST;
    fact->line = standing_say(table, "%s MISSED", p->what);
    fact->text = standing_say(table, "%s of %s: its criterion was missed.", p->what, p->done);
  } else if (table->moment->now_ms >= fact->until_ms) {
    fact->says = STANDING_AGAINST;
    fact->line = standing_say(table, "%s OUT OF DATE", p->what);
    fact->text = standing_say(table, "%s was done on %s and counts for %s: it is out of date.",
                              p->what, p->done, standing_span(table, p->every_s));
  } else if (p->found == FACILITY_PROOF_NOT_KNOWN) {
    fact->says = STANDING_NOT_KNOWN;
    fact->line = standing_say(table, "%s: WHAT IT FOUND", p->what);
    fact->text = standing_say(table, "%s of %s: the suite file does not say what it found.",
                              p->what, p->done);
  } else {
    fact->line = standing_say(table, "%s IN DATE", p->what);
    fact->text = standing_say(table, "%s of %s: its criterion was met then.", p->what, p->done);
    fact->next = NULL;
  }
}

static void add_proof(struct standing_table *table, const struct facility_proof *p)
{
  struct standing_fact fact = standing_fact_of("proof", STANDING_NOTED);

  judge(table, p, &fact);
  fact.by_day = fact.t_ms != INT64_MIN;
  fact.at_most_s = p->every_s;
  fact.source = standing_say(table, "%s%s%s", p->source, p->document ? "; " : "",
                             p->document ? p->document : "");
  for (int i = 0; i < p->station_count; i++)
    standing_add(table, p->stations[i], &fact);
}

static void add_service(struct standing_table *table, int station)
{
  struct standing_fact fact = standing_fact_of("service", STANDING_AGAINST);

  fact.line = "OUT OF SERVICE";
  fact.text = "Out of service by the suite file.";
  fact.next = "Leave it.";
  fact.source = "the suite file";
  standing_add(table, station, &fact);
}

void standing_add_proofs(struct standing_table *table)
{
  const struct facility *f = table->moment->facility;

  for (int i = 0; i < f->readiness.proof_count; i++)
    add_proof(table, &f->readiness.proofs[i]);
  for (int i = 0; i < f->station_count; i++)
    if (!f->stations[i].in_service)
      add_service(table, i);
}
