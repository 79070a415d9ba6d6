#include "cli/zone.h"

#include "cli/read.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

enum err_code cli_zone_read(const char *name, struct arena *arena,
                            const struct when_zone **zone_out, struct err *err)
{
  struct facility_text bytes = {0};
  enum err_code code;
  char path[128];

  if (strcmp(name, "UTC") == 0) {
    *zone_out = when_utc();
    return ERR_OK;
  }
  if (!when_zone_name_fits(name))
    return err_set(err, ERR_INPUT, "'%.64s' is no zone", name);
  snprintf(path, sizeof path, "/usr/share/zoneinfo/%s", name);
  code = cli_read_file(path, 1 << 20, &bytes, err);
  if (code == ERR_INPUT)
    return err_set(err, ERR_INPUT, "this machine knows no zone '%.64s'; Debian's tzdata has them",
                   name);
  if (code != ERR_OK)
    return code;
  code = when_zone_read(name, bytes.bytes, bytes.size, arena, zone_out, err);
  cli_free_file(&bytes);
  return code;
}

enum err_code cli_zone(const struct facility *facility, struct arena *arena,
                       const struct when_zone **zone_out, struct err *err)
{
  *zone_out = when_utc();
  if (!facility->zone || cli_zone_read(facility->zone, arena, zone_out, err) == ERR_OK)
    return ERR_OK;
  if (err)
    err->code = ERR_IO; /* the name was checked with the suite: it is the machine that lacks it */
  return ERR_IO;
}

int64_t cli_now_ms(void)
{
  struct timespec now;

  clock_gettime(CLOCK_REALTIME, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}
