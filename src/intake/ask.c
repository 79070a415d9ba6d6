#include "intake/intake_impl.h"

#include "base/spelling.h"
#include "base/utf8.h"

#include <string.h>

/*
 * Questions and answers.  Which are open follows from a reading of the rows without answers; the
 * five of lowest rank are asked.
 */
enum { RANK_OF_TOTALS = 40 };

struct asked {
  const char *key;
  enum intake_answer_kind kind;
  enum units_dimension dimension;
  const char *words, *said;
  int rank; /* 0: a setting, never asked */
  const char *ask, *find, *hint;
};

static const struct asked fixed[] = {
    {"name", ANSWER_TEXT, UNITS_NOTHING, NULL, NULL, 0, "What is the place called?", "",
     "Wet lab 2"},
    {"label", ANSWER_TEXT, UNITS_NOTHING, NULL, NULL, 0, "A word printed on everything", "",
     "DRAFT"},
    {"schema", ANSWER_TEXT, UNITS_NOTHING, NULL, NULL, 0,
     "Where the JSON Schema for editors lies, from the suite's place", "", "suite.schema.json"},
    {"room", ANSWER_TEXT, UNITS_NOTHING, NULL, NULL, 0,
     "What is the room called, where the list has no column for it?", "", "Wet"},
    {"supply", ANSWER_TEXT, UNITS_NOTHING, NULL, NULL, 0, "What is the make-up unit called?", "",
     "MU1"},
    {"flow rule", ANSWER_WORD, UNITS_NOTHING, "follows opening|two flows|constant",
     "'follows opening', 'two flows' or 'constant'", 5,
     "What does the flow of the stations do whose type does not say it?",
     "the control valve's label, or try it: does the flow change with every movement of the sash "
     "(follows opening), once when it leaves the sill (two flows), or never (constant)?",
     "follows opening"},
    {"thousands mark", ANSWER_WORD, UNITS_NOTHING, "thousands|decimal", "'thousands' or 'decimal'",
     15,
     "In figures like 1.450 or 1,450: does the mark part thousands (thousands: 1450) or decimals "
     "(decimal: 1.45)?",
     "compare one such figure with the balancing report", "thousands"},
    {"exhaust mains", ANSWER_WORD, UNITS_NOTHING, "one|by chemistry", "'one' or 'by chemistry'", 20,
     "Do acids and bases share one exhaust main and solvents another (by chemistry), or do all share "
     "one (one)?",
     "the duct plan, or the number of exhaust fans on the roof and what is written on them",
     "by chemistry"},
    {"supply maximum", ANSWER_QUANTITY, UNITS_FLOW, NULL, NULL, 30,
     "What is the most the make-up air unit gives?",
     "balancing report, row of the make-up unit, remark 'max'; or its name plate",
     "15600 m3/h \302\261 10 %"},
    {"face velocity", ANSWER_QUANTITY, UNITS_VELOCITY, NULL, NULL, 50,
     "What face velocity are the stations set for whose flow follows the sash?",
     "the last face velocity test, or the controller's set point", "0.5 m/s"},
    {"supplied minus exhausted", ANSWER_QUANTITY, UNITS_FLOW, NULL, NULL, 60,
     "With all sashes down and all doors shut: how much more is supplied than exhausted?",
     "balancing report: total supply less total exhaust, in the row for rooms or all at idle",
     "600 m3/h \302\261 50 %"},
};

static struct intake_answer *find(struct intake *in, const char *key)
{
  for (int i = 0; i < in->answer_count; i++)
    if (strcmp(in->answers[i].question.key, key) == 0)
      return &in->answers[i];
  return NULL;
}

const struct intake_answer *intake_answer_find(const struct intake *in, const char *key)
{
  for (int i = 0; i < in->answer_count; i++)
    if (strcmp(in->answers[i].question.key, key) == 0)
      return &in->answers[i];
  return NULL;
}

const char *intake_said(struct intake *in, const char *key)
{
  struct intake_answer *a = find(in, key);

  return a ? a->text : NULL;
}

static struct intake_answer *add(struct intake *in, struct intake_answer answer)
{
  struct intake_answer *there = find(in, answer.question.key);

  if (there || in->answer_count == MOST_ANSWERS)
    return there;
  in->answers[in->answer_count] = answer;
  return &in->answers[in->answer_count++];
}

static void add_fixed(struct intake *in)
{
  for (size_t i = 0; i < sizeof fixed / sizeof fixed[0]; i++)
    add(in, (struct intake_answer){
                .question = {fixed[i].key, fixed[i].ask, fixed[i].find, fixed[i].hint, false},
                .kind = fixed[i].kind,
                .dimension = fixed[i].dimension,
                .words = fixed[i].words,
                .said = fixed[i].said,
                .rank = fixed[i].rank});
}

/* ---- what is open ---- */

static void open_one(struct intake *in, const char *key, bool open)
{
  struct intake_answer *a = find(in, key);

  if (a)
    a->open = open;
}

static bool lacks_velocity(const struct intake_station *s)
{
  return s->rule == RULE_FOLLOWS && !VALUE(s, FIELD_VELOCITY).text && VALUE(s, FIELD_WIDTH).text &&
         VALUE(s, FIELD_MARK).text && !VALUE(s, FIELD_WORK).text;
}

/* Two flows say enough, and a type that is not understood is not asked for but mended. */
static bool lacks_rule(const struct intake_station *s)
{
  return s->rule == RULE_NONE && !s->type_refused &&
         !(VALUE(s, FIELD_PARKED).text && VALUE(s, FIELD_WORK).text);
}

/* The question about the flow rule says of whom it is. */
static void name_the_ruleless(struct intake *in)
{
  enum { NAMED = 6 };
  struct buf names;
  int count = 0, named = 0;

  for (int i = 0; i < in->station_count; i++)
    count += lacks_rule(&in->stations[i]);
  if (count == 0)
    return;
  buf_init(&names, 400);
  for (int i = 0; i < in->station_count && named < NAMED; i++)
    if (lacks_rule(&in->stations[i]))
      buf_printf(&names, "%s%s", named++ > 0 ? ", " : "", in->stations[i].id);
  if (count > named)
    buf_printf(&names, " and %d more", count - named);
  find(in, "flow rule")->question.ask =
      intake_text(in,
                  "What does the flow of these do, whose type does not say it: %s? One answer "
                  "holds for all; where they differ, write it into the column of types.",
                  names.text);
  buf_release(&names);
}

static bool has_family(const struct intake *in, int family)
{
  for (int i = 0; i < in->station_count; i++)
    if ((int)intake_family_of(&in->stations[i]) == family)
      return true;
  return false;
}

static void add_units(struct intake *in)
{
  for (int i = 0; i < in->table.column_count; i++) {
    struct intake_column *c = &in->table.columns[i];
    enum units_dimension dimension = intake_dimension(c->field);
    struct buf units;

    if (c->field < FIELD_WIDTH || c->field > FIELD_VELOCITY || c->unit)
      continue;
    buf_init(&units, 200);
    units_list(dimension, &units);
    add(in, (struct intake_answer){
                .question = {intake_text(in, "unit of column %s", c->letters),
                             intake_text(in, "In which unit are the figures of column %s, '%.40s'?",
                                         c->letters, c->header),
                             intake_text(in,
                                         "measure one, or compare one with the balancing report "
                                         "(%.120s)",
                                         units.text),
                             dimension == UNITS_LENGTH ? "m"
                             : dimension == UNITS_FLOW ? "m3/h"
                                                       : "m/s",
                             false},
                .kind = ANSWER_UNIT,
                .dimension = dimension,
                .rank = dimension == UNITS_FLOW ? 10 : 45,
                .column = i});
    buf_release(&units);
  }
}

static void add_totals(struct intake *in)
{
  for (int i = 0; i < in->main_count; i++) {
    const char *key = intake_text(in, "exhaust total, %s", in->mains[i].id);

    if (strcmp(in->mains[i].written, INTAKE_NO_MAIN) == 0)
      continue; /* no report has a row for it */
    add(in, (struct intake_answer){
                .question = {key,
                             intake_text(in, "What is the most the exhaust main %s draws?",
                                         in->mains[i].id),
                             "balancing report: total at the fan with all stations at the mark; or "
                             "the sum of its terminals; or the fan's name plate",
                             "9000 m3/h \302\261 10 %", false},
                .kind = ANSWER_QUANTITY,
                .dimension = UNITS_FLOW,
                .rank = RANK_OF_TOTALS});
    open_one(in, key, !in->beside_suite);
  }
}

static void close_all(struct intake *in)
{
  for (int i = 0; i < in->answer_count; i++)
    in->answers[i].open = false;
}

/* A suite that is there says these itself. */
static void open_plant(struct intake *in)
{
  static const char *const keys[] = {
      "supply maximum", "supplied minus exhausted", "name", "label", "schema", "supply"};

  for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
    open_one(in, keys[i], !in->beside_suite);
  add_totals(in);
}

/* The rows are read as if the questions were over, so far as they were answered. */
void intake_open_questions(struct intake *in)
{
  bool velocity = false, rule = false;

  add_fixed(in);
  add_units(in);
  close_all(in);
  intake_read_stations(in); /* opens those about units and marks */
  for (int i = 0; i < in->station_count; i++) {
    velocity |= lacks_velocity(&in->stations[i]);
    rule |= lacks_rule(&in->stations[i]);
  }
  name_the_ruleless(in);
  open_one(in, "face velocity", velocity || (rule && intake_column_of(in, FIELD_MARK)));
  open_one(in, "flow rule", rule);
  open_one(in, "room", !intake_column_of(in, FIELD_ROOM));
  open_one(in, "exhaust mains",
           !intake_column_of(in, FIELD_MAIN) && has_family(in, FAMILY_ACID) &&
               has_family(in, FAMILY_SOLVENT));
  open_plant(in);
}

void intake_beside_suite(struct intake *in)
{
  in->beside_suite = true;
  intake_open_questions(in);
}

/* ---- asking ---- */

/* A figure for each main is one question, and so is a unit for each column of one kind. */
static bool is_begun(const struct intake *in, const struct intake_answer *a)
{
  if (a->rank != RANK_OF_TOTALS && a->kind != ANSWER_UNIT)
    return a->asked;
  for (int i = 0; i < in->answer_count; i++)
    if (in->answers[i].asked && in->answers[i].rank == a->rank)
      return true;
  return false;
}

const struct intake_question *intake_next(struct intake *in)
{
  struct intake_answer *best = NULL;

  for (int i = 0; i < in->answer_count; i++) {
    struct intake_answer *a = &in->answers[i];

    if (a->open && !a->answered && a->rank > 0 && (!best || a->rank < best->rank) &&
        (in->asked < INTAKE_QUESTIONS || is_begun(in, a)))
      best = a;
  }
  if (!best)
    return NULL;
  best->question.same = !best->asked && is_begun(in, best);
  in->asked += !is_begun(in, best);
  best->asked = true;
  return &best->question;
}

/* ---- answering ---- */

static bool is_not_known(const char *text)
{
  static const struct intake_word words[] = {{"", 0},
                                             {"don t know", 0},
                                             {"dont know", 0},
                                             {"do not know", 0},
                                             {"not known", 0},
                                             {"i don t know", 0},
                                             {"i do not know", 0},
                                             {"idk", 0},
                                             {"unknown", 0},
                                             {"?", 0},
                                             {"no idea", 0},
                                             {"weiss nicht", 0},
                                             {"skip", 0},
                                             {NULL, 0}};
  char folded[60];

  intake_fold(text, folded, sizeof folded);
  return intake_word_find(words, folded) >= 0 && strlen(text) < 40;
}

static enum err_code take_word(struct intake_answer *a, const char *text, struct err *err)
{
  int index = 0;
  char folded[60];

  intake_fold(text, folded, sizeof folded);
  for (const char *p = a->words; *p != '\0'; index++) {
    size_t length = strcspn(p, "|");

    if (strlen(folded) == length && strncmp(p, folded, length) == 0) {
      a->choice = index;
      return ERR_OK;
    }
    p += length;
    p += *p == '|';
  }
  return err_set(err, ERR_INPUT, "'%.40s' is no answer to this; give %s, or don't know", text,
                 a->said);
}

static enum err_code take_quantity(const struct intake_answer *a, const char *text, struct err *err)
{
  struct units_quantity got;
  struct err inner = {0};

  if (units_parse(text, a->dimension, UNITS_NOTHING, &got, &inner) != ERR_OK)
    return err_set(err, ERR_INPUT, "'%.40s': %.120s", text, inner.text);
  if (got.si <= 0.0)
    return err_set(err, ERR_INPUT, "'%.40s': a figure above zero is needed", text);
  if ((a->dimension == UNITS_FLOW && got.si > 1e4) ||
      (a->dimension == UNITS_VELOCITY && got.si > 10.0))
    return err_set(err, ERR_INPUT, "'%.40s' is beyond any plant; look at its unit", text);
  return ERR_OK;
}

static enum err_code take_answer(struct intake *in, struct intake_answer *a, const char *text,
                                 struct err *err)
{
  enum err_code code = ERR_OK;

  if (is_not_known(text)) {
    text = NULL;
  } else if (a->kind == ANSWER_WORD) {
    code = take_word(a, text, err);
  } else if (a->kind == ANSWER_QUANTITY) {
    code = take_quantity(a, text, err);
  } else if (a->kind == ANSWER_UNIT) {
    const char *unit = intake_unit(text, a->dimension);

    if (!unit)
      code = err_set(err, ERR_INPUT, "'%.40s' is no unit of this column; %.120s", text,
                     a->question.find);
    else
      in->table.columns[a->column].unit = intake_text(in, "%s", unit);
  } else if (strlen(text) > 200 || utf8_fault(text) || strpbrk(text, "\n\t\r")) {
    code = err_set(err, ERR_INPUT, "a text of one line and at most 200 bytes is needed");
  }
  if (code != ERR_OK)
    return code;
  a->text = text ? intake_text(in, "%s", text) : NULL;
  a->answered = true;
  a->used |= a->open; /* answered, it may not be open any more */
  return ERR_OK;
}

enum err_code intake_answer(struct intake *in, const char *key, const char *text, struct err *err)
{
  struct intake_answer *a = find(in, key);

  if (!a)
    return err_set(err, ERR_INPUT, "there is no question '%.40s' for this list", key);

  enum err_code code = take_answer(in, a, text, err);

  if (code == ERR_OK)
    intake_open_questions(in);
  return code;
}

/* ---- a file of answers ---- */

struct line {
  const char *key, *value;
  struct place place, value_place;
};

static const char *nearest_key(const struct intake *in, const char *key)
{
  const char *near = NULL;
  int best = 4;

  for (int i = 0; i < in->answer_count; i++) {
    int distance = spelling_distance(key, strlen(key), in->answers[i].question.key, 3);

    if (distance < best) {
      best = distance;
      near = in->answers[i].question.key;
    }
  }
  return near;
}

static void list_keys(const struct intake *in, struct buf *out)
{
  for (int i = 0; i < in->answer_count; i++)
    if (in->answers[i].open)
      buf_printf(out, "%s'%s'", out->used ? ", " : "", in->answers[i].question.key);
}

static void complain_key(struct intake *in, const struct line *line, struct complaints *complaints)
{
  const char *near = nearest_key(in, line->key);
  struct buf keys;

  buf_init(&keys, 400);
  list_keys(in, &keys);
  if (near)
    complaints_add(complaints, line->place, utf8_count(line->key, strlen(line->key)),
                   "'%.40s' is no question of this list; did you mean '%s'?", line->key, near);
  else
    complaints_add(complaints, line->place, utf8_count(line->key, strlen(line->key)),
                   "'%.40s' is no question of this list; there are: %s", line->key, keys.text);
  buf_release(&keys);
}

static void apply_line(struct intake *in, const struct line *line, struct complaints *complaints)
{
  struct intake_answer *a = find(in, line->key);
  struct err err = {0};

  if (!a) {
    complain_key(in, line, complaints);
    return;
  }
  if (a->place.line > 0) {
    complaints_add(complaints, line->place, utf8_count(line->key, strlen(line->key)),
                   "'%.40s' is answered twice, first on line %d; keep one", line->key,
                   a->place.line);
    return;
  }
  a->place = line->place;
  if (intake_answer(in, line->key, line->value, &err) != ERR_OK)
    complaints_add(complaints, line->value_place, utf8_count(line->value, strlen(line->value)),
                   "%s", err.text);
}

static const char *part_of(struct intake *in, const char *begin, const char *end)
{
  while (begin < end && (*begin == ' ' || *begin == '\t'))
    begin++;
  while (end > begin && strchr(" \t\r", end[-1]))
    end--;
  if (end - begin >= 2 && *begin == '"' && end[-1] == '"')
    return intake_text(in, "%.*s", (int)(end - begin - 2), begin + 1);
  return intake_text(in, "%.*s", (int)(end - begin), begin);
}

/* False for a line that says nothing. */
static bool read_line(struct intake *in, const char *file, int number, const char *begin,
                      const char *end, struct complaints *complaints, struct line *out)
{
  const char *comment = begin, *colon, *first = begin;

  while (first < end && (*first == ' ' || *first == '\t' || *first == '\r'))
    first++;
  if (first == end || *first == '#')
    return false;
  while (comment < end && !(*comment == '#' && comment > begin && comment[-1] == ' '))
    comment++;
  colon = memchr(begin, ':', (size_t)(comment - begin));
  out->place = (struct place){file, number, utf8_count(begin, (size_t)(first - begin)) + 1};
  if (!colon || colon == first) {
    complaints_add(complaints, out->place, 1,
                   "'key: answer' is needed on each line, as in 'supply maximum: 15600 m3/h'");
    return false;
  }
  out->key = part_of(in, first, colon);
  out->value = part_of(in, colon + 1, comment);
  for (first = colon + 1; first < comment && *first == ' '; first++)
    ;
  out->value_place = (struct place){file, number, utf8_count(begin, (size_t)(first - begin)) + 1};
  return true;
}

bool intake_answers(struct intake *in, const struct facility_text *file,
                    struct complaints *complaints)
{
  enum { MOST_LINES = 400 };
  struct line *lines = ARENA_ARRAY(in->arena, struct line, MOST_LINES);
  const char *text =
      intake_text(in, "%.*s", (int)(file->size < 1 << 16 ? file->size : 1 << 16), file->bytes);
  int before = complaints->count + complaints->dropped, count = 0, number = 1;

  BUG_IF(!lines);
  if (file->size >= 1 << 16 || utf8_fault(text) || strlen(text) != file->size) {
    complaints_add(complaints, (struct place){.file = file->file}, 0,
                   "answers are lines of plain text in UTF-8, 64 kB at most; this file is not");
    return false;
  }
  for (const char *at = text; *at != '\0' && count < MOST_LINES; number++) {
    const char *end = at + strcspn(at, "\n");

    count += read_line(in, file->file, number, at, end, complaints, &lines[count]);
    at = end + (*end == '\n');
  }
  for (int pass = 0; pass < 2; pass++) /* the mains first: other questions hang on them */
    for (int i = 0; i < count; i++)
      if ((strcmp(lines[i].key, "exhaust mains") == 0) == (pass == 0))
        apply_line(in, &lines[i], complaints);
  complaints_sort(complaints);
  return complaints->count + complaints->dropped == before;
}

int intake_replies(const struct intake *in, const struct intake_reply **out)
{
  struct intake_reply *list = ARENA_ARRAY(in->arena, struct intake_reply, MOST_ANSWERS);
  int count = 0;

  BUG_IF(!list);
  for (int i = 0; i < in->answer_count; i++) {
    const struct intake_answer *a = &in->answers[i];

    if (a->answered || (a->open && a->rank > 0))
      list[count++] = (struct intake_reply){a->question.key, a->text, a->asked, a->used || a->open};
  }
  *out = list;
  return count;
}
