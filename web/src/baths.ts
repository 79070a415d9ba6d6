// Baths of the day: what stands in which tank and what is due; what is in which waste container and what may go in.  By what people told:
// one button for each act, undone by the next one.  The board keeps and judges; this page asks and shows.
import { age, clock } from './ages';
import { ask } from './asker';
import { benchHtml, callsHtml, drainMay, type Bench } from './bench';
import type { Maybe, Plan } from './contract';
import { $, isPressed, put, say, watchPresses } from './dom';
import { follow } from './stream';
import { safe } from './svg';
import * as w from './words';

type State = 'empty' | 'stands' | 'due' | 'not_known';
interface Told { entry: number; act: string; at: string; who: string; words: string }
interface Tank {
  id: string; name: string; station: string; bath: string; bath_name: string; state: State; reasons: string[]; next: string | null; next_in_s: Maybe; next_why: string | null; began: Told | null;
  age_known: boolean; age_s: Maybe; wafers: number | null; temperature_K: Maybe; temperature_age_s: Maybe; level_m3: Maybe; topped_with: string[]; last: Told | null; notes: string[]; drain: string;
  set: { wafers_most: number | null; temperature_K: Maybe; volume_m3: Maybe };
}
interface Baths { suite: string | null; label: string | null; state: State; not_in_file: string[]; caution: string; unread: number; older_left_out: boolean; tanks: Tank[]; benches: Bench[]; benches_caution: string }
interface Stream { id: string; name: string; station: string }
interface Container {
  id: string; station: string | null; state: State; reasons: string[]; fill_low_ratio: Maybe; fill_high_ratio: Maybe; fill_why: string | null; due: string | null; due_in_s: Maybe; due_why: string | null;
  began: Told | null; closed: Told | null; gives_gas: boolean; held: { what: string; tank: string | null; volume_m3: Maybe; entry: number; at: string; who: string }[]; notes: string[];
  stream: { name: string; volume_m3: Maybe; material: string; fill_most_ratio: Maybe; vented: boolean; takes: string[]; never: string[] } | null;
}
interface Waste { streams: Stream[]; containers: Container[]; collected: number; caution: string }
interface May { verdict: string; reasons: string[]; tables: { verdict: string; say: string; do: string | null }[] }
interface Stock { caution: string; stores: { id: string; name: string; kind: string; counted: string; limits: { categories: number[]; most_m3: Maybe; held_m3: Maybe; not_known_m3: Maybe; says: string; source: string }[] }[] }

const again_ms = 20000, patience_ms = 8000, forget_ms = 300000;
let baths: Baths | null = null, waste: Waste | null = null, stock: Stock | null = null, plan: Plan | null = null;
let sending = false, settled = false, only = new URLSearchParams(location.search).get('station') ?? '';
let lastBody: Record<string, string> | null = null; // refused: may be said again, anyway

const value = (id: string): string => $<HTMLInputElement>(id).value.trim();
const names = (): boolean => $<HTMLInputElement>('names').checked;
let suiteZone = Intl.DateTimeFormat().resolvedOptions().timeZone; // until the board says its own
const zone = (): string => suiteZone;
const by = (t: Told | null): string => !t ? '' : ` (${names() ? `${safe(t.who)}, ` : ''}${w.wet.entry(t.entry)})`;
// "1 h 34 min": what is due in the next hours is not rounded to hours.
const span = (s: Maybe): string => s === null || s < 5400 || s > 36000 ? age(s) : `${Math.floor(s / 3600)} h ${Math.floor(s / 60) % 60} min`;
const litres = (m3: Maybe): string => m3 === null ? w.wet.notKnown : w.litres(m3);
const celsius = (kelvin: Maybe): string => kelvin === null ? w.wet.notKnown : `${(kelvin - 273.15).toFixed(1)} °C`;
const lines = (list: string[], of = 'lines'): string => list.length ? `<ul class="${of}">${list.map((l) => `<li>${safe(l)}</li>`).join('')}</ul>` : '';

// What stands nobody knows where may stand here.
const here = <T extends { station: string | null }>(list: T[]): T[] => only ? list.filter((t) => t.station === only || t.station === null) : list;

// ---- what stands out ----

function headline(): string {
  if (!baths) return '';
  const of = (state: State) => [...here(baths!.tanks), ...here(waste?.containers ?? [])].filter((t) => t.state === state).map((t) => t.id);
  const due = of('due'), unknown = of('not_known');
  const benches = here(baths.benches), stands = benches.some((b) => b.state === 'call' || b.state === 'not_known');
  return callsHtml(benches) + (due.length ? `<p class="big due">${w.wet.due(due.join(', '))}</p>` : '') + (unknown.length ? `<p class="big unknown">${w.wet.unknown(unknown.join(', '))}</p>` : '') +
    baths.not_in_file.map((l) => `<p class="big unknown">${safe(l)}</p>`).join('') + (baths.unread ? `<p class="big unknown">${w.wet.unread(baths.unread)}</p>` : '') + (baths.older_left_out ? `<p class="big unknown">${w.wet.older}</p>` : '') +
    (due.length + unknown.length + baths.unread + baths.not_in_file.length || baths.older_left_out || stands || !here(baths.tanks).length ? '' : `<p class="big">${w.wet.nothingDue}</p>`);
}

// ---- a tank ----

const word = (state: State): string => `<span class="word ${state}">${w.wet.state[state]}</span>`;
const fact = (name: string, said: string): string => `<div class="fact"><dt>${name}</dt><dd>${said}</dd></div>`;
const button = (act: string, of: string, text: string, more = ''): string => `<button type="button" class="do" data-act="${act}" data-id="${safe(of)}" ${more}>${text}</button>`;
const field = (key: string, of: string, label: string, given: string, mode: string, hint = ''): string =>
  `<input id="${key}-${safe(of)}" aria-label="${safe(label)}" placeholder="${safe(hint)}" value="${given}" size="5" maxlength="20" inputmode="${mode}" autocomplete="off">`;

function facts(t: Tank): string {
  if (!t.began) return '';
  const began = t.began.act === 'found' ? w.wet.found(clock(t.began.at, zone())) : w.wet.poured(clock(t.began.at, zone()), span(t.age_s));
  return `<dl class="facts">${fact(w.wet.heads.began, began + by(t.began))}${fact(w.wet.heads.wafers, w.wet.wafers(t.wafers ?? 0, t.set.wafers_most, t.age_known))}` +
    `${fact(w.wet.heads.reads, t.temperature_K === null ? w.wet.notRead : `${celsius(t.temperature_K)}, ${w.wet.ago(span(t.temperature_age_s))}`)}` +
    `${fact(w.wet.heads.level, t.level_m3 === null ? w.wet.notRead : litres(t.level_m3))}${t.topped_with.length ? fact(w.wet.heads.topped, safe(t.topped_with.join(', '))) : ''}</dl>`;
}

function acts(t: Tank): string {
  if (!t.began) return `<div class="acts">${button('made', t.id, w.wet.act.made)}${button('found', t.id, w.wet.act.found)}</div>`;
  const into = `<select id="into-${safe(t.id)}" aria-label="${w.wet.where}"><option value="">${w.wet.toDrain}</option>${(waste?.containers ?? []).map((c) => `<option value="${safe(c.id)}">${w.wet.into(safe(c.id))}</option>`).join('')}</select>`;
  return `<div class="acts"><span class="pair">${field('wafers', t.id, w.wet.heads.wafers, '25', 'numeric')}${button('wafers', t.id, w.wet.act.wafers)}</span>` +
    `<span class="pair">${field('temperature', t.id, w.wet.heads.reads, '', 'decimal', '°C')}${button('temperature', t.id, w.wet.act.temperature)}</span>` +
    `<span class="pair">${field('level', t.id, w.wet.heads.level, '', 'decimal', 'L')}${button('level', t.id, w.wet.act.level)}</span>` +
    `<span class="pair">${into}${button('dumped', t.id, w.wet.act.dumped)}${button('drain-may', t.id, w.bench.ask)}</span>` +
    `<details><summary>${w.wet.more}</summary><div class="acts"><span class="pair">${field('topwhat', t.id, w.wet.what, '', 'text', w.wet.whatHint)}${field('topped', t.id, w.wet.litresOf, '', 'decimal', 'L')}${button('topped', t.id, w.wet.act.topped)}</span>` +
    `${button('made', t.id, w.wet.act.madeAgain)}</div></details></div><div id="drain-${safe(t.id)}" class="may" role="status"></div>`;
}

function tank(t: Tank): string {
  const next = t.next && t.next_in_s !== null && t.next_in_s > 0 ? `<p class="next">${w.wet.next(clock(t.next, zone()), span(t.next_in_s))} ${safe(t.next_why)}</p>` : '';
  return `<section class="panel tank ${t.state}" data-tank="${safe(t.id)}"><div class="title"><h3>${safe(t.id)} <span>${safe(t.name)}, <a href="/station/${encodeURIComponent(t.station)}">${safe(t.station)}</a></span></h3>` +
    `<p class="name"><a href="/bath?${new URLSearchParams({ name: t.bath, station: t.station, volume: t.set.volume_m3 === null ? '1 L' : `${+(t.set.volume_m3 * 1000).toPrecision(4)} L` })}">${safe(t.bath_name)}</a></p>${word(t.state)}</div>` +
    `${lines(t.reasons, 'reasons')}${next}${facts(t)}${lines(t.notes)}<p class="soft">${w.wet.drain} ${safe(t.drain)}</p>${acts(t)}</section>`;
}

// ---- a waste container ----

// Where the liquid stands, as a band on the height of the container, with the most it may hold.
function fillLine(c: Container): string {
  if (c.fill_low_ratio === null || c.fill_high_ratio === null) return `<p>${w.wet.fillNot} ${safe(c.fill_why)}</p>`;
  const x = (ratio: number) => 10 + 300 * Math.min(1.1, ratio), most = c.stream?.fill_most_ratio ?? null;
  const said = w.wet.fill(Math.round(c.fill_low_ratio * 100), Math.round(c.fill_high_ratio * 100));
  return `<svg class="fill" viewBox="0 0 350 46" role="img" aria-label="${safe(said)}"><path class="scale" d="M10 26H310M10 20V32M310 20V32"/>` +
    `<path class="band" d="M${x(c.fill_low_ratio)} 18L${Math.max(x(c.fill_high_ratio), x(c.fill_low_ratio) + 3)} 18V34H${x(c.fill_low_ratio)}Z"/>` +
    (most === null ? '' : `<path class="most" d="M${x(most)} 10V40"/><text x="${x(most) - 4}" y="9" text-anchor="end">${w.wet.most(Math.round(most * 100))}</text>`) +
    `<text x="10" y="45">0</text><text x="310" y="45" text-anchor="end">${c.stream ? litres(c.stream.volume_m3) : ''}</text></svg><p>${said}</p>`;
}

function container(c: Container): string {
  const left = c.due && c.due_in_s !== null && c.due_in_s > 0 ? `<p class="next">${w.wet.left(age(c.due_in_s), clock(c.due, zone()))} ${safe(c.due_why)}</p>` : '';
  const held = c.held.map((h) => `${h.what}${h.tank ? w.wet.outOf(h.tank) : ''}, ${h.volume_m3 === null ? w.wet.notTold : w.litres(h.volume_m3)}, ${clock(h.at, zone())}${names() ? `, ${h.who}` : ''} (${w.wet.entry(h.entry)})`);
  const s = c.stream;
  return `<section class="panel tank ${c.state}" data-container="${safe(c.id)}"><div class="title"><h3>${safe(c.id)} <span>${safe(s?.name ?? w.wet.noStream)}${c.station ? `, ${safe(c.station)}` : ''}</span></h3>${word(c.state)}</div>` +
    `${lines(c.reasons, 'reasons')}${left}${fillLine(c)}${s ? `<p class="soft">${w.wet.cap(s.vented, s.material)} ${w.wet.takes(s.takes.join(', '))} ${s.never.length ? w.wet.never(s.never.join(', ')) : ''}</p>` : ''}` +
    `${lines(held, 'lines held')}${lines(c.notes)}` +
    `<div class="acts"><span class="pair">${field('what', c.id, w.wet.what, '', 'text', w.wet.whatHint)}${field('added', c.id, w.wet.litresOf, '', 'decimal', 'L')}${button('may', c.id, w.wet.act.may)}${button('added', c.id, w.wet.act.added)}</span>` +
    `<span class="pair"><select id="fill-${safe(c.id)}" aria-label="${w.wet.howFull}">${w.wet.shares.map((share) => `<option>${share}</option>`).join('')}</select>${button('fill', c.id, w.wet.act.fill)}</span>` +
    `${c.closed ? '' : button('closed', c.id, w.wet.act.closed)}${button('collected', c.id, w.wet.act.collected)}</div><div id="may-${safe(c.id)}" class="may" role="status"></div></section>`;
}

function stockHtml(s: Stock): string {
  const rows = s.stores.flatMap((at) => at.limits.map((l) => `<tr><th>${safe(at.id)} ${safe(at.name)}</th><td>${w.wet.categories(l.categories.join(', '))}</td><td>${litres(l.held_m3)}</td><td>${litres(l.most_m3)}</td>` +
    `<td><b class="${l.says === 'exceeds' ? 'over' : ''}">${w.wet.says[l.says] ?? safe(l.says)}</b></td><td class="soft">${w.wet.counted(at.counted)}; ${safe(l.source)}</td></tr>`));
  return rows.length ? `<table><thead><tr>${w.wet.stockHeads.map((h) => `<th>${h}</th>`).join('')}</tr></thead><tbody>${rows.join('')}</tbody></table><p class="soft">${safe(s.caution)}</p>` : `<p>${w.wet.noStores}</p>`;
}

// ---- drawing: never under a finger, never over what is being typed ----

const busy = (): boolean => { const at = document.activeElement; return at !== null && (at.matches('#tanks input, #tanks select, #containers input, #containers select')) && (at as HTMLInputElement).value !== ((at as HTMLInputElement).defaultValue ?? ''); };

function draw(): void {
  const main = document.querySelector('main')!;
  if (!baths || isPressed(main) || busy()) return;
  const kept = new Map([...document.querySelectorAll<HTMLInputElement>('#tanks input, #tanks select, #containers input, #containers select')].map((at) => [at.id, at.value]));
  const asked = new Map([...document.querySelectorAll('.may')].map((at) => [at.id, at.innerHTML]));
  put('act', headline());
  const drawn = put('tanks', here(baths.tanks).map(tank).join('') || `<p class="panel">${safe(baths.tanks.length ? w.wet.noneHere : baths.caution)}</p>`);
  put('benches', here(baths.benches).map(benchHtml).join(''));
  $('h-benches').hidden = !here(baths.benches).length;
  say('benches-foot', here(baths.benches).length ? baths.benches_caution : '');
  const drawnToo = put('containers', here(waste?.containers ?? []).map(container).join('') || `<p class="panel">${w.wet.noContainers}</p>`);
  if (drawn || drawnToo) for (const [id, was] of kept) { const at = document.getElementById(id) as HTMLInputElement | null; if (at && was) at.value = was; }
  if (drawn || drawnToo) for (const [id, html] of asked) { const at = document.getElementById(id); if (at) at.innerHTML = html; }
  if (stock) put('stock', stockHtml(stock));
  $('new').hidden = !waste?.streams.length;
  say('foot', baths.caution);
}

async function load(): Promise<void> {
  const stop = new AbortController(), patience = window.setTimeout(() => stop.abort(), patience_ms); // a board that hangs is a lost one
  try {
    const [b, c, s] = await Promise.all([ask('/api/baths', '', stop.signal), ask('/api/waste', '', stop.signal), ask('/api/stock', '', stop.signal)]);
    stock = s.ok ? s.body as Stock : stock;
    if (stock) put('stock', stockHtml(stock));
    if (!b.ok || !c.ok) {
      say('note', `${w.wet.cannot} ${String((b.body as { error?: string }).error ?? b.status)}`);
      document.body.classList.add('not-kept');
    } else {
      baths = b.body as Baths;
      waste = c.body as Waste;
      document.body.classList.remove('not-kept', 'silent');
      if ($('note').textContent === w.wet.silent) say('note', '');
      put('open-stream', waste.streams.map((o) => `<option value="${safe(o.id)}">${safe(o.name)} (${safe(o.station)})</option>`).join(''));
    }
    draw();
  } catch {
    document.body.classList.add('silent');
    say('note', w.wet.silent);
  } finally {
    window.clearTimeout(patience);
  }
  settled = true;
}

// ---- telling ----

const tap = (): string => `${Date.now().toString(36)}-${crypto.getRandomValues(new Uint32Array(2)).join('-')}`;

function showTold(words: string, number: number, warning: string | null): void {
  put('told', `<p class="${warning ? 'warn' : ''}">${warning ? `<b>${safe(warning)}</b><br>` : ''}${safe(words)} (${w.wet.entry(number)})</p><button type="button" class="do" data-undo="${number}">${w.wet.undo}</button>`);
  $('told').hidden = false;
}

function showRefused(why: string, status: number): void {
  put('told', `<p class="warn"><b>${w.wet.notWritten}</b> ${safe(why)}</p>${status === 409 && lastBody ? `<button type="button" class="do" id="anyway">${w.wet.anyway}</button>` : ''}`);
  $('told').hidden = false;
}

async function tell(body: Record<string, string>, words: string): Promise<void> {
  if (sending) return;
  if (!value('who')) { showRefused(w.wet.whoFirst, 400); $('who').focus(); return; }
  sending = true;
  lastBody = body;
  document.body.classList.add('sending');
  const stop = new AbortController(), patience = window.setTimeout(() => stop.abort(), patience_ms);
  try {
    const reply = await fetch('/api/told', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ ...body, who: value('who') }), signal: stop.signal });
    const said = await reply.json() as { number?: number; note?: string | null; error?: string };
    if (reply.ok && body.act === 'taken-back') { put('told', `<p>${w.wet.undone(body.entry ?? '')}</p>`); $('told').hidden = false; }
    else if (reply.ok) showTold(words, said.number ?? 0, said.note ?? null);
    else showRefused(said.error ?? String(reply.status), reply.status);
    if (reply.ok) for (const at of document.querySelectorAll<HTMLInputElement>('#tanks input, #containers input')) at.value = at.defaultValue;
  } catch {
    showRefused(w.wet.maybe, 0); // the same tap may be sent again: it counts once
    put('told', `${$('told').innerHTML}<button type="button" class="do" id="send-again">${w.wet.sendAgain}</button>`);
  } finally {
    window.clearTimeout(patience);
    sending = false;
    document.body.classList.remove('sending');
  }
  (document.activeElement as HTMLElement | null)?.blur();
  await load();
}

// A bare number is in the unit that stands on the button.
const withUnit = (text: string, unit: string): string => /^[0-9.]+$/.test(text) ? `${text} ${unit}` : text;

function amountOf(act: string, id: string): string {
  const given = (key: string): string => (document.getElementById(`${key}-${id}`) as HTMLInputElement | null)?.value.trim() ?? '';
  if (act === 'temperature') return withUnit(given(act), 'degC');
  return act === 'wafers' || act === 'fill' ? given(act) : withUnit(given(act), 'L');
}

function press(act: string, id: string): void {
  const at = (key: string) => document.getElementById(`${key}-${id}`) as HTMLInputElement | null;
  const isTank = document.querySelector(`[data-tank="${CSS.escape(id)}"]`) !== null, body: Record<string, string> = { act, tap: tap(), [isTank ? 'tank' : 'container']: id };
  if (['wafers', 'temperature', 'level', 'fill'].includes(act)) {
    body.amount = amountOf(act, id);
    if (!body.amount) { at(act)?.focus(); return; }
  }
  if (act === 'topped' || act === 'added') {
    const what = at(act === 'topped' ? 'topwhat' : 'what')?.value.trim() ?? '', amount = amountOf(act, id);
    if (!what) { at(act === 'topped' ? 'topwhat' : 'what')?.focus(); return; }
    body.what = what;
    if (amount) body.amount = amount;
  }
  const into = act === 'dumped' ? at('into')?.value ?? '' : '';
  if (into) {
    const t = baths?.tanks.find((o) => o.id === id), all = t?.level_m3 ?? t?.set.volume_m3 ?? null;
    body.into = into;
    if (all !== null) body.amount = `about ${+(all * 1000).toPrecision(3)} L`;
  }
  void tell(body, w.wet.said(act, id, body.amount ?? '', body.what ?? '', into));
}

async function may(id: string): Promise<void> {
  const what = (document.getElementById(`what-${id}`) as HTMLInputElement).value.trim();
  if (!what) { document.getElementById(`what-${id}`)!.focus(); return; }
  try {
    const q = new URLSearchParams({ container: id, what }), body = (await ask('/api/waste-may', q.toString())).body as May & { error?: string };
    const at = document.getElementById(`may-${id}`);
    if (at) at.innerHTML = body.error ? `<p>${safe(body.error)}</p>` : `<p class="verdict ${body.verdict === 'never' ? 'never' : ''}"><b>${safe(w.wet.may(what, id))} ${safe(body.verdict.toUpperCase())}</b></p>` +
      lines([...body.reasons, ...body.tables.map((t) => `${t.say}${t.do ? ` ${t.do}` : ''}`)]);
  } catch {
    say('note', w.wet.silent);
  }
}

async function down(id: string): Promise<void> {
  try {
    const html = await drainMay(id), at = document.getElementById(`drain-${id}`);
    if (at) at.innerHTML = html;
  } catch {
    say('note', w.wet.silent);
  }
}

function open(act: 'opened' | 'found'): void {
  const id = value('open-id');
  if (!id) { $('open-id').focus(); return; }
  void tell({ act, container: id, stream: value('open-stream'), tap: tap() }, w.wet.said(act, id, '', '', ''));
  $<HTMLInputElement>('open-id').value = '';
}

// ---- life ----

document.addEventListener('click', (e) => {
  const at = (e.target as Element).closest<HTMLElement>('button');
  if (!at) return;
  if (at.dataset.act === 'may') void may(at.dataset.id!);
  else if (at.dataset.act === 'drain-may') void down(at.dataset.id!);
  else if (at.dataset.act) press(at.dataset.act, at.dataset.id!);
  else if (at.dataset.undo) void tell({ act: 'taken-back', entry: at.dataset.undo, tap: tap() }, '');
  else if (at.id === 'anyway' && lastBody) void tell({ ...lastBody, tap: tap(), anyway: 'yes' }, w.wet.anywaySaid);
  else if (at.id === 'send-again' && lastBody) void tell(lastBody, w.wet.againSaid);
  else if (at.id === 'open-found') open('found');
});
$('open').addEventListener('submit', (e) => { e.preventDefault(); open('opened'); });
$('names').addEventListener('change', draw);
$('only').addEventListener('change', () => {
  only = value('only');
  history.replaceState(null, '', only ? `?station=${encodeURIComponent(only)}` : location.pathname);
  draw();
});

async function begin(): Promise<void> {
  plan = (await ask('/api/plan', '')).body as Plan;
  say('suite', plan.name);
  $('label').hidden = !plan.label;
  say('label', plan.label ?? '');
  put('only', `<option value="">${w.wet.allStations}</option>${plan.stations.map((s) => `<option value="${safe(s.id)}">${safe(s.id)} ${safe(s.name)}</option>`).join('')}`);
  $<HTMLSelectElement>('only').value = only;
  await load();
}

// Who left the tablet does not sign what the next one taps.
let touched_ms = Date.now();
window.addEventListener('pointerdown', () => { touched_ms = Date.now(); }, true);
window.addEventListener('keydown', () => { touched_ms = Date.now(); }, true);
window.setInterval(() => { if (Date.now() - touched_ms > forget_ms) $<HTMLInputElement>('who').value = ''; }, 1000);

watchPresses(draw);
window.setInterval(() => void load(), again_ms);
void follow((heard) => {
  if (!heard.view) return;
  $('outrank').hidden = !heard.view.building_alarm;
  if (heard.view.zone !== suiteZone) { suiteZone = heard.view.zone; draw(); }
}, () => undefined);
Object.assign(window, { inward: { settled: () => settled && !sending } });
begin().catch(() => say('note', w.wet.silent));
