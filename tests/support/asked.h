#ifndef TESTS_SUPPORT_ASKED_H
#define TESTS_SUPPORT_ASKED_H

#include "air/air.h"

/* A suite given as text, made ready to be asked.  Prints every fault and returns
 * false when it is not sound. */
struct asked {
  struct arena arena;
  struct facility *facility;
  struct air *air;
  struct scene scene;
  struct air_answer *answer;
};

bool suite_from_text(struct asked *asked, const char *text);
/* Applies "sash S1=work" and the like, NULL ends the list, then asks. */
bool suite_ask(struct asked *asked, const char *scene, const char *const *changes);
void suite_release(struct asked *asked);

#endif
