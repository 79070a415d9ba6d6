// Does the model match the building: a table of readings, or a few typed by hand, against the suite file.
// The board computes and keeps nothing; this page asks and shows.  What is outside comes first.
import { age } from './ages';
import { ask } from './asker';
import type { Maybe, Plan } from './contract';
import { $, put, say } from './dom';
import { follow } from './stream';
import { mark, safe } from './svg';
import * as w from './words';

type Unit = 'Pa' | 'm_s' | 'm3_s' | 'ratio';
interface Reading { id: string; what: string; scene: string; instrument: string | null; before_ratio: Maybe; after_ratio: Maybe; weight_ratio: Maybe; outside: boolean; not_explained: boolean; excludes: string | null; printed_met: boolean | null; remark: string | null; line: number | null }
interface Figure { figure: string; of: string; unit: string; known: 'known' | 'better' | 'together' | 'not_told'; written_si: Maybe; written_plus_minus_si: Maybe; fitted_si: Maybe; plus_minus_si: Maybe; at_bound: boolean; beyond: boolean; together_with: string[] }
interface Next { pool: string | null; plus_minus_by_file_m3_s: Maybe; plus_minus_now_m3_s: Maybe; readings: { what: string; scene: string | null; how: string; plus_minus_then_m3_s: Maybe }[] }
export interface Match {
  suite: string; label: string | null; suite_sha256: string; other_suite: boolean; predicted_on: string | null; signed_by: string | null; date: string | null; by: string | null; verdict: string; sentence: string; next_action: string;
  settled: boolean; misfit_ratio: Maybe; misfit_most_ratio: Maybe; coverage_factor_ratio: Maybe; left_out: string[]; readings: Reading[]; figures: Figure[]; next: Next;
}
interface Own { at: string; verdict: string | null; words: string | null; sentence: string | null; next_action: string | null; why: string | null; was: string | null; other_suite: boolean; readings: number }
interface OwnFigure extends Figure { moved_si: Maybe; moved_plus_minus_si: Maybe; drifts: boolean; nights: unknown[] }
interface Nights { each_night_at: string | null; reason: string | null; age_s: Maybe; latest: Own | null; figures: OwnFigure[] }
interface Thing { of: string; what: string; over: string; unit: string }
interface Typed extends Thing { scene: string; value: string; pm: string }

const patience_ms = 20000, most_bytes = 2 << 20;
let things: Thing[] = [], typed: Typed[] = [], sent: { name: string; type: string; body: Blob | string } | null = null, busy = 0, settled = false;

const value = (id: string): string => $<HTMLInputElement>(id).value.trim();
const list = (lines: string[]): string => lines.length ? `<ul class="lines">${lines.map((l) => `<li>${safe(l)}</li>`).join('')}</ul>` : '';

// ---- tables: the sheet is one, and what is typed becomes one ----

/** RFC 4180: rows of cells. */
function cells(csv: string): string[][] {
  const rows: string[][] = [[]];
  for (const [, quoted, plain, end] of csv.replace(/^\uFEFF/, '').matchAll(/(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r?\n|$)/g)) {
    rows[rows.length - 1]!.push(quoted === undefined ? plain ?? '' : quoted.replace(/""/g, '"'));
    if (end === '') break;
    if (end !== ',') rows.push([]);
  }
  return rows;
}

const cell = (text: string): string => /[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
const tableOf = (rows: Typed[]): string => ['scene,of,what,over,value,unit,±', ...rows.map((r) => [r.scene, r.of, r.what, r.over, r.value, r.unit, r.pm].map(cell).join(','))].join('\n') + '\n';

const sceneSearch = (): string => new URLSearchParams(value('scene') ? { scene: value('scene') } : {}).toString();

async function listThings(): Promise<void> {
  const before = things[$<HTMLSelectElement>('what').selectedIndex], search = sceneSearch();
  $<HTMLAnchorElement>('blank').href = `/api/match-form${search ? `?${search}` : ''}`;
  const reply = await fetch($<HTMLAnchorElement>('blank').href, { cache: 'no-store' });
  if (!reply.ok) { say('one-said', String((await reply.json() as { error?: string }).error ?? reply.status)); things = []; put('what', ''); return; }
  const rows = cells(await reply.text()), head = rows.findIndex((r) => r.includes('of') && r.includes('value')), at = (r: string[], title: string): string => r[rows[head]!.indexOf(title)] ?? '';
  things = rows.slice(head + 1).filter((r) => at(r, 'of')).map((r) => ({ of: at(r, 'of'), what: at(r, 'what'), over: at(r, 'over'), unit: at(r, 'unit') }));
  put('what', things.map((t, i) => `<option value="${i}">${safe(w.match.thing(t.of, t.what, t.over))}</option>`).join(''));
  $<HTMLSelectElement>('what').selectedIndex = Math.max(0, things.findIndex((t) => before && t.of === before.of && t.what === before.what && t.over === before.over));
  showUnit();
}

const showUnit = (): void => say('unit', things[$<HTMLSelectElement>('what').selectedIndex]?.unit.replace('m3', 'm³') ?? '');

// ---- what is typed ----

function keep(): void {
  try { sessionStorage.setItem('match', JSON.stringify(typed)); } catch { /* only for convenience */ }
}

function showTyped(): void {
  put('rows', typed.map((r, i) => `<li><span>${safe(w.match.thing(r.of, r.what, r.over))}: <b>${safe(r.value)} ${safe(r.unit.replace('m3', 'm³'))}</b>${r.pm ? ` ± ${safe(r.pm)}` : ''}, ${safe(r.scene)}</span>` +
    `<button type="button" data-drop="${i}">${w.match.drop}<span class="of"> ${i + 1}</span></button></li>`).join(''));
  $<HTMLButtonElement>('ask').disabled = $<HTMLButtonElement>('clear').disabled = typed.length === 0;
  keep();
}

function add(): void {
  const thing = things[$<HTMLSelectElement>('what').selectedIndex], number = value('value').replace(',', '.'), pm = value('pm').replace(',', '.');
  const isNumber = /^[+-]?(\d+\.?\d*|\.\d+)$/.test(number), isPm = /^(\d+\.?\d*|\.\d+)?\s*%?$/.test(pm);
  $('value').setAttribute('aria-invalid', String(!isNumber));
  $('pm').setAttribute('aria-invalid', String(!isPm));
  if (!thing || !isNumber || !isPm) {
    say('one-said', !isNumber ? w.match.noNumber : w.match.noPm);
    $(!isNumber ? 'value' : 'pm').focus();
    return;
  }
  typed.push({ ...thing, scene: value('scene') || 'parked', value: number, pm });
  say('one-said', w.match.added(w.match.thing(thing.of, thing.what, thing.over)));
  $<HTMLInputElement>('value').value = '';
  showTyped();
  const what = $<HTMLSelectElement>('what');
  if (what.selectedIndex + 1 < what.options.length) what.selectedIndex++; // a sheet is read from top to bottom
  showUnit();
  $('value').focus();
}

// ---- values ----

const shown = (unit: Unit, si: Maybe): string => si === null ? w.notKnown :
  unit === 'Pa' ? `${si.toFixed(Math.abs(si) < 60 ? 1 : 0)} Pa` : unit === 'm_s' ? `${si.toFixed(2)} m/s` : unit === 'm3_s' ? `${(si * 3600).toFixed(0)} m³/h` : `${(si * 100).toFixed(0)} %`;

const units: Unit[] = ['Pa', 'm_s', 'm3_s', 'ratio'];
const unitOf = (r: Reading): Unit => units.find((u) => `measured_${u}` in r)!;
const of = (r: Reading, key: string): Maybe => (r as unknown as Record<string, Maybe>)[`${key}_${unitOf(r)}`] ?? null;

// No finer than its ± can be known: two digits of that.
const figureText = (f: Figure, si: Maybe, pm: Maybe): string => {
  if (si === null) return w.notKnown;
  const scale = f.unit === 'm3/s' ? 3600 : 1, decimals = pm ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(Math.abs(pm * scale))))) : 3;
  return `${(si * scale).toFixed(decimals)}${f.unit ? ` ${scale === 3600 ? 'm³/h' : f.unit}` : ''}`;
};

// ---- the strips: what is predicted with its ±, and where the reading lies ----

const reach = 2.6; // of a ±, to either side: what lies beyond is an arrow with its figure

function strip(r: Reading, factor: Maybe): string {
  const x = (pm: number): number => 200 + 185 * Math.max(-reach, Math.min(reach, pm)) / reach, at = (r.before_ratio ?? 0) / 2, edge = (factor ?? 2) / 2;
  const pm = of(r, 'plus_minus'), fitted = of(r, 'fitted'), predicted = of(r, 'predicted'), fit = pm && fitted !== null && predicted !== null ? (fitted - predicted) / pm : null;
  const beyond = Math.abs(at) > reach ? `<path class="pm" d="${at > 0 ? 'M376 6l8 0-4-4M384 6l-4 4' : 'M24 6l-8 0 4-4M16 6l4 4'}"/><text x="${at > 0 ? 370 : 30}" y="11" text-anchor="${at > 0 ? 'end' : 'start'}">${Math.abs(at).toFixed(1)} ±</text>` : '';
  return `<svg viewBox="0 0 400 34" aria-hidden="true" class="${r.outside ? 'out' : 'in'}"><g class="axis"><line x1="10" x2="390" y1="20" y2="20"/></g><rect class="within" x="${x(-edge)}" y="12" width="${x(edge) - x(-edge)}" height="16"/>` +
    `<path class="pm" d="M${x(-1)} 13v14M${x(1)} 13v14M${x(-1)} 20H${x(1)}"/>${fit === null ? '' : `<line class="fit" x1="${x(fit)}" x2="${x(fit)}" y1="8" y2="32"/>`}` +
    (r.outside ? `<path class="dot" d="M${x(at)} 11l9 9-9 9-9-9Z"/>` : `<circle class="dot" cx="${x(at)}" cy="20" r="6"/>`) + `${beyond}</svg>`;
}

function stripRow(r: Reading, factor: Maybe): string {
  const u = unitOf(r), foretold = r.printed_met;
  const tells = [r.outside ? w.match.outside : '', r.not_explained ? w.match.notExplained : '', r.excludes ? w.match.excludes(r.excludes) : '', foretold === null ? '' : foretold ? w.match.metBefore : w.match.missedBefore,
    r.remark ? w.match.remark(r.remark) : ''].filter(Boolean);
  return `<li data-reading="${safe(r.id)}"><span><b>${safe(r.what)}</b> <span class="state">${safe(r.id)}, ${safe(r.scene)}</span></span>${strip(r, factor)}` +
    `<span>${w.match.figures(shown(u, of(r, 'predicted')), shown(u, of(r, 'plus_minus')), shown(u, of(r, 'measured')), shown(u, of(r, 'fitted')))}</span>${tells.length ? `<span class="tells">${safe(tells.join(' '))}</span>` : ''}</li>`;
}

function strips(m: Match): string {
  const first = m.readings.filter((r) => r.outside || r.not_explained || r.excludes || r.printed_met === false).sort((a, b) => Math.abs(b.before_ratio ?? 99) - Math.abs(a.before_ratio ?? 99));
  const rest = m.readings.filter((r) => !first.includes(r)), row = (r: Reading) => stripRow(r, m.coverage_factor_ratio);
  return (first.length ? `<ul class="strip">${first.map(row).join('')}</ul>` : `<p>${w.match.noneOut(m.readings.length)}</p>`) +
    (rest.length ? `<details${first.length ? '' : ' open'}><summary>${w.match.inside(rest.length)}</summary><ul class="strip">${rest.map(row).join('')}</ul></details>` : '') +
    (m.left_out.length ? `<h3>${w.match.leftOut}</h3>${list(m.left_out)}` : '');
}

// ---- figures, in words ----

function figureLine(f: Figure): string {
  const times = f.of === 'figure' && !f.unit, from = f.of === 'figure' || f.of === 'exponent';
  const pm = f.plus_minus_si, wide = f.written_plus_minus_si, is = `${figureText(f, f.fitted_si, pm ?? wide)}${pm === null ? '' : ` ± ${figureText(f, pm, pm)}`}`, was = figureText(f, wide, wide);
  return [`${f.figure}: ${times ? w.match.times(is, was) : from ? w.match.fileSays(is, figureText(f, f.written_si, wide), was) : w.match.knownBefore(is, was)}`,
    f.beyond ? w.match.beyond : '', f.at_bound ? w.match.atBound : '', f.known === 'together' && f.together_with.length ? w.match.onlyWith(f.together_with.join(', ')) : ''].filter(Boolean).join('. ');
}

function figures(m: Match): string {
  const group = (known: Figure['known']): Figure[] => m.figures.filter((f) => f.at_bound ? known === 'known' : f.known === known);
  const part = (known: Figure['known'], open: boolean): string => {
    const lines = group(known).map(known === 'not_told' ? (f) => f.figure : figureLine);
    return lines.length ? `<details${open ? ' open' : ''} data-known="${known}"><summary>${w.match.known[known]} (${lines.length})</summary>${list(lines)}</details>` : '';
  };
  const moved = m.figures.filter((f) => f.beyond && f.known !== 'not_told');
  return (moved.length ? `<h3>${w.match.movedHead}</h3>${list(moved.map(figureLine))}` : '') + part('known', true) + part('better', false) + part('together', false) + part('not_told', false);
}

function next(n: Next): string {
  if (!n.pool) return `<p>${w.match.nothingNext}</p>`;
  const flow = (si: Maybe): string => shown('m3_s', si);
  return `<p>${safe(w.match.left(n.pool, flow(n.plus_minus_now_m3_s), flow(n.plus_minus_by_file_m3_s)))}</p>` +
    (n.readings.length ? list(n.readings.map((r) => w.match.read(r.what, r.scene, r.how, flow(r.plus_minus_then_m3_s)))) : `<p>${w.match.nothingNarrows}</p>`);
}

// ---- what the board matched by itself, of its record ----

const levelOf = (verdict: string | null): string => verdict === 'matches' ? 'ample' : verdict === null || verdict === 'too_few' ? 'not_known' : 'near_limit';

function nightly(n: Nights): string {
  const m = n.latest;
  if (!m) return `<p>${safe(w.match.noNight(n.reason ?? ''))}</p>`;
  const drifting = n.figures.filter((f) => f.drifts), moved = (f: OwnFigure): string => figureText(f, f.moved_si, f.moved_plus_minus_si), pm = (f: OwnFigure): string => figureText(f, f.moved_plus_minus_si, f.moved_plus_minus_si);
  return `<p><b>${mark(levelOf(m.verdict))} ${safe(m.words ?? w.match.noVerdict)}</b> ${safe(w.match.nightAge(n.age_s === null ? null : age(n.age_s), m.readings))}</p><p>${safe(w.sentenceCase(m.sentence ?? m.why ?? ''))}</p>` +
    `${m.next_action ? `<p><b>${safe(w.match.next(m.next_action))}</b></p>` : ''}${m.was ? `<p>${safe(w.match.was(w.match.verdict[m.was] ?? m.was))}</p>` : ''}${m.other_suite ? `<p>${w.match.otherSuite}</p>` : ''}` +
    (drifting.length ? `<h3>${w.match.drifts}</h3>${list(drifting.map((f) => w.match.moved(f.figure, moved(f), pm(f), f.nights.length)))}` : '');
}

async function showNights(): Promise<void> {
  const reply = await ask('/api/match', '');
  put('nightly-said', reply.ok ? nightly(reply.body as Nights) : `<p>${safe(String((reply.body as { error?: unknown }).error ?? reply.status))}</p>`);
  $('nightly').hidden = false;
}

// ---- the answer ----

function show(m: Match): void {
  const printed = m.readings.map((r) => r.printed_met).filter((x) => x !== null);
  put('verdict', `${mark(levelOf(m.verdict))} ${safe(w.match.verdict[m.verdict] ?? m.verdict)}`);
  say('sentence', [w.sentenceCase(m.sentence), printed.length ? w.match.foretold(printed.filter(Boolean).length, printed.length, m.predicted_on, m.signed_by) : '', m.other_suite ? w.match.otherSuite : '', m.settled ? '' : w.match.notSettled].filter(Boolean).join(' '));
  say('action', w.match.next(m.next_action));
  say('axis', w.match.axis((m.coverage_factor_ratio ?? 2) / 2));
  put('strips', strips(m));
  put('next', next(m.next));
  put('figures', figures(m));
  $<HTMLButtonElement>('overlay').disabled = !m.figures.some((f) => f.known === 'known' || f.known === 'better' || f.known === 'together');
  say('overlay-said', $<HTMLButtonElement>('overlay').disabled ? w.match.noOverlay : w.match.overlayFirst);
  say('foot', w.match.foot(m.readings.length, sent?.name ?? '', m.date, m.by, m.suite_sha256.slice(0, 12), new Date().toISOString().slice(0, 16).replace('T', ' ')));
  $('result').hidden = false;
  if (matchMedia('(max-width: 900px)').matches) $<HTMLDetailsElement>('entry').open = false; // what came of it stands below
}

function refuse(why: string, canMend: boolean): void {
  const lines = why.split('\n').filter(Boolean);
  put('verdict', `${mark('not_known')} ${w.match.notMatched}`);
  say('sentence', '');
  say('action', !canMend ? w.match.again : lines.length > 1 ? w.match.mendAll(lines.length) : w.match.mend);
  put('refused', `<div class="refused"><h3>${w.match.cannotRead}</h3>${list(lines)}</div>`);
  $('result').hidden = true;
  $<HTMLDetailsElement>('entry').open = true;
}

const post = (path: string): Promise<Response> => fetch(`${path}?${new URLSearchParams({ file: sent!.name, ...(value('scene') ? { scene: value('scene') } : {}) })}`, { method: 'POST', headers: { 'Content-Type': sent!.type }, body: sent!.body, signal: AbortSignal.timeout(patience_ms) });

async function match(): Promise<void> {
  const turn = ++busy;
  put('refused', '');
  put('verdict', `${mark('not_known')} ${w.match.working}`); // what stood there is of other readings
  say('sentence', '');
  say('action', '');
  $('result').setAttribute('aria-busy', 'true');
  try {
    const reply = await post('/api/match'), body = await reply.json() as Match & { error?: string };
    if (turn !== busy) return;
    if (reply.ok) show(body);
    else refuse(body.error ?? String(reply.status), reply.status < 500);
  } catch {
    if (turn === busy) refuse(w.match.silent, false);
  } finally {
    if (turn === busy) {
      $('result').removeAttribute('aria-busy');
      document.body.dataset.turn = String(turn);
      $('said').scrollIntoView({ block: 'start' }); // the answer stands above what was entered
    }
  }
}

const types: Record<string, string> = { csv: 'text/csv', xlsx: 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet', ods: 'application/vnd.oasis.opendocument.spreadsheet' };

function takeFile(file: File | undefined): void {
  if (!file) return;
  if (file.size > most_bytes) { refuse(w.match.tooLong, true); return; }
  sent = { name: file.name, type: types[file.name.split('.').pop()?.toLowerCase() ?? ''] ?? 'application/octet-stream', body: file };
  void match();
}

async function takeOverlay(): Promise<void> {
  try {
    const reply = await post('/api/match-overlay');
    if (!reply.ok) { say('overlay-said', String((await reply.json() as { error?: string }).error ?? reply.status)); return; }
    const link = document.createElement('a');
    link.href = URL.createObjectURL(await reply.blob());
    link.download = 'fitted.yaml';
    link.click();
    window.setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    say('overlay-said', w.match.overlayTaken);
  } catch {
    say('overlay-said', w.match.silent);
  }
}

// ---- life ----

async function begin(): Promise<void> {
  const plan = (await ask('/api/plan', '')).body as Plan;
  say('suite', plan.name);
  say('label', plan.label ?? '');
  $('label').hidden = !plan.label;
  put('scene', `<option value="">${w.match.parked}</option>` + plan.scenes.map((s) => `<option value="${safe(s.id)}">${safe(s.id)}${s.note ? `: ${safe(s.note)}` : ''}</option>`).join(''));
  try { typed = JSON.parse(sessionStorage.getItem('match') ?? '[]') as Typed[]; } catch { typed = []; }
  showTyped();
  await listThings();
  say('action', w.match.begin);
  await showNights();
}

document.addEventListener('click', (e) => {
  const button = (e.target as Element).closest<HTMLElement>('button');
  if (button?.id === 'print') window.print();
  if (button?.id === 'overlay') void takeOverlay();
  if (button?.id === 'clear') { typed = []; showTyped(); $('value').focus(); }
  if (button?.id === 'ask') { sent = { name: w.match.typedName, type: types.csv!, body: tableOf(typed) }; void match(); }
  if (button?.dataset.drop) { typed.splice(Number(button.dataset.drop), 1); showTyped(); (document.querySelector<HTMLElement>('[data-drop]') ?? $('value')).focus(); }
});
window.addEventListener('beforeprint', () => { for (const at of document.querySelectorAll('main details')) at.setAttribute('open', ''); });
$('one').addEventListener('submit', (e) => { e.preventDefault(); add(); });
$('scene').addEventListener('change', () => void listThings());
$('what').addEventListener('change', showUnit);
$('file').addEventListener('change', (e) => { const input = e.target as HTMLInputElement; takeFile(input.files?.[0]); input.value = ''; }); // the same file again, mended
begin().catch(() => { put('verdict', `${mark('not_known')} ${w.match.silent}`); }).finally(() => { settled = true; });
void follow((heard) => { if (heard.view) $('outrank').hidden = !heard.view.building_alarm; }, () => undefined);
Object.assign(window, { inward: { settled: () => settled } });
