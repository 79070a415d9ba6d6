// The page of the rules: all reasons, the worst first; what is confirmed is asked again; ids only, never a permission.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { axe, browse, looks, openFar, quillmere, serve } from './board.js';

let board, browser;
before(async () => { board = await serve(quillmere, '--scene', 'busy'); browser = await browse(); });
after(async () => { await browser?.close(); await board?.stop(); });

const desk = { viewport: { width: 1280, height: 900 }, ...looks }, phone = { viewport: { width: 390, height: 844 }, hasTouch: true, ...looks };
const shown = async (run, path, options = desk) => {
  const page = await openFar(browser, `${board.url}${path}`, options);
  try {
    await page.waitForSelector('#process option[value=P7]', { state: 'attached' });
    await run(page);
    assert.deepEqual(page.faults.filter((f) => !/400/.test(f)), []);
  } finally {
    await page.context().close();
  }
};
const asked = async (page, process, who) => {
  await page.selectOption('#process', process);
  await page.fill('#who', who);
  await page.click('#ask button');
  await page.waitForSelector('#act .big');
};

test('a no comes with every reason, its source and what would turn it, and is no permit', () => shown(async (page) => {
  await page.check('#alone');
  await asked(page, 'P7', 'U14');
  const act = await page.innerText('#act');
  assert.match(act, /^NO\n/);
  assert.match(act, /Permission is given by the wet-process desk/);
  const { reasons } = await (await fetch(`${board.url}api/may?who=U14&do=P7&at=A3&alone=yes`)).json();
  const against = await page.$$eval('.against li', (all) => all.length);
  assert.equal(against, reasons.filter((r) => r.verdict === 'no').length);
  assert.match(await page.innerText('#answer'), /one more person inside, who has hf/);
  assert.doesNotMatch(await page.innerText('main'), /\bsafe\b|permitted|--/);
}, 'may?station=A3'));

test('what somebody has looked at is asked again, and another question forgets it', () => shown(async (page) => {
  await asked(page, 'P7', 'U14');
  const before_ = await page.$$eval('[data-confirm]', (all) => all.map((e) => e.dataset.confirm));
  assert.ok(before_.length > 2, String(before_));
  await page.click(`[data-confirm="${before_[0]}"]`);
  await page.waitForFunction((n) => document.querySelectorAll('[data-confirm]').length === n, before_.length - 1);
  await page.fill('#who', 'U22');
  assert.equal(await page.innerText('#answer'), '');
  await page.click('#ask button');
  await page.waitForFunction((words) => [...document.querySelectorAll('[data-confirm]')].some((e) => e.dataset.confirm === words), before_[0]);
}, 'may?station=A3'));

test('processes of the station stand first, and nothing is answered without an id', () => shown(async (page) => {
  assert.deepEqual(await page.$$eval('#process optgroup:first-of-type option', (all) => all.map((e) => e.value)), ['P3', 'P4']);
  await page.selectOption('#process', 'P3');
  await page.click('#ask button');
  assert.match(await page.innerText('#act'), /TREAT AS NO[\s\S]*your id/);
}, 'may?station=A1', phone));

test('the page has no fault that a checker of accessibility finds, and large targets', () => shown(async (page) => {
  await asked(page, 'P7', 'U14');
  assert.deepEqual((await axe(page)).broken, []);
  for (const box of await page.$$eval('button, select, input:not([type=checkbox]), summary', (all) => all.filter((e) => e.offsetParent).map((e) => e.getBoundingClientRect().height)))
    assert.ok(box >= 44, String(box));
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
}, 'may?station=A3', phone));
