#ifndef SERVE_POST_IMPL_H
#define SERVE_POST_IMPL_H

#include "serve/live_impl.h"

/* Writes the entry down as it is and answers inward.entered.1, or says why not. */
int post_enter(const struct live *live, struct record_entry *entry, struct buf *out);

#endif
