#include "cases.h"
#include "program.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/*
 * docs/checks.md: every published figure beside ours.
 *
 *     print_checks FOLDER        the folder of the tables; asks the `inward` of the same build
 */
enum { FILE_COUNT = 3 };
static const char *const file_names[FILE_COUNT] = {"formulas.csv", "networks.csv", "chemistry.csv"};

static const struct {
  const char *word, *title, *text;
} sections[] = {
    {"published", "Published", "The figure was read in the work itself or a direct copy of it."},
    {"re-implemented", "Re-implemented",
     "The output of a public teaching re-implementation of a textbook program."},
    {"derived", "Derived",
     "A closed form, or the case recomputed apart from this program; not a published answer."},
    {"second-hand", "Second hand", "The figure was read where somebody quotes the work."},
    {"memory", "From memory", "The figure was not confirmed in the work."},
};
enum { SECTION_COUNT = sizeof sections / sizeof sections[0] };

static void put_text(const char *text)
{
  for (; *text; text++) {
    if (*text == '|')
      putchar('\\');
    putchar(*text);
  }
}

static void put_allowed(const struct published_case *row)
{
  const char *dots = strstr(row->tolerance, "..");
  double factor = strcmp(row->kind, "rel") == 0 ? 100 : 1;
  const char *unit = factor > 1 ? "%" : row->unit;
  const char *blank = *unit ? " " : "";

  if (dots)
    printf("%+g to %+g%s%s", strtod(row->tolerance, NULL) * factor, strtod(dots + 2, NULL) * factor,
           blank, unit);
  else
    printf("±%g%s%s", strtod(row->tolerance, NULL) * factor, blank, unit);
}

static void put_difference(const struct published_case *row, const struct published_result *result)
{
  double off = result->ours - result->theirs;

  /* Far below the tolerance stands rounding, which differs between compilers. */
  if (fabs(off) < fmax(1e-3 * (result->high - result->low), 1e-11 * fabs(result->theirs)))
    printf("≈ 0");
  else if (strcmp(row->kind, "rel") == 0 && result->theirs != 0)
    printf("%+.2g %%", off / fabs(result->theirs) * 100);
  else
    printf("%+.2g%s%s", off, *row->unit ? " " : "", row->unit);
}

static void put_words(const struct published_case *row, const char *ours)
{
  printf("| %s | %s | | the same | ", row->theirs, ours ? ours : "nothing");
}

static void put_figures(const struct published_case *row, const struct published_result *result)
{
  printf("| %s%s%s | %.6g | ", row->theirs, *row->unit ? " " : "", row->unit, result->ours);
  put_difference(row, result);
  printf(" | ");
  put_allowed(row);
  printf(" | ");
}

static bool put_answer(const struct published_case *row, enum published_asks asks)
{
  const json_t *answer = asks == PUBLISHED_NETWORKS ? program_air(row->what, row->inputs)
                         : asks == PUBLISHED_VERBS  ? program_verb(row->what, row->inputs)
                                                    : NULL;
  struct published_result result;

  if (asks != PUBLISHED_FORMULAS && published_is_text(row)) {
    char room[64];
    const char *ours = answer ? figure_text(answer, row->output, room, sizeof room) : NULL;

    put_words(row, ours);
    return ours && strcmp(ours, row->theirs) == 0;
  }
  if (asks != PUBLISHED_FORMULAS)
    published_run_measured(row, answer ? figure_number(answer, row->output) : (double)NAN, &result);
  else
    published_run_formula(row, &result);
  put_figures(row, &result);
  return result.agrees;
}

static bool put_row(const struct published_case *row, enum published_asks asks)
{
  printf("| %s | ", row->id);
  put_text(row->what);
  if (asks == PUBLISHED_VERBS) {
    putchar(' ');
    put_text(row->inputs);
  }
  printf(": ");
  put_text(row->output);
  putchar(' ');
  bool agrees = put_answer(row, asks);
  put_text(row->source);
  if (*row->note) {
    printf(". ");
    put_text(row->note);
  }
  printf("%s |\n", agrees ? "" : ". **NOT MET**");
  return agrees;
}

struct tally {
  int rows, met;
};

static struct tally put_section(int section, const struct published_cases *files)
{
  struct tally tally = {0, 0};

  printf("\n## %s\n\n%s\n\n", sections[section].title, sections[section].text);
  printf("| case | what | theirs | ours | difference | allowed | source |\n");
  printf("|---|---|---|---|---|---|---|\n");
  for (int f = 0; f < FILE_COUNT; f++)
    for (int i = 0; i < files[f].count; i++)
      if (strcmp(files[f].rows[i].provenance, sections[section].word) == 0) {
        tally.rows++;
        tally.met += put_row(&files[f].rows[i], files[f].asks);
      }
  printf("\n%d of %d within what is allowed.\n", tally.met, tally.rows);
  return tally;
}

static int count_word(const struct published_cases *files, const char *word)
{
  int count = 0;

  for (int f = 0; f < FILE_COUNT; f++)
    for (int i = 0; i < files[f].count; i++)
      count += strcmp(files[f].rows[i].provenance, word) == 0;
  return count;
}

/* BUILD/inward for BUILD/tests/published/print_checks; false when it is not built. */
static bool program_beside(const char *self, char *path, size_t size)
{
  const char *slash = strrchr(self, '/');

  if (!slash)
    return false;
  snprintf(path, size, "%.*s/../../inward", (int)(slash - self), self);
  return access(path, X_OK) == 0;
}

static bool read_files(const char *folder, struct published_cases files[FILE_COUNT])
{
  char path[512];

  for (int f = 0; f < FILE_COUNT; f++) {
    snprintf(path, sizeof path, "%s/%s", folder, file_names[f]);
    if (!published_read(path, &files[f]))
      return false;
  }
  return true;
}

/* The paragraph under "In short" of a page that a test compares with what it measures. */
static bool put_in_short(const char *page)
{
  FILE *file = fopen(page, "r");
  char line[1000];
  bool inside = false;
  int lines = 0;

  while (file && fgets(line, sizeof line, file))
    if (strcmp(line, "## In short\n") == 0) {
      inside = true;
    } else if (inside && line[0] != '\n') {
      fputs(line, stdout);
      lines++;
    } else if (lines > 0) {
      break;
    }
  if (file)
    fclose(file);
  return lines > 0;
}

/* What has its figures beside it in the test, or a program of others to agree with. */
static const char *const elsewhere[][3] = {
    {"BACnet/IP, encodings",
     "the examples of ANSI/ASHRAE 135, Annex F, by their numbers; where it has none the test says so",
     "tests/unit/test_bacnet.c"},
    {"BACnet/IP, exchanges", "a device by the npm package node-bacnet",
     "tests/bacnet/test_wire_bacnet.c"},
    {"Modbus, registers", "orders of the Modbus application protocol V1.1b3",
     "tests/unit/test_registers.c"},
    {"Modbus TCP, exchanges", "a server of pymodbus", "tests/wire/test_modbus.c"},
    {"MQTT", "the broker mosquitto", "tests/wire/test_mqtt.c"},
    {"local time, every zone of the machine", "Python's zoneinfo, which shares no code",
     "tests/when/compare.py"},
    {"recurrences of bookings",
     "the examples of RFC 5545 section 3.8.5.3, rule by rule, value from memory",
     "tests/published/recurrences.csv"},
    {"calendars", "RFC 5545, moments worked out by hand", "tests/unit/test_calendar.c"},
    {"spreadsheets", "files that other programs wrote, cell by cell", "tests/sheets"},
    {"the chain of entries", "Python's sqlite3 and hashlib", "tests/record/verify.py"},
    {"broker, devices and board killed", "mosquitto, pymodbus, node-bacnet, SQLite's own check",
     "tests/crash/crash_sources.py"},
    {"states of an alarm and their transitions",
     "the seven states as an implementer of VDI/VDE/NAMUR 2658 lists them; transitions of "
     "ANSI/ISA-18.2 and IEC 62682, value from memory; days made by hand",
     "tests/unit/test_alarm.c"},
    {"figures of alarms: floods, chatter, what stands",
     "ANSI/ISA-18.2, value from memory; a plain count second by second; the limit of the chattering "
     "index of Kondaveeti et al. 2013, value from memory",
     "tests/unit/test_alarm_figures.c"},
    {"what is asked at a station, a sash on its way up", "days and sequences worked out by hand",
     "tests/unit/test_errand.c"},
    {"messages by mail and webhook", "smtpd and http.server of Python, good and bad ones",
     "tests/post/check_post.py"},
    {"air state over time, dwell times", "days worked out by hand", "tests/unit/test_judge.c"},
    {"why a state turned, a span by another rule", "days worked out by hand",
     "tests/unit/test_past_judged.c"},
    {"how far apart people see two colours",
     "all 34 pairs of Sharma, Wu and Dalal 2005, Color Res. Appl. 30(1), Table 1",
     "tests/unit/test_mark.c"},
    {"ends of months and leap days of endorsements",
     "what dateutil documents, four of the cases run there", "tests/unit/test_people.c"},
    {"rules whose facts are not known", "SQLite's logic of NULL, on drawn facts",
     "tests/unit/test_rule_sqlite.c"},
    {"what happens next", "closed forms, MMWR 43(RR-13) Table S3-1 through the gas clock, CVODE",
     "tests/unit/test_after.c"},
    {"steps in time, stiff ones",
     "Robertson's reactions and van der Pol's oscillator, as Hairer and Wanner 1996, LSODE's demonstration and "
     "the Test Set for IVP Solvers have them",
     "tests/unit/test_stepper.c"},
    {"one room under control, in time", "SUNDIALS CVODE with the same laws",
     "tests/unit/test_after_cvode.c"},
    {"who may work together", "every set of small drawn suites, each solved alone and from nothing",
     "tests/unit/test_together.c"},
    {"figures fitted to readings: the least squares and their spread",
     "NIST StRD Norris and Longley; JCGM 100:2008 example H.3; truths drawn by chance",
     "tests/unit/test_match.c"},
    {"all sets of a hall on one main, side by side in lanes",
     "the general solver, each set from nothing; every path the same bits",
     "tests/unit/test_comb.c"},
    {"all sets of any network, 16 side by side in lanes",
     "the general solver, each set from nothing; every path the same bits; marks by closed forms",
     "tests/unit/test_net_sets.c"},
    {"a figure and the mean of its night in the record",
     "a normal mean with a prior: Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, eq. "
     "2.11 and 2.12",
     "tests/unit/test_nightly.c"},
    {"what a better reading leaves of a station's ±", "the suite solved anew with that ±",
     "tests/unit/test_odds.c"},
    {"derivatives of solved air, from one factorisation", "warm solves with each figure moved",
     "tests/unit/test_net_derive.c"},
    {"how likely it is met: the normal distribution",
     "Abramowitz and Stegun, tables 26.1 and 26.2 (values from memory)",
     "tests/unit/test_numeric.c"},
    {"how likely it is met: slopes, and shares of draws",
     "closed forms of Clopper and Pearson 1934; draws of real solves", "tests/unit/test_odds.c"},
    {"how often glass was seen astray",
     "limits of Garwood 1936, as SciPy's chi2.ppf computes them; closed forms",
     "tests/unit/test_sighting.c"},
    {"grades of water: resistivity against conductivity", "ASTM D1193-99, all four grades",
     "tests/unit/test_wet_bench.c"},
    {"a schedule of the day", "small days, every plan of them tried", "tests/unit/test_plan.c"},
};

static void put_elsewhere(void)
{
  printf("\n## Formats, protocols and time\n\nThe figures stand in the tests, beside the source "
         "of each.\n\n| what | against | where |\n|---|---|---|\n");
  for (size_t i = 0; i < sizeof elsewhere / sizeof *elsewhere; i++)
    printf("| %s | %s | [%s](../%s) |\n", elsewhere[i][0], elsewhere[i][1], elsewhere[i][2],
           elsewhere[i][2]);
}

/* A page that a benchmark printed, as it is. */
static bool put_page(const char *page)
{
  FILE *file = fopen(page, "r");
  char line[2000];
  int lines = 0;

  putchar('\n');
  for (; file && fgets(line, sizeof line, file); lines++)
    fputs(line, stdout);
  if (file)
    fclose(file);
  return lines > 0;
}

int main(int argc, char **argv)
{
  struct published_cases files[FILE_COUNT];
  struct tally all = {0, 0};
  char inward[512];

  if (argc < 4 || !program_beside(argv[0], inward, sizeof inward)) {
    printf(
        "usage: BUILD/tests/published/print_checks FOLDER docs/intake.md PAGES of bench, after the build\n");
    return 2;
  }
  program_use(inward, argv[1]);
  if (!read_files(argv[1], files))
    return 2;
  printf("# Checks against published figures\n\n"
         "Printed by `make docs` from the same rows that `make check` runs; ours is computed while "
         "this page is printed.\nA figure that does not agree stays here with its reason and the "
         "tolerance it needs.\n\n## Station lists\n\nHow they are read has no published figure; "
         "[ten messy ones](intake.md) are measured instead.\n");
  if (!put_in_short(argv[2]))
    return 2;
  put_elsewhere();
  for (int s = 0; s < SECTION_COUNT; s++) {
    if (count_word(files, sections[s].word) == 0)
      continue;
    struct tally tally = put_section(s, files);

    all.rows += tally.rows;
    all.met += tally.met;
  }
  program_end();
  for (int f = 0; f < FILE_COUNT; f++)
    published_release(&files[f]);
  for (int page = 3; page < argc; page++)
    if (!put_page(argv[page]))
      return 2;
  return all.rows > 0 ? 0 : 1; /* what is not met stands on the page and fails the tests */
}
