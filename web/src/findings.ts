// What looks like a fault: on the Record page with what a person found there; on Air one quiet line for
// the kinds that have proved themselves in this suite.
import { clock } from './ages';
import type { Finding, LiveView } from './contract';
import { $, isPressed, put } from './dom';
import { safe } from './svg';
import * as w from './words';

const capital = (text: string) => text ? text[0]!.toUpperCase() + text.slice(1) : text;
// The sentence, without what stands below it.
const sentence = (f: Finding) => [`looks like ${f.what ?? w.findings.nothingKnown}`, f.because.length ? ` because ${f.because.join('; ')}` : '',
  ...f.or_else.map((g) => `; or else ${g.what}`)].join('');

function rowHtml(f: Finding, zone: string): string {
  const part = f.about?.[0];
  return `<li class="finding"><div><p>${safe(capital(sentence(f)))}.</p>` +
    `<p class="quiet">since ${safe(clock(f.since, zone))}${f.next ? ` \u00b7 next: ${safe(f.next)} (${safe(f.who ?? '')})` : ''}` +
    `${f.tells ? ` \u00b7 what would tell: ${safe(f.tells)}` : ''}</p></div>` +
    (f.kind && part ? ['confirmed', 'refuted'].map((a) => `<button type="button" data-answer="${a}" data-kind="${safe(f.kind!)}" data-part="${safe(part)}" data-since="${safe(f.since)}">` +
      `${a === 'confirmed' ? w.findings.so : w.findings.notSo}</button>`).join('') : '') + '</li>';
}

const list = (title: string, rows: Finding[], zone: string) => rows.length ? `<h3>${safe(title)}</h3><ul>${rows.map((f) => rowHtml(f, zone)).join('')}</ul>` : '';

/** The Record page's section; what is being pressed stays until it is let go. */
export function showFindings(view: LiveView): void {
  if (isPressed($('findings'))) return;
  const notes = view.looks_like.filter((f) => f.in_notes), proved = view.looks_like.filter((f) => !f.in_notes);
  put('findings', list(w.findings.proved, proved, view.zone) + list(w.findings.notes, notes, view.zone) ||
    `<p class="quiet">${w.findings.none}</p>`);
  $('answering').hidden = !view.looks_like.some((f) => f.kind);
  put('blind', view.blind.map((b) => `<li>${safe(b)}</li>`).join(''));
  $('blind-box').hidden = view.blind.length === 0;
}

/** `enter` posts what a person found. */
export function wireFindings(enter: (body: Record<string, string>) => Promise<void>): void {
  $('findings').addEventListener('click', (e) => {
    const at = (e.target as Element).closest<HTMLElement>('[data-answer]');
    const who = $<HTMLInputElement>('finding-who'), seen = $<HTMLInputElement>('finding-text');
    if (!at || !who.reportValidity() || !seen.reportValidity()) return;
    const { answer, kind, part, since } = at.dataset;
    void enter({ answer: answer!, kind: kind!, part: part!, since: since!, who: who.value.trim(), text: seen.value.trim() });
    seen.value = '';
  });
}

/** Air: the first that has proved itself, in a line; empty where none has, and while an alarm outranks it. */
export function looksLine(view: LiveView | null): string {
  const proved = view ? view.looks_like.filter((f) => !f.in_notes) : [], f = proved[0];
  if (!f || view!.building_alarm || view!.own_alarms.length) return '';
  return `<span aria-hidden="true">\u25c7</span> Looks like ${safe(f.what ?? w.findings.nothingKnown)}, since ${safe(clock(f.since, view!.zone))}.` +
    `${f.next ? ` Next: ${safe(f.next)} (${safe(f.who ?? '')}).` : ''}${proved.length > 1 ? ` And ${proved.length - 1} more.` : ''}`;
}

export const showLooks = (view: LiveView | null): void => {
  const line = looksLine(view);
  put('looks', line ? `${line} <a href="/record#h-findings">${w.findings.why}</a>` : '');
  $('looks').hidden = !line;
};
