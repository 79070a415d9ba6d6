// Baths of the day: one tap for each act, a second of the same counts once, what was told is taken back; nothing that was not told is good.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, inward, looks, openFar, quillmere, serve } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-baths-')), record = join(folder, 'b.record');
let board, bare, browser;
before(async () => {
  board = await serve(quillmere, '--record', record);
  bare = await serve(quillmere);
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); await bare?.stop(); rmSync(folder, { recursive: true, force: true }); });

const tablet = { viewport: { width: 1024, height: 768 }, hasTouch: true, ...looks };
const phone = { viewport: { width: 390, height: 844 }, hasTouch: true, ...looks };
const shown = async (run, options = tablet, path = 'baths', at = board) => {
  const page = await openFar(browser, `${at.url}${path}`, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const says = (page, of, words) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at)?.innerText.replace(/\s+/g, ' ') ?? ''), [of, words]);
const get = async (path) => (await fetch(`${board.url}${path}`)).json();
const tell = async (body) => {
  const reply = await fetch(`${board.url}api/told`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  return { status: reply.status, body: await reply.json() };
};
const tank = async (id) => (await get('api/baths')).tanks.find((t) => t.id === id);

test('before anybody told anything every tank is not known, in word and shape', () => shown(async (page) => {
  await says(page, '#act', 'NOT KNOWN: T-1, T-2, T-3, T-4, T-5');
  await says(page, '[data-tank="T-1"] .word', 'NOT KNOWN');
  assert.doesNotMatch(await page.innerText('main'), /\bsafe\b|\bOK\b/);
}));

test('a bath is told poured with a name and one tap; wafers with another; the last tap is taken back', () => shown(async (page) => {
  await page.tap('[data-tank="T-1"] [data-act=made]');
  await says(page, '#told', 'Not written down: who tells');
  await page.fill('#who', 'E. Test');
  await page.tap('[data-tank="T-1"] [data-act=made]');
  await says(page, '[data-tank="T-1"] .word', 'STANDS');
  await page.tap('[data-tank="T-1"] [data-act=wafers]');
  await says(page, '[data-tank="T-1"]', '25, at most 100');
  await page.tap('#told [data-undo]');
  await says(page, '#told', 'does not count');
  await says(page, '[data-tank="T-1"]', '\\b0, at most 100');
  assert.equal((await tank('T-1')).wafers, 0);
}));

test('the same at once is asked about, and written down where it was so', () => shown(async (page) => {
  await page.fill('#who', 'E. Test');
  await page.tap('[data-tank="T-1"] [data-act=wafers]');
  await says(page, '[data-tank="T-1"]', '25, at most 100');
  await page.tap('[data-tank="T-1"] [data-act=wafers]');
  await says(page, '#told', 'the same was told a moment ago');
  assert.equal((await tank('T-1')).wafers, 25);
  await page.tap('#anyway');
  await says(page, '[data-tank="T-1"]', '50, at most 100');
}));

test('a reading out of its band is due, with the reason', () => shown(async (page) => {
  await page.fill('#who', 'E. Test');
  await page.fill('#temperature-T-1', '64');
  await page.tap('[data-tank="T-1"] [data-act=temperature]');
  await says(page, '[data-tank="T-1"] .word', 'DUE');
  await says(page, '[data-tank="T-1"] .reasons', '^[Tt]oo cold by more');
  await says(page, '#act', 'DUE: T-1');
}));

test('the same tap sent twice is one entry, and who signs as the program is refused', async () => {
  const body = { act: 'made', tank: 'T-2', who: 'E. Test', tap: 'k-1' };
  const [a, b] = [await tell(body), await tell(body)];
  assert.deepEqual([a.status, b.status, b.body.number], [200, 200, a.body.number]);
  assert.match(b.body.note, /counts once/);
  assert.equal((await tell({ ...body, tap: 'k-2', who: 'inward' })).status, 400);
  assert.equal((await tell({ ...body, tap: 'k-3' })).status, 409);
  assert.equal((await tell({ ...body, act: 'wafers', amount: '-3' })).status, 400);
  assert.equal((await tell({ ...body, act: 'wafers', amount: 3 })).status, 400);
  assert.equal((await tell({ ...body, colour: 'red' })).status, 400);
  assert.equal((await tell({ act: 'made', tank: 'T-5', who: 'E. Test', at: '2031-01-01 10:00' })).status, 400);
});

test('what must not go into a container is refused with the rule; what is in already is written down, and a person is needed', () => shown(async (page) => {
  await page.fill('#who', 'E. Test');
  await page.fill('#open-id', 'W-3');
  await page.selectOption('#open-stream', 'acid-metal');
  await page.tap('#open [type=submit]');
  await says(page, '[data-container="W-3"]', 'Acid with metals');
  await page.fill('#what-W-3', 'al-etch');
  await page.fill('#added-W-3', '1');
  await page.tap('[data-container="W-3"] [data-act=added]');
  await says(page, '[data-container="W-3"]', '20 % full');
  await page.fill('#what-W-3', 'acetone');
  await page.tap('[data-container="W-3"] [data-act=may]');
  await says(page, '#may-W-3', 'acetone into W-3: NEVER');
  await page.tap('[data-container="W-3"] [data-act=added]');
  await says(page, '#told', 'not into W-3: never');
  assert.equal((await get('api/waste')).containers[0].held.length, 1);
  await page.tap('#anyway');
  await says(page, '[data-container="W-3"] .word', 'NOT KNOWN');
  await says(page, '[data-container="W-3"] .reasons', 'must never be together');
}));

test('what the board answers is what the verb prints, byte for byte', async () => {
  for (const [path, args] of [['api/baths', ['baths']], ['api/waste', ['waste']], ['api/drain-may?tank=T-1', ['baths', '--may', 'T-1']], ['api/waste-may?container=W-3&what=hf', ['waste', '--may', 'W-3', '--what', 'hf']]]) {
    const { now } = await get('api/baths'), join = path.includes('?') ? '&' : '?';
    const reply = await fetch(`${board.url}${path}${join}at=${now}`), copy = `${record}.copy`;
    for (const end of ['', '-wal', '-shm']) try { cpSync(record + end, copy + end); } catch { /* not there */ }
    const said = spawnSync(inward, [args[0], quillmere, '--record', copy, '--at', now, '--json', ...args.slice(1)], { encoding: 'utf8' });
    assert.equal(await reply.text(), said.stdout, said.stderr);
    assert.equal(reply.status, 200);
  }
  const stock = spawnSync(inward, ['stock', quillmere, '--json'], { encoding: 'utf8' });
  assert.equal(await (await fetch(`${bare.url}api/stock`)).text(), stock.stdout);
});

const read = async (point, value, unit = '') => {
  const reply = await fetch(`${board.url}api/hand`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ point, value, who: 'E. Test', ...(unit && { unit }) }) });
  assert.equal(reply.status, 200, await reply.text());
};

test('a wet bench that nobody measures is not known, in word and shape, and no word is a clearance', () => shown(async (page) => {
  await says(page, '[data-bench="A2"] .word', 'NOT KNOWN');
  await says(page, '[data-bench="A4"]', 'Leak tray TR-4 Tray of the hot bench NOT SEEN');
  await says(page, '#benches-foot', 'nothing here is a clearance');
  assert.doesNotMatch(await page.innerText('#benches'), /\bsafe\b|\bOK\b/);
}));

test('a wet tray calls a person first, says what is above it and what comes next, on this page, the station and the board', async () => {
  await read('TR2-wet', 'yes');
  await read('H21-on', 'yes');
  await read('T1-level', '11', 'L');
  await read('A2-deck', '300', 'm3/h');
  await shown(async (page) => {
    await says(page, '#act', 'CALL A2: leak tray TR-2: wet');
    await says(page, '#act', 'Step away and keep others away');
    await says(page, '[data-bench="A2"] .word', 'CALL');
    await says(page, '[data-bench="A2"]', 'CONTRADICTION');
    await says(page, '[data-bench="A2"]', 'Do not go to it: the tray under it is wet');
    await says(page, '[data-bench="A2"]', "the bench's own fault, no lack of shared air");
    assert.deepEqual((await axe(page)).broken, []);
  });
  await shown((page) => says(page, 'body', 'LEAK AT A2: STEP AWAY'), tablet, 'station/A2');
  await shown((page) => says(page, '#alarm', 'A2: its leak tray is wet'), tablet, 'wall');
  await read('TR2-wet', 'no');
  await read('H21-on', 'no');
  await read('A2-deck', '420', 'm3/h');
  await shown((page) => says(page, '[data-bench="A2"] .word', 'NOT KNOWN'));
});

test('whether a bath may go down its drain is asked with one tap, and answered with reasons and no permission', () => shown(async (page) => {
  await tell({ act: 'dumped', tank: 'T-2', who: 'E. Test' });
  await tell({ act: 'made', tank: 'T-2', who: 'E. Test', anyway: 'yes' });
  await says(page, '[data-tank="T-2"] .word', 'STANDS|DUE');
  await page.tap('[data-tank="T-2"] [data-act=drain-may]');
  await says(page, '#drain-T-2', 'T-2 down DR-22: UNKNOWN');
  await says(page, '#drain-T-2', 'only by a written procedure');
  await says(page, '#drain-T-2', 'Nothing here is a permission');
}));

test('where nothing is kept the page says so, offers no button, and a telling is refused with the way out', () => shown(async (page) => {
  await says(page, '#note', 'start the board with --record FILE|Nothing is connected');
  assert.equal(await page.isVisible('.do'), false);
  await says(page, '#stock', 'not a clearance');
  const reply = await fetch(`${bare.url}api/told`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{"act": "made", "tank": "T-1", "who": "E. Test"}' });
  assert.equal(reply.status, 409);
  assert.match((await reply.json()).error, /--record FILE/);
}, tablet, 'baths', bare));

test('a station asks for its own tanks only, names stay off until they are wanted', () => shown(async (page) => {
  await says(page, '#tanks', 'Clean tank 1');
  assert.equal(await page.$('[data-tank="T-3"]'), null);
  assert.doesNotMatch(await page.innerText('#tanks'), /E\. Test/);
  await page.check('#names');
  await says(page, '#tanks', 'E\\. Test');
}, phone, 'baths?station=A2'));

test('nothing goes sideways, every target is 44 px or more, and axe finds nothing', () => shown(async (page) => {
  await says(page, '#tanks', 'Clean tank 1');
  const small = await page.$$eval('button, .title a, input, select, summary', (all) => all.filter((e) => e.getClientRects().length && e.type !== 'checkbox' && (e.getBoundingClientRect().height < 44 || e.getBoundingClientRect().width < 44)).map((e) => e.outerHTML));
  assert.deepEqual(small, []);
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth));
  assert.deepEqual((await axe(page)).broken, []);
}, phone));

test('what is read by hand on a bench with several tanks says of which point it is', () => shown(async (page) => {
  await page.waitForSelector('[data-point="H21-on"]');
  const buttons = await page.$$eval('#hand-read [data-point]', (all) => all.map((e) => [e.dataset.point, e.textContent]));
  const tanks = buttons.filter(([, text]) => /^(Level|Low level|Bath|Heater|Lid|Tray|Leak|Rinse)/i.test(text));
  assert.ok(tanks.length > 1, JSON.stringify(buttons));
  for (const [id, text] of tanks) assert.ok(text.includes(id), text);
}, tablet, 'station/A2'));
