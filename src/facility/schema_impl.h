#ifndef FACILITY_SCHEMA_IMPL_H
#define FACILITY_SCHEMA_IMPL_H

#include "base/buf.h"
#include "units/units.h"

#include <stdbool.h>
#include <stdint.h>

/*
 * The table behind the suite file (schema.def): which keys may stand where,
 * what each holds, its range and its default.  The checker, the builder, the
 * manual and the JSON Schema all read these rows and nothing else knows a key.
 *
 * A KEY belongs to a STRUCT (a map in the file).  Some keys form a GROUP of
 * which one FORM must be chosen ("a leak is an area, or c and n, or a flow at a
 * drop"); a form is chosen by its deciding key, in table order.
 */
enum schema_kind {
  SCHEMA_TEXT,
  SCHEMA_TEXTS, /* list of texts */
  SCHEMA_DATE,  /* 2026-03-19 */
  SCHEMA_YES_NO,
  SCHEMA_WORD,
  SCHEMA_COUNT,
  SCHEMA_QUANTITY,
  SCHEMA_LIMIT,          /* a quantity whose dimension the sibling key "of" decides */
  SCHEMA_PAIR,           /* quantity at quantity */
  SCHEMA_PAIRS,          /* list of them */
  SCHEMA_OPENING,        /* parked, work, or a length */
  SCHEMA_REF,            /* an id */
  SCHEMA_REFS,           /* list of ids */
  SCHEMA_MAP,            /* ids (or counts, when no kind of id is named) to items */
  SCHEMA_STRUCT,         /* a map with keys of its own */
  SCHEMA_WORD_OR_STRUCT, /* one of the words, or such a map */
  SCHEMA_STRUCTS,        /* list of such maps */
  SCHEMA_PARTS,          /* ids to such maps */
  SCHEMA_PARTS_BY_REF,   /* the same, the ids being those of other parts */
  SCHEMA_INCLUDE,        /* the keys of another struct, standing here */
  SCHEMA_ANY             /* checked elsewhere */
};

/* Kinds of things that have ids; a reference names the kinds it may point to. */
enum schema_id_kind {
  ID_CRITERION = 1 << 0,
  ID_ROOM = 1 << 1,
  ID_JUNCTION = 1 << 2,
  ID_OUTDOORS = 1 << 3,
  ID_LEAK = 1 << 4,
  ID_DOOR = 1 << 5,
  ID_DUCT = 1 << 6,
  ID_FAN = 1 << 7,
  ID_MAIN = 1 << 8,
  ID_SUPPLY = 1 << 9,
  ID_EXHAUST = 1 << 10,
  ID_STATION = 1 << 11,
  ID_SCENE = 1 << 12,
  ID_FEED = 1 << 13,
  ID_FAN_UNIT = 1 << 14,
  ID_SOURCE = 1 << 15,
  ID_POINT = 1 << 16,
  ID_ALARM = 1 << 17,
  ID_MESSAGE = 1 << 18,
  ID_PROCEDURE = 1 << 19,
  ID_BOTTLE = 1 << 20,
  ID_BATH = 1 << 21,
  ID_RATE = 1 << 22,
  ID_LIMIT = 1 << 23,
  ID_TANK = 1 << 24,
  ID_STREAM = 1 << 25,
  ID_STORE = 1 << 26,
  ID_ENDORSEMENT = 1 << 27,
  ID_PERSON = 1 << 28,
  ID_DEMOTION = 1 << 29,
  ID_PROCESS = 1 << 30,
  ID_NODE = ID_ROOM | ID_JUNCTION | ID_OUTDOORS,
  ID_NETWORK = ID_JUNCTION | ID_OUTDOORS
};

/* An enumeration holds no more. */
#define ID_RULE   (UINT64_C(1) << 31)
#define ID_DRAIN  (UINT64_C(1) << 32)
#define ID_RINSE  (UINT64_C(1) << 33)
#define ID_TRAY   (UINT64_C(1) << 34)
#define ID_HEATER (UINT64_C(1) << 35)

enum schema_struct_id {
#define STRUCT(name, ...) STRUCT_##name,
#define KEY(...)
#define GROUP(...)
#define FORM(...)
#include "facility/schema.def"
  STRUCT_COUNT
};

enum schema_key_id {
#define STRUCT(name, ...)     KEY_begin_##name,
#define KEY(owner, name, ...) KEY_##owner##_##name,
#define GROUP(...)
#define FORM(...)
#include "facility/schema.def"
  KEY_COUNT
};

enum schema_form_id {
#define STRUCT(...)
#define KEY(...)
#define GROUP(...)
#define FORM(owner, name, ...) FORM_##owner##_##name,
#include "facility/schema.def"
  FORM_COUNT,
  FORM_NONE = -1
};

struct schema_key {
  enum schema_struct_id owner;
  const char *key; /* NULL: the marker that begins a struct's rows */
  const char *doc;
  enum schema_kind kind, item;
  enum units_dimension dimension, at;
  uint64_t refs;
  enum schema_struct_id nested;
  const char *words; /* "parked|work", in the order of the C enumeration */
  bool required;
  bool bounded, low_open;
  double low, high;      /* SI; low itself excluded when low_open */
  const char *fallback;  /* the default as a person would write it */
  const char *assumed;   /* taking the default is worth saying; why this value */
  const char *otherwise; /* for the manual: what happens without the key */
  const char *find;      /* on which paper or with which reading the figure is found */
  uint64_t id_kind;      /* SCHEMA_PARTS: what its ids are */
  bool lines;            /* text may have several */
  int longest;           /* text: at most so many characters; 0: no limit but the file's */
};

struct schema_struct {
  const char *name, *title, *doc, *example;
  int first; /* row of its first key; they end at the next struct */
};

enum { SCHEMA_GROUPS = 2 };

struct schema_group {
  enum schema_struct_id owner;
  int group;
  bool required;
  const char *words;
};

struct schema_form {
  enum schema_struct_id owner;
  const char *name;
  int group;
  const char *deciding; /* its presence chooses this form */
  const char *needs;    /* "a|b/c": a, and b or c */
  const char *allows;   /* further keys of the group */
  const char *words;    /* what the form is called */
  const char *equation;
};

const struct schema_struct *schema_struct_at(enum schema_struct_id id);
const struct schema_key *schema_key_at(int row);
/* Does this row still belong to the struct?  Walk: first, first + 1 ... */
bool schema_more(enum schema_struct_id owner, int row);
const struct schema_group *schema_group_of(enum schema_struct_id owner, int group); /* or NULL */
const struct schema_form *schema_form_at(enum schema_form_id id);

/* Row of a key in a struct, looking into what it includes; -1: not allowed here. */
int schema_find(enum schema_struct_id owner, const char *key);
/* Is `word` one of the entries of a '|' list ("a|b/c" counts three)?  NULL list: no. */
bool schema_listed(const char *list, const char *word);
/* Is the key part of that group's forms? */
bool schema_in_group(enum schema_struct_id owner, int group, const char *key);
/* A form that only exists to name what is missing from another. */
bool schema_form_hidden(const struct schema_form *form);
bool schema_in_form(const struct schema_form *form, const char *key);
/* Position of a word in "a|b|c", -1 when absent. */
int schema_word(const char *words, const char *word);
/* Copies entry `index` of such a list; false past the end. */
bool schema_entry(const char *list, int index, const char *separators, char *out, int room);

/* What a kind of id is called: "room", "station". */
const char *schema_kind_words(uint64_t id_kind);
void schema_kinds_words(uint64_t kinds, struct buf *out); /* "a room, junction or outdoors" */

/* A bound as people write it: shares in %, temperatures in degC. */
void schema_bound(double si, enum units_dimension dimension, struct buf *out);

/* manual.c: a struct's heading, keys, forms and example, as Markdown. */
void manual_chapter(enum schema_struct_id id, int level, struct buf *out);

#endif
