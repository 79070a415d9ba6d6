#include "check.h"

#include "serve/guard_impl.h"

/*
 * The rules are RFC 9112 sections 3.2 (one Host) and 6.3 (one way to say how
 * long a body is); the rows are the requests that HTTP servers are known to
 * let through.  web/test/raw.test.js sends the same over a socket.
 */
static const char *const known[] = {"127.0.0.1", "localhost", "[::1]", "board.example"};
static const struct guard_names names = {known, 4};

static int status_of(struct guard_head head)
{
  const char *why = NULL;
  int status = guard_check(&head, &names, &why);

  CHECK((status == 0) == (why == NULL));
  return status;
}

static void a_plain_request_passes(void)
{
  CHECK_INT(status_of((struct guard_head){.host_count = 1, .host = "localhost:8470"}), 0);
  CHECK_INT(status_of((struct guard_head){
                .host_count = 1, .host = "[::1]:1", .length_count = 1, .length = "0"}),
            0);
}

static void a_request_that_two_programs_could_read_differently_is_refused(void)
{
  static const struct {
    const char *what;
    struct guard_head head;
    int status;
  } rows[] = {
      {"no host", {0}, 400},
      {"two hosts", {.host_count = 2, .host = "localhost"}, 400},
      {"two lengths",
       {.host_count = 1, .host = "localhost", .length_count = 2, .length = "0"},
       400},
      {"two codings", {.host_count = 1, .host = "localhost", .coding_count = 2}, 400},
      {"length and coding",
       {.host_count = 1, .host = "localhost", .length_count = 1, .length = "0", .coding_count = 1},
       400},
      {"a body", {.host_count = 1, .host = "localhost", .length_count = 1, .length = "5"}, 413},
      {"a body in pieces", {.host_count = 1, .host = "localhost", .coding_count = 1}, 413},
      {"an empty length",
       {.host_count = 1, .host = "localhost", .length_count = 1, .length = ""},
       413},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    CHECK_CASE("%s", rows[i].what);
    CHECK_INT(status_of(rows[i].head), rows[i].status);
  }
}

static void only_names_we_were_told_are_answered(void)
{
  static const struct {
    const char *host;
    bool is_known;
  } rows[] = {
      {"localhost", true},
      {"LocalHost:80", true},
      {"127.0.0.1:8470", true},
      {"[::1]", true},
      {"[::1]:8470", true},
      {"board.example:65535", true},
      {"evil.example", false},
      {"localhost.evil", false},
      {"evil.example:127", false},
      {"", false},
      {":80", false},
      {"localhost:", true},
      {"localhost:80:80", false},
      {"localhost:8x", false},
      {"[::1", false},
      {"[::1]x", false},
      {"::1", false},
      {"localhost:123456", false},
      {"127.0.0.1 localhost", false},
      {"[", false},
      {"[]", false},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    CHECK_CASE("Host: %s", rows[i].host);
    CHECK(guard_host_known(rows[i].host, &names) == rows[i].is_known);
  }
}

/* A form of another page sends text/plain, url-encoded or multipart without asking first (Fetch, CORS-safelisted). */
static void a_table_comes_as_what_a_foreign_form_cannot_send(void)
{
  static const struct {
    const char *type, *origin;
    int status;
  } rows[] = {
      {"text/csv", NULL, 0},
      {"text/csv; charset=utf-8", "http://localhost:8470", 0},
      {"APPLICATION/octet-stream", NULL, 0},
      {"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", NULL, 0},
      {"application/vnd.oasis.opendocument.spreadsheet", NULL, 0},
      {"application/json", NULL, 415},
      {"text/plain", NULL, 415},
      {"multipart/form-data; boundary=x", NULL, 415},
      {"application/x-www-form-urlencoded", NULL, 415},
      {"text/csvx", NULL, 415},
      {NULL, NULL, 415},
      {"text/csv", "http://evil.example", 403},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct guard_head head = {.host_count = 1,
                              .host = "localhost",
                              .length_count = 1,
                              .length = "9",
                              .body_most = 10,
                              .body_table = true,
                              .type = rows[i].type,
                              .origin = rows[i].origin};

    CHECK_CASE("%s", rows[i].type ? rows[i].type : "none");
    CHECK_INT(status_of(head), rows[i].status);
  }
  CHECK_INT(status_of((struct guard_head){.host_count = 1,
                                          .host = "localhost",
                                          .length_count = 1,
                                          .length = "11",
                                          .body_most = 10,
                                          .body_table = true,
                                          .type = "text/csv"}),
            413);
  CHECK_INT(status_of((struct guard_head){.host_count = 1,
                                          .host = "localhost",
                                          .length_count = 1,
                                          .length = "9",
                                          .body_most = 10,
                                          .type = "text/csv"}),
            415);
}

static void gzip_is_sent_only_to_those_who_take_it(void)
{
  CHECK(guard_takes_gzip("gzip, deflate, br"));
  CHECK(guard_takes_gzip("br;q=1.0, GZIP;q=0.5"));
  CHECK(!guard_takes_gzip(NULL));
  CHECK(!guard_takes_gzip(""));
  CHECK(!guard_takes_gzip("identity"));
  CHECK(!guard_takes_gzip("xgzip, br"));
  CHECK(!guard_takes_gzip("gzip;q=0"));
  CHECK(!guard_takes_gzip("gzip; q=0.000, br"));
  CHECK(guard_takes_gzip("gzip;q=0.001"));
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_plain_request_passes);
  RUN(a_request_that_two_programs_could_read_differently_is_refused);
  RUN(only_names_we_were_told_are_answered);
  RUN(a_table_comes_as_what_a_foreign_form_cannot_send);
  RUN(gzip_is_sent_only_to_those_who_take_it);
  return check_end();
}
