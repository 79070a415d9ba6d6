#ifndef AIR_AIR_IMPL_H
#define AIR_AIR_IMPL_H

#include "air/air.h"

/*
 * What the files of this folder share: the network made from a facility, and
 * the outcome of one solve as the state and the advice read it.
 */

/* What a link of the network stands for. */
enum air_link_kind {
  AIR_LINK_LEAK,
  AIR_LINK_DOOR,
  AIR_LINK_DUCT,
  AIR_LINK_FAN,
  AIR_LINK_FAN_STOPPED, /* the path through the stopped units of a fan group */
  AIR_LINK_EXHAUST,
  AIR_LINK_UNIT, /* outdoors to the plenum of a make-up unit */
  AIR_LINK_FEED,
  AIR_LINK_STATION
};

struct air_link_meaning {
  enum air_link_kind kind;
  int index, feed; /* into the facility's array; feed within its supply */
  const char *id;
};

enum { AIR_MEMBERS_PER_LINK = 2 };

struct air {
  const struct facility *facility;
  struct arena arena;
  struct net *net;
  struct net_problem problem;
  struct net_node *nodes;
  struct net_link *links;
  struct net_member *members; /* AIR_MEMBERS_PER_LINK per link */
  struct net_fan *fans;       /* one per facility fan */
  struct air_link_meaning *meanings;
  double *density_kg_m3; /* per node */
  bool *unmodelled;      /* per node: no law reaches it, so its pressure means nothing */
  int *station_link, *exhaust_link, *door_link, *duct_link, *fan_link, *stopped_link, *unit_link;
  int **feed_link;              /* [supply][feed] */
  double outdoor_temperature_K; /* the densities were made for this */
  struct scene last;            /* the scene the problem holds now */
  bool driven; /* the problem holds a drive's values: the next scene sets all anew */
  bool failed; /* the last solve gave nothing to show: flows read as NaN */
  struct facility_moved *moved; /* made when ± is first asked for: its figures move ... */
  struct air *shadow;           /* ... and this is its air */
};

/* ---- network.c ---- */
enum err_code air_network_build(struct air *air, struct err *err);
bool air_is_bare(const struct facility *facility); /* plant totals and stations only */

/* ---- values.c ---- */
/* Puts a scene's values into the problem; the net is updated, not solved. */
void air_network_set_scene(struct air *air, const struct scene *scene);
bool air_station_changed(const struct scene_station *a, const struct scene_station *b);
void air_values_nodes(struct air *air, const struct scene *scene);
void air_values_all(struct air *air, const struct scene *scene);
/* After a figure of the facility moved: its links are set anew for the scene the problem holds.
 * False: no solve could tell. */
bool air_values_moved(struct air *air, const struct facility_input *input);
void air_values_forget(struct air *air); /* the next scene sets every value anew */
/* The law of a door that is shut or open; false: nothing passes. */
bool air_door_member(const struct air *air, int door, bool open, struct net_member *out);
void air_duct_member(const struct air *air, int duct, struct net_member *out); /* not shut */

/* ---- network.c again ---- */
double air_link_flow_m3_s(const struct air *air, int link); /* actual, of the air entering it */
double air_station_branch_drop_Pa(const struct air *air, int station);

/* ---- air.c: the air of a room, by what carries it ---- */
enum air_room_part { AIR_ROOM_SUPPLY, AIR_ROOM_EXHAUST, AIR_ROOM_LEAK, AIR_ROOM_PARTS };
enum air_room_part air_room_part_of(const struct air *air, int link);

/* ---- outcome.c: one solve, and what it misses ---- */

bool air_node_known(const struct air *air, int node); /* in the last solve */
/* -1 below its least, 1 above its most, 0 met. */
int air_keep_side(const struct facility *facility, const struct facility_keep *keep,
                  double actual_Pa);

enum air_miss_kind {
  AIR_MISS_KEEP,
  AIR_MISS_FEED,
  AIR_MISS_UNIT,
  AIR_MISS_FAN,
  AIR_MISS_STATION,
  AIR_MISS_DECLARED,
  AIR_MISS_UNKNOWN /* a keep, or a room's balance (sub -1), that this scene does not determine */
};

struct air_miss {
  enum air_miss_kind kind;
  int index, sub; /* room and keep; supply and feed; fan; station and 1 if by flow; pool */
  double actual, wanted;
};

enum { AIR_MISSES_MAX = 256 }; /* a full list counts as not everything known */

/* Why a station misses its criterion alone, with the plant in order: what it asks is not enough,
 * or its own path lets no more through.  In the first case not getting even that is shared. */
enum air_fault { AIR_NO_FAULT, AIR_FAULT_OF_ASK, AIR_FAULT_OF_PATH };

struct air_outcome {
  bool answered; /* false: the solver gave nothing to judge */
  enum net_verdict verdict;
  int miss_count;
  struct air_miss misses[AIR_MISSES_MAX];
};

/* Solves the scene and lists every keep, set point and criterion it misses.
 * What a station misses by its own fault (may be NULL) is left out. */
void air_outcome_of(struct air *air, const struct scene *scene, const enum air_fault *own_fault,
                    struct air_outcome *outcome, struct net_report *report);

/* A station's verdict under its criterion in the solved state. */
struct air_station_verdict {
  bool judged, met, by_flow; /* by_flow: value, low and high are m3/s, not m/s */
  double value, low, high;
  bool at_limit;
};
struct air_station_verdict air_judge_station(const struct air *air, const struct scene *scene,
                                             int station);
/* The flow that gives a face velocity v is v through_m2 + beside_m3_s, where that is above beside;
 * false where there is no face to speak of. */
bool air_face_line(const struct air *air, const struct scene *scene, int station,
                   double *through_m2, double *beside_m3_s);
double air_face_velocity_m_s(const struct air *air, const struct scene *scene, int station);
bool air_station_works(const struct air *air, const struct scene *scene, int station);
/* In service, not withdrawn, parked: someone may want to open it. */
bool air_station_waits(const struct air *air, const struct scene *scene, int station);
void air_raise_to_work(const struct air *air, struct scene *scene, int station);
double air_work_ask_m3_s(const struct air *air, int station);

/* ---- pools.c ---- */
int air_pool_count(const struct facility *facility);
enum air_pool_kind air_pool_kind_of(const struct facility *facility, int pool, int *index_out);
bool air_pool_has_miss(const struct facility *facility, int pool, const struct air_miss *miss);
bool air_miss_is_orphan(const struct facility *facility,
                        const struct air_miss *miss);                /* no pool's */
bool air_pools_share(const struct facility *facility, int a, int b); /* a station in both */
double air_pool_demand_m3_s(const struct air *air, const struct scene *scene, int pool);
struct air_declared air_pool_declared(const struct air *air, const struct scene *scene, int pool,
                                      struct arena *arena);
/* The share of its declared capacity above which the pool is short. */
double air_pool_short_ratio(const struct facility *facility, int pool);
/* True when the pool's main has neither network nor declared capacity: nothing to judge it by. */
bool air_pool_is_blind(const struct facility *facility, int pool);

/* ---- state.c: levels ---- */

struct air_search { /* one question and its purse */
  struct air *air;
  const struct scene *scene; /* as asked */
  enum air_fault *own_fault; /* per station, as the scene asked has it */
  enum air_fault *at_work;   /* the same for one moved to work in a trial */
  enum air_fault *judged;    /* scratch: which of the two counts */
  struct scene trial, after; /* scratch; `after` is the advice's own */
  long budget, solves_left;
  bool cut;        /* the purse ran out somewhere */
  bool spare_only; /* nobody asks for counts and lists */
  bool by_kind; /* among stations of one room and junction the more demanding stand for the less */
  double least_to_free_m3_s; /* lists of sashes that free less are not tried */
  struct air_memory *memory;
  struct arena *arena;
};

enum { AIR_POOLS_MAX = 128 }; /* more are refused */

struct air_levels {
  enum facility_level worst;
  enum facility_level computed[AIR_POOLS_MAX], declared[AIR_POOLS_MAX], pool[AIR_POOLS_MAX];
  bool is_declared[AIR_POOLS_MAX], missed[AIR_POOLS_MAX], margin_short[AIR_POOLS_MAX];
  bool unknown[AIR_POOLS_MAX];        /* nothing is missed, but something cannot be judged */
  bool unsure;                        /* an opening could not be tried */
  bool orphan_missed;                 /* something is missed that no pool answers for */
  int binding_station[AIR_POOLS_MAX]; /* a parked station that could not open, or -1 */
  struct air_miss first_miss[AIR_POOLS_MAX], binding_miss[AIR_POOLS_MAX], orphan_miss;
};
/* Which station would miss its criterion alone, as the scene asked has it and moved to work. */
void air_find_own_faults(struct air_search *search); /* air.c */
/* Of the two the one that counts for each station of that scene. */
const enum air_fault *air_faults_in(struct air_search *search, const struct scene *scene);
/* One solve out of the purse; false when it is empty or the solver has no answer. */
bool air_search_ask(struct air_search *search, const struct scene *scene,
                    struct air_outcome *outcome);
/* Both overwrite search->trial, so `scene` must not be it. */
void air_levels_of(struct air_search *search, const struct scene *scene, struct air_levels *levels);
bool air_is_ample(struct air_search *search, const struct scene *scene);
double air_spread(struct air_search *search, const struct scene *scene, int pool, double share);
const struct air_miss *air_new_miss(const struct facility *f, const struct air_outcome *o,
                                    const struct air_levels *before);
const char *air_miss_words(const struct air *air, const struct air_miss *m, struct arena *arena);
const char *air_say(struct arena *arena, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* ---- memory.c ---- */
struct air_memory *air_memory_new(struct arena *arena);
/* As air_search_ask, but a scene asked before costs nothing; the net then does
 * not hold its flows, so use it where only the misses count. */
bool air_search_recall(struct air_search *search, const struct scene *scene,
                       struct air_outcome *outcome);

/* ---- headroom.c ---- */

/* How a pool's stations move towards its limit. */
enum air_way {
  AIR_WAY_UP,     /* those parked open by a share */
  AIR_WAY_DOWN,   /* those raised give back a share */
  AIR_WAY_STRETCH /* all ask a share more */
};
struct air_edge { /* where a miss begins */
  bool found;
  enum air_way way;
  double share; /* on the fine side of it */
  struct air_miss miss;
};
/* The scene at that share, in search->trial; returns the extra flow it asks for. */
double air_edge_scene(struct air_search *search, const struct scene *scene, int pool,
                      enum air_way way, double share);
/* Looks for the limit beyond all parked stations at work, or by stretching. */
bool air_edge_beyond(struct air_search *search, const struct air_levels *levels,
                     const struct scene *scene, int pool, enum air_way way, struct air_edge *out);
/* `edge` is left as it is where nothing is missed up to all at work. */
void air_headroom(struct air_search *search, const struct air_levels *levels, int pool,
                  struct air_pool *out, struct air_edge *edge);
/* Is something missed that this pool's stations have a part in: in the pool, or in
 * one that shares a station with it?  The first such pool, or -1. */
int air_missed_with(const struct facility *f, const struct air_levels *levels, int pool);

/* ---- more.c ---- */

enum { AIR_MORE_MAX = 1024 }; /* where a pool has more stations the advice says that it was cut */

/* Of a flow, what a solve may leave of it: less decides nothing. */
extern const double air_no_flow_m3_s;

struct air_waiting {
  int station;
  double extra_m3_s; /* from parked to work */
};
/* The next choice of k out of n in dictionary order; false after the last. */
void air_first_choice(int *chosen, int k, int from);
bool air_next_choice(int *chosen, int k, int n);
/* The pool's waiting stations, the most demanding first. */
int air_more_waiting(struct air_search *search, const struct scene *scene, int pool,
                     struct air_waiting *list);
/* May every m of the n listed open together?  False too where the purse ends. */
bool air_more_any(struct air_search *search, const struct scene *scene,
                  const struct air_levels *levels, const struct air_waiting *list, int n, int m);
void air_how_many_more(struct air_search *search, const struct air_levels *levels, int pool,
                       struct air_pool *out);

/* ---- sure.c: how far all this may be off ---- */
void air_sure(struct air_search *search, const struct air_levels *levels,
              const struct air_edge *edges, const struct air_settings *settings,
              struct air_answer *answer);

/* ---- cannot.c: what an answer of this tier does not tell ---- */
void air_say_cannot(const struct air_search *search, struct air_answer *answer);

/* ---- sets.c, combs.c ---- */
struct air_sets {
  struct air_search search; /* its `scene` is the one with all of them parked */
  struct scene parked, trial, raised;
  int count, station[AIR_SETS_MAX], kind[AIR_SETS_MAX];
  uint32_t idle;
};

/* ---- words.c ---- */
void air_give_reasons(const struct air_search *search, const struct air_outcome *now,
                      const struct air_levels *levels, struct air_answer *answer);
void air_report_unsolved(const struct air *air, struct air_answer *answer, struct arena *arena);
void air_assume(const struct air_search *search, struct air_answer *answer);

/* ---- advice.c ---- */
void air_advise(struct air_search *search, const struct air_levels *levels,
                struct air_answer *answer, struct air_edge *edges); /* one per pool */
void air_lower_first(struct air_search *search, bool ends_short, struct air_lower_list *out);

#endif
