#ifndef EXPORT_TEMPLATE_IMPL_H
#define EXPORT_TEMPLATE_IMPL_H

#include <stddef.h>

/* The document with its slots "@@inward:NAME@@", linked in as bytes by scripts/offline_page. */
extern const unsigned char export_template[];
extern const size_t export_template_bytes;

#endif
