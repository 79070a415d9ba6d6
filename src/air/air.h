#ifndef AIR_AIR_H
#define AIR_AIR_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/err.h"
#include "facility/facility.h"
#include "net/comb.h"
#include "net/net.h"
#include "net/sets.h"

#include <stdint.h>

/*
 * The steady air of a suite: answer = f(facility, scene).
 *
 * An air is one facility made ready to be asked often: the network built, its
 * chains folded, its pattern frozen.  Each question starts cold, so that an
 * answer never depends on the ones before it; the trial solves behind its advice
 * start from one another and cost two or three iterations each.
 *
 *     struct air *air = air_new(facility, &err);
 *     struct air_answer *answer = air_ask(air, &scene, &air_settings_default, arena, &err);
 *     puts(air_level_name(answer->state));
 *     air_free(air);
 *
 * One air belongs to one thread at a time.  Definitions of air state, headroom,
 * "how many more" and "lower first": docs/air-state.md.
 */
struct air;

/* Borrows facility, which must outlive the air. */
struct air *air_new(const struct facility *facility, struct err *err);
void air_free(struct air *air); /* NULL is fine */

struct air_settings {
  bool advise;      /* may_open, how many more, lower first: many solves */
  int solve_budget; /* at most this many network solves for advice; what was cut is in assumed[] */
  bool sure;        /* ± of the answer, and the figures that would narrow it: more solves */
  int sure_budget;  /* at most this many for it */
  bool by_kind;     /* counts: of one room and junction the more demanding stand for the less */
  bool spare_only;  /* of advice and ± only what each pool has left: no counts, lists, may_open */
};
extern const struct air_settings air_settings_default; /* without ± */
extern const struct air_settings air_settings_sure;    /* with it: what people are shown */

/* ---- the answer, all of it in one arena ---- */

enum air_tier { AIR_COARSE, AIR_BALANCED, AIR_FULL };

/* One of the figures whose ± is to blame for an answer's. */
struct air_cause {
  int input;          /* of the facility */
  bool raises;        /* more of it, more of the answer */
  double share_ratio; /* of the square of the answer's ± */
  double part_si;     /* what the answer changes by, per ± of that figure */
};
enum { AIR_CAUSES_MAX = 3 };

struct air_causes { /* the largest part first */
  int count;
  struct air_cause list[AIR_CAUSES_MAX];
};

/* The answer's ± once the one careful reading of that figure is there: nothing is gained where its ±
 * is as small already. */
double air_cause_after_si(const struct facility *facility, const struct air_cause *cause,
                          double plus_minus_si);

/*
 * How likely something is met, the figures drawn from their ± (docs/air-state.md, "How likely").
 * `met_ratio` is of its own slopes, which end where a fan, unit or terminal meets its limit;
 * `met_least_ratio` counts every case in which a pool it hangs on is past its limit as missed.
 */
struct air_odds {
  bool known;
  const char *why; /* not known, where there is more to say than that ± was not asked for */
  double met_ratio, met_least_ratio;
  struct air_causes causes;
};

struct air_keep {
  const struct facility_keep *keep;
  double actual_Pa, actual_pm_Pa; /* pm: ±, NaN where not worked out; here and below */
  bool known, met;
  struct air_odds odds;
};

struct air_room {
  bool known; /* false: isolated, no pressure; `why` says so */
  const char *why;
  double pressure_Pa, supply_m3_s, exhaust_m3_s, leakage_m3_s; /* leakage positive outward; NaN with
                                                                  plant totals and no supply */
  double pressure_pm_Pa, supply_pm_m3_s, exhaust_pm_m3_s, leakage_pm_m3_s;
  bool has_changes; /* the file gives the volume */
  double fresh_changes_per_h, total_changes_per_h;
  int keep_count;
  struct air_keep *keeps;
};

struct air_door {
  bool open;
  double flow_m3_s, drop_Pa, flow_pm_m3_s, drop_pm_Pa;
  bool known;
};
struct air_feed {
  double flow_m3_s, flow_pm_m3_s;
  enum net_segment segment;
  bool set_met;
};
struct air_supply {
  bool running;
  double flow_m3_s, flow_pm_m3_s;
  bool at_limit;
  struct air_feed *feeds;
};

struct air_fan {
  int running;
  double flow_m3_s, rise_Pa, speed_ratio; /* of all running units together */
  double flow_pm_m3_s, rise_pm_Pa, speed_pm_ratio;
  bool at_limit, left_of_peak, beyond_curve, set_met;
};

struct air_may_open { /* only for in-service parked stations, else `asked` is false */
  bool asked;
  double to_m;
  bool has_to_m;
  enum facility_level state_after; /* at the best estimate */
  const char *binding;
  bool has_sure, sure; /* fine at the doubtful end of its pools too */
};

struct air_station {
  bool has_opening;
  double opening_m, flow_m3_s, asked_m3_s;
  bool has_face_velocity;
  double face_velocity_m_s; /* implied: flow over opening, deck and bypass taken off */
  double flow_pm_m3_s, face_velocity_pm_m_s;
  struct air_causes flow_causes; /* of flow_pm_m3_s */
  struct air_odds odds;          /* that its criterion is met */
  bool has_verdict, met; /* against its criterion; no verdict when parked or nothing to judge */
  bool own_fault;        /* misses what it would miss with all others parked */
  double valve_ratio;    /* share of the path's drop taken by the valve; NaN: no valve */
  bool at_limit;         /* wide open and still short of what it asks */
  struct air_may_open may_open;
};

enum air_pool_kind { AIR_POOL_MAIN, AIR_POOL_SUPPLY };

struct air_declared {
  bool given;
  double demand_m3_s, capacity_m3_s, ratio;
  enum facility_level state;
  const char *why;
};

/* One of the figures whose better knowledge would narrow the answer most. */
struct air_narrow {
  int input;          /* of the facility */
  double share_ratio; /* of the square of the ± */
  double after_m3_s;  /* the ± once this one is as good as it can be */
};
enum { AIR_NARROW_MAX = 3 };

/* How far the air that is left in a pool may be off (docs/air-state.md, "How sure"). */
struct air_spare {
  bool known;
  double flow_m3_s; /* what could still be drawn before something is missed; < 0: missing */
  double pm_m3_s;   /* ±, as the suite combines its doubts */
  double root_m3_s, worst_m3_s; /* as independent figures; all at their worst at once */
  const char *binding;          /* what would be missed */
  int narrow_count;
  struct air_narrow narrow[AIR_NARROW_MAX];
  double narrowed_m3_s; /* the ± once all of them are */
};

struct air_pool {
  enum air_pool_kind kind;
  int index;                           /* into mains or supplies */
  enum facility_level state, computed; /* computed: what the model says beside a declared rule */
  enum facility_level best;            /* state at the best estimate, without ± */
  bool has_headroom;
  double demand_m3_s, capacity_m3_s, headroom_m3_s;
  bool at_most; /* parking the whole pool does not end what is missed: both are less than this */
  const char *binding; /* what stops it first: "keep Etch over Gown" */
  double demand_pm_m3_s, capacity_pm_m3_s, headroom_pm_m3_s;
  struct air_spare spare;
  struct air_odds odds;           /* that nothing is missed in it */
  bool rule_alone;                /* what it declares is all that is missed */
  bool within_short, within_fine; /* short, or not short, within the ± only */
  /* perhaps: any choice at the best estimate; sure: any choice at the doubtful end too; guaranteed:
   * that one of the two which counts (counts_doubts); best: some choice at the best estimate */
  int more_guaranteed, more_perhaps, more_sure, more_best;
  bool more_known;
  bool has_mark; /* all others parked: any `guaranteed` of `of` stations at the mark */
  int mark_of, mark_guaranteed, mark_perhaps;
  struct air_declared declared;
};

/* `pool` as in the answer's pools: first the mains, then the supplies. */
const char *air_pool_id(const struct facility *facility, int pool);
/* On that main, or in a room that supply feeds. */
bool air_pool_has_station(const struct facility *facility, int pool, int station);

/* One sash of a lower-first list, and the list. */
struct air_lower {
  int station;
  double to_m;
  bool has_to_m;
  double frees_m3_s;
  enum facility_level state_after;
};
struct air_lower_list {
  bool found;
  bool shut_doors; /* not found, because the doors that stand open come first */
  int count;
  struct air_lower *sashes;
  const char *why;
};

struct air_link {
  const char *id, *from, *to, *law;
  double mass_kg_s, flow_m3_s, drop_Pa;
  const char *segment;
  bool known;
};
struct air_node {
  const char *id;
  bool known;
  double pressure_Pa;
  const char *why;
};

/* Where a humped fan curve meets its system: more than one is more than one solution. */
struct air_crossing {
  int fan;
  double flow_m3_s;
  bool left_of_peak;
};

struct air_answer {
  enum air_tier tier;
  bool solved;
  enum facility_level state; /* not ample where it is so at the best estimate only */
  enum facility_level best;  /* at the best estimate */
  bool sure;                 /* ± was asked for and worked out where it could be */
  bool counts_doubts;        /* levels, counts and lists are those of the doubtful end: the file
                                says itself how sure some figure is.  Else they are the figures'. */
  /* Per pool and input of the facility: what is left there changes by, per ± of that figure.
   * NULL where ± was not asked for. */
  const double *left_slopes_m3_s;
  int weakest; /* the pool with the least left at the doubtful end, or -1 */
  int cannot_count;
  const char **cannot;  /* what this tier does not tell */
  double density_kg_m3; /* of the reference: the air of the first room, or the fixed one */
  bool density_fixed;
  int reason_count, assumed_count, unsolved_count;
  const char **reasons, **assumed, **unsolved;
  int pool_count;
  struct air_pool *pools;
  struct air_lower_list ends_short, reaches_ample;
  /* per facility arrays, same order */
  struct air_room *rooms;
  struct air_door *doors;
  struct air_supply *supplies;
  struct air_fan *fans;
  struct air_station *stations;
  int node_count;
  struct air_node *nodes;
  int link_count;
  struct air_link *links;
  int crossing_count; /* 0 unless there are several */
  struct air_crossing *crossings;
  struct net_report report;
};

/* NULL with ERR_LIMIT only when the arena is too small; no solution is an answer. */
struct air_answer *air_ask(struct air *air, const struct scene *scene,
                           const struct air_settings *settings, struct arena *arena,
                           struct err *err);

/* The same scene's pressures and flows only, for who asks often: no reasons, no advice,
 * no own faults; the state reads not known. */
struct air_answer *air_flows(struct air *air, const struct scene *scene, struct arena *arena,
                             struct err *err);

/*
 * What one centimetre more of each raised sash is worth, where the scene stands: slopes, by derivatives
 * of the solved network.  One centimetre less: the other way.
 */
struct air_cm {
  bool known;
  const char *why;  /* not known */
  double asks_m3_s; /* more, by its rule */
  double *keeps_Pa; /* the keeps of the first room, then of the next ...; NaN: not worked out */
  double *headroom_m3_s; /* per pool; NaN: no limit in reach, or none that a slope can follow */
};
struct air_per_cm {
  int keep_count, pool_count;
  struct air_cm *stations;
};
/* NULL with ERR_LIMIT when the arena is too small. */
const struct air_per_cm *air_per_cm(struct air *air, const struct scene *scene, struct arena *arena,
                                    struct err *err);

/*
 * The same scene in buildings drawn at random, every figure from its ± (normal, k = 2, independent), each
 * solved by the exact laws: a second opinion on what slopes say (JCGM 101:2008).  The same seed gives the
 * same buildings, in however many pieces they are asked for.
 *
 *     struct air_sampler *s = air_sampler_new(air, &scene, 1, &arena, &err);
 *     air_sampler_draw(s, 2000);
 *     air_sampler_tally(s)->pool_missed[0]
 *     air_sampler_free(s);
 */
struct air_sampler;
struct air_sample {
  long draws, unsolved; /* unsolved: of the draws; they count nowhere below */
  long *keep_missed;    /* the keeps of the first room, then of the next ... */
  long *station_missed, *pool_missed;
};
/* Lives in `arena`; the air is only asked while it is made.  NULL with ERR_LIMIT or ERR_INPUT. */
struct air_sampler *air_sampler_new(struct air *air, const struct scene *scene, uint64_t seed,
                                    struct arena *arena, struct err *err);
void air_sampler_free(struct air_sampler *s); /* NULL is fine */
void air_sampler_draw(struct air_sampler *s, long draws);
const struct air_sample *air_sampler_tally(const struct air_sampler *s);

/* The network as last asked, for a bug report: a small text without names. */
void air_print_problem(const struct air *air, struct buf *out);

/*
 * Every sash of a scene that may be asked to come down, by the rules of lower first: never a blocked one,
 * one that needs its flow, or one where lowering frees nothing.  Those that disturb least
 * come first: unattended (parked), then above their mark (to the mark), then attended (parked).
 * state_after is not worked out: FACILITY_NOT_KNOWN.  NULL when the arena is too small.
 */
struct air_lower *air_may_lower(struct air *air, const struct scene *scene, struct arena *arena,
                                int *count_out);
void air_lower_one(const struct facility *facility, struct scene *scene,
                   const struct air_lower *sash);

/*
 * Any of a scene's stations at work together, asked again and again.  What the scene has raised among
 * them is parked first; all else stays as it is.
 *
 *     struct air_sets *sets = air_sets_new(air, &scene, stations, count, &arena, &err);
 *     air_sets_look(sets, 1u << 3 | 1u << 0, &set);      the first and the fourth of `stations`
 *     if (air_set_is_fine(&set, 1u << 3 | 1u << 0)) ...
 *
 * A set starts from the one asked before it unless it is asked cold; then the pressures differ by
 * less than 1e-6 Pa.  Stations of one kind have equal laws and equal neighbours: which of them is at
 * work makes no difference but of name.  An idle one asks for the same flow parked and at work, so
 * one solve tells of it in both.
 */
struct air_sets;
enum { AIR_SETS_MAX = 24, AIR_SET_MISSES_MAX = 8 };

struct air_set {
  bool answered;   /* the solver had an answer */
  bool missed;     /* something is missed, idle stations aside */
  bool unknown;    /* of what is missed, all is that it cannot be known */
  bool several;    /* a humped fan curve is crossed more than once */
  uint32_t parked; /* idle stations that miss something while they are parked */
  uint32_t raised; /* the same while they are at work */
  int iterations, fallbacks;
  double residual_kg_s;
};

/* NULL with ERR_INPUT where one of them has nothing to raise or is out of service, or there are more
 * than AIR_SETS_MAX.  `stations` is copied; the scene may go. */
struct air_sets *air_sets_new(struct air *air, const struct scene *scene, const int *stations,
                              int count, struct arena *arena, struct err *err);
int air_sets_kind(const struct air_sets *s, int at); /* the first station's place of its kind */
bool air_sets_is_idle(const struct air_sets *s, int at);
bool air_sets_has_own_fault(const struct air_sets *s, int at); /* misses its criterion alone */
void air_sets_cold(struct air_sets *s);                        /* the next one */
void air_sets_look(struct air_sets *s, uint32_t open, struct air_set *out);
bool air_set_is_fine(const struct air_set *set, uint32_t open);
/* Solves that set as it is, and says in words what it misses; the count of all. */
int air_sets_misses(struct air_sets *s, uint32_t open, struct arena *arena,
                    const char *words_out[AIR_SET_MISSES_MAX]);
double air_sets_pressure_Pa(const struct air_sets *s, int node); /* of the last one; NaN: none */
double air_sets_extra_m3_s(const struct air_sets *s, int at);    /* asked at work above parked */

/*
 * All 2^count sets at once, where the network is one room, one supply, one header and one fan
 * (net/comb.h says what that is) and no pool is judged by a declared capacity: a million sets in a
 * tenth of a second.  `fine`, 2^count of them, as air_set_is_fine would have it.  Sets that the lanes
 * leave open are looked at from nothing, each out of the budget.  False, and nothing is said, where the
 * network is otherwise, the lanes leave too much open, or there are more than AIR_SETS_ALL_MAX: look at
 * the sets one by one.
 */
enum { AIR_SETS_ALL_MAX = 22 };
struct air_sets_work {
  enum net_path path; /* in: wished; out: taken */
  long *budget;
  bool cut;                            /* the budget ended: some sets are called missed unseen */
  long asked;                          /* of the general solver */
  long fallbacks, unanswered, several; /* of those; of air_sets_states only */
  double worst_kg_s;
};
bool air_sets_all(struct air_sets *s, struct air_sets_work *work, unsigned char *fine);

/*
 * The same in any network, where stations of a kind count by their number (net/sets.h): every state, 16 at a
 * time.  What the lanes leave open is looked at from nothing, each out of the budget.  False, and
 * nothing is said, where something is judged that no bound of a flow or a pressure tells, a supply follows
 * the exhaust, or the lanes leave too much open: look at the states one by one.
 */
struct air_states {
  int kind_count;
  const struct net_sets_kind *kinds; /* switches are places of stations */
  unsigned long count;
  unsigned char *missed;     /* out, by state: idle stations aside */
  uint32_t *parked, *raised; /* out, by state, as in air_set; NULL where none is idle */
};
bool air_sets_states(struct air_sets *s, const struct air_states *states,
                     struct air_sets_work *work);
/* Can this station be raised at all: in service, not withdrawn, something to move? */
bool air_may_be_raised(const struct facility *f, const struct scene *scene, int station);

/* ---- the ledger behind one station: from its room to outdoors, each drop with its origin ---- */

struct air_ledger_row {
  const char *what, *origin;
  double drop_Pa, pressure_after_Pa;
};
struct air_ledger {
  int count;
  struct air_ledger_row *rows;
  double start_Pa, end_Pa;
  bool reaches_outdoors; /* else no air goes on from the last row */
};

struct air_ledger *air_why(struct air *air, const struct scene *scene, int station,
                           struct arena *arena, struct err *err);

/* ---- driven: the same network with its controllers taken off, for who moves it in time ---- */

/*
 * Where everything that moves stands.  A station's flow is asked in the scene (has_ask, ask_m3_s),
 * whether a fan or unit runs at all too; a door that moves is part of the way.
 */
struct air_drive {
  double *feed_m3_s;       /* per feed: those of the first supply, then of the next ... */
  double *unit_ratio;      /* per supply: of the most it can give */
  double *fan_speed_ratio; /* per fan, of the units that run */
  double *door_ratio;      /* per door: 0 shut, 1 wide open */
  double *duct_ratio;      /* per duct: of its drop when clean */
};

int air_feed_count(const struct facility *f);
/* Units full, ducts clean, all else 0.  NULL when the arena is too small. */
struct air_drive *air_drive_new(const struct facility *f, struct arena *arena);
/* Solves, from the last answer; false where the solver gave nothing to show.  What follows reads
 * this solve; the air may be asked as ever afterwards. */
bool air_drive_solve(struct air *air, const struct scene *scene, const struct air_drive *drive);
void air_drive_cold(struct air *air);                          /* the next solve starts afresh */
double air_drive_pressure_Pa(const struct air *air, int node); /* NaN: isolated */
double air_drive_station_m3_s(const struct air *air, int station); /* out of its room */
double air_drive_door_m3_s(const struct air *air, int door);       /* from -> to */
double air_drive_exhaust_m3_s(const struct air *air, int exhaust);
double air_drive_feed_m3_s(const struct air *air, int supply, int feed);
double air_drive_fan_m3_s(const struct air *air, int fan);
bool air_drive_feed_limited(const struct air *air, int supply, int feed); /* less than asked */
bool air_drive_unit_limited(const struct air *air, int supply);
/* Every way that air takes, for who carries something in it; a node is a node index. */
struct air_drive_link {
  int from, to;
  double mass_kg_s; /* positive from -> to */
  int fan;          /* through this one, or -1 */
  bool is_feed;     /* what a supply blows into a room */
};
int air_drive_link_count(const struct air *air);
struct air_drive_link air_drive_link_at(const struct air *air, int link);
double air_drive_density_kg_m3(const struct air *air, int node);
bool air_drive_modelled(const struct air *air, int node); /* some law reaches it */

/* ---- moved: the air of a copy whose figures move, for who fits them ---- */

/*
 *     struct air_moved *moved = air_moved_new(facility, &err);
 *     air_moved_to(moved, input, 0.7);                    by 0.7 of its ±, until moved again
 *     air_moved_solve(moved, &scene);                     from the last answer
 *     air_drive_pressure_Pa(air_moved_as(moved), node);
 *
 * One thread at a time.  Borrows the facility.
 */
struct air_moved;
struct air_moved *air_moved_new(const struct facility *facility, struct err *err);
void air_moved_free(struct air_moved *moved); /* NULL is fine */
const struct air *air_moved_as(const struct air_moved *moved);
const struct facility *air_moved_facility(const struct air_moved *moved);
void air_moved_to(struct air_moved *moved, int input, double by_ratio);
void air_moved_exponent(struct air_moved *moved, int leak, double n_ratio, double pivot_Pa);
/* One figure more, in the scene last solved; false: no solve could tell.  Put it back the same way. */
bool air_moved_try(struct air_moved *moved, int input, double by_ratio);
bool air_moved_solve(struct air_moved *moved, const struct scene *scene); /* false: no answer */
void air_moved_cold(struct air_moved *moved);                             /* the next one */
double air_moved_face_m_s(const struct air_moved *moved, const struct scene *scene, int station);
double air_moved_speed_ratio(const struct air_moved *moved, int fan); /* NaN: it holds nothing */

/* ---- words shared by every surface ---- */
const char *air_level_name(enum facility_level level); /* "near limit" */
const char *air_level_key(enum facility_level level);  /* "near_limit", as JSON says it */
const char *air_tier_name(enum air_tier tier);
const char *air_segment_name(enum net_segment segment); /* "wide open" */

#endif
