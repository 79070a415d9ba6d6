// The bath card: how it is made, in which order, how hot; what reaches duct, room and person; what may stand beside it.
// The board computes; this page asks and shows.  Cautions come first, figures never without where they are from.
import { age } from './ages';
import { ask } from './asker';
import type { Maybe, Plan } from './contract';
import { $, put, say } from './dom';
import { follow } from './stream';
import { safe } from './svg';
import * as w from './words';

interface From { basis: string; source: string; note: string }
interface BathPart { id: string; name: string; there_already: boolean; weighed: boolean; mass_kg: Maybe; volume_m3: Maybe; why_here: string; density_from: From | null }
interface Holds { substance: string; name: string; mass_ratio: Maybe; molarity_mol_m3: Maybe }
interface Heat { complete: boolean; boils: string; low_rise_K: Maybe; high_rise_K: Maybe; boiling_K: Maybe; peroxide_J: Maybe; oxygen_m3: Maybe; peroxide_boils: string }
interface Bath {
  title: string; bath: string | null; station: string | null; state: 'answered' | 'refused' | 'not_known'; answer: string; temperature_K: Maybe; parts: BathPart[]; holds: Holds[];
  mass_kg: Maybe; volume_m3: Maybe; sum_of_volumes_m3: Maybe; fill_at_most_ratio: Maybe; heat: Heat | null; use_from_K: Maybe; use_to_K: Maybe; use: string; keeping: string; life: string;
  waste: string; cautions: string[]; of_the_station?: string[]; why_not: string[]; possible_with: string[]; vessels: string[]; variants: string[]; sources: string[]; assumed: string[]; not_known: string[]; ask: string;
}
interface Known { baths: { id: string; name: string; own: boolean }[]; bottles: { id: string; name: string; own: boolean }[]; substances: { id: string; name: string }[] }
interface Band { low: Maybe; high: Maybe }
interface VapourCase { when: string; known: boolean; why_not: string | null; station_m3_s: Maybe; rate_kg_s: Band | null; duct_ratio: Band | null; duct_of_lower_limit_ratio: Band | null; main_ratio: Band | null; person: { order_of_magnitude_ratio: Band }[] }
interface Vapour { scene: string | null; trial: boolean; live: { at: string; oldest_s: Maybe; outranks: string | null } | null; refused: boolean; headline: string; cautions: string[]; cases?: VapourCase[]; not_known: string[]; assumed: string[] }
interface Meet { verdict: string; findings: { verdict: string; about: string; letters: string | null; sentences: { say: string; do: string | null; source: string }[] }[]; not_known: string[] }

let known: Known | null = null, way = 'name', shown: Bath | null = null, asked = 0;

const value = (id: string): string => $<HTMLInputElement>(id).value.trim();
const list = (lines: string[], of = 'lines'): string => lines.length ? `<ul class="${of}">${lines.map((l) => `<li>${safe(l)}</li>`).join('')}</ul>` : '';
const panel = (title: string, body: string, of = ''): string => body ? `<section class="panel ${of}"><h2>${safe(title)}</h2>${body}</section>` : '';
const celsius = (kelvin: number): string => `${Math.round(kelvin - 273.15)} °C`;

// ---- the question, in the address: a card can be sent to somebody ----

function question(): string {
  const q = new URLSearchParams();
  if (way === 'name') q.set('name', value('name'));
  if (way === 'to') for (const key of ['of', 'to', 'from']) q.set(key, value(key));
  if (way === 'part') for (const part of value('parts').split(',')) q.append('part', part.trim());
  q.set('volume', value('volume'));
  if (value('station')) q.set('station', value('station'));
  return q.toString();
}

function choose(next: string): void {
  way = next;
  for (const at of document.querySelectorAll<HTMLElement>('[data-way]')) at.setAttribute('aria-pressed', String(at.dataset.way === way));
  for (const at of document.querySelectorAll<HTMLElement>('[data-of]')) at.hidden = at.dataset.of !== way;
}

function fill(search: string): boolean {
  const q = new URLSearchParams(search);
  choose(q.has('part') ? 'part' : q.has('of') ? 'to' : 'name');
  for (const key of ['of', 'to', 'from', 'volume', 'station', 'name'])
    if (q.get(key)) $<HTMLInputElement>(key).value = q.get(key)!;
  if (q.has('part')) $<HTMLInputElement>('parts').value = q.getAll('part').join(', ');
  return q.has('name') || q.has('of') || q.has('part');
}

// ---- the card ----

const step = (p: BathPart): string => `<li><span class="amount">${p.there_already ? w.bath.there : safe(p.weighed || p.volume_m3 === null ? w.mass(p.mass_kg) : w.litres(p.volume_m3))}` +
  `<small>${safe(p.there_already || p.weighed || p.volume_m3 === null ? '' : w.mass(p.mass_kg))}</small></span><span class="part">${safe(p.name)}</span><span class="why">${safe(p.why_here)}` +
  `${p.density_from?.basis === w.bath.memory ? ` · ${w.bath.densityMemory}` : ''}</span></li>`;

const holds = (b: Bath): string => b.holds.length ? `<table><thead><tr><th>${w.bath.holds}</th><th>wt%</th><th>mol/L</th></tr></thead><tbody>${b.holds.map((h) =>
  `<tr><th>${safe(h.name)}</th><td class="big">${w.digits(h.mass_ratio === null ? null : h.mass_ratio * 100)}</td><td class="big">${b.volume_m3 === null ? '~ ' : ''}${w.digits(h.molarity_mol_m3 === null ? null : h.molarity_mol_m3 / 1000)}</td></tr>`).join('')}</tbody></table>` : '';

// From where it starts to where it may come, on one scale with where it boils.
function heatBand(from_K: number, h: Heat): string {
  if (h.low_rise_K === null || h.high_rise_K === null || h.boiling_K === null) return '';
  const top_K = Math.max(h.boiling_K, from_K + h.high_rise_K) + 10, bottom_K = Math.min(from_K, 273.15 + 10) - 5;
  const x = (kelvin: number) => 20 + 720 * (kelvin - bottom_K) / (top_K - bottom_K);
  const end_K = Math.min(from_K + h.high_rise_K, h.boiling_K), boil = x(h.boiling_K);
  return `<svg viewBox="0 0 760 78" role="img" aria-label="${safe(w.bath.rise(h.low_rise_K, h.high_rise_K))}"><line class="scale" x1="20" x2="740" y1="44" y2="44"/>` +
    `<rect class="band" x="${x(from_K)}" y="32" width="${Math.max(3, x(end_K) - x(from_K))}" height="24"/><line class="boil" x1="${boil}" x2="${boil}" y1="18" y2="64"/>` +
    `<text x="${x(from_K)}" y="74">${celsius(from_K)}</text><text x="${Math.min(boil, 735)}" y="14" text-anchor="end">${w.bath.boilsAt(celsius(h.boiling_K))}</text></svg>`;
}

function heat(b: Bath): string {
  const h = b.heat;
  if (!h || b.parts.length < 2) return '';
  const lines = [w.bath.boils(h.boils)];
  if (h.boils !== 'will_boil' && h.low_rise_K !== null && h.high_rise_K !== null) lines.push(w.bath.rise(h.low_rise_K, h.high_rise_K));
  if (!h.complete) lines.push(w.bath.hot);
  if (h.peroxide_J) lines.push(w.bath.peroxide(h.oxygen_m3 ?? 0, h.peroxide_boils));
  return (h.boils === 'will_boil' || b.temperature_K === null ? '' : heatBand(b.temperature_K, h)) + list(lines);
}

function card(b: Bath): string {
  const no = b.state !== 'answered';
  const made = b.parts.length ? `<ol class="steps">${b.parts.map(step).join('')}</ol>` + list([w.bath.total(b.mass_kg, b.volume_m3, b.sum_of_volumes_m3)]) : '';
  const after = [b.use && w.bath.use(b.use), b.use_from_K !== null && w.bath.usedAt(celsius(b.use_from_K), celsius(b.use_to_K ?? b.use_from_K)), b.keeping && w.bath.keeping(b.keeping), b.life && w.bath.life(b.life),
    b.waste && w.bath.waste(b.waste)].filter((l): l is string => Boolean(l));
  const answer = `<section class="answer${no ? ' no' : ''}" data-state="${b.state}">${no ? `<span class="word">${w.bath.no[b.state as 'refused' | 'not_known']}</span>` : ''}${safe(b.answer)}</section>`;
  const first = panel(w.bath.cautions, list([...(b.of_the_station ?? []), ...b.cautions]), 'cautions');
  return (no ? answer + first : first + answer) + panel(w.bath.whyNot, list(b.why_not)) + panel(w.bath.possible, list(b.possible_with)) + panel(w.bath.make, made) +
    panel(w.bath.heat, heat(b), 'heat') + panel(w.bath.vessel, list([...b.vessels, ...(b.fill_at_most_ratio === null ? [] : [w.bath.fill(b.fill_at_most_ratio)])])) + panel(w.bath.what, holds(b)) +
    panel(w.bath.after, list(after)) + panel(w.bath.notKnown, list(b.not_known)) +
    `<section class="panel last"><p><b>${w.bath.ask(safe(b.ask))}</b></p><p>${w.bath.check}</p><details><summary>${w.bath.from}</summary>${list([...b.variants, ...b.sources, ...b.assumed.map(w.bath.assumed)])}</details></section>`;
}

async function show(): Promise<void> {
  const turn = ++asked, search = question();
  history.replaceState(null, '', `?${search}`);
  try {
    const reply = await ask('/api/bath', search);
    if (turn !== asked) return;
    const body = reply.body as Bath & { error?: string };
    shown = body.error ? null : body;
    say('note', body.error ?? '');
    put('card', shown ? card(shown) : '');
    $('card').classList.remove('before');
    say('stale', '');
    say('printed', shown ? w.bath.printed(new Date().toISOString().slice(0, 16).replace('T', ' '), (body as unknown as { suite_sha256: string | null }).suite_sha256) : '');
  } catch {
    if (turn !== asked) return;
    shown = null;
    say('note', w.bath.silent);
    put('card', '');
  }
  for (const id of ['beside', 'print-line']) $(id).hidden = !shown;
  put('meet-said', '');
  $('beside').classList.remove('asked');
  $<HTMLInputElement>('at').value = `${Math.round((shown?.use_from_K ?? 293.15) - 273.15)} degC`;
  await showAir(turn);
}

// ---- what reaches duct, room and person ----

const band = (b: Band | null, show: (si: number) => string): string => !b || b.low === null || b.high === null ? w.notKnown : `${show(b.low)} to ${show(b.high)}`;

const caseRow = (c: VapourCase): string => c.known
  ? `<tr><th>${safe(w.bath.when(c.when))}</th><td>${band(c.rate_kg_s, w.perHour)}</td><td>${band(c.duct_ratio, w.parts)}</td><td>${band(c.main_ratio, w.parts)}</td><td>${band(c.person[0]?.order_of_magnitude_ratio ?? null, w.order)}</td></tr>`
  : `<tr><th>${safe(w.bath.when(c.when))}</th><td colspan="4">${w.notKnown}: ${safe(c.why_not)}</td></tr>`;

const sceneOf = (v: Vapour): string => w.bath.scene(v.scene, v.live && v.live.oldest_s !== null ? age(v.live.oldest_s) : null, v.live !== null);

const vapour = (name: string, v: Vapour): string => `<div class="found"><b>${safe(name)}</b>${v.refused ? '' : `<p class="scene">${safe(sceneOf(v))}</p>`}<p class="headline">${safe(v.headline)}</p>${list(v.cautions, 'lines strong')}` +
  (v.cases?.length ? `<table><thead><tr>${w.bath.airHeads.map((h) => `<th>${h}</th>`).join('')}</tr></thead><tbody>${v.cases.map(caseRow).join('')}</tbody></table>` : '') +
  (v.not_known.length + v.assumed.length ? `<details><summary>${w.bath.airNot}</summary>${list([...v.not_known, ...v.assumed.map(w.bath.assumed)])}</details>` : '') + '</div>';

async function figures(of: string): Promise<Vapour & { error?: string }> {
  const q = new URLSearchParams({ of, from: 'bath', area: value('area'), at: value('at'), station: shown!.station! });
  return (await ask('/api/vapour', q.toString())).body as Vapour & { error?: string };
}

// A named bath that boils, bubbles, fumes or reacts is refused by its name; figures are only for one substance in water.
async function airOf(b: Bath): Promise<string> {
  if (b.bath) {
    const whole = await figures(b.bath);
    if (!whole.error) return vapour(b.title, whole);
  }
  const inside = b.holds.filter((h) => h.substance !== 'water');
  if (inside.length !== 1) return `<p>${w.bath.airMixture}</p>`;
  const [only] = inside, ratio = only!.mass_ratio;
  const said = await figures(ratio !== null && ratio < 1 ? `${only!.substance}@${(ratio * 100).toPrecision(4)}wt%` : only!.substance);
  return said.error ? `<p>${safe(said.error)}</p>` : vapour(only!.name, said);
}

async function showAir(turn: number): Promise<void> {
  const made = shown?.state === 'answered' ? shown : null;
  $('air').hidden = !made;
  put('air-said', '');
  if (!made) return;
  if (!made.station) { put('air-said', `<p>${w.bath.airStation}</p>`); return; }
  try {
    const said = await airOf(made);
    if (turn === asked) put('air-said', said);
  } catch {
    if (turn === asked) put('air-said', `<p>${w.bath.silent}</p>`);
  }
}

// ---- what stands beside it ----

async function meet(): Promise<void> {
  const q = new URLSearchParams(), things = value('things').split(',').map((t) => t.trim()).filter(Boolean);
  if (!shown || !things.length) { $('things').focus(); return; }
  if (shown.bath) q.append('thing', shown.bath);
  else for (const h of shown.holds) if (h.substance !== 'water' && h.mass_ratio !== null) q.append('thing', `${h.substance}@${(h.mass_ratio * 100).toPrecision(4)}wt%`);
  for (const thing of things) q.append('thing', thing);
  if (value('place')) q.set('place', value('place'));
  try {
    $('beside').classList.add('asked');
    const body = (await ask('/api/meet', q.toString())).body as Meet & { error?: string };
    put('meet-said', body.error ? `<p>${safe(body.error)}</p>` : body.findings.map((f) => `<div class="found"><b>${safe(w.bath.verdict(f.verdict))}: ${safe(f.about)}</b>` +
      `${f.sentences.map((s) => `<p>${safe(s.say)} ${safe(s.do)}</p>`).join('')}${f.letters ? `<p class="soft">${w.bath.letters(safe(f.letters))}</p>` : ''}</div>`).join('') + list(body.not_known) + `<p>${w.bath.ask(w.bath.askMeet)}</p>`);
  } catch {
    put('meet-said', `<p>${w.bath.silent}</p>`);
  }
}

// ---- life ----

const option = (id: string, name: string): string => `<option value="${safe(id)}">${safe(name)}</option>`;

async function begin(): Promise<void> {
  const [plan, tables] = await Promise.all([ask('/api/plan', ''), ask('/api/chemicals', '')]);
  const p = plan.body as Plan;
  known = tables.body as Known;
  say('suite', p.name);
  $('label').hidden = !p.label;
  say('label', p.label ?? '');
  const own = known.baths.filter((b) => b.own), usual = known.baths.filter((b) => !b.own), options = (of: typeof own) => of.map((b) => option(b.id, b.name === b.id ? b.id : `${b.name} (${b.id})`)).join('');
  put('name', (own.length ? `<optgroup label="${w.bath.ours}">${options(own)}</optgroup>` : '') + `<optgroup label="${w.bath.usual}">${options(usual)}</optgroup>`);
  put('station', option('', w.bath.noStation) + p.stations.map((s) => option(s.id, `${s.id} ${s.name}`)).join(''));
  put('substances', known.substances.map((s) => option(s.id, s.name)).join(''));
  put('bottles', known.bottles.map((b) => option(b.id, b.name)).join(''));
  put('place', w.bath.places.map(([id, name]) => option(id, name)).join(''));
  if (fill(location.search)) await show();
}

document.addEventListener('click', (e) => {
  const next = (e.target as Element).closest<HTMLElement>('[data-way]')?.dataset.way;
  if (next) choose(next);
  if ((e.target as Element).id === 'print') window.print();
});
window.addEventListener('beforeprint', () => { for (const at of document.querySelectorAll('details')) at.open = true; });
$('ask').addEventListener('submit', (e) => { e.preventDefault(); void show(); });
$('ask').addEventListener('input', () => { if (shown) $('card').classList.add('before'); say('stale', shown ? w.bath.stale : ''); });
$('meet').addEventListener('submit', (e) => { e.preventDefault(); void meet(); });
for (const id of ['area', 'at']) $(id).addEventListener('change', () => void showAir(asked));
void follow((heard) => { if (heard.view) $('outrank').hidden = !heard.view.building_alarm; }, () => undefined);
Object.assign(window, { inward: { settled: () => known !== null } });
begin().catch(() => say('note', w.bath.silent));
