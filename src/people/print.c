#include "people/people.h"

#include "base/emit.h"

#include <string.h>

/* The list of people: ids, and names only where they are asked for. */

enum { WORK_BYTES = 64 << 20 };

static const char *status_word(enum people_status status)
{
  static const char *const words[] = {"active", "not_known", "gone"};

  return words[status];
}

static void text_person(const struct people_list *l, int person, struct arena *arena,
                        struct buf *out)
{
  const struct people_person *p = &l->people->list[person];

  buf_printf(out, "%s%s%s%s%s", p->id, l->names && p->name ? "  " : "",
             l->names && p->name ? p->name : "", l->names && p->group ? ", " : "",
             l->names && p->group ? p->group : "");
  if (p->status != PEOPLE_ACTIVE)
    buf_printf(out, "  %s: %s", p->status == PEOPLE_GONE ? "not here any more" : "status not known",
               p->status_why);
  buf_puts(out, "\n");
  for (int e = 0; e < l->people->roster->endorsement_count; e++) {
    struct people_verdict v = people_endorsed(l->people, person, e, l->day, arena);

    buf_printf(out, "  %-12s %-9s  %s%s%s\n", l->people->roster->endorsements[e].part.id,
               people_standing_word(v.standing), v.why, l->names && v.detail ? ": " : "",
               l->names && v.detail ? v.detail : "");
  }
}

void people_text(const struct people_list *l, struct buf *out)
{
  struct arena arena;

  arena_init(&arena, WORK_BYTES);
  buf_printf(out, "People of %s%s%s on ", l->facility->name ? l->facility->name : "the suite",
             l->facility->label ? " · " : "", l->facility->label ? l->facility->label : "");
  roster_print_day(l->day, out);
  buf_printf(
      out,
      ": %d\nAn endorsement that is not known counts as none until who keeps the table says it there. "
      "Nothing here is a permission.\n\n",
      l->people->count);
  for (int i = 0; i < l->people->count; i++)
    if (l->only < 0 || l->only == i)
      text_person(l, i, &arena, out);
  arena_release(&arena);
}

static void emit_day(struct emit *json, const char *key, int day)
{
  struct buf text;

  if (day == ROSTER_NO_DAY) {
    emit_null(json, key);
    return;
  }
  buf_init(&text, 40);
  roster_print_day(day, &text);
  emit_text(json, key, text.text);
  buf_release(&text);
}

static void json_person(const struct people_list *l, int person, struct arena *arena,
                        struct emit *json)
{
  const struct people_person *p = &l->people->list[person];

  emit_object(json, NULL);
  emit_text(json, "id", p->id);
  emit_text(json, "name", l->names ? p->name : NULL);
  emit_text(json, "group", l->names ? p->group : NULL);
  emit_text(json, "status", status_word(p->status));
  emit_text(json, "status_why", p->status_why);
  emit_int(json, "rows", p->row_count);
  emit_text(json, "where", p->where);
  emit_array(json, "endorsements");
  for (int e = 0; e < l->people->roster->endorsement_count; e++) {
    struct people_verdict v = people_endorsed(l->people, person, e, l->day, arena);

    emit_object(json, NULL);
    emit_text(json, "id", l->people->roster->endorsements[e].part.id);
    emit_text(json, "standing",
              v.standing == PEOPLE_VALID       ? "valid"
              : v.standing == PEOPLE_NOT_VALID ? "not_valid"
                                               : "not_known");
    emit_day(json, "until", v.until_day);
    emit_text(json, "why", v.why);
    emit_text(json, "detail", l->names ? v.detail : NULL);
    emit_text(json, "source", l->people->roster->endorsements[e].source);
    emit_close(json);
  }
  emit_close(json);
  emit_close(json);
}

static void json_remarks(const struct complaints *remarks, struct emit *json)
{
  emit_array(json, "remarks");
  for (int i = 0; i < remarks->count; i++) {
    emit_object(json, NULL);
    emit_text(json, "file", remarks->list[i].place.file);
    emit_int(json, "line", remarks->list[i].place.line);
    emit_int(json, "column", remarks->list[i].place.column);
    emit_text(json, "text", remarks->list[i].text);
    emit_close(json);
  }
  emit_close(json);
  emit_int(json, "remarks_not_listed", remarks->dropped);
}

void people_json(const struct people_list *l, struct buf *out)
{
  struct arena arena;
  struct emit json;

  arena_init(&arena, WORK_BYTES);
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.people.1");
  emit_text(&json, "suite", l->facility->name);
  emit_text(&json, "label", l->facility->label);
  emit_text(&json, "suite_sha256", l->facility->sha256);
  emit_text(&json, "people_sha256", l->people->roster->sha256);
  emit_text(&json, "people_tables_sha256",
            *l->people->tables_sha256 ? l->people->tables_sha256 : NULL);
  emit_day(&json, "on", l->day);
  emit_array(&json, "people");
  for (int i = 0; i < l->people->count; i++)
    if (l->only < 0 || l->only == i)
      json_person(l, i, &arena, &json);
  emit_close(&json);
  json_remarks(l->remarks, &json);
  emit_close(&json);
  emit_end(&json);
  arena_release(&arena);
}
