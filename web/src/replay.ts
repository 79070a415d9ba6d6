// A board that plays a recorded table again says so in the head of every page: nothing on it is of now.
import type { Maybe } from './contract';
import { board as words } from './words';

const again_ms = 3000;

export async function sayReplay(): Promise<void> {
  try {
    const reply = await fetch('/api/live', { cache: 'no-store' });
    if (reply.status === 404) return; // nothing is connected
    if (!reply.ok) throw new Error('not yet');
    const { replay_speed } = await reply.json() as { replay_speed: Maybe };
    if (!replay_speed) return;
    const label = document.createElement('span');
    label.className = 'label';
    label.textContent = words.replay(replay_speed);
    document.querySelector('.head .suite')?.append(' ', label);
  } catch { window.setTimeout(() => void sayReplay(), again_ms); }
}
