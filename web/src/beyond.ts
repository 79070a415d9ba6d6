// A drawing wider than its window: what lies beyond each edge, by name, and a press that brings it.
import { safe } from './svg';
import * as w from './words';

export interface Spot { name: string; x0: number; x1: number }

const seen = 24, step = 0.8, named = 2; // pixels of a spot that count as seen; of the window, a press; names before "and 3 more"
const still = matchMedia('(prefers-reduced-motion: reduce)');

/** What lies beyond an edge, the nearest first. */
const list = (spots: Spot[]) => spots.slice(0, named).map((s) => s.name).join(', ') + (spots.length > named ? ` ${w.alarms.andMore(spots.length - named)}` : '');

export class Beyond {
  private spots: Spot[] = [];
  private wide = 1;

  /** `row` stands beside `box`, which scrolls; it is gone while all is in sight. */
  constructor(private readonly box: HTMLElement, private readonly row: HTMLElement, private readonly words = list) {
    row.innerHTML = '<button type="button" data-by="-1"></button><button type="button" data-by="1"></button>';
    row.addEventListener('click', (e) => {
      const by = (e.target as Element).closest<HTMLElement>('[data-by]')?.dataset.by;
      if (by) box.scrollBy({ left: Number(by) * step * box.clientWidth, behavior: still.matches ? 'auto' : 'smooth' });
    });
    box.addEventListener('scroll', () => this.look(), { passive: true });
    new ResizeObserver(() => this.look()).observe(box);
  }

  /** From now on these stand there, from left to right, in a drawing so wide. */
  show(spots: Spot[], wide: number): void {
    this.spots = spots;
    this.wide = wide;
    this.look();
  }

  /** That place of the drawing in the middle. */
  bring(x: number): void {
    this.box.scrollLeft = x * this.box.scrollWidth / this.wide - this.box.clientWidth / 2;
  }

  private look(): void {
    const { scrollLeft, clientWidth, scrollWidth } = this.box, by = scrollWidth / this.wide, right = scrollLeft + clientWidth, wider = scrollWidth > clientWidth + 1;
    this.row.hidden = !wider;
    this.side(0, wider && scrollLeft > 1 ? this.spots.filter((s) => s.x0 * by < scrollLeft - seen).reverse() : []);
    this.side(1, wider && right < scrollWidth - 1 ? this.spots.filter((s) => s.x1 * by > right + seen) : []);
  }

  private side(at: 0 | 1, spots: Spot[]): void {
    const button = this.row.children[at] as HTMLElement, words = spots.length ? this.words(spots) : '';
    button.classList.toggle('none', !spots.length); // it keeps its place
    const html = at ? `${safe(words)} <span aria-hidden="true">\u25b8</span>` : `<span aria-hidden="true">\u25c2</span> ${safe(words)}`;
    if (button.innerHTML !== html) button.innerHTML = html;
    this.box.classList.toggle(at ? 'more-right' : 'more-left', spots.length > 0);
  }
}
