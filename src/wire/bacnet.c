#include "wire/bacnet_impl.h"

#include <math.h>
#include <stdlib.h>

/*
 * BACnet/IP: asks a device for the objects of its points, every so often, all of them in few
 * questions; where it is told to, lets itself be told of changes as well, and reads trend logs.
 * A device that stops answering is lost, looked for again, and asked from the beginning.
 */

static void forget(void *own)
{
  free(own);
}

static struct bacnet_own *own_of(struct wire_line *line)
{
  struct bacnet_own *own = line->own;

  if (own)
    return own;
  own = calloc(1, sizeof *own + (size_t)line->point_count * sizeof own->states[0]);
  if (!own)
    err_no_memory();
  own->point_count = line->point_count;
  for (int i = 0; i < line->point_count; i++) {
    const struct feeds_point *point = &line->feeds->points[line->points[i]];

    own->states[i].object = (struct bacnet_object){point->object_type, point->object_instance};
    own->states[i].is_log = point->object_type == BACNET_TREND_LOG;
    own->states[i].told_unit = own->states[i].told_error = -1;
  }
  line->own = own;
  line->forget = forget;
  return own;
}

/* Objects whose answer fits what the device can send: an object's four properties take 41 bytes with
 * a real value, 48 with errors in them; the head 3. */
static int objects_for(int most_apdu)
{
  enum { HEAD = 3, PER_OBJECT = 48 };
  int most = most_apdu < BACNET_MOST_APDU ? most_apdu : BACNET_MOST_APDU;
  int count = (most - HEAD) / PER_OBJECT;

  return count < 1 ? 1 : count;
}

static void begin(struct bacnet_link *link)
{
  link->objects_at_once = objects_for(link->most_apdu);
  for (int i = 0; i < link->own->point_count; i++) {
    link->own->states[i].asked = link->own->states[i].by_position = false;
    link->own->states[i].subscribe_s = -INFINITY;
  }
}

static void stay(struct bacnet_link *link)
{
  struct wire_line *line = link->line;
  double next_s = wire_clock_s();

  do {
    if (!bacnet_ask_points(link) || !bacnet_ask_logs(link))
      return;
    if (line->source->subscribe && !bacnet_subscribe(link))
      return;
    wire_flush(line);
    next_s = fmax(next_s + wire_poll_s(line), wire_clock_s());
  } while (bacnet_listen(link, next_s));
}

void wire_run_bacnet(struct wire_line *line)
{
  struct bacnet_link link;

  line->own = own_of(line);
  if (!bacnet_open(&link, line))
    return;
  if (bacnet_find(&link)) {
    wire_up(line);
    begin(&link);
    stay(&link);
  }
  bacnet_close(&link);
}
