#ifndef CLI_CLI_H
#define CLI_CLI_H

#include "base/buf.h"

/*
 * The command line: one file per verb, each thin over `answer`.
 *
 * A verb gets the arguments after its own name and returns the exit status of
 * the contract: 0 answered, 1 answered no / short / not known, 2 bad input or
 * usage, 3 could not.
 */
struct cli_verb {
  const char *name, *what;
  int (*run)(int argc, char **argv); /* NULL: the verb is one of `program` */
  const char *program;               /* "inward-papers", beside this one */
};

int cli_after(int argc, char **argv);
int cli_air(int argc, char **argv);
int cli_calc(int argc, char **argv);
int cli_check(int argc, char **argv);
int cli_the_day(int argc, char **argv);
int cli_diff(int argc, char **argv);
int cli_etch(int argc, char **argv);
int cli_export(int argc, char **argv);
int cli_feeds(int argc, char **argv);
int cli_glass(int argc, char **argv);
int cli_match(int argc, char **argv);
int cli_may(int argc, char **argv);
int cli_meet(int argc, char **argv);
int cli_new(int argc, char **argv);
int cli_past(int argc, char **argv);
int cli_people(int argc, char **argv);
int cli_print(int argc, char **argv);
int cli_round(int argc, char **argv);
int cli_ready(int argc, char **argv);
int cli_run(int argc, char **argv);
int cli_schema(int argc, char **argv);
int cli_serve(int argc, char **argv);
int cli_bath(int argc, char **argv);
int cli_baths(int argc, char **argv);
int cli_stock(int argc, char **argv);
int cli_stop(int argc, char **argv);
int cli_take(int argc, char **argv);
int cli_together(int argc, char **argv);
int cli_vapour(int argc, char **argv);
int cli_walk(int argc, char **argv);
int cli_waste(int argc, char **argv);
int cli_watch(int argc, char **argv);

/* Prints what a verb has to say and returns its status; 3, and nothing of a text that
 * outgrew its limit, because half an answer is none. */
int cli_show(const struct buf *out, int status);

/* `status`, or 3 when what was printed did not reach its reader: an answer that did not arrive is no
 * answer, whatever it said. */
int cli_written(int status);

#endif
