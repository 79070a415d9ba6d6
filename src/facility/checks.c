#include "base/when.h"
#include "facility/reader_impl.h"

#include <string.h>

/*
 * What the table cannot say because it is about two values at once.  A rule
 * looks at its values only when both were read without a complaint.
 */

/* Complains at the value of `key`, or at the part when the value is a default. */
#define AT(reader, record, value, ...)                                                             \
  reader_complain(reader, (record)->who, (value)->tree ? (value)->tree->place : (record)->place,   \
                  (value)->tree ? (value)->tree->width : (record)->width, __VA_ARGS__)

static const char *written(const struct value *value)
{
  return value->tree && value->tree->text ? value->tree->text : "";
}

/* ---- pairs of numbers that must not cross ---- */

static const struct order {
  enum schema_struct_id owner;
  enum schema_key_id low, high;
  bool equal_allowed;
} orders[] = {
    {STRUCT_criterion, KEY_criterion_low, KEY_criterion_high, true},
    {STRUCT_keep, KEY_keep_least, KEY_keep_most, true},
    {STRUCT_threshold, KEY_threshold_leave, KEY_threshold_enter, true},
    {STRUCT_fan_hold, KEY_fan_hold_least, KEY_fan_hold_most, true},
    {STRUCT_feed, KEY_feed_least, KEY_feed_most, true},
    {STRUCT_opening, KEY_opening_parked, KEY_opening_work, false},
    {STRUCT_opening, KEY_opening_work, KEY_opening_most, true},
    {STRUCT_two_state, KEY_two_state_parked, KEY_two_state_work, true},
    {STRUCT_follows, KEY_follows_least, KEY_follows_most, true},
};

static void check_orders(struct reader *reader, const struct record *record)
{
  for (size_t i = 0; i < sizeof orders / sizeof *orders; i++) {
    const struct order *order = &orders[i];

    if (order->owner != record->of)
      continue;

    const struct value *low = record_given(record, order->low),
                       *high = record_given(record, order->high);

    if (!low || !high || low->si < high->si || (order->equal_allowed && low->si <= high->si))
      continue;

    const struct value *at = low->tree ? low : high;

    AT(reader, record, at, "'%s' must %s '%s'; exchange or correct them",
       schema_key_at((int)order->low)->key, order->equal_allowed ? "not be above" : "be below",
       schema_key_at((int)order->high)->key);
  }
}

/* Every record, with what it includes and holds. */
static void walk(struct reader *reader, const struct record *record)
{
  int first = schema_struct_at(record->of)->first;

  check_orders(reader, record);
  for (int row = first; schema_more(record->of, row); row++) {
    const struct value *value = &record->values[row - first];

    for (int i = 0; value->records && i < value->count; i++)
      walk(reader, value->records[i]);
  }
}

/* ---- one kind each ---- */

static void check_ends(struct reader *reader, const struct record *r, enum schema_key_id from_key,
                       enum schema_key_id to_key)
{
  const struct value *from = record_given(r, from_key), *to = record_given(r, to_key);

  if (from && to && from->number == to->number)
    AT(reader, r, to, "it begins and ends at the same node '%s'; give another end", written(to));
}

static void check_criterion(struct reader *reader, const struct record *r)
{
  if (!record_value(r, KEY_criterion_low)->given && !record_value(r, KEY_criterion_high)->given)
    reader_complain(reader, r->who, r->place, r->width, "it has no limit; give low, high or both");
}

static void check_room(struct reader *reader, const struct record *r, int node)
{
  const struct value *keeps = record_value(r, KEY_room_keeps);
  const struct value *height = record_given(r, KEY_room_height);

  if (height && !record_value(r, KEY_room_floor)->given)
    AT(reader, r, height, "a height needs 'floor' to give a volume; add it, or give 'volume'");
  for (int i = 0; keeps->records && i < keeps->count; i++) {
    const struct record *keep = keeps->records[i];
    const struct value *over = keep->bad ? NULL : record_given(keep, KEY_keep_over);

    if (over && over->number == node)
      AT(reader, keep, over, "a room cannot be kept over itself; name its neighbour");
    if (!keep->bad && !record_value(keep, KEY_keep_least)->given &&
        !record_value(keep, KEY_keep_most)->given)
      reader_complain(reader, keep->who, keep->place, keep->width,
                      "it asks for nothing; give 'at least', 'at most' or both");
  }
}

static void check_curve(struct reader *reader, const struct record *r)
{
  const struct value *curve = record_given(r, KEY_fan_curve);

  if (!curve)
    return;
  if (curve->count < 2) {
    AT(reader, r, curve, "a curve needs two points or more");
    return;
  }
  for (int i = 1; i < curve->count; i++)
    if (curve->items[i].at_si <= curve->items[i - 1].at_si) {
      AT(reader, r, &curve->items[i],
         "the flows of a curve must ascend, and '%s' does not follow '%s'; sort the points",
         written(&curve->items[i]), written(&curve->items[i - 1]));
      return;
    }
}

static void check_fan(struct reader *reader, const struct record *r)
{
  const struct value *count = record_given(r, KEY_fan_count),
                     *running = record_given(r, KEY_fan_running);
  const struct record *hold = record_inner(r, KEY_fan_holds);
  const struct value *in = record_given(hold, KEY_fan_hold_in),
                     *over = record_given(hold, KEY_fan_hold_over);

  check_ends(reader, r, KEY_fan_from, KEY_fan_to);
  check_curve(reader, r);
  if (count && running && running->number > count->number)
    AT(reader, r, running, "%d cannot run of %d; lower 'running' or raise 'count'", running->number,
       count->number);
  if (in && over && in->number == over->number)
    AT(reader, hold, in, "'in' and 'over' are the same node; a difference needs two");
}

static void check_capacity(struct reader *reader, const struct record *r)
{
  const struct value *table = r ? record_given(r, KEY_capacity_by_running) : NULL;
  const struct record *near_limit = r ? record_inner(r, KEY_capacity_near_limit) : NULL;
  const struct record *shortage = r ? record_inner(r, KEY_capacity_shortage) : NULL;
  const struct value *low = record_given(near_limit, KEY_threshold_enter);
  const struct value *high = record_given(shortage, KEY_threshold_enter);

  if (near_limit && low && high && low->si > high->si)
    AT(reader, near_limit, low, "near limit begins above short; exchange or correct them");
  for (int i = 1; table && i < table->count; i++)
    if (table->items[i].key_number <= table->items[i - 1].key_number) {
      reader_complain(reader, r->who, table->items[i].tree->key_place,
                      table->items[i].tree->key_width,
                      "the numbers of running fans must ascend; sort the table");
      return;
    }
  if (table && table->count == 0)
    AT(reader, r, table, "the table is empty; give at least one capacity");
}

/* A fan draws on one main only: its flow would count twice. */
static void check_shared_fans(struct reader *reader, const struct record *sections)
{
  const struct value *mains = record_value(sections, KEY_sections_mains);
  const struct value *fans = record_value(sections, KEY_sections_fans);
  const char **owner = ARENA_ARRAY(reader->work, const char *, (size_t)fans->count + 1);

  BUG_IF(!owner);
  for (int i = 0; mains->records && i < mains->count; i++) {
    const struct value *list = record_given(mains->records[i], KEY_main_fans);

    for (int k = 0; !mains->records[i]->unread && list && k < list->count; k++) {
      const char **first = &owner[list->items[k].number];

      if (*first)
        AT(reader, mains->records[i], &list->items[k],
           "fan %s draws on main %s already; a fan belongs to one main", written(&list->items[k]),
           *first);
      else
        *first = mains->records[i]->id;
    }
  }
}

static void check_supply(struct reader *reader, const struct record *r)
{
  const struct value *feeds = record_value(r, KEY_supply_feeds);

  check_capacity(reader, record_inner(r, KEY_supply_capacity));
  if (feeds->given && !feeds->bad && feeds->count == 0)
    AT(reader, r, feeds, "it feeds no room; name at least one");
  for (int i = 0; feeds->records && i < feeds->count; i++) {
    const struct record *feed = feeds->records[i];
    const struct record *hold = feed->bad ? NULL : record_inner(feed, KEY_feed_holds);
    const struct value *over = record_given(hold, KEY_feed_hold_over);

    if (hold && over && over->number == feed->key_number)
      AT(reader, hold, over, "a room cannot be held over itself; name its neighbour");
  }
}

static const struct record *main_of(const struct record *sections, const struct value *ref)
{
  const struct value *mains = record_value(sections, KEY_sections_mains);

  return ref && mains->records && ref->number < mains->count ? mains->records[ref->number] : NULL;
}

static void check_exhaust(struct reader *reader, const struct record *r)
{
  check_ends(reader, r, KEY_exhaust_from, KEY_exhaust_to);
  if (!record_value(r, KEY_exhaust_main)->given && !record_value(r, KEY_exhaust_to)->given)
    reader_complain(reader, r->who, r->place, r->width,
                    "it goes nowhere; give 'main', or 'to', or both");
}

/* What it can draw parked at most; NULL: its rule does not say. */
static const struct value *parked_flow(const struct record *rule)
{
  int form = rule ? record_form(rule, 0) : FORM_NONE;

  if (form == FORM_flow_rule_constant)
    return record_given(rule, KEY_flow_rule_constant);
  if (form == FORM_flow_rule_two_state)
    return record_given(record_inner(rule, KEY_flow_rule_two_state), KEY_two_state_parked);
  if (form == FORM_flow_rule_follows)
    return record_given(record_inner(rule, KEY_flow_rule_follows), KEY_follows_most);
  return NULL;
}

/* Always on: what leaves through the deck with nothing open cannot be more than the station draws. */
static void check_deck_flow(struct reader *reader, const struct record *r)
{
  const struct record *deck = record_inner(r, KEY_station_deck_flow);
  const struct value *least = deck ? record_given(deck, KEY_deck_flow_least) : NULL;
  const struct value *share = record_given(r, KEY_station_deck);
  const struct value *parked = parked_flow(record_inner(r, KEY_station_flow));

  if (least && share && share->si <= 0)
    AT(reader, deck, least, "no air of it enters through a deck; give it 'deck' or remove this");
  else if (least && parked && parked->si < least->si)
    AT(reader, deck, least,
       "with nothing open it draws less than that in all: its deck flow would never hold; which "
       "figure is wrong?");
}

static void check_station(struct reader *reader, const struct record *r)
{
  const struct record *rule = record_inner(r, KEY_station_flow);
  bool follows = rule && record_form(rule, 0) == FORM_flow_rule_follows;
  bool passive = rule && record_form(rule, 0) == FORM_flow_rule_passive;
  const char *what = follows ? "a flow that follows the opening" : "a passive station";

  check_deck_flow(reader, r);
  if (!follows && !passive)
    return;
  if (!record_value(r, KEY_station_width)->given)
    reader_complain(reader, r->who, r->place, r->width, "%s needs 'width'; add it", what);
  if (!record_value(r, KEY_station_opening)->given)
    reader_complain(reader, r->who, r->place, r->width, "%s needs 'opening'; add it", what);
  if (passive && !record_value(r, KEY_station_branch)->given)
    reader_complain(reader, r->who, r->place, r->width, "%s needs 'branch'; add it", what);
}

static void check_passive_main(struct reader *reader, const struct record *sections,
                               const struct record *r)
{
  const struct record *rule = record_inner(r, KEY_station_flow);
  const struct value *ref = record_given(r, KEY_station_main);
  const struct record *main = main_of(sections, ref);

  if (!rule || record_form(rule, 0) != FORM_flow_rule_passive || !main ||
      record_value(main, KEY_main_at)->given || record_value(r, KEY_station_joins)->given)
    return;
  AT(reader, r, ref,
     "a passive station needs a main with a network; give the main 'at', or the station 'joins'");
}

/* ---- scenes ---- */

static const struct record *station_at(const struct record *sections, int index)
{
  const struct value *stations = record_value(sections, KEY_sections_stations);

  return stations->records && index < stations->count ? stations->records[index] : NULL;
}

static void check_sash(struct reader *reader, const struct record *sections,
                       const struct record *scene, const struct value *item)
{
  const struct record *station = station_at(sections, item->key_number);

  if (!station || item->number >= 0 || station->bad)
    return;

  const struct record *opening = record_inner(station, KEY_station_opening);

  if (!record_value(station, KEY_station_opening)->given) {
    AT(reader, scene, item, "station %s has no 'opening'; write parked or work, or add its opening",
       station->id);
    return;
  }

  const struct value *most = record_given(opening, KEY_opening_most);

  if (!most)
    most = record_given(opening, KEY_opening_work);
  if (most && item->si > most->si + 1e-9)
    AT(reader, scene, item, "the sash of station %s goes to %.4g m only; lower this", station->id,
       most->si);
}

static void check_cover(struct reader *reader, const struct record *sections,
                        const struct record *scene, const struct value *item)
{
  const struct record *station = station_at(sections, item->key_number);
  const struct value *deck =
      station && !station->unread ? record_given(station, KEY_station_deck) : NULL;

  if (deck && deck->si <= 0)
    AT(reader, scene, item, "station %s has no deck to cover; give it 'deck' or remove this",
       station->id);
}

static void check_off(struct reader *reader, const struct record *sections,
                      const struct record *scene, const struct value *item)
{
  const struct value *fans = record_value(sections, KEY_sections_fans);

  if (item->bad || item->kind != ID_FAN || item->unit < 0 || !fans->records ||
      item->number >= fans->count)
    return;

  const struct value *count = record_given(fans->records[item->number], KEY_fan_count);

  if (count && item->unit >= count->number)
    AT(reader, scene, item, "there is no unit %d; the fan has %d", item->unit + 1, count->number);
}

static void check_scene(struct reader *reader, const struct record *sections,
                        const struct record *r)
{
  const struct value *openings = record_value(r, KEY_scene_openings);
  const struct value *off = record_value(r, KEY_scene_off);
  const struct value *covered = record_value(r, KEY_scene_covered);

  for (int i = 0; i < covered->count; i++)
    if (!covered->items[i].bad)
      check_cover(reader, sections, r, &covered->items[i]);
  for (int i = 0; i < openings->count; i++)
    if (!openings->items[i].bad)
      check_sash(reader, sections, r, &openings->items[i]);
  for (int i = 0; i < off->count; i++)
    check_off(reader, sections, r, &off->items[i]);
}

/* ---- other files ---- */

/* Relative, and not out of the suite's folder by any step. */
bool reader_stays_inside(const char *path)
{
  if (path[0] == '/' || strchr(path, '\\') || strchr(path, ':'))
    return false;
  for (const char *step = path; step; step = strchr(step, '/')) {
    step += *step == '/';
    if (strncmp(step, "..", 2) == 0 && (step[2] == '/' || step[2] == '\0'))
      return false;
  }
  return true;
}

static void check_files(struct reader *reader, const struct record *files)
{
  if (!files)
    return;
  for (int key = KEY_files_feeds; key <= KEY_files_criteria; key++) {
    const struct value *path = record_given(files, (enum schema_key_id)key);

    if (path && !reader_stays_inside(path->text))
      AT(reader, files, path,
         "'%s' leads out of the suite's folder; give a relative path inside it",
         tree_shown(reader->work, path->text));
  }
}

static void check_day(struct reader *reader, const struct record *day)
{
  const struct value *path = day ? record_given(day, KEY_day_bookings) : NULL;

  if (path && !reader_stays_inside(path->text))
    AT(reader, day, path, "'%s' leads out of the suite's folder; give a relative path inside it",
       tree_shown(reader->work, path->text));
  if (day && record_si(day, KEY_day_to) <= record_si(day, KEY_day_from))
    AT(reader, day, record_value(day, KEY_day_to), "'to' must be later in the day than 'from'");
}

static void check_zone(struct reader *reader, const struct record *site)
{
  const struct value *zone = site ? record_given(site, KEY_site_zone) : NULL;

  if (zone && !when_zone_name_fits(zone->text))
    AT(reader, site, zone, "'%s' is no zone; write UTC or a name such as Europe/Paris",
       tree_shown(reader->work, zone->text));
}

static void check_round_item(struct reader *reader, const struct value *items, int i)
{
  const struct record *r = items->records[i];
  const struct value *id = record_given(r, KEY_round_item_id);

  if (!id)
    return;
  if (!reader_id_fits(id->text) || strcmp(id->text, "all") == 0)
    AT(reader, r, id, "'%s' is no short word for an item; write one such as deck",
       tree_shown(reader->work, id->text));
  for (int k = 0; k < i; k++) {
    const struct value *before = record_given(items->records[k], KEY_round_item_id);

    if (before && strcmp(before->text, id->text) == 0)
      AT(reader, r, id, "an item '%s' stands above; give this one another id",
         tree_shown(reader->work, id->text));
  }
}

static void check_rounds(struct reader *reader, const struct record *rounds)
{
  const struct value *items = rounds ? record_given(rounds, KEY_rounds_items) : NULL;

  if (!items)
    return;
  if (items->count > FACILITY_ROUND_ITEMS_MOST)
    AT(reader, rounds, items, "%d items; a round looks at most at %d", items->count,
       FACILITY_ROUND_ITEMS_MOST);
  for (int i = 0; i < items->count; i++)
    check_round_item(reader, items, i);
}

static void check_readiness(struct reader *reader, const struct record *readiness)
{
  const struct value *proofs = readiness ? record_given(readiness, KEY_readiness_proofs) : NULL;

  if (proofs && proofs->count > FACILITY_PROOFS_MOST)
    AT(reader, readiness, proofs, "%d proofs; at most %d are kept in view", proofs->count,
       FACILITY_PROOFS_MOST);
}

/* ---- all ---- */

static void check_kind(struct reader *reader, const struct record *sections, enum schema_key_id key)
{
  const struct value *parts = record_value(sections, key);

  for (int i = 0; parts->records && i < parts->count; i++) {
    const struct record *r = parts->records[i];

    if (r->unread)
      continue;
    switch ((int)r->of) {
    case STRUCT_criterion:
      check_criterion(reader, r);
      break;
    case STRUCT_room:
      check_room(reader, r, i);
      break;
    case STRUCT_leak:
      check_ends(reader, r, KEY_leak_from, KEY_leak_to);
      break;
    case STRUCT_door:
      check_ends(reader, r, KEY_door_from, KEY_door_to);
      break;
    case STRUCT_duct:
      check_ends(reader, r, KEY_duct_from, KEY_duct_to);
      break;
    case STRUCT_fan:
      check_fan(reader, r);
      break;
    case STRUCT_main:
      check_capacity(reader, record_inner(r, KEY_main_capacity));
      break;
    case STRUCT_supply:
      check_supply(reader, r);
      break;
    case STRUCT_exhaust:
      check_exhaust(reader, r);
      break;
    case STRUCT_station:
      check_station(reader, r);
      check_passive_main(reader, sections, r);
      break;
    case STRUCT_scene:
      check_scene(reader, sections, r);
      break;
    default:
      break;
    }
  }
}

static void check_match(struct reader *reader, const struct record *match)
{
  const struct value *at = match ? record_given(match, KEY_match_nightly) : NULL;

  if (at && !at->bad && reader_minute_of(at->text) < 0)
    AT(reader, match, at, "'%.20s' is no time of day; write it as 03:00", at->text);
}

void reader_check(struct reader *reader, const struct record *sections)
{
  const struct value *rooms = record_value(sections, KEY_sections_rooms);
  const struct value *junctions = record_value(sections, KEY_sections_junctions);

  walk(reader, sections);
  for (int key = KEY_sections_criteria; key <= KEY_sections_scenes; key++)
    check_kind(reader, sections, (enum schema_key_id)key);
  if (rooms->count == 0 && junctions->count == 0 && !rooms->bad && !junctions->bad)
    reader_complain(reader, NULL, sections->place, sections->width,
                    "the suite has neither a room nor a junction; add one under 'rooms' or "
                    "'junctions'");
  check_shared_fans(reader, sections);
  check_files(reader, record_inner(sections, KEY_sections_files));
  check_zone(reader, record_inner(sections, KEY_sections_site));
  check_day(reader, record_inner(sections, KEY_sections_day));
  check_rounds(reader, record_inner(sections, KEY_sections_rounds));
  check_readiness(reader, record_inner(sections, KEY_sections_readiness));
  check_match(reader, record_inner(sections, KEY_sections_match));
  reader_check_sealed(reader, sections);
}
