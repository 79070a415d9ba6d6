#ifndef TESTS_SUPPORT_KEPT_H
#define TESTS_SUPPORT_KEPT_H

#include "keeper/keeper.h"

#include "base/arena.h"
#include "base/complaints.h"
#include "facility/facility.h"

/* A small suite of three stations, kept, with a clock of the test's own: it stands until it is moved. */
enum { KEPT_BEGIN_MS = 1700000000 };

struct kept {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  struct keeper_settings settings;
  struct keeper *keeper;
  char folder[64], path[96];
};

bool kept_make_suite(struct kept *w, const char *suite_yaml, const char *feeds_yaml);
bool kept_make_of(struct kept *w, const char *feeds_yaml);
bool kept_make(struct kept *w);
bool kept_begin(struct kept *w);
void kept_end(struct kept *w);
void kept_release(struct kept *w);
void kept_say(struct kept *w, const char *id, double si);
void kept_say_all(struct kept *w, double si);
void kept_pass(int64_t ms);
void kept_nap(void);
/* Waits, moving the clock a little, until the newest view has these words; for as long as 20 s. */
bool kept_comes(struct kept *w, const char *words);
bool kept_has(struct kept *w, const char *words);
/* The texts of all entries of a kind, one a line. */
char *kept_entries(struct kept *w, enum record_kind kind);

#endif
