#include "facility/facility.h"

#include "check.h"
#include "suite_text.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

/*
 * One fault a row: exactly one complaint, at this place, with these words.  That
 * there is one only is half of the point: a fault must not breed others.
 */
#define HEAD "inward: 1 suite\n"
#define JOIN "leaks: {Z: {from: A, to: outdoors, area: 1 m2}}\n"
#define TWO  HEAD "rooms: {A: {}, B: {}}\n"
#define TWO_JOINED                                                                                 \
  HEAD "rooms: {A: {}, B: {}}\nleaks: {L: {from: A, to: B, area: 1 cm2, coefficient: 0.6}}\n"
#define HOODED HEAD "rooms: {A: {}}\njunctions: {J: {}}\nmains: {M: {at: J}}\n" /* line 5 follows */

#define ON_A HOODED "stations: {S: {kind: fume hood, room: A, main: M, flow: {constant: 9 m3/h}, "

static const struct fault {
  const char *text;
  int line, column;
  const char *words;
} faults[] = {
    /* the bytes */
    {"", 0, 0, "the file is empty"},
    {"\xFF\xFEi\0n\0", 0, 0, "UTF-16"},
    {HEAD "name: caf\xE9\n", 2, 10, "not UTF-8"},
    {HEAD "name: a\x01z\n", 2, 8, "control character"},
    /* YAML */
    {HEAD "name: [a, b\n", 2, 7, "missing ']'"},
    {HEAD "rooms: {Bay: {floor: 20 m2\n", 2, 14, "missing '}'"},
    {HEAD "rooms: {Bay: {floor: 20 m2} A: {}}\n", 2, 29, "put ',' between"},
    {HEAD "rooms:\n  A: {}\n   B: {}\n", 4, 4, "same number of blanks"},
    {HEAD "rooms:\n\tA: {}\n", 3, 1, "tab"},
    {HEAD "name: \"a\n", 2, 8, "check the quotes"},
    {HEAD "name: a: b\n", 2, 8, "\"quotes\""},
    {HEAD "rooms: {A: &x {}}\n" JOIN, 2, 12, "anchors (&) are not used"},
    {HEAD "rooms: {A: *x}\n" JOIN, 2, 12, "aliases (*) are not used"},
    {HEAD "rooms: {A: !!map {}}\nleaks: {L: {from: A, to: outdoors, area: 1 m2}}\n", 2, 12,
     "tags (!) are not used"},
    {"%YAML 1.2\n---\n" HEAD "rooms: {A: {}}\nleaks: {L: {from: A, to: outdoors, area: 1 m2}}\n", 1,
     1, "beginning with '%'"},
    {TWO_JOINED "---\nname: other\n", 4, 1, "a second document begins here"},
    {HEAD "rooms: {A: {}}\nleaks: {L: {from: A, to: outdoors, area: 1 m2}}\nname: x\nname: y\n", 5,
     1, "'name' stands here twice, first on line 4"},
    {HEAD "a: [[[[[[[[[[[[[1]]]]]]]]]]]]]\n", 2, 15, "nested more than 12 deep"},
    {TWO_JOINED "name: 'a\n  b'\n", 4, 8, "must end on its line"},
    {HEAD "name: x\ry\n", 2, 8, "byte 0D"},
    {TWO_JOINED "name: \"a\\0b\"\n", 4, 8, "NUL character inside a text"},
    {HEAD "? [a]\n: b\n", 2, 3, "a key must be a single word"},
    /* which file this is */
    {"just words\n", 1, 1, "'inward: 1 suite'"},
    {"name: x\ninward: 1 suite\nrooms: {A: {}}\nleaks: {L: {from: A, to: outdoors, area: 1 m2}}\n",
     1, 1, "the first line"},
    {"inward: 2 suite\nroms: {}\n", 1, 9, "this version reads '1 suite'"},
    {"inward: 1 overlay\nadd: {}\n", 1, 9, "'inward: 1 suite' is needed here"},
    {"name: x\nrooms: {}\n", 1, 1, "the first line of this file must be 'inward: 1 suite'"},
    {HEAD "name: x\n", 1, 1, "neither a room nor a junction"},
    /* keys and shapes */
    {TWO_JOINED "rroms: {}\n", 4, 1, "did you mean 'rooms'?"},
    {TWO_JOINED "zebra: 1\n", 4, 1, "keys here: inward, name"},
    {HEAD "rooms: {A: {tempreture: 21 degC}}\n" JOIN, 2, 13, "did you mean 'temperature'?"},
    {HEAD "rooms: {A: {floor: {}}}\n" JOIN, 2, 20,
     "'floor' is a map here; it must be a single value"},
    {HEAD "rooms: {A: {keeps: {over: A}}}\n" JOIN, 2, 20, "must be a list"},
    {HEAD "rooms: [A, B]\n", 2, 8, "'rooms' is a list here; it must be a map"},
    {HEAD "rooms: {A: big}\n" JOIN, 2, 12, "a map of keys is needed here"},
    {HEAD "rooms: {A: {floor: }}\n" JOIN, 2, 13, "'floor' has no value"},
    {HEAD "rooms: {A: {name: \"two\\nlines\"}}\n" JOIN, 2, 20, "keep it on one line"},
    /* texts, dates and marks */
    {ON_A "not here: solvents}}\n", 5, 87, "it must be a list"},
    {ON_A "not here: [HF, HF]}}\n", 5, 92, "stands in this list twice"},
    {ON_A "not here: [{HF: no}]}}\n", 5, 88, "an entry of 'not here' must be a single value"},
    {ON_A "not here: [\"\"]}}\n", 5, 89, "'this entry' has no value"},
    {ON_A "glass mark: {colour: gray}}}\n", 5, 98, "did you mean 'grey'?"},
    {ON_A "glass mark: {letter: AB}}}\n", 5, 98, "write at most 1 character"},
    {ON_A "wear: {what: apron}}}\n", 5, 77, "'source'"},
    {ON_A "documents: [{title: T, reviewed: 2025-02-29}]}}\n", 5, 110, "not a date"},
    {ON_A "documents: [{title: T, reviewed: 19.03.2026}]}}\n", 5, 110, "not a date"},
    {ON_A "documents: [{version: 4}]}}\n", 5, 89, "'title'"},
    /* ids and references */
    {HEAD "rooms: {9A: {}}\n", 2, 9, "cannot be the id of a room"},
    {HEAD "rooms: {Etch bay: {}}\n", 2, 9, "free text goes under 'name'"},
    {HEAD "rooms: {A1234567890123456789012345678901234: {}}\n", 2, 9, "up to 31 letters"},
    {HEAD "rooms: {outdoors: {}}\n", 2, 9, "is the outdoor air itself"},
    {TWO "doors: {A: {from: A, to: B, closed: {c: 1 m3/(s Pan), n: 0.5}, open: {area: 1 m2}}}\n", 3,
     9, "the id 'A' is that of a room already (suite.yaml:2)"},
    {TWO "leaks: {L: {from: A, to: C, area: 1 m2}}\n", 3, 26,
     "there is no room, junction or outdoors"},
    {TWO "leaks: {L: {from: A, to: outdors, area: 1 m2}}\n", 3, 26, "did you mean 'outdoors'?"},
    {TWO_JOINED "mains: {M: {at: A}}\n", 4, 17, "'A' is a room, but a junction is needed here"},
    {HOODED "stations: {S: {kind: fume hood, room: A, main: MM, flow: {constant: 1 m3/h}}}\n", 5,
     48, "there is no main 'MM'; did you mean 'M'?"},
    /* quantities */
    {HEAD "rooms: {A: {floor: 12}}\n" JOIN, 2, 20, "a unit is required"},
    {HEAD "rooms: {A: {floor: 12 m3}}\n" JOIN, 2, 23, "measures volume"},
    {HEAD "rooms: {A: {floor: 12 m22}}\n" JOIN, 2, 23, "did you mean 'm2'?"},
    {HEAD "rooms: {A: {floor: 0 m2}}\n" JOIN, 2, 20, "it must be above 0 m2"},
    {HEAD "rooms: {A: {humidity: 130 %RH}}\n" JOIN, 2, 23, "at most 100 %RH"},
    {TWO "leaks: {L: {from: A, to: B, area: -2 cm2}}\n", 3, 35, "it must be above 0 m2"},
    {TWO "leaks: {L: {from: A, to: B, flow: 3 m3/h}}\n", 3, 35, "says only half"},
    {TWO "leaks: {L: {from: A, to: B, flow: 3 m3/h at 0 Pa}}\n", 3, 35, "must be above zero"},
    {HEAD "rooms: {A: {floor: 3 m2 at 2 Pa}}\n" JOIN, 2, 25, "at"},
    {HEAD "fans: {F: {from: outdoors, to: J, count: 2.5, shut-off: 9 Pa, falls: 1 kg/m7}}\n"
          "junctions: {J: {}}\n",
     2, 42, "write a whole number from 1 to 50"},
    {HEAD "junctions: {J: {}, K: {}}\n"
          "ducts: {D: {from: J, to: K, resistance: 1 kg/m7, shut: maybe}}\n",
     3, 56, "write yes or no"},
    {HOODED "stations: {S: {kind: fume hod, room: A, main: M, flow: {constant: 1 m3/h}}}\n", 5, 22,
     "did you mean 'fume hood'?"},
    /* required keys and forms */
    {TWO "leaks: {L: {from: A, area: 1 m2}}\n", 3, 9, "'to' is missing"},
    {TWO "leaks: {L: {from: A, to: B}}\n", 3, 9, "the leak law is missing; give area and constant"},
    {TWO "leaks: {L: {from: A, to: B, area: 1 m2, c: 1 m3/(s Pan), n: 0.6}}\n", 3, 29,
     "'area' and 'c' are two ways to say the same"},
    {TWO "leaks: {L: {from: A, to: B, c: 1 m3/(s Pan)}}\n", 3, 29, "'c' needs 'n' beside it"},
    {TWO "ducts: {D: {from: A, to: B, loss: 2}}\n", 3, 29, "'loss' needs 'area' or 'diameter'"},
    {TWO "ducts: {D: {from: A, to: B, loss: 2, width: 2 m}}\n", 3, 38, "'width' needs 'height'"},
    {TWO "ducts: {D: {from: A, to: B, loss: 2, diameter: 1 m, area: 2 m2}}\n", 3, 38,
     "'diameter' and 'area' are two ways"},
    {TWO "ducts: {D: {from: A, to: B, drop: 9 Pa at 1 L/s, resistance: 2 kg/m7}}\n", 3, 50,
     "two ways to say the same"},
    {HOODED "stations: {S: {kind: fume hood, room: A, flow: {constant: 1 m3/h}}}\n", 5, 12,
     "'main' is missing: the exhaust main it is on"},
    {HOODED "stations: {S: {kind: fume hood, room: A, main: M, flow: {}}}\n", 5, 51,
     "the flow rule is missing"},
    {HEAD "rooms: {A: {}}\ncriteria: {C: {of: flow, low: 1 m3/h}}\n" JOIN, 3, 12,
     "'source' is missing"},
    /* two values at once */
    {TWO_JOINED "criteria: {C: {of: flow, low: 9 m3/h, high: 8 m3/h, source: x}}\n", 4, 31,
     "'low' must not be above 'high'"},
    {TWO_JOINED "criteria: {C: {of: flow, low: 9 m/s, source: x}}\n", 4, 33, "measures velocity"},
    {TWO_JOINED "criteria: {C: {of: flow, source: x}}\n", 4, 12, "it has no limit"},
    {TWO "leaks: {L: {from: A, to: A, area: 1 m2}}\n", 3, 26, "begins and ends at the same node"},
    {HEAD "rooms: {A: {keeps: [{over: A, at least: 5 Pa}]}}\n" JOIN, 2, 28, "kept over itself"},
    {HEAD "rooms: {A: {keeps: [{over: outdoors}]}}\n" JOIN, 2, 21, "it asks for nothing"},
    {HEAD "rooms: {A: {keeps: [{over: outdoors, at least: 9 Pa, at most: 5 Pa}]}}\n" JOIN, 2, 48,
     "'at least' must not be above 'at most'"},
    {HEAD "rooms: {A: {height: 3 m}}\n" JOIN, 2, 21, "a height needs 'floor'"},
    {HEAD "junctions: {J: {}}\nfans: {F: {from: J, to: outdoors, curve: [9 Pa at 2 L/s, 8 Pa at 1 "
          "L/s]}}\n",
     3, 58, "the flows of a curve must ascend"},
    {HEAD "junctions: {J: {}}\nfans: {F: {from: J, to: outdoors, curve: [9 Pa at 2 L/s]}}\n", 3, 42,
     "two points or more"},
    {HEAD "junctions: {J: {}}\nfans: {F: {from: J, to: outdoors, shut-off: 9 Pa, falls: 1 kg/m7, "
          "count: 2, running: 3}}\n",
     3, 86, "3 cannot run of 2"},
    {HEAD "junctions: {J: {}}\nfans: {F: {from: J, to: outdoors, shut-off: 9 Pa, falls: 1 kg/m7, "
          "holds: {pressure: -9 Pa, in: J, over: J}}}\n",
     3, 96, "the same node"},
    {HOODED "stations: {S: {kind: fume hood, room: A, main: M, flow: {constant: 1 m3/h}, opening: "
            "{parked: 0.5 m, work: 0.4 m}}}\n",
     5, 95, "'parked' must be below 'work'"},
    {HOODED "stations: {S: {kind: fume hood, room: A, main: M, flow: {constant: 1 m3/h}, opening: "
            "{work: 0.4 m, most: 0.3 m}}}\n",
     5, 93, "'work' must not be above 'most'"},
    {HOODED
     "stations: {S: {kind: fume hood, room: A, main: M, opening: {work: 1 m}, flow: {follows "
     "opening: {velocity: 0.5 m/s, most: 900 m3/h}}}}\n",
     5, 12, "needs 'width'"},
    {HEAD "rooms: {A: {}}\nsupplies: {MU: {feeds: {A: {holds: {pressure: 9 Pa, over: A}}}}}\n", 3,
     59, "held over itself"},
    {HEAD "rooms: {A: {}}\nsupplies: {MU: {feeds: {A: {flow: 1 L/s, least: 1 L/s}}}}\n", 3, 42,
     "two ways to say the same"},
    {HEAD "rooms: {A: {}}\nsupplies: {MU: {feeds: {A: {flow: 1 L/s}, A: {flow: 2 L/s}}}}\n", 3, 43,
     "'A' stands here twice"},
    {HOODED "exhausts: {X: {from: A, flow: 1 L/s}}\n", 5, 12, "it goes nowhere"},
    {HEAD "rooms: {A: {}}\nmains: {M: {capacity: {value: 1 m3/s, near limit: {enter: 80 %, leave: "
          "85 %}}}}\n" JOIN,
     3, 72, "'leave' must not be above 'enter'"},
    {HEAD "rooms: {A: {}}\nmains: {M: {capacity: {value: 1 m3/s, near limit: {enter: 95 %}, short: "
          "{enter: 90 %}}}}\n" JOIN,
     3, 59, "near limit begins above short"},
    {HEAD "rooms: {A: {}, B: {}}\nleaks: {L: {from: A, to: outdoors, area: 1 m2}}\n", 2, 16,
     "nothing touches it"},
    {HEAD "rooms: {A: {}}\nfiles: {people: ../people.yaml}\n" JOIN, 3, 17,
     "leads out of the suite's"},
    {HEAD "junctions: {J: {}}\nfans: {F: {from: J, to: outdoors, shut-off: 9 Pa, falls: 1 kg/m7}}\n"
          "mains: {M: {fans: [F]}, N: {fans: [F]}}\n",
     4, 36, "fan F draws on main M already"},
    /* scenes */
    {HEAD "junctions: {J: {}}\nfans: {F: {from: J, to: outdoors, shut-off: 9 Pa, falls: 1 kg/m7}}\n"
          "scenes: {x: {off: [F/1, F/1]}}\n",
     4, 25, "stands in this list twice"},
    {HOODED "stations: {S: {kind: fume hood, room: A, main: M, flow: {constant: 1 m3/h}}}\n"
            "scenes: {x: {covered: {S: 40 %}}}\n",
     6, 27, "has no deck to cover"},
    {HOODED "stations: {S: {kind: fume hood, room: A, main: M, flow: {constant: 1 m3/h}}}\n"
            "scenes: {x: {openings: {S: 0.3 m}}}\n",
     6, 28, "station S has no 'opening'"},
    {HOODED "stations: {S: {kind: fume hood, room: A, main: M, flow: {constant: 1 m3/h}, opening: "
            "{work: 0.4 m}}}\nscenes: {x: {openings: {S: 0.5 m}}}\n",
     6, 28, "goes to 0.4 m only"},
    {HOODED "scenes: {x: {openings: {S: half}}}\nstations: {S: {kind: fume hood, room: A, main: M, "
            "flow: {constant: 1 m3/h}}}\n",
     5, 28, "write parked, work or a height"},
    {ON_A "deck: 30 %, deck flow: {at least: 10 m3/h, source: x}}}\n", 5, 111,
     "with nothing open it draws less"},
    {ON_A "deck flow: {at least: 5 m3/h, source: x}}}\n", 5, 99,
     "no air of it enters through a deck"},
    {HEAD "junctions: {J: {}}\nfans: {F: {from: J, to: outdoors, shut-off: 9 Pa, falls: 1 kg/m7}}\n"
          "scenes: {x: {off: [F/2]}}\n",
     4, 20, "there is no unit 2; the fan has 1"},
};

/* One reading and what it said. */
struct reading {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
};

static void read_bytes(struct reading *r, const char *bytes, size_t size, const char *overlay)
{
  struct facility_text s = {"suite.yaml", bytes, size}, o = {0};

  arena_init(&r->arena, SIZE_MAX);
  complaints_init(&r->complaints, &r->arena);
  if (overlay)
    o = (struct facility_text){"overlay.yaml", overlay, strlen(overlay)};
  r->facility = facility_read(&s, overlay ? &o : NULL, overlay ? 1 : 0, &r->complaints);
}

static void drop(struct reading *r)
{
  facility_free(r->facility);
  arena_release(&r->arena);
}

static bool said(const struct complaint *c, int line, int column, const char *words)
{
  bool line_is_right = CHECK_INT(c->place.line, line);
  bool column_is_right = CHECK_INT(c->place.column, column);
  bool words_are_there = CHECK(strstr(c->text, words) != NULL);

  return line_is_right && column_is_right && words_are_there;
}

static void each_fault_is_told_once_at_its_place(void)
{
  for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
    const struct fault *fault = &faults[i];
    struct reading r;

    CHECK_CASE("%s", fault->text);
    read_bytes(&r, fault->text, fault->line == 0 && i == 1 ? 6 : strlen(fault->text), NULL);
    CHECK(r.facility == NULL);
    if (!CHECK_INT(r.complaints.count, 1) ||
        !said(&r.complaints.list[0], fault->line, fault->column, fault->words))
      for (int k = 0; k < r.complaints.count; k++)
        printf("      %d:%d: %s\n", r.complaints.list[k].place.line,
               r.complaints.list[k].place.column, r.complaints.list[k].text);
    drop(&r);
  }
}

static void many_faults_are_all_told_in_one_pass(void)
{
  static const char text[] = "inward: 1 suite\n"
                             "rooms:\n"
                             "  Etch: {floor: 62 m3, tempreture: 21 degC}\n"
                             "  Gowning: {volume: 0 m3}\n"
                             "leaks:\n"
                             "  L1: {from: Etch, to: Gowing, area: 1 m2}\n"
                             "stations:\n"
                             "  S1: {kind: hood, room: Etch, main: Acid, flow: {constant: 4}}\n"
                             "mains:\n"
                             "  Acid: {at: J}\n";
  static const int lines[] = {3, 3, 4, 6, 8, 8, 10};
  struct reading r;

  read_bytes(&r, text, strlen(text), NULL);
  REQUIRE(CHECK_INT(r.complaints.count, 7));
  for (int i = 0; i < 7; i++)
    CHECK_INT(r.complaints.list[i].place.line, lines[i]);
  drop(&r);
}

static void a_sealed_room_is_told_beside_other_faults_unless_they_are_of_a_link(void)
{
  struct reading r;
  static const char beside[] = HEAD "rooms: {A: {floor: 1 kg}, B: {}}\n"
                                    "leaks: {L: {from: A, to: outdoors, area: 1 m2}}\n";
  static const char mistyped[] = HEAD "rooms: {A: {}, Bay: {}}\n"
                                      "leaks: {L: {from: A, to: Byy, area: 1 m2}}\n";

  read_bytes(&r, beside, strlen(beside), NULL);
  REQUIRE(CHECK_INT(r.complaints.count, 2));
  CHECK(strstr(r.complaints.list[1].text, "nothing touches it") != NULL);
  drop(&r);
  read_bytes(&r, mistyped, strlen(mistyped), NULL);
  CHECK_INT(r.complaints.count, 1);
  drop(&r);
}

static void a_complaint_shows_the_line_and_points_at_it(void)
{
  static const char text[] = HEAD "rooms:\n  B\xC3\xBCro: {}\n";
  struct reading r;
  struct buf out;

  read_bytes(&r, text, strlen(text), NULL);
  buf_init(&out, 4096);
  complaints_print(&r.complaints, "suite.yaml", text, &out);
  CHECK(strstr(out.text, "suite.yaml:3:3: ") == out.text);
  CHECK(strstr(out.text, "\n    B\xC3\xBCro: {}\n    ^^^^\n") != NULL);
  buf_release(&out);
  drop(&r);
}

static void faults_in_an_overlay_are_told_in_the_overlay(void)
{
  static const struct {
    const char *overlay;
    int line, column;
    const char *words, *file;
  } rows[] = {
      {"inward: 1 overlay\nremove: [S9]\n", 2, 10, "there is no 'S9' to remove", "overlay.yaml"},
      {"inward: 1 overlay\nremove: [D1]\n", 76, 17, "'D1' was removed (overlay.yaml:2)",
       "suite.yaml"},
      {"inward: 1 overlay\nchange: {stations: {S9: {width: 2 m}}}\n", 2, 21,
       "there is no 'S9' to change", "overlay.yaml"},
      {"inward: 1 overlay\nadd: {stations: {S2: {}}}\n", 2, 18, "in the suite already",
       "overlay.yaml"},
      {"inward: 1 overlay\nadd: {statons: {}}\n", 2, 7, "did you mean 'stations'?", "overlay.yaml"},
      {"inward: 1 overlay\nchange: {stations: {S2: {width: 2 kg}}}\n", 2, 35, "measures mass",
       "overlay.yaml"},
      {"inward: 1 suite\nadd: {}\n", 1, 9, "'inward: 1 overlay' is needed here", "overlay.yaml"},
      {"inward: 1 overlay\nremvoe: [L1]\n", 2, 1, "did you mean 'remove'?", "overlay.yaml"},
      {"inward: 1 overlay\nremove: L1\n", 2, 9, "must be a list", "overlay.yaml"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct reading r;

    CHECK_CASE("%s", rows[i].overlay);
    read_bytes(&r, whole_suite, strlen(whole_suite), rows[i].overlay);
    CHECK(r.facility == NULL);
    if (CHECK_INT(r.complaints.count, 1)) {
      said(&r.complaints.list[0], rows[i].line, rows[i].column, rows[i].words);
      CHECK_STR(r.complaints.list[0].place.file, rows[i].file);
    }
    for (int k = 0; k < r.complaints.count; k++)
      if (r.complaints.count != 1)
        printf("      %d:%d: %s\n", r.complaints.list[k].place.line,
               r.complaints.list[k].place.column, r.complaints.list[k].text);
    drop(&r);
  }
}

/* ---- what a stranger can grow ---- */

static void a_file_of_nine_megabytes_is_refused(void)
{
  static char bytes[9 << 20];
  struct reading r;

  memset(bytes, '#', sizeof bytes);
  read_bytes(&r, bytes, sizeof bytes, NULL);
  CHECK(r.facility == NULL);
  REQUIRE(CHECK_INT(r.complaints.count, 1));
  CHECK(strstr(r.complaints.list[0].text, "8388608 is the most") != NULL);
  drop(&r);
}

/* A megabyte of each piece that nests, or starts what never ends. */
static void deep_nesting_is_refused_quickly(void)
{
  static const char *const pieces[] = {"[", "{", "- ", "? ", "a: [", "{a: ", "\"", "&a ", "!t "};
  static char bytes[1 << 20];

  for (size_t i = 0; i < sizeof pieces / sizeof *pieces; i++) {
    size_t length = strlen(pieces[i]);
    struct reading r;

    for (size_t k = 0; k < sizeof bytes; k++)
      bytes[k] = pieces[i][k % length];
    CHECK_CASE("%s...", pieces[i]);
    read_bytes(&r, bytes, sizeof bytes, NULL);
    CHECK(r.facility == NULL);
    CHECK(r.complaints.count >= 1);
    drop(&r);
  }
}

static void more_than_five_thousand_parts_are_refused(void)
{
  struct buf text;
  struct reading r;

  buf_init(&text, 1 << 20);
  buf_puts(&text, HEAD "junctions:\n");
  for (int i = 0; i < 5001; i++)
    buf_printf(&text, "  J%d:\n", i);
  read_bytes(&r, text.text, text.used, NULL);
  CHECK(r.facility == NULL);
  REQUIRE(CHECK_INT(r.complaints.count, 1));
  CHECK(strstr(r.complaints.list[0].text, "more than 5000 parts") != NULL);
  CHECK_INT(r.complaints.list[0].place.line, 5003);
  drop(&r);
  buf_release(&text);
}

static void a_map_with_more_keys_than_any_part_is_refused_whole(void)
{
  static const char *const heads[] = {HEAD, HEAD "name: x\nrooms:\n A:\n"};

  for (int i = 0; i < 2; i++) {
    struct buf text;
    struct reading r;

    buf_init(&text, 1 << 20);
    buf_puts(&text, heads[i]);
    for (int k = 0; k < 101; k++)
      buf_printf(&text, "%sk%d: x\n", i == 0 ? "" : "  ", k);
    read_bytes(&r, text.text, text.used, NULL);
    CHECK(r.facility == NULL);
    REQUIRE(CHECK_INT(r.complaints.count, 1));
    CHECK(strstr(r.complaints.list[0].text, "no part has more than 100") != NULL);
    drop(&r);
    buf_release(&text);
  }
}

static void a_thousand_faults_are_counted_and_fifty_are_kept(void)
{
  struct buf text;
  struct reading r;

  buf_init(&text, 1 << 20);
  buf_puts(&text, HEAD "junctions:\n");
  for (int i = 0; i < 1000; i++)
    buf_printf(&text, "  J%d: {pressre: 1 Pa}\n", i);
  read_bytes(&r, text.text, text.used, NULL);
  CHECK_INT(r.complaints.count, COMPLAINTS_MAX);
  CHECK_INT(r.complaints.dropped, 1000 - COMPLAINTS_MAX);
  drop(&r);
  buf_release(&text);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(each_fault_is_told_once_at_its_place);
  RUN(many_faults_are_all_told_in_one_pass);
  RUN(a_sealed_room_is_told_beside_other_faults_unless_they_are_of_a_link);
  RUN(a_complaint_shows_the_line_and_points_at_it);
  RUN(faults_in_an_overlay_are_told_in_the_overlay);
  RUN(a_file_of_nine_megabytes_is_refused);
  RUN(deep_nesting_is_refused_quickly);
  RUN(more_than_five_thousand_parts_are_refused);
  RUN(a_map_with_more_keys_than_any_part_is_refused_whole);
  RUN(a_thousand_faults_are_counted_and_fifty_are_kept);
  return check_end();
}
