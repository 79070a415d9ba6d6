// How this station stands, from `/api/ready`: the worst reason first.  Asked again every few seconds; an answer that is
// older than that says nothing of now.
import { age, clock, dayBefore } from './ages';
import { Asker } from './asker';
import type { Plan, PlanStation, Ready, ReadyFact, ReadyStation } from './contract';
import { $, put, say } from './dom';
import { answer, type StartHere } from './start_here';
import { safe } from './svg';
import * as w from './words';

const every_ms = 5000, old_ms = 20000;
// Where somebody may be hurt the station's own call is named (a first aider, say); all else is for who looks after the stations.
const hurts = new Set(['building alarm', 'own alarm', 'incident', 'bench']);

export class ReadyHere {
  private value: Ready | null = null;
  private why = '';
  private asked_ms = 0;
  private heard_ms = 0;
  again = (): void => {};

  private readonly asker = new Asker<Ready>('/api/ready', (outcome) => {
    if (outcome.value) { this.value = outcome.value; this.heard_ms = Date.now(); }
    this.why = outcome.refusal ?? '';
    this.again();
  });

  constructor(private readonly id: string) {}

  /** Asks where it is time to. */
  ask(): void {
    if (Date.now() - this.asked_ms < every_ms) return;
    this.asked_ms = Date.now();
    this.asker.ask(`station=${encodeURIComponent(this.id)}`);
  }

  get settled(): boolean { return this.asker.answered > 0; }
  get row(): ReadyStation | null {
    return this.value && Date.now() - this.heard_ms < old_ms ? this.value.stations[0] ?? null : null;
  }

  /** What the air alone would let start, seen with all else that is known of the station.  Whoever works there knows that it is in use. */
  join(plan: Plan, s: PlanStation, air: StartHere, raised: boolean): StartHere {
    const row = this.row;
    const against = row?.facts.find((f) => f.says === 'against' && !(raised && (f.kind === 'use' || f.kind === 'air')));
    if (air.level === 'short' || air.level === 'out' || air.level === 'not_known') return air;
    if (against) {
      const whom = hurts.has(against.kind) ? s.call : plan.call;
      return answer(w.ready.notReady(against.line), 'short', [against.text, w.ready.airIs(air.line)], [against.next ?? '', whom ? w.start.call(whom) : ''], w.ready.state.not_ready);
    }
    if (raised) return air;
    if (!row) return answer(w.words.notKnown, 'not_known', [this.why || w.ready.silent], [w.far.askStaff]);
    if (row.state === 'under_conditions')
      return { ...air, next: [w.ready.under(row.facts.filter((f) => f.says === 'condition').map((f) => f.line)), ...air.next] };
    return answer(row.line.toUpperCase(), 'not_known', [row.reason, w.ready.airIs(air.line)], [row.next ?? w.far.askStaff], w.ready.state.not_known);
  }

  show(lost: boolean): void {
    const row = lost ? null : this.row;
    $('ready').hidden = !row;
    if (!row) return;
    const zone = this.value!.zone, open = row.facts.filter((f) => f.says !== 'noted'), noted = row.facts.filter((f) => f.says === 'noted');
    say('ready-line', row.line);
    $('ready-line').dataset.state = row.state;
    say('ready-clear', row.known_clear ? w.ready.clear(clock(row.known_clear.at, zone)) : w.ready.neverClear);
    put('ready-open', open.map((f) => factHtml(f, zone)).join(''));
    put('ready-noted', noted.map((f) => factHtml(f, zone)).join(''));
    $('ready-rest').hidden = noted.length === 0;
  }
}

function factHtml(f: ReadyFact, zone: string): string {
  const origin = [f.source, f.age_s === null ? '' : w.ready.ago(age(f.age_s)), f.at_most_s === null ? '' : w.ready.counts(age(f.at_most_s)),
    f.until ? w.ready.until(f.by_day ? dayBefore(f.until, zone) : clock(f.until, zone)) : ''].filter(Boolean).join(', ');
  return `<li class="${f.says}"><b>${safe(w.ready.says[f.says])}</b> <span>${safe(f.text)}${f.next ? ` <strong>${safe(f.next)}</strong>` : ''}</span>` +
    `<small>${safe(origin)}</small></li>`;
}
