/* How much a station is used, in the words of a person. */
#include "together/together_impl.h"

#include <stdlib.h>
#include <string.h>

static const char *const days[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};

static int day_named(const char *text)
{
  for (int i = 0; i < 7; i++)
    if (strncmp(text, days[i], 3) == 0)
      return i;
  return -1;
}

struct span {
  int first_day, last_day, from_hour, to_hour;
};

static enum err_code bad(const char *text, struct err *err)
{
  return err_set(err, ERR_INPUT, "use '%.60s': write S3=30%%, all=20%% or S3=60%% Tue-Fri 13-17",
                 text);
}

/* "Tue 13-17", "Mon-Fri 8-18", "Sat", or nothing: always. */
static bool read_span(const char *at, struct span *out)
{
  char *end;

  *out = (struct span){0, 6, 0, 24};
  at += strspn(at, " ");
  if (!*at)
    return true;
  out->first_day = out->last_day = day_named(at);
  if (out->first_day < 0)
    return false;
  at += 3;
  if (*at == '-') {
    out->last_day = day_named(at + 1);
    if (out->last_day < out->first_day)
      return false;
    at += 4;
  }
  at += strspn(at, " ");
  if (!*at)
    return true;
  out->from_hour = (int)strtol(at, &end, 10);
  if (end == at || *end != '-')
    return false;
  at = end + 1;
  out->to_hour = (int)strtol(at, &end, 10);
  return end != at && !*end && out->from_hour >= 0 && out->from_hour < out->to_hour &&
         out->to_hour <= 24;
}

static void put(struct together_use *use, const struct span *span, double ratio)
{
  if (!use->known ||
      strcmp(use->from, "stated") != 0) /* in other hours than those it is not at work */
    *use = (struct together_use){.known = true, .from = "stated"};
  for (int day = span->first_day; day <= span->last_day; day++)
    for (int hour = span->from_hour; hour < span->to_hour; hour++)
      use->up_ratio[24 * day + hour] = ratio;
}

enum err_code together_take_use(const struct facility *f, const char *text,
                                struct together_use *uses, struct arena *arena, struct err *err)
{
  const char *equals = strchr(text, '=');
  const char *id = equals ? arena_printf(arena, "%.*s", (int)(equals - text), text) : NULL;
  struct span span;
  char *end;
  double percent;

  if (!id || !*id)
    return bad(text, err);
  percent = strtod(equals + 1, &end);
  if (end == equals + 1 || *end != '%' || !(percent >= 0 && percent <= 100) ||
      !read_span(end + 1, &span))
    return bad(text, err);
  if (strcmp(id, "all") == 0) {
    for (int i = 0; i < f->station_count; i++)
      put(&uses[i], &span, percent / 100);
    return ERR_OK;
  }
  int station = facility_station_find(f, id);

  if (station < 0) {
    const char *near = facility_nearest_id(f, id);

    return err_set(err, ERR_INPUT, "use: no station '%.40s'%s%s%s", id, near ? "; is it " : "",
                   near ? near : "", near ? "?" : "");
  }
  put(&uses[station], &span, percent / 100);
  return ERR_OK;
}
