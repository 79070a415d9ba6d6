#ifndef NIGHTLY_NIGHTLY_IMPL_H
#define NIGHTLY_NIGHTLY_IMPL_H

#include "nightly/nightly.h"

/* NULL: that match does not tell it. */
const struct nightly_figure *nightly_figure_of(const struct nightly_match *match, const char *name);
/* Whether the figures of another night can be laid beside the latest one's: the same suite file. */
bool nightly_is_like(const struct nightly_match *latest, const struct nightly_match *other);

#endif
