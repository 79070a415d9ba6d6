/* Which alarms help, and which are noise: asked of the record, and printed. */
#include "past/past_impl.h"

#include <math.h>
#include <string.h>

enum {
  LOOK_BACK_DAYS = 31, /* for what stood when the span began */
  ENTRIES_MOST = 500000,
  ROWS_SHOWN = 10,
  FLOODS_SHOWN = 5
};

/* ---- asking ---- */

enum err_code past_alarms_ask(const struct past_place *place, const struct past_span *span,
                              struct arena *arena, struct past_alarms *out, struct err *err)
{
  struct record_wanted wanted = {.from_ms = span->from_ms - LOOK_BACK_DAYS * (int64_t)86400000,
                                 .to_ms = span->to_ms,
                                 .kind = -1,
                                 .known_ms = span->known_ms,
                                 .most = ENTRIES_MOST};
  struct record_entry *entries;
  int count = 0, told = 0;
  enum err_code code = record_entries(place->record, &wanted, arena, &entries, &count, err);

  if (code != ERR_OK)
    return code;

  struct alarm_told *list = ARENA_ARRAY(arena, struct alarm_told, (size_t)count + 1);

  if (!list)
    return err_set(err, ERR_LIMIT, "that span holds more than fits: ask for a shorter one");
  *out = (struct past_alarms){.span = *span};
  out->cut = count == ENTRIES_MOST;
  out->begins_late = count > 0 && entries[0].t_ms > span->from_ms && entries[0].t_ms < span->to_ms;
  if (out->begins_late) /* a rate is over the time in which anything could be told */
    out->span.from_ms = entries[0].t_ms;
  for (int i = 0; i < count; i++) {
    out->watched =
        out->watched || entries[i].kind == RECORD_SETTINGS || entries[i].kind == RECORD_EVENT;
    list[told] = (struct alarm_told){.t_ms = entries[i].t_ms,
                                     .about = entries[i].about,
                                     .who = entries[i].who,
                                     .why = entries[i].text};
    told +=
        alarm_told_read(record_kind_name(entries[i].kind), entries[i].detail, arena, &list[told]);
  }
  out->figures =
      alarm_figures(&place->feeds->figures, list, told, out->span.from_ms, out->span.to_ms, arena);
  return ERR_OK;
}

/* ---- for people ---- */

static void put_alarm(const struct alarm_row *row, struct buf *out)
{
  buf_printf(out, "%s %s (%s)", row->about[0] ? row->about : "the suite",
             feeds_when_name(row->when), feeds_priority_name(row->priority));
}

static void put_moment(const struct past_place *place, int64_t t_ms, struct buf *out)
{
  when_print(out, place->zone, t_ms);
}

/* So few that one more or less would change the share by as much as is wanted at most. */
static bool is_too_few(const struct alarm_figures *f, const struct feeds_figures *limits)
{
  return f->told * limits->urgent_ratio < 1;
}

static void put_shares(const struct alarm_figures *f, const struct feeds_figures *limits,
                       struct buf *out)
{
  double urgent = (double)f->by_priority[FEEDS_URGENT] / f->told;
  double high = (double)f->by_priority[FEEDS_HIGH] / f->told;
  bool judged = !is_too_few(f, limits);

  buf_printf(out, "  - %d urgent (%.0f %%%s), %d high (%.0f %%%s), %d low%s\n",
             f->by_priority[FEEDS_URGENT], urgent * 100,
             judged && urgent > limits->urgent_ratio ? ", MORE than wanted" : "",
             f->by_priority[FEEDS_HIGH], high * 100,
             judged && high > limits->high_ratio ? ", MORE than wanted" : "",
             f->by_priority[FEEDS_LOW], judged ? "" : ": too few to judge their shares");
}

static bool is_a_day(const struct alarm_figures *f)
{
  return f->to_ms - f->from_ms >= 86400000;
}

static void put_rate(const struct past_place *place, const struct alarm_figures *f, struct buf *out)
{
  const struct feeds_figures *limits = &place->feeds->figures;

  buf_printf(out, "%d alarm%s told: ", f->told, f->told == 1 ? "" : "s");
  if (is_a_day(f))
    buf_printf(out, "%.2g a day, %s the %.3g a day of the feeds file\n", f->per_day,
               f->per_day > limits->day_count ? "MORE than" : "within", limits->day_count);
  else
    buf_puts(out, "less than a day says nothing of how many a day\n");
  buf_printf(out, "  - not told: %d explained by another, %d only noted, %d put aside\n",
             f->explained, f->noted, f->put_aside);
  if (f->told > 0)
    put_shares(f, limits, out);
}

static void put_floods(const struct past_place *place, const struct alarm_figures *f,
                       struct buf *out)
{
  const struct feeds_figures *limits = &place->feeds->figures;

  buf_puts(out, "\nHow thick they came\n");
  if (f->told > 0) {
    buf_printf(out, "  - busiest: %d within ", f->most);
    when_print_span(out, limits->window_s);
    buf_puts(out, " from ");
    put_moment(place, f->most_ms, out);
    buf_putc(out, '\n');
  }
  buf_printf(out, "  - more than %d within ", limits->flood_begins);
  when_print_span(out, limits->window_s);
  buf_printf(out, ": %d of %d such stretches\n", f->windows_over, f->windows);
  if (f->flood_count == 0)
    buf_puts(out, "  - no flood\n");
  for (int i = 0; i < f->flood_count && i < FLOODS_SHOWN; i++) {
    buf_printf(out, "  - FLOOD of %d: ", f->floods[i].told);
    past_put_stretch(place, f->floods[i].from_ms, f->floods[i].to_ms, out);
    buf_putc(out, '\n');
  }
  if (f->flood_count > FLOODS_SHOWN)
    buf_printf(out, "  - and %d floods more\n", f->flood_count - FLOODS_SHOWN);
}

static void put_row(const struct alarm_figures *f, const struct alarm_row *row, struct buf *out)
{
  buf_printf(out, "  - %d x ", row->told);
  put_alarm(row, out);
  if (f->told > 0)
    buf_printf(out, ": %.0f %% of all", 100.0 * row->told / f->told);
  if (row->stood_s > 0) {
    buf_puts(out, "; on for ");
    when_print_span(out, row->stood_s);
    if (row->spells != row->told)
      buf_printf(out, " in %d spell%s, %d told", row->spells, row->spells == 1 ? "" : "s",
                 row->told);
    buf_puts(out, ", at most ");
    when_print_span(out, row->longest_s);
    buf_puts(out, " at a time");
  }
  buf_puts(out, row->stands ? "; still on\n" : "\n");
  if (row->chatters)
    buf_printf(out,
               "    CHATTERS (index %.2g per second): mend what flickers, or give it a longer `off "
               "after`\n",
               row->chatter_per_s);
  if (row->stale)
    buf_puts(out, "    STANDS too long to tell anybody anything: mend it, or put it aside with a "
                  "reason\n");
}

static void put_rows(const struct alarm_figures *f, struct buf *out)
{
  int beyond = 0;

  buf_printf(out, "\nThe most frequent%s\n", f->row_count == 0 ? ": none" : "");
  for (int i = 0; i < f->row_count; i++)
    if ((i < ROWS_SHOWN && f->rows[i].told > 0) || f->rows[i].chatters || f->rows[i].stale)
      put_row(f, &f->rows[i], out);
    else
      beyond += f->rows[i].told > 0;
  if (beyond > 0)
    buf_printf(out, "  - and %d more, %.0f %% of all\n", beyond, 100 * (1 - f->top_ratio));
}

static void put_answers(const struct past_place *place, const struct alarm_figures *f,
                        struct buf *out)
{
  buf_puts(out, "\nWho saw them\n");
  buf_printf(out, "  - %d of %d acknowledged", f->answered, f->told);
  if (f->answered > 0) {
    buf_puts(out, ", half of them within ");
    when_print_span(out, f->answer_s);
  }
  buf_putc(out, '\n');
  for (int i = 0; i < f->haste_count; i++) {
    buf_printf(out, "  - %d acknowledged by one person within a minute of ", f->hastes[i].count);
    put_moment(place, f->hastes[i].t_ms, out);
    buf_puts(out, ": were they read? Talk about which of them should not be alarms\n");
  }
}

static void put_next(const struct past_place *place, const struct alarm_figures *f, struct buf *out)
{
  bool many = is_a_day(f) && f->per_day > place->feeds->figures.day_count;

  buf_puts(out, "\nNext: ");
  if (f->stale > 0)
    buf_printf(out, "begin with what stands (%d)", f->stale);
  else if (f->chattering > 0)
    buf_printf(out, "begin with what chatters (%d)", f->chattering);
  else if (many)
    buf_puts(out, "look at the first of the most frequent: does what one does about it help? Mend "
                  "what causes it; a low one that nobody ever acts on may get the priority `none`");
  else if (f->told > 0 && f->answered == 0)
    buf_puts(out, "nobody acknowledged any: do they reach the person they are for?");
  else
    buf_puts(out, "nothing that these figures ask for");
  buf_puts(out, "\nWhat is not measured cannot alarm: few alarms alone prove nothing.\n");
}

void past_alarms_text(const struct past_place *place, const struct past_alarms *alarms,
                      struct buf *out)
{
  const struct alarm_figures *f = &alarms->figures;

  past_head(place, "alarms", &alarms->span, out);
  if (alarms->begins_late)
    buf_puts(out, "more was asked for; the record's entries begin then\n");
  if (alarms->cut)
    buf_puts(out, "only the newest entries are counted: ask for a shorter span\n");
  buf_putc(out, '\n');
  if (!alarms->watched) {
    buf_puts(out,
             "NOT KNOWN: no board wrote to this record in that time, so nothing could be told. "
             "Start one with --record.\n");
    return;
  }
  put_rate(place, f, out);
  put_floods(place, f, out);
  put_rows(f, out);
  put_answers(place, f, out);
  put_next(place, f, out);
}

/* ---- for programs ---- */

static void emit_rows(const struct alarm_figures *f, struct emit *json)
{
  emit_array(json, "most_frequent");
  for (int i = 0; i < f->row_count; i++) {
    const struct alarm_row *row = &f->rows[i];

    emit_object(json, NULL);
    emit_text(json, "about", row->about);
    emit_text(json, "when", feeds_when_name(row->when));
    emit_text(json, "priority", feeds_priority_name(row->priority));
    emit_int(json, "told", row->told);
    emit_int(json, "spells", row->spells);
    emit_number(json, "on_s", row->stood_s);
    emit_number(json, "longest_s", row->longest_s);
    emit_bool(json, "still_on", row->stands);
    emit_bool(json, "stands_too_long", row->stale);
    emit_number(json, "chatter_per_s", row->chatter_per_s);
    emit_bool(json, "chatters", row->chatters);
    emit_close(json);
  }
  emit_close(json);
}

static void emit_stretches(const struct alarm_figures *f, struct emit *json)
{
  emit_array(json, "floods");
  for (int i = 0; i < f->flood_count; i++) {
    emit_object(json, NULL);
    when_emit(json, "from", f->floods[i].from_ms);
    when_emit(json, "to", f->floods[i].to_ms);
    emit_int(json, "told", f->floods[i].told);
    emit_close(json);
  }
  emit_close(json);
  emit_array(json, "hasty");
  for (int i = 0; i < f->haste_count; i++) {
    emit_object(json, NULL);
    when_emit(json, "time", f->hastes[i].t_ms);
    emit_int(json, "acknowledged", f->hastes[i].count);
    emit_close(json);
  }
  emit_close(json);
}

void past_alarms_json(const struct past_place *place, const struct past_alarms *alarms,
                      struct buf *out)
{
  const struct alarm_figures *f = &alarms->figures;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.alarm-figures.1");
  past_put_span(&json, place, &alarms->span);
  emit_bool(&json, "watched", alarms->watched);
  emit_bool(&json, "cut", alarms->cut);
  emit_int(&json, "told", f->told);
  emit_number(&json, "told_per_day", f->per_day);
  emit_int(&json, "explained", f->explained);
  emit_int(&json, "noted", f->noted);
  emit_int(&json, "put_aside", f->put_aside);
  emit_int(&json, "urgent", f->by_priority[FEEDS_URGENT]);
  emit_int(&json, "high", f->by_priority[FEEDS_HIGH]);
  emit_int(&json, "low", f->by_priority[FEEDS_LOW]);
  emit_number(&json, "window_s", place->feeds->figures.window_s);
  emit_int(&json, "windows", f->windows);
  emit_int(&json, "windows_over", f->windows_over);
  emit_int(&json, "busiest", f->most);
  if (f->most > 0)
    when_emit(&json, "busiest_from", f->most_ms);
  else
    emit_null(&json, "busiest_from");
  emit_number(&json, "flood_s", f->flood_s);
  emit_number(&json, "top_ten_ratio", f->top_ratio);
  emit_int(&json, "acknowledged", f->answered);
  emit_number(&json, "acknowledged_median_s", f->answer_s);
  emit_stretches(f, &json);
  emit_rows(f, &json);
  emit_close(&json);
  emit_end(&json);
}
