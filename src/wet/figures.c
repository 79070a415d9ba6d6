#include "wet/wet_impl.h"

#include <math.h>
#include <string.h>

/* Shares and volumes as people say them. */

static const char *without_about(const char *text, bool *about_out)
{
  static const char *const words[] = {"about ", "roughly ", "ca. ", "some "};

  text += strspn(text, " ");
  *about_out = false;
  for (size_t i = 0; i < sizeof words / sizeof *words; i++)
    if (strncmp(text, words[i], strlen(words[i])) == 0) {
      *about_out = true;
      text += strlen(words[i]);
    }
  return text + strspn(text, " ");
}

/*
 * By eye a person tells a level to a tenth, or to a twentieth where a number is read off a scale: common
 * practice, no source.
 */
static const double by_words_ratio = 0.10, by_scale_ratio = 0.05;

bool wet_read_fill(const char *text, double *ratio_out, double *pm_out_ratio)
{
  static const struct {
    const char *words;
    double ratio;
  } shares[] = {{"empty", 0},  {"a quarter", 0.25},     {"a third", 1.0 / 3},
                {"half", 0.5}, {"two thirds", 2.0 / 3}, {"three quarters", 0.75},
                {"full", 1}};
  struct units_quantity q;
  struct err err = {0};
  bool about;
  const char *said = without_about(text, &about);

  for (size_t i = 0; i < sizeof shares / sizeof *shares; i++)
    if (strcmp(said, shares[i].words) == 0) {
      *ratio_out = shares[i].ratio;
      *pm_out_ratio = by_words_ratio;
      return true;
    }
  if (units_parse(said, UNITS_SHARE, UNITS_NOTHING, &q, &err) != ERR_OK || q.si < 0 || q.si > 1)
    return false;
  *ratio_out = q.si;
  *pm_out_ratio = q.has_plus_minus ? q.plus_minus_si : about ? by_words_ratio : by_scale_ratio;
  return *pm_out_ratio <= 0.5;
}

bool wet_read_volume(const char *text, double *out_m3, double *pm_out_m3)
{
  struct units_quantity q;
  struct err err = {0};
  bool about;
  const char *said = without_about(text, &about);

  if (units_parse(said, UNITS_VOLUME, UNITS_NOTHING, &q, &err) != ERR_OK || q.si < 0 || q.si > 10)
    return false;
  *out_m3 = q.si;
  *pm_out_m3 = q.has_plus_minus ? q.plus_minus_si : about ? 0.2 * q.si : (double)NAN;
  return true;
}
