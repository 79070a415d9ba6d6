// What the card on the wall says, on the tablet beside it: forbidden first.
import type { GlassMark, PlanStation } from './contract';
import { safe } from './svg';
import * as w from './words';

// The suite's own word for a colour, as a paint.  A mark is never told by its colour alone.
const paint: Record<string, string> = {
  white: '#ffffff', grey: '#8a9196', black: '#1b1f21', brown: '#7a4a24', red: '#c22a20', orange: '#e2761b',
  yellow: '#efd22e', green: '#2f8f4e', blue: '#2563b0', violet: '#7a4fb0', pink: '#e38bb0',
};
const shapes: Record<string, string> = {
  ring: '<path fill-rule="evenodd" d="M50 8a42 42 0 1 0 .01 0ZM50 26a24 24 0 1 1-.01 0Z"/>',
  dot: '<circle cx="50" cy="50" r="40"/>', bar: '<rect x="6" y="34" width="88" height="32"/>',
  square: '<rect x="12" y="12" width="76" height="76"/>',
  cross: '<path d="M36 8h28v28h28v28H64v28H36V64H8V36h28Z"/>', triangle: '<path d="M50 8 94 88H6Z"/>',
  star: '<path d="M50 4 61 38 97 38 68 59 79 94 50 73 21 94 32 59 3 38 39 38Z"/>', diamond: '<path d="M50 4 92 50 50 96 8 50Z"/>',
};

export function glassMarkHtml(mark: GlassMark): string {
  const words = [mark.colour, mark.shape, mark.letter ? `letter ${mark.letter}` : null].filter(Boolean).join(', ');
  const lacks = [mark.colour ? '' : 'colour', mark.shape ? '' : 'shape', mark.letter ? '' : 'letter'].filter(Boolean).join(' and ');
  // A shape that nobody stated would be believed: a broken outline is none of the shapes.
  const shape = mark.shape ? shapes[mark.shape] ?? '' : '<circle cx="50" cy="50" r="42" stroke-dasharray="9 7"/>';
  return `<div class="glass"><svg viewBox="-6 -6 112 112" role="img" aria-label="${safe(words)}"><g fill="${paint[mark.colour ?? ''] ?? '#ffffff'}" stroke="#20272a" stroke-width="3.5">${shape}</g></svg>` +
    (mark.letter ? `<b class="glass-letter">${safe(mark.letter)}</b>` : '') + `<span>${safe(words)}</span></div>` +
    (lacks ? `<p class="quiet">Its ${lacks} not stated in the suite file.</p>` : '');
}

// The front of the station from sill to the sash's top, to scale: the mark stands where it stands in life.
export function sashMarkHtml(s: PlanStation): string {
  if (s.work_m === null || s.most_m === null) return '';
  const top = 18, bottom = 152, y = (m: number) => Math.round((bottom - (m / Math.max(s.most_m!, 0.01)) * (bottom - top)) * 10) / 10;
  const work = y(s.work_m), label = w.opening(s.work_m);
  return `<svg class="sash" viewBox="0 0 230 164" role="img" aria-label="Sash mark ${safe(label)} above the sill">` +
    `<path class="frame" d="M14 ${top}V${bottom}H106V${top}"/><rect class="glass-pane" x="18" y="${top}" width="84" height="${Math.max(0, work - top)}"/>` +
    `<path class="edge" d="M14 ${work}H106"/><path class="to-mark" d="M122 ${work}l12-7v14Z"/><path class="rule" d="M116 ${bottom}h12M122 ${bottom}V${work}"/>` +
    `<text x="140" y="${work + 7}">${safe(label)}</text><text class="small" x="140" y="${work + 27}">mark</text><text class="small" x="140" y="${bottom}">sill</text></svg>`;
}

const part = (title: string, body: string, cls = '') => body ? `<section class="${cls}"><h2>${title}</h2>${body}</section>` : '';

export function cardHtml(s: PlanStation, room: string): string {
  const documents = s.documents.map((d) => {
    const what = safe([d.title, d.version ? `version ${d.version}` : '', d.reviewed ? `reviewed ${d.reviewed}` : 'no review date'].filter(Boolean).join(', '));
    return `<li>${d.link && /^https?:\/\//.test(d.link) ? `<a href="${safe(d.link)}" rel="noreferrer">${what}</a>` : what}</li>`;
  }).join('');
  const c = s.criterion, limits = c ? `${w.band(c.of, c.low, c.high)}${c.of === 'flow' ? '' : ` ${w.speedUnit()}`}` : '';
  return part('NOT HERE', s.not_here.length ? `<ul class="never">${s.not_here.map((n) => `<li>${safe(n)}</li>`).join('')}</ul>` : '<p class="quiet">Not stated in the suite file. That is not a clearance.</p>', 'not-here') +
    part('What it is for', `<p class="for">${safe(s.chemistry ?? 'not stated in the suite file')}</p><p class="quiet">${safe(`${s.kind}, ${room}`)}</p>`) +
    part('Sash mark', sashMarkHtml(s)) +
    part('Glass mark', s.glass_mark ? glassMarkHtml(s.glass_mark) : '') +
    part('Wear', s.wear ? `<p>${safe(s.wear.what)}</p><p class="quiet">${safe(s.wear.source ? `Source: ${s.wear.source}` : '')}</p>` : '') +
    part('Criterion', c ? `<p>${c.of === 'flow' ? 'flow' : 'face velocity'} ${safe(limits)}</p><p class="quiet">Source: ${safe(c.source ?? 'not stated')}</p>` : '') +
    part('Documents', documents ? `<ul>${documents}</ul>` : '') +
    part('Call', s.call ? `<p>${safe(s.call)}</p>` : '');
}
