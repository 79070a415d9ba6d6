/* The table of incidents, and what is said of it. */
#include "incident/incident_impl.h"

#include <string.h>

/* Asked before anybody goes back to where it happened. */
#define RE_ENTRY                                                                                   \
  {"source_removed", "Is its source removed?", "yes|no|not known", false, true},                   \
      {"measured", "What was measured, with what, and when?", NULL, false, true},                  \
  {                                                                                                \
    "released_by", "Released by whom?", NULL, false, true                                          \
  }
#define WORDS                                                                                      \
  {                                                                                                \
    "words", "In your own words", NULL, false, false                                               \
  }

static const struct incident_field odour[] = {
    {"smell", "What does it smell like?", NULL, false, false},
    {"since", "Since when?", NULL, false, false},
    {"doing", "What was being done there?", NULL, false, false},
    WORDS,
    RE_ENTRY,
};
static const struct incident_field spill[] = {
    {"substance", "Which substance, how strong?", NULL, false, false},
    {"amount", "How much?", NULL, false, false},
    {"area", "What area does it cover?", NULL, false, false},
    {"exposed", "Did it reach a person? Then tell that too.", "yes|no|not known", false, false},
    WORDS,
    RE_ENTRY,
};
static const struct incident_field exposure[] = {
    {"substance", "Which substance?", NULL, false, false},
    {"strength", "How strong? As on the label", NULL, false, false},
    {"body", "Which part of the body, what area of it?", NULL, false, false},
    {"way", "How did it reach the person?", "skin|eyes|breathed in|swallowed|not known", false,
     false},
    {"worn", "What was worn?", NULL, false, false},
    {"called", "Who has been called?", NULL, false, false},
    {"done", "What has been done so far?", NULL, false, false},
    WORDS,
};
static const struct incident_field near_miss[] = {
    {"words", "What nearly happened?", NULL, true, false},
    {"stopped", "What kept it from happening?", NULL, false, false},
    {"change", "What should change?", NULL, false, false},
};
static const struct incident_field beaker[] = {
    {"looks", "What does it look like: vessel, size, colour, lid?", NULL, false, false},
    {"where", "Where exactly?", NULL, false, false},
    {"doing", "Does it smoke or bubble, seen from where you stand?", "yes|no|not known", false,
     false},
    WORDS,
    {"fetched_by", "Who has taken it in charge?", NULL, false, true},
    {"was", "What was it, and how is that known?", NULL, false, true},
};
static const struct incident_field other[] = {
    {"words", "What happened?", NULL, true, false},
};

static const char ask_before[] =
    "Before anybody goes back: source removed? measured? released by whom?";
static const char window[] =
    "flows, openings, doors, pressures and alarms from before it to after it";

#define FIELDS(list) .fields = (list), .field_count = (int)(sizeof(list) / sizeof((list)[0]))
static const struct incident_form forms[INCIDENT_KINDS] = {
    [INCIDENT_ODOUR] = {.id = "odour",
                        .title = "It smells",
                        .says = "it smells",
                        .place = INCIDENT_AT_PART,
                        .first = {"Stop, and step away from the smell.", "Call {call}."},
                        .next = ask_before,
                        .kept = window,
                        FIELDS(odour)},
    [INCIDENT_SPILL_INSIDE] = {.id = "spill-inside",
                               .title = "A spill inside a station",
                               .says = "a spill inside",
                               .place = INCIDENT_AT_STATION,
                               .first = {"Stop, cap, lower, step away. Staff release stations.",
                                         "Call {call}, and follow the data sheet.",
                                         "Did it reach a person? Then tell that first."},
                               .next = ask_before,
                               .kept = window,
                               FIELDS(spill)},
    [INCIDENT_SPILL_OUTSIDE] = {.id = "spill-outside",
                                .title = "A spill outside a station",
                                .says = "a spill outside the stations",
                                .place = INCIDENT_AT_PART,
                                .first = {"Step away, and keep others away.",
                                          "Call {call}, and follow the data sheet.",
                                          "Did it reach a person? Then tell that first."},
                                .next = ask_before,
                                .kept = window,
                                FIELDS(spill)},
    [INCIDENT_EXPOSURE] = {.id = "exposure",
                           .title = "It reached a person",
                           .says = "a person was exposed",
                           .place = INCIDENT_ANYWHERE,
                           .first = {"First call: the emergency number of this place, and {call}. "
                                     "Follow the data sheet.",
                                     "Telling it here can wait, and ends nothing."},
                           .kept = "the words told, the minute, and what was measured around it",
                           FIELDS(exposure)},
    [INCIDENT_NEAR_MISS] = {.id = "near-miss",
                            .title = "Something nearly happened",
                            .says = "a near miss",
                            .place = INCIDENT_ANYWHERE,
                            .first = {"Is anything still wrong there? Then first call {call}."},
                            .kept = "the words told, and what was measured around it",
                            FIELDS(near_miss)},
    [INCIDENT_BEAKER] = {.id = "beaker",
                         .title = "A vessel without a label",
                         .says = "a vessel without a label",
                         .place = INCIDENT_AT_PART,
                         .first = {"Do not touch, smell, move or pour it. Keep others away.",
                                   "Call {call}."},
                         .kept =
                             "what was measured around it; staff can list which stations were used "
                             "since the last round",
                         FIELDS(beaker)},
    [INCIDENT_OTHER] =
        {.id = "other",
         .title = "Something else",
         .says = "told",
         .place = INCIDENT_ANYWHERE,
         .first = {"Is anybody in danger? Then first call the emergency number of this "
                   "place, and {call}."},
         .kept = "the words told, and what was measured around it",
         FIELDS(other)},
};

const struct incident_form *incident_form(enum incident_kind kind)
{
  return &forms[kind];
}

int incident_find(const char *id)
{
  for (int i = 0; i < INCIDENT_KINDS; i++)
    if (strcmp(forms[i].id, id) == 0)
      return i;
  return -1;
}

void incident_call(const struct facility *facility, int station, struct buf *out)
{
  const char *own = station >= 0 ? facility->stations[station].card.call : NULL;

  if (own)
    buf_puts(out, own);
  if (own && facility->call && strcmp(own, facility->call) != 0)
    buf_printf(out, "; %s", facility->call);
  else if (!own)
    buf_puts(out, facility->call ? facility->call : "the staff of the stations");
}

void incident_put_first(const char *line, const struct facility *facility, int station,
                        struct buf *out)
{
  static const char mark[] = "{call}";
  const char *at = strstr(line, mark);

  if (!at) {
    buf_puts(out, line);
    return;
  }
  buf_add(out, line, (size_t)(at - line));
  incident_call(facility, station, out);
  buf_puts(out, at + sizeof mark - 1);
}

static void field_json(const struct incident_field *field, struct emit *json)
{
  emit_object(json, NULL);
  emit_text(json, "key", field->key);
  emit_text(json, "ask", field->ask);
  emit_bool(json, "required", field->required);
  emit_bool(json, "next", field->next);
  emit_array(json, "choices");
  for (const char *at = field->choices; at && *at;) {
    size_t size = strcspn(at, "|");
    char word[40] = "";

    BUG_IF(size >= sizeof word);
    memcpy(word, at, size);
    emit_text(json, NULL, word);
    at += size + (at[size] == '|');
  }
  emit_close(json);
  emit_close(json);
}

static void form_json(const struct incident_form *form, const struct facility *facility,
                      struct emit *json)
{
  static const char *const places[] = {"anywhere", "part", "station"};
  struct buf line;

  buf_init(&line, 4096);
  emit_object(json, NULL);
  emit_text(json, "id", form->id);
  emit_text(json, "title", form->title);
  emit_text(json, "place", places[form->place]);
  emit_array(json, "first");
  for (int i = 0; i < INCIDENT_FIRST_MOST && form->first[i]; i++) {
    buf_clear(&line);
    incident_put_first(form->first[i], facility, -1, &line);
    emit_text(json, NULL, line.text);
  }
  emit_close(json);
  emit_text(json, "next", form->next);
  emit_text(json, "kept", form->kept);
  emit_array(json, "fields");
  for (int i = 0; i < form->field_count; i++)
    field_json(&form->fields[i], json);
  emit_close(json);
  emit_close(json);
  buf_release(&line);
}

void incident_forms_json(const struct facility *facility, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.tell.1");
  emit_text(&json, "suite_sha256", facility->sha256);
  emit_text(&json, "call", facility->call);
  emit_array(&json, "incidents");
  for (int i = 0; i < INCIDENT_KINDS; i++)
    form_json(&forms[i], facility, &json);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
