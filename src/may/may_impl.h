#ifndef MAY_MAY_IMPL_H
#define MAY_MAY_IMPL_H

#include "may/may.h"

enum { MAY_NAMES_MAX = 48, MAY_REASONS_MAX = 96, MAY_SLOTS_MAX = 256, MAY_STATIONS_MAX = 6 };

/* Within a verdict, the gravest first. */
enum may_rank {
  MAY_RANK_PERSON,
  MAY_RANK_STATION,
  MAY_RANK_CHEMISTRY,
  MAY_RANK_ENDORSEMENT,
  MAY_RANK_SECOND,
  MAY_RANK_RULE,
  MAY_RANK_UNATTENDED,
  MAY_RANK_DOCUMENT,
  MAY_RANK_AIR,
  MAY_RANK_LAST
};

/* What a process is and holds, looked up once. */
struct may_uses {
  int count;
  const char *names[MAY_NAMES_MAX]; /* ids of substances and mixtures */
  bool whole;                       /* every name was known and understood */
  double flash_K;                   /* the lowest; NaN: no table has one */
  double below_flash_K;             /* flash point minus temperature; NaN: not known */
  const char *below_flash_why;
  const char *lowest; /* what has that flash point; NULL */
};

struct may {
  struct may_place place;
  const struct roster *roster; /* of place.people, or NULL */
  struct rule_set *set;        /* or NULL */
  struct complaints ignored;   /* what `inward check` tells of the rules */
  const struct may_uses *uses; /* by process */
  /* of each slot: the endorsement it names, -1 none */
  int slot_endorsement[MAY_SLOTS_MAX];
};

/* What chemistry says of a process at a station, beside others. */
enum { MAY_CHEMISTRY_MAX = 40 };
struct may_chemistry {
  int count;
  struct may_reason list[MAY_CHEMISTRY_MAX];
};

struct may_air {
  enum may_verdict verdict;
  bool known;
  bool own; /* the station itself, whatever the others do */
  enum facility_level after;
  const char *say;
};

/* The situation that is judged; a change is a copy with something else in it. */
struct may_state {
  const struct may *may;
  const struct may_request *request;
  const struct processes_process *process;
  const struct may_uses *uses;
  int person, station; /* person -1: nobody */
  int64_t t_ms;
  double lasts_s;
  struct when_civil begins, ends;
  int day, last_day; /* on which it begins, and ends */
  bool inside_known, unattended;
  int inside_count; /* without the one who asks */
  int inside[MAY_INSIDE_MAX];
  int stranger_count; /* said to be inside, and nobody knows whether that is a second person */
  struct may_stranger {
    const char *id, *why;
  } strangers[MAY_INSIDE_MAX];
  bool beside_known;
  int beside_count;
  int beside[MAY_BESIDE_MAX];            /* processes */
  const struct may_chemistry *chemistry; /* NULL: not looked at */
  const struct may_air *air;
  /* imagined */
  bool another;     /* one more inside, endorsed for everything */
  uint64_t renewed; /* endorsements */
  bool document_renewed;
};

struct may_judging {
  const struct may_state *s;
  struct arena *arena;
  bool quiet;
  enum may_verdict worst;
  int count;
  struct may_reason *reasons; /* MAY_REASONS_MAX; NULL when quiet */
};

/* ---- uses.c ---- */
void may_look_up(const struct may_place *place, const struct processes_process *process,
                 struct may_uses *out, struct arena *arena);
bool may_is_used(const struct may_place *place, const struct may_uses *uses, const char *name);
const struct may_chemistry *may_chemistry(const struct may_state *s, struct arena *arena);
const struct may_air *may_air(const struct may_state *s, struct arena *arena);

/* ---- facts.c ---- */
void may_fill(const struct may_state *s, struct rule_value *values, struct arena *arena);
bool may_endorsed(const struct may_state *s, int person, int endorsement, struct arena *arena,
                  struct people_verdict *out);
struct people_hours may_hours(const struct may_state *s, struct arena *arena);
/* Staffed until the end: yes, no, or the hours are not known. */
enum rule_truth may_staffed_throughout(const struct may_state *s, struct arena *arena);
bool may_confirmed(const struct may_state *s, const char *text);
/* Strangers that somebody has seen inside count as people, endorsed for nothing. */
extern const char may_second_seen[];
/* Not another one that is offered instead: nobody looked at that. */
bool may_is_asked_of(const struct may_state *s);
bool may_strangers_count(const struct may_state *s);
void may_set_time(struct may_state *s, int64_t t_ms);

/* ---- checks.c ---- */
/* Every check; the worst verdict.  `quiet`: no texts are made. */
enum may_verdict may_judge(struct may_judging *j);
void may_note(struct may_judging *j, struct may_reason reason);
/* faults.c: the rules with what the suite knows; `roster` NULL: endorsements are not looked up. */
struct rule_set *may_read_rules(const struct may_place *place, const struct roster *roster,
                                struct arena *arena, struct complaints *complaints);
/* rules.c */
void may_judge_rules(struct may_judging *j);

/* Rules of the house that say no of the process at the station, whoever does it and when. */
void may_judge_rules_of_place(struct may_judging *j);
/* answer.c */
NODISCARD enum err_code may_find_all(const struct may *may, const struct may_request *request,
                                     struct may_state *s, struct arena *arena, struct err *err);
void may_in_order(struct may_reason *list, int count);

/* ---- changes.c ---- */
void may_find_changes(const struct may_state *s, enum may_verdict verdict, struct may_answer *out,
                      struct arena *arena);

const char *may_shown_time(const struct when_civil *at, struct arena *arena);
const char *may_shown_span(double span_s, struct arena *arena);

#endif
