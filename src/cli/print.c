#include "cli/cli.h"

#include <stdio.h>

int cli_print(const struct buf *out, int status)
{
  if (out->full) {
    fprintf(stderr, "inward: the answer is larger than %zu bytes, so it is not printed\n",
            out->limit);
    return 3;
  }
  fwrite(out->text, 1, out->used, stdout);
  return status;
}
