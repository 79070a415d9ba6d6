#include "day/day_impl.h"

#include <stdio.h>

enum { SHOWN_MOST = 8 };

static void put_hour(const struct day_weeks_job *job, const struct day_hour *hour, struct buf *out)
{
  buf_printf(out, "  %-10s", day_weekday(job->zone, hour->t_ms));
  day_put_clock(job->zone, hour->t_ms, out);
  buf_putc(out, '-');
  day_put_clock(job->zone, hour->t_ms + 3600000, out);
  buf_printf(out, "   %6d   %6d\n", hour->short_now, hour->short_then);
}

/* The hours that are short most often then, the worst first. */
static int worst_hours(const struct day_weeks *w, int *list)
{
  int count = 0;

  for (int h = 0; h < w->hour_count; h++) {
    if (w->hours[h].short_then + w->hours[h].short_now == 0)
      continue;
    int at = count < SHOWN_MOST ? count++ : SHOWN_MOST;

    for (; at > 0 && w->hours[h].short_then > w->hours[list[at - 1]].short_then; at--)
      if (at < SHOWN_MOST)
        list[at] = list[at - 1];
    if (at < SHOWN_MOST)
      list[at] = h;
  }
  return count;
}

void day_weeks_text(const struct day_weeks_job *job, const struct day_weeks *weeks, struct buf *out)
{
  const struct facility_day *day = &job->facility->day;
  int list[SHOWN_MOST], count = worst_hours(weeks, list);

  buf_printf(out, "%s", job->facility->name);
  if (job->facility->label)
    buf_printf(out, "   [%s]", job->facility->label);
  buf_printf(out, "   %d weeks drawn by chance, and %d more group%s of %d bookings a week each\n\n",
             job->week_count, job->group_count, job->group_count == 1 ? "" : "s", day->group_count);
  if (weeks->worst < 0) {
    buf_puts(out, "  No hour was short of air in any of them.\n");
  } else {
    const struct day_hour *worst = &weeks->hours[weeks->worst];

    buf_printf(out, "  The hour that needs more air first: %s ",
               day_weekday(job->zone, worst->t_ms));
    day_put_clock(job->zone, worst->t_ms, out);
    buf_printf(out, ", short in %d of %d weeks then, in %d now", worst->short_then, job->week_count,
               worst->short_now);
    buf_printf(out, "\n  What is missed there: %s\n",
               weeks->binding ? weeks->binding : "not known");
  }
  if (count > 0)
    buf_puts(out, "\n  hour                     now     then   (weeks in which it was short)\n");
  for (int i = 0; i < count; i++)
    put_hour(job, &weeks->hours[list[i]], out);
  buf_printf(
      out,
      "\nDrawn from\n  - the %d bookings of the week, and what people do of them (`inward day`)\n"
      "  - groups book like people do now: like bookings that are there, at the nearest hour at which the station is "
      "free; %ld found no place\n"
      "  - on 1 day in %.0f all of them come together; %s\n"
      "  - counts of drawn weeks, no forecast: what a new fan is worth is for its designer to say, and "
      "a fan is not sized on diversity\n",
      weeks->booked_count, weeks->without_place,
      day->together_ratio > 0 ? 1 / day->together_ratio : 1e9, day->source);
}

void day_weeks_json(const struct day_weeks_job *job, const struct day_weeks *weeks, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.weeks.1");
  emit_text(&json, "suite", job->facility->name);
  emit_text(&json, "label", job->facility->label);
  emit_text(&json, "suite_sha256", job->facility->sha256);
  when_emit(&json, "from", job->monday_ms);
  emit_int(&json, "weeks", job->week_count);
  emit_int(&json, "groups", job->group_count);
  emit_int(&json, "bookings_of_a_group", job->facility->day.group_count);
  emit_int(&json, "bookings", weeks->booked_count);
  emit_int(&json, "weeks_short_now", weeks->weeks_short_now);
  emit_int(&json, "weeks_short_then", weeks->weeks_short_then);
  emit_int(&json, "without_place", weeks->without_place);
  emit_text(&json, "binding", weeks->binding);
  emit_array(&json, "hours");
  for (int h = 0; h < weeks->hour_count; h++) {
    emit_object(&json, NULL);
    when_emit(&json, "from", weeks->hours[h].t_ms);
    emit_int(&json, "short_now", weeks->hours[h].short_now);
    emit_int(&json, "short_then", weeks->hours[h].short_then);
    emit_close(&json);
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
