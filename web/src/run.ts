// Runs with nobody there: what people told of them, what is overdue or cools and until when, and a large button for each thing to tell.
import { clock } from './ages';
import type { LiveRun, PlanStation } from './contract';
import { $, isPressed, put, say, watchPresses } from './dom';
import { follow } from './stream';
import { safe } from './svg';
import { forgetWho, head, isSending, tell, told, value } from './telling';
import * as w from './words';

let runs: LiveRun[] | null = null, zone = Intl.DateTimeFormat().resolvedOptions().timeZone, heard_ms = Date.now(), settled = false, kept = true, stations: PlanStation[] = [];
let station = new URLSearchParams(location.search).get('station') ?? '';
const lost_ms = 20000;

const at = (iso: string | null): string => iso ? clock(iso, zone) : w.run.notKnown;
const fact = (name: string, said: string): string => `<div class="fact"><dt>${name}</dt><dd>${said}</dd></div>`;

function facts(r: LiveRun): string {
  return `<dl class="facts">${fact(w.run.heads.holds, safe(r.holds))}${fact(w.run.heads.hazards, safe(r.hazards))}${fact(w.run.heads.call, `<b>${safe(r.call)}</b>${r.second ? `; ${safe(r.second)}` : ''}`)}` +
    `${fact(w.run.heads.since, at(r.started))}${r.over ? fact(w.run.heads.over, at(r.over)) : ''}${r.last_temperature_K === null ? '' : fact(w.run.heads.read, `${(r.last_temperature_K - 273.15).toFixed(0)} °C, ${at(r.last_read)}`)}` +
    `${r.clock_to ? fact(w.run.heads.clock, r.clock_from === r.clock_to ? at(r.clock_to) : w.run.between(at(r.clock_from), at(r.clock_to))) : ''}${r.wait ? fact(w.run.heads.wait, at(r.wait)) : ''}</dl>`;
}

const button = (act: string, id: string): string => `<button type="button" class="do" data-act="${act}" data-station="${safe(id)}">${w.run.act[act]}</button>`;
const field = (key: string, id: string, label: string, hint: string, mode: string, type = 'text'): string =>
  `<label>${label} <input id="${key}-${safe(id)}" type="${type}" placeholder="${hint}" inputmode="${mode}" maxlength="200" autocomplete="off"></label>`;

function acts(r: LiveRun): string {
  const id = r.station;
  return `<div class="acts">${field('read', id, w.run.readLabel, '85', 'decimal')}${button('read', id)}${r.over ? '' : button('over', id)}</div>` +
    (r.over ? '' : `<div class="acts">${field('later', id, w.run.laterLabel, '', 'text', 'datetime-local')}${button('later', id)}</div>`) +
    `<div class="acts">${field('words', id, w.run.clearedLabel, w.run.clearedHint, 'text')}${button('cleared', id)}</div>`;
}

function row(r: LiveRun): string {
  return `<section class="panel item ${r.phase}" data-run="${safe(r.station)}"><div class="title"><h2>${safe(r.station)} <span>${safe(r.what)}</span></h2><span class="word ${r.phase}">${w.run.phase[r.phase] ?? safe(r.phase)}</span></div>` +
    `<p class="until">${w.run.until(r.phase, at(r.over ? r.cold : r.until))}</p><p class="soft">${safe(r.why)}.</p>${facts(r)}${acts(r)}</section>`;
}

const typing = (): boolean => document.activeElement?.matches('#runs input') ?? false;
function draw(): void {
  if (!runs || isPressed(document.querySelector('main')!) || typing()) return;
  const here = station ? runs.filter((r) => r.station === station) : runs;
  const kept = new Map([...document.querySelectorAll<HTMLInputElement>('#runs input')].map((i) => [i.id, i.value]));
  put('runs', here.map(row).join('') || `<p class="panel">${station ? w.run.noneHere(safe(station)) : w.run.none}</p>`);
  for (const [id, was] of kept) { const i = document.getElementById(id) as HTMLInputElement | null; if (i && was) i.value = was; }
  const free = station !== '' && stations.some((s) => s.id === station) && here.length === 0;
  $('start').hidden = !free;
  say('start-where', free ? station : '');
}

// What is typed as °C stays a number with its unit; a local time of this suite is the board's to read.
const celsius = (text: string): string => /^-?[0-9.,]+$/.test(text) ? `${text.replace(',', '.')} degC` : text;
const local = (text: string): string => text.replace('T', ' ');

async function press(act: string, id: string): Promise<void> {
  const given = (key: string): HTMLInputElement | null => document.getElementById(`${key}-${id}`) as HTMLInputElement | null;
  const body: Record<string, string> = { act, about: id }, reads = given('read')?.value.trim() ?? '', later = given('later')?.value ?? '', words = given('words')?.value.trim() ?? '';
  if (act === 'read' && !reads) { given('read')?.focus(); return; }
  if (act === 'later' && !later) { given('later')?.focus(); return; }
  if ((act === 'read' || act === 'over') && reads) body.temperature = celsius(reads);
  if (act === 'later') body.until = local(later);
  if (act === 'cleared' && words) body.words = words;
  if (await tell('/api/run', body, w.run.said(act, id))) for (const key of ['read', 'later', 'words']) { const i = given(key); if (i) i.value = ''; }
}

async function start(): Promise<void> {
  const body: Record<string, string> = { act: 'started', about: station, until: local(value('until')) };
  for (const key of ['what', 'holds', 'hazards', 'call', 'second']) if (value(key)) body[key] = value(key);
  if (!body.until) { told(`<p class="warn"><b>${w.telling.notWritten}</b> ${w.run.untilFirst}</p>`); $('until').focus(); return; }
  if (await tell('/api/run', body, w.run.said('started', station))) $<HTMLFormElement>('start-form').reset();
}

document.addEventListener('click', (e) => {
  const b = (e.target as Element).closest<HTMLElement>('button');
  if (b?.dataset.act) void press(b.dataset.act, b.dataset.station!);
});
$('start-form').addEventListener('submit', (e) => { e.preventDefault(); void start(); });
$('station').addEventListener('change', () => {
  station = value('station');
  history.replaceState(null, '', station ? `?station=${encodeURIComponent(station)}` : location.pathname);
  draw();
});

function silent(): void {
  const lost = Date.now() - heard_ms > lost_ms;
  document.body.classList.toggle('silent', lost && runs !== null);
  if (runs) say('note', lost ? w.telling.silent : kept ? '' : w.run.notKept);
}

async function begin(): Promise<void> {
  stations = (await head()).stations;
  $<HTMLSelectElement>('station').value = station;
  void follow(({ view }) => {
    heard_ms = Date.now();
    settled = true;
    if (!view) return;
    $('outrank').hidden = !view.building_alarm;
    zone = view.zone;
    runs = view.runs ?? [];
    kept = view.record.kept;
    document.body.classList.toggle('not-kept', !kept);
    say('foot', w.run.foot);
    draw();
    silent();
  }, () => {
    settled = true;
    document.body.classList.add('not-kept');
    say('note', w.run.nothingConnected);
  });
}
forgetWho();
watchPresses(draw);
window.setInterval(silent, 1000);
Object.assign(window, { inward: { settled: () => settled && !isSending() } });
begin().catch(() => { document.body.classList.add('silent'); say('note', w.telling.silent); });
