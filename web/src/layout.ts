// Where everything stands: rooms in a row, each main along one side with its
// stations, the supply running through the middle.  Depends on the suite and
// the size of the window only, so nothing jumps when the air changes.
import type { Plan, PlanStation } from './contract';
import type { Side } from './ribbon';

export interface Cell {
  id: string; x: number; y: number; pitch: number; side: Side; main: string | null; room: string;
  leg: boolean; // on the other side than its main: its air is led round to it
  station: PlanStation | null; // null: a fixed exhaust
}
export interface RoomBox { id: string; name: string; x0: number; x1: number; cells: Cell[]; narrow: boolean }
export interface Trunk { id: string; name: string; side: Side; outer: number; x0: number }
export interface DoorSpot { id: string; name: string; x: number; y: number; from: string; to: string }
export interface FanSpot { id: string; unit: number; of: number; label: string; main: string; x: number; y: number }

export interface Layout {
  width: number; height: number; riverY: number; riverX: number; fanX: number;
  roomTop: number; roomBottom: number; headHeight: number; trunkHeight: number; tight: boolean;
  rooms: RoomBox[]; cells: Cell[]; trunks: Trunk[]; doors: DoorSpot[]; fans: FanSpot[];
}

export const boxWidth = 34, boxHeight = 60, cellHeight = 100, fanSize = 44, doorSize = 44;
const leftArea = 116, fansArea = 158, noFansArea = 52, legArea = 34, unitsArea = 26, wallPad = 25, gap = 12;
const mostUnits = 4; // fans of one group drawn one by one; more are drawn as one
const exhaustWeight = 0.62, emptyRoom = 1.22, lastText = 0.25, leastUnit = 92, narrowRoom = 232, longRow = 6;

const weight = (cell: { station: PlanStation | null }) => (cell.station ? 1 : exhaustWeight);
const sum = (list: number[]) => list.reduce((a, b) => a + b, 0);

function sides(plan: Plan): Map<string, Side> {
  const map = new Map<string, Side>();
  plan.mains.forEach((main, i) => map.set(main.id, plan.mains.length === 1 || i % 2 ? 1 : -1));
  return map;
}

interface Draft { id: string; name: string; cells: Omit<Cell, 'x' | 'y' | 'pitch'>[] }

// A long row of one main in one room is folded onto both walls.
function fold(cells: Draft['cells']): Draft['cells'] {
  const first = cells[0];
  if (!first || sum(cells.map(weight)) <= longRow || cells.some((c) => c.side !== first.side)) return cells;
  const keep = Math.ceil(cells.length / 2);
  return cells.map((c, i) => i < keep ? c : { ...c, side: -c.side as Side, leg: true });
}

function drafts(plan: Plan): Draft[] {
  const side = sides(plan);
  return plan.rooms.map((room) => ({
    id: room.id, name: room.name,
    cells: fold([
      ...plan.stations.filter((s) => s.room === room.id).map((station) => ({
        id: station.id, side: side.get(station.main ?? '') ?? (1 as Side),
        main: station.main, room: room.id, leg: false, station,
      })),
      ...plan.exhausts.filter((x) => x.from === room.id).map((x) => ({
        id: x.id, side: side.get(x.main ?? '') ?? (1 as Side), main: x.main, room: room.id, leg: false, station: null,
      })),
    ]),
  }));
}

// The words of a side's last station stand beside it, so a side is a little wider than its boxes.
const columns = (draft: Draft) => Math.max(emptyRoom,
  ...([-1, 1] as Side[]).map((s) => sum(draft.cells.filter((c) => c.side === s).map(weight)) + lastText));

function placeDoors(plan: Plan, rooms: RoomBox[], roomTop: number, roomBottom: number): DoorSpot[] {
  const used = new Map<number, number>();
  return plan.doors.map((door) => {
    const a = rooms.findIndex((r) => r.id === door.from), b = rooms.findIndex((r) => r.id === door.to);
    const near = Math.abs(a - b) === 1 && a >= 0 && b >= 0;
    const room = rooms[a >= 0 ? a : Math.max(b, 0)]!;
    // A door that leads out of the row stands at the free end of it, or beside its room's left wall.
    const x = near ? rooms[Math.max(a, b)]!.x0 : room === rooms[rooms.length - 1] ? room.x1 : room.x0;
    const nth = used.get(x) ?? 0;
    used.set(x, nth + 1);
    const y = nth % 2 ? roomBottom - 10 - doorSize : roomTop + 10 + (nth >> 1) * (doorSize + 4);
    return { id: door.id, name: door.name, x: x - doorSize / 2, y, from: door.from ?? '', to: door.to ?? '' };
  });
}

function placeFans(plan: Plan, trunks: Trunk[], x: number, height: number): FanSpot[] {
  const spots: FanSpot[] = [];
  const next = new Map<Side, number>([[-1, 4], [1, height - fanSize - 4]]);
  for (const fan of plan.fans) {
    const main = plan.mains.find((m) => m.fans.includes(fan.id));
    const side = trunks.find((t) => t.id === main?.id)?.side ?? 1;
    if (!main) continue; // a fan inside a room moves no air out; it has its button below
    const shown = fan.count > mostUnits ? 1 : fan.count;
    for (let unit = 0; unit < shown; unit++) {
      const y = next.get(side)!;
      spots.push({ id: fan.id, unit, of: shown, label: shown > 1 ? `${fan.id}/${unit + 1}` : fan.id,
        main: main.id, x, y });
      next.set(side, y - side * (fanSize + 6));
    }
  }
  return spots;
}

// Plant totals have no fans to draw.
const rightArea = (plan: Plan) => plan.fans.length ? fansArea : noFansArea;
const rightSide = (plan: Plan, list: Draft[]) => rightArea(plan) + (list.some((d) => d.cells.some((c) => c.leg)) ? legArea : 0);

export function leastWidth(plan: Plan): number {
  const list = drafts(plan);
  return leftArea + rightSide(plan, list) + 2 * wallPad * list.length + leastUnit * sum(list.map(columns));
}

export function layOut(plan: Plan, width: number, height: number): Layout {
  const list = drafts(plan);
  const hasTop = list.some((d) => d.cells.some((c) => c.side === -1));
  const trunkHeight = Math.max(40, Math.min(92, height * 0.12));
  const inner = width - leftArea - rightSide(plan, list) - 2 * wallPad * list.length, tight = inner / sum(list.map(columns)) < 122;
  const beside = tight ? 0 : unitsArea, unit = (inner - beside) / sum(list.map(columns));
  const narrow = (draft: Draft) => columns(draft) * unit + 2 * wallPad < narrowRoom;
  const headHeight = 30 + 16 * Math.max(1, ...list.map((d, i) => plan.rooms[i]!.keeps.length * (narrow(d) ? 2 : 1)));
  const roomTop = headHeight + (hasTop ? trunkHeight + gap : 0);
  const roomBottom = height - trunkHeight - gap;
  let x = leftArea;
  const rooms: RoomBox[] = list.map((draft) => {
    const x0 = x, wide = columns(draft) * unit;
    x += wide + 2 * wallPad;
    const cells: Cell[] = [];
    for (const side of [-1, 1] as Side[]) {
      const mine = draft.cells.filter((c) => c.side === side);
      const stretch = Math.min(1.5, wide / Math.max(unit, (sum(mine.map(weight)) + lastText) * unit));
      let at = x0 + wallPad;
      for (const cell of mine) {
        const pitch = weight(cell) * unit * stretch;
        cells.push({ ...cell, pitch, x: at + boxWidth / 2 + 2,
          y: side === -1 ? roomTop + 6 : roomBottom - 6 - cellHeight });
        at += pitch;
      }
    }
    return { id: draft.id, name: draft.name, x0, x1: x, cells, narrow: narrow(draft) };
  });
  const cells = rooms.flatMap((room) => room.cells);
  const same = new Map<Side, number>();
  const side = sides(plan);
  const trunks = plan.mains.map((main): Trunk => {
    const s = side.get(main.id)!, nth = same.get(s) ?? 0;
    same.set(s, nth + 1);
    const outer = s === -1 ? headHeight + 2 + nth * 8 : height - 2 - nth * 8;
    const xs = cells.filter((c) => c.main === main.id && !c.leg).map((c) => c.x);
    return { id: main.id, name: main.name, side: s, outer, x0: Math.min(...xs, x) - boxWidth / 2 };
  });
  const fanX = width - rightArea(plan) - beside + 14;
  return {
    width, height, riverY: (roomTop + roomBottom) / 2, riverX: leftArea - 22, fanX, roomTop, roomBottom,
    headHeight, trunkHeight, tight, rooms, cells, trunks,
    doors: placeDoors(plan, rooms, roomTop, roomBottom),
    fans: placeFans(plan, trunks, fanX + 38, height),
  };
}
