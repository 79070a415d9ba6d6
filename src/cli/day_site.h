#ifndef CLI_DAY_SITE_H
#define CLI_DAY_SITE_H

#include "base/query.h"
#include "cli/day_rules.h"
#include "cli/read.h"
#include "day/day.h"

/*
 * A suite with its bookings and its record, asked for a day: by `inward day`, and by the board, which so
 * answers the same bytes.  Files are read anew for each answer.  One thread at a time.
 */
enum { CLI_DAY_FILES_MOST = 64 };

struct cli_day_site {
  const struct facility *facility;
  const char *suite;                     /* its path */
  const char *record;                    /* NULL: none */
  bool may_lack_record;                  /* a board's may not be begun yet */
  const char *given[CLI_DAY_FILES_MOST]; /* --bookings: files and folders */
  int given_count;
  const char *columns, *pattern; /* of tables */
  struct feeds *feeds;           /* NULL: the suite names none */
  const struct when_zone *zone;
  int64_t (*now_ms)(
      const void *arg); /* the board's clock, which may be a replay's; NULL: this machine's */
  const void *now_arg;
  struct day_air *air;
  struct arena arena;
};
/* Reads the feeds file, which may name the folder.  ERR_INPUT with an empty err: its faults are printed.
 * Close in every case. */
NODISCARD enum err_code cli_day_open(struct cli_day_site *site, struct err *err);
void cli_day_close(struct cli_day_site *site);

struct cli_day_asked {
  const char *date; /* "2026-12-01"; NULL: today */
  const char *move; /* "id=10:30"; NULL: none */
  bool names;
  bool weeks; /* only what weeks are drawn from: bookings and habits, of the whole week */
};
/* Only the bookings that overlap a span, from the files of the site, which needs no cli_day_open for it: facility,
 * suite, feeds and zone.  Their texts live in `arena`; what one file says too little of is left out. */
NODISCARD enum err_code cli_day_bookings(const struct cli_day_site *site, int64_t from_ms,
                                         int64_t to_ms, struct arena *arena,
                                         struct day_bookings *out, struct err *err);
NODISCARD enum err_code cli_day_bookings_of(void *arg, int64_t from_ms, int64_t to_ms,
                                            struct arena *arena, struct day_bookings *out,
                                            struct err *err); /* for struct serve_day */
/* Whether anything says where bookings stand. */
bool cli_day_has_bookings(const struct cli_day_site *site);

/* When sashes were up in that span, as the record of the site has it. */
NODISCARD enum err_code cli_day_uses(const struct cli_day_site *site, int64_t from_ms,
                                     int64_t to_ms, struct arena *arena, struct day_uses *uses,
                                     struct err *err);

/* All that an answer is made of; lives in `arena`, which must not run out. */
struct cli_day {
  struct arena arena;
  struct day_bookings bookings;
  struct day_said said;
  struct day_habits habits;
  struct cli_day_rules rules;
  struct day_request request;
  struct day_answer *answer; /* NULL where only weeks were asked for */
  int64_t monday_ms;         /* of the week of that date */
  struct buf faults;         /* with their lines, for a terminal */
};
/* ERR_INPUT, ERR_IO, ERR_LIMIT.  Release in every case. */
NODISCARD enum err_code cli_day_ask(struct cli_day_site *site, const struct cli_day_asked *asked,
                                    struct cli_day *out, struct err *err);
void cli_day_release(struct cli_day *day);

/* For struct serve_day, `arg` a site: date, move.  Names never go to a board. */
NODISCARD enum err_code cli_day_answer(void *arg, const struct query *query, struct buf *out,
                                       struct err *err);

#endif
