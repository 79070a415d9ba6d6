#ifndef WET_WET_H
#define WET_WET_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/when.h"
#include "facility/chemicals.h"
#include "facility/facility.h"
#include "facility/feeds.h"
#include "meet/meet.h"
#include "record/record.h"
#include "watch/watch.h"

/*
 * A day at the wet benches, out of what people told: which bath stands in which tank, what is due next
 * and why; which waste container stands where, what went into it, and what may.
 *
 * Nothing here is measured.  Every answer is a fold over the acts in the record, in the order of time,
 * against what the house set in its chemicals file; what was not told is not known, and never good.
 * answer = f(facility, chemicals, tables, acts, now).
 *
 *     wet_recorded(record, now_ms, &arena, &past, &err);
 *     struct wet_baths *baths = wet_baths(&place, past, &arena);
 *     wet_baths_text(baths, UNITS_SYSTEM_SI, &out);
 *
 * An act is an entry of kind `bath` or `waste` whose detail is inward.wet.1.  An entry is never changed:
 * what was told wrongly is taken back by a later one that names its number.  The same tap twice counts
 * once: a page sends a word of its own with each tap (`tap`), and what was told with it before does not
 * count again.
 *
 * Everything lives in the arena; place and past are borrowed.
 */

/* ---- acts ---- */
enum wet_act {
  WET_MADE,  /* poured fresh */
  WET_FOUND, /* it stands there, since when is not known */
  WET_TOPPED,
  WET_WAFERS,
  WET_TEMPERATURE, /* read */
  WET_LEVEL,       /* read */
  WET_DUMPED,      /* to the tank's drain, or into a container */
  WET_OPENED,      /* an empty, clean container begins */
  WET_ADDED,
  WET_FILL, /* read */
  WET_CLOSED,
  WET_COLLECTED,
  WET_TAKEN_BACK,
  WET_ACT_COUNT
};
const char *wet_act_word(enum wet_act act); /* "made", "taken-back" */
int wet_act_find(const char *word);         /* -1: no such act */

/* One act as it was told.  NULL and NaN: not said. */
struct wet_told {
  enum wet_act act;
  const char *tank, *bath, *container, *stream, *what, *into, *tap;
  double volume_m3, volume_pm_m3, temperature_K, fill_ratio, fill_pm_ratio;
  int64_t wafers; /* 0: not said */
  int64_t entry;  /* taken back: its number; 0 */
  /* what the record says of it */
  int64_t number, t_ms, written_ms;
  const char *who, *text;
  const char *void_why; /* "taken back by entry 14"; NULL: it counts */
};

/* inward.wet.1, on one line. */
void wet_detail(const struct wet_told *told, struct buf *out);
/* Strictly: a key too many, a wrong type or what the act does not need is not read.  The texts are the
 * arena's.  What the record says of it is left alone. */
NODISCARD bool wet_detail_read(const char *detail, struct arena *arena, struct wet_told *out);

/* All that was told, in order of time. */
struct wet_past {
  int count;
  const struct wet_told *list;
  int unread_count;  /* entries of these kinds that cannot be read: what they said is not known */
  int64_t unread_ms; /* of the newest of them: what began before it is not known; INT64_MIN */
  int64_t cut_ms;    /* what began before it may have left entries out; INT64_MIN */
  bool is_cut;       /* there are older ones than were looked at */
};
struct wet_past *wet_past(const struct record_entry *entries, int count, struct arena *arena);
/* The same from a record, up to now_ms.  What a clock that was ahead wrote cannot be placed: it counts as
 * unread until its moment comes. */
NODISCARD enum err_code wet_recorded(struct record *record, int64_t now_ms, struct arena *arena,
                                     struct wet_past **out, struct err *err);

struct wet_place {
  const struct facility *facility;
  const struct chemicals *own; /* NULL: the suite names no chemicals file */
  const struct chem *chem;     /* with its own bottles: chem_with */
  const struct meet_facts *meet;
  const struct when_zone *zone;
  int64_t now_ms;
  /* What is measured at that moment; NULL: nothing is. */
  const struct feeds *feeds;
  const struct watch_input *inputs;     /* per point of feeds */
  const struct watch_station *stations; /* per station */
};

/* With the tables read into the arena; the moment is the caller's to set.  `own` may be NULL. */
struct wet_place wet_place_of(const struct facility *facility, const struct chemicals *own,
                              const struct when_zone *zone, struct arena *arena);

/* What is measured, copied out of a belief of that moment; the feeds are borrowed. */
void wet_see(struct wet_place *place, const struct feeds *feeds, const struct watch_belief *belief,
             struct arena *arena);

/* Whether the baths of tanks are ones that `inward bath` knows; complains of each that is not. */
bool wet_names_fit(const struct chem *chem, const struct chemicals *own,
                   struct complaints *complaints);

/* Whether each point of the feeds file that a wet bench names is there, of its station, and says what is
 * meant; complains of each that is not.  feeds NULL: the suite names none. */
bool wet_points_fit(const struct facility *facility, const struct feeds *feeds,
                    const struct chemicals *own, struct complaints *complaints);

/* ---- baths of the day ---- */
enum wet_state { WET_EMPTY, WET_STANDS, WET_DUE, WET_NOT_KNOWN }; /* by rising need of a person */
const char *wet_state_key(enum wet_state state);                  /* "not_known" */

enum { WET_LINES_MOST = 8 };

struct wet_lines {
  int count;
  const char *line[WET_LINES_MOST];
};

struct wet_tank {
  const struct chemicals_tank *tank;
  const char *bath; /* the name of what the file says is made in it */
  enum wet_state state;
  struct wet_lines reasons, notes;
  const struct wet_told *made;                /* or found; NULL: nothing stands */
  const struct wet_told *last;                /* the newest that counts; NULL */
  const struct wet_told *temperature, *level; /* the newest of this bath; NULL */
  double life_s;                              /* NaN: none is set */
  const char *life_of;                        /* where it is from */
  int64_t due_ms;                             /* the next; INT64_MIN: no moment is known */
  const char *due_why;                        /* NULL */
  int64_t wafers;
  double level_m3;  /* as read, and what was topped up since; NaN */
  double topped_m3; /* in all; NaN: one was told without its volume */
  int topped_count;
  const char *topped[WET_LINES_MOST]; /* each other thing once */
  bool is_topped_cut;                 /* with more than are listed */
};

struct wet_baths {
  const struct wet_place *place;
  const struct wet_past *past;
  enum wet_state state; /* the worst */
  int count;
  const struct wet_tank *tanks; /* in the order of the file */
  struct wet_lines strangers;   /* tanks that something was told of, and the file does not name */
};
struct wet_baths *wet_baths(const struct wet_place *place, const struct wet_past *past,
                            struct arena *arena);
void wet_baths_text(const struct wet_baths *baths, enum units_system system, struct buf *out);
void wet_baths_json(const struct wet_baths *baths, struct buf *out); /* inward.baths.1 */

/* ---- wet benches: what is measured there, against what the house states ---- */

/*
 * A wet bench is no hood: its deck draws air at all times, its trays catch what leaks, its heaters are cut
 * out by what could burn or boil dry.  This reads and says; nothing here switches anything, and what is
 * not measured is said to be unseen.  A function of the baths (what stands where) and of what is measured.
 *
 *     const struct wet_benches *benches = wet_benches(baths, &arena);
 *     const struct wet_bench *bench = wet_bench_of(benches, station);    // NULL: it has nothing of a bench
 */

/* By rising need of a person. */
enum wet_need {
  WET_QUIET,  /* nothing that is measured speaks against it: no clearance */
  WET_UNSEEN, /* no point sees it */
  WET_SILENT, /* a point should, and says nothing of now */
  WET_CALL    /* a person is needed now */
};
const char *wet_need_key(enum wet_need need); /* "not_known" */

/* What a point says of now. */
struct wet_reading {
  const char *point; /* NULL: none is named */
  bool is_known;
  double si, age_s;
  const char *why; /* not known: in words */
};

struct wet_deck {
  double least_m3_s, flow_m3_s; /* NaN: not set; not known */
  enum wet_need need;
  const char *says;
};

struct wet_lock {
  enum chemicals_lockout of;
  bool is_known, holds;
  bool is_silent; /* not known, though a point should say it */
  const char *says;
};

struct wet_heater {
  const struct chemicals_heater *heater;
  const struct wet_tank *tank;
  enum wet_need need;
  const char *head; /* "CONTRADICTION" */
  struct wet_reading heats, temperature;
  int lock_count;
  struct wet_lock locks[CHEMICALS_LOCKOUT_COUNT];
  const char *says, *next; /* next: NULL where nobody is asked */
};

struct wet_tray {
  const struct chemicals_tray *tray;
  enum wet_need need;
  struct wet_reading leak;
  int above_count;
  const char *const *above;        /* "T-1: SC-1, poured 14:05" */
  const struct meet_answer *meets; /* what may meet in it; NULL: fewer than two things are known */
  bool some_not_known;             /* above it stands what nobody knows */
  const char *says, *tell, *next;
};

struct wet_rinse {
  const struct chemicals_rinse *rinse;
  struct wet_reading resistivity, dumps;
  bool is_known, is_reached; /* what is set for a rinse */
  const char *says;
};

struct wet_bench {
  int station;
  enum wet_need need;
  struct wet_lines reasons; /* the worst first */
  struct wet_deck deck;
  struct wet_lines standing; /* what stands there, how hot */
  int heater_count, tray_count, rinse_count, drain_count;
  const struct wet_heater *heaters;
  const struct wet_tray *trays;
  const struct wet_rinse *rinses;
  const struct chemicals_drain *const *drains;
};

struct wet_benches {
  const struct wet_baths *baths;
  enum wet_need need; /* the worst */
  int count;
  const struct wet_bench *list; /* in the order of the suite's stations */
};
struct wet_benches *wet_benches(const struct wet_baths *baths, struct arena *arena);
const struct wet_bench *wet_bench_of(const struct wet_benches *benches, int station);
/* In one line: "CALL: leak tray TR-1 is wet"; NULL: nothing to say. */
const char *wet_bench_line(const struct wet_bench *bench, struct arena *arena);

/* May this bath be let down that drain now?  Never a clearance. */
struct wet_dump {
  const struct wet_place *place;
  const struct wet_tank *tank;         /* NULL: the file has none of that name */
  const struct chemicals_drain *drain; /* NULL: none is known */
  const char *tank_id, *drain_id;
  enum meet_verdict verdict;
  struct wet_lines reasons; /* the worst first */
  int what_count, before_count;
  const char *const *what, *const *before; /* in the tank; what went down before and still counts */
  const struct meet_answer *meets;         /* NULL: nothing was asked */
};
/* drain NULL: the one that the file names for the tank. */
struct wet_dump *wet_dump(const struct wet_baths *baths, const char *tank, const char *drain,
                          struct arena *arena);
void wet_dump_text(const struct wet_dump *dump, enum units_system system, struct buf *out);
void wet_dump_json(const struct wet_dump *dump, struct buf *out); /* inward.drain_may.1 */

/* ---- waste ---- */
struct wet_item {
  const struct wet_told *told;
  const char *what;
  const char *tank; /* it came out of; NULL */
};

struct wet_container {
  const char *id;
  const struct chemicals_stream *stream; /* NULL: the file has none of that name */
  const char *stream_id;
  enum wet_state state;
  struct wet_lines reasons, notes;
  const struct wet_told *opened, *closed, *last; /* NULL; opened NULL: how it began is not known */
  int64_t first_ms;                              /* something went in; INT64_MIN */
  bool history_known;
  double fill_low_ratio, fill_high_ratio; /* NaN: not known */
  const char *fill_why;
  int64_t due_ms;
  const char *due_why;
  int item_count, held_count;
  const struct wet_item *items;
  const char *const *held; /* each thing once, for `meet` */
  bool gives_gas;          /* by the tables, of what it held */
  const char *gas_why;
};

struct wet_waste {
  const struct wet_place *place;
  const struct wet_past *past;
  enum wet_state state;
  int count, collected_count;
  const struct wet_container *containers; /* those that stand, in the order they began */
};
struct wet_waste *wet_waste(const struct wet_place *place, const struct wet_past *past,
                            struct arena *arena);
void wet_waste_text(const struct wet_waste *waste, enum units_system system, struct buf *out);
void wet_waste_json(const struct wet_waste *waste, struct buf *out); /* inward.waste.1 */
const struct wet_container *wet_container_find(const struct wet_waste *waste, const char *id);

/* What a held thing is, in full: a bath with what it is made of, or a substance. */
struct wet_content {
  const char *name;    /* as given where no table knows it */
  const char *hazards; /* codes of a bath as a whole, beside those of its substances; "" */
  int substance_count; /* 0: not in the tables */
  const struct chem_substance *const *substances;
};
struct wet_content wet_content(const struct wet_place *place, const char *what,
                               struct arena *arena);

/* May these go in?  Never a clearance. */
struct wet_may {
  const struct wet_place *place;
  const char *container;
  int what_count;
  const char *const *what;
  enum meet_verdict verdict;
  struct wet_lines reasons;        /* ours, the worst first */
  const struct meet_answer *meets; /* NULL: could not be asked, and a reason says why */
};
struct wet_may *wet_may(const struct wet_waste *waste, const char *container,
                        const char *const *what, int what_count, struct arena *arena);
void wet_may_text(const struct wet_may *may, enum units_system system, struct buf *out);
void wet_may_json(const struct wet_may *may, struct buf *out); /* inward.waste_may.1 */

/* ---- telling ---- */
/* As a person says it; the texts are borrowed. */
struct wet_request {
  const char *act, *tank, *container, *stream, *what, *amount, *into, *tap, *entry, *anyway;
};
/* ERR_USAGE: no such key. */
NODISCARD enum err_code wet_take(struct wet_request *request, const char *key, const char *value,
                                 struct err *err);
extern const char wet_keys[]; /* "act|tank|..." */

/* What is to be written down; or why not. */
struct wet_telling {
  const char *refused;       /* it does not fit what was told before; NULL: it does */
  int64_t already;           /* told with the same tap: the number of that entry; 0 */
  const char *warning;       /* it is written down, and a person is needed now; NULL */
  struct record_entry entry; /* without who and times */
};
/* ERR_INPUT: what cannot be meant. */
NODISCARD enum err_code wet_tell(const struct wet_place *place, const struct wet_past *past,
                                 const struct wet_request *request, struct arena *arena,
                                 struct wet_telling *out, struct err *err);

/* "about two thirds", "60 %", "60 % ± 2 %": the share and how far it may be off. */
NODISCARD bool wet_read_fill(const char *text, double *ratio_out, double *pm_out_ratio);
/* "1.5 L", "about 1.5 L" */
NODISCARD bool wet_read_volume(const char *text, double *out_m3, double *pm_out_m3);

/* ---- quantities per cabinet and out of one ---- */
struct wet_sum {
  const struct chemicals_most *most;
  double volume_m3; /* of what counts there */
  bool exceeds;     /* certainly */
  bool may_exceed;  /* if what has no category counted too */
  double unsure_m3; /* has no flash point in the tables */
};
struct wet_store {
  const struct chemicals_store *store;
  int sum_count;
  const struct wet_sum *sums;
  int unsure_count;
  const char *const *unsure; /* what has no category */
  const int *
      categories; /* of each amount: 1 to 4; 0: none of them, its flash point is higher; -1: not known */
  double volume_m3; /* of all that stands there */
};
struct wet_stock {
  const struct wet_place *place;
  bool exceeds, unsure;
  int count;
  const struct wet_store *stores;
};
struct wet_stock *wet_stock(const struct wet_place *place, struct arena *arena);
void wet_stock_text(const struct wet_stock *stock, enum units_system system, struct buf *out);
void wet_stock_json(const struct wet_stock *stock, struct buf *out); /* inward.stock.1 */
/* 1 to 4; 0: its flash point is above them all; -1: not known.  boiling NaN: category 1 cannot be told from 2. */
int wet_flash_category(double flash_K, double boiling_K);

#endif
