#ifndef INTAKE_INTAKE_IMPL_H
#define INTAKE_INTAKE_IMPL_H

#include "intake/intake.h"
#include "units/units.h"

/* What a column can hold.  words.c maps header words to these. */
enum intake_field {
  FIELD_NONE,
  FIELD_ID,
  FIELD_NAME,
  FIELD_TYPE, /* kind of station, rule of its flow, or both in one cell */
  FIELD_ROOM,
  FIELD_MAIN,
  FIELD_CHEMISTRY,
  FIELD_WIDTH,
  FIELD_DOWN, /* opening when parked */
  FIELD_MARK, /* opening at the mark */
  FIELD_TOP,  /* opening as far as it goes */
  FIELD_PARKED,
  FIELD_WORK,
  FIELD_LARGEST,
  FIELD_FLOW, /* a flow, not said when */
  FIELD_VELOCITY,
  FIELD_GLASS,
  FIELD_NOT_HERE,
  FIELD_WEAR,
  FIELD_CALL,
  FIELD_STATUS,
  FIELD_PIECES, /* how many stations the row is */
  FIELD_NOTE,
  FIELD_COUNT
};

enum intake_rule { RULE_NONE, RULE_CONSTANT, RULE_TWO_STATE, RULE_FOLLOWS, RULE_PASSIVE };
enum intake_presence { PRESENT, OUT_OF_SERVICE, REMOVED };
enum intake_family { FAMILY_NONE, FAMILY_ACID, FAMILY_SOLVENT };

/* ---- words.c: what people write, folded (fold.c) ---- */
/* Lower case, accents off, everything but letters, digits, + and % a single blank. */
void intake_fold(const char *text, char *out, size_t size);

/* Does a cell say that there is nothing (0), or that it is not known (1)?  -1: it says something,
 * in whatever letters. */
int intake_missing_as(const char *text);

struct intake_word {
  const char *text;
  int means;
};
/* The meaning of a whole text; -1: none. */
int intake_word_find(const struct intake_word *words, const char *folded);
/* The first of its words, or pair or triple of words, that means something; -1. */
int intake_word_in(const struct intake_word *words, const char *folded);
/* How many different meanings its words have. */
int intake_word_meanings(const struct intake_word *words, const char *folded);
/* Does a word beside one that means something take it back: "not VAV", "solvent free"? */
bool intake_word_doubted(const struct intake_word *words, const char *folded);

extern const struct intake_word intake_headers[];  /* enum intake_field */
extern const struct intake_word intake_kinds[];    /* enum facility_station_kind */
extern const struct intake_word intake_rules[];    /* enum intake_rule */
extern const struct intake_word intake_statuses[]; /* enum intake_presence */
extern const struct intake_word intake_families[]; /* enum intake_family */
extern const struct intake_word intake_colours[];  /* index of intake_colour_names */
extern const struct intake_word intake_shapes[];
extern const struct intake_word intake_missing[]; /* 0: nothing; 1: not known */
extern const struct intake_word intake_dittos[];
extern const struct intake_word intake_totals[];
extern const struct intake_word intake_mended[]; /* "removed, put back in May" */
extern const struct intake_word intake_doubts_before[], intake_doubts_behind[];
extern const struct intake_word intake_high[]; /* before a number: 0 the flow at work */
extern const char *const intake_colour_names[], *const intake_shape_names[];

/* The accepted spelling of a unit of one of these dimensions, or NULL. */
const char *intake_unit(const char *text, enum units_dimension dimension);

/* ---- figure.c: one cell to one figure ---- */
enum figure_state { FIGURE_NONE, FIGURE_NOT_KNOWN, FIGURE_GIVEN, FIGURE_BAD };

enum figure_mark { MARK_ASK, MARK_THOUSANDS, MARK_DECIMAL }; /* what "1.450" means */

struct figure_wanted {
  enum units_dimension dimension;
  const char *unit; /* of the column, or NULL */
  enum figure_mark mark;
  double low_si, high_si; /* plausible */
};

struct figure {
  enum figure_state state;
  const char *text; /* as a suite writes it: "1.50 m"; "1.50" while the unit is not known */
  double si;        /* NaN while the unit is not known */
  bool about;       /* "ca." */
  bool needs_unit;  /* a number alone, and the column has no unit */
  bool needs_mark;  /* "1.450" */
  bool needs_check; /* read, and not plausible */
  const char *more; /* what stood in brackets behind it, or NULL */
  const char *why;  /* FIGURE_BAD */
};
struct figure intake_figure(const char *text, const struct figure_wanted *wanted,
                            struct arena *arena);

/* ---- table.c ---- */
struct intake_column {
  int column;
  enum intake_field field;
  const char *header;  /* as written */
  const char *unit;    /* from the header, a unit row, or an answer; or NULL */
  const char *letters; /* "E" */
  bool unit_asked;     /* the questions are over: no unit is a fault now */
};

struct intake_table {
  const struct sheet_table *sheet;
  int header_row;         /* the last of the header's rows */
  int first_row, end_row; /* data, end exclusive */
  int first_column, end_column;
  int column_count;
  struct intake_column *columns;
  bool has_unknown;     /* a column that is not used */
  bool ids_have_digits; /* nearly all; so a lone word without one is a heading */
};

/* ---- the whole ---- */
/* The figures of a station, in the order of their fields. */
enum { V_COUNT = FIELD_VELOCITY - FIELD_WIDTH + 1 };
#define VALUE(station, field) ((station)->values[(field)-FIELD_WIDTH])

struct intake_value {
  const char *text; /* NULL: not known */
  double si;
  int column;
  bool about, needs_unit;
  const char *more; /* what stood in brackets behind it */
};

struct intake_station {
  int row;
  const char *id, *written_id; /* legal; as in the list */
  const char *name, *room, *main, *chemistry, *call, *wear, *wear_source, *not_here, *note;
  const char *colour, *shape, *letter;
  const char *remark; /* the last of its remark cells */
  int remark_column;
  int kind; /* enum facility_station_kind; -1: not said */
  enum intake_rule rule;
  bool type_refused; /* what its cell says is not understood, so it is not filled in either */
  bool out_of_service;
  struct intake_value values[V_COUNT];
  const char *flow, *flow_aside; /* the whole rule as a suite writes it, or NULL: left out */
  const char *flow_form;         /* "two-state" */
  int flow_count;
  struct intake_flow_key {
    const char *key, *text; /* "parked"; NULL: the form's own value */
    bool listed;            /* the list's own figure, not an answer or a result */
  } flow_keys[3];
};

enum intake_answer_kind { ANSWER_QUANTITY, ANSWER_WORD, ANSWER_UNIT, ANSWER_TEXT };

struct intake_answer {
  struct intake_question question;
  enum intake_answer_kind kind;
  enum units_dimension dimension;
  const char *words, *said; /* "one|by chemistry", and in a sentence */
  bool open;                /* could be asked */
  bool asked, answered, used;
  int rank;         /* lower is asked first */
  const char *text; /* NULL: don't know, or not answered */
  int choice;       /* ANSWER_WORD */
  int column;       /* ANSWER_UNIT: index into the table's columns */
  struct place place;
};

enum { MOST_ANSWERS = 40 };

/* A room or main: the id in the suite and the text in the list. */
struct intake_named {
  const char *id, *written;
};

struct intake {
  const struct sheet_book *book;
  struct arena *arena;
  struct complaints *complaints;
  struct intake_table table;
  int answer_count, asked;
  struct intake_answer answers[MOST_ANSWERS];
  int station_count, station_room;
  struct intake_station *stations;
  int room_count, main_count;
  struct intake_named *rooms, *mains;
  const char *supply_id;
  int row_out_count; /* rows that are no station here and may be one in the room */
  int *rows_out;
  int remark_count, remark_room, remarks_dropped, header_remarks;
  struct intake_remark *remarks;
  struct intake_result result;
  bool beside_suite; /* the plant is not asked about */
  bool finished;
};

#define INTAKE_NO_MAIN "main not said" /* where a station stands whose main nobody knows */

bool intake_find_table(struct intake *in, const char *choice);
const struct intake_column *intake_column_of(const struct intake *in, enum intake_field field);
enum units_dimension intake_dimension(enum intake_field field);
const char *intake_place(struct intake *in, int row, int column);

/* ---- cells.c: a row's cells, dittos followed ---- */
struct intake_row {
  int row;
  const struct sheet_cell **cells;       /* by index of the table's columns; never NULL */
  const struct sheet_cell **cells_above; /* of the row before */
};
enum { INTAKE_MOST_TEXT = 3000 }; /* bytes of one text; what YAML escapes come on top */
const char *intake_row_text(struct intake *in, const struct intake_row *row, int column);
bool intake_row_struck(struct intake *in, const struct intake_row *row, int column); /* said, too */
bool intake_row_begin(struct intake *in, struct intake_row *row,
                      int number);               /* false: not a station */
void intake_row_out(struct intake *in, int row); /* not written, and its air is not counted */

/* ---- ask.c ---- */
void intake_open_questions(struct intake *in);
const struct intake_answer *intake_answer_find(const struct intake *in, const char *key);
const char *intake_said(struct intake *in, const char *key); /* NULL: not known */

/* ---- write.c ---- */
enum { INTAKE_KEYS = 32 };

/* One key of a station as the list gives it, in the file's order and as YAML. */
struct intake_key {
  const char *path, *yaml, *aside;
  bool listed; /* said by the list itself */
};
struct intake_key_list {
  struct intake_key list[INTAKE_KEYS];
  int count;
};
void intake_station_keys(struct intake *in, const struct intake_station *s,
                         struct intake_key_list *keys);
/* The same down to single values: "flow, two-state, parked". */
void intake_station_leaves(struct intake *in, const struct intake_station *s,
                           struct intake_key_list *leaves);
void intake_yaml_text(struct buf *out, const char *text); /* quoted where it must be */

/* ---- stations.c, flows.c ---- */
/* What its chemistry says of its main; FAMILY_NONE where it says nothing, or two things. */
enum intake_family intake_family_of(const struct intake_station *s);
/* Is this the id that a station written so gets? */
bool intake_is_legal_of(struct arena *arena, const char *written, const char *id);
void intake_read_stations(struct intake *in);
void intake_settle_flows(struct intake *in);
/* A comment that intake itself wrote behind a flow. */
bool intake_is_own_aside(const char *comment);

void intake_remark(struct intake *in, enum intake_weight weight, int row, int column,
                   const char *fmt, ...) PRINTF_LIKE(5, 6);
const char *intake_text(struct intake *in, const char *fmt, ...) PRINTF_LIKE(2, 3);

#endif
