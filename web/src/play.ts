// What happens on the way to a trial's end: asked once for the whole way, then shown for any moment of it.
// The ribbons and what is left in the pools are of steady air: they rest meanwhile.
import { Asker } from './asker';
import { byId, type Air, type Keep, type Maybe, type Plan, type Scene } from './contract';
import { $, put, say } from './dom';
import { safe } from './svg';
import type { Trial } from './trial';
import * as w from './words';

interface Turn { at_s: number; until_s: number; events: string[]; says: string }
interface Flow { id: string; flow_m3_s: Maybe[] }
interface TraceKeep { room: string; over: string; actual_Pa: Maybe[] }
interface After {
  for_s: number; solved: boolean; turns: Turn[]; worst_first: number[]; not_known: string[]; assumed: string[];
  trace: { time_s: number[]; keeps: TraceKeep[]; doors: Flow[]; stations: Flow[] };
}
type Changes = Trial['changes'];

const begins_s = 5, tail_s = 55, frame_ms = 100, met_Pa = 0.05; // how near a keep counts as met: as the answers say
const moving = new Set(['sash', 'all', 'door', 'off', 'on', 'cover', 'shut']);

// ---- a trial as events, and back again ----

export const moves = (changes: Changes): boolean => changes.some(([verb]) => moving.has(verb));
export const stays = (changes: Changes): Changes => changes.filter(([verb]) => !moving.has(verb));

const event = ([verb, argument]: [string, string]): string => `${verb} ${argument.replace('=', ' ')}`;

function sashBack(id: string, scene: Scene): string[] {
  const was = byId(scene.stations, id);
  return was ? [`sash ${id} ${!was.raised ? 'parked' : was.opening_m !== null ? `${was.opening_m.toFixed(3)}m` : 'work'}`] : [];
}

function back([verb, argument]: [string, string], scene: Scene, plan: Plan): string[] {
  const id = argument.split('=', 1)[0]!;
  switch (verb) {
    case 'sash': return sashBack(id, scene);
    case 'all': return plan.stations.filter((s) => s.parked_m !== null).flatMap((s) => sashBack(s.id, scene));
    case 'door': return [`door ${id} ${scene.doors_open.includes(id) ? 'open' : 'closed'}`];
    case 'off': return [`on ${id}`];
    case 'on': return [`off ${id}`];
    case 'cover': return [`cover ${id} ${Math.round(100 * (byId(scene.stations, id)?.cover_ratio ?? 0))}%`];
  }
  return []; // a shut damper has no way back by itself
}

/** The question: what was so before is in `base`, all that moves comes at once, and goes back later if asked for. */
export function wayThere(base: string, changes: Changes, scene: Scene, plan: Plan, back_s: number): string {
  const said = new URLSearchParams(base), go = changes.filter(([verb]) => moving.has(verb));
  for (const c of go) said.append('event', `${begins_s}s ${event(c)}`);
  if (back_s > 0) for (const line of new Set(go.flatMap((c) => back(c, scene, plan)))) said.append('event', `${begins_s + back_s}s ${line}`);
  said.set('for', `${begins_s + back_s + tail_s}s`);
  return said.toString();
}

// ---- any moment of it ----

/** Of two rows at one time the second is behind a jump. */
export function valueAt(time_s: number[], values: Maybe[], t_s: number): Maybe {
  let after = time_s.findIndex((t) => t > t_s);
  if (after < 0) after = time_s.length;
  const a = values[after - 1] ?? null, b = values[after] ?? a;
  if (a === null || b === null || after === 0 || after === time_s.length) return a;
  const from = time_s[after - 1]!, to = time_s[after]!;
  return a + ((b - a) * (t_s - from)) / (to - from);
}

export function airAt(way: After, end: Air, isChanged: boolean, scene: Scene, t_s: number): Air {
  const { trace } = way, at = (values: Maybe[] | undefined) => values ? valueAt(trace.time_s, values, t_s) : null;
  const keep = (room: string, k: Keep): Keep => {
    const actual_Pa = at(trace.keeps.find((x) => x.room === room && x.over === k.over)?.actual_Pa);
    const met = actual_Pa === null ? null : (k.at_least_Pa == null || actual_Pa >= k.at_least_Pa - met_Pa) && (k.at_most_Pa == null || actual_Pa <= k.at_most_Pa + met_Pa);
    return { ...k, actual_Pa, met };
  };
  return {
    ...end,
    rooms: end.rooms.map((r) => ({ ...r, keeps: r.keeps.map((k) => keep(r.id, k)) })),
    doors: end.doors.map((d) => ({ ...d, open: isChanged ? d.open : scene.doors_open.includes(d.id), flow_m3_s: at(byId(trace.doors, d.id)?.flow_m3_s) })),
    stations: end.stations.map((s) => ({ ...s, flow_m3_s: at(byId(trace.stations, s.id)?.flow_m3_s), face_velocity_m_s: null, criterion: null, own_fault: false, at_limit: false, may_open: null })),
  };
}

// ---- the page's part ----

function strip(k: TraceKeep, time_s: number[], for_s: number, least: Maybe): string {
  const known = k.actual_Pa.filter((v): v is number => v !== null), low = Math.min(...known, least ?? Infinity), high = Math.max(...known, least ?? -Infinity);
  const pad = 0.12 * Math.max(high - low, 1), x = (t: number) => (1000 * t) / for_s, y = (v: number) => 40 * (1 - (v - low + pad) / (high - low + 2 * pad));
  const line = k.actual_Pa.map((v, i) => v === null ? '' : `${i && k.actual_Pa[i - 1] !== null ? 'L' : 'M'}${x(time_s[i]!).toFixed(1)} ${y(v).toFixed(1)}`).join('');
  return `<svg viewBox="0 0 1000 40" preserveAspectRatio="none" aria-hidden="true">${least === null ? '' : `<path class="least" d="M0 ${y(least).toFixed(1)}H1000"/>`}<path class="way" d="${line}"/></svg>`;
}

export class Play {
  private way: After | null = null;
  private open = false;
  private t_s = 0;
  private timer: number | undefined;
  private readonly asker = new Asker<After>('/api/after', (outcome) => this.hear(outcome.value ?? null, outcome.refusal ?? (outcome.silent ? w.play.silent : '')));

  /** `question`: the address of the way with this time until all goes back; `again`: draw the plan. */
  constructor(private readonly plan: Plan, private readonly question: (back_s: number) => string | null, private readonly again: () => void) {
    $('play-t').addEventListener('input', () => { this.stop(); this.go(Number($<HTMLInputElement>('play-t').value)); });
    $('play-run').addEventListener('click', () => this.timer === undefined ? this.run() : this.stop());
    $('play-back').addEventListener('change', () => this.ask());
    $('play-close').addEventListener('click', () => this.close());
  }

  get busy(): boolean { return this.asker.busy; }
  /** While another way is worked out the one before it is not shown on the plan. */
  get shown(): boolean { return this.open && this.way !== null && !this.asker.busy; }

  start(): void {
    this.open = true;
    this.t_s = begins_s;
    this.ask();
  }
  /** The trial is another now. */
  follow(): void { if (this.open) this.ask(); }

  air(end: Air, scene: Scene): Air { return this.way && this.shown ? airAt(this.way, end, this.isChanged, scene, this.t_s) : end; }
  /** From when the sashes are where the trial has them; before and afterwards as the scene has them. */
  get isChanged(): boolean { return this.t_s >= begins_s && (this.back_s === 0 || this.t_s < begins_s + this.back_s); }

  private get back_s(): number { return Number($<HTMLSelectElement>('play-back').value); }

  private ask(): void {
    const search = this.question(this.back_s);
    if (search === null) return this.close();
    this.stop();
    this.asker.ask(search);
    say('play-says', w.play.asking);
    this.render();
  }

  private hear(way: After | null, why: string): void {
    this.way = way;
    if (way) this.t_s = Math.min(this.t_s, way.for_s);
    say('play-says', why);
    this.render();
    this.again();
  }

  private close(): void {
    this.stop();
    this.open = false;
    this.way = null;
    this.render();
    this.again();
  }

  private run(): void {
    if (!this.way) return;
    if (this.t_s >= this.way.for_s) this.t_s = 0;
    this.timer = window.setInterval(() => this.go(this.t_s + frame_ms / 1000), frame_ms);
    this.render();
  }
  private stop(): void {
    window.clearInterval(this.timer);
    this.timer = undefined;
    say('play-run', w.play.run);
  }

  private go(t_s: number): void {
    this.t_s = Math.min(t_s, this.way?.for_s ?? 0);
    if (this.way && this.t_s >= this.way.for_s) this.stop();
    this.render();
    this.again();
  }

  private render(): void {
    $('play').hidden = !this.open;
    document.body.classList.toggle('playing', this.shown);
    $('play').classList.toggle('asking', this.asker.busy);
    if (!this.way || !this.shown) return;
    const { way } = this, slider = $<HTMLInputElement>('play-t'), turn = way.turns.find((x) => this.t_s >= x.at_s && this.t_s < x.until_s) ?? (this.t_s >= way.for_s ? way.turns[way.turns.length - 1] : undefined);
    slider.max = String(way.for_s);
    slider.value = String(this.t_s);
    slider.setAttribute('aria-valuetext', w.play.at(this.t_s));
    say('play-run', this.timer === undefined ? w.play.run : w.play.stop);
    say('play-at', w.play.at(this.t_s));
    say('play-says', !way.solved ? w.play.unsolved : turn ? `${turn.events.join('; ')}. ${turn.says}` : w.play.before);
    put('play-strips', way.trace.keeps.map((k) => this.row(k)).join(''));
    way.trace.keeps.forEach((k, i) => this.figure(k, i));
    $('play-cursor').style.setProperty('--share', String(this.t_s / way.for_s));
  }

  private least(k: TraceKeep): Maybe {
    return byId(this.plan.rooms, k.room)?.keeps.find((x) => x.over === k.over)?.at_least_Pa ?? null;
  }
  private row(k: TraceKeep): string {
    const { trace, for_s } = this.way!, name = (id: string) => byId(this.plan.rooms, id)?.name ?? id, least = this.least(k);
    return `<div class="strip"><span>${safe(w.play.keep(name(k.room), name(k.over)))}</span>${strip(k, trace.time_s, for_s, least)}<b></b></div>`;
  }
  private figure(k: TraceKeep, i: number): void {
    const value = valueAt(this.way!.trace.time_s, k.actual_Pa, this.t_s), least = this.least(k), at = $('play-strips').children[i]!.querySelector('b')!;
    const missed = value !== null && least !== null && value < least - met_Pa;
    at.textContent = `${missed ? '\u25a0 ' : ''}${w.pressure(value)}${least !== null ? `, min ${w.pressure(least, false)}` : ''}`;
    at.classList.toggle('missed', missed);
  }
}
