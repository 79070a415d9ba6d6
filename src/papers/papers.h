#ifndef PAPERS_PAPERS_H
#define PAPERS_PAPERS_H

#include "after/after.h"
#include "bath/bath.h"
#include "draw/draw.h"
#include "facility/facility.h"
#include "incident/incident.h"
#include "lists/lists.h"
#include "may/may.h"
#include "stop/stop.h"
#include "together/together.h"
#include "units/units.h"
#include "walk/walk.h"
#include "wet/wet.h"

/*
 * What goes on a wall: pages about a suite, as the bytes of a PDF or an SVG.
 *
 *     struct papers_report report = {.arena = &arena};
 *     struct papers_request request = {.facility = f, .size = DRAW_A5, .report = &report};
 *     if (papers_cards(&request, stations, count, &bytes, &err) != ERR_OK)
 *       complaints_print(&report.unprintable, ...);
 *
 * A card is read at half a metre in ten seconds by someone in gloves: what is forbidden first and
 * largest, then the mark of the glass, the sash, the alarm, and last what is read in quiet.  What the
 * suite does not say stands on the card as "not stated: ask ...", and in the report; it is never left
 * out as if all were fine.  A mark given to two stations is a fault, on the page and in the report.
 *
 * Nothing on a page comes from a clock: what a card is worth is told by the hash of the suite on it.
 */
struct papers_note {
  const char *station; /* its id */
  const char *text;    /* "glass mark: not stated" */
  bool fault;          /* wrong, and not only missing */
};

enum { PAPERS_NOTES_MAX = 1000 };

/* What is on the pages that its owner should know.  Zero it, but for `arena`. */
struct papers_report {
  struct arena *arena;
  struct complaints unprintable; /* what kept the file from being written */
  int page_count, fault_count, note_count;
  struct papers_note notes[PAPERS_NOTES_MAX];
};

struct papers_request {
  const struct facility *facility;
  enum draw_size size;
  enum draw_format format;
  enum units_system units;
  const char *date; /* printed, and in the file's properties; NULL: none */
  struct papers_report *report;
};

/*
 * One card a station, each on a page of its own, going on to more pages when it must.  ERR_INPUT
 * when a text cannot be printed or an SVG would need a second page; `out` is then as it was.
 */
NODISCARD enum err_code papers_cards(const struct papers_request *request, const int *stations,
                                     int count, struct buf *out, struct err *err);
/* The marks of all stations' glass, with what is missing or given twice, and their sash marks. */
NODISCARD enum err_code papers_marks(const struct papers_request *request, struct buf *out,
                                     struct err *err);

/* The walk test as a form to write on; with a result (else NULL) as the sheet of what was found. */
NODISCARD enum err_code papers_walk(const struct papers_request *request,
                                    const struct walk_plan *plan, const struct walk_result *result,
                                    struct buf *out, struct err *err);
/* The notice of a planned stop, for a door. */
NODISCARD enum err_code papers_stop(const struct papers_request *request,
                                    const struct stop_notice *notice, struct buf *out,
                                    struct err *err);

/* What happens next: each keep over time, and the words. */
NODISCARD enum err_code papers_after(const struct papers_request *request,
                                     const struct after_answer *answer, struct buf *out,
                                     struct err *err);

/* Who may work together, for a wall; and a card for each part that can be lost, a page each. */
struct papers_together {
  const struct together_answer *answer; /* with the parts lost in turn */
  const struct together_lost *lost;     /* one card; NULL: all of them */
  const char *expires;                  /* a date; NULL: a line for the pen */
};
NODISCARD enum err_code papers_together(const struct papers_request *request,
                                        const struct papers_together *sheet, struct buf *out,
                                        struct err *err);
NODISCARD enum err_code papers_failure(const struct papers_request *request,
                                       const struct papers_together *sheet, struct buf *out,
                                       struct err *err);

/* A leave list, responder sheet, restart list or handover.  The first two are set smaller until they
 * stand on one page, down to a size that can still be read. */
NODISCARD enum err_code papers_list(const struct papers_request *request,
                                    const struct lists_page *page, struct buf *out,
                                    struct err *err);
/* What was told of an incident and measured around it; of an exposure one page for the doctor, with
 * lines to write on where nothing was said. */
NODISCARD enum err_code papers_incident(const struct papers_request *request,
                                        const struct incident_sheet *incident, struct buf *out,
                                        struct err *err);

/* The sign at a station where something runs or cools with nobody there. */
struct run_list;
struct run;
NODISCARD enum err_code papers_run(const struct papers_request *request,
                                   const struct run_list *list, const struct run *run,
                                   struct buf *out, struct err *err);

/* The label of a waste container: all it ever held in full, since when, pictograms, cautions, a code of its name. */
struct papers_waste {
  const struct wet_place *place;
  const struct wet_container *container;
};
NODISCARD enum err_code papers_waste(const struct papers_request *request,
                                     const struct papers_waste *what, struct buf *out,
                                     struct err *err);

/* The label of a bath: names in full, composition, pictograms, cautions, a code of its name and date.
 * request->facility may be NULL here. */
struct papers_label {
  const struct bath_answer *answer; /* one that was made */
  const char *made_on, *made_by;    /* NULL: lines for the pen */
};
NODISCARD enum err_code papers_label(const struct papers_request *request,
                                     const struct papers_label *what, struct buf *out,
                                     struct err *err);

/* What `inward may` says, for who asked and who decides: one page, set smaller and then with fewer
 * reasons until it is.  asked_on: "Tue 2026-12-01 18:30"; NULL for a new process. */
NODISCARD enum err_code papers_letter(const struct papers_request *request,
                                      const struct may_answer *answer, const char *asked_on,
                                      struct buf *out, struct err *err);

/*
 * For any page about a suite: a document with its name, label, hash and cautions; finished pages go
 * to `out` through papers_close, which frees it.
 */
struct draw *papers_open(const struct papers_request *request, const char *title, struct err *err);
NODISCARD enum err_code papers_close(const struct papers_request *request, struct draw *draw,
                                     struct buf *out, struct err *err);

#endif
