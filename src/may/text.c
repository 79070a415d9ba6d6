#include "may/may_impl.h"

#include <string.h>

/* The answer for people: what it comes to, then every reason, the worst first. */

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

/* A process that is not in the file: what is asked is the place, not a person and a moment. */
static bool is_new(const struct may_answer *a)
{
  return a->request->asked != NULL;
}

static const char *verdict_word(const struct may_answer *a)
{
  if (is_new(a))
    return a->verdict == MAY_NO            ? "Not here."
           : a->verdict == MAY_UNCONFIRMED ? "Not decided."
                                           : "Nothing written stands against it.";
  return a->verdict == MAY_NO            ? "No."
         : a->verdict == MAY_UNCONFIRMED ? "Not confirmed."
                                         : "Rules met.";
}

static void print_head(const struct may_answer *a, struct arena *arena, struct buf *out)
{
  const struct may_place *place = &a->may->place;
  struct when_civil at = when_civil(place->zone, a->from_ms, NULL);
  const char *process =
      arena_printf(arena, "%s (%s) at %s (%s)", a->process->part.id, a->process->part.name,
                   a->station->part.id, a->station->part.name);
  const char *when = arena_printf(
      arena, ", %s%s%s", may_shown_time(&at, arena), a->until_ms > a->from_ms ? ", for " : "",
      a->until_ms > a->from_ms ? may_shown_span((double)(a->until_ms - a->from_ms) / 1000, arena)
                               : "");

  wrapped(out, 0, verdict_word(a),
          is_new(a) ? arena_printf(arena, "A new process: %s", process)
                    : arena_printf(arena, "%s%s%s%s%s%s", a->who ? a->who : "", a->name ? ", " : "",
                                   a->name ? a->name : "", a->who ? ": " : "", process, when));
  if (place->facility->label)
    wrapped(out, 0, place->facility->label, "");
  wrapped(out, 0, "",
          arena_printf(arena, "%s Not a permit: permission is given by %s.",
                       a->verdict == MAY_MET
                           ? "Every rule that is written here is met, as far as was confirmed."
                       : a->verdict == MAY_UNCONFIRMED
                           ? "Nothing forbids it; what is listed first is to be confirmed before."
                           : "What is listed first stands against it.",
                       a->permission_by));
  if (a->process->document)
    wrapped(out, 0, "Document:",
            arena_printf(arena, "%s, version %s, next review %s", a->process->document,
                         a->process->version, a->process->review));
}

/* A sentence of a table has its own full stop. */
static const char *stop(const char *say)
{
  size_t length = strlen(say);

  return length > 0 && say[length - 1] == '.' ? "" : ".";
}

static void print_reasons(const struct may_answer *a, enum may_verdict verdict, const char *title,
                          struct arena *arena, struct buf *out)
{
  bool titled = false;

  for (int i = 0; i < a->reason_count; i++) {
    const struct may_reason *r = &a->reasons[i];

    if (r->verdict != verdict)
      continue;
    if (!titled)
      buf_printf(out, "\n%s\n", title);
    titled = true;
    wrapped(out, 2, "-",
            arena_printf(arena, "%s%s%s: %s%s [%s]", r->kind, r->id ? " " : "", r->id ? r->id : "",
                         r->say, stop(r->say), r->source));
    if (r->way)
      wrapped(out, 4, verdict == MAY_NO ? "mended by:" : "how:", r->way);
  }
}

static const char *after_words(enum may_verdict after)
{
  static const char *const words[] = {"rules met", "to be confirmed", "still no"};

  return words[after];
}

static void print_lists(const struct may_answer *a, struct arena *arena, struct buf *out)
{
  if (a->verdict == MAY_NO && !is_new(a)) {
    buf_puts(out, "\nWhat would turn no into yes, the fewest changes\n");
    if (a->list_count == 0)
      wrapped(out, 2, "-", "no set of up to four of the changes that are tried here");
  }
  for (int i = 0; i < a->list_count; i++) {
    const char *text = "";

    for (int k = 0; k < a->lists[i].count; k++)
      text = arena_printf(arena, "%s%s%s", text, k > 0 ? " AND " : "", a->lists[i].changes[k]);
    wrapped(out, 2, "-", arena_printf(arena, "%s -> %s", text, after_words(a->lists[i].after)));
  }
  if (a->other_count > 0)
    buf_puts(out, is_new(a) ? "\nOther stations\n" : "\nOther station, hour, company\n");
  for (int i = 0; i < a->other_count; i++)
    wrapped(
        out, 2, "-",
        arena_printf(arena, "%s -> %s", a->others[i].changes[0], after_words(a->others[i].after)));
}

void may_text(const struct may_answer *a, struct buf *out)
{
  struct arena arena;

  arena_init(&arena, TEXT_ARENA_BYTES);
  print_head(a, &arena, out);
  print_reasons(a, MAY_NO, "Against it", &arena, out);
  print_reasons(a, MAY_UNCONFIRMED, "To be confirmed", &arena, out);
  print_lists(a, &arena, out);
  print_reasons(a, MAY_MET, "Met", &arena, out);
  arena_release(&arena);
}
