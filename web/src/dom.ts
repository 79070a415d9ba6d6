// Writing only what differs: a screen reader is not told twice, a focus is not lost.
export const $ = <T extends Element = HTMLElement>(id: string): T => document.getElementById(id) as unknown as T;

export function say(id: string, text: string): void {
  const at = $(id);
  if (at.textContent !== text) at.textContent = text;
}

const shown = new WeakMap<Element, string>();
export function put(id: string, html: string): boolean {
  const at = $(id);
  if (shown.get(at) === html) return false;
  at.innerHTML = html;
  shown.set(at, html);
  return true;
}

// A click is a press and a release on the same thing: what is drawn anew between them loses it.
const afterPress_ms = 60; // of a finger, the click comes a little after the release
let pressed: Element | null = null;

export const isPressed = (at: Element): boolean => pressed !== null && at.contains(pressed);

/** From now on presses are known; `again` draws what waited for one. */
export function watchPresses(again: () => void): void {
  window.addEventListener('pointerdown', (e) => { pressed = (e.target as Element).closest('button, summary, .air-plan'); }, true);
  for (const end of ['pointerup', 'pointercancel'])
    window.addEventListener(end, () => { window.setTimeout(() => { pressed = null; again(); }, afterPress_ms); }, true);
}
