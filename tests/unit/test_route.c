#include "check.h"

#include "serve/route_impl.h"

static void addresses_are_a_closed_list(void)
{
  CHECK_INT(route_check("GET", "/api/air"), 0);
  CHECK_INT(route_check("HEAD", "/"), 0);
  CHECK_INT(route_check("POST", "/api/air"), 405);
  CHECK_INT(route_check("GET", "/api/air/"), 404);
  CHECK_INT(route_check("GET", "//"), 404);
  CHECK_INT(route_check("GET", ""), 404);
  CHECK_INT(route_check("POST", "/nowhere"), 404);
}

/* Neither needs a suite. */
static void a_page_is_its_bytes_and_an_unknown_address_a_reason(void)
{
  struct ask_worker worker = {0};
  struct route_reply reply = {0};

  buf_init(&reply.body, 1 << 10);
  route_answer(&worker, "/", "scene=busy", 10, &reply);
  CHECK_INT(reply.status, 200);
  CHECK(reply.asset != NULL && reply.body.used == 0);
  route_answer(&worker, "/nowhere", "", 0, &reply);
  CHECK_INT(reply.status, 404);
  CHECK(reply.asset == NULL && reply.body.used > 0);
  buf_release(&reply.body);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(addresses_are_a_closed_list);
  RUN(a_page_is_its_bytes_and_an_unknown_address_a_reason);
  return check_end();
}
