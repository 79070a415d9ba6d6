// A round: at each station one looks, and says yes, no or nothing.  With a station: its questions under one thumb.  Without: which
// station wants somebody.  Nothing is ticked beforehand, and what is not answered was not looked at.
import { age, clock } from './ages';
import { ask } from './asker';
import type { LiveView, Maybe, PlanStation } from './contract';
import { $, isPressed, put, say, watchPresses } from './dom';
import { glassHtml, glassTold, loadGlass, markFields } from './glass';
import { follow } from './stream';
import { safe } from './svg';
import { forgetWho, head, isSending, tell, value } from './telling';
import * as w from './words';

type State = 'open' | 'overdue' | 'not_known' | 'looked_at';
type Said = 'yes' | 'no' | 'unseen';
interface Moment { at: string; who: string; entry: number }
interface Item { id: string; question: string; at_most_s: Maybe; expires: boolean; marks: boolean; source: string }
interface Found { item: string; state: State; said: string | null; at: string | null; age_s: Maybe; who: string | null; words: string | null; since: string | null; expires: string | null; late: boolean }
interface Place { station: string; name: string | null; state: State; last: Moment | null; in_words: boolean; known_clear: Moment | null; found: Found[] }
interface Rounds { now: string; unread: number; items: Item[]; stations: Place[] }

let rounds: Rounds | null = null, stations: PlanStation[] = [], settled = false, seenHead = -1, zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
let station = new URLSearchParams(location.search).get('station') ?? '';
let reminders: NonNullable<LiveView['reminders']> = [];
let mark = ''; // of glass that is told with a no
const answers = new Map<string, Said>(), dates = new Map<string, string>();

const names = (): boolean => $<HTMLInputElement>('names').checked;
const by = (who: string | null): string => names() && who ? ` ${w.round.by(safe(who))}` : '';
const word = (state: State): string => `<span class="word ${state}">${w.round.state[state]}</span>`;

function moments(p: Place): string {
  const last = p.last ? w.round.last(clock(p.last.at, zone), by(p.last.who)) + (p.in_words ? ` ${w.round.inWords}` : '') : w.round.noRound;
  return `<p>${last}</p><p>${p.known_clear ? w.round.clear(clock(p.known_clear.at, zone), by(p.known_clear.who)) : w.round.neverClear}</p>`;
}

// What stands of an item from before: never a choice for now.
function stood(f: Found, item: Item): string {
  if (f.said === null || f.at === null) return w.round.never;
  const when = `${w.round.lookedAt(age(f.age_s))}${by(f.who)}${f.late ? `, ${w.round.late(age(item.at_most_s))}` : ''}`;
  if (f.said === 'no') return `${w.round.openSince(f.since ? clock(f.since, zone) : '')}; ${when}.${f.words ? ` ${w.round.said(safe(f.words))}` : ''}`;
  return `${f.state === 'open' ? w.round.expired(safe(f.expires)) : f.expires ? w.round.yesUntil(safe(f.expires)) : w.round.yes}; ${when}.`;
}

function question(f: Found): string {
  const item = rounds!.items.find((i) => i.id === f.item)!, chosen = answers.get(f.item) ?? 'unseen';
  const choice = (said: Said): string => `<button type="button" class="choice ${said}" data-item="${safe(f.item)}" data-said="${said}" aria-pressed="${chosen === said}">${w.round.choice[said]}</button>`;
  const date = item.expires && chosen === 'yes' ? `<label class="date">${w.round.until} <input type="date" id="until-${safe(f.item)}" data-until="${safe(f.item)}" value="${safe(dates.get(f.item) ?? '')}"></label>` : item.marks && chosen === 'no' ? markFields(stations, station, mark) : '';
  return `<section class="panel item ${f.state}" data-found="${safe(f.item)}"><div class="title"><h2 id="q-${safe(f.item)}">${safe(item.question)}</h2>${word(f.state)}</div><p class="soft">${f.said === null ? '' : `${w.round.before} `}${stood(f, item)}</p>` +
    `<div class="choices" role="group" aria-labelledby="q-${safe(f.item)}">${choice('yes')}${choice('no')}${choice('unseen')}</div>${date}</section>`;
}

function next(): string {
  const i = stations.findIndex((s) => s.id === station), n = stations[(i + 1) % stations.length];
  return n ? `<a class="go" id="next" href="/round?station=${encodeURIComponent(n.id)}">${w.round.next(safe(n.id))} <span>${safe(n.name)}</span></a>` : '';
}

function listHtml(all: Rounds): string {
  return all.stations.map((p) => `<a class="go row-of ${p.state}" data-place="${safe(p.station)}" href="/round?station=${encodeURIComponent(p.station)}"><b>${safe(p.station)}</b> <span>${safe(p.name)}</span>${word(p.state)}` +
    `<small>${p.known_clear ? w.round.clear(clock(p.known_clear.at, zone), by(p.known_clear.who)) : w.round.neverClear}</small></a>`).join('');
}

// What is half typed stays when the rest is drawn anew.
function keep(id: string, html: string): void {
  const typed = new Map([...$(id).querySelectorAll<HTMLInputElement>('input[id]:not([type=date])')].map((i) => [i.id, i.value]));
  if (put(id, html)) for (const [at, was] of typed) { const i = document.getElementById(at) as HTMLInputElement | null; if (i && was) i.value = was; }
}

// Of all, in the list: what is overdue.  At a station what is overdue there stands with its questions.
function drawReminders(): void {
  if (isPressed(document.querySelector('main')!)) return;
  const own = station && rounds?.stations.some((p) => p.station === station);
  put('overdue', own || !reminders.length ? '' : `<section class="panel item overdue"><h2>${w.round.overdueHead(reminders.length)}</h2><ul>${reminders.map((r) => `<li>${safe(r.text)}${r.since ? `, ${w.round.since(clock(r.since, zone))}` : ''}</li>`).join('')}</ul></section>`);
}

function draw(): void {
  if (!rounds || isPressed(document.querySelector('main')!) || document.activeElement?.matches('#asked input, #asked select, #glass input')) return;
  const here = rounds.stations.find((p) => p.station === station);
  document.body.classList.toggle('listing', !here);
  say('about', here ? `${here.station} ${here.name ?? ''}` : station ? w.round.noStation(station) : w.round.all);
  put('moments', here ? word(here.state) + moments(here) : '');
  keep('asked', here ? here.found.map(question).join('') || `<p class="panel">${w.round.nothingAsked}</p>` : listHtml(rounds));
  keep('glass', glassHtml(here ? station : '', zone));
  put('on', here ? next() : '');
  say('unread', rounds.unread ? w.round.unread(rounds.unread) : '');
}

async function load(): Promise<void> {
  try {
    const reply = await ask('/api/rounds', '');
    if (reply.ok) {
      rounds = reply.body as Rounds;
      await loadGlass();
      document.body.classList.remove('not-kept', 'silent');
      say('note', '');
    } else {
      document.body.classList.add('not-kept');
      say('note', `${w.telling.cannot} ${String((reply.body as { error?: string }).error ?? reply.status)}`);
    }
    draw();
  } catch {
    document.body.classList.add('silent');
    say('note', w.telling.silent);
  }
  settled = true;
}

function markTold(): Record<string, string> {
  const typed = (id: string): string => (document.getElementById(id) as HTMLInputElement | null)?.value.trim() ?? '';
  return { mark: mark === 'other' ? typed('mark-words') : mark, ...(typed('piece') ? { piece: typed('piece') } : {}), ...(Number(typed('mark-count')) > 1 ? { count: typed('mark-count') } : {}) };
}

async function pressGlass(button: HTMLElement): Promise<void> {
  const body = glassTold(button);
  if (!body || !await tell('/api/sighting', body, w.glass.told)) return;
  document.querySelectorAll<HTMLInputElement>('#glass input').forEach((i) => { i.value = ''; });
  await load();
}

async function write(): Promise<void> {
  const of = (said: Said): string => [...answers].filter(([, a]) => a === said).map(([item]) => item).join(', ');
  const body: Record<string, string> = { about: station };
  const until = [...dates].filter(([item, day]) => day && answers.get(item) === 'yes').map(([item, day]) => `${item} ${day}`).join(', ');
  for (const said of ['yes', 'no'] as const) if (of(said)) body[said] = of(said);
  if (until) body.expires = until;
  if (rounds?.items.some((i) => i.marks && answers.get(i.id) === 'no') && mark) Object.assign(body, markTold());
  if (value('words')) body.words = value('words');
  if (!await tell('/api/round', body, w.round.written(station))) return;
  answers.clear();
  mark = '';
  dates.clear();
  $<HTMLInputElement>('words').value = '';
  await load();
}

document.addEventListener('click', (e) => {
  const at = (e.target as Element).closest<HTMLElement>('button');
  if (at?.dataset.item) { answers.set(at.dataset.item, at.dataset.said as Said); window.setTimeout(draw, 80); }
  else if (at?.dataset.glassAct) void pressGlass(at);
  else if (at?.id === 'write') void write();
});
document.addEventListener('change', (e) => {
  const at = e.target as HTMLInputElement;
  if (at.dataset.until) dates.set(at.dataset.until, at.value);
  else if (at.id === 'mark') { mark = at.value; at.blur(); draw(); document.getElementById('mark')?.focus(); }
  else if (at.id === 'names') draw();
  else if (at.id === 'station') location.search = at.value ? `?station=${encodeURIComponent(at.value)}` : '';
});

async function begin(): Promise<void> {
  stations = (await head()).stations;
  $<HTMLSelectElement>('station').value = station;
  await load();
}
forgetWho();
watchPresses(draw);
void follow(({ view }) => {
  if (!view) return;
  $('outrank').hidden = !view.building_alarm;
  if (view.zone !== zone) { zone = view.zone; draw(); }
  reminders = view.reminders ?? [];
  drawReminders();
  if (view.record.head !== seenHead) { seenHead = view.record.head; void load(); }
}, () => undefined);
window.setInterval(() => void load(), 60000);
window.addEventListener('board-back', () => void load());
Object.assign(window, { inward: { settled: () => settled && !isSending() } });
begin().catch(() => { document.body.classList.add('silent'); say('note', w.telling.silent); });
