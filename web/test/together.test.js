// Who may work together: the words are the command line's, a choice is solved, and one within the doubt is no yes.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { axe, browse, looks, openFar, quillmere, serve, suite } from './board.js';

let board, short, browser;
before(async () => { board = await serve(quillmere); short = await serve(suite); browser = await browse(); });
after(async () => { await browser?.close(); await board?.stop(); await short?.stop(); });

const desk = { viewport: { width: 1280, height: 900 }, ...looks }, phone = { viewport: { width: 390, height: 844 }, hasTouch: true, ...looks };
const shown = async (run, path = 'together', options = desk, from = board) => {
  const page = await openFar(browser, `${from.url}${path}`, options);
  try {
    await page.waitForSelector('[data-lost]');
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const word = (page, like) => page.waitForFunction((text) => new RegExp(text).test(document.querySelector('#verdict .word').textContent), like);
const get = async (from, search) => (await fetch(`${from.url}api/together${search}`)).json();

test('the words and every part that can be lost are those of the answer', () => shown(async (page) => {
  const answer = await get(board, '');
  assert.equal(await page.textContent('#sentence'), answer.sets.words);
  const cards = await page.$$eval('[data-lost]', (all) => all.map((e) => [e.dataset.lost, e.querySelector('h3 span').textContent, e.querySelector('.says').textContent]));
  assert.deepEqual(cards.map((c) => c.slice(0, 2)), answer.lost.map((l) => [l.id, l.what]));
  for (const [i, l] of answer.lost.entries())
    assert.equal(cards[i][2], l.sets.nothing ? 'NONE MAY OPEN' : l.sets.any === answer.sets.any ? 'AS MANY AS BEFORE' : 'FEWER MAY WORK', l.id);
  assert.match(await page.textContent('#lost-first'), /^First: stop, cap, lower, step away\. Staff release stations\.$/);
  assert.doesNotMatch(await page.innerText('main'), /\bsafe\b|\bOK\b|undefined|NaN/);
}));

test('what breaks it by the doubt of the figures alone is told as perhaps, never as fitting', () => shown(async (page) => {
  const { sets, stations } = await get(board, '?lost=no');
  const perhaps = sets.breaking.find((s) => /within the doubt/.test(s.misses[0]));
  for (const id of perhaps.stations) await page.click(`[data-at="${id}"]`);
  await word(page, '^\\s*PERHAPS TOO MANY: TREAT AS NO$');
  assert.deepEqual(new URL(page.url()).searchParams.getAll('at'), perhaps.stations);
  for (const id of stations) if (!perhaps.stations.includes(id)) await page.click(`[data-at="${id}"]`);
  await word(page, '^\\s*NOT TOGETHER$');
  await page.click('#none');
  await word(page, '^\\s*ALL PARKED');
}));

test('while a choice is being solved nothing is said of the one before', () => shown(async (page) => {
  await word(page, '^\\s*ALL PARKED');
  let release;
  const gate = new Promise((resolve) => { release = resolve; });
  await page.route('**/api/air?*', async (route) => { await gate; await route.continue(); });
  await page.click('[data-at]');
  await word(page, 'Not known yet');
  release();
  await page.waitForFunction(() => !/Not known yet/.test(document.querySelector('#verdict .word').textContent));
}));

test('an address carries the choice to a colleague; an id that is none of them is left out', () => shown(async (page) => {
  assert.deepEqual(await page.$$eval('[data-at][aria-pressed=true]', (all) => all.map((e) => e.dataset.at)), ['A1', 'A2']);
}, 'together?at=A1&at=Z9&at=A2', desk, short));

test('the page has no fault that a checker of accessibility finds, large targets, and no scrolling sideways', () => shown(async (page) => {
  assert.deepEqual((await axe(page)).broken, []);
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 390);
  for (const box of await page.$$eval('main button, main a, summary', (all) => all.map((e) => e.getBoundingClientRect().height))) assert.ok(box >= 44 || box === 0, String(box));
}, 'together', phone));
