// One question on its way at a time; the latest waits; the last one asked is always answered.
// While someone drags a sash this keeps the server at its own pace and the page never behind.

// Whoever answers: the board over HTTP, or the engine inside an exported page.  Rejects when
// there is no answer at all; what cannot be meant is an answer with `ok` false.
export interface Reply { ok: boolean; status: number; body: unknown }
export type Answerer = (path: string, search: string, stop?: AbortSignal) => Promise<Reply>;

const board: Answerer = async (path, search, stop) => {
  const response = await fetch(search ? `${path}?${search}` : path, { signal: stop, cache: 'no-store' });
  return { ok: response.ok, status: response.status, body: await response.json() };
};

let answerer = board;
export const answerFrom = (other: Answerer): void => { answerer = other; };
export const ask: Answerer = (path, search, stop) => answerer(path, search, stop);

export interface Outcome<T> { search: string; value?: T; refusal?: string; silent?: boolean }

export class Asker<T> {
  private flying: string | null = null;
  private waiting: string | null = null;
  sent = 0;
  answered = 0;

  constructor(
    private readonly path: string,
    private readonly deliver: (outcome: Outcome<T>) => void,
    private readonly patience_ms = 4000,
  ) {}

  ask(search: string): void {
    this.waiting = search;
    if (this.flying === null) void this.fly();
  }

  get busy(): boolean { return this.flying !== null; }

  private async fly(): Promise<void> {
    while (this.waiting !== null) {
      this.flying = this.waiting;
      this.waiting = null;
      this.sent++;
      const outcome = await this.fetch(this.flying);
      this.answered++;
      this.flying = null;
      this.deliver(outcome);
    }
  }

  private async fetch(search: string): Promise<Outcome<T>> {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), this.patience_ms);
    try {
      const { ok, status, body } = await ask(this.path, search, stop.signal);
      if (!ok) return { search, refusal: String((body as { error?: unknown }).error ?? status) };
      return { search, value: body as T };
    } catch {
      return { search, silent: true };
    } finally {
      clearTimeout(timer);
    }
  }
}
