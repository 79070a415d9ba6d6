#ifndef TESTS_SUPPORT_SMALL_FEEDS_H
#define TESTS_SUPPORT_SMALL_FEEDS_H

#include "check.h"
#include "facility/feeds.h"

#include <string.h>

/*
 * A suite of one station, two rooms and a door, and a feeds file given as text, read:
 *
 *     struct small_feeds w;
 *     REQUIRE(small_feeds_read(&w, "inward: 1 feeds\nsources: ..."));
 *     ... w.feeds ...
 *     small_feeds_release(&w);
 */
struct small_feeds {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
};

static inline bool small_feeds_read(struct small_feeds *w, const char *feeds_text)
{
  static const char suite_text[] =
      "inward: 1 suite\n"
      "site: {zone: Europe/Paris}\n"
      "rooms: {Etch: {}, Gown: {}}\n"
      "junctions: {J: {}}\n"
      "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
      "doors: {D1: {from: Etch, to: Gown, closed: {area: 1 cm2}, open: {area: 1 m2}}}\n"
      "fans: {EF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
      "mains: {Acid: {at: J, fans: [EF]}}\n"
      "stations:\n"
      "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", feeds_text, strlen(feeds_text)};

  *w = (struct small_feeds){0};
  arena_init(&w->arena, 4 << 20);
  complaints_init(&w->complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &w->complaints) : NULL;
  if (w->complaints.count > 0)
    check_case("%s", w->complaints.list[0].text);
  return w->feeds != NULL;
}

static inline void small_feeds_release(struct small_feeds *w)
{
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static inline int small_feeds_point(const struct small_feeds *w, const char *id)
{
  return feeds_point_find(w->feeds, id);
}

#endif
