/* inward schema: the suite file's manual, or its JSON Schema. */
#include "cli/cli.h"

#include "facility/facility.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward schema [--json]\n\n"
    "Prints what a suite file may contain: every key with its meaning, value, range and\n"
    "default (docs/suite-file.md). With --json a JSON Schema, for editors that complete\n"
    "and underline while a file is written.\n\n"
    "example: inward schema --json > suite.schema.json\n";

int cli_schema(int argc, char **argv)
{
  bool json = false;
  struct buf out;

  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0) {
      json = true;
    } else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
      fputs(help, stdout);
      return 0;
    } else {
      fprintf(stderr, "inward schema: what is '%.40s'? 'inward schema --help' explains\n", argv[i]);
      return 2;
    }
  }
  buf_init(&out, 1 << 20);
  if (json)
    facility_print_json_schema(&out);
  else
    facility_print_manual(&out);
  int status = cli_show(&out, 0);

  buf_release(&out);
  return status;
}
