/* From what a person typed to an entry, with every fault at once. */
#include "round/round_impl.h"

#include <math.h>
#include <string.h>

enum { LIST_MOST_BYTES = 2000 };

struct taking {
  const struct round_asked *asked;
  struct round_told told;
  struct round_answers answers; /* one for each item of the station, in the suite's order */
  const struct facility_round_item *items[FACILITY_ROUND_ITEMS_MOST]; /* of each */
  bool named[FACILITY_ROUND_ITEMS_MOST];
  struct typed typed;
};

static void take_about(struct taking *t)
{
  const struct facility *f = t->asked->facility;
  const char *about = typed_text(&t->typed, "about", TYPED_SHORT_MOST_BYTES);

  t->told.about = about;
  t->told.station = about ? facility_station_find(f, about) : -1;
  if (!about)
    typed_fault(&t->typed, "about: at which station?");
  else if (t->told.station < 0)
    typed_fault(&t->typed, "about: the suite has no station '%.40s'", about);
  for (int i = 0; t->told.station >= 0 && i < f->rounds.item_count; i++)
    if (round_is_for(&f->rounds.items[i], t->told.station)) {
      t->items[t->answers.count] = &f->rounds.items[i];
      t->answers.list[t->answers.count++] =
          (struct round_answer){.item = f->rounds.items[i].id, .said = ROUND_UNSEEN};
    }
  if (t->told.station >= 0 && t->answers.count == 0)
    typed_fault(&t->typed, "about: no item of the suite's `rounds` is for %.40s", about);
}

/* ---- the answers ---- */

/* -1, and told: no such item at that station. */
static int item_of(struct taking *t, const char *key, const char *name, size_t size)
{
  for (int i = 0; i < t->answers.count; i++)
    if (strlen(t->answers.list[i].item) == size &&
        strncmp(t->answers.list[i].item, name, size) == 0)
      return i;
  if (t->answers.count > 0) {
    buf_printf(t->typed.faults, "%s: '%.*s' is nothing that is looked at there; there are: ", key,
               (int)(size < 40 ? size : 40), name);
    for (int i = 0; i < t->answers.count; i++)
      buf_printf(t->typed.faults, "%s%s", i ? ", " : "", t->answers.list[i].item);
    typed_fault(&t->typed, "%s", "");
  }
  return -1;
}

/* The next of a list with commas between; false: there is no more. */
static bool next_word(const char **at, const char **word, size_t *size)
{
  *at += strspn(*at, ", \t");
  *word = *at;
  *size = strcspn(*at, ",");
  *at += *size;
  while (*size > 0 && strchr(" \t", (*word)[*size - 1]))
    (*size)--;
  return *size > 0;
}

static void take_said(struct taking *t, enum round_said said)
{
  const char *key = round_said_name(said), *at = typed_text(&t->typed, key, LIST_MOST_BYTES), *word;
  size_t size;

  while (at && next_word(&at, &word, &size)) {
    int i = item_of(t, key, word, size);

    if (i >= 0 && t->named[i])
      typed_fault(&t->typed, "%s: '%s' is answered twice", key, t->answers.list[i].item);
    else if (i >= 0) {
      t->named[i] = true;
      t->answers.list[i].said = said;
    }
  }
}

/* What is not named one by one: a no is never said of many at once. */
static void take_all(struct taking *t)
{
  const char *all = typed_text(&t->typed, "all", TYPED_SHORT_MOST_BYTES);
  int said = all ? round_said_find(all, strlen(all)) : ROUND_UNSEEN;

  if (said < 0 || said == ROUND_NO) {
    typed_fault(&t->typed, "all: yes or unseen, not '%.40s'; say each no by itself", all);
    return;
  }
  for (int i = 0; i < t->answers.count; i++)
    if (!t->named[i])
      t->answers.list[i].said = (enum round_said)said;
}

static void take_expires(struct taking *t)
{
  const char *at = typed_text(&t->typed, "expires", LIST_MOST_BYTES), *word;
  size_t size;

  while (at && next_word(&at, &word, &size)) {
    size_t name = strcspn(word, " ,");
    int i = item_of(t, "expires", word, name < size ? name : size);
    const char *date = word + name + strspn(word + name, " ");
    char day[16] = "";

    if (i < 0)
      continue;
    if (name < size && (size_t)(word + size - date) < sizeof day)
      memcpy(day, date, (size_t)(word + size - date));
    if (!t->items[i]->expires)
      typed_fault(&t->typed, "expires: '%s' has no date", t->items[i]->id);
    else if (!round_is_date(day))
      typed_fault(&t->typed, "expires: '%.*s' is no date; write it as \"%s 2027-03-01\"", (int)size,
                  word, t->items[i]->id);
    else
      t->answers.list[i].expires = arena_strdup(t->typed.arena, day);
  }
}

static void check_expires(struct taking *t)
{
  char today[16];

  round_day(t->asked->zone, t->told.t_ms, today);
  for (int i = 0; i < t->answers.count; i++) {
    const struct round_answer *a = &t->answers.list[i];

    if (!t->items[i]->expires || a->said != ROUND_YES)
      continue;
    if (!a->expires)
      typed_fault(
          &t->typed,
          "expires: until when does '%s' keep? As in \"%s 2027-03-01\"; else it was not looked at",
          a->item, a->item);
    else if (strcmp(a->expires, today) < 0)
      typed_fault(&t->typed, "expires: %s has passed: say no to '%s'", a->expires, a->item);
  }
}

static void take_answers(struct taking *t)
{
  bool looked = false;

  for (int said = 0; said < ROUND_SAID_COUNT; said++)
    take_said(t, (enum round_said)said);
  take_all(t);
  take_expires(t);
  if (t->typed.fault_count > 0)
    return;
  check_expires(t);
  for (int i = 0; i < t->answers.count; i++)
    looked = looked || t->answers.list[i].said != ROUND_UNSEEN;
  if (!looked)
    typed_fault(&t->typed, "nothing was looked at: say yes or no to something");
}

/* ---- glass that was seen ---- */

static bool is_typed(const struct taking *t, const char *key)
{
  for (int i = 0; i < t->asked->count; i++)
    if (strcmp(t->asked->pairs[i].key, key) == 0)
      return true;
  return false;
}

/* A piece is told with the no that it is the reason of. */
static void take_seen(struct taking *t)
{
  const char *asked = NULL;
  bool no = false;

  if (t->told.station < 0 ||
      (!is_typed(t, "mark") && !is_typed(t, "piece") && !is_typed(t, "count")))
    return;
  for (int i = 0; i < t->answers.count; i++)
    if (t->items[i]->marks) {
      asked = t->items[i]->id;
      no = no || t->answers.list[i].said == ROUND_NO;
    }
  if (!asked)
    typed_fault(&t->typed,
                "mark: nothing that is looked at there is about glass marks (`marks: yes` "
                "of a round item); tell it by itself: inward glass");
  else if (!no)
    typed_fault(&t->typed, "mark: say no to '%s' when a piece stands there that should not", asked);
  t->answers.has_seen =
      glass_take(&t->typed, t->asked->facility, t->told.station, &t->answers.seen);
  if (t->answers.has_seen && t->answers.seen.verdict == GLASS_AT_HOME)
    typed_fault(&t->typed, "mark: that is %s's own mark", t->told.about);
}

/* ---- the entry ---- */

static void put_all_of(const struct taking *t, enum round_said said, const char *head,
                       struct buf *out)
{
  int count = 0;

  for (int i = 0; i < t->answers.count; i++) {
    const struct round_answer *a = &t->answers.list[i];

    if (a->said == said)
      buf_printf(out, "%s%s%s%s", count++ ? ", " : head, a->item, a->expires ? " until " : "",
                 a->expires ? a->expires : "");
  }
  buf_puts(out, count ? "; " : "");
}

static void entry_text(const struct taking *t, struct buf *out)
{
  buf_puts(out, "round: ");
  put_all_of(t, ROUND_NO, "NO to ", out);
  put_all_of(t, ROUND_YES, "yes to ", out);
  put_all_of(t, ROUND_UNSEEN, "not looked at: ", out);
  out->used -= 2; /* the last "; " */
  out->text[out->used] = '\0';
  if (t->answers.words)
    buf_printf(out, ". %s", t->answers.words);
  if (t->answers.has_seen) {
    buf_puts(out, ". Seen: ");
    glass_told_text(&t->answers.seen, out);
  }
}

static const char *kept(struct arena *arena, struct buf *text)
{
  const char *own = text->full ? NULL : arena_strdup(arena, text->text);

  buf_release(text);
  return own;
}

enum err_code round_take(const struct round_asked *asked, struct arena *arena,
                         struct round_told *out, struct buf *faults)
{
  struct taking t = {.asked = asked, .typed = {asked->pairs, asked->count, arena, faults, 0}};
  struct buf text;

  typed_keys(&t.typed, "about|who|at|words|all|yes|no|unseen|expires|mark|piece|count");
  take_about(&t);
  t.told.who = typed_who(&t.typed, "who looked?");
  t.told.t_ms = typed_at(&t.typed, asked->zone, asked->now_ms, asked->back_most_s);
  t.answers.words = typed_text(&t.typed, "words", ROUND_WORDS_MOST_BYTES);
  take_answers(&t);
  take_seen(&t);
  if (t.typed.fault_count > 0)
    return ERR_INPUT;
  buf_init(&text, 16 << 10);
  entry_text(&t, &text);
  t.told.text = kept(arena, &text);
  buf_init(&text, 16 << 10);
  round_write(&t.answers, &text);
  t.told.detail = kept(arena, &text);
  if (!t.told.text || !t.told.detail) {
    typed_fault(&t.typed, "that is too much for one entry");
    return ERR_INPUT;
  }
  *out = t.told;
  return ERR_OK;
}
