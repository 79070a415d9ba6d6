// For pages that only look: the plan once, the answer, and a heartbeat that says whether anyone is
// there.  Nothing is connected yet, so an answer changes only with the question.
import { ask, Asker } from './asker';
import type { Air, Plan } from './contract';
import { readTrial, writeTrial, type Trial } from './trial';

const beat_ms = 2500, silentAfter_ms = 6500, tick_ms = 500;

export interface Seen {
  plan: Plan | null; air: Air | null; refusal: string | null; silent: boolean; age_s: number;
  trial: Trial; scene: string; imagined: boolean; // changed beside its scene
}

export class Live {
  private plan: Plan | null = null;
  private air: Air | null = null;
  private refusal: string | null = null;
  private heard_ms = Date.now();
  private readonly trial = readTrial(location.search);
  private readonly answers = new Asker<Air>('/api/air', (outcome) => {
    if (!outcome.silent) {
      this.heard_ms = Date.now();
      this.refusal = outcome.refusal ?? null;
      this.air = outcome.value ?? this.air;
    }
    this.show(this.seen());
  });
  private readonly health = new Asker<{ suite_sha256: string }>('/healthz', (outcome) => {
    if (!outcome.value) return;
    if (this.plan && outcome.value.suite_sha256 !== this.plan.suite_sha256) location.reload();
    const back = this.silent() || !this.air;
    this.heard_ms = Date.now();
    if (back && this.plan) this.answers.ask(this.search());
  }, 2000);

  constructor(private readonly show: (seen: Seen) => void) {
    void this.begin();
    window.setInterval(() => { if (this.plan) this.health.ask(''); }, beat_ms);
    window.setInterval(() => this.show(this.seen()), tick_ms);
  }

  // Also for questions beside the page's own: the same scene, and one change more.
  search(more: [string, string][] = []): string {
    return writeTrial({ scene: this.scene(), changes: [...this.trial.changes, ...more] });
  }

  get settled(): boolean { return this.answers.answered > 0 && !this.answers.busy; }

  private scene = () => this.trial.scene ?? this.plan?.start ?? '';
  private silent = () => Date.now() - this.heard_ms > silentAfter_ms;
  private seen(): Seen {
    return { plan: this.plan, air: this.air, refusal: this.refusal, silent: this.silent(),
      age_s: Math.round((Date.now() - this.heard_ms) / 1000), trial: this.trial, scene: this.scene(), imagined: this.trial.changes.length > 0 };
  }

  private async begin(): Promise<void> {
    try {
      const reply = await ask('/api/plan', '');
      if (!reply.ok) throw new Error(`no plan: ${reply.status}`);
      this.plan = reply.body as Plan;
    } catch {
      window.setTimeout(() => void this.begin(), 3000);
      return;
    }
    this.heard_ms = Date.now();
    this.show(this.seen());
    this.answers.ask(this.search());
  }
}
