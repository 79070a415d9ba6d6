#ifndef RULE_RULE_H
#define RULE_RULE_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/complaints.h"
#include "facility/rules.h"
#include "units/units.h"

#include <stdbool.h>

/*
 * House rules as data: a small language whose every expression is yes, no or unknown.
 *
 *     when: process uses "hf" and not staffed
 *     must: inside with "hf" >= 2 and confirmed "the gel is in date"
 *
 * It has names (rule/names.def), comparisons, and, or, not and brackets; nothing loops, counts or
 * computes.  What is not known stays so (Kleene: unknown and no is no, unknown or yes is yes), so a
 * rule never passes because a fact is missing.
 *
 * A set has a slot for each name with its argument that any rule speaks of.  Who asks fills the
 * slots once; judging the whole set is then a walk over arrays, and takes no memory.
 *
 *     struct rule_set *set = rule_read(rules, &known, &arena, &complaints);
 *     for (int i = 0; i < set->slot_count; i++)
 *       values[i] = look(set->slots[i].name, set->slots[i].argument);
 *     truth = rule_says(set, rule, values);
 *
 * A rule that does not parse, names what is none or fails a test is said at its place and is
 * unknown from then on: never yes.  Memory is
 * the arena's; `rules` must outlive the set; a set is never written after rule_read.
 */
enum rule_truth { RULE_NO, RULE_UNKNOWN, RULE_YES }; /* and: the least; or: the greatest */
const char *rule_truth_word(enum rule_truth truth);

enum rule_name {
#define NAME(id, ...) RULE_##id,
#include "rule/names.def"
#undef NAME
  RULE_NAME_COUNT
};

enum rule_type { RULE_TRUTH, RULE_TEXT, RULE_QUANTITY, RULE_COUNT, RULE_CLOCK };
enum rule_argument {
  RULE_NONE,
  RULE_FREE, /* any text */
  RULE_ENDORSEMENT,
  RULE_PROCESS,
  RULE_STATION,
  RULE_ROOM,
  RULE_SUBSTANCE,
  RULE_VESSEL,
  RULE_GHS /* "H300", "EUH014" */
};

struct rule_name_row {
  const char *words;
  enum rule_type type;
  enum rule_argument argument; /* of a TEXT: what its texts name */
  enum units_dimension dimension;
  const char *possible; /* "a|b|c", or NULL: any */
  const char *meaning;
};
const struct rule_name_row *rule_name_row(enum rule_name name);

/* What is known of a slot.  A truth is 0 or 1, a clock minutes since midnight. */
struct rule_value {
  bool known;
  double number_si;
  const char *text;
  const char *why; /* where it is from, or why it is not known; NULL */
};

struct rule_slot {
  enum rule_name name;
  const char *argument; /* or NULL */
};

struct rule_expression; /* NULL: always */

struct rule_rule {
  const struct rules_rule *said;
  bool bad;      /* it did not parse, or names what is none: unknown */
  bool doubted;  /* it fails a test of its own, or is `anywhere`: at most unknown */
  bool anywhere; /* it is for a process that is none: for which was meant, nobody knows */
  const struct rule_expression *when, *must;
};

struct rule_set {
  const struct rules *rules;
  int count, slot_count;
  const struct rule_rule *list; /* as in rules->list */
  const struct rule_slot *slots;
};

/* Whether a text names something of the suite; NULL members and a NULL `fits`: anything does. */
struct rule_known {
  bool (*fits)(const void *arg, enum rule_argument kind, const char *text);
  const void *arg;
};

/* Is it the code of a hazard, as GHS writes it: H and three figures, or EUH? */
bool rule_is_ghs(const char *text);

/* Reads every expression and runs every test; complaints at the place inside the text. */
struct rule_set *rule_read(const struct rules *rules, const struct rule_known *known,
                           struct arena *arena, struct complaints *complaints);
int rule_slot_find(const struct rule_set *set, enum rule_name name, const char *argument); /* -1 */

/* `when` alone, and the whole: not when, or must. */
enum rule_truth rule_applies(const struct rule_set *set, int rule, const struct rule_value *values);
enum rule_truth rule_says(const struct rule_set *set, int rule, const struct rule_value *values);

/* One comparison or truth of `must` that keeps it from yes. */
struct rule_blame {
  int slot;
  enum rule_truth truth; /* of what is asked of it */
  const char *text;      /* `inside with "hf" >= 2` */
};
enum { RULE_BLAMES_MAX = 16 };
int rule_because(const struct rule_set *set, int rule, const struct rule_value *values,
                 struct rule_blame out[RULE_BLAMES_MAX], struct arena *arena);
/* "2", "21 degC", "wet bench"; what is not known: "not known". */
void rule_print_value(enum rule_name name, const struct rule_value *value, struct buf *out);

/* ---- rules against each other ---- */

enum rule_clash {
  RULE_NO_CLASH,
  RULE_CLASH,    /* both apply, and nothing meets both */
  RULE_TOO_LARGE /* too many cases to look at */
};
/* Of two rules, or of one with itself (a == b): it can never be met.  Known values are held; the
 * others run over every case that their comparisons tell apart. */
enum rule_clash rule_clash(const struct rule_set *set, int a, int b,
                           const struct rule_value *values);

/* docs/rules-file.md */
void rule_print_manual(struct buf *out);

/* ---- one expression, for tests and fuzzing ---- */
const struct rule_expression *rule_parse(const char *text, struct arena *arena, struct err *err);
void rule_print(const struct rule_expression *expression, struct buf *out); /* with all brackets */

#endif
