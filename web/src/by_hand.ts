// What a person reads at the station and enters there: "sash at ...", "flow reads ...".  It becomes an
// observation of a `hand` source and an entry of the record, with who and when; nothing goes to any equipment.
import { age, valueOf } from './ages';
import { ask } from './asker';
import { byId, type Entry, type Input, type LiveView, type PlanStation } from './contract';
import { $, put, say } from './dom';
import { safe } from './svg';
import * as w from './words';

/** The points of this station whose source is a person. */
export const handPoints = (view: LiveView, id: string): Input[] =>
  view.inputs.filter((i) => i.of === id && byId(view.sources, i.source)?.kind === 'hand');

// The unit that the field proposes; what stands in the field counts.
export function unitOf(i: Input): string {
  const us = w.system() === 'us';
  if ('value_m' in i) return us ? 'in' : 'cm';
  if ('value_m3_s' in i) return us ? 'cfm' : 'm3/h';
  if ('value_m_s' in i) return us ? 'fpm' : 'm/s';
  if ('value_Pa' in i) return us ? 'inH2O' : 'Pa';
  if ('value_K' in i) return 'degC';
  if (i.what === 'level') return us ? 'gal' : 'L';
  if (i.what === 'resistivity') return 'MOhm cm';
  return 'value_ratio' in i ? '%' : '';
}

// Yes or no, and the two marks of a sash, are a button each: gloves do not type.
const ready = (i: Input, s: PlanStation): string[] =>
  i.what === 'opening' && s.work_m !== null ? ['parked', 'work'] : 'value' in i && !['people', 'dumps', 'other'].includes(i.what) ? ['yes', 'no'] : [];

// A wet bench has several tanks, and not each has a point of each kind: which of them it is, says the point's own name.
const ofParts = new Set(['level', 'low level', 'bath temperature', 'heating', 'lid open', 'leak', 'resistivity', 'dumps']);
const isNamed = (points: Input[], i: Input): boolean => ofParts.has(i.what) || points.filter((p) => p.what === i.what).length > 1;

export class ByHand {
  private chosen: string | null = null;
  private readonly said = new Map<string, { t: string | null; who: string }>(); // of a value: who said it
  private asked = '';

  constructor(private readonly id: string) {
    $('hand').addEventListener('click', (e) => this.press(e));
    $('hand').addEventListener('submit', (e) => { e.preventDefault(); void this.enter($<HTMLInputElement>('hand-value').value.trim()); });
  }

  show(view: LiveView | null, s: PlanStation): void {
    const points = view ? handPoints(view, this.id) : [];
    $('hand').hidden = points.length === 0;
    if (!points.length) return;
    this.askWho(points);
    put('hand-read', points.map((i) => `<li><button type="button" class="big" data-point="${safe(i.point)}" aria-expanded="${i.point === this.chosen}">` +
      `${safe(w.hand.reads(i.what))}${isNamed(points, i) ? ` ${safe(i.point)}` : ''}</button><span id="hand-is-${safe(i.point)}"></span></li>`).join('')); // stays while its value ages
    for (const i of points) put(`hand-is-${i.point}`, this.isHtml(i));
    const i = points.find((p) => p.point === this.chosen);
    const buttons = i ? ready(i, s).map((v) => `<button type="button" class="big" data-say="${v}">${v}</button>`).join('') : '';
    put('hand-form', !i ? '' : `<h3>${safe(w.hand.asks(i.what))}${isNamed(points, i) ? ` ${safe(i.point)}` : ''}</h3>` +
      `<label>${w.hand.who} <input id="hand-who" required maxlength="80" autocomplete="off"></label>` +
      (buttons ? `<div class="ready">${buttons}</div>` : '') +
      (ready(i, s).includes('yes') ? '' : `<label>${w.hand.value} <input id="hand-value" required maxlength="40" inputmode="decimal" autocomplete="off"></label>` +
        `<label>${w.hand.unit} <input id="hand-unit" maxlength="12" value="${unitOf(i)}" autocomplete="off"></label><button type="submit" class="big">${w.hand.enter}</button>`) +
      `<button type="button" class="big" data-leave="1">${w.hand.leave}</button>`);
  }

  private isHtml(i: Input): string {
    if (i.age === 'never') return w.hand.never;
    const by = this.said.get(i.point), value = safe(valueOf(i));
    return (i.age === 'fresh' ? `<b>${value}</b>` : `<s>${value}</s> <b>${safe(i.age === 'bad' ? i.quality ?? 'bad' : i.age)}</b>`) +
      ` ${safe(w.hand.since(age(i.age_s), by && by.t === i.t ? by.who : ''))}`;
  }

  private press(e: Event): void {
    const at = (e.target as Element).closest<HTMLElement>('button');
    if (at?.dataset.point) {
      this.chosen = this.chosen === at.dataset.point ? null : at.dataset.point;
      say('hand-said', '');
      this.again();
      if (this.chosen) $('hand-who').focus();
    } else if (at?.dataset.say) void this.enter(at.dataset.say);
    else if (at?.dataset.leave) this.leave();
  }

  private leave(): void {
    const point = this.chosen;
    this.chosen = null;
    this.again();
    document.querySelector<HTMLElement>(`[data-point="${point}"]`)?.focus();
  }

  /** Set by the page: draws it once more. */
  again: () => void = () => {};

  private async enter(value: string): Promise<void> {
    const who = $<HTMLInputElement>('hand-who').value.trim(), word = /^[a-z]/.test(value);
    const unit = word ? '' : ($<HTMLInputElement>('hand-unit') as HTMLInputElement | null)?.value.trim() ?? '';
    if (!who) { say('hand-said', w.hand.noName); $('hand-who').focus(); return; }
    try {
      const reply = await fetch('/api/hand', { method: 'POST', headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ point: this.chosen, value, who, ...(unit ? { unit } : {}) }) });
      const said = await reply.json() as { number?: number; error?: string };
      say('hand-said', reply.ok ? w.hand.entered(said.number ?? 0, who) : w.hand.refused(said.error ?? String(reply.status)));
      if (!reply.ok) return;
      this.asked = '';
      this.leave();
    } catch {
      say('hand-said', w.hand.refused(w.hand.silent));
    }
  }

  // Who said it stands in the record, once for each new value.
  private askWho(points: Input[]): void {
    const now = points.map((i) => i.t ?? '').join();
    if (now === this.asked || points.every((i) => !i.t)) return;
    this.asked = now;
    const from = points.map((i) => i.t).filter((t): t is string => t !== null).sort()[0]!;
    void ask('/api/entries', `about=${this.id}&kind=note&from=${encodeURIComponent(from)}&most=200`).then((reply) => {
      if (!reply.ok) return;
      for (const e of (reply.body as { entries: Entry[] }).entries) {
        const point = e.detail ? (JSON.parse(e.detail) as { point?: string }).point : undefined, i = points.find((p) => p.point === point);
        if (i) this.said.set(i.point, { t: i.t, who: e.who }); // the last of them is the newest
      }
      this.again();
    }).catch(() => {});
  }
}
