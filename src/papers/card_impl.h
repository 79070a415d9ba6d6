#ifndef PAPERS_CARD_IMPL_H
#define PAPERS_CARD_IMPL_H

#include "papers/papers_impl.h"

/*
 * A card is blocks one below the other.  Each is asked twice: for its height, and to draw itself, by
 * the same lines of code, so that the two cannot disagree.
 */
struct card {
  const struct papers_request *request;
  struct draw *draw;
  const struct facility_station *station;
  int index; /* of the station */
  const char *whom;
  double x_mm, width_mm;
  double scale_ratio; /* of all sizes: 1 fills an A4 page well */
  bool many_pages;    /* it does not fit on one, however small */
  bool paint;         /* else only measure */
};

struct card_block {
  double (*height_mm)(struct card *card, int item, double y_mm); /* draws when card->paint */
  int item;
  bool joined; /* no gap above: it goes on from the block before */
};

/* ---- card_blocks.c ---- */
/* The blocks of a station's card, in the order they are read; what it lacks goes to the report. */
int card_blocks(const struct card *card, struct card_block **blocks_out);

/* ---- the blocks, from the top of a card down: card_top.c, card_middle.c, card_rest.c ---- */
double card_title(struct card *card, int item, double y_mm);
double card_out_of_service(struct card *card, int item, double y_mm);
double card_not_here_head(struct card *card, int item, double y_mm);
double card_not_here_item(struct card *card, int item, double y_mm);
double card_not_here_missing(struct card *card, int item, double y_mm);
double card_glass_and_sash(struct card *card, int item, double y_mm);
double card_alarm(struct card *card, int item, double y_mm);
double card_wear(struct card *card, int item, double y_mm);
double card_document(struct card *card, int item, double y_mm);
double card_documents_missing(struct card *card, int item, double y_mm);
double card_call(struct card *card, int item, double y_mm);

/* ---- card_put.c: what blocks are made of; each returns its height, and draws when it may ---- */
double card_put(struct card *card, const struct draw_text *text, struct draw_place place);
double card_size(const struct card *card, double at_scale_1); /* points or millimetres */
double card_small_size(const struct card *card, double pt);   /* never too small to read */
const char *card_from(const struct card *card, const char *key);
double card_put_heading(struct card *card, const char *words, struct draw_place place);
/* Black, with white words: for what must be seen first. */
double card_put_bar(struct card *card, const char *words, double pt, double y_mm);

/* Words in a box: broken where something is missing, whole where something is wrong. */
enum card_frame { CARD_BROKEN, CARD_WHOLE };
double card_put_framed(struct card *card, enum card_frame frame, struct draw_text text,
                       struct draw_place place);

struct card_gap {
  const char *key;   /* of the suite file */
  const char *what;  /* "What to wear" */
  const char *until; /* " before you begin", or "" */
  double size_pt;    /* at scale 1 */
};

/* "What to wear is not stated: ask ...", seen from where the value would be. */
double card_put_missing(struct card *card, const struct card_gap *gap, struct draw_place place);

#endif
