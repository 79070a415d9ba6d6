// The Record page: one value over time, the entries, and what a person adds to them.
import uPlot from 'uplot';
import { showAlarms, wireAlarms } from './alarms';
import { showPlanned, wirePlanned } from './planned';
import { ask } from './asker';
import { byId, type Entry, type Input, type LiveView, type Plan } from './contract';
import { $, put, say, watchPresses } from './dom';
import { showFindings, wireFindings } from './findings';
import { follow } from './stream';
import { safe } from './svg';
import * as w from './words';

interface Plot { point: string; what: string; unit: string; width_s: number; t_s: number[];
  min_si: (number | null)[]; max_si: (number | null)[]; mean_si: (number | null)[]; good_s: number[] }

const hour_s = 3600, day_s = 86400;
const spans: [string, number][] = [['1 h', hour_s], ['24 h', day_s], ['7 d', 7 * day_s], ['30 d', 30 * day_s], ['1 year', 366 * day_s], ['10 years', 3653 * day_s]];
const kinds = ['note', 'round', 'acknowledged', 'withdrawn', 'released', 'incident'];

let plan: Plan, view: LiveView;
let span_s = day_s, end_ms: number | null = null; // null: goes on with now
let plot: uPlot | null = null;

const nowMs = () => Date.parse(view.now);
const until_ms = () => end_ms ?? nowMs();
const input = (id: string): Input | undefined => view.inputs.find((i) => i.point === id);

// ---- the plot ----

// SI to what a person reads; the factors are those of words.ts by way of its texts.
function scaleOf(i: Input): { unit: string; of: (x: number) => number } {
  if ('value_m3_s' in i) return { unit: 'm\u00b3/h', of: (x) => x * 3600 };
  if ('value_Pa' in i) return { unit: 'Pa', of: (x) => x };
  if ('value_m' in i) return { unit: 'cm', of: (x) => x * 100 };
  if ('value_m_s' in i) return { unit: 'm/s', of: (x) => x };
  if ('value_ratio' in i) return { unit: '%', of: (x) => x * 100 };
  if ('value_K' in i) return { unit: '\u00b0C', of: (x) => x - 273.15 };
  return { unit: '', of: (x) => x };
}

// 24 hours, and the day where it begins; the suite's own zone, wherever the reader sits.
const clock: uPlot.Axis.Values = [
  [day_s * 365, '{YYYY}', null, null, null, null, null, null, 1],
  [day_s * 28, '{YYYY}-{MM}', null, null, null, null, null, null, 1],
  [day_s, '{MM}-{DD}', '\n{YYYY}', null, null, null, null, null, 1],
  [60, '{HH}:{mm}', '\n{YYYY}-{MM}-{DD}', null, '\n{MM}-{DD}', null, null, null, 1],
  [1, ':{ss}', '\n{YYYY}-{MM}-{DD} {HH}:{mm}', null, '\n{MM}-{DD} {HH}:{mm}', null, '\n{HH}:{mm}', null, 1],
];

function draw(p: Plot): void {
  const i = input(p.point)!, { unit, of } = scaleOf(i);
  const column = (list: (number | null)[]) => list.map((x) => x === null ? null : of(x));
  const said = (x: number | null) => x === null ? '\u2013' : `${+x.toPrecision(4)} ${unit}`;
  const line = { stroke: '#005a9c', width: 1.6, spanGaps: false, points: { show: p.t_s.length < 80 } };
  plot?.destroy();
  $('plot').textContent = '';
  plot = new uPlot({
    width: $('plot').clientWidth, height: 320, cursor: { y: false },
    scales: { x: { min: (until_ms() / 1000) - span_s, max: until_ms() / 1000 } },
    series: [{ value: '{YYYY}-{MM}-{DD} {HH}:{mm}' }, { label: w.record.mean, ...line, value: (_, x) => said(x) },
      { label: w.record.lowest, stroke: '#8a949a', width: 1, spanGaps: false, value: (_, x) => said(x) },
      { label: w.record.highest, stroke: '#8a949a', width: 1, spanGaps: false, value: (_, x) => said(x) }],
    bands: [{ series: [3, 2], fill: 'rgba(0,90,156,.12)' }],
    tzDate: (s) => uPlot.tzDate(new Date(s * 1000), view.zone),
    axes: [{ values: clock }, { label: unit, size: 64 }],
  }, [p.t_s, column(p.mean_si), column(p.min_si), column(p.max_si)], $('plot'));
  const known_s = p.good_s.reduce((a, b) => a + b, 0), from = Math.max(0, span_s - known_s);
  say('plot-words', known_s === 0 ? w.record.nothing : w.record.known(share(known_s / span_s), seconds(p.width_s), from > span_s * 0.01));
}

const share = (x: number) => `${Math.min(100, Math.round(x * 100))} %`;
const seconds = (s: number) => s < 90 ? `${Math.round(s)} s` : s < 5400 ? `${Math.round(s / 60)} min` : s < 2 * day_s ? `${Math.round(s / 360) / 10} h` : `${Math.round(s / day_s)} d`;

async function askPlot(): Promise<void> {
  const point = $<HTMLSelectElement>('point').value;
  if (!point) return;
  const to = new Date(until_ms()).toISOString(), from = new Date(until_ms() - span_s * 1000).toISOString();
  const reply = await ask('/api/plot', `point=${point}&from=${from}&to=${to}&most=800`).catch(() => null);
  if (!reply) return say('plot-words', w.board.none);
  if (reply.ok) draw(reply.body as Plot);
  else say('plot-words', String((reply.body as { error?: string }).error ?? reply.status));
}

// ---- entries ----

// Where the state of all turned, its time leads to the page that explains it; of an incident to its sheet.
function whenHtml(e: Entry): string {
  const to = e.kind === 'incident' ? `/sheet?incident=${firstOf(e)}` : e.kind === 'match' ? '/match' : e.kind === 'event' && !e.about ? `/past?at=${encodeURIComponent(e.time)}` : '';
  return to ? `<a href="${to}">${safe(e.time_local)}</a>` : safe(e.time_local);
}

// What adds to an incident stands on the sheet of the first entry.
const firstOf = (e: Entry): number => (e.detail ? JSON.parse(e.detail) as { adds_to?: number } : {}).adds_to ?? e.number;

function entriesHtml(list: Entry[]): string {
  if (!list.length) return `<p class="quiet">${w.record.noEntry}</p>`;
  return '<table><thead><tr>' +
    w.record.heads.map((head) => `<th scope="col">${head}</th>`).join('') + '</tr></thead><tbody>' +
    [...list].reverse().map((e) => `<tr><td class="number" title="${e.sha256}">${e.number}</td><td class="when">${whenHtml(e)}</td><td>${safe(e.kind)}</td>` +
      `<td>${safe(e.about || 'suite')}</td><td class="said">${safe(w.said(e.text))}</td><td>${safe(e.who)}</td></tr>`).join('') + '</tbody></table>';
}

async function askEntries(): Promise<void> {
  const about = $<HTMLSelectElement>('about').value, kind = $<HTMLSelectElement>('kind').value;
  const to = new Date(until_ms() + 1000).toISOString(), from = new Date(until_ms() - span_s * 1000).toISOString();
  const reply = await ask('/api/entries', `from=${from}&to=${to}&most=300${about ? `&about=${about}` : ''}${kind ? `&kind=${kind}` : ''}`).catch(() => null);
  if (!reply) return;
  if (reply.ok) put('entries', entriesHtml((reply.body as { entries: Entry[] }).entries));
  else put('entries', `<p>${safe(String((reply.body as { error?: string }).error ?? reply.status))}</p>`);
}

// ---- entering ----

async function post(path: string, body: Record<string, string>): Promise<void> {
  try {
    const reply = await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    const said = await reply.json() as { number?: number; hash?: string; note?: string | null; error?: string };
    say('entered', reply.ok ? w.record.entered(said.number ?? 0, said.hash!.slice(0, 12), said.note ?? '') : w.lists.notEntered(said.error ?? ''));
    if (reply.ok) await askEntries();
  } catch {
    say('entered', w.lists.noAnswer);
  }
}

const text = (id: string) => $<HTMLInputElement>(id).value.trim();

function wire(): void {
  $('point').addEventListener('change', () => void askPlot());
  for (const id of ['about', 'kind']) $(id).addEventListener('change', () => void askEntries());
  $('spans').addEventListener('click', (e) => {
    const at = (e.target as Element).closest<HTMLElement>('[data-span]');
    if (at) { span_s = Number(at.dataset.span); showSpans(); refresh(); }
  });
  $('earlier').addEventListener('click', () => { end_ms = until_ms() - span_s * 500; refresh(); });
  $('later').addEventListener('click', () => { end_ms = Math.min(nowMs(), until_ms() + span_s * 500); refresh(); });
  $('to-now').addEventListener('click', () => { end_ms = null; refresh(); });
  $('entry').addEventListener('submit', (e) => {
    e.preventDefault();
    void post('/api/entry', { kind: text('entry-kind'), about: text('entry-about'), who: text('entry-who'), text: text('entry-text') });
  });
  $('hand').addEventListener('submit', (e) => {
    e.preventDefault();
    const unit = text('hand-unit');
    void post('/api/hand', { point: text('hand-point'), value: text('hand-value'), who: text('hand-who'), ...(unit ? { unit } : {}) });
  });
  wireAlarms(() => view.now, (body) => post('/api/entry', body));
  wirePlanned(plan, (body) => post('/api/entry', body));
  wireFindings((body) => post('/api/finding', body));
  watchPresses(() => { showAlarms(view); showFindings(view); });
  new ResizeObserver(() => plot?.setSize({ width: $('plot').clientWidth, height: 320 })).observe($('plot'));
}

function refresh(): void { void askPlot(); void askEntries(); }

function showSpans(): void {
  put('spans', spans.map(([name, s]) => `<button type="button" data-span="${s}" aria-pressed="${s === span_s}">${name}</button>`).join(''));
}

const options = (list: [string, string][]) => list.map(([value, name]) => `<option value="${safe(value)}">${safe(name)}</option>`).join('');

function begin(): void {
  const parts: [string, string][] = plan.stations.map((s) => [s.id, `${s.id} ${s.name}`]);
  const hand = view.inputs.filter((i) => byId(view.sources, i.source)?.kind === 'hand');
  put('point', options(view.inputs.map((i) => [i.point, `${i.of || 'suite'} ${i.what}${i.over ? ` over ${i.over}` : ''}`])));
  put('about', options([['', 'all'], ...parts]));
  put('kind', options([['', 'all'], ...['event', ...kinds, 'shelved', 'unshelved', 'confirmed', 'refuted', 'bath', 'waste', 'match', 'taken', 'settings'].map((k): [string, string] => [k, k])]));
  put('entry-kind', options(kinds.map((k) => [k, k])));
  put('entry-about', options([['', 'the suite'], ...parts]));
  put('hand-point', options(hand.map((i) => [i.point, `${i.of || 'suite'} ${i.what}`])));
  $('hand').hidden = hand.length === 0;
  showSpans();
  wire();
  refresh();
  window.setInterval(() => { if (end_ms === null) refresh(); }, 10000);
  Object.assign(window, { inward: { settled: () => plot !== null } });
}

async function start(): Promise<void> {
  const reply = await ask('/api/plan', '').catch(() => null);
  if (!reply?.ok) {
    say('note', w.board.again);
    window.setTimeout(() => void start(), 3000);
    return;
  }
  plan = reply.body as Plan;
  document.title = `Record \u00b7 ${plan.name}`;
  say('suite', plan.name);
  say('label', plan.label ?? '');
  $('label').hidden = !plan.label;
  await follow((heard) => {
    if (!heard.view) return;
    const first = !view;
    view = heard.view;
    say('age', w.far.live(view.now_local, '', view.replay_speed));
    if (first) begin();
    showAlarms(view);
    showPlanned(view);
    showFindings(view);
  }, () => {
    say('note', w.record.none);
    document.body.classList.add('bare');
    Object.assign(window, { inward: { settled: () => true } });
  });
}

void start();
