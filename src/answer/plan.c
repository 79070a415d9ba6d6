#include "answer/answer.h"

#include "base/json.h"

/*
 * The plan as the page draws it.  Numbers are SI with the unit in the key, as
 * everywhere; what the file does not say is null.
 */
static void part(struct json *json, const struct facility_part *part)
{
  json_object(json, NULL);
  json_text(json, "id", part->id);
  json_text(json, "name", part->name);
}

static const char *node_id(const struct facility *facility, int node)
{
  return node < 0 ? NULL : facility_node_id(facility, node);
}

static void ends(struct json *json, const struct facility *facility, int from, int to)
{
  json_text(json, "from", node_id(facility, from));
  json_text(json, "to", node_id(facility, to));
}

static void rooms(struct json *json, const struct facility *facility)
{
  json_array(json, "rooms");
  for (int i = 0; i < facility->room_count; i++) {
    const struct facility_room *room = &facility->rooms[i];

    part(json, &room->part);
    json_number_if(json, "floor_m2", room->has_floor, room->floor_m2);
    json_array(json, "keeps");
    for (int k = 0; k < room->keep_count; k++) {
      const struct facility_keep *keep = &room->keeps[k];

      json_object(json, NULL);
      json_text(json, "over", node_id(facility, keep->over));
      json_number_if(json, "at_least_Pa", keep->has_least, keep->least_Pa);
      json_number_if(json, "at_most_Pa", keep->has_most, keep->most_Pa);
      json_close(json);
    }
    json_close(json);
    json_close(json);
  }
  json_close(json);
}

static void passages(struct json *json, const struct facility *facility)
{
  json_array(json, "doors");
  for (int i = 0; i < facility->door_count; i++) {
    part(json, &facility->doors[i].part);
    ends(json, facility, facility->doors[i].from, facility->doors[i].to);
    json_close(json);
  }
  json_close(json);
  json_array(json, "leaks");
  for (int i = 0; i < facility->leak_count; i++) {
    part(json, &facility->leaks[i].part);
    ends(json, facility, facility->leaks[i].from, facility->leaks[i].to);
    json_close(json);
  }
  json_close(json);
  json_array(json, "ducts");
  for (int i = 0; i < facility->duct_count; i++) {
    part(json, &facility->ducts[i].part);
    ends(json, facility, facility->ducts[i].from, facility->ducts[i].to);
    json_close(json);
  }
  json_close(json);
}

static void criterion(struct json *json, const struct facility *facility, int index)
{
  if (index < 0) {
    json_null(json, "criterion");
    return;
  }
  const struct facility_criterion *criterion = &facility->criteria[index];

  json_object(json, "criterion");
  json_text(json, "id", criterion->part.id);
  json_text(json, "of", criterion->of == FACILITY_OF_FLOW ? "flow" : "face velocity");
  json_number_if(json, "low", criterion->has_low, criterion->low);
  json_number_if(json, "high", criterion->has_high, criterion->high);
  json_text(json, "source", criterion->source);
  json_close(json);
}

static void glass_mark(struct json *json, const struct facility_mark *mark)
{
  const char *colour = facility_colour_name(mark->colour),
             *shape = facility_shape_name(mark->shape);

  if (!colour && !shape && !mark->letter) {
    json_null(json, "glass_mark");
    return;
  }
  json_object(json, "glass_mark");
  json_text(json, "colour", colour);
  json_text(json, "shape", shape);
  json_text(json, "letter", mark->letter);
  json_close(json);
}

static void wear(struct json *json, const struct facility_wear *wear)
{
  if (!wear->what) {
    json_null(json, "wear");
    return;
  }
  json_object(json, "wear");
  json_text(json, "what", wear->what);
  json_text(json, "source", wear->source);
  json_close(json);
}

/* What a card on the wall says, in the same words. */
static void card(struct json *json, const struct facility *facility,
                 const struct facility_card *card)
{
  json_text(json, "chemistry", card->chemistry);
  json_array(json, "not_here");
  for (int i = 0; i < card->not_here_count; i++)
    json_text(json, NULL, card->not_here[i]);
  json_close(json);
  glass_mark(json, &card->mark);
  wear(json, &card->wear);
  json_array(json, "documents");
  for (int i = 0; i < card->document_count; i++) {
    const struct facility_document *document = &card->documents[i];

    json_object(json, NULL);
    json_text(json, "title", document->title);
    json_text(json, "version", document->version);
    json_text(json, "reviewed", document->reviewed);
    json_text(json, "link", document->link);
    json_close(json);
  }
  json_close(json);
  json_text(json, "call", card->call ? card->call : facility->call);
}

static void station(struct json *json, const struct facility *facility,
                    const struct facility_station *station)
{
  part(json, &station->part);
  json_text(json, "kind", facility_kind_name(station->kind));
  json_text(json, "room", node_id(facility, station->room));
  json_text(json, "main", station->main < 0 ? NULL : facility->mains[station->main].part.id);
  json_bool(json, "in_service", station->in_service);
  json_number_if(json, "width_m", station->has_width, station->width_m);
  json_number_if(json, "parked_m", station->has_openings, station->parked_m);
  json_number_if(json, "work_m", station->has_openings, station->work_m);
  json_number_if(json, "most_m", station->has_openings, station->most_m);
  json_number(json, "deck_ratio", station->deck_share_ratio);
  criterion(json, facility, station->criterion);
  card(json, facility, &station->card);
  json_close(json);
}

static void exhausts(struct json *json, const struct facility *facility)
{
  json_array(json, "exhausts");
  for (int i = 0; i < facility->exhaust_count; i++) {
    const struct facility_exhaust *exhaust = &facility->exhausts[i];

    part(json, &exhaust->part);
    ends(json, facility, exhaust->from, exhaust->to);
    json_text(json, "main", exhaust->main < 0 ? NULL : facility->mains[exhaust->main].part.id);
    json_number(json, "flow_m3_s", exhaust->flow_m3_s);
    json_close(json);
  }
  json_close(json);
}

static void plant(struct json *json, const struct facility *facility)
{
  json_array(json, "mains");
  for (int i = 0; i < facility->main_count; i++) {
    const struct facility_main *exhaust_main = &facility->mains[i];

    part(json, &exhaust_main->part);
    json_array(json, "fans");
    for (int k = 0; k < exhaust_main->fan_count; k++)
      json_text(json, NULL, facility->fans[exhaust_main->fans[k]].part.id);
    json_close(json);
    json_close(json);
  }
  json_close(json);
  json_array(json, "fans");
  for (int i = 0; i < facility->fan_count; i++) {
    const struct facility_fan *fan = &facility->fans[i];

    part(json, &fan->part);
    ends(json, facility, fan->from, fan->to);
    json_int(json, "count", fan->count);
    json_close(json);
  }
  json_close(json);
  json_array(json, "supplies");
  for (int i = 0; i < facility->supply_count; i++) {
    const struct facility_supply *supply = &facility->supplies[i];

    part(json, &supply->part);
    json_number_if(json, "most_m3_s", supply->has_most, supply->most_m3_s);
    json_array(json, "feeds");
    for (int k = 0; k < supply->feed_count; k++) {
      json_object(json, NULL);
      json_text(json, "id", supply->feeds[k].part.id);
      json_text(json, "room", node_id(facility, supply->feeds[k].room));
      json_close(json);
    }
    json_close(json);
    json_close(json);
  }
  json_close(json);
}

static void scene_stations(struct json *json, const struct facility *facility,
                           const struct scene *scene)
{
  json_array(json, "stations");
  for (int i = 0; i < facility->station_count; i++) {
    const struct scene_station *state = &scene->stations[i];
    double opening_m;
    bool known = scene_station_opening_m(facility, scene, i, &opening_m);

    json_object(json, NULL);
    json_text(json, "id", facility->stations[i].part.id);
    json_bool(json, "raised", state->raised);
    json_number_if(json, "opening_m", known, known ? opening_m : 0);
    json_bool(json, "unattended", state->unattended);
    json_bool(json, "blocked", state->blocked);
    json_bool(json, "withdrawn", state->withdrawn);
    json_text(json, "needs_flow", state->needs_flow);
    json_number(json, "cover_ratio", state->cover_ratio);
    json_close(json);
  }
  json_close(json);
}

static void scene_plant(struct json *json, const struct facility *facility,
                        const struct scene *scene)
{
  json_array(json, "doors_open");
  for (int i = 0; i < facility->door_count; i++)
    if (scene->door_open[i])
      json_text(json, NULL, facility->doors[i].part.id);
  json_close(json);
  json_array(json, "fans_running");
  for (int i = 0; i < facility->fan_count; i++)
    json_int(json, NULL, scene->fan_running[i]);
  json_close(json);
  json_array(json, "supplies_off");
  for (int i = 0; i < facility->supply_count; i++)
    if (scene->supply_off[i])
      json_text(json, NULL, facility->supplies[i].part.id);
  json_close(json);
}

/* `id` is what ?scene= takes: "" means all parked. */
static void scene(struct json *json, const struct facility *facility, const char *id,
                  const struct scene *scene)
{
  json_object(json, NULL);
  json_text(json, "id", id);
  json_text(json, "note", scene->note);
  scene_stations(json, facility, scene);
  scene_plant(json, facility, scene);
  json_close(json);
}

static void scenes(struct json *json, const struct facility *facility)
{
  struct arena arena;
  struct scene parked;

  arena_init(&arena, 16 << 20);
  parked = scene_parked(facility, &arena);
  json_array(json, "scenes");
  scene(json, facility, "", &parked);
  for (int i = 0; i < facility->scene_count; i++)
    scene(json, facility, facility->scenes[i].name, &facility->scenes[i]);
  json_close(json);
  arena_release(&arena);
}

/* The start scene when it is one that a request can name; else the all-parked one. */
static const char *start_id(const struct facility *facility, const struct scene *start)
{
  const struct scene *named = start->name ? scene_find(facility, start->name) : NULL;

  return named ? named->name : "";
}

void answer_plan_json(const struct facility *facility, const struct scene *start, struct buf *out)
{
  struct json json;

  json_begin(&json, out);
  json_object(&json, NULL);
  json_text(&json, "schema", "inward.plan.1");
  json_text(&json, "suite_sha256", facility->sha256);
  json_text(&json, "name", facility->name);
  json_text(&json, "label", facility->label);
  json_text(&json, "start", start_id(facility, start));
  rooms(&json, facility);
  passages(&json, facility);
  json_array(&json, "stations");
  for (int i = 0; i < facility->station_count; i++)
    station(&json, facility, &facility->stations[i]);
  json_close(&json);
  exhausts(&json, facility);
  plant(&json, facility);
  scenes(&json, facility);
  json_close(&json);
  json_end(&json);
}
