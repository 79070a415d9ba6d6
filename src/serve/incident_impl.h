#ifndef SERVE_INCIDENT_IMPL_H
#define SERVE_INCIDENT_IMPL_H

#include "serve/live_impl.h"

#include <jansson.h>

/* What people tell that happened, and the sheets of it. */

/* POST /api/incident: an object of texts. */
int incident_post(const struct live *live, json_t *root, struct buf *out);
/* GET /api/tell: what may be told, what is said first. */
int incident_get_forms(const struct live *live, struct buf *out);
/* The sheet of an incident as JSON, or as text for a page; points are bound to reader->record.  The list
 * that is for staff only is not in it: a board knows nobody. */
NODISCARD enum err_code incident_get_sheet(const struct live *live, struct record *record,
                                           const char *number, bool as_json, struct buf *out,
                                           struct err *err);

#endif
