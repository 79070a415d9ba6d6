#ifndef ASK_API_IMPL_H
#define ASK_API_IMPL_H

#include "base/emit.h"

#include <stdbool.h>

/*
 * The shapes of the board's JSON as one table (api.def), printed as OpenAPI
 * together with the rows of the routes: what an address takes and answers is
 * written once, checked when it is asked, and printed from the same row.
 */
enum api_kind {
  API_TYPE, /* begins a type: the rows that follow are its keys */
  API_TEXT,
  API_TEXTS,
  API_NUMBER,
  API_NUMBERS, /* each may be null */
  API_SAID,    /* yes or no, a number, or null */
  API_COUNT,
  API_COUNTS,
  API_YES_NO,
  API_WORD,
  API_ONE,
  API_LIST,
  API_MAP
};

enum api_need { API_ALWAYS, API_OR_NULL, API_IF_ANY };

struct api_row {
  enum api_kind kind;
  enum api_need need;
  const char *key; /* or the type's name */
  const char *of;  /* the words, or the type */
  const char *doc;
};

/* What a board answers beside src/ask, most of it only with a feeds file: src/serve knows how, this how
 * it is described. */
struct api_live {
  const char *path, *method, *name, *doc;
  const char *takes;   /* of its query, '|' between: rows of api_live.c */
  const char *body;    /* a type of api.def, "any" JSON or a "table"; NULL: none */
  const char *answers; /* a type of api.def, or of bytes ("text/csv"); NULL: server-sent events */
};
const struct api_live *api_live_at(int index); /* NULL behind the last */

/* ---- api_live.c, for api.c ---- */
void api_put_live_parameters(struct emit *json);
void api_put_live_paths(struct emit *json);
/* ---- api.c, for api_live.c ---- */
void api_put_ref(struct emit *json, const char *folder, const char *name);
void api_put_content(struct emit *json, const char *type); /* NULL: any object */

/* Whether any type has this key; a test asks it of every key of an answer. */
bool api_has_key(const char *key);

#endif
