#include "judge/judge_impl.h"

/* A state that turned, in words for people and as JSON for `past`. */

static void add_list(struct buf *out, const char *head, const char *const *texts, int count)
{
  enum { TOLD = 6 };

  for (int i = 0; i < count && i < TOLD; i++) {
    buf_puts(out, i == 0 ? head : "; ");
    answer_say(texts[i], UNITS_SYSTEM_SI, out);
  }
  if (count > TOLD)
    buf_printf(out, "; and %d more", count - TOLD);
}

/* The scene and which revision of which file it was judged by: what `past` needs to judge it again. */
void judge_turn_json(const struct judge_seen *seen, struct buf *out)
{
  const struct facility *f = seen->facility;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.turned.1");
  emit_text(&json, "state", air_level_key(seen->verdict->state));
  emit_text(&json, "suite_sha256", f->sha256);
  emit_text(&json, "feeds_sha256", seen->feeds->sha256);
  emit_text(&json, "engine", answer_engine_version());
  emit_object(&json, "pools");
  for (int i = 0; i < f->main_count + f->supply_count; i++)
    emit_text(&json, air_pool_id(f, i), air_level_key(seen->verdict->pools[i]));
  emit_close(&json);
  answer_scene(&json, f, &seen->belief->scene);
  emit_close(&json);
  emit_end(&json);
}

void judge_turn_text(const struct judge_seen *seen, struct buf *out)
{
  const struct answer_live_verdict *verdict = seen->verdict;

  buf_puts(out, air_level_name(verdict->state));
  if (seen->had_state)
    buf_printf(out, ", before that %s", air_level_name(seen->before));
  add_list(out, ": ", (const char *const *)verdict->reasons, verdict->reason_count);
}
