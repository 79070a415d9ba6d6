/* A piece that was seen somewhere: whose it is, and what is done with it. */
#include "glass/glass_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* ---- a mark as people say it ---- */

static bool take_word(struct facility_mark *mark, const char *word)
{
  for (int i = 0; i < MARK_COLOUR_COUNT; i++)
    if (strcasecmp(word, mark_colour_name(i)) == 0 && mark->colour == MARK_NO_COLOUR) {
      mark->colour = i;
      return true;
    }
  for (int i = 0; i < MARK_SHAPE_COUNT; i++)
    if (strcasecmp(word, mark_shape_name(i)) == 0 && mark->shape == MARK_NO_SHAPE) {
      mark->shape = i;
      return true;
    }
  if (utf8_count(word, strlen(word)) == 1 && !mark->letter) {
    mark->letter = word;
    return true;
  }
  return false;
}

static enum err_code refuse(const char *word, struct err *err)
{
  struct buf list;

  buf_init(&list, 1000);
  for (int i = 0; i < MARK_COLOUR_COUNT; i++)
    buf_printf(&list, "%s%s", i ? ", " : "", mark_colour_name(i));
  for (int i = 0; i < MARK_SHAPE_COUNT; i++)
    buf_printf(&list, "%s%s", i ? ", " : "; ", mark_shape_name(i));
  err_set(err, ERR_INPUT, "'%.20s' is no part of a mark, or a second (%s; one letter; or unmarked)",
          word, list.text);
  buf_release(&list);
  return err->code;
}

enum err_code glass_read_mark(const char *words, struct arena *arena,
                              struct facility_mark *mark_out, struct err *err)
{
  struct facility_mark mark = {MARK_NO_COLOUR, MARK_NO_SHAPE, NULL};

  if (strcasecmp(words, "unmarked") == 0) {
    *mark_out = mark;
    return ERR_OK;
  }
  for (const char *at = words + strspn(words, " "); *at; at += strspn(at, " ")) {
    size_t length = strcspn(at, " ");
    const char *word = arena_printf(arena, "%.*s", (int)(length < 60 ? length : 60), at);

    if (!word)
      return err_set(err, ERR_LIMIT, "the mark is too long");
    if (!take_word(&mark, word))
      return refuse(word, err);
    at += length;
  }
  if (mark.colour == MARK_NO_COLOUR && mark.shape == MARK_NO_SHAPE && !mark.letter)
    return refuse("", err);
  *mark_out = mark;
  return ERR_OK;
}

/* ---- whose it is ---- */

static bool same_letter(const char *a, const char *b)
{
  return strcasecmp(a, b) == 0;
}

static bool is_silent(const struct facility_mark *mark)
{
  return mark->colour == MARK_NO_COLOUR && mark->shape == MARK_NO_SHAPE && !mark->letter;
}

/* As far as both say anything they say the same. */
static bool is_exactly(const struct facility_mark *said, const struct facility_mark *of)
{
  return (said->colour == MARK_NO_COLOUR || said->colour == of->colour) &&
         (said->shape == MARK_NO_SHAPE || said->shape == of->shape) &&
         (!said->letter || (of->letter && same_letter(said->letter, of->letter)));
}

/* Not the same, but nothing that was said tells it from that mark at a glance. */
static const char *is_taken_for(const struct glass_pair *pair, const struct facility_mark *said,
                                const struct facility_mark *of, struct arena *arena)
{
  if (pair->told_by > 0)
    return NULL;
  if (said->colour != MARK_NO_COLOUR && of->colour != MARK_NO_COLOUR && said->colour != of->colour)
    return arena_printf(arena, "%s is hardly told from %s %s", mark_colour_name(said->colour),
                        mark_colour_name(of->colour), mark_sight_words(pair->worst));
  if (said->letter && of->letter && !same_letter(said->letter, of->letter))
    return arena_printf(arena, "%s is easily read as %s", said->letter, of->letter);
  return "nothing that was said tells it from this mark";
}

static void find_owners(struct glass_seen *seen, struct arena *arena)
{
  const struct facility *f = seen->facility;
  struct glass_scale scale;

  glass_measure(&scale);
  for (int pass = 0; pass < 2; pass++)
    for (int i = 0; i < f->station_count; i++) {
      const struct facility_mark *mark = &f->stations[i].card.mark;
      bool silent = is_silent(mark), exactly = !silent && is_exactly(&seen->mark, mark);
      struct glass_pair pair = glass_compare(&f->glass, &scale, &seen->mark, mark);
      const char *why = exactly  ? ""
                        : silent ? NULL
                                 : is_taken_for(&pair, &seen->mark, mark, arena);

      if (why && exactly == (pass == 0))
        seen->owners[seen->owner_count++] = (struct glass_owner){i, exactly, why};
    }
}

static int exact_count(const struct glass_seen *seen)
{
  int count = 0;

  for (int i = 0; i < seen->owner_count; i++)
    count += seen->owners[i].exactly;
  return count;
}

static const struct facility_glass *visitor(const struct glass_seen *seen, int owner)
{
  const struct facility_card *card = &seen->facility->stations[owner].card;

  for (int i = 0; i < card->glass_count; i++)
    for (int k = 0; k < card->glass[i].visit_count; k++)
      if (card->glass[i].visits[k] == seen->at &&
          (!seen->piece || strcasecmp(seen->piece, card->glass[i].what) == 0))
        return &card->glass[i];
  return NULL;
}

/* ---- what to do ---- */

static void act(struct glass_seen *seen, const char *words)
{
  seen->acts[seen->act_count++] = words;
}

static void act_on_one(struct glass_seen *seen, struct arena *arena)
{
  const struct facility *f = seen->facility;
  int owner = seen->owners[0].station;
  const struct facility_station *home = &f->stations[owner], *here = &f->stations[seen->at];
  const struct facility_glass *piece = visitor(seen, owner);

  if (owner == seen->at) {
    seen->verdict = GLASS_AT_HOME;
    act(seen, arena_printf(arena, "It is at its own station, %s.", home->part.id));
  } else if (piece) {
    seen->verdict = GLASS_VISITS;
    act(seen, seen->piece ? arena_printf(arena, "It may stand at %s for a while.", here->part.id)
                          : arena_printf(arena,
                                         "Of %s's glass only '%s' may stand at %s for a while. "
                                         "Another piece is astray.",
                                         home->part.id, piece->what, here->part.id));
    act(seen, arena_printf(arena, "Before it goes back: %s.",
                           piece->on_return ? piece->on_return
                                            : "not stated; ask who looks after the stations"));
  } else {
    seen->verdict = GLASS_ASTRAY;
    act(seen,
        arena_printf(
            arena,
            "Do not use it, pour from it or empty it: it is %s's (%s), and nobody knows what it held here.",
            home->part.id, home->part.name ? home->part.name : "no name"));
    act(seen,
        "Is it empty and dry? Ask the person there. If nobody knows: treat it as an unlabelled container, do not move it, call.");
    act(seen,
        arena_printf(
            arena,
            "It has lost its status: it goes neither to %s nor back to a drawer of %s before who looks after the stations decides.",
            here->part.id, home->part.id));
  }
}

struct glass_seen *glass_seen_at(const struct facility *f, const struct facility_mark *mark,
                                 const char *piece, int at, struct arena *arena)
{
  struct glass_seen *seen = ARENA_ARRAY(arena, struct glass_seen, 1);

  if (!seen)
    return NULL;
  *seen = (struct glass_seen){.facility = f, .mark = *mark, .piece = piece, .at = at};
  seen->owners = ARENA_ARRAY(arena, struct glass_owner, (size_t)f->station_count + 1);
  seen->acts = ARENA_ARRAY(arena, const char *, 8);
  if (!seen->owners || !seen->acts)
    return NULL;
  if (is_silent(mark)) {
    seen->verdict = GLASS_UNMARKED;
    act(seen,
        "It bears no mark: nobody knows whose it is or what it held. Do not use, move or empty it; call who looks after the stations.");
    return seen;
  }
  find_owners(seen, arena);
  if (seen->owner_count == 0) {
    seen->verdict = GLASS_STRANGER;
    act(seen,
        "No station has a mark like it. Do not use, move or empty it; call who looks after the stations.");
  } else if (seen->owner_count == 1 && exact_count(seen) == 1) {
    act_on_one(seen, arena);
  } else {
    seen->verdict = GLASS_DOUBTFUL;
    act(seen,
        exact_count(seen)
            ? "More than one mark may be meant. Look again for colour, shape and letter, in good light."
            : "No station has just this mark. Look again for colour, shape and letter, in good light.");
    act(seen, "Until then: do not use, move or empty it.");
  }
  return seen;
}
