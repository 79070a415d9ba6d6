#ifndef ANSWER_PAGE_IMPL_H
#define ANSWER_PAGE_IMPL_H

#include "answer/answer.h"

/* What the files that write text for people share. */
struct page {
  const struct facility *f;
  const struct scene *scene;
  const struct air_answer *a;
  enum units_system system;
  struct buf *out;
};

enum { PAGE_TEXT = 96 };

/* A quantity in the reader's units, or "not known"; returns `text`. */
const char *page_shown(const struct page *p, char *text, size_t size, bool known, double si,
                       enum units_dimension dimension);
/* Columns count characters, not bytes: "m³" is two characters in three bytes. */
void page_cell(struct buf *out, const char *text, int width);
double page_two_digits(double pm); /* of a ±: more would be idle */
void page_percent(double ratio, struct buf *out);
/* A sentence said again in the reader's units. */
void page_say(const struct page *p, const char *text);

/* ---- sure_text.c ---- */
void page_sure(const struct page *p);   /* below the act: one line of ±, one of how many */
void page_narrow(const struct page *p); /* what would narrow it most */
/* A ± beside what it belongs to: in the same unit for pressures, else in percent. */
void page_spread(const struct page *p, const struct facility_input *in, double plus_minus_si);
void page_cannot(const struct page *p); /* what this tier does not tell */

/* ---- odds.c ---- */
void page_odds(const struct page *p); /* how likely what is in doubt is met */
void page_odds_words(const struct page *p, const struct air_odds *odds);
void page_causes(const struct page *p, const char *indent, const struct air_causes *causes);
void causes_json(struct emit *j, const struct facility *f, const struct air_causes *causes);
void odds_json(struct emit *j, const struct facility *f, const struct air_odds *odds);

/* ---- json.c ---- */
void air_object_json(struct emit *json, const char *key, const struct answer_side *side,
                     const char *act);
void criterion_json(struct emit *j, const struct facility *f, int station,
                    const struct air_station *s);

/* ---- per_cm.c ---- */
void page_per_cm(const struct page *p, const struct air_per_cm *per_cm, int station); /* one line */
void per_cm_json(struct emit *j, const char *key, const struct answer_side *side,
                 const struct air_per_cm *per_cm, int station);

/* ---- sure_json.c ---- */
void sure_json(struct emit *j, const struct facility *f, const struct air_answer *a);
void sure_pool_json(struct emit *j, const struct facility *f, const struct air_answer *a, int pool);
void narrow_figure_json(struct emit *j, const struct facility *f, const struct air_narrow *narrow);

#endif
