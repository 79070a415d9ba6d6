#ifndef MAY_MAY_H
#define MAY_MAY_H

#include "air/air.h"
#include "base/arena.h"
#include "base/buf.h"
#include "base/when.h"
#include "chem/chem.h"
#include "facility/processes.h"
#include "meet/meet.h"
#include "people/people.h"
#include "rule/rule.h"

/*
 * May this person start this process at this station then: answer = f(suite, people, rules, request).
 *
 * All reasons at once, the worst first, each with its source: person, station, chemistry, air, hours,
 * second person, document, house rules.  What is not known is never yes: it is listed as something to
 * confirm.  It never gives permission: it says whether the rules are met, and who gives it.
 *
 *     struct may *may = may_new(&place, &arena);                  // once
 *     may_take(&request, "who", "U14", &err);
 *     may_take(&request, "do", "P7", &err);
 *     may_take(&request, "at", "A3", &err);
 *     answer = may_answer(may, &request, &arena, &err);           // NULL: ERR_INPUT
 *     may_text(answer, &out);
 *
 * A `struct may` is never written after may_new and may be shared; memory is the arenas'.  Not to be
 * wired to an interlock.
 */
enum may_verdict { MAY_MET, MAY_UNCONFIRMED, MAY_NO };  /* by rising gravity */
const char *may_verdict_word(enum may_verdict verdict); /* "rules_met", "unconfirmed", "no" */

enum { MAY_INSIDE_MAX = 24, MAY_BESIDE_MAX = 8, MAY_CONFIRM_MAX = 16, MAY_LISTS_MAX = 4 };

/* What it is asked of.  All borrowed; what a suite does not have is NULL. */
struct may_place {
  const struct facility *facility;
  const struct chem *chem; /* with the suite's own bottles */
  const struct meet_facts *meet;
  const struct chemicals *own;
  const struct people *people;
  const struct processes *processes;
  const struct rules *rules;
  const struct when_zone *zone;
};

/* What else is known of the station (src/standing): it stands against a start, or is to be looked at. */
struct may_stand {
  bool against;
  const char *kind; /* "tank": confirmed by the words "tank looked at" */
  const char *say, *way, *source;
};
enum may_proofs { MAY_PROOFS_NOT_KNOWN, MAY_PROOFS_IN_DATE, MAY_PROOFS_AGAINST };

/* Zero means not said.  The texts are borrowed. */
struct may_request {
  const char *who, *process, *station, *from;
  double lasts_s;
  bool inside_said, beside_said, alone, unattended, names;
  int inside_count, beside_count, confirm_count;
  const char *inside[MAY_INSIDE_MAX], *beside[MAY_BESIDE_MAX], *confirm[MAY_CONFIRM_MAX];
  int64_t now_ms;                 /* when `from` is not said */
  const struct scene *scene;      /* of the air; NULL: it is not known */
  bool live;                      /* the scene is what is believed of now */
  const char *air_doubt;          /* why what is believed of now is not known; NULL */
  bool withdrawn_known;           /* a record says whether the station was taken out of use */
  const char *withdrawn;          /* since when and why; NULL: it was not */
  const char *runs;               /* what stands there with nobody there, by the record; NULL */
  const char *record_of;          /* another suite, whose record it is; NULL */
  const struct may_stand *stands; /* of the station that is asked of, the worst first */
  int stand_count;
  enum may_proofs proofs;                /* of that station */
  const struct processes_process *asked; /* a process that is not in the file, for --request */
};

/* Keys: who, do, at, from, for, inside, alone, beside, confirm, unattended, names.  Lists are
 * separated by commas; `beside` takes `none`.  ERR_USAGE, ERR_INPUT. */
NODISCARD enum err_code may_take(struct may_request *request, const char *key, const char *value,
                                 struct arena *arena, struct err *err);

struct may;
const struct may_place *may_place(const struct may *may);
struct may *may_new(const struct may_place *place, struct arena *arena);
/* Names that fit nothing, rules that cannot be read, fail their tests, can never be met or contradict
 * each other: for `inward check`.  Without people, endorsements are taken from the roster. */
void may_check(const struct may_place *place, const struct roster *roster, struct arena *arena,
               struct complaints *complaints);

/* One reason.  `kind` is a word: person, station, chemistry, air, hours, second, document, rule. */
struct may_reason {
  enum may_verdict verdict;
  const char *kind, *id; /* id: of a rule or an endorsement; or NULL */
  const char *say, *source;
  const char *way; /* what would mend or confirm it; or NULL */
  int rank;        /* within a verdict, the lowest first */
};

/* Changes that together leave no `no`. */
struct may_list {
  int count;
  const char *changes[MAY_LISTS_MAX];
  enum may_verdict after;
};

struct may_answer {
  const struct may *may;
  const struct may_request *request;
  enum may_verdict verdict;
  const char *who, *name; /* id as the table has it; name: only when asked for */
  const struct processes_process *process;
  const struct facility_station *station;
  int64_t from_ms, until_ms;
  int reason_count, list_count, other_count;
  const struct may_reason *reasons; /* no, then to confirm, then met */
  const struct may_list *lists;     /* the smallest that turn no into not no */
  const struct may_list *others;    /* single changes and what they lead to */
  const char *permission_by;
};

/* NULL with err: ERR_INPUT for an id that is none. */
const struct may_answer *may_answer(const struct may *may, const struct may_request *request,
                                    struct arena *arena, struct err *err);

/*
 * A process that is not in the file yet (`request->asked`), against everything it would stand beside
 * at that station: chemistry with what is done there, heat and flash points, vapour, vessel, glass
 * mark, waste, air, the rules of the house that do not depend on who and when; and which other
 * stations would do.  A person, hours and company are asked later, each time.
 */
const struct may_answer *may_new_process(const struct may *may, const struct may_request *request,
                                         struct arena *arena, struct err *err);

void may_text(const struct may_answer *a, struct buf *out);
void may_json(const struct may_answer *a, struct buf *out);

/* What is done where, for who has to choose one. */
void may_processes_text(const struct may_place *place, struct buf *out);
void may_processes_json(const struct may_place *place, struct buf *out);

/* ---- many at once: the verdict alone, from people and rules, without chemistry and air ---- */
struct may_quick {
  int person, process, station; /* indices */
  int64_t t_ms;
  int inside_count;
  const int *inside; /* persons, the one who asks not counted */
};
enum may_verdict may_quickly(const struct may *may, const struct may_quick *quick,
                             struct arena *arena);

#endif
