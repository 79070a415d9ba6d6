#include "cli/zone.h"

#include "cli/read.h"

#include <stdio.h>
#include <time.h>

enum err_code cli_zone(const struct facility *facility, struct arena *arena,
                       const struct when_zone **zone_out, struct err *err)
{
  struct facility_text bytes = {0};
  char path[128];

  *zone_out = when_utc();
  if (!facility->zone)
    return ERR_OK;
  BUG_IF(!when_zone_name_fits(facility->zone)); /* checked with the suite */
  snprintf(path, sizeof path, "/usr/share/zoneinfo/%s", facility->zone);
  if (cli_read_file(path, 1 << 20, &bytes, NULL) != ERR_OK)
    return err_set(err, ERR_IO, "zone %s: there is no %s; is tzdata installed?", facility->zone,
                   path);
  enum err_code code =
      when_zone_read(facility->zone, bytes.bytes, bytes.size, arena, zone_out, err);

  cli_free_file(&bytes);
  return code;
}

int64_t cli_now_ms(void)
{
  struct timespec now;

  clock_gettime(CLOCK_REALTIME, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}
