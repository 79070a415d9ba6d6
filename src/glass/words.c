/* The answers for people, as JSON, and as an overlay. */
#include "base/emit.h"
#include "glass/glass_impl.h"

#include <math.h>
#include <string.h>

static void put_mark(const struct facility_mark *mark, struct buf *out)
{
  const char *words[] = {mark_colour_name(mark->colour), mark_shape_name(mark->shape),
                         mark->letter};
  bool some = false;

  for (size_t i = 0; i < sizeof words / sizeof *words; i++)
    if (words[i]) {
      buf_printf(out, "%s%s", some ? " " : "", words[i]);
      some = true;
    }
  if (!some)
    buf_puts(out, "no mark");
}

static const char *id(const struct facility *f, int station)
{
  return f->stations[station].part.id;
}

static void put_head(const struct facility *f, const char *what, struct buf *out)
{
  buf_printf(out, "%s%s%s%s   %s\n\n", f->name ? f->name : "(no name)", f->label ? "   [" : "",
             f->label ? f->label : "", f->label ? "]" : "", what);
}

/* ---- two marks ---- */

static void put_colours(const struct glass_pair *p, struct buf *out)
{
  if (isnan(p->colour))
    buf_puts(out, "a colour is missing");
  else if (p->colour == 0)
    buf_puts(out, "the same colour");
  else
    buf_printf(out, "colours %.0f apart %s%s", p->colour, mark_sight_words(p->worst),
               p->told_by_colour ? "" : ", too little");
}

static void put_shapes(const struct glass_pair *p, struct buf *out)
{
  if (isnan(p->shape_ratio))
    buf_puts(out, "a shape is missing");
  else if (p->shape_ratio == 0)
    buf_puts(out, "the same shape");
  else
    buf_printf(out, "shapes %.0f %% apart%s", p->shape_ratio * 100,
               p->told_by_shape ? "" : ", too little");
}

static void put_pair(const struct glass_answer *a, const struct glass_pair *p, bool chosen,
                     struct buf *out)
{
  const struct glass_station *one = &a->stations[p->one], *other = &a->stations[p->other];

  buf_printf(out, "  %s ", id(a->facility, p->one));
  put_mark(chosen ? &one->chosen : &one->mark, out);
  buf_printf(out, " · %s ", id(a->facility, p->other));
  put_mark(chosen ? &other->chosen : &other->mark, out);
  buf_puts(out, ": ");
  put_colours(p, out);
  buf_puts(out, "; ");
  put_shapes(p, out);
  buf_printf(out, "; letters %s\n", p->told_by_letter ? "differ" : "tell nothing");
}

/* Those told by so many things, at most `most` of them. */
static void put_pairs(const struct glass_answer *a, bool chosen, int told_by, struct buf *out)
{
  enum { MOST = 12 };
  const struct glass_pair *list = chosen ? a->chosen : a->pairs;
  int count = chosen ? a->chosen_count : a->pair_count, shown = 0;

  for (int i = 0; i < count; i++)
    if (list[i].told_by == told_by && shown++ < MOST)
      put_pair(a, &list[i], chosen, out);
  if (shown > MOST)
    buf_printf(out, "  and %d more like that\n", shown - MOST);
}

static int told_by(const struct glass_pair *list, int count, int things)
{
  int n = 0;

  for (int i = 0; i < count; i++)
    n += list[i].told_by == things;
  return n;
}

/* ---- the answer ---- */

static void put_station_faults(const struct glass_answer *a, struct buf *out)
{
  if (a->fault_count == 0)
    return;
  buf_puts(out, "\nFaults of single marks\n");
  for (int i = 0; i < a->facility->station_count; i++)
    for (int k = 0; k < a->stations[i].fault_count; k++)
      buf_printf(out, "  %s: %s\n", id(a->facility, i), a->stations[i].faults[k]);
}

static void put_verdict(const struct glass_answer *a, struct buf *out)
{
  if (a->alike_count)
    buf_printf(out, "%d pair%s of marks cannot be told apart by everybody.\n", a->alike_count,
               a->alike_count == 1 ? "" : "s");
  if (a->fault_count)
    buf_printf(out, "%d fault%s of single marks.\n", a->fault_count,
               a->fault_count == 1 ? "" : "s");
  if (a->weak_count)
    buf_printf(out, "%d pair%s told by one thing only: a scratch or a hand takes it away.\n",
               a->weak_count, a->weak_count == 1 ? " is" : "s are");
  if (!a->alike_count && !a->fault_count && !a->weak_count && a->pair_count)
    buf_puts(out, "Any two marks are told by two things at least, by everybody.\n");
  if (!a->pair_count)
    buf_puts(out, "There are no two stations whose marks could be compared.\n");
}

static void put_chosen(const struct glass_answer *a, struct buf *out)
{
  int changes = 0;

  for (int i = 0; i < a->facility->station_count; i++)
    changes += a->stations[i].changes;
  buf_printf(out, "\nChosen: %d mark%s to paint\n", changes, changes == 1 ? "" : "s");
  for (int i = 0; i < a->facility->station_count; i++) {
    if (!a->stations[i].changes)
      continue;
    buf_printf(out, "  %s: ", id(a->facility, i));
    put_mark(&a->stations[i].chosen, out);
    buf_puts(out, " (now ");
    put_mark(&a->stations[i].mark, out);
    buf_puts(out, ")\n");
  }
  if (!a->found_all)
    buf_puts(out,
             "  For some stations nothing was found: too many letters or colours are taken.\n");
  buf_printf(out,
             "  With these: %d pairs told by three things, %d by two, %d by one, %d by none.\n",
             told_by(a->chosen, a->chosen_count, 3), told_by(a->chosen, a->chosen_count, 2),
             told_by(a->chosen, a->chosen_count, 1), told_by(a->chosen, a->chosen_count, 0));
  put_pairs(a, true, 0, out);
  put_pairs(a, true, 1, out);
}

static void put_pieces(const struct glass_answer *a, struct buf *out)
{
  bool head = false;

  for (int i = 0; i < a->facility->station_count; i++) {
    const struct facility_card *card = &a->facility->stations[i].card;

    for (int k = 0; k < card->glass_count; k++) {
      const struct facility_glass *g = &card->glass[k];

      if (!head)
        buf_puts(out, "\nGlass and plastic by drawer\n");
      head = true;
      buf_printf(out, "  %s drawer %s: %d %s, %s", id(a->facility, i),
                 g->drawer ? g->drawer : "not stated", g->count, g->what, g->material);
      for (int v = 0; v < g->visit_count; v++)
        buf_printf(out, "%s%s", v ? ", " : "; may visit ", id(a->facility, g->visits[v]));
      buf_printf(out, "%s%s\n", g->on_return ? "; then " : "", g->on_return ? g->on_return : "");
    }
  }
}

void glass_text(const struct glass_answer *a, struct buf *out)
{
  const struct facility_glass_rules *rules = &a->facility->glass;

  put_head(a->facility, "glass marks", out);
  put_verdict(a, out);
  put_station_faults(a, out);
  if (a->alike_count) {
    buf_puts(out, "\nNot told apart\n");
    put_pairs(a, false, 0, out);
  }
  if (a->weak_count) {
    buf_puts(out, "\nTold by one thing only\n");
    put_pairs(a, false, 1, out);
  }
  if (a->choice != GLASS_LOOK)
    put_chosen(a, out);
  put_pieces(a, out);
  buf_printf(
      out,
      "\nTold apart: colours %.0f or more (CIEDE2000, in the sight that tells them worst: in colour, "
      "without red, green\nor blue, in a grey copy), shapes with %.0f %% or more not common, letters "
      "nobody takes for one another. The suite's\n`glass:` sets both. Colours are as printed here; paint "
      "on glass and gowning light differ: hold two pieces side by side.\n",
      rules->least_colour, rules->least_shape_ratio * 100);
}

/* ---- JSON ---- */

static void emit_mark(struct emit *json, const char *key, const struct facility_mark *mark)
{
  emit_object(json, key);
  emit_text(json, "colour", mark_colour_name(mark->colour));
  emit_text(json, "shape", mark_shape_name(mark->shape));
  emit_text(json, "letter", mark->letter);
  emit_close(json);
}

static void emit_pairs(struct emit *json, const char *key, const struct facility *f,
                       const struct glass_pair *list, int count)
{
  emit_array(json, key);
  for (int i = 0; i < count; i++) {
    emit_object(json, NULL);
    emit_text(json, "one", id(f, list[i].one));
    emit_text(json, "other", id(f, list[i].other));
    emit_number(json, "colour_difference", list[i].colour);
    emit_text(json, "worst_sight", isnan(list[i].colour) ? NULL : mark_sight_words(list[i].worst));
    emit_number(json, "shape_apart_ratio", list[i].shape_ratio);
    emit_bool(json, "told_by_colour", list[i].told_by_colour);
    emit_bool(json, "told_by_shape", list[i].told_by_shape);
    emit_bool(json, "told_by_letter", list[i].told_by_letter);
    emit_close(json);
  }
  emit_close(json);
}

static void emit_stations(struct emit *json, const struct glass_answer *a)
{
  emit_array(json, "stations");
  for (int i = 0; i < a->facility->station_count; i++) {
    const struct glass_station *s = &a->stations[i];

    emit_object(json, NULL);
    emit_text(json, "id", id(a->facility, i));
    emit_mark(json, "mark", &s->mark);
    emit_array(json, "faults");
    for (int k = 0; k < s->fault_count; k++)
      emit_text(json, NULL, s->faults[k]);
    emit_close(json);
    if (s->changes)
      emit_mark(json, "chosen", &s->chosen);
    else
      emit_null(json, "chosen");
    emit_close(json);
  }
  emit_close(json);
}

static void emit_head(struct emit *json, const char *schema, const struct facility *f)
{
  emit_text(json, "schema", schema);
  emit_text(json, "suite", f->name);
  emit_text(json, "label", f->label);
  emit_text(json, "suite_sha256", f->sha256);
}

void glass_json(const struct glass_answer *a, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_head(&json, "inward.glass.1", a->facility);
  emit_number(&json, "least_colour", a->facility->glass.least_colour);
  emit_number(&json, "least_shape_ratio", a->facility->glass.least_shape_ratio);
  emit_int(&json, "alike", a->alike_count);
  emit_int(&json, "weak", a->weak_count);
  emit_int(&json, "faults", a->fault_count);
  emit_bool(&json, "found_all", a->found_all);
  emit_stations(&json, a);
  emit_pairs(&json, "pairs", a->facility, a->pairs, a->pair_count);
  emit_pairs(&json, "chosen_pairs", a->facility, a->chosen, a->chosen_count);
  emit_close(&json);
  emit_end(&json);
}

/* ---- a piece that was seen ---- */

static const char *const verdict_words[] = {
    [GLASS_AT_HOME] = "AT ITS STATION",
    [GLASS_VISITS] = "SOME OF IT MAY STAND HERE",
    [GLASS_ASTRAY] = "ASTRAY",
    [GLASS_DOUBTFUL] = "NOT KNOWN WHOSE",
    [GLASS_STRANGER] = "NO STATION'S MARK",
    [GLASS_UNMARKED] = "NOT MARKED",
};

static const char *const verdict_names[] = {
    [GLASS_AT_HOME] = "at_home",   [GLASS_VISITS] = "visits",     [GLASS_ASTRAY] = "astray",
    [GLASS_DOUBTFUL] = "doubtful", [GLASS_STRANGER] = "stranger", [GLASS_UNMARKED] = "unmarked",
};

const char *glass_verdict_words(enum glass_verdict verdict)
{
  return verdict_words[verdict];
}

const char *glass_verdict_key(enum glass_verdict verdict)
{
  return verdict_names[verdict];
}

int glass_verdict_find(const char *key)
{
  for (int i = 0; i < GLASS_VERDICT_COUNT; i++)
    if (strcmp(verdict_names[i], key) == 0)
      return i;
  return -1;
}

bool glass_is_lost(enum glass_verdict verdict)
{
  return verdict != GLASS_AT_HOME && verdict != GLASS_VISITS;
}

const char *glass_mark_words(const struct facility_mark *mark, struct arena *arena)
{
  struct buf out;
  const char *words;

  if (mark->colour == MARK_NO_COLOUR && mark->shape == MARK_NO_SHAPE && !mark->letter)
    return "unmarked";
  buf_init(&out, 200);
  put_mark(mark, &out);
  words = arena_strdup(arena, out.text);
  buf_release(&out);
  return words;
}

void glass_seen_text(const struct glass_seen *seen, struct buf *out)
{
  const struct facility *f = seen->facility;

  put_head(f, "a piece that was seen", out);
  buf_printf(out, "%s: ", verdict_words[seen->verdict]);
  put_mark(&seen->mark, out);
  buf_printf(out, "%s%s, seen at %s\n\n", seen->piece ? ", " : "", seen->piece ? seen->piece : "",
             id(f, seen->at));
  for (int i = 0; i < seen->owner_count; i++) {
    const struct glass_owner *o = &seen->owners[i];
    const char *likewise = i ? "or of" : "perhaps of";

    buf_printf(out, "  %s %s (", o->exactly ? "mark of" : likewise, id(f, o->station));
    put_mark(&f->stations[o->station].card.mark, out);
    buf_printf(out, ")%s%s\n", *o->why ? ": " : "", o->why);
  }
  for (int i = 0; i < seen->act_count; i++)
    buf_printf(out, "%s%d. %s\n", i || !seen->owner_count ? "" : "\n", i + 1, seen->acts[i]);
  buf_printf(out, "\nA mark says where glass belongs, not what it held. Call: %s\n",
             f->call ? f->call : "not stated; ask who looks after the stations");
}

void glass_seen_json(const struct glass_seen *seen, struct buf *out)
{
  const struct facility *f = seen->facility;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_head(&json, "inward.glass_seen.1", f);
  emit_text(&json, "at", id(f, seen->at));
  emit_mark(&json, "mark", &seen->mark);
  emit_text(&json, "piece", seen->piece);
  emit_text(&json, "verdict", verdict_names[seen->verdict]);
  emit_array(&json, "owners");
  for (int i = 0; i < seen->owner_count; i++) {
    emit_object(&json, NULL);
    emit_text(&json, "station", id(f, seen->owners[i].station));
    emit_bool(&json, "exactly", seen->owners[i].exactly);
    emit_text(&json, "why", seen->owners[i].why);
    emit_close(&json);
  }
  emit_close(&json);
  emit_array(&json, "acts");
  for (int i = 0; i < seen->act_count; i++)
    emit_text(&json, NULL, seen->acts[i]);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

/* ---- an overlay ---- */

void glass_overlay(const struct glass_answer *a, struct buf *out)
{
  bool head = false;

  for (int i = 0; i < a->facility->station_count; i++) {
    const struct facility_mark *m = &a->stations[i].chosen;

    if (!a->stations[i].changes)
      continue;
    if (!head)
      buf_puts(
          out,
          "inward: 1 overlay\nname: glass marks chosen by inward glass\nchange:\n  stations:\n");
    head = true;
    buf_printf(out, "    %s: {glass mark: {colour: %s, shape: %s, letter: \"%s\"}}\n",
               id(a->facility, i), mark_colour_name(m->colour), mark_shape_name(m->shape),
               m->letter);
  }
}
