#include "papers/papers_impl.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const char cautions[] = "Shared air only. Your station's own alarm decides.\n"
                               "Local rules and the safety officer decide.";

/* ---- words ---- */

const char *papers_words(const struct papers_request *request, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *text = arena_vprintf(request->report->arena, fmt, args);

  va_end(args);
  BUG_IF(!text);
  return text;
}

void papers_note(const struct papers_request *request, int station, bool fault, const char *fmt,
                 ...)
{
  struct papers_report *report = request->report;
  va_list args;

  report->fault_count += fault;
  if (report->note_count == PAPERS_NOTES_MAX)
    return;
  va_start(args, fmt);
  const char *text = arena_vprintf(report->arena, fmt, args);

  va_end(args);
  BUG_IF(!text);
  report->notes[report->note_count++] =
      (struct papers_note){request->facility->stations[station].part.id, text, fault};
}

const char *papers_from(const struct papers_request *request, int station, const char *key)
{
  return papers_words(request, "station %s, %s", request->facility->stations[station].part.id, key);
}

const char *papers_whom(const struct papers_request *request, int station)
{
  const char *own = request->facility->stations[station].card.call;

  return own                       ? own
         : request->facility->call ? request->facility->call
                                   : "whoever looks after the stations";
}

struct height_style {
  const char *step; /* the last word is the unit */
  int decimals;     /* at least */
};

/* 7 digits at most, and no fewer decimals than a tape shows: 0.40 m; the unit stays on the line. */
static void put_padded(struct buf *out, const char *printed, int decimals)
{
  static const char no_break[] = "\u00A0";
  size_t number = strcspn(printed, " ");
  const char *point = memchr(printed, '.', number);
  int there = point ? (int)(printed + number - point) - 1 : 0;

  buf_add(out, printed, number);
  if (!point && decimals > 0)
    buf_putc(out, '.');
  for (; there < decimals; there++)
    buf_putc(out, '0');
  buf_printf(out, "%s%s", no_break, printed + number + 1);
}

/* In steps of 1 mm or a tenth of an inch, never up: a mark read too high is a mark passed. */
static void print_height(struct buf *out, double height_m, enum units_system units)
{
  static const struct height_style styles[] = {
      [UNITS_SYSTEM_SI] = {"0.001 m", 2}, [UNITS_SYSTEM_US] = {"0.1 in", 1}};
  const struct height_style *style = &styles[units];
  struct units_quantity step;
  struct buf printed;

  BUG_IF(units_parse(style->step, UNITS_LENGTH, UNITS_NOTHING, &step, NULL) != ERR_OK);
  buf_init(&printed, 60);
  units_print_in(&printed, floor(height_m / step.si + 1e-6) * step.si, UNITS_LENGTH,
                 strchr(style->step, ' ') + 1);
  put_padded(out, printed.text, style->decimals);
  buf_release(&printed);
}

const char *papers_height(const struct papers_request *request, double height_m)
{
  struct buf text;

  buf_init(&text, 100);
  print_height(&text, height_m, request->units);
  if (request->units == UNITS_SYSTEM_US) { /* a mark is painted by one measure: both are said */
    buf_puts(&text, " (");
    print_height(&text, height_m, UNITS_SYSTEM_SI);
    buf_puts(&text, ")");
  }
  const char *words = papers_words(request, "%s", text.text);

  buf_release(&text);
  return words;
}

/* ---- documents ---- */

struct draw *papers_open(const struct papers_request *request, const char *title, struct err *err)
{
  enum { HASH_SHOWN = 16 };
  struct papers_report *report = request->report;
  const struct facility *f = request->facility;
  struct draw_setup setup = {
      .size = request->size,
      .title = papers_words(request, "%s, %s%s%s", title, f->name, f->label ? ", " : "",
                            f->label ? f->label : ""),
      .head = f->name,
      .label = f->label,
      .foot = cautions,
      .revision = papers_words(request, "Inward · suite %.*s", HASH_SHOWN, f->sha256),
      .date = request->date,
  };

  report->page_count = report->fault_count = report->note_count = 0;
  complaints_init(&report->unprintable, report->arena);
  return draw_new(&setup, &report->unprintable, err);
}

enum err_code papers_close(const struct papers_request *request, struct draw *draw, struct buf *out,
                           struct err *err)
{
  enum err_code code = draw_finish(draw, request->format, out, err);

  request->report->page_count = draw_page_count(draw);
  draw_free(draw);
  return code;
}
