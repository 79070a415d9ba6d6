#include "serve/serve.h"

#include "serve/chemistry_impl.h"
#include "serve/day_impl.h"
#include "serve/guard_impl.h"
#include "serve/listen_impl.h"
#include "serve/live_impl.h"
#include "serve/match_impl.h"
#include "serve/route_impl.h"
#include "serve/sheets_impl.h"
#include "serve/stream_impl.h"
#include "serve/wet_impl.h"
#include "serve/why_impl.h"

#include <microhttpd.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>
#include <unistd.h>

enum {
  MAX_THREADS = 16,
  MAX_NAMES = 24,
  MAX_CONNECTIONS = STREAM_MOST + 256,
  MAX_CONNECTIONS_PER_ADDRESS = STREAM_MOST + 192, /* a proxy in front is one address */
  IDLE_SECONDS = 15,
  /* of memory for one connection, its head included: a view of a suite of twenty stations fits, and so
   * goes to each screen in one piece */
  HEAD_BYTES = 64 << 10
};

const struct serve_settings serve_settings_default = {
    .bind = "127.0.0.1", .port = 8470, .thread_count = 2};

struct server {
  struct ask_site site;
  struct guard_names names;
  const char *name_list[MAX_NAMES];
  char bound_name[64]; /* "[2001:db8::7]" */
  int worker_count;
  atomic_int workers_taken;
  struct worker {
    struct ask_worker ask;
    struct live_reader reader;
  } workers[MAX_THREADS];
  struct live live; /* given NULL: nothing is connected */
  struct chemistry *chemistry;
  struct day_desk *day;
  struct match_desk *match;
  struct wet_place wet;   /* of no moment */
  struct stream_hub *hub; /* or NULL */
};

/* The library has no number for its threads, so each takes a worker at its first request. */
static _Thread_local struct worker *own_worker;

struct request {
  char *target; /* as it came: path, and what follows the question mark */
  bool begun;
  char *body; /* of a POST */
  size_t body_size;
};

/* ---- sending ---- */

static const struct {
  const char *name, *value;
} security_headers[] = {
    {"Content-Security-Policy",
     "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    {"Referrer-Policy", "no-referrer"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
};

static struct MHD_Response *asset_response(const struct serve_asset *asset, bool gzip)
{
  /* The library's argument is not const; with RESPMEM_PERSISTENT it only reads. */
  union {
    const unsigned char *bytes;
    void *data;
  } from = {gzip ? asset->gzip : asset->plain};
  size_t size = gzip ? asset->gzip_bytes : asset->plain_bytes;
  struct MHD_Response *response =
      MHD_create_response_from_buffer(size, from.data, MHD_RESPMEM_PERSISTENT);

  if (!response)
    return NULL;
  if (gzip)
    MHD_add_response_header(response, "Content-Encoding", "gzip");
  MHD_add_response_header(response, "Vary", "Accept-Encoding");
  MHD_add_response_header(response, "Cache-Control",
                          asset->forever ? "public, max-age=31536000, immutable" : "no-cache");
  return response;
}

/* Takes the body away from the reply. */
static struct MHD_Response *body_response(struct route_reply *reply)
{
  struct MHD_Response *response =
      MHD_create_response_from_buffer(reply->body.used, reply->body.text, MHD_RESPMEM_MUST_FREE);

  if (!response)
    return NULL;
  reply->body.text = NULL;
  MHD_add_response_header(response, "Cache-Control", "no-store");
  return response;
}

static enum MHD_Result send_reply(struct MHD_Connection *connection, struct route_reply *reply,
                                  double spent_ms, bool last)
{
  const char *accept = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Accept-Encoding");
  struct MHD_Response *response =
      reply->asset ? asset_response(reply->asset, guard_takes_gzip(accept)) : body_response(reply);
  char timing[40];

  buf_release(&reply->body);
  if (!response)
    return MHD_NO;
  snprintf(timing, sizeof timing, "answer;dur=%.3f", spent_ms);
  MHD_add_response_header(response, "Content-Type", reply->type);
  MHD_add_response_header(response, "Server-Timing", timing);
  for (size_t i = 0; i < sizeof security_headers / sizeof *security_headers; i++)
    MHD_add_response_header(response, security_headers[i].name, security_headers[i].value);
  if (reply->status == 405)
    MHD_add_response_header(response, "Allow",
                            reply->takes_both   ? "GET, HEAD, POST"
                            : reply->takes_post ? "POST"
                                                : "GET, HEAD");
  if (reply->file) {
    char attached[80];

    snprintf(attached, sizeof attached, "attachment; filename=\"%s\"", reply->file);
    MHD_add_response_header(response, "Content-Disposition", attached);
  }
  if (last)
    MHD_add_response_header(response, "Connection", "close");
  enum MHD_Result sent = MHD_queue_response(connection, (unsigned)reply->status, response);

  MHD_destroy_response(response);
  return sent;
}

/* ---- receiving ---- */

static enum MHD_Result count_header(void *arg, enum MHD_ValueKind kind, const char *key,
                                    const char *value)
{
  struct guard_head *head = arg;

  (void)kind;
  if (strcasecmp(key, "Host") == 0) {
    head->host = head->host_count++ ? head->host : value;
  } else if (strcasecmp(key, "Content-Length") == 0) {
    head->length = head->length_count++ ? head->length : value;
  } else if (strcasecmp(key, "Transfer-Encoding") == 0)
    head->coding_count++;
  else if (strcasecmp(key, "Content-Type") == 0)
    head->type = value;
  else if (strcasecmp(key, "Origin") == 0)
    head->origin = value;
  return MHD_YES;
}

static const char *status_text(int status, bool takes_post)
{
  return status != 405 ? "nothing is at this address"
         : takes_post  ? "this address takes what is entered: use POST"
                       : "this address can only be read: use GET";
}

static struct worker *take_worker(struct server *server)
{
  if (!own_worker) {
    int index = atomic_fetch_add(&server->workers_taken, 1);

    BUG_IF(index >= server->worker_count);
    own_worker = &server->workers[index];
  }
  return own_worker;
}

static double now_ms(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

/* Which body a request may have. */
struct body_taken {
  size_t most; /* bytes; 0: none */
  bool table;
};

/* A refusal goes out before anything more is read, which also ends the connection. */
static bool refused(struct server *server, struct MHD_Connection *connection,
                    const struct body_taken *takes, enum MHD_Result *sent_out)
{
  struct guard_head head = {.body_most = takes->most, .body_table = takes->table};
  double began_ms = now_ms();
  struct route_reply reply = {0};
  const char *why = NULL;

  MHD_get_connection_values(connection, MHD_HEADER_KIND, count_header, &head);
  int status = guard_check(&head, &server->names, &why);

  if (status == 0)
    return false;
  buf_init(&reply.body, ASK_ANSWER_MAX_BYTES);
  route_refuse(&reply, status, why);
  *sent_out = send_reply(connection, &reply, now_ms() - began_ms, true);
  return true;
}

/* The path of a target, cut off where it is too long to be one of ours. */
static size_t split(const char *target, char *path, size_t room)
{
  size_t bytes = strcspn(target, "?");

  snprintf(path, room, "%.*s", bytes < room ? (int)bytes : 0, target);
  return bytes + (target[bytes] == '?');
}

/* What is answered with nothing connected: chemistry, and bookings, which stand in files. */
static bool needs_nothing(const char *path)
{
  return chemistry_knows(path) || day_desk_knows(path) || match_desk_gets(path) ||
         strcmp(path, "/api/match") == 0;
}

/* Which method an address beside those of `route` takes; NULL: it is none of them. */
static const char *method_of(const char *path)
{
  const char *takes = needs_nothing(path) ? "GET" : lists_method(path);

  takes = takes ? takes : wet_method(path);
  takes = takes ? takes : live_method(path);
  return takes || !match_desk_posts(path) ? takes : "POST";
}

/* The same where a table may be posted, too, to what can be read. */
static const char *method_for(const char *path, const char *method)
{
  return strcmp(method, "POST") == 0 && match_desk_posts(path) ? "POST" : method_of(path);
}

/* What asks what is connected, where nothing is; a list is then a form for the pen. */
static bool is_for_nobody(const struct server *server, const char *path, bool takes_post)
{
  if (server->live.given || needs_nothing(path) || (takes_post && match_desk_posts(path)))
    return false;
  return wet_method(path) ? wet_needs_record(path) : takes_post || !lists_method(path);
}

static int posted(struct server *server, const struct live_post *post, struct buf *out,
                  struct match_served *as)
{
  if (match_desk_posts(post->path))
    return match_desk_post(server->match, post, out, as);
  if (wet_method(post->path))
    return wet_post(&server->live, server->chemistry, &take_worker(server)->reader, post, out);
  return lists_method(post->path) ? lists_post(&server->live, post, out)
                                  : live_post(&server->live, post, out);
}

static int got(struct server *server, const char *path, const char *search, struct buf *out,
               struct match_served *as)
{
  struct live_reader *reader = &take_worker(server)->reader;

  if (match_desk_gets(path))
    return match_desk_get(server->match, search, out, as);
  if (day_desk_knows(path))
    return day_desk_get(server->day, search, out);
  if (chemistry_knows(path))
    return chemistry_get(server->chemistry, path, search, strlen(search), out);
  if (strcmp(path, "/api/match") == 0)
    return nightly_get(&server->live, reader, search, out);
  if (wet_method(path))
    return wet_get(&server->live, server->chemistry, reader, path, search, out);
  return lists_method(path) ? lists_get(&server->live, reader, path, search, strlen(search), out)
                            : live_get(&server->live, reader, path, search, strlen(search), out);
}

/* What is answered beside `route`; false: not one of those. */
static bool live_reply(struct server *server, struct MHD_Connection *connection, const char *method,
                       const struct request *request, struct route_reply *reply)
{
  char path[128];
  const char *search = request->target + split(request->target, path, sizeof path);
  const char *takes = method_for(path, method);
  struct match_served as = {0};
  bool is_head = strcmp(method, "HEAD") == 0;

  if (!takes)
    return false;
  reply->takes_post = strcmp(takes, "POST") == 0;
  reply->takes_both = !reply->takes_post && match_desk_posts(path);
  if (strcmp(method, takes) != 0 && !(is_head && !reply->takes_post)) {
    route_refuse(reply, 405, status_text(405, reply->takes_post));
    return true;
  }
  route_json(reply);
  if (is_for_nobody(server, path, reply->takes_post)) {
    reply->status = live_nobody(&server->live, path, reply->takes_post, &reply->body);
  } else if (reply->takes_post) {
    const char *shown = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Authorization");
    bool bearer = shown && strncasecmp(shown, "Bearer ", 7) == 0;
    struct live_post post = {.path = path,
                             .search = search,
                             .token = bearer ? shown + 7 : NULL,
                             .body = request->body ? request->body : "",
                             .size = request->body_size};

    reply->status = posted(server, &post, &reply->body, &as);
  } else
    reply->status = got(server, path, search, &reply->body, &as);
  reply->type = as.type ? as.type : reply->type;
  reply->file = as.file;
  if (live_is_page(path) || lists_is_page(path))
    reply->type = "text/html; charset=utf-8";
  return true;
}

static bool is_stream(const struct server *server, const char *method, const char *target)
{
  return server->hub && strcmp(method, "GET") == 0 && strcmp(target, "/api/stream") == 0;
}

/* Goes on until the reader goes away or the board stops. */
static enum MHD_Result send_stream(struct server *server, struct MHD_Connection *connection)
{
  struct MHD_Response *response = stream_response(server->hub, connection);

  if (!response) {
    struct route_reply reply = {0};

    buf_init(&reply.body, ASK_ANSWER_MAX_BYTES);
    route_refuse(&reply, 503, "as many screens follow as this board has room for");
    return send_reply(connection, &reply, 0, true);
  }
  MHD_add_response_header(response, "Content-Type", "text/event-stream; charset=utf-8");
  MHD_add_response_header(response, "Cache-Control", "no-store");
  MHD_add_response_header(response, "X-Accel-Buffering", "no"); /* a proxy must not hold it back */
  for (size_t i = 0; i < sizeof security_headers / sizeof *security_headers; i++)
    MHD_add_response_header(response, security_headers[i].name, security_headers[i].value);
  enum MHD_Result sent = MHD_queue_response(connection, MHD_HTTP_OK, response);

  MHD_destroy_response(response);
  return sent;
}

static enum MHD_Result respond(struct server *server, struct MHD_Connection *connection,
                               const char *method, const struct request *request)
{
  struct route_reply reply = {0};
  double began_ms = now_ms();
  const char *target = request->target;
  char path[128];
  const char *search = target + split(target, path, sizeof path);

  if (is_stream(server, method, target))
    return send_stream(server, connection);
  buf_init(&reply.body, ASK_ANSWER_MAX_BYTES);
  if (!live_reply(server, connection, method, request, &reply)) {
    int wrong = route_check(method, path);

    if (wrong)
      route_refuse(&reply, wrong, status_text(wrong, false));
    else
      route_answer(&take_worker(server)->ask, path, search, strlen(search), &reply);
  }
  return send_reply(connection, &reply, now_ms() - began_ms, false);
}

/* Keeps the target as it came: the library would hand on a decoded one. */
static void *begin_request(void *arg, const char *target, struct MHD_Connection *connection)
{
  struct request *request = calloc(1, sizeof *request);

  (void)arg, (void)connection;
  if (request)
    request->target = strdup(target);
  return request;
}

static void end_request(void *arg, struct MHD_Connection *connection, void **own,
                        enum MHD_RequestTerminationCode why)
{
  struct request *request = *own;

  (void)arg, (void)connection, (void)why;
  if (request) {
    free(request->target);
    free(request->body);
  }
  free(request);
  *own = NULL;
}

/* The guard has looked at the length that was promised; more than that is not taken. */
static bool take_body(struct request *request, size_t most, const char *bytes, size_t size)
{
  if (request->body_size + size > most)
    return false;

  char *more = realloc(request->body, request->body_size + size + 1);

  if (!more)
    return false;
  memcpy(more + request->body_size, bytes, size);
  request->body = more;
  request->body_size += size;
  request->body[request->body_size] = '\0';
  return true;
}

static struct body_taken takes_body(const char *method, const char *target)
{
  char path[128];

  split(target, path, sizeof path);
  const char *takes = method_for(path, method);

  if (!takes || strcmp(takes, "POST") != 0 || strcmp(method, "POST") != 0)
    return (struct body_taken){0};
  return match_desk_posts(path) ? (struct body_taken){MATCH_BODY_MOST, true}
                                : (struct body_taken){LIVE_BODY_MOST, false};
}

/*
 * Called with the head, with each piece of a body, then once more when the request is whole.  Answering only then keeps the
 * connection for the next question; the library ends one that is answered at the head.
 */
/* NOLINTNEXTLINE(readability-function-size): the library's eight parameters */
static enum MHD_Result handle(void *arg, struct MHD_Connection *connection, const char *url,
                              const char *method, const char *version, const char *upload,
                              size_t *upload_bytes, void **own)
{
  struct request *request = *own;

  (void)url, (void)version;
  if (!request || !request->target)
    return MHD_NO;
  if (!request->begun) {
    struct body_taken takes = takes_body(method, request->target);
    enum MHD_Result sent = MHD_YES;

    request->begun = true;
    return refused(arg, connection, &takes, &sent) ? sent : MHD_YES;
  }
  if (*upload_bytes > 0) {
    bool taken =
        take_body(request, takes_body(method, request->target).most, upload, *upload_bytes);

    *upload_bytes = 0;
    return taken ? MHD_YES : MHD_NO;
  }
  return respond(arg, connection, method, request);
}

/* A client that goes away is no news. */
static void quiet(void *arg, const char *fmt, va_list args) __attribute__((format(printf, 2, 0)));
static void quiet(void *arg, const char *fmt, va_list args)
{
  (void)arg, (void)fmt, (void)args;
}

/* ---- life ---- */

static enum err_code name_hosts(struct server *server, const struct serve_settings *settings,
                                struct err *err)
{
  static const char *const loopback[] = {"127.0.0.1", "localhost", "[::1]"};
  int count = 0;

  if (settings->host_count > MAX_NAMES - 4)
    return err_set(err, ERR_USAGE, "at most %d --host names", MAX_NAMES - 4);
  for (size_t i = 0; i < sizeof loopback / sizeof *loopback; i++)
    server->name_list[count++] = loopback[i];
  snprintf(server->bound_name, sizeof server->bound_name,
           strchr(settings->bind, ':') ? "[%s]" : "%s", settings->bind);
  server->name_list[count++] = server->bound_name;
  for (int i = 0; i < settings->host_count; i++)
    server->name_list[count++] = settings->hosts[i];
  server->names = (struct guard_names){server->name_list, count};
  return ERR_OK;
}

static struct MHD_Daemon *start_daemon(struct server *server, int fd)
{
  unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_USE_ITC | MHD_ALLOW_SUSPEND_RESUME;
  struct MHD_OptionItem options[] = {
      {MHD_OPTION_EXTERNAL_LOGGER, (intptr_t)quiet, NULL},
      {MHD_OPTION_LISTEN_SOCKET, fd, NULL},
      {MHD_OPTION_STRICT_FOR_CLIENT, 1, NULL},
      {MHD_OPTION_CONNECTION_TIMEOUT, IDLE_SECONDS, NULL},
      {MHD_OPTION_CONNECTION_LIMIT, MAX_CONNECTIONS, NULL},
      {MHD_OPTION_PER_IP_CONNECTION_LIMIT, MAX_CONNECTIONS_PER_ADDRESS, NULL},
      {MHD_OPTION_CONNECTION_MEMORY_LIMIT, HEAD_BYTES, NULL},
      {MHD_OPTION_URI_LOG_CALLBACK, (intptr_t)begin_request, NULL},
      {MHD_OPTION_NOTIFY_COMPLETED, (intptr_t)end_request, NULL},
      {server->worker_count > 1 ? MHD_OPTION_THREAD_POOL_SIZE : MHD_OPTION_END,
       server->worker_count, NULL},
      {MHD_OPTION_END, 0, NULL},
  };

  return MHD_start_daemon(flags, 0, NULL, NULL, handle, server, MHD_OPTION_ARRAY, options,
                          MHD_OPTION_END);
}

static void announce(const struct serve_settings *settings, int port)
{
  bool v6 = strchr(settings->bind, ':') != NULL;

  printf("Inward is at http://%s%s%s:%d/  (Ctrl-C stops it)\n", v6 ? "[" : "", settings->bind,
         v6 ? "]" : "", port);
  fflush(stdout);
}

/* Signals must be blocked before the first thread is made, or one of them would take them. */
static void block_signals(sigset_t *set)
{
  struct sigaction ignore = {.sa_handler = SIG_IGN};

  sigaction(SIGPIPE, &ignore, NULL);
  sigemptyset(set);
  sigaddset(set, SIGINT);
  sigaddset(set, SIGTERM);
  sigprocmask(SIG_BLOCK, set, NULL);
}

static enum err_code run(struct server *server, const struct serve_settings *settings,
                         struct err *err)
{
  sigset_t stop;
  int fd, port, got;
  enum err_code code = listen_open(settings, &fd, &port, err);

  if (code)
    return code;
  listen_make_room(MAX_CONNECTIONS);
  block_signals(&stop);
  struct MHD_Daemon *daemon = start_daemon(server, fd);

  if (!daemon) {
    close(fd);
    return err_set(err, ERR_IO, "the HTTP server did not start");
  }
  announce(settings, port);
  sigwait(&stop, &got);
  if (server->hub) { /* stopping with a suspended connection is undefined */
    MHD_quiesce_daemon(daemon);
    stream_end(server->hub);
  }
  MHD_stop_daemon(daemon); /* finishes what is being answered, closes the socket */
  if (server->hub)
    close(fd);
  return ERR_OK;
}

enum err_code serve_run(const struct facility *facility, const struct scene *start,
                        const struct serve_settings *settings, struct err *err)
{
  struct server *server = calloc(1, sizeof *server);
  int threads = settings->thread_count;

  if (!server)
    return err_set(err, ERR_IO, "no memory for the server");
  server->worker_count = threads < 1 ? 1 : threads > MAX_THREADS ? MAX_THREADS : threads;
  ask_site_init(&server->site, facility, start);
  for (int i = 0; i < server->worker_count; i++)
    server->workers[i].ask.site = &server->site;
  server->live = (struct live){.facility = facility, .given = settings->live};
  server->chemistry =
      chemistry_new(facility, settings->chemicals, start, settings->live, settings->may);
  server->day = day_desk_new(settings->day);
  server->match = match_desk_new(facility, settings->texts, settings->text_count,
                                 settings->zone ? settings->zone : when_utc());
  server->wet = chemistry_place(server->chemistry);
  server->wet.zone = settings->live ? settings->live->zone : when_utc();
  server->live.wet = &server->wet;
  server->live.day = settings->day;
  server->live.processes = settings->may ? may_place(settings->may)->processes : NULL;
  enum err_code code = name_hosts(server, settings, err);

  if (!code && settings->live) {
    server->hub = stream_open(settings->live->keeper, err);
    code = server->hub ? ERR_OK : err->code;
    server->live.desk = why_desk_new(facility, settings->live);
    server->live.nights = why_desk_new(facility, settings->live);
    server->live.sheets = sheet_desk_new(facility, settings->live, &server->wet);
    if (!server->live.sheets && !code)
      code = err_set(err, ERR_IO, "no room for a thread");
  }
  if (!code)
    code = run(server, settings, err);
  for (int i = 0; i < server->worker_count; i++) {
    ask_worker_release(&server->workers[i].ask);
    live_reader_release(&server->workers[i].reader);
  }
  stream_free(server->hub);
  why_desk_free(server->live.desk);
  why_desk_free(server->live.nights);
  sheet_desk_free(server->live.sheets);
  chemistry_free(server->chemistry);
  day_desk_free(server->day);
  match_desk_free(server->match);
  ask_site_release(&server->site);
  free(server);
  return code;
}
