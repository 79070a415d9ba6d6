/*
 * A mark for each station that needs one: station by station the colour, shape and letter that are
 * furthest from all marks there are.  Greedy, so not the best of all choices; what it reaches is
 * printed beside it, and the same suite gives the same marks.
 */
#include "glass/glass_impl.h"

#include <math.h>
#include <string.h>

/* What a glance needs counts once; what is more than twice that helps nobody. */
static double worth(double apart, double least)
{
  return fmin(2, apart / fmax(least, 1e-3));
}

struct candidate {
  struct facility_mark mark;
  int told_by;         /* of the nearest mark there is */
  double apart;        /* of it, too: colour and shape in units of what a glance needs */
  double apart_of_all; /* together: where the nearest does not decide */
  bool letter_is_new;
};

static bool is_better(const struct candidate *a, const struct candidate *b)
{
  if (a->told_by != b->told_by)
    return a->told_by > b->told_by;
  if (fabs(a->apart - b->apart) > 1e-9)
    return a->apart > b->apart;
  return a->apart_of_all > b->apart_of_all + 1e-9;
}

static void judge(struct candidate *c, const struct glass_answer *answer,
                  const struct glass_scale *scale, const bool *fixed)
{
  const struct facility_glass_rules *rules = &answer->facility->glass;

  c->told_by = 3;
  c->apart = 4;
  for (int i = 0; i < answer->facility->station_count; i++) {
    struct glass_pair pair;
    double apart;

    if (!fixed[i])
      continue;
    pair = glass_compare(rules, scale, &c->mark, &answer->stations[i].chosen);
    apart =
        worth(pair.colour, rules->least_colour) + worth(pair.shape_ratio, rules->least_shape_ratio);
    if (pair.told_by < c->told_by)
      c->told_by = pair.told_by;
    c->apart = fmin(c->apart, apart);
    c->apart_of_all += apart;
  }
}

static const char alphabet[] = "ABCDEFGHJKLMNPQRSTUVWXYZ"; /* I and O are figures to most */

static const char *one_letter(char letter, struct arena *arena)
{
  char *text = ARENA_ARRAY(arena, char, 2);

  if (text) {
    text[0] = letter;
    text[1] = '\0';
  }
  return text;
}

/* The letters of the station's name come first, so that the mark is easy to remember. */
static int letters_for(const struct facility_station *station, char *out)
{
  int count = 0;

  memset(out, 0, sizeof alphabet);
  for (const char *c = station->part.name ? station->part.name : ""; *c; c++) {
    char upper = *c >= 'a' && *c <= 'z' ? (char)(*c - 'a' + 'A') : *c;

    if (strchr(alphabet, upper) && !strchr(out, upper))
      out[count++] = upper;
  }
  for (const char *c = alphabet; *c; c++)
    if (!strchr(out, *c))
      out[count++] = *c;
  return count;
}

/* The best colour and shape with one letter. */
static bool best_with(const struct glass_answer *answer, const struct glass_scale *scale,
                      const bool *fixed, const char *letter, struct candidate *best)
{
  bool found = false;

  for (int colour = 0; colour < MARK_COLOUR_COUNT; colour++)
    for (int shape = 0; shape < MARK_SHAPE_COUNT; shape++) {
      struct candidate c = {.mark = {colour, shape, letter}};

      if (glass_colour_means(answer->facility, c.mark.colour))
        continue;
      judge(&c, answer, scale, fixed);
      if (!found || is_better(&c, best))
        *best = c;
      found = true;
    }
  return found;
}

static bool is_taken(const struct glass_answer *answer, const bool *fixed, const char *letter)
{
  for (int i = 0; i < answer->facility->station_count; i++)
    if (fixed[i] && strcmp(answer->stations[i].chosen.letter, letter) == 0)
      return true;
  return false;
}

static bool tells_more(const struct candidate *a, const struct candidate *b)
{
  return a->told_by != b->told_by ? a->told_by > b->told_by : a->letter_is_new && !b->letter_is_new;
}

static bool choose_one(struct glass_answer *answer, const struct glass_scale *scale, int station,
                       const bool *fixed, struct arena *arena)
{
  const struct facility *f = answer->facility;
  struct candidate best = {.told_by = 0}, c = best;
  char letters[sizeof alphabet + 1];
  int count = letters_for(&f->stations[station], letters);
  bool found = false;

  for (int i = 0; i < count; i++) {
    const char *letter = one_letter(letters[i], arena);

    if (!letter)
      return false;
    if (glass_letter_of_station(f, letter) >= 0 || !best_with(answer, scale, fixed, letter, &c))
      continue;
    c.letter_is_new = !is_taken(answer, fixed, letter);
    if (!found || tells_more(&c, &best)) /* the first letter that tells as much as any */
      best = c;
    found = true;
  }
  if (!found)
    return false;
  answer->stations[station].chosen = best.mark;
  return true;
}

static bool same_mark(const struct facility_mark *a, const struct facility_mark *b)
{
  return a->colour == b->colour && a->shape == b->shape && a->letter && b->letter &&
         strcmp(a->letter, b->letter) == 0;
}

static int likenesses(const struct glass_answer *answer, const bool *fixed, int told_by,
                      int station)
{
  int count = 0;

  for (int i = 0; i < answer->pair_count; i++) {
    const struct glass_pair *p = &answer->pairs[i];

    count += p->told_by <= told_by && fixed[p->one] && fixed[p->other] &&
             (p->one == station || p->other == station);
  }
  return count;
}

/* Who is like most others is painted anew, until no two that stay are told by so few things; of two
 * alike the later one. */
static void free_the_alike(const struct glass_answer *answer, int told_by, bool *fixed)
{
  for (int most = 1; most > 0;) {
    int station = -1;

    most = 0;
    for (int i = 0; i < answer->facility->station_count; i++) {
      int count = fixed[i] ? likenesses(answer, fixed, told_by, i) : 0;

      if (count >= most && count > 0) {
        most = count;
        station = i;
      }
    }
    if (station >= 0)
      fixed[station] = false;
  }
}

bool glass_choose(struct glass_answer *answer, const struct glass_scale *scale, struct arena *arena)
{
  int count = answer->facility->station_count;
  bool *fixed = ARENA_ARRAY(arena, bool, (size_t)count + 1), all = true;

  if (!fixed)
    return false;
  for (int i = 0; i < count; i++)
    fixed[i] = answer->choice != GLASS_ANEW && answer->stations[i].fault_count == 0;
  free_the_alike(answer, answer->choice == GLASS_WEAK, fixed);
  for (int i = 0; i < count; i++) {
    struct glass_station *s = &answer->stations[i];

    if (fixed[i])
      continue;
    fixed[i] = choose_one(answer, scale, i, fixed, arena);
    all &= fixed[i];
    s->changes = fixed[i] && !same_mark(&s->mark, &s->chosen);
  }
  return all;
}
