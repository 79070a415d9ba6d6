// For pages that only look: the plan once, the answer, and a heartbeat that says whether anyone is
// there.  Where something is connected the answer is what is live, unless the address asks for a scene
// or a trial; else it changes only with the question.
import { ask, Asker } from './asker';
import type { Air, LiveView, Plan, Scene } from './contract';
import { airOf, changesTo, sceneOf } from './now';
import { follow } from './stream';
import { readTrial, writeTrial, type Trial } from './trial';

const beat_ms = 2500, silentAfter_ms = 6500, tick_ms = 500;

export interface Seen {
  plan: Plan | null; air: Air | null; refusal: string | null; silent: boolean; age_s: number;
  trial: Trial; scene: string; imagined: boolean; // changed beside its scene
  view: LiveView | null; // what is live; then `air` is that
  there: Scene | undefined; // the scene the answer is about, where it is known
}

export class Live {
  private plan: Plan | null = null;
  private air: Air | null = null;
  private refusal: string | null = null;
  private heard_ms = Date.now();
  private view: LiveView | null = null;
  following = false;
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
    if (this.following) return; // the stream itself says whether it is there
    const back = this.silent() || !this.air;
    this.heard_ms = Date.now();
    if (back && this.plan) this.answers.ask(this.search());
  }, 2000);

  constructor(private readonly show: (seen: Seen) => void) {
    void this.begin();
    window.setInterval(() => { if (this.plan) this.health.ask(''); }, beat_ms);
    window.setInterval(() => this.again(), tick_ms);
  }

  /** Shows what is known once more, now: something beside the answer changed. */
  again(): void { this.show(this.seen()); }

  // Also for questions beside the page's own: the same scene, and one change more.
  search(more: [string, string][] = []): string {
    if (this.following && this.view && this.plan) {
      const now = changesTo(sceneOf(this.view, this.plan), this.plan);
      return writeTrial({ scene: now.scene, changes: [...now.changes, ...more] });
    }
    return writeTrial({ scene: this.scene(), changes: [...this.trial.changes, ...more] });
  }

  get settled(): boolean { return this.following ? this.view !== null : this.answers.answered > 0 && !this.answers.busy; }

  private scene = () => this.trial.scene ?? this.plan?.start ?? '';
  private silent = () => Date.now() - this.heard_ms > silentAfter_ms;
  private seen(): Seen {
    const there = this.view && this.plan ? sceneOf(this.view, this.plan) : this.plan?.scenes.find((x) => x.id === this.scene());
    return { view: this.view, there, plan: this.plan, air: this.air, refusal: this.refusal, silent: this.silent(),
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
    if (this.trial.scene !== null || this.trial.changes.length > 0) {
      this.answers.ask(this.search());
      return;
    }
    this.following = true;
    void follow(({ view }) => {
      this.heard_ms = Date.now();
      if (!view) return;
      this.view = view;
      this.air = airOf(view);
      this.show(this.seen());
    }, () => { this.following = false; this.answers.ask(this.search()); });
  }
}
