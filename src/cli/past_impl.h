#ifndef CLI_PAST_IMPL_H
#define CLI_PAST_IMPL_H

#include "cli/read.h"
#include "past/past.h"

/*
 * inward past: past.c reads the command line and opens what is asked, then runs one act.  An act is
 * a row of its table and a function in a file of its own; it writes to `out` and returns the exit
 * status, or sets err.
 */
enum { PAST_FIELDS_MOST = 24 };

struct past_request {
  const char *suite, *record;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  const struct past_act *act;
  const char *value; /* of the act: --note "..." */
  const char *about, *who, *kind, *head, *at, *from, *to, *as_of, *most, *measured;
  bool json;
  /* of --incident */
  const char *is, *adds_to;
  const char *fields[PAST_FIELDS_MOST]; /* "smell=vinegar" */
  int field_count;
};

struct past {
  const struct past_request *asked;
  const struct facility *facility;
  struct facility *also; /* the suite without its overlays, where an act asked for it */
  struct chemicals *own; /* of an act that lists what stands in tanks */
  struct feeds *feeds;   /* of an act that asks what was measured; its points are bound */
  const struct when_zone *zone;
  struct record *record;
  int64_t now_ms;
  bool begun; /* there was no such record before */
  struct arena arena;
  struct buf out;
};

struct past_act {
  const char *option; /* "--verify" */
  bool has_value, measured;
  enum record_mode mode;
  int (*run)(struct past *past, struct err *err);
  enum record_kind kind; /* of an act that writes an entry */
  /* before the record is opened, or begun where there is none; NULL: nothing to check */
  NODISCARD enum err_code (*check)(const struct past *past, struct err *err);
};

bool past_help(int argc,
               char **argv); /* past_help.c: true where --help was asked, and is printed */

int past_verify(struct past *past, struct err *err);  /* past_keep.c */
int past_backup(struct past *past, struct err *err);  /* past_keep.c */
int past_entries(struct past *past, struct err *err); /* past_entries.c */
int past_write(struct past *past, struct err *err);   /* past_write.c */
NODISCARD enum err_code past_write_check(const struct past *past, struct err *err);

int past_incident(struct past *past, struct err *err); /* past_incident.c */
NODISCARD enum err_code past_incident_check(const struct past *past, struct err *err);
int past_sheet(struct past *past, struct err *err); /* past_incident.c */
NODISCARD enum err_code past_sheet_check(const struct past *past, struct err *err);

/* past_finding.c */
int past_finding(struct past *past, struct err *err);
NODISCARD enum err_code past_finding_check(const struct past *past, struct err *err);

/* past_asked.c */
int past_timeline(struct past *past, struct err *err);
NODISCARD enum err_code past_timeline_check(const struct past *past, struct err *err);
int past_plot(struct past *past, struct err *err);
NODISCARD enum err_code past_plot_check(const struct past *past, struct err *err);

int past_alarms(struct past *past, struct err *err);  /* past_alarms.c */
int past_matches(struct past *past, struct err *err); /* past_matches.c: --at T, else now */

/* past_judged.c */
int past_why(struct past *past, struct err *err);
NODISCARD enum err_code past_why_check(const struct past *past, struct err *err);
int past_replay(struct past *past, struct err *err);
int past_night(struct past *past, struct err *err);
NODISCARD enum err_code past_night_check(const struct past *past, struct err *err);
NODISCARD enum err_code past_span_check(const struct past *past, struct err *err);

/* past_lists.c: the sheets of src/lists; --at T, else now */
int past_list(struct past *past, struct err *err);
NODISCARD enum err_code past_list_check(const struct past *past, struct err *err);
int past_stopped(struct past *past, struct err *err);
NODISCARD enum err_code past_stopped_check(const struct past *past, struct err *err);
int past_reentry(struct past *past, struct err *err);
NODISCARD enum err_code past_reentry_check(const struct past *past, struct err *err);
int past_restarted(struct past *past, struct err *err);
NODISCARD enum err_code past_restarted_check(const struct past *past, struct err *err);

/*
 * past_verb.c: the body of a verb that asks a record.  The suite is loaded, `work` is done, and what it wrote
 * to `out` is printed, or what it said in err.  past_told is the work of a verb that is told things, too: the
 * record is opened for the suite, or begun for what can be written down.
 */
int past_verb(const char *name, const struct past_request *asked,
              int (*work)(struct past *past, void *arg, struct err *err), void *arg);
struct past_telling {
  bool tells; /* else it asks */
  bool (*refused)(struct past *past, void *arg,
                  struct err *err); /* said why on stderr, or in err */
  int (*tell)(struct past *past, void *arg, struct err *err);
  int (*show)(struct past *past, void *arg, struct err *err);
};
int past_told(struct past *past, const struct past_telling *telling, void *arg, struct err *err);

/* past_write.c: how far back --at may lie, by the feeds file where there is one. */
NODISCARD enum err_code past_told_back_s(const struct past *past, double *out_s, struct err *err);
/* past_write.c: appends an entry and says its number. */
int past_append(struct past *past, struct record_entry *entry, struct err *err);
NODISCARD enum err_code past_append_check(const struct past *past, const struct record_entry *entry,
                                          struct err *err);

/* ---- for the acts ---- */
NODISCARD enum err_code past_read_most(const struct past *past, int usual, int limit, int *out,
                                       struct err *err); /* --most */
/* --from, --to and --as-of; else the last 24 h of the record, up to --as-of. */
NODISCARD enum err_code past_read_span(struct past *past, struct past_span *span, struct err *err);
/* When the newest value is of; INT64_MIN when nothing was ever measured. */
NODISCARD enum err_code past_newest(struct past *past, int64_t *out_ms, struct err *err);
/* Why the record holds nothing for this suite. */
enum err_code past_refuse_empty(struct past *past, struct err *err);
struct past_place past_place_of(const struct past *past);
/* A moment as typed, local time of the suite unless it has an offset; `otherwise` for NULL. */
NODISCARD enum err_code past_moment(const struct past *past, const char *option, const char *text,
                                    int64_t otherwise_ms, int64_t *out_ms, struct err *err);
/* The same of a span's end: a date alone is where that day begins. */
NODISCARD enum err_code past_bound(const struct past *past, const char *option, const char *text,
                                   int64_t otherwise_ms, int64_t *out_ms, struct err *err);

#endif
