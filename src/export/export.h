#ifndef EXPORT_EXPORT_H
#define EXPORT_EXPORT_H

#include "base/buf.h"
#include "facility/facility.h"

/*
 * The trial page as one HTML document: page, style, script, the engine as
 * WebAssembly and one suite inside, nothing to fetch.  The build makes the
 * document with slots (scripts/offline_page); here they are filled.
 */
struct export_wish {
  const struct facility *facility;
  const struct buf *merged; /* what facility_print_merged gave for the same suite */
  const char *scene;        /* to begin with; "" for all parked */
  const char *date;         /* to be shown, or NULL: no clock is asked */
};

enum { EXPORT_SUITE_MOST_BYTES = 2 << 20, EXPORT_PAGE_MOST_BYTES = 8 << 20 };

void export_page(const struct export_wish *wish, struct buf *out);

/* CRC-32 as zlib's (ISO 3309, reflected 0xEDB88320): the page tells a damaged file by it. */
uint32_t export_crc32(const void *bytes, size_t size);

#endif
