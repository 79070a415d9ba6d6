// A little help to write markup: everything that comes from a file is escaped.
const entities: Record<string, string> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };
export const safe = (text: unknown): string => String(text ?? '').replace(/[&<>"']/g, (c) => entities[c]!);

/** The same, and an address of this board that it names in brackets can be followed. */
export const linked = (text: string): string => safe(text).replace(/\((\/[a-z]+)\)/g, '(<a href="$1">$1</a>)');

// The four states as shapes that no greyscale can confuse: an empty ring, a half-full
// lozenge, a full square, a hatched ring with a question mark.  In a 100 x 100 box.
export const stateShape: Record<string, string> = {
  ample: '<circle class="sh-line" cx="50" cy="50" r="37"/>',
  near_limit: '<path class="sh-ground" d="M50 6 94 50 50 94 6 50Z"/><path class="sh-fill" d="M6 50h88L50 94Z"/><path class="sh-line" d="M50 6 94 50 50 94 6 50Z"/>',
  short: '<rect class="sh-fill sh-line" x="12" y="12" width="76" height="76"/>',
  not_known: '<circle class="sh-ground sh-line sh-dash" cx="50" cy="50" r="39"/><path class="sh-hatch" d="M14 62 62 14M22 76 76 22M38 86 86 38"/><text class="sh-text" x="50" y="69" text-anchor="middle">?</text>',
};

export const mark = (level: string, extra = ''): string =>
  `<svg class="mk ${level}${extra}" viewBox="0 0 100 100" aria-hidden="true">${stateShape[level] ?? stateShape.not_known}</svg>`;
