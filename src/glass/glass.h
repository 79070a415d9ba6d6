#ifndef GLASS_GLASS_H
#define GLASS_GLASS_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/emit.h"
#include "base/err.h"
#include "base/typed.h"
#include "facility/facility.h"

/*
 * The marks of the glass of a suite: can any two be told apart by everybody, what does a new one look
 * like, and whose is the beaker that stands here?
 *
 * Two marks have three things to tell them by: colour, shape and letter.  One counts when it is told
 * at a glance: colours that are `least colour` apart in every sight (src/mark), shapes that are `least
 * shape` apart, letters that nobody takes for one another.  What a mark does not say tells nothing.
 * With none a pair is a fault; with one it is weak, for a scratch or a gown's sleeve takes it away.
 *
 * A mark keeps off letters that station ids begin with, and colours that mean something else here.
 *
 *     struct glass_answer *answer = glass_look(facility, GLASS_KEEP, &arena);
 *     glass_text(answer, &out);
 *
 * Pure functions of the facility; memory from the arena; the facility is borrowed.
 */
enum glass_choice {
  GLASS_LOOK, /* at what is there */
  GLASS_KEEP, /* and a mark for each station that has none, or a faulty one; the others stay */
  GLASS_WEAK, /* and so many of the others that no pair is told by one thing only */
  GLASS_ANEW  /* and a new mark for each station */
};

struct glass_pair {
  int one, other; /* stations, one < other */
  double colour;  /* CIEDE2000 in the sight that tells them worst; NaN: one has none */
  enum mark_sight worst;
  double shape_ratio;                                 /* not common; NaN: one has none */
  bool told_by_colour, told_by_shape, told_by_letter; /* at a glance */
  int told_by;                                        /* how many of the three */
};

struct glass_station {
  struct facility_mark mark, chosen; /* chosen: the same where it stays */
  bool changes;
  int fault_count;
  const char **faults; /* in words; of the mark as it is */
};

struct glass_answer {
  const struct facility *facility;
  enum glass_choice choice;
  struct glass_station *stations; /* as the facility's */
  int pair_count, chosen_count;
  struct glass_pair *pairs,
      *chosen;                 /* all pairs, the worst first; of the chosen marks: if any are */
  int alike_count, weak_count; /* pairs told by none, by one */
  int fault_count;             /* of single marks */
  bool found_all;              /* there was a mark for every station */
};

/* NULL: more stations than can be compared in pairs within the arena's limit. */
struct glass_answer *glass_look(const struct facility *f, enum glass_choice choice,
                                struct arena *arena);

/* ---- a piece that was seen somewhere ---- */
enum glass_verdict {
  GLASS_AT_HOME,
  GLASS_VISITS,   /* some of that glass may stand here for a while */
  GLASS_ASTRAY,   /* it may not */
  GLASS_DOUBTFUL, /* several marks may be meant */
  GLASS_STRANGER, /* no mark is like it */
  GLASS_UNMARKED, /* it bears none */
  GLASS_VERDICT_COUNT
};
const char *glass_verdict_key(enum glass_verdict verdict); /* "at_home" */
int glass_verdict_find(const char *key);                   /* -1: none of them */
/* Whether what bears it goes nowhere before somebody decides: all but the first two. */
bool glass_is_lost(enum glass_verdict verdict);

struct glass_owner {
  int station;
  bool exactly; /* its mark is what was said, as far as that goes; else it may be taken for it */
  const char *why;
};

struct glass_seen {
  const struct facility *facility;
  struct facility_mark mark; /* as said */
  const char *piece;         /* NULL: not said */
  int at;
  enum glass_verdict verdict;
  int owner_count;
  struct glass_owner *owners; /* the exact ones first */
  int act_count;
  const char **acts; /* what to do, in order */
};

/* "violet square F", in any order, at least one of them; or "unmarked".  ERR_INPUT: a word is none of a mark. */
NODISCARD enum err_code glass_read_mark(const char *words, struct arena *arena,
                                        struct facility_mark *mark_out, struct err *err);

/* As it is read: "violet square F", "unmarked". */
const char *glass_mark_words(const struct facility_mark *mark, struct arena *arena);

/* `at`: a station.  `piece`: what it is, as the suite calls it; NULL: not said, so any of the owner's. */
struct glass_seen *glass_seen_at(const struct facility *f, const struct facility_mark *mark,
                                 const char *piece, int at, struct arena *arena);

/* ---- what is told of it ---- */
enum { GLASS_PIECE_MOST_BYTES = 80, GLASS_COUNT_MOST = 1000 };
struct glass_told {
  const char *mark;           /* in words */
  const char *piece;          /* NULL: not said */
  int count;                  /* of the same mark and kind, there and then */
  enum glass_verdict verdict; /* by the suite of that day: what it lost it keeps lost */
};
/* Of `mark`, `piece` and `count`, seen at station `at`; false, and told: they do not do. */
bool glass_take(struct typed *typed, const struct facility *f, int at, struct glass_told *out);
/* "violet square F, beaker 1 L (2): ASTRAY" */
void glass_told_text(const struct glass_told *told, struct buf *out);
/* Its keys, into an open object; and strictly back out of one, that has no other. */
void glass_told_emit(struct emit *json, const struct glass_told *told);
struct json_t;
bool glass_told_read(const struct json_t *from, struct arena *arena, struct glass_told *out);

/* ---- in words ---- */
void glass_text(const struct glass_answer *a, struct buf *out);
void glass_json(const struct glass_answer *a, struct buf *out); /* inward.glass.1 */
void glass_seen_text(const struct glass_seen *seen, struct buf *out);
void glass_seen_json(const struct glass_seen *seen, struct buf *out); /* inward.glass_seen.1 */

/* The chosen marks as an overlay, for `--with`; nothing where none changes. */
void glass_overlay(const struct glass_answer *a, struct buf *out);

#endif
