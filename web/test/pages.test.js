// One list of pages (src/pages.ts): each page carries the same links in the same order, says which it is, and answers.
import assert from 'node:assert/strict';
import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, here, listOfPages, looks, quillmere, root, serve } from './board.js';

const source = join(here, '..', 'src');
const { allPages, fileOf, pages, scripts, styles } = await listOfPages();
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

// What may be pressed: a box to tick counts with the words that tick it too.
const pressed = (page) => page.evaluate(() => [...document.querySelectorAll('a, button, select, summary, textarea, input:not([type=hidden]), [role=button], [role=slider], [role=switch] .hit')]
  .filter((e) => e.checkVisibility({ checkVisibilityCSS: true })).map((e) => {
    const of = e.matches('[type=checkbox], [type=radio]') ? e.closest('label') ?? e : e, box = of.getBoundingClientRect();
    return { what: e.outerHTML.slice(0, 90), width: box.width, height: box.height };
  }).filter((e) => e.width > 0 && e.height > 0));
const opened = async (path, viewport, run, from = board) => shown(path, viewport, async (page) => {
  await page.waitForFunction(() => !window.inward || (window.inward.settled?.() ?? (!window.inward.counts().busy && window.inward.counts().answered > 0)), null, { timeout: 120000 });
  await page.evaluate(() => document.querySelectorAll('details:not(.every)').forEach((d) => { d.open = true; }));
  await run(page);
}, from, looks);

for (const [name, from] of [['keeps a record', () => board], ['has nothing connected', () => bare]])
  for (const viewport of [phone, { width: 1280, height: 800 }])
    test(`on every page all there is to press is 44 by 44, nothing scrolls sideways and no inner word is read: ${viewport.width}, a board that ${name}`, async () => {
      for (const p of pages)
        await opened(p.path === '/station' ? '/station/S3' : p.path, viewport, async (page) => {
          const all = await pressed(page);
          assert.ok(all.length > 4, p.path);
          assert.deepEqual(all.filter((e) => e.width < 43.5 || e.height < 43.5), [], p.path);
          assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${p.path} scrolls sideways`);
          const words = await page.evaluate(() => document.body.innerText);
          assert.deepEqual(words.match(/\b[a-z][a-z0-9]*_[a-z0-9_]+\b|\bundefined\b|\bNaN\b|\bnull\b|\[object/g) ?? [], [], p.path);
        }, from());
    });

test('a target too small and a key of the JSON are found, so the check can fail', () => opened('/tell', phone, async (page) => {
  await page.evaluate(() => document.querySelector('main').insertAdjacentHTML('beforeend', '<a href="/air" style="display:inline-block">go</a> near_limit'));
  assert.equal((await pressed(page)).filter((e) => e.height < 43.5).length, 1);
  assert.match(await page.evaluate(() => document.body.innerText), /near_limit/);
}));

const beyond = (page, row) => page.$$eval(`${row} button`, (all) => all.map((b) => b.checkVisibility({ checkVisibilityCSS: true }) ? b.textContent.trim() : ''));
test('where the plan is wider than the window its edges say what lies beyond, and bring it', async () => {
  for (const width of [390, 768, 1024, 1280])
    await opened('/air', { width, height: 800 }, async (page) => {
      await page.waitForSelector('#plan-beyond [data-by="1"]', { state: 'visible' }); // drawn once the plan is measured
      const [, right] = await beyond(page, '#plan-beyond');
      assert.match(right, /^(Wet hall|Gowning|Lithography|Thin films).* ▸$/, `${width}`);
      for (let i = 0; i < 12 && (await beyond(page, '#plan-beyond'))[1]; i++) {
        const at = await page.$eval('#plan-box', (e) => e.scrollLeft);
        await page.click('#plan-beyond [data-by="1"]');
        await page.waitForFunction((was) => document.querySelector('#plan-box').scrollLeft > was + 20, at);
        await page.waitForFunction(() => { const now = document.querySelector('#plan-box').scrollLeft, was = window.at; window.at = now; return now === was; }, null, { polling: 120 });
      }
      const [left, none] = await beyond(page, '#plan-beyond');
      assert.match(left, /^◂ /);
      assert.equal(none, '');
      assert.ok(await page.evaluate(() => { const b = document.querySelector('.fan').getBoundingClientRect(), box = document.querySelector('#plan-box').getBoundingClientRect(); return b.left >= box.left && b.right <= box.right + 1; }), 'the fans are in sight');
    });
  await opened('/air', { width: 1920, height: 1080 }, async (page) => assert.equal(await page.isVisible('#plan-beyond'), false));
});

test('the day begins on a phone where its sentence points, and its edges name the hours beyond', () => opened('/day?date=2026-10-27', phone, async (page) => {
  await page.waitForSelector('#chart svg');
  const is = await page.evaluate(() => { const c = document.querySelector('#chart'); return { left: c.scrollLeft, wide: c.scrollWidth, seen: c.clientWidth }; });
  assert.ok(is.wide > is.seen + 100);
  const day = await (await fetch(`${board.url}api/day?date=2026-10-27`)).json(), short = day.quarters.filter((q) => q.state_as_booked === 'short');
  assert.ok(short.length > 0, 'the demo has no short day any more: find another');
  const shows = await page.$$eval('#chart .over', (all) => all.map((e) => e.getBoundingClientRect()).filter((r) => r.left >= 0 && r.right <= 390).length);
  assert.ok(shows > 0, 'what is short is in sight');
  const edges = (await beyond(page, '#beyond')).filter(Boolean);
  assert.ok(edges.length > 0);
  for (const edge of edges) assert.match(edge, /^(◂ )?\d\d:\d\d–\d\d:\d\d( ▸)?$/);
}));
