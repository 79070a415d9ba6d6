#include "base/emit.h"
#include "may/may_impl.h"

/* The answer for programs: docs/api.md. */

static void reasons(const struct may_answer *a, struct emit *json)
{
  emit_array(json, "reasons");
  for (int i = 0; i < a->reason_count; i++) {
    const struct may_reason *r = &a->reasons[i];

    emit_object(json, NULL);
    emit_text(json, "verdict", may_verdict_word(r->verdict));
    emit_text(json, "kind", r->kind);
    emit_text(json, "id", r->id);
    emit_text(json, "say", r->say);
    emit_text(json, "way", r->way);
    emit_text(json, "source", r->source);
    emit_close(json);
  }
  emit_close(json);
}

static void lists(struct emit *json, const char *key, const struct may_list *list, int count)
{
  emit_array(json, key);
  for (int i = 0; i < count; i++) {
    emit_object(json, NULL);
    emit_array(json, "changes");
    for (int k = 0; k < list[i].count; k++)
      emit_text(json, NULL, list[i].changes[k]);
    emit_close(json);
    emit_text(json, "after", may_verdict_word(list[i].after));
    emit_close(json);
  }
  emit_close(json);
}

static void hashes(const struct may_place *p, struct emit *json)
{
  emit_text(json, "suite", p->facility->name);
  emit_text(json, "label", p->facility->label);
  emit_text(json, "suite_sha256", p->facility->sha256);
  emit_text(json, "people_sha256", p->people ? p->people->roster->sha256 : NULL);
  emit_text(json, "people_tables_sha256",
            p->people && *p->people->tables_sha256 ? p->people->tables_sha256 : NULL);
  emit_text(json, "processes_sha256", p->processes ? p->processes->sha256 : NULL);
  emit_text(json, "rules_sha256", p->rules ? p->rules->sha256 : NULL);
  emit_text(json, "chemicals_sha256", p->own ? p->own->sha256 : NULL);
}

void may_json(const struct may_answer *a, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.may.1");
  emit_text(&json, "engine", INWARD_VERSION);
  hashes(&a->may->place, &json);
  emit_text(&json, "asks", a->request->asked ? "new process" : "person");
  emit_text(&json, "verdict", may_verdict_word(a->verdict));
  emit_text(&json, "who", a->who);
  emit_text(&json, "name", a->name);
  emit_text(&json, "process", a->process->part.id);
  emit_text(&json, "process_name", a->process->part.name);
  emit_text(&json, "station", a->station->part.id);
  when_emit(&json, "from", a->from_ms);
  when_emit(&json, "until", a->until_ms);
  emit_text(&json, "scene", a->request->scene ? a->request->scene->name : NULL);
  emit_text(&json, "permission_by", a->permission_by);
  emit_text(&json, "document", a->process->document);
  emit_text(&json, "document_version", a->process->version);
  emit_text(&json, "document_review", a->process->review);
  reasons(a, &json);
  lists(&json, "turns_to_yes", a->lists, a->list_count);
  lists(&json, "others", a->others, a->other_count);
  emit_text(
      &json, "decides",
      "Not a permit: it says whether the rules that are written here are met. People and local "
      "rules decide; the station's own alarm decides first.");
  emit_close(&json);
  emit_end(&json);
}
