// Will the air last today?  The demand band under the capacity line leads; bookings are thin ticks below it.
// Not a place to book: it names the one booking to move, and a person asks the other.
import { ask } from './asker';
import { Beyond, type Spot } from './beyond';
import type { Maybe } from './contract';
import { $, put, say } from './dom';
import { follow } from './stream';
import { safe } from './svg';
import * as w from './words';

interface Pool { id: string; state_as_booked: string; demand_as_booked_m3_s: Maybe; capacity_m3_s: Maybe; demand_low_m3_s: Maybe; demand_middle_m3_s: Maybe; demand_high_m3_s: Maybe }
interface Quarter { from: string; from_local: string; booked: string[]; state_as_booked: string; binding: string | null; short_ratio: Maybe; short_odds: string; short_together_odds: string; near_ratio: Maybe; like_days: number; like_short: number; pools: Pool[] }
interface Booking { id: string; station: string; start: string; start_local: string; end: string; end_local: string; family: string | null }
interface Move { id: string; station: string; start: string; start_local: string; to: string; to_local: string; by_s: number }
interface Better { moves: Move[] }
interface Day {
  suite: string; label: string | null; date: string; weekday: string; from: string; to: string; trial: boolean; known: boolean; sentence: string | null; advice: string | null; needs_person: boolean;
  one: Better | null; two: Better | null; conflicts: { text: string }[]; second_person: { text: string; nobody: unknown[] }[]; unbooked: { text: string; unbooked: number }[]; quarters: Quarter[]; bookings: Booking[]; left_out: number; faults: string[]; assumed: string[];
}

let shown: Day | null = null, pool = '', asked = 0, answered = false, replayed_ms: number | null = null;

/** By the board's clock: a replay has its own. */
const clock = (): number => replayed_ms ?? Date.now();

const ms = (text: string): number => Date.parse(text);
const m3h = (flow: Maybe): string => flow === null ? '–' : `${Math.round(flow * 360) * 10}`;
const list = (lines: string[], of = 'lines'): string => lines.length ? `<ul class="${of}">${lines.map((l) => `<li>${safe(l)}</li>`).join('')}</ul>` : '';
const path = (points: [number, number][], from: 'M' | 'L' = 'M'): string => points.map(([x, y], i) => `${i || from === 'L' ? 'L' : 'M'}${x.toFixed(1)} ${y.toFixed(1)}`).join('');

// ---- the drawing ----

const wide = 1200, left = 74, right = 1190, top = 30, bottom = 330, ticks = 378;

/** The hours that matter: of bookings, and an hour around; the whole day where there are none. */
function hours(d: Day): [number, number] {
  const from = ms(d.from), to = ms(d.to), hour = 3600000;
  if (!d.bookings.length) return [from, to];
  const first = Math.min(...d.bookings.map((b) => ms(b.start))) - hour, last = Math.max(...d.bookings.map((b) => ms(b.end))) + hour;
  return [Math.max(from, Math.floor((first - from) / hour) * hour + from), Math.min(to, Math.ceil((last - from) / hour) * hour + from)];
}

const nothing: Pool = { id: '', state_as_booked: 'not_known', demand_as_booked_m3_s: null, capacity_m3_s: null, demand_low_m3_s: null, demand_middle_m3_s: null, demand_high_m3_s: null };
const of = (q: Quarter): Pool => q.pools.find((p) => p.id === pool) ?? q.pools[0] ?? nothing;

/** At the busiest moment, of the pools that bind and are worst off, the one with the least left as booked. */
function tightest(d: Day): string {
  const busiest = d.quarters.reduce<Quarter | undefined>((a, q) => !a || (q.near_ratio ?? 1) > (a.near_ratio ?? 1) ? q : a, undefined);
  const order = ['ample', 'near_limit', 'short', 'not_known'], left = (p: Pool) => p.capacity_m3_s ? (p.capacity_m3_s - (p.demand_as_booked_m3_s ?? 0)) / p.capacity_m3_s : 0;
  const named = (busiest?.binding ?? '').split(':')[0]?.split(', ') ?? [], binds = (p: Pool) => named.includes(p.id) ? 0 : 1;
  const worst = Math.max(...(busiest?.pools ?? []).map((p) => order.indexOf(p.state_as_booked)));
  return (busiest?.pools ?? []).filter((p) => order.indexOf(p.state_as_booked) === worst).sort((a, b) => binds(a) - binds(b) || left(a) - left(b))[0]?.id ?? '';
}

function rows(d: Day): { y: number; b: Booking }[] {
  const ends: number[] = [];
  return d.bookings.map((b) => {
    let row = ends.findIndex((end) => end <= ms(b.start));
    if (row < 0) row = ends.length;
    ends[row] = ms(b.end);
    return { y: ticks + row * 22, b };
  });
}

function chart(d: Day): string {
  const [from, to] = hours(d), seen = d.quarters.filter((q) => ms(q.from) >= from && ms(q.from) < to), quarter = 900000;
  const most = 1.08 * Math.max(...seen.map((q) => Math.max(of(q).demand_high_m3_s ?? 0, of(q).capacity_m3_s ?? 0, of(q).demand_as_booked_m3_s ?? 0)));
  const x = (t: number) => left + (right - left) * (t - from) / (to - from), y = (flow: number) => bottom - (bottom - top) * flow / most;
  const steps = (value: (p: Pool) => Maybe): [number, number][] => seen.flatMap((q) => {
    const v = value(of(q)), t = ms(q.from);
    return v === null ? [] : [[x(t), y(v)], [x(t + quarter), y(v)]] as [number, number][];
  });
  const high = steps((p) => p.demand_high_m3_s), low = steps((p) => p.demand_low_m3_s), limit = steps((p) => p.capacity_m3_s), middle = steps((p) => p.demand_middle_m3_s);
  const over = seen.filter((q) => q.state_as_booked === 'short').map((q) => `<rect class="over" x="${x(ms(q.from)).toFixed(1)}" y="${top}" width="${(x(quarter) - x(0)).toFixed(1)}" height="12"/>`).join('');
  let grid = '';
  for (let t = from; t <= to; t += 3600000)
    grid += `<line class="hour" x1="${x(t)}" x2="${x(t)}" y1="${top}" y2="${bottom}"/><text class="soft" x="${x(t)}" y="${bottom + 18}" text-anchor="${t === to ? 'end' : 'middle'}">${safe(d.quarters.find((q) => ms(q.from) === t)?.from_local ?? '24:00')}</text>`;
  const moves = new Map((d.one?.moves ?? []).map((m) => [`${m.id} ${m.start}`, m])), laid = rows(d), tall = ticks + 22 * (1 + Math.max(0, ...laid.map((r) => (r.y - ticks) / 22))) + 6;
  const bookings = laid.map(({ y: at, b }) => {
    const move = moves.get(`${b.id} ${b.start}`), begin = x(ms(b.start)), end = x(ms(b.end));
    const arrow = move ? `<path class="arrow" d="M${begin.toFixed(1)} ${at + 5}H${x(ms(move.to)).toFixed(1)}m-6 -5l6 5l-6 5"/>` : '';
    return `<line class="tick${move ? ' moves' : ''}" x1="${begin.toFixed(1)}" x2="${end.toFixed(1)}" y1="${at}" y2="${at}"/><text x="${(begin + 3).toFixed(1)}" y="${at - 4}">${safe(b.station)}${move ? ` ${w.day.moveMark}` : ''}</text>${arrow}`;
  }).join('');
  const now = clock(), mark = now >= from && now < to ? `<line class="now" x1="${x(now)}" x2="${x(now)}" y1="${top - 8}" y2="${tall}"/><text x="${x(now) + 5}" y="${top - 12}">${w.day.now}</text>` : '';
  return `<svg viewBox="0 0 ${wide} ${tall}" role="img" aria-label="${safe(w.day.drawn(pool, d.sentence ?? ''))}"><defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse"><path d="M0 6L6 0" stroke="#222" stroke-width="1.2"/></pattern></defs>` +
    `${grid}<path class="band" d="${path(high)}${path(low.reverse(), 'L')}Z"/><path class="middle" d="${path(middle)}"/><path class="limit" d="${path(limit)}"/>${over}` +
    `<text x="${left - 6}" y="${y(0)}" text-anchor="end" class="soft">0</text><text x="${left - 6}" y="${top + 6}" text-anchor="end" class="soft">${m3h(most / 1.08)}</text><text x="4" y="16" class="soft">${safe(pool)}, m³/h</text>` +
    (limit.length ? `<text x="${right}" y="${Math.max(14, (limit[limit.length - 1]?.[1] ?? 0) - 7)}" text-anchor="end">${w.day.capacity}</text>` : '') +
    (over ? `<text x="${x(ms(seen.find((q) => q.state_as_booked === 'short')?.from ?? '')).toFixed(1)}" y="${top - 6}">${w.day.hatched}</text>` : '') + `${bookings}${mark}</svg>`;
}

/** Where the sentence points: what is short or likeliest to be; where nothing is likely, now; on another day the fullest. */
function pointed(d: Day): number {
  const now = clock(), [from, to] = hours(d), seen = d.quarters.filter((q) => ms(q.from) >= from && ms(q.from) < to);
  const worst = (q: Quarter) => (q.state_as_booked === 'short' ? 2 : 0) + (q.short_ratio ?? 1) + (q.near_ratio ?? 1), full = (q: Quarter) => of(q).demand_high_m3_s ?? 0;
  const most = (by: (q: Quarter) => number) => seen.reduce((a, q) => by(q) > by(a) ? q : a);
  if (worst(most(worst)) >= 0.1) return ms(most(worst).from);
  return now >= from && now < to ? now : ms(most(full).from);
}

const placed = (d: Day, t: number) => { const [from, to] = hours(d); return left + (right - left) * (t - from) / (to - from); };
/** "14:00–18:00": what lies beyond an edge. */
const span = (spots: Spot[]): string => { const by = [...spots].sort((a, b) => a.x0 - b.x0); return `${by[0]!.name.split('–')[0]}–${by[by.length - 1]!.name.split('–')[1]}`; };
const beyond = new Beyond($('chart'), $('beyond'), span);
let pointedAt = '';

/** Once for each day and place: who looked elsewhere since is left there. */
function point(d: Day): void {
  const [from, to] = hours(d), hour = 3600000, clock = (t: number) => d.quarters.find((q) => ms(q.from) === t)?.from_local ?? '24:00', spots: Spot[] = [];
  if (!d.bookings.length) return beyond.show([], wide);
  for (let t = from; t < to; t += hour) spots.push({ name: `${clock(t)}–${clock(t + hour)}`, x0: placed(d, t), x1: placed(d, t + hour) });
  beyond.show(spots, wide);
  const at = `${d.date} ${d.sentence ?? ''}`;
  if (pointedAt !== at) beyond.bring(placed(d, pointed(d)));
  pointedAt = at;
}

// ---- words ----

const busyRow = (q: Quarter): string => `<tr><th>${safe(q.from_local)}</th><td>${q.booked.length}</td><td>${safe(w.day.states[q.state_as_booked] ?? q.state_as_booked)}</td><td>${safe(q.short_odds)}</td><td>${safe(q.short_together_odds)}</td>` +
  `<td>${q.like_days ? safe(w.day.like(q.like_short, q.like_days)) : w.day.noLike}</td><td class="wide">${safe(w.said(q.binding ?? ''))}</td></tr>`;

function busy(d: Day): string {
  const found = d.quarters.filter((q) => (q.near_ratio ?? 1) >= 0.01 || q.state_as_booked !== 'ample');
  return found.length ? `<table><thead><tr>${w.day.heads.map((h, i) => `<th${i === 6 ? ' class="wide"' : ''}>${h}</th>`).join('')}</tr></thead><tbody>${found.map(busyRow).join('')}</tbody></table>` : '';
}

const drawn = (d: Day): string => d.bookings.length ? chart(d) : `<p>${w.day.none}</p>`;

function show(d: Day): void {
  shown = d;
  if (!d.quarters[0]?.pools.some((p) => p.id === pool)) pool = tightest(d);
  say('suite', d.suite);
  say('label', d.label ?? '');
  $('label').hidden = !d.label;
  say('date', `${d.weekday}, ${d.date}`);
  say('sentence', d.sentence ?? '');
  say('advice', d.advice ?? '');
  $('said').className = d.needs_person ? 'asks' : '';
  $('trial').hidden = !d.trial;
  $<HTMLAnchorElement>('back').href = `/day?date=${d.date}`;
  put('chart', drawn(d));
  say('legend', d.bookings.length ? w.day.legend : '');
  point(d);
  put('pools', (d.quarters[0]?.pools ?? []).map((p) => `<button type="button" data-pool="${safe(p.id)}" aria-pressed="${p.id === pool}">${safe(p.id)}</button>`).join(''));
  put('busy-rows', busy(d));
  $('busy').hidden = !busy(d);
  put('conflict-rows', list(d.conflicts.map((c) => c.text), 'lines strong'));
  $('conflicts').hidden = !d.conflicts.length;
  put('second-rows', list(d.second_person.map((s) => s.text), d.second_person.some((s) => s.nobody.length) ? 'lines strong' : 'lines'));
  $('second').hidden = !d.second_person.length;
  const unbooked = d.unbooked.filter((u) => u.unbooked > 0);
  put('unbooked-rows', list(unbooked.map((u) => u.text), 'lines'));
  $('unbooked').hidden = !unbooked.length;
  put('booking-rows', `<table><thead><tr><th>${w.day.from}</th><th>${w.day.to}</th><th>${w.day.station}</th><th>${w.day.family}</th><th></th></tr></thead><tbody>${d.bookings.map((b) =>
    `<tr><th>${safe(b.start_local)}</th><td>${safe(b.end_local)}</td><td>${safe(b.station)}</td><td>${safe(b.family ?? '')}</td><td>${safe(b.id)}</td></tr>`).join('')}</tbody></table>`);
  put('assumed', list([...d.assumed, ...d.faults.map((f) => `${w.day.leftOut}: ${f}`)]));
  say('note', d.left_out ? w.day.leftOutCount(d.left_out) : '');
  document.title = `${d.weekday} ${d.date} · Inward`;
}

// ---- asking ----

const query = (): URLSearchParams => new URLSearchParams(location.search);

async function load(): Promise<void> {
  const mine = ++asked;
  try {
    const reply = await ask('/api/day', query().toString());
    if (mine !== asked) return;
    answered = true;
    if (reply.ok) return show(reply.body as Day);
    say('sentence', w.day.notKnown);
    say('advice', String((reply.body as { error?: unknown }).error ?? ''));
  } catch {
    if (mine !== asked) return;
    say('note', shown ? w.day.old : w.day.silent);
    if (!shown) say('sentence', w.day.notKnown);
  }
  $('said').className = 'asks';
}

function go(by: number | null): void {
  const q = query(), at = new Date(`${shown?.date ?? new Date(clock()).toISOString().slice(0, 10)}T12:00:00Z`);
  q.delete('move');
  if (by === null) q.delete('date');
  else q.set('date', new Date(at.getTime() + by * 86400000).toISOString().slice(0, 10));
  history.pushState(null, '', `/day${q.size ? `?${q}` : ''}`);
  void load();
}

document.addEventListener('click', (e) => {
  const button = (e.target as Element).closest<HTMLElement>('button');
  if (!button) return;
  if (button.id === 'earlier') go(-1);
  else if (button.id === 'later') go(1);
  else if (button.id === 'today') go(null);
  else if (button.dataset.pool && shown) { pool = button.dataset.pool; show(shown); }
});
window.addEventListener('popstate', () => void load());

void load();
window.setInterval(() => void load(), 60000);
window.addEventListener('board-back', () => void load());
let turning = false; // on to the next day of a replay
void follow(({ view }) => {
  if (!view) return;
  $('outrank').hidden = !view.building_alarm;
  replayed_ms = view.replay_speed ? ms(view.now) : null;
  if (replayed_ms === null || !shown) return;
  if (query().get('date') || replayed_ms < ms(shown.to)) put('chart', drawn(shown));
  else if (!turning) { turning = true; void load().finally(() => { turning = false; }); }
}, () => undefined);
Object.assign(window, { inward: { settled: () => answered } });
