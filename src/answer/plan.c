#include "answer/answer.h"

#include "base/emit.h"

/*
 * The plan as the page draws it.  Numbers are SI with the unit in the key, as
 * everywhere; what the file does not say is null.
 */
static void part(struct emit *json, const struct facility_part *part)
{
  emit_object(json, NULL);
  emit_text(json, "id", part->id);
  emit_text(json, "name", part->name);
}

static const char *node_id(const struct facility *facility, int node)
{
  return node < 0 ? NULL : facility_node_id(facility, node);
}

static void ends(struct emit *json, const struct facility *facility, int from, int to)
{
  emit_text(json, "from", node_id(facility, from));
  emit_text(json, "to", node_id(facility, to));
}

static void rooms(struct emit *json, const struct facility *facility)
{
  emit_array(json, "rooms");
  for (int i = 0; i < facility->room_count; i++) {
    const struct facility_room *room = &facility->rooms[i];

    part(json, &room->part);
    emit_number_if(json, "floor_m2", room->has_floor, room->floor_m2);
    emit_array(json, "keeps");
    for (int k = 0; k < room->keep_count; k++) {
      const struct facility_keep *keep = &room->keeps[k];

      emit_object(json, NULL);
      emit_text(json, "over", node_id(facility, keep->over));
      emit_number_if(json, "at_least_Pa", keep->has_least, keep->least_Pa);
      emit_number_if(json, "at_most_Pa", keep->has_most, keep->most_Pa);
      emit_close(json);
    }
    emit_close(json);
    emit_close(json);
  }
  emit_close(json);
}

static void passages(struct emit *json, const struct facility *facility)
{
  emit_array(json, "doors");
  for (int i = 0; i < facility->door_count; i++) {
    part(json, &facility->doors[i].part);
    ends(json, facility, facility->doors[i].from, facility->doors[i].to);
    emit_close(json);
  }
  emit_close(json);
  emit_array(json, "leaks");
  for (int i = 0; i < facility->leak_count; i++) {
    part(json, &facility->leaks[i].part);
    ends(json, facility, facility->leaks[i].from, facility->leaks[i].to);
    emit_close(json);
  }
  emit_close(json);
  emit_array(json, "ducts");
  for (int i = 0; i < facility->duct_count; i++) {
    part(json, &facility->ducts[i].part);
    ends(json, facility, facility->ducts[i].from, facility->ducts[i].to);
    emit_close(json);
  }
  emit_close(json);
}

static void criterion(struct emit *json, const struct facility *facility, int index)
{
  if (index < 0) {
    emit_null(json, "criterion");
    return;
  }
  const struct facility_criterion *criterion = &facility->criteria[index];

  emit_object(json, "criterion");
  emit_text(json, "id", criterion->part.id);
  emit_text(json, "of", criterion->of == FACILITY_OF_FLOW ? "flow" : "face velocity");
  emit_number_if(json, "low", criterion->has_low, criterion->low);
  emit_number_if(json, "high", criterion->has_high, criterion->high);
  emit_text(json, "source", criterion->source);
  emit_close(json);
}

static void glass_mark(struct emit *json, const struct facility_mark *mark)
{
  const char *colour = mark_colour_name(mark->colour), *shape = mark_shape_name(mark->shape);

  if (!colour && !shape && !mark->letter) {
    emit_null(json, "glass_mark");
    return;
  }
  emit_object(json, "glass_mark");
  emit_text(json, "colour", colour);
  emit_text(json, "shape", shape);
  emit_text(json, "letter", mark->letter);
  emit_close(json);
}

static void wear(struct emit *json, const struct facility_wear *wear)
{
  if (!wear->what) {
    emit_null(json, "wear");
    return;
  }
  emit_object(json, "wear");
  emit_text(json, "what", wear->what);
  emit_text(json, "source", wear->source);
  emit_close(json);
}

/* What a card on the wall says, in the same words. */
static void card(struct emit *json, const struct facility *facility,
                 const struct facility_card *card)
{
  emit_text(json, "chemistry", card->chemistry);
  emit_array(json, "not_here");
  for (int i = 0; i < card->not_here_count; i++)
    emit_text(json, NULL, card->not_here[i]);
  emit_close(json);
  glass_mark(json, &card->mark);
  wear(json, &card->wear);
  emit_array(json, "documents");
  for (int i = 0; i < card->document_count; i++) {
    const struct facility_document *document = &card->documents[i];

    emit_object(json, NULL);
    emit_text(json, "title", document->title);
    emit_text(json, "version", document->version);
    emit_text(json, "reviewed", document->reviewed);
    emit_text(json, "link", document->link);
    emit_close(json);
  }
  emit_close(json);
  emit_text(json, "call", card->call ? card->call : facility->call);
}

static void station(struct emit *json, const struct facility *facility,
                    const struct facility_station *station)
{
  part(json, &station->part);
  emit_text(json, "kind", facility_kind_name(station->kind));
  emit_text(json, "room", node_id(facility, station->room));
  emit_text(json, "main", station->main < 0 ? NULL : facility->mains[station->main].part.id);
  emit_bool(json, "in_service", station->in_service);
  emit_number_if(json, "width_m", station->has_width, station->width_m);
  emit_number_if(json, "parked_m", station->has_openings, station->parked_m);
  emit_number_if(json, "work_m", station->has_openings, station->work_m);
  emit_number_if(json, "most_m", station->has_openings, station->most_m);
  emit_number(json, "deck_ratio", station->deck_share_ratio);
  criterion(json, facility, station->criterion);
  card(json, facility, &station->card);
  emit_close(json);
}

static void exhausts(struct emit *json, const struct facility *facility)
{
  emit_array(json, "exhausts");
  for (int i = 0; i < facility->exhaust_count; i++) {
    const struct facility_exhaust *exhaust = &facility->exhausts[i];

    part(json, &exhaust->part);
    ends(json, facility, exhaust->from, exhaust->to);
    emit_text(json, "main", exhaust->main < 0 ? NULL : facility->mains[exhaust->main].part.id);
    emit_number(json, "flow_m3_s", exhaust->flow_m3_s);
    emit_close(json);
  }
  emit_close(json);
}

static void plant(struct emit *json, const struct facility *facility)
{
  emit_array(json, "mains");
  for (int i = 0; i < facility->main_count; i++) {
    const struct facility_main *exhaust_main = &facility->mains[i];

    part(json, &exhaust_main->part);
    emit_array(json, "fans");
    for (int k = 0; k < exhaust_main->fan_count; k++)
      emit_text(json, NULL, facility->fans[exhaust_main->fans[k]].part.id);
    emit_close(json);
    emit_close(json);
  }
  emit_close(json);
  emit_array(json, "fans");
  for (int i = 0; i < facility->fan_count; i++) {
    const struct facility_fan *fan = &facility->fans[i];

    part(json, &fan->part);
    ends(json, facility, fan->from, fan->to);
    emit_int(json, "count", fan->count);
    emit_close(json);
  }
  emit_close(json);
  emit_array(json, "supplies");
  for (int i = 0; i < facility->supply_count; i++) {
    const struct facility_supply *supply = &facility->supplies[i];

    part(json, &supply->part);
    emit_number_if(json, "most_m3_s", supply->has_most, supply->most_m3_s);
    emit_array(json, "feeds");
    for (int k = 0; k < supply->feed_count; k++) {
      emit_object(json, NULL);
      emit_text(json, "id", supply->feeds[k].part.id);
      emit_text(json, "room", node_id(facility, supply->feeds[k].room));
      emit_close(json);
    }
    emit_close(json);
    emit_close(json);
  }
  emit_close(json);
}

static void scene_stations(struct emit *json, const struct facility *facility,
                           const struct scene *scene)
{
  emit_array(json, "stations");
  for (int i = 0; i < facility->station_count; i++) {
    const struct scene_station *state = &scene->stations[i];
    double opening_m;
    bool known = scene_station_opening_m(facility, scene, i, &opening_m);

    emit_object(json, NULL);
    emit_text(json, "id", facility->stations[i].part.id);
    emit_bool(json, "raised", state->raised);
    emit_number_if(json, "opening_m", known, known ? opening_m : 0);
    emit_bool(json, "unattended", state->unattended);
    emit_bool(json, "blocked", state->blocked);
    emit_bool(json, "withdrawn", state->withdrawn);
    emit_text(json, "needs_flow", state->needs_flow);
    emit_number(json, "cover_ratio", state->cover_ratio);
    emit_close(json);
  }
  emit_close(json);
}

static void scene_plant(struct emit *json, const struct facility *facility,
                        const struct scene *scene)
{
  emit_array(json, "doors_open");
  for (int i = 0; i < facility->door_count; i++)
    if (scene->door_open[i])
      emit_text(json, NULL, facility->doors[i].part.id);
  emit_close(json);
  emit_array(json, "fans_running");
  for (int i = 0; i < facility->fan_count; i++)
    emit_int(json, NULL, scene->fan_running[i]);
  emit_close(json);
  emit_array(json, "supplies_off");
  for (int i = 0; i < facility->supply_count; i++)
    if (scene->supply_off[i])
      emit_text(json, NULL, facility->supplies[i].part.id);
  emit_close(json);
}

/* `id` is what ?scene= takes: "" means all parked. */
static void scene(struct emit *json, const struct facility *facility, const char *id,
                  const struct scene *scene)
{
  emit_object(json, NULL);
  emit_text(json, "id", id);
  emit_text(json, "note", scene->note);
  scene_stations(json, facility, scene);
  scene_plant(json, facility, scene);
  emit_close(json);
}

static void scenes(struct emit *json, const struct facility *facility)
{
  struct arena arena;
  struct scene parked;

  arena_init(&arena, 16 << 20);
  parked = scene_parked(facility, &arena);
  emit_array(json, "scenes");
  scene(json, facility, "", &parked);
  for (int i = 0; i < facility->scene_count; i++)
    scene(json, facility, facility->scenes[i].name, &facility->scenes[i]);
  emit_close(json);
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
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.plan.1");
  emit_text(&json, "suite_sha256", facility->sha256);
  emit_text(&json, "name", facility->name);
  emit_text(&json, "label", facility->label);
  emit_text(&json, "call", facility->call);
  emit_text(&json, "start", start_id(facility, start));
  rooms(&json, facility);
  passages(&json, facility);
  emit_array(&json, "stations");
  for (int i = 0; i < facility->station_count; i++)
    station(&json, facility, &facility->stations[i]);
  emit_close(&json);
  exhausts(&json, facility);
  plant(&json, facility);
  scenes(&json, facility);
  emit_close(&json);
  emit_end(&json);
}
