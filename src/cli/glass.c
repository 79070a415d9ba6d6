/* inward glass SUITE: are the marks on glass told apart, what does a new one look like, whose is this; and, with a
 * record, what of it was seen, counted and done. */
#include "cli/cli.h"

#include "cli/glass_impl.h"
#include "cli/write.h"
#include "glass/glass.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward glass SUITE [--choose missing|weak|anew [-o OVERLAY [--replace]]] [--json]\n"
    "       inward glass SUITE --seen \"violet square F\" --at STATION [--piece WHAT] [--json]\n"
    "       inward glass SUITE --record FILE [--when T] [--json]\n"
    "       inward glass SUITE --record FILE --who NAME ACT [--when T] [--words TEXT]\n\n"
    "The marks on the glass of a suite: are any two told apart by everybody, those who see no red, green\n"
    "or blue and a grey copy among them; whose is the beaker that stands here; and, with a record, what was\n"
    "seen where it may not stand, what lost its status, and what is missing in which drawer.\n\n"
    "  --choose W    also choose marks: for stations without a whole one or with a faulty one, the others\n"
    "                stay (missing); also for so many others that no two are told by one thing only\n"
    "                (weak); or for all (anew)\n"
    "  -o F          write what was chosen as an overlay, for --with; --replace writes over a file\n"
    "  --seen MARK   what stands on a piece: colour, shape, letter, as far as seen; or unmarked\n"
    "  --at S        the station where it stands\n"
    "  --piece WHAT  what it is, as the suite calls it: \"beaker 1 L\"\n"
    "  --with F      apply an overlay file first; several apply in the order given\n"
    "  --json        everything for programs (docs/api.md)\n\n"
    "With --record F, an ACT that is written down, with --who NAME who says so:\n"
    "  --seen MARK --at S [--piece WHAT] [--count N]   it stood there\n"
    "  --cleaned 14 --by \"GL-3\" [--count N]   what entry 14 saw was cleaned, by that procedure\n"
    "  --discarded 14 [--count N]             it is no more\n"
    "  --counted 5 --piece WHAT --at S [--drawer D]   so many are in the drawer\n"
    "  --take-back 14   entry 14 was told wrongly: it does not count\n"
    "  --when T      when it was so; without an ACT: the list of that moment\n\n"
    "On paper: inward print marks SUITE\n"
    "Exit: 0 told apart, the piece may be there, or it is written down; 1 not, or not known; 2 bad input;\n"
    "3 could not.\n"
    "example: inward glass examples/quillmere/suite.yaml --seen \"violet square\" --at S1\n";

static enum err_code take_value(void *arg, const char *option, const char *value, struct err *err)
{
  struct glass_request *r = arg;
  const struct {
    const char *option, **to;
  } texts[] = {{"--choose", &r->choose},       {"-o", &r->to},
               {"--seen", &r->seen},           {"--at", &r->at},
               {"--piece", &r->piece},         {"--count", &r->count},
               {"--record", &r->record},       {"--who", &r->who},
               {"--when", &r->when},           {"--words", &r->words},
               {"--cleaned", &r->cleaned},     {"--by", &r->by},
               {"--discarded", &r->discarded}, {"--counted", &r->counted},
               {"--drawer", &r->drawer},       {"--take-back", &r->take_back}};

  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
    if (strcmp(option, texts[i].option) == 0) {
      if (*texts[i].to)
        return err_set(err, ERR_USAGE, "%s once", option);
      *texts[i].to = value;
      return ERR_OK;
    }
  return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
}

static bool take_flag(void *arg, const char *word)
{
  struct glass_request *r = arg;
  const struct {
    const char *option;
    bool *to;
  } flags[] = {
      {"--json", &r->json}, {"--replace", &r->replace}, {"--help", &r->help}, {"-h", &r->help}};

  for (size_t i = 0; i < sizeof flags / sizeof *flags; i++)
    if (strcmp(word, flags[i].option) == 0) {
      *flags[i].to = true;
      return true;
    }
  return false;
}

static enum err_code take_word(void *arg, const char *word, struct err *err)
{
  struct glass_request *r = arg;

  if (r->suite)
    return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", word);
  r->suite = word;
  return ERR_OK;
}

static const char *const choices[] = {
    [GLASS_KEEP] = "missing", [GLASS_WEAK] = "weak", [GLASS_ANEW] = "anew"};

/* NULL: only look; -1: no such word. */
static int choice_named(const char *word)
{
  for (int i = GLASS_KEEP; word && i <= GLASS_ANEW; i++)
    if (strcmp(word, choices[i]) == 0)
      return i;
  return word ? -1 : GLASS_LOOK;
}

static enum err_code check_told(const struct glass_request *r, struct err *err)
{
  int acts = (r->seen != NULL) + (r->cleaned != NULL) + (r->discarded != NULL) +
             (r->counted != NULL) + (r->take_back != NULL);

  if (r->choose)
    return err_set(err, ERR_USAGE,
                   "--choose looks at the suite, --record at what was told; ask one at a time");
  if (acts > 1)
    return err_set(err, ERR_USAGE, "one act at a time");
  if (acts == 1 && !r->who)
    return err_set(err, ERR_USAGE, "who says so? --who \"M. Rao\"");
  if (acts == 0 && (r->who || r->at || r->piece || r->count || r->by || r->drawer || r->words))
    return err_set(
        err, ERR_USAGE,
        "what was seen or done? --seen, --cleaned, --discarded, --counted or --take-back");
  return ERR_OK;
}

static enum err_code check(const struct glass_request *r, struct err *err)
{
  if (!r->suite)
    return err_set(err, ERR_USAGE, "which suite?");
  if (choice_named(r->choose) < 0)
    return err_set(err, ERR_USAGE, "--choose is missing, weak or anew, not '%.40s'", r->choose);
  if (r->to && !r->choose)
    return err_set(err, ERR_USAGE, "-o writes what --choose chose; give --choose, too");
  if (r->record)
    return check_told(r, err);
  if (r->who || r->when || r->words || r->cleaned || r->by || r->discarded || r->counted ||
      r->drawer || r->take_back || r->count)
    return err_set(err, ERR_USAGE, "in which record? --record FILE");
  if (!r->seen != !r->at || (r->piece && !r->seen))
    return err_set(err, ERR_USAGE,
                   "--seen says which mark and --at at which station: both together");
  if (r->seen && r->choose)
    return err_set(err, ERR_USAGE, "--seen and --choose are two questions; ask one at a time");
  return ERR_OK;
}

static int show_seen(const struct facility *f, const struct glass_request *r, struct arena *arena,
                     struct buf *out, struct err *err)
{
  int at = facility_station_find(f, r->at);
  struct facility_mark mark;
  struct glass_seen *seen;

  if (at < 0)
    return err_exit_status(
        err_set(err, ERR_INPUT, "--at: the suite has no station '%.40s'", r->at));
  if (glass_read_mark(r->seen, arena, &mark, err) != ERR_OK)
    return 2;
  seen = glass_seen_at(f, &mark, r->piece, at, arena);
  if (!seen)
    return err_exit_status(err_set(err, ERR_LIMIT, "too little memory"));
  if (r->json)
    glass_seen_json(seen, out);
  else
    glass_seen_text(seen, out);
  return cli_show(out, glass_is_lost(seen->verdict) ? 1 : 0);
}

static enum err_code write_overlay(const struct glass_answer *answer, const struct glass_request *r,
                                   struct err *err)
{
  struct buf text;
  enum err_code code = ERR_OK;

  buf_init(&text, 1 << 20);
  glass_overlay(answer, &text);
  if (text.used)
    code = cli_write_file(r->to, text.text, text.used, r->replace, err);
  else
    fprintf(stderr, "inward glass: no mark changes, so %s was not written\n", r->to);
  buf_release(&text);
  return code;
}

static int show_marks(const struct facility *f, const struct glass_request *r, struct arena *arena,
                      struct buf *out, struct err *err)
{
  enum glass_choice choice = (enum glass_choice)choice_named(r->choose);
  struct glass_answer *answer = glass_look(f, choice, arena);

  if (!answer)
    return err_exit_status(err_set(err, ERR_LIMIT, "too many stations to compare in pairs"));
  if (r->json)
    glass_json(answer, out);
  else
    glass_text(answer, out);
  if (r->to && write_overlay(answer, r, err) != ERR_OK)
    return err_exit_status(err->code);
  return cli_show(out, answer->alike_count || answer->fault_count || !answer->found_all ? 1 : 0);
}

int cli_glass(int argc, char **argv)
{
  static const struct cli_words words = {take_flag, take_value, take_word};
  struct glass_request r = {0};
  struct err err = {0};
  struct arena arena;
  struct buf out;
  int status = 0;

  if (cli_read_words(argc, argv, &words, &r, &err) == ERR_OK && r.help) {
    fputs(help, stdout);
    return 0;
  }
  if (err.code != ERR_OK || check(&r, &err) != ERR_OK) {
    fprintf(stderr, "inward glass: %s; 'inward glass --help' explains\n", err.text);
    return 2;
  }

  struct facility *f = cli_load(r.suite, r.overlays, r.overlay_count, &err);

  if (!f) {
    if (err.text[0])
      fprintf(stderr, "inward glass: %s\n", err.text);
    return err.code ? err_exit_status(err.code) : 2;
  }
  arena_init(&arena, (size_t)256 << 20);
  buf_init(&out, 64 << 20);
  if (r.record)
    status = cli_glass_told(f, &r, &err);
  else
    status = r.seen ? show_seen(f, &r, &arena, &out, &err) : show_marks(f, &r, &arena, &out, &err);
  if (err.text[0])
    fprintf(stderr, "inward glass: %s\n", err.text);
  buf_release(&out);
  arena_release(&arena);
  facility_free(f);
  return status;
}
