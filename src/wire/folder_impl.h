#ifndef WIRE_FOLDER_IMPL_H
#define WIRE_FOLDER_IMPL_H

#include "wire/wire_impl.h"

#include <sys/stat.h>

/* Between folder.c, which finds files, and table.c and calendars.c, which read
 * what is in them. */

struct folder_file {
  char *name;
  struct stat about;
  double since_s; /* unchanged since */
  bool done;      /* read, or refused, as it is now */
  bool gone;      /* by the time it was looked at */
};

/* Its bytes with a NUL behind, to be freed.  NULL with errno; 0 there: it is no longer what was
 * looked at. */
char *folder_read(int folder, const struct folder_file *file);

void folder_take_table(struct wire_line *line, const char *name, const char *bytes, size_t size);
/* Were these bytes read before, in this run or an earlier one?  Known from now on. */
bool folder_is_known(struct wire_line *line, const char *bytes, size_t size);

struct folder_calendars {
  bool ever;
  double read_s; /* wire_clock_s */
  int count;
};
/* All calendars of the folder, when one of them changed, came or went, or the window moved on. */
void folder_take_calendars(struct wire_line *line, int folder, struct folder_file *files, int count,
                           struct folder_calendars *last);

#endif
