#ifndef SHEET_XML_IMPL_H
#define SHEET_XML_IMPL_H

#include "sheet/pack_impl.h"

/*
 * One part's XML as a walk over the elements a reader knows.  Whatever prefix a writer uses, and
 * whether it is the transitional or the strict kind of a standard, the reader sees the same small
 * set of spaces.  Declarations of a document type are refused: no spreadsheet has one, and entities
 * that grow are made with them.
 */
enum xml_space {
  XML_SPACE_OTHER,
  XML_SPACE_NONE,
  XML_SPACE_TYPES,     /* [Content_Types].xml */
  XML_SPACE_RELATIONS, /* the .rels parts */
  XML_SPACE_REF,       /* r:id */
  XML_SPACE_SHEET,     /* SpreadsheetML; also where a writer names no space at all */
  XML_SPACE_THREADED,  /* threaded comments */
  XML_SPACE_OFFICE,    /* OpenDocument, from here on */
  XML_SPACE_TABLE,
  XML_SPACE_TEXT,
  XML_SPACE_STYLE,
  XML_SPACE_DRAW,
  XML_SPACE_CALCEXT
};

/* An element a reader knows; `id` above 0. */
struct xml_word {
  enum xml_space space;
  const char *local;
  int id;
};

struct xml {
  struct reading *r;
  const char *part;
  const struct xml_word *words;
  int word_count;
  /* start and end see 0 for an element that is not in `words`; start returns false after a
   * complaint.  text may be NULL. */
  bool (*start)(struct xml *xml, int id, const char **attributes);
  bool (*end)(struct xml *xml, int id);
  void (*text)(struct xml *xml, const char *bytes, int count);
  void *to;
  /* private */
  void *parser;
  int depth;
  bool failed;
};

/* False after a complaint that names the part, its line and its column. */
bool xml_read(struct xml *xml, struct pack *pack);

/* An attribute's value, or NULL. */
const char *xml_attribute(const char **attributes, enum xml_space space, const char *local);
/* A whole number from 0 to most; `missing` where there is none or it is something else. */
int xml_int(const char *value, int most, int missing);
bool xml_is_true(const char *value);

#endif
