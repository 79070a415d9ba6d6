#ifndef CLI_MATCH_IMPL_H
#define CLI_MATCH_IMPL_H

#include "match/match.h"
#include "nightly/nightly.h"

struct cli_match_trend {
  const struct facility *facility;
  const struct feeds *feeds;
  const char *table, *source; /* source: or NULL, where only one writes tables */
};
/* A trend's table as readings; its faults are printed.  0, or the exit status. */
int cli_match_trend(const struct cli_match_trend *asked, struct arena *arena,
                    struct match_readings **out, struct err *err);

struct cli_match_form {
  const struct facility *facility;
  const struct match_readings *blanks; /* or NULL: all that can be read in the scene */
  const char *file, *date;             /* date: or NULL, today in the suite's zone */
  enum units_system system;
  const struct scene *scene; /* or NULL */
};
/* Writes the sheet of predictions, never over a file.  0, or the exit status with err set. */
int cli_match_form(const struct cli_match_form *asked, struct arena *arena, struct err *err);
struct cli_match_record {
  const struct facility *facility;
  const struct feeds *feeds;
  const char *record, *from, *to, *at; /* the last three as typed, or NULL */
};
/* A stretch of a record as readings, and which it was.  0, or the exit status with err set. */
int cli_match_record(const struct cli_match_record *asked, struct arena *arena,
                     struct nightly_asked *stretch, struct match_readings **out, struct err *err);
/* Appends what came of it as the board does. */
NODISCARD enum err_code cli_match_keep(const struct cli_match_record *asked,
                                       const struct nightly_asked *stretch,
                                       const struct match_result *result, struct arena *arena,
                                       struct err *err);

#endif
