// Ribbons: bands of constant width that run level, turn once and run upright.
// A band's width is a flow times one scale for the whole picture, so bands that
// lie side by side show a sum.  "up" bands leave the river upwards, the others
// are the same picture upside down: everything here takes a sign s, -1 for up.

const f = (x: number) => (Math.round(x * 100) / 100).toString();

export type Side = -1 | 1;

// From a level lane to an upright band at x: the lane's edges are y (the outer
// one, on the side the band leaves to) and y - s*t.
export function peel(x0: number, y: number, x: number, t: number, yEnd: number, s: Side, radius: number): string {
  const h = t / 2, r = radius, sweep = s === 1 ? 1 : 0;
  const bend = x - h - r;
  return `M${f(x0)} ${f(y)}L${f(bend)} ${f(y)}` +
    `A${f(r)} ${f(r)} 0 0 ${sweep} ${f(x - h)} ${f(y + s * r)}L${f(x - h)} ${f(yEnd)}` +
    `L${f(x + h)} ${f(yEnd)}L${f(x + h)} ${f(y + s * r)}` +
    `A${f(r + t)} ${f(r + t)} 0 0 ${1 - sweep} ${f(bend)} ${f(y - s * t)}L${f(x0)} ${f(y - s * t)}Z`;
}

// From an upright band at x into a level lane of a trunk: the lane's edges are
// y (the outer one, away from the rooms) and y - s*t; it runs to x1.
export function join(x: number, yStart: number, y: number, t: number, x1: number, s: Side, radius: number): string {
  const h = t / 2, r = radius, sweep = s === 1 ? 0 : 1;
  const bend = x + h + r;
  return `M${f(x - h)} ${f(yStart)}L${f(x - h)} ${f(y - s * (t + r))}` +
    `A${f(r + t)} ${f(r + t)} 0 0 ${sweep} ${f(bend)} ${f(y)}L${f(x1)} ${f(y)}` +
    `L${f(x1)} ${f(y - s * t)}L${f(bend)} ${f(y - s * t)}` +
    `A${f(r)} ${f(r)} 0 0 ${1 - sweep} ${f(x + h)} ${f(y - s * (t + r))}L${f(x + h)} ${f(yStart)}Z`;
}

// A band from one level edge pair to another, as a smooth S.
export function shift(x0: number, top0: number, x1: number, top1: number, t: number): string {
  const m = (x0 + x1) / 2;
  return `M${f(x0)} ${f(top0)}C${f(m)} ${f(top0)} ${f(m)} ${f(top1)} ${f(x1)} ${f(top1)}` +
    `L${f(x1)} ${f(top1 + t)}C${f(m)} ${f(top1 + t)} ${f(m)} ${f(top0 + t)} ${f(x0)} ${f(top0 + t)}Z`;
}

// An upright band through a station, with a share of it bowed aside through the deck.
export function through(x: number, y0: number, y1: number, t: number, share: number, bow: number): string[] {
  if (share <= 0 || t <= 0) return [`M${f(x - t / 2)} ${f(y0)}H${f(x + t / 2)}V${f(y1)}H${f(x - t / 2)}Z`];
  const left = x - t / 2, split = left + t * (1 - share), right = x + t / 2, m = (y0 + y1) / 2, q = (y1 - y0) / 4;
  const band = (a: number, b: number, d: number) =>
    `M${f(a)} ${f(y0)}C${f(a)} ${f(y0 + q)} ${f(a + d)} ${f(m - q)} ${f(a + d)} ${f(m)}S${f(a)} ${f(y1 - q)} ${f(a)} ${f(y1)}` +
    `H${f(b)}C${f(b)} ${f(y1 - q)} ${f(b + d)} ${f(m + q)} ${f(b + d)} ${f(m)}S${f(b)} ${f(y0 + q)} ${f(b)} ${f(y0)}Z`;
  return [band(left, split, -bow), band(split, right, bow)];
}
