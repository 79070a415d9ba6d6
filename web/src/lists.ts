// A list page: what the board wrote, asked anew whenever something changes; and what a person says there.
import { isPressed, watchPresses } from './dom';
import { follow } from './stream';
import { lists as words } from './words';

const again_ms = 2000, still_ms = 10000, lost_ms = 20000;
let asked_ms = 0, heard_ms = Date.now(), waiting = 0;

const at = (id: string) => document.getElementById(id);
const value = (id: string) => (at(id) as HTMLInputElement | null)?.value.trim() ?? '';
const kind = () => [...document.body.classList].find((c) => c !== 'lists') ?? '';
/** Yes or no is ticked, and not guessed from words. */
const answered = (id: string) => `${(at(`is-${id}`) as HTMLInputElement | null)?.checked ? 'yes' : 'no'}, ${value(id)}`;
function tell(text: string): void { const p = at('said'); if (p) p.textContent = text; }

// The name stays while this page is open: who says one thing will say the next.
function who(): string {
  const name = value('who');
  if (!name) { tell(words.who); at('who')?.focus(); }
  return name;
}

function lost(): void {
  const p = at('lost');
  if (!p) return;
  const age_s = Math.round((Date.now() - heard_ms) / 1000);
  p.hidden = Date.now() - heard_ms < lost_ms;
  if (!p.hidden) p.textContent = words.lost(age_s);
}

async function again(): Promise<void> {
  asked_ms = Date.now();
  try {
    const reply = await fetch(location.href, { headers: { Accept: 'text/html' } });
    const next = new DOMParser().parseFromString(await reply.text(), 'text/html').getElementById('list'), now = at('list');
    if (!next || !now) return;
    heard_ms = Date.now();
    if (isPressed(now)) return;
    if (next.innerHTML !== now.innerHTML) now.replaceWith(document.importNode(next, true));
    showForms();
  } catch { /* `lost` says so */ } finally { lost(); }
}

/** At most every two seconds, however often something changes. */
function soon(): void {
  if (waiting) return;
  waiting = window.setTimeout(() => { waiting = 0; void again(); }, Math.max(0, asked_ms + again_ms - Date.now()));
}

function showForms(): void {
  const form = at('reentry');
  if (form) form.hidden = !document.querySelector('[data-key="before_going_in"] tr[data-state="open"]');
}

async function post(path: string, body: Record<string, string>): Promise<boolean> {
  try {
    const reply = await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    const said = await reply.json() as { number?: number; error?: string };
    tell(reply.ok ? words.entered(said.number) : words.notEntered(said.error ?? ''));
    await again();
    return reply.ok;
  } catch {
    tell(words.noAnswer);
    return false;
  }
}

function stopped(body: Record<string, string>): void {
  const name = who();
  if (name) void post('/api/stopped', { who: name, ...body }).then((entered) => {
    const seen = at('seen') as HTMLInputElement | null;
    if (entered && seen) seen.value = ''; // it was said of one station
  });
}

async function printSheet(): Promise<void> {
  const name = who(), content = (at('list') as HTMLElement).dataset.content ?? '';
  if (name && await post('/api/printed', { who: name, content })) window.print();
}

document.addEventListener('click', (e) => {
  const button = (e.target as Element).closest<HTMLElement>('button');
  if (!button) return;
  const seen = value('seen');
  if (button.dataset.stop) stopped({ act: 'stop', cause: button.dataset.stop });
  else if (button.dataset.release) stopped({ act: 'release', about: button.dataset.release, ...(seen ? { text: seen } : {}) });
  else if (button.id === 'print') window.print();
});
document.addEventListener('submit', (e) => {
  const form = (e.target as Element).id;
  if (form === 'reentry') { e.preventDefault(); stopped({ act: 'reentry', removed: answered('removed'), measured: answered('measured') }); }
  if (form === 'print-form') { e.preventDefault(); void printSheet(); }
});

function start(): void {
  showForms();
  watchPresses(() => {});
  if (kind() === 'handover') { // of a moment that a person asked for: it stands until asked again
    for (const name of ['of', 'at']) {
      const field = document.querySelector<HTMLInputElement>(`input[name="${name}"]`), said = new URLSearchParams(location.search).get(name);
      if (field && said) field.value = said;
    }
  } else {
    void follow((heard) => { if (heard.view) soon(); }, () => {});
    window.setInterval(() => { lost(); if (Date.now() - asked_ms > still_ms) soon(); }, 1000);
  }
  Object.assign(window, { inward: { settled: () => true } });
}

start();
