/* The answer for programs: docs/api.md. */
#include "base/emit.h"
#include "facility/chemicals.h"
#include "facility/facility.h"
#include "meet/meet_impl.h"

#include <math.h>
#include <string.h>

static const char *or_null(const char *text)
{
  return text && *text ? text : NULL;
}

static void things(struct emit *json, const struct meet_answer *answer)
{
  emit_array(json, "things");
  for (int i = 0; i < answer->asked_count; i++) {
    const struct meet_thing *thing = &answer->things[i];

    emit_object(json, NULL);
    emit_text(json, "asked", thing->asked);
    emit_text(json, "id", or_null(thing->id));
    emit_text(json, "name", thing->name);
    emit_text(json, "kind", meet_kind_word(thing->kind));
    emit_bool(json, "held", thing->held);
    emit_bool(json, "vessel", thing->vessel);
    emit_bool(json, "own", thing->own);
    emit_array(json, "parts");
    for (int k = 0; k < thing->face_count; k++) {
      const struct meet_face *face = &thing->faces[k];

      emit_object(json, NULL);
      emit_text(json, "id", or_null(face->id));
      emit_number(json, "fraction_ratio", face->fraction_ratio);
      emit_bool(json, "implied", face->implied);
      emit_array(json, "groups");
      for (int g = 0; g < face->group_count; g++)
        emit_int(json, NULL, face->groups[g]);
      emit_close(json);
      emit_close(json);
    }
    emit_close(json);
    emit_text(json, "deck_family", thing->deck_family);
    emit_text(json, "shelf", thing->shelf);
    emit_close(json);
  }
  emit_close(json);
}

static void sentences(struct emit *json, const char *key, const struct meet_sentence *list,
                      int count)
{
  emit_array(json, key);
  for (int i = 0; i < count; i++) {
    emit_object(json, NULL);
    emit_text(json, "rule", list[i].rule);
    emit_text(json, "verdict", meet_verdict_words(list[i].verdict));
    emit_text(json, "codes", or_null(list[i].codes));
    emit_text(json, "say", list[i].say);
    emit_text(json, "do", or_null(list[i].instead));
    chem_emit_origin(json, &list[i].of);
    emit_close(json);
  }
  emit_close(json);
}

static void notes(struct emit *json, const struct meet_answer *answer)
{
  emit_array(json, "cautions");
  for (int i = 0; i < answer->note_count; i++) {
    emit_object(json, NULL);
    emit_text(json, "rule", answer->notes[i].rule);
    emit_text(json, "say", answer->notes[i].say);
    chem_emit_origin(json, &answer->notes[i].of);
    emit_close(json);
  }
  emit_close(json);
}

/* Every letter of the pair's cells once; "blank" where cells are, but none has a letter. */
static void all_letters(struct emit *json, const struct meet_finding *f, struct arena *arena)
{
  const char *all = "";

  for (int i = 0; i < f->cell_count; i++) {
    int count;
    const char *const *words = meet_words(f->cells[i].codes, " ", &count, arena);

    for (int k = 0; k < count; k++) {
      const char *padded = arena_printf(arena, " %s ", all);

      if (!strstr(padded, arena_printf(arena, " %s ", words[k])))
        all = arena_printf(arena, "%s%s%s", all, *all ? " " : "", words[k]);
    }
  }
  emit_text(json, "letters", *all ? all : f->blank_count > 0 ? "blank" : NULL);
}

static void cells(struct emit *json, const struct meet_finding *f, struct arena *arena)
{
  all_letters(json, f, arena);
  emit_array(json, "chart");
  for (int i = 0; i < f->cell_count; i++) {
    const struct meet_cell *c = &f->cells[i];

    emit_object(json, NULL);
    emit_int(json, "group_a", c->group_a);
    emit_int(json, "group_b", c->group_b);
    emit_text(json, "codes", c->codes);
    emit_text(json, "printed", c->printed);
    emit_text(json, "confidence", c->confidence);
    chem_emit_origin(json, &c->of);
    emit_close(json);
  }
  emit_close(json);
  emit_text(json, "chart_note", f->chart_note);
  emit_bool(json, "chart_waived", f->chart_waived);
}

static void vessel(struct emit *json, const struct meet_vessel *v)
{
  if (!v) {
    emit_null(json, "vessel");
    return;
  }
  emit_object(json, "vessel");
  emit_text(json, "id", v->id);
  emit_text(json, "rating", meet_rating_word(v->rating));
  emit_number(json, "most_K", v->most_K);
  emit_text(json, "why", v->why);
  chem_emit_origin(json, &v->of);
  emit_close(json);
}

static void findings(struct emit *json, const struct meet_answer *answer, struct arena *arena)
{
  emit_array(json, "findings");
  for (int i = 0; i < answer->finding_count; i++) {
    const struct meet_finding *f = &answer->findings[i];

    emit_object(json, NULL);
    emit_text(json, "verdict", meet_verdict_words(f->verdict));
    emit_text(json, "about", meet_finding_of(answer, f, arena));
    emit_array(json, "of");
    for (int k = 0; k < f->of_count; k++)
      emit_text(json, NULL, answer->things[f->of[k]].asked);
    emit_close(json);
    sentences(json, "sentences", f->sentences, f->sentence_count);
    cells(json, f, arena);
    vessel(json, f->vessel);
    emit_close(json);
  }
  emit_close(json);
}

static void changes(struct emit *json, const struct meet_answer *answer)
{
  emit_array(json, "before_another");
  for (int i = 0; i < answer->change_count; i++) {
    const struct meet_change *c = &answer->changes[i];

    emit_object(json, NULL);
    emit_text(json, "from", c->from);
    emit_text(json, "to", c->to);
    emit_array(json, "steps");
    for (int k = 0; k < c->step_count; k++)
      emit_text(json, NULL, c->steps[k]);
    emit_close(json);
    chem_emit_origin(json, &c->of);
    emit_close(json);
  }
  emit_close(json);
}

/* Only of a shipment: the table is no rule for a bench. */
static void transport(struct emit *json, const struct meet_answer *answer)
{
  if (answer->place != MEET_SHIPMENT) {
    emit_null(json, "transport");
    return;
  }
  emit_object(json, "transport");
  emit_text(json, "table", "49 CFR 177.848(d)");
  emit_int(json, "coded_cells", answer->transport_cells);
  emit_array(json, "pairs");
  for (int i = 0; i < answer->transport_count; i++) {
    const struct meet_transport *t = &answer->transport[i];

    emit_object(json, NULL);
    emit_text(json, "thing_a", answer->things[t->a].asked);
    emit_text(json, "thing_b", answer->things[t->b].asked);
    emit_text(json, "class_a", t->class_a);
    emit_text(json, "class_b", t->class_b);
    emit_text(json, "subsidiary_a", t->subsidiary_a);
    emit_text(json, "subsidiary_b", t->subsidiary_b);
    emit_text(json, "code", t->code && !*t->code ? "blank" : t->code);
    emit_close(json);
  }
  emit_close(json);
  emit_close(json);
}

static void suite(struct emit *json, const struct facility *facility, const struct chemicals *own)
{
  emit_text(json, "suite", facility ? facility->name : NULL);
  emit_text(json, "label", facility ? facility->label : NULL);
  emit_text(json, "suite_sha256", facility ? facility->sha256 : NULL);
  emit_text(json, "chemicals_sha256", own ? own->sha256 : NULL);
}

void meet_json(const struct meet_answer *answer, struct buf *out)
{
  struct arena arena;
  struct emit json;

  arena_init(&arena, (size_t)4 << 20);
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.meet.1");
  emit_text(&json, "engine", INWARD_VERSION);
  emit_text(&json, "verdict", meet_verdict_words(answer->verdict));
  emit_text(&json, "place", meet_place_word(answer->place));
  suite(&json, answer->facility, answer->own);
  emit_text(&json, "station", answer->station);
  emit_number(&json, "temperature_K", answer->at_K);
  things(&json, answer);
  findings(&json, answer, &arena);
  changes(&json, answer);
  notes(&json, answer);
  transport(&json, answer);
  emit_texts(&json, "not_known", answer->unknown, answer->unknown_count);
  emit_text(&json, "decides", chem_closing);
  emit_close(&json);
  emit_end(&json);
  arena_release(&arena);
}
