#include "fault/fault.h"

#include "base/emit.h"
#include "base/when.h"

/* Findings for programs. */

static void guess(struct emit *json, const struct fault_guess *g)
{
  emit_text(json, "kind", fault_kind_name(g->kind));
  emit_texts(json, "about", g->about, g->about_count);
  emit_text(json, "what", g->what);
}

static void finding(struct emit *json, const struct fault_finding *f)
{
  bool any = f->guess_count > 0;

  emit_object(json, NULL);
  emit_text(json, "point", f->point);
  when_emit(json, "since", f->since_ms);
  if (any)
    guess(json, &f->guesses[0]);
  else
    emit_null(json, "kind");
  emit_texts(json, "because", f->because, f->because_count);
  emit_array(json, "or_else");
  for (int i = 1; i < f->guess_count; i++) {
    emit_object(json, NULL);
    guess(json, &f->guesses[i]);
    emit_close(json);
  }
  emit_close(json);
  emit_text(json, "next", any ? f->guesses[0].look : NULL);
  emit_text(json, "who", any ? f->guesses[0].who : NULL);
  emit_text(json, "tells", f->tells);
  emit_bool(json, "in_notes", f->in_notes);
  emit_text(json, "text", f->text);
  emit_close(json);
}

void fault_json(struct emit *json, const struct fault_findings *findings)
{
  emit_array(json, "looks_like");
  for (int i = 0; i < findings->count; i++)
    finding(json, &findings->list[i]);
  emit_close(json);
}
