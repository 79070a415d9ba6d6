#ifndef MEET_MEET_H
#define MEET_MEET_H

#include "base/arena.h"
#include "base/buf.h"
#include "chem/chem.h"

#include <stdbool.h>

/*
 * May these stand or be poured together: answer = f(facts, request).
 *
 * Three sources, always named beside what they say: the chart of EPA-600/2-80-076 (41 groups, every
 * pair of two of them), the rules it lacks (data/rules.csv: matched by substance, group or named
 * mixture, two or three at a time), and what vessels stand (data/materials.csv).  A place adds its
 * own rules.  There are four verdicts and none of them is a clearance.
 *
 *     const struct meet_facts *facts = meet_read(chem, &arena);
 *     struct meet_request request = {.at_K = NAN};
 *     meet_take(&request, "thing", "acetone", &err);
 *     meet_take(&request, "thing", "piranha", &err);
 *     answer = meet_answer(facts, &request, &arena, &err);      // NULL: ERR_INPUT with its way out
 *     meet_text(answer, UNITS_SYSTEM_SI, &out);
 *
 * Facts are never written after meet_read and may be shared; memory is the arenas'.
 */

/* By rising gravity. */
enum meet_verdict { MEET_NOTHING_LISTED, MEET_BY_PROCEDURE, MEET_UNKNOWN, MEET_NEVER };
const char *meet_verdict_words(enum meet_verdict verdict); /* "nothing listed: not a clearance" */

enum meet_place {
  MEET_ANYWHERE,
  MEET_DECK,
  MEET_DRAWER,
  MEET_WASTE, /* one container */
  MEET_STORAGE,
  MEET_SHIPMENT /* packed waste on a vehicle: the one place where the transport table speaks */
};
const char *meet_place_word(enum meet_place place); /* "deck"; NULL: anywhere */

enum { MEET_THINGS_MAX = 12, MEET_TEXT_MAX = 80, MEET_PARTS_MAX = 8, MEET_GROUPS_MAX = 16 };

struct chemicals;
struct facility;
struct meet_facts;

/* The texts are borrowed. */
struct meet_request {
  int thing_count, held_count;
  const char
      *things[MEET_THINGS_MAX];      /* "acetone", "hf@49wt%", "piranha", "acetone + chloroform" */
  const char *held[MEET_THINGS_MAX]; /* what the container held before */
  enum meet_place place;
  const char *vessel;              /* NULL: none named */
  double at_K;                     /* NaN: not said */
  const char *station;             /* of `facility`; NULL: none named */
  const struct facility *facility; /* NULL: no suite */
  const struct chemicals *own;     /* its own chemistry; NULL */
};

/* Keys: thing, held, place, vessel, at, station.  ERR_USAGE, ERR_INPUT. */
NODISCARD enum err_code meet_take(struct meet_request *request, const char *key, const char *value,
                                  struct err *err);

/* `chem` must outlive the facts.  Cannot fail: the tables are ours and tests read them. */
const struct meet_facts *meet_read(const struct chem *chem, struct arena *arena);

/* ---- what a vessel stands ---- */

enum meet_rating {
  MEET_LISTED,
  MEET_LIMITED,
  MEET_NOT_LISTED,
  MEET_REFUSED
};                                                     /* by rising gravity */
const char *meet_rating_word(enum meet_rating rating); /* "refused" */

/* Part of a liquid: a substance of src/chem or a named mixture ("piranha"), as its share by mass. */
struct meet_part {
  const char *id;
  double fraction_ratio; /* NaN: not said, and then counted as strong */
};

struct meet_vessel {
  const char *id, *name; /* "pp", "Polypropylene" */
  enum meet_rating rating;
  double most_K;   /* the least of the limits that apply; NaN: the tables give none */
  const char *why; /* "dissolved by hydrofluoric acid and fluorides" */
  struct chem_origin of;
  double short_K; /* of the material by itself, for a short time, as its makers print; NaN */
};

/* The id of a vessel's material by its id, name or alias ("borosilicate": glass); NULL: none. */
const char *meet_material_id(const struct meet_facts *facts, const char *text);

/*
 * Every material of the table for that liquid at that temperature (NaN: not said), in the table's
 * order: the worst that any part of it meets.  Listed is no clearance: the maker's chart decides.
 */
const struct meet_vessel *meet_vessels(const struct meet_facts *facts,
                                       const struct meet_part *parts, int part_count, double at_K,
                                       int *count_out, struct arena *arena);

/* ---- the answer ---- */

enum meet_kind {
  MEET_SUBSTANCE,
  MEET_MIXTURE,
  MEET_TRACE,
  MEET_SOLID,
  MEET_MATERIAL,
  MEET_GROUP, /* "group:10", from a safety data sheet */
  MEET_CLASS, /* "class:8", for a shipment */
  MEET_UNLABELLED,
  MEET_NOT_KNOWN /* a name that no table here has */
};
const char *meet_kind_word(enum meet_kind kind);

/* What one thing is for the rules: itself, then each of its parts. */
struct meet_face {
  const char *id; /* "" for a bare group */
  const char *name;
  double fraction_ratio;
  bool implied; /* the water that a reagent is sold in */
  int group_count;
  int groups[MEET_GROUPS_MAX];
};

struct meet_thing {
  const char *asked, *id, *name;
  enum meet_kind kind;
  bool held, vessel, own;          /* own: a bottle or bath of the suite's chemicals file */
  int made_of[MEET_PARTS_MAX + 1]; /* of a mixture that others make here: their indices; -1 ends */
  int face_count;
  struct meet_face faces[1 + MEET_PARTS_MAX];
  const char *deck_family, *shelf; /* ids of data/families.csv; NULL: of none */
  const char *transport_class;     /* NULL: none in the table */
  const char *subsidiary;          /* its second class; NULL */
};

struct meet_cell {
  int group_a, group_b; /* a < b */
  const char *codes;    /* "H GT"; "X": not with anything; "" */
  const char *printed;
  const char *confidence; /* high, good, fair, low */
  struct chem_origin of;
};

struct meet_sentence {
  const char *rule; /* id of data/rules.csv, families.csv or materials.csv */
  enum meet_verdict verdict;
  const char *codes, *say, *instead; /* instead: what to do; "" */
  struct chem_origin of;
};

/* What was found of one thing, of two or of three. */
struct meet_finding {
  enum meet_verdict verdict;
  int of_count, of[3];
  int sentence_count, cell_count;
  const struct meet_sentence *sentences; /* the worst first */
  const struct meet_cell *cells;         /* of the chart, those with letters */
  int blank_count;                       /* cells of the chart that are blank */
  const char *chart_note;                /* why there is no letter; NULL */
  bool chart_waived;                     /* a rule says what these two are made together for */
  const struct meet_vessel *vessel;      /* of a thing in a material; else NULL */
};

struct meet_change {
  const char *from, *to; /* names of deck families */
  int step_count;
  const char *const *steps;
  struct chem_origin of;
};

struct meet_transport {
  int a, b;                      /* things */
  const char *class_a, *class_b; /* NULL: not in the table */
  const char *subsidiary_a, *subsidiary_b;
  const char *code; /* of all their classes the strictest: "X", "O", "*", "" */
};

struct meet_answer {
  const struct meet_facts *facts;
  const struct facility *facility; /* or NULL */
  const struct chemicals *own;     /* or NULL */
  enum meet_place place;
  const char *station; /* or NULL */
  double at_K;
  enum meet_verdict verdict; /* the worst of all */
  int thing_count;           /* those asked for, held ones and the vessel; then those made here */
  int asked_count;           /* without those made here */
  const struct meet_thing *things;
  int finding_count;
  const struct meet_finding *findings; /* the worst first */
  int note_count;
  const struct meet_sentence *notes; /* of the place and of poisons */
  int change_count;
  const struct meet_change *changes; /* deck */
  int transport_count, transport_cells;
  const struct meet_transport *transport; /* shipment */
  int unknown_count;
  const char *const *unknown; /* what this answer does not know */
};

const struct meet_answer *meet_answer(const struct meet_facts *facts,
                                      const struct meet_request *request, struct arena *arena,
                                      struct err *err);

/* "Acetone with Piranha", "Acetone with Chloroform and Potassium hydroxide". */
const char *meet_finding_of(const struct meet_answer *answer, const struct meet_finding *finding,
                            struct arena *arena);
/* "heat, fire" for "H F". */
const char *meet_codes_words(const char *codes, struct arena *arena);

void meet_text(const struct meet_answer *answer, enum units_system system, struct buf *out);
void meet_json(const struct meet_answer *answer, struct buf *out);

/* ---- the chart itself, for tests ---- */
/* The cell of two groups in whatever order; NULL: the chart has none (a group with itself). */
const struct meet_cell *meet_chart(const struct meet_facts *facts, int group_a, int group_b);

#endif
