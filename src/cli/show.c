#include "cli/cli.h"

#include <stdio.h>

int cli_show(const struct buf *out, int status)
{
  if (out->full) {
    fprintf(stderr, "inward: the answer is larger than %zu bytes, so it is not printed\n",
            out->limit);
    return 3;
  }
  fwrite(out->text, 1, out->used, stdout);
  return status;
}

int cli_written(int status)
{
  if (fflush(stdout) == 0 && !ferror(stdout))
    return status;
  fputs("inward: the answer could not be written: is the disk full, or the reader gone?\n", stderr);
  return 3;
}
