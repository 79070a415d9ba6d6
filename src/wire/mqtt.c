#include "wire/wire_impl.h"

#include <mosquitto.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/*
 * A broker, through libmosquitto, driven from the source's own thread: the library's threads and its
 * own way of connecting again are not used, for with the broker down at the start they never connect
 * at all.  Each run is a clean session: subscribed anew, and nothing kept by the broker from before
 * comes as if it were of now.  Nothing is published, no last will of ours either.
 */
enum { KEEPALIVE_S = 10, LOOK_MS = 100, CONNECT_ANSWERS = 5, READ_QOS = 1 };

struct session {
  struct wire_line *line;
  struct mosquitto *client;
  bool up;
  char why[120]; /* not "": the connection is of no use */
  double flushed_s;
  struct asked { /* what was subscribed to, for the broker answers by number */
    int mid;
    const char *topic;
  } * asked;
  int asked_count;
};

/* ---- what the broker says ---- */

static bool is_gone_word(const struct feeds_source *source, const char *bytes, size_t size)
{
  for (int i = 0; i < source->gone_count; i++)
    if (strlen(source->gone[i]) == size && strncasecmp(source->gone[i], bytes, size) == 0)
      return true;
  return false;
}

static void take_status(struct wire_line *line, const struct mosquitto_message *message)
{
  if (message->payload == NULL || message->payloadlen <= 0 ||
      !is_gone_word(line->source, message->payload, (size_t)message->payloadlen))
    return;
  wire_put_missing(line);
  wire_refuse(line, "its gateway says that it is not there (topic %s)", line->source->status);
}

static bool is_read(const struct wire_line *line, const char *topic)
{
  for (int i = 0; i < line->point_count; i++)
    if (strcmp(line->feeds->points[line->points[i]].at, topic) == 0)
      return true;
  return false;
}

static void on_message(struct mosquitto *client, void *arg, const struct mosquitto_message *message)
{
  struct session *session = arg;
  struct wire_line *line = session->line;
  struct feed_sink sink = wire_sink(line);
  struct feed_message said = {.topic = message->topic,
                              .bytes = message->payload,
                              .size = message->payloadlen > 0 ? (size_t)message->payloadlen : 0,
                              .retained = message->retain,
                              .seen_ms = wire_now_ms(line)};
  struct err err = {0};

  (void)client;
  if (line->source->status && strcmp(message->topic, line->source->status) == 0)
    take_status(line, message);
  if (is_read(line, message->topic) &&
      feed_payload(line->feeds, line->index, &said, &sink, &err) != ERR_OK)
    wire_refuse(line, "%s", err.text);
}

static bool said_before(const struct wire_line *line, int upto)
{
  const struct feeds_point *points = line->feeds->points;
  const char *topic = points[line->points[upto]].at;

  for (int i = 0; i < upto; i++)
    if (strcmp(points[line->points[i]].at, topic) == 0)
      return true;
  return line->source->status && strcmp(line->source->status, topic) == 0;
}

static void subscribe(struct session *session, const char *topic)
{
  struct asked *asked = &session->asked[session->asked_count++];
  int rc = mosquitto_subscribe(session->client, &asked->mid, topic, READ_QOS);

  asked->topic = topic;
  if (rc != MOSQ_ERR_SUCCESS)
    wire_refuse(session->line, "topic %s cannot be asked for: %s", topic, mosquitto_strerror(rc));
}

/* Here, and not before: subscriptions are gone with the session. */
static void on_connect(struct mosquitto *client, void *arg, int code)
{
  struct session *session = arg;
  struct wire_line *line = session->line;

  (void)client;
  if (code != 0) {
    snprintf(session->why, sizeof session->why, "%s", mosquitto_connack_string(code));
    return;
  }
  session->up = true;
  session->asked_count = 0;
  wire_up(line);
  if (line->source->status)
    subscribe(session, line->source->status);
  for (int i = 0; i < line->point_count; i++)
    if (!said_before(line, i))
      subscribe(session, line->feeds->points[line->points[i]].at);
}

static void on_subscribe(struct mosquitto *client, void *arg, int mid, int count,
                         const int *granted)
{
  const struct session *session = arg;

  (void)client;
  for (int i = 0; i < session->asked_count; i++)
    if (session->asked[i].mid == mid && count > 0 &&
        granted[0] > 2) /* MQTT 3.1.1, 3.9.3: 0x80 is a failure */
      wire_refuse(session->line, "the broker does not let us read topic %s",
                  session->asked[i].topic);
}

/* ---- a connection ---- */

static enum err_code set_user(struct session *session, struct err *err)
{
  const struct feeds_source *source = session->line->source;
  char user[WIRE_SECRET_MOST] = "", word[WIRE_SECRET_MOST] = "";
  enum err_code code = ERR_OK;

  if (source->user)
    code = wire_secret(source->user, session->line->folder, user, err);
  if (source->secret && !code)
    code = wire_secret(source->secret, session->line->folder, word, err);
  if (!code && source->user &&
      mosquitto_username_pw_set(session->client, user, source->secret ? word : NULL) != 0)
    code = err_set(err, ERR_INPUT, "the user's name or word is not text");
  wire_forget_secret(user);
  wire_forget_secret(word);
  return code;
}

static bool more_waits(const struct session *session)
{
  struct pollfd at = {.fd = mosquitto_socket(session->client), .events = POLLIN};

  return at.fd >= 0 && poll(&at, 1, 0) > 0;
}

/* At once when nothing more waits to be read; in a flood a few times a second. */
static void flush_when_due(struct session *session)
{
  double now_s = wire_clock_s();

  if (now_s - session->flushed_s < 0.001 * LOOK_MS && more_waits(session))
    return;
  session->flushed_s = now_s;
  wire_flush(session->line);
}

static void listen_to(struct session *session)
{
  struct wire_line *line = session->line;
  double until_s = wire_clock_s() + CONNECT_ANSWERS * line->pace->answer_s;
  int rc =
      mosquitto_connect_async(session->client, line->source->host, line->source->port, KEEPALIVE_S);

  while (rc == MOSQ_ERR_SUCCESS && !session->why[0] && !wire_stopping(line)) {
    rc = mosquitto_loop(session->client, LOOK_MS, 1);
    flush_when_due(session);
    if (!session->up && wire_clock_s() > until_s)
      snprintf(session->why, sizeof session->why, "the broker accepts, but says nothing");
  }
  if (wire_stopping(line))
    mosquitto_disconnect(session->client);
  else
    wire_down(line, "%s port %d: %s", line->source->host, line->source->port,
              session->why[0]            ? session->why
              : rc == MOSQ_ERR_ERRNO     ? "nothing answers there"
              : rc == MOSQ_ERR_CONN_LOST ? "the broker closed the connection"
                                         : mosquitto_strerror(rc));
}

void wire_run_mqtt(struct wire_line *line)
{
  struct session session = {.line = line};
  struct err err = {0};

  session.client = mosquitto_new(line->source->client, true, &session);
  if (!session.client) {
    wire_down(line, "the client id '%.60s' cannot be used", line->source->client);
    return;
  }
  session.asked = calloc((size_t)line->point_count + 1, sizeof *session.asked);
  if (!session.asked)
    err_no_memory();
  mosquitto_connect_callback_set(session.client, on_connect);
  mosquitto_subscribe_callback_set(session.client, on_subscribe);
  mosquitto_message_callback_set(session.client, on_message);
  if (set_user(&session, &err) != ERR_OK)
    wire_down(line, "%s", err.text);
  else
    listen_to(&session);
  mosquitto_destroy(session.client);
  free(session.asked);
}
