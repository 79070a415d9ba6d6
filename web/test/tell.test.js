// Telling that something happened: two taps, kept at once; what more is known is added; nothing is lost in silence.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { axe, browse, here, looks, openFar, serve, suite } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-tell-'));
const feeds = ['--with', join(here, 'fixtures', 'connected.yaml')];
let board, browser;
before(async () => {
  board = await serve(suite, ...feeds, '--record', join(folder, 't.record'));
  browser = await browse();
});
after(async () => { await browser?.close(); await board?.stop(); rmSync(folder, { recursive: true, force: true }); });

const phone = { viewport: { width: 390, height: 844 }, hasTouch: true, ...looks };
const shown = async (run, options = phone, path = 'tell', url = board.url) => {
  const page = await openFar(browser, `${url}${path}`, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const says = (page, of, words) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at)?.innerText.replace(/\s+/g, ' ') ?? ''), [of, words]);
const incidents = async () => (await (await fetch(`${board.url}api/entries?kind=incident`)).json()).entries;
const post = async (body, path = 'api/incident', url = board.url) => {
  const r = await fetch(url + path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: typeof body === 'string' ? body : JSON.stringify(body) });
  return { status: r.status, body: await r.json() };
};

test('it smells: two taps, and it is in the record; whom to call is said before the second', () => shown(async (page) => {
  const before_ = (await incidents()).length;
  await page.tap('[data-what="odour"]');
  await says(page, '#first', '^Stop, and step away from the smell\\. Call ');
  await page.tap('[data-where="A1"]');
  await says(page, '#h-done', '^Kept as entry \\d+: It smells, A1$');
  await says(page, '#done', 'source removed\\? measured\\? released by whom\\?');
  const list = await incidents(), entry = list.at(-1);
  assert.equal(list.length, before_ + 1);
  assert.equal(entry.about, 'A1');
  assert.equal(entry.who, 'somebody');
  assert.equal(JSON.parse(entry.detail).incident, 'odour');
}));

test('what more is known becomes an entry of its own, and the first stays as it was', () => shown(async (page) => {
  await page.tap('[data-what="exposure"]');
  await says(page, '#first', '^First call: the emergency number of this place, and ');
  await page.tap('[data-where=""]');
  await says(page, '#h-done', '^Kept as entry \\d+');
  const first = (await incidents()).at(-1);
  await page.fill('[data-more="substance"]', 'acid of the etch bath');
  await page.fill('[data-more="strength"]', '10 %');
  await page.selectOption('[data-more="way"]', 'skin');
  await page.fill('[data-more="who"]', 'J. Berg');
  await page.tap('#more [type=submit]');
  await says(page, '#more-said', `^Added as entry \\d+ to entry ${first.number}\\. Nothing written before was changed\\.$`);
  const list = await incidents();
  assert.deepEqual(list.at(-2), first);
  assert.equal(JSON.parse(list.at(-1).detail).adds_to, first.number);
  assert.equal(list.at(-1).who, 'J. Berg');
  const sheet = await (await fetch(`${board.url}api/sheet?incident=${first.number}`)).json();
  assert.equal(sheet.schema, 'inward.incident_sheet.1');
  assert.deepEqual(sheet.added.map((a) => a.fields.find((f) => f.key === 'strength').value), ['10 %']);
  assert.doesNotMatch(JSON.stringify(sheet), /sever|\bsafe\b|minor|major/i);
}));

test('it goes by keyboard alone, from the tablet of a station', () => shown(async (page) => {
  assert.equal(await page.getAttribute('#to-tell', 'href'), '/tell?at=A1');
  await page.focus('#to-tell');
  await Promise.all([page.waitForURL(/\/tell\?at=A1/), page.keyboard.press('Enter')]);
  await page.waitForSelector('[data-what="spill-inside"]');
  await page.focus('[data-what="spill-inside"]');
  await page.keyboard.press('Enter');
  await says(page, '#first', 'Stop, cap, lower, step away\\. Staff release stations\\.');
  await page.keyboard.press('Tab'); // the station itself stands first
  assert.equal(await page.evaluate(() => document.activeElement.dataset.where), 'A1');
  await page.keyboard.press('Enter');
  await says(page, '#h-done', '^Kept as entry \\d+: A spill inside a station, A1$');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'h-done');
}, { viewport: { width: 1280, height: 800 }, ...looks }, 'station/A1'));

test('a near miss is not told without words', () => shown(async (page) => {
  const before_ = (await incidents()).length;
  await page.tap('[data-what="near-miss"]');
  await page.tap('[data-where="A1"]');
  await page.waitForTimeout(300);
  assert.equal((await incidents()).length, before_);
  await page.fill('[data-need="words"]', 'a beaker slid to the edge');
  await page.tap('[data-where="A1"]');
  await says(page, '#h-done', '^Kept as entry');
}));

test('what is wrong is named, all of it, and nothing is written', async () => {
  const before_ = (await incidents()).length;
  const cases = [
    [{ incident: 'odour', about: 'A11' }, /the suite has no 'A11'; did you mean A1\?/],
    [{ incident: 'odour', about: 'A1', at: '2999-01-01 10:00' }, /has not come yet/],
    [{ incident: 'odour', about: '' }, /where\?/],
    [{ incident: '', about: 'A1' }, /what happened\?/],
    [{ incident: 'odour', about: 'A1', at: '1950-01-01 10:00' }, /too long ago: at most 400 d back/],
    [{ incident: 'odour', about: 'A1', smell: 'a\u001b[2Jb' }, /control character/],
    [{ incident: 'odour', about: 'A1', smell: 'a\u202eb' }, /"smell": character 2, U\+202E, turns the order of letters round/],
    [{ incident: 'odour', about: 'A1', who: 'inward' }, /who are you\?/],
    [{ incident: 'odour', about: 'A1', loud: 'x' }, /no field "loud" here; there are: incident, about/],
    [{ incident: 'odour', about: 'A1', smell: 3 }, /must be a text/],
    [{ incident: 'odour', adds_to: '1', smell: 'x' }, /no incident of this record/],
    [{ incident: 'spill-inside', about: 'Wet' }, /about:/],
    ['[]', /one JSON object/],
    ['{"incident":"odour","incident":"odour"}', /no JSON/],
  ];
  for (const [body, why] of cases) {
    const { status, body: said } = await post(body);
    assert.equal(status, 400, JSON.stringify(body));
    assert.match(said.error, why);
    assert.equal(said.error, said.error.trimEnd());
  }
  const two = (await post({ incident: 'odour', about: 'A11', who: 'inward' })).body.error;
  assert.match(two, /A11[\s\S]*who are you/);
  const big = await fetch(`${board.url}api/incident`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: 'x'.repeat(10 << 20) })
    .then((r) => r.status, () => 'ended'); // refused at its head: the rest is not read
  assert.ok(big === 413 || big === 'ended', String(big));
  assert.equal((await incidents()).length, before_);
});

test('two at the same moment are two, and one at a withdrawn station says so', async () => {
  const both = await Promise.all([post({ incident: 'odour', about: 'A1' }), post({ incident: 'odour', about: 'A1' })]);
  assert.notEqual(both[0].body.number, both[1].body.number);
  const vain = await post({ kind: 'released', about: 'A1', who: 'E. Test', text: 'x' }, 'api/entry');
  assert.match(vain.body.note, /not withdrawn/);
  const out = await post({ kind: 'withdrawn', about: 'A1', who: 'E. Test', text: 'baffle' }, 'api/entry');
  assert.equal(out.body.note, null);
  const { body } = await post({ incident: 'odour', about: 'A1' });
  const sheet = await (await fetch(`${board.url}api/sheet?incident=${body.number}`)).json();
  assert.equal(sheet.withdrawn, out.body.number);
  assert.equal((await post({ kind: 'released', about: 'A1', who: 'E. Test', text: 'x' }, 'api/entry')).body.note, null);
});

test('which stations were used before a beaker was found is shown to nobody on a board', async () => {
  const { body } = await post({ incident: 'beaker', about: 'A1', looks: '<b>glass</b>' });
  const sheet = await (await fetch(`${board.url}api/sheet?incident=${body.number}`)).json();
  assert.equal(sheet.staff_only, null);
  const context = await browser.newContext(phone), page = await context.newPage();
  await page.goto(`${board.url}sheet?incident=${body.number}`);
  const text = await page.innerText('main');
  assert.match(text, /for staff only/);
  assert.match(text, /Do not touch, smell, move or pour it/);
  assert.match(text, /<b>glass<\/b>/); // as it was typed, and no mark of the page
  assert.deepEqual((await axe(page)).broken, []);
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth > window.innerWidth), false);
  await context.close();
  const none = await fetch(`${board.url}sheet?incident=1`);
  assert.equal(none.status, 400);
  assert.match(await none.text(), /entry 1 is no incident of this record/);
});

test('a board that keeps nothing says so before anybody types, and what to do instead', async () => {
  for (const args of [feeds, []]) {
    const bare = await serve(suite, ...args);
    try {
      await shown(async (page) => {
        await says(page, '#note', 'This could not be kept\\..*Write it on paper: what, where, when, and who tells it\\..*Call');
        if (!args.length) return;
        await page.tap('[data-what="odour"]');
        await page.tap('[data-where="A1"]');
        await says(page, '#h-done', '^This could not be kept\\.$');
        await says(page, '#done', 'Write it on paper');
      }, phone, 'tell', bare.url);
    } finally {
      await bare.stop();
    }
  }
});

for (const [width, height] of [[390, 844], [1280, 800], [1920, 1080]])
  test(`nothing is cut off, small or unnamed at ${width} px`, () => shown(async (page) => {
    const look = async () => {
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth > window.innerWidth), false);
      const small = await page.$$eval('main button, main a, main input, main select', (all) => all.filter((e) => e.offsetParent)
        .map((e) => e.getBoundingClientRect()).filter((r) => r.height < 44 || r.width < 44).length);
      assert.equal(small, 0);
      assert.deepEqual((await axe(page)).broken, []);
    };
    await look();
    await page.click('[data-what="odour"]');
    await look();
    await page.click('[data-where="A1"]');
    await page.waitForSelector('#step-more:not([hidden])');
    await look();
  }, { viewport: { width, height }, ...looks }));

test('the record leads from an incident, and from what adds to it, to its one sheet', async () => {
  const first = (await post({ incident: 'near-miss', words: 'x' })).body.number;
  const more = (await post({ incident: 'near-miss', words: 'y', adds_to: String(first) })).body.number;
  const context = await browser.newContext(phone), page = await context.newPage();
  await page.goto(`${board.url}record`);
  await page.waitForFunction((n) => [...document.querySelectorAll('#entries td.number')].some((e) => e.textContent === String(n)), more);
  const links = await page.$$eval('#entries tr', (rows) => Object.fromEntries(rows.map((r) => [r.querySelector('td')?.textContent, r.querySelector('a')?.getAttribute('href')])));
  assert.equal(links[more], `/sheet?incident=${first}`);
  assert.equal(links[first], `/sheet?incident=${first}`);
  await context.close();
});
