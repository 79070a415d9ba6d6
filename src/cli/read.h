#ifndef CLI_READ_H
#define CLI_READ_H

#include "facility/chemicals.h"
#include "facility/feeds.h"
#include "facility/processes.h"
#include "facility/roster.h"
#include "facility/rules.h"

/*
 * Files for the verbs: the only place of the command line that opens one.
 */
enum { CLI_OVERLAYS_MAX = 8, CLI_FILE_MAX = 9 << 20 };

/* Reads a regular file of at most `limit` bytes.  ERR_INPUT when the path is
 * wrong (nothing there, a folder, too large), ERR_IO when the system refuses.
 * The bytes end in a NUL that `size` does not count. */
NODISCARD enum err_code cli_read_file(const char *path, size_t limit, struct facility_text *out,
                                      struct err *err);
void cli_free_file(struct facility_text *text); /* never read: fine */
bool cli_was_read(const char *path);            /* by this run, under whatever name */

/* One more --with FILE; ERR_USAGE when there are CLI_OVERLAYS_MAX already. */
NODISCARD enum err_code cli_take_overlay(const char **overlays, int *count, const char *file,
                                         struct err *err);

/* What a verb makes of its words: flags alone, options with a value, and what stands by itself. */
struct cli_words {
  bool (*flag)(void *arg, const char *word); /* false: it is none */
  enum err_code (*option)(void *arg, const char *option, const char *value, struct err *err);
  enum err_code (*word)(void *arg, const char *word, struct err *err);
};
NODISCARD enum err_code cli_read_words(int argc, char **argv, const struct cli_words *words,
                                       void *arg, struct err *err);

/* The value of an option that takes a whole number from 0 to most; ERR_USAGE. */
NODISCARD enum err_code cli_take_number(const char *option, const char *value, int most, int *out,
                                        struct err *err);

/* One suite with its overlays, read; what was said about it, and its bytes. */
struct cli_reading {
  struct facility_text texts[1 + CLI_OVERLAYS_MAX];
  int text_count;
  struct arena arena;
  struct complaints complaints;
  struct facility *facility; /* NULL after complaints; the caller's to take by setting it NULL */
  /* After cli_reading_feeds and cli_reading_chemicals: */
  struct facility_text feeds_text, chemicals_text;
  struct feeds *feeds;         /* NULL after complaints, or when the suite names no feeds file */
  struct chemicals *chemicals; /* the same */
  /* After cli_reading_people: its people, processes and rules files; the same. */
  struct facility_text people_text, processes_text, rules_text;
  struct roster *roster;
  struct processes *processes;
  struct rules *rules;
};

/* Fails only when a file cannot be read; look at reading->facility.  Release in every case. */
NODISCARD enum err_code cli_reading_read(struct cli_reading *reading, const char *suite,
                                         const char *const *overlays, int overlay_count,
                                         struct err *err);
/* Reads the feeds file that the suite names, which stands beside it, and looks for the zones of its
 * sources.  Fails only when the file cannot be read; a suite without one is fine. */
NODISCARD enum err_code cli_reading_feeds(struct cli_reading *reading, struct err *err);
/* The same for its chemicals file, whose names are looked up in the tables of src/chem. */
NODISCARD enum err_code cli_reading_chemicals(struct cli_reading *reading, struct err *err);
/* The same for its people file (without its tables), its processes and its rules file. */
NODISCARD enum err_code cli_reading_people(struct cli_reading *reading, struct err *err);
void cli_reading_release(struct cli_reading *reading);
/* Every complaint, with the line it is about, file by file. */
void cli_reading_print(const struct cli_reading *reading, struct buf *out);

/*
 * What most verbs want: the facility, or NULL after the complaints were printed
 * on stderr.  When a file could not be read err says so, and nothing is printed.
 */
struct facility *cli_load(const char *suite, const char *const *overlays, int overlay_count,
                          struct err *err);

/*
 * The same for the feeds file of a suite that was loaded; free it before the facility.  ERR_INPUT when
 * the suite names none.
 */
struct feeds *cli_load_feeds(const struct facility *facility, const char *suite, struct err *err);
/* The chemicals file of a suite that was loaded: ERR_OK with NULL where it names none; ERR_INPUT after
 * its faults were printed on stderr. */
NODISCARD enum err_code cli_load_chemicals(const struct facility *facility, const char *suite,
                                           struct chemicals **out, struct err *err);
/* The same for a list of who leaves or comes, which is not refused for it: NULL where there is none, or after
 * stderr said that what stands in tanks is not listed. */
struct chemicals *cli_lists_chemicals(const struct facility *facility, const char *suite);
/* Its processes, for which bath is of which family: NULL where there are none, or after stderr said so. */
struct processes *cli_lists_processes(const struct facility *facility, const char *suite);
/* A file beside another, as that names it: "dir/feeds.yaml" for "dir/suite.yaml". */
const char *cli_beside(const char *path, const char *name, struct arena *arena);

#endif
