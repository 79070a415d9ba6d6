/* What an answer of a tier does not tell: so that nobody reads it out of the figures. */
#include "air/air_impl.h"

static bool is_always(const struct facility *f)
{
  return f->station_count > 0;
}

static bool has_fans_unsaid(const struct facility *f)
{
  for (int i = 0; i < f->main_count; i++)
    if (f->mains[i].fan_count == 0 && f->mains[i].declared.value_count < 2)
      return f->station_count > 0;
  return false;
}

static bool has_faces_unsaid(const struct facility *f)
{
  for (int i = 0; i < f->station_count; i++)
    if (!f->stations[i].has_width || !f->stations[i].has_openings)
      return true;
  return false;
}

static bool has_main_without_limit(const struct facility *f)
{
  for (int i = 0; i < f->main_count; i++)
    if (air_pool_is_blind(f, i))
      return true;
  return false;
}

static bool has_supply_without_limit(const struct facility *f)
{
  for (int i = 0; i < f->supply_count; i++)
    if (!f->supplies[i].has_most && !f->supplies[i].declared.given)
      return true;
  return f->supply_count == 0 && f->station_count > 0;
}

enum { COARSE = 1 << AIR_COARSE, BALANCED = 1 << AIR_BALANCED, FULL = 1 << AIR_FULL };

static const struct {
  unsigned tiers;
  bool (*applies)(const struct facility *f);
  const char *text;
} rows[] = {
    {COARSE, is_always,
     "pressures of rooms, and whether a keep is met: no leak and no door is known"},
    {COARSE, is_always, "what an open door does"},
    {COARSE, is_always, "which branch or station starves first when a main is short"},
    {COARSE, has_fans_unsaid, "what is left when one fan stops"},
    {COARSE | BALANCED, has_faces_unsaid, "face velocities of stations without width and openings"},
    {COARSE | BALANCED | FULL, has_main_without_limit,
     "whether a main without network and capacity has enough"},
    {COARSE | BALANCED | FULL, has_supply_without_limit,
     "whether the make-up air suffices: no most of it is given"},
    {BALANCED, is_always, "what a change of a duct, fitting or damper would do: drops are as read"},
    {BALANCED, is_always, "flows far from those at which the drops were read"},
    {BALANCED | FULL, is_always,
     "what filters, scrubbers and belts have lost since the figures were read"},
    {COARSE | BALANCED | FULL, is_always,
     "what one face really catches: draughts, people walking by, hands at work"},
    {COARSE | BALANCED | FULL, is_always,
     "the first seconds after a change: the answer is for steady air"},
};

void air_say_cannot(const struct air_search *search, struct air_answer *answer)
{
  const struct facility *f = search->air->facility;
  size_t room = sizeof rows / sizeof *rows;

  answer->cannot = ARENA_ARRAY(search->arena, const char *, room);
  for (size_t i = 0; answer->cannot && i < room; i++)
    if ((rows[i].tiers & 1u << answer->tier) && rows[i].applies(f))
      answer->cannot[answer->cannot_count++] = rows[i].text;
}
