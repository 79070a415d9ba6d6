#ifndef INCIDENT_INCIDENT_IMPL_H
#define INCIDENT_INCIDENT_IMPL_H

#include "incident/incident.h"

#include "base/emit.h"

#include <jansson.h>

/* Index of a field in its form; -1: it has none of that key. */
int incident_field_find(const struct incident_form *form, const char *key);
/* "smell: vinegar" and so on, a line each; nothing for what was not said. */
void incident_put_values(const struct incident *what, const char *indent, struct buf *out);

/* ---- frozen_json.c ---- */
/* Which point, and its figures: into an object of the caller's. */
void incident_figures_json(const struct incident_point *p, struct emit *json);

/* ---- detail.c ---- */
void incident_write(const struct incident *what, struct buf *out); /* inward.incident.1, one line */
/* An entry's detail of that schema; NULL: it is none.  To be given to json_decref. */
json_t *incident_json(const char *detail, const char *schema);

#endif
