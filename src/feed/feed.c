#include "feed/feed.h"

static const char *const quality_names[FEED_QUALITY_COUNT] = {[FEED_GOOD] = "good",
                                                              [FEED_MISSING] = "missing",
                                                              [FEED_UNREADABLE] = "unreadable",
                                                              [FEED_FAULTY] = "faulty",
                                                              [FEED_OVERRIDDEN] = "overridden",
                                                              [FEED_OUT_OF_SERVICE] =
                                                                  "out of service",
                                                              [FEED_OLD] = "old",
                                                              [FEED_FUTURE] = "future",
                                                              [FEED_UNTIMED] = "untimed"};

const char *feed_quality_name(enum feed_quality quality)
{
  return quality_names[quality];
}
