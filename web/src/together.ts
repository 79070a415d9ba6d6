// Who may work together: the words for a wall, any choice tried by a solve of its own, and each part lost in turn.
import { ask, Asker } from './asker';
import type { Air, Maybe, Plan } from './contract';
import { $, put, say } from './dom';
import { follow } from './stream';
import { mark, safe } from './svg';
import * as w from './words';

interface Set_ { stations: string[]; with: string | null; misses: string[] }
interface Sets {
  words: string; known: boolean; why: string | null; counts_doubts: boolean; nothing: boolean; parked_misses: string[]; any: Maybe; any_perhaps: Maybe; best: Maybe; best_perhaps: Maybe;
  own_fault: string[]; largest_count: Maybe; largest: Set_[]; tightest: Set_[]; breaking_count: Maybe; breaking: Set_[]; work: { states: number; solved: number; checked: number; corrected: number };
}
interface Lost { part: string; id: string; what: string; sets: Sets }
interface Together { suite: string; label: string | null; suite_sha256: string; base: string | null; tier: string; stations: string[]; sets: Sets; lost: Lost[]; not_known: string[]; caution: string }

const patience_ms = 60000; // each part lost in turn is a table of its own
let plan: Plan, together: Together | null = null, settled = false;
const chosen = new Set<string>(new URLSearchParams(location.search).getAll('at').filter(Boolean));

const list = (lines: string[]): string => lines.length ? `<ul class="lines">${lines.map((l) => `<li>${safe(w.said(l))}</li>`).join('')}</ul>` : '';
const setLine = (s: Set_): string => `${s.stations.join(', ')}${s.with ? ` ${w.together.with(s.with)}` : ''}${s.misses.length ? `: ${s.misses[0]}` : ''}`;

// ---- any choice, by a real solve: beside it all is parked and all plant runs, as in the table, whatever scene the board began with ----

let asked = '';
const tries = new Asker<Air>('/api/air', (outcome) => {
  if (outcome.search !== asked) return; // of a choice that is another by now
  if (outcome.value) verdict(outcome.value);
  else put('verdict', `<p class="word">${mark('not_known')} ${w.words.notKnown}</p><p>${safe(outcome.refusal ?? w.together.silent)}</p>`);
});

// The table above counts what the figures may be off by; so must a choice.
const isDoubtful = (air: Air): boolean => (together?.sets.counts_doubts ?? false) && air.state !== 'short' && air.state !== 'not_known' &&
  air.pools.some((p) => p.headroom_m3_s !== null && (p.headroom_pm_m3_s ?? 0) > p.headroom_m3_s);

function verdict(air: Air): void {
  const at = [...chosen], own = air.stations.filter((s) => s.own_fault).map((s) => s.id);
  const body = !at.length ? w.together.none : air.state === 'short' || air.state === 'not_known' ? '' : isDoubtful(air) ? w.together.doubtfulWhy : w.together.fits(air.act);
  const word = !at.length ? w.together.parked[air.state] : isDoubtful(air) ? w.together.doubtful : w.together.state[air.state];
  put('verdict', `<p class="word">${mark(air.state)} ${safe(word)}</p>` +
    (body ? `<p>${safe(body)}</p>` : '') + list(air.reasons) + (own.length ? `<p>${safe(w.together.own(own.join(', ')))}</p>` : ''));
}

function tryChosen(): void {
  const search = new URLSearchParams([['scene', ''], ['all', 'parked'], ...[...chosen].map((id) => ['sash', `${id}=work`])] as [string, string][]);
  asked = search.toString();
  put('verdict', `<p class="word">${mark('not_known')} ${w.together.solving}</p>`); // the answer before is of another choice
  tries.ask(asked);
  history.replaceState(null, '', chosen.size ? `?${[...chosen].map((id) => `at=${id}`).join('&')}` : location.pathname);
}

function chips(): void {
  if (!together) return;
  put('chips', together.stations.map((id) => {
    const s = plan.stations.find((p) => p.id === id);
    return `<button type="button" data-at="${safe(id)}" aria-pressed="${chosen.has(id)}"><b>${safe(id)}</b> <span>${safe(s?.name ?? '')}</span></button>`;
  }).join('') + `<button type="button" id="none" class="none"${chosen.size ? '' : ' disabled'}>${w.together.allDown}</button>`);
}

// ---- the table ----

function lostCard(l: Lost): string {
  const s = l.sets, level = !s.known ? 'not_known' : s.nothing ? 'short' : s.any === together?.sets.any ? 'ample' : 'near_limit';
  const more = s.nothing ? s.parked_misses.slice(1) : [];
  return `<article class="card" data-lost="${safe(l.id)}"><h3>${mark(level)} <span>${safe(l.what)}</span></h3><p class="says">${safe(w.together.lostWord(level))}</p><p>${safe(w.said(s.words))}</p>` +
    (more.length ? `<details><summary>${w.together.alsoMissed(more.length)}</summary>${list(more)}</details>` : '') + '</article>';
}

function show(t: Together): void {
  const s = t.sets;
  together = t;
  say('suite', t.suite);
  say('label', t.label ?? '');
  $('label').hidden = !t.label;
  say('sentence', s.words);
  say('beside', [s.known ? w.together.beside(s.any, s.best, t.stations.length, s.counts_doubts) : s.why ?? '', t.base ?? ''].filter(Boolean).join(' '));
  $('said').className = !s.known || s.nothing ? 'asks' : '';
  chips();
  put('breaking', list(s.breaking.map(setLine)) + (s.breaking_count !== null && s.breaking_count > s.breaking.length ? `<p class="soft">${w.together.andMore(s.breaking_count - s.breaking.length)}</p>` : ''));
  $('sets').hidden = !s.breaking.length;
  put('more', `<h3>${safe(w.together.largest(s.best, s.largest_count))}</h3>${list(s.largest.map(setLine))}<h3>${w.together.tightest}</h3>${list(s.tightest.map(setLine))}` +
    (s.own_fault.length ? `<h3>${w.together.ownHead}</h3>${list(s.own_fault)}` : '') + `<h3>${w.words.cannotHead}</h3>${list(t.not_known)}` +
    `<p class="soft">${safe(w.together.found(s.work.states, s.work.solved, s.work.checked, s.work.corrected))} ${safe(w.together.foot(t.tier, t.suite_sha256.slice(0, 12)))}</p>`);
}

function cannot(why: string): void {
  say('sentence', w.words.notKnown);
  say('beside', why);
  $('said').className = 'asks';
}

async function begin(): Promise<void> {
  const placed = await ask('/api/plan', '');
  plan = placed.body as Plan;
  const first = await ask('/api/together', 'scene=&lost=no');
  if (!first.ok) return cannot(String((first.body as { error?: unknown }).error ?? first.status));
  show(first.body as Together);
  for (const id of [...chosen]) if (!together!.stations.includes(id)) chosen.delete(id);
  chips();
  tryChosen();
  say('lost-first', w.together.lostFirst);
  put('lost', `<p class="soft">${w.together.counting}</p>`);
  const whole = await ask('/api/together', 'scene=', AbortSignal.timeout(patience_ms));
  const lost = whole.ok ? (whole.body as Together).lost : [];
  put('lost', lost.length ? lost.map(lostCard).join('') : `<p>${safe(whole.ok ? w.together.noLost : String((whole.body as { error?: unknown }).error ?? w.words.notKnown))}</p>`);
}

document.addEventListener('click', (e) => {
  const button = (e.target as Element).closest<HTMLElement>('button');
  if (!button || !together) return;
  if (button.id === 'none') chosen.clear();
  else if (button.dataset.at) chosen.has(button.dataset.at) ? chosen.delete(button.dataset.at) : chosen.add(button.dataset.at);
  else return;
  const again = button.dataset.at ? `[data-at="${button.dataset.at}"]` : '[data-at]';
  chips();
  document.querySelector<HTMLElement>(again)?.focus();
  tryChosen();
});

begin().catch(() => cannot(w.together.silent)).finally(() => { settled = true; });
void follow((heard) => { if (heard.view) $('outrank').hidden = !heard.view.building_alarm; }, () => undefined);
Object.assign(window, { inward: { settled: () => settled && !tries.busy } });
