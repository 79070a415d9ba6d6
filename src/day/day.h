#ifndef DAY_DAY_H
#define DAY_DAY_H

#include "air/air.h"
#include "base/complaints.h"
#include "base/when.h"
#include "facility/facility.h"

/*
 * Will the air last today?  answer = f(facility, bookings, habits, day).
 *
 * Bookings are read from calendars and tables; this is no place to book.  What people do of what they
 * book comes from the record: when a sash really went up and came down.  Whether a set of sashes that
 * are up together makes the air short is asked of the real model, scene by scene: no capacity is assumed.
 *
 *     day_read(&job, &text, &complaints, &list, &report);        // per file
 *     struct day_air *air = day_air_new(facility, &err);
 *     struct day_habits habits = day_learn(facility, list, uses, ...);
 *     struct day_answer *answer = day_ask(&request, &arena, &err);
 *
 * No clock, file or record here: the moment, the bytes and the stretches in which sashes were up are
 * handed in.  Everything lives in the arena given; what a request points to is borrowed.
 */
enum {
  DAY_STATIONS_MOST = 64,  /* of a suite: a scene is a set of bits */
  DAY_QUARTERS_MOST = 100, /* of a day on which the clocks go back */
  DAY_QUARTER_MS = 900000, /* a quarter of an hour */
  DAY_POOLS_MOST = 32,
  DAY_BOOKINGS_MOST = 20000 /* read at once */
};

/* ---- bookings: bookings.c, table.c, write.c ---- */

struct day_booking {
  const char *id; /* of the calendar, or of the table, or "row 7"; recurrences share one */
  int station;
  int64_t start_ms, end_ms;
  const char *who, *what, *family; /* "" where it says none; family: of the chemistry, as booked */
  struct place place;
};
struct day_bookings {
  int count;
  struct day_booking *list; /* by start, then station */
};

struct day_read_job {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t from_ms, to_ms; /* bookings that overlap it */
  const char
      *columns; /* of tables: "station=Platz,start=Von,end=Bis"; NULL: by their usual names */
  const char *pattern; /* of tables' times (base/when.h); NULL: ISO */
};
struct day_read_report {
  int events; /* or rows */
  int bookings;
  int left_out; /* of which a complaint tells */
};

/*
 * One file to bookings, behind those that are in the list.  A calendar begins with BEGIN:VCALENDAR; all
 * else is a table with a header.  What cannot be read, or names no station of the suite or one that is
 * out of service, is complained about at its place and left out; false when nothing of it was read.
 */
NODISCARD bool day_read(const struct day_read_job *job, const struct facility_text *text,
                        struct arena *arena, struct complaints *complaints,
                        struct day_bookings *list, struct day_read_report *report_out);
/* By start and station; of the same id, start and station only the last that was read. */
void day_sort(struct day_bookings *list);

void day_write_calendar(const struct facility *facility, const struct day_bookings *list,
                        bool names, int64_t now_ms, struct buf *out); /* iCalendar, RFC 5545 */
void day_write_table(const struct facility *facility, const struct when_zone *zone,
                     const struct day_bookings *list, bool names, struct buf *out); /* CSV */

/* ---- the air of a set of sashes: air.c ---- */

/*
 * A set of stations at work, everything else as in the start scene, to the state of the shared air.
 * Solved once each and remembered; opening a sash only ever takes air from the others (air_how_many_more
 * rests on it too), so what is short stays short with more, and many sets need no solve.
 */
struct day_air;
struct day_air *day_air_new(const struct facility *facility, struct err *err);
void day_air_free(struct day_air *air); /* NULL is fine */
/* Openings that people use instead of the marks, m; NaN: the mark.  Others than before: what was solved is forgotten. */
void day_air_openings(struct day_air *air, const double *openings_m);
/* At the best estimate: AMPLE, NEAR_LIMIT, SHORT; NOT_KNOWN where the model gives no answer. */
enum facility_level day_air_level(struct day_air *air, uint64_t set);
/* What `inward air` says of that set, its ± counted: a solve of its own, with what binds. */
struct day_pool {
  enum facility_level state;
  double demand_m3_s, capacity_m3_s; /* capacity NaN: not known */
};
enum facility_level day_air_solve(struct day_air *air, uint64_t set, struct day_pool *pools,
                                  struct arena *arena, const char **binding_out);
/* A smallest part of a set that is short by itself: each one lowered ends it. */
uint64_t day_air_core(struct day_air *air, uint64_t set);
/* What a station at work adds to the demand of a pool, the others parked, m3/s. */
double day_air_adds_m3_s(struct day_air *air, int station, int pool);
double day_air_parked_m3_s(struct day_air *air, int pool);
long day_air_solves(const struct day_air *air);

/* ---- habits: habits.c ---- */

/* A stretch in which a sash was up, or in which the record does not know it. */
struct day_use {
  int station;
  bool known;
  int64_t from_ms, to_ms;
  double opening_m; /* how far up; NaN: not known */
};
struct day_uses {
  int count;
  const struct day_use *list; /* in any order */
  int64_t from_ms, to_ms;     /* that was looked at; equal: there is no record */
  uint64_t untold;            /* stations whose sash no point tells */
};

struct day_habit {
  int cases;        /* bookings it rests on */
  int came;         /* of them */
  bool from_record; /* enough cases; else the suite's settings */
  bool of_all;      /* of all stations together, for this one alone has too few */
  double late_s, late_spread_s, over_s, over_spread_s, comes_ratio, up_ratio;
  double opening_m; /* NaN: the mark */
};
/* Worked at with nobody booked: unbooked.c. */
struct day_unbooked {
  int uses, unbooked; /* stretches of at least a quarter of an hour; of them with no booking near */
  double unbooked_s;
  int64_t last_ms; /* when the newest began; INT64_MIN: none */
};
struct day_habits {
  struct day_habit *stations;    /* per station */
  struct day_unbooked *unbooked; /* per station */
  int64_t
      unbooked_from_ms; /* from when on: the first booking that was read, or value of the record */
  struct day_habit all;
  struct day_uses uses; /* its list is borrowed */
};
/* Bookings before `until_ms` against what the record saw. */
struct day_habits day_learn(const struct facility *facility, const struct day_bookings *list,
                            const struct day_uses *uses, int64_t until_ms, struct arena *arena);

/* ---- chance: odds.c ---- */

/* "never", "under 1 in 100", "1 in 3", "9 in 10", "almost surely". */
void day_odds(double ratio, struct buf *out);
/*
 * How probable it is that sashes, each up with its own probability and independent of the others, make the
 * air at least so bad.  Exact up to DAY_EXACT_MOST sashes that may or may not be up; beyond, from scenes
 * drawn always alike.
 */
enum { DAY_EXACT_MOST = 16 };
double day_chance_ratio(struct day_air *air, uint64_t up, const double *up_ratio, int station_count,
                        enum facility_level at_least);
/* The same where who is at work comes together: each station's probability is a Beta variate of the same
 * mean with correlation `together_ratio`, all at the same quantile.  Equal probabilities: the
 * beta-binomial. */
double day_chance_together_ratio(struct day_air *air, uint64_t up, const double *up_ratio,
                                 int station_count, double together_ratio,
                                 enum facility_level at_least);
double day_beta_quantile_ratio(double alpha_ratio, double beta_ratio, double p_ratio);

/* Percentiles of base + sum of independent two-valued flows, by convolution in steps of 1 L/s. */
struct day_band {
  double p5_m3_s, p50_m3_s, p95_m3_s;
};
struct day_band day_convolve(double base_m3_s, const double *adds_m3_s, const double *up_ratio,
                             int count, struct arena *arena);

/* ---- the answer: answer.c ---- */

enum day_conflict_kind {
  DAY_SAME_STATION,
  DAY_SAME_PERSON,
  DAY_NOT_HERE,   /* its chemistry, by the station's own card */
  DAY_CLEAN_DOWN, /* two families, too little between them */
  DAY_NOT_MAY,    /* as `may` says, where it is asked */
  DAY_CONFLICT_KINDS
};
struct day_conflict {
  enum day_conflict_kind kind;
  int a, b; /* into the day's bookings; b -1: none */
  const char *text;
};
const char *day_conflict_name(enum day_conflict_kind kind); /* "same_station" */

struct day_quarter {
  int64_t t_ms;
  uint64_t booked;               /* stations */
  enum facility_level as_booked; /* everyone comes, on time, sash at the opening they use */
  const char *binding;           /* of that; or NULL */
  struct day_pool pools[DAY_POOLS_MOST];
  struct day_band bands[DAY_POOLS_MOST];
  double short_ratio, near_ratio; /* at least near limit; NaN: not known */
  double short_together_ratio, near_together_ratio;
  int like_days, like_short, like_near; /* the record's same weekdays, replayed */
};

/* ---- who could be the second person: second.c ---- */
enum day_need {
  DAY_NO_NEED,
  DAY_NEED,
  DAY_NEED_STAFF_THERE, /* and staff are there by their hours: they can be asked */
  DAY_NEED_NOT_KNOWN    /* whether staff are there is not known */
};
enum day_can { DAY_CANNOT, DAY_CAN, DAY_CAN_ENDORSED /* for that process, too */ };
enum { DAY_SECOND_MOST = 8 };
struct day_span {
  int64_t from_ms, to_ms;
};
struct day_second { /* of a booking that wants another inside */
  int booking;
  double needed_s;
  bool known, staff; /* staff: could be asked in some of it */
  int who_count,
      who[DAY_SECOND_MOST]; /* bookings of the day whose person could be it in some of it */
  int lacking_count;
  struct day_span lacking[DAY_SECOND_MOST]; /* when nobody is */
  int64_t
      move_ms; /* the nearest start with somebody throughout; INT64_MIN: none, or nobody is missed */
};

/* One booking moved, or two. */
struct day_move {
  int booking;
  int64_t start_ms;
  bool outside; /* earlier or later than the suite's hours: never offered, only asked */
};
struct day_better {
  int count; /* 0: none helps */
  struct day_move moves[2];
  double short_before_s, short_after_s;          /* expected time short */
  double near_before_s, near_after_s;            /* expected time at least near limit */
  enum facility_level worst_before, worst_after; /* as booked */
};

struct day_request {
  const struct facility *facility;
  const struct when_zone *zone;
  struct day_air *air;
  const struct day_bookings *bookings; /* of all times read */
  const struct day_habits *habits;
  struct when_civil date;
  const char *move_id; /* a trial: this booking ... */
  int64_t move_to_ms;  /* ... then; recurrences of the day: the first */
  bool better;         /* look for bookings to move */
  /* Why a person may not, by rules; NULL: nothing against it, which permits nothing.  NULL: not asked. */
  const char *(*may_not)(void *arg, const struct day_booking *booking);
  /* Whether another must be inside in the quarter hour from t_ms on, and whether the person of `other` could be
   * that, if that booking holds.  NULL: not asked. */
  enum day_need (*second_needs)(void *arg, const struct day_booking *booking, int64_t t_ms);
  enum day_can (*second_can)(void *arg, const struct day_booking *booking,
                             const struct day_booking *other);
  void *arg;
};

struct day_answer {
  const struct day_request *request;
  int64_t from_ms, to_ms;
  bool trial, move_found;
  struct day_bookings day; /* those that overlap it, the moved one at its new time */
  int pool_count, quarter_count;
  struct day_quarter quarters[DAY_QUARTERS_MOST];
  int conflict_count;
  struct day_conflict *conflicts;
  int second_count;
  struct day_second *seconds;       /* in the order of the day's bookings */
  bool known;                       /* the model answers for every quarter */
  double short_s, near_s;           /* expected */
  enum facility_level worst_booked; /* as booked */
  int worst;                        /* the quarter most likely short, then near; -1: none */
  struct day_better one, two;
  int assumed_count;
  const char *assumed[24];
};

/* NULL with ERR_INPUT (no such booking to move) or ERR_LIMIT. */
struct day_answer *day_ask(const struct day_request *request, struct arena *arena, struct err *err);
/* Whether the day calls for a person: short is likelier than 1 in 20, or a conflict. */
bool day_needs_person(const struct day_answer *answer);

/* ---- a whole schedule: model.c, plan.c ---- */

/*
 * Every booking of a stretch of time at one of its possible starts, or left out, as a model of zeros and
 * ones: one booking at a station and one place of a person at a time, no more at work at once than any set
 * that the real model finds fine, and moves as few and as short as can be.  The rows about air are cuts of
 * the real air: none takes away a schedule that the real model allows, and what a solution breaks all the
 * same is cut off (day_model_cut) until nothing is.
 */
struct day_column {           /* a booking at one start; length 0: left out */
  int booking, first, length; /* quarters from the beginning */
  int64_t start_ms;
  double cost_count; /* quarters it is moved by, and DAY_MOVED_COUNT for being moved at all */
};
struct day_row { /* sum of values times columns <= most, or == where `equal` */
  bool equal;
  double most_count;
  int count;
  int *columns;
  double *values;
};
struct day_model {
  const struct facility *facility;
  const struct day_bookings *wishes;
  int64_t from_ms;
  int quarter_count;
  int column_count, row_count, row_room;
  struct day_column *columns;
  struct day_row *rows;
  int air_rows; /* the first, before any cut */
};
enum { DAY_MOVED_COUNT = 2, DAY_LEFT_OUT_COUNT = 1000, DAY_ROWS_MOST = 200000 };

/* NULL when it does not fit into the arena. */
struct day_model *day_model_new(const struct facility *facility, struct day_air *air,
                                const struct day_bookings *wishes, int64_t from_ms, int64_t to_ms,
                                struct arena *arena);
/* Cuts off what the real air does not allow of a choice of columns; returns how many sets were short. */
int day_model_cut(struct day_model *model, struct day_air *air, const bool *chosen,
                  struct arena *arena);
void day_model_mps(const struct day_model *model,
                   struct buf *out); /* MPS, as every solver reads it */

struct day_solution {
  bool found;
  double cost_count, bound_count; /* no schedule costs less than the bound */
  double took_s;
  bool *chosen; /* per column; the caller's */
};
/* Whoever solves: a child process of the command line, or all ways tried in a test. */
typedef enum err_code day_solve_fn(void *arg, const struct day_model *model, double seconds_s,
                                   struct day_solution *out, struct err *err);
struct day_plan_job {
  day_solve_fn *solve;
  void *arg;
  double seconds_s; /* for all rounds together */
};
struct day_plan {
  bool found, agrees; /* the real air allows every quarter hour of it */
  int round_count, cut_count;
  int moved_count, left_out_count;
  double cost_count, bound_count, took_s;
  int64_t *start_ms; /* per booking of the answer's day; INT64_MIN: left out */
  int64_t full_ms;   /* the quarter hour with the most at work, and why no more */
  int full_count;
  const char *binding; /* or NULL */
};
/* ERR_IO of who solves; no schedule within the time is an answer. */
NODISCARD enum err_code day_plan(const struct day_answer *answer, const struct day_plan_job *job,
                                 struct arena *arena, struct day_plan *out, struct err *err);

/* ---- beyond the day: weeks.c ---- */

enum { DAY_WEEK_HOURS_MOST = 170, DAY_WEEKS_MOST = 100000 };

/*
 * Weeks drawn by chance from one week's bookings and what people do of them, and the same with more groups:
 * each brings so many bookings, each like one that is there, moved to where its station is free.  On some
 * days people come together: the suite's correlation.  The same seed, the same weeks.
 */
struct day_weeks_job {
  const struct facility *facility;
  const struct when_zone *zone;
  struct day_air *air;
  const struct day_bookings *bookings;
  const struct day_habits *habits;
  int64_t monday_ms; /* when the week begins */
  int week_count, group_count;
  uint64_t seed;
};
struct day_hour {
  int64_t t_ms;
  int short_now, short_then; /* of the weeks, in how many some quarter of an hour of it was short */
};
struct day_weeks {
  int hour_count;
  struct day_hour hours[DAY_WEEK_HOURS_MOST];
  int booked_count;                      /* in the week as it is */
  int weeks_short_now, weeks_short_then; /* weeks with any hour short */
  long without_place;  /* bookings of groups that found none, all weeks together */
  int worst;           /* the hour that is short most often then; -1: none */
  const char *binding; /* what its commonest set misses; or NULL */
};
NODISCARD enum err_code day_weeks_ask(const struct day_weeks_job *job, struct arena *arena,
                                      struct day_weeks *out, struct err *err);
void day_weeks_text(const struct day_weeks_job *job, const struct day_weeks *weeks,
                    struct buf *out);
void day_weeks_json(const struct day_weeks_job *job, const struct day_weeks *weeks,
                    struct buf *out); /* inward.weeks.1 */

/* ---- for people and programs: text.c, json.c ---- */
struct day_said { /* what came of the reading */
  int file_count;
  const char *const *files;
  int left_out; /* events and rows complained about */
  int fault_count;
  const char *const *faults; /* "week.ics:12:1: ..." */
};
/* The sentence for a wall, and the act below it. */
void day_sentence(const struct day_answer *answer, struct buf *out);
void day_advice(const struct day_answer *answer,
                struct buf *out); /* the one to move, or why none */
void day_text(const struct day_answer *answer, const struct day_said *said, bool names,
              struct buf *out);
void day_plan_text(const struct day_answer *answer, const struct day_plan *plan, struct buf *out);
/* inward.day.1; `plan` NULL: not asked for. */
void day_json(const struct day_answer *answer, const struct day_said *said,
              const struct day_plan *plan, bool names, struct buf *out);

#endif
