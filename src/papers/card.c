#include "papers/card_impl.h"

#include <math.h>

/* Sizes tried, the largest that fits on a page wins; the last is as small as can be read at half a
 * metre, and a card that is longer goes on to a second page. */
static const double scales_ratio[] = {1.30, 1.22, 1.15, 1.08, 1.0, 0.94, 0.88, 0.82, 0.76, 0.70};

static double gap_mm(const struct card *card)
{
  return 3.2 * card->scale_ratio;
}

static double total_mm(struct card *card, const struct card_block *blocks, int count)
{
  double sum_mm = 0;

  card->paint = false;
  for (int i = 0; i < count; i++)
    sum_mm += (i > 0 && !blocks[i].joined ? gap_mm(card) : 0) +
              blocks[i].height_mm(card, blocks[i].item, 0);
  return sum_mm;
}

/* What is left on the page is shared out between blocks, up to a point. */
static double spare_mm(struct card *card, const struct card_block *blocks, int count)
{
  double left_mm = draw_area(card->draw).height_mm - total_mm(card, blocks, count);
  int gaps = 0;

  for (int i = 1; i < count; i++)
    gaps += !blocks[i].joined;
  return left_mm > 0 && gaps > 0 ? fmin(left_mm / (gaps + 1), 2.5 * gap_mm(card)) : 0;
}

static void choose_scale(struct card *card, const struct card_block *blocks, int count)
{
  static const double air_ratio = 0.05; /* of the page, between blocks; the last size needs none */
  size_t tried = sizeof scales_ratio / sizeof scales_ratio[0];

  for (size_t i = 0; i < tried; i++) {
    double room_mm = draw_area(card->draw).height_mm * (i + 1 < tried ? 1 - air_ratio : 1);

    card->scale_ratio = scales_ratio[i] * draw_scale_ratio(card->draw);
    if (total_mm(card, blocks, count) <= room_mm)
      return;
  }
  card->many_pages = true;
}

static void go_on(struct card *card)
{
  struct draw_text words = {
      .text = papers_words(card->request, "%s, continued", card->station->part.id),
      .from = "a continued card",
      .size_pt = 20 * card->scale_ratio,
      .bold = true};

  draw_flow(card->draw, &words);
  draw_skip(card->draw, gap_mm(card));
}

static void paint(struct card *card, const struct card_block *blocks, int count)
{
  double more_mm = spare_mm(card, blocks, count);

  draw_page(card->draw);
  for (int i = 0; i < count; i++) {
    card->paint = false;

    double height_mm = blocks[i].height_mm(card, blocks[i].item, 0),
           gap = i > 0 && !blocks[i].joined ? gap_mm(card) + more_mm : 0;

    draw_skip(card->draw, gap);
    if (draw_need(card->draw, height_mm))
      go_on(card);
    card->paint = true;
    blocks[i].height_mm(card, blocks[i].item, draw_y_mm(card->draw));
    draw_skip(card->draw, height_mm);
  }
}

static void one_card(const struct papers_request *request, struct draw *draw, int station)
{
  struct card_block *blocks;
  struct card card = {
      .request = request,
      .draw = draw,
      .station = &request->facility->stations[station],
      .index = station,
      .whom = papers_whom(request, station),
      .x_mm = draw_area(draw).x_mm,
      .width_mm = draw_area(draw).width_mm,
  };
  int count = card_blocks(&card, &blocks);

  choose_scale(&card, blocks, count);
  paint(&card, blocks, count);
}

enum err_code papers_cards(const struct papers_request *request, const int *stations, int count,
                           struct buf *out, struct err *err)
{
  struct draw *draw = papers_open(request, count == 1 ? "Station card" : "Station cards", err);

  if (!draw)
    return err->code;
  for (int i = 0; i < count; i++)
    one_card(request, draw, stations[i]);
  return papers_close(request, draw, out, err);
}
