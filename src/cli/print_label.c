/* inward print label: of a bath that `inward bath` can make. */
#include "cli/bath_impl.h"
#include "cli/cli.h"
#include "cli/print_impl.h"
#include "cli/write.h"
#include "cli/zone.h"

#include "base/emit.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward print label [SUITE] NAME --volume 4L [options]\n"
    "       inward print label [SUITE] --of SUBSTANCE --to 5wt% --from BOTTLE --volume 2L [options]\n"
    "       inward print label SUITE --waste W-3 --record FILE [options]\n\n"
    "The label of a bath: its name, its substances in full, what they are shares of, hazard pictograms,\n"
    "cautions, and a code of its name and date. The bath is asked for as in 'inward bath --help'; what\n"
    "gets no amounts there gets no label.\n\n"
    "With --waste the label of a waste container: all that it ever held by what was told, in full.\n\n"
    "  --made-on D   the day, as 2026-11-29; without it a line for the pen\n"
    "  --made-by W   who; without it a line for the pen\n"
    "  --size S      A5 (the default), A4 or letter\n"
    "  --svg         as SVG, for another program; so does a file ending in .svg\n"
    "  -o F          write to F; without it label.pdf, here\n"
    "  --replace     write over a file that is there already\n"
    "  --json        say what was written for programs\n\n"
    "Exit: 0 written; 1 refused, as 'inward bath' says; 2 bad input; 3 could not.\n"
    "example: inward print label examples/quillmere/suite.yaml sc-1 --volume 7L -o label.pdf\n";

struct request {
  struct cli_bath asked;
  struct papers_label label;
  const char *file;
  enum draw_size size;
  enum draw_format format;
  bool replace, json, help;
  const char *waste, *record; /* of a waste container; NULL: of a bath */
};

static bool take_flag(void *arg, const char *word)
{
  struct request *r = arg;

  if (strcmp(word, "--svg") == 0) {
    r->format = DRAW_SVG;
    return true;
  }

  bool *flag = strcmp(word, "--json") == 0                              ? &r->json
               : strcmp(word, "--replace") == 0                         ? &r->replace
               : strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0 ? &r->help
                                                                        : NULL;

  if (flag)
    *flag = true;
  return flag != NULL;
}

static enum err_code take_size(struct request *r, const char *word, struct err *err)
{
  r->size = strcmp(word, "A4") == 0 ? DRAW_A4 : strcmp(word, "letter") == 0 ? DRAW_LETTER : DRAW_A5;
  return r->size == DRAW_A5 && strcmp(word, "A5") != 0
             ? err_set(err, ERR_USAGE, "--size is A4, A5 or letter, not '%.20s'", word)
             : ERR_OK;
}

static enum err_code take_word(void *arg, const char *word, struct err *err)
{
  struct request *r = arg;

  return cli_bath_word(&r->asked, word, err);
}

static enum err_code take_value(void *arg, const char *option, const char *value, struct err *err)
{
  struct request *r = arg;

  if (strcmp(option, "-o") == 0)
    r->file = value;
  else if (strcmp(option, "--made-on") == 0)
    r->label.made_on = value;
  else if (strcmp(option, "--waste") == 0)
    r->waste = value;
  else if (strcmp(option, "--record") == 0)
    r->record = value;
  else if (strcmp(option, "--made-by") == 0)
    r->label.made_by = value;
  else if (strcmp(option, "--size") == 0)
    return take_size(r, value, err);
  else
    return cli_bath_option(&r->asked, option, value, err);
  return ERR_OK;
}

static bool ends_in(const char *text, const char *end)
{
  size_t length = strlen(text), tail = strlen(end);

  return length >= tail && strcmp(text + length - tail, end) == 0;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  static const struct cli_words words = {take_flag, take_value, take_word};
  enum err_code code = cli_read_words(argc, argv, &words, r, err);

  if (r->file && ends_in(r->file, ".svg"))
    r->format = DRAW_SVG;
  if (code != ERR_OK || r->help)
    return code;
  if (!r->waste && !r->record)
    return cli_bath_sort(&r->asked, err);
  if (!r->waste || !r->record || r->asked.word_count != 1)
    return err_set(err, ERR_USAGE, "a waste label wants SUITE --waste ID --record FILE");
  r->asked.suite = r->asked.words[0];
  return ERR_OK;
}

static void say(const struct request *r, const char *file, const struct facility *f,
                struct buf *out)
{
  struct emit json;

  if (!r->json) {
    buf_printf(out, "%s: 1 page\n", file);
    return;
  }
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.print.1");
  emit_text(&json, "suite_sha256", f ? f->sha256 : NULL);
  emit_text(&json, "file", file);
  emit_int(&json, "pages", 1);
  emit_int(&json, "faults", 0);
  emit_array(&json, "notes");
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

static int write_label(const struct request *r, const struct papers_request *papers,
                       const struct papers_waste *waste, struct err *err)
{
  const char *file = r->file ? r->file : r->format == DRAW_SVG ? "label.svg" : "label.pdf";
  struct buf bytes, out;
  int status;

  buf_init(&bytes, (size_t)64 << 20);
  buf_init(&out, 1 << 20);
  enum err_code code = r->waste ? papers_waste(papers, waste, &bytes, err)
                                : papers_label(papers, &r->label, &bytes, err);

  if (code == ERR_OK)
    code = cli_write_file(file, bytes.text, bytes.used, r->replace, err);
  complaints_print(&papers->report->unprintable, "label", NULL, &out);
  fputs(out.text, stderr);
  buf_clear(&out);
  status = err_exit_status(code);
  if (code == ERR_OK) {
    say(r, file, papers->facility, &out);
    status = cli_show(&out, 0);
  }
  buf_release(&out);
  buf_release(&bytes);
  return status;
}

static int make(struct request *r, struct err *err)
{
  struct arena arena;
  int status;

  arena_init(&arena, (size_t)256 << 20);

  const struct facility *f = r->asked.facility;
  const struct bath_place place = {.chem = chem_read(&arena), .facility = f, .own = r->asked.own};
  const struct bath_answer *answer = bath_answer(&place, &r->asked.bath, &arena, err);
  struct papers_report *report = ARENA_NEW(&arena, struct papers_report);
  const struct papers_request papers = {
      .facility = f, .size = r->size, .format = r->format, .report = report};

  BUG_IF(!report);
  report->arena = &arena;
  r->label.answer = answer;
  if (!answer) {
    status = err_exit_status(err->code);
  } else if (answer->state != BATH_MADE) {
    fprintf(stderr, "inward print: no label. %s Ask: %s.\n", answer->first, answer->asked);
    status = 1;
  } else {
    status = write_label(r, &papers, NULL, err);
  }
  arena_release(&arena);
  return status;
}

/* ---- of a waste container ---- */

static int waste_of(const struct request *r, const struct papers_request *papers,
                    struct record *record, struct wet_place *place, struct err *err)
{
  struct wet_past *told;

  if (record_of(record, place->facility, err) != ERR_OK ||
      wet_recorded(record, place->now_ms, papers->report->arena, &told, err) != ERR_OK)
    return err_exit_status(err->code);

  const struct papers_waste waste = {
      place, wet_container_find(wet_waste(place, told, papers->report->arena), r->waste)};

  if (!waste.container) {
    fprintf(stderr, "inward print: no label: no container %.40s stands by what was told\n",
            r->waste);
    return 1;
  }
  return write_label(r, papers, &waste, err);
}

static int make_waste(struct request *r, struct err *err)
{
  struct arena arena;
  const struct when_zone *zone;
  struct record *record = NULL;
  int status;

  arena_init(&arena, (size_t)256 << 20);

  struct papers_report *report = ARENA_NEW(&arena, struct papers_report);
  const struct papers_request papers = {
      .facility = r->asked.facility, .size = r->size, .format = r->format, .report = report};

  BUG_IF(!report);
  report->arena = &arena;
  if (cli_zone(r->asked.facility, &arena, &zone, err) != ERR_OK ||
      record_open(r->record, RECORD_READ, &record, err) != ERR_OK) {
    status = err_exit_status(err->code);
  } else {
    struct wet_place place = wet_place_of(r->asked.facility, r->asked.own, zone, &arena);

    place.now_ms = cli_now_ms();
    status = waste_of(r, &papers, record, &place, err);
  }
  record_close(record);
  arena_release(&arena);
  return status;
}

int cli_print_label(int argc, char **argv)
{
  struct request r = {.size = DRAW_A5};
  struct err err = {0};
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward print: %s; 'inward print label --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  status = cli_bath_load(&r.asked, &err) ? (r.waste ? make_waste : make)(&r, &err)
           : err.code                    ? err_exit_status(err.code)
                                         : 2;
  if (err.text[0])
    fprintf(stderr, "inward print: %s\n", err.text);
  cli_bath_free(&r.asked);
  return status;
}
