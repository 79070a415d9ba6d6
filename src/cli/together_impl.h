#ifndef CLI_TOGETHER_IMPL_H
#define CLI_TOGETHER_IMPL_H

#include "cli/read.h"
#include "together/together.h"

enum { CLI_USES_MOST = 64, CLI_CHANGES_MOST = 256 };

/* inward together SUITE --add OVERLAY, as its command line says it. */
struct cli_together_add {
  const char *suite, *scene, *record, *together, *until; /* its path; the rest may be NULL */
  const char *uses[CLI_USES_MOST];
  int use_count;
  const char *verbs[CLI_CHANGES_MOST], *arguments[CLI_CHANGES_MOST]; /* changes to the scene */
  int change_count;
  bool json;
};
NODISCARD enum err_code cli_together_scene(const struct facility *facility,
                                           const struct cli_together_add *asked,
                                           struct scene *scene, struct arena *arena,
                                           struct err *err);
NODISCARD enum err_code cli_together_add(const struct cli_together_add *asked,
                                         struct facility *before, struct facility *after,
                                         struct arena *arena, struct buf *out, struct err *err);

#endif
