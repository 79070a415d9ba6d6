#include "wire/wire_impl.h"

#include <errno.h>
#include <math.h>
#include <modbus.h>
#include <stdlib.h>
#include <string.h>

/*
 * A controller with registers, through libmodbus.  Only the four questions of the Modbus
 * application protocol (V1.1b3, 6.1 to 6.4) are asked; nothing that changes anything.
 *
 * Neighbours are asked for together.  A device that refuses such a block is asked point by point
 * from then on, so that one wrong address does not hide the others.  After anything that is no
 * answer and no refusal the connection is closed: a late answer would be taken for the next one, and
 * each after it too.
 */
enum {
  MOST_WORDS = 125, /* of one question, 6.3 */
  MOST_BITS = 2000, /* 6.1 */
  GAP_WORDS = 8,    /* asked for though nobody wants them, to save a question */
  GAP_BITS = 64
};

struct block {
  enum feeds_bank bank;
  int address, count;
  int first, points; /* into plan->order */
  bool split;        /* refused as a whole */
};

struct plan {
  int *order; /* points of the source, by bank and address */
  struct block *blocks;
  int block_count;
};

/* ---- which questions ---- */

static bool is_bits(enum feeds_bank bank)
{
  return bank == FEEDS_COIL || bank == FEEDS_DISCRETE;
}

static int place_of(const struct feeds_point *p)
{
  return (int)p->bank * 65536 + p->address;
}

static void sort_points(const struct feeds *feeds, int *order, int count)
{
  for (int i = 1; i < count; i++) {
    int point = order[i], at = i;

    for (; at > 0 && place_of(&feeds->points[order[at - 1]]) > place_of(&feeds->points[point]);
         at--)
      order[at] = order[at - 1];
    order[at] = point;
  }
}

static struct block block_of(const struct feeds *feeds, const int *order, int at)
{
  const struct feeds_point *p = &feeds->points[order[at]];

  return (struct block){.bank = p->bank,
                        .address = p->address,
                        .count = feed_register_words(p->as),
                        .first = at,
                        .points = 1};
}

static bool joins(const struct block *block, const struct block *next)
{
  bool bits = is_bits(block->bank);
  int end = next->address + next->count;

  return block->bank == next->bank &&
         next->address <= block->address + block->count + (bits ? GAP_BITS : GAP_WORDS) &&
         end - block->address <= (bits ? MOST_BITS : MOST_WORDS);
}

static void free_plan(void *own)
{
  struct plan *plan = own;

  free(plan->order);
  free(plan->blocks);
  free(plan);
}

static struct plan *new_plan(const struct wire_line *line)
{
  struct plan *plan = calloc(1, sizeof *plan);
  size_t room = (size_t)line->point_count + 1;

  if (!plan)
    err_no_memory();
  plan->order = calloc(room, sizeof *plan->order);
  plan->blocks = calloc(room, sizeof *plan->blocks);
  if (!plan->order || !plan->blocks)
    err_no_memory();
  memcpy(plan->order, line->points, (size_t)line->point_count * sizeof *plan->order);
  sort_points(line->feeds, plan->order, line->point_count);
  for (int i = 0; i < line->point_count; i++) {
    struct block next = block_of(line->feeds, plan->order, i);
    struct block *last = plan->block_count > 0 ? &plan->blocks[plan->block_count - 1] : NULL;

    if (last && joins(last, &next)) {
      int end = next.address + next.count;

      last->count = end - last->address > last->count ? end - last->address : last->count;
      last->points++;
    } else {
      plan->blocks[plan->block_count++] = next;
    }
  }
  return plan;
}

/* ---- one question ---- */

/* Bits come as words of 0 and 1.  False with errno set. */
static bool ask(modbus_t *bus, const struct block *block, uint16_t *words)
{
  uint8_t bits[MOST_BITS] = {0};
  int got;

  errno = 0;
  if (block->bank == FEEDS_HOLDING)
    got = modbus_read_registers(bus, block->address, block->count, words);
  else if (block->bank == FEEDS_INPUT)
    got = modbus_read_input_registers(bus, block->address, block->count, words);
  else if (block->bank == FEEDS_COIL)
    got = modbus_read_bits(bus, block->address, block->count, bits);
  else
    got = modbus_read_input_bits(bus, block->address, block->count, bits);
  if (got != block->count) {
    errno = errno ? errno : EMBBADDATA;
    return false;
  }
  for (int i = 0; is_bits(block->bank) && i < got; i++)
    words[i] = bits[i];
  return true;
}

/* A refusal is an answer: the exception codes of the protocol, section 7. */
static bool is_refusal(int code)
{
  return code >= EMBXILFUN && code <= EMBXGTAR;
}

static enum feed_quality quality_of_refusal(int code)
{
  if (code == EMBXILFUN || code == EMBXILADD || code == EMBXILVAL)
    return FEED_UNREADABLE;
  return code == EMBXSFAIL ? FEED_FAULTY : FEED_MISSING;
}

static void put_refused(struct wire_line *line, int point, int code)
{
  const struct feeds_point *p = &line->feeds->points[point];
  struct feed_observation o = {.point = point, .si = NAN, .quality = quality_of_refusal(code)};

  feed_time(line->feeds, line->index, false, 0, wire_now_ms(line), &o);
  wire_put(line, &o);
  wire_refuse(line, "point %s at %s: %s", p->part.id, p->at, modbus_strerror(code));
}

static void put_block(struct wire_line *line, const struct plan *plan, const struct block *block,
                      const uint16_t *words)
{
  int64_t now_ms = wire_now_ms(line);

  for (int i = 0; i < block->points; i++) {
    int point = plan->order[block->first + i];
    const struct feeds_point *p = &line->feeds->points[point];
    struct feed_observation o;

    feed_registers(line->feeds, point, words + (p->address - block->address),
                   feed_register_words(p->as), now_ms, &o);
    wire_put(line, &o);
  }
}

/* ---- a round of questions ---- */

/* 0, or the errno that ends the connection. */
static int ask_points(struct wire_line *line, modbus_t *bus, const struct plan *plan,
                      const struct block *block)
{
  uint16_t words[2];

  for (int i = 0; i < block->points && !wire_stopping(line); i++) {
    struct block one = block_of(line->feeds, plan->order, block->first + i);

    if (ask(bus, &one, words))
      put_block(line, plan, &one, words);
    else if (is_refusal(errno))
      put_refused(line, plan->order[one.first], errno);
    else
      return errno;
  }
  return 0;
}

static int ask_block(struct wire_line *line, modbus_t *bus, const struct plan *plan,
                     struct block *block)
{
  uint16_t words[MOST_BITS];

  if (block->split)
    return ask_points(line, bus, plan, block);
  if (ask(bus, block, words)) {
    put_block(line, plan, block, words);
    return 0;
  }
  if (!is_refusal(errno))
    return errno;
  /* For good where an address is the reason; a busy device is asked as a whole again next time. */
  block->split = quality_of_refusal(errno) == FEED_UNREADABLE && block->points > 1;
  return ask_points(line, bus, plan, block);
}

static int ask_all(struct wire_line *line, modbus_t *bus, struct plan *plan)
{
  int failed = 0;

  for (int i = 0; i < plan->block_count && !failed && !wire_stopping(line); i++) {
    failed = ask_block(line, bus, plan, &plan->blocks[i]);
    if (!failed && line->up_s < 0)
      wire_up(line); /* now it has answered; that it accepts says nothing */
  }
  return failed;
}

static void ask_for_ever(struct wire_line *line, modbus_t *bus)
{
  double every_s, began_s;
  int failed;

  do {
    began_s = wire_clock_s();
    failed = ask_all(line, bus, line->own);
    if (failed) {
      wire_down(line, "%s port %d: %s", line->source->host, line->source->port,
                failed == ETIMEDOUT ? "no answer in time" : modbus_strerror(failed));
      return;
    }
    /* A device that needs all the time there is gets a fifth of it to breathe. */
    every_s =
        fmax(wire_poll_s(line) - (wire_clock_s() - began_s), 0.2 * (wire_clock_s() - began_s));
  } while (wire_wait(line, every_s));
}

void wire_run_modbus(struct wire_line *line)
{
  char port[8];
  double answer_s = line->pace->answer_s;
  modbus_t *bus;

  if (!line->own) {
    line->own = new_plan(line);
    line->forget = free_plan;
  }
  snprintf(port, sizeof port, "%d", line->source->port);
  bus = modbus_new_tcp_pi(line->source->host, port);
  if (!bus) {
    wire_down(line, "%s: %s", line->source->host, modbus_strerror(errno));
    return;
  }
  modbus_set_slave(bus, line->source->unit_address);
  modbus_set_response_timeout(bus, (uint32_t)answer_s,
                              (uint32_t)(1e6 * (answer_s - floor(answer_s))));
  if (modbus_connect(bus) != 0)
    wire_down(line, "%s port %d: %s", line->source->host, line->source->port,
              errno ? modbus_strerror(errno) : "nothing answers there");
  else
    ask_for_ever(line, bus);
  modbus_close(bus);
  modbus_free(bus);
}
