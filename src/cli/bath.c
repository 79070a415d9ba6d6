/* inward bath: how a bath is made, what it holds, how hot it gets. */
#include "cli/cli.h"

#include "cli/bath_impl.h"

#include "base/utf8.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

static const char help[] =
    "usage: inward bath [SUITE] NAME --volume 4L [--station A3] [options]\n"
    "       inward bath [SUITE] --of SUBSTANCE --to 5wt% --from BOTTLE --volume 2L [options]\n"
    "       inward bath [SUITE] --part water=5 --part nh3-29=1 ... --volume 6L [options]\n"
    "       inward bath [SUITE] --of SUBSTANCE --bath 20L@8wt% --to 10wt% --from BOTTLE [options]\n"
    "       inward bath [SUITE] --list [--json]\n\n"
    "How a bath is made: volumes and masses of its parts in their order, what it then holds, how hot\n"
    "mixing may get, vessel, keeping and waste. Piranha and its kin get no amounts unless an approved\n"
    "procedure of that station, in the suite's chemicals file, names them.\n\n"
    "  NAME             a standard bath: sc-1, sc-2, dhf-50, bhf-5, koh-30, al-etch ...\n"
    "  --of S           a substance: hf, nitric acid, 7664-38-2\n"
    "  --to C           5wt% or 1mol/L; of several substances hf=8.5wt%, once for each\n"
    "  --from B         the bottle: hf-49, or a substance at its assay, hf@48wt%\n"
    "  --part P=N       parts by volume (water=5), or amounts (water=2L, koh-pellets=1kg)\n"
    "  --bath A@C       what is there already; with it --from is what is added\n"
    "  --volume, --mass how much is to be made\n"
    "  --temperature T  of parts and water; 20 degC without it\n"
    "  --vessel M       a material to look at first\n"
    "  --station ID     where; its suite is the first argument\n"
    "  --list           every bath and bottle that can be named\n"
    "  --on DATE        2026-11-29, for the review of procedures; today without it\n"
    "  --with F         apply an overlay file first\n"
    "  --us, --json     degrees Fahrenheit; everything for programs (docs/api.md)\n\n"
    "To undo a mix, give what it holds and what it was made from:\n"
    "  inward bath --to hf=8.53wt% --to nh4f=33wt% --from hf-49 --from nh4f-40 --volume 6L\n\n"
    "Exit: 0 answered; 1 refused on grounds of safety, or no recipe is held; 2 bad input; 3 could not.\n"
    "A label for the bath: inward print label SUITE NAME ... -o label.pdf\n"
    "example: inward bath --of hf --to 5wt% --from hf-49 --volume 2L\n";

struct request {
  struct cli_bath asked;
  bool json, us, help, list;
};

enum err_code cli_bath_option(struct cli_bath *b, const char *option, const char *value,
                              struct err *err)
{
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(b->overlays, &b->overlay_count, value, err);
  if (strncmp(option, "--", 2) != 0)
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return bath_take(&b->bath, option + 2, value, err);
}

enum err_code cli_bath_word(struct cli_bath *b, const char *word, struct err *err)
{
  char said[UTF8_SAID_BYTES];

  if (!utf8_fault(word) && utf8_unseen(word, said))
    return err_set(err, ERR_USAGE, "a word has a character that is not seen (%s): write it anew",
                   said);
  if (b->word_count == 2)
    return err_set(err, ERR_USAGE, "one suite and one bath at a time; what is '%.40s'?", word);
  b->words[b->word_count++] = word;
  return ERR_OK;
}

static void find_today(struct cli_bath *b)
{
  time_t now = time(NULL);
  struct tm parts;

  if (!b->bath.on && localtime_r(&now, &parts) &&
      strftime(b->today, sizeof b->today, "%Y-%m-%d", &parts) > 0)
    b->bath.on = b->today;
}

/* A single word is the bath, unless the bath is told by options or the word is a suite's file. */
enum err_code cli_bath_sort(struct cli_bath *b, struct err *err)
{
  bool wants_name = !b->bath.of && b->bath.part_count == 0 && b->bath.to_count == 0;
  bool first_is_suite =
      b->word_count == 2 || (b->word_count == 1 && (!wants_name || strstr(b->words[0], ".yaml")));

  find_today(b);
  if (first_is_suite)
    b->suite = b->words[0];
  if (b->word_count == (first_is_suite ? 2 : 1))
    return bath_take(&b->bath, "name", b->words[b->word_count - 1], err);
  return ERR_OK;
}

bool cli_bath_load(struct cli_bath *b, struct err *err)
{
  if (!b->suite)
    return true;
  b->facility = cli_load(b->suite, b->overlays, b->overlay_count, err);
  return b->facility && cli_load_chemicals(b->facility, b->suite, &b->own, err) == ERR_OK;
}

void cli_bath_free(struct cli_bath *b)
{
  chemicals_free(b->own);
  facility_free(b->facility);
}

static bool take_flag(void *arg, const char *word)
{
  struct request *r = arg;
  bool *flag = strcmp(word, "--json") == 0                              ? &r->json
               : strcmp(word, "--us") == 0                              ? &r->us
               : strcmp(word, "--list") == 0                            ? &r->list
               : strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0 ? &r->help
                                                                        : NULL;

  if (flag)
    *flag = true;
  return flag != NULL;
}

static enum err_code take_word(void *arg, const char *word, struct err *err)
{
  struct request *r = arg;

  return cli_bath_word(&r->asked, word, err);
}

static enum err_code take_option(void *arg, const char *option, const char *value, struct err *err)
{
  struct request *r = arg;

  return cli_bath_option(&r->asked, option, value, err);
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  static const struct cli_words words = {take_flag, take_option, take_word};
  enum err_code code = cli_read_words(argc, argv, &words, r, err);

  return code != ERR_OK || r->help ? code : cli_bath_sort(&r->asked, err);
}

static int show(const struct request *r, struct err *err)
{
  struct arena arena;
  struct buf out;
  int status = 2;

  arena_init(&arena, (size_t)256 << 20);
  buf_init(&out, 8 << 20);

  const struct bath_place place = {
      .chem = chem_read(&arena), .facility = r->asked.facility, .own = r->asked.own};
  const struct bath_answer *answer =
      r->list ? NULL : bath_answer(&place, &r->asked.bath, &arena, err);

  if (r->list) {
    (r->json ? bath_names_json : bath_names_text)(&place, &arena, &out);
    status = cli_show(&out, 0);
  } else if (!answer) {
    status = err_exit_status(err->code);
  } else {
    if (r->json)
      bath_json(answer, &out);
    else
      bath_text(answer, r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &out);
    status = cli_show(&out, answer->state == BATH_MADE ? 0 : 1);
  }
  buf_release(&out);
  arena_release(&arena);
  return status;
}

int cli_bath(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward bath: %s; 'inward bath --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  if (cli_bath_load(&r.asked, &err))
    status = show(&r, &err);
  else
    status = err.code ? err_exit_status(err.code) : 2;
  if (err.text[0])
    fprintf(stderr, "inward bath: %s\n", err.text);
  cli_bath_free(&r.asked);
  return status;
}
