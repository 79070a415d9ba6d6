// A suite with nothing connected: what people read at the station and enter on its page.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, here, looks, openFar, resized, serve, suite } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-hand-'));
let board, browser;
before(async () => {
  board = await serve(suite, '--with', join(here, 'fixtures', 'connected.yaml'), '--record', join(folder, 'h.record'));
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); rmSync(folder, { recursive: true, force: true }); });

const tablet = { viewport: { width: 1024, height: 768 }, hasTouch: true, ...looks };
const shown = async (run, options = tablet, id = 'A1') => {
  const page = await openFar(browser, `${board.url}station/${id}`, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const text = (page, of) => page.$eval(of, (e) => e.innerText.replace(/\s+/g, ' ').trim());
const says = (page, of, words) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at)?.innerText.replace(/\s+/g, ' ') ?? ''), [of, words]);

test('before anybody said anything the page says so, and that it is not known', () => shown(async (page) => {
  await says(page, '#hand-read', '^Sash at … not said yet Flow reads … not said yet Somebody here … not said yet');
  assert.equal(await text(page, '#line'), 'NOT KNOWN: TREAT AS NO');
}));

test('a sash is entered in three touches and a name, without a key for the value: who, when and how old stand there after', () => shown(async (page) => {
  await page.tap('[data-point="A1-sash"]');
  await page.tap('[data-say="work"]');
  await says(page, '#hand-said', 'Not entered: say who read it');
  await page.fill('#hand-who', 'E. Test');
  await page.tap('[data-say="work"]');
  await says(page, '#hand-said', '^Entered by E\\. Test: entry \\d+ of the record\\.$');
  await says(page, '#hand-is-A1-sash', '^45 cm \\d+ s ago, by E\\. Test$');
  assert.equal(await page.$('#hand-value'), null); // the form is gone
  const live = await (await fetch(`${board.url}api/live`)).json();
  assert.equal(live.stations.find((s) => s.id === 'A1').opening_m, 0.45);
}));

test('a value with its unit is read; one that cannot be read is refused with the reason, and what was typed stays', () => shown(async (page) => {
  await page.tap('[data-point="A1-flow"]');
  await page.fill('#hand-who', 'E. Test');
  await page.fill('#hand-value', 'plenty');
  await page.tap('#hand-form [type=submit]');
  await says(page, '#hand-said', '^Not entered: that value cannot be read');
  assert.equal(await page.inputValue('#hand-value'), 'plenty');
  assert.equal(await page.inputValue('#hand-unit'), 'm3/h');
  await page.fill('#hand-value', '812');
  await page.keyboard.press('Enter');
  await says(page, '#hand-is-A1-flow', '^810 m³/h \\d+ s ago, by E\\. Test$');
}));

test('yes and no are a button each', () => shown(async (page) => {
  await page.tap('[data-point="A1-there"]');
  await page.fill('#hand-who', 'E. Test');
  await page.tap('[data-say="no"]');
  await says(page, '#hand-is-A1-there', '^no \\d+ s ago, by E\\. Test$');
}));

test('a later word from someone else takes the place of the first, and both stay in the record', async () => {
  await shown(async (page) => {
    await page.tap('[data-point="A1-sash"]');
    await page.fill('#hand-who', 'F. Other');
    await page.fill('#hand-value', '30');
    await page.tap('#hand-form [type=submit]');
    await says(page, '#hand-is-A1-sash', '^30 cm \\d+ s ago, by F\\. Other$');
  });
  const { entries } = await (await fetch(`${board.url}api/entries?about=A1&kind=note`)).json();
  const sash = entries.filter((e) => JSON.parse(e.detail).point === 'A1-sash');
  assert.deepEqual(sash.map((e) => [e.who, e.text]), [['E. Test', 'opening: work, by hand'], ['F. Other', 'opening: 30 cm, by hand']]);
});

test('a station nobody reads by hand has no such part', () => shown(async (page) => assert.equal(await page.isHidden('#hand'), true), tablet, 'A2'));

test('for gloves and every eye: 64 pixels high, no rule broken, nothing sideways', () => shown(async (page) => {
  await page.tap('[data-point="A1-flow"]');
  await page.waitForSelector('#hand-value');
  for (const viewport of [{ width: 1920, height: 1080 }, { width: 1024, height: 768 }, { width: 390, height: 844 }, { width: 320, height: 640 }]) {
    await resized(page, viewport);
    const low = await page.$$eval('#hand button, #hand input', (all) => all.map((e) => [e.outerHTML.slice(0, 60), e.getBoundingClientRect()]).filter(([, b]) => b.height < 63.5).map(([what]) => what));
    assert.deepEqual(low, []);
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${viewport.width}`);
    if (viewport.width !== 1920) assert.deepEqual((await axe(page)).broken, []);
  }
}));
