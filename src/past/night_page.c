/* A night as a page: each station a thin line, what it drew above parked an area over it, then the table. */
#include "past/night_impl.h"

#include <math.h>

enum { LEFT = 64, RIGHT = 1172, TOP = 28, ROW = 40, HIGH = 30, HOUR_MS = 3600 * 1000 };

/* Each cause a shade, a shape and a word: no colour is needed. */
static const struct look {
  const char *fill, *shape, *word;
} looks[ENERGY_PARTS] = {{"#c9d0d3", "", ""},
                         {"#8b9499", "\342\226\262", "nobody"},
                         {"#4c565b", "\342\226\240", "blocked"},
                         {"#6d767b", "\342\227\206", "beyond"},
                         {"#dde0e2", "", ""},
                         {"#c9d0d3", "?", "not told"}};

struct canvas {
  const struct past_place *place;
  const struct past_night *night;
  double top_m3_s; /* the largest excess of any stretch: as high as a row is */
  struct buf *out;
};

static double x_of(const struct canvas *c, int64_t t_ms)
{
  const struct past_night *n = c->night;

  return LEFT +
         (RIGHT - LEFT) * (double)(t_ms - n->span.from_ms) / (double)(n->end_ms - n->span.from_ms);
}

static double seconds(const struct energy_stretch *s)
{
  return (double)(s->to_ms - s->from_ms) * 1e-3;
}

static double top_of(const struct past_place *place, const struct past_night *night)
{
  double top_m3_s = 1e-6;

  for (int i = 0; i < place->facility->station_count; i++)
    for (int k = 0; k < night->air.stations[i].stretch_count; k++) {
      const struct energy_stretch *s = &night->air.stations[i].stretches[k];

      top_m3_s = fmax(top_m3_s, s->excess.most_m3 / seconds(s));
    }
  return top_m3_s;
}

/* ---- the hours ---- */

static void put_hours(struct canvas *c, int rows)
{
  int64_t from_ms = c->night->span.from_ms;

  for (int64_t t_ms = from_ms - from_ms % HOUR_MS; t_ms <= c->night->end_ms; t_ms += HOUR_MS) {
    struct when_civil at = when_civil(c->place->zone, t_ms, NULL);

    if (t_ms < from_ms)
      continue;
    buf_printf(c->out, "<path d=\"M%.1f %d V%d\" stroke=\"#dde0e2\"/>", x_of(c, t_ms), TOP - 4,
               TOP + rows * ROW);
    buf_printf(c->out,
               "<text x=\"%.1f\" y=\"%d\" font-size=\"15\" text-anchor=\"middle\" "
               "fill=\"#50595e\">%02d:%02d</text>\n",
               x_of(c, t_ms), TOP - 10, at.hour, at.minute);
  }
}

/* ---- one station ---- */

static void put_box(struct canvas *c, const struct energy_stretch *s, double base, const char *fill,
                    double low_m3_s, double high_m3_s)
{
  double x = x_of(c, s->from_ms), wide = x_of(c, s->to_ms) - x;
  double y = base - HIGH * fmax(high_m3_s, 0) / c->top_m3_s;
  double bottom = base - HIGH * fmax(low_m3_s, 0) / c->top_m3_s;

  if (bottom - y >= 0.5)
    buf_printf(c->out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" fill=\"%s\"/>",
               x, y, fmax(wide, 1), bottom - y, fill);
}

/* Above what is drawn, where there is room for it. */
static void put_word(struct canvas *c, const struct energy_stretch *s, double base)
{
  const struct look *look = &looks[s->cause];
  double x = x_of(c, s->from_ms), wide = x_of(c, s->to_ms) - x;
  double high = HIGH * fmax(s->excess.best_m3 / seconds(s), 0) / c->top_m3_s;

  if (*look->shape && wide >= 14)
    buf_printf(c->out,
               "<text x=\"%.1f\" y=\"%.1f\" font-size=\"15\" fill=\"#20272a\">%s%s%s</text>", x + 3,
               base - 4 - (isnan(high) ? 0 : high), look->shape, wide > 90 ? " " : "",
               wide > 90 ? look->word : "");
}

static void put_stretch(struct canvas *c, const struct energy_stretch *s, double base)
{
  double best_m3_s = s->excess.best_m3 / seconds(s);

  if (!isnan(best_m3_s))
    put_box(c, s, base, looks[s->cause].fill, 0, best_m3_s);
  if (!s->flow_known)
    put_box(c, s, base, "url(#gap)", s->excess.least_m3 / seconds(s),
            s->excess.most_m3 / seconds(s));
}

static void put_station(struct canvas *c, int station, int row)
{
  const struct energy_station *s = &c->night->air.stations[station];
  double base = TOP + (row + 1) * (double)ROW - 4;

  buf_printf(c->out,
             "<text x=\"4\" y=\"%.0f\" font-size=\"17\" fill=\"#20272a\">%s</text>"
             "<path d=\"M%d %.1f H%.1f\" stroke=\"#8b9499\"/>",
             base, c->place->facility->stations[station].part.id, LEFT, base,
             x_of(c, c->night->span.to_ms));
  for (int i = 0; i < s->stretch_count; i++)
    put_stretch(c, &s->stretches[i], base);
  for (int i = 0; i < s->stretch_count; i++)
    if (i == 0 || s->stretches[i - 1].cause != s->stretches[i].cause)
      put_word(c, &s->stretches[i], base);
  buf_putc(c->out, '\n');
}

static void put_drawing(const struct past_place *place, const struct past_night *night,
                        struct buf *out)
{
  struct canvas c = {place, night, top_of(place, night), out};
  int count = 0;

  for (int i = 0; i < place->facility->station_count; i++)
    count += night->air.stations[i].counted;
  buf_printf(
      out,
      "<section class=\"panel\"><div class=\"night\" tabindex=\"0\" role=\"region\" "
      "aria-label=\"Stations over the night\">\n<svg viewBox=\"0 0 1200 %d\" role=\"img\" "
      "aria-label=\"Each station over the night: what it drew above parked. The table below says "
      "the same.\">\n<defs><pattern id=\"gap\" width=\"8\" height=\"8\" "
      "patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><path d=\"M0 0 V8\" "
      "stroke=\"#50595e\" stroke-width=\"2.4\"/></pattern></defs>\n",
      TOP + count * ROW + 4);
  put_hours(&c, count);
  for (int i = 0, row = 0; i < place->facility->station_count; i++)
    if (night->air.stations[night->order[i]].counted)
      put_station(&c, night->order[i], row++);
  buf_printf(
      out,
      "</svg></div>\n<p class=\"quiet\">Height: m\302\263/h above parked, a full row is %.0f. "
      "\342\226\262 open, nobody there \302\267 \342\226\240 blocked sash \302\267 \342\227\206 "
      "more than its opening asks \302\267 light: somebody there \302\267 hatched: not known, "
      "and as high as it may have been</p></section>\n",
      c.top_m3_s * 3600);
}

/* ---- earlier and later ---- */

static void put_link(const struct when_civil *day, const char *word, struct buf *out)
{
  buf_printf(out, "<a href=\"/night?night=%04d-%02d-%02d\">%s</a>", day->year, day->month, day->day,
             word);
}

static void put_links(const struct past_place *place, const struct past_night *night,
                      struct buf *out)
{
  struct when_civil before = night_before(place, &night->date, 1),
                    after = night_before(place, &night->date, -1);

  buf_puts(out, "<nav class=\"turn\" aria-label=\"Nights\">");
  put_link(&before, "Earlier", out);
  put_link(&after, "Later", out);
  buf_puts(out, "<a href=\"/night\">Last night</a></nav>\n");
}

/* ---- the table ---- */

static void put_table(const struct past_place *place, const struct past_night *night,
                      struct buf *out)
{
  buf_puts(out, "<section class=\"panel\"><table><thead><tr><th scope=\"col\">station</th>"
                "<th scope=\"col\" class=\"figure\">m\302\263 above parked</th><th "
                "scope=\"col\">why</th></tr></thead><tbody>\n");
  for (int i = 0; i < place->facility->station_count; i++) {
    int station = night->order[i];

    if (!night->air.stations[station].counted)
      continue;
    buf_printf(out, "<tr><th scope=\"row\">%s</th><td class=\"figure\">",
               place->facility->stations[station].part.id);
    night_put_range(out, &night->air.stations[station].excess);
    buf_puts(out, "</td><td>");
    night_put_cause(place, night, station, out);
    buf_puts(out, "</td></tr>\n");
  }
  buf_puts(out, "</tbody></table></section>\n");
}

void past_night_page(const struct past_place *place, const struct past_night *night,
                     struct buf *text, struct buf *drawing)
{
  night_put_words(place, night, false, text);
  put_links(place, night, drawing);
  if (!night->any_known)
    return;
  put_drawing(place, night, drawing);
  put_table(place, night, drawing);
}
