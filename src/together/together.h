#ifndef TOGETHER_TOGETHER_H
#define TOGETHER_TOGETHER_H

#include "air/air.h"
#include "base/arena.h"
#include "base/buf.h"
#include "facility/facility.h"

#include <stdint.h>

/*
 * Who may work together: answer = f(facility, scene).
 *
 * Every set of the stations that may be raised is judged by the exact laws: is anything missed while
 * just these are at work, all others parked?  From the table of all sets come the words for a wall,
 * the largest sets, the tightest, and the smallest that break something.  The same with each fan,
 * supply, door and main lost in turn.  Method, and what is checked: docs/why/together.md.
 *
 *     struct together_request request = {.scene = &scene, .lost = true};
 *     struct together_answer *answer = together_ask(facility, &request, &arena, &err);
 *     together_text(answer, &out);
 *
 * Two columns: at the best estimate, and where the file says how sure its figures are also at their
 * doubtful end.  The words hold at the doubtful end.  Memory from the arena; the facility is borrowed
 * and must outlive the answer.  No permission and no clearance: it advises.
 */
enum { TOGETHER_WORK_MAX_BYTES = 400 << 20 }; /* of an arena for one answer */
enum { TOGETHER_SETS_SHOWN = 12, TOGETHER_RULES_MAX = 8, TOGETHER_WEIGHT_MAX = 3 };

struct together_request {
  const struct scene *scene; /* doors, fans, weather, who is withdrawn */
  int station_count;         /* 0: every station that may be raised */
  const int *stations;
  bool lost;         /* with each part lost in turn, too */
  long solve_budget; /* of all together; 0: the usual */
  unsigned long
      most_states_solved; /* above it not every state is solved but the boundary; 0: usual */
  bool one_by_one;        /* never in lanes, whatever the network */
  enum net_path path;     /* of the lanes; every one gives the same table */
};

/* A set that is shown: some stations at work, and what that misses. */
struct together_set {
  uint32_t stations;
  int size, miss_count;
  const char **misses; /* at most AIR_SET_MISSES_MAX of them */
  int next;            /* of the tightest: the station that breaks it, as bit; else -1 */
};

/* One clause: of these stations so many at a time, where some count twice. */
struct together_rule {
  int pool;          /* -1: of all together */
  uint32_t stations; /* that count at all */
  int weight[AIR_SETS_MAX];
  int allowed, of; /* of: all of them at once */
};

/* How the table came about. */
struct together_work {
  long states; /* sets that differ by more than the names of equal stations */
  long
      in_lanes; /* solved and verified in a comb's lanes, 16 sets at a time; then each set is a state */
  long side_by_side; /* states of any other network that were, net/sets.h */
  long solved;       /* of them; the rest follows */
  long checked;      /* solved a second time, cold, or solved although it followed */
  long corrected;    /* whose verdict that changed */
  long not_monotone; /* raising one more ended a miss, or what followed was not so */
  long fallbacks, unanswered, several;
};

struct together_sets {
  bool known;       /* else the air with all parked has no answer, or there are too many stations */
  const char *why;  /* not known */
  bool exact;       /* every set is judged; else it is not known either, and `why` has bounds */
  bool sure;        /* the doubtful end was worked out and counts */
  bool nothing;     /* all parked already misses something: then none may open */
  bool at_doubt;    /* only at the doubtful end */
  int parked_count; /* what that is */
  const char **parked_misses;
  unsigned char *table; /* per set: TOGETHER_FINE | TOGETHER_SURE */
  long fine_count, sure_count;
  /* any so many of all, whichever they are; some choice of so many; [1] at the doubtful end */
  int any[2], best[2];
  long best_count, tightest_count, breaking_count;
  const uint32_t *minimal; /* all breaking_count of them, by number */
  uint32_t counts;         /* stations that are in one of them */
  int best_shown, tightest_shown, breaking_shown;
  struct together_set largest[TOGETHER_SETS_SHOWN];  /* of those with the most stations */
  struct together_set tightest[TOGETHER_SETS_SHOWN]; /* nothing more fits: the smallest of them */
  struct together_set breaking[TOGETHER_SETS_SHOWN]; /* minimal, the smallest first */
  int rule_count;
  struct together_rule rules[TOGETHER_RULES_MAX];
  long allowed_count; /* sets that the rules allow */
  uint32_t own_fault; /* misses its criterion alone: counted by what it draws */
  struct together_work work;
  const char *words; /* for a wall */
};
enum { TOGETHER_FINE = 1, TOGETHER_SURE = 2 };

enum together_part {
  TOGETHER_FAN_UNIT,
  TOGETHER_FAN,
  TOGETHER_MAIN,
  TOGETHER_SUPPLY,
  TOGETHER_DOOR
};

struct together_lost {
  enum together_part part;
  int index;
  const char *id, *what; /* "AF/2"; "AF/2 (Acid fans)" */
  int lost, of;          /* units of the fan group; doors and supplies 1 of 1 */
  struct scene scene;
  struct together_sets sets;
};

struct together_answer {
  const struct facility *facility;
  const char *scene;
  int count; /* of stations asked about */
  int stations[AIR_SETS_MAX];
  int all_count;    /* of those that may be raised: more than `count` where there are too many */
  const char *base; /* "AF/2 off, D1 open" of the scene; NULL: nothing */
  enum air_tier tier;
  struct together_sets sets;
  int lost_count;
  struct together_lost *lost;
  int unknown_count;
  const char **unknown; /* what this answer does not know */
};

/* NULL with err: ERR_INPUT for stations that cannot be meant, ERR_LIMIT. */
struct together_answer *together_ask(const struct facility *facility,
                                     const struct together_request *request, struct arena *arena,
                                     struct err *err);
/* The lost part of that id ("AF/2", "MU", "D1"); NULL: none. */
const struct together_lost *together_find_lost(const struct together_answer *a, const char *id);
/* "A1,S3" and the like: indices of stations; -1 with err. */
int together_stations(const struct facility *f, const char *list, int *out, struct err *err);

/* Ids of a set, with commas; "nothing" for the empty one. */
const char *together_ids(const struct together_answer *a, uint32_t set, struct arena *arena);

void together_text(const struct together_answer *a, struct buf *out);
void together_json(const struct together_answer *a, struct buf *out);

/* ---- one station more ---- */

enum { TOGETHER_HOURS = 168, TOGETHER_ADD_MAX = 20 }; /* Monday 0:00 is hour 0; stations at most */

/* How much of its time a station is at work, by hour of week. */
struct together_use {
  bool known;
  double up_ratio[TOGETHER_HOURS];
  const char *from; /* "stated", "recorded, 6 weeks" */
};
/* "S3=30%", "all=20%", "S3=60% Tue 13-17", "S3=60% Mon-Fri 8-18": later ones win.  `uses` per station of
 * the facility; ERR_INPUT names what is wrong. */
NODISCARD enum err_code together_take_use(const struct facility *f, const char *text,
                                          struct together_use *uses, struct arena *arena,
                                          struct err *err);

/* A quarter of an hour of the record: which stations (of `before`'s facility) were up. */
struct together_moment {
  int hour, week; /* of the week; any number that tells weeks apart */
  uint64_t up;
};
struct together_add_request {
  const struct together_answer *before, *after;      /* without parts lost; both known */
  const struct together_use *before_use, *after_use; /* per station of each facility */
  double together_ratio;                             /* correlation of those at work */
  const char *together_from;                         /* whose figure that is */
  int moment_count;
  const struct together_moment *moments;
};

struct together_chance {          /* of a moment in that hour; near: near limit, or short */
  double short_ratio, near_ratio; /* each comes and goes by itself */
  double short_together_ratio, near_together_ratio; /* they come and go together */
  double short_like_ratio, near_like_ratio;         /* as it was on recorded days; NaN: none */
};
struct together_hour {
  struct together_chance before, after;
  int like_days;
  int first; /* the first hour of the same chances */
};
struct together_added {
  const struct together_add_request *request;
  uint32_t added; /* bits of `after` */
  struct together_hour hours[TOGETHER_HOURS];
};
/* NULL with ERR_INPUT when a use is not known, nothing is added, or there are too many stations. */
struct together_added *together_add(const struct together_add_request *request, struct arena *arena,
                                    struct err *err);
void together_added_text(const struct together_added *a, struct buf *out);
void together_added_json(const struct together_added *a, struct buf *out);

/* The first line of every failure card (design: nothing else may come before it). */
extern const char together_first_line[];

#endif
