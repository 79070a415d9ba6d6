/* From what a person typed to an entry, with every fault at once. */
#include "incident/incident_impl.h"

#include "base/spelling.h"
#include "base/utf8.h"

#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum { WHO_MOST_BYTES = 80, ABOUT_MOST_BYTES = 64 };

struct taking {
  const struct incident_asked *asked;
  const struct incident_form *form;
  struct incident_told told;
  struct buf *faults;
  int fault_count;
};

static void fault(struct taking *t, const char *fmt, ...) PRINTF_LIKE(2, 3);
static void fault(struct taking *t, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  buf_vprintf(t->faults, fmt, args);
  va_end(args);
  buf_putc(t->faults, '\n');
  t->fault_count++;
}

int incident_field_find(const struct incident_form *form, const char *key)
{
  for (int i = 0; i < form->field_count; i++)
    if (strcmp(form->fields[i].key, key) == 0)
      return i;
  return -1;
}

/* The value without blanks around it; "" where it is not given.  Its faults are told. */
static const char *text_of(struct taking *t, struct arena *arena, const char *key, size_t most)
{
  const char *value = "";
  char said[UTF8_SAID_BYTES];
  int found = 0;

  for (int i = 0; i < t->asked->count; i++)
    if (strcmp(t->asked->pairs[i].key, key) == 0) {
      value = t->asked->pairs[i].value;
      found++;
    }
  if (found > 1)
    fault(t, "%s: said twice; say it once", key);
  value += strspn(value, " \t\r\n");

  char *own = arena_strdup(arena, value);

  if (!own) {
    fault(t, "%s: too much of it", key);
    return "";
  }
  for (size_t end = strlen(own); end > 0 && strchr(" \t\r\n", own[end - 1]); end--)
    own[end - 1] = '\0';
  if (utf8_fault(own)) {
    fault(t, "%s: not UTF-8", key);
    return "";
  }
  if (utf8_unseen(own, said)) {
    fault(t, "%s: %s", key, said);
    return "";
  }
  if (strlen(own) > most) {
    fault(t, "%s: %zu bytes; at most %zu. Add the rest as a second entry", key, strlen(own), most);
    return "";
  }
  return own;
}

/* ---- what, who, when ---- */

static bool take_kind(struct taking *t, struct arena *arena)
{
  const char *id = text_of(t, arena, "incident", ABOUT_MOST_BYTES);
  int kind = incident_find(id);

  if (kind >= 0) {
    t->told.what.kind = (enum incident_kind)kind;
    t->form = incident_form(t->told.what.kind);
    return true;
  }
  buf_printf(t->faults, "incident: %s%.40s%s; there are", *id ? "no '" : "what happened?", id,
             *id ? "'" : "");
  for (int i = 0; i < INCIDENT_KINDS; i++)
    buf_printf(t->faults, "%s %s", i ? "," : "", incident_form((enum incident_kind)i)->id);
  fault(t, "%s", "");
  return false;
}

static void take_who(struct taking *t, struct arena *arena)
{
  const char *who = text_of(t, arena, "who", WHO_MOST_BYTES);

  if (strcmp(who, "inward") == 0)
    fault(t, "who: 'inward' is how the program itself signs; who are you?");
  else if (strchr(who, '\n'))
    fault(t, "who: a name is one line");
  t->told.who = *who ? who : "somebody";
}

static void take_at(struct taking *t, struct arena *arena)
{
  const char *at = text_of(t, arena, "at", ABOUT_MOST_BYTES);
  struct err err = {0};

  t->told.t_ms = t->asked->now_ms;
  t->told.what.at_said = *at != '\0';
  if (!*at)
    return;
  if (when_read(at, t->asked->zone, NULL, &t->told.t_ms, &err) != ERR_OK)
    fault(t, "at: %.200s", err.text);
  else if (t->told.t_ms > t->asked->now_ms)
    fault(t, "at: %.40s has not come yet", at);
  else if (t->asked->back_most_s > 0 &&
           t->told.t_ms < t->asked->now_ms - llround(t->asked->back_most_s * 1e3))
    fault(t, "at: %.40s is too long ago: " FEEDS_TOLD_BACK, at, t->asked->back_most_s / 86400);
}

static void take_adds_to(struct taking *t, struct arena *arena)
{
  const char *text = text_of(t, arena, "adds_to", ABOUT_MOST_BYTES);
  char *end;

  if (!*text)
    return;
  errno = 0;
  t->told.what.adds_to = strtoll(text, &end, 10);
  if (*end || errno != 0 || *text < '1' || *text > '9')
    fault(t, "adds_to: the number of the entry that told it first, as 1412");
}

/* ---- where ---- */

static void take_about(struct taking *t, struct arena *arena)
{
  const struct facility *f = t->asked->facility;
  const char *about = text_of(t, arena, "about", ABOUT_MOST_BYTES);
  bool at_station = t->form && t->form->place == INCIDENT_AT_STATION;
  bool needed = t->form && t->form->place != INCIDENT_ANYWHERE && t->told.what.adds_to == 0;

  t->told.about = about;
  if (!*about && needed)
    fault(t, "about: where? The id of a %s", at_station ? "station" : "station or room");
  if (!*about)
    return;
  if (!facility_has(f, about)) {
    const char *near = facility_nearest_id(f, about);

    fault(t, "about: the suite has no '%.40s'%s%s%s", about, near ? "; did you mean " : "",
          near ? near : "", near ? "?" : "");
  } else if (at_station && facility_station_find(f, about) < 0)
    fault(t, "about: '%.40s' is no station, and a spill inside is in one", about);
}

/* ---- the fields of its form ---- */

static bool is_choice(const char *choices, const char *value)
{
  size_t length = strlen(value);

  for (const char *at = choices; *at; at += strcspn(at, "|"), at += *at == '|')
    if (strcspn(at, "|") == length && strncmp(at, value, length) == 0)
      return true;
  return false;
}

static void take_field(struct taking *t, struct arena *arena, int index)
{
  const struct incident_field *field = &t->form->fields[index];
  const char *value = text_of(t, arena, field->key, INCIDENT_FIELD_MOST_BYTES);

  if (*value && field->choices && !is_choice(field->choices, value))
    fault(t, "%s: one of %s, not '%.40s'", field->key, field->choices, value);
  if (!*value && field->required && t->told.what.adds_to == 0)
    fault(t, "%s: must be said: %s", field->key, field->ask);
  t->told.what.values[index] = *value ? value : NULL;
}

static bool is_common(const char *key)
{
  static const char *const keys[] = {"incident", "about", "who", "at", "adds_to"};

  for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
    if (strcmp(keys[i], key) == 0)
      return true;
  return false;
}

static void take_fields(struct taking *t, struct arena *arena)
{
  bool any = false;
  struct buf known;

  buf_init(&known, 4096);
  buf_puts(&known, "incident|about|who|at|adds_to");
  for (int k = 0; k < t->form->field_count; k++)
    buf_printf(&known, "|%s", t->form->fields[k].key);
  for (int i = 0; i < t->asked->count; i++) {
    const char *key = t->asked->pairs[i].key;

    if (is_common(key) || incident_field_find(t->form, key) >= 0)
      continue;
    spelling_refuse(t->faults, key, known.text);
    fault(t, "%s", "");
  }
  buf_release(&known);
  for (int i = 0; i < t->form->field_count; i++) {
    take_field(t, arena, i);
    any = any || t->told.what.values[i];
  }
  if (t->told.what.adds_to > 0 && !any && t->fault_count == 0)
    fault(t, "nothing is added: say at least one of its fields");
}

/* ---- the entry ---- */

void incident_put_values(const struct incident *what, const char *indent, struct buf *out)
{
  const struct incident_form *form = incident_form(what->kind);

  for (int i = 0; i < form->field_count; i++) {
    if (!what->values[i])
      continue;
    buf_printf(out, "%s%s: ", indent, form->fields[i].key);
    for (const char *c = what->values[i]; *c; c++) /* a line stays one */
      buf_putc(out, *c == '\n' ? ' ' : *c);
    buf_putc(out, '\n');
  }
}

static void entry_text(const struct taking *t, struct buf *out)
{
  const struct facility *f = t->asked->facility;
  const struct incident_told *told = &t->told;
  int station = facility_station_find(f, told->about);
  const char *name = station >= 0 ? f->stations[station].part.name : NULL;

  if (told->what.kind == INCIDENT_OTHER && told->what.adds_to == 0) {
    buf_puts(out, told->what.values[0]);
    return;
  }
  if (told->what.adds_to > 0)
    buf_printf(out, "added to entry %" PRId64 ", %s", told->what.adds_to, t->form->says);
  else
    buf_puts(out, t->form->says);
  if (*told->about)
    buf_printf(out, "%s%s", t->told.what.kind == INCIDENT_SPILL_INSIDE ? " " : " at ", told->about);
  if (name)
    buf_printf(out, " (%s)", name);
  buf_putc(out, '\n');
  incident_put_values(&told->what, "", out);
  while (out->used > 0 && out->text[out->used - 1] == '\n')
    out->text[--out->used] = '\0';
}

static const char *kept(struct arena *arena, struct buf *text)
{
  const char *own = text->full ? NULL : arena_strdup(arena, text->text);

  buf_release(text);
  return own;
}

enum err_code incident_take(const struct incident_asked *asked, struct arena *arena,
                            struct incident_told *out, struct buf *faults)
{
  struct taking t = {.asked = asked, .faults = faults};
  struct buf text;

  take_adds_to(&t, arena);
  take_kind(&t, arena);
  take_about(&t, arena);
  take_who(&t, arena);
  take_at(&t, arena);
  if (t.form)
    take_fields(&t, arena);
  if (t.fault_count > 0 || !t.form)
    return ERR_INPUT;
  buf_init(&text, 32 << 10);
  entry_text(&t, &text);
  t.told.text = kept(arena, &text);
  buf_init(&text, 32 << 10);
  incident_write(&t.told.what, &text);
  t.told.detail = kept(arena, &text);
  if (!t.told.text || !t.told.detail) {
    fault(&t, "that is too much for one entry: add the rest as a second one");
    return ERR_INPUT;
  }
  *out = t.told;
  return ERR_OK;
}
