#include "papers/card_impl.h"

#include <math.h>
#include <string.h>

/* ---- the alarm ---- */

static const struct {
  const char *act, *how;
} steps[] = {
    {"1 STOP", "Cap what is open."},
    {"2 CLOSE", "The sash, all the way."},
    {"3 LEAVE", "Step away."},
    {"4 CALL", NULL},
};

static double alarm_step(struct card *card, int step, struct draw_place place)
{
  double pad_mm = card_size(card, 1.8);
  struct draw_text act = {
      .text = steps[step].act, .from = "an act", .size_pt = card_size(card, 17), .bold = true};
  struct draw_text how = {.text = steps[step].how ? steps[step].how : card->whom,
                          .from = card_from(card, "call"),
                          .size_pt = card_size(card, 11)};
  struct draw_place inside = {place.x_mm + pad_mm, place.y_mm + pad_mm, place.width_mm - 2 * pad_mm,
                              0};

  inside.y_mm += card_put(card, &act, inside);
  inside.y_mm += card_put(card, &how, inside);
  return inside.y_mm - place.y_mm + pad_mm;
}

static double alarm_steps(struct card *card, double y_mm, double height_mm)
{
  enum { STEPS = sizeof steps / sizeof steps[0] };
  double width_mm = card->width_mm / STEPS, highest_mm = 0;

  for (int i = 0; i < STEPS; i++) {
    struct draw_place place = {card->x_mm + i * width_mm, y_mm, width_mm, height_mm};

    if (card->paint)
      draw_box(card->draw, place, &(struct draw_look){.line_mm = card_size(card, 0.6)});
    highest_mm = fmax(highest_mm, alarm_step(card, i, place));
  }
  return highest_mm;
}

double card_alarm(struct card *card, int item, double y_mm)
{
  struct draw_text head = {.text = "Your station's own alarm decides. When it sounds:",
                           .from = "a heading",
                           .size_pt = card_size(card, 15),
                           .bold = true};
  struct draw_text after = {.text = "Staff release the station again.",
                            .from = "a rule",
                            .size_pt = card_size(card, 10.5)};
  struct draw_place place = {card->x_mm, y_mm, card->width_mm, 0};
  bool paint = card->paint;
  double height_mm;

  (void)item;
  place.y_mm += card_put(card, &head, place) + card_size(card, 1.5);
  card->paint = false;
  height_mm = alarm_steps(card, place.y_mm, 0);
  card->paint = paint;
  if (paint)
    alarm_steps(card, place.y_mm, height_mm);
  place.y_mm += height_mm + card_size(card, 1);
  place.y_mm += card_put(card, &after, place);
  return place.y_mm - y_mm;
}

/* ---- what is read in quiet: a word at the left, the rest beside it ---- */

static struct draw_place beside(struct card *card, const char *word, double y_mm)
{
  double left_mm = card_size(card, 34);

  card_put_heading(card, word, (struct draw_place){card->x_mm, y_mm, left_mm, 0});
  return (struct draw_place){card->x_mm + left_mm, y_mm, card->width_mm - left_mm, 0};
}

static double at_least_a_heading(struct card *card, double height_mm)
{
  struct draw_text text = {
      .text = "X", .from = "a heading", .size_pt = card_size(card, 15), .bold = true};

  return fmax(height_mm, draw_text_height_mm(card->draw, &text, 0));
}

double card_wear(struct card *card, int item, double y_mm)
{
  const struct facility_wear *w = &card->station->card.wear;
  struct draw_place place = beside(card, "WEAR", y_mm);
  struct draw_text what = {
      .text = w->what, .from = card_from(card, "wear"), .size_pt = card_size(card, 15)};
  struct draw_text source = {
      .text = papers_words(card->request, "source: %s", w->source ? w->source : ""),
      .from = card_from(card, "wear, source"),
      .size_pt = card_small_size(card, 9.5),
      .ink = DRAW_GREY};

  (void)item;
  if (!w->what)
    return at_least_a_heading(
        card, card_put_missing(card, &(struct card_gap){"wear", "What to wear", "", 13}, place));
  place.y_mm += card_put(card, &what, place);
  place.y_mm += card_put(card, &source, place);
  return at_least_a_heading(card, place.y_mm - y_mm);
}

double card_documents_missing(struct card *card, int item, double y_mm)
{
  struct draw_place place = beside(card, "READ", y_mm);

  (void)item;
  return at_least_a_heading(
      card,
      card_put_missing(card, &(struct card_gap){"documents", "Which procedures hold here", "", 13},
                       place));
}

/* Nothing known of it, or a review that is yet to come, is not to be passed over. */
static struct draw_text document_state(const struct card *card, const struct facility_document *d)
{
  const char *printed = card->request->date;
  bool to_come = printed && d->reviewed && strcmp(d->reviewed, printed) > 0;

  return (struct draw_text){.text = papers_words(card->request, "version %s · reviewed %s%s",
                                                 d->version ? d->version : "not stated",
                                                 d->reviewed ? d->reviewed : "not stated",
                                                 to_come ? ", after this print: ask" : ""),
                            .from = card_from(card, "documents, version"),
                            .bold = !d->version || !d->reviewed || to_come,
                            .size_pt = card_size(card, 11)};
}

double card_document(struct card *card, int item, double y_mm)
{
  const struct facility_document *d = &card->station->card.documents[item];
  struct draw_place place = beside(card, item == 0 ? "READ" : "", y_mm);
  double code_mm = d->link ? fmax(card_size(card, 24), 17) : 0, gap_mm = card_size(card, 3);
  struct draw_text heading = {.text = d->title,
                              .from = card_from(card, "documents, title"),
                              .size_pt = card_size(card, 14),
                              .bold = true};
  struct draw_text state = document_state(card, d);
  struct draw_text link = {.text = d->link,
                           .from = card_from(card, "documents, link"),
                           .size_pt = card_small_size(card, 8),
                           .mono = true,
                           .ink = DRAW_GREY};

  if (card->paint && d->link)
    draw_qr(card->draw, d->link, link.from,
            (struct draw_place){place.x_mm + place.width_mm - code_mm, y_mm, code_mm, code_mm});
  place.width_mm -= code_mm + gap_mm;
  place.y_mm += card_put(card, &heading, place);
  place.y_mm += card_put(card, &state, place);
  place.y_mm += card_put(card, &link, place);
  return at_least_a_heading(card, fmax(place.y_mm - y_mm, code_mm) + card_size(card, 1.2));
}

double card_call(struct card *card, int item, double y_mm)
{
  bool known = card->station->card.call || card->request->facility->call;
  struct draw_place place = beside(card, "CALL", y_mm);
  struct draw_text text = {.text = card->whom,
                           .from = card_from(card, "call"),
                           .size_pt = card_size(card, 20),
                           .bold = true};

  (void)item;
  if (known)
    return at_least_a_heading(card, card_put(card, &text, place));
  return at_least_a_heading(
      card, card_put_missing(
                card, &(struct card_gap){"call", "Whom to call", " and write it here", 13}, place));
}
