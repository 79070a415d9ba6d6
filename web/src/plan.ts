// The plan: what stands still is drawn once per window size, what the air
// changes is patched, so that focus and a finger on a sash are never lost.
import { alwaysOn, byId, running, type Air, type Plan, type PlanStation, type Scene } from './contract';
import { drawAir, scaleFor, stationBox, supplyX, supplyY } from './air_shapes';
import { boxHeight, boxWidth, cellHeight, doorSize, fanSize, layOut, leastWidth, type Cell, type FanSpot, type Layout, type RoomBox } from './layout';
import { Beyond, type Spot } from './beyond';
import { isPressed } from './dom';
import { safe, stateShape } from './svg';
import { waitsForRelease } from './restart';
import * as w from './words';

export interface Actions {
  select(id: string | null): void;
  sash(id: string, opening_m: number | 'work' | 'parked'): void;
  door(id: string): void;
  fan(id: string, unit: number): void;
  supply(id: string): void;
}

export interface View { air: Air; scene: Scene; openings: Map<string, number>; covers: Map<string, number>; selected: string | null }

const idSize = 20, idCharacter = 13.2; // px; a capital of the id, as wide as they come
const paneTop = 4, paneTravel = boxHeight - 10;
const dragLength = 150; // px of finger for the whole travel of a sash: a pixel is about half a centimetre

const text = (x: number, y: number, cls: string, body = '', extra = '') =>
  `<text class="${cls}" x="${x}" y="${y}" ${extra}>${safe(body)}</text>`;

export class PlanView {
  private layout: Layout | null = null;
  private k = 0;
  private view: View | null = null;
  private shown: { air: Air; layout: Layout; of: string } | null = null;
  private late = false; // the window changed under a finger
  private readonly parts = new Map<string, Element>();
  private drag: { id: string; y: number; from_m: number } | null = null;

  private readonly beyond: Beyond;

  constructor(private readonly box: HTMLElement, row: HTMLElement, private readonly plan: Plan, private readonly actions: Actions) {
    this.beyond = new Beyond(box, row);
    box.addEventListener('click', (e) => this.click(e));
    box.addEventListener('keydown', (e) => this.key(e));
    box.addEventListener('pointerdown', (e) => this.dragStart(e));
    box.addEventListener('pointermove', (e) => this.dragMove(e));
    // A finger on a sash moves the sash: `touch-action` does not reach into a drawing everywhere.
    box.addEventListener('touchstart', (e) => { const s = this.stationAt(e); if (s && s.most_m !== null) e.preventDefault(); }, { passive: false });
    box.addEventListener('pointerup', () => { this.drag = null; });
    box.addEventListener('pointercancel', () => { this.drag = null; });
  }

  get dragging(): boolean { return this.drag !== null; }

  resize(): void {
    this.late = this.layout !== null && !this.drag && isPressed(this.box);
    if (this.late) return; // `released` does it
    const width = Math.max(this.box.clientWidth - 2, Math.round(leastWidth(this.plan)));
    const height = Math.max(this.box.clientHeight - 2, 470);
    if (this.layout && this.layout.width === width && this.layout.height === height) return;
    this.layout = layOut(this.plan, width, height);
    this.k = 0;
    this.build(this.layout);
    this.beyond.show(this.spots(this.layout), width);
    if (this.view) this.show(this.view);
  }

  private spots(l: Layout): Spot[] {
    const fans = l.fans.length ? [{ name: w.plan.fans, x0: l.fanX, x1: l.width }] : [];
    return [{ name: w.plan.supply, x0: 0, x1: l.riverX }, ...l.rooms, ...fans];
  }

  /** A finger is off the plan again. */
  released(): void {
    if (this.late) this.resize();
  }

  // After a change of units: the words that stand still are written again.
  rebuild(): void {
    this.layout = null;
    this.resize();
  }

  // ---- what stands still ----

  // Who moves a sash by keys keeps it, though the plan is drawn anew around it.
  private build(l: Layout): void {
    const at = document.activeElement, id = this.box.contains(at) ? at?.getAttribute('data-part') ?? null : null;
    this.draw(l);
    if (id !== null) (this.parts.get(id) as SVGElement | undefined)?.focus({ preventScroll: true });
  }

  private draw(l: Layout): void {
    this.box.innerHTML =
      `<svg class="air-plan${l.tight ? ' tight' : ''}" width="${l.width}" height="${l.height}" viewBox="0 0 ${l.width} ${l.height}" role="group" aria-label="Rooms, stations and the air between them">` +
      `<g class="rooms">${l.rooms.map((r) => `<rect x="${r.x0}" y="${l.roomTop - 2}" width="${r.x1 - r.x0}" height="${l.roomBottom - l.roomTop + 4}"/>`).join('')}</g>` +
      `<g class="air" aria-hidden="true"></g><g class="notes"></g>` +
      `<g class="heads">${l.rooms.map((r) => this.roomHead(r, l.headHeight)).join('')}</g>` +
      `<g class="cells">${l.cells.map((c) => this.cell(c)).join('')}</g>` +
      `<g class="walls">${l.doors.map((d) => this.door(d.id, d.name, d.x, d.y)).join('')}</g>` +
      `<g class="plant">${l.fans.map((f) => this.fan(f.id, f.unit, f.label, f.x, f.y)).join('')}` +
      `${l.trunks.map((t) => this.trunkWord(t.id, t.name, t.side, t.outer)).join('')}` +
      `${this.plan.supplies.map((s, i) => this.supply(s.id, s.name, supplyY(l, this.plan, i))).join('')}</g>` +
      (l.tight ? text(8, 18, 'hint', `flows in ${w.flow(0).replace(/^0 /, '')},`) + text(8, 33, 'hint', `velocities in ${w.speedUnit()}`) : '') + '</svg>';
    this.parts.clear();
    this.box.querySelectorAll('[data-part]').forEach((e) => this.parts.set(e.getAttribute('data-part')!, e));
  }

  private roomHead(r: RoomBox, height: number): string {
    const lines = byId(this.plan.rooms, r.id)!.keeps.length * (r.narrow ? 2 : 1);
    return `<g><path class="bracket" d="M${r.x0 + 5} ${height - 3}H${r.x1 - 5}"/>` + text(r.x0 + 8, 18, 'room-name', r.name) +
      Array.from({ length: Math.max(1, lines) }, (_, i) =>
        `<text class="keep${r.narrow ? ' narrow' : ''}" x="${r.x0 + 8}" y="${36 + i * 16}" data-part="keep:${r.id}:${i}"></text>`).join('') + '</g>';
  }

  private cell(cell: Cell): string {
    const b = stationBox(cell), tx = b.x + boxWidth + 5, ty = cell.y;
    if (!cell.station)
      return `<g class="fixed"><path d="M${cell.x - 9} ${b.y + boxHeight / 2}h18"/>` + text(tx - 16, ty + 46, 'st-id small', cell.id) +
        `<text class="st-line" x="${tx - 16}" y="${ty + 62}" data-part="flow:${cell.id}"></text></g>`;
    const s = cell.station, slides = s.most_m !== null, id = this.idText(s.id, cell.pitch, tx, ty);
    const role = slides ? `role="slider" aria-valuemin="${Math.round((s.parked_m ?? 0) * 100)}" aria-valuemax="${Math.round(s.most_m! * 100)}" aria-valuenow="${Math.round((s.parked_m ?? 0) * 100)}" aria-valuetext="not known" aria-orientation="vertical"` : 'role="button"';
    return `<g class="station ${s.kind.replace(/ /g, '-')}" data-id="${s.id}" data-part="st:${s.id}" tabindex="0" ${role} aria-label="${safe(`${s.id} ${s.name}`)}">` +
      `<rect class="hit" x="${b.x - 6}" y="${cell.y - 3}" width="${boxWidth + 64}" height="${cellHeight + 4}"/>` +
      `<rect class="box" x="${b.x}" y="${b.y}" width="${b.width}" height="${b.height}" rx="2"/>` +
      `<rect class="pane" x="${b.x + 3}" y="${b.y + paneTop}" width="${boxWidth - 6}" height="0" data-part="pane:${s.id}"/>` +
      `<rect class="rail" x="${b.x + 3}" y="${b.y}" width="${boxWidth - 6}" height="4" data-part="rail:${s.id}"/>` +
      (s.deck_ratio > 0 ? `<path class="deck" d="M${b.x + 2} ${b.y + boxHeight - 2}h${boxWidth - 4}"/>` : '') +
      id.text +
      `<svg class="st-mark" x="${id.markX}" y="${id.markY}" width="18" height="18" viewBox="0 0 100 100" data-part="mark:${s.id}"></svg>` +
      [1, 2, 3, 4, 5].map((i) => `<text class="st-line l${i}" x="${tx}" y="${ty + 20 + i * 15.6}" data-part="l${i}:${s.id}"></text>`).join('') + '</g>';
  }

  // An id ends before the next station's box: a long one is written smaller, its shape stands lower.
  private idText(id: string, pitch: number, x: number, y: number): { text: string; markX: number; markY: number } {
    const room = pitch - boxWidth - 7, wide = idCharacter * id.length, beside = wide + 21 <= room;
    const size = beside ? idSize : Math.min(idSize, Math.max(11, Math.floor((idSize * room) / wide)));
    const squeeze = wide * size > room * idSize ? ` textLength="${Math.floor(room)}" lengthAdjust="spacingAndGlyphs"` : '';
    return {
      text: text(x, y + 19, 'st-id', id, `font-size="${size}"${squeeze}`),
      markX: beside ? x + 3 + 13 * id.length : x + (this.layout!.tight ? 32 : 62), markY: beside ? y + 3 : y + 52,
    };
  }

  private door(id: string, name: string, x: number, y: number): string {
    return `<g class="door" data-door="${id}" data-part="door:${id}" tabindex="0" role="switch" aria-checked="false" aria-label="Door ${safe(id)} ${safe(name)}">` +
      `<rect class="hit" x="${x}" y="${y}" width="${doorSize}" height="${doorSize}" rx="3"/>` +
      `<path class="leaf" d="M${x + doorSize / 2} ${y + 17}v22" data-part="leaf:${id}"/>` +
      text(x + doorSize / 2, y + 13, 'door-id', id, 'text-anchor="middle"') +
      `<text class="leak" x="${x + doorSize / 2}" y="${y + doorSize + 15}" text-anchor="middle" data-part="doorflow:${id}"></text></g>`;
  }

  private fan(id: string, unit: number, label: string, x: number, y: number): string {
    const c = fanSize / 2;
    return `<g class="fan" data-fan="${id}" data-unit="${unit}" data-part="fan:${id}:${unit}" tabindex="0" role="switch" aria-checked="true" aria-label="Fan ${safe(label)}">` +
      `<rect class="reach" x="${x}" y="${y}" width="${fanSize + 62}" height="${fanSize}"/>` +
      `<rect class="hit" x="${x}" y="${y}" width="${fanSize}" height="${fanSize}" rx="22"/>` +
      `<g transform="translate(${x + c} ${y + c})"><circle class="rim" r="19"/><path class="blades" d="M0 0C4-14 14-12 12-6 8 1 3 0 0 0C14 4 12 14 6 12-1 8 0 3 0 0C-4 14-14 12-12 6-8-1-3 0 0 0C-14-4-12-14-6-12 1-8 0-3 0 0"/><path class="cross" d="M-9-9 9 9M9-9-9 9"/></g>` +
      text(x + fanSize + 7, y + 19, 'fan-id', label) +
      `<text class="st-line" x="${x + fanSize + 7}" y="${y + 35}" data-part="fanflow:${id}:${unit}"></text></g>`;
  }

  private trunkWord(id: string, name: string, side: number, outer: number): string {
    const y = side === -1 ? outer + 15 : outer - 24;
    return text(8, y, 'trunk-name', name) + `<text class="trunk-left" x="8" y="${y + 18}" data-part="left:${id}"></text>`;
  }

  private supply(id: string, name: string, y: number): string {
    return `<g class="supply" data-supply="${id}" data-part="supply:${id}" tabindex="0" role="switch" aria-checked="true" aria-label="Supply ${safe(id)} ${safe(name)}">` +
      `<rect class="hit" x="6" y="${y - 24}" width="${supplyX - 4}" height="48" rx="3"/>` +
      text(32, y + 5, 'fan-id', id, 'text-anchor="middle"') + `<path class="cross" d="M14 ${y - 16}L${supplyX - 10} ${y + 16}"/></g>` +
      text(8, y - 34, 'trunk-name', name, `data-part="sname:${id}"`) + `<text class="st-line" x="8" y="${y + 42}" data-part="sflow:${id}"></text>` +
      `<text class="trunk-left" x="8" y="${y + 60}" data-part="left:${id}"></text>`;
  }

  // ---- what the air changes ----

  show(view: View): void {
    this.view = view;
    if (!this.layout) return this.resize();
    const { air } = view, l = this.layout;
    if (this.k === 0 || this.outgrown(air)) this.k = scaleFor(this.plan, air, l);
    this.showAir(view);
    for (const room of this.plan.rooms) this.showRoom(room.id, air);
    for (const cell of l.cells) this.showCell(cell, view);
    for (const door of this.plan.doors) this.showDoor(door.id, air);
    for (const spot of l.fans) this.showFan(spot, air);
    for (const pool of air.pools) this.showPool(pool.id, air);
    for (const s of this.plan.supplies) this.showSupply(s.id, air);
  }

  // A tap is shown before it is answered: the same air is not drawn twice.
  private showAir(view: View): void {
    const { air } = view, l = this.layout!, of = `${this.k} ${view.selected} ${[...view.covers].join(' ')}`;
    if (this.shown?.air === air && this.shown.layout === l && this.shown.of === of) return;
    this.shown = { air, layout: l, of };
    const drawn = drawAir(this.plan, air, l, this.k, view.covers);
    this.box.querySelector('.air')!.innerHTML = drawn.shapes.map((s) =>
      `<path class="${s.kind}${s.level ? ' ' + s.level : ''}${s.of && s.of === view.selected ? ' chosen' : ''}"${s.of ? ` data-of="${s.of}"` : ''} d="${s.path}"/>`).join('');
    this.box.querySelector('.notes')!.innerHTML = drawn.notes.map((note) =>
      text(Math.round(note.x), Math.round(note.y), `leak ${note.kind}`,
        `${note.kind === 'leak-in' ? 'in' : 'out'} ${this.short(w.flow(note.flow_m3_s))}`,
        note.kind === 'leak-out' ? 'text-anchor="end"' : '')).join('');
  }

  private outgrown(air: Air): boolean {
    const now = scaleFor(this.plan, air, this.layout!);
    return now < this.k * 0.8 || now > this.k * 2;
  }

  private short = (figure: string) => this.layout!.tight ? figure.replace(/ (m\u00b3\/h|m\/s|cfm|fpm)$/, '') : figure;
  private part = (name: string) => this.parts.get(name);
  private put(name: string, body: string): void {
    const at = this.part(name);
    if (at && at.textContent !== body) at.textContent = body;
  }

  private name = (node: string) => byId(this.plan.rooms, node)?.name ?? node;

  private showRoom(id: string, air: Air): void {
    const room = byId(air.rooms, id), keeps = room?.keeps ?? [];
    const limits = byId(this.plan.rooms, id)!.keeps;
    if (!room || room.pressure_Pa === null) return this.put(`keep:${id}:0`, w.words.notComputed);
    if (keeps.length === 0) this.put(`keep:${id}:0`, `${w.pressure(room.pressure_Pa)} over outdoors`);
    const narrow = this.layout!.rooms.find((r) => r.id === id)!.narrow;
    keeps.forEach((keep, i) => {
      const least = keep.at_least_Pa ?? limits[i]?.at_least_Pa ?? null, most = limits[i]?.at_most_Pa ?? null;
      const bounds = [least !== null ? `min ${this.bare(least)}` : '', most !== null ? `max ${this.bare(most)}` : ''].filter(Boolean).join(', ');
      const actual = `${keep.met === false ? '\u25a0 ' : ''}${w.pressure(keep.actual_Pa)} over ${narrow ? keep.over : this.name(keep.over)}`;
      const lines = narrow ? [actual, bounds] : [bounds ? `${actual}, ${bounds}` : actual];
      lines.forEach((line, j) => {
        this.put(`keep:${id}:${i * lines.length + j}`, line);
        this.part(`keep:${id}:${i * lines.length + j}`)?.classList.toggle('missed', keep.met === false);
      });
    });
  }
  private bare = (Pa: number) => w.pressure(Pa, false).replace(/ \S+$/, '');

  private showCell(cell: Cell, view: View): void {
    if (!cell.station) return this.put(`flow:${cell.id}`, this.short(w.flow(byId(this.plan.exhausts, cell.id)?.flow_m3_s ?? null)));
    const s = cell.station, now = byId(view.air.stations, s.id);
    const scene = byId(view.scene.stations, s.id), opening = view.openings.get(s.id) ?? now?.opening_m ?? null;
    const open = stationOpen(s, opening, now), group = this.part(`st:${s.id}`)!;
    const down = s.most_m ? 1 - Math.min(1, (opening ?? 0) / s.most_m) : open ? 0.4 : 1;
    this.part(`pane:${s.id}`)!.setAttribute('height', String(Math.round(paneTravel * down)));
    this.part(`rail:${s.id}`)!.setAttribute('y', String(stationBox(cell).y + paneTop + Math.round(paneTravel * down) - 2));
    const lines = s.in_service ? stationLines(s, now, scene, opening, open) : ['out of', 'service', '', '', '']; // a column is narrow
    lines.forEach((line, i) => this.put(`l${i + 1}:${s.id}`, i >= 1 && i <= 3 && /\d/.test(line) ? this.short(line) : this.layout!.tight ? line.replace('nobody there', 'nobody') : line));
    const level = stationLevel(s, now, open);
    const mark = this.part(`mark:${s.id}`)!, cls = `st-mark mk ${level ?? ''}${open ? ' now' : ' if'}`;
    if (mark.getAttribute('class') !== cls) {
      mark.innerHTML = level ? stateShape[level]! : '';
      mark.setAttribute('class', cls);
    }
    group.classList.toggle('open', open);
    group.classList.toggle('out', !s.in_service);
    group.classList.toggle('chosen', view.selected === s.id);
    if (s.most_m !== null) {
      group.setAttribute('aria-valuenow', String(Math.round((opening ?? 0) * 100)));
      group.setAttribute('aria-valuetext', lines.filter(Boolean).join(', '));
    }
  }

  private showDoor(id: string, air: Air): void {
    const door = byId(air.doors, id), open = door?.open === true, at = this.part(`door:${id}`);
    at?.classList.toggle('open', open);
    at?.setAttribute('aria-checked', String(open));
    this.put(`doorflow:${id}`, door?.flow_m3_s == null ? '?' : this.doorFlow(id, door.flow_m3_s));
  }

  // An arrow the way the air goes on the page, then how much.
  private doorFlow(id: string, flow_m3_s: number): string {
    const door = byId(this.plan.doors, id)!, at = (node: string | null) => this.layout!.rooms.findIndex((r) => r.id === node);
    const from = at(door.from), to = at(door.to) < 0 && from === 0 ? -1 : at(door.to) < 0 ? this.layout!.rooms.length : at(door.to);
    const figure = w.flow(Math.abs(flow_m3_s)).replace(/ .*$/, '');
    return (to > from) === flow_m3_s > 0 ? `${figure} \u2192` : `\u2190 ${figure}`;
  }

  private showFan(spot: FanSpot, air: Air): void {
    const { id, unit } = spot, fan = byId(air.fans, id), count = fan ? running(fan) : 0, runs = unit < count, at = this.part(`fan:${id}:${unit}`);
    at?.classList.toggle('stopped', !runs);
    at?.setAttribute('aria-checked', String(runs));
    const each = fan?.flow_m3_s != null ? fan.flow_m3_s / (spot.of > 1 ? count : 1) : null;
    this.put(`fanflow:${id}:${unit}`, runs ? this.short(w.flow(each)) : 'stopped');
  }

  private showPool(id: string, air: Air): void {
    const pool = byId(air.pools, id), left = pool?.headroom_m3_s ?? null, at = this.part(`left:${id}`);
    this.put(`left:${id}`, left === null ? w.plan.leftUnknown : left < 0 ? w.words.missing(this.short(w.flow(-left))) : w.words.left(this.short(w.flow(left))));
    at?.classList.toggle('missed', pool?.state === 'short');
  }

  private showSupply(id: string, air: Air): void {
    const s = byId(air.supplies, id), at = this.part(`supply:${id}`);
    at?.classList.toggle('stopped', s?.running === false);
    at?.setAttribute('aria-checked', String(s?.running !== false));
    // Beside the ribbon, however thick it is now.
    const i = this.plan.supplies.findIndex((u) => u.id === id), y = supplyY(this.layout!, this.plan, i);
    const half = Math.max(26, ((this.plan.supplies[i]!.most_m3_s ?? s?.flow_m3_s ?? 0) * this.k) / 2);
    this.part(`sname:${id}`)?.setAttribute('y', String(Math.round(y - half - 9)));
    this.part(`sflow:${id}`)?.setAttribute('y', String(Math.round(y + half + 17)));
    this.part(`left:${id}`)?.setAttribute('y', String(Math.round(y + half + 35)));
    this.put(`sflow:${id}`, s?.running === false ? 'stopped' : w.flow(s?.flow_m3_s ?? null));
  }

  // ---- hands ----

  private stationAt(e: Event): PlanStation | undefined {
    const id = (e.target as Element).closest('[data-id]')?.getAttribute('data-id');
    return id ? byId(this.plan.stations, id) : undefined;
  }

  private press(e: Event): boolean {
    const at = (e.target as Element).closest('[data-door],[data-fan],[data-supply]');
    if (!at) return false;
    const get = (name: string) => at.getAttribute(name);
    if (get('data-door')) this.actions.door(get('data-door')!);
    else if (get('data-fan')) this.actions.fan(get('data-fan')!, Number(get('data-unit')));
    else this.actions.supply(get('data-supply')!);
    return true;
  }

  private click(e: Event): void {
    if (this.press(e)) return;
    const s = this.stationAt(e);
    if (s) this.actions.select(s.id);
  }

  private openingOf(s: PlanStation): number {
    return this.view?.openings.get(s.id) ?? byId(this.view?.air.stations ?? [], s.id)?.opening_m ?? s.parked_m ?? 0;
  }

  private key(e: KeyboardEvent): void {
    const s = this.stationAt(e);
    if (e.key === 'Enter' || e.key === ' ') {
      if (this.press(e)) e.preventDefault();
      else if (s) { this.actions.select(s.id); e.preventDefault(); }
      return;
    }
    if (!s || s.most_m === null) return;
    const steps: Record<string, number> = { ArrowUp: 0.01, ArrowRight: 0.01, ArrowDown: -0.01, ArrowLeft: -0.01, PageUp: 0.05, PageDown: -0.05 };
    const step = steps[e.key];
    if (step !== undefined) this.actions.sash(s.id, clampOpening(s, this.openingOf(s) + step));
    else if (e.key === 'Home') this.actions.sash(s.id, 'parked');
    else if (e.key === 'End' || e.key === 'w') this.actions.sash(s.id, 'work');
    else return;
    e.preventDefault();
  }

  private dragStart(e: PointerEvent): void {
    const s = this.stationAt(e);
    if (!s || s.most_m === null || e.button !== 0) return;
    this.drag = { id: s.id, y: e.clientY, from_m: this.openingOf(s) };
    this.box.setPointerCapture?.(e.pointerId);
    this.actions.select(s.id);
  }

  private dragMove(e: PointerEvent): void {
    const s = this.drag && byId(this.plan.stations, this.drag.id);
    if (!s || !this.drag) return;
    const to = clampOpening(s, this.drag.from_m + ((this.drag.y - e.clientY) / dragLength) * s.most_m!);
    if (Math.abs(to - this.openingOf(s)) > 0.004) this.actions.sash(s.id, to);
  }
}

export function clampOpening(s: PlanStation, m: number): number {
  return Math.round(Math.min(s.most_m ?? m, Math.max(s.parked_m ?? 0, m)) * 100) / 100;
}

// A station without figures for its sash is at work or parked as the answer says.
export const stationOpen = (s: PlanStation, opening: number | null, now?: { sash?: string }): boolean =>
  s.parked_m !== null && opening !== null ? opening > s.parked_m + 0.005 : now?.sash === 'raised';

// What a station's own line of shapes says: an open one about itself, a parked one about opening it.
export function stationLevel(s: PlanStation, now: Air['stations'][0] | undefined, open: boolean): string | null {
  if (!s.in_service || (!open && waitsForRelease(s.id))) return null;
  if (!now || now.flow_m3_s === null) return 'not_known';
  if (open) return now.criterion?.met === false || now.at_limit ? 'short' : null;
  return now.may_open ? now.may_open.state_after : null;
}

export function stationLines(s: PlanStation, now: Air['stations'][0] | undefined, scene: Scene['stations'][0] | undefined,
  opening: number | null, open: boolean): [string, string, string, string, string] {
  if (!s.in_service) return [w.plan.outOfService, '', '', '', ''];
  const flags = [scene?.blocked ? 'blocked' : '', scene?.withdrawn ? 'withdrawn' : '', open && scene?.needs_flow ? 'needs flow' : '',
    open && scene?.unattended ? 'nobody there' : ''].filter(Boolean);
  const first = alwaysOn(s, now) ? w.words.alwaysOn : !open ? 'parked' : opening === null ? 'at work' : w.opening(opening);
  const flow = w.flow(now?.flow_m3_s ?? null);
  if (!open) {
    const may = now?.may_open;
    return [first, flow, '', waitsForRelease(s.id) ? w.start.waits : may ? mayWord[may.state_after] : '', flags.join(', ')];
  }
  const c = s.criterion, face = now?.face_velocity_m_s != null ? `${w.speedFigure(now.face_velocity_m_s)} ${w.speedUnit()}` : '';
  const limits = c ? w.band(c.of, c.low, c.high) : '';
  if (c && now?.criterion?.met === false) return [first, flow, face, limits, now.own_fault ? 'own fault' : flags[0] ?? ''];
  return flags.length > 1 ? [first, flow, face, flags[0]!, flags[1]!] : [first, flow, face, limits, flags[0] ?? ''];
}

const mayWord = { ample: 'may open', near_limit: 'near limit', short: 'not now', not_known: 'not known' };
