// The lists for when people leave, come back or the building acts, as pages: with nothing connected, with values that
// grow old or contradict each other, in an alarm of the building, and after all work stopped.
import assert from 'node:assert/strict';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, here, looks, open, openFar, resized, serve, suite } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-lists-'));
const record = join(folder, 'l.record'), gate = join(folder, 'gate.html');
const start = () => serve(suite, '--with', join(here, 'fixtures', 'lists.yaml'), '--record', record, '--responder', gate);
let board, bare, browser;
before(async () => {
  board = await start();
  bare = await serve(suite, '--scene', 'busy');
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); await bare?.stop(); rmSync(folder, { recursive: true, force: true }); });

const hand = async (point, value, unit) => {
  const reply = await fetch(`${board.url}api/hand`, { method: 'POST', headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ point, value: String(value), who: 'E. Test', ...(unit ? { unit } : {}) }) });
  assert.equal(reply.status, 200, await reply.text());
};
const post = async (path, body, status = 200) => {
  const reply = await fetch(`${board.url}api/${path}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  const said = await reply.json();
  assert.equal(reply.status, status, JSON.stringify(said));
  return said;
};
const list = async (name, of = board) => (await fetch(`${of.url}api/${name}`)).json();
const row = (page, key, about) => {
  const found = page.sections.find((s) => s.key === key).rows.find((r) => r.about === about);
  return found && { ...found, said: Object.fromEntries(found.said.map((c) => [c.column, c.text])) };
};
// What was entered is believed a moment later.
const until = async (name, good) => {
  for (let i = 0; i < 60; i++) {
    const page = await list(name);
    if (good(page)) return page;
    await new Promise((go) => setTimeout(go, 100));
  }
  assert.fail(`${name}: ${JSON.stringify(await list(name), null, 1)}`);
};
const shown = async (path, run, of = board, options = looks) => {
  const page = await openFar(browser, `${of.url}${path}`, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const says = (page, of, words) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at)?.innerText.replace(/\s+/g, ' ') ?? ''), [of, words]);

test('with nothing connected each list is a form that says so, and no station is taken as down', async () => {
  for (const name of ['leave', 'responder', 'restart', 'handover'])
    await shown(name, async (page) => {
      await says(page, '.notice', 'Nothing is connected');
      await says(page, '.of', 'a form: of no moment');
    }, bare);
  const leave = await list('leave', bare);
  assert.equal(leave.of, null);
  assert.equal(leave.sections.find((s) => s.key === 'not_known').rows.length, 5);
  assert.equal((await list('responder', bare)).act, 'VENTILATION NOT KNOWN: AF, SF, MU');
});

test('before anything was heard all of it is to be looked at', async () => {
  const leave = await list('leave');
  assert.equal(leave.act, 'GO AND LOOK: 6.'); // five stations and a door
  assert.equal(row(await list('responder'), 'stations', 'A1').said.state, 'NOT KNOWN');
});

test('what people read is on the lists, and a sheet that follows shows it by itself', () => shown('leave', async (page) => {
  for (const [point, value, unit] of [['A1-sash', 'work'], ['A1-alarm', 'no'], ['A2-sash', 'parked'], ['A2-there', 'yes'], ['B1-flow', '400', 'm3/h'],
    ['AF-runs', '2'], ['SF-runs', '1'], ['MU-runs', 'yes'], ['D1-open', 'no'], ['inside', '3'], ['fire', 'no']]) await hand(point, value, unit);
  await says(page, '[data-key="up"]', 'A1 Etch hood Wet room sash up 0.45 m');
  await says(page, '[data-key="somebody"]', 'A2 Clean hood');
  await says(page, '#list', 'People inside: 3, as counted');
  const responder = await list('responder');
  assert.equal(responder.act, 'VENTILATION RUNNING, AS FAR AS IS MEASURED');
  assert.equal(row(responder, 'stations', 'A1').said.state, 'OPEN');
  assert.equal(row(responder, 'others', 'B1').said.state, 'sash down');
}));

test('two sources that disagree make a station one to be looked at', async () => {
  await hand('A1-too', 'parked');
  await hand('A1-sash', 'work');
  const leave = await until('leave', (p) => row(p, 'not_known', 'A1'));
  assert.match(row(leave, 'not_known', 'A1').said.found, /contradict/);
  assert.equal(row(await list('responder'), 'stations', 'A1').said.state, 'NOT KNOWN');
  await hand('A1-too', 'work');
  await hand('A1-sash', 'work');
  await until('leave', (p) => row(p, 'up', 'A1'));
});

test('a value that grew too old is not known, whatever it said', async () => {
  await hand('S1-sash', 'parked');
  await until('responder', (p) => row(p, 'others', 'S1'));
  await until('responder', (p) => row(p, 'stations', 'S1')?.state === 'not_known');
});

test('a print is remembered with its revision, and is out of date when a sash moves, with one act to print again', () => shown('responder', async (page) => {
  await page.evaluate(() => { window.print = () => { window.printed = (window.printed ?? 0) + 1; }; });
  await says(page, '.notice', 'No print of this sheet is known');
  await page.fill('#who', 'E. Test');
  await page.click('#print-form button');
  await page.waitForFunction(() => window.printed === 1);
  await says(page, '.notice', '^Printed .* by E\\. Test, revision \\d+: nothing on it has changed');
  await hand('A1-sash', 'parked');
  await hand('A1-too', 'parked');
  await says(page, '.notice', '^OUT OF DATE at the door: printed .* by E\\. Test, revision \\d+; now it is revision \\d+\\. Print again');
  await says(page, '.of', 'revision \\d+ \\([0-9a-f]{8}\\)');
  await page.click('#print-form button');
  await page.waitForFunction(() => window.printed === 2);
  const { entries } = await (await fetch(`${board.url}api/entries?kind=printed`)).json();
  assert.equal(entries.length, 2);
}));

test('a print of something else than what is now is refused, and so is one by nobody', async () => {
  assert.match((await post('printed', { who: 'E. Test', content: '00000000' }, 400)).error, /changed meanwhile/);
  assert.match((await post('printed', { who: '  ', content: '00000000' }, 400)).error, /who/);
  assert.match((await post('printed', { who: 'E. Test', revision: '1' }, 400)).error, /no field "revision"/);
});

test('the file at the gate is whole and says what the page says', async () => {
  for (let i = 0; i < 40 && !existsSync(gate); i++) await new Promise((go) => setTimeout(go, 100));
  await until('responder', () => readFileSync(gate, 'utf8').includes('VENTILATION RUNNING'));
  const html = readFileSync(gate, 'utf8');
  assert.ok(html.endsWith('</html>\n'));
  assert.match(html, /the board has stopped/);
  assert.ok(!existsSync(`${gate}.new`));
});

test('after a loss of power no station works until flow was measured since, or a person said what they saw, and a person released it', () => shown('restart', async (page) => {
  await says(page, '.act', 'NO STOP OF ALL WORK');
  await page.click('[data-stop="power"]');
  await says(page, '#said', 'who you are');
  await page.fill('#who', 'E. Test');
  await page.click('[data-stop="power"]');
  await says(page, '.act', 'NO WORK AT 5 OF 5 STATIONS');
  await says(page, '[data-about="B1"]', 'sash down, 400 m³/h; hot or running: look not seen yet: no work .* nobody yet');
  await page.click('[data-release="A2"]'); // no flow point there, and nothing said
  await says(page, '#said', 'say what was seen');
  await page.fill('#seen', 'own display reads 300');
  await page.click('[data-release="A2"]');
  await says(page, '[data-about="A2"]', 'E\\. Test, .*own display reads 300');
  await hand('B1-flow', '410', 'm3/h');
  await says(page, '[data-about="B1"]', '410 m³/h since');
  await page.click('[data-release="B1"]');
  await says(page, '.act', 'NO WORK AT 3 OF 5 STATIONS');
  assert.match((await post('stopped', { act: 'release', about: 'B1', who: 'E. Test' }, 400)).error, /already/);
  assert.match((await post('stopped', { act: 'release', about: 'Z9', who: 'E. Test', text: 'x' }, 400)).error, /station/);
  assert.match((await post('stopped', { act: 'stop', cause: 'water', who: 'E. Test' }, 400)).error, /power, evacuation or gas/);
}));

test('a restart list outlives the board, and so does the revision of the sheet', async () => {
  const was = await list('responder');
  await board.stop();
  board = await start();
  assert.match((await until('restart', (p) => p.needs_person)).act, /^NO WORK AT 3 OF 5/);
  assert.ok((await list('responder')).revision >= was.revision);
});

test('while stations wait for their release no page offers air for them', async () => {
  await shown('wall', async (page) => { await says(page, '#act', '^NO WORK AT 3 OF 5 STATIONS: NOT RELEASED'); await says(page, '#lower', 'restart list'); });
  await shown('station/A1', async (page) => { await says(page, '#line', '^NO WORK HERE$'); await says(page, '#next', 'restart list'); });
  await shown('station/B1', async (page) => { await page.waitForTimeout(600); assert.doesNotMatch(await page.innerText('#line'), /NO WORK/); });
  const page = await open(browser, `${board.url}air`);
  await says(page, '#act', '^NO WORK AT 3 OF 5 STATIONS');
  await page.context().close();
});

test('after gas nobody goes in before three questions are answered', () => shown('restart', async (page) => {
  await page.fill('#who', 'E. Test');
  await page.click('[data-stop="gas"]');
  await says(page, '.act', 'NOBODY GOES IN: SOURCE REMOVED\\? MEASURED\\? RELEASED BY WHOM\\?');
  assert.equal(await page.$('[data-release]'), null);
  assert.match((await post('stopped', { act: 'release', about: 'A1', who: 'E. Test', text: 'x' }, 400)).error, /first answer .* source removed/);
  assert.match((await post('stopped', { act: 'reentry', who: 'E. Test', removed: 'no, not yet', measured: 'yes, 0 ppm' }, 400)).error, /begin with yes/);
  await page.check('#is-removed');
  await page.check('#is-measured');
  await page.fill('#removed', 'bottle shut');
  await page.fill('#measured', '0 ppm at the door');
  await page.click('#reentry button');
  await says(page, '[data-key="before_going_in"]', 'bottle shut .*0 ppm at the door .*E\\. Test');
  await says(page, '.act', 'NO WORK AT 5 OF 5 STATIONS');
}));

test('in an alarm of the building every list says to follow the building', async () => {
  await hand('fire', 'yes');
  assert.match((await until('leave', (p) => /BUILDING/.test(p.act))).act, /LEAVE AS THE BUILDING SAYS, WITHOUT THIS LIST/);
  assert.match((await list('responder')).act, /^BUILDING ALARM/);
  assert.match((await until('restart', (p) => /BUILDING/.test(p.act))).act, /THE BUILDING'S ALARM IS ON: NOBODY GOES IN/);
  await hand('fire', 'no');
  // seen, and not told: the restart begins again by itself
  assert.match((await until('restart', (p) => !/ALARM IS ON/.test(p.act))).act, /NOBODY GOES IN: SOURCE/);
});

test('all fans lost at once are seen, and told by nobody', async () => {
  await hand('AF-runs', '0');
  await hand('SF-runs', '0');
  assert.match((await until('responder', (p) => /LOST: AF, SF/.test(p.act))).act, /^VENTILATION LOST: AF, SF/);
  for (let i = 0; i < 25 && !/all fans were lost/.test((await list('restart')).lines.join()); i++) await new Promise((go) => setTimeout(go, 1000));
  const restart = await list('restart');
  assert.match(restart.lines[0], /all fans were lost at once/);
  assert.match(row(restart, 'stations', 'B1').said.flow, /its fans do not run/);
  await hand('AF-runs', '2');
  await hand('SF-runs', '1');
});

test('a handover compares a part then and now; a part that is none, and a time that is none, are said on the page', async () => {
  await shown('handover?of=B1', async (page) => {
    await says(page, '[data-key="values"]', 'B1-flow \\(flow\\)');
    await says(page, '[data-key="reproduce"]', 'Only where nobody works, and after asking');
    assert.equal(await page.inputValue('input[name="of"]'), 'B1');
  });
  for (const [search, words] of [['?of=B9', 'no station, fan, main, supply, room or door'], ['?of=B1&at=soon', 'no day and time'], ['?of=B1&at=2999-01-01 00:00', 'not come yet'], ['?part=B1', 'no parameter']]) {
    const reply = await fetch(`${board.url}handover${search}`);
    assert.equal(reply.status, 400);
    assert.match(await reply.text(), new RegExp(words));
  }
});

test('a board that stopped answering is said over a page that is struck out', () => shown('leave', async (page) => {
  await page.route('**/*', (r) => r.abort());
  await page.evaluate(() => { const now = Date.now; const begun = now(); Date.now = () => now() + (now() - begun > 100 ? 60000 : 0); });
  await says(page, '#lost', 'has not answered for');
}));

test('for gloves and every eye: 44 pixels, no rule broken, nothing sideways; on paper one page', async () => {
  for (const name of ['leave', 'responder', 'restart', 'handover?of=A1'])
    await shown(name, async (page) => {
      for (const viewport of [{ width: 1920, height: 1080 }, { width: 1280, height: 800 }, { width: 390, height: 844 }]) {
        await resized(page, viewport);
        const low = await page.$$eval('button, input', (all) => all.filter((e) => e.checkVisibility()).map((e) => [e.outerHTML.slice(0, 60), e.getBoundingClientRect()]).filter(([, b]) => b.height < 43.5).map(([what]) => what));
        assert.deepEqual(low, []);
        assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${name} ${viewport.width}`);
        assert.deepEqual((await axe(page)).broken, [], `${name} ${viewport.width}`);
        if (process.env.LOOK) await page.screenshot({ path: join(process.env.LOOK, `${name.slice(0, 7)}-${viewport.width}.png`), fullPage: true });
      }
      if (name !== 'handover?of=A1') {
        const pdf = (await page.pdf({ format: 'A4' })).toString('latin1');
        assert.equal(pdf.match(/\/Type\s*\/Page\b/g).length, 1, name);
        if (process.env.LOOK) await page.pdf({ format: 'A4', path: join(process.env.LOOK, `${name}.pdf`) });
      }
    });
});
