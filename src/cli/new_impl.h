#ifndef CLI_NEW_IMPL_H
#define CLI_NEW_IMPL_H

#include "base/emit.h"
#include "cli/read.h"
#include "intake/intake.h"

/* Shared by the parts of `inward new`. */
struct new_request {
  const char *list, *out, *answers, *table, *into, *sheet;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool replace, apply, remove_missing, json, help;
};

/* One list being read; everything dies with it. */
struct new_work {
  struct arena arena;
  struct complaints complaints;
  struct facility_text list, answers, suite;
  struct intake *intake;
  const struct intake_result *result;
};

void new_work_begin(struct new_work *w);
void new_work_end(struct new_work *w);

/* Prints the complaints, with the lines of `source` where it is given; the exit status, 2. */
int new_refuse(const struct new_work *w, const char *file, const char *source);

/* Reads the list, asks, and interprets.  Exit status; 0: w->result is there.  Faults are printed. */
int new_read_list(struct new_work *w, const struct new_request *r);
void new_print_summary(const struct new_work *w, bool into, struct buf *out);
void new_json_result(const struct new_work *w, struct emit *json);

/* ---- new_into.c ---- */
int new_into(struct new_work *w, const struct new_request *r);  /* --into */
int new_sheet(struct new_work *w, const struct new_request *r); /* --sheet */

#endif
