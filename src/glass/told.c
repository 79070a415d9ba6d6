/* A piece that was seen, as a person tells it, as a part of an entry, and back. */
#include "glass/glass_impl.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

static int take_count(struct typed *typed)
{
  const char *text = typed_text(typed, "count", TYPED_SHORT_MOST_BYTES);
  char *end = NULL;
  long count = text ? strtol(text, &end, 10) : 1;

  if (text && (*end || count < 1 || count > GLASS_COUNT_MOST))
    typed_fault(typed, "count: how many pieces, 1 to %d, not '%.20s'", GLASS_COUNT_MOST, text);
  return (int)count;
}

/* Some of the owner's may stand there: then it is said which it is. */
static void check_visit(struct typed *typed, const struct glass_seen *seen)
{
  if (seen->verdict == GLASS_VISITS && !seen->piece)
    typed_fault(typed, "piece: what is it? %s", seen->acts[0]);
}

bool glass_take(struct typed *typed, const struct facility *f, int at, struct glass_told *out)
{
  int before = typed->fault_count;
  const char *words = typed_needed(typed, "mark", TYPED_SHORT_MOST_BYTES,
                                   "what stands on it? As in \"violet square F\", or unmarked"),
             *piece = typed_text(typed, "piece", GLASS_PIECE_MOST_BYTES);
  int count = take_count(typed);
  struct glass_seen *seen = NULL;
  struct facility_mark mark;
  struct err err = {0};

  if (words && glass_read_mark(words, typed->arena, &mark, &err) != ERR_OK)
    typed_fault(typed, "mark: %.400s", err.text);
  else if (words && at >= 0)
    seen = glass_seen_at(f, &mark, piece, at, typed->arena);
  if (seen)
    check_visit(typed, seen);
  if (!seen || typed->fault_count > before)
    return false;
  *out = (struct glass_told){.mark = glass_mark_words(&mark, typed->arena),
                             .piece = piece,
                             .count = count,
                             .verdict = seen->verdict};
  return out->mark != NULL;
}

void glass_told_text(const struct glass_told *told, struct buf *out)
{
  buf_printf(out, "%s%s%s", told->mark, told->piece ? ", " : "", told->piece ? told->piece : "");
  if (told->count > 1)
    buf_printf(out, " (%d)", told->count);
  buf_printf(out, ": %s",
             told->verdict == GLASS_VISITS && told->piece ? "IT MAY STAND HERE"
                                                          : glass_verdict_words(told->verdict));
}

void glass_told_emit(struct emit *json, const struct glass_told *told)
{
  emit_text(json, "mark", told->mark);
  if (told->piece)
    emit_text(json, "piece", told->piece);
  emit_int(json, "count", told->count);
  emit_text(json, "verdict", glass_verdict_key(told->verdict));
}

bool glass_told_read(const struct json_t *from, struct arena *arena, struct glass_told *out)
{
  const json_t *piece = json_object_get(from, "piece"), *count = json_object_get(from, "count");
  const char *mark = json_string_value(json_object_get(from, "mark")),
             *what = json_string_value(piece),
             *key = json_string_value(json_object_get(from, "verdict"));
  int verdict = key ? glass_verdict_find(key) : -1;
  json_int_t number = json_integer_value(count);
  struct facility_mark read;
  struct err err = {0};

  if (!mark || verdict < 0 || !json_is_integer(count) || number < 1 || number > GLASS_COUNT_MOST ||
      (piece && (!what || !*what)) || json_object_size(from) != (piece ? 4u : 3u) ||
      glass_read_mark(mark, arena, &read, &err) != ERR_OK)
    return false;
  *out = (struct glass_told){.mark = arena_strdup(arena, mark),
                             .piece = what ? arena_strdup(arena, what) : NULL,
                             .count = (int)number,
                             .verdict = (enum glass_verdict)verdict};
  return out->mark && (!what || out->piece);
}
