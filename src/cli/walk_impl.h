#ifndef CLI_WALK_IMPL_H
#define CLI_WALK_IMPL_H

#include "walk/walk.h"

/* A walk with what a person said of it, for `walk` and `print walk`.  NULL with err set. */
struct walk_plan *cli_walk_plan(const struct facility *facility, const char *scene_name,
                                bool technician, const char *readings, struct arena *arena,
                                struct err *err);
/* A filled form; its faults are printed.  0, or the exit status. */
int cli_walk_readings(const struct walk_plan *plan, const char *path, struct arena *arena,
                      struct walk_readings **out, struct err *err);

#endif
