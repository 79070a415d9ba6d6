#include "wet/wet_impl.h"

#include "bath/bath.h"

#include <math.h>
#include <string.h>

/* Words and JSON that more than one answer uses. */

const char *wet_state_key(enum wet_state state)
{
  static const char *const keys[] = {"empty", "stands", "due", "not_known"};

  return keys[state];
}

void wet_line(struct wet_lines *lines, const char *text)
{
  if (lines->count < WET_LINES_MOST)
    lines->line[lines->count++] = text;
}

bool wet_same(const char *a, const char *b)
{
  return a == b || (a && b && strcmp(a, b) == 0);
}

/* "14:05", with its day if that is another than now's. */
const char *wet_clock(const struct wet_place *place, int64_t t_ms, struct arena *arena)
{
  struct when_civil at = when_civil(place->zone, t_ms, NULL);
  struct when_civil now = when_civil(place->zone, place->now_ms, NULL);

  if (at.year == now.year && at.month == now.month && at.day == now.day)
    return arena_printf(arena, "%02d:%02d", at.hour, at.minute);
  return arena_printf(arena, "%04d-%02d-%02d %02d:%02d", at.year, at.month, at.day, at.hour,
                      at.minute);
}

double wet_until_s(const struct wet_place *place, int64_t t_ms)
{
  double none = (double)NAN;

  return t_ms == INT64_MIN ? none : (double)(t_ms - place->now_ms) * 1e-3;
}

const char *wet_span(double span_s, struct arena *arena)
{
  struct buf text;

  buf_init(&text, 100);
  when_print_span(&text, span_s);
  const char *out = arena_strdup(arena, text.text);

  buf_release(&text);
  return out;
}

const char *wet_quantity(double si, enum units_dimension dimension, struct arena *arena)
{
  struct buf text;

  buf_init(&text, 200);
  if (dimension == UNITS_VOLUME)
    bath_print_volume(&text, si);
  else
    units_print(&text, si, dimension, UNITS_SYSTEM_SI);
  const char *out = arena_strdup(arena, text.text);

  buf_release(&text);
  return out;
}

/* As its card is headed. */
const char *wet_bath_name(const struct wet_place *place, const char *id, struct arena *arena)
{
  const struct bath_place at = {
      .chem = place->chem, .facility = place->facility, .own = place->own};
  const struct bath_request request = {.name = id, .has_volume = true, .volume_m3 = 1e-3};
  struct err err = {0};
  const struct bath_answer *answer = bath_answer(&at, &request, arena, &err);

  return answer ? answer->title : id;
}

struct wet_content wet_content(const struct wet_place *place, const char *what, struct arena *arena)
{
  const struct bath_place at = {
      .chem = place->chem, .facility = place->facility, .own = place->own};
  const struct bath_request request = {.name = what, .has_volume = true, .volume_m3 = 1e-3};
  const struct meet_thing *thing = wet_thing(place, what, arena);
  struct wet_content out = {.name = what, .hazards = ""};
  const struct chem_substance **list = ARENA_ARRAY(arena, const struct chem_substance *,
                                                   (size_t)(thing ? thing->face_count : 0) + 1);
  struct err err = {0};
  const struct bath_answer *bath = bath_answer(&at, &request, arena, &err);

  BUG_IF(!list);
  if (thing)
    out.name = thing->name;
  if (bath) {
    out.name = bath->title;
    out.hazards = bath->hazards ? bath->hazards : "";
  }
  for (int i = 0; thing && i < thing->face_count; i++) {
    const char *id = thing->faces[i].id;
    const struct chem_stock *stock = chem_find_stock(place->chem, id);
    const struct chem_substance *s = stock ? stock->substance : chem_find(place->chem, id);
    bool listed = thing->faces[i].implied;

    for (int k = 0; k < out.substance_count; k++)
      listed |= list[k] == s;
    if (s && !listed)
      list[out.substance_count++] = s;
  }
  out.substances = list;
  return out;
}

/* ---- an act ---- */

static void amount(const struct wet_told *told, struct buf *out)
{
  if (isnan(told->volume_m3)) {
    buf_puts(out, "an amount that was not told");
    return;
  }
  bath_print_volume(out, told->volume_m3);
  if (!isnan(told->volume_pm_m3)) {
    buf_puts(out, " ± ");
    bath_print_volume(out, told->volume_pm_m3);
  }
}

static void tank_words(const struct wet_told *t, struct buf *out)
{
  switch ((int)t->act) {
  case WET_MADE:
    buf_printf(out, "%s poured fresh in %s", t->bath, t->tank);
    break;
  case WET_TOPPED:
    buf_printf(out, "%s topped up with %s: ", t->tank, t->what);
    amount(t, out);
    break;
  case WET_WAFERS:
    buf_printf(out, "%lld wafer%s in %s", (long long)t->wafers, t->wafers == 1 ? "" : "s", t->tank);
    break;
  case WET_TEMPERATURE:
    buf_printf(out, "%s reads ", t->tank);
    units_print(out, t->temperature_K, UNITS_TEMPERATURE, UNITS_SYSTEM_SI);
    break;
  case WET_LEVEL:
    buf_printf(out, "%s holds ", t->tank);
    amount(t, out);
    break;
  default:
    buf_printf(out, "%s emptied%s%s", t->tank, t->into ? " into " : " to its drain",
               t->into ? t->into : "");
    if (t->into) {
      buf_puts(out, ": ");
      amount(t, out);
    }
  }
}

static void container_words(const struct wet_told *t, struct buf *out)
{
  switch ((int)t->act) {
  case WET_OPENED:
    buf_printf(out, "container %s begun for %s", t->container, t->stream);
    break;
  case WET_ADDED:
    buf_printf(out, "%s into %s: ", t->what, t->container);
    amount(t, out);
    break;
  case WET_FILL:
    buf_printf(out, "%s is %.0f %% full, ± %.0f %%", t->container, t->fill_ratio * 100,
               t->fill_pm_ratio * 100);
    break;
  case WET_CLOSED:
    buf_printf(out, "%s full and closed for good", t->container);
    break;
  default:
    buf_printf(out, "%s collected", t->container);
  }
}

const char *wet_told_words(const struct wet_told *told, struct arena *arena)
{
  struct buf text;

  buf_init(&text, 2000);
  if (told->act == WET_TAKEN_BACK)
    buf_printf(&text, "entry %lld taken back", (long long)told->entry);
  else if (told->act == WET_FOUND)
    buf_printf(&text, "%s found standing; since when is not known",
               told->tank ? told->tank : told->container);
  else if (told->tank)
    tank_words(told, &text);
  else
    container_words(told, &text);
  const char *out = arena_strdup(arena, text.text);

  buf_release(&text);
  return out;
}

/* ---- JSON ---- */

void wet_head_json(struct emit *json, const struct wet_place *place, const struct wet_past *past)
{
  emit_text(json, "suite", place->facility->name);
  emit_text(json, "label", place->facility->label);
  emit_text(json, "suite_sha256", place->facility->sha256);
  emit_text(json, "chemicals_sha256", place->own ? place->own->sha256 : NULL);
  when_emit(json, "now", place->now_ms);
  if (!past)
    return;
  emit_int(json, "unread", past->unread_count);
  emit_bool(json, "older_left_out", past->is_cut);
}

void wet_told_json(struct emit *json, const char *key, const struct wet_told *told)
{
  if (!told) {
    emit_null(json, key);
    return;
  }
  emit_object(json, key);
  emit_int(json, "entry", told->number);
  emit_text(json, "act", wet_act_word(told->act));
  when_emit(json, "at", told->t_ms);
  emit_text(json, "who", told->who);
  emit_text(json, "words", told->text);
  emit_close(json);
}

void wet_lines_json(struct emit *json, const char *key, const struct wet_lines *lines)
{
  emit_array(json, key);
  for (int i = 0; i < lines->count; i++)
    emit_text(json, NULL, lines->line[i]);
  emit_close(json);
}

/* ---- text ---- */

static size_t columns_of(const char *text, size_t bytes)
{
  size_t columns = 0;

  for (size_t i = 0; i < bytes; i++)
    columns += ((unsigned char)text[i] & 0xC0) != 0x80;
  return columns;
}

void wet_wrap(struct buf *out, const char *before, const char *text)
{
  enum { WIDTH = 100 };
  size_t indent = strspn(before, " -"), at = columns_of(before, strlen(before));

  buf_puts(out, before);
  for (bool first = true; *text; first = false) {
    size_t length = strcspn(text, " "), wide = columns_of(text, length);

    if (!first && at + 1 + wide > WIDTH) {
      buf_printf(out, "\n%*s", (int)indent, "");
      at = indent;
    } else if (!first) {
      buf_putc(out, ' ');
      at++;
    }
    buf_add(out, text, length);
    at += wide;
    text += length + strspn(text + length, " ");
  }
  buf_putc(out, '\n');
}
