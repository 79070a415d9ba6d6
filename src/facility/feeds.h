#ifndef FACILITY_FEEDS_H
#define FACILITY_FEEDS_H

#include "facility/facility.h"

/*
 * What is measured where: the feeds file of a suite (`files: {feeds: ...}`), immutable once read.
 *
 * A source is something that says values: an e-mailed table, a broker, a controller, a person.  A
 * point is one value that one source says of one part of the suite.  Nothing here is guessed: a
 * unit, a date's order, a word order or what 100 % of a sash is stands in the file or is a fault.
 * No secrets: a source names the environment variable or the file that holds them.
 *
 * The grammar is in facility/feeds.def, part of the one schema table.
 */

/* What a point says of its part. */
enum feeds_what {
  FEEDS_OPENING,       /* of a station: sill to sash edge, m */
  FEEDS_FLOW,          /* of a station, main, exhaust or supply, m3/s */
  FEEDS_FACE_VELOCITY, /* of a station, m/s */
  FEEDS_BLOCKED,       /* of a station: something stands under the sash; yes or no */
  FEEDS_PRESENCE,      /* of a station: someone stands there; yes or no */
  FEEDS_ALARM,         /* of a station: its own alarm; of the suite: the building's; yes or no */
  FEEDS_COVERED,       /* of a station: share of its deck, ratio */
  FEEDS_PRESSURE,      /* of a room over a node, of a junction over outdoors, Pa */
  FEEDS_OPEN,          /* of a door; yes or no */
  FEEDS_RUNNING,       /* of a fan: how many units; of a fan's unit or a supply: yes or no */
  FEEDS_SPEED,         /* of a fan, ratio */
  FEEDS_TEMPERATURE,   /* of a room or outdoors, K */
  FEEDS_HUMIDITY,      /* of a room or outdoors, ratio */
  FEEDS_PEOPLE,        /* of the suite: how many are inside */
  /* Of a station, as often as it has such a thing: what sees it is named in the chemicals file. */
  FEEDS_LEAK,             /* its tray is wet; yes or no */
  FEEDS_LEVEL,            /* of a tank, m3 */
  FEEDS_LOW_LEVEL,        /* of a tank: its switch; yes or no */
  FEEDS_BATH_TEMPERATURE, /* K */
  FEEDS_HEATING,          /* a heater is on; yes or no */
  FEEDS_LID_OPEN,         /* of a tank; yes or no */
  FEEDS_RESISTIVITY,      /* of rinse water, Ohm m */
  FEEDS_DUMPS,            /* of the rinse that goes on: how many */
  FEEDS_DECK_FLOW,        /* of a station: through its deck, m3/s; once each */
  FEEDS_OTHER,            /* kept in the record, means nothing to the model */
  FEEDS_WHAT_COUNT
};

enum feeds_of {
  FEEDS_OF_SUITE,
  FEEDS_OF_STATION,
  FEEDS_OF_ROOM,     /* index: node */
  FEEDS_OF_JUNCTION, /* index: node */
  FEEDS_OF_OUTDOORS,
  FEEDS_OF_DOOR,
  FEEDS_OF_FAN,
  FEEDS_OF_SUPPLY,
  FEEDS_OF_MAIN,
  FEEDS_OF_EXHAUST
};

/* How a register holds a number (Modbus). */
enum feeds_register { FEEDS_U16, FEEDS_S16, FEEDS_U32, FEEDS_S32, FEEDS_F32, FEEDS_BIT };
enum feeds_bank { FEEDS_HOLDING, FEEDS_INPUT, FEEDS_COIL, FEEDS_DISCRETE };

struct feeds_point {
  struct facility_part part;
  int source; /* index into sources */
  enum feeds_of of;
  int index, unit; /* of the part in its array (or a node); of a fan, from 0, -1: all */
  int over;        /* PRESSURE of a room: the neighbour's node */
  enum feeds_what what;
  bool yes_no, count;             /* neither: a quantity */
  enum units_dimension dimension; /* of a quantity; RATIO for the other two */
  const char *unit_text;          /* as the source counts, or NULL */
  double zero, factor;            /* SI = (what the source says - zero) * factor */
  double said_factor;             /* the part of it that the file gives as `factor` */
  double resolution_si;           /* the record keeps whole multiples of it */
  double old_after_s;             /* its own, or its source's */
  const char *at;                 /* column, topic, register or object, as the source names it */
  int yes_count, no_count, missing_count;
  const char *const *yes, *const *no, *const *missing; /* words of the source */
  /* MQTT: names of fields in a JSON object, "a.b" inside one; NULL: the payload is the value */
  const char *field, *time_field, *unit_field, *quality_field;
  /* Modbus */
  enum feeds_bank bank;
  int address; /* as sent, from 0 */
  enum feeds_register as;
  int none_count;
  const double *none; /* register values that mean no value */
  /* BACnet: "analog-input 31" */
  int object_type, object_instance;
};

enum feeds_kind {
  FEEDS_CSV,
  FEEDS_MQTT,
  FEEDS_MODBUS,
  FEEDS_BACNET,
  FEEDS_WEBHOOK, /* posted to the board */
  FEEDS_HAND,    /* typed at the board */
  FEEDS_CALENDAR
};

enum feeds_shape { FEEDS_WIDE, FEEDS_LONG };

/* A table by mail or in a drop folder.  Columns are named as its header names them. */
struct feeds_table {
  const char *folder; /* relative to the feeds file; NULL: only by `inward take` */
  enum feeds_shape shape;
  char separator; /* , ; | or tab */
  bool decimal_comma;
  const char *time_column, *date_column; /* date: NULL where the time column has both */
  const char *pattern;                   /* "DD.MM.YYYY hh:mm"; "ISO" */
  const char *zone;                      /* "Europe/Paris", "UTC" */
  int missing_count;
  const char *const *missing; /* words that mean no value; an empty cell always does */
  int column_count;
  const char *const
      *columns; /* the whole header as it must be; NULL: the points' columns must be there */
  const char *point_column, *value_column, *unit_column, *status_column; /* LONG */
  int good_count;
  const char *const *good; /* LONG: words of the status column that mean a good value */
};

struct feeds_source {
  struct facility_part part;
  enum feeds_kind kind;
  double every_s;           /* a value is expected at least so often; 0: only when it changes */
  double old_after_s;       /* a value older than this says nothing of now */
  double clock_ahead_s;     /* its clock minus ours */
  double frozen_after_s;    /* a number that has not moved at all for so long is frozen; 0: never */
  int most_per_s;           /* observations kept a second; of more, the newest of each point */
  struct feeds_table table; /* CSV; CALENDAR: folder and zone */
  const char *host;         /* MQTT, MODBUS, BACNET */
  int port;
  const char *user,
      *secret; /* MQTT: names of an environment variable ("env:NAME") or a file ("file:PATH") */
  const char *client; /* MQTT: client id, or NULL */
  const char *status; /* MQTT: topic that says whether the gateway is there, or NULL */
  int gone_count;
  const char *const *gone;             /* MQTT: words on it that mean that it is not */
  int unit_address;                    /* MODBUS */
  bool has_word_order;                 /* MODBUS: declared; 32-bit points need it */
  bool low_word_first, low_byte_first; /* MODBUS: order inside 32 bits */
  int device;                          /* BACNET: instance */
  bool subscribe;    /* BACNET: changes of value instead of asking; asked as well */
  const char *token; /* WEBHOOK: like `secret` */
};

enum { FEEDS_FAULT_KINDS = 12 };

/* How faults are told from one another.  Log likelihoods are natural ones. */
struct feeds_ranking {
  int readings_most;            /* more of a point do not make surer */
  double tails_count;           /* degrees of freedom of Student's t */
  double loose_ratio;           /* a fault need not be as it was put in: one standard deviation */
  double loose_unit_ratio;      /* the same of a wrong unit */
  double contact_price_ratio;   /* of a contact that errs too; log likelihood */
  double attended_ratio;        /* somebody is at a raised sash, nobody at a parked one: so often */
  double attended_weight_ratio; /* of each such reading; 0 to 1 */
  double stays_ratio;           /* a sash is as in the reading before: so often */
  double drift_ratio, drift_Pa; /* what a drifting sensor is tried with */
  int repeats_least;            /* in a row, before a reading counts as stuck */
  double explains_ratio; /* of what stands out; a fault that explains less is not named ... */
  double
      scatter_cost_ratio; /* ... unless it leaves no more than this of a reading; log likelihood */
  struct {                /* per kind, in the order of enum fault_kind (fault.h) */
    double price_ratio;   /* what it must explain first; log likelihood */
    double least_ratio, most_ratio; /* of the size it is tried with; least <= 1 <= most */
  } kinds[FEEDS_FAULT_KINDS];
};

/* How faults are looked for (src/fault). */
struct feeds_faults {
  double false_alarm_s; /* one false alarm of the whole suite in so long, on average */
  double shift_ratio;   /* the smallest lasting change that matters, in standard deviations */
  double step_s;        /* a point counts once in so long: readings closer than that are no news */
  double settle_s;      /* nothing counts for so long after the scene changed */
  double learn_s;       /* how long a point's lasting difference is learnt */
  double learn_below_ratio; /* of the largest sum's limit: from there on nothing is learnt */
  double floor_ratio;       /* of the model's ±: what learning cannot take away */
  double flow_ratio, velocity_ratio, speed_ratio; /* standard deviations of one reading */
  double pressure_ratio, pressure_Pa;
  double alike_ratio;  /* log likelihood by which an "or else" may be behind the likeliest */
  int proved_after;    /* a kind speaks up after so many confirmed in this suite ... */
  double proved_ratio; /* ... while at least this share of those answered was confirmed */
  struct feeds_ranking ranking;
};

/* How the one who can help is asked (src/errand), and when a sash is on its way (src/watch). */
struct feeds_lower {
  double ask_after_s; /* the air is short for so long first */
  double hold_s;      /* what the act names stays so long */
  int most;           /* stations asked at once */
  double within_s;    /* then it was not answered */
  double again_s;     /* a station is left alone so long after */
  double cannot_s;    /* "it needs its flow" counts so long */
  double moves_m;     /* a change of a reading by more is a movement */
  double reached_m;   /* so far above its mark is at the mark */
  double rising_s;    /* a sash counts as on its way up until it has not risen so long; 0: never */
};

/* What is kept around an incident (src/incident). */
struct feeds_incidents {
  double before_s, after_s;
  double back_s; /* how far back use is looked for where no round is told */
};
/* ---- alarms: what needs a person (practice of IEC 62682 and ANSI/ISA-18.2) ---- */

bool feeds_what_is_of_bench(enum feeds_what what); /* leak ... dumps: several at one station */

/* In the order in which one explains another. */
enum feeds_when {
  FEEDS_WHEN_BUILDING,   /* the building's alarm; of the suite */
  FEEDS_WHEN_OWN,        /* of a station */
  FEEDS_WHEN_FAN,        /* fewer units of a fan run than usual */
  FEEDS_WHEN_SUPPLY,     /* a supply is off */
  FEEDS_WHEN_DOOR,       /* a door stands open */
  FEEDS_WHEN_SHORT,      /* of a pool */
  FEEDS_WHEN_PRESSURE,   /* of a room, measured outside its keep */
  FEEDS_WHEN_LEAK,       /* a leak tray is wet; of a station */
  FEEDS_WHEN_DECK,       /* through its deck goes less than must at all times; of a station */
  FEEDS_WHEN_NOT_KNOWN,  /* of the suite */
  FEEDS_WHEN_UNATTENDED, /* a sash up and nobody there; of a station */
  FEEDS_WHEN_BLOCKED,    /* something under a sash; of a station */
  FEEDS_WHEN_NEAR_LIMIT, /* of a pool */
  FEEDS_WHEN_COUNT
};
enum feeds_priority { FEEDS_URGENT, FEEDS_HIGH, FEEDS_LOW, FEEDS_NOBODY };

enum {
  FEEDS_ACTION_MOST_BYTES = 90
}; /* so that a message of 160 characters has room for the rest */

struct feeds_alarm {
  const char *id;
  enum feeds_when when;
  enum feeds_priority priority;
  double on_after_s, off_after_s; /* dead-bands in time */
  double within_s;                /* how soon somebody must act */
  const char *action, *cause, *consequence, *source;
};
/* How the alarms themselves are judged. */
struct feeds_figures {
  double day_count;                /* told a day, at most */
  double urgent_ratio, high_ratio; /* of those told, at most */
  int flood_begins, flood_ends;    /* more than so many; fewer than so many ... */
  double window_s;                 /* ... within this */
  int chatter_count;               /* so often ... */
  double chatter_s;                /* ... within this */
  double stale_s;                  /* standing for longer */
  int haste_count;                 /* acknowledged by one person within a minute */
};
const char *feeds_when_name(enum feeds_when when);             /* "fan lost", as in the file */
const char *feeds_priority_name(enum feeds_priority priority); /* "urgent" */

/* What a night is, minutes of the suite's local day; to_min <= from_min: the next day. */
struct feeds_night {
  int from_min, to_min;
  double bridge_s; /* a gap no longer may count as what stands before and after it */
  double counts_s; /* what cost a night must have lasted so long to repeat */
};

/* When what is overdue is told (src/remind); quiet hours in minutes of the suite's local day, from = to: none. */
struct feeds_reminders {
  double after_s; /* it must be overdue for so long */
  double apart_s; /* between two messages */
  double again_s; /* the same again, while it lasts; 0: never */
  int quiet_from_min, quiet_to_min;
};

/* ---- messages: what is sent out (src/post) ---- */
enum feeds_tls { FEEDS_TLS_FROM_THE_START, FEEDS_TLS_STARTTLS, FEEDS_TLS_NONE };
struct feeds_message {
  struct facility_part part;
  enum feeds_priority alarms; /* this and worse; FEEDS_NOBODY: none */
  bool errands, reminders;
  int most_per_h;
  const char *url;   /* webhook, or NULL: mail */
  const char *token; /* names an environment variable or a file, as all secrets here; or NULL */
  const char *ca;    /* PEM file that vouches for the server, relative to the feeds file; or NULL */
  const char *host;  /* mail */
  int port;
  const char *from;
  int to_count;
  const char *const *to;
  const char *user, *secret;
  enum feeds_tls tls;
};

/* Said where a told time lies further back; takes days. */
#define FEEDS_TOLD_BACK "at most %.4g d back, as `record: {told back: ...}` of the feeds file says"

struct feeds {
  const char *file;
  char sha256[65];                 /* of the bytes read */
  double future_s;                 /* a time later than this is refused */
  bool unmeasured_work;            /* a station without a point counts as at work; else as parked */
  double keep_raw_s, keep_10min_s; /* the record's retention; 0: for ever */
  double keep_doubt_ratio; /* of the days with values, below which the clock is asked about */
  struct feeds_faults faults;
  struct feeds_lower lower;
  double told_back_s;  /* a told time may lie so far back */
  double shelf_most_s; /* how long an alarm may be put aside */
  struct feeds_figures figures;
  struct feeds_night night;
  struct feeds_reminders reminders;
  struct feeds_incidents incidents;
  const struct feeds_alarm *alarms; /* by `when`: the usual ones, the file's own in their place */
  int source_count, point_count, message_count;
  const struct feeds_message *messages;
  const struct feeds_source *sources;
  const struct feeds_point *points;
  struct arena *arena;
};

/*
 * Reads a feeds file for a suite, or returns NULL after at least one complaint.  Indices and nodes
 * are the facility's, which must outlive the feeds.  Reads no file itself.
 */
struct feeds *feeds_read(const struct facility *facility, const struct facility_text *text,
                         struct complaints *complaints);
void feeds_free(struct feeds *feeds); /* NULL is fine */

double feeds_told_back_usual_s(void);                             /* where there is no feeds file */
int feeds_source_find(const struct feeds *feeds, const char *id); /* -1: no such source */
int feeds_point_find(const struct feeds *feeds, const char *id);

const char *feeds_what_name(enum feeds_what what); /* "face velocity", as in the file */
const char *feeds_kind_name(enum feeds_kind kind); /* "csv" */
void feeds_print_manual(struct buf *out);          /* docs/feeds-file.md */
/* The id of what a point is about: "A3", "AF/1", "outdoors"; the suite: "". */
void feeds_about(const struct facility *facility, const struct feeds_point *point, struct buf *out);

#endif
