// Do the rules let this person start this process here, now: every reason, the worst first, and what is to be confirmed.  Ids only; never a permission.
import { ask } from './asker';
import type { Plan } from './contract';
import { $, put, say } from './dom';
import { safe } from './svg';
import * as w from './words';

type Verdict = 'rules_met' | 'unconfirmed' | 'no';
interface Reason { verdict: Verdict; kind: string; id: string | null; say: string; way: string | null; source: string }
interface Changes { changes: string[]; after: Verdict }
interface May {
  verdict: Verdict; who: string | null; process: string; process_name: string; station: string; scene: string | null; permission_by: string;
  document: string | null; document_version: string | null; document_review: string | null; reasons: Reason[]; turns_to_yes: Changes[]; others: Changes[];
}
interface Process { id: string; name: string; stations: string[] }

const forget_ms = 300000;
let processes: Process[] = [], confirmed: string[] = [], turn = 0, settled = false;

const value = (id: string): string => $<HTMLInputElement>(id).value.trim();
const ticked = (id: string): boolean => $<HTMLInputElement>(id).checked;

// What the verb calls `--confirm "..."` is a button here; other options of the verb mean fields above.
const toConfirm = (way: string | null): string | null => /--confirm "([^"]+)"/.exec(way ?? '')?.[1] ?? null;
const firstOf = (way: string | null): string => /^(.+\.) Then --confirm/.exec(way ?? '')?.[1] ?? ''; // what is done before anybody confirms it
const inWords = (way: string | null): string => !way ? '' : toConfirm(way) ? firstOf(way) : way.includes('--') ? w.may.above : way;

function reason(r: Reason): string {
  const words = toConfirm(r.way), id = r.id ? ` ${safe(r.id)}` : '', how = inWords(r.way);
  const button = r.verdict === 'unconfirmed' && words ? `<button type="button" class="do" data-confirm="${safe(words)}">${firstOf(r.way) ? w.may.lookedThere : w.may.looked}</button>` : '';
  return `<li><span><b>${safe(r.kind)}${id}</b>: ${safe(r.say)}</span>${how ? `<span>${r.verdict === 'no' ? w.may.mended : ''} ${safe(how)}</span>` : ''}<span class="from">${safe(r.source)}</span>${button}</li>`;
}

const list = (a: May, verdict: Verdict): string => a.reasons.filter((r) => r.verdict === verdict).map(reason).join('');
const panel = (title: string, items: string, of = ''): string => items ? `<section class="panel ${of}"><h2>${title}</h2><ul>${items}</ul></section>` : '';
const changes = (all: Changes[]): string => all.map((c) => `<li><span>${safe(c.changes.join(w.may.and))}</span><span class="from">${w.may.then[c.after]}</span></li>`).join('');

function draw(a: May): void {
  const document_ = a.document ? w.may.document(a.document, a.document_version ?? '', a.document_review ?? '') : w.may.noDocument;
  $('act').className = `act ${a.verdict}`;
  put('act', `<p class="big">${w.may.act[a.verdict]}</p><p>${safe(w.may.what(a.who ?? '', `${a.process} ${a.process_name}`, a.station))}</p><p>${safe(w.may.permission(a.permission_by))} ${safe(document_)}</p><p class="soft">${safe(w.may.air(a.scene))}</p>`);
  put('answer', panel(w.may.against, list(a, 'no'), 'against') + panel(w.may.confirm, list(a, 'unconfirmed')) + panel(w.may.turns, changes(a.turns_to_yes)) + panel(w.may.others, changes(a.others)) +
    (list(a, 'rules_met') ? `<details class="panel"><summary>${w.may.met}</summary><ul>${list(a, 'rules_met')}</ul></details>` : ''));
  document.body.classList.remove('stale');
}

function refuse(why: string): void {
  $('act').className = 'act no';
  put('act', `<p class="big">${w.may.cannot}</p><p>${safe(why)}</p>`);
  put('answer', '');
}

async function question(): Promise<void> {
  if (!value('who') || !value('process') || !value('station')) { refuse(w.may.lacks); return; }
  const query = new URLSearchParams({ who: value('who'), do: value('process'), at: value('station') }), mine = ++turn;
  if (ticked('alone')) query.set('alone', 'yes');
  else if (value('inside')) query.set('inside', value('inside'));
  if (ticked('beside')) query.set('beside', 'none');
  if (ticked('unattended')) query.set('unattended', 'yes');
  for (const words of confirmed) query.append('confirm', words);
  try {
    const reply = await ask('/api/may', query.toString());
    if (mine !== turn) return;
    if (reply.ok) draw(reply.body as May);
    else refuse(String((reply.body as { error?: string }).error ?? reply.status));
  } catch {
    if (mine === turn) refuse(w.may.silent);
  }
}

// Another question: what was looked at for the last one is not carried over to it.
function changed(): void {
  turn++;
  confirmed = [];
  put('act', '');
  put('answer', '');
}

function offer(): void {
  const station = value('station'), chosen = value('process');
  const here = processes.filter((p) => p.stations.includes(station)), others = processes.filter((p) => !p.stations.includes(station));
  const options = (of: Process[]) => of.map((p) => `<option value="${safe(p.id)}">${safe(p.id)} ${safe(p.name)}</option>`).join('');
  put('process', `<option value="">${w.may.choose}</option>${here.length ? `<optgroup label="${w.may.here}">${options(here)}</optgroup>` : ''}${others.length ? `<optgroup label="${w.may.elsewhere}">${options(others)}</optgroup>` : ''}`);
  $<HTMLSelectElement>('process').value = chosen;
}

async function begin(): Promise<void> {
  const [plan, list_] = await Promise.all([ask('/api/plan', ''), ask('/api/processes', '')]);
  const p = plan.body as Plan;
  say('suite', p.name);
  $('label').hidden = !p.label;
  say('label', p.label ?? '');
  put('station', p.stations.map((s) => `<option value="${safe(s.id)}">${safe(s.id)} ${safe(s.name)}</option>`).join(''));
  const wanted = new URLSearchParams(location.search).get('station');
  if (wanted && p.stations.some((s) => s.id === wanted)) $<HTMLSelectElement>('station').value = wanted;
  if (!list_.ok) { refuse(String((list_.body as { error?: string }).error ?? list_.status)); return; }
  processes = (list_.body as { processes: Process[] }).processes;
  offer();
}

$('ask').addEventListener('submit', (e) => { e.preventDefault(); void question(); });
$('station').addEventListener('change', () => { offer(); changed(); });
for (const id of ['process', 'who', 'inside', 'alone', 'beside', 'unattended']) $(id).addEventListener('input', changed);
$('answer').addEventListener('click', (e) => {
  const words = (e.target as HTMLElement).closest<HTMLElement>('[data-confirm]')?.dataset.confirm;
  if (!words) return;
  confirmed.push(words);
  void question();
});

// Whoever leaves the tablet leaves no id on it.
let touched_ms = Date.now();
for (const event of ['pointerdown', 'keydown']) window.addEventListener(event, () => { touched_ms = Date.now(); }, true);
window.setInterval(() => {
  if (Date.now() - touched_ms < forget_ms) return;
  for (const id of ['who', 'inside']) $<HTMLInputElement>(id).value = '';
  changed();
}, 1000);
Object.assign(window, { inward: { settled: () => settled } });
begin().catch(() => refuse(w.may.silent)).finally(() => { settled = true; });
