#ifndef ANSWER_ANSWER_H
#define ANSWER_ANSWER_H

#include "air/air.h"
#include "base/buf.h"
#include "base/emit.h"
#include "units/units.h"
#include "watch/watch.h"

/*
 * An engine's answer, turned once into text for people and JSON for programs.
 * Both the command line and the board print what comes from here, so they
 * cannot differ.  The JSON's shape is the contract of docs/api.md.
 */
void answer_air_json(const struct facility *facility, const struct scene *scene,
                     const struct air_answer *answer, struct buf *out);
void answer_air_text(const struct facility *facility, const struct scene *scene,
                     const struct air_answer *answer, enum units_system system, struct buf *out);

/* One station asked about: `inward air --why S3`. */
struct answer_why {
  const struct facility *facility;
  const struct scene *scene;
  int station;
  const struct air_ledger *ledger;
  const struct air_answer *air; /* NULL, and the next: its ± was not asked for */
  const struct air_per_cm *per_cm;
};
/* Asks the air for all three, or without its ± for the ledger alone.  What it finds lives in `arena`. */
NODISCARD enum err_code answer_why_of(struct air *air, bool sure, struct answer_why *why,
                                      struct arena *arena, struct err *err);
void answer_why_text(const struct answer_why *why, enum units_system system, struct buf *out);
void answer_why_json(const struct answer_why *why, struct buf *out);

/* What one centimetre of each sash is worth: `inward air --per-cm`. */
void answer_per_cm_json(const struct facility *facility, const struct scene *scene,
                        const struct air_per_cm *per_cm, struct buf *out);
void answer_per_cm_text(const struct facility *facility, const struct scene *scene,
                        const struct air_per_cm *per_cm, enum units_system system, struct buf *out);

/* Draws of the figures beside what slopes say of them: `inward air --sample`. */
struct answer_sample {
  const struct facility *facility;
  const struct scene *scene;
  const struct air_answer *answer; /* with its ± */
  const struct air_sample *tally;
  long seed, asked; /* asked: of draws; time may have ended first */
};
void answer_sample_json(const struct answer_sample *s, struct buf *out);
void answer_sample_text(const struct answer_sample *s, struct buf *out);

/* One row of it: how often something was missed, and between what, nineteen times in twenty. */
struct answer_drawn {
  long missed;
  double missed_ratio, low_ratio, high_ratio;
  bool compared, agrees; /* with the slopes, within the draws' own error and 1 in 100 */
};
struct answer_drawn answer_drawn_of(long missed, long draws, const struct air_odds *odds);

/* A scene as the air's `scene`: for what is kept of a moment. */
void answer_scene(struct emit *json, const struct facility *facility, const struct scene *scene);

/* What a page needs to draw the place, and the suite's scenes; `start` is where it begins. */
void answer_plan_json(const struct facility *facility, const struct scene *start, struct buf *out);

/* One side of a comparison: a suite, a scene of it, and the air of that scene. */
struct answer_side {
  const struct facility *facility;
  const struct scene *scene;
  const struct air_answer *answer;
};

/* What differs in the air between two suites in scenes of one name; flows by
 * 10 m3/h, pressures by 0.1 Pa.  Parts are matched by id. */
void answer_compare_text(const struct answer_side *before, const struct answer_side *after,
                         struct buf *out);
void answer_compare_json(const struct answer_side *before, const struct answer_side *after,
                         struct emit *json); /* one array element */

/* A figure as written, with its ± and where that comes from:
 * "MU, most: 15600 m³/h ± 15 % (assumed)". */
void answer_input(const struct facility_input *in, enum units_system system, struct buf *out);

/* ---- the live answer: what is believed of now, and the air of that ----
 *
 * A building's alarm and a station's own alarm outrank all advice.  What is not known is never shown
 * as good: such a pool has no figures, the act is "NOT KNOWN: TREAT AS NO", and the figures of before
 * stand apart, with their age.  A pool is not known where something it needs is not (watch.h), or
 * where a room's pressure is measured outside its keep and computed inside, beyond the ± of the one
 * and the resolution of the other: then the two contradict each other.
 */
struct answer_live_source { /* of a source of the feeds file */
  bool connected;
  int64_t heard_ms; /* INT64_MIN: never */
  const char *why;  /* why it is not connected, or what was refused last; or NULL */
};

struct answer_live_record {
  bool kept;       /* what comes is written down */
  const char *why; /* why it is not; or NULL */
  int64_t head;    /* number of the last entry; 0: none */
  const char *head_hash;
};

struct answer_live_asked { /* what the act names while the air is short (src/errand) */
  const struct air_lower *named;
  int count;
  bool call; /* lowering is not enough: the ventilation technician is called, too */
};

struct answer_live_earlier { /* the last answer in which everything was known */
  int64_t t_ms;
  const struct scene *scene;
  const struct air_answer *air;
};

/* Who took a station out of use, as the record has it. */
struct answer_live_withdrawn {
  const char *who, *why; /* as that person said it; NULL: nobody did */
  int64_t since_ms;
};

struct answer_live {
  const struct facility *facility;
  const struct feeds *feeds;
  const struct watch_belief *belief;
  const struct air_answer *air;    /* of the belief's scene; NULL: it was not computed */
  const enum facility_level *held; /* per pool: where a declared rule stands, its dwell times
                                               kept; NULL: as computed now */
  const struct answer_live_source *sources;      /* per source, or NULL */
  const struct when_zone *zone;                  /* of the suite */
  const struct answer_live_earlier *earlier;     /* or NULL */
  const struct answer_live_asked *asked;         /* NULL: the act names what the figures do */
  const struct answer_live_withdrawn *withdrawn; /* per station, or NULL: not told */
  struct answer_live_record record;
  long number;         /* of the view */
  int64_t since_ms;    /* since when the state is what it is; INT64_MIN: not told */
  double replay_ratio; /* times as fast as the clock; 0: now is now */
  /* Writes what others add to the JSON; or NULL. */
  void (*add)(void *arg, struct emit *json);
  void *add_arg;
};

struct answer_live_verdict {
  enum facility_level state;
  const enum facility_level *pools; /* mains, then supplies */
  bool advises;                     /* nothing outranks advice, and all of it is known */
  int reason_count, contradiction_count;
  const char **reasons;
  struct watch_gap *contradictions; /* measured against computed */
};

/* What a live answer comes to; lives in `arena`. */
struct answer_live_verdict answer_live_judge(const struct answer_live *live, struct arena *arena);
/* Only where `live->air` and what `live->belief->pressures` measure contradict each other. */
struct watch_gap *answer_live_contradictions(const struct answer_live *live, struct arena *arena,
                                             int *count_out);
/* The act, in the largest words. */
void answer_live_act(const struct answer_live *live, const struct answer_live_verdict *verdict,
                     struct buf *out);
void answer_live_json(const struct answer_live *live, struct buf *out);
void answer_live_text(const struct answer_live *live, enum units_system system, struct buf *out);

const char *answer_engine_version(void);
const char *answer_verdict_name(enum net_verdict verdict);

/* A sentence that carries Pa, m3/h and m/s, said again in these units and rounded as the figures beside it. */
void answer_say(const char *text, enum units_system system, struct buf *out);

/* The act, in the largest words: "AIR FOR 3 MORE", "NO MORE", "LOWER S2", "NOT KNOWN: TREAT AS NO". */
void answer_act(const struct facility *facility, const struct air_answer *answer, struct buf *out);

#endif
