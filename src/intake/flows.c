#include "intake/intake_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * What is known of a station's flow becomes the rule of a suite, or the reason why there is none.
 * A station without a rule is left out and named: a made-up flow would be believed.
 */

/* Where nobody knows the face velocity; the source stands beside it in the file. */
#define ASSUMED_VELOCITY_SI "0.50 m/s \302\261 20 %"
#define ASSUMED_VELOCITY_US "100 fpm \302\261 20 %"
#define ASSUMED_SOURCE      "assumed: nobody said; 0.40 to 0.60 m/s is what NFPA 45-2004 A.8.4.7 names"

static const char *leave_out(struct intake *in, const struct intake_station *s, int column,
                             const char *why)
{
  const struct intake_column *id = intake_column_of(in, FIELD_ID);

  intake_remark(in, INTAKE_FAULT, s->row, column >= 0 ? column : id->column,
                in->beside_suite
                    ? "%.40s: what the suite says of its flow stays, and a new station is "
                      "not added: %s"
                    : "%.40s is left out: %s",
                s->written_id, why);
  return NULL;
}

bool intake_is_own_aside(const char *comment)
{
  static const char *const own[] = {"face velocity assumed: ", "face velocity as answered",
                                    "it follows its sash; the list gives",
                                    "the list does not say how its flow moves"};

  for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
    if (strncmp(comment, own[i], strlen(own[i])) == 0)
      return true;
  return false;
}

static int column_number(const struct intake *in, enum intake_field field)
{
  const struct intake_column *c = intake_column_of(in, field);

  return c ? c->column : -1;
}

/* "1458" in the unit of a figure like "250 cfm", rounded up. */
static const char *print_like(struct intake *in, double flow_m3_s, const char *like,
                              const char *spread)
{
  const char *unit = strchr(like, ' ');
  struct units_quantity one;
  char text[48];

  snprintf(text, sizeof text, "1%.30s", unit ? unit : " m3/h");

  char *sign = strstr(text, " \302\261");

  if (sign)
    *sign = '\0';
  if (units_parse(text, UNITS_FLOW, UNITS_NOTHING, &one, NULL) != ERR_OK)
    return NULL;

  double value = flow_m3_s / one.si;

  return intake_text(in, value >= 100.0 ? "%.0f%s%s" : "%.4g%s%s",
                     value >= 100.0 ? ceil(value - 1e-6) : value, text + 1, spread);
}

static const char *spread_of(const char *quantity)
{
  const char *sign = strstr(quantity, " \302\261");

  return sign && strchr(sign, '%') ? sign : "";
}

static void add_flow(struct intake_station *s, const char *key, const char *text, bool listed)
{
  s->flow_keys[s->flow_count++] = (struct intake_flow_key){key, text, listed};
}

static const char *constant(struct intake *in, struct intake_station *s)
{
  static const enum intake_field fields[] = {FIELD_FLOW, FIELD_WORK, FIELD_PARKED};
  const struct intake_value *found = NULL, *largest = &VALUE(s, FIELD_LARGEST);

  for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
    const struct intake_value *v = &VALUE(s, fields[i]);

    if (v->text && found && fabs(v->si - found->si) > 1e-9 * found->si)
      return leave_out(in, s, v->column, "its flow is constant, and two columns give two figures");
    if (v->text && !found)
      found = v;
  }
  if (!found)
    return leave_out(in, s, -1,
                     "its flow is constant, and no column gives it; look for its row in "
                     "the balancing report");
  if (largest->text && largest->si < found->si * (1.0 - 1e-9))
    return leave_out(in, s, largest->column,
                     "its flow is constant, and the largest is below it; one of the two is wrong");
  s->flow_form = "constant";
  add_flow(s, NULL, found->text, true);
  return intake_text(in, "{constant: %s}", found->text);
}

static const char *two_state(struct intake *in, struct intake_station *s)
{
  const struct intake_value *parked = &VALUE(s, FIELD_PARKED), *work = &VALUE(s, FIELD_WORK),
                            *largest = &VALUE(s, FIELD_LARGEST);

  if (!parked->text || !work->text)
    return leave_out(in, s, column_number(in, parked->text ? FIELD_WORK : FIELD_PARKED),
                     parked->text
                         ? "it has two flows, and the one at work is not known; look for it "
                           "in the balancing report"
                         : "it has two flows, and the parked one is not known; look for it "
                           "in the balancing report");
  if (parked->si > work->si)
    return leave_out(in, s, work->column,
                     "its flow at work is below its parked flow; one of the two "
                     "is wrong, or they are exchanged");
  if (largest->text && largest->si < work->si * (1.0 - 1e-9))
    return leave_out(in, s, largest->column,
                     "its largest flow is below its flow at work; one of the two is wrong, or they "
                     "are exchanged");
  s->flow_form = "two-state";
  add_flow(s, "parked", parked->text, true);
  add_flow(s, "work", work->text, true);
  return intake_text(in, "{two-state: {parked: %s, work: %s}}", parked->text, work->text);
}

static const char *velocity_of(struct intake *in, struct intake_station *s, double *si)
{
  const struct intake_value *own = &VALUE(s, FIELD_VELOCITY);
  const char *text = own->text ? own->text : intake_said(in, "face velocity");
  struct units_quantity got;

  if (!text) {
    bool us = VALUE(s, FIELD_PARKED).text && strstr(VALUE(s, FIELD_PARKED).text, "cfm");

    text = us ? ASSUMED_VELOCITY_US : ASSUMED_VELOCITY_SI;
    s->flow_aside = "face velocity " ASSUMED_SOURCE;
  } else if (!own->text) {
    s->flow_aside = "face velocity as answered";
  }
  BUG_IF(units_parse(text, UNITS_VELOCITY, UNITS_NOTHING, &got, NULL) != ERR_OK);
  *si = got.si;
  return text;
}

/* Within a fifth: what a balancing report and a face velocity test differ by where both are good is
 * commonly less (common practice, no source). */
static bool agree(double a_m3_s, double b_m3_s)
{
  return fabs(a_m3_s - b_m3_s) <= 0.2 * fmax(a_m3_s, b_m3_s);
}

static const char *follows(struct intake *in, struct intake_station *s)
{
  const struct intake_value *width = &VALUE(s, FIELD_WIDTH), *mark = &VALUE(s, FIELD_MARK),
                            *top = &VALUE(s, FIELD_TOP), *parked = &VALUE(s, FIELD_PARKED),
                            *largest = &VALUE(s, FIELD_LARGEST), *work = &VALUE(s, FIELD_WORK);
  double velocity_m_s, most_m3_s;
  bool shaped = width->text && mark->text;

  if (parked->text && work->text && !(shaped && VALUE(s, FIELD_VELOCITY).text)) {
    s->flow_aside = "it follows its sash; the list gives the two ends, so it stands with two flows";
    return two_state(in, s);
  }
  if (!shaped)
    return leave_out(in, s, column_number(in, width->text ? FIELD_MARK : FIELD_WIDTH),
                     "its flow follows the sash, and its width or its sash mark is not known; "
                     "measure it, or give its flow at work");
  if (!parked->text)
    return leave_out(in, s, column_number(in, FIELD_PARKED),
                     "its flow follows the sash, and its parked flow is not known; look for it in "
                     "the balancing report");

  const char *velocity = velocity_of(in, s, &velocity_m_s);
  const char *most = largest->text;

  most_m3_s = velocity_m_s * width->si * (top->text ? top->si : mark->si);
  if (!most)
    most = print_like(in, most_m3_s, parked->text, spread_of(velocity));
  if ((largest->text ? largest->si : most_m3_s) < parked->si)
    return leave_out(
        in, s, parked->column,
        "its parked flow is above what its velocity, width and opening ask for; one of "
        "them is wrong");
  if (work->text && !agree(work->si, fmax(parked->si, velocity_m_s * width->si * mark->si)))
    return leave_out(
        in, s, work->column,
        "its flow at work is not what its velocity, width and sash mark make of it, by more than a "
        "fifth; one of them is wrong");
  s->flow_form = "follows opening";
  add_flow(s, "velocity", velocity, VALUE(s, FIELD_VELOCITY).text != NULL);
  add_flow(s, "least", parked->text, true);
  add_flow(s, "most", most, largest->text != NULL);
  return intake_text(in, "{follows opening: {velocity: %s, least: %s, most: %s}}", velocity,
                     parked->text, most);
}

/* ---- before the rule ---- */

/* "high 650" in a remark or in brackets: a two-speed station's flow at work. */
static void take_high(struct intake *in, struct intake_station *s, const char *text, int column)
{
  const struct intake_value *parked = &VALUE(s, FIELD_PARKED);
  char folded[80], *blank;
  const char *number;
  struct figure_wanted wanted = {.dimension = UNITS_FLOW, .low_si = 0.0015, .high_si = 6.0};

  intake_fold(text, folded, sizeof folded);
  blank = strchr(folded, ' ');
  if (!blank || VALUE(s, FIELD_WORK).text || !parked->text)
    return;
  *blank = '\0';
  number = text + strcspn(text, "0123456789");
  if (intake_word_find(intake_high, folded) < 0 || *number == '\0')
    return;
  for (const char *p = text + strlen(folded); p < number; p++)
    if (*p != ' ' && *p != ':' && *p != '=')
      return;

  const char *unit = strchr(parked->text, ' ');

  wanted.unit = unit ? intake_text(in, "%.*s", (int)strcspn(unit + 1, " "), unit + 1) : NULL;

  struct figure f = intake_figure(number, &wanted, in->arena);

  if (f.state != FIGURE_GIVEN || f.needs_check || f.needs_unit || f.more)
    return;
  VALUE(s, FIELD_WORK) = (struct intake_value){f.text, f.si, column, f.about, false, NULL};
  intake_remark(in, INTAKE_NOTICE, s->row, column, "'%.40s' is read as its flow at work, %s", text,
                f.text);
}

/* What stood in brackets behind a figure is either read, or the figure is not. */
static void settle_brackets(struct intake *in, struct intake_station *s)
{
  for (int v = 0; v < V_COUNT; v++) {
    struct intake_value *value = &s->values[v];

    if (!value->more)
      continue;
    if (v + FIELD_WIDTH == FIELD_PARKED && s->rule == RULE_TWO_STATE) {
      take_high(in, s, value->more, value->column);
      if (VALUE(s, FIELD_WORK).column == value->column && VALUE(s, FIELD_WORK).text)
        continue;
    }
    intake_remark(in, INTAKE_FAULT, s->row, value->column,
                  "'%s (%.40s)': one figure belongs here, and the rest in the remarks", value->text,
                  value->more);
    value->text = NULL;
  }
}

static void drop_pair(struct intake *in, struct intake_station *s, enum intake_field low,
                      enum intake_field high, const char *why)
{
  struct intake_value *a = &VALUE(s, low), *b = &VALUE(s, high);

  if (!a->text || !b->text || a->si <= b->si)
    return;
  intake_remark(in, INTAKE_FAULT, s->row, b->column,
                "%s %s %s: one of the two is wrong, so neither "
                "is used",
                b->text, why, a->text);
  a->text = b->text = NULL;
}

static void settle_rule(struct intake *in, struct intake_station *s)
{
  const struct intake_answer *answer = intake_answer_find(in, "flow rule");
  const struct intake_value *parked = &VALUE(s, FIELD_PARKED), *work = &VALUE(s, FIELD_WORK);

  if (s->rule != RULE_NONE || s->type_refused || (parked->text && work->text))
    return;
  if (answer && answer->text) {
    static const enum intake_rule rules[] = {RULE_FOLLOWS, RULE_TWO_STATE, RULE_CONSTANT};

    s->rule = rules[answer->choice];
  }
}

static void settle_one(struct intake *in, struct intake_station *s)
{
  settle_brackets(in, s);
  if (s->remark && s->rule == RULE_TWO_STATE)
    take_high(in, s, s->remark, s->remark_column);
  drop_pair(in, s, FIELD_MARK, FIELD_TOP, "as far as the sash goes is below the mark,");
  drop_pair(in, s, FIELD_DOWN, FIELD_MARK, "at the mark is below the parked opening,");
  settle_rule(in, s);
  if (s->rule == RULE_CONSTANT)
    s->flow = constant(in, s);
  else if (s->rule == RULE_FOLLOWS)
    s->flow = follows(in, s);
  else if (s->rule == RULE_TWO_STATE)
    s->flow = two_state(in, s);
  else if (s->rule == RULE_PASSIVE)
    s->flow = leave_out(in, s, -1,
                        "nothing controls its flow; describe it as 'passive' in the suite, "
                        "with its branch");
  else if (VALUE(s, FIELD_PARKED).text && VALUE(s, FIELD_WORK).text && !s->type_refused) {
    s->flow = two_state(in, s);
    s->flow_aside = "the list does not say how its flow moves; it gives these two";
  } else {
    s->flow =
        leave_out(in, s, column_number(in, FIELD_TYPE),
                  "nothing says whether its flow follows the sash (VAV), has two speeds or is "
                  "constant");
  }
}

/* Is this value in the rule, or the same as one that is? */
static bool is_used(const struct intake_station *s, const struct intake_value *v)
{
  for (int i = 0; i < s->flow_count; i++) {
    for (int k = 0; k < V_COUNT; k++)
      if (s->values[k].text && s->flow_keys[i].text == s->values[k].text &&
          fabs(s->values[k].si - v->si) <= 1e-9 * v->si)
        return true;
  }
  return false;
}

/* Flows and velocities that a rule has no place for are said once for each column. */
static void say_unused(struct intake *in, enum intake_field field)
{
  const struct intake_station *first = NULL;
  int count = 0;

  for (int i = 0; i < in->station_count; i++) {
    const struct intake_station *s = &in->stations[i];

    if (!s->flow || !VALUE(s, field).text || is_used(s, &VALUE(s, field)))
      continue;
    first = count++ == 0 ? s : first;
  }
  if (count == 0)
    return;
  intake_remark(in, INTAKE_NOTICE, first->row, VALUE(first, field).column,
                count == 1 ? "'%s' of %.40s is not used: the rule of its flow has no place for it"
                           : "'%s' of %.40s is not used, nor that of %d more: the rules of their "
                             "flows have no place for it",
                VALUE(first, field).text, first->written_id, count - 1);
}

/* A room or main of stations that are all left out would touch nothing. */
static int keep_used(const struct intake *in, struct intake_named *list, int count, bool mains)
{
  int kept = 0;

  for (int k = 0; k < count; k++) {
    bool used = false;

    for (int i = 0; i < in->station_count && !used; i++) {
      const struct intake_station *s = &in->stations[i];

      used = s->flow && strcmp(mains ? s->main : s->room, list[k].id) == 0;
    }
    if (used)
      list[kept++] = list[k];
  }
  return kept;
}

void intake_settle_flows(struct intake *in)
{
  for (int i = 0; i < in->station_count; i++)
    settle_one(in, &in->stations[i]);
  for (int field = FIELD_PARKED; field <= FIELD_VELOCITY; field++)
    say_unused(in, (enum intake_field)field);
  in->room_count = keep_used(in, in->rooms, in->room_count, false);
  in->main_count = keep_used(in, in->mains, in->main_count, true);
}
