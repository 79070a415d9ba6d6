// Pixels as people see them: CIE Lab (D65) and the three dichromacies.
// Machado, Oliveira and Fernandes 2009 (IEEE Trans. Vis. Comput. Graph. 15(6)), severity 1.0, on linear RGB.
import { inflateSync } from 'node:zlib';

const identity = [1, 0, 0, 0, 1, 0, 0, 0, 1];
export const sights = {
  normal: identity,
  protanopia: [0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998],
  deuteranopia: [0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940, 0.968881],
  tritanopia: [1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.303900],
  grey: [0.2126729, 0.7151522, 0.072175, 0.2126729, 0.7151522, 0.072175, 0.2126729, 0.7151522, 0.072175],
};

const linear = Array.from({ length: 256 }, (_, v) => { const x = v / 255; return x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4; });
const clamp = (x) => Math.min(1, Math.max(0, x));
export const seen = (m, [r, g, b]) => [0, 3, 6].map((i) => clamp(m[i] * r + m[i + 1] * g + m[i + 2] * b));
export function lab([r, g, b]) {
  const f = (t) => t > 216 / 24389 ? Math.cbrt(t) : (24389 / 27 * t + 16) / 116;
  const x = f((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047), y = f(0.2126729 * r + 0.7151522 * g + 0.072175 * b);
  const z = f((0.0193339 * r + 0.119192 * g + 0.9503041 * b) / 1.08883);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}
export const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
export const hex = (text) => [1, 3, 5].map((i) => linear[Number.parseInt(text.slice(i, i + 2), 16)]);

// A screenshot's pixels (ISO/IEC 15948: 8 bits a sample, RGB or RGBA, not interlaced, as Chromium writes them), as RGBA.
export function decode(png) {
  const width = png.readUInt32BE(16), height = png.readUInt32BE(20), [depth, type, , , interlaced] = png.subarray(24, 29);
  if (depth !== 8 || (type !== 2 && type !== 6) || interlaced) throw new Error(`a PNG of depth ${depth}, type ${type}`);
  const packed = [];
  for (let at = 8; at < png.length; at += 12 + png.readUInt32BE(at))
    if (png.toString('latin1', at + 4, at + 8) === 'IDAT') packed.push(png.subarray(at + 8, at + 8 + png.readUInt32BE(at)));
  const raw = inflateSync(Buffer.concat(packed)), step = type === 2 ? 3 : 4, row = width * step;
  const data = Buffer.alloc(width * height * 4, 255);
  for (let y = 0, before = Buffer.alloc(row); y < height; y++) {
    const line = raw.subarray(y * (row + 1) + 1, (y + 1) * (row + 1));
    unfilter(raw[y * (row + 1)], line, before, step);
    for (let x = 0; x < width; x++) line.copy(data, (y * width + x) * 4, x * step, (x + 1) * step);
    before = line;
  }
  return { width, height, data };
}

// Its five filters, section 9 there: a = to the left, b = above, c = above to the left.
function unfilter(kind, line, before, step) {
  for (let i = 0; kind && i < line.length; i++) {
    const a = i < step ? 0 : line[i - step], b = before[i], c = i < step ? 0 : before[i - step];
    line[i] += kind === 1 ? a : kind === 2 ? b : kind === 3 ? (a + b) >> 1 : nearest(a, b, c);
  }
}
function nearest(a, b, c) {
  const p = a + b - c, [pa, pb, pc] = [Math.abs(p - a), Math.abs(p - b), Math.abs(p - c)];
  return pa <= pb && pa <= pc ? a : pb <= pc ? b : c;
}

export function* pixels({ data }) {
  for (let i = 0; i < data.length; i += 4) yield [linear[data[i]], linear[data[i + 1]], linear[data[i + 2]]];
}

// What each colour of a picture counts: a page has few.
function counted({ data }) {
  const counts = new Map();
  for (let i = 0; i < data.length; i += 4) {
    const key = data.readUIntBE(i, 3);
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return [...counts].map(([key, count]) => ({ rgb: [linear[key >> 16], linear[key >> 8 & 255], linear[key & 255]], count }));
}

// Share of pixels with a chroma above 20.
export function coloured(image) {
  let strong = 0;
  for (const { rgb, count } of counted(image)) {
    const [, a, b] = lab(rgb);
    if (Math.hypot(a, b) > 20) strong += count;
  }
  return strong / (image.width * image.height);
}

// The mean colour of an area as each sight has it.
export function means(image) {
  const list = counted(image), all = image.width * image.height;
  return Object.fromEntries(Object.entries(sights).map(([name, matrix]) => {
    const sum = [0, 0, 0];
    for (const { rgb, count } of list) seen(matrix, rgb).forEach((v, i) => { sum[i] += v * count; });
    return [name, lab(sum.map((v) => v / all))];
  }));
}

// Share of two equal pictures' pixels whose lightness differs by more than 20.
export function unlike(one, other) {
  const a = [...pixels(one)], b = [...pixels(other)], grey = sights.grey;
  let count = 0;
  for (let i = 0; i < Math.min(a.length, b.length); i++) count += Math.abs(lab(seen(grey, a[i]))[0] - lab(seen(grey, b[i]))[0]) > 20;
  return count / Math.min(a.length, b.length);
}
