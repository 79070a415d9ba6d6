#ifndef WIRE_BACNET_IMPL_H
#define WIRE_BACNET_IMPL_H

#include "bacnet/bacnet.h"
#include "wire/wire_impl.h"

#include <netinet/in.h>

/*
 * One device of the building network, asked over UDP.  bacnet_link.c asks and hears, bacnet_points.c
 * makes observations of what objects say, bacnet_logs.c of what trend logs say, bacnet.c holds them
 * together.  One question is under way at a time: controllers are small.
 */

/* What was last said of a point's object. */
struct bacnet_state {
  struct bacnet_object object;
  bool is_log;
  bool asked; /* since the connection: what is below was said on it */
  bool has_value, has_flags;
  struct bacnet_value value;
  uint32_t flags;
  int value_error;    /* the device's error code for the value; -1: none */
  int reliability;    /* -1: it has none */
  int unit;           /* code of BACnetEngineeringUnits; -1: it has none */
  int told_unit;      /* a mismatch is told once; -1: none told */
  int told_error;     /* likewise for what it cannot say */
  double subscribe_s; /* wire_clock_s of the next subscription */

  /* Of a log. */
  bool has_sequence, by_position, has_last;
  uint32_t next_sequence; /* by position: how many it holds */
  int64_t last_ms;        /* of the newest record, by the device's clock */
};

/* What outlives a connection: line->own. */
struct bacnet_own {
  uint8_t invoke_id;
  bool has_offset;
  int64_t offset_ms; /* of the device's local time */
  int point_count;
  struct bacnet_state states[]; /* as line->points */
};

enum { BACNET_LISTENERS = 2 };

struct bacnet_link {
  struct wire_line *line;
  struct bacnet_own *own;
  int fd;
  int listen_fds[BACNET_LISTENERS]; /* of broadcasts; -1: not listened to */
  bool broadcast;
  struct sockaddr_in host;   /* as the file says */
  struct sockaddr_in device; /* where it was found */
  struct bacnet_route route;
  int most_apdu;
  int objects_at_once; /* in one ReadPropertyMultiple; 0: one property at a time */

  /* The last datagram that was one for us; its message points into it. */
  uint8_t bytes[BACNET_MOST_BYTES];
  struct bacnet_message m;
  struct sockaddr_in from;
};

enum bacnet_reply {
  BACNET_REPLY_ACK,      /* link->m */
  BACNET_REPLY_ERROR,    /* link->m */
  BACNET_REPLY_REFUSED,  /* rejected: it does not know the service, or not so; link->m */
  BACNET_REPLY_TOO_LONG, /* aborted, or answered in segments, which are not taken; link->m */
  BACNET_REPLY_NONE,     /* silence, whatever was tried */
  BACNET_REPLY_STOP
};

/* ---- bacnet_link.c ---- */
NODISCARD bool bacnet_open(struct bacnet_link *link, struct wire_line *line);
void bacnet_close(struct bacnet_link *link);
/* Where is the device?  False after wire_down, or when the wire closes. */
NODISCARD bool bacnet_find(struct bacnet_link *link);
uint8_t bacnet_next_id(struct bacnet_link *link);
/* Sends what asks for `service` under that id until it is answered; hears notifications meanwhile. */
NODISCARD enum bacnet_reply bacnet_ask(struct bacnet_link *link, const struct bacnet_out *out,
                                       uint8_t invoke_id, int service);
/* Hears until then (wire_clock_s); false when the wire closes. */
NODISCARD bool bacnet_listen(struct bacnet_link *link, double until_s);
/* The first value of one property; ACK only when it could be read. */
NODISCARD enum bacnet_reply bacnet_ask_value(struct bacnet_link *link,
                                             const struct bacnet_object *object, int property,
                                             struct bacnet_property *raw_out,
                                             struct bacnet_value *out);
const char *bacnet_reply_words(const struct bacnet_link *link, char *room, size_t size);

/* ---- bacnet_points.c ---- */
/* All objects once; false when the connection is lost or the wire closes. */
NODISCARD bool bacnet_ask_points(struct bacnet_link *link);
/* Asks again to be told of changes where that is due. */
NODISCARD bool bacnet_subscribe(struct bacnet_link *link);
/* A notification in link->m; false: not one of ours, and not to be thanked for. */
NODISCARD bool bacnet_take_notice(struct bacnet_link *link);
/* Value and flags to quality and SI; the unit is looked at as well. */
void bacnet_judge(struct bacnet_link *link, int at, const struct bacnet_value *value,
                  uint32_t flags, struct feed_observation *out);
void bacnet_tell_object(struct bacnet_link *link, int at, const char *what);

/* ---- bacnet_logs.c ---- */
NODISCARD bool bacnet_ask_logs(struct bacnet_link *link);

#endif
