// Telling that something happened: what, where, done.  What more is known is a further entry that adds to it.
import { ask } from './asker';
import { byId, type LiveView, type Plan } from './contract';
import { $, put, say } from './dom';
import { follow } from './stream';
import { safe } from './svg';
import * as w from './words';

interface Field { key: string; ask: string; required: boolean; next: boolean; choices: string[] }
interface Form { id: string; title: string; place: 'anywhere' | 'part' | 'station'; first: string[]; next: string | null; kept: string; fields: Field[] }

let plan: Plan | null = null, view: LiveView | null = null, forms: Form[] = [];
let chosen: Form | null = null, about = '', number = 0, sending = false, bare = false; // bare: nothing is connected
const here = new URLSearchParams(location.search).get('at') ?? ''; // of the station's tablet

const hide = (id: string, is: boolean): void => { $(id).hidden = is; };
const call = (): string => w.tell.call((about && plan && byId(plan.stations, about)?.call) || plan?.call || '');

// Why nothing can be kept, or '': a person must know before typing.
function notKept(): string {
  if (!view) return bare ? w.tell.notConnected : '';
  return view.record.kept ? '' : view.record.why ?? w.tell.noRecord;
}

function showNote(): void {
  const why = notKept();
  document.body.classList.toggle('not-kept', why !== '');
  put('note', why ? `<b>${safe(w.tell.cannot)}</b> ${safe(why)} ${safe(w.tell.paper)} ${safe(call())}` : '');
}

// ---- what ----

function showWhat(): void {
  put('what', forms.map((f) => `<button type="button" class="big" data-what="${f.id}" aria-pressed="${f === chosen}">${safe(f.title)}</button>`).join(''));
}

function choose(form: Form): void {
  chosen = form;
  say('h-first', form.title);
  showFirst();
  const needed = form.fields.filter((f) => f.required);
  put('needed', needed.map((f) => fieldHtml(f, 'need')).join(''));
  showWhere();
  for (const id of ['step-first', 'step-where', 'back-line']) hide(id, false);
  hide('step-what', true);
  $('step-where').focus();
  window.scrollTo(0, 0);
}

function showFirst(): void {
  const suite = w.tell.whom(plan?.call ?? ''), own = (about || here) && plan ? byId(plan.stations, about || here)?.call : null;
  put('first', chosen!.first.map((line) => `<p>${safe(own && plan?.call && own !== plan.call ? line.replace(suite, `${own}; ${plan.call}`) : line)}</p>`).join(''));
}

// ---- where ----

const place = (id: string, name: string): string => `<button type="button" class="big" data-where="${safe(id)}"><b>${safe(id || w.tell.noPlace)}</b> <span>${safe(name)}</span></button>`;

function showWhere(): void {
  if (!plan || !chosen) return;
  const of = (room: string) => plan!.stations.filter((s) => s.room === room), own = byId(plan.stations, here);
  const rooms = plan.rooms.map((r) => {
    const list = of(r.id).map((s) => place(s.id, s.name)).join('') + (chosen!.place === 'station' ? '' : place(r.id, w.tell.room(r.name)));
    return list ? `<h3>${safe(r.name)}</h3><div class="taps">${list}</div>` : '';
  }).join('');
  put('where', (own ? `<h3>${w.tell.here}</h3><div class="taps">${place(own.id, own.name)}</div>` : '') +
    (chosen.place === 'anywhere' ? `<div class="taps">${place('', w.tell.noPlaceName)}</div>` : '') + rooms);
}

// ---- sending ----

async function send(body: Record<string, string>): Promise<{ number?: number; error?: string }> {
  try {
    const reply = await fetch('/api/incident', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    const said = await reply.json() as { number?: number; error?: string };
    return reply.ok ? said : { error: said.error ?? String(reply.status) };
  } catch {
    return { error: w.tell.silent };
  }
}

const said = (prefix: string): Record<string, string> => Object.fromEntries([...document.querySelectorAll<HTMLInputElement | HTMLSelectElement>(`[data-${prefix}]`)]
  .map((at): [string, string] => [at.dataset[prefix]!, at.value.trim()]).filter(([, value]) => value !== ''));

async function tellWhere(id: string): Promise<void> {
  if (!chosen || sending) return;
  const form = $<HTMLFormElement>('needed');
  if (!form.reportValidity()) return;
  sending = true;
  about = id;
  const answer = await send({ incident: chosen.id, about: id, ...said('need') });
  sending = false;
  showFirst();
  hide('step-done', false);
  if (answer.error) {
    say('h-done', w.tell.cannot);
    put('done', answer.error.trim().split('\n').map((line) => `<p>${safe(line)}</p>`).join('') + `<p>${safe(w.tell.paper)}</p><p>${safe(call())}</p>`);
    $('step-done').classList.add('failed');
    $('h-done').focus();
    return;
  }
  $('step-done').classList.remove('failed');
  number = answer.number ?? 0;
  showDone();
}

function showDone(): void {
  hide('step-where', true);
  say('h-done', w.tell.kept(number, chosen!.title, about));
  put('done', `<p>${safe(w.tell.keeps(chosen!.kept))}</p>` + (chosen!.next ? `<p><b>${safe(chosen!.next)}</b></p>` : '') +
    `<p>${safe(call())}</p><p><a class="big" href="/sheet?incident=${number}">${w.tell.sheet}</a></p>`);
  showMore();
  hide('step-more', false);
  $('h-done').focus();
  window.scrollTo(0, 0);
}

// ---- what more is known ----

function fieldHtml(f: Field, prefix: string): string {
  const field = f.choices.length
    ? `<select data-${prefix}="${f.key}"><option value=""></option>${f.choices.map((c) => `<option>${safe(c)}</option>`).join('')}</select>`
    : `<input data-${prefix}="${f.key}" maxlength="500" autocomplete="off"${prefix === 'need' ? ' required' : ''}>`;
  return `<label>${safe(f.ask)} ${field}</label>`;
}

function showMore(): void {
  const now = chosen!.fields.filter((f) => !f.next), later = chosen!.fields.filter((f) => f.next);
  put('more', `<label>${w.tell.at} <input data-more="at" maxlength="40" placeholder="2026-10-26 14:10" autocomplete="off"></label>` +
    `<label>${w.tell.who} <input data-more="who" maxlength="80" autocomplete="off"></label>` +
    now.map((f) => fieldHtml(f, 'more')).join('') +
    (later.length ? `<h3>${safe(chosen!.next ?? w.tell.afterwards)}</h3>` + later.map((f) => fieldHtml(f, 'more')).join('') : '') +
    `<button type="submit" class="big">${w.tell.add}</button>`);
}

async function addMore(): Promise<void> {
  if (!chosen || sending) return;
  sending = true;
  const answer = await send({ incident: chosen.id, adds_to: String(number), ...said('more') });
  sending = false;
  say('more-said', answer.error ? w.tell.notAdded(answer.error.trim()) : w.tell.added(answer.number ?? 0, number));
  if (answer.error) return;
  for (const at of document.querySelectorAll<HTMLInputElement | HTMLSelectElement>('[data-more]')) if (at.dataset.more !== 'who') at.value = '';
}

// ---- life ----

function begin(): void {
  chosen = null;
  about = '';
  number = 0;
  for (const id of ['step-first', 'step-where', 'step-done', 'step-more', 'back-line']) hide(id, true);
  hide('step-what', false);
  say('more-said', '');
  showWhat();
  showNote();
}

function wire(): void {
  $('what').addEventListener('click', (e) => {
    const at = (e.target as Element).closest<HTMLElement>('[data-what]'), form = at ? byId(forms, at.dataset.what!) : undefined;
    if (form) choose(form);
  });
  $('where').addEventListener('click', (e) => {
    const at = (e.target as Element).closest<HTMLElement>('[data-where]');
    if (at) void tellWhere(at.dataset.where!);
  });
  $('needed').addEventListener('submit', (e) => e.preventDefault());
  $('more').addEventListener('submit', (e) => { e.preventDefault(); void addMore(); });
  $('again').addEventListener('click', begin);
}

async function start(): Promise<void> {
  const reply = await ask('/api/plan', '').catch(() => null);
  if (!reply?.ok) {
    put('note', `<b>${safe(w.tell.cannot)}</b> ${safe(w.tell.silent)} ${safe(w.tell.paper)}`);
    window.setTimeout(() => void start(), 3000);
    return;
  }
  plan = reply.body as Plan;
  document.title = `Tell \u00b7 ${plan.name}`;
  say('suite', plan.name);
  say('label', plan.label ?? '');
  $('label').hidden = !plan.label;
  const told = await ask('/api/tell', '').catch(() => null);
  forms = told?.ok ? (told.body as { incidents: Form[] }).incidents : [];
  wire();
  begin();
  hide('step-what', forms.length === 0);
  await follow((heard) => {
    if (!heard.view) return;
    view = heard.view;
    hide('outrank', !view.building_alarm);
    say('age', w.far.live(view.now_local, '', view.replay_speed));
    showNote();
  }, () => { bare = true; showNote(); });
  Object.assign(window, { inward: { settled: () => true } });
}

void start();
