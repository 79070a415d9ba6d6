#include "papers/papers_impl.h"

#include <string.h>

bool papers_mark_given(const struct facility_mark *mark)
{
  return mark->colour != MARK_NO_COLOUR || mark->shape != MARK_NO_SHAPE || mark->letter;
}

/* ---- two marks ---- */

enum agreement { BOTH_SILENT, ONE_SILENT, AGREE, DIFFER };

static enum agreement agree(bool a_given, bool b_given, bool equal)
{
  if (!a_given && !b_given)
    return BOTH_SILENT;
  if (!a_given || !b_given)
    return ONE_SILENT;
  return equal ? AGREE : DIFFER;
}

enum papers_likeness papers_marks_compare(const struct facility_mark *a,
                                          const struct facility_mark *b)
{
  enum agreement colour = agree(a->colour != MARK_NO_COLOUR, b->colour != MARK_NO_COLOUR,
                                a->colour == b->colour),
                 shape = agree(a->shape != MARK_NO_SHAPE, b->shape != MARK_NO_SHAPE,
                               a->shape == b->shape),
                 letter = agree(a->letter, b->letter,
                                a->letter && b->letter && strcmp(a->letter, b->letter) == 0);

  if (!papers_mark_given(a) || !papers_mark_given(b) || shape == DIFFER || letter == DIFFER)
    return PAPERS_APART;
  if (colour == DIFFER)
    return PAPERS_COLOUR_ONLY;
  if (colour == ONE_SILENT || shape == ONE_SILENT || letter == ONE_SILENT)
    return PAPERS_UNCERTAIN;
  return PAPERS_SAME;
}

int papers_marks_find(const struct facility *facility, int station, enum papers_likeness likeness,
                      int first)
{
  const struct facility_mark *mine = &facility->stations[station].card.mark;

  for (int i = first; i < facility->station_count; i++)
    if (i != station && papers_marks_compare(mine, &facility->stations[i].card.mark) == likeness)
      return i;
  return -1;
}

/* ---- words ---- */

const char *papers_mark_words(const struct papers_request *request,
                              const struct facility_mark *mark)
{
  const char *words[] = {mark_colour_name(mark->colour), mark_shape_name(mark->shape),
                         mark->letter};
  struct buf out;

  buf_init(&out, 200);
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (words[i])
      buf_printf(&out, "%s%s", out.used ? " " : "", words[i]);

  const char *copy = papers_words(request, "%s", out.text);

  buf_release(&out);
  return copy;
}

const char *papers_mark_missing(const struct papers_request *request,
                                const struct facility_mark *mark)
{
  const char *missing[3];
  int count = 0;

  if (mark->colour == MARK_NO_COLOUR)
    missing[count++] = "colour";
  if (mark->shape == MARK_NO_SHAPE)
    missing[count++] = "shape";
  if (!mark->letter)
    missing[count++] = "letter";
  switch (count) {
  case 0:
    return NULL;
  case 1:
    return missing[0];
  case 2:
    return papers_words(request, "%s and %s", missing[0], missing[1]);
  default:
    return "colour, shape and letter";
  }
}

/* ---- drawn ---- */

struct draw_mark papers_mark_drawn(const struct facility_mark *mark, const char *from)
{
  return (struct draw_mark){
      .colour = mark->colour,
      .shape = mark->shape,
      .letter = mark->letter,
      .from = from,
  };
}
