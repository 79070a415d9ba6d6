/* The answer for people: the verdict and its reason first, where it is from, what it does not know. */
#include "facility/chemicals.h"
#include "facility/facility.h"
#include "meet/meet_impl.h"

#include <math.h>
#include <string.h>

enum { LINE_MOST = 98, TEXT_ARENA_BYTES = 4 << 20 };

/* A sentence over as many lines as it needs, each after `indent` blanks. */
static void wrapped(struct buf *out, int indent, const char *first, const char *text)
{
  int column = indent + (int)strlen(first);

  buf_printf(out, "%*s%s", indent, "", first);
  while (*text) {
    size_t length = strcspn(text, " ");
    int shown = 0;

    for (size_t i = 0; i < length; i++)
      shown += ((unsigned char)text[i] & 0xC0) != 0x80;
    if (column + 1 + shown > LINE_MOST) {
      buf_printf(out, "\n%*s", indent + 2, "");
      column = indent + 2;
    } else if (column > indent) {
      buf_putc(out, ' ');
      column++;
    }
    buf_add(out, text, length);
    column += shown;
    text += length;
    text += strspn(text, " ");
  }
  buf_putc(out, '\n');
}

static const char *capital(enum meet_verdict verdict)
{
  static const char *const words[] = {"Nothing listed, which is no clearance",
                                      "Only by written procedure", "Unknown", "Never"};

  return words[verdict];
}

static const char *origin_of(const struct chem_origin *of, struct arena *arena)
{
  if (of->basis == CHEM_SUITE)
    return of->source;
  return arena_printf(arena, "%s (%s%s%s)%s%s", of->source, chem_basis_words(of->basis),
                      *of->date ? ", " : "", of->date, *of->note ? "; " : "", of->note);
}

/* The cell with the most letters stands for all in the first line; the others follow. */
static const struct meet_cell *gravest_cell(const struct meet_finding *f)
{
  const struct meet_cell *best = &f->cells[0];

  for (int i = 1; i < f->cell_count; i++)
    if (strcmp(best->codes, "X") != 0 &&
        (strcmp(f->cells[i].codes, "X") == 0 || strlen(f->cells[i].codes) > strlen(best->codes)))
      best = &f->cells[i];
  return best;
}

/* The reason beside the verdict. */
static const char *reason_of(const struct meet_finding *f, struct arena *arena)
{
  if (f->sentence_count > 0 && f->sentences[0].verdict == f->verdict)
    return f->sentences[0].say;
  if (f->vessel)
    return arena_printf(arena, "%s.", f->vessel->why);
  if (f->cell_count > 0)
    return arena_printf(arena, "The chart codes their groups: %s.",
                        meet_codes_words(gravest_cell(f)->codes, arena));
  return f->chart_note ? arena_printf(arena, "%s.", f->chart_note) : "";
}

static void cells_text(const struct meet_finding *f, struct arena *arena, struct buf *out)
{
  const char *text = "";

  for (int i = 0; i < f->cell_count; i++) {
    const struct meet_cell *c = &f->cells[i];
    bool low = strcmp(c->confidence, "low") == 0;
    bool differs = strcmp(c->codes, c->printed) != 0;

    text = arena_printf(arena, "%s%s%d × %d %s (%s%s%s%s)", text, i ? "; " : "", c->group_a,
                        c->group_b, c->codes, meet_codes_words(c->codes, arena),
                        low ? "; low confidence" : "", differs ? "; printed " : "",
                        differs ? (*c->printed ? c->printed : "blank") : "");
  }
  if (f->cell_count == 0 && f->chart_note && f->sentence_count > 0)
    text = arena_printf(arena, "%s.", f->chart_note);
  if (!*text)
    return;
  wrapped(out, 4, f->chart_waived ? "Chart (the rule stands in its place):" : "Chart:", text);
}

static void vessel_text(const struct meet_vessel *v, enum units_system system, struct arena *arena,
                        struct buf *out)
{
  struct buf most;

  buf_init(&most, 200);
  if (!isnan(v->most_K))
    units_print(&most, v->most_K, UNITS_TEMPERATURE, system);
  wrapped(out, 4, "Vessel:",
          arena_printf(arena, "%s: %s%s. From: %s.", v->name, meet_rating_word(v->rating),
                       most.used ? arena_printf(arena, "; to %s at most", most.text) : "",
                       origin_of(&v->of, arena)));
  buf_release(&most);
}

static void finding_text(const struct meet_answer *answer, const struct meet_finding *f,
                         enum units_system system, struct arena *arena, struct buf *out)
{
  const char *about = meet_finding_of(answer, f, arena);
  const char *reason = reason_of(f, arena);

  if (f->verdict == MEET_NOTHING_LISTED && f->vessel)
    wrapped(
        out, 2, "Listed for",
        arena_printf(arena, "%s: not a clearance; the maker's chart decides. %s", about, reason));
  else if (f->verdict == MEET_NOTHING_LISTED)
    wrapped(out, 2, "Nothing listed for",
            arena_printf(arena, "%s: not a clearance. %s", about, reason));
  else
    wrapped(out, 2, arena_printf(arena, "%s:", capital(f->verdict)),
            arena_printf(arena, "%s. %s", about, reason));
  for (int i = 0; i < f->sentence_count; i++) {
    const struct meet_sentence *s = &f->sentences[i];

    if (i > 0 || s->verdict != f->verdict)
      wrapped(out, 4, arena_printf(arena, "Also (%s):", meet_verdict_words(s->verdict)), s->say);
    if (*s->instead && s->verdict == f->verdict) /* what to do of a milder one is no way out */
      wrapped(out, 4, "Do:", s->instead);
    if (*s->codes)
      wrapped(out, 4, "Our letters:",
              arena_printf(arena, "%s (%s).", s->codes, meet_codes_words(s->codes, arena)));
    wrapped(out, 4,
            "From:", arena_printf(arena, "rule %s: %s.", s->rule, origin_of(&s->of, arena)));
  }
  cells_text(f, arena, out);
  if (f->vessel)
    vessel_text(f->vessel, system, arena, out);
}

static void notes_text(const struct meet_answer *answer, struct arena *arena, struct buf *out)
{
  const char *place = meet_place_word(answer->place);

  if (answer->note_count > 0)
    buf_printf(out, "\nCautions%s%s\n", place ? ", place " : "", place ? place : "");
  for (int i = 0; i < answer->note_count; i++) {
    const struct meet_sentence *s = &answer->notes[i];

    wrapped(out, 2, "-", arena_printf(arena, "%s From: %s.", s->say, origin_of(&s->of, arena)));
  }
}

static void changes_text(const struct meet_answer *answer, struct arena *arena, struct buf *out)
{
  for (int i = 0; i < answer->change_count; i++) {
    const struct meet_change *c = &answer->changes[i];

    buf_printf(out, "\nFrom %s to %s on one deck, before anything of the second is opened\n",
               c->from, c->to);
    for (int k = 0; k < c->step_count; k++)
      wrapped(out, 2, arena_printf(arena, "%d.", k + 1), c->steps[k]);
    wrapped(out, 2, "From:", arena_printf(arena, "%s.", origin_of(&c->of, arena)));
  }
}

static const char *code_words(const char *code)
{
  return !code                    ? "unknown: not in the table"
         : strcmp(code, "X") == 0 ? "X: not together on one vehicle"
         : strcmp(code, "O") == 0 ? "O: only so separated that a leak cannot mix them"
         : strcmp(code, "*") == 0 ? "*: by the table for explosives"
                                  : "blank: this table says nothing, which is no clearance";
}

static const char *classes(const char *first, const char *second, struct arena *arena)
{
  return arena_printf(arena, "class %s%s%s", first ? first : "unknown", second ? " with " : "",
                      second ? second : "");
}

/* A shipment's answer is its table: it stands first. */
static void transport_text(const struct meet_answer *answer, struct arena *arena, struct buf *out)
{
  if (answer->place != MEET_SHIPMENT)
    return;
  wrapped(
      out, 2, arena_printf(arena, "%s:", capital(answer->verdict)),
      "packed waste on one vehicle, by 49 CFR 177.848(d) (read in a copy) and by what follows.");
  for (int i = 0; i < answer->transport_count; i++) {
    const struct meet_transport *t = &answer->transport[i];

    wrapped(out, 2, "-",
            arena_printf(arena, "%s (%s) with %s (%s): %s.", answer->things[t->a].name,
                         classes(t->class_a, t->subsidiary_a, arena), answer->things[t->b].name,
                         classes(t->class_b, t->subsidiary_b, arena), code_words(t->code)));
  }
  buf_puts(
      out,
      "  A second class counts where it is stricter. Blanks for acid with base and for solvent "
      "with acid\n  are no rule for a bench, a bottle or a cabinet.\n");
  if (answer->finding_count > 0)
    buf_puts(out, "\nShould they meet\n");
}

static const char *groups_of(const struct meet_thing *thing, struct arena *arena)
{
  const char *groups = "";

  for (int k = 0; k < thing->face_count; k++)
    for (int g = 0; g < thing->faces[k].group_count; g++)
      groups =
          arena_printf(arena, "%s%s%d%s", groups, *groups ? ", " : "; groups ",
                       thing->faces[k].groups[g], thing->faces[k].implied ? " (its water)" : "");
  return *groups ? groups : "; no group";
}

static const char *parts_of(const struct meet_thing *thing, struct arena *arena)
{
  const char *parts = "";

  for (int k = 1; k < thing->face_count; k++)
    if (!thing->faces[k].implied)
      parts = arena_printf(arena, "%s%s%s", parts, *parts ? ", " : " of ", thing->faces[k].name);
  return parts;
}

static void suite_text(const struct facility *facility, const struct chemicals *own,
                       struct buf *out)
{
  if (!facility)
    return;
  buf_printf(out, "  Suite: %s", facility->name ? facility->name : "without a name");
  if (facility->label)
    buf_printf(out, " [%s]", facility->label);
  buf_printf(out, ", file %.12s", facility->sha256);
  if (own)
    buf_printf(out, ", chemicals file %.12s", own->sha256);
  buf_putc(out, '\n');
}

static void asked_text(const struct meet_answer *answer, struct arena *arena, struct buf *out)
{
  buf_puts(out, "\nWhat was counted\n");
  for (int i = 0; i < answer->asked_count; i++) {
    const struct meet_thing *thing = &answer->things[i];
    bool material = thing->kind == MEET_MATERIAL;

    wrapped(out, 2, "-",
            arena_printf(arena, "%s: %s%s%s%s%s", thing->asked, thing->name, parts_of(thing, arena),
                         material ? ", a material" : groups_of(thing, arena),
                         thing->own ? "; the suite's own" : "",
                         thing->held ? "; held before" : ""));
  }
  suite_text(answer->facility, answer->own, out);
  buf_puts(out,
           "  Which groups a substance is of: value from memory.\n"
           "  Chart: Hatayama et al., EPA-600/2-80-076 (1980), read in public copies; where "
           "a copy and\n    memory differ, the letters of both. A blank is not a clearance.\n");
}

void meet_text(const struct meet_answer *answer, enum units_system system, struct buf *out)
{
  struct arena arena;

  arena_init(&arena, TEXT_ARENA_BYTES);
  transport_text(answer, &arena, out);
  if (answer->finding_count == 0 && answer->transport_count == 0)
    buf_printf(out, "  %s: no rule is about %s by itself.\n", capital(answer->verdict),
               answer->things[0].name);
  for (int i = 0; i < answer->finding_count; i++) {
    if (i > 0)
      buf_putc(out, '\n');
    finding_text(answer, &answer->findings[i], system, &arena, out);
  }
  changes_text(answer, &arena, out);
  notes_text(answer, &arena, out);
  asked_text(answer, &arena, out);
  buf_puts(out, "\nNot known\n");
  for (int i = 0; i < answer->unknown_count; i++)
    wrapped(out, 2, "-", answer->unknown[i]);
  buf_puts(out, "\nWhom to ask: the safety officer, and who wrote the procedure.\n"
                "A sanity check from tables, not an instruction: your procedure, the supplier's "
                "safety data sheet\nand the safety officer decide.\n");
  arena_release(&arena);
}
