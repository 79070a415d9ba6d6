#include "wire/bacnet_impl.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <netdb.h>
#include <poll.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

/* Sending, hearing, and finding a device. */

/* The standard's usual ones are three retries (clause 12.11.28); a wait is the frame's. */
enum { TRIES = 3 };

static const char *place_of(const struct sockaddr_in *address, char *room, size_t size)
{
  char ip[INET_ADDRSTRLEN] = "?";

  inet_ntop(AF_INET, &address->sin_addr, ip, sizeof ip);
  snprintf(room, size, "%s:%d", ip, ntohs(address->sin_port));
  return room;
}

static bool same_place(const struct sockaddr_in *a, const struct sockaddr_in *b)
{
  return a->sin_addr.s_addr == b->sin_addr.s_addr && a->sin_port == b->sin_port;
}

static bool same_route(const struct bacnet_route *a, const struct bacnet_route *b)
{
  return a->network == b->network && a->length == b->length &&
         memcmp(a->address, b->address, sizeof a->address) == 0;
}

/* ---- sockets ---- */

/* Only a socket that may broadcast can be pointed at a broadcast address. */
static bool is_broadcast(const struct sockaddr_in *address)
{
  int fd = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  bool broadcast = fd >= 0 && connect(fd, (const struct sockaddr *)address, sizeof *address) != 0 &&
                   errno == EACCES;

  if (fd >= 0)
    close(fd);
  return broadcast;
}

/* Most devices answer Who-Is with a broadcast to the port of all BACnet/IP.  Bound to the address of a
 * broadcast, a socket hears nothing else: a BACnet program on this machine loses none of its own. */
static int open_listener(const struct sockaddr_in *address)
{
  static const int yes = 1;
  int fd = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);

  if (fd < 0)
    return -1;
  setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  if (bind(fd, (const struct sockaddr *)address, sizeof *address) == 0)
    return fd;
  close(fd);
  return -1;
}

/* The broadcast of the file, and the one to everybody on the wire. */
static void open_listeners(struct bacnet_link *link)
{
  struct sockaddr_in all = link->host;

  all.sin_addr.s_addr = htonl(INADDR_BROADCAST);
  link->listen_fds[0] = open_listener(&link->host);
  link->listen_fds[1] = same_place(&all, &link->host) ? -1 : open_listener(&all);
  if (link->listen_fds[0] < 0)
    wire_refuse(
        link->line,
        "port %d cannot be listened to (%s): devices that answer with a broadcast are not found",
        link->line->source->port, strerror(errno));
}

static bool resolve(struct wire_line *line, struct sockaddr_in *out)
{
  struct addrinfo hints = {.ai_family = AF_INET, .ai_socktype = SOCK_DGRAM}, *list = NULL;
  int failed = getaddrinfo(line->source->host, NULL, &hints, &list);

  if (failed || !list) {
    wire_down(line, "host %s: %s (BACnet/IP is IPv4)", line->source->host, gai_strerror(failed));
    return false;
  }
  memcpy(out, list->ai_addr, sizeof *out);
  out->sin_port = htons((uint16_t)line->source->port);
  freeaddrinfo(list);
  return true;
}

bool bacnet_open(struct bacnet_link *link, struct wire_line *line)
{
  static const int yes = 1;

  *link = (struct bacnet_link){.line = line, .own = line->own, .fd = -1, .listen_fds = {-1, -1}};
  if (!resolve(line, &link->host))
    return false;
  link->broadcast = is_broadcast(&link->host);
  link->fd = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  if (link->fd < 0) {
    wire_down(line, "no socket: %s", strerror(errno));
    return false;
  }
  if (link->broadcast) {
    setsockopt(link->fd, SOL_SOCKET, SO_BROADCAST, &yes, sizeof yes);
    open_listeners(link);
  }
  return true;
}

void bacnet_close(struct bacnet_link *link)
{
  int *fds[] = {&link->fd, &link->listen_fds[0], &link->listen_fds[1]};

  for (size_t i = 0; i < sizeof fds / sizeof *fds; i++) {
    if (*fds[i] >= 0)
      close(*fds[i]);
    *fds[i] = -1;
  }
}

static void send_to(struct bacnet_link *link, const struct bacnet_out *out,
                    const struct sockaddr_in *to)
{
  BUG_IF(out->full);
  /* What cannot be sent is not answered, and that is told. */
  (void)!sendto(link->fd, out->bytes, out->used, 0, (const struct sockaddr *)to, sizeof *to);
}

/* ---- hearing ---- */

enum heard { HEARD, QUIET, STOP };

/* One datagram of a socket into the link; false: none, or none that is a message. */
static bool take_datagram(struct bacnet_link *link, int fd)
{
  socklen_t length = sizeof link->from;
  struct err err = {0};
  char place[40];
  ssize_t size = recvfrom(fd, link->bytes, sizeof link->bytes, MSG_TRUNC,
                          (struct sockaddr *)&link->from, &length);

  if (size < 0)
    return false;
  if ((size_t)size > sizeof link->bytes) {
    wire_refuse(link->line, "a message of %zd bytes from %s; at most %zu are taken", size,
                place_of(&link->from, place, sizeof place), sizeof link->bytes);
    return false;
  }
  if (bacnet_read(link->bytes, (size_t)size, &link->m, &err) == ERR_OK)
    return true;
  if (fd == link->fd) /* on the common port many things pass */
    wire_refuse(link->line, "a message from %s is no BACnet/IP: byte %d: %s",
                place_of(&link->from, place, sizeof place), err.col, err.text);
  return false;
}

static enum heard hear(struct bacnet_link *link, double until_s)
{
  struct wire_line *line = link->line;

  do {
    struct pollfd fds[] = {{.fd = line->stop_fd, .events = POLLIN},
                           {.fd = link->fd, .events = POLLIN},
                           {.fd = link->listen_fds[0], .events = POLLIN},
                           {.fd = link->listen_fds[1], .events = POLLIN}}; /* -1 is passed over */
    double left_s = fmin(fmax(until_s - wire_clock_s(), 0), 1);

    if (wire_stopping(line))
      return STOP;
    poll(fds, sizeof fds / sizeof *fds, (int)ceil(1000 * left_s));
    for (size_t i = 1; i < sizeof fds / sizeof *fds; i++)
      if ((fds[i].revents & POLLIN) && take_datagram(link, fds[i].fd))
        return HEARD;
    wire_flush(line);
  } while (wire_clock_s() < until_s);
  return QUIET;
}

/* Whose message it is: a BBMD passes on what others said. */
static struct sockaddr_in sender(const struct bacnet_link *link)
{
  struct sockaddr_in from = link->from;

  if (link->m.forwarded) {
    memcpy(&from.sin_addr, link->m.from_ip, sizeof link->m.from_ip);
    from.sin_port = htons((uint16_t)link->m.from_port);
  }
  return from;
}

static bool is_from_device(const struct bacnet_link *link)
{
  struct sockaddr_in from = sender(link);

  return same_place(&from, &link->device) && same_route(&link->m.from, &link->route);
}

static bool is_notice(const struct bacnet_message *m)
{
  return (m->kind == BACNET_CONFIRMED && m->service == BACNET_SERVICE_COV_NOTIFICATION) ||
         (m->kind == BACNET_UNCONFIRMED && m->service == BACNET_UNCONFIRMED_COV);
}

/* What is no answer to the question under way. */
static void take_other(struct bacnet_link *link)
{
  const struct bacnet_message *m = &link->m;
  struct bacnet_out out;
  char place[40];

  if (!is_from_device(link)) {
    if (!link->broadcast || m->kind != BACNET_UNCONFIRMED) /* those are for everybody */
      wire_refuse(link->line, "a message from %s, which is not the device",
                  place_of(&link->from, place, sizeof place));
    return;
  }
  if (is_notice(m)) {
    bool confirmed = m->kind == BACNET_CONFIRMED;
    uint8_t id = m->invoke_id;

    if (bacnet_take_notice(link) && confirmed) {
      bacnet_write_thanks(&out, &link->route, id);
      send_to(link, &out, &link->device);
    }
    return;
  }
  if (m->kind >= BACNET_SIMPLE_ACK && m->invoke_id != link->own->invoke_id)
    wire_refuse(link->line, "an answer to nothing that is asked now: it came too late");
}

bool bacnet_listen(struct bacnet_link *link, double until_s)
{
  for (;;) {
    enum heard heard = hear(link, until_s);

    if (heard != HEARD)
      return heard != STOP;
    take_other(link);
    if (wire_clock_s() >= until_s) /* under a flood, too, it is somebody else's turn */
      return !wire_stopping(link->line);
  }
}

/* ---- asking ---- */

uint8_t bacnet_next_id(struct bacnet_link *link)
{
  return ++link->own->invoke_id;
}

static bool answers(const struct bacnet_link *link, uint8_t invoke_id, int service)
{
  const struct bacnet_message *m = &link->m;

  if (!is_from_device(link) || m->kind < BACNET_SIMPLE_ACK || m->invoke_id != invoke_id)
    return false;
  return m->kind == BACNET_REJECT || m->kind == BACNET_ABORT || m->service == service;
}

static enum bacnet_reply reply_of(struct bacnet_link *link)
{
  switch (link->m.kind) {
  case BACNET_SIMPLE_ACK:
  case BACNET_COMPLEX_ACK:
    return BACNET_REPLY_ACK;
  case BACNET_ERROR:
    return BACNET_REPLY_ERROR;
  case BACNET_SEGMENT:
    wire_refuse(link->line, "an answer in segments, which are not taken");
    return BACNET_REPLY_TOO_LONG;
  case BACNET_ABORT:
    return BACNET_REPLY_TOO_LONG;
  case BACNET_NOTHING:
  case BACNET_BVLC_RESULT:
  case BACNET_CONFIRMED:
  case BACNET_UNCONFIRMED:
  case BACNET_REJECT:
  default:
    return BACNET_REPLY_REFUSED;
  }
}

enum bacnet_reply bacnet_ask(struct bacnet_link *link, const struct bacnet_out *out,
                             uint8_t invoke_id, int service)
{
  for (int i = 0; i < TRIES; i++) {
    double until_s = wire_clock_s() + link->line->pace->answer_s;

    send_to(link, out, &link->device);
    do {
      enum heard heard = hear(link, until_s);

      if (heard == STOP)
        return BACNET_REPLY_STOP;
      if (heard == QUIET)
        break;
      if (answers(link, invoke_id, service))
        return reply_of(link);
      take_other(link);
    } while (wire_clock_s() < until_s);
  }
  return BACNET_REPLY_NONE;
}

const char *bacnet_reply_words(const struct bacnet_link *link, char *room, size_t size)
{
  const struct bacnet_message *m = &link->m;
  const char *name = NULL;

  if (m->kind == BACNET_ERROR)
    name = bacnet_error_name(m->error_code);
  else if (m->kind == BACNET_REJECT || m->kind == BACNET_ABORT)
    name = bacnet_reason_name(m->kind, m->reason);
  if (name)
    snprintf(room, size, "%s", name);
  else
    snprintf(room, size, "code %d", m->kind == BACNET_ERROR ? m->error_code : m->reason);
  return room;
}

enum bacnet_reply bacnet_ask_value(struct bacnet_link *link, const struct bacnet_object *object,
                                   int property, struct bacnet_property *raw_out,
                                   struct bacnet_value *out)
{
  uint8_t id = bacnet_next_id(link);
  struct bacnet_scan scan;
  struct bacnet_out request;
  struct err err = {0};

  bacnet_write_read_property(&request, &link->route, id, object, property);

  enum bacnet_reply reply = bacnet_ask(link, &request, id, BACNET_SERVICE_READ_PROPERTY);

  if (reply != BACNET_REPLY_ACK)
    return reply;
  if (link->m.kind != BACNET_COMPLEX_ACK) {
    wire_refuse(link->line, "an answer without the value that was asked for");
    return BACNET_REPLY_REFUSED;
  }
  bacnet_scan_property(&scan, &link->m);
  if (bacnet_next_property(&scan, raw_out, &err) != BACNET_ONE ||
      raw_out->object.type != object->type || raw_out->object.instance != object->instance ||
      raw_out->property != property ||
      bacnet_value(raw_out->bytes, raw_out->size, out, &err) != ERR_OK) {
    wire_refuse(link->line, "an answer that cannot be read: %s",
                err.text[0] ? err.text : "it is about another object");
    return BACNET_REPLY_REFUSED;
  }
  return BACNET_REPLY_ACK;
}

/* ---- finding ---- */

static bool is_our_i_am(struct bacnet_link *link, struct bacnet_device *out)
{
  const struct bacnet_message *m = &link->m;

  return m->kind == BACNET_UNCONFIRMED && m->service == BACNET_UNCONFIRMED_I_AM &&
         bacnet_i_am(m, out, NULL) == ERR_OK && out->instance == link->line->source->device &&
         (link->broadcast || link->from.sin_addr.s_addr == link->host.sin_addr.s_addr);
}

static void settle_at(struct bacnet_link *link, const struct bacnet_device *device)
{
  link->device = link->broadcast ? sender(link) : link->from;
  link->route = link->m.from;
  link->most_apdu = device->most_apdu;
}

/* Two devices with one number are a fault of the building that happens; which of them is meant is
 * not for us to say. */
static bool is_second(const struct bacnet_link *link)
{
  char one[40], other[40];
  struct sockaddr_in from = link->broadcast ? sender(link) : link->from;

  if (same_place(&from, &link->device) && same_route(&link->m.from, &link->route))
    return false;
  wire_down(link->line, "two devices say that they are %d: at %s and at %s",
            link->line->source->device, place_of(&link->device, one, sizeof one),
            place_of(&from, other, sizeof other));
  return true;
}

enum found { FOUND, NOT_FOUND, GIVEN_UP };

static enum found look_for(struct bacnet_link *link)
{
  int instance = link->line->source->device;
  double until_s = wire_clock_s() + link->line->pace->answer_s;
  struct bacnet_device device;
  struct bacnet_out out;
  bool found = false;

  bacnet_write_who_is(&out, link->broadcast, instance, instance);
  send_to(link, &out, &link->host);
  do {
    enum heard heard = hear(link, until_s);

    if (heard == STOP)
      return GIVEN_UP;
    if (heard == QUIET)
      break;
    if (!is_our_i_am(link, &device))
      continue;
    if (found && is_second(link))
      return GIVEN_UP;
    if (!found)
      settle_at(link, &device);
    found = true;
    if (!link->broadcast)
      break;
  } while (wire_clock_s() < until_s);
  return found ? FOUND : NOT_FOUND;
}

/* A device that answers Who-Is with a broadcast, which is not heard from afar, still answers when it
 * is asked by its number for something that every device has. */
static enum found ask_for_it(struct bacnet_link *link)
{
  struct bacnet_object device = {BACNET_DEVICE, link->line->source->device};
  struct bacnet_property raw;
  struct bacnet_value value;
  char place[40], words[60];

  link->device = link->host;
  link->route = (struct bacnet_route){0};
  switch (bacnet_ask_value(link, &device, BACNET_MAX_APDU_LENGTH_ACCEPTED, &raw, &value)) {
  case BACNET_REPLY_ACK:
    link->most_apdu = value.type == BACNET_UNSIGNED && value.number >= 50 && value.number <= 1476
                          ? (int)value.number
                          : 50;
    return FOUND;
  case BACNET_REPLY_ERROR:
  case BACNET_REPLY_REFUSED:
  case BACNET_REPLY_TOO_LONG:
    wire_down(link->line, "%s answers, but not as device %d: %s",
              place_of(&link->host, place, sizeof place), device.instance,
              bacnet_reply_words(link, words, sizeof words));
    return GIVEN_UP;
  case BACNET_REPLY_STOP:
    return GIVEN_UP;
  case BACNET_REPLY_NONE:
  default:
    return NOT_FOUND;
  }
}

bool bacnet_find(struct bacnet_link *link)
{
  enum found found = look_for(link);
  char place[40];

  for (int i = 1; i < TRIES && found == NOT_FOUND && link->broadcast; i++)
    found = look_for(link);
  if (found == NOT_FOUND && !link->broadcast)
    found = ask_for_it(link);
  if (found == NOT_FOUND)
    wire_down(link->line, "no device %d at %s answers", link->line->source->device,
              place_of(&link->host, place, sizeof place));
  return found == FOUND;
}
