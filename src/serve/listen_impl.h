#ifndef SERVE_LISTEN_IMPL_H
#define SERVE_LISTEN_IMPL_H

#include "serve/serve.h"

#include <stdio.h>

/* A listening socket on the settings' address; port_out is the real one. */
NODISCARD enum err_code listen_open(const struct serve_settings *settings, int *fd_out,
                                    int *port_out, struct err *err);

/* Room for so many sockets and the files a board opens besides, as far as the system permits: a shell's
 * usual 1024 are fewer than the screens that may follow. */
void listen_make_room(int sockets);

#endif
