#include "papers/card_impl.h"

#include <math.h>

double card_put(struct card *card, const struct draw_text *text, struct draw_place place)
{
  if (card->paint)
    return draw_text(card->draw, text, place);
  return draw_text_height_mm(card->draw, text, place.width_mm);
}

double card_size(const struct card *card, double at_scale_1)
{
  return at_scale_1 * card->scale_ratio;
}

const char *card_from(const struct card *card, const char *key)
{
  return papers_from(card->request, card->index, key);
}

/* Nothing on a card is smaller, whatever the paper. */
double card_small_size(const struct card *card, double pt)
{
  static const double least_pt = 7;

  return fmax(card_size(card, pt), least_pt);
}

/* Words in a box: broken where something is missing, whole where something is wrong. */
double card_put_framed(struct card *card, enum card_frame frame, struct draw_text text,
                       struct draw_place place)
{
  double pad_mm = card_size(card, 1.8);
  struct draw_place inside = {place.x_mm + pad_mm, place.y_mm + pad_mm, place.width_mm - 2 * pad_mm,
                              0};

  text.bold = true;
  place.height_mm = card_put(card, &text, inside) + 2 * pad_mm;
  if (card->paint)
    draw_box(card->draw, place,
             &(struct draw_look){.line_mm = card_size(card, frame == CARD_WHOLE ? 0.9 : 0.5),
                                 .dashed = frame == CARD_BROKEN});
  return place.height_mm;
}

/* "What to wear is not stated: ask ...", seen from where the value would be. */
double card_put_missing(struct card *card, const struct card_gap *gap, struct draw_place place)
{
  struct draw_text text = {.text = papers_words(card->request, "%s is not stated: ask %s%s.",
                                                gap->what, card->whom, gap->until),
                           .from = card_from(card, gap->key),
                           .size_pt = card_size(card, gap->size_pt)};

  return card_put_framed(card, CARD_BROKEN, text, place);
}

/* Black, with white words: for what must be seen first. */
double card_put_bar(struct card *card, const char *words, double pt, double y_mm)
{
  double pad_mm = card_size(card, 1.6);
  struct draw_text text = {.text = words,
                           .from = card_from(card, words),
                           .size_pt = pt,
                           .bold = true,
                           .ink = DRAW_WHITE};
  double high_mm = draw_text_height_mm(card->draw, &text, card->width_mm - 6 * pad_mm);
  struct draw_place bar = {card->x_mm, y_mm, card->width_mm, high_mm + pad_mm};

  if (card->paint)
    draw_box(card->draw, bar, &(struct draw_look){.filled = true, .fill = DRAW_BLACK});
  card_put(card, &text,
           (struct draw_place){card->x_mm + 3 * pad_mm, y_mm + pad_mm / 2,
                               card->width_mm - 6 * pad_mm, 0});
  return bar.height_mm;
}

double card_put_heading(struct card *card, const char *words, struct draw_place place)
{
  struct draw_text text = {
      .text = words, .from = "a heading", .size_pt = card_size(card, 15), .bold = true};

  return card_put(card, &text, place);
}
