// How large a letter must be.  NUREG-0700 rev. 3 (the human-system interface guide of the US nuclear
// regulator) asks that a character stand at least 16 minutes of arc high at the reader's eye, 20 for
// preference; its height is that of a capital.  h = 2 d tan(angle / 2).
export const leastArcmin = 16, comfortArcmin = 22; // a little above the 20, so that rounding never takes it below

export interface Sight { distance_m: number; screen_in: number } // the screen's diagonal

const rad = (arcmin: number) => (arcmin / 60) * (Math.PI / 180);
export const heightFor_mm = (distance_m: number, arcmin: number) => 2000 * distance_m * Math.tan(rad(arcmin) / 2);
export const arcminOf = (height_mm: number, distance_m: number) => (2 * Math.atan(height_mm / (2000 * distance_m)) * 180 * 60) / Math.PI;
export const distanceFor_m = (height_mm: number, arcmin: number) => height_mm / (2000 * Math.tan(rad(arcmin) / 2));

// Millimetres of one CSS pixel.  A page cannot know its screen's size: it is told, and says what it took.
export const pitch_mm = (screen_in: number, width: number, height: number) => (screen_in * 25.4) / Math.hypot(width, height);

// "5", "5 m", "16 ft"; "55", "55 in", "140 cm".  What cannot be meant is the usual value.
export function readSight(search: string, usual: Sight): Sight {
  const query = new URLSearchParams(search);
  const one = (key: string, factors: Record<string, number>, least: number, most: number, otherwise: number) => {
    const found = /^\s*(\d+(?:\.\d+)?)\s*([a-z]*)\s*$/.exec(query.get(key) ?? '');
    const factor = found ? factors[found[2]!] : undefined, value = found && factor !== undefined ? Number(found[1]) * factor : NaN;
    return value >= least && value <= most ? value : otherwise;
  };
  return {
    distance_m: one('distance', { '': 1, m: 1, ft: 0.3048 }, 0.3, 30, usual.distance_m),
    screen_in: one('screen', { '': 1, in: 1, cm: 1 / 2.54 }, 3, 200, usual.screen_in),
  };
}

// The share of the font's size that a capital fills, as this browser draws it.
export function capitalShare(element: Element): number {
  const context = document.createElement('canvas').getContext('2d');
  const style = getComputedStyle(element);
  if (!context) return 0.7;
  context.font = `${style.fontWeight} 200px ${style.fontFamily}`;
  const ascent = context.measureText('H').actualBoundingBoxAscent / 200;
  return ascent > 0.4 && ascent < 1 ? ascent : 0.7;
}

// The largest whole number of pixels with which `fits` still holds; `fits` may be tried out of order.
export function largest(from: number, to: number, fits: (px: number) => boolean): number {
  let low = from, high = to;
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (fits(middle)) low = middle; else high = middle - 1;
  }
  fits(low);
  return low;
}

// "capitals 34 mm high on a 55 in screen: 23 minutes of arc at 5 m" and whether that is enough.
export function sightWords(sight: Sight, capital_mm: number): { text: string; enough: boolean } {
  const arcmin = arcminOf(capital_mm, sight.distance_m), enough = arcmin >= leastArcmin - 0.05;
  const figure = (x: number) => x.toFixed(x < 10 ? 1 : 0).replace(/\.0$/, '');
  const of = `smallest capitals ${figure(capital_mm)} mm on a ${figure(sight.screen_in)} in screen`;
  return enough ? { text: `${of}: ${figure(arcmin)} minutes of arc at ${figure(sight.distance_m)} m`, enough }
    : { text: `${of}: too small for ${figure(sight.distance_m)} m; read from ${figure(distanceFor_m(capital_mm, leastArcmin))} m at most`, enough };
}
