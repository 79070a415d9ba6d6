#ifndef FACILITY_FACILITY_H
#define FACILITY_FACILITY_H

#include "base/arena.h"
#include "base/complaints.h"
#include "base/err.h"
#include "mark/mark.h"
#include "units/units.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * The place, as one suite file describes it: immutable once loaded, in SI.
 *
 * The file's grammar, every key with its dimension, range and meaning, is the
 * schema table of facility/schema.def; docs/suite-file.md is printed from it.
 * This header is the other side: what a reader of the file gets.
 *
 * Everything lives in one arena owned by the facility.  Pointers between parts
 * are indices into the arrays below; -1 means "none".  Optional numbers carry a
 * `has_` flag or stand in a struct with a `form`; no number means "unknown" by
 * being negative or NaN.  File order is kept.
 *
 * Ids are unique over all kinds.  Node indices run over rooms, then junctions,
 * then outdoors, then each supply's plenum: see facility_node_*.
 */

/* Every part that has an id begins with this. */
struct facility_part {
  const char *id;   /* [A-Za-z][A-Za-z0-9_-]{0,31} */
  const char *name; /* free UTF-8; the id when the file gives none */
  const char *was;  /* former id, or NULL */
  const char *note; /* free text, or NULL */
};

/* ---- resistances, leaks, fans: the same three forms wherever air is resisted ---- */

enum facility_resistance_form {
  FACILITY_NO_RESISTANCE,
  FACILITY_DROP_AT_FLOW, /* drop_Pa at flow_m3_s, growing with flow^exponent */
  FACILITY_LUMPED,       /* drop = lumped * Q|Q|, Pa/(m3/s)2, at the air's own density */
  FACILITY_LOSS,         /* drop = loss * rho V^2 / 2 in area_m2 */
  FACILITY_GEOMETRY      /* Colebrook friction over length plus loss, in the duct's own velocity */
};

struct facility_resistance {
  enum facility_resistance_form form;
  double drop_Pa, flow_m3_s, exponent; /* DROP_AT_FLOW; exponent 2 unless the file says else */
  double lumped_Pa_s2_m6;              /* LUMPED */
  double loss_ratio;                   /* LOSS, GEOMETRY: sum of loss coefficients */
  double area_m2;                      /* LOSS, GEOMETRY: cross-section */
  double hydraulic_diameter_m;         /* GEOMETRY: 4 A / perimeter */
  double length_m, roughness_m;        /* GEOMETRY */
};

enum facility_leak_form {
  FACILITY_NO_LEAK,
  FACILITY_ORIFICE,         /* Q = coefficient * A * sqrt(2 dp / rho) */
  FACILITY_ORIFICE_PRINTED, /* Q = constant * A * sqrt(dp), the constant as a handbook prints it */
  FACILITY_POWER_LAW        /* Q = c * dp^n */
};

struct facility_leak_law {
  enum facility_leak_form form;
  double area_m2, coefficient_ratio; /* ORIFICE */
  double constant;                   /* ORIFICE_PRINTED, m3/(s m2 Pa^0.5) */
  double c, n;                       /* POWER_LAW, m3/(s Pa^n); "flow at a drop" becomes this */
};

/* ---- how one part moves ---- */

enum facility_dark { FACILITY_STAYS, FACILITY_OPENS, FACILITY_SHUTS }; /* without power or signal */

/* Of one part; what it does not say is as facility_after has it. */
struct facility_response {
  bool has_time, has_coast, has_dark, stays_off; /* stays_off: no restart by itself */
  double time_s, coast_s;
  enum facility_dark dark;
};

/* ---- nodes ---- */

struct facility_keep {
  int over; /* node index */
  bool has_least, has_most;
  double least_Pa, most_Pa; /* room minus neighbour */
};

/* A room is a node with people in it; a junction is one in a duct. */
struct facility_room {
  struct facility_part part;
  bool has_floor, has_volume;
  double floor_m2, volume_m3;
  double temperature_K, relative_humidity_ratio; /* 0..1 */
  double elevation_m;                            /* of the floor, above the suite's zero */
  int keep_count;
  const struct facility_keep *keeps;
  bool has_class; /* ISO 14644-1, for particles of class_size_m and larger */
  double class_number, class_size_m;
};

struct facility_junction {
  struct facility_part part;
  bool has_pressure; /* pressure held at this value whatever flows */
  double pressure_Pa;
  double gives_m3_s; /* air entering the network here by decree; negative takes */
  double temperature_K, relative_humidity_ratio, elevation_m;
};

/* ---- links ---- */

struct facility_duct {
  struct facility_part part;
  int from, to; /* node indices */
  bool shut;    /* a closed damper: no flow but `shut_leak` */
  struct facility_resistance resistance;
  struct facility_leak_law shut_leak; /* what passes when shut; form NO_LEAK passes nothing */
};

struct facility_leak {
  struct facility_part part;
  int from, to;
  struct facility_leak_law law;
};

struct facility_door {
  struct facility_part part;
  int from, to;
  struct facility_leak_law closed, open; /* open: ORIFICE by area */
};

enum facility_curve_form { FACILITY_CURVE_TABLE, FACILITY_CURVE_A_MINUS_B_Q2 };
enum facility_between { FACILITY_MONOTONE_CUBIC, FACILITY_LINEAR, FACILITY_NATURAL_SPLINE };

struct facility_fan {
  struct facility_part part;
  int from, to;
  int count;   /* equal units side by side; ids EF1/1, EF1/2 ... when more than one */
  int running; /* of them, when no scene says otherwise */
  enum facility_curve_form curve;
  enum facility_between between;
  int point_count;
  const double *flow_m3_s, *rise_Pa; /* per unit, at full speed; flows increase strictly */
  double a_Pa, b_Pa_s2_m6;           /* rise = a - b q^2 */
  bool has_rated_density;            /* else the curve is for the air as it is */
  double rated_density_kg_m3;
  double speed_ratio; /* 1 = full */
  bool open_when_stopped;
  struct facility_resistance stopped; /* of one stopped unit, when open */
  bool holds;                         /* speed follows a pressure */
  int hold_node, hold_over;
  double hold_Pa, least_speed_ratio, most_speed_ratio;
  struct facility_response responds;
};

/* An exhaust with a flow by decree: a cabinet, a chase, a toilet. */
struct facility_exhaust {
  struct facility_part part;
  int from, to; /* to: a junction; -1 where its main has no network (coarse) */
  int main;     /* or -1 */
  double flow_m3_s;
};

/* ---- pools ---- */

/* The four levels the air state can take, worst last. */
enum facility_level { FACILITY_AMPLE, FACILITY_NEAR_LIMIT, FACILITY_SHORT, FACILITY_NOT_KNOWN };

struct facility_threshold {
  bool given;
  double enter_ratio, leave_ratio; /* of demand over capacity */
  double dwell_s;                  /* how long before the level is left or entered */
};

/* Capacity a suite declares instead of, and beside, what is computed. */
struct facility_declared {
  bool given;
  int value_count;         /* 1, or a table by running fans */
  const int *running_fans; /* increasing; NULL for a single value */
  const double *capacity_m3_s;
  bool demand_measured; /* else: asked (the sum of set flows) */
  int subtract_count;
  const int *subtract; /* exhaust indices taken off the capacity first */
  struct facility_threshold near_limit, shortage;
};

struct facility_main {
  struct facility_part part;
  int at; /* junction its stations join unless they say otherwise; -1: no network */
  int fan_count;
  const int *fans;
  struct facility_declared declared;
};

enum facility_feed_form {
  FACILITY_FEED_FLOW,   /* flow by decree */
  FACILITY_FEED_HOLDS,  /* ideal: whatever flow within least..most keeps the pressure */
  FACILITY_FEED_FOLLOWS /* all exhaust of the room + offset, within least..most */
};

struct facility_feed {
  struct facility_part part; /* id MU1/Etch */
  int room;
  enum facility_feed_form form;
  double flow_m3_s;
  int over; /* HOLDS: node */
  double hold_Pa, offset_m3_s;
  bool has_most;
  double least_m3_s, most_m3_s;
  bool has_wide_open; /* resistance of the terminal wide open; only with a plenum */
  double wide_open_Pa, wide_open_m3_s;
  struct facility_response responds;
};

/* A make-up unit and the rooms it feeds. */
struct facility_supply {
  struct facility_part part;
  const char *plenum_id; /* "MU1/plenum" */
  bool has_most;         /* of the unit; without it only the terminals limit */
  double most_m3_s;
  double plenum_Pa; /* what the unit keeps ahead of its terminals while it can */
  double temperature_K, relative_humidity_ratio; /* of the supplied air */
  int feed_count;
  const struct facility_feed *feeds;
  struct facility_declared declared;
  struct facility_response responds;
};

/* ---- stations ---- */

enum facility_station_kind {
  FACILITY_FUME_HOOD,
  FACILITY_WET_BENCH,
  FACILITY_CABINET,
  FACILITY_OTHER_KIND /* or not said */
};

enum facility_flow_form {
  FACILITY_CONSTANT,
  FACILITY_TWO_STATE,       /* parked, or work as soon as the sash leaves parked */
  FACILITY_FOLLOWS_OPENING, /* Q = min(most, max(least, v W h + bypass)) */
  FACILITY_PASSIVE          /* nothing controls it: the opening and the branch decide */
};

enum facility_criterion_of { FACILITY_OF_FACE_VELOCITY, FACILITY_OF_FLOW };

struct facility_criterion {
  struct facility_part part;
  enum facility_criterion_of of;
  bool has_low, has_high;
  double low, high;   /* m/s or m3/s */
  const char *source; /* the standard, house rule or test behind the limits; required */
};

/* ---- what a card on the wall says ---- */

/* The mark of a station's glassware; any of the three may be missing. */
struct facility_mark {
  enum mark_colour colour;
  enum mark_shape shape;
  const char *letter; /* one character of UTF-8, or NULL */
};

/* Vessels and tools that bear it. */
struct facility_glass {
  const char *what, *material;
  const char *drawer, *on_return; /* each may be NULL */
  int count, visit_count;
  const int *visits; /* stations where one may stand for a while */
};

struct facility_wear {
  const char *what, *source; /* both, or both NULL */
};

struct facility_document {
  const char *title;
  const char *version, *reviewed, *link; /* each may be NULL; reviewed: 2026-03-19 */
};

/* Texts as the file gives them; what it does not say is NULL, or counts 0. */
struct facility_card {
  const char *chemistry;
  int not_here_count;
  const char *const *not_here;
  struct facility_mark mark;
  int glass_count;
  const struct facility_glass *glass;
  struct facility_wear wear;
  int document_count;
  const struct facility_document *documents;
  const char *call; /* the station's own; without it the facility's */
};

struct facility_station {
  struct facility_part part;
  enum facility_station_kind kind;
  int room;  /* node index */
  int main;  /* index into mains */
  int joins; /* junction; -1 where the main has no network */
  bool in_service;
  bool has_width, has_openings;
  double width_m;
  double parked_m, work_m, most_m; /* openings */
  enum facility_flow_form flow;
  double parked_m3_s, work_m3_s;                           /* CONSTANT: both the same */
  double velocity_m_s, least_m3_s, most_m3_s, bypass_m3_s; /* FOLLOWS_OPENING */
  double face_coefficient_ratio, bypass_area_m2;           /* PASSIVE: orifice of face and bypass */
  double deck_share_ratio; /* of the station's flow, entering through the deck, uncovered */
  double deck_least_m3_s;  /* what must leave through the deck at all times; NaN: not set */
  const char *deck_least_source;
  struct facility_resistance branch; /* sash plane to junction, wide open; NO_RESISTANCE: ideal */
  int criterion;                     /* or -1 */
  struct facility_card card;
  struct facility_response responds;
};

/* ---- scenes: what changes from minute to minute ---- */

/*
 * A plain value: copy it, change it, hand it on.  Arrays are sized by the
 * facility; scene_station[i] belongs to facility->stations[i] and so on.
 */
struct scene_station {
  bool raised;      /* not parked */
  double opening_m; /* meaningful when the station has openings */
  bool unattended, blocked, withdrawn;
  const char *needs_flow; /* why lowering it may not be asked, or NULL */
  double cover_ratio;     /* share of the deck covered, 0..1 */
  bool has_ask;           /* a flow asked instead of what its rule gives (searches use this) */
  double ask_m3_s;
  bool has_measured;
  double measured_m3_s;
};

struct scene {
  const char *name; /* "as parked", "busy" ... : where it started from */
  bool is_trial;    /* changed since: imagined, not live */
  const char *note;
  struct scene_station *stations;
  bool *door_open;     /* per door */
  int *fan_running;    /* per fan: how many of its units run; change it through scene_run_unit */
  uint64_t *fan_units; /* per fan: bit k set when unit k + 1 runs */
  bool *supply_off;    /* per supply */
  bool *duct_shut;     /* per duct */
  bool has_outdoor_temperature;
  double outdoor_temperature_K;
  enum facility_level was; /* previous level for declared rules */
  bool has_was;
  /* The same for each pool by itself (mains, then supplies), or NULL: `was` stands for all. */
  const enum facility_level *was_of_pool;
};

/* ---- what counts as told apart among glass marks ---- */
struct facility_kept_off {
  enum mark_colour colour;
  const char *means, *source;
};
struct facility_glass_rules {
  double least_colour; /* CIEDE2000 */
  double least_shape_ratio;
  double count_over_s;    /* sightings are counted over so long */
  double count_at_most_s; /* a count of a drawer may be so old */
  int kept_off_count;
  const struct facility_kept_off *kept_off;
};

/* ---- what runs or cools with nobody there ---- */
struct facility_wait {
  int station_count;
  const int *stations;
  double wait_s;
  const char *why, *source;
  bool own_heat;
};
struct facility_unattended {
  double cold_K;
  double reading_pm_K, around_pm_K;
  double apart_s; /* of two readings that make a clock */
  int wait_count;
  const struct facility_wait *waits;
};

/* ---- what a round looks at ---- */
enum { FACILITY_ROUND_ITEMS_MOST = 24 };
struct facility_round_item {
  const char *id, *question; /* a yes is how it should be */
  int station_count;
  const int *stations; /* none: all */
  double at_most_s;    /* an answer may be so old */
  bool expires;        /* a date is asked with it */
  bool marks;          /* a no may say which glass mark was seen */
  const char *source;
};
struct facility_rounds {
  int item_count;
  const struct facility_round_item *items;
};

/* ---- what is asked of a station before a start ---- */
enum { FACILITY_PROOFS_MOST = 64 };
enum facility_proof_found { FACILITY_PROOF_NOT_KNOWN, FACILITY_PROOF_MET, FACILITY_PROOF_MISSED };
struct facility_proof {
  const char *what, *source;
  const char *done, *document; /* each may be NULL; done: 2026-03-14 */
  enum facility_proof_found found;
  double every_s;
  int station_count;
  const int *stations;
};
struct facility_readiness {
  double tanks_s, waste_s, incident_s; /* what was told counts for so long */
  const char *source;                  /* of the three */
  int proof_count;
  const struct facility_proof *proofs;
};

/* ---- the walk test: how well each kind of reading is known ---- */

enum facility_gauge_of {
  FACILITY_GAUGE_ROOM,   /* room over neighbour, Pa */
  FACILITY_GAUGE_FACE,   /* mean over an opening, m/s */
  FACILITY_GAUGE_DUCT,   /* at a tap, Pa */
  FACILITY_GAUGE_SUPPLY, /* a unit's display, m3/s */
  FACILITY_GAUGE_SPEED,  /* a drive's display, ratio */
  FACILITY_GAUGE_FLOW,   /* by hood or traverse, m3/s; no walk asks for it */
  FACILITY_GAUGE_COUNT
};

struct facility_gauge {
  double reading_ratio, least_si, swing_si; /* limits of error, either side */
  double model_si;                          /* of the model itself, k = 2 */
  const char *source;
};

struct facility_walk {
  struct facility_gauge gauges[FACILITY_GAUGE_COUNT];
  double opening_m;    /* limit of error of a sash set to its mark */
  double slowest_m_s;  /* no vane below this */
  double covers_ratio; /* walks without a miss where all is as the file says */
  double per_step_s, per_reading_s, at_most_s;
  int tap_count, display_count;
  const int *taps;     /* node indices */
  const int *displays; /* fans as they are; a supply i as -1 - i */
};

/* ---- does the model match ---- */

struct facility_match {
  double lasting_ratio;           /* of an instrument's ±: the same in each of its readings */
  double exponent_ratio;          /* ± of a leak's exponent */
  double full_ratio, named_ratio; /* standard uncertainties: counts in full; is named */
  double known_ratio;             /* of its ±, from there on a figure is known */
  int least_count;                /* readings: fewer are called too few, never a match */
  double steady_s, settles_s;     /* of a trend */
  double stuck_s;  /* a point that did not move for so long counts for nothing; 0: never */
  double back_s;   /* of the record: so long before now */
  int nightly_min; /* minutes of the suite's local day; -1: the board does not */
  double within_s; /* what the board's own may take */
  const char *source;
};

/* ---- the day: bookings, and what people do of them where the record does not tell ---- */

struct facility_day {
  const char *bookings; /* relative to the suite's folder, or NULL */
  double comes_ratio, up_ratio, together_ratio;
  double late_s, late_spread_s, over_s, over_spread_s;
  int cases_least, group_count; /* group: bookings a week */
  double back_s, from_s, to_s, within_s, clean_down_s, around_s, least_use_s;
  const char *source; /* of these figures */
};

/* ---- what happens next: how fast things move ---- */

struct facility_after {
  double sash_m_s, door_opens_s, door_closes_s, valve_s, terminal_s, stroke_s, room_sensor_s,
      room_control_s, duct_sensor_s, duct_control_s, fan_run_up_s, fan_coast_s, unit_run_up_s,
      unit_coast_s, restart_s;
  enum facility_dark valves, terminals;
  double leaf_width_m, leaf_height_m, handle_m, door_force_N;
  double supply_filter_ratio, fan_filter_ratio, outside_class, mixing_least_ratio,
      mixing_most_ratio;
  int assumed_count; /* what the file leaves out, with its source: for answers that use it */
  const char *const *assumed;
};

/* ---- what the figures are worth ---- */

/* Kinds of figures, as `doubts` in the file names them. */
enum facility_figure {
  FACILITY_FIGURE_FLOW,
  FACILITY_FIGURE_MOST,
  FACILITY_FIGURE_CAPACITY,
  FACILITY_FIGURE_OFFSET,
  FACILITY_FIGURE_LEAK,
  FACILITY_FIGURE_DROP,
  FACILITY_FIGURE_CURVE,
  FACILITY_FIGURE_VELOCITY,
  FACILITY_FIGURE_PRESSURE
};

enum facility_doubt_from {
  FACILITY_DOUBT_STATED,   /* beside the figure */
  FACILITY_DOUBT_OF_SUITE, /* its `doubts` */
  FACILITY_DOUBT_ASSUMED   /* the default of `doubts` */
};

/* What moving an input changes. */
enum facility_move {
  FACILITY_MOVE_LEAK,
  FACILITY_MOVE_DOOR_CLOSED,
  FACILITY_MOVE_DOOR_OPEN,
  FACILITY_MOVE_DUCT_DROP,
  FACILITY_MOVE_DUCT_FLOW,
  FACILITY_MOVE_FAN_CURVE,
  FACILITY_MOVE_FAN_HOLD,
  FACILITY_MOVE_EXHAUST,
  FACILITY_MOVE_MAIN_CAPACITY,   /* sub: row of the table */
  FACILITY_MOVE_SUPPLY_CAPACITY, /* the same */
  FACILITY_MOVE_SUPPLY_MOST,
  FACILITY_MOVE_FEED_FLOW, /* sub: feed, from here to WIDE_OPEN */
  FACILITY_MOVE_FEED_HOLD,
  FACILITY_MOVE_FEED_OFFSET,
  FACILITY_MOVE_FEED_MOST,
  FACILITY_MOVE_FEED_WIDE_OPEN,
  FACILITY_MOVE_STATION_CONSTANT,
  FACILITY_MOVE_STATION_PARKED,
  FACILITY_MOVE_STATION_WORK,
  FACILITY_MOVE_STATION_VELOCITY,
  FACILITY_MOVE_STATION_LEAST,
  FACILITY_MOVE_STATION_MOST,
  FACILITY_MOVE_STATION_FACE,
  FACILITY_MOVE_BRANCH_DROP,
  FACILITY_MOVE_BRANCH_FLOW
};

/* One figure an answer may hang on: "MU, most". */
struct facility_input {
  const char *kind, *part, *key; /* "supply", "MU", "most": the key's path as written */
  const char *find;              /* on which paper, or with which reading; or NULL */
  enum facility_figure figure;
  enum facility_doubt_from from;
  enum units_dimension dimension; /* RATIO: a law scaled as a whole, its value 1 */
  double value_si, plus_minus_si;
  double at_best_si; /* the ± one careful reading would leave */
  enum facility_move move;
  int index, sub; /* of the part in its array */
};

/* ---- the whole ---- */

struct facility {
  const char *name, *label, *note; /* label: "DEMO" and the like, or NULL */
  const char *call;                /* whom to call, or NULL */
  int not_counted_count;
  const char *const *not_counted; /* draws air here, is not in the file: every answer names it */
  char sha256[65];                /* of the bytes read, overlays included, hex */
  const char *zone;               /* "Europe/Paris", or NULL: UTC */
  const char *feeds_file;     /* relative to the suite's folder, or NULL: nothing is connected */
  const char *chemicals_file; /* the same, or NULL: nothing is said of its own chemistry */
  const char *people_file, *processes_file, *rules_file; /* the same, each or NULL */
  double site_pressure_Pa;
  bool has_air_density, has_air_viscosity;
  double air_density_kg_m3, air_viscosity_Pa_s; /* fixed for every node when given */
  double outdoor_temperature_K, outdoor_relative_humidity_ratio;
  double headroom_margin_m3_s; /* the suite's own; 0 when not given */
  bool has_headroom_margin;
  double met_tolerance_Pa; /* a keep counts as met within this */
  struct facility_glass_rules glass;
  struct facility_unattended unattended;
  struct facility_rounds rounds;
  struct facility_readiness readiness;
  struct facility_walk walk;
  struct facility_match match;
  struct facility_day day;
  struct facility_after after;

  int criterion_count, room_count, junction_count, leak_count, door_count, duct_count, fan_count,
      exhaust_count, main_count, supply_count, station_count, scene_count;
  const struct facility_criterion *criteria;
  const struct facility_room *rooms;
  const struct facility_junction *junctions;
  const struct facility_leak *leaks;
  const struct facility_door *doors;
  const struct facility_duct *ducts;
  const struct facility_fan *fans;
  const struct facility_exhaust *exhausts;
  const struct facility_main *mains;
  const struct facility_supply *supplies;
  const struct facility_station *stations;
  const struct scene *scenes; /* the file's named ones */

  int input_count;
  const struct facility_input *inputs; /* every figure with a ±, in file order by kind of part */
  bool doubts_at_worst;                /* put together at their worst, not as independent ones */

  int assumed_count; /* defaults taken because the file is silent: "leak L2: exponent 0.65" */
  const char *const *assumed;
  struct arena *arena;
};

/* One text to read: its name for messages, its bytes. */
struct facility_text {
  const char *file;
  const char *bytes;
  size_t size;
};

/*
 * Reads a suite and any overlays (design: add / change / remove by id), checks
 * all of it against the schema and returns it, or NULL after at least one
 * complaint.  Reads no file itself.  The texts may be freed afterwards.
 * `complaints` must have been initialised by the caller.
 */
struct facility *facility_read(const struct facility_text *suite,
                               const struct facility_text *overlays, int overlay_count,
                               struct complaints *complaints);
void facility_free(struct facility *facility); /* NULL is fine */

/*
 * The same suite in the merged form: one JSON text, overlays applied, comments and places left
 * out, the hash of what it was read from and the file's own name (without its folder) carried
 * along.  A program without a YAML reader, such as the engine inside a page, reads it with
 * facility_read_merged, which does the same checks and gives an equal facility.  `file` names the
 * text in complaints.  Printing says false after a complaint, and then nothing is printed.
 */
NODISCARD bool facility_print_merged(const struct facility_text *suite,
                                     const struct facility_text *overlays, int overlay_count,
                                     struct complaints *complaints, struct buf *out);
struct facility *facility_read_merged(const struct facility_text *text,
                                      struct complaints *complaints);

/*
 * The same suite with its overlays as one YAML text that stands alone, comments kept where their
 * key is.  Each text's `file` must differ.  Only what concerns merging is checked: read the result
 * to know that it is a suite.  False after a complaint, and then nothing is printed.
 */
NODISCARD bool facility_print_suite(const struct facility_text *suite,
                                    const struct facility_text *overlays, int overlay_count,
                                    struct complaints *complaints, struct buf *out);

/* ---- a suite file as written, without overlays ---- */
struct facility_leaf {
  const char *section; /* "stations" */
  const char *id;      /* of the part, or NULL */
  const char *key;     /* "flow, two-state, work" */
  const char *text;    /* the value without its quotes; of a list of texts: "a; b" */
  struct place place;
};

/* Every single value, in file order; -1 after a complaint.  The list lives in `arena`. */
int facility_leaves(const struct facility_text *suite, struct arena *arena,
                    struct complaints *complaints, const struct facility_leaf **list_out);

/* One change: a value replaced or put where its key belongs; a part added with its keys, or, with
 * neither key nor yaml, removed.  Edits of one part stand together. */
struct facility_edit {
  const char *section, *id, *key;
  const char *yaml; /* as the file is to say it, quotes included: "\"a: b\"" */
};

/*
 * The same file with these changes and every other byte as it was: comments, order, line breaks.
 * What comes out is not checked; read it.  False after a complaint.
 */
NODISCARD bool facility_edit(const struct facility_text *suite, const struct facility_edit *edits,
                             int count, struct complaints *complaints, struct buf *out);

/* ---- what differs between two suites, as written ---- */
struct facility_difference {
  const char *kind;           /* "station"; "suite" for what belongs to no part */
  const char *id;             /* of the part, or NULL */
  const char *key;            /* "flow, two-state, work"; NULL: the whole part */
  const char *before, *after; /* as written; NULL: not there */
};

/*
 * Compares two texts that facility_read accepts: by id and key, not by order.
 * Units are compared as written: 0.5 m and 50 cm differ.  Returns how many
 * differences there are; the list lives in `arena`.
 */
int facility_diff(const struct facility_text *before, const struct facility_text *after,
                  struct arena *arena, const struct facility_difference **list_out);

/*
 * A copy whose figures may be moved; it shares ids and counts with the original,
 * which must outlive it.  Memory from `arena`.  Moving by 1 adds the figure's ±,
 * by -1 takes it off, by 0 puts it back; areas, flows and drops stay above zero.
 */
struct facility_moved;
struct facility_moved *facility_moved_new(const struct facility *f, struct arena *arena);
const struct facility *facility_moved_as(const struct facility_moved *moved);
void facility_move(struct facility_moved *moved, int input, double by_ratio);
/* A leak by a power law given another exponent, turned about the flow at pivot_Pa. */
void facility_move_exponent(struct facility_moved *moved, int leak, double n_ratio,
                            double pivot_Pa);
const char *facility_figure_name(enum facility_figure figure); /* "fan curve", as in the file */

/* Node indices: rooms first, then junctions, then outdoors, then one plenum per supply. */
int facility_node_count(const struct facility *facility);
int facility_node_outdoors(const struct facility *facility);
int facility_node_plenum(const struct facility *facility, int supply);
const char *facility_node_id(const struct facility *facility, int node); /* plenum: "MU1/plenum" */
int facility_node_find(const struct facility *facility, const char *id); /* -1: no such node */

const char *facility_kind_name(enum facility_station_kind kind); /* "fume hood", as in the file */

/* Index by id in one kind, -1 when there is none. */
int facility_station_find(const struct facility *facility, const char *id);
int facility_door_find(const struct facility *facility, const char *id);
int facility_duct_find(const struct facility *facility, const char *id);
int facility_supply_find(const struct facility *facility, const char *id);
/* Anything that an entry of the record may be about: a station, room, junction, outdoors, door, duct,
 * main, exhaust, supply, or a fan or one of its units. */
bool facility_has(const struct facility *facility, const char *id);
/* The id of those that is nearest to a mistyped one; NULL where none is near. */
const char *facility_nearest_id(const struct facility *facility, const char *id);
/* Accepts "EF1" (unit -1) and "EF1/2" (unit 1). */
int facility_fan_find(const struct facility *facility, const char *id, int *unit_out);

/* ---- scenes ---- */

/* All parked, doors closed, fans as the file says.  Memory from `arena`. */
struct scene scene_parked(const struct facility *facility, struct arena *arena);
/* A copy that may be changed without touching the original. */
struct scene scene_copy(const struct facility *facility, const struct scene *from,
                        struct arena *arena);
/* Copies values into a scene made for the same facility; allocates nothing. */
void scene_assign(const struct facility *facility, struct scene *to, const struct scene *from);
/* A named scene of the file, or NULL. */
const struct scene *scene_find(const struct facility *facility, const char *name);
/* The same for a name a person gave: ERR_INPUT says what there is instead. */
NODISCARD enum err_code scene_named(const struct facility *facility, const char *name,
                                    const struct scene **scene_out, struct err *err);

/* Starts or stops one unit of a fan (0 is EF1/1), or all of them (unit -1).
 * A unit that is already so stays so. */
void scene_run_unit(const struct facility *facility, struct scene *scene, int fan, int unit,
                    bool run);

/*
 * One change in words, as the command line and the board write it:
 *   sash S3=0.45m | sash S3=work | sash S3=parked | all work | all parked |
 *   door D2=open | door D2=closed | off EF1 | off EF1/2 | off MU1 | on EF1 |
 *   cover S3=40% | shut A5 | unattended S2 | blocked S2 | was near-limit
 * `verb` is the first word, `argument` the rest.  ERR_INPUT names what exists.
 */
bool scene_is_change(const char *verb);
void scene_list_changes(struct buf *out); /* "sash, all ... or blocked" */

/* The changes there are, one by one, for documents that list them; NULL behind the last. */
struct scene_change_word {
  const char *verb, *example, *doc;
};
const struct scene_change_word *scene_change_word(int index);
NODISCARD enum err_code scene_change(const struct facility *facility, struct scene *scene,
                                     const char *verb, const char *argument, struct err *err);

/* The flow its rule gives (docs/air-state.md, "What a station asks"); a passive one: 0. */
double facility_station_rule_m3_s(const struct facility_station *s, bool raised, double opening_m);
/* The flow a station asks for in this scene by its own rule; passive stations ask nothing: 0. */
double scene_station_ask_m3_s(const struct facility *facility, const struct scene *scene,
                              int station);
/* Opening in metres; false when the station has no openings. */
bool scene_station_opening_m(const struct facility *facility, const struct scene *scene,
                             int station, double *opening_out_m);

/* ---- documents printed from the schema ---- */

void facility_print_manual(struct buf *out);      /* docs/suite-file.md */
void facility_print_json_schema(struct buf *out); /* for editors */

#endif
