/* A replay as a table, and as JSON. */
#include "past/past_impl.h"

#include "air/air.h"

#include <string.h>

static const enum facility_level levels_in_order[] = {FACILITY_AMPLE, FACILITY_NEAR_LIMIT,
                                                      FACILITY_SHORT, FACILITY_NOT_KNOWN};

/* ---- for people ---- */

static void span_cell(double span_s, int wide, struct buf *out)
{
  struct buf text;

  buf_init(&text, 100);
  if (span_s > 0)
    when_print_span(&text, span_s);
  else
    buf_putc(&text, '-');
  past_put_cell(text.text, wide, out);
  buf_release(&text);
}

static void end_row(struct buf *out)
{
  while (out->used > 0 && out->text[out->used - 1] == ' ')
    out->text[--out->used] = '\0';
  buf_putc(out, '\n');
}

static void levels_row(const char *name, const struct past_levels *levels, struct buf *out)
{
  buf_puts(out, "  ");
  past_put_cell(name, 14, out);
  buf_printf(out, "%7d    ", past_level_changes(levels));
  for (int i = 0; i < PAST_LEVELS; i++)
    span_cell(past_level_s(levels, levels_in_order[i]), 13, out);
  end_row(out);
}

static void table(const struct past_replay *replay, struct buf *out)
{
  buf_printf(out, "  %-14s%7s    ", "", "changes");
  for (int i = 0; i < PAST_LEVELS; i++)
    past_put_cell(air_level_name(levels_in_order[i]), 13, out);
  end_row(out);
  levels_row("shared air", &replay->air, out);
  for (int i = 0; i < replay->pool_count; i++)
    levels_row(air_pool_id(replay->facility, i), &replay->pools[i], out);
}

static void misses_text(const struct past_place *place, const struct past_difference *d,
                        struct buf *out)
{
  enum { TOLD = 40 };

  if (d->miss_count == 0) {
    buf_puts(out, "\nNo misses: at no moment one said ample and the other short.\n");
    return;
  }
  buf_printf(out, "\nMisses: %d time%s one said ample and the other short\n", d->miss_count,
             d->miss_count == 1 ? "" : "s");
  for (int i = 0; i < d->miss_count && i < TOLD; i++) {
    buf_puts(out, "  ");
    past_put_stretch(place, d->misses[i].from_ms, d->misses[i].to_ms, out);
    buf_printf(out, ": %s, with the overlay %s\n", air_level_name(d->misses[i].was),
               air_level_name(d->misses[i].would_be));
  }
  if (d->miss_count > TOLD)
    buf_printf(out, "  and %d more\n", d->miss_count - TOLD);
}

static void difference_text(const struct past_place *place, const struct past_difference *d,
                            struct buf *out)
{
  buf_puts(out, "\nThe two ");
  if (!(d->differ_s > 0)) {
    buf_puts(out, "say the same all the time.\n");
    return;
  }
  buf_puts(out, "differ for ");
  when_print_span(out, d->differ_s);
  buf_puts(out, "\n");
  for (int i = 0; i < PAST_LEVELS; i++)
    for (int k = 0; k < PAST_LEVELS; k++)
      if (i != k && d->both_s[i][k] > 0) {
        buf_printf(out, "  %s, with the overlay %s: ", air_level_name((enum facility_level)i),
                   air_level_name((enum facility_level)k));
        when_print_span(out, d->both_s[i][k]);
        buf_putc(out, '\n');
      }
  misses_text(place, d, out);
}

void past_replay_text(const struct past_place *place, const struct past_replay *first,
                      const struct past_replay *second, const struct past_difference *difference,
                      struct buf *out)
{
  past_head(place, second ? "the state replayed, by two rules" : "the state replayed", &first->span,
            out);
  past_put_kept(place, first->span.from_ms, out);
  buf_puts(out, second ? "\nBy the suite as it is\n" : "\n");
  table(first, out);
  if (second) {
    buf_puts(out, "\nWith the overlay\n");
    table(second, out);
    difference_text(place, difference, out);
  }
  if (first->settings_changed > 0)
    buf_printf(out,
               "\nThe suite or its feeds file changed %d time%s meanwhile: all of it is judged by "
               "today's.\n",
               first->settings_changed, first->settings_changed == 1 ? "" : "s");
}

/* ---- for programs ---- */

static void levels_json(struct emit *json, const char *id, const struct past_levels *levels,
                        bool with_list)
{
  static const char *const keys[PAST_LEVELS] = {[FACILITY_AMPLE] = "ample_s",
                                                [FACILITY_NEAR_LIMIT] = "near_limit_s",
                                                [FACILITY_SHORT] = "short_s",
                                                [FACILITY_NOT_KNOWN] = "not_known_s"};

  if (id)
    emit_text(json, "id", id);
  emit_int(json, "changes", past_level_changes(levels));
  for (int i = 0; i < PAST_LEVELS; i++)
    emit_number(json, keys[i], past_level_s(levels, (enum facility_level)i));
  if (!with_list)
    return;
  emit_array(json, "spans");
  for (int i = 0; i < levels->count; i++) {
    emit_object(json, NULL);
    when_emit(json, "from", levels->list[i].from_ms);
    when_emit(json, "to", levels->list[i].to_ms);
    emit_text(json, "state", air_level_key(levels->list[i].level));
    emit_close(json);
  }
  emit_close(json);
}

static void replay_json(struct emit *json, const char *by, const struct past_replay *replay)
{
  emit_object(json, NULL);
  emit_text(json, "by", by);
  emit_text(json, "suite_sha256", replay->facility->sha256);
  levels_json(json, NULL, &replay->air, true);
  emit_array(json, "pools");
  for (int i = 0; i < replay->pool_count; i++) {
    emit_object(json, NULL);
    levels_json(json, air_pool_id(replay->facility, i), &replay->pools[i], false);
    emit_close(json);
  }
  emit_close(json);
  emit_close(json);
}

static void difference_json(struct emit *json, const struct past_difference *d)
{
  emit_object(json, "difference");
  emit_number(json, "differ_s", d->differ_s);
  emit_array(json, "pairs");
  for (int i = 0; i < PAST_LEVELS; i++)
    for (int k = 0; k < PAST_LEVELS; k++)
      if (i != k && d->both_s[i][k] > 0) {
        emit_object(json, NULL);
        emit_text(json, "suite", air_level_key((enum facility_level)i));
        emit_text(json, "overlay", air_level_key((enum facility_level)k));
        emit_number(json, "time_s", d->both_s[i][k]);
        emit_close(json);
      }
  emit_close(json);
  emit_array(json, "misses");
  for (int i = 0; i < d->miss_count; i++) {
    emit_object(json, NULL);
    when_emit(json, "from", d->misses[i].from_ms);
    when_emit(json, "to", d->misses[i].to_ms);
    emit_text(json, "suite", air_level_key(d->misses[i].was));
    emit_text(json, "overlay", air_level_key(d->misses[i].would_be));
    emit_close(json);
  }
  emit_close(json);
  emit_close(json);
}

void past_replay_json(const struct past_place *place, const struct past_replay *first,
                      const struct past_replay *second, const struct past_difference *difference,
                      struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.replay.1");
  past_put_span(&json, place, &first->span);
  past_emit_kept(place, first->span.from_ms, &json);
  emit_int(&json, "settings_changed", first->settings_changed);
  emit_array(&json, "replays");
  replay_json(&json, "suite", first);
  if (second)
    replay_json(&json, "overlay", second);
  emit_close(&json);
  if (difference)
    difference_json(&json, difference);
  else
    emit_null(&json, "difference");
  emit_close(&json);
  emit_end(&json);
}
