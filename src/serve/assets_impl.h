#ifndef SERVE_ASSETS_IMPL_H
#define SERVE_ASSETS_IMPL_H

#include <stdbool.h>
#include <stddef.h>

/* The built front end, linked in as bytes by scripts/embed: no folder is ever read. */
struct serve_asset {
  const char *path; /* "/a/app.1f3c9a0b2d.js": the name changes when the bytes do */
  const char *type;
  bool forever; /* may be cached without asking again */
  const unsigned char *plain, *gzip;
  size_t plain_bytes, gzip_bytes;
};

extern const struct serve_asset serve_assets[];
extern const int serve_asset_count;

#endif
