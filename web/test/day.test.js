// The day: the busy quarter hours in a sentence, the one booking to move, the band under the line; nobody by name.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { axe, browse, looks, openFar, quillmere, serve, suite } from './board.js';

let board, bare, browser;
before(async () => {
  board = await serve(quillmere);
  bare = await serve(suite, '--scene', 'busy');
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); await bare?.stop(); });

const desk = { viewport: { width: 1280, height: 900 }, ...looks };
const phone = { viewport: { width: 390, height: 844 }, hasTouch: true, ...looks };
const shown = async (run, path, options = desk, of = board, quiet = true) => {
  const page = await openFar(browser, `${of.url}${path}`, options);
  try {
    await run(page);
    if (quiet) assert.deepEqual(page.faults.filter((f) => !/40[04]/.test(f)), []);
  } finally {
    await page.context().close();
  }
};
const says = (page, of, words) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at)?.innerText.replace(/\s+/g, ' ') ?? ''), [of, words]);

test('a busy day is said in one sentence with the one booking to ask for', () => shown(async (page) => {
  await says(page, '#sentence', 'Air may run SHORT 1\\d:\\d\\d to 1\\d:\\d\\d: 1 in \\d+ at .* if people come together');
  await says(page, '#advice', 'Ask ONE to move: \\S+ \\d\\d:\\d\\d-\\d\\d:\\d\\d to \\d\\d:\\d\\d');
  await says(page, '#second', 'A3 09:30-11:30 wants another inside: could be, if they come: who is booked at S1 09:00-10:30');
  assert.ok(parseFloat(await page.evaluate(() => getComputedStyle(document.querySelector('#sentence')).fontSize)) >= 48);
  assert.ok(await page.locator('#chart .band').count());
  assert.ok(await page.locator('#chart .limit').count());
  assert.equal(await page.locator('#chart .tick').count(), 17);
  assert.equal(await page.locator('#chart .tick.moves').count(), 1);
  assert.doesNotMatch(await page.content(), /U14|U26|Nitride/);
}, 'day?date=2026-12-01'));

test('a quiet day says so and asks nobody', () => shown(async (page) => {
  await says(page, '#sentence', 'not likely|Nothing is booked');
  assert.equal(await page.innerText('#advice'), '');
  assert.doesNotMatch(await page.innerText('main'), /\bsafe\b/i);
}, 'day?date=2026-12-04'));

test('the day before and after are a press away, and a pool may be chosen', () => shown(async (page) => {
  await says(page, '#date', 'Tuesday, 2026-12-01');
  await page.click('[data-pool="Solvent"]');
  await says(page, '#chart', 'Solvent');
  await page.click('#later');
  await says(page, '#date', 'Wednesday, 2026-12-02');
}, 'day?date=2026-12-01'));

test('a trial says so, and a board without bookings says what is missing', async () => {
  await shown(async (page) => says(page, '#trial', 'TRIAL, not live'), 'day?date=2026-12-01&move=Q10%3D16:00');
  await shown(async (page) => {
    await says(page, '#sentence', 'NOT KNOWN: TREAT AS NO');
    await says(page, '#advice', 'nothing says where bookings stand');
  }, 'day', desk, bare);
});

test('the page reads on a phone and by a screen reader', () => shown(async (page) => {
  await says(page, '#sentence', 'SHORT');
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth + 1));
  assert.deepEqual((await axe(page)).broken, []);
}, 'day?date=2026-12-01', phone));
