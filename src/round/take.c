/* From what a person typed to an entry, with every fault at once. */
#include "round/round_impl.h"

#include "base/spelling.h"
#include "base/utf8.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { SHORT_MOST_BYTES = 80, LIST_MOST_BYTES = 2000 };

struct taking {
  const struct round_asked *asked;
  struct arena *arena;
  struct round_told told;
  struct round_answers answers; /* one for each item of the station, in the suite's order */
  const struct facility_round_item *items[FACILITY_ROUND_ITEMS_MOST]; /* of each */
  bool named[FACILITY_ROUND_ITEMS_MOST];
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

/* Without blanks around it; NULL where it is not given, or wrong and told. */
static const char *text_of(struct taking *t, const char *key, size_t most)
{
  const char *value = NULL;
  char said[UTF8_SAID_BYTES];
  int found = 0;

  for (int i = 0; i < t->asked->count; i++)
    if (strcmp(t->asked->pairs[i].key, key) == 0 && ++found)
      value = t->asked->pairs[i].value;
  if (found > 1)
    fault(t, "%s: said twice; say it once", key);
  if (!value)
    return NULL;
  value += strspn(value, " \t\r\n");

  char *own = arena_strdup(t->arena, value);
  size_t end = own ? strlen(own) : 0;

  for (; end > 0 && strchr(" \t\r\n", own[end - 1]); end--)
    own[end - 1] = '\0';
  if (!own || end > most)
    fault(t, "%s: too long; at most %zu bytes", key, most);
  else if (utf8_fault(own))
    fault(t, "%s: not UTF-8", key);
  else if (utf8_unseen(own, said))
    fault(t, "%s: %s", key, said);
  else if (strchr(own, '\n'))
    fault(t, "%s: one line", key);
  else
    return *own ? own : NULL;
  return NULL;
}

static void take_keys(struct taking *t)
{
  static const char keys[] = "about|who|at|words|all|yes|no|unseen|expires";

  for (int i = 0; i < t->asked->count; i++) {
    const char *key = t->asked->pairs[i].key;
    size_t length = strlen(key);
    bool known = false;

    for (const char *at = keys; *at && !known; at += strcspn(at, "|"), at += *at == '|')
      known = strcspn(at, "|") == length && strncmp(at, key, length) == 0;
    if (!known) {
      spelling_refuse(t->faults, key, keys);
      fault(t, "%s", "");
    }
  }
}

static void take_who(struct taking *t)
{
  int before = t->fault_count;

  t->told.who = text_of(t, "who", SHORT_MOST_BYTES);
  if (!t->told.who && t->fault_count == before)
    fault(t, "who: who looked?");
  else if (t->told.who && strcmp(t->told.who, "inward") == 0)
    fault(t, "who: 'inward' is how the program itself signs; who are you?");
}

static void take_at(struct taking *t)
{
  const char *at = text_of(t, "at", SHORT_MOST_BYTES);
  struct err err = {0};

  t->told.t_ms = t->asked->now_ms;
  if (!at)
    return;
  if (when_read(at, t->asked->zone ? t->asked->zone : when_utc(), NULL, &t->told.t_ms, &err) !=
      ERR_OK)
    fault(t, "at: %.160s", err.text);
  else if (t->told.t_ms > t->asked->now_ms)
    fault(t, "at: %.40s has not come yet", at);
  else if (t->told.t_ms < t->asked->now_ms - llround(t->asked->back_most_s * 1e3))
    fault(t, "at: %.40s is too long ago to be told now; write a note", at);
}

static void take_about(struct taking *t)
{
  const struct facility *f = t->asked->facility;
  const char *about = text_of(t, "about", SHORT_MOST_BYTES);

  t->told.about = about;
  t->told.station = about ? facility_station_find(f, about) : -1;
  if (!about)
    fault(t, "about: at which station?");
  else if (t->told.station < 0)
    fault(t, "about: the suite has no station '%.40s'", about);
  for (int i = 0; t->told.station >= 0 && i < f->rounds.item_count; i++)
    if (round_is_for(&f->rounds.items[i], t->told.station)) {
      t->items[t->answers.count] = &f->rounds.items[i];
      t->answers.list[t->answers.count++] =
          (struct round_answer){.item = f->rounds.items[i].id, .said = ROUND_UNSEEN};
    }
  if (t->told.station >= 0 && t->answers.count == 0)
    fault(t, "about: no item of the suite's `rounds` is for %.40s", about);
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
    buf_printf(t->faults, "%s: '%.*s' is nothing that is looked at there; there are: ", key,
               (int)(size < 40 ? size : 40), name);
    for (int i = 0; i < t->answers.count; i++)
      buf_printf(t->faults, "%s%s", i ? ", " : "", t->answers.list[i].item);
    fault(t, "%s", "");
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
  const char *key = round_said_name(said), *at = text_of(t, key, LIST_MOST_BYTES), *word;
  size_t size;

  while (at && next_word(&at, &word, &size)) {
    int i = item_of(t, key, word, size);

    if (i >= 0 && t->named[i])
      fault(t, "%s: '%s' is answered twice", key, t->answers.list[i].item);
    else if (i >= 0) {
      t->named[i] = true;
      t->answers.list[i].said = said;
    }
  }
}

/* What is not named one by one: a no is never said of many at once. */
static void take_all(struct taking *t)
{
  const char *all = text_of(t, "all", SHORT_MOST_BYTES);
  int said = all ? round_said_find(all, strlen(all)) : ROUND_UNSEEN;

  if (said < 0 || said == ROUND_NO) {
    fault(t, "all: yes or unseen, not '%.40s'; say each no by itself", all);
    return;
  }
  for (int i = 0; i < t->answers.count; i++)
    if (!t->named[i])
      t->answers.list[i].said = (enum round_said)said;
}

static void take_expires(struct taking *t)
{
  const char *at = text_of(t, "expires", LIST_MOST_BYTES), *word;
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
      fault(t, "expires: '%s' has no date", t->items[i]->id);
    else if (!round_is_date(day))
      fault(t, "expires: '%.*s' is no date; write it as \"%s 2027-03-01\"", (int)size, word,
            t->items[i]->id);
    else
      t->answers.list[i].expires = arena_strdup(t->arena, day);
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
      fault(
          t,
          "expires: until when does '%s' keep? As in \"%s 2027-03-01\"; else it was not looked at",
          a->item, a->item);
    else if (strcmp(a->expires, today) < 0)
      fault(t, "expires: %s has passed: say no to '%s'", a->expires, a->item);
  }
}

static void take_answers(struct taking *t)
{
  bool looked = false;

  for (int said = 0; said < ROUND_SAID_COUNT; said++)
    take_said(t, (enum round_said)said);
  take_all(t);
  take_expires(t);
  if (t->fault_count > 0)
    return;
  check_expires(t);
  for (int i = 0; i < t->answers.count; i++)
    looked = looked || t->answers.list[i].said != ROUND_UNSEEN;
  if (!looked)
    fault(t, "nothing was looked at: say yes or no to something");
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
  struct taking t = {.asked = asked, .arena = arena, .faults = faults};
  struct buf text;

  take_keys(&t);
  take_about(&t);
  take_who(&t);
  take_at(&t);
  t.answers.words = text_of(&t, "words", ROUND_WORDS_MOST_BYTES);
  take_answers(&t);
  if (t.fault_count > 0)
    return ERR_INPUT;
  buf_init(&text, 16 << 10);
  entry_text(&t, &text);
  t.told.text = kept(arena, &text);
  buf_init(&text, 16 << 10);
  round_write(&t.answers, &text);
  t.told.detail = kept(arena, &text);
  if (!t.told.text || !t.told.detail) {
    fault(&t, "that is too much for one entry");
    return ERR_INPUT;
  }
  *out = t.told;
  return ERR_OK;
}
