// Whether the board still answers, on every page that does not say so in its own largest words: a page that is looked at and
// asks nothing would show for hours what was so before.
import { board as words } from './words';

const beat_ms = 2500, patience_ms = 2000, silentAfter_ms = 6500, tick_ms = 500;
let heard_ms = Date.now(), suite = '', changed = false;

function show(line: HTMLElement): void {
  const silent = Date.now() - heard_ms > silentAfter_ms, was = document.body.classList.contains('board-silent');
  document.body.classList.toggle('board-silent', silent);
  const text = silent ? words.silent(Math.round((Date.now() - heard_ms) / 1000)) : changed ? words.changed : '';
  line.hidden = !text;
  if (line.firstChild!.textContent !== text) line.firstChild!.textContent = text;
  (line.lastChild as HTMLElement).hidden = silent || !changed;
  if (was && !silent) window.dispatchEvent(new Event('board-back'));
}

async function beat(): Promise<void> {
  const stop = new AbortController(), patience = window.setTimeout(() => stop.abort(), patience_ms);
  try {
    const reply = await fetch('/healthz', { signal: stop.signal, cache: 'no-store' }), said = await reply.json() as { suite_sha256?: string };
    heard_ms = Date.now();
    changed = changed || (suite !== '' && said.suite_sha256 !== suite);
    suite = suite || (said.suite_sha256 ?? '');
  } catch { /* `show` says so */ } finally { window.clearTimeout(patience); }
}

export function watchSilence(): void {
  const line = document.createElement('p'), anew = document.createElement('a');
  line.className = 'board-lost';
  line.setAttribute('role', 'alert');
  line.hidden = true;
  anew.href = location.href;
  anew.textContent = words.anew;
  line.append(document.createTextNode(''), ' ', anew);
  document.querySelector('.head')?.after(line);
  document.addEventListener('visibilitychange', () => {
    if (document.hidden) return;
    heard_ms = Math.max(heard_ms, Date.now() - silentAfter_ms + patience_ms); // it slept: one beat to find out
    void beat();
  });
  window.setInterval(() => void beat(), beat_ms);
  window.setInterval(() => show(line), tick_ms);
  void beat();
}
