// On the way to a trial's end: the moments are those of the answer, what is of steady air rests, and nothing of it is live.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { axe, browse, line, looks, open, quillmere, serve, settled } from './board.js';

let board, browser;
before(async () => { board = await serve(quillmere, '--scene', 'busy'); browser = await browse(); });
after(async () => { await browser?.close(); await board?.stop(); });

const desk = { viewport: { width: 1280, height: 900 }, ...looks }, phone = { viewport: { width: 390, height: 844 }, hasTouch: true, ...looks };
const shown = async (search, run, options = desk) => {
  const page = await open(browser, `${board.url}${search}`, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const played = async (page) => { await page.click('#play-open'); await page.waitForSelector('#play-strips .way'); };
const at = (page, t_s) => page.$eval('#play-t', (e, t) => { e.value = String(t); e.dispatchEvent(new Event('input')); }, t_s);
const way = async (search) => (await fetch(`${board.url}api/after?${search}`)).json();

test('there is nothing on the way while nothing moves; a trial that moves something can be played', () => shown('?scene=busy', async (page) => {
  assert.equal(await page.isDisabled('#play-open'), true);
  await page.selectOption('#pick', 'A8');
  await page.click('[data-act="work"]');
  await page.waitForFunction(() => !document.querySelector('#play-open').disabled);
  await played(page);
  assert.match(await page.innerText('#play'), /Imagined, never live/);
}));

test('a moment shows the pressures and flows of the answer, and before the change those of the scene', () => shown('?scene=busy&door=D2=open', async (page) => {
  await played(page);
  await page.selectOption('#play-back', '10');
  await page.waitForFunction(() => document.querySelector('#play-t').max === '70');
  const a = await way('scene=busy&event=5s%20door%20D2%20open&event=15s%20door%20D2%20closed&for=70s');
  const i = a.trace.time_s.findIndex((t) => t > 9), t = a.trace.time_s[i], wet = a.trace.keeps[0];
  await at(page, t);
  const figure = (name, text) => page.waitForFunction(([n, x]) => document.querySelector(`[data-part="${n}"]`).textContent.includes(x), [name, text]);
  await figure('keep:Wet:0', `${Math.abs(wet.actual_Pa[i]).toFixed(1)} Pa over`);
  assert.match(await page.textContent('#play-strips .missed'), /^\u25a0/);
  assert.equal(await page.getAttribute('[data-door="D2"]', 'aria-checked'), 'true');
  assert.match(await page.textContent('#play-says'), /^door D2 open\. .*below it for/);
  assert.equal(await page.$eval('.air-plan .air', (e) => getComputedStyle(e).visibility), 'hidden');
  await at(page, 1);
  await page.waitForFunction(() => /^Before anything/.test(document.querySelector('#play-says').textContent));
  assert.equal(await page.getAttribute('[data-door="D2"]', 'aria-checked'), 'false');
  await at(page, 40);
  await page.waitForFunction(() => /^door D2 closed/.test(document.querySelector('#play-says').textContent));
  await page.click('#play-close');
  await page.waitForFunction(() => document.querySelector('#play').hidden);
  assert.equal(await page.$eval('.air-plan .air', (e) => getComputedStyle(e).visibility), 'visible');
  assert.equal(await page.getAttribute('[data-door="D2"]', 'aria-checked'), 'true');
}));

test('it plays by itself, stops by itself, and another change asks anew', () => shown('?scene=busy&sash=A8=work', async (page) => {
  await played(page);
  assert.equal(await line(page, 'A8', 1), '45 cm');
  await page.click('#play-run');
  await page.waitForFunction(() => Number(document.querySelector('#play-t').value) > 5.5);
  await page.click('#play-run');
  await page.waitForFunction(() => document.querySelector('#play-run').textContent === 'Play');
  await page.click('[data-door="D1"]');
  await page.waitForFunction(() => /door D1 open/.test(document.querySelector('#play-says').textContent));
  await page.click('#back');
  await page.waitForFunction(() => document.querySelector('#play').hidden);
  await settled(page);
}));

test('the strips and the slider keep the rules of accessibility on a desk and on a phone', async () => {
  for (const options of [desk, phone]) await shown('?scene=busy&door=D2=open&off=AF/2', async (page) => {
    await played(page);
    assert.deepEqual((await axe(page)).broken, []);
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), options.viewport.width);
    assert.ok((await page.locator('#play-t').boundingBox()).height >= 44);
    assert.match(await page.getAttribute('#play-t', 'aria-valuetext'), /^5\.0 s$/);
  }, options);
});
