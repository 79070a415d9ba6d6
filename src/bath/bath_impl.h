#ifndef BATH_BATH_IMPL_H
#define BATH_BATH_IMPL_H

#include "bath/bath.h"

/* What an answer is made in. */
struct bath_work {
  const struct bath_place *place; /* its chem with the suite's own bottles in front */
  const struct bath_request *request;
  struct arena *arena;
  struct err *err;
  struct bath_answer *answer;
  struct bath_part parts[BATH_PARTS_MAX];
  int part_count;
  struct bath_holds holds[BATH_PARTS_MAX + 1];
  const char *kin;     /* of the named bath, or "" */
  const char *mixture; /* what src/meet knows the whole as, or "" */
  const char *meets;   /* "a+b": two that meet in this recipe and nowhere else, or "" */
  bool fixed_amounts;  /* the parts are as given; else they are scaled */
  const char *not_for; /* the station's `chemistry:`, where it names nothing of the bath; or "" */
  struct bath_lines shown; /* the procedures that let amounts be shown; told of no refusal */
  double told_K;           /* how hot this kind gets as its source prints; NaN */
  const char *told_from;
  bool reacts; /* a procedure lets parts meet that change one another */
};

const char *bath_words(struct bath_work *w, const char *fmt, ...) PRINTF_LIKE(2, 3);
void bath_line(struct bath_lines *lines, const char *text);
/* A row of data/bath_settings.csv. */
double bath_setting(struct bath_work *w, const char *setting, const char *column,
                    enum units_dimension dimension);

/* ---- parts.c: what is poured, from the request; masses in any unit that fits together ---- */
NODISCARD enum err_code bath_parts_given(struct bath_work *w);
NODISCARD enum err_code bath_parts_to(struct bath_work *w);
NODISCARD enum err_code bath_parts_spiked(struct bath_work *w);
NODISCARD enum err_code bath_add_part(struct bath_work *w, const char *key, const char *text,
                                      const char *amount);
NODISCARD enum err_code bath_add_stock(struct bath_work *w, const char *key, const char *text);

/* ---- target.c: "5wt%", "1mol/L" ---- */
struct bath_target {
  const struct chem_substance *substance;
  double fraction_ratio;
};
/* A share by mass of the target; of a molarity by the density of the product, at most `most`. */
NODISCARD enum err_code bath_target_read(struct bath_work *w, const char *key, const char *text,
                                         double most_ratio, struct bath_target *out);

/* ---- named.c ---- */
NODISCARD enum err_code bath_named(struct bath_work *w);
/* "spm": the row of data/baths.csv; -1: none */
int bath_named_row(struct bath_work *w, const char *text);
bool bath_is_own(const struct bath_work *w, const char *name); /* a bath of the suite's own */
/* Parts that are those of the bath of that name, the suite's own before the tables', within the setting
 * as-named, become it. */
bool bath_becomes(struct bath_work *w, const char *name);
/* The cautions, fill and keeping of a row for a bath of the suite's own. */
void bath_cautions_of(struct bath_work *w, int row);

/* ---- mix.c ---- */
void bath_hold(struct bath_work *w); /* composition and product of the parts */
NODISCARD enum err_code bath_scale(struct bath_work *w);
void bath_volumes(struct bath_work *w);

/* ---- heat.c ---- */
void bath_heat(struct bath_work *w);

/* ---- rules.c ---- */
void bath_rules(struct bath_work *w); /* refuses what may not be made here */
void bath_foremost(
    struct bath_work *w);               /* boiling, fire and the procedure, before other cautions */
void bath_counsel(struct bath_work *w); /* order, cautions, waste, headspace */
/* station.c: what the suite's file says of the station */
void bath_not_here(struct bath_work *w);
void bath_station_is_for(struct bath_work *w);
void bath_refuse(struct bath_work *w, const char *why,
                 const char *possible); /* no amounts at all */

/* ---- together.c: what the parts do to one another, and the vessel ---- */
NODISCARD enum err_code bath_together(struct bath_work *w);

/* ---- text.c ---- */
void bath_first_line(struct bath_work *w);

#endif
