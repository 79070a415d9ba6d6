/* inward check SUITE...: every fault of a suite file, in one pass. */
#include "cli/cli.h"

#include "base/emit.h"
#include "cli/read.h"
#include "may/may.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward check SUITE... [--with OVERLAY]... [--assumed] [--json]\n\n"
    "Reads each suite, and the feeds, chemicals, people, processes and rules files it names, and says\n"
    "every fault as\n"
    "file:line:column: what; what would fix it.\n"
    "Nothing is computed and nothing is changed.\n\n"
    "  --with F    apply an overlay file first; several apply in the order given\n"
    "  --assumed   list the defaults taken because the file is silent\n"
    "  --json      for programs\n\n"
    "Exit: 0 no faults; 2 faults; 3 a file could not be read.\n"
    "example: inward check examples/quillmere/suite.yaml\n";

struct request {
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count, suite_count;
  bool json, assumed, help;
};

/* Suites are moved to the front of argv. */
static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0)
      r->json = true;
    else if (strcmp(argv[i], "--assumed") == 0)
      r->assumed = true;
    else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
      r->help = true;
    else if (strcmp(argv[i], "--with") == 0 && i + 1 < argc) {
      if (cli_take_overlay(r->overlays, &r->overlay_count, argv[++i], err) != ERR_OK)
        return ERR_USAGE;
    } else if (argv[i][0] == '-')
      return err_set(err, ERR_USAGE, "'%.40s' is no option here, or lacks its value", argv[i]);
    else
      argv[r->suite_count++] = argv[i];
  }
  if (r->suite_count == 0 && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward check SUITE...");
  return ERR_OK;
}

static const struct count {
  const char *one, *many;
  size_t at;
} counts[] = {
    {"station", "stations", offsetof(struct facility, station_count)},
    {"room", "rooms", offsetof(struct facility, room_count)},
    {"junction", "junctions", offsetof(struct facility, junction_count)},
    {"leak", "leaks", offsetof(struct facility, leak_count)},
    {"door", "doors", offsetof(struct facility, door_count)},
    {"duct", "ducts", offsetof(struct facility, duct_count)},
    {"fan", "fans", offsetof(struct facility, fan_count)},
    {"main", "mains", offsetof(struct facility, main_count)},
    {"supply", "supplies", offsetof(struct facility, supply_count)},
    {"exhaust", "exhausts", offsetof(struct facility, exhaust_count)},
    {"criterion", "criteria", offsetof(struct facility, criterion_count)},
    {"scene", "scenes", offsetof(struct facility, scene_count)},
};

static int count_of(const struct facility *facility, const struct count *count)
{
  int number;

  memcpy(&number, (const char *)facility + count->at, sizeof number);
  return number;
}

/* "2 sources, 14 points" of the feeds file, where there is one. */
static void print_feeds(const struct feeds *feeds, struct buf *out)
{
  if (feeds)
    buf_printf(out, ", %d source%s, %d point%s", feeds->source_count,
               feeds->source_count == 1 ? "" : "s", feeds->point_count,
               feeds->point_count == 1 ? "" : "s");
}

static void print_count(struct buf *out, int count, const char *one, const char *many)
{
  buf_printf(out, ", %d %s", count, count == 1 ? one : many);
}

/* What a wet bench has that a hood has not; nothing where the file names none. */
static void print_benches(const struct chemicals *c, struct buf *out)
{
  if (c->drain_count + c->rinse_count + c->tray_count + c->heater_count == 0)
    return;
  print_count(out, c->drain_count, "drain", "drains");
  print_count(out, c->rinse_count, "rinse tank", "rinse tanks");
  print_count(out, c->tray_count, "leak tray", "leak trays");
  print_count(out, c->heater_count, "heater", "heaters");
}

/* "2 procedures, 1 bottle" of the chemicals file, where there is one. */
static void print_chemicals(const struct chemicals *c, struct buf *out)
{
  if (!c)
    return;
  buf_printf(out,
             ", %d procedure%s, %d bottle%s, %d bath%s, %d rate%s, %d limit%s, %d tank%s, "
             "%d stream%s, %d store%s",
             c->procedure_count, c->procedure_count == 1 ? "" : "s", c->stock_count,
             c->stock_count == 1 ? "" : "s", c->bath_count, c->bath_count == 1 ? "" : "s",
             c->rate_count, c->rate_count == 1 ? "" : "s", c->limit_count,
             c->limit_count == 1 ? "" : "s", c->tank_count, c->tank_count == 1 ? "" : "s",
             c->stream_count, c->stream_count == 1 ? "" : "s", c->store_count,
             c->store_count == 1 ? "" : "s");
  print_benches(c, out);
}

/* "6 endorsements, 1 table of people, 30 processes, 20 rules", where there are such files. */
static void print_people(const struct cli_reading *reading, struct buf *out)
{
  if (reading->roster) {
    print_count(out, reading->roster->endorsement_count, "endorsement", "endorsements");
    print_count(out, reading->roster->table_count, "table of people", "tables of people");
  }
  if (reading->processes)
    print_count(out, reading->processes->count, "process", "processes");
  if (reading->rules)
    print_count(out, reading->rules->count, "house rule", "house rules");
}

static bool is_sound(const struct cli_reading *reading)
{
  const struct facility *f = reading->facility;

  return f && (reading->feeds || !f->feeds_file) && (reading->chemicals || !f->chemicals_file) &&
         (reading->roster || !f->people_file) && (reading->processes || !f->processes_file) &&
         (reading->rules || !f->rules_file) && reading->complaints.count == 0;
}

static void print_text(const struct cli_reading *reading, bool assumed, struct buf *out)
{
  const struct facility *f = reading->facility;
  const char *glue = " ";

  if (!is_sound(reading))
    return;
  buf_printf(out, "%s:", reading->texts[0].file);
  for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
    int number = count_of(f, &counts[i]);

    if (number == 0)
      continue;
    buf_printf(out, "%s%d %s", glue, number, number == 1 ? counts[i].one : counts[i].many);
    glue = ", ";
  }
  print_feeds(reading->feeds, out);
  print_chemicals(reading->chemicals, out);
  print_people(reading, out);
  buf_printf(out, "; no faults; %d assumed\n", f->assumed_count);
  for (int i = 1; i < reading->text_count; i++)
    buf_printf(out, "  with the overlay: %s\n", reading->texts[i].file);
  for (int i = 0; assumed && i < f->assumed_count; i++)
    buf_printf(out, "  assumed: %s\n", f->assumed[i]);
}

static void print_json(const struct cli_reading *reading, struct emit *json)
{
  const struct facility *f = reading->facility;

  emit_object(json, NULL);
  emit_text(json, "file", reading->texts[0].file);
  emit_text(json, "suite", f ? f->name : NULL);
  emit_text(json, "suite_sha256", f ? f->sha256 : NULL);
  emit_text(json, "feeds_sha256", reading->feeds ? reading->feeds->sha256 : NULL);
  emit_text(json, "chemicals_sha256", reading->chemicals ? reading->chemicals->sha256 : NULL);
  emit_text(json, "people_sha256", reading->roster ? reading->roster->sha256 : NULL);
  emit_text(json, "processes_sha256", reading->processes ? reading->processes->sha256 : NULL);
  emit_text(json, "rules_sha256", reading->rules ? reading->rules->sha256 : NULL);
  emit_bool(json, "no_faults", is_sound(reading));
  emit_object(json, "counts");
  for (size_t i = 0; f && i < sizeof counts / sizeof counts[0]; i++)
    emit_int(json, counts[i].many, count_of(f, &counts[i]));
  if (reading->feeds) {
    emit_int(json, "sources", reading->feeds->source_count);
    emit_int(json, "points", reading->feeds->point_count);
  }
  if (reading->chemicals) {
    emit_int(json, "procedures", reading->chemicals->procedure_count);
    emit_int(json, "bottles", reading->chemicals->stock_count);
    emit_int(json, "baths", reading->chemicals->bath_count);
    emit_int(json, "rates", reading->chemicals->rate_count);
    emit_int(json, "limits", reading->chemicals->limit_count);
    emit_int(json, "tanks", reading->chemicals->tank_count);
    emit_int(json, "streams", reading->chemicals->stream_count);
    emit_int(json, "stores", reading->chemicals->store_count);
    emit_int(json, "drains", reading->chemicals->drain_count);
    emit_int(json, "rinse_tanks", reading->chemicals->rinse_count);
    emit_int(json, "leak_trays", reading->chemicals->tray_count);
    emit_int(json, "heaters", reading->chemicals->heater_count);
  }
  if (reading->roster) {
    emit_int(json, "endorsements", reading->roster->endorsement_count);
    emit_int(json, "tables_of_people", reading->roster->table_count);
  }
  if (reading->processes)
    emit_int(json, "processes", reading->processes->count);
  if (reading->rules)
    emit_int(json, "house_rules", reading->rules->count);
  emit_close(json);
  emit_array(json, "assumed");
  for (int i = 0; f && i < f->assumed_count; i++)
    emit_text(json, NULL, f->assumed[i]);
  emit_close(json);
  emit_array(json, "faults");
  for (int i = 0; i < reading->complaints.count; i++) {
    const struct complaint *c = &reading->complaints.list[i];

    emit_object(json, NULL);
    emit_text(json, "file", c->place.file);
    emit_int(json, "line", c->place.line);
    emit_int(json, "column", c->place.column);
    emit_int(json, "width", c->width);
    emit_text(json, "text", c->text);
    emit_close(json);
  }
  emit_close(json);
  emit_int(json, "faults_not_listed", reading->complaints.dropped);
  emit_close(json);
}

/* What the files say against each other: names that fit nothing, rules that contradict. */
static void check_together(struct cli_reading *reading)
{
  const struct facility *f = reading->facility;
  struct may_place place = {.facility = f,
                            .own = reading->chemicals,
                            .processes = reading->processes,
                            .rules = reading->rules,
                            .zone = when_utc()};
  struct arena arena;

  if (!f || (!reading->processes && !reading->rules) || reading->complaints.count > 0)
    return;
  arena_init(&arena, 512 << 20);
  place.chem = chem_with(chem_read(&arena), reading->chemicals, &arena);
  place.meet = meet_read(place.chem, &arena);
  may_check(&place, reading->roster, &arena, &reading->complaints);
  arena_release(&arena);
}

/* Exit status of one suite. */
static int check_one(const char *suite, const struct request *r, struct emit *json, struct buf *out)
{
  struct cli_reading reading;
  struct err err = {0};
  int status;

  if (cli_reading_read(&reading, suite, r->overlays, r->overlay_count, &err) != ERR_OK ||
      cli_reading_feeds(&reading, &err) != ERR_OK ||
      cli_reading_chemicals(&reading, &err) != ERR_OK ||
      cli_reading_people(&reading, &err) != ERR_OK) {
    fprintf(stderr, "inward check: %s\n", err.text);
    status = err_exit_status(err.code);
  } else {
    struct buf faults;

    check_together(&reading);
    buf_init(&faults, 1 << 20);
    cli_reading_print(&reading, &faults);
    if (!r->json)
      fputs(faults.text, stderr);
    buf_release(&faults);
    status = is_sound(&reading) ? 0 : 2;
    if (r->json)
      print_json(&reading, json);
    else
      print_text(&reading, r->assumed, out);
  }
  cli_reading_release(&reading);
  return status;
}

int cli_check(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct emit json;
  struct buf out;
  int worst = 0;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward check: %s; 'inward check --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  buf_init(&out, 64 << 20);
  emit_begin(&json, &out);
  if (r.json) {
    emit_object(&json, NULL);
    emit_text(&json, "schema", "inward.check.1");
    emit_array(&json, "suites");
  }
  for (int i = 0; i < r.suite_count; i++) {
    int status = check_one(argv[i], &r, &json, &out);

    worst = status > worst ? status : worst;
  }
  if (r.json) {
    emit_close(&json);
    emit_close(&json);
    emit_end(&json);
  }
  worst = cli_show(&out, worst);
  buf_release(&out);
  return worst;
}
