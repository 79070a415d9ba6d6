// What the pages of rounds and runs share: the suite's head, who tells, one telling at a time, and what became of it.
import { ask } from './asker';
import type { Plan } from './contract';
import { $, put, say } from './dom';
import { safe } from './svg';
import * as w from './words';

const forget_ms = 300000, patience_ms = 8000;
let sending = false;

export const value = (id: string): string => $<HTMLInputElement>(id).value.trim();
export const isSending = (): boolean => sending;

export function told(html: string): void {
  put('told', html);
  $('told').hidden = false;
}
const refused = (why: string): void => told(`<p class="warn"><b>${w.telling.notWritten}</b> ${safe(why)}</p>`);

/** True when it was written down. */
export async function tell(path: string, body: Record<string, string>, words: string): Promise<boolean> {
  if (sending) return false;
  if (!value('who')) { refused(w.telling.whoFirst); $('who').focus(); return false; }
  sending = true;
  document.body.classList.add('sending');
  const stop = new AbortController(), patience = window.setTimeout(() => stop.abort(), patience_ms);
  try {
    const reply = await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ ...body, who: value('who') }), signal: stop.signal });
    const said = await reply.json() as { number?: number; error?: string };
    if (reply.ok) told(`<p>${safe(words)} (${w.telling.entry(said.number ?? 0)})</p>`);
    else refused(said.error ?? String(reply.status));
    return reply.ok;
  } catch {
    refused(w.telling.maybe);
    return false;
  } finally {
    window.clearTimeout(patience);
    sending = false;
    document.body.classList.remove('sending');
  }
}

/** The suite's name, and its stations in the select `station`. */
export async function head(): Promise<Plan> {
  const plan = (await ask('/api/plan', '')).body as Plan;
  say('suite', plan.name);
  $('label').hidden = !plan.label;
  say('label', plan.label ?? '');
  put('station', `<option value="">${w.telling.allStations}</option>${plan.stations.map((s) => `<option value="${safe(s.id)}">${safe(s.id)} ${safe(s.name)}</option>`).join('')}`);
  return plan;
}

/** Who left the phone does not sign what the next one tells. */
export function forgetWho(): void {
  let touched_ms = Date.now();
  for (const kind of ['pointerdown', 'keydown']) window.addEventListener(kind, () => { touched_ms = Date.now(); }, true);
  window.setInterval(() => { if (Date.now() - touched_ms > forget_ms) $<HTMLInputElement>('who').value = ''; }, 1000);
}
