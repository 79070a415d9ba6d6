// How a station stands, on its own page and in the list: the worst reason in the large words, and never a permission.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, here, inward, looks, openFar, serve } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-ready-')), record = join(folder, 'r.record'), file = join(here, 'fixtures', 'errand.yaml');
let board, browser;
before(async () => {
  board = await serve(file, '--record', record);
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); rmSync(folder, { recursive: true, force: true }); });

const post = async (path, body) => {
  const reply = await fetch(`${board.url}api/${path}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  assert.equal(reply.status, 200, await reply.text());
};
const ready = async (query = '') => (await fetch(`${board.url}api/ready${query}`)).json();
const says = (page, of, words) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at)?.innerText.replace(/\s+/g, ' ') ?? ''), [of, words]);
const tablet = { viewport: { width: 768, height: 1024 }, hasTouch: true, ...looks };
const shown = async (path, run, options = tablet) => {
  const page = await openFar(browser, `${board.url}${path}`, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};

test('a station that nobody walked past on a round is not known, and its page says so from afar', async () => {
  await post('hand', { point: 'A3-alarm', value: 'no', who: 'E. Test' });
  for (const id of ['A1', 'A2', 'A3']) await post('hand', { point: `${id}-sash`, value: 'parked', who: 'E. Test' });
  await shown('station/A1', async (page) => {
    await says(page, '#line', '^NOT KNOWN, TREAT AS NO: NEVER LOOKED AT');
    await says(page, '#next', 'Walk a round here');
    await says(page, '#ready-clear', '^At no moment known clear');
    await says(page, '#ready-open', 'not known Nobody told of a round');
    assert.match(await page.$eval('.act .state', (e) => getComputedStyle(e).backgroundImage), /repeating-linear-gradient/);
  });
});

test('after a round there is air under conditions, with the moment it was known clear', async () => {
  await post('round', { about: 'A1', all: 'yes', who: 'E. Test' });
  await shown('station/A1', async (page) => {
    await says(page, '#line', '^AIR FOR A1$');
    await says(page, '#next', 'READY UNDER CONDITIONS: .*LOOK BEFORE YOU START');
    await says(page, '#ready-clear', '^Known clear at \\d+ \\w+, \\d\\d:\\d\\d, and at no other moment');
    assert.deepEqual((await axe(page)).broken, []);
    for (const part of ['.act', '#ready']) assert.doesNotMatch(await page.innerText(part), /\bsafe\b|\bok\b|E\. Test/i);
  });
});

test('what runs there with nobody there takes the large line, on a phone without scrolling sideways', async () => {
  const until = new Date(Date.now() + 3600e3).toISOString();
  await post('run', { act: 'started', about: 'A1', who: 'E. Test', what: 'strip', holds: 'acid', hazards: 'hot', call: 'desk, 4210', until });
  await shown('station/A1', async (page) => {
    await says(page, '#line', '^NOT READY: RUNS UNTIL (\\w{3} )?\\d\\d:\\d\\d$');
    await says(page, '#next', 'Touch nothing. Call desk, 4210');
    await says(page, '#next', 'Call: Desk of the suite, 4200'); // nobody is hurt: not the first aider, whom the station names
    assert.doesNotMatch(await page.innerText('#next'), /First aider/);
    await says(page, '#why', 'Of the shared air alone: AIR FOR A1');
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
  }, { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, ...looks });
  await shown('stations', async (page) => {
    await says(page, '[data-stands=A1]', '^NOT READY: RUNS UNTIL');
    await says(page, '[data-stands=A2]', '^NOT KNOWN, TREAT AS NO: NEVER LOOKED AT');
  });
});

test('the board and the command line say the same of a moment, byte for byte', async () => {
  const { now } = await ready(), at = now.replace(/\.\d+Z$/, 'Z');
  const board_ = await (await fetch(`${board.url}api/ready?at=${at}`)).text();
  const run = (...more) => {
    try { return execFileSync(inward, ['ready', file, '--record', record, '--at', at, '--json', ...more], { encoding: 'utf8' }); }
    catch (e) { assert.equal(e.status, 1, e.stderr); return e.stdout; } // some station is not ready
  };
  assert.equal(board_, run());
  assert.equal(await (await fetch(`${board.url}api/ready?at=${at}&station=A2`)).text(), run('A2'));
});

test('a bad question is refused with the reason', async () => {
  const refused = async (query) => { const r = await fetch(`${board.url}api/ready?${query}`); return `${r.status} ${(await r.json()).error}`; };
  assert.match(await refused('station=Z9'), /^400 station: the suite has no station 'Z9'/);
  assert.match(await refused('at=tomorrow'), /^400 at: /);
  assert.match(await refused('at=2099-01-01T00:00'), /^400 at: that has not come yet/);
  assert.match(await refused('who=me'), /^400 no parameter "who"; there are: at, station/);
});
