#include "peer.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

/* A drop folder as people and programs use it: copies under way, the same file twice, links. */

static struct ear ear;
static const char *folder;

static const char feeds_text[] =
    "inward: 1 feeds\nsources:\n"
    "  trend: {csv: {folder: drop, separator: semicolon, decimal: comma, time: Time, zone: UTC,\n"
    "      pattern: ISO}}\n"
    "  bookings: {calendar: {folder: calendar, zone: Europe/Paris}}\n"
    "points:\n"
    "  flow: {of: A1, what: flow, from: trend, at: Flow, unit: m3/h}\n";

static const char *at(const char *name)
{
  static char path[2][300];
  static int turn;

  turn = !turn;
  snprintf(path[turn], sizeof path[turn], "%s/%s", folder, name);
  return path[turn];
}

static bool begin(void)
{
  folder = peer_folder();
  if (mkdir(at("drop"), 0755) != 0 || mkdir(at("calendar"), 0755) != 0)
    return false;
  return ear_open(&ear, feeds_text, 0, folder);
}

static void settle(double wait_s)
{
  struct timespec t = {(time_t)wait_s, (long)(1e9 * (wait_s - floor(wait_s)))};

  nanosleep(&t, NULL);
}

static int files(void)
{
  int count;

  pthread_mutex_lock(&ear.lock);
  count = ear.file_count;
  pthread_mutex_unlock(&ear.lock);
  return count;
}

static bool bookings(int count, double within_s)
{
  for (double left_s = within_s; left_s > 0; left_s -= 0.05) {
    int now;

    pthread_mutex_lock(&ear.lock);
    now = ear.booking_count;
    pthread_mutex_unlock(&ear.lock);
    if (now == count)
      return true;
    settle(0.05);
  }
  return false;
}

#define HEAD "Time;Flow\n"

static void a_file_is_read_once_whatever_it_is_called(void)
{
  REQUIRE(begin());
  peer_write(at("drop/a.csv"), HEAD "2024-11-01T10:00:00Z;1800,0\n2024-11-01T10:05:00Z;No\n", 0644);
  CHECK(ear_hears(&ear, 0, "flow", 0.5, FEED_GOOD, 3));
  CHECK(ear_told(&ear, "a.csv", 2));
  CHECK(ear_told(&ear, "2 rows", 1));
  CHECK_INT(files(), 1);
  CHECK_INT(ear_count(&ear), 2);
  peer_write(at("drop/copy of a.csv"),
             HEAD "2024-11-01T10:00:00Z;1800,0\n2024-11-01T10:05:00Z;No\n", 0644);
  peer_write(at("drop/a.csv"), HEAD "2024-11-01T10:00:00Z;1800,0\n2024-11-01T10:05:00Z;No\n", 0644);
  settle(1);
  CHECK_INT(files(), 1);
  CHECK_INT(ear_count(&ear), 2);
  CHECK(access(at("drop/a.csv"), R_OK) == 0); /* left where it is */
  ear_close(&ear);
}

static void half_a_copy_is_not_read(void)
{
  REQUIRE(begin());
  peer_write(at("drop/b.csv"), HEAD "2024-11-01T10:00:00Z;18", 0644); /* 18 of 1800 */
  settle(0.8);
  CHECK_INT(ear_count(&ear), 0);
  peer_write(at("drop/b.csv"), HEAD "2024-11-01T10:00:00Z;1800\n", 0644);
  CHECK(ear_hears(&ear, 0, "flow", 0.5, FEED_GOOD, 3));
  CHECK_INT(ear_count(&ear), 1);
  /* One that never gets its last line's end is read in the end. */
  peer_write(at("drop/c.csv"), HEAD "2024-11-01T11:00:00Z;3600", 0644);
  CHECK(ear_hears(&ear, 0, "flow", 1, FEED_GOOD, 5));
  /* Copies under way, as programs call them, and hidden files. */
  peer_write(at("drop/d.csv.part"), HEAD "2024-11-01T12:00:00Z;7200\n", 0644);
  peer_write(at("drop/.e.csv"), HEAD "2024-11-01T12:00:00Z;7200\n", 0644);
  settle(1);
  CHECK_INT(ear_count(&ear), 2);
  CHECK(rename(at("drop/d.csv.part"), at("drop/d.csv")) == 0);
  CHECK(ear_hears(&ear, 0, "flow", 2, FEED_GOOD, 3));
  ear_close(&ear);
}

static void a_file_that_grows_steadily_waits_until_it_rests(void)
{
  FILE *f;

  REQUIRE(begin());
  f = fopen(at("drop/g.csv"), "w");
  REQUIRE(f != NULL);
  fputs(HEAD, f);
  for (int i = 0; i < 8; i++) {
    fprintf(f, "2024-11-01T10:0%d:00Z;360\n", i);
    fflush(f);
    CHECK_INT(ear_count(&ear), 0);
    settle(0.15);
  }
  fclose(f);
  CHECK(ear_hears(&ear, 0, "flow", 0.1, FEED_GOOD, 3));
  settle(0.3);
  CHECK_INT(ear_count(&ear), 8);
  CHECK_INT(files(), 1);
  ear_close(&ear);
}

static void what_is_no_file_is_told_and_not_followed(void)
{
  REQUIRE(begin());
  peer_write(at("outside.csv"), HEAD "2024-11-01T10:00:00Z;1800\n", 0644);
  CHECK(symlink("../outside.csv", at("drop/link.csv")) == 0);
  CHECK(mkfifo(at("drop/pipe.csv"), 0644) == 0); /* reading it would wait for ever */
  CHECK(mkdir(at("drop/old"), 0755) == 0);
  CHECK(ear_told(&ear, "link.csv: a link", 3));
  settle(1);
  CHECK_INT(ear_count(&ear), 0);
  CHECK_INT(ear_look(&ear, "trend").refused, 2); /* once each, whatever the looks */
  CHECK(ear_look(&ear, "trend").connected);
  ear_close(&ear);
}

static void a_table_of_another_shape_is_refused_once_and_kept(void)
{
  REQUIRE(begin());
  peer_write(at("drop/odd.csv"), "Zeit;Menge\n2024-11-01T10:00:00Z;1800\n", 0644);
  CHECK(ear_told(&ear, "trend: odd.csv:", 3));
  CHECK(ear_told(&ear, "refused", 1));
  settle(1);
  CHECK_INT(files(), 1); /* its bytes were handed over, to be kept */
  CHECK_INT(ear_look(&ear, "trend").refused, 1);
  CHECK_INT(ear_count(&ear), 0);
  CHECK(access(at("drop/odd.csv"), R_OK) == 0);
  peer_write(at("drop/odd.csv"), HEAD "2024-11-01T10:00:00Z;1800\n", 0644); /* mended */
  CHECK(ear_hears(&ear, 0, "flow", 0.5, FEED_GOOD, 3));
  ear_close(&ear);
}

static void a_file_of_an_earlier_run_is_known(void)
{
  REQUIRE(begin());
  atomic_store(&ear.known, true);
  peer_write(at("drop/a.csv"), HEAD "2024-11-01T10:00:00Z;1800\n", 0644);
  settle(1);
  CHECK_INT(ear_count(&ear), 0);
  CHECK_INT(files(), 0);
  ear_close(&ear);
}

static void a_folder_that_is_taken_away_is_told_and_found_again(void)
{
  REQUIRE(begin());
  CHECK(ear_connected(&ear, "trend", true, 3));
  CHECK(rename(at("drop"), at("gone")) == 0);
  CHECK(ear_connected(&ear, "trend", false, 3));
  CHECK(rename(at("gone"), at("drop")) == 0);
  CHECK(ear_connected(&ear, "trend", true, 3));
  CHECK_INT(ear_look(&ear, "trend").reconnects, 1);
  ear_close(&ear);
}

/* Two hours from now, in the window whenever this runs. */
static void write_calendar(const char *path, const char *uid, int hours_ahead, int count)
{
  char text[2000] = "BEGIN:VCALENDAR\r\n";
  time_t start_s = time(NULL) + 3600 * hours_ahead;
  struct tm utc;

  gmtime_r(&start_s, &utc);
  for (int i = 0; i < count; i++) {
    size_t used = strlen(text);

    snprintf(text + used, sizeof text - used,
             "BEGIN:VEVENT\r\nUID:%s%d\r\nDTSTART:%04d%02d%02dT%02d0000Z\r\nDURATION:PT1H\r\n"
             "END:VEVENT\r\n",
             uid, i, utc.tm_year + 1900, utc.tm_mon + 1, utc.tm_mday, utc.tm_hour);
  }
  snprintf(text + strlen(text), sizeof text - strlen(text), "END:VCALENDAR\r\n");
  peer_write(path, text, 0644);
}

static void calendars_are_what_stands_in_the_folder_now(void)
{
  int64_t before_ms;

  REQUIRE(begin());
  write_calendar(at("calendar/week.ics"), "a", 2, 3);
  CHECK(bookings(3, 3));
  write_calendar(at("calendar/more.ics"), "b", 5, 2);
  CHECK(bookings(5, 3));
  before_ms = ear.bookings[0].start_ms;
  write_calendar(at("calendar/moved.ics"), "a", 4, 3); /* the same uids, written later */
  CHECK(ear_told(&ear, "moved.ics", 3));
  CHECK(bookings(5, 2));
  CHECK(ear.bookings[0].start_ms > before_ms);
  CHECK(unlink(at("calendar/more.ics")) == 0);
  CHECK(bookings(3, 3));
  peer_write(at("calendar/broken.ics"), "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n", 0644);
  CHECK(ear_told(&ear, "bookings: broken.ics:", 5));
  CHECK(bookings(3, 1));
  ear_close(&ear);
}

static void a_secret_open_to_others_is_refused_before_anything_starts(void)
{
  static const struct {
    const char *secret, *said;
  } cases[] = {
      {"file:word", "open to others (mode 644)"},
      {"file:group", "open to others (mode 640)"},
      {"file:none", "No such file"},
      {"file:link", "a link"},
      {"file:.", "no regular file"},
      {"file:empty", "is empty"},
      {"file:lines", "more than one line"},
      {"env:INWARD_TEST_NOT_SET", "no such variable"},
  };
  char text[600], word[WIRE_SECRET_MOST];
  struct wire_callbacks callbacks = {0};
  struct small_feeds w;

  folder = peer_folder();
  peer_write(at("word"), "blue fox", 0644);
  peer_write(at("group"), "blue fox", 0640);
  peer_write(at("fine"), "blue fox\r\n", 0600);
  peer_write(at("empty"), "\n", 0600);
  peer_write(at("lines"), "blue\nfox\n", 0600);
  CHECK(symlink("fine", at("link")) == 0);
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct wire *wire = NULL;
    struct err err = {0};

    CHECK_CASE("%s", cases[i].secret);
    snprintf(text, sizeof text,
             "inward: 1 feeds\nsources: {bus: {mqtt: {host: h, secret: \"%s\"}}}\npoints: {}\n",
             cases[i].secret);
    REQUIRE(small_feeds_read(&w, text));
    CHECK_INT(wire_open(w.facility, w.feeds, folder, &callbacks, &wire, &err), ERR_INPUT);
    CHECK(wire == NULL);
    CHECK(strstr(err.text, cases[i].said) != NULL);
    CHECK(strstr(err.text, "source bus") != NULL);
    CHECK(strstr(err.text, "fox") == NULL);
    small_feeds_release(&w);
  }
  CHECK_INT(wire_secret("file:fine", folder, word, NULL), ERR_OK);
  CHECK_STR(word, "blue fox");
  CHECK_INT(wire_secret(at("fine"), folder, word, NULL), ERR_INPUT); /* no word may stand there */
}

static void a_folder_that_is_not_there_is_refused_at_once(void)
{
  struct wire_callbacks callbacks = {0};
  struct wire *wire = NULL;
  struct err err = {0};
  struct small_feeds w;

  folder = peer_folder();
  REQUIRE(small_feeds_read(&w, feeds_text));
  CHECK_INT(wire_open(w.facility, w.feeds, folder, &callbacks, &wire, &err), ERR_INPUT);
  CHECK(strstr(err.text, "source trend: folder drop") != NULL);
  peer_write(at("drop"), "", 0644);
  CHECK_INT(wire_open(w.facility, w.feeds, folder, &callbacks, &wire, &err), ERR_INPUT);
  CHECK(strstr(err.text, "is no folder") != NULL);
  wire_close(NULL);
  small_feeds_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_file_is_read_once_whatever_it_is_called);
  RUN(half_a_copy_is_not_read);
  RUN(a_file_that_grows_steadily_waits_until_it_rests);
  RUN(what_is_no_file_is_told_and_not_followed);
  RUN(a_table_of_another_shape_is_refused_once_and_kept);
  RUN(a_file_of_an_earlier_run_is_known);
  RUN(a_folder_that_is_taken_away_is_told_and_found_again);
  RUN(calendars_are_what_stands_in_the_folder_now);
  RUN(a_secret_open_to_others_is_refused_before_anything_starts);
  RUN(a_folder_that_is_not_there_is_refused_at_once);
  return check_end();
}
