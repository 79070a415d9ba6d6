// Following what is live: one view after the other, and signs of life between them.
import { ask } from './asker';
import type { LiveView } from './contract';

export interface Heard { view?: LiveView; here?: boolean }

const again_ms = 3000;

/** Calls `hear` for each view; `none` once when nothing is connected to this board. */
export async function follow(hear: (heard: Heard) => void, none: () => void): Promise<void> {
  try {
    const reply = await ask('/api/live', '');
    if (reply.status === 404) return none();
    if (reply.ok) hear({ view: reply.body as LiveView });
  } catch {
    window.setTimeout(() => void follow(hear, none), again_ms);
    return;
  }
  const take = (message: { view?: string; here?: boolean }) =>
    hear(message.view === undefined ? { here: true } : { view: JSON.parse(message.view) as LiveView });
  if ('SharedWorker' in window) {
    const { port } = new SharedWorker(document.querySelector<HTMLElement>('script[data-follow]')?.dataset.follow ?? '/follow.js', { name: 'inward' });
    port.onmessage = (e: MessageEvent) => take(e.data as { view?: string });
    window.addEventListener('pagehide', () => port.postMessage('bye'));
    return;
  }
  const source = new EventSource('/api/stream');
  source.addEventListener('live', (e) => take({ view: (e as MessageEvent<string>).data }));
  source.addEventListener('here', () => take({ here: true }));
}
