/* What runs or cools with nobody there, by what people told, for who leaves and for who comes. */
#include "lists/lists_impl.h"

/* No ages here: what is told anew makes a new revision of the sheet at the gate, the time does not. */
static const char *phase_words(struct lists_page *page, const struct run *run)
{
  bool is_over = run->over_ms != INT64_MIN;
  int64_t end_ms = is_over ? run->cold_ms : run->until_ms;
  const char *words = run_phase_words(run->phase);

  if (end_ms == INT64_MAX)
    return page_words(page, "%s; call %s", words, run->words.call);
  return page_words(page, "%s %s %s; call %s", words,
                    run->phase == RUN_OVERDUE || run->phase == RUN_MAY_BE_COLD ? "since" : "until",
                    words_clock(page, end_ms), run->words.call);
}

static void add_run(struct lists_page *page, const struct lists_moment *m,
                    struct lists_section *section, const struct run *run)
{
  const char *id = m->facility->stations[run->station].part.id;
  struct lists_row *row = section_row(page, section, id, run_phase_key(run->phase));

  row->cells[0] = id;
  row->cells[1] =
      page_words(page, "%s; holds %s; %s", run->words.what, run->words.holds, run->words.hazards);
  row->cells[2] = phase_words(page, run);
  row->marked = run->phase != RUN_RUNS;
}

void add_runs(struct lists_page *page, const struct lists_moment *m, bool pen)
{
  if (!m->runs)
    return;
  struct lists_section *section =
      page_section(page, "runs", "Runs and cools with nobody there, by what people told",
                   "Runs with nobody there: none is told. What nobody told is not here.");

  section_column(section, &(struct lists_column){"station", "station", 0.12, false});
  section_column(section, &(struct lists_column){"what", "what", 0.38, false});
  section_column(section, &(struct lists_column){"told", "as told", pen ? 0.3 : 0.5, false});
  if (pen)
    section_column(section, &(struct lists_column){NULL, "seen, by", 0.2, false});
  for (int i = 0; i < m->runs->count; i++)
    add_run(page, m, section, &m->runs->runs[i]);
  for (int i = 0; i < m->runs->stranger_count; i++) {
    const struct run_stranger *s = &m->runs->strangers[i];
    struct lists_row *row = section_row(page, section, NULL, "not_known");

    row->cells[0] = s->about;
    row->cells[1] =
        page_words(page, "%s; holds %s; %s", s->words.what, s->words.holds, s->words.hazards);
    row->cells[2] =
        page_words(page, "NOT KNOWN: the suite names no such station; call %s", s->words.call);
    row->marked = true;
  }
  if (m->runs->unread > 0) {
    struct lists_row *row = section_row(page, section, NULL, "not_known");

    row->cells[0] = "entries";
    row->cells[1] = page_words(page, "%d of runs", m->runs->unread);
    row->cells[2] = "NOT KNOWN: they cannot be read or placed";
    row->marked = true;
  }
}
