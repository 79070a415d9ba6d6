#ifndef AFTER_AFTER_IMPL_H
#define AFTER_AFTER_IMPL_H

#include "after/after.h"

/* What the files of this folder share. */

enum after_kind {
  AFTER_SASH,
  AFTER_ALL,
  AFTER_DOOR,
  AFTER_OFF,
  AFTER_ON,
  AFTER_POWER,
  AFTER_COVER,
  AFTER_SHUT,
  AFTER_LOAD,
  AFTER_SETBACK,
  AFTER_GAS
};

/* One event as understood; the checks that need those before it are done when it is taken. */
struct after_order {
  enum after_kind kind;
  double at_s;
  const char *change; /* as scene_change takes it, or NULL */
  int index, unit;    /* of the station, door, fan, supply (after the fans), duct, feed, room */
  double value;       /* speed, seconds of darkness, share; NaN: not said */
};

/* Reads one event; err->col is the place in it. */
NODISCARD enum err_code after_read_event(const struct facility *f, const char *text,
                                         struct arena *arena, struct after_order *out,
                                         const char **words_out, struct err *err);

/* A door or sash on its way. */
struct after_way {
  double from, to, begins_s, ends_s;
};
double after_way_at(const struct after_way *way, double t_s);

enum after_mode { AFTER_AT_LEAST = -2, AFTER_FALLS, AFTER_FREE, AFTER_RISES, AFTER_AT_MOST };
extern const double after_standing_ratio; /* a drive that coasts below this stands */
enum after_drive { AFTER_RUNS, AFTER_COASTS, AFTER_STANDS };

/* A moment at which something jumps. */
enum after_moment_kind { AFTER_EVENT, AFTER_LIGHT, AFTER_RESTART };
struct after_moment {
  double at_s;
  enum after_moment_kind kind;
  int event;
};

/* Where each kind of state begins in the vector. */
struct after_layout {
  int station, feed, feed_sensor, unit, fan, fan_sensor, fast, particle, gas, gas_out, count;
};

struct after_work {
  const struct facility *f;
  const struct after_request *request;
  struct arena *arena;
  struct err *err;
  struct air *air, *steady; /* driven; asked for where it goes */
  struct scene scene, goal; /* as things stand; as ordered */
  struct air_drive *drive;
  struct after_order *orders;
  struct after_layout at;
  struct numeric_stepper *stepper;
  double *y, *least_error, *moved, *answer; /* the last two: scratch of the Jacobian */
  struct after_way *sash, *door;
  double *station_ratio, *feed_ratio, *hold_ratio; /* set-backs: per station, feed, fan */
  double *feed_gain, *fan_gain;                    /* per Pa */
  int *feed_supply, *feed_of;                      /* of a flat feed */
  enum after_drive *fan_drive, *unit_drive;
  bool dark, resting, has_particles, has_gas, clock; /* clock: one tracer only, clean outside */
  double *carried;                                   /* tracer: per node */
  double *in_kg_s, *in_amount;
  int moment_count;
  struct after_moment *moments;
  double dark_until_s;
  int *signature, *candidate, signature_count;
  int *door_sign, *station_sign;
  long solves;    /* of the air, or of what it carries where it stands */
  int hasty;      /* turns in a row that were found at once: chatter */
  int first_mode; /* in the signature: behind it all that the state alone decides */
  int *mode;      /* by state: enum after_mode; all others free */
  double *turned_s;
  struct after_answer *out;
};

/* ---- plant.c: what moves, and how ---- */
bool after_plant_begin(struct after_work *w);
NODISCARD enum err_code after_take_order(struct after_work *w, int event);
void after_light(struct after_work *w);
void after_restart(struct after_work *w);
void after_slope(void *of, double t_s, const double *y, double *slope);
bool after_solve_at(struct after_work *w, double t_s, const double *y); /* the air as that has it */
/* How the plant moves in the air that was solved last. */
void after_move_plant(struct after_work *w, const double *y, double *slope);
bool after_clamp(
    struct after_work *w); /* states to their limits; true: something came to a stand */
double after_ask_m3_s(const struct after_work *w, int station);
const struct facility_feed *after_feed_at(const struct after_work *w, int feed);
double after_part_s(const struct facility_response *r, double usual_s);
double after_feed_most_m3_s(const struct facility *f, int supply, int feed);
double after_feed_pressure_Pa(const struct after_work *w, int feed);
double after_fan_pressure_Pa(const struct after_work *w, int fan);

/* ---- modes.c: the piece of its law that a controlled state is in ---- */
double after_in_mode(const struct after_work *w, int state, const double *y); /* its slope */
enum after_mode after_mode_at(const struct after_work *w, int state, const double *y);
bool after_set_modes(struct after_work *w, const double *y); /* true: one has changed */

/* ---- jacobian.c: how that answers to a small change ---- */
int after_blocks(const struct after_work *w,
                 int *block_out); /* which states answer to one another */
void after_jacobian(void *of, double t_s, const double *y, const double *slope, double *out);
/* The same of what is carried in the rooms, and of what has left them where that is asked, by rows. */
void after_carry_jacobian(struct after_work *w, bool filtered, bool with_out, double *out);

/* ---- carried.c: what goes with the air ---- */
void after_carry(struct after_work *w, const double *amount, double outside_per_m3, bool filtered,
                 double *slope, double *out_slope);
double after_outside_per_m3(const struct facility *f);
double after_limit_per_m3(const struct facility *f, int room);
void after_clocks(struct after_work *w);

/* ---- run.c ---- */
NODISCARD enum err_code after_run(struct after_work *w);

/* ---- judge.c ---- */
bool after_judge(struct after_work *w);
double after_cell(const struct after_trace *t, int row, int column, int index);

#endif
