#ifndef SERVE_STREAM_IMPL_H
#define SERVE_STREAM_IMPL_H

#include "base/err.h"
#include "keeper/keeper.h"

#include <microhttpd.h>

/*
 * Server-sent events (WHATWG HTML, 9.2): each view of the keeper once as a frame of bytes that all
 * streams share.  A stream has only a place in one frame; when it is through, it goes on with the
 * newest, so that a slow reader skips views and nothing ever queues up.  A stream with nothing to send
 * is suspended; an event `here` every PING seconds tells a page that someone is
 * there, and finds streams whose reader has gone, which the library does not notice while a connection
 * is suspended.
 */
struct stream_hub;

enum { STREAM_MOST = 1100, STREAM_PING_SECONDS = 3 };

/* Borrows the keeper.  NULL with err. */
struct stream_hub *stream_open(struct keeper *keeper, struct err *err);
/* No new frames; every stream ends when it is asked next.  Waits until all are gone, 2 s at most. */
void stream_end(struct stream_hub *hub);
void stream_free(struct stream_hub *hub); /* after the daemon has stopped; NULL is fine */

/* A response that streams to this connection, or NULL when there are too many. */
struct MHD_Response *stream_response(struct stream_hub *hub, struct MHD_Connection *connection);
int stream_count(struct stream_hub *hub);

#endif
