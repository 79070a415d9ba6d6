/* inward past --help: the acts on one screen; with an act, all that is said of its kind. */
#include "cli/past_impl.h"

#include <stdio.h>
#include <string.h>

static const char first_screen[] =
    "usage: inward past SUITE --record FILE ACT [OPTION VALUE]...\n\n"
    "The record of a suite: what was measured, what happened, who did what. One act at a time;\n"
    "'inward past ACT --help' tells its options: inward past --night --help\n\n"
    "  measured      --timeline ID   --plot ID[,ID]\n"
    "  why           --why T   --replay   --night [DATE]   --alarms   --matches\n"
    "  written down  --entries   --sheet N (of an incident)\n"
    "  lists         --leave   --responder   --restart   --handover PART\n"
    "  adds          --note, --acknowledge, --withdraw, --release, --round, --incident TEXT\n"
    "  a finding     --confirm, --refute TEXT\n"
    "  a stop        --stopped CAUSE   --reentry TEXT   --restarted TEXT\n"
    "  the file      --verify   --backup FILE\n\n"
    "  --with OVERLAY   as for every verb     --json   everything for programs (docs/api.md)\n"
    "  --as-of T        as it was known then\n\n"
    "Times: \"2026-10-26 14:10\" in the suite's zone, or with an offset; for --from, --to and --as-of\n"
    "a date alone is where that day begins.\n"
    "Exit: 0 answered; 1 --verify found faults, or nothing is known; 2 bad input; 3 could not.\n"
    "example: inward past suite.yaml --record quillmere.record --withdraw \"baffle loose\" --about A3 "
    "--who \"M. Rao\"\n";

static const char measured[] =
    "  --timeline ID    what happened at a station: each of its signals in stretches, what was not\n"
    "                   known, its entries; the last 24 h of the record, or --from T --to T; --most N\n"
    "  --plot ID[,ID]   a point over the same span: least, mean, greatest and how much is known, in at\n"
    "                   most --most N rows (26), a minute to ten years; \"inward feeds\" lists points\n"
    "  --as-of T        as it was known then\n";

static const char why[] =
    "  --why T          the air state at that moment: since when, before what, which pool, what was\n"
    "                   open; which one sash would have kept it, and what nobody needed to lose\n"
    "  --replay         the air state over the last 24 h, or --from T --to T: changes, and how long in\n"
    "                   each; beside it, with --with OVERLAY, what that rule would have said, and where\n"
    "                   the two differ\n"
    "  --night [DATE]   what the night of that evening cost in air, and why (the last; 2026-10-24): which\n"
    "                   stations drew more than parked, open with nobody there or not, and what is not "
    "known\n"
    "  --alarms         which alarms help, which are noise: how many, floods, chatter, what stands, the\n"
    "                   most frequent, how fast they are acknowledged; 30 days, or --from T --to T\n"
    "  --matches        the board's own matches of the suite file with what was measured: the latest, the\n"
    "                   earlier ones, whether a figure drifts; of now, or --at T; --most N (60)\n"
    "  --as-of T        as it was known then\n";

static const char written[] =
    "  --entries        what was written down, in order of time. Narrow it: --about ID, --kind K,\n"
    "                   --from T, --to T, --as-of T (only what was written by then), --most N\n"
    "                   Kinds: event, note, acknowledged, withdrawn, released, round, incident, taken,\n"
    "                   settings, shelved, unshelved, stopped, printed, answered, confirmed, refuted,\n"
    "                   bath, waste, run, glass, match\n"
    "  --sheet N        the incident of entry N: what was told, what was measured from before it to\n"
    "                   after it, what turned; of a found beaker, for staff only, which stations were\n"
    "                   used since the last round\n";

static const char lists[] =
    "  --leave          for the last person out: what is up, open, in alarm, not known\n"
    "  --responder      for the fire service: people, ventilation, stations, what is in them\n"
    "  --restart        after a loss of power or an evacuation: station by station, who released it\n"
    "                   These three are of now, or --at T\n"
    "  --handover PART  for the ventilation technician: then (--at T, else its newest alarm) and now (or\n"
    "                   --to T), measured and computed, what speaks against what, how to see it again\n"
    "                   On paper: 'inward print --help'\n";

static const char adds[] =
    "  --note TEXT, --acknowledge TEXT, --withdraw TEXT, --release TEXT, --round TEXT,\n"
    "  --incident TEXT  adds an entry: --who NAME, --about ID, --at T (else now). It stays: a mistake\n"
    "                   is put right by another entry. Not while the board writes the same file.\n"
    "                   An incident may say what it --is (odour, spill-inside, spill-outside, exposure,\n"
    "                   near-miss, beaker, other), further --field KEY=VALUE, and which entry it\n"
    "                   --adds-to N\n";

static const char finding[] =
    "  --confirm TEXT, --refute TEXT   what looked like a fault was one, or was none: --kind \"blocked\n"
    "                   sash\", --about ID as the finding names it, --who NAME, --at T (else now).\n"
    "                   Counted for its kind\n";

static const char stop[] =
    "  --stopped CAUSE  all work stopped: power, evacuation or gas; begins a restart list. --who, --at\n"
    "  --reentry TEXT   how the source was removed; --measured TEXT what was measured; --who released.\n"
    "                   Each begins with yes, then words: \"yes, bottle shut\"; else nobody goes in\n"
    "  --restarted TEXT a station is released from the stop: what was seen there; --about ID, --who\n"
    "                   (--release gives back one that was withdrawn, and nothing else)\n";

static const char keep[] =
    "  --verify         is every entry as it was written, every roll-up what its samples give? prints\n"
    "                   the head; --head \"1412, 9f3c41d2\" compares with one that was printed before\n"
    "  --backup FILE    a copy of all of it, while the board goes on writing\n";

static const struct {
  const char *option, *text;
} of_acts[] = {
    {"--timeline", measured}, {"--plot", measured}, {"--why", why},          {"--replay", why},
    {"--night", why},         {"--alarms", why},    {"--matches", why},      {"--entries", written},
    {"--sheet", written},     {"--leave", lists},   {"--responder", lists},  {"--restart", lists},
    {"--handover", lists},    {"--note", adds},     {"--acknowledge", adds}, {"--withdraw", adds},
    {"--release", adds},      {"--round", adds},    {"--incident", adds},    {"--confirm", finding},
    {"--refute", finding},    {"--stopped", stop},  {"--reentry", stop},     {"--restarted", stop},
    {"--verify", keep},       {"--backup", keep},
};

bool past_help(int argc, char **argv)
{
  const char *text = first_screen;
  bool asked = false;

  for (int i = 0; i < argc; i++) {
    asked = asked || strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0;
    for (size_t k = 0; text == first_screen && k < sizeof of_acts / sizeof *of_acts; k++)
      if (strcmp(argv[i], of_acts[k].option) == 0)
        text = of_acts[k].text;
  }
  if (!asked)
    return false;
  if (text != first_screen)
    fputs("usage: inward past SUITE --record FILE ACT [OPTION VALUE]...\n\n", stdout);
  fputs(text, stdout);
  if (text != first_screen)
    fputs("\n'inward past --help' lists the other acts, and how times are written.\n", stdout);
  return true;
}
