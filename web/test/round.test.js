// Rounds and runs on a phone: nothing is ticked beforehand, what is not answered was not looked at, and what was told stands at once.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, inward, looks, openFar, quillmere, serve, suite } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-round-')), record = join(folder, 'r.record');
let board, bare, lone, browser;
before(async () => {
  board = await serve(quillmere, '--record', record);
  bare = await serve(quillmere); // connected, and nothing kept
  lone = await serve(suite, '--scene', 'busy');
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); await bare?.stop(); await lone?.stop(); rmSync(folder, { recursive: true, force: true }); });

const phone = { viewport: { width: 360, height: 780 }, hasTouch: true, ...looks };
const shown = async (path, run, at = board, options = phone) => {
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
const post = async (path, body, at = board) => {
  const reply = await fetch(`${at.url}${path}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  return { status: reply.status, body: await reply.json() };
};
const place = async (id) => (await get('api/rounds')).stations.find((s) => s.station === id);
const choose = async (page, item, said) => {
  await page.tap(`[data-item="${item}"][data-said="${said}"]`);
  await page.waitForSelector(`[data-item="${item}"][data-said="${said}"][aria-pressed="true"]`);
};

test('before anybody looked every station is not known, and no answer is ticked', () => shown('round?station=A3', async (page) => {
  await says(page, '#moments', 'NOT KNOWN No round is told. At no moment known clear');
  assert.equal(await page.$$eval('.choice[aria-pressed="true"]', (all) => all.every((b) => b.dataset.said === 'unseen')), true);
  await page.tap('#write');
  await says(page, '#told', 'Not written down: who tells');
  await page.fill('#who', 'E. Test');
  await page.tap('#write');
  await says(page, '#told', 'nothing was looked at');
  assert.equal((await place('A3')).last, null);
}));

test('a yes with a date asks for it; a no stays open; what was not touched was not looked at', () => shown('round?station=A3', async (page) => {
  await page.fill('#who', 'E. Test');
  await choose(page, 'deck', 'no');
  await choose(page, 'label', 'yes');
  await choose(page, 'gel', 'yes');
  await page.fill('#words', 'beaker under the sash');
  await page.tap('#write');
  await says(page, '#told', "until when does 'gel' keep");
  await page.fill('[data-until="gel"]', '2099-03-01');
  await page.tap('#write');
  await says(page, '[data-found="deck"]', 'OPEN FINDING Last told: NO, open since .* Said: beaker under the sash');
  await says(page, '[data-found="gel"]', 'Yes, until 2099-03-01');
  await says(page, '[data-found="waste"]', 'NOT KNOWN Never looked at');
  assert.equal((await place('A3')).state, 'open');
  assert.equal((await place('A3')).known_clear, null);
  assert.doesNotMatch(await page.innerText('main'), /E\. Test|\bsafe\b/); // names are off
  await page.check('#names');
  await says(page, '#moments', 'by E\\. Test');
}));

test('one round that says yes to all makes a known clear moment, and the next station is one tap away', () => shown('round?station=A4', async (page) => {
  await page.fill('#who', 'E. Test');
  for (const item of ['label', 'deck', 'glass', 'waste', 'shower']) await choose(page, item, 'yes');
  await page.tap('#write');
  await says(page, '#moments', 'looked at Last round .* Known clear at .*, and at no other moment');
  await page.tap('#next');
  await page.waitForURL(/station=A5/);
  await says(page, '#about', 'A5');
}));

test('the list says which station wants somebody', () => shown('round', async (page) => {
  await says(page, '[data-place="A3"]', 'OPEN FINDING');
  await says(page, '[data-place="A4"]', 'looked at Known clear at');
  await says(page, '[data-place="S1"]', 'NOT KNOWN');
  assert.equal(await page.isVisible('#write'), false);
}));

test('a no about glass says which mark stood there; what lost its status stays until somebody writes what was done', async () => {
  await shown('round?station=S1', async (page) => {
    await page.fill('#who', 'E. Test');
    await choose(page, 'glass', 'no');
    await page.selectOption('#mark', 'violet square F');
    await page.waitForSelector('#piece');
    await page.fill('#piece', 'beaker 1 L');
    await page.tap('#write');
    await says(page, '#glass', 'violet square F, beaker 1 L LOST ITS STATUS It is A3’s: do not use');
    assert.doesNotMatch(await page.innerText('#glass'), /E\. Test|\bsafe\b/);
  });
  await shown('round', async (page) => {
    await says(page, '#glass', 'S1 violet square F, beaker 1 L LOST ITS STATUS');
    await page.tap('#glass a');
    await page.waitForURL(/station=S1/);
    await page.fill('#who', 'E. Test');
    await page.tap('[data-glass-act=cleaned]'); // by which procedure is to be said first
    await page.waitForFunction(() => document.activeElement?.id.startsWith('how-'));
    await page.fill('.glass.lost [id^=how-]', 'GL-3');
    await page.tap('[data-glass-act=cleaned]');
    await page.waitForFunction(() => !document.querySelector('.glass.lost'));
    await says(page, '#glass', 'violet square F: seen here 1 time since');
  });
  const { cases } = await get('api/sightings');
  assert.deepEqual(cases.map((c) => [c.station, c.left, c.done, c.how]), [['S1', 0, 'cleaned', 'GL-3']]);
});

test('a drawer that is counted says what is missing of what the suite says', () => shown('round?station=A3', async (page) => {
  await says(page, '#glass', 'beaker 1 L drawer 1 NOT KNOWN Never counted; the suite says 6');
  await page.fill('#who', 'E. Test');
  await page.fill('.drawer input', '5');
  await page.tap('.drawer button');
  await says(page, '#glass', '1 MISSING 5 of 6 counted');
}));

test('what the board answers of rounds is what the verb prints, byte for byte', async () => {
  const { now } = await get('api/rounds'), copy = `${record}.copy`;
  const reply = await fetch(`${board.url}api/rounds?at=${now}`);
  for (const end of ['', '-wal', '-shm']) try { cpSync(record + end, copy + end); } catch { /* not there */ }
  const said = spawnSync(inward, ['round', quillmere, '--record', copy, '--at', now, '--json'], { encoding: 'utf8' });
  assert.equal(await reply.text(), said.stdout, said.stderr);
  assert.equal(said.status, 1);
});

test('what the board answers of glass is what the verb prints, byte for byte', async () => {
  const { now } = await get('api/sightings'), copy = `${record}.glass`;
  const reply = await fetch(`${board.url}api/sightings?at=${now}`);
  for (const end of ['', '-wal', '-shm']) try { cpSync(record + end, copy + end); } catch { /* not there */ }
  const said = spawnSync(inward, ['glass', quillmere, '--record', copy, '--when', now, '--json'], { encoding: 'utf8' });
  assert.equal(await reply.text(), said.stdout, said.stderr);
  for (const [body, why] of [[{ act: 'lost' }, /seen, cleaned/], [{ act: 'seen', about: 'S1' }, /what stands on it/], [{ act: 'cleaned', entry: '99' }, /tells nothing of glass/]]) {
    const { status, body: refused } = await post('api/sighting', { who: 'E. Test', ...body });
    assert.equal(status, 400);
    assert.match(refused.error, why);
  }
  assert.equal((await fetch(`${bare.url}api/sightings`)).status, 409);
});

test('a round that cannot be meant is refused with every reason, and changes nothing', async () => {
  const before = await place('A4'), body = { about: 'A4', who: 'E. Test' };
  for (const [more, why] of [[{ yes: 'gel' }, /nothing that is looked at there/], [{ all: 'no' }, /yes or unseen/], [{ yes: 'deck', no: 'deck' }, /twice/], [{ yes: 'deck', colour: 'red' }, /colour/],
    [{ yes: 'deck', who: 'inward' }, /how the program itself signs/], [{ yes: 'deck', at: '2099-01-01 10:00' }, /not come yet/], [{ about: 'Z9', yes: 'deck' }, /no station/], [{ yes: 1 }, /must be a text/]]) {
    const { status, body: said } = await post('api/round', { ...body, ...more });
    assert.equal(status, 400, JSON.stringify(more));
    assert.match(said.error, why);
  }
  assert.deepEqual({ ...await place('A4'), found: null }, { ...before, found: null });
  assert.equal((await fetch(`${board.url}api/rounds?station=A4`)).status, 400);
  assert.equal((await fetch(`${bare.url}api/rounds`)).status, 409);
  assert.equal((await fetch(`${lone.url}api/rounds`)).status, 404);
  assert.equal((await post('api/round', { ...body, yes: 'deck' }, bare)).status, 409);
});

test('a run is told with what the sign needs, read, said over and cleared; its station shows it in one line', async () => {
  await shown('run?station=A4', async (page) => {
    await says(page, '#runs', 'No run is told of A4');
    await page.fill('#who', 'E. Test');
    for (const [id, text] of [['what', 'nitride strip'], ['holds', '5 L phosphoric acid 85 %'], ['hazards', 'hot acid'], ['until', '2099-12-01T01:00']]) await page.fill(`#${id}`, text);
    await page.tap('#start-form button');
    await says(page, '#told', 'call: must be said');
    await page.fill('#call', 'E. Test, 4217');
    await page.tap('#start-form button');
    await says(page, '[data-run="A4"]', 'nitride strip RUNS Until 1 Dec, 01:00');
    assert.equal(await page.isVisible('#start'), false);
    await page.fill('#read-A4', '158');
    await page.tap('[data-run="A4"] [data-act=over]');
    await says(page, '[data-run="A4"]', 'COOLS Until .* 158 °C');
  });
  await shown('station/A4', async (page) => {
    await says(page, '#run-line', '^COOLS\\. Until .*Call: E\\. Test, 4217$');
    assert.equal(await page.getAttribute('#to-run', 'href'), '/run?station=A4');
    assert.equal(await page.getAttribute('#to-round', 'href'), '/round?station=A4');
  }, board, { viewport: { width: 1024, height: 768 }, ...looks });
  await shown('run', async (page) => {
    await says(page, '[data-run="A4"]', 'COOLS');
    await page.fill('#who', 'E. Test');
    await page.fill('#words-A4', 'cold, emptied');
    await page.tap('[data-run="A4"] [data-act=cleared]');
    await says(page, '#runs', 'No run is told. What nobody told is not known here');
  });
});

test('where nothing is kept or connected both pages say so and offer nothing to tell', async () => {
  for (const [at, why] of [[bare, 'othing is kept here'], [lone, 'othing is connected']])
    for (const path of ['round?station=A3', 'run?station=A4'])
      await shown(path, async (page) => {
        await says(page, '#note', why);
        assert.equal(await page.isVisible('.do'), false);
      }, at);
});

test('for gloves and every eye: 44 pixels, nothing sideways at 360, and axe finds nothing', async () => {
  await post('api/run', { act: 'started', about: 'A1', who: 'E. Test', what: 'piranha, cooling', holds: '2 L of sulfuric acid and hydrogen peroxide', hazards: 'heats itself, gives off gas', call: 'E. Test, 4217', until: '2099-12-01 01:00' });
  await post('api/sighting', { act: 'seen', about: 'S1', who: 'E. Test', mark: 'unmarked', count: '2' });
  for (const path of ['round', 'round?station=A3', 'round?station=S1', 'run', 'run?station=A4'])
    await shown(path, async (page) => {
      await page.waitForSelector(path.startsWith('run?') ? '#start:not([hidden])' : '.item, .go');
      const small = await page.$$eval('button, input, select, main a', (all) => all.filter((e) => e.checkVisibility() && (e.getBoundingClientRect().height < 44 || e.getBoundingClientRect().width < 44)).map((e) => e.outerHTML));
      assert.deepEqual(small, []);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth), path);
      assert.deepEqual((await axe(page)).broken, [], path);
      if (process.env.LOOK) await page.screenshot({ path: join(process.env.LOOK, `${path.replace(/\W+/g, '-')}.png`), fullPage: true });
    });
});
