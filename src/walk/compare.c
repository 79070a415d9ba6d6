/* Readings against their bands, and the sentence that may be said about them. */
#include "walk/walk_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct walk_readings *walk_blank(const struct walk_plan *plan, struct arena *arena)
{
  struct walk_readings *out = ARENA_NEW(arena, struct walk_readings);

  if (!out)
    return NULL;
  out->entries = ARENA_ARRAY(arena, struct walk_entry, (size_t)plan->reading_count + 1);
  out->entry_count = plan->reading_count;
  memcpy(out->suite_sha256, plan->facility->sha256, sizeof out->suite_sha256);
  return out->entries ? out : NULL;
}

/* What the form can show no finer than its last digit is not outside by less than half of that. */
static enum walk_verdict verdict_of(const struct walk_reading *r, bool read, double difference_si,
                                    double half_si)
{
  double slack_si = walk_resolution_si(r->quantity.of, UNITS_SYSTEM_SI) / 2;

  if (!read)
    return WALK_NOT_READ;
  return fabs(difference_si) <= half_si + slack_si ? WALK_INSIDE : WALK_OUTSIDE;
}

static void judge(struct walk_result *result, int i)
{
  const struct walk_reading *r = &result->plan->readings[i];
  const struct walk_entry *e = &result->readings->entries[i];
  struct walk_row *row = &result->rows[i];

  row->difference_si = e->read ? e->value_si - r->predicted_si : (double)NAN;
  row->verdict = verdict_of(r, e->read, row->difference_si, r->band.half_si);
  row->printed_verdict =
      e->printed ? verdict_of(r, e->read, e->value_si - e->printed_si, e->printed_half_si)
                 : WALK_NOT_READ;
  result->unread += row->verdict == WALK_NOT_READ;
  result->inside += row->verdict == WALK_INSIDE;
  result->outside += row->verdict == WALK_OUTSIDE;
}

/* ---- words ---- */

/* By how much the worst reading is past its band, in bands. */
static int worst(const struct walk_result *result)
{
  double most = 0.0;
  int at = -1;

  for (int i = 0; i < result->plan->reading_count; i++) {
    double past = fabs(result->rows[i].difference_si) / result->plan->readings[i].band.half_si;

    if (result->rows[i].verdict == WALK_OUTSIDE && past > most) {
      most = past;
      at = i;
    }
  }
  return at;
}

static void ids(const struct walk_result *result, enum walk_verdict which, struct buf *out)
{
  bool first = true;

  for (int i = 0; i < result->plan->reading_count; i++)
    if (result->rows[i].verdict == which) {
      buf_printf(out, "%s%s", first ? "" : ", ", result->plan->readings[i].id);
      first = false;
    }
}

static void say_miss(const struct walk_result *result, int i, struct buf *out)
{
  const struct walk_reading *r = &result->plan->readings[i];
  double difference_si = result->rows[i].difference_si;
  double past_si = fabs(difference_si) - r->band.half_si;

  buf_printf(out, "%s at step %d (%s) is outside by ", r->what, r->step + 1, r->id);
  walk_print(out, past_si, r->quantity.of, UNITS_SYSTEM_SI);
  buf_printf(out, ", %s than its band allows", difference_si > 0 ? "more" : "less");
}

static const char *sentence(const struct walk_result *result, struct arena *arena)
{
  const struct walk_plan *plan = result->plan;
  int read = plan->reading_count - result->unread;
  struct buf out;
  const char *text;

  buf_init(&out, 4096);
  if (read == 0)
    buf_printf(&out, "Nothing was read: %d readings say nothing.", plan->reading_count);
  else if (result->outside == 0 && result->unread == 0)
    buf_printf(&out,
               "All %d readings are inside their bands: nothing read here speaks against the suite "
               "file.",
               read);
  else if (result->outside == 0)
    buf_printf(&out,
               "%d of %d readings were taken, all inside their bands; the %d not read say nothing.",
               read, plan->reading_count, result->unread);
  else {
    buf_printf(&out, "%d of %d readings taken are inside the band; ", result->inside, read);
    say_miss(result, worst(result), &out);
    if (result->outside > 1)
      buf_printf(&out, "; outside in all: %d", result->outside);
    buf_puts(&out, ".");
    if (result->unread > 0)
      buf_printf(&out, " Not read, so saying nothing: %d.", result->unread);
  }
  text = arena_strdup(arena, out.text);
  buf_release(&out);
  return text;
}

static const char *next_action(const struct walk_result *result, struct arena *arena)
{
  struct buf out;
  const char *text;

  buf_init(&out, 4096);
  if (result->other_suite)
    buf_puts(&out, "The suite file has changed since the form was printed: print a new form and "
                   "walk again, or compare with the file of that day. ");
  if (result->outside > 0) {
    buf_puts(&out, "Zero the instrument and read again: ");
    ids(result, WALK_OUTSIDE, &out);
    buf_puts(&out, ", with the sashes measured and the doors shut. If it stays: ");
    buf_puts(&out, result->cause_count > 0 && result->causes[0].look
                       ? result->causes[0].look
                       : "show this sheet to the ventilation technician");
    buf_puts(&out, ".");
  } else if (result->unread > 0) {
    buf_puts(&out, "Read what is missing: ");
    ids(result, WALK_NOT_READ, &out);
    buf_puts(&out, ".");
  } else {
    buf_puts(&out, "Keep this sheet with the suite file; walk again when anything of the plant has "
                   "changed.");
  }
  text = arena_strdup(arena, out.text);
  buf_release(&out);
  return text;
}

struct walk_result *walk_compare(const struct walk_plan *plan, const struct walk_readings *readings,
                                 struct arena *arena, struct err *err)
{
  struct walk_result *result = ARENA_NEW(arena, struct walk_result);

  BUG_IF(readings->entry_count != plan->reading_count);
  if (result)
    *result = (struct walk_result){
        .plan = plan,
        .readings = readings,
        .rows = ARENA_ARRAY(arena, struct walk_row, (size_t)plan->reading_count + 1),
        .other_suite = strcmp(readings->suite_sha256, plan->facility->sha256) != 0};
  if (!result || !result->rows) {
    err_set(err, ERR_LIMIT, "the result is larger than the memory set aside for it");
    return NULL;
  }
  for (int i = 0; i < plan->reading_count; i++)
    judge(result, i);
  if (result->outside > 0)
    walk_find_causes(result, arena);
  result->sentence = sentence(result, arena);
  result->next = next_action(result, arena);
  return result;
}
