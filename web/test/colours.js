// Pixels as people see them: CIE Lab (D65) and the three dichromacies.
// Machado, Oliveira and Fernandes 2009 (IEEE Trans. Vis. Comput. Graph. 15(6)), severity 1.0, on linear RGB.
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

// A screenshot's pixels, by a browser's own decoder, as linear RGB.
export async function decode(browser, png) {
  const context = await browser.newContext(), page = await context.newPage();
  const { width, height, bytes } = await page.evaluate(async (data) => {
    const image = new Image();
    image.src = `data:image/png;base64,${data}`;
    await image.decode();
    const canvas = new OffscreenCanvas(image.width, image.height), c = canvas.getContext('2d');
    c.drawImage(image, 0, 0);
    const d = c.getImageData(0, 0, image.width, image.height).data;
    let text = '';
    for (let i = 0; i < d.length; i += 8192) text += String.fromCharCode(...d.subarray(i, i + 8192));
    return { width: image.width, height: image.height, bytes: btoa(text) };
  }, png.toString('base64'));
  await context.close();
  return { width, height, data: Buffer.from(bytes, 'base64') };
}

export function* pixels({ data }) {
  for (let i = 0; i < data.length; i += 4) yield [linear[data[i]], linear[data[i + 1]], linear[data[i + 2]]];
}

// Share of pixels with a chroma above 20.
export function coloured(image) {
  let strong = 0, all = 0;
  for (const rgb of pixels(image)) {
    const [, a, b] = lab(rgb);
    strong += Math.hypot(a, b) > 20;
    all++;
  }
  return strong / all;
}

// The mean colour of an area as that sight has it.
export function mean(image, sight) {
  const sum = [0, 0, 0];
  let all = 0;
  for (const rgb of pixels(image)) {
    seen(sight, rgb).forEach((v, i) => { sum[i] += v; });
    all++;
  }
  return lab(sum.map((v) => v / all));
}

// Share of two equal pictures' pixels whose lightness differs by more than 20.
export function unlike(one, other) {
  const a = [...pixels(one)], b = [...pixels(other)], grey = sights.grey;
  let count = 0;
  for (let i = 0; i < Math.min(a.length, b.length); i++) count += Math.abs(lab(seen(grey, a[i]))[0] - lab(seen(grey, b[i]))[0]) > 20;
  return count / Math.min(a.length, b.length);
}
