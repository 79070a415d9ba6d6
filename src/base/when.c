#include "base/when.h"

#include <string.h>

bool when_zone_name_fits(const char *name)
{
  static const char allowed[] =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_+-/";
  size_t length = strlen(name);

  return length > 0 && length < 64 && strspn(name, allowed) == length && name[0] != '/' &&
         name[length - 1] != '/';
}
