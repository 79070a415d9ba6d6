// Does the model match, on the board: the bytes of the verb for the same table, every fault of it with its place, and a page
// that says first what lies outside.
import assert from 'node:assert/strict';
import { execFile } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import Ajv2020 from 'ajv/dist/2020.js';
import { axe, browse, inward, looks, openFar, quillmere, root, serve } from './board.js';

const document_ = JSON.parse(readFileSync(join(root, 'docs', 'openapi.json'), 'utf8'));
const ajv = new Ajv2020({ strict: false, allErrors: true, validateFormats: false });
ajv.addSchema(document_, 'api');
const balancing = join(root, 'examples', 'quillmere', 'balancing.csv'), folder = mkdtempSync(join(tmpdir(), 'inward-match-'));
let board, browser;
before(async () => { board = await serve(quillmere, '--scene', 'busy'); browser = await browse(); });
after(async () => { await browser?.close(); await board?.stop(); rmSync(folder, { recursive: true, force: true }); });

// Never spawnSync: while it blocks, a kept connection that the board closes is not seen to be closed.
const run_ = (file, args) => new Promise((done) => { execFile(file, args, { encoding: 'utf8', maxBuffer: 1 << 26 }, (error, stdout, stderr) => done({ status: error ? error.code : 0, stdout, stderr })); });
const verb = (...args) => run_(inward, ['match', quillmere, ...args]);
const post = (address, body, headers = { 'Content-Type': 'text/csv' }) => fetch(`${board.url}api/${address}`, { method: 'POST', headers, body });
const table = (name, text) => { const path = join(folder, name); writeFileSync(path, text); return path; };

// ---- the addresses ----

test('a posted table is answered by the bytes of the verb, in the shape the API file says', async () => {
  for (const [path, scene] of [[balancing, ''], [balancing, 'busy'], [table('two.csv', 'of,what,value\nA2,flow,900 m3/h\nA2,flow,1380 m3/h\n'), ''], [table('none.csv', 'of,what,value\nA2,flow,\n'), '']]) {
    const reply = await post(`match?file=${encodeURIComponent(path)}${scene ? `&scene=${scene}` : ''}`, readFileSync(path)), text = await reply.text();
    assert.equal(reply.status, 200, text);
    assert.equal(text, (await verb('--readings', path, ...(scene ? ['--scene', scene] : []), '--json')).stdout, path);
    const check = ajv.getSchema('api#/components/schemas/match');
    assert.ok(check(JSON.parse(text)), JSON.stringify(check.errors));
  }
});

test('the same table as a workbook is answered alike', async () => {
  const book = join(folder, 'b.xlsx'), made = await run_('python3', ['-c', workbook, book]);
  assert.equal(made.status, 0, made.stderr);
  const csv = await (await post('match', 'of,what,value\nA2,flow,1400 m3/h\nA4,flow,545 m3/h\n')).json();
  const xlsx = await (await post('match', readFileSync(book), { 'Content-Type': 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet' })).json();
  assert.deepEqual(xlsx.readings.map((r) => [r.what, r.measured_m3_s]), csv.readings.map((r) => [r.what, r.measured_m3_s]));
  assert.equal(xlsx.verdict, csv.verdict);
});

// The least that is a workbook (ECMA-376), with texts in the cells themselves.
const workbook = `
import sys, zipfile
rows = [["of", "what", "value"], ["A2", "flow", "1400 m3/h"], ["A4", "flow", "545 m3/h"]]
z = zipfile.ZipFile(sys.argv[1], "w", zipfile.ZIP_DEFLATED)
z.writestr("[Content_Types].xml", '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>')
z.writestr("_rels/.rels", '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>')
z.writestr("xl/workbook.xml", '<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Readings" sheetId="1" r:id="r1"/></sheets></workbook>')
z.writestr("xl/_rels/workbook.xml.rels", '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>')
z.writestr("xl/worksheets/sheet1.xml", '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>' + "".join('<row r="%d">%s</row>' % (i + 1, "".join('<c r="%s%d" t="inlineStr"><is><t>%s</t></is></c>' % ("ABC"[k], i + 1, t) for k, t in enumerate(r))) for i, r in enumerate(rows)) + '</sheetData></worksheet>')
z.close()
`;

test('every fault of a table is told with file, line and column, as the verb tells them', async () => {
  const path = table('bad.csv', 'scene,of,what,over,value,unit\nparked,A99,flow,,1400,m3/h\nparked,A2,flow,,1400,\nparked,Wet,pressure,,10,Pa\n');
  const reply = await post(`match?file=${encodeURIComponent(path)}`, readFileSync(path)), { error, status } = await reply.json();
  assert.equal(reply.status, 400);
  assert.equal(status, 400);
  assert.deepEqual(error.split('\n'), (await verb('--readings', path)).stderr.split('\n').filter((l) => l.startsWith(path)));
  assert.equal(error.split('\n').length, 3);
  for (const [query, like] of [['scene=none', /none/], ['x=1', /no parameter/], ['file=', /table's name/], ['file=a&file=b', /twice/], ['file=a%0Ab', /./], ['date=2026-11-30', /no parameter/]])
    assert.match((await (await post(`match?${query}`, 'of,what,value\n')).json()).error, like, query);
  assert.match((await (await post('match', 'hello')).json()).error, /readings:1:1: .*titles/);
});

test('what is no table, no page of the board, or too long is refused before anything is worked out', async () => {
  const rows = 'of,what,value\nA2,flow,1400 m3/h\n';
  assert.equal((await post('match', rows, { 'Content-Type': 'application/json' })).status, 415);
  assert.equal((await post('match', rows, { 'Content-Type': 'text/plain' })).status, 415);
  assert.equal((await post('match', rows, { 'Content-Type': 'text/csv', Origin: 'http://elsewhere.example' })).status, 403);
  assert.equal((await post('match', 'x'.repeat((2 << 20) + 1))).status, 413);
  assert.equal((await post('match', '')).status, 400);
  assert.equal((await post('entry', rows)).status, 415); // and no other address takes a table
  const put = await fetch(`${board.url}api/match-form`, { method: 'PUT' });
  assert.deepEqual([put.status, put.headers.get('allow')], [405, 'GET, HEAD, POST']);
});

test('the overlay is the one that --write writes, and can be tried', async () => {
  const reply = await post('match-overlay?file=balancing.csv', readFileSync(balancing)), text = await reply.text();
  assert.equal(reply.status, 200, text);
  assert.match(reply.headers.get('content-type'), /yaml/);
  assert.match(reply.headers.get('content-disposition'), /attachment; filename="fitted.yaml"/);
  const path = join(folder, 'w.yaml');
  await verb('--readings', balancing, '--write', path);
  assert.equal(text.replace('balancing.csv', balancing), readFileSync(path, 'utf8'));
  assert.equal((await run_(inward, ['check', quillmere, '--with', path])).status, 0);
  const none = await post('match-overlay', 'of,what,value\nA2,flow,\n');
  assert.equal(none.status, 400);
  assert.match((await none.json()).error, /no figure is known better/);
});

test('the sheet to fill in is that of --form, and comes back with what it predicted', async () => {
  for (const [query, args] of [['scene=busy&date=2026-11-30', ['--scene', 'busy']], ['date=2026-11-30&units=us', ['--us']]]) {
    const reply = await fetch(`${board.url}api/match-form?${query}`), path = join(folder, `f-${args.join('')}.csv`);
    assert.match(reply.headers.get('content-type'), /^text\/csv/);
    await verb('--form', path, '--date', '2026-11-30', ...args);
    assert.equal(Buffer.from(await reply.arrayBuffer()).toString(), readFileSync(path, 'utf8'), query);
  }
  const sheet = await (await post('match-form?date=2026-11-30', 'of,what,value,unit\nA2,flow,,m3/h\n')).text();
  const filled = sheet.replace(/^signed before the test by,,/m, 'signed before the test by,A. Keeper,').replace(/(m3\/h,\d+,\d+,\d+),,/, '$1,1500,');
  assert.notEqual(filled, sheet);
  const answer = await (await post('match', filled)).json();
  assert.deepEqual([answer.predicted_on, answer.signed_by, answer.form_sha256, answer.readings.length], ['2026-11-30', 'A. Keeper', answer.suite_sha256, 1]);
  assert.ok(Math.abs(answer.readings[0].printed_m3_s * 3600 - 1380) < 1);
});

test('two at once are both answered, or one is asked to wait; nothing is kept between them', async () => {
  const replies = await Promise.all([1, 2, 3].map(() => post('match', readFileSync(balancing))));
  const bodies = await Promise.all(replies.map((r) => r.json()));
  assert.ok(replies.some((r) => r.status === 200));
  for (const [i, r] of replies.entries()) assert.ok(r.status === 200 ? bodies[i].readings.length === 59 : r.status === 503 && /another match/.test(bodies[i].error), JSON.stringify(bodies[i]).slice(0, 200));
  assert.equal((await (await post('match', 'of,what,value\nA2,flow,1400 m3/h\n')).json()).readings.length, 1);
});

// ---- the page ----

const desk = { viewport: { width: 1280, height: 900 }, ...looks }, phone = { viewport: { width: 390, height: 844 }, hasTouch: true, ...looks };
const shown = async (run, options = desk) => {
  const page = await openFar(browser, `${board.url}match`, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally { await page.context().close(); }
};
const answered = (page, turn) => page.waitForFunction((n) => document.body.dataset.turn === String(n), turn);

test('a table that is chosen is answered in words, what lies outside first, each row of it there', () => shown(async (page) => {
  const want = await (await post('match?file=balancing.csv', readFileSync(balancing))).json();
  await page.setInputFiles('#file', balancing);
  await answered(page, 1);
  assert.match(await page.textContent('#verdict'), /DOES NOT MATCH, AND NO FIGURES EXPLAIN ALL OF IT/);
  assert.equal(await page.textContent('#action'), `Next: ${want.next_action}`);
  const rows = await page.$$eval('[data-reading]', (all) => all.map((e) => [e.dataset.reading, e.querySelector('svg').classList.contains('out')]));
  assert.equal(rows.length, 59);
  assert.deepEqual(rows.filter(([, out]) => out).map(([id]) => id).sort(), want.readings.filter((r) => r.outside).map((r) => r.id).sort());
  assert.equal(rows.findIndex(([, out]) => !out), 5);
  for (const known of ['known', 'better', 'together', 'not_told'])
    assert.equal(await page.$$eval(`[data-known="${known}"] li`, (all) => all.length), want.figures.filter((f) => f.known === known).length, known);
  assert.match(await page.textContent('main'), /It is no test of containment and releases no station\./);
  assert.equal(await page.isVisible('#label'), true);
  assert.doesNotMatch(await page.innerText('main'), /\bsafe\b|\bOK\b|undefined|NaN|null/);
}));

test('readings are typed by keyboard alone, matched, taken out again, and a word that is no number is named', () => shown(async (page) => {
  await page.selectOption('#what', { label: 'flow of A2' });
  await page.focus('#value');
  await page.keyboard.type('many');
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => document.getElementById('value').getAttribute('aria-invalid') === 'true' && document.activeElement.id === 'value');
  await page.keyboard.press('Control+A');
  await page.keyboard.type('1400,5');
  await page.keyboard.press('Enter');
  await page.waitForSelector('[data-drop="0"]');
  assert.equal(await page.$eval('#what', (e) => e.options[e.selectedIndex].text), 'flow of A3');
  await page.keyboard.type('440');
  await page.keyboard.press('Tab');
  await page.keyboard.type('3 %');
  await page.keyboard.press('Enter');
  await page.waitForSelector('[data-drop="1"]');
  await page.click('#ask');
  await answered(page, 1);
  assert.match(await page.textContent('#verdict'), /TOO FEW DATA/);
  assert.match(await page.textContent('#action'), /at least 3 more readings/);
  assert.deepEqual(await page.$$eval('[data-reading] b:first-child', (all) => all.map((e) => e.textContent).slice(0, 2)), ['flow of A2', 'flow of A3']);
  await page.click('[data-drop="0"]');
  await page.waitForSelector('[data-drop="1"]', { state: 'detached' });
  await page.reload();
  await page.waitForFunction(() => window.inward?.settled());
  assert.equal(await page.$$eval('[data-drop]', (all) => all.length), 1); // kept while the window is open
}));

test('the list of what can be read follows the state; a raised sash has a face', () => shown(async (page) => {
  assert.equal(await page.$$eval('#what option', (all) => all.filter((o) => /face velocity/.test(o.text)).length), 0);
  await page.selectOption('#scene', 'busy');
  await page.waitForFunction(() => [...document.querySelectorAll('#what option')].some((o) => /face velocity of /.test(o.text)));
  assert.match(await page.getAttribute('#blank', 'href'), /scene=busy/);
}));

test('a table that cannot be read is said fault by fault, and no answer of another table stays', () => shown(async (page) => {
  await page.setInputFiles('#file', balancing);
  await answered(page, 1);
  await page.setInputFiles('#file', table('worse.csv', 'of,what,value\nA99,flow,3 m3/h\nA2,colour,4\n'));
  await answered(page, 2);
  assert.match(await page.textContent('#verdict'), /NOT MATCHED/);
  const lines = await page.$$eval('#refused li', (all) => all.map((e) => e.textContent));
  assert.equal(lines.length, 2);
  assert.match(lines[0], /^worse\.csv:2:1: A2: 'A99'/);
  assert.equal(await page.isVisible('#result'), false);
}));

test('while a table is worked out nothing is said of the one before', () => shown(async (page) => {
  await page.setInputFiles('#file', balancing);
  await answered(page, 1);
  let release;
  const gate = new Promise((resolve) => { release = resolve; });
  await page.route('**/api/match?*', async (route) => { await gate; await route.continue(); });
  await page.setInputFiles('#file', balancing);
  await page.waitForFunction(() => /Not known yet/.test(document.getElementById('verdict').textContent));
  assert.equal(await page.textContent('#action'), '');
  release();
  await answered(page, 2);
  assert.match(await page.textContent('#verdict'), /DOES NOT MATCH/);
}));

test('a board that is busy asks to wait, one that is silent says so, and neither asks to mend the table', () => shown(async (page) => {
  await page.route('**/api/match?*', (route) => route.fulfill({ status: 503, contentType: 'application/json', body: '{"error": "another match is being worked out: ask again in a moment", "status": 503}' }));
  await page.setInputFiles('#file', balancing);
  await answered(page, 1);
  assert.equal(await page.textContent('#action'), 'Next: ask again in a moment.');
  assert.match(await page.textContent('#refused'), /another match/);
  await page.unroute('**/api/match?*');
  await page.route('**/api/match?*', (route) => route.abort());
  await page.setInputFiles('#file', balancing);
  await answered(page, 2);
  assert.equal(await page.textContent('#action'), 'Next: ask again in a moment.');
  assert.match(await page.textContent('#refused'), /does not answer: not known/);
}));

test('what the board matched by itself stands first, with what drifts; where there is nothing, why', async () => {
  await shown(async (page) => assert.match(await page.textContent('#nightly'), /The board's own match of last night\s*None: nothing is connected/));
  const page = await openFar(browser, `${board.url}wall`, desk);
  await page.route('**/api/match', (route) => route.fulfill({ contentType: 'application/json', body: JSON.stringify({ each_night_at: '03:00', reason: null, age_s: 43200, earlier: [],
    latest: { at: '2026-11-30T02:00:00Z', verdict: 'differs', words: 'DOES NOT MATCH', sentence: 'outside: 2.', next_action: 'Look at leak L-gown.', why: null, was: 'matches', other_suite: false, readings: 380 },
    figures: [{ figure: 'leak L-gown, area', of: 'figure', unit: '', known: 'better', drifts: true, moved_si: 0.31, moved_plus_minus_si: 0.12, nights: [{}, {}, {}] }, { figure: 'door D1', unit: '', drifts: false, nights: [] }] }) }));
  await page.goto(`${board.url}match`);
  await page.waitForFunction(() => window.inward?.settled());
  const said = await page.textContent('#nightly');
  assert.match(said, /DOES NOT MATCH 12 h ago, from 380 readings of the record\..*Outside: 2\..*Next: Look at leak L-gown\..*The night before: MATCHES WITHIN ITS ±\..*leak L-gown, area: by 0\.31 ± 0\.12 over 3 nights/s);
  assert.doesNotMatch(said, /door D1/);
  await page.context().close();
});

test('what is known better comes as a file, the bytes of the board\u2019s own', () => shown(async (page) => {
  await page.setInputFiles('#file', balancing);
  await answered(page, 1);
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('#overlay')]);
  assert.equal(download.suggestedFilename(), 'fitted.yaml');
  assert.equal(readFileSync(await download.path(), 'utf8'), await (await post('match-overlay?file=balancing.csv', readFileSync(balancing))).text());
}));

test('the page has no fault that a checker of accessibility finds, large targets, and no scrolling sideways', async () => {
  for (const options of [phone, desk])
    await shown(async (page) => {
      await page.setInputFiles('#file', balancing);
      await answered(page, 1);
      await page.evaluate(() => { for (const at of document.querySelectorAll('main details')) at.open = true; });
      assert.deepEqual((await axe(page)).broken, []);
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), options.viewport.width);
      for (const box of await page.$$eval('main button, main select, main input, .file, .way, main summary', (all) => all.map((e) => e.getBoundingClientRect().height))) assert.ok(box >= 44 || box === 0, String(box));
    }, options);
});

test('on paper stand the verdict and all rows, without what is entered', () => shown(async (page) => {
  await page.setInputFiles('#file', balancing);
  await answered(page, 1);
  await page.emulateMedia({ media: 'print' });
  await page.evaluate(() => window.dispatchEvent(new Event('beforeprint')));
  assert.equal(await page.isVisible('.entry'), false);
  assert.equal(await page.isVisible('#print'), false);
  assert.equal(await page.isVisible('#verdict'), true);
  assert.equal(await page.$$eval('[data-reading]', (all) => all.filter((e) => e.getBoundingClientRect().height > 0).length), 59);
}));
