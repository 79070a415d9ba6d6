#ifndef ASK_API_IMPL_H
#define ASK_API_IMPL_H

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

/* Whether any type has this key; a test asks it of every key of an answer. */
bool api_has_key(const char *key);

#endif
