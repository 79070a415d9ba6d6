// What looks like a fault: a day in which one flow is read in the wrong unit, its notes, and what people found.
import assert from 'node:assert/strict';
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, root, serve } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-findings-'));
let board, browser;

// From its hundredth row on A3's flow comes 3.6 times as large: L/s in a column of m3/h the wrong way round.
function spoilt() {
  const [head, ...rows] = readFileSync(join(root, 'examples/quillmere/day.csv'), 'utf8').split('\n').map((line) => line.split(';'));
  const column = head.indexOf('A3 FLOW [m3/h]');
  assert.ok(column > 0);
  rows.slice(100).filter((r) => /^\d+$/.test(r[column] ?? '')).forEach((r) => { r[column] = String(Math.round(r[column] * 3.6)); });
  writeFileSync(join(folder, 'day.csv'), [head, ...rows].map((r) => r.join(';')).join('\n'));
  return join(folder, 'day.csv');
}
// A suite in which one answer proves a kind.
function easily() {
  cpSync(join(root, 'examples/quillmere'), join(folder, 'suite'), { recursive: true });
  const feeds = join(folder, 'suite', 'feeds.yaml');
  writeFileSync(feeds, `${readFileSync(feeds, 'utf8')}\nfaults: {proved after: 1}\n`);
  return join(folder, 'suite', 'suite.yaml');
}
before(async () => {
  board = await serve(easily(), '--record', join(folder, 'q.record'), '--replay', spoilt(), '--source', 'trend', '--speed', '3000');
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); rmSync(folder, { recursive: true, force: true }); });

const at = (path) => board.url.replace(/\/$/, '') + path;
const get = async (path) => (await fetch(at(path))).json();
const post = async (body) => {
  const r = await fetch(at('/api/finding'), { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  return { status: r.status, body: await r.json() };
};
const until = async (good, ms = 60000) => {
  for (const end = Date.now() + ms; ;) {
    const view = await get('/api/live').catch(() => null), found = view && good(view);
    if (found) return found;
    assert.ok(Date.now() < end, `not within ${ms} ms: ${JSON.stringify(view?.looks_like)}`);
    await new Promise((done) => setTimeout(done, 200));
  }
};
const a3 = (view) => view.looks_like?.find((f) => f.about?.[0] === 'A3-flow');
const page = async (path, width = 1280) => {
  const context = await browser.newContext({ viewport: { width, height: 900 } });
  const p = await context.newPage();
  p.faults = [];
  p.on('pageerror', (e) => p.faults.push(e.message));
  await p.goto(at(path));
  return p;
};
const good = { answer: 'confirmed', kind: 'wrong unit or sign', part: 'A3-flow', who: 'E. Test', text: 'the display on the spot says 430 m3/h' };

test('a finding says what it looks like, why, what to look at and by whom; its kind is in the notes', async () => {
  const f = await until(a3);
  assert.equal(f.kind, 'wrong unit or sign');
  assert.equal(f.in_notes, true);
  assert.match(f.text, /^looks like a wrong unit or sign of point A3-flow in the feeds file because A3-flow reads .* is computed/);
  assert.ok(f.next && f.who);
  assert.ok((await get('/api/live')).blind.every((b) => /no point shows it; .* would tell$/.test(b)));
  const air = await page('/air');
  await air.waitForFunction(() => /REPLAY/.test(document.querySelector('#age').textContent));
  assert.equal(await air.isHidden('#looks'), true);
  await air.context().close();
});

test('an answer that cannot be meant changes nothing', async () => {
  for (const wrong of [{ answer: 'perhaps' }, { kind: 'gremlins' }, { part: 'A99-flow' }, { part: 'D2' }, { who: '' }, { who: 'inward' }, { text: ' ' }, { more: '1' }, { since: 'x'.repeat(60) }]) {
    const r = await post({ ...good, ...wrong });
    assert.equal(r.status, 400, JSON.stringify(wrong));
    assert.ok(r.body.error);
  }
  // three answers to what was never found would prove a kind
  for (const never of [{ since: '2026-10-01T10:00:00Z', part: 'A5-flow' }, { kind: 'stuck sensor', part: 'A5-flow' }, { kind: 'covered deck', part: 'A1' }])
    assert.match((await post({ ...good, ...never, since: never.since ?? '' }).then((r) => { assert.equal(r.status, 400); return r.body.error; })), /is or was found here.*nothing to answer/);
  assert.equal((await get('/api/entries?kind=confirmed')).entries.length, 0);
  assert.equal((await fetch(at('/api/finding'))).status, 405);
});

test('what a person found there is entered on the Record page and counts', async () => {
  await until(a3);
  const record = await page('/record', 390);
  const button = '#findings [data-part="A3-flow"][data-answer="confirmed"]';
  await record.waitForSelector(button);
  await record.click(button); // nobody said what was seen, nor who
  assert.match(await record.evaluate(() => document.activeElement.id), /^finding-/);
  await record.fill('#finding-who', 'E. Test');
  await record.fill('#finding-text', 'the display says 430 m3/h');
  await record.click(button);
  await record.waitForFunction(() => /^Entry \d+/.test(document.querySelector('#entered').textContent));
  const entry = (await get('/api/entries?kind=confirmed')).entries.at(-1);
  assert.deepEqual([entry.about, entry.who, entry.text], ['A3', 'E. Test', 'the display says 430 m3/h']);
  assert.equal(JSON.parse(entry.detail).part, 'A3-flow');
  assert.deepEqual((await axe(record)).broken, []);
  const box = await record.locator(button).boundingBox();
  assert.ok(box.height >= 44 && box.width >= 44, JSON.stringify(box));
  assert.deepEqual(record.faults, []);
  await record.context().close();
});

test('a kind that has proved itself is one quiet line on Air, with what to look at, and never on the wall', async () => {
  // whatever moment a page still has of its beginning, one finding is one answer
  for (const since of ['2026-10-01T10:00:00Z', '']) assert.equal((await post({ ...good, since })).status, 200);
  const told = (await get('/api/entries?kind=confirmed')).entries.map((e) => JSON.parse(e.detail).since);
  assert.ok(told.length === 3 && told.every((t) => t > '2026-10-24'), told.join());
  await until((view) => a3(view)?.in_notes === false);
  const air = await page('/air');
  await air.waitForFunction(() => /Looks like a wrong unit/.test(document.querySelector('#looks').textContent));
  assert.match(await air.textContent('#looks'), /Next: compare the point's unit .* \(whoever keeps the feeds file\)/);
  assert.deepEqual(air.faults, []);
  await air.context().close();
  const wall = await page('/wall');
  await wall.waitForFunction(() => /REPLAY/.test(document.querySelector('#live').textContent));
  assert.doesNotMatch(await wall.textContent('body'), /looks like/i);
  await wall.context().close();
});
