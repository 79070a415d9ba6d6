#ifndef ETCH_ETCH_H
#define ETCH_ETCH_H

#include "chem/chem.h"
#include "facility/chemicals.h"

/*
 * How long must it etch?  A check of plausibility from published rates: the time with over-etch, what
 * else it takes (the layer below, other layers, the mask), the undercut, the shape in silicon, and
 * how long the bath lasts.  Never an instruction, and never "enough": sources differ by a factor of
 * two, and what they say beside each other is part of the answer.
 *
 *     struct etch_request request = {0};
 *     if (etch_take(&request, "film", "oxide-thermal", &err) != ERR_OK) ...
 *     if (etch_take(&request, "in", "5 nh4f-40 + 1 hf-49", &err) != ERR_OK) ...
 *     if (etch_take(&request, "depth", "500nm", &err) != ERR_OK) ...
 *     const struct etch_answer *answer = etch_answer(chem, &request, &arena, &err);
 *     etch_text(answer, &out);
 *
 * The keys are those of the command line without their dashes and of the board's /api/etch.  The
 * order in which sources are taken: the suite's own measured rate, one given with the question, then
 * figures read in a source before figures from memory, and a printed rate before a formula.  The
 * first is what the times are counted with; all of them stand beside it.
 *
 * A rate that is not a number stays a word: "slow or zero, not measured" is not the same as a measured
 * zero, and neither is the same as nothing known.  Memory is the arena's; chem is borrowed, and holds
 * the suite's own bottles (chem_with) where the request names its chemicals file.
 */
enum { ETCH_OTHERS_MAX = 12, ETCH_TEXT_MOST = 120 };

struct etch_request {
  char film[ETCH_TEXT_MOST], bath[ETCH_TEXT_MOST], below[ETCH_TEXT_MOST], mask[ETCH_TEXT_MOST];
  char others[ETCH_OTHERS_MAX][ETCH_TEXT_MOST];
  int other_count;
  unsigned given;                                          /* bits of the table in request.c */
  double depth_m, mask_m, opening_m, wafer_m, thickness_m; /* thickness: of the wafer */
  double over_ratio, film_spread_ratio, rate_spread_ratio;
  double at_K, strength_ratio;
  double rate_m_s, rate_at_K; /* measured here, and at what */
  double volume_m3, open_ratio, fall_ratio, life_s;
  int wafers, sides, batches;
  const struct facility *facility; /* NULL: asked of no suite */
  const struct chemicals *own;     /* its chemicals file; NULL: none */
  enum units_system system; /* of temperatures in sentences; JSON's stay in K and SI's words */
};

/* One key and its value.  ERR_INPUT with words; the request is then as it was. */
NODISCARD enum err_code etch_take(struct etch_request *request, const char *key, const char *value,
                                  struct err *err);
/* Whether there is such a key. */
bool etch_has_key(const char *key);

/* ---- what is listed ---- */

struct etch_film {
  const char *id, *name, *kind;       /* "oxide" */
  double molar_kg_mol, density_kg_m3; /* NaN: not known */
  struct chem_origin of;
};

struct etch_bath {
  const char *id, *name, *caution;
  const char *parts;       /* "5 nh4f-40 + 1 hf-49"; "": not known, or said in the question */
  double usual_K;          /* NaN: none */
  const char *strength_of; /* the substance whose strength must be said; "": none */
  struct chem_origin of;
};

/* What a source says of a film in a bath besides a number, as it marks it. */
enum etch_mark {
  ETCH_SLOW = 1,      /* S: slow or zero, not measured */
  ETCH_WORKS = 2,     /* W: works, not measured */
  ETCH_ROUGHENS = 4,  /* R */
  ETCH_PEELS = 8,     /* P: some of it peels */
  ETCH_AT_LEAST = 16, /* > */
  ETCH_AT_MOST = 32   /* < */
};

/* How a source's figure came to be one for these conditions. */
enum etch_how {
  ETCH_OWN,   /* the suite's own measured rate */
  ETCH_GIVEN, /* measured here, given with the question */
  ETCH_ROW,   /* printed for these conditions */
  ETCH_MOVED, /* printed for another temperature, and moved */
  ETCH_LAW    /* computed from a formula */
};
const char *etch_how_words(enum etch_how how);

struct etch_rate {
  enum etch_how how;
  double low_m_s, high_m_s; /* as the source's range; the same where it has one figure; NaN: none */
  unsigned marks;
  double printed_at_K;    /* NaN: it does not say */
  const char *conditions; /* "from 160 °C, moved with 1 eV" */
  const char *not_used;   /* why it does not count here; NULL: it counts */
  struct chem_origin of;
};

/* What a time is, by a rate that is only bounded. */
enum etch_bound { ETCH_ABOUT, ETCH_TIME_AT_MOST, ETCH_TIME_AT_LEAST };

/* All that is known of one film in this bath. */
enum etch_known {
  ETCH_NUMBER,     /* there is a rate above zero */
  ETCH_ZERO,       /* measured, and found to be zero */
  ETCH_UNMEASURED, /* a source has a word for it and no number */
  ETCH_OTHERWISE,  /* sources have figures, but for other conditions */
  ETCH_NOTHING     /* nothing is listed */
};
const char *etch_known_words(enum etch_known known);

struct etch_layer {
  const struct etch_film *film;
  enum etch_known known;
  int rate_count;
  const struct etch_rate *rates;   /* the one that is counted with first */
  const struct etch_rate *counted; /* that one; NULL: none has a number that counts */
  double rate_m_s;                 /* of it; NaN unless known is ETCH_NUMBER or ETCH_ZERO */
  double lowest_m_s, highest_m_s;  /* of all that count */
  unsigned marks;              /* of all that count with a number: ETCH_AT_LEAST, ETCH_AT_MOST */
  double loss_m, least_loss_m; /* at its most by all sources, NaN: no end; and as counted */
  double selectivity_ratio;    /* etched film over this one; NaN */
};

enum etch_shape {
  ETCH_ROUND,
  ETCH_SLOPED,
  ETCH_UPRIGHT
}; /* undercut all round; (111) walls of (100); of (110) */

struct etch_section {
  bool known;
  enum etch_shape shape;
  double wall_rad;            /* of the walls against the surface */
  double undercut_m;          /* at each edge of the mask, at its most; NaN: no end to it */
  double opening_m, floor_m;  /* NaN: no opening given; floor 0: a groove that ended by itself */
  double ends_at_m;           /* depth at which it ends by itself; NaN: it does not */
  double ends_most_m;         /* the same, as wide as the undercut makes it */
  double depth_m;             /* what is reached */
  double opening_for_depth_m; /* least opening for the depth wanted; NaN */
};

struct etch_life {
  bool asked;
  const char *agent, *gas; /* substances; NULL: no reaction listed */
  double area_m2, removed_mol, agent_mol, agent_in_bath_mol, gas_mol;
  double fall_ratio;              /* of the agent, a batch; NaN */
  int by_fall, by_count, by_time; /* batches; -1: not known */
  const char *first;              /* what ends it first; NULL: not known */
  struct chem_origin of;
};

struct etch_answer {
  enum units_system system;
  const struct facility *facility;
  const struct chemicals *own;
  const struct etch_film *film;
  const struct etch_bath *bath;
  const char *parts;  /* as asked or as listed */
  double water_parts; /* of water to one of HF 49 %; NaN where that means nothing */
  double at_K, strength_ratio, depth_m, over_ratio, film_spread_ratio, rate_spread_ratio;
  struct etch_layer etched;
  bool answered;          /* there is a time */
  bool refused;           /* the shape, the mask or the wafer does not allow it: see reasons */
  double time_s, worst_s; /* nominal; thickest and slowest place, over-etched */
  double clear_s; /* where it is thinnest and fastest: from then on the layer below is open */
  double band_low_s,
      band_high_s; /* nominal by the fastest and by the slowest source; NaN: no end */
  /* The rates that the film may have: of all sources, but of a rate measured here only that; NaN: no end.
   * The same as worst_s and clear_s by them. */
  double slowest_m_s, fastest_m_s, longest_s, soonest_s;
  enum etch_bound bound; /* of time_s, where the source counted with has only a bound */
  const char *left_out;  /* why no rate that was measured here counts; NULL: one does, or none is */
  bool has_below, has_mask;
  struct etch_layer below, mask;
  double mask_m;
  int other_count;
  const struct etch_layer *others;
  struct etch_section section;
  struct etch_life life;
  int wafers;
  double wafer_m, thickness_m;
  int reason_count, caution_count, unknown_count, assumed_count;
  const char *const *reasons, *const *cautions, *const *unknown, *const *assumed;
  const char *listed_for_film, *listed_for_bath; /* ids, where the pair is not listed */
};

/* NULL with err: a name that is in no table, a ratio that does not say its order, what is outside the
 * range of a formula.  An answer that is "not known" is an answer. */
const struct etch_answer *etch_answer(const struct chem *chem, const struct etch_request *request,
                                      struct arena *arena, struct err *err);

/* 0 answered; 1 not known, or the shape or the mask does not allow it. */
int etch_exit_status(const struct etch_answer *answer);

void etch_text(const struct etch_answer *answer, struct buf *out);
void etch_json(const struct etch_answer *a, struct buf *out);
/* A cross-section to scale, as SVG.  ERR_INPUT when there is nothing to draw, with the reason. */
NODISCARD enum err_code etch_drawing(const struct etch_answer *a, struct buf *out, struct err *err);
/* Films and baths that are listed, and what of each; inward.etch_list.1. */
void etch_list(const struct chem *chem, struct buf *out);
void etch_list_json(const struct chem *chem, struct buf *out);

#endif
