#include "matter/formula_impl.h"

#include "base/constants.h"

#include "base/spelling.h"

#include <string.h>

static const struct formula_group *const groups[] = {
    &formula_air,       &formula_processes, &formula_heat,    &formula_leaks,
    &formula_doors,     &formula_buoyancy,  &formula_ducts,   &formula_duct_sizes,
    &formula_fans,      &formula_dampers,   &formula_rooms,   &formula_stations,
    &formula_solutions, &formula_vapours,   &formula_etching, &formula_use,
};
enum { GROUP_COUNT = sizeof groups / sizeof groups[0] };

int matter_formula_count(void)
{
  int count = 0;

  for (int g = 0; g < GROUP_COUNT; g++)
    count += groups[g]->count;
  return count;
}

const struct matter_formula *matter_formula_at(int index)
{
  BUG_IF(index < 0);
  for (int g = 0; g < GROUP_COUNT; g++) {
    if (index < groups[g]->count)
      return &groups[g]->rows[index];
    index -= groups[g]->count;
  }
  BUG_IF(true);
}

const char *matter_formula_subject(int index)
{
  for (int g = 0; g < GROUP_COUNT; g++) {
    if (index == 0)
      return groups[g]->title;
    if (index < groups[g]->count)
      return NULL;
    index -= groups[g]->count;
  }
  return NULL;
}

const char *matter_formula_caution(const struct matter_formula *formula)
{
  for (int g = 0; g < GROUP_COUNT; g++)
    for (int i = 0; i < groups[g]->count; i++)
      if (&groups[g]->rows[i] == formula)
        return groups[g]->caution;
  return NULL;
}

/* Keys and names are the same typed with "_" or "-". */
static bool same(const char *a, const char *b, size_t length)
{
  for (size_t i = 0; i < length; i++)
    if ((a[i] == '_' ? '-' : a[i]) != b[i])
      return false;
  return b[length] == '\0';
}

const struct matter_formula *matter_formula_find(const char *name)
{
  int count = matter_formula_count();

  for (int i = 0; i < count; i++)
    if (same(name, matter_formula_at(i)->name, strlen(name)))
      return matter_formula_at(i);
  return NULL;
}

enum { FAR = SPELLING_LONGEST };

static bool near_enough(int steps, size_t length)
{
  return steps <= 2 || (size_t)steps * 3 <= length;
}

const struct matter_formula *matter_formula_nearest(const char *name)
{
  const struct matter_formula *best = NULL;
  int least = FAR, count = matter_formula_count();
  size_t length = strlen(name);

  for (int i = 0; i < count; i++) {
    const struct matter_formula *formula = matter_formula_at(i);
    int steps = spelling_distance(name, length, formula->name, FAR - 1);

    if (length >= 4 && strstr(formula->name, name) && steps > 1)
      steps = 1;
    if (steps < least) {
      least = steps;
      best = formula;
    }
  }
  return best && near_enough(least, length) ? best : NULL;
}

static int count_keys(const struct matter_variable *list, int most)
{
  int count = 0;

  while (count < most && list[count].key)
    count++;
  return count;
}

int matter_input_count(const struct matter_formula *formula)
{
  return count_keys(formula->inputs, MATTER_INPUTS_MAX);
}

int matter_output_count(const struct matter_formula *formula)
{
  return count_keys(formula->outputs, MATTER_OUTPUTS_MAX);
}

static const char *nearest_key(const struct matter_formula *formula, const char *key, size_t length)
{
  const char *best = NULL;
  int least = FAR;

  for (int i = 0; i < matter_input_count(formula); i++) {
    int steps = spelling_distance(key, length, formula->inputs[i].key, FAR - 1);

    if (steps < least) {
      least = steps;
      best = formula->inputs[i].key;
    }
  }
  return best && near_enough(least, length) ? best : NULL;
}

static enum err_code refuse_key(const struct matter_formula *formula, const char *key,
                                size_t length, struct err *err)
{
  const char *meant = nearest_key(formula, key, length);
  struct buf keys;

  buf_init(&keys, 120);
  for (int i = 0; i < matter_input_count(formula); i++)
    buf_printf(&keys, "%s%s", i ? ", " : "", formula->inputs[i].key);
  err_set(err, ERR_INPUT, "%s has no input '%.*s'%s%s%s; it has %s%s", formula->name,
          (int)(length < SPELLING_LONGEST ? length : SPELLING_LONGEST), key,
          meant ? " (did you mean '" : "", meant ? meant : "", meant ? "'?)" : "", keys.text,
          keys.full ? ", ..." : "");
  buf_release(&keys);
  return ERR_INPUT;
}

/* Within a rounding of the bound: 200 degC is 473.15 K, but not every route to it is exact. */
static bool outside(const struct matter_variable *input, double si)
{
  double slack_si = 1e-12 * fabs(si);

  return !(si >= input->least_si - slack_si && si <= input->most_si + slack_si);
}

static enum err_code refuse_range(const struct matter_variable *input, const char *value, double si,
                                  struct err *err)
{
  bool above = si > input->most_si;
  struct buf bound;

  buf_init(&bound, 80);
  units_print(&bound, above ? input->most_si : input->least_si, input->dimension, UNITS_SYSTEM_SI);
  err_set(err, ERR_INPUT, "%s: %.40s is %s the stated %s", input->key, value,
          above ? "above" : "below", bound.text);
  buf_release(&bound);
  return ERR_INPUT;
}

static enum err_code read_argument(const struct matter_formula *formula, const char *argument,
                                   double *in_si, struct err *err)
{
  const char *equals = strchr(argument, '=');
  struct units_quantity quantity;
  struct err inner = {0};

  if (!equals)
    return err_set(err, ERR_INPUT, "'%.60s': write key=value, as in %s", argument,
                   formula->example);
  for (int i = 0; i < matter_input_count(formula); i++) {
    const struct matter_variable *input = &formula->inputs[i];

    if (!same(argument, input->key, (size_t)(equals - argument)))
      continue;
    if (units_parse(equals + 1, input->dimension, UNITS_NOTHING, &quantity, &inner))
      return err_set(err, ERR_INPUT, "%s: %.160s", input->key, inner.text);
    if (!isinf(in_si[i]))
      return err_set(err, ERR_INPUT, "%s: given twice", input->key);
    if (outside(input, quantity.si))
      return refuse_range(input, equals + 1, quantity.si, err);
    in_si[i] = quantity.si;
    return ERR_OK;
  }
  return refuse_key(formula, argument, (size_t)(equals - argument), err);
}

/* An infinity marks what has not been given yet: no quantity reads as one. */
static enum err_code fill_defaults(const struct matter_formula *formula, double *in_si,
                                   struct err *err)
{
  for (int i = 0; i < matter_input_count(formula); i++) {
    const struct matter_variable *input = &formula->inputs[i];

    if (!isinf(in_si[i]))
      continue;
    if (!input->has_default)
      return err_set(err, ERR_INPUT, "%s: %s needs it (%s), as in %s", input->key, formula->name,
                     units_words(input->dimension), formula->example);
    in_si[i] = input->standard_si;
  }
  return ERR_OK;
}

enum err_code matter_formula_run(const struct matter_formula *formula, int argument_count,
                                 const char *const *arguments, double *in_si, double *out_si,
                                 struct err *err)
{
  double given_si[MATTER_INPUTS_MAX], found_si[MATTER_OUTPUTS_MAX];
  enum err_code code;

  for (int i = 0; i < MATTER_INPUTS_MAX; i++)
    given_si[i] = HUGE_VAL;
  for (int i = 0; i < MATTER_OUTPUTS_MAX; i++)
    found_si[i] = NAN;
  for (int i = 0; i < argument_count; i++)
    if ((code = read_argument(formula, arguments[i], given_si, err)))
      return code;
  if ((code = fill_defaults(formula, given_si, err)))
    return code;
  const char *wrong = formula->compute(given_si, found_si);
  if (wrong)
    return err_set(err, ERR_INPUT, "%s: %s", formula->name, wrong);
  memcpy(out_si, found_si, sizeof found_si);
  if (in_si)
    memcpy(in_si, given_si, sizeof given_si);
  return ERR_OK;
}

bool formula_given(double value_si)
{
  return !isnan(value_si);
}

int formula_given_count(const double *in_si, int count)
{
  int given = 0;

  for (int i = 0; i < count; i++)
    given += formula_given(in_si[i]);
  return given;
}

const char *formula_site(const double *in_si, double *pressure_Pa)
{
  *pressure_Pa = NAN;
  if (formula_given_count(in_si, 2) == 2)
    return "give the pressure or the altitude, not both";
  if (formula_given(in_si[0]))
    *pressure_Pa = in_si[0];
  else if (formula_given(in_si[1]))
    *pressure_Pa = matter_standard_pressure_Pa(in_si[1]);
  else
    *pressure_Pa = ATMOSPHERE_PA;
  return NULL;
}

const char *matter_formula_compute(const char *name, const struct matter_given *given,
                                   double *out_si)
{
  const struct matter_formula *f = matter_formula_find(name);
  double in_si[MATTER_INPUTS_MAX];

  BUG_IF(!f);
  for (int i = 0; i < matter_input_count(f); i++)
    in_si[i] = f->inputs[i].has_default ? f->inputs[i].standard_si : (double)NAN;
  for (; given->key; given++) {
    int at = 0;

    while (at < matter_input_count(f) && strcmp(f->inputs[at].key, given->key) != 0)
      at++;
    BUG_IF(at == matter_input_count(f));
    if (isnan(given->si))
      return "a figure it needs is not in the tables";
    if (given->si < f->inputs[at].least_si || given->si > f->inputs[at].most_si)
      return "outside the range it is stated for";
    in_si[at] = given->si;
  }
  return f->compute(in_si, out_si);
}
