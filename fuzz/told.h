#ifndef FUZZ_TOLD_H
#define FUZZ_TOLD_H

#include "facility/facility.h"
#include "record/record.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* For the targets of what people tell: a suite, and entries about B1 whose details are the input's lines. */
enum { TOLD_MOST = 12 };
#define TOLD_FIRST_MS INT64_C(1000000000000)
#define TOLD_NOW_MS   (TOLD_FIRST_MS + 9000000)

struct told {
  struct arena arena;
  struct buf out;
  char *own; /* a copy of the input */
  struct facility *facility;
  struct record_entry entries[TOLD_MOST];
  int count;
};

static inline void told_read(struct told *t, const char *suite, const uint8_t *data, size_t size)
{
  const struct facility_text text = {"suite.yaml", suite, strlen(suite)};
  struct complaints complaints;

  *t = (struct told){.own = malloc(size + 1)};
  BUG_IF(!t->own);
  if (size)
    memcpy(t->own, data, size);
  t->own[size] = '\0';
  arena_init(&t->arena, 64 << 20);
  buf_init(&t->out, 8 << 20);
  complaints_init(&complaints, &t->arena);
  t->facility = facility_read(&text, NULL, 0, &complaints);
  BUG_IF(!t->facility);
  for (char *at = t->own, *next; at && *at && t->count < TOLD_MOST; at = next) {
    next = strchr(at, '\n');
    if (next)
      *next++ = '\0';
    t->entries[t->count] = (struct record_entry){.number = t->count + 1,
                                                 .t_ms = TOLD_FIRST_MS + 600000 * t->count,
                                                 .about = "B1",
                                                 .who = "x",
                                                 .text = "x",
                                                 .detail = at};
    t->count++;
  }
}

static inline void told_release(struct told *t)
{
  facility_free(t->facility);
  buf_release(&t->out);
  arena_release(&t->arena);
  free(t->own);
}

#endif
