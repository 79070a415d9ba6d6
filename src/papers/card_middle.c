#include "papers/card_impl.h"

#include <math.h>

/* ---- glass ---- */

static double put_fault(struct card *card, const char *words, struct draw_place place)
{
  struct draw_text text = {
      .text = words, .from = card_from(card, "glass mark"), .size_pt = card_size(card, 13)};
  double above_mm = card_size(card, 1.2);

  place.y_mm += above_mm;
  return above_mm + card_put_framed(card, CARD_WHOLE, text, place);
}

static double put_mark_faults(struct card *card, struct draw_place place)
{
  const struct facility *f = card->request->facility;
  int same = papers_marks_find(f, card->index, PAPERS_SAME, 0),
      uncertain = papers_marks_find(f, card->index, PAPERS_UNCERTAIN, 0);
  double y_mm = place.y_mm;

  if (same >= 0)
    place.y_mm += put_fault(
        card,
        papers_words(card->request, "FAULT: %s has this mark too. Ask %s which glass is whose.",
                     f->stations[same].part.id, card->whom),
        place);
  if (uncertain >= 0)
    place.y_mm +=
        put_fault(card,
                  papers_words(card->request, "FAULT: cannot be told from the mark of %s. Ask %s.",
                               f->stations[uncertain].part.id, card->whom),
                  place);
  return place.y_mm - y_mm;
}

static double put_mark_words(struct card *card, struct draw_place place)
{
  const struct facility_mark *mark = &card->station->card.mark;
  const char *missing = papers_mark_missing(card->request, mark);
  double y_mm = place.y_mm;
  struct draw_text words = {.text = papers_mark_words(card->request, mark),
                            .from = card_from(card, "glass mark"),
                            .size_pt = card_size(card, 20),
                            .bold = true};
  struct draw_text rule = {
      .text = "Only vessels with this mark.", .from = "a rule", .size_pt = card_size(card, 12)};

  place.y_mm += card_put(card, &words, place);
  place.y_mm += card_put(card, &rule, place);
  place.y_mm += put_mark_faults(card, place);
  if (missing) {
    struct draw_text text = {
        .text = papers_words(card->request, "Its %s: not stated. Ask %s.", missing, card->whom),
        .from = card_from(card, "glass mark"),
        .size_pt = card_size(card, 12)};

    place.y_mm += card_size(card, 1.2);
    place.y_mm += card_put_framed(card, CARD_BROKEN, text, place);
  }
  return place.y_mm - y_mm;
}

static double glass(struct card *card, struct draw_place place)
{
  const struct facility_mark *mark = &card->station->card.mark;
  struct draw_mark drawn = papers_mark_drawn(mark, card_from(card, "glass mark"));
  double y_mm = place.y_mm, side_mm = card_size(card, 27), gap_mm = card_size(card, 2.5);

  place.y_mm += card_put_heading(card, "GLASS MARK", place) + card_size(card, 2);
  if (!papers_mark_given(mark)) {
    place.y_mm += card_put_missing(
        card, &(struct card_gap){"glass mark", "Which glass belongs here", "", 14}, place);
    return place.y_mm - y_mm;
  }

  double wide_mm = draw_mark_width_mm(card->draw, &drawn, side_mm);

  if (wide_mm > place.width_mm)
    side_mm *= place.width_mm / wide_mm;
  if (card->paint)
    draw_mark(card->draw, &drawn,
              (struct draw_place){place.x_mm, place.y_mm, place.width_mm + 0.1, side_mm});
  place.y_mm += side_mm + gap_mm;
  place.y_mm += put_mark_words(card, place);
  return place.y_mm - y_mm;
}

static double put_closed(struct card *card, struct draw_place place)
{
  const struct facility_station *s = card->station;
  struct draw_text text = {.text = "Closed when you leave.",
                           .from = "a rule",
                           .size_pt = card_size(card, 15),
                           .bold = true};
  struct draw_text rest = {.from = "the sash", .size_pt = card_size(card, 10.5)};
  double y_mm = place.y_mm;

  place.y_mm += card_put(card, &text, place);
  if (s->has_openings && s->parked_m > 0) {
    rest.text = papers_words(card->request, "Closed leaves a gap of %s.",
                             papers_height(card->request, s->parked_m));
    place.y_mm += card_put(card, &rest, place);
  }
  return place.y_mm - y_mm;
}

static double sash(struct card *card, struct draw_place place)
{
  const struct facility_station *s = card->station;
  bool cabinet = s->kind == FACILITY_CABINET;
  double y_mm = place.y_mm;
  struct draw_text mark = {.text = papers_words(card->request, "At or below the mark: %s.",
                                                papers_height(card->request, s->work_m)),
                           .from = "a rule",
                           .size_pt = card_size(card, 15),
                           .bold = true};
  struct draw_text scale = {
      .from = "a scale", .size_pt = card_small_size(card, 8.5), .ink = DRAW_GREY};

  place.y_mm +=
      card_put_heading(card, cabinet ? "SASH OR DOOR" : "SASH", place) + card_size(card, 2);
  if (!s->has_openings) {
    place.y_mm += card_put_missing(
        card, &(struct card_gap){"opening", "The height of its mark", "", 14}, place);
    place.y_mm += card_size(card, 2);
    place.y_mm += put_closed(card, place);
    return place.y_mm - y_mm;
  }
  struct papers_sash front = {card->request, s, card_size(card, card->request->units ? 11 : 13),
                              card_size(card, 52)};

  place.height_mm = papers_sash_height_mm(&front);
  if (card->paint)
    papers_draw_sash(card->draw, &front, place);
  place.y_mm += place.height_mm + card_size(card, 1.2);
  place.height_mm = 0;
  scale.text = papers_sash_scale(&front);
  place.y_mm += card_put(card, &scale, place) + card_size(card, 1.5);
  place.y_mm += card_put(card, &mark, place);
  place.y_mm += put_closed(card, place);
  return place.y_mm - y_mm;
}

double card_glass_and_sash(struct card *card, int item, double y_mm)
{
  double gap_mm = card_size(card, 10), glass_mm = (card->width_mm - gap_mm) * 0.46,
         sash_mm = card->width_mm - gap_mm - glass_mm, line_mm = card->x_mm + glass_mm + gap_mm / 2;
  double left_mm = glass(card, (struct draw_place){card->x_mm, y_mm, glass_mm, 0}),
         right_mm =
             sash(card, (struct draw_place){card->x_mm + glass_mm + gap_mm, y_mm, sash_mm, 0}),
         height_mm = fmax(left_mm, right_mm);

  (void)item;
  if (card->paint)
    draw_line(card->draw, (struct draw_point){line_mm, y_mm},
              (struct draw_point){line_mm, y_mm + height_mm},
              &(struct draw_look){.line_mm = 0.25, .line = DRAW_GREY});
  return height_mm;
}
