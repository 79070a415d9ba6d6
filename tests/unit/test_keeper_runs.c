/* The keeper and runs with nobody there. */
#include "keeper/keeper_impl.h"

#include "check.h"
#include "kept.h"

#include <string.h>

/* A run with nobody there keeps its flow: over a restart, until it may be cold. */
static void a_station_whose_run_is_not_cold_needs_its_flow(void)
{
  struct kept w;
  struct record_entry entry = {
      .kind = RECORD_RUN,
      .about = "A2",
      .who = "staff",
      .text = "runs",
      .detail =
          "{\"schema\": \"inward.run.1\", \"act\": \"started\", \"what\": \"hot strip\", \"holds\": "
          "\"acid\", \"hazards\": \"hot\", \"call\": \"4217\", \"until_ms\": 1700009000}"};
  struct err err = {0};

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  CHECK(!kept_has(&w, "hot strip"));
  entry.t_ms = entry.written_ms = keeper_now_ms(w.keeper);
  CHECK_INT(keeper_enter(w.keeper, &entry, &err), ERR_OK);
  CHECK(kept_comes(&w, "\"what\": \"hot strip\""));
  CHECK(kept_comes(&w, "\"phase\": \"runs\""));
  CHECK_STR(keeper_run_needs_flow(w.keeper, 1), "hot strip");
  CHECK(keeper_run_needs_flow(w.keeper, 0) == NULL);
  kept_end(&w);
  REQUIRE(kept_begin(&w));
  CHECK(kept_comes(&w, "\"what\": \"hot strip\""));
  entry.detail = "{\"schema\": \"inward.run.1\", \"act\": \"cleared\"}";
  entry.t_ms = entry.written_ms = keeper_now_ms(w.keeper);
  CHECK_INT(keeper_enter(w.keeper, &entry, &err), ERR_OK);
  for (int i = 0; i < 500 && kept_has(&w, "hot strip"); i++) {
    kept_pass(20);
    kept_nap();
  }
  CHECK(!kept_has(&w, "hot strip"));
  CHECK(keeper_run_needs_flow(w.keeper, 1) == NULL);
  kept_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_station_whose_run_is_not_cold_needs_its_flow);
  return check_end();
}
