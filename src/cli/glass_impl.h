#ifndef CLI_GLASS_IMPL_H
#define CLI_GLASS_IMPL_H

#include "cli/read.h"

/* inward glass: glass.c reads the command line and answers from the suite, glass_told.c from a record. */
struct glass_request {
  const char *suite, *choose, *to, *seen, *at, *piece;
  const char *record, *who, *when, *words, *count, *cleaned, *by, *discarded, *counted, *drawer,
      *take_back;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool json, replace, help;
};

/* What was told, or what is told now; the exit status. */
int cli_glass_told(const struct facility *f, const struct glass_request *r, struct err *err);

#endif
