/* Every mark by itself, and every two of them. */
#include "glass/glass_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void glass_measure(struct glass_scale *scale)
{
  for (int i = 0; i < MARK_COLOUR_COUNT; i++)
    for (int j = 0; j < MARK_COLOUR_COUNT; j++)
      scale->colour[i][j] = mark_colours_apart(i, j, &scale->worst[i][j]);
  for (int i = 0; i < MARK_SHAPE_COUNT; i++)
    for (int j = 0; j <= i; j++)
      scale->shape_ratio[i][j] = scale->shape_ratio[j][i] = mark_shapes_apart_ratio(i, j);
}

/* Of the first character; of nothing: '\0'. */
static char upper_of(const char *text)
{
  char c = text ? text[0] : '\0';

  return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

static bool letters_told(const struct facility_mark *one, const struct facility_mark *other)
{
  if (!one->letter || !other->letter)
    return false;
  if (one->letter[1] || other->letter[1]) /* beyond ASCII: only the same one is known to be alike */
    return strcmp(one->letter, other->letter) != 0;
  return !mark_letters_alike(upper_of(one->letter), upper_of(other->letter));
}

struct glass_pair glass_compare(const struct facility_glass_rules *rules,
                                const struct glass_scale *scale, const struct facility_mark *one,
                                const struct facility_mark *other)
{
  struct glass_pair pair = {.colour = NAN, .shape_ratio = NAN};

  if (one->colour != MARK_NO_COLOUR && other->colour != MARK_NO_COLOUR) {
    pair.colour = scale->colour[one->colour][other->colour];
    pair.worst = scale->worst[one->colour][other->colour];
  }
  if (one->shape != MARK_NO_SHAPE && other->shape != MARK_NO_SHAPE)
    pair.shape_ratio = scale->shape_ratio[one->shape][other->shape];
  /* a limit of 0 makes no two of the same colour different */
  pair.told_by_colour = pair.colour > 0 && pair.colour >= rules->least_colour;
  pair.told_by_shape = pair.shape_ratio > 0 && pair.shape_ratio >= rules->least_shape_ratio;
  pair.told_by_letter = letters_told(one, other);
  pair.told_by = pair.told_by_colour + pair.told_by_shape + pair.told_by_letter;
  return pair;
}

/* ---- one mark by itself ---- */

static const char *missing(const struct facility_mark *mark, struct arena *arena)
{
  const char *said[3];
  int count = 0;

  if (mark->colour == MARK_NO_COLOUR)
    said[count++] = "colour";
  if (mark->shape == MARK_NO_SHAPE)
    said[count++] = "shape";
  if (!mark->letter)
    said[count++] = "letter";
  if (count == 3)
    return "it has no mark";
  if (count == 2)
    return arena_printf(arena, "its mark says no %s and no %s", said[0], said[1]);
  return count ? arena_printf(arena, "its mark says no %s", said[0]) : NULL;
}

int glass_letter_of_station(const struct facility *f, const char *letter)
{
  char wanted = upper_of(letter);

  for (int i = 0; i < f->station_count && wanted; i++)
    if (upper_of(f->stations[i].part.id) == wanted)
      return i;
  return -1;
}

const struct facility_kept_off *glass_colour_means(const struct facility *f,
                                                   enum mark_colour colour)
{
  for (int i = 0; i < f->glass.kept_off_count; i++)
    if (f->glass.kept_off[i].colour == colour)
      return &f->glass.kept_off[i];
  return NULL;
}

/* ---- all of them ---- */

static void find_faults(struct glass_answer *answer, struct glass_station *s, struct arena *arena)
{
  const struct facility *f = answer->facility;
  const struct facility_kept_off *off = glass_colour_means(f, s->mark.colour);
  const char *words = missing(&s->mark, arena);
  int of = glass_letter_of_station(f, s->mark.letter);

  s->faults = ARENA_ARRAY(arena, const char *, 3);
  if (!s->faults)
    return;
  if (words)
    s->faults[s->fault_count++] = words;
  if (of >= 0)
    s->faults[s->fault_count++] =
        arena_printf(arena, "its letter %s reads as the beginning of a station id such as %s",
                     s->mark.letter, f->stations[of].part.id);
  if (off)
    s->faults[s->fault_count++] =
        arena_printf(arena, "its colour %s means something else here: %s (%s)",
                     mark_colour_name(s->mark.colour), off->means, off->source);
  answer->fault_count += s->fault_count;
}

/* Fewest things to tell by first; of those the least apart, in colour and shape together. */
static int by_likeness(const void *a, const void *b)
{
  const struct glass_pair *p = a, *q = b;
  double apart_p = fmax(p->colour, 0) / 100 + fmax(p->shape_ratio, 0),
         apart_q = fmax(q->colour, 0) / 100 + fmax(q->shape_ratio, 0);

  if (p->told_by != q->told_by)
    return p->told_by - q->told_by;
  if (apart_p < apart_q || apart_p > apart_q)
    return apart_p < apart_q ? -1 : 1;
  return p->one != q->one ? p->one - q->one : p->other - q->other;
}

static struct glass_pair *all_pairs(const struct glass_answer *answer,
                                    const struct glass_scale *scale, bool chosen,
                                    struct arena *arena, int *count)
{
  int stations = answer->facility->station_count;
  struct glass_pair *list =
      ARENA_ARRAY(arena, struct glass_pair, (size_t)stations * (size_t)stations / 2 + 1);

  *count = 0;
  if (!list)
    return NULL;
  for (int i = 0; i < stations; i++)
    for (int j = i + 1; j < stations; j++) {
      const struct glass_station *a = &answer->stations[i], *b = &answer->stations[j];
      struct glass_pair pair =
          glass_compare(&answer->facility->glass, scale, chosen ? &a->chosen : &a->mark,
                        chosen ? &b->chosen : &b->mark);

      pair.one = i;
      pair.other = j;
      list[(*count)++] = pair;
    }
  qsort(list, (size_t)*count, sizeof *list, by_likeness);
  return list;
}

/* A mark that says nothing is a fault of its own, not of each pair it is in. */
static bool says_something(const struct facility_mark *mark)
{
  return mark->colour != MARK_NO_COLOUR || mark->shape != MARK_NO_SHAPE || mark->letter;
}

static void count_pairs(struct glass_answer *answer)
{
  for (int i = 0; i < answer->pair_count; i++) {
    const struct glass_pair *p = &answer->pairs[i];

    if (!says_something(&answer->stations[p->one].mark) ||
        !says_something(&answer->stations[p->other].mark))
      continue;
    answer->alike_count += p->told_by == 0;
    answer->weak_count += p->told_by == 1;
  }
}

struct glass_answer *glass_look(const struct facility *f, enum glass_choice choice,
                                struct arena *arena)
{
  struct glass_answer *answer = ARENA_ARRAY(arena, struct glass_answer, 1);
  struct glass_scale scale;

  if (!answer)
    return NULL;
  *answer = (struct glass_answer){.facility = f, .choice = choice, .found_all = true};
  answer->stations = ARENA_ARRAY(arena, struct glass_station, (size_t)f->station_count + 1);
  if (!answer->stations)
    return NULL;
  glass_measure(&scale);
  for (int i = 0; i < f->station_count; i++) {
    struct glass_station *s = &answer->stations[i];

    *s = (struct glass_station){.mark = f->stations[i].card.mark,
                                .chosen = f->stations[i].card.mark};
    find_faults(answer, s, arena);
  }
  answer->pairs = all_pairs(answer, &scale, false, arena, &answer->pair_count);
  if (!answer->pairs)
    return NULL;
  count_pairs(answer);
  if (choice == GLASS_LOOK)
    return answer;
  answer->found_all = glass_choose(answer, &scale, arena);
  answer->chosen = all_pairs(answer, &scale, true, arena, &answer->chosen_count);
  return answer->chosen ? answer : NULL;
}
