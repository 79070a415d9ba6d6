/* From what a person typed to an entry, with every fault at once. */
#include "sighting/sighting_impl.h"

#include <stdlib.h>
#include <string.h>

struct taking {
  const struct sighting_asked *asked;
  struct sighting_told told;
  struct sighting_said said;
  struct typed typed;
};

static const char *const keys_of[SIGHTING_ACT_COUNT] = {
    [SIGHTING_SEEN] = "act|who|at|words|about|mark|piece|count",
    [SIGHTING_CLEANED] = "act|who|at|words|entry|how|count",
    [SIGHTING_DISCARDED] = "act|who|at|words|entry|count",
    [SIGHTING_COUNTED] = "act|who|at|words|about|piece|count|drawer",
    [SIGHTING_TAKEN_BACK] = "act|who|at|words|entry",
};

static bool take_act(struct taking *t)
{
  const char *name = typed_text(&t->typed, "act", TYPED_SHORT_MOST_BYTES);
  int act = name ? sighting_act_find(name) : -1;

  if (act < 0) {
    typed_fault(&t->typed, "act: seen, cleaned, discarded, counted or taken-back%s%.40s%s",
                name ? ", not '" : "", name ? name : "", name ? "'" : "");
    return false;
  }
  t->told.act = t->said.act = (enum sighting_act)act;
  typed_keys(&t->typed, keys_of[act]);
  return true;
}

/* -1, and told: it names no station. */
static int take_about(struct taking *t)
{
  const char *about = typed_needed(&t->typed, "about", TYPED_SHORT_MOST_BYTES, "at which station?");
  int station = about ? facility_station_find(t->asked->facility, about) : -1;

  t->told.about = about;
  if (about && station < 0)
    typed_fault(&t->typed, "about: the suite has no station '%.40s'", about);
  return station;
}

/* A whole number from `least` on; -1, and told: it is none. */
static int64_t take_number(struct taking *t, const char *key, int64_t least, int64_t most,
                           const char *ask)
{
  int before = t->typed.fault_count;
  const char *text = typed_text(&t->typed, key, TYPED_SHORT_MOST_BYTES);
  char *end = NULL;
  int64_t number = text ? strtoll(text, &end, 10) : -1;

  if (text && !*end && number >= least && number <= most)
    return number;
  if (text)
    typed_fault(&t->typed, "%s: a whole number from %lld on, not '%.20s'", key, (long long)least,
                text);
  else if (ask && t->typed.fault_count == before)
    typed_fault(&t->typed, "%s: %s", key, ask);
  return -1;
}

/* ---- a drawer ---- */

static void put_pieces(const struct facility_card *card, struct buf *out)
{
  for (int i = 0; i < card->glass_count; i++)
    buf_printf(out, "%s%s%s%s", i ? ", " : "", card->glass[i].what,
               card->glass[i].drawer ? " in drawer " : "",
               card->glass[i].drawer ? card->glass[i].drawer : "");
  if (card->glass_count == 0)
    buf_puts(out, "none (`glass` of the station)");
}

static void take_counted(struct taking *t)
{
  const struct facility *f = t->asked->facility;
  int station = take_about(t);
  int64_t count = take_number(t, "count", 0, GLASS_COUNT_MOST, "how many are there?");

  t->said.piece =
      typed_needed(&t->typed, "piece", GLASS_PIECE_MOST_BYTES, "of what? As the suite calls it");
  t->said.drawer = typed_text(&t->typed, "drawer", TYPED_SHORT_MOST_BYTES);
  t->said.count = (int)count;
  if (station < 0 || !t->said.piece)
    return;

  const struct facility_glass *piece = sighting_piece_of(f, station, t->said.piece, t->said.drawer);

  if (!piece) {
    buf_printf(t->typed.faults, "piece: not one row of %.40s's glass; there are: ", t->told.about);
    put_pieces(&f->stations[station].card, t->typed.faults);
    typed_fault(&t->typed, "%s", "");
    return;
  }
  t->said.piece = piece->what;
  t->said.drawer = piece->drawer;
}

/* ---- what was done with a piece, or told wrongly ---- */

/* The entry that is meant; NULL, and told. */
static const struct sighting_entry *take_entry(struct taking *t, const char *ask)
{
  int64_t number = take_number(t, "entry", 1, INT64_MAX, ask);
  const struct sighting_entry *e =
      number < 0 || !t->asked->now ? NULL : sighting_entry_find(t->asked->now, number);

  t->said.entry = number;
  if (number > 0 && !e)
    typed_fault(&t->typed, "entry: %lld tells nothing of glass; 'inward glass' shows the numbers",
                (long long)number);
  else if (e && e->is_void)
    typed_fault(&t->typed, "entry: %lld was taken back already", (long long)number);
  if (!e || e->is_void)
    return NULL;
  t->told.about = e->entry->about;
  return e;
}

static void take_settled(struct taking *t)
{
  const struct sighting_entry *e =
      take_entry(t, "which sighting? Its number, as 'inward glass' shows it");
  const struct sighting_case *c =
      e && t->asked->now ? sighting_case_of(t->asked->now, e->entry->number) : NULL;
  int before = t->typed.fault_count;
  int64_t count = take_number(t, "count", 1, GLASS_COUNT_MOST, NULL);

  if (t->told.act == SIGHTING_CLEANED)
    t->said.how = typed_needed(&t->typed, "how", SIGHTING_WORDS_MOST_BYTES,
                               "by which procedure? As in \"GL-3, rinsed five times\"");
  if (t->typed.fault_count > before || !e)
    return;
  t->said.count = count > 0 ? (int)count : 0;
  if (!c)
    typed_fault(&t->typed, "entry: %lld tells of no piece that something is to be done with",
                (long long)t->said.entry);
  else if (c->left == 0)
    typed_fault(&t->typed, "entry: of that piece entry %lld says already what was done",
                (long long)c->settled.number);
  else if (t->told.t_ms < c->last.t_ms)
    typed_fault(&t->typed, "at: that is before it was seen last (entry %lld)",
                (long long)c->last.number);
  else if (t->said.count > c->left)
    typed_fault(&t->typed, "count: there %s only %d", c->left == 1 ? "is" : "are", c->left);
}

static void take_back(struct taking *t)
{
  const struct sighting_entry *e = take_entry(t, "which entry was told wrongly? Its number");

  if (e && e->said.act == SIGHTING_TAKEN_BACK)
    typed_fault(&t->typed, "entry: %lld takes another back; tell that one again",
                (long long)e->entry->number);
}

/* ---- the entry ---- */

static void entry_text(const struct taking *t, struct buf *out)
{
  const struct sighting_said *said = &t->said;

  switch (said->act) {
  case SIGHTING_SEEN:
    buf_puts(out, "glass seen: ");
    glass_told_text(&said->seen, out);
    break;
  case SIGHTING_COUNTED:
    buf_printf(out, "glass counted: %d of %s%s%s", said->count, said->piece,
               said->drawer ? ", drawer " : "", said->drawer ? said->drawer : "");
    break;
  case SIGHTING_CLEANED:
  case SIGHTING_DISCARDED:
    buf_printf(out, "glass of entry %lld %s", (long long)said->entry, sighting_act_name(said->act));
    if (said->count > 0)
      buf_printf(out, ", %d of it", said->count);
    if (said->how)
      buf_printf(out, ": %s", said->how);
    break;
  case SIGHTING_TAKEN_BACK:
  case SIGHTING_ACT_COUNT:
    buf_printf(out, "what entry %lld tells of glass was told wrongly", (long long)said->entry);
    break;
  }
  if (said->words)
    buf_printf(out, ". %s", said->words);
}

static const char *kept(struct arena *arena, struct buf *text)
{
  const char *own = text->full ? NULL : arena_strdup(arena, text->text);

  buf_release(text);
  return own;
}

static void take_what(struct taking *t)
{
  switch (t->told.act) {
  case SIGHTING_SEEN:
    glass_take(&t->typed, t->asked->facility, take_about(t), &t->said.seen);
    break;
  case SIGHTING_COUNTED:
    take_counted(t);
    break;
  case SIGHTING_CLEANED:
  case SIGHTING_DISCARDED:
    take_settled(t);
    break;
  case SIGHTING_TAKEN_BACK:
  case SIGHTING_ACT_COUNT:
    take_back(t);
    break;
  }
}

enum err_code sighting_take(const struct sighting_asked *asked, struct arena *arena,
                            struct sighting_told *out, struct buf *faults)
{
  struct taking t = {.asked = asked, .typed = {asked->pairs, asked->count, arena, faults, 0}};
  struct buf text;

  if (!take_act(&t))
    return ERR_INPUT;
  t.told.who = typed_who(&t.typed, "who says so?");
  t.told.t_ms = typed_at(&t.typed, asked->zone, asked->now_ms, asked->back_most_s);
  t.said.words = typed_text(&t.typed, "words", SIGHTING_WORDS_MOST_BYTES);
  take_what(&t);
  if (t.typed.fault_count > 0)
    return ERR_INPUT;
  buf_init(&text, 16 << 10);
  entry_text(&t, &text);
  t.told.text = kept(arena, &text);
  buf_init(&text, 16 << 10);
  sighting_write(&t.said, &text);
  t.told.detail = kept(arena, &text);
  if (!t.told.text || !t.told.detail) {
    typed_fault(&t.typed, "that is too much for one entry");
    return ERR_INPUT;
  }
  *out = t.told;
  return ERR_OK;
}
