#ifndef STOP_STOP_IMPL_H
#define STOP_STOP_IMPL_H

#include "stop/stop.h"

/* ---- when.c ---- */
/* "Thursday 2026-12-03, 07:00 to 09:00".  NULL with err when it is no time. */
const char *stop_when(const char *from, const char *to, struct arena *arena, struct err *err);

/* ---- lines.c: what is said to whom ---- */
void stop_say(struct stop_notice *n, const struct stop_request *request, struct arena *arena);

#endif
