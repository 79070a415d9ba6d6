#ifndef CLI_PRINT_IMPL_H
#define CLI_PRINT_IMPL_H

#include "papers/papers.h"

/* inward print leave, responder, restart, handover: what print.c read, put on paper. */
struct cli_list_wanted {
  const char *list;        /* "leave" */
  const char *suite;       /* path of its file */
  const char *record, *at; /* NULL: a form; now */
  const char *to;          /* of a handover: what it is compared with; NULL: now */
  const char *part;        /* of a handover */
};
NODISCARD enum err_code cli_print_list(const struct cli_list_wanted *wanted,
                                       const struct papers_request *papers, struct buf *bytes,
                                       struct err *err);

/* inward print incident; NULL where it was not given. */
struct cli_incident_wanted {
  const char *suite, *record, *number;
};
NODISCARD enum err_code cli_print_incident(const struct cli_incident_wanted *wanted,
                                           const struct papers_request *papers, struct buf *bytes,
                                           struct err *err);

/* inward print run; NULL where it was not given. */
struct cli_run_wanted {
  const char *record, *station;
};
NODISCARD enum err_code cli_print_run(const struct cli_run_wanted *wanted,
                                      const struct papers_request *papers, struct buf *bytes,
                                      struct err *err);

/* inward print together, failure. */
struct cli_together_wanted {
  bool failure;
  const char *part;            /* of a failure: "AF/2"; NULL: all */
  const char *scene, *expires; /* or NULL */
};
NODISCARD enum err_code cli_print_together(const struct cli_together_wanted *wanted,
                                           const struct papers_request *papers, struct buf *bytes,
                                           struct err *err);

/* inward print label: its command line is that of `inward bath` and a little more. */
int cli_print_label(int argc, char **argv);

/* What a record holds is in words already, in SI: it does not follow --us, and says so. */
NODISCARD enum err_code cli_print_si_only(const struct papers_request *papers, struct err *err);

/* ---- print_after.c ---- */
struct cli_after_wanted {
  const char *scene, *for_time; /* or NULL */
  int event_count;
  const char *const *events;
};
NODISCARD enum err_code cli_print_after(const struct cli_after_wanted *wanted,
                                        const struct papers_request *papers, struct buf *bytes,
                                        struct err *err);

#endif
