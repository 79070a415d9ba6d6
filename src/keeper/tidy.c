#include "keeper/keeper_impl.h"

#include <stdio.h>
#include <string.h>

/*
 * Retention: what is older than the feeds file keeps is deleted, a slice at a time between two rounds, once an
 * hour from a minute after the start on.  What is due is the record's to say (record_due): by the clock, and by
 * days that it lived through.  A replay deletes nothing, and no record does that cannot be written.
 */
enum {
  SLICE_ROWS = 1000, /* about two commits of samples */
  SLICE_MS =
      1000, /* one in so long: 3.6 million rows an hour, more than a thousand points a second */
  FIRST_MS = 60 * 1000,
  LOOK_MS = 3600 * 1000,
  DAY_MS = 24 * LOOK_MS
};

/* What was deleted since it was told last. */
static void tell(struct keeper *k, int64_t now_ms)
{
  struct keeper_tidy *t = &k->tidy;
  const struct when_zone *zone = k->given.zone ? k->given.zone : when_utc();
  const struct feeds *feeds = k->given.feeds;
  struct buf text;

  buf_init(&text, 600);
  buf_printf(&text, "housekeeping: %ld rows deleted that are older than is kept:", t->deleted);
  if (t->due.samples_ms != INT64_MIN) {
    buf_puts(&text, " single values and raw files of before ");
    when_print(&text, zone, t->due.samples_ms);
    buf_puts(&text, " (kept for ");
    when_print_span(&text, feeds->keep_raw_s);
    buf_puts(&text, ");");
  }
  if (t->due.ten_ms != INT64_MIN) {
    buf_puts(&text, " ten-minute stretches of before ");
    when_print(&text, zone, t->due.ten_ms);
    buf_puts(&text, " (kept for ");
    when_print_span(&text, feeds->keep_10min_s);
    buf_puts(&text, ");");
  }
  buf_puts(&text, " hours and entries stay");
  keeper_note_event(
      k, &(struct keeper_told){.t_ms = now_ms, .about = "", .text = text.text, .detail = ""});
  t->deleted = 0;
  t->told_ms = now_ms;
  buf_release(&text);
}

static void set_wait(struct keeper *k, bool waits, int64_t now_ms)
{
  if (waits == k->tidy.waits)
    return;
  k->tidy.waits = waits;
  k->tidy.waits_ms = now_ms;
  keeper_look_for_reminders(k);
}

static bool look(struct keeper *k, int64_t now_ms, struct err *err)
{
  struct keeper_tidy *t = &k->tidy;
  const struct feeds *feeds = k->given.feeds;

  if (record_due(k->record, feeds, now_ms, &t->due, err) != ERR_OK)
    return false;
  set_wait(
      k, t->due.waits && (double)t->due.lived_days < feeds->keep_doubt_ratio * (double)t->due.days,
      now_ms);
  return true;
}

/* A record that fails is told by what commits to it. */
static void go_on(struct keeper *k, int64_t now_ms)
{
  struct keeper_tidy *t = &k->tidy;
  struct err err = {0};
  long deleted = 0;

  t->goes_on = t->goes_on || look(k, now_ms, &err);
  if (t->goes_on)
    t->goes_on =
        record_tidy(k->record, &t->due, SLICE_ROWS, &deleted, &err) == ERR_OK && deleted > 0;
  t->deleted += deleted;
}

void keeper_tidy_turn(struct keeper *k, int64_t now_ms, bool closing)
{
  struct keeper_tidy *t = &k->tidy;
  int64_t clock_ms = keeper_clock_ms(k);

  if (!k->given.record_path || k->given.replay)
    return;
  if (t->deleted > 0 && (closing || (!t->goes_on && (t->told_ms == 0 || now_ms < t->told_ms ||
                                                     now_ms - t->told_ms >= DAY_MS))))
    tell(k, now_ms);
  if (t->next_ms == 0)
    t->next_ms = clock_ms + FIRST_MS;
  if (closing || !k->record || k->record_why[0] || k->pending_count >= KEEPER_BATCH ||
      (clock_ms < t->next_ms && clock_ms >= t->next_ms - LOOK_MS))
    return;
  go_on(k, now_ms);
  t->next_ms = clock_ms + (t->goes_on ? SLICE_MS : LOOK_MS);
}

enum err_code keeper_add_tidy(const struct keeper *k, struct arena *arena, struct remind_list *list,
                              struct err *err)
{
  const struct keeper_tidy *t = &k->tidy;
  struct remind_due *all, *waits;

  if (!t->waits)
    return ERR_OK;
  all = ARENA_ARRAY(arena, struct remind_due, (size_t)list->count + 1);
  if (!all)
    return err_set(err, ERR_LIMIT, "too much is overdue");
  if (list->count > 0)
    memcpy(all, list->list, (size_t)list->count * sizeof *all);
  waits = &all[list->count];
  *waits = (struct remind_due){
      .key = "retention",
      .about = "",
      .text =
          arena_printf(arena,
                       "retention waits, what is older than is kept stays: new values on %ld of "
                       "the last %ld days; is this machine's clock right?",
                       t->due.lived_days, t->due.days),
      .since_ms = t->waits_ms};
  if (!waits->text)
    return err_set(err, ERR_LIMIT, "too much is overdue");
  list->list = all;
  list->count++;
  return ERR_OK;
}
