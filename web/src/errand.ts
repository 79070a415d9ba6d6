// What is asked at this station now: what, why, one large button, and a small one for who cannot.  What a person
// presses is an entry of the record; the sash's own reading stays what counts.
import type { Errand, LiveView } from './contract';
import { $, put, say } from './dom';
import { safe } from './svg';
import * as w from './words';

/** What is asked at a station now; nothing while an alarm outranks it, and nothing in a trial. */
export const errandAt = (view: LiveView | null, id: string): Errand | undefined =>
  view && !view.building_alarm && !view.own_alarms.length ? (view.errands ?? []).find((e) => e.open && e.station === id) : undefined;

export class ErrandHere {
  private cannot = false;
  private of = '';

  constructor(private readonly id: string) {
    $('errand').addEventListener('click', (e) => this.press(e));
  }

  /** Set by the page: draws it once more. */
  again: () => void = () => {};

  show(errand: Errand | undefined): void {
    $('errand').hidden = !errand;
    if (!errand) { this.cannot = false; return; }
    if (errand.asked !== this.of) { this.of = errand.asked; this.cannot = false; say('errand-said', ''); }
    if (errand.doubt) say('errand-said', `${errand.doubt[0]!.toUpperCase()}${errand.doubt.slice(1)}.`);
    else if (!$('errand-said').textContent) say('errand-said', w.errand.hands);
    put('errand-buttons', this.cannot
      ? `<p>${w.errand.why}</p>` + w.errand.reasons.map((r) => `<button type="button" class="big" data-why="${safe(r)}">${safe(r)}</button>`).join('') +
        `<button type="button" class="big" data-leave="1">${w.errand.leave}</button>`
      : `<button type="button" class="done" data-done="1">${w.errand.done}</button><button type="button" class="big" data-cannot="1">${w.errand.cannot}</button>`);
  }

  private press(e: Event): void {
    const at = (e.target as Element).closest<HTMLElement>('button');
    if (!at) return;
    if (at.dataset.done) void this.answer('done', '');
    else if (at.dataset.why) void this.answer('cannot', at.dataset.why);
    else { this.cannot = at.dataset.cannot !== undefined; say('errand-said', ''); this.again(); }
  }

  private async answer(answer: 'done' | 'cannot', text: string): Promise<void> {
    say('errand-said', w.errand.sending);
    try {
      const reply = await fetch('/api/errand', { method: 'POST', headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ station: this.id, answer, ...(text ? { text } : {}) }) });
      const said = await reply.json() as { error?: string };
      say('errand-said', reply.ok ? (answer === 'done' ? w.errand.thanks : w.errand.noted) : w.errand.refused(said.error ?? String(reply.status)));
      this.cannot = false;
    } catch {
      say('errand-said', w.errand.refused(w.hand.silent));
    }
    this.again();
  }
}
