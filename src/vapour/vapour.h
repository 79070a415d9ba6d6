#ifndef VAPOUR_VAPOUR_H
#define VAPOUR_VAPOUR_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/err.h"
#include "chem/chem.h"
#include "facility/facility.h"
#include "units/units.h"

/*
 * What reaches duct, room and person from a liquid, with this station's own airflow: as the air is
 * now, with the sash parked, and with the fans of its main standing.
 *
 *     struct vapour_request request = {.chem = chem, .facility = facility};
 *     code = vapour_take(&request, "of", "acetone", &err);
 *     code = vapour_take(&request, "from", "beaker", &err);
 *     code = vapour_take(&request, "station", "S3", &err);
 *     answer = vapour_answer(&request, &arena, &err);
 *     vapour_text(answer, UNITS_SYSTEM_SI, &out);
 *
 * Every figure is a band: published correlations differ by more than a factor of three, and the
 * air's speed over a liquid is never known (docs/chemistry.md, "Vapour").  The answer is one-sided:
 * it may say that a limit is exceeded or may be, never that it is kept.  What boils, bubbles, fumes
 * or reacts gets no figure.  Memory from the arena; chem and facility are borrowed.
 */
enum {
  VAPOUR_PARTS_MAX = 4,
  VAPOUR_CHANGES_MAX = 16,
  VAPOUR_LINES_MAX = 48,
  VAPOUR_TIMES = 4,
  VAPOUR_RATES = 6
};

enum vapour_from {
  VAPOUR_FROM_NOTHING, /* not said */
  VAPOUR_BEAKER,
  VAPOUR_BATH,
  VAPOUR_DECK_SPILL,
  VAPOUR_FLOOR_SPILL
};
enum vapour_by { VAPOUR_BY_NOTHING, VAPOUR_BY_MASS, VAPOUR_BY_VOLUME };

struct vapour_band {
  double low_si, high_si; /* NaN, both: not known */
};

struct chemicals; /* a suite's own figures: src/facility/chemicals.h */

/* Something of a live scene that is old, missing or contradictory, in a sentence. */
struct vapour_gap {
  const char *about, *text;        /* an id of the suite, or "" */
  const bool *of_main, *of_supply; /* which it concerns: per main, per supply */
};

/* What a board believes of now.  What a gap concerns is answered as not known, never as it was last. */
struct vapour_live {
  struct scene scene;   /* its name says live, and when: "live at 14:10:05" */
  const char *at;       /* the same moment in UTC, for programs */
  double oldest_s;      /* the oldest reading it rests on; NaN: it rests on none */
  const char *outranks; /* the building's alarm, a stop of all work: said first; or NULL */
  const bool *alarm;    /* per station: its own alarm sounds */
  int gap_count, assumed_count;
  const struct vapour_gap *gaps;
  const char *const *assumed; /* what no point says, and what it was taken as */
};

/* Zero means not said.  Texts are borrowed until the answer is made. */
struct vapour_request {
  const struct chem *chem;
  const struct facility *facility; /* NULL: no suite, so evaporation only */
  const struct scene *start;       /* of a question that names no scene; NULL: all parked */
  const struct vapour_live *live;  /* before `start`, unless a scene is named; or NULL */
  const struct chemicals *own;     /* or NULL */
  int of_count;
  const char *of[VAPOUR_PARTS_MAX]; /* "hf@49wt%", "acetone:0.7" */
  enum vapour_by by;
  enum vapour_from from;
  double at_K, diameter_m, area_m2, freeboard_m, volume_m3;
  struct vapour_band mixing, speed; /* ratio; m/s */
  const char *station, *room, *scene;
  int change_count;
  struct {
    const char *verb, *argument; /* as scene_change takes them */
  } changes[VAPOUR_CHANGES_MAX];
};

/* One key and its value: of, from, at, station ...; ERR_USAGE for a key that does not exist. */
NODISCARD enum err_code vapour_take(struct vapour_request *r, const char *key, const char *value,
                                    struct err *err);

/* ---- the answer ---- */

struct vapour_part {
  struct chem_stock stock;
  double mass_ratio, mole_ratio; /* of the liquid; an aqueous one: of the bottle as it is, 1 */
  double pressure_Pa;            /* over this liquid, best figure; NaN: only bounds */
  struct vapour_band pressure;   /* Pa */
  bool extrapolated, at_most, aqueous;
  const char *pressure_words; /* "Antoine's form, ...", with its basis */
  double diffusivity_m2_s;    /* in air, at its temperature */
  double lower_limit_ratio;   /* flammable, at its temperature; NaN: not known */
  const char *lower_limit_words;
};

/* One published correlation, all parts together, at the slow and at the fast end. */
struct vapour_rate {
  const char *name, *source;
  const char *why_not;     /* NULL: used */
  struct vapour_band rate; /* kg/s */
};

enum vapour_when { VAPOUR_NOW, VAPOUR_PARKED, VAPOUR_STOPPED, VAPOUR_WHEN_COUNT };
const char *vapour_when_words(enum vapour_when when);

enum vapour_verdict {
  VAPOUR_UNKNOWN,
  VAPOUR_NOT_SHOWN, /* not shown to exceed: orders of magnitude only */
  VAPOUR_MAY_EXCEED,
  VAPOUR_EXCEEDS
};
const char *vapour_verdict_words(enum vapour_verdict verdict);

struct vapour_case {
  enum vapour_when when;
  bool known; /* false: no air to reckon with; why_not says so */
  const char *why_not;
  bool to_room; /* all of it leaves into the room */
  bool still; /* no air to speak of goes through its station: what that carries off is not known */
  double station_m3_s, station_pm_m3_s, main_m3_s, fresh_m3_s; /* NaN: not known */
  struct vapour_band speed;                                    /* m/s, over the liquid */
  struct vapour_rate rates[VAPOUR_RATES];
  struct vapour_band rate, part_rate[VAPOUR_PARTS_MAX]; /* kg/s */
  double freeboard_kg_s;                                /* by diffusion alone; NaN */
  struct vapour_band duct, main;                        /* m3/m3, all vapours together */
  struct vapour_band duct_share, main_share; /* of the lower flammable limit; NaN: not known */
  /* in the room, m3/m3, by part; the last is the end, however long it takes */
  struct vapour_band room[VAPOUR_PARTS_MAX][VAPOUR_TIMES + 1];
  struct vapour_band room_share;               /* of the lower flammable limit, at the end */
  struct vapour_band person[VAPOUR_PARTS_MAX]; /* m3/m3: orders of magnitude */
  const char *person_words;                    /* how the person was reckoned, or why not */
};
extern const double vapour_times_s[VAPOUR_TIMES];

/* An exposure limit against each case. */
struct vapour_limit {
  int part;
  const struct chem_limit *limit;
  double volume_ratio; /* NaN: by mass of mist or dust, not of vapour */
  enum vapour_verdict verdict[VAPOUR_WHEN_COUNT];
  double reached_s; /* once the air stops, at the upper end; NaN: not */
};

/* A share of the lower flammable limit against duct and main of each case. */
struct vapour_share {
  double share_ratio;
  const char *what;
  struct chem_origin of;
  enum vapour_verdict duct[VAPOUR_WHEN_COUNT], main[VAPOUR_WHEN_COUNT], room[VAPOUR_WHEN_COUNT];
};

struct vapour_purge {
  bool known;
  const char *why_not;
  double first_ratio, last_ratio, time_s;
  int part;
  const char *to;          /* "NIOSH REL" */
  const char *not_counted; /* parts without a limit, which this time does not count; NULL: none */
};

struct vapour_answer {
  const struct vapour_request *request;
  const char *headline, *liquid; /* "acetone, beaker 100 mm across" */
  bool refused;                  /* then only headline, whom to ask and the cautions are there */
  bool trial;
  const char *scene;
  const struct vapour_live *live; /* the scene is this; NULL: it is one of a file */
  int station, room;              /* indices, -1: none */
  int part_count;
  struct vapour_part *parts;
  double at_K, pressure_Pa; /* of the liquid; of the air */
  struct vapour_band area;  /* m2 */
  double length_m; /* along the air: the diameter; NaN: the side of a square of that area */
  double mass_kg;  /* of the liquid; NaN: not said */
  double dry_s;    /* at the fastest: a lower bound; NaN */
  struct vapour_band mixing;
  double saturation_ratio;                  /* right above the liquid, at most */
  const char *air_words[VAPOUR_WHEN_COUNT]; /* what is wrong with the air there; NULL: nothing */
  bool ignition_known, ignitable;
  const char *ignition_words;
  int case_count; /* 0: refused; 1 without a suite */
  struct vapour_case *cases;
  int limit_count, share_count;
  struct vapour_limit *limits;
  struct vapour_share *shares;
  struct vapour_purge purge[2]; /* fresh air as now; as when the fans stand */
  int caution_count, assumed_count, unknown_count, ask_count;
  const char **cautions, **assumed, **unknown, **asks;
};

/* NULL with err: ERR_INPUT when something asked cannot be meant.  A refusal is an answer. */
const struct vapour_answer *vapour_answer(const struct vapour_request *request, struct arena *arena,
                                          struct err *err);

/* Something is, or may be, exceeded, is not known, or no figure was given: exit 1. */
bool vapour_is_no(const struct vapour_answer *a);

void vapour_text(const struct vapour_answer *a, enum units_system system, struct buf *out);
void vapour_json(const struct vapour_answer *a, struct buf *out);

#endif
