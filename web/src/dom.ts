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
const afterPress_ms = 350; // of a finger, the click comes a while after the release, or never: it was a drag
let pressed: Element | null = null;

export const isPressed = (at: Element): boolean => pressed !== null && at.contains(pressed);

/** From now on presses are known; `again` draws what waited for one. */
export function watchPresses(again: () => void): void {
  let waits = 0;
  const over = (after_ms: number) => {
    window.clearTimeout(waits);
    waits = window.setTimeout(() => { pressed = null; again(); }, after_ms);
  };
  window.addEventListener('pointerdown', (e) => {
    window.clearTimeout(waits);
    pressed = (e.target as Element).closest('button, summary, .air-plan');
  }, true);
  window.addEventListener('pointerup', () => over(afterPress_ms), true);
  window.addEventListener('pointercancel', () => over(0), true);
  window.addEventListener('click', () => over(0), true);   // after those who listen to it
}
