#include "serve/listen_impl.h"

#include <errno.h>
#include <netdb.h>
#include <netinet/in.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

enum { BACKLOG = 128 };

static enum err_code refuse(struct err *err, const struct serve_settings *settings, int error)
{
  const char *bind_to = settings->bind;
  int port = settings->port;

  if (error == EADDRINUSE)
    return err_set(err, ERR_IO,
                   "port %d on %s is in use by another program; stop that one, or choose another "
                   "with --port N (--port 0 takes a free one)",
                   port, bind_to);
  if (error == EACCES)
    return err_set(err, ERR_IO, "port %d needs more rights than this user has; use one above 1023",
                   port);
  if (error == EADDRNOTAVAIL)
    return err_set(err, ERR_IO, "this machine has no address %s; --bind takes one of its own",
                   bind_to);
  return err_set(err, ERR_IO, "listening on %s port %d: %s", bind_to, port, strerror(error));
}

static int open_socket(const struct addrinfo *at)
{
  int yes = 1, saved;
  int fd = socket(at->ai_family, at->ai_socktype, at->ai_protocol);

  if (fd < 0)
    return -1;
  if (setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) == 0 &&
      bind(fd, at->ai_addr, at->ai_addrlen) == 0 && listen(fd, BACKLOG) == 0)
    return fd;
  saved = errno;
  close(fd);
  errno = saved;
  return -1;
}

static int port_of(int fd)
{
  union {
    struct sockaddr any;
    struct sockaddr_in v4;
    struct sockaddr_in6 v6;
    struct sockaddr_storage room;
  } name;
  socklen_t size = sizeof name;

  if (getsockname(fd, &name.any, &size) != 0)
    return -1;
  return ntohs(name.any.sa_family == AF_INET6 ? name.v6.sin6_port : name.v4.sin_port);
}

enum err_code listen_open(const struct serve_settings *settings, int *fd_out, int *port_out,
                          struct err *err)
{
  const struct addrinfo hints = {.ai_family = AF_UNSPEC,
                                 .ai_socktype = SOCK_STREAM,
                                 .ai_flags = AI_NUMERICHOST | AI_NUMERICSERV | AI_PASSIVE};
  struct addrinfo *found = NULL;
  char port[12];

  snprintf(port, sizeof port, "%d", settings->port);
  if (getaddrinfo(settings->bind, port, &hints, &found) != 0)
    return err_set(err, ERR_USAGE,
                   "--bind takes a numeric address such as 127.0.0.1 or ::1, not %s",
                   settings->bind);
  int fd = open_socket(found), error = errno;

  freeaddrinfo(found);
  if (fd < 0)
    return refuse(err, settings, error);
  *fd_out = fd;
  *port_out = port_of(fd);
  return ERR_OK;
}

void listen_make_room(int sockets)
{
  enum { FILES_BESIDES = 128 };
  rlim_t wanted = (rlim_t)sockets + FILES_BESIDES;
  struct rlimit files;

  if (getrlimit(RLIMIT_NOFILE, &files) != 0 || files.rlim_cur >= wanted)
    return;
  files.rlim_cur = wanted < files.rlim_max ? wanted : files.rlim_max;
  setrlimit(RLIMIT_NOFILE, &files); /* refused: fewer are let in, as before */
}
