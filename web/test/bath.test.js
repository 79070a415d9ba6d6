// The bath card: cautions first, amounts only where a procedure allows, never a bare verdict.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { axe, browse, inward, looks, openFar, quillmere, root, serve } from './board.js';

let board, browser;
before(async () => {
  board = await serve(quillmere);
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); });

const desk = { viewport: { width: 1280, height: 900 }, ...looks };
const phone = { viewport: { width: 390, height: 844 }, hasTouch: true, ...looks };
const shown = async (run, path, options = desk, quiet = true) => {
  const page = await openFar(browser, `${board.url}${path}`, options);
  try {
    await run(page);
    if (quiet) assert.deepEqual(page.faults.filter((f) => !/400/.test(f)), []);
  } finally {
    await page.context().close();
  }
};
const says = (page, of, words) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at)?.innerText.replace(/\s+/g, ' ') ?? ''), [of, words]);

test('a card says cautions before amounts, and the amounts the board computed', () => shown(async (page) => {
  await says(page, '#card', 'In this order');
  const text = (await page.innerText('#card')).replace(/\s+/g, ' ');
  assert.ok(text.indexOf('Plastic only') < text.indexOf('In this order'));
  const { parts } = await (await fetch(`${board.url}api/bath?name=dhf-50&volume=4L&station=A3`)).json();
  const steps = await page.$$eval('ol.steps li .part', (all) => all.map((e) => e.textContent));
  assert.deepEqual(steps, parts.map((p) => p.name));
  assert.match(await page.innerText('ol.steps li'), new RegExp(`${Number((parts[0].volume_m3 * 1e3).toPrecision(4))} L`));
  assert.match(text, /your procedure, the supplier’s safety data sheet and the safety officer decide/);
  assert.doesNotMatch(text, /\bsafe\b|compatible/i);
}, 'bath?name=dhf-50&volume=4L&station=A3'));

test('piranha gets no amounts where no procedure names it, and says what would make it possible', () => shown(async (page) => {
  await says(page, '.answer', '^NO AMOUNTS HERE');
  await says(page, '#card', 'What would make it possible an approved procedure');
  assert.equal(await page.$('ol.steps'), null);
  assert.equal(await page.isVisible('#air'), false);
}, 'bath?name=piranha&volume=2L&station=A3'));

test('what reaches duct, room and person stands on the card of a solvent, with the fans standing too', () => shown(async (page) => {
  await says(page, '#air-said', 'IGNITABLE ABOVE THE LIQUID');
  await says(page, '#air-said', 'Fans standing');
}, 'bath?part=isopropanol=1&volume=2L&station=S3'));

test('a bath that bubbles gets no evaporation figure', () => shown(async (page) => {
  await says(page, '#air-said', '^Standard clean 1 No figure');
  assert.equal(await page.$('#air-said table'), null);
}, 'bath?name=sc-1&volume=6L&station=A2'));

test('what stands beside it is asked, the worst first', () => shown(async (page) => {
  await says(page, '#card', 'In this order');
  await page.fill('#things', 'acetone, wipes');
  await page.selectOption('#place', 'waste');
  await page.click('#meet button');
  await says(page, '#meet-said', 'Ask: ');
  assert.match(await page.innerText('#meet-said .found b'), /^(Never|Unknown|Only by written procedure|Nothing listed)/);
}, 'bath?name=sc-2&volume=6L&station=A1'));

test('what cannot be meant is said in words, and nothing of a former card stays', () => shown(async (page) => {
  await says(page, '#card', 'In this order');
  await page.fill('#volume', '4');
  await page.click('.go');
  await says(page, '#note', 'unit');
  assert.equal(await page.innerHTML('#card'), '');
  assert.equal(await page.isVisible('#beside'), false);
}, 'bath?name=dhf-50&volume=4L&station=A3'));

test('on a phone nothing goes sideways, by keyboard alone a card comes, and axe has no complaint', () => shown(async (page) => {
  await page.waitForSelector('#name option', { state: 'attached' });
  await page.selectOption('#name', 'koh-30');
  await page.focus('#volume');
  await page.keyboard.press('Enter');
  await says(page, '#card', 'In this order');
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
  assert.deepEqual((await axe(page)).broken, []);
}, 'bath', phone));

test('from the tablet of a station the card knows where it is', () => shown(async (page) => {
  assert.equal(await page.getAttribute('#to-bath', 'href'), '/bath?station=A3');
  await Promise.all([page.waitForURL(/\/bath\?station=A3/), page.click('#to-bath')]);
  await page.waitForSelector('#name option', { state: 'attached' });
  assert.equal(await page.inputValue('#station'), 'A3');
  assert.equal(await page.innerHTML('#card'), '');
}, 'station/A3', desk, false));

// The demo day at noon: everything comes with the first rows, and grows old when no more do.
const beaker = 'of=acetone&from=beaker&diameter=100mm&station=S3';
test('on a board that measures, what reaches the air is of the air now, with its moment and its age', async () => {
  const live = await serve(quillmere, '--replay', join(root, 'examples/quillmere/day.csv'), '--source', 'trend', '--speed', '60');
  const get = async (search) => (await fetch(`${live.url}api/vapour?${search}`)).text();
  try {
    const now = JSON.parse(await get(beaker));
    assert.match(now.scene, /^replayed, 2026-10-24 1[2-9]:\d\d:\d\d$/);
    assert.ok(now.live.oldest_s >= 0 && now.live.oldest_s < 720);
    assert.ok(now.cases.every((c) => c.known));
    assert.match(now.headline, /With the air of this scene \(replayed, /);
    assert.deepEqual(JSON.parse(await get(`${beaker}&scene=live`)).live.outranks, null);
    assert.equal(await get(`${beaker}&scene=busy`),
      spawnSync(inward, ['vapour', quillmere, '--of', 'acetone', '--from', 'beaker', '--diameter', '100mm', '--station', 'S3', '--scene', 'busy', '--json'], { encoding: 'utf8' }).stdout);
    const page = await openFar(browser, `${live.url}bath?part=isopropanol=1&volume=2L&station=S3`, desk);
    await says(page, '#air-said .scene', '^Scene: replayed, 2026-10-24 .*; its oldest reading is \\d+ (s|min) old');
    await page.context().close();
  } finally { await live.stop(); }
});

test('where nothing came yet nothing is known of the air now, and no scene of a file stands for it', async () => {
  const now = await (await fetch(`${board.url}api/vapour?${beaker}`)).json();
  assert.equal(now.live.oldest_s, null);
  assert.ok(now.cases.every((c) => !c.known && c.station_m3_s === null && c.rate_kg_s.high === null && c.why_not));
  assert.match(now.headline, /what reaches a person is not known/);
  const file = await (await fetch(`${board.url}api/vapour?${beaker}&scene=busy`)).json();
  assert.equal(file.live, null);
  assert.ok(file.cases[0].known);
});
