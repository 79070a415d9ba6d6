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
