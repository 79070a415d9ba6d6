#include "papers/card_impl.h"

#include <math.h>
#include <string.h>

/* ---- what the station is ---- */

static const char *flow_words(const struct card *card)
{
  const struct facility_station *s = card->station;
  struct buf low, high;
  const char *words = "flow as the opening decides";

  buf_init(&low, 60);
  buf_init(&high, 60);
  bool follows = s->flow == FACILITY_FOLLOWS_OPENING;

  units_print(&low, follows ? s->least_m3_s : s->parked_m3_s, UNITS_FLOW, card->request->units);
  units_print(&high, follows ? s->most_m3_s : s->work_m3_s, UNITS_FLOW, card->request->units);
  switch (s->flow) {
  case FACILITY_CONSTANT:
    words = papers_words(card->request, "%s always", high.text);
    break;
  case FACILITY_TWO_STATE:
    words = papers_words(card->request, "%s closed, %s raised", low.text, high.text);
    break;
  case FACILITY_FOLLOWS_OPENING:
    words = papers_words(card->request, "%s to %s, following the sash", low.text, high.text);
    break;
  case FACILITY_PASSIVE:
    break;
  }
  buf_release(&low);
  buf_release(&high);
  return words;
}

static double put_small(struct card *card, struct draw_place place)
{
  const struct facility_station *s = card->station;
  const struct facility *f = card->request->facility;
  struct draw_text text = {
      .text = papers_words(card->request, "%s · %s · %s main · %s%s", facility_kind_name(s->kind),
                           f->rooms[s->room].part.name, f->mains[s->main].part.id, flow_words(card),
                           card->many_pages ? " · goes on overleaf" : ""),
      .from = card_from(card, "name of its room"),
      .size_pt = card_small_size(card, 9.5),
      .ink = DRAW_GREY};

  return card_put(card, &text, place);
}

static double put_purpose(struct card *card, struct draw_place place)
{
  struct draw_text text = {.text = card->station->card.chemistry,
                           .from = card_from(card, "chemistry"),
                           .size_pt = card_size(card, 25),
                           .bold = true};

  return text.text ? card_put(card, &text, place)
                   : card_put_missing(
                         card, &(struct card_gap){"chemistry", "What it is for", "", 15}, place);
}

double card_title(struct card *card, int item, double y_mm)
{
  const struct facility_part *part = &card->station->part;
  struct draw_text id = {.text = part->id,
                         .from = card_from(card, "id"),
                         .size_pt = card_size(card, 50),
                         .bold = true};
  double most_mm = card->width_mm * 0.42, wide_mm = draw_text_width_mm(card->draw, &id);

  (void)item;
  if (wide_mm > most_mm) /* a long id is smaller, and stays on its line */
    id.size_pt *= most_mm / wide_mm;
  wide_mm = draw_text_width_mm(card->draw, &id) + 0.5;

  double id_mm = card_put(card, &id, (struct draw_place){card->x_mm, y_mm, wide_mm, 0}),
         gap_mm = card_size(card, 6), x_mm = card->x_mm + wide_mm + gap_mm;
  struct draw_place right = {x_mm, y_mm + card_size(card, 1.5), card->width_mm - wide_mm - gap_mm,
                             0};
  struct draw_text name = {.text = strcmp(part->name, part->id) == 0 ? NULL : part->name,
                           .from = card_from(card, "name"),
                           .size_pt = card_size(card, 14)};

  right.y_mm += put_purpose(card, right) + card_size(card, 0.8);
  right.y_mm += card_put(card, &name, right);
  right.y_mm += put_small(card, right);
  return fmax(id_mm, right.y_mm - y_mm);
}

double card_out_of_service(struct card *card, int item, double y_mm)
{
  (void)item;
  return card_put_bar(card, "OUT OF SERVICE: do not use", card_size(card, 24), y_mm);
}

/* ---- not here ---- */

double card_not_here_head(struct card *card, int item, double y_mm)
{
  (void)item;
  return card_put_bar(card, "NOT HERE", card_size(card, 38), y_mm);
}

/* The list hangs from its heading on a thick line. */
static void hang(const struct card *card, double y_mm, double height_mm)
{
  if (card->paint)
    draw_box(card->draw,
             (struct draw_place){card->x_mm, y_mm - 0.2, card_size(card, 2.2), height_mm + 0.2},
             &(struct draw_look){.filled = true, .fill = DRAW_BLACK});
}

double card_not_here_item(struct card *card, int item, double y_mm)
{
  double pad_mm = card_size(card, 1.4), in_mm = card_size(card, 6), cross_mm = card_size(card, 11);
  struct draw_text cross = {
      .text = "✕", .from = "a cross", .size_pt = card_size(card, 25), .bold = true};
  struct draw_text words = {.text = card->station->card.not_here[item],
                            .from = card_from(card, "not here"),
                            .size_pt = card_size(card, 25),
                            .bold = true};
  double width_mm = card->width_mm - in_mm - cross_mm,
         height_mm = draw_text_height_mm(card->draw, &words, width_mm) + pad_mm;

  hang(card, y_mm, height_mm);
  card_put(card, &cross, (struct draw_place){card->x_mm + in_mm, y_mm + pad_mm, cross_mm, 0});
  card_put(card, &words,
           (struct draw_place){card->x_mm + in_mm + cross_mm, y_mm + pad_mm, width_mm, 0});
  return height_mm;
}

double card_not_here_missing(struct card *card, int item, double y_mm)
{
  double pad_mm = card_size(card, 2), in_mm = card_size(card, 6);
  struct draw_place place = {card->x_mm + in_mm, y_mm + pad_mm, card->width_mm - in_mm, 0};
  double height_mm =
      pad_mm + card_put_missing(card,
                                &(struct card_gap){"not here", "What is forbidden here",
                                                   " before you bring anything", 18},
                                place);

  (void)item;
  hang(card, y_mm, height_mm);
  return height_mm;
}
