#ifndef CLI_MATCH_IMPL_H
#define CLI_MATCH_IMPL_H

#include "match/match.h"

struct cli_match_trend {
  const struct facility *facility;
  const struct feeds *feeds;
  const char *table, *source; /* source: or NULL, where only one writes tables */
};
/* A trend's table as readings; its faults are printed.  0, or the exit status. */
int cli_match_trend(const struct cli_match_trend *asked, struct arena *arena,
                    struct match_readings **out, struct err *err);

#endif
