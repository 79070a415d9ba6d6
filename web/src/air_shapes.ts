// The air as ribbons, from one answer and one layout: every strand is one
// station's air, from the supply through its room, its sash and its main to the fans.
import { byId, running, type Air, type Plan } from './contract';
import { boxHeight, boxWidth, cellHeight, fanSize, type Cell, type Layout, type RoomBox, type Trunk } from './layout';
import { join, peel, shift, through, type Side } from './ribbon';

export interface Shape { path: string; kind: 'room' | 'duct' | 'gap' | 'edge' | 'core' | 'bridge' | 'arrow' | 'unknown'; of?: string; level?: string }
export interface Note { x: number; y: number; flow_m3_s: number; kind: 'leak-out' | 'leak-in'; room: string }
export interface Drawn { shapes: Shape[]; notes: Note[] }

const n = (x: number) => Math.round(x * 100) / 100;
const known = (x: number | null | undefined): x is number => typeof x === 'number' && Number.isFinite(x);

// px per m3/s: the supply fills the middle at most, a main its duct.
export function scaleFor(plan: Plan, air: Air, layout: Layout): number {
  const middle = layout.roomBottom - layout.roomTop - 2 * cellHeight - 46;
  const supply = Math.max(0.01, 1.1 * air.rooms.reduce((a, r) => a + (r.supply_m3_s ?? 0), 0));
  const main = Math.max(0.01, ...air.pools.filter((p) => byId(plan.mains, p.id))
    .map((p) => Math.max(p.capacity_m3_s ?? 0, p.demand_m3_s ?? 0)));
  const led = layout.cells.filter((c) => c.leg).reduce((a, c) => a + (flowOf(plan, air, c) ?? 0), 0);
  return Math.min(Math.max(40, middle) / supply, (layout.trunkHeight + 8) / (main + led));
}

const boxTop = (cell: Cell) => cell.y + (cell.side === -1 ? 0 : cellHeight - boxHeight);

function flowOf(plan: Plan, air: Air, cell: Cell): number | null {
  if (cell.station) return byId(air.stations, cell.id)?.flow_m3_s ?? null;
  return byId(plan.exhausts, cell.id)?.flow_m3_s ?? null;
}

// What leaves the room by no station: leaks, doors, ducts to other rooms, all together.
function elsewhere(plan: Plan, air: Air, room: RoomBox): number {
  const now = byId(air.rooms, room.id);
  if (!now || !known(now.leakage_m3_s)) return 0;
  if (!known(now.exhaust_m3_s)) return now.leakage_m3_s;
  return now.leakage_m3_s + now.exhaust_m3_s - room.cells.reduce((a, c) => a + (flowOf(plan, air, c) ?? 0), 0);
}

// What leaves by leaks does so at the far end of the room, on the side with more space there.
function leakSide(room: RoomBox): Side {
  const last = (s: Side) => Math.max(0, ...room.cells.filter((c) => c.side === s).map((c) => c.x));
  return last(1) < last(-1) ? 1 : -1;
}

interface Strand { x: number; t: number; end: number; of: string; leak: boolean }

function strandsOf(plan: Plan, air: Air, room: RoomBox, side: Side, k: number): Strand[] {
  const strands = room.cells.filter((c) => c.side === side).map((cell): Strand => ({
    x: cell.x, t: Math.max(0, flowOf(plan, air, cell) ?? 0) * k,
    end: boxTop(cell) + (side === -1 ? boxHeight : 0), of: cell.id, leak: false,
  })).sort((a, b) => a.x - b.x);
  const leak = elsewhere(plan, air, room);
  if (leak > 0 && side === leakSide(room))
    strands.push({ x: room.x1 - 24, t: leak * k, end: 0, of: room.id, leak: true });
  return strands;
}

const total = (strands: Strand[]) => strands.reduce((a, s) => a + s.t, 0);

// What each room takes from the river on one side, and how much of it is supply: the rest leaks in.
function sharesOf(plan: Plan, air: Air, layout: Layout, k: number, s: Side) {
  return layout.rooms.map((room) => {
    const strands = strandsOf(plan, air, room, s, k);
    const both = total(strands) + total(strandsOf(plan, air, room, s === 1 ? -1 : 1, k));
    const supply = byId(air.rooms, room.id)?.supply_m3_s;
    return { room, strands, share: known(supply) && both > 0 ? Math.min(1, (supply * k) / both) : 0 };
  });
}

// One side of the river: the first room's air lies outermost, so it can leave without crossing.
function riverSide(plan: Plan, air: Air, layout: Layout, k: number, s: Side, middle: number, out: Drawn): void {
  const rooms = sharesOf(plan, air, layout, k, s);
  let edge = middle + s * rooms.reduce((a, r) => a + total(r.strands) * r.share, 0);
  for (const { room, strands, share } of rooms) {
    const whole = total(strands), before = whole * share, swells = whole - before > Math.max(0.3, whole / 50); // less is not seen
    const inner = edge - s * before, outer = inner + s * whole, x1 = room.x0 + 30;
    if (before > 0 && swells) {
      out.shapes.push({ kind: 'room', of: room.id,
        path: `M${n(layout.riverX)} ${n(edge)}H${n(room.x0)}L${n(x1)} ${n(outer)}V${n(inner)}H${n(layout.riverX)}Z` });
    }
    if (swells) enter(out, room, s, edge, outer, whole - before, k);
    let lane = outer;
    for (const strand of strands) {
      if (strand.t <= 0) continue;
      const end = strand.leak ? lane + s * 26 : strand.end;
      const radius = Math.max(2, Math.min(strand.leak ? 12 : 18, Math.abs(end - lane) - 2, strand.x - strand.t / 2 - x1));
      out.shapes.push({ kind: 'room', of: strand.of,
        path: peel(swells ? x1 : layout.riverX, lane, strand.x, strand.t, end, s, radius) });
      if (strand.leak) leave(out, room, strand, end, s, k);
      lane -= s * strand.t;
    }
    edge = inner;
  }
}

function enter(out: Drawn, room: RoomBox, s: Side, edge: number, outer: number, t: number, k: number): void {
  const at = edge + s * 8, x0 = room.x0 + 2, x1 = room.x0 + 30;
  out.shapes.push({ kind: 'room', of: room.id,
    path: `M${n(x0)} ${n(at)}L${n(x1)} ${n(outer - s * t)}V${n(outer)}L${n(x0)} ${n(at + s * t)}Z` });
  out.notes.push({ x: x0 + 6, y: at + s * (t + 12), flow_m3_s: t / k, kind: 'leak-in', room: room.id });
}

function leave(out: Drawn, room: RoomBox, strand: Strand, y: number, s: Side, k: number): void {
  const half = strand.t / 2 + 5;
  out.shapes.push({ kind: 'arrow', of: room.id,
    path: `M${n(strand.x - half)} ${n(y)}L${n(strand.x)} ${n(y + s * 10)}L${n(strand.x + half)} ${n(y)}Z` });
  out.notes.push({ x: strand.x - half - 3, y: y + s * 3, flow_m3_s: strand.t / k, kind: 'leak-out', room: room.id });
}

function stations(plan: Plan, air: Air, layout: Layout, k: number, covers: Map<string, number>, out: Drawn): void {
  for (const cell of layout.cells) {
    const flow = flowOf(plan, air, cell), y = boxTop(cell);
    if (!known(flow)) {
      out.shapes.push({ kind: 'unknown', of: cell.id, path: `M${n(cell.x)} ${n(layout.riverY)}V${n(y)}` });
      continue;
    }
    const deck = (cell.station?.deck_ratio ?? 0) * (1 - (covers.get(cell.id) ?? 0));
    for (const path of through(cell.x, y, y + boxHeight, flow * k, deck, deck > 0 ? 9 : 0))
      out.shapes.push({ kind: 'duct', of: cell.id, path });
  }
}

// Air of stations that stand on the other side than their main, led along that side and round
// the end of the rooms.  It lies outermost there, so no other main's strand has to cross it.
function legs(plan: Plan, air: Air, layout: Layout, k: number, out: Drawn): Map<string, number> {
  const thick = new Map<string, number>();
  for (const trunk of layout.trunks) {
    const s = -trunk.side as Side, edge = s === -1 ? layout.headHeight + 2 : layout.height - 2;
    let lane = edge;
    for (const cell of layout.cells.filter((c) => c.main === trunk.id && c.leg).sort((a, b) => a.x - b.x)) {
      const t = Math.max(0, flowOf(plan, air, cell) ?? 0) * k, from = boxTop(cell) + (s === -1 ? 0 : boxHeight);
      if (t > 0) out.shapes.push({ kind: 'duct', of: cell.id,
        path: join(cell.x, from, lane, t, turnX(layout), s, Math.max(1, Math.min(10, Math.abs(from - lane) - t - 1))) });
      lane -= s * t;
    }
    thick.set(trunk.id, Math.abs(lane - edge));
  }
  return thick;
}

const turnX = (layout: Layout) => layout.rooms[layout.rooms.length - 1]!.x1 + 4;

// Round the end of the rooms and into the main, beside what already flows there.
function comeRound(layout: Layout, trunk: Trunk, t: number, lane: number, out: Drawn): void {
  if (t <= 0) return;
  const s = trunk.side, from = s === 1 ? layout.headHeight + 2 : layout.height - 2;
  const x = turnX(layout) + 10 + t / 2, middle = layout.riverY;
  out.shapes.push({ kind: 'bridge', path: peel(turnX(layout), from + s * t, x, t, middle, s, 8) });
  out.shapes.push({ kind: 'bridge', path: join(x, middle, lane, t, layout.fanX, s, 6) });
}

function trunks(plan: Plan, air: Air, layout: Layout, k: number, out: Drawn): void {
  const led = legs(plan, air, layout, k, out);
  for (const trunk of layout.trunks) {
    const pool = byId(air.pools, trunk.id), s = trunk.side;
    const others = layout.trunks.filter((t) => t.side !== s).reduce((a, t) => a + (led.get(t.id) ?? 0), 0);
    const outer = trunk.outer - s * (others > 0 ? others + 7 : 0);
    const cells = layout.cells.filter((c) => c.main === trunk.id && !c.leg).sort((a, b) => a.x - b.x);
    const strands = cells.map((cell) => ({ cell, t: Math.max(0, flowOf(plan, air, cell) ?? 0) * k }));
    const own = strands.reduce((a, b) => a + b.t, 0), round = led.get(trunk.id) ?? 0, sum = own + round;
    if (known(pool?.capacity_m3_s) && pool!.capacity_m3_s! > 0) {
      const edge = outer - s * pool!.capacity_m3_s! * k;
      out.shapes.unshift({ kind: 'gap', of: trunk.id, level: pool!.state,
        path: `M${n(trunk.x0)} ${n(outer)}H${n(layout.fanX)}V${n(edge)}H${n(trunk.x0)}Z` });
    }
    let lane = outer;
    for (const { cell, t } of strands) {
      const from = boxTop(cell) + (s === -1 ? 0 : boxHeight);
      const radius = Math.max(1, Math.min(10, Math.abs(from - lane) - t - 1));
      if (t > 0) out.shapes.push({ kind: 'duct', of: cell.id, path: join(cell.x, from, lane, t, layout.fanX, s, radius) });
      lane -= s * t;
    }
    comeRound(layout, trunk, round, lane, out);
    if (known(pool?.capacity_m3_s)) {
      const line = `M${n(trunk.x0)} ${n(outer - s * pool!.capacity_m3_s! * k)}H${n(layout.fanX)}`;
      out.shapes.push({ kind: 'edge', level: pool!.state, path: line });
      if (pool!.state === 'near_limit') out.shapes.push({ kind: 'core', level: pool!.state, path: line });
    }
    toFans(air, layout, trunk.id, s === -1 ? outer : outer - sum, sum, out);
  }
}

function toFans(air: Air, layout: Layout, main: string, top: number, sum: number, out: Drawn): void {
  const spots = layout.fans.filter((f) => f.main === main);
  const live = spots.filter((f) => f.unit < running(byId(air.fans, f.id) ?? { running: 0 }));
  const flows = live.map((f) => (byId(air.fans, f.id)?.flow_m3_s ?? 0) / live.filter((g) => g.id === f.id).length);
  const all = flows.reduce((a, b) => a + b, 0);
  const order = live.map((f, i) => ({ f, flow: flows[i]! })).sort((a, b) => a.f.y - b.f.y);
  let y = top;
  for (const { f, flow } of order) {
    const t = all > 0 ? (sum * flow) / all : 0;
    if (t > 0) out.shapes.push({ kind: 'duct', path: shift(layout.fanX, y, f.x, f.y + fanSize / 2 - t / 2, t) });
    y += t;
  }
}

function supplies(plan: Plan, air: Air, layout: Layout, k: number, thick: number, out: Drawn): void {
  const list = plan.supplies.map((s) => ({ s, flow: byId(air.supplies, s.id)?.flow_m3_s ?? 0 }));
  const all = list.reduce((a, b) => a + b.flow, 0);
  let y = layout.riverY - thick / 2;
  list.forEach(({ s, flow }, i) => {
    const t = all > 0 ? (thick * flow) / all : 0, centre = supplyY(layout, plan, i);
    const cap = (s.most_m3_s ?? 0) * k, pool = byId(air.pools, s.id);
    if (cap > 0)
      out.shapes.unshift({ kind: 'gap', of: s.id, level: pool?.state,
        path: `M${n(supplyX)} ${n(centre - cap / 2)}H${n(layout.riverX)}V${n(centre + cap / 2)}H${n(supplyX)}Z` });
    if (t > 0) out.shapes.push({ kind: 'room', path: shift(supplyX, centre - t / 2, layout.riverX, y, t) });
    y += t;
  });
}

export const supplyX = 58;
export const supplyY = (layout: Layout, plan: Plan, i: number) =>
  layout.riverY + (i - (plan.supplies.length - 1) / 2) * 110;

export function drawAir(plan: Plan, air: Air, layout: Layout, k: number, covers: Map<string, number>): Drawn {
  const out: Drawn = { shapes: [], notes: [] };
  const thickness = (s: Side) => sharesOf(plan, air, layout, k, s).reduce((a, r) => a + total(r.strands) * r.share, 0);
  const up = thickness(-1), down = thickness(1), split = layout.riverY + (up - down) / 2;
  riverSide(plan, air, layout, k, -1, split, out);
  riverSide(plan, air, layout, k, 1, split, out);
  supplies(plan, air, layout, k, up + down, out);
  stations(plan, air, layout, k, covers, out);
  trunks(plan, air, layout, k, out);
  return out;
}

export const stationBox = (cell: Cell) => ({ x: cell.x - boxWidth / 2, y: boxTop(cell), width: boxWidth, height: boxHeight });
