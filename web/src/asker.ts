// One question on its way at a time; the latest waits; the last one asked is always answered.
// While someone drags a sash this keeps the server at its own pace and the page never behind.

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
      const response = await fetch(search ? `${this.path}?${search}` : this.path,
        { signal: stop.signal, cache: 'no-store' });
      const body = await response.json();
      if (!response.ok) return { search, refusal: String(body.error ?? response.status) };
      return { search, value: body as T };
    } catch {
      return { search, silent: true };
    } finally {
      clearTimeout(timer);
    }
  }
}
