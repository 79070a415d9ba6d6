#ifndef CLI_BATH_IMPL_H
#define CLI_BATH_IMPL_H

#include "bath/bath.h"
#include "cli/read.h"

/* A bath as asked for on a command line: by `inward bath`, and for its label. */
struct cli_bath {
  const char *suite; /* NULL: none was named */
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  struct bath_request bath;
  const char *words[2]; /* as they stand, before cli_bath_sort */
  int word_count;
  char today[40];
  struct facility *facility; /* after cli_bath_load; NULL: no suite */
  struct chemicals *own;
};

NODISCARD enum err_code cli_bath_word(struct cli_bath *b, const char *word, struct err *err);
NODISCARD enum err_code cli_bath_option(struct cli_bath *b, const char *option, const char *value,
                                        struct err *err);
/* Which word is the suite and which the bath, and today's date where none was given. */
NODISCARD enum err_code cli_bath_sort(struct cli_bath *b, struct err *err);
/* Its suite and that suite's chemicals file, where one was named.  False: it cannot be used. */
bool cli_bath_load(struct cli_bath *b, struct err *err);
void cli_bath_free(struct cli_bath *b);

#endif
