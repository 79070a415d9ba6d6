#ifndef FACILITY_FEEDS_IMPL_H
#define FACILITY_FEEDS_IMPL_H

#include "facility/feeds.h"
#include "facility/other_impl.h"

/* One reading of a feeds file; memory of what is built from feeds->arena. */
struct feeds_build {
  struct build build; /* for the builders it shares with the suite */
  struct reader *reader;
  const struct facility *facility;
  struct feeds *feeds;
};

/* ---- feeds_alarms.c ---- */
void feeds_build_alarms(struct feeds_build *b, const struct value *from);
void feeds_print_usual_alarms(struct buf *out);

/* ---- feeds_night.c ---- */
void feeds_build_reminders(struct feeds_build *b, const struct record *r);
void feeds_build_night(struct feeds_build *b, const struct record *r); /* NULL: the usual one */
/* ---- feeds_messages.c ---- */
void feeds_build_messages(struct feeds_build *b, const struct value *from);

/* ---- feeds.c ---- */
/* A secret names where it stands, and stands nowhere here. */
void feeds_check_secret(struct feeds_build *b, const struct record *r, enum schema_key_id key);

/* ---- feeds_points.c: after the sources ---- */
void feeds_build_points(struct feeds_build *b, const struct value *from);

#endif
