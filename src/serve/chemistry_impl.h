#ifndef SERVE_CHEMISTRY_IMPL_H
#define SERVE_CHEMISTRY_IMPL_H

#include "base/buf.h"
#include "facility/chemicals.h"
#include "serve/serve.h"
#include "wet/wet.h"

#include <stdbool.h>
#include <stddef.h>

/*
 * The addresses of chemistry: each answers what the verb of its name prints with --json, from the same
 * keys.  Knows no socket.  The tables are read once and never written after: all threads share them.
 */
struct chemistry;
struct may;

/* Borrows all: the suite; its own chemistry or NULL; the scene of a question that names none, and what is
 * measured, or NULL, which then goes before that scene; people, processes and rules, or NULL. */
struct chemistry *chemistry_new(const struct facility *facility, const struct chemicals *own,
                                const struct scene *start, const struct serve_live *live,
                                const struct may *may);
void chemistry_free(struct chemistry *chemistry); /* NULL is fine */

bool chemistry_knows(const char *path); /* all are read with GET */

/* 200, or the status of a refusal; `out` holds the JSON. */
int chemistry_get(const struct chemistry *chemistry, const char *path, const char *search,
                  size_t size, struct buf *out);

/* Suite and tables, for others; zone and moment are theirs to say. */
struct wet_place chemistry_place(const struct chemistry *chemistry);

#endif
