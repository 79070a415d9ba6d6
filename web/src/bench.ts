// A wet bench as it stands: word and shape for each of its parts, and what comes next where a person is needed.  It switches nothing.
import { ask } from './asker';
import type { Maybe } from './contract';
import { safe } from './svg';
import * as w from './words';

type Need = 'quiet' | 'unseen' | 'not_known' | 'call';
interface Said { point: string | null; why: string | null }
interface Meeting { what: string; verdict: string; say: string | null }
interface Tray { id: string; name: string; state: Need; says: string; next: string | null; above: string[]; all_above_known: boolean; meets: string | null; may_meet: Meeting[] }
interface Heater { id: string; name: string; state: Need; tank: string; head: string; says: string; next: string | null; temperature: Said & { temperature_K: Maybe }; locked_out_by: { condition: string; holds: boolean | null; says: string }[] }
interface Rinse { id: string; name: string; state: string; says: string }
interface Drain { id: string; name: string; route: string; takes: string[]; never: string[]; by_procedure: string[]; hottest_K: Maybe }
export interface Bench {
  station: string; name: string; state: Need; reasons: string[]; deck: { state: Need; says: string } | null; trays: Tray[]; heaters: Heater[]; rinses: Rinse[]; drains: Drain[]; standing: string[];
}
interface DrainMay { verdict: string; reasons: string[]; before: string[]; drain: string | null; caution: string; error?: string }

const list = (lines: string[], of = 'lines'): string => lines.length ? `<ul class="${of}">${lines.map((l) => `<li>${l}</li>`).join('')}</ul>` : '';
const part = (kind: string, id: string, name: string, word: string, odd: boolean, rest: string): string =>
  `<div class="part"><h4>${kind} ${safe(id)}${name && name !== id ? ` ${safe(name)}` : ''} <b class="${odd ? 'odd' : ''}">${safe(word)}</b></h4>${rest}</div>`;
const todo = (next: string | null): string => next ? `<p class="todo">${w.bench.next} ${safe(next)}</p>` : '';
const asks = (state: Need): boolean => state === 'call' || state === 'not_known';

function tray(t: Tray): string {
  const meets = asks(t.state) && t.meets ? `<p>${w.bench.together} <b>${safe(t.meets)}</b></p>${list(t.may_meet.slice(0, 4).map((m) => `${safe(m.what)}: ${safe(m.verdict)}${m.say ? `. ${safe(m.say)}` : ''}`))}` : '';
  return part(w.bench.tray, t.id, t.name, w.bench.state[t.state] ?? t.state, asks(t.state), `<p>${safe(t.says)}</p>${todo(t.next)}<p class="soft">${w.bench.above} ${safe(t.above.join('; '))}</p>${meets}` +
    (t.all_above_known ? '' : `<p class="soft">${w.bench.unknownAbove}</p>`));
}

const lock = (l: Heater['locked_out_by'][number]): string => `${l.holds ? `<b>${w.bench.holds}</b> ` : ''}${safe(l.condition)}: ${l.holds === null ? `${w.bench.notKnown}, ` : ''}${safe(l.says)}`;

function heater(h: Heater): string {
  return part(w.bench.heater, h.id, `${h.name === h.id ? '' : h.name} ${w.bench.of(h.tank)}`, h.head, asks(h.state), `<p>${safe(h.says)}</p>${todo(h.next)}${list(h.locked_out_by.map(lock))}`);
}

const celsius = (kelvin: Maybe): string => kelvin === null ? '' : `${(kelvin - 273.15).toFixed(0)} °C`;

function drain(d: Drain): string {
  return part(w.bench.drain, d.id, d.name, '', false, `<p class="soft">${safe(w.bench.takes(d.route, d.takes.join(', '), d.by_procedure.join(', '), d.never.join(', '), celsius(d.hottest_K)))}</p>`);
}

export function benchHtml(b: Bench): string {
  return `<section class="panel tank bench ${b.state}" data-bench="${safe(b.station)}"><div class="title"><h3><a href="/station/${encodeURIComponent(b.station)}">${safe(b.station)}</a> <span>${safe(b.name)}</span></h3>` +
    `<span class="word ${b.state}">${w.bench.state[b.state]}</span></div>` + list(b.reasons.map(safe), 'reasons') +
    (b.deck ? part(w.bench.deck, '', '', w.bench.state[b.deck.state] ?? '', asks(b.deck.state), `<p>${safe(b.deck.says)}</p>`) : '') +
    b.trays.map(tray).join('') + b.heaters.map(heater).join('') +
    b.rinses.map((r) => part(w.bench.rinseTank, r.id, r.name, w.bench.rinse[r.state] ?? r.state, false, `<p>${safe(r.says)}</p>`)).join('') + b.drains.map(drain).join('') +
    (b.standing.length ? `<div class="part"><p class="soft">${w.bench.standing}</p>${list(b.standing.map(safe))}</div>` : '') + '</section>';
}

const first = (b: Bench): string | null => [...b.trays, ...b.heaters].find((p) => p.state === 'call')?.next ?? null;

/** The largest words of the page: where a person is needed now. */
export const callsHtml = (benches: Bench[]): string =>
  benches.filter((b) => b.state === 'call').map((b) => `<p class="big call">${w.bench.state.call} ${safe(w.bench.call(b.station, b.reasons[0] ?? ''))}</p>${todo(first(b))}`).join('');

/** May what stands in that tank be let down its drain now?  Never a clearance. */
export async function drainMay(tank: string): Promise<string> {
  const body = (await ask('/api/drain-may', new URLSearchParams({ tank }).toString())).body as DrainMay;
  if (body.error) return `<p>${safe(body.error)}</p>`;
  return `<p class="verdict ${body.verdict === 'never' ? 'never' : ''}"><b>${safe(w.bench.down(tank, body.drain ?? w.bench.itsDrain))} ${safe(body.verdict.toUpperCase())}</b></p>` +
    list(body.reasons.map(safe)) + (body.before.length ? `<p>${safe(w.bench.before(body.before.join(', ')))}</p>` : '') + `<p class="soft">${safe(body.caution)}</p>`;
}
