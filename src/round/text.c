/* What was looked at, for people and as JSON. */
#include "round/round_impl.h"

static void put_moment(const struct round_list *list, int64_t t_ms, struct buf *out)
{
  when_print(out, list->zone ? list->zone : when_utc(), t_ms);
}

static void put_ago(const struct round_list *list, int64_t t_ms, struct buf *out)
{
  when_print_span(out, (double)(list->now_ms - t_ms) * 1e-3);
  buf_puts(out, " ago");
}

/* ---- all at once ---- */

static void put_ids(const struct round_list *list, enum round_state state, const char *head,
                    struct buf *out)
{
  int count = 0;

  for (int i = 0; i < list->count; i++)
    if (list->stations[i].state == state)
      buf_printf(out, "%s%s", count++ ? ", " : head, list->facility->stations[i].part.id);
  buf_puts(out, count ? "\n" : "");
}

static void put_tally(const struct round_list *list, struct buf *out)
{
  put_ids(list, ROUND_OPEN, "  OPEN FINDINGS: ", out);
  put_ids(list, ROUND_OVERDUE, "  OVERDUE: ", out);
  put_ids(list, ROUND_NOT_KNOWN, "  NOT KNOWN: ", out);
  put_ids(list, ROUND_LOOKED, "  Looked at, nothing found then: ", out);
  if (list->unread)
    buf_printf(out, "  %d entr%s of rounds cannot be read; look at the stations.\n", list->unread,
               list->unread == 1 ? "y" : "ies");
}

/* ---- one station ---- */

static void put_late(const struct round_list *list, const struct round_found *found,
                     struct buf *out)
{
  buf_puts(out, "looked at ");
  put_ago(list, found->t_ms, out);
  buf_puts(out, found->late ? ", longer than " : ", at most ");
  when_print_span(out, found->item->at_most_s);
  buf_printf(out, " (%s)", found->item->source);
}

static void put_answer(const struct round_list *list, const struct round_found *found,
                       struct buf *out)
{
  if (found->said == ROUND_NO) {
    buf_puts(out, "NO. Open finding since ");
    put_moment(list, found->since_ms, out);
  } else if (found->state == ROUND_OPEN)
    buf_printf(out, "EXPIRED. Open finding since the end of %s", found->expires);
  else if (found->expires)
    buf_printf(out, "yes, until %s", found->expires);
  else
    buf_puts(out, "yes");
  buf_puts(out, "; ");
  put_late(list, found, out);
  buf_puts(out, ".");
  if (found->said == ROUND_NO && found->words)
    buf_printf(out, " Said: %s", found->words);
}

static void put_found(const struct round_list *list, const struct round_found *found,
                      struct buf *out)
{
  static const char signs[] = {
      [ROUND_OPEN] = '!', [ROUND_OVERDUE] = '-', [ROUND_NOT_KNOWN] = '?', [ROUND_LOOKED] = ' '};

  buf_printf(out, "    %c %s %s ", signs[found->state], found->item->id, found->item->question);
  put_answer(list, found, out);
  buf_putc(out, '\n');
}

static void put_all_found(const struct round_list *list, const struct round_station *s,
                          struct buf *out)
{
  int never = 0;

  for (int i = 0; i < s->count; i++)
    if (s->found[i].said != ROUND_UNSEEN)
      put_found(list, &s->found[i], out);
  for (int i = 0; i < s->count; i++)
    if (s->found[i].said == ROUND_UNSEEN)
      buf_printf(out, "%s%s",
                 never++ ? ", " : "    ? not known, never looked at: ", s->found[i].item->id);
  buf_puts(out, never ? "\n" : "");
}

static void put_rounds_of(const struct round_list *list, const struct round_station *s,
                          struct buf *out)
{
  if (s->last.t_ms == INT64_MIN) {
    buf_puts(out, "      No round is told.\n");
  } else {
    buf_puts(out, "      Last round ");
    put_moment(list, s->last.t_ms, out);
    buf_printf(out, " by %s, ", s->last.who);
    put_ago(list, s->last.t_ms, out);
    buf_printf(out, ", entry %lld%s.\n", (long long)s->last.number,
               s->in_words ? ", in words: it answers none of these" : "");
  }
  if (s->clear.t_ms == INT64_MIN) {
    buf_puts(out, "      At no moment known clear.\n");
    return;
  }
  buf_puts(out, "      Known clear at ");
  put_moment(list, s->clear.t_ms, out);
  buf_printf(out, " by %s, and at no other moment (entry %lld).\n", s->clear.who,
             (long long)s->clear.number);
}

static void put_station(const struct round_list *list, const struct round_station *s,
                        struct buf *out)
{
  static const char *const words[] = {[ROUND_OPEN] = "OPEN FINDING",
                                      [ROUND_OVERDUE] = "OVERDUE",
                                      [ROUND_NOT_KNOWN] = "NOT KNOWN",
                                      [ROUND_LOOKED] = "looked at, nothing found then"};
  const struct facility_part *part = &list->facility->stations[s->station].part;

  buf_printf(out, "\n  %s %s: %s\n", part->id, part->name ? part->name : "", words[s->state]);
  put_rounds_of(list, s, out);
  if (s->count == 0)
    buf_puts(out, "      Nothing of the suite's `rounds` is asked here.\n");
  put_all_found(list, s, out);
}

void round_text(const struct round_list *list, struct buf *out)
{
  const struct facility *f = list->facility;

  buf_printf(out, "%s%s%s%s   rounds, ", f->name ? f->name : "(no name)", f->label ? "   [" : "",
             f->label ? f->label : "", f->label ? "]" : "");
  put_moment(list, list->now_ms, out);
  buf_puts(out, "\n\n");
  put_tally(list, out);
  for (int i = 0; i < list->count; i++)
    put_station(list, &list->stations[i], out);
  buf_puts(
      out,
      "\nAs told by people who looked, of that moment and of no other; no measurement. Look "
      "before you start.\nWhat you looked at: --who NAME --told STATION --all yes, and of an item "
      "that is not so --ITEM no ('inward round --help').\n! open finding   - overdue   ? not known\n");
}

/* ---- JSON ---- */

static void emit_moment(struct emit *json, const char *key, const struct round_moment *moment)
{
  if (moment->t_ms == INT64_MIN) {
    emit_null(json, key);
    return;
  }
  emit_object(json, key);
  when_emit(json, "at", moment->t_ms);
  emit_text(json, "who", moment->who);
  emit_int(json, "entry", moment->number);
  emit_close(json);
}

static void emit_found(struct emit *json, const struct round_list *list,
                       const struct round_found *found)
{
  bool told = found->said != ROUND_UNSEEN;

  emit_object(json, NULL);
  emit_text(json, "item", found->item->id);
  emit_text(json, "state", round_state_key(found->state));
  emit_text(json, "said", told ? round_said_name(found->said) : NULL);
  when_emit(json, "at", found->t_ms);
  emit_number_if(json, "age_s", told, (double)(told ? list->now_ms - found->t_ms : 0) * 1e-3);
  emit_text(json, "who", found->who);
  if (told)
    emit_int(json, "entry", found->number);
  else
    emit_null(json, "entry");
  emit_text(json, "words", found->words);
  when_emit(json, "since", found->since_ms);
  emit_text(json, "expires", found->expires);
  emit_bool(json, "late", found->late);
  emit_close(json);
}

static void emit_station(struct emit *json, const struct round_list *list,
                         const struct round_station *s)
{
  const struct facility_part *part = &list->facility->stations[s->station].part;

  emit_object(json, NULL);
  emit_text(json, "station", part->id);
  emit_text(json, "name", part->name);
  emit_text(json, "state", round_state_key(s->state));
  emit_moment(json, "last", &s->last);
  emit_bool(json, "in_words", s->in_words);
  emit_moment(json, "known_clear", &s->clear);
  emit_array(json, "found");
  for (int i = 0; i < s->count; i++)
    emit_found(json, list, &s->found[i]);
  emit_close(json);
  emit_close(json);
}

static void emit_item(struct emit *json, const struct facility_round_item *item)
{
  emit_object(json, NULL);
  emit_text(json, "id", item->id);
  emit_text(json, "question", item->question);
  emit_number(json, "at_most_s", item->at_most_s);
  emit_bool(json, "expires", item->expires);
  emit_bool(json, "marks", item->marks);
  emit_text(json, "source", item->source);
  emit_close(json);
}

void round_json(const struct round_list *list, struct buf *out)
{
  const struct facility *f = list->facility;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.rounds.1");
  emit_text(&json, "suite", f->name);
  emit_text(&json, "label", f->label);
  emit_text(&json, "suite_sha256", f->sha256);
  when_emit(&json, "now", list->now_ms);
  emit_int(&json, "unread", list->unread);
  emit_array(&json, "items");
  for (int i = 0; i < f->rounds.item_count; i++)
    emit_item(&json, &f->rounds.items[i]);
  emit_close(&json);
  emit_array(&json, "stations");
  for (int i = 0; i < list->count; i++)
    emit_station(&json, list, &list->stations[i]);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
