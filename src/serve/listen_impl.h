#ifndef SERVE_LISTEN_IMPL_H
#define SERVE_LISTEN_IMPL_H

#include "serve/serve.h"

#include <stdio.h>

/* A listening socket on the settings' address; port_out is the real one. */
NODISCARD enum err_code listen_open(const struct serve_settings *settings, int *fd_out,
                                    int *port_out, struct err *err);

#endif
