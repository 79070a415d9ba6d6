// What is asked at a station: what and why in the largest words, one large button, and nothing where nothing is asked.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, here, looks, open, openFar, serve } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-errand-'));
let board, browser;
before(async () => {
  board = await serve(join(here, 'fixtures', 'errand.yaml'), '--record', join(folder, 'e.record'));
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); rmSync(folder, { recursive: true, force: true }); });

const post = (path, body) => fetch(`${board.url}${path}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
const sash = (id, value) => post('api/hand', { point: `${id}-sash`, value, who: 'E. Test' });
const live = async () => (await fetch(`${board.url}api/live`)).json();
const tablet = { viewport: { width: 1024, height: 768 }, hasTouch: true, ...looks };
const shown = async (id, run, options = tablet, search = '') => {
  const page = await openFar(browser, `${board.url}station/${id}${search}`, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const says = (page, of, words) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at)?.innerText.replace(/\s+/g, ' ') ?? ''), [of, words]);
const until = async (fits) => {
  for (let i = 0; i < 100; i++) {
    if (fits(await live())) return;
    await new Promise((on) => setTimeout(on, 100));
  }
  assert.fail('the board did not come to say so');
};

test('where nothing is asked nothing is shown', async () => {
  assert.equal((await post('api/hand', { point: 'A3-alarm', value: 'no', who: 'E. Test' })).status, 200);
  for (const id of ['A1', 'A2', 'A3']) {
    assert.equal((await sash(id, 'parked')).status, 200);
    assert.equal((await post('api/round', { about: id, all: 'yes', who: 'E. Test' })).status, 200); // or how it stands is not known
  }
  await shown('A1', async (page) => {
    await says(page, '#line', '^AIR FOR A1$');
    assert.equal(await page.isVisible('#errand'), false);
  });
  assert.equal((await post('api/errand', { station: 'A1', answer: 'done' })).status, 409);
});

test('the one who can help is asked, on a tablet without scrolling, and in a trial nobody is', async () => {
  for (const id of ['A1', 'A2', 'A3']) await sash(id, 'work');
  await until((v) => v.errands.some((e) => e.station === 'A1' && e.open));
  const { act, named } = await live();
  assert.equal(act, 'LOWER A1');
  assert.deepEqual(named.map((n) => n.station), ['A1']);
  await shown('A1', async (page) => {
    await says(page, '#line', '^LOWER TO PARKED$');
    await says(page, '#state', '^Acid main is short$');
    await says(page, '#why', 'never move another.s sash over work');
    const done = await page.locator('[data-done]').boundingBox();
    assert.ok(done.height >= 100 && done.width >= 300, 'for a glove');
    assert.ok(done.y + done.height <= 768, 'on the first screen');
    assert.ok(Number(await page.evaluate(() => document.documentElement.dataset.arcmin)) * 5 / 2 >= 22, 'read from 2 m');
    assert.deepEqual((await axe(page)).broken, []);
  });
  await shown('A2', async (page) => {
    await says(page, '#line', '.');
    assert.equal(await page.isVisible('#errand'), false);
  });
  await shown('A1', async (page) => {
    await says(page, '#live', 'TRIAL');
    assert.equal(await page.isVisible('#errand'), false);
  }, tablet, '?sash=A1=work&sash=A2=work&sash=A3=work');
});

test('done that was pressed is told beside what the sash reads', () => shown('A1', async (page) => {
  await says(page, '#line', '^LOWER TO PARKED$');
  await page.tap('[data-done]');
  await says(page, '#errand-said', '^Done was said at \\d\\d:\\d\\d; the sash still reads 0\\.40 m');
}));

test('who cannot says why in two touches, and the next is asked', async () => {
  await shown('A1', async (page) => {
    await page.tap('[data-cannot]');
    await page.tap('[data-why="Hot bath or oxidiser cooling"]');
    await page.waitForFunction(() => document.getElementById('errand').hidden);
  });
  await until((v) => v.errands.some((e) => e.station === 'A2' && e.open));
  const view = await live();
  assert.equal(view.act, 'LOWER A2');
  const a1 = view.errands.find((e) => e.station === 'A1');
  assert.deepEqual([a1.state, a1.why, a1.open], ['cannot', 'Hot bath or oxidiser cooling', false]);
  const { entries } = await (await fetch(`${board.url}api/entries?about=A1&kind=answered`)).json();
  assert.deepEqual(entries.map((e) => [e.who, e.text]), [['somebody at A1', 'done'], ['somebody at A1', 'cannot be lowered now: Hot bath or oxidiser cooling']]);
});

test('bad answers are refused with the reason', async () => {
  const said = async (body) => { const r = await post('api/errand', body); return [r.status, (await r.json()).error]; };
  assert.match((await said({ station: 'A9', answer: 'done' })).join(), /^400,"station" must be/);
  assert.match((await said({ station: 'A2', answer: 'raise' })).join(), /^400,"answer" must be done or cannot/);
  assert.match((await said({ station: 'A2', answer: 'cannot' })).join(), /^400,"text" must say why/);
  assert.match((await said({ station: 'A2', answer: 'done', who: 'inward' })).join(), /^400,"who" may not/);
  assert.match((await said({ station: 'A2', answer: 'done', open: '1' })).join(), /^400,no field "open" here; there are: station, answer/);
  assert.match((await said({ station: 'A3', answer: 'done' })).join(), /^409,nothing is asked at A3 now/);
});

test('the wall and the station name the same sash; a station\'s own alarm ends all asking', async () => {
  const wall = await openFar(browser, `${board.url}wall`, { viewport: { width: 1920, height: 1080 }, ...looks });
  await says(wall, '#act', '^LOWER A2$');
  await says(wall, '#lower', 'A2');
  await wall.context().close();
  await post('api/hand', { point: 'A3-alarm', value: 'yes', who: 'E. Test' });
  await until((v) => v.errands.length === 0 && v.named.length === 0 && v.act === 'OWN ALARM AT A3: FOLLOW IT');
  await shown('A2', async (page) => {
    await says(page, '#line', '.');
    assert.equal(await page.isVisible('#errand'), false);
  });
});

test('while all work is stopped nobody is asked, and no page speaks of opening; a station\'s own alarm is told besides', async () => {
  await post('api/hand', { point: 'A3-alarm', value: 'no', who: 'E. Test' });
  await until((v) => v.errands.some((e) => e.station === 'A2' && e.open));
  assert.equal((await post('api/stopped', { act: 'stop', cause: 'power', who: 'E. Test' })).status, 200);
  await until((v) => v.errands.length === 0 && v.named.length === 0);
  const { entries } = await (await fetch(`${board.url}api/entries?about=A2&kind=event`)).json();
  assert.ok(entries.some((e) => /A2, no longer needed: all work is stopped/.test(e.text)), JSON.stringify(entries.at(-1)));
  await sash('A1', 'parked');
  const air = await open(browser, `${board.url}air`, { viewport: { width: 1280, height: 900 }, ...looks });
  await says(air, '#act', '^NO WORK AT 3 OF 3 STATIONS: NOT RELEASED$');
  await says(air, '#help', '^No work: stations wait for release');
  assert.equal(await air.getAttribute('#help a', 'href'), '/restart');
  await says(air, '#pools', 'no work: stations wait for release');
  assert.doesNotMatch(await air.evaluate(() => document.body.textContent), /may open|for certain|any one station|Nothing needs lowering/);
  await post('api/hand', { point: 'A3-alarm', value: 'yes', who: 'E. Test' });
  await says(air, '#act', '^NO WORK AT 3 OF 3 STATIONS: NOT RELEASED . OWN ALARM AT A3: FOLLOW IT$');
  await air.context().close();
  await post('api/hand', { point: 'A3-alarm', value: 'no', who: 'E. Test' });
  await shown('A1', async (page) => {
    await says(page, '#line', '^NO WORK HERE$');
    assert.equal(await page.getAttribute('#next a', 'href'), '/restart');
  });
});

test('a board that starts anew asks nobody before every station is released', async () => {
  await board.stop();
  board = await serve(join(here, 'fixtures', 'errand.yaml'), '--record', join(folder, 'e.record'));
  for (const id of ['A1', 'A2', 'A3']) await sash(id, 'work');
  await new Promise((on) => setTimeout(on, 3000)); // longer than it took to ask above
  assert.deepEqual((await live()).errands.filter((e) => e.open), []);
  for (const id of ['A1', 'A2', 'A3'])
    assert.equal((await post('api/stopped', { act: 'release', about: id, text: 'display reads 300', who: 'E. Test' })).status, 200);
  await until((v) => v.errands.some((e) => e.open));
});
