// What is live: a day of the demo suite replayed, seen by stream, pages and record.
import assert from 'node:assert/strict';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, listOfPages, quillmere, root, serve } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-live-'));
let board, browser;
before(async () => {
  board = await serve(quillmere, '--record', join(folder, 'q.record'), '--replay', join(root, 'examples/quillmere/day.csv'),
    '--source', 'trend', '--speed', '3000');
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); rmSync(folder, { recursive: true, force: true }); });

const at = (path) => board.url.replace(/\/$/, '') + path;
const get = async (path) => { const r = await fetch(at(path)); return { status: r.status, body: await r.json() }; };
const post = async (path, body, headers = {}) => {
  const r = await fetch(at(path), { method: 'POST', headers: { 'Content-Type': 'application/json', ...headers }, body: typeof body === 'string' ? body : JSON.stringify(body) });
  return { status: r.status, body: await r.json() };
};
const until = async (ask, good, ms = 20000) => {
  for (const end = Date.now() + ms; ;) {
    const got = await ask().catch(() => null);
    if (got && good(got)) return got;
    assert.ok(Date.now() < end, `not within ${ms} ms: ${JSON.stringify(got)?.slice(0, 300)}`);
    await new Promise((done) => setTimeout(done, 200));
  }
};
const page = async (path) => {
  const context = await browser.newContext({ viewport: { width: 1920, height: 1080 } });
  const p = await context.newPage();
  p.faults = [];
  p.on('pageerror', (e) => p.faults.push(e.message));
  await p.goto(at(path));
  return p;
};

test('a live answer says when, from what, and how old each value is', async () => {
  const { body } = await until(() => get('/api/live'), (r) => r.status === 200);
  assert.equal(body.schema, 'inward.live.1');
  assert.equal(body.zone, 'Europe/Paris');
  assert.match(body.now_local, /^2026-10-2[45] \d\d:\d\d:\d\d \+0[12]:00$/);
  assert.equal(body.replay_speed, 3000);
  for (const i of body.inputs) assert.ok(i.age === 'never' || (typeof i.age_s === 'number' && i.t), i.point);
});

test('the stream sends views one after the other, and signs of life between them', async () => {
  const stop = new AbortController(), r = await fetch(at('/api/stream'), { signal: stop.signal });
  assert.match(r.headers.get('content-type'), /^text\/event-stream/);
  let text = '';
  try {
    for await (const piece of r.body) {
      text += Buffer.from(piece).toString();
      if ((text.match(/^id: /gm) ?? []).length >= 3) break;
    }
  } finally { stop.abort(); }
  const numbers = [...text.matchAll(/^id: (\d+)\nevent: live\ndata: (\{.*\})$/gm)].map((m) => [Number(m[1]), JSON.parse(m[2]).number]);
  assert.ok(numbers.length >= 2);
  numbers.forEach(([id, number], i) => { assert.equal(id, number); if (i) assert.ok(id > numbers[i - 1][0]); });
});

test('each state that turned stands in the record, with its reason', async () => {
  const { body } = await until(() => get('/api/entries?from=2026-10-24T12:00&to=2026-10-24T15:00&kind=event'), (r) => r.status === 200 && r.body.entries.some((e) => /^short, before that near limit: /.test(e.text)), 40000);
  body.entries.forEach((e, i) => { assert.match(e.sha256, /^[0-9a-f]{64}$/); if (i) assert.equal(e.number, body.entries[i - 1].number + 1); });
});

test('a plot holds what was said, and nothing where nothing was', async () => {
  const { body } = await until(() => get('/api/plot?point=A1-sash&from=2026-10-24T10:00&to=2026-10-24T14:00&most=200'), (r) => r.status === 200 && r.body.good_s.at(-1) > 0);
  body.t_s.forEach((t, i) => { if (t < Date.parse('2026-10-24T09:58:00Z') / 1000) { assert.equal(body.mean_si[i], null); assert.equal(body.good_s[i], 0); } });
  for (const x of body.max_si) assert.ok(x === null || (x >= 0 && x <= 0.7));
});

test('what a person enters stays, and only the board\u2019s own pages may enter it', async () => {
  const entry = { kind: 'note', about: 'A3', who: 'test', text: 'baffle looked at' };
  const first = await post('/api/entry', entry);
  assert.equal(first.status, 200, JSON.stringify(first.body));
  assert.match(first.body.hash, /^[0-9a-f]{64}$/);
  for (const [headers, body, status] of [
    [{ Origin: 'http://elsewhere.example' }, entry, 403], [{ 'Content-Type': 'text/plain' }, entry, 415], [{}, '{"kind": ', 400],
    [{}, { ...entry, kind: 'event' }, 400], [{}, { ...entry, who: '' }, 400], [{}, { ...entry, about: 'A99' }, 400],
    [{}, { ...entry, more: 1 }, 400], [{}, '{"kind": "note", "kind": "note"}', 400], [{}, '['.repeat(60000), 400],
    [{}, JSON.stringify({ ...entry, text: 'x'.repeat(70000) }), 413]]) {
    const refused = await post('/api/entry', body, headers);
    assert.equal(refused.status, status, JSON.stringify(refused.body));
    assert.ok(refused.body.error);
  }
  assert.equal((await get('/api/entry')).status, 405);
  assert.equal((await post('/api/hand', { point: 'A1-sash', value: '0.4', unit: 'm', who: 'test' })).status, 400); // no point of a person
  assert.equal((await post('/api/webhook/trend', {})).status, 404);
});

test('a withdrawn station is shown so until it is released', async () => {
  const of = async () => (await get('/api/live')).body.stations.find((s) => s.id === 'S1');
  assert.equal((await post('/api/entry', { kind: 'withdrawn', about: 'S1', who: 'test', text: 'sash stuck' })).status, 200);
  await until(of, (s) => s.withdrawn === true);
  const { is, who, why, text, age_s } = (await of()).condition;
  assert.deepEqual([is, who, why], ['withdrawn', 'test', 'sash stuck']);
  assert.match(text, /^Withdrawn from use by test since 20..-.*: sash stuck$/);
  assert.ok(age_s >= 0);
  const tablet = await page('/station/S1');
  await tablet.waitForFunction(() => document.querySelector('#line').textContent === 'WITHDRAWN');
  assert.match(await tablet.textContent('#why'), /by test since 20.*: sash stuck/);
  assert.equal((await post('/api/entry', { kind: 'released', about: 'S1', who: 'test', text: 'mended' })).status, 200);
  await until(of, (s) => s.withdrawn === false);
  await tablet.waitForFunction(() => /Condition: (parked|working|open and unattended|blocked sash)\. /.test(document.querySelector('#why').textContent));
  assert.deepEqual(tablet.faults, []);
  await tablet.context().close();
});

test('the pages show what is live and say so; a trial beside it says so too', async () => {
  const air = await page('/air');
  await air.waitForFunction(() => /REPLAY/.test(document.querySelector('#age').textContent));
  assert.equal(await air.isHidden('#trial'), true);
  await air.click('[data-act="door"][data-of="D2"]');
  await air.waitForSelector('#trial:not([hidden])');
  assert.match(await air.textContent('#trial-what'), /1 change to what is now/);
  await air.click('#back');
  await air.waitForFunction(() => /REPLAY/.test(document.querySelector('#age').textContent));
  assert.deepEqual(air.faults, []);
  await air.context().close();
  const wall = await page('/wall');
  await wall.waitForFunction(() => /REPLAY/.test(document.querySelector('#live').textContent));
  assert.deepEqual(wall.faults, []);
  await wall.context().close();
});

test('what needs a person stands once, says what to do, and who has seen it', async () => {
  const { body } = await until(() => get('/api/live'), (r) => r.body?.alarms?.length > 0, 60000);
  for (const a of body.alarms) {
    assert.ok(a.message.length <= 160, a.message);
    assert.ok(a.message.endsWith(a.action) && a.cause && a.consequence && a.source, a.message);
  }
  const first = body.alarms.find((a) => a.state === 'active' || a.state === 'returned');
  assert.ok(first, 'one waits for a person');
  const record = await page('/record');
  await record.waitForSelector('#alarms [data-seen]');
  await record.click(`#alarms [data-seen="${first.about}"]`); // nobody said who
  assert.equal(await record.evaluate(() => document.activeElement.id), 'alarm-who');
  await record.fill('#alarm-who', 'E. Test');
  await record.click(`#alarms [data-seen="${first.about}"]`);
  await until(() => get('/api/live'), (r) => !r.body.alarms.some((a) => a.about === first.about && a.since === first.since && a.state === first.state));
  const entries = (await get(`/api/entries?kind=acknowledged&about=${first.about}`)).body.entries;
  assert.equal(entries.at(-1).who, 'E. Test');
  assert.deepEqual(record.faults, []);
  await record.context().close();
  assert.equal((await post('/api/entry', { kind: 'shelved', about: 'A1', who: 'E. Test', text: 'moved tomorrow' })).status, 400);
  assert.equal((await post('/api/entry', { kind: 'shelved', about: 'A1', who: 'E. Test', text: 'moved tomorrow', until: '2026-12-31 00:00' })).status, 400);
});

// The replay has alarms of its own, and which of them stand is the day's: these pages are told a view with others.
const told = async (path, alarms) => {
  const { body: view } = await get('/api/live');
  const whole = alarms.map((a) => ({ about: 'AX', when: 'state', state: 'active', state_text: 'active', is_so: true, since: view.now, since_s: 60,
    message: `${a.priority} here. Do this.`, measured: '', action: 'Do this.', within_s: 60, cause: '', consequence: '', source: '', who: null, explains: [], ...a }));
  const context = await browser.newContext({ viewport: { width: 1920, height: 1080 } }), p = await context.newPage();
  p.faults = [];
  p.on('pageerror', (e) => p.faults.push(e.message));
  await p.addInitScript(() => {
    delete window.SharedWorker;
    window.EventSource = class { addEventListener(name, hear) { if (name === 'here') setInterval(hear, 1000); } };
  });
  await p.route('**/api/live', (route) => route.fulfill({ json: { ...view, alarms: whole } }));
  await p.goto(at(path));
  await p.waitForFunction(() => /REPLAY/.test(document.body.textContent));
  return p;
};
const said = (p, id) => p.$eval(id, (e) => e.innerText.replace(/\s+/g, ' ').trim());

test('the first alarm stands under the act on Air and wall, the others are counted, and none is no line', async () => {
  const many = [{ priority: 'high', is_so: false, state: 'returned' }, { priority: 'low' }, { priority: 'urgent' }, { priority: 'high' }, { priority: 'urgent', state: 'shelved' }];
  const air = await told('/air', many);
  assert.equal(await said(air, '#alarm-line'), '\u25b2 URGENT urgent here. Do this. \u00b7 and 2 more');
  assert.equal(await air.getAttribute('#alarm-more', 'href'), '/record');
  assert.equal(await said(air, '.pages > [href="/record"]'), 'Record \u00b7 3');
  assert.deepEqual((await axe(air)).broken, []);
  await air.click('[data-act="door"][data-of="D2"]'); // beside a trial it is still so, and says of when
  await air.waitForSelector('#trial:not([hidden])');
  assert.match(await said(air, '#alarm-line'), /^Now: \u25b2 URGENT/);
  const wall = await told('/wall', many);
  assert.equal(await said(wall, '#alarm'), '\u25b2 URGENT urgent here. Do this. \u00b7 and 2 more');
  assert.equal(await wall.$$eval('#alarm a', (all) => all.length), 0);
  assert.deepEqual((await axe(wall)).broken, []);
  const one = await told('/air', [{ priority: 'high' }]);
  assert.equal(await said(one, '#alarm-line'), '\u25c6 HIGH high here. Do this.');
  const low = await told('/air', [{ priority: 'low' }]), none = await told('/wall', []);
  assert.equal(await low.isHidden('#alarm-line'), true);
  assert.equal(await said(low, '.pages > [href="/record"]'), 'Record \u00b7 1');
  assert.equal(await none.isHidden('#alarm'), true);
  for (const p of [air, wall, one, low, none]) { assert.deepEqual(p.faults, []); await p.context().close(); }
});

test('a wall opened from the list of stations shows what is now, and no scene, where something is connected', async () => {
  const list = await page('/stations');
  await list.waitForFunction(() => document.querySelector('#scene-name').textContent === 'what is now');
  await list.click('.wall-form button');
  await list.waitForFunction(() => document.querySelector('.pool'));
  assert.doesNotMatch(list.url(), /scene/);
  assert.doesNotMatch(await list.innerText('body'), /SCENE|nothing is connected/);
  assert.deepEqual(list.faults, []);
  await list.context().close();
});

test('what is not known of a station says what to do first, and its button does not agree with what was not told', async () => {
  const p = await page('/may?station=A3');
  await p.waitForSelector('#process option[value=P7]', { state: 'attached' });
  await p.selectOption('#process', 'P7');
  await p.fill('#who', 'U14');
  await p.click('#ask button');
  const round = await p.waitForSelector('li:has([data-confirm="round looked at"])');
  assert.match(await round.innerText(), /Nobody told of a round[\s\S]*Walk a round here: look, and say what is so\.[\s\S]*I have looked: nothing against it/);
  assert.deepEqual(p.faults, []);
  await p.context().close();
});

// 160 characters are the longest message there is; 16 minutes of arc, as for every large word of a wall (NUREG-0700).
test('the longest alarm on a wall is whole, and every large word stays large enough', async () => {
  const wall = await told('/wall', [{ priority: 'urgent', message: 'The mains are short of air '.repeat(6).slice(0, 160) }, { priority: 'low' }]);
  await wall.waitForFunction(() => document.documentElement.dataset.arcmin);
  assert.ok(await wall.evaluate(() => Number(document.documentElement.dataset.arcmin)) >= 16);
  const whole = await wall.$eval('#alarm', (e) => e.scrollWidth <= e.clientWidth + 1 && e.getBoundingClientRect().bottom <= document.querySelector('#pools').getBoundingClientRect().top + 1);
  assert.ok(whole);
  assert.ok(await wall.$eval('#far', (e) => e.scrollHeight <= e.clientHeight + 1));
  await wall.context().close();
});

// Who moves a sash by keys keeps it while the line comes and the plan grows less high.
test('an alarm that comes takes no focus from the plan', async () => {
  const air = await told('/air', [{ priority: 'high' }]);
  await air.focus('[data-id="A1"]');
  const from = await air.$eval('#plan-box', (e) => e.clientHeight);
  await air.evaluate(() => { document.querySelector('#alarm-line').style.height = '90px'; });
  await air.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  assert.ok(await air.$eval('#plan-box', (e) => e.clientHeight) < from, 'the plan was drawn anew');
  assert.equal(await air.evaluate(() => document.activeElement.dataset.id), 'A1');
  await air.context().close();
});

test('the record page plots, lists and enters, without a fault of access', async () => {
  const record = await page('/record');
  await record.waitForSelector('.u-over');
  await record.waitForSelector('#entries td');
  await record.fill('#entry-text', 'round done');
  await record.fill('#entry-who', 'test');
  await record.click('#entry button[type=submit]');
  await record.waitForFunction(() => /^Entry \d+, /.test(document.querySelector('#entered').textContent));
  assert.deepEqual(record.faults, []);
  assert.deepEqual((await axe(record)).broken, []);
  await record.context().close();
});

test('a planned stop is announced on the Record page, listed, and taken back', async () => {
  const record = await page('/record');
  await record.waitForFunction(() => document.querySelector('#plan-about')?.options.length > 0);
  const { body: live } = await get('/api/live');
  const at = (h) => new Date(Date.parse(live.now) + h * 3600e3).toISOString();
  await record.fill('#alarm-who', 'M. Rao');
  await record.evaluate(() => { document.querySelector('#plan-stop').closest('details').open = true; });
  await record.selectOption('#plan-about', 'AF');
  await record.fill('#plan-from', at(30));
  await record.fill('#plan-until', at(20));
  await record.fill('#plan-why', 'filter change');
  await record.click('#plan-stop button');
  await record.waitForFunction(() => /Not entered: it would end before it begins/.test(document.querySelector('#entered').textContent));
  await record.fill('#plan-until', at(32));
  await record.click('#plan-stop button');
  await record.waitForFunction(() => /Planned: AF fan lost.*M\. Rao: filter change/.test(document.querySelector('#planned').textContent));
  assert.equal((await get('/api/live')).body.planned.length, 1);
  await record.click('#planned button');
  await record.waitForFunction(() => document.querySelector('#planned').textContent === '');
  assert.deepEqual(record.faults, []);
  assert.deepEqual((await axe(record)).broken, []);
  await record.context().close();
});

test('which alarms help is told, as JSON and as a page', async () => {
  const { body } = await get('/api/alarms');
  assert.equal(body.schema, 'inward.alarm-figures.1');
  assert.equal(body.told, body.urgent + body.high + body.low);
  const figures = await page('/alarms');
  assert.match(await figures.textContent('main'), /told: .* a day/);
  assert.deepEqual(figures.faults, []);
  assert.deepEqual((await axe(figures)).broken, []);
  await figures.context().close();
  assert.equal((await get('/api/alarms?from=yesterday')).status, 400);
  assert.equal((await get('/api/alarms?most=3')).status, 400);
});

test('a night says what it cost, as JSON and as a page that is drawn', async () => {
  const whole = (r) => r.status === 200 && r.body.ended && r.body.excess.best_m3 !== null; // what is replayed is kept a little later
  const { body } = await until(() => get('/api/past?night=2026-10-24'), whole, 120000);
  assert.equal(body.night, '2026-10-24');
  assert.equal(body.stations[0].id, 'A7');
  assert.ok(body.excess.least_m3 > 1000 && body.excess.least_m3 <= body.excess.most_m3, JSON.stringify(body.excess));
  for (const s of body.stations) // side by side, and no longer than the night
    for (let i = 1; i < s.stretches.length; i++) assert.equal(s.stretches[i].from, s.stretches[i - 1].to, s.id);
  // the air state is worked out beside it, and told as the command line tells it
  const judged = await until(() => get('/api/past?night=2026-10-24'), (r) => r.status === 200 && r.body.all.short_s !== null, 120000);
  assert.ok(judged.body.all.short_s > 0, JSON.stringify(judged.body.all));
  const p = await page('/night?night=2026-10-24');
  await p.waitForSelector('svg rect');
  assert.match(await p.textContent('main'), /The shared air: short (\d+ h )?\d+ min/);
  assert.equal(await p.$('meta[http-equiv]'), null);
  assert.equal(await p.textContent('h1'), 'What did the night cost, and why?');
  assert.match(await p.textContent('main section p'), /^The night moved [\d ]+ m\u00b3 more than parked.* at A7, blocked sash/);
  assert.equal(await p.textContent('tbody tr th'), 'A7');
  assert.match(await p.textContent('svg'), /\u25a0 blocked/);
  assert.deepEqual(p.faults, []);
  assert.deepEqual((await axe(p)).broken, []);
  for (const width of [390, 1280, 1920]) {
    await p.setViewportSize({ width, height: 900 });
    assert.equal(await p.evaluate(() => document.documentElement.scrollWidth), width);
  }
  for (const box of await p.$$eval('.turn a', (list) => list.map((a) => a.getBoundingClientRect().height))) assert.ok(box >= 44);
  await p.click('.turn a:first-child');
  await p.waitForSelector('text=before the record began');
  await p.context().close();
  for (const night of ['2026-02-30', '2999-01-01', 'yesterday']) assert.equal((await get(`/api/past?night=${night}`)).status, 400, night);
});

test('a moment of the past is explained, as JSON and as a page', async () => {
  const { body: live } = await get('/api/live');
  const moment = encodeURIComponent(live.now);
  const { body } = await until(() => get(`/api/past?at=${moment}`), (r) => r.status === 200, 120000);
  assert.equal(body.schema, 'inward.why.1');
  assert.ok(['ample', 'near_limit', 'short', 'not_known'].includes(body.state));
  const past = await page(`/past?at=${moment}`);
  await past.waitForSelector('section');
  assert.deepEqual(past.faults, []);
  assert.deepEqual((await axe(past)).broken, []);
  await past.context().close();
  assert.equal((await get('/api/past?at=yesterday')).status, 400);
  assert.equal((await get('/api/past')).status, 400);
});

test('every page says in its head that a table is replayed, and today is a day of that table', async () => {
  for (const { path } of (await listOfPages()).pages) {
    const one = await page(path);
    await one.waitForFunction(() => /REPLAY/.test(document.querySelector('.head .suite').textContent), null, { timeout: 20000 }).catch(() => assert.fail(`${path}: no REPLAY in its head`));
    assert.deepEqual(one.faults, [], path);
    await one.context().close();
  }
  const day = await page('/day');
  await day.waitForFunction(() => /\d{4}-\d\d-\d\d/.test(document.querySelector('#date').textContent));
  const shown = Date.parse(/\d{4}-\d\d-\d\d/.exec(await day.textContent('#date'))[0]), now = Date.parse((await get('/api/live')).body.now);
  assert.ok(Math.abs(now - shown) < 3 * 86400000, `${new Date(shown).toISOString()} is not ${new Date(now).toISOString()}`);
  await day.context().close();
});

test('a board that stops is not known within ten seconds, on the page too', async () => {
  const wall = await page('/wall');
  await wall.waitForFunction(() => /REPLAY/.test(document.querySelector('#live').textContent));
  const began = Date.now();
  assert.equal(await board.stop(), 0);
  await wall.waitForFunction(() => /NOT KNOWN/.test(document.querySelector('#act').textContent), null, { timeout: 12000 });
  assert.ok(Date.now() - began < 10000 + 2000, 'ten seconds, and two for a busy machine');
  await wall.context().close();
  assert.ok(existsSync(join(folder, 'q.record')));
});
