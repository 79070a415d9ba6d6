/* inward schema: the manual of suite or feeds file, its JSON Schema, or the board's interface. */
#include "cli/cli.h"

#include "ask/ask.h"
#include "facility/chemicals.h"
#include "facility/feeds.h"
#include "facility/processes.h"
#include "facility/roster.h"
#include "rule/rule.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward schema [--feeds | --chemicals | --people | --processes | --rules | --json |\n"
    "                      --api]\n\n"
    "Prints what a suite file may contain: every key with its meaning, value, range and\n"
    "default (docs/suite-file.md). With --json a JSON Schema, for editors that complete\n"
    "and underline while a file is written: for suites and all their files. Put this comment into\n"
    "a file's first line (the path is relative to the file):\n\n"
    "  # yaml-language-server: $schema=suite.schema.json\n\n"
    "With --feeds the same for a feeds file (docs/feeds-file.md), with --chemicals for a chemicals\n"
    "file (docs/chemicals-file.md), with --people for a people file (docs/people-file.md) and with\n"
    "--processes for a processes file (docs/processes-file.md), with --rules for a rules file and its\n"
    "language (docs/rules-file.md).\n"
    "With --api the board's JSON interface as an OpenAPI 3.1 document (docs/openapi.json).\n\n"
    "example: inward schema --json > suite.schema.json\n";

int cli_schema(int argc, char **argv)
{
  void (*print)(struct buf *) = facility_print_manual;
  struct buf out;

  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0) {
      print = facility_print_json_schema;
    } else if (strcmp(argv[i], "--feeds") == 0) {
      print = feeds_print_manual;
    } else if (strcmp(argv[i], "--chemicals") == 0) {
      print = chemicals_print_manual;
    } else if (strcmp(argv[i], "--people") == 0) {
      print = roster_print_manual;
    } else if (strcmp(argv[i], "--processes") == 0) {
      print = processes_print_manual;
    } else if (strcmp(argv[i], "--rules") == 0) {
      print = rule_print_manual;
    } else if (strcmp(argv[i], "--api") == 0) {
      print = ask_print_openapi;
    } else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
      fputs(help, stdout);
      return 0;
    } else {
      fprintf(stderr, "inward schema: what is '%.40s'? 'inward schema --help' explains\n", argv[i]);
      return 2;
    }
  }
  buf_init(&out, 1 << 20);
  print(&out);
  int status = cli_show(&out, 0);

  buf_release(&out);
  return status;
}
