// One list of pages (src/pages.ts): each page carries the same links in the same order, says which it is, and answers.
import assert from 'node:assert/strict';
import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { transform } from 'esbuild';
import { axe, browse, here, looks, quillmere, root, serve } from './board.js';

const source = join(here, '..', 'src');
const { code } = await transform(readFileSync(join(source, 'pages.ts'), 'utf8'), { loader: 'ts', format: 'esm' });
const { allPages, fileOf, pages, scripts, styles } = await import(`data:text/javascript;base64,${Buffer.from(code).toString('base64')}`);
const linked = pages.filter((p) => !p.under);

const folder = mkdtempSync(join(tmpdir(), 'inward-pages-'));
let board, bare, browser;
before(async () => {
  board = await serve(quillmere, '--replay', join(root, 'examples', 'quillmere', 'day.csv'), '--source', 'trend', '--speed', '300', '--record', join(folder, 'p.record'));
  bare = await serve(quillmere, '--scene', 'busy');
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); await bare?.stop(); rmSync(folder, { recursive: true, force: true }); });

const shown = async (path, viewport, run, from = board, options = {}) => {
  const context = await browser.newContext({ viewport, ...options }), page = await context.newPage();
  try {
    await page.goto(new URL(path, from.url).href);
    await run(page);
  } finally { await context.close(); }
};
const phone = { width: 390, height: 844 };
const head = (page) => page.evaluate(() => ({
  row: [...document.querySelectorAll('.pages > a')].map((a) => a.getAttribute('href')),
  sheet: [...document.querySelectorAll('.sheet a')].map((a) => [a.getAttribute('href'), a.querySelector('b').textContent, a.textContent.slice(a.querySelector('b').textContent.length + 1)]),
  present: [...document.querySelectorAll('.pages > a[aria-current]')].map((a) => [a.getAttribute('href'), a.getAttribute('aria-current'), getComputedStyle(a).fontWeight, getComputedStyle(a).boxShadow !== 'none']),
  asks: document.querySelector('h1').textContent, heads: document.querySelectorAll('header.head').length, mark: document.querySelectorAll('.head > .mark').length,
}));

for (const [name, from] of [['a board that keeps a record', () => board], ['a board with nothing connected', () => bare]])
  test(`every page has the same head, asks its own question and marks itself: ${name}`, async () => {
    for (const p of pages) {
      const path = p.path === '/station' ? '/station/S3' : p.path;
      const reply = await fetch(new URL(path, from().url));
      assert.match(reply.headers.get('content-type'), /^text\/html/, path);
      await shown(path, phone, async (page) => {
        const is = await head(page);
        assert.deepEqual(is.row, linked.map((q) => q.path), path);
        assert.deepEqual(is.sheet, linked.map((q) => [q.path, q.word, q.question]), path);
        assert.ok(is.asks.endsWith(p.question), `${path} asks: ${is.asks}`);
        assert.deepEqual(is.present, [[p.under ?? p.path, p.under ? 'true' : 'page', '700', true]], path);
        assert.deepEqual([is.heads, is.mark], [1, 1], path);
      }, from());
    }
  });

test('the build serves what the list names, and no page stands beside the list', () => {
  const meson = readFileSync(join(here, '..', 'meson.build'), 'utf8'), named = (file) => meson.includes(`'${file}'`) || (meson.includes(`'${file.replace(/\.\w+$/, '')}'`) && /page \+ '\.html'/.test(meson));
  const documents = pages.filter((p) => !p.written).map(fileOf);
  assert.deepEqual([...documents].sort(), readdirSync(source).filter((f) => f.endsWith('.html')).sort());
  for (const file of [...documents, ...scripts.map((s) => `${s}.js`), ...styles.map((s) => `${s}.css`)]) assert.ok(named(file), `web/meson.build does not serve ${file}`);
  for (const file of documents) assert.ok(meson.includes(`'src/${file}'`), `web/meson.build does not know src/${file}`);
});

test('on a phone every page is two presses away, by finger, by keyboard and without a script', async () => {
  for (const javaScriptEnabled of [true, false])
    await shown('/record', phone, async (page) => {
      await page.click('.every summary');
      await page.waitForSelector('.sheet a[href="/round"]', { state: 'visible' });
      const sizes = await page.$$eval('.pages a, .every summary', (all) => all.map((e) => e.getBoundingClientRect()).filter((r) => r.width > 0).map((r) => [r.width, r.height, r.right]));
      assert.ok(sizes.length > linked.length);
      for (const [width, height, right] of sizes) assert.ok(width >= 44 && height >= 44 && right <= 390, `${width} x ${height}, to ${right}`);
      await page.click('.sheet a[href="/round"]');
      await page.waitForFunction(() => location.pathname === '/round');
    }, board, { javaScriptEnabled, hasTouch: true });
  await shown('/stations', phone, async (page) => {
    await page.focus('.every summary');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.every[open]');
    await page.keyboard.press('Tab');
    assert.equal(await page.evaluate(() => document.activeElement.getAttribute('href')), '/air');
    assert.notEqual(await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle), 'none');
    await page.keyboard.press('Escape');
    await page.waitForSelector('.every:not([open])');
    assert.equal(await page.evaluate(() => document.activeElement.tagName), 'SUMMARY');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.every[open]');
    await page.mouse.click(195, 20);
    await page.waitForSelector('.every:not([open])');
  });
});

test('the open list of pages breaks no rule of accessibility, and moves nothing below it', () => shown('/baths', phone, async (page) => {
  const before_ = await page.$eval('main', (e) => e.getBoundingClientRect().top);
  await page.click('.every summary');
  await page.waitForSelector('.every[open]');
  assert.equal(await page.textContent('.every summary'), allPages);
  assert.equal(await page.$eval('main', (e) => e.getBoundingClientRect().top), before_);
  assert.deepEqual((await axe(page)).broken, []);
}, board, looks));
